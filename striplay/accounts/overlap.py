"""Measure ground that planters plant twice: at point rows and on strips cut along their length."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.drive import swept_blocks
from striplay.laid import Laid, LaidBlock
from striplay.operations.travel import Travel, joined, on_tramlines
from striplay.operations.under import rows_sown
from striplay.plan.models import Plan
from striplay.search.point_rows import PointRows, shut_offs_m
from striplay.search.prices import parts_of, shut_off_m
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M, OFFSET_STEP_M, WHOLE_NUMBER, WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NO_PASS = -1


def planted_twice_m2(plan: Plan, laid: Laid) -> Floats:
    """Measure the ground that planters plant besides its own, by layer of the section, (layers,).

    A pass runs from where its first row begins to where its last one ends. Within it, what shuts
    off alone runs from the first place where ground of its rows begins to the last where any ends;
    there its other rows run over headland, a boundary or ground planted before. That is its run x
    the ground of its rows, less what of it is their own. Along a curve a run is as long as its rows
    are from the same place to the same, on their mean.
    """
    sown = rows_sown(laid.section)
    return _twice_m2(plan, laid, _parts(plan, laid.section), sown) + _on_lines_m2(plan, laid, sown)


def planter_point_rows(plan: Plan, laid: Laid) -> dict[str, PointRows]:
    """Measure likewise the ground that each planter plants besides its own, by planter."""
    section = laid.section
    rows_of = np.array([row.planter for row in section.rows])
    found = {}
    for name in (name for name in section.machines if plan.machines[name].does == "plant"):
        its = (rows_of == name)[None, :]
        areas_m2 = []
        for wide_m in shut_offs_m(plan.planter_of(name)):
            part_m = {name: wide_m}
            found_m2 = _twice_m2(plan, laid, _parts(plan, section, part_m), its)
            areas_m2.append(float((found_m2 + _on_lines_m2(plan, laid, its, part_m))[0]))
        found[name] = PointRows(name, *areas_m2)
    return found


def _twice_m2(plan: Plan, laid: Laid, parts: "_Parts", sown: npt.NDArray[np.bool_]) -> Floats:
    """Measure the ground that rows of some kinds plant besides their own, (kinds,).

    Args:
        plan: the machines.
        laid: the field, swept.
        parts: what shuts off alone.
        sown: which rows each kind has, (kinds, rows).
    """
    found = [_of_block(plan, laid.section, block, parts, sown) for block in laid.blocks]
    return np.asarray(np.sum(found, axis=0))


def _on_lines_m2(
    plan: Plan, laid: Laid, sown: Bools, part_m: Mapping[str, float] | None = None
) -> Floats:
    """Measure likewise what drills on tramlines plant besides their own, (kinds,)."""
    found = np.zeros(len(sown))
    for lines in (one for one in laid.section.tramlines if one.operation == "plant"):
        own_m = (part_m or {}).get(lines.machine, shut_off_m(plan.planter_of(lines.machine)))
        count = max(1, math.ceil(lines.width_m / own_m - WHOLE_NUMBER))
        for swept in swept_blocks(plan, laid):
            section, pieces = swept.section, swept.pieces
            for travel in on_tramlines(section, lines, swept.across, pieces, swept.start):
                found += _of_travel_m2(travel, count, sown, swept.path.around)
    return found


def _of_travel_m2(travel: Travel, count: int, sown: Bools, around: float | None) -> Floats:
    """Measure what the passes of a drill in so many parts plant besides their own, (kinds,)."""
    rows, width_m = travel.rows, travel.like.width_m
    place = (rows.across_m - travel.middle_m + width_m / 2) / width_m * count
    place = np.clip(place.astype(np.int64), 0, count - 1)
    _, part = np.unique(travel.key * count + place, return_inverse=True)
    at = np.stack([part, np.rint(rows.across_m / WIDTH_M).astype(np.int64)])
    one_each = np.unique(at, axis=1, return_index=True)[1]
    runs, begins, ends = joined(part, rows.begin, rows.end, around)
    along, length_m = (
        np.bincount(runs, values, minlength=len(begins))
        for values in (rows.end - rows.begin, rows.length_m)
    )
    run_m = (ends - begins) * length_m / along
    part_of = np.zeros(len(begins), dtype=np.int64)
    part_of[runs] = part
    twice = []
    for each in sown:
        ground_m = (2 * travel.half_m) * each[rows.kind]
        wide_m = np.bincount(part[one_each], ground_m[one_each])[part_of]
        own_m2 = np.bincount(runs, rows.length_m * ground_m, minlength=len(begins))
        twice.append(np.maximum(run_m * wide_m - own_m2, 0.0).sum())
    return np.array(twice)


@dataclass(frozen=True)
class _Parts:
    """What planters shut off alone, numbered over all passes of a section.

    Attributes:
        of_row: the part that plants each row, `NO_PASS` where no pass does, (rows,).
        of_pass: the pass of each part, (parts,).
        several: whether it runs over several strips, (parts,).
    """

    of_row: Integers
    of_pass: Integers
    several: npt.NDArray[np.bool_]


def _parts(plan: Plan, section: Section, part_m: dict[str, float] | None = None) -> _Parts:
    """Number what shuts off alone; `part_m` is what a planter shuts off, instead of the plan's."""
    of_row = np.full(len(section.rows), NO_PASS, dtype=np.int64)
    of_pass: list[int] = []
    several: list[bool] = []
    for number, one in enumerate(section.passes):
        if one.operation != "plant":
            continue
        wide_m = one.high_m - one.low_m
        own_m = (part_m or {}).get(one.machine, shut_off_m(plan.planter_of(one.machine)))
        count = parts_of(one, own_m)
        at_m = np.array([section.rows[index].offset_m for index in one.rows])
        if one.strip is None:
            at_m %= section.width_m
        place = np.clip((at_m - one.low_m) / wide_m * count, 0, count - 1).astype(np.int64)
        of_row[list(one.rows)] = len(of_pass) + place
        of_pass += [number] * count
        several += [one.strip is None] * count
    return _Parts(of_row, np.array(of_pass), np.array(several))


