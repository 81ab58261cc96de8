"""Keep machines inside the field: passes along a boundary shift inward, as an operator drives.

A pass whose machine is wider than the rows under it shifts until its swath lies inside, over ground
that another pass works too. At a slanting end it may run out by what its rows need; where its
middle would run out by more than half the machine's width, it ends there, and what is left of its
rows is worked by a pass beside it, shifted inward likewise.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.inset import mitered, near
from striplay.geometry.path import Path, Straight
from striplay.operations.travel import Travel, joined
from striplay.section.passes import within
from striplay.tolerances import INSIDE_M, LENGTH_M, OUT_SHARE, OVER_FENCE_M, SHORTEST_PASS_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

DEEPEST = 4
"""Passes beside passes beside a slanting end; each takes half the rows of the one before."""


@dataclass(frozen=True)
class Runs:
    """Passes of one machine on one crop, each from begin to end at one distance across.

    Attributes:
        begin: where each begins along the path, (n,).
        end: where it ends, (n,).
        across_m: distance across of the machine's middle, (n,).
        line: its line of travel, (n,).
        beside: 0 for a pass over its line's own middle, above for one that works what it leaves,
            (n,).
        turned: as in `Travel`, (n,).
        owner: the first piece of strip under it; -1 on a headland, (n,).
        low_m: lower edge of the rows under it, (n,).
        high_m: upper edge, (n,).
        idle_m: width of the machine over ground that it does not work since it shifted, (n,).
    """

    begin: Floats
    end: Floats
    across_m: Floats
    line: Integers
    beside: Integers
    turned: Integers
    owner: Integers
    low_m: Floats
    high_m: Floats
    idle_m: Floats

    def __len__(self) -> int:
        return len(self.begin)

    def chosen(self, those: npt.NDArray[np.bool_] | Integers) -> "Runs":
        """Give some of them."""
        return Runs(
            self.begin[those],
            self.end[those],
            self.across_m[those],
            self.line[those],
            self.beside[those],
            self.turned[those],
            self.owner[those],
            self.low_m[those],
            self.high_m[those],
            self.idle_m[those],
        )


def together(runs: Sequence[Runs]) -> Runs:
    """Put runs one after the other."""
    names = (one.name for one in fields(Runs))
    return Runs(*(np.concatenate([getattr(one, name) for one in runs]) for name in names))


@dataclass(frozen=True)
class Field:
    """Where machines may be.

    Attributes:
        ground: the field less what is gone around, on the local plane.
        path: what rows follow.
    """

    ground: shapely.Geometry
    path: Path

    @staticmethod
    def of(ground: shapely.Geometry, path: Path) -> "Field":
        """Take ground, and as much beside it as steering errs by."""
        wider = mitered(ground, INSIDE_M)
        shapely.prepare(wider)
        return Field(wider, path)

    def swaths(self, begin: Floats, end: Floats, across_m: Floats, width_m: float) -> Geometries:
        """Give the ground under machines."""
        return machine_ground(self.path, begin, end, across_m, width_m)

    def holds(self, swaths: Geometries) -> npt.NDArray[np.bool_]:
        """Tell which swaths lie inside."""
        return np.asarray(shapely.covers(self.ground, swaths), dtype=bool)

    def out_m2(self, area: shapely.Geometry) -> float:
        """Measure how much of some ground lies outside."""
        return float(area.area - overlay.intersection(area, near(self.ground, area)).area)


def machine_ground(
    path: Path, begin: Floats, end: Floats, across_m: Floats, width_m: float
) -> Geometries:
    """Give the ground under machines, square at both ends."""
    if isinstance(path, Straight):
        return path.swaths(begin, end, across_m - width_m / 2, across_m + width_m / 2)
    lines = path.lines(begin, end, across_m)
    return np.asarray(shapely.buffer(lines, width_m / 2, cap_style="flat"), dtype=object)


def runs_inside(travel: Travel, field: Field) -> Runs:
    """Join rows to runs, and keep these inside the field.

    Args:
        travel: rows under the passes of one machine.
        field: where machines may be.
    """
    rows, path = travel.rows, field.path
    run, begin, end = joined(travel.key, rows.begin, rows.end, path.around)
    count = len(begin)
    first = np.full(count, len(run), dtype=np.int64)
    np.minimum.at(first, run, np.arange(len(run)))
    low_m, high_m = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low_m, run, rows.across_m - travel.half_m)
    np.maximum.at(high_m, run, rows.across_m + travel.half_m)
    runs = Runs(
        begin=begin,
        end=end,
        across_m=travel.middle_m[first],
        line=travel.line[first],
        beside=np.zeros(count, dtype=np.int64),
        turned=travel.turned[first],
        owner=rows.owner[first],
        low_m=low_m,
        high_m=high_m,
        idle_m=np.zeros(count),
    )
    if not count:
        return runs
    width_m = travel.like.width_m
    out = ~field.holds(field.swaths(begin, end, runs.across_m, width_m))
    over_m = np.maximum(low_m - (runs.across_m - width_m / 2), runs.across_m + width_m / 2 - high_m)
    near = out & (over_m <= OVER_FENCE_M)
    if near.any():
        out[near] = _middle_out_m(runs.chosen(near), field) > width_m / 2
    if not out.any():
        return runs
    parted = [
        one
        for index in np.flatnonzero(out)
        for one in _settled(
            _on_one_turn(travel.chosen(run == index), path, float(begin[index])),
            field,
            float(runs.across_m[index]),
            0,
        )
    ]
    inside = runs.chosen(~out)
    if not parted:
        return inside
    return together([inside, _from_north(_bridged(together(parted), field), path)])


def _bridged(runs: Runs, field: Field) -> Runs:
    """Join runs beside one line that lie a short way apart: a machine drives on between them."""
    order = np.lexsort((runs.begin, runs.across_m, runs.beside, runs.line))
    runs = runs.chosen(order)
    near = _reaches(runs, field.path, DRIVEN_ON_M)
    same = (runs.line[1:] == runs.line[:-1]) & (runs.beside[1:] == runs.beside[:-1])
    same &= (runs.beside[1:] > 0) & (np.abs(np.diff(runs.across_m)) < INSIDE_M)
    at = np.flatnonzero(same & near & (runs.begin[1:] > runs.begin[:-1]))
    ends = np.maximum(runs.begin[at + 1], runs.end[at])
    gaps = field.path.lines(runs.end[at], ends, runs.across_m[at])
    joins = np.zeros(len(runs), dtype=bool)
    joins[at + 1] = field.holds(gaps) | (ends <= runs.end[at])
    first = np.flatnonzero(~joins)
    whole = runs.chosen(first)
    return replace(
        whole,
        end=np.maximum.reduceat(runs.end, first),
        low_m=np.minimum.reduceat(runs.low_m, first),
        high_m=np.maximum.reduceat(runs.high_m, first),
    )


DRIVEN_ON_M = 20.0
"""Over so much ground already worked a machine drives on rather than turn (our choice)."""


def _reaches(runs: Runs, path: Path, by_m: float) -> npt.NDArray[np.bool_]:
    """Tell of each run but the last whether the next one begins within a distance of its end."""
    count = len(runs) - 1
    reach = path.moved(runs.end[:-1], runs.across_m[:-1], np.full(count, by_m))
    return np.asarray(runs.begin[1:] <= reach)


def _middle_out_m(runs: Runs, field: Field) -> Floats:
    """Measure how much of each run's middle lies outside the field."""
    lines = field.path.lines(runs.begin, runs.end, runs.across_m)
    inside = overlay.intersection(lines, field.ground)
    return np.asarray(shapely.length(lines) - shapely.length(inside))


