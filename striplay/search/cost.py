"""Weigh straight layouts: what each heading and offset costs a year, part by part.

All parts come from the trapezoids of the land, so every offset of a heading is weighed at once: see
`striplay.geometry.fold`.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges
from striplay.geometry.fold import Folded, fold
from striplay.geometry.frame import Frame
from striplay.geometry.holes import Holes, enclosed
from striplay.geometry.slabs import Slabs, slabs_of, split_by_length
from striplay.plan.models import Plan
from striplay.search.prices import Prices, Shut
from striplay.section.contour import grade_along_row

Floats = npt.NDArray[np.float64]

PARTS = ("land not cropped", "part-width runs", "point rows", "turns", "shares", "wishes")
"""The parts of the cost, in order."""


@dataclass(frozen=True)
class GroundToWeigh:
    """Ground to weigh at a heading, on the local plane.

    Attributes:
        edges: of the land inside the headland.
        runs: of the ground that machines run over without turning; the same, or with obstacles
            that they lift through.
        lost: money a year of headland and clearances.
        area_m2: of the land inside the headland.
        edge_heading_deg: direction of the edge that rows are wished along, if any.
        holes: those of `runs` so small that a pass may hold one.
    """

    edges: Edges
    runs: Edges
    lost: float
    area_m2: float
    edge_heading_deg: float | None = None
    holes: Holes | None = None


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
        money: all parts; without end where there is no land, (k,).
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
        short: the others.
        runs: as `planted`, of the ground machines run over.
        bottom_m: y at which the land begins.
    """

    planted: Slabs
    short: Slabs
    runs: Slabs
    bottom_m: float


def _turned(plan: Plan, ground: GroundToWeigh, frame: Frame) -> _Turned:
    start, end = frame.turn_points(ground.edges.start), frame.turn_points(ground.edges.end)
    shortest_m = plan.direction.shortest_m
    planted, short = split_by_length(slabs_of(start, end), shortest_m)
    runs = planted
    if ground.runs is not ground.edges:
        over = slabs_of(frame.turn_points(ground.runs.start), frame.turn_points(ground.runs.end))
        runs, _ = split_by_length(over, shortest_m)
    bottom_m = float(np.min(start[:, 1])) if len(start) else 0.0
    if plan.direction.start == "left" and len(start):
        same = runs is planted
        planted, bottom_m = planted.mirrored(), -float(start[:, 1].max())
        runs = planted if same else runs.mirrored()
    return _Turned(planted, short, runs, bottom_m)


def weigh_heading(
    plan: Plan, prices: Prices, ground: GroundToWeigh, heading_deg: float, offset_m: float | None
) -> Weighed:
    """Weigh a heading at every offset, or at one.

    Args:
        plan: costs, aim, start side and shortest row.
        prices: of the section.
        ground: at the heading.
        heading_deg: degrees clockwise from true north.
        offset_m: the offset; all of them, a step apart, where None.
    """
    frame = Frame(heading_deg)
    turned = _turned(plan, ground, frame)
    first_m = turned.bottom_m - (offset_m or 0.0)
    measured, passes = _all_offsets(prices, turned, first_m)
    if ground.holes is not None and len(ground.holes):
        # such a pass has one piece, which the sum over levels took for none
        low_m, high_m = ground.holes.spans(frame)
        if plan.direction.start == "left":
            low_m, high_m = -high_m, -low_m
        more = prices.per_turn @ enclosed(
            low_m - first_m, high_m - first_m, prices.levels, prices.step_m, prices.steps
        )
        measured[3] += more[0]
        passes = passes + more[1]
    count = prices.steps if offset_m is None else 1
    parts = measured[:, :count]
    parts[0] = ground.lost + turned.short.area_m2 * plan.cost.land_per_m2
    parts[5] = _wishes(plan, heading_deg, ground)
    money = np.asarray(parts.sum(axis=0) if ground.area_m2 > 0.0 else np.full(count, np.inf))
    aim = {"land": parts[0], "passes": passes[:count]}.get(plan.cost.aim, np.zeros(count))
    return Weighed(heading_deg, offset_m or 0.0, prices.step_m, parts.T, passes[:count], aim, money)


def _all_offsets(prices: Prices, turned: _Turned, first_m: float) -> tuple[Floats, Floats]:
    """Give the parts that depend on the offset, (parts, steps), and planter passes, (steps,)."""
    steps = prices.steps
    land = fold(turned.planted, first_m, prices.step_m, steps)
    same = turned.runs is turned.planted
    over = land if same else fold(turned.runs, first_m, prices.step_m, steps)
    first, last = prices.levels
    counts = prices.per_turn @ _seen(over.begin_runs, first, steps)
    counts += prices.per_turn @ _seen(over.end_runs, last, steps)
    run = _priced_runs(prices, land)
    if not same:
        run[0] = _priced_runs(prices, over)[0]
    edges = _seen(land.below_m2, prices.strip_steps.ravel(), steps)
    area = edges[1::2] - edges[::2]
    beyond = np.maximum(run - prices.per_m2 @ area, 0.0)
    measured = np.zeros((len(PARTS), steps))
    measured[1], measured[2] = beyond
    measured[3] = counts[0]
    measured[4] = _share_cost(prices, area)
    return measured, np.rint(counts[1])


