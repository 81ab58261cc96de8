"""Drive from one pose to another with a machine that turns no tighter than its radius.

A pose is a place and a heading: (east, north, heading), meters and degrees clockwise from north.
Turns are arrays over k pairs of poses; each is a chain of pieces, arcs of the radius and straights.

Sources: L. E. Dubins, On curves of minimal length, Am. J. Math. 79, 497-516, 1957: the shortest way
forward is one of six words of three pieces; S. M. LaValle, Planning Algorithms, 15.3.1; A. M. Shkel
and V. Lumelsky, Classification of the Dubins set, Robot. Auton. Syst. 34, 179-202, 2001. Level
turns as in D. D. Bochtis and S. G. Vougioukas, Biosyst. Eng. 101, 1-12, 2008 (from memory).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.tolerances import LENGTH_M, WIDTH_M

Floats = npt.NDArray[np.float64]
Signs = npt.NDArray[np.int8]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

LEFT, STRAIGHT, RIGHT = 1, 0, -1
"""How a piece bends."""
LETTERS = np.array(["S", "L", "R"])
"""By bend: that of a right turn stands last, where index -1 finds it."""
ACROSS = ((LEFT, LEFT), (RIGHT, RIGHT), (LEFT, RIGHT), (RIGHT, LEFT))
"""First and last bend of the words with a straight between: LSL, RSR, LSR, RSL."""
FULL_RAD = 2 * math.pi
CHORD_M = 0.02
"""A drawn arc lies so near to the one driven: steering errs by more (our choice)."""
WIDEST_CHORD_RAD = 1.0
"""An arc is drawn by chords of no more than this, however coarsely."""
OPPOSITE = math.cos(math.radians(100.0))
"""Ends are set level with each other where their headings differ by more than this."""


@dataclass(frozen=True)
class Turns:
    """Ways driven between pairs of poses, piece by piece.

    Attributes:
        begin: the poses left, (k, 3).
        end: the poses reached, (k, 3).
        bend: 1 for a left arc, 0 for a straight, -1 for a right arc, (k, p).
        piece_m: length of each piece, below zero where it is driven in reverse, (k, p).
        radius_m: of every arc, (k,).
    """

    begin: Floats
    end: Floats
    bend: Signs
    piece_m: Floats
    radius_m: Floats

    def __len__(self) -> int:
        return len(self.begin)

    @property
    def length_m(self) -> Floats:
        """How far each drives, forward and in reverse, (k,)."""
        return np.asarray(np.abs(self.piece_m).sum(axis=1))

    @property
    def reverse_m(self) -> Floats:
        """How far each backs up, (k,)."""
        return np.asarray(-np.minimum(self.piece_m, 0.0).sum(axis=1))

    @property
    def words(self) -> npt.NDArray[np.str_]:
        """The bends of each as letters: L, S and R, (k,)."""
        letters = LETTERS[self.bend]
        return np.asarray(["".join(word) for word in letters], dtype=np.str_)

    def chosen(self, those: npt.NDArray[np.bool_] | Integers) -> "Turns":
        """Give some of them."""
        return Turns(*(getattr(self, one.name)[those] for one in fields(self)))

    def or_where(self, those: npt.NDArray[np.bool_], others: "Turns") -> "Turns":
        """Give these, and some others, of as many pieces, where told, (k,)."""
        both = [(getattr(self, one.name), getattr(others, one.name)) for one in fields(self)]
        return Turns(
            *(
                np.where(those.reshape(-1, *[1] * (mine.ndim - 1)), theirs, mine)
                for mine, theirs in both
            )
        )

    def reach_m(self, from_: Floats, heading_deg: Floats) -> Floats:
        """Give how far each goes beyond a line square to a heading, never below zero, (k,).

        Args:
            from_: a point of each line, (k, 2).
            heading_deg: which way is beyond, (k,).
        """
        ahead_rad = _from_east_rad(heading_deg)
        ahead = _unit(ahead_rad)
        farthest = np.zeros(len(self))
        for place, at_rad, bend, piece_m in self._pieces():
            beyond = ((place - from_) * ahead).sum(axis=1)
            angle_rad = bend * piece_m / self.radius_m
            crest_rad = ahead_rad + bend * math.pi / 2  # where an arc runs square to the heading
            until_rad = np.mod(np.sign(angle_rad) * (crest_rad - at_rad), FULL_RAD)
            crosses = (angle_rad != 0.0) & (until_rad <= np.abs(angle_rad))
            center = place + (bend * self.radius_m)[:, None] * _unit(at_rad + math.pi / 2)
            crest = ((center - from_) * ahead).sum(axis=1) + self.radius_m
            farthest = np.maximum(farthest, np.maximum(beyond, np.where(crosses, crest, beyond)))
        last = ((self.end[:, :2] - from_) * ahead).sum(axis=1)
        return np.asarray(np.maximum(farthest, last))

    def lines(self, error_m: float = CHORD_M) -> Geometries:
        """Draw each from pose to pose, no farther than an error off its arcs, (k,).

        They begin and end exactly on their poses.
        """
        if not len(self):
            return np.empty(0, dtype=object)
        pieces = list(self._pieces())
        place = np.stack([one[0] for one in pieces], axis=1)
        at_rad = np.stack([one[1] for one in pieces], axis=1)
        angle_rad = np.abs(self.bend * self.piece_m) / self.radius_m[:, None]
        flat = 1 - np.minimum(error_m / self.radius_m, 1.0)
        step_rad = np.minimum(2 * np.arccos(flat), WIDEST_CHORD_RAD)
        chords = np.maximum(np.ceil(angle_rad / step_rad[:, None]), 1.0).astype(np.int64)
        chords[np.abs(self.piece_m) < LENGTH_M] = 0
        chords[:, 0] = np.where(chords.any(axis=1), chords[:, 0], 1)
        drawn, count = chords.sum(axis=1), chords.ravel()
        # what a piece's points share stands once; only how far it has turned is theirs
        aside_m = self.bend * self.radius_m[:, None]
        shared = np.stack(
            [
                count,
                np.cumsum(count) - count,
                self.piece_m.ravel(),
                self.bend.ravel(),
                np.repeat(self.radius_m, chords.shape[1]),
                at_rad.ravel(),
                aside_m.ravel(),
                *_unit(at_rad + math.pi / 2).reshape(-1, 2).T,
                *place.reshape(-1, 2).T,
            ]
        )
        of, first, piece_m, bend, radius_m, from_rad, aside, *there = np.repeat(
            shared, count, axis=1
        )
        side, begin = there[:2], there[2:]
        share = (np.arange(len(of)) - first) / of
        turned_rad = from_rad + bend * (share * piece_m) / radius_m + math.pi / 2
        turn = np.repeat(np.arange(len(self)), drawn + 1)
        last = np.cumsum(drawn + 1) - 1
        before = np.delete(np.arange(len(turn)), last)
        points = np.empty((len(turn), 2))
        points[before, 0] = begin[0] + aside * (side[0] - np.cos(turned_rad))
        points[before, 1] = begin[1] + aside * (side[1] - np.sin(turned_rad))
        points[last] = self.end[:, :2]
        points[np.append(0, last[:-1] + 1)] = self.begin[:, :2]
        return np.asarray(shapely.linestrings(points, indices=turn), dtype=object)

    def _pieces(self) -> Iterator[tuple[Floats, Floats, Signs, Floats]]:
        """Give each piece in order: where it begins, facing which way, its bend and its length."""
        place, at_rad = self.begin[:, :2], _from_east_rad(self.begin[:, 2])
        for bend, piece_m in zip(self.bend.T, self.piece_m.T, strict=True):
            yield place, at_rad, bend, piece_m
            place, at_rad = _driven(place, at_rad, bend, piece_m, self.radius_m)


def shortest_forward(begin: Floats, end: Floats, radius_m: Floats | float) -> Turns:
    """Find the shortest way forward between poses: the best of Dubins' six words, three pieces.

    Args:
        begin: the poses left, (k, 3).
        end: the poses to reach, (k, 3).
        radius_m: the least radius, above zero; one, or (k,).

    Raises:
        ValueError: a radius is not above zero.
    """
    radius = _radii(radius_m, len(begin))
    pairs = _Pairs.of(begin, end, radius)
    least_m = np.full(len(begin), np.inf)
    bends = np.zeros((len(begin), 3), dtype=np.int8)
    pieces_m = np.zeros((len(begin), 3))

    def keep(those: Integers, word: tuple[int, int, int], parts: Floats) -> None:
        length_m = parts[0] + parts[1] + parts[2]
        better = length_m < least_m[those]
        at = those[better]
        least_m[at] = length_m[better]
        pieces_m[at] = parts[:, better].T
        bends[at] = word

    every = np.arange(len(begin))
    for first, last in ACROSS:
        keep(every, (first, STRAIGHT, last), _with_straight(pairs, first, last))
    # circles that touch two others of their size lie no farther apart than four radii
    near = np.flatnonzero(np.hypot(*pairs.gap.T) < 6 * radius + WIDTH_M)
    for first in (RIGHT, LEFT):
        keep(near, (first, -first, first), _with_three_arcs(pairs.chosen(near), first))
    return Turns(begin, end, bends, pieces_m, radius)


def fishtail(begin: Floats, end: Floats, radius_m: Floats | float) -> Turns:
    """Find the turn with reversing between poses: an arc forward, straight back, an arc forward.

    Both arcs bend one way, the one that makes it shorter. Between ends that face each other's way
    but are not level the machine drives straight on to the level of the farther first, so that it
    turns on the headland and not over what grows beside the nearer end. Five pieces, the first and
    the last of them these straights.

    Args:
        begin: the poses left, (k, 3).
        end: the poses to reach, (k, 3).
        radius_m: of the arcs, above zero; one, or (k,).

    Raises:
        ValueError: a radius is not above zero.
    """
    radius = _radii(radius_m, len(begin))
    pairs = _Pairs.of(begin, end, radius)
    out, into, gap = _unit(pairs.begin_rad), _unit(pairs.end_rad), pairs.gap
    opposite = (out * into).sum(axis=1) < OPPOSITE
    middle = np.where(opposite[:, None], out - into, out)
    middle = middle / np.hypot(*middle.T)[:, None]
    # on along either heading until both are equally far along the middle of them
    farther_m = np.where(opposite, (gap * middle).sum(axis=1) / (out * middle).sum(axis=1), 0.0)
    on_m, before_m = np.maximum(farther_m, 0.0), np.maximum(-farther_m, 0.0)
    pairs = replace(pairs, gap=gap - on_m[:, None] * out - before_m[:, None] * into)
    least_m = np.full(len(begin), np.inf)
    bends = np.zeros((len(begin), 5), dtype=np.int8)
    pieces_m = np.zeros((len(begin), 5))
    for bend in (LEFT, RIGHT):
        apart = pairs.centers_apart(bend, bend)
        back_m = np.hypot(*apart.T)
        level_off = back_m < WIDTH_M
        back_m = np.where(level_off, 0.0, back_m)
        # the machine faces away from where it backs to
        facing_rad = np.where(level_off, pairs.begin_rad, np.arctan2(-apart[:, 1], -apart[:, 0]))
        near_rad = WIDTH_M / (back_m + radius)
        first_m = radius * _turned_rad(bend * (facing_rad - pairs.begin_rad), near_rad)
        last_m = radius * _turned_rad(bend * (pairs.end_rad - facing_rad), near_rad)
        better = first_m + back_m + last_m < least_m
        parts = np.column_stack([on_m, first_m, -back_m, last_m, before_m])
        least_m = np.where(better, first_m + back_m + last_m, least_m)
        pieces_m[better] = parts[better]
        bends[better] = (STRAIGHT, bend, STRAIGHT, bend, STRAIGHT)
    return Turns(begin, end, bends, pieces_m, radius)


def level_turn_m(
    apart_m: Floats | float, radius_m: Floats | float, *, reversing: bool = False
) -> Floats:
    """Give the length of the least turn into a parallel pass whose end is level with this one's.

    Two radii apart or more it is flat: w + (pi - 2) r. Nearer, the machine swings out: r (pi + 4 a)
    with cos a = (2 r + w) / 4 r; or, when it can back up, makes a fishtail: (pi + 2) r - w.

    Args:
        apart_m: between the passes' middles, w.
        radius_m: the machine's, r, not below zero.
        reversing: whether it can back up at a turn.

    >>> level_turn_m(np.array([10.0, 12.192]), np.array([5.0, 6.0])).round(4)
    array([15.708 , 19.0416])
    >>> level_turn_m(6.096, 6.0).round(4), level_turn_m(6.096, 6.0, reversing=True).round(4)
    (np.float64(36.0495), np.float64(24.7536))
    """
    apart, radius, swing_rad = _level(apart_m, radius_m)
    flat_m = apart + (math.pi - 2) * radius
    near_m = (math.pi + 2) * radius - apart if reversing else radius * (math.pi + 4 * swing_rad)
    return np.asarray(np.where(apart >= 2 * radius, flat_m, near_m))


def level_depth_m(
    apart_m: Floats | float, radius_m: Floats | float, *, reversing: bool = False
) -> Floats:
    """Give how far beyond the ends the machine's turning point goes in that turn.

    One radius in a flat turn and in a fishtail, r + 2 r sin a where the machine swings out;
    arguments as in `level_turn_m`.

    >>> level_depth_m(np.array([6.096, 12.192]), 6.0).round(4)
    array([13.8825,  6.    ])
    """
    apart, radius, swing_rad = _level(apart_m, radius_m)
    if reversing:
        return np.asarray(np.broadcast_to(radius, apart.shape), dtype=np.float64)
    return np.asarray(radius + 2 * radius * np.sin(swing_rad))


def _level(apart_m: Floats | float, radius_m: Floats | float) -> tuple[Floats, Floats, Floats]:
    """Give distances, radii and the angle by which the machine first swings out, of one shape."""
    apart, radius = np.broadcast_arrays(
        np.asarray(apart_m, dtype=np.float64), np.asarray(radius_m, dtype=np.float64)
    )
    near = apart < 2 * radius
    wide = 4 * np.where(near, radius, 1.0)
    return apart, radius, np.arccos(np.where(near, (2 * radius + apart) / wide, 1.0))


def _radii(radius_m: Floats | float, count: int) -> Floats:
    """Give a radius for each pair.

    Raises:
        ValueError: one is not above zero.
    """
    radius = np.broadcast_to(np.asarray(radius_m, dtype=np.float64), (count,))
    if not (radius > 0.0).all():
        msg = "a turning radius is above zero"
        raise ValueError(msg)
    return radius


def _from_east_rad(heading_deg: Floats) -> Floats:
    """Give headings as angles from east, against the clock."""
    return np.asarray(np.radians(90.0 - heading_deg))


def _unit(angle_rad: Floats) -> Floats:
    """Give unit vectors at angles from east, (k, 2)."""
    unit = np.empty((*np.shape(angle_rad), 2))
    np.cos(angle_rad, out=unit[..., 0])
    np.sin(angle_rad, out=unit[..., 1])
    return unit


def _driven(
    place: Floats, at_rad: Floats, bend: Signs, piece_m: Floats, radius: Floats
) -> tuple[Floats, Floats]:
    """Give where pieces end, (k, 2), and the angles they end at."""
    turned_rad = at_rad + bend * piece_m / radius
    # the center lies a radius to the side; a straight has none
    aside = (bend * radius)[:, None] * (
        _unit(at_rad + math.pi / 2) - _unit(turned_rad + math.pi / 2)
    )
    ahead = np.where(bend == STRAIGHT, piece_m, 0.0)[:, None] * _unit(at_rad)
    return place + aside + ahead, turned_rad


def _turned_rad(angle_rad: Floats, near_rad: Floats) -> Floats:
    """Bring angles to 0 up to a full turn; one that misses a full turn by rounding is none.

    Args:
        angle_rad: any angles.
        near_rad: what moves the end of the turn by no more than a micrometer.
    """
    turned = np.mod(angle_rad, FULL_RAD)
    return np.where(FULL_RAD - turned < near_rad, 0.0, turned)


@dataclass(frozen=True)
class _Pairs:
    """Pairs of poses as the words need them.

    Attributes:
        gap: from the pose left to the one reached, (k, 2).
        begin_rad: the angle faced at first, from east, (k,).
        end_rad: at last, (k,).
        begin_side: to the center of a left arc from the pose left, (k, 2).
        end_side: likewise from the pose reached, (k, 2).
        radius_m: (k,).
    """

    gap: Floats
    begin_rad: Floats
    end_rad: Floats
    begin_side: Floats
    end_side: Floats
    radius_m: Floats

    @staticmethod
    def of(begin: Floats, end: Floats, radius: Floats) -> "_Pairs":
        """Take poses."""
        begin_rad, end_rad = _from_east_rad(begin[:, 2]), _from_east_rad(end[:, 2])
        begin_side, end_side = (
            radius[:, None] * _unit(at_rad + math.pi / 2) for at_rad in (begin_rad, end_rad)
        )
        gap = end[:, :2] - begin[:, :2]
        return _Pairs(gap, begin_rad, end_rad, begin_side, end_side, radius)

    def chosen(self, those: Integers) -> "_Pairs":
        """Give some of them."""
        return _Pairs(*(getattr(self, one.name)[those] for one in fields(self)))

    def centers_apart(self, first: int, last: int) -> Floats:
        """Give the vector from the center of the first arc to that of the last, (k, 2)."""
        return self.gap + last * self.end_side - first * self.begin_side


def _with_straight(pairs: _Pairs, first: int, last: int) -> Floats:
    """Give the pieces of an arc, a straight tangent to both circles, and an arc, (3, k).

    Circles of one sense have the tangent of their centers' line; of two senses the one that crosses
    it, which there is where the centers lie two radii apart or more. Infinite where there is none.
    """
    apart, radius = pairs.centers_apart(first, last), pairs.radius_m
    between_m = np.hypot(*apart.T)
    along_rad = np.arctan2(apart[:, 1], apart[:, 0])
    near_rad = WIDTH_M / (between_m + radius)
    if first == last:
        same = between_m < WIDTH_M  # one circle: any tangent does
        along_rad = np.where(same, pairs.begin_rad, along_rad)
        straight_m = np.where(same, 0.0, between_m)
    else:
        # as a product, so that circles that touch have no straight between them by rounding
        straight_m = np.sqrt(np.maximum(between_m - 2 * radius, 0.0) * (between_m + 2 * radius))
        along_rad = along_rad + first * np.arctan2(2 * radius, straight_m)
        straight_m = np.where(between_m < 2 * radius - WIDTH_M, np.inf, straight_m)
    begin_m = radius * _turned_rad(first * (along_rad - pairs.begin_rad), near_rad)
    end_m = radius * _turned_rad(last * (pairs.end_rad - along_rad), near_rad)
    return np.stack([begin_m, straight_m, end_m])


def _with_three_arcs(pairs: _Pairs, first: int) -> Floats:
    """Give the pieces of three arcs of turning sense, (3, k); infinite where there is no such way.

    The middle circle touches both others, so its center stands two radii from theirs, to the side
    on which the middle arc is over half a turn: Dubins shows that the other is never shortest.
    """
    apart, radius = pairs.centers_apart(first, first), pairs.radius_m
    between_m = np.hypot(*apart.T)
    aside_rad = np.arccos(np.minimum(between_m / (4 * radius), 1.0))
    along_rad = np.arctan2(apart[:, 1], apart[:, 0])
    near_rad = WIDTH_M / (between_m + radius)
    half_rad = math.pi / 2
    leaves_rad = along_rad + first * (aside_rad + half_rad)  # facing, where the first arc ends
    joins_rad = along_rad - first * (aside_rad + half_rad)  # and where the last one begins
    begin_m = radius * _turned_rad(first * (leaves_rad - pairs.begin_rad), near_rad)
    middle_m = radius * (math.pi + 2 * aside_rad)
    end_m = radius * _turned_rad(first * (pairs.end_rad - joins_rad), near_rad)
    none = between_m > 4 * radius + WIDTH_M
    return np.stack([begin_m, np.where(none, np.inf, middle_m), end_m])
