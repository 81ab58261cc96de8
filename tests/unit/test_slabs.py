"""Trapezoids and folding against the sweep's own chords and areas, level by level."""

import numpy as np
import pytest
import shapely
from shapes import SHAPES

from striplay.geometry.edges import edges_of
from striplay.geometry.fold import fold
from striplay.geometry.frame import Frame
from striplay.geometry.holes import enclosed, narrow_holes
from striplay.geometry.profile import area_below
from striplay.geometry.slabs import Slabs, slabs_of, split_by_length
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
    assert slabs.mirrored().area_m2 == pytest.approx(ground.area, rel=1e-9)
    long, short = split_by_length(slabs, 60.0)
    assert long.area_m2 + short.area_m2 == pytest.approx(ground.area, rel=1e-9)
    level_m = np.linspace(ground.bounds[1], ground.bounds[3], 400)[1:-1] + 0.00071
    found = chords(edges, level_m)
    for kept, some in ((found.length_m >= 60.0, long), (found.length_m < 60.0, short)):
        mine = np.bincount(found.level[kept], found.length_m[kept], len(level_m))
        assert lengths(some, level_m) == pytest.approx(mine, abs=1e-6)


def test_an_edge_that_rises_by_one_rounding_keeps_its_place():
    start = np.array([[150.6, -190.38029955433953], [194.2, 238.9], [-175.9, 170.9],
                      [-231.6, -190.38029955433956]])  # fmt: skip
    end = np.roll(start, -1, axis=0)
    slabs = slabs_of(start, end)
    assert slabs.area_m2 == pytest.approx(shapely.Polygon(start).area, rel=1e-12)
    folded = fold(slabs, -191.0, STEP_M, STEPS)
    assert folded.begin_runs[STEPS] + folded.end_runs[2 * STEPS] >= 12


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
    folded = fold(slabs, first_m, STEP_M, STEPS)
    sets = int((ground.bounds[3] - first_m) / (STEPS * STEP_M)) + 1
    for step in (-STEPS, -31, 0, 1, 40, STEPS):
        level_m = first_m + (np.arange(sets + 1) * STEPS + step) * STEP_M
        expected = area_below(edges, np.clip(level_m, *ground.bounds[1::2])).sum() - ground.area
        assert folded.below_m2[STEPS + step] == pytest.approx(expected, rel=1e-9, abs=1e-5)


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
    folded = fold(slabs, first_m, STEP_M, STEPS)
    for low, high in ((1, 23), (25, 47), (49, 71)):
        for offset in (0, 7, 30, 71):
            at, to = STEPS + low - offset, STEPS + high - offset
            count, reach_m = runs_of(ground, first_m, low, high, offset)
            assert folded.begin_runs[at] + folded.end_runs[to] == pytest.approx(count, abs=1e-9)
            # ends shift one way on these shapes, or to and fro at a few corners only
            mine_m = folded.begin_m[at] + folded.end_m[to]
            assert reach_m * (1 - 1e-9) <= mine_m <= reach_m * 1.03


def test_a_band_with_a_hole_is_one_piece():
    ground = shapely.box(0, 0.123, 300, 180.2).difference(shapely.box(100, 14.2, 108, 20.3))
    edges = edges_of(ground)
    folded = fold(slabs_of(edges.start, edges.end), 0.0, STEP_M, STEPS)
    holes = narrow_holes(ground, 12.0)
    bands = np.array([[1, 25, 49], [23, 47, 71]])
    inside = enclosed(*holes.spans(Frame(90.0)), bands, STEP_M, STEPS)
    for offset in range(STEPS):
        for band, (low, high) in enumerate(bands.T):
            count, _ = runs_of(ground, 0.0, low, high, offset)
            chi = folded.begin_runs[STEPS + low - offset] + folded.end_runs[STEPS + high - offset]
            assert chi + inside[band, offset] == count
    assert inside.max() == 1
    assert len(narrow_holes(ground, 3.0)) == 0


def test_nothing_folds_to_nothing():
    nothing = Slabs(*(np.empty(0) for _ in range(6)))
    folded = fold(nothing, 0.0, STEP_M, STEPS)
    assert not any(values.any() for values in (folded.begin_runs, folded.end_m, folded.below_m2))
