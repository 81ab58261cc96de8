"""Drive a laid field: every machine's passes, and the season's jobs from gate to gate."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from striplay.ground import Ground
from striplay.laid import Laid
from striplay.operations.jobs import jobs_of
from striplay.operations.passes import Passes, Swept, check_clear, strip_passes
from striplay.operations.round import headland_passes
from striplay.operations.route import Route
from striplay.operations.routes import Land, routes_of
from striplay.operations.ways import rings_of
from striplay.plan.models import Plan


def drive(plan: Plan, laid: Laid, ground: Ground) -> list[Passes]:
    """Drive every machine over a laid field, its passes side by side.

    Args:
        plan: machines, operations and headland.
        laid: the field, swept.
        ground: its obstacles.
    """
    driven = [one for swept in swept_blocks(plan, laid) for one in strip_passes(swept, ground)]
    driven += headland_passes(plan, ground, laid.headland, laid.verges)
    check_clear(driven, ground)
    return driven


def swept_blocks(plan: Plan, laid: Laid) -> list[Swept]:
    """Give the blocks as they are driven over."""
    start = plan.direction.start
    return [
        Swept(
            laid.section,
            block.across,
            block.pieces,
            block.path,
            start if block.path.around is None else "right",
            index,
        )
        for index, block in enumerate(laid.blocks)
    ]


def route(
    plan: Plan,
    laid: Laid,
    ground: Ground,
    driven: Sequence[Passes],
    days: Mapping[tuple[str, str], date],
) -> list[Route]:
    """Drive every job of the season from gate to gate, in the order of the season.

    Args:
        plan: machines, operations and gate.
        laid: the field, swept.
        ground: its obstacles.
        driven: every machine's passes.
        days: when each planting and harvest happens, by operation and crop, as far as known.
    """
    rows, strips = laid.section.rows, range(len(laid.section.strips))
    grown = [frozenset(row.label for row in rows if row.strip == index) for index in strips]
    land = Land(
        ground=ground,
        section=laid.section,
        blocks=[(block.path, block.pieces.rows) for block in laid.blocks],
        strips=np.concatenate([b.path.back(b.pieces.strips.polygon) for b in laid.blocks]),
        grown=[grown[kind] for b in laid.blocks for kind in b.pieces.strips.kind.tolist()],
        headland=laid.headland,
        rings=rings_of(ground, laid.headland, plan.headland_width_m),
    )
    return routes_of(plan, jobs_of(plan, laid.section, days), days, driven, land)
