"""Make sheets of parts of a field, where that shows narrow strips larger: each a run of strips."""

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import Fill
from striplay.sheets.book import Book
from striplay.sheets.flow import Drawn, Story, begin
from striplay.sheets.fonts import width_pt
from striplay.sheets.ground import (
    LADDER,
    TICK_ROOM_PT,
    View,
    draw_bar,
    draw_north,
    draw_ticks,
    heading_of,
    turns_of,
)
from striplay.sheets.label_room import BETWEEN_PT, Ends, Page, joined
from striplay.sheets.labels import ALONE_PT, FAN_PT, LEADERS_PT, place
from striplay.sheets.land import (
    draw_headland_lines,
    draw_land,
    obstacles_named,
    put_flag,
    put_gate,
    put_names,
    shown_land,
)
from striplay.sheets.legend import Row, words, write_rows
from striplay.sheets.paint import draw_lines, fill_shape
from striplay.sheets.strip_numbers import NUMBER_PT, draw_numbers, edges_pt, texts_of
from striplay.sheets.style import GRAY, HAIR_PT, INK, MM, PALE, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

GAIN = 1.5
"""Sheets of parts are made only where their scale is so much finer than the cover's."""
UNDER_PT = 92.0
"""Room under the map, for the key, the scale and the small map of the whole field."""
ACROSS_PAD_PT = 8.0
OVERLAP_PT = 12.0
"""What neighboring stretches of long strips show of each other."""
MOST_SHEETS = 60
"""No more are made: whoever lays so wide a field in so narrow strips is better served by files."""


@dataclass(frozen=True)
class Tile:
    """A part of a field on a sheet of its own.

    Attributes:
        view: the ground on it.
        window: what of it is shown: left, bottom, right and top on the page.
        axis: of its rows, as `turns_of` gives it.
        pieces: pieces of strips on it, by index.
        first: its lowest strip.
        last: its highest.
        stretch: number of the stretch of these strips, from 1.
        stretches: how many there are.
    """

    view: View
    window: tuple[float, float, float, float]
    axis: int
    pieces: Integers
    first: int
    last: int
    stretch: int
    stretches: int


def tile_scales(layout: "Layout", cover_scale: int) -> list[int]:
    """List the scales that sheets of parts may have; none where they gain too little.

    They gain where strips on the cover are narrower than their numbers are high; on them no more
    than two numbers stand one behind the other.
    """
    width_m = float(np.median(layout.strips["width_m"]))
    if width_m * 1000 * MM / cover_scale >= NUMBER_PT:
        return []
    needed = width_m * 1000 * MM * 2 / (NUMBER_PT + 2 * LEADERS_PT)
    finest = width_m * 1000 * MM / MUCH_PT
    return [one for one in LADDER if finest <= one <= min(needed, cover_scale / GAIN)]


MUCH_PT = 14.0
"""Strips need not be wider on paper."""


def frame_of(book: Book) -> tuple[float, float, float, float]:
    """Give the frame of a sheet's map: left, bottom, right and top."""
    return (
        TICK_ROOM_PT, UNDER_PT + TICK_ROOM_PT, book.inner_mm * MM, book.room_mm * MM,
    )  # fmt: skip


def tiles_of(book: Book, layout: "Layout", cover_scale: int) -> list[Tile]:
    """Cut a field into parts along its strips; none where sheets of parts gain too little.

    Args:
        book: what pages share.
        layout: the layout.
        cover_scale: of the cover.
    """
    own = ("tiles", cover_scale, book.turn_deg, frame_of(book))
    return book.kept.of(layout, own, lambda: _tiles(book, layout, cover_scale))


