"""Write layers as Shapefiles in one zip, the same bytes every time."""

import io
import zipfile
from typing import TYPE_CHECKING, Any

import pyogrio

from striplay.column import short_name
from striplay.columns import LAYERS
from striplay.files.content import Content
from striplay.files.scratch import written

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

DAY = (2000, 1, 1)
"""The day that files bear; fixed, so that the same plan gives the same bytes."""
TEXT_BYTES = 254
"""Longest text of a column; the format has no room for more."""


def encode(content: Content) -> dict[str, bytes]:
    """Give layout_shp.zip: of each layer its shapes, table, coordinate system and encoding."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as together:
        for name, table in content.layers.items():
            for file, data in _shapefile_of(table, name).items():
                entry = zipfile.ZipInfo(file, (*DAY, 0, 0, 0))
                entry.compress_type = zipfile.ZIP_DEFLATED
                together.writestr(entry, data)
    return {"layout_shp.zip": packed.getvalue()}


def _shapefile_of(table: "GeoDataFrame", name: str) -> dict[str, bytes]:
    """Give the files of one layer, its names short and its texts cut to what the format holds."""
    short = table.rename(columns=short_name)
    for column in (column for column in short if short[column].dtype.kind == "O"):
        short[column] = short[column].map(cut)
    how: dict[str, Any] = {
        "driver": "ESRI Shapefile",
        "geometry_type": LAYERS[name],
        "layer_options": {
            "ENCODING": "UTF-8",
            "DBF_DATE_LAST_UPDATE": "{}-{:02}-{:02}".format(*DAY),
        },
    }
    return written(f"{name}.shp", lambda path: pyogrio.write_dataframe(short, path, **how))


def cut(text: object) -> object:
    """Cut a text to the bytes that fit, no letter in two."""
    if not isinstance(text, str):
        return text
    return text.encode()[:TEXT_BYTES].decode(errors="ignore")
