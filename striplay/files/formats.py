"""Know the formats of vector files that are read, and lay a file of one out by itself.

A format is told by a file's name, never by its content: what a file holds must not choose which
program reads it. While it is read, a copy of the file stands in a folder of its own with the side
files of its format and nothing else, so that it finds nothing beside itself.
"""

import os
import re
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from striplay.crs import NAMES_FILES, holds_named_files
from striplay.errors import BoundaryError
from striplay.files.geopackage import keep_plain_tables
from striplay.files.regular import check_regular, check_text, too_large
from striplay.files.xml_check import without_links
from striplay.files.zips import unzip
from striplay.limits import MAX_BINARY_BYTES, MAX_DATA_BYTES, MAX_FILE_BYTES, MAX_MANY_BYTES


@dataclass(frozen=True, slots=True)
class Format:
    """A format of vector files.

    Attributes:
        name: what it is called.
        driver: what fiona calls it; "" where fiona does not read it.
        sides: endings of the files that stand beside its file.
        most_bytes: how large a file may be.
        one_layer: whether its one layer is called as its file.
        most_streamed_bytes: how large it may be where features are taken one at a time; as large
            as any other where 0, for it is read whole.
    """

    name: str
    driver: str
    sides: tuple[str, ...] = ()
    most_bytes: int = MAX_BINARY_BYTES
    one_layer: bool = True
    most_streamed_bytes: int = 0


GEOJSON = Format("GeoJSON", "", most_bytes=MAX_FILE_BYTES)
GEOPARQUET = Format("GeoParquet", "", most_streamed_bytes=MAX_MANY_BYTES)
GEOPACKAGE = Format(
    "GeoPackage", "GPKG", (".gpkg-wal",), one_layer=False, most_streamed_bytes=MAX_MANY_BYTES
)
SHAPEFILE = Format("Shapefile", "ESRI Shapefile", (".shx", ".dbf", ".prj", ".cpg"))
KML = Format("KML", "KML", most_bytes=MAX_FILE_BYTES, one_layer=False)
GML = Format("GML", "GML", most_bytes=MAX_FILE_BYTES, one_layer=False)
GEODATABASE = Format("FileGDB", "OpenFileGDB", one_layer=False)
MAPINFO_TEXT = Format("MapInfo", "MapInfo File", (".mid",), most_bytes=MAX_FILE_BYTES)
FLATGEOBUF = Format("FlatGeobuf", "FlatGeobuf")
MAPINFO = Format("MapInfo", "MapInfo File", (".dat", ".map", ".id", ".ind"))
FORMATS = {
    ".geojson": GEOJSON,
    ".json": GEOJSON,
    ".gpkg": GEOPACKAGE,
    ".shp": SHAPEFILE,
    ".kml": KML,
    ".gml": GML,
    ".fgb": FLATGEOBUF,
    ".gdb": GEODATABASE,
    ".tab": MAPINFO,
    ".mif": MAPINFO_TEXT,
    ".parquet": GEOPARQUET,
    ".geoparquet": GEOPARQUET,
}
"""The formats by the ending of their file."""

READ = (
    "GeoJSON, GeoPackage, Shapefile, KML, KMZ, GML, FlatGeobuf, FileGDB, MapInfo, GeoParquet, or a "
    "zip of them"
)
ENDINGS = {*FORMATS, *(side for each in FORMATS.values() for side in each.sides)}


@dataclass(frozen=True, slots=True)
class Alone:
    """A file laid out by itself: its format, where it stands, and what it was called."""

    format: Format
    path: Path
    stem: str


@contextmanager
def laid_out(path: Path, *, streamed: bool = False) -> Iterator[list[Alone]]:
    """Lay a file out by itself; of a zip, each vector file in it.

    Args:
        path: the file.
        streamed: whether its features are taken one at a time, so that it may be larger.

    Raises:
        BoundaryError: no such file, no file, too large, or in no format that is read.
    """
    _clear_left()
    with tempfile.TemporaryDirectory(prefix=_COPIES) as made:
        try:
            alone = _lay_out(path, Path(made), streamed=streamed)
        except FileNotFoundError as error:
            told = f"{path}: no such file; a plan names files as seen from itself"
            raise BoundaryError(told) from error
        except ValueError as error:
            raise BoundaryError(f"{path.name}: {error}") from error
        except OSError as error:
            told = f"{path.name}: can't be read: {error.strerror or error}"
            raise BoundaryError(told) from error
        yield alone


_COPIES, _LEFT_S = ".striplay-reading-", 86_400.0
"""How copies are called, as no one calls a folder; and for how long one may still be read."""
_COPY_NAME = re.compile(re.escape(_COPIES) + r"[a-z0-9_]{8}")


def _clear_left() -> None:
    """Clear copies that runs of this user left a day ago or longer, ended as none can clear up."""
    with suppress(OSError):
        for one in Path(tempfile.gettempdir()).iterdir():
            if _COPY_NAME.fullmatch(one.name) and _is_left(one.lstat()):
                shutil.rmtree(one, ignore_errors=True)


def _is_left(found: os.stat_result) -> bool:
    """Tell an old folder of this user's; a link is none."""
    own = not hasattr(os, "getuid") or found.st_uid == os.getuid()
    return own and stat.S_ISDIR(found.st_mode) and time.time() - found.st_mtime > _LEFT_S


