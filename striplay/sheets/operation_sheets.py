"""Make an operation's double page: its map on the left, what its operator sets and drives right."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Table

from striplay.accounts.loads import Load
from striplay.sheets.book import Book, pages_in
from striplay.sheets.driven_table import Told, driven_table
from striplay.sheets.filling import Ruled, height_pt
from striplay.sheets.flow import Story, begin, gap, heading, paragraph
from striplay.sheets.operation_map import operation_map
from striplay.sheets.style import MM, SMALLEST_PT, TEXT_PT
from striplay.worksheet import AT_START, Worksheet

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

VERDICTS = {
    "yes": "Can be done as planned.",
    "at a cost": "Can be done, at a cost",
    "no": "Can't be done as planned",
}
LABEL_MM = 34.0
"""Width of the labels of settings."""
MOST_FILLS = 6
"""More fills than these are told in the table alone."""


def operation_story(book: Book, layout: "Layout", sheet: Worksheet) -> Story:
    """Make the pages of one operation, its map on an even one so that both lie open together.

    Args:
        book: what all pages share.
        layout: the layout.
        sheet: the operation.
    """
    title = book.say(_title(sheet))
    return [
        *begin(title, even=True),
        *operation_map(book, layout, sheet),
        *begin(f"{title}: settings and passes", level=1),
        *_right(book, sheet),
    ]


def pages_of_operation(book: Book, sheet: Worksheet) -> int:
    """Count the pages of an operation, its map's among them."""
    return 1 + pages_in(book, _right(book, sheet))


def _right(book: Book, sheet: Worksheet) -> Story:
    """Make the right page in the largest type that takes no more pages than the smallest does."""
    *larger, smallest = SIZES_PT
    above, told = _set(book, sheet, *smallest)
    for sizes in larger:
        tried = _set(book, sheet, *sizes)
        if (tried[1].pages, tried[1].beside) == (told.pages, told.beside):
            above, told = tried
            break
    return [*above, *told.story, Ruled()]


SIZES_PT = ((9.0, 9.0), (9.0, 8.0), (TEXT_PT, TEXT_PT), (TEXT_PT, SMALLEST_PT),
            (SMALLEST_PT, SMALLEST_PT))  # fmt: skip
"""Type of what is set and minded, and of the table of passes, the largest first."""
GAP_MM = 2.0


def _set(book: Book, sheet: Worksheet, size_pt: float, table_pt: float) -> tuple[Story, Told]:
    """Set the right page in some type: what stands over the table, and the table."""
    above = [*settings_flow(book, sheet, size_pt), gap(GAP_MM)]
    room_pt = book.room_mm * MM - height_pt(above, book.inner_mm * MM)
    return above, driven_table(book, sheet, room_pt, table_pt)


def _title(sheet: Worksheet) -> str:
    day = sheet.judged.job.day
    return sheet.name if day is None else f"{sheet.name}, {day.isoformat()}"


def settings_flow(book: Book, sheet: Worksheet, size_pt: float = SMALLEST_PT) -> Story:
    """Say whether the operation can be done, what to set and load, and what can hurt."""
    half_mm = (book.inner_mm - GUTTER_MM) / 2
    said = VERDICTS[sheet.judged.answer]
    if sheet.judged.reason:
        said = f"{said}: {sheet.judged.reason.removeprefix(f'{sheet.name}: ')}"
    cautions = [
        paragraph(f"{one.about}. {one.text}", size_pt, below_mm=0.6) for one in sheet.cautions
    ]
    cut = _half(cautions, half_mm)
    left = _listed(book, "Set", sheet.settings, half_mm, size_pt)
    right = _loads(book, sheet, size_pt)
    shorter = min(left, right, key=lambda column: height_pt(column, half_mm * MM))
    shorter += [gap(1.5), *_listed(book, "Takes", sheet.takes, half_mm, size_pt)]
    others = [
        paragraph(
            book.say(one.text.removeprefix(f"{sheet.name}: ")), size_pt, lead="Mind:", below_mm=0.8
        )
        for one in sheet.judged.notices
        if one.severity != "know" and one.text != sheet.judged.reason
    ]
    return [
        paragraph(book.say(said), max(size_pt, TEXT_PT), bold=True, below_mm=1.5),
        *others,
        *_beside(book, left, right),
        heading("What can hurt in this work", above_mm=2.0),
        *_beside(book, cautions[:cut], cautions[cut:]),
    ]


