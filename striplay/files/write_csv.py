"""Write tables without shapes as CSV (RFC 4180), safe to open with a spreadsheet."""

import re
from typing import TYPE_CHECKING, Any

from striplay.columns import order
from striplay.files.content import Content
from striplay.files.layers import places_of

if TYPE_CHECKING:
    from pandas import DataFrame, Series

FORMULA = re.compile(r"(?:^|(?<=;))(?=\s*[=+\-@\t\r＝＋－＠])")  # noqa: RUF001 - full width
"""Where text begins that is a formula to a spreadsheet, which may take a semicolon for a comma."""


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


def _cell(value: object) -> str:
    """Write a cell as RFC 4180 says: all text in quotes, whatever parts cells where it is read."""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return "" if value is None else str(value)


def _as_text(column: "Series[Any]") -> "Series[Any]":
    """Keep a column's words from being worked out by a spreadsheet: an apostrophe stands first."""
    if column.dtype.kind != "O":
        return column
    return column.map(lambda cell: FORMULA.sub("'", cell) if isinstance(cell, str) else cell)
