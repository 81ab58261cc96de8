"""Say what a crop's grain is worth and costs, in the unit it is sold by."""

from collections.abc import Mapping
from dataclasses import dataclass

from striplay.economics.grain import dry_share
from striplay.errors import PlanError
from striplay.operations.amounts import base_moisture, bushel_kg
from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.section.mixture import crops_named, sown_of
from striplay.section.section import Section
from striplay.section.yield_shares import yield_share, yield_shares
from striplay.units import ACRE_M2, HECTARE_M2, POUND_KG, Quantity, UnitSystem

TONNE_KG = 1000.0
POINTS = 100.0
"""Points of moisture to a share of 1."""


@dataclass(frozen=True, slots=True)
class Worth:
    """A crop's yield alone, and what a unit of it is worth.

    Attributes:
        crop: its name.
        unit: what it is measured by: bu or kg.
        alone_per_m2: yield alone, in units at base moisture.
        price: of a unit.
        drying: of a unit, from its moisture at harvest to that it is sold at.
        wet: units as harvested to a unit sold, by weight; 1 where moisture is not stated.
        other_per_m2: other costs by area.
    """

    crop: str
    unit: str
    alone_per_m2: float
    price: float
    drying: float = 0.0
    wet: float = 1.0
    other_per_m2: float = 0.0

    @property
    def net_price(self) -> float:
        """Price of a unit once it is dried."""
        return self.price - self.drying


def worths_of(plan: Plan, section: Section) -> dict[str, Worth]:
    """Say what each crop of a plan's strips and headland is worth.

    A crop that is not harvested has none.

    Raises:
        PlanError: all that is missing for it: yields, prices, weights of bushels, and what crops
            that share ground yield there.
    """
    around = plan.headland_crop
    grown = [*section.crops, *(() if around is None else crops_named(plan, around))]
    faults: list[str] = []
    found = {}
    for crop in dict.fromkeys(grown):
        table = plan.crops[crop]
        if table.reaped:
            worth = _worth(plan, crop, table, faults)
            if worth is not None:
                found[crop] = worth
    faults += _unsaid_shares(plan, section)
    if faults:
        raise PlanError(plan.path.name, faults)
    return found


def with_land_worth(plan: Plan, section: Section, worths: Mapping[str, Worth]) -> Plan:
    """Give a plan whose aim is money, its cropped land worth what its crops leave.

    Where it says what land is worth, that stays.

    That is sales less drying and other costs, by the strips' shares of the set; machines are
    reckoned by the search itself, and seed and products are told apart there.
    """
    money = plan.cost.model_copy(update={"aim": "money"})
    if "land_per_m2" in plan.cost.model_fields_set:
        return plan.model_copy(update={"cost": money})
    shares = yield_shares(plan, section)
    width_m = sum(strip.width_m for strip in section.strips)
    per_m2 = 0.0
    for row in section.rows:
        for layer in row.sown:
            worth, share = worths.get(layer.crop), shares[layer] or 0.0
            if worth is not None:
                each = worth.alone_per_m2 * worth.net_price * share - worth.other_per_m2
                per_m2 += each * row.spacing_m / width_m
    cost = money.model_copy(update={"land_per_m2": max(per_m2, 0.0)})
    return plan.model_copy(update={"cost": cost})


