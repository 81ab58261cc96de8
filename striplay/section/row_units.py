"""Lay the row units of a planter side by side as it travels."""

from dataclasses import dataclass
from itertools import groupby, pairwise

from striplay.plan.systems import EMPTY


@dataclass(frozen=True, slots=True)
class Run:
    """Neighboring units or rows of one crop.

    Attributes:
        crop: its name; "empty" where nothing is planted.
        count: how many.
    """

    crop: str
    count: int


def field_rows(units: tuple[str, ...], *, back_and_forth: bool) -> tuple[str, ...]:
    """Give the rows that repeat across the field, as the passes lie side by side.

    Back and forth turns the planter round at each end, so every second pass is mirrored: the rows
    repeat after two passes, unless the units read the same both ways.

    >>> field_rows(("a", "b", "b"), back_and_forth=True)
    ('a', 'b', 'b', 'b', 'b', 'a')
    >>> field_rows(("a", "b", "a"), back_and_forth=True)
    ('a', 'b', 'a')
    """
    mirrored = units[::-1]
    return units if not back_and_forth or units == mirrored else (*units, *mirrored)


def runs(rows: tuple[str, ...]) -> tuple[Run, ...]:
    """Join neighboring rows of one crop, first to last.

    >>> runs(("a", "b", "b"))
    (Run(crop='a', count=1), Run(crop='b', count=2))
    """
    return tuple(Run(crop, len(list(same))) for crop, same in groupby(rows))


@dataclass(frozen=True, slots=True)
class Stretch:
    """Neighboring rows of one crop where passes lie side by side, empty units between them or not.

    Attributes:
        crop: its name.
        places: which rows of the repeat they are, from 0; below 0 those of the repeat before.
        low: its first edge, in rows from the repeat's.
        high: its last edge.
    """

    crop: str
    places: tuple[int, ...]
    low: float
    high: float

    @property
    def empty(self) -> int:
        """Rows left empty between its own."""
        return self.places[-1] - self.places[0] + 1 - len(self.places)


def stretches(rows: tuple[str, ...]) -> tuple[Stretch, ...]:
    """Give the strips that result where rows repeat; something is planted.

    Empty rows between two of one crop lie within its strip, those between two crops belong by
    halves to either side. The last rows of a repeat and the first of the next are one strip where
    they are of one crop: then the first strip begins before the repeat does.

    >>> [(s.crop, s.places, s.low, s.high) for s in stretches(("a", "b", "b", "a"))]
    [('a', (-1, 0), -1.0, 1.0), ('b', (1, 2), 1.0, 3.0)]
    >>> [(s.places, s.low, s.high) for s in stretches(("a", "empty", "a", "empty", "b", "empty"))]
    [((0, 2), -0.5, 3.5), ((4,), 3.5, 5.5)]
    """
    planted = [place for place, crop in enumerate(rows) if crop != EMPTY]
    ends = [i for i, at in enumerate(planted) if rows[at] != rows[planted[(i + 1) % len(planted)]]]
    last = (ends or [len(planted) - 1])[-1]
    before = [place - len(rows) for place in planted[last + 1 :]]
    ordered = [*before, *planted[: last + 1]]
    groups = [tuple(same) for _, same in groupby(ordered, key=lambda place: rows[place])]
    beside = [*groups, tuple(place + len(rows) for place in groups[0])]
    edges = [(one[-1] + 1 + other[0]) / 2 for one, other in pairwise(beside)]
    lows = [edges[-1] - len(rows), *edges]
    return tuple(
        Stretch(rows[places[0]], places, low, high)
        for places, low, high in zip(groups, lows, edges, strict=False)
    )


def units_for_equal_strips(units: tuple[str, ...]) -> tuple[str, ...] | None:
    """Give units that make strips as wide as the first run's, back and forth; None if none do.

    Two crops on half the units each make strips twice as wide, since each pass meets its mirror:
    half the first crop's units move to the other side.

    >>> "".join(units_for_equal_strips(tuple("aaaaaabbbbbb")))
    'aaabbbbbbaaa'
    """
    found = runs(units)
    if len(found) != 2 or found[0].count != found[1].count or found[0].count % 2:  # noqa: PLR2004
        return None
    half = (found[0].crop,) * (found[0].count // 2)
    return (*half, *((found[1].crop,) * found[1].count), *half)


def written(units: tuple[str, ...]) -> str:
    """Write units as in a plan.

    >>> written(("corn", "corn", "soybean"))
    '2 corn, 1 soybean'
    """
    return ", ".join(f"{run.count} {run.crop}" for run in runs(units))