def _settled(travel: Travel, field: Field, middle_m: float, depth: int) -> Iterator[Runs]:
    """Settle one run: shift it inward, and where its middle still runs out, part it.

    Args:
        travel: the stretches of rows that it works.
        field: where machines may be.
        middle_m: where its middle runs.
        depth: how many passes beside it there are already.
    """
    path = field.path
    begin, end = _reach(travel, path)
    shifted_m = _shifted(travel, field, middle_m)
    spans = stretches_inside(field, begin, end, shifted_m, travel.like.width_m)
    if not spans and not travel.is_alone:
        yield from _settled(travel.alone(), field, middle_m, depth)
        return
    lower = travel.rows.across_m < shifted_m
    # over several strips rows may stand on both sides of ground where no machine drives
    whole = not spans and not (travel.like.strip is None and lower.any() and not lower.all())
    if whole or spans == [(begin, end)] or depth == DEEPEST or travel.like.fixed:
        yield _one(travel, path, shifted_m, depth, middle_m)
        return
    for low, high in spans:
        for mine in _stretches(_clipped(travel, path, low, high)):
            one = _one(mine, path, shifted_m, depth, middle_m)
            yield _driven_in(one, path, forward=high - one.end[0] > one.begin[0] - low)
    edges = [begin, *(place for span in spans for place in span), end]
    for low, high in zip(edges[::2], edges[1::2], strict=True):
        left = _clipped(travel, path, low, high)
        lower = left.rows.across_m < shifted_m
        for side in (left.chosen(lower), left.chosen(~lower)):
            for mine in _stretches(side.alone()):
                for one in _settled(mine, field, shifted_m, depth + 1):
                    yield _driven_in(one, path, forward=high < end)


