"""Bind the sheets into one PDF, the same bytes for the same plan."""

from collections.abc import Iterator
from datetime import date
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from striplay.cautions import cautions_for
from striplay.mapbook.caution_sheets import caution_sheets
from striplay.mapbook.cost_sheets import cost_sheets
from striplay.mapbook.fonts import print_boxes, unprinted
from striplay.mapbook.map_sheets import map_sheets
from striplay.mapbook.pair_sheets import pair_sheets
from striplay.mapbook.season_sheets import season_sheets
from striplay.mapbook.section_sheets import section_sheets
from striplay.mapbook.sheet import paper_of
from striplay.mapbook.style import our_look
from striplay.mapbook.table_sheets import crop_sheets, seed_sheets
from striplay.notices import Notice
from striplay.section.occasions import occasions_of
from striplay.sheets.section_scene import scene_of
from striplay.tables import sown_table

if TYPE_CHECKING:
    from striplay.flow import Layout


def write_map_book(
    layout: "Layout", path: Path, *, printed: date | None, paper: str
) -> list[Notice]:
    """Write the map book.

    Args:
        layout: what to draw.
        path: the PDF to write.
        printed: date on the sheets; none is printed when left out.
        paper: "letter" or "a4".

    Returns:
        What the user should know: characters that can't be printed.
    """
    written: set[str] = set()
    stamps = {"CreationDate": None, "ModDate": None, "Title": layout.plan.title}
    with our_look(), PdfPages(path, metadata=stamps) as book:
        for figure in sheets(layout, printed=printed, paper=paper):
            written.update(print_boxes(figure))
            book.savefig(figure)
    return unprinted(written)


def sheets(layout: "Layout", *, printed: date | None, paper: str) -> Iterator[Figure]:
    """Draw the sheets: map, tiles, crops, across, season, cost, pairs, cautions, seed."""
    shared = paper_of(layout, paper, printed)
    sown = sown_table(layout.plan, layout.laid, layout.figures)
    for sheet in chain(
        map_sheets(shared, layout, sown),
        crop_sheets(shared, layout, sown),
        section_sheets(shared, scene_of(layout.plan, layout.section, None)),
        season_sheets(shared, layout.season),
        cost_sheets(shared, layout),
        pair_sheets(shared, layout.pairs),
        caution_sheets(shared, cautions_for(occasions_of(layout.plan, layout.section))),
        seed_sheets(shared, layout, sown),
    ):
        yield sheet.figure
