"""Fill pages: measure what stands on one, and rule what is left of it to write on."""

from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from striplay.sheets.fonts import write
from striplay.sheets.style import HAIR_PT, HEADING_PT, MM, RULE

LINE_MM = 8.0
"""From line to line, as handwriting takes."""
LEAST_MM = 22.0
"""Less room than this is left empty."""


class Ruled(Flowable):
    """Lines to write notes on, down to the foot of the page."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Take what room there is left."""
        some = available_height >= LEAST_MM * MM
        self.width, self.height = available_width, available_height - 1.0 if some else 0.0
        return self.width, self.height

    def draw(self) -> None:
        """Rule the lines under a heading."""
        if self.height:
            draw_ruled(self.canv, self.width, self.height)


def draw_ruled(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
    """Rule lines to write notes on, from a height down to the foot, under a heading."""
    y_pt = high_pt - HEADING_PT - 3 * MM
    write(canvas, 0, y_pt, "Notes", HEADING_PT, bold=True)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(HAIR_PT)
    y_pt -= LINE_MM * MM
    while y_pt >= 0:
        canvas.line(0, y_pt, wide_pt, y_pt)
        y_pt -= LINE_MM * MM


def height_pt(parts: Sequence[Flowable], wide_pt: float) -> float:
    """Give how high flowables are one under the other."""
    before_pt, whole_pt = 0.0, 0.0
    for part in parts:
        whole_pt += part.wrap(wide_pt, 1e6)[1]
        whole_pt += max(part.getSpaceBefore() - before_pt, 0.0) + part.getSpaceAfter()
        before_pt = part.getSpaceAfter()
    return whole_pt
