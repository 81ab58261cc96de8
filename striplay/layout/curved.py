"""Draw strips that follow a line or run in rings."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.curves import Track
from striplay.geometry.frame import Frame
from striplay.layout.across import Across
from striplay.layout.drawn import DrawnBlock
from striplay.layout.pieces import Pieces, StripPieces
from striplay.section.section import Section, Work
from striplay.tolerances import LENGTH_M, SLIVER_M2

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


DECIMALS = 9
"""Distances are rounded to a nanometre, so that neighbours have the same border."""


@dataclass(frozen=True)
class CurvedRows:
    """Planted pieces of rows along a curve.

    Attributes:
        line: each, on the local plane, (k,).
        length_m: its length, (k,).
        kind: index of the row in the section, (k,).
        owner: index of the strip piece it lies in, (k,).
    """

    line: Geometries
    length_m: Floats
    kind: Integers
    owner: Integers

    def lines(self, _: Frame, chosen: npt.NDArray[np.bool_]) -> Geometries:
        """Give some of the rows on the local plane."""
        return self.line[chosen]


@dataclass(frozen=True)
class CurvedPasses:
    """Passes of one machine along a curve, in the order driven.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name in the plan.
        owner: index of the strip piece each goes over, (n,).
        line: the machine's centre as driven, on the local plane, (n,).
    """

    operation: str
    machine: str
    owner: Integers
    line: Geometries

    @property
    def length_m(self) -> Floats:
        """Length of each pass."""
        return np.asarray(shapely.length(self.line), dtype=np.float64)

    def lines(self, _: Frame) -> Geometries:
        """Give the passes as driven, on the local plane."""
        return self.line


def draw_curved(
    inner: shapely.Geometry,
    section: Section,
    across: Across,
    track: Track,
    frame: Frame,
    shortest_m: float,
) -> DrawnBlock:
    """Sweep a section along a track.

    A piece of row shorter than `shortest_m` is not planted; a piece of strip without a planted row
    is leftover.

    Args:
        inner: land inside the headland, on the local plane.
        section: the set.
        across: the set repeated, y being the distance from the track.
        track: the curve.
        frame: the direction that strips are numbered along.
        shortest_m: shortest piece of row planted.
    """
    shapely.prepare(inner)
    low_m, high_m = np.round(across.low_m, DECIMALS), np.round(across.high_m, DECIMALS)
    bands = track.bands(low_m, high_m)
    polygons, strip = _pieces(shapely.intersection(bands, inner))
    lines, level = shapely.get_parts(
        shapely.intersection(track.lines(across.level_m), inner), return_index=True
    )
    long = shapely.length(lines) >= max(shortest_m, LENGTH_M)
    lines, level = lines[long], level[long]
    owner = _owner(lines, across.row_strip[level], polygons, strip)
    lines, level, owner = lines[owner >= 0], level[owner >= 0], owner[owner >= 0]

    sown = np.zeros(len(polygons), dtype=bool)
    sown[owner] = True
    order, place = _ordered(polygons, strip, sown, frame)
    rest, _ = _pieces(shapely.difference(inner, track.bands(low_m.min()[None], high_m.max()[None])))
    leftover = np.concatenate([polygons[~sown], rest])
    kind = across.row_kind[level]
    by_piece = np.lexsort((kind, place[owner]))
    rows = CurvedRows(
        lines[by_piece],
        np.asarray(shapely.length(lines[by_piece]), dtype=np.float64),
        kind[by_piece],
        place[owner][by_piece],
    )
    strips = _strips(polygons[order], strip[order], rows, section, across)
    turned = StripPieces(
        frame.turn_areas(strips.polygon), strips.strip, strips.kind, strips.piece, strips.whole,
        strips.width_m,
    )  # fmt: skip
    pieces = Pieces(turned, rows, frame.turn_areas(leftover))
    passes = _passes(strips, rows, section, across, track)
    return DrawnBlock(frame, inner, across, pieces, passes)


def _pieces(geometries: Geometries) -> tuple[Geometries, Integers]:
    parts, source = shapely.get_parts(geometries, return_index=True)
    nested, again = shapely.get_parts(parts, return_index=True)
    real = shapely.area(nested) > SLIVER_M2
    return nested[real], source[again][real].astype(np.int64)


def _owner(
    lines: Geometries, strip_of_line: Integers, polygons: Geometries, strip: Integers
) -> Integers:
    """Give the piece of its own strip that each line lies in; -1 where there is none."""
    owner = np.full(len(lines), -1, dtype=np.int64)
    if len(lines) and len(polygons):
        middle = shapely.line_interpolate_point(lines, 0.5, normalized=True)
        line, piece = shapely.STRtree(polygons).query(middle, predicate="dwithin", distance=1e-6)
        own = strip[piece] == strip_of_line[line]
        owner[line[own]] = piece[own]
    return owner


def _ordered(
    polygons: Geometries, strip: Integers, sown: npt.NDArray[np.bool_], frame: Frame
) -> tuple[Integers, Integers]:
    """Order the sown pieces by strip and along travel; give also each one's place in the order."""
    chosen = np.flatnonzero(sown)
    points = shapely.get_coordinates(shapely.point_on_surface(polygons[chosen]))
    along = frame.turn_points(points)[:, 0] if len(points) else np.empty(0)
    order = chosen[np.lexsort((along, strip[chosen]))]
    place = np.full(len(polygons), -1, dtype=np.int64)
    place[order] = np.arange(len(order))
    return order, place


