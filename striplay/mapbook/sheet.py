"""Draw on sheets of paper, in millimeters from the lower left corner."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from striplay.mapbook.style import (
    MARGIN_MM,
    PAPERS_MM,
    POINT_MM,
    SMALLEST_PT,
    TEXT_PT,
    TITLE_PT,
    Fill,
)
from striplay.mapbook.text import Line, Lines, fitted, text_width_mm

if TYPE_CHECKING:
    from striplay.flow import Layout

MM_PER_INCH = 72 * POINT_MM
HEAD_MM, FOOT_MM = 28.0, 13.0
"""Kept free at a sheet's top for its title, and at its bottom."""


@dataclass(frozen=True, slots=True)
class Place:
    """A rectangle on paper, from the lower left corner of the sheet."""

    left_mm: float
    bottom_mm: float
    width_mm: float
    height_mm: float

    @property
    def right_mm(self) -> float:
        """Its right edge."""
        return self.left_mm + self.width_mm

    @property
    def top_mm(self) -> float:
        """Its upper edge."""
        return self.bottom_mm + self.height_mm


class Sheet:
    """A sheet: a figure, and axes over the whole of it, in millimeters."""

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self.figure = Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH))
        self.paper = self.axes(Place(0.0, 0.0, width_mm, height_mm))
        self.paper.set_xlim(0, width_mm)
        self.paper.set_ylim(0, height_mm)
        self.paper.axis("off")
        self.paper.set_zorder(2)
        self.paper.patch.set_alpha(0)

    @property
    def top_mm(self) -> float:
        """Where its title ends."""
        return self.height_mm - HEAD_MM

    def axes(self, place: Place) -> Axes:
        """Add axes at a place."""
        return self.figure.add_axes(
            (
                place.left_mm / self.width_mm,
                place.bottom_mm / self.height_mm,
                place.width_mm / self.width_mm,
                place.height_mm / self.height_mm,
            )
        )

    def text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float = TEXT_PT,
        **how: Any,  # noqa: ANN401 - matplotlib's own
    ) -> None:
        """Write text with its baseline at a place; dollar signs are plain text."""
        self.paper.text(x_mm, y_mm, text, fontsize=size_pt, parse_math=False, **how)

    def write(self, lines: Iterable[Line], top_mm: float, left_mm: float = MARGIN_MM) -> float:
        """Write lines one under another; give the height of the last one's foot."""
        y_mm = top_mm
        for line in lines:
            y_mm -= line.high_mm
            if line.fill is not None:
                self._sample(line.fill, left_mm, y_mm - 0.5)
            for cell in line.cells:
                self.text(
                    left_mm + cell.x_mm, y_mm, cell.text, line.size_pt,
                    weight="bold" if line.bold else "normal",
                    ha="right" if cell.right else "left",
                )  # fmt: skip
            if line.ruled:
                ends_mm = (MARGIN_MM, self.width_mm - MARGIN_MM)
                self.paper.plot(ends_mm, [y_mm - 1.2] * 2, color="#888888", linewidth=0.4)
        return y_mm

    def _sample(self, fill: Fill, left_mm: float, bottom_mm: float) -> None:
        self.paper.add_patch(
            Rectangle((left_mm, bottom_mm), 7.5, 3.0, linewidth=fill.edge_pt, facecolor=fill.color,
                      edgecolor="#333333", hatch=fill.hatch or None)
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Paper:
    """What the sheets of a book share: their size, title and foot."""

    width_mm: float
    height_mm: float
    title: str
    foot: str

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def room_mm(self) -> float:
        """Height there is for lines."""
        return self.height_mm - HEAD_MM - FOOT_MM - 8.0

    def sheet(self, what: str, part: str = "") -> Sheet:
        """Begin a sheet that shows `what`, or a part of it; what is too long is cut."""
        sheet = Sheet(self.width_mm, self.height_mm)
        title = fitted(self.title, self.inner_mm, TITLE_PT, bold=True)
        sheet.text(MARGIN_MM, self.height_mm - 17, title, TITLE_PT, weight="bold")
        shown = fitted(what, self.inner_mm - text_width_mm(part, TEXT_PT + 1), TEXT_PT + 1)
        sheet.text(MARGIN_MM, self.height_mm - 23, f"{shown}{part}", TEXT_PT + 1)
        sheet.text(MARGIN_MM, 7, self.foot, SMALLEST_PT)
        return sheet

    def sheets(self, what: str, parts: Sequence[Lines]) -> Iterator[Sheet]:
        """Write lines, each part of them on a sheet of its own."""
        for number, lines in enumerate(parts, start=1):
            part = f", part {number} of {len(parts)}" if len(parts) > 1 else ""
            sheet = self.sheet(what, part)
            sheet.write(lines, sheet.top_mm)
            yield sheet


def paper_of(layout: "Layout", size: str, printed: date | None) -> Paper:
    """Give a layout's paper: "letter" or "a4", with the day it is printed, if any."""
    said = f"printed {printed.isoformat()}; " if printed else ""
    foot = f"{said}WGS 84, local plane, true north at the field's center; not a legal survey"
    return Paper(*PAPERS_MM[size], layout.plan.title, foot)
