"""Make the cover: the whole field as large as the page takes it, with every strip numbered."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.cautions import cautions_for
from striplay.notices import Kind
from striplay.section.occasions import occasions_of
from striplay.sheets.book import Book
from striplay.sheets.fitting import fitted_view
from striplay.sheets.flow import Drawn, Story, begin
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.ground import (
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_north,
    draw_ticks,
)
from striplay.sheets.label_room import Page
from striplay.sheets.land import (
    draw_headland_lines,
    draw_land,
    obstacles_named,
    planted_on,
    put_flag,
    put_gate,
    put_names,
    shown_land,
    strips_on,
)
from striplay.sheets.legend import (
    SMALL_ROW_PT,
    Row,
    high_of,
    land_rows,
    sign_rows,
    whole_rows,
    words,
    write_rows,
)
from striplay.sheets.spoken import spoken
from striplay.sheets.strip_numbers import (
    NUMBER_PT,
    Numbered,
    chosen_strips,
    draw_numbers,
    numbered_every,
    numbers_of,
    place_numbers,
)
from striplay.sheets.style import (
    HAIR_PT,
    MM,
    RULE,
    SMALLEST_PT,
)
from striplay.sheets.tile_sheets import tiles_of

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]

GAP_PT = 6.0
WORST = 3
"""So many of the gravest notices stand on the cover."""
HURTS: tuple[Kind, ...] = ("passes", "obstacle", "slope", "boundary")
"""Kinds of notices on where machines go, which can hurt: before those on widths and the season."""


def title_rows(book: Book, wide_pt: float) -> list[Row]:
    """Write the title block: map, for whom, where, date; scale and north stand beside it."""
    farm = book.farm
    lines = [
        ("Map", f"{book.title}: strips to plant"),
        ("For", ", ".join(one for one in (farm.operator, farm.name) if one)),
        ("County, state", ", ".join(one for one in (farm.county, farm.state) if one)),
        ("Legal location", farm.legal),
        ("Prepared by", farm.prepared_by),
        ("Date", "" if book.printed is None else book.printed.isoformat()),
    ]
    rows: list[Row] = []
    for label, text in lines:
        if text:
            rows += words(f"{label}: {text}", wide_pt, most=2)
    return rows


def caution_rows(layout: "Layout", wide_pt: float, most: int) -> list[Row]:
    """Write the gravest notices, each whole, and the usual cautions.

    Args:
        layout: whose.
        wide_pt: how wide the rows are.
        most: so many rows of notices at most.
    """
    rows = []
    grave = [one for one in layout.notices if one.severity != "know"]
    grave.sort(key=lambda one: (one.severity != "stop", one.kind not in HURTS))
    say = spoken(layout.plan)
    marked = [
        f"{'STOP: ' if one.severity == 'stop' else ''}{say(one.text)}" for one in grave[:WORST]
    ]
    told, left = whole_rows(marked, wide_pt, most)
    more = len(grave) - len(marked) + left
    if grave:
        head = "Settle or mind first" + (f" ({more} more in the appendix)" if more else "")
        rows += [Row(head, bold=True, high_pt=SMALL_ROW_PT + 1), *told]
    rows.append(Row("Cautions", bold=True, high_pt=SMALL_ROW_PT + 1))
    for one in cautions_for(
        occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty),
        layout.plan.units,
    ):
        if one.short:
            rows += words(one.short, wide_pt)
    return rows


@dataclass(frozen=True)
class Panel:
    """How words and map share the page.

    Attributes:
        frame_pt: left, bottom, right and top of the map's frame on the page's inner part.
        columns: columns of words, each with its left end, top and width.
        bar_pt: left end and foot of the scale bar.
        north_pt: middle of the arrow to north.
        box: left, bottom, right and top of the box round the cautions.
    """

    frame_pt: tuple[float, float, float, float]
    columns: tuple[tuple[float, float, float, tuple[Row, ...]], ...]
    bar_pt: tuple[float, float]
    north_pt: tuple[float, float]
    box: tuple[float, float, float, float]


BAR_ROOM_PT, NORTH_PT, BAR_WORDS_PT = 25.0, 40.0, 9.0
"""Height of the bar with its words, room that the arrow to north takes each way, and the words'."""
INSET_PT = 4.0
SIDE_PT = 60 * MM