def _tiles(book: Book, layout: "Layout", cover_scale: int) -> list[Tile]:
    scales = tile_scales(layout, cover_scale)
    widest = max(width_pt(text, SMALLEST_PT) for text in texts_of(layout, book))
    width_m = float(np.median(layout.strips["width_m"]))
    turns = turns_of(layout.ground.outline, heading_of(layout))
    turns = [one for one in turns if one[0] == book.turn_deg] or turns
    if not scales:
        return []
    finest = View((0.0, 0.0), 0.0, min(scales), frame_of(book))
    hulls = shapely.convex_hull(finest.thinned(layout.strips.geometry.to_numpy()))
    bounds_m = [_bounds(hulls, turn_deg) for turn_deg, _ in turns]
    tried = []
    for scale in scales:
        deep = 1 if width_m * 1000 * MM / scale >= NUMBER_PT + ALONE_PT else 2
        pad = FAN_PT + deep * (widest + BETWEEN_PT)
        for (turn_deg, axis), bounds in zip(turns, bounds_m, strict=True):
            tiles = _cut(layout, bounds, turn_deg, axis, scale, frame_of(book), pad)
            tried.append((len(tiles), scale, abs(turn_deg), tiles))
    if not tried:
        return []
    tiles = min(tried, key=lambda one: one[:3])[3]
    return tiles if len(tiles) <= MOST_SHEETS else []


def _bounds(shapes: Geometries, turn_deg: float) -> Floats:
    """Give the bounds of shapes turned about the plane's origin, (n, 4)."""
    turned = View((0.0, 0.0), turn_deg, 1, (0.0, 0.0, 0.0, 0.0))
    return np.asarray(shapely.bounds(shapely.transform(shapes, turned.directions))).reshape(-1, 4)


def _cut(
    layout: "Layout",
    bounds_m: Floats,
    turn_deg: float,
    axis: int,
    scale: int,
    frame: tuple[float, float, float, float],
    pad: float,
) -> list[Tile]:
    """Cut a field at a turn: across the rows between strips, along them in even stretches."""
    origin = View((0.0, 0.0), turn_deg, scale, (0.0, 0.0, 0.0, 0.0))
    pieces = bounds_m * origin.pt_per_m
    rim = np.array([-RIM_PT, -RIM_PT, RIM_PT, RIM_PT])
    field = np.array(shapely.bounds(origin.on_page(shown_land(layout)))) + rim
    strip = layout.strips["strip"].to_numpy()
    size = np.array([frame[2] - frame[0], frame[3] - frame[1]])
    along, across = (1, 0) if axis == 1 else (0, 1)
    room_along = size[along] - 2 * pad
    room_across = size[across] - 2 * ACROSS_PAD_PT
    cuts_along = _stretches(float(field[along]), float(field[along + 2]), room_along)
    if axis < 0:
        cuts_across = _stretches(float(field[across]), float(field[across + 2]), room_across)
    else:
        cuts_across = _runs(pieces[:, [across, across + 2]], strip, field[[across, across + 2]],
                            room_across)  # fmt: skip
    middle_pt = np.array([(frame[0] + frame[2]) / 2, (frame[1] + frame[3]) / 2])
    tiles = []
    for low, high in cuts_across:
        for number, (begin_pt, end_pt) in enumerate(cuts_along, start=1):
            box = np.empty(4)
            box[[along, along + 2]], box[[across, across + 2]] = (begin_pt, end_pt), (low, high)
            inside = (pieces[:, :2] < box[2:] - SEEN_PT).all(axis=1)
            inside &= (pieces[:, 2:] > box[:2] + SEEN_PT).all(axis=1)
            which = np.flatnonzero(inside)
            if not len(which):
                continue
            center = (box[:2] + box[2:]) / 2
            center_m = origin.on_ground(center)[0]
            view = View((float(center_m[0]), float(center_m[1])), turn_deg, scale, frame)
            half = (box[2:] - box[:2]) / 2
            window = tuple(float(one) for one in (*(middle_pt - half), *(middle_pt + half)))
            numbers = strip[which]
            tiles.append(
                Tile(
                    view,
                    window,  # type: ignore[arg-type] # four of them
                    axis,
                    which,
                    int(numbers.min()),
                    int(numbers.max()),
                    number,
                    len(cuts_along),
                )
            )
    return tiles


RIM_PT = 3.0
"""What is shown beyond the field's own edge."""
SEEN_PT = 0.5
"""A piece that reaches into a window by less is not on its sheet."""


