"""Set the table of an operation's passes in the order driven: where each runs, what it takes."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import chain

import numpy as np
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Table

from striplay.accounts.loads import Load
from striplay.operations.under import PART_WAY
from striplay.sheets.book import Book
from striplay.sheets.driven_columns import (
    BESIDE_PT,
    BOX_PT,
    FILL,
    HEADS,
    ON,
    SO_FAR,
    STRIPS,
    Cells,
    cells_of,
    columns_of,
    fill_before,
    head_cut,
    on_mm,
    so_far_cells,
    totals_of,
    widest,
)
from striplay.sheets.flow import CELL_PT, Column, Drawn, Story, heading, lines_of, room, table
from striplay.sheets.fonts import BOLD, width_pt, write
from striplay.sheets.style import GRAY, HAIR_PT, INK, LEADING, MM, RULE, SMALLEST_PT, THIN_PT
from striplay.tolerances import WHOLE_NUMBER
from striplay.worksheet import Entry, FillAt, Worksheet, collapsed

USUAL_MM, HIGHEST_MM = 4.2, 6.5
"""Heights of a row: usual, and the highest, as handwriting is."""
APART_PT = 2.5
"""Room from one box to tick to the next."""
LEAST_ON_MM = 15.0
"""Loads have columns beside the passes as long as so much is left for what is on."""
FIRST_MM = 30.0
"""Room that the table's title and its first rows need on a page."""

SLACK_PT = 1.0
"""Left free of a page's height, since heights are rounded."""

MOST_ROWS = 20
"""More rows of a run may stand on two pages: one page has room for about fifty."""


@dataclass(frozen=True)
class Group:
    """Rows that stay on one page.

    Attributes:
        rows: their cells; one cell alone runs over all columns.
        bold: which of these rows are set in bold.
        after: index of the last pass they tell of.
    """

    rows: tuple[Cells, ...]
    bold: tuple[int, ...]
    after: int


@dataclass(frozen=True)
class Told:
    """A table of passes that is set.

    Attributes:
        story: the table.
        pages: about how many pages it takes, the first with the room it was set for.
        beside: how many loads have columns beside the passes.
    """

    story: Story
    pages: int
    beside: int


def driven_table(book: Book, sheet: Worksheet, room_pt: float, size_pt: float) -> Told:
    """Set an operation's passes: a line each, or runs of like ones, with a box to tick for each.

    A fill stands where it is due. Where the table goes on to another page, what was used so far is
    carried over.

    Args:
        book: what all pages share.
        sheet: the operation.
        room_pt: height left for it on its first page.
        size_pt: of its type.

    Returns:
        The table, its rows as high as fill that page where they fit it.
    """
    title = _untied(heading("Passes in the order driven", above_mm=0))
    beside = _beside(book, sheet, size_pt)
    others = sheet.carried[len(beside.loads) :]
    room_pt -= title.wrap(book.inner_mm * MM, room_pt)[1] + title.getSpaceAfter() + SLACK_PT
    row_mm, least_mm = beside.row_mm_in(room_pt), (size_pt * LEADING + 1.6) / MM
    fits = row_mm >= least_mm
    beside.row_mm = min(row_mm, HIGHEST_MM) if fits else max(USUAL_MM, least_mm)
    left_pt = 0.0 if fits else beside.wrap(0, 0)[1] - room_pt
    story: Story = [room(FIRST_MM), title, beside]
    if others:
        more = _taken(sheet, others, size_pt)
        left_pt += more.wrap(0, 0)[1]
        story += [room(FIRST_MM), _untied(heading("What else each pass takes")), more]
    return Told(story, 1 + math.ceil(left_pt / (book.room_mm * MM)), len(beside.loads))


def _untied(title: Flowable) -> Flowable:
    """Let a title stand by itself: the table after it goes over to another page row by row."""
    title.keepWithNext = False
    return title


