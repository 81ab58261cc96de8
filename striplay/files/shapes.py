"""Read polygons, lines and points from a vector file, and check them."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import shapely.geometry

from striplay.crs import same_crs
from striplay.errors import BoundaryError
from striplay.files.condition import Condition, Row, read_condition
from striplay.files.drawn import DRAWN
from striplay.files.vector_layers import FileLayer, LayerStream, read_layer
from striplay.ground import Shapes
from striplay.limits import MAX_HOLES, MAX_NESTED, MAX_OFFERED, MAX_VERTICES
from striplay.notices import Notice
from striplay.plain import shortened


def read_shapes(
    path: Path,
    *,
    crs: str | None = None,
    layer: str | None = None,
    where: str | None = None,
    any_kind: bool = False,
) -> Shapes:
    """Read the polygons of a file.

    Args:
        path: a vector file in one of the formats that are read, zipped too.
        crs: coordinate reference system, where the file has none.
        layer: which layer; may be left out where there is only one.
        where: which features, as a condition; all when left out.
        any_kind: points and lines too; `crs` then serves only where the file has none.

    Raises:
        BoundaryError: a file that can't be read, no CRS, no features, or features that are no
            polygons; the message says which and what would do.
    """
    found = read_layer(path, layer)
    chosen = _chosen(path.name, found, "where", where)
    settled = settle_crs(path.name, found, crs, any_kind=any_kind)
    told = "" if where is None else f' chosen by where = "{where}"'
    shapes = checked_shapes(path.name, chosen[0], settled, told, any_kind=any_kind)
    if any(values.get(DRAWN) is True for values, _ in found.features):
        said = f"{path.name}: is drawn by hand; measure the field before seed is bought by its area"
        shapes = replace(shapes, notices=(*shapes.notices, Notice("example", "mind", None, said)))
    return replace(shapes, chosen=where is not None)


def read_obstacles(
    path: Path, *, crs: str | None, through: str | None
) -> tuple[Shapes | None, Shapes | None]:
    """Read obstacles of any kind: those gone around, and those that machines lift through.

    One of which the condition `through` does not say whether is gone around.

    Returns:
        Each None where there are none, but that a condition chooses some.

    Raises:
        BoundaryError: as `read_shapes`; or a point among those lifted through, such as a pole.
    """
    found = read_layer(path)
    settled = settle_crs(path.name, found, crs, any_kind=True)
    if len(found.features) > MAX_HOLES:
        raise BoundaryError(
            f"{path.name}: has {len(found.features):,} obstacles; at most {MAX_HOLES:,} are read, "
            "so leave out those far from the field"
        )
    names = _names(found)
    if through is None:
        around, _ = _chosen(path.name, found, "through", None)
        return replace(checked_shapes(path.name, around, settled, any_kind=True), names=names), None
    lifted, around = _chosen(path.name, found, "through", through)
    told = f' chosen by through = "{through}"'
    crossed = checked_shapes(path.name, lifted, settled, told, any_kind=True)
    crossed = replace(crossed, names=names)
    for label, kind in zip(crossed.labels, shapely.get_dimensions(crossed.polygons), strict=True):
        if kind == POINT:
            raise BoundaryError(
                f"{path.name}: {label} is a point, and `through` is for lines and polygons "
                "that wheels may cross; leave it out of through and it is passed beside"
            )
    if not any(geometry for _, geometry in around):
        return None, crossed
    shapes = checked_shapes(path.name, around, settled, any_kind=True)
    return replace(shapes, names=names), crossed


NAMES = ("name", "label")
"""Columns that name an obstacle, whatever their capitals; the first that says something does."""


def _names(layer: FileLayer) -> dict[str, str]:
    """Give what a layer calls its features, by where each stands in it."""
    names = {}
    for number, (values, _) in enumerate(layer.features, start=1):
        said = {str(key).lower(): value for key, value in values.items()}
        told = (str(said[one]).strip() for one in NAMES if said.get(one) is not None)
        name = next((shortened(one) for one in told if one), "")
        if name:
            names[f"feature {number}"] = name
    return names


POINT = 0
"""The dimension of points."""

Labelled = list[tuple[str, Any]]
"""Geometries as GeoJSON, None for none, each with where it stands in its file."""


def _chosen(source: str, layer: FileLayer, key: str, text: str | None) -> tuple[Labelled, Labelled]:
    """Part features by a condition: those that meet it, and the others; all meet none.

    Each is numbered from 1 among all that the layer holds, in the file's order.

    Raises:
        BoundaryError: the condition can't be read, or names a column that is not there.
    """
    labelled = [
        (f"feature {number}", geometry)
        for number, (_, geometry) in enumerate(layer.features, start=1)
    ]
    if text is None:
        return labelled, []
    try:
        condition = read_condition(text)
        rows = _rows(layer, condition)
    except ValueError as error:
        raise BoundaryError(f'{source}: {key} = "{text}" {error}') from error
    met = [condition.test(row) is True for row in rows]
    return (
        [one for one, meets in zip(labelled, met, strict=True) if meets],
        [one for one, meets in zip(labelled, met, strict=True) if not meets],
    )


def _rows(layer: FileLayer, condition: Condition) -> list[Row]:
    """Give each feature's values of the columns that a condition names.

    Raises:
        ValueError: no feature has one of the columns.
    """
    columns = dict.fromkeys(name for values, _ in layer.features for name in values)
    known = {name.lower() for name in columns}
    for asked in condition.columns:
        if asked.lower() not in known and layer.features:
            listed = ", ".join(map(shortened, list(columns)[:MAX_OFFERED])) or "none"
            raise ValueError(f'names no column "{asked}"; known are {listed}')
    wanted = {name.lower() for name in condition.columns}
    empty = dict.fromkeys(wanted)
    return [
        empty | {name.lower(): value for name, value in values.items() if name.lower() in wanted}
        for values, _ in layer.features
    ]


def settle_crs(
    source: str, layer: FileLayer | LayerStream, stated: str | None, *, any_kind: bool
) -> str:
    """Settle which coordinate reference system a file is in: its own, else the plan's."""
    own = layer.crs
    if stated is not None and layer.assumed:
        own = ""
    if own and any_kind:
        return own
    if not own and stated is None:
        raise BoundaryError(
            f"{source}: states no coordinate reference system; state it in the plan, such as "
            'crs = "EPSG:26915" under [field]'
        )
    if own and stated is not None and not same_crs(own, stated):
        raise BoundaryError(
            f'{source}: states its own coordinate reference system, not crs = "{stated}"; take '
            "crs out of the plan"
        )
    return own or str(stated)


