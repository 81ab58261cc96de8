"""Mend a polygon whose ring crosses itself, or refuse it."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.geometry import overlay
from striplay.notices import Notice
from striplay.tolerances import MAX_MEND_M2, MAX_MEND_SHARE, MAX_MEND_SHARE_OF_SMALL

FAULTS = {
    "Hole lies outside shell": "has a hole outside it",
    "Holes are nested": "has a hole within a hole",
    "Interior is disconnected": "is cut apart by its holes",
}
"""What shapely calls the faults that are no crossing of a ring with itself, in our words."""

Spot = Callable[[npt.NDArray[np.float64]], tuple[float, float]]


def mend(
    polygon: shapely.Polygon, source: str, label: str, spot: Spot
) -> tuple[shapely.Geometry, list[Notice]]:
    """Make a polygon valid where that changes its area by little, as a share or in square meters.

    Repeated vertices are dropped first; they are no fault and are not noted.

    Args:
        polygon: one polygon, in meters.
        source: its file, for messages.
        label: where in the file it stands.
        spot: gives a point as longitude and latitude in degrees.

    Returns:
        The polygon, or several in one multipolygon, and notices of what was mended.

    Raises:
        BoundaryError: the ring has no area, or mending would change it too much.
    """
    polygon = shapely.remove_repeated_points(polygon)
    if shapely.is_valid(polygon) and polygon.area > 0:
        return polygon, []
    parts = shapely.get_parts(shapely.make_valid(polygon))
    valid = overlay.union_all(parts[shapely.get_dimensions(parts) == 2])  # noqa: PLR2004 - areas
    if valid.area == 0:
        at = spot(shapely.get_coordinates(polygon)[0])
        raise BoundaryError.of(source, [f"{label} has no area, near {written(at)}"])
    changed_m2 = abs(valid.area - polygon.area)
    fault, point = _first_fault(polygon)
    at = spot(point)
    where = f"{fault} at {written(at)}"
    little = changed_m2 < MAX_MEND_M2 and changed_m2 < MAX_MEND_SHARE_OF_SMALL * valid.area
    if changed_m2 >= MAX_MEND_SHARE * valid.area and not little:
        fault = (
            f"{label} {where}; mending it would change its area by "
            f"{changed_m2:,.0f} m2 of {valid.area:,.0f}, so mend the boundary by hand"
        )
        raise BoundaryError.of(source, [fault])
    told = f"{source}: {label} {where}; mended, changing its area by {changed_m2:,.1f} m2"
    return valid, [Notice("boundary", "know", at, told)]


def written(spot: tuple[float, float]) -> str:
    """Write longitude and latitude, to about a meter.

    >>> written((-93.5, 42.0))
    '-93.50000, 42.00000'
    """
    return f"{spot[0]:.5f}, {spot[1]:.5f}"


def _first_fault(polygon: shapely.Polygon) -> tuple[str, npt.NDArray[np.float64]]:
    """Say what is first wrong with a polygon, and where: shapely ends its reason with the place."""
    reason, _, end = shapely.is_valid_reason(polygon).partition("[")
    x, y = end.removesuffix("]").split()[:2]
    return FAULTS.get(reason, "crosses itself"), np.array([float(x), float(y)])
