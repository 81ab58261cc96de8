"""Tell the adviser which variant: plans side by side on a sheet."""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from striplay.choosing.compare import Comparison
from striplay.choosing.compare_report import (
    BESIDE,
    column_words,
    figure_lines,
    reason_words,
    shown_reasons,
)
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    CELL_PT,
    Column,
    Story,
    begin,
    gap,
    heading,
    lines_of,
    paragraph,
    table,
)
from striplay.sheets.style import MM, TEXT_PT

NAME_MM = 36.0
"""Width of the column that names the figures."""
REASONS = 4
"""Reasons of verdicts told of each plan; the rest stand in `striplay check`."""


def compare_story(book: Book, comparison: Comparison) -> Story:
    """Give the sheet that holds plans side by side.

    Args:
        book: its paper, units and ink.
        comparison: the plans.
    """
    story: Story = begin("Plans side by side")
    if not comparison.one_field:
        story.append(paragraph(f"Mind: {comparison.told[0]}.", TEXT_PT, bold=True, below_mm=1.5))
    for first in range(0, len(comparison.sides), BESIDE):
        story += [_table(book, comparison, range(first, len(comparison.sides))[:BESIDE]), gap(2)]
    story.append(
        paragraph(
            "Areas are those of strips; seed to buy is for strips, headland and ground planted "
            "twice. Operations: how many can be done, only at a cost, or not. Cost a year is what "
            "the search weighs headings by. Margin: sales less drying, seed, products, machines, "
            "fuel and other costs stated, before land and overheads; in brackets the least and "
            "the most by what rows at edges are known to yield."
        )
    )
    told = comparison.told[0 if comparison.one_field else 1 :]
    story += [paragraph(f"Mind: {one}.", above_mm=0.8) for one in told]
    for side in comparison.sides:
        words = shown_reasons(side)
        if side.layout is None:
            words = [f"can't be laid: {reason_words(side)}"]
        if side.asked:
            words = [*words, *(f"margin: {one}" for one in side.asked[:REASONS])]
        if words:
            story.append(heading(side.label, above_mm=2.0))
            story += [paragraph(f"- {one}", hang_mm=2.0, below_mm=0.3) for one in words[:REASONS]]
            if len(words) > REASONS:
                story.append(paragraph(f"- and {len(words) - REASONS} more: see striplay check"))
    return story


def _table(book: Book, comparison: Comparison, places: Sequence[int]) -> Flowable:
    """Set plans beside each other, a column each."""
    wide_mm = (book.inner_mm - NAME_MM) / max(len(places), 2)
    room_pt = wide_mm * MM - 2 * CELL_PT
    lines = figure_lines(comparison)
    cells = [
        column_words(comparison.sides[place], [texts[place] for _, texts in lines],
                     lambda text: lines_of(text, room_pt))
        for place in places
    ]  # fmt: skip
    heads = ["\n".join(lines_of(comparison.sides[place].label, room_pt, bold=True)[:LABEL_LINES])
             for place in places]  # fmt: skip
    deep = max(map(len, cells))
    names = [name.strip().replace("yes, at cost, no", "yes, at a cost, no")
             for name, _ in lines] + [""] * (deep - len(lines))  # fmt: skip
    rows = [
        [name, *(column[row] if row < len(column) else "" for column in cells)]
        for row, name in enumerate(names)
    ]
    columns = [Column("", NAME_MM), *(Column(head, wide_mm) for head in heads)]
    return table(columns, rows, ruled=1)


LABEL_LINES = 3
"""Lines of a label at the head of its column."""
