"""Turn all maps of a book alike: who has found a strip on one finds it on the next."""

from dataclasses import replace
from typing import TYPE_CHECKING

from striplay.sheets.book import Book
from striplay.sheets.cover_sheets import panels
from striplay.sheets.fitting import Frame, Stand, stands
from striplay.sheets.operation_map import frame_of
from striplay.sheets.style import MM

if TYPE_CHECKING:
    from striplay.laid_plan import Layout


def turned_alike(book: Book, layout: "Layout") -> Book:
    """Give the book with the turn that all its maps have.

    It is one that costs no map a step of the scale; where there is none, the cover's own.
    """
    size_pt = book.inner_mm * MM, book.room_mm * MM
    cover = stands(layout, [panel.frame_pt for panel in panels(layout, book)])
    frames = dict.fromkeys(frame_of(book, layout, sheet, size_pt) for sheet in layout.worksheets)
    free = set.intersection(_finest(cover), *(_finest(_in(layout, one)) for one in frames))
    settled = [one for one in cover if one.turn_deg in free] or cover
    return replace(book, turn_deg=min(settled, key=lambda one: one.rank).turn_deg)


def _in(layout: "Layout", frame: Frame) -> list[Stand]:
    return stands(layout, [frame])


def _finest(each: list[Stand]) -> set[float]:
    """Give the turns by which the scale is the finest."""
    scale = min(one.scale for one in each)
    return {one.turn_deg for one in each if one.scale == scale}
