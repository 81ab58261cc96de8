"""Weigh straight layouts: what each heading and offset costs a year, part by part.

All parts come from the trapezoids of the land, so every offset of a heading is weighed at once: see
`striplay.geometry.fold`.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges
from striplay.geometry.fold import fold
from striplay.geometry.frame import Frame
from striplay.geometry.holes import Holes, enclosed
from striplay.geometry.slabs import Slabs, slabs_of, split_by_length
from striplay.plan.cost import Slope
from striplay.plan.machines import Machine
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import END_ANGLE_DEG, OFFSET_STEP_M

Floats = npt.NDArray[np.float64]
Aim = Literal["money", "land", "passes"]

PARTS = ("land not cropped", "part-width runs", "point rows", "turns", "shares", "wishes")
"""The parts of the cost, in order."""

DEFAULT_TURN_S = {"plant": 40.0, "spray": 30.0, "harvest": 35.0}
"""Time of a turn; from memory."""
DEFAULT_SPEED_MPS = {"plant": 5 * 0.44704, "spray": 10 * 0.44704, "harvest": 4 * 0.44704}
"""Speed at work; from memory."""
DEFAULT_COST_PER_S = {"plant": 200 / 3600, "spray": 180 / 3600, "harvest": 300 / 3600}
"""Machine and operator; from memory."""


@dataclass(frozen=True)
class Prices:
    """What a section costs on any ground, its passes given by the levels of their outer rows.

    Attributes:
        step_m: distance between levels; the set is a whole number of steps.
        steps: steps to the set.
        levels: of each machine pass over a set, the levels a step inside its two edges, (2, p): a
            boundary that takes less off shuts no row off.
        per_turn: money a turn, and 1 where it is a planter's, of each pass, (2, p).
        per_run_m: money a metre of run of each pass, (p,).
        strip_steps: first and last edge of each strip in steps, (s, 2).
        run_per_m2: money to run all machines over a square metre of each strip, (s,).
        slant_per_m: money of ground planted and sprayed twice, a metre that an end slants along x.
        crop: index of each strip's crop, (s,).
        wish: wished share of each crop's land, NaN where none, (c,).
        share_per_m2: money of land off the wish.
    """

    step_m: float
    steps: int
    levels: npt.NDArray[np.int64]
    per_turn: Floats
    per_run_m: Floats
    strip_steps: npt.NDArray[np.int64]
    run_per_m2: Floats
    slant_per_m: float
    crop: npt.NDArray[np.int64]
    wish: Floats
    share_per_m2: float


def prices_of(plan: Plan, section: Section) -> Prices:
    """Price a section with its plan's machines and costs."""
    steps = math.ceil(section.width_m / OFFSET_STEP_M - 1e-9)
    half_m = min(strip.spacing_m for strip in section.strips) / 2
    for finer in range(steps, steps + math.ceil(half_m / OFFSET_STEP_M) * 40):
        if abs(half_m * finer / section.width_m % 1.0 - 0.5) > 0.5 - 1e-9:
            steps = finer
            break
    step_m = section.width_m / steps
    passes: dict[tuple[int, int], Floats] = {}
    runs = np.zeros(len(section.strips))
    for index, strip in enumerate(section.strips):
        for work in strip.works:
            turn, run = _work_prices(plan.machines[work.machine])
            for low_m, high_m in work.spans(strip):
                first = round((strip.left_m + low_m) / step_m) + 1
                last = round((strip.left_m + high_m) / step_m) - 1
                own = np.array([turn, work.operation == "plant", run])
                passes[first, last] = passes.get((first, last), 0.0) + own
                runs[index] += run / strip.width_m
    crops = list(dict.fromkeys(strip.crop for strip in section.strips))
    edges = [(s.left_m / step_m, (s.left_m + s.width_m) / step_m) for s in section.strips]
    return Prices(
        step_m=step_m,
        steps=steps,
        levels=np.array(list(passes)).T,
        per_turn=np.array(list(passes.values())).T[:2],
        per_run_m=np.array(list(passes.values())).T[2],
        strip_steps=np.rint(np.array(edges)).astype(np.int64),
        run_per_m2=runs,
        slant_per_m=_slant_per_m(plan, section),
        crop=np.array([crops.index(strip.crop) for strip in section.strips]),
        wish=np.array([plan.crops[crop].share or np.nan for crop in crops]),
        share_per_m2=plan.cost.share_per_m2,
    )


