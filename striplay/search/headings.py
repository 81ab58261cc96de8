"""Search every heading, offset and good set for the layout that costs least."""

import logging
import math
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from striplay.geometry.frame import HALF_TURN_DEG, direction_deg
from striplay.layout.blocks import GroundBlock
from striplay.plan.models import Plan
from striplay.search.cost import GroundToWeigh, Weighed, weigh_heading
from striplay.search.land import GroundAt, longest_edge_deg, prepare
from striplay.search.point_rows import PointRows, point_rows
from striplay.search.prices import Prices, prices_of
from striplay.section.section import Section

Floats = npt.NDArray[np.float64]
_log = logging.getLogger(__name__)

GRID_DEG = 0.25
"""Headings are tried at least this near to each other."""
FINER_DEG = 0.025
"""Step of the finer search about the best headings."""
FINEST_DEG = 0.0025
"""Step of the last search, about the best heading of all."""
REACH = 10
"""Finer steps tried on either side."""
CLIMBS = 8
"""Headings of the grid from which the finer search begins."""
CHECKED = 60
"""Headings weighed exactly where the quick weighing is not exact."""
SHOWN_DEG = 1.0
"""There, headings are weighed exactly at least this near to each other."""
FULL_SETS = 4
"""Sets searched in full; where more are good, those that cost least at coarse headings."""
COARSE_DEG = 3.0
APART_DEG = 10.0
"""Headings nearer than this are not really different layouts."""
SHOWN = 5
EQUAL_SHARE = 1e-4
"""Offsets whose costs differ by less than a hundredth of a per cent are equally good."""


@dataclass(frozen=True)
class Choice:
    """A straight layout and its cost.

    Attributes:
        heading_deg: degrees clockwise from true north, 0 up to 180.
        offset_m: how far outside the land the first set begins.
        section: the set.
        parts: money a year by part, in the order of `PARTS`.
        passes: planter passes.
        rank: what is to be least: the aim, and money where it leaves a tie.
        point_rows: ground worked twice by machine; measured only for what is shown.
    """

    heading_deg: float
    offset_m: float
    section: Section = field(repr=False)
    parts: tuple[float, ...]
    passes: int
    rank: tuple[float, float]
    point_rows: tuple[PointRows, ...] = ()

    @property
    def total(self) -> float:
        """Money a year."""
        return sum(self.parts)

    @property
    def laid(self) -> bool:
        """Whether there is land for a strip."""
        return math.isfinite(self.rank[1])


@dataclass(frozen=True)
class Searched:
    """What a search found.

    Attributes:
        best: the best really different layouts, best first; at most `SHOWN`, none without land.
        headings_deg: every heading weighed with the best's set, ascending, (n,).
        parts: the best offset's cost at each, by part, (n, parts).
        usual: along the field's longest edge from its side.
        asked: what the plan's own heading costs, where it states one.
    """

    best: tuple[Choice, ...]
    headings_deg: Floats = field(repr=False)
    parts: Floats = field(repr=False)
    usual: Choice
    asked: Choice | None


class Weigher:
    """Weighs headings, each once, for one plan, ground and set."""

    def __init__(self, plan: Plan, section: Section, ground_at: GroundAt) -> None:
        self._plan, self._ground_at = plan, ground_at
        self.section = section
        self._prices: Prices = prices_of(plan, section)
        offset = plan.direction.offset_m
        self._offset_m = offset if isinstance(offset, float) else None
        self.known: dict[float, Choice] = {}

    def weigh(self, heading_deg: float) -> Choice:
        """Weigh a heading at its best offset, or at the plan's."""
        heading_deg %= HALF_TURN_DEG
        if heading_deg not in self.known:
            self.known[heading_deg] = self.at_offset(heading_deg, self._offset_m)
        return self.known[heading_deg]

    def at_offset(self, heading_deg: float, offset_m: float | None) -> Choice:
        """Weigh a heading at one offset, or at the best where None."""
        weighed = weigh_heading(
            self._plan, self._prices, self._ground_at(heading_deg), heading_deg, offset_m
        )
        return _best_of(weighed, self.section)

    def with_point_rows(self, choice: Choice) -> Choice:
        """Measure also the ground that a choice's machines work twice."""
        heading_deg = choice.heading_deg
        measured = point_rows(
            self._plan, self.section, self._ground_at(heading_deg), heading_deg, choice.offset_m
        )
        return replace(choice, point_rows=measured)


def _best_of(weighed: Weighed, section: Section) -> Choice:
    index = _middle_of_best(weighed.aim, weighed.money)
    first_m, step_m = weighed.offsets_m
    return Choice(
        weighed.heading_deg,
        first_m + index * step_m,
        section,
        tuple(float(part) for part in weighed.parts[index]),
        int(weighed.passes[index]),
        (float(weighed.aim[index]), float(weighed.money[index])),
    )


