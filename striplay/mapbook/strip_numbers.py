"""Write strips' numbers on a map so that none covers another and each stands in its strip."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from matplotlib.axes import Axes

from striplay.geometry.frame import Frame
from striplay.mapbook.scale import Tile
from striplay.mapbook.style import POINT_MM, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.flow import Layout

DIGIT_MM = 0.64 * SMALLEST_PT * POINT_MM
"""Width of a digit of the sheets' font."""
HEIGHT_MM = 1.18 * SMALLEST_PT * POINT_MM
"""Height a line of digits takes, its white ground included."""
GAP_MM = 1.0
TRIES = 15
"""Places tried along a strip, from its middle outward."""
LEADER_MM = 5.0
"""A narrow strip's line goes so far beyond its number, either way."""
EDGE_MM = 2.5
"""How far the middle of a number keeps from the edge of the map."""
DIGITS_HIGH_MM = 0.85 * SMALLEST_PT * POINT_MM
"""Height of digits and a little white ground: narrower strips can't all be told their number."""
EVERY = 5
"""Of narrow strips only every fifth is numbered."""


@dataclass(frozen=True, slots=True)
class Label:
    """A strip's number and where its middle stands, turned so that travel runs along x.

    Its strip is `narrow` where it is narrower on paper than the digits are high.
    """

    text: str
    x_m: float
    y_m: float
    narrow: bool = False


def chosen(strips: Any, pieces: Any, mm_to_m: float) -> Any:  # noqa: ANN401 - arrays
    """Tell which pieces' strips are to be numbered, and which of all are narrow on paper.

    Of narrow strips it is every fifth, the first and the last.
    """
    bounds = shapely.bounds(pieces)
    numbers, place = np.unique(strips, return_inverse=True)
    width_m = np.zeros(len(numbers))
    np.maximum.at(width_m, place, bounds[:, 3] - bounds[:, 1])
    narrow = (width_m < DIGITS_HIGH_MM * mm_to_m)[place]
    ends = np.isin(strips, (strips.min(), strips.max()))
    return ~narrow | ends | (strips % EVERY == 0), narrow


def place_labels(strips: Any, pieces: Any, mm_to_m: float) -> tuple[list[Label], int]:  # noqa: ANN401 - arrays
    """Place the number of each strip in its largest piece.

    Places are tried from the middle of the piece outward along it, until one is free.

    Args:
        strips: number of the strip of each piece, (n,).
        pieces: polygons, turned so that travel runs along x, (n,).
        mm_to_m: meters on the ground to a millimeter on paper.

    Returns:
        The labels, and how many strips go without: no free place, or too narrow for all.
    """
    asked, narrow = chosen(strips, pieces, mm_to_m)
    missing = len(np.unique(strips[~asked]))
    strips, pieces, narrow = strips[asked], pieces[asked], narrow[asked]
    placed: list[Label] = []
    taken = np.empty((0, 4))
    order = np.lexsort((-shapely.area(pieces), strips))
    numbers, first = np.unique(strips[order], return_index=True)
    for number, index in zip(numbers, order[first], strict=True):
        text = str(number)
        half_m = np.array([len(text) * DIGIT_MM + GAP_MM, HEIGHT_MM]) * mm_to_m / 2
        boxes = _candidate_boxes(pieces[index], half_m)
        free = ~_overlaps(boxes, taken)
        if not free.any():
            missing += 1
            continue
        box = boxes[np.argmax(free)]
        taken = np.vstack([taken, box])
        middle_m = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        placed.append(Label(text, *middle_m, narrow=bool(narrow[index])))
    return placed, missing


