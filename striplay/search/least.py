"""Say how little a heading may cost, quickly: what is dearer need not be weighed.

What hangs on the offset is a polynomial of it, from one at which a pass's row passes a vertex to
the next (`striplay.geometry.jumps`), and so is the sum of all parts. Two things are not: runs or
overlap below nothing are taken for nothing, and a small hole within a pass asks for a turn. Both
only add. Left out, they leave a sum that no offset costs less than, and most cost just that.
"""

import math

import numpy as np
import numpy.typing as npt

from striplay.geometry.jumps import Offsets, Side, add_sets, add_side
from striplay.search.lies import Lies
from striplay.search.prices import Prices
from striplay.search.sides import Sides
from striplay.search.totals import Total, between_parts, six_of, total_of
from striplay.section.sets import off_wish
from striplay.tolerances import BOUND_SHARE, ROUNDING_SHARE

Floats = npt.NDArray[np.float64]

OFFSETS_AT_ONCE = 100_000
"""Offsets of all headings reckoned in one call; more leave the processor's own memory."""
LEVELS_AT_ONCE = 2_000
"""Levels of the land likewise."""


class Least:
    """Reckons for one plan and set how little headings may cost."""

    def __init__(self, prices: Prices, sides: Sides, money: Total, *, sides_join: bool) -> None:
        """Prepare a set once for all headings.

        Args:
            prices: of the set.
            sides: of the set.
            money: what `money_of` says of both.
            sides_join: whether sides that no strip is planted on join the headland.
        """
        self._prices, self._sides = prices, sides
        self._joined = sides_join
        self._money = money
        self._over: list[tuple[float, Total]] = []
        if prices.share_per_m2 > 0.0:
            for crop in np.flatnonzero(~np.isnan(prices.wish)):
                wish, own = prices.wish[crop], prices.crop == crop
                around = float(crop == prices.headland_crop) - wish
                headland = 0.0 if prices.headland_crop is None else around
                joins = headland if self._joined else 0.0
                over = own - wish
                self._over.append((headland, total_of(prices, sides, over, over - joins, runs=0.0)))

    def at(self, lies: Lies) -> Floats:
        """Give what no offset of each heading costs less than, (n,)."""
        found: list[Floats] = [np.empty(0)]
        done = 0
        while done < len(lies):
            levels = max(int(lies.land.first[done + 1] - lies.land.first[done]), 1)
            most = min(OFFSETS_AT_ONCE // self._prices.steps, LEVELS_AT_ONCE // levels)
            some = np.arange(done, min(done + max(1, most), len(lies)))
            found.append(self._at(lies.some(some) if len(some) < len(lies) else lies))
            done += len(some)
        return np.concatenate(found)

    def _at(self, lies: Lies) -> Floats:
        money, off = self._sum(self._money, lies)
        if self._over:
            each = []
            for headland, one in self._over:
                own_m2, _ = self._sum(one, lies)
                each.append(own_m2 + headland * lies.headland_m2[:, None])
            money = money + off_wish(each) * self._prices.share_per_m2
        least = money.min(axis=1) + lies.alike
        least -= np.abs(least) * BOUND_SHARE + off * ROUNDING_SHARE
        return np.where(lies.sure, least, -math.inf)

    def _sum(self, one: Total, lies: Lies) -> tuple[Floats, Floats]:
        """Add up at every offset, (grounds, steps); and what rounding is a share of, (grounds,)."""
        step_m, steps = self._prices.step_m, self._prices.steps
        level, beside = between_parts(step_m)
        jumps = lies.jumps
        if lies.over is lies.land:
            one, beside = one.as_one, six_of(beside)
        else:
            jumps = jumps.of([None] * 4 + [2, 3, 4, 5])
            jumps = jumps.and_of(lies.ran.of([0, 1, 2, 3] + [None] * 4))
        into = Offsets(len(lies), steps)
        off = add_sets(into, jumps, one.levels, one.weight)
        stretches = self._sides.stretches(lies.land)
        for stretch, (outside, weight) in zip(stretches, one.sides, strict=True):
            band = stretch.band
            if stretch.count.any():
                place = (stretch.base, band.way, band.edge, stretch.count)
                add_side(into, jumps, Side(*place, outside, weight))
        sums = into.sums()
        if one.between is not None:
            edges = Offsets(len(lies), steps)
            more = add_sets(edges, jumps, level, beside)
            seen = np.fft.rfft(edges.sums(), axis=1)
            sums += np.fft.irfft(seen * one.between, steps, axis=1)
            off = off + more * one.between[0].real
        return sums, off
