"""Say which strip width pays best among those that fit, and how far that holds."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from striplay.economics.edges import NOTHING, EdgeTable, Estimate
from striplay.economics.ground import set_ground
from striplay.economics.others import as_wide
from striplay.economics.system import edge_lands
from striplay.economics.worth import Worth
from striplay.layout.blocks import FieldBlock
from striplay.plan.models import Plan
from striplay.search.choice import Choice
from striplay.search.cost import PREFERENCES, SHARES
from striplay.search.land import GroundAt, prepare
from striplay.search.weigher import Weigher
from striplay.section.section import Section
from striplay.section.sets import SetFit, fit_sets
from striplay.section.systems import sections_of
from striplay.tolerances import SHARE_MISSED, SWAP_M

MOST_WIDTHS = 12
"""Widths held beside each other at most, the narrowest: as many as a picture shows."""
MOST_RANKED = 400
"""Sets looked through for them."""


@dataclass(frozen=True, slots=True)
class WidthMargin:
    """What a set of strips of some width leaves over the whole field, against the set that is laid.

    Attributes:
        crops: crop of each strip.
        widths_m: width of each.
        laid: whether it is the set that is laid.
        extra_cost: what its turns, partial passes, overlap and land not cropped cost more.
        edges: money that its edges gain, least, middle and most.
    """

    crops: tuple[str, ...]
    widths_m: tuple[float, ...]
    laid: bool
    extra_cost: float
    edges: Estimate

    @property
    def width_m(self) -> float:
        """Width of its narrowest strip."""
        return min(self.widths_m)

    def leaves(self, times: float) -> float:
        """Give what it leaves where edges gain so many times their middle; 0: nothing."""
        return times * self.edges.central - self.extra_cost


@dataclass(frozen=True, slots=True)
class Stays:
    """Between which gains of edges a width pays best, in times of their middle.

    Attributes:
        best: the width.
        low: from so many times on; 0 at the least.
        high: up to so many; without end where none other takes over.
    """

    best: WidthMargin
    low: float
    high: float


@dataclass(frozen=True)
class Widths:
    """Strip widths that fit all machines, beside each other.

    Attributes:
        each: by width.
        gains: whether anything is known of their edges, the user's or published.
        now: in times of the middle, what is reckoned with: 1, or 0 where edges gain nothing.
        machines_m: widths of the farm's machines, by name.
    """

    each: tuple[WidthMargin, ...]
    gains: bool
    now: float
    machines_m: Mapping[str, float]

    @property
    def best(self) -> WidthMargin:
        """The one that leaves most, as reckoned."""
        return self.at(self.now)

    def at(self, times: float) -> WidthMargin:
        """The one that leaves most where edges gain so many times their middle."""
        return max(self.each, key=lambda one: (one.leaves(times), -one.width_m))

    def stays(self) -> list[Stays]:
        """Give which width pays best from no gain of edges up to any, in order of the gain."""
        found: list[Stays] = []
        low, best = 0.0, self.at(0.0)
        while True:
            crossings = [
                ((best.extra_cost - one.extra_cost) * -1 / slope, one)
                for one in self.each
                if (slope := one.edges.central - best.edges.central) > 0.0
            ]
            later = [(at, one) for at, one in crossings if at > low]
            if not later:
                return [*found, Stays(best, low, math.inf)]
            at = min(at for at, _ in later)
            found.append(Stays(best, low, at))
            # of several that cross there, the steepest is best behind it
            best = max((one for when, one in later if when == at), key=lambda o: o.edges.central)
            low = at


def widths_of(
    plan: Plan,
    section: Section,
    block: FieldBlock,
    laid: Choice,
    edges: EdgeTable,
    worths: Mapping[str, Worth],
    strips_m2: float,
) -> Widths | None:
    """Hold the sets that fit beside the one that is laid, wider or narrower in the same ratio.

    Args:
        plan: machines and costs.
        section: the set that is laid.
        block: the field, as one block.
        laid: its heading.
        edges: what is known of rows at edges.
        worths: what crops are worth.
        strips_m2: ground of the strips.

    Returns:
        None where only one set fits, or one crop is grown, whose strips have no edges.
    """
    if len(set(section.labels)) == 1:
        return None
    measured = bool(plan.edges) or edges.taken
    table = edges if measured else replace(edges, taken=True)
    sets = [(found, sections_of(as_wide(plan, found))[0]) for found in _sets(plan, section)]
    widths = [[strip.width_m for strip in section.strips]]
    sections = [section]
    for _, other in sets:
        own = [strip.width_m for strip in other.strips]
        if all(max(map(_apart, own, known)) > SWAP_M for known in widths):
            widths.append(own)
            sections.append(other)
    if len(sections) == 1:
        return None
    exact = prepare(plan, block)[1]
    costs = [_cost(plan, one, exact, laid) for one in sections]
    each = [
        WidthMargin(
            tuple(strip.crop for strip in one.strips),
            tuple(strip.width_m for strip in one.strips),
            one is section,
            cost - costs[0],
            _edge_money(plan, one, laid.heading_deg, table, worths).times(strips_m2),
        )
        for one, cost in zip(sections, costs, strict=True)
        if math.isfinite(cost)
    ]
    known = any(one.edges != NOTHING for one in each)
    machines_m = {name: m.width_m for name, m in plan.machines.items() if m.covers != "nothing"}
    ordered = tuple(sorted(each, key=lambda one: one.width_m))
    return Widths(ordered, known, 1.0 if measured else 0.0, machines_m)


def _apart(one_m: float, other_m: float) -> float:
    return abs(one_m - other_m)


def _sets(plan: Plan, section: Section) -> list[SetFit]:
    """List the sets that fit all machines, their strips in the same ratio as those laid."""
    alike = [
        found
        for found in fit_sets(plan, most=MOST_RANKED)
        if found.crops == tuple(strip.crop for strip in section.strips)
        and all(strip.fits for strip in found.strips)
        and _in_ratio(section, found)
    ]
    return sorted(alike, key=lambda found: found.width_m)[:MOST_WIDTHS]


def _in_ratio(section: Section, found: SetFit) -> bool:
    """Tell whether a set is the laid one, all its strips so many times as wide."""
    times = found.width_m / section.width_m
    return all(
        abs(fit.width_m - times * strip.width_m) <= SWAP_M
        for fit, strip in zip(found.strips, section.strips, strict=True)
    )


def shares_alike(one: Section, other: Section) -> bool:
    """Tell whether two sets share land alike among their crops."""
    return _alike(_shares(one), _shares(other))


def _shares(section: Section) -> dict[str, float]:
    """Give the share of a set's width by crop."""
    shares: dict[str, float] = {}
    for strip in section.strips:
        shares[strip.crop] = shares.get(strip.crop, 0.0) + strip.width_m / section.width_m
    return shares


