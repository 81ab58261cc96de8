"""List the strips by number across the field: their pieces each by itself, and their seed."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.accounts.count import PieceFigures
from striplay.accounts.sowings import Seed, seed_of
from striplay.laid import Laid
from striplay.plan.models import Plan
from striplay.section.section import Layer

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SownLine:
    """What of one crop is sown in a strip or a piece of it.

    Attributes:
        layer: the crop, and how it came there.
        rows: planted rows of each piece; None where openers are not given.
        seed: in all its pieces; parts of it NaN where not known.
    """

    layer: Layer
    rows: tuple[int | None, ...]
    seed: Seed


@dataclass(frozen=True, slots=True)
class StripLine:
    """A strip, or one piece of it; its pieces in order along travel.

    Attributes:
        number: across the field, from 1.
        block: index of its block.
        label: its crop or mixture.
        pieces: their numbers.
        rows: planted rows of each, of its own crop; None where openers are not given.
        width_m: of each, where it is widest.
        length_m: of each, the mean of its rows; of nominal rows, area by width.
        area_m2: in all.
        whole: whether no piece is cut along its length.
        sown: what is sown in it, its own first.
    """

    number: int
    block: int
    label: str
    pieces: tuple[int, ...]
    rows: tuple[int | None, ...]
    width_m: tuple[float, ...]
    length_m: tuple[float, ...]
    area_m2: float
    whole: bool
    sown: tuple[SownLine, ...]

    @property
    def own(self) -> tuple[SownLine, ...]:
        """What is sown as its own crop or mixture."""
        return tuple(one for one in self.sown if one.layer.number == 0)

    @property
    def between(self) -> tuple[SownLine, ...]:
        """What is sown between its rows."""
        return tuple(one for one in self.sown if one.layer.number)


def strip_lines(plan: Plan, laid: Laid, figures: PieceFigures) -> tuple[StripLine, ...]:
    """List every strip by number across the field, all blocks in turn.

    Args:
        plan: rates and units.
        laid: the strips.
        figures: of each piece.
    """
    return tuple(_line(plan, laid, figures, *one) for one in _strips(laid))


def piece_lines(plan: Plan, laid: Laid, figures: PieceFigures) -> tuple[StripLine, ...]:
    """List every piece of every strip likewise, each as a line of its own."""
    return tuple(
        _line(plan, laid, figures, block, number, those[at : at + 1])
        for block, number, those in _strips(laid)
        for at in range(len(those))
    )


def _strips(laid: Laid) -> list[tuple[int, int, npt.NDArray[np.int64]]]:
    """Give the block, the number and the pieces of each strip, pieces counted over all blocks."""
    found = []
    before = 0
    for index, block in enumerate(laid.blocks):
        numbers = block.strip_number
        found += [
            (index, int(number), before + np.flatnonzero(numbers == number))
            for number in np.unique(numbers)
        ]
        before += len(numbers)
    return found


def _line(
    plan: Plan,
    laid: Laid,
    figures: PieceFigures,
    block: int,
    number: int,
    those: npt.NDArray[np.int64],
) -> StripLine:
    strips, section = laid.blocks[block].pieces.strips, laid.section
    mine = those - sum(len(one.pieces.strips.strip) for one in laid.blocks[:block])
    kind = int(strips.kind[mine[0]])
    strip = section.strips[kind]
    width_m, area_m2 = strips.width_m[mine], figures.area_m2[those]
    rows, long_m = figures.rows[those], figures.row_length_m[those]
    length_m = np.where(long_m > 0, long_m / np.maximum(rows, 1), area_m2 / width_m)
    sown = []
    for order, layer in enumerate(section.layers):
        if any(layer in row.sown for row in section.rows if row.strip == kind):
            seed = seed_of(plan, layer, figures.sown_m2[those, order])
            amounts = (float(np.sum(each)) for each in (seed.seeds, seed.seed_units, seed.seed_kg))
            planted = _counted(figures.sown_rows[those, order], known=section.counts(kind, layer))
            sown.append(SownLine(layer, planted, Seed(*amounts)))
    return StripLine(
        number=number,
        block=block,
        label=strip.crop,
        pieces=tuple(strips.piece[mine].tolist()),
        rows=_counted(rows, known=strip.counted),
        width_m=tuple(width_m.tolist()),
        length_m=tuple(length_m.tolist()),
        area_m2=float(area_m2.sum()),
        whole=bool(strips.whole[mine].all()),
        sown=tuple(sown),
    )


def _counted(rows: npt.NDArray[np.int64], *, known: bool) -> tuple[int | None, ...]:
    return tuple(rows.tolist()) if known else (None,) * len(rows)
