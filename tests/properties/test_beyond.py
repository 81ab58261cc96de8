"""How much of a line lies beyond ground, and how far straight ahead it reaches, against overlays.

The reference is the overlay of shapely (GEOS), which cuts lines by polygons.
"""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import SHAPES

from striplay.geometry.beyond import Edged

AREAS = [shape for name, shape in SHAPES.items() if name != "sliver"]
PLACES = st.tuples(st.floats(-450, 850), st.floats(-450, 850))


@settings(max_examples=60)
@given(
    st.sampled_from(AREAS),
    st.lists(st.lists(PLACES, min_size=2, max_size=9), min_size=1, max_size=6),
)
def test_lines_lie_beyond_ground_as_far_as_an_overlay_says(area, places):
    lines = np.array([shapely.LineString(points) for points in places])
    grown = shapely.buffer(area, 0.02)
    # piece by piece: an overlay counts what is driven twice once
    cut_m = [
        sum(shapely.LineString(piece).difference(grown).length for piece in pairwise(points))
        for points in places
    ]
    assert Edged.of(grown).beyond_m(lines) == pytest.approx(cut_m, abs=1e-6)


@settings(max_examples=60)
@given(st.sampled_from(AREAS), st.lists(st.tuples(PLACES, PLACES), min_size=1, max_size=6))
def test_one_can_drive_ahead_as_far_as_the_first_part_of_an_overlay(area, places):
    ends = np.array(places)
    found = Edged.of(area).ahead_m(ends[:, 0], ends[:, 1])
    for (begin, end), ahead_m in zip(ends, found, strict=True):
        parts = shapely.get_parts(shapely.intersection(shapely.LineString([begin, end]), area))
        first = [part.length for part in parts if part.distance(shapely.Point(begin)) < 1e-9]
        inside = shapely.contains_xy(area, *begin)
        assert ahead_m == pytest.approx(first[0] if inside and first else 0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("line", "beyond_m"),
    # by hand, on a square of 10 m with a hole of 2 m amid it: along an edge, through corners, over
    # the hole, from corner to corner
    [
        ([(0, 0), (10, 0)], 0.0),
        ([(-5, 0), (15, 0)], 10.0),
        ([(-5, -5), (15, 15)], 2 * 50**0.5 + 8**0.5),
        ([(0, 5), (10, 5)], 2.0),
        ([(4, 4), (6, 4)], 0.0),
        ([(20, 0), (20, 10)], 10.0),
        ([(5, 9), (5, 12), (6, 12), (6, 9)], 5.0),
    ],
)
def test_lines_along_edges_and_through_corners(line, beyond_m):
    area = shapely.difference(shapely.box(0, 0, 10, 10), shapely.box(4, 4, 6, 6))
    for turned in (area, shapely.reverse(area)):
        lines = np.array([shapely.LineString(line), shapely.LineString(line[::-1])])
        assert Edged.of(turned).beyond_m(lines) == pytest.approx([beyond_m] * 2)


def test_no_lines_lie_beyond_nothing():
    assert Edged.of(shapely.box(0, 0, 1, 1)).beyond_m(np.empty(0, dtype=object)).shape == (0,)
    nowhere = Edged.of(shapely.Polygon())
    assert nowhere.beyond_m(np.array([shapely.LineString([(0, 0), (3, 4)])])) == pytest.approx(
        [5.0]
    )
