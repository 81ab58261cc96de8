"""Set the columns of a table of passes: what stands in each, and how wide each is."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from reportlab.platypus import Flowable

from striplay.accounts.loads import Load
from striplay.operations.under import PART_WAY
from striplay.sheets.book import Book
from striplay.sheets.flow import CELL_PT, Column
from striplay.sheets.fonts import BOLD, fitted, width_pt
from striplay.sheets.style import LEADING, MM, SMALLEST_PT
from striplay.units import FOOT_M, facing
from striplay.worksheet import SO_LITTLE, Worksheet

Cells = list[str | Flowable]
"""The cells of a row; one alone runs over all columns."""
BOX_PT = 9.0
"""A box to tick."""
STRIPS, ON, FILL, FIRST_LOAD = 1, 4, 5, 10
"""Places of columns."""
SO_FAR = "\nso far"
"""Heading of a running total."""


def columns_of(book: Book, sheet: Worksheet, loads: Sequence[Load], size_pt: float) -> list[Column]:
    """Give the columns, each as wide as its texts; room that is left is shared out."""
    foot = "ft" if sheet.units == "us" else "m"
    fill = "\nunload" if sheet.judged.job.does == "harvest" else "fill\nbefore"
    counted = sheet.fills or on_the_go(sheet).any()
    fill = fill if counted else ""  # no column where fills are not counted
    heads = [
        ("\npass", True), ("strip\n/piece", False), ("\nheading", True),
        (f"length\n{foot}", True), (f"{sheet.parts}\non", False), (fill, True),
        ("A\nlatitude", True), ("\nlongitude", True), ("B\nlatitude", True),
        ("\nlongitude", True),
    ]  # fmt: skip
    for load in loads:
        of = (load.crop or load.what) if len(loads) > 1 else "used"
        of = "grain" if load.brought_in and len(loads) == 1 else of
        heads += [(f"{of}\n{load.measure.short}", True), (SO_FAR, True)]
    last = len(sheet) - 1
    rows = [
        *(cells_of(sheet, index, loads) for index in range(len(sheet))),
        totals_of(sheet, loads),
    ]
    rows.append(so_far_cells(loads, last))
    widths = [
        (widest([str(row[at]) for row in rows], size_pt) + 2 * CELL_PT) / MM + 0.1
        for at in range(len(heads))
    ]
    for at, (head, _) in enumerate(heads):
        if at < FIRST_LOAD or head == SO_FAR:  # a load's name is cut to its figures
            head_pt = widest(head.split("\n")) + 2 * CELL_PT
            widths[at] = max(widths[at], head_pt / MM + 0.1)
    strip_mm = STRIP_MM * size_pt / SMALLEST_PT
    widths[STRIPS] = min(widths[STRIPS] + (BESIDE_PT - CELL_PT) / MM, strip_mm)
    widths[FIRST_LOAD:] = [max(wide_mm, LOAD_MM) for wide_mm in widths[FIRST_LOAD:]]
    box_mm = (BOX_PT + 2 * CELL_PT) / MM
    widths[ON] = max(book.inner_mm - sum(widths) - box_mm + widths[ON], 1.0)
    spare_mm = max(widths[ON] - on_mm(sheet, size_pt), 0.0)
    widths[ON] -= spare_mm  # a row is read across more easily without a gap in its middle
    for at in range(FIRST_LOAD, len(heads)):
        head_mm = (widest(heads[at][0].split("\n")) + 2 * CELL_PT) / MM + 0.1
        more_mm = min(max(head_mm - widths[at], 0.0), spare_mm)
        widths[at], spare_mm = widths[at] + more_mm, spare_mm - more_mm
    widths = [wide_mm + spare_mm / len(widths) for wide_mm in widths]
    columns = [
        Column(head_cut(head, wide_mm), wide_mm, right)
        for (head, right), wide_mm in zip(heads, widths, strict=True)
    ]
    return [*columns, Column("", box_mm, right=True)]


def on_mm(sheet: Worksheet, size_pt: float) -> float:
    """Give how wide what is on is, where it is not told below its pass."""
    beside = ["below", *(_on(sheet, at) for at in range(len(sheet))
                         if PART_WAY not in sheet.rows_on[at])]  # fmt: skip
    wide_pt = max(widest([sheet.parts]), widest(beside, size_pt))
    return (wide_pt + BESIDE_PT + CELL_PT) / MM + 0.1


HEADS = (("FONT", (0, 0), (-1, 0), BOLD, SMALLEST_PT, SMALLEST_PT * LEADING),)
"""Headings are in the smallest type, which leaves the figures room for a larger one."""
BESIDE_PT = 6.0
"""Room before texts that stand beside a column of numbers."""
STRIP_MM, LOAD_MM = 18.0, 11.0
"""The most that strips have in the smallest type, and the least that a load has."""


def widest(texts: Sequence[str], size_pt: float = SMALLEST_PT) -> float:
    """Give how wide the widest of some texts is."""
    return max(width_pt(one, size_pt, bold=True) for one in dict.fromkeys(texts))


def head_cut(head: str, wide_mm: float) -> str:
    """Cut the lines of a heading that have no room: a crop's name may be of any length."""
    room_pt = wide_mm * MM - 2 * CELL_PT
    return "\n".join(fitted(line, room_pt, SMALLEST_PT, bold=True) for line in head.split("\n"))


