"""Keep the records of a season in one file: a GeoPackage that is only ever added to.

What `append` has given back is on the disk: whatever ends the run after that, and whenever, it is
there. Two runs at once wait for each other. An entry is never changed nor deleted.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Self, cast

import numpy as np
import shapely

from striplay.errors import RecordError, StoreError, WriteError
from striplay.files import store_schema as schema
from striplay.files.folder import make_new
from striplay.files.regular import check_regular
from striplay.limits import MAX_STORE_BYTES
from striplay.plain import plain
from striplay.records.edition import CropFacts, Edition, Pass, Piece, Sown
from striplay.records.entry import KINDS, Entry, Recorded, kind_of
from striplay.records.standing import faults_of_new

if TYPE_CHECKING:
    from striplay.units import UnitSystem

WAIT_S = 10.0
"""So long one run waits for another that is writing, which takes it some milliseconds."""
_HEADER = b"SQLite format 3\0"
_BUSY, _CORRUPT, _NOT_ONE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


class Known(NamedTuple):
    """An edition that a store holds records of.

    Attributes:
        mark: eight letters of the edition.
        field: what its plan calls the field.
        strips_mark: eight letters that editions with the same strips share.
    """

    mark: str
    field: str
    strips_mark: str


def open_store(path: Path, *, make: bool = True) -> "Store":
    """Open a store of records, made where there is none.

    One that may not be written, as on a disk that takes no more, is opened to be read.

    Args:
        path: its file.
        make: whether to make one where there is none.

    Raises:
        StoreError: it is none, is damaged, of a newer striplay, or not there.
        WriteError: it can't be written.
    """
    _check_file(path, make=make)
    written = _is_writable(path)
    left = path.with_name(f"{path.name}-wal")
    if not written and left.exists() and left.stat().st_size:
        raise StoreError(
            f"{path}: can't be read: {left.name}, left beside it by a run that was ended, is to be "
            "taken in, and nothing may be written there; copy both into another folder"
        )
    # what is never written can't change meanwhile, and needs no files beside it
    file = path.absolute().as_uri() + ("" if written else "?immutable=1")
    base = sqlite3.connect(file, timeout=WAIT_S, isolation_level=None, uri=True)
    store = Store(path, base, read_only=not written)
    try:
        store.check()
    except BaseException:
        base.close()
        raise
    return store


def _check_file(path: Path, *, make: bool) -> None:
    """Check that there is a file of SQLite, and make a store where there is nothing."""
    if make:
        make_new(path, _write)
    try:
        check_regular(path, MAX_STORE_BYTES)
        with path.open("rb") as file:
            head = file.read(len(_HEADER))
    except FileNotFoundError as error:
        raise StoreError(
            f"{path}: is not there; nothing is recorded yet, or --store names another file"
        ) from error
    except OSError as error:
        raise StoreError(f"{path}: can't be read: {error.strerror or error}") from error
    except ValueError as error:
        raise StoreError(f"{path}: {error}") from error
    if not head:
        raise StoreError(f"{path}: is empty, so its records are lost; {_CURE}")
    if head != _HEADER:
        raise StoreError(f"{path}: is no store of records; give another file with --store")


_CURE = "put back the last copy of it, or move it away to begin a new one"


def _is_writable(path: Path) -> bool:
    """Tell whether a store, and files beside it, may be written."""
    return os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK)


def _write(path: Path) -> None:
    path.write_bytes(schema.empty_store())


class Store:
    """A store of records that is open; use it in a `with` statement.

    Attributes:
        path: its file.
        read_only: whether it may not be written.
    """

    def __init__(self, path: Path, base: sqlite3.Connection, *, read_only: bool = False) -> None:
        self.path, self.read_only = path, read_only
        self._base = base

    def __repr__(self) -> str:
        return f"Store({str(self.path)!r})"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close it; all that was written is in its one file then, if no other run has it open."""
        with suppress(sqlite3.Error):
            self._base.close()

    # --- opening ---------------------------------------------------------------------------------

    def check(self) -> None:
        """Check that it is a store that can be used, and bring an older one up to date.

        Raises:
            StoreError: it can't.
            WriteError: it can't be written.
        """
        with self._told():
            for setting in ("trusted_schema = OFF", "cell_size_check = ON", "foreign_keys = ON"):
                self._base.execute(f"PRAGMA {setting}")
            version = self._version()
            if version < schema.VERSION:
                with self._writing():
                    if self._version() < schema.VERSION:  # no other run has done so meanwhile
                        schema.bring_up(self._base, version)
            self._check_tables()
            if (found := self._first("PRAGMA quick_check(1)")) != "ok":
                raise StoreError(f"{self.path}: is damaged ({plain(str(found))}); {_CURE}")
            if self.read_only:
                return
            self._base.execute("PRAGMA journal_mode = WAL")
            # each commit waits for the disk, so that a loss of power loses nothing told as kept
            self._base.execute("PRAGMA synchronous = FULL")

    def _version(self) -> int:
        """Give which version it is of."""
        other = StoreError(
            f"{self.path}: is a file of another program; give another file with --store"
        )
        if self._first("PRAGMA application_id") != schema.GPKG:
            raise other
        if not self._columns(schema.IDENTITY):
            raise other
        version = self._first(f"SELECT version FROM {schema.IDENTITY}")  # noqa: S608 - ours
        if not isinstance(version, int) or version < 1:
            raise StoreError(f"{self.path}: is damaged (no version); {_CURE}")
        if version > schema.VERSION:
            raise StoreError(
                f"{self.path}: was written by a newer striplay (version {version} of its tables, "
                f"this one knows {schema.VERSION}); bring striplay up to date"
            )
        return version

    def _check_tables(self) -> None:
        """Check that every table is there with its columns."""
        for name, columns in _columns_of_tables().items():
            lacking = columns - self._columns(name)
            if lacking:
                what = f"table {name} lacks {', '.join(sorted(lacking))}"
                raise StoreError(f"{self.path}: is damaged ({what}); {_CURE}")

    def _columns(self, table: str) -> set[str]:
        """Name the columns of a plain table; none where there is no such, or it is worked out."""
        kind = "SELECT type FROM sqlite_master WHERE name = ? AND sql LIKE 'CREATE TABLE%'"
        if self._first(kind, table) != "table":
            return set()
        found = self._base.execute("SELECT name, hidden FROM pragma_table_xinfo(?)", (table,))
        return {str(name) for name, hidden in found if not hidden}

    def _first(self, asked: str, *values: object) -> Any:  # noqa: ANN401 - whatever is there
        line = self._base.execute(asked, values).fetchone()
        return None if line is None else line[0]

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say in our own words what SQLite refuses."""
        try:
            yield
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            code = getattr(error, "sqlite_errorcode", None)
            kind = None if code is None else code & 0xFF
            if kind == _BUSY:
                raise StoreError(
                    f"{self.path}: another run of striplay is writing it; wait for its end, and "
                    "run this again"
                ) from error
            if kind in {_CORRUPT, _NOT_ONE, None, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_MISMATCH}:
                raise StoreError(f"{self.path}: is damaged ({error}); {_CURE}") from error
            raise WriteError(f"{self.path}: can't be written: {error}") from error

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Write all or nothing; other runs wait meanwhile."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    # --- editions --------------------------------------------------------------------------------

    def editions(self, field: str | None = None) -> list[Known]:
        """Give the editions it holds, the earliest first, of a field or of all."""
        asked = f"SELECT mark, field, strips_mark FROM {schema.EDITIONS}"  # noqa: S608 - ours
        asked += " WHERE field = ? ORDER BY id" if field is not None else " ORDER BY id"
        with self._told():
            lines = self._base.execute(asked, () if field is None else (field,)).fetchall()
        return [Known(*map(str, line)) for line in lines]

    def beside(self, edition: Edition) -> list[Known]:
        """Give the other editions of a field: of the same name, outline or strips."""
        asked = (
            f"SELECT mark, field, strips_mark FROM {schema.EDITIONS} WHERE mark <> ? "  # noqa: S608
            "AND (field = ? OR strips_mark = ? OR outline = ?) ORDER BY id"
        )
        own = edition.mark, edition.field, edition.strips_mark, _blob(_several(edition.outline))
        with self._told():
            lines = self._base.execute(asked, own).fetchall()
        return [Known(*map(str, line)) for line in lines]

    def add_edition(self, edition: Edition) -> None:
        """Keep an edition, if it is not kept yet.

        Raises:
            StoreError: another run is writing, or it is damaged.
            WriteError: it can't be written.
        """
        with self._told(), self._writing():
            there = f"SELECT 1 FROM {schema.EDITIONS} WHERE mark = ?"  # noqa: S608 - ours
            if self._first(there, edition.mark) is not None:
                return
            self._insert(schema.EDITIONS, [{
                "outline": _blob(_several(edition.outline)), "mark": edition.mark,
                "field": edition.field, "units": edition.units, "strips_mark": edition.strips_mark,
                "headland": edition.headland,
            }])  # fmt: skip
            mark = {"mark": edition.mark}
            shapes = map(_blob, edition.polygons)
            self._insert(schema.PIECES, [
                {**mark, "shape": shape, **_values(piece)}
                for piece, shape in zip(edition.pieces, shapes, strict=True)
            ])  # fmt: skip
            self._insert(schema.SOWN, [{**mark, **_values(one)} for one in edition.sown])
            self._insert(schema.CROPS, [
                {**mark, "crop": crop, **_values(one)} for crop, one in edition.crops.items()
            ])  # fmt: skip
            self._insert(schema.PASSES, [{**mark, **_values(one)} for one in edition.passes])

    def edition(self, mark: str) -> Edition | None:
        """Give an edition by its mark; None where the store does not hold it."""
        with self._told():
            lines = self._lines(schema.EDITIONS, mark)
            if not lines:
                return None
            pieces, passes = self._lines(schema.PIECES, mark), self._lines(schema.PASSES, mark)
            crops, sown = self._lines(schema.CROPS, mark), self._lines(schema.SOWN, mark)
        first = lines[0]
        with self._sound():
            return Edition(
                mark=mark,
                field=str(first["field"]),
                units=cast("UnitSystem", first["units"]),
                strips_mark=str(first["strips_mark"]),
                headland=bool(first["headland"]),
                pieces=tuple(Piece(**_taken(Piece, one)) for one in pieces),
                sown=tuple(
                    replace(
                        Sown(**_taken(Sown, one)),
                        drilled=bool(one["drilled"]),
                        reaped=bool(one["reaped"]),
                    )
                    for one in sown
                ),
                crops={str(one["crop"]): CropFacts(**_taken(CropFacts, one)) for one in crops},
                operations=tuple(dict.fromkeys(str(one["operation"]) for one in passes)),
                passes=tuple(Pass(**_taken(Pass, one)) for one in passes),
                outline=_shape(first["outline"]),
                polygons=np.array([_shape(one["shape"]) for one in pieces], dtype=object),
            )

    # --- entries ---------------------------------------------------------------------------------

    def append(self, entries: Sequence[Entry], mark: str) -> list[Recorded]:
        """Write entries, all or none; once they are given back they are on the disk.

        They are not checked against the plan: `striplay.records.check.check_entry` does that.

        Args:
            entries: what to write.
            mark: of the edition they are of, which the store holds.

        Raises:
            RecordError: one is there already, or withdraws what is not there or withdrawn.
            LookupError: no such edition is kept.
            StoreError: another run is writing, or the store is damaged.
            WriteError: it can't be written.
        """
        at = datetime.now(UTC).replace(microsecond=0)
        found = []
        with self._told(), self._writing():
            before = self.recorded(self._marks_alike(mark))
            if faults := [fault for fault in faults_of_new(entries, before) if fault]:
                raise RecordError(faults)
            for entry in entries:
                line = {"kind": kind_of(entry), "mark": mark, "at": _stamp(at), **_line(entry)}
                number = self._insert(schema.ENTRIES, [line])
                found.append(Recorded(number, mark, at, entry))
            changed = "UPDATE gpkg_contents SET last_change = ? WHERE table_name = ?"
            self._base.execute(changed, (_stamp(at), schema.ENTRIES))
        return found

    def _marks_alike(self, mark: str) -> list[str]:
        """Give the marks of the editions of a field that have the same strips as one of them."""
        editions = self.editions()
        own = next((one for one in editions if one.mark == mark), None)
        if own is None:
            raise LookupError(f"{self.path} does not keep edition {mark}; add it first")
        return [one.mark for one in editions if one.strips_mark == own.strips_mark]

    def recorded(self, marks: Sequence[str] | None = None) -> list[Recorded]:
        """Give every entry in the order written, withdrawn ones too.

        Args:
            marks: of the editions asked for; all when left out.

        Raises:
            StoreError: the store is damaged.
        """
        with self._told():
            asked = [None] if marks is None else list(dict.fromkeys(marks))
            lines = [line for mark in asked for line in self._lines(schema.ENTRIES, mark)]
        with self._sound():
            found = [_recorded(line) for line in lines]
        return sorted(found, key=lambda one: one.number)

    def _lines(self, table: str, mark: str | None) -> list[dict[str, Any]]:
        """Give the lines of a table, those of an edition alone where one is named."""
        key = "number" if table == schema.ENTRIES else "id"
        asked = f"SELECT * FROM {table}"  # noqa: S608 - names of ours
        asked += f" ORDER BY {key}" if mark is None else f" WHERE mark = ? ORDER BY {key}"
        found = self._base.execute(asked, () if mark is None else (mark,))
        names = [name for name, *_ in found.description]
        return [dict(zip(names, line, strict=True)) for line in found]

    def _insert(self, table: str, lines: Sequence[dict[str, Any]]) -> int:
        """Add lines to a table, and give the number of the last one."""
        number = 0
        for line in lines:
            names, marks = ", ".join(line), ", ".join("?" * len(line))
            told = f"INSERT INTO {table} ({names}) VALUES ({marks})"  # noqa: S608 - names of ours
            number = self._base.execute(told, tuple(line.values())).lastrowid or 0
        return number

    @contextmanager
    def _sound(self) -> Iterator[None]:
        """Say of what can't be read of its lines that it is damaged."""
        try:
            yield
        except (ValueError, TypeError, KeyError, shapely.errors.ShapelyError) as error:
            raise StoreError(f"{self.path}: is damaged ({error}); {_CURE}") from error


