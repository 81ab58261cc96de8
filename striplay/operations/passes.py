"""Drive the passes of every operation over a laid field, side by side."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import PassError
from striplay.geometry import overlay
from striplay.geometry.path import Path
from striplay.ground import Ground
from striplay.layout.across import Across
from striplay.layout.pieces import Pieces
from striplay.operations.clear import without_stops
from striplay.operations.inside import Field, Runs, runs_inside, together
from striplay.operations.travel import MANY, Travel, joined, travels
from striplay.section.section import Pass, Section
from striplay.tolerances import AHEAD_M, INSIDE_M, LENGTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class Passes:
    """Passes of one machine on one crop, in the order driven, on the local plane.

    Attributes:
        operation: plant, spray, harvest or another kind of work.
        machine: its name in the plan.
        crop: what it plants, sprays or harvests.
        width_m: how wide the machine is.
        place: strips or headland.
        block: index of the block.
        owner: index of the piece of strip each goes over, the first of several; -1 on a headland,
            (n,).
        line: each as driven, from its start to its end, (n,).
        stretch: lines of its stretches, at work or not, in order, (m,).
        stretch_of: the pass of each, (m,).
        working: whether the machine is at work on it, or lifted and shut, (m,).
        stops_at: the obstacles that each stops at, or empty, (n,).
        idle_m: width of the machine over ground it does not work since it shifted inward, (n,).
        back: whether each is driven against its path, (n,).
        only_so: whether its direction is told by what it plants, so that it can't be turned, (n,).
        runs: each on its path, from the first of its stretches to the last; None on a headland.
    """

    operation: str
    machine: str
    crop: str
    width_m: float
    place: str
    block: int
    owner: Integers
    line: Geometries
    stretch: Geometries
    stretch_of: Integers
    working: Bools
    stops_at: Geometries
    idle_m: Floats
    back: Bools
    only_so: Bools
    runs: Runs | None = None

    def __len__(self) -> int:
        return len(self.line)

    @property
    def length_m(self) -> Floats:
        """Length of each as driven."""
        return np.asarray(shapely.length(self.line), dtype=np.float64)

    @property
    def worked_m(self) -> Floats:
        """Length of each at work, what it is lifted over left out."""
        worked_m = np.zeros(len(self))
        np.add.at(worked_m, self.stretch_of, self.working * shapely.length(self.stretch))
        return worked_m

    def driven(self, order: Integers, back: Bools) -> "Passes":
        """Give the passes in another order, some of them turned round.

        Args:
            order: the passes, the first one driven first, (n,).
            back: whether each of these is turned round, (n,).
        """
        place = np.empty(len(self), dtype=np.int64)
        place[order] = np.arange(len(self))
        turned = np.zeros(len(self), dtype=bool)
        turned[order] = back
        # the stretches of a pass that is turned round come the other way round too
        count = len(self.stretch)
        along = np.where(turned[self.stretch_of], count - np.arange(count), np.arange(count))
        by_pass = np.lexsort((along, place[self.stretch_of]))
        stretch = np.where(turned[self.stretch_of], shapely.reverse(self.stretch), self.stretch)
        line = np.where(turned, shapely.reverse(self.line), self.line)
        return replace(
            self,
            owner=self.owner[order],
            line=line[order],
            stretch=stretch[by_pass],
            stretch_of=place[self.stretch_of][by_pass],
            working=self.working[by_pass],
            stops_at=self.stops_at[order],
            idle_m=self.idle_m[order],
            back=(self.back ^ turned)[order],
            only_so=self.only_so[order],
            runs=None if self.runs is None else self.runs.chosen(order),
        )


@dataclass(frozen=True)
class Swept:
    """A block with its set swept over it, ready to be driven.

    Attributes:
        section: the set.
        across: the set repeated over the land.
        pieces: strips and rows.
        path: what they follow.
        start: the side of the first strip.
        block: index of the block.
    """

    section: Section
    across: Across
    pieces: Pieces
    path: Path
    start: str
    block: int = 0


def field_of(ground: Ground, path: Path) -> Field:
    """Say where machines may be: on the field, but for what is gone around."""
    return Field.of(ground.rowed, path)


def strip_passes(swept: Swept, ground: Ground) -> list[Passes]:
    """Drive every machine over the strips of a block, crop by crop.

    Args:
        swept: the block.
        ground: the field, its obstacles included.

    Raises:
        PassError: a swath would meet an obstacle: a fault of ours.
    """
    field = field_of(ground, swept.path)
    beside = np.array(ground.beside, dtype=object)
    grouped: dict[tuple[str, str, str], list[Travel]] = {}
    for travel in travels(swept.section, swept.across, swept.pieces, swept.start):
        like = travel.like
        grouped.setdefault((like.operation, like.machine, like.crop), []).append(travel)
    aside_m = swept.section.widest_m
    found = []
    for listed in grouped.values():
        like = listed[0].like
        runs = together([runs_inside(travel, field) for travel in listed])
        runs = without_stops(runs, swept.path, like.width_m, beside)
        if len(runs):
            found.append(_passes(runs, like, swept, ground, aside_m))
    return found


def _passes(runs: Runs, like: Pass, swept: Swept, ground: Ground, aside_m: float) -> Passes:
    """Put runs in the order driven, joined where the machine drives on between them."""
    path = swept.path
    if not like.fixed:
        runs = _on_lines(runs, swept.start)
    part = _parts(runs, path, ground)
    # one number by part and line: the lines of a part all come before the next one's
    key = part * (int(np.ptp(runs.line)) + 1) + runs.line - runs.line.min()
    runs, line = _overlapping(runs, np.unique(key, return_inverse=True)[1], path)
    rank = np.unique(line, return_inverse=True)[1]
    back = rank % 2 == 1
    told = runs.turned >= 0
    back[told] = (runs.turned[told] == 1) ^ (swept.start == "right")
    new = np.append(True, (np.diff(line) != 0) | ~_driven_on(runs, line, path, ground))
    number = np.cumsum(new) - 1
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(runs)) - 1
    # along a line, as driven: passes and their stretches turn round where it is driven back
    along = np.where(back, -runs.begin, runs.begin)
    driven = np.lexsort((along[first], rank[first]))
    place = np.empty(len(first), dtype=np.int64)
    place[driven] = np.arange(len(first))
    stretch_begin, stretch_end = runs.begin, runs.end
    joins = np.flatnonzero(~new)
    begin = np.concatenate([stretch_begin, stretch_end[joins - 1]])
    end = np.concatenate([stretch_end, stretch_begin[joins]])
    source = np.concatenate([np.arange(len(runs)), joins])
    working = np.concatenate([np.ones(len(runs), bool), np.zeros(len(joins), bool)])
    stretch_along = np.where(back[source], -begin, begin)
    by_pass = np.lexsort((stretch_along, place[number[source]]))
    begin, end, source, working = begin[by_pass], end[by_pass], source[by_pass], working[by_pass]
    lines = path.lines(begin, end, runs.across_m[source])
    whole = path.lines(runs.begin[first], runs.end[last], runs.across_m[first])
    lines = np.where(back[source], shapely.reverse(lines), lines)
    whole = np.where(back[first], shapely.reverse(whole), whole)[driven]
    low_m, high_m = (
        reach.reduceat(edge, first)
        for reach, edge in ((np.minimum, runs.low_m), (np.maximum, runs.high_m))
    )
    each = replace(runs.chosen(first), end=runs.end[last], low_m=low_m, high_m=high_m)
    return Passes(
        operation=like.operation,
        machine=like.machine,
        crop=like.crop,
        width_m=like.width_m,
        place="strips",
        block=swept.block,
        owner=runs.owner[first][driven],
        line=whole,
        stretch=lines,
        stretch_of=place[number[source]],
        working=working,
        stops_at=stops_at(whole, aside_m, ground),
        idle_m=runs.idle_m[first][driven],
        back=back[first][driven],
        only_so=told[first][driven],
        runs=each.chosen(driven),
    )


def _overlapping(runs: Runs, line: Integers, path: Path) -> tuple[Runs, Integers]:
    """Join runs of one line that touch or overlap, as over two pieces; give each one's line."""
    run, begin, end = joined(line, runs.begin, runs.end, path.around)
    count = len(begin)
    first = np.full(count, len(run), dtype=np.int64)
    np.minimum.at(first, run, np.arange(len(run)))
    idle_m = np.zeros(count)
    np.maximum.at(idle_m, run, runs.idle_m)
    low_m, high_m = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low_m, run, runs.low_m)
    np.maximum.at(high_m, run, runs.high_m)
    edges = {"low_m": low_m, "high_m": high_m}
    whole = replace(runs.chosen(first), begin=begin, end=end, idle_m=idle_m, **edges)
    return whole, line[first]


