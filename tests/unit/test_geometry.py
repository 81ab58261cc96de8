"""Check plane geometry on shapes small enough to work by hand, the empty and odd ones too."""

import numpy as np
import pytest
import shapely
from shapes import SHAPES

from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.geometry.profile import area_below
from striplay.geometry.sweep import bands, chords, crossed_levels
from striplay.tolerances import MITRE_LIMIT

PASS_M = 12.192
"""A planter pass of 16 rows at 30 in."""
L_FIELD = shapely.Polygon([(0, 0), (400, 0), (400, 180), (150, 180), (150, 500), (0, 500)])


def area_of(geometry):
    return float(np.sum(shapely.area(geometry)))


# --- edges ----------------------------------------------------------------------------------------


def test_edges_of_parts_and_rings():
    holed = shapely.Polygon([(0, 0), (10, 0), (10, 10), (0, 10)], [[(2, 2), (4, 2), (4, 4)]])
    both = shapely.MultiPolygon([holed, shapely.box(20, 0, 30, 10)])
    edges = edges_of([both, SHAPES["triangle"], shapely.Polygon()])
    assert len(edges) == 4 + 3 + 4 + 3
    assert edges.owner.tolist() == [0] * 11 + [1] * 3
    assert edges.ring.tolist() == [0] * 4 + [1] * 3 + [2] * 4 + [3] * 3
    assert len(edges_of(shapely.Polygon())) == 0


# --- rows -----------------------------------------------------------------------------------------


def test_a_row_through_a_notch_comes_in_two_pieces():
    u_field = shapely.Polygon(
        [(0, 0), (90, 0), (90, 50), (60, 50), (60, 20), (30, 20), (30, 50), (0, 50)]
    )
    found = chords(edges_of(u_field), np.array([10.0, 30.0]))
    assert found.level.tolist() == [0, 1, 1]
    assert found.start_x_m.tolist() == [0, 0, 60]
    assert found.end_x_m.tolist() == [90, 30, 90]
    assert found.length_m.tolist() == [90, 30, 30]


def test_a_row_through_a_vertex_counts_it_once():
    diamond = shapely.Polygon([(0, 0), (50, -50), (100, 0), (50, 50)])
    found = chords(edges_of(diamond), np.array([-50.0, 0.0, 50.0]))
    assert found.level.tolist() == [1]
    assert (found.start_x_m[0], found.end_x_m[0]) == (0, 100)


def test_rows_are_half_open_along_a_side():
    # the lower side belongs to the row on it, the upper one does not
    found = chords(edges_of(shapely.box(0, 0, 10, 10)), np.array([0.0, 10.0]))
    assert found.level.tolist() == [0]


def test_two_boxes_that_share_a_side_share_no_row():
    lower, upper = shapely.box(0, 0, 10, 10), shapely.box(0, 10, 10, 20)
    levels_m = np.arange(0.0, 20.0)
    count = len(chords(edges_of(lower), levels_m).level) + len(
        chords(edges_of(upper), levels_m).level
    )
    assert count == 20


def test_no_rows_where_there_is_no_ground():
    assert len(chords(edges_of(shapely.Polygon()), np.arange(5.0)).level) == 0
    assert len(chords(edges_of(shapely.box(0, 0, 1, 1)), np.array([])).level) == 0
    assert len(chords(edges_of(shapely.box(0, 0, 1, 1)), np.array([-1.0, 2.0])).level) == 0


def test_crossed_levels_of_a_level_edge_are_none():
    edges = edges_of(shapely.box(0, 0, 10, 10))
    edge, level = crossed_levels(edges, np.array([0.0, 5.0, 10.0]))
    assert np.all(edges.start[edge, 1] != edges.end[edge, 1])
    assert sorted(level.tolist()) == [0, 0, 1, 1]


# --- areas ----------------------------------------------------------------------------------------


def test_area_below_of_a_triangle():
    triangle = shapely.Polygon([(0, 0), (100, 0), (0, 100)])
    levels_m = np.array([120.0, 50.0, -5.0, 0.0, 100.0, 25.0])  # in any order
    assert area_below(edges_of(triangle), levels_m) == pytest.approx(
        [5000, 5000 - 1250, 0, 0, 5000, 5000 - 75**2 / 2]
    )


def test_area_below_far_from_the_origin_keeps_its_digits():
    far = shapely.box(1e6, 4e6, 1e6 + 100, 4e6 + 100)
    assert area_below(edges_of(far), np.array([4e6 + 25.0]))[0] == pytest.approx(2500, abs=1e-6)


def test_area_below_nothing():
    assert area_below(edges_of(shapely.Polygon()), np.array([0.0, 1.0])).tolist() == [0, 0]
    assert area_below(edges_of(L_FIELD), np.array([])).tolist() == []


# --- bands ----------------------------------------------------------------------------------------


def test_bands_of_an_l():
    found = bands(L_FIELD, np.array([0.0, 100.0, 200.0]), np.array([100.0, 200.0, 600.0]))
    assert found.band.tolist() == [0, 1, 2]
    assert shapely.area(found.polygon).tolist() == pytest.approx(
        [40_000, 400 * 80 + 150 * 20, 150 * 300]
    )


def test_a_band_over_a_notch_comes_in_pieces():
    parts = SHAPES["two parts"]
    found = bands(parts, np.array([50.0]), np.array([60.0]))
    assert found.band.tolist() == [0, 0]
    assert area_of(found.polygon) == pytest.approx(10 * (200 + 190))


