"""Write sheets of a layout as a book of their own, and read its pages as they are on paper."""

from collections.abc import Callable
from pathlib import Path

from pdfs import Page, check_page, pages

from striplay.flow import Layout
from striplay.sheets.book import Book, book_of, write_pages
from striplay.sheets.flow import Story
from striplay.sheets.style import Ink

MakeStory = Callable[[Book, Layout], Story]


def told(
    folder: Path, layout: Layout, make: MakeStory, ink: Ink = "color", *, name: str = "told.pdf"
) -> list[Page]:
    """Write a story of a layout and read its pages, each held to what all pages must be."""
    book, path = book_of(layout, ink=ink), folder / name
    write_pages(book, path, [make(book, layout)], "Test")
    found = pages(path)
    for page in found:
        check_page(page)
    return found


def texts_of(found: list[Page]) -> list[str]:
    """Give all that was written, a label or a cell each, but what heads and ends each page."""
    return [text for page in found for text in page.texts]
