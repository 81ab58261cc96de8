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
from striplay.layout.headland import HeadlandPasses, headland_passes, inner_land
from striplay.layout.passes import Passes, draw_passes
from striplay.layout.pieces import Pieces, sweep_section
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import SLIVER_M2


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
    round_land = (
        inner_land(ground.land, plan, None) if plan.headland.where != "ends" else ground.land
    )
    if round_land.is_empty:
        raise _no_land(plan)
    heading_deg = fewest_passes_heading_deg(round_land) if heading == "best" else float(heading)
    frame = Frame(heading_deg)
    inner = inner_land(ground.land, plan, frame) if plan.headland.where == "ends" else round_land
    if inner.is_empty:
        raise _no_land(plan)
    turned = frame.turn(inner)
    _, bottom_m, _, top_m = turned.bounds
    start = plan.direction.start
    across = repeat_section(section, bottom_m, top_m, start)
    pieces = sweep_section(turned, section, across, plan.direction.shortest_m or 0.0)
    passes = draw_passes(pieces, section, across, start)
    headland = _headland(ground.land, inner)
    edge = headland_passes(ground.land, headland, plan)
    return Drawn(frame, inner, headland, across, pieces, passes, edge)


def _no_land(plan: Plan) -> BoundaryError:
    name = plan.field.boundary if plan.field else plan.title
    return BoundaryError(
        f"{name}: a headland of {plan.headland_width_m:.1f} m leaves no land inside it; make "
        '[headland] narrower, or where = "ends"'
    )


def _headland(land: shapely.Geometry, inner: shapely.Geometry) -> npt.NDArray[np.object_]:
    parts = shapely.get_parts(shapely.difference(land, inner))
    return np.asarray(parts[shapely.area(parts) > SLIVER_M2], dtype=object)
