"""Lay the row units of a planter side by side as it travels."""

from dataclasses import dataclass
from itertools import groupby


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring units or rows of one crop.

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
    """Join neighbouring rows of one crop, first to last.

    >>> runs(("a", "b", "b"))
    (Run(crop='a', count=1), Run(crop='b', count=2))
    """
    return tuple(Run(crop, len(list(same))) for crop, same in groupby(rows))


def strips_across(rows: tuple[str, ...]) -> tuple[tuple[Run, ...], int]:
    """Give the strips that result where the rows repeat, and how the field begins.

    The last run of a repeat and the first of the next are one strip where they are of one crop.

    Returns:
        The strips of a repeat, the first one whole; and how many rows of it lie before the repeat
        begins, so that the field's first side has only the rest.

    >>> strips_across(("a", "b", "b", "a"))
    ((Run(crop='a', count=2), Run(crop='b', count=2)), 1)
    """
    found = runs(rows)
    if len(found) < 3 or found[0].crop != found[-1].crop:  # noqa: PLR2004 - else it ends as begun
        return found, 0
    joined = Run(found[0].crop, found[0].count + found[-1].count)
    return (joined, *found[1:-1]), found[-1].count


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
