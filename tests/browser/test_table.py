"""The planning page at work with its engine: by mouse, finger and keys, slow, and cut off."""

import json
import math
import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import shapely
from fields import square, write_field, write_plan_for
from playwright.sync_api import Page, WebSocketRoute, expect

from striplay.accounts.told import told_areas
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.units import format_area

SIDE_FT = 900
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900), "low": (1024, 768)}
WAIT_MS = 30_000
FINGER_PIXELS = 44
"""The least width and height of what a finger presses (WCAG 2.2, success criterion 2.5.5)."""
WATCH = """() => {
  window.seen = "";
  const words = document.getElementById("line-words");
  const watcher = new MutationObserver(() => { window.seen += words.textContent; });
  watcher.observe(words, {childList: true});
}"""
"""Keeps what is said of the line, however short it is shown."""
LEAST_GAP = """() => {
  const range = document.createRange();
  const boxes = (cell) => { range.selectNodeContents(cell); return [...range.getClientRects()]; };
  const beside = (one, other) => one.top < other.bottom && other.top < one.bottom;
  return Math.min(...[...document.querySelectorAll(".accounts:not([hidden]) tr")].flatMap((row) => {
    const cells = [...row.children].map(boxes);
    return cells.slice(1).flatMap((here, before) => here.flatMap((one) => cells[before]
      .filter((other) => beside(one, other)).map((other) => one.left - other.right)));
  }));
}"""
"""Gives how near each other words of neighboring columns of the accounts stand, in pixels."""
GAP_PIXELS = 10
WIDEST = """(list) => {
  const style = list.style.cssText, wide = list.offsetWidth;
  list.style.cssText = "position: absolute; width: max-content; max-width: none";
  const needs = list.offsetWidth;
  list.style.cssText = style;
  return needs - wide;
}"""
"""Gives how much a list lacks to show the longest of its lines, in pixels."""
HOSTILE = "</script><img src=x onerror=alert(1)>"


