"""Say what the ledger of a run holds of a part of its fields, and check that it does.

A ledger may be damaged, or come from someone else: what is not as it is written here is refused.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import cache
from typing import Annotated, Any

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, create_model

from striplay.columns import FIELD_CROPS, FIELDS, columns_of
from striplay.many.field import Columns, Outcome, Verdict


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


HELD: Mapping[str, type] = {
    "text": str, "number": float, "whole number": int, "yes or no": bool,
}  # fmt: skip
"""What holds a value of each type of column."""


NEVER_EMPTY: Mapping[str, Any] = {"number": int, "field": str, "verdict": Verdict, "crop": str}


class _Held(BaseModel):
    """What JSON holds, of these very types."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


def _line_of(table: str) -> type[_Held]:
    """Make the model of a line of a table."""
    keys: dict[str, Any] = {one.name: (HELD[one.type] | None, ...) for one in columns_of(table)}
    keys |= {name: (held, ...) for name, held in NEVER_EMPTY.items() if name in keys}
    line: type[_Held] = create_model(table, __base__=_Held, **keys)
    return line


class _Picture(_Held):
    """A picture as JSON holds it."""

    width: int
    height: int
    outline: str
    crops: list[Annotated[list[str], Field(min_length=2, max_length=2)]]


@cache
def _model() -> type[BaseModel]:
    """Make the model of an entry."""
    keys: dict[str, Any] = {
        "verdicts": (dict[Verdict, int], ...),
        "fields": (list[_line_of(FIELDS)], ...),  # type: ignore[misc]  # made of the columns
        "crops": (list[_line_of(FIELD_CROPS)], ...),  # type: ignore[misc]  # likewise
        "pictures": (list[_Picture | None], ...),
    }
    made: type[BaseModel] = create_model("entry", __base__=_Held, **keys)
    return made


def check_entry(entry: Any, numbers: range) -> None:  # noqa: ANN401 - whatever a file holds
    """Check that an entry is one of some fields.

    Args:
        entry: what JSON gave.
        numbers: those that its fields may have.

    Raises:
        ValueError: it is none.
    """
    _model().model_validate(entry)
    told = {line["number"] for line in (*entry["fields"], *entry["crops"])}
    counted = Counter(line["verdict"] for line in entry["fields"])
    same = len(entry["pictures"]) == len(entry["fields"]) and counted == entry["verdicts"]
    if not same or not all(number in numbers for number in told):
        raise ValueError("an entry of other fields")
