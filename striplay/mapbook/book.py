"""Bind the sheets into one PDF, the same bytes for the same plan."""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import shapely
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from striplay.accounts.sowings import sowings_of
from striplay.mapbook.bars import bars_of
from striplay.mapbook.costs import draw_costs
from striplay.mapbook.lists import (
    ROW_MM,
    SEED_COLUMNS,
    STAR,
    STRIP_COLUMNS,
    Columns,
    Lines,
    blend_tables,
    mixture_table,
    seed_lines,
    sowing_lines,
    table,
)
from striplay.mapbook.map import Ground, ground_of
from striplay.mapbook.page import Page
from striplay.mapbook.pairs import draw_pairs, pair_sheets
from striplay.mapbook.panel import FOOT_MM, panel_height_mm
from striplay.mapbook.picture import PLANTS_MM, Picture
from striplay.mapbook.scale import Tile, fitting_scale, tiles, useful_scale
from striplay.mapbook.scene import Scene, scene_of
from striplay.mapbook.section_picture import detail_height_mm, draw_detail, draw_section
from striplay.mapbook.sheets import HEAD_MM, View, map_frame, new_page, overview, tile_sheet
from striplay.mapbook.style import MARGIN_MM, PAPERS_MM, RC, SMALLEST_PT
from striplay.mapbook.timeline import draw_timeline
from striplay.notices import Notice
from striplay.tables import sown_table
from striplay.units import format_length, trim

if TYPE_CHECKING:
    from striplay.flow import Layout

FRAME_MARGIN_MM = 2.0
NOTICE_MM = 4.0
NOTICE_LETTERS = 120
"""Letters to a line of notices, on either paper."""


def write_map_book(layout: "Layout", path: Path, *, printed: date | None, paper: str) -> None:
    """Write the map book.

    Args:
        layout: what to draw.
        path: the PDF to write.
        printed: date on the sheets; none is printed when left out.
        paper: "letter" or "a4".
    """
    stamps = {"CreationDate": None, "ModDate": None, "Title": layout.plan.title}
    with mpl.rc_context(RC), PdfPages(path, metadata=stamps) as book:
        for figure in sheets(layout, printed=printed, paper=paper):
            book.savefig(figure)


def sheets(layout: "Layout", *, printed: date | None, paper: str) -> Iterator[Figure]:
    """Draw the sheets: overview or key, tiles, crops, across, season, cost, pairs, seed."""
    paper_mm = PAPERS_MM[paper]
    sown = sown_table(layout.plan, layout.drawn, layout.figures)
    yield from _map_sheets(layout, paper_mm, printed, sown)
    yield from _crop_sheets(layout, paper_mm, printed, sown)
    page = new_page(layout, paper_mm, "Across one set", printed)
    _across(page, scene_of(layout.plan, layout.section, None))
    yield page.figure
    if bars_of(layout.season):
        page = new_page(layout, paper_mm, "The season", printed)
        draw_timeline(page, layout.season)
        yield page.figure
    for number, block in enumerate(layout.drawn.blocks, start=1):
        if block.searched is not None and block.searched.parts.any():
            of = f", block {number}" if len(layout.drawn.blocks) > 1 else ""
            page = new_page(layout, paper_mm, f"Cost of every heading{of}", printed)
            draw_costs(page, block)
            yield page.figure
    for number, said in enumerate(parted := pair_sheets(layout.pairs, paper_mm), start=1):
        part = f", part {number} of {len(parted)}" if len(parted) > 1 else ""
        page = new_page(layout, paper_mm, f"How the crops suit each other{part}", printed)
        draw_pairs(page, said)
        yield page.figure
    page = new_page(layout, paper_mm, "Seed for the field", printed)
    _seed_sheet(page, layout, sown)
    yield page.figure


