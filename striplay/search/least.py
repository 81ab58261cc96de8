"""Say how little a heading may cost, quickly: what is dearer need not be weighed.

What hangs on the offset is a polynomial of it, from one at which a pass's row passes a vertex to
the next (`striplay.geometry.jumps`), and so is the sum of all parts. Two things are not: runs or
overlap below nothing are taken for nothing, and a small hole within a pass asks for a turn. Both
only add. Left out, they leave a sum that no offset costs less than, and most cost just that.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Profile
from striplay.geometry.jumps import Jumps, Offsets, Side, add_sets, add_side, jumps_of
from striplay.plan.models import Plan
from striplay.search.cost import on_lines, preferences, profiles_of
from striplay.search.prices import Prices
from striplay.search.sides import BEGINS, BELOW, ENDS, SHIFT, Sides
from striplay.search.turned import LandToWeigh, extents, turned
from striplay.section.sets import off_wish
from striplay.tolerances import BOUND_SHARE, ROUNDING_SHARE

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
Integers = npt.NDArray[np.int64]

OFFSETS_AT_ONCE = 60_000
"""Offsets of all headings reckoned in one call; more leave the processor's own memory."""
EDGES_AT_ONCE = 2_000
"""Edges of the land likewise."""


@dataclass(frozen=True)
class _Sum:
    """A sum over all passes or strips of a set, by what it asks of the levels of ground.

    Attributes:
        levels: in steps from the set's first edge, (n,).
        weight: of each of what `striplay.search.sides` asks a profile for, at each, (n, 8).
        between: the price of edges between parts of passes by level of the set, as its Fourier
            transform, for there are very many of them; None where none is priced.
        sides: for each band of the sides, how far outside it is asked, and the weights there.
    """

    levels: Integers
    weight: Floats
    between: Complexes | None
    sides: tuple[tuple[Integers, Floats], ...]


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
        self._money = _sum(prices, sides, -per_m2, -per_m2 - land.side_per_m2, runs=1.0)
        self._over: list[tuple[float, _Sum]] = []
        if prices.share_per_m2 > 0.0:
            for crop in np.flatnonzero(~np.isnan(prices.wish)):
                wish, own = prices.wish[crop], prices.crop == crop
                around = float(crop == prices.headland_crop) - wish
                headland = 0.0 if prices.headland_crop is None else around
                joins = headland if self._joined else 0.0
                over = own - wish
                self._over.append((headland, _sum(prices, sides, over, over - joins, runs=0.0)))

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
        least = money.min(axis=1) + on_lines(prices, land, over).sum(axis=0)
        least += ways.short_m2 * plan.cost.land_per_m2
        least += [ground.headland + ground.bare for ground in grounds]
        each_way = zip(headings_deg, grounds, strict=True)
        least += [preferences(plan, *one) for one in each_way]
        low_m, high_m = extents(ways.planted, len(ways))
        sure = (high_m - low_m) / prices.step_m > self._sides.surely
        least -= np.abs(least) * BOUND_SHARE + off * ROUNDING_SHARE
        return np.where(sure, least, -math.inf)

    def _sum(self, one: _Sum, jumps: Jumps, land: Profile) -> tuple[Floats, Floats]:
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
            beside = np.zeros((3, SHIFT + 1))
            beside[[0, 1, 2], [ENDS[2], SHIFT, BEGINS[2]]] = 1.0, self._prices.step_m, 1.0
            more = add_sets(edges, jumps, np.array([-1, 0, 1]), beside)
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


def _sum(prices: Prices, sides: Sides, area: Floats, aside: Floats, *, runs: float) -> _Sum:
    """Say what a sum asks for.

    Args:
        prices: of the set.
        sides: of the set.
        area: what a square meter of each strip counts, (strips,).
        aside: what it counts less where it is at a side and not planted, likewise.
        runs: 1 with turns and runs, 0 without.
    """
    asked: dict[int, Floats] = {}

    def add(level: int, what: int, weight: float) -> None:
        asked.setdefault(level, np.zeros(SHIFT + 1))[what] += weight

    for kinds, edges in ((BEGINS, prices.begins), (ENDS, prices.ends)):
        turns, machine, covers = edges.per_turn[0], *edges.per_run_m
        for what, weights in zip(kinds, (turns, machine, covers), strict=True):
            for level, weight in zip(edges.level.tolist(), weights.tolist(), strict=True):
                add(level, what, runs * weight)
    parts = np.zeros(prices.steps)
    for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
        level = shut.first + shut.stride * np.arange(1, shut.count)
        np.add.at(parts, level % prices.steps, runs * price)
    for (first, last), weight in zip(prices.strip_steps.tolist(), area.tolist(), strict=True):
        add(first, BELOW, -weight)
        add(last, BELOW, weight)
    rows = np.concatenate([np.array([1.0, 0.0, 1.0, 1.0]) * runs, aside])
    beside = []
    for band in sides.bands:
        own: dict[int, Floats] = {}
        terms = zip(band.what.tolist(), band.outside.tolist(), rows @ band.weight, strict=True)
        for what, outside, weight in terms:
            own.setdefault(outside, np.zeros(SHIFT + 1))[what] += weight
        beside.append((np.array(list(own), dtype=np.int64), np.array(list(own.values()))))
    kept = {level: weight for level, weight in asked.items() if weight.any()}
    weight = np.array(list(kept.values())).reshape(-1, SHIFT + 1)
    between = np.fft.rfft(parts) if parts.any() else None
    return _Sum(np.array(list(kept), dtype=np.int64), weight, between, tuple(beside))
