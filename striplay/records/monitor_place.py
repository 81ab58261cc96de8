"""Tell where a yield monitor's points lie: in which strip, on which run, on which planned pass."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.ground import Ground
from striplay.laid import Laid
from striplay.limits import MAX_LENGTH_M
from striplay.operations.route import Route
from striplay.records.monitor_log import MonitorLog
from striplay.section.section import Section
from striplay.tolerances import ACROSS_SHARE, DRIVEN_S, LENGTH_M, ON_PASS_SHARE, STEADY_S

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

NONE = -1
"""Number of no strip, block, run or pass."""


@dataclass(frozen=True)
class Strips:
    """All strips of the field, block by block, each from its lower edge to its upper one across.

    Attributes:
        number: (s,).
        block: index of the block, (s,).
        low_m: lower edge, (s,).
        high_m: upper edge, (s,).
        area_m2: of its pieces together, (s,).
        grown: crops and mixtures that each carries, its own first.
    """

    number: Integers
    block: Integers
    low_m: Floats
    high_m: Floats
    area_m2: Floats
    grown: tuple[tuple[str, ...], ...]

    def carrying(self, crop: str) -> Bools:
        """Tell which of them carry a crop, (s,)."""
        return np.array([crop in grown for grown in self.grown], dtype=bool)


def strips_of(laid: Laid) -> Strips:
    """List the strips of a laid field."""
    grown = _grown(laid.section)
    number, block, low_m, high_m, area_m2, crops = [], [], [], [], [], []
    for index, one in enumerate(laid.blocks):
        present, first, piece = np.unique(
            one.pieces.strips.strip, return_index=True, return_inverse=True
        )
        areas = np.bincount(piece, shapely.area(one.pieces.strips.polygon), len(present))
        number.append(one.strip_number[first])
        block.append(np.full(len(present), index))
        low_m.append(one.across.low_m[present])
        high_m.append(one.across.high_m[present])
        area_m2.append(areas)
        crops += [grown[kind] for kind in one.across.kind[present]]
    return Strips(
        number=np.concatenate(number),
        block=np.concatenate(block),
        low_m=np.concatenate(low_m),
        high_m=np.concatenate(high_m),
        area_m2=np.concatenate(area_m2),
        grown=tuple(crops),
    )


def _grown(section: Section) -> list[tuple[str, ...]]:
    """Give what each strip of a set carries, its own first."""
    found = [dict.fromkeys([strip.crop]) for strip in section.strips]
    for row in section.rows:
        found[row.strip] |= dict.fromkeys([row.label, *(layer.crop for layer in row.sown)])
    return [tuple(one) for one in found]


@dataclass(frozen=True)
class Placed:
    """Where points lie, and how they are driven.

    Attributes:
        point_m: on the local plane, (n, 2).
        inside: whether each lies in the field, (n,).
        block: index of its block; NONE where it is in no strip, (n,).
        strip: index of its strip in `Strips`; NONE where it is in none, (n,).
        across_m: where the middle of the combine's line lies across, (n,).
        along: whether it is driven along the rows, (n,).
        way: unit vector that each is driven along; nought where it stands still, (n, 2).
        speed_mps: (n,).
        run: number of its run, along the rows, in one strip and one direction, without a gap; NONE
            where it is on none, (n,).
    """

    point_m: Floats
    inside: Bools
    block: Integers
    strip: Integers
    across_m: Floats
    along: Bools
    way: Floats
    speed_mps: Floats
    run: Integers

    @property
    def runs(self) -> int:
        """How many runs there are."""
        return int(self.run.max(initial=NONE)) + 1


def place(
    log: MonitorLog, ground: Ground, laid: Laid, strips: Strips, fit_mps: tuple[float, float]
) -> Placed:
    """Tell where points lie: by the middle of the combine's line, so that noise moves none.

    Args:
        log: complete points.
        ground: the field.
        laid: the field, swept.
        strips: its strips.
        fit_mps: slowest and fastest speed of a run.
    """
    point_m = ground.plane.to_plane(log.lonlat_deg)
    # what the plane does not reach, as near the poles, lies off the field
    point_m[~np.isfinite(point_m).all(axis=1)] = MAX_LENGTH_M
    shapely.prepare(ground.outline)
    inside = shapely.contains_xy(ground.outline, *point_m.T)
    before, after = log.about(DRIVEN_S)
    way_m = point_m[after] - point_m[before]
    far_m = np.hypot(*way_m.T)
    speed_mps = far_m / np.maximum(log.time_s[after] - log.time_s[before], LENGTH_M)
    if log.speed_mps is not None:
        speed_mps = log.speed_mps
    block = _block_of(point_m, laid)
    raw_m, change_m = np.full((2, len(log)), np.nan)
    for index, one in enumerate(laid.blocks):
        mine = np.flatnonzero(block == index)
        raw_m[mine] = one.path.across_of(point_m[mine])
        change_m[mine] = np.abs(
            one.path.across_of(point_m[after[mine]]) - one.path.across_of(point_m[before[mine]])
        )
    along = (block != NONE) & (change_m <= ACROSS_SHARE * far_m)
    moving = (speed_mps >= fit_mps[0]) & (speed_mps <= fit_mps[1])
    on = along & moving
    lane = _parted(on, log.stretch, block, way_m)
    across_m = _steady(raw_m, lane, round(STEADY_S / log.step_s))
    strip = _strip_at(across_m, block, strips)
    run = _parted(on & (strip != NONE), lane, strip, way_m)
    way = way_m / np.maximum(far_m, LENGTH_M)[:, None]
    return Placed(point_m, inside, block, strip, across_m, along, way, speed_mps, run)


def _block_of(point_m: Floats, laid: Laid) -> Integers:
    """Give the block in one of whose strips each point lies."""
    polygons = [one.path.back(one.pieces.strips.polygon) for one in laid.blocks]
    owner = np.repeat(np.arange(len(polygons)), [len(one) for one in polygons])
    tree = shapely.STRtree(np.concatenate(polygons))
    point, piece = tree.query(shapely.points(point_m), predicate="intersects")
    block = np.full(len(point_m), NONE, dtype=np.int64)
    block[point] = owner[piece]
    return block


def _parted(on: Bools, one: Integers, other: Integers, way_m: Floats) -> Integers:
    """Number the runs of points that are on, alike in both, and driven the same way."""
    back = np.append(False, (way_m[1:] * way_m[:-1]).sum(axis=1) < 0)
    changed = np.append(True, (np.diff(one) != 0) | (np.diff(other) != 0)) | back
    begins = on & (changed | ~np.append(False, on[:-1]))
    return np.where(on, np.cumsum(begins) - 1, NONE)


def _steady(values: Floats, lane: Integers, half: int) -> Floats:
    """Give the median of values about each, within its lane; as they are where they are on none."""
    found = values.copy()
    mine = lane != NONE
    found[mine] = medians_about(values[mine], lane[mine], max(half, 1))
    return found


def medians_about(values: Floats, group: Integers, half: int) -> Floats:
    """Give the median of so many values before and after each, within its group, (n,)."""
    series = pd.Series(values)
    rolled = series.groupby(group, sort=False).rolling(2 * half + 1, center=True, min_periods=1)
    return np.asarray(rolled.median().droplevel(0).sort_index(), dtype=np.float64)


def _strip_at(across_m: Floats, block: Integers, strips: Strips) -> Integers:
    """Give the strip that lies at a distance across, of each point in a block."""
    found = np.full(len(across_m), NONE, dtype=np.int64)
    for index in np.unique(strips.block):
        own = np.flatnonzero(strips.block == index)
        own = own[np.argsort(strips.low_m[own])]
        mine = np.flatnonzero(block == index)
        at = np.searchsorted(strips.low_m[own], across_m[mine], side="right") - 1
        inside = (at >= 0) & (across_m[mine] < strips.high_m[own[at]])
        found[mine] = np.where(inside, own[at], NONE)
    return found


@dataclass(frozen=True)
class Lanes:
    """Planned passes of the combine over strips that carry a crop.

    Attributes:
        number: as the operator's sheet numbers it, (k,).
        strip: index of the strip in `Strips`, (k,).
        across_m: where the middle of the combine runs, (k,).
        low_m: lower edge of what it works, (k,).
        high_m: upper edge, (k,).
        line: each as driven, (k,).
    """

    number: Integers
    strip: Integers
    across_m: Floats
    low_m: Floats
    high_m: Floats
    line: Geometries

    def of_runs(
        self, strip: Integers, across_m: Floats, halfway_m: Floats, width_m: float
    ) -> Integers:
        """Give the index of the planned pass that each run is; NONE where it is none.

        At a field's side a machine shifts inward, and its middle may lie in the next strip: the
        pass tells the strip then. Of two that would do the one in the run's strip goes before.

        Args:
            strip: index of the strip of each run, (r,).
            across_m: where its middle lies across, (r,).
            halfway_m: a place half-way along it, (r, 2).
            width_m: of the header.
        """
        if not len(self.number):
            return np.full(len(strip), NONE, dtype=np.int64)
        off_m = np.abs(across_m[:, None] - self.across_m[None, :])
        off_m += np.where(strip[:, None] != self.strip[None, :], ON_PASS_SHARE * width_m / 2, 0.0)
        # passes at one distance across may lie one behind the other, in pieces of a strip
        run, lane = np.nonzero(off_m <= ON_PASS_SHARE * width_m)
        beside_m = shapely.distance(shapely.points(halfway_m)[run], self.line[lane])
        off_m[run, lane] = np.where(beside_m <= width_m, off_m[run, lane], np.inf)
        nearest = np.argmin(off_m, axis=1)
        near = off_m[np.arange(len(strip)), nearest] <= ON_PASS_SHARE * width_m
        return np.where(near, nearest, NONE)


def lanes_of(laid: Laid, routes: Sequence[Route], strips: Strips, crop: str) -> Lanes:
    """List the passes that are planned to harvest a crop, numbered as they are driven."""
    parts: list[tuple[npt.NDArray[Any], ...]] = []
    before: dict[str, int] = {}
    for route in routes:
        if route.job.does != "harvest":
            continue
        first = before.get(route.job.machine, 0)
        before[route.job.machine] = first + len(route)
        for group in route.groups:
            runs, numbers = group.runs, first + 1 + np.arange(len(group))
            first += len(group)
            if runs is None or crop not in group.crop.split(" + "):
                continue
            block = laid.blocks[group.block]
            number = block.strip_number[runs.owner]
            order = np.argsort(strips.number)
            strip = order[np.searchsorted(strips.number, number, sorter=order)]
            parts.append((numbers, strip, runs.across_m, runs.low_m, runs.high_m, group.line))
    if not parts:
        none = np.empty(0, dtype=np.int64)
        bare = np.empty(0)
        return Lanes(none, none, bare, bare, bare, np.empty(0, dtype=object))
    return Lanes(*(np.concatenate(values) for values in zip(*parts, strict=True)))
