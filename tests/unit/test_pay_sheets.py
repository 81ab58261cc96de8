"""Two pages on money: legible, nothing over anything else, black on white."""

import re
from types import SimpleNamespace

import numpy as np
import pypdfium2 as pdfium
import pytest
from fields import SHED, lay_on, square
from priced import KEYS, PURDUE, pay_on, priced
from pypdf import PdfReader

import striplay
from striplay.economics.budget import PartialBudget
from striplay.economics.chances import Against
from striplay.economics.edges import Estimate
from striplay.sheets.bind import write_map_book
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.pay_charts import nice_ticks
from striplay.sheets.pay_sheets import _strip_words, _verdict, pay_story
from striplay.sheets.style import SMALLEST_PT

BARE = '[headland]\nwhere = "none"\n'
TWO = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
RANGES = (
    "[economics]\nprice_range = 0.2\nyield_range = 0.15\ncost_range = 0.2\n"
    'fuel_price = "4 per gal"\n'
)
MANY = ("corn", "soybean", "sunflower", "barley")
CASES = {
    "none taken": {},
    "taken": {"tables": RANGES + 'edges = "published"\n', "strips": TWO},
    "own": {"tables": PURDUE + RANGES, "strips": TWO},
    "metric": {"metric": True, "strips": TWO},
    "many": {
        "shed": priced(SHED)
        + "".join(
            f'[crops.{crop}]\nplanter = "planter"\nharvester = "platform"\nbushel = "40 lb"\n'
            f"{KEYS['wheat']}"
            for crop in MANY[2:]
        ),
        "strips": "".join(f'[[strips]]\ncrop = "{crop}"\nrows = 16\n' for crop in MANY),
        "tables": RANGES + 'edges = "published"\n',
    },
    "one": {"strips": '[[strips]]\ncrop = "corn"\nrows = 16\n'},
}


def lines_on(text):
    """Give the lines of type on a page: left, foot, right, top, and the words."""
    boxes = [text.get_rect(number) for number in range(text.count_rects())]
    return [(*box, text.get_text_bounded(*box).strip()) for box in boxes]


def overlaps(lines):
    """Give the words of lines that lie over each other."""
    for number, one in enumerate(lines):
        for other in lines[number + 1 :]:
            wide = min(one[2], other[2]) - max(one[0], other[0])
            high = min(one[3], other[3]) - max(one[1], other[1])
            if wide > 0.5 and high > 1.0:
                yield one[4], other[4]


