"""Draw shapes on a page, in points: fills with their hatches, lines and arrows."""

from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from striplay.looks import Fill, Hatch
from striplay.sheets.fonts import width_pt, write
from striplay.sheets.style import HAIR_PT, INK, SMALLEST_PT, THIN_PT

Floats = npt.NDArray[np.float64]
FILL_NON_ZERO = 1
"""The library's name for the rule by which a ring wound the other way is a hole."""

Lines = tuple[float, float, float, tuple[float, float] | None]
"""Angle in degrees, distance apart and width in points, and dash and gap; rows of dashes step."""

HATCHES: dict[Hatch, tuple[Lines, ...]] = {
    "": (),
    "rising": ((45.0, 3.0, 0.35, None),),
    "falling": ((135.0, 3.0, 0.35, None),),
    "across": ((0.0, 2.8, 0.35, None),),
    "upright": ((90.0, 2.8, 0.35, None),),
    "grid": ((0.0, 3.6, 0.3, None), (90.0, 3.6, 0.3, None)),
    "crossed": ((45.0, 3.6, 0.3, None), (135.0, 3.6, 0.3, None)),
    "dots": ((0.0, 1.9, 0.9, (0.0, 3.8)),),
    "wide rising": ((60.0, 5.6, 0.8, None),),
    "wide falling": ((120.0, 5.6, 0.8, None),),
    "dashes": ((0.0, 2.4, 0.5, (3.0, 2.4)),),
}
"""The lines of each hatch: close enough that a strip 3 pt wide shows its own (our choice)."""


def path_of(polygons: Any) -> PDFPathObject:  # noqa: ANN401 - a geometry or an array
    """Join polygons into one path, holes wound the other way so that they stay empty.

    Args:
        polygons: a geometry, or an array of them, in points; what is no polygon is left out.
    """
    parts = shapely.get_parts(np.atleast_1d(np.asarray(polygons, dtype=object)))
    parts = shapely.get_parts(parts)  # of collections
    parts = parts[(shapely.get_dimensions(parts) == 2) & ~shapely.is_empty(parts)]  # noqa: PLR2004
    rings = shapely.get_rings(shapely.orient_polygons(parts))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if not len(points):
        return PDFPathObject([])
    begins = np.append(True, ring[1:] != ring[:-1])
    ends = np.append(begins[1:], True)
    operator = np.where(begins, "%.2f %.2f m ", np.where(ends, "h\n", "%.2f %.2f l "))
    written = points[~ends]  # a ring's last point is its first
    return PDFPathObject([("".join(operator.tolist()) % tuple(written.ravel().tolist())).strip()])


def lines_path(lines: Any) -> PDFPathObject:  # noqa: ANN401 - a geometry or an array
    """Join lines into one path.

    Args:
        lines: a geometry, or an array of them, in points; or segments, (n, 2, 2).
    """
    segments = np.asarray(lines)
    if segments.dtype == object or segments.ndim != 3:  # noqa: PLR2004
        parts = shapely.get_parts(np.atleast_1d(np.asarray(lines, dtype=object)))
        points, line = shapely.get_coordinates(parts, return_index=True)
    else:
        points, line = segments.reshape(-1, 2), np.repeat(np.arange(len(segments)), 2)
    if not len(points):
        return PDFPathObject([])
    begins = np.append(True, line[1:] != line[:-1])
    operator = np.where(begins, "%.2f %.2f m ", "%.2f %.2f l ")
    return PDFPathObject([("".join(operator.tolist()) % tuple(points.ravel().tolist())).strip()])


def fill_shape(
    canvas: Canvas,
    polygons: Any,  # noqa: ANN401 - a geometry or an array
    fill: Fill,
    edge_pt: float = HAIR_PT,
    edge: str | None = None,
) -> None:
    """Fill polygons, with the lines of the fill's hatch clipped to them, and draw their edges.

    Hatches are in step all over a page, so that pieces of one crop look alike.

    Args:
        canvas: the page.
        polygons: a geometry, or an array of them, in points.
        fill: their fill.
        edge_pt: width of the line round each; 0 for none.
        edge: its color; that of the hatch when left out.
    """
    path = path_of(polygons)
    if not path.getCode():
        return
    canvas.saveState()
    if fill.color:
        canvas.setFillColor(fill.color)
    hatch = HATCHES[fill.hatch]
    if hatch:
        bounds = shapely.total_bounds(np.atleast_1d(np.asarray(polygons, dtype=object)))
        canvas.saveState()
        canvas.clipPath(path, stroke=0, fill=int(bool(fill.color)), fillMode=FILL_NON_ZERO)
        canvas.setStrokeColor(fill.line)
        for lines in hatch:
            hatch_in(canvas, bounds, *lines)
        canvas.restoreState()
    if edge_pt:
        canvas.setStrokeColor(edge or fill.line)
        canvas.setLineWidth(edge_pt)
        canvas.setLineJoin(1)
    within = int(bool(fill.color and not hatch))
    if within or edge_pt:  # at once: long paths make a page slow
        canvas.drawPath(path, stroke=int(bool(edge_pt)), fill=within, fillMode=FILL_NON_ZERO)
    canvas.restoreState()