def _work_prices(machine: Machine) -> tuple[float, float]:
    """Price a turn, and a metre of run."""
    cost_per_s, turn_s, speed_mps = machine.cost_per_s, machine.turn_s, machine.speed_mps
    cost_per_s = DEFAULT_COST_PER_S[machine.does] if cost_per_s is None else cost_per_s
    return (
        cost_per_s * (turn_s or DEFAULT_TURN_S[machine.does]),
        cost_per_s / (speed_mps or DEFAULT_SPEED_MPS[machine.does]),
    )


def _slant_per_m(plan: Plan, section: Section) -> float:
    """Price the ground worked twice, a metre that an end slants along travel.

    A machine that shuts off a width w at once covers a triangle of w by the slant over w twice:
    over an end that slants by x in all, w x / 2, whatever the angle.
    """
    total = 0.0
    for strip in section.strips:
        share = strip.width_m / section.width_m
        total += share * plan.cost.seed_per_m2 * plan.planter(strip.crop).shut_off_m / 2
        for sprayer in plan.sprayers.values():
            total += share * plan.cost.spray_per_m2 * sprayer.width_m / sprayer.sections / 2
    return total


@dataclass(frozen=True)
class Weighed:
    """One heading weighed at some offsets.

    Attributes:
        heading_deg: the heading.
        offset_m: how far outside the land the first set begins, (k,).
        parts: money a year by part, (k, parts).
        passes: planter passes, (k,).
        rank: what is to be least: the aim, and money where the aim leaves a tie, (k,).
        slant_m: how far ends of rows slant along travel, in all.
    """

    heading_deg: float
    offset_m: Floats
    parts: Floats
    passes: Floats
    rank: Floats
    slant_m: float


@dataclass(frozen=True)
class Land:
    """Ground to weigh, on the local plane.

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


def weigh_heading(
    plan: Plan, prices: Prices, land: Land, heading_deg: float, offset_m: float | None
) -> Weighed:
    """Weigh a heading at every offset, or at one.

    Args:
        plan: costs, aim, start side and shortest row.
        prices: of the section.
        land: the ground.
        heading_deg: degrees clockwise from true north.
        offset_m: the offset; all of them, a step apart, where None.
    """
    frame = Frame(heading_deg)
    start, end = frame.turn_points(land.edges.start), frame.turn_points(land.edges.end)
    shortest_m = plan.direction.shortest_m or 0.0
    planted, short = split_by_length(slabs_of(start, end), shortest_m)
    runs = planted
    if land.runs is not land.edges:
        over = slabs_of(frame.turn_points(land.runs.start), frame.turn_points(land.runs.end))
        runs, _ = split_by_length(over, shortest_m)
    bottom_m = float(np.min(start[:, 1])) if len(start) else 0.0
    if plan.direction.start == "left" and len(start):
        same = runs is planted
        planted, bottom_m = planted.mirrored(), -float(start[:, 1].max())
        runs = planted if same else runs.mirrored()
    first_m = bottom_m - (offset_m or 0.0)
    turns, part_width, shares, passes = _all_offsets(prices, planted, runs, first_m)
    if land.holes is not None and len(land.holes):
        # such a pass has one piece, which the sum over levels took for none
        low_m, high_m = land.holes.spans(frame)
        if plan.direction.start == "left":
            low_m, high_m = -high_m, -low_m
        inside = enclosed(
            low_m - first_m, high_m - first_m, prices.levels, prices.step_m, prices.steps
        )
        turns, passes = np.stack([turns, passes]) + prices.per_turn @ inside
    many = slice(None) if offset_m is None else slice(0, 1)
    count = prices.steps if offset_m is None else 1
    parts = np.empty((len(PARTS), count))
    parts[0] = land.lost + short.area_m2 * plan.cost.land_per_m2
    parts[1] = part_width[many]
    slant_m = _slant_m(start, end)
    parts[2] = prices.slant_per_m * slant_m
    parts[3] = turns[many]
    parts[4] = shares[many]
    parts[5] = _wishes(plan, heading_deg, land)
    offsets = np.linspace(0.0, (count - 1) * prices.step_m, count) + (offset_m or 0.0)
    rank: Floats = np.asarray(parts.sum(axis=0), dtype=np.float64)
    if plan.cost.aim == "land":
        rank = np.asarray(parts[0] + rank * TIE, dtype=np.float64)
    elif plan.cost.aim == "passes":
        rank = np.asarray(passes[many] + rank * TIE, dtype=np.float64)
    return Weighed(heading_deg, offsets, parts.T, passes[many], rank, slant_m)


TIE = 1e-9
"""What money counts where the aim is another: it only settles ties."""


def _all_offsets(
    prices: Prices, planted: Slabs, runs: Slabs, first_m: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Give turns, part-width runs, shares (money) and planter passes at every offset."""
    steps = prices.steps
    land = fold(planted, first_m, prices.step_m, steps)
    over = land if runs is planted else fold(runs, first_m, prices.step_m, steps)
    first, last = prices.levels
    counts = prices.per_turn @ _seen(over.begin_runs, first, steps)
    counts += prices.per_turn @ _seen(over.end_runs, last, steps)
    run = prices.per_run_m @ _seen(over.begin_m, first, steps)
    run += prices.per_run_m @ _seen(over.end_m, last, steps)
    edges = _seen(land.below_m2, prices.strip_steps.ravel(), steps)
    area = edges[1::2] - edges[::2]
    part_width = np.maximum(run - prices.run_per_m2 @ area, 0.0)
    return counts[0], part_width, _share_cost(prices, area), np.rint(counts[1])


