"""Trapezoids and folding against the sweep's own chords and areas, level by level."""

from dataclasses import astuple

import numpy as np
import pytest
import shapely
from shapes import SHAPES

from striplay.geometry.edges import edges_of
from striplay.geometry.fold import (
    BEGIN_M,
    BEGIN_RUNS,
    BELOW_M2,
    END_M,
    END_RUNS,
    fold,
    profile_of,
    summed,
)
from striplay.geometry.frame import Frame
from striplay.geometry.holes import enclosed, narrow_holes
from striplay.geometry.profile import area_below
from striplay.geometry.slabs import Slabs, slabs_of, with_chords_of
from striplay.geometry.sweep import chords

STEP_M = 0.5
STEPS = 72
HEADINGS = (0.0, 17.3, 90.0, 133.1)


def turned(name, heading_deg):
    ground = Frame(heading_deg).turn(SHAPES[name])
    edges = edges_of(ground)
    return ground, edges, slabs_of(edges.start, edges.end)


@pytest.mark.parametrize("heading_deg", HEADINGS)
@pytest.mark.parametrize("name", SHAPES)
def test_trapezoids_are_the_ground(name, heading_deg):
    ground, edges, slabs = turned(name, heading_deg)
    assert slabs.area_m2 == pytest.approx(ground.area, rel=1e-9)
    long = with_chords_of(slabs, 60.0)
    level_m = np.linspace(ground.bounds[1], ground.bounds[3], 400)[1:-1] + 0.00071
    found = chords(edges, level_m)
    for kept, some in ((found.length_m >= 60.0, long), (found.length_m >= 0.0, slabs)):
        mine = np.bincount(found.level[kept], found.length_m[kept], len(level_m))
        assert lengths(some, level_m) == pytest.approx(mine, abs=1e-6)


@pytest.mark.parametrize("heading_deg", HEADINGS)
@pytest.mark.parametrize("name", ["L with pond", "circle", "two parts"])
def test_trapezoids_between_two_levels_are_the_ground_there(name, heading_deg):
    ground, _, slabs = turned(name, heading_deg)
    low_m, high_m = np.quantile(ground.bounds[1::2], [0.2, 0.7])
    band = shapely.intersection(ground, shapely.box(-1e5, low_m, 1e5, high_m))
    cut = slabs.between(low_m, high_m)
    assert cut.area_m2 == pytest.approx(band.area, rel=1e-9)
    assert (cut.low_m.min(), cut.high_m.max()) == pytest.approx((low_m, high_m))
    assert not len(slabs.between(high_m, low_m).low_m)


@pytest.mark.parametrize("heading_deg", HEADINGS)
@pytest.mark.parametrize("name", SHAPES)
def test_a_profile_says_at_any_level_what_lies_there(name, heading_deg):
    ground, edges, slabs = turned(name, heading_deg)
    _, bottom_m, _, top_m = ground.bounds
    profile = profile_of(slabs, bottom_m)
    height_m = top_m - bottom_m
    at_m = np.append(np.linspace(-5.0, height_m + 5.0, 333) + 0.00071, [-1.0, height_m + 1.0])
    begin_runs, end_runs, begin_m, end_m, below_m2, _ = profile.at(at_m[None])[:, 0]
    found = chords(edges, np.sort(at_m) + bottom_m)
    order = np.argsort(at_m, kind="stable")
    count = np.bincount(found.level, minlength=len(at_m))
    length_m = np.bincount(found.level, found.length_m, len(at_m))
    assert (begin_runs + end_runs)[order] == pytest.approx(count)
    assert (begin_m + end_m)[order] == pytest.approx(length_m, abs=1e-6)
    inside_m = np.clip(at_m, 0.0, height_m) + bottom_m
    assert below_m2 == pytest.approx(area_below(edges, inside_m), rel=1e-9, abs=1e-4)


def test_an_edge_that_rises_by_one_rounding_keeps_its_place():
    start = np.array([[150.6, -190.38029955433953], [194.2, 238.9], [-175.9, 170.9],
                      [-231.6, -190.38029955433956]])  # fmt: skip
    end = np.roll(start, -1, axis=0)
    slabs = slabs_of(start, end)
    assert slabs.area_m2 == pytest.approx(shapely.Polygon(start).area, rel=1e-12)
    folded = fold(profile_of(slabs, -191.0), STEP_M, STEPS)
    assert at(folded, BEGIN_RUNS, 0) + at(folded, END_RUNS, STEPS) >= 12


def at(folded, kind, level):
    return folded.at(kind, np.array([level]))[0]


def lengths(slabs, level_m):
    """Add up the trapezoids' chords at some levels."""
    share = (level_m[:, None] - slabs.low_m) / (slabs.high_m - slabs.low_m)
    length_m = slabs.low_length_m + share * (slabs.high_length_m - slabs.low_length_m)
    return np.where((share >= 0) & (share < 1), length_m, 0.0).sum(axis=1)


