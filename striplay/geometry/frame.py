"""Turn the plane so that travel runs along x, and back."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.slivers import real_parts

Floats = npt.NDArray[np.float64]

_QUARTERS = ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))
"""Unit vectors (east, north) of quarter turns from north."""


@dataclass(frozen=True)
class Frame:
    """A turned plane: x along the heading, y to the left of it.

    Attributes:
        heading_deg: direction of travel, degrees clockwise from the plane's north (its +y).
    """

    heading_deg: float

    @cached_property
    def unit(self) -> tuple[float, float]:
        """Unit vector of travel (east, north); exact on quarter turns, where cos slips."""
        quarter, rest = divmod(self.heading_deg, 90.0)
        if rest == 0.0:
            return _QUARTERS[int(quarter) % 4]
        heading_rad = math.radians(self.heading_deg)
        return math.sin(heading_rad), math.cos(heading_rad)

    def turn_points(self, points: Floats) -> Floats:
        """Turn points, an array (n, 2) of (east, north), into (along, left) of travel."""
        east, north = self.unit
        return np.asarray(points @ np.array([[east, -north], [north, east]]))

    def turn_points_back(self, points: Floats) -> Floats:
        """Turn points, an array (n, 2) of (along, left), into (east, north)."""
        east, north = self.unit
        return np.asarray(points @ np.array([[east, north], [-north, east]]))

    def turn(self, geometries: Any) -> Any:  # noqa: ANN401 - shapely takes one geometry or an array
        """Turn a geometry, or an array of them, so that travel runs along x."""
        return shapely.transform(geometries, self.turn_points)

    def turn_back(self, geometries: Any) -> Any:  # noqa: ANN401 - as above
        """Undo `turn`."""
        return shapely.transform(geometries, self.turn_points_back)

    def turn_areas(self, areas: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - as above
        """Turn polygons or multipolygons, as an array, each valid before and after."""
        return _mended(self.turn(areas))

    def turn_areas_back(self, areas: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - as above
        """Undo `turn_areas`."""
        return _mended(self.turn_back(areas))


def turn_each(
    points: Floats, which: npt.NDArray[np.int64], headings_deg: Sequence[float]
) -> Floats:
    """Turn points, an array (n, 2) of (east, north), each into (along, left) of its own heading.

    Args:
        points: the points.
        which: index of each one's heading, (n,).
        headings_deg: degrees clockwise from north.
    """
    east, north = _units(np.asarray(headings_deg, dtype=np.float64))[:, which]
    x, y = points.T
    return np.column_stack([x * east + y * north, y * east - x * north])


def _units(headings_deg: Floats) -> Floats:
    """Give unit vectors of travel, (2, n), as `Frame` has them."""
    quarter, rest = np.divmod(headings_deg, 90.0)
    heading_rad = np.radians(headings_deg)
    found = np.stack([np.sin(heading_rad), np.cos(heading_rad)])
    for number in np.flatnonzero(rest == 0.0):
        found[:, number] = _QUARTERS[int(quarter[number]) % 4]
    return found


def _mended(areas: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - as above
    """Mend areas whose hair-thin necks were made to cross themselves by the rounding of a turn."""
    turned = np.atleast_1d(np.asarray(areas, dtype=object))
    whole_m2 = float(shapely.area(turned).sum())
    for index in np.flatnonzero(~shapely.is_valid(turned)):
        mended = [_valid(part) for part in shapely.get_parts(turned[index])]
        real, _ = real_parts(mended, whole_m2)
        turned[index] = real[0] if len(real) == 1 else shapely.multipolygons(real)
    return turned


def _valid(polygon: shapely.Geometry) -> shapely.Geometry:
    """Mend one polygon in the way that changes its area least.

    The mend that keeps shells and holes apart may take a crossing's small loop for the polygon and
    drop the rest.
    """
    if polygon.is_valid:
        return polygon
    mends = [shapely.make_valid(polygon, method=method) for method in ("structure", "linework")]
    return min(mends, key=lambda mend: abs(mend.area - polygon.area))
