"""Lay lines and bands along a curve or about a center, each exactly its distance from the next.

A curve is a chain of short segments. Every vertex moves along its own direction, the miter of its
two segments, so that each segment of a parallel runs parallel to its own at exactly the distance.
That holds as long as no bend is tighter than the distance, which `smooth` sees to.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import LENGTH_M

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

STEP_M = 2.0
"""Distance between the vertices of a curve: on a radius of 30 m a chord then is 17 mm off its arc,
the same on every row."""
RING_VERTICES = 2880
"""Vertices of a ring: its length is right to 1e-6 when its area is."""
END_STRETCH_M = 10.0
"""Length of a key line's end that decides where it is extended to."""
MOST_ROUNDS = 20_000
"""Rounds of smoothing a line about its tight bends; one that is not smooth then is refused."""
STRIDES = (16, 8, 4, 2, 1)
"""A line is smoothed roughly first, on every 16th vertex: moves then spread 256 times as fast."""
MOST_MOVED_M = 20.0
"""A key line that must move by more to be driven is no longer the user's."""
SPREAD = 5
"""Vertices on either side of a tight bend that are smoothed with it."""


class CurveError(ValueError):
    """A line that can't be followed, and where.

    Attributes:
        place_m: the place on the plane, or None.
    """

    def __init__(self, message: str, place_m: Floats | None = None) -> None:
        super().__init__(message)
        self.place_m = place_m


@dataclass(frozen=True)
class Track:
    """A curve and the direction each vertex moves in.

    Attributes:
        base: its vertices, (n, 2).
        way: how far each moves a meter to the left, or out from a center, (n, 2).
        closed: whether it is a ring.
        from_m: how far along the whole curve its first vertex lies.
    """

    base: Floats
    way: Floats
    closed: bool
    from_m: float = 0.0

    def points(self, distances_m: Floats) -> Floats:
        """Give the vertices of the lines at some distances, (k, n, 2)."""
        return self.base + np.asarray(distances_m)[:, None, None] * self.way

    def lines(self, distances_m: Floats) -> Geometries:
        """Give the lines at some distances from the curve."""
        return np.asarray(shapely.linestrings(self.points(distances_m)), dtype=object)

    @property
    def places(self) -> Floats:
        """How far along the curve each vertex lies; of a ring, its angle from north."""
        if self.closed:
            return np.linspace(0.0, 2 * math.pi, len(self.base))
        return self.from_m + _along_m(self.base)

    def beside(self, area: shapely.Geometry, low_m: float, high_m: float) -> "Track":
        """Give the stretch of a line that an area lies beside; places along it stay as they are.

        Args:
            area: some ground.
            low_m: how far to the left of the line it begins.
            high_m: how far to the left it ends.
        """
        across = shapely.linestrings(self.points(np.array([low_m, high_m])).swapaxes(0, 1))
        near = np.flatnonzero(shapely.intersects(across, shapely.envelope(area)))
        if not len(near):
            return self
        stretch = slice(max(int(near[0]) - 1, 0), int(near[-1]) + 2)
        from_m = float(self.places[stretch][0])
        return replace(self, base=self.base[stretch], way=self.way[stretch], from_m=from_m)

    def left_of(self, points: Floats) -> Floats:
        """Give how far to the left of a line points lie."""
        line, places = shapely.LineString(self.base), shapely.points(points)
        along = shapely.line_locate_point(line, places)
        foot = shapely.get_coordinates(shapely.line_interpolate_point(line, along))
        ahead = shapely.get_coordinates(shapely.line_interpolate_point(line, along + 0.5))
        back = shapely.get_coordinates(shapely.line_interpolate_point(line, along - 0.5))
        way, off = ahead - back, points - foot
        side = np.sign(way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0])
        return np.asarray(side * np.hypot(*off.T))

    def bands(self, low_m: Floats, high_m: Floats) -> Geometries:
        """Give the ground between two distances; neighbors share every vertex."""
        low, high = self.points(low_m), self.points(high_m)
        if not self.closed:
            rings = shapely.linearrings(np.concatenate([low, high[:, ::-1]], axis=1))
            return np.asarray(shapely.polygons(rings), dtype=object)
        outer = shapely.polygons(shapely.linearrings(high))
        holed = np.asarray(outer, dtype=object)
        for index in np.flatnonzero(np.asarray(low_m) > LENGTH_M):
            holed[index] = shapely.polygons(high[index], holes=[low[index]])
        return holed


def _along_m(points: Floats) -> Floats:
    """Give how far along a line each of its vertices lies, (n,)."""
    return np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))


def rings_about(center_m: Floats) -> Track:
    """Make the track of rings about a center; distances are radii.

    The vertices stand a little outside the circle, so that a ring's area is the true one: a polygon
    of n vertices on radius R has the area n/2 R^2 sin(2 pi/n).
    """
    angle = np.linspace(0.0, 2 * math.pi, RING_VERTICES + 1)
    angle[-1] = 0.0
    step = 2 * math.pi / RING_VERTICES
    out = math.sqrt(step / math.sin(step))
    way = out * np.column_stack([np.sin(angle), np.cos(angle)])
    return Track(np.tile(np.asarray(center_m, dtype=np.float64), (len(angle), 1)), way, closed=True)


