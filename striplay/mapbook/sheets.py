"""Lay out the sheets: overview, tiles, a sheet a crop, the seed table."""

from datetime import date
from typing import TYPE_CHECKING, Any

from matplotlib.patches import Rectangle

from striplay.mapbook.map import Ground, draw_bar, draw_frames, draw_map, draw_north
from striplay.mapbook.page import Page
from striplay.mapbook.scale import Tile
from striplay.mapbook.style import (
    HEADING_PT,
    HEADLAND,
    LEFTOVER,
    LINE_MM,
    MARGIN_MM,
    OBSTACLE,
    SMALLEST_PT,
    Fill,
    crop_fill,
)
from striplay.report import rows_run
from striplay.units import UnitSystem, format_area, format_length

if TYPE_CHECKING:
    from striplay.flow import Layout

PANEL_MM = 67.0
HEAD_MM = 28.0
FOOT_MM = 13.0
ROW_MM = 4.1

CAUTIONS = (
    "Not a legal survey: check boundary, gates and obstacles on the ground before driving.",
    "Power lines: keep every machine and auger 10 ft (3 m) away in all directions.",
    "Spray: neighbouring strips are susceptible crops side by side, and the label is the law.",
    "A product suits both crops or is kept off; mind wind limits and buffers to wells and water.",
    "Slopes, ditches, banks: keep off by at least their depth; use roll-over protection and belt.",
    "Roads: local rules decide on sight lines and on turning there. Call before digging.",
)


def map_frame(paper_mm: tuple[float, float]) -> tuple[float, float, float, float]:
    """Give the frame of a map on a sheet: left, bottom, width, height."""
    bottom_mm = FOOT_MM + PANEL_MM
    return (
        MARGIN_MM,
        bottom_mm,
        paper_mm[0] - 2 * MARGIN_MM,
        paper_mm[1] - bottom_mm - HEAD_MM,
    )


def new_page(
    layout: "Layout", paper_mm: tuple[float, float], what: str, printed: date | None
) -> Page:
    """Begin a sheet with its title, what it shows, and its foot."""
    said = f"printed {printed.isoformat()}; " if printed else ""
    foot = f"{said}WGS 84, local plane, true north at the field's centre; not a legal survey"
    return Page(paper_mm, layout.plan.title, what, foot)


def overview(
    layout: "Layout", page: Page, ground: Ground, tile: Tile, scale: int, sheets: list[Tile]
) -> None:
    """Draw the whole field; with `sheets`, it is the key to them."""
    frame = map_frame((page.width_mm, page.height_mm))
    missing = draw_map(page, frame, tile, ground, numbered=not sheets)
    if sheets:
        draw_frames(page, frame, tile, sheets)
    _panel(layout, page, ground, scale)
    if missing:
        right_mm = page.width_mm - MARGIN_MM
        page.text(right_mm, FOOT_MM + 3.0, _without_number(missing), SMALLEST_PT, ha="right")


def _without_number(strips: int) -> str:
    said = "1 strip is" if strips == 1 else f"{strips} strips are"
    return f"{said} too small to number here; see the crops' tables."


def _panel(layout: "Layout", page: Page, ground: Ground, scale: int) -> None:
    """Draw what stands under the overview: legend with areas, seed, scale, cautions."""
    units, accounts = layout.plan.units, layout.accounts
    top_mm = FOOT_MM + PANEL_MM - 7
    left_mm = MARGIN_MM
    page.text(left_mm, top_mm, "Land", HEADING_PT, weight="bold")
    lines: list[tuple[Fill | None, str, str]] = [
        (crop_fill(index), crop, format_area(accounts["crops"][crop]["area_m2"], units))
        for index, crop in enumerate(ground.crops)
    ]
    planted = " ".join(accounts["headland_crop"])
    areas = accounts["areas_m2"]
    lines += [
        (
            HEADLAND,
            f"headland{', ' + planted if planted else ''}",
            format_area(areas["headland"], units),
        ),
        (OBSTACLE, "obstacles", format_area(areas["obstacles"], units)),
        (LEFTOVER, "leftover", format_area(areas["leftover"], units)),
        (None, "field", format_area(accounts["field"]["area_m2"], units)),
    ]
    for number, (fill, name, area) in enumerate(lines, start=1):
        y_mm = top_mm - number * LINE_MM - 1
        _swatch(page, left_mm, y_mm, fill)
        page.text(left_mm + 10, y_mm, name[:20])
        page.text(left_mm + 66, y_mm, area, ha="right")
    _seed(page, layout, left_mm + 74, top_mm)
    draw_bar(page, page.width_mm - MARGIN_MM - 62, top_mm - 4, scale, units)
    draw_north(page, page.width_mm - MARGIN_MM - 4, top_mm - 12)
    field = accounts["field"]
    said = rows_run(layout.plan, field)
    side = layout.plan.direction.start
    from_where = "" if layout.plan.direction.pivot else f"; strip 1 on the {side}, looking that way"
    heading = f"Rows: {said}{from_where}."
    base_mm = FOOT_MM + 3.0
    for number, line in enumerate(reversed([heading, *CAUTIONS])):
        page.text(left_mm, base_mm + number * 3.4, line, SMALLEST_PT)


def _swatch(page: Page, x_mm: float, y_mm: float, fill: Fill | None) -> None:
    page.paper.add_patch(
        Rectangle((x_mm, y_mm - 0.5), 7.5, 3.0, linewidth=0.4 if fill else 1.1,
                  facecolor=fill.colour if fill else "none", edgecolor="#333333",
                  hatch=(fill.hatch or None) if fill else None)
    )  # fmt: skip


