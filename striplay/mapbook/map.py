"""Draw the ground at a true scale: field, strips, headland, north and a bar to measure."""

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from striplay.mapbook.scale import Tile, bar_length
from striplay.mapbook.sheet import Place, Sheet
from striplay.mapbook.style import HEADLAND, LEFTOVER, OBSTACLE, SMALLEST_PT, Fill, crop_fill
from striplay.units import UnitSystem

if TYPE_CHECKING:
    from striplay.flow import Layout


def draw_map(sheet: Sheet, place: Place, tile: Tile, layout: "Layout") -> Axes:
    """Draw the ground of a tile at a place on a sheet."""
    axes = sheet.axes(place)
    axes.set_xlim(tile.left_m, tile.right_m)
    axes.set_ylim(tile.bottom_m, tile.top_m)
    axes.set_xticks([])
    axes.set_yticks([])
    for spine in axes.spines.values():
        spine.set_linewidth(0.4)
    _fill(axes, layout.laid.headland, HEADLAND)
    _fill(axes, layout.laid.leftover, LEFTOVER)
    strips, crops = layout.strips.geometry.to_numpy(), layout.strips["crop"].to_numpy()
    for index, crop in enumerate(layout.section.names):
        _fill(axes, strips[crops == crop], crop_fill(index))
    _fill(axes, shapely.get_parts(layout.ground.obstacles), OBSTACLE)
    outline = _path(shapely.get_parts(layout.ground.outline))
    axes.add_patch(PathPatch(outline, facecolor="none", linewidth=1.1))
    return axes


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
    polygons = polygons[~shapely.is_empty(polygons)]
    if len(polygons):
        axes.add_patch(
            PathPatch(
                _path(polygons),
                facecolor=fill.color,
                hatch=fill.hatch or None,
                edgecolor="#333333",
                linewidth=0.25,
            )
        )


def draw_frames(axes: Axes, sheets: list[Tile]) -> None:
    """Draw the numbered frames of the sheets over a key map."""
    for number, sheet in enumerate(sheets, start=1):
        width_m, height_m = sheet.right_m - sheet.left_m, sheet.top_m - sheet.bottom_m
        axes.add_patch(
            Rectangle((sheet.left_m, sheet.bottom_m), width_m, height_m, fill=False, linewidth=0.8)
        )
        middle = (sheet.left_m + width_m / 2, sheet.bottom_m + height_m / 2)
        axes.text(*middle, str(number), fontsize=9, weight="bold", ha="center", va="center",
                  bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "linewidth": 0.4},
                  )  # fmt: skip


def draw_bar(sheet: Sheet, x_mm: float, y_mm: float, scale: int, units: UnitSystem) -> None:
    """Draw the scale: as a bar to check with a ruler, and as a ratio."""
    length_m, label = bar_length(scale, units, 42)
    length_mm = length_m * 1000 / scale
    for part in range(4):
        sheet.paper.add_patch(
            Rectangle((x_mm + part * length_mm / 4, y_mm), length_mm / 4, 1.6, linewidth=0.4,
                      facecolor="black" if part % 2 == 0 else "white", edgecolor="black")
        )  # fmt: skip
    sheet.text(x_mm, y_mm + 2.8, "0", SMALLEST_PT)
    sheet.text(x_mm + length_mm, y_mm + 2.8, label, SMALLEST_PT, ha="center")
    sheet.text(x_mm, y_mm - 3.6, f"1:{scale:,}", SMALLEST_PT)
    sheet.text(x_mm, y_mm - 7.0, f"bar: {length_mm:.1f} mm at 100 %", SMALLEST_PT)


def draw_north(sheet: Sheet, x_mm: float, y_mm: float) -> None:
    """Draw an arrow to true north, 12 mm high."""
    sheet.paper.annotate(
        "", xy=(x_mm, y_mm + 12), xytext=(x_mm, y_mm),
        arrowprops={"arrowstyle": "-|>", "linewidth": 1.0, "color": "black"},
    )  # fmt: skip
    sheet.text(x_mm, y_mm - 3.2, "true N", SMALLEST_PT, ha="center")
