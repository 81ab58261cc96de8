"""Overlay geometries: intersection, difference and union that do not fail on hair-thin teeth.

The library overlays in floating point, which is exact to a rounding and may fail where edges all
but lie on each other. What fails is overlaid again with every vertex on a grid of a nanometer,
which never does: Hobby, Practical segment intersection with finite precision output, 1999.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from shapely.errors import GEOSException

from striplay.tolerances import OVERLAY_M

Geometries = Any
"""A geometry, or an array of them."""


def intersection(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give the ground that two geometries share, each with each of two arrays."""
    return _overlaid(shapely.intersection, one, other)


def difference(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give what is left of the first without the second, each with each of two arrays."""
    return _overlaid(shapely.difference, one, other)


def union(one: Geometries, other: Geometries) -> Any:  # noqa: ANN401 - as the arguments
    """Give the ground of two geometries together, each with each of two arrays."""
    return _overlaid(shapely.union, one, other)


def union_all(geometries: Geometries) -> shapely.Geometry:
    """Give the ground of all geometries together."""
    try:
        return shapely.union_all(geometries)
    except GEOSException:
        return shapely.union_all(geometries, grid_size=OVERLAY_M)


def _overlaid(overlay: Callable[..., Any], one: Geometries, other: Geometries) -> Any:  # noqa: ANN401
    """Overlay, on the grid what fails without; neighbors in an array stay as they are."""
    try:
        return overlay(one, other)
    except GEOSException:
        pairs = np.broadcast(np.asarray(one, dtype=object), np.asarray(other, dtype=object))
    found = np.empty(pairs.shape, dtype=object)
    for index, (own, with_it) in enumerate(pairs):
        found.flat[index] = _one(overlay, own, with_it)
    return found if pairs.shape else found[()]


def _one(overlay: Callable[..., Any], one: shapely.Geometry, other: shapely.Geometry) -> Any:  # noqa: ANN401
    try:
        return overlay(one, other)
    except GEOSException:
        pass
    try:
        return overlay(one, other, grid_size=OVERLAY_M)
    except GEOSException:  # a ring that crosses itself, as a band beside a jagged line may
        valid = shapely.make_valid([one, other])
        return overlay(*valid, grid_size=OVERLAY_M)
