"""Say what the ledger of a run holds of a part of its fields, and check that it does.

A ledger may be damaged, or come from someone else: what is not as it is written here is refused.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, TypeAlias

import numpy as np

from striplay.columns import FIELD_CROPS, FIELDS, columns_of
from striplay.many.field import VERDICTS, Columns, Outcome


def entry_of(outcomes: Sequence[Outcome], tables: Mapping[str, Columns]) -> dict[str, Any]:
    """Give what the ledger holds of a part: summaries and pictures."""
    return {
        "verdicts": Counter(one.verdict for one in outcomes),
        "fields": _lines(FIELDS, tables[FIELDS]),
        "crops": _lines(FIELD_CROPS, tables[FIELD_CROPS]),
        "pictures": [None if one.picture is None else asdict(one.picture) for one in outcomes],
    }


def _lines(table: str, columns: Columns) -> list[dict[str, Any]]:
    """Turn the columns of a table into lines, shapes left out."""
    none = [None] * len(columns["number"])
    named = {one.name: columns.get(one.name, none) for one in columns_of(table)}
    return [
        {name: _plain(value) for name, value in zip(named, line, strict=True)}
        for line in zip(*named.values(), strict=True)
    ]


def _plain(value: Any) -> Any:  # noqa: ANN401 - a cell
    """Give a value as JSON can hold it."""
    value = value.item() if isinstance(value, np.generic) else value
    return None if isinstance(value, float) and not np.isfinite(value) else value


Like: TypeAlias = Any
"""What a value may be: a type, a text or None itself; one of a tuple's; a list of its one item's;
or a mapping of these very keys."""
HELD: Mapping[str, Like] = {
    "text": (str, None), "number": (float, None), "whole number": (int, None),
    "yes or no": (bool, None),
}  # fmt: skip
"""How JSON holds a value of each type of column."""
NEVER_EMPTY: Mapping[str, Like] = {"number": int, "field": str, "verdict": VERDICTS, "crop": str}
PICTURE: Like = {"width": int, "height": int, "outline": str, "crops": [[str]]}


def check_entry(entry: Any, numbers: range) -> None:  # noqa: ANN401 - whatever a file holds
    """Check that an entry is one of some fields.

    Args:
        entry: what JSON gave.
        numbers: those that its fields may have.

    Raises:
        ValueError: it is none.
    """
    lines, counts = {key: [_line_of(table)] for key, table in TABLES.items()}, {}
    if isinstance(entry, dict) and isinstance(entry.get("verdicts"), dict):
        counts = {verdict: int for verdict in VERDICTS if verdict in entry["verdicts"]}
    if not _is(entry, {"verdicts": counts, **lines, "pictures": [(PICTURE, None)]}):
        raise ValueError("no entry")
    told = {line["number"] for key in TABLES for line in entry[key]}
    counted = Counter(line["verdict"] for line in entry["fields"])
    pairs = all(len(one) == 2 for of in entry["pictures"] if of for one in of["crops"])  # noqa: PLR2004 - name and path
    once = {line["number"] for line in entry["fields"]}
    same = len(entry["pictures"]) == len(once) == counted.total() and counted == entry["verdicts"]
    if not (same and pairs and all(number in numbers for number in told)):
        raise ValueError("an entry of other fields")


LARGEST = 2**63
"""No number of a table is so large; what is none, or infinite, is not below it."""
TABLES = {"fields": FIELDS, "crops": FIELD_CROPS}
"""The tables of an entry, and whose lines they are."""


def _line_of(table: str) -> Like:
    """Say what a line of a table may be."""
    return {one.name: NEVER_EMPTY.get(one.name, HELD[one.type]) for one in columns_of(table)}


def _is(value: Any, like: Like) -> bool:  # noqa: ANN401 - as above
    """Tell whether a value is as said."""
    if isinstance(like, tuple):
        return any(_is(value, one) for one in like)
    if isinstance(like, list):
        return isinstance(value, list) and all(_is(one, like[0]) for one in value)
    if isinstance(like, dict):
        same = isinstance(value, dict) and value.keys() == like.keys()
        return same and all(_is(value[key], one) for key, one in like.items())
    if like in {int, float}:
        return type(value) in {int, like} and abs(value) < LARGEST
    return type(value) is like if isinstance(like, type) else bool(value == like)
