"""Read the lines of a small table of measurements from a CSV file, as text."""

import csv
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from striplay.errors import YieldError
from striplay.files.regular import text_of
from striplay.limits import MAX_TRIAL_BYTES
from striplay.plain import plain

Read = TypeVar("Read")


def read_rows(
    path: Path,
    columns: Sequence[str],
    needed: Sequence[str],
    read: Callable[[dict[str, str], int], Read],
) -> list[Read]:
    """Read each line of a table.

    Args:
        path: the file.
        columns: those that it may have.
        needed: those that it must have.
        read: makes what a line says, of its texts by column and its number.

    Raises:
        YieldError: a file that can't be read, or a line that can't be; the message says which.
    """
    reader = csv.DictReader(_text(path).splitlines(), restval="")
    found = []
    try:
        reader.fieldnames = [name.strip() for name in reader.fieldnames or []]
        _check_columns(list(reader.fieldnames), columns, needed)
        for row in reader:
            _check_length(row)
            texts = {str(name): (text or "").strip() for name, text in row.items()}
            found.append(read(texts, reader.line_num))
    except (ValueError, YieldError, csv.Error) as error:
        raise YieldError(f"{path.name}: line {max(reader.line_num, 1)}: {error}") from error
    return found


def _text(path: Path) -> str:
    try:
        return text_of(path, MAX_TRIAL_BYTES)
    except ValueError as error:
        raise YieldError(f"{path}: {error}") from error


def _check_columns(found: list[str], columns: Sequence[str], needed: Sequence[str]) -> None:
    missing = [name for name in needed if name not in found]
    if missing:
        has = ", ".join(map(plain, found)) or "none"
        raise ValueError(f"has no column {', '.join(missing)}; it has {has[:200]}")
    unknown = [name for name in found if name not in columns]
    if unknown:
        raise ValueError(f'unknown column "{plain(unknown[0])}"; known are {", ".join(columns)}')


def _check_length(row: dict[str | None, str]) -> None:
    if None in row:
        raise ValueError(f"has more values than the {len(row) - 1} columns; see its commas")
