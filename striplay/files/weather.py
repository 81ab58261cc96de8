"""Read a year's weather, day by day."""

import csv
from datetime import date
from pathlib import Path

from striplay.errors import PlanError
from striplay.plan.season import WeatherSource
from striplay.season.degree_days import Weather, gaps_in

F_AT_FREEZING, F_PER_C = 32.0, 1.8


def read_weather(folder: Path, source: WeatherSource) -> tuple[list[Weather], list[str]]:
    """Read days with their least and greatest temperature.

    Returns:
        The days, and notices of days missing.

    Raises:
        PlanError: no such file, no such column, or a value that can't be read; the message says
            where.
    """
    path = folder / source.file
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        told = "is not there" if isinstance(error, FileNotFoundError) else f"can't be read: {error}"
        raise PlanError(
            source.file, [f"{told}; [weather] file names it as seen from the plan"]
        ) from error
    reader = csv.DictReader(text.splitlines())
    columns = (source.day, source.least, source.greatest)
    missing = [name for name in columns if name not in (reader.fieldnames or [])]
    if missing:
        listed = ", ".join(reader.fieldnames or [])
        raise PlanError(source.file, [f"has no column {', '.join(missing)}; it has {listed}"])
    days = []
    for number, row in enumerate(reader, start=2):
        try:
            least, greatest = float(row[source.least]), float(row[source.greatest])
            day = date.fromisoformat(row[source.day].strip())
        except (ValueError, TypeError, AttributeError) as error:
            raise PlanError(source.file, [f"line {number}: {error}"]) from error
        if least > greatest:
            raise PlanError(source.file, [f"line {number}: least is above greatest"])
        days.append(Weather(day, _celsius(least, source), _celsius(greatest, source)))
    after = [f"{source.file}: days are missing after {day.isoformat()}" for day in gaps_in(days)]
    return days, after[:1]


def _celsius(value: float, source: WeatherSource) -> float:
    return value if source.units == "C" else (value - F_AT_FREEZING) / F_PER_C
