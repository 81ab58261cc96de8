"""Fit text to its room: cut, broken into lines, spread along a line, flowed down sheets."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from striplay.mapbook.fonts import printed
from striplay.mapbook.style import LINE_MM, POINT_MM, RC, SMALLEST_PT, TEXT_PT, Fill

MEASURED = 256
"""Letters of a text that is measured whole; of a longer one, only what may have room."""
SURE_SHARE, SURE_MM = 0.01, 0.3
"""Words apart and a line of them differ by less: by kerning at the spaces between."""


@cache
def text_width_mm(text: str, size_pt: float = SMALLEST_PT, *, bold: bool = False) -> float:
    """Measure a line of the sheets' type."""
    font = _font(size_pt, bold=bold)
    width_pt, _, _ = text_to_path.get_text_width_height_descent(printed(text), font, ismath=False)
    return float(width_pt) * POINT_MM


@cache
def _font(size_pt: float, *, bold: bool) -> FontProperties:
    weight = "bold" if bold else "normal"
    return FontProperties(family=RC["font.family"], size=size_pt, weight=weight)


def wrapped(
    text: str, room_mm: float, size_pt: float = SMALLEST_PT, *, bold: bool = False
) -> list[str]:
    """Break a text into lines that fit; two spaces stay two, and too long a word is broken.

    A line is taken to be as wide as its words and the spaces between, and measured itself only
    where that leaves doubt.
    """
    space_mm = text_width_mm(" ", size_pt, bold=bold)
    lines: list[str] = []
    wide_mm = 0.0
    for word in text.split(" ") if text else ():
        pieces = _broken(word, room_mm, size_pt, bold=bold)
        first_mm = text_width_mm(pieces[0], size_pt, bold=bold)
        if lines and len(pieces) == 1:
            longer, about_mm = f"{lines[-1]} {word}", wide_mm + space_mm + first_mm
            doubt_mm = SURE_SHARE * about_mm + SURE_MM
            if about_mm + doubt_mm <= room_mm or (
                about_mm - doubt_mm <= room_mm and _fits(longer, room_mm, size_pt, bold=bold)
            ):
                lines[-1], wide_mm = longer, about_mm
                continue
        lines += pieces
        wide_mm = text_width_mm(pieces[-1], size_pt, bold=bold)
    return lines


def _broken(word: str, room_mm: float, size_pt: float, *, bold: bool) -> list[str]:
    """Break a word that is wider than its room."""
    pieces = []
    while (count := max(1, _most(word, room_mm, size_pt, bold=bold))) < len(word):
        pieces.append(word[:count])
        word = word[count:]
    return [*pieces, word]


def fitted(text: str, room_mm: float, size_pt: float = TEXT_PT, *, bold: bool = False) -> str:
    """Give a text as it is where there is room for it, else its beginning with dots."""
    if _most(text, room_mm, size_pt, bold=bold) == len(text):
        return text
    return f"{text[: _most(text, room_mm, size_pt, bold=bold, after='…')]}…"


def _fits(text: str, room_mm: float, size_pt: float, *, bold: bool) -> bool:
    return text_width_mm(text, size_pt, bold=bold) <= room_mm


def _most(text: str, room_mm: float, size_pt: float, *, bold: bool, after: str = "") -> int:
    """Count the first characters of a text that have room, with `after` behind them.

    A longer beginning is wider, so doubling and then halving finds the last that fits; what is far
    too long is never measured.
    """
    if len(text) <= MEASURED and _fits(f"{text}{after}", room_mm, size_pt, bold=bold):
        return len(text)
    low, high = 0, 1
    while high < len(text) and _fits(f"{text[:high]}{after}", room_mm, size_pt, bold=bold):
        low, high = high, 2 * high
    high = min(high, len(text))
    while low < high:
        middle = (low + high + 1) // 2
        if _fits(f"{text[:middle]}{after}", room_mm, size_pt, bold=bold):
            low = middle
        else:
            high = middle - 1
    return low


