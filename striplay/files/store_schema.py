"""Hold the tables of a store of records, version by version: a GeoPackage 1.3.

A store of an older version is brought to the newest one step by step; a version is never changed.
"""

import sqlite3
from contextlib import closing
from functools import cache

from striplay.columns import TABLES, columns_of
from striplay.files.write_geopackage import COLUMNS_SCHEMA, STAMP, described

VERSION = 3
"""The newest version."""
ENTRIES, EDITIONS, PIECES = "entries", "editions", "edition_pieces"
SOWN, CROPS, PASSES = "edition_sown", "edition_crops", "edition_passes"
SHAPES = {ENTRIES: ("place", "POINT"), EDITIONS: ("outline", "MULTIPOLYGON"),
          PIECES: ("shape", "POLYGON")}  # fmt: skip
"""Its layers: the column of the shape, and what it is."""
STORE_TABLES = (ENTRIES, EDITIONS, PIECES, SOWN, CROPS, PASSES)
IDENTITY = "records_version"
"""The table of one line that says that it is a store of records, and of which version."""
GPKG, GPKG_VERSION = 0x47504B47, 10300
"""How a GeoPackage, and its version, stand in the header (clauses 1.1.1.1.1 and 1.1.1.1.2 of OGC
12-128r17)."""

_GEOPACKAGE = f"""
PRAGMA application_id = {GPKG};
PRAGMA user_version = {GPKG_VERSION};
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_extensions (
  table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL,
  scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));
"""
"""The tables that every GeoPackage has (OGC 12-128r17, annex C)."""

_WGS_84 = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,'
    'AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,'
    'AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],'
    'AUTHORITY["EPSG","4326"]]'
)
_SYSTEMS = (
    ("WGS 84 geodetic", 4326, "EPSG", 4326, _WGS_84, "longitude and latitude on WGS 84"),
    ("Undefined Cartesian SRS", -1, "NONE", -1, "undefined", "undefined Cartesian"),
    ("Undefined geographic SRS", 0, "NONE", 0, "undefined", "undefined geographic"),
)

_FIRST = """
CREATE TABLE records_version (id INTEGER PRIMARY KEY, version INTEGER NOT NULL);
INSERT INTO records_version VALUES (1, 1);
CREATE TABLE editions (
  id INTEGER PRIMARY KEY, outline MULTIPOLYGON NOT NULL, mark TEXT NOT NULL UNIQUE,
  field TEXT NOT NULL, units TEXT NOT NULL, strips_mark TEXT NOT NULL, headland BOOLEAN NOT NULL);
CREATE TABLE edition_pieces (
  id INTEGER PRIMARY KEY, shape POLYGON NOT NULL,
  mark TEXT NOT NULL REFERENCES editions(mark), strip INTEGER NOT NULL, piece INTEGER NOT NULL,
  crop TEXT NOT NULL, rows INTEGER, width_m DOUBLE NOT NULL, area_m2 DOUBLE NOT NULL,
  row_length_m DOUBLE NOT NULL);
CREATE TABLE edition_sown (
  id INTEGER PRIMARY KEY, mark TEXT NOT NULL REFERENCES editions(mark), strip INTEGER NOT NULL,
  crop TEXT NOT NULL, rows INTEGER, row_m DOUBLE NOT NULL);
CREATE TABLE edition_crops (
  id INTEGER PRIMARY KEY, mark TEXT NOT NULL REFERENCES editions(mark), crop TEXT NOT NULL,
  base_moisture DOUBLE, bushel_kg DOUBLE);
CREATE TABLE edition_passes (
  id INTEGER PRIMARY KEY, mark TEXT NOT NULL REFERENCES editions(mark),
  operation TEXT NOT NULL, number INTEGER NOT NULL, strip INTEGER, piece INTEGER);
CREATE TABLE entries (
  number INTEGER PRIMARY KEY AUTOINCREMENT, place POINT, kind TEXT NOT NULL,
  mark TEXT NOT NULL REFERENCES editions(mark), at DATETIME NOT NULL, day DATE NOT NULL,
  operation TEXT, pass_number INTEGER, strip INTEGER, piece INTEGER, headland BOOLEAN NOT NULL,
  crop TEXT, first_row INTEGER, last_row INTEGER, start TEXT, stop TEXT, lot TEXT,
  plants INTEGER, length_m DOUBLE, row_m DOUBLE, grain_kg DOUBLE, moisture DOUBLE, area_m2 DOUBLE,
  what TEXT, photo TEXT, operator TEXT NOT NULL, remark TEXT NOT NULL,
  withdraws INTEGER REFERENCES entries(number), CHECK (withdraws < number));
CREATE INDEX pieces_by_mark ON edition_pieces(mark);
CREATE INDEX sown_by_mark ON edition_sown(mark);
CREATE INDEX crops_by_mark ON edition_crops(mark);
CREATE INDEX passes_by_mark ON edition_passes(mark);
CREATE INDEX editions_by_field ON editions(field);
CREATE INDEX entries_by_mark ON entries(mark);
CREATE TRIGGER entries_are_not_changed BEFORE UPDATE ON entries
  BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entries_are_not_deleted BEFORE DELETE ON entries
  BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
"""

