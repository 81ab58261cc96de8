"""Find the lines of travel over planted rows: which pass works each row, and where its middle runs.

A line of travel is one pass of the section in one set or over one piece of strip. It runs as long
as one of its rows does, and stops where none goes on.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from striplay.layout.across import Across
from striplay.layout.pieces import Pieces, RowPieces
from striplay.section.passes import Work, shares
from striplay.section.section import Pass, Section, Tramlines
from striplay.section.tramlines import line_under, middle_of, pass_on
from striplay.tolerances import LENGTH_M, WHOLE_NUMBER

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

MANY = 1_000_000
"""More passes than any strip has, so that strip and pass make one number."""


@dataclass(frozen=True)
class Travel:
    """Rows under the passes of one machine on one crop, each row under its own pass.

    Attributes:
        like: one of the passes, for what they have in common.
        rows: the rows worked.
        key: of the run each row belongs to; rows of one key hang together along the path, (k,).
        line: the line of travel of each, in order across the field; the keys of one line lie one
            behind the other, (k,).
        middle_m: distance across at which the machine's middle runs, (k,).
        half_m: half the width of ground that each row stands for, (k,).
        turned: whether the pass is turned end for end, where that matters; else -1, (k,).
        low_m: lower edge of all ground that the pass goes over, whatever its crop, (k,).
        high_m: upper edge of it, (k,).
    """

    like: Pass
    rows: RowPieces
    key: Integers
    line: Integers
    middle_m: Floats
    half_m: Floats
    turned: Integers
    low_m: Floats
    high_m: Floats

    @property
    def own_m(self) -> tuple[Floats, Floats]:
        """Edges of the ground that each row stands for."""
        return self.rows.across_m - self.half_m, self.rows.across_m + self.half_m

    @property
    def is_alone(self) -> bool:
        """Whether the pass goes over the ground of these rows only."""
        low_m, high_m = self.own_m
        return bool(self.low_m.min() >= low_m.min() and self.high_m.max() <= high_m.max())

    def alone(self) -> "Travel":
        """Give the same as a pass over the ground of these rows only."""
        low_m, high_m = self.own_m
        return replace(self, low_m=low_m, high_m=high_m)

    def chosen(self, those: Bools | Integers) -> "Travel":
        """Give some of its rows."""
        return Travel(
            self.like,
            self.rows.chosen(those),
            self.key[those],
            self.line[those],
            self.middle_m[those],
            self.half_m[those],
            self.turned[those],
            self.low_m[those],
            self.high_m[those],
        )


def travels(
    section: Section,
    across: Across,
    pieces: Pieces,
    start: str,
    wanted: Callable[[Pass], bool] = lambda _: True,
) -> Iterator[Travel]:
    """Give the lines of travel of every work of a section: strip by strip, then on tramlines.

    Args:
        section: the set.
        across: the set repeated over the land.
        pieces: strips and planted rows.
        start: the side the first strip lies on.
        wanted: tells of a work's first pass whether its lines are.
    """
    yield from _by_strip(section, across, pieces, start, wanted)
    for tramlines in section.tramlines:
        if wanted(pass_on(tramlines, tramlines.middles_m[0])):
            yield from on_tramlines(section, tramlines, across, pieces, start)


def _by_strip(
    section: Section, across: Across, pieces: Pieces, start: str, wanted: Callable[[Pass], bool]
) -> Iterator[Travel]:
    """Give the lines of travel of the section's own passes."""
    works: dict[tuple[object, ...], list[Pass]] = {}
    for one in section.passes:
        works.setdefault(one.work, []).append(one)
    offset_m = np.array([row.offset_m for row in section.rows])
    spacing_m = np.array([row.spacing_m for row in section.rows])
    toward = -1.0 if start == "left" else 1.0
    for passes in filter(lambda each: wanted(each[0]), works.values()):
        number = np.full(len(section.rows), -1, dtype=np.int64)
        for index, one in enumerate(passes):
            number[list(one.rows)] = index
        rows = pieces.rows.chosen(number[pieces.rows.kind] >= 0)
        which = number[rows.kind]
        at_m, half_m = offset_m[rows.kind], spacing_m[rows.kind] / 2
        middle_m = np.array([one.middle_m for one in passes])[which]
        if passes[0].strip is None:
            before = np.floor(at_m / section.width_m).astype(np.int64)
            sets = across.set_number[pieces.strips.strip[rows.owner]] + before
            line = sets * len(passes) + which
            key, at_m = line, at_m - before * section.width_m
            turned = np.array([-1 if one.turned is None else one.turned for one in passes])[which]
        else:
            if passes[0].shared:
                which, middle_m = _shared_anew(section, pieces, passes, rows, which, middle_m)
            key = rows.owner * MANY + which
            line = pieces.strips.strip[rows.owner] * MANY + which
            turned = np.full(len(line), -1)
        yield Travel(
            passes[0],
            rows,
            key,
            line,
            rows.across_m + toward * (middle_m - at_m),
            half_m,
            turned.astype(np.int64),
            rows.across_m - half_m,
            rows.across_m + half_m,
        )


