"""Cut a field into the parts that [[blocks]] asks for: polygons take theirs, lines cut the rest."""

from collections.abc import Sequence

import shapely

from striplay.errors import PlanError
from striplay.geometry import overlay
from striplay.ground import AREA
from striplay.layout.blocks import cut_outline
from striplay.limits import MIN_FIELD_AREA_M2
from striplay.mend import area_written
from striplay.plan.models import Block, Plan
from striplay.tolerances import SLIVER_M2

Asked = Sequence[tuple[Block, Sequence[shapely.Geometry]]]
"""Tables of [[blocks]], each with what its file holds, on the local plane."""
Part = tuple[shapely.Geometry, str | float]
"""A part of the field and its heading."""


def block_parts(plan: Plan, outline: shapely.Geometry, asked: Asked) -> list[Part]:
    """Cut a field's outline; the first polygon that holds ground has it.

    Raises:
        PlanError: a polygon without ground, a line that cuts nothing, lines of several headings, or
            a block that is too small.
    """
    faults: list[str] = []
    parts: list[Part] = []
    rest = outline
    lines: list[tuple[str, shapely.Geometry]] = []
    headings: list[str | float] = []
    for number, (table, shapes) in enumerate(asked, start=1):
        for index, shape in enumerate(shapes, start=1):
            key, what = f"blocks[{number}].file", f"{table.file}"
            kind = int(shapely.get_dimensions(shape))
            if kind == 0:
                faults.append(f"{key}: {what} holds a point; give lines or polygons")
            elif kind < AREA:
                lines.append((f"{key}: line {index} of {what}", shape))
                headings.append(table.heading)
            elif overlay.intersection(rest, shape).area <= SLIVER_M2:
                faults.append(
                    f"{key}: polygon {index} of {what} holds none of the field, or only what an "
                    "earlier one took"
                )
            else:
                parts += [(p, table.heading) for p in cut_outline(rest, None, [shape])[:1]]
                rest = overlay.difference(rest, shape)
    if len(set(headings)) > 1:
        faults.append(
            "blocks: lines with several headings; which part has which can't be told, so give a "
            "polygon for each block"
        )
    faults += _idle_lines(rest, lines)
    if not faults:
        heading = headings[0] if headings else plan.direction.heading
        cuts = overlay.union_all([line for _, line in lines])
        parts += [(p, heading) for p in cut_outline(rest, cuts, [])]
        if any(part.area <= MIN_FIELD_AREA_M2 for part, _ in parts):
            least = area_written(MIN_FIELD_AREA_M2, plan.units)
            faults.append(f"blocks: one of them has below {least}; move its line or polygon")
    if faults:
        raise PlanError(plan.path.name, faults)
    return parts


def _idle_lines(rest: shapely.Geometry, lines: list[tuple[str, shapely.Geometry]]) -> list[str]:
    """Name the lines without which the field has as many parts."""
    each = [line for _, line in lines]
    every = len(cut_outline(rest, overlay.union_all(each), []))
    idle = []
    for index, (name, _) in enumerate(lines):
        others = overlay.union_all(each[:index] + each[index + 1 :])
        if len(cut_outline(rest, others, [])) == every:
            idle.append(f"{name} cuts nothing off the field; run it from boundary to boundary")
    return idle
