"""Draw a section on a page of the book."""

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from striplay.sheets.fonts import write
from striplay.sheets.paint import FILL_NON_ZERO, arrow_heads, draw_lines, hatch_in
from striplay.sheets.section_pen import BLACK, HALF_HIGH, SOFT_INK, Hatch, Mark, Place, Points
from striplay.sheets.section_picture import Picture, draw_section
from striplay.sheets.style import MM, SMALLEST_PT

HATCHES = {"wide": 1.5, "close": 1.1}
"""How far apart the lines of a hatch are, in points."""
TRIANGLE = np.array([(0.0, 0.5), (-0.5, -0.5), (0.5, -0.5)])
SHAPES = {
    "up": TRIANGLE,
    "down": -TRIANGLE,
    "left": TRIANGLE[:, ::-1] * (-1, 1),
    "right": TRIANGLE[:, ::-1],
    "diamond": np.array([(0.0, 0.7), (0.7, 0.0), (0.0, -0.7), (-0.7, 0.0)]),
    "square": np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]),
}
"""Marks that are one polygon, about their middle, in sizes of them."""


class PagePen:
    """Draws on a page; meters from a place on it are points."""

    def __init__(self, canvas: Canvas, left_pt: float, ground_pt: float, pt: float) -> None:
        """Take a page, where the set's first edge meets the ground on it, and points to a meter."""
        self.canvas = canvas
        self._foot = np.array([left_pt, ground_pt])
        self._pt = pt

    def _on_page(self, points: Sequence[Place] | Points) -> Points:
        return self._foot + self._pt * np.asarray(points, dtype=np.float64)

    def line(
        self,
        points: Sequence[Place],
        wide_pt: float,
        color: str = SOFT_INK,
        dash_pt: tuple[float, ...] = (),
    ) -> None:
        """Draw a line."""
        dash = tuple(one * wide_pt for one in dash_pt)
        draw_lines(self.canvas, shapely.linestrings(self._on_page(points)), wide_pt, color, dash)

    def area(
        self,
        rings: Sequence[Points],
        color: str,
        edge_pt: float = 0.0,
        edge: str = SOFT_INK,
        *,
        hatch: Hatch = "",
        name: str = "",  # noqa: ARG002 - pages have no names
    ) -> None:
        """Fill rings as one shape."""
        canvas = self.canvas
        path = _path(self._on_page(ring) for ring in rings)
        canvas.setFillColor(color)
        canvas.setStrokeColor(edge)
        canvas.setLineWidth(edge_pt)
        canvas.setLineJoin(1)  # the tips of leaves are sharp
        canvas.drawPath(path, stroke=int(edge_pt > 0), fill=1, fillMode=FILL_NON_ZERO)
        if hatch:
            bounds = np.concatenate([f(self._on_page(np.vstack(rings)), axis=0)
                                     for f in (np.min, np.max)])  # fmt: skip
            canvas.saveState()
            canvas.clipPath(path, stroke=0, fill=0, fillMode=FILL_NON_ZERO)
            canvas.setStrokeColor(SOFT_INK)
            hatch_in(canvas, bounds, 45.0, HATCHES[hatch], 0.35, None)
            canvas.restoreState()

    def text(
        self, x_m: float, y_m: float, said: str, align: float = 0.0, *, amid: bool = False
    ) -> None:
        """Write the smallest type."""
        x_pt, y_pt = self._on_page([(x_m, y_m)])[0]
        write(self.canvas, x_pt, y_pt - (HALF_HIGH * SMALLEST_PT if amid else 0.0), said,
              SMALLEST_PT, align=align)  # fmt: skip

    def mark(self, x_m: Sequence[float], y_m: float, mark: Mark, size_pt: float) -> None:
        """Draw a mark at each x."""
        canvas, places = self.canvas, self._on_page([(x, y_m) for x in x_m])
        canvas.setFillColor("#ffffff" if mark == "ring" else BLACK)
        if mark in SHAPES:
            path = _path(place + size_pt * SHAPES[mark] for place in places)
            canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_NON_ZERO)
        elif mark == "cross":
            arms = size_pt / 2 * np.array([[(-1, -1), (1, 1)], [(-1, 1), (1, -1)]])
            draw_lines(canvas, np.concatenate([place + arms for place in places]), 0.9, BLACK)
        else:
            canvas.setStrokeColor(SOFT_INK)
            canvas.setLineWidth(0.5)
            for x_pt, y_pt in places.tolist():
                canvas.circle(x_pt, y_pt, size_pt / 2, stroke=int(mark == "ring"), fill=1)

    def span(self, low_m: float, high_m: float, y_m: float, head_pt: float) -> None:
        """Draw a line with a head at either end."""
        ends = self._on_page([(low_m, y_m), (high_m, y_m)])
        draw_lines(self.canvas, ends[None], 0.7, BLACK)
        toward = np.array([(-1.0, 0.0), (1.0, 0.0)])
        arrow_heads(self.canvas, ends, toward, 0.8 * head_pt)


def _path(rings: Iterable[Points]) -> PDFPathObject:
    """Join rings into one path; overlapping ones are wound alike."""
    written = []
    for ring in rings:
        points = [f"{x:.2f} {y:.2f}" for x, y in ring.tolist()]
        written.append(f"{points[0]} m {' l '.join(points[1:])} l h")
    return PDFPathObject([" ".join(written)])


def draw_on_page(canvas: Canvas, picture: Picture) -> None:
    """Draw a picture of a section on a page, from its lower left."""
    pt = MM / picture.mm
    (left_m, _), (bottom_m, _) = picture.across_m, picture.up_m
    draw_section(PagePen(canvas, -left_m * pt, -bottom_m * pt, pt), picture)
