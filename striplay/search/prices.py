"""Price a section with its plan's machines: what its passes cost on any ground."""

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.plan.machines import Machine, Planter, Sprayer
from striplay.plan.models import Plan
from striplay.search.lines import BoomPrices, OnLines, lines_prices
from striplay.search.turning import set_turns_s, turns_s
from striplay.section.section import Pass, Section, Tramlines
from striplay.section.tramlines import parts_of_boom
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
        inside: how far inside its edges its outer rows stand, in steps.
    """

    machine: str
    first: int
    last: int
    count: int
    planted: float = 1.0
    inside: int = 1

    @property
    def part_steps(self) -> float:
        """Width of a part in steps; whole where the step is a part of every row spacing."""
        return (self.last - self.first) / self.count

    @property
    def stride(self) -> int:
        """Steps from an edge between two parts to the next, never past the pass's own edge."""
        return (self.last - self.first) // self.count


@dataclass(frozen=True)
class EdgePrices:
    """What is paid at the lower, or the upper, outer rows of passes over a set, level by level.

    Attributes:
        level: levels, each once, (n,).
        per_turn: as of `Prices`, of all passes with that row there, (2, n).
        per_run_m: likewise, (2, n).
    """

    level: Integers
    per_turn: Floats
    per_run_m: Floats


@dataclass(frozen=True)
class Prices:
    """What a section costs on any ground, its passes given by the levels of their edges.

    Attributes:
        step_m: distance between levels; the set is a whole number of steps.
        steps: steps to the set.
        levels: of each machine pass over a set, the levels of its two outer rows, (2, p): a pass
            runs as far as its rows do, and ground beyond them that holds no row adds nothing.
        per_turn: money a turn, and 1 where it is a planter's, of each pass, (2, p).
        per_run_m: money a meter of run of each pass: of the machine, and of ground its whole parts
            cover, (2, p).
        strip_steps: first and last edge of each strip in steps, (s, 2).
        per_m2: money to run all machines over a square meter of each strip, and to cover it.
        shut: passes that shut off parts of their width.
        per_part_m: money a meter that one part of each such pass covers.
        crop: index of each strip's crop, (s,).
        headland_crop: index of the crop that the headland is planted to; None where it is not.
        wish: wished share of each crop's land, NaN where none, (c,).
        share_per_m2: money of land off the wish.
        lines: what passes on tramlines cost.
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
    headland_crop: int | None
    wish: Floats
    share_per_m2: float
    lines: OnLines = field(default_factory=OnLines)

    @cached_property
    def begins(self) -> EdgePrices:
        """What is paid at the lower rows of passes."""
        return self._at_edges(0)

    @cached_property
    def ends(self) -> EdgePrices:
        """What is paid at their upper rows."""
        return self._at_edges(1)

    @cached_property
    def borders(self) -> Integers:
        """Where strips meet, in steps, the set's first edge and its last included, (s + 1,)."""
        return np.append(self.strip_steps[:, 0], self.strip_steps[-1:, 1])

    def _at_edges(self, edge: int) -> EdgePrices:
        level, place = np.unique(self.levels[edge], return_inverse=True)
        here = np.zeros((self.levels.shape[1], len(level)))
        here[np.arange(len(here)), place] = 1.0
        return EdgePrices(level, self.per_turn @ here, self.per_run_m @ here)


def prices_of(plan: Plan, section: Section) -> Prices:
    """Price a section with its plan's machines and costs."""
    step_m, steps = _step(section)
    passes: dict[tuple[int, int], Floats] = {}
    per_m2 = np.zeros((2, len(section.strips)))
    for one, turn_s in zip(section.passes, set_turns_s(plan, section), strict=True):
        machine = plan.machines[one.machine]
        turn, run = machine.cost_per_s * turn_s, machine.cost_per_s / machine.speed_mps
        covered = planted_share(one, section) * covered_per_m2(plan, one.machine)
        first, last = levels_of(one, step_m)
        own = np.array([turn, one.operation == "plant", run, 0.0])
        off = _inside(one, section, step_m)
        passes[first + off, last - off] = passes.get((first + off, last - off), 0.0) + own
        # beside empty units a strip is covered less
        share = _overlap_m(one, section) / np.array([strip.width_m for strip in section.strips])
        per_m2 += np.outer([run / (one.high_m - one.low_m), covered], share)
    shut = tuple(shut_passes(plan, section, step_m))
    per_part_m = tuple(
        s.planted * covered_per_m2(plan, s.machine) * s.part_steps * step_m for s in shut
    )
    for part, price in zip(shut, per_part_m, strict=True):
        passes[part.first + part.inside, part.last - part.inside][3] += price
    each = np.array(list(passes.values())).T
    around = plan.headland_crop
    planted = [*(strip.crop for strip in section.strips), *([] if around is None else [around])]
    crops = list(dict.fromkeys(planted))
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
        headland_crop=None if around is None else crops.index(around),
        wish=np.array([plan.wished_shares.get(crop, np.nan) for crop in crops]),
        share_per_m2=plan.cost.share_per_m2,
        lines=lines_prices(section, step_m, [_boom_prices(plan, one) for one in section.tramlines]),
    )


