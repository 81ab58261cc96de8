"""Hold the ground that machines may turn and drive on between passes, and measure ways on it."""

from dataclasses import dataclass
from dataclasses import field as kept

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.ground import Ground
from striplay.tolerances import INSIDE_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

FARTHEST_M = 400.0
"""Room ahead of a pass is measured so far: no turn needs more (our choice)."""
OVER_M = 1.0
"""A turn may run so far over what it should keep off, as over a corner (our choice)."""
SHORT_M = 0.3
"""A headland a foot too narrow is not worth a word: steering takes as much (our choice)."""


@dataclass(frozen=True)
class Room:
    """Ground that machines may turn on.

    Attributes:
        free: it, on the local plane, wider by what steering errs by.
        wider: it, wider by what is not worth a word.
        land: the same with the crops that stand on it.
        field: the same with what is gone around too: the whole field.
    """

    free: shapely.Geometry = kept(repr=False)
    wider: shapely.Geometry = kept(repr=False)
    land: shapely.Geometry = kept(repr=False)
    field: shapely.Geometry = kept(repr=False)

    @staticmethod
    def of(ground: Ground, standing: shapely.Geometry) -> "Room":
        """Take a field less what is gone around and the crops that stand on it.

        Poles and the like stay in: a driver steers round them.
        """
        left = overlay.difference(ground.rowed, standing)
        grown = [left, left, ground.rowed, ground.outline]
        every = shapely.buffer(grown, [INSIDE_M, SHORT_M, SHORT_M, SHORT_M])
        shapely.prepare(every)
        return Room(*every)

    def ahead_m(self, poses: Floats) -> Floats:
        """Give how far one can drive straight on from poses, at most `FARTHEST_M`, (k,)."""
        way = unit_ahead(poses[:, 2])
        begin = poses[:, :2] + 2 * INSIDE_M * way  # off the end of the crop driven out of
        rays = shapely.linestrings(np.stack([begin, poses[:, :2] + FARTHEST_M * way], axis=1))
        met, ray = shapely.get_parts(shapely.intersection(rays, self.free), return_index=True)
        first = shapely.distance(met, shapely.points(begin[ray])) < INSIDE_M
        ahead_m = np.zeros(len(poses))
        np.maximum.at(ahead_m, ray[first], shapely.length(met[first]) + 2 * INSIDE_M)
        return ahead_m

    def over_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies beyond this ground, (k,)."""
        return _beyond_m(lines, self.wider)

    def beside_m(self, lines: Geometries) -> Floats:
        """Give the same with what is not worth a word, (k,)."""
        return _beyond_m(lines, self.free)

    def off_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies out of the field or over what is gone around, (k,)."""
        return _beyond_m(lines, self.land)

    def beyond_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies out of the field, over obstacles and over crop, (k, 3)."""
        out_m, off_m = _beyond_m(lines, self.field), self.off_m(lines)
        parts = np.column_stack([out_m, off_m - out_m, self.over_m(lines) - off_m])
        return np.asarray(np.maximum(parts, 0.0))


def _beyond_m(lines: Geometries, ground: shapely.Geometry) -> Floats:
    out = np.flatnonzero(~np.asarray(shapely.covers(ground, lines), dtype=bool))
    beyond_m = np.zeros(len(lines))
    if len(out):
        near = _near(ground, lines[out]) if len(out) > FEW else ground
        beyond_m[out] = shapely.length(shapely.difference(lines[out], near))
    return beyond_m


FEW = 3
"""For more lines it is quicker to cut out what lies about them first."""


def _near(ground: shapely.Geometry, lines: Geometries) -> shapely.Geometry:
    """Cut out what of some ground lies about lines."""
    west, south, east, north = shapely.total_bounds(lines)
    window = (west - 1.0, south - 1.0, east + 1.0, north + 1.0)
    near = shapely.clip_by_rect(ground, *window)  # quick, but without a promise to be valid
    if not shapely.is_valid(near):
        near = overlay.intersection(ground, shapely.box(*window))
    return near


def unit_ahead(heading_deg: Floats) -> Floats:
    """Give unit vectors along headings, (k, 2)."""
    heading_rad = np.radians(heading_deg)
    return np.column_stack([np.sin(heading_rad), np.cos(heading_rad)])
