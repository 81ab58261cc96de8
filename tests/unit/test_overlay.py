"""Check overlays that shapely gets wrong without a word, against areas that know no topology."""

from pathlib import Path

import numpy as np
import pytest
import shapely

from striplay.geometry import overlay, witness

CORPUS = Path(__file__).parents[1] / "corpus" / "overlays.txt"
PAIRS = [
    tuple(map(shapely.from_wkb, line.split()))
    for line in CORPUS.read_text(encoding="ascii").splitlines()
]
"""Ground of layouts, side by side or in each other, of which shapely 2.2 on GEOS 3.14 gives at
least one overlay wrong by 4 to 1,056 m2."""


def edges(shape):
    """Give every edge, from left to right, with 1 where ground lies below it, else -1."""
    found = []
    for part in shapely.get_parts(shapely.orient_polygons(shape)):
        for ring in shapely.get_rings(part):
            corners = shapely.get_coordinates(ring)
            found.append(np.column_stack([corners[:-1], corners[1:]]))
    x0, y0, x1, y1 = np.concatenate(found).T
    sign = np.sign(x0 - x1)  # rings run counterclockwise: leftward edges have ground below
    swap = x0 > x1
    left = np.where(swap, x1, x0), np.where(swap, y1, y0)
    right = np.where(swap, x0, x1), np.where(swap, y0, y1)
    return sign, *left, *right


def shared_m2(one, other):
    """Give the area of the ground of both: over all pairs of edges, what lies below the lower.

    Areas below edges add up to a polygon's, with their signs; so do their products. Nothing is cut,
    so that it makes no difference whether edges all but lie on each other.
    """
    a, b = (tuple(each[None, :] for each in edges(one)), tuple(e[:, None] for e in edges(other)))
    low, high = np.maximum(a[1], b[1]), np.minimum(a[3], b[3])
    wide = np.where(a[1] < a[3], 1, 0) * np.where(b[1] < b[3], 1, 0) * (high > low)
    base = min(one.bounds[1], other.bounds[1])

    def height(edge, x):
        run = np.where(edge[3] > edge[1], edge[3] - edge[1], 1.0)
        return edge[2] - base + (edge[4] - edge[2]) * (x - edge[1]) / run

    a0, a1, b0, b1 = height(a, low), height(a, high), height(b, low), height(b, high)
    d0, d1 = a0 - b0, a1 - b1
    crossing = d0 * d1 < 0
    total = np.abs(d0) + np.abs(d1)
    apart = np.where(crossing, (d0**2 + d1**2) / np.where(total > 0, total, 1.0), total) / 2
    mean = (a0 + a1 + b0 + b1) / 4
    return float((a[0] * b[0] * wide * (high - low) * (mean - apart / 2)).sum())


def test_the_areas_that_overlays_are_held_to():
    one = shapely.Polygon([(0, 0), (4, 0), (4, 4), (0, 4)], [[(1, 1), (2, 1), (2, 2), (1, 2)]])
    other = shapely.Polygon([(1, 1), (6, 1), (1, 6)])
    assert shared_m2(one, one) == pytest.approx(15)
    assert shared_m2(one, other) == pytest.approx(9 - 0.5 - 1)
    assert shared_m2(one, shapely.box(5, 5, 6, 6)) == 0


@pytest.mark.parametrize("number", range(len(PAIRS)))
@pytest.mark.parametrize("turned", [False, True])
def test_overlays_of_edges_that_all_but_lie_on_each_other_are_right(number, turned):
    one, other = PAIRS[number][::-1] if turned else PAIRS[number]
    shared = shared_m2(one, other)
    near = 1e-9 * (one.area + other.area)
    assert overlay.intersection(one, other).area == pytest.approx(shared, abs=near)
    assert overlay.difference(one, other).area == pytest.approx(one.area - shared, abs=near)
    together = pytest.approx(one.area + other.area - shared, abs=near)
    assert overlay.union(one, other).area == together
    assert overlay.union_all([one, other]).area == together


def test_neighbors_of_a_wrong_overlay_stay_as_they_are():
    one = np.array([pair[0] for pair in PAIRS])
    other = np.array([pair[1] for pair in PAIRS])
    plain = shapely.difference(one, other)
    found = overlay.difference(one, other)
    for index, shape in enumerate(found):
        right = one[index].area - shared_m2(one[index], other[index])
        assert shape.area == pytest.approx(right, abs=1e-4)
        if abs(plain[index].area - right) < 1e-4:
            assert shape.equals_exact(plain[index], 0)
    assert overlay.intersection(one[:, None], other[:1]).shape == (len(PAIRS), 1)
    wide = overlay.intersection(shapely.box(-1e4, -1e4, 1e4, 1e4), other)
    assert shapely.area(wide) == pytest.approx(shapely.area(other))


WHOLE = shapely.box(0, 0, 100, 60)
PART = shapely.box(60, 10, 140, 30)


@pytest.mark.parametrize(
    ("rule", "right", "wrong"),
    [
        (np.logical_and, shapely.intersection, [shapely.Polygon(), PART, WHOLE]),
        (np.greater, shapely.difference, [shapely.Polygon(), WHOLE]),
        (np.logical_or, shapely.union, [WHOLE, PART, shapely.box(0, 0, 140, 60)]),
    ],
)
def test_what_points_contradict_is_doubted(rule, right, wrong):
    found = np.array([right(WHOLE, PART), *wrong])
    ones, others = (np.array([shape] * len(found)) for shape in (WHOLE, PART))
    doubted = witness.doubted(rule, ones, others, found)
    assert doubted.tolist() == [False] + [True] * len(wrong)


def test_each_shape_is_asked_of_however_small():
    """A wrong piece of 4 m2 beside a headland had 19 m of outline, and no point in it was asked."""
    pieces = np.array([shapely.box(3 * n, 0, 3 * n + 1, 0.5) for n in range(20)])
    points, owner = witness._beside_edges(pieces)
    assert set(owner) == set(range(20))
    inside = shapely.contains_xy(pieces[owner], *points.T)
    assert set(owner[inside]) == set(range(20))


def test_a_union_without_a_part_is_doubted():
    parts = np.array([WHOLE, PART])
    assert not witness.union_doubted(parts, shapely.union_all(parts))
    assert witness.union_doubted(parts, WHOLE)
    assert witness.union_doubted(parts, shapely.box(0, 0, 140, 60))
    assert not witness.union_doubted(np.array([], dtype=object), shapely.GeometryCollection())


def test_what_does_not_meet_and_lines_are_not_asked_of():
    away, line = shapely.box(200, 0, 300, 60), shapely.LineString([(0, 0), (90, 50)])
    others = np.array([away, line, shapely.Polygon(), shapely.GeometryCollection()])
    ones = np.array([WHOLE] * len(others))
    assert not witness.doubted(np.greater, ones, others, shapely.difference(ones, others)).any()
