"""Hold the section: the ordered rows of one set, all that later stages read of a system."""

import math
from dataclasses import dataclass
from typing import Literal

from striplay.tolerances import WHOLE_NUMBER

Operation = Literal["plant", "spray", "harvest"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the set.

    Attributes:
        offset_m: distance from the set's first edge.
        spacing_m: width of ground it stands for.
        strip: index of its strip in the set, from 0.
        number: its number within the strip, from 1.
        planter: name of the machine that plants it.
        planter_pass: which pass over the strip, from 0.
        unit: which row unit of the planter, from 1 at the first edge.
    """

    offset_m: float
    spacing_m: float
    strip: int
    number: int
    planter: str
    planter_pass: int
    unit: int


@dataclass(frozen=True, slots=True)
class Work:
    """An operation over a strip: by which machine, and how its passes divide the strip.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        width_m: ground one pass covers.
        rows: rows one pass takes, counted from the strip's edge; None where passes share the
            strip's width evenly, overlapping if need be.
    """

    operation: Operation
    machine: str
    width_m: float
    rows: int | None

    def spans(self, strip: "Strip") -> list[tuple[float, float]]:
        """Give the lower and upper edge of what each pass takes of a whole strip."""
        if self.rows is not None:
            take_m = self.rows * strip.spacing_m
        else:
            passes = max(1, math.ceil(strip.width_m / self.width_m - WHOLE_NUMBER))
            take_m = strip.width_m / passes
        count = max(1, math.ceil(strip.width_m / take_m - WHOLE_NUMBER))
        return [(i * take_m, min((i + 1) * take_m, strip.width_m)) for i in range(count)]


@dataclass(frozen=True, slots=True)
class Strip:
    """Neighbouring rows of one crop.

    Attributes:
        crop: its name in the plan.
        left_m: first edge, from the set's first edge.
        width_m: its width.
        spacing_m: row spacing.
        rows: number of rows.
        counted: False where the openers are not known, so that rows are nominal lines.
        seed_rate_per_m2: seeds dropped; None where no rate is stated.
        works: the operations over it.
    """

    crop: str
    left_m: float
    width_m: float
    spacing_m: float
    rows: int
    counted: bool
    seed_rate_per_m2: float | None
    works: tuple[Work, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One set across: strips and rows from its first edge to its last.

    Attributes:
        width_m: width of the set.
        strips: its strips, in order.
        rows: its rows, by offset.
        notices: what the user should know about its fit.
    """

    width_m: float
    strips: tuple[Strip, ...]
    rows: tuple[Row, ...]
    notices: tuple[str, ...] = ()
