"""Print fills in gray and measure how different they look."""

import io
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import Fill
from striplay.sheets.paint import fill_shape

Levels = npt.NDArray[np.float64]

SIDE_PT, DPI = 36.0, 150
"""A dot of the gray pictures is 0.17 mm, about what an eye makes out at arm's length."""
LEAST_LEVELS = 25.0
"""Least difference of two crops' fills in gray, of 255 levels: a tenth, seen side by side; the same
fill elsewhere on the page comes to less than a twentieth of that."""


def pictures(fills: Sequence[Fill]) -> list[Levels]:
    """Print fills in gray, one above the other; give the levels of each."""
    paper = io.BytesIO()
    canvas = Canvas(paper, pagesize=(SIDE_PT, SIDE_PT * len(fills)))
    for at, fill in enumerate(fills):
        box = shapely.box(0, at * SIDE_PT, SIDE_PT, (at + 1) * SIDE_PT)
        fill_shape(canvas, box, fill, edge_pt=0)
    canvas.showPage()
    canvas.save()
    with pdfium.PdfDocument(paper.getvalue()) as document:
        dots = document[0].render(scale=DPI / 72, grayscale=True).to_numpy()
    dots = dots.reshape(dots.shape[:2]).astype(float)[::-1]
    side = int(SIDE_PT * DPI / 72)
    return [dots[at * side + 2 : (at + 1) * side - 2, 2 : side - 2] for at in range(len(fills))]


def levels_apart(one: Levels, other: Levels) -> float:
    """Measure how different two pictures are wherever their lines happen to fall.

    The root mean square of what their spectra differ by, phases left out: the mean level and how
    strong the lines are of each distance and direction (Parseval's theorem gives the scale).
    """
    strong = [np.abs(np.fft.fft2(each)) / each.size for each in (one, other)]
    return float(np.sqrt(((strong[0] - strong[1]) ** 2).sum()))