def panels(layout: "Layout", book: Book) -> list[Panel]:
    """List how words and map may share the page, the roomiest for words first."""
    wide, high = book.inner_mm * MM, book.room_mm * MM
    found = [_below(layout, book, wide, high, most) for most in BOXED]
    beside = _beside(layout, book, wide, high)
    return found if beside is None else [found[0], beside, *found[1:]]


BOXED, BOXED_BESIDE = (9, 6, 4, 3), 24
"""So many rows of notices stand in the box under the map, or under it where that gains a scale; and
beside it."""


def _below(layout: "Layout", book: Book, wide: float, high: float, most: int) -> Panel:
    """Put words under the map: three columns and the arrow to north, over a box."""
    column = (wide - NORTH_PT - 2 * 2 * GAP_PT) / 3
    lefts = [at * (column + 2 * GAP_PT) for at in range(3)]
    told = [
        land_rows(layout, book, column), sign_rows(layout, book, column),
        title_rows(book, column),
    ]  # fmt: skip
    boxed = caution_rows(layout, wide - 2 * INSET_PT, most)
    box_high = high_of(boxed) + 2 * INSET_PT
    heights = [high_of(rows) for rows in told]
    shortest = int(np.argmin(heights))
    heights[shortest] += BAR_ROOM_PT
    # the bar's words reach under the arrow's: those stand over them
    north_y = max(max(heights) / 2, NORTH_PT / 2 + BAR_WORDS_PT)
    top = box_high + GAP_PT + max(*heights, NORTH_PT + BAR_WORDS_PT)
    columns = [(x, top, column, tuple(rows)) for x, rows in zip(lefts, told, strict=True)]
    columns.append((INSET_PT, box_high - INSET_PT + 1, wide - 2 * INSET_PT, tuple(boxed)))
    bar = (lefts[shortest], box_high + GAP_PT + 10.0)
    north = (wide - NORTH_PT / 2, box_high + GAP_PT + north_y)
    frame = (TICK_ROOM_PT, top + TICK_ROOM_PT + 2.0, wide, high)
    return Panel(frame, tuple(columns), bar, north, (0.0, 0.0, wide, box_high))


def _beside(layout: "Layout", book: Book, wide: float, high: float) -> Panel | None:
    """Put words right of the map, in one column; None where they have no room."""
    x = wide - SIDE_PT
    told = [
        *title_rows(book, SIDE_PT), Row("", high_pt=3.0),
        *land_rows(layout, book, SIDE_PT), Row("", high_pt=3.0), *sign_rows(layout, book, SIDE_PT),
    ]  # fmt: skip
    boxed = caution_rows(layout, SIDE_PT - 2 * INSET_PT, BOXED_BESIDE)
    box_high = high_of(boxed) + 2 * INSET_PT
    if box_high + high_of(told) + BAR_ROOM_PT + NORTH_PT + 4 * GAP_PT > high:
        return None
    columns = (
        (x, high, SIDE_PT, tuple(told)),
        (x + INSET_PT, box_high - INSET_PT + 1, SIDE_PT - 2 * INSET_PT, tuple(boxed)),
    )
    bar = (x, high - high_of(told) - GAP_PT - 14.0)
    north = (x + SIDE_PT / 2, bar[1] - GAP_PT - NORTH_PT / 2 - 6.0)
    frame = (TICK_ROOM_PT, TICK_ROOM_PT, x - 2 * GAP_PT, high)
    return Panel(frame, columns, bar, north, (x, 0.0, wide, box_high))


@dataclass(frozen=True)
class Cover:
    """The cover as it is to be drawn.

    Attributes:
        panel: how words and map share it.
        view: the ground on it.
        axis: of its rows, as `turns_of` gives it.
    """

    panel: Panel
    view: View
    axis: int


def cover_of(book: Book, layout: "Layout") -> Cover:
    """Choose how the field stands on the cover: the finest scale, and room for numbers."""
    listed = panels(layout, book)
    view, axis, order = fitted_view(layout, [panel.frame_pt for panel in listed], book.turn_deg)
    if numbered_every(layout, view) > 1:
        view = raised(view, layout, NOTE_PT)
    return Cover(listed[order], view, axis)


NOTE_PT = SMALL_ROW_PT + 4.0
"""Room for a line at the frame's foot, where not all strips are numbered."""


