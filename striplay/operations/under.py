"""Tell what each pass works: its ground, and which units, rows or sections are on."""

import math
from collections.abc import Iterable
from itertools import groupby

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.path import Path
from striplay.layout.pieces import RowPieces
from striplay.operations.passes import Passes
from striplay.plan.machines import Boom, Cultivator, Harvester, Machine, Planter
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M, WHOLE_NUMBER, WIDTH_M
from striplay.units import UnitSystem, format_length

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


def rows_under(
    passes: Passes, rows: RowPieces, section: Section, path: Path
) -> tuple[Integers, Integers, Floats]:
    """Pair passes over strips with the rows that they work.

    Args:
        passes: of one job on one crop, in one block.
        rows: the block's rows.
        section: the set.
        path: what they follow.

    Returns:
        The pass and the row of each pair, (k,), and how much of the row lies along the pass, as a
        share of it, (k,).
    """
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    labels = passes.crop.split(" + ")
    mine = np.array([row.label in labels for row in section.rows])
    if any_own(section, labels):
        mine &= np.array(section.own_row)
    which = np.flatnonzero(mine[rows.kind])
    turns = [0.0] if path.around is None else [-path.around, 0.0, path.around]
    begin = np.concatenate([rows.begin[which] + turn for turn in turns])
    end = np.concatenate([rows.end[which] + turn for turn in turns])
    source = np.tile(which, len(turns))
    ends = np.stack([begin, end], axis=1)
    across = np.repeat(rows.across_m[source][:, None], 2, axis=1)
    tree = shapely.STRtree(shapely.linestrings(np.stack([ends, across], axis=2)))
    inset = WIDTH_M
    boxes = shapely.box(runs.begin, runs.low_m + inset, runs.end, runs.high_m - inset)
    one, row = tree.query(boxes, predicate="intersects")
    common = np.minimum(runs.end[one], end[row]) - np.maximum(runs.begin[one], begin[row])
    share = common / np.maximum(end[row] - begin[row], LENGTH_M)
    real = share > 0
    return one[real], source[row[real]], share[real]


def any_own(section: Section, labels: Iterable[str]) -> bool:
    """Tell whether some of a set's own rows carry one of some crops or mixtures."""
    return any(row.layer == 0 and row.label in labels for row in section.rows)


def rows_sown(section: Section) -> Bools:
    """Tell which rows carry each layer, (layers, rows)."""
    return np.array([[layer in row.sown for row in section.rows] for layer in section.layers])


def area_under_m2(
    passes: Passes, rows: RowPieces, section: Section, path: Path
) -> tuple[Floats, Floats]:
    """Measure the ground of the rows that passes over strips work.

    Returns:
        All of it, (n,), and that of the rows that carry each layer, (n, layers): the layers of a
        mixture share theirs.
    """
    one, row, share = rows_under(passes, rows, section, path)
    spacing_m = np.array([each.spacing_m for each in section.rows])[rows.kind[row]]
    each_m2 = share * rows.length_m[row] * spacing_m
    area_m2 = np.zeros(len(passes))
    np.add.at(area_m2, one, each_m2)
    sown_m2 = np.zeros((len(passes), len(section.layers)))
    for number, carries in enumerate(rows_sown(section)):
        mine = carries[rows.kind[row]]
        np.add.at(sown_m2[:, number], one[mine], each_m2[mine])
    return area_m2, sown_m2


def on_words(
    passes: Passes,
    machine: Machine,
    rows: RowPieces | None,
    section: Section,
    path: Path | None,
    units: UnitSystem,
    headland_m: float = 0.0,
) -> Geometries:
    """Say which units, rows or sections of a machine are on in each pass, as in `parts_over`.

    Args:
        passes: of one job on one crop, in one block or on the headland.
        machine: that drives them.
        rows: the block's rows; None on a headland.
        section: the set.
        path: what they follow; None on a headland.
        units: how widths are written.
        headland_m: width of the headland, for passes on it.
    """
    name, count = parts_of(machine)
    runs = passes.runs
    if runs is None or rows is None or path is None:
        part_m = passes.width_m / count
        over = math.ceil(headland_m / part_m - WHOLE_NUMBER)
        words = f"all {name} on" if count > 1 else FULL
        if 0 < over < count:
            words = f"{over} of {count} {name} on, over the headland"
        return np.full(len(passes), words, dtype=object)
    if count == 1:
        return _widths(passes, units)
    worked = parts_over(passes, machine, rows, section, path)
    return np.array([_on(flags, name) for flags in worked >= 0], dtype=object)


