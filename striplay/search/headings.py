"""Search every heading and offset of a set for the layout that costs least."""

import logging
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from striplay.geometry.directions import HALF_TURN_DEG, angle_deg, direction_deg
from striplay.layout.blocks import FieldBlock
from striplay.plan.models import Plan
from striplay.search.cost import Weighed, weigh_headings
from striplay.search.land import GroundAt, has_long_edge, longest_edge_deg, prepare
from striplay.search.point_rows import PointRows, point_rows
from striplay.search.prices import Prices, prices_of
from striplay.search.sides import Sides
from striplay.search.turned import LandToWeigh
from striplay.section.section import Section
from striplay.tolerances import ALIKE_DEG, EQUAL_COST_SHARE, OFF_DEG, TIE_AIM, TIE_COST_SHARE
from striplay.units import HEADING_DIGITS, typed_about_m

Floats = npt.NDArray[np.float64]
_log = logging.getLogger(__name__)

GRID_DEG = 0.25
"""Headings are tried at least this near to each other."""
FINER_DEG = 0.025
"""Step of the finer search about the best headings."""
FINEST_DEG = 0.002
"""Step of the last search, about the best heading of all."""
REACH = 10
"""Finer steps tried on either side."""
AT_ONCE = 8
"""Headings weighed in one call, which costs little more than for one; more leave the processor's
own memory."""
EDGES_AT_ONCE = 20_000
"""Edges of the land weighed in one call: of a very large field, headings are weighed one by one."""
KEPT_BYTES = 24_000_000
"""More than the arrays of one call; glibc takes no more than 32 MB for a size that may come
again."""
CLIMBS = 8
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
class Choice:
    """A straight layout and its cost.

    Attributes:
        heading_deg: degrees clockwise from true north, 0 up to 180.
        offset_m: how far outside the land the first set begins.
        section: the set.
        parts: money a year by part, in the order of `PARTS`.
        passes: planter passes.
        aim: what is to be least before money; 0 where money is the aim.
        money: all parts; without end where no strip is planted.
        point_rows: ground worked twice by machine; measured only for what is shown.
        off_more: how much more money `OFF_DEG` beside the heading costs, on the dearer side;
            likewise; None where no strip is planted there.
    """

    heading_deg: float
    offset_m: float
    section: Section = field(repr=False)
    parts: tuple[float, ...]
    passes: int
    aim: float
    money: float
    point_rows: tuple[PointRows, ...] = ()
    off_more: float | None = None

    @property
    def total(self) -> float:
        """Money a year."""
        return sum(self.parts)

    @property
    def laid(self) -> bool:
        """Whether a strip is planted."""
        return math.isfinite(self.money)


def in_order(found: Iterable[Choice]) -> list[Choice]:
    """Order choices, the best first: by aim, then money, then lower heading, lower offset.

    The last two settle ties, so that the same plan gives the same layout everywhere. What leaves
    no strip planted comes last.
    """
    every = sorted(found, key=lambda one: (one.heading_deg, one.offset_m))
    ordered: list[Choice] = []
    laid = [one for one in every if one.laid]
    for alike in _tied(laid, lambda one: one.aim, lambda aim: aim + TIE_AIM):
        for tie in _tied(alike, lambda one: one.money, lambda money: money * (1 + TIE_COST_SHARE)):
            ordered += sorted(tie, key=lambda one: (one.heading_deg, one.offset_m))
    return ordered + [one for one in every if not one.laid]


def _tied(
    found: list[Choice], value: Callable[[Choice], float], limit: Callable[[float], float]
) -> Iterator[list[Choice]]:
    """Split choices, the least first, into those no further than a limit from the least left."""
    ordered = sorted(found, key=value)
    begin = 0
    for end in range(1, len(ordered) + 1):
        if end == len(ordered) or value(ordered[end]) > limit(value(ordered[begin])):
            yield ordered[begin:end]
            begin = end


def is_better(one: Choice, other: Choice) -> bool:
    """Tell whether a choice is better than another by more than a tie."""
    if one.laid != other.laid:
        return one.laid
    if abs(one.aim - other.aim) > TIE_AIM:
        return one.aim < other.aim
    return one.money * (1 + TIE_COST_SHARE) < other.money


