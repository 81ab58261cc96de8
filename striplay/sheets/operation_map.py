"""Draw one operation as it is driven: its passes numbered, with arrows, on a map of its own."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from striplay.operations.route import Route
from striplay.sheets.book import Book
from striplay.sheets.fitting import fitted_view
from striplay.sheets.flow import Drawn
from striplay.sheets.fonts import width_pt
from striplay.sheets.ground import (
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_gate,
    draw_north,
    draw_outline,
    draw_ticks,
)
from striplay.sheets.labels import Ends, Page, Placed, joined, place
from striplay.sheets.land import paled, put_gate, put_names, strips_on
from striplay.sheets.legend import SAMPLE_PT, Row, high_of, words, write_rows
from striplay.sheets.paint import arrow_heads, draw_lines, fill_shape
from striplay.sheets.strip_numbers import (
    NUMBER_PT,
    draw_numbers,
    edges_pt,
    numbers_of,
)
from striplay.sheets.style import (
    GRAY,
    HAIR_PT,
    INK,
    MM,
    OBSTACLE,
    PALE,
    SMALLEST_PT,
    Fill,
)
from striplay.units import MILE_M, format_hours, said
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from striplay.flow import Layout

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

GAP_PT = 6.0
STRIP_GRAY = "#6a6a6a"
"""Color of strips' numbers, which stand back but are to be read."""
WORKED_GRAY, BARE_FILL = Fill("#e2e2e2", "", PALE), Fill("#ffffff", "", PALE)
HEADLAND_BARE = Fill("#f4f4f4")
PASS_PT, THIN_PASS_PT, TURN_PT = 0.9, 0.5, 0.3
"""Widths of passes, of passes close together, and of turns."""
CLOSE_PT = 4.0
"""Passes nearer to each other on paper are drawn thinner."""
HEAD_PT, FIRST_HEAD_PT, EVERY_PT = 5.5, 16.0, 170.0
"""Length of arrows' heads, how far behind the start the first is, and how far apart the others."""
EVERY = 5
"""Where not all passes have room for their numbers, every fifth has."""
ASIDE_PT = 10.0
"""A number claims so much on either side of its pass at most."""


@dataclass(frozen=True)
class Driven:
    """An operation on a view.

    Attributes:
        line: each pass as driven, in points, (n,).
        worked: stretches at work.
        lifted: stretches with the implement up.
        links: ways between passes.
        fills: where it fills or unloads, (k, 2).
        dry: which of these are on the way of a pass, (k,).
    """

    line: Geometries
    worked: Geometries
    lifted: Geometries
    links: Geometries
    fills: Floats
    dry: Bools


def driven_on(sheet: Worksheet, view: View) -> Driven:
    """Put an operation's passes on a view."""
    route = sheet.judged.route
    stretch = np.concatenate([group.stretch for group in route.groups])
    working = np.concatenate([group.working for group in route.groups])
    line = view.on_page(route.line)
    fills, dry = fill_places(sheet)
    return Driven(
        line=line,
        worked=view.on_page(stretch[working]),
        lifted=view.on_page(stretch[~working]),
        links=view.on_page(route.links.line),
        fills=view.points(fills) if len(fills) else np.empty((0, 2)),
        dry=dry,
    )


def fill_places(sheet: Worksheet) -> tuple[Floats, Bools]:
    """Give where an operation fills or unloads on its way, on the local plane, (k, 2).

    Before a pass it is at the end of the pass before it, or at the start of the first.

    Returns:
        The places, and which of them lie on the way of a pass.
    """
    fills, route = sheet.judged.fills, sheet.judged.route
    if fills is None or not len(route):
        return np.empty((0, 2)), np.empty(0, dtype=bool)
    before = np.flatnonzero(fills.before)
    ends = shapely.get_coordinates(shapely.get_point(route.line[np.maximum(before - 1, 0)], -1))
    starts = shapely.get_coordinates(shapely.get_point(route.line[before], 0))
    at_ends = np.where((before > 0)[:, None], ends, starts) if len(before) else np.empty((0, 2))
    of, along_m = fills.mid_field()
    dry = shapely.get_coordinates(shapely.line_interpolate_point(route.line[of], along_m))
    places = np.concatenate([at_ends.reshape(-1, 2), dry.reshape(-1, 2)])
    return places, np.append(np.zeros(len(before), dtype=bool), np.ones(len(dry), dtype=bool))


def starts_of(sheet: Worksheet, driven: Driven, edge: shapely.Geometry) -> Ends:
    """Give the starts of passes on the page, each with room for its number."""
    lines = driven.line
    at = shapely.get_coordinates(shapely.get_point(lines, 0))
    step = np.minimum(3.0, 0.3 * shapely.length(lines))
    on = shapely.get_coordinates(shapely.line_interpolate_point(lines, step))
    out = at - on
    out = out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    wide = np.array([width_pt(str(one), SMALLEST_PT, bold=True) for one in sheet.number])
    none = np.zeros(len(at))
    return Ends(at, out, none, shapely.length(lines), wide, none, edges_pt(at, out, edge))


