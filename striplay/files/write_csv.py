"""Write tables without shapes as CSV (RFC 4180), safe to open with a spreadsheet."""

import re
from typing import TYPE_CHECKING, Any

from striplay.columns import order
from striplay.files.content import Content
from striplay.files.layers import places_of

if TYPE_CHECKING:
    from pandas import DataFrame, Series

_BEGINS = r"'*\s*[=+\-@\t\r＝＋－＠]"  # noqa: RUF001 - full width
FORMULA = re.compile(rf"(?:^|(?<=;))(?={_BEGINS})")
"""Where text begins that is a formula to a spreadsheet, which may take a semicolon for a comma; and
text like it behind apostrophes, so that the one that is put first can be taken off again."""
GUARDED = re.compile(rf"(?:^|(?<=;))'(?={_BEGINS})")
"""The apostrophe that stands before such text."""


def encode(content: Content) -> dict[str, bytes]:
    """Give the CSV files."""
    return {name: csv_of(table, name) for name, table in content.lists.items()}


def csv_of(table: "DataFrame", name: str) -> bytes:
    """Give a table as CSV, its columns in the order described."""
    ordered = table[[column.name for column in order(name, table.columns)]]
    shown = ordered.round(places_of(ordered)).apply(_as_text)
    shown = shown.astype(object).where(shown.notna(), None)
    rows = [",".join(map(_cell, row)) for row in shown.itertuples(index=False, name=None)]
    return "\n".join([",".join(shown.columns), *rows, ""]).encode()


def guarded(text: str) -> str:
    """Keep a text from being worked out by a spreadsheet: an apostrophe stands first.

    >>> guarded("=1+1"), unguarded("'=1+1"), guarded("corn")
    ("'=1+1", '=1+1', 'corn')
    """
    return FORMULA.sub("'", text)


def unguarded(text: str) -> str:
    """Take the apostrophes off again that `guarded` has put in."""
    return GUARDED.sub("", text)


def _cell(value: object) -> str:
    """Write a cell as RFC 4180 says: all text in quotes, whatever parts cells where it is read."""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return "" if value is None else str(value)


def _as_text(column: "Series[Any]") -> "Series[Any]":
    """Keep a column's words from being worked out by a spreadsheet: an apostrophe stands first."""
    if column.dtype.kind != "O":
        return column
    return column.map(lambda cell: guarded(cell) if isinstance(cell, str) else cell)
