"""Flow text, tables and drawings down the pages of a book.

A sheet is a list of flowables, a story; `begin` starts its first page. Widths and heights of the
flow are in points.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    ActionFlowable,
    CondPageBreak,
    Flowable,
    KeepTogether,
    Paragraph,
    Spacer,
    Table,
)

from striplay.sheets.fonts import BOLD, REGULAR, fitted, markup, plainly, printed, width_pt
from striplay.sheets.style import (
    HAIR_PT,
    HEADING_PT,
    INK,
    LEADING,
    MM,
    RULE,
    SMALLEST_PT,
    TEXT_PT,
)

Story = list[Flowable]
CELL_PT = 2.0
"""Room beside a cell's text, on either side."""
BETWEEN_PT = 14.0
"""Room between columns of text."""
WHOLE_MM = 90.0
"""What stands in a column and is no higher stays whole."""


def begin(what: str, *, level: int = 0, even: bool = False) -> Story:
    """Begin a sheet on a new page.

    Args:
        what: what it shows, under the page's title and in the list of contents.
        level: of its entry there, 0 the highest.
        even: whether it begins on an even page, as the left one of two that lie open.
    """
    return [ActionFlowable(("begin", what, level, even))]


def paragraph(
    text: str,
    size_pt: float = SMALLEST_PT,
    *,
    lead: str = "",
    bold: bool = False,
    hang_mm: float = 0.0,
    above_mm: float = 0.0,
    below_mm: float = 0.0,
) -> Paragraph:
    """Set a text in lines.

    Args:
        text: its words.
        lead: bold words before it.
        size_pt: of its type.
        bold: whether it is bold.
        hang_mm: how far all lines but the first stand in.
        above_mm: room over it, but at the top of a page.
        below_mm: room under it.
    """
    style = ParagraphStyle(
        "text",
        fontName=BOLD if bold else REGULAR,
        fontSize=size_pt,
        leading=size_pt * LEADING,
        leftIndent=hang_mm * MM,
        firstLineIndent=-hang_mm * MM,
        spaceBefore=above_mm * MM,
        spaceAfter=below_mm * MM,
        splitLongWords=1,
        textColor=HexColor(INK),
        allowWidows=0,
        allowOrphans=0,
    )
    begun = f"<b>{markup(lead, bold=True)}</b> " if lead else ""
    return Paragraph(f"{begun}{markup(text, bold=bold)}", style)


class _Listed(Flowable):
    """An entry in the list of contents, for what comes next: it stays on its page."""

    keepWithNext = True  # noqa: N815 - the library's name

    def __init__(self, what: str, level: int) -> None:
        super().__init__()
        self.width, self.height = 0.0, 0.0
        self._what, self._level = what, level

    def draw(self) -> None:
        """Mark the place."""
        canvas = self.canv
        key = f"{self._what} {canvas.getPageNumber()}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(self._what, key, self._level)


def heading(text: str, *, above_mm: float = 3.0) -> Paragraph:
    """Set a heading; what follows stays with it on a page."""
    made = paragraph(text, HEADING_PT, bold=True, above_mm=above_mm, below_mm=1.0)
    made.keepWithNext = True
    return made


def part(text: str, *, level: int = 1) -> Story:
    """Head a part of a sheet, which has an entry of its own in the list of contents."""
    return [_Listed(text, level), heading(text)]


class Columns(Flowable):
    """Short things in two columns, down the left and then down the right: lines stay short.

    They go on over pages, each page's columns about even.
    """

    def __init__(
        self, cells: Sequence[Sequence[Flowable]], wide_pt: float, head: Sequence[Flowable] = ()
    ) -> None:
        """Set what stands in the columns.

        Args:
            cells: what is set; each stays whole, but for one that is higher than `WHOLE_MM`.
            wide_pt: width of both columns.
            head: what stands over them, on the page on which they begin.
        """
        super().__init__()
        self._head, self.width = head, wide_pt
        self._each_pt = (wide_pt - BETWEEN_PT) / 2
        self._cells = [part for cell in cells for part in _parts_of(cell, self._each_pt)]
        self._head_pt = _stacked_pt(head, wide_pt)
        self._high_pt = [_stacked_pt(cell, self._each_pt) for cell in self._cells]
        sums = (self._sides_pt(at) for at in range(len(self._cells) + 1))
        high_pt, right = min((max(pair), -at) for at, pair in enumerate(sums))
        self.height, self._middle = self._head_pt + high_pt, -right

    def _sides_pt(self, at: int) -> tuple[float, float]:
        return sum(self._high_pt[:at]), sum(self._high_pt[at:])

    def wrap(self, _available_width: float, _available_height: float) -> tuple[float, float]:
        """Give the room it takes."""
        return self.width, self.height

    def split(self, _available_width: float, available_height: float) -> Story:
        """Give what has room on a page, and the rest."""
        room_pt = available_height - self._head_pt
        taken_pt, count = [0.0, 0.0], 0
        for side in (0, 1):
            while count < len(self._cells) and taken_pt[side] + self._high_pt[count] <= room_pt:
                taken_pt[side] += self._high_pt[count]
                count += 1
        if not count:
            return []
        rest = self._cells[count:]
        first = Columns(self._cells[:count], self.width, self._head)
        return [first, Columns(rest, self.width)] if rest else [first]

    def draw(self) -> None:
        """Draw it."""
        top_pt = _draw_down(self.canv, self._head, 0.0, self.height)
        sides = (self._cells[: self._middle], self._cells[self._middle :])
        for x_pt, cells in zip((0.0, self._each_pt + BETWEEN_PT), sides, strict=True):
            y_pt = top_pt
            for cell in cells:
                y_pt = _draw_down(self.canv, cell, x_pt, y_pt)


