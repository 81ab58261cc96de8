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

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

THIN_M = 1e-4
"""Levels nearer than a tenth of a millimetre are one: rounding of a turn sets them apart."""
TOUCH_M = 1e-3
"""Chords a millimetre apart hang together."""
ON_STEP = 1e-9
"""A vertex this near to a step, as a share of it, lies on it."""


@dataclass(frozen=True)
class Folded:
    """Sums over all sets, by level of the set.

    Entry m + i is for the level i steps above a set's first edge, i from -m to m, where m steps
    make a set.

    For the band from level a to level b that a machine pass takes, `begin` at a and `end` at b add
    up to how much of it there is.

    Attributes:
        begin_runs: for the number of runs, at a band's lower level.
        end_runs: the same at its upper level.
        begin_m: for the length of the runs, at a band's lower level.
        end_m: the same at its upper level.
        below_m2: area below the level.
    """

    begin_runs: Floats
    end_runs: Floats
    begin_m: Floats
    end_m: Floats
    below_m2: Floats


def fold(slabs: Slabs, first_m: float, step_m: float, steps: int) -> Folded:
    """Fold ground by a set.

    Args:
        slabs: the ground in trapezoids.
        first_m: y at which a set begins; not above the ground.
        step_m: distance between levels.
        steps: steps to the set.
    """
    profile = _profile(slabs, first_m)
    levels, chords, length, slope, shift = profile.values
    if not len(chords):
        nothing = np.zeros(2 * steps + 1)
        return Folded(nothing, nothing, nothing, nothing, nothing)
    height = np.diff(levels)
    top_length = length + slope * height
    leaps = np.abs(np.append(length, 0.0) - np.append(0.0, top_length))
    varied = np.cumsum(leaps) + np.append(0.0, np.cumsum(shift * height))
    begun = np.cumsum(profile.begun)
    below = np.append(0.0, np.cumsum((length + top_length) / 2 * height))

    chords, length, slope, shift = (
        np.append(values, 0.0) for values in (chords, length, slope, shift)
    )
    pieces = _pieces(levels, step_m, steps)
    stretch, back = pieces.stretch, pieces.back
    rise, value = slope[stretch] * step_m, length[stretch]
    sharp = shift[stretch] * step_m
    area = value * step_m
    added = pieces.add_up(
        chords[stretch] - begun[stretch],
        begun[stretch],
        value - rise * back,
        rise,
        varied[stretch] - sharp * back,
        sharp,
        below[stretch] - area * back + rise * step_m / 2 * back**2,
        area - rise * step_m * back,
        rise * step_m / 2,
    )
    step = np.arange(steps)
    half_m, half_varied = (added[2:6:2] + step * added[3:6:2]) / 2
    sums = np.stack(
        [
            added[0],
            added[1],
            half_m - half_varied,
            half_m + half_varied,
            added[6] + step * (added[7] + step * added[8]),
        ]
    )
    half_vary = varied[-1] / 2
    total = np.array([[-begun[-1]], [begun[-1]], [-half_vary], [half_vary], [below[-1]]])
    return Folded(*np.concatenate([sums - total, sums, sums[:, :1] + total], axis=1))


@dataclass(frozen=True)
class _Profile:
    """Ground by level, and between neighbouring levels.

    Attributes:
        values: levels, (n,); between them, (n - 1,): chords, their length at the lower level, its
            slope, and how fast their ends shift, all added up.
        begun: pieces that begin at each level, less pieces that join, (n,).
    """

    values: tuple[Floats, Floats, Floats, Floats, Floats]
    begun: Floats


def _profile(slabs: Slabs, first_m: float) -> _Profile:
    """Put together what lies at the same level."""
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
    count = max(len(levels), 1)

    def between(values: Floats) -> Floats:
        jumps = np.bincount(begin, values, count) - np.bincount(finish, values, count)
        return np.cumsum(jumps)[:-1]

    slopes = between(slope)
    at_zero = between(low_length - slope * low)
    length = np.maximum(at_zero + slopes * levels[:-1], 0.0)
    shift = np.maximum(between(np.abs(left_slope) + np.abs(left_slope + slope)), 0.0)
    chords = np.rint(between(np.ones(len(low))))
    touching = _touching(
        np.concatenate([begin, finish]),
        np.concatenate([low_x, high_x]),
        np.concatenate([low_length, high_length]),
        count,
    )
    begun = touching - np.bincount(finish, minlength=count)
    return _Profile((levels, chords, length, slopes, shift), begun)


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
