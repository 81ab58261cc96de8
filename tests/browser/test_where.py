"""The field page's "where am I": strip, pass, edges and accuracy; never on the move."""

import numpy as np
import pytest
import shapely
from fields import FOOT_M, sample

from striplay.ground import Plane
from striplay.page.bind import script_of
from striplay.page.page import FIELD_PAGE

ALLOWED = {"permissions": ["geolocation"]}
PACE = """
let told = null;
let place = {longitude: 0, latitude: 0, accuracy: 3, speed: null};
Object.defineProperty(navigator, "geolocation", {value: {
  watchPosition(done) { told = done; return 1; },
  clearWatch() { told = null; },
}});
window.stand = (coords, seconds) => {
  place = {...place, ...coords};
  told({coords: place, timestamp: 1000 * seconds});
};
"""
"""A phone of the test's own, whose clock and speed can be set."""


def edges(layout, point):
    """Measure how far it is to the edges of the strip about a point, straight across and along."""
    strips = layout.strips
    strip = strips[strips.geometry.contains(shapely.Point(point))].iloc[0]
    turn = np.radians(layout.laid.blocks[0].heading_deg)
    found = []
    for angle in (turn - np.pi / 2, turn + np.pi / 2, turn, turn + np.pi):
        end = (point[0] + 5000 * np.sin(angle), point[1] + 5000 * np.cos(angle))
        ray = shapely.LineString([point, end])
        found.append(ray.intersection(strip.geometry.boundary).distance(shapely.Point(point)))
    return f"{strip['strip']}", strip["crop"], sorted(round(one / FOOT_M) for one in found)


def test_a_walk_across_strips_tells_each_strip_pass_and_edge(open_page):
    layout = sample("quarter_section")
    opened = open_page(layout, **ALLOWED)
    page = opened.page
    page.click("#tab-where")
    assert "steers nothing" in opened.text("where")
    assert "put the phone away while driving" in opened.text("where")
    sheet = layout.worksheets[0]
    heading = np.radians(layout.laid.blocks[0].heading_deg)
    across = np.array([np.cos(heading), -np.sin(heading)])
    started = False
    for step in range(6):
        east, north = across * (13.3 * step - 30) + [3.0, 41.0]
        opened.stand_at(east, north)
        if not started:
            page.click("#locate")
            started = True
        strip, crop, apart = edges(layout, (east, north))
        page.wait_for_function(
            "([strip, near]) => document.getElementById('where-title').textContent.endsWith(strip)"
            " && document.getElementById('where-facts').textContent.includes(near)",
            arg=[f"in strip {strip}".replace("in", "n", 1)[1:], f"{apart[0]} ft"],
            timeout=3000,
        )
        facts = opened.facts("where-facts")
        assert facts["Crop"] == crop
        told = sorted(int(words.split()[0].replace(",", "")) for label, words in facts.items()
                      if label.endswith("edge"))  # fmt: skip
        assert told == pytest.approx(apart, abs=1)
        lines, over = sheet.judged.route.line, sheet.worked
        mine = over[0, over[1] == int(strip)]
        if len(mine):
            near = mine[np.argmin(shapely.distance(lines[mine], shapely.Point(east, north)))]
            assert facts["Pass"] == f"{sheet.number[near]} of {sheet.name}"
        else:
            assert facts["Pass"] == f"none of {sheet.name} here"
        assert "within 10 ft of the dot" in opened.text("where-note")


def test_a_place_on_an_edge_is_told_as_such(open_page):
    layout = sample("quarter_section")
    opened = open_page(layout, **ALLOWED)
    strips = layout.strips
    one, other = (strips[strips["strip"] == number] for number in (3, 4))
    edge = shapely.intersection(one.geometry.iloc[0], other.geometry.iloc[0])
    place = shapely.line_interpolate_point(shapely.line_merge(edge), 0.5, normalized=True)
    opened.page.click("#tab-where")
    opened.stand_at(place.x, place.y)
    opened.page.click("#locate")
    opened.page.wait_for_function(
        "() => document.getElementById('where-title').textContent.includes('edge')"
    )
    assert opened.text("where-title") == "Likely on the edge between strip 3 and 4"
    facts = opened.facts("where-facts")
    assert (facts["Strip 3"], facts["Strip 4"]) == (one["crop"].iloc[0], other["crop"].iloc[0])


def test_the_phones_accuracy_is_drawn_and_told(open_page):
    opened = open_page(size="desk", **ALLOWED)
    page = opened.page
    page.click("#tab-where")
    opened.stand_at(-150.0, -60.0, accuracy=25.0)
    page.click("#locate")
    page.wait_for_function(
        "() => document.getElementById('where-note').textContent.includes('82 ft')"
    )
    opened.settle()
    shown = "([x, y]) => [...over.getContext('2d').getImageData(x, y, 1, 1).data]"
    x, y = opened.pixels(-150.0, -60.0)
    radius = 25.0 * opened.view()[2]
    for share, drawn in ((0.5, True), (0.93, True), (1.1, False)):
        *_, alpha = page.evaluate(shown, [round(x + share * radius), round(y)])
        assert (alpha > 0) == drawn, share
    strips = opened.layout.strips
    circle = shapely.Point(-150.0, -60.0).buffer(25.0, quad_segs=64)
    names = strips[strips.geometry.intersects(circle)]["strip"]
    assert opened.text("where-title").startswith("Likely in strip ")
    note = opened.text("where-note")
    assert note.count(" or ") == len(names) - 1 >= 2