def _middle_of_best(aim: Floats, money: Floats) -> int:
    """Give the first offset if none is better, or the middle of neighbours as good as the best."""
    aimed = aim <= aim.min()
    least = int(np.argmin(np.where(aimed, money, np.inf)))
    worse = ~aimed | (money > money[least] * (1 + EQUAL_SHARE))
    if not worse[0]:
        return 0
    after = np.argmax(worse[least:]) if worse[least:].any() else len(money) - least
    before = np.argmax(worse[least::-1]) if worse[: least + 1].any() else least + 1
    return int(least + (after - before) // 2)


def search(plan: Plan, sections: list[Section], block: GroundBlock) -> Searched:
    """Search all headings, offsets and sets.

    Every heading of the grid and every edge's direction is weighed at every offset. About the best
    of them finer steps are tried until none is better. So no heading a tenth of the grid away from
    the result costs less, at any offset.
    """
    quick, exact = prepare(plan, block)
    grid = _headings(quick(0.0))
    chosen = _promising(plan, sections, quick)
    weighers = [_search_set(plan, section, grid, quick, exact) for section in chosen]
    every = [choice for weigher in weighers for choice in weigher.known.values()]
    best = _different(sorted(every, key=lambda choice: choice.rank))
    by_set = {id(weigher.section): weigher for weigher in weighers}
    own = by_set[id(best[0].section)]
    curve = sorted(own.known.values(), key=lambda choice: choice.heading_deg)
    asked = plan.direction.heading
    return Searched(
        best=tuple(by_set[id(c.section)].with_point_rows(c) for c in best if c.laid),
        headings_deg=np.array([choice.heading_deg for choice in curve]),
        parts=np.array([choice.parts for choice in curve]),
        usual=usual(plan, sections[0], block),
        asked=None if asked == "best" else stated(plan, sections[0], block, asked),
    )


def stated(plan: Plan, section: Section, block: GroundBlock, heading_deg: float) -> Choice:
    """Weigh a stated heading, at the plan's offset, the best, or from the side."""
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    offset = plan.direction.offset_m
    first_m = 0.0 if offset is None else offset
    choice = weigher.at_offset(heading_deg, None if first_m == "best" else float(first_m))
    return weigher.with_point_rows(choice)


def usual(plan: Plan, section: Section, block: GroundBlock) -> Choice:
    """Weigh what farms usually do: along the longest edge, the first set from its side."""
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    return weigher.with_point_rows(weigher.at_offset(longest_edge_deg(block.part), 0.0))


def _headings(ground: GroundToWeigh) -> Floats:
    """Give the headings to try: the grid, and every edge's direction."""
    grid = np.arange(0.0, HALF_TURN_DEG, GRID_DEG)
    edges = direction_deg(ground.edges.end - ground.edges.start)
    _, first = np.unique(np.round(edges, 4), return_index=True)
    return np.unique(np.concatenate([grid, edges[first]]))


def _promising(plan: Plan, sections: list[Section], quick: GroundAt) -> list[Section]:
    """Pick the sets that cost least at coarse headings, where there are many."""
    if len(sections) <= FULL_SETS:
        return sections
    _log.info("comparing %d sets", len(sections))
    least = []
    for section in sections:
        weigher = Weigher(plan, section, quick)
        coarse = np.arange(0.0, HALF_TURN_DEG, COARSE_DEG)
        least.append(min(weigher.weigh(float(heading)).rank for heading in coarse))
    order = sorted(range(len(sections)), key=lambda index: least[index])
    return [sections[index] for index in order[:FULL_SETS]]


def _search_set(
    plan: Plan, section: Section, grid: Floats, quick: GroundAt, exact: GroundAt
) -> Weigher:
    _log.info("weighing %d headings of a set of %.1f m", len(grid), section.width_m)
    rough = Weigher(plan, section, quick)
    found = sorted((rough.weigh(float(heading)) for heading in grid), key=lambda c: c.rank)
    weigher = rough
    if quick is not exact:
        weigher = Weigher(plan, section, exact)
        picked = [*_spread(found, GRID_DEG, CHECKED), *_spread(found, APART_DEG, 2 * SHOWN)]
        picked += [rough.weigh(float(h)) for h in np.arange(0.0, HALF_TURN_DEG, SHOWN_DEG)]
        found = sorted((weigher.weigh(c.heading_deg) for c in picked), key=lambda c: c.rank)
    for number, begin in enumerate(_spread(found, 2 * GRID_DEG, CLIMBS), start=1):
        _log.info("finer headings about %.2f degrees, %d of %d", begin.heading_deg, number, CLIMBS)
        _climb(weigher, begin, FINER_DEG)
    _climb(weigher, min(weigher.known.values(), key=lambda c: c.rank), FINEST_DEG)
    return weigher


def _climb(weigher: Weigher, here: Choice, step_deg: float) -> None:
    """Move to the best heading within reach until that is where it stands."""
    while True:
        around = here.heading_deg + step_deg * np.arange(-REACH, REACH + 1)
        best = min((weigher.weigh(float(h)) for h in around), key=lambda choice: choice.rank)
        if best.rank >= here.rank:
            return
        here = best


def _spread(found: list[Choice], apart_deg: float, most: int) -> list[Choice]:
    """Pick the best that lie apart from each other."""
    picked: list[Choice] = []
    for choice in found:
        if all(_apart_deg(choice, other) >= apart_deg for other in picked):
            picked.append(choice)
            if len(picked) == most:
                break
    return picked


def _apart_deg(one: Choice, other: Choice) -> float:
    apart = abs(one.heading_deg - other.heading_deg)
    return min(apart, HALF_TURN_DEG - apart)


def _different(found: list[Choice]) -> tuple[Choice, ...]:
    """Pick the best that differ in heading by more than `APART_DEG`, or in their set."""
    picked: list[Choice] = []
    for choice in found:
        if all(
            choice.section is not other.section or _apart_deg(choice, other) > APART_DEG
            for other in picked
        ):
            picked.append(choice)
            if len(picked) == SHOWN:
                break
    return tuple(picked)
