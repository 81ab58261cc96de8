"""Price what is too narrow at the field's two sides to be planted.

That is a strip; or, where one planter pass runs over several strips, such a pass.

There the sums over all sets (`striplay.geometry.fold`) hold passes and ground that are not. What
they hold comes from the ground's profile near the side: of a pass over the band from level a to
level b one part is seen at a and one at b, and nothing beyond the land. At every offset that leaves
too little on land, the parts of passes outside its inner edge are taken out. A pass that goes on
past the edge begins, or ends, at the edge instead.

Levels are in steps from a set's first edge: of the set that begins where the land does, or as far
outside it as is asked.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Profile
from striplay.plan.models import Plan
from striplay.search.prices import Prices
from striplay.section.passes import least_planted_m
from striplay.section.section import Pass, Section
from striplay.section.strips import narrowest_m
from striplay.tolerances import ON_STEP, WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

BEGINS, ENDS, BELOW, SHIFT = (0, 2, 4), (1, 3, 5), 6, 7
"""What a profile is asked for: by pass, at its lower and upper level, the number of runs, and their
length over all ground machines run over and over what they plant; area below; how fast ends
shift."""


@dataclass(frozen=True)
class Band:
    """A strip, or a planter pass over several, where it is the field's first or last.

    Attributes:
        way: from which side inward.
        edge: its inner edge, in steps from its set's first.
        planted_from: steps of it from which it is planted.
        what: which of what the profile is asked for each term is, (terms,).
        outside: how many steps outside the edge it is seen, (terms,).
        weight: of each term, as in the rows of `Gone`, (4 + strips, terms).
    """

    way: int
    edge: int
    planted_from: float
    what: Integers
    outside: Integers
    weight: Floats


@dataclass(frozen=True)
class _Cut:
    """Offsets at which a strip or pass lies on land by 1, 2, 3 ... steps, and is too narrow.

    Attributes:
        band: the strip or pass.
        base: level from which steps count.
        count: how many offsets.
    """

    band: Band
    base: int
    count: int

    def parts(self, steps: int) -> Iterator[tuple[slice, slice]]:
        """Give the offsets, in one stretch or two, and which of the counts they are.

        At the low side less of it lies on land the further outside sets begin.
        """
        first = self.band.edge - self.base + (-self.count if self.band.way == UP else 1)
        begin, way = first % steps, -self.band.way
        split = min(self.count, steps - begin)
        turned = range(self.count)[::way]
        yield slice(begin, begin + split), _slice(turned[:split])
        if split < self.count:
            yield slice(0, self.count - split), _slice(turned[split:])

    @property
    def levels(self) -> Integers:
        """Level of its inner edge, by count."""
        return self.base + self.band.way * np.arange(1, self.count + 1)


def _slice(numbers: range) -> slice:
    return slice(numbers.start, numbers.stop if numbers.stop >= 0 else None, numbers.step)


@dataclass(frozen=True)
class Gone:
    """What the sums over all sets hold, and is not there, at each offset.

    Attributes:
        rows: to be added to turns, planter passes, the prices of runs of machines and of what they
            cover, and to the land of each strip, (4 + strips, grounds, steps).
        cuts: where, of each ground.
    """

    rows: Floats
    cuts: list[list[_Cut]]

    def planted(self, ground: int) -> tuple[Floats, Floats]:
        """Give the levels between which a ground is planted at each offset, (steps,) each.

        Where all would be too narrow, nothing is taken off: `Sides.bare` tells of it.
        """
        steps = self.rows.shape[-1]
        low, high = np.full(steps, -np.inf), np.full(steps, np.inf)
        for cut in self.cuts[ground]:
            edge, levels = (low if cut.band.way == UP else high), cut.levels
            for there, here in cut.parts(steps):
                edge[there] = levels[here]
        nothing = low >= high
        return np.where(nothing, -np.inf, low), np.where(nothing, np.inf, high)


@dataclass(frozen=True)
class Stretch:
    """Offsets at which a strip or pass lies on land by 1, 2, 3 ... steps at a side of grounds.

    Attributes:
        band: the strip or pass.
        base: level from which steps count, of each ground, (grounds,).
        count: offsets at which it is too narrow, likewise.
    """

    band: Band
    base: Integers
    count: Integers


@dataclass(frozen=True)
class _Lane:
    """A strip, or a planter pass over several, where all land may lie in it.

    Attributes:
        low: its first edge, in steps from its set's.
        width: its width in steps.
        rows: how many of its rows must, at least.
        spacing: between them, in steps.
    """

    low: float
    width: float
    rows: int
    spacing: float


class Sides:
    """What of a section may be too narrow at the field's two sides.

    Attributes:
        bands: strips and passes, each where it is the field's first or last.
        reach: steps that land reaches beyond such an edge at most.
    """

    def __init__(self, plan: Plan, section: Section, prices: Prices) -> None:
        """Prepare a section once for all headings.

        Args:
            plan: what is too narrow.
            section: the set.
            prices: its prices.
        """
        self._prices = prices
        narrow = [*_narrow_strips(plan, section), *_narrow_passes(section)]
        step_m = prices.step_m
        self._lanes = [*_lanes(plan, section, step_m)]
        self.reach = math.ceil(max((least for *_, least in narrow), default=0.0) / step_m) + 1
        self.bands = [
            _band(prices, round(edge_m / step_m), least_m, way, self.reach)
            for way, edge_m, least_m in narrow
        ]

    @property
    def surely(self) -> int:
        """From how many steps across land is not planted or bare by both sides at once."""
        return 2 * self.reach

    def planted(self, low: float, high: float) -> tuple[float, float]:
        """Give the levels between which strips are planted, of a set that begins at level 0.

        Where all would be too narrow, nothing is taken off: `bare` tells of it.

        Args:
            low: level at which the land begins.
            high: level at which it ends.
        """
        off, steps = WIDTH_M / self._prices.step_m, self._prices.steps
        begin, end = -math.inf, math.inf
        for band in self.bands:
            if band.way == UP:
                edge = band.edge + (math.floor((low + off - band.edge) / steps) + 1) * steps
                if edge - low < band.planted_from and edge < high - off:
                    begin = edge
            else:
                edge = band.edge + (math.ceil((high - off - band.edge) / steps) - 1) * steps
                if high - edge < band.planted_from and edge > low + off:
                    end = edge
        return (begin, end) if begin < end else (-math.inf, math.inf)

    def bare(self, low: Floats, extent: float) -> Bools:
        """Tell where no strip is planted on land: it lies in strips too narrow to be planted.

        Args:
            low: levels at which land begins, of a set that begins at level 0, (k,).
            extent: how far it reaches, in steps.
        """
        found = np.zeros(len(low), dtype=bool)
        if extent >= self.surely:
            return found
        off, steps = WIDTH_M / self._prices.step_m, self._prices.steps
        begin, end = np.full(len(low), -np.inf), np.full(len(low), np.inf)
        for band in self.bands:
            if band.way == UP:
                edge = band.edge + (np.floor((low + off - band.edge) / steps) + 1) * steps
                cut = (edge - low < band.planted_from) & (edge < low + extent - off)
                begin[cut] = edge[cut]
            else:
                edge = band.edge + (np.ceil((low + extent - off - band.edge) / steps) - 1) * steps
                cut = (low + extent - edge < band.planted_from) & (edge > low + off)
                end[cut] = edge[cut]
        found |= begin >= end
        for lane in self._lanes:  # all land in one strip, or under one pass
            begin = (low + off - lane.low) % steps - off
            rows = np.floor((begin + extent) / lane.spacing + 0.5)
            rows -= np.floor(begin / lane.spacing + 0.5)
            narrow = rows < lane.rows
            found |= (begin + extent <= lane.width + off) & narrow
        return found

    def gone(self, land: Profile, over: Profile) -> Gone | None:
        """Give what is not there at any offset; None where nothing may be too narrow.

        Args:
            land: what is planted, by level from where the land begins.
            over: what machines run over, likewise.
        """
        if not self.bands or land.bare.all():
            return None
        step_m, steps, reach = self._prices.step_m, self._prices.steps, self.reach
        low, high, first, last = self._ends(land)
        windows = _windows(land, over, first, last, reach, step_m)
        rows = np.zeros((4 + len(self._prices.strip_steps), len(land), steps))
        gone = Gone(rows, [[] for _ in range(len(land))])
        for stretch in self.stretches(land):
            band, most = stretch.band, int(stretch.count.max())
            if most < 1:
                continue
            side = 0 if band.way == UP else 1
            asked = windows[band.what, side, reach + 1 - band.outside, :, :most]
            seen = (band.weight @ asked.reshape(len(asked), -1)).reshape(-1, len(land), most)
            for ground, count in enumerate(stretch.count.tolist()):
                if count > 0:
                    cut = _Cut(band, int(stretch.base[ground]), count)
                    for there, here in cut.parts(steps):
                        rows[:, ground, there] += seen[:, ground, here]
                    gone.cuts[ground].append(cut)
        for ground in np.flatnonzero(high - low < self.surely).tolist():
            low_edge, high_edge = gone.planted(ground)
            rows[:, ground, np.isinf(low_edge) & np.isinf(high_edge)] = 0.0
        return gone

    def stretches(self, land: Profile) -> list[Stretch]:
        """Give the offsets at which each band is too narrow on grounds."""
        low, high, first, last = self._ends(land)
        found = []
        for band in self.bands:
            base, beyond = (first, low - first) if band.way == UP else (last, last - high)
            extent = high - first if band.way == UP else last - low
            counts = np.ceil(np.minimum(band.planted_from + beyond, np.ceil(extent))) - 1
            counts = np.where(land.bare, 0, np.maximum(counts, 0)).astype(np.int64)
            found.append(Stretch(band, base, counts))
        return found

    def _ends(self, land: Profile) -> tuple[Floats, Floats, Integers, Integers]:
        """Give between which levels grounds lie, and between which whole ones."""
        low, high = (ends_m / self._prices.step_m for ends_m in land.ends_m())
        first = np.floor(low + ON_STEP).astype(np.int64)
        return low, high, first, np.ceil(high - ON_STEP).astype(np.int64)


def _windows(
    land: Profile, over: Profile, first: Integers, last: Integers, reach: int, step_m: float
) -> Floats:
    """Ask the profile near both sides.

    Args:
        land: what is planted, by level.
        over: what machines run over.
        first: level at the low side of each ground.
        last: level at the high side.
        reach: steps inward that are asked for.
        step_m: distance between levels.

    Returns:
        What is seen 1, 2, 3 ... steps inward of each place from `reach` steps outside to the side
        itself, (kinds, sides, places, grounds, k). Nothing is seen beyond the land.
    """
    inward = np.arange(reach + 1)
    beyond = last[:, None] + 1
    at_m = np.hstack([first[:, None] + inward, last[:, None] - inward, beyond]) * step_m
    at_m += ON_STEP * step_m
    seen = land.at(at_m)
    run = seen if over is land else over.at(at_m)
    asked = np.zeros((SHIFT + 1, 2, len(land), 2 * reach + 1))
    inside = asked[..., reach:]
    for begin, found in ((0, run[:4]), (BEGINS[2], seen[2:])):
        kinds = inside[begin : begin + len(found)]
        kinds[:, 0] = found[..., : reach + 1]
        np.subtract(found[..., reach + 1 : -1], found[..., -1:], out=kinds[:, 1])
    kind, side, ground, step = asked.strides
    shape = (SHIFT + 1, 2, reach + 2, len(land), reach)
    return np.ndarray(shape, np.float64, asked, strides=(kind, side, step, ground, step))


UP, DOWN = 1, -1
"""Ways inward: from the side at the lowest level, and from that at the highest."""


def _narrow_strips(plan: Plan, section: Section) -> Iterator[tuple[int, float, float]]:
    """Give strips by way: their inner edge, and how much must lie on land for one to be planted."""
    for least_m, strip in zip(narrowest_m(plan, section), section.strips, strict=True):
        planted_from_m = _planted_from_m(float(least_m), strip.spacing_m)
        if planted_from_m > 0.0:
            yield UP, strip.right_m, planted_from_m
            yield DOWN, strip.left_m, planted_from_m


def _lanes(plan: Plan, section: Section, step_m: float) -> Iterator[_Lane]:
    """Give strips, and planter passes over several, with how much of each must lie on land."""
    for least_m, strip in zip(narrowest_m(plan, section), section.strips, strict=True):
        rows = _rows_of(float(least_m), strip.spacing_m)
        at = (strip.left_m / step_m, strip.width_m / step_m)
        yield _Lane(*at, rows, strip.spacing_m / step_m)
    for one in section.passes:
        if one.strip is None and one.operation == "plant":
            spacing_m = section.rows[one.rows[0]].spacing_m
            rows = _rows_of(least_planted_m(one, section), spacing_m)
            at = (one.low_m / step_m, (one.high_m - one.low_m) / step_m)
            yield _Lane(*at, rows, spacing_m / step_m)


def _rows_of(least_m: float, spacing_m: float) -> int:
    """Count the rows that a least width asks for."""
    return math.ceil((least_m - WIDTH_M) / spacing_m)


def _narrow_passes(section: Section) -> Iterator[tuple[int, float, float]]:
    """Give the same of planter passes over several strips.

    Half of their rows at least must lie on land, and the middle of the planter.
    """
    for one in section.passes:
        if one.strip is None and one.operation == "plant":
            least_m, spacing_m = least_planted_m(one, section), section.rows[one.rows[0]].spacing_m
            low_m, high_m = _planted_between_m(one, section)
            from_m = _planted_from_m(least_m, spacing_m)
            up_m = max(one.high_m - high_m + from_m, one.high_m - one.middle_m)
            yield UP, one.high_m, up_m
            down_m = max(low_m - one.low_m + from_m, one.middle_m - one.low_m)
            yield DOWN, one.low_m, down_m


def _planted_between_m(one: Pass, section: Section) -> tuple[float, float]:
    """Give between where and where a pass plants: its outer units may be empty."""
    rows = [section.rows[row] for row in one.rows]
    before = [math.floor((row.offset_m - one.low_m) / section.width_m) for row in rows]
    at_m = [row.offset_m - n * section.width_m for row, n in zip(rows, before, strict=True)]
    low_m = min(at - row.spacing_m / 2 for at, row in zip(at_m, rows, strict=True))
    high_m = max(at + row.spacing_m / 2 for at, row in zip(at_m, rows, strict=True))
    return max(low_m, one.low_m), min(high_m, one.high_m)


def _planted_from_m(least_m: float, spacing_m: float) -> float:
    """Give how much must lie on land for so many rows as `least_m` asks for."""
    rows = _rows_of(least_m, spacing_m)
    return (rows - 0.5) * spacing_m if rows > 0 else 0.0


def _band(prices: Prices, edge: int, least_m: float, way: int, reach: int) -> Band:
    """Prepare a strip or pass where it is the first from a side.

    Args:
        prices: of the section.
        edge: its inner edge, in steps from its set's first.
        least_m: how much of it must lie on land for it to be planted.
        way: from which side inward.
        reach: steps that land reaches beyond the edge at most.
    """
    terms = _terms(prices, edge, way, reach)
    what, outside = np.array([*terms]).T
    weight = np.array([*terms.values()]).T
    return Band(way, edge, least_m / prices.step_m, what, outside, weight)


class _Terms:
    """What is taken out of the sums where a strip is not planted.

    Attributes:
        weight: as in the rows of `Gone`, of what the profile is asked for and how many steps
            outside the inner edge.
    """

    def __init__(self, reach: int, rows: int) -> None:
        self._reach, self._rows = reach, rows
        self.weight: dict[tuple[int, int], Floats] = {}

    def add(self, what: int, outside: int, weight: dict[int, float]) -> None:
        """Add to the weight of a term, by row; what is seen further outside is beyond the land."""
        if outside <= self._reach:
            known = self.weight.setdefault((what, outside), np.zeros(self._rows))
            for row, value in weight.items():
                known[row] += value


def _terms(prices: Prices, edge: int, way: int, reach: int) -> dict[tuple[int, int], Floats]:
    """Say what is taken out of the sums where nothing outside an edge is planted.

    Args:
        prices: of the section.
        edge: the edge.
        way: from which side.
        reach: steps that the land reaches beyond the edge at most.

    Returns:
        As `_Terms.weight`.
    """
    terms = _Terms(reach, 4 + len(prices.strip_steps))
    for turn in (-prices.steps, 0, prices.steps):
        for number, levels in enumerate(prices.levels.T):
            begin, end = _outside(edge, levels + turn, way)
            if begin > 0 and end <= reach:
                turns, machine = prices.per_turn[:, number], prices.per_run_m[:, number]
                _add_pass(terms, begin, end, way, np.concatenate([turns, machine]))
        for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
            between = shut.first + shut.stride * np.arange(1, shut.count)
            for outside in (way * (edge - between - turn)).tolist():
                _add_part(terms, outside, way, price, prices.step_m)
        for strip, levels in enumerate(prices.strip_steps):
            begin, end = _outside(edge, levels + turn, way)
            if begin > 0 and end <= reach:
                terms.add(BELOW, max(end, 0), {4 + strip: -way})
                terms.add(BELOW, begin, {4 + strip: way})
    return terms.weight


def _outside(edge: int, levels: Integers, way: int) -> tuple[int, int]:
    """Give how far outside an edge, seen from a side, something begins and ends; below 0 inside."""
    begin, end = sorted((way * (edge - levels)).tolist(), reverse=True)
    return begin, end


def _add_pass(terms: _Terms, begin: int, end: int, way: int, price: Floats) -> None:
    """Take out a pass; one that goes on past the inner edge begins there instead.

    Args:
        terms: where to.
        begin: steps from the inner edge out to where it is seen first, above 0.
        end: steps to where it is seen last; below 0 past the edge.
        way: from which side.
        price: its turn, 1 where it is a planter's, its machine's run and what it covers, (4,).
    """
    outer, inner = (BEGINS, ENDS) if way == UP else (ENDS, BEGINS)
    for first, last, rows in zip(outer, inner, ((0, 1), (2,), (3,)), strict=True):
        less = {row: -float(price[row]) for row in rows}
        terms.add(first, begin, less)
        if end < 0:
            terms.add(first, 0, {row: -value for row, value in less.items()})
        else:
            terms.add(last, end, less)


def _add_part(terms: _Terms, outside: int, way: int, price: float, step_m: float) -> None:
    """Take out an edge between two parts of a pass, so many steps outside the inner edge.

    It is seen a step to either side; past the inner edge, the part begins there. Above a level is
    seen what begins there, so the two sides differ by one.
    """
    last = 0 if way == UP else -1
    outer, inner = (BEGINS, ENDS) if way == UP else (ENDS, BEGINS)
    if outside >= last:
        terms.add(inner[2], outside + 1, {3: -price})
        terms.add(outer[2], max(outside - 1, 0), {3: -price})
    if outside > last:
        terms.add(SHIFT, outside, {3: -price * step_m})
