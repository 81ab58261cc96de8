"""Drive between the ends of passes: how far it is from each to each, and from the gate.

Node 2 i is where pass i begins as drawn, node 2 i + 1 where it ends. Between near ends a machine
drives the shortest way it can turn; to far ones it turns onto the ring, half-way into the headland,
and follows that.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.directions import headings_deg
from striplay.geometry.turns import Turns, shortest_forward
from striplay.ground import Ground
from striplay.tolerances import LENGTH_M, MITRE_LIMIT, SLIVER_M2

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
AT_ONCE = 200_000
"""Pairs of poses turned between at once: about 100 MB."""
GATE_HEADINGS_DEG = np.arange(0.0, 360.0, 22.5)
"""Ways a machine may face at the gate, from that of the pass."""
SENSES = (1, -1)
"""On along a ring, and back along it."""
HALF_TURN = np.array([0.0, 0.0, 180.0])
"""Added to a pose, it faces back."""


@dataclass(frozen=True)
class Rings:
    """The ground's rings that machines follow from pass to pass.

    Attributes:
        line: closed lines on the local plane, (r,).
    """

    line: Geometries = field(repr=False)

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

    def poses(self, ring: Integers, at_m: Floats, sense: int) -> Floats:
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
        with np.errstate(divide="ignore", invalid="ignore"):  # at edges in line, of no consequence
            wider = shapely.buffer(inner, width_m / 2, join_style="mitre", mitre_limit=MITRE_LIMIT)
        if not np.isfinite(shapely.get_coordinates(wider)).all():
            wider = shapely.buffer(inner, width_m / 2)
        reached = overlay.intersection(wider, ground.rowed)
        area = area if reached.is_empty else reached
    parts = shapely.get_parts(shapely.get_parts(area))
    parts = parts[shapely.area(parts) > SLIVER_M2]
    every = np.asarray(shapely.get_rings(parts), dtype=object)
    long = shapely.length(every) >= SHORTEST_RING_M
    return Rings(every[long] if long.any() else every)


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
        every = np.arange(len(self))
        direct, by_ring_m = self._ring_to_gate(every)
        from_m = by_ring_m.min(axis=0)
        those = np.flatnonzero(direct)
        from_m[those] = self._direct_to_gate(those).length_m
        return np.asarray(from_m)

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
        """Say which nodes lie so near to each other that they are driven between directly."""
        return self._along_ring(left, entered)[0]

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
        side = int(np.argmin(by_ring_m[:, 0]))
        sense = SENSES[side]
        along_m = float(np.mod(sense * (self.at_m[entered] - self.at_m[left]), self._whole_m[left]))
        from_m = float(self.at_m[left] + sense * self._leg_m)
        stretch = self.rings.stretch(
            int(self.ring[left]), from_m, sense * (along_m - 2 * self._leg_m)
        )
        there = shapely.get_coordinates(self._legs[side].chosen(begin).lines())
        back = shapely.get_coordinates(self._legs[1 - side].chosen(end).lines())[::-1]
        return shapely.LineString(np.concatenate([there, stretch[1:-1], back]))

    def way_to_gate(self, left: int) -> shapely.LineString:
        """Draw the way from a node left to the gate."""
        node = np.array([left])
        direct, by_ring_m = self._ring_to_gate(node)
        if direct[0]:
            line: shapely.LineString = self._direct_to_gate(node).lines()[0]
            return line
        side = int(np.argmin(by_ring_m[:, 0]))
        sense = SENSES[side]
        off_m, gate_at_m, _ = self._gate
        along_m = float(np.mod(sense * (gate_at_m - self.at_m[left]), self._whole_m[left]))
        from_m = float(self.at_m[left] + sense * self._leg_m)
        stretch = self.rings.stretch(int(self.ring[left]), from_m, sense * (along_m - self._leg_m))
        there = shapely.get_coordinates(self._legs[side].chosen(node).lines())
        off = stretch[1:] if off_m > LENGTH_M else stretch[1:-1]
        return shapely.LineString(np.concatenate([there, off, self.gate_m[None, :]]))

    def way_from_gate(self, entered: int) -> shapely.LineString:
        """Draw the way from the gate to a node entered."""
        return shapely.reverse(self.way_to_gate(entered))

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
    def _gate(self) -> tuple[float, float, int]:
        """How far off its nearest ring the gate lies, how far along that, and which it is."""
        point = shapely.Point(self.gate_m)
        ring = int(self.rings.tree.nearest(point))
        line = self.rings.line[ring]
        return float(line.distance(point)), float(line.project(point)), ring

    def _along_ring(self, begin: Integers, end: Integers) -> tuple[Bools, Floats]:
        """Say which nodes are driven between directly, and how far it is by the ring.

        Returns:
            Of the shape of both together; the same for either way round, (2, ...).
        """
        whole_m = self._whole_m[begin]
        on_m = np.mod(self.at_m[end] - self.at_m[begin], whole_m)
        back_m = whole_m - on_m
        direct = self.ring[begin] != self.ring[end]
        direct |= np.minimum(on_m, back_m) < 2 * self._leg_m
        on, back = (legs.length_m - self._leg_m for legs in self._legs)
        return direct, np.stack([on[begin] + on_m + back[end], back[begin] + back_m + on[end]])

    def _ring_to_gate(self, begin: Integers) -> tuple[Bools, Floats]:
        """Give the same of nodes and the gate, (k,) and (2, k)."""
        off_m, gate_at_m, ring = self._gate
        whole_m = self._whole_m[begin]
        on_m = np.mod(gate_at_m - self.at_m[begin], whole_m)
        back_m = whole_m - on_m
        direct = self.ring[begin] != ring
        direct |= np.minimum(on_m, back_m) < 2 * self._leg_m
        on, back = (legs.length_m[begin] - self._leg_m for legs in self._legs)
        return direct, np.stack([on + on_m, back + back_m]) + off_m

    def _direct_to_gate(self, begin: Integers) -> Turns:
        """Turn from nodes left to the gate, to face there whichever way is nearest."""
        count = len(GATE_HEADINGS_DEG)
        out = np.repeat(self.out[begin], count, axis=0)
        facing_deg = out[:, 2] + np.tile(GATE_HEADINGS_DEG, len(begin))
        there = np.column_stack([np.broadcast_to(self.gate_m, (len(out), 2)), facing_deg])
        turns = shortest_forward(out, there, self.radius_m)
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