def cells_of(sheet: Worksheet, index: int, loads: Sequence[Load]) -> Cells:
    """Write a pass."""
    long = sheet.length_m[index] / (FOOT_M if sheet.units == "us" else 1.0)
    (a_lon, a_lat), (b_lon, b_lat) = sheet.a_lonlat[index], sheet.b_lonlat[index]
    cells: Cells = [
        f"{sheet.number[index]}", sheet.strips[index], facing(sheet.heading_deg[index]),
        f"{long:,.0f}", _on(sheet, index), filled(sheet, index),
        f"{a_lat:.7f}", f"{a_lon:.7f}", f"{b_lat:.7f}", f"{b_lon:.7f}",
    ]  # fmt: skip
    for load in loads:
        cells += [load.used_words(load.used[index]), load.total_words(load.running[index])]
    return cells


def on_the_go(sheet: Worksheet) -> npt.NDArray[np.bool_]:
    """Tell on which passes grain goes into a cart as it comes in, (n,)."""
    fills = sheet.judged.fills
    return np.zeros(len(sheet), dtype=bool) if fills is None else fills.on_the_go


def filled(sheet: Worksheet, index: int) -> str:
    """Say in a cell what is filled or unloaded before a pass, or that it is on the go."""
    before = fill_before(sheet, index)
    harvest = sheet.judged.job.does == "harvest"
    said = [f"{before} before" if before and harvest else before]
    said += ["on the go"] if on_the_go(sheet)[index] else []
    return ", ".join(filter(None, said))


def fill_before(sheet: Worksheet, index: int) -> str:
    """Say what is filled or unloaded before a pass, where that is one thing."""
    due = [fill for fill in sheet.fills if fill.of == index and not fill.on_pass]
    amounts = [amount for fill in due for amount in fill.amounts]
    alone = len(amounts) == 1 and SO_LITTLE not in amounts[0]
    return amounts[0].partition(" of ")[0] if alone else ""


def _on(sheet: Worksheet, index: int) -> str:
    """Say what is on, without the word for it that all passes have."""
    name = str(sheet.rows_on[index]).replace(" on", "", 1).removesuffix(", over the headland")
    for part in PARTS:
        name = name.replace(f"{part}s ", "").replace(f"{part} ", "").removesuffix(f" {part}s")
        name = name.replace(f" {part}s,", ",")
    return name


PARTS = ("unit", "row", "section", "opener")


def totals_of(sheet: Worksheet, loads: Sequence[Load]) -> Cells:
    """Write what all passes come to."""
    long = float(sheet.length_m.sum()) / (FOOT_M if sheet.units == "us" else 1.0)
    cells: Cells = ["", "total", "", f"{long:,.0f}", *[""] * (FIRST_LOAD - 4)]
    for load in loads:
        cells += [load.total_words(load.total), ""]
    return cells


def so_far_cells(loads: Sequence[Load], index: int) -> Cells:
    """Write what all passes up to one come to, to be carried over to the next page."""
    cells: Cells = [""] * FIRST_LOAD
    for load in loads:
        cells += ["", load.total_words(float(load.running[index]))]
    return cells