@cache
def _columns_of_tables() -> dict[str, set[str]]:
    """Name the columns that each table of the newest version has."""
    with closing(sqlite3.connect(":memory:")) as base:
        base.deserialize(schema.empty_store())
        return {
            name: {str(line[1]) for line in base.execute(f"PRAGMA table_info({name})")}
            for name in schema.STORE_TABLES
        }


def _stamp(at: datetime) -> str:
    """Write a time as a GeoPackage has it."""
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")


def _values(one: Any) -> dict[str, Any]:  # noqa: ANN401 - any dataclass
    return {field.name: getattr(one, field.name) for field in fields(one)}


def _taken(kind: type[Any], line: dict[str, Any]) -> dict[str, Any]:
    return {field.name: line[field.name] for field in fields(kind)}


_APART = {"rows", "row", "lonlat", "day"}
"""What of an entry stands otherwise in its line."""


def _line(entry: Entry) -> dict[str, Any]:
    """Give an entry as a line of its table."""
    said = _values(entry)
    line = {name: value for name, value in said.items() if name not in _APART}
    line["day"] = entry.day.isoformat()
    if said.get("rows") is not None:
        line["first_row"], line["last_row"] = said["rows"]
    if said.get("row") is not None:
        line["first_row"] = line["last_row"] = said["row"]
    if said.get("lonlat") is not None:
        line["place"] = _blob(shapely.Point(said["lonlat"]))
    return line


