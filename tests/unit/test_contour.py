"""Warnings of the practices for strips on a slope: they name the practice and change nothing."""

import math

import pytest
import shapely
from fields import SHED, lay_on, square, texts, write_shapes

from striplay.plan.cost import Slope
from striplay.section.contour import (
    greatest_grade,
    greatest_width_m,
    row_crop_share,
    row_grade_warning,
)
from striplay.units import FOOT_M

WHO = "; state versions of the practice and the local conservation office decide"
PRACTICE = "contour strip cropping (practice 585): "
NARROW = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'


def notices(folder, slope, strips=None, shed=SHED, heading="heading = 0"):
    parts = {} if strips is None else {"strips": strips}
    direction = f"{heading}\n[slope]\n{slope}"
    return texts(lay_on(folder, square(1320), direction=direction, shed=shed, **parts).notices)


def test_wide_and_unequal_strips_and_row_crops_are_named(tmp_path):
    assert notices(tmp_path, "percent = 6") == [
        f"{PRACTICE}a strip of 120 ft is wider than the 100 ft of its table at 6 % slope{WHO}",
        f"{PRACTICE}strip widths differ by more than 10 %, from 40 ft to 120 ft{WHO}",
        f"{PRACTICE}100% of the set is in row crops, and half is the most{WHO}",
    ]


def test_equal_strips_half_in_drilled_crops_pass(tmp_path):
    shed = SHED + (
        '[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\nspacing = "7.5 in"\n'
        '[crops.oats]\nplanter = "drill"\nharvester = "platform"\n'
    )
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "oats"\nwidth = "40 ft"\n'
    said = notices(tmp_path, "percent = 6", strips, shed)
    assert not [notice for notice in said if PRACTICE in notice]


def test_flat_land_and_no_slope_say_nothing(tmp_path):
    assert notices(tmp_path, "percent = 0.5") == []
    assert lay_on(tmp_path, square(1320)).notices == []


def test_above_the_table_is_said(tmp_path):
    assert f"{PRACTICE}its table ends at 25 % slope{WHO}" in notices(tmp_path, "percent = 30")


@pytest.mark.parametrize(
    ("slope", "said"),
    [
        # 6 % falling north: rows north fall 6 %; the lesser of 2 and half of 6 is 2
        ("percent = 6\ndownhill = 0", "rows fall by 6.0 %, and 2 % is the most here"),
        # near an outlet, 3
        ('percent = 6\ndownhill = 0\noutlet = "100 ft"', "rows fall by 6.0 %, and 3 % is the most"),
        ('percent = 6\ndownhill = 0\noutlet = "200 ft"', "rows fall by 6.0 %, and 2 % is the most"),
        # half of 3 is 1.5
        ("percent = 3\ndownhill = 0", "rows fall by 3.0 %, and 1.5 % is the most here"),
    ],
)
def test_steep_rows_are_named(tmp_path, slope, said):
    assert f"contour farming (practice 330): {said}" in notices(tmp_path, slope)[-1]


def test_rows_across_the_fall_pass(tmp_path):
    said = notices(tmp_path, "percent = 6\ndownhill = 90")
    assert not [notice for notice in said if "330" in notice]


@pytest.mark.parametrize("headings", [(90, 60), (60, 90)])
def test_rows_of_several_blocks_are_named_by_their_strips(tmp_path, headings):
    halves = shapely.box(-210, -210, 210, 0), shapely.box(-210, 0, 210, 210)
    write_shapes(tmp_path, *halves, kinds=["south", "north"])
    # 6 % falling north: rows east and west fall nothing, the other block's 6 cos 60
    direction = "heading = 0\n[slope]\npercent = 6\ndownhill = 0\n"
    for kind, heading in zip(["south", "north"], headings, strict=True):
        direction += f'[[blocks]]\nfile = "cut.geojson"\nwhere = "kind = \'{kind}\'"\n'
        direction += f"heading = {heading}\n"
    layout = lay_on(tmp_path, square(1320), direction=direction)
    found = [block.heading_deg for block in layout.laid.blocks]
    steep = layout.laid.blocks[found.index(60)].strip_number
    said = f"rows fall by 3.0 % in strips {steep.min()} to {steep.max()}, and 2 % is the most here"
    slopes = [notice for notice in layout.notices if notice.kind == "slope"]
    assert str(slopes[-1]) == f"contour farming (practice 330): {said}{WHO}"


