"""Turn from pass to pass: each turn as it is driven, the room it needs and the room there is."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.turns import STRAIGHT, Turns, fishtail
from striplay.operations.detours import OFF_WORTH, OVER_WORTH, Detour, Detours
from striplay.operations.route import Links
from striplay.operations.turn_room import OVER_M, SHORT_M, Room, unit_ahead
from striplay.operations.ways import Ways
from striplay.tolerances import LENGTH_M, WIDTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

FLAT, BULB, LOOP = "flat", "bulb", "loop"
FISHTAIL, ALONG, GATE = "fishtail", "along headland", "gate"
WAY, ACROSS = "way", "across"
"""Kinds of turns and ways, as a table and sheets call them."""
LEVEL_M = 1.0
"""Ends that differ by less are level, and either may be the narrower (our choice)."""


@dataclass(frozen=True)
class Turner:
    """What of a machine decides how it turns.

    Attributes:
        name: its name in the plan.
        length_m: from its turning point back to its tools; 0 where not known.
        reversing: whether it can back up at a turn.
    """

    name: str
    length_m: float
    reversing: bool


@dataclass(frozen=True)
class Turning:
    """The turns between passes in the order driven, k = n - 1 of them.

    Attributes:
        kind: flat, bulb, loop, fishtail, along headland or across, (k,).
        line: each as driven, from the end of a pass to the beginning of the next, (k,).
        length_m: (k,).
        reverse_m: how much of it in reverse, (k,).
        depth_m: how far beyond the farther of its ends the machine's turning point goes: the depth
            of the turn and its length back to the tools; 0 where it does not turn back, (k,).
        room_m: how far it may drive straight on there, (k,).
        place_m: that end, (k, 2).
        over_m: how much of the way of the turning point leaves the field or runs over what stands,
            (k,).
        off_m: how much of that leaves the field or runs over what is gone around, (k,).
        judged: False between rounds that close, as about a pivot: there a driver shifts to the next
            wherever there is room; and where no headland leads, for no one plans that way, (k,).
    """

    kind: Geometries
    line: Geometries
    length_m: Floats
    reverse_m: Floats
    depth_m: Floats
    room_m: Floats
    place_m: Floats
    over_m: Floats
    off_m: Floats
    judged: Bools

    def __len__(self) -> int:
        return len(self.line)

    @property
    def lacking_m(self) -> Floats:
        """How much room each lacks, (k,)."""
        return np.asarray(np.maximum(self.depth_m - self.room_m, 0.0))

    @property
    def inside(self) -> Bools:
        """Whether each stays in the field and off what stands, with room for the machine, (k,)."""
        fits = (self.over_m <= OVER_M + WIDTH_M) & (self.lacking_m <= SHORT_M + WIDTH_M)
        return ~self.judged | fits


def turned(ways: Ways, entered: Integers, turner: Turner, room: Room) -> Turning:
    """Turn from each pass to the next: forward where that fits, else by backing up if it can.

    Args:
        ways: between the ends of passes.
        entered: the node at which each pass is entered, in the order driven, (n,).
        turner: the machine.
        room: what it may turn on.
    """
    left, entered = entered[:-1] ^ 1, entered[1:]
    across = ways.is_across(left, entered)
    direct = ways.is_direct(left, entered)
    turns = ways.turns(left, entered)
    kind = _kinds(turns)
    kind[~direct], kind[across] = ALONG, ACROSS
    line = turns.lines()
    for index in np.flatnonzero(~direct):
        line[index] = ways.way(int(left[index]), int(entered[index]))
    ahead_m = np.stack([room.ahead_m(ways.out[nodes]) for nodes in (left, entered)])
    room_m, place_m = _rooms(ways, left, entered, direct, ahead_m)
    depth_m = np.where(direct, _depths_m(turns), _leg_depths_m(ways, left, entered))
    depth_m[across] = 0.0
    driven = _shifted(line, ways.out[left], np.where(direct, turner.length_m, 0.0))
    forward = Turning(
        kind=kind,
        line=line,
        length_m=ways.lengths_m(left, entered),
        reverse_m=np.zeros(len(left)),
        depth_m=depth_m + turner.length_m * (depth_m > 0.0),
        room_m=room_m,
        place_m=place_m,
        over_m=room.over_m(driven),
        off_m=room.off_m(driven),
        judged=~(ways.closed[left // 2] & ways.closed[entered // 2] | across),
    )
    if turner.reversing:
        those = np.flatnonzero(~forward.inside & direct)
        backed = fishtail(turns.begin[those], turns.end[those], ways.radius_m)
        forward = _backed_up(forward, those, backed, turner, room)
    return _led_round(forward, Detours(ways, room), np.stack([left, entered]), ahead_m, turner)


def _rooms(
    ways: Ways, left: Integers, entered: Integers, direct: Bools, ahead_m: Floats
) -> tuple[Floats, Floats]:
    """Give the room at the farther end of each turn, or at the narrower, and where that is."""
    out, (left_m, entered_m) = ways.out, ahead_m
    farther_m = ((out[entered, :2] - out[left, :2]) * unit_ahead(out[left, 2])).sum(axis=1)
    level = ~direct | (np.abs(farther_m) < LEVEL_M)
    at_entered = np.where(level, entered_m < left_m, farther_m > 0.0)
    place_m = out[np.where(at_entered, entered, left), :2]
    return np.where(at_entered, entered_m, left_m), place_m


def _shifted(lines: Geometries, poses: Floats, by_m: Floats) -> Geometries:
    """Move lines so far along the headings of poses: the turning point is ahead of the tools."""
    points, line = shapely.get_coordinates(lines, return_index=True)
    moved = points + (by_m[:, None] * unit_ahead(poses[:, 2]))[line]
    return np.asarray(shapely.linestrings(moved, indices=line), dtype=object)


def _backed_up(
    forward: Turning, those: Integers, turns: Turns, turner: Turner, room: Room
) -> Turning:
    """Put fishtails in the place of some turns, where they run over less or lack less room."""
    line, depth_m = turns.lines(), _depths_m(turns)
    depth_m += turner.length_m * (depth_m > 0.0)
    driven = _shifted(line, turns.begin, np.full(len(line), turner.length_m))
    over_m, off_m = room.over_m(driven), room.off_m(driven)
    lacking_m = np.maximum(depth_m - forward.room_m[those], 0.0)
    worse_m = over_m + lacking_m
    better = worse_m < (forward.over_m + forward.lacking_m)[those] - LENGTH_M
    at, taken = those[better], turns.chosen(better)
    changed = {
        "kind": np.full(len(at), FISHTAIL, dtype=object), "line": line[better],
        "length_m": taken.length_m, "reverse_m": taken.reverse_m,
        "depth_m": depth_m[better], "over_m": over_m[better],
        "off_m": off_m[better],
    }  # fmt: skip
    found = {name: getattr(forward, name).copy() for name in changed}
    for name, values in changed.items():
        found[name][at] = values
    return replace(forward, **found)


def _led_round(
    found: Turning, detours: Detours, ends: Integers, ahead_m: Floats, turner: Turner
) -> Turning:
    """Lead ways round what they run over, where that costs less than to run over it.

    As about the corner of a pond, or of a notch in the field. A turn that a driver knows is given
    up only for a way that is not much longer, and clear or far less costly: rather over some crop
    than through a pond.

    Args:
        found: the turns.
        detours: the ways round.
        ends: the nodes left and entered, (2, k).
        ahead_m: the room ahead of them, (2, k).
        turner: the machine.
    """
    ways, room = detours.ways, detours.room
    those = np.flatnonzero((found.over_m > OVER_M) & (found.kind != ACROSS))
    names = (
        "kind", "line", "length_m", "reverse_m", "depth_m", "room_m", "place_m", "over_m", "off_m",
    )  # fmt: skip
    changed = {name: getattr(found, name).copy() for name in names}
    is_turn = np.isin(found.kind.astype(str), TURN_KINDS)
    tools_m = np.where(is_turn, turner.length_m, 0.0)
    lacking_m = np.where(found.judged, found.lacking_m, 0.0)
    narrower = np.argmin(ahead_m, axis=0)
    has_m = ahead_m.min(axis=0)
    # where there is no room for half a turn, no way stays clear
    hopeless = is_turn & (has_m < ways.radius_m / 2) & (found.off_m <= OVER_M)
    those = those[~hopeless[those]]
    for place, at in enumerate(those.tolist()):
        if place % LED_AT_ONCE == 0:
            next_ = those[place : place + LED_AT_ONCE]
            for by_m in np.unique(tools_m[next_]).tolist():
                left, entered = ends[:, next_[tools_m[next_] == by_m]]
                detours.ahead(by_m).turn_at_once(left, entered)
        node = ends[narrower[at], at]
        was_m = found.length_m[at] + OVER_WORTH * (found.over_m + lacking_m)[at]
        was_m += OFF_WORTH * found.off_m[at]
        depth_m = ways.radius_m + turner.length_m if found.depth_m[at] else 0.0
        lacks_m = max(depth_m - float(has_m[at]), 0.0) if found.judged[at] else 0.0
        most_m = min(was_m, LONGER * found.length_m[at]) if is_turn[at] else was_m
        # a turn that lacks room is not clear, and is given up only for what costs far less
        share = FAR_LESS if is_turn[at] and lacks_m > SHORT_M else 1.0
        way = detours.ahead(float(tools_m[at])).between(
            int(ends[0, at]), int(ends[1, at]), most_m, share * was_m - OVER_WORTH * lacks_m
        )
        if way is None:
            continue
        line = np.array([way.line])
        now_m, over_m = way.cost_m + OVER_WORTH * lacks_m, room.over_m(line)[0]
        clear = over_m <= OVER_M and lacks_m <= SHORT_M
        longer = way.length_m - 2 * tools_m[at] > LONGER * found.length_m[at]
        worth = clear or now_m < FAR_LESS * was_m
        if now_m > was_m - LENGTH_M or (is_turn[at] and (longer or not worth)):
            continue
        values = (
            ALONG, way.line, way.length_m, 0.0, depth_m, has_m[at], ways.out[node, :2], over_m,
            room.off_m(line)[0],
        )  # fmt: skip
        for name, value in zip(names, values, strict=True):
            changed[name][at] = value
    return replace(found, **changed)


LED_AT_ONCE = 50
"""So many ways are turned at once: together they take a fraction of the time, and 3 MB."""
LONGER = 2.0
"""Round a corner by the ring a way may be so many times as long as the turn (our choice)."""
FAR_LESS = 0.5
"""A turn is given up for a way that is not clear if that costs less than so much (our choice)."""
TURN_KINDS = (FLAT, BULB, LOOP, FISHTAIL)
"""Ways between passes that are turns, from one pass into the next."""


def _kinds(turns: Turns) -> Geometries:
    """Say what kind each turn is: of three arcs, with one over half a circle, or neither."""
    half_m = (np.pi + 1e-6) * turns.radius_m[:, None]
    arcs = turns.bend != STRAIGHT
    kind = np.full(len(turns), FLAT, dtype=object)
    kind[(arcs & (turns.piece_m > half_m)).any(axis=1)] = LOOP
    kind[arcs.all(axis=1)] = BULB
    kind[turns.length_m > FAR_RADII * turns.radius_m] = WAY
    return kind


FAR_RADII = 16.0
"""What is so many radii long is no turn but a way across: a whole circle is six (our choice)."""


def _depths_m(turns: Turns) -> Floats:
    """Give how far turns go beyond the farther of their ends, along travel at the first, (k,).

    Nothing where the machine goes on rather than turn back.
    """
    begin, out = turns.begin[:, :2], unit_ahead(turns.begin[:, 2])
    back = (out * unit_ahead(turns.end[:, 2])).sum(axis=1) < 0.0
    farther_m = ((turns.end[:, :2] - begin) * out).sum(axis=1)
    beyond_m = turns.reach_m(begin, turns.begin[:, 2]) - np.maximum(farther_m, 0.0)
    return np.where(back, beyond_m, 0.0)


def _leg_depths_m(ways: Ways, left: Integers, entered: Integers) -> Floats:
    """Give how far a machine must drive out at either end of ways along the headland, (k,).

    A quarter turn takes its radius; beyond that it follows the ring, wherever that leads.
    """
    first_m, last_m = (
        ways.legs(one, other).reach_m(ways.out[one, :2], ways.out[one, 2])
        for one, other in ((left, entered), (entered, left))
    )
    return np.minimum(np.maximum(first_m, last_m), ways.radius_m)


def links_of(turning: Turning, ways: Ways, entered: Integers, room: Room) -> Links:
    """Put the ways from and to the gate before and after the turns; arguments as in `turned`."""
    first, last = int(entered[0]), int(entered[-1]) ^ 1
    detours = Detours(ways, room)
    from_gate, to_gate = (_gate_way(detours, node) for node in (first, last))
    line = np.array([shapely.reverse(from_gate.line), *turning.line, to_gate.line], dtype=object)
    beyond_m = room.beyond_m(line)
    # what lies between the field and a gate beside it is no one's crop
    beyond_m[[0, -1]] = np.maximum(beyond_m[[0, -1]] - room.beyond_m(detours.off_ring()), 0.0)
    return Links(
        line=line,
        length_m=np.array([from_gate.length_m, *turning.length_m, to_gate.length_m]),
        reverse_m=np.concatenate([[0.0], turning.reverse_m, [0.0]]),
        kind=np.concatenate([[GATE], turning.kind, [GATE]]).astype(object),
        beyond_m=beyond_m,
    )


def _gate_way(detours: Detours, node: int) -> Detour:
    """Give the way from a node left to the gate, led round what it would run over."""
    ways, room = detours.ways, detours.room
    line = np.array([ways.way_to_gate(node)])
    length_m = ways.to_m[[node]]
    if ways.gate_across(np.array([node]))[0] or room.over_m(line)[0] <= OVER_M:
        return Detour(line[0], float(length_m[0]), 0.0)
    usual = Detour(line[0], float(length_m[0]), float(detours.cost_m(line, length_m)[0]))
    return min(usual, detours.to_gate(node), key=lambda way: way.cost_m)
