"""Read what is drawn on a page of a PDF: lines and fills, as points on the paper."""

import ctypes
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
from pypdfium2 import raw

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Drawn:
    """A path.

    Attributes:
        points: of all its parts, in points from the page's lower left, (n, 2).
        begins: whether each begins a part, (n,).
        filled: its fill as #rrggbb; empty for none.
        stroked: its line's color, likewise.
        wide_pt: width of its line.
        dashed: whether that is dashed.
    """

    points: Floats
    begins: npt.NDArray[np.bool_]
    filled: str
    stroked: str
    wide_pt: float
    dashed: bool

    @property
    def parts(self) -> list[Floats]:
        """Its parts, each (k, 2)."""
        return np.split(self.points, np.flatnonzero(self.begins)[1:])


def drawn_on(path: Path, number: int = 1) -> list[Drawn]:
    """Read the paths of a page, in the order drawn."""
    with pdfium.PdfDocument(path) as document:
        page = document[number - 1]
        found = [_path(one) for one in page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,))]
        page.close()
    return found


def _path(one: pdfium.PdfObject) -> Drawn:
    x, y, wide = ctypes.c_float(), ctypes.c_float(), ctypes.c_float()
    points, begins = [], []
    for at in range(raw.FPDFPath_CountSegments(one.raw)):
        segment = raw.FPDFPath_GetPathSegment(one.raw, at)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append((x.value, y.value, 1.0))
        begins.append(raw.FPDFPathSegment_GetType(segment) == raw.FPDF_SEGMENT_MOVETO)
    a, b, c, d, e, f = one.get_matrix().get()
    placed = np.array(points).reshape(-1, 3) @ np.array([[a, b], [c, d], [e, f]])
    mode, stroke = ctypes.c_int(), raw.FPDF_BOOL()
    raw.FPDFPath_GetDrawMode(one.raw, mode, stroke)
    raw.FPDFPageObj_GetStrokeWidth(one.raw, wide)
    return Drawn(
        placed,
        np.array(begins, dtype=bool),
        _color(raw.FPDFPageObj_GetFillColor, one) if mode.value else "",
        _color(raw.FPDFPageObj_GetStrokeColor, one) if stroke.value else "",
        wide.value,
        raw.FPDFPageObj_GetDashCount(one.raw) > 0,
    )


def _color(read, one: pdfium.PdfObject) -> str:
    parts = [ctypes.c_uint() for _ in range(4)]
    read(one.raw, *parts)
    return "#" + "".join(f"{part.value:02x}" for part in parts[:3])
