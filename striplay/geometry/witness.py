"""Hold what an overlay gives against points beside its edges.

Where edges all but lie on each other, an overlay in floating point may take a whole piece of ground
for inside that is outside, without an error. What is taken for inside then agrees in itself: the
areas of intersection and difference still add up. A point of the ground knows nothing of edges, so
points on both sides of edges are asked.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import BESIDE_EDGE_M

Shapes = npt.NDArray[np.object_]
Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Rule = Callable[[Bools, Bools], Bools]
"""Whether a point lies in the result, from whether it lies in the first and in the second."""

AREA = 2
"""The dimension of polygons."""
ASKED_EVERY_M = 20.0
"""What is wrongly taken is a whole face between edges: one with a shorter outline has 30 m2, and is
asked of all the same where it is a whole shape."""
WHERE_SHARE = 0.414
"""Where along an edge: at its middle, as at a fence's, another edge may well end."""


def doubted(rule: Rule, one: Shapes, other: Shapes, found: Shapes) -> Bools:
    """Tell which results of an overlay some point contradicts, (n,).

    Only points in or near the bounds of both are asked: elsewhere nothing meets. Lines are not
    asked of.

    Args:
        rule: what the overlay is.
        one: geometries, (n,).
        other: likewise, each overlaid with that of the first.
        found: what was found, likewise.
    """
    wrong = np.zeros(len(found), dtype=np.bool_)
    near = (shapely.get_dimensions(one) == AREA) & (shapely.get_dimensions(other) == AREA)
    if not near.any():
        return wrong
    bounds, others = shapely.bounds(one), shapely.bounds(other)
    low = np.maximum(bounds[:, :2], others[:, :2])
    high = np.minimum(bounds[:, 2:], others[:, 2:])
    near &= (low + BESIDE_EDGE_M < high).all(axis=1)  # false of what is empty, bounded by no number
    if not near.any():
        return wrong
    if not near.all():
        wrong[near] = doubted(rule, one[near], other[near], found[near])
        return wrong
    points, owner = _beside_edges(np.concatenate([one, other]))
    owner %= len(one)
    low, high = low - ASKED_EVERY_M, high + ASKED_EVERY_M
    inside = ((points > low[owner]) & (points < high[owner])).all(axis=1)
    x, y = points[inside].T
    owner = owner[inside]
    held = [_holds(shapes, owner, x, y) for shapes in (one, other, found)]
    wrong[owner[rule(held[0], held[1]) != held[2]]] = True
    return wrong


def union_doubted(parts: Shapes, found: shapely.Geometry) -> bool:
    """Tell whether some point contradicts the union of polygons; other shapes are not asked of."""
    if not (shapely.get_dimensions(parts) == AREA).all():
        return False
    points, owner = _beside_edges(parts)
    x, y = points.T
    own, held = _holds(parts, owner, x, y), _holds(np.array([found]), owner, x, y)
    if (own & ~held).any():
        return True
    x, y = points[held & ~own].T  # of two side by side, those beside one
    # parts are prepared by now, where the tree would go along all edges of each for every point
    other, part = shapely.STRtree(parts).query(shapely.points(x, y))
    there = shapely.intersects_xy(parts[part], x[other], y[other])
    return len(np.unique(other[there])) < len(x)


def _beside_edges(shapes: Shapes) -> tuple[Floats, npt.NDArray[np.intp]]:
    """Give points on both sides of edges, (k, 2), and whose edge, (k,).

    Of edges shorter than `ASKED_EVERY_M` there is one in so much of outline, and one of each shape.

    From ring to ring, and from shape to shape, there is one edge too many: its points serve as any.
    """
    corners, owner = shapely.get_coordinates(shapes, return_index=True)
    along = np.diff(corners, axis=0)
    length_m = np.hypot(*along.T)
    long = np.flatnonzero(length_m > 4 * BESIDE_EDGE_M)
    stretch = np.floor(np.cumsum(length_m) / ASKED_EVERY_M)[long]
    first = (np.diff(stretch, prepend=-1.0) > 0) | (np.diff(owner[long], prepend=-1) != 0)
    asked = long[first]
    along = along[asked]
    on_edge = corners[:-1][asked] + WHERE_SHARE * along
    aside = along[:, ::-1] * (-1.0, 1.0) * (BESIDE_EDGE_M / length_m[asked])[:, None]
    return np.concatenate([on_edge + aside, on_edge - aside]), np.tile(owner[:-1][asked], 2)


def _holds(shapes: Shapes, owner: npt.NDArray[np.intp], x: Floats, y: Floats) -> Bools:
    """Tell which points lie in the shape that each belongs to, (k,)."""
    if len(shapes) == 1:
        return np.asarray(shapely.contains_xy(shapes[0], x, y))
    shapely.prepare(shapes)
    return np.asarray(shapely.contains_xy(shapes[owner], x, y))
