"""Bring layers into the longitude and latitude that files hold."""

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from striplay.ground import Plane
from striplay.tolerances import GEOJSON_STEP_DEG, HAIR_SHARE

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from pandas import DataFrame

Geometries = npt.NDArray[np.object_]

DECIMALS = 6
"""Places of numbers in files: a millionth of a square meter or of a seed."""
DEGREES, DEGREE_DECIMALS = ("_longitude", "_latitude"), 7
"""Endings of columns in degrees, and their places: about a centimeter."""
LINE = 1
"""The dimension of lines."""


def to_lonlat(table: "GeoDataFrame", plane: Plane) -> "GeoDataFrame":
    """Bring a table from the local plane to WGS 84 longitude and latitude, numbers rounded.

    Longitudes of a field across the 180th meridian run on past 180, so that each of its shapes
    stays whole.
    """
    geometry = shapes_to_lonlat(table.geometry.to_numpy(), plane)
    return table.round(places_of(table)).set_geometry(geometry, crs="EPSG:4326")


def shapes_to_lonlat(shapes: Geometries, plane: Plane) -> Geometries:
    """Bring shapes from the local plane to WGS 84 longitude and latitude, all of them valid."""
    return _valid(plane.geometries_to_lonlat(shapes))


def places_of(table: "DataFrame") -> dict[str, int]:
    """Give how many places the numbers of each column have in files."""
    names = map(str, table.columns)
    return {name: DEGREE_DECIMALS if name.endswith(DEGREES) else DECIMALS for name in names}


def _valid(geometry: Geometries) -> Geometries:
    """Mend polygons whose hair-thin necks the rounding of degrees made to cross themselves."""
    mended = geometry.copy()
    for index in np.flatnonzero(~shapely.is_valid(geometry)):
        whole = shapely.make_valid(geometry[index], method="structure", keep_collapsed=False)
        parts = shapely.get_parts(whole)
        real = parts[shapely.area(parts) > HAIR_SHARE * float(whole.area)]
        mended[index] = real[0] if len(real) == 1 else shapely.multipolygons(real)
    return mended


def rounded(geometry: Geometries) -> Geometries:
    """Round polygons to the step of GeoJSON so that they stay valid; no shape is lost."""
    shapes = shapely.set_precision(geometry, GEOJSON_STEP_DEG)
    return np.where(shapely.is_empty(shapes), geometry, shapes)


def cut_at_180(geometry: Geometries) -> Geometries:
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
