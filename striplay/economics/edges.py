"""Say what rows at a strip's edge yield more or less than those inside, and who found it.

The user's own figures go before published ones. Without either, outer rows yield as those inside,
and what trials found is the range about that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from striplay.plan.defaults import kind_named
from striplay.plan.models import Plan
from striplay.plan.money import EdgeWish

Side = Literal["any", "north", "east", "south", "west"]
Runs = Literal["", "north", "east"]
"""Which way rows run: north and south, east and west, or not said."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure that is not known to the digit: its least, its middle and its most."""

    low: float
    central: float
    high: float

    def times(self, factor: float) -> "Estimate":
        """Give it so many times, in order where the factor is below 0 too."""
        ends = sorted((self.low * factor, self.high * factor))
        return Estimate(ends[0], self.central * factor, ends[1])

    def plus(self, other: "Estimate") -> "Estimate":
        """Add another, both least or most together."""
        return Estimate(self.low + other.low, self.central + other.central, self.high + other.high)


NOTHING = Estimate(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Response:
    """What a study says of rows at an edge; a line of `edges.csv`.

    Attributes:
        study: its authors and year, in short.
        crop: whose rows they are.
        beside: the crop beside them.
        side: side of the strip they lie on; any where it was not told apart.
        rows_run: which way they run, empty where it is not said.
        row: place from the edge, from 1; None where it is the mean of whole strips.
        gain: by how much they yield more than those inside, as a share; of a range no middle is
            made: its central value is None.
        low: the least of a range.
        high: the most of a range.
        strip_rows: rows of the strips; None where it is not said.
        strip_m: their width, likewise.
        place: where it was measured.
        years: when.
        source: where it is published.
        note: what else to know.
    """

    study: str
    crop: str
    beside: str
    side: Side
    rows_run: Runs
    row: int | None
    low: float
    gain: float | None
    high: float
    strip_rows: int | None
    strip_m: float | None
    place: str
    years: str
    source: str
    note: str

    def fits(self, crop: str, beside: str, side: str, rows_run: str) -> bool:
        """Tell whether it speaks of such rows: what it leaves open fits either way."""
        return (
            (self.crop, self.beside) == (crop, beside)
            and self.side in {"any", side}
            and self.rows_run in {"", rows_run}
        )


@dataclass(frozen=True, slots=True)
class EdgeGain:
    """What one row at an edge yields more than a row inside, and from whom that is known.

    Attributes:
        gain: as a share.
        sources: where it is from; empty where nothing is known of the pair.
        measured: whether it is the user's own.
    """

    gain: Estimate
    sources: tuple[str, ...]
    measured: bool = False


UNKNOWN = EdgeGain(NOTHING, ())


@dataclass(frozen=True, slots=True)
class EdgeTable:
    """All that is known of edges: the plan's own figures, and the published ones.

    Attributes:
        own: the plan's.
        published: of trials.
        taken: whether published figures are reckoned with, or only told as a range.
        kinds: kind of crop of each of the plan's, by name.
    """

    own: tuple[EdgeWish, ...]
    published: tuple[Response, ...]
    taken: bool
    kinds: dict[str, str]

    def gain(self, crop: str, beside: str, side: Side, rows_run: Runs, row: int) -> EdgeGain:
        """Say what a row at an edge yields more.

        Args:
            crop: whose row it is, by its name in the plan.
            beside: the crop beside it.
            side: side of the strip it lies on; any where that is not known.
            rows_run: which way rows run, or empty.
            row: its place from the edge, from 1.
        """
        mine = [one for one in self.own if (one.crop, one.beside) == (crop, beside)]
        apart = [one for one in mine if one.side == side != "any"]
        mine = (
            apart or [one for one in mine if one.side == "any"] or (mine if side == "any" else [])
        )
        if mine:
            return _own_gain(mine, row)
        names = self.kinds.get(crop, crop), self.kinds.get(beside, beside)
        fits = [one for one in self.published if one.row is not None]
        fits = [one for one in fits if _speaks(one, names, side, rows_run)]
        if not fits:
            return UNKNOWN
        sources = tuple(dict.fromkeys(one.study for one in fits))
        of_row = [one for one in fits if one.row == row]
        if not of_row:  # trials that saw no gain so far in
            return EdgeGain(NOTHING, sources)
        return EdgeGain(_spread(of_row, taken=self.taken), sources)

    def pairs(self, crop: str, beside: str) -> tuple[Response, ...]:
        """List the studies of a pair, those of whole strips too."""
        names = self.kinds.get(crop, crop), self.kinds.get(beside, beside)
        return tuple(one for one in self.published if (one.crop, one.beside) == names)


def edge_table(plan: Plan, published: Sequence[Response]) -> EdgeTable:
    """Give what is known of the edges of a plan's crops."""
    kinds = {name: kind_named(name, crop.like) for name, crop in plan.crops.items()}
    return EdgeTable(plan.edges, tuple(published), plan.economics.edges == "published", kinds)


def _speaks(one: Response, names: tuple[str, str], side: Side, rows_run: Runs) -> bool:
    """Tell whether a study speaks of a row; one whose side is not known may be on any."""
    open_side = side == "any"
    return one.fits(*names, one.side if open_side else side, rows_run or one.rows_run)


def _own_gain(mine: Sequence[EdgeWish], row: int) -> EdgeGain:
    """Give the mean of the plan's own figures for a row; nothing beyond the last they name."""
    ranges = []
    for one in mine:
        ends = (one.low or one.gain, one.gain, one.high or one.gain)
        ranges.append([end[row - 1] if row <= len(end) else 0.0 for end in ends])
    low, central, high = (sum(end) / len(mine) for end in zip(*ranges, strict=True))
    sources = tuple(dict.fromkeys(one.source or "the plan" for one in mine))
    return EdgeGain(Estimate(low, central, high), sources, measured=True)


def _spread(found: Sequence[Response], *, taken: bool) -> Estimate:
    """Give the spread of studies: least, mean of those with a middle, most.

    Reviews only widen it. Where published figures are not to be reckoned with, none gains is the
    middle, and the spread reaches there.
    """
    middles = [one.gain for one in found if one.gain is not None]
    low, high = min(one.low for one in found), max(one.high for one in found)
    if not taken:
        return Estimate(min(low, 0.0), 0.0, max(high, 0.0))
    central = sum(middles) / len(middles) if middles else (low + high) / 2
    return Estimate(low, central, high)
