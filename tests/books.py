"""Books made for tests: the pages of one story, as they are on paper."""

from datetime import date
from pathlib import Path

from pdfs import Page, check_page, pages
from reportlab.platypus import Flowable

from striplay.growing import Season
from striplay.plan.models import Farm
from striplay.sheets.book import Book, write_pages
from striplay.sheets.flow import begin
from striplay.sheets.style import PAPERS_MM, Ink, looks_of


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
    write_pages(shared, path, [[*begin("Test sheet"), *story]], "Test")
    found = pages(path)
    for page in found:
        check_page(page)
    return found
