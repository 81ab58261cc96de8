"""Compare crops grown together with the same crops grown alone, by the indices of the trade.

Yields are by area of the whole mixture or set of strips, not of a crop's own strips, and in any
unit that is the same for a crop's both yields; values are money by area. Formulas from memory;
purposes as their sources give them:

- land equivalent ratio: Mead & Willey, Experimental Agriculture 16:217-228, 1980;
- area time equivalent ratio: Hiebsch & McCollum, Agronomy Journal 79:15-22, 1987;
- competitive ratio: Willey & Rao, Experimental Agriculture 16:117-125, 1980;
- aggressivity: McGilchrist, Biometrics 21:975-985, 1965;
- net effect and its ratio: Li and others, Nature Plants 6:653-660, 2020;
- monetary advantage: Willey, Field Crop Abstracts 32:1-10, 1979;
- monetary equivalent ratio: Adetiloye & Adekunle, 1989.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from striplay.errors import YieldError
from striplay.tolerances import SHARE_STEP


@dataclass(frozen=True, slots=True)
class Grown:
    """A crop grown together with others, beside itself grown alone.

    Attributes:
        name: of the crop.
        together: its yield by area of the whole, above 0 or 0.
        alone: its yield grown alone, above 0.
        land_share: its share of the land, above 0 up to 1.
        price: of a unit of its yield; None where none is known.
        days: how long it holds its land; None where that is not known.

    Raises:
        YieldError: a value that can't be; the message says which.
    """

    name: str
    together: float
    alone: float
    land_share: float = 1.0
    price: float | None = None
    days: float | None = None

    def __post_init__(self) -> None:
        wanted = {
            "yield together": (self.together, 0.0 <= self.together < math.inf, "0 or more"),
            "yield alone": (self.alone, 0.0 < self.alone < math.inf, "more than 0"),
            "share of the land": (self.land_share, 0.0 < self.land_share <= 1.0, "0 to 1"),
        }
        for what, value in (("price", self.price), ("days", self.days)):
            if value is not None:
                wanted[what] = (value, 0.0 < value < math.inf, "more than 0")
        for what, (value, holds, would) in wanted.items():
            if not holds:
                raise YieldError(f"{self.name}: {what} is {value:g}; it must be {would}")

    @property
    def land_equivalent(self) -> float:
        """Its part of the land equivalent ratio: land alone that yields as much."""
        return self.together / self.alone


def land_equivalent_ratio(crops: Sequence[Grown]) -> float:
    """Give the land that the crops alone would take for the same yields, as a ratio.

    >>> maize, potato = Grown("maize", 4.1, 4.2), Grown("potato", 23.3, 24.7)
    >>> round(land_equivalent_ratio([maize, potato]), 2)
    1.92
    """
    return sum(crop.land_equivalent for crop in crops)


def area_time_equivalent_ratio(crops: Sequence[Grown], days: float) -> float:
    """Weigh each crop's land by the days it holds it.

    Args:
        crops: with their days.
        days: how long the land is held in all.

    Raises:
        YieldError: a crop without days, or one that holds its land longer than the whole.
    """
    total = 0.0
    for crop in crops:
        if crop.days is None:
            raise YieldError(f"{crop.name}: days is missing; state how long it holds its land")
        if crop.days > days:
            raise YieldError(f"{crop.name}: holds its land {crop.days:g} days of {days:g} in all")
        total += crop.land_equivalent * crop.days
    return total / days


def competitive_ratio(crop: Grown, other: Grown) -> float:
    """Say how many times as well a crop does for its land as another; infinite where that has none.

    >>> maize, bean = Grown("maize", 5.7, 5.88, 0.5), Grown("bean", 0.21, 0.62, 0.5)
    >>> round(competitive_ratio(maize, bean) * competitive_ratio(bean, maize), 12)
    1.0
    """
    per_land = other.land_equivalent / other.land_share
    mine = crop.land_equivalent / crop.land_share
    return mine / per_land if per_land else math.inf


def aggressivity(crop: Grown, other: Grown) -> float:
    """Say by how much a crop does better for its land than another; 0 where both do as well."""
    mine = crop.land_equivalent / crop.land_share
    return mine - other.land_equivalent / other.land_share


def net_effect(crops: Sequence[Grown]) -> float:
    """Give the yield over what the same shares of land would yield alone, all crops in one unit.

    Raises:
        YieldError: shares of land that do not add up to 1.
    """
    return sum(crop.together for crop in crops) - _expected(crops)


def net_effect_ratio(crops: Sequence[Grown]) -> float:
    """Give the yield as a ratio to what the same shares of land would yield alone.

    Raises:
        YieldError: shares of land that do not add up to 1.
    """
    return sum(crop.together for crop in crops) / _expected(crops)


def _expected(crops: Sequence[Grown]) -> float:
    shares = sum(crop.land_share for crop in crops)
    if abs(shares - 1.0) > SHARE_STEP:
        raise YieldError(f"shares of the land add up to {shares:g}; they must add up to 1")
    return sum(crop.land_share * crop.alone for crop in crops)


def value_together(crops: Sequence[Grown]) -> float:
    """Give the value of all crops together, by area.

    Raises:
        YieldError: a crop without a price.
    """
    return sum(crop.together * _price(crop) for crop in crops)


def best_alone(crops: Sequence[Grown]) -> Grown:
    """Give the crop that is worth most grown alone on the whole land.

    Raises:
        YieldError: a crop without a price.
    """
    return max(crops, key=lambda crop: crop.alone * _price(crop))


def monetary_advantage(crops: Sequence[Grown]) -> float:
    """Give the value gained for the land saved; it says nothing of the best crop alone.

    Raises:
        YieldError: a crop without a price, or nothing harvested.
    """
    ratio = land_equivalent_ratio(crops)
    if ratio == 0.0:
        raise YieldError("nothing is harvested; a yield together above 0 is needed")
    return value_together(crops) * (ratio - 1.0) / ratio


def monetary_equivalent_ratio(crops: Sequence[Grown]) -> float:
    """Give the value together as a ratio to that of the best crop grown alone on the whole land.

    Below 1 the best crop alone earns more, however much land is saved.

    Raises:
        YieldError: a crop without a price.
    """
    best = best_alone(crops)
    return value_together(crops) / (best.alone * _price(best))


def _price(crop: Grown) -> float:
    if crop.price is None:
        raise YieldError(f"{crop.name}: price is missing; state what a unit of its yield is worth")
    return crop.price
