"""Draw one operation as it is driven: its passes numbered, with arrows, on a map of its own."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from striplay.looks import OBSTACLE, Fill
from striplay.operations.under import ranges
from striplay.sheets.book import Book
from striplay.sheets.filling import LEAST_MM, draw_ruled
from striplay.sheets.fitting import fitted_view
from striplay.sheets.flow import Drawn
from striplay.sheets.ground import (
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_gate,
    draw_north,
    draw_outline,
    draw_ticks,
    extent,
)
from striplay.sheets.label_room import Placed
from striplay.sheets.land import (
    gate_m,
    obstacles_named,
    paled,
    put_gate,
    put_names,
    shown_land,
    strips_on,
)
from striplay.sheets.legend import SAMPLE_PT, Row, high_of, whole_rows, words, write_rows
from striplay.sheets.paint import arrow_heads, draw_lines, fill_shape
from striplay.sheets.pass_numbers import (
    EVERY,
    FILL_PT,
    RING_PT,
    Driven,
    PassNumbers,
    driven_on,
    fill_places,
    number_passes,
)
from striplay.sheets.strip_numbers import crops_at, draw_numbers
from striplay.sheets.style import GRAY, HAIR_PT, INK, MM, PALE
from striplay.units import MILE_M, said
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

GAP_PT = 6.0
STRIP_GRAY = "#6a6a6a"
"""Color of strips' numbers, which stand back but are to be read."""
WORKED_GRAY, BARE_FILL = Fill("#e2e2e2", "", PALE), Fill("#ffffff", "", PALE)
HEADLAND_BARE = Fill("#f4f4f4")
PASS_PT, TURN_PT = 0.9, 0.3
"""Widths of passes and of turns."""
PASS_SHARE = 0.25
"""Passes close together are drawn so much of their own width wide at most."""
LEAST_HEAD_PT, HEAD_PT, FIRST_HEAD_PT, EVERY_PT = 4.0, 5.5, 16.0, 170.0
"""Shortest and usual length of arrows' heads, how far behind the start the first is, and how far
apart the others."""


def operation_map(book: Book, layout: "Layout", sheet: Worksheet) -> list[Flowable]:
    """Make the map of an operation: a page.

    Args:
        book: what all pages share.
        layout: the layout.
        sheet: the operation.
    """

    def draw(canvas: Canvas, wide: float, high: float) -> None:
        draw_operation(canvas, book, layout, sheet, (wide, high))

    return [Drawn(book.inner_mm * MM, book.room_mm * MM, draw)]


def draw_operation(
    canvas: Canvas, book: Book, layout: "Layout", sheet: Worksheet, size_pt: tuple[float, float]
) -> PassNumbers:
    """Draw the map of an operation with what is written under it; give its numbers."""
    wide = size_pt[0]
    view, axis, _ = fitted_view(layout, [frame_of(book, layout, sheet, size_pt)], book.turn_deg)
    view = lowered(view, layout)
    frame = view.frame_pt
    driven = driven_on(sheet, view)
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(frame[0], frame[1], frame[2] - frame[0], frame[3] - frame[1])
    canvas.clipPath(clip, stroke=0, fill=0)
    strips = strips_on(layout, book, view)
    _draw_ground(canvas, view, layout, book, sheet, strips)
    _draw_driven(canvas, driven, view, sheet)
    canvas.restoreState()
    taken = _draw_signs(canvas, driven)
    taken = put_gate(canvas, view, layout, taken)
    taken, named = put_names(canvas, view, obstacles_named(layout), taken, inside=True)
    numbers = number_passes(layout, book, view, sheet, driven, taken, axis)
    boxes = np.concatenate([taken, numbers.passes.box, numbers.strips.box])
    put_names(canvas, view, named, boxes[~np.isnan(boxes[:, 0])])
    shown = numbers.passes.found if numbers.thinned else np.ones(len(sheet), dtype=bool)
    _draw_arrows(canvas, driven, view, sheet, shown)
    _write_numbers(canvas, sheet, numbers)
    draw_ticks(canvas, view, layout.ground)
    lacking = [int(sheet.number[at]) for at in np.flatnonzero(~numbers.passes.found)]
    signs = sign_columns(layout, sheet, numbers)
    under = frame[1] - TICK_ROOM_PT - GAP_PT
    top = under - GAP_PT - max(SIGNS_PT, *(high_of(rows) for rows in signs))
    told = [*counted(sheet, wide, lacking, thinned=numbers.thinned), *look_out(book, sheet, wide)]
    foot = write_rows(canvas, 0.0, top, wide, told)
    if foot >= LEAST_MM * MM:
        draw_ruled(canvas, wide, foot)
    column = (wide - BAR_COLUMN_PT) / len(signs)
    for number, rows in enumerate(signs):
        write_rows(canvas, number * column, under, column - GAP_PT, rows)
    draw_bar(
        canvas,
        wide - BAR_COLUMN_PT,
        under - 16.0,
        view.scale,
        layout.plan.units,
        BAR_COLUMN_PT - 40.0,
    )
    draw_north(canvas, wide - 18.0, under - 20.0, view)
    return numbers


