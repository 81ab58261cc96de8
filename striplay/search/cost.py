"""Weigh straight layouts: what each heading and offset costs a year, part by part.

All parts come from the trapezoids of the land, so every offset of a heading is weighed at once: see
`striplay.geometry.fold`.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges
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
)
from striplay.geometry.frame import Frame
from striplay.geometry.holes import Holes, enclosed
from striplay.geometry.slabs import Slabs, slabs_of, with_chords_of
from striplay.plan.models import Plan
from striplay.search.prices import Prices, Shut
from striplay.search.sides import Gone, Sides
from striplay.section.contour import grade_along_row
from striplay.section.section import Section
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
class LandToWeigh:
    """Ground to weigh at a heading, on the local plane.

    Attributes:
        edges: of the land inside the headland.
        runs: of the ground that machines run over without turning; the same, or with obstacles
            that they lift through.
        headland: money a year of the headland, planted or not.
        bare: money a year of clearances.
        area_m2: of the land inside the headland.
        side_per_m2: money a year of a square meter at the sides that no strip is planted on.
        edge_heading_deg: direction of the edge that rows are wished along, if any.
        holes: those of `runs` so small that a pass may hold one.
        headland_m2: of the headland.
        sides_join: whether sides that no strip is planted on join it.
    """

    edges: Edges
    runs: Edges
    headland: float
    bare: float
    area_m2: float
    side_per_m2: float
    edge_heading_deg: float | None = None
    holes: Holes | None = None
    headland_m2: float = 0.0
    sides_join: bool = False


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


@dataclass(frozen=True)
class _Turned:
    """Ground turned, trapezoid by trapezoid; upside down where the set begins on the left.

    Attributes:
        planted: chords long enough to be planted.
        short_m2: area of the others.
        runs: as `planted`, of the ground machines run over.
        bottom_m: y at which the land begins.
        aside_m2: area at the sides on which no strip is planted.
    """

    planted: Slabs
    short_m2: float
    runs: Slabs
    bottom_m: float
    aside_m2: float = 0.0

    def between(self, low_m: float, high_m: float) -> "_Turned":
        """Give what is planted between two levels."""
        if low_m == -math.inf and high_m == math.inf:
            return self
        planted = self.planted.between(low_m, high_m)
        runs = planted if self.runs is self.planted else self.runs.between(low_m, high_m)
        aside_m2 = self.planted.area_m2 - planted.area_m2
        return _Turned(planted, self.short_m2, runs, self.bottom_m, aside_m2)


def _turned(plan: Plan, ground: LandToWeigh, frame: Frame) -> _Turned:
    start, end = frame.turn_points(ground.edges.start), frame.turn_points(ground.edges.end)
    planted = with_chords_of(slabs_of(start, end), plan.direction.shortest_m)
    short_m2 = max(ground.area_m2 - planted.area_m2, 0.0)
    runs = planted
    if ground.runs is not ground.edges and len(planted.low_m):
        over = slabs_of(frame.turn_points(ground.runs.start), frame.turn_points(ground.runs.end))
        runs = with_chords_of(over, plan.direction.shortest_m).between(
            float(planted.low_m.min()), float(planted.high_m.max())
        )
    bottom_m = float(np.min(start[:, 1])) if len(start) else 0.0
    if plan.direction.start == "left" and len(start):
        same = runs is planted
        planted, bottom_m = planted.mirrored(), -float(start[:, 1].max())
        runs = planted if same else runs.mirrored()
    return _Turned(planted, short_m2, runs, bottom_m)


def _at_offset(turned: _Turned, prices: Prices, sides: Sides, offset_m: float) -> _Turned:
    """Give what is planted at one offset."""
    if not len(turned.planted.low_m):
        return turned
    first_m, step_m = turned.bottom_m - offset_m, prices.step_m
    low_m, high_m = float(turned.planted.low_m.min()), float(turned.planted.high_m.max())
    low, high = sides.planted((low_m - first_m) / step_m, (high_m - first_m) / step_m)
    return turned.between(first_m + low * step_m, first_m + high * step_m)


def weigh_heading(
    plan: Plan,
    prices: Prices,
    sides: Sides,
    ground: LandToWeigh,
    heading_deg: float,
    offset_m: float | None,
) -> Weighed:
    """Weigh a heading at every offset, or at one.

    Args:
        plan: costs, aim, start side and shortest row.
        prices: of the section.
        sides: of the section.
        ground: at the heading.
        heading_deg: degrees clockwise from true north.
        offset_m: the offset; all of them, a step apart, where None.
    """
    frame = Frame(heading_deg)
    whole = turned = _turned(plan, ground, frame)
    if offset_m is not None:
        turned = _at_offset(turned, prices, sides, offset_m)
    first_m = turned.bottom_m - (offset_m or 0.0)
    land = profile_of(turned.planted, first_m)
    same = turned.runs is turned.planted
    over = land if same else profile_of(turned.runs, first_m)
    gone = sides.gone(land, over) if offset_m is None else None
    measured, passes, area_m2, aside_m2 = _all_offsets(prices, land, over, gone)
    planted_m2, aside_m2 = area_m2.sum(axis=0), aside_m2 + turned.aside_m2
    measured[SHARES] = _share_cost(
        prices, area_m2, ground.headland_m2 + (aside_m2 if ground.sides_join else 0.0)
    )
    if ground.holes is not None and len(ground.holes):
        # such a pass has one piece, which the sum over levels took for none
        low_m, high_m = ground.holes.spans(frame)
        if plan.direction.start == "left":
            low_m, high_m = -high_m, -low_m
        more = _of_holes(prices, low_m - first_m, high_m - first_m, land, gone)
        measured[TURNS] += more[0]
        passes = passes + more[1]
    count = prices.steps if offset_m is None else 1
    parts = measured[:, :count]
    parts[HEADLAND] = ground.headland
    parts[BARE] = ground.bare + turned.short_m2 * plan.cost.land_per_m2
    side = HEADLAND if ground.sides_join else BARE
    parts[side] += aside_m2[:count] * ground.side_per_m2
    parts[PREFERENCES] = _preferences(plan, heading_deg, ground)
    bare = (planted_m2[:count] <= PLANTED_M2) | _bare(whole, prices, sides, offset_m)
    if bare.any():
        parts[:, bare] = 0.0
        parts[HEADLAND, bare] = ground.headland
        parts[BARE, bare] = ground.bare + whole.short_m2 * plan.cost.land_per_m2
        parts[side, bare] += whole.planted.area_m2 * ground.side_per_m2
        passes = np.where(bare, 0.0, passes[:count])
    money = np.where(bare, np.inf, parts.sum(axis=0))
    aims = {"land": parts[HEADLAND] + parts[BARE], "passes": passes[:count]}
    aim = aims.get(plan.cost.aim, np.zeros(count))
    return Weighed(heading_deg, offset_m or 0.0, prices.step_m, parts.T, passes[:count], aim, money)


def _bare(
    turned: _Turned, prices: Prices, sides: Sides, offset_m: float | None
) -> npt.NDArray[np.bool_]:
    """Tell at which offsets, or at the one, all land is too narrow for a strip."""
    at: Floats = np.arange(prices.steps, dtype=np.float64)
    if offset_m is not None:
        at = np.array([offset_m / prices.step_m])
    if not len(turned.planted.low_m):
        return np.ones(len(at), dtype=bool)
    low_m = float(turned.planted.low_m.min()) - turned.bottom_m
    high_m = float(turned.planted.high_m.max()) - turned.bottom_m
    return sides.bare(at + low_m / prices.step_m, (high_m - low_m) / prices.step_m)


def _all_offsets(
    prices: Prices, profile: Profile, over: Profile, gone: Gone | None
) -> tuple[Floats, Floats, Floats, Floats]:
    """Measure at every offset what strips make of the land.

    Returns:
        Parts that depend on the offset, but for shares, (parts, steps); planter passes, (steps,);
        land of each strip, (strips, steps); and land aside, (steps,).
    """
    steps = prices.steps
    land = fold(profile, prices.step_m, steps)
    ran = land if over is profile else fold(over, prices.step_m, steps)
    first, last = prices.begins, prices.ends
    counts = first.per_turn @ ran.seen(BEGIN_RUNS, first.level)
    counts += last.per_turn @ ran.seen(END_RUNS, last.level)
    run = _priced_runs(prices, land)
    if ran is not land:
        run[0] = _priced_runs(prices, ran)[0]
    edges = land.seen(BELOW_M2, prices.borders)
    area, aside = np.diff(edges, axis=0), np.zeros(steps)
    if gone is not None:
        counts += gone.rows[:2]
        run += gone.rows[2:4]
        area += gone.rows[4:]
        aside -= gone.rows[4:].sum(axis=0)
    beyond = np.maximum(run - prices.per_m2 @ area, 0.0)
    measured = np.zeros((len(PARTS), steps))
    measured[PARTIAL], measured[OVERLAP] = beyond
    measured[TURNS] = counts[0]
    return measured, np.rint(counts[1]), area, aside


def _of_holes(
    prices: Prices, low_m: Floats, high_m: Floats, land: Profile, gone: Gone | None
) -> Floats:
    """Count turns and planter passes of holes that a pass holds, at every offset, (2, steps).

    Args:
        prices: of the section.
        low_m: level at which each hole begins.
        high_m: level at which it ends.
        land: what is planted.
        gone: what is not there of it.
    """
    if not len(land.level_m):
        return np.zeros((2, prices.steps))
    inside = (low_m > land.level_m[0]) & (high_m < land.level_m[-1])  # else no hole any more
    low_m, high_m = low_m[inside], high_m[inside]
    step_m, steps = prices.step_m, prices.steps
    found = prices.per_turn @ enclosed(low_m, high_m, prices.levels, step_m, steps)
    if gone is not None and len(low_m):
        begins, ends = gone.planted()
        for begin, end in zip(low_m, high_m, strict=True):
            none = (begins * step_m > begin) | (ends * step_m < end)
            if none.any():
                own = np.array([begin]), np.array([end])
                found -= none * (prices.per_turn @ enclosed(*own, prices.levels, step_m, steps))
    return np.asarray(found)


def _priced_runs(prices: Prices, land: Folded) -> Floats:
    """Price all runs: of the machines, and of the ground their whole parts cover, (2, steps).

    A pass whose parts shut off each alone has edges between them, each the upper edge of a part and
    the lower edge of the next.
    """
    first, last, steps = prices.begins, prices.ends, prices.steps
    run = first.per_run_m @ land.seen(BEGIN_M, first.level)
    run += last.per_run_m @ land.seen(END_M, last.level)
    between_m = _between_parts(land, prices.step_m)
    # the set before, this one, and the one that a pass may go on into
    sets = 2 + max((s.first % steps + s.last - s.first > steps for s in prices.shut), default=False)
    combs: dict[int, Floats] = {}
    for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
        if shut.count == 1 or price == 0.0:
            continue
        if shut.stride not in combs:
            comb = _comb(np.tile(between_m, sets), shut.stride)
            combs[shut.stride] = comb[::-1].copy()  # the last level first
        begin = (sets - 1) * steps - 1 - shut.first % steps
        end = begin - (shut.count - 1) * shut.stride
        comb = combs[shut.stride]
        run[1] += price * (comb[end : end + steps] - comb[begin : begin + steps])
    return np.asarray(run, dtype=np.float64)


def _between_parts(land: Folded, step_m: float) -> Floats:
    """Give the run over an edge between two parts of a pass, by level of the set, (steps,).

    As of passes, what takes less than a step off a part, such as a side that lies along it, shuts
    none off; but what ends shift steadily within the step is run over.
    """
    begin_m, end_m = land.sums[BEGIN_M], land.sums[END_M]
    run_m: Floats = land.sums[SHIFT] * step_m
    run_m[1:] += end_m[:-1]
    run_m[0] += end_m[-1] - land.total[END_M]
    run_m[:-1] += begin_m[1:]
    run_m[-1] += begin_m[0] + land.total[BEGIN_M]
    return run_m


def _comb(values: Floats, stride: int) -> Floats:
    """Add up every `stride`-th value to each from below."""
    rest = -len(values) % stride
    padded = np.append(values, np.zeros(rest)).reshape(-1, stride)
    return np.cumsum(padded, axis=0).ravel()[: len(values)]


def fold_at(
    plan: Plan,
    section: Section,
    ground: LandToWeigh,
    heading_deg: float,
    offset_m: float,
    prices: Prices,
) -> Folded:
    """Fold the planted ground by a section, at one heading and offset."""
    turned = _turned(plan, ground, Frame(heading_deg))
    turned = _at_offset(turned, prices, Sides(plan, section, prices), offset_m)
    land = profile_of(turned.planted, turned.bottom_m - offset_m)
    return fold(land, prices.step_m, prices.steps)


def worked_twice_m2(land: Folded, prices: Prices, shut: list[Shut]) -> float:
    """Measure the ground that some passes work besides their own.

    Args:
        land: the planted ground, folded.
        prices: of the section; its steps are used.
        shut: the passes, and how they shut off.
    """
    between_m = _between_parts(land, prices.step_m)
    total_m2 = 0.0
    for one in shut:
        first, last = np.array([one.first]), np.array([one.last])
        run_m = float(land.at(BEGIN_M, first + 1)[0] + land.at(END_M, last - 1)[0])
        between = one.first + one.stride * np.arange(1, one.count)
        run_m += between_m[between % prices.steps].sum()
        own_m2 = float(land.at(BELOW_M2, last)[0] - land.at(BELOW_M2, first)[0])
        total_m2 += one.planted * (run_m * one.part_steps * prices.step_m - own_m2)
    return max(total_m2, 0.0)


def _share_cost(prices: Prices, area_m2: Floats, headland_m2: Floats | float) -> Floats:
    """Price the land under other crops than wished, at every offset.

    Args:
        prices: of the section.
        area_m2: of each strip, (strips, steps).
        headland_m2: of the headland, which counts where it is planted.
    """
    if np.isnan(prices.wish).all():
        return np.zeros(area_m2.shape[1])
    planted = 0.0 if prices.headland_crop is None else headland_m2
    total = area_m2.sum(axis=0) + planted
    off = np.zeros(area_m2.shape[1])
    for crop in np.flatnonzero(~np.isnan(prices.wish)):
        own = area_m2[prices.crop == crop].sum(axis=0)
        own = own + (planted if crop == prices.headland_crop else 0.0)
        off += np.abs(own - prices.wish[crop] * total) / 2
    return off * prices.share_per_m2


def _preferences(plan: Plan, heading_deg: float, ground: LandToWeigh) -> float:
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
