"""Give neighboring polygons the same vertices along the lines y = constant that they share.

Two long edges on one line, each with its own ends, no longer lie on one line once turned: rounding
moves the ends by a hair, and overlays of such edges may fail. With each other's vertices on both
sides the edges are the same, turned or not.
"""

from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.slivers import real_parts
from striplay.tolerances import LENGTH_M


def share_borders(polygons: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - an array of polygons
    """Insert, in every edge along x, the vertices that any polygon has on it.

    Args:
        polygons: array of polygons; edges that touch have exactly the same y.

    Returns:
        The same polygons, in shape and order, with more vertices.
    """
    polygons = np.atleast_1d(np.asarray(polygons, dtype=object))
    rings, owner = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if not len(points):
        return np.array(polygons, dtype=object)
    points = _snapped(points)
    column, row = (np.unique(points[:, axis], return_inverse=True)[1] for axis in (0, 1))
    key = row.astype(np.int64) * (len(points) + 1) + column  # exact: ranks, not coordinates
    known, where = np.unique(key, return_index=True)

    along = np.flatnonzero((ring[1:] == ring[:-1]) & (row[1:] == row[:-1]))
    low, high = np.minimum(key[along], key[along + 1]), np.maximum(key[along], key[along + 1])
    first = np.searchsorted(known, low, side="right")
    count = np.maximum(np.searchsorted(known, high, side="left") - first, 0)
    edge = np.repeat(np.arange(len(along)), count)
    step = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    rightward = key[along + 1] > key[along]
    pick = np.where(rightward[edge], first[edge] + step, first[edge] + count[edge] - 1 - step)
    joined = np.insert(points, along[edge] + 1, points[where[pick]], axis=0)
    joined_ring = np.insert(ring, along[edge] + 1, ring[along[edge]])
    again = (joined_ring[1:] == joined_ring[:-1]) & np.all(joined[1:] == joined[:-1], axis=1)
    keep = np.append(True, ~again)
    noded = shapely.linearrings(joined[keep], indices=joined_ring[keep])
    shared = np.asarray(shapely.polygons(noded, indices=owner), dtype=object)
    whole_m2 = float(shapely.area(polygons).sum())
    for index in np.flatnonzero(~shapely.is_valid(shared)):
        shared[index] = _without_needles(shared[index], polygons[index], whole_m2)
    return shared


def _without_needles(
    snapped: shapely.Polygon, polygon: shapely.Polygon, whole_m2: float
) -> shapely.Polygon:
    """Take off the needles that snapping closed; what that would split stays as it was."""
    real, _ = real_parts(shapely.make_valid(snapped, method="structure"), whole_m2)
    return real[0] if len(real) == 1 else polygon


def _snapped(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Move vertices a hair apart on one line along x to one place: each clip rounds its own."""
    order = np.lexsort((points[:, 0], points[:, 1]))
    x, y = points[order].T
    apart = (np.diff(y) != 0) | (np.diff(x) > LENGTH_M)
    group = np.cumsum(np.append(False, apart))
    first = np.flatnonzero(np.append(True, apart))
    snapped = points.copy()
    snapped[order, 0] = x[first][group]
    return snapped
