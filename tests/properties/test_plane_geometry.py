"""Check frames and headlands on any field."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapes import SHAPES
from strategies import headings, star_fields

from striplay.geometry.directions import direction_deg
from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.tolerances import MITRE_LIMIT

SOME = settings(max_examples=60, deadline=None)
PASS_M = 12.192
widths = st.floats(2.0, 40.0)


@SOME
@given(star_fields(), headings())
def test_a_frame_turns_back(field, heading_deg):
    frame = Frame(heading_deg)
    there = frame.turn(field)
    assert there.area == pytest.approx(field.area, rel=1e-9)
    assert there.length == pytest.approx(field.length, rel=1e-9)
    back = frame.turn_back(there)
    assert shapely.get_coordinates(back) == pytest.approx(shapely.get_coordinates(field), abs=1e-9)


@given(headings())
def test_travel_runs_along_x_and_left_is_y(heading_deg):
    heading_rad = np.radians(heading_deg)
    ahead = np.array([[np.sin(heading_rad), np.cos(heading_rad)]])
    left = np.array([[-np.cos(heading_rad), np.sin(heading_rad)]])
    assert Frame(heading_deg).turn_points(ahead) == pytest.approx(np.array([[1.0, 0.0]]), abs=1e-12)
    assert Frame(heading_deg).turn_points(left) == pytest.approx(np.array([[0.0, 1.0]]), abs=1e-12)
    apart_deg = abs(direction_deg(ahead)[0] - heading_deg)
    assert min(apart_deg, 180 - apart_deg) < 1e-9
    assert direction_deg(-ahead)[0] == pytest.approx(direction_deg(ahead)[0], abs=1e-9)


@pytest.mark.parametrize("heading_deg", [0.0, 90.0])
def test_quarter_turns_are_exact(heading_deg):
    points = np.array([[0.1, 0.7], [123.456, -9.87]])
    frame = Frame(heading_deg)
    assert np.array_equal(frame.turn_points_back(frame.turn_points(points)), points)
    assert set(np.abs(frame.turn_points(points)).ravel()) == set(np.abs(points).ravel())


@SOME
@given(star_fields(), headings(), widths)
def test_an_inset_all_round_keeps_its_distance(field, heading_deg, width_m):
    ground = Frame(heading_deg).turn(field)
    inner = inset_all_round(ground, width_m)
    assert shapely.difference(inner, ground).area < 1e-6
    if not inner.is_empty:
        # on rare rings the buffer's noding is redone on a grid: 12 micrometers off at most, found
        assert inner.distance(ground.boundary) >= width_m - 1e-4
    # nothing further off than the miter limit is taken
    taken = shapely.difference(ground, inner)
    core = ground.buffer(-1.01 * MITRE_LIMIT * width_m)  # its arcs are chords, 0.5 % short
    assert shapely.intersection(taken, core).area < 1e-6


def check_ends(ground, width_m):
    inner = Ends(ground, width_m, PASS_M).inside(Frame(90))
    slack_m2 = 1e-6 * max(1.0, ground.length)
    assert inner.is_valid
    assert shapely.difference(inner, ground).area < slack_m2
    round_inner = inset_all_round(ground, width_m)
    assert shapely.difference(round_inner, inner).area < slack_m2
    taken = shapely.difference(ground, inner)
    core = ground.buffer(-1.01 * MITRE_LIMIT * width_m)  # its arcs are chords, 0.5 % short
    assert shapely.intersection(taken, core).area < slack_m2


@SOME
@given(star_fields(ragged=0.3), headings(), widths)
def test_an_inset_at_ends_lies_between_none_and_all_round(field, heading_deg, width_m):
    check_ends(Frame(heading_deg).turn(field), width_m)


@SOME
@given(star_fields(ragged=0.3), st.lists(headings(), min_size=2, max_size=4), widths)
def test_ends_kept_between_headings_are_those_of_each(field, several, width_m):
    ends = Ends(field, width_m, PASS_M)
    found = {}
    for heading_deg in [*several, *several]:
        frame = Frame(heading_deg)
        taken = ends.at(frame)
        assert taken.equals_exact(Ends(field, width_m, PASS_M).at(frame), 0.0)
        key = ends.alike(frame)
        if key is not None:
            assert taken.equals_exact(found.setdefault(key, taken), 0.0)


@pytest.mark.parametrize("width_m", [6.0, 24.384])
@pytest.mark.parametrize("heading_deg", [0.0, 33.3, 90.0])
@pytest.mark.parametrize("name", SHAPES)
def test_an_inset_at_ends_of_every_shape(name, heading_deg, width_m):
    check_ends(Frame(heading_deg).turn(SHAPES[name]), width_m)


@SOME
@given(st.floats(100, 900), st.floats(60, 900), widths)
def test_on_a_rectangle_the_sides_along_the_rows_are_untouched(long_m, wide_m, width_m):
    assume(long_m > 2 * width_m + 1)
    inner = Ends(shapely.box(0, 0, long_m, wide_m), width_m, PASS_M).inside(Frame(90))
    wanted = shapely.box(width_m, 0, long_m - width_m, wide_m)
    assert shapely.symmetric_difference(inner, wanted).area < 1e-6


@SOME
@given(star_fields(ragged=0.3), widths, st.floats(-3000, 3000), st.floats(-3000, 3000))
def test_headlands_move_with_the_field(field, width_m, east_m, north_m):
    moved = shapely.transform(field, lambda points: points + np.array([east_m, north_m]))
    assert inset_all_round(moved, width_m).area == pytest.approx(
        inset_all_round(field, width_m).area, rel=1e-6, abs=1e-3
    )


@SOME
@given(star_fields(ragged=0.3), headings(), headings(), widths)
def test_headlands_all_round_turn_with_the_field(field, heading_deg, by_deg, width_m):
    here = inset_all_round(Frame(heading_deg).turn(field), width_m)
    there = inset_all_round(Frame(by_deg).turn(field), width_m)
    assert here.area == pytest.approx(there.area, rel=1e-6, abs=1e-3)