@dataclass
class Served:
    """A planning table that is served.

    Attributes:
        folder: of its plan.
        address: of its page.
    """

    folder: Path
    address: str


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A table with a small field, as a user starts it."""
    folder = tmp_path_factory.mktemp("table")
    plan = write_plan_for(folder, square(SIDE_FT), direction="heading = 10")
    root = str(Path(__file__).parents[2])
    with subprocess.Popen(
        [sys.executable, "-m", "striplay", "table", str(plan), "--no-browser"],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": root},
    ) as run:  # fmt: skip
        assert run.stdout is not None
        yield Served(folder, run.stdout.readline().strip())
        run.terminate()


@dataclass
class AtTable:
    """The page as it is open, and what it and the engine say to each other.

    Attributes:
        page: the browser's page.
        sent: what the page asked, as it was sent.
        heard: what the engine said.
        held: what the engine said and the page has not been given, while `slow`.
        slow: whether the engine's answers are held back.
        line: the socket as the page has it.
    """

    page: Page
    sent: list[dict] = field(default_factory=list)
    heard: list[dict] = field(default_factory=list)
    held: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    slow: bool = False
    hostile: bool = False
    line: WebSocketRoute | None = None

    def route(self, line: WebSocketRoute) -> None:
        self.line = line
        server = line.connect_to_server()

        def ask(text):
            self.sent.append(json.loads(text))
            server.send(text)

        def hear(text):
            self.heard.append(json.loads(text))
            if self.slow:
                self.held.append(text)
            else:
                line.send(self.told(text))

        line.on_message(ask)
        server.on_message(hear)

    def told(self, text):
        """Give a message as the page is given it."""
        if not self.hostile:
            return text
        hostile = json.dumps(HOSTILE)[1:-1]
        return text.replace("corn", hostile).replace('"title":"Test', f'"title":"{hostile}')

    def release(self):
        """Give the page what was held back."""
        self.slow = False
        while self.held:
            self.line.send(self.told(self.held.pop(0)))

    def rest(self):
        """Wait until all that was asked is answered and shown."""
        self.page.wait_for_timeout(50)
        expect(self.page.locator("#side")).to_have_attribute("aria-busy", "false", timeout=WAIT_MS)

    def last(self, say):
        return next((one for one in reversed(self.heard) if one["say"] == say), None)

    def text(self, part):
        return self.page.locator(f"#{part}").inner_text()

    def value(self, part):
        return self.page.locator(f"#{part}").input_value()

    def figure(self, label, table="figures", group=0):
        """Give a figure now and as saved, such as ("1.2 ac", "1.3 ac", "-0.1 ac")."""
        rows = self.page.locator(f"#{table} tbody").nth(group).locator("tr")
        cells = rows.evaluate_all("rows => rows.map(r => [...r.children].map(c => c.textContent))")
        [found] = [row[1:] for row in cells if row[0] == label]
        return [one.replace("\N{NO-BREAK SPACE}", " ") for one in found]

    def handle(self, heading, far=1.0):
        """Give where on the page the handle of a heading stands."""
        box = self.page.locator("#over").bounding_box()
        x, y = box["width"] / 2, max(box["height"] - 60, box["height"] / 2) / 2
        radius = far * max(min(x, y) - 40, 60)
        along = math.radians(heading)
        return (
            box["x"] + x + radius * math.sin(along),
            box["y"] + y - radius * math.cos(along),
        )


@pytest.fixture
def open_table(browser, served):
    """A function that opens the table's page."""
    opened = []

    def open_it(size="desk", mode="light", *, hostile=False):
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=mode,
            has_touch=size != "desk", accept_downloads=True,
        )  # fmt: skip
        found = AtTable(context.new_page(), hostile=hostile)
        found.page.on("pageerror", lambda error: found.faults.append(str(error)))
        found.page.on(
            "console",
            lambda one: found.faults.append(one.text) if one.type == "error" else None,
        )
        found.page.route_web_socket("**/talk", found.route)
        found.page.goto(served.address)
        expect(found.page.locator("#figures tbody tr")).not_to_have_count(0, timeout=WAIT_MS)
        opened.append(found)
        return found

    yield open_it
    for one in opened:
        one.page.context.close()
        assert one.faults == []


def drag(page, *places):
    page.mouse.move(*places[0])
    page.mouse.down()
    for place in places[1:]:
        page.mouse.move(*place, steps=3)
    page.mouse.up()


def test_fingers_turn_and_zoom_and_find_all_buttons_large_enough(open_table):
    table = open_table("phone", "dark")
    tools = table.page.context.new_cdp_session(table.page)

    def touch(kind, *points):
        given = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
        tools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": given})

    touch("touchStart", table.handle(10))
    for heading in (14, 20, 30):
        touch("touchMove", table.handle(heading))
    touch("touchEnd")
    table.rest()
    assert table.last("answer")["heading_deg"] == pytest.approx(30, abs=1.0)
    before = len(table.sent)
    (x, y), view = table.handle(0, 0), table.page.locator("#base").get_attribute("data-view")
    touch("touchStart", (x - 20, y))
    touch("touchStart", (x - 20, y), (x + 20, y))
    touch("touchMove", (x - 60, y), (x + 60, y))
    touch("touchEnd")
    assert table.page.locator("#base").get_attribute("data-view") != view
    assert len(table.sent) == before
    # in one go: an answer that comes meanwhile makes buttons anew
    sizes = table.page.evaluate(
        "() => [...document.querySelectorAll('button, select, input')].filter(e => e.offsetParent)"
        ".map(e => [e.id, ...['width', 'height'].map(k => e.getBoundingClientRect()[k])])"
    )
    assert len(sizes) > 15
    assert [one for one in sizes if min(one[1:]) < FINGER_PIXELS] == []
    assert table.page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]