def _parts_of(cell: Sequence[Flowable], wide_pt: float) -> list[Sequence[Flowable]]:
    """Cut what is too high to stay whole, so that no text is ever higher than a page."""
    if _stacked_pt(cell, wide_pt) <= WHOLE_MM * MM:
        return [cell]
    parts: list[Sequence[Flowable]] = []
    rest = list(cell)
    while rest:
        one = rest.pop(0)
        cut = one.split(wide_pt, WHOLE_MM * MM) if one.height > WHOLE_MM * MM else []
        parts.append(cut[:1] or [one])
        rest = [*cut[1:], *rest]
        for left in cut[1:]:
            left.wrap(wide_pt, math.inf)
    return parts


def _stacked_pt(flowables: Sequence[Flowable], wide_pt: float) -> float:
    """Measure flowables under each other, as `_draw_down` draws them."""
    return sum(
        one.wrap(wide_pt, math.inf)[1] + one.getSpaceBefore() + one.getSpaceAfter()
        for one in flowables
    )


def _draw_down(canvas: Canvas, flowables: Sequence[Flowable], x_pt: float, top_pt: float) -> float:
    """Draw flowables that are measured, from a height down; give that of the last one's foot."""
    for one in flowables:
        top_pt -= one.getSpaceBefore() + one.height
        one.drawOn(canvas, x_pt, top_pt)
        top_pt -= one.getSpaceAfter()
    return top_pt


def gap(high_mm: float) -> Spacer:
    """Leave room."""
    return Spacer(1, high_mm * MM)


def together(*parts: Flowable) -> KeepTogether:
    """Keep flowables on one page where they fit one."""
    return KeepTogether(list(parts))


def room(high_mm: float) -> CondPageBreak:
    """Go on to the next page unless there is so much room left on this one."""
    return CondPageBreak(high_mm * MM)


def high_mm(parts: Iterable[Flowable], wide_mm: float) -> float:
    """Measure the height that flowables take one under another, at a width."""
    high_pt, below_pt = 0.0, 0.0
    flat: list[Flowable] = []
    for one in parts:
        kept = one._content if isinstance(one, KeepTogether) else [one]  # type: ignore[attr-defined] # noqa: SLF001 - its types leave it out
        flat += kept
    for one in flat:
        high_pt += max(below_pt, one.getSpaceBefore()) + one.wrap(wide_mm * MM, 1e6)[1]
        below_pt = one.getSpaceAfter()
    return (high_pt + below_pt) / MM


