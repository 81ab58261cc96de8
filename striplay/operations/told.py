"""Say what to know of the passes: where machines leave the field, shift, or are missing."""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from striplay.ground import Ground
from striplay.notices import Notice
from striplay.operations.passes import Passes
from striplay.plan.machines import Planter
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import INSIDE_M
from striplay.units import FOOT_M, format_length

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]

RUNS_OUT_M = 3 * FOOT_M
"""A machine that runs out of the field by less is not worth a word."""


def pass_notices(
    plan: Plan, section: Section, driven: Sequence[Passes], ground: Ground
) -> Iterator[Notice]:
    """Say where machines leave the field, shift inward, and what has no harvest.

    Args:
        plan: the machines.
        section: the set.
        driven: all passes.
        ground: the field.
    """
    yield from _runs_out(plan, driven, ground)
    yield from _shifted(plan, driven)
    reaped = {one.crop for one in section.passes if one.operation == "harvest"}
    for label in dict.fromkeys(layer.label for layer in section.layers):
        if label not in reaped:
            said = f"{label}: no harvester is given, so no harvest passes are drawn"
            yield Notice("passes", "know", None, said)


def _runs_out(plan: Plan, driven: Sequence[Passes], ground: Ground) -> Iterator[Notice]:
    """Say how far and where machines at work leave the field: how many passes, the worst place."""
    field = shapely.buffer(ground.outline, INSIDE_M, join_style="mitre")
    shapely.prepare(field)
    counts: dict[str, int] = {}
    worst_m, worst = RUNS_OUT_M, None
    for one in driven:
        lines = one.stretch[one.working]
        swaths = shapely.buffer(lines, one.width_m / 2, cap_style="flat")
        out = swaths[~shapely.covers(field, swaths)]
        beyond, source = shapely.get_parts(
            shapely.difference(out, ground.outline), return_index=True
        )
        length_m = _longest_m(beyond)
        told = length_m > RUNS_OUT_M
        if told.any():
            count = len(np.unique(source[told]))
            counts[one.machine] = counts.get(one.machine, 0) + count
            if length_m.max() > worst_m:
                worst_m, worst = float(length_m.max()), beyond[int(np.argmax(length_m))]
    if worst is None:
        return
    center = shapely.get_coordinates(worst.centroid)[0]
    each = ", ".join(f"{count} of {machine}" for machine, count in counts.items())
    said = (
        f"passes reach out of the field ({each}), over up to "
        f"{format_length(worst_m, plan.units)} (at {ground.plane.place(center)}); leave a headland "
        "there, or see that there is room"
    )
    yield Notice("passes", "mind", ground.plane.spot(center), said)


def _longest_m(areas: Geometries) -> Floats:
    """Measure the longer side of the rectangle about each area."""
    if not len(areas):
        return np.empty(0)
    boxes = shapely.minimum_rotated_rectangle(areas)
    corners, box = shapely.get_coordinates(shapely.boundary(boxes), return_index=True)
    same = box[1:] == box[:-1]
    side_m = np.hypot(*np.diff(corners, axis=0).T)
    longest = np.zeros(len(areas))
    np.maximum.at(longest, box[1:][same], side_m[same])
    return longest


def _shifted(plan: Plan, driven: Sequence[Passes]) -> Iterator[Notice]:
    """Say where machines work less than their width, shifted inward along a boundary."""
    counts: dict[str, int] = {}
    twice: dict[str, None] = {}
    reaps = False
    widest_m = 0.0
    for one in driven:
        count = int((one.idle_m > 0).sum())
        if not count:
            continue
        counts[one.machine] = counts.get(one.machine, 0) + count
        widest_m = max(widest_m, float(one.idle_m.max()))
        machine = plan.machines[one.machine]
        if isinstance(machine, Planter) and machine.shut_off == "none":
            twice[one.machine] = None
        reaps |= one.operation == "harvest"
    if not counts:
        return
    each = ", ".join(f"{count} of {machine}" for machine, count in counts.items())
    width = format_length(widest_m, plan.units)
    said = (
        f"passes shifted inward along the boundary ({each}): up to {width} of a machine over "
        "ground worked before or after"
    )
    if twice:
        said += f"; {' and '.join(twice)}, without shut_off, plants it twice"
    if reaps:
        said += "; see that a header meets nothing that still stands"
    yield Notice("passes", "mind", None, said)
