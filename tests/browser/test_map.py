"""The field page's map: what is tapped is what the layout holds there, by finger, mouse and key."""

import numpy as np
import pytest
import shapely
from fields import FOOT_M, lay_on, sample

TOLD_OFF_M = 0.2
"""Points nearer than that to a border are not asked for: lines are sent simplified by 5 cm."""


@pytest.fixture(scope="module")
def rings(tmp_path_factory):
    """Strips in rings about a pivot, closed ones among them."""
    circle = shapely.Point(0, 0).buffer(500 * FOOT_M, quad_segs=90)
    return lay_on(
        tmp_path_factory.mktemp("rings"),
        circle,
        direction="pivot = [-93.5, 42.0]",
        headland='[headland]\nwhere = "none"\n',
    )


def strip_words(layout, point):
    """Give what the page is to call the place: strip and crop, or that no strip lies there."""
    strips = layout.strips
    point = shapely.Point(point)
    if shapely.distance(shapely.boundary(strips.geometry.to_numpy()), point).min() < TOLD_OFF_M:
        return None
    found = strips[strips.geometry.contains(point)]
    if found.empty:
        return "none"
    one = found.iloc[0]
    several = (strips["strip"] == one["strip"]).sum() > 1
    name = f"{one['strip']}/{one['piece']}" if several else one["strip"]
    return f"Strip {name}: {one['crop']}"


@pytest.mark.parametrize(
    ("which", "size", "zooms"),
    [("pond_ell", "phone", 0), ("pond_ell", "desk", 2), ("rings", "desk", 0)],
)
def test_a_tap_gives_the_strip_of_the_layout_at_that_point(open_page, rings, which, size, zooms):
    layout = rings if which == "rings" else sample(which)
    opened = open_page(layout, size)
    for _ in range(zooms):
        opened.page.click("#in")
    opened.settle()
    box, told = opened.box(), []
    random = np.random.default_rng(13)
    pixels = random.uniform([5, 60], [box["width"] - 5, box["height"] - 70], (30, 2)).round()
    expected = [strip_words(layout, point) for point in opened.meters(*pixels.T).T]
    for x, y in pixels.tolist():
        opened.page.mouse.click(box["x"] + x, box["y"] + y)
        title = opened.page.evaluate("document.getElementById('strip-title').textContent")
        told.append(title if title.startswith("Strip") else "none")
    asked = [pair for pair in zip(told, expected, strict=True) if pair[1] is not None]
    assert len(asked) > 20
    assert len({words for _, words in asked}) > 4
    assert all(one == other for one, other in asked)


def test_a_tap_off_the_strips_tells_headland_obstacle_and_outside(open_page):
    layout = sample("pond_ell")
    opened = open_page(layout)
    pond = layout.ground.obstacles.representative_point()
    headland = layout.headland.geometry.iloc[0].representative_point()
    for point, words in (
        ((pond.x, pond.y), "Obstacle: not cropped, go round it"),
        ((headland.x, headland.y), "Headland: not planted"),
    ):
        opened.tap(*opened.pixels(*point))
        assert opened.text("strip-title") == words
    opened.tap(opened.box()["width"] - 8, 60)
    assert opened.text("strip-title") == "Outside the field"


def test_a_tap_on_the_headland_gives_the_passes_round_it(open_page):
    opened = open_page(sample("quarter_section"), "desk")
    for sheet in opened.layout.worksheets[:2]:
        around = np.flatnonzero(sheet.strips == "headland")
        for index in around[:2]:
            middle = sheet.judged.route.line[index].interpolate(0.3, normalized=True)
            opened.tap(*opened.pixels(middle.x, middle.y))
            assert opened.text("strip-title") == f"Headland: {sheet.crop[index]}"
            here = opened.page.locator("#strip-passes button").all_inner_texts()
            assert f"{sheet.name}, pass {sheet.number[index]}, here" in here


