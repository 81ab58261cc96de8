"""Check how far it is between the ends of passes."""

import math

import numpy as np
import pytest
import shapely
from fields import PLANE, sample
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from striplay.geometry.turns import level_turn_m
from striplay.ground import Ground
from striplay.operations.ways import LEG_RADII, rings_of, ways_of

SOME = settings(max_examples=15, deadline=None, phases=[Phase.explicit, Phase.generate])
SIDE_M, HEADLAND_M, RADIUS_M, PASS_M = 800.0, 20.0, 6.0, 12.0
NONE = np.empty(0, dtype=object)
EMPTY = shapely.MultiPolygon()


def ground_of(shape):
    return Ground(PLANE, shape, shape, EMPTY)


def square(hole=None):
    shape = shapely.box(0, 0, SIDE_M, SIDE_M)
    return shape if hole is None else shape.difference(hole)


def headland_of(shape):
    inner = shapely.buffer(shape, -HEADLAND_M, join_style="mitre")
    return np.array([shape.difference(inner)], dtype=object)


def passes_on(shape, count=60):
    """Give passes up and down by turns inside the headland, each of its longest run."""
    inner = shapely.buffer(shape, -HEADLAND_M, join_style="mitre")
    found = []
    for index in range(count):
        x = HEADLAND_M + PASS_M * (index + 0.5)
        met = shapely.intersection(inner, shapely.LineString([(x, -1e4), (x, 1e4)]))
        parts = shapely.get_parts(met)
        parts = parts[shapely.length(parts) > 1.0]
        found += list(parts if index % 2 == 0 else shapely.reverse(parts))
    return np.array(found, dtype=object)


def on_square(gate_m=None):
    shape = square()
    rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
    return ways_of(passes_on(shape), RADIUS_M, rings, gate_m)


POND = shapely.box(300, 300, 420, 500)
ELL = shapely.union(shapely.box(0, 0, 300, 800), shapely.box(0, 0, 800, 250))
CIRCLE = shapely.Point(0, 0).buffer(400, quad_segs=90)
PARTS = shapely.union(shapely.box(0, 0, 300, 400), shapely.box(340, 0, 640, 400))


def rounds():
    """Give passes round a pivot, each closed at north."""
    return np.array(
        [
            shapely.reverse(shapely.Point(0, 0).buffer(radius, quad_segs=90)).exterior
            for radius in np.arange(350.0, 50.0, -PASS_M)
        ],
        dtype=object,
    )


FIELDS = {
    "square": (square(), passes_on(square())),
    "pond": (square(POND), passes_on(square(POND))),
    "ell": (ELL, passes_on(ELL)),
    "parts": (PARTS, passes_on(PARTS)),
    "pivot": (CIRCLE, rounds()),
}


def test_rings_lie_half_way_into_the_headland():
    shape = square()
    rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
    assert len(rings.line) == 1
    half = HEADLAND_M / 2
    assert shapely.equals(
        shapely.polygons(rings.line[0]), shapely.box(half, half, SIDE_M - half, SIDE_M - half)
    )


def test_rings_run_along_the_edge_where_there_is_no_headland():
    shape = square()
    rings = rings_of(ground_of(shape), NONE, 0.0)
    assert shapely.equals(shapely.polygons(rings.line[0]), shape)
    ends = np.array([shapely.box(0, 0, SIDE_M, 20), shapely.box(0, SIDE_M - 20, SIDE_M, SIDE_M)])
    rings = rings_of(ground_of(shape), ends, HEADLAND_M)
    assert shapely.equals(shapely.polygons(rings.line[0]), shapely.box(0, 10, SIDE_M, SIDE_M - 10))


def test_a_pond_and_a_second_part_have_rings_of_their_own_and_a_pole_has_none():
    for shape in (square(POND), PARTS):
        assert len(rings_of(ground_of(shape), headland_of(shape), HEADLAND_M).line) == 2
    pole = shapely.box(400, 400, 404, 404)
    assert len(rings_of(ground_of(square(pole)), NONE, 0.0).line) == 1


