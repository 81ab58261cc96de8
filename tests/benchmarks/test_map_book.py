"""Speed of the map book, a page, against laying the same field and against a bare page.

Run with `pytest tests/benchmarks/test_map_book.py --benchmark-only -s`.
"""

import time
from pathlib import Path

import pypdfium2
import pytest
import shapely
from alternate import alternate
from fields import SAMPLES, SHED, lay_on
from reportlab.pdfgen.canvas import Canvas

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.sheets.bind import write_map_book
from striplay.sheets.book import book_of
from striplay.sheets.cover_sheets import cover_of, draw_cover
from striplay.sheets.operation_map import draw_operation
from striplay.sheets.style import MM

BARE = 100
"""Bare pages written beside a book: each with sixty lines of type."""
PLANS = sorted(SAMPLES.glob("*/*.toml"))


def bare(path: Path) -> None:
    """Write pages with nothing but lines of type in one of the library's own fonts."""
    canvas = Canvas(str(path))
    for page in range(BARE):
        canvas.setFont("Helvetica", 8)
        for line in range(60):
            canvas.drawString(40, 780 - 12 * line, f"line {line} of page {page}, with some words")
        canvas.showPage()
    canvas.save()


@pytest.mark.parametrize("plan", PLANS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_page_of_a_book_against_a_bare_page(benchmark, tmp_path, plan):
    benchmark.pedantic(lambda: None, rounds=1)
    layout = lay(read_plan(plan))
    path = tmp_path / "book.pdf"
    write_map_book(layout, path)  # fonts are loaded now, and what is worked out once
    (book, plain), _ = alternate(
        lambda: write_map_book(layout, path), lambda: bare(tmp_path / "bare.pdf"), rounds=3
    )
    pages = len(pypdfium2.PdfDocument(path))
    each, one = book / pages, plain / BARE
    print(f"\n{pages} pages, {each:.3f} s of processor time each: {each / one:.0f} bare pages")


RINGS = SHED.replace("rows = 16", "rows = 4").replace("rows = 8", "rows = 4")
RINGS = RINGS.replace('"30 ft"', '"10 ft"')
"""Machines of four rows."""
NARROW = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = 4\n' for crop in ("corn", "soybean"))


def test_maps_of_rings_about_a_pivot(benchmark, tmp_path):
    """A circle of half a mile radius: 260 rings, half in an operation; laying takes minutes."""
    benchmark.pedantic(lambda: None, rounds=1)
    disc = shapely.Point(0, 0).buffer(800, 128)
    layout = lay_on(tmp_path, disc, direction="pivot = [-93.5, 42.0]", shed=RINGS, strips=NARROW)
    book = book_of(layout)
    cover, sheets = cover_of(book, layout), layout.worksheets
    size_pt = book.inner_mm * MM, book.room_mm * MM

    def seconds(draw) -> float:
        """Give the least processor time of three."""
        taken = []
        for _ in range(3):
            canvas, begin = Canvas(str(tmp_path / "x.pdf")), time.process_time()
            draw(canvas)
            taken.append(time.process_time() - begin)
        return min(taken)

    print(f"\ncover {seconds(lambda canvas: draw_cover(canvas, book, layout, cover)):.3f} s")
    for sheet in sheets:
        each = seconds(lambda canvas, one=sheet: draw_operation(canvas, book, layout, one, size_pt))
        print(f"{sheet.name}, {len(sheet)} rings: {each:.3f} s")
