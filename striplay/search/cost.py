"""Weigh straight layouts: what each heading and offset costs a year, part by part.

All parts come from the trapezoids of the land, so every offset of a heading is weighed at once, and
a few headings together: see `striplay.geometry.fold`.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import (
    BEGIN_M,
    BEGIN_RUNS,
    BELOW_M2,
    END_M,
    END_RUNS,
    SHIFT,
    Folded,
    Profile,
    fold,
    profile_of,
    summed,
)
from striplay.geometry.frame import Frame
from striplay.geometry.holes import enclosed
from striplay.plan.models import Plan
from striplay.search.prices import Prices, Shut
from striplay.search.sides import Gone, Sides
from striplay.search.turned import LandToWeigh, Turned, extents, turned
from striplay.section.contour import grade_along_row
from striplay.section.sets import off_wish
from striplay.tolerances import PLANTED_M2

Floats = npt.NDArray[np.float64]

PARTS = (
    "headland", "bare land", "partial-width passes", "overlap at point rows", "turns",
    "departure from wished shares", "preferences",
)  # fmt: skip
"""The parts of the cost, in order."""
HEADLAND, BARE, PARTIAL, OVERLAP, TURNS, SHARES, PREFERENCES = range(len(PARTS))
"""Their places."""


@dataclass(frozen=True)
class Weighed:
    """One heading weighed at some offsets.

    Attributes:
        heading_deg: the heading.
        first_offset_m: the first offset: how far outside the land the first set begins.
        step_m: from each offset to the next.
        parts: money a year by part, (k, parts).
        passes: planter passes, (k,).
        aim: what is to be least before money; 0 where money is the aim, (k,).
        money: all parts; without end where no strip is planted, (k,).
    """

    heading_deg: float
    first_offset_m: float
    step_m: float
    parts: Floats
    passes: Floats
    aim: Floats
    money: Floats


def _at_offset(ground: Turned, prices: Prices, sides: Sides, offset_m: Floats) -> Turned:
    """Give what is planted at one offset of each ground."""
    step_m = prices.step_m
    begin_m, end_m = np.full(len(ground), -np.inf), np.full(len(ground), np.inf)
    ends_m = np.stack(extents(ground.planted, len(ground)), axis=1)
    for number, (low_m, high_m) in enumerate(ends_m):
        if low_m < high_m:
            first_m = ground.bottom_m[number] - offset_m[number]
            low, high = sides.planted((low_m - first_m) / step_m, (high_m - first_m) / step_m)
            begin_m[number], end_m[number] = first_m + low * step_m, first_m + high * step_m
    return ground.between(begin_m, end_m)


def weigh_headings(
    plan: Plan,
    prices: Prices,
    sides: Sides,
    grounds: Sequence[LandToWeigh],
    headings_deg: Sequence[float],
    offsets_m: Sequence[float] | float | None,
) -> list[Weighed]:
    """Weigh a few headings at every offset, or each at one.

    Args:
        plan: costs, aim, start side and shortest row.
        prices: of the section.
        sides: of the section.
        grounds: at each heading.
        headings_deg: degrees clockwise from true north.
        offsets_m: the offset, or that of each; all of them, a step apart, where None.
    """
    offset_m = None if offsets_m is None else np.broadcast_to(offsets_m, len(grounds))
    from_m = np.zeros(len(grounds)) if offset_m is None else offset_m
    whole = ways = turned(plan, grounds, headings_deg)
    if offset_m is not None:
        ways = _at_offset(ways, prices, sides, offset_m)
    first_m = ways.bottom_m - from_m
    land, over = profiles_of(ways, first_m)
    gone = sides.gone(land, over) if offset_m is None else None
    entire = (land, over) if offset_m is None else profiles_of(whole, whole.bottom_m)
    parts, passes, area_m2, aside_m2 = _all_offsets(prices, land, over, gone)
    planted_m2, aside_m2 = area_m2.sum(axis=0), aside_m2 + ways.aside_m2[:, None]
    headland_m2 = np.array([ground.headland_m2 for ground in grounds])[:, None]
    joined = np.array([ground.sides_join for ground in grounds])[:, None]
    parts[SHARES] = _share_cost(prices, area_m2, headland_m2 + np.where(joined, aside_m2, 0.0))
    lines = on_lines(prices, *entire)
    for number, span_m in _holes(plan, grounds, headings_deg):
        # such a pass has one piece, which the sum over levels took for none
        low_m, high_m = (y_m - first_m[number] for y_m in span_m)
        more = _of_holes(prices, low_m, high_m, _planted_at(land, gone, number))
        parts[TURNS, number] += more[0]
        passes[number] += more[1]
        begin_m, end_m = (float(m[number]) + whole.bottom_m[number] for m in entire[0].ends_m())
        lines[TURNS, number] += prices.lines.of_holes(*span_m, begin_m, end_m)
    for part in (PARTIAL, OVERLAP, TURNS) if prices.lines.any else ():
        parts[part] += lines[part, :, None]
    count = prices.steps if offset_m is None else 1
    parts, passes, aside_m2 = parts[..., :count], passes[:, :count], aside_m2[:, :count]
    side_per_m2 = np.array([ground.side_per_m2 for ground in grounds])[:, None]
    aside = aside_m2 * side_per_m2
    clear = np.array([ground.bare for ground in grounds]) + ways.short_m2 * plan.cost.land_per_m2
    parts[HEADLAND] = np.array([ground.headland for ground in grounds])[:, None]
    parts[BARE] = clear[:, None]
    each = zip(headings_deg, grounds, strict=True)
    parts[PREFERENCES] = np.array([preferences(plan, *one) for one in each])[:, None]
    bare = (planted_m2[:, :count] <= PLANTED_M2) | _bare(whole, prices, sides, offset_m)
    if bare.any():
        parts[PARTIAL:, bare] = 0.0
        passes = np.where(bare, 0.0, passes)
        every = whole.planted.areas_m2(len(grounds))[:, None] * side_per_m2
        aside = np.where(bare, every, aside)
    parts[HEADLAND] += np.where(joined, aside, 0.0)
    parts[BARE] += np.where(joined, 0.0, aside)
    money = np.where(bare, np.inf, parts.sum(axis=0))
    aims = {"land": parts[HEADLAND] + parts[BARE], "passes": passes}
    aim = aims.get(plan.cost.aim, np.zeros(passes.shape))
    return [
        Weighed(
            heading_deg,
            float(from_m[number]),
            prices.step_m,
            parts[:, number].T,
            passes[number],
            aim[number],
            money[number],
        )
        for number, heading_deg in enumerate(headings_deg)
    ]


def profiles_of(ground: Turned, first_m: Floats) -> tuple[Profile, Profile]:
    """Give what is planted and what machines run over by level; one and the same where they are."""
    land = profile_of(ground.planted, first_m)
    return land, land if ground.runs is ground.planted else profile_of(ground.runs, first_m)


def _holes(
    plan: Plan, grounds: Sequence[LandToWeigh], headings_deg: Sequence[float]
) -> Iterator[tuple[int, tuple[Floats, Floats]]]:
    """Give each ground that has holes a pass may hold, and between which y they lie."""
    for number, (heading_deg, ground) in enumerate(zip(headings_deg, grounds, strict=True)):
        if ground.holes is not None and len(ground.holes):
            low_m, high_m = ground.holes.spans(Frame(heading_deg))
            upside_down = plan.direction.start == "left"
            yield number, (-high_m, -low_m) if upside_down else (low_m, high_m)


def on_lines(prices: Prices, land: Profile, over: Profile) -> Floats:
    """Price the passes on tramlines, as a mean over all places across, (parts, grounds)."""
    parts = np.zeros((len(PARTS), len(land)))
    if prices.lines.any:
        planted = summed(land)
        ran = planted if over is land else summed(over)
        parts[TURNS] = prices.lines.turns(ran)
        parts[PARTIAL] = prices.lines.partial(ran)
        parts[OVERLAP] = prices.lines.overlap(planted)
    return parts


def _bare(
    ground: Turned, prices: Prices, sides: Sides, offset_m: Floats | None
) -> npt.NDArray[np.bool_]:
    """Tell where all land is too narrow for a strip, at every offset or each one, (grounds, k)."""
    at = (
        np.arange(prices.steps, dtype=np.float64)[None]
        if offset_m is None
        else (offset_m[:, None] / prices.step_m)
    )
    at = np.broadcast_to(at, (len(ground), at.shape[1]))
    bare = np.ones(at.shape, dtype=bool)
    ends_m = np.stack(extents(ground.planted, len(ground)), axis=1) - ground.bottom_m[:, None]
    for number, (low, high) in enumerate(ends_m / prices.step_m):
        if low < high:
            bare[number] = sides.bare(at[number] + low, high - low)
    return bare


def _all_offsets(
    prices: Prices, profile: Profile, over: Profile, gone: Gone | None
) -> tuple[Floats, Floats, Floats, Floats]:
    """Measure at every offset what strips make of the land.

    Returns:
        Parts that depend on the offset, but for shares, (parts, grounds, steps); planter passes,
        (grounds, steps); land of each strip, (strips, grounds, steps); and land aside,
        (grounds, steps).
    """
    steps = prices.steps
    land = fold(profile, prices.step_m, steps)
    ran = land if over is profile else fold(over, prices.step_m, steps)
    first, last = prices.begins, prices.ends
    counts = _weighted(first.per_turn, ran.seen(BEGIN_RUNS, first.level))
    counts += _weighted(last.per_turn, ran.seen(END_RUNS, last.level))
    run = _priced_runs(prices, land)
    if ran is not land:
        run[0] = _priced_runs(prices, ran)[0]
    edges = land.seen(BELOW_M2, prices.borders)
    area, aside = np.diff(edges, axis=0), np.zeros((len(profile), steps))
    if gone is not None:
        counts += gone.rows[:2]
        run += gone.rows[2:4]
        area += gone.rows[4:]
        aside -= gone.rows[4:].sum(axis=0)
    beyond = np.maximum(run - _weighted(prices.per_m2, area), 0.0)
    measured = np.zeros((len(PARTS), len(profile), steps))
    measured[PARTIAL], measured[OVERLAP] = beyond
    measured[TURNS] = counts[0]
    return measured, np.rint(counts[1]), area, aside


def _weighted(weight: Floats, values: Floats) -> Floats:
    """Add up the rows of values (k, ...) by weights (n, k)."""
    return (weight @ values.reshape(len(values), -1)).reshape(-1, *values.shape[1:])


@dataclass(frozen=True)
class _Planted:
    """Between which levels a ground lies, and is planted at each offset; None there: all of it."""

    low_m: float
    high_m: float
    between: tuple[Floats, Floats] | None


def _planted_at(land: Profile, gone: Gone | None, ground: int) -> _Planted:
    low_m, high_m = land.ends_m()
    between = None if gone is None else gone.planted(ground)
    return _Planted(float(low_m[ground]), float(high_m[ground]), between)


def _of_holes(prices: Prices, low_m: Floats, high_m: Floats, planted: _Planted) -> Floats:
    """Count turns and planter passes of holes that a pass holds, at every offset, (2, steps).

    Args:
        prices: of the section.
        low_m: level at which each hole begins.
        high_m: level at which it ends.
        planted: what is planted.
    """
    inside = (low_m > planted.low_m) & (high_m < planted.high_m)  # else no hole any more
    low_m, high_m = low_m[inside], high_m[inside]
    step_m, steps = prices.step_m, prices.steps
    found = prices.per_turn @ enclosed(low_m, high_m, prices.levels, step_m, steps)
    if planted.between is not None:
        begins, ends = planted.between
        for begin, end in zip(low_m, high_m, strict=True):
            none = (begins * step_m > begin) | (ends * step_m < end)
            if none.any():
                own = np.array([begin]), np.array([end])
                found -= none * (prices.per_turn @ enclosed(*own, prices.levels, step_m, steps))
    return np.asarray(found)


def _priced_runs(prices: Prices, land: Folded) -> Floats:
    """Price all runs: of the machines, and of the ground their whole parts cover.

    A pass whose parts shut off each alone has edges between them, each the upper edge of a part and
    the lower edge of the next. They are (2, grounds, steps).
    """
    first, last, steps = prices.begins, prices.ends, prices.steps
    run = _weighted(first.per_run_m, land.seen(BEGIN_M, first.level))
    run += _weighted(last.per_run_m, land.seen(END_M, last.level))
    between_m = _between_parts(land, prices.step_m)
    # the set before, this one, and the one that a pass may go on into
    sets = 2 + max((s.first % steps + s.last - s.first > steps for s in prices.shut), default=False)
    combs: dict[int, Floats] = {}
    for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
        if shut.count == 1 or price == 0.0:
            continue
        if shut.stride not in combs:
            comb = _comb(np.tile(between_m, sets), shut.stride)
            combs[shut.stride] = comb[:, ::-1]  # the last level first
        begin = (sets - 1) * steps - 1 - shut.first % steps
        end = begin - (shut.count - 1) * shut.stride
        comb = combs[shut.stride]
        run[1] += price * (comb[:, end : end + steps] - comb[:, begin : begin + steps])
    return run


def _between_parts(land: Folded, step_m: float) -> Floats:
    """Give the run over an edge between two parts of a pass, by level of the set, (grounds, steps).

    As of passes, what takes less than a step off a part, such as a side that lies along it, shuts
    none off; but what ends shift steadily within the step is run over.
    """
    begin_m, end_m = land.sums[BEGIN_M], land.sums[END_M]
    run_m: Floats = land.sums[SHIFT] * step_m
    run_m[:, 1:] += end_m[:, :-1]
    run_m[:, 0] += end_m[:, -1] - land.total[END_M]
    run_m[:, :-1] += begin_m[:, 1:]
    run_m[:, -1] += begin_m[:, 0] + land.total[BEGIN_M]
    return run_m


def _comb(values: Floats, stride: int) -> Floats:
    """Add up every `stride`-th value to each from below, ground by ground."""
    grounds, count = values.shape
    padded = np.zeros((grounds, -(-count // stride) * stride))
    padded[:, :count] = values
    combed = np.cumsum(padded.reshape(grounds, -1, stride), axis=1)
    return combed.reshape(grounds, -1)[:, :count]


def fold_at(
    plan: Plan,
    prices: Prices,
    sides: Sides,
    ground: LandToWeigh,
    heading_deg: float,
    offset_m: float,
) -> Folded:
    """Fold the planted ground by a section, at one heading and offset."""
    way = turned(plan, [ground], [heading_deg])
    way = _at_offset(way, prices, sides, np.array([offset_m]))
    return fold(profile_of(way.planted, way.bottom_m - offset_m), prices.step_m, prices.steps)


def worked_twice_m2(land: Folded, prices: Prices, shut: list[Shut]) -> float:
    """Measure the ground that some passes work besides their own.

    Args:
        land: the planted ground, folded.
        prices: of the section; its steps are used.
        shut: the passes, and how they shut off.
    """
    between_m = _between_parts(land, prices.step_m)[0]
    total_m2 = 0.0
    for one in shut:
        first, last = np.array([one.first]), np.array([one.last])
        run_m = float(
            land.at(BEGIN_M, first + one.inside)[0] + land.at(END_M, last - one.inside)[0]
        )
        between = one.first + one.stride * np.arange(1, one.count)
        run_m += between_m[between % prices.steps].sum()
        own_m2 = float(land.at(BELOW_M2, last)[0] - land.at(BELOW_M2, first)[0])
        total_m2 += one.planted * (run_m * one.part_steps * prices.step_m - own_m2)
    return max(total_m2, 0.0)


def _share_cost(prices: Prices, area_m2: Floats, headland_m2: Floats | float) -> Floats:
    """Price the land under other crops than wished, at every offset.

    Args:
        prices: of the section.
        area_m2: of each strip, (strips, grounds, steps).
        headland_m2: of the headland, which counts where it is planted.
    """
    if np.isnan(prices.wish).all():
        return np.zeros(area_m2.shape[1:])
    planted = 0.0 if prices.headland_crop is None else headland_m2
    total = area_m2.sum(axis=0) + planted
    over = []
    for crop in np.flatnonzero(~np.isnan(prices.wish)):
        own = area_m2[prices.crop == crop].sum(axis=0)
        own = own + (planted if crop == prices.headland_crop else 0.0)
        over.append(own - prices.wish[crop] * total)
    return np.asarray(off_wish(over) * prices.share_per_m2)


def preferences(plan: Plan, heading_deg: float, ground: LandToWeigh) -> float:
    """Price what the heading misses of the preferences for direction and grade."""
    cost = plan.cost
    money = cost.north_south_per_m2 * math.sin(math.radians(heading_deg)) ** 2
    if ground.edge_heading_deg is not None:
        off_rad = math.radians(heading_deg - ground.edge_heading_deg)
        money += cost.edge_per_m2 * math.sin(off_rad) ** 2
    if plan.slope is not None and plan.slope.along_row is not None:
        excess = grade_along_row(plan.slope, heading_deg) - plan.slope.along_row
        money += plan.slope.excess_per_m2 * max(excess, 0.0)
    return money * ground.area_m2
