"""Overlay geometries: intersection, difference and union that hold on hair-thin teeth.

The library overlays in floating point, which is exact to a rounding. Where edges all but lie on
each other it may fail, or, seldom, be wrong without a word. What fails, and what points beside the
edges contradict, is overlaid again with every vertex on a grid of a nanometer, which does neither:
Hobby, Practical segment intersection with finite precision output, 1999.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely.errors import GEOSException

from striplay.geometry.witness import Rule, doubted, union_doubted
from striplay.tolerances import OVERLAY_M

Geometries = Any
"""A geometry, or an array of them."""


def intersection(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give the ground that two geometries share, each with each of two arrays."""
    return _overlaid(shapely.intersection, np.logical_and, one, other)


def difference(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give what is left of the first without the second, each with each of two arrays."""
    return _overlaid(shapely.difference, np.greater, one, other)


def union(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give the ground of two geometries together, each with each of two arrays."""
    return _overlaid(shapely.union, np.logical_or, one, other)


def union_all(geometries: Geometries) -> shapely.Geometry:
    """Give the ground of all geometries together."""
    parts = np.asarray(geometries, dtype=object).ravel()
    try:
        found = shapely.union_all(parts)
    except GEOSException:
        return shapely.union_all(parts, grid_size=OVERLAY_M)
    if len(parts) > 1 and union_doubted(parts, found):
        return shapely.union_all(parts, grid_size=OVERLAY_M)
    return found


def _overlaid(overlay: Callable[..., Any], rule: Rule, one: Geometries, other: Geometries) -> Any:  # noqa: ANN401
    """Overlay, on the grid what fails or is wrong without; neighbors in an array stay as they are.

    Args:
        overlay: the library's.
        rule: the same of points: whether one is in the result, by whether it is in each.
        one: a geometry, or an array of them.
        other: likewise.
    """
    try:
        found = np.asarray(overlay(one, other), dtype=object)
    except GEOSException:
        found = _one_by_one(overlay, one, other)
    ones, others, flat = (_spread(each, found.shape) for each in (one, other, found))
    for index in np.flatnonzero(doubted(rule, ones, others, flat)):
        found.flat[index] = _on_grid(overlay, ones[index], others[index])
    return found if found.shape else found[()]


def _spread(shapes: Geometries, shape: tuple[int, ...]) -> npt.NDArray[np.object_]:
    """Give the geometries of each overlay in a row."""
    own = np.asarray(shapes, dtype=object)
    return own.reshape(-1) if own.shape == shape else np.broadcast_to(own, shape).reshape(-1)


def _one_by_one(
    overlay: Callable[..., Any], one: Geometries, other: Geometries
) -> npt.NDArray[np.object_]:
    pairs = np.broadcast(np.asarray(one, dtype=object), np.asarray(other, dtype=object))
    found = np.empty(pairs.shape, dtype=object)
    for index, (own, with_it) in enumerate(pairs):
        try:
            found.flat[index] = overlay(own, with_it)
        except GEOSException:
            found.flat[index] = _on_grid(overlay, own, with_it)
    return found


def _on_grid(overlay: Callable[..., Any], one: shapely.Geometry, other: shapely.Geometry) -> Any:  # noqa: ANN401
    try:
        return overlay(one, other, grid_size=OVERLAY_M)
    except GEOSException:  # a ring that crosses itself, as a band beside a jagged line may
        return overlay(_made_valid(one), _made_valid(other), grid_size=OVERLAY_M)


def _made_valid(shape: shapely.Geometry) -> shapely.Geometry:
    """Make a geometry valid, without the lines that its polygons leave where they fold."""
    valid = shapely.make_valid(shape)
    parts = shapely.get_parts(valid)
    alike = shapely.get_dimensions(parts) == shapely.get_dimensions(shape)
    return valid if alike.all() else shapely.union_all(parts[alike])
