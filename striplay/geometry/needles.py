"""Take off needles: tips of no width, at which an overlay's polygon turns back on itself.

They are valid to the letter and hold no ground, but the next overlay of such a polygon may fail.
"""

from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import NEEDLE_M

Floats = npt.NDArray[np.float64]


def without_needles(polygons: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - an array of polygons
    """Take the needles off polygons, in place of each; those without any are not touched.

    Args:
        polygons: array of polygons; what a needle alone made up is dropped.
    """
    polygons = np.atleast_1d(np.asarray(polygons, dtype=object))
    rings, owner = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    pointed = np.unique(owner[ring[_tips(points, ring)]])
    kept = np.array(polygons, dtype=object)
    for index in pointed:
        kept[index] = _blunt(polygons[index])
    return np.asarray(kept[~shapely.is_empty(kept)], dtype=object)


def _tips(points: Floats, ring: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Give the vertices at which a closed ring turns back on itself; the first one counts once."""
    if not len(points):
        return np.empty(0, dtype=np.int64)
    first = np.searchsorted(ring, ring)
    last = np.searchsorted(ring, ring, side="right") - 1
    at = np.arange(len(points))
    # the last point of a ring is its first again
    before = points[np.where(at == first, last - 1, at - 1)]
    after = points[np.where(at == last, first + 1, np.minimum(at + 1, len(points) - 1))]
    there, back = points - before, after - points
    cross = np.abs(there[:, 0] * back[:, 1] - there[:, 1] * back[:, 0])
    longer_m = np.maximum(np.hypot(*there.T), np.hypot(*back.T))
    wide_m = cross / np.maximum(longer_m, NEEDLE_M)
    return np.flatnonzero((np.einsum("ij,ij->i", there, back) < 0) & (wide_m < NEEDLE_M))


def _blunt(polygon: shapely.Polygon) -> shapely.Geometry:
    exterior, *holes = map(_blunt_ring, shapely.get_rings(polygon))
    if exterior is None:
        return shapely.Polygon()
    return shapely.Polygon(exterior, [hole for hole in holes if hole is not None])


def _blunt_ring(ring: shapely.LinearRing) -> Floats | None:
    """Drop tips until there is none; None where nothing but a needle was there."""
    points: Floats = shapely.get_coordinates(ring)[:-1]
    while len(points) > 2:  # noqa: PLR2004 - a triangle
        closed = np.concatenate([points, points[:1]])
        tips = _tips(closed, np.zeros(len(closed), dtype=np.int64)) % len(points)
        repeated = np.all(np.abs(points - np.roll(points, 1, axis=0)) == 0, axis=1)
        if not len(tips) and not repeated.any():
            return points
        keep = ~repeated
        if len(tips):
            keep[tips[0]] = False  # one by one: its neighbors may be no tips without it
        points = points[keep]
    return None
