"""Make the cover: the whole field as large as the page takes it, with every strip numbered."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from reportlab.pdfgen.canvas import Canvas

from striplay.cautions import cautions_for
from striplay.report import rows_run
from striplay.section.occasions import occasions_of
from striplay.sheets.book import Book
from striplay.sheets.flow import Drawn, Story, begin, lines_of, shrunk
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.ground import (
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_flag,
    draw_gate,
    draw_north,
    draw_ticks,
    extent,
    fitting_scale,
    heading_of,
    turns_of,
    view_at,
)
from striplay.sheets.labels import BETWEEN_PT, FAN_PT, LEADERS_PT, Page
from striplay.sheets.land import (
    draw_headland_lines,
    draw_land,
    gate_m,
    headland_lines,
    put_flag,
    put_gate,
    put_names,
    shown_land,
    strips_on,
)
from striplay.sheets.paint import draw_lines, swatch
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
    GRAY,
    HAIR_PT,
    HEADING_PT,
    HEADLAND,
    INK,
    LEFTOVER,
    MM,
    OBSTACLE,
    RULE,
    SMALLEST_PT,
    TEXT_PT,
    Fill,
)
from striplay.units import ACRE_M2, HECTARE_M2, UnitSystem

if TYPE_CHECKING:
    from striplay.flow import Layout

Floats = npt.NDArray[np.float64]

ROW_PT, SMALL_ROW_PT = 9.6, 8.5
"""From line to line of the legend, and of what is only words."""
GAP_PT = 6.0
WORST = 3
"""So many of the gravest notices stand on the cover."""
LEAST_PAD_PT, SLANT_PAD_PT = 5.0, 24.0
"""Room beside the field for what stands there; where rows slant, for numbers too."""
COARSER = 1.25
"""A scale coarser by no more is taken where numbers then stand outside the strips."""


def adding_up(parts: Sequence[float], whole: float, step: float) -> list[int]:
    """Round parts to whole steps so that they add up to the whole as it is rounded.

    Those that lose the most by being cut are rounded up.

    >>> adding_up([0.333, 0.333, 0.333], 1.0, 0.01)
    [34, 33, 33]
    """
    cut = [math.floor(part / step + 1e-9) for part in parts]
    left = round(whole / step) - sum(cut)
    loss = sorted(range(len(parts)), key=lambda at: -(parts[at] / step - cut[at]))
    for at in loss[: max(left, 0)]:
        cut[at] += 1
    return cut


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the legend or of words.

    Attributes:
        text: what it says.
        right: what stands at its right end.
        fill: of its sample; None for none.
        letter: on the sample.
        sign: draws a sign in the sample's place, about a middle.
        bold: whether it is bold.
        high_pt: its height.
    """

    text: str
    right: str = ""
    fill: Fill | None = None
    letter: str = ""
    sign: Callable[[Canvas, float, float], None] | None = None
    bold: bool = False
    high_pt: float = ROW_PT

    @property
    def indent_pt(self) -> float:
        """How far its words stand in."""
        return SAMPLE_PT + 4 if self.fill is not None or self.sign is not None else 0.0


SAMPLE_PT = 20.0


def words(text: str, wide_pt: float, *, bold: bool = False, most: int = 99) -> list[Row]:
    """Set a text in rows, cut after so many."""
    lines = lines_of(text, wide_pt, SMALLEST_PT, bold=bold)
    if len(lines) > most:
        rest = " ".join(lines[most - 1 :])
        lines = [*lines[: most - 1], fitted(rest, wide_pt, SMALLEST_PT, bold=bold)]
    return [Row(line, bold=bold, high_pt=SMALL_ROW_PT) for line in lines]


def heading_row(text: str) -> Row:
    """Head a column."""
    return Row(text, bold=True, high_pt=HEADING_PT + 1)


def high_of(rows: Sequence[Row]) -> float:
    """Add up the heights of rows."""
    return sum(row.high_pt for row in rows)