def _stretches(travel: Travel) -> Iterator[Travel]:
    """Part stretches of rows where none of them goes on."""
    if not len(travel.rows.begin):
        return
    key = np.zeros(len(travel.rows.begin), dtype=np.int64)
    run, begins, _ = joined(key, travel.rows.begin, travel.rows.end, None)
    for index in range(len(begins)):
        yield travel.chosen(run == index)


def _driven_in(run: Runs, path: Path, *, forward: bool) -> Runs:
    """Drive a short run in, or on, over rows already worked, so that it is long enough."""
    short_m = np.maximum(SHORTEST_PASS_M - path.lengths_m(run.begin, run.end, run.across_m), 0.0)
    if forward:
        return replace(run, end=path.moved(run.end, run.across_m, short_m))
    return replace(run, begin=path.moved(run.begin, run.across_m, -short_m))


def _after(place: Floats, begin: float, around: float) -> Floats:
    """Give places on a ring as they lie within one turn from another, in radians."""
    return np.asarray(begin + (place - begin + LENGTH_M) % around - LENGTH_M)


def _on_one_turn(travel: Travel, path: Path, begin: float) -> Travel:
    """Bring the rows of a run on a ring within one turn from where the run begins."""
    rows, around = travel.rows, path.around
    if around is None:
        return travel
    low = _after(rows.begin, begin, around)
    high = low + (rows.end - rows.begin)
    every = np.tile(np.arange(len(low)), 2)
    last = begin + around
    lows = np.concatenate([low, np.full(len(low), begin)])
    highs = np.concatenate([np.minimum(high, last), high - around])
    twice = travel.chosen(every)
    cut = replace(twice, rows=replace(twice.rows, begin=lows, end=highs))
    return cut.chosen(highs > lows + LENGTH_M)


def _from_north(runs: Runs, path: Path) -> Runs:
    """Count the places of runs on a ring from north."""
    if path.around is None:
        return runs
    turn = path.around * np.floor((runs.begin + LENGTH_M) / path.around)
    return replace(runs, begin=runs.begin - turn, end=runs.end - turn)


def _reach(travel: Travel, path: Path) -> tuple[float, float]:
    """Give from where to where stretches of rows reach, once round a ring at most."""
    begin, end = float(travel.rows.begin.min()), float(travel.rows.end.max())
    return begin, end if path.around is None else min(end, begin + path.around)


def _one(travel: Travel, path: Path, across_m: float, depth: int, middle_m: float) -> Runs:
    """Make one run of all stretches given."""
    rows = travel.rows
    begin, end = _reach(travel, path)
    low_m = float((rows.across_m - travel.half_m).min())
    high_m = float((rows.across_m + travel.half_m).max())
    over_m = float(travel.high_m.max() - travel.low_m.min())
    idle_m = max(0.0, travel.like.width_m - over_m) if across_m != middle_m else 0.0
    return Runs(
        begin=np.array([begin]),
        end=np.array([end]),
        across_m=np.array([across_m]),
        line=travel.line[:1],
        beside=np.array([depth]),
        turned=travel.turned[:1],
        owner=rows.owner[:1],
        low_m=np.array([low_m]),
        high_m=np.array([high_m]),
        idle_m=np.array([idle_m]),
    )


