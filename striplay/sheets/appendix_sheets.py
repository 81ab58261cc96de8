"""Make the appendix for the adviser: season, cost, pairs, what was told, and every caution."""

from collections.abc import Iterable
from itertools import groupby
from typing import TYPE_CHECKING

from striplay.cautions import Caution, cautions_for
from striplay.notices import SEVERITIES, Notice, gravest_first
from striplay.section.occasions import occasions_of
from striplay.sheets.book import Book
from striplay.sheets.cost_sheets import cost_part
from striplay.sheets.flow import Columns, Story, begin, paragraph, part
from striplay.sheets.pair_sheets import pairs_part
from striplay.sheets.season_sheets import season_part
from striplay.sheets.style import MM, TEXT_PT

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

MARKED = "adviser's appendix, not for the cab"
"""Under the title of each of its pages."""


def appendix_story(book: Book, layout: "Layout") -> Story:
    """Tell what an adviser looks up, one thing after another down the pages."""
    parts = [
        season_part(book, layout.season),
        cost_part(book, layout),  # pictures first: text fills what room they leave
        pairs_part(book, layout.pairs),
        notices_part(book, told_of(layout)),
        cautions_part(
            book,
            cautions_for(
                occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty),
                layout.plan.units,
            ),
        ),
    ]
    return [*begin(MARKED.capitalize()), *(one for each in parts for one in each)]


def told_of(layout: "Layout") -> list[Notice]:
    """Give all that was told of a layout, the gravest first; of operations what is good to know."""
    known = (one for one in layout.operations.notices if one.severity == "know")
    return gravest_first([*layout.notices, *known])


def notices_part(book: Book, notices: Iterable[Notice]) -> Story:
    """Write what the user should know, by how grave it is; empty where there is nothing."""
    told: Story = []
    head: Story = part("What to know of this plan")
    for severity, some in groupby(gravest_first(notices), key=lambda one: one.severity):
        said = f"{SEVERITIES[severity][0].upper()}{SEVERITIES[severity][1:]}:"
        head.append(paragraph(said, TEXT_PT, bold=True, above_mm=1.6, below_mm=0.6))
        cells = [[paragraph(f"• {one.text}", hang_mm=2.0, below_mm=0.6)] for one in some]
        told.append(Columns(cells, book.inner_mm * MM, head))
        head = []
    return told


def cautions_part(book: Book, cautions: Iterable[Caution]) -> Story:
    """Write each caution in full, under its heading."""
    cells = [
        [paragraph(one.about, TEXT_PT, bold=True), paragraph(one.text, below_mm=1.0)]
        for one in cautions
    ]
    return [Columns(cells, book.inner_mm * MM, part("Cautions"))]
