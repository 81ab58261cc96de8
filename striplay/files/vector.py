"""Write tables of geometries as GeoJSON (RFC 7946) and GeoPackage, the same bytes every time."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pyogrio

from striplay.ground import Plane

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

STAMP = "2000-01-01T00:00:00.000Z"
"""The date GeoPackage stamps on its layers; fixed, so that the same plan gives the same bytes."""

DECIMALS = 6
"""Places of numbers in files: a millionth of a square metre or of a seed."""

GEOMETRY_TYPES = {
    "field": "Polygon",
    "headland": "Polygon",
    "strips": "Polygon",
    "rows": "LineString",
    "passes": "LineString",
    "leftover": "Polygon",
}


def to_lonlat(table: "GeoDataFrame", plane: Plane) -> "GeoDataFrame":
    """Bring a table from the local plane to WGS 84 longitude and latitude, numbers rounded."""
    geometry = plane.geometries_to_lonlat(table.geometry.to_numpy())
    return table.round(DECIMALS).set_geometry(geometry, crs="EPSG:4326")


def write_geojson(table: "GeoDataFrame", path: Path, name: str) -> None:
    """Write a table, already in longitude and latitude, as RFC 7946 GeoJSON."""
    pyogrio.write_dataframe(
        table,
        path,
        layer=name,
        driver="GeoJSON",
        geometry_type=GEOMETRY_TYPES[name],
        layer_options={"RFC7946": "YES", "WRITE_NAME": "NO"},
    )


def write_geopackage(tables: Mapping[str, "GeoDataFrame"], path: Path) -> None:
    """Write tables, already in longitude and latitude, as the layers of one GeoPackage."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": STAMP})
    try:
        for name, table in tables.items():
            pyogrio.write_dataframe(
                table,
                path,
                layer=name,
                driver="GPKG",
                geometry_type=GEOMETRY_TYPES[name],
                append=path.exists(),
            )
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