def _on_lines(runs: Runs, start: str) -> Runs:
    """Number lines of travel anew, from the start side: what runs at one distance in a strip."""
    strip = runs.line // MANY
    across = -runs.across_m if start == "left" else runs.across_m
    order = np.lexsort((across, strip))
    apart = (np.diff(strip[order]) != 0) | (np.diff(across[order]) > INSIDE_M)
    line = np.empty(len(order), dtype=np.int64)
    line[order] = np.cumsum(np.append(False, apart))
    return replace(runs, line=line)


def _parts(runs: Runs, path: Path, ground: Ground) -> Integers:
    """Say in which part of the field each run lies."""
    if len(shapely.get_parts(ground.outline)) == 1:
        return np.zeros(len(runs), dtype=np.int64)
    middle = (runs.begin + runs.end) / 2
    ends = path.moved(middle, runs.across_m, np.full(len(runs), INSIDE_M))
    return parts_under(path.lines(middle, ends, runs.across_m), ground)


def parts_under(lines: Geometries, ground: Ground) -> Integers:
    """Say in which part of the field the middle of each line lies."""
    middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    near = shapely.STRtree(shapely.get_parts(ground.outline)).nearest(middle)
    return np.asarray(near, dtype=np.int64)


def _driven_on(runs: Runs, line: Integers, path: Path, ground: Ground) -> Bools:
    """Say of each run but the last whether its machine drives on over an obstacle to the next."""
    on = np.zeros(max(len(runs) - 1, 0), dtype=bool)
    if ground.through.is_empty or not len(on):
        return on
    same = line[1:] == line[:-1]
    at = np.flatnonzero(same)
    gaps = path.lines(runs.end[at], runs.begin[at + 1], runs.across_m[at])
    over = shapely.buffer(ground.driven_on, INSIDE_M)
    shapely.prepare(over)
    on[at] = shapely.covers(over, gaps) & shapely.intersects(ground.through, gaps)
    return on


