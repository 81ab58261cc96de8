"""Tell what each pass works: its ground, and which units, rows or sections are on."""

from collections.abc import Iterable, Sequence
from itertools import groupby

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.path import Path
from striplay.layout.pieces import RowPieces
from striplay.operations.passes import Passes
from striplay.plan.machines import Boom, Cultivator, Harvester, Machine, Planter
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M, WIDTH_M
from striplay.units import UnitSystem, format_about, format_length

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
    one, row, begin, end = _pairs(passes, rows, section, path)
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    common = np.minimum(runs.end[one], end) - np.maximum(runs.begin[one], begin)
    return one, row, common / np.maximum(end - begin, LENGTH_M)


def _pairs(
    passes: Passes, rows: RowPieces, section: Section, path: Path
) -> tuple[Integers, Integers, Floats, Floats]:
    """Pair passes with the rows that they work, and give where along the path each row runs."""
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
    real = np.minimum(runs.end[one], end[row]) > np.maximum(runs.begin[one], begin[row])
    one, row = one[real], row[real]
    return one, source[row], begin[row], end[row]


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
    headland: Geometries | None = None,
) -> Geometries:
    """Say which units, rows or sections of a machine are on in each pass, as in `parts_over`.

    Args:
        passes: of one job on one crop, in one block or on the headland.
        machine: that drives them.
        rows: the block's rows; None on a headland.
        section: the set.
        path: what they follow; None on a headland.
        units: how widths are written.
        headland: its polygons, for passes on it.
    """
    name, count = parts_of(machine)
    if passes.runs is None or rows is None or path is None:
        if count == 1 or headland is None:
            words = f"all {name} on" if count > 1 else FULL
            return np.full(len(passes), words, dtype=object)
        over = parts_on_headland(passes, count, headland)
        said = [f"{on_parts(flags, name)}{'' if flags.all() else OVER}" for flags in over]
        return np.array(said, dtype=object)
    if count == 1:
        return _widths(passes, _full_m(passes, section), units)
    worked = parts_over(passes, machine, rows, section, path) >= 0
    also = part_way_words(passes, machine, rows, section, path, units)
    each = zip(worked, also, strict=True)
    return np.array([on_parts(flags, name) + more for flags, more in each], dtype=object)


OVER = ", over the headland"


def parts_on_headland(passes: Passes, count: int, headland: Geometries) -> Bools:
    """Tell which parts of a machine are over the headland on most of each of its rounds.

    Args:
        passes: on the headland, as driven.
        count: how many parts the machine has.
        headland: its polygons, on the local plane.

    Returns:
        From the machine's left as it is driven, (n, count); all where none is.
    """
    land = shapely.union_all(headland)
    shapely.prepare(land)
    at = (np.arange(STATIONS) + 0.5) / STATIONS
    here, ahead = (
        shapely.get_coordinates(
            shapely.line_interpolate_point(passes.line[:, None], at + more, normalized=True)
        ).reshape(len(passes), STATIONS, 2)
        for more in (0.0, 0.1 / STATIONS)
    )
    way = ahead - here
    way /= np.maximum(np.hypot(way[..., 0], way[..., 1]), LENGTH_M)[..., None]
    left = np.stack([-way[..., 1], way[..., 0]], axis=-1)
    part_m = passes.width_m / count
    inset = min(PART_M / part_m, 0.5)
    within = np.arange(count)[:, None] + np.array([inset, 0.5, 1 - inset])
    aside_m = passes.width_m / 2 - within.ravel() * part_m
    points = here[..., None, :] + left[..., None, :] * aside_m[:, None]
    met = shapely.contains_xy(land, points[..., 0], points[..., 1])
    met = met.reshape(len(passes), STATIONS, count, 3).any(axis=3)
    over = met.mean(axis=1) > HALF  # corners, where a machine swings out, are the lesser part
    over[~over.any(axis=1)] = True
    return np.asarray(over, dtype=bool)


HALF = 0.5
STATIONS = 32
"""A round of the headland is looked at in so many places (our choice)."""


def parts_of(machine: Machine) -> tuple[str, int]:
    """Name the parts of a machine that are on or off, and count them; 1 where it has none."""
    if isinstance(machine, Planter) and machine.row_units is not None:
        return ("units" if machine.rows is not None else "openers"), machine.row_units
    if isinstance(machine, Harvester) and machine.rows is not None:
        return "rows", machine.rows
    if isinstance(machine, Boom):
        return "sections", machine.sections
    return ("rows", machine.rows) if isinstance(machine, Cultivator) else ("width", 1)


MOST_APART = 4
"""More strips apart from each other are only counted (our choice)."""


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


def named(numbers: Sequence[int], name: str) -> str:
    """Name parts of a machine, or strips, by number.

    >>> named([1, 2, 3, 7], "strips"), named([4], "units")
    ('strips 1-3, 7', 'unit 4')
    """
    return f"{name if len(numbers) > 1 else name.removesuffix('s')} {ranges(numbers)}"


