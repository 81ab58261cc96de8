"""Say what each strip yields and leaves."""

from collections.abc import Mapping
from dataclasses import dataclass

from striplay.economics.edges import EdgeTable, Estimate
from striplay.economics.ground import row_ground
from striplay.economics.system import Field, grown_on
from striplay.economics.variant import Variant
from striplay.economics.worth import Worth


@dataclass(frozen=True, slots=True)
class StripMargin:
    """One crop of one strip.

    Attributes:
        strip: its number.
        crop: the crop.
        area_m2: ground sown to it.
        yield_per_m2: in the crop's unit, with edges at their least, middle and most.
        margin: what it leaves, likewise; costs shared by area among the crop's strips.
    """

    strip: int
    crop: str
    area_m2: float
    yield_per_m2: Estimate
    margin: Estimate


def by_strip(
    field: Field, edges: EdgeTable, system: Variant, worths: Mapping[str, Worth]
) -> list[StripMargin]:
    """Reckon every strip, in order; crops that are not harvested are left out.

    Args:
        field: the laid field.
        edges: what is known of rows at edges.
        system: the field as a whole.
        worths: what each crop is worth.
    """
    found = []
    for strip, ground in row_ground(field.laid).by_strip().items():
        for crop, part in grown_on(field.plan, field.laid.section, ground, edges).items():
            if crop not in worths or not part.area_m2:
                continue
            worth, whole = worths[crop], system.crops[crop]
            ground_m2 = part.gained_m2.plus(Estimate(*[part.inner_m2] * 3))
            units = ground_m2.times(worth.alone_per_m2)
            costs = whole.seed + whole.product + whole.other + whole.machine + whole.fuel.central
            cost = -costs * part.area_m2 / whole.area_m2
            money = units.times(worth.net_price).plus(Estimate(cost, cost, cost))
            yields = units.times(1.0 / part.area_m2)
            found.append(StripMargin(strip, crop, part.area_m2, yields, money))
    return found
