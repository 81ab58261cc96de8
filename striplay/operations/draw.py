"""Draw a plan on its ground: choose sets and headings, then sweep."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError
from striplay.geometry.frame import Frame
from striplay.ground import Ground
from striplay.layout.across import repeat_section
from striplay.layout.blocks import GroundBlock, one_block
from striplay.layout.headland import headland_passes
from striplay.layout.passes import Bridge, draw_passes
from striplay.layout.pieces import sweep_section
from striplay.operations.drawn import Drawn, DrawnBlock
from striplay.plan.models import Plan
from striplay.search.headings import Choice, Searched, search, stated, usual
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M
from striplay.units import format_length


def draw(plan: Plan, sections: list[Section], ground: Ground) -> Drawn:
    """Draw a plan on its ground in straight strips.

    Args:
        plan: what was asked.
        sections: the sets to choose from, the plan's own or best-fitting first.
        ground: the field.

    Raises:
        BoundaryError: the headland leaves no land for a strip.
    """
    return draw_blocks(plan, sections, ground, [one_block(plan, ground)])


def draw_blocks(
    plan: Plan, sections: list[Section], ground: Ground, blocks: list[GroundBlock]
) -> Drawn:
    """Draw a plan block by block; arguments and errors as in `draw`."""
    section = sections[0]
    drawn: list[DrawnBlock] = []
    headland = []
    for block in blocks:
        choice, searched = _choose(plan, sections if len(blocks) == 1 else [section], block)
        section = choice.section
        made, taken = _draw_block(plan, choice, searched, block)
        headland.append(taken)
        before = drawn[-1] if drawn else None
        drawn.append(
            replace(
                made,
                first_strip=int(before.strip_number.max(initial=0)) if before else 0,
                first_set=int(before.set_number.max(initial=0)) if before else 0,
                first_piece=before.first_piece + len(before.pieces.strips.strip) if before else 0,
            )
        )
    taken = np.concatenate(headland)
    edge = headland_passes(ground.land, taken, plan)
    whole = one_block(plan, ground)
    return Drawn(section, tuple(drawn), taken, edge, usual(plan, sections[0], whole))


def search_whole(plan: Plan, sections: list[Section], ground: Ground) -> Searched:
    """Search the whole field as one block; arguments and errors as in `draw`."""
    found = search(plan, sections, one_block(plan, ground))
    if not found.best:
        raise _no_land(plan, 0)
    return found


def _choose(
    plan: Plan, sections: list[Section], block: GroundBlock
) -> tuple[Choice, Searched | None]:
    """Choose set, heading and offset of a block."""
    if block.heading != "best":
        return stated(plan, sections[0], block, float(block.heading)), None
    found = search(plan, sections, block)
    if not found.best:
        raise _no_land(plan, block.number)
    return found.best[0], found


def _draw_block(
    plan: Plan, choice: Choice, searched: Searched | None, block: GroundBlock
) -> tuple[DrawnBlock, npt.NDArray[np.object_]]:
    """Draw one block with a heading and an offset; give also its headland."""
    frame = Frame(choice.heading_deg)
    inner, headland = block.inner_at(frame)
    if inner.is_empty:
        raise _no_land(plan, block.number)
    turned = frame.turn_areas(inner)[0]
    _, bottom_m, _, top_m = turned.bounds
    start, section = plan.direction.start, choice.section
    across = repeat_section(section, bottom_m, top_m, start, choice.offset_m)
    pieces = sweep_section(turned, section, across, plan.direction.shortest_m or 0.0)
    bridge = None if block.ground.through.is_empty else _over(frame.turn(block.runs_at(frame)[0]))
    passes = draw_passes(pieces, section, across, start, bridge)
    return DrawnBlock(frame, inner, across, pieces, passes, choice, searched), headland


def _over(runs: shapely.Geometry) -> Bridge:
    """Say that machines drive on over ground, given turned."""
    ground = shapely.buffer(runs, LENGTH_M, join_style="mitre")
    shapely.prepare(ground)

    def bridge(gaps: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
        return np.asarray(shapely.covers(ground, shapely.linestrings(gaps)), dtype=bool)

    return bridge


def _no_land(plan: Plan, block: int) -> BoundaryError:
    """Say that a headland takes all land: of the field, or of a block."""
    name = plan.field.boundary if plan.field else plan.title
    width = format_length(plan.headland_width_m, plan.units)
    cure = "make [headland] narrower" + (
        ', or where = "ends"' if plan.headland.where == "around" else ""
    )
    if block:
        return BoundaryError(
            f"{plan.path.name}: blocks: the headland of {width} leaves no "
            f"land in block {block}; {cure}, or cut the field elsewhere"
        )
    return BoundaryError(f"{name}: a headland of {width} leaves no land inside it; {cure}")
