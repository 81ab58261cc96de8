"""Read files that are files: no pipe, no device, no folder, and no larger than its kind may be."""

import stat
from pathlib import Path


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


def lies_outside(path: Path, folder: Path) -> bool:
    """Tell whether a path leads out of a folder, by itself or by links."""
    try:
        return not path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # links in a circle, or no name of a file
        return True