def test_a_strip_tells_its_crop_rows_seed_and_every_pass_over_it(open_page):
    opened = open_page(size="desk")
    layout = opened.layout
    strip = layout.strips[layout.strips["strip"] == 40].iloc[0]
    opened.page.fill("#number", "40")
    opened.page.keyboard.press("Enter")
    assert opened.text("strip-title") == f"Strip 40: {strip['crop']}"
    facts = opened.facts("strip-facts")
    assert facts["Crop"] == strip["crop"]
    assert facts["Rows"] == str(strip["rows"])
    assert facts["Area"] == f"{strip['area_m2'] / 4046.8564224:.2f} ac"
    assert facts["Seed of its own rows"].startswith(f"{strip['seed_units']:.1f}")
    told = opened.page.locator("#strip-passes button").all_inner_texts()
    expected = [
        f"{sheet.name}, pass {sheet.number[of]}"
        for sheet in layout.worksheets
        for of, number, _ in sheet.worked.T
        if number == 40
    ]
    assert told == expected
    assert len(told) >= 3
    opened.page.click("#strip-passes button >> nth=0")
    assert opened.text("pass-title").startswith(expected[0].split(", ")[1].capitalize())


def test_the_pass_at_the_point_that_is_tapped_stands_out(open_page):
    opened = open_page(sample("quarter_section"), "desk")
    sheet = opened.layout.worksheets[0]
    lines = sheet.judged.route.line
    for index in (3, len(sheet) - 4):
        middle = lines[index].interpolate(0.5, normalized=True)
        opened.tap(*opened.pixels(middle.x, middle.y))
        # a soybean strip is three passes wide: which of them is tapped is told
        here = opened.page.locator("#strip-passes button.here").all_inner_texts()
        assert f"{sheet.name}, pass {sheet.number[index]}, here" in here


def test_mouse_wheel_buttons_and_fingers_move_the_map(open_page):
    opened = open_page()
    page, box = opened.page, opened.box()
    start = opened.view()
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    held = opened.meters(100, 100)
    page.mouse.wheel(0, -150)
    opened.settle()
    assert opened.view()[2] > 1.3 * start[2]
    assert opened.meters(100, 100) == pytest.approx(held, abs=1e-6)
    page.mouse.down()
    page.mouse.move(box["x"] + 160, box["y"] + 130, steps=4)
    page.mouse.up()
    opened.settle()
    assert opened.meters(160, 130) == pytest.approx(held, abs=1e-6)
    before = opened.view()
    touch = opened.devtools
    x, y = box["x"] + 180, box["y"] + 150
    for kind, apart in (("touchStart", 30), ("touchMove", 60), ("touchMove", 90)):
        points = [{"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    opened.settle()
    assert opened.view()[2] == pytest.approx(3 * before[2], rel=0.05)
    page.click("#whole")
    opened.settle()
    assert opened.view() == pytest.approx(start)


def test_keys_move_the_map_and_take_what_lies_in_its_middle(open_page):
    opened = open_page(size="desk")
    page = opened.page
    page.focus("#over")
    east, north, scale = opened.view()
    for key in ("ArrowLeft", "ArrowUp", "ArrowUp"):
        page.keyboard.press(key)
    opened.settle()
    assert opened.view() == pytest.approx((east - 60 / scale, north + 120 / scale, scale))
    page.keyboard.press("+")
    page.keyboard.press("Enter")
    opened.settle()
    box = opened.box()
    middle = opened.meters(box["width"] / 2, (box["height"] - 60) / 2)
    expected = strip_words(opened.layout, middle)
    assert opened.text("strip-title") == expected
    assert page.locator("#said").inner_text().startswith(expected.split(":")[0])
    page.keyboard.press("0")
    opened.settle()
    assert opened.view() == pytest.approx((east, north, scale))
    page.keyboard.press("n")
    assert opened.text("pass-title").startswith("Pass 2 ")
    page.keyboard.press("p")
    assert opened.text("pass-title").startswith("Pass 1 ")
