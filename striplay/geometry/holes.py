"""Find where holes lie wholly within the bands of a set."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Holes:
    """Holes of polygons.

    Attributes:
        points: their vertices, one after the other, (n, 2).
        first: index of each one's first vertex, (h,).
    """

    points: Floats
    first: Integers

    def __len__(self) -> int:
        return len(self.first)

    def spans(self, frame: Frame) -> tuple[Floats, Floats]:
        """Give the least and greatest y of each once turned, (h,) and (h,)."""
        y_m = frame.turn_points(self.points)[:, 1]
        return np.minimum.reduceat(y_m, self.first), np.maximum.reduceat(y_m, self.first)


def narrow_holes(polygons: shapely.Geometry, width_m: float) -> Holes:
    """Give the holes that may fit between two parallel lines `width_m` apart, in some direction.

    A convex shape's area is at most its least width times its greatest length.
    """
    rings = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(polygons)))
    holes = rings[~shapely.is_ccw(rings)] if len(rings) else rings
    left_m, bottom_m, right_m, top_m = shapely.bounds(holes).reshape(-1, 4).T
    length_m = np.hypot(right_m - left_m, top_m - bottom_m)
    thin = shapely.area(shapely.convex_hull(holes)) < width_m * length_m
    points, hole = shapely.get_coordinates(holes[thin], return_index=True)
    return Holes(points, np.flatnonzero(np.diff(hole, prepend=-1)).astype(np.int64))


def enclosed(low_m: Floats, high_m: Floats, bands: Integers, step_m: float, steps: int) -> Floats:
    """Count the holes that lie wholly within each band of a set, at every offset, (bands, steps).

    Args:
        low_m: least y of each hole above the set's first edge, (h,).
        high_m: greatest y of each, (h,).
        bands: first and last level of each band, in steps, (2, b).
        step_m: distance between levels.
        steps: steps to the set.
    """
    first, last = (levels[:, None] for levels in bands)
    # the band of the set shifted outside by i begins at (first - i) steps, and at sets from there
    begin = np.floor(first - low_m / step_m).astype(np.int64) + 1
    end = np.ceil(last - high_m / step_m).astype(np.int64)
    band = np.broadcast_to(np.arange(len(first))[:, None], begin.shape)
    inside = end > begin
    at = begin[inside] % steps
    row = 2 * steps * band[inside]
    size = 2 * steps * len(first)
    jumps = np.bincount(row + at, minlength=size).astype(np.float64)
    jumps -= np.bincount(row + at + (end - begin)[inside], minlength=size)
    counts = np.cumsum(jumps.reshape(len(first), 2 * steps), axis=1)
    return counts[:, :steps] + counts[:, steps:]
