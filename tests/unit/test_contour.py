"""Warnings of the practices for strips on a slope: they name the practice and change nothing."""

import pytest
from fields import SHED, lay_on, square, texts

from striplay.section.contour import greatest_width_m, row_crop_share
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
