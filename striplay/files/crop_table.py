"""Read the table of crops that comes with striplay."""

import csv
from functools import cache
from importlib.resources import files

from striplay.season.facts import CropFacts


@cache
def crop_table() -> dict[str, CropFacts]:
    """Read the crops' facts, by name and by other names."""
    text = files("striplay.season").joinpath("crops.csv").read_text(encoding="utf-8")
    table: dict[str, CropFacts] = {}
    for row in csv.DictReader(text.splitlines()):
        facts = CropFacts(
            name=row["crop"],
            family=row["family"] or None,
            height_m=_number(row["height_m"]),
            root_m=_pair(row["root_least_m"], row["root_most_m"]),
            season_days=_days(row["season_least_days"], row["season_most_days"]),
            shade=row["shade"] or None,
            nitrogen_kg_per_t=_number(row["nitrogen_kg_per_t"]),
        )
        for name in (row["crop"], row["also"]):
            if name:
                table[name] = facts
    return table


def _number(text: str) -> float | None:
    return float(text) if text else None


def _pair(least: str, most: str) -> tuple[float, float] | None:
    return (float(least), float(most)) if least and most else None


def _days(least: str, most: str) -> tuple[int, int] | None:
    return (int(least), int(most)) if least and most else None