def checked_shapes(
    source: str,
    features: Labelled,
    crs: str,
    told: str = "",
    *,
    any_kind: bool = False,
    none: str | None = None,
) -> Shapes:
    """Take shapes as GeoJSON geometries.

    Args:
        source: what messages call them.
        features: a label and a geometry each, None where a feature has none.
        crs: their coordinate reference system.
        told: how they were chosen, for messages.
        any_kind: points and lines too.
        none: what is wrong where no feature has a shape, and what would do.

    Raises:
        BoundaryError: as in `read_shapes`, with every fault of the shapes at once.
    """
    shapes: list[shapely.Geometry] = []
    labels: list[str] = []
    faults: list[str] = []
    empty, flat = 0, True
    for label, geometry in features:
        before = len(shapes), len(faults)
        for part in _parts(geometry, faults, label):
            kind = part["type"]
            if "Polygon" not in kind and not any_kind:
                faults.append(f"{label} is a {kind}, not a polygon; {NO_POLYGON}")
                break
            try:
                made = list(_polygons(part) if "Polygon" in kind else _thin(part))
            except ValueError as error:
                faults.append(f"{label}{error}")
                break
            shapes += [shape for shape, _ in made]
            flat &= not any(tall for _, tall in made)
            labels += [label] * len(made)
        empty += before == (len(shapes), len(faults))
    if faults:
        raise BoundaryError.of(source, faults)
    if not shapes:
        cure = "choose others" if told else "draw one, or name the file or layer that has it"
        said = none or f"holds no feature with a shape{told}; {cure}"
        raise BoundaryError(f"{source}: {said}")
    _check_counts(source, shapes)
    notices = []
    if empty:
        noun = "feature" if empty == 1 else "features"
        left_out = f"{source}: left out {empty} {noun} without a shape"
        notices.append(Notice("boundary", "know", None, left_out))
    if not flat:
        dropped = f"{source}: heights or measures of its points were dropped"
        notices.append(Notice("boundary", "know", None, dropped))
    return Shapes(source, tuple(shapes), tuple(labels), crs, tuple(notices))


