"""Count growing-degree days by the 86/50 method, from days' least and greatest temperatures."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from striplay.tolerances import ROUNDING_C

BASE_C, TOP_C = 10.0, 30.0
"""50 and 86 degrees Fahrenheit: development stops below the one, and gains nothing above the other
(Univ. of Minnesota Extension, corn growing degree days, from memory)."""
F_PER_C = 1.8


@dataclass(frozen=True, slots=True)
class Weather:
    """A day's weather.

    Attributes:
        day: the day.
        least_c: its least temperature, Celsius.
        greatest_c: its greatest.
    """

    day: date
    least_c: float
    greatest_c: float


def degree_days_c(least_c: float, greatest_c: float) -> float:
    """Give a day's growing-degree days, Celsius: the mean of both, each kept in 10 to 30, less 10.

    >>> degree_days_c(10.0, 30.0)
    10.0
    """
    low = min(max(least_c, BASE_C), TOP_C)
    high = min(max(greatest_c, BASE_C), TOP_C)
    return (low + high) / 2 - BASE_C


def degree_days_f(least_f: float, greatest_f: float) -> float:
    """Give the same in Fahrenheit: (min(greatest, 86) + max(least, 50)) / 2 - 50.

    >>> round(degree_days_f(56, 82), 6), round(degree_days_f(48, 90), 6)
    (19.0, 18.0)
    """
    return F_PER_C * degree_days_c((least_f - 32) / F_PER_C, (greatest_f - 32) / F_PER_C)


@dataclass(frozen=True, slots=True)
class Sum:
    """Degree days added up from a day on.

    Attributes:
        total_c: what they came to, Celsius.
        until: the last day counted; None where the weather lacks even the first.
        reached: the day the target was reached, if it was.
    """

    total_c: float
    until: date | None
    reached: date | None


def add_up(weather: Iterable[Weather], begin: date, target_c: float) -> Sum:
    """Add up degree days from a day on, that day's included, to a target.

    Counting stops where the weather leaves a day out: what it would have added is not known.
    """
    by_day = {one.day: one for one in weather}
    total, until, day = 0.0, None, begin
    while day in by_day:
        one = by_day[day]
        total, until = total + degree_days_c(one.least_c, one.greatest_c), day
        if total >= target_c - ROUNDING_C:
            return Sum(total, until, until)
        day += timedelta(days=1)
    return Sum(total, until, None)


def gaps_in(weather: Sequence[Weather]) -> list[date]:
    """List days after which one or more are missing."""
    days = sorted(one.day for one in weather)
    return [day for day, after in pairwise(days) if (after - day).days > 1]
