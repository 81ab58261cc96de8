"""Measure the ground that each crop's rows stand for, and how much of it lies at strips' edges.

Rows are those that are drawn: where the boundary, a headland or an obstacle cuts a strip along its
length, its edge is the row that is left beside another crop, and beside none there is no edge.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.economics.edges import Runs, Side
from striplay.geometry.directions import angle_deg
from striplay.laid import Laid, LaidBlock
from striplay.limits import EDGE_ROWS, MOST_STATIONS
from striplay.section.section import Layer, Section
from striplay.tolerances import STATION_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

NONE = -1
"""Number of no crop: ground that no strip's own row stands on."""
QUARTER_DEG, EIGHTH_DEG = 90.0, 45.0
ANY_SIDES: tuple[Side, Side, Runs] = ("any", "any", "")
"""The sides of strips along curves, which lie all ways."""
COMPASS: tuple[Side, ...] = ("north", "east", "south", "west")


@dataclass(frozen=True, slots=True)
class Edge:
    """Rows at an edge: whose, beside what, on which side, and which from the edge.

    Attributes:
        strip: number of their strip.
        crop: crop or mixture of their strip.
        beside: crop or mixture of the strip beside.
        side: side of their strip that they lie on; any along curves.
        rows_run: which way they run; empty along curves.
        row: their place from the edge, from 1.
    """

    strip: int
    crop: str
    beside: str
    side: Side
    rows_run: Runs
    row: int


@dataclass(frozen=True, slots=True)
class Sown:
    """Rows of a strip that carry a layer."""

    strip: int
    layer: Layer


@dataclass(frozen=True)
class RowGround:
    """The ground of a laid field's rows.

    Attributes:
        sown_m2: row length x the ground a row stands for, by strip and layer.
        edge_m2: what of the strips' own rows lies at edges, by strip, crops, side and row.
    """

    sown_m2: dict[Sown, float]
    edge_m2: dict[Edge, float]

    def by_strip(self) -> dict[int, "RowGround"]:
        """Give the ground of each strip's rows, by its number."""
        found = {
            number: RowGround({}, {}) for number in sorted({one.strip for one in self.sown_m2})
        }
        for sown, m2 in self.sown_m2.items():
            found[sown.strip].sown_m2[sown] = m2
        for edge, m2 in self.edge_m2.items():
            found[edge.strip].edge_m2[edge] = m2
        return found


def row_ground(laid: Laid) -> RowGround:
    """Measure the rows of a laid field, block by block."""
    sown: dict[Sown, float] = defaultdict(float)
    edges: dict[Edge, float] = defaultdict(float)
    for block in laid.blocks:
        if not len(block.pieces.rows.begin):
            continue
        strip = block.strip_number[block.pieces.rows.owner]
        ground_m2 = _ground_m2(block, laid.section)
        for one, m2 in _sown(block, laid.section, strip, ground_m2):
            sown[one] += m2
        for edge, m2 in _edges(block, laid.section, strip, ground_m2):
            edges[edge] += m2
    return RowGround(dict(sown), dict(edges))


def _ground_m2(block: LaidBlock, section: Section) -> Floats:
    """Give the ground that each drawn piece of row stands for."""
    spacing_m = np.array([row.spacing_m for row in section.rows])
    rows = block.pieces.rows
    return np.asarray(rows.length_m * spacing_m[rows.kind], dtype=np.float64)


def _sown(
    block: LaidBlock, section: Section, strip: Integers, ground_m2: Floats
) -> Iterator[tuple[Sown, float]]:
    """Give the ground of each strip and layer."""
    kind = block.pieces.rows.kind
    for layer in section.layers:
        carries = np.array([layer in row.sown for row in section.rows])[kind]
        for number, m2 in enumerate(np.bincount(strip[carries], ground_m2[carries]).tolist()):
            if m2:
                yield Sown(number, layer), m2


def _edges(
    block: LaidBlock, section: Section, strip: Integers, ground_m2: Floats
) -> Iterator[tuple[Edge, float]]:
    """Give the ground of rows at edges, by looking across the rows station by station."""
    names = [row.label for row in section.rows]
    labels = list(dict.fromkeys(names))
    rows = block.pieces.rows
    own = np.flatnonzero(np.array(section.own_row)[rows.kind])
    crop = np.array([labels.index(name) for name in names])[rows.kind[own]]
    levels_m, level = np.unique(rows.across_m[own], return_inverse=True)
    piece = _stations(rows.begin[own], rows.end[own], level.reshape(-1), len(levels_m))
    grown = np.where(piece == NONE, NONE, crop[piece])
    length = np.bincount(piece[piece != NONE], minlength=len(own)).astype(np.float64)
    share_m2 = np.where(length > 0, ground_m2[own] / np.maximum(length, 1.0), 0.0)
    upper, lower, rows_run = sides_of(block)
    for step, side in ((1, upper), (-1, lower)):
        for row, beside in edge_rows(grown, step):
            there = beside != NONE
            count = len(labels)
            keys = (strip[own][piece[there]] * count + grown[there]) * count + beside[there]
            each, of = np.unique(keys, return_inverse=True)
            sums = np.bincount(of.reshape(-1), share_m2[piece[there]], minlength=len(each))
            for key, m2 in zip(each.tolist(), sums.tolist(), strict=True):
                rest, other = divmod(key, count)
                number, mine = divmod(rest, count)
                yield Edge(number, labels[mine], labels[other], side, rows_run, row), m2


