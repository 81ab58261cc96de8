"""Draw where strips of each crop yielded more or less than its mean, and where things were seen."""

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import Fill
from striplay.records.entry import Event, Recorded
from striplay.records.journal import Journal
from striplay.sheets.book import Book
from striplay.sheets.flow import Drawn
from striplay.sheets.fonts import width_pt
from striplay.sheets.ground import View
from striplay.sheets.legend import Row, heading_row
from striplay.sheets.paint import HIGH, fill_shape, on_white
from striplay.sheets.style import HAIR_PT, MM, PALE, SMALLEST_PT
from striplay.sheets.yield_sheets import RAMP, draw_yields

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Floats = npt.NDArray[np.float64]
Geometries = npt.NDArray[np.object_]
PARTED = (0.9, 0.97, 1.03, 1.1)
"""Shares of a crop's mean that part the colors (our choice): about even is in the middle one."""
MOST_SEEN = 8
"""So many things seen are named under the map; all of them are listed before it."""


def season_map(book: Book, layout: "Layout", journal: Journal) -> Drawn:
    """Draw the field, each strip by its yield against its crop's mean, and what was seen where.

    Args:
        book: its paper.
        layout: the field.
        journal: what is recorded.
    """
    share = shares_of_mean(journal)
    seen = [one for one in journal.told if isinstance(one.entry, Event)]

    def draw(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
        def paint(view: View, strips: Geometries) -> Floats:
            number = layout.strips["strip"].to_numpy()
            level = np.array([share.get(one, np.nan) for one in number.tolist()])
            which = np.searchsorted(PARTED, level, side="right")
            for color, fill in enumerate(RAMP):
                mine = strips[(which == color) & ~np.isnan(level)]
                fill_shape(canvas, mine, Fill(fill), HAIR_PT, PALE)
            return _marks(canvas, view, layout, strips, seen)

        draw_yields(canvas, book, layout, _legend(seen), (wide_pt, high_pt), paint)

    return Drawn(book.inner_mm * MM, book.room_mm * MM, draw)


def shares_of_mean(journal: Journal) -> dict[int, float]:
    """Give what each strip yielded as a share of the mean of its crop's strips, by number.

    Of a strip whose crops were weighed apart it is the mean of their shares.
    """
    each: dict[str, list[float]] = {}
    for one in journal.strips:
        if one.kg_per_m2 is not None:
            each.setdefault(one.crop, []).append(one.kg_per_m2)
    mean = {crop: float(np.mean(yields)) for crop, yields in each.items()}
    found: dict[int, list[float]] = {}
    for one in journal.strips:
        if one.kg_per_m2 is not None and mean[one.crop] > 0.0:
            found.setdefault(one.strip, []).append(one.kg_per_m2 / mean[one.crop])
    return {strip: float(np.mean(shares)) for strip, shares in found.items()}


def _legend(seen: Sequence[Recorded]) -> list[Row]:
    """Say which color is which share of the mean, and what was seen."""
    ends = [f"{100 * share:.0f} %" for share in PARTED]
    texts = [f"below {ends[0]}"]
    texts += [f"{low} to {high}" for low, high in itertools.pairwise(ends)]
    texts.append(f"{ends[-1]} and more")
    rows = [
        heading_row("Yield of each strip, of the mean of its crop's strips"),
        *(Row(text, fill=Fill(color)) for text, color in zip(texts, RAMP, strict=True)),
        Row("not weighed", fill=Fill("#ffffff")),
    ]
    placed = [one for one in seen if _is_placed(one)]
    if placed:
        rows.append(heading_row("Seen, by number of the entry"))
    for one in placed[:MOST_SEEN]:
        said = one.entry.what if isinstance(one.entry, Event) else ""
        rows.append(Row(f"{one.number}: {one.entry.day}, {said}"))
    if len(placed) > MOST_SEEN:
        rows.append(Row(f"and {len(placed) - MOST_SEEN} more, listed on the first page"))
    return rows


def _is_placed(one: Recorded) -> bool:
    """Tell whether an event has a place, or a strip."""
    entry = one.entry
    return isinstance(entry, Event) and (entry.lonlat is not None or entry.strip is not None)


def _marks(
    canvas: Canvas, view: View, layout: "Layout", strips: Geometries, seen: Sequence[Recorded]
) -> Floats:
    """Write the number of each event at its place, else in its strip; give the boxes taken."""
    number = layout.strips["strip"].to_numpy()
    boxes: list[Floats] = []
    for one in seen:
        entry = one.entry
        if not isinstance(entry, Event):
            continue
        if entry.lonlat is not None:
            at_m = layout.ground.plane.to_plane(np.array([entry.lonlat], dtype=np.float64))
            at = view.points(at_m)[0]
        elif (number == entry.strip).any():
            mine = strips[number == entry.strip]
            middle = shapely.point_on_surface(mine[np.argmax(shapely.area(mine))])
            at = shapely.get_coordinates(middle)[0]
        else:
            continue
        text = str(one.number)
        half = np.array([width_pt(text, SMALLEST_PT, bold=True), HIGH * SMALLEST_PT]) / 2 + 1.2
        left, bottom, right, top = view.frame_pt
        at = np.clip(at, np.array([left, bottom]) + half, np.array([right, top]) - half)
        box = np.concatenate([at - half, at + half])
        if any(_meet(box, other) for other in boxes):
            continue  # what lies under it is told in the list
        on_white(canvas, float(at[0]), float(at[1]), text, SMALLEST_PT, bold=True)
        boxes.append(box)
    return np.array(boxes).reshape(-1, 4)


def _meet(one: Floats, other: Floats) -> bool:
    """Tell whether two boxes overlap."""
    return bool((one[:2] < other[2:]).all() and (other[:2] < one[2:]).all())
