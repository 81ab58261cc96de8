"""Unpack what may be of use from a zip, and only into the folder given."""

import errno
import struct
import zipfile
import zlib
from collections.abc import Container
from pathlib import Path, PurePosixPath

from striplay.files.regular import too_large
from striplay.limits import MAX_DATA_BYTES, MAX_ZIP_DIRECTORY_BYTES, MAX_ZIP_FILES

BROKEN = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, RuntimeError, NotImplementedError,
    UnicodeDecodeError, OverflowError,
)  # fmt: skip
"""What reading a damaged or locked zip ends with."""

DAMAGED = "can't be read: the zip is damaged or locked"

READ_WAYS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
"""How files of a zip may be packed. Other ways give what a piece unpacks to all at once, however
large it is."""


def unzip(path: Path, folder: Path, endings: Container[str]) -> None:
    """Unpack the files of a zip that have one of some endings, or stand in a folder that has.

    What a Mac adds (`__MACOSX`) and hidden files are left out. Sizes are counted as they are
    written, for a zip may say what it likes.

    Raises:
        ValueError: it is damaged, locked, too large, or names a place outside; the message says
            which.
    """
    _check_directory(path)
    try:
        with zipfile.ZipFile(path) as packed:
            wanted = [one for one in packed.infolist() if _is_wanted(one.filename, endings)]
            _check(wanted)
            left = MAX_DATA_BYTES
            for one in wanted:
                left -= _unpack(packed, one, folder / one.filename, left)
    except BROKEN as error:
        raise ValueError(DAMAGED) from error
    except OSError as error:
        if error.errno != errno.EINVAL:
            raise
        raise ValueError(DAMAGED) from error  # it says that a file begins before its beginning


def _unpack(packed: zipfile.ZipFile, one: zipfile.ZipInfo, to: Path, left: int) -> int:
    """Unpack one file of at most so many bytes; give how many it has."""
    to.parent.mkdir(parents=True, exist_ok=True)
    size = 0
    with packed.open(one) as source, to.open("wb") as sink:
        while piece := source.read(1_000_000):
            size += len(piece)
            if size > left:
                raise ValueError(f"unpacked, {too_large(size, MAX_DATA_BYTES)}")
            sink.write(piece)
    return size


END, WIDE_END = b"PK\5\6", b"PK\6\7"
"""Where a zip's directory ends, and what stands before where it is of the large kind."""


def _check_directory(path: Path) -> None:
    """Check that a zip's directory, which is read whole, is no larger than any of use."""
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - 66_000))
        tail = file.read()
    at = tail.rfind(END)
    if at < 0 or len(tail) < at + 22:
        raise ValueError(DAMAGED)
    (size,) = struct.unpack("<L", tail[at + 12 : at + 16])
    if size > MAX_ZIP_DIRECTORY_BYTES or WIDE_END in tail:
        raise ValueError("holds too many files; pack the boundary alone")


def _is_wanted(name: str, endings: Container[str]) -> bool:
    parts = PurePosixPath(name).parts
    if name.endswith("/") or any(part == "__MACOSX" or part.startswith("._") for part in parts):
        return False
    return any(PurePosixPath(part).suffix.lower() in endings for part in parts)


def _check(wanted: list[zipfile.ZipInfo]) -> None:
    if len(wanted) > MAX_ZIP_FILES:
        raise ValueError(f"holds {len(wanted):,} files; at most {MAX_ZIP_FILES:,} are read")
    size = sum(one.file_size for one in wanted)
    if size > MAX_DATA_BYTES:
        raise ValueError(f"unpacked, {too_large(size, MAX_DATA_BYTES)}")
    for one in wanted:
        if one.compress_type not in READ_WAYS:
            raise ValueError("is packed in a rare way, which is not read; pack it anew as usual")
        name = PurePosixPath(one.filename)
        if name.is_absolute() or ".." in name.parts or "\\" in one.filename or ":" in one.filename:
            raise ValueError("names a place outside itself; pack it anew from files of one folder")