def _candidate_boxes(piece: shapely.Polygon, half_m: Any) -> Any:  # noqa: ANN401 - arrays
    """Give boxes of a label along a piece whose middle lies in it, the most central first."""
    left_m, bottom_m, right_m, top_m = piece.bounds
    middle = shapely.point_on_surface(piece)
    steps = np.arange(TRIES)
    offset_m = np.where(steps % 2, 1, -1) * ((steps + 1) // 2) * 2.2 * half_m[0]
    central_m = (bottom_m + top_m) / 2
    inner_x = np.clip(middle.x + offset_m, left_m, right_m)
    x = np.concatenate([inner_x, [middle.x]])
    y = np.concatenate([np.full(TRIES, central_m), [middle.y]])
    inside = shapely.contains_xy(piece, x, y)
    x, y = x[inside], y[inside]
    return np.column_stack([x - half_m[0], y - half_m[1], x + half_m[0], y + half_m[1]])


def _overlaps(boxes: Any, taken: Any) -> Any:  # noqa: ANN401 - arrays
    """Tell of each box, (n, 4), whether it lies over one of those taken, (m, 4)."""
    begins = (boxes[:, None, :2] < taken[:, 2:]) & (taken[:, :2] < boxes[:, None, 2:])
    return begins.all(axis=2).any(axis=1)


def number_strips(axes: Axes, tile: Tile, layout: "Layout", mm_to_m: float) -> str:
    """Write the numbers of the strips on a tile's map, along the strips, upright.

    Args:
        axes: of the map, in meters.
        tile: the ground it shows.
        layout: whose strips.
        mm_to_m: meters on the ground to a millimeter on paper.

    Returns:
        How many have none there, in words; empty where every one has its own.
    """
    edge_m = EDGE_MM * mm_to_m
    box = shapely.box(
        tile.left_m + edge_m, tile.bottom_m + edge_m, tile.right_m - edge_m, tile.top_m - edge_m
    )
    shown = shapely.intersection(layout.strips.geometry.to_numpy(), box)
    without, fifth = 0, False
    for block in layout.laid.blocks:
        number = block.strip_number
        own = shown[block.first_piece : block.first_piece + len(number)]
        parts, source = shapely.get_parts(block.path.frame.turn_areas(own), return_index=True)
        seen = shapely.area(parts) > 0
        parts, number = parts[seen], number[source[seen]]
        if len(parts):
            labels, missing = place_labels(number, parts, mm_to_m)
            without += missing
            fifth |= any(label.narrow for label in labels)
            for label in labels:
                _write(axes, label, parts[number == int(label.text)], block.path.frame, mm_to_m)
    if not without:
        return ""
    if fifth:
        have = "has" if without == 1 else "have"
        return f"Narrow strips: every fifth is numbered; {without} {have} no number here."
    are = "1 strip is" if without == 1 else f"{without} strips are"
    return f"{are} too small to number here; see the crops' tables."


def _write(axes: Axes, label: Label, pieces: Any, frame: Frame, mm_to_m: float) -> None:  # noqa: ANN401 - an array of polygons
    """Write a strip's number; in a narrow strip, with a line along it."""
    ((x, y),) = frame.turn_points_back(np.array([[label.x_m, label.y_m]]))
    axes.text(
        x, y, label.text, fontsize=SMALLEST_PT, rotation=(90 - frame.heading_deg + 90) % 180 - 90,
        ha="center", va="center_baseline", rotation_mode="anchor", gid="strip number",
        bbox={"boxstyle": "square,pad=0.06", "facecolor": "white", "edgecolor": "none"},
    )  # fmt: skip
    for line in _leader(label, pieces, mm_to_m):
        at = frame.turn_points_back(shapely.get_coordinates(line))
        axes.plot(*at.T, color="black", linewidth=1.2)


def _leader(label: Label, pieces: Any, mm_to_m: float) -> Any:  # noqa: ANN401 - arrays
    """Give lines along a narrow strip's middle beside its number, as far as the strip goes."""
    if not label.narrow:
        return ()
    half_m = (len(label.text) * DIGIT_MM / 2 + LEADER_MM) * mm_to_m
    ends_m = [(label.x_m - half_m, label.y_m), (label.x_m + half_m, label.y_m)]
    lines = shapely.get_parts(shapely.intersection(shapely.LineString(ends_m), pieces))
    return lines[shapely.length(lines) > 0]