@pytest.fixture(scope="module", params=list(CASES))
def pages(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pay")
    parts = dict(CASES[request.param])
    metric = parts.pop("metric", False)
    layout, pay = pay_on(folder, square(660), headland=BARE, **parts)
    if metric:
        path = folder / "plan.toml"
        path.write_text(f'units = "metric"\n{path.read_text()}')
        layout = striplay.lay(striplay.read_plan(path))
        pay = striplay.pay(layout)
    book = book_of(layout)
    path = folder / "pay.pdf"
    assert write_pages(book, path, [pay_story(book, layout, pay)], "money") == []
    found = pdfium.PdfDocument(path)
    yield request.param, found
    found.close()


def test_there_are_two_pages(pages):
    _, found = pages
    assert len(found) == 2


def test_type_is_legible_and_never_overlaps(pages):
    name, found = pages
    for page in found:
        lines = lines_on(page.get_textpage())
        assert len(lines) > 12
        assert list(overlaps(lines)) == [], name
        wide, high = page.get_size()
        assert all(x0 >= 12 and x1 <= wide - 12 for x0, _, x1, *_ in lines)
        assert all(y0 >= 12 and y1 <= high - 12 for _, y0, _, y1, _ in lines)


def test_type_is_at_least_7_pt(pages):
    _, found = pages
    sizes = set()
    for page in PdfReader(found._input).pages:
        said = page.get_contents().get_data().decode("latin-1")
        sizes |= {float(size) for size in re.findall(r"/F\S+ ([\d.]+) Tf", said)}
    assert min(sizes) >= SMALLEST_PT


def test_pages_need_no_color(pages):
    _, found = pages
    for page in found:
        pixels = page.render(scale=1).to_numpy()[..., :3].astype(int)
        assert np.ptp(pixels, axis=2).max() <= 2


def test_pages_say_what_is_measured_assumed_and_would_change_the_answer(pages):
    name, found = pages
    text = " ".join(page.get_textpage().get_text_bounded() for page in found)
    text = re.sub(r"\s+", " ", text)
    for words in ("Does it pay?", "What strips leave more", "partial budgets", "Measured: yours",
                  "Assumed", "What would change the answer", "weigh outer and inner"):  # fmt: skip
        assert words in text, (name, words)
    assert ("no source fits: measure yours" in text) == (name == "many")
    assert ("What trials found" in text) == (name != "one")
    if name == "own":
        assert "edges of corn beside soybean (Purdue)" in text
    if name == "metric":
        assert "per ha" in text
        assert "t/ha" in text


@pytest.mark.parametrize(
    ("low", "high"), [(-8.0, 19.0), (0.0, 0.2), (-1000.0, 4000.0), (3.0, 3.0), (-0.5, 0.0)]
)
def test_ticks_are_round_and_inside(low, high):
    ticks = nice_ticks(low, high)
    assert all(low <= tick <= high for tick in ticks)
    assert len(ticks) <= 11
    if low <= 0 <= high:
        assert 0.0 in ticks
    if high - low > 0.1:
        assert len(ticks) >= 2


def test_the_map_book_ends_with_them_where_the_plan_says_enough(tmp_path):
    layout, pay = pay_on(tmp_path, square(400), headland=BARE, strips=TWO)
    book = book_of(layout)
    write_pages(book, tmp_path / "two.pdf", [pay_story(book, layout, pay)], "money")
    write_map_book(layout, tmp_path / "all.pdf")
    two, whole = (PdfReader(tmp_path / name).pages for name in ("two.pdf", "all.pdf"))
    last = [page.extract_text() for page in whole[-2:]]
    assert ["Does it pay?" in last[0], "What would change the answer" in last[1]] == [True, True]
    assert all("not for the cab" in text for text in last)
    bare = lay_on(tmp_path, square(400), headland=BARE, strips=TWO)
    write_map_book(bare, tmp_path / "bare.pdf")
    assert len(PdfReader(tmp_path / "bare.pdf").pages) <= len(whole) - len(two)
    assert "Does it pay?" not in PdfReader(tmp_path / "bare.pdf").pages[-1].extract_text()


def test_strips_that_leave_alike_are_told_once():
    def strip(number, crop, leaves):
        return SimpleNamespace(strip=number, crop=crop, area_m2=2.0,
                               margin=SimpleNamespace(central=2.0 * leaves))  # fmt: skip

    strips = [strip(1, "corn", 10.2), strip(2, "soybean", 7.0), strip(3, "corn", 9.9),
              strip(4, "soybean", 5.0)]  # fmt: skip
    assert _strip_words(SimpleNamespace(strips=strips), 1.0, "ac") == (
        "Strip by strip, money per ac: corn 10 on each; soybean from 5 (strip 4) to 7 (strip 2)."
    )


def test_a_gain_or_a_loss_in_words():
    def against(low, central, high):
        return Against("x", 0.0, Estimate(low, central, high), PartialBudget(), None, ())

    assert [_verdict(against(*ends), 1.0, "ac") for ends in (
        (-14, -4, 14), (9, 19, 28), (-28, -19, -9), (5, 5, 5), (-5, -5, -5),
    )] == [
        ("leave 4 per ac less, from 14 less to 14 more by what edges gain: it may be a gain or "
         "a loss"),
        "leave 19 per ac more (9 to 28 by what edges gain)",
        "leave 19 per ac less (9 to 28 by what edges gain)",
        "leave 5 per ac more",
        "leave 5 per ac less",
    ]  # fmt: skip
