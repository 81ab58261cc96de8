"""Make a sheet for each operation to be filled in by hand: when, who, which lot, what was done.

The columns of its table are those of a table typed from it: strip, piece, date, start, stop, lot,
stand count, remark.
"""

from collections.abc import Sequence
from functools import partial

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Table

from striplay.operations.standing import HEADLAND
from striplay.sheets.book import Book
from striplay.sheets.filling import Ruled, height_pt
from striplay.sheets.flow import Column, Drawn, Story, begin, gap, paragraph, shrunk, table
from striplay.sheets.fonts import write
from striplay.sheets.style import GRAY, HAIR_PT, MM, RULE, SMALLEST_PT, TEXT_PT, THIN_PT
from striplay.worksheet import Worksheet

STAND = "stand count"
RECORD = ("strip", "piece", "date", "start", "stop", "lot", STAND, "remark")
"""The columns of a record."""
WIDE_MM = (18.0, 11.0, 22.0, 17.0, 17.0, 27.0, 22.0)
"""Widths of all of these but the last, which has the rest."""
DONE_MM, BOX_PT = 10.0, 9.0
LOWEST_MM, ROW_MM = 5.6, 6.6
"""Heights of a row, as handwriting takes; lower where that spares a page."""
FIELD_MM, IN_ROW = 11.0, 4
"""Height of a field, and how many stand side by side."""
FIELDS = ("date", "start", "stop", "operator")
BY_WORK = {
    "plant": ("depth found", "soil", "meter and plate set", "units left over"),
    "spray": ("wind speed", "wind from", "temperature", "humidity", "nozzles", "pressure",
              "water carried", "product left over"),
    "spread": ("wind speed", "wind from", "spread width found", "product left over"),
    "harvest": ("moisture", "test weight", "loads", "in all"),
}  # fmt: skip
"""What is written down of each kind of work besides; of others nothing more."""


def record_story(book: Book, sheets: Sequence[Worksheet]) -> Story:
    """Make the record sheets of operations, one after the other."""
    return [part for sheet in sheets for part in _record(book, sheet)]


def _record(book: Book, sheet: Worksheet) -> Story:
    """Make the record sheet of one operation."""
    story = begin(book.say(f"Record: {sheet.name}"))
    story.append(paragraph(book.say(_planned(sheet)), TEXT_PT, below_mm=1.5))
    labels = [*FIELDS, *map(book.say, _lots(sheet)), *BY_WORK.get(sheet.judged.job.does, ())]
    rows = -(-len(labels) // IN_ROW)
    high_pt = rows * FIELD_MM * MM
    story += [Drawn(book.inner_mm * MM, high_pt, partial(_fields, labels)), gap(2)]
    for crop, how in sheet.stand_counts:
        story.append(paragraph(f"Stand count, {book.say(crop)}: {how}.", TEXT_PT, below_mm=1.0))
    room_pt = book.room_mm * MM - height_pt(story, book.inner_mm * MM)
    return [*story, _strips(book, sheet, room_pt), Ruled()]


def _planned(sheet: Worksheet) -> str:
    """Say what was planned, beside which what was done is written."""
    job = sheet.judged.job
    parts = ["Planned: " + (job.day.isoformat() if job.day else "day not known"), job.machine]
    parts += [f"{load.what} {load.rate}" for load in sheet.loads]
    return "; ".join(parts)


def _lots(sheet: Worksheet) -> list[str]:
    """Name a field for the lot of each thing that is carried."""
    return [f"lot of {load.what}" for load in sheet.loads if not load.brought_in]


def _fields(labels: Sequence[str], canvas: Canvas, wide_pt: float, high_pt: float) -> None:
    """Draw fields to fill in, each with its label."""
    each_pt, row_pt = wide_pt / IN_ROW, FIELD_MM * MM
    canvas.setLineWidth(THIN_PT)
    canvas.setStrokeColor(RULE)
    rows = -(-len(labels) // IN_ROW)
    for at in range(rows * IN_ROW):
        row, column = divmod(at, IN_ROW)
        x_pt, y_pt = column * each_pt, high_pt - (row + 1) * row_pt
        canvas.rect(x_pt, y_pt, each_pt, row_pt)
        if at < len(labels):
            said, size_pt = shrunk(labels[at], each_pt - 4, TEXT_PT, SMALLEST_PT)
            write(canvas, x_pt + 2, y_pt + row_pt - 8, said, size_pt, color=GRAY)


def _strips(book: Book, sheet: Worksheet, room_pt: float) -> Table:
    """Set the table of strips, a line a piece, with a box for what is done.

    Args:
        book: what all pages share.
        sheet: the operation.
        room_pt: height left for it on its first page.
    """
    box = Drawn(BOX_PT, BOX_PT, _box)
    # plants are counted where there is seed alone
    counted = sheet.judged.job.does == "plant"
    each = zip(RECORD, WIDE_MM, strict=False)
    widths = [(name, wide) for name, wide in each if counted or name != STAND]
    rest_mm = book.inner_mm - DONE_MM - sum(wide for _, wide in widths)
    widths.append((RECORD[-1], rest_mm))
    columns = [Column("done", DONE_MM), *(Column(name, wide) for name, wide in widths)]
    names = [(f"{strip}", f"{piece}") for strip, piece in sheet.pieces]
    if HEADLAND in sheet.strips.tolist():
        names.append((HEADLAND, ""))
    blank = [""] * (len(widths) - 2)
    rows: list[list[str | Flowable]] = [[box, *name, *blank] for name in names]
    lines = [
        ("INNERGRID", (0, 1), (-1, -1), HAIR_PT, RULE),
        ("BOX", (0, 1), (-1, -1), HAIR_PT, RULE),
    ]
    fit_mm = (room_pt / MM - ROW_MM) / len(rows)
    row_mm = fit_mm if LOWEST_MM <= fit_mm < ROW_MM else ROW_MM
    return table(columns, rows, size_pt=TEXT_PT, ruled=0, row_mm=row_mm, style=lines)


def _box(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
    canvas.setLineWidth(THIN_PT)
    canvas.rect(0, 0, wide_pt, high_pt)
