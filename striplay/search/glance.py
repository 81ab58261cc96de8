"""Say how little a heading may cost at a glance, from each vertex alone, and the two sides.

That is looser than `striplay.search.least`, and several times quicker: what is dearer even so needs
no closer look.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import BEGIN_M, BELOW_M2, END_M, Profile
from striplay.geometry.strays import More, Spans, Strays, least_sums, strays_of
from striplay.search.lies import Lies
from striplay.search.prices import Prices
from striplay.search.sides import BEGINS, BELOW, ENDS, SHIFT, UP, Band, Sides
from striplay.search.totals import Total
from striplay.tolerances import BOUND_SHARE, ROUNDING_SHARE

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

RANGES = 6
"""Ranges of how much of a strip lies on land at a side; of each the worst is taken."""
AROUND = 3
"""Steps by which whole steps, a side within one, and what is seen beside an edge may differ."""


@dataclass(frozen=True)
class _LeftOut:
    """What is taken out where a strip or pass is too narrow, by how many steps of it lie on land.

    Attributes:
        way: from which side inward.
        edge: its inner edge, in steps from its set's first.
        steps: between the ranges, (RANGES + 1,).
        turns: price of turns where one piece of land begins at the side and nothing else does, in
            any case for each piece, (2, RANGES).
        per_m: price of a meter by which pieces widen inward, and narrow, (2, RANGES).
    """

    way: int
    edge: int
    steps: Integers
    turns: Floats
    per_m: Floats


@dataclass(frozen=True)
class _Side:
    """Grounds seen from a side.

    Attributes:
        at: level of the side in steps, (grounds,).
        plain: whether one piece of land begins there, and nothing else does, (grounds,).
        pieces: the most that is seen of pieces, (grounds,).
    """

    at: Floats
    plain: npt.NDArray[np.bool_]
    pieces: Floats


class Glance:
    """Reckons for one plan and set how little headings may cost."""

    def __init__(self, prices: Prices, sides: Sides, money: Total, side_per_m2: float) -> None:
        """Prepare a set once for all headings; `money` is what `money_of` says of the others."""
        self._prices, self._sides = prices, sides
        # land left out at a side only adds, and so do shares that are missed
        levels, weight = money.with_parts(prices.step_m)
        self._levels = levels
        self._own, self._ran = np.zeros((2, len(weight), BELOW))
        self._own[:, 2:], self._ran[:, :4] = weight[:, 4:], weight[:, :4]
        self._whole = self._strays(self._own + self._ran)
        self._area_per_m2 = float(prices.per_m2.sum(axis=0).min() + side_per_m2)
        each = zip(sides.bands, money.sides, strict=True)
        self._left_out = [_left_out(band, *one, prices.step_m) for band, one in each]
        self._spans = [_spans(one, prices.steps) for one in self._left_out]
        self._begun = {way: self._plain(way) for way in {one.way for one in self._left_out}}

    def _strays(self, weight: Floats) -> Strays:
        return strays_of(self._levels, weight, self._prices.step_m, self._prices.steps)

    @cached_property
    def _apart(self) -> tuple[Strays, Strays]:
        """Of what is planted, and of what is run over, where those differ."""
        return self._strays(self._own), self._strays(self._ran)

    def _plain(self, way: int) -> Spans:
        """Give how turns stray by one piece at a side: with those left out, and with all.

        Args:
            way: from which side inward.
        """
        strays = self._whole
        alone = strays.low[1] if way == UP else -strays.high[0]
        left = np.zeros(strays.steps)
        for one in self._left_out:
            if one.way == way:
                for (begin, end), price in zip(_ranges(one), one.turns[0], strict=True):
                    places = (one.edge - one.way * np.arange(begin, end)) % strays.steps
                    left[places] = np.minimum(left[places], -price)
        return Spans(np.stack([alone + left, alone]))

    def at(self, lies: Lies) -> Floats:
        """Give what no offset of each heading costs less than, (n,)."""
        if not lies.sure.any():
            return np.full(len(lies), -math.inf)
        more = self._more(lies.land, lies.over)
        if lies.over is lies.land:
            least, off = least_sums(self._whole, lies.land, lies.jumps, more)
        else:
            least, off = least_sums(self._apart[0], lies.land, lies.jumps, more)
            of_runs, also = least_sums(self._apart[1], lies.over, lies.ran, [])
            least, off = least + of_runs, off + also
        least += lies.alike
        least -= np.abs(least) * BOUND_SHARE + off * ROUNDING_SHARE
        return np.where(lies.sure, least, -math.inf)

    def _more(self, land: Profile, over: Profile) -> list[More]:
        """Give what is left out at the sides, at the most."""
        known = {way: self._side(land, over, way) for way in self._begun}
        found = []
        for way, spans in self._begun.items():
            plain = known[way].plain
            found.append(More(spans, known[way].at, np.stack([plain, -1.0 * plain]), together=True))
        measured: dict[tuple[int, bytes], tuple[Floats, ...]] = {}
        for one, spans in zip(self._left_out, self._spans, strict=True):
            side, place = known[one.way], (one.way, one.steps.tobytes())
            if place not in measured:
                measured[place] = self._measured(land, over, one)
            wider_m, narrower_m, area_m2 = measured[place]
            less = one.per_m[0] * wider_m + one.per_m[1] * narrower_m
            less += np.where(side.plain, 0.0, side.pieces)[:, None] * one.turns[1]
            less -= self._area_per_m2 * area_m2  # which is not worked
            found.append(More(spans, side.at, np.maximum(less, 0.0).T))
        return found

    def _measured(self, land: Profile, over: Profile, one: _LeftOut) -> tuple[Floats, ...]:
        """Measure grounds from a side up to where each range ends, and the area to its beginning.

        Returns:
            By how much pieces widen and narrow inward, m, and m2, (grounds, RANGES) each.
        """
        step_m = self._prices.step_m
        low_m, high_m = land.ends_m()
        far_m, near_m = (one.steps[1:] + AROUND) * step_m, (one.steps[:-1] - AROUND) * step_m
        inward_m = np.concatenate([far_m, np.maximum(near_m, 0.0)])
        side_m = (low_m if one.way == UP else high_m)[:, None] + one.way * inward_m
        top_m = high_m[:, None] + step_m
        found = []
        for profile in (land, over) if over is not land else (land,):
            seen = profile.at(np.hstack([side_m, top_m]), nearly=True)
            begins, ends, below_m2 = (seen[kind] for kind in (BEGIN_M, END_M, BELOW_M2))
            if one.way == UP:
                values = ends, -begins, below_m2
            else:
                values = (begins - begins[:, -1:], ends[:, -1:] - ends, below_m2[:, -1:] - below_m2)
            found.append(values)
        wider_m, narrower_m = (
            np.maximum(a, b) for a, b in zip(found[0][:2], found[-1][:2], strict=True)
        )
        area_m2 = found[0][2]
        return wider_m[:, :RANGES], narrower_m[:, :RANGES], area_m2[:, RANGES:-1]

    def _side(self, land: Profile, over: Profile, way: int) -> _Side:
        """Look at one side of grounds, from which way inward."""
        step_m, reach = self._prices.step_m, self._sides.reach + AROUND
        low_m, high_m = land.ends_m()
        of_level = np.repeat(np.arange(len(over)), np.diff(over.first))
        top_m = np.append(over.level_m[1:], 0.0)
        last = np.append(of_level[1:] != of_level[:-1], True)
        top_m[last] = over.level_m[last]
        begun, ended = over.begun, over.chords - over.begun
        if way == UP:
            near = over.level_m <= (low_m + reach * step_m)[of_level]
            plain = (begun == 1) & (ended == 0)
        else:
            near = top_m >= (high_m - reach * step_m)[of_level]
            pieces = np.zeros(len(over))
            pieces[of_level[last]] = begun[last]
            begun, ended = begun - pieces[of_level], ended + pieces[of_level]
            plain = last | (begun == 0) & (ended == 1)
        other, most = np.zeros(len(over)), np.zeros(len(over))
        np.maximum.at(other, of_level[near], ~plain[near])
        np.maximum.at(most, of_level[near], np.maximum(np.abs(begun), np.abs(ended))[near])
        return _Side((low_m if way == UP else high_m) / step_m, other == 0.0, most)


def _left_out(band: Band, outside: Integers, weight: Floats, step_m: float) -> _LeftOut:
    """Say what a strip or pass that is left out takes with it.

    Args:
        band: the strip or pass.
        outside: how far outside its inner edge something is seen, in steps, (k,).
        weight: and what is paid for it, (k, 8).
        step_m: distance between levels.
    """
    outer, inner = (BEGINS, ENDS) if band.way == UP else (ENDS, BEGINS)
    shift = np.abs(weight[:, SHIFT]) / step_m  # no more within a step than up to the next
    each = np.stack(
        [
            -weight[:, inner[0]],
            np.abs(weight[:, [inner[0], outer[0]]]).sum(axis=1),
            np.maximum(-weight[:, inner[1:]], 0.0).sum(axis=1) + shift,
            np.maximum(weight[:, outer[1:]], 0.0).sum(axis=1) + shift,
        ]
    )
    share = np.linspace(0.0, 1.0, RANGES + 1) ** 2  # a side that is pointed widens at once
    steps = np.ceil(share * (math.ceil(band.planted_from) + 2)).astype(np.int64)
    counts = np.arange(-AROUND, steps[-1] + AROUND + 1)
    seen = each @ (outside[:, None] <= counts)
    most = [
        seen[:, begin : end + 2 * AROUND + 1].max(axis=1) for begin, end in pairwise(steps.tolist())
    ]
    found = np.maximum(np.array(most), 0.0).T
    return _LeftOut(band.way, band.edge, steps, found[:2], found[2:])


def _ranges(one: _LeftOut) -> Iterator[tuple[int, int]]:
    """Give from which steps up to which the ranges are, with those a side within one may be at."""
    for begin, end in pairwise(one.steps.tolist()):
        yield begin - 1, end + 2


def _spans(one: _LeftOut, steps: int) -> Spans:
    """Say where a side lies when so much of a strip or pass lies on land: -1 there, else 0."""
    found = np.zeros((RANGES, steps))
    for number, (begin, end) in enumerate(_ranges(one)):
        found[number, (one.edge - one.way * np.arange(begin, end)) % steps] = -1.0
    return Spans(found)
