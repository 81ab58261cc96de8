"""Bound sums over the sets of a section at all offsets, from what each vertex's level does alone.

Upward of a vertex, what levels see of it is a polynomial of how far above it they are (see
`striplay.geometry.jumps`). Added up over the levels z, z + S, z + 2 S ... of all sets up to some
height, powers are Bernoulli polynomials:

    sum of (z + k S)^m = S^m / (m + 1) (B(m + 1, top / S + 1) - B(m + 1, z / S)),  z from 0 below S

(NIST Digital Library of Mathematical Functions, 24.4.9, from memory). The first term
does not know where in its set the vertex lies: of a whole ground it adds up to the mean over all
offsets. The second has period S and no mean, and is known beforehand but for a factor: so much the
sum strays from its mean by that vertex. What leaps there is followed over stretches of offsets;
what grows from there on strays little, and the least of it is taken for all offsets.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from striplay.geometry.fold import (
    BEGIN_M,
    BEGIN_RUNS,
    BELOW_M2,
    END_M,
    END_RUNS,
    SHIFT,
    Profile,
)
from striplay.geometry.jumps import KINDS, Jumps

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

POWERS = 3
"""Of how far a level is above a vertex: none, the first and the second."""
ASKED = (
    (BEGIN_RUNS, 0), (END_RUNS, 0), (BEGIN_M, 0), (END_M, 0), (BEGIN_M, 1), (END_M, 1)
)  # fmt: skip
"""What of the changes at a vertex the others follow from: kind and power."""
LEAPS = 4
"""The first so many of them leap there; the others grow from there on."""
STRETCHES = 128
"""Stretches of offsets looked at; each is bounded as a whole."""
SMALL = 0.01
"""A leap of a centimeter, and of rounding, is not followed."""
FOLLOWED = 1.0
"""Nor is what grows by less from there on, in meters per meter."""
STEEP = 30.0
"""Ends that shift faster, in meters per meter, are taken for leaps beyond that."""


def bernoulli(order: int, x: Floats) -> Floats:
    """Give the Bernoulli polynomial of an order from 0 to 3."""
    if order == 0:
        return np.ones_like(x)
    if order == 1:
        return x - 1 / 2
    if order == 2:  # noqa: PLR2004 - the order
        return (x - 1) * x + 1 / 6
    return ((x - 3 / 2) * x + 1 / 2) * x


def least_within(values: Floats, count: int) -> Floats:
    """Give the least of so many neighbors of each row, (k, n - count + 1)."""
    width = 1
    while 2 * width <= count:
        values = np.minimum(values[:, :-width], values[:, width:])
        width *= 2
    rest = count - width
    return np.minimum(values[:, : values.shape[1] - rest], values[:, rest:])


class Spans:
    """The least of periodic values over each stretch of offsets, wherever one starts."""

    def __init__(self, least: Floats) -> None:
        """Prepare values.

        Args:
            least: over each step of the set, (k, steps).
        """
        self.steps = least.shape[1]
        self.span = -(-self.steps // STRETCHES)
        self.stretches = -(-self.steps // self.span)
        turns = self.steps // self.span + self.stretches + 1
        size = turns * self.span
        touched = np.tile(least, 2)[:, : self.steps + self.span]  # where one starts within a step
        low = least_within(touched, self.span + 1)
        low = np.tile(low, size // self.steps + 1)[:, :size]
        by_rest = low.reshape(len(least), turns, self.span).swapaxes(1, 2)
        self._values, self._turns = len(least), turns
        self._low = sliding_window_view(by_rest.ravel(), self.stretches)

    def of_all(self, place: Integers) -> Floats:
        """Give the least of all values over every stretch of offsets, (k, n, stretches).

        Args:
            place: the step of the set at which a vertex lies at offset 0, (n,).
        """
        values = np.arange(self._values)[:, None]
        return np.asarray(self._low[self._begin(values, place)])

    def sums(self, which: Integers, place: Integers, amount: Floats, first: Integers) -> Floats:
        """Add up the least of some of the values over every stretch, (grounds, stretches).

        Args:
            which: of the values, (n,).
            place: as of `of_all`.
            amount: how many times each, (n,).
            first: index of each ground's first of them, and n, (grounds + 1,).
        """
        begin = self._begin(which, place)
        found = np.empty((len(first) - 1, self.stretches))
        for ground, (one, end) in enumerate(pairwise(first.tolist())):  # each while it is at hand
            np.matmul(amount[one:end], self._low[begin[one:end]], out=found[ground])
        return found

    def _begin(self, which: Integers, place: Integers) -> Integers:
        turn, rest = np.divmod(place, self.span)
        return np.asarray((which * self.span + rest) * self._turns + turn)


@dataclass(frozen=True)
class Strays:
    """How a sum follows from changes, each of `ASKED`.

    Attributes:
        step_m: distance between levels.
        steps: steps to the set.
        mean: what each adds to the mean: of powers of the vertex's level, in sets, (6, 4).
        low: the least that the sum strays by each, by the step of the set at which the vertex lies,
            (6, steps).
        high: the most, likewise.
        spans: the least by each over stretches of offsets, then the least less each.
        steady: what a meter that ends shift by adds to the mean between parts of passes.
        sudden: the most that is paid at a level between parts.
    """

    step_m: float
    steps: int
    mean: Floats
    low: Floats
    high: Floats
    spans: Spans
    steady: float
    sudden: float

    @cached_property
    def least(self) -> Floats:
        """The least of each, wherever the vertex lies, (6,)."""
        return np.asarray(self.low.min(axis=1))

    @cached_property
    def most(self) -> Floats:
        """The most, (6,)."""
        return np.asarray(self.high.max(axis=1))


def strays_of(levels: Integers, weight: Floats, step_m: float, steps: int) -> Strays:
    """Prepare a sum.

    Args:
        levels: in steps from a set's first edge, (k,).
        weight: of each kind at each, (k, kinds).
        step_m: distance between levels.
        steps: steps to the set.
    """
    by_level = np.zeros((KINDS, steps))
    for kind, own in enumerate(weight.T):
        by_level[kind] = np.bincount(levels % steps, own, steps)
    spectrum = np.fft.rfft(by_level, axis=1)
    share = np.arange(steps) / steps
    mean = np.zeros((KINDS, POWERS, POWERS + 1))
    stray = np.zeros((2, KINDS, POWERS, steps))
    for power in range(POWERS):
        order = power + 1
        scale = steps**power / order
        for degree in range(order + 1):
            seen = weight.T @ bernoulli(order - degree, levels / steps + 1.0)
            mean[:, power, degree] = scale * math.comb(order, degree) * (-1) ** degree * seen
        wave = np.conj(np.fft.rfft(scale * bernoulli(order, share)))
        stray[:, :, power] = -np.fft.irfft(spectrum * wave, steps, axis=1)
    stray[1, :, 0] -= by_level  # just above a level it is not seen any more
    at, above = (_asked(one, step_m) for one in stray)
    weighed = np.abs(by_level).sum(axis=1)
    bent = np.array([0.0, 1.0 / (4 * steps), 1 / 8])  # an eighth of the second derivative
    between = _asked(np.outer(weighed, bent)[..., None], step_m)
    low, high = np.minimum(at, above) - between, np.maximum(at, above) + between
    return Strays(
        step_m,
        steps,
        _asked(mean, step_m),
        low,
        high,
        Spans(np.concatenate([low, -high])),
        float(weighed[SHIFT]) / steps / step_m,
        float(by_level[SHIFT].max()),
    )


def _asked(values: Floats, step_m: float) -> Floats:
    """Give what goes with each of `ASKED`, of all kinds and powers, (kinds, powers, ...).

    The area below a level grows by the length of chords, which is what begins and what ends.
    """
    found = np.stack([values[place] for place in ASKED])
    found[2:4] += values[BELOW_M2, 1] * step_m
    found[4:] += values[BELOW_M2, 2] * step_m / 2
    steady = values[SHIFT, 0] / step_m
    found[4] -= steady
    found[5] += steady
    return found


@dataclass(frozen=True)
class More:
    """What else is added, by where one level of each ground lies.

    Attributes:
        spans: the least of each of some values, by the level's place.
        at: the level in steps, (grounds,).
        amount: how many times each of the values, not below 0, (k, grounds).
        together: whether they add up; else there is only one of them at each offset.
    """

    spans: Spans
    at: Floats
    amount: Floats
    together: bool = False


def least_sums(
    strays: Strays, profile: Profile, jumps: Jumps, more: Sequence[More]
) -> tuple[Floats, Floats]:
    """Give what a sum over all sets is at the least, at any offset of each ground, (grounds,).

    Args:
        strays: the sum.
        profile: the grounds by level.
        jumps: what changes at the levels.
        more: what is added to it.

    Returns:
        The least, and the greatest amount that was added up: what rounding is a share of.
    """
    grounds = len(profile)
    changes = np.stack([jumps.change[place] for place in ASKED])
    powers = np.vander(jumps.at / strays.steps, POWERS + 1, increasing=True).T
    mean = changes * (strays.mean @ powers)
    changes[LEAPS:], alike = _gentle(strays, profile, jumps)
    alike += mean.sum(axis=0)
    little = np.array([[SMALL]] * LEAPS + [[FOLLOWED * strays.step_m]] * (len(ASKED) - LEAPS))
    followed = np.abs(changes) > little
    low, high = strays.least[:, None], strays.most[:, None]
    alike += np.where(followed, 0.0, np.minimum(changes * low, changes * high)).sum(axis=0)
    least = np.bincount(jumps.ground, alike, grounds)
    least += _followed(strays, changes, followed, jumps, more, grounds).min(axis=1)
    added = np.bincount(jumps.ground, np.abs(mean).sum(axis=0), grounds)
    return least.astype(np.float64), added.astype(np.float64)


def _gentle(strays: Strays, profile: Profile, jumps: Jumps) -> tuple[Floats, Floats]:
    """Give changes of growth where what is very steep is taken for leaps, spread over a stretch.

    Returns:
        What changes of growth are left at each level, (2, n), and the least by the leaps, (n,).
    """
    begins, ends = profile.first[:-1], profile.first[1:]
    some = begins < ends
    height = np.diff(jumps.at, append=0.0)
    height[ends[some] - 1] = 0.0
    step_m = strays.step_m
    growing = np.stack([profile.shift - profile.slope, profile.shift + profile.slope]) * step_m / 2
    gentle = np.clip(growing, 0.0, STEEP * step_m)
    leapt = (growing - gentle) * height
    change = np.diff(gentle, axis=1, prepend=0.0)
    change[:, begins[some]] = gentle[:, begins[some]]
    change[0] *= -1.0
    found = leapt[1] * strays.least[3] - leapt[0] * strays.most[2]
    found -= (profile.steady > 0.0) * strays.steady * leapt.sum(axis=0)
    # what ends shift by within a step is not paid for between parts, but was just now
    sudden = (profile.steady < profile.shift) * gentle.sum(axis=0)
    found -= sudden * (2 * strays.sudden / step_m)
    return change, found


def _followed(
    strays: Strays,
    changes: Floats,
    followed: npt.NDArray[np.bool_],
    jumps: Jumps,
    more: Sequence[More],
    grounds: int,
) -> Floats:
    """Give the least that a sum strays by some changes, (grounds, stretches)."""
    kind, vertex = np.nonzero(followed)
    order = np.argsort(jumps.ground[vertex], kind="stable")
    kind, vertex = kind[order], vertex[order]
    amount = changes[kind, vertex]
    which = np.where(amount > 0.0, kind, len(ASKED) + kind)
    place = np.floor(jumps.at[vertex]).astype(np.int64) % strays.steps
    first = np.searchsorted(jumps.ground[vertex], np.arange(grounds + 1))
    found = strays.spans.sums(which, place, np.abs(amount), first)
    for one in more:
        place = np.floor(one.at).astype(np.int64) % strays.steps
        values = one.spans.of_all(place)
        values *= one.amount[:, :, None]
        found += values.sum(axis=0) if one.together else values.min(axis=0, initial=0.0)
    return found