def _beside(book: Book, sheet: Worksheet, size_pt: float) -> "Driven":
    """Set the table with as many loads beside the passes as there is room for."""
    loads = sheet.carried
    columns = columns_of(book, sheet, loads, size_pt)
    head_mm = (widest([sheet.parts]) + BESIDE_PT + CELL_PT) / MM
    least_mm = max(head_mm, min(LEAST_ON_MM, on_mm(sheet, size_pt)))
    while loads and columns[ON].width_mm < least_mm:
        loads = loads[:-1]
        columns = columns_of(book, sheet, loads, size_pt)
    groups = list(_groups(sheet, loads, columns, size_pt))
    return Driven(sheet, loads, columns, groups, size_pt=size_pt)


class Driven(Flowable):
    """The table of passes, split between its groups of rows, totals carried over."""

    def __init__(
        self,
        sheet: Worksheet,
        loads: Sequence[Load],
        columns: Sequence[Column],
        groups: Sequence[Group],
        *,
        size_pt: float,
        row_mm: float = USUAL_MM,
        before: int | None = None,
        last: bool = True,
    ) -> None:
        """Make the table, or a part of it.

        Args:
            sheet: the operation.
            loads: those with columns of their own.
            columns: of the table.
            groups: its rows.
            size_pt: of its type.
            row_mm: height of a row.
            before: index of the last pass on the page before; None where it begins.
            last: whether it ends here, with the totals.
        """
        super().__init__()
        self.sheet, self.loads, self.columns, self.groups = sheet, loads, columns, groups
        self.size_pt, self.row_mm, self.before, self.last = size_pt, row_mm, before, last
        self.width = sum(column.width_mm for column in columns) * MM

    def row_mm_in(self, room_pt: float) -> float:
        """Say how high rows may be for all of them to fit some room."""
        return (room_pt - self._head_pt) / MM / self._rows(self.groups)

    def wrap(self, _available_width: float, _available_height: float) -> tuple[float, float]:
        """Give the room that all of it takes."""
        self.height = self._head_pt + self._rows(self.groups) * self.row_mm * MM
        return self.width, self.height

    def split(self, _available_width: float, available_height: float) -> list[Flowable]:
        """Part it between groups, the first part as high as there is room for."""
        rows = int((available_height - self._head_pt) / (self.row_mm * MM) + WHOLE_NUMBER)
        high = np.cumsum([len(group.rows) for group in self.groups])
        fits = int(np.searchsorted(high, rows - self._rows([]), side="right"))
        fits = min(fits, len(self.groups) - 1)
        if fits < 1:
            return []
        part = partial(
            Driven, self.sheet, self.loads, self.columns, size_pt=self.size_pt, row_mm=self.row_mm
        )
        after = self.groups[fits - 1].after
        return [
            part(self.groups[:fits], before=self.before, last=False),
            part(self.groups[fits:], before=after, last=self.last),
        ]

    def draw(self) -> None:
        """Draw it."""
        made = self._made()
        made.wrap(0, 0)
        made.drawOn(self.canv, 0, 0)

    @cached_property
    def _head_pt(self) -> float:
        """How high the headings are."""
        return float(table(self.columns, [], size_pt=self.size_pt).wrap(0, 0)[1])

    def _rows(self, groups: Sequence[Group]) -> int:
        """Count rows, those of totals and of what is carried over too."""
        carried = bool(self.loads) and self.before is not None
        return sum(len(group.rows) for group in groups) + 1 + carried

    def _made(self) -> Table:
        """Set it, with what is carried over or, at the end, the totals."""
        rows: list[Cells] = []
        bold: list[int] = []
        if self.before is not None and self.loads:
            rows.append(self._carried(self.before, "from before"))
        for group in self.groups:
            bold += [len(rows) + row for row in group.bold]
            rows += group.rows
        ends = [*totals_of(self.sheet, self.loads), ""]
        if not self.last:
            said = "carried over" if self.loads else "more passes on the next page"
            ends = self._carried(self.groups[-1].after, said)
        whole = [at for at, row in enumerate(rows) if len(row) == 1]
        filled = [row + [""] * (len(self.columns) - len(row)) for row in [*rows, ends]]
        for at in whole:
            filled[at][0] = _across(filled[at][0], self.width, self.size_pt, bold=at in bold)
        return table(
            self.columns, filled, size_pt=self.size_pt, ruled=0, foot=1, row_mm=self.row_mm,
            style=[*(("SPAN", (0, at + 1), (-1, at + 1)) for at in whole),
                   *HEADS, ("LINEBELOW", (0, 1), (-1, -2), HAIR_PT, RULE),
                   ("FONT", (FILL, 1), (FILL, -1), BOLD, self.size_pt),
                   ("LEFTPADDING", (STRIPS, 0), (STRIPS, -1), BESIDE_PT),
                   ("LEFTPADDING", (ON, 0), (ON, -1), BESIDE_PT)],
        )  # fmt: skip

    def _carried(self, index: int, said: str) -> Cells:
        row = so_far_cells(self.loads, index)
        wide_pt = sum(column.width_mm for column in self.columns[STRIPS:ON]) * MM
        row[STRIPS] = Drawn(wide_pt, BOX_PT, partial(_line, said, self.size_pt, bold=True))
        return [*row, ""]