def parts_of(machine: Machine) -> tuple[str, int]:
    """Name the parts of a machine that are on or off, and count them; 1 where it has none."""
    if isinstance(machine, Planter) and machine.row_units is not None:
        return ("units" if machine.rows is not None else "openers"), machine.row_units
    if isinstance(machine, Harvester) and machine.rows is not None:
        return "rows", machine.rows
    if isinstance(machine, Boom):
        return "sections", machine.sections
    return ("rows", machine.rows) if isinstance(machine, Cultivator) else ("width", 1)


def ranges(numbers: Iterable[int]) -> str:
    """Write numbers as ranges.

    >>> ranges([1, 2, 3, 7]), ranges([4])
    ('1-3, 7', '4')
    """
    runs = [
        [number for _, number in group]
        for _, group in groupby(enumerate(sorted(numbers)), key=lambda at: at[1] - at[0])
    ]
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def _widths(passes: Passes, units: UnitSystem) -> Geometries:
    """Say how much of a machine without parts is at work, and on which side."""
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    left_m = runs.across_m + passes.width_m / 2
    words = []
    for at_m, low_m, high_m, back in zip(left_m, runs.low_m, runs.high_m, passes.back, strict=True):
        used_m = min(high_m, at_m) - max(low_m, at_m - passes.width_m)
        if used_m >= passes.width_m - PART_M:
            words.append(FULL)
            continue
        off_left, off_right = at_m - high_m, low_m - (at_m - passes.width_m)
        if back:
            off_left, off_right = off_right, off_left
        side = "left" if off_left < off_right - PART_M else "right"
        middle = abs(off_left - off_right) <= PART_M
        words.append(f"{'middle' if middle else side} {format_length(used_m, units)} on")
    return np.array(words, dtype=object)


FULL = "full width on"
PART_M = 0.05
"""A width is full to within so much: steering errs by as much (our choice)."""


def parts_over(
    passes: Passes, machine: Machine, rows: RowPieces, section: Section, path: Path
) -> Integers:
    """Give the row that each part of a machine works in each pass, from its left as it is driven.

    Left is as the operator faces.

    Args:
        passes: of one job on one crop, in one block.
        machine: that drives them.
        rows: the block's rows.
        section: the set.
        path: what they follow.

    Returns:
        An index of these rows, -1 where a part is off, (n, parts); of several to a part, one.
    """
    name, count = parts_of(machine)
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    one, row, _ = rows_under(passes, rows, section, path)
    part_m = passes.width_m / count
    half_m = np.zeros(len(row))
    if name in GROUND:
        half_m = np.array([each.spacing_m for each in section.rows])[rows.kind[row]] / 2
    from_left_m = runs.across_m[one] + passes.width_m / 2 - rows.across_m[row]
    slack = WIDTH_M / part_m
    low = np.floor((from_left_m - half_m) / part_m + slack)
    high = np.ceil((from_left_m + half_m) / part_m - slack) - 1
    low, high = (np.clip(edge, 0, count - 1).astype(np.int64) for edge in (low, high))
    over = np.full((len(passes), count), -1, dtype=np.int64)
    for step in range(int((high - low).max(initial=0)) + 1):
        within = low + step <= high
        over[one[within], (low + step)[within]] = row[within]
    over[passes.back] = over[passes.back][:, ::-1]
    return over


GROUND = ("sections",)
"""Parts that are on over all ground of a row; the others are over the row itself."""
MOST_RANGES = 6
"""More ranges of parts are only counted (our choice)."""


def _on(flags: Bools, name: str) -> str:
    """Say which parts are on."""
    if flags.all():
        return f"all {name} on"
    numbers = (np.flatnonzero(flags) + 1).tolist()
    said = ranges(numbers)
    if said.count(",") >= MOST_RANGES:
        return f"{len(numbers)} of {len(flags)} {name} on"
    return f"{name if len(numbers) > 1 else name.removesuffix('s')} {said} on"