def _seed(page: Page, layout: "Layout", x_mm: float, top_mm: float) -> None:
    """Write each crop's seed, the headland's included."""
    page.text(x_mm, top_mm, "Seed", HEADING_PT, weight="bold")
    accounts = layout.accounts
    lines = [*accounts["crops"].items()]
    lines += [(f"headland, {name}", crop) for name, crop in accounts["headland_crop"].items()]
    for number, (name, crop) in enumerate(lines, start=1):
        y_mm = top_mm - number * LINE_MM - 1
        page.text(x_mm, y_mm, name[:18])
        page.text(x_mm + 46, y_mm, _units_of_seed(crop["seed_units"]), ha="right")


def _units_of_seed(amount: float | None) -> str:
    if amount is None:
        return "-"
    return f"{amount:,} unit" if amount == 1 else f"{amount:,} units"


def tile_sheet(page: Page, ground: Ground, tile: Tile, scale: int, units: UnitSystem) -> None:
    """Draw one sheet of a field that takes several."""
    left_mm, _, width_mm, height_mm = map_frame((page.width_mm, page.height_mm))
    bottom_mm = page.height_mm - HEAD_MM - height_mm
    missing = draw_map(page, (left_mm, bottom_mm, width_mm, height_mm), tile, ground, numbered=True)
    draw_bar(page, MARGIN_MM, bottom_mm - 14, scale, units)
    draw_north(page, page.width_mm - MARGIN_MM - 6, bottom_mm - 18)
    key: list[tuple[Fill, str]] = [(crop_fill(i), crop) for i, crop in enumerate(ground.crops)]
    key += [(HEADLAND, "headland"), (OBSTACLE, "obstacles"), (LEFTOVER, "leftover")]
    for index, (fill, name) in enumerate(key):
        y_mm = bottom_mm - 26 - index * LINE_MM
        _swatch(page, MARGIN_MM, y_mm, fill)
        page.text(MARGIN_MM + 10, y_mm, name[:30])
    if missing:
        page.text(MARGIN_MM + 80, bottom_mm - 26, _without_number(missing), SMALLEST_PT)


def table(
    page: Page, columns: list[tuple[str, float]], lines: list[list[str]], top_mm: float
) -> None:
    """Write a table: columns as (heading, right edge in mm), the first one left-aligned."""
    for row, cells in enumerate([[name for name, _ in columns], *lines]):
        y_mm = top_mm - row * ROW_MM
        weight = "bold" if row == 0 else "normal"
        for index, cell in enumerate(cells):
            if index == 0:
                page.text(MARGIN_MM, y_mm, cell, weight=weight)
            else:
                page.text(columns[index][1], y_mm, cell, weight=weight, ha="right")
        if row % 5 == 0:
            page.rule(y_mm - 1.2)


STRIP_COLUMNS = [("strip", 0.0), ("rows", 42.0), ("width", 66.0), ("mean row", 92.0),
                 ("area", 118.0), ("seeds", 150.0), ("units", 172.0)]  # fmt: skip


def strip_lines(layout: "Layout", crop: str) -> list[list[str]]:
    """Write a crop's strips, a line each: rows, width, mean length of row, area, seed to load."""
    units = layout.plan.units
    strips = layout.strips
    mine = strips[strips["crop"] == crop].drop(columns="geometry")
    lines = []
    for number, pieces in mine.groupby("strip"):
        rows = pieces["rows"].max()
        area_m2 = pieces["area_m2"].sum()
        width_m = pieces["width_m"].max()
        row_m = pieces["row_length_m"].sum()
        length_m = row_m / rows if row_m else area_m2 / width_m
        lines.append([
            f"{number}{'' if pieces['whole'].all() else ' *'}",
            _number(rows),
            format_length(width_m, units),
            _whole_length(length_m, units),
            format_area(area_m2, units),
            _number(pieces["seeds"].sum(min_count=1)),
            _number(pieces["seed_units"].sum(min_count=1), 2),
        ])  # fmt: skip
    return lines


def _number(value: Any, decimals: int = 0) -> str:  # noqa: ANN401 - a number, NaN or NA
    try:
        return f"{float(value):,.{decimals}f}" if value == value else "-"  # noqa: PLR0124 - NaN
    except (TypeError, ValueError):
        return "-"


def _whole_length(length_m: float, units: UnitSystem) -> str:
    return f"{length_m / 0.3048:,.0f} ft" if units == "us" else f"{length_m:,.0f} m"


SEED_COLUMNS = [("crop", 0.0), ("area", 78.0), ("row length", 108.0), ("seeds", 140.0),
                ("units", 158.0), ("plants to stand", 192.0)]  # fmt: skip


def seed_lines(layout: "Layout") -> list[list[str]]:
    """Write each crop's seed in all, the headland's included."""
    units, accounts = layout.plan.units, layout.accounts
    named = [*accounts["crops"].items()]
    named += [(f"headland, {name}", crop) for name, crop in accounts["headland_crop"].items()]
    return [
        [
            name[:34],
            format_area(crop["area_m2"], units),
            _long(crop["row_length_m"], units),
            "-" if crop["seeds"] is None else f"{crop['seeds']:,}",
            "-" if crop["seed_units"] is None else f"{crop['seed_units']:,}",
            f"{crop['stand']:,}" if "stand" in crop else "-",
        ]
        for name, crop in named
    ]


def _long(length_m: float, units: UnitSystem) -> str:
    if length_m == 0.0:
        return "-"
    return f"{length_m / 1609.344:,.1f} mi" if units == "us" else f"{length_m / 1000:,.1f} km"
