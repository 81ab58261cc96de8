"""Hold the answer to "does it pay?": what strips leave, beside what else the field could."""

from collections.abc import Mapping
from dataclasses import dataclass

from striplay.economics.by_strip import StripMargin
from striplay.economics.chances import (
    Against,
    Bar,
    Needed,
    PriceRatio,
    compare,
    draw,
    needed_gains,
    net,
    price_ratio,
    tornado,
)
from striplay.economics.edges import EdgeTable, Estimate, Response
from striplay.economics.indices import (
    Grown,
    best_alone,
    land_equivalent_ratio,
    monetary_equivalent_ratio,
)
from striplay.economics.variant import (
    AS_STATED,
    Variant,
    edges_at,
    joined,
    margin,
    margin_range,
    units_of,
)
from striplay.economics.widths import Widths
from striplay.economics.worth import Worth
from striplay.notices import Notice
from striplay.plan.models import Plan

STRIPS, BLOCKS, ROTATION, SWAPPED = "strips", "blocks", "rotation", "crops swapped"


@dataclass(frozen=True, slots=True)
class CropPay:
    """A crop in strips, beside itself alone.

    Attributes:
        crop: its name.
        unit: what it is measured by: bu or kg.
        area_m2: ground sown to it, headland included.
        alone_per_m2: its yield alone.
        alone_ends_per_m2: the same at the ends of the range that the plan states for yields; None
            where it states none.
        yield_per_m2: its yield in the strips, with edges at their least, middle and most.
        margin: what it leaves over the field, likewise.
        alone_margin: what it leaves alone on the whole field.
    """

    crop: str
    unit: str
    area_m2: float
    alone_per_m2: float
    alone_ends_per_m2: tuple[float, float] | None
    yield_per_m2: Estimate
    margin: Estimate
    alone_margin: float


