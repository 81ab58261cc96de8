"""Give where the field's ground goes as it is written: parts that add up to the field."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from striplay.accounts.words import adding_up
from striplay.plan.models import Plan
from striplay.tolerances import PLANTED_M2
from striplay.units import ACRE_M2, HECTARE_M2, UnitSystem


def own_land_m2(plan: Plan, accounts: Mapping[str, Any]) -> dict[str, float]:
    """Give the land of each crop's or mixture's own strips; one without any is left out."""
    land_m2 = accounts["areas_m2"]
    if not accounts.get("shares"):  # the first has it all; others grow between its rows or in it
        return {next(iter(accounts["crops"])): land_m2["strips"]}
    around_m2 = {plan.headland_crop: land_m2["headland"]}
    own_m2 = {
        name: share["area_m2"] - around_m2.get(name, 0.0)
        for name, share in accounts["shares"].items()
        if name in accounts["crops"]
    }
    return {name: area_m2 for name, area_m2 in own_m2.items() if area_m2 > PLANTED_M2}


@dataclass(frozen=True, slots=True)
class ToldAreas:
    """Where the field's ground goes as it is written: hundredths that add up to the field's.

    Attributes:
        land_m2: of strips, headland, obstacles and leftover, by these names.
        crops_m2: what strips have, by each crop or mixture that has strips of its own.
        after_m2: what is sown once more after a harvest, by crop; it adds to nothing.
    """

    land_m2: dict[str, float]
    crops_m2: dict[str, float]
    after_m2: dict[str, float]


def told_areas(
    plan: Plan, accounts: Mapping[str, Any], units: UnitSystem | None = None
) -> ToldAreas:
    """Give where the field's ground goes as it is written.

    Args:
        plan: the headland's crop.
        accounts: the layout's.
        units: those that are written; the plan's when left out.
    """
    areas_m2 = own_land_m2(plan, accounts)
    step_m2 = (ACRE_M2 if (units or plan.units) == "us" else HECTARE_M2) / 100
    land_m2 = accounts["areas_m2"]
    steps = adding_up(list(land_m2.values()), accounts["field"]["area_m2"], step_m2)
    told_m2 = {name: count * step_m2 for name, count in zip(land_m2, steps, strict=True)}
    # what strips have is parted among the crops in its turn
    steps = adding_up(list(areas_m2.values()), told_m2["strips"], step_m2)
    crops_m2 = {name: count * step_m2 for name, count in zip(areas_m2, steps, strict=True)}
    return ToldAreas(told_m2, crops_m2, _after_m2(accounts, crops_m2, step_m2))


def _after_m2(
    accounts: Mapping[str, Any], crops_m2: Mapping[str, float], step_m2: float
) -> dict[str, float]:
    """Give what each crop has that is sown after harvests, as the sum of what came before it."""
    found: dict[str, float] = {}
    for name, crop in accounts["crops"].items():
        if hosts := crop.get("after"):
            summed_m2 = sum(crops_m2.get(host, 0.0) for host in hosts)
            # a trial's check strips are followed too, and are of no crop that it names
            close = abs(crop["area_m2"] - summed_m2) < step_m2 * (len(hosts) + 1)
            found[name] = summed_m2 if close else crop["area_m2"]
    return found
