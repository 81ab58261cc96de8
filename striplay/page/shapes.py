"""Bring shapes as the field page is sent them: on the local plane, simplified, in centimeters.

A line is its first point, then the step from each point to the next: east, north, and so on.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.limits import MAX_ROW_VERTICES_SIMPLIFIED, MAX_ROWS_SENT_BYTES
from striplay.tolerances import SENT_OFF_M, SENT_STEP_M

if TYPE_CHECKING:
    from striplay.files.content import Content

Geometries = npt.NDArray[np.object_]
Integers = npt.NDArray[np.int64]
Sent = list[int]
"""A line as it is sent."""

OUTER_ALONE = "Only the outer rows of each strip's own crop are drawn: all rows would be too many."
NEARLY = 0.9
"""Of a piece's rows those so long, as a share of its longest, show which way it runs."""


def on_plane(content: "Content", shapes: Geometries) -> Geometries:
    """Bring shapes from longitude and latitude onto the local plane."""
    brought: Geometries = shapely.transform(shapes, content.ground.plane.to_plane)
    return brought


def _steps(lines: Geometries) -> list[Sent]:
    """Write lines as their first point, then steps from point to point, in centimeters."""
    points, line = shapely.get_coordinates(lines, return_index=True)
    cells = np.rint(points / SENT_STEP_M).astype(np.int64)
    moved = np.diff(cells, axis=0, prepend=0)
    first = np.diff(line, prepend=-1) != 0
    moved[first] = cells[first]
    kept = moved.any(axis=1) | first
    steps = moved[kept].ravel().tolist()
    ends = 2 * np.cumsum(np.bincount(line[kept], minlength=len(lines)))
    return [steps[begin:end] for begin, end in pairwise([0, *ends.tolist()])]


def lines_of(lines: Iterable[shapely.Geometry]) -> list[Sent]:
    """Give lines as they are sent."""
    plainer = shapely.simplify(list(lines), SENT_OFF_M)
    return _steps(plainer[~shapely.is_empty(plainer)])