def raised(view: View, layout: "Layout", room_pt: float) -> View:
    """Move ground up in its frame, so far as there is room, to leave some under it."""
    low, high = shapely.bounds(view.on_page(shown_land(layout)))[[1, 3]]
    _, bottom, _, top = view.frame_pt
    up_pt = min(bottom + room_pt - low, top - 3.0 - high)
    if up_pt <= 0.0:
        return view
    (center,) = view.on_ground(view.middle_pt - np.array([0.0, up_pt]))
    return replace(view, center_m=(float(center[0]), float(center[1])))


def cover_story(book: Book, layout: "Layout") -> Story:
    """Make the cover."""
    cover = cover_of(book, layout)

    def draw(canvas: Canvas, _wide: float, _high: float) -> None:
        draw_cover(canvas, book, layout, cover)

    return [*begin("Cover map"), Drawn(book.inner_mm * MM, book.room_mm * MM, draw)]


def draw_cover(canvas: Canvas, book: Book, layout: "Layout", cover: Cover) -> Numbered:
    """Draw the cover; give how its strips are numbered."""
    view, panel = cover.view, cover.panel
    strips = strips_on(layout, book, view)
    draw_land(canvas, view, layout, book, strips)
    draw_headland_lines(canvas, view, layout)
    taken = put_gate(canvas, view, layout, np.empty((0, 4)))
    taken = put_flag(canvas, view, layout, taken)
    taken, named = put_names(canvas, view, obstacles_named(layout), taken, inside=True)
    page = Page(inside(view), NUMBER_PT, taken, land=planted_on(layout, book, view))
    numbered = number_all(canvas, view, layout, book, page, cover.axis)
    put_names(canvas, view, named, np.concatenate([taken, numbered.placed.box]))
    draw_ticks(canvas, view, layout.ground)
    for x, top, wide, rows in panel.columns:
        write_rows(canvas, x, top, wide, rows)
    draw_bar(canvas, *panel.bar_pt, view.scale, layout.plan.units, panel.columns[0][2])
    draw_north(canvas, *panel.north_pt, view)
    left, bottom, right, top = panel.box
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(2 * HAIR_PT)
    canvas.rect(left, bottom, right - left, top - bottom, stroke=1, fill=0)
    return numbered


def number_all(
    canvas: Canvas, view: View, layout: "Layout", book: Book, page: Page, axis: int
) -> Numbered:
    """Number every piece of every strip, and say which have no room."""
    numbers = numbers_of(layout, book, view)
    every = numbered_every(layout, view)
    shown = chosen_strips(layout, every)
    left, bottom, right, _ = page.frame
    foot = np.array([[left, bottom, right, bottom + SMALL_ROW_PT + 1]])
    over = replace(page, taken=np.concatenate([page.taken, foot]))
    numbered = place_numbers(numbers, over if every > 1 else page, axis, shown)
    if len(numbered.lacking) or every > 1:
        if every == 1:
            numbered = place_numbers(numbers, over, axis, shown)
        parts = bool(tiles_of(book, layout, view.scale))
        said = lacking_words(numbers.strip, numbered, every, parts=parts)
        canvas.setFillColor("#ffffff")
        said = fitted(said, right - left - 4, SMALLEST_PT)
        canvas.rect(
            left, bottom, width_pt(said, SMALLEST_PT) + 4, SMALL_ROW_PT + 1, stroke=0, fill=1
        )
        write(canvas, left + 2, bottom + 2.6, said, SMALLEST_PT)
    draw_numbers(canvas, numbered.text, numbered.placed)
    return numbered


NAMED = 6
"""So many strips without a number are named."""


def lacking_words(
    strip: npt.NDArray[np.int64], numbered: Numbered, every: int, *, parts: bool
) -> str:
    """Say which pieces have no number on the cover, and where they have."""
    count = len(numbered.lacking)
    if every > 1:
        said = f"Strips are too narrow here to number all: every {every}th is"
    else:
        named = list(dict.fromkeys(strip[numbered.lacking].tolist()))
        more = ", ..." if len(named) > NAMED else ""
        pieces = "1 piece has" if count == 1 else f"{count} pieces have"
        listed = ", ".join(map(str, named[:NAMED]))
        said = f"{pieces} no room here for a number, in strip {listed}{more}"
    where = "the sheets of parts number all" if parts else "the strip index lists all"
    return f"{said}; {where}."


def inside(view: View) -> tuple[float, float, float, float]:
    """Give the part of a frame that words keep in, clear of its ticks."""
    left, bottom, right, top = view.frame_pt
    return left + 2.0, bottom + 2.0, right - 2.0, top - 2.0
