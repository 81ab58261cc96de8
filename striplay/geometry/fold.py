"""Fold what is known of ground at every y by the width of a set: all offsets of a set at once.

A set that begins at y meets the ground again at y + W, y + 2 W and so on. What a level of the set
finds there, added up over all sets, depends only on y modulo W. Between the levels of vertices the
number of chords is constant, their length linear and the area below quadratic in y, so the sums are
polynomials that change only where a vertex is passed.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.slabs import Slabs

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

THIN_M = 1e-4
"""Levels nearer than a tenth of a millimetre are one: rounding of a turn sets them apart."""
ON_STEP = 1e-9
"""A vertex this near to a step, as a share of it, lies on it."""


@dataclass(frozen=True)
class Folded:
    """Sums over all sets, by level of the set.

    Entry m + i is for the level i steps above a set's first edge, i from -m to m, where m steps
    make a set.

    For the band from level a to level b that a machine pass takes, `begin` at a and `end` at b add
    up to how much of it there is. Where the ground rises or falls steadily between the two, that is
    the greater of what they see; a run that begins and ends between them counts too.

    Attributes:
        begin_chords: for the number of runs, at a band's lower level.
        end_chords: the same at its upper level.
        begin_m: for the length of the runs, at a band's lower level.
        end_m: the same at its upper level.
        below_m2: area below the level.
    """

    begin_chords: Floats
    end_chords: Floats
    begin_m: Floats
    end_m: Floats
    below_m2: Floats


def fold(slabs: Slabs, first_m: float, step_m: float, steps: int) -> Folded:
    """Fold ground by a set.

    The greater of a and b is (a + b + |a - b|) / 2. For |a - b| stands what is gained and lost
    between the two levels in all, which is known at every level as a running total.

    Args:
        slabs: the ground in trapezoids.
        first_m: y at which a set begins; not above the ground.
        step_m: distance between levels.
        steps: steps to the set.
    """
    levels, chords, length, slope = _profile(slabs, first_m)
    if not len(chords):
        nothing = np.zeros(2 * steps + 1)
        return Folded(nothing, nothing, nothing, nothing, nothing)
    height = np.diff(levels)
    top_length = length + slope * height
    leaps = np.abs(np.append(length, 0.0) - np.append(0.0, top_length))
    varied = np.cumsum(leaps) + np.append(0.0, np.cumsum(np.abs(slope) * height))
    events = np.cumsum(np.abs(np.diff(chords, prepend=0.0, append=0.0)))
    below = np.append(0.0, np.cumsum((length + top_length) / 2 * height))

    chords, length, slope = (np.append(values, 0.0) for values in (chords, length, slope))
    pieces = _pieces(levels, step_m, steps)
    stretch, back = pieces.stretch, pieces.back
    rise, value = slope[stretch] * step_m, length[stretch]
    sharp = np.abs(rise)
    area = value * step_m
    added = pieces.add_up(
        chords[stretch],
        events[stretch],
        value - rise * back,
        rise,
        varied[stretch] - sharp * back,
        sharp,
        below[stretch] - area * back + rise * step_m / 2 * back**2,
        area - rise * step_m * back,
        rise * step_m / 2,
    )
    step = np.arange(steps)
    half_chords, half_events = added[0] / 2, added[1] / 2
    half_m, half_varied = (added[2:6:2] + step * added[3:6:2]) / 2
    sums = np.stack(
        [
            half_chords - half_events,
            half_chords + half_events,
            half_m - half_varied,
            half_m + half_varied,
            added[6] + step * (added[7] + step * added[8]),
        ]
    )
    half_event, half_vary = events[-1] / 2, varied[-1] / 2
    total = np.array([[-half_event], [half_event], [-half_vary], [half_vary], [below[-1]]])
    return Folded(*np.concatenate([sums - total, sums, sums[:, :1] + total], axis=1))


def _profile(slabs: Slabs, first_m: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Give levels above `first_m`; between them chords, length at the lower level, and slope."""
    each, place = np.unique(np.concatenate([slabs.low_m, slabs.high_m]), return_inverse=True)
    group = np.cumsum(np.diff(each, prepend=-np.inf) > THIN_M) - 1
    levels = each[np.searchsorted(group, np.arange(group[-1] + 1 if len(group) else 0))] - first_m
    begin, finish = np.split(group[place.reshape(-1)], 2)
    real = begin < finish
    begin, finish = begin[real], finish[real]
    low, high = levels[begin], levels[finish]
    slope = (slabs.high_length_m[real] - slabs.low_length_m[real]) / (high - low)
    count = max(len(levels), 1)

    def between(values: Floats) -> Floats:
        jumps = np.bincount(begin, values, count) - np.bincount(finish, values, count)
        return np.cumsum(jumps)[:-1]

    slopes = between(slope)
    at_zero = between(slabs.low_length_m[real] - slope * low)
    length = np.maximum(at_zero + slopes * levels[:-1], 0.0)
    return levels, np.rint(between(np.ones(len(low)))), length, slopes


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