def _stretches(low: float, high: float, room: float) -> list[tuple[float, float]]:
    """Cut a length into even stretches that overlap a little."""
    count = max(1, math.ceil((high - low - OVERLAP_PT) / max(room - OVERLAP_PT, 1.0)))
    long = (high - low + (count - 1) * OVERLAP_PT) / count
    begins = [low + number * (long - OVERLAP_PT) for number in range(count)]
    return [(begin_pt, begin_pt + long) for begin_pt in begins]


def _runs(
    extents: Floats, strip: Integers, field: Floats, room: float
) -> list[tuple[float, float]]:
    """Cut a field across into runs of whole strips, about as many on each sheet.

    Args:
        extents: from where to where across each piece reaches, (n, 2).
        strip: its strip, (n,).
        field: from where to where the field does.
        room: how much a sheet shows.
    """
    numbers, of = np.unique(strip, return_inverse=True)
    low, high = np.full(len(numbers), np.inf), np.full(len(numbers), -np.inf)
    np.minimum.at(low, of, extents[:, 0])
    np.maximum.at(high, of, extents[:, 1])
    order = np.argsort(low)
    low, high = low[order], high[order]
    low[0], high[-1] = min(low[0], field[0]), max(high[-1], field[1])
    count = max(1, math.ceil((high[-1] - low[0]) / room))
    for sheets in range(count, len(low) + 1):
        most = (high[-1] - low[0]) / sheets
        for allowed in (min(most * 1.05 + float((high - low).max()), room), room):
            runs, start = [], 0
            for index in range(len(low)):
                if high[index] - low[start] > allowed + 1e-6 and index > start:
                    runs.append((float(low[start]), float(high[index - 1])))
                    start = index
            runs.append((float(low[start]), float(high[-1])))
            if len(runs) <= sheets and all(b - a <= room + 1e-6 for a, b in runs):
                return runs
    return [(float(a), float(b)) for a, b in zip(low, high, strict=True)]


def tile_story(book: Book, layout: "Layout", cover_scale: int) -> Story:
    """Make the sheets of parts; none where they gain too little over the cover.

    Args:
        book: what pages share.
        layout: the layout.
        cover_scale: of the cover, as `cover_of` gives it.
    """
    tiles = tiles_of(book, layout, cover_scale)
    last = int(layout.strips["strip"].max())
    story: Story = []
    for number, tile in enumerate(tiles):

        def draw(canvas: Canvas, wide: float, _high: float, tile: Tile = tile) -> None:
            draw_tile(canvas, book, layout, tile, tiles, wide)

        title = f"Part {number + 1} of {len(tiles)}: strips {tile.first}-{tile.last} of {last}"
        if tile.stretches > 1:
            title += f", stretch {tile.stretch} of {tile.stretches} along them"
        story += begin(title, level=min(number, 1))
        story.append(Drawn(book.inner_mm * MM, book.room_mm * MM, draw))
    return story


def draw_tile(
    canvas: Canvas, book: Book, layout: "Layout", tile: Tile, tiles: list[Tile], wide: float
) -> list[str]:
    """Draw a sheet of a part; give the numbers of pieces that have no room."""
    view, window = tile.view, shapely.box(*tile.window)
    canvas.saveState()
    clip = canvas.beginPath()
    left, bottom, right, top = tile.window
    clip.rect(left, bottom, right - left, top - bottom)
    canvas.clipPath(clip, stroke=0, fill=0)
    around_m = shapely.bounds(shapely.Polygon(view.on_ground(_corners(tile.window, BEYOND_PT))))
    pieces = layout.strips.geometry.to_numpy()[tile.pieces]
    strips = view.on_page(shapely.clip_by_rect(pieces, *around_m))
    draw_land(canvas, view, layout, book, strips, tile.pieces)
    draw_headland_lines(canvas, view, layout)
    canvas.restoreState()
    _draw_cuts(canvas, view, layout, window)
    shown = View(view.center_m, view.turn_deg, view.scale, tile.window)
    taken = put_gate(canvas, shown, layout, np.empty((0, 4)), only_near=True)
    taken = put_flag(canvas, shown, layout, taken)
    taken, named = put_names(canvas, shown, obstacles_named(layout), taken, inside=True)
    lacking, boxes = number_tile(canvas, book, layout, tile, strips, taken)
    put_names(canvas, shown, named, np.concatenate([taken, boxes]))
    draw_ticks(canvas, view, layout.ground)
    _write_under(canvas, book, layout, tile, tiles, wide, lacking)
    return lacking