def _recorded(line: dict[str, Any]) -> Recorded:
    """Read a line of entries.

    Raises:
        ValueError: it holds what no entry does.
    """
    number, kind = int(line["number"]), KINDS.get(line["kind"])
    if kind is None:
        raise ValueError(f"entry {number} is of no kind")
    names = {field.name for field in fields(kind)}
    said = {name: line[name] for name in names - _APART}
    said["day"] = date.fromisoformat(line["day"])
    said["headland"] = bool(line["headland"])
    for name, field in ((field.name, field) for field in fields(kind)):
        if name in said and said[name] is None and field.default == "":
            said[name] = ""
    if "rows" in names:
        rows = line["first_row"], line["last_row"]
        said["rows"] = None if None in rows else rows
    if "row" in names:
        said["row"] = line["first_row"]
    if "lonlat" in names:
        place = None if line["place"] is None else _shape(line["place"])
        said["lonlat"] = None if place is None else (place.x, place.y)
    at = datetime.strptime(line["at"][:19], "%Y-%m-%dT%H:%M:%S").replace(tzinfo=UTC)
    return Recorded(number, str(line["mark"]), at, kind(**said))


def _several(outline: shapely.Geometry) -> shapely.Geometry:
    """Give an outline as several polygons, as its table has them."""
    return shapely.MultiPolygon([outline]) if isinstance(outline, shapely.Polygon) else outline


def _blob(shape: shapely.Geometry) -> bytes:
    """Write a shape as a GeoPackage has it: a header without bounds, then WKB (clause 2.1.3)."""
    head = b"GP\x00\x01" + (4326).to_bytes(4, "little", signed=True)
    wkb: bytes = shapely.to_wkb(shape, byte_order=1, output_dimension=2)
    return head + wkb


_BOUNDS = (0, 32, 48, 48, 64)
"""Bytes that bounds take, by the indicator in the header."""


def _shape(blob: object) -> Any:  # noqa: ANN401 - shapely's own
    """Read a shape of a GeoPackage.

    Raises:
        ValueError: it is none.
    """
    if not isinstance(blob, bytes) or blob[:2] != b"GP" or len(blob) < 9:  # noqa: PLR2004
        raise ValueError("a shape is none")
    kind = blob[3] >> 1 & 0b111
    if kind >= len(_BOUNDS):
        raise ValueError("a shape is none")
    return shapely.from_wkb(blob[8 + _BOUNDS[kind] :])