def test_neighbors_are_a_turn_apart_and_far_ends_a_way_along_the_headland():
    ways = on_square()
    first_end, second_begin = 1, 2
    assert ways.between_m[first_end, second_begin] == pytest.approx(
        float(level_turn_m(PASS_M, RADIUS_M))
    )
    # onto the ring three radii beside the pass: two arcs one way, together a quarter turn, and the
    # straight between their centers, two radii over and the ring's distance less one radius out
    leg_m = math.hypot(2 * RADIUS_M, HEADLAND_M / 2 - RADIUS_M) + math.pi / 2 * RADIUS_M
    onto_m = leg_m - LEG_RADII * RADIUS_M
    fourth, fourteenth = 8, 28  # both go up: ends are level, the beginning lies far below
    told_m = ways.between_m[fourth + 1, fourteenth + 1]
    assert told_m == pytest.approx(10 * PASS_M + 2 * onto_m, abs=1e-6)
    # to its other end: round by the nearer corner
    ring_m = SIDE_M - HEADLAND_M
    over_m = sum(HEADLAND_M / 2 + PASS_M * (number + 0.5) for number in (4, 14))
    told_m = ways.between_m[fourth + 1, fourteenth]
    assert told_m == pytest.approx(over_m + ring_m + 2 * onto_m, abs=1e-6)


def test_ways_are_as_long_either_way_and_no_shorter_than_straight():
    for shape, passes in FIELDS.values():
        rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
        ways = ways_of(passes, RADIUS_M, rings)
        assert ways.between_m.shape == (2 * len(passes), 2 * len(passes))
        assert (ways.between_m == ways.between_m.T).all()
        assert np.isfinite(ways.between_m).all()
        place = ways.out[:, :2]
        straight_m = np.hypot(*(place[:, None] - place[None, :]).transpose(2, 0, 1))
        assert (ways.between_m >= straight_m - 1e-6).all()


def test_no_way_leads_far_over_the_crop():
    shape, passes = FIELDS["ell"]
    rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
    ways = ways_of(passes, RADIUS_M, rings)
    inner = shapely.buffer(shape, -HEADLAND_M - 0.01, join_style="mitre")
    for entered in range(2, len(ways), 3):
        assert ways.way(1, entered).intersection(inner).length < 3 * RADIUS_M, entered


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("gate", [None, (-5.0, -5.0), (400.0, 390.0)])
@SOME
@given(seed=st.integers(0, 2**32 - 1))
def test_passes_and_ways_from_gate_to_gate_are_one_connected_path(name, gate, seed):
    shape, passes = FIELDS[name]
    rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
    gate_m = None if gate is None else np.array(gate)
    ways = ways_of(passes, RADIUS_M, rings, gate_m)
    random = np.random.default_rng(seed)
    order = random.permutation(len(passes))[:6]
    back = random.random(len(order)) < 0.5
    begins, ends = 2 * order + back, 2 * order + ~back
    lines = [shapely.reverse(ways.way_to_gate(begins[0]))]
    told_m = [ways.from_m[begins[0]]]
    for index, (number, turned) in enumerate(zip(order, back, strict=True)):
        lines.append(shapely.reverse(passes[number]) if turned else passes[number])
        told_m.append(passes[number].length)
        if index + 1 < len(order):
            lines.append(ways.way(ends[index], begins[index + 1]))
            told_m.append(ways.between_m[ends[index], begins[index + 1]])
    lines.append(ways.way_to_gate(ends[-1]))
    told_m.append(ways.to_m[ends[-1]])
    place = shapely.get_coordinates(lines[0])[0]
    assert tuple(place) == tuple(ways.gate_m)
    for line in lines:
        points = shapely.get_coordinates(line)
        assert (points[0] == place).all()
        place = points[-1]
    assert tuple(place) == tuple(ways.gate_m)
    # drawn arcs are chords, within 2 cm of the arc: under 2 m of radius they lose a hundredth
    assert shapely.length(lines) == pytest.approx(np.array(told_m), rel=0.01, abs=0.1)
    assert (shapely.length(lines) <= np.array(told_m) + 1e-6).all()


def test_without_a_gate_the_first_pass_begins_where_the_machine_stands():
    ways = on_square()
    assert not ways.gate_given
    assert tuple(ways.gate_m) == (HEADLAND_M + PASS_M / 2, HEADLAND_M)
    assert ways.from_m[0] == 0.0
    given_ways = on_square(np.array([0.0, 0.0]))
    assert given_ways.gate_given
    assert 30.0 < given_ways.from_m[0] < 60.0


