"""Read polygons from any vector file fiona opens."""

import json
import math
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import fiona
import numpy as np
import shapely
import shapely.geometry
from fiona.errors import FionaError

from striplay.errors import BoundaryError
from striplay.ground import Shapes
from striplay.notices import Notice


def read_shapes(
    path: Path,
    *,
    crs: str | None = None,
    layer: str | None = None,
    where: str | None = None,
    but: str | None = None,
    any_kind: bool = False,
) -> Shapes:
    """Read the polygons of a file.

    Args:
        path: any vector file fiona opens, zipped too.
        crs: coordinate reference system, where the file has none.
        layer: which layer; may be left out where there is only one.
        where: which features, as an SQL condition; all when left out.
        but: which features to leave out, as an SQL condition.
        any_kind: points and lines too; `crs` then serves only where the file has none.

    Raises:
        BoundaryError: a file that can't be read, no CRS, no features, or features that are no
            polygons; the message says which and what would do.
    """
    if not path.exists():
        raise BoundaryError(f"{path}: no such file; a plan names files as seen from itself")
    source = path.name
    try:
        chosen = _choose_layer(source, list_layers(path), layer)
        with fiona.open(_address(path), layer=chosen, allow_unsupported_drivers=True) as collection:
            file_crs = collection.crs_wkt
            if any_kind and file_crs and not _assumed(collection.driver, path):
                crs = None
            if collection.driver.startswith("GeoJSON") and crs and not _geojson_states_crs(path):
                file_crs = ""
            features = [
                (
                    f"feature {number}",
                    feature.geometry.__geo_interface__ if feature.geometry else None,
                )
                for number, feature in _chosen(collection, where, but)
            ]
    except (FionaError, ValueError, AttributeError) as error:
        told = " ".join(str(error).split())
        hint = f' with where = "{where}"' if where else ""
        raise BoundaryError(f"{source}: can't be read{hint}: {told}") from error
    settled = _settle_crs(source, file_crs, crs)
    return checked_shapes(source, features, settled, where=where, any_kind=any_kind)


def read_crossed(path: Path, *, crs: str | None, where: str) -> Shapes:
    """Read the lines and polygons of a file that wheels may cross.

    Raises:
        BoundaryError: as `read_shapes`; or a point among them, such as a pole.
    """
    shapes = read_shapes(path, crs=crs, where=where, any_kind=True)
    for label, kind in zip(shapes.labels, shapely.get_dimensions(shapes.polygons), strict=True):
        if kind == POINT:
            raise BoundaryError(
                f"{shapes.source}: {label} is a point, and `through` is for lines and polygons "
                "that wheels may cross; leave it out of through and it is passed beside"
            )
    return shapes


POINT = 0
"""The dimension of points."""


def has_others(path: Path, but: str) -> bool:
    """Tell whether a file has features besides some; False where it can't be read."""
    try:
        with fiona.open(_address(path), allow_unsupported_drivers=True) as collection:
            return any(True for _ in _chosen(collection, None, but))
    except (FionaError, ValueError, AttributeError):
        return False


def _chosen(
    collection: Any,  # noqa: ANN401 - fiona's
    where: str | None,
    but: str | None,
) -> Iterator[tuple[int, Any]]:
    """Give features by condition, each with its number among all that the file holds.

    One of no known value is left out by neither.
    """
    kept = None if where is None else {feature.id for feature in collection.filter(where=where)}
    left_out = set() if but is None else {feature.id for feature in collection.filter(where=but)}
    return (
        (number, feature)
        for number, feature in enumerate(collection.filter(), start=1)
        if (kept is None or feature.id in kept) and feature.id not in left_out
    )


def list_layers(path: Path) -> list[str]:
    """List a file's layers; errors as in `read_shapes`."""
    try:
        return list(fiona.listlayers(_address(path)))
    except (FionaError, ValueError) as error:
        raise BoundaryError(
            f"{path.name}: can't be read: it is empty, damaged or in no known vector format"
        ) from error


def _address(path: Path) -> str:
    return f"/vsizip/{path}" if _is_plain_zip(path) else str(path)


def _is_plain_zip(path: Path) -> bool:
    """Tell a zip that holds a vector file from formats that are zips inside, such as KMZ."""
    return path.suffix.lower() == ".zip" and zipfile.is_zipfile(path)


def _choose_layer(source: str, layers: list[str], layer: str | None) -> str:
    if layer is not None and layer not in layers:
        raise BoundaryError(f'{source}: has no layer "{layer}"; it has {", ".join(layers)}')
    if layer is None and len(layers) > 1:
        raise BoundaryError(
            f"{source}: has {len(layers)} layers ({', '.join(layers)}); choose one in the plan, "
            f'such as layer = "{layers[0]}"'
        )
    if not layers:
        raise BoundaryError(f"{source}: holds no layer")
    return layer or layers[0]


def _geojson_states_crs(path: Path) -> bool:
    """Tell whether GeoJSON names a CRS, as it did before RFC 7946; without, WGS 84 is assumed."""
    try:
        return "crs" in json.loads(path.read_bytes())
    except (OSError, ValueError):
        return True