def _step(section: Section) -> tuple[float, int]:
    """Choose the step: at most `OFFSET_STEP_M`, a part of the set and of half the row spacing."""
    steps = math.ceil(section.width_m / OFFSET_STEP_M - 1e-9)
    half_m = min(strip.spacing_m for strip in section.strips) / 2
    for finer in range(steps, steps + math.ceil(half_m / OFFSET_STEP_M) * 40):
        if abs(half_m * finer / section.width_m % 1.0 - 0.5) > 0.5 - 1e-9:
            return section.width_m / finer, finer
    return section.width_m / steps, steps


def _boom_prices(plan: Plan, tramlines: Tramlines) -> BoomPrices:
    """Price a boom on tramlines."""
    machine = plan.machines[tramlines.machine]
    middles_m = np.array(tramlines.middles_m)
    return BoomPrices(
        turns=machine.cost_per_s * turns_s(machine, middles_m, tramlines.pattern_m),
        run_m=machine.cost_per_s / machine.speed_mps,
        covered_m2=covered_per_m2(plan, tramlines.machine),
        part_m=shut_off_m(machine),
    )


def covered_per_m2(plan: Plan, machine: str) -> float:
    """Price the seed or product on a square meter; nothing for a harvester."""
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
    for one in section.passes:
        machine = plan.machines[one.machine]
        if isinstance(machine, Planter | Sprayer):
            own_m = (part_m or {}).get(one.machine, shut_off_m(machine))
            first, last = levels_of(one, step_m)
            count = min(parts_of(one, own_m), last - first)
            inside = _inside(one, section, step_m)
            planted = planted_share(one, section)
            shut.append(Shut(one.machine, first, last, count, planted, inside))
    return shut


def _inside(one: Pass, section: Section, step_m: float) -> int:
    """Give how far inside a pass's edges its outer rows stand, in steps: half a row spacing."""
    spacing_m = min((section.rows[index].spacing_m for index in one.rows), default=0.0)
    first, last = levels_of(one, step_m)
    return max(1, min(round(spacing_m / 2 / step_m), (last - first) // 2))


def parts_of(one: Pass, part_m: float) -> int:
    """Count the parts of a pass that shut off alone, where a machine shuts off so much at once."""
    return max(1, math.ceil((one.high_m - one.low_m) / part_m - WHOLE_NUMBER))


def planted_share(one: Pass, section: Section) -> float:
    """Give the share of its ground that a pass over several strips plants.

    Under empty units nothing is wasted; over one strip all of it is sown or sprayed.
    """
    if one.strip is not None:
        return 1.0
    planted_m = sum(section.rows[index].spacing_m for index in one.rows)
    return planted_m / (one.high_m - one.low_m)


def levels_of(one: Pass, step_m: float) -> tuple[int, int]:
    """Give the edges of a pass in steps from the set's first edge; below 0 before it."""
    return round(one.low_m / step_m), round(one.high_m / step_m)


def _overlap_m(one: Pass, section: Section) -> Floats:
    """Measure how much of each strip a pass takes, the sets before and after included."""
    left = np.array([strip.left_m for strip in section.strips])
    right = np.array([strip.right_m for strip in section.strips])
    turns = np.array([-1, 0, 1])[:, None] * section.width_m
    low, high = np.maximum(left + turns, one.low_m), np.minimum(right + turns, one.high_m)
    over = np.maximum(high - low, 0.0).sum(axis=0)
    if one.strip is not None:
        over[np.arange(len(over)) != one.strip] = 0.0
    return np.asarray(over)


def shut_off_m(machine: Machine) -> float:
    """Give the width that a machine shuts off at once."""
    if isinstance(machine, Planter):
        return machine.shut_off_m
    return machine.width_m / parts_of_boom(machine)
