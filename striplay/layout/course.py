"""Choose the path that rows follow: straight, along a key line, or in rings about a pivot."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.geometry import overlay
from striplay.geometry.curves import (
    CurveError,
    Track,
    extended,
    key_line,
    rings_about,
    smooth,
    track_along,
)
from striplay.geometry.directions import direction_deg
from striplay.geometry.frame import Frame
from striplay.geometry.path import Curved
from striplay.ground import Ground
from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.tolerances import STILL_M
from striplay.units import format_length

Floats = npt.NDArray[np.float64]

LEAST_RADIUS_M = 1.0
"""No row bends tighter, whatever the machines: it would cross itself."""
TOLD_M = 0.3
"""A key line that moves by less is not worth a word."""
BESIDE_M = 100.0
"""The line is followed so far beyond the field: no pass runs out of it by as much (our choice)."""
SAMPLE_M = 5.0
"""Distance between the points of the boundary from which it is told how far rows lie."""


@dataclass(frozen=True)
class Course:
    """A curve to lay strips along, and the land it reaches.

    Attributes:
        path: the curve.
        low_m: the least distance across of any land.
        high_m: the greatest.
        hub: ground too near to a ring's center to be driven.
        notices: what the user should know.
    """

    path: Curved
    low_m: float
    high_m: float
    hub: shapely.Geometry
    notices: tuple[Notice, ...]


def along_key_line(
    plan: Plan, ground: Ground, lines: list[shapely.Geometry], source: str
) -> Course:
    """Follow a key line, on both sides of it.

    Args:
        plan: what was asked.
        ground: the field.
        lines: the key line on the local plane, perhaps in parts.
        source: its file, for messages.

    Raises:
        BoundaryError: a line that can't be followed; the message says where.
    """
    reach_m = 2.0 * float(np.hypot(*np.ptp(np.reshape(ground.outline.bounds, (2, 2)), axis=0)))
    away_m = min(shapely.distance(ground.outline, line) for line in lines)
    if away_m > reach_m:
        raise BoundaryError(
            f"{source}: lies {away_m / 1000:.1f} km from the field; is it the right file, and does "
            "it state its crs?"
        )
    try:
        points = key_line(lines)
        first = direction_deg((points[-1] - points[0])[None, :])[0]
        line = extended(points, reach_m)
        driven = _driven(line, ground.outline, _radius_m(plan))
    except CurveError as error:
        place = "" if error.place_m is None else f" (at {ground.plane.place(error.place_m)})"
        raise BoundaryError(f"{source}: {error}{place}") from error
    moved_m = np.hypot(*(driven - line).T)
    notices = _turns_stated(plan)
    if moved_m.max() > TOLD_M:
        where = ground.plane.place(line[int(np.argmax(moved_m))])
        said = (
            f"{source}: smoothed by up to {format_length(float(moved_m.max()), plan.units)} at "
            f"{where}, so that no row bends tighter than the machines turn"
        )
        notices.append(Notice("fit", "mind", None, said))
    track = track_along(driven)
    low_m, high_m = _range(ground.outline, track)
    near = track.beside(shapely.buffer(ground.outline, BESIDE_M), low_m, high_m)
    path = Curved(near, Frame(float(first)))
    return Course(path, low_m, high_m, shapely.Polygon(), tuple(notices))


def round_pivot(plan: Plan, ground: Ground) -> Course:
    """Follow rings about the plan's pivot, the first set at the center.

    Rows nearer to the center than the machines turn are not planted.
    """
    assert plan.direction.pivot is not None  # noqa: S101 - the caller's part
    center = ground.plane.to_plane(np.array([plan.direction.pivot]))[0]
    far_m = shapely.hausdorff_distance(ground.outline, shapely.Point(center))
    if ground.outline.distance(shapely.Point(center)) > far_m / 2:
        longitude, latitude = plan.direction.pivot
        raise BoundaryError(
            f"{plan.path.name}: direction.pivot: {longitude:g}, {latitude:g} is not near the "
            "field; give longitude first, then latitude"
        )
    radius_m = _radius_m(plan)
    hub = shapely.Point(center).buffer(radius_m, quad_segs=90)
    notices = _turns_stated(plan)
    if radius_m > LEAST_RADIUS_M and shapely.intersects(hub, ground.land):
        said = (
            f"rings nearer than {format_length(radius_m, plan.units)} to the pivot are not "
            "planted: machines turn no tighter"
        )
        notices.append(Notice("fit", "mind", None, said))
    track = rings_about(center)
    high_m = _farthest(ground.outline, track)
    return Course(Curved(track, Frame(0.0)), 0.0, high_m, hub, tuple(notices))


def _turns_stated(plan: Plan) -> list[Notice]:
    """Say where a machine's turning radius is not known, and bends are not judged by it."""
    silent = [name for name, one in plan.machines.items() if one.turning_radius_m is None]
    if not silent:
        return []
    names = ", ".join(silent)
    said = f"{names}: no turning_radius is given, so rows may bend too tightly to be driven"
    return [Notice("fit", "mind", None, said)]


