"""Drive between the ends of passes: how far it is from each to each, and from the gate.

Node 2 i is where pass i begins as drawn, node 2 i + 1 where it ends. Between near ends a machine
drives the shortest way it can turn; to far ones it turns onto the ring, half-way into the headland,
and follows that. From one ring to another it crosses where headland lies between them; where none
does, as from one part of a field to another, the way is no one's to plan: it is told as across.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.directions import headings_deg
from striplay.geometry.inset import mitered
from striplay.geometry.slivers import real_parts
from striplay.geometry.turns import Turns, shortest_forward
from striplay.ground import Ground
from striplay.tolerances import LENGTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

LEG_RADII = 3.0
"""A machine has turned onto the ring so many radii beside its pass, time enough not to circle (our
choice). Ends nearer than two such legs are driven between directly."""
TANGENT_M = 0.1
"""The ring's direction is taken over so much to either side."""
SHORTEST_RING_M = 50.0
"""A shorter ring goes round nothing that machines must drive round, as a pole (our choice)."""
OVER_M = 1.0
"""From ring to ring a machine may cross so much that is no headland, as a corner (our choice)."""
AT_ONCE = 200_000
"""Pairs of poses turned between at once: about 100 MB."""
GATE_HEADINGS_DEG = np.arange(0.0, 360.0, 22.5)
"""Ways a machine may face at the gate, from that of the pass."""
MEETING = np.arange(0.1, 0.95, 0.1)
"""Where on the ring between near ends a machine may turn onto it, as shares of the way."""
MEETING_DEG = np.arange(-67.5, 75.0, 22.5)
"""How it may face there, from the ring's direction: at a corner it faces between two."""
ASIDE = np.array([-0.8, -0.4, 0.0, 0.4, 0.8])
"""How far beside the ring it may be there, in radii."""
QUARTER_TURN_DEG = 90.0
SENSES = (1, -1)
"""On along a ring, and back along it."""
HALF_TURN = np.array([0.0, 0.0, 180.0])
"""Added to a pose, it faces back."""