def test_a_slow_engine_is_asked_for_the_newest_alone(open_table):
    table = open_table()
    table.slow = True
    before = len(table.sent)
    x, y = table.handle(10)
    table.page.mouse.move(x, y)
    table.page.mouse.down()
    for heading in range(12, 61, 2):
        table.page.mouse.move(*table.handle(heading))
    table.page.mouse.up()
    table.page.wait_for_timeout(100)
    assert len(table.sent) == before + 1
    table.release()
    table.rest()
    changes = [one for one in table.sent[before:] if one["do"] == "change"]
    assert len(changes) == 2
    assert len({one["stroke"] for one in changes}) == 1
    assert changes[-1]["changes"]["direction.heading"] == pytest.approx(60, abs=0.6)
    assert table.last("answer")["heading_deg"] == changes[-1]["changes"]["direction.heading"]


def test_a_line_that_is_lost_is_told_and_what_was_changed_comes_back(open_table):
    table = open_table()
    table.page.fill("#heading", "77")
    table.page.press("#heading", "Enter")
    table.rest()
    before = len(table.sent)
    table.page.evaluate(WATCH)
    table.line.close()
    table.page.wait_for_timeout(100)
    expect(table.page.locator("#line")).to_be_hidden(timeout=WAIT_MS)
    table.rest()
    assert "lost" in table.page.evaluate("window.seen")
    assert table.sent[before]["do"] == "document"
    assert "77" in table.sent[before]["toml"]
    assert table.last("answer")["heading_deg"] == pytest.approx(77)
    assert table.value("heading").startswith("77")
    # cut once more after the ground has come, and before the plan handed back is answered
    table.slow, before = True, len(table.sent)
    table.line.close()
    while not any(json.loads(one)["say"] == "ground" for one in table.held):
        table.page.wait_for_timeout(20)
    table.line.send(next(one for one in table.held if json.loads(one)["say"] == "ground"))
    table.page.wait_for_timeout(50)
    table.slow = False
    table.held.clear()
    table.line.close()
    table.page.wait_for_timeout(100)
    expect(table.page.locator("#line")).to_be_hidden(timeout=WAIT_MS)
    table.rest()
    assert [one["do"] for one in table.sent[before:]] == ["document", "document"]
    assert table.value("heading").startswith("77")


def test_each_list_chooses_and_what_a_system_lacks_is_told(open_table):
    table = open_table()
    expect(table.page.locator("#systems")).to_be_enabled(timeout=WAIT_MS)
    offers = table.last("offers")
    assert len(offers["sets"]) > 1
    for kind in ("sets", "headlands", "starts", "systems"):
        chosen = table.last("answer")["chosen"][kind]
        place = next(k for k in reversed(range(len(offers[kind]))) if k != chosen)
        table.page.select_option(f"#{kind}", index=place)
        table.rest()
        assert table.last("answer")["chosen"][kind] == place
        assert table.page.locator(f"#{kind}").evaluate("list => list.selectedIndex") == place
    # the last system needs a drill that the shed lacks, and is told to stand on a made-up one
    assert not table.last("offers")["systems"][place]["can"]
    assert table.page.locator("#systems option").nth(place).inner_text().endswith(": not yet")
    expect(table.page.locator("#systems-words.warning")).to_contain_text("as an example")
    expect(table.page.locator("#grave")).to_contain_text("made up, none of the farm's")
    expect(table.page.locator("#unfit")).to_contain_text("can't be done yet")
    above, below = (table.page.locator(f"#{one}").bounding_box() for one in ("unfit", "figures"))
    assert above["y"] + above["height"] <= below["y"]
    fit = next(k for k, one in enumerate(table.last("offers")["systems"]) if one["can"])
    table.page.select_option("#systems", index=fit)
    expect(table.page.locator("#unfit")).to_be_hidden(timeout=WAIT_MS)


