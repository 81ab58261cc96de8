"""Write layers as GeoJSON (RFC 7946)."""

import io
from typing import TYPE_CHECKING

import pyogrio

from striplay.columns import LAYERS
from striplay.files.content import Content
from striplay.files.layers import cut_at_180, rounded

if TYPE_CHECKING:
    from geopandas import GeoDataFrame


def encode(content: Content) -> dict[str, bytes]:
    """Give the GeoJSON files; that of passes holds the ways between them where asked for."""
    layers = {name: content.layers[name] for name in ("strips", "rows", "headland")}
    layers["passes"] = content.ways
    return {f"{name}.geojson": geojson_of(table, name) for name, table in layers.items()}


def geojson_of(table: "GeoDataFrame", name: str) -> bytes:
    """Give a table, already in longitude and latitude, as RFC 7946 GeoJSON.

    Shapes across the 180th meridian are cut there (section 3.1.9). Polygons are rounded here and
    not by the writer, so that they stay valid.
    """
    geometry = cut_at_180(table.geometry.to_numpy())
    if LAYERS[name] == "Polygon":
        geometry = rounded(geometry)
    text = io.BytesIO()
    pyogrio.write_dataframe(
        table.set_geometry(geometry, crs=table.crs),
        text,
        layer=name,
        driver="GeoJSON",
        geometry_type=LAYERS[name],
        layer_options={"RFC7946": "YES", "WRITE_NAME": "NO"},
    )
    return text.getvalue()