def frame_of(
    book: Book, layout: "Layout", sheet: Worksheet, size_pt: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Give the frame of an operation's map, over what is written under it, as high as it may be.

    Args:
        book: what all pages share.
        layout: the layout.
        sheet: the operation.
        size_pt: width and height of the page's inner part.

    Returns:
        Left, bottom, right and top.
    """
    wide, high = size_pt
    told = [*counted(sheet, wide, [], thinned=True), *look_out(book, sheet, wide)]
    signs = sign_columns(layout, sheet)
    under = high_of(told) + GAP_PT + max(SIGNS_PT, *(high_of(rows) for rows in signs))
    return TICK_ROOM_PT, under + TICK_ROOM_PT + GAP_PT, wide, high


def lowered(view: View, layout: "Layout") -> View:
    """Give a view in a frame no higher than the field needs, where that leaves room for notes."""
    left, bottom, right, top = view.frame_pt
    low, high = extent(shown_land(layout), view.turn_deg)[[1, 3]] * view.pt_per_m
    spare = top - bottom - (high - low) - 2 * OVER_PT
    if spare < LEAST_MM * MM:
        return view
    return replace(view, frame_pt=(left, bottom + spare, right, top))


OVER_PT = 60.0
"""Room for numbers over and under a field in a frame lower than the page."""
SIGNS_PT, BAR_COLUMN_PT = 42.0, 224.0
"""Height of what stands between map and words, and width of the bar's column."""


def _draw_ground(
    canvas: Canvas, view: View, layout: "Layout", book: Book, sheet: Worksheet, strips: Geometries
) -> None:
    """Draw the land: what this operation works pale, what it does not bare."""
    route = sheet.judged.route
    on_headland = bool((route.place == "headland").any())
    crop = layout.plan.headland_crop
    fill = HEADLAND_BARE
    if on_headland and crop is not None:
        fill = WORKED_GRAY if book.ink == "gray" else paled(book.looks[crop].fill)
    fill_shape(canvas, view.on_page(layout.laid.headland), fill, 0.0)
    crops = crops_at(layout, sheet.judged.job)
    table = layout.strips
    own = {(int(strip), int(piece)) for strip, piece in sheet.worked[1:].T}
    each = zip(table["strip"], table["piece"], strict=True)
    worked = np.array([(int(strip), int(piece)) in own for strip, piece in each], dtype=bool)
    fill_shape(canvas, strips[~worked], BARE_FILL, HAIR_PT, PALE)
    for name, look in book.looks.items():
        pale = WORKED_GRAY if book.ink == "gray" else paled(look.fill)
        fill_shape(canvas, strips[worked & (crops == name)], pale, HAIR_PT, PALE)
    obstacles = shapely.get_parts(layout.ground.obstacles)
    fill_shape(canvas, view.on_page(obstacles), OBSTACLE, HAIR_PT)
    draw_outline(canvas, view, layout.ground)


def _draw_driven(canvas: Canvas, driven: Driven, view: View, sheet: Worksheet) -> None:
    """Draw passes and turns, thinner where passes lie close together."""
    apart_pt = sheet.judged.route.width_m * view.pt_per_m
    wide = min(max(PASS_SHARE * apart_pt, HAIR_PT), PASS_PT)
    draw_lines(canvas, driven.links, min(TURN_PT, wide), GRAY)
    draw_lines(canvas, driven.worked, wide, INK)
    draw_lines(canvas, driven.lifted, wide, INK, (2.5, 2.0))


def _draw_arrows(
    canvas: Canvas, driven: Driven, view: View, sheet: Worksheet, shown: Bools
) -> None:
    """Draw the heads of arrows on passes that are shown with their numbers."""
    apart_pt = sheet.judged.route.width_m * view.pt_per_m
    tips, ways = heads(driven.line[shown])
    arrow_heads(canvas, tips, ways, min(max(apart_pt, LEAST_HEAD_PT), HEAD_PT))


def heads(lines: Geometries) -> tuple[Floats, Floats]:
    """Give where the heads of arrows stand on passes, behind their starts and on, and their ways.

    Args:
        lines: the passes as driven, in points.
    """
    long = shapely.length(lines)
    count = np.maximum(1, np.floor((long - FIRST_HEAD_PT) / EVERY_PT).astype(np.int64) + 1)
    of = np.repeat(np.arange(len(lines)), count)
    number = np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
    at = np.where(number == 0, np.minimum(FIRST_HEAD_PT, 0.6 * long[of]),
                  FIRST_HEAD_PT + number * EVERY_PT)  # fmt: skip
    tips = shapely.get_coordinates(shapely.line_interpolate_point(lines[of], at))
    back = shapely.get_coordinates(shapely.line_interpolate_point(lines[of], np.maximum(at - 1, 0)))
    ways = tips - back
    good = np.linalg.norm(ways, axis=1) > 0
    return tips[good], ways[good]


def _fill_sign(canvas: Canvas, x: float, y: float, *, dry: bool = False) -> None:
    """Draw a diamond where a machine fills or unloads; a white one where it does so on its way."""
    path = canvas.beginPath()
    path.moveTo(x, y + FILL_PT)
    for dx, dy in ((FILL_PT, 0), (0, -FILL_PT), (-FILL_PT, 0)):
        path.lineTo(x + dx, y + dy)
    path.close()
    canvas.setStrokeColor("#ffffff" if not dry else INK)
    canvas.setFillColor("#ffffff" if dry else INK)
    canvas.setLineWidth(0.6 if not dry else 1.0)
    canvas.drawPath(path, stroke=1, fill=1)


def _ring(canvas: Canvas, x: float, y: float) -> None:
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(1.2)
    canvas.circle(x, y, RING_PT, stroke=1, fill=0)


def _draw_signs(canvas: Canvas, driven: Driven) -> Floats:
    """Draw the ring at the first start, and fills; give the boxes that they take."""
    first = shapely.get_coordinates(driven.line[0])[0]
    _ring(canvas, *first)
    for (x, y), dry in zip(driven.fills, driven.dry, strict=True):
        _fill_sign(canvas, x, y, dry=bool(dry))
    size = np.array([FILL_PT, FILL_PT])
    return np.concatenate([driven.fills - size, driven.fills + size], axis=1)


def _write_numbers(canvas: Canvas, sheet: Worksheet, numbers: PassNumbers) -> None:
    found = numbers.strips.found
    text = [one for one, is_there in zip(numbers.strip_text, found, strict=True) if is_there]
    strips = Placed(
        numbers.strips.box[found], numbers.strips.leader[found], numbers.strips.angle_deg
    )
    draw_numbers(canvas, text, strips, color=STRIP_GRAY)
    found = numbers.passes.found
    passes = Placed(
        numbers.passes.box[found], numbers.passes.leader[found], numbers.passes.angle_deg
    )
    draw_numbers(canvas, [str(one) for one in sheet.number[found]], passes, bold=True)


def counted(sheet: Worksheet, wide_pt: float, lacking: list[int], *, thinned: bool) -> list[Row]:
    """Say in a line what there is to drive."""
    route = sheet.judged.route
    numbers = f"pass {sheet.number[0]}" if len(route) == 1 else (
        f"{len(route)} passes, {sheet.number[0]} to {sheet.number[-1]}"
    )  # fmt: skip
    at_work_m = float(route.worked_m.sum())
    all_m = float(shapely.length(route.line).sum() + route.links.length_m.sum())
    unit_m, unit = (MILE_M, "mi") if sheet.units == "us" else (1000.0, "km")
    parts = [
        numbers,
        f"{said(all_m / unit_m)} {unit} driven, {said(at_work_m / unit_m)} {unit} at work",
        f"{sheet.judged.hours.words} gate to gate",
    ]
    if thinned:
        parts.append(f"numbered here: every {EVERY}th, and the first and last of each run")
    elif lacking:
        listed = ", ".join(map(str, lacking[:6])) + (", ..." if len(lacking) > 6 else "")  # noqa: PLR2004
        parts.append(f"without room for a number here: {listed}")
    text = f"{sheet.name}: {'; '.join(parts)}."
    return [Row(line.text, bold=True, high_pt=line.high_pt)
            for line in words(text, wide_pt, bold=True, most=2)]  # fmt: skip


LOOK_OUT_ROWS = 10
"""So many rows of what to look out for stand under a map."""


def look_out(book: Book, sheet: Worksheet, wide_pt: float) -> list[Row]:
    """Say what to look out for, the gravest first, each whole."""
    texts = [
        f"{'STOP: ' if one.severity == 'stop' else 'Look out: '}"
        f"{book.say(one.text.removeprefix(f'{sheet.name}: '))}"
        for one in sheet.judged.notices
        if one.severity != "know"
    ]
    rows, left = whole_rows(texts, wide_pt, LOOK_OUT_ROWS)
    if left:
        rows += words(f"{left} more to look out for: on the right page.", wide_pt, bold=True)
    route = sheet.judged.route
    for name in dict.fromkeys(route.stops_at):
        if name:
            of = sheet.number[np.asarray(route.stops_at) == name]
            rows += words(f"Stops at {name}: passes {ranges(of.tolist())}.", wide_pt)
    return rows


def sign_columns(
    layout: "Layout", sheet: Worksheet, numbers: PassNumbers | None = None
) -> list[list[Row]]:
    """List the signs on an operation's map, in two columns.

    Args:
        layout: the layout.
        sheet: the operation.
        numbers: what stands on the map; as high as the columns can be where left out.
    """
    route, judged = sheet.judged.route, sheet.judged
    lifted = any((~group.working).any() for group in route.groups)
    _, dry = fill_places(sheet)
    grain = judged.job.does == "harvest"
    kind = "unload" if grain else "fill"
    signs: list[tuple[str, Callable[[Canvas, float, float], None]]] = [
        (f"pass {sheet.number[0]} starts first", _ring),
        ("pass, its number at its start", _pass_sign),
        ("turn, or way between passes", _turn_sign),
    ]
    if lifted:
        signs.append(("implement up, boom shut", _lifted_sign))
    if (~dry).any():
        signs.append((f"{kind} here, before the next pass", _fill_sign))
    if dry.any():
        full = "tank full about here: unload" if grain else "runs out about here: fill"
        signs.append((full, lambda canvas, x, y: _fill_sign(canvas, x, y, dry=True)))
    if gate_m(layout) is not None:
        signs.append(("gate", lambda canvas, x, y: draw_gate(canvas, np.array([x, y]), "")))
    rows = [Row(text, sign=sign) for text, sign in signs]
    rows.append(Row("shaded: worked here"))
    example = "strip" if numbers is None else _strip_words(sheet, numbers)
    if example:
        rows.append(Row(example))
    if numbers is None or numbers.every > 1:
        rows.append(Row(f"of strips every {EVERY}th is numbered"))
    half = (len(rows) + 1) // 2
    return [rows[:half], rows[half:]]


def _strip_words(sheet: Worksheet, numbers: PassNumbers) -> str:
    """Say how strips are numbered by a number that stands on the map, of a strip worked if any is.

    Empty where none has room.
    """
    own = set(zip(*sheet.worked[1:].tolist(), strict=True))
    stand = [
        (text, strip, piece)
        for text, (strip, piece), is_there in zip(
            numbers.strip_text, numbers.pieces.tolist(), numbers.strips.found, strict=True
        )
        if is_there
    ]
    if not stand:
        return ""
    text, strip, piece = next((one for one in stand if one[1:] in own), stand[0])
    part = f", piece {piece}" if text.startswith(f"{strip}.") else ""
    return f"{text}: strip {strip}{part}"


def _pass_sign(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y), (x + half, y)]]), PASS_PT, INK)
    arrow_heads(canvas, np.array([[x + 3.0, y]]), np.array([[1.0, 0.0]]), HEAD_PT)


def _turn_sign(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y), (x + half, y)]]), TURN_PT, GRAY)


def _lifted_sign(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y), (x + half, y)]]), PASS_PT, INK, (2.5, 2.0))
