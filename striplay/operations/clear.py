"""Keep passes clear of poles and other small obstacles, and find ground that no pass can reach."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.path import Path
from striplay.operations.inside import (
    Field,
    Runs,
    machine_ground,
    runs_inside,
    stretches_inside,
    together,
)
from striplay.operations.travel import Travel
from striplay.tolerances import INSIDE_M

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

MOST_STOPS = 50
"""A pass stops at no more obstacles: more in a row are a hedge, and drawn as one."""


def unreachable(travels: Iterator[Travel], field: Field, beside: Geometries) -> Geometries:
    """Give planted ground that a planter or a header can't reach, on the path's own plane.

    That is what lies on a pass's way where its swath would come within the clearance of a small
    obstacle; and at slanting ends what lies beyond where the middle of a planter leaves the field
    by more than half its width, when it carries several crops and can't shift.

    Args:
        travels: rows under passes.
        field: where machines may be.
        beside: small obstacles, clearance included.
    """
    cells = [np.empty(0, dtype=object)]
    for travel in travels:
        if travel.like.operation == "spray":
            continue
        runs = runs_inside(travel, field)
        index, begin, end = stops(runs, field.path, travel.like.width_m, beside)
        cells.append(field.path.cells(begin, end, runs.low_m[index], runs.high_m[index]))
        if travel.like.strip is None:
            index, begin, end = stretches_outside(runs, field, travel.like.width_m)
            cells.append(field.path.cells(begin, end, runs.low_m[index], runs.high_m[index]))
    return np.concatenate(cells)


def stops(
    runs: Runs, path: Path, width_m: float, beside: Geometries
) -> tuple[npt.NDArray[np.int64], Floats, Floats]:
    """Give the stretches over which runs come too near to small obstacles.

    Returns:
        The run of each stretch, and where it begins and ends.
    """
    if not len(beside) or not len(runs):
        return np.empty(0, dtype=np.int64), np.empty(0), np.empty(0)
    swaths = machine_ground(path, runs.begin, runs.end, runs.across_m, width_m)
    obstacle, run = shapely.STRtree(swaths).query(beside, predicate="intersects")
    met = shapely.intersection(swaths[run], beside[obstacle])
    real = shapely.area(met) > INSIDE_M**2
    run, met = run[real], met[real]
    points, which = shapely.get_coordinates(met, return_index=True)
    place = path.located(points, runs.across_m[run[which]])
    if path.around is not None:  # as far round as the run lies
        place = place + path.around * np.ceil((runs.begin[run[which]] - place) / path.around - 1e-9)
    begin, end = np.full(len(run), np.inf), np.full(len(run), -np.inf)
    np.minimum.at(begin, which, place)
    np.maximum.at(end, which, place)
    across = runs.across_m[run]
    by_m = np.full(len(run), INSIDE_M)
    return run, path.moved(begin, across, -by_m), path.moved(end, across, by_m)


def stretches_outside(
    runs: Runs, field: Field, width_m: float
) -> tuple[npt.NDArray[np.int64], Floats, Floats]:
    """Give the stretches over which the middles of runs leave the field by more than half a width.

    Returns:
        The run of each stretch, and where it begins and ends.
    """
    swaths = field.swaths(runs.begin, runs.end, runs.across_m, width_m)
    found = []
    for index in np.flatnonzero(~field.holds(swaths)):
        begin, end = float(runs.begin[index]), float(runs.end[index])
        spans = stretches_inside(field, begin, end, float(runs.across_m[index]), width_m)
        edges = [begin, *(place for span in spans for place in span), end]
        pairs = zip(edges[::2], edges[1::2], strict=True)
        found += [(index, low, high) for low, high in pairs if high > low]
    table = np.array(found).reshape(-1, 3)
    return table[:, 0].astype(np.int64), table[:, 1], table[:, 2]


def without_stops(runs: Runs, path: Path, width_m: float, beside: Geometries) -> Runs:
    """Take out of runs the stretches over which they come too near to small obstacles."""
    for _ in range(MOST_STOPS):
        index, begin, end = stops(runs, path, width_m, beside)
        if not len(index):
            return runs
        run, first = np.unique(index, return_index=True)
        begin, end = begin[first], end[first]
        kept = np.ones(len(runs), dtype=bool)
        kept[run] = False
        before, after = runs.chosen(run), runs.chosen(run)
        before.end[:] = np.minimum(begin, before.end)
        after.begin[:] = np.maximum(end, after.begin)
        parts = [runs.chosen(kept), before, after]
        every = together(parts)
        lengths_m = path.lengths_m(every.begin, np.maximum(every.end, every.begin), every.across_m)
        runs = every.chosen(lengths_m > 2 * INSIDE_M)
    return runs
