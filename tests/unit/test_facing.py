"""Which sides rows end on: those that a whole planter pass, or more, ends on together."""

import numpy as np
import pytest
import shapely

from striplay.geometry.facing import corners_of, facing
from striplay.geometry.frame import Frame
from striplay.geometry.inset import EndLines, Ends

PASS_M = 12.192
HEADLAND_M = 2 * PASS_M
SHORT_M = 2 * HEADLAND_M


def faces(points, *, closed=True):
    """Tell which way each edge faces of a path whose rows run along x."""
    return facing(np.array(points, dtype=float), PASS_M, SHORT_M, closed=closed).tolist()


@pytest.mark.parametrize(
    ("turn_deg", "sides"), [(0.0, 0), (0.8, 0), (-0.8, 0), (0.95, 1), (9.0, 1)]
)
def test_a_long_side_is_level_until_a_pass_of_rows_ends_on_it(turn_deg, sides):
    # 800 m climb 11.2 m at 0.8 degrees, 13.3 m at 0.95
    field = shapely.affinity.rotate(shapely.box(0, 0, 800, 400), turn_deg)
    points = shapely.get_coordinates(field)[:-1]
    found = faces(points)
    lengths = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    level = [length for length, face in zip(lengths, found, strict=True) if face == 0]
    assert level == pytest.approx([800.0, 800.0] if not sides else [])
    assert sorted(face for face in found if face) == ([-1, 1] if not sides else [-1, -1, 1, 1])


def test_a_rounded_corner_does_not_make_its_side_an_end():
    # the side climbs 7 m, its rounded corner 10 m: more than a pass, but not of one side
    assert faces([(0, 0), (800, 7), (810, 17), (810, 400), (0, 400)]) == [0, 1, 1, 0, -1]


def test_a_step_between_two_level_sides_is_level():
    assert faces([(0, 0), (300, 0), (303, 9), (600, 9), (600, 300), (0, 300)]) == [
        0,
        0,
        0,
        1,
        0,
        -1,
    ]


def test_a_side_that_bends_is_judged_as_a_whole():
    # four edges of 8 m each: 32 m of rows end on the side
    bent = [(0, 0), (150, 8), (320, 16), (450, 24), (600, 32)]
    assert faces([*bent, (600, 500), (0, 500)]) == [1, 1, 1, 1, 1, 0, -1]
    assert faces([*bent[:2], (600, 11), (600, 500), (0, 500)]) == [0, 0, 1, 0, -1]


def test_a_side_level_at_first_and_steeper_then_is_told_apart():
    found = faces([(0, 0), (400, 2), (520, 12), (640, 23), (640, 400), (0, 400)])
    assert found == [0, 1, 1, 1, 0, -1]


def test_a_winding_creek_across_the_rows_is_an_end_all_along():
    height = np.arange(0, 401, 9.0)
    creek = np.column_stack([600 + 8 * (np.arange(len(height)) % 2), height])
    found = faces([(0, 0), *creek, (0, height[-1])])
    assert found[1:-2] == [1] * (len(creek) - 1)
    # and where it turns back a little each time
    height[1::2] += 11
    creek = np.column_stack([600 + 8 * (np.arange(len(height)) % 2), height])
    found = faces([(0, 0), *creek, (0, height[-1])])
    assert 0 not in found[1:-3]  # the last turns back into the side above


def test_a_winding_creek_along_the_rows_is_level():
    creek = [(x, 5 * (i % 2)) for i, x in enumerate(np.arange(0, 801, 40.0))]
    assert faces([*creek, (800, 400), (0, 400)])[: len(creek) - 1] == [0] * (len(creek) - 1)


def test_a_short_step_back_in_an_end_is_of_the_end():
    assert faces([(0, 0), (500, 0), (500, 90), (520, 86), (520, 300), (0, 300)]) == [
        0, 1, 1, 1, 0, -1,
    ]  # fmt: skip


def test_nothing_narrower_than_a_pass_has_an_end():
    assert faces([(0, 0), (30, 0), (30, 12), (0, 12)]) == [0, 0, 0, 0]
    assert faces([(0, 0), (30, 0), (30, 13), (0, 13)]) == [0, 1, 0, -1]


def test_wiggles_are_smoothed_on_rings_and_lines():
    ring = np.array([(0, 0), (50, 1), (100, 0), (100, 80), (0, 80)], dtype=float)
    assert corners_of(ring, 2.0, closed=True).tolist() == [0, 2, 3, 4]
    assert corners_of(ring, 0.5, closed=True).tolist() == [0, 1, 2, 3, 4]
    assert corners_of(ring[:3], 2.0, closed=False).tolist() == [0, 2]


def test_rows_end_on_a_line_as_on_a_boundary():
    lines = shapely.MultiLineString([[(0, 0), (400, 5), (800, 10)], [(0, 50), (0, 300)]])
    met = EndLines(lines, HEADLAND_M, PASS_M)
    assert met.met(Frame(90)).tolist() == [False, False, True]
    assert met.met(Frame(0)).tolist() == [True, True, False]
    assert met.length_m(Frame(90)) == pytest.approx(250.0)
    assert met.met(Frame(92)).tolist() == [True, True, True]  # 800 m climb 18 m
    ring = EndLines(shapely.box(0, 0, 200, 100).exterior, HEADLAND_M, PASS_M)
    assert ring.met(Frame(90)).sum() == 2
    assert ring.met(Frame(45)).all()
    assert not EndLines(shapely.MultiLineString(), HEADLAND_M, PASS_M).met(Frame(45)).any()


def test_the_ends_of_an_open_path_have_one_neighbor():
    # a short beginning is of the side beyond it; the far end, which faces the other way, is not
    assert faces([(0, 0), (30, 5), (30, 300), (60, 0)], closed=False) == [1, 1, -1]
    assert faces([(0, 0), (60, 5), (60, 300), (90, 0)], closed=False) == [0, 1, -1]
    assert faces([(0, 0), (60, 5), (120, 0)], closed=False) == [0, 0]


def test_ends_are_as_long_as_the_boundary_they_lie_beside():
    field = shapely.Polygon(
        shapely.box(0, 0, 900, 400).exterior, [shapely.box(400, 100, 420, 111).exterior]
    )
    ends = Ends(field, HEADLAND_M, PASS_M)
    assert ends.length_m(Frame(90)) == pytest.approx(800.0)  # the pond is narrower than a pass
    assert ends.length_m(Frame(0)) == pytest.approx(1840.0)
    assert ends.at(Frame(90)).area == pytest.approx(800 * HEADLAND_M)
