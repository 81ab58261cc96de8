"""Make the sheets with maps: the whole field over a panel of land and seed, or its parts."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import shapely

from striplay.cautions import cautions_for
from striplay.mapbook.map import draw_bar, draw_frames, draw_map, draw_north
from striplay.mapbook.scale import Tile, fitting_scale, tiles, useful_scale
from striplay.mapbook.sheet import FOOT_MM, HEAD_MM, Paper, Place, Sheet
from striplay.mapbook.strip_numbers import number_strips
from striplay.mapbook.style import (
    FIELD,
    HEADING_PT,
    HEADLAND,
    LEFTOVER,
    LINE_MM,
    MARGIN_MM,
    OBSTACLE,
    SMALL_LINE_MM,
    SMALLEST_PT,
    Fill,
    crop_fill,
)
from striplay.mapbook.table_sheets import format_weight, seed_accounts
from striplay.mapbook.text import Cell, Line, Lines, fitted, height_mm, paragraphs
from striplay.report import rows_run
from striplay.section.occasions import occasions_of
from striplay.units import UnitSystem, format_area

if TYPE_CHECKING:
    from pandas import DataFrame

    from striplay.flow import Layout

FRAME_MARGIN_MM = 2.0
LEAST_MM = 67.0
"""Least height of the panel."""
LAND_MM, SEED_MM, APART_MM = 66.0, 46.0, 8.0
"""Widths of the panel's lists, and how far they stand apart."""
SAMPLE_MM = 10.0
"""Room a fill's sample takes before its name."""

MORE = "Cautions, in full on their sheet:"


def map_sheets(paper: Paper, layout: "Layout", sown: "DataFrame") -> Iterator[Sheet]:
    """Draw the whole field; where that is too small to use, sheets of its parts too.

    Args:
        paper: what the sheets share.
        layout: what to draw.
        sown: lines of `sown_table`.
    """
    outline, panel = layout.ground.outline, panel_of(paper, layout, sown)
    place = Place(
        MARGIN_MM,
        FOOT_MM + panel.height_mm,
        paper.inner_mm,
        paper.height_mm - FOOT_MM - panel.height_mm - HEAD_MM,
    )
    left_m, bottom_m, right_m, top_m = outline.bounds
    wide_mm, high_mm = place.width_mm, place.height_mm
    scale = fitting_scale(
        right_m - left_m, top_m - bottom_m,
        wide_mm - 2 * FRAME_MARGIN_MM, high_mm - 2 * FRAME_MARGIN_MM,
    )  # fmt: skip
    useful = useful_scale(min(strip.width_m for strip in layout.section.strips))
    whole, parts = tiles(outline.bounds, scale, wide_mm, high_mm)[0], []
    if scale > useful:
        shapely.prepare(outline)
        covering = tiles(outline.bounds, useful, wide_mm, high_mm)
        parts = [t for t in covering if shapely.intersects(outline, shapely.box(*t.bounds))]
    sheet = paper.sheet("Key to the sheets" if parts else "Overview of the strips")
    axes = draw_map(sheet, place, whole, layout)
    draw_frames(axes, parts)
    missing = "" if parts else number_strips(axes, whole, layout, scale / 1000)
    draw_panel(sheet, panel, layout, scale)
    right_mm = sheet.width_mm - MARGIN_MM
    sheet.text(right_mm, FOOT_MM + 3.0, missing, SMALLEST_PT, ha="right")
    yield sheet
    for number, tile in enumerate(parts, start=1):
        sheet = paper.sheet(f"Sheet {number} of {len(parts)}")
        _tile_sheet(sheet, place, tile, layout, useful)
        yield sheet


def _tile_sheet(sheet: Sheet, place: Place, tile: Tile, layout: "Layout", scale: int) -> None:
    """Draw one sheet of a field that takes several."""
    bottom_mm = place.bottom_mm
    axes = draw_map(sheet, place, tile, layout)
    missing = number_strips(axes, tile, layout, scale / 1000)
    draw_bar(sheet, MARGIN_MM, bottom_mm - 14, scale, layout.plan.units)
    draw_north(sheet, sheet.width_mm - MARGIN_MM - 6, bottom_mm - 18)
    key = [*_crop_fills(layout), (HEADLAND, "headland"), (OBSTACLE, "obstacles"),
           (LEFTOVER, "leftover")]  # fmt: skip
    lines = [Line((Cell(fitted(name, 60.0), SAMPLE_MM),), fill=fill) for fill, name in key]
    sheet.write(lines, bottom_mm - 26 + LINE_MM)
    sheet.text(MARGIN_MM + 80, bottom_mm - 26, missing, SMALLEST_PT)


