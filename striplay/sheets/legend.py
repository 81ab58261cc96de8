"""Set lists of words and signs beside a map: what its fills and signs mean, how much there is."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from striplay.accounts.told import told_areas
from striplay.looks import HEADLAND, LEFTOVER, OBSTACLE, Fill
from striplay.report import rows_run
from striplay.section.section import Layer, placed_words
from striplay.sheets.book import Book
from striplay.sheets.flow import lines_of, shrunk
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.ground import draw_flag, draw_gate
from striplay.sheets.land import gate_m, headland_lines
from striplay.sheets.paint import draw_lines, swatch
from striplay.sheets.style import GRAY, HEADING_PT, INK, SMALLEST_PT, TEXT_PT
from striplay.units import format_area

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

ROW_PT, SMALL_ROW_PT = 9.6, 8.5
"""From line to line of the legend, and of what is only words."""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the legend or of words.

    Attributes:
        text: what it says.
        right: what stands at its right end.
        fill: of its sample; None for none.
        letter: on the sample.
        sign: draws a sign in the sample's place, about a middle.
        bold: whether it is bold.
        high_pt: its height.
    """

    text: str
    right: str = ""
    fill: Fill | None = None
    letter: str = ""
    sign: Callable[[Canvas, float, float], None] | None = None
    bold: bool = False
    high_pt: float = ROW_PT

    @property
    def indent_pt(self) -> float:
        """How far its words stand in."""
        return SAMPLE_PT + 4 if self.fill is not None or self.sign is not None else 0.0


SAMPLE_PT = 20.0


def words(text: str, wide_pt: float, *, bold: bool = False, most: int = 99) -> list[Row]:
    """Set a text in rows, cut after so many."""
    lines = lines_of(text, wide_pt, SMALLEST_PT, bold=bold)
    if len(lines) > most:
        rest = " ".join(lines[most - 1 :])
        lines = [*lines[: most - 1], fitted(rest, wide_pt, SMALLEST_PT, bold=bold)]
    return [Row(line, bold=bold, high_pt=SMALL_ROW_PT) for line in lines]


def whole_rows(texts: Sequence[str], wide_pt: float, most: int) -> tuple[list[Row], int]:
    """Set texts in rows, each whole or not at all: half a warning can be worse than none.

    Args:
        texts: the texts, the gravest first.
        wide_pt: how wide the rows are.
        most: so many rows at most.

    Returns:
        The rows, and how many texts have no room.
    """
    rows: list[Row] = []
    left = 0
    for text in texts:
        own = words(text, wide_pt)
        if len(rows) + len(own) > most:
            left += 1
        else:
            rows += own
    return rows, left


def heading_row(text: str) -> Row:
    """Head a column."""
    return Row(text, bold=True, high_pt=HEADING_PT + 1)


def high_of(rows: Sequence[Row]) -> float:
    """Add up the heights of rows."""
    return sum(row.high_pt for row in rows)


def write_rows(
    canvas: Canvas, x_pt: float, top_pt: float, wide_pt: float, rows: Sequence[Row]
) -> float:
    """Write rows down from a top; give where they end."""
    for row in rows:
        top_pt -= row.high_pt
        foot = top_pt + 2.4
        if row.fill is not None:
            swatch(canvas, x_pt, top_pt + 0.6, SAMPLE_PT, row.high_pt - 1.4, row.fill, row.letter)
        if row.sign is not None:
            row.sign(canvas, x_pt + SAMPLE_PT / 2, top_pt + row.high_pt / 2)
        size_pt = TEXT_PT if row.high_pt > ROW_PT else SMALLEST_PT
        room = wide_pt - row.indent_pt
        if row.right:
            room -= (
                write(canvas, x_pt + wide_pt, foot, row.right, size_pt, bold=row.bold, align=1) + 4
            )
        said, size_pt = shrunk(row.text, room, size_pt, SMALLEST_PT, bold=row.bold)
        write(canvas, x_pt + row.indent_pt, foot, said, size_pt, bold=row.bold)
    return top_pt


