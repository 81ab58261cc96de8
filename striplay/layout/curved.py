"""Draw strips that follow a line or run in rings."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.curves import Track
from striplay.geometry.frame import Frame
from striplay.layout.across import Across, row_ground
from striplay.layout.pieces import Pieces, StripPieces
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M, SLIVER_M2

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

DECIMALS = 9
"""Distances are rounded to a nanometre, so that neighbours have the same border."""


@dataclass(frozen=True)
class Curve:
    """A section to sweep along a track.

    Attributes:
        section: the set.
        across: the set repeated, y being the distance from the track.
        track: the curve.
        frame: the direction that strips are numbered along.
        shortest_m: shortest piece of row planted.
        start: the side the first strip lies on, looking along the track.
    """

    section: Section
    across: Across
    track: Track
    frame: Frame
    shortest_m: float
    start: str

    def lines_in(self, distances_m: Floats, ground: Geometries | shapely.Geometry) -> Geometries:
        """Give the lines at some distances inside ground, each perhaps in parts.

        A ring that ground cuts is not also cut where its vertices begin.
        """
        cut = shapely.intersection(self.track.lines(distances_m), ground)
        return np.asarray(shapely.line_merge(cut) if self.track.closed else cut, dtype=object)


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


def draw_curved(inner: shapely.Geometry, curve: Curve) -> tuple[StripPieces, Pieces[CurvedRows]]:
    """Sweep a section along a track.

    A piece of row shorter than the shortest is not planted; the ground it stands for is leftover,
    and so is a piece of strip without a planted row.

    Args:
        inner: land inside the headland, on the local plane.
        curve: what to sweep.

    Returns:
        The strips on the local plane, and all pieces, turned by the curve's frame.
    """
    shapely.prepare(inner)
    across, track, frame = curve.across, curve.track, curve.frame
    low_m, high_m = np.round(across.low_m, DECIMALS), np.round(across.high_m, DECIMALS)
    polygons, strip = _pieces(shapely.intersection(track.bands(low_m, high_m), inner))
    lines, level = shapely.get_parts(curve.lines_in(across.level_m, inner), return_index=True)
    long = shapely.length(lines) >= max(curve.shortest_m, LENGTH_M)
    own_row = np.array(curve.section.own_row)[across.row_kind]
    firm = long | ~own_row[level]
    polygons, strip, bare = _take_off(inner, curve, (polygons, strip), (lines, level, firm))
    lines, level = lines[long], level[long]
    owner = _owner(lines, across.row_strip[level], polygons, strip)
    lines, level, owner = lines[owner >= 0], level[owner >= 0], owner[owner >= 0]

    sown = np.zeros(len(polygons), dtype=bool)
    sown[owner[own_row[level]]] = True
    lines, level, owner = lines[sown[owner]], level[sown[owner]], owner[sown[owner]]
    order, place = _ordered(polygons, strip, sown, frame)
    rest, _ = _pieces(shapely.difference(inner, track.bands(low_m.min()[None], high_m.max()[None])))
    leftover = np.concatenate([polygons[~sown], bare, rest])
    kind = across.row_kind[level]
    by_piece = np.lexsort((kind, place[owner]))
    rows = CurvedRows(
        lines[by_piece],
        np.asarray(shapely.length(lines[by_piece]), dtype=np.float64),
        kind[by_piece],
        place[owner][by_piece],
    )
    strips = _strips(polygons[order], strip[order], rows, curve)
    turned = StripPieces(
        frame.turn_areas(strips.polygon), strips.strip, strips.kind, strips.piece, strips.whole,
        strips.width_m,
    )  # fmt: skip
    return strips, Pieces(turned, rows, frame.turn_areas(leftover))


def _take_off(
    inner: shapely.Geometry,
    curve: Curve,
    strips: tuple[Geometries, Integers],
    rows: tuple[Geometries, Integers, npt.NDArray[np.bool_]],
) -> tuple[Geometries, Integers, Geometries]:
    """Take the ground of rows too short to plant off the strips.

    Args:
        inner: the land.
        curve: what is swept.
        strips: their polygons, and the strip of each.
        rows: their lines, the level of each, and whether it is long enough.

    Returns:
        The polygons that are left, the strip of each, and what was taken.
    """
    polygons, strip = strips
    lines, level, long = rows
    short = np.unique(level[~long & (shapely.length(lines) > LENGTH_M)])
    if not len(short):
        return polygons, strip, np.empty(0, dtype=object)
    low_m, high_m = row_ground(curve.across, curve.section)
    ground = curve.track.bands(np.round(low_m[short], DECIMALS), np.round(high_m[short], DECIMALS))
    cells, which = _pieces(shapely.intersection(ground, inner))
    # a cell is bare where none of its row's pieces in it is planted
    kept = np.array([shapely.union_all(lines[long & (level == one)]) for one in short])
    empty = ~shapely.intersects(cells, kept[which])
    bare, owner = cells[empty], curve.across.row_strip[short][which[empty]]
    for index in np.unique(owner):
        mine = np.flatnonzero(strip == index)
        polygons[mine] = shapely.difference(polygons[mine], shapely.union_all(bare[owner == index]))
    left, source = _pieces(polygons)
    return left, strip[source], bare


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


def _strips(polygons: Geometries, strip: Integers, rows: CurvedRows, curve: Curve) -> StripPieces:
    section = curve.section
    kind = curve.across.kind[strip]
    own = np.array(section.own_row)[rows.kind]
    planted = rows.owner[own] * len(section.rows) + rows.kind[own]
    each = np.unique(planted) // len(section.rows)
    planted = np.bincount(each, minlength=len(strip))
    full = np.array([one.rows for one in section.strips])[kind]
    spacing_m = np.array([one.spacing_m for one in section.strips])[kind]
    piece = np.arange(len(strip)) - np.searchsorted(strip, strip) + 1
    return StripPieces(polygons, strip, kind, piece, planted == full, planted * spacing_m)