@pytest.mark.parametrize(
    ("headings_deg", "lengths_m", "percent", "stretch"),
    [
        # by hand, 6 % falling east: 6 cos(angle to 90), the first of equals
        ([0, 30, 60, 90], [9, 9, 9, 9], 6.0, 3),
        ([0, 30, 150, 210], [9, 9, 9, 9], 3.0, 1),
        ([0, 30, 330], [9, 9, 9], 3.0, 1),
        ([120, 0], [9, 9], 6 * math.sqrt(3) / 2, 0),
        ([0, 90, 60], [9, 0, 9], 6 * math.sqrt(3) / 2, 2),  # what has no length has no heading
        ([180, 0], [9, 9], 0.0, 0),
    ],
)
def test_greatest_grade_of_rows_that_turn(headings_deg, lengths_m, percent, stretch):
    slope = Slope(percent=6, downhill=90)
    found = greatest_grade(slope, headings_deg, lengths_m)
    assert (found.percent, found.stretch) == (pytest.approx(percent, abs=1e-9), stretch)


def test_a_ring_falls_by_the_whole_slope_somewhere():
    # a ring of 2,880 straight pieces has one that runs along the fall, to an eighth of a degree
    headings_deg = [0.0625 + 0.125 * number for number in range(2880)]
    found = greatest_grade(Slope(percent=8, downhill=200), headings_deg, [1.0] * 2880)
    assert found.percent == pytest.approx(8 * math.cos(math.radians(0.0625)), abs=1e-9)
    assert headings_deg[found.stretch] == pytest.approx(20, abs=0.07)


def test_the_place_of_the_greatest_grade_is_told():
    told = row_grade_warning(Slope(percent=6), 3.04, "at -93.50000, 42.00000")
    assert (told.kind, told.severity) == ("slope", "mind")
    assert told.text == (
        "contour farming (practice 330): rows fall by 3.0 % at -93.50000, 42.00000, and 2 % is the "
        f"most here{WHO}"
    )
    assert row_grade_warning(Slope(percent=6), 3.04).text == (
        f"contour farming (practice 330): rows fall by 3.0 %, and 2 % is the most here{WHO}"
    )
    assert row_grade_warning(Slope(percent=6), 2.0, "anywhere") is None


ROLLOVER = (
    "slope of {} %: rollover danger. Rows straight down a fall, and turns on it, roll machines "
    "over. Stay off slopes above what each maker's manual allows; keep the roll-over protection up "
    "and wear the belt. Keep wheels off an edge by at least the depth of the ditch or bank: it "
    "gives way."
)


@pytest.mark.parametrize("percent", [18, 15.5])
def test_a_steep_slope_comes_first_with_its_caution(tmp_path, percent):
    assert notices(tmp_path, f"percent = {percent}")[0] == ROLLOVER.format(percent)


def test_a_slope_of_15_percent_has_no_caution(tmp_path):
    assert not [said for said in notices(tmp_path, "percent = 15") if "rollover" in said]


def test_nothing_is_changed(tmp_path):
    flat = lay_on(tmp_path, square(1320)).accounts
    steep = lay_on(tmp_path, square(1320), direction="heading = 0\n[slope]\npercent = 9").accounts
    assert flat["areas_m2"] == steep["areas_m2"]


def test_greatest_width_between_the_table_lines():
    assert greatest_width_m(1) == pytest.approx(130 * FOOT_M)
    assert greatest_width_m(2.5) == pytest.approx(100 * FOOT_M)
    assert greatest_width_m(26) is None


def test_share_of_row_crops_of_a_section(tmp_path):
    layout = lay_on(tmp_path, square(1320), strips=NARROW)
    assert row_crop_share(layout.section) == pytest.approx(1.0)
