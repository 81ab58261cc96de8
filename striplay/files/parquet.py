"""Read GeoParquet, where pyarrow is installed."""

import importlib.util
import json
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from striplay.crs import NAMES_FILES, names_files
from striplay.files.geojson import Found
from striplay.files.regular import check_table, too_large
from striplay.limits import MAX_BINARY_BYTES, MAX_DATA_BYTES, MAX_FEATURES

if TYPE_CHECKING:
    from pyarrow.parquet import ParquetFile

NEEDED = (
    'is GeoParquet, which needs pyarrow (pip install "striplay[parquet]"); or save it as GeoPackage'
)


BYTES_OF_VERTEX = 16
"""Two numbers: formats that do not pack their content are measured by their bytes alone."""


def read_parquet(path: Path) -> tuple[str, list[Found]]:
    """Read the features of a GeoParquet file, and its coordinate reference system.

    Raises:
        ValueError: pyarrow is not installed, or it is no GeoParquet, or too large.
    """
    if importlib.util.find_spec("pyarrow") is None:
        raise ValueError(NEEDED)
    import geopandas as gpd  # noqa: PLC0415 - heavy to load

    try:
        hostile = _names_files(path)
        count, size = _count(path)
        most = MAX_DATA_BYTES
        if not hostile and count <= MAX_FEATURES and size <= most:
            size, most = _spelled_out(path), MAX_BINARY_BYTES
        fit = not hostile and count <= MAX_FEATURES and size <= most
        frame = gpd.read_parquet(path, columns=_columns(path)) if fit else None
    except Exception as error:  # pyarrow has errors of every kind
        raise ValueError("can't be read: it is damaged, or no GeoParquet") from error
    if hostile:
        raise ValueError(NAMES_FILES)
    if count > MAX_FEATURES:
        raise ValueError(f"has {count:,} features; at most {MAX_FEATURES:,} are read")
    if frame is None:
        raise ValueError(f"unpacked, {too_large(size, most)}")
    check_table("it", count, len(frame.columns) - 1)
    vertices = int(shapely.get_num_coordinates(frame.geometry.to_numpy()).sum())
    if vertices * BYTES_OF_VERTEX > MAX_BINARY_BYTES:
        raise ValueError(f"holds {vertices:,} vertices; choose one field before you save it")
    rows = frame.drop(columns=frame.geometry.name).to_dict("records")
    values = [{str(name): value for name, value in row.items()} for row in rows]
    shapes = [None if shape is None else shape.__geo_interface__ for shape in frame.geometry]
    crs = "" if frame.crs is None else frame.crs.to_wkt()
    return crs, list(zip(values, shapes, strict=True))


Stream = tuple[str, tuple[str, ...], int, Callable[[], Iterator[Found]]]
"""Coordinate reference system, columns, how many features, and what gives them one at a time."""


def stream_parquet(path: Path) -> Stream:
    """Open a GeoParquet file to take its features one at a time; errors as `read_parquet`."""
    if importlib.util.find_spec("pyarrow") is None:
        raise ValueError(NEEDED)
    from pyarrow.parquet import ParquetFile  # noqa: PLC0415 - heavy to load

    try:
        hostile = _names_files(path)
        with ParquetFile(path) as file:
            stated = json.loads(file.schema_arrow.metadata[b"geo"])
            names, number = list(file.schema_arrow.names), int(file.metadata.num_rows)
            groups = (file.metadata.row_group(at) for at in range(file.metadata.num_row_groups))
            largest = max((one.total_byte_size for one in groups), default=0)
        shapes = stated["primary_column"]
        told = stated["columns"][shapes]
        columns = tuple(name for name in names if name not in stated["columns"])
        crs = told.get("crs", "OGC:CRS84")  # by the standard, where it is left out
    except Exception as error:  # pyarrow has errors of every kind
        raise ValueError("can't be read: it is damaged, or no GeoParquet") from error
    if hostile:
        raise ValueError(NAMES_FILES)
    if told.get("encoding") != "WKB":
        raise ValueError("holds its shapes in another encoding than WKB; save it with WKB")
    if largest > MAX_DATA_BYTES:
        large = too_large(largest, MAX_DATA_BYTES)
        raise ValueError(f"of one row group, {large}; save it in smaller ones")
    system = "" if crs is None else crs if isinstance(crs, str) else json.dumps(crs)
    return system, columns, number, lambda: _streamed(path, columns, shapes)


