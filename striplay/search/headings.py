"""Search every heading and offset of a set for the layout that costs least."""

import logging
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.geometry.directions import HALF_TURN_DEG, angle_deg, direction_deg
from striplay.layout.blocks import FieldBlock
from striplay.plan.models import Plan
from striplay.search.choice import Choice, in_order, is_better
from striplay.search.land import GroundAt, has_long_edge, longest_edge_deg, prepare
from striplay.search.turned import LandToWeigh
from striplay.search.weigher import Weigher, typed_deg
from striplay.section.section import Section
from striplay.tolerances import ALIKE_DEG, EQUAL_COST_SHARE, TIE_AIM
from striplay.units import HEADING_DIGITS

Floats = npt.NDArray[np.float64]
_log = logging.getLogger(__name__)

GRID_DEG = 0.25
"""Headings are tried at least this near to each other."""
FINER_DEG = 0.025
"""Step of the finer search about the best headings."""
FINEST_DEG = 0.002
"""Step of the last search, about the best heading of all."""
REACH = 6
"""Finer steps tried on either side."""
KEPT_BYTES = 24_000_000
"""More than the arrays of one call; glibc takes no more than 32 MB for a size that may come
again."""
CLIMBS = 10
"""Headings of the grid from which the finer search begins."""
CHECKED = 60
"""Headings weighed exactly where the quick weighing is not exact."""
SHOWN_DEG = 1.0
"""There, headings are weighed exactly at least this near to each other."""
APART_DEG = 10.0
"""Headings nearer than this are not really different layouts."""
SHOWN = 5
MOST_DRAWN = 40
"""Headings drawn in turn where the best, drawn, turn out to hold no strip."""
DRAWN_OFFSETS = 8
"""Offsets drawn likewise of each of the best."""


@dataclass(frozen=True)
class Searched:
    """What a search found.

    Attributes:
        first: the best layout; None where no strip is planted.
        usual: along the field's longest edge, at the best offset there; None where none is long.
        asked: what the plan's own heading costs, where it states one.
        weigher: knows every heading tried.
        beside: a layout that may be the best but for rounding; None where there is none.
        drawn: the best that give a strip when they are drawn; where that was asked for.
        sets: the best and other good sets, each at its best of the same headings; where asked for.
    """

    first: Choice | None
    usual: Choice | None
    asked: Choice | None
    weigher: Weigher = field(repr=False, compare=False)
    beside: Choice | None = field(default=None, repr=False, compare=False)
    drawn: tuple[Choice, ...] = ()
    sets: tuple[Choice, ...] = ()

    @cached_property
    def best(self) -> tuple[Choice, ...]:
        """The best really different layouts, best first; at most `SHOWN`, none without a strip.

        Sought only when asked for: to tell which comes second takes longer than to find the first.
        """
        if self.drawn:
            return self.drawn
        found = tuple(_best(self.weigher, self.beside))
        self.weigher.forget()
        return found

    @cached_property
    def every(self) -> tuple[Choice, ...]:
        """All that was tried with strips, best first; weighed only when asked for."""
        found = in_order(self.weigher.weigh(self.weigher.asked_deg))
        return tuple(choice for choice in found if choice.laid)

    @cached_property
    def headings_deg(self) -> Floats:
        """Every heading tried, ascending, (n,)."""
        return np.sort(self.weigher.asked_deg)

    @cached_property
    def parts(self) -> Floats:
        """The best offset's cost at each, by part, (n, parts); NaN where no strip is planted."""
        curve = self.weigher.weigh(self.headings_deg.tolist())
        return np.array([c.parts if c.laid else np.full(len(c.parts), np.nan) for c in curve])


def search(plan: Plan, section: Section, block: FieldBlock) -> Searched:
    """Search all headings and offsets of a set.

    Every heading of the grid and every edge's direction is tried at every offset. About the best
    of them, and about the usual heading, finer steps are tried, and from one that is better than
    the best so far on until none is. So no heading a tenth of the grid away from the result costs
    less, at any offset.
    """
    _keep_memory()
    quick, exact = prepare(plan, block)
    rough = Weigher(plan, section, quick)
    weigher = rough if quick is exact else Weigher(plan, section, exact)
    beside = _usual(weigher if _free(plan) is plan else Weigher(_free(plan), section, exact), block)
    _search_set(rough, weigher, _headings(quick(0.0)), beside.heading_deg)
    also = beside if plan.direction.offset_m in {None, "best"} and beside.laid else None
    first = next(iter(_best(weigher, also, first_alone=True)), None)
    for one in (rough, weigher):
        one.forget()
    asked = plan.direction.heading
    return Searched(
        first=first,
        usual=beside if has_long_edge(block.part) else None,
        asked=None if asked == "best" else stated(plan, section, block, asked),
        weigher=weigher,
        beside=also,
    )