def rings_of(polygons: Geometries) -> list[list[Sent]]:
    """Give the rings of each polygon, or of several in one, (n,)."""
    parts, polygon = shapely.get_parts(shapely.simplify(polygons, SENT_OFF_M), return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    found: list[list[Sent]] = [[] for _ in polygons]
    for place, steps in zip(polygon[part].tolist(), _steps(rings), strict=True):
        found[place].append(steps)
    return found


def areas_of(polygons: Geometries) -> list[list[Sent]]:
    """Give the rings of each polygon that is not empty."""
    return [rings for rings in rings_of(polygons) if rings]


def places_of(strips: pd.DataFrame) -> dict[tuple[int, int], int]:
    """Give the place of each piece of a strip in the table, by strip and piece."""
    return {key: index for index, key in enumerate(keys_of(strips))}


def keys_of(table: pd.DataFrame) -> Iterable[tuple[int, int]]:
    """Give strip and piece of each line of a table."""
    return zip(table["strip"].tolist(), table["piece"].tolist(), strict=True)


@dataclass(frozen=True)
class Rows:
    """The rows of all pieces of strips, piece by piece and across each, (n,).

    Attributes:
        place: of the piece of strip among all.
        shape: in longitude and latitude.
        length_m: of each.
        own: whether it is of the strip's own crop, not between its rows; rows after a harvest are
            left out.
    """

    place: Integers
    shape: Geometries
    length_m: npt.NDArray[np.float64]
    own: npt.NDArray[np.bool_]

    @staticmethod
    def of(content: "Content") -> "Rows":
        """Sort the rows of a layout by piece."""
        section, rows = content.laid.section, content.layers["rows"]
        after = {layer.number for layer in section.layers if layer.follows}
        rows = rows[~rows["layer"].isin(after)]
        at = places_of(content.layers["strips"])
        place = np.array([at[key] for key in keys_of(rows)], dtype=np.int64)
        order = np.lexsort((rows["row"], rows["layer"], place))
        shapes, lengths_m = rows.geometry.to_numpy(), rows["length_m"].to_numpy()
        own = rows["layer"].to_numpy() == 0
        return Rows(place[order], shapes[order], lengths_m[order], own[order])

    @property
    def spans(self) -> list[tuple[int, int]]:
        """Where each piece's own rows begin and end; all its rows where it has none of its own."""
        bounds = np.flatnonzero(np.diff(self.place, prepend=-1, append=-1)).tolist()
        found = []
        for first, end in pairwise(bounds):
            own = int(np.count_nonzero(self.own[first:end]))  # they come before the others
            found.append((first, first + own if own else end))
        return found

    @property
    def outer(self) -> Integers:
        """The first and the last of each piece's own rows."""
        return np.unique([(first, end - 1) for first, end in self.spans]).astype(np.int64)

    @property
    def middle(self) -> Integers:
        """Of each piece's own rows the middlemost that is nearly as long as its longest."""
        found = []
        for first, end in self.spans:
            mine_m = self.length_m[first:end]
            long = np.flatnonzero(mine_m >= NEARLY * mine_m.max())
            found.append(first + long[np.argmin(np.abs(long - (end - first - 1) / 2))])
        return np.array(found, dtype=np.int64)


def rows_by_piece(content: "Content", rows: Rows) -> tuple[list[list[tuple[Sent, bool]]], str]:
    """Give the rows of each piece of a strip as they are sent, and what is left out of them.

    Each with whether it is of the strip's own crop.

    Where all would be too many, or take too long to simplify, only the outer ones of its own are.
    """
    outer = rows.outer
    chosen: Any = slice(None)
    if shapely.get_num_coordinates(rows.shape).sum() > MAX_ROW_VERTICES_SIMPLIFIED:
        chosen = outer
    lines = lines_of(on_plane(content, rows.shape[chosen]))
    if chosen is not outer and len(json.dumps(lines, separators=(",", ":"))) > MAX_ROWS_SENT_BYTES:
        chosen, lines = outer, [lines[index] for index in outer]
    found: list[list[tuple[Sent, bool]]] = [[] for _ in range(len(content.layers["strips"]))]
    each = zip(rows.place[chosen].tolist(), lines, rows.own[chosen].tolist(), strict=True)
    for index, line, own in each:
        found[index].append((line, own))
    return found, OUTER_ALONE if chosen is outer else ""


def guides_of(content: "Content", shapes: Geometries, rows: Rows) -> list[Sent]:
    """Give a line along each piece of a strip, about its middle: a row, or what a planter drives.

    A piece without either has the middle of the narrowest box about it.
    """
    at = places_of(content.layers["strips"])
    over: list[list[shapely.Geometry]] = [[] for _ in at]
    for sheet in content.worksheets:
        if sheet.judged.job.does == "plant":
            lines = sheet.judged.route.line
            for of, strip, piece in sheet.worked.T.tolist():
                over[at[strip, piece]].append(lines[of])
    along: list[shapely.Geometry] = [
        _inside(shape, lines) for shape, lines in zip(shapes, over, strict=True)
    ]
    for place, line in zip(
        rows.place[rows.middle].tolist(), on_plane(content, rows.shape[rows.middle]), strict=True
    ):
        along[place] = line
    return _steps(shapely.simplify(along, SENT_OFF_M))


def _inside(shape: shapely.Geometry, lines: Sequence[shapely.Geometry]) -> shapely.Geometry:
    """Give the part in a piece of the line nearest to its middle, else the axis of its box."""
    if lines:
        middle = shapely.centroid(shape)
        nearest = min(lines, key=lambda line: float(shapely.distance(line, middle)))
        inside = shapely.get_parts(shapely.intersection(nearest, shape))
        longest = max(inside, key=shapely.length, default=None)
        if longest is not None and longest.length > SENT_OFF_M:
            return longest
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))[:4]
    one, two = np.hypot(*(corners[1] - corners[0])), np.hypot(*(corners[2] - corners[1]))
    if one < two:
        corners = np.roll(corners, -1, axis=0)
    return shapely.LineString([(corners[0] + corners[3]) / 2, (corners[1] + corners[2]) / 2])
