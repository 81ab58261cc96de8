"""Draw fields and headings for the property tests."""

import math

import numpy as np
import shapely
from hypothesis import strategies as st

MAX_OFF_M = 2_000.0


@st.composite
def star_fields(draw: st.DrawFn, *, holes: bool = True, ragged: float = 0.8) -> shapely.Polygon:
    """Draw a star-shaped polygon of 3 to 40 vertices, perhaps with a hole about its middle.

    Args:
        draw: hypothesis' own.
        holes: whether it may have a hole.
        ragged: how far the radius may fall below its greatest, as a share.
    """
    count = draw(st.integers(3, 40))
    share = st.floats(0.0, 1.0, allow_subnormal=False)
    jitter = np.array(draw(st.lists(share, min_size=count, max_size=count)))
    dent = np.array(draw(st.lists(share, min_size=count, max_size=count)))
    angle = (np.arange(count) + 0.6 * jitter + 0.1) / count * 2 * math.pi
    radius_m = draw(st.floats(60.0, 600.0)) * (1 - ragged * dent)
    shell = np.column_stack([radius_m * np.cos(angle), radius_m * np.sin(angle)])
    off = np.array([draw(st.floats(-MAX_OFF_M, MAX_OFF_M)), draw(st.floats(-MAX_OFF_M, MAX_OFF_M))])
    field = shapely.Polygon(shell)
    room_m = field.exterior.distance(shapely.Point(0, 0))
    if holes and room_m > 5 and field.contains(shapely.Point(0, 0)) and draw(st.booleans()):
        hole = draw(st.floats(0.2, 0.8)) * room_m * shell / np.hypot(*shell.T)[:, None]
        field = shapely.Polygon(shell, [hole])
    moved = shapely.transform(field, lambda points: points + off)
    return shapely.orient_polygons(moved)


def headings() -> st.SearchStrategy[float]:
    """Draw degrees clockwise from north, 0 up to 180."""
    return st.floats(0.0, 180.0, exclude_max=True, allow_subnormal=False)


def typed_headings() -> st.SearchStrategy[float]:
    """Draw degrees likewise, to four digits, as a plan states them: none rounds to 180."""
    return st.integers(0, 1_799_999).map(lambda each: each / 10_000)
