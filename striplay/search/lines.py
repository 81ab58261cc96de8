"""Price booms on tramlines: what they cost on any ground as a mean over all places across.

The pattern of their lines repeats after several sets, so an offset of the set says little of where
they run. Over all places across, what a band from level a to level b meets on ground has a mean:

- runs: the chords, summed across, and w pieces more, w = b - a; of pieces a hole takes one.
- their length: the area, and w / 2 x the way that ends shift, summed across.

Both by the pattern's width (see `striplay.geometry.fold`, whose sums these are the integrals of).
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.geometry.fold import Whole
from striplay.section.section import Section, Tramlines
from striplay.section.tramlines import line_under, middle_of
from striplay.tolerances import WIDTH_M

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class OnLines:
    """What passes on tramlines cost on any ground.

    Attributes:
        per_chord_m: money for turns by the meter across and chord.
        per_piece: money for turns by the piece of ground.
        hole_m: bands that may hold a hole, by their width, (b,).
        per_hole_m: money for turns by the hole and meter that the band is wider, (b,).
        per_shift_m: money for machines by the meter that ends shift.
        covers_per_shift_m: money for what they cover besides their own, likewise.
        per_steady_m: the same by the meter that they shift steadily, at edges between sections.
    """

    per_chord_m: float = 0.0
    per_piece: float = 0.0
    hole_m: Floats = field(default_factory=lambda: np.zeros(0))
    per_hole_m: Floats = field(default_factory=lambda: np.zeros(0))
    per_shift_m: float = 0.0
    covers_per_shift_m: float = 0.0
    per_steady_m: float = 0.0

    @property
    def any(self) -> bool:
        """Whether there are tramlines."""
        return len(self.hole_m) > 0

    def turns(self, over: Whole) -> Floats:
        """Price the turns on grounds that machines run over, (grounds,)."""
        return np.asarray(self.per_chord_m * over.chords_m + self.per_piece * over.pieces)

    def of_holes(self, low_m: Floats, high_m: Floats, first_m: float, last_m: float) -> float:
        """Price the turns about holes, which pieces took for none.

        Args:
            low_m: level at which each hole begins, (h,).
            high_m: level at which it ends, (h,).
            first_m: level at which the ground begins.
            last_m: level at which it ends: what lies beyond is no hole.
        """
        inside = (low_m > first_m) & (high_m < last_m)
        wider_m = np.maximum(self.hole_m[:, None] - (high_m - low_m)[inside], 0.0)
        return float(self.per_hole_m @ wider_m.sum(axis=1))

    def partial(self, over: Whole) -> Floats:
        """Price the runs beyond the ground at full width, (grounds,)."""
        return np.asarray(self.per_shift_m * over.shift_m)

    def overlap(self, land: Whole) -> Floats:
        """Price what is covered besides their own ground, (grounds,)."""
        return np.asarray(
            self.covers_per_shift_m * land.shift_m + self.per_steady_m * land.steady_m
        )


@dataclass(frozen=True)
class BoomPrices:
    """What one boom costs.

    Attributes:
        turns: money for a turn at the end of each line of its pattern, (n,).
        run_m: money by the meter driven.
        covered_m2: money for what it covers a square meter with.
        part_m: width that shuts off at once.
    """

    turns: Floats
    run_m: float
    covered_m2: float
    part_m: float


@dataclass(frozen=True)
class Band:
    """What one line works of one crop, from the pattern's first edge.

    Attributes:
        low_m: the first row.
        high_m: the last.
        cells: edges of the ground each row stands for, (2, k), by distance.
        line: number of the line in the pattern.
        middle_m: of the boom.
    """

    low_m: float
    high_m: float
    cells: Floats
    line: int
    middle_m: float

    @property
    def width_m(self) -> float:
        """Between its outer rows."""
        return self.high_m - self.low_m


def bands_of(section: Section, tramlines: Tramlines) -> Iterator[Band]:
    """Give what each line of a pattern works, crop by crop."""
    lines = len(tramlines.middles_m)
    for label in tramlines.crops:
        worked = label.split(" + ")
        rows = [row for row in section.main_rows if row.label in worked]
        offset_m = np.array([row.offset_m for row in rows])
        every_m = np.add.outer(np.arange(tramlines.sets) * tramlines.set_m, offset_m).ravel()
        half_m = np.tile([row.spacing_m / 2 for row in rows], tramlines.sets)
        line = line_under(tramlines, every_m)
        at_m = every_m - (line - line % lines) / lines * tramlines.pattern_m
        for number in np.unique(line % lines):
            own = np.flatnonzero(line % lines == number)
            own = own[np.argsort(at_m[own])]
            cells = np.stack([at_m[own] - half_m[own], at_m[own] + half_m[own]])
            low_m, high_m = float(at_m[own[0]]), float(at_m[own[-1]])
            middle_m = float(middle_of(tramlines, np.array([number]))[0])
            yield Band(low_m, high_m, cells, int(number), middle_m)


def covered_twice(
    section: Section, tramlines: Tramlines, part_m: float, step_m: float
) -> tuple[float, float]:
    """Give the area that a boom covers besides its own, by the meter that ends shift.

    A section works the ground of its crop under it from its first end to its last. Between two
    sections what takes less than a step off shuts none off, but for ends that shift steadily.

    Args:
        section: the set.
        tramlines: the boom's.
        part_m: width that shuts off at once.
        step_m: distance between levels.

    Returns:
        Square meters by the meter that ends shift across, and by that they shift steadily.
    """
    by_shift_m2, by_steady_m2 = 0.0, 0.0
    between_m = np.arange(part_m, tramlines.width_m - WIDTH_M, part_m) - tramlines.width_m / 2
    for band in bands_of(section, tramlines):
        edges_m = [-math.inf, *(band.middle_m + between_m).tolist(), math.inf]
        for begin_m, end_m in pairwise(edges_m):
            cells = np.clip(band.cells, begin_m, end_m)
            cells = cells[:, cells[1] - cells[0] > WIDTH_M]
            if not cells.size:
                continue
            own_m = float((cells[1] - cells[0]).sum())
            low_m, high_m = float(cells[0].min()), float(cells[1].max())
            inner = (low_m > band.low_m) + (high_m < band.high_m)
            wide_m = min(high_m, band.high_m) - max(low_m, band.low_m) - inner * step_m
            by_shift_m2 += own_m * max(wide_m, 0.0) / 2
            by_steady_m2 += own_m * inner * step_m / 2
    return by_shift_m2 / tramlines.pattern_m, by_steady_m2 / tramlines.pattern_m


def lines_prices(section: Section, step_m: float, prices: Iterable[BoomPrices]) -> OnLines:
    """Price the passes on a section's tramlines.

    Args:
        section: the set.
        step_m: distance between levels.
        prices: of each of its tramlines.
    """
    found = OnLines()
    for tramlines, each in zip(section.tramlines, prices, strict=True):
        wide_m = np.array([band.width_m for band in bands_of(section, tramlines)])
        lines = [band.line for band in bands_of(section, tramlines)]
        by_shift_m2, by_steady_m2 = covered_twice(section, tramlines, each.part_m, step_m)
        per_turn = each.turns[lines] / tramlines.pattern_m
        run = each.run_m / tramlines.pattern_m
        found = OnLines(
            per_chord_m=found.per_chord_m + float(per_turn.sum()),
            per_piece=found.per_piece + float(per_turn @ wide_m),
            hole_m=np.append(found.hole_m, wide_m),
            per_hole_m=np.append(found.per_hole_m, per_turn),
            per_shift_m=found.per_shift_m + float(wide_m.sum()) / 2 * run,
            covers_per_shift_m=found.covers_per_shift_m + by_shift_m2 * each.covered_m2,
            per_steady_m=found.per_steady_m + by_steady_m2 * each.covered_m2,
        )
    return found
