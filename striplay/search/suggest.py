"""Suggest blocks: cuts through inward corners, and a field's separate parts."""

import logging
import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.directions import HALF_TURN_DEG, direction_deg
from striplay.geometry.edges import edges_of
from striplay.ground import Ground
from striplay.layout.blocks import (
    FieldBlock,
    cut_outline,
    one_block,
    reflex_points,
    split_blocks,
)
from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.search.choice import Choice
from striplay.search.headings import search
from striplay.search.land import prepare
from striplay.search.weigher import Weigher
from striplay.section.section import Section

_log = logging.getLogger(__name__)

SMOOTH_M = 5.0
"""Wiggles of the boundary below this make no corner."""
COARSE_DEG = 5.0
"""Headings are tried this near to each other, and along long edges, to compare cuts."""
LONG_SHARE = 0.1
"""An edge is long from this share of the longest."""
MOST_CORNERS = 6
"""The corners that bend most are tried."""
LEAST_SHARE = 0.05
"""A block has at least this share of the field."""


def suggest_blocks(
    plan: Plan, section: Section, ground: Ground
) -> tuple[list[FieldBlock], list[Notice]]:
    """Find the blocks that cost least, if they save more than the plan's `gain`.

    Cuts run through inward corners along the edges beside them and along the best heading; a field
    in several parts may also have a heading for each. All are compared on coarse headings, and the
    best again by the full search.

    Returns:
        The blocks, one where no split saves enough, and a notice of what was found.
    """
    whole = one_block(plan, ground)
    best = search(plan, section, whole).first
    if best is None:
        return [whole], []
    headings = _headings(ground.outline, best.heading_deg)
    _log.info("comparing cuts through inward corners")
    found = [
        (sum(_coarse_cost(plan, section, block, headings) for block in blocks), blocks)
        for blocks in _splits(plan, ground, best.heading_deg)
    ]
    if not found:
        return [whole], _told("the field has no inward corner and one part; nothing to split")
    blocks = min(found, key=lambda split: split[0])[1]
    searched = [search(plan, section, block).first for block in blocks]
    # a block that would stay bare is no block
    cost = sum(_aimed(plan, own) if own and own.passes else math.inf for own in searched)
    saved = 1 - cost / max(_aimed(plan, best), 1e-9)
    what = {"money": "cost", "land": "cost of land not cropped", "passes": "planter passes"}[
        plan.cost.aim
    ]
    if saved <= 0.0:
        return [whole], _told(f"no split lowers the {what}; the field stays whole")
    if saved <= plan.cost.gain:
        return [whole], _told(
            f"the best split would save {max(saved, 0.0):.1%} of the {what}, less than "
            f"the {plan.cost.gain:.0%} asked for; the field stays whole"
        )
    return blocks, _told(
        f"{len(blocks)} blocks with headings of their own save {saved:.0%} of the "
        f"{what}; strips.geojson shows them by the column block"
    )


def _told(said: str) -> list[Notice]:
    return [Notice("blocks", "mind", None, f"blocks: {said}")]


def _headings(outline: shapely.Geometry, best_deg: float) -> npt.NDArray[np.float64]:
    edges = edges_of(shapely.simplify(outline, SMOOTH_M))
    step = edges.end - edges.start
    length_m = np.hypot(*step.T)
    long = direction_deg(step[length_m >= LONG_SHARE * length_m.max()])
    grid = np.arange(0.0, HALF_TURN_DEG, COARSE_DEG)
    return np.unique(np.concatenate([grid, long, [best_deg]]))


def _coarse_cost(
    plan: Plan, section: Section, block: FieldBlock, headings: npt.NDArray[np.float64]
) -> float:
    weigher = Weigher(plan, section, prepare(plan, block)[0])
    return _aimed(plan, next(weigher.best_first(headings)))


def _aimed(plan: Plan, choice: Choice) -> float:
    """Give what the plan's aim makes least."""
    return choice.money if plan.cost.aim == "money" or not choice.laid else choice.aim


def _splits(plan: Plan, ground: Ground, best_deg: float) -> Iterator[list[FieldBlock]]:
    """Give every split tried."""
    parts = list(shapely.get_parts(ground.outline))
    if len(parts) > 1:
        yield split_blocks(plan, ground, [(part, "best") for part in parts])
    simple = shapely.simplify(ground.outline, SMOOTH_M)
    corners = reflex_points(simple)[:MOST_CORNERS]
    edges = edges_of(simple)
    for corner in corners:
        beside = np.all(edges.start == corner, axis=1) | np.all(edges.end == corner, axis=1)
        along = direction_deg((edges.end - edges.start)[beside])
        for heading in np.unique(np.round([*along, best_deg, (best_deg + 90) % 180], 3)):
            cut = _cut_through(ground.outline, corner, float(heading))
            faces = cut_outline(ground.outline, cut, [])
            if len(faces) > len(parts) and all(
                face.area >= LEAST_SHARE * ground.outline.area for face in faces
            ):
                yield split_blocks(plan, ground, [(face, "best") for face in faces])


def _cut_through(
    outline: shapely.Geometry, corner: npt.NDArray[np.float64], heading_deg: float
) -> shapely.Geometry:
    """Give the straight cut through a corner, inside the field and hanging together with it."""
    far_m = 2.0 * float(np.hypot(*np.ptp(np.reshape(outline.bounds, (2, 2)), axis=0)))
    way = far_m * np.array([np.sin(np.radians(heading_deg)), np.cos(np.radians(heading_deg))])
    line = shapely.LineString([corner - way, corner + way])
    pieces = shapely.get_parts(overlay.intersection(line, outline.buffer(1e-3)))
    near = pieces[shapely.dwithin(pieces, shapely.Point(corner), SMOOTH_M)]
    return shapely.multilinestrings(near[shapely.get_dimensions(near) == 1])
