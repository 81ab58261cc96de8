"""The picture of the season: bars where they belong, every day written, nothing over anything."""

from datetime import date
from itertools import pairwise

import pytest
from books import book, names_of, written
from fields import AROUND, SHED, square, write_plan_for
from hypothesis import given
from hypothesis import strategies as st
from pdfs import shapes

from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.looks import HEADLAND
from striplay.season.conflicts import Conflict
from striplay.section.systems import sections_of
from striplay.sheets.along import spread
from striplay.sheets.season_sheets import BAR_MM, PART_MM, SHADE, bars_of, season_part
from striplay.sheets.style import INK, MM, PALE, THIN_PT

DRILL = '[machines.drill]\ndoes = "plant"\nwidth = "30 ft"\nspacing = "7.5 in"\n'


def crop(name, *lines):
    listed = "\n".join(lines)
    return f'[crops.{name}]\nplanter = "drill"\nharvester = "platform"\n{listed}\n'


def days(**crops):
    shed = SHED
    for name, lines in crops.items():
        shed = shed.replace(f"[crops.{name}]", f"[crops.{name}]\n{lines}")
    return shed + DRILL


def strips(*names):
    return "".join(f'[[strips]]\ncrop = "{name}"\npasses = 1\n' for name in names)


CORN = "sown = 2026-05-01\nharvested = 2026-10-10\ncanopy_closure = 2026-06-20"
SOYBEAN = "sown = 2026-05-25\nharvested = 2026-09-25"
WHEAT = crop("wheat", "sown = 2025-10-01", "harvested = 2026-07-05")
OATS = crop("oats", "sown = 2026-04-10", "harvested = 2026-07-20")
PEA = crop("field_pea", "sown = 2026-04-10", "harvested = 2026-08-10")
MIX = '[mixtures.oat_pea]\nplanter = "drill"\nparts = {oats = 0.5, field_pea = 0.6}\n'
CASES = {
    "relay": (
        days(soybean=SOYBEAN) + WHEAT,
        ('[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\n'
        'pattern = ["4 in", "12 in"]\n'
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'),
        "",
    ),
    "quick crop": (
        days(corn=CORN) + crop("radish", "sown = 2026-04-20", "harvested = 2026-04-29"),
        strips("corn")
        + '[[quick_crop]]\ncrop = "radish"\ninto = "corn"\nseeder = "drill"\n',
        "",
    ),
    "mixture": (days(corn=CORN) + OATS + PEA + MIX, strips("corn", "oat_pea"), ""),
    "six crops": (
        days(corn=CORN, soybean=SOYBEAN) + WHEAT + OATS
        + crop("sunflower", "sown = 2026-05-26", "harvested = 2026-09-26")
        + crop("alfalfa_with_a_little_grass", "sown = 2025-08-20"),
        strips("corn", "soybean", "wheat", "oats", "sunflower", "alfalfa_with_a_little_grass"),
        AROUND,
    ),
    "over new year by two days": (
        days(corn=CORN) + crop("rye", "sown = 2026-10-01", "harvested = 2027-01-02"),
        strips("corn", "rye"),
        "",
    ),
    "ten years": (
        days(corn=CORN) + crop("alfalfa", "sown = 2020-05-01", "harvested = 2029-10-01"),
        strips("corn", "alfalfa"),
        "",
    ),
}  # fmt: skip


def season(folder, case):
    shed, listed, headland = CASES[case]
    path = write_plan_for(folder, square(1320), shed=shed, strips=listed, headland=headland)
    plan = read_plan(path)
    return season_of(plan, sections_of(plan)[0])


def drawn(folder, found, paper="letter", ink="color"):
    """Draw a season; give its pages, and the paths of the first."""
    path = folder / "season.pdf"
    shared = book(names_of(found), paper, ink)
    made = written(path, shared, season_part(shared, found))
    return made, shapes(path)


def said_on(made):
    return [text for page in made for text in page.texts]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("ink", ["color", "gray"])
@pytest.mark.parametrize("case", CASES)
def test_every_day_is_written_and_every_year_named(tmp_path, case, paper, ink):
    """Type, overlaps and margins are held to by `written`."""
    found = season(tmp_path, case)
    made, _ = drawn(tmp_path, found, paper, ink)
    said = said_on(made)
    for bar in bars_of(found):
        window = bar.window
        for key, day in (("sown", window.sown), ("harvested", window.harvested),
                         ("closes", window.canopy_closure)):  # fmt: skip
            if day is not None:
                assert f"{key} {day.isoformat()}" in said
                assert str(day.year) in said
        if window.harvested is None:
            assert "harvest not said" in said


def bar_boxes(drawing):
    """Give the boxes of bars, top down: lines round them, as high as bars are."""
    boxes = [
        one.box for one in drawing
        if one.line == INK and abs(one.wide_pt - THIN_PT) < 0.01 and len(one.points) >= 4
    ]  # fmt: skip
    heights_pt = (BAR_MM * MM, PART_MM * MM)
    return [
        box for box in boxes if min(abs(box[3] - box[1] - high_pt) for high_pt in heights_pt) < 0.05
    ]


@pytest.mark.parametrize("case", CASES)
def test_bars_begin_and_end_on_their_days(tmp_path, case):
    """Days lie evenly along the picture: the longest bar gives all others."""
    found = season(tmp_path, case)
    boxes, bars = bar_boxes(drawn(tmp_path, found)[1]), bars_of(found)
    assert len(boxes) == len(bars)
    ended = [
        (bar.window.harvested - bar.window.sown, bar.window.sown, box)
        for bar, box in zip(bars, boxes, strict=True)
        if bar.window.harvested is not None
    ]
    long, first, longest = max(ended)
    per_day = (longest[2] - longest[0]) / long.days
    assert per_day > 0
    for bar, box in zip(bars, boxes, strict=True):
        begin = longest[0] + (bar.window.sown - first).days * per_day
        assert box[0] == pytest.approx(begin, abs=0.05)
        if bar.window.harvested is not None:
            end = longest[0] + (bar.window.harvested - first).days * per_day
            assert box[2] == pytest.approx(end, abs=0.05)


def test_months_stand_on_their_days_and_bars_inside(tmp_path):
    """Wheat from 1 October 2025: a month's line at its sowing, the year's 92 days after."""
    found = season(tmp_path, "relay")
    _, drawing = drawn(tmp_path, found)
    wheat, soybean = bar_boxes(drawing)
    frame = max((one.box for one in drawing if one.line == INK and not one.fill),
                key=lambda box: box[3] - box[1])  # fmt: skip
    per_day = (wheat[2] - wheat[0]) / 277
    assert wheat[0] - frame[0] == pytest.approx(7 * per_day, abs=0.05)
    assert frame[2] - soybean[2] == pytest.approx(7 * per_day, abs=0.05)
    tall = [one for one in drawing if one.box[3] - one.box[1] > 40 and one.box[0] == one.box[2]]
    assert tall[0].box[0] == pytest.approx(wheat[0], abs=0.02)
    assert tall[0].line == PALE
    (year,) = [one for one in tall if one.line != PALE and not one.dashed]
    assert year.box[0] == pytest.approx(wheat[0] + 92 * per_day, abs=0.05)


@pytest.mark.parametrize("ink", ["color", "gray"])
@pytest.mark.parametrize("case", CASES)
def test_bars_have_the_maps_fills(tmp_path, case, ink):
    found = season(tmp_path, case)
    looks = book(names_of(found), ink=ink).looks
    made, drawing = drawn(tmp_path, found, ink=ink)
    boxes = bar_boxes(drawing)
    for bar, box in zip(bars_of(found), boxes, strict=True):
        fills = [
            one.fill for one in drawing if one.fill and one.box == pytest.approx(box, abs=0.02)
        ]
        look = looks.get(bar.window.crop)
        assert fills == [(HEADLAND if look is None else look.fill).color]
        if look is not None:
            assert any(
                text.startswith(f"{look.letter} {bar.window.crop[:8]}") for text in said_on(made)
            )


def bars(found):
    return [(bar.window.crop, bar.note, bar.part) for bar in bars_of(found)]


def test_what_has_a_bar(tmp_path):
    assert bars(season(tmp_path, "relay")) == [
        ("wheat", "", False), ("soybean", "into wheat", False),
    ]  # fmt: skip
    assert bars(season(tmp_path, "quick crop")) == [
        ("corn", "", False), ("radish", "into corn", False),
    ]  # fmt: skip
    # soybean and wheat are in the shed and not in the field
    assert bars(season(tmp_path, "mixture")) == [
        ("corn", "", False), ("oat_pea", "", False),
        ("oats", "in oat_pea", True), ("field_pea", "in oat_pea", True),
    ]  # fmt: skip


def test_a_headland_of_another_crop_has_a_gray_bar(tmp_path):
    path = write_plan_for(tmp_path, square(1320), shed=days(corn=CORN, soybean=SOYBEAN),
                          strips=strips("soybean"), headland=AROUND)  # fmt: skip
    plan = read_plan(path)
    found = season_of(plan, sections_of(plan)[0])
    assert bars(found) == [("soybean", "", False), ("corn", "headland", False)]
    _, drawing = drawn(tmp_path, found)
    fills = [
        one.fill for box in bar_boxes(drawing) for one in drawing
        if one.fill and one.box == pytest.approx(box, abs=0.02)
    ]  # fmt: skip
    assert fills == [book(("soybean",)).looks["soybean"].fill.color, HEADLAND.color]


def shaded_days(drawing, found):
    """Give how many days each gray ground covers."""
    bar, box = next(
        (bar, box) for bar, box in zip(bars_of(found), bar_boxes(drawing), strict=True)
        if bar.window.harvested is not None
    )  # fmt: skip
    per_day = (box[2] - box[0]) / (bar.window.harvested - bar.window.sown).days
    gray = [one.box for one in drawing if one.fill == SHADE]
    return [round((one[2] - one[0]) / per_day, 1) for one in gray]


def test_ground_is_gray_where_two_stand(tmp_path):
    """Wheat to 5 July, soybean from 25 May: 41 days."""
    found = season(tmp_path, "relay")
    assert shaded_days(drawn(tmp_path, found)[1], found) == [41]


def test_parts_of_a_mixture_do_not_stand_beside_themselves(tmp_path):
    """Corn from 1 May, the mixture to 10 August: 101 days; from 10 April the mixture is alone."""
    found = season(tmp_path, "mixture")
    assert sum(shaded_days(drawn(tmp_path, found)[1], found)) == pytest.approx(101, abs=0.2)


def test_days_of_conflict_are_numbered_in_picture_and_words(tmp_path):
    found = season(tmp_path, "six crops")
    made, drawing = drawn(tmp_path, found)
    said, words = said_on(made), " ".join(page.text for page in made)
    numbered = sorted({conflict.day for conflict in found.conflicts})
    assert len(numbered) > 2
    broken = [one for one in drawing if one.dashed and one.line == INK]
    assert len(broken) == len(numbered)
    for number, day in enumerate(numbered, start=1):
        assert str(number) in said
        assert f"{number} {day.isoformat()}: " in words
    assert "Gray ground: two or more crops in the field." in words


@pytest.mark.parametrize(("case", "closes"), [("quick crop", True), ("relay", False)])
def test_a_closing_canopy_is_explained_only_where_drawn(tmp_path, case, closes):
    made, _ = drawn(tmp_path, season(tmp_path, case))
    said = made[0].text
    assert ("closes 2026-06-20" in said) == closes
    assert ("Thick line: its canopy closes." in said) == closes
    assert "Arrow: sown. Square: harvested." in said


def test_nothing_is_left_out_for_want_of_room(tmp_path):
    """Twenty crops, and sixty conflicts on sixty days."""
    names = [f"crop_{number}" for number in range(20)]
    shed = days() + "".join(
        crop(name, "sown = 2026-04-10", "harvested = 2026-07-20") for name in names
    )
    path = write_plan_for(tmp_path, square(5280), shed=shed, strips=strips(*names), headland="")
    plan = read_plan(path)
    made, _ = drawn(tmp_path, season_of(plan, sections_of(plan)[0]))
    written_names = {text.split()[-1] for text in said_on(made) if "crop_" in text}
    assert set(names) <= written_names
    crowded = season(tmp_path, "relay")
    many = [
        Conflict(date.fromordinal(date(2026, 4, 1).toordinal() + number), "corn",
                 f"in the way of {number}, " + "and more words " * 12)
        for number in range(60)
    ]  # fmt: skip
    crowded = type(crowded)(crowded.plan, crowded.section, crowded.windows, many, ())
    many.append(Conflict(None, "corn", "in the way without a day"))
    made, _ = drawn(tmp_path, crowded)
    words = " ".join(page.text for page in made)
    assert "in the way without a day" in words
    assert all(f"in the way of {number}," in words for number in range(60))
    assert {str(number) for number in range(1, 61)} <= set(said_on(made))


def test_without_days_there_is_no_picture(tmp_path):
    path = write_plan_for(tmp_path, square(1320))
    plan = read_plan(path)
    assert season_part(book(), season_of(plan, sections_of(plan)[0])) == []


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 20)), min_size=1, max_size=8),
)
def test_labels_spread_without_overlap_and_within(labels):
    labels = sorted(labels)
    total = sum(width for _, width in labels)
    found = spread(labels, 0.0, max(100.0, total))
    edges = [
        edge for (_, width), middle in zip(labels, found, strict=True)
        for edge in (middle - width / 2, middle + width / 2)
    ]  # fmt: skip
    assert all(after >= before - 1e-6 for before, after in pairwise(edges))
    assert edges[0] >= -1e-6
    assert edges[-1] <= max(100.0, total) + 1e-6


def test_labels_that_have_room_stay():
    assert spread([(10.0, 4.0), (14.0, 4.0), (30.0, 4.0)], 0.0, 40.0) == [10.0, 14.0, 30.0]
    assert spread([(10.0, 4.0), (10.0, 4.0), (30.0, 4.0)], 0.0, 40.0) == [8.0, 12.0, 30.0]
    assert spread([], 0.0, 40.0) == []