@dataclass(frozen=True, slots=True)
class Panel:
    """What is written under the overview: two lists, and the cautions under both."""

    land: Lines
    seed: Lines
    cautions: Lines

    @property
    def height_mm(self) -> float:
        """Room it takes: more where there are many crops."""
        lists_mm = max(height_mm(self.land), height_mm(self.seed))
        return max(LEAST_MM, lists_mm + height_mm(self.cautions) + 14.0)


def panel_of(paper: Paper, layout: "Layout", sown: "DataFrame") -> Panel:
    """Write the panel."""
    units = layout.plan.units
    said = rows_run(layout.plan, layout.accounts["field"])
    side = layout.plan.direction.start
    from_where = "" if layout.plan.direction.pivot else f"; strip 1 on the {side}, looking that way"
    land = [
        Line((Cell(fitted(name, 36.0), SAMPLE_MM), Cell(area, LAND_MM, right=True)), fill=fill)
        for fill, name, area in _land(layout)
    ]
    seed = [
        Line((Cell(fitted(name, 27.0)), Cell(_amount(crop, units), SEED_MM, right=True)))
        for name, crop in seed_accounts(layout)
    ]
    rows = f"Rows: {said}{from_where}."
    stops = sum(notice.severity == "stop" for notice in layout.notices)
    settle = [f"STOP: settle first what stands under To know, last page: {stops}."] if stops else []
    told = cautions_for(occasions_of(layout.plan, layout.section))
    lines = [rows, *settle, MORE, *(one.short for one in told if one.short)]
    cautions = paragraphs(paper.inner_mm, *lines, line_mm=SMALL_LINE_MM)
    return Panel([*land, *_also_sown(layout, sown)], seed, cautions)


def draw_panel(sheet: Sheet, panel: Panel, layout: "Layout", scale: int) -> None:
    """Write the panel at a sheet's bottom, with the map's scale and north."""
    top_mm = FOOT_MM + panel.height_mm - 7
    right_mm = sheet.width_mm - MARGIN_MM
    seed_mm = MARGIN_MM + LAND_MM + APART_MM
    for title, lines, left_mm in (
        ("Land", panel.land, MARGIN_MM), ("Seed", panel.seed, seed_mm),
    ):  # fmt: skip
        sheet.text(left_mm, top_mm, title, HEADING_PT, weight="bold")
        sheet.write(lines, top_mm - 1, left_mm)
    draw_bar(sheet, right_mm - 62, top_mm - 4, scale, layout.plan.units)
    draw_north(sheet, right_mm - 4, top_mm - 12)
    sheet.write(panel.cautions, FOOT_MM + 3.0 + height_mm(panel.cautions))


def _crop_fills(layout: "Layout") -> list[tuple[Fill, str]]:
    crops = dict.fromkeys(strip.crop for strip in layout.section.strips)
    return [(crop_fill(index), crop) for index, crop in enumerate(crops)]


def _land(layout: "Layout") -> list[tuple[Fill, str, str]]:
    """List where the field's ground goes, adding up to the field."""
    accounts, areas = layout.accounts, layout.accounts["areas_m2"]
    strips = layout.strips.groupby("crop")["area_m2"].sum()
    listed = [(fill, crop, strips.get(crop, 0.0)) for fill, crop in _crop_fills(layout)]
    listed += [
        (HEADLAND, ", ".join(["headland", *accounts["headland_crop"]]), areas["headland"]),
        (OBSTACLE, "obstacles", areas["obstacles"]),
        (LEFTOVER, "leftover", areas["leftover"]),
        (FIELD, "field", accounts["field"]["area_m2"]),
    ]
    units = layout.plan.units
    return [(fill, name, format_area(float(area_m2), units)) for fill, name, area_m2 in listed]


def _also_sown(layout: "Layout", sown: "DataFrame") -> Lines:
    """Say what is sown between rows, on ground that the list of land counts once."""
    said = []
    own = dict(zip(layout.strips["strip"], layout.strips["crop"], strict=True))
    between = sown[sown["layer"] > 0]
    for (_, label), lines_of in between.groupby(["layer", "label"], sort=True):
        once = lines_of.drop_duplicates("strip")
        hosts = " and ".join(dict.fromkeys(own[strip] for strip in once["strip"]))
        area = format_area(float(once["area_m2"].sum()), layout.plan.units)
        said.append(f"also sown: {label} between {hosts}, {area}")
    return paragraphs(LAND_MM, *said, line_mm=SMALL_LINE_MM, above_mm=LINE_MM - SMALL_LINE_MM)


def _amount(crop: dict[str, Any], units: UnitSystem) -> str:
    """Say how much seed, in units, else by weight, as far as either is known."""
    if "parts" in crop:
        return "a blend"
    bags = crop["seed_units"]
    if bags is None:
        return format_weight(crop["seed_kg"], units) if "seed_kg" in crop else "-"
    return f"{bags:,} unit" if bags == 1 else f"{bags:,} units"