@dataclass(frozen=True)
class _Lines:
    """Stretches along the path, (n,): where each begins and ends, its row's kind and its pass."""

    begin: Floats
    end: Floats
    kind: Integers
    run_key: Integers


def _of_block(
    plan: Plan,
    section: Section,
    block: LaidBlock,
    parts: _Parts,
    sown: npt.NDArray[np.bool_],
) -> Floats:
    planted = block.pieces.rows.chosen(parts.of_row[block.pieces.rows.kind] != NO_PASS)
    if not len(planted.kind):
        return np.zeros(len(sown))
    strip = block.pieces.strips.strip[planted.owner]
    keys = _run_keys(section, block, parts, planted.kind, strip, planted.owner)
    rows = _Lines(planted.begin, planted.end, planted.kind, keys)
    around = block.path.around
    in_run, run_begin, run_end = joined(rows.run_key, rows.begin, rows.end, around)
    run_key = np.zeros(len(run_begin), dtype=np.int64)
    run_key[in_run] = rows.run_key
    turn = 0.0 if around is None else around
    on = np.where(rows.begin < run_begin[in_run] - LENGTH_M, turn, 0.0)  # round north of a ring
    edges = _edges(plan, section, block, parts)
    edge, edge_run, low, high = _within(edges, run_key, run_begin, run_end, around)

    count = len(parts.of_pass)
    part = np.concatenate([parts.of_row[rows.kind], parts.of_row[edges.kind[edge]]])
    key = np.concatenate([in_run, edge_run]) * count + part
    begins, ends = np.append(rows.begin + on, low), np.append(rows.end + on, high)
    runs, begins, ends = joined(key, begins, ends, None)
    if around is not None:
        ends = np.minimum(ends, begins + around)
    runs = runs[: len(rows.kind)]  # where no row is planted, nothing runs

    def summed(values: Floats) -> Floats:
        return np.bincount(runs, values, minlength=len(begins)).astype(np.float64)

    along, length_m = summed(rows.end - rows.begin), summed(planted.length_m)
    none = np.zeros(len(begins))
    run_m = np.divide((ends - begins) * length_m, along, out=none, where=along > 0)
    part_of = np.zeros(len(begins), dtype=np.int64)
    part_of[runs] = parts.of_row[rows.kind]
    spacing_m = np.array([row.spacing_m for row in section.rows])
    has_pass = parts.of_row != NO_PASS
    twice = []
    for each in sown:
        ground_m = (spacing_m * each)[has_pass]
        wide_m = np.bincount(parts.of_row[has_pass], ground_m, minlength=count)[part_of]
        own_m2 = summed(planted.length_m * (spacing_m * each)[rows.kind])
        twice.append(np.maximum(run_m * wide_m - own_m2, 0.0).sum())
    return np.array(twice)


