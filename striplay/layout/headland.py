"""Take the headland off the land."""

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.geometry.needles import without_needles
from striplay.plan.models import Plan
from striplay.tolerances import SLIVER_M2


def split_headland(
    land: shapely.Geometry, plan: Plan, frame: Frame | None, ends: Ends | None = None
) -> tuple[shapely.Geometry, npt.NDArray[np.object_]]:
    """Split land into what lies inside the headland and the headland.

    Both come from the land itself, never one from the other's cut edges, which lie a rounding
    beside the land's own and may upset an overlay.

    Args:
        land: what may be cropped, on the local plane.
        plan: its headland.
        frame: the direction of travel; needed where the headland is at the ends only.
        ends: the land's ends, where they are kept between calls.

    Returns:
        The land inside, and the polygons of the headland.
    """
    width_m = plan.headland_width_m
    if width_m == 0.0:
        return land, np.empty(0, dtype=object)
    if plan.headland.where == "around":
        inner = inset_all_round(land, width_m)
        return inner, _polygons(shapely.difference(land, inner))
    assert frame is not None  # noqa: S101 - the caller knows the heading by then
    taken = (ends or Ends(land, width_m)).at(frame)
    return _together(_polygons(shapely.difference(land, taken))), _polygons(taken)


def _together(polygons: npt.NDArray[np.object_]) -> shapely.Geometry:
    return shapely.multipolygons(polygons)


def _polygons(geometry: shapely.Geometry) -> npt.NDArray[np.object_]:
    parts = shapely.get_parts(geometry)
    return without_needles(parts[shapely.area(parts) > SLIVER_M2])
