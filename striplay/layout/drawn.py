"""Draw a plan on its ground: one function, a line a stage."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.geometry.frame import Frame
from striplay.ground import Ground
from striplay.layout.across import Across, repeat_section
from striplay.layout.heading import fewest_passes_heading_deg
from striplay.layout.headland import HeadlandPasses, headland_passes, split_headland
from striplay.layout.passes import Passes, draw_passes
from striplay.layout.pieces import Pieces, sweep_section
from striplay.plan.models import Plan
from striplay.section.section import Section


@dataclass(frozen=True)
class Drawn:
    """A plan drawn on its ground.

    Attributes:
        frame: the direction of travel; pieces and passes are turned so that it runs along x.
        inner: the land inside the headland, on the local plane.
        headland: polygons of the headland, on the local plane.
        across: the set repeated over the land.
        pieces: strips, rows and leftover, turned.
        passes: each machine's passes over the strips, turned.
        headland_passes: each machine's passes over the headland, on the local plane.
    """

    frame: Frame
    inner: shapely.Geometry
    headland: npt.NDArray[np.object_]
    across: Across
    pieces: Pieces
    passes: list[Passes]
    headland_passes: list[HeadlandPasses]


def draw(plan: Plan, section: Section, ground: Ground) -> Drawn:
    """Draw a plan's section on its ground.

    Raises:
        BoundaryError: the headland leaves no land for a strip.
    """
    heading = plan.direction.heading
    if plan.headland.where == "ends":  # the ends depend on the heading, not it on them
        frame = _frame(heading, ground.land)
        inner, headland = split_headland(ground.land, plan, frame)
    else:
        inner, headland = split_headland(ground.land, plan, None)
        frame = _frame(heading, inner)
    if inner.is_empty:
        raise _no_land(plan)
    turned = frame.turn_areas(inner)[0]
    _, bottom_m, _, top_m = turned.bounds
    start = plan.direction.start
    across = repeat_section(section, bottom_m, top_m, start)
    pieces = sweep_section(turned, section, across, plan.direction.shortest_m or 0.0)
    passes = draw_passes(pieces, section, across, start)
    edge = headland_passes(ground.land, headland, plan)
    return Drawn(frame, inner, headland, across, pieces, passes, edge)


def _frame(heading: float | str, land: shapely.Geometry) -> Frame:
    if heading != "best":
        return Frame(float(heading))
    return Frame(0.0 if land.is_empty else fewest_passes_heading_deg(land))


def _no_land(plan: Plan) -> BoundaryError:
    name = plan.field.boundary if plan.field else plan.title
    return BoundaryError(
        f"{name}: a headland of {plan.headland_width_m:.1f} m leaves no land inside it; make "
        '[headland] narrower, or where = "ends"'
    )
