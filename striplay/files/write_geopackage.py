"""Write layers as one GeoPackage 1.3, the same bytes every time."""

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyogrio

from striplay.column import Column, unit_of
from striplay.columns import (
    LAYERS,
    LOOKS,
    MANY_LAYERS,
    TABLES,
    VERSION,
    columns_of,
)
from striplay.files.content import Content
from striplay.files.scratch import written

if TYPE_CHECKING:
    from pandas import DataFrame

STAMP = "2000-01-01T00:00:00.000Z"
"""The date GeoPackage stamps on its layers; fixed, so that the same plan gives the same bytes."""

WRITING = {"OGR_CURRENT_DATE": STAMP, "OGR_SQLITE_SYNCHRONOUS": "OFF"}
"""How a GeoPackage is written. It need not wait for the disk: all files do once, before their
folder takes its place."""


COLUMNS_SCHEMA = """
CREATE TABLE gpkg_data_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
  mime_type TEXT, constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name));
CREATE TABLE gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
  min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));
INSERT INTO gpkg_extensions VALUES
  ('gpkg_data_columns', NULL, 'gpkg_schema',
   'http://www.geopackage.org/spec121/#extension_schema', 'read-write'),
  ('gpkg_data_column_constraints', NULL, 'gpkg_schema',
   'http://www.geopackage.org/spec121/#extension_schema', 'read-write');
"""
"""The tables that say what columns mean: the schema extension (OGC 12-128r17, annex F.9)."""


def encode(content: Content) -> dict[str, bytes]:
    """Give layout.gpkg: the layers, how crops are drawn, and which plan it is."""
    tables = {**content.layers, LOOKS: looks_of(content), VERSION: version_of(content)}

    def write(path: Path) -> None:
        write_geopackage(tables, path)
        describe_columns(tables, path)

    return written("layout.gpkg", write)


def describe_columns(tables: Mapping[str, "DataFrame"], path: Path) -> None:
    """Write into a GeoPackage what each column of its tables means, and its unit."""
    lines = [
        (name, column.name, column.name, described(column))
        for name, table in tables.items()
        for column in columns_of(name)
        if column.name in table
    ]
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("PRAGMA synchronous = OFF")
        base.executescript(COLUMNS_SCHEMA)
        base.executemany(
            "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, NULL, ?, NULL, NULL)", lines
        )


def described(column: Column) -> str:
    """Say what a column means and its unit."""
    unit = unit_of(column.name)
    return f"{column.meaning} Unit: {unit}." if unit else column.meaning


def looks_of(content: Content) -> "DataFrame":
    """Give how each crop and mixture is drawn, a line each."""
    looks = content.looks.items()
    return _table(
        LOOKS,
        [(name, look.letter, look.color, look.hatch, look.line) for name, look in looks],
    )


def version_of(content: Content) -> "DataFrame":
    """Give which plan it is, in one line."""
    plan = content.plan
    day = "" if plan.printed is None else plan.printed.isoformat()
    return _table(VERSION, [(plan.title, plan.farm.name, content.mark, day)])


def _table(name: str, lines: list[tuple[str, ...]]) -> "DataFrame":
    from pandas import DataFrame  # noqa: PLC0415 - heavy to load

    return DataFrame(lines, columns=[column.name for column in columns_of(name)])


def write_geopackage(tables: Mapping[str, "DataFrame"], path: Path) -> None:
    """Write tables as those of one GeoPackage, with what a line of each is.

    Args:
        tables: layers, already in longitude and latitude, and tables without shapes.
        path: where to.
    """
    before = {option: pyogrio.get_gdal_config_option(option) for option in WRITING}
    pyogrio.set_gdal_config_options(WRITING)
    try:
        for name, table in tables.items():
            new: dict[str, Any] = {"dataset_options": {"VERSION": "1.3"}}
            pyogrio.write_dataframe(
                table,
                path,
                layer=name,
                driver="GPKG",
                geometry_type={**LAYERS, **MANY_LAYERS}.get(name),
                layer_options={"IDENTIFIER": name, "DESCRIPTION": TABLES[name]},
                **({"append": True} if path.exists() else new),
            )
    finally:
        pyogrio.set_gdal_config_options(before)