def _alike(one: Mapping[str, float], other: Mapping[str, float]) -> bool:
    return all(abs(other.get(crop, 0.0) - share) <= SHARE_MISSED for crop, share in one.items())


def _cost(plan: Plan, section: Section, ground_at: GroundAt, laid: Choice) -> float:
    """Give what a set costs at the heading that is laid, at its best offset there.

    Departure from wished shares and preferences are no money and left out.
    """
    weigher = Weigher(plan, section, ground_at)
    choice = weigher.at_offset(laid.heading_deg, None)
    if not choice.laid:
        return math.inf
    return sum(part for place, part in enumerate(choice.parts)
               if place not in {SHARES, PREFERENCES})  # fmt: skip


def _edge_money(
    plan: Plan,
    section: Section,
    heading_deg: float,
    table: EdgeTable,
    worths: Mapping[str, Worth],
) -> Estimate:
    """Give the money that a set's edges gain by area."""
    ground = set_ground(section, heading_deg)
    total = NOTHING
    for crop, lands in edge_lands(plan, section, ground, table).items():
        if crop in worths:
            each = worths[crop].alone_per_m2 * worths[crop].net_price / section.width_m
            for land in lands.values():
                total = total.plus(land.gained_m2.times(each))
    return total


def best_section(
    plan: Plan,
    sections: Sequence[Section],
    heading_deg: float,
    block: FieldBlock,
    table: EdgeTable,
    worths: Mapping[str, Worth],
) -> Section:
    """Choose, of the sets that fit equally, the one that leaves most: for `aim = "margin"`.

    Args:
        plan: machines and costs.
        sections: of the sets.
        heading_deg: at which they are weighed.
        block: the field, as one block.
        table: what is known of rows at edges.
        worths: what crops are worth.
    """
    exact = prepare(plan, block)[1]
    area_m2 = block.land_m2
    at = Choice(heading_deg, 0.0, sections[0], (), 0, 0.0, 0.0)

    def leaves(section: Section) -> float:
        edges = _edge_money(plan, section, heading_deg, table, worths).central
        return edges * area_m2 - _cost(plan, section, exact, at)

    return max(sections, key=leaves)