def test_a_low_screen_shows_the_set_across_and_every_figure_without_a_scroll_sideways(open_table):
    table = open_table("low")
    expect(table.page.locator("#systems")).to_be_enabled(timeout=WAIT_MS)
    systems = table.last("offers")["systems"]
    place = next(k for k, one in enumerate(systems) if one["label"] == "mixed stand")
    table.page.select_option("#systems", index=place)
    expect(table.page.locator("#driven")).to_contain_text("not counted: harvest", timeout=WAIT_MS)
    assert table.page.locator("#side").evaluate("one => one.scrollWidth <= one.clientWidth")
    for wide in table.page.locator("#systems, #offset, #sets").all():
        assert wide.evaluate("one => one.scrollWidth <= one.clientWidth")
    across = table.page.locator("#section").bounding_box()
    assert across["y"] + across["height"] <= SIZES["low"][1]
    changed = table.page.locator("#changed")
    expect(changed).to_have_text("Changed: strips and mixture corn_soybean")
    line_px = changed.evaluate("one => parseFloat(getComputedStyle(one).lineHeight)")
    assert changed.bounding_box()["height"] <= 2 * line_px + 1
    assert "corn_soybean" in table.text("legend")
    table.page.click("#undo")
    table.rest()
    assert "corn_soybean" not in table.text("legend")


def test_columns_stand_apart_and_lists_show_their_longest_line(open_table):
    """At 1024 and 820 pixels columns stood 4 apart, and a headland's width was cut off."""
    table = open_table("low")
    table.page.select_option("#headlands", label="all round, 1 pass, 40 ft")
    table.rest()
    expect(table.page.locator("#figures thead th")).to_have_text(["Now", "Saved plan", "Change"])
    for width, height in ((1024, 768), (1366, 768), (1440, 900), (820, 1180), (390, 844)):
        table.page.set_viewport_size({"width": width, "height": height})
        assert table.page.evaluate(LEAST_GAP) >= GAP_PIXELS, width
        assert table.page.locator("#side").evaluate("one => one.scrollWidth <= one.clientWidth")
        for name in ("headlands", "starts"):
            assert table.page.locator(f"#{name}").evaluate(WIDEST) <= 0, (name, width)


def test_what_is_refused_is_marked_and_goes_as_its_box_is_left(open_table):
    table = open_table()
    before = table.value("heading")
    keys = table.page.keyboard
    for leave in ("Escape", "Tab"):
        table.page.fill("#heading", "270")
        keys.press("Enter")
        expect(table.page.locator("#heading")).to_have_attribute("aria-invalid", "true")
        assert table.value("heading") == "270"
        keys.press(leave)
        assert table.value("heading") == before
        assert table.page.get_attribute("#heading", "aria-invalid") is None


def drop(page, name, text):
    """Drop a file on the page, as from a folder."""
    page.evaluate(
        """([name, text]) => {
          const dataTransfer = new DataTransfer();
          dataTransfer.items.add(new File([text], name));
          document.body.dispatchEvent(new DragEvent("drop", {dataTransfer, bubbles: true}));
        }""",
        [name, text],
    )


KEEP_AT_ONCE = """() => {
  const line = document.getElementById("line");
  new MutationObserver((_, watcher) => {
    if (!line.hidden) {
      watcher.disconnect();
      document.getElementById("keep").click();
    }
  }).observe(line, {attributes: true});
}"""


def test_a_copy_that_was_kept_is_dropped_on_a_page_begun_anew(open_table):
    table = open_table()
    for typed, shown in [("12", "12 ft"), ("1.5 yd", "4.5 ft")]:  # without a unit, and with one
        table.page.fill("#offset", typed)
        table.page.press("#offset", "Enter")
        table.rest()
        assert table.value("offset") == shown
    table.page.evaluate(KEEP_AT_ONCE)
    with table.page.expect_download() as kept:
        table.line.close()
    text = Path(kept.value.path()).read_text(encoding="utf-8")
    assert text == table.last("answer")["document"]
    assert kept.value.suggested_filename == f"kept_{table.last('ground')['file']}"
    again = open_table()
    assert again.value("offset") != "4.5 ft"
    drop(again.page, kept.value.suggested_filename, text)
    expect(again.page.locator("#offset")).to_have_value("4.5 ft", timeout=WAIT_MS)
    assert again.last("answer")["document"] == text
    again.page.click("#undo")
    again.rest()
    assert again.value("offset") != "4.5 ft"


