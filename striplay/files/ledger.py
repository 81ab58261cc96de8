"""Keep account of a long run in its output folder, so that a killed one can go on.

Each part of the run is whole or not there: its files are on the disk under their names before the
ledger holds its entry. A part without one is made anew, under the same names, so that nothing is
lost and nothing is there twice.
"""

import gzip
import json
import re
import shutil
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import Any, TypeAlias

from striplay.errors import OutputError
from striplay.files.folder import alone_at, check_name, settle, writing
from striplay.files.regular import whole
from striplay.limits import MAX_LEDGER_BYTES

LEDGER = ".striplay-run"
"""The folder of the ledger, in the output folder."""
_RUN, _ENTRY = "run.json", re.compile(r"part-(\d{6,})\.json\.gz")
PARTIAL = ".partial"
"""Ending of what is being written, in the ledger's folder."""


Check: TypeAlias = Callable[[int, Any], None]
"""Checks the entry of a part by its number; what can't be one is a ValueError."""


class Ledger:
    """The account of a run, in its folder.

    Attributes:
        folder: the output folder.
        done: numbers of the parts that are there whole.
    """

    def __init__(self, folder: Path, marks: Mapping[str, str], check: Check) -> None:
        self.folder, self._own, self._check_entry = folder, folder / LEDGER, check
        self._checked = set[int]()
        with writing(folder):
            if (self._own / _RUN).exists():
                self._check(marks)
            else:
                self._own.mkdir(parents=True, exist_ok=True)
                self._place(self._own / _RUN, json.dumps(marks, indent=1).encode())
            # in no other folder: there such a file is someone's own
            for left in self._own.glob(f"*{PARTIAL}"):
                left.unlink()
            found = (_ENTRY.fullmatch(one.name) for one in self._own.iterdir())
            self.done = {int(one[1]) for one in found if one}

    def _check(self, marks: Mapping[str, str]) -> None:
        """Refuse to go on where the run was begun with something else."""
        try:
            begun = json.loads(whole(self._own / _RUN, MAX_LEDGER_BYTES))
            unlike = [name for name, mark in marks.items() if begun[name] != mark]
        except (ValueError, LookupError, TypeError, RecursionError) as error:
            raise OutputError(f"{self._own / _RUN}: is damaged; {ELSE}") from error
        if unlike:
            raise OutputError(
                f"{self.folder}: was begun with another {' and another '.join(unlike)}; run it as "
                f"it was begun, or {ELSE}"
            )

    def keep(self, number: int, write: Callable[[Path], Mapping[str, Path]], entry: object) -> None:
        """Keep a part: its files first, then its entry.

        Args:
            number: of the part.
            write: writes its files into the folder it is given, and says of each, by its path
                from the output folder, where it lies.
            entry: what the ledger holds of it.

        Raises:
            WriteError: it can't be written.
        """
        with writing(self.folder):
            fresh = self._own / f"part-{number:06}{PARTIAL}d"
            shutil.rmtree(fresh, ignore_errors=True)
            fresh.mkdir()
            for name, path in write(fresh).items():
                target = self.folder / name
                target.parent.mkdir(exist_ok=True)
                settle(path)
                path.replace(target)
            shutil.rmtree(fresh)
            packed = gzip.compress(json.dumps(entry, allow_nan=False).encode(), 3, mtime=0)
            self._place(self._own / f"part-{number:06}.json.gz", packed)
        self.done.add(number)
        self._checked.add(number)

    def entries(self) -> Iterator[Any]:
        """Give what the ledger holds of each part, in order.

        Raises:
            OutputError: an entry is damaged.
        """
        for number in sorted(self.done):
            path = self._own / f"part-{number:06}.json.gz"
            try:
                entry = json.loads(_unpacked(whole(path, MAX_LEDGER_BYTES)))
                if number not in self._checked:
                    self._check_entry(number, entry)
            except (OSError, EOFError, ValueError, RecursionError, zlib.error) as error:
                told = (
                    f"{path}: is damaged, or not of this run; remove it, and run the same command "
                    "again"
                )
                raise OutputError(told) from error
            self._checked.add(number)
            yield entry

    def _place(self, path: Path, content: bytes) -> None:
        """Write a file of the ledger, whole or not at all."""
        fresh = path.with_name(path.name + PARTIAL)
        fresh.write_bytes(content)
        settle(fresh)
        fresh.replace(path)


def _unpacked(packed: bytes) -> bytes:
    """Unpack an entry; errors as gzip's, and ValueError where it is too large."""
    with gzip.open(BytesIO(packed)) as file:
        content = file.read(MAX_LEDGER_BYTES + 1)
    if len(content) > MAX_LEDGER_BYTES:
        raise ValueError("too large")
    return content


ELSE = "give a new folder's name with -o"


@contextmanager
def ledger(folder: Path, marks: Mapping[str, str], check: Check) -> Iterator[Ledger]:
    """Open the ledger of an output folder, or begin one, and keep other runs off.

    Args:
        folder: new, empty, or of a run begun with the same marks.
        marks: what the run is made of, each told apart by its text.
        check: checks what the ledger holds of a part, which may be damaged or someone else's.

    Raises:
        OutputError: the folder holds something else, or another run is writing it.
        WriteError: it can't be written.
    """
    check_name(folder)
    with writing(folder):
        if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
            raise OutputError(f"{folder}: is not a folder; {ELSE}")
        if folder.is_dir() and any(folder.iterdir()) and not (folder / LEDGER).is_dir():
            raise OutputError(f"{folder}: is not empty and was not begun by striplay many; {ELSE}")
        folder.absolute().parent.mkdir(parents=True, exist_ok=True)
    with alone_at(folder.absolute()):
        yield Ledger(folder.absolute(), marks, check)
