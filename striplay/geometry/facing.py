"""Tell which edges of a path rows end on: by how many rows end on a side together.

Rows along x end on any edge that climbs, however little. Where those that end on a whole side are
together less than one pass wide, no pass ends there for want of land: the outermost is cut along
its length. Such a side is level, and needs no room to turn.
"""

from collections.abc import Iterator
from itertools import accumulate, groupby

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

STEEPER = 2.0
"""A stretch is a level side of its own where what goes on beside it is so many times as steep."""


def corners_of(points: Floats, wiggle_m: float, *, closed: bool) -> Integers:
    """Give the indices of the vertices of a path left when wiggles are smoothed, ends kept.

    Args:
        points: vertices, of a ring each once, (n, 2).
        wiggle_m: how far off a vertex may lie that is dropped.
        closed: whether the last vertex goes on to the first; then at least a triangle is left.
    """
    line = shapely.Polygon(points) if closed else shapely.LineString(points)
    smooth = shapely.get_coordinates(shapely.simplify(line, wiggle_m, preserve_topology=closed))
    kept = {tuple(point) for point in smooth}
    return np.array([i for i, point in enumerate(points) if tuple(point) in kept], dtype=np.int64)


def facing(corners: Floats, least_m: float, short_m: float, *, closed: bool) -> Integers:
    """Tell of each edge from which side rows along x end on it: 1 where it climbs, else -1.

    0 where it is of a level side. An edge that climbs by `least_m` is not; the gentler ones in
    between are taken together. Where they stay within `least_m` they are level, unless they are but
    a short step in a side that rows end on. Else the longest stretch that stays within it is level,
    if the rest is so much steeper that they are two sides.

    Args:
        corners: of a path without wiggles, turned, (m, 2).
        least_m: rows that end on a level side are together less wide than that.
        short_m: a stretch shorter than that is no side of its own.
        closed: whether the last corner goes on to the first.
    """
    steps = np.diff(np.concatenate([corners, corners[:1]]) if closed else corners, axis=0)
    lengths_m = np.hypot(*steps.T).tolist()
    climbs_m = [0.0 if abs(climb) < WIDTH_M else climb for climb in steps[:, 1].tolist()]
    faces = [(climb > 0) - (climb < 0) for climb in climbs_m]
    count = len(faces)
    for run in _gentle_runs(climbs_m, least_m, closed=closed):
        height_m = [0.0, *accumulate(climbs_m[edge] for edge in run)]
        length_m = [lengths_m[edge] for edge in run]
        level = _level(height_m, length_m, least_m, short_m)
        for edge, is_level in zip(run, level, strict=True):
            if not is_level and not faces[edge]:  # along the rows, amid others they end on
                faces[edge] = faces[edge - 1]
            elif is_level:
                faces[edge] = 0
        around = [run[0] - 1, run[-1] + 1]
        beside = {faces[edge % count] for edge in around if closed or 0 <= edge < count}
        if all(level) and len(run) < count and len(beside) == 1 and sum(length_m) < short_m:
            for edge in run:
                faces[edge] = next(iter(beside))
    return np.array(faces, dtype=np.int64)


def _gentle_runs(climbs_m: list[float], least_m: float, *, closed: bool) -> Iterator[list[int]]:
    """Give the runs of neighboring edges that are not steep.

    Where none is steep, all are a run: of a ring, from its lowest corner.
    """
    count = len(climbs_m)
    steep = [abs(climb_m) >= least_m for climb_m in climbs_m]
    begin = 0
    if closed and any(steep):
        begin = steep.index(True)
    elif closed:
        height_m = [*accumulate(climbs_m, initial=0.0)][:-1]
        begin = height_m.index(min(height_m))
    order = [(begin + place) % count for place in range(count)]
    for is_steep, run in groupby(order, key=steep.__getitem__):
        if not is_steep:
            yield [*run]


def _level(
    height_m: list[float], length_m: list[float], least_m: float, short_m: float
) -> list[bool]:
    """Tell which edges of a run are level: all, none, or stretches that are sides of their own."""
    count = len(length_m)
    if _range(height_m) < least_m:
        return [True] * count
    first, last = _side_within(height_m, length_m, least_m)
    level = [False] * count
    own_m, climb_m = sum(length_m[first:last]), _range(height_m[first : last + 1])
    steepness = _rest_steepness(height_m, length_m, first, last)
    if own_m < short_m or STEEPER * climb_m > steepness * own_m:
        return level
    level[first:last] = [True] * (last - first)
    for begin, end in ((0, first), (last, count)):
        part_m = height_m[begin : end + 1]
        if _range(part_m) >= least_m:  # else it would take the level side beyond the least
            level[begin:end] = _level(part_m, length_m[begin:end], least_m, short_m)
    return level


def _side_within(height_m: list[float], length_m: list[float], least_m: float) -> tuple[int, int]:
    """Give the first edge, and the one after the last, of the longest stretch within `least_m`.

    Steep edges at its ends, with which it runs on into the rest, are left to the rest.
    """
    first, last = _longest_within(height_m, length_m, least_m)
    steepness = _rest_steepness(height_m, length_m, first, last) / STEEPER
    while first < last and _runs_on(height_m[first : last + 1], length_m[first], steepness):
        first += 1
    while first < last and _runs_on(
        height_m[first : last + 1][::-1], length_m[last - 1], steepness
    ):
        last -= 1
    return first, last


def _longest_within(
    height_m: list[float], length_m: list[float], least_m: float
) -> tuple[int, int]:
    """Give the first edge, and the one after the last, of the longest stretch within `least_m`."""
    best_m, best = 0.0, (0, 1)
    for first in range(len(length_m)):
        low = high = height_m[first]
        along_m = 0.0
        for edge in range(first, len(length_m)):
            low, high = min(low, height_m[edge + 1]), max(high, height_m[edge + 1])
            if high - low >= least_m:
                break
            along_m += length_m[edge]
            if along_m > best_m:
                best_m, best = along_m, (first, edge + 1)
    return best


def _runs_on(height_m: list[float], length_m: float, steepness: float) -> bool:
    """Tell whether a stretch's first edge is steep, and leaves the heights of the others."""
    climb_m = abs(height_m[1] - height_m[0])
    beyond_m = _range(height_m) - _range(height_m[1:])
    return climb_m >= steepness * length_m and 2 * beyond_m > climb_m


def _rest_steepness(height_m: list[float], length_m: list[float], first: int, last: int) -> float:
    """Give how steep a run is, but for a stretch of it."""
    rest_m = sum(length_m[:first]) + sum(length_m[last:])
    climb_m = _range(height_m[: first + 1]) + _range(height_m[last:])
    return climb_m / rest_m if rest_m else 0.0


def _range(values: list[float]) -> float:
    return max(values) - min(values)
