"""Replace an output folder or file whole or not at all.

What is new is written beside it under a hidden name, is on the disk, and then takes its place.
Whatever ends a run, and whenever, the old or the new one is there, whole; what the run leaves
beside it is cleared, or put back, by the next.
"""

import ctypes
import errno
import os
import re
import secrets
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from striplay.errors import OutputError, WriteError
from striplay.files.lock import Busy, alone
from striplay.files.writers import names_written
from striplay.plain import plain

MARK = ".striplay-layout"
"""The file that marks a folder as written here; it lists every file written."""
OF_SYSTEM = {".ds_store", "thumbs.db", "desktop.ini"}
"""Files that a desktop puts into folders it shows, in small letters: no one's work."""

_FRESH, _ASIDE = "partial", "old"
"""What is written, and what it takes the place of, under hidden names beside it."""
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2


def check_folder(folder: Path) -> None:
    """Check that a folder may be written: missing, empty, or one written here and not added to.

    Raises:
        OutputError: it may not; the message says what would do.
    """
    check_name(folder)
    with writing(folder):
        there = folder.is_symlink() or folder.exists()
    if not there:
        if folder.parent.is_dir() and _left(folder, _ASIDE):
            with alone_at(folder):
                pass  # an old one that a killed run had moved aside is back
        return
    if not folder.is_dir() or folder.is_symlink():
        raise OutputError(f"{folder}: is not a folder; give a new folder's name with -o")
    _check_own(folder, folder)


def _check_own(there: Path, folder: Path) -> None:
    """Check that what lies `there` was written here; messages name the folder it belongs to."""
    with writing(folder):
        found = {one.name for one in there.iterdir() if not _is_of_system(one)}
    if not found:
        return
    if MARK not in found:
        raise OutputError(
            f"{folder}: is not empty and was not made by striplay lay; give a new folder's name "
            "with -o"
        )
    with writing(folder):
        mark = (there / MARK).read_bytes() if (there / MARK).is_file() else b""
    # the mark may have come with a folder from someone else: it takes names away, and adds none
    own = {MARK, *(names_written() & {*mark.decode("utf-8", errors="replace").splitlines()})}
    foreign = sorted(name for name in found if name not in own or (there / name).is_dir())
    if foreign:
        raise OutputError(
            f"{folder}: holds {', '.join(foreign)}, which striplay lay did not write; "
            "move it elsewhere, or give a new folder's name with -o"
        )


def _is_of_system(path: Path) -> bool:
    """Tell a file that a desktop put there; a folder of such a name is someone's work."""
    return path.name.lower() in OF_SYSTEM and path.is_file() and not path.is_symlink()


def replace_folder(folder: Path, write: Callable[[Path], None]) -> None:
    """Fill a folder, whole or not at all, even when the process is killed at any moment.

    Args:
        folder: the folder to make or replace.
        write: writes all files into the folder it is given.

    Raises:
        OutputError: the folder may not be written, or another run is writing it.
        WriteError: it can't be written.
    """
    check_folder(folder)
    folder = folder.absolute()
    with writing(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
    with alone_at(folder):
        check_folder(folder)
        fresh = _beside(folder, _FRESH)
        try:
            with writing(folder):
                fresh.mkdir()
                write(fresh)
                names = sorted(entry.name for entry in fresh.iterdir())
                _write_text(fresh / MARK, "\n".join(names) + "\n")
                settle(fresh)
                _take_place(fresh, folder)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)


def make_folder(folder: Path, write: Callable[[Path], None]) -> None:
    """Fill a new or empty folder, whole or not at all; no later run replaces it.

    Args:
        folder: the folder to make.
        write: writes all into the folder it is given, other folders too.

    Raises:
        OutputError: something is there, or another run is writing it.
        WriteError: it can't be written.
    """
    check_name(folder)
    with writing(folder):
        empty = folder.is_dir() and not folder.is_symlink() and not any(folder.iterdir())
        there = folder.is_symlink() or folder.exists()
    if there and not empty:
        raise _taken(folder)
    folder = folder.absolute()
    with writing(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
    with alone_at(folder):
        fresh = _beside(folder, _FRESH)
        try:
            with writing(folder):
                fresh.mkdir()
                write(fresh)
                if folder.exists():
                    folder.rmdir()
                fresh.rename(folder)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)


def replace_file(path: Path, write: Callable[[Path], None]) -> None:
    """Write a file whole or not at all; one that is there is replaced.

    A link is replaced itself: what it leads to stays as it is.

    Args:
        path: the file to make or replace.
        write: writes the file that it is given, which ends as `path` does.

    Raises:
        OutputError: something else than a file is there, or another run is writing it.
        WriteError: it can't be written.
    """
    check_name(path)
    with writing(path):
        other = path.exists() and not path.is_file()
    if other:
        raise OutputError(f"{path}: is not a file; give a new file's name with -o")
    _write_file(path, write, Path.replace)


def write_new(path: Path, text: str) -> None:
    """Write a text file that must not exist yet, whole or not at all.

    Raises:
        OutputError: it exists, or another run is writing it.
        WriteError: it can't be written.
    """
    check_new(path)
    if not make_new(path, lambda fresh: _write_text(fresh, text)):
        raise _taken(path)