def beside(ends: Ends) -> Floats:
    """Give half of how far each end is from the nearest that looks the same way, across, (n,)."""
    found = np.full(len(ends), ASIDE_PT)
    for axis in (0, 1):
        for sign in (-1.0, 1.0):
            mine = np.flatnonzero(ends.out[:, axis] * sign > ALIGNED)
            if len(mine) < 2:  # noqa: PLR2004 - a pair
                continue
            across = ends.at[mine, 1 - axis]
            places, of = np.unique(np.round(across, 1), return_inverse=True)
            gap = np.diff(places, prepend=-np.inf, append=np.inf)
            near = np.minimum(gap[:-1], gap[1:]) / 2
            found[mine] = np.minimum(near[of], ASIDE_PT)
    return found


ALIGNED = 0.9999
"""Cosine from which on an end looks along an axis of the page."""


def free_ends(layout: "Layout", book: Book, view: View, starts: Ends) -> tuple[list[str], Ends]:
    """Choose for each piece of a strip the end where no pass starts, for its number."""
    numbers = numbers_of(layout, book, view)
    begin, end = numbers.begin, numbers.end

    def started(ends: Ends) -> Bools:
        near = shapely.STRtree(shapely.points(starts.at)).query(
            shapely.points(ends.at), predicate="dwithin", distance=ends.aside + 6.0
        )
        return np.asarray(np.isin(np.arange(len(ends)), near[0]))

    other = started(begin) & ~started(end)
    chosen = [
        np.where(other.reshape(-1, *[1] * (getattr(begin, name).ndim - 1)),
                 getattr(end, name), getattr(begin, name))
        for name in ("at", "out", "aside", "inward", "wide", "beyond", "edge")
    ]  # fmt: skip
    return numbers.text, Ends(*chosen)


@dataclass(frozen=True)
class PassNumbers:
    """Numbers on an operation's map.

    Attributes:
        passes: where passes' numbers stand, (n,).
        strips: where strips' do, (m,).
        strip_text: these, (m,).
        thinned: whether only every fifth pass, and those at the ends of runs, were to have one.
    """

    passes: Placed
    strips: Placed
    strip_text: list[str]
    thinned: bool


def number_passes(
    layout: "Layout", book: Book, view: View, sheet: Worksheet, driven: Driven,
    taken: Floats, axis: int,
) -> PassNumbers:  # fmt: skip
    """Place the numbers of passes at their starts, and of strips where no pass starts."""
    edge = shapely.boundary(view.on_page(layout.ground.outline))
    starts = starts_of(sheet, driven, edge)
    text, strips = free_ends(layout, book, view, starts)
    left, bottom, right, top = view.frame_pt
    page = Page(
        (left + 2.0, bottom + 2.0, right - 2.0, top - 2.0), NUMBER_PT, taken,
        land=strips_on(layout, view),
    )  # fmt: skip
    thinned = False
    shown = np.ones(len(starts), dtype=bool)
    for _ in range(2):
        every = joined(starts.chosen(shown), strips)
        room = beside(every)
        every = Ends(every.at, every.out, room, every.inward, every.wide, every.beyond, every.edge)
        placed = place(every, page, axis)
        count = int(shown.sum())
        if thinned or placed.found[:count].all():
            break
        thinned, shown = True, kept_numbers(sheet.judged.route, sheet.number)
    box = np.full((len(starts), 4), np.nan)
    leader = np.full((len(starts), *placed.leader.shape[1:]), np.nan)
    box[shown], leader[shown] = placed.box[:count], placed.leader[:count]
    return PassNumbers(
        Placed(box, leader, placed.angle_deg),
        Placed(placed.box[count:], placed.leader[count:], placed.angle_deg),
        text,
        thinned,
    )


def kept_numbers(route: Route, number: Integers) -> Bools:
    """Choose every fifth pass, and the first and last of each run from turn to turn."""
    turned = np.isin(route.links.kind, TURNS)
    first, last = ~turned[:-1], ~turned[1:]
    first[0] = last[-1] = True
    return np.asarray((number % EVERY == 0) | first | last)


TURNS = ("flat", "bulb", "loop", "fishtail")
"""Ways between passes that are turns."""


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
    wide, high = size_pt
    told = look_out(sheet, wide)
    signs = sign_columns(sheet)
    under = high_of(told) + GAP_PT + max(SIGNS_PT, *(high_of(rows) for rows in signs))
    frame = (TICK_ROOM_PT, under + TICK_ROOM_PT + GAP_PT, wide, high)
    view, axis, _ = fitted_view(layout, [frame])
    driven = driven_on(sheet, view)
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(frame[0], frame[1], frame[2] - frame[0], frame[3] - frame[1])
    canvas.clipPath(clip, stroke=0, fill=0)
    _draw_ground(canvas, view, layout, book, sheet)
    close = _draw_driven(canvas, driven, view, sheet)
    canvas.restoreState()
    taken = _draw_signs(canvas, driven)
    taken = put_gate(canvas, view, layout, taken)
    taken = put_names(canvas, view, layout, taken)
    numbers = number_passes(layout, book, view, sheet, driven, taken, axis)
    _write_numbers(canvas, sheet, numbers)
    draw_ticks(canvas, view, layout.ground)
    lacking = [int(sheet.number[at]) for at in np.flatnonzero(~numbers.passes.found)]
    told = [*counted(sheet, wide, lacking, thinned=numbers.thinned), *told[1:]]
    write_rows(canvas, 0.0, high_of(told), wide, told)
    column = (wide - BAR_COLUMN_PT) / len(signs)
    for number, rows in enumerate(signs):
        write_rows(canvas, number * column, under, column - GAP_PT, rows)
    draw_bar(canvas, wide - BAR_COLUMN_PT, under - 16.0, view.scale, layout.plan.units)
    draw_north(canvas, wide - 18.0, under - 34.0, view)
    del close
    return numbers


