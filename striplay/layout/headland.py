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
    if plan.headland.where == "ends":
        ends = ends or ends_of(land, plan)
    inner = inside_headland(land, plan, frame, ends)
    if plan.headland_width_m == 0.0:
        return inner, np.empty(0, dtype=object)
    if ends is None:
        return inner, _polygons(overlay.difference(land, inner))
    assert frame is not None  # noqa: S101 - the caller knows the heading by then
    return inner, _polygons(ends.at(frame))


def inside_headland(
    land: shapely.Geometry, plan: Plan, frame: Frame | None, ends: Ends | None = None
) -> shapely.Geometry:
    """Give the land inside the headland; arguments as in `split_headland`."""
    if plan.headland_width_m == 0.0:
        return land
    if plan.headland.where == "around":
        return inset_all_round(land, plan.headland_width_m)
    assert frame is not None  # noqa: S101 - the caller knows the heading by then
    return shapely.multipolygons(_polygons((ends or ends_of(land, plan)).inside(frame)))


def ends_of(land: shapely.Geometry, plan: Plan) -> Ends:
    """Prepare the ends of land that a plan has its headland at."""
    return Ends(land, plan.headland_width_m, widest_pass_m(plan))


def widest_pass_m(plan: Plan) -> float:
    """Give the width of the widest planter of a plan's crops."""
    return max((plan.planter(crop).width_m for crop in plan.crops), default=0.0)


def _polygons(geometry: shapely.Geometry) -> npt.NDArray[np.object_]:
    return without_needles(real_parts(geometry)[0])
