"""Take the headland off the land."""

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.geometry.needles import without_needles
from striplay.geometry.slivers import real_parts
from striplay.plan.models import Plan


def inside_headland(
    land: shapely.Geometry, plan: Plan, frame: Frame | None, ends: Ends | None = None
) -> shapely.Geometry:
    """Give the land inside the headland.

    Args:
        land: what may be cropped, on the local plane.
        plan: its headland.
        frame: the direction of travel; needed where the headland is at the ends only.
        ends: the land's ends, where they are kept between calls.
    """
    if plan.headland_width_m == 0.0:
        return land
    if plan.headland.where == "around":
        return inset_all_round(land, plan.headland_width_m)
    assert frame is not None  # noqa: S101 - the caller knows the heading by then
    return shapely.multipolygons(_polygons((ends or ends_of(land, plan)).inside(frame)))


def headland_beside(
    land: shapely.Geometry, inner: shapely.Geometry, plan: Plan, frame: Frame, ends: Ends | None
) -> npt.NDArray[np.object_]:
    """Give the polygons of the headland beside the land inside it.

    Both come from the land itself, never one from the other's cut edges, which lie a rounding
    beside the land's own and may upset an overlay.

    Args:
        land: as for `inside_headland`.
        inner: what that gives.
        plan: likewise.
        frame: likewise.
        ends: the land's ends; None where the headland is all round.
    """
    if plan.headland_width_m == 0.0:
        return np.empty(0, dtype=object)
    return _polygons(overlay.difference(land, inner) if ends is None else ends.at(frame))


def ends_of(land: shapely.Geometry, plan: Plan) -> Ends:
    """Prepare the ends of land that a plan has its headland at."""
    return Ends(land, plan.headland_width_m, widest_pass_m(plan))


def widest_pass_m(plan: Plan) -> float:
    """Give the width of the widest planter of a plan's crops."""
    return max((plan.planter(crop).width_m for crop in plan.crops), default=0.0)


def _polygons(geometry: shapely.Geometry) -> npt.NDArray[np.object_]:
    return without_needles(real_parts(geometry)[0])