def _worth(plan: Plan, crop: str, table: Crop, faults: list[str]) -> Worth | None:
    """Give the worth of a crop; None, and the faults noted, where something is missing."""
    key = f"crops.{crop}"
    lacking = {"yield": (table.yield_rate, "180 bu/acre"), "price": (table.price, "4.50 per bu")}
    for name, (value, example) in lacking.items():
        if value is None:
            what = "what it yields grown alone" if name == "yield" else "what it is sold for"
            said = f'is missing: {what}; for example {name} = "{example}"'
            faults.append(f"{key}.{name}: {said}")
    if table.yield_rate is None or table.price is None:
        return None
    weight_kg = bushel_kg(plan, crop)
    told = [table.yield_rate, table.price, *([table.drying] if table.drying else [])]
    kinds = {_grain_unit(one) for one in told}
    if weight_kg is None and len(kinds) > 1:
        said = (
            "is missing: yield, price and drying are told by bushel and by weight; for example "
            'bushel = "56 lb"'
        )
        faults.append(f"{key}.bushel: {said}")
        return None
    in_bushels = kinds == {"bu"} if weight_kg is None else plan.units == "us"
    unit = "bu" if in_bushels else "kg"
    base = base_moisture(plan, crop)
    wet = 1.0
    if table.moisture is not None and base is not None:
        wet = 1.0 / dry_share(table.moisture, base)
    drying = 0.0
    if table.drying is not None and table.moisture is not None and base is not None:
        points = max(table.moisture - base, 0.0) * POINTS
        drying = _by_unit(table.drying, unit, weight_kg) * points * wet
    price = _by_unit(table.price, unit, weight_kg)
    if drying >= price:
        span = f"{(table.moisture or 0.0) * POINTS:.0f} % to {(base or 0.0) * POINTS:.1f} %"
        reason = (
            f"takes all of the price: from {span} it costs {drying:.2f} per {unit} that sells "
            f"for {price:.2f}; is the moisture right?"
        )
        faults.append(f"{key}.drying: {reason}")
        return None
    return Worth(
        crop=crop,
        unit=unit,
        alone_per_m2=_measured_by(table.yield_rate, unit, weight_kg),
        price=price,
        drying=drying,
        wet=wet,
        other_per_m2=table.other_costs_per_m2 or 0.0,
    )


def _grain_unit(told: Quantity) -> str:
    """Name the unit of grain that a yield or price is told by: bu or kg."""
    return "bu" if "bu" in told.si_unit.split("_") else "kg"


def _measured_by(told: Quantity, unit: str, weight_kg: float | None) -> float:
    """Give a yield in a unit of grain."""
    if _grain_unit(told) == unit or weight_kg is None:
        return told.value
    return told.value * weight_kg if unit == "kg" else told.value / weight_kg


def _by_unit(told: Quantity, unit: str, weight_kg: float | None) -> float:
    """Give money by a unit of grain."""
    if _grain_unit(told) == unit or weight_kg is None:
        return told.value
    return told.value / weight_kg if unit == "kg" else told.value * weight_kg


def _unsaid_shares(plan: Plan, section: Section) -> list[str]:
    """Ask for what crops that share ground yield there, where the plan does not say."""
    around = plan.headland_crop
    layers = () if around is None else sown_of(plan, around)
    shares = {layer: yield_share(plan, layer) for layer in layers} | yield_shares(plan, section)
    unsaid = [layer for layer, share in shares.items() if share is None]
    if not unsaid:
        return []
    names = ", ".join(dict.fromkeys(layer.crop for layer in unsaid))
    said = (
        f"yields together: are missing for {names}: what each yields beside or after the crop it "
        "shares its ground with, as a share of its yield alone; give yield_share and "
        "host_yield_share under [[relay]] or [[quick_crop]], yield_share under [[after_harvest]], "
        "yield_shares under [mixtures.NAME]"
    )
    return [said]


def shown_yield(per_m2: float, unit: str, units: UnitSystem) -> tuple[float, str]:
    """Give a yield as it is said: bushels, pounds or tonnes to the acre or hectare.

    >>> shown_yield(1.0, "kg", "metric")
    (10.0, 't/ha')
    """
    area_m2, area = (ACRE_M2, "ac") if units == "us" else (HECTARE_M2, "ha")
    if unit == "bu":
        return per_m2 * area_m2, f"bu/{area}"
    weight_kg, weight = (POUND_KG, "lb") if units == "us" else (TONNE_KG, "t")
    return per_m2 * area_m2 / weight_kg, f"{weight}/{area}"


def shown_price(price: float, unit: str, units: UnitSystem) -> tuple[float, str]:
    """Give a price as it is said: to the bushel, hundredweight or tonne.

    >>> shown_price(0.2, "kg", "metric")
    (200.0, 't')
    """
    if unit == "bu":
        return price, "bu"
    if units == "us":
        return price * POUND_KG * 100, "cwt"
    return price * TONNE_KG, "t"
