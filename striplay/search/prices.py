"""Price a section with its plan's machines: what its passes cost on any ground."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.layout.side_passes import side_rows
from striplay.plan.machines import Machine, Planter, Sprayer
from striplay.plan.models import Plan
from striplay.section.section import Section, SidePasses
from striplay.tolerances import OFFSET_STEP_M, WHOLE_NUMBER

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Shut:
    """A pass of a machine that shuts off parts of its width, each alone.

    Attributes:
        machine: its name in the plan.
        first: its lower edge, in steps from the set's first edge.
        last: its upper edge.
        count: how many parts it has that shut off alone.
        planted: share of its width that is not left empty.
    """

    machine: str
    first: int
    last: int
    count: int
    planted: float = 1.0

    @property
    def part_steps(self) -> float:
        """Width of a part in steps; whole where the step is a part of every row spacing."""
        return (self.last - self.first) / self.count

    @property
    def stride(self) -> int:
        """Steps from an edge between two parts to the next, never past the pass's own edge."""
        return (self.last - self.first) // self.count


@dataclass(frozen=True)
class Prices:
    """What a section costs on any ground, its passes given by the levels of their edges.

    Attributes:
        step_m: distance between levels; the set is a whole number of steps.
        steps: steps to the set.
        levels: of each machine pass over a set, the levels a step inside its two edges, (2, p): a
            boundary that takes less off shuts no row off.
        per_turn: money a turn, and 1 where it is a planter's, of each pass, (2, p).
        per_run_m: money a metre of run of each pass: of the machine, and of ground its whole parts
            cover, (2, p).
        strip_steps: first and last edge of each strip in steps, (s, 2).
        per_m2: money to run all machines over a square metre of each strip, and to cover it.
        shut: passes that shut off parts of their width.
        per_part_m: money a metre that one part of each such pass covers.
        crop: index of each strip's crop, (s,).
        wish: wished share of each crop's land, NaN where none, (c,).
        share_per_m2: money of land off the wish.
    """

    step_m: float
    steps: int
    levels: Integers
    per_turn: Floats
    per_run_m: Floats
    strip_steps: Integers
    per_m2: Floats
    shut: tuple[Shut, ...]
    per_part_m: tuple[float, ...]
    crop: Integers
    wish: Floats
    share_per_m2: float


def prices_of(plan: Plan, section: Section) -> Prices:
    """Price a section with its plan's machines and costs."""
    step_m, steps = _step(section)
    passes: dict[tuple[int, int], Floats] = {}
    per_m2 = np.zeros((2, len(section.strips)))
    for index, strip in enumerate(section.strips):
        for work in strip.works:
            turn, run = _work_prices(plan.machines[work.machine])
            for low_m, high_m in work.spans(strip):
                share = (high_m - low_m) / strip.width_m  # beside empty units it covers less
                per_m2[1, index] += share * covered_per_m2(plan, work.machine)
                first = round((strip.left_m + low_m) / step_m) + 1
                last = round((strip.left_m + high_m) / step_m) - 1
                own = np.array([turn, work.operation == "plant", run, 0.0])
                passes[first, last] = passes.get((first, last), 0.0) + own
                per_m2[0, index] += run / strip.width_m
    for side in section.side_passes:
        turn, run = _work_prices(plan.machines[side.machine])
        covered = planted_share(plan, side, section) * covered_per_m2(plan, side.machine)
        per_m2 += [[run / side.width_m], [covered]]
        for first, last in side_levels(side, section, step_m):
            own = np.array([turn, side.operation == "plant", run, 0.0])
            passes[first + 1, last - 1] = passes.get((first + 1, last - 1), 0.0) + own
    shut = tuple(shut_passes(plan, section, step_m))
    per_part_m = tuple(
        s.planted * covered_per_m2(plan, s.machine) * s.part_steps * step_m for s in shut
    )
    for one, price in zip(shut, per_part_m, strict=True):
        passes[one.first + 1, one.last - 1][3] += price
    each = np.array(list(passes.values())).T
    crops = list(dict.fromkeys(strip.crop for strip in section.strips))
    edges = [(s.left_m / step_m, (s.left_m + s.width_m) / step_m) for s in section.strips]
    return Prices(
        step_m=step_m,
        steps=steps,
        levels=np.array(list(passes)).T,
        per_turn=each[:2],
        per_run_m=each[2:],
        strip_steps=np.rint(np.array(edges)).astype(np.int64),
        per_m2=per_m2,
        shut=shut,
        per_part_m=per_part_m,
        crop=np.array([crops.index(strip.crop) for strip in section.strips]),
        wish=np.array([plan.crops[crop].share or np.nan for crop in crops]),
        share_per_m2=plan.cost.share_per_m2,
    )