def spread(wanted: Sequence[tuple[float, float]], low: float, high: float) -> list[float]:
    """Give the middles of labels along a line, moved apart by as little as squares allow.

    Args:
        wanted: where each would stand, its middle, and how wide it is; kept in the order given.
        low: where the line begins; no label begins before, if all have room.
        high: where it ends.

    >>> spread([(5.0, 4.0), (6.0, 4.0)], 0.0, 20.0)
    [3.5, 7.5]
    >>> spread([(1.0, 4.0)], 0.0, 20.0)
    [2.0]
    """
    # how far each label's middle is from the start of the first, when all stand edge to edge
    before = [
        sum(width for _, width in wanted[:index]) + wanted[index][1] / 2
        for index in range(len(wanted))
    ]
    # then labels are in order as long as their starts never fall: pool those that would
    pools: list[tuple[float, int]] = []
    for (middle, _), offset in zip(wanted, before, strict=True):
        start, count = middle - offset, 1
        while pools and pools[-1][0] > start:
            other, many = pools.pop()
            start, count = (start * count + other * many) / (count + many), count + many
        pools.append((start, count))
    latest = max(low, high - sum(width for _, width in wanted))
    starts = [min(max(start, low), latest) for start, count in pools for _ in range(count)]
    return [start + offset for start, offset in zip(starts, before, strict=True)]


@dataclass(frozen=True, slots=True)
class Cell:
    """A text of a line, from the left end of its lines to where it begins or, `right`, ends."""

    text: str
    x_mm: float = 0.0
    right: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A line as it is written.

    Attributes:
        cells: its texts.
        high_mm: from the line before it.
        size_pt: of its type.
        bold: whether it is a heading.
        fill: of the sample drawn at its left end; None where there is none.
        ruled: whether a thin line stands under it, across the sheet.
    """

    cells: tuple[Cell, ...]
    high_mm: float = LINE_MM
    size_pt: float = TEXT_PT
    bold: bool = False
    fill: Fill | None = None
    ruled: bool = False

    @property
    def text(self) -> str:
        """Its first text."""
        return self.cells[0].text


Lines = list[Line]
"""Lines that follow each other; as blocks of a flow, they stay on one sheet."""


def paragraphs(
    room_mm: float,
    *texts: str,
    size_pt: float = SMALLEST_PT,
    line_mm: float = LINE_MM,
    above_mm: float = 0.0,
    hang_mm: float = 0.0,
    bold: bool = False,
) -> Lines:
    """Break texts into lines, each text on a line of its own.

    Args:
        room_mm: width there is for them.
        texts: their words; an empty one takes no line.
        size_pt: of their type.
        line_mm: from line to line.
        above_mm: more than that above the first.
        hang_mm: how far all but a text's first line stand in.
        bold: whether it is a heading.
    """
    lines: Lines = []
    for text in texts:
        for number, said in enumerate(wrapped(text, room_mm - hang_mm, size_pt, bold=bold)):
            high_mm = line_mm if lines else line_mm + above_mm
            lines.append(Line((Cell(said, hang_mm if number else 0.0),), high_mm, size_pt, bold))
    return lines


@dataclass(frozen=True, slots=True)
class Table:
    """A table's words.

    Attributes:
        title: what stands over it.
        columns: heading and right edge of each, from the left; the first is flush left.
        rows: their cells.
    """

    title: str
    columns: list[tuple[str, float]]
    rows: list[list[str]]


ROW_MM = 4.1
NUMBER_MM = 14.0
"""Room kept for the numbers of a table's second column."""
RULED = 5
"""A thin line stands under the headings and under every fifth row."""


def table_lines(table: Table, above_mm: float = 0.0) -> Lines:
    """Write a table as lines, its headings first; a name too long for its column is cut."""
    ends = [end for _, end in table.columns]
    first_mm = ends[1] - NUMBER_MM
    lines = []
    for number, (name, *others) in enumerate([[name for name, _ in table.columns], *table.rows]):
        numbers = (Cell(text, end, right=True) for text, end in zip(others, ends[1:], strict=True))
        lines.append(
            Line(
                (Cell(fitted(name, first_mm, bold=number == 0)), *numbers),
                ROW_MM if number else ROW_MM + above_mm,
                bold=number == 0,
                ruled=number % RULED == 0,
            )
        )
    return lines


def height_mm(lines: Iterable[Line]) -> float:
    """Give the room that lines take, to the last one's foot."""
    return sum(line.high_mm for line in lines)


def flowed(blocks: Iterable[Lines], room_mm: float, head: Sequence[Line] = ()) -> list[Lines]:
    """Set blocks on sheets, one after another; `head` is written again on each."""
    sheets: list[Lines] = [list(head)]
    for block in blocks:
        if len(sheets[-1]) > len(head) and height_mm([*sheets[-1], *block]) > room_mm:
            sheets.append(list(head))
        sheets[-1] += block
    return sheets


def cut(lines: Lines, room_mm: float, more: str) -> Lines:
    """Give the lines there is room for; if that is not all, the last says `more`."""
    kept = lines
    while kept and height_mm(kept) > room_mm:
        kept = kept[:-1]
    if kept and len(kept) < len(lines):
        kept[-1] = replace(kept[-1], cells=(Cell(more),))
    return kept
