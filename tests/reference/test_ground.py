"""Check layout on the ground against theorems, geometry's formulas and practice tables.

Each value's source stands beside it; "arithmetic" follows from a definition alone.
"""

import math

import numpy as np
import pytest
import shapely
from fields import FOOT_M, lay_on, square
from shapes import SHAPES

from striplay.geometry.curves import rings_about, track_along
from striplay.geometry.edges import edges_of
from striplay.geometry.slabs import slabs_of
from striplay.section.contour import greatest_width_m
from striplay.section.cover import passes_to_cover
from striplay.units import ACRE_M2

NONE = '[headland]\nwhere = "none"\n'


# --- fewest passes --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("passes_ft", "count"),
    # a quarter section's 2,640 ft: arithmetic
    [(30, 88), (40, 66), (60, 44), (90, 30), (120, 22)],
)
def test_passes_over_a_quarter_searched(tmp_path, passes_ft, count):
    assert passes_to_cover(2640 * FOOT_M, passes_ft * FOOT_M) == count
    if passes_ft != 40:
        return
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n'
    layout = lay_on(tmp_path, square(), headland=NONE, strips=strips,
                    direction='heading = "best"\n[cost]\naim = "passes"')  # fmt: skip
    assert layout.laid.blocks[0].choice.passes == count


# --- circles, rings and sectors -------------------------------------------------------------------


def test_area_and_length_of_rings():
    """Pi R2 and 2 pi R, the elementary formulas."""
    track = rings_about(np.zeros(2))
    for radius_m in (30.0, 402.336):
        assert shapely.length(track.lines(np.array([radius_m])))[0] == pytest.approx(
            2 * math.pi * radius_m, rel=1e-6
        )
        (ring,) = track.bands(np.array([0.0]), np.array([radius_m]))
        assert ring.area == pytest.approx(math.pi * radius_m**2, rel=1e-6)


@pytest.mark.parametrize(
    ("radius_ft", "acres", "digit"),
    # arithmetic, pi r2 / 43,560: a pivot of 1,320 ft covers 125.664 ac, of 1,300 ft 121.885
    [(1320, 125.664, 0.001), (1300, 121.885, 0.001)],
)
def test_acres_under_a_pivot(tmp_path, radius_ft, acres, digit):
    field = shapely.Point(0, 0).buffer(radius_ft * FOOT_M, quad_segs=2000)
    layout = lay_on(
        tmp_path,
        field,
        headland=NONE,
        direction='pivot = [-93.5, 42.0]\nshortest = "1 in"\nnarrowest = "1 in"',
    )
    # the hub that no row turns about is 1 m in radius
    covered_m2 = layout.areas_m2["strips"] + layout.areas_m2["leftover"]
    assert covered_m2 / ACRE_M2 == pytest.approx(acres, abs=digit)
    assert layout.areas_m2["leftover"] < 5


def test_corners_of_a_quarter_left_by_a_pivot(tmp_path):
    """Arithmetic: the four corners of a quarter section are 160 - 40 pi = 34.336 ac."""
    circle = shapely.Point(0, 0).buffer(1320 * FOOT_M, quad_segs=2000)
    corners = shapely.difference(square(), circle)
    layout = lay_on(tmp_path, corners, headland=NONE, direction="heading = 0")
    assert layout.land_accounts["field"]["area_m2"] / ACRE_M2 == pytest.approx(34.336, rel=1e-4)


@pytest.mark.parametrize(("from_ft", "to_ft", "angle_deg"), [(100, 140, 90), (600, 720, 45)])
def test_area_of_a_sector_of_a_ring(from_ft, to_ft, angle_deg):
    """Angle / 2 x (R2 - r2), the elementary formula."""
    track = rings_about(np.zeros(2))
    (ring,) = track.bands(np.array([from_ft * FOOT_M]), np.array([to_ft * FOOT_M]))
    far = 2000 * np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    wedge = shapely.Polygon([(0, 0), (2000, 0), *([(2000, 2000)] if angle_deg == 90 else []), far])
    area = shapely.intersection(ring, wedge).area
    ratio = math.radians(angle_deg) / 2 * (to_ft**2 - from_ft**2) * FOOT_M**2
    assert area == pytest.approx(ratio, rel=1e-6)


def test_parallels_of_a_convex_curve_are_longer_by_two_pi_d():
    """Steiner's formula for parallel curves: L + 2 pi d, here over half a turn: L + pi d."""
    angle = np.linspace(0, math.pi, 3001)
    ellipse = np.column_stack([300 * np.cos(angle), 120 * np.sin(angle)])
    track = track_along(ellipse)
    base_m = np.hypot(*np.diff(ellipse, axis=0).T).sum()
    for distance_m in (12.192, 36.576):
        outward = shapely.length(track.lines(np.array([-distance_m])))[0]
        assert outward - base_m == pytest.approx(math.pi * distance_m, rel=1e-3)


# --- area below lines: Green's theorem ------------------------------------------------------------


@pytest.mark.parametrize("name", SHAPES)
def test_trapezoids_have_the_shapes_area(name):
    """The shoelace formula, by shapely."""
    edges = edges_of(SHAPES[name])
    assert slabs_of(edges.start, edges.end).area_m2 == pytest.approx(SHAPES[name].area, rel=1e-9)


# --- practices on a slope -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slope_percent", "width_ft"),
    # from memory, after USDA Natural Resources Conservation Service, Conservation Practice
    # Standard, Stripcropping, Code 585: greatest strip width
    [(1, 130), (2, 130), (3, 100), (8, 100), (9, 80), (16, 80), (17, 60), (20, 60), (21, 50),
     (25, 50)],
)  # fmt: skip
def test_greatest_width_of_a_contour_strip(slope_percent, width_ft):
    assert greatest_width_m(slope_percent) == pytest.approx(width_ft * FOOT_M)