def stops_at(lines: Geometries, aside_m: float, ground: Ground) -> Geometries:
    """Name the small obstacles that passes stop at, one after the other; empty for none.

    Rows end there for the widest of the machines that work them, so others stop there too.

    Args:
        lines: the passes.
        aside_m: how far beside the end of a pass such an obstacle may lie.
        ground: the field.
    """
    found = np.full(len(lines), "", dtype=object)
    if not ground.beside or not len(lines):
        return found
    tree = shapely.STRtree(np.array(ground.beside, dtype=object))
    for near, far in ((0.0, 0.001), (1.0, 0.999)):
        ends = shapely.line_interpolate_point(lines, near, normalized=True)
        inner = shapely.line_interpolate_point(lines, far, normalized=True)
        ahead = _ahead(shapely.get_coordinates(ends), shapely.get_coordinates(inner), aside_m)
        which, obstacle = tree.query(ahead, predicate="intersects")
        for index, number in sorted(zip(which.tolist(), obstacle.tolist(), strict=True)):
            label = ground.beside_labels[number]
            if label not in found[index].split(", "):
                found[index] = f"{found[index]}, {label}".removeprefix(", ")
    return found


def _ahead(ends: Floats, inner: Floats, aside_m: float) -> Geometries:
    """Give the ground just ahead of the ends of passes, so far to either side."""
    way = ends - inner
    way = way / np.maximum(np.hypot(*way.T), LENGTH_M)[:, None]
    aside = np.column_stack([-way[:, 1], way[:, 0]]) * aside_m
    tip = ends + way * AHEAD_M
    rings = np.stack([ends - aside, ends + aside, tip + aside, tip - aside], axis=1)
    return np.asarray(shapely.polygons(rings), dtype=object)


def check_clear(driven: Iterable[Passes], ground: Ground) -> None:
    """Check that no machine at work comes within the clearance of a small obstacle.

    Raises:
        PassError: one does: a fault of ours.
    """
    if not ground.beside:
        return
    obstacles = np.array(ground.beside, dtype=object)
    for passes in driven:
        lines = passes.stretch[passes.working]
        swaths = shapely.buffer(lines, passes.width_m / 2, cap_style="flat")
        obstacle, swath = shapely.STRtree(swaths).query(obstacles, predicate="intersects")
        met = overlay.intersection(swaths[swath], obstacles[obstacle])
        bad = np.flatnonzero(shapely.area(met) > passes.width_m * INSIDE_M)
        if len(bad):
            where = ground.plane.place(shapely.get_coordinates(met[bad[0]])[0])
            raise PassError(
                f"{passes.operation} {passes.machine}: a pass comes too near to an obstacle at "
                f"{where}, which is a fault of striplay; another heading may do meanwhile"
            )
