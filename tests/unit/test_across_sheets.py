"""Across one set as seen driving: left and right, the units both ways, seed boxes, wide sets."""

import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from books import texts_of, told
from fields import NAMES, SAMPLES, SHED, STRIPS, lay_on, sample, square

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.one_set import one_set
from striplay.section.systems import sections_of
from striplay.sheets.across_sheets import (
    PART_M,
    across_story,
    box_words,
    facing_words,
    parts_of_set,
)
from striplay.sheets.index_sheets import index_story
from striplay.sheets.seed_sheets import seed_story

ROW_M = 0.762
NONE = '[headland]\nwhere = "none"\n'
OTHERS = sorted(path for path in SAMPLES.glob("*/*.toml") if path.name != "plan.toml")
RELAY_SHED = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
"""
RELAY = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
    '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\nrows = 2\ngap = "20 in"\n'
)
UNEVEN = "4 corn, 1 empty, 11 soybean"
SINGLE = ", ".join(["1 corn, 1 soybean"] * 8)


def row_set(units, travel="back and forth"):
    return f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\ntravel = "{travel}"\n'


SYSTEMS = {
    "strips": (STRIPS, ""),
    "a strip less wide than the planter": (
        '[[strips]]\ncrop = "corn"\nrows = 8\n[[strips]]\ncrop = "soybean"\nrows = 24\n', ""
    ),
    "relay": (RELAY, RELAY_SHED),
    "row set": (row_set(UNEVEN), ""),
    "row set, one way": (row_set(UNEVEN, "one way"), ""),
    "row set that reads alike both ways": (row_set("4 corn, 8 soybean, 4 corn"), ""),
    "single rows": (row_set(SINGLE), ""),
}  # fmt: skip


def seen_of(layout):
    return one_set(layout.plan, layout.laid, layout.worksheets)


def units_in(words, count):
    """Read which parts are on from words such as "units 1-3, 5 on"; None where only counted."""
    said = words.removesuffix(" on").partition(" ")[2]
    if words.startswith("all "):
        return set(range(1, count + 1))
    if " of " in words:
        return None
    ends = [part.split("-") for part in said.split(", ")]
    return {unit for end in ends for unit in range(int(end[0]), int(end[-1]) + 1)}


@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize("system", SYSTEMS)
def test_units_are_those_of_the_passes_both_ways(tmp_path, system, start):
    """Unit 1 is at the left of each pass, and each unit that is on stands over a row of its own."""
    strips, shed = SYSTEMS[system]
    layout = lay_on(
        tmp_path, square(700), strips=strips, shed=SHED + shed, headland=NONE,
        direction=f'heading = 0\nstart = "{start}"',
    )  # fmt: skip
    seen, passes, rows = seen_of(layout), layout.passes, layout.rows
    assert seen.whole
    one_way = system == "row set, one way"
    for job in {one.job for one in seen.passes}:
        mine = [one for one in seen.passes if one.job == job]
        assert {one.back for one in mine} == ({start == "right"} if one_way else {False, True})
        assert [one.number for one in mine] == sorted(one.number for one in mine)
    row_x = rows.geometry.bounds["minx"].to_numpy()
    for one in seen.passes:
        (line,) = passes[(passes["job"] == one.job) & (passes["number"] == one.number)].itertuples()
        assert (one.rows_on, one.heading_deg) == (line.rows_on, line.heading_deg)
        on = {place for place, row in enumerate(one.rows, start=1) if row >= 0}
        named = units_in(line.rows_on, len(one.rows))
        assert named in (on, None)
        assert len(on) == len({row for row in one.rows if row >= 0})
        # as driven: north, the left is in the west
        (x, y0), (_, y1) = shapely.get_coordinates(line.geometry)[[0, -1]]
        way = 1 if y1 > y0 else -1
        assert one.back is (way < 0)
        width_m = layout.plan.machines[one.machine].width_m
        crops = rows["crop"].to_numpy()
        for place, row in enumerate(one.rows):
            if row < 0:  # over no row of these, or one that another pass plants
                continue
            at_x = x + way * width_m * ((place + 0.5) / len(one.rows) - 0.5)
            near = np.abs(row_x - at_x) < width_m / len(one.rows) / 2 - 1e-6
            here = set(zip(crops[near], rows["strip"].to_numpy()[near], strict=True))
            label = layout.section.rows[row].label
            assert (label, one.strip_of[place]) in here
            assert label in one.crop.split(" + ")


def test_the_way_back_is_the_mirror_of_the_way_out(tmp_path):
    layout = lay_on(tmp_path, square(700), strips=SYSTEMS["strips"][0], headland=NONE)
    (corn, back) = [one for one in seen_of(layout).passes if one.crop == "corn"]
    assert (corn.back, back.back) == (False, True)
    assert corn.rows == tuple(range(16))
    assert back.rows == corn.rows[::-1]
    # strip 2 lies right of 1 on the way out, and what is right of 3 on the way back is 2
    assert (corn.strip_of[0], corn.left, corn.right) == (1, None, 2)
    assert (back.strip_of[0], back.left, back.right) == (3, 4, 2)


def test_the_first_strip_is_seen_where_it_lies(tmp_path):
    pages, order = {}, {}
    for start in ("left", "right"):
        layout = lay_on(tmp_path, square(700), headland=NONE,
                        direction=f'heading = 0\nstart = "{start}"')  # fmt: skip
        seen = seen_of(layout)
        order[start] = (seen.strips, [strip.crop for strip in seen.section.strips])
        (pages[start],) = told(tmp_path, layout, across_story)
        # on the ground: strip 1 in the west where it is the first at the left
        centers = layout.strips.set_index("strip").geometry.centroid.x
        assert bool(centers[1] < centers[2]) is (start == "left")
        assert facing_words(seen) == ("LEFT: west", "facing 000° (north)", "RIGHT: east")
    assert order["left"] == ((1, 2), ["corn", "soybean"])
    assert order["right"] == ((2, 1), ["soybean", "corn"])
    for start, page in pages.items():
        left = {
            word.text: word.box[0] for word in page.words
            if word.text in {"corn,", "soybean,"} and word.size_pt < 7.5
            and word.box[1] < 560
        }  # fmt: skip
        assert (left["corn,"] < left["soybean,"]) is (start == "left")
        assert "LEFT: west" in page.texts


def test_a_section_mirrored_twice_is_itself(tmp_path):
    for path in [SAMPLES / name / "plan.toml" for name in NAMES] + OTHERS:
        section = sections_of(read_plan(path))[0].from_first_strip()
        mirrored = section.mirrored()
        assert [row.offset_m for row in mirrored.rows] == sorted(
            row.offset_m for row in mirrored.rows
        )
        for strip, other in zip(mirrored.strips, section.strips[::-1], strict=True):
            assert (strip.crop, strip.rows) == (other.crop, other.rows)
            assert strip.left_m + other.right_m == pytest.approx(section.width_m)
        for row in mirrored.rows:
            strip = mirrored.strips[row.strip]
            assert strip.left_m - 1e-9 <= row.offset_m <= strip.right_m + 1e-9
        for one, other in zip(mirrored.passes, section.passes[::-1], strict=True):
            assert {mirrored.rows[row].sown for row in one.rows} == {
                section.rows[row].sown for row in other.rows
            }
        again = mirrored.mirrored()
        assert [one.low_m for one in again.passes] == pytest.approx(
            [one.low_m for one in section.passes]
        )
        assert replace(again, passes=(), tramlines=(), strips=(), rows=(), tramlines_m=()) == (
            replace(section, passes=(), tramlines=(), strips=(), rows=(), tramlines_m=())
        )
        assert [row.strip for row in again.rows] == [row.strip for row in section.rows]


def test_boxes_hold_what_their_units_plant_whichever_way_it_goes(tmp_path):
    layout = lay_on(tmp_path, square(700), strips=row_set(UNEVEN), headland=NONE)
    asked = ["" if crop == "empty" else crop for crop in layout.plan.row_set.units]
    for one in seen_of(layout).passes:
        carried = ["" if row < 0 else layout.section.rows[row].label for row in one.rows]
        assert carried == asked
    (page,) = told(tmp_path, layout, across_story)
    said = box_words(asked)
    assert said == "corn: boxes 1-4 · soybean: boxes 6-16 · empty: box 5"
    assert said in " ".join(texts_of([page]))
    assert "the crops stay in their boxes" in page.text
    rows = {}
    for word in page.words:
        if word.text in {"C", "S"} and "Bold" in word.font:
            rows.setdefault(round(word.box[1]), []).append((word.box[0], word.text))
    lines = ["".join(text for _, text in sorted(row)) for row in rows.values()]
    # the boxes, and a pass out and one back: unit 1 at the left in each
    assert lines == ["C" * 4 + "S" * 11] * 3


NARROW = '[[strips]]\ncrop = "corn"\nrows = 12\n[[strips]]\ncrop = "soybean"\nrows = 12\n'
WHEELS = """
[machines.sprayer]
does = "spray"
width = "90 ft"
sections = 9
tread = "120 in"
tire = "14 in"
"""


@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize("off_m", [0, 30])
def test_booms_lie_where_they_drive_over_the_set_that_is_shown(tmp_path, start, off_m):
    """90 ft over sets of 60 ft: lines of the layer `passes`, from the edge seen at the left."""
    shed, _, _ = SHED.partition("[machines.sprayer]")
    _, _, rest = SHED.partition("[machines.sprayer]")
    crops = "[crops" + rest.partition("[crops")[2]
    layout = lay_on(
        tmp_path, square(700 + off_m), strips=NARROW, shed=shed + WHEELS + crops, headland=NONE,
        direction=f'heading = 0\nstart = "{start}"',
    )  # fmt: skip
    assert [one.sets for one in layout.section.tramlines] == [3]
    seen, strips, passes = seen_of(layout), layout.strips, layout.passes
    assert {one.crop for one in seen.booms} == {"corn", "soybean"}
    west = strips[strips["strip"].isin(seen.strips)].total_bounds[0]
    for crop in ("corn", "soybean"):
        mine = [one for one in seen.booms if one.crop == crop]
        driven = passes[(passes["operation"] == "spray") & (passes["crop"] == crop)
                        & (passes["place"] == "strips")]  # fmt: skip
        lines_m = driven.geometry.centroid.x.to_numpy() - west
        reach_m = (seen.section.width_m + 90 * 0.3048) / 2 - 0.01
        over_m = lines_m[np.abs(lines_m - seen.section.width_m / 2) < reach_m]
        assert [one.middle_m for one in mine] == pytest.approx(sorted(set(over_m)), abs=0.02)
    (page,) = told(tmp_path, layout, across_story)
    assert "The others repeat it across the field" not in page.text
    assert "Lines of the sprayer repeat after" in " ".join(texts_of([page]))
    assert "sprayer sprays corn" in page.text


def test_passes_of_strips_have_no_boxes(tmp_path):
    (page,) = told(tmp_path, sample("pond_ell"), across_story)
    assert "Which box holds which crop" not in page.text


def test_a_wide_set_takes_rows_of_the_page(tmp_path):
    layout = lay_on(tmp_path, square(700), strips=row_set(SINGLE))
    found = told(tmp_path, layout, across_story)
    seen = seen_of(layout)
    parts = [text for text in texts_of(found) if text.startswith("Part ")]
    assert len(parts) == 2
    words = [f"{one.text} {other.text}" for page in found for one, other in pairwise(page.words)]
    for number, strip in zip(seen.strips, seen.section.strips, strict=True):
        assert f"{number} {strip.crop[0].upper()}" in words


def test_sets_are_parted_where_strips_or_passes_meet(tmp_path):
    narrow = lay_on(tmp_path, square(700)).section
    assert parts_of_set(narrow) == [(0.0, narrow.width_m)]
    wide = '[[strips]]\ncrop = "soybean"\nrows = 96\n[[strips]]\ncrop = "corn"\nrows = 16\n'
    section = lay_on(tmp_path, square(700), strips=wide).section
    parts = parts_of_set(section)
    assert [round(high_m / ROW_M) for _, high_m in parts] == [48, 112]
    assert all(high_m - low_m <= PART_M + 1e-6 for low_m, high_m in parts)


@pytest.mark.parametrize("ink", ["color", "gray"])
@pytest.mark.parametrize("name", NAMES)
def test_the_page_of_every_sample_is_legible(tmp_path, name, ink):
    found = told(tmp_path, sample(name), across_story, ink)
    assert len(found) == 1
    layout = sample(name)
    text = " ".join(texts_of(found))
    assert facing_words(seen_of(layout))[1] in text
    for one in seen_of(layout).passes:
        assert f"pass {one.number}, {'back' if one.back else 'out'}" in text


@pytest.mark.parametrize("path", OTHERS, ids=lambda path: f"{path.parent.name}, {path.stem}")
def test_the_pages_of_every_system_are_legible(tmp_path, path):
    layout = lay(read_plan(path))
    assert len(told(tmp_path, layout, across_story)) == 1
    assert len(told(tmp_path, layout, index_story)) <= 2


def test_rows_in_rings_are_seen_clockwise(tmp_path):
    disc = shapely.Point(0, 0).buffer(120, quad_segs=60)
    layout = lay_on(tmp_path, disc, direction="pivot = [-93.5, 42.0]", headland=NONE)
    seen = seen_of(layout)
    assert facing_words(seen)[2] == "RIGHT: toward the center"
    # strip 1 is the innermost
    assert seen.strips[-1] == min(seen.strips)
    told(tmp_path, layout, across_story)


def test_a_book_is_written_without_the_library_of_charts(tmp_path):
    code = (
        "import sys, pathlib, striplay\n"
        "from striplay.sheets.book import book_of, write_pages\n"
        "from striplay.sheets.across_sheets import across_story\n"
        "from striplay.sheets.index_sheets import index_story\n"
        "from striplay.sheets.seed_sheets import seed_story\n"
        f"layout = striplay.lay(striplay.read_plan({str(SAMPLES / 'pond_ell' / 'plan.toml')!r}))\n"
        "book = book_of(layout)\n"
        "stories = [make(book, layout) for make in (across_story, index_story, seed_story)]\n"
        f"write_pages(book, pathlib.Path({str(tmp_path / 'book.pdf')!r}), stories, '')\n"
        "assert not any(name.split('.')[0] == 'matplotlib' for name in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_names_of_any_length_and_script_fit(tmp_path):
    names = [f"a_crop_of_a_very_long_name_{number}" for number in range(3)] + ["маис", "كتان"]
    shed = "".join(
        f'[crops."{name}"]\nplanter = "planter"\nharvester = "platform"\n'
        'rate = "34000 seeds/acre"\n'
        for name in names
    )
    sets = {
        "strips": "".join(f'[[strips]]\ncrop = "{name}"\nrows = 16\n' for name in names),
        "units": row_set(", ".join(f"2 {name}" for name in names)).replace(
            '"planter"', '"ten"'
        ),
    }  # fmt: skip
    ten = '[machines.ten]\ndoes = "plant"\nrows = 10\nspacing = "30 in"\n'
    for strips in sets.values():
        layout = lay_on(tmp_path, square(700), strips=strips, shed=SHED + shed + ten, headland=NONE)
        for make in (across_story, index_story, seed_story):
            told(tmp_path, layout, make)
