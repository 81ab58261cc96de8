"""Tell what stands to the left and right of each pass as it is driven."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.jobs import crops_of
from striplay.operations.on_path import OnPath, pairs_between
from striplay.operations.passes import Swept
from striplay.operations.route import Route
from striplay.operations.stands import standing_at
from striplay.tolerances import WIDTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

BESIDE_M = 2.0
"""A row farther from a swath's edge than two wide rows does not stand beside it (our choice)."""
PROBE_M = 0.5
"""So far beyond a swath's edge is looked, where no row lies beside it (our choice)."""
MIDDLE, STEP = 0.5, 1e-3
"""What stands is told at a pass's middle, and which way it runs over so small a share of it."""
HEADLAND = "headland"


@dataclass(frozen=True)
class Beside:
    """What stands beside the passes of a route, at the middle of each.

    Attributes:
        left: crop or mixture at its left as driven, headland, or empty for bare ground or none,
            (n,).
        right: likewise at its right, (n,).
    """

    left: Geometries
    right: Geometries


@dataclass(frozen=True)
class Spot:
    """Where what stands beside passes is looked at, on the local plane.

    That is at the middle of each; of a headland's, which bend, at the middle of the longest side.

    Attributes:
        point: each, (n, 2).
        way: the direction driven, of length 1, (n, 2).
    """

    point: Floats
    way: Floats

    @staticmethod
    def of(lines: Geometries) -> "Spot":
        """Find the middle of each line and which way it runs there."""
        behind, ahead, point = (
            shapely.get_coordinates(shapely.line_interpolate_point(lines, at, normalized=True))
            for at in (MIDDLE - STEP, MIDDLE + STEP, MIDDLE)
        )
        return Spot(point, _ahead(behind, ahead))

    @staticmethod
    def on_longest_side(lines: Geometries) -> "Spot":
        """Find the middle of each line's longest straight stretch, and which way it runs there."""
        points, line = shapely.get_coordinates(lines, return_index=True)
        begin = np.flatnonzero(line[1:] == line[:-1])
        long_m = np.hypot(*(points[begin + 1] - points[begin]).T)
        by_line = np.lexsort((-long_m, line[begin]))
        longest = begin[by_line][np.flatnonzero(np.diff(line[begin][by_line], prepend=-1))]
        one, other = points[longest], points[longest + 1]
        return Spot((one + other) / 2, _ahead(one, other))

    def replaced(self, those: Bools, by: "Spot") -> "Spot":
        """Give the same with some of them replaced by others, in order."""
        point, way = self.point.copy(), self.way.copy()
        point[those], way[those] = by.point, by.way
        return Spot(point, way)

    def aside(self, by_m: float) -> Floats:
        """Give points so far to the left of each, to the right where below 0, (n, 2)."""
        return self.point + by_m * np.column_stack([-self.way[:, 1], self.way[:, 0]])


def _ahead(behind: Floats, ahead: Floats) -> Floats:
    """Give the direction from points to others, of length 1, (n, 2)."""
    way = ahead - behind
    return np.asarray(way / np.maximum(np.hypot(*way.T), WIDTH_M)[:, None])


def standing_beside(
    routes: Sequence[Route],
    blocks: Sequence[Swept],
    headland: Geometries,
    days: Mapping[tuple[str, str], date],
) -> list[Beside]:
    """Tell what stands beside each pass of each route, in the order of the jobs.

    Of the crop that a route itself plants or harvests, rows stand that its earlier passes planted,
    or have not yet harvested. Beside a headland's passes the strips' crop counts as standing while
    it is planted or harvested: planting does the headland last, and harvest first.

    Args:
        routes: in the order of their jobs.
        blocks: the field's blocks, by index.
        headland: its polygons, on the local plane.
        days: when each planting and harvest happens, by operation and crop, as far as known.
    """
    stands = standing_at([route.job for route in routes], days)
    ground = _Ground(blocks, headland)
    return [_beside(route, names, ground) for route, names in zip(routes, stands, strict=True)]


def _beside(route: Route, stands: frozenset[str], ground: "_Ground") -> Beside:
    edge = route.place == HEADLAND
    at = Spot.of(route.line).replaced(edge, Spot.on_longest_side(route.line[edge]))
    own = set(crops_of(route.job)) if route.job.does in {"plant", "harvest"} else set()
    sides = {}
    for side in (1, -1):
        found = np.full(len(route), "", dtype=object)
        bare = np.ones(len(route), dtype=bool)
        for block, swept in enumerate(ground.blocks):
            those = np.flatnonzero((route.place == "strips") & (route.block == block))
            if len(those):
                found[those], bare[those] = _by_rows(route, those, side, swept, stands, at)
        points = at.aside(side * (route.width_m / 2 + PROBE_M))[bare]
        found[bare] = ground.under(points, stands | own)
        if own and edge.any():
            found[edge & _worked(route, at.aside(side * (route.width_m / 2 + PROBE_M)))] = ""
        sides[side] = found
    return Beside(sides[1], sides[-1])


