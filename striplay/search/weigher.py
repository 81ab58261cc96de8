"""Weigh headings of one set on one ground, each once, and the best of many without weighing all."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from heapq import heapify, heappop, heappush

import numpy as np
import numpy.typing as npt

from striplay.geometry.directions import HALF_TURN_DEG
from striplay.plan.models import Plan
from striplay.search.choice import Choice, in_order
from striplay.search.cost import Weighed, weigh_headings
from striplay.search.land import GroundAt
from striplay.search.lies import Lies, lies_of, together
from striplay.search.point_rows import PointRows, point_rows
from striplay.search.priced_set import priced_set
from striplay.search.turned import LandToWeigh
from striplay.section.section import Section
from striplay.tolerances import EQUAL_COST_SHARE, OFF_DEG, TIE_AIM, TIE_COST_SHARE
from striplay.units import HEADING_DIGITS, typed_about_m

Floats = npt.NDArray[np.float64]
_Heap = list[tuple[float, float]]

AT_ONCE = 8
"""Headings weighed in one call, which costs little more than for one; more leave the processor's
own memory."""
EDGES_AT_ONCE = 20_000
"""Edges of the land weighed in one call: of a very large field, headings are weighed one by one."""

MOST_EDGES = 400
"""Edges of the land up to which headings are told apart by how little they may cost."""

GLANCED_AT_ONCE = 16_000
"""Edges of the land glanced at in one call; more leave the processor's own memory."""
LOOKED_AT_ONCE = 32
"""Headings looked at closely in one call, of those that may be the best at a glance."""


