"""The page of many fields in a browser: it sorts, nothing overlaps, and cards waste no lines."""

import pytest

from striplay.many.picture import SIDE
from striplay.page.fields import FieldsPage, fields_page

LONG = "machines at work reach up to 21 ft out of the field (2 of sprayer), " * 4
VERDICTS = {"refused": 1, "can't be done": 0, "laid, with a warning": 39, "laid": 0}


def line(number):
    """Give a field's line; the last is refused."""
    refused = number == 40
    figures = dict.fromkeys(("area_m2", "heading_deg", "strips", "strips_m2", "cost_per_year"))
    if not refused:
        figures |= {"area_m2": 4046.86 * (number * 7 % 41), "heading_deg": number, "strips": 1000}
        figures |= {"strips_m2": 3000.0 * (number * 7 % 41), "cost_per_year": 12_345.0}
    verdict = "refused" if refused else "laid, with a warning"
    return {**figures, "number": number, "field": f"North forty {number}", "verdict": verdict,
            "reason": LONG}  # fmt: skip


@pytest.fixture
def page(browser, tmp_path):
    square = f"M0,0l{SIDE},0 0,{SIDE} -{SIDE},0z"
    picture = {"width": SIDE, "height": SIDE, "outline": square, "crops": [["corn", square]]}
    lines = [line(number) for number in range(1, 41)]
    pictures = [*[picture] * 39, None]
    made = FieldsPage("Many", ["40 fields."], [], "us", ["corn"], VERDICTS, lines, pictures, [],
                      driven=False)  # fmt: skip
    (tmp_path / "index.html").write_bytes(fields_page(made))
    opened = browser.new_page()
    opened.goto((tmp_path / "index.html").as_uri())
    yield opened
    opened.close()


BOXES = """row => [...row.cells].filter(cell => cell.offsetParent && cell.textContent).map(cell => {
  const range = document.createRange(); range.selectNodeContents(cell);
  const box = range.getBoundingClientRect();
  return [box.left, box.top, box.right, box.bottom];
})"""


@pytest.mark.parametrize("size", [(1280, 800), (390, 844), (320, 700)])
def test_no_text_lies_on_another_and_nothing_is_cut_off(page, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    boxes = page.locator("#fields tr").first.evaluate(BOXES)
    assert len(boxes) == 9
    for at, one in enumerate(boxes):
        for other in boxes[at + 1 :]:
            aside = min(one[2], other[2]) - max(one[0], other[0])
            above = min(one[3], other[3]) - max(one[1], other[1])
            assert min(aside, above) < 4, (one, other)  # line boxes reach over their letters


def test_cards_on_a_phone_hold_number_and_name_in_a_line_and_figures_in_two(page):
    page.set_viewport_size({"width": 390, "height": 844})
    number, name, _, *figures, _ = page.locator("#fields tr").first.evaluate(BOXES)
    assert abs(number[3] - name[3]) < 4
    assert len({round(box[1]) for box in figures}) <= 3
    refused = page.locator("#fields tr").last
    assert len(refused.evaluate(BOXES)) == 4  # what it has no figures of takes no line


CELLS = """row => [...row.cells].map(cell => {
  const box = cell.getBoundingClientRect(); return [box.left, box.top];
})"""


def test_figures_stand_beside_the_map_of_a_card_in_one_line_below_each_other(page):
    page.set_viewport_size({"width": 390, "height": 844})
    drawn = page.locator("#fields tr.drawn").first.evaluate(CELLS)
    rows = {}
    for left, top in drawn[3:]:  # behind map, number and name
        rows[round(top)] = min(left, rows.get(round(top), left))
    assert len(rows) == 5  # verdict, three of figures, what was found
    assert max(rows.values()) - min(rows.values()) < 1
    assert drawn[0][0] + 76 < min(rows.values())
    bare = page.locator("#fields tr:not(.drawn)").first.evaluate(BOXES)
    assert min(box[0] for box in bare) < drawn[0][0] + 76  # without a map no room is left for one


def test_the_words_at_the_head_of_columns_end_on_one_line(page):
    page.set_viewport_size({"width": 1366, "height": 768})
    ends = page.locator("thead th").evaluate_all("""heads => heads.map(head => {
      const range = document.createRange(); range.selectNodeContents(head.firstElementChild);
      return Math.max(...[...range.getClientRects()].map(box => box.bottom));
    })""")
    assert len(ends) == 10
    assert max(ends) - min(ends) < 1


def test_a_column_sorts_by_size_both_ways_and_what_is_empty_comes_last(page):
    page.set_viewport_size({"width": 1280, "height": 800})
    areas = "rows => rows.map(row => row.cells[4].dataset.value)"
    for way in (1, -1):
        page.get_by_role("button", name="Area").click()
        found = page.locator("#fields tr").evaluate_all(areas)
        assert found.pop() == ""
        sizes = [float(one) for one in found]
        assert sizes == sorted(sizes, reverse=way < 0)
