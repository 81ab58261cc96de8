"""Read prices: money by a unit of what is sold, bought, dried or burnt."""

from types import MappingProxyType

from striplay.units import TANK_LOAD, Kind

_UNITS = TANK_LOAD.factors
"""Every unit of a load: gallons, pounds, bushels, seeds and the like, as factors to SI."""


def _by(*si_units: str, then: str = "") -> dict[str, tuple[float, str]]:
    """Give money by each unit of some kinds of load, and by what follows."""
    return {
        f"per {unit}{then}": (1 / factor, f"per_{si}")
        for unit, (factor, si) in _UNITS.items()
        if si in si_units
    }


def _price(
    name: str,
    example: str,
    factors: dict[str, tuple[float, str]],
    shown: tuple[str, ...],
    *,
    nought: bool = True,
) -> Kind:
    return Kind(name, MappingProxyType(factors), example, nought=nought, shown=shown)


GRAIN_PRICE = _price(
    "a price", "4.50 per bu", _by("bu", "kg"),
    ("per bu", "per t", "per cwt", "per lb", "per kg"), nought=False,
)  # fmt: skip
DRYING_PRICE = _price(
    "a price of drying", "0.05 per bu per point", _by("bu", "kg", then=" per point"),
    ("per bu per point", "per t per point", "per cwt per point"),
)  # fmt: skip
BAGS = {
    **{f"per {bag}": (1.0, "per_unit") for bag in ("unit", "bag")},
    **{f"per {count} seeds": (1 / count, "per_seed") for count in (1000, 80_000, 140_000)},
}
"""Money by the unit of seed, and by numbers of seeds that are sold."""
SEED_PRICE = _price(
    "a price of seed", "280 per unit", {**BAGS, **_by("kg")},
    ("per unit", "per 1000 seeds", "per lb", "per kg", "per t"),
)  # fmt: skip
PRODUCT_PRICE = _price(
    "a price of a product", "12 per gal", _by("m3", "kg"),
    ("per gal", "per L", "per lb", "per ton", "per t"),
)  # fmt: skip
FUEL_PRICE = _price(
    "a price of fuel", "3.80 per gal", _by("m3"), ("per gal", "per L"), nought=False
)
