"""Take the boundary from a GeoDataFrame instead of a file, with the same checks."""

import geopandas as gpd

from striplay.errors import BoundaryError
from striplay.files.shapes import checked_shapes
from striplay.ground import Shapes

SOURCE = "boundary"
"""What messages call it; its features are counted from 1, as in a file."""


def shapes_of(frame: gpd.GeoDataFrame) -> Shapes:
    """Take the polygons of a frame.

    Args:
        frame: one polygon a feature; its coordinate reference system must be set.

    Raises:
        BoundaryError: no frame, no coordinate reference system, no features, or features that are
            no polygons; the message says which and what would do.
    """
    if not isinstance(frame, gpd.GeoDataFrame):
        raise BoundaryError(f"{SOURCE}: is a {type(frame).__name__}; give a GeoDataFrame")
    try:
        shapes = frame.geometry
    except AttributeError as error:
        raise BoundaryError(
            f'{SOURCE}: no column of shapes is set; choose one, such as set_geometry("geometry")'
        ) from error
    if shapes.crs is None:
        raise BoundaryError(
            f"{SOURCE}: states no coordinate reference system; set it, such as "
            'set_crs("EPSG:26915")'
        )
    features = [
        (f"feature {number}", None if shape is None else shape.__geo_interface__)
        for number, shape in enumerate(shapes, start=1)
    ]
    return checked_shapes(SOURCE, features, shapes.crs.to_wkt())