def _run_keys(
    section: Section,
    block: LaidBlock,
    parts: _Parts,
    kind: Integers,
    strip: Integers,
    own: Integers,
) -> Integers:
    """Say which pass plants each row: of one over several strips one a set, else by `own`.

    A strip that begins before its set has rows of the set before's last pass.
    """
    offset_m = np.array([row.offset_m for row in section.rows])[kind]
    sets = block.across.set_number[strip] + 1
    sets += np.floor(offset_m / section.width_m).astype(np.int64)
    part = parts.of_row[kind]
    where = np.where(parts.several[part], sets, own)
    return np.asarray(where * len(section.passes) + parts.of_pass[part])


def _edges(plan: Plan, section: Section, block: LaidBlock, parts: _Parts) -> _Lines:
    """Cut lines near the edges between parts of a pass, along the ground of the rows beside them.

    Beyond a pass's outermost rows no part runs farther than they do. As in the search, what a side
    takes off within `OFFSET_STEP_M` of an edge is not missed.
    """
    across, strips = block.across, block.pieces.strips
    has_pass = np.flatnonzero(parts.of_row[across.row_kind] != NO_PASS)
    kind, strip = across.row_kind[has_pass], across.row_strip[has_pass]
    level_m, part = across.level_m[has_pass], parts.of_row[kind]
    key = _run_keys(section, block, parts, kind, strip, strip)
    order = np.lexsort((level_m, key))
    low, high = order[:-1], order[1:]
    beside = (key[low] == key[high]) & (part[low] != part[high])
    low, high = low[beside], high[beside]
    units_m = np.array([plan.planter_of(row.planter).row_m for row in section.rows])
    half_m = np.minimum(units_m, [row.spacing_m for row in section.rows])[kind] / 2 - OFFSET_STEP_M
    at = np.concatenate([low, high])
    edge_m = np.concatenate([level_m[low] + half_m[low], level_m[high] - half_m[high]])
    kind, strip = kind[at], strip[at]
    low_m, high_m = across.low_m[strip], across.high_m[strip]
    edge_m = np.clip(edge_m, low_m + OFFSET_STEP_M, high_m - OFFSET_STEP_M)
    up = np.argsort(edge_m, kind="stable")
    kind = kind[up]
    found = block.path.cut(strips.polygon, strips.strip, edge_m[up], strip[up])
    kind, owner = kind[found.level], found.owner
    keys = _run_keys(section, block, parts, kind, strips.strip[owner], owner)
    return _Lines(found.start_x_m, found.end_x_m, kind, keys)


def _within(
    lines: _Lines, run_key: Integers, begin: Floats, end: Floats, around: float | None
) -> tuple[Integers, Integers, Floats, Floats]:
    """Cut stretches to the runs of their passes, which are in order of key.

    Returns:
        Of each piece its stretch, its run, and where it begins and ends.
    """
    first = np.searchsorted(run_key, lines.run_key, side="left")
    count = np.searchsorted(run_key, lines.run_key, side="right") - first
    line = np.repeat(np.arange(len(first)), count)
    run = np.arange(len(line)) - np.repeat(np.cumsum(count) - count, count) + first[line]
    turns = [0.0] if around is None else [-around, 0.0, around]
    on = np.repeat(turns, len(line))
    line, run = np.tile(line, len(turns)), np.tile(run, len(turns))
    low = np.maximum(lines.begin[line] + on, begin[run])
    high = np.minimum(lines.end[line] + on, end[run])
    real = np.flatnonzero(high > low)
    return line[real], run[real], low[real], high[real]