def write_rows(
    canvas: Canvas, x_pt: float, top_pt: float, wide_pt: float, rows: Sequence[Row]
) -> float:
    """Write rows down from a top; give where they end."""
    for row in rows:
        top_pt -= row.high_pt
        foot = top_pt + 2.4
        if row.fill is not None:
            swatch(canvas, x_pt, top_pt + 0.6, SAMPLE_PT, row.high_pt - 1.4, row.fill, row.letter)
        if row.sign is not None:
            row.sign(canvas, x_pt + SAMPLE_PT / 2, top_pt + row.high_pt / 2)
        size_pt = TEXT_PT if row.high_pt > ROW_PT else SMALLEST_PT
        room = wide_pt - row.indent_pt
        if row.right:
            room -= (
                write(canvas, x_pt + wide_pt, foot, row.right, size_pt, bold=row.bold, align=1) + 4
            )
        said, size_pt = shrunk(row.text, room, size_pt, SMALLEST_PT, bold=row.bold)
        write(canvas, x_pt + row.indent_pt, foot, said, size_pt, bold=row.bold)
    return top_pt


def land_rows(layout: "Layout", book: Book) -> list[Row]:
    """List where the field's ground goes, in acres or hectares that add up to the field."""
    areas, strips = layout.areas_m2, layout.strips
    by_crop = strips.groupby("crop")["area_m2"].sum()
    listed = [
        (look.fill, look.letter, name, float(by_crop[name]))
        for name, look in book.looks.items()
        if name in by_crop.index
    ]
    crop = layout.plan.headland_crop
    planted = crop is not None and len(headland_lines(layout))
    name = f"headland, {crop}" if planted else "headland, not planted"
    listed += [
        (HEADLAND, "", name, areas["headland"]),
        (OBSTACLE, "", "obstacles", areas["obstacles"]),
        (LEFTOVER, "", "left over", areas["leftover"]),
    ]
    shown = [one for one in listed if one[3] > 0.0]
    unit_m2, unit = _unit(layout.plan.units)
    whole = layout.ground.outline.area / unit_m2
    parts = adding_up([area_m2 / unit_m2 for *_, area_m2 in shown], whole, 0.01)
    rows = [
        Row(name, f"{part / 100:,.2f} {unit}", fill, letter)
        for (fill, letter, name, _), part in zip(shown, parts, strict=True)
        if part
    ]
    return [*rows, Row("field", f"{round(whole, 2):,.2f} {unit}", sign=_edge, bold=True)]


def _unit(units: UnitSystem) -> tuple[float, str]:
    return (ACRE_M2, "ac") if units == "us" else (HECTARE_M2, "ha")


def _edge(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y - 0.6), (x + half, y - 0.6)]]), 1.1, INK)


def _gate_sign(canvas: Canvas, x: float, y: float) -> None:
    draw_gate(canvas, np.array([x, y]), "")


def _flag_sign(canvas: Canvas, x: float, y: float) -> None:
    draw_flag(canvas, np.array([x - 2, y - 3.5]), 7.0)


def _round_sign(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y), (x + half, y)]]), 0.4, GRAY, (4.0, 2.0))


def sign_rows(layout: "Layout", book: Book, wide_pt: float) -> list[Row]:
    """List the signs on the map, how rows run and how strips are numbered."""
    plan, rows = layout.plan, []
    side = (
        "" if plan.direction.pivot else f"; strip 1 on the {plan.direction.start}, looking that way"
    )
    rows += words(f"Rows: {rows_run(plan, layout.accounts['field'])}{side}.", wide_pt, most=4)
    strip = int(layout.strips["strip"].iloc[0])
    crop = str(layout.strips["crop"].iloc[0])
    told = f"{strip} {book.looks[crop].letter}: strip {strip}, {crop}"
    parted = layout.strips["strip"][layout.strips["piece"] == 2]  # noqa: PLR2004 - the second
    if len(parted):
        told += f"; {parted.iloc[0]}.2: second piece of strip {parted.iloc[0]}"
    rows += words(told + ".", wide_pt, most=2)
    if len(headland_lines(layout)):
        rows.append(Row("pass round the headland", sign=_round_sign))
    rows.append(Row("first planting pass starts", sign=_flag_sign))
    if gate_m(layout) is not None:
        rows.append(Row("gate", sign=_gate_sign))
    return rows


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
    """Write the gravest notices and the usual cautions, one line each where there is room."""
    rows = []
    worst = [one for one in layout.notices if one.severity != "know"][:WORST]
    more = len([one for one in layout.notices if one.severity != "know"]) - len(worst)
    if worst:
        head = "Settle or mind first" + (f" ({more} more in the appendix)" if more else "")
        rows.append(Row(head, bold=True, high_pt=SMALL_ROW_PT + 1))
        for notice in worst:
            mark = "STOP: " if notice.severity == "stop" else ""
            rows += words(f"{mark}{notice.text}", wide_pt, most=most)
    rows.append(Row("Cautions", bold=True, high_pt=SMALL_ROW_PT + 1))
    told = cautions_for(occasions_of(layout.plan, layout.section))
    for one in told:
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


