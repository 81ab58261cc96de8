"""Keep passes clear of poles and other small obstacles, and find ground that no pass can reach."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
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
from striplay.section.passes import least_planted_m
from striplay.section.section import Pass, Section
from striplay.tolerances import INSIDE_M, WIDTH_M

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

MOST_STOPS = 50
"""A pass stops at no more obstacles: more in a row are a hedge, and drawn as one."""


@dataclass(frozen=True)
class Barred:
    """Planted ground that is not to be planted after all, on the path's own plane.

    Attributes:
        unreached: what a machine can't reach.
        narrow: what is too narrow for a pass of its own.
    """

    unreached: Geometries
    narrow: Geometries


def may_be_barred(one: Pass, beside: Geometries) -> bool:
    """Tell whether there may be ground that a pass can't reach.

    A pass that no small obstacle stops shifts where it would leave the field, unless it can't.
    """
    return one.operation in {"plant", "harvest"} and (one.fixed or len(beside) > 0)


def barred(section: Section, travels: Iterator[Travel], field: Field, beside: Geometries) -> Barred:
    """Find planted ground that a planter or a header can't reach, or only a small part of it.

    Out of reach is what lies on a pass's way where its swath would come within the clearance of a
    small obstacle; and at slanting ends what lies beyond where the middle of a planter leaves the
    field by more than half its width, when it carries several crops and can't shift. Such a planter
    also makes no pass for less than half the rows it plants in one.

    Args:
        section: the set.
        travels: rows under passes that `may_be_barred`.
        field: where machines may be.
        beside: small obstacles, clearance included.
    """
    unreached = [np.empty(0, dtype=object)]
    narrow = [np.empty(0, dtype=object)]
    for travel in travels:
        runs, width_m = runs_inside(travel, field), travel.like.width_m
        if travel.like.fixed:
            few = runs.high_m - runs.low_m < least_planted_m(travel.like, section) - WIDTH_M
            narrow.append(_ground(runs.chosen(few), field.path))
            runs = runs.chosen(~few)
            unreached.append(_ground(stretches_outside(runs, field, width_m), field.path))
        unreached.append(_ground(stops(runs, field.path, width_m, beside), field.path))
    return Barred(np.concatenate(unreached), np.concatenate(narrow))


def _ground(runs: Runs, path: Path) -> Geometries:
    """Give the ground of the rows under runs."""
    return path.cells(runs.begin, runs.end, runs.low_m, runs.high_m)


def extents(areas: Geometries, path: Path, across_m: Floats) -> tuple[Floats, Floats]:
    """Give from where to where areas lie along a path; round a ring by the shorter way.

    Args:
        areas: on the local plane, (n,).
        path: the path.
        across_m: the distance across at which each is measured, (n,).
    """
    points, which = shapely.get_coordinates(areas, return_index=True)
    place = path.located(points, across_m[which])
    if path.around is not None:  # all of an area lies within half a turn of a point of it
        inner = shapely.get_coordinates(shapely.point_on_surface(areas))
        half, from_ = path.around / 2, path.located(inner, across_m)[which]
        place = from_ + (place - from_ + half) % path.around - half
    begin, end = np.full(len(areas), np.inf), np.full(len(areas), -np.inf)
    np.minimum.at(begin, which, place)
    np.maximum.at(end, which, place)
    return begin, end


def stops(runs: Runs, path: Path, width_m: float, beside: Geometries) -> Runs:
    """Give the stretches of runs over which they come too near to small obstacles."""
    return _stops(runs, path, width_m, beside, INSIDE_M)[1]


def _stops(
    runs: Runs, path: Path, width_m: float, beside: Geometries, give_m: float
) -> tuple[npt.NDArray[np.int64], Runs]:
    """Give the same, and the run of each."""
    none = np.empty(0, dtype=np.int64)
    if not len(beside) or not len(runs):
        return none, runs.chosen(none)
    swaths = machine_ground(path, runs.begin, runs.end, runs.across_m, width_m)
    obstacle, run = shapely.STRtree(swaths).query(beside, predicate="intersects")
    met = overlay.intersection(swaths[run], beside[obstacle])
    real = shapely.area(met) > INSIDE_M**2
    run, met = run[real], met[real]
    begin, end = extents(met, path, runs.across_m[run])
    if path.around is not None:  # as far round as the run lies, at both its ends where it closes
        turns = path.around * np.floor((runs.begin[run] - begin) / path.around)
        run = np.tile(run, 3)
        begin = np.concatenate([begin + turns + turn * path.around for turn in (0, 1, 2)])
        end = np.concatenate([end + turns + turn * path.around for turn in (0, 1, 2)])
        over = (end > runs.begin[run]) & (begin < runs.end[run])
        run = run[over]
        begin = np.maximum(begin[over], runs.begin[run])
        end = np.minimum(end[over], runs.end[run])
    by_m = np.full(len(run), give_m)
    across = runs.across_m[run]
    stretch = replace(
        runs.chosen(run),
        begin=path.moved(begin, across, -by_m),
        end=path.moved(end, across, by_m),
    )
    return run, stretch


def stretches_outside(runs: Runs, field: Field, width_m: float) -> Runs:
    """Give the stretches over which the middles of runs leave the field by over half a width."""
    swaths = field.swaths(runs.begin, runs.end, runs.across_m, width_m)
    found: list[tuple[int, float, float]] = []
    for index in np.flatnonzero(~field.holds(swaths)):
        begin, end = float(runs.begin[index]), float(runs.end[index])
        spans = stretches_inside(field, begin, end, float(runs.across_m[index]), width_m)
        edges = [begin, *(place for span in spans for place in span), end]
        pairs = zip(edges[::2], edges[1::2], strict=True)
        found += [(int(index), low, high) for low, high in pairs if high > low]
    table = np.array(found).reshape(-1, 3)
    chosen = runs.chosen(table[:, 0].astype(np.int64))
    return replace(chosen, begin=table[:, 1], end=table[:, 2])


def without_stops(
    runs: Runs, path: Path, width_m: float, beside: Geometries, give_m: float = INSIDE_M
) -> Runs:
    """Take out of runs the stretches over which they come too near to small obstacles.

    Args:
        runs: passes.
        path: what they follow.
        width_m: of the machine.
        beside: small obstacles, clearance included.
        give_m: how much sooner each stops: more where the path bends, for the outer side of a swath
            at a bend lies beside no place of the path.
    """
    for _ in range(MOST_STOPS):
        index, stretch = _stops(runs, path, width_m, beside, give_m)
        if not len(index):
            return runs
        run, first = np.unique(index, return_index=True)
        begin, end = stretch.begin[first], stretch.end[first]
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
