"""Tell of yields and prices that are hardly meant: a slip of a unit or a digit is likely.

Prices are in any currency, so a price is held against the other crops' alone.
"""

from collections.abc import Iterator, Mapping

from striplay.economics.worth import Worth, shown_yield
from striplay.notices import Notice
from striplay.operations.amounts import bushel_kg, kind_of
from striplay.plan.models import Plan
from striplay.plausible.values import ANY_YIELD, VALUE_TIMES, YIELD_KG_PER_M2
from striplay.units import said


def doubtful(plan: Plan, worths: Mapping[str, Worth]) -> Iterator[Notice]:
    """Tell of every crop whose yield, or whose value beside the others', is far from usual."""
    for crop, worth in worths.items():
        yield from _yield(plan, crop, worth)
    values = {crop: worth.alone_per_m2 * worth.price for crop, worth in worths.items()}
    if len(values) > 1:
        most, least = max(values, key=values.__getitem__), min(values, key=values.__getitem__)
        times = values[most] / values[least]
        if times >= VALUE_TIMES:
            told = (
                f"{most} brings in {times:,.0f} times as much by area as {least}: are "
                f"crops.{most}.price, crops.{least}.price and both yields right?"
            )
            yield Notice("money", "mind", None, told)


def _yield(plan: Plan, crop: str, worth: Worth) -> Iterator[Notice]:
    """Tell of a yield alone that no field has, or that is hardly worth its harvest."""
    weight_kg = 1.0 if worth.unit == "kg" else bushel_kg(plan, crop)
    if weight_kg is None:
        return
    usual = YIELD_KG_PER_M2.get(kind_of(plan, crop), ANY_YIELD)
    if usual.holds(worth.alone_per_m2 * weight_kg):
        return
    value, low, high = (
        shown_yield(one, worth.unit, plan.units)
        for one in (worth.alone_per_m2, usual.low / weight_kg, usual.high / weight_kg)
    )
    told = (
        f"crops.{crop}.yield: {said(value[0])} {value[1]} is unusual: from {said(low[0])} to "
        f"{said(high[0])} is had ({usual.source}); is the unit right?"
    )
    yield Notice("money", "mind", None, told)
