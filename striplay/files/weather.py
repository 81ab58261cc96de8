"""Read a year's weather, day by day."""

import csv
import math
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from striplay.errors import PlanError
from striplay.notices import Notice
from striplay.plan.season import WeatherSource
from striplay.season.degree_days import Weather, gaps_in
from striplay.tolerances import ROUNDING_C

F_AT_FREEZING, F_PER_C = 32.0, 1.8
COLDEST_C, HOTTEST_C = -90.0, 60.0
"""Air near the ground has hardly been colder or hotter than this anywhere (from memory)."""


def read_weather(folder: Path, source: WeatherSource) -> tuple[list[Weather], list[Notice]]:
    """Read days with their least and greatest temperature.

    Returns:
        The days, and notices of days missing.

    Raises:
        PlanError: no such file, no such column, or a value that can't be read; the message says
            where.
    """
    reader = csv.DictReader(_text(folder / source.file, source).splitlines(), restval="")
    # a space after a comma is no part of a column's name
    reader.fieldnames = [name.strip() for name in reader.fieldnames or []]
    _check_columns(list(reader.fieldnames), source)
    days: dict[date, Weather] = {}
    for row in reader:
        try:
            one = _day(row, source, days)
        except ValueError as error:
            raise PlanError(source.file, [f"line {reader.line_num}: {error}"]) from error
        days[one.day] = one
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
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        told = "is not there; the path is relative to the plan"
        raise PlanError("[weather] file", [f'"{source.file}" {told}']) from error
    except UnicodeDecodeError as error:
        told = "is no text in UTF-8; save it as CSV"
        raise PlanError("[weather] file", [f'"{source.file}" {told}']) from error
    except OSError as error:
        told = f"can't be read: {error.strerror}"
        raise PlanError("[weather] file", [f'"{source.file}" {told}']) from error


def _check_columns(found: list[str], source: WeatherSource) -> None:
    """Check that the columns asked for are there."""
    asked = {"day": source.day, "least": source.least, "greatest": source.greatest}
    missing = {key: name for key, name in asked.items() if name not in found}
    if not missing:
        return
    has = f"it has {', '.join(found)}" if found else "it is empty"
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
        raise ValueError(
            f'{source.day}: "{row[source.day]}" is no day such as 2026-05-01'
        ) from None
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
        raise ValueError(f'{column}: "{text}" is no temperature')
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
