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
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.slabs import Slabs
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
        sums: of each kind, at 0, 1, 2 ... steps above a set's first edge, (6, steps).
        total: what each is more a whole set further up, (6,).
    """

    sums: Floats
    total: Floats

    def at(self, kind: int, levels: Integers) -> Floats:
        """Give the sums at some levels, in steps from a set's first edge, (k,)."""
        turn, level = np.divmod(levels, self.sums.shape[1])
        return np.asarray(self.sums[kind, level] + turn * self.total[kind])

    def seen(self, kind: int, levels: Integers) -> Floats:
        """Give what levels see, the first set 0, 1, 2 ... steps outside, (k, steps)."""
        steps, total = self.sums.shape[1], float(self.total[kind])
        backward = np.empty(2 * steps)  # of this set, and of the one before
        backward[:steps] = self.sums[kind, ::-1]
        np.subtract(backward[:steps], total, out=backward[steps:])
        found = np.empty((len(levels), steps))
        for row, level in enumerate(levels.tolist()):
            turn, place = divmod(level, steps)
            found[row] = backward[steps - 1 - place : 2 * steps - 1 - place]
            if turn:
                found[row] += turn * total
        return found


@dataclass(frozen=True)
class Profile:
    """Ground by level, and above each level up to the next; nothing above the last.

    Attributes:
        level_m: levels of vertices, ascending, (n,).
        begun: pieces that begin up to each level, less pieces that join, (n,).
        varied_m: way that ends have shifted up to each level, (n,).
        below_m2: area below each level, (n,).
        chords: number of chords above each level, (n,).
        length_m: their length at the level, added up, (n,).
        slope: how fast that grows, (n,).
        shift: how fast their ends shift, added up, (n,).
        steady: the same, but for what changes within a step at most, as at a side that lies along
            the rows, (n,).
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

    def at(self, level_m: Floats) -> Floats:
        """Give what is known of some levels, (6, k)."""
        if not len(self.level_m):
            return np.zeros((6, len(level_m)))
        stretch = np.searchsorted(self.level_m, level_m, side="right") - 1
        under = stretch < 0
        above_m = level_m - self.level_m[stretch]
        slope, begun = self.slope[stretch], self.begun[stretch]
        length_m = self.length_m[stretch] + slope * above_m
        varied_m = self.varied_m[stretch] + self.shift[stretch] * above_m
        found = np.empty((6, len(level_m)))
        found[0], found[1] = self.chords[stretch] - begun, begun
        found[2], found[3] = (length_m - varied_m) / 2, (length_m + varied_m) / 2
        found[4] = self.below_m2[stretch] + (length_m - slope * above_m / 2) * above_m
        found[5] = self.steady[stretch]
        if under.any():
            found[:, under] = 0.0
        return found


def fold(profile: Profile, step_m: float, steps: int) -> Folded:
    """Fold ground by a set that begins at level 0.

    Args:
        profile: the ground by level; none below 0.
        step_m: distance between levels of the set.
        steps: steps to the set.
    """
    if len(profile.level_m) < 2:  # noqa: PLR2004 - one level has no ground above it
        return Folded(np.zeros((6, steps)), np.zeros(6))
    begun, varied, below = profile.begun, profile.varied_m, profile.below_m2
    pieces = _pieces(profile.level_m, step_m, steps)
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
    sums = np.empty((6, steps))
    sums[[BEGIN_RUNS, END_RUNS]] = added[:2]
    np.subtract(length, vary, out=sums[BEGIN_M])
    np.add(length, vary, out=sums[END_M])
    # area grows by the length of chords
    sums[BELOW_M2] = added[6] + step * (added[2] + step / 2 * added[3]) * step_m
    np.divide(added[5], step_m, out=sums[SHIFT])
    sudden = (profile.shift - profile.steady)[stretch]
    for piece in np.flatnonzero((sudden > 0.0) & (pieces.begin < pieces.finish)):
        sums[SHIFT, pieces.begin[piece] : pieces.finish[piece]] -= sudden[piece]
    half_vary = varied[-1] / 2
    return Folded(sums, np.array([-begun[-1], begun[-1], -half_vary, half_vary, below[-1], 0.0]))


def profile_of(slabs: Slabs, first_m: float) -> Profile:
    """Put together what lies at the same level.

    Args:
        slabs: the ground in trapezoids.
        first_m: y of level 0.
    """
    sides = np.concatenate([slabs.low_m, slabs.high_m])
    order = np.argsort(sides, kind="stable")  # quick, as sides come in few ascending runs
    sides = sides[order]
    new = np.append(True, sides[1:] - sides[:-1] > THIN_M)[: len(sides)]
    levels = sides[new] - first_m
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

    def above(values: Floats) -> Floats:
        jumps = np.bincount(begin, values, count) - np.bincount(finish, values, count)
        return np.cumsum(jumps)

    slopes = above(slope)
    length = np.maximum(above(low_length - slope * low) + slopes * levels, 0.0)
    shift = np.maximum(above(np.abs(left_slope) + np.abs(left_slope + slope)), 0.0)
    chords = np.rint(above(np.ones(len(low))))
    for values in (slopes, length, shift, chords):
        values[-1:] = 0.0
    height = np.diff(levels)
    top_length = (length + slopes * np.append(height, 0.0))[:-1]
    leaps = np.abs(length - np.append(0.0, top_length))
    touching = _touching(
        np.concatenate([begin, finish]),
        np.concatenate([low_x, high_x]),
        np.concatenate([low_length, high_length]),
        count,
    )
    begun = touching - np.bincount(finish, minlength=count)
    return Profile(
        level_m=levels,
        begun=np.cumsum(begun),
        varied_m=np.cumsum(leaps) + np.append(0.0, np.cumsum(shift[:-1] * height))[:count],
        below_m2=np.append(0.0, np.cumsum((length[:-1] + top_length) / 2 * height))[:count],
        chords=chords,
        length_m=length,
        slope=slopes,
        shift=shift,
        steady=np.where(np.append(height, np.inf)[:count] < OFFSET_STEP_M, 0.0, shift),
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
        stretch: index of the stretch; the last is all that lies above the last level, (n,).
        begin: first step of its set at which the piece holds, (n,).
        finish: the step from which it holds no more, (n,).
        back: step, counted from its set's edge, at which the stretch begins; perhaps below 0, (n,).
        steps: steps to the set.
    """

    stretch: Integers
    begin: Integers
    finish: Integers
    back: Floats
    steps: int

    def add_up(self, *values: Floats) -> Floats:
        """Add up each of some values over all sets, at every step of a set, (k, steps)."""
        size = self.steps + 1
        own = size * np.arange(len(values))[:, None]
        value = np.concatenate(values)
        jumps = np.bincount((own + self.begin).ravel(), value, own.size * size)
        jumps -= np.bincount((own + self.finish).ravel(), value, own.size * size)
        return np.cumsum(jumps.reshape(-1, size)[:, :-1], axis=1)


def _pieces(levels: Floats, step_m: float, steps: int) -> _Pieces:
    set_m = steps * step_m
    sets = int(np.floor(levels[-1] / set_m)) + 1
    ends = np.append(levels[1:], sets * set_m)
    first = np.floor(levels / set_m).astype(np.int64)
    last = np.maximum(np.ceil(ends / set_m).astype(np.int64) - 1, first)
    count = last - first + 1
    stretch = np.repeat(np.arange(len(levels)), count)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(count) - count, count) + first[stretch]
    edge_m = number * set_m
    begin_m = np.clip(levels[stretch] - edge_m, 0.0, set_m)
    finish_m = np.clip(ends[stretch] - edge_m, 0.0, set_m)
    return _Pieces(
        stretch,
        np.ceil(begin_m / step_m - ON_STEP).astype(np.int64),
        np.ceil(finish_m / step_m - ON_STEP).astype(np.int64),
        (levels[stretch] - edge_m) / step_m,
        steps,
    )
