"""Read and write what is weighed: grain, its weight by volume, and what it comes to by area."""

from dataclasses import replace
from types import MappingProxyType

from striplay.economics.worth import TONNE_KG
from striplay.units import (
    ACRE_M2,
    BUSHEL_M3,
    FOOT_M,
    HECTARE_M2,
    POUND_KG,
    TANK_LOAD,
    Kind,
    UnitSystem,
)

GRAIN_MASS = replace(
    TANK_LOAD,
    name="a weight of grain",
    factors=MappingProxyType({u: one for u, one in TANK_LOAD.factors.items() if one[1] == "kg"}),
    example="4210 lb",
    nought=True,
    shown=("lb", "kg", "t", "ton"),
)
TEST_WEIGHT = Kind(
    "a test weight",
    MappingProxyType(
        {
            unit: (factor, "kg_per_m3")
            for unit, factor in {
                "lb/bu": POUND_KG / BUSHEL_M3, "kg/hL": 10.0, "kg/hl": 10.0, "kg/m3": 1.0,
                "g/L": 1.0, "g/l": 1.0,
            }.items()
        }
    ),
    "56 lb/bu",
)  # fmt: skip

FRAME = Kind(
    "ground in a frame",
    MappingProxyType({"ft2": (FOOT_M**2, "m2"), "m2": (1.0, "m2")}),
    "1 ft2",
)


def yield_shown(
    kg_per_m2: float, bushel_kg: float | None, units: UnitSystem
) -> tuple[float, str, int]:
    """Give what a crop yields as it is said: the number, its unit, and how many decimals it has.

    >>> yield_shown(1.0, None, "metric")
    (10.0, 't/ha', 2)
    """
    if units == "metric":
        return kg_per_m2 * HECTARE_M2 / TONNE_KG, "t/ha", 2
    if bushel_kg is None:
        return kg_per_m2 * ACRE_M2 / POUND_KG, "lb/acre", 0
    return kg_per_m2 * ACRE_M2 / bushel_kg, "bu/acre", 1


def format_yield(kg_per_m2: float, bushel_kg: float | None, units: UnitSystem) -> str:
    """Write what a crop yields: bushels or pounds to the acre, or tonnes to the hectare.

    >>> format_yield(1.0, 56 * POUND_KG, "us"), format_yield(1.0, None, "us")
    ('159.3 bu/acre', '8,922 lb/acre')
    >>> format_yield(1.0, None, "metric")
    '10.00 t/ha'
    """
    number, unit, decimals = yield_shown(kg_per_m2, bushel_kg, units)
    return f"{number:,.{decimals}f} {unit}"