def test_a_closed_round_is_followed_by_the_next_beside_it():
    shape, passes = FIELDS["pivot"]
    rings = rings_of(ground_of(shape), NONE, 0.0)
    ways = ways_of(passes, RADIUS_M, rings)
    assert tuple(ways.out[0, :2]) == tuple(ways.out[1, :2])
    hops = np.arange(len(passes) - 1)
    assert (ways.between_m[2 * hops + 1, 2 * hops + 2] < PASS_M + 2 * math.pi * RADIUS_M).all()


def test_ends_nearer_than_two_legs_are_driven_between_directly():
    ways = on_square()
    near = math.ceil(2 * LEG_RADII * RADIUS_M / PASS_M)
    left = np.full(4, 1)
    entered = 2 * np.array([1, near - 1, near, near + 1])
    entered += np.array([0 if one % 2 else 1 for one in entered // 2])  # their ends beside
    assert ways.is_direct(left, entered).tolist() == [True, True, False, False]


def test_no_passes_have_no_ways():
    shape = square()
    ways = ways_of(NONE, RADIUS_M, rings_of(ground_of(shape), NONE, 0.0))
    assert (ways.between_m.shape, ways.from_m.shape) == ((0, 0), (0,))


def test_samples_have_ways_of_the_length_they_are_drawn_with():
    layout = sample("pond_ell")
    laid, plan = layout.laid, layout.plan
    rings = rings_of(layout.ground, laid.headland, plan.headland_width_m)
    assert len(rings.line) == 2
    passes = layout.driven[0]
    ways = ways_of(passes.line, RADIUS_M, rings)
    for index in range(len(passes) - 1):
        told_m = ways.between_m[2 * index + 1, 2 * index + 2]
        assert ways.way(2 * index + 1, 2 * index + 2).length == pytest.approx(told_m, abs=0.1)


def in_two(gap_m):
    """Give two blocks of crop in one square, so far apart, with headland between and around."""
    crops = [
        shapely.box(20, 20, 400 - gap_m / 2, SIDE_M - 20),
        shapely.box(400 + gap_m / 2, 20, SIDE_M - 20, SIDE_M - 20),
    ]
    headland = np.array([square().difference(shapely.union_all(crops))], dtype=object)
    rings = rings_of(ground_of(square()), headland, HEADLAND_M)
    assert len(rings.line) == 2
    lines = [shapely.LineString([(x, 20), (x, SIDE_M - 20)]) for x in (100, 200, 600, 700)]
    return ways_of(np.array(lines), RADIUS_M, rings, np.array([0.0, 0.0])), crops


def test_from_ring_to_ring_a_machine_crosses_where_headland_lies_between():
    ways, crops = in_two(40.0)
    every = np.arange(len(ways))
    assert not ways.is_across(every[:, None], every).any()
    assert not ways.gate_across(every).any()
    inside = shapely.buffer(shapely.union_all(crops), -0.01, join_style="mitre")
    for left in every:
        assert ways.way_to_gate(int(left)).intersection(inside).length < 3 * RADIUS_M
        assert ways.way_to_gate(int(left)).length == pytest.approx(ways.to_m[left], abs=0.3)
        for entered in every[every // 2 != left // 2]:
            way = ways.way(int(left), int(entered))
            assert way.intersection(inside).length < 6 * RADIUS_M, (left, entered)
            assert way.length == pytest.approx(ways.between_m[left, entered], abs=0.3)
            assert square().covers(way)


def test_no_headland_leads_to_another_part_or_to_a_pond_amid_the_crop():
    for name in ("parts", "pond"):
        shape, passes = FIELDS[name]
        rings = rings_of(ground_of(shape), headland_of(shape), HEADLAND_M)
        ways = ways_of(passes, RADIUS_M, rings, np.array([0.0, 0.0]))
        every = np.arange(len(ways))
        other = ways.ring[:, None] != ways.ring
        assert other.any()
        assert (ways.is_across(every[:, None], every) == other).all()
        assert (ways.gate_across(every) == (ways.ring != ways.ring[0])).all()
        assert (ways.between_m[other] > 0).all()
