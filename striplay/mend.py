"""Mend a polygon whose ring crosses itself, or refuse it."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.geometry import overlay
from striplay.notices import Notice
from striplay.tolerances import MAX_MEND_M2, MAX_MEND_SHARE, MAX_MEND_SHARE_OF_SMALL
from striplay.units import ACRE_M2, FOOT_M, HECTARE_M2, UnitSystem, format_area

FAULTS = {
    "Hole lies outside shell": "has a hole outside it",
    "Holes are nested": "has a hole within a hole",
    "Interior is disconnected": "is cut apart by its holes",
}
"""What shapely calls the faults that are no crossing of a ring with itself, in our words."""

Spot = Callable[[npt.NDArray[np.float64]], tuple[float, float]]


def mend(
    polygon: shapely.Polygon, source: str, label: str, spot: Spot, units: UnitSystem = "us"
) -> tuple[shapely.Geometry, list[Notice]]:
    """Make a polygon valid where that changes its area by little, as a share or in square meters.

    Repeated vertices are dropped first; they are no fault and are not noted.

    Args:
        polygon: one polygon, in meters.
        source: its file, for messages.
        label: where in the file it stands.
        spot: gives a point as longitude and latitude in degrees.
        units: how areas are written.

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
        by, of = (area_written(m2, units) for m2 in (changed_m2, valid.area))
        much = f"all of its {of}" if by == of else f"its area by {by} of {of}"
        fault = f"{label} {where}; mending it would change {much}, so mend the boundary by hand"
        raise BoundaryError.of(source, [fault])
    by = area_written(changed_m2, units)
    told = f"{source}: {label} {where}; mended, changing its area by {by}"
    return valid, [Notice("boundary", "know", at, told)]


def written(spot: tuple[float, float]) -> str:
    """Write longitude and latitude, to about a meter.

    >>> written((-93.5, 42.0))
    '-93.50000, 42.00000'
    """
    return f"{spot[0]:.5f}, {spot[1]:.5f}"


def area_written(area_m2: float, units: UnitSystem) -> str:
    """Write an area that may be small: below a tenth of an acre or hectare in its square unit.

    >>> area_written(400.0, "us"), area_written(500.0, "us"), area_written(18.0, "metric")
    ('4,306 ft2', '0.12 ac', '18.0 m2')
    """
    if area_m2 >= (ACRE_M2 if units == "us" else HECTARE_M2) / 10:
        return format_area(area_m2, units)
    return f"{area_m2 / FOOT_M**2:,.0f} ft2" if units == "us" else f"{area_m2:,.1f} m2"


def _first_fault(polygon: shapely.Polygon) -> tuple[str, npt.NDArray[np.float64]]:
    """Say what is first wrong with a polygon, and where: shapely ends its reason with the place."""
    reason, _, end = shapely.is_valid_reason(polygon).partition("[")
    x, y = end.removesuffix("]").split()[:2]
    return FAULTS.get(reason, "crosses itself"), np.array([float(x), float(y)])
