"""Fold what is known of ground at every y by the width of a set: all offsets of a set at once.

A set that begins at y meets the ground again at y + W, y + 2 W and so on. What a level of the set
finds there, added up over all sets, depends only on y modulo W. Between the levels of vertices the
number of chords is constant, their length linear and the area below quadratic in y, so the sums are
polynomials that change only where a vertex is passed.

A pass over the band from level a to level b is as many runs as the ground in the band has pieces.
Upwards from a these are the chords at a, and what begins above it, less what joins: totals that run
along y, so that the runs are what a sees plus what b sees. (A piece with a hole counts nothing:
that is Euler's characteristic. `striplay.geometry.holes` tells which do.) A run reaches over all
that its piece does: half the chords at a and b, and half the way that the ends shift between them,
again a running total. That is exact where an end shifts one way within the band, and an upper bound
where it goes to and fro.

Several grounds are folded at once, each by itself: one turned several ways, for a call costs much
the same for one as for eight.
"""

from collections.abc import Sequence  # noqa: TC003 - beside others
from dataclasses import dataclass, fields, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.geometry.slabs import Slabs, one_above_the_other
from striplay.tolerances import OFFSET_STEP_M, ON_STEP, THIN_M, TOUCH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


BEGIN_RUNS, END_RUNS, BEGIN_M, END_M, BELOW_M2, SHIFT = range(6)
"""What is known of a level. For the band from level a to level b that a machine pass takes, `BEGIN`
at a and `END` at b add up to how much of it there is: its runs, and their length in meters. Then
the area below the level, and how fast ends shift there steadily, in meters per meter across."""


@dataclass(frozen=True)
class Folded:
    """Sums over all sets, by level of the set.

    Attributes:
        sums: of each kind and ground, at 0, 1, 2 ... steps above a set's first edge,
            (6, grounds, steps).
        total: what each is more a whole set further up, (6, grounds).
    """

    sums: Floats
    total: Floats

    def at(self, kind: int, levels: Integers) -> Floats:
        """Give the sums of the first ground at some levels, in steps from a set's edge, (k,)."""
        turn, level = np.divmod(levels, self.sums.shape[-1])
        return np.asarray(self.sums[kind, 0, level] + turn * self.total[kind, 0])

    def seen(self, kind: int, levels: Integers) -> Floats:
        """Give what levels see, the first set 0, 1 ... steps outside, (k, grounds, steps)."""
        sums, total = self.sums[kind], self.total[kind][:, None]
        grounds, steps = sums.shape
        backward = np.empty((grounds, 2 * steps))  # of this set, and of the one before
        backward[:, :steps] = sums[:, ::-1]
        np.subtract(backward[:, :steps], total, out=backward[:, steps:])
        found = np.empty((len(levels), grounds, steps))
        for row, level in enumerate(levels.tolist()):
            turn, place = divmod(level, steps)
            found[row] = backward[:, steps - 1 - place : 2 * steps - 1 - place]
            if turn:
                found[row] += turn * total
        return found


