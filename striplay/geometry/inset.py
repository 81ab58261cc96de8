"""Set headlands inside a boundary and round obstacles.

Both kinds take ground near its boundary: all of it, or only where rows meet it.
"""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import END_ANGLE_DEG, MITRE_LIMIT, WIDTH_M, WIGGLE_SHARE

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def inset_all_round(ground: shapely.Geometry, width_m: float) -> shapely.Geometry:
    """Offset ground inward by `width_m`, and so outward round its holes, with mitred corners."""
    return shapely.buffer(ground, -width_m, join_style="mitre", mitre_limit=MITRE_LIMIT)


def ends_of(ground: shapely.Geometry, width_m: float) -> shapely.Geometry:
    """Give the ground where rows along x end: beside boundary met at over `END_ANGLE_DEG`.

    Neighbouring edges that rows meet from the same side make a chain, and all within `width_m` of
    the chain is an end. At an outward corner of the field the end runs on to the next edge; at an
    inward corner, where neighbouring rows run on past the chain, it stops at the corner.

    Args:
        ground: polygon or multipolygon, turned so that rows run along x.
        width_m: how deep an end is, at right angles to the boundary.
    """
    parts = shapely.orient_polygons(shapely.get_parts(shapely.remove_repeated_points(ground)))
    ends = [piece for part in parts for piece in _ends_of(part, width_m)]
    return shapely.intersection(ground, shapely.union_all(ends))


def inset_at_ends(ground: shapely.Geometry, width_m: float) -> shapely.Geometry:
    """Take the ends off ground; arguments as in `ends_of`."""
    return shapely.difference(ground, ends_of(ground, width_m))


def _ends_of(part: shapely.Polygon, width_m: float) -> Iterator[shapely.Geometry]:
    """Give what is taken beside each chain of one polygon.

    What runs on past a chain may come back into the field further on. So no more is taken than
    all round, and only what hangs together with the chain.
    """
    around = shapely.difference(part, inset_all_round(part, width_m))
    for ring in shapely.get_rings(part):
        for chain in _end_chains(shapely.get_coordinates(ring)[:-1], width_m):
            beside = _beside(chain, width_m)
            pieces = shapely.get_parts(shapely.intersection(beside, _near(around, beside)))
            line = shapely.LineString(chain.points)
            yield from pieces[shapely.dwithin(pieces, line, WIDTH_M)]


def _near(ground: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Give the ground in a rectangle about another geometry, to make an overlay of them faster."""
    left_m, bottom_m, right_m, top_m = other.bounds
    clipped = shapely.clip_by_rect(ground, left_m - 1.0, bottom_m - 1.0, right_m + 1.0, top_m + 1.0)
    return clipped if shapely.is_valid(clipped) else ground


class _Chain:
    """A run of boundary that rows end on, and whether rows run on past its first and last point."""

    __slots__ = ("passed_after", "passed_before", "points")

    def __init__(self, points: Floats, *, passed_before: bool, passed_after: bool) -> None:
        self.points = points
        self.passed_before = passed_before
        self.passed_after = passed_after


def _end_chains(points: Floats, width_m: float) -> Iterator[_Chain]:
    """Split a ring, ground on its left, into the chains that rows end on.

    The direction of a stretch is judged with wiggles below a share of `width_m` smoothed away, so
    that a ragged side stays a side; the chain itself keeps every vertex.
    """
    corner = _corners(points, width_m * WIGGLE_SHARE)
    steps = np.roll(points[corner], -1, axis=0) - points[corner]
    steep = np.abs(steps[:, 1]) / np.hypot(*steps.T) > np.sin(np.radians(END_ANGLE_DEG))
    facing = np.where(steep, np.sign(steps[:, 1]), 0.0)
    turn = np.roll(steps, 1, axis=0)
    inward = turn[:, 0] * steps[:, 1] - turn[:, 1] * steps[:, 0] < 0
    count = len(corner)
    starts = np.flatnonzero((facing != np.roll(facing, 1)) & (facing != 0))
    for start in starts:
        stop = start
        while facing[stop % count] == facing[start]:
            stop += 1
        first, last = corner[start], corner[stop % count]
        indices = np.arange(first, last + 1 if last > first else last + len(points) + 1)
        yield _Chain(
            points[indices % len(points)],
            passed_before=bool(inward[start]),
            passed_after=bool(inward[stop % count]),
        )


def _corners(points: Floats, wiggle_m: float) -> Integers:
    """Give the indices of the vertices left when wiggles are smoothed; at least a triangle."""
    ring = shapely.Polygon(points)
    smooth = shapely.get_coordinates(shapely.simplify(ring, wiggle_m, preserve_topology=True))[:-1]
    kept = {tuple(point) for point in smooth}
    return np.array([i for i, point in enumerate(points) if tuple(point) in kept], dtype=np.int64)


def _beside(chain: _Chain, width_m: float) -> shapely.Geometry:
    """Give all within `width_m` of a chain, run on at outward corners and cut at inward ones."""
    points = chain.points
    reach_m = MITRE_LIMIT * width_m
    run_on = [
        *([] if chain.passed_before else [_beyond(points[1], points[0], reach_m)]),
        *points,
        *([] if chain.passed_after else [_beyond(points[-2], points[-1], reach_m)]),
    ]
    taken = shapely.buffer(
        shapely.LineString(run_on),
        width_m,
        cap_style="flat",
        join_style="mitre",
        mitre_limit=MITRE_LIMIT,
    )
    upward = points[-1][1] > points[0][1]
    low_m, high_m = -np.inf, np.inf
    if chain.passed_before:
        low_m, high_m = (points[0][1], high_m) if upward else (low_m, points[0][1])
    if chain.passed_after:
        low_m, high_m = (low_m, points[-1][1]) if upward else (points[-1][1], high_m)
    left_m, bottom_m, right_m, top_m = taken.bounds
    band = shapely.box(left_m, max(low_m, bottom_m), right_m, min(high_m, top_m))
    return shapely.intersection(taken, band)


def _beyond(before: Floats, last: Floats, reach_m: float) -> Floats:
    """Go `reach_m` on past `last`, straight on from `before`."""
    step = last - before
    return np.asarray(last + step / np.hypot(*step) * reach_m)