def make_new(path: Path, write: Callable[[Path], None]) -> bool:
    """Make a file, whole or not at all, where there is none yet.

    Args:
        path: the file to make.
        write: writes the file that it is given, which ends as `path` does.

    Returns:
        Whether it was made; False where something is there.

    Raises:
        OutputError: another run is writing it.
        WriteError: it can't be written.
    """
    check_name(path)
    with writing(path):
        there = path.is_symlink() or path.exists()
    if there:
        return False
    made = True

    def place(fresh: Path, path: Path) -> None:
        nonlocal made
        try:
            path.hardlink_to(fresh)
        except FileExistsError:
            made = False
        except OSError:  # a drive that knows no links
            made = not path.exists()
            if made:
                fresh.rename(path)

    _write_file(path, write, place)
    return made


def check_new(path: Path) -> None:
    """Check that a file may be written anew.

    Raises:
        OutputError: it exists, its folder does not, or its name can't be written.
        WriteError: the system can't tell.
    """
    check_name(path)
    with writing(path):
        there = path.is_symlink() or path.exists()
        housed = path.absolute().parent.is_dir()
    if there:
        raise _taken(path)
    if not housed:
        raise OutputError(f"{path}: there is no folder {path.parent}; make it first")


def _taken(path: Path) -> OutputError:
    return OutputError(f"{path}: exists already; give another name with -o")


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _write_file(
    path: Path, write: Callable[[Path], None], place: Callable[[Path, Path], object]
) -> None:
    """Write a file beside a path, and put it in its place."""
    with writing(path):
        target = path.absolute()  # not what a link there leads to, which is someone's work
    with alone_at(target):
        fresh = _beside(target, _FRESH, target.suffix)
        try:
            with writing(path):
                write(fresh)
                settle(fresh)
                place(fresh, target)
        finally:
            fresh.unlink(missing_ok=True)


def settle(path: Path) -> None:
    """Wait until a file, or a folder and the files in it, is on the disk, where a drive can say.

    What takes another's place before that may be empty after a loss of power.
    """
    for one in [*path.iterdir(), path] if path.is_dir() else [path]:
        if one.is_dir() and sys.platform == "win32":
            continue  # which opens no folder
        file = os.open(one, os.O_RDONLY if one.is_dir() else os.O_RDWR)
        try:
            os.fsync(file)
        except OSError as error:
            if error.errno not in {errno.EINVAL, errno.ENOTSUP}:
                raise
        finally:
            os.close(file)


def check_name(path: Path) -> None:
    """Check that a name can be written in every file that tells it."""
    name = str(path.absolute())
    if "\0" in name or (not name.isascii() and name != name.encode(errors="ignore").decode()):
        raise OutputError(
            f"{plain(str(path))}: holds a character that no text can; give another name with -o, "
            "or change to another folder"
        )


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Say of what the system refuses that `path` can't be written."""
    try:
        yield
    except OSError as error:
        raise WriteError(f"{path}: can't be written: {error.strerror or error}") from error


@contextmanager
def alone_at(path: Path) -> Iterator[None]:
    """Keep other runs off a path; what an earlier one left beside it is put right first."""
    try:
        with writing(path), alone(path.with_name(f".{path.name}.lock")) as only:
            _put_right(path, clear=only)
            yield
    except Busy as error:
        raise OutputError(
            f"{path}: another run of striplay is writing it; wait for its end, or give another "
            "name with -o"
        ) from error


def _beside(path: Path, what: str, suffix: str = "") -> Path:
    """Give a new hidden name beside a path."""
    return path.with_name(f".{path.name}.{what}-{secrets.token_hex(4)}{suffix}")


def _left(path: Path, what: str) -> list[Path]:
    """Find what earlier runs left beside a path."""
    name = re.compile(rf"\.{re.escape(path.name)}\.{what}-[0-9a-f]{{8}}({re.escape(path.suffix)})?")
    return sorted(one for one in path.parent.iterdir() if name.fullmatch(one.name))


def _put_right(path: Path, *, clear: bool) -> None:
    """Put back an old folder that a killed run had moved aside, and `clear` what else it left."""
    for aside in _left(path, _ASIDE):
        if not path.exists():
            aside.rename(path)
    for fresh in [*_left(path, _FRESH), *_left(path, _ASIDE)] if clear else []:
        if fresh.is_dir():
            shutil.rmtree(fresh, ignore_errors=True)
        else:
            fresh.unlink(missing_ok=True)


def _take_place(fresh: Path, folder: Path) -> None:
    """Put `fresh` in the folder's place; the old one, if any, ends at `fresh`."""
    if not folder.exists():
        fresh.rename(folder)
    elif _exchange(fresh, folder):
        _or_back(fresh, folder, lambda: _exchange(fresh, folder))
    else:
        aside = _beside(folder, _ASIDE)
        folder.rename(aside)
        try:
            fresh.rename(folder)
        except BaseException:
            aside.rename(folder)
            raise
        _or_back(aside, folder, lambda: (folder.rename(fresh), aside.rename(folder)))
        shutil.rmtree(aside, ignore_errors=True)


def _or_back(old: Path, folder: Path, back: Callable[[], object]) -> None:
    """Check the folder replaced again, now that no one finds it: what came late is put back."""
    try:
        _check_own(old, folder)
    except BaseException:
        back()
        raise


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, where the system can; tell whether it did."""
    if not sys.platform.startswith("linux"):
        return False
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    paths = os.fsencode(one), os.fsencode(other)
    return bool(rename(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE) == 0)