@dataclass(frozen=True)
class Profile:
    """Grounds by level, and above each level up to the next; nothing above a ground's last.

    Attributes:
        level_m: levels of vertices, ascending, ground by ground, (n,).
        begun: pieces that begin up to each level, less pieces that join, (n,).
        varied_m: way that ends have shifted up to each level, (n,).
        below_m2: area below each level, (n,).
        chords: number of chords above each level, (n,).
        length_m: their length at the level, added up, (n,).
        slope: how fast that grows, (n,).
        shift: how fast their ends shift, added up, (n,).
        steady: the same, but for what changes within a step at most, as at a side that lies along
            the rows, (n,).
        first: index of each ground's first level, and n, (grounds + 1,).
    """

    level_m: Floats
    begun: Floats
    varied_m: Floats
    below_m2: Floats
    chords: Floats
    length_m: Floats
    slope: Floats
    shift: Floats
    steady: Floats
    first: Integers

    def __len__(self) -> int:
        """Count the grounds."""
        return len(self.first) - 1

    def some(self, which: Integers) -> "Profile":
        """Give some of the grounds, by number."""
        levels, first = levels_of(self.first, which)
        return replace(
            self, **{name: getattr(self, name)[levels] for name in _BY_LEVEL}, first=first
        )

    @staticmethod
    def joined(profiles: "Sequence[Profile]") -> "Profile":
        """Put the grounds of several together, in order."""
        counts = np.concatenate([np.diff(one.first) for one in profiles])
        each = {name: np.concatenate([getattr(o, name) for o in profiles]) for name in _BY_LEVEL}
        return replace(profiles[0], **each, first=np.append(0, np.cumsum(counts)))

    @property
    def bare(self) -> npt.NDArray[np.bool_]:
        """Whether each ground has no levels between which it lies, (grounds,)."""
        return np.diff(self.first) < 2  # noqa: PLR2004 - one level has no ground above it

    def ends_m(self) -> tuple[Floats, Floats]:
        """Give each ground's first and last level; 0 where there is none, (grounds,) each."""
        if not len(self.level_m):
            return np.zeros(len(self)), np.zeros(len(self))
        some = np.diff(self.first) > 0
        low_m = np.where(some, self.level_m[np.where(some, self.first[:-1], 0)], 0.0)
        return low_m, np.where(some, self.level_m[np.where(some, self.first[1:] - 1, 0)], 0.0)

    def at(self, level_m: Floats, *, nearly: bool = False) -> Floats:
        """Give what is known of some levels, of each ground its own, (6, grounds, k).

        Args:
            level_m: the levels, (grounds, k).
            nearly: whether a level may be a micrometer off, which is quicker.
        """
        if not len(self.level_m):
            return np.zeros((6, *level_m.shape))
        stretch = np.empty(level_m.shape, dtype=np.int64)
        if nearly:
            span_m = max(np.ptp(self.level_m), np.ptp(level_m)) * 2 + 1.0
            shift_m = np.arange(len(self)) * span_m
            stacked = self.level_m + np.repeat(shift_m, np.diff(self.first))
            stretch[:] = np.searchsorted(stacked, level_m + shift_m[:, None], side="right")
            stretch -= self.first[:-1, None]
        else:
            for ground, (begin, end) in enumerate(pairwise(self.first.tolist())):
                own = self.level_m[begin:end]
                stretch[ground] = np.searchsorted(own, level_m[ground], side="right")
        under = stretch == 0
        stretch += self.first[:-1, None] - 1
        above_m = level_m - self.level_m[stretch]
        slope, begun = self.slope[stretch], self.begun[stretch]
        length_m = self.length_m[stretch] + slope * above_m
        varied_m = self.varied_m[stretch] + self.shift[stretch] * above_m
        found = np.empty((6, *level_m.shape))
        found[0], found[1] = self.chords[stretch] - begun, begun
        found[2], found[3] = (length_m - varied_m) / 2, (length_m + varied_m) / 2
        found[4] = self.below_m2[stretch] + (length_m - slope * above_m / 2) * above_m
        found[5] = self.steady[stretch]
        if under.any():
            found[:, under] = 0.0
        return found


_BY_LEVEL = tuple(one.name for one in fields(Profile) if one.name != "first")


def levels_of(first: Integers, which: Integers) -> tuple[Integers, Integers]:
    """Give which levels some grounds have, and index of each one's first of them, and their count.

    Args:
        first: index of each ground's first level, and how many there are, (grounds + 1,).
        which: grounds by number, (k,).
    """
    counts = np.diff(first)[which]
    begins = np.append(0, np.cumsum(counts))
    shift = np.repeat(first[which] - begins[:-1], counts)
    return np.arange(begins[-1]) + shift, begins


@dataclass(frozen=True)
class Whole:
    """Grounds summed across, from their first level to their last, (grounds,) each.

    Attributes:
        chords_m: the number of chords.
        pieces: pieces less holes.
        shift_m: how far their ends shift.
        steady_m: the same, but for what changes within a step at most.
    """

    chords_m: Floats
    pieces: Floats
    shift_m: Floats
    steady_m: Floats


def summed(profile: Profile) -> Whole:
    """Sum grounds across."""
    if not len(profile.level_m):
        return Whole(*np.zeros((4, len(profile))))
    some = np.diff(profile.first) > 0
    last = np.where(some, profile.first[1:] - 1, 0)
    height_m = np.diff(profile.level_m, append=0.0)
    height_m[last[some]] = 0.0
    sums = np.zeros((2, len(height_m) + 1))
    np.cumsum([profile.chords * height_m, profile.steady * height_m], axis=1, out=sums[:, 1:])
    chords_m, steady_m = np.diff(sums[:, profile.first], axis=1)
    pieces, shift_m = some * profile.begun[last], some * profile.varied_m[last]
    return Whole(chords_m, pieces, shift_m, steady_m)