def test_what_was_not_saved_is_warned_of_and_a_boundary_dropped_and_a_search_cancelled(open_table):
    table = open_table()
    told = []

    def stay(dialog):
        told.append(dialog.type)
        dialog.dismiss()

    table.page.on("dialog", stay)
    table.page.click("#turn-on")
    table.rest()
    heading = table.last("answer")["heading_deg"]
    table.page.close(run_before_unload=True)
    table.page.wait_for_timeout(200)
    assert told == ["beforeunload"]
    table.page.evaluate("['best', 'cancel'].forEach(one => document.getElementById(one).click())")
    expect(table.page.locator("#line-words")).to_contain_text("nothing is changed", timeout=WAIT_MS)
    expect(table.page.locator("#doing")).to_be_hidden()
    assert table.last("answer")["heading_deg"] == heading
    ring = [[-93.5, 42.0], [-93.497, 42.0], [-93.497, 42.003], [-93.5, 42.003], [-93.5, 42.0]]
    drop(table.page, "dropped.geojson", json.dumps({"type": "Polygon", "coordinates": [ring]}))
    expect(table.page.locator("#about")).to_contain_text("20.", timeout=WAIT_MS)
    expect(table.page.locator("#figures")).to_contain_text("20.", timeout=WAIT_MS)


def test_names_are_text_whatever_they_hold(open_table):
    table = open_table("tablet", hostile=True)
    assert table.text("title") == HOSTILE
    assert HOSTILE in table.text("figures")
    assert HOSTILE in table.text("legend")
    assert HOSTILE in table.page.locator("#section").get_attribute("aria-label")
    assert table.page.locator("img").count() == 0


def test_a_field_is_drawn_by_hand_and_another_opened(open_table, served, tmp_path):
    table = open_table("tablet")
    page = table.page
    page.click("#sketch")
    for length, bearing in [
        ("1,320", "90"),
        ("1320 ft", "180"),
        ("0.25 mi", "270"),
        ("500", "0"),
    ]:
        page.fill("#draw-length", length)
        page.fill("#draw-bearing", bearing)
        page.press("#draw-length", "Enter")
    page.fill("#draw-length", "12,5")
    page.fill("#draw-bearing", "0")
    page.press("#draw-length", "Enter")
    assert "Decimals take a point" in table.text("draw-told")
    page.click("#draw-undo")
    assert table.text("draw-told") == "4 corners, 40.0 acres so far"
    page.click("#draw-close")
    assert "latitude" in table.text("draw-told")
    page.fill("#draw-latitude", "42,03")
    page.fill("#draw-longitude", "-93.47")
    page.click("#draw-close")
    assert "Decimals take a point" in table.text("draw-told")
    page.fill("#draw-latitude", "99")
    assert table.text("draw-where") == "There is no such place: degrees north or south go up to 90."
    page.fill("#draw-latitude", "42.03")
    page.fill("#draw-longitude", "93.47")  # China: seen before it is drawn
    assert (
        table.text("draw-where") == "That is 42.03\N{DEGREE SIGN} north, 93.47\N{DEGREE SIGN} east."
    )
    page.fill("#draw-longitude", "-93.47")
    page.click("#draw-close")
    expect(page.locator("#drawing")).to_be_hidden(timeout=WAIT_MS)
    table.rest()
    assert "40.00 ac" in table.text("about")
    assert "42.0\N{DEGREE SIGN} north, 93.5\N{DEGREE SIGN} west" in table.text("about")
    expect(page.locator("#grave")).to_contain_text("is drawn by hand; measure the field")
    write_field(tmp_path, square(SIDE_FT))
    page.set_input_files("#file", tmp_path / "field.geojson")
    expect(page.locator("#about")).to_contain_text(
        format_area(shapely.area(square(SIDE_FT)), "us"), timeout=WAIT_MS
    )


