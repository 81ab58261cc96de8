"""Shapes drawn on a page: one path for many, hatches clipped to their shape, arrows."""

import re

import numpy as np
import pytest
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import CROP_FILLS, Fill
from striplay.sheets.paint import (
    HATCHES,
    arrow_heads,
    fill_shape,
    lines_path,
    path_of,
    swatch,
)
from striplay.sheets.style import HAIR_PT


def page(tmp_path):
    return Canvas(str(tmp_path / "page.pdf"), pagesize=(300, 300), invariant=1, pageCompression=0)


def pixels(canvas):
    pdfium = pytest.importorskip("pypdfium2")
    document = pdfium.PdfDocument(canvas.getpdfdata())
    return document[0].render(scale=4, grayscale=True).to_numpy()


def test_a_path_holds_every_ring_once():
    ring = shapely.box(0, 0, 30, 30).difference(shapely.box(10, 10, 20, 20))
    code = path_of(np.array([ring, shapely.box(40, 0, 50, 10), shapely.Polygon()])).getCode()
    assert [len(re.findall(rf"{one}\b", code)) for one in "mlh"] == [3, 9, 3]
    assert path_of(shapely.Polygon()).getCode() == ""


def test_lines_are_one_path():
    line = shapely.LineString([(0, 0), (1, 2), (3, 4)])
    assert lines_path(line).getCode() == "0.00 0.00 m 1.00 2.00 l 3.00 4.00 l"
    assert lines_path(np.array([[[0, 0], [5, 0]], [[0, 1], [5, 1]]])).getCode().count("m") == 2


@pytest.mark.parametrize("hatch", [one for one in HATCHES if one])
def test_a_hatch_stays_inside_its_shape_and_out_of_its_hole(tmp_path, hatch):
    canvas = page(tmp_path)
    shape = shapely.box(50, 50, 250, 250).difference(shapely.box(100, 100, 200, 200))
    fill_shape(canvas, shape, Fill("", hatch, "#000000"), edge_pt=0)
    seen = pixels(canvas) < 250
    assert not seen[412:788, 412:788].any()  # the hole, 4 pixels to a point
    assert not seen[:198].any()
    assert not seen[:, :198].any()
    assert 0.02 < seen[212:388, 212:988].mean() < 0.6
    # every 12 pt square shows the hatch: a narrow strip's piece tells its crop
    parts = seen[212 : 212 + 144, 212 : 212 + 768].reshape(3, 48, 16, 48)
    assert parts.any(axis=(1, 3)).all()


def test_lines_of_hatches_are_as_wide_as_printers_keep():
    assert min(lines[2] for hatch in HATCHES.values() for lines in hatch) >= HAIR_PT


def test_ten_fills_stay_apart_in_gray(tmp_path):
    """Two fills differ in their mean gray, or in what their lines do to the picture."""
    seen = []
    for fill in CROP_FILLS["gray"]:
        canvas = page(tmp_path)
        fill_shape(canvas, shapely.box(0, 0, 300, 300), fill, edge_pt=0)
        seen.append(pixels(canvas)[100:1060, 100:1060].astype(float))
    for index, one in enumerate(seen):
        for other in seen[:index]:
            apart = abs(one.mean() - other.mean())
            spread = np.abs(np.abs(np.fft.rfft2(one)) - np.abs(np.fft.rfft2(other))).max()
            assert apart > 12 or spread > 3e5, (index, apart, spread)


def test_a_sample_bears_its_letter_and_an_arrow_its_head(tmp_path):
    canvas = page(tmp_path)
    swatch(canvas, 10, 10, 20, 10, CROP_FILLS["color"][0], "C")
    arrow_heads(canvas, np.array([[100.0, 200.0]]), np.array([[0.0, 1.0]]), 10.0)
    seen = pixels(canvas) < 128
    # 2 points behind its tip the head is 1.5 pt wide, 8 points behind it 6 pt
    rows = [int(seen[4 * (300 - y)].sum()) for y in (198, 192)]
    assert rows[0] == pytest.approx(6, abs=2)
    assert rows[1] == pytest.approx(24, abs=2)
