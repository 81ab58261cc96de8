"""Ground on a page: true scale, rows along the paper, north and ticks where they are."""

import math

import numpy as np
import pytest
import shapely
from fields import FOOT_M, PLANE, lay_on, sample, square
from pdfs import MM

from striplay.ground import Ground, Plane
from striplay.sheets.book import book_of
from striplay.sheets.cover_sheets import cover_of
from striplay.sheets.fitting import fitted_view
from striplay.sheets.ground import (
    LADDER,
    View,
    bar_length,
    fitting_scale,
    scale_words,
    ticks_of,
    turns_of,
    upright,
    view_at,
)

FRAME = (20.0, 100.0, 540.0, 640.0)


def test_points_are_true_to_scale_and_come_back():
    view = View((12.0, -7.0), 33.0, 5000, FRAME)
    places = np.array([(12.0, -7.0), (112.0, -7.0), (12.0, 393.0)])
    at = view.points(places)
    assert at[0] == pytest.approx([280.0, 370.0])
    # 100 m at 1:5,000 are 20 mm
    assert np.linalg.norm(at[1] - at[0]) / MM == pytest.approx(20.0, abs=1e-9)
    assert np.linalg.norm(at[2] - at[0]) / MM == pytest.approx(80.0, abs=1e-9)
    assert view.on_ground(at) == pytest.approx(places)
    # turned counter-clockwise by 33 degrees, east points 33 degrees up
    east = at[1] - at[0]
    assert math.degrees(math.atan2(east[1], east[0])) == pytest.approx(33.0)
    assert view.north == pytest.approx([-math.sin(math.radians(33)), math.cos(math.radians(33))])


def test_a_quarter_section_is_four_inches_at_1_to_7920():
    """1 in = 660 ft: a quarter section of 2,640 ft prints 4 in square (by arithmetic)."""
    view = View((0.0, 0.0), 0.0, 7920, FRAME)
    at = view.points(np.array([(0.0, 0.0), (2640 * FOOT_M, 0.0)]))
    assert (at[1] - at[0])[0] / 72 == pytest.approx(4.0, abs=1e-9)
    assert scale_words(7920, "us") == "1:7,920 (1 in = 660 ft)"
    assert scale_words(4800, "us") == "1:4,800 (1 in = 400 ft)"


def test_scales_are_those_of_one_ladder():
    assert list(LADDER) == sorted(set(LADDER))
    assert LADDER[:12] == (500, 750, 1000, 1250, 1500, 2000, 2500, 3000, 4000, 5000, 6000, 7500)
    for needed in (501, 1200, 2001, 3999, 7600, 8001, 12_600, 499_000):
        scale = fitting_scale(needed / 10, 1.0, 100 * MM, 100 * MM)
        assert scale == min(one for one in LADDER if one >= needed)
    assert fitting_scale(60_000.0, 1.0, 100 * MM, 100 * MM) == 600_000


@pytest.mark.parametrize("heading_deg", [0.0, 21.0, 90.0, 137.5, 179.0])
def test_rows_run_along_an_edge_of_the_paper_and_north_never_points_down(heading_deg):
    field = shapely.box(0, 0, 600, 300)
    along = np.array([[math.sin(math.radians(heading_deg)), math.cos(math.radians(heading_deg))]])
    for turn_deg, axis in turns_of(field, [heading_deg]):
        view = view_at(field, turn_deg, FRAME)
        (way,) = view.directions(along)
        assert abs(way[axis]) == pytest.approx(1.0)
        assert view.north[1] >= -1e-9
        assert upright(turn_deg + 180.0) == pytest.approx(turn_deg)


def test_the_turn_is_the_one_with_the_finer_scale(tmp_path):
    """A field twice as long as wide, rows across it, stands upright on an upright page."""
    layout = lay_on(tmp_path, shapely.box(0, 0, 800, 400), direction="heading = 0")
    view, axis, _ = fitted_view(layout, [(0.0, 0.0, 300.0, 620.0)])
    assert (axis, abs(view.turn_deg)) == (0, 90.0)
    wide, _, axis_wide = *fitted_view(layout, [(0.0, 0.0, 620.0, 300.0)])[:2], None
    assert wide.turn_deg == 0.0
    assert axis_wide is None
    assert view.scale == wide.scale


def test_curves_turn_by_the_smallest_rectangle_or_not_at_all():
    turned = shapely.affinity.rotate(shapely.box(0, 0, 900, 200), 30)
    turns = {round(turn_deg, 6) for turn_deg, axis in turns_of(turned, []) if axis == -1}
    assert turns == {0.0, -30.0, 60.0}


def test_the_field_lies_in_its_frame_and_in_its_middle():
    field = shapely.affinity.rotate(shapely.box(0, 0, 900, 200), 30)
    view = view_at(field, -30.0, FRAME, (30.0, 10.0))
    left, bottom, right, top = shapely.bounds(view.on_page(field))
    assert left - FRAME[0] == pytest.approx(FRAME[2] - right)
    assert bottom - FRAME[1] == pytest.approx(FRAME[3] - top)
    assert left - FRAME[0] >= 30.0


def test_the_bar_is_a_round_length():
    for scale in LADDER:
        for units, unit_m in (("us", FOOT_M), ("metric", 1.0)):
            length_m, label = bar_length(scale, units, 51.0)
            assert float(label.split()[0].replace(",", "")) * unit_m == pytest.approx(length_m)
            assert 51.0 / 2.6 <= length_m * 1000 / scale <= 51.0


@pytest.mark.parametrize("turn_deg", [0.0, 21.0, -90.0])
def test_ticks_stand_on_round_degrees_where_these_cross_the_frame(turn_deg):
    layout = sample("quarter_section")
    view = View((0.0, 0.0), turn_deg, 5000, FRAME)
    ticks = ticks_of(view, layout.ground)
    told = [tick for tick in ticks if tick.text]
    assert len({tick.text for tick in told}) == len(told) >= 4
    assert {tick.text[-1] for tick in told} == {"N", "W"}
    for tick in told:
        lonlat = layout.ground.plane.to_lonlat(view.on_ground(np.array([tick.at_pt])))[0]
        number, letter = tick.text.split("° ")
        value = abs(lonlat[0 if letter == "W" else 1])
        # a hundredth of a millimeter on the paper is half a millionth of a degree
        assert value == pytest.approx(float(number), abs=1e-6)
        assert tick.side in {0, 1}


def test_ticks_of_the_south_and_the_east_bear_their_letters():
    plane = Plane(18.5, -33.5)
    ground = Ground(plane, shapely.box(-400, -400, 400, 400), None, None)
    letters = {tick.text[-1] for tick in ticks_of(View((0, 0), 0.0, 5000, FRAME), ground)
               if tick.text}  # fmt: skip
    assert letters == {"S", "E"}


def test_north_on_a_cover_is_the_planes(tmp_path):
    """Rows at 37 degrees run along the paper, and north is turned with them."""
    layout = lay_on(tmp_path, square(1320), direction="heading = 37")
    cover = cover_of(book_of(layout), layout)
    way = {0: (1.0, 0.0), 1: (0.0, 1.0)}[cover.axis]
    north = cover.view.north
    # the row's heading is the clockwise angle from north to the row
    angle = math.degrees(math.atan2(north[1], north[0]) - math.atan2(way[1], way[0]))
    assert angle % 180 == pytest.approx(37.0)


def test_the_plane_of_tests_is_where_its_ticks_say():
    assert PLANE.to_lonlat(np.zeros((1, 2)))[0] == pytest.approx([-93.5, 42.0])
