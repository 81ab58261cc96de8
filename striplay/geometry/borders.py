"""Give neighbouring polygons the same vertices along the lines y = constant that they share.

Two long edges on one line, each with its own ends, no longer lie on one line once turned: rounding
moves the ends by a hair, and overlays of such edges may fail. With each other's vertices on both
sides the edges are the same, turned or not.
"""

from typing import Any

import numpy as np
import numpy.typing as npt
import shapely


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
    noded = shapely.linearrings(joined, indices=joined_ring)
    return np.asarray(shapely.polygons(noded, indices=owner), dtype=object)