def _strips(
    polygons: Geometries, strip: Integers, rows: CurvedRows, section: Section, across: Across
) -> StripPieces:
    kind = across.kind[strip]
    each = np.unique(rows.owner * len(section.rows) + rows.kind) // len(section.rows)
    planted = np.bincount(each, minlength=len(strip))
    full = np.array([one.rows for one in section.strips])[kind]
    spacing_m = np.array([one.spacing_m for one in section.strips])[kind]
    piece = np.arange(len(strip)) - np.searchsorted(strip, strip) + 1
    return StripPieces(polygons, strip, kind, piece, planted == full, planted * spacing_m)


def _passes(
    strips: StripPieces, rows: CurvedRows, section: Section, across: Across, track: Track
) -> list[CurvedPasses]:
    """Draw each machine's passes, crop by crop, back and forth."""
    jobs: dict[tuple[str, str], list[tuple[int, Work]]] = {}
    for index, strip in enumerate(section.strips):
        for work in strip.works:
            jobs.setdefault((work.operation, work.machine), []).append((index, work))
    season = {"plant": 0, "spray": 1, "harvest": 2}
    return [
        CurvedPasses(*key, *_one_machine(jobs[key], strips, rows, section, across, track))
        for key in sorted(jobs, key=lambda key: season[key[0]])
    ]


def _one_machine(
    jobs: list[tuple[int, Work]],
    strips: StripPieces,
    rows: CurvedRows,
    section: Section,
    across: Across,
    track: Track,
) -> tuple[Integers, Geometries]:
    owners, lines, orders = [], [], []
    crops = list(dict.fromkeys(section.strips[index].crop for index, _ in jobs))
    for index, work in jobs:
        strip = section.strips[index]
        pieces = np.flatnonzero(strips.kind == index)
        for number, (low_m, high_m) in enumerate(work.spans(strip)):
            at = strips.strip[pieces]
            from_edge_m = (low_m + high_m) / 2
            centre_m = across.low_m[at] + from_edge_m
            if _from_high_edge(across, section, index):
                centre_m = across.high_m[at] - from_edge_m
            cut = shapely.intersection(track.lines(centre_m), strips.polygon[pieces])
            parts, source = shapely.get_parts(cut, return_index=True)
            real = shapely.length(parts) > LENGTH_M
            beside, line_beside = _beside(rows, pieces[source[real]], section, index, low_m, high_m)
            owners += [pieces[source[real]], beside]
            lines += [parts[real], line_beside]
            turn = crops.index(strip.crop)
            orders.append([(turn, int(p), number) for p in np.concatenate(owners[-2:])])
    keys = np.array([key for some in orders for key in some]).reshape(-1, 3)
    order = np.lexsort((keys[:, 2], keys[:, 1], keys[:, 0]))
    line = np.concatenate(lines)[order]
    line[1::2] = shapely.reverse(line[1::2])
    return np.concatenate(owners)[order], line


def _from_high_edge(across: Across, section: Section, index: int) -> bool:
    """Say whether a strip's rows are numbered from its farther edge."""
    first = next(i for i, row in enumerate(section.rows) if row.strip == index)
    some = int(np.flatnonzero(across.row_kind == first)[0])
    strip = across.row_strip[some]
    middle_m = (across.low_m[strip] + across.high_m[strip]) / 2
    return bool(across.level_m[some] > middle_m + LENGTH_M)


def _beside(
    rows: CurvedRows, met: Integers, section: Section, index: int, low_m: float, high_m: float
) -> tuple[Integers, Geometries]:
    """Give the passes whose centre misses a piece that has rows to work: along its longest row.

    Args:
        rows: all planted rows.
        met: the pieces that the pass's centre meets.
        section: the set.
        index: the strip's place in it.
        low_m: where the pass begins, from the strip's edge.
        high_m: where it ends.
    """
    spacing_m = section.strips[index].spacing_m
    at_m = np.array([(row.number - 0.5) * spacing_m for row in section.rows])
    own = np.array([row.strip == index for row in section.rows])
    worked = (own & (at_m > low_m) & (at_m < high_m))[rows.kind]
    missed = np.flatnonzero(worked & ~np.isin(rows.owner, met))
    longest = missed[np.lexsort((-rows.length_m[missed], rows.owner[missed]))]
    piece, first = np.unique(rows.owner[longest], return_index=True)
    return piece, rows.line[longest[first]]
