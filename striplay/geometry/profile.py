"""Give the exact area of polygons below any line y = level.

By Green's theorem the area below a level is the integral of x dy along the boundary below it; the
closing line along the level adds nothing. Along one edge x is linear in y, so each edge's part is a
trapezoid. Edges wholly below a level come from a prefix sum, those that cross it one by one:
O((edges + crossings) log edges) for any number of levels.
"""

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges

Floats = npt.NDArray[np.float64]


def area_below(edges: Edges, levels_m: Floats) -> Floats:
    """Measure the area of polygons below each level, in square meters.

    Args:
        edges: edges with the ground on their left, as `edges_of` gives them.
        levels_m: y of each level, in any order, (k,).

    Returns:
        Areas, (k,).
    """
    if not len(edges):
        return np.zeros(len(levels_m))
    middle_m = np.mean(edges.start, axis=0)  # near the origin the products keep their digits
    x0, y0 = (edges.start - middle_m).T
    x1, y1 = (edges.end - middle_m).T
    order = np.argsort(levels_m, kind="stable")
    levels = levels_m[order] - middle_m[1]
    low, high = np.minimum(y0, y1), np.maximum(y0, y1)

    whole = (x0 + x1) / 2 * (y1 - y0)
    by_high = np.argsort(high, kind="stable")
    sums = np.concatenate(([0.0], np.cumsum(whole[by_high])))
    area = sums[np.searchsorted(high[by_high], levels, side="right")]

    first = np.searchsorted(levels, low, side="right")
    count = np.maximum(np.searchsorted(levels, high, side="left") - first, 0)
    edge = np.repeat(np.arange(len(edges)), count)
    level = np.arange(len(edge)) - (np.cumsum(count) - count)[edge] + first[edge]
    share = (levels[level] - y0[edge]) / (y1 - y0)[edge]
    rising = y1[edge] > y0[edge]
    crossing_x = x0[edge] + share * (x1 - x0)[edge]
    lower_x = np.where(rising, x0[edge], x1[edge])
    height = np.where(rising, 1.0, -1.0) * (levels[level] - low[edge])
    area += np.bincount(level, (lower_x + crossing_x) / 2 * height, minlength=len(levels))

    result = np.empty(len(levels_m))
    result[order] = area
    return result