@dataclass(frozen=True)
class Searched:
    """What a search found.

    Attributes:
        best: the best really different layouts, best first; at most `SHOWN`, none without a strip.
        headings_deg: every heading weighed, ascending, (n,).
        parts: the best offset's cost at each, by part, (n, parts); NaN where no strip is planted.
        usual: along the field's longest edge, at the best offset there; None where none is long.
        asked: what the plan's own heading costs, where it states one.
        every: all that was weighed with strips, best first.
        sets: the best and other good sets, each at its best of the same headings; where asked for.
    """

    best: tuple[Choice, ...]
    headings_deg: Floats = field(repr=False)
    parts: Floats = field(repr=False)
    usual: Choice | None
    asked: Choice | None
    every: tuple[Choice, ...] = field(default=(), repr=False)
    sets: tuple[Choice, ...] = ()


class Weigher:
    """Weighs headings, each once, for one plan, ground and set."""

    def __init__(self, plan: Plan, section: Section, ground_at: GroundAt) -> None:
        """Prepare to weigh a set.

        Args:
            plan: machines, costs and preferences.
            section: the set.
            ground_at: gives the ground at a heading.
        """
        self._plan, self._ground_at = plan, ground_at
        self.section = section
        self._prices: Prices = prices_of(plan, section)
        self._sides = Sides(plan, section, self._prices)
        offset = plan.direction.offset_m
        self._offset_m = offset if isinstance(offset, float) else None
        self.known: dict[float, Choice] = {}

    def weigh(self, headings_deg: Iterable[float]) -> list[Choice]:
        """Weigh headings, rounded to what is typed, at their best offset or the plan's."""
        asked = [round(float(one), HEADING_DIGITS) % HALF_TURN_DEG for one in headings_deg]
        new = [one for one in dict.fromkeys(asked) if one not in self.known]
        self.known.update(zip(new, self._weighed(new, self._offset_m), strict=True))
        return [self.known[one] for one in asked]

    def at_offset(self, heading_deg: float, offset_m: float | None) -> Choice:
        """Weigh a heading at one offset, or at the best where None."""
        return self._weighed([heading_deg], offset_m)[0]

    def _weighed(self, headings_deg: list[float], offset_m: float | None) -> list[Choice]:
        found: list[Choice] = []
        while len(found) < len(headings_deg):
            rest = headings_deg[len(found) :]
            edges = len(self._ground_at(rest[0]).edges.start)
            some = rest[: max(1, min(AT_ONCE, EDGES_AT_ONCE // max(edges, 1)))]
            grounds = [self._ground_at(heading_deg) for heading_deg in some]
            weighed = weigh_headings(self._plan, self._prices, self._sides, grounds, some, offset_m)
            found += [self._best_of(each) for each in weighed]
        return found

    def _best_of(self, weighed: Weighed) -> Choice:
        """Choose the offset of a heading."""
        index = _middle_of_best(weighed.aim, weighed.money)
        return Choice(
            weighed.heading_deg,
            weighed.first_offset_m + index * weighed.step_m,
            self.section,
            tuple(weighed.parts[index].tolist()),
            int(weighed.passes[index]),
            float(weighed.aim[index]),
            float(weighed.money[index]),
        )

    def settled(self, choice: Choice) -> Choice:
        """Weigh a choice again, at its offset as it can be typed, and measured to be shown."""
        if self._offset_m is not None:
            return self.measured(choice, self._offset_m)
        wide_m = self.section.width_m
        near_m = {
            typed_m if typed_m < wide_m else 0.0
            for typed_m in typed_about_m(choice.offset_m, self._plan.units)
        }
        found = in_order(self.at_offset(choice.heading_deg, offset_m) for offset_m in near_m)
        return self.measured(found[0], None)

    def measured(self, choice: Choice, offset_m: float | None) -> Choice:
        """Measure what is shown of a choice besides its cost.

        That is the ground its machines work twice, and what a heading a little off it costs more.

        Args:
            choice: the choice.
            offset_m: the offset there; the best where None.
        """
        heading_deg = choice.heading_deg
        worked_twice = point_rows(
            self._plan, self.section, self._ground_at(heading_deg), heading_deg, choice.offset_m
        )
        off_deg = [(heading_deg + off) % HALF_TURN_DEG for off in (-OFF_DEG, OFF_DEG)]
        beside = [choice.money for choice in self._weighed(off_deg, offset_m)]
        more = max(beside) - choice.money if choice.laid else math.inf
        return replace(
            choice, point_rows=worked_twice, off_more=more if math.isfinite(more) else None
        )


def _middle_of_best(aim: Floats, money: Floats) -> int:
    """Give the first offset if none is better, or the middle of neighbors as good as the best.

    Of several such stretches it is that of the lowest offset.
    """
    aim = np.where(np.isfinite(money), aim, np.inf)
    if aim.any():
        money = np.where(aim <= aim.min() + TIE_AIM, money, np.inf)
    least = float(money.min())
    worse = money > least * (1 + EQUAL_COST_SHARE)
    if not worse[0]:
        return 0
    first = int(np.argmax(money <= least * (1 + TIE_COST_SHARE)))
    after = np.argmax(worse[first:]) if worse[first:].any() else len(money) - first
    before = np.argmax(worse[first::-1])
    return int(first + (after - before) // 2)


def search(plan: Plan, section: Section, block: FieldBlock) -> Searched:
    """Search all headings and offsets of a set.

    Every heading of the grid and every edge's direction is weighed at every offset. About the best
    of them, and about the usual heading, finer steps are tried until none is better. So no heading
    a tenth of the grid away from the result costs less, at any offset.
    """
    _keep_memory()
    quick, exact = prepare(plan, block)
    beside = usual(plan, section, block)
    rough = Weigher(plan, section, quick)
    weigher = rough if quick is exact else Weigher(plan, section, exact)
    _search_set(rough, weigher, _headings(quick(0.0)), beside.heading_deg)
    every = list(weigher.known.values())
    ordered = [choice for choice in in_order(every) if choice.laid]
    picked = [_roundest(choice, ordered) for choice in _different(ordered)]
    best = [choice for c in picked if (choice := weigher.settled(c)).laid]
    if plan.direction.offset_m in {None, "best"} and beside.laid:
        best = _different(in_order([*best, beside]))  # it may be the best but for rounding
    curve = sorted(every, key=lambda choice: choice.heading_deg)
    asked = plan.direction.heading
    return Searched(
        best=tuple(best),
        headings_deg=np.array([choice.heading_deg for choice in curve]),
        parts=np.array([c.parts if c.laid else np.full(len(c.parts), np.nan) for c in curve]),
        usual=beside if has_long_edge(block.part) else None,
        asked=None if asked == "best" else stated(plan, section, block, asked),
        every=tuple(ordered),
    )


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
    yield from found.best
    ground_at = prepare(plan, block)[1]
    for choice in found.best:
        yield from _other_offsets(plan, ground_at, choice)
    weigher = Weigher(plan, section, ground_at)
    for choice in _spread(list(found.every), SHOWN_DEG, MOST_DRAWN):
        yield weigher.settled(choice)


def _other_offsets(plan: Plan, ground_at: GroundAt, choice: Choice) -> Iterator[Choice]:
    """Give a choice at other offsets; none where the plan states one."""
    if isinstance(plan.direction.offset_m, float):
        return
    weigher = Weigher(plan, choice.section, ground_at)
    for number in range(DRAWN_OFFSETS):
        offset_m = number * choice.section.width_m / DRAWN_OFFSETS
        at = weigher.at_offset(choice.heading_deg, offset_m)
        if at.laid:
            yield weigher.settled(at)


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


def _roundest(best: Choice, every: list[Choice]) -> Choice:
    """Give, of the headings about the best that are as good, the one that is easiest to say.

    A cost dips at a fence, and about its foot there are headings as good as along it.
    """
    alike = [
        choice
        for choice in every
        if angle_deg(choice.heading_deg, best.heading_deg) <= ALIKE_DEG
        and choice.aim <= best.aim + TIE_AIM
        and choice.money <= best.money * (1 + EQUAL_COST_SHARE)
    ]
    return min(alike, key=lambda choice: (_decimals(choice.heading_deg), choice.heading_deg))


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
        return weigher.settled(weigher.at_offset(heading_deg, None))
    return from_side(plan, section, block, heading_deg)


def from_side(plan: Plan, section: Section, block: FieldBlock, heading_deg: float) -> Choice:
    """Weigh a heading at the offset that the plan states, else from the side of the land."""
    return measured_there(plan, block, weighed_there(plan, section, block, heading_deg))


def weighed_there(plan: Plan, section: Section, block: FieldBlock, heading_deg: float) -> Choice:
    """Weigh it likewise, and measure nothing of what is shown besides its cost."""
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    offset = plan.direction.offset_m
    return weigher.at_offset(heading_deg, offset if isinstance(offset, float) else 0.0)


def measured_there(plan: Plan, block: FieldBlock, choice: Choice) -> Choice:
    """Measure what is shown of that besides its cost."""
    weigher = Weigher(plan, choice.section, prepare(plan, block)[1])
    return weigher.measured(choice, choice.offset_m)


def usual(plan: Plan, section: Section, block: FieldBlock) -> Choice:
    """Weigh what farms usually do: along the longest edge, at the best offset there."""
    free = plan.direction.model_copy(update={"offset_m": "best"})
    plan = plan.model_copy(update={"direction": free})
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    along_deg = round(longest_edge_deg(block.part), HEADING_DIGITS) % HALF_TURN_DEG
    return weigher.settled(weigher.at_offset(along_deg, None))


def _headings(ground: LandToWeigh) -> Floats:
    """Give the headings to try: the grid, and every edge's direction."""
    grid = np.arange(0.0, HALF_TURN_DEG, GRID_DEG)
    edges = direction_deg(ground.edges.end - ground.edges.start)
    return np.unique(np.round(np.concatenate([grid, edges]), HEADING_DIGITS) % HALF_TURN_DEG)


def _search_set(rough: Weigher, weigher: Weigher, grid: Floats, usual_deg: float) -> None:
    """Weigh a set at all headings of a grid, and at finer steps about the best of them.

    Args:
        rough: weighs it quickly.
        weigher: weighs it exactly; the same one where the quick way is exact.
        grid: headings in degrees.
        usual_deg: the heading that is tried in any case.
    """
    _log.info("weighing %d headings of a set of %.1f m", len(grid), weigher.section.width_m)
    found = in_order(rough.weigh(grid))
    if weigher is not rough:
        picked = [*_spread(found, GRID_DEG, CHECKED), *_spread(found, APART_DEG, 2 * SHOWN)]
        exactly = [choice.heading_deg for choice in picked]
        found = in_order(weigher.weigh([*exactly, *np.arange(0.0, HALF_TURN_DEG, SHOWN_DEG)]))
    begins = [*_spread(found, 2 * GRID_DEG, CLIMBS), *weigher.weigh([usual_deg])]
    for number, begin in enumerate(begins, start=1):
        what = (begin.heading_deg, number, len(begins))
        _log.info("finer headings about %.2f degrees, %d of %d", *what)
        _climb(weigher, begin, FINER_DEG)
    _climb(weigher, in_order(weigher.known.values())[0], FINEST_DEG)


def _climb(weigher: Weigher, here: Choice, step_deg: float) -> None:
    """Move to the best heading within reach until that is where it stands."""
    while True:
        around = here.heading_deg + step_deg * np.arange(-REACH, REACH + 1)
        best = in_order(weigher.weigh(around))[0]
        if not is_better(best, here):
            return
        here = best


def _spread(found: list[Choice], apart_deg: float, most: int) -> list[Choice]:
    """Pick the best that lie apart from each other."""
    picked: list[Choice] = []
    for choice in found:
        if all(angle_deg(choice.heading_deg, other.heading_deg) >= apart_deg for other in picked):
            picked.append(choice)
            if len(picked) == most:
                break
    return picked


def _different(found: list[Choice]) -> list[Choice]:
    """Pick the best that differ in heading by more than `APART_DEG`."""
    picked: list[Choice] = []
    for choice in found:
        if all(angle_deg(choice.heading_deg, other.heading_deg) > APART_DEG for other in picked):
            picked.append(choice)
            if len(picked) == SHOWN:
                break
    return picked