def _map_sheets(
    layout: "Layout",
    paper_mm: tuple[float, float],
    printed: date | None,
    sown: Any,  # noqa: ANN401 - a DataFrame
) -> Iterator[Figure]:
    """Draw the whole field; where that is too small to use, sheets of its parts too."""
    ground, panel_mm = ground_of(layout), panel_height_mm(layout, sown)
    _, _, width_mm, height_mm = map_frame(paper_mm, panel_mm)
    inside_mm = (width_mm - 2 * FRAME_MARGIN_MM, height_mm - 2 * FRAME_MARGIN_MM)
    left_m, bottom_m, right_m, top_m = ground.field.bounds
    scale = fitting_scale(right_m - left_m, top_m - bottom_m, inside_mm)
    useful = useful_scale(min(strip.width_m for strip in layout.section.strips))
    whole = tiles(ground.field.bounds, scale, (width_mm, height_mm))[0]
    split = _split(ground, useful, (width_mm, height_mm)) if scale > useful else []
    what = "Key to the sheets" if split else "Overview of the strips"
    page = new_page(layout, paper_mm, what, printed)
    overview(page, ground, View(panel_mm, whole, scale), split, sown)
    yield page.figure
    for number, tile in enumerate(split, start=1):
        page = new_page(layout, paper_mm, f"Sheet {number} of {len(split)}", printed)
        tile_sheet(page, ground, View(panel_mm, tile, useful))
        yield page.figure


def _seed_sheet(page: Page, layout: "Layout", sown: Any) -> None:  # noqa: ANN401 - a DataFrame
    """Write each crop's seed, each mixture's blend, and what the user should know."""
    top_mm = page.height_mm - HEAD_MM - 8
    lines = seed_lines(layout)
    table(page, SEED_COLUMNS, lines, top_mm)
    top_mm -= ROW_MM * (len(lines) + 3)
    page.text(MARGIN_MM, top_mm, "Seeds are dropped, not plants standing; units are whole bags.",
              SMALLEST_PT)  # fmt: skip
    for title, columns, parts in blend_tables(layout, sown):
        top_mm -= 2.2 * ROW_MM
        page.text(MARGIN_MM, top_mm, title, weight="bold")
        top_mm -= 1.4 * ROW_MM
        table(page, columns, parts, top_mm)
        top_mm -= ROW_MM * len(parts)
    _notices(page, layout.notices, top_mm - 2 * NOTICE_MM)


def _notices(page: Page, notices: Sequence[Notice], top_mm: float) -> None:
    """Write what the user should know, as far as there is room."""
    if not notices:
        return
    page.text(MARGIN_MM, top_mm, "To know", weight="bold")
    lines = [line for notice in notices for line in wrap(notice.text, NOTICE_LETTERS)]
    room = int((top_mm - FOOT_MM) / NOTICE_MM) - 2
    for number, line in enumerate(lines[:room], start=1):
        page.text(MARGIN_MM, top_mm - number * NOTICE_MM - 1, line, SMALLEST_PT)


def _across(page: Page, scene: Scene) -> None:
    """Draw the section over a sheet, its words under it."""
    width_mm = page.width_mm - 2 * MARGIN_MM
    picture = Picture(scene, width_mm)
    room_mm = page.height_mm - HEAD_MM - FOOT_MM - NOTICE_MM * (len(picture.caption) + 1.5)
    over_mm = picture.height_mm - room_mm
    if over_mm > 0:
        picture = Picture(scene, width_mm, min(PLANTS_MM, picture.plants_mm) - over_mm)
    bottom_mm = page.height_mm - HEAD_MM - picture.height_mm
    axes = page.axes_mm(MARGIN_MM, bottom_mm, width_mm, picture.height_mm)
    draw_section(axes, picture)
    for number, line in enumerate(picture.caption):
        page.text(MARGIN_MM, bottom_mm - 6 - number * NOTICE_MM, line, SMALLEST_PT)
    _enlarged(page, picture, bottom_mm - 12 - len(picture.caption) * NOTICE_MM)


ENLARGED_M = 12.2
"""Width of ground that is shown enlarged: 40 ft."""