def _best(weigher: Weigher, beside: Choice | None, *, first_alone: bool = False) -> list[Choice]:
    """Give the best really different layouts of all that was tried, best first.

    Args:
        weigher: knows what was tried.
        beside: a layout that may be the best but for rounding.
        first_alone: whether what can't come first may be missing.
    """
    found = [] if beside is None else [beside]
    rest = weigher.asked_deg
    for _ in range(SHOWN):
        if first_alone and found and beside is None:
            break
        limit = min(one.money for one in found) if first_alone and found else math.inf
        best = next(weigher.best_first(rest, limit), None)
        if best is None or not best.laid:
            break
        found += [one for one in weigher.settled([_roundest(best, weigher)]) if one.laid]
        rest = [one for one in rest if angle_deg(one, best.heading_deg) > APART_DEG]
    return found if beside is None else _different(in_order(found))


def _keep_memory() -> None:
    """Have the C library keep what arrays leave, where it is glibc.

    It would give the memory of large arrays back to the system at every heading, and pages that
    come anew take up to half of the time. Once a block so large, never touched, has been freed, it
    keeps up to twice as much.
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)


def to_draw(plan: Plan, section: Section, block: FieldBlock, found: Searched) -> Iterator[Choice]:
    """Give what a search found in the order in which it is drawn, until a drawing holds a strip.

    The best first; then, for what is weighed may be too narrow where it is drawn, other offsets of
    theirs and other headings.
    """
    if found.first is not None:
        yield found.first
    yield from (choice for choice in found.best if choice != found.first)
    ground_at = prepare(plan, block)[1]
    for choice in found.best:
        yield from _other_offsets(plan, ground_at, choice)
    weigher = Weigher(plan, section, ground_at)
    every = {choice.heading_deg: choice for choice in found.every}
    for heading_deg in _spread(every, SHOWN_DEG, MOST_DRAWN):
        yield from weigher.settled([every[heading_deg]])


def _other_offsets(plan: Plan, ground_at: GroundAt, choice: Choice) -> Iterator[Choice]:
    """Give a choice at other offsets; none where the plan states one."""
    if isinstance(plan.direction.offset_m, float):
        return
    weigher = Weigher(plan, choice.section, ground_at)
    for number in range(DRAWN_OFFSETS):
        offset_m = number * choice.section.width_m / DRAWN_OFFSETS
        at = weigher.at_offset(choice.heading_deg, offset_m)
        if at.laid:
            yield from weigher.settled([at])


def weigh_sets(
    plan: Plan, sections: list[Section], block: FieldBlock, best: Sequence[Choice]
) -> list[Choice]:
    """Weigh sets at the headings found best for the first of them, each at its own best.

    Args:
        plan: costs and wishes.
        sections: of the sets, that which was searched first.
        block: the ground.
        best: what the search found.
    """
    _, exact = prepare(plan, block)
    headings_deg = [choice.heading_deg for choice in best]
    others = [Weigher(plan, section, exact) for section in sections[1:]]
    found = (in_order(other.weigh(headings_deg))[0] for other in others)
    return [best[0], *(choice for choice in found if choice.laid)]


def _roundest(best: Choice, weigher: Weigher) -> Choice:
    """Give, of the headings about the best that are as good, the one that is easiest to say.

    A cost dips at a fence, and about its foot there are headings as good as along it. The nearest
    tenth of a degree is tried too.
    """
    limit = best.money * (1 + EQUAL_COST_SHARE)
    tenth_deg = round(best.heading_deg, 1) % HALF_TURN_DEG
    tried = [tenth_deg, *weigher.asked_deg]
    near = [one for one in tried if angle_deg(one, best.heading_deg) <= ALIKE_DEG]

    def roundness(heading_deg: float) -> tuple[int, float]:
        return _decimals(heading_deg), heading_deg

    rounder = [one for one in near if roundness(one) < roundness(best.heading_deg)]
    for heading_deg in sorted(weigher.within(rounder, limit), key=roundness):
        (choice,) = weigher.weigh([heading_deg])
        if choice.laid and choice.aim <= best.aim + TIE_AIM and choice.money <= limit:
            return choice
    return best


def _decimals(heading_deg: float) -> int:
    """Count the decimals that a heading takes to say, as many as are told.

    >>> _decimals(90.0), _decimals(111.25), _decimals(83.12345)
    (0, 2, 3)
    """
    rounded = round(heading_deg, HEADING_DIGITS)
    return next(n for n in range(HEADING_DIGITS + 1) if round(rounded, n) == rounded)


def stated(plan: Plan, section: Section, block: FieldBlock, heading_deg: float) -> Choice:
    """Weigh a stated heading, at the plan's offset, the best, or from the side."""
    offset = plan.direction.offset_m
    if offset == "best":
        weigher = Weigher(plan, section, prepare(plan, block)[1])
        return weigher.settled([weigher.at_offset(heading_deg, None)])[0]
    return from_side(plan, section, block, heading_deg)


