"""Speed of the map book, a page, against laying the same field and against a bare page.

Run with `pytest tests/benchmarks/test_map_book.py --benchmark-only -s`.
"""

from pathlib import Path

import pypdfium2
import pytest
from alternate import alternate
from fields import SAMPLES
from reportlab.pdfgen.canvas import Canvas

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.sheets.bind import write_map_book

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
