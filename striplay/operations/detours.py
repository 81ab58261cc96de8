"""Lead a machine round what the usual way between passes would run over.

The usual way turns onto the ring at one distance from its pass. Where it runs over standing crop,
an obstacle or out of the field, as about a corner, the machine may turn onto the ring, and off it,
at many places, faced along it or nearly so; the way that costs least is taken.
"""

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.turns import Turns, shortest_forward
from striplay.operations.turn_room import Room, unit_ahead
from striplay.operations.ways import SENSES, Ways
from striplay.tolerances import LENGTH_M, TOUCH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

REACH_RADII = np.arange(-10.0, 10.25, 0.5)
"""How far from its pass, in radii along the ring, a machine may turn onto it (our choice)."""
OVER_WORTH = 10.0
"""A meter over standing crop counts as so many more driven (our choice)."""
OFF_WORTH = 40.0
"""So many more does one out of the field or over an obstacle: a fence, a ditch or a pond."""


@dataclass(frozen=True)
class Detour:
    """A way drawn, from the end of a pass to the beginning of another, or to the gate.

    Attributes:
        line: as driven.
        length_m: how long it is.
        cost_m: the same, and what it runs over as so much more.
    """

    line: shapely.LineString
    length_m: float
    cost_m: float


@dataclass(frozen=True)
class _Legs:
    """Ways to turn from an end of a pass onto its ring, k of them.

    Attributes:
        turns: each as driven.
        length_m: how long each is, (k,).
        at_m: how far along the ring it gets onto it, (k,).
        sense: whether it goes on along the ring from there (1) or back (-1), (k,).
    """

    turns: Turns
    length_m: Floats
    at_m: Floats
    sense: Integers

    def __len__(self) -> int:
        return len(self.at_m)

    def chosen(self, those: Integers) -> "_Legs":
        """Give some of them."""
        return _Legs(
            self.turns.chosen(those), self.length_m[those], self.at_m[those], self.sense[those]
        )