def land_rows(layout: "Layout", book: Book, wide_pt: float = math.inf) -> list[Row]:
    """List where the field's ground goes, in acres or hectares that add up to the field.

    Args:
        layout: the field laid.
        book: how crops are shown.
        wide_pt: how wide the rows are.
    """
    told = told_areas(layout.plan, layout.accounts)
    areas, land = told.crops_m2, told.land_m2
    listed = [
        (look.fill, look.letter, name, areas[name])
        for name, look in book.looks.items()
        if name in areas
    ]
    crop = layout.plan.headland_crop
    planted = crop is not None and len(headland_lines(layout))
    name = f"headland, {crop}" if planted else "headland, not planted"
    listed += [
        (HEADLAND, "", name, land["headland"]),
        (OBSTACLE, "", "obstacles", land["obstacles"]),
        (LEFTOVER, "", "left over", land["leftover"]),
    ]
    shown = [one for one in listed if one[3] > 0.0]
    units = layout.plan.units
    rows = [Row(name, format_area(area_m2, units), fill, letter)
            for fill, letter, name, area_m2 in shown]  # fmt: skip
    placed = placed_words(layout.section.layers)
    after = {name: format_area(area_m2, units) for name, area_m2 in told.after_m2.items()}
    shared: list[Row] = []
    for layer in layout.section.layers:
        if layer.number and layer.label in book.looks:
            look = book.looks[layer.label]
            row = Row(f"{layer.label}, {_where(layer, placed)}", "", look.fill, look.letter)
            area = after.get(layer.crop, "") if layer.follows else ""
            shared += _with_area(row, area, wide_pt)
    # what shares its ground with others stands under the sum that it adds nothing to
    field = Row("field", format_area(layout.ground.outline.area, units), sign=_edge, bold=True)
    return [*rows, field, *dict.fromkeys(shared)]


def _with_area(row: Row, area: str, wide_pt: float) -> list[Row]:
    """Put an area at a row's right end, or under it where both have no room."""
    needs_pt = row.indent_pt + width_pt(row.text, SMALLEST_PT) + 4 + width_pt(area, SMALLEST_PT)
    if not area or needs_pt <= wide_pt:
        return [replace(row, right=area)]
    return [row, Row("its ground", area, sign=_no_sign, high_pt=SMALL_ROW_PT)]


def _no_sign(_canvas: Canvas, _x: float, _y: float) -> None:
    """Leave the sample's place empty."""


def _where(layer: Layer, placed: Mapping[str, str]) -> str:
    """Say where a crop stands that has no strips of its own."""
    return placed[layer.label] if layer.follows else f"between rows of {layer.host}"


def _edge(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y - 0.6), (x + half, y - 0.6)]]), 1.1, INK)


def _gate_sign(canvas: Canvas, x: float, y: float) -> None:
    draw_gate(canvas, np.array([x, y]), "")


def _flag_sign(canvas: Canvas, x: float, y: float) -> None:
    draw_flag(canvas, np.array([x - 2, y - 3.5]), 7.0)


def _round_sign(canvas: Canvas, x: float, y: float) -> None:
    half = SAMPLE_PT / 2
    draw_lines(canvas, np.array([[(x - half, y), (x + half, y)]]), 0.4, GRAY, (4.0, 2.0))


def sign_rows(layout: "Layout", book: Book, wide_pt: float) -> list[Row]:
    """List the signs on the map, how rows run and how strips are numbered."""
    plan, rows = layout.plan, []
    side = (
        "" if plan.direction.pivot else f"; strip 1 on the {plan.direction.start}, looking that way"
    )
    rows += words(
        f"Rows: {rows_run(plan, layout.accounts['field'], typed=False)}{side}.", wide_pt, most=4
    )
    strip = int(layout.strips["strip"].iloc[0])
    crop = str(layout.strips["crop"].iloc[0])
    told = f"{strip} {book.looks[crop].letter}: strip {strip}, {crop}"
    parted = layout.strips["strip"][layout.strips["piece"] == 2]  # noqa: PLR2004 - the second
    if len(parted):
        told += f"; {parted.iloc[0]}.2: second piece of strip {parted.iloc[0]}"
    rows += words(told + ".", wide_pt, most=2)
    if len(headland_lines(layout)):
        rows.append(Row("pass round the headland", sign=_round_sign))
    rows.append(Row("first planting pass starts", sign=_flag_sign))
    if gate_m(layout) is not None:
        rows.append(Row("gate", sign=_gate_sign))
    return rows