GUTTER_MM = 5.0
SIDES = ("LEFT", "RIGHT", "TOP", "BOTTOM")


def _beside(book: Book, left: Sequence[Flowable], right: Sequence[Flowable]) -> Story:
    """Put two columns of the flow beside each other; one under the other where a page is too low.

    A row of a table can't go over to the next page.
    """
    half_pt = (book.inner_mm - GUTTER_MM) / 2 * MM
    if max(height_pt(column, half_pt) for column in (left, right)) > MOST_SHARE * book.room_mm * MM:
        return [*left, *right]
    return [_two(half_pt, left, right)]


MOST_SHARE = 0.9
"""Columns that take more of a page's height are not put beside each other."""


def _two(half_pt: float, left: Sequence[Flowable], right: Sequence[Flowable]) -> Table:
    return Table(
        [[list(left), "", list(right)]],
        colWidths=[half_pt, GUTTER_MM * MM, half_pt],
        hAlign="LEFT",
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in SIDES),
        ],
    )


def _half(parts: Sequence[Flowable], wide_mm: float) -> int:
    """Say after how many of some flowables the second column of two begins, for equal heights."""
    high = [part.wrap(wide_mm * MM, 1e6)[1] for part in parts]
    uneven = [abs(sum(high[:at]) - sum(high[at:])) for at in range(len(high) + 1)]
    return uneven.index(min(uneven))


def _listed(
    book: Book, title: str, pairs: Sequence[tuple[str, str]], wide_mm: float, size_pt: float
) -> Story:
    """List labels with their words."""
    made = Table(
        [[paragraph(book.say(label), size_pt), paragraph(book.say(words), size_pt, bold=True)]
         for label, words in pairs],
        colWidths=[LABEL_MM * MM, (wide_mm - LABEL_MM) * MM],
        hAlign="LEFT",
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in SIDES),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0.8),
        ],
    )  # fmt: skip
    return [heading(title, above_mm=0), made]


def _loads(book: Book, sheet: Worksheet, size_pt: float) -> Story:
    """Say what to load in all, and at each fill; nothing where nothing is carried or known."""
    if not sheet.loads:
        return []
    brought_in = any(load.brought_in for load in sheet.loads)
    story: Story = [heading("Bring in" if brought_in else "Load", above_mm=0)]
    loads = [*sheet.blends, *sheet.loads]
    story += [paragraph(book.say(_in_all(load)), size_pt, below_mm=0.8) for load in loads]
    if not sheet.fills:
        if sheet.judged.fills is None:
            said = "Fills are not counted: what the machine holds of it is not stated."
            story.append(paragraph(said, size_pt))
        return story
    kind = "Unloadings" if brought_in else "Fills"
    story.append(paragraph(f"{kind}: {_counted(sheet)}", size_pt, bold=True, above_mm=1.0))
    for fill in sheet.fills[:MOST_FILLS]:
        told = book.say(f"{fill.where}: {', '.join(fill.amounts)}")
        story.append(paragraph(told, size_pt, hang_mm=3))
    if len(sheet.fills) > MOST_FILLS:
        more = f"and {len(sheet.fills) - MOST_FILLS} more, in the table"
        story.append(paragraph(more, size_pt))
    return story


def _counted(sheet: Worksheet) -> str:
    """Count fills, the load at the start apart, as the accounts do."""
    first = [fill for fill in sheet.fills if fill.where == AT_START]
    more = len(sheet.fills) - len(first)
    if not first:
        return f"{more}"
    return f"at the start and {more} more" if more else "one, at the start"


def _in_all(load: Load) -> str:
    """Say what there is to load of a thing in all, and of what that is made up."""
    said = f"{load.what}, {load.rate}: {load.to_load_words}"
    if load.brought_in:
        trips = f", {load.trips} cartloads" if load.trips else ""
        return f"{said} in all by the yield that the plan states{trips}"
    if load.to_load_words != load.amount_words(load.total):
        parts = f"passes take {load.amount_words(load.total)}"
        if load.total_words(load.twice).strip("0.,"):
            parts += f", ground planted twice {load.amount_words(load.twice)}"
        said += f" ({parts})"
    return said