@dataclass(frozen=True)
class Detours:
    """Ways round what a machine should keep off.

    Attributes:
        ways: the usual ones.
        room: what it may drive on.
        of: those between the ends of passes, where `ways` are between places ahead of them.
    """

    ways: Ways
    room: Room
    of: Ways | None = None
    _along: dict[int, tuple[Floats, Floats]] = field(default_factory=dict, repr=False)
    _ahead: "dict[float, Detours]" = field(default_factory=dict, repr=False)
    _onto: "dict[int, _Legs]" = field(default_factory=dict, repr=False)
    _met: dict[tuple[int, int], tuple[Turns, Turns]] = field(default_factory=dict, repr=False)

    def cost_m(self, lines: Geometries, length_m: Floats) -> Floats:
        """Give what ways cost, in meters driven, (k,)."""
        over_m, off_m = self.room.beside_m(lines), np.zeros(len(lines))
        over = np.flatnonzero(over_m)  # all that is free is land
        off_m[over] = self.room.off_m(lines[over])
        return length_m + OVER_WORTH * over_m + OFF_WORTH * off_m

    def ahead(self, by_m: float) -> "Detours":
        """Give the same of a machine whose turning point lies so far ahead of its tools.

        It turns no sooner than that far beyond a pass, nor any later before the next.
        """
        if not by_m:
            return self
        if by_m not in self._ahead:
            out = self.ways.out.copy()
            out[:, :2] += by_m * unit_ahead(out[:, 2])
            ways = replace(self.ways, out=out)
            self._ahead[by_m] = Detours(ways, self.room, self.ways, self._along)
        return self._ahead[by_m]

    def turn_at_once(self, left: Integers, entered: Integers) -> None:
        """Turn from many nodes at once, rather than from each when the way between is asked for.

        Args:
            left: nodes left, (k,).
            entered: nodes entered from them, (k,).
        """
        self._onto.clear()
        self._met.clear()
        self._turn_onto(np.unique(np.concatenate([left, entered])))
        near = self.ways.is_direct(left, entered)
        pairs = zip(left[near].tolist(), entered[near].tolist(), strict=True)
        self._met.update(zip(pairs, self.ways.rounded(left[near], entered[near]), strict=True))

    def between(
        self, left: int, entered: int, most_m: float = np.inf, worth_m: float = np.inf
    ) -> Detour | None:
        """Give the way from a node left to a node entered that costs least, by their rings.

        Args:
            left: the node left.
            entered: the node entered.
            most_m: how long either way to turn onto the ring may be; None where none is shorter.
            worth_m: what it may cost; None where none costs so little, or a way that costs more.
        """
        if self.of is None:
            return self._between(left, entered, most_m, worth_m)
        first, last = (
            self._straight(self.of.out[node, :2], self.ways.out[node, :2])
            for node in (left, entered)
        )
        way = self._between(left, entered, most_m, worth_m - first.cost_m - last.cost_m)
        if way is None:
            return None
        last = replace(last, line=shapely.reverse(last.line))
        return _joined_on(_joined_on(first, way), last)

    def _between(self, left: int, entered: int, most_m: float, worth_m: float) -> Detour | None:
        by_ring = self._by_ring(left, entered, most_m, worth_m)
        if by_ring is not None:
            worth_m = min(worth_m, by_ring.cost_m)
        meeting = self._meeting(left, entered, most_m, worth_m)
        if by_ring is None or meeting is None:
            return meeting or by_ring
        return by_ring if by_ring.cost_m < meeting.cost_m else meeting

    def _by_ring(self, left: int, entered: int, most_m: float, worth_m: float) -> Detour | None:
        """Give the best way that follows the ring, or one over to another ring."""
        ways = self.ways
        ring, other = int(ways.ring[left]), int(ways.ring[entered])
        there, back = self._legs(left, most_m), self._legs(entered, most_m)
        if not (len(there) and len(back)):
            return None
        if ring != other:
            return _joined(
                self._to_place(there, ring, float(ways.rings.bridge_m[ring, other])),
                self._to_place(back, other, float(ways.rings.bridge_m[other, ring])),
                self,
            )
        along_m, cost_m = self._stretches(
            ring, there.at_m[:, None], back.at_m[None, :], there.sense[:, None]
        )
        cost_m[there.sense[:, None] == back.sense] = np.inf  # of the one that is driven back
        least_m = (cost_m + back.length_m).T
        cost_m = cost_m + self._costs_m(there.turns, least_m, worth_m)[:, None]
        cost_m = cost_m + self._costs_m(back.turns, cost_m, worth_m, known=True)
        one, two = (int(at) for at in np.unravel_index(int(np.argmin(cost_m)), cost_m.shape))
        if not np.isfinite(cost_m[one, two]):
            return None
        length_m = float(along_m[one, two])
        stretch = ways.rings.stretch(
            ring, float(there.at_m[one]), float(there.sense[one]) * length_m
        )
        line = _line(_drawn(there.turns, one), stretch, shapely.reverse(_drawn(back.turns, two)))
        length_m += float(there.length_m[one] + back.length_m[two])
        return Detour(line, length_m, float(cost_m[one, two]))

    def _costs_m(
        self, turns: Turns, besides_m: Floats, worth_m: float, *, known: bool = False
    ) -> Floats:
        """Give what turns cost that ways may be made of, the likeliest first, (k,).

        Infinite where no way with that turn can cost so little as it may.

        Args:
            turns: one of each way, (k,).
            besides_m: what the rest of each way costs at least, for every rest, (r, k).
            worth_m: what a way may cost.
            known: whether the rest costs just that; then no more than the best way does, either.
        """
        length_m = turns.length_m
        least_m = besides_m.min(axis=0) + length_m
        cost_m = np.full(len(turns), np.inf)
        order = np.argsort(least_m, kind="stable")
        for begin in range(0, len(order), AT_ONCE):
            those = order[begin : begin + AT_ONCE]
            those = those[least_m[those] <= worth_m + LENGTH_M]
            if not len(those):
                break
            cost_m[those] = self.cost_m(turns.chosen(those).lines(), length_m[those])
            if known:
                worth_m = min(worth_m, float((besides_m[:, those] + cost_m[those]).min()))
        return cost_m

    def to_gate(self, left: int) -> Detour:
        """Give the way from a node left to the gate that costs least."""
        ways = self.ways
        _, gate_at_m, ring = ways.gate_place
        own = int(ways.ring[left])
        gate = shapely.Point(ways.gate_m)
        off = self._straight(*shapely.get_coordinates(self.off_ring()))
        if own == ring:
            by_ring = _joined_on(self._to_place(self._legs(left), ring, gate_at_m), off)
        else:
            there = self._to_place(self._legs(left), own, float(ways.rings.bridge_m[own, ring]))
            begin_m = float(ways.rings.bridge_m[ring, own])
            found = []
            for sense in SENSES:
                along_m, cost_m = self._stretches(
                    ring, np.array([begin_m]), np.array([gate_at_m]), np.array([sense])
                )
                points = ways.rings.stretch(ring, begin_m, sense * float(along_m[0]))
                line = shapely.LineString(points)
                found.append(Detour(line, float(along_m[0]), float(cost_m[0])))
            along = min(found, key=lambda way: way.cost_m)
            bridge = self._straight(_last(there.line), _first(along.line))
            by_ring = _joined_on(_joined_on(_joined_on(there, bridge), along), off)
        if shapely.distance(gate, shapely.Point(ways.out[left, :2])) > NEAR_RADII * ways.radius_m:
            return by_ring
        turns = ways.turns_to(np.array([left]), ways.gate_m[None])
        lines = turns.lines()
        best = self._least(lines, turns.length_m)
        return min(by_ring, best, key=lambda way: way.cost_m)

    def off_ring(self) -> Geometries:
        """Give the straight way from the ring to the gate, (1,)."""
        _, at_m, ring = self.ways.gate_place
        place = self.ways.rings.points(np.array([ring]), np.array([at_m]))[0]
        return np.array([shapely.LineString([place, self.ways.gate_m])])

    def _least(self, lines: Geometries, length_m: Floats) -> Detour:
        """Give the way of several that costs least."""
        cost_m = self.cost_m(lines, length_m)
        best = int(np.argmin(cost_m))
        return Detour(lines[best], float(length_m[best]), float(cost_m[best]))

    def _meeting(self, left: int, entered: int, most_m: float, worth_m: float) -> Detour | None:
        """Give the best way by which near ends meet on the ring between them, where they are."""
        ways = self.ways
        if (left, entered) not in self._met:
            nodes = np.array([left]), np.array([entered])
            if not ways.is_direct(*nodes)[0]:
                return None
            ((there, back),) = ways.rounded(*nodes)
        else:
            there, back = self._met[left, entered]
        length_m = there.length_m + back.length_m
        short = np.flatnonzero(length_m <= min(most_m, worth_m + LENGTH_M))
        if not len(short):
            return None
        there, back, length_m = there.chosen(short), back.chosen(short), length_m[short]
        cost_m = self._costs_m(there, back.length_m[None], worth_m)
        cost_m = cost_m + self._costs_m(back, cost_m[None], worth_m, known=True)
        best = int(np.argmin(cost_m))
        if not np.isfinite(cost_m[best]):
            return None
        line = _line(_drawn(there, best), shapely.reverse(_drawn(back, best)))
        return Detour(line, float(length_m[best]), float(cost_m[best]))

    def _legs(self, node: int, most_m: float = np.inf) -> _Legs:
        """Turn from a node onto its ring, at many places and either way round."""
        if node not in self._onto:
            self._turn_onto(np.array([node]))
        legs = self._onto[node]
        return legs if most_m == np.inf else legs.chosen(np.flatnonzero(legs.length_m <= most_m))

    def _turn_onto(self, nodes: Integers) -> None:
        """Turn from nodes onto their rings."""
        ways = self.ways
        off_m = REACH_RADII * ways.radius_m
        whole_m = ways.rings.length_m[ways.ring[nodes]]
        row, place = np.nonzero(np.abs(off_m) < whole_m[:, None] / 2)
        of, at_m = ways.ring[nodes][row], np.mod(ways.at_m[nodes][row] + off_m[place], whole_m[row])
        poses = np.concatenate([ways.rings.poses(of, at_m, sense) for sense in SENSES])
        begin = np.tile(ways.out[nodes][row], (len(SENSES), 1))
        turns = shortest_forward(begin, poses, ways.radius_m)
        sense = np.repeat(np.array(SENSES), len(at_m))
        legs = _Legs(turns, turns.length_m, np.tile(at_m, len(SENSES)), sense)
        row = np.tile(row, len(SENSES))
        for index, node in enumerate(nodes.tolist()):
            self._onto[node] = legs.chosen(np.flatnonzero(row == index))

    def _to_place(self, legs: _Legs, ring: int, at_m: float) -> Detour:
        """Give the way from a node, by legs of it, to a place so far along its ring."""
        along_m, cost_m = self._stretches(ring, legs.at_m, np.array([at_m]), legs.sense)
        cost_m = cost_m + self._costs_m(legs.turns, cost_m[None], np.inf, known=True)
        best = int(np.argmin(cost_m))
        begin_m, sense = float(legs.at_m[best]), float(legs.sense[best])
        stretch = self.ways.rings.stretch(ring, begin_m, sense * float(along_m[best]))
        line = _line(_drawn(legs.turns, best), stretch)
        return Detour(line, float(along_m[best] + legs.length_m[best]), float(cost_m[best]))

    def _straight(self, begin: Floats, end: Floats) -> Detour:
        """Drive straight from a place to another."""
        line = shapely.LineString([begin, end])
        (cost_m,) = self.cost_m(np.array([line]), np.array([line.length]))
        return Detour(line, float(line.length), float(cost_m))

    def _stretches(
        self, ring: int, begin_m: Floats, end_m: Floats, sense: Integers
    ) -> tuple[Floats, Floats]:
        """Give how long stretches of a ring are, driven one way round, and what they cost."""
        whole_m = float(self.ways.rings.length_m[ring])
        along_m = np.mod(sense * (end_m - begin_m), whole_m)
        along_m = np.where(along_m > whole_m - TOUCH_M, 0.0, along_m)
        low_m = np.mod(np.where(sense > 0, begin_m, begin_m - along_m), whole_m)
        at_m, up_to_m = self._over(ring)

        def over_m(place_m: Floats) -> Floats:
            turns = np.floor(place_m / whole_m)
            once_m = np.interp(place_m - turns * whole_m, at_m, up_to_m)
            return np.asarray(turns * up_to_m[-1] + once_m)

        return along_m, along_m + over_m(low_m + along_m) - over_m(low_m)

    def _over(self, ring: int) -> tuple[Floats, Floats]:
        """Give what a ring costs besides its length from its beginning up to places of it."""
        if ring not in self._along:
            line = self.ways.rings.line[ring]
            at = np.array([0.0, float(line.length)])
            weighed = ((self.room.free.area, OVER_WORTH), (self.room.land.area, OFF_WORTH))
            edges = [_spans(line, ground) for ground, _ in weighed]
            at = np.unique(np.concatenate([at, *(spans.ravel() for spans in edges)]))
            up_to = np.zeros(len(at))
            for (_, worth), spans in zip(weighed, edges, strict=True):
                for begin, end in spans:
                    up_to += worth * np.clip(at - begin, 0.0, end - begin)
            self._along[ring] = at, up_to
        return self._along[ring]