def _settle_crs(source: str, file_crs: str, stated: str | None) -> str:
    if not file_crs and stated is None:
        raise BoundaryError(
            f"{source}: states no coordinate reference system; state it in the plan, such as "
            'crs = "EPSG:26915" under [field]'
        )
    if file_crs and stated is not None and not _same_crs(file_crs, stated):
        raise BoundaryError(
            f'{source}: states its own coordinate reference system, not crs = "{stated}"; take '
            "crs out of the plan"
        )
    return file_crs or str(stated)


def _same_crs(one: str, other: str) -> bool:
    try:
        return bool(fiona.crs.CRS.from_user_input(one) == fiona.crs.CRS.from_user_input(other))
    except FionaError:
        return False


def _assumed(driver: str, path: Path) -> bool:
    """Tell whether a CRS is assumed by the format, not stated by the file."""
    return driver.startswith("GeoJSON") and not _geojson_states_crs(path)


def checked_shapes(
    source: str,
    features: list[tuple[str, Any]],
    crs: str,
    *,
    where: str | None = None,
    any_kind: bool = False,
) -> Shapes:
    """Take shapes as GeoJSON geometries; errors as in `read_shapes`.

    Args:
        source: what messages call them.
        features: a label and a geometry each, None where a feature has none.
        crs: their coordinate reference system.
        where: how they were chosen, for messages.
        any_kind: points and lines too.
    """
    found = [(label, geometry) for label, geometry in features if _has_points(geometry)]
    notices = []
    if not found:
        chosen = f' chosen by where = "{where}"' if where else ""
        raise BoundaryError(f"{source}: holds no feature with a shape{chosen}")
    if len(found) < len(features):
        count = len(features) - len(found)
        noun = "feature" if count == 1 else "features"
        left_out = f"{source}: left out {count} {noun} without a shape"
        notices.append(Notice("boundary", "know", None, left_out))
    polygons: list[shapely.Geometry] = []
    labels, flat = [], True
    for label, geometry in found:
        if any_kind and "Polygon" not in geometry["type"]:
            for thin in _thin(source, label, geometry):
                polygons.append(thin)
                labels.append(label)
            continue
        for rings in _rings(source, label, geometry):
            flat &= all(len(point) == 2 for ring in rings for point in ring)  # noqa: PLR2004 - x, y
            polygons.append(_polygon(source, label, rings))
            labels.append(label)
    if not flat:
        dropped = f"{source}: heights or measures of its points were dropped"
        notices.append(Notice("boundary", "know", None, dropped))
    return Shapes(source, tuple(polygons), tuple(labels), crs, tuple(notices))


def _has_points(content: Any) -> bool:  # noqa: ANN401 - GeoJSON
    """Tell whether a geometry, its coordinates or its parts hold a point; an empty one does not."""
    if content is None:
        return False
    if isinstance(content, Mapping):
        return _has_points(content.get("coordinates", content.get("geometries")))
    return not isinstance(content, Sequence) or any(_has_points(each) for each in content)


def _thin(source: str, label: str, geometry: Any) -> Iterator[shapely.Geometry]:  # noqa: ANN401 - GeoJSON
    """Give the points and lines of a geometry."""
    for part in shapely.get_parts(shapely.force_2d(shapely.geometry.shape(geometry))):
        if not np.isfinite(shapely.get_coordinates(part)).all():
            raise BoundaryError(f"{source}: {label} has a coordinate that is not finite")
        yield part


def _rings(source: str, label: str, geometry: Any) -> Iterator[list[Any]]:  # noqa: ANN401 - GeoJSON
    """Give the rings of every polygon in a geometry."""
    kind = geometry["type"].removeprefix("3D ").removesuffix(" Z").removesuffix(" M")
    if kind == "Polygon":
        yield geometry["coordinates"]
    elif kind == "MultiPolygon":
        yield from (rings for rings in geometry["coordinates"] if rings)
    elif kind == "GeometryCollection":
        for part in geometry["geometries"]:
            yield from _rings(source, label, part)
    else:
        raise BoundaryError(
            f"{source}: {label} is a {kind}, not a polygon; close the boundary into a polygon, or "
            "choose the polygons with where or layer"
        )


def _polygon(source: str, label: str, rings: list[Any]) -> shapely.Polygon:
    flat = [[(float(point[0]), float(point[1])) for point in ring] for ring in rings]
    for number, ring in enumerate(flat, start=1):
        for index, point in enumerate(ring, start=1):
            if not all(math.isfinite(value) for value in point):
                raise BoundaryError(
                    f"{source}: {label}, ring {number}, vertex {index}: {point[0]}, {point[1]} is "
                    "not a finite coordinate"
                )
        if len(set(ring)) < 3:  # noqa: PLR2004 - a triangle
            raise BoundaryError(
                f"{source}: {label}, ring {number} has {len(set(ring))} different points; a ring "
                "has at least 3"
            )
    return shapely.Polygon(flat[0], flat[1:])
