"""Draw the ground at a true scale: field, strips, headland, numbers, north and a bar to measure."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from striplay.mapbook.labels import DIGIT_MM, Label, place_labels
from striplay.mapbook.page import Page
from striplay.mapbook.scale import Tile, bar_length
from striplay.mapbook.style import HEADLAND, LEFTOVER, OBSTACLE, SMALLEST_PT, Fill, crop_fill
from striplay.units import UnitSystem

if TYPE_CHECKING:
    from striplay.flow import Layout
    from striplay.operations.drawn import DrawnBlock


LEADER_MM = 5.0
"""A narrow strip's line goes so far beyond its number, either way."""
EDGE_MM = 2.5
"""How far the middle of a number keeps from the edge of the map."""


@dataclass(frozen=True, slots=True)
class Unnumbered:
    """How many strips stand without their number, and whether only every fifth has one."""

    strips: int = 0
    fifth: bool = False


@dataclass(frozen=True)
class Ground:
    """What the maps draw, on the local plane, made once for all sheets.

    Attributes:
        field: outline of the field.
        strips: polygons of strip pieces, (n,).
        number: strip of each piece, from 1, (n,).
        crop: crop of each piece, (n,).
        crops: all crops, in the order of the set.
        headland: polygons.
        leftover: polygons.
        obstacles: polygons.
        layout: for the direction of travel.
    """

    field: shapely.Geometry
    strips: Any
    number: Any
    crop: Any
    crops: tuple[str, ...]
    headland: Any
    leftover: Any
    obstacles: Any
    layout: "Layout"


def ground_of(layout: "Layout") -> Ground:
    """Gather what the maps draw."""
    strips = layout.strips
    return Ground(
        field=layout.ground.outline,
        strips=strips.geometry.to_numpy(),
        number=strips["strip"].to_numpy(),
        crop=strips["crop"].to_numpy(),
        crops=tuple(dict.fromkeys(strip.crop for strip in layout.section.strips)),
        headland=layout.drawn.headland,
        leftover=layout.leftover.geometry.to_numpy(),
        obstacles=_not_empty(shapely.get_parts(layout.ground.obstacles)),
        layout=layout,
    )


def _not_empty(polygons: Any) -> Any:  # noqa: ANN401 - an array of polygons
    return polygons[~shapely.is_empty(polygons)]


def draw_map(page: Page, frame_mm: tuple[float, float, float, float], tile: Tile, ground: Ground,
             *, numbered: bool) -> Unnumbered:  # fmt: skip
    """Draw the ground of a tile into a frame on a page: left, bottom, width, height."""
    axes = page.axes_mm(*frame_mm)
    axes.set_xlim(tile.left_m, tile.right_m)
    axes.set_ylim(tile.bottom_m, tile.top_m)
    axes.set_xticks([])
    axes.set_yticks([])
    for spine in axes.spines.values():
        spine.set_linewidth(0.4)
    _fill(axes, ground.headland, HEADLAND)
    _fill(axes, ground.leftover, LEFTOVER)
    for index, crop in enumerate(ground.crops):
        _fill(axes, ground.strips[ground.crop == crop], crop_fill(index))
    _fill(axes, ground.obstacles, OBSTACLE)
    outline = PathPatch(_path(shapely.get_parts(ground.field)), facecolor="none", linewidth=1.1)
    axes.add_patch(outline)
    if not numbered:
        return Unnumbered()
    return _number(axes, tile, ground, (tile.right_m - tile.left_m) / frame_mm[2])


def _path(polygons: Any) -> Path:  # noqa: ANN401 - an array of polygons
    """Join polygons into one path, holes wound the other way so that they stay empty."""
    rings = shapely.get_rings(shapely.orient_polygons(polygons))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    codes = np.full(len(points), Path.LINETO, dtype=np.uint8)
    starts = np.append(True, ring[1:] != ring[:-1])
    codes[starts] = Path.MOVETO
    codes[np.append(starts[1:], True)] = Path.CLOSEPOLY
    return Path(points, codes)


def _fill(axes: Axes, polygons: Any, fill: Fill) -> None:  # noqa: ANN401 - an array of polygons
    if len(polygons):
        axes.add_patch(
            PathPatch(
                _path(polygons),
                facecolor=fill.colour,
                hatch=fill.hatch or None,
                edgecolor="#333333",
                linewidth=0.25,
            )
        )


def _number(axes: Axes, tile: Tile, ground: Ground, mm_to_m: float) -> Unnumbered:
    """Write the strips' numbers, along the strips, upright."""
    edge_m = EDGE_MM * mm_to_m
    box = shapely.box(
        tile.left_m + edge_m, tile.bottom_m + edge_m, tile.right_m - edge_m, tile.top_m - edge_m
    )
    shown = shapely.intersection(ground.strips, box)
    seen = shapely.area(shown) > 0
    if not seen.any():
        return Unnumbered()
    missing: list[Unnumbered] = []
    for block in ground.layout.drawn.blocks:
        last = block.first_piece + len(block.pieces.strips.strip)
        own = seen & (np.arange(len(seen)) >= block.first_piece) & (np.arange(len(seen)) < last)
        missing.append(_number_block(axes, shown[own], ground.number[own], block, mm_to_m))
    return Unnumbered(sum(one.strips for one in missing), any(one.fifth for one in missing))