AT_ONCE = 100
"""So many turns are weighed before it is looked whether another can still be worth it."""
NEAR_RADII = 20.0
"""A pass that ends so near the gate may be left for it directly (our choice)."""


def _spans(line: shapely.LineString, ground: shapely.Geometry) -> Floats:
    """Give from where to where a line lies beyond some ground, (n, 2)."""
    parts = shapely.get_parts(shapely.difference(line, ground))
    parts = parts[shapely.length(parts) > 0.0]
    middle = shapely.line_interpolate_point(parts, 0.5, normalized=True)
    at, half = shapely.line_locate_point(line, middle), shapely.length(parts) / 2
    return np.column_stack([at - half, at + half]).reshape(-1, 2)


def _drawn(turns: Turns, index: int) -> shapely.LineString:
    """Draw one of some turns."""
    line: shapely.LineString = turns.chosen(np.array([index])).lines()[0]
    return line


def _line(*parts: shapely.LineString | Floats) -> shapely.LineString:
    """Draw parts that meet as one line, each place once."""
    points = np.concatenate([shapely.get_coordinates(one) if isinstance(one, shapely.Geometry)
                             else one for one in parts])  # fmt: skip
    apart = np.hypot(*np.diff(points, axis=0).T) > TOUCH_M
    kept = np.append(True, apart)
    kept[-1] = True
    return shapely.LineString(points[kept])


def _joined_on(one: Detour, other: Detour) -> Detour:
    """Drive one way, then another that begins where it ends."""
    line = _line(one.line, other.line)
    return Detour(line, one.length_m + other.length_m, one.cost_m + other.cost_m)


def _joined(there: Detour, back: Detour, detours: Detours) -> Detour:
    """Drive there, straight over to where the other way ends, and that way in reverse order."""
    bridge = detours._straight(_last(there.line), _last(back.line))  # noqa: SLF001
    back = Detour(shapely.reverse(back.line), back.length_m, back.cost_m)
    return _joined_on(_joined_on(there, bridge), back)


def _first(line: shapely.LineString) -> Floats:
    return np.array(line.coords[0])


def _last(line: shapely.LineString) -> Floats:
    return np.array(line.coords[-1])
