"""Replace an output folder whole or not at all."""

import ctypes
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from striplay.errors import OutputError

MARK = ".striplay-layout"
"""The file that marks a folder as written here; it lists every file written."""

_AT_FDCWD, _RENAME_EXCHANGE = -100, 2


def check_folder(folder: Path) -> None:
    """Check that a folder may be written: missing, empty, or one written here and not added to.

    Raises:
        OutputError: it may not; the message says what would do.
    """
    if not folder.exists() and not folder.is_symlink():
        return
    if not folder.is_dir() or folder.is_symlink():
        raise OutputError(f"{folder}: is not a folder; give a new folder's name with -o")
    found = {entry.name for entry in folder.iterdir()}
    if not found:
        return
    if MARK not in found:
        raise OutputError(
            f"{folder}: is not empty and was not made by striplay lay; give a new folder's name "
            "with -o"
        )
    own = {MARK, *(folder / MARK).read_text(encoding="utf-8").splitlines()}
    if found - own:
        raise OutputError(
            f"{folder}: holds {', '.join(sorted(found - own))}, which striplay lay did not write; "
            "move it elsewhere, or give a new folder's name with -o"
        )


def replace_folder(folder: Path, write: Callable[[Path], None]) -> None:
    """Fill a folder, whole or not at all, even when the process is killed at any moment.

    The files are written into a hidden folder beside it, which then takes its place. What an
    earlier run that was killed left behind is cleared first.

    Args:
        folder: the folder to make or replace.
        write: writes all files into the folder it is given.

    Raises:
        OutputError: the folder may not or can't be written.
    """
    folder = folder.absolute()
    check_folder(folder)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        prefix = f".{folder.name}.partial-"
        for stale in folder.parent.glob(f"{prefix}*"):
            shutil.rmtree(stale, ignore_errors=True)
        fresh = Path(tempfile.mkdtemp(prefix=prefix, dir=folder.parent))
    except OSError as error:
        raise OutputError(f"{folder}: can't be written: {error.strerror or error}") from error
    try:
        write(fresh)
        names = sorted(entry.name for entry in fresh.iterdir())
        (fresh / MARK).write_text("\n".join(names) + "\n", encoding="utf-8")
        fresh.chmod(0o755)
        _take_place(fresh, folder)
    except OSError as error:
        raise OutputError(f"{folder}: can't be written: {error.strerror or error}") from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _take_place(fresh: Path, folder: Path) -> None:
    """Put `fresh` in the folder's place; the old one, if any, ends at `fresh`."""
    if not folder.exists():
        fresh.rename(folder)
    elif not _exchange(fresh, folder):
        old = fresh.with_name(f"{fresh.name}-old")
        folder.rename(old)
        fresh.rename(folder)
        shutil.rmtree(old, ignore_errors=True)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, where the system can; tell whether it did."""
    if not sys.platform.startswith("linux"):
        return False
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    paths = os.fsencode(one), os.fsencode(other)
    return bool(rename(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE) == 0)


def write_new(path: Path, text: str) -> None:
    """Write a text file that must not exist yet.

    Raises:
        OutputError: it exists, or can't be written.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise OutputError(f"{path}: exists already; give another name with -o") from error
    except OSError as error:
        raise OutputError(f"{path}: can't be written: {error.strerror or error}") from error
