"""Take the headland off the land."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.geometry.inset import inset_all_round, inset_at_ends
from striplay.plan.models import Plan
from striplay.section.cover import passes_to_cover
from striplay.section.strips import works_on
from striplay.tolerances import WIDTH_M


def inner_land(land: shapely.Geometry, plan: Plan, frame: Frame | None) -> shapely.Geometry:
    """Give the land inside the headland.

    Args:
        land: what may be cropped, on the local plane.
        plan: its headland.
        frame: the direction of travel; needed where the headland is at the ends only.
    """
    width_m = plan.headland_width_m
    if width_m == 0.0:
        return land
    if plan.headland.where == "around":
        return inset_all_round(land, width_m)
    assert frame is not None  # noqa: S101 - the caller knows the heading by then
    return frame.turn_back(inset_at_ends(frame.turn(land), width_m))


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
    ground = shapely.union_all(headland)
    drawn = []
    for work in works_on(plan, crop):
        count = passes_to_cover(width_m, work.width_m)
        lines = []
        for number in range(count):
            offset = inset_all_round(land, (number + 0.5) * width_m / count)
            on_headland = shapely.intersection(shapely.boundary(offset), ground)
            lines.append(shapely.get_parts(shapely.line_merge(on_headland)))
        flat = np.concatenate(lines)
        drawn.append(
            HeadlandPasses(work.operation, work.machine, crop, flat[shapely.length(flat) > WIDTH_M])
        )
    return drawn
