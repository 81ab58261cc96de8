"""Take the headland off the land."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.geometry.needles import without_needles
from striplay.plan.models import Plan
from striplay.section.cover import passes_to_cover
from striplay.section.strips import works_on
from striplay.tolerances import SLIVER_M2, WIDTH_M


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
        return inner, _polygons(shapely.difference(land, inner))
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
    parts = shapely.get_parts(geometry)
    return without_needles(parts[shapely.area(parts) > SLIVER_M2])


@dataclass(frozen=True)
class HeadlandPasses:
    """The passes of one machine round the headland.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        crop: what the headland is planted to.
        lines: the machine's centre, on the local plane, the outermost first.
    """

    operation: str
    machine: str
    crop: str
    lines: npt.NDArray[np.object_]


def headland_passes(
    land: shapely.Geometry, headland: npt.NDArray[np.object_], plan: Plan
) -> list[HeadlandPasses]:
    """Draw the passes over a planted headland, along the boundary; none where it is not planted."""
    crop, width_m = plan.headland.crop, plan.headland_width_m
    if crop is None or not len(headland):
        return []
    drawn = []
    for work in works_on(plan, crop):
        count = passes_to_cover(width_m, work.width_m)
        lines = []
        for number in range(count):
            offset = inset_all_round(land, (number + 0.5) * width_m / count)
            on_headland = shapely.intersection(shapely.boundary(offset), headland)
            lines.append(_joined_lines(on_headland))
        flat = np.concatenate(lines)
        drawn.append(
            HeadlandPasses(work.operation, work.machine, crop, flat[shapely.length(flat) > WIDTH_M])
        )
    return drawn


def _joined_lines(geometries: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    """Join lines that meet, and drop the points where lines only touch."""
    parts = shapely.get_parts(geometries)
    lines = shapely.get_parts(parts[shapely.get_dimensions(parts) == 1])
    return np.asarray(shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines))))
