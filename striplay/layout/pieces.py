"""Sweep the section over the land: pieces of strips, pieces of rows, and what is left over."""

from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.borders import share_borders
from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.reach import reaches_across
from striplay.geometry.sweep import Chords, bands, chords
from striplay.layout.across import Across, row_ground
from striplay.section.section import Section
from striplay.tolerances import LENGTH_M, SLIVER_M2

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]
Lines = npt.NDArray[np.object_]


def lines_along(frame: Frame, start_x_m: Floats, end_x_m: Floats, y_m: Floats) -> Lines:
    """Give straight lines along travel, turned back onto the plane."""
    points = np.column_stack([start_x_m, y_m, end_x_m, y_m]).reshape(-1, 2)
    lines = shapely.linestrings(frame.turn_points_back(points).reshape(-1, 2, 2))
    return np.asarray(lines, dtype=object)


@dataclass(frozen=True)
class StripPieces:
    """Pieces of strips, in order of strip and then along travel.

    Attributes:
        polygon: each piece, turned so that travel runs along x, (n,).
        strip: index of its strip across the land, from 0, (n,).
        kind: index of its strip in the section, (n,).
        piece: its number within the strip, from 1, (n,).
        whole: whether it is as wide as its strip somewhere along its length, (n,).
        width_m: its width across, (n,).
    """

    polygon: Geometries
    strip: Integers
    kind: Integers
    piece: Integers
    whole: npt.NDArray[np.bool_]
    width_m: Floats


@dataclass(frozen=True)
class RowPieces:
    """Planted pieces of rows, in order of strip, row and then along travel.

    Attributes:
        start_x_m: lesser x, along travel, (k,).
        end_x_m: greater x, (k,).
        y_m: y of the row, (k,).
        kind: index of the row in the section, (k,).
        owner: index of the strip piece it lies in, (k,).
    """

    start_x_m: Floats
    end_x_m: Floats
    y_m: Floats
    kind: Integers
    owner: Integers

    @property
    def length_m(self) -> Floats:
        """Length of each piece."""
        return self.end_x_m - self.start_x_m

    def lines(self, frame: Frame, chosen: npt.NDArray[np.bool_]) -> Lines:
        """Give some of the rows on the local plane, along travel."""
        return lines_along(frame, self.start_x_m[chosen], self.end_x_m[chosen], self.y_m[chosen])


class RowLines(Protocol):
    """Planted pieces of rows, straight or along a curve."""

    @property
    def kind(self) -> Integers:
        """Index of the row in the section."""

    @property
    def owner(self) -> Integers:
        """Index of the strip piece it lies in."""

    @property
    def length_m(self) -> Floats:
        """Length of each."""

    def lines(self, frame: Frame, chosen: npt.NDArray[np.bool_]) -> Lines:
        """Give some of them on the local plane."""


RowsT_co = TypeVar("RowsT_co", bound=RowLines, covariant=True)


@dataclass(frozen=True)
class Pieces(Generic[RowsT_co]):
    """All that the sweep gives; leftover as polygons."""

    strips: StripPieces
    rows: RowsT_co
    leftover: Geometries


def sweep_section(
    land: shapely.Geometry, section: Section, across: Across, shortest_m: float
) -> Pieces[RowPieces]:
    """Sweep a section over land.

    A piece of row shorter than `shortest_m` is not planted. The ground it stands for becomes
    leftover, and so does a piece of strip without a planted row.

    Args:
        land: inside the headland, turned so that travel runs along x.
        section: the set.
        across: the set repeated over the land.
        shortest_m: shortest piece of row planted.
    """
    cut = bands(land, across.low_m, across.high_m)
    found = chords(edges_of(cut.polygon), across.level_m)
    own_row = np.array(section.own_row)[across.row_kind]
    short = (found.length_m < shortest_m) & own_row[found.level]
    cells = _short_cells(found, across, section, short)
    polygons, strip, leftover = _take_off(cut.polygon, cut.band, cells, found.owner[short])

    kept = chords(edges_of(polygons), across.level_m) if short.any() else found
    kept = _only(kept, kept.length_m >= shortest_m - LENGTH_M)
    sown = np.zeros(len(polygons), dtype=bool)
    sown[kept.owner[own_row[kept.level]]] = True
    kept = _only(kept, sown[kept.owner])
    leftover = np.concatenate([leftover, polygons[~sown]])
    shared = share_borders(np.concatenate([polygons[sown], leftover]))
    kept_count = int(sown.sum())
    leftover = shared[kept_count:]
    order, strips = _number(shared[:kept_count], strip[sown], across)
    place = np.empty(len(polygons), dtype=np.int64)
    place[np.flatnonzero(sown)[order]] = np.arange(len(order))
    return Pieces(strips, _rows(kept, across, place[kept.owner]), leftover)