def _priced_runs(prices: Prices, land: Folded) -> Floats:
    """Price all runs: of the machines, and of the ground their whole parts cover, (2, steps).

    A pass whose parts shut off each alone runs over its lower edge's and its upper edge's ground,
    and over the chord at each edge between two parts.
    """
    steps = prices.steps
    first, last = prices.levels
    run = prices.per_run_m @ _seen(land.begin_m, first, steps)
    run += prices.per_run_m @ _seen(land.end_m, last, steps)
    chord_m = land.begin_m + land.end_m
    combs: dict[int, Floats] = {}
    for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
        if shut.count == 1 or price == 0.0:
            continue
        if shut.stride not in combs:
            combs[shut.stride] = _comb(chord_m, shut.stride)
        comb = combs[shut.stride]
        ends = np.array([shut.first, shut.first + (shut.count - 1) * shut.stride])
        low, high = _seen(comb, ends, steps)
        run[1] += price * (high - low)
    return np.asarray(run, dtype=np.float64)


def _comb(values: Floats, stride: int) -> Floats:
    """Add up every `stride`-th value to each from below."""
    rest = -len(values) % stride
    padded = np.append(values, np.zeros(rest)).reshape(-1, stride)
    return np.cumsum(padded, axis=0).ravel()[: len(values)]


def _seen(values: Floats, levels: npt.NDArray[np.int64], steps: int) -> Floats:
    """Give what levels of the set see, (levels, steps), the first set 0, 1, 2 ... steps outside."""
    seen = np.empty((len(levels), steps))
    if levels.min(initial=0) < 0:  # what begins before the set is the last of the set before
        values = np.append(values[:steps] - (values[-1] - values[steps]), values)
    backward = values[::-1]
    for row, start in zip(seen, steps - levels, strict=True):
        row[:] = backward[start : start + steps]
    return seen


def fold_at(
    plan: Plan, ground: GroundToWeigh, heading_deg: float, offset_m: float, prices: Prices
) -> Folded:
    """Fold the planted ground by a section, at one heading and offset."""
    turned = _turned(plan, ground, Frame(heading_deg))
    return fold(turned.planted, turned.bottom_m - offset_m, prices.step_m, prices.steps)


def worked_twice_m2(land: Folded, prices: Prices, shut: list[Shut]) -> float:
    """Measure the ground that some passes work besides their own.

    Args:
        land: the planted ground, folded.
        prices: of the section; its steps are used.
        shut: the passes, and how they shut off.
    """
    steps, step_m = prices.steps, prices.step_m
    chord_m = land.begin_m + land.end_m
    total_m2 = 0.0
    for one in shut:
        run_m = land.begin_m[steps + one.first + 1] + land.end_m[steps + one.last - 1]
        between = steps + one.first + one.stride * np.arange(1, one.count)
        run_m += chord_m[between].sum()
        own_m2 = land.below_m2[steps + one.last] - land.below_m2[steps + one.first]
        total_m2 += one.planted * (float(run_m) * one.part_steps * step_m - float(own_m2))
    return max(total_m2, 0.0)


def _share_cost(prices: Prices, area_m2: Floats) -> Floats:
    """Price the land under other crops than wished, at every offset."""
    if np.isnan(prices.wish).all():
        return np.zeros(area_m2.shape[1])
    total = area_m2.sum(axis=0)
    off = np.zeros(area_m2.shape[1])
    for crop in np.flatnonzero(~np.isnan(prices.wish)):
        off += np.abs(area_m2[prices.crop == crop].sum(axis=0) - prices.wish[crop] * total) / 2
    return off * prices.share_per_m2


def _wishes(plan: Plan, heading_deg: float, ground: GroundToWeigh) -> float:
    """Price what the heading misses of the wishes for direction and grade."""
    cost = plan.cost
    money = cost.north_south_per_m2 * math.sin(math.radians(heading_deg)) ** 2
    if ground.edge_heading_deg is not None:
        off_rad = math.radians(heading_deg - ground.edge_heading_deg)
        money += cost.edge_per_m2 * math.sin(off_rad) ** 2
    if plan.slope is not None and plan.slope.along_row is not None:
        excess = grade_along_row(plan.slope, heading_deg) - plan.slope.along_row
        money += plan.slope.excess_per_m2 * max(excess, 0.0)
    return money * ground.area_m2
