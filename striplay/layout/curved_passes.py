"""Draw each machine's passes over strips that follow a line or run in rings."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.layout.curved import Curve, CurvedRows
from striplay.layout.curved_lines import driven_on, in_order, runs_of_rows
from striplay.layout.pieces import StripPieces
from striplay.layout.side_passes import driven_back, side_crops, side_pass_of, side_rows
from striplay.section.section import SidePasses, Work
from striplay.tolerances import LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class CurvedPasses:
    """Passes of one machine along a curve, in the order driven.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        owner: index of the strip piece each goes over, the first if it is several, (n,).
        crop: what it plants, sprays or harvests, (n,).
        line: the machine's centre as driven, on the local plane, (n,).
    """

    operation: str
    machine: str
    owner: Integers
    crop: Geometries
    line: Geometries

    @property
    def length_m(self) -> Floats:
        """Length of each pass."""
        return np.asarray(shapely.length(self.line), dtype=np.float64)

    def lines(self, _: Frame) -> Geometries:
        """Give the passes as driven, on the local plane."""
        return self.line


@dataclass(frozen=True)
class _Swept:
    """What was swept, and what passes are drawn over.

    Attributes:
        strips: pieces of strips on the local plane.
        rows: their rows.
        curve: what was swept.
        through: obstacles that machines lift over and drive on.
    """

    strips: StripPieces
    rows: CurvedRows
    curve: Curve
    through: shapely.Geometry


def curved_passes(
    strips: StripPieces, rows: CurvedRows, curve: Curve, through: shapely.Geometry
) -> list[CurvedPasses]:
    """Draw each machine's passes, crop by crop, back and forth.

    Args:
        strips: pieces of strips on the local plane.
        rows: their rows.
        curve: what was swept.
        through: obstacles that machines lift over and drive on.
    """
    swept = _Swept(strips, rows, curve, through)
    jobs: dict[tuple[str, str], list[tuple[int, Work]]] = {}
    for index, strip in enumerate(curve.section.strips):
        for work in strip.works:
            jobs.setdefault((work.operation, work.machine), []).append((index, work))
    season = {"plant": 0, "spray": 1, "harvest": 2}
    every = [_over_sides(side, swept) for side in curve.section.side_passes]
    every += [
        CurvedPasses(operation, machine, *_one_machine(listed, swept))
        for (operation, machine), listed in jobs.items()
    ]
    return sorted(every, key=lambda passes: season[passes.operation])


def _over_sides(side: SidePasses, swept: _Swept) -> CurvedPasses:
    """Draw passes that run side by side over the field, whatever strips lie under them."""
    curve, strips, rows = swept.curve, swept.strips, swept.rows
    section, across = curve.section, curve.across
    worked = np.flatnonzero(side_rows(side, section)[rows.kind])
    kind, strip = rows.kind[worked], strips.strip[rows.owner[worked]]
    number, beyond_m = side_pass_of(side, section, across.set_number[strip], kind)
    in_strip_m = np.array([row.offset_m - section.strips[row.strip].left_m for row in section.rows])
    if curve.start == "left":
        centre_m = across.high_m[strip] - in_strip_m[kind] - beyond_m
    else:
        centre_m = across.low_m[strip] + in_strip_m[kind] + beyond_m
    number, lines = runs_of_rows(curve.track, number, centre_m, rows.line[worked])
    first, lines = driven_on(lines, number, swept.through)
    number = number[first]
    order, lines = in_order(lines, number, driven_back(side, section, number, curve.start), curve)
    middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    owner = shapely.STRtree(strips.polygon).nearest(middle) if len(lines) else order
    crops = np.full(len(lines), side_crops(side, section), dtype=object)
    return CurvedPasses(side.operation, side.machine, owner.astype(np.int64), crops, lines)


def _one_machine(
    jobs: list[tuple[int, Work]], swept: _Swept
) -> tuple[Integers, Geometries, Geometries]:
    """Draw one machine's passes over strips, crop by crop.

    Returns:
        The piece of strip, the crop and the line of each.
    """
    section, curve = swept.curve.section, swept.curve
    crops = list(dict.fromkeys(work.crop or section.strips[i].crop for i, work in jobs))
    owners, lines, keys, names = [], [], [], []
    for index, work in jobs:
        strip = section.strips[index]
        for number, span_m in enumerate(work.spans(strip)):
            owner, line = _over_strip(index, work, span_m, swept)
            owners.append(owner)
            lines.append(line)
            names += [work.crop or strip.crop] * len(line)
            own = np.array([crops.index(work.crop or strip.crop), work.layer, number])
            turn, layer, which = np.repeat(own[:, None], len(owner), axis=1)
            keys.append(np.stack([turn, swept.strips.strip[owner], layer, which]))
    _, key = np.unique(np.concatenate(keys, axis=1), axis=1, return_inverse=True)
    order, line = in_order(np.concatenate(lines), key.reshape(-1), None, curve)
    return np.concatenate(owners)[order], np.array(names, dtype=object)[order], line


def _over_strip(
    index: int, work: Work, span_m: tuple[float, float], swept: _Swept
) -> tuple[Integers, Geometries]:
    """Draw one of a work's passes over all pieces of a strip of the set, each along the track.

    A piece that has rows to work, and that the pass's middle misses, is driven along its longest
    row.

    Returns:
        The piece under each, the first of several, and its line.
    """
    strips, rows, curve = swept.strips, swept.rows, swept.curve
    pieces = np.flatnonzero(strips.kind == index)
    at = strips.strip[pieces]
    from_edge_m = (span_m[0] + span_m[1]) / 2 + work.shift_m
    centre_m = curve.across.low_m[at] + from_edge_m
    if curve.start == "left":
        centre_m = curve.across.high_m[at] - from_edge_m
    cut = curve.lines_in(centre_m, strips.polygon[pieces])
    lines, source = shapely.get_parts(cut, return_index=True)
    real = shapely.length(lines) > LENGTH_M
    lines, owner = lines[real], pieces[source[real]]
    kinds = curve.section.rows_of(index, work.layer, *span_m)
    missed, beside = _beside(rows, owner, kinds)
    first, lines = driven_on(lines, strips.strip[owner], swept.through)
    return np.concatenate([owner[first], missed]), np.concatenate([lines, beside])


def _beside(
    rows: CurvedRows, met: Integers, kinds: tuple[bool, ...]
) -> tuple[Integers, Geometries]:
    """Give the passes whose centre misses a piece that has rows to work: along its longest row.

    Args:
        rows: all planted rows.
        met: the pieces that the pass's centre meets.
        kinds: which rows of the section the pass works.
    """
    missed = np.flatnonzero(np.array(kinds)[rows.kind] & ~np.isin(rows.owner, met))
    longest = missed[np.lexsort((-rows.length_m[missed], rows.owner[missed]))]
    piece, first = np.unique(rows.owner[longest], return_index=True)
    return piece, rows.line[longest[first]]
