"""Say how little a heading may cost, quickly: what is dearer need not be weighed.

What hangs on the offset is a polynomial of it, from one at which a pass's row passes a vertex to
the next (`striplay.geometry.jumps`), and so is the sum of all parts. Two things are not: runs or
overlap below nothing are taken for nothing, and a small hole within a pass asks for a turn. Both
only add. Left out, they leave a sum that no offset costs less than, and most cost just that.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Profile
from striplay.geometry.jumps import Jumps, Offsets, Side, add_sets, add_side, jumps_of
from striplay.plan.models import Plan
from striplay.search.cost import profiles_of
from striplay.search.prices import Prices
from striplay.search.sides import Sides
from striplay.search.totals import Total, alike, between_parts, total_of
from striplay.search.turned import LandToWeigh, extents, turned
from striplay.section.sets import off_wish
from striplay.tolerances import BOUND_SHARE, ROUNDING_SHARE

Floats = npt.NDArray[np.float64]

OFFSETS_AT_ONCE = 60_000
"""Offsets of all headings reckoned in one call; more leave the processor's own memory."""
EDGES_AT_ONCE = 2_000
"""Edges of the land likewise."""


class Least:
    """Reckons for one plan and set how little headings may cost."""

    def __init__(self, plan: Plan, prices: Prices, sides: Sides, land: LandToWeigh) -> None:
        """Prepare a set once for all headings.

        Args:
            plan: costs and wishes.
            prices: of the set.
            sides: of the set.
            land: any of the grounds to come: what is at the sides costs the same on all.
        """
        self._plan, self._prices, self._sides = plan, prices, sides
        per_m2 = prices.per_m2.sum(axis=0)
        self._joined = land.sides_join
        self._money = total_of(prices, sides, -per_m2, -per_m2 - land.side_per_m2, runs=1.0)
        self._over: list[tuple[float, Total]] = []
        if prices.share_per_m2 > 0.0:
            for crop in np.flatnonzero(~np.isnan(prices.wish)):
                wish, own = prices.wish[crop], prices.crop == crop
                around = float(crop == prices.headland_crop) - wish
                headland = 0.0 if prices.headland_crop is None else around
                joins = headland if self._joined else 0.0
                over = own - wish
                self._over.append((headland, total_of(prices, sides, over, over - joins, runs=0.0)))

    def at(self, grounds: Sequence[LandToWeigh], headings_deg: Sequence[float]) -> list[float]:
        """Give what no offset of each heading costs less than, (n,).

        Args:
            grounds: at each heading.
            headings_deg: degrees clockwise from true north.
        """
        found: list[float] = []
        while len(found) < len(grounds):
            edges = max(len(grounds[len(found)].edges), 1)
            most = min(OFFSETS_AT_ONCE // self._prices.steps, EDGES_AT_ONCE // edges)
            some = slice(len(found), len(found) + max(1, most))
            found += self._at(grounds[some], headings_deg[some]).tolist()
        return found

    def _at(self, grounds: Sequence[LandToWeigh], headings_deg: Sequence[float]) -> Floats:
        plan, prices = self._plan, self._prices
        ways = turned(plan, grounds, headings_deg)
        land, over = profiles_of(ways, ways.bottom_m)
        jumps = _asked(land, over, prices.step_m)
        money, off = self._sum(self._money, jumps, land)
        if self._over:
            each = []
            for headland, one in self._over:
                own_m2, _ = self._sum(one, jumps, land)
                round_m2 = np.array([headland * ground.headland_m2 for ground in grounds])
                each.append(own_m2 + round_m2[:, None])
            money = money + off_wish(each) * prices.share_per_m2
        least = money.min(axis=1) + alike(plan, prices, grounds, headings_deg, ways, (land, over))
        low_m, high_m = extents(ways.planted, len(ways))
        sure = (high_m - low_m) / prices.step_m > self._sides.surely
        least -= np.abs(least) * BOUND_SHARE + off * ROUNDING_SHARE
        return np.where(sure, least, -math.inf)

    def _sum(self, one: Total, jumps: Jumps, land: Profile) -> tuple[Floats, Floats]:
        """Add up at every offset, (grounds, steps); and what rounding is a share of, (grounds,)."""
        into = Offsets(len(land), self._prices.steps)
        off = add_sets(into, jumps, one.levels, one.weight)
        stretches = self._sides.stretches(land)
        for stretch, (outside, weight) in zip(stretches, one.sides, strict=True):
            band = stretch.band
            if stretch.count.any():
                place = (stretch.base, band.way, band.edge, stretch.count)
                add_side(into, jumps, Side(*place, outside, weight))
        sums = into.sums()
        if one.between is not None:
            edges = Offsets(len(land), self._prices.steps)
            more = add_sets(edges, jumps, *between_parts(self._prices.step_m))
            seen = np.fft.rfft(edges.sums(), axis=1)
            sums += np.fft.irfft(seen * one.between, self._prices.steps, axis=1)
            off = off + more * one.between[0].real
        return sums, off


def _asked(land: Profile, over: Profile, step_m: float) -> Jumps:
    """Give the changes of what the sides ask for: what machines run over, then what is planted."""
    own = jumps_of(land, step_m)
    if over is land:
        return own.of([0, 1, 2, 3, 2, 3, 4, 5])
    ran = jumps_of(over, step_m)
    return own.of([None] * 4 + [2, 3, 4, 5]).and_of(ran.of([0, 1, 2, 3] + [None] * 4))
