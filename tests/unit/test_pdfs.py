"""The tests' own eye on PDFs: bad pages are caught, each fault of them; good ones are not."""

import pytest
from pdfs import MM, check_page, faults, pages
from reportlab.pdfgen.canvas import Canvas

from striplay.sheets.fonts import REGULAR, printed, write

LETTER = (612, 792)
SHAPED, JOINED = "मक्का", "ذرة"


@pytest.fixture
def page_of(tmp_path):
    """Give a function that draws one page and reads it."""

    def drawn(draw):
        canvas = Canvas(str(tmp_path / "page.pdf"), pagesize=LETTER)
        draw(canvas)
        canvas.showPage()
        canvas.save()
        (page,) = pages(tmp_path / "page.pdf")
        return page

    return drawn


def small(canvas, size_pt, text="small"):
    write(canvas, 100, 500, "37 C", 7.0)
    canvas.setFont(REGULAR, size_pt)
    canvas.drawString(100, 300, text)


def scaled(canvas):
    canvas.scale(0.9, 0.9)
    write(canvas, 100, 300, "shrunk", 7.5)


def in_a_form(canvas):
    canvas.beginForm("pages")
    write(canvas, 0, 0, "of 12", 7.0)
    canvas.endForm()
    canvas.translate(300, 300)
    canvas.scale(0.99, 0.99)
    canvas.doForm("pages")


def overlapping(canvas, text, apart_pt, angle_deg=0.0):
    canvas.translate(300, 300)
    canvas.rotate(angle_deg)
    write(canvas, 0, 0, text, 8.0)
    write(canvas, 0, apart_pt, "other", 8.0)


def on_a_form(canvas):
    canvas.beginForm("pages")
    write(canvas, 0, 0, "of 12", 7.0)
    canvas.endForm()
    write(canvas, 300, 300, "page 3", 7.0)
    canvas.translate(305, 300)
    canvas.doForm("pages")


def twice(canvas):
    write(canvas, 300, 300, "37 C", 7.0)
    write(canvas, 301, 300, "37 C", 7.0)


def line_outside(canvas):
    canvas.setLineWidth(0.25)
    canvas.setStrokeGray(0.6)
    canvas.line(100, 400, 620, 400)


def clipped_hatch(canvas):
    """Draw lines far beyond the page, of which only what is inside is seen."""
    path = canvas.beginPath()
    path.rect(12 * MM, 12 * MM, 200, 200)
    canvas.clipPath(path, stroke=0)
    canvas.line(-50, -50, 900, 900)


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda canvas: small(canvas, 6.9), ['"small" is 6.90 pt']),
        (lambda canvas: small(canvas, 6.98), ['"small" is 6.98 pt']),
        (scaled, ['"shrunk" is 6.75 pt']),
        (in_a_form, ['"of" is 6.93 pt', '"12" is 6.93 pt']),
        (lambda canvas: overlapping(canvas, "one", 4.0), ['"one" lies on "other" at 300']),
        (lambda canvas: overlapping(canvas, "one", 4.0, 30.0), ['"one" lies on "other" at ']),
        (lambda canvas: overlapping(canvas, "one", 4.0, 45.0), ['"one" lies on "other" at ']),
        (lambda canvas: overlapping(canvas, "one", 4.0, 90.0), ['"other" lies on "one" at ']),
        (lambda canvas: overlapping(canvas, SHAPED, 4.0), ['lies on "other" at 30']),
        (lambda canvas: overlapping(canvas, JOINED, 4.0), ['lies on "other" at 30']),
        (on_a_form, ['"page" lies on "of" at 300', '"3" lies on "12" at 320']),
        (twice, ['"37" lies on "37" at 300', '"C" lies on "C" at ']),
        (lambda canvas: write(canvas, 30, 300, "left", 7.0),
         ['"left" reaches into the margin', "30 points from the left edge"]),
        (lambda canvas: write(canvas, 300, 770, "high", 7.0),
         ['"high" reaches into the margin', "from the top edge"]),
        (lambda canvas: write(canvas, 300, 33.5, "gap", 7.0),
         ['"gap" reaches into the margin', "points from the bottom edge"]),
        (lambda canvas: write(canvas, 590, 300, "over", 7.0, angle_deg=60),
         ['"over" reaches into the margin', "from the right edge"]),
        (line_outside, ["0 points from the right edge"]),
    ],
)  # fmt: skip
def test_each_fault_of_a_bad_page_is_caught(page_of, draw, words):
    page = page_of(draw)
    found = faults(page)
    for said in words:
        assert any(said in one for one in found), found
    if "points" not in str(words):
        assert len(found) <= len(words) + 1
    with pytest.raises(AssertionError, match=r"page 1: "):
        check_page(page)


def close_lines(canvas, angle_deg):
    """Write lines as close as a paragraph's, of letters that reach high and low."""
    canvas.translate(200, 250)
    canvas.rotate(angle_deg)
    for number in range(4):
        write(canvas, 0, -number * 7 * 1.22, "Ågypl (dfg) 083° 42.0000001", 7.0)


@pytest.mark.parametrize(
    "draw",
    [
        lambda canvas: small(canvas, 7.0),
        lambda canvas: small(canvas, 6.995),
        lambda canvas: [write(canvas, 100, 300, SHAPED, 8.0), write(canvas, 300, 300, JOINED, 8.0)],
        lambda canvas: close_lines(canvas, 0),
        lambda canvas: close_lines(canvas, 25),
        lambda canvas: close_lines(canvas, 90),
        lambda canvas: canvas.rect(12 * MM, 12 * MM, 612 - 24 * MM, 792 - 24 * MM),
        clipped_hatch,
        lambda canvas: canvas.setLineWidth(1),
    ],
)
def test_a_good_page_has_no_fault(page_of, draw):
    page = page_of(draw)
    assert faults(page) == []


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 45.0, 90.0, 137.0, -60.0])
def test_words_have_turned_boxes_and_their_type(page_of, angle_deg):
    """Letters of 10 points: capitals of the book's font are 0.729 of that high (DejaVu Sans)."""
    page = page_of(lambda canvas: write(canvas, 300, 400, "HIE THE", 10.0, angle_deg=angle_deg))
    assert page.texts == ("HIE THE",)
    assert page.text == "HIE THE"
    first = page.words[0]
    assert (first.text, first.font) == ("HIE", REGULAR)
    assert first.size_pt == pytest.approx(10.0, abs=0.001)
    assert first.angle_deg == pytest.approx(angle_deg, abs=0.01)
    sides = abs(first.corners[1] - first.corners[0]), abs(first.corners[3] - first.corners[0])
    high = (sides[1] ** 2).sum() ** 0.5
    assert high == pytest.approx(7.29, abs=0.6 if angle_deg in {45.0, 137.0} else 0.05)


def test_shaped_and_joined_text_is_read(page_of):
    page = page_of(lambda canvas: [write(canvas, 100, 300, "玉米 corn", 8.0),
                                   write(canvas, 100, 350, "मक", 8.0),
                                   write(canvas, 100, 400, "Кукуруза, Å", 8.0)])  # fmt: skip
    assert {printed("玉米"), "corn", "मक", "Кукуруза,", "Å"} <= {word.text for word in page.words}
    assert {word.font for word in page.words} > {REGULAR}