def typed_deg(heading_deg: float) -> float:
    """Give a heading as it is typed, 0 up to 180 degrees."""
    return round(float(heading_deg), HEADING_DIGITS) % HALF_TURN_DEG


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
        self._set = priced_set(plan, section)
        offset = plan.direction.offset_m
        self._offset_m = offset if isinstance(offset, float) else None
        self._may_cost: dict[float, float] = {}
        self._at_least: dict[float, float] = {}
        self._lies: dict[float, tuple[Lies, int]] = {}
        self._grounds: dict[float, LandToWeigh] = {}
        self._known: dict[float, Choice] = {}
        self._asked: dict[float, None] = {}

    @property
    def _aimed(self) -> bool:
        """Whether something else than money comes first."""
        return self._plan.cost.aim in {"land", "passes"}

    @cached_property
    def _bounded(self) -> bool:
        """Whether it pays to reckon first how little headings may cost.

        That is money, at the best offset. With very many edges it takes as long as to weigh them.
        """
        if self._offset_m is not None or self._aimed:
            return False
        return len(self._ground(0.0).edges) <= MOST_EDGES

    def __getstate__(self) -> dict[str, object]:
        """Leave out what is soon found again, when it is sent to another process."""
        return self.__dict__ | {"_grounds": {}, "_lies": {}}

    @property
    def asked_deg(self) -> list[float]:
        """Every heading asked for so far, weighed or known to be dearer than what was sought."""
        return list(self._asked)

    def weigh(self, headings_deg: Iterable[float]) -> list[Choice]:
        """Weigh headings, rounded to what is typed, at their best offset or the plan's."""
        asked = [typed_deg(one) for one in headings_deg]
        self._asked.update(dict.fromkeys(asked))
        new = [one for one in dict.fromkeys(asked) if one not in self._known]
        found = self.at_offsets([(one, self._offset_m) for one in new])
        self._known.update(zip(new, found, strict=True))
        return [self._known[one] for one in asked]

    def look_at(self, headings_deg: Iterable[float]) -> None:
        """Look in one go at headings that are alike, of which a glance would tell too little."""
        if self._bounded:
            asked = [typed_deg(one) for one in headings_deg]
            self._look_at([one for one in dict.fromkeys(asked) if one not in self._may_cost])

    def least_first(self, headings_deg: Iterable[float]) -> Iterator[float]:
        """Give headings in order of how little they may cost, of those looked at closely.

        Only where these run out more are looked at, the next best at a glance. None is weighed of
        which looking tells enough.
        """
        asked = self._asked_for(headings_deg)
        if not self._bounded:
            yield from (one.heading_deg for one in in_order(self.weigh(asked)))
            return
        looked, glanced = self._glanced_at(asked)
        heap = looked + [(self._known[one].money, one) for one in asked if one in self._known]
        heapify(heap)
        while heap or glanced:
            if not heap:
                some = self._look_at(_taken_off(glanced, math.inf, LOOKED_AT_ONCE))
                heap = [(self._least_of(one), one) for one in some]
                heapify(heap)
            least, one = heappop(heap)
            if math.isinf(least) and one not in self._known:
                heappush(heap, (self.weigh([one])[0].money, one))
            else:
                yield one

    def best_first(
        self, headings_deg: Iterable[float], limit: float = math.inf
    ) -> Iterator[Choice]:
        """Give headings in order, the best first, and weigh no more of them than that takes.

        Each is glanced at. One that may cost more than the best of those weighed is not looked at
        closely, or weighed, until its turn comes.

        Args:
            headings_deg: the headings.
            limit: what costs more is left out, where money is the aim.
        """
        asked = self._asked_for(headings_deg)
        if not self._bounded:
            every = in_order(self.weigh(asked))
            most = math.inf if self._aimed else limit * (1 + TIE_COST_SHARE)
            yield from (one for one in every if one.money <= most)
            return
        looked, glanced = self._glanced_at(asked)
        found = [(self._known[one].money, one) for one in asked if one in self._known]
        heapify(found)
        at_once = 1
        while found or looked or glanced:
            best = min(limit, found[0][0] if found else limit) * (1 + TIE_COST_SHARE)
            while glanced and glanced[0][0] <= min(best, looked[0][0] if looked else best):
                for one in self._look_at(_taken_off(glanced, best, LOOKED_AT_ONCE)):
                    heappush(looked, (self._least_of(one), one))
            some = _taken_off(looked, best, at_once)
            if some:
                at_once = min(2 * at_once, AT_ONCE)  # the first is the best as a rule
                for choice in self.weigh(some):
                    heappush(found, (choice.money, choice.heading_deg))
                continue
            tied = _taken_off(found, best, len(found))
            if not tied:
                return  # the others cost more than the limit
            yield from in_order(self._known[one] for one in tied)

    def within(self, headings_deg: Iterable[float], limit: float) -> list[float]:
        """Give those of some headings that may cost no more than a limit."""
        asked = list(dict.fromkeys(headings_deg))
        if self._bounded:
            self._glance_at(asked)
            asked = [one for one in asked if self._may_cost.get(one, 0.0) <= limit]
            self._look_at(asked)
            asked = [one for one in asked if self._at_least.get(one, 0.0) <= limit]
        return asked

    def _asked_for(self, headings_deg: Iterable[float]) -> dict[float, None]:
        """Note headings that are asked for, rounded to what is typed."""
        asked = dict.fromkeys(
            one if one in self._may_cost else typed_deg(one) for one in headings_deg
        )
        self._asked.update(asked)
        return asked

    def _glanced_at(self, asked: Iterable[float]) -> tuple[_Heap, _Heap]:
        """Glance at headings; give heaps of those not weighed, looked at closely and not."""
        self._glance_at(asked)
        rest = [one for one in asked if one not in self._known]
        looked = [(self._at_least[one], one) for one in rest if one in self._at_least]
        glanced = [(self._may_cost[one], one) for one in rest if one not in self._at_least]
        heapify(looked)
        heapify(glanced)
        return looked, glanced

    def _glance_at(self, headings_deg: Iterable[float]) -> None:
        """Reckon roughly how little headings may cost at any offset."""
        new = [one for one in headings_deg if one not in self._may_cost]
        if not new or not self._bounded:
            return
        glance = self._set.bounds_on(self._ground(new[0])).glance
        seen = []
        most = max(1, GLANCED_AT_ONCE // max(len(self._ground(new[0]).edges), 1))
        for begin in range(0, len(new), most):
            some = new[begin : begin + most]
            seen.append(self._lies_of(some))
            self._may_cost.update(zip(some, glance.at(seen[-1]).tolist(), strict=True))
        lies = together(seen)
        self._lies.update((one, (lies, number)) for number, one in enumerate(new))

    def _look_at(self, headings_deg: Sequence[float]) -> Sequence[float]:
        """Reckon closely how little the same may cost, where they are not weighed yet."""
        done = (self._known, self._at_least)
        new = [one for one in headings_deg if not any(one in each for each in done)]
        if not new:
            return headings_deg
        least = self._set.bounds_on(self._ground(new[0])).least
        order = [one for one in new if one not in self._lies]
        seen = [self._lies_of(order)] if order else []
        kept: dict[int, list[float]] = {}
        for one in new:
            if one in self._lies:
                kept.setdefault(id(self._lies[one][0]), []).append(one)
        for some in kept.values():
            numbers = np.array([self._lies[one][1] for one in some])
            seen.append(self._lies[some[0]][0].some(numbers))
            order += some
        found = dict(zip(order, least.at(together(seen)).tolist(), strict=True))
        self._at_least.update(found)
        self._may_cost = found | self._may_cost
        return headings_deg

    def _least_of(self, heading_deg: float) -> float:
        """Give how little a heading may cost, or what it does where it is weighed by now."""
        if heading_deg in self._known:
            return self._known[heading_deg].money
        return self._at_least[heading_deg]

    def _lies_of(self, headings_deg: Sequence[float]) -> Lies:
        grounds = [self._ground(one) for one in headings_deg]
        return lies_of(self._plan, self._set.prices, self._set.sides, grounds, headings_deg)

    def forget(self) -> None:
        """Let go of what was seen of the ground at each heading; it is soon seen again."""
        self._lies.clear()

    def _ground(self, heading_deg: float) -> LandToWeigh:
        if heading_deg not in self._grounds:
            self._grounds[heading_deg] = self._ground_at(heading_deg)
        return self._grounds[heading_deg]

    def at_offset(self, heading_deg: float, offset_m: float | None) -> Choice:
        """Weigh a heading at one offset, or at the best where None."""
        return self.at_offsets([(heading_deg, offset_m)])[0]

    def at_offsets(self, places: Sequence[tuple[float, float | None]]) -> list[Choice]:
        """Weigh headings each at one offset, or all at the best where that is None."""
        found: list[Choice] = []
        while len(found) < len(places):
            edges = len(self._ground(places[len(found)][0]).edges.start)
            most = max(1, min(AT_ONCE, EDGES_AT_ONCE // max(edges, 1)))
            some = places[len(found) : len(found) + most]
            headings_deg = [heading_deg for heading_deg, _ in some]
            grounds = [self._ground(heading_deg) for heading_deg in headings_deg]
            offsets_m = [offset_m for _, offset_m in some if offset_m is not None]
            own = self._set.prices, self._set.sides
            weighed = weigh_headings(self._plan, *own, grounds, headings_deg, offsets_m or None)
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

    def settled(self, choices: Sequence[Choice]) -> list[Choice]:
        """Weigh choices again, at offsets as they can be typed, to be shown."""
        if self._offset_m is not None:
            return [self.shown(choice, self._offset_m) for choice in choices]
        wide_m, units = self.section.width_m, self._plan.units
        near_m = [
            {m if m < wide_m else 0.0 for m in typed_about_m(choice.offset_m, units)}
            for choice in choices
        ]
        each = zip(choices, near_m, strict=True)
        weighed = iter(self.at_offsets([(one.heading_deg, m) for one, near in each for m in near]))
        found = [in_order([next(weighed) for _ in near])[0] for near in near_m]
        return [self.shown(choice, None) for choice in found]

    def shown(self, choice: Choice, offset_m: float | None) -> Choice:
        """Give a choice of which all that is shown can be measured.

        Args:
            choice: the choice.
            offset_m: the offset a little off its heading; the best where None.
        """
        return replace(choice, beside=_Beside(self, offset_m))

    def point_rows(self, choice: Choice) -> tuple[PointRows, ...]:
        """Measure the ground that machines work twice."""
        ground, at = self._ground(choice.heading_deg), (choice.heading_deg, choice.offset_m)
        return point_rows(self._plan, self.section, ground, *at)


@dataclass(frozen=True)
class _Beside:
    """Measures what is shown of a choice.

    Attributes:
        weigher: of its plan, set and ground.
        offset_m: the offset a little off; the best where None.
    """

    weigher: Weigher
    offset_m: float | None

    def point_rows(self, choice: Choice) -> tuple[PointRows, ...]:
        """Measure the ground that each machine works twice."""
        return self.weigher.point_rows(choice)

    def off_more(self, choice: Choice) -> float | None:
        """Tell what a heading a little off costs more; None where no strip is planted there."""
        off_deg = [(choice.heading_deg + off) % HALF_TURN_DEG for off in (-OFF_DEG, OFF_DEG)]
        beside = self.weigher.at_offsets([(one_deg, self.offset_m) for one_deg in off_deg])
        more = max(one.money for one in beside) - choice.money if choice.laid else math.inf
        return more if math.isfinite(more) else None


def _taken_off(heap: _Heap, limit: float, most: int) -> list[float]:
    """Take headings off a heap, by what each may cost: so many of those up to a limit."""
    found: list[float] = []
    while heap and len(found) < most and heap[0][0] <= limit:
        found.append(heappop(heap)[1])
    return found


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
