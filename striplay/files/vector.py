"""Write tables of geometries as GeoJSON (RFC 7946) and GeoPackage, the same bytes every time."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pyogrio
import shapely
from pyogrio.errors import DataLayerError, DataSourceError, FeatureError

from striplay.ground import Plane
from striplay.tolerances import GEOJSON_STEP_DEG, HAIR_SHARE

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

STAMP = "2000-01-01T00:00:00.000Z"
"""The date GeoPackage stamps on its layers; fixed, so that the same plan gives the same bytes."""

WRITING = {"OGR_CURRENT_DATE": STAMP, "OGR_SQLITE_SYNCHRONOUS": "OFF"}
"""How a GeoPackage is written. After each layer it need not wait for the disk: all files do
once, before their folder takes its place."""

DECIMALS = 6
"""Places of numbers in files: a millionth of a square meter or of a seed."""

GEOMETRY_TYPES = {
    "field": "Polygon",
    "headland": "Polygon",
    "strips": "Polygon",
    "rows": "LineString",
    "passes": "LineString",
    "leftover": "Polygon",
}


def to_lonlat(table: "GeoDataFrame", plane: Plane) -> "GeoDataFrame":
    """Bring a table from the local plane to WGS 84 longitude and latitude, numbers rounded.

    Longitudes of a field across the 180th meridian run on past 180, so that each of its shapes
    stays whole; the GeoPackage holds them so.
    """
    geometry = _valid(plane.geometries_to_lonlat(table.geometry.to_numpy()))
    return table.round(DECIMALS).set_geometry(geometry, crs="EPSG:4326")


def _valid(geometry: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    """Mend polygons whose hair-thin necks the rounding of degrees made to cross themselves."""
    mended = geometry.copy()
    for index in np.flatnonzero(~shapely.is_valid(geometry)):
        whole = shapely.make_valid(geometry[index], method="structure", keep_collapsed=False)
        parts = shapely.get_parts(whole)
        real = parts[shapely.area(parts) > HAIR_SHARE * float(whole.area)]
        mended[index] = real[0] if len(real) == 1 else shapely.multipolygons(real)
    return mended


@contextmanager
def _refused_by_system(path: Path) -> Iterator[None]:
    """Turn what a writer says of a full disk into the error that writing a file gives."""
    try:
        yield
    except (DataLayerError, DataSourceError, FeatureError) as error:
        # its own words are of tables and transactions
        raise OSError(f"the disk is full, or refuses {path.name}") from error


def write_geojson(table: "GeoDataFrame", path: Path, name: str) -> None:
    """Write a table, already in longitude and latitude, as RFC 7946 GeoJSON.

    Shapes across the 180th meridian are cut there (section 3.1.9). Polygons are rounded here and
    not by the writer, so that they stay valid.
    """
    geometry = _cut_at_180(table.geometry.to_numpy())
    if GEOMETRY_TYPES[name] == "Polygon":
        rounded = shapely.set_precision(geometry, GEOJSON_STEP_DEG)
        geometry = np.where(shapely.is_empty(rounded), geometry, rounded)
    table = table.set_geometry(geometry, crs=table.crs)
    with _refused_by_system(path):
        pyogrio.write_dataframe(
            table,
            path,
            layer=name,
            driver="GeoJSON",
            geometry_type=GEOMETRY_TYPES[name],
            layer_options={"RFC7946": "YES", "WRITE_NAME": "NO"},
        )


def _cut_at_180(geometry: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    """Cut shapes whose longitudes run past 180 or -180 there, and bring each part back into range.

    A line or polygon that is cut becomes several of its kind in one; a line's in its own order.
    """
    cut = geometry.copy()
    bounds = shapely.bounds(geometry)
    for index in np.flatnonzero(np.abs(bounds[:, [0, 2]]).max(axis=1, initial=0.0) > 180):  # noqa: PLR2004 - degrees
        whole = geometry[index]
        level = shapely.get_dimensions(whole)
        turns = np.array([-360, 0, 360])
        worlds = shapely.box(turns - 180, -90, turns + 180, 90)
        parts, of = shapely.get_parts(shapely.intersection(whole, worlds), return_index=True)
        same = (shapely.get_dimensions(parts) == level) & ~shapely.is_empty(parts)
        parts, of = parts[same], of[same]
        if level == LINE:
            along = shapely.line_locate_point(whole, shapely.get_point(parts, 0))
            parts, of = parts[np.argsort(along)], of[np.argsort(along)]
        back = [
            shapely.transform(part, partial(np.add, [-turn, 0]))
            for part, turn in zip(parts, turns[of], strict=True)
        ]
        several = shapely.multilinestrings if level == LINE else shapely.multipolygons
        cut[index] = back[0] if len(back) == 1 else several(back)
    return cut


LINE = 1
"""The dimension of lines."""


def write_geopackage(tables: Mapping[str, "GeoDataFrame"], path: Path) -> None:
    """Write tables, already in longitude and latitude, as the layers of one GeoPackage."""
    before = {option: pyogrio.get_gdal_config_option(option) for option in WRITING}
    pyogrio.set_gdal_config_options(WRITING)
    try:
        for name, table in tables.items():
            with _refused_by_system(path):
                pyogrio.write_dataframe(
                    table,
                    path,
                    layer=name,
                    driver="GPKG",
                    geometry_type=GEOMETRY_TYPES[name],
                    append=path.exists(),
                )
    finally:
        pyogrio.set_gdal_config_options(before)
