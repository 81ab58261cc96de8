"""Read files that are files: no pipe, no device, no folder, and no larger than its kind may be."""

import os
import stat
from pathlib import Path

import numpy as np

from striplay.errors import BoundaryError, StriplayError
from striplay.limits import MAX_COLUMNS, MAX_FEATURES, MAX_TEXT_VERTICES, MAX_VALUES

NOT_THERE = "is not there; are name and folder right?"
"""What is said of a file that is named on the command line; it goes behind the name."""


def check_there(path: Path, refusal: type[StriplayError] = BoundaryError) -> None:
    """Check that a file named on the command line is there; `refusal` is raised where it is not."""
    if not os.path.exists(path):  # noqa: PTH110 - a name too long is none there either
        raise refusal(f"{path.name}: {NOT_THERE}")


def whole(path: Path, most_bytes: int) -> bytes:
    """Read a file whole.

    Raises:
        FileNotFoundError: there is none.
        ValueError: it can't be read; the message says why, and goes behind the file's name.
    """
    check_regular(path, most_bytes)
    try:
        return path.read_bytes()
    except OSError as error:
        raise ValueError(f"can't be read: {error.strerror or error}") from error


def text_of(path: Path, most_bytes: int) -> str:
    """Read a file of text in UTF-8 whole.

    Raises:
        ValueError: it can't be read; the message says why, and goes behind the file's name.
    """
    try:
        return whole(path, most_bytes).decode("utf-8-sig")
    except FileNotFoundError:
        raise ValueError(NOT_THERE) from None
    except OSError as error:
        raise ValueError(f"can't be read: {error.strerror or error}") from error
    except UnicodeDecodeError as error:
        raise ValueError("is no text in UTF-8; save it as CSV in UTF-8") from error


def check_regular(path: Path, most_bytes: int) -> None:
    """Check that a path leads to a file of no more than so many bytes; errors as in `whole`."""
    try:
        found = path.stat()
    except FileNotFoundError:
        raise
    except OSError as error:
        raise ValueError(f"can't be read: {error.strerror or error}") from error
    except ValueError as error:  # a name that holds no-characters
        raise ValueError("can't be read: that is no name of a file") from error
    if stat.S_ISDIR(found.st_mode):
        raise ValueError("is a folder; name a file in it")
    if not stat.S_ISREG(found.st_mode):
        raise ValueError("is a pipe or a device, not a file")
    if found.st_size > most_bytes:
        raise ValueError(too_large(found.st_size, most_bytes))


def too_large(size: int, most_bytes: int) -> str:
    """Say that a file is too large.

    >>> too_large(3_000_000, 1_000_000)
    'has 3.0 MB; at most 1 MB are read'
    """
    return f"has {size / 1e6:,.1f} MB; at most {most_bytes / 1e6:,.0f} MB are read"


def check_table(name: str, rows: int, columns: int) -> None:
    """Check that a layer has no more features and columns than are read; errors as in `whole`."""
    if rows > MAX_FEATURES:
        told = f"{name} has more than {MAX_FEATURES:,} features"
        raise ValueError(f"{told}; keep one farm's in a file")
    if columns > MAX_COLUMNS or rows * columns > MAX_VALUES:
        raise ValueError(
            f"{name} has {columns:,} columns of {rows:,} features; at most {MAX_COLUMNS} columns "
            f"and {MAX_VALUES:,} values are read, so leave out those of no use"
        )


def check_text(content: bytes) -> None:
    """Check, before a boundary in text is taken apart, that it has not too many numbers and lists.

    Each takes some hundred times its length in memory; errors as in `whole`.
    """
    parts = max(content.count(b"[") + content.count(b"{"), _numbers(content) // 2)
    if parts > MAX_TEXT_VERTICES:
        raise ValueError(
            f"holds about {parts / 1e6:,.1f} million points; at most "
            f"{MAX_TEXT_VERTICES / 1e6:g} million are read, so choose one field, or simplify its "
            "lines to a foot"
        )


def _numbers(content: bytes) -> int:
    """Count the numbers in text: digits with anything but digits and points behind."""
    text = np.frombuffer(content, dtype=np.uint8)
    digit = (text >= ord("0")) & (text <= ord("9"))
    inside = digit | (text == ord("."))
    return int(np.count_nonzero(digit[:-1] & ~inside[1:]))


def lies_outside(path: Path, folder: Path) -> bool:
    """Tell whether a path leads out of a folder, by itself or by links."""
    try:
        return not path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # links in a circle, or no name of a file
        return True