NO_POLYGON = "close the boundary into a polygon, or choose the polygons with where or layer"


def _check_counts(source: str, shapes: list[shapely.Geometry]) -> None:
    """Check that the shapes have no more vertices and holes than can be laid out."""
    vertices = int(shapely.get_num_coordinates(shapes).sum())
    if vertices > MAX_VERTICES:
        raise BoundaryError(
            f"{source}: has {vertices:,} vertices; at most {MAX_VERTICES:,} are read, so choose "
            "one field, or simplify its lines to a foot"
        )


def _parts(
    geometry: Any,  # noqa: ANN401 - GeoJSON
    faults: list[str],
    label: str,
    depth: int = 0,
) -> Iterator[Mapping[str, Any]]:
    """Give the geometries in a geometry that hold a point, collections taken apart."""
    if geometry is None:
        return
    if depth > MAX_NESTED or not isinstance(geometry, Mapping) or "type" not in geometry:
        faults.append(f"{label} has a shape that can't be read")
        return
    kind = str(geometry["type"]).removeprefix("3D ").removesuffix(" Z").removesuffix(" M")
    if kind == "GeometryCollection":
        inside = geometry.get("geometries")
        for part in inside if isinstance(inside, Sequence) else ():
            yield from _parts(part, faults, label, depth + 1)
    elif _has_points(geometry.get("coordinates")):
        yield {"type": kind, "coordinates": geometry["coordinates"]}


def _has_points(content: Any, depth: int = 0) -> bool:  # noqa: ANN401 - GeoJSON
    """Tell whether coordinates hold anything."""
    if not isinstance(content, Sequence) or depth > MAX_NESTED:
        return content is not None
    return any(_has_points(each, depth + 1) for each in content)


Made = tuple[shapely.Geometry, bool]
"""A shape, and whether it had heights or measures, which it no longer has."""


def _thin(part: Mapping[str, Any]) -> list[Made]:
    """Give the points and lines of a geometry.

    Raises:
        ValueError: coordinates that are none; the message goes behind its label.
    """
    try:
        shape = shapely.geometry.shape(part)
    except Exception as error:  # coordinates may be anything at all
        raise ValueError(" has coordinates that can't be read") from error
    if not np.isfinite(shapely.get_coordinates(shape)).all():
        raise ValueError(" has a coordinate that is not finite")
    flat = [one for one in shapely.get_parts(shapely.force_2d(shape)) if not one.is_empty]
    return [(one, bool(shape.has_z)) for one in flat]


def _polygons(part: Mapping[str, Any]) -> Iterator[Made]:
    """Give the polygons of a geometry; errors as in `_thin`."""
    content = part["coordinates"]
    for rings in [content] if part["type"] == "Polygon" else _listed(content):
        read = [_ring(ring, number) for number, ring in enumerate(_listed(rings), start=1) if ring]
        if read:
            (outer, _), *inner = read
            yield shapely.Polygon(outer, [hole for hole, _ in inner]), any(t for _, t in read)


def _listed(content: Any) -> Sequence[Any]:  # noqa: ANN401 - GeoJSON
    """Take rings, or polygons, for the list they are; errors as in `_thin`."""
    if isinstance(content, Sequence) and not isinstance(content, str):
        return content
    raise ValueError(" has rings that can't be read")


def _ring(ring: Any, number: int) -> tuple[list[tuple[float, float]], bool]:  # noqa: ANN401 - GeoJSON
    """Read a ring, and whether its points have heights; errors as in `_thin`."""
    points, tall = [], False
    try:
        for point in ring:
            points.append((float(point[0]), float(point[1])))
            tall |= len(point) > 2  # noqa: PLR2004 - x, y
    except (TypeError, ValueError, LookupError, OverflowError) as error:
        told = f", ring {number}, vertex {len(points) + 1} is no pair of numbers"
        raise ValueError(told) from error
    for index, point in enumerate(points, start=1):
        if not all(map(math.isfinite, point)):
            raise ValueError(
                f", ring {number}, vertex {index}: {point[0]}, {point[1]} is not a finite "
                "coordinate"
            )
    different = len(set(points))
    if different < 3:  # noqa: PLR2004 - a triangle
        raise ValueError(f", ring {number} has {different} different points; a ring has at least 3")
    return points, tall