def on_tramlines(
    section: Section, tramlines: Tramlines, across: Across, pieces: Pieces, start: str
) -> Iterator[Travel]:
    """Give the lines of travel of a machine over several strips, crop by crop.

    The pattern begins at the set that leaves fewest lines to drive, the same for all crops.
    Arguments as in `travels`.
    """
    treated = [label.split(" + ") for label in tramlines.crops]
    named = {label for labels in treated for label in labels}
    main = zip(section.rows, section.main_row, strict=True)
    labels = np.array([row.label if own else "" for row, own in main], dtype=object)
    crop = np.where(np.isin(labels, list(named)), np.unique(labels, return_inverse=True)[1], -1)
    offset_m = np.array([row.offset_m for row in section.rows])
    rows = pieces.rows.chosen(crop[pieces.rows.kind] >= 0)
    sets = across.set_number[pieces.strips.strip[rows.owner]]
    at_m: Floats = sets * section.width_m + offset_m[rows.kind]
    of_crop = crop[rows.kind]
    if not len(at_m):
        return
    at_m = at_m - math.floor(at_m.min() / section.width_m) * section.width_m
    at_m = at_m - _begins_m(tramlines, at_m, of_crop)
    line = line_under(tramlines, at_m)
    half_m = np.array([row.spacing_m for row in section.rows])[rows.kind] / 2
    toward = -1.0 if start == "left" else 1.0
    middle_m = rows.across_m + toward * (middle_of(tramlines, line) - at_m)
    _, number = np.unique(line, return_inverse=True)
    low_m, high_m = np.full(len(line), np.inf), np.full(len(line), -np.inf)
    np.minimum.at(low_m, number, rows.across_m - half_m)
    np.maximum.at(high_m, number, rows.across_m + half_m)
    like = pass_on(tramlines, tramlines.middles_m[0])
    for label, sprayed in zip(tramlines.crops, treated, strict=True):
        own = np.isin(labels[rows.kind], sprayed)
        yield Travel(
            replace(like, crop=label),
            rows.chosen(own),
            line[own],
            line[own] * MANY,
            middle_m[own],
            half_m[own],
            np.full(int(own.sum()), -1, dtype=np.int64),
            low_m[number[own]],
            high_m[number[own]],
        )


def _begins_m(tramlines: Tramlines, at_m: Floats, crop: Integers) -> float:
    """Give how far on the pattern begins for the fewest lines: whole sets, the first that does.

    Args:
        tramlines: the pattern.
        at_m: of each row, from the first edge of the first set with rows, (k,).
        crop: of each, (k,).
    """
    place: Floats = np.unique(np.round(np.stack([crop, at_m], axis=1), 6), axis=0)
    own, row_m = place[:, 0].astype(np.int64), place[:, 1]
    count = []
    for turn in range(tramlines.sets):
        line = line_under(tramlines, row_m - turn * tramlines.set_m)
        count.append(len(np.unique(line * (own.max(initial=0) + 1) + own)))
    return int(np.argmin(count)) * tramlines.set_m