def test_all_is_done_by_keys(open_table, served):
    table = open_table()
    keys = table.page.keyboard

    def tab_to(part):
        for _ in range(60):
            if table.page.evaluate("document.activeElement.id") == part:
                return
            keys.press("Tab")
        pytest.fail(f"no Tab comes to {part}")

    tab_to("over")
    for key in ["ArrowRight", "ArrowRight", "ArrowLeft", "Shift+ArrowRight"]:
        keys.press(key)
    table.rest()
    assert table.last("answer")["heading_deg"] == pytest.approx(11.1)
    offers, start = table.last("offers"), table.last("answer")["offset_m"]
    set_m = table.last("answer")["set_m"]
    for key, step_m in [("]", offers["planter_m"]), ("Shift+}", offers["row_m"])]:
        keys.press(key)
        table.rest()
        moved = (start - table.last("answer")["offset_m"]) % set_m
        assert moved == pytest.approx(step_m % set_m, abs=0.01)
        start = table.last("answer")["offset_m"]
    for _ in range(6):
        keys.press("Control+z")
    table.rest()
    assert table.last("answer")["heading_deg"] == pytest.approx(10)
    assert not table.last("answer")["can_undo"]
    keys.press("Control+y")
    table.rest()
    assert table.last("answer")["heading_deg"] == pytest.approx(11)
    tab_to("heading")
    keys.press("Control+a")
    keys.type("270")
    keys.press("Enter")
    expect(table.page.locator("#faults li").first).to_contain_text("heading")
    assert table.page.locator("#turns + #refused").count() == 1
    assert table.value("heading") == "270"
    assert table.last("answer")["heading_deg"] == pytest.approx(11)
    keys.press("Control+a")
    keys.type("33.5")
    keys.press("Enter")
    table.rest()
    expect(table.page.locator("#refused")).to_be_hidden()
    expect(table.page.locator("#said")).to_contain_text("33.5")
    tab_to("save")
    keys.press("Enter")
    keys.press("Control+a")
    keys.type("keys.toml")
    keys.press("Enter")
    expect(table.page.locator("#saved")).to_contain_text("keys.toml")
    table.page.get_by_role("button", name="Close", exact=True).click()
    expect(table.page.locator("#saved")).to_be_hidden()
    assert read_plan(served.folder / "keys.toml").direction.heading == 33.5


def test_what_is_dragged_and_saved_is_laid_with_the_accounts_that_were_shown(open_table, served):
    table = open_table()
    begun = table.last("answer")["heading_deg"]
    drag(table.page, table.handle(begun), table.handle(25), table.handle(40))
    table.rest()
    heading = table.last("answer")["heading_deg"]
    assert heading == pytest.approx(40, abs=0.6)
    before = table.last("answer")["offset_m"]
    scale = float(table.page.locator("#base").get_attribute("data-view").split()[2])
    x, y = table.handle(40, 0.35)
    along = math.radians(heading + 90)
    drag(table.page, (x, y), (x + 15 * scale * math.sin(along), y - 15 * scale * math.cos(along)))
    table.rest()
    answer = table.last("answer")
    moved = (before - answer["offset_m"]) % answer["set_m"]
    assert moved == pytest.approx(15 % answer["set_m"], abs=1.0)
    now, saved, change = table.figure("strips")
    assert now != saved
    assert change[0] in "+\N{MINUS SIGN}"
    table.page.click("#save")
    table.page.fill("#name", "dragged.toml")
    table.page.keyboard.press("Enter")
    expect(table.page.locator("#saved")).to_contain_text("striplay lay dragged.toml")
    layout = lay(read_plan(served.folder / "dragged.toml"))
    told = told_areas(layout.plan, layout.accounts)
    assert layout.accounts["field"]["heading_deg"] == pytest.approx(heading)
    assert now == format_area(told.land_m2["strips"], "us")
    for place, crop in enumerate(["corn", "soybean"], start=1):
        assert table.figure("area", group=place)[0] == format_area(told.crops_m2[crop], "us")
    # a page loaded again begins with the plan that was saved last
    table.page.reload()
    expect(table.page.locator("#about")).to_contain_text("dragged.toml", timeout=WAIT_MS)
    expect(table.page.locator("#changed")).to_have_text("As the saved plan.", timeout=WAIT_MS)
    assert table.last("answer")["heading_deg"] == pytest.approx(heading)
