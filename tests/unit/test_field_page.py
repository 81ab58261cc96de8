"""The field page as it is written: its data, its policy, and how large it is."""

import base64
import hashlib
import json
import re
from datetime import date
from html.parser import HTMLParser
from importlib import resources

import numpy as np
import pytest
import shapely
from fields import FOOT_M, NAMES, SAMPLES, SHED, lay_on, sample, square

from striplay.accounts.told import told_areas
from striplay.cautions import cautions_for
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.handover import content_of
from striplay.limits import MAX_ROWS_SENT_BYTES
from striplay.page.bind import json_text, read, script_of
from striplay.page.fields import PIECES as FIELDS_PAGE
from striplay.page.page import FIELD_PAGE, encode, page_of
from striplay.page.sent import sent
from striplay.section.occasions import occasions_of

HOSTILE = "</script><!--<script>'\"&\u2028\x00\ud7ff{{data}}\N{RIGHT-TO-LEFT OVERRIDE}"
MEGABYTE = 1_000_000
CROPS = ("corn", "soybean")


class Parts(HTMLParser):
    """Takes a page apart: its elements, their attributes, and what stands in them."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs), []))

    def handle_endtag(self, tag):
        self.found.append((f"/{tag}", {}, []))

    def handle_data(self, data):
        if self.found:
            self.found[-1][2].append(data)


def parts_of(page):
    parser = Parts()
    parser.feed(page.decode())
    return parser.found


def data_of(page):
    """Give the data of a page, as a browser reads it."""
    [text] = ["".join(text) for tag, given, text in parts_of(page)
              if given.get("type") == "application/json"]  # fmt: skip
    return json.loads(text)


def line_of(steps):
    """Give a line as the page reads it, in meters."""
    points = np.cumsum(np.reshape(steps, (-1, 2)), axis=0) / 100
    return shapely.LineString(points if len(points) > 1 else np.repeat(points, 2, axis=0))


def page(name):
    return encode(content_of(sample(name)))["field.html"]


def test_text_is_data_whatever_it_holds():
    data = {"title": HOSTILE, "facts": [[HOSTILE, HOSTILE]]}
    written = page_of(data)
    assert data_of(written) == data
    kinds = [tag for tag, _, _ in parts_of(written)]
    assert kinds.count("script") == 2
    assert kinds.count("img") == 0
    inside = json_text(data)
    assert "<" not in inside
    assert all(character.isprintable() for character in inside)


def test_the_policy_names_the_hashes_of_script_and_style_and_lets_nothing_else():
    found = parts_of(page_of({}))
    [policy] = [given["content"] for _, given, _ in found if "http-equiv" in given]
    hashed = {}
    for tag, given, text in found:
        if tag == "style" or given.get("type") == "module":
            digest = hashlib.sha256("".join(text).encode()).digest()
            hashed[tag] = f"'sha256-{base64.b64encode(digest).decode()}'"
    assert dict(part.split(" ", 1) for part in policy.split("; ")) == {
        "default-src": "'none'",
        "script-src": hashed["script"],
        "style-src": hashed["style"],
        "img-src": "data:",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    every = {name for _, given, _ in found for name in given}
    assert not [name for name in every if name.startswith("on") or name in {"style", "src", "href"}]
    assert not re.search(rb"https?:", page_of({}))


def test_every_module_is_in_the_script_after_those_it_imports():
    files = {f"page/{one.name}" for one in resources.files("striplay.page").iterdir()}
    used = {*FIELD_PAGE.scripts, *FIELDS_PAGE.scripts}
    assert used == {name for name in files if name.endswith(".js")}
    for place, name in enumerate(FIELD_PAGE.scripts):
        asked = re.findall(r'from "\./(\w+\.js)"', read(name))
        assert {f"page/{one}" for one in asked} <= set(FIELD_PAGE.scripts[:place])
    script = script_of(FIELD_PAGE)
    assert not re.search(r"^(import|export) ", script, re.MULTILINE)
    assert "</script" not in script


def test_the_same_layout_gives_the_same_page():
    assert page("pond_ell") == page("pond_ell")


@pytest.mark.parametrize("name", NAMES)
def test_it_is_sent_every_strip_row_and_pass_where_it_lies(name):
    layout, data = sample(name), data_of(page(name))
    strips = layout.strips.geometry.to_numpy()
    rings = [
        shapely.union_all([shapely.Polygon(line_of(ring)) for ring in one["rings"][:1]])
        for one in data["strips"]
    ]
    # simplified by 5 cm, rounded to one
    apart = shapely.hausdorff_distance(shapely.get_exterior_ring(rings),
                                       shapely.get_exterior_ring(strips), densify=0.2)  # fmt: skip
    assert apart.max() < 0.06
    sent_rows = [*(row for one in data["strips"] for row in one["rows"])]
    between = [*(row for one in data["strips"] for row in one["rows_between"])]
    assert len(sent_rows) == (layout.rows["layer"] == 0).sum()
    assert len(between) == (layout.rows["layer"] > 0).sum()
    for one, strip in zip(data["strips"], strips, strict=True):
        rows = [line_of(row) for row in [*one["rows"], *one["rows_between"], one["guide"]]]
        assert shapely.covers(shapely.buffer(strip, 0.06), rows).all()
    for one, sheet in zip(data["operations"], layout.worksheets, strict=True):
        assert [each["name"] for each in one["passes"]] == [str(n) for n in sheet.number]
        for each, line in zip(one["passes"], sheet.judged.route.line, strict=True):
            drawn = shapely.union_all([line_of(stretch) for stretch in each["stretches"]])
            assert shapely.hausdorff_distance(drawn, line) < 0.06
        keys = list(zip(layout.strips["strip"], layout.strips["piece"], strict=True))
        over = [[keys[at] for at in each["over"]] for each in one["passes"]]
        worked = [[tuple(pair) for pair in sheet.worked[1:, sheet.worked[0] == of].T.tolist()]
                  for of in range(len(sheet))]  # fmt: skip
        assert over == worked


def test_crops_between_rows_are_told_with_rows_and_seed():
    layout = lay(read_plan(SAMPLES / "pond_ell" / "quick_crop.toml"))
    content = content_of(layout)
    data = sent(content)
    sown = content.lists["strip_crops.csv"]
    sown = sown[sown["how"] == "quick crop"].set_index("strip")
    told = data["labels"]["strip"].index("Also sown")
    assert {one["between"] for one in data["strips"]} == {content.looks["lettuce"].letter}
    for one in data["strips"]:
        [name, *piece] = one["name"].split("/")
        line = sown.loc[int(name)]
        words = one["words"][told]
        assert words.startswith(f"lettuce (quick crop): {line['rows']} rows, "), words
        assert f"{line['seed_units']:,.1f} units, " in words
        assert words.endswith("in all pieces of the strip") == bool(piece)
    rows = layout.rows
    assert sum(len(one["rows_between"]) for one in data["strips"]) == (rows["layer"] > 0).sum()
    assert sum(len(one["rows"]) for one in data["strips"]) == (rows["layer"] == 0).sum()
    acres = f"{sown['area_m2'].sum() / 4046.8564224:.2f} ac"
    assert ("lettuce (quick crop)", acres) in data["facts"]


def test_land_adds_up_to_the_field_as_on_the_cover_map():
    layout = sample("pond_ell")
    facts = dict(sent(content_of(layout))["facts"])
    del facts["Strips"]
    told = told_areas(layout.plan, layout.accounts)
    cover = {**told.crops_m2, **told.land_m2}
    del cover["strips"]
    assert {name.lower(): words for name, words in facts.items() if name != "Field"} == {
        name: f"{area_m2 / 4046.8564224:.2f} ac" for name, area_m2 in cover.items() if area_m2
    }
    whole, *parts = (float(words.split()[0]) for words in facts.values())
    assert sum(parts) == pytest.approx(whole, abs=1e-9)


def test_it_bears_the_plans_mark_farm_and_date():
    layout = sample("quarter_section")
    plan = layout.plan
    data = sent(content_of(layout, printed=date(2027, 3, 4)))
    assert (data["title"], data["mark"], data["date"]) == (plan.title, layout.mark, "2027-03-04")
    assert data["farm"] == ", ".join(filter(None, (plan.farm.name, plan.farm.operator)))
    told = [about for about, _ in data["cautions"]]
    assert told == [
        one.about
        for one in cautions_for(
            occasions_of(layout.plan, layout.section, holed=not layout.ground.holes.is_empty)
        )
    ]


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_under_a_megabyte(name):
    assert len(page(name)) < MEGABYTE


FINE = SHED.replace('rows = 16\nspacing = "30 in"', 'rows = 64\nspacing = "7.5 in"', 1).replace(
    'rows = 8\nspacing = "30 in"', 'width = "40 ft"'
)


@pytest.mark.parametrize(
    ("shed", "rows", "direction", "all_rows"),
    [(FINE, 64, "heading = 20", True), (SHED, 16, "pivot = [-93.5, 42.0]", False)],
)
def test_65_ha_are_under_a_megabyte(tmp_path, shed, rows, direction, all_rows):
    """A quarter section of 160 acres: half a mile square, 64.75 ha; rows of 7.5 in, or in rings."""
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = {rows}\n' for crop in CROPS)
    layout = lay_on(tmp_path, square(), shed=shed, strips=strips, direction=direction)
    assert layout.ground.outline.area == pytest.approx(647_497, rel=1e-4)
    written = encode(content_of(layout))["field.html"]
    assert len(written) < MEGABYTE
    data = data_of(written)
    drawn = [row for strip in data["strips"] for row in strip["rows"]]
    assert len(json.dumps(drawn, separators=(",", ":"))) < MAX_ROWS_SENT_BYTES
    assert (len(drawn) == len(layout.rows)) == all_rows == (data["missing"] == "")
    if not all_rows:
        assert all(1 <= len(strip["rows"]) <= 2 for strip in data["strips"])


@pytest.mark.parametrize("limit", ["MAX_ROWS_SENT_BYTES", "MAX_ROW_VERTICES_SIMPLIFIED"])
def test_rows_beyond_a_limit_leave_the_outer_ones(monkeypatch, limit):
    monkeypatch.setattr(f"striplay.page.shapes.{limit}", 1000)
    data = sent(content_of(sample("pond_ell")))
    assert data["missing"].startswith("Only the outer rows of each strip's own crop")
    assert all(len(strip["rows"]) <= 2 for strip in data["strips"])
    monkeypatch.undo()
    full = sent(content_of(sample("pond_ell")))
    for few, all_of_it in zip(data["strips"], full["strips"], strict=True):
        assert few["rows"] == [all_of_it["rows"][0], all_of_it["rows"][-1]]


def test_outer_rows_are_those_of_a_strips_own_crop(tmp_path, monkeypatch):
    shed, strips = SYSTEMS["relay"]
    content = content_of(lay_on(tmp_path, square(600), shed=shed, strips=strips))
    full = sent(content)
    monkeypatch.setattr("striplay.page.shapes.MAX_ROWS_SENT_BYTES", 100)
    few = sent(content)
    assert all(one["rows_between"] for one in full["strips"])
    for one, other in zip(few["strips"], full["strips"], strict=True):
        assert (one["rows"], one["rows_between"]) == ([other["rows"][0], other["rows"][-1]], [])
        assert one["guide"] in other["rows"]  # its middle is a row of its own, too


def test_a_strip_without_openers_has_a_middle_all_the_same(tmp_path):
    """A drill whose openers are not given has no rows to draw; its strips run as its passes do."""
    shed = SHED.replace('rows = 16\nspacing = "30 in"', 'width = "40 ft"', 1)
    strips = '[[strips]]\ncrop = "corn"\npasses = 1\n[[strips]]\ncrop = "soybean"\npasses = 1\n'
    headland = '[headland]\nwhere = "none"\n'
    data = sent(content_of(lay_on(tmp_path, square(600), shed=shed, strips=strips,
                                  headland=headland)))  # fmt: skip
    for strip in data["strips"]:
        assert strip["rows"] == []
        assert dict(zip(data["labels"]["strip"], strip["words"], strict=True))["Rows"] == ""
        assert line_of(strip["guide"]).length == pytest.approx(600 * FOOT_M, abs=0.1)


CORN = '[[strips]]\ncrop = "corn"\nrows = 16\n'
DUO = (
    '[crops.oats]\nplanter = "planter"\nrate = "100 lb/acre"\n'
    '[crops.pea]\nplanter = "planter"\nrate = "300000 seeds/acre"\nseed_size = "2000 seeds/lb"\n'
    '[mixtures.duo]\nplanter = "planter"\nparts = {oats = 0.5, pea = 0.75}\n'
)
SYSTEMS = {
    "relay": (SHED, CORN + '[[relay]]\ncrop = "soybean"\ninto = "corn"\n'),
    "row set": (SHED, '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'),
    "mixture": (SHED + DUO, CORN + '[[strips]]\ncrop = "duo"\nrows = 16\n'),
}


@pytest.mark.parametrize("name", SYSTEMS)
def test_every_system_tells_what_is_sown_in_a_strip_and_which_passes_are_over_it(tmp_path, name):
    shed, strips = SYSTEMS[name]
    layout = lay_on(tmp_path, square(1000), shed=shed, strips=strips)
    content = content_of(layout)
    data = data_of(encode(content)["field.html"])
    sown = content.lists["strip_crops.csv"]
    for one, strip in zip(data["strips"], layout.strips["strip"], strict=True):
        told = dict(zip(data["labels"]["strip"], one["words"], strict=True))
        others = sown[(sown["strip"] == strip) & (sown["how"] != "own")]
        assert [words.split(":")[0] for words in told["Also sown"].split("; ") if words] == [
            f"{crop} ({how})" for crop, how in zip(others["crop"], others["how"], strict=True)
        ]
        assert data["crops"][one["crop"]]["name"] == told["Crop"]
        assert len(one["rows"]) > 0
    guides = [line_of(one["guide"]) for one in data["strips"]]
    assert shapely.covers(shapely.buffer(layout.strips.geometry.to_numpy(), 0.06), guides).all()
    if name == "relay":
        told = {one["words"][1] for one in data["strips"]}
        assert {words.split(":")[0] for words in told} == {"soybean (relay)"}
    planting = [one for one in data["operations"] if one["name"].startswith("plant")]
    over = {at for one in planting for each in one["passes"] for at in each["over"]}
    assert over == set(range(len(data["strips"])))
