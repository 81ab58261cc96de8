"""Needles come off, ground stays."""

import numpy as np
import pytest
import shapely
from brute import HEADLANDS, random_field
from fields import lay_on
from shapes import SHAPES

from striplay.geometry.needles import without_needles

SPIKED = [(0, 0), (100, 0), (160, 40), (100, 1e-12), (100, 100), (0, 100)]


def test_a_needle_comes_off_and_no_ground_with_it():
    spiked = shapely.Polygon(SPIKED)
    (blunt,) = without_needles(spiked)
    assert blunt.bounds == (0, 0, 100, 100)
    assert blunt.area == pytest.approx(10_000, rel=1e-12)


def test_a_needle_with_a_bent_tip_comes_off_whole():
    bent = shapely.Polygon(
        [(0, 0), (100, 0), (160, 40), (200, 90), (160, 40 + 1e-12), (100, 1e-12), (100, 100)]
    )
    (blunt,) = without_needles(bent)
    assert blunt.bounds == (0, 0, 100, 100)


def test_a_needle_into_the_ground_and_one_at_the_ring_s_begin():
    inward = shapely.Polygon([(60, 40), (100, 0), (100, 100), (0, 100), (0, 0), (100, 1e-13)])
    (blunt,) = without_needles(inward)
    assert not shapely.get_coordinates(blunt).tolist().count([60.0, 40.0])


def test_what_is_only_a_needle_is_dropped():
    needle = shapely.Polygon([(0, 0), (50, 50), (100, 100 + 1e-12)])
    assert len(without_needles([needle, shapely.box(0, 0, 1, 1)])) == 1


@pytest.mark.parametrize("name", SHAPES)
def test_ordinary_ground_is_not_touched(name):
    parts = shapely.get_parts(SHAPES[name])
    kept = without_needles(parts)
    assert shapely.area(kept) == pytest.approx(shapely.area(parts), rel=1e-12)


@pytest.mark.parametrize("heading", [7.752039942276752, 178.92481881779716, 143.39505289428982])
def test_layouts_close_where_a_headland_left_a_needle(tmp_path, heading):
    field = random_field("several parts", np.random.default_rng(1039))
    layout = lay_on(tmp_path, field, headland=HEADLANDS[1],
                    direction=f'heading = {heading}\noffset = "best"')  # fmt: skip
    assert sum(layout.areas_m2.values()) == pytest.approx(field.area, rel=1e-6)
