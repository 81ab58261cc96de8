"""Write a part of the tables of many fields, as GeoParquet or as GeoPackage."""

from collections.abc import Iterable, Mapping, Sequence
from importlib.util import find_spec
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import shapely

from striplay.column import Column
from striplay.columns import MANY_LAYERS, columns_of
from striplay.errors import OutputError
from striplay.files.layers import places_of
from striplay.files.write_csv import csv_of
from striplay.files.writers import EXTRAS
from striplay.plan.faults import offered
from striplay.units import ACRE_M2, HECTARE_M2, UnitSystem

if TYPE_CHECKING:
    from pandas import DataFrame

GEOPARQUET, GEOPACKAGE = KINDS = ("geoparquet", "geopackage")
SHAPE = "geometry"
Lines = Mapping[str, Sequence[Any]]
"""Values of a table by column; shapes as WKB under `SHAPE`."""


def settled_kind(asked: str | None) -> str:
    """Give the kind of files that is written: GeoParquet where it can be, if none is asked for.

    Raises:
        OutputError: no such kind, or its library is missing.
    """
    there = find_spec("pyarrow") is not None
    if asked is None:
        return GEOPARQUET if there else GEOPACKAGE
    if asked not in KINDS:
        raise OutputError(f'no kind of file "{asked}"{offered(asked, KINDS)}')
    if asked == GEOPARQUET and not there:
        extra = f"striplay[{EXTRAS['pyarrow']}]"
        raise OutputError(f'{asked}: needs pyarrow; pip install "{extra}"')
    return asked


def write_part(
    folder: Path, number: int, tables: Mapping[str, Lines], kind: str
) -> dict[str, Path]:
    """Write a part of the tables.

    Args:
        folder: where to.
        number: of the part.
        tables: lines of each table, by its name; a table without lines too.
        kind: one of `KINDS`.

    Returns:
        Where each file lies, by its path from the output folder.
    """
    frames = {name: _frame(name, lines) for name, lines in tables.items()}
    if kind == GEOPACKAGE:
        from striplay.files.write_geopackage import (  # noqa: PLC0415 - heavy to load
            describe_columns,
            write_geopackage,
        )

        path = folder / f"part-{number:06}.gpkg"
        write_geopackage(frames, path)
        describe_columns(frames, path)
        return {f"parts/{path.name}": path}
    found = {}
    for name, frame in frames.items():
        path = folder / f"{name}.parquet"
        if name in MANY_LAYERS:
            frame.to_parquet(path, index=False, schema_version="1.1.0", write_covering_bbox=True)
        else:
            frame.to_parquet(path, index=False)
        found[f"{name}/part-{number:06}.parquet"] = path
    return found


def _frame(name: str, lines: Lines) -> "DataFrame":
    """Make a table of its lines, its columns ordered and typed, the same in every part."""
    import geopandas as gpd  # noqa: PLC0415 - heavy to load
    import pandas as pd  # noqa: PLC0415 - likewise

    count = len(lines["number"])
    columns = {
        column.name: _typed(column, lines.get(column.name, [None] * count))
        for column in columns_of(name)
        if not column.only or column.name in lines
    }
    frame = pd.DataFrame(columns)
    frame = frame.round(places_of(frame))
    if name not in MANY_LAYERS:
        return frame
    return gpd.GeoDataFrame(frame, geometry=shapely.from_wkb(lines[SHAPE]), crs="EPSG:4326")


def _typed(column: Column, values: Sequence[Any]) -> Any:  # noqa: ANN401 - pandas' own arrays
    """Give a column's values a type that does not go by what they happen to be."""
    import pandas as pd  # noqa: PLC0415 - heavy to load

    types = {"text": "string", "number": "Float64", "whole number": "Int64", "yes or no": "boolean"}
    typed: Any = pd.array(values, dtype=cast("Any", types[column.type]))
    return typed.to_numpy("float64", na_value=float("nan")) if column.type == "number" else typed


def append_list(
    path: Path,
    name: str,
    table: str,
    lists: Iterable[Sequence[Mapping[str, Any]]],
    units: UnitSystem,
    *,
    driven: bool,
) -> None:
    """Write lines of a table as CSV, part by part.

    Args:
        path: the file.
        name: what it is called among the tables.
        table: whose lines they are.
        lists: the lines of each part.
        units: adds the area in acres or hectares.
        driven: whether lines have figures of operations.
    """
    import pandas as pd  # noqa: PLC0415 - heavy to load

    described = [one for one in columns_of(table) if driven or not one.only]
    area, each_m2 = ("area_acres", ACRE_M2) if units == "us" else ("area_ha", HECTARE_M2)
    with path.open("wb") as file:
        for number, lines in enumerate(chain([()], lists)):  # the first part is its head alone
            frame = pd.DataFrame(
                {one.name: _typed(one, [line.get(one.name) for line in lines]) for one in described}
            )
            frame[area] = frame["area_m2"] / each_m2
            head, _, body = csv_of(frame, name).partition(b"\n")
            file.write(body if number else head + b"\n")
