"""Hold where and how crops would stand beside each other."""

from dataclasses import dataclass
from datetime import date

from striplay.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Setting:
    """Where and how two crops would stand beside each other.

    Attributes:
        latitude_deg: north above 0.
        heading_deg: direction of the rows; None where they run several ways.
        day: the day shade is judged for; None for all days both stand, or for one in high summer
            where those are not known.
        units: how lengths and weights are written.
    """

    latitude_deg: float
    heading_deg: float | None
    day: date | None
    units: UnitSystem
