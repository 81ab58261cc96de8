"""Prepare for one plan and set, once for all grounds, what headings are weighed and bounded by."""

from dataclasses import dataclass, field
from functools import cached_property

from striplay.kept import Kept
from striplay.plan.models import Plan
from striplay.search.glance import Glance
from striplay.search.least import Least
from striplay.search.prices import Prices, prices_of
from striplay.search.sides import Sides
from striplay.search.totals import Total, money_of
from striplay.search.turned import LandToWeigh
from striplay.section.section import Section


@dataclass(frozen=True)
class Bounds:
    """Reckon how little headings may cost, on grounds whose sides cost and count the same.

    Attributes:
        prices: of the set.
        sides: of the set.
        side_per_m2: money a year of a square meter at the sides that no strip is planted on.
        sides_join: whether those sides join the headland.
    """

    prices: Prices
    sides: Sides
    side_per_m2: float
    sides_join: bool

    @cached_property
    def money(self) -> Total:
        """What the money asks for."""
        return money_of(self.prices, self.sides, self.side_per_m2)

    @cached_property
    def glance(self) -> Glance:
        """At a glance."""
        return Glance(self.prices, self.sides, self.money, self.side_per_m2)

    @cached_property
    def least(self) -> Least:
        """Closely."""
        return Least(self.prices, self.sides, self.money, sides_join=self.sides_join)


@dataclass(frozen=True)
class PricedSet:
    """A set and its prices by a plan, the same on any ground.

    Attributes:
        prices: of its passes.
        sides: what of it may be too narrow at a field's sides.
    """

    prices: Prices
    sides: Sides
    _kept: Kept = field(default_factory=Kept, init=False, repr=False, compare=False)

    def bounds_on(self, land: LandToWeigh) -> Bounds:
        """Give what bounds headings on grounds like this."""
        key = land.side_per_m2, land.sides_join
        return self._kept.once("bounds", key, lambda: Bounds(self.prices, self.sides, *key))


def priced_set(plan: Plan, section: Section) -> PricedSet:
    """Price a set by a plan; kept with the set, for the same plan at other headings and offsets."""
    still = plan.whichever_way

    def found() -> PricedSet:
        prices = prices_of(still, section)
        return PricedSet(prices, Sides(still, section, prices))

    return section.kept.once("priced", still, found)
