"""Turn the plane so that travel runs along x, and back."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.slivers import real_parts

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Frame:
    """A turned plane: x along the heading, y to the left of it.

    Attributes:
        heading_deg: direction of travel, degrees clockwise from the plane's north (its +y).
    """

    heading_deg: float

    @cached_property
    def _along(self) -> tuple[float, float]:
        """Unit vector of travel (east, north); exact on quarter turns, where cos slips."""
        quarter, rest = divmod(self.heading_deg, 90.0)
        if rest == 0.0:
            return ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))[int(quarter) % 4]
        heading_rad = math.radians(self.heading_deg)
        return math.sin(heading_rad), math.cos(heading_rad)

    def turn_points(self, points: Floats) -> Floats:
        """Turn points, an array (n, 2) of (east, north), into (along, left) of travel."""
        east, north = self._along
        return np.asarray(points @ np.array([[east, -north], [north, east]]))

    def turn_points_back(self, points: Floats) -> Floats:
        """Turn points, an array (n, 2) of (along, left), into (east, north)."""
        east, north = self._along
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