def _radius_m(plan: Plan) -> float:
    radii = [machine.turning_radius_m or 0.0 for machine in plan.machines.values()]
    return max([LEAST_RADIUS_M, *radii])


def _samples(outline: shapely.Geometry) -> Floats:
    return np.asarray(shapely.get_coordinates(shapely.segmentize(outline, SAMPLE_M)))


def _farthest(land: shapely.Geometry, track: Track) -> float:
    return float(np.hypot(*(shapely.get_coordinates(land) - track.base[0]).T).max())


def _range(land: shapely.Geometry, track: Track) -> tuple[float, float]:
    """Give the least and the greatest distance of land to the left of a line."""
    left_m = track.left_of(_samples(land))
    return float(left_m.min()) - 1.0, float(left_m.max()) + 1.0


def _driven(line: Floats, outline: shapely.Geometry, radius_m: float) -> Floats:
    """Smooth a line so that every row beside it can be driven.

    Rows reach as far as the field does, straight out from each vertex. Smoothing turns that way a
    little, so it is done until nothing changes; where parallels still cross, outside the field at
    the latest, every vertex is taken to have rows as far as the farthest.
    """
    driven = line
    for _ in range(ROUNDS):
        left_m, right_m = _reach_beside(driven, outline)
        again = smooth(line, left_m, right_m, radius_m)
        still = np.abs(again - driven).max() < STILL_M
        driven = again
        if still:
            break
    low_m, high_m = _range(outline, track_along(driven))
    if not shapely.is_simple(track_along(driven).lines(np.array([low_m, high_m]))).all():
        far = np.full(len(line), 1.0)
        driven = smooth(line, far * max(high_m, 0.0), far * max(-low_m, 0.0), radius_m)
        if not shapely.is_simple(track_along(driven).lines(np.array([low_m, high_m]))).all():
            raise CurveError("has parallels that cross inside the field", line[len(line) // 2])
    return driven


ROUNDS = 5


def _reach_beside(line: Floats, outline: shapely.Geometry) -> tuple[Floats, Floats]:
    """Give how far the field reaches straight to the left and right of each vertex of a line."""
    hull = shapely.convex_hull(outline)
    way = track_along(line).way
    far_m = 2.0 * float(np.hypot(*np.ptp(line, axis=0)))
    reach = []
    for side in (1.0, -1.0):
        rays = shapely.linestrings(np.stack([line, line + side * far_m * way], axis=1))
        points, vertex = shapely.get_coordinates(
            overlay.intersection(rays, hull), return_index=True
        )
        own = np.zeros(len(line))
        np.maximum.at(own, vertex, np.hypot(*(points - line[vertex]).T))
        reach.append(_widened(own))
    return reach[0], reach[1]


def _widened(values: Floats) -> Floats:
    """Give the greatest of each value's neighbors within 20 vertices on either side."""
    padded = np.pad(values, 20)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, 41).max(axis=1))
