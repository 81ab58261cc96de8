"""Say when something happens: on a day, or when degree days have added up."""

import re
from dataclasses import dataclass
from datetime import date, datetime

from pydantic import BeforeValidator

from striplay.limits import MAX_DEGREE_DAYS, YEARS

_STAGE = re.compile(r"\s*(\d+(?:\.\d+)?)\s+degree days(?:\s+after\s+(\S+))?\s*")


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage reached when growing-degree days (86/50, Fahrenheit) have added up.

    Attributes:
        degree_days_f: how many.
        after: the crop from whose sowing they count; None for the crop's own.
    """

    degree_days_f: float
    after: str | None


def read_when(value: object) -> object:
    """Read a day, or text such as "2700 degree days" or "150 degree days after corn".

    Raises:
        ValueError: neither; the message says what would do.

    >>> read_when("150 degree days after corn")
    Stage(degree_days_f=150.0, after='corn')
    """
    if isinstance(value, Stage):
        return value
    if isinstance(value, date) and not isinstance(value, datetime):
        return check_year(value)
    text = value if isinstance(value, str) else ""
    match = _STAGE.fullmatch(text)
    if match is not None:
        if float(match[1]) > MAX_DEGREE_DAYS:
            raise ValueError(f"must be {MAX_DEGREE_DAYS:g} degree days or less")
        return Stage(float(match[1]), match[2])
    try:
        read = date.fromisoformat(text)
    except ValueError:
        raise ValueError(
            'must be a date, as year-month-day, or such as "150 degree days after corn"'
        ) from None
    return check_year(read)


def check_year(day: date) -> date:
    """Check that a day lies in the years of a farm.

    Raises:
        ValueError: it does not.
    """
    if day.year not in YEARS:
        raise ValueError(f"must be in the years {YEARS[0]} to {YEARS[-1]}")
    return day


When = BeforeValidator(read_when)
"""A day or a stage."""