@dataclass(frozen=True)
class Rings:
    """The ground's rings that machines follow from pass to pass.

    Attributes:
        line: closed lines on the local plane, (r,).
        bridge_m: how far along each the way over to each other one begins, (r, r).
        gap_m: how far that is, infinite where it leaves the headland, (r, r).
    """

    line: Geometries = field(repr=False)
    bridge_m: Floats = field(repr=False)
    gap_m: Floats = field(repr=False)

    @cached_property
    def length_m(self) -> Floats:
        """Length of each, (r,)."""
        return np.asarray(shapely.length(self.line), dtype=np.float64)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The rings, to find the nearest."""
        return shapely.STRtree(self.line)

    def points(self, ring: Integers, at_m: Floats) -> Floats:
        """Give the points so far along rings, (k, 2)."""
        at_m = np.mod(at_m, self.length_m[ring])
        points = shapely.line_interpolate_point(self.line[ring], at_m)
        return np.asarray(shapely.get_coordinates(points), dtype=np.float64)

    def poses(self, ring: Integers, at_m: Floats, sense: int | Integers) -> Floats:
        """Give the poses so far along rings, facing on (sense 1) or back (-1), (k, 3)."""
        before, after = (
            self.points(ring, at_m + by_m) for by_m in (-sense * TANGENT_M, sense * TANGENT_M)
        )
        return np.column_stack([self.points(ring, at_m), headings_deg(after - before)])

    def stretch(self, ring: int, begin_m: float, length_m: float) -> Floats:
        """Give the points of a stretch of a ring; of a length below zero, driven back along it."""
        if length_m < 0.0:
            return self.stretch(ring, begin_m + length_m, -length_m)[::-1]
        vertices = shapely.get_coordinates(self.line[ring])
        whole_m = float(self.length_m[ring])
        places = np.append(0.0, np.cumsum(np.hypot(*np.diff(vertices, axis=0).T)))
        begin_m %= whole_m
        twice = np.concatenate([places[:-1], places + whole_m])
        points = np.concatenate([vertices[:-1], vertices])
        inside = (twice > begin_m + LENGTH_M) & (twice < begin_m + length_m - LENGTH_M)
        ends = self.points(np.array([ring, ring]), np.array([begin_m, begin_m + length_m]))
        return np.concatenate([ends[:1], points[inside], ends[1:]])


def rings_of(ground: Ground, headland: Geometries, width_m: float) -> Rings:
    """Give the rings half-way into a field's headland, and its edge where there is none.

    Small obstacles, which passes stop at, have no ring of their own.

    Args:
        ground: the field.
        headland: its polygons.
        width_m: how wide it is.
    """
    area = ground.rowed
    if len(headland) and width_m > 0.0:
        inner = overlay.difference(ground.rowed, overlay.union_all(headland))
        reached = overlay.intersection(mitered(inner, width_m / 2), ground.rowed)
        area = area if reached.is_empty else reached
    every = np.asarray(shapely.get_rings(real_parts(area)[0]), dtype=object)
    long = shapely.length(every) >= SHORTEST_RING_M
    lines = every[long] if long.any() else every
    return Rings(lines, *_bridged(lines, overlay.union_all(headland)))


def _bridged(lines: Geometries, headland: shapely.Geometry) -> tuple[Floats, Floats]:
    """Give the shortest ways over between rings, as `Rings` has them."""
    links = shapely.shortest_line(lines[:, None], lines[None, :])
    begins = shapely.get_point(links, 0)
    bridge_m = shapely.line_locate_point(lines[:, None], begins)
    gap_m = np.asarray(shapely.length(links), dtype=np.float64)
    over_m = shapely.length(shapely.difference(links, headland))
    return np.asarray(bridge_m), np.where(over_m <= OVER_M, gap_m, np.inf)


@dataclass(frozen=True)
class Ways:
    """Ways between the ends of passes of one machine; nodes as above, m = 2 n of them.

    Attributes:
        rings: what far ends are driven between along.
        out: poses of leaving each node, where a pass ends, (m, 3).
        ring: nearest ring of each, (m,).
        at_m: how far along it each lies, (m,).
        radius_m: the machine's turning radius.
        gate_m: where it comes from and goes to, (2,).
        gate_given: False where no gate was, and the beginning of the first pass is taken.
    """

    rings: Rings = field(repr=False)
    out: Floats = field(repr=False)
    ring: Integers = field(repr=False)
    at_m: Floats = field(repr=False)
    radius_m: float
    gate_m: Floats
    gate_given: bool

    def __len__(self) -> int:
        return len(self.out)

    @property
    def closed(self) -> Bools:
        """Which passes end where they begin, (n,)."""
        return np.asarray((self.out[0::2, :2] == self.out[1::2, :2]).all(axis=1))

    @cached_property
    def between_m(self) -> Floats:
        """How far it is from each node to each, left there and entered here, (m, m).

        As far one way as the other, for a way can be driven back.
        """
        count = len(self)
        between_m = np.empty((count, count))
        step = max(AT_ONCE // max(count, 1), 1)
        for low in range(0, count, step):
            high = min(low + step, count)
            block = self._block_m(low, high)
            between_m[low:high, low:] = block
            between_m[low:, low:high] = block.T
            square = np.triu(block[:, : high - low])
            between_m[low:high, low:high] = square + np.triu(square, 1).T
        return between_m

    def _block_m(self, low: int, high: int) -> Floats:
        """Give how far it is from some nodes to these and all after them, above the diagonal."""
        begin, end = np.arange(low, high)[:, None], np.arange(low, len(self))[None, :]
        direct, by_ring_m = self._along_ring(begin, end)
        block = by_ring_m.min(axis=0)
        row, column = np.nonzero(direct & (end >= begin))
        block[row, column] = self.turns(row + low, column + low).length_m
        return np.asarray(block)

    @cached_property
    def from_m(self) -> Floats:
        """How far it is from the gate to the pass begun at each node, (m,)."""
        off_m, gate_at_m, ring = self.gate_place
        every = np.arange(len(self))
        gate = np.broadcast_to(self.gate_m, (len(self), 2))
        from_m = self._reach_m(every, np.full(len(self), gate_at_m), gate, off_m)
        others = np.flatnonzero(self.ring != ring)
        if len(others):
            begin_m = self.rings.bridge_m[ring, self.ring[others]]
            on_m = np.mod(gate_at_m - begin_m, self.rings.length_m[ring])
            along_m = np.minimum(on_m, self.rings.length_m[ring] - on_m)
            half_m = self.rings.gap_m[ring, self.ring[others]] / 2
            from_m[others] = self._over_m[others, ring] + half_m + along_m + off_m
        those = np.flatnonzero(self.gate_across(every))
        from_m[those] = self._straight_to(those, gate[those]).length_m
        return from_m

    @property
    def to_m(self) -> Floats:
        """How far it is to the gate from the pass ended at each node, (m,): as far as from it."""
        return self.from_m

    def lengths_m(self, left: Integers, entered: Integers) -> Floats:
        """Give how far it is from some nodes left to as many entered, as in `between_m`, (k,)."""
        direct, by_ring_m = self._along_ring(left, entered)
        lengths_m = by_ring_m.min(axis=0)
        lengths_m[direct] = self.turns(left[direct], entered[direct]).length_m
        return np.asarray(lengths_m)

    def among(self, nodes: Integers) -> "Ways":
        """Give the ways between some of the nodes alone."""
        return replace(self, out=self.out[nodes], ring=self.ring[nodes], at_m=self.at_m[nodes])

    def is_direct(self, left: Integers, entered: Integers) -> Bools:
        """Say which nodes are driven between directly: near ones, or where no headland leads."""
        return self._along_ring(left, entered)[0]

    def is_across(self, left: Integers, entered: Integers) -> Bools:
        """Say between which nodes no headland leads."""
        return np.asarray(~np.isfinite(self._gap_m(left, entered)))

    def gate_across(self, nodes: Integers) -> Bools:
        """Say from which nodes no headland leads to the gate."""
        return np.asarray(~np.isfinite(self.rings.gap_m[self.ring[nodes], self.gate_place[2]]))

    def turns(self, left: Integers, entered: Integers) -> Turns:
        """Turn directly, and forward, from nodes left to as many entered."""
        return shortest_forward(self.out[left], self.out[entered] + HALF_TURN, self.radius_m)

    def legs(self, left: Integers, entered: Integers) -> Turns:
        """Give how the machine turns onto the ring at nodes left, on its way to those entered."""
        back = np.argmin(self._along_ring(left, entered)[1], axis=0) == 1
        on, other = (legs.chosen(left) for legs in self._legs)
        return on.or_where(back, other)

    def way(self, left: int, entered: int) -> shapely.LineString:
        """Draw the way from a node left to a node entered, exactly from the one to the other."""
        begin, end = np.array([left]), np.array([entered])
        direct, by_ring_m = self._along_ring(begin, end)
        if direct[0]:
            line: shapely.LineString = self.turns(begin, end).lines()[0]
            return line
        ring, other = int(self.ring[left]), int(self.ring[entered])
        if ring != other:
            there = self._points_to_ring(left, other)
            back = self._points_to_ring(entered, ring)[::-1]
            return shapely.LineString(np.concatenate([there, back]))
        side = int(np.argmin(by_ring_m[:, 0]))
        sense = SENSES[side]
        along_m = float(np.mod(sense * (self.at_m[entered] - self.at_m[left]), self._whole_m[left]))
        from_m = float(self.at_m[left] + sense * self._leg_m)
        stretch = self.rings.stretch(ring, from_m, sense * (along_m - 2 * self._leg_m))
        there = shapely.get_coordinates(self._legs[side].chosen(begin).lines())
        back = shapely.get_coordinates(self._legs[1 - side].chosen(end).lines())[::-1]
        return shapely.LineString(np.concatenate([there, stretch[1:-1], back]))

    def rounded(self, left: Integers, entered: Integers) -> list[tuple[Turns, Turns]]:
        """Give how a machine may turn from pairs of near nodes onto the ring between them.

        Returns:
            For each pair, from the node left, and back from the node entered: as many of either,
            which meet at places between them, on the ring or beside it, faced along it or nearly
            so.
        """
        whole_m = self._whole_m[left]
        on_m = np.mod(self.at_m[entered] - self.at_m[left], whole_m)
        sense = np.where(on_m <= whole_m - on_m, 1, -1)
        by_m = sense * np.minimum(on_m, whole_m - on_m)
        at_m = self.at_m[left][:, None] + by_m[:, None] * MEETING
        ring, ways_round = (np.repeat(one, len(MEETING)) for one in (self.ring[left], sense))
        faced = self.rings.poses(ring, at_m.ravel(), ways_round).reshape(
            len(left), len(MEETING), 1, 3
        )
        aside = np.radians(faced[..., 2] + QUARTER_TURN_DEG)
        aside_m = self.radius_m * np.stack([np.sin(aside), np.cos(aside)], axis=-1)
        there = np.empty((len(left), len(ASIDE), len(MEETING), len(MEETING_DEG), 3))
        there[..., :2] = faced[:, None, ..., :2] + ASIDE[:, None, None, None] * aside_m[:, None]
        there[..., 2] = (faced[..., 2] + MEETING_DEG)[:, None]
        meet = there.reshape(-1, 3)
        each = len(ASIDE) * len(MEETING) * len(MEETING_DEG)
        turned = [
            shortest_forward(np.repeat(self.out[nodes], each, axis=0), poses, self.radius_m)
            for nodes, poses in ((left, meet), (entered, meet + HALF_TURN))
        ]
        places = [np.arange(low, low + each) for low in range(0, len(meet), each)]
        return [(turned[0].chosen(those), turned[1].chosen(those)) for those in places]

    def way_to_gate(self, left: int) -> shapely.LineString:
        """Draw the way from a node left to the gate."""
        off_m, gate_at_m, ring = self.gate_place
        own, node = int(self.ring[left]), np.array([left])
        if self.gate_across(node)[0]:
            line: shapely.LineString = self._straight_to(node, self.gate_m[None]).lines()[0]
            return line
        if own == ring:
            return shapely.LineString(self._points_to(left, gate_at_m, self.gate_m, off_m))
        begin_m = float(self.rings.bridge_m[ring, own])
        whole_m = float(self.rings.length_m[ring])
        along_m = float(np.mod(gate_at_m - begin_m, whole_m))
        along_m -= whole_m if along_m > whole_m / 2 else 0.0
        stretch = self.rings.stretch(ring, begin_m, along_m)
        there = self._points_to_ring(left, ring)
        return shapely.LineString(np.concatenate([there, stretch, self.gate_m[None, :]]))

    def turns_to(self, begin: Integers, place: Floats) -> Turns:
        """Turn from nodes left to a place each, facing there each way that a machine may.

        Returns:
            Those of the first node, then those of the second, and so on.
        """
        count = len(GATE_HEADINGS_DEG)
        out = np.repeat(self.out[begin], count, axis=0)
        facing_deg = out[:, 2] + np.tile(GATE_HEADINGS_DEG, len(begin))
        there = np.column_stack([np.repeat(place, count, axis=0), facing_deg])
        return shortest_forward(out, there, self.radius_m)

    @property
    def _leg_m(self) -> float:
        return LEG_RADII * self.radius_m

    @property
    def _whole_m(self) -> Floats:
        """Length of the ring of each node, (m,)."""
        return self.rings.length_m[self.ring]

    @cached_property
    def _legs(self) -> tuple[Turns, Turns]:
        """How a machine turns onto the ring from each node: on along it, and back along it."""
        on, back = (
            shortest_forward(
                self.out,
                self.rings.poses(self.ring, self.at_m + sense * self._leg_m, sense),
                self.radius_m,
            )
            for sense in SENSES
        )
        return on, back

    @cached_property
    def gate_place(self) -> tuple[float, float, int]:
        """How far off its nearest ring the gate lies, how far along that, and which it is."""
        point = shapely.Point(self.gate_m)
        ring = int(self.rings.tree.nearest(point))
        line = self.rings.line[ring]
        return float(line.distance(point)), float(line.project(point)), ring

    @cached_property
    def _over_m(self) -> Floats:
        """How far it is from each node to half-way over to each ring, (m, r)."""
        over_m = self.rings.gap_m[self.ring] / 2
        for ring in range(len(self.rings.line)):
            those = np.flatnonzero(np.isfinite(over_m[:, ring]) & (self.ring != ring))
            at_m = self.rings.bridge_m[self.ring[those], ring]
            place = self.rings.points(self.ring[those], at_m)
            over_m[those, ring] += self._reach_m(those, at_m, place, 0.0)
        return over_m

    def _gap_m(self, begin: Integers, end: Integers) -> Floats:
        """Give how wide the way over from ring to ring is, infinite where there is none."""
        return np.asarray(self.rings.gap_m[self.ring[begin], self.ring[end]])

    def _along_ring(self, begin: Integers, end: Integers) -> tuple[Bools, Floats]:
        """Say which nodes are driven between directly, and how far it is by the ring.

        Returns:
            Of the shape of both together; the same for either way round, (2, ...).
        """
        whole_m = self._whole_m[begin]
        on_m = np.mod(self.at_m[end] - self.at_m[begin], whole_m)
        back_m = whole_m - on_m
        other = self.ring[begin] != self.ring[end]
        direct = ~other & (np.minimum(on_m, back_m) < 2 * self._leg_m)
        on, back = (legs.length_m - self._leg_m for legs in self._legs)
        by_ring_m = np.stack([on[begin] + on_m + back[end], back[begin] + back_m + on[end]])
        if other.any():
            direct |= other & self.is_across(begin, end)
            over_m = self._over_m[begin, self.ring[end]] + self._over_m[end, self.ring[begin]]
            by_ring_m = np.where(other, over_m, by_ring_m)
        return direct, by_ring_m

    def _ring_to(self, begin: Integers, at_m: Floats) -> tuple[Bools, Floats]:
        """Give the same of nodes and places so far along their rings, (k,) and (2, k)."""
        whole_m = self._whole_m[begin]
        on_m = np.mod(at_m - self.at_m[begin], whole_m)
        back_m = whole_m - on_m
        near = np.minimum(on_m, back_m) < 2 * self._leg_m
        on, back = (legs.length_m[begin] - self._leg_m for legs in self._legs)
        return near, np.stack([on + on_m, back + back_m])

    def _reach_m(self, begin: Integers, at_m: Floats, place: Floats, off_m: float) -> Floats:
        """Give how far it is from nodes to places so far off their rings, (k,)."""
        near, by_ring_m = self._ring_to(begin, at_m)
        reach_m = by_ring_m.min(axis=0) + off_m
        reach_m[near] = self._straight_to(begin[near], place[near]).length_m
        return np.asarray(reach_m)

    def _points_to(self, left: int, at_m: float, place: Floats, off_m: float) -> Floats:
        """Draw the way from a node to a place so far off its ring."""
        node = np.array([left])
        near, by_ring_m = self._ring_to(node, np.array([at_m]))
        if near[0]:
            return np.asarray(shapely.get_coordinates(self._straight_to(node, place[None]).lines()))
        side = int(np.argmin(by_ring_m[:, 0]))
        sense = SENSES[side]
        along_m = float(np.mod(sense * (at_m - self.at_m[left]), self._whole_m[left]))
        from_m = float(self.at_m[left] + sense * self._leg_m)
        stretch = self.rings.stretch(int(self.ring[left]), from_m, sense * (along_m - self._leg_m))
        there = shapely.get_coordinates(self._legs[side].chosen(node).lines())
        off = stretch[1:] if off_m > LENGTH_M else stretch[1:-1]
        return np.concatenate([there, off, place[None, :]])

    def _points_to_ring(self, left: int, ring: int) -> Floats:
        """Draw the way from a node to where the way over to another ring begins."""
        own = self.ring[[left]]
        at_m = self.rings.bridge_m[own, ring]
        return self._points_to(left, float(at_m[0]), self.rings.points(own, at_m)[0], 0.0)

    def _straight_to(self, begin: Integers, place: Floats) -> Turns:
        """Turn from nodes left to places, to face there whichever way is nearest."""
        count = len(GATE_HEADINGS_DEG)
        turns = self.turns_to(begin, place)
        best = turns.length_m.reshape(-1, count).argmin(axis=1)
        return turns.chosen(np.arange(len(begin)) * count + best)


def ways_of(lines: Geometries, radius_m: float, rings: Rings, gate_m: Floats | None = None) -> Ways:
    """Find the ways between the ends of passes.

    Args:
        lines: passes as drawn, each from its beginning to its end, (n,); rings may close.
        radius_m: the machine's turning radius, above zero.
        rings: what it follows between far ends.
        gate_m: where it comes from and goes to, (2,); where None, the beginning of the first pass.
    """
    clean = shapely.remove_repeated_points(lines, LENGTH_M)
    first, second, next_to_last, last = (
        shapely.get_coordinates(shapely.get_point(which, index))
        for which, index in ((lines, 0), (clean, 1), (clean, -2), (lines, -1))
    )
    out = np.empty((2 * len(lines), 3))
    out[0::2] = np.column_stack([first, headings_deg(first - second)])
    out[1::2] = np.column_stack([last, headings_deg(last - next_to_last)])
    points = shapely.points(out[:, :2])
    ring = rings.tree.nearest(points).astype(np.int64)
    at_m = shapely.line_locate_point(rings.line[ring], points)
    gate = gate_m if gate_m is not None else out[0, :2] if len(out) else np.zeros(2)
    return Ways(rings, out, ring, at_m, radius_m, gate, gate_m is not None)