_SECOND = """
ALTER TABLE entries ADD COLUMN test_weight_kg_per_m3 DOUBLE;
ALTER TABLE entries ADD COLUMN frame_m2 DOUBLE;
ALTER TABLE edition_sown ADD COLUMN drilled BOOLEAN NOT NULL DEFAULT 0;
"""

_THIRD = """
ALTER TABLE edition_sown ADD COLUMN reaped BOOLEAN NOT NULL DEFAULT 1;
"""

STEPS: tuple[str, ...] = ("", _FIRST, _SECOND, _THIRD)
"""What makes each version of the one before it, by its number."""


@cache
def empty_store(version: int = VERSION) -> bytes:
    """Give the file of a store that holds nothing yet."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as base:
        base.executescript(_GEOPACKAGE)
        base.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", _SYSTEMS)
        base.executescript(COLUMNS_SCHEMA)
        bring_up(base, 0, version)
        return base.serialize()


def bring_up(base: sqlite3.Connection, version: int, to: int = VERSION) -> None:
    """Bring a store from one version to another, and describe its tables anew.

    The caller holds a transaction, or none is needed: all of it is done, or nothing.
    """
    for step in STEPS[version + 1 : to + 1]:
        for statement in _statements(step):
            base.execute(statement)
    base.execute(f"UPDATE {IDENTITY} SET version = ?", (to,))  # noqa: S608 - a name of ours
    _describe(base)


def _statements(script: str) -> list[str]:
    """Part a script into its statements; of a trigger those within it stay together."""
    found, whole = [], ""
    for line in script.strip().splitlines():
        whole += line + "\n"
        if sqlite3.complete_statement(whole):
            found.append(whole)
            whole = ""
    return found


def _describe(base: sqlite3.Connection) -> None:
    """Say in the tables of a GeoPackage which layers and columns there are, and what they mean."""
    for name in (*STORE_TABLES, IDENTITY):
        shape = SHAPES.get(name)
        base.execute(
            "INSERT OR IGNORE INTO gpkg_contents (table_name, data_type, identifier, description, "
            "last_change, srs_id) VALUES (?, ?, ?, ?, ?, ?)",
            (name, "attributes" if shape is None else "features", name, TABLES[name], STAMP,
             None if shape is None else 4326),
        )  # fmt: skip
        if shape is not None:
            line = (name, *shape, 4326, 0, 0)
            base.execute(
                "INSERT OR IGNORE INTO gpkg_geometry_columns VALUES (?, ?, ?, ?, ?, ?)", line
            )
        there = {line[1] for line in base.execute(f"PRAGMA table_info({name})")}
        base.executemany(
            "INSERT OR REPLACE INTO gpkg_data_columns VALUES (?, ?, ?, NULL, ?, NULL, NULL)",
            [
                (name, one.name, one.name, described(one))
                for one in columns_of(name)
                if one.name in there
            ],
        )