def _lines(
    texts: Iterable[str], wide_pt: float, size_pt: float, *, bold: bool = False
) -> list[Cells]:
    """Break texts that run over all columns into rows."""
    room_pt = wide_pt - 2 * CELL_PT
    return [[line] for text in texts for line in lines_of(text, room_pt, size_pt, bold=bold)]


def _groups(
    sheet: Worksheet, loads: Sequence[Load], columns: Sequence[Column], size_pt: float
) -> Iterator[Group]:
    """Give the rows of the table, in the order driven."""
    box = Drawn(BOX_PT, BOX_PT, partial(_box, ""))
    wide_pt = sum(column.width_mm for column in columns) * MM
    for entry in collapsed(sheet):
        rows: list[Cells] = []
        bold: list[int] = []
        ends = dict.fromkeys([entry.first, entry.last])
        for index in ends:
            due = [fill for fill in sheet.fills if fill.of == index]
            told = bool(fill_before(sheet, index))
            before = [_fill(sheet, fill) for fill in due if not fill.on_pass and not told]
            before += [_fill(sheet, fill) for fill in due if fill.on_pass]
            _add_bold(rows, bold, _lines(before, wide_pt, size_pt, bold=True))
            cells = cells_of(sheet, index, loads)
            notes = list(_notes(sheet, index, cells, columns, size_pt))
            rows.append([*cells, box])
            rows += _lines(notes, wide_pt, size_pt)
            if index == entry.first and entry.between:
                rows += [[one] for one in _between(sheet, entry, wide_pt, size_pt)]
        if entry.last == len(sheet) - 1:
            end = [_fill(sheet, fill) for fill in sheet.fills if fill.of == len(sheet)]
            _add_bold(rows, bold, _lines(end, wide_pt, size_pt, bold=True))
        for at in range(0, len(rows), MOST_ROWS):
            some = rows[at : at + MOST_ROWS]
            here = tuple(row - at for row in bold if at <= row < at + MOST_ROWS)
            ends_here = at + MOST_ROWS >= len(rows)
            yield Group(tuple(some), here, entry.last if ends_here else entry.first)


def _add_bold(rows: list[Cells], bold: list[int], more: Sequence[Cells]) -> None:
    """Add rows that are set in bold."""
    bold += range(len(rows), len(rows) + len(more))
    rows += more


def _fill(sheet: Worksheet, fill: FillAt) -> str:
    """Say a fill in a line of its own."""
    what = "Unload" if any(load.brought_in for load in sheet.loads) else "Fill"
    return f"{what} {fill.where}: {', '.join(fill.amounts)}"


def _notes(
    sheet: Worksheet, index: int, cells: Cells, columns: Sequence[Column], size_pt: float
) -> Iterator[str]:
    """Say below a pass what has no room in its cells, and what else is to be known of it."""
    told = {STRIPS: "strips {}", ON: "{}"}
    whole = {STRIPS: sheet.strips[index], ON: sheet.rows_on[index]}
    for at, form in told.items():
        room_pt = columns[at].width_mm * MM - CELL_PT - BESIDE_PT
        if PART_WAY in whole[at] or width_pt(str(cells[at]), size_pt) > room_pt:
            cells[at] = "below"
            yield f"pass {sheet.number[index]}: {form.format(whole[at])}"
    if sheet.stops_at[index]:
        yield f"pass {sheet.number[index]}: stops at obstacle {sheet.stops_at[index]}"


