"""Tell which polygons reach across their band at full width somewhere along it."""

from typing import Any

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import edges_of
from striplay.tolerances import WIDTH_M

Floats = npt.NDArray[np.float64]


def reaches_across(polygons: Any, low_m: Floats, high_m: Floats) -> npt.NDArray[np.bool_]:  # noqa: ANN401 - an array of geometries
    """Tell whether some line at right angles to the band lies in the polygon from side to side.

    The edges that do not run along the band's sides cover stretches of x. Where they leave a
    stretch between the polygon's ends uncovered, nothing narrows it there.

    Args:
        polygons: array of polygons, (n,), each within its band.
        low_m: lower y of each one's band, (n,).
        high_m: upper y of each one's band, (n,).
    """
    count = len(low_m)
    edges = edges_of(polygons)
    owner = edges.owner
    y0, y1 = edges.start[:, 1], edges.end[:, 1]
    along_low = np.maximum(np.abs(y0 - low_m[owner]), np.abs(y1 - low_m[owner])) < WIDTH_M
    along_high = np.maximum(np.abs(y0 - high_m[owner]), np.abs(y1 - high_m[owner])) < WIDTH_M
    narrows = ~(along_low | along_high)
    left = np.minimum(edges.start[:, 0], edges.end[:, 0])
    right = np.maximum(edges.start[:, 0], edges.end[:, 0])
    sides = np.zeros((2, count), dtype=bool)
    np.logical_or.at(sides[0], owner[along_low], True)  # noqa: FBT003 - numpy's own signature
    np.logical_or.at(sides[1], owner[along_high], True)  # noqa: FBT003 - as above

    ends = np.full((2, count), np.inf)
    np.minimum.at(ends[0], owner, left)
    np.minimum.at(ends[1], owner, -right)
    free = _uncovered(owner[narrows], left[narrows], right[narrows], ends[0], -ends[1])
    return free & sides.all(axis=0)


def _uncovered(
    owner: npt.NDArray[np.int64], left: Floats, right: Floats, first: Floats, last: Floats
) -> npt.NDArray[np.bool_]:
    """Tell, for each owner, whether its intervals leave a gap between `first` and `last`."""
    count = len(first)
    owner = np.concatenate([owner, np.arange(count)])  # each owner's end closes its last gap
    left = np.concatenate([left, last])
    right = np.concatenate([right, last])
    order = np.lexsort((left, owner))
    owner, left, right = owner[order], left[order], right[order]
    span = max(1.0, float(np.max(last - first, initial=0.0))) * 2
    shift = owner * span - first[owner]  # owners side by side, so one running maximum serves all
    reach = np.maximum.accumulate(right + shift)
    before = np.concatenate([[-np.inf], reach[:-1]])
    begins = np.concatenate([[True], owner[1:] != owner[:-1]])
    covered_to = np.where(begins, owner * span, np.maximum(before, owner * span))
    gap = left + shift - covered_to > WIDTH_M
    result = np.zeros(count, dtype=bool)
    np.logical_or.at(result, owner[gap], True)  # noqa: FBT003 - as above
    return result
