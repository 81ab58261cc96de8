"""Keep two runs apart by a lock file that the system frees when its run ends, however it ends."""

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

WAIT_S = 10.0
"""So long one run waits for another: longer than tables take to write, and no one sits idle."""
_LOOK_S = 0.01


class Busy(Exception):  # noqa: N818 - no error by itself
    """Another run holds the lock, and did not let go in time."""


@contextmanager
def alone(path: Path, wait_s: float | None = None) -> Iterator[bool]:
    """Hold a lock file, which is gone afterwards.

    Args:
        path: the lock file.
        wait_s: how long to wait for another run; `WAIT_S` when left out.

    Yields:
        Whether it is held; False where files can't be locked, as on some network drives.

    Raises:
        Busy: another run holds it.
        OSError: it can't be made.
    """
    until = time.monotonic() + (WAIT_S if wait_s is None else wait_s)
    while (found := _try(path)) is None:
        if time.monotonic() > until:
            raise Busy
        time.sleep(_LOOK_S)
    file, held = found
    try:
        yield held
    finally:
        _drop(path, file)


def _try(path: Path) -> tuple[int, bool] | None:
    """Open a lock file and take it; give it and whether it is held, None where another has it."""
    if path.is_symlink():
        raise _linked(path)
    try:
        file = os.open(path, os.O_CREAT | os.O_RDWR | getattr(os, "O_NOFOLLOW", 0), 0o666)
    except OSError as error:
        if error.errno != errno.ELOOP:
            raise
        raise _linked(path) from error
    held = _take(file)
    # the run that had it before may have taken it away meanwhile
    if held is not False and _is(path, file):
        return file, bool(held)
    os.close(file)
    return None


def _linked(path: Path) -> OSError:
    """Say that a link, which may lead to anyone's file, stands where the lock file would."""
    return OSError(errno.ELOOP, f"{path.name} beside it is a link; remove it, and run it again")


def _is(path: Path, file: int) -> bool:
    """Tell whether an open file still stands at a path."""
    try:
        return os.path.samestat(path.lstat(), os.fstat(file))
    except FileNotFoundError:
        return False


if sys.platform == "win32":
    import msvcrt

    def _take(file: int) -> bool | None:
        """Lock an open file; tell whether that was done, None where it can't be."""
        try:
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        except OSError:
            return None
        return True

    def _drop(path: Path, file: int) -> None:
        """Let go of a lock; a file that another run has open stays."""
        with suppress(OSError):
            msvcrt.locking(file, msvcrt.LK_UNLCK, 1)
        os.close(file)
        with suppress(OSError):
            path.unlink()

else:
    import fcntl

    def _take(file: int) -> bool | None:
        """Lock an open file; tell whether that was done, None where it can't be."""
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return None
        return True

    def _drop(path: Path, file: int) -> None:
        """Let go of a lock; taken away first, so that no one waits on a file that is gone."""
        with suppress(OSError):
            path.unlink()
        os.close(file)
