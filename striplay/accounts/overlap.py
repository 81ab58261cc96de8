"""Measure ground that planters plant twice: at point rows and on strips cut along their length."""

import numpy as np
import numpy.typing as npt

from striplay.accounts.sowings import rows_sown
from striplay.laid import Laid, LaidBlock
from striplay.operations.travel import joined
from striplay.plan.models import Plan
from striplay.search.prices import shut_off_m
from striplay.section.section import Section
from striplay.tolerances import BEFORE_BORDER_M, WHOLE_NUMBER

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def planted_twice_m2(plan: Plan, laid: Laid) -> Floats:
    """Measure the ground that planters plant besides its own, by layer of the section, (layers,).

    What of a planter shuts off alone runs until all ground of its rows is planted: from the first
    place where any of it begins to the last where any ends, so its other rows run over headland or
    ground planted before. That is its run x its rows' ground, less those rows' own. Along a curve a
    run is as long as its rows are to the same angle or stretch of the key line, on their mean.
    """
    parts = _parts(plan, laid.section)
    found = [_of_block(plan, laid.section, block, *parts) for block in laid.blocks]
    return np.sum(found, axis=0) if found else np.zeros(len(laid.section.layers))


def _parts(plan: Plan, section: Section) -> tuple[Integers, Integers]:
    """Number the parts of planters' passes that shut off alone.

    Returns:
        The part that plants each row, (rows,); of each part, whether its pass runs over several
        strips, (parts,).
    """
    part = np.full(len(section.rows), -1, dtype=np.int64)
    several: list[int] = []
    for one in section.passes:
        if one.operation != "plant":
            continue
        machine, wide_m = plan.planter_of(one.machine), one.high_m - one.low_m
        count = max(1, int(np.ceil(wide_m / shut_off_m(machine) - WHOLE_NUMBER)))
        at_m = np.array([section.rows[index].offset_m for index in one.rows])
        if one.strip is None:
            at_m %= section.width_m
        place = np.clip((at_m - one.low_m) / wide_m * count, 0, count - 1).astype(np.int64)
        part[list(one.rows)] = len(several) + place
        several += [int(one.strip is None)] * count
    return part, np.array(several, dtype=np.int64)


def _of_block(
    plan: Plan, section: Section, block: LaidBlock, part: Integers, several: Integers
) -> Floats:
    rows, across, strips = block.pieces.rows, block.across, block.pieces.strips
    spacing_m = np.array([row.spacing_m for row in section.rows])
    offset_m = np.array([row.offset_m for row in section.rows])
    sown = rows_sown(section)
    if not len(rows.kind):
        return np.zeros(len(sown))
    before = np.floor(offset_m / section.width_m).astype(np.int64)
    sets = across.set_number[strips.strip]

    def keys(kind: Integers, owner: Integers) -> Integers:
        along = np.where(several[part[kind]] > 0, sets[owner] + before[kind] + 1, owner)
        return np.asarray(along * len(several) + part[kind])

    kind, owner, begin, end = _edges(plan, section, block, part)
    key = np.concatenate([keys(rows.kind, rows.owner), keys(kind, owner)])
    begins, ends = np.concatenate([rows.begin, begin]), np.concatenate([rows.end, end])
    run, begins, ends = joined(key, begins, ends, block.path.around)
    run = run[: len(rows.kind)]  # where no row is planted, nothing runs

    def summed(values: Floats) -> Floats:
        return np.bincount(run, values, minlength=len(begins)).astype(np.float64)

    along, length_m = summed(rows.end - rows.begin), summed(rows.length_m)
    run_m = np.divide((ends - begins) * length_m, along, out=np.zeros(len(begins)), where=along > 0)
    part_of = np.zeros(len(begins), dtype=np.int64)
    part_of[run] = part[rows.kind]
    twice = []
    for each in sown:
        wide_m = np.bincount(part, spacing_m * each, minlength=len(several))[part_of]
        own_m2 = summed(rows.length_m * (spacing_m * each)[rows.kind])
        twice.append(np.maximum(run_m * wide_m - own_m2, 0.0).sum())
    return np.array(twice)


def _edges(
    plan: Plan, section: Section, block: LaidBlock, part: Integers
) -> tuple[Integers, Integers, Floats, Floats]:
    """Cut lines along the ground of the outermost rows of each part, just inside its two edges.

    Returns:
        Of each line the row's kind, the piece of strip it lies in, and where it begins and ends.
    """
    across = block.across
    offset_m = np.array([row.offset_m for row in section.rows])
    units_m = np.array([plan.planter_of(row.planter).row_m for row in section.rows])
    half_m = np.minimum(units_m, [row.spacing_m for row in section.rows]) / 2
    outermost = np.zeros(len(part), dtype=bool)
    order = np.lexsort((offset_m, part))
    new = np.flatnonzero(np.diff(part[order]))
    outermost[order[np.concatenate([[0], new, new + 1, [-1]])]] = True
    at = np.flatnonzero(outermost[across.row_kind])
    kind, strip = across.row_kind[at], across.row_strip[at]
    inside_m = half_m[kind] - BEFORE_BORDER_M
    levels_m = np.concatenate([across.level_m[at] - inside_m, across.level_m[at] + inside_m])
    kind, strip = np.tile(kind, 2), np.tile(strip, 2)
    low_m, high_m = across.low_m[strip], across.high_m[strip]
    levels_m = np.clip(levels_m, low_m + BEFORE_BORDER_M, high_m - BEFORE_BORDER_M)
    up = np.argsort(levels_m, kind="stable")
    strips = block.pieces.strips
    found = block.path.cut(strips.polygon, strips.strip, levels_m[up], strip[up])
    return kind[up][found.level], found.owner, found.start_x_m, found.end_x_m
