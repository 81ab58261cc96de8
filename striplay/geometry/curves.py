"""Follow a key line on both sides: curves at given distances from it, and the ground between them.

A curve at a distance d is where a front stands that has moved off the line by d, square to it. Each
point of the line, its foot, carries its piece of the front along its normal, and a corner carries a
fan of normals, until the front runs into that of another foot, at the same distance from both. How
far a foot carries it, its life, is found once and serves the curves at all distances. GEOS' buffers
are not used: they straighten the line by up to a hundredth of the distance first.
"""

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.ops import substring

from striplay.tolerances import LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Shapes = npt.NDArray[np.object_]

STRETCH_M = 10.0
"""A line is extended in the direction of its last 10 m: a wiggle of digitising does not decide."""
SAGITTA_M = 0.0019
"""Chords leave their arc by less than 2 mm: steering errs by ten times as much."""
PROBE_M = 0.25
"""Feet stand this near to each other: two fronts 1 m off that meet between them overlap by 8 mm,
fronts further off by less."""
PROBES = 2000
"""A segment has at most about this many feet, lest straight extensions of kilometres take over."""
SAME_M = 1e-6
"""Vertices of a curve within a micrometre are one, and a foot that near to a line lies on it."""
APEX_M = 1e-4
"""Where fronts meet is found to this; what stands nearer to the line by more is looked at again."""
ROUNDED_M = 0.01
"""Rounding that moves a curve by less than 1 cm is not told of: steering errs by more."""
ROUNDS = 6
"""Repairs end at the latest after so many rounds; two are common."""
CHUNK = 1_000_000
"""Pairs of a foot and a segment looked at in one go, to bound the memory."""


class CurveError(ValueError):
    """A key line that cannot be followed.

    Attributes:
        place: (east, north) of the trouble, if it has one.
    """

    def __init__(self, message: str, place: tuple[float, float] | None = None) -> None:
        super().__init__(message)
        self.place = place


@dataclass(frozen=True)
class Parallels:
    """Curves along a key line.

    Attributes:
        line: array of LineStrings, (n,).
        tight: where curves had to be rounded, (east, north), (k, 2).
        tight_curve: index of the curve each of these places is on, ascending, (k,).
    """

    line: Shapes
    tight: Floats
    tight_curve: Integers


def key_line(line: shapely.Geometry, reach_m: float) -> shapely.LineString:
    """Join a line up into one piece and extend both its ends straight.

    Args:
        line: LineString, or MultiLineString whose parts join end to end; its first part tells the
            direction.
        reach_m: how far to extend each end.

    Raises:
        CurveError: the line is empty, does not join up, is closed or crosses itself, or would once
            extended.
    """
    joined = _joined(line)
    if reach_m <= 0:
        return joined
    points = shapely.get_coordinates(joined)
    stretch_m = min(STRETCH_M, joined.length)
    inner = shapely.get_coordinates(shapely.line_interpolate_point(joined, [stretch_m, -stretch_m]))
    out = points[[0, -1]] - inner
    ends = points[[0, -1]] + reach_m * out / np.hypot(*out.T)[:, np.newaxis]
    extended = shapely.LineString(np.concatenate([ends[:1], points, ends[1:]]))
    if not extended.is_simple:
        place = _crossing(extended)
        raise CurveError(f"the key line, extended straight, crosses itself{_at(place)}", place)
    return extended


def _joined(line: shapely.Geometry) -> shapely.LineString:
    """Join a line up; see `key_line`."""
    parts = shapely.get_parts(line)
    parts = parts[~shapely.is_empty(parts)]
    if not len(parts):
        raise CurveError("the key line is empty")
    if np.any(shapely.get_type_id(parts) != shapely.GeometryType.LINESTRING):
        raise CurveError(f"the key line must be a line, not a {line.geom_type}")
    merged = parts[0]
    if len(parts) > 1:
        merged = shapely.line_merge(shapely.multilinestrings(parts))
        if merged.geom_type != "LineString":
            place = tuple(shapely.get_coordinates(shapely.get_parts(merged)[0])[-1].tolist())
            count = shapely.get_num_geometries(merged)
            raise CurveError(f"the key line is in {count} pieces, not one{_at(place)}", place)
        first, second = shapely.points(shapely.get_coordinates(parts[0])[:2])
        if merged.project(first) > merged.project(second):
            merged = merged.reverse()
    merged = shapely.remove_repeated_points(shapely.force_2d(merged), LENGTH_M)
    start = tuple(shapely.get_coordinates(merged)[0].tolist())
    if merged.length <= LENGTH_M:
        raise CurveError("the key line has no length", start)
    if merged.is_closed:
        raise CurveError(f"the key line is closed{_at(start)}: it needs two ends", start)
    if not merged.is_simple:
        place = _crossing(merged)
        raise CurveError(f"the key line crosses itself{_at(place)}", place)
    return merged


def _crossing(line: shapely.LineString) -> tuple[float, float] | None:
    """Find where a line crosses or touches itself: more than two of its pieces end there."""
    pieces = np.stack([shapely.get_coordinates(line)[:-1], shapely.get_coordinates(line)[1:]], 1)
    noded = shapely.get_parts(shapely.node(shapely.multilinestrings(shapely.linestrings(pieces))))
    ends = np.concatenate([shapely.get_coordinates(shapely.get_point(noded, at)) for at in (0, -1)])
    known, count = np.unique(ends, axis=0, return_counts=True)
    return tuple(known[np.argmax(count)].tolist()) if np.any(count > 2) else None  # noqa: PLR2004


