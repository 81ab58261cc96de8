"""Sweep parallel lines and bands through polygons, from their edges.

The plane is turned so that lines run along x: a line is a level y, a band lies between two levels.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.edges import Edges, edges_of
from striplay.geometry.profile import area_below
from striplay.geometry.slivers import real_parts
from striplay.tolerances import AREA_SHARE, LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Chords:
    """The pieces of parallel lines inside polygons.

    Attributes:
        level: index of the line each lies on, ascending, (n,).
        start_x_m: its lesser x, (n,).
        end_x_m: its greater x, (n,).
        owner: index of the polygon each lies in, (n,).
    """

    level: Integers
    start_x_m: Floats
    end_x_m: Floats
    owner: Integers

    @property
    def length_m(self) -> Floats:
        """Length of each piece."""
        return self.end_x_m - self.start_x_m


def chords(edges: Edges, levels_m: Floats) -> Chords:
    """Cut lines to the inside of polygons, all lines in one pass over the edges.

    Each edge crosses the levels between its two ends. The interval is half-open, so a vertex on a
    line counts once; a polygon's crossings of a line, sorted by x and taken in pairs, bound its
    pieces.

    Args:
        edges: edges of valid polygons that do not overlap, turned so that lines run along x.
        levels_m: y of each line, ascending.
    """
    edge, level = crossed_levels(edges, levels_m)
    x0, y0 = edges.start[edge].T
    x1, y1 = edges.end[edge].T
    crossing_x_m = x0 + (levels_m[level] - y0) / (y1 - y0) * (x1 - x0)
    owner = edges.owner[edge]
    order = np.lexsort((crossing_x_m, owner, level))
    crossing_x_m, level, owner = crossing_x_m[order], level[order], owner[order]
    start_x_m, end_x_m = crossing_x_m[::2], crossing_x_m[1::2]
    real = end_x_m - start_x_m > LENGTH_M
    return Chords(level[::2][real], start_x_m[real], end_x_m[real], owner[::2][real])


def crossed_levels(edges: Edges, levels_m: Floats) -> tuple[Integers, Integers]:
    """Pair each edge with the levels y it crosses, its lower end included and its upper end not.

    Returns:
        Index of the edge and index of the level, one entry for each crossing.
    """
    low_m = np.minimum(edges.start[:, 1], edges.end[:, 1])
    high_m = np.maximum(edges.start[:, 1], edges.end[:, 1])
    first = np.searchsorted(levels_m, low_m, side="left")
    count = np.searchsorted(levels_m, high_m, side="left") - first
    edge = np.repeat(np.arange(len(edges)), count)
    before = np.cumsum(count) - count
    level = np.arange(len(edge)) - before[edge] + first[edge]
    return edge, level


@dataclass(frozen=True)
class Bands:
    """The pieces of bands inside polygons.

    Attributes:
        polygon: array of polygons, (n,).
        band: index of the band each lies in, ascending, (n,).
    """

    polygon: npt.NDArray[np.object_]
    band: Integers


def bands(ground: shapely.Geometry, low_m: Floats, high_m: Floats) -> Bands:
    """Cut ground into the bands low_m <= y <= high_m.

    A rectangle clip is several times faster than an overlay but promises no validity, so each
    band's clip is checked against the exact area between its levels and redone by an overlay when
    the two differ.

    Args:
        ground: a polygon or multipolygon.
        low_m: lower level of each band, (n,).
        high_m: upper level of each band, (n,); bands do not overlap.
    """
    left_m, bottom_m, right_m, top_m = ground.bounds if not ground.is_empty else (0.0,) * 4
    if bottom_m == top_m:
        return Bands(np.empty(0, object), np.empty(0, np.int64))
    meets = np.flatnonzero((high_m > bottom_m) & (low_m < top_m))
    low_m = np.maximum(low_m[meets], bottom_m - 1.0)
    high_m = np.minimum(high_m[meets], top_m + 1.0)
    clipped = np.array(
        [
            _clip(ground, (left_m - 1.0, low, right_m + 1.0, high))
            for low, high in zip(low_m, high_m, strict=True)
        ],
        dtype=object,
    )
    _mend(clipped, ground, low_m, high_m)
    parts, band = real_parts(clipped, ground.area)
    return Bands(parts, meets[band].astype(np.int64))


def _clip(ground: shapely.Geometry, box: tuple[float, float, float, float]) -> shapely.Geometry:
    """Clip ground to a rectangle; where the fast clip gives up on a thin ring, by an overlay."""
    try:
        return shapely.clip_by_rect(ground, *box)
    except shapely.errors.GEOSException:
        return overlay.intersection(ground, shapely.box(*box))


def _mend(
    clipped: npt.NDArray[np.object_], ground: shapely.Geometry, low_m: Floats, high_m: Floats
) -> None:
    """Redo by an overlay, in place, the clips that are invalid or miss the exact area."""
    edges = edges_of(ground)
    exact_m2 = area_below(edges, high_m) - area_below(edges, low_m)
    off_m2 = np.abs(shapely.area(clipped) - exact_m2)
    bad = (off_m2 > AREA_SHARE * max(ground.area, 1.0)) | ~shapely.is_valid(clipped)
    left_m, _, right_m, _ = ground.bounds
    boxes = shapely.box(left_m - 1.0, low_m[bad], right_m + 1.0, high_m[bad])
    clipped[bad] = overlay.intersection(ground, boxes)