def _shifted(travel: Travel, field: Field, middle_m: float) -> float:
    """Shift a machine's middle inward where its swath reaches out of the field past its rows.

    Over several strips that is past the rows of all crops under it, so that it shifts alike for
    each. It stays about its rows where shifting would take it out on the other side. A planter that
    carries several crops can't shift: its units would meet other crops' rows.
    """
    like = travel.like
    half_m = like.width_m / 2
    if like.fixed:
        return middle_m
    low_m, high_m = float(travel.low_m.min()), float(travel.high_m.max())
    beyond = ((middle_m - half_m, low_m), (high_m, middle_m + half_m))
    out = [_lies_out(travel, field, lower, upper) for lower, upper in beyond]
    if not any(out):
        return middle_m
    about_m = within(middle_m, like.width_m, low_m, high_m, like.step_m)
    if all(out):
        return about_m
    low_limit_m, high_limit_m = (low_m, np.inf) if out[0] else (-np.inf, high_m)
    moved_m = within(middle_m, like.width_m, low_limit_m, high_limit_m, like.step_m)
    over = (
        (middle_m + half_m, moved_m + half_m) if out[0] else (moved_m - half_m, middle_m - half_m)
    )
    if field.path.around is not None and moved_m < half_m:
        return about_m  # nothing drives so near round a center
    return about_m if _lies_out(travel, field, *over) else moved_m


def _lies_out(travel: Travel, field: Field, lower_m: float, upper_m: float) -> bool:
    """Tell whether the ground between two distances, along some rows, lies outside the field."""
    if upper_m - lower_m <= OVER_FENCE_M:
        return False
    begin, end = (np.array([place]) for place in _reach(travel, field.path))
    area = field.path.swaths(begin, end, np.array([lower_m]), np.array([upper_m]))[0]
    return field.out_m2(area) > OUT_SHARE * float(area.area)


def stretches_inside(
    field: Field, begin: float, end: float, across_m: float, width_m: float
) -> list[tuple[float, float]]:
    """Give the stretches of a line that lie in the field, in order.

    The first and the last reach the line's ends where those are within half the width.
    """
    path, across = field.path, np.array([across_m])
    line = path.lines(np.array([begin]), np.array([end]), across)[0]
    parts = shapely.get_parts(overlay.intersection(line, field.ground))
    parts = parts[shapely.length(parts) > OVER_FENCE_M]
    if not len(parts):
        return []
    low, high = path.spans(parts, np.full(len(parts), across_m))
    if path.around is not None:
        whole = high - low >= path.around - LENGTH_M
        turned = _after(low, begin, path.around)
        low, high = np.where(whole, begin, turned), high - low
        high = low + high
    if not len(low):
        return []
    order = np.argsort(low)
    low, high = np.maximum(low[order], begin), np.minimum(high[order], end)
    reach = np.array([width_m / 2 + INSIDE_M])
    if float(path.moved(low[:1], across, -reach)[0]) <= begin:
        low[0] = begin
    if float(path.moved(high[-1:], across, reach)[0]) >= end:
        high[-1] = end
    hair = np.full(len(low) - 1, INSIDE_M)  # ground a hair apart is one
    on = low[1:] < path.moved(high[:-1], np.full(len(low) - 1, across_m), hair)
    gone_on = np.append(False, on)
    first = np.flatnonzero(~gone_on)
    low, high = low[first], np.maximum.reduceat(high, first)
    long = path.lengths_m(low, high, np.full(len(low), across_m)) >= SHORTEST_PASS_M
    long |= (low <= begin) & (high >= end)
    return list(zip(low[long].tolist(), high[long].tolist(), strict=True))


def _clipped(travel: Travel, path: Path, low: float, high: float) -> Travel:
    """Cut the stretches of rows to those between two places."""
    rows = travel.rows
    begin, end = np.maximum(rows.begin, low), np.minimum(rows.end, high)
    real = end > path.moved(begin, rows.across_m, np.full(len(begin), INSIDE_M))
    cut = replace(rows, begin=begin, end=end)
    return replace(travel, rows=cut).chosen(real)