def _at(place: tuple[float, float] | None) -> str:
    """Say where."""
    return "" if place is None else f" at ({place[0]:.1f}, {place[1]:.1f})"


def smooth_key_line(line: shapely.LineString, least_radius_m: float) -> shapely.LineString:
    """Round the bends of a line that are tighter than a radius, and leave the rest where it is.

    Each side in turn is filled up where a circle of that radius does not get to.
    """
    ends = shapely.points(shapely.get_coordinates(line)[[0, -1]])
    centre = shapely.get_coordinates(line.centroid)
    points = _lengthened(shapely.get_coordinates(line) - centre, 4 * least_radius_m)
    for _ in range(ROUNDS):
        before = points
        for _side in range(2):
            front = _Front(points, least_radius_m)
            points = _curve(front, 0.0, least_radius_m).points[::-1]
        if shapely.LineString(points).hausdorff_distance(shapely.LineString(before)) < ROUNDED_M:
            break
    smooth = shapely.LineString(points + centre)
    return substring(smooth, *shapely.line_locate_point(smooth, ends))


def parallels(
    line: shapely.LineString,
    distances_m: Any,  # noqa: ANN401 - whatever numpy makes an array of
    least_radius_m: float,
    frame: shapely.Polygon,
) -> Parallels:
    """Make the curves at given distances from a key line, with its direction.

    Neighbouring curves are as far apart as their distances say, and never nearer. Where the inside
    of a bend would be tighter than `least_radius_m`, the curve is rounded with that radius, which
    leaves neighbours further apart. The line itself, at distance 0, and the outside of its corners
    are not rounded: `smooth_key_line` does that beforehand.

    Args:
        line: from `key_line`; extended straight as far as need be.
        distances_m: distance of each curve, positive to the left of the line's direction.
        least_radius_m: radius of the tightest curve that can be driven.
        frame: box; every curve begins and ends outside it. One that does not come into it may lie
            anywhere outside.
    """
    distances = np.asarray(distances_m, dtype=np.float64)
    centre = shapely.get_coordinates(frame.centroid)
    box = shapely.get_coordinates(frame) - centre
    points = shapely.get_coordinates(line) - centre
    farthest_m = float(np.max(np.abs(distances), initial=0.0)) + least_radius_m
    reach_m = farthest_m + np.hypot(*box.T).max() + np.hypot(*points[[0, -1]].T).max() + 1.0
    points = _lengthened(points, reach_m)
    found = np.empty(len(distances), dtype=object)
    for sign in (1, -1):
        side = np.flatnonzero(distances * sign > 0)
        if len(side):
            front = _Front(points[::sign], farthest_m)
            for index in side:
                curve = _curve(front, abs(distances[index]), least_radius_m)
                found[index] = replace(curve, points=curve.points[::sign])
    nothing = np.empty((0, 2))
    for index in np.flatnonzero(distances == 0):
        found[index] = _Curve(points, nothing)
    inside = shapely.Polygon(box)
    curves = [_out_of(inside, curve.points) + centre for curve in found]
    tight = np.concatenate([nothing, *(curve.tight for curve in found)])
    owner = np.repeat(np.arange(len(found)), [len(curve.tight) for curve in found])
    within = shapely.intersects_xy(inside, tight)
    lines = np.empty(len(found), dtype=object)
    lines[:] = [shapely.LineString(curve) for curve in curves]
    for index in np.flatnonzero(~shapely.is_simple(lines)):
        place = _crossing(lines[index])
        raise CurveError(
            f"the curve {distances[index]:g} m off the key line crosses itself{_at(place)}", place
        )
    return Parallels(lines, tight[within] + centre, owner[within].astype(np.int64))


def bands_between(low: Any, high: Any) -> Shapes:  # noqa: ANN401 - arrays of LineStrings
    """Make the ground between curves and their neighbours, from exactly the vertices of both.

    Args:
        low: array of LineStrings.
        high: the neighbour of each, with the same direction.
    """
    points, owner = shapely.get_coordinates(np.asarray(low, dtype=object), return_index=True)
    back, back_owner = shapely.get_coordinates(
        shapely.reverse(np.asarray(high, dtype=object)), return_index=True
    )
    order = np.argsort(np.concatenate([owner, back_owner]), kind="stable")
    around = shapely.linearrings(
        np.concatenate([points, back])[order], indices=np.concatenate([owner, back_owner])[order]
    )
    return np.asarray(shapely.polygons(around), dtype=object)


def _lengthened(points: Floats, reach_m: float) -> Floats:
    """Move both ends of a line straight outward, unless it would cross itself."""
    longer = points.copy()
    for end, inner in ((0, 1), (-1, -2)):
        out = points[end] - points[inner]
        longer[end] += reach_m * out / np.hypot(*out)
    return longer if shapely.LineString(longer).is_simple else points


def _out_of(frame: shapely.Polygon, points: Floats) -> Floats:
    """Extend a curve whose ends lie in the frame: its line could not be extended far enough."""
    if not np.any(shapely.intersects_xy(frame, points[[0, -1]])):
        return points
    return _lengthened(points, 2 * shapely.minimum_bounding_radius(frame) + 1.0)


# --- the front --------------------------------------------------------------------------------------
