"""Hold the section: the ordered rows of one set, all that later stages read of a system."""

import math
from dataclasses import dataclass
from typing import Literal

from striplay.tolerances import WHOLE_NUMBER

Operation = Literal["plant", "spray", "harvest"]


@dataclass(frozen=True, slots=True)
class Sown:
    """A crop sown in a row.

    Attributes:
        crop: its name in the plan.
        seed_rate_per_m2: seeds dropped, at its share of the row; None where no rate is stated.
    """

    crop: str
    seed_rate_per_m2: float | None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the set.

    Attributes:
        offset_m: distance from the set's first edge.
        spacing_m: width of ground it stands for.
        strip: index of its strip in the set, from 0.
        number: its number within the strip and layer, from 1.
        planter: name of the machine that plants it.
        planter_pass: which pass over the strip, from 0.
        unit: which row unit of the planter, from 1 at the first edge.
        sown: what is sown in it; several crops in a mixed stand.
        layer: 0 for the strip's own crop, 1 and up for crops sown between its rows.
    """

    offset_m: float
    spacing_m: float
    strip: int
    number: int
    planter: str
    planter_pass: int
    unit: int
    sown: tuple[Sown, ...]
    layer: int = 0


@dataclass(frozen=True, slots=True)
class Work:
    """An operation over a strip: by which machine, and how its passes divide the strip.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        width_m: ground one pass covers.
        rows: rows one pass takes, counted from the strip's edge; None where passes share the
            strip's width evenly, overlapping if need be.
        crop: what is planted or harvested; empty where the strip's own.
        layer: whose rows the pass works, as in `Row`.
        shift_m: how far the machine's middle lies beyond the middle of what a pass takes, for its
            openers to reach rows between others.
    """

    operation: Operation
    machine: str
    width_m: float
    rows: int | None
    crop: str = ""
    layer: int = 0
    shift_m: float = 0.0

    def middles(self, strip: "Strip") -> list[float]:
        """Give where the machine's middle runs on each pass over a whole strip."""
        return [(low + high) / 2 + self.shift_m for low, high in self.spans(strip)]

    def spans(self, strip: "Strip") -> list[tuple[float, float]]:
        """Give the lower and upper edge of what each pass takes of a whole strip."""
        begin_m, wide_m = strip.rows_span_m if self.layer == 0 else (0.0, strip.width_m)
        if self.rows is not None:
            take_m = self.rows * strip.spacing_m
        else:
            passes = max(1, math.ceil(wide_m / self.width_m - WHOLE_NUMBER))
            take_m = wide_m / passes
        count = max(1, math.ceil(wide_m / take_m - WHOLE_NUMBER))
        return [
            (begin_m + i * take_m, begin_m + min((i + 1) * take_m, wide_m)) for i in range(count)
        ]


@dataclass(frozen=True, slots=True)
class Strip:
    """Neighbouring rows of one crop.

    Attributes:
        crop: its name in the plan; of a mixed stand, the mixture's.
        left_m: first edge, from the set's first edge.
        width_m: its width.
        spacing_m: row spacing.
        rows: number of rows.
        counted: False where the openers are not known, so that rows are nominal lines.
        works: the operations over it.
        lead_m: from its first edge to the ground of its first row, where units beside it are empty.
        empty: how many more rows would stand between its own, were no units empty.
    """

    crop: str
    left_m: float
    width_m: float
    spacing_m: float
    rows: int
    counted: bool
    works: tuple[Work, ...]
    lead_m: float = 0.0
    empty: int = 0

    @property
    def rows_span_m(self) -> tuple[float, float]:
        """Where its rows' ground begins, from its first edge, and how wide it is."""
        return self.lead_m, (self.rows + self.empty) * self.spacing_m


@dataclass(frozen=True, slots=True)
class SidePasses:
    """Passes of a machine side by side over the whole field, whatever strips lie under them.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        width_m: ground one pass covers; the set is a whole number of passes.
        first_m: an edge between two passes, from the set's first edge.
        one_way: whether all are driven the same way.
    """

    operation: Operation
    machine: str
    width_m: float
    first_m: float
    one_way: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One set across: strips and rows from its first edge to its last.

    Attributes:
        width_m: width of the set.
        strips: its strips, in order.
        rows: its rows, by offset.
        notices: what the user should know about its fit.
        side_passes: passes that run over several strips at once.
        begin_m: how far from its first edge the first set begins at the field's side.
        tramlines_m: where rows between others are left out for wheels, from its first edge.
    """

    width_m: float
    strips: tuple[Strip, ...]
    rows: tuple[Row, ...]
    notices: tuple[str, ...] = ()
    side_passes: tuple[SidePasses, ...] = ()
    begin_m: float = 0.0
    tramlines_m: tuple[float, ...] = ()

    @property
    def own_row(self) -> tuple[bool, ...]:
        """Tell of each row whether it is of its strip's own crop, not sown between."""
        return tuple(row.layer == 0 for row in self.rows)

    def rows_of(self, strip: int, layer: int, low_m: float, high_m: float) -> tuple[bool, ...]:
        """Tell of each row whether it lies between two distances from its strip's first edge."""
        left_m = self.strips[strip].left_m
        return tuple(
            row.strip == strip and row.layer == layer and low_m < row.offset_m - left_m < high_m
            for row in self.rows
        )

    def crops_of(self, strip: int) -> tuple[str, ...]:
        """Name the crops sown in a strip, its own first."""
        rows = sorted((row for row in self.rows if row.strip == strip), key=lambda row: row.layer)
        return tuple(dict.fromkeys(sown.crop for row in rows for sown in row.sown))

    @property
    def crops(self) -> tuple[str, ...]:
        """Name all crops, strip by strip."""
        each = (self.crops_of(index) for index in range(len(self.strips)))
        return tuple(dict.fromkeys(crop for crops in each for crop in crops))