def _step(section: Section) -> tuple[float, int]:
    """Choose the step: at most `OFFSET_STEP_M`, a part of the set and of half the row spacing."""
    steps = math.ceil(section.width_m / OFFSET_STEP_M - 1e-9)
    half_m = min(strip.spacing_m for strip in section.strips) / 2
    for finer in range(steps, steps + math.ceil(half_m / OFFSET_STEP_M) * 40):
        if abs(half_m * finer / section.width_m % 1.0 - 0.5) > 0.5 - 1e-9:
            return section.width_m / finer, finer
    return section.width_m / steps, steps


def _work_prices(machine: Machine) -> tuple[float, float]:
    """Price a turn, and a metre of run."""
    return machine.cost_per_s * machine.turn_s, machine.cost_per_s / machine.speed_mps


def covered_per_m2(plan: Plan, machine: str) -> float:
    """Price the seed or product on a square metre; nothing for a harvester."""
    does = plan.machines[machine].does
    return {"plant": plan.cost.seed_per_m2, "spray": plan.cost.spray_per_m2}.get(does, 0.0)


def shut_passes(
    plan: Plan, section: Section, step_m: float, part_m: dict[str, float] | None = None
) -> list[Shut]:
    """List the passes of planters and sprayers over a set, and how they shut off.

    Args:
        plan: the machines.
        section: the set.
        step_m: distance between levels.
        part_m: width that a machine shuts off at once, instead of the plan's.
    """
    shut = []
    for strip in section.strips:
        for work in strip.works:
            machine = plan.machines[work.machine]
            if not isinstance(machine, Planter | Sprayer):
                continue
            own_m = (part_m or {}).get(work.machine, shut_off_m(machine))
            for low_m, high_m in work.spans(strip):
                first = round((strip.left_m + low_m) / step_m)
                last = round((strip.left_m + high_m) / step_m)
                count = _parts(high_m - low_m, own_m, last - first)
                shut.append(Shut(work.machine, first, last, count))
    for side in section.side_passes:
        machine = plan.machines[side.machine]
        if isinstance(machine, Planter | Sprayer):
            own_m = (part_m or {}).get(side.machine, shut_off_m(machine))
            planted = planted_share(plan, side, section)
            for first, last in side_levels(side, section, step_m):
                count = _parts(side.width_m, own_m, last - first)
                shut.append(Shut(side.machine, first, last, count, planted))
    return shut


def _parts(width_m: float, part_m: float, steps: int) -> int:
    """Count the parts of a pass that shut off alone, each at least a step wide."""
    return max(1, min(math.ceil(width_m / part_m - WHOLE_NUMBER), steps))


def planted_share(plan: Plan, side: SidePasses, section: Section) -> float:
    """Give the share of a planter's width that plants: under empty units nothing is wasted."""
    machine = plan.machines[side.machine]
    if not isinstance(machine, Planter):
        return 1.0
    return float(side_rows(side, section).sum()) * machine.row_m / section.width_m


def side_levels(side: SidePasses, section: Section, step_m: float) -> list[tuple[int, int]]:
    """Give the edges, in steps, of the passes over a set; one that begins before it is below 0."""
    count = round(section.width_m / side.width_m)
    edges = [round((side.first_m + i * side.width_m) / step_m) for i in range(-1, count)]
    return list(pairwise(edges))


def shut_off_m(machine: Planter | Sprayer) -> float:
    """Give the width that a machine shuts off at once."""
    if isinstance(machine, Planter):
        return machine.shut_off_m
    return machine.width_m / machine.sections
