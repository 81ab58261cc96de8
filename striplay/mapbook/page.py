"""Draw on one sheet of paper, in millimetres from its lower left corner."""

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from striplay.mapbook.style import MARGIN_MM, SMALLEST_PT, TEXT_PT, TITLE_PT

MM_PER_INCH = 25.4


class Page:
    """A sheet: a figure with one axes over the whole paper, in millimetres."""

    def __init__(self, paper_mm: tuple[float, float], title: str, subtitle: str, foot: str) -> None:
        self.width_mm, self.height_mm = paper_mm
        self.figure = Figure(figsize=(paper_mm[0] / MM_PER_INCH, paper_mm[1] / MM_PER_INCH))
        self.paper = self.axes_mm(0, 0, self.width_mm, self.height_mm)
        self.paper.set_xlim(0, self.width_mm)
        self.paper.set_ylim(0, self.height_mm)
        self.paper.axis("off")
        self.paper.set_zorder(2)
        self.paper.patch.set_alpha(0)
        self.text(MARGIN_MM, self.height_mm - 17, title, TITLE_PT, weight="bold")
        self.text(MARGIN_MM, self.height_mm - 23, subtitle, TEXT_PT + 1)
        self.text(MARGIN_MM, 7, foot, SMALLEST_PT)

    def axes_mm(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Add axes at a place on the paper."""
        return self.figure.add_axes(
            (
                left / self.width_mm,
                bottom / self.height_mm,
                width / self.width_mm,
                height / self.height_mm,
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

    def rule(self, y_mm: float) -> None:
        """Draw a thin line across the sheet."""
        ends = (MARGIN_MM, self.width_mm - MARGIN_MM)
        self.paper.plot(ends, (y_mm, y_mm), color="#888888", linewidth=0.4)
