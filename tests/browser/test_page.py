"""The field page as a whole: alone with its file, safe with any text, fit to be read and used."""

import io
import json
import re

import pypdf
import pytest
from fields import AROUND, SHED, STRIPS, lay_on, sample, square

HOSTILE = (
    "</script><script>window.hit = 1</script><img src=x onerror='window.hit = 1'> & \"{{data}}\""
)
CROP = "<img src=x onerror=window.hit=1>\"'; \u0410\u0431 \u0627\u0628"
MACHINE = "=cmd&<script>hit()</script>"
TABS = ("strip", "passes", "where", "cautions")
VISIBLE = """() => [...document.querySelectorAll("button, input, select, summary")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.id || one.textContent, one.getBoundingClientRect()])
  .map(([name, { width, height }]) => [name, width, height])"""
CONTRASTS = """() => {
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const light = (rgb) => rgb.slice(0, 3).map((c) => c / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const behind = (one) => {
    const found = parts(getComputedStyle(one).backgroundColor);
    return found.length > 3 && found[3] === 0 ? behind(one.parentElement) : found;
  };
  const says = (one) => [...one.childNodes].some((c) => c.nodeType === 3 && c.data.trim());
  return [...document.body.querySelectorAll("*")]
    .filter((one) => one.checkVisibility() && !one.disabled && says(one))
    .map((one) => {
      const [a, b] = [light(parts(getComputedStyle(one).color)), light(behind(one))];
      return [one.textContent.slice(0, 30), (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05)];
    });
}"""
PRINTED = """() => [
  [...document.querySelectorAll("#print .key p")].map((one) => one.textContent),
  [...document.querySelectorAll("#print table")].map((table) =>
    [...table.tHead.rows[0].cells].map((head, column) =>
      [head.textContent, [...table.tBodies[0].rows].map((row) => row.cells[column].textContent)
        .join("")])),
]"""
"""The key, and each table's columns: head and all words below it."""
"""Contrast of texts with what is behind them: Web Content Accessibility Guidelines 2.2, W3C."""


def test_it_opens_without_a_network_and_asks_for_nothing(open_page):
    opened = open_page()
    assert opened.text("title") == opened.layout.plan.title
    assert opened.page.title() == opened.layout.plan.title
    assert opened.layout.mark in opened.text("about")
    assert len(opened.asked) == 1  # the file itself
    pixel = "() => [...base.getContext('2d').getImageData(180, 150, 1, 1).data]"
    assert opened.page.evaluate(pixel)[3] == 255


def renamed(text):
    """Give a plan's tables with a crop and a machine of names that are markup and code."""
    for table, old, new in (("crops", "corn", CROP), ("machines", "planter", MACHINE)):
        quoted = json.dumps(new, ensure_ascii=False)
        text = text.replace(f"[{table}.{old}]", f"[{table}.{quoted}]")
        text = text.replace(f'"{old}"', quoted)
    return text


def test_text_is_shown_as_it_is_and_never_runs(open_page, tmp_path):
    layout = lay_on(
        tmp_path, square(1000), shed=renamed(SHED), strips=renamed(STRIPS), headland=renamed(AROUND)
    )
    opened = open_page(layout, title=HOSTILE)
    page = opened.page
    assert opened.text("title") == HOSTILE
    assert page.title() == HOSTILE
    page.fill("#number", "1")
    page.keyboard.press("Enter")
    assert opened.text("strip-title") == f"Strip 1: {CROP}"
    assert opened.facts("strip-facts")["Crop"] == CROP
    assert CROP in page.locator("#strip-passes").inner_text()
    page.click("#tab-passes")
    [sheet] = [one for one in layout.worksheets if one.name == f"plant {CROP}"]
    page.select_option("#operation", label=sheet.name)
    assert MACHINE in opened.text("answer")
    assert CROP in opened.text("pass-facts")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert CROP in page.locator("#print").text_content()
    assert page.evaluate("window.hit") is None
    assert page.locator("img").count() == 0
    assert page.locator("script").count() == 2


