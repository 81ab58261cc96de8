"""Say an amount of seed as a person would: by number or weight, in units, and what to buy."""

from typing import Any

from striplay.plan.models import Plan
from striplay.units import POUND_KG, format_weight, said, trim


def buy_words(plan: Plan, name: str, seed: dict[str, Any]) -> str:
    """Say in a word how much seed to buy: units, else by weight or number as far as known."""
    bags = seed["seed_units"]
    if bags is None:
        return seed_words(plan, name, seed, up=True)
    return f"{bags:,} unit" if bags == 1 else f"{bags:,} units"


def seed_words(plan: Plan, name: str, seed: dict[str, Any], *, up: bool = False) -> str:
    """Say an amount of a crop's seed by weight where it is sold so, else by number.

    Args:
        plan: whose crop.
        name: the crop.
        seed: the amounts, as in the accounts.
        up: round a weight up, to buy it.
    """
    seeds, kg = seed.get("seeds"), seed.get("seed_kg")
    if kg is not None and (seeds is None or plan.crops[name].by_weight):
        return format_weight(kg, plan.units, up=up)
    return "-" if seeds is None else f"{said(round(seeds))} seeds"


def units_words(plan: Plan, name: str, seed: dict[str, Any]) -> str:
    """Say whole units of a crop's seed and what one holds; nothing where not known."""
    count, unit = seed["seed_units"], plan.crops[name].unit
    if count is None or unit is None:
        return ""
    holds = f"{unit.value:,.0f} seeds"
    if unit.si_unit == "kg":
        kg, weight = (POUND_KG, "lb") if plan.units == "us" else (1.0, "kg")
        holds = f"{trim(unit.value / kg, 1)} {weight}"
    return f"{count:,} {'unit' if count == 1 else 'units'} of {holds}"