ROWS_AT_ONCE = 500
"""Rows that are unpacked at once: a few hundred kilobytes."""


def _streamed(path: Path, columns: Sequence[str], shapes: str) -> Iterator[Found]:
    from pyarrow.parquet import ParquetFile  # noqa: PLC0415 - heavy to load

    with ParquetFile(path) as file:
        batches = file.iter_batches(ROWS_AT_ONCE, columns=[*columns, shapes])
        while True:
            try:
                batch = next(batches, None)
                rows = [] if batch is None else batch.to_pylist()
                packed = [row.pop(shapes) for row in rows]
                found = shapely.from_wkb(packed, on_invalid="ignore")  # one bad is none
            except Exception as error:
                raise ValueError("can't be read: it is damaged, or no GeoParquet") from error
            if batch is None:
                return
            for row, shape in zip(rows, found, strict=True):
                yield row, None if shape is None else shape.__geo_interface__


def _names_files(path: Path) -> bool:
    """Tell whether the coordinate reference system of any column names further files."""
    from pyarrow.parquet import read_schema  # noqa: PLC0415 - heavy to load, and may be missing

    stated = json.loads((read_schema(path).metadata or {})[b"geo"])["columns"].values()
    systems = [one["crs"] for one in stated if one.get("crs") is not None]
    return any(names_files(one if isinstance(one, str) else json.dumps(one)) for one in systems)


def _count(path: Path) -> tuple[int, int]:
    """Give how many rows a file says it has, and how many bytes they unpack to.

    Numbers count as many bytes as they take in memory: a file may say of millions that they are
    alike. A text that it holds once for many rows counts once.
    """
    from pyarrow.parquet import ParquetFile  # noqa: PLC0415 - heavy to load, and may be missing

    with ParquetFile(path) as file:
        groups = [file.metadata.row_group(index) for index in range(file.metadata.num_row_groups)]
        sizes = [max(BYTES_OF_NUMBER, file.schema.column(i).length or 0) for i in _leaves(file)]
    rows = sum(group.num_rows for group in groups)
    numbers = sum(group.column(i).num_values * n for group in groups for i, n in enumerate(sizes))
    return rows, max(numbers, sum(group.total_byte_size for group in groups))


def _spelled_out(path: Path) -> int:
    """Give how many bytes texts and shapes take where each row has its own."""
    from pyarrow.compute import binary_length  # noqa: PLC0415 - heavy to load, and may be missing
    from pyarrow.parquet import ParquetFile  # noqa: PLC0415 - as above

    with ParquetFile(path) as file:
        names = [file.schema.column(i).path for i in _leaves(file) if _is_text(file, i)]
    size = 0
    with ParquetFile(path, read_dictionary=names) as file:
        for name in names:
            for chunk in file.read(columns=[name]).column(0).chunks:
                lengths = np.asarray(binary_length(chunk.dictionary).to_numpy(zero_copy_only=False))
                held = np.asarray(chunk.indices.drop_null().to_numpy(zero_copy_only=False))
                size += int(lengths[held].sum()) if len(held) else 0
    return size


def _columns(path: Path) -> list[str]:
    """Name the columns that hold a value a row, and those of shapes; lists are of no use here."""
    from pyarrow.parquet import ParquetFile  # noqa: PLC0415 - heavy to load, and may be missing

    with ParquetFile(path) as file:
        shapes = json.loads(file.metadata.metadata[b"geo"])["columns"]
        paths = [file.schema.column(i).path for i in _leaves(file)]
    nested = {one.split(".")[0] for one in paths if "." in one} - set(shapes)
    return [one for one in dict.fromkeys(each.split(".")[0] for each in paths) if one not in nested]


def _leaves(file: "ParquetFile") -> range:
    return range(len(file.schema))


def _is_text(file: "ParquetFile", index: int) -> bool:
    """Tell whether a column has bytes of any length, one value a row."""
    column = file.schema.column(index)
    return column.physical_type == "BYTE_ARRAY" and "." not in column.path


BYTES_OF_NUMBER = 8
"""The largest number of a column; texts have at least the place of one."""