def _full_m(passes: Passes, section: Section) -> float:
    """Give from which width of own rows on a machine without parts is all at work.

    On tramlines its passes overlap, and lie half a row over or under their even shares.
    """
    lines = section.lines_for(passes.machine, passes.crop.split(" + "))
    if lines is None:
        return passes.width_m - PART_M
    row_m = max(row.spacing_m for row in section.main_rows if row.label in lines.labels)
    return lines.pattern_m / len(lines.middles_m) - row_m - PART_M


def _widths(passes: Passes, full_m: float, units: UnitSystem) -> Geometries:
    """Say how much of a machine without parts is at work, and on which side.

    Args:
        passes: of one job on one crop, in one block.
        full_m: from this width of own rows on, all of it is.
        units: how widths are written.
    """
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    left_m = runs.across_m + passes.width_m / 2
    words = []
    for at_m, low_m, high_m, back in zip(left_m, runs.low_m, runs.high_m, passes.back, strict=True):
        used_m = min(high_m, at_m) - max(low_m, at_m - passes.width_m)
        if used_m >= full_m:
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
    count = parts_of(machine)[1]
    one, row, _ = rows_under(passes, rows, section, path)
    low, high = _parts_at(passes, machine, rows, section, one, row)
    over = np.full((len(passes), count), -1, dtype=np.int64)
    for step in range(int((high - low).max(initial=0)) + 1):
        within = low + step <= high
        over[one[within], (low + step)[within]] = row[within]
    over[passes.back] = over[passes.back][:, ::-1]
    return over


def part_way_words(
    passes: Passes,
    machine: Machine,
    rows: RowPieces,
    section: Section,
    path: Path,
    units: UnitSystem,
) -> Geometries:
    """Say which parts of a machine are on for a part of a pass alone, and from where to where.

    Where a part has no row to work at an end for less than the machine is wide, as at slanting
    ends, that is not told, nor where no part has one, as over a waterway.

    Args:
        passes: of one job on one crop, in one block.
        machine: that drives them.
        rows: the block's rows.
        section: the set.
        path: what they follow.
        units: how lengths are written.

    Returns:
        Words to be added to what is on; empty where all parts on are so all the way, (n,).
    """
    name, count = parts_of(machine)
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    one, row, begin, end = _pairs(passes, rows, section, path)
    low, high = _parts_at(passes, machine, rows, section, one, row)
    begin, end = np.maximum(begin, runs.begin[one]), np.minimum(end, runs.end[one])
    long_m = path.lengths_m(begin, end, runs.across_m[one])
    worked_m = np.zeros((len(passes), count))
    for step in range(int((high - low).max(initial=0)) + 1):
        within = low + step <= high
        np.maximum.at(worked_m, (one[within], (low + step)[within]), long_m[within])
    # passes that may have some: where the longest row of some part is shorter than the pass
    on = worked_m > 0
    short = on & (worked_m < passes.worked_m[:, None] - min(AT_END_M, passes.width_m))
    found = np.full(len(passes), "", dtype=object)
    for index in np.flatnonzero(short.any(axis=1)).tolist():
        mine = one == index
        first, across_m = runs.begin[[index]], runs.across_m[[index]]
        whole_m = float(path.lengths_m(first, runs.end[[index]], across_m)[0])
        many = int(mine.sum())
        first, across_m = np.repeat(first, many), np.repeat(across_m, many)
        at_m = path.lengths_m(first, begin[mine], across_m)
        to_m = path.lengths_m(first, end[mine], across_m)
        if passes.back[index]:
            at_m, to_m = whole_m - to_m, whole_m - at_m
        on_m = np.column_stack([at_m, to_m])
        parts = np.column_stack([low[mine], high[mine]])
        if passes.back[index]:
            parts = count - 1 - parts[:, ::-1]
        told = _part_way(on_m, parts, count, whole_m, passes.width_m, units)
        found[index] = "".join(
            f"{PART_WAY}{named(those, name)} {words}" for words, those in told.items()
        )
    return found


def slanting_m(passes: Passes, rows: RowPieces, section: Section, path: Path) -> float:
    """Say over how much of passes' ends, at most, rows end one after the other: 0 where together.

    So far at slanting ends parts of a machine are off though they count as on all the way: less
    than the machine is wide, as in `part_way_words`.

    Args:
        passes: of one job on one crop, in one block.
        rows: the block's rows.
        section: the set.
        path: what they follow.
    """
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    one, _, begin, end = _pairs(passes, rows, section, path)
    first, last, across_m = runs.begin[one], runs.end[one], runs.across_m[one]
    short_m = np.concatenate([
        path.lengths_m(first, np.maximum(begin, first), across_m),
        path.lengths_m(np.minimum(end, last), last, across_m),
    ])  # fmt: skip
    return float(short_m[(short_m > AT_END_M) & (short_m < passes.width_m)].max(initial=0.0))


