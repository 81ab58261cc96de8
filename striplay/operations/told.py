"""Say what to know of the passes: where machines leave the field, shift, or are missing."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.inset import mitered
from striplay.ground import Ground
from striplay.notices import Kind, Notice, Severity
from striplay.operations.passes import Passes
from striplay.plan.machines import Planter
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import INSIDE_M, LENGTH_M, OVER_FENCE_M, WIDTH_M
from striplay.units import FOOT_M, format_about, format_area

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]
Integers = npt.NDArray[np.int64]

RUNS_OUT_M = 3 * FOOT_M
"""A machine that runs out of the field by less is not worth a word."""

DEEP_M = 0.05
"""So shallow a reach is not worth one either: steering errs by as much (our choice)."""


def pass_notices(
    plan: Plan,
    section: Section,
    driven: Sequence[Passes],
    ground: Ground,
    headland: Geometries,
) -> Iterator[Notice]:
    """Say where machines leave the field, shift inward, and what has no pass or no harvest.

    Args:
        plan: the machines.
        section: the set.
        driven: all passes.
        ground: the field.
        headland: its polygons, on the local plane.
    """
    yield from _over_obstacles(plan, driven, ground)
    yield from _runs_out(plan, driven, ground)
    yield from _over_crossings(plan, driven, ground)
    yield from _shifted(plan, driven)
    yield from _not_driven(plan, driven, ground, headland)
    for label in not_harvested(plan, section):
        said = f"{label}: no harvester is given, so no harvest passes are drawn"
        yield Notice("passes", "know", None, said)


def not_harvested(plan: Plan, section: Section) -> tuple[str, ...]:
    """Name the crops and mixtures that are to be harvested and have no harvester."""
    reaped = {one.crop for one in section.passes if one.operation == "harvest"}
    labels = dict.fromkeys(layer.label for layer in section.layers)
    return tuple(one for one in labels if one not in reaped and plan.crops[one].reaped)


@dataclass(frozen=True)
class _Reach:
    """Machines at work over ground where they should not be.

    Attributes:
        each: how many passes of which machine, in words.
        length_m: the longest stretch of it.
        deepest_m: how far from its edge a machine comes at most.
        center: the middle of the longest stretch, on the local plane.
        machines: the machines.
    """

    each: str
    length_m: float
    deepest_m: float
    center: Floats
    machines: tuple[str, ...]


Over: TypeAlias = Callable[[Geometries], tuple[Geometries, Integers]]
"""Gives what of swaths lies where it should not, in pieces, and the swath of each."""


def _reach(driven: Sequence[Passes], over: Over, edge: shapely.Geometry) -> _Reach | None:
    """Measure where machines at work reach over some ground, by more than is worth a word.

    Args:
        driven: all passes.
        over: gives what of each swath lies where it should not.
        edge: where such ground begins.
    """
    if not driven:
        return None
    lines = [one.stretch[one.working] for one in driven]
    of = np.repeat(np.arange(len(driven)), [len(own) for own in lines])
    half_m = np.array([one.width_m / 2 for one in driven])[of]
    beyond, swath = over(_swaths(np.concatenate(lines), half_m))
    length_m = _longest_m(beyond)
    long = length_m > RUNS_OUT_M
    beyond, swath, length_m = beyond[long], swath[long], length_m[long]
    if not len(beyond):
        return None
    corners, piece = shapely.get_coordinates(beyond, return_index=True)
    # the corners of a lane between two parts all lie on its edges, and its middle does not
    deep_m = shapely.distance(shapely.point_on_surface(beyond), edge)
    np.maximum.at(deep_m, piece, shapely.distance(shapely.points(corners), edge))
    deep = deep_m > DEEP_M
    if not deep.any():
        return None
    passes = np.concatenate([one.stretch_of[one.working] for one in driven])
    counts: dict[str, int] = {}
    for group in np.unique(of[swath[deep]]):
        machine, own = driven[group].machine, swath[deep & (of[swath] == group)]
        counts[machine] = counts.get(machine, 0) + len(np.unique(passes[own]))
    worst = int(np.argmax(np.where(deep, length_m, 0.0)))
    each = ", ".join(f"{count} of {machine}" for machine, count in counts.items())
    center = shapely.get_coordinates(shapely.point_on_surface(beyond[worst]))[0]
    return _Reach(each, float(length_m[worst]), float(deep_m.max()), center, tuple(counts))


def _swaths(lines: Geometries, half_m: Floats) -> Geometries:
    """Give the ground under machines, square at both ends."""
    points, of = shapely.get_coordinates(lines, return_index=True)
    straight = (shapely.get_num_coordinates(lines) == 2) & (shapely.length(lines) > LENGTH_M)  # noqa: PLR2004 - begin and end
    swaths = np.empty(len(lines), dtype=object)
    begin, end = points[straight[of]].reshape(-1, 2, 2).transpose(1, 0, 2)
    along = end - begin
    aside = np.column_stack([along[:, 1], -along[:, 0]])
    aside *= (half_m[straight] / np.hypot(*along.T))[:, None]
    corners = [end - aside, end + aside, begin + aside, begin - aside]
    swaths[straight] = shapely.polygons(np.stack(corners, axis=1))
    swaths[~straight] = shapely.buffer(lines[~straight], half_m[~straight], cap_style="flat")
    return swaths


def _of_reach(kind: Kind, severity: Severity, out: _Reach, ground: Ground, said: str) -> Notice:
    """Make a notice of where machines reach over what they should not."""
    return Notice(kind, severity, ground.plane.spot(out.center), said, machines=out.machines)


def _runs_out(plan: Plan, driven: Sequence[Passes], ground: Ground) -> Iterator[Notice]:
    """Say how far and where machines at work leave the field: how many passes, the worst place."""
    field = mitered(ground.outline, INSIDE_M)
    shapely.prepare(field)

    def beyond(swaths: Geometries) -> tuple[Geometries, Integers]:
        out = np.flatnonzero(~shapely.covers(field, swaths))
        return _pieces(overlay.difference(swaths[out], ground.outline), out)

    out = _reach(driven, beyond, ground.outline)
    if out is None:
        return
    length, deep = (format_about(m, plan.units) for m in (out.length_m, out.deepest_m))
    cure = (
        "leave a headland there" if plan.headland.where != "around" else
        "a headland as wide as the widest machine would do"
    )  # fmt: skip
    said = (
        f"machines at work reach up to {deep} out of the field ({out.each}), the longest stretch "
        f"{length} along its edge (at {ground.plane.place(out.center)}); {cure}, or see that there "
        "is no fence, road or crop of another's"
    )
    if any(one.operation == "spray" and one.machine in out.machines for one in driven):
        said += "; shut the boom there: the label decides what spray may leave the field"
    yield _of_reach("passes", "mind", out, ground, said)


def _over_obstacles(plan: Plan, driven: Sequence[Passes], ground: Ground) -> Iterator[Notice]:
    """Say where machines at work reach over what is gone around: a pond, a yard, a ditch."""
    if ground.obstacles.is_empty:
        return
    kept_off = [ground.through, ground.clearance, *ground.beside]
    around = overlay.difference(ground.obstacles, overlay.union_all(kept_off))
    around = shapely.buffer(around, -INSIDE_M)
    if around.is_empty:
        return
    shapely.prepare(around)
    land = overlay.difference(ground.outline, around)
    cure = "leave a headland" if plan.headland.where != "around" else "leave more headland"
    booms = [one for one in driven if plan.machines[one.machine].covers == "boom"]
    others = [one for one in driven if plan.machines[one.machine].covers != "boom"]
    for those, severity in ((others, STOP), (booms, MIND)):
        out = _reach(those, lambda swaths: _common(swaths, around), land)
        if out is None:
            continue
        length, deep = (format_about(m, plan.units) for m in (out.length_m, out.deepest_m))
        where = f"the longest stretch {length} (at {ground.plane.place(out.center)})"
        if severity == STOP:
            said = (
                f"machines at work reach up to {deep} over the edge of obstacles ({out.each}), "
                f"{where}: a pass ends square, where its longest row ends; {cure} round them, or "
                "stop sooner and shut sections; near water keep off the bank, and from it as the "
                "label says"
            )
        else:
            said = (
                f"booms with sections shut pass up to {deep} over the edge of obstacles "
                f"({out.each}), {where}: over water keep off as the label says; where trees, posts "
                f"or buildings stand, fold the boom or stop sooner, or {cure} round them"
            )
        yield _of_reach("obstacle", severity, out, ground, said)


STOP: Severity = "stop"
MIND: Severity = "mind"


def _over_crossings(plan: Plan, driven: Sequence[Passes], ground: Ground) -> Iterator[Notice]:
    """Say where machines work with part of their width over what is driven through."""
    if ground.through.is_empty:
        return
    shapely.prepare(ground.through)
    land = overlay.difference(ground.outline, ground.through)
    out = _reach(driven, lambda swaths: _common(swaths, ground.through), land)
    if out is None:
        return
    said = (
        f"over what is driven through, passes are lifted only where no row of theirs goes on; "
        f"elsewhere part of a machine's width is over it ({out.each}), for up to "
        f"{format_about(out.length_m, plan.units)} (at {ground.plane.place(out.center)}): shut "
        "each row and section there"
    )
    machines = [(name, plan.machines[name]) for name in out.machines]
    whole = [n for n, m in machines if isinstance(m, Planter) and m.shut_off == "none"]
    if whole:
        said += f"; {' and '.join(whole)}, without shut_off, would plant it"
    if any(one.operation == "spray" and one.machine in out.machines for one in driven):
        said += "; if it carries water, spray no nearer than the label says"
    yield _of_reach("obstacle", "mind", out, ground, said)


def _common(swaths: Geometries, ground: shapely.Geometry) -> tuple[Geometries, Integers]:
    """Give what of swaths lies on some ground, in pieces, and the swath of each."""
    met = np.flatnonzero(shapely.intersects(ground, swaths))
    return _pieces(overlay.intersection(swaths[met], ground), met)


def _pieces(areas: Geometries, swath: Integers) -> tuple[Geometries, Integers]:
    """Give the pieces of areas, and the swath of each."""
    pieces, of = shapely.get_parts(areas, return_index=True)
    return pieces, swath[of]


def _not_driven(
    plan: Plan, driven: Sequence[Passes], ground: Ground, headland: Geometries
) -> Iterator[Notice]:
    """Say how much planted headland lies under no pass, as between blocks."""
    if plan.headland_crop is None or not len(headland):
        return
    rounds = [one for one in driven if one.operation == "plant" and one.place == "headland"]
    swaths = [
        swath
        for one in rounds
        for swath in shapely.buffer(one.line, one.width_m / 2 + WIDTH_M, cap_style="flat")
    ]
    land = shapely.buffer(overlay.union_all(headland), -OVER_FENCE_M)
    left = overlay.difference(land, overlay.union_all(swaths))
    areas = np.asarray(shapely.get_parts(shapely.buffer(left, -OVER_FENCE_M)))
    area_m2 = float(shapely.area(areas).sum())
    if area_m2 <= BARELY * shapely.area(headland).sum():
        return
    largest = areas[int(np.argmax(shapely.area(areas)))]
    center = shapely.get_coordinates(shapely.point_on_surface(largest))[0]
    said = (
        f"{format_area(area_m2, plan.units)} of planted headland lie under no pass drawn, the most "
        f"of it at {ground.plane.place(center)}: between blocks, at poles and where it bends, "
        "passes are for the operator to choose"
    )
    yield Notice("passes", "mind", ground.plane.spot(center), said)


BARELY = 0.02
"""So small a share of a headland is not worth a word: corners that no machine fills."""


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
    reaps = sprays = False
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
        sprays |= one.operation == "spray"
    if not counts:
        return
    each = ", ".join(f"{count} of {machine}" for machine, count in counts.items())
    width = format_about(widest_m, plan.units)
    said = (
        f"passes shifted inward along the boundary ({each}): up to {width} of a machine over "
        "ground worked before or after"
    )
    if twice:
        said += f"; {' and '.join(twice)}, without shut_off, plants it twice"
    if sprays:
        said += "; shut those sections, or it is sprayed twice"
    if reaps:
        said += "; see that a header meets nothing that still stands"
    yield Notice("passes", "mind", None, said)
