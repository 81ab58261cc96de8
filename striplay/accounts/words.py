"""Say the accounts as a person would: seed by number or weight, what to buy, and the cost."""

import math
from collections.abc import Sequence
from typing import Any

from striplay.accounts.sowings import Seed
from striplay.geometry.directions import angle_deg
from striplay.plan.models import Plan
from striplay.tolerances import ALIKE_DEG, OFF_DEG
from striplay.units import (
    ACRE_M2,
    HEADING_DIGITS,
    HECTARE_M2,
    INCH_M,
    WEIGHT_DIGITS,
    Quantity,
    UnitSystem,
    degrees,
    format_weight,
    measured_in,
    said,
    to_digits,
    trim,
)

SAME_HEADING_DEG = 0.5 * 10**-HEADING_DIGITS
"""Headings nearer than that are written the same."""


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
    return f"{count:,} {'unit' if count == 1 else 'units'} of {unit_words(unit, plan.units)}"


def amount_words(plan: Plan, name: str, seed: Seed, *, whole: bool = False) -> str:
    """Say an amount of a crop's seed: units where they are stated, else by weight or by number.

    Args:
        plan: whose crop.
        name: the crop.
        seed: the amount, not rounded.
        whole: of a field, its measure written out; else u for units, k for a thousand seeds.
    """
    known = seed.data
    if known["seed_units"] is not None:
        count = known["seed_units"]
        if whole:
            return f"{trim(count, 1)} units"
        return f"{count:,.1f} u" if count >= TENTHS_FROM or not count else f"{count:.2f} u"
    if known["seed_kg"] is not None and (known["seeds"] is None or plan.crops[name].by_weight):
        return format_weight(known["seed_kg"], plan.units)
    if known["seeds"] is None:
        return "-"
    return f"{said(known['seeds'])} seeds" if whole else f"{said(known['seeds'] / 1e3)} k"


TENTHS_FROM = 0.995
"""Fewer units are written to hundredths."""


def unit_words(unit: Quantity, units: UnitSystem) -> str:
    """Say what one unit of seed holds.

    >>> unit_words(Quantity(80_000, "seeds"), "us"), unit_words(Quantity(25, "kg"), "metric")
    ('80,000 seeds', '25 kg')
    """
    if unit.si_unit == "seeds":
        return f"{unit.value:,.0f} seeds"
    weight, kg = measured_in("kg", units)
    return f"{trim(unit.value / kg, 1)} {weight}"


def cost_words(cost: dict[str, Any], heading_deg: float) -> str:
    """Say what a layout costs a year, beside the farm's usual; the cost as in the accounts."""
    shown = {name: money for name, money in cost["parts"].items() if round(money)}
    parts = ", ".join(f"{name} {money:,.0f}" for name, money in shown.items())
    usual, off = cost["usual"], cost["tenth_degree_off"]
    line = f"cost a year {cost['total']:,.0f}: {parts}"
    if usual is not None:
        less = usual["total"] - cost["total"]
        than = f"along the longest edge ({degrees(usual['heading_deg'])} degrees)"
        apart = angle_deg(usual["heading_deg"], heading_deg)
        same = apart < SAME_HEADING_DEG
        if same:
            than = "at the best offset" if less < 0 else "with the set that fits best"
        if not same and apart <= ALIKE_DEG and less >= 0:
            line += "; along the longest edge"
        elif round(less):
            line += f"; {abs(less):,.0f} {'less' if less >= 0 else 'more'} than {than}"
        elif not same:
            line += f"; as much as {than}"
    return line if off is None else f"{line}; {off_words(off)}"


def off_words(more: float) -> str:
    """Say what a heading a little off costs."""
    return f"{OFF_DEG:g} degrees off costs {'up to ' if more >= 1 else ''}{max(more, 0):,.0f} more"


def rate_words(per_m2: float, si_unit: str, units: UnitSystem) -> str:
    """Write what ground takes or yields by area, as a person reads it.

    Args:
        per_m2: how much to the square meter.
        si_unit: of what: seeds, kg, m3 or bu.
        units: the plan's.

    >>> rate_words(34_000 / ACRE_M2, "seeds", "us"), rate_words(0.012, "kg", "metric")
    ('34,000 seeds/acre', '120 kg/ha')
    >>> rate_words(15 * 0.003785411784 / ACRE_M2, "m3", "us"), rate_words(0.002, "m3", "metric")
    ('15 gal/acre', '20,000 L/ha')
    >>> rate_words(0.01125, "kg", "metric"), rate_words(0.00594237, "kg", "metric")
    ('112.5 kg/ha', '59.4 kg/ha')
    """
    area_m2, area = (ACRE_M2, "acre") if units == "us" else (HECTARE_M2, "ha")
    name, one = measured_in(si_unit, units)
    rate = per_m2 * area_m2 / one
    stated = to_digits(rate, WEIGHT_DIGITS)
    # a rate that comes out of others, or of other units, has no more digits than these
    near = stated if abs(stated - rate) <= STATED * rate else to_digits(rate)
    return f"{trim(near, 3)} {name}/{area}"


STATED = 1e-6
"""A rate so near to four digits is one that a person stated."""


def thousandth_of_row(row_m: float, units: UnitSystem) -> str:
    """Write how long a row is whose ground is 1/1000 of an acre, or of a hectare.

    >>> thousandth_of_row(30 * INCH_M, "us"), thousandth_of_row(15 * INCH_M, "us")
    ('17 ft 5 in', '34 ft 10 in')
    >>> thousandth_of_row(0.75, "metric")
    '13.33 m'
    """
    if units == "metric":
        return f"{trim(HECTARE_M2 / 1000 / row_m, 2)} m"
    feet, inches = divmod(round(ACRE_M2 / 1000 / row_m / INCH_M), 12)
    return f"{feet} ft {inches} in"


def adding_up(parts: Sequence[float], whole: float, step: float) -> list[int]:
    """Round parts to whole steps so that they add up to the whole as it is rounded.

    Those that lose the most by being cut are rounded up.

    >>> adding_up([0.333, 0.333, 0.333], 1.0, 0.01)
    [34, 33, 33]
    """
    cut = [math.floor(part / step + 1e-9) for part in parts]
    left = round(whole / step) - sum(cut)
    loss = sorted(range(len(parts)), key=lambda at: -(parts[at] / step - cut[at]))
    for at in loss[: max(left, 0)]:
        cut[at] += 1
    return cut
