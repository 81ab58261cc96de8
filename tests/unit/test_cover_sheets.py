"""The cover, measured on its paper: true scale, every piece numbered, all that is on it told."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from fields import FOOT_M, NAMES, SAMPLES, lay_on, sample, square, write_shapes
from paths import drawn_on
from pdfs import MM, check_page, pages
from reportlab.pdfgen.canvas import Canvas

from striplay.accounts.words import adding_up
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.report import layout_report
from striplay.sheets.book import book_of, write_pages
from striplay.sheets.cover_sheets import cover_of, cover_story, draw_cover
from striplay.sheets.land import headland_lines, obstacles_named
from striplay.sheets.legend import land_rows, whole_rows
from striplay.sheets.strip_numbers import BOTH_ENDS_PT, numbers_of, texts_of
from striplay.sheets.style import GRAY
from striplay.sheets.tile_sheets import tiles_of
from striplay.units import ACRE_M2

TENTH_MM = 0.1 * MM
MARGIN_PT = 12 * MM
FOOT_PT = 18 * MM


def cover(layout, tmp_path, ink="color"):
    book = book_of(layout, ink=ink)
    path = tmp_path / "cover.pdf"
    assert write_pages(book, path, [cover_story(book, layout)], "cover") == []
    (page,) = pages(path)
    return page, path, book


def on_paper(points_pt):
    """Move points of the drawing to where they stand on the paper."""
    return points_pt + np.array([MARGIN_PT, FOOT_PT])


@pytest.mark.parametrize("ink", ["color", "gray"])
@pytest.mark.parametrize("name", NAMES)
def test_every_piece_has_its_number_and_the_page_is_sound(tmp_path, name, ink):
    layout = sample(name)
    page, _, book = cover(layout, tmp_path, ink)
    check_page(page)
    told = Counter(page.texts)
    texts = texts_of(layout, book)
    assert [text for text in texts if not told[text]] == []
    assert len(set(texts)) == len(texts)
    # at both ends, but for pieces too short for two
    twice = sum(told[text] >= 2 for text in texts)
    assert twice >= 0.85 * len(texts)


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_that_holds_two_numbers_has_one_at_both_ends(name):
    layout = sample(name)
    book = book_of(layout)
    shown = cover_of(book, layout)
    numbered = draw_cover(Canvas("unwritten.pdf"), book, layout, shown)
    begin = numbers_of(layout, book, shown.view).begin
    holds = begin.inward >= 2 * begin.wide + BOTH_ENDS_PT
    count = np.bincount(numbered.piece, minlength=len(holds))
    assert (count[holds] == 2).all()
    assert (count[~holds] == 1).all()


@pytest.mark.parametrize("name", NAMES)
def test_a_cover_says_where_it_lies(tmp_path, name):
    """Degrees each way, north, scale, gate, first start, rounds, and what is not farmed."""
    layout = sample(name)
    texts = cover(layout, tmp_path)[0].texts
    assert any(text.endswith("° N") for text in texts)
    assert any(text.endswith(("° W", "° E")) for text in texts)
    assert {"true N", "first planting pass starts"} <= set(texts)
    assert any(text.startswith("1:") for text in texts)
    assert ("gate" in texts) is (layout.plan.gate is not None)
    assert ("pass round the headland" in texts) is bool(len(headland_lines(layout)))
    assert {name for name, _ in obstacles_named(layout)} <= set(texts)


def test_both_ends_of_every_strip_of_a_quarter_section_are_numbered(tmp_path):
    page, _, book = cover(sample("quarter_section"), tmp_path)
    told = Counter(page.texts)
    assert {told[text] for text in texts_of(sample("quarter_section"), book)} == {2}


def test_a_number_stands_beside_its_strip(tmp_path):
    """On a page whose rows run across, each number stands as high as its strip does."""
    layout = sample("quarter_section")
    page, _, book = cover(layout, tmp_path)
    view = cover_of(book, layout).view
    strips = view.on_page(layout.strips.geometry.to_numpy())
    bounds = shapely.bounds(strips)
    for text, (left, low, right, top) in zip(texts_of(layout, book), bounds, strict=True):
        number, letter = text.split()
        stand = [word for word, after in zip(page.words, page.words[1:], strict=False)
                 if word.text == number and after.text == letter]  # fmt: skip
        x = [(word.box[0] + word.box[2]) / 2 - MARGIN_PT for word in stand]
        y = [(word.box[1] + word.box[3]) / 2 - FOOT_PT for word in stand]
        assert y == pytest.approx([(low + top) / 2] * 2, abs=0.5)
        assert sorted([min(x) < left, max(x) > right]) == [True, True]


def test_scale_bar_and_strips_are_true_to_a_tenth_of_a_millimeter(tmp_path):
    layout = sample("quarter_section")
    page, path, book = cover(layout, tmp_path)
    drawn = drawn_on(path)
    assert "1:5,000" in page.text
    assert "500 ft" in page.text
    # four boxes, black and white by turns, 500 ft long together: 30.48 mm at 1:5,000
    bar = [
        one
        for one in drawn
        if one.filled in {"#000000", "#ffffff"}
        and one.stroked
        and len(one.parts) == 1
        and np.ptp(one.points[:, 1]) == pytest.approx(4.0, abs=0.01)
    ]
    ends = np.concatenate([one.points[:, 0] for one in bar])
    assert len(bar) == 4
    assert np.ptp(ends) == pytest.approx(500 * FOOT_M * 1000 / 5000 * MM, abs=TENTH_MM)
    # strips of 40 ft are 2.44 mm wide, at their own places
    fill = book.looks["corn"].fill.color
    (corn,) = [one for one in drawn if one.filled == fill and len(one.parts) > 10]
    rings = [part for part in corn.parts if len(part) >= 4]
    assert len(rings) == layout.land_accounts["crops"]["corn"]["strips"]
    for ring in rings:
        assert np.ptp(ring[:, 1]) == pytest.approx(40 * FOOT_M / 5 * MM, abs=TENTH_MM)
    view = cover_of(book, layout).view
    strips = layout.strips
    of_corn = view.on_page(strips.geometry.to_numpy()[strips["crop"] == "corn"])
    lows = np.sort([ring[:, 1].min() - FOOT_PT for ring in rings])
    assert lows == pytest.approx(np.sort(shapely.bounds(of_corn)[:, 1]), abs=0.02)


def test_the_gate_and_the_first_start_stand_where_they_are(tmp_path):
    layout = sample("quarter_section")
    page, path, book = cover(layout, tmp_path)
    view = cover_of(book, layout).view
    gate_m = layout.ground.plane.to_plane(np.array([layout.plan.gate]))
    (x, y) = on_paper(view.points(gate_m))[0]
    word = next(word for word in page.words if word.text == "gate"
                and abs((word.box[0] + word.box[2]) / 2 - x) < 0.5)  # fmt: skip
    assert 4 < y - word.box[3] < 10
    # the flag's foot stands on the first planting pass, within 8 points of its start
    line = view.on_page(layout.operations.each[0].route.line[0])
    feet = [one.points.mean(axis=0) for one in drawn_on(path)
            if one.filled == "#000000" and len(one.points) >= 5
            and np.ptp(one.points[:, 0]) == pytest.approx(2.6, abs=0.05)]  # fmt: skip
    away = [shapely.Point(foot - np.array([MARGIN_PT, FOOT_PT])).distance(line) for foot in feet]
    assert min(away) < 0.3
    assert layout.operations.each[0].job.does == "plant"


def test_the_legend_holds_what_is_on_the_page_and_adds_up(tmp_path):
    for name in NAMES:
        layout = sample(name)
        book = book_of(layout)
        rows = [row for row in land_rows(layout, book) if row.right]
        *parts, field = [float(row.right.split()[0].replace(",", "")) for row in rows]
        assert sum(parts) == pytest.approx(field, abs=1e-9)
        unit_m2 = ACRE_M2 if layout.plan.units == "us" else 10_000
        assert field == pytest.approx(layout.ground.outline.area / unit_m2, abs=0.005)
    texts = cover(sample("quarter_section"), tmp_path)[0].texts
    assert "obstacles" not in texts
    assert "left over" not in texts
    assert {"headland, soybean", "field", "gate", "pass round the headland"} <= set(texts)
    texts = cover(sample("pond_ell"), tmp_path)[0].texts
    assert {"obstacles", "headland, not planted"} <= set(texts)
    assert "gate" not in texts


def test_the_legend_names_a_crop_between_rows(tmp_path):
    layout = lay(read_plan(SAMPLES / "pond_ell" / "quick_crop.toml"))
    page, _, _ = cover(layout, tmp_path)
    check_page(page)
    assert "lettuce, between rows of corn" in page.texts


def test_parts_add_up_as_they_are_rounded():
    assert adding_up([1.004, 2.003, 0.005], 3.012, 0.01) == [100, 200, 1]
    assert sum(adding_up([0.333] * 3, 0.999, 0.01)) == 100


@pytest.mark.parametrize("name", NAMES)
def test_areas_are_the_same_on_the_cover_and_in_the_report(tmp_path, name):
    """Obstacles are not 1.97 ac here and 1.96 ac there: all are rounded once, to add up."""
    layout = sample(name)
    lines = layout_report(layout.plan, layout.accounts)
    shown = {row.text: row.right for row in land_rows(layout, book_of(layout))}
    told = {line.split("  ")[0]: line for line in lines}
    for what, area in shown.items():
        if what in told:
            assert f" {area}" in told[what], what
    assert {"field", *layout.land_accounts["crops"]} & set(told) <= set(shown)
    parts = [float(area.split()[0]) for what, area in shown.items() if area and what != "field"]
    assert round(100 * sum(parts)) == round(100 * float(shown["field"].split()[0]))


def test_the_title_block_holds_what_a_conservation_plan_map_does(tmp_path):
    """It holds what the NRCS National Planning Procedures Handbook, 600.31, asks of a plan map.

    Title, for whom, district or county and state, scale, legal location, date, north arrow.
    """
    page, _, _ = cover(sample("quarter_section"), tmp_path)
    told = " ".join(page.texts)
    for words in ("Map: Alder Bend, home quarter", "For: R. Alder, Alder Bend Farm",
                  "County, state: Invented County, Iowa", "Legal location: SW 1/4, section 12",
                  "Date: 2026-04-01", "1:5,000 (1 in = 417 ft)", "true N",
                  "Prepared by: A. Adviser"):  # fmt: skip
        assert words in told, words


def test_the_gravest_notices_and_the_cautions_stand_in_a_box(tmp_path):
    layout = sample("creek_side")
    page, _, _ = cover(layout, tmp_path)
    told = " ".join(page.texts)
    worst = [one for one in layout.notices if one.severity != "know"]
    for notice in worst[:3]:
        assert book_of(layout).say(notice.text) in told
    assert f"{len(worst) - 3} more in the appendix" in told
    assert "…" not in told
    for words in ("Not a legal survey", "10 ft (3.05 m)", "The label is the law"):
        assert words in told


@pytest.mark.parametrize("name", NAMES)
def test_a_notice_stands_whole_on_the_cover_or_is_counted(tmp_path, name):
    layout = sample(name)
    told = " ".join(cover(layout, tmp_path)[0].texts)
    grave = [one for one in layout.notices if one.severity != "know"]
    say = book_of(layout).say
    whole = sum(say(one.text) in told for one in grave)
    where = [one for one in grave if one.kind == "passes"]
    assert not where or any(say(one.text) in told for one in where)
    assert whole or not grave
    left = len(grave) - whole
    assert (f"({left} more in the appendix)" in told) is bool(left)


def test_texts_are_set_whole_or_left_and_counted():
    long = "see that a header meets nothing there " * 30
    rows, left = whole_rows([long, "shut the boom"], 300.0, 4)
    assert [row.text for row in rows] == ["shut the boom"]
    assert left == 1
    rows, left = whole_rows([long], 300.0, 99)
    assert " ".join(row.text for row in rows) == long.strip()
    assert left == 0


def test_obstacles_are_called_by_the_names_their_file_gives(tmp_path):
    square_at = [shapely.box(x, 30, x + 25, 55) for x in (-100, 100)]
    write_shapes(tmp_path, *square_at, name="obstacles.geojson", kinds=["a", "b"])
    text = (tmp_path / "obstacles.geojson").read_text()
    named = text.replace('"kind": "a"', '"NAME": "Old windmill"').replace('"kind": "b"', '"x": 1')
    (tmp_path / "obstacles.geojson").write_text(named)
    layout = lay_on(tmp_path, square(1320), field='obstacles = "obstacles.geojson"')
    assert [name for name, _ in layout.ground.named] == ["Old windmill", "feature 2"]
    texts = cover(layout, tmp_path)[0].texts
    assert {"Old windmill", "feature 2"} <= set(texts)


def test_a_hole_in_the_boundary_is_told(tmp_path):
    layout = lay_on(tmp_path, square(1320).difference(shapely.box(50, 50, 100, 100)))
    assert "not farmed" in cover(layout, tmp_path)[0].texts


@pytest.mark.parametrize(("headland", "words"), [
    ('[headland]\nwhere = "none"\n', False),
    ('[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n', True),
])  # fmt: skip
def test_passes_round_the_headland_are_drawn_where_there_are_any(tmp_path, headland, words):
    layout = lay_on(tmp_path, square(1320), headland=headland)
    page, path, _ = cover(layout, tmp_path)
    assert ("pass round the headland" in page.texts) is words
    dashed = [one for one in drawn_on(path) if one.dashed and one.stroked == GRAY
              and np.ptp(one.points[:, 0]) > 200 and len(one.points) > 4]  # fmt: skip
    assert bool(dashed) is words


NARROW = '[[strips]]\ncrop = "corn"\nrows = 4\n[[strips]]\ncrop = "soybean"\nrows = 4\n'
SMALL_SHED = """
[machines.planter]
does = "plant"
rows = 4
spacing = "30 in"
[machines.head]
does = "harvest"
rows = 4
spacing = "30 in"
[crops.corn]
planter = "planter"
harvester = "head"
[crops.soybean]
planter = "planter"
harvester = "head"
"""


def test_very_many_strips_are_numbered_by_the_fifth_and_it_is_said(tmp_path):
    layout = lay_on(tmp_path, square(3000), shed=SMALL_SHED, strips=NARROW,
                    headland='[headland]\nwhere = "ends"\nwidth = "40 ft"\n')  # fmt: skip
    page, _, _ = cover(layout, tmp_path)
    check_page(page)
    told = " ".join(page.texts)
    assert "too narrow here to number all: every" in told
    parts = tiles_of(book_of(layout), layout, cover_of(book_of(layout), layout).view.scale)
    where = "the sheets of parts number all" if parts else "the strip index lists all"
    assert where in told


def test_numbers_of_narrow_strips_do_not_fill_the_crop(tmp_path):
    """Strips of 15 ft: their numbers once stood three deep inside them at both ends."""
    layout = lay(read_plan(SAMPLES / "quarter_section" / "row_set.toml"))
    book = book_of(layout)
    canvas = Canvas(str(tmp_path / "x.pdf"))
    shown = cover_of(book, layout)
    numbered = draw_cover(canvas, book, layout, shown)
    strips = shapely.union_all(shown.view.on_page(layout.strips.geometry.to_numpy()))
    inside = shapely.area(shapely.intersection(shapely.box(*numbered.placed.box.T), strips))
    assert (inside > 5.0).mean() < 0.05
    assert len(numbered.text) > 60


def test_the_line_on_numbers_left_out_covers_nothing_of_the_field(tmp_path):
    layout = lay(read_plan(SAMPLES / "quarter_section" / "row_set.toml"))
    page, _, book = cover(layout, tmp_path)
    view = cover_of(book, layout).view
    field = shapely.bounds(view.on_page(layout.ground.outline))
    (said,) = [word for word in page.words if word.text == "narrow"]
    assert said.box[3] - FOOT_PT < field[1]
    assert field[3] < view.frame_pt[3]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_papers_and_long_words_have_room(tmp_path, paper):
    layout = sample("pivot_circle")
    farm = layout.plan.farm.model_copy(
        update={"name": "ذرة صفراء " * 4, "operator": "मक्का " * 12, "legal": "section " * 30}
    )
    plan = layout.plan.model_copy(update={"farm": farm, "paper": paper, "title": "Long " * 40})
    page, _, _ = cover(replace(layout, plan=plan), tmp_path)
    check_page(page)


def test_a_cover_is_drawn_in_few_paths(tmp_path):
    """What makes it quick: the strips of a crop are one path, and so are all leaders."""
    layout = sample("quarter_section")
    book = book_of(layout)
    canvas = Canvas(str(tmp_path / "x.pdf"))
    numbered = draw_cover(canvas, book, layout, cover_of(book, layout))
    assert len(numbered.lacking) == 0
    assert len(drawn_on(cover(layout, tmp_path)[1])) < 120