def _enlarged(page: Page, whole: Picture, top_mm: float) -> None:
    """Show where strips meet in a wide set again, larger, as far as there is room.

    A set of one strip shows where planter passes meet.
    """
    section = whole.scene.section
    starts = [strip.left_m for strip in section.strips[1:]]
    passes = [edge.at_m for edge in whole.edges if 0 < edge.at_m < section.width_m]
    if section.width_m < 2 * ENLARGED_M:
        return
    shown_m = -ENLARGED_M
    for about_m in starts or passes[:1]:
        low_m = min(max(0.0, about_m - ENLARGED_M / 2), section.width_m - ENLARGED_M)
        if low_m < shown_m + ENLARGED_M / 2:
            continue
        detail = Picture(whole.scene, whole.width_mm, window_m=(low_m, low_m + ENLARGED_M))
        height_mm = detail_height_mm(detail)
        if height_mm + 8 > top_mm - FOOT_MM:
            return
        width, times = format_length(ENLARGED_M, whole.scene.plan.units), whole.mm / detail.mm
        said = f"{width} of the set, {trim(times, 1)} times as large"
        page.text(MARGIN_MM, top_mm - 4, said, SMALLEST_PT)
        axes = page.axes_mm(MARGIN_MM, top_mm - 8 - height_mm, detail.width_mm, height_mm)
        draw_detail(axes, detail)
        top_mm, shown_m = top_mm - height_mm - 12, low_m


def _split(ground: Ground, scale: int, frame_mm: tuple[float, float]) -> list[Tile]:
    """Give the tiles that show some of the field."""
    shapely.prepare(ground.field)
    covering = tiles(ground.field.bounds, scale, frame_mm)
    return [t for t in covering if shapely.intersects(ground.field, shapely.box(*t.bounds))]


CUT = f"{STAR} a piece is cut by the boundary along its length and planted with rows shut off. "
MEAN_ROW = "Mean row: all its rows by their number."


def _crop_sheets(
    layout: "Layout",
    paper_mm: tuple[float, float],
    printed: date | None,
    sown: Any,  # noqa: ANN401 - a DataFrame
) -> Iterator[Figure]:
    """Draw a table of each crop's strips, on as many sheets as it takes."""
    room_mm = paper_mm[1] - HEAD_MM - FOOT_MM - 16
    most = int(room_mm / ROW_MM) - 1
    for title, columns, lines in _crop_tables(layout, sown):
        starts = range(0, max(1, len(lines)), most)
        for first in starts:
            part = f", part {first // most + 1} of {len(starts)}" if len(starts) > 1 else ""
            page = new_page(layout, paper_mm, f"{title}{part}", printed)
            table(page, columns, lines[first : first + most], page.height_mm - HEAD_MM - 8)
            starred = any(line[0].endswith(STAR) for line in lines[first : first + most])
            page.text(MARGIN_MM, FOOT_MM, f"{CUT if starred else ''}{MEAN_ROW}", SMALLEST_PT)
            yield page.figure


def _crop_tables(layout: "Layout", sown: Any) -> Iterator[tuple[str, Columns, Lines]]:  # noqa: ANN401 - a DataFrame
    """Give a table a crop or mixture of the strips, then one a crop between their rows."""
    own = sown[sown["layer"] == 0]
    for label in dict.fromkeys(strip.crop for strip in layout.section.strips):
        mine = own[own["label"] == label]
        if label in layout.plan.mixtures:
            yield f"Strips of {label}", *mixture_table(layout, mine)
        else:
            yield f"Strips of {label}", STRIP_COLUMNS, sowing_lines(layout, mine)
    hosts = dict(zip(layout.strips["strip"], layout.strips["crop"], strict=True))
    for sowing in sowings_of(layout.section):
        if sowing.layer:
            mine = sown[(sown["layer"] == sowing.layer) & (sown["crop"] == sowing.crop)]
            into = " and ".join(dict.fromkeys(hosts[strip] for strip in mine["strip"]))
            title = f"Between the rows of {into}: {sowing.crop}"
            yield title, STRIP_COLUMNS, sowing_lines(layout, mine)
