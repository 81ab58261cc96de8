"""Make the map of what strips yielded, point by point, as a yield monitor has it."""

import itertools
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import HEADLAND, OBSTACLE, Fill
from striplay.operations.amounts import bushel_kg
from striplay.records.measures import format_yield
from striplay.records.monitor_report import monitor_report
from striplay.records.monitored import Monitored
from striplay.sheets.book import Book
from striplay.sheets.cover_sheets import inside, number_all
from striplay.sheets.fitting import fitted_view
from striplay.sheets.flow import Drawn, Story, begin, paragraph
from striplay.sheets.ground import (
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_north,
    draw_outline,
    draw_ticks,
)
from striplay.sheets.label_room import Page
from striplay.sheets.land import planted_on, strips_on
from striplay.sheets.legend import Row, heading_row, high_of, write_rows
from striplay.sheets.paint import draw_dots, fill_shape
from striplay.sheets.strip_numbers import NUMBER_PT
from striplay.sheets.style import HAIR_PT, MM, PALE

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]
RAMP = ("#dde1ec", "#b4c0d8", "#8097bd", "#476a94", "#173a5e")
"""From the least fifth of points to the most: one color from pale to dark, told apart in gray."""
DOT_PT = 0.45
"""Size of a point that is not counted."""
GAP_PT, BAR_PT, NORTH_PT = 6.0, 224.0, 20.0


def yield_story(book: Book, layout: "Layout", found: Monitored) -> Story:
    """Make the sheets of a yield monitor's file: the map, and what it comes to in words.

    Args:
        book: what all pages share.
        layout: the layout.
        found: what the file comes to.
    """

    def draw(canvas: Canvas, wide: float, high: float) -> None:
        def paint(view: View, _strips: Geometries) -> Floats:
            _draw_points(canvas, view, found)
            return np.empty((0, 4))

        draw_yields(canvas, book, layout, _legend(layout, found), (wide, high), paint)

    named = f"Yield of {found.crop}, from {found.source}"
    story = begin(named)
    story.append(Drawn(book.inner_mm * MM, book.room_mm * MM, draw))
    story += begin(f"{named}: by strip, and what is not counted")
    return story + [paragraph(line.strip()) for line in monitor_report(found, layout.plan)]


Paint = Callable[[View, Geometries], Floats]
"""Draws yields over the strips on a view, and gives the boxes that are then taken, (n, 4)."""


def draw_yields(
    canvas: Canvas,
    book: Book,
    layout: "Layout",
    rows: Sequence[Row],
    size_pt: tuple[float, float],
    paint: Paint,
) -> None:
    """Draw a map of yields with its legend under it, each strip numbered.

    Args:
        canvas: the page.
        book: how strips are named.
        layout: the field.
        rows: of the legend.
        size_pt: room for all.
        paint: what yields are drawn by.
    """
    wide, high = size_pt
    foot = max(high_of(rows), 2 * NORTH_PT) + GAP_PT
    frame = (TICK_ROOM_PT, foot + TICK_ROOM_PT + GAP_PT, wide, high)
    view, axis, _ = fitted_view(layout, [frame], book.turn_deg)
    fill_shape(canvas, view.on_page(layout.laid.headland), HEADLAND, 0.0)
    strips = strips_on(layout, book, view)
    fill_shape(canvas, strips, Fill("#ffffff"), HAIR_PT, PALE)
    taken = paint(view, strips)
    obstacles = shapely.get_parts(layout.ground.obstacles)
    if len(obstacles):
        fill_shape(canvas, view.on_page(obstacles), OBSTACLE, HAIR_PT)
    draw_outline(canvas, view, layout.ground)
    page = Page(inside(view), NUMBER_PT, taken, land=planted_on(layout, book, view))
    number_all(canvas, view, layout, book, page, axis)
    draw_ticks(canvas, view, layout.ground)
    write_rows(canvas, 0.0, foot - GAP_PT, wide - BAR_PT - GAP_PT, rows)
    draw_bar(canvas, wide - BAR_PT, foot - 24.0, view.scale, layout.plan.units, BAR_PT - 40.0)
    draw_north(canvas, wide - NORTH_PT, foot - NORTH_PT - GAP_PT, view)


def fifths(kg_per_m2: Floats) -> Floats:
    """Give the four yields that part points into fifths, (4,)."""
    counted = kg_per_m2[np.isfinite(kg_per_m2)]
    return np.asarray(np.quantile(counted, [0.2, 0.4, 0.6, 0.8]), dtype=np.float64)


def _legend(layout: "Layout", found: Monitored) -> list[Row]:
    """Say which color is which yield; the least first, each of a fifth of the points."""
    bushel = bushel_kg(layout.plan, found.crop)
    ends = [format_yield(one, bushel, layout.plan.units) for one in fifths(found.kg_per_m2)]
    texts = [f"below {ends[0]}"]
    texts += [f"{low} to {high}" for low, high in itertools.pairwise(ends)]
    texts.append(f"{ends[-1]} and more")
    dropped = f"not counted: {found.points - found.counted:,} of {found.points:,} points"
    return [
        heading_row("Yield, a fifth of the points in each color"),
        *(Row(text, fill=Fill(color)) for text, color in zip(texts, RAMP, strict=True)),
        Row(dropped, sign=_dot),
    ]


def _dot(canvas: Canvas, x: float, y: float) -> None:
    draw_dots(canvas, np.array([[x, y]]), DOT_PT, PALE)


def _draw_points(canvas: Canvas, view: View, found: Monitored) -> None:
    """Draw points that count in the color of their fifth, the others as dots."""
    at = view.points(found.point_m)
    counts = np.isfinite(found.kg_per_m2)
    near = ~counts & shapely.contains_xy(view.box, at[:, 0], at[:, 1])
    draw_dots(canvas, at[near], DOT_PT / 2, PALE)
    fifth = np.searchsorted(fifths(found.kg_per_m2), found.kg_per_m2[counts], side="right")
    swaths = view.on_page(_swaths(found)[counts])
    for number, color in enumerate(RAMP):
        fill_shape(canvas, swaths[fifth == number], Fill(color), 0.0)


def _swaths(found: Monitored) -> Geometries:
    """Give the ground that each point stands for: as wide as cut, as long as to the next, (n,)."""
    steps_m = np.hypot(*np.diff(found.point_m, axis=0).T)
    long_m = float(np.median(steps_m)) if len(steps_m) else 1.0
    ahead = found.way * long_m / 2
    aside = np.column_stack([-found.way[:, 1], found.way[:, 0]]) * found.width_m[:, None] / 2
    corners = [-ahead - aside, ahead - aside, ahead + aside, aside - ahead, -ahead - aside]
    rings = np.stack([found.point_m + corner for corner in corners], axis=1)
    return np.asarray(shapely.polygons(rings), dtype=object)
