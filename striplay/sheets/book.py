"""Bind stories into a book of pages: head and foot, contents, the same bytes for the same plan."""

import io
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from striplay.looks import Ink, Look, looks_of
from striplay.notices import Notice
from striplay.plan.models import Farm
from striplay.sheets.flow import Story, lines_of, shrunk
from striplay.sheets.fonts import unprinted, watched, width_pt, write
from striplay.sheets.kept import Kept
from striplay.sheets.spoken import spoken
from striplay.sheets.style import (
    FOOT_MM,
    GRAY,
    HAIR_PT,
    HEAD_MM,
    HEADING_PT,
    INK,
    MARGIN_MM,
    MM,
    PAPERS_MM,
    RULE,
    SMALLEST_PT,
    THIN_PT,
    TITLE_PT,
)
from striplay.units import UnitSystem

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

DATUM = "WGS 84, true north; not a legal survey"
PAGES = "pages"
"""Name of the form that holds how many pages there are; it is known when the last is done."""


@dataclass(frozen=True)
class Book:
    """What the pages of a book share.

    Attributes:
        width_mm: of its paper.
        height_mm: likewise.
        title: the plan's.
        farm: whose farm it is.
        mark: eight letters that tell this version of the plan.
        printed: day on its pages; None for none.
        units: how it speaks.
        ink: color or gray.
        looks: how each crop or mixture is shown.
        turn_deg: how far the ground is turned on its maps; None where each chooses by itself.
        say: says a text in an operator's words, as `spoken`.
        kept: what its pages draw alike.
    """

    width_mm: float
    height_mm: float
    title: str
    farm: Farm
    mark: str
    printed: date | None
    units: UnitSystem
    ink: Ink
    looks: Mapping[str, Look]
    turn_deg: float | None = None
    say: Callable[[str], str] = str
    kept: Kept = field(default_factory=Kept, compare=False, repr=False)

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def room_mm(self) -> float:
        """Height between a page's head and foot."""
        return self.height_mm - 2 * MARGIN_MM - HEAD_MM - FOOT_MM


def book_of(layout: "Layout", *, printed: date | None = None, ink: Ink | None = None) -> Book:
    """Give what the pages of a layout's book share; the plan's own date and ink when left out."""
    plan = layout.plan
    edge = [] if plan.headland_crop is None else [plan.headland_crop]
    names = list(dict.fromkeys([*layout.section.names, *edge]))
    chosen = plan.ink if ink is None else ink
    return Book(
        *PAPERS_MM[plan.paper],
        title=plan.title,
        farm=plan.farm,
        mark=layout.mark,
        printed=printed or plan.printed,
        units=plan.units,
        ink=chosen,
        looks=looks_of(names, chosen),
        say=spoken(plan),
    )


class _Pages(BaseDocTemplate):
    """The document: each page with its head and foot."""

    def __init__(self, path: Path | io.BytesIO, book: Book, subject: str) -> None:
        self.book = book
        self.what = subject
        super().__init__(
            path if isinstance(path, io.BytesIO) else str(path),
            pagesize=(book.width_mm * MM, book.height_mm * MM),
            title=book.title,
            author=book.farm.prepared_by,
            subject=subject,
            creator="striplay",
            invariant=1,
            displayDocTitle=1,
            lang="en-US",
            pageCompression=1,
            allowSplitting=1,
        )
        frame = Frame(
            MARGIN_MM * MM,
            (MARGIN_MM + FOOT_MM) * MM,
            book.inner_mm * MM,
            book.room_mm * MM,
            leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
        )  # fmt: skip
        self.addPageTemplates(PageTemplate("page", [frame], onPageEnd=self._head_and_foot))

    def handle_begin(self, what: str, level: int, even: bool) -> None:  # noqa: FBT001 - as the library calls it
        """Begin a sheet on a new page, an even one where it is asked for."""
        if not getattr(self.frame, "_atTop", 1):  # how the library tells an empty page
            self._turn()
        if even and self.page % 2:
            self.what = "Notes"
            _ruled(self.canv, self.book)
            self._turn()
        self.what = what
        key = f"sheet {self.page}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(what, key, level)

    def _turn(self) -> None:
        """End a page and begin the next at once, not when something is to stand on it."""
        self.handle_pageBreak()
        self.clean_hanging()

    def _head_and_foot(self, canvas: Canvas, _document: Any) -> None:  # noqa: ANN401 - itself
        canvas.saveState()
        _head(canvas, self.book, self.what)
        _foot(canvas, self.book, self.page)
        canvas.restoreState()

    def _endBuild(self) -> None:  # noqa: N802 - the library's name
        self.canv.beginForm(PAGES)
        write(self.canv, 0, 0, f" of {self.page}", SMALLEST_PT)
        self.canv.endForm()
        super()._endBuild()  # type: ignore[misc] # its types leave it out


