"""Read a year's weather, day by day."""

import csv
import math
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TypeAlias

from striplay.errors import PlanError
from striplay.files.regular import whole
from striplay.limits import MAX_WEATHER_BYTES, YEARS
from striplay.notices import Notice
from striplay.plan.season import WeatherSource
from striplay.season.degree_days import Weather, gaps_in
from striplay.tolerances import ROUNDING_C

F_AT_FREEZING, F_PER_C = 32.0, 1.8
COLDEST_C, HOTTEST_C = -90.0, 60.0
"""Air near the ground has hardly been colder or hotter than this anywhere (from memory)."""


ReadWeather: TypeAlias = tuple[Sequence[Weather], Sequence[Notice]]
"""The days of a file, and what is to be told of it."""


def read_weather(folder: Path, source: WeatherSource) -> ReadWeather:
    """Read days with their least and greatest temperature.

    Returns:
        The days, and notices of days missing.

    Raises:
        PlanError: no such file, no such column, or a value that can't be read; the message says
            where.
    """
    reader = csv.DictReader(_text(folder / source.file, source).splitlines(), restval="")
    days: dict[date, Weather] = {}
    try:
        # a space after a comma is no part of a column's name
        reader.fieldnames = [name.strip() for name in reader.fieldnames or []]
        _check_columns(list(reader.fieldnames), source)
        for row in reader:
            one = _day(row, source, days)
            days[one.day] = one
    except (ValueError, csv.Error) as error:
        said = str(error) if isinstance(error, ValueError) else "what follows is no line of a CSV"
        raise PlanError(source.file, [f"line {reader.line_num}: {said}"]) from error
    if not days:
        raise PlanError(source.file, ["holds no days"])
    listed = list(days.values())
    after = [f"{source.file}: days are missing after {day.isoformat()}" for day in gaps_in(listed)]
    told = [*after[:1], *_celsius_taken_for_fahrenheit(listed, source)]
    return listed, [Notice("weather", "mind", None, text) for text in told]


DAYS_TO_TELL, COOL_F = 30, 50.0
"""So many days that never get warmer than 50 Fahrenheit are more likely Celsius (our choice)."""


def _celsius_taken_for_fahrenheit(days: list[Weather], source: WeatherSource) -> list[str]:
    """Ask whether Fahrenheit that never gets warm is Celsius; the plan's "F" may be unstated."""
    greatest = max(one.greatest_c for one in days) * F_PER_C + F_AT_FREEZING
    if source.units != "F" or len(days) < DAYS_TO_TELL or greatest > COOL_F + ROUNDING_C:
        return []
    asked = f"greatest of {len(days)} days is {round(greatest, 1):g}: is it Celsius?"
    return [f'{source.file}: {asked} say units = "C" under [weather]']


def _text(path: Path, source: WeatherSource) -> str:
    """Read the file; a refusal names the plan's key."""
    try:
        return whole(path, MAX_WEATHER_BYTES).decode("utf-8-sig")
    except FileNotFoundError:
        told = "is not there; the path is relative to the plan"
    except UnicodeDecodeError:
        told = "is no text in UTF-8; save it as CSV"
    except ValueError as error:
        told = str(error)
    raise PlanError("[weather] file", [f'"{source.file}" {told}'])


def _check_columns(found: list[str], source: WeatherSource) -> None:
    """Check that the columns asked for are there."""
    asked = {"day": source.day, "least": source.least, "greatest": source.greatest}
    missing = {key: name for key, name in asked.items() if name not in found}
    if not missing:
        return
    # what a file holds is not shown: the plan may name one that is no weather at all
    has = f"it has {len(found)} columns" if found else "it is empty"
    said = f"has no column {', '.join(missing.values())}; {has}; name its columns under [weather]"
    if len(found) == 1 and ";" in found[0]:
        said = "parts its columns by semicolons; save it with commas, and points in numbers"
    raise PlanError(source.file, [said])


def _day(row: Mapping[str, str], source: WeatherSource, before: Mapping[date, Weather]) -> Weather:
    """Read a line.

    Raises:
        ValueError: a value that can't be, or a day that came before with others; the message
            begins with the column.
    """
    try:
        day = date.fromisoformat(row[source.day].strip())
    except ValueError:
        raise ValueError(f"{source.day} is no day such as 2026-05-01") from None
    if day.year not in YEARS:
        raise ValueError(f"{source.day}: lies outside the years {YEARS[0]} to {YEARS[-1]}")
    least_c, greatest_c = (_celsius(row, name, source) for name in (source.least, source.greatest))
    if least_c > greatest_c:
        raise ValueError(
            f"{source.least}: {row[source.least].strip()} is above {source.greatest}, "
            f"{row[source.greatest].strip()}"
        )
    one = Weather(day, least_c, greatest_c)
    if before.get(day, one) != one:
        raise ValueError(f"{source.day}: {day.isoformat()} came before, with other temperatures")
    return one


def _celsius(row: Mapping[str, str], column: str, source: WeatherSource) -> float:
    text = row[column].strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"{column} is no temperature")
    value_c = value if source.units == "C" else (value - F_AT_FREEZING) / F_PER_C
    if not COLDEST_C <= value_c <= HOTTEST_C:
        low, high = (
            (COLDEST_C, HOTTEST_C)
            if source.units == "C"
            else (COLDEST_C * F_PER_C + F_AT_FREEZING, HOTTEST_C * F_PER_C + F_AT_FREEZING)
        )
        raise ValueError(
            f"{column}: {text} {source.units} is not between {low:g} and {high:g}; [weather] units "
            f'says "{source.units}"'
        )
    return value_c
