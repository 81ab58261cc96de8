"""Tell rates as the standard's data dictionary holds them: whole steps of an entry.

The numbers of entries (DDI) and their steps are those of the ISO 11783-11 data dictionary: set
point count per area 0x000B in thousandths to the square meter, mass per area 0x0006 in milligrams,
volume per area 0x0001 in hundredths of a cubic millimeter.
"""

from dataclasses import dataclass
from decimal import Decimal

from striplay.units import ACRE_M2, GALLON_M3, HECTARE_M2, POUND_KG, Quantity, UnitSystem

LARGEST = 2**31 - 1
"""The largest value: 32 bits with a sign."""
OFF_SHARE = 0.02
"""A rate that its step would change by more is not told (our choice): a dose of a few grams to the
hectare would be, and no one would see it."""
SCALE_DECIMALS = 12


@dataclass(frozen=True, slots=True)
class Shown:
    """A unit that a terminal shows rates in.

    Attributes:
        name: of the unit.
        one_per_m2: what one of it is in SI, to the square meter.
        decimals: places shown.
    """

    name: str
    one_per_m2: float
    decimals: int


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of the data dictionary for rates.

    Attributes:
        ddi: its number.
        steps: how many of its steps one SI unit to the square meter is.
        shown: the unit to show it in, by the plan's units.
    """

    ddi: int
    steps: float
    shown: dict[UnitSystem, Shown]

    def value(self, rate: Quantity) -> int | None:
        """Give a rate in steps; None where it is too large, or too small for them."""
        exact = rate.value * self.steps
        value = round(exact)
        if value > LARGEST or abs(value - exact) > OFF_SHARE * exact:
            return None
        return value

    def scale(self, units: UnitSystem) -> Decimal:
        """Give what a step is in the unit shown."""
        one = 1.0 / (self.steps * self.shown[units].one_per_m2)
        return Decimal(f"{one:.{SCALE_DECIMALS}f}").normalize()


ENTRIES: dict[str, Entry] = {
    "seeds_per_m2": Entry(
        0x000B,
        1e3,
        {
            "us": Shown("seeds/acre", 1 / ACRE_M2, 0),
            "metric": Shown("seeds/ha", 1 / HECTARE_M2, 0),
        },
    ),
    "kg_per_m2": Entry(
        0x0006,
        1e6,
        {
            "us": Shown("lb/acre", POUND_KG / ACRE_M2, 2),
            "metric": Shown("kg/ha", 1 / HECTARE_M2, 2),
        },
    ),
    "m3_per_m2": Entry(
        0x0001,
        1e11,
        {
            "us": Shown("gal/acre", GALLON_M3 / ACRE_M2, 2),
            "metric": Shown("L/ha", 1e-3 / HECTARE_M2, 1),
        },
    ),
}
"""By the SI unit of a rate."""