BAR_ROOM_PT, NORTH_PT = 25.0, 40.0
"""Height of the bar with its words, and room that the arrow to north takes each way."""
INSET_PT = 4.0
SIDE_PT = 60 * MM


def panels(layout: "Layout", book: Book) -> list[Panel]:
    """List how words and map may share the page, the roomiest for words first."""
    wide, high = book.inner_mm * MM, book.room_mm * MM
    found = [_below(layout, book, wide, high, most) for most in (2, 1)]
    beside = _beside(layout, book, wide, high)
    return found if beside is None else [found[0], beside, found[1]]


def _below(layout: "Layout", book: Book, wide: float, high: float, most: int) -> Panel:
    """Put words under the map: three columns and the arrow to north, over a box."""
    column = (wide - NORTH_PT - 2 * 2 * GAP_PT) / 3
    lefts = [at * (column + 2 * GAP_PT) for at in range(3)]
    told = [land_rows(layout, book), sign_rows(layout, book, column), title_rows(book, column)]
    boxed = caution_rows(layout, wide - 2 * INSET_PT, most)
    box_high = high_of(boxed) + 2 * INSET_PT
    heights = [high_of(rows) for rows in told]
    shortest = int(np.argmin(heights))
    heights[shortest] += BAR_ROOM_PT
    top = box_high + GAP_PT + max(*heights, NORTH_PT)
    columns = [(x, top, column, tuple(rows)) for x, rows in zip(lefts, told, strict=True)]
    columns.append((INSET_PT, box_high - INSET_PT + 1, wide - 2 * INSET_PT, tuple(boxed)))
    bar = (lefts[shortest], box_high + GAP_PT + 10.0)
    north = (wide - NORTH_PT / 2, box_high + GAP_PT + max(*heights, NORTH_PT) / 2)
    frame = (TICK_ROOM_PT, top + TICK_ROOM_PT + 2.0, wide, high)
    return Panel(frame, tuple(columns), bar, north, (0.0, 0.0, wide, box_high))


def _beside(layout: "Layout", book: Book, wide: float, high: float) -> Panel | None:
    """Put words right of the map, in one column; None where they have no room."""
    x = wide - SIDE_PT
    told = [
        *title_rows(book, SIDE_PT), Row("", high_pt=3.0),
        *land_rows(layout, book), Row("", high_pt=3.0), *sign_rows(layout, book, SIDE_PT),
    ]  # fmt: skip
    boxed = caution_rows(layout, SIDE_PT - 2 * INSET_PT, 4)
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
    land = shown_land(layout)
    tried = []
    for order, panel in enumerate(panels(layout, book)):
        left, bottom, right, top = panel.frame_pt
        for turn_deg, axis in turns_of(layout.ground.outline, heading_of(layout)):
            bounds = extent(land, turn_deg)
            wide_m, high_m = (float(one) for one in bounds[2:] - bounds[:2])
            scale = scale_with_numbers(layout, (wide_m, high_m), (right - left, top - bottom), axis)
            tried.append((scale, order, abs(turn_deg), turn_deg, axis, panel))
    scale, _, _, turn_deg, axis, panel = min(tried, key=lambda one: one[:3])
    return Cover(panel, view_at(land, turn_deg, panel.frame_pt, scale=scale), axis)