def side_by_side(
    parts: Sequence[Flowable | list[Flowable]], each_mm: float, gap_mm: float
) -> Table:
    """Set flowables, or lists of them, beside each other, each so wide; they stay on one page."""
    bare = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
    widths = [(each_mm + gap_mm) * MM] * (len(parts) - 1) + [each_mm * MM]
    style = [*bare, ("VALIGN", (0, 0), (-1, -1), "TOP")]
    return Table([list(parts)], colWidths=widths, hAlign="LEFT", style=style)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes:
        head: its heading, on one line or more.
        width_mm: its width.
        right: whether its texts end at its right edge, as numbers do.
    """

    head: str
    width_mm: float
    right: bool = False


def table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[str | Flowable]],
    *,
    size_pt: float = SMALLEST_PT,
    ruled: int = 5,
    foot: int = 0,
    style: Sequence[tuple[Any, ...]] = (),
    row_mm: float | None = None,
) -> Table:
    """Set a table; its headings are repeated on each page it goes on to.

    Args:
        columns: from the left.
        rows: cells, each a text on one line, cut where it has no room, or a flowable.
        size_pt: of its type.
        ruled: a thin line stands under every so many rows; 0 for none.
        foot: rows at its end in bold, as totals are.
        style: more commands of the library, rows counted from 0 at the headings.
        row_mm: height of its rows; as their type needs when left out.
    """
    listed = [list(row) for row in rows]
    cells: list[list[str | Flowable]] = [[column.head for column in columns]]
    first_foot = len(listed) - foot
    for number, row in enumerate(listed):
        bold = number >= first_foot
        cells.append(
            [
                _cell(one, column, size_pt, bold=bold)
                for one, column in zip(row, columns, strict=True)
            ]
        )
    lines = max(column.head.count("\n") for column in columns) + 1
    row_pt = size_pt * LEADING + 1.6 if row_mm is None else row_mm * MM
    heights = [size_pt * LEADING * lines + 2.4, *([row_pt] * len(listed))]
    commands: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), REGULAR, size_pt, size_pt * LEADING),
        ("FONT", (0, 0), (-1, 0), BOLD, size_pt, size_pt * LEADING),
        ("TEXTCOLOR", (0, 0), (-1, -1), INK),
        ("LEFTPADDING", (0, 0), (-1, -1), CELL_PT),
        ("RIGHTPADDING", (0, 0), (-1, -1), CELL_PT),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("LINEBELOW", (0, 0), (-1, 0), 2 * HAIR_PT, INK),
    ]
    commands += [
        ("ALIGN", (at, 0), (at, -1), "RIGHT") for at, one in enumerate(columns) if one.right
    ]
    if ruled:
        commands += [
            ("LINEBELOW", (0, at), (-1, at), HAIR_PT, RULE)
            for at in range(ruled, len(listed) + 1, ruled)
        ]
    if foot:
        commands += [
            ("FONT", (0, -foot), (-1, -1), BOLD, size_pt, size_pt * LEADING),
            ("LINEABOVE", (0, -foot), (-1, -foot), 2 * HAIR_PT, INK),
        ]
    return Table(
        cells,
        colWidths=[column.width_mm * MM for column in columns],
        rowHeights=heights,
        repeatRows=1,
        hAlign="LEFT",
        style=[*commands, *style],
    )


def _cell(text: str | Flowable, column: Column, size_pt: float, *, bold: bool) -> str | Flowable:
    """Set a cell's text on one line: cut where it has no room, in fonts that have its letters."""
    if not isinstance(text, str):
        return text
    room_pt = column.width_mm * MM - 2 * CELL_PT
    said = printed(fitted(text, room_pt, size_pt, bold=bold))
    if plainly(said):
        return said
    made = paragraph(said, size_pt, bold=bold)
    made.style.alignment = 2 if column.right else 0
    return made


class Drawn(Flowable):
    """A drawing in the flow: `draw_on(canvas, width_pt, height_pt)`, from its lower left."""

    def __init__(
        self, width_pt: float, height_pt: float, draw_on: Callable[[Canvas, float, float], None]
    ) -> None:
        super().__init__()
        self.width, self.height, self._draw_on = width_pt, height_pt, draw_on

    def wrap(self, _available_width: float, _available_height: float) -> tuple[float, float]:
        """Give the room it takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it."""
        self._draw_on(self.canv, self.width, self.height)


def lines_of(
    text: str, room_pt: float, size_pt: float = SMALLEST_PT, *, bold: bool = False
) -> list[str]:
    """Break a text into lines for a drawing, between words where that can be.

    >>> lines_of("corn and soybean", 40.0)
    ['corn and', 'soybean']
    """
    lines: list[str] = []
    line = ""
    for word in text.split():
        tried = f"{line} {word}" if line else word
        if width_pt(tried, size_pt, bold=bold) <= room_pt:
            line = tried
            continue
        if line:
            lines.append(line)
        while width_pt(word, size_pt, bold=bold) > room_pt and len(word) > 1:
            kept = max(1, len(fitted(word, room_pt, size_pt, bold=bold)) - 1)
            lines.append(word[:kept])
            word = word[kept:]  # noqa: PLW2901 - what is left of a word that fills lines
        line = word
    return [*lines, line] if line else lines


def shrunk(
    text: str, room_pt: float, from_pt: float, to_pt: float = TEXT_PT, *, bold: bool = False
) -> tuple[str, float]:
    """Fit a text to its room by smaller type, and cut it where the smallest is too large.

    Returns:
        The text, and the size of its type.
    """
    wide_pt = width_pt(text, from_pt, bold=bold)
    size_pt = from_pt if wide_pt <= room_pt else max(to_pt, from_pt * room_pt / wide_pt)
    return fitted(text, room_pt + 0.01, size_pt, bold=bold), size_pt