def fold(profile: Profile, step_m: float, steps: int) -> Folded:
    """Fold grounds by a set that begins at level 0.

    Args:
        profile: the grounds by level; nothing below 0.
        step_m: distance between levels of the set.
        steps: steps to the set.
    """
    if not len(profile.level_m):
        return Folded(np.zeros((6, len(profile), steps)), np.zeros((6, len(profile))))
    begun, varied, below = profile.begun, profile.varied_m, profile.below_m2
    pieces = _pieces(profile, step_m, steps)
    stretch, back = pieces.stretch, pieces.back
    rise, value = profile.slope[stretch] * step_m, profile.length_m[stretch]
    sharp = profile.shift[stretch] * step_m
    added = pieces.add_up(
        profile.chords[stretch] - begun[stretch],
        begun[stretch],
        value - rise * back,
        rise,
        varied[stretch] - sharp * back,
        sharp,
        below[stretch] - (value - rise / 2 * back) * step_m * back,
    )
    step = np.arange(steps)
    length, vary = (added[2:6:2] + step * added[3:6:2]) / 2
    sums = np.empty((6, len(profile), steps))
    sums[[BEGIN_RUNS, END_RUNS]] = added[:2]
    np.subtract(length, vary, out=sums[BEGIN_M])
    np.add(length, vary, out=sums[END_M])
    # area grows by the length of chords
    sums[BELOW_M2] = added[6] + step * (added[2] + step / 2 * added[3]) * step_m
    np.divide(added[5], step_m, out=sums[SHIFT])
    sudden = (profile.shift - profile.steady)[stretch]
    for piece in np.flatnonzero((sudden > 0.0) & (pieces.begin < pieces.finish)):
        own = sums[SHIFT, pieces.ground[piece]]
        own[pieces.begin[piece] : pieces.finish[piece]] -= sudden[piece]
    some = np.diff(profile.first) > 0
    last = np.where(some, profile.first[1:] - 1, 0)
    begun, half_vary, below = (
        np.where(some, values[last], 0.0) for values in (begun, varied / 2, below)
    )
    return Folded(
        sums, np.array([-begun, begun, -half_vary, half_vary, below, np.zeros(len(some))])
    )


def profile_of(slabs: Slabs, first_m: Floats | float) -> Profile:
    """Put together what lies at the same level.

    Args:
        slabs: the grounds in trapezoids.
        first_m: y of level 0; of each ground its own, (grounds,), where there are several.
    """
    from_m = np.atleast_1d(np.asarray(first_m, dtype=np.float64))
    sides, ground = np.concatenate([slabs.low_m, slabs.high_m]), np.tile(slabs.ground, 2)
    stacked = one_above_the_other(sides, ground)
    order = np.argsort(stacked, kind="stable")  # quick, as sides come in few ascending runs
    stacked = stacked[order]
    new = np.append(True, stacked[1:] - stacked[:-1] > THIN_M)[: len(sides)]
    one_of = order[new]
    levels, of_level = sides[one_of] - from_m[ground[one_of]], ground[one_of]
    place = np.empty(len(sides), dtype=np.int64)
    place[order] = np.cumsum(new) - 1
    begin, finish = place[: len(slabs.low_m)], place[len(slabs.low_m) :]
    real = begin < finish
    begin, finish = begin[real], finish[real]
    low, high = levels[begin], levels[finish]
    _, _, low_x, high_x, low_length, high_length = (values[real] for values in slabs)
    left_slope = (high_x - low_x) / (high - low)
    slope = (high_length - low_length) / (high - low)
    count = len(levels)
    first = np.searchsorted(of_level, np.arange(len(from_m) + 1))
    last = np.append(of_level[1:] != of_level[:-1], True)[:count]

    def running(values: Floats, *, before: bool = False) -> Floats:
        """Add up each ground's from below, each level's own included or not."""
        sums = np.append(0.0, np.cumsum(values))
        return np.asarray((sums[:-1] if before else sums[1:]) - sums[first[of_level]])

    def above(values: Floats) -> Floats:
        jumps = np.bincount(begin, values, count) - np.bincount(finish, values, count)
        return running(jumps.astype(np.float64))

    slopes = above(slope)
    length = np.maximum(above(low_length - slope * low) + slopes * levels, 0.0)
    shift = np.maximum(above(np.abs(left_slope) + np.abs(left_slope + slope)), 0.0)
    chords = np.rint(above(np.ones(len(low))))
    for values in (slopes, length, shift, chords):
        values[last] = 0.0
    height = np.append(np.diff(levels), 0.0)[:count]
    height[last] = 0.0
    top_length = length + slopes * height
    leaps = np.abs(length - np.append(0.0, top_length)[:count])  # nothing tops a ground's last
    touching = _touching(
        np.concatenate([begin, finish]),
        np.concatenate([low_x, high_x]),
        np.concatenate([low_length, high_length]),
        count,
    )
    begun = touching - np.bincount(finish, minlength=count)
    return Profile(
        level_m=levels,
        begun=running(begun),
        varied_m=running(leaps) + running(shift * height, before=True),
        below_m2=running((length + top_length) / 2 * height, before=True),
        chords=chords,
        length_m=length,
        slope=slopes,
        shift=shift,
        steady=np.where(~last & (height < OFFSET_STEP_M), 0.0, shift),
        first=first,
    )


