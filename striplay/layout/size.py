"""Check that a layout asks for no more time and memory than there is, before it is made."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import BoundaryError, PlanError
from striplay.geometry.curves import RING_VERTICES, STEP_M
from striplay.ground import Ground
from striplay.limits import (
    MAX_CROWD,
    MAX_CURVE_VERTICES,
    MAX_HOLES,
    MAX_ROW_PIECES,
    MAX_SET_OF_FIELD,
    MAX_STRIP_PIECES,
)
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M
from striplay.units import format_length

Floats = npt.NDArray[np.float64]


def check_size(plan: Plan, sections: Sequence[Section], ground: Ground) -> None:
    """Check a plan's sets against its field.

    Raises:
        PlanError: a set far wider than the field, or too many pieces of row, strips or curves.
        BoundaryError: a boundary with too many holes, or too ragged.
    """
    across_m = ground.kept.once(
        "across", None, lambda: 2 * float(shapely.minimum_bounding_radius(ground.outline))
    )
    width_m = min(section.width_m for section in sections)
    if width_m > MAX_SET_OF_FIELD * across_m:
        wide, across = (format_length(meters, plan.units) for meters in (width_m, across_m))
        told = (
            f"strips: the set is {wide} wide, and the field {across} across; a set is at most "
            f"{MAX_SET_OF_FIELD:g} times as wide as the field, so take fewer strips, or give them "
            "fewer rows or less width"
        )
        raise PlanError(plan.path.name, [told])
    holes = int(shapely.get_num_interior_rings(shapely.get_parts(ground.land)).sum())
    if holes > MAX_HOLES:
        raise BoundaryError(
            f"the field has {holes:,} obstacles and holes; at most {MAX_HOLES:,} are laid round, "
            "so leave out the smallest, or choose one field"
        )
    pieces = row_pieces(sections, ground)
    if pieces > MAX_ROW_PIECES:
        told = f"about {pieces:,.0f} pieces of row; at most {MAX_ROW_PIECES:,} are laid"
        raise PlanError(
            plan.path.name,
            [f"{told}, so choose one field, wider rows, or simplify the boundary to a foot"],
        )
    _check_curves(plan, sections, ground, across_m)
    _check_strips(plan, sections, ground)
    if not _may_crowd(ground.land):
        return
    near_m = max(plan.headland_width_m, RAGGED_M)
    worst, place = ground.kept.once("crowd", near_m, lambda: crowd(ground.land, near_m))
    if worst > MAX_CROWD:
        raise BoundaryError(
            f"the boundary has too many teeth, most at {ground.plane.place(place)}; simplify it to "
            "a foot or two"
        )


RAGGED_M = 10.0
"""A boundary is judged as for a headland so wide where there is less."""


def row_pieces(sections: Sequence[Section], ground: Ground) -> float:
    """Estimate how many pieces rows are cut into.

    Each begins and ends at the boundary; lines of any direction, taken together, cross rows 2 / pi
    times their length over the spacing, as Buffon's needle does.
    """
    spacing_m = min(
        (row.spacing_m for section in sections for row in section.rows), default=math.inf
    )
    return _crossed(ground) / spacing_m


def _crossed(ground: Ground) -> float:
    """Give how many pieces lines a meter apart are cut into."""
    return float(ground.land.length) * 2 / math.pi / 2


def _lines_per_m(plan: Plan, section: Section) -> tuple[float, float, float]:
    """Give how many rows, strips and passes there are to a meter across."""
    rows = 1 / min((row.spacing_m for row in section.rows), default=math.inf)
    passes = sum(1 / machine.width_m for machine in plan.machines.values())
    return rows, len(section.strips) / section.width_m, passes


def _check_strips(plan: Plan, sections: Sequence[Section], ground: Ground) -> None:
    per_m = [_lines_per_m(plan, section) for section in sections]
    pieces = _crossed(ground) * max(strips + passes for _, strips, passes in per_m)
    if pieces > MAX_STRIP_PIECES:
        told = f"about {pieces:,.0f} pieces of strips and passes; at most {MAX_STRIP_PIECES:,} are"
        raise PlanError(
            plan.path.name,
            [f"{told} laid, so choose one field, wider strips and machines, or fewer obstacles"],
        )


def _check_curves(plan: Plan, sections: Sequence[Section], ground: Ground, across_m: float) -> None:
    """Check rings about a pivot, and lines along a key line, by the vertices each has."""
    per_m = max(
        rows + EDGES * strips + passes
        for rows, strips, passes in (_lines_per_m(plan, section) for section in sections)
    )
    if plan.direction.pivot is not None:
        center = ground.plane.to_plane(np.array([plan.direction.pivot]))[0]
        far_m = float(np.hypot(*(shapely.get_coordinates(ground.outline) - center).T).max())
        # a pivot further off is refused as such
        vertices = min(far_m, 2 * across_m) * per_m * RING_VERTICES
    elif plan.direction.along is not None:
        vertices = float(ground.outline.area) * per_m / STEP_M
    else:
        return
    if vertices > MAX_CURVE_VERTICES:
        told = f"about {vertices / 1e6:,.0f} million points along curves; at most"
        raise PlanError(
            plan.path.name,
            [
                (
                    f"{told} {MAX_CURVE_VERTICES / 1e6:g} million are laid, so take rows further "
                    "apart, wider strips and machines, or straight strips"
                )
            ],
        )


EDGES = 2
"""A strip along a curve has a line on either side."""


STRAIGHT_SHARE = 0.01
"""What offsetting takes for straight, as a share of the headland."""
STRIDES = 2 ** np.arange(8)
"""Every vertex, every second and so on: a tooth may have many vertices."""


def _may_crowd(land: shapely.Geometry) -> bool:
    """Tell whether land has vertices for too many such pairs: half left, half right is the most."""
    return (int(shapely.get_num_coordinates(land)) / 2) ** 2 > MAX_CROWD


def crowd(land: shapely.Geometry, width_m: float) -> tuple[float, Floats]:
    """Count pairs of vertices, one turning left and one right, in squares a headland wide.

    An offset makes a piece of line at each, and all pieces of a square cross each other; those of a
    round pond turn one way, and do not. (Simplifying the land instead fails: it recurses vertex by
    vertex.)

    Returns:
        The sum over all squares, and the middle of the worst.
    """
    rings = shapely.get_rings(shapely.get_parts(land))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    counts = [_crowd(points[::step], ring[::step], width_m) for step in STRIDES]
    return max(counts, key=lambda count: count[0])


def _crowd(points: Floats, ring: npt.NDArray[np.int64], width_m: float) -> tuple[float, Floats]:
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    chord, leg = after - before, points - before
    turn = chord[:, 0] * leg[:, 1] - chord[:, 1] * leg[:, 0]
    off_m = np.abs(turn) / np.maximum(np.hypot(*chord.T), WIDTH_M)
    bent = (off_m > STRAIGHT_SHARE * width_m) & (np.roll(ring, 1) == np.roll(ring, -1))
    cell = np.column_stack([np.floor(points / width_m), ring])[bent]
    each, of = np.unique(cell, axis=0, return_inverse=True)
    left, right = (
        np.bincount(of.ravel(), weights=side[bent], minlength=len(each))
        for side in (turn > 0, turn < 0)
    )
    pairs = left * right
    if not len(pairs):
        return 0.0, points[0]
    return float(pairs.sum()), (each[int(pairs.argmax()), :2] + 0.5) * width_m