@pytest.mark.parametrize(("low_m", "high_m"), [(-50, -20), (-10, 0), (500, 520), (800, 900)])
def test_a_band_beside_the_ground_is_empty(low_m, high_m):
    found = bands(L_FIELD, np.array([low_m, 10.0]), np.array([high_m, 20.0]))
    assert found.band.tolist() == [1]
    assert area_of(found.polygon) == pytest.approx(4000)


def test_bands_of_nothing():
    for empty in (shapely.Polygon(), shapely.MultiPolygon()):
        found = bands(empty, np.array([0.0]), np.array([1.0]))
        assert (len(found.polygon), len(found.band)) == (0, 0)
    assert len(bands(L_FIELD, np.array([]), np.array([])).band) == 0


def test_a_clip_that_would_be_invalid_is_redone():
    # a comb whose teeth touch the band's edge from both sides
    teeth = [(x, y) for i in range(20) for x, y in ((20 * i, 10), (20 * i + 10, 30))]
    comb = shapely.Polygon([(0, 0), *[(400, 0), (400, 10)], *reversed(teeth)])
    comb = shapely.make_valid(comb)
    found = bands(comb, np.array([0.0, 10.0, 30.0]), np.array([10.0, 30.0, 40.0]))
    assert np.all(shapely.is_valid(found.polygon))
    assert area_of(found.polygon) == pytest.approx(comb.area, rel=1e-9)


# --- headlands ------------------------------------------------------------------------------------


def test_all_round_a_rectangle_and_its_hole():
    field = shapely.Polygon(
        shapely.box(0, 0, 300, 200).exterior, [shapely.box(100, 80, 140, 110).exterior]
    )
    inner = inset_all_round(field, 10)
    assert inner.area == pytest.approx(280 * 180 - 60 * 50)  # mitered corners


def test_a_sharp_corner_of_a_hole_is_cut_at_the_miter_limit():
    spike = [(100, 100), (160, 101), (160, 99)]
    field = shapely.Polygon(shapely.box(0, 0, 300, 200).exterior, [spike])
    taken = shapely.difference(field, inset_all_round(field, 5))
    hole = shapely.intersection(taken, shapely.box(20, 20, 280, 180))
    assert hole.bounds[0] == pytest.approx(100 - MITRE_LIMIT * 5, abs=0.1)


def test_a_field_narrower_than_two_headlands_has_nothing_left():
    assert inset_all_round(SHAPES["sliver"], 1.0).is_empty
    assert Ends(shapely.box(0, 0, 15, 100), 10, PASS_M).inside(Frame(90)).is_empty


def test_at_ends_of_an_l_follows_each_end():
    inner = Ends(L_FIELD, 20, PASS_M).inside(Frame(90))
    # rows along x end at x = 0, at x = 400 up to y = 180 and at x = 150 above it
    wanted = shapely.Polygon([(20, 0), (380, 0), (380, 180), (130, 180), (130, 500), (20, 500)])
    assert shapely.symmetric_difference(inner, wanted).area < 1e-6


def test_at_ends_of_a_hole_stops_at_its_corners():
    field = shapely.Polygon(
        shapely.box(0, 0, 300, 200).exterior, [shapely.box(100, 80, 140, 110).exterior]
    )
    taken = shapely.difference(field, Ends(field, 10, PASS_M).inside(Frame(90)))
    wanted = shapely.union_all(
        [
            shapely.box(0, 0, 10, 200),
            shapely.box(290, 0, 300, 200),
            shapely.box(90, 80, 100, 110),
            shapely.box(140, 80, 150, 110),
        ]
    )
    assert shapely.symmetric_difference(taken, wanted).area < 1e-6


def test_at_ends_a_slanted_end_runs_on_to_the_side():
    # the end slants at 45 degrees; 10 m at right angles to it are 14.14 m along the rows
    field = shapely.Polygon([(0, 0), (300, 0), (200, 100), (0, 100)])
    taken = shapely.difference(field, Ends(field, 10, PASS_M).inside(Frame(90)))
    assert taken.area == pytest.approx(10 * 100 + 100 * 10 * np.sqrt(2))


@pytest.mark.parametrize(("rise_m", "end"), [(12.1, False), (12.3, True)])
@pytest.mark.parametrize("long_m", [60.0, 800.0])
def test_a_planter_pass_of_rows_makes_an_end_whatever_the_angle(rise_m, end, long_m):
    field = shapely.Polygon([(0, 0), (long_m, -rise_m), (long_m, 200), (0, 200)])
    low = shapely.LineString([(12, 0), (long_m - 12, -rise_m)]).buffer(0.5)
    untouched = shapely.intersection(Ends(field, 5, PASS_M).inside(Frame(90)), low).area
    assert (untouched < low.area / 4) == end


def test_at_ends_one_part_takes_nothing_off_another():
    # what runs on past the left part's ends would reach 122 m, and the right part is 30 m off
    inner = Ends(
        shapely.transform(SHAPES["two parts"], lambda p: p[:, ::-1]), 24.384, PASS_M
    ).inside(Frame(90))
    wanted = shapely.union_all(
        [shapely.box(24.384, 0, 300 - 24.384, 200), shapely.box(64.384, 230, 260 - 24.384, 420)]
    )
    assert shapely.symmetric_difference(inner, wanted).area < 1e-6


@pytest.mark.parametrize("name", ["duplicate vertices", "collinear vertices"])
def test_at_ends_odd_vertices_change_nothing(name):
    inner = Ends(SHAPES[name], 12, PASS_M).inside(Frame(90))
    wanted = shapely.box(12, 0, 288, 200)
    assert shapely.symmetric_difference(inner, wanted).area < 1e-6


def test_headlands_of_nothing():
    assert Ends(shapely.Polygon(), 10, PASS_M).inside(Frame(90)).is_empty
    assert inset_all_round(shapely.Polygon(), 10).is_empty