BEYOND_PT = 20.0
"""Strips are drawn so far beyond a window: what is cut off can't be seen, but takes time."""


def _corners(window: tuple[float, float, float, float], beyond_pt: float = 0.0) -> Floats:
    """Give the corners of a window, or so far beyond it, (4, 2)."""
    left, bottom, right, top = np.array(window) + np.array([-1, -1, 1, 1]) * beyond_pt
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top)])


def _draw_cuts(canvas: Canvas, view: View, layout: "Layout", window: shapely.Polygon) -> None:
    """Draw where the field goes on, on another sheet."""
    inside = shapely.intersection(view.on_page(layout.ground.outline), window)
    rim = shapely.intersection(shapely.boundary(window), shapely.buffer(inside, 0.2))
    lines = [one for one in shapely.get_parts(rim) if shapely.get_dimensions(one) == 1]
    if lines:
        draw_lines(canvas, np.array(lines, dtype=object), 0.7, GRAY, (1.5, 1.5))


def number_tile(
    canvas: Canvas, book: Book, layout: "Layout", tile: Tile, strips: Geometries, taken: Floats
) -> tuple[list[str], Floats]:
    """Number what is shown of each piece, at both ends.

    Args:
        canvas: the page.
        book: how crops look.
        layout: the layout.
        tile: the part.
        strips: its pieces on the page, cut off somewhat beyond its window.
        taken: boxes of what is there.

    Returns:
        The numbers without room, and the boxes of the others, (k, 4).
    """
    window = shapely.box(*tile.window)
    seen = shapely.intersection(strips, window)
    kept = shapely.area(seen) > SEEN_PT
    # what only the overlap shows of a piece is numbered on the other sheet
    size = shapely.bounds(seen).reshape(-1, 4)
    whole = shapely.area(seen) > 0.99 * shapely.area(strips)
    long = np.maximum(size[:, 2] - size[:, 0], size[:, 3] - size[:, 1])
    kept &= whole | (long > 2 * OVERLAP_PT)
    which, seen = tile.pieces[kept], seen[kept]
    texts = texts_of(layout, book)
    text = [texts[index] for index in which]
    edge = shapely.boundary(tile.view.on_page(layout.ground.outline))
    begin_at, end_at = (
        replace(ends, edge=edges_pt(ends.at, ends.out, edge))
        for ends in ends_seen(seen, text, tile.axis)
    )
    both = begin_at.inward >= begin_at.wide * 2 + 6.0
    left, bottom, right, top = tile.view.frame_pt
    frame = (left + 2, bottom + 2, right - 2, top - 2)
    page = Page(frame, NUMBER_PT, taken, land=seen)
    if tile.axis < 0:
        both[:] = False
    placed = place(joined(begin_at, end_at.chosen(both)), page, tile.axis)
    text += [one for one, is_both in zip(text, both, strict=True) if is_both]
    found = placed.found
    numbers = [one for one, is_there in zip(text, found, strict=True) if is_there]
    kept_placed = type(placed)(placed.box[found], placed.leader[found], placed.angle_deg)
    draw_numbers(canvas, numbers, kept_placed)
    return sorted(set(text) - set(numbers)), kept_placed.box


