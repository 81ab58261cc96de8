"""Tell which polygons reach across their band at full width somewhere along it."""

from typing import Any

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges, edges_of
from striplay.geometry.sweep import chords
from striplay.tolerances import CUT_M, FULL_WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def reaches_across(
    polygons: Any,  # noqa: ANN401 - an array of geometries
    low_m: Floats,
    high_m: Floats,
) -> npt.NDArray[np.bool_]:
    """Tell whether lines at right angles to the band lie in the polygon from side to side.

    A line a polygon holds crosses the band's middle inside it, and none of its edges between the
    band's sides. So the chords along the middle are taken, and the stretches of x that edges
    cover: where `FULL_WIDTH_M` of a chord is left uncovered, the polygon is as wide as its band.
    What the boundary takes off a side by less than `CUT_M` narrows nothing.

    Args:
        polygons: array of polygons, (n,), each within its band.
        low_m: lower y of each one's band, (n,).
        high_m: upper y of each one's band, (n,).
    """
    edges = edges_of(polygons)
    slack_m = np.minimum(CUT_M, (high_m - low_m) / 4)
    left, right, narrows = _inside(edges, low_m + slack_m, high_m - slack_m)
    levels_m, level_of = np.unique((low_m + high_m) / 2, return_inverse=True)
    across = chords(edges, levels_m)
    own = across.level == level_of.reshape(-1)[across.owner]
    return _uncovered(
        (across.owner[own], across.start_x_m[own], across.end_x_m[own]),
        (edges.owner[narrows], left[narrows], right[narrows]),
        len(low_m),
    )


def _inside(
    edges: Edges, low_m: Floats, high_m: Floats
) -> tuple[Floats, Floats, npt.NDArray[np.bool_]]:
    """Give the stretch of x over which each edge runs between its band's sides, and if it does."""
    (x0, y0), (x1, y1) = edges.start.T, edges.end.T
    low, high = low_m[edges.owner], high_m[edges.owner]
    narrows = (np.minimum(y0, y1) < high) & (np.maximum(y0, y1) > low)
    rise = np.where(y1 == y0, 1.0, y1 - y0)
    entry = np.where(y1 == y0, 0.0, np.clip((low - y0) / rise, 0.0, 1.0))
    leave = np.where(y1 == y0, 1.0, np.clip((high - y0) / rise, 0.0, 1.0))
    one, other = x0 + entry * (x1 - x0), x0 + leave * (x1 - x0)
    return np.minimum(one, other), np.maximum(one, other), narrows


Intervals = tuple[Integers, Floats, Floats]


def _uncovered(wanted: Intervals, covers: Intervals, count: int) -> npt.NDArray[np.bool_]:
    """Tell, for each owner, whether its covers leave some stretch of its wanted intervals free.

    Both are (owner, start, end). The gaps between an owner's wanted intervals, in ascending order,
    join its covers, and its last end closes the last gap.
    """
    owner, start, end = wanted
    first = np.full(count, np.inf)
    last = np.full(count, -np.inf)
    np.minimum.at(first, owner, start)
    np.maximum.at(last, owner, end)
    same = owner[1:] == owner[:-1]
    some = np.flatnonzero(np.isfinite(first))
    owners = np.concatenate([covers[0], owner[1:][same], some])
    starts = np.concatenate([covers[1], end[:-1][same], last[some]])
    ends = np.concatenate([covers[2], start[1:][same], last[some]])
    known = np.isfinite(first[owners])
    owners, starts, ends = owners[known], starts[known], ends[known]

    order = np.lexsort((starts, owners))
    owners, starts, ends = owners[order], starts[order], ends[order]
    span = 2 * max(1.0, float(np.max(last[some] - first[some], initial=0.0)))
    shift = owners * span - first[owners]  # owners side by side, so one running maximum serves all
    reach = np.maximum.accumulate(np.minimum(ends, last[owners]) + shift)
    covered_to = np.maximum(np.append(-np.inf, reach[:-1]), owners * span)
    free = np.minimum(starts, last[owners]) + shift - covered_to > FULL_WIDTH_M
    result = np.zeros(count, dtype=bool)
    result[owners[free]] = True
    return result