def test_its_policy_lets_nothing_else_run_or_load(open_page):
    opened = open_page()
    refused = opened.page.evaluate(
        """async () => {
          const refused = [];
          document.addEventListener("securitypolicyviolation", (event) =>
            refused.push(event.effectiveDirective));
          const script = document.createElement("script");
          script.textContent = "window.hit = 1";
          const style = document.createElement("style");
          style.textContent = "body { display: none }";
          const image = new Image();
          image.src = "http://127.0.0.1:9/x.png";
          document.body.append(script, style, image);
          document.body.setAttribute("onclick", "window.hit = 1");
          document.body.click();
          await fetch("http://127.0.0.1:9/").catch(() => {});
          await new Promise((done) => setTimeout(done, 50));
          return refused;
        }"""
    )
    assert opened.page.evaluate("window.hit") is None
    assert {
        "script-src-elem",
        "script-src-attr",
        "style-src-elem",
        "img-src",
        "connect-src",
    } <= set(refused)
    opened.faults.clear()  # the browser tells each refusal,
    opened.asked.clear()  # and names what it did not load


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_targets_are_large_and_nothing_runs_off_the_page(open_page, size):
    """At least 44 pixels, as Web Content Accessibility Guidelines 2.2 (W3C), 2.5.5, ask for."""
    opened = open_page(sample("two_parts"), size)
    page = opened.page
    for tab in TABS:
        page.click(f"#tab-{tab}")
        small = [one for one in page.evaluate(VISIBLE) if min(one[1:]) < 44]
        assert small == []
        wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(wide) == 0
        assert page.evaluate("document.getElementById('side').scrollWidth") <= page.evaluate(
            "document.getElementById('side').clientWidth"
        )


@pytest.mark.parametrize(("mode", "page_mode"), [("light", "sunlight"), ("dark", "dark")])
def test_it_is_read_in_sunlight_and_in_the_dark(open_page, mode, page_mode):
    opened = open_page(mode=mode)
    page = opened.page
    assert page.locator("body").get_attribute("data-mode") == page_mode
    for _ in range(2):
        for tab in TABS:
            page.click(f"#tab-{tab}")
            assert [one for one in page.evaluate(CONTRASTS) if one[1] < 7] == []
        page.click("#mode")
    assert page.locator("body").get_attribute("data-mode") == page_mode
    corner = page.evaluate("() => [...base.getContext('2d').getImageData(300, 20, 1, 1).data]")
    assert (sum(corner[:3]) > 700) == (mode == "light")


def test_every_part_has_a_name_for_a_reader_of_screens(open_page):
    opened = open_page()
    for tab in TABS:
        opened.page.click(f"#tab-{tab}")
        nodes = opened.devtools.send("Accessibility.getFullAXTree")["nodes"]
        roles = {"button", "textbox", "combobox", "tab", "tabpanel", "application", "option"}
        named = [
            (node["role"]["value"], node.get("name", {}).get("value", ""))
            for node in nodes
            if not node["ignored"] and node["role"]["value"] in roles
        ]
        assert len(named) > 8
        assert [role for role, name in named if not name.strip()] == []
    assert opened.page.locator("#said").get_attribute("role") == "status"
    assert opened.page.locator("html").get_attribute("lang") == "en"


def test_tabs_are_walked_by_keys(open_page):
    page = open_page().page
    page.focus("#tab-strip")
    page.keyboard.press("ArrowRight")
    assert page.locator("#tab-passes").get_attribute("aria-selected") == "true"
    assert page.evaluate("document.activeElement.id") == "tab-passes"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "operation"
    page.focus("#tab-passes")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert page.locator("#tab-cautions").get_attribute("aria-selected") == "true"


def test_cautions_are_there_in_short(open_page):
    opened = open_page()
    opened.page.click("#tab-cautions")
    told = opened.text("cautions")
    for words in (
        "10 ft (3.05 m)",
        "The label is the law",
        "no extra riders",
        "not a legal survey",
    ):
        assert words.lower() in told.lower()


def test_it_prints_every_strip_and_every_pass_of_the_operation(open_page):
    opened = open_page(mode="dark")
    opened.page.click("#tab-passes")
    pages = pypdf.PdfReader(io.BytesIO(opened.page.pdf(format="Letter"))).pages
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    assert opened.layout.mark in text
    assert "not a legal survey" in text
    for latitude, longitude in opened.layout.worksheets[0].b_lonlat[:, ::-1]:
        assert f"{latitude:.7f}, {longitude:.7f}" in text
    assert opened.page.locator("body").get_attribute("data-mode") == "dark"
    assert opened.page.locator("#print").inner_text() == ""


def test_it_prints_a_key_no_empty_column_and_no_place_of_the_phone(open_page):
    opened = open_page(permissions=["geolocation"])
    page = opened.page
    page.click("#tab-where")

    def printed():
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        found = page.evaluate("document.querySelector('#print canvas').toDataURL()")
        told = page.evaluate(PRINTED)
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        return found, told

    before, (key, columns) = printed()
    assert key == page.locator("#legend p").all_text_contents()
    assert key[:2] == ["C  corn", "S  soybean"]
    assert all(any(cells) for table in columns for cells in table)
    heads = [head for table in columns for head, *_ in table]
    assert "Also sown" not in heads
    assert {"Rows", "Heading"} <= set(heads)
    middle = opened.layout.strips.geometry.iloc[20].centroid
    opened.stand_at(middle.x, middle.y)
    page.click("#locate")
    page.wait_for_function(
        "() => document.getElementById('where-title').textContent.includes('trip')"
    )
    assert printed()[0] == before
