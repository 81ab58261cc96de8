"""Books made for tests: the pages of one story, as they are on paper."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from pdfs import Page, check_page, pages
from reportlab.platypus import Flowable

from striplay.growing import Season
from striplay.laid_plan import Layout
from striplay.looks import Ink, looks_of
from striplay.plan.models import Farm
from striplay.sheets.book import Book, book_of, write_pages
from striplay.sheets.flow import Story, begin
from striplay.sheets.style import PAPERS_MM


def book(
    names: tuple[str, ...] = ("corn", "soybean"), paper: str = "letter", ink: Ink = "color"
) -> Book:
    """Give what the pages of a book share, for some crops."""
    return Book(
        *PAPERS_MM[paper],
        title="Test",
        farm=Farm(),
        mark="01234567",
        printed=date(2026, 4, 1),
        units="us",
        ink=ink,
        looks=looks_of(names, ink),
    )


def names_of(season: Season) -> tuple[str, ...]:
    """Give the crops that have looks of their own, as a layout's book gives them."""
    names = () if season.section is None else season.section.names
    edge = season.plan.headland_crop
    return tuple(dict.fromkeys([*names, *([] if edge is None else [edge])]))


def written(path: Path, shared: Book, story: list[Flowable]) -> list[Page]:
    """Write a story as a book of its own and read its pages, each held to what all must be."""
    return _read_back(path, shared, [*begin("Test sheet"), *story])


MakeStory = Callable[[Book, Layout], Story]


def told(
    folder: Path, layout: Layout, make: MakeStory, ink: Ink = "color", *, name: str = "told.pdf"
) -> list[Page]:
    """Write a story of a layout and read its pages, each held to what all pages must be."""
    shared = book_of(layout, ink=ink)
    return _read_back(folder / name, shared, make(shared, layout))


def _read_back(path: Path, shared: Book, story: Story) -> list[Page]:
    write_pages(shared, path, [story], "Test")
    found = pages(path)
    for page in found:
        check_page(page)
    return found


def texts_of(found: list[Page]) -> list[str]:
    """Give all that was written, a label or a cell each, but what heads and ends each page."""
    return [text for page in found for text in page.texts]