def _head(canvas: Canvas, book: Book, what: str) -> None:
    """Write a page's head: what it shows and of which field; whose farm, which version."""
    left_pt, right_pt = MARGIN_MM * MM, (book.width_mm - MARGIN_MM) * MM
    top_pt = (book.height_mm - MARGIN_MM) * MM
    versions = [f"plan {book.mark}", *([book.printed.isoformat()] if book.printed else [])]
    version = " · ".join(versions)
    farm = " · ".join(one for one in (book.farm.name, book.farm.operator) if one)
    farm, farm_pt = shrunk(farm, 0.4 * (right_pt - left_pt), HEADING_PT, SMALLEST_PT)
    write(canvas, right_pt, top_pt - 10, farm, farm_pt, align=1)
    write(canvas, right_pt, top_pt - 24, version, SMALLEST_PT, align=1)
    beside_pt = max(width_pt(farm, farm_pt), width_pt(version, SMALLEST_PT))
    room_pt = right_pt - left_pt - beside_pt - 12
    title, title_pt = shrunk(book.title, room_pt, TITLE_PT, 9.0, bold=True)
    if title == book.title:
        write(canvas, left_pt, top_pt - 12, title, title_pt, bold=True)
    else:  # a long one takes two lines
        first, *rest = lines_of(book.title, room_pt, 8.0, bold=True)
        write(canvas, left_pt, top_pt - 7.5, first, 8.0, bold=True)
        second, size_pt = shrunk(" ".join(rest), room_pt, 8.0, SMALLEST_PT, bold=True)
        write(canvas, left_pt, top_pt - 16.5, second, size_pt, bold=True)
    shown, shown_pt = shrunk(what, room_pt, HEADING_PT, SMALLEST_PT)
    write(canvas, left_pt, top_pt - 28, shown, shown_pt)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(THIN_PT)
    canvas.line(left_pt, top_pt - 34, right_pt, top_pt - 34)


def _foot(canvas: Canvas, book: Book, number: int) -> None:
    """Write a page's foot: its number, the datum, where the field is."""
    left_pt, right_pt = MARGIN_MM * MM, (book.width_mm - MARGIN_MM) * MM
    y_pt = MARGIN_MM * MM + 2
    of_pt = 32.0
    said = f"page {number}"
    write(canvas, right_pt - of_pt, y_pt, said, SMALLEST_PT, align=1)
    canvas.saveState()
    canvas.translate(right_pt - of_pt, y_pt)
    canvas.doForm(PAGES)
    canvas.restoreState()
    farm = book.farm
    where = ", ".join(one for one in (farm.legal, farm.county, farm.state) if one)
    by = f"prepared by {farm.prepared_by}" if farm.prepared_by else ""
    told = " · ".join(one for one in (where, by, DATUM) if one)
    room_pt = right_pt - left_pt - of_pt - width_pt(said, SMALLEST_PT) - 8
    shown, size_pt = shrunk(told, room_pt, SMALLEST_PT, SMALLEST_PT)
    if shown != told:  # the datum is never what is cut
        rest = f" · {DATUM}"
        kept, _ = shrunk(told.removesuffix(rest), room_pt - width_pt(rest, SMALLEST_PT),
                         SMALLEST_PT, SMALLEST_PT)  # fmt: skip
        shown = f"{kept}{rest}"
    write(canvas, left_pt, y_pt, shown, size_pt, color=GRAY)


def _ruled(canvas: Canvas, book: Book) -> None:
    """Rule a page to write on."""
    left_pt, right_pt = MARGIN_MM * MM, (book.width_mm - MARGIN_MM) * MM
    y_pt = (book.height_mm - MARGIN_MM - HEAD_MM) * MM - 24
    canvas.saveState()
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(HAIR_PT)
    while y_pt > (MARGIN_MM + FOOT_MM) * MM:
        canvas.line(left_pt, y_pt, right_pt, y_pt)
        y_pt -= 24
    canvas.restoreState()


class _Unsaved(Canvas):
    """Pages that are only counted."""

    def save(self) -> None:
        """Write nothing."""


def pages_in(book: Book, story: Story) -> int:
    """Count the pages that a story takes; it can't be used again."""
    pages = _Pages(io.BytesIO(), book, "")
    pages.build(story, canvasmaker=_Unsaved)
    return int(pages.page)


@contextmanager
def _bytes_as_they_are() -> Iterator[None]:
    """Leave compressed content as bytes: as text it is a quarter longer, and slow to make."""
    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def write_pages(book: Book, path: Path, stories: Iterable[Story], subject: str) -> list[Notice]:
    """Write a book.

    Args:
        book: what its pages share.
        path: the PDF to write.
        stories: its sheets, each begun by `begin`; of those that are made only as they are taken,
            all characters that can't be printed are told of.
        subject: what it is, in the PDF's own description.

    Returns:
        What the user should know: characters that can't be printed.

    Raises:
        OSError: a file that can't be written.
    """
    with watched() as missing, _bytes_as_they_are():
        pages = _Pages(path, book, subject)
        pages.build([one for story in stories for one in story], canvasmaker=Canvas)
    return unprinted(missing)
