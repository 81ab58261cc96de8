"""Write layers as one GeoPackage, the same bytes every time."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pyogrio

from striplay.columns import LAYERS
from striplay.files.content import Content
from striplay.files.scratch import written

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

STAMP = "2000-01-01T00:00:00.000Z"
"""The date GeoPackage stamps on its layers; fixed, so that the same plan gives the same bytes."""

WRITING = {"OGR_CURRENT_DATE": STAMP, "OGR_SQLITE_SYNCHRONOUS": "OFF"}
"""How a GeoPackage is written. After each layer it need not wait for the disk: all files do
once, before their folder takes its place."""


def encode(content: Content) -> dict[str, bytes]:
    """Give layout.gpkg."""
    return written("layout.gpkg", lambda path: write_geopackage(content.layers, path))


def write_geopackage(tables: Mapping[str, "GeoDataFrame"], path: Path) -> None:
    """Write tables, already in longitude and latitude, as the layers of one GeoPackage."""
    before = {option: pyogrio.get_gdal_config_option(option) for option in WRITING}
    pyogrio.set_gdal_config_options(WRITING)
    try:
        for name, table in tables.items():
            pyogrio.write_dataframe(
                table,
                path,
                layer=name,
                driver="GPKG",
                geometry_type=LAYERS[name],
                append=path.exists(),
            )
    finally:
        pyogrio.set_gdal_config_options(before)