@dataclass(frozen=True)
class Pay:
    """What strips leave, against what else the field could, and how sure that is.

    Attributes:
        plan: what was asked.
        worths: what each crop is worth.
        edges: what is known of rows at edges.
        system: the strips.
        alone: each crop on the whole field, by name.
        strips: what each strip leaves.
        widths: strip widths that fit beside each other; None where there is one, or along curves.
        together: crops that share ground with another, and yield there what the plan says.
        notices: yields and prices that are hardly meant.
        swapped: the season after, the crops in each other's strips; None where they can't.
    """

    plan: Plan
    worths: Mapping[str, Worth]
    edges: EdgeTable
    system: Variant
    alone: Mapping[str, Variant]
    strips: tuple[StripMargin, ...]
    widths: Widths | None
    swapped: Variant | None
    together: tuple[str, ...] = ()
    notices: tuple[Notice, ...] = ()

    @property
    def margin(self) -> Estimate:
        """What the strips leave."""
        return margin_range(self.system, self.worths)

    @property
    def crops(self) -> list[CropPay]:
        """Each crop that is harvested."""
        found = []
        for crop, worth in self.worths.items():
            part = self.system.crops[crop]
            only = Variant(crop, {crop: part}, part.area_m2)
            ends = [edges_at(only, -1.0), AS_STATED, edges_at(only, 1.0)]
            units = Estimate(*(float(units_of(part, worth, end)) for end in ends))
            found.append(
                CropPay(
                    crop,
                    worth.unit,
                    part.area_m2,
                    worth.alone_per_m2,
                    self._alone_ends(worth),
                    units.times(1.0 / part.area_m2),
                    margin_range(only, self.worths),
                    float(margin(self.alone[crop], self.worths)),
                )
            )
        return found

    def _alone_ends(self, worth: Worth) -> tuple[float, float] | None:
        """Give the ends of a crop's yield alone, as far off as the plan says it may lie."""
        off = self.plan.economics.yield_range
        if off is None:
            return None
        return worth.alone_per_m2 * (1.0 - off), worth.alone_per_m2 * (1.0 + off)

    @property
    def blocks(self) -> Variant:
        """The same crops on as much land each, in blocks: as alone, field for field."""
        return joined(BLOCKS, (_on(self.alone[crop], m2) for crop, m2 in self.own_land_m2.items()))

    @property
    def own_land_m2(self) -> dict[str, float]:
        """The land of each crop that is harvested; that which crops share is split evenly."""
        parts = {crop: self.system.crops[crop] for crop in self.worths}
        total_m2 = sum(part.land_m2 for part in parts.values())
        return {crop: part.land_m2 / total_m2 * self.system.area_m2 for crop, part in parts.items()}

    @property
    def rotation(self) -> Variant:
        """The farm's rotation on whole fields, a mean year; by the strips' shares if not stated."""
        stated = self.plan.economics.rotation
        own = {crop: m2 / self.system.area_m2 for crop, m2 in self.own_land_m2.items()}
        shares = own if stated is None else stated
        return joined(ROTATION, (self.alone[crop].times(share) for crop, share in shares.items()))

    @property
    def others(self) -> list[Variant]:
        """What strips are held against: blocks, rotation, and each crop alone."""
        return [self.blocks, self.rotation, *self.alone.values()]

    @property
    def against(self) -> list[Against]:
        """The strips beside each of the others."""
        drawn = draw(self.plan.economics, [self.system], self.worths)
        return [compare(self.system, other, self.worths, drawn) for other in self.others]

    @property
    def bars(self) -> list[Bar]:
        """What each figure's range does to strips against blocks, the widest first."""
        return tornado(self.system, self.blocks, self.worths, self.plan.economics)

    @property
    def needed(self) -> list[Needed]:
        """The gains of outer rows at which strips leave as much as blocks."""
        return needed_gains(self.system, self.blocks, self.worths)

    @property
    def needed_together(self) -> float | None:
        """The change in yields of crops that share ground at which strips leave as much as blocks.

        As a share of what the plan says they yield, below 0 where they may yield less; None where
        no crops share ground.
        """
        value = sum(
            float(units_of(self.system.crops[crop], self.worths[crop]))
            * self.worths[crop].net_price
            for crop in self.together
        )
        return -float(net(self.system, self.blocks, self.worths)) / value if value else None

    @property
    def price_ratio(self) -> PriceRatio | None:
        """The prices at which what strips gain pays for what they lose; None unless both are."""
        return price_ratio(self.system, self.blocks, self.worths)

    def grown(self, at: float = 0.0) -> list[Grown]:
        """Give the crops beside themselves alone, for the indices.

        Args:
            at: where edges gain: -1 the least, 0 their middle, 1 the most.
        """
        found = []
        for crop, worth in self.worths.items():
            part = self.system.crops[crop]
            state = edges_at(Variant(crop, {crop: part}, 0.0), at)
            together = float(units_of(part, worth, state)) / self.system.area_m2
            share = self.own_land_m2[crop] / self.system.area_m2
            found.append(Grown(crop, together, worth.alone_per_m2, share, worth.net_price))
        return found

    @property
    def land_equivalent(self) -> Estimate:
        """The land equivalent ratio, with edges at their least, middle and most."""
        return Estimate(*(land_equivalent_ratio(self.grown(at)) for at in ENDS))

    @property
    def monetary_equivalent(self) -> Estimate:
        """Value as a ratio to the best crop's alone, likewise; costs but drying left out."""
        return Estimate(*(monetary_equivalent_ratio(self.grown(at)) for at in ENDS))

    @property
    def best_alone(self) -> str:
        """Name the crop that is worth most alone on the whole field."""
        return best_alone(self.grown()).name

    @property
    def two_seasons(self) -> Estimate | None:
        """What strips leave in the mean of two seasons, crops swapped; None where they can't."""
        if self.swapped is None:
            return None
        return margin_range(self.swapped, self.worths).plus(self.margin).times(0.5)

    @property
    def studies(self) -> list[Response]:
        """The published studies of the pairs that stand side by side, those of strips too."""
        pairs = dict.fromkeys(pair for part in self.system.crops.values() for pair in part.edges)
        return [one for crop, beside in pairs for one in self.edges.pairs(crop, beside)]


ENDS = (-1.0, 0.0, 1.0)
"""Edges at their least, middle and most."""


def _on(alone: Variant, area_m2: float) -> Variant:
    """Give a crop alone on so much land, its costs as on the whole field."""
    return alone.times(area_m2 / alone.area_m2)