def _touching(level: Integers, x_m: Floats, length_m: Floats, count: int) -> Floats:
    """Count, level by level, what hangs together of the sides of trapezoids there."""
    if not len(x_m):
        return np.zeros(count)
    far_m = 1.0 + np.ptp(x_m) + length_m.max() + TOUCH_M
    start = level * far_m + x_m
    order = np.argsort(start, kind="stable")
    start = start[order]
    reach = np.maximum.accumulate(start + length_m[order] + TOUCH_M)
    alone = np.append(True, start[1:] > reach[:-1])
    return np.bincount(level[order][alone], minlength=count).astype(np.float64)


@dataclass(frozen=True)
class _Pieces:
    """Stretches between levels cut at the sets' edges.

    Attributes:
        stretch: index of the stretch; the last of a ground is all above its last level, (n,).
        ground: number of the ground each is of, (n,).
        begin: first step of its set at which the piece holds, (n,).
        finish: the step from which it holds no more, (n,).
        back: step, counted from its set's edge, at which the stretch begins; perhaps below 0, (n,).
        grounds: how many grounds there are.
        steps: steps to the set.
    """

    stretch: Integers
    ground: Integers
    begin: Integers
    finish: Integers
    back: Floats
    grounds: int
    steps: int

    def add_up(self, *values: Floats) -> Floats:
        """Add up some values over all sets, at every step of a set, (k, grounds, steps)."""
        size = self.steps + 1
        own = size * (self.ground + self.grounds * np.arange(len(values))[:, None])
        value = np.concatenate(values)
        jumps = np.bincount(
            np.concatenate([(own + self.begin).ravel(), (own + self.finish).ravel()]),
            np.concatenate([value, -value]),
            len(values) * self.grounds * size,
        ).reshape(len(values), self.grounds, size)
        return np.cumsum(jumps[..., :-1], axis=-1)


def _pieces(profile: Profile, step_m: float, steps: int) -> _Pieces:
    levels, set_m = profile.level_m, steps * step_m
    of_level = np.repeat(np.arange(len(profile)), np.diff(profile.first))
    sets = np.floor(profile.ends_m()[1] / set_m) + 1
    ends = np.append(levels[1:], 0.0)
    last = np.append(of_level[1:] != of_level[:-1], True)
    ends[last] = (sets * set_m)[of_level[last]]
    first = np.floor(levels / set_m).astype(np.int64)
    until = np.maximum(np.ceil(ends / set_m).astype(np.int64) - 1, first)
    count = until - first + 1
    stretch = np.repeat(np.arange(len(levels)), count)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(count) - count, count) + first[stretch]
    edge_m = number * set_m
    begin_m = np.clip(levels[stretch] - edge_m, 0.0, set_m)
    finish_m = np.clip(ends[stretch] - edge_m, 0.0, set_m)
    return _Pieces(
        stretch,
        of_level[stretch],
        np.ceil(begin_m / step_m - ON_STEP).astype(np.int64),
        np.ceil(finish_m / step_m - ON_STEP).astype(np.int64),
        (levels[stretch] - edge_m) / step_m,
        len(profile),
        steps,
    )