def _shared_anew(
    section: Section,
    pieces: Pieces,
    passes: list[Pass],
    rows: RowPieces,
    which: Integers,
    middle_m: Floats,
) -> tuple[Integers, Floats]:
    """Share what is planted of pieces that the boundary cuts among as many passes as that takes."""
    like = passes[0]
    assert like.strip is not None  # noqa: S101 - passes over several strips share nothing
    strip = section.strips[like.strip]
    low_m, high_m = min(one.low_m for one in passes), max(one.high_m for one in passes)
    work = Work(like.operation, like.machine, like.width_m, None, like.step_m)
    which, middle_m = which.copy(), middle_m.copy()
    cut = np.flatnonzero(~pieces.strips.whole[rows.owner])
    order = cut[np.argsort(rows.owner[cut], kind="stable")]
    for mine in np.split(order, np.flatnonzero(np.diff(rows.owner[order])) + 1):
        if not len(mine):
            continue
        at_m = np.array([section.rows[kind].offset_m for kind in rows.kind[mine]])
        half_m = np.array([section.rows[kind].spacing_m for kind in rows.kind[mine]]) / 2
        begin_m = max(low_m, float((at_m - half_m).min()))
        wide_m = min(high_m, float((at_m + half_m).max())) - begin_m
        found = shares(work, wide_m, strip.spacing_m)
        number = ((at_m - begin_m) / found[0].high_m + WHOLE_NUMBER).astype(np.int64)
        which[mine] = np.clip(number, 0, len(found) - 1)
        middle_m[mine] = begin_m + np.array([share.middle_m for share in found])[which[mine]]
    return which, middle_m


def joined(
    key: Integers, begin: Floats, end: Floats, around: float | None
) -> tuple[Integers, Floats, Floats]:
    """Join stretches of one key that touch or overlap.

    Args:
        key: of each stretch, (k,).
        begin: where each begins along the path, (k,).
        end: where it ends, (k,).
        around: how far along once round is; None where the path does not close.

    Returns:
        The run of each stretch, (k,); where each run begins and ends, (n,), in order of key.

    >>> run, begin, end = joined(np.array([7, 7, 7]), np.array([0.0, 5.0, 1.0]),
    ...                          np.array([2.0, 6.0, 3.0]), None)
    >>> run.tolist(), begin.tolist(), end.tolist()
    ([0, 1, 0], [0.0, 5.0], [3.0, 6.0])
    """
    if not len(key):
        return np.empty(0, dtype=np.int64), np.empty(0), np.empty(0)
    order = np.lexsort((begin, key))
    sorted_key, low, high = key[order], begin[order], end[order]
    rank = np.cumsum(np.diff(sorted_key, prepend=sorted_key[:1]) != 0)
    far = rank * 2.0 * (1.0 + float(np.ptp(np.append(low, high))))
    reach = np.maximum.accumulate(high + far)
    new = np.append(True, (low + far)[1:] > reach[:-1] + LENGTH_M)
    first = np.flatnonzero(new)
    run = np.empty(len(key), dtype=np.int64)
    run[order] = np.cumsum(new) - 1
    begins, ends = low[first], np.maximum.reduceat(high, first)
    if around is not None:
        run, begins, ends = _closed(run, begins, ends, sorted_key[first], around)
    return run, begins, ends


def _closed(
    run: Integers, begins: Floats, ends: Floats, key: Integers, around: float
) -> tuple[Integers, Floats, Floats]:
    """Join the last run of a ring to its first where they meet round north."""
    gone = np.zeros(len(begins), dtype=bool)
    into = np.arange(len(begins))
    firsts = np.flatnonzero(np.append(True, key[1:] != key[:-1]))
    for first, last in zip(firsts, [*(firsts[1:] - 1), len(key) - 1], strict=True):
        head = first
        while head < last and ends[last] >= begins[head] + around - LENGTH_M:
            ends[last] = max(ends[last], ends[head] + around)
            gone[head], into[head] = True, last
            head += 1
        ends[last] = min(ends[last], begins[last] + around)
    place = np.cumsum(~gone) - 1
    return place[into[run]], begins[~gone], ends[~gone]