def _part_way(
    on_m: Floats, parts: Integers, count: int, whole_m: float, least_m: float, units: UnitSystem
) -> dict[str, list[int]]:
    """Say from where to where parts are on that are so for a part of the way, (words, parts).

    Where more parts than can be told one by one are off elsewhere, as beside a round pond, it is
    said between where they are off.

    Args:
        on_m: from where to where along the pass rows run, (k, 2).
        parts: the first and the last part over each, (k, 2).
        count: parts of the machine.
        whole_m: length of the pass.
        least_m: what is shorter at an end of the pass is not told.
        units: how lengths are written.
    """
    edges_m, edge = np.unique(on_m, return_inverse=True)
    edge = edge.reshape(on_m.shape)
    # a row over a part counts from where it begins and no more from where it ends
    counted = np.zeros((count, len(edges_m)), dtype=np.int64)
    for step in range(int(np.ptp(parts, axis=1).max(initial=0)) + 1):
        within = parts[:, 0] + step <= parts[:, 1]
        at = (parts[:, 0] + step)[within]
        np.add.at(counted, (at, edge[within, 0]), 1)
        np.add.at(counted, (at, edge[within, 1]), -1)
    on = counted.cumsum(axis=1)[:, :-1] > 0
    some = on.any(axis=0)
    told: dict[str, list[int]] = {}
    off_m: list[tuple[float, float]] = []
    for part in np.flatnonzero(on.any(axis=1)).tolist():
        off = some & ~on[part]
        runs_m = edges_m[np.flatnonzero(np.diff(off, prepend=False, append=False))].reshape(-1, 2)
        # at a slanting end rows begin one after the other; between rows on both sides none does
        at_end = (runs_m[:, 0] <= AT_END_M) | (runs_m[:, 1] >= whole_m - AT_END_M)
        runs_m = runs_m[np.ptp(runs_m, axis=1) > np.where(at_end, least_m, AT_END_M)]
        if not len(runs_m):
            continue
        off_m += runs_m.tolist()
        on_at_m = np.concatenate([[0.0], runs_m.ravel(), [whole_m]]).reshape(-1, 2)
        stretches = [(a, b) for a, b in on_at_m.tolist() if b - a > AT_END_M]
        words = " and ".join(_from_to(a, b, whole_m, units) for a, b in stretches)
        told.setdefault(f"only {words}", []).append(part + 1)
    if len(told) <= MOST_STRETCHES:
        return told
    parts_off = sorted(part for those in told.values() for part in those)
    together = shapely.get_parts(shapely.union_all([shapely.box(a, 0, b, 1) for a, b in off_m]))
    spans_m = sorted(zip(*shapely.bounds(together)[:, [0, 2]].T.tolist(), strict=True))
    if len(spans_m) > MOST_STRETCHES:
        return {"part of the way only, as far as their rows go": parts_off}
    spans = " and ".join(_from_to(a, b, whole_m, units) for a, b in spans_m)
    return {f"off one by one {spans}": parts_off}


def _from_to(begin_m: float, end_m: float, whole_m: float, units: UnitSystem) -> str:
    """Say from where to where along a pass, as far as that is not its start or its end."""
    begin, end = (format_about(at_m, units) for at_m in (begin_m, end_m))
    if begin_m <= AT_END_M:
        return f"to {end}"
    return f"from {begin}" if end_m >= whole_m - AT_END_M else f"from {begin} to {end}"


AT_END_M = 3.0
"""So near its end a stretch is as good as at it: an operator sees no less (our choice)."""
PART_WAY = "; "
"""Stands before what is on for a part of a pass alone."""
MOST_STRETCHES = 3
"""More stretches on which different parts are on are not told one by one (our choice)."""


def _parts_at(
    passes: Passes,
    machine: Machine,
    rows: RowPieces,
    section: Section,
    one: Integers,
    row: Integers,
) -> tuple[Integers, Integers]:
    """Give the first and the last part over the row of each pair, from the left of the path."""
    name, count = parts_of(machine)
    runs = passes.runs
    assert runs is not None  # noqa: S101 - over strips
    part_m = passes.width_m / count
    half_m = np.zeros(len(row))
    if name in GROUND:
        half_m = np.array([each.spacing_m for each in section.rows])[rows.kind[row]] / 2
    from_left_m = runs.across_m[one] + passes.width_m / 2 - rows.across_m[row]
    slack = WIDTH_M / part_m
    low = np.floor((from_left_m - half_m) / part_m + slack)
    high = np.ceil((from_left_m + half_m) / part_m - slack) - 1
    low, high = (np.clip(edge, 0, count - 1).astype(np.int64) for edge in (low, high))
    return low, high


GROUND = ("sections",)
"""Parts that are on over all ground of a row; the others are over the row itself."""
MOST_RANGES = 6
"""More ranges of parts are only counted (our choice)."""


def on_parts(flags: Bools, name: str) -> str:
    """Say which parts are on, (parts,)."""
    if flags.all():
        return f"all {name} on"
    numbers = (np.flatnonzero(flags) + 1).tolist()
    said = ranges(numbers)
    if said.count(",") >= MOST_RANGES:
        return f"{len(numbers)} of {len(flags)} {name} on"
    return f"{named(numbers, name)} on"