def hatch_in(
    canvas: Canvas,
    bounds: Floats,
    angle_deg: float,
    apart_pt: float,
    wide_pt: float,
    dash_pt: tuple[float, float] | None,
) -> None:
    """Draw parallel lines over all of a box, in step with those of other boxes."""
    left, bottom, right, top = bounds
    corners = np.array([(left, bottom), (right, bottom), (right, top), (left, top)])
    along = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    across = np.array([-along[1], along[0]])
    off, way = corners @ across, corners @ along
    number = np.arange(np.ceil(off.min() / apart_pt), np.floor(off.max() / apart_pt) + 1)
    begin = np.full(len(number), way.min())
    if dash_pt is not None:
        period = sum(dash_pt)
        begin = period * (np.floor(way.min() / period) - 0.5 * (number % 2))
        canvas.setDash(*dash_pt)
        if not dash_pt[0]:
            canvas.setLineCap(1)
    foot = number[:, None] * apart_pt * across
    segments = np.stack([foot + begin[:, None] * along, foot + way.max() * along], axis=1)
    draw_lines(canvas, segments, wide_pt)


def draw_lines(
    canvas: Canvas,
    lines: Any,  # noqa: ANN401 - a geometry or an array
    wide_pt: float = THIN_PT,
    color: str | None = None,
    dash_pt: tuple[float, ...] = (),
) -> None:
    """Draw lines, in one path.

    Args:
        canvas: the page.
        lines: a geometry, or an array of them, in points; or segments, (n, 2, 2).
        wide_pt: how wide they are.
        color: of them; the page's own when left out.
        dash_pt: dashes and gaps; none when left out.
    """
    path = lines_path(lines)
    if not path.getCode():
        return
    if color is not None:
        canvas.setStrokeColor(color)
    canvas.setLineWidth(wide_pt)
    if dash_pt:
        canvas.setDash(list(dash_pt))
    canvas.drawPath(path, stroke=1, fill=0)
    if dash_pt:
        canvas.setDash()


def draw_dots(canvas: Canvas, places: Floats, radius_pt: float, color: str = INK) -> None:
    """Draw dots, in one path: lines next to no length long, with round ends."""
    canvas.saveState()
    canvas.setLineCap(1)
    ends = places + np.array([0.01, 0.0])
    draw_lines(canvas, np.stack([places, ends], axis=1), 2 * radius_pt, color)
    canvas.restoreState()


def swatch(
    canvas: Canvas,
    x_pt: float,
    y_pt: float,
    wide_pt: float,
    high_pt: float,
    fill: Fill,
    letter: str = "",
) -> None:
    """Draw a sample of a fill from its lower left, with the crop's letter on a white ground."""
    box = shapely.box(x_pt, y_pt, x_pt + wide_pt, y_pt + high_pt)
    fill_shape(canvas, box, fill, THIN_PT, INK)
    if letter:
        middle_pt = (x_pt + wide_pt / 2, y_pt + high_pt / 2)
        on_white(canvas, *middle_pt, letter, SMALLEST_PT, bold=True)


HIGH = 0.73
"""Height of digits and capitals of the book's font, in sizes of type."""


def on_white(
    canvas: Canvas,
    x_pt: float,
    y_pt: float,
    text: str,
    size_pt: float = SMALLEST_PT,
    *,
    bold: bool = False,
    color: str = INK,
    around_pt: float = 0.7,
) -> None:
    """Write a word on a white ground, its middle at a place."""
    wide_pt, high_pt = width_pt(text, size_pt, bold=bold), HIGH * size_pt
    canvas.setFillColor("#ffffff")
    canvas.rect(
        x_pt - wide_pt / 2 - around_pt, y_pt - high_pt / 2 - around_pt,
        wide_pt + 2 * around_pt, high_pt + 2 * around_pt, stroke=0, fill=1,
    )  # fmt: skip
    write(canvas, x_pt, y_pt - high_pt / 2, text, size_pt, bold=bold, align=0.5, color=color)


SLENDER = 0.38
"""Half a head's width, in its lengths."""


def arrow_heads(
    canvas: Canvas,
    tips: Floats,
    toward: Floats,
    size_pt: float,
    color: str = INK,
) -> None:
    """Draw heads of arrows, in one path.

    Args:
        canvas: the page.
        tips: where they end, in points, (n, 2).
        toward: which way each points, of any length but 0, (n, 2).
        size_pt: their length.
        color: of them.
    """
    if not len(tips):
        return
    along = toward / np.linalg.norm(toward, axis=1, keepdims=True)
    across = np.column_stack([-along[:, 1], along[:, 0]]) * SLENDER
    back = tips - size_pt * along
    corners = np.stack([tips, back + size_pt * across, back - size_pt * across], axis=1)
    canvas.setFillColor(color)
    path = path_of(shapely.polygons(corners))
    canvas.drawPath(path, stroke=0, fill=1, fillMode=FILL_NON_ZERO)
