"""Neighbors share vertices, so that their common edges stay common when turned."""

import numpy as np
import pytest
import shapely

from striplay.geometry.borders import share_borders
from striplay.geometry.frame import Frame


def test_vertices_are_shared_both_ways():
    low, high = shapely.box(0, 0, 10, 1), shapely.box(3, 1, 20, 2)
    one, other = share_borders(np.array([low, high], dtype=object))
    assert {(3.0, 1.0), (10.0, 1.0)} <= set(one.exterior.coords)
    assert {(3.0, 1.0), (10.0, 1.0)} <= set(other.exterior.coords)
    assert one.equals(low)
    assert other.equals(high)


def test_a_hair_apart_is_one_place():
    low = shapely.Polygon([(0, 0), (10, 0), (10, 1), (5 + 4e-15, 1), (0, 1)])
    high = shapely.Polygon([(0, 1), (5, 1), (10, 1), (10, 2), (0, 2)])
    one, other = share_borders(np.array([low, high], dtype=object))
    on_border = [{x for x, y in p.exterior.coords if y == 1} for p in (one, other)]
    assert on_border[0] == on_border[1] == {0.0, 5.0, 10.0}


def test_holes_keep_their_place():
    holed = shapely.box(0, 0, 10, 10).difference(shapely.box(2, 2, 4, 4))
    island = shapely.box(2.5, 2, 3.5, 3)
    shared = share_borders(np.array([holed, island], dtype=object))
    assert shared[0].equals(holed)
    assert (2.5, 2.0) in set(shared[0].interiors[0].coords)


def test_nothing_in_nothing_out():
    assert len(share_borders(np.empty(0, dtype=object))) == 0


@pytest.mark.parametrize("heading", [11.0, 36.0, 123.4])
def test_turned_neighbors_do_not_overlap(heading):
    random = np.random.default_rng(2)
    ends = np.sort(random.uniform(-500, 500, (60, 2)), axis=1)
    low = np.arange(60) * 12.192
    boxes = share_borders(shapely.box(ends[:, 0], low, ends[:, 1], low + 12.192))
    turned = Frame(heading).turn_areas_back(boxes)
    overlap = shapely.area(shapely.intersection(turned[1:], turned[:-1]))
    assert overlap.max() < 1e-6