def _between(sheet: Worksheet, entry: Entry, wide_pt: float, size_pt: float) -> Iterator[Drawn]:
    """Tell of the passes between the first and the last of a run, with a box for each."""
    first, last = entry.first + 1, entry.last - 1
    number, strips = sheet.number, sheet.strips
    way = "to and fro" if entry.turns else "all one way"
    said = (
        f"passes {number[first]} to {number[last]} likewise, {way}, strip {strips[first]} to "
        f"{strips[last]}, {entry.step}"
    )
    numbers = [f"{number[index]}" for index in range(first, last + 1)]
    each_pt = width_pt(numbers[-1], SMALLEST_PT) + 4.0 + APART_PT
    room_pt = wide_pt - 2 * CELL_PT
    lines = lines_of(said, room_pt, size_pt)
    in_row = int(room_pt // each_pt)
    rows = [numbers[at : at + in_row] for at in range(0, len(numbers), in_row)]
    last_pt = width_pt(lines[-1], size_pt) + 6.0
    if last_pt + len(numbers) * each_pt > room_pt:
        lines.append("")
    for line in lines[:-1]:
        yield Drawn(room_pt, BOX_PT, partial(_row, line, size_pt, [], each_pt))
    for line, boxes in zip([lines[-1], *[""] * (len(rows) - 1)], rows, strict=True):
        yield Drawn(room_pt, BOX_PT, partial(_row, line, size_pt, boxes, each_pt))


def _row(
    said: str,
    size_pt: float,
    numbers: Sequence[str],
    each_pt: float,
    canvas: Canvas,
    wide_pt: float,
    _high: float,
) -> None:
    """Write a text and, from the right, boxes with a number in each."""
    write(canvas, 0, 2.2, said, size_pt)
    x_pt = wide_pt - len(numbers) * each_pt + APART_PT
    for number in numbers:
        _box(number, canvas, each_pt - APART_PT, BOX_PT, x_pt)
        x_pt += each_pt


def _box(number: str, canvas: Canvas, wide_pt: float, high_pt: float, x_pt: float = 0.0) -> None:
    """Draw a box to tick, of a pass whose number may stand in it."""
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(THIN_PT)
    canvas.rect(x_pt, 0, wide_pt, high_pt)
    if number:
        write(canvas, x_pt + wide_pt / 2, 2.2, number, SMALLEST_PT, align=0.5, color=GRAY)


def _across(text: str | Flowable, wide_pt: float, size_pt: float, *, bold: bool) -> str | Flowable:
    """Set a line that runs over all columns."""
    if not isinstance(text, str):
        return text
    return Drawn(wide_pt - 2 * CELL_PT, BOX_PT, partial(_line, text, size_pt, bold=bold))


def _line(
    said: str, size_pt: float, canvas: Canvas, _wide: float, _high: float, *, bold: bool
) -> None:
    write(canvas, 0, 2.2, said, size_pt, bold=bold)


def _taken(sheet: Worksheet, loads: Sequence[Load], size_pt: float) -> Table:
    """Set what passes take of the loads that have no column beside them; like ones in one line."""
    columns = [Column("\npasses", 24.0)]
    for load in loads:
        name = load.crop or load.what
        columns += [Column(f"{name}\n{load.measure.short} each", 18.0, right=True),
                    Column(SO_FAR, 18.0, right=True)]  # fmt: skip
    columns = [replace(one, head=head_cut(one.head, one.width_mm)) for one in columns]
    rows = []
    for entry in collapsed(sheet):
        first, last = sheet.number[entry.first], sheet.number[entry.last]
        rows.append([f"{first}" if first == last else f"{first} to {last}"])
        for load in loads:
            rows[-1] += [load.used_words(load.used[entry.first]),
                         load.total_words(load.running[entry.last])]  # fmt: skip
    totals = chain.from_iterable(("", load.total_words(load.total)) for load in loads)
    return table(columns, [*rows, ["total", *totals]], size_pt=size_pt, foot=1, style=HEADS)