def _lay_out(path: Path, folder: Path, *, streamed: bool) -> list[Alone]:
    ending = path.suffix.lower()
    if ending not in {".zip", ".kmz"}:
        return [_alone(path, folder, streamed=streamed)]
    check_regular(path, MAX_DATA_BYTES)
    unzip(path, folder / "zip", ENDINGS)
    found = sorted(one for one in (folder / "zip").rglob("*") if _is_main(one))
    if ending == ".kmz":  # a place may hold further files beside its document
        found = [one for one in found if one.suffix.lower() == ".kml"]
        found = [one for one in found if one.name == "doc.kml"] or found
    # .json is often no map; it counts where nothing else is there
    found = [one for one in found if one.suffix.lower() != ".json"] or found
    if not found:
        raise ValueError(f"holds no file that is read: {READ.removesuffix(', or a zip of them')}")
    return [_alone(one, folder / str(number)) for number, one in enumerate(found)]


def _is_main(path: Path) -> bool:
    inside = any(parent.suffix.lower() == ".gdb" for parent in path.parents)
    return path.suffix.lower() in FORMATS and not inside


def _alone(path: Path, folder: Path, *, streamed: bool = False) -> Alone:
    """Copy a file, and the side files of its format, into a folder.

    One that is streamed is not copied where it neither has side files nor is changed to be read.
    """
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        path.stat()
        mains = [main for main, each in FORMATS.items() if path.suffix.lower() in each.sides]
        if mains:
            raise ValueError(f"is a side file; name {path.stem}{mains[0]}")
        raise ValueError(f"has the ending of no format that is read: {READ}")
    folder.mkdir(exist_ok=True)
    # the copy's name is ours: fiona reads more than a path out of some names
    copy = folder / f"field{path.suffix.lower()}"
    if kind is GEODATABASE:
        _copy_folder(path, copy)
    else:
        check_regular(path, max(kind.most_bytes, kind.most_streamed_bytes * streamed))
        if streamed and kind is GEOPARQUET:
            return Alone(kind, path, path.stem)
        shutil.copyfile(path, copy)
    for side in _sides(path, kind):
        check_regular(side, MAX_DATA_BYTES)
        shutil.copyfile(side, copy.with_suffix(side.suffix.lower()))
    _make_harmless(kind, copy)
    return Alone(kind, copy, path.stem)


def _make_harmless(kind: Format, copy: Path) -> None:
    """Take out of a copy what its format would follow or run, or refuse it."""
    if kind is GEOPACKAGE:
        keep_plain_tables(copy)
    elif kind in {KML, GML}:
        copy.write_bytes(without_links(copy))
    elif kind is MAPINFO:
        _check_tab(copy)
    elif kind is MAPINFO_TEXT:
        check_text(copy.read_bytes())
    if kind in {FLATGEOBUF, GEODATABASE, SHAPEFILE}:
        _check_crs(copy)


def _check_crs(copy: Path) -> None:
    """Check that no file of those laid out states a coordinate reference system of further files.

    The library that reads it would open them.
    """
    for one in copy.iterdir() if copy.is_dir() else [copy, copy.with_suffix(".prj")]:
        if one.suffix != ".shp" and one.exists() and holds_named_files(one.read_bytes()):
            raise ValueError(NAMES_FILES)


def _sides(path: Path, kind: Format) -> list[Path]:
    """Find a file's side files, whatever the capitals of their endings; links away are none."""
    return [
        one
        for one in (path.parent.iterdir() if kind.sides else ())
        if one.stem == path.stem
        and one.suffix.lower() in kind.sides
        and one.is_file()
        and one.resolve().parent == path.resolve().parent
    ]


def _copy_folder(path: Path, to: Path) -> None:
    """Copy the plain files of a FileGDB, which is a folder."""
    if not path.is_dir():
        path.stat()
        raise ValueError("is no folder, as a FileGDB is; zip the folder, or name it")
    to.mkdir()
    size = 0
    for one in path.iterdir():
        if one.is_file() and not one.is_symlink():
            size += one.stat().st_size
            if size > MAX_BINARY_BYTES:
                raise ValueError(too_large(size, MAX_BINARY_BYTES))
            shutil.copyfile(one, to / one.name)


_TAB_TYPE = re.compile(rb"^\s*Type\s+(NATIVE|DBF)\b", re.IGNORECASE | re.MULTILINE)
_TAB_OTHERS = re.compile(rb"seamless|create\s+view|open\s+table", re.IGNORECASE)


def _check_tab(path: Path) -> None:
    """Check that a MapInfo table holds its own features and names no other table."""
    text = path.read_bytes()
    if not _TAB_TYPE.search(text) or _TAB_OTHERS.search(text):
        raise ValueError("is no MapInfo table with features of its own; save it as one")


def beside_and_own(path: Path) -> list[Path]:
    """Give a file and its side files, in order; of a FileGDB, which is a folder, those in it."""
    if path.is_dir():
        return sorted(one for one in path.iterdir() if one.is_file())
    kind = FORMATS.get(path.suffix.lower())
    return [path, *sorted(_sides(path, kind) if kind else ())]
