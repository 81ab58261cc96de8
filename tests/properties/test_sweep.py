"""Check rows, bands and areas swept from edges against shapely's own clipping."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import SHAPES
from strategies import headings, star_fields

from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.profile import area_below
from striplay.geometry.sweep import bands, chords, crossed_levels

SOME = settings(max_examples=60, deadline=None)
SHIFT = 0.4142
"""Keeps levels off vertices at round numbers, where shapely counts a touching line too."""

spacings = st.floats(3.0, 90.0)
shape_names = pytest.mark.parametrize("name", SHAPES)


def levels_over(ground, spacing_m):
    _, bottom_m, _, top_m = ground.bounds
    return np.arange(bottom_m - spacing_m * SHIFT, top_m + spacing_m, spacing_m)


def check_chords(ground, spacing_m):
    levels_m = levels_over(ground, spacing_m)
    found = chords(edges_of(ground), levels_m)
    left_m, _, right_m, _ = ground.bounds
    ends = np.stack(
        [np.column_stack([np.full_like(levels_m, x), levels_m]) for x in (left_m - 1, right_m + 1)],
        axis=1,
    )
    clipped = shapely.intersection(shapely.linestrings(ends), ground)
    each_m = np.bincount(found.level, found.length_m, minlength=len(levels_m))
    assert each_m == pytest.approx(shapely.length(clipped), abs=1e-6)
    assert np.all(found.length_m > 0)
    order = np.lexsort((found.start_x_m, found.level))
    assert np.array_equal(order, np.arange(len(order)))
    same = found.level[1:] == found.level[:-1]
    assert np.all(found.start_x_m[1:][same] >= found.end_x_m[:-1][same])
    middle = shapely.points((found.start_x_m + found.end_x_m) / 2, levels_m[found.level])
    assert np.all(shapely.covers(ground, middle))


def check_area_below(ground, levels_m):
    left_m, bottom_m, right_m, _ = ground.bounds
    boxes = shapely.box(left_m - 1, bottom_m - 1, right_m + 1, np.maximum(levels_m, bottom_m - 1))
    clipped_m2 = shapely.area(shapely.intersection(ground, boxes))
    found_m2 = area_below(edges_of(ground), levels_m)
    assert found_m2 == pytest.approx(clipped_m2, abs=1e-9 * ground.area + 1e-7)


def check_bands(ground, spacing_m):
    levels_m = levels_over(ground, spacing_m)
    found = bands(ground, levels_m[:-1], levels_m[1:])
    assert np.all(shapely.is_valid(found.polygon))
    assert np.all(shapely.get_type_id(found.polygon) == shapely.GeometryType.POLYGON)
    bounds = shapely.bounds(found.polygon)
    assert np.all(bounds[:, 1] >= levels_m[found.band] - 1e-9)
    assert np.all(bounds[:, 3] <= levels_m[found.band + 1] + 1e-9)
    assert np.all(np.diff(found.band) >= 0)
    total_m2 = shapely.area(found.polygon).sum()
    assert total_m2 == pytest.approx(ground.area, rel=1e-9, abs=1e-5)
    # as much ground together as one by one: they overlap nowhere; and all of it lies inside
    together = shapely.union_all(found.polygon)
    assert together.area == pytest.approx(total_m2, rel=1e-9, abs=1e-5)
    assert shapely.difference(ground, together).area < 1e-6 * ground.area
    assert shapely.difference(together, ground).area < 1e-6 * ground.area


@SOME
@given(star_fields(), headings(), spacings)
def test_rows_are_as_long_as_shapely_clips_them(field, heading_deg, spacing_m):
    check_chords(Frame(heading_deg).turn(field), spacing_m)


@shape_names
@pytest.mark.parametrize("heading_deg", [0.0, 33.3, 90.0])
def test_rows_of_every_shape(name, heading_deg):
    check_chords(Frame(heading_deg).turn(SHAPES[name]), 7.62)


@SOME
@given(star_fields(), headings(), st.lists(st.floats(-0.2, 1.2), min_size=1, max_size=12))
def test_area_below_is_as_shapely_clips_it(field, heading_deg, shares):
    ground = Frame(heading_deg).turn(field)
    _, bottom_m, _, top_m = ground.bounds
    check_area_below(ground, bottom_m + np.array(shares) * (top_m - bottom_m))


@shape_names
def test_area_below_every_vertex_of_every_shape(name):
    ground = SHAPES[name]
    check_area_below(ground, np.unique(shapely.get_coordinates(ground)[:, 1])[::-1].copy())


@SOME
@given(star_fields(), headings(), spacings)
def test_bands_hold_all_the_ground_once(field, heading_deg, spacing_m):
    check_bands(Frame(heading_deg).turn(field), spacing_m)


@shape_names
@pytest.mark.parametrize("heading_deg", [0.0, 33.3, 90.0])
def test_bands_of_every_shape(name, heading_deg):
    check_bands(Frame(heading_deg).turn(SHAPES[name]), 12.192)


@SOME
@given(star_fields(), st.floats(0.02, 0.8))
def test_rows_times_spacing_come_near_the_area(field, share):
    """The midpoint rule errs by at most half a step of all that the integrand rises and falls.

    How wide a field is, level by level, rises and falls by no more than its edges run sideways
    (bounded variation, from any textbook). So the step is set for the error to be half a share of
    the area at most; without its rows a field would be off by all of it.
    """
    edges = edges_of(field)
    spacing_m = share * field.area / np.abs(edges.end - edges.start)[:, 0].sum()
    row_m = chords(edges, levels_over(field, spacing_m)).length_m.sum()
    assert abs(row_m * spacing_m - field.area) <= (share / 2 + 1e-9) * field.area


@SOME
@given(star_fields(), headings(), st.floats(-3000, 3000), st.floats(-3000, 3000), spacings)
def test_rows_and_areas_move_with_the_field(field, heading_deg, east_m, north_m, spacing_m):
    frame = Frame(heading_deg)
    ground = frame.turn(field)
    moved = shapely.transform(ground, lambda points: points + np.array([east_m, north_m]))
    levels_m = levels_over(ground, spacing_m)
    here = chords(edges_of(ground), levels_m)
    there = chords(edges_of(moved), levels_m + north_m)
    assert here.length_m.sum() == pytest.approx(there.length_m.sum(), rel=1e-7, abs=1e-4)
    assert area_below(edges_of(moved), levels_m + north_m) == pytest.approx(
        area_below(edges_of(ground), levels_m), abs=1e-6 * field.area
    )


@SOME
@given(star_fields(), headings(), headings(), spacings)
def test_a_field_turned_with_its_heading_has_the_same_rows(field, heading_deg, by_deg, spacing_m):
    turned = Frame(by_deg).turn_back(Frame(0.0).turn(field))  # clockwise by `by_deg`
    here = Frame(heading_deg).turn(field)
    there = Frame(heading_deg + by_deg).turn(turned)
    assert shapely.hausdorff_distance(here, there) < 1e-8
    levels_m = levels_over(here, spacing_m)
    rows_here = chords(edges_of(here), levels_m).length_m.sum()
    rows_there = chords(edges_of(there), levels_m).length_m.sum()
    assert rows_here == pytest.approx(rows_there, rel=1e-7, abs=1e-4)


@SOME
@given(star_fields())
def test_edges_keep_the_ground_on_their_left(field):
    edges = edges_of(field)
    x0, y0 = edges.start.T
    x1, y1 = edges.end.T
    assert np.sum(x0 * y1 - x1 * y0) / 2 == pytest.approx(field.area, rel=1e-6)
    reversed_edges = edges_of(shapely.reverse(field))
    assert len(reversed_edges) == len(edges)
    x0, y0 = reversed_edges.start.T
    x1, y1 = reversed_edges.end.T
    assert np.sum(x0 * y1 - x1 * y0) / 2 == pytest.approx(field.area, rel=1e-6)


@SOME
@given(star_fields(), spacings)
def test_every_level_is_crossed_an_even_number_of_times(field, spacing_m):
    # half-open edges: even through vertices, which here lie on levels on purpose
    levels_m = np.unique(shapely.get_coordinates(field)[:, 1])
    _, level = crossed_levels(edges_of(field), levels_m)
    assert np.all(np.bincount(level, minlength=len(levels_m)) % 2 == 0)
