"""Sweep the section over the land: pieces of strips, pieces of rows, and what is left over."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry import overlay
from striplay.geometry.path import Path
from striplay.geometry.slivers import real_parts
from striplay.geometry.sweep import Chords
from striplay.layout.across import Across, row_ground
from striplay.section.section import Section
from striplay.tolerances import FULL_WIDTH_M, LENGTH_M, WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]


@dataclass(frozen=True)
class StripPieces:
    """Pieces of strips, in order of strip and then along travel.

    Attributes:
        polygon: each piece, on its path's own plane, (n,).
        strip: index of its strip across the land, from 0, (n,).
        kind: index of its strip in the section, (n,).
        piece: its number within the strip, from 1, (n,).
        whole: whether all its strip's own rows run side by side somewhere along it, (n,).
        width_m: its width across, where it is widest, (n,).
    """

    polygon: Geometries
    strip: Integers
    kind: Integers
    piece: Integers
    whole: Bools
    width_m: Floats


@dataclass(frozen=True)
class RowPieces:
    """Planted pieces of rows, in order of strip, row and then along travel.

    Attributes:
        begin: where each begins along the path, (k,).
        end: where it ends; beyond once round where it runs over a ring's north, (k,).
        across_m: its distance across, (k,).
        length_m: its true length, (k,).
        kind: index of the row in the section, (k,).
        owner: index of the strip piece it lies in, (k,).
    """

    begin: Floats
    end: Floats
    across_m: Floats
    length_m: Floats
    kind: Integers
    owner: Integers

    def chosen(self, those: Bools | Integers) -> "RowPieces":
        """Give some of them."""
        return RowPieces(
            self.begin[those],
            self.end[those],
            self.across_m[those],
            self.length_m[those],
            self.kind[those],
            self.owner[those],
        )

    def lines(self, path: Path, those: Bools) -> Geometries:
        """Give some of them on the local plane, along travel."""
        return path.lines(self.begin[those], self.end[those], self.across_m[those])


@dataclass(frozen=True)
class Pieces:
    """All that the sweep gives; ground as polygons on the path's own plane.

    Attributes:
        strips: pieces of strips.
        rows: their planted rows.
        leftover: ground that is not planted.
        narrow: pieces of strips too narrow to be planted as such.
    """

    strips: StripPieces
    rows: RowPieces
    leftover: Geometries
    narrow: Geometries


def sweep_section(
    land: shapely.Geometry,
    section: Section,
    across: Across,
    path: Path,
    *,
    shortest_m: float,
    narrowest_m: Floats,
    bare: Geometries,
) -> Pieces:
    """Sweep a section over land.

    A piece of row shorter than `shortest_m` is not planted. The ground it stands for becomes
    leftover, and so does a piece of strip without a planted row.

    Args:
        land: inside the headland, on the path's own plane.
        section: the set.
        across: the set repeated over the land.
        path: what rows follow.
        shortest_m: shortest piece of row planted.
        narrowest_m: of each strip of the section, how wide the rows side by side must be at least
            for a piece to be planted.
        bare: ground taken off the land before, to be leftover too.
    """
    made = path.bands(land, across.low_m, across.high_m)
    found = path.cut(made.polygon, made.band, across.level_m, across.row_strip)
    lengths_m = path.lengths_m(found.start_x_m, found.end_x_m, across.level_m[found.level])
    own_row = np.array(section.own_row)[across.row_kind]
    short = (lengths_m < shortest_m) & own_row[found.level]
    cells = _short_cells(found, across, section, path, short, made.polygon)
    polygons, strip, leftover = _take_off(made.polygon, made.band, cells, found.owner[short])
    if short.any():
        found = path.cut(polygons, strip, across.level_m, across.row_strip)
        lengths_m = path.lengths_m(found.start_x_m, found.end_x_m, across.level_m[found.level])
    rows = RowPieces(
        found.start_x_m,
        found.end_x_m,
        across.level_m[found.level],
        lengths_m,
        across.row_kind[found.level],
        found.owner,
    ).chosen(lengths_m >= shortest_m - LENGTH_M)
    sown = np.zeros(len(polygons), dtype=bool)
    sown[rows.owner[np.array(section.own_row)[rows.kind]]] = True
    beside = side_by_side(rows, section, path, len(polygons))
    kind = across.kind[strip]
    spacing_m = np.array([one.spacing_m for one in section.strips])
    whole = beside >= np.array([one.rows for one in section.strips])[kind]
    wide_m = np.array([one.width_m for one in section.strips])[kind]
    width_m = np.where(whole, wide_m, np.minimum(beside * spacing_m[kind], wide_m))
    # too narrow by its rows, as the search reckons; an outer row may stand at the ground's edge
    narrow = sown & ~whole & (width_m < narrowest_m[kind] - WIDTH_M)
    cut = np.flatnonzero(sown & ~whole)
    width_m[cut] = np.minimum(width_m[cut], path.widths_m(polygons[cut]))
    kept = sown & ~narrow
    outside = path.outside(land, float(across.low_m.min()), float(across.high_m.max()))
    shared = path.share_borders(
        np.concatenate([polygons[kept], polygons[narrow], polygons[~sown], leftover, outside, bare])
    )
    count, thin = int(kept.sum()), int(narrow.sum())
    ordered = np.lexsort((path.order(shared[:count]), strip[kept]))
    strips = StripPieces(
        polygon=shared[:count][ordered],
        strip=strip[kept][ordered],
        kind=kind[kept][ordered],
        piece=_numbers(strip[kept][ordered]),
        whole=whole[kept][ordered],
        width_m=width_m[kept][ordered],
    )
    place = np.full(len(polygons), -1, dtype=np.int64)
    place[np.flatnonzero(kept)[ordered]] = np.arange(count)
    planted = rows.chosen(kept[rows.owner])
    return Pieces(
        strips,
        _by_piece(planted, place[planted.owner]),
        leftover=shared[count + thin :],
        narrow=shared[count : count + thin],
    )


def side_by_side(rows: RowPieces, section: Section, path: Path, count: int) -> Integers:
    """Count how many of a piece's own rows run side by side, where they are most.

    Args:
        rows: planted rows.
        section: the set.
        path: what they follow.
        count: of the pieces.
    """
    own = rows.chosen(np.array(section.own_row)[rows.kind])
    least = np.zeros(len(own.begin)) + FULL_WIDTH_M
    begin = path.moved(own.begin, own.across_m, np.minimum(least, own.length_m) / 2)
    end = path.moved(own.end, own.across_m, -np.minimum(least, own.length_m) / 2)
    if path.around is not None:  # on either side of a ring's north
        begin, end = (np.concatenate([values, values - path.around]) for values in (begin, end))
        own = own.chosen(np.tile(np.arange(len(own.begin)), 2))
    begins = np.concatenate([np.ones(len(begin), int), -np.ones(len(end), int)])
    at, owner = np.concatenate([begin, end]), np.tile(own.owner, 2)
    order = np.lexsort((-begins, at, owner))
    depth = np.cumsum(begins[order])  # each piece's rows all end before the next one's begin
    most = np.zeros(count, dtype=np.int64)
    np.maximum.at(most, owner[order], depth)
    return most


def _short_cells(
    found: Chords,
    across: Across,
    section: Section,
    path: Path,
    short: Bools,
    polygons: Geometries,
) -> Geometries:
    """Give the ground each unplanted chord stands for.

    The cell is as high as the row's ground, at the strip's first and last row as far as the
    strip's edge, and reaches half-way to the row's next chord, in the same piece of strip, on
    either side; round a center no farther than that piece does, for a ring has many vertices.
    """
    if not short.any():
        return np.empty(0, dtype=object)
    low_m, high_m = row_ground(across, section)
    begin, end = found.start_x_m, found.end_x_m
    same = (found.level[1:] == found.level[:-1]) & (found.owner[1:] == found.owner[:-1])
    middle = (end[:-1] + begin[1:]) / 2
    far = 1.0 + np.max(np.abs(end), initial=0.0) + np.ptp(np.append(begin, 0))
    first, last = np.append(True, ~same), np.append(~same, True)
    left = np.where(first, begin - far, np.append(0.0, middle))[: len(begin)]
    right = np.where(last, end + far, np.append(middle, 0.0))[: len(begin)]
    if path.around is not None:  # half-way to the row's last chord, or its own other side
        run = np.cumsum(first) - 1
        opening, closing = begin[np.flatnonzero(first)], end[np.flatnonzero(last)]
        seam = (closing + opening + path.around) / 2
        left, right = (
            np.where(first, seam[run] - path.around, left),
            np.where(last, seam[run], right),
        )
    level, middles = found.level[short], ((begin + end) / 2)[short]
    first_at, last_at = path.reach(polygons[found.owner[short]], middles)
    left, right = np.maximum(left[short], first_at), np.minimum(right[short], last_at)
    return path.cells(left, right, low_m[level], high_m[level])


def _take_off(
    polygons: Geometries, band: Integers, cells: Geometries, owner: Integers
) -> tuple[Geometries, Integers, Geometries]:
    """Take cells off the polygons that own them.

    Returns:
        The polygons that are left, the band of each, and what was taken.
    """
    affected = np.unique(owner)
    if not affected.size:
        return polygons, band, np.empty(0, dtype=object)
    order = np.argsort(owner, kind="stable")
    groups = np.split(cells[order], np.flatnonzero(np.diff(owner[order])) + 1)
    unions = np.array([overlay.union_all(group) for group in groups], dtype=object)
    whole_m2 = float(shapely.area(polygons).sum())
    rest, of = real_parts(overlay.difference(polygons[affected], unions), whole_m2)
    taken, _ = real_parts(overlay.intersection(polygons[affected], unions), whole_m2)
    untouched = np.ones(len(polygons), dtype=bool)
    untouched[affected] = False
    joined = np.concatenate([polygons[untouched], rest])
    joined_band = np.concatenate([band[untouched], band[affected][of]])
    by_band = np.argsort(joined_band, kind="stable")
    return joined[by_band], joined_band[by_band], taken


def _numbers(strip: Integers) -> Integers:
    """Number the pieces of each strip, from 1."""
    return np.arange(len(strip)) - np.searchsorted(strip, strip) + 1


def _by_piece(rows: RowPieces, owner: Integers) -> RowPieces:
    """Order planted rows by piece of strip, row, and along travel."""
    order = np.lexsort((rows.begin, rows.kind, owner))
    return replace(rows, owner=owner).chosen(order)
