"""Read the table of crops that comes with striplay."""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from striplay.season.facts import SOURCES, CropFacts
from striplay.units import POUND_KG

KG_PER_TONNE = 1000.0
_TOLD_BY = {
    "family": "family_source",
    "height_m": "growth_source",
    "root_m": "growth_source",
    "season_days": "growth_source",
    "elsewhere_days": "elsewhere_source",
    "today_m": "today_source",
    "shade": "shade_source",
    "nitrogen_kg_per_t": "nitrogen_source",
    "bushel_kg": "bushel_source",
}
"""The column that says where each value comes from."""


@cache
def crop_table() -> dict[str, CropFacts]:
    """Read the crops' facts, by name and by other names."""
    text = files("striplay.season").joinpath("crops.csv").read_text(encoding="utf-8")
    table: dict[str, CropFacts] = {}
    for row in csv.DictReader(text.splitlines()):
        facts = _facts(row)
        for name in (row["crop"], row["also"]):
            if name:
                table[name] = facts
    return table


def _facts(row: Mapping[str, str]) -> CropFacts:
    taken = _pair(row["nitrogen_least_lb_per_bu"], row["nitrogen_most_lb_per_bu"])
    bushel_lb = _number(row["bushel_lb"])
    # pounds of nitrogen to pounds of grain, so the pound cancels
    each = KG_PER_TONNE / bushel_lb if bushel_lb else 0.0
    return CropFacts(
        name=row["crop"],
        kind=row["crop"],
        family=row["family"] or None,
        height_m=_number(row["height_m"]),
        root_m=_pair(row["root_least_m"], row["root_most_m"]),
        season_days=_days(row["season_least_days"], row["season_most_days"]),
        elsewhere_days=_days(row["elsewhere_least_days"], row["elsewhere_most_days"]),
        autumn_sown=row["season_sown"] == "autumn",
        today_m=_pair(row["today_least_m"], row["today_most_m"]),
        shade=row["shade"] or None,
        nitrogen_kg_per_t=None if taken is None else (taken[0] * each, taken[1] * each),
        bushel_kg=None if bushel_lb is None else bushel_lb * POUND_KG,
        sources={key: SOURCES[row[column]] for key, column in _TOLD_BY.items() if row[column]},
    )


def _number(text: str) -> float | None:
    return float(text) if text else None


def _pair(least: str, most: str) -> tuple[float, float] | None:
    return (float(least), float(most)) if least and most else None


def _days(least: str, most: str) -> tuple[int, int] | None:
    return (int(least), int(most)) if least and most else None
