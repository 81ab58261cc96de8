"""Hold the ground that machines may turn and drive on between passes, and measure ways on it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.beyond import Edged
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

    free: Edged
    wider: Edged
    land: Edged
    field: Edged

    @staticmethod
    def of(ground: Ground, standing: shapely.Geometry) -> "Room":
        """Take a field less what is gone around and the crops that stand on it.

        Poles and the like stay in: a driver steers round them.
        """
        left = overlay.difference(ground.rowed, standing)
        grown = [left, left, ground.rowed, ground.outline]
        every = shapely.buffer(grown, [INSIDE_M, SHORT_M, SHORT_M, SHORT_M])
        return Room(*(Edged.of(one) for one in every))

    def ahead_m(self, poses: Floats) -> Floats:
        """Give how far one can drive straight on from poses, at most `FARTHEST_M`, (k,)."""
        way = unit_ahead(poses[:, 2])
        begin = poses[:, :2] + 2 * INSIDE_M * way  # off the end of the crop driven out of
        end = poses[:, :2] + FARTHEST_M * way
        ahead_m = self.free.ahead_m(begin, end)
        return np.asarray(np.where(ahead_m > 0.0, ahead_m + 2 * INSIDE_M, 0.0))

    def over_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies beyond this ground, (k,)."""
        return self.wider.beyond_m(lines)

    def beside_m(self, lines: Geometries) -> Floats:
        """Give the same with what is not worth a word, (k,)."""
        return self.free.beyond_m(lines)

    def off_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies out of the field or over what is gone around, (k,)."""
        return self.land.beyond_m(lines)

    def beyond_m(self, lines: Geometries) -> Floats:
        """Give how much of lines lies out of the field, over obstacles and over crop, (k, 3)."""
        out_m, off_m = self.field.beyond_m(lines), self.off_m(lines)
        parts = np.column_stack([out_m, off_m - out_m, self.over_m(lines) - off_m])
        return np.asarray(np.maximum(parts, 0.0))


def unit_ahead(heading_deg: Floats) -> Floats:
    """Give unit vectors along headings, (k, 2)."""
    heading_rad = np.radians(heading_deg)
    return np.column_stack([np.sin(heading_rad), np.cos(heading_rad)])