SIGNS_PT, BAR_COLUMN_PT = 54.0, 165.0
"""Height of what stands between map and words, and width of the bar's column."""


def _draw_ground(
    canvas: Canvas, view: View, layout: "Layout", book: Book, sheet: Worksheet
) -> None:
    """Draw the land: what this operation works pale, what it does not bare."""
    route = sheet.judged.route
    on_headland = bool((route.place == "headland").any())
    fill = WORKED_GRAY if on_headland and book.ink == "gray" else HEADLAND_BARE
    fill_shape(canvas, view.on_page(layout.laid.headland), fill, 0.0)
    strips, crops = strips_on(layout, view), layout.strips["crop"].to_numpy()
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


def _draw_driven(canvas: Canvas, driven: Driven, view: View, sheet: Worksheet) -> bool:
    """Draw passes, turns and arrows; tell whether passes lie close together."""
    close = sheet.judged.route.width_m * view.pt_per_m < CLOSE_PT
    wide = THIN_PASS_PT if close else PASS_PT
    draw_lines(canvas, driven.links, TURN_PT, GRAY)
    draw_lines(canvas, driven.worked, wide, INK)
    draw_lines(canvas, driven.lifted, wide, INK, (2.5, 2.0))
    tips, ways = heads(driven.line)
    arrow_heads(canvas, tips, ways, HEAD_PT if not close else 0.75 * HEAD_PT)
    return close


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


RING_PT, FILL_PT = 4.2, 3.4


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
        f"about {format_hours(sheet.judged.hours.total_s)} gate to gate",
    ]
    if thinned:
        parts.append(f"numbered here: every {EVERY}th, and the first and last of each run")
    elif lacking:
        listed = ", ".join(map(str, lacking[:6])) + (", ..." if len(lacking) > 6 else "")  # noqa: PLR2004
        parts.append(f"without room for a number here: {listed}")
    text = f"{sheet.name}: {'; '.join(parts)}."
    return [Row(line.text, bold=True, high_pt=line.high_pt)
            for line in words(text, wide_pt, bold=True, most=2)]  # fmt: skip


LOOK_OUT = 3
"""So many things to look out for are told."""


def look_out(sheet: Worksheet, wide_pt: float) -> list[Row]:
    """Say under a line kept for what there is to drive what to look out for, the gravest first."""
    rows = counted(sheet, wide_pt, [], thinned=True)[:1]
    told = [one for one in sheet.judged.notices if one.severity != "know"][:LOOK_OUT]
    for one in told:
        mark = "STOP: " if one.severity == "stop" else "Look out: "
        text = one.text.removeprefix(f"{sheet.name}: ")
        rows += words(f"{mark}{text}", wide_pt, most=2)
    stops = [name for name in dict.fromkeys(sheet.judged.route.stops_at) if name]
    if stops:
        of = [
            str(number)
            for number, name in zip(sheet.number, sheet.judged.route.stops_at, strict=True)
            if name
        ]
        rows += words(f"Stops at {', '.join(stops)}: passes {', '.join(of)}.", wide_pt, most=2)
    return rows


def sign_columns(sheet: Worksheet) -> list[list[Row]]:
    """List the signs on an operation's map, in two columns."""
    route, judged = sheet.judged.route, sheet.judged
    lifted = any((~group.working).any() for group in route.groups)
    _, dry = fill_places(sheet)
    grain = judged.job.does == "harvest"
    kind = "unload" if grain else "fill"
    signs: list[tuple[str, Callable[[Canvas, float, float], None]]] = [
        (f"pass {sheet.number[0]} starts first", _ring),
        ("pass as driven, its number at its start", _pass_sign),
        ("turn, or way between passes", _turn_sign),
    ]
    if lifted:
        signs.append(("implement up, boom shut", _lifted_sign))
    if (~dry).any():
        signs.append((f"{kind} here, before the next pass", _fill_sign))
    if dry.any():
        full = "tank full about here: unload" if grain else "runs out about here: fill"
        signs.append((full, lambda canvas, x, y: _fill_sign(canvas, x, y, dry=True)))
    signs.append(("gate", lambda canvas, x, y: draw_gate(canvas, np.array([x, y]), "")))
    rows = [Row(text, sign=sign) for text, sign in signs]
    rows.append(Row("12 C: strip 12; shaded: worked here"))
    half = (len(rows) + 1) // 2
    return [rows[:half], rows[half:]]


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