def _number_block(
    axes: Axes,
    shown: Any,  # noqa: ANN401 - an array
    number: Any,  # noqa: ANN401 - an array
    block: "DrawnBlock",
    mm_to_m: float,
) -> Unnumbered:
    """Write the numbers of one block's strips; in narrow ones, with a line along the strip."""
    frame = block.frame
    parts, source = shapely.get_parts(frame.turn_areas(shown), return_index=True)
    flat = shapely.get_dimensions(parts) == 2  # noqa: PLR2004 - areas
    labels, missing = place_labels(number[source[flat]], parts[flat], mm_to_m)
    without = Unnumbered(missing, any(label.narrow for label in labels))
    if not labels:
        return without
    points = frame.turn_points_back(np.array([[label.x_m, label.y_m] for label in labels]))
    rotation = (90 - frame.heading_deg + 90) % 180 - 90
    for label, (x, y) in zip(labels, points, strict=True):
        axes.text(
            x, y, label.text, fontsize=SMALLEST_PT, rotation=rotation, ha="center",
            va="center_baseline", rotation_mode="anchor", gid="strip number",
            bbox={"boxstyle": "square,pad=0.06", "facecolor": "white", "edgecolor": "none"},
        )  # fmt: skip
    for label in labels:
        if label.narrow:
            own = parts[flat][number[source[flat]] == int(label.text)]
            for line in _leader(label, own, mm_to_m):
                at = frame.turn_points_back(shapely.get_coordinates(line))
                axes.plot(*at.T, color="black", linewidth=1.2)
    return without


def _leader(label: Label, pieces: Any, mm_to_m: float) -> Any:  # noqa: ANN401 - arrays
    """Give lines along a strip's middle beside its number, no farther than the strip goes."""
    half_m = (len(label.text) * DIGIT_MM / 2 + LEADER_MM) * mm_to_m
    ends_m = [(label.x_m - half_m, label.y_m), (label.x_m + half_m, label.y_m)]
    lines = shapely.get_parts(shapely.intersection(shapely.LineString(ends_m), pieces))
    return lines[shapely.length(lines) > 0]


def draw_frames(page: Page, frame_mm: tuple[float, float, float, float], tile: Tile,
                sheets: list[Tile]) -> None:  # fmt: skip
    """Draw the numbered frames of the sheets over a key map."""
    axes = page.axes_mm(*frame_mm)
    axes.set_xlim(tile.left_m, tile.right_m)
    axes.set_ylim(tile.bottom_m, tile.top_m)
    axes.axis("off")
    for number, sheet in enumerate(sheets, start=1):
        width_m, height_m = sheet.right_m - sheet.left_m, sheet.top_m - sheet.bottom_m
        axes.add_patch(
            Rectangle((sheet.left_m, sheet.bottom_m), width_m, height_m, fill=False, linewidth=0.8)
        )
        middle = (sheet.left_m + width_m / 2, sheet.bottom_m + height_m / 2)
        axes.text(*middle, str(number), fontsize=9, weight="bold", ha="center", va="center",
                  bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "linewidth": 0.4},
                  )  # fmt: skip


def draw_bar(page: Page, x_mm: float, y_mm: float, scale: int, units: UnitSystem) -> None:
    """Draw the scale: as a bar to check with a ruler, as a ratio, and which way is north."""
    length_m, label = bar_length(scale, units, 42)
    length_mm = length_m * 1000 / scale
    for part in range(4):
        page.paper.add_patch(
            Rectangle((x_mm + part * length_mm / 4, y_mm), length_mm / 4, 1.6, linewidth=0.4,
                      facecolor="black" if part % 2 == 0 else "white", edgecolor="black")
        )  # fmt: skip
    page.text(x_mm, y_mm + 2.8, "0", SMALLEST_PT)
    page.text(x_mm + length_mm, y_mm + 2.8, label, SMALLEST_PT, ha="center")
    page.text(x_mm, y_mm - 3.6, f"1:{scale:,}", SMALLEST_PT)
    page.text(x_mm, y_mm - 7.0, f"bar: {length_mm:.1f} mm at 100 %", SMALLEST_PT)


def draw_north(page: Page, x_mm: float, y_mm: float) -> None:
    """Draw an arrow to true north, 12 mm high."""
    page.paper.annotate(
        "", xy=(x_mm, y_mm + 12), xytext=(x_mm, y_mm),
        arrowprops={"arrowstyle": "-|>", "linewidth": 1.0, "color": "black"},
    )  # fmt: skip
    page.text(x_mm, y_mm - 3.2, "true N", SMALLEST_PT, ha="center")