def _seen(values: Floats, levels: npt.NDArray[np.int64], steps: int) -> Floats:
    """Give what levels of the set see, (levels, steps), the first set 0, 1, 2 ... steps outside."""
    seen = np.empty((len(levels), steps))
    backward = values[::-1]
    for row, start in zip(seen, steps - levels, strict=True):
        row[:] = backward[start : start + steps]
    return seen


def _share_cost(prices: Prices, area_m2: Floats) -> Floats:
    """Price the land under other crops than wished, at every offset."""
    if np.isnan(prices.wish).all():
        return np.zeros(area_m2.shape[1])
    total = area_m2.sum(axis=0)
    off = np.zeros(area_m2.shape[1])
    for crop in np.flatnonzero(~np.isnan(prices.wish)):
        off += np.abs(area_m2[prices.crop == crop].sum(axis=0) - prices.wish[crop] * total) / 2
    return off * prices.share_per_m2


def _slant_m(start: Floats, end: Floats) -> float:
    """Measure how far the ends of rows slant along travel, in all."""
    step = np.abs(end - start)
    ends = step[:, 1] > np.tan(np.radians(END_ANGLE_DEG)) * step[:, 0]
    return float(step[ends, 0].sum())


def _wishes(plan: Plan, heading_deg: float, land: Land) -> float:
    """Price what the heading misses of the wishes for direction and grade."""
    cost, money = plan.cost, 0.0
    if cost.north_south_per_m2 is not None:
        money += cost.north_south_per_m2 * math.sin(math.radians(heading_deg)) ** 2
    if land.edge_heading_deg is not None:
        off_rad = math.radians(heading_deg - land.edge_heading_deg)
        money += cost.edge_per_m2 * math.sin(off_rad) ** 2
    if plan.slope is not None and plan.slope.along_row is not None:
        excess = grade_along_row(plan.slope, heading_deg) - plan.slope.along_row
        money += plan.slope.excess_per_m2 * max(excess, 0.0)
    return money * land.area_m2


def grade_along_row(slope: Slope, heading_deg: float) -> float:
    """Give the grade along rows, in per cent: slope x cosine of the angle to the fall line."""
    assert slope.downhill_deg is not None  # noqa: S101 - checked when the plan was read
    return slope.percent * abs(math.cos(math.radians(heading_deg - slope.downhill_deg)))
