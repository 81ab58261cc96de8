"""Mend a polygon whose ring crosses itself, or refuse it."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.tolerances import MAX_MEND_SHARE

Place = Callable[[npt.NDArray[np.float64]], str]


def mend(
    polygon: shapely.Polygon, source: str, label: str, place: Place
) -> tuple[shapely.Geometry, list[str]]:
    """Make a polygon valid where that changes its area by less than `MAX_MEND_SHARE`.

    Repeated vertices are dropped first; they are no fault and are not noted.

    Args:
        polygon: one polygon, in metres.
        source: its file, for messages.
        label: where in the file it stands.
        place: writes a point as longitude and latitude.

    Returns:
        The polygon, or several in one multipolygon, and notices of what was mended.

    Raises:
        BoundaryError: the ring has no area, or mending would change it too much.
    """
    polygon = shapely.remove_repeated_points(polygon)
    if shapely.is_valid(polygon) and polygon.area > 0:
        return polygon, []
    parts = shapely.get_parts(shapely.make_valid(polygon))
    valid = shapely.union_all(parts[shapely.get_dimensions(parts) == 2])  # noqa: PLR2004 - areas
    if valid.area == 0:
        at = place(shapely.get_coordinates(polygon)[0])
        raise BoundaryError(f"{source}: {label} has no area, near {at}")
    changed_m2 = abs(valid.area - polygon.area)
    where = f"crosses itself at {place(_crossing(polygon))}"
    if changed_m2 >= MAX_MEND_SHARE * valid.area:
        raise BoundaryError(
            f"{source}: {label} {where}; mending it would change its area by "
            f"{changed_m2:,.0f} m2 of {valid.area:,.0f}, so mend the boundary by hand"
        )
    return valid, [f"{source}: {label} {where}; mended, changing its area by {changed_m2:,.1f} m2"]


def _crossing(polygon: shapely.Polygon) -> npt.NDArray[np.float64]:
    """Find where a ring first crosses or touches itself: shapely ends its reason with the place."""
    reason = shapely.is_valid_reason(polygon)
    x, y = reason[reason.index("[") + 1 : reason.index("]")].split()[:2]
    return np.array([float(x), float(y)])