def _worked(route: Route, points: Floats) -> Bools:
    """Tell of points beside passes of a headland whether nothing stands there for the job itself.

    Harvest has cut what an earlier pass went over; planting has not sown what a later one will.
    """
    around = np.flatnonzero(route.place == HEADLAND)
    swaths = shapely.buffer(route.line[around], route.width_m / 2, cap_style="flat")
    which, swath = shapely.STRtree(swaths).query(shapely.points(points), predicate="intersects")
    other = around[swath]
    found = np.zeros(len(route), dtype=bool)
    found[which[other > which if route.job.does == "plant" else other < which]] = True
    return found


def _by_rows(
    route: Route, those: Integers, side: int, swept: Swept, stands: frozenset[str], at: Spot
) -> tuple[Geometries, Bools]:
    """Give the nearest standing row's crop on one side, and where no row lies there at all."""
    path, rows, section = swept.path, swept.pieces.rows, swept.section
    ways = OnPath.of(route.line[those], at.point[those], at.way[those], path)
    toward = side * ways.left
    edge_m = ways.across_m + toward * route.width_m / 2
    low_m = np.where(toward > 0, edge_m - WIDTH_M, edge_m - BESIDE_M)
    pair, row = pairs_between(rows.across_m, low_m, low_m + BESIDE_M + WIDTH_M)
    along = ways.place[pair]
    there = np.zeros(len(pair), dtype=bool)
    for turn in ways.turns:  # round a ring's north
        there |= (rows.begin[row] <= along + turn) & (along + turn <= rows.end[row])
    pair, row = pair[there], row[there]
    gap_m = np.abs(rows.across_m[row] - edge_m[pair])
    label = np.array([one.label for one in section.rows], dtype=object)[rows.kind[row]]
    own = np.isin(label.astype(str), crops_of(route.job)) & (route.job.does in {"plant", "harvest"})
    up = ~own & np.isin(label.astype(str), list(stands))
    first = _nearest(pair, gap_m, own)
    here = ways.place[pair[first]]
    done = ways.worked_before(pair[first], rows.across_m[row[first]], here, here, route.width_m / 2)
    up[first] = done if route.job.does == "plant" else ~done
    found = np.full(len(those), "", dtype=object)
    nearest = _nearest(pair, gap_m, up)
    found[pair[nearest]] = label[nearest]
    bare = np.ones(len(those), dtype=bool)
    bare[pair] = False
    return found, bare


def _nearest(pair: Integers, gap_m: Floats, those: Bools) -> Integers:
    """Give the index of the nearest of some pairs for each pass that has one."""
    chosen = np.flatnonzero(those)
    chosen = chosen[np.lexsort((gap_m[chosen], pair[chosen]))]
    return chosen[np.flatnonzero(np.diff(pair[chosen], prepend=-1))]


class _Ground:
    """Ground of strips and headland, to be looked at where no row lies."""

    def __init__(self, blocks: Sequence[Swept], headland: Geometries) -> None:
        self.blocks = blocks
        self._headland = headland

    @cached_property
    def _pieces(self) -> tuple[shapely.STRtree, list[tuple[str, ...]]]:
        """Every piece of strip and of headland, and what each may grow; nothing: headland."""
        areas = [block.path.back(block.pieces.strips.polygon) for block in self.blocks]
        grown = [
            tuple(dict.fromkeys(row.label for row in block.section.rows if row.strip == kind))
            for block in self.blocks
            for kind in block.pieces.strips.kind.tolist()
        ]
        tree = shapely.STRtree(np.concatenate([*areas, self._headland]))
        return tree, [*grown, *[()] * len(self._headland)]

    def under(self, points: Floats, stands: Container[str]) -> Geometries:
        """Name what stands at points: the crop of a strip, headland, or nothing."""
        found = np.full(len(points), "", dtype=object)
        if not len(points):
            return found
        tree, grown = self._pieces
        which, piece = tree.query(shapely.points(points), predicate="intersects")
        for index, number in zip(which.tolist(), piece.tolist(), strict=True):
            labels = grown[number]
            up = [label for label in labels if label in stands]
            found[index] = found[index] or (up[0] if up else "" if labels else HEADLAND)
        return found