def test_outside_the_field_it_tells_how_far_and_which_way(open_page):
    opened = open_page(sample("quarter_section"), **ALLOWED)
    page = opened.page
    west, south, _, north = opened.layout.ground.outline.bounds
    page.click("#tab-where")
    opened.stand_at(west - 100 * FOOT_M, (south + north) / 2)
    page.click("#locate")
    page.wait_for_function(
        "() => document.getElementById('where-title').textContent.startsWith('Out')"
    )
    assert opened.facts("where-facts") == {"To the field": "100 ft east"}
    page.click("#locate")
    assert opened.text("where-title") == ""


def stand_by_clock(opened):
    """Press the button, and give a function that sets place and clock and tells the title."""
    page, plane = opened.page, opened.layout.ground.plane
    page.click("#tab-where")
    page.click("#locate")

    def stand(east, seconds, **more):
        longitude, latitude = plane.to_lonlat(np.array([[east, 20.0]]))[0].tolist()
        coords = {"longitude": longitude, "latitude": latitude, **more}
        page.evaluate("([coords, seconds]) => stand(coords, seconds)", [coords, seconds])
        return opened.text("where-title")

    return stand


@pytest.mark.parametrize("by", ["speed", "way"])
def test_a_place_is_not_shown_on_the_move(open_page, by):
    opened = open_page(script=PACE)
    stand = stand_by_clock(opened)
    assert "in strip" in stand(-150, 0).lower()
    walking = [stand(-150 + 1.4 * second, second, speed=None) for second in range(1, 12)]
    assert all("in strip" in one.lower() for one in walking)
    if by == "speed":
        moving = stand(-134, 12, speed=1.8)
    else:
        moving = [stand(-134 + 5 * second, 12 + second) for second in range(1, 8)][-1]
    assert moving == "You are moving."
    assert opened.facts("where-facts") == {}
    assert "away while driving" in opened.text("where-note")
    stood = [stand(-90, 30 + second, speed=0) for second in range(0, 30, 2)]
    assert "in strip" in stood[-1].lower()


@pytest.mark.parametrize(
    ("pace", "accuracy", "within"),
    [(2.24, 3, 12), (5.0, 5, 5), (5.0, 20, 13), (2.24, 20, 16), (2.24, 5, 16)],
)
def test_driving_is_seen_though_the_phone_tells_no_speed(open_page, pace, accuracy, within):
    """2.24 m/s is 5 mph, a planter's pace."""
    opened = open_page(script=PACE)
    stand = stand_by_clock(opened)
    given = {"speed": None, "accuracy": accuracy}
    told = [stand(-150 + pace * second, second, **given) for second in range(30)]
    assert all("moving" in one for one in told[within:]), told
    assert opened.facts("where-facts") == {}


def test_a_walk_across_the_field_keeps_its_place(open_page):
    stand = stand_by_clock(open_page(script=PACE))
    random = np.random.default_rng(8)
    off = random.normal(0, 1, 60)
    told = [stand(-150 + 1.4 * second + off[second], second, accuracy=5) for second in range(60)]
    assert all("in strip" in one.lower() or "edge between strip" in one for one in told)


def test_a_phone_that_gives_no_place_is_told(open_page):
    opened = open_page()  # not allowed
    opened.page.click("#tab-where")
    opened.page.click("#locate")
    opened.page.wait_for_function(
        "() => document.getElementById('where-note').textContent.length > 9"
    )
    assert opened.text("where-title") == "No place known"


@pytest.mark.parametrize("center", [(-93.5, 42.0), (179.999, -38.0), (10.0, 66.0), (30.0, 0.0)])
def test_the_pages_plane_is_the_fields(browser, center):
    """Against PROJ's transverse Mercator: under a millimeter within 25 km of the center."""
    plane = Plane(*center)
    random = np.random.default_rng(3)
    points = random.uniform(-25_000, 25_000, (200, 2))
    lonlat = plane.to_lonlat(points)
    page = browser.new_page()
    start = script_of(FIELD_PAGE)
    code = start[: start.index("/**\n * Read a line as it is sent")]
    given = {"longitude": center[0], "latitude": center[1], "a": 6378137.0,
             "e2": 0.0066943799901413165}  # fmt: skip
    found = page.evaluate(
        f"([plane, places]) => {{ {code} return places.map((p) => toPlane(plane, ...p)); }}",
        [given, lonlat.tolist()],
    )
    page.close()
    assert np.abs(np.array(found) - points).max() < 1e-3