def from_side(plan: Plan, section: Section, block: FieldBlock, heading_deg: float) -> Choice:
    """Weigh a heading at the offset that the plan states, else from the side of the land."""
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    offset = plan.direction.offset_m
    first_m = offset if isinstance(offset, float) else 0.0
    return weigher.shown(weigher.at_offset(heading_deg, first_m), first_m)


def usual(plan: Plan, section: Section, block: FieldBlock) -> Choice:
    """Weigh what farms usually do: along the longest edge, at the best offset there."""
    return _usual(Weigher(_free(plan), section, prepare(plan, block)[1]), block)


def _usual(weigher: Weigher, block: FieldBlock) -> Choice:
    along_deg = typed_deg(longest_edge_deg(block.part))
    return weigher.settled([weigher.at_offset(along_deg, None)])[0]


def _free(plan: Plan) -> Plan:
    """Give a plan that leaves the offset to be chosen; the same one where it does."""
    if not isinstance(plan.direction.offset_m, float):
        return plan
    direction = plan.direction.model_copy(update={"offset_m": "best"})
    return plan.model_copy(update={"direction": direction})


def _headings(ground: LandToWeigh) -> Floats:
    """Give the headings to try: the grid, and every edge's direction."""
    grid = np.arange(0.0, HALF_TURN_DEG, GRID_DEG)
    edges = direction_deg(ground.edges.end - ground.edges.start)
    return np.unique(np.round(np.concatenate([grid, edges]), HEADING_DIGITS) % HALF_TURN_DEG)


def _search_set(rough: Weigher, weigher: Weigher, grid: Floats, usual_deg: float) -> None:
    """Try a set at all headings of a grid, and at finer steps about the best of them.

    Args:
        rough: weighs it quickly.
        weigher: weighs it exactly; the same one where the quick way is exact.
        grid: headings in degrees.
        usual_deg: the heading that is tried in any case.
    """
    _log.info("weighing %d headings of a set of %.1f m", len(grid), weigher.section.width_m)
    tried = grid
    if weigher is not rough:
        exactly = [
            *_spread(rough.least_first(grid), GRID_DEG, CHECKED),
            *_spread(rough.least_first(grid), APART_DEG, 2 * SHOWN),
        ]
        tried = np.array([*exactly, *np.arange(0.0, HALF_TURN_DEG, SHOWN_DEG)])
    best = next(weigher.best_first([*tried, usual_deg]))
    begins = [*_spread(weigher.least_first(tried), GRID_DEG, CLIMBS), usual_deg]
    weigher.look_at(h for begin in begins for h in _around(begin, FINER_DEG))
    for number, begin_deg in enumerate(begins, start=1):
        _log.info("finer headings about %.2f degrees, %d of %d", begin_deg, number, len(begins))
        best = _climb(weigher, best, begin_deg, FINER_DEG)
    _climb(weigher, best, best.heading_deg, FINEST_DEG)


def _climb(weigher: Weigher, best: Choice, heading_deg: float, step_deg: float) -> Choice:
    """Seek what is better than the best so far within reach of a heading, and go on from there."""
    while True:
        around = _around(heading_deg, step_deg)
        weigher.look_at(around)
        found = next(weigher.best_first(around, best.money), None)
        if found is None or not is_better(found, best):
            return best
        best, heading_deg = found, found.heading_deg


def _around(heading_deg: float, step_deg: float) -> list[float]:
    """Give the headings within reach."""
    return [heading_deg + step_deg * number for number in range(-REACH, REACH + 1)]


def _spread(headings_deg: Iterable[float], apart_deg: float, most: int) -> list[float]:
    """Pick the first that lie apart from each other, of headings best first."""
    picked: list[float] = []
    for one in headings_deg:
        if all(angle_deg(one, other) >= apart_deg for other in picked):
            picked.append(one)
            if len(picked) == most:
                break
    return picked


def _different(found: Iterable[Choice]) -> list[Choice]:
    """Pick the best that differ in heading by more than `APART_DEG`."""
    picked: list[Choice] = []
    for choice in found:
        if all(angle_deg(choice.heading_deg, other.heading_deg) > APART_DEG for other in picked):
            picked.append(choice)
            if len(picked) == SHOWN:
                break
    return picked