def _only(found: Chords, chosen: npt.NDArray[np.bool_]) -> Chords:
    return Chords(
        found.level[chosen], found.start_x_m[chosen], found.end_x_m[chosen], found.owner[chosen]
    )


def _short_cells(
    found: Chords, across: Across, section: Section, short: npt.NDArray[np.bool_]
) -> Geometries:
    """Give the ground each unplanted chord stands for.

    The cell is as high as the row's ground, at the strip's first and last row as far as the
    strip's edge, and reaches half-way to the row's next chord, in the same piece of strip, on
    either side.
    """
    low_m, high_m = row_ground(across, section)
    same = (found.level[1:] == found.level[:-1]) & (found.owner[1:] == found.owner[:-1])
    middle_m = (found.end_x_m[:-1] + found.start_x_m[1:]) / 2
    far_m = 1.0 + np.max(np.abs(found.end_x_m), initial=0.0) + np.ptp(np.append(found.start_x_m, 0))
    left_m = np.concatenate([[-far_m], np.where(same, middle_m, -far_m)])[: len(found.level)]
    right_m = np.append(np.where(same, middle_m, far_m), far_m)[: len(found.level)]
    level = found.level[short]
    cells = shapely.box(left_m[short], low_m[level], right_m[short], high_m[level])
    return np.asarray(cells, dtype=object)


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
    unions = np.array([shapely.union_all(group) for group in groups], dtype=object)
    rest, rest_band = _parts(shapely.difference(polygons[affected], unions), band[affected])
    taken, _ = _parts(shapely.intersection(polygons[affected], unions), band[affected])
    untouched = np.ones(len(polygons), dtype=bool)
    untouched[affected] = False
    joined = np.concatenate([polygons[untouched], rest])
    joined_band = np.concatenate([band[untouched], rest_band])
    by_band = np.argsort(joined_band, kind="stable")
    return joined[by_band], joined_band[by_band], taken


def _parts(geometries: Any, band: Integers) -> tuple[Geometries, Integers]:  # noqa: ANN401 - an array
    """Give the polygons in geometries, slivers and lines dropped, and the band of each."""
    parts, source = shapely.get_parts(geometries, return_index=True)
    real = shapely.area(parts) > SLIVER_M2
    nested, again = shapely.get_parts(parts[real], return_index=True)  # of collections
    areas = shapely.area(nested) > SLIVER_M2
    return nested[areas], band[source[real][again[areas]]]


def _number(polygons: Geometries, strip: Integers, across: Across) -> tuple[Integers, StripPieces]:
    """Order pieces by strip and along travel, and number them within each strip."""
    left_m = shapely.bounds(polygons).reshape(-1, 4)[:, 0]
    order = np.lexsort((left_m, strip))
    polygons, strip = polygons[order], strip[order]
    first = np.searchsorted(strip, strip)
    low_m, high_m = across.low_m[strip], across.high_m[strip]
    whole = reaches_across(polygons, low_m, high_m)
    bounds = shapely.bounds(polygons).reshape(-1, 4)
    width_m = np.where(whole, high_m - low_m, bounds[:, 3] - bounds[:, 1])
    piece = np.arange(len(strip)) - first + 1
    return order, StripPieces(polygons, strip, across.kind[strip], piece, whole, width_m)


def _rows(kept: Chords, across: Across, owner: Integers) -> RowPieces:
    """Order planted chords by piece of strip, row, and along travel."""
    kind = across.row_kind[kept.level]
    order = np.lexsort((kept.start_x_m, kind, owner))
    return RowPieces(
        start_x_m=kept.start_x_m[order],
        end_x_m=kept.end_x_m[order],
        y_m=across.level_m[kept.level][order],
        kind=kind[order],
        owner=owner[order],
    )