def ends_seen(seen: npt.NDArray[np.object_], text: list[str], axis: int) -> tuple[Ends, Ends]:
    """Give both ends of what is seen of pieces on a page; where rows slant, a place on each."""
    bounds = shapely.bounds(seen).reshape(-1, 4)
    wide = np.array([width_pt(one, SMALLEST_PT) for one in text])
    none, far = np.zeros(len(seen)), np.full(len(seen), np.inf)
    inner = shapely.get_coordinates(shapely.point_on_surface(seen)).reshape(-1, 2)
    if axis < 0:
        up = np.tile([0.0, 1.0], (len(seen), 1))
        size = np.minimum(bounds[:, 2] - bounds[:, 0], bounds[:, 3] - bounds[:, 1])
        ends = Ends(inner, up, size / 2, none, wide, none, far)
        return ends, ends
    along, across = (1, 0) if axis == 1 else (0, 1)
    middle = (bounds[:, across] + bounds[:, across + 2]) / 2
    line = np.empty((len(seen), 2, 2))
    line[:, 0, along], line[:, 1, along] = bounds[:, along] - 1, bounds[:, along + 2] + 1
    line[:, :, across] = middle[:, None]
    met = shapely.bounds(shapely.intersection(shapely.linestrings(line), seen)).reshape(-1, 4)
    missed = np.isnan(met[:, 0])
    low = np.where(missed, inner[:, along], met[:, along])
    high = np.where(missed, inner[:, along], met[:, along + 2])
    aside = (bounds[:, across + 2] - bounds[:, across]) / 2
    way = np.zeros((len(seen), 2))
    way[:, along] = 1.0
    found = []
    for at_along, sign, beyond in (
        (low, -1.0, low - bounds[:, along]),
        (high, 1.0, bounds[:, along + 2] - high),
    ):
        at = np.empty((len(seen), 2))
        at[:, along] = at_along
        at[:, across] = np.where(missed, inner[:, across], middle)
        found.append(Ends(at, sign * way, aside, high - low, wide, beyond, far))
    return found[0], found[1]


LOCATOR_PT = 84.0


def _write_under(
    canvas: Canvas, book: Book, layout: "Layout", tile: Tile, tiles: list[Tile], wide: float,
    lacking: list[str],
) -> None:  # fmt: skip
    """Write the key, the scale and north, and draw where in the field the part lies."""
    crops = set(layout.strips["crop"])
    key = [
        Row(name, fill=look.fill, letter=look.letter)
        for name, look in book.looks.items()
        if name in crops
    ]
    column = 110.0
    for number in range(0, len(key), KEY_ROWS):
        write_rows(canvas, column * (number // KEY_ROWS), UNDER_PT - 4, column - 8,
                   key[number : number + KEY_ROWS])  # fmt: skip
    draw_bar(canvas, wide - LOCATOR_PT - 240.0, UNDER_PT - 22.0, tile.view.scale, book.units, 190.0)
    told = [
        "Dotted edge: the field goes on, on another part.",
        "Numbers stand at both ends of what is shown." if tile.axis >= 0
        else "Each number stands beside a dot on its strip.",
    ]  # fmt: skip
    rows = [Row(one) for one in told]
    if lacking:
        rows += words(f"Without room for a number: {', '.join(lacking)}.", TOLD_PT, most=2)
    write_rows(canvas, wide - LOCATOR_PT - 240.0, UNDER_PT - 36.0, TOLD_PT, rows)
    draw_north(canvas, wide - LOCATOR_PT - 32.0, UNDER_PT - 26.0, tile.view)
    draw_locator(canvas, layout, tile, tiles, (wide - LOCATOR_PT, 2.0))


KEY_ROWS, TOLD_PT = 8, 190.0
"""Rows of a column of the key, and width of what is told beside it."""


def draw_locator(
    canvas: Canvas, layout: "Layout", tile: Tile, tiles: list[Tile], corner_pt: tuple[float, float]
) -> None:
    """Draw the whole field small, with all parts and this one shaded."""
    view = tile.view
    outline = shapely.transform(layout.ground.outline, view.directions)
    bounds = np.array(shapely.bounds(outline))
    scale = (LOCATOR_PT - 4) / float(max(bounds[2:] - bounds[:2]))
    middle = (bounds[:2] + bounds[2:]) / 2
    at = np.array(corner_pt) + LOCATOR_PT / 2

    def small(points: Floats) -> Floats:
        return np.asarray((points - middle) * scale + at)

    fill_shape(canvas, shapely.transform(outline, small), Fill("#ffffff"), 0.0)
    for one in tiles:
        turned = view.directions(one.view.on_ground(_corners(one.window)))
        part = shapely.intersection(shapely.Polygon(turned), outline)
        own = one is tile
        fill = Fill("#8a8a8a" if own else "#ffffff", "", INK)
        fill_shape(canvas, shapely.transform(part, small), fill, HAIR_PT, PALE)
    draw_lines(canvas, shapely.boundary(shapely.transform(outline, small)), 0.8, INK)
