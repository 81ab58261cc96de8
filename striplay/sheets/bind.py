"""Bind the map book: every sheet in the order it is used, the adviser's last."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from striplay.looks import Ink
from striplay.notices import Notice
from striplay.paying import pay_if_told
from striplay.sheets.across_sheets import across_story
from striplay.sheets.appendix_sheets import appendix_story
from striplay.sheets.book import Book, book_of, pages_in, write_pages
from striplay.sheets.cover_sheets import cover_of, cover_story
from striplay.sheets.flow import Story
from striplay.sheets.index_sheets import index_story
from striplay.sheets.operation_sheets import operation_story, pages_of_operation
from striplay.sheets.pay_sheets import pay_story
from striplay.sheets.record_sheets import record_story
from striplay.sheets.seed_sheets import seed_story
from striplay.sheets.tile_sheets import tile_story
from striplay.sheets.turned import turned_alike
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from striplay.laid_plan import Layout


def write_map_book(
    layout: "Layout", path: Path, *, printed: date | None = None, ink: Ink | None = None
) -> list[Notice]:
    """Write the map book.

    Args:
        layout: what to show.
        path: the PDF to write.
        printed: date on the pages; the plan's when left out.
        ink: color or gray; the plan's when left out.

    Returns:
        What the user should know: characters that can't be printed.

    Raises:
        OSError: a file that can't be written.
    """
    book = turned_alike(book_of(layout, printed=printed, ink=ink), layout)
    return write_pages(book, path, stories(book, layout), "Map book")


def stories_for(book: Book, layout: "Layout", sheet: Worksheet) -> Iterator[Story]:
    """List what one operation's operator needs: cover, double page, record, and what these name.

    The cover is page 1, so that the double page lies open from page 2. Who plants several crops in
    one pass is shown their seed boxes; who sows a mixture, its blend; strips are listed and, where
    the cover has no room for all their numbers, shown larger.
    """
    yield cover_story(book, layout)
    yield operation_story(book, layout, sheet)
    yield record_story(book, [sheet])
    plants = sheet.judged.job.does == "plant"
    if plants and any(" + " in label for label in sheet.judged.job.crops):
        yield across_story(book, layout)
    if sheet.blends:
        yield seed_story(book, layout)
    yield index_story(book, layout)
    yield tile_story(book, layout, cover_of(book, layout).view.scale)


def stories(book: Book, layout: "Layout") -> Iterator[Story]:
    """List the sheets: cover, operations, strips, across, seed, parts of the map, records, more.

    Each is made when it is taken, so that what it can't print is told of by who writes it. An
    operation's record stands right after it where that lets the next begin on a left page.
    """
    yield cover_story(book, layout)
    later = []
    for one in layout.worksheets:
        yield operation_story(book, layout, one)
        if pages_of_operation(book, one) % 2 and pages_in(book, record_story(book, [one])) % 2:
            yield record_story(book, [one])
        else:
            later.append(one)
    yield index_story(book, layout)
    yield across_story(book, layout)
    yield seed_story(book, layout)
    yield tile_story(book, layout, cover_of(book, layout).view.scale)
    yield record_story(book, later)
    yield appendix_story(book, layout)
    found = pay_if_told(layout)
    if found is not None:
        yield pay_story(book, layout, found)
