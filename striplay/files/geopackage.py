"""Take out of a copy of a GeoPackage all that is worked out when it is read.

A GeoPackage is a database. Views, computed columns and virtual tables run what their maker wrote,
for as long as that takes; a boundary needs none of them.
"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from striplay.crs import NAMES_FILES, names_files

_PLAIN = re.compile(r"\s*CREATE\s+TABLE\b", re.IGNORECASE)


def keep_plain_tables(path: Path) -> None:
    """Leave only plain tables in a GeoPackage, and strike the layers that are none off its list.

    The tables' rows are not touched. Indexes asked for go too, which may be of what is worked out.

    Raises:
        ValueError: it is no GeoPackage, damaged, or states a coordinate reference system that names
            further files.
    """
    try:
        with closing(sqlite3.connect(path, isolation_level=None)) as base:
            base.execute("PRAGMA trusted_schema = OFF")
            schema = base.execute(
                "SELECT rowid, type, name, tbl_name, sql FROM sqlite_master"
            ).fetchall()
            plain = {
                name
                for _, kind, name, _, sql in schema
                if _is_table(kind, sql) and not _is_computed(base, name)
            }
            # an index without text of its own belongs to its table's keys
            kept = {
                row
                for row, kind, name, table, sql in schema
                if (kind == "table" and name in plain)
                or (kind == "index" and sql is None and table in plain)
            }
            base.execute("PRAGMA writable_schema = ON")
            base.executemany(
                "DELETE FROM sqlite_master WHERE rowid = ?",
                [(row,) for row, *_ in schema if row not in kept],
            )
        with closing(sqlite3.connect(path, isolation_level=None)) as base:
            listed = {name for (name,) in base.execute("SELECT table_name FROM gpkg_contents")}
            for table in {"gpkg_contents", "gpkg_geometry_columns", "gpkg_extensions"} & plain:
                base.executemany(
                    f"DELETE FROM {table} WHERE table_name = ?",  # noqa: S608 - a name of ours
                    [(name,) for name in listed - plain],
                )
            if "gpkg_extensions" in plain:
                base.execute(
                    "DELETE FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'"
                )
            _check_crs(base)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise ValueError("can't be read: it is damaged, or no GeoPackage") from error


def _check_crs(base: sqlite3.Connection) -> None:
    """Check that none of its coordinate reference systems names further files."""
    found = base.execute("SELECT * FROM gpkg_spatial_ref_sys")
    names = [name for name, *_ in found.description]
    for row in found:
        for name, value in zip(names, row, strict=True):
            text = value.decode("latin-1") if isinstance(value, bytes) else value
            if (
                name.lower().startswith("definition")
                and isinstance(text, str)
                and names_files(text)
            ):
                raise ValueError(NAMES_FILES)


def _is_table(kind: object, sql: object) -> bool:
    """Tell a table from a view and from a virtual table."""
    return kind == "table" and isinstance(sql, str) and _PLAIN.match(sql) is not None


def _is_computed(base: sqlite3.Connection, name: str) -> bool:
    """Tell whether a table has a column that is worked out, or hidden."""
    asked = "SELECT 1 FROM pragma_table_xinfo(?) WHERE hidden <> 0"
    return base.execute(asked, (name,)).fetchone() is not None