def key_line(lines: list[shapely.Geometry]) -> Floats:
    """Join lines into one, and give its vertices, (n, 2).

    Raises:
        CurveError: not one line, or one that crosses itself.
    """
    parts = [part for line in lines for part in shapely.get_parts(line)]
    if not parts or any(shapely.get_dimensions(part) != 1 for part in parts):
        raise CurveError("holds no line to follow")
    merged = shapely.line_merge(shapely.multilinestrings(parts))
    if merged.geom_type != "LineString":
        place = shapely.get_coordinates(shapely.get_parts(merged)[0])[-1]
        raise CurveError("its lines do not join into one", place)
    if merged.is_closed:
        raise CurveError("is closed; open it, or give a pivot", shapely.get_coordinates(merged)[0])
    if not merged.is_simple:
        raise CurveError("crosses itself", shapely.get_coordinates(merged)[0])
    if merged.length <= LENGTH_M:
        raise CurveError("has no length", shapely.get_coordinates(merged)[0])
    return _points(shapely.remove_repeated_points(merged, LENGTH_M))


def _points(geometry: shapely.Geometry) -> Floats:
    return np.asarray(shapely.get_coordinates(geometry), dtype=np.float64)


def extended(points: Floats, reach_m: float) -> Floats:
    """Run a line on straight at both ends by `reach_m`, with a vertex every `STEP_M`.

    Raises:
        CurveError: the straight end crosses the line.
    """
    line = shapely.LineString(points)
    stretch_m = min(END_STRETCH_M, line.length)
    ends = [
        (points[0], shapely.get_coordinates(line.interpolate(stretch_m))[0]),
        (points[-1], shapely.get_coordinates(line.interpolate(line.length - stretch_m))[0]),
    ]
    far = [end + (end - back) / np.hypot(*(end - back)) * reach_m for end, back in ends]
    whole = shapely.LineString([far[0], *points, far[1]])
    if not whole.is_simple:
        raise CurveError("crosses its own straight end", points[0])
    count = max(2, math.ceil(whole.length / STEP_M))
    at = np.linspace(0.0, whole.length, count + 1)
    return _points(shapely.line_interpolate_point(whole, at))


def smooth(points: Floats, left_m: Floats, right_m: Floats, radius_m: float) -> Floats:
    """Smooth a line's bends until every row beside it can be driven; the rest stays.

    Args:
        points: vertices, evenly spaced, (n, 2).
        left_m: how far rows lie to its left at each vertex, (n,).
        right_m: how far to its right, (n,).
        radius_m: the tightest a row may bend.

    Raises:
        CurveError: the line would move by more than `MOST_MOVED_M`; the place is where.
    """
    every = np.arange(len(points))
    # a bend to the left has its rows' center on the left
    most = np.stack([1 / (left_m + radius_m), 1 / (right_m + radius_m)])
    moved = points
    for stride in STRIDES:
        some = np.union1d(every[::stride], every[-1:])
        coarse = _relaxed(moved[some], points[some], most[:, some], radius_m)
        kept = (coarse == moved[some]).all(axis=1)
        between = np.clip(np.searchsorted(some, every, side="right") - 1, 0, len(some) - 2)
        still = kept[between] & kept[between + 1]
        filled = np.column_stack([np.interp(every, some, axis) for axis in coarse.T])
        moved = np.where(still[:, None], moved, filled)
    return moved


def _relaxed(moved: Floats, points: Floats, most: Floats, radius_m: float) -> Floats:
    """Move vertices about tight bends to their neighbors' middle until no bend is tight."""
    moved = moved.copy()
    for _ in range(MOST_ROUNDS):
        bend = _bend(moved)
        tight = (bend > most[0, 1:-1]) | (-bend > most[1, 1:-1])
        if not tight.any():
            return moved
        near = np.convolve(tight, np.ones(2 * SPREAD + 1), mode="same") > 0
        middle = (moved[:-2] + moved[2:]) / 2
        moved[1:-1][near] += (middle - moved[1:-1])[near] / 2
        off = np.hypot(*(moved - points).T)
        if off.max() > MOST_MOVED_M:
            break
    worst = int(np.argmax(np.hypot(*(moved - points).T)))
    raise CurveError(
        "bends so tightly that a row beside it would turn in a radius of less than "
        f"{radius_m:.3g} m; a gentler line or straight strips would do",
        points[worst],
    )


def _bend(points: Floats) -> Floats:
    """Give the curvature at every inner vertex, 1/m, above 0 to the left, (n - 2,)."""
    step = np.diff(points, axis=0)
    before, after = step[:-1], step[1:]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.arctan2(cross, np.einsum("ij,ij->i", before, after))
    mean_m = (np.hypot(*before.T) + np.hypot(*after.T)) / 2
    return np.asarray(turn / mean_m, dtype=np.float64)


def track_along(points: Floats) -> Track:
    """Make the track along a line; distances are to its left."""
    step = np.diff(points, axis=0)
    normal = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
    before = np.concatenate([normal[:1], normal])
    after = np.concatenate([normal, normal[-1:]])
    together = before + after
    way = 2 * together / np.einsum("ij,ij->i", together, together)[:, None]
    return Track(points, way, closed=False)
