"""Measure how much of lines lies beyond some ground, without cutting either.

Going along a line, each edge of the ground that it crosses leads out or back in. A line of length l
that begins outside (o = 1) or inside (o = 0), and crosses edges at s out (+) or in (-), lies beyond
for o l + the sum of +-(l - s): no crossings need sorting, and nothing is overlaid.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.tolerances import LENGTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

LONG_M = 5.0
"""Edges are looked up by where they begin, the short ones apart from the long."""


@dataclass(frozen=True)
class Edged:
    """Ground with its edges, each with the ground on its left.

    Attributes:
        area: the ground, prepared.
        begin: where each edge begins, from west to east, (e, 2).
        end: where it ends, (e, 2).
    """

    area: shapely.Geometry = field(repr=False)
    begin: Floats = field(repr=False)
    end: Floats = field(repr=False)

    @staticmethod
    def of(area: shapely.Geometry) -> "Edged":
        """Take the edges of polygons."""
        shapely.prepare(area)
        rings, part = shapely.get_rings(shapely.get_parts(area), return_index=True)
        hole = np.diff(part, prepend=-1) == 0
        backward = shapely.is_ccw(rings) == hole
        rings[backward] = shapely.reverse(rings[backward])
        points, ring = shapely.get_coordinates(rings, return_index=True)
        same = ring[1:] == ring[:-1]
        begin, end = points[:-1][same], points[1:][same]
        order = np.argsort(np.minimum(begin[:, 0], end[:, 0]))
        return Edged(area, begin[order], end[order])

    @cached_property
    def _boxes(self) -> tuple[Floats, Floats, Floats, Floats]:
        """West, south, east and north of each edge, (e,) each."""
        low, high = np.minimum(self.begin, self.end), np.maximum(self.begin, self.end)
        west, south, east, north = np.ascontiguousarray(np.hstack([low, high]).T)
        return west, south, east, north

    @cached_property
    def long(self) -> Bools:
        """Which edges are long, (e,)."""
        return np.asarray(np.hypot(*(self.end - self.begin).T) > LONG_M)

    def ahead_m(self, begin: Floats, end: Floats) -> Floats:
        """Give how far one can drive straight on from places toward others on the ground, (k,).

        Args:
            begin: where from, (k, 2); nothing from what lies beyond the ground.
            end: where to at most, (k, 2).
        """
        count = len(begin)
        points = np.stack([begin, end], axis=1).reshape(-1, 2)
        crossed, share, _, _ = self._crossings(points, np.arange(0, 2 * count, 2))
        first = np.ones(count)
        np.minimum.at(first, crossed // 2, share)
        inside = shapely.contains_xy(self.area, begin)
        return np.asarray(np.where(inside, first * np.hypot(*(end - begin).T), 0.0))

    def beyond_m(self, lines: Geometries) -> Floats:
        """Give how much of each of some lines lies beyond the ground, (k,).

        Stretches driven twice count twice. A line that runs along an edge, or so through a corner
        that crossings can't be told, is overlaid.
        """
        beyond_m = np.zeros(len(lines))
        out = np.flatnonzero(~np.asarray(shapely.covers(self.area, lines), dtype=bool))
        if len(out):
            beyond_m[out] = self._beyond_m(lines[out])
        return beyond_m

    def _beyond_m(self, lines: Geometries) -> Floats:
        points, line = shapely.get_coordinates(lines, return_index=True)
        first = np.flatnonzero(np.diff(line, prepend=-1))
        last = np.append(first[1:], len(points)) - 1
        ends_out = ~shapely.intersects_xy(self.area, points[[*first, *last]])
        begins_out, ends_out = ends_out[: len(lines)], ends_out[len(lines) :]
        piece = np.flatnonzero(line[1:] == line[:-1])
        piece_m = np.hypot(*(points[piece + 1] - points[piece]).T)
        length_m = np.bincount(line[piece], weights=piece_m, minlength=len(lines))
        from_m = np.zeros(len(points))  # how far along its line each piece begins
        from_m[piece] = np.cumsum(piece_m) - piece_m
        from_m -= from_m[first][line]
        crossed, share, way, flush = self._crossings(points, piece)
        at_m = from_m[crossed] + share * np.hypot(*(points[crossed + 1] - points[crossed]).T)
        of = line[crossed]
        left_m = np.bincount(of, weights=way * (length_m[of] - at_m), minlength=len(lines))
        net = np.bincount(of, weights=way, minlength=len(lines)).astype(np.int64)
        beyond_m = np.clip(begins_out * length_m + left_m, 0.0, length_m)
        unclear = begins_out.astype(np.int64) + net != ends_out
        unclear[line[flush]] = True
        unsure = np.flatnonzero(unclear)
        if len(unsure):
            cut = overlay.difference(lines[unsure], self.area)
            beyond_m[unsure] = shapely.length(cut)
        return np.asarray(beyond_m)

    def _crossings(
        self, points: Floats, piece: Integers
    ) -> tuple[Integers, Floats, Floats, Integers]:
        """Find where pieces of lines cross edges.

        A point on an edge's line counts as on its left, and a corner on a piece's line likewise, so
        that what passes through a shared point is counted once.

        Args:
            points: of all lines, one after the other, (n, 2).
            piece: index of the point where each piece begins, (p,).

        Returns:
            Index of the point where the piece that crosses begins; how far along it that is, as a
            share of it; 1 for out, -1 for in; and index of the point where pieces begin that lie
            along an edge.
        """
        at, step = points[piece], points[piece + 1] - points[piece]
        of, edge = self._near(np.minimum(at, at + step), np.maximum(at, at + step))
        one, along = self.begin[edge], (self.end - self.begin)[edge]
        off = at[of] - one
        before = along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0]
        off = points[piece + 1][of] - one
        after = along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0]
        far = np.maximum(np.abs(before), np.abs(after))
        flush = np.unique(of[far <= LENGTH_M * np.hypot(*along.T)])
        met = np.flatnonzero((before >= 0.0) != (after >= 0.0))
        of, edge, before, after = of[met], edge[met], before[met], after[met]
        first, last = (
            step[of, 0] * (corner[edge, 1] - at[of, 1])
            - step[of, 1] * (corner[edge, 0] - at[of, 0])
            for corner in (self.begin, self.end)
        )
        met = np.flatnonzero((first >= 0.0) != (last >= 0.0))
        share = before[met] / (before[met] - after[met])
        way = np.where(before[met] >= 0.0, 1.0, -1.0)
        return piece[of[met]], share, way, piece[flush]

    def _near(self, low: Floats, high: Floats) -> tuple[Integers, Integers]:
        """Pair boxes with the edges whose boxes meet them.

        Args:
            low: the west and south of each box, (p, 2).
            high: its east and north, (p, 2).
        """
        if not len(low):
            return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
        west, south, east, north = self._boxes
        (low_x, low_y), (high_x, high_y) = low.T, high.T
        last = np.searchsorted(west, high_x.max(), side="right")
        near = np.flatnonzero(east[:last] >= low_x.min())
        near = near[(south[near] <= high_y.max()) & (north[near] >= low_y.min())]
        found = []
        # edges stand from west to east: those that may meet a box are a run, a long one if one of
        # them is long, so that the short ones are looked up apart
        for long in (False, True):
            edges = near[self.long[near] == long]
            if not len(edges):
                continue
            back_m = np.max(east[edges] - west[edges])
            begin = np.searchsorted(west[edges], low_x - back_m)
            count = np.searchsorted(west[edges], high_x, side="right") - begin
            box = np.repeat(np.arange(len(low)), count)
            edge = edges[np.arange(len(box)) + np.repeat(begin - np.cumsum(count) + count, count)]
            meets = (south[edge] <= high_y[box]) & (north[edge] >= low_y[box])
            meets &= east[edge] >= low_x[box]
            found.append((box[meets], edge[meets]))
        if not found:
            return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
        box, edge = (np.concatenate(one) for one in zip(*found, strict=True))
        return box, edge