@pytest.mark.parametrize("heading_deg", HEADINGS)
@pytest.mark.parametrize("name", SHAPES)
def test_folded_area_is_the_area_below_all_levels(name, heading_deg):
    ground, edges, slabs = turned(name, heading_deg)
    first_m = ground.bounds[1]
    folded = fold(profile_of(slabs, first_m), STEP_M, STEPS)
    sets = int((ground.bounds[3] - first_m) / (STEPS * STEP_M)) + 1
    for step in (-STEPS, -31, 0, 1, 40, STEPS):
        level_m = first_m + (np.arange(sets + 1) * STEPS + step) * STEP_M
        expected = area_below(edges, np.clip(level_m, *ground.bounds[1::2])).sum() - ground.area
        below_m2 = at(folded, BELOW_M2, step)
        assert below_m2 == pytest.approx(expected, rel=1e-9, abs=1e-5)


def runs_of(ground, first_m, low, high, offset):
    """Count pieces of the bands between two steps of the set, and how far they reach along x."""
    top_m = ground.bounds[3]
    begin_m = first_m - offset * STEP_M
    base = np.arange(begin_m, top_m + 1, STEPS * STEP_M)
    count, reach_m = 0, 0.0
    for low_m in base + low * STEP_M:
        band = shapely.box(-1e5, low_m, 1e5, low_m + (high - low) * STEP_M)
        pieces = shapely.get_parts(shapely.intersection(ground, band))
        pieces = pieces[shapely.area(pieces) > 1e-6]
        count += len(pieces)
        bounds = shapely.bounds(pieces).reshape(-1, 4)
        reach_m += float((bounds[:, 2] - bounds[:, 0]).sum())
    return count, reach_m


@pytest.mark.parametrize("heading_deg", [11.0, 98.7, 133.1])
@pytest.mark.parametrize("name", ["square", "L with pond", "triangle", "circle", "two parts"])
def test_runs_are_the_pieces_of_every_band(name, heading_deg):
    ground, _, slabs = turned(name, heading_deg)
    first_m = ground.bounds[1] - 0.123
    folded = fold(profile_of(slabs, first_m), STEP_M, STEPS)
    for low, high in ((1, 23), (25, 47), (49, 71)):
        for offset in (0, 7, 30, 71):
            begin, end = low - offset, high - offset
            count, reach_m = runs_of(ground, first_m, low, high, offset)
            runs = at(folded, BEGIN_RUNS, begin) + at(folded, END_RUNS, end)
            assert runs == pytest.approx(count, abs=1e-9)
            seen = [
                folded.seen(BEGIN_RUNS, np.array([low])),
                folded.seen(END_RUNS, np.array([high])),
            ]
            assert seen[0][0, 0, offset] + seen[1][0, 0, offset] == pytest.approx(runs)
            # ends shift one way on these shapes, or to and fro at a few corners only
            mine_m = at(folded, BEGIN_M, begin) + at(folded, END_M, end)
            assert reach_m * (1 - 1e-9) <= mine_m <= reach_m * 1.03


def test_a_band_with_a_hole_is_one_piece():
    ground = shapely.box(0, 0.123, 300, 180.2).difference(shapely.box(100, 14.2, 108, 20.3))
    edges = edges_of(ground)
    folded = fold(profile_of(slabs_of(edges.start, edges.end), 0.0), STEP_M, STEPS)
    holes = narrow_holes(ground, 12.0)
    bands = np.array([[1, 25, 49], [23, 47, 71]])
    inside = enclosed(*holes.spans(Frame(90.0)), bands, STEP_M, STEPS)
    for offset in range(STEPS):
        for band, (low, high) in enumerate(bands.T):
            count, _ = runs_of(ground, 0.0, low, high, offset)
            chi = at(folded, BEGIN_RUNS, low - offset) + at(folded, END_RUNS, high - offset)
            assert chi + inside[band, offset] == count
    assert inside.max() == 1
    assert len(narrow_holes(ground, 3.0)) == 0


def test_nothing_folds_to_nothing():
    nothing = Slabs(*(np.empty(0) for _ in range(6)))
    folded = fold(profile_of(nothing, 0.0), STEP_M, STEPS)
    assert not folded.sums.any()
    assert not folded.total.any()


def test_a_ground_without_land_takes_nothing_from_those_beside_it():
    _, edges, slabs = turned("triangle", 20.0)
    first_m = edges.start[:, 1].min()
    alone = summed(profile_of(slabs, np.array([first_m])))
    beside = summed(profile_of(slabs, np.array([first_m, 0.0])))
    for one, both in zip(astuple(alone), astuple(beside), strict=True):
        assert both.tolist() == [*one, 0.0]
