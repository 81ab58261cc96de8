"""Draw each machine's passes over strips that follow a line or run in rings."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.frame import Frame
from striplay.layout.across import Across, side_pass_of
from striplay.layout.curved import Curve, CurvedRows
from striplay.layout.pieces import StripPieces
from striplay.section.section import Section, SidePasses, Work
from striplay.tolerances import LENGTH_M

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
    def length_m(self) -> npt.NDArray[np.float64]:
        """Length of each pass."""
        return np.asarray(shapely.length(self.line), dtype=np.float64)

    def lines(self, _: Frame) -> Geometries:
        """Give the passes as driven, on the local plane."""
        return self.line


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
    jobs: dict[tuple[str, str], list[tuple[int, Work]]] = {}
    for index, strip in enumerate(curve.section.strips):
        for work in strip.works:
            jobs.setdefault((work.operation, work.machine), []).append((index, work))
    season = {"plant": 0, "spray": 1, "harvest": 2}
    every = [_over_sides(side, strips, curve) for side in curve.section.side_passes]
    every += [
        CurvedPasses(operation, machine, *_one_machine(listed, strips, rows, curve, through))
        for (operation, machine), listed in jobs.items()
    ]
    return sorted(every, key=lambda passes: season[passes.operation])


def _over_sides(side: SidePasses, strips: StripPieces, curve: Curve) -> CurvedPasses:
    """Draw passes that run side by side over the field, whatever strips lie under them."""
    section, across = curve.section, curve.across
    of_set = across.set_number[across.row_strip]
    number, beyond_m = side_pass_of(side, section, of_set, across.row_kind)
    down = len(number) > 1 and (of_set[0], across.row_kind[0]) > (of_set[1], across.row_kind[1])
    centre_m = across.level_m + (-beyond_m if down else beyond_m)
    _, first = np.unique(number, return_index=True)
    ground = shapely.union_all(strips.polygon)
    cut = curve.lines_in(centre_m[first], shapely.buffer(ground, LENGTH_M))
    lines, which = shapely.get_parts(cut, return_index=True)
    real = shapely.length(lines) > LENGTH_M
    lines, which = lines[real], which[real]
    middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    owner = shapely.STRtree(strips.polygon).nearest(middle) if len(lines) else np.empty(0, int)
    back = np.zeros(len(lines), dtype=bool) if side.one_way else which % 2 == 1
    back ^= not down  # units are told from the planter's left
    lines[back] = shapely.reverse(lines[back])
    crops = np.full(len(lines), " + ".join(section.crops), dtype=object)
    return CurvedPasses(side.operation, side.machine, owner.astype(np.int64), crops, lines)


def _one_machine(
    jobs: list[tuple[int, Work]],
    strips: StripPieces,
    rows: CurvedRows,
    curve: Curve,
    through: shapely.Geometry,
) -> tuple[Integers, Geometries, Geometries]:
    owners, lines, orders, names = [], [], [], []
    across, section = curve.across, curve.section
    crops = list(dict.fromkeys(section.strips[index].crop for index, _ in jobs))
    for index, work in jobs:
        strip = section.strips[index]
        pieces = np.flatnonzero(strips.kind == index)
        turn = crops.index(strip.crop)
        for number, (low_m, high_m) in enumerate(work.spans(strip)):
            at = strips.strip[pieces]
            from_edge_m = (low_m + high_m) / 2
            centre_m = across.low_m[at] + from_edge_m
            if _from_high_edge(across, section, index):
                centre_m = across.high_m[at] - from_edge_m
            cut = curve.lines_in(centre_m, strips.polygon[pieces])
            parts, source = shapely.get_parts(cut, return_index=True)
            real = shapely.length(parts) > LENGTH_M
            met, parts = _driven_on(pieces[source[real]], parts[real], strips, through)
            every = pieces[source[real]]
            beside, line_beside = _beside(
                rows, every, section.rows_of(index, work.layer, low_m, high_m)
            )
            owners += [met, beside]
            lines += [parts, line_beside]
            names += [work.crop or strip.crop] * (len(met) + len(beside))
            orders.append([(turn, int(p), number) for p in np.concatenate([met, beside])])
    keys = np.array([key for some in orders for key in some]).reshape(-1, 3)
    order = np.lexsort((keys[:, 2], keys[:, 1], keys[:, 0]))
    line = np.concatenate(lines)[order]
    line[1::2] = shapely.reverse(line[1::2])
    return np.concatenate(owners)[order], np.array(names, dtype=object)[order], line


def _driven_on(
    owner: Integers, lines: Geometries, strips: StripPieces, through: shapely.Geometry
) -> tuple[Integers, Geometries]:
    """Join the lines of one pass where only ground to lift over lies between them."""
    if through.is_empty or len(lines) < 2:  # noqa: PLR2004 - nothing to join
        return owner, lines
    owners, joined = [], []
    strip = strips.strip[owner]
    for number in np.unique(strip):
        own = np.flatnonzero(strip == number)
        left = list(own[np.argsort(owner[own], kind="stable")])
        while left:
            first = left.pop(0)
            line = lines[first]
            for other in list(left):
                longer = _over(line, lines[other], through)
                if longer is not None:
                    line = longer
                    left.remove(other)
            owners.append(owner[first])
            joined.append(line)
    return np.array(owners, dtype=np.int64), np.array(joined, dtype=object)


def _over(
    one: shapely.Geometry, other: shapely.Geometry, through: shapely.Geometry
) -> shapely.Geometry | None:
    """Join two lines end to end over ground to lift over; None where other ground lies between."""
    points, more = shapely.get_coordinates(one), shapely.get_coordinates(other)
    for before, after in ((points, more), (more, points)):
        gap = shapely.LineString([before[-1], after[0]])
        if gap.length > LENGTH_M and shapely.covers(shapely.buffer(through, BESIDE_M), gap):
            return shapely.LineString(np.concatenate([before, after]))
    return None


BESIDE_M = 0.5
"""A gap is straight and its pass perhaps curved: so far it may lie beside the ground."""


def _from_high_edge(across: Across, section: Section, index: int) -> bool:
    """Say whether a strip's rows are numbered from its farther edge."""
    first = next(i for i, row in enumerate(section.rows) if row.strip == index)
    found = np.flatnonzero(across.row_kind == first)
    if not len(found):
        return False
    strip = across.row_strip[found[0]]
    middle_m = (across.low_m[strip] + across.high_m[strip]) / 2
    return bool(across.level_m[found[0]] > middle_m + LENGTH_M)


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
