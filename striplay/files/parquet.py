"""Read GeoParquet, where pyarrow is installed."""

import importlib.util
from pathlib import Path

from striplay.files.geojson import Found

NEEDED = "is GeoParquet, which needs pyarrow (pip install pyarrow); or save it as GeoPackage"


def read_parquet(path: Path) -> tuple[str, list[Found]]:
    """Read the features of a GeoParquet file, and its coordinate reference system.

    Raises:
        ValueError: pyarrow is not installed, or it is no GeoParquet.
    """
    if importlib.util.find_spec("pyarrow") is None:
        raise ValueError(NEEDED)
    import geopandas as gpd  # noqa: PLC0415 - heavy to load

    try:
        frame = gpd.read_parquet(path)
    except Exception as error:  # pyarrow has errors of every kind
        raise ValueError("can't be read: it is damaged, or no GeoParquet") from error
    rows = frame.drop(columns=frame.geometry.name).to_dict("records")
    values = [{str(name): value for name, value in row.items()} for row in rows]
    shapes = [None if shape is None else shape.__geo_interface__ for shape in frame.geometry]
    crs = "" if frame.crs is None else frame.crs.to_wkt()
    return crs, list(zip(values, shapes, strict=True))
