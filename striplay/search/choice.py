"""Hold a straight layout and its cost, and say which of several is better."""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

from striplay.search.point_rows import PointRows
from striplay.section.section import Section
from striplay.tolerances import TIE_AIM, TIE_COST_SHARE


class Beside(Protocol):
    """Measures what is shown of a choice besides its cost."""

    def point_rows(self, choice: "Choice") -> tuple[PointRows, ...]:
        """Measure the ground that each machine works twice."""

    def off_more(self, choice: "Choice") -> float | None:
        """Tell what a heading a little off costs more; None where no strip is planted there."""


@dataclass(frozen=True)
class Choice:
    """A straight layout and its cost.

    Attributes:
        heading_deg: degrees clockwise from true north, 0 up to 180.
        offset_m: how far outside the land the first set begins.
        section: the set.
        parts: money a year by part, in the order of `PARTS`.
        passes: planter passes.
        aim: what is to be least before money; 0 where money is the aim.
        money: all parts; without end where no strip is planted.
        beside: measures what is shown of it besides, when that is asked; None where nothing is.
    """

    heading_deg: float
    offset_m: float
    section: Section = field(repr=False)
    parts: tuple[float, ...]
    passes: int
    aim: float
    money: float
    beside: Beside | None = field(default=None, repr=False, compare=False)

    @cached_property
    def point_rows(self) -> tuple[PointRows, ...]:
        """Ground worked twice by machine; only of what is shown."""
        return () if self.beside is None else self.beside.point_rows(self)

    @cached_property
    def off_more(self) -> float | None:
        """How much more money `OFF_DEG` beside the heading costs, on the dearer side.

        None where no strip is planted there, and of what is not shown.
        """
        return None if self.beside is None else self.beside.off_more(self)

    @property
    def total(self) -> float:
        """Money a year."""
        return sum(self.parts)

    @property
    def laid(self) -> bool:
        """Whether a strip is planted."""
        return math.isfinite(self.money)


def in_order(found: Iterable[Choice]) -> list[Choice]:
    """Order choices, the best first: by aim, then money, then lower heading, lower offset.

    The last two settle ties, so that the same plan gives the same layout everywhere. What leaves
    no strip planted comes last.
    """
    every = sorted(found, key=lambda one: (one.heading_deg, one.offset_m))
    ordered: list[Choice] = []
    laid = [one for one in every if one.laid]
    for alike in _tied(laid, lambda one: one.aim, lambda aim: aim + TIE_AIM):
        for tie in _tied(alike, lambda one: one.money, lambda money: money * (1 + TIE_COST_SHARE)):
            ordered += sorted(tie, key=lambda one: (one.heading_deg, one.offset_m))
    return ordered + [one for one in every if not one.laid]


def _tied(
    found: list[Choice], value: Callable[[Choice], float], limit: Callable[[float], float]
) -> Iterator[list[Choice]]:
    """Split choices, the least first, into those no further than a limit from the least left."""
    ordered = sorted(found, key=value)
    begin = 0
    for end in range(1, len(ordered) + 1):
        if end == len(ordered) or value(ordered[end]) > limit(value(ordered[begin])):
            yield ordered[begin:end]
            begin = end


def is_better(one: Choice, other: Choice) -> bool:
    """Tell whether a choice is better than another by more than a tie."""
    if one.laid != other.laid:
        return one.laid
    if abs(one.aim - other.aim) > TIE_AIM:
        return one.aim < other.aim
    return one.money * (1 + TIE_COST_SHARE) < other.money