def scale_with_numbers(
    layout: "Layout",
    size_m: tuple[float, float],
    room_pt: tuple[float, float],
    axis: int,
) -> int:
    """Choose the finest scale; a little coarser, where numbers then stand outside the strips."""
    least = (LEAST_PAD_PT, LEAST_PAD_PT)
    finest = _fitting(size_m, room_pt, least)
    scale = finest
    for _ in range(4):  # the room for numbers goes by the scale, and the scale by the room
        again = _fitting(size_m, room_pt, pads_for(layout, scale, axis))
        if again <= scale:
            break
        scale = again
    return scale if scale <= COARSER * finest else finest


def _fitting(
    size_m: tuple[float, float], room_pt: tuple[float, float], pads: tuple[float, float]
) -> int:
    return fitting_scale(*size_m, room_pt[0] - 2 * pads[0], room_pt[1] - 2 * pads[1])


def pads_for(layout: "Layout", scale: int, axis: int) -> tuple[float, float]:
    """Give the room that numbers need beside the field: left and right, and above and below."""
    if axis < 0:
        return SLANT_PAD_PT, SLANT_PAD_PT
    pt_per_m = 1000 * MM / scale
    pitch = float(np.median(layout.strips["width_m"])) * pt_per_m
    deep = max(1, math.ceil(NUMBER_PT / max(pitch - LEADERS_PT, 0.1)))
    last = int(layout.strips["strip"].max())
    wide = width_pt(f"{last} W", SMALLEST_PT) + BETWEEN_PT
    need = FAN_PT + deep * wide - layout.plan.headland_width_m * pt_per_m
    along = min(max(need, LEAST_PAD_PT), 150.0)
    return (along, LEAST_PAD_PT) if axis == 0 else (LEAST_PAD_PT, along)


def cover_story(book: Book, layout: "Layout") -> Story:
    """Make the cover."""
    cover = cover_of(book, layout)

    def draw(canvas: Canvas, _wide: float, _high: float) -> None:
        draw_cover(canvas, book, layout, cover)

    return [*begin("Cover map"), Drawn(book.inner_mm * MM, book.room_mm * MM, draw)]


def draw_cover(canvas: Canvas, book: Book, layout: "Layout", cover: Cover) -> Numbered:
    """Draw the cover; give how its strips are numbered."""
    view, panel = cover.view, cover.panel
    draw_land(canvas, view, layout, book)
    draw_headland_lines(canvas, view, layout)
    taken = put_gate(canvas, view, layout, np.empty((0, 4)))
    taken = put_flag(canvas, view, layout, taken)
    taken = put_names(canvas, view, layout, taken)
    numbered = number_all(canvas, view, layout, book, taken, cover.axis)
    draw_ticks(canvas, view, layout.ground)
    for x, top, wide, rows in panel.columns:
        write_rows(canvas, x, top, wide, rows)
    draw_bar(canvas, *panel.bar_pt, view.scale, layout.plan.units)
    draw_north(canvas, *panel.north_pt, view)
    left, bottom, right, top = panel.box
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(2 * HAIR_PT)
    canvas.rect(left, bottom, right - left, top - bottom, stroke=1, fill=0)
    return numbered


def number_all(
    canvas: Canvas, view: View, layout: "Layout", book: Book, taken: Floats, axis: int
) -> Numbered:
    """Number every piece of every strip, and say which have no room."""
    numbers = numbers_of(layout, book, view)
    every = numbered_every(layout, view)
    shown = chosen_strips(layout, every)
    page = Page(inside(view), NUMBER_PT, taken, land=strips_on(layout, view))
    numbered = place_numbers(numbers, page, axis, shown)
    if len(numbered.lacking) or every > 1:
        left, bottom, right, _ = page.frame
        foot = np.array([[left, bottom, right, bottom + SMALL_ROW_PT + 1]])
        numbered = place_numbers(
            numbers, replace(page, taken=np.concatenate([taken, foot])), axis, shown
        )
        said = lacking_words(numbers.strip, numbered, every)
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


def lacking_words(strip: npt.NDArray[np.int64], numbered: Numbered, every: int) -> str:
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
    return f"{said}; the strip index lists all."


def inside(view: View) -> tuple[float, float, float, float]:
    """Give the part of a frame that words keep in, clear of its ticks."""
    left, bottom, right, top = view.frame_pt
    return left + 2.0, bottom + 2.0, right - 2.0, top - 2.0