def _stations(begin: Floats, end: Floats, level: Integers, levels: int) -> Integers:
    """Say which piece of row stands at each level and station along, (levels, stations).

    Args:
        begin: where each piece begins along.
        end: where it ends.
        level: its row's place across, from 0.
        levels: how many rows there are across.

    Returns:
        The number of the piece; `NONE` where no row is planted.
    """
    low, high = float(begin.min()), float(end.max())
    count = max(1, min(int((high - low) / STATION_M) + 1, MOST_STATIONS // levels))
    step = (high - low) / count
    first = np.clip(np.ceil((begin - low) / step - 0.5), 0, count).astype(np.int64)
    last = np.clip(np.ceil((end - low) / step - 0.5), 0, count).astype(np.int64)
    found = np.full(levels * count, NONE, dtype=np.int64)
    many = last - first
    piece = np.repeat(np.arange(len(begin)), many)
    at = np.arange(len(piece)) - np.repeat(np.cumsum(many) - many, many)
    found[level[piece] * count + first[piece] + at] = piece
    return found.reshape(levels, count)


def edge_rows(grown: Integers, step: int) -> Iterator[tuple[int, Integers]]:
    """Find the rows at edges, on one side of their strips.

    Args:
        grown: number of the crop at each place across and station along, `NONE` where there is
            none, (levels, stations).
        step: 1 to look at what lies at higher levels, -1 at lower.

    Yields:
        Each place from the edge, from 1, and the crop beside the edge for rows that have that
        place, else `NONE`, (levels, stations).
    """
    same = grown != NONE
    for row in range(1, EDGE_ROWS + 1):
        other = _shifted(grown, step * row)
        yield row, np.where(same & (other != NONE) & (other != grown), other, NONE)
        same &= other == grown


def _shifted(grown: Integers, by: int) -> Integers:
    """Give what stands so many levels on; `NONE` beyond the last."""
    found = np.full_like(grown, NONE)
    if abs(by) >= len(grown):
        return found
    if by > 0:
        found[:-by] = grown[by:]
    else:
        found[-by:] = grown[:by]
    return found


def sides_of(block: LaidBlock) -> tuple[Side, Side, Runs]:
    """Say on which sides of a strip its rows of higher and lower levels lie, and how rows run.

    Levels rise to the left of travel. Rows within 45 degrees of north run north and south.
    """
    straight = block.choice is not None
    return compass_of(block.heading_deg) if straight else ANY_SIDES


def compass_of(heading_deg: float) -> tuple[Side, Side, Runs]:
    """Say which sides lie left and right of a heading, and which way its rows run.

    >>> compass_of(0.0), compass_of(90.0)
    (('west', 'east', 'north'), ('north', 'south', 'east'))
    """
    runs: Runs = "north" if angle_deg(heading_deg, 0.0) < EIGHTH_DEG else "east"
    left = 0
    if runs == "north":
        left = 3 if heading_deg < QUARTER_DEG else 1
    return COMPASS[left], COMPASS[(left + 2) % len(COMPASS)], runs


def set_ground(section: Section, heading_deg: float | None) -> RowGround:
    """Measure one set that repeats without end, a meter long.

    Args:
        section: the set.
        heading_deg: of its rows; None where they run all ways.
    """
    own = [row for row in section.rows if row.layer == 0]
    labels = list(dict.fromkeys(row.label for row in own))
    crop = [labels.index(row.label) for row in own]
    turns = 1 + 2 * (EDGE_ROWS // len(crop) + 1)
    middle = turns // 2 * len(crop)
    grown = np.array(crop * turns, dtype=np.int64)[:, None]
    left, right, runs = ANY_SIDES if heading_deg is None else compass_of(heading_deg)
    sown: dict[Sown, float] = defaultdict(float)
    edges: dict[Edge, float] = defaultdict(float)
    for row in section.rows:
        for layer in row.sown:
            sown[Sown(row.strip + 1, layer)] += row.spacing_m
    for step, side in ((-1, left), (1, right)):
        for place, beside in edge_rows(grown, step):
            for number, one in enumerate(own):
                other = int(beside[middle + number, 0])
                if other != NONE:
                    edge = Edge(one.strip + 1, one.label, labels[other], side, runs, place)
                    edges[edge] += one.spacing_m
    return RowGround(dict(sown), dict(edges))
