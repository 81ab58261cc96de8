"""Check ways between any two poses."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from striplay.geometry.turns import (
    Turns,
    fishtail,
    level_depth_m,
    level_turn_m,
    shortest_forward,
)

SOME = settings(max_examples=40, deadline=None, phases=[Phase.explicit, Phase.generate])
FULL = 2 * math.pi
MANY = 40
WAYS = [shortest_forward, fishtail]


@st.composite
def pairs(draw):
    """Give many pairs of poses at once, near and far, some on whole numbers, and their radii."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    spread_m = draw(st.sampled_from([1.0, 10.0, 60.0, 800.0]))
    poses = random.uniform(-spread_m, spread_m, (2, MANY, 3))
    poses[:, :, 2] = random.uniform(0.0, 360.0, (2, MANY))
    if draw(st.booleans()):
        poses = np.round(poses / [1, 1, 15]) * [1, 1, 15]
    return poses[0], poses[1], random.uniform(0.5, 20.0, MANY)


def six_words(begin, end, radius_m):
    """Give the lengths of the six words by the formulas of Shkel and Lumelsky, (6,), alone."""
    east, north = (end[:2] - begin[:2]) / radius_m
    d, along = math.hypot(east, north), math.atan2(north, east)
    a = math.radians(90 - begin[2]) - along
    b = math.radians(90 - end[2]) - along
    sa, ca, sb, cb, both = math.sin(a), math.cos(a), math.sin(b), math.cos(b), math.cos(a - b)
    found = []
    for sign in (1, -1):  # LSL, RSR
        square = 2 + d * d - 2 * both + sign * 2 * d * (sa - sb)
        way = math.atan2(sign * (cb - ca), d + sign * (sa - sb))
        parts = (sign * (way - a)) % FULL, math.sqrt(max(square, 0)), (sign * (b - way)) % FULL
        found.append(sum(parts))
    for sign in (1, -1):  # LSR, RSL
        square = d * d - 2 + 2 * both + sign * 2 * d * (sa + sb)
        if square >= 0:
            p = math.sqrt(square)
            way = math.atan2(sign * -(ca + cb), d + sign * (sa + sb)) + sign * math.atan2(2, p)
            found.append((sign * (way - a)) % FULL + p + (sign * (way - b)) % FULL)
    for sign in (1, -1):  # RLR, LRL
        cos = (6 - d * d + 2 * both + sign * 2 * d * (sa - sb)) / 8
        if abs(cos) <= 1:
            p = FULL - math.acos(cos)
            way = math.atan2(ca - cb, d - sa + sb) if sign > 0 else math.atan2(cb - ca, d + sa - sb)
            t = (sign * (a - way) + p / 2) % FULL
            found.append(t + p + (sign * (a - b) - t + p) % FULL)
    return [length * radius_m for length in found]


def walked(turns, steps=400):
    """Follow each turn's bends by small steps of the midpoint rule: places and angles passed."""
    x, y = turns.begin[:, 0].copy(), turns.begin[:, 1].copy()
    at = np.radians(90 - turns.begin[:, 2])
    places = [np.stack([x, y], axis=1)]
    for bend, piece_m in zip(turns.bend.T, turns.piece_m.T, strict=True):
        step_m = piece_m / steps
        turn = bend * step_m / turns.radius_m
        # a chord of an arc
        chord = step_m * np.sinc(turn / FULL)
        for _ in range(steps):
            x, y = x + chord * np.cos(at + turn / 2), y + chord * np.sin(at + turn / 2)
            at = at + turn
            places.append(np.stack([x, y], axis=1))
    return np.array(places), at


def turned_about(poses, by_deg, east_m, north_m):
    by = math.radians(by_deg)
    x, y, heading = poses.T
    return np.column_stack(
        [
            x * math.cos(by) + y * math.sin(by) + east_m,
            y * math.cos(by) - x * math.sin(by) + north_m,
            heading + by_deg,
        ]
    )


def mirrored(poses):
    return poses * [-1, 1, -1]


def about_face(poses):
    return poses + np.array([0, 0, 180])


@pytest.mark.parametrize("way", WAYS)
@SOME
@given(pairs=pairs())
def test_every_way_arrives_and_bends_no_tighter_than_its_radius(way, pairs):
    begin, end, radius_m = pairs
    turns = way(begin, end, radius_m)
    places, at = walked(turns)
    assert places[-1] == pytest.approx(end[:, :2], abs=1e-5)
    off = (at - np.radians(90 - end[:, 2]) + math.pi) % FULL - math.pi
    assert off == pytest.approx(np.zeros(MANY), abs=1e-5)
    assert set(np.unique(turns.bend)) <= {-1, 0, 1}
    assert turns.length_m == pytest.approx(np.abs(turns.piece_m).sum(axis=1))
    if way is shortest_forward:
        assert (turns.piece_m >= 0).all()
    # how far each goes beyond a line, against the places walked
    heading_deg = np.linspace(0, 359, MANY)
    ahead = np.stack([np.sin(np.radians(heading_deg)), np.cos(np.radians(heading_deg))], axis=1)
    beyond = ((places - begin[:, :2]) * ahead).sum(axis=2).max(axis=0)
    reach_m = turns.reach_m(begin[:, :2], heading_deg)
    assert (reach_m >= beyond - 1e-5).all()
    longest_m = np.abs(turns.piece_m).max(axis=1) / 400
    assert (reach_m <= beyond + longest_m + 1e-5).all()


@SOME
@given(pairs())
def test_the_shortest_way_forward_is_the_shortest_of_six_words(pairs):
    begin, end, radius_m = pairs
    turns = shortest_forward(begin, end, radius_m)
    least = [min(six_words(*one)) for one in zip(begin, end, radius_m, strict=True)]
    assert (turns.length_m <= np.array(least) + 1e-6).all()
    assert (turns.length_m >= np.hypot(*(end - begin)[:, :2].T) - 1e-9).all()


@pytest.mark.parametrize("way", WAYS)
@SOME
@given(pairs(), st.floats(0, 360), st.floats(-2000, 2000), st.floats(-2000, 2000))
def test_a_way_is_as_long_wherever_it_lies(way, pairs, by_deg, east_m, north_m):
    begin, end, radius_m = pairs
    length_m = pytest.approx(way(begin, end, radius_m).length_m, abs=1e-5)
    moved = [turned_about(one, by_deg, east_m, north_m) for one in (begin, end)]
    assert way(*moved, radius_m).length_m == length_m
    assert way(mirrored(begin), mirrored(end), radius_m).length_m == length_m
    # driven the other way round
    assert way(about_face(end), about_face(begin), radius_m).length_m == length_m


@SOME
@given(st.floats(0.0, 60.0), st.floats(0.5, 20.0), st.floats(0, 360), st.booleans())
def test_level_turns_are_ways_between_level_ends(apart_m, radius_m, heading_deg, mirror):
    begin = np.array([[0.0, 0.0, 0.0]])
    end = np.array([[-apart_m if mirror else apart_m, 0.0, 180.0]])
    begin, end = (turned_about(one, heading_deg, 0.0, 0.0) for one in (begin, end))
    forward = shortest_forward(begin, end, radius_m)
    assert forward.length_m == pytest.approx(float(level_turn_m(apart_m, radius_m)), abs=1e-5)
    depth_m = forward.reach_m(begin[:, :2], begin[:, 2])
    # apart by nothing, the turn may lie to either side, and is as deep
    assert depth_m == pytest.approx(float(level_depth_m(apart_m, radius_m)), abs=1e-4)
    if apart_m < 2 * radius_m:
        back = fishtail(begin, end, radius_m)
        assert back.length_m == pytest.approx(
            float(level_turn_m(apart_m, radius_m, reversing=True))
        )
        assert back.reverse_m == pytest.approx(2 * radius_m - apart_m, abs=1e-5)
        assert back.reach_m(begin[:, :2], begin[:, 2]) == pytest.approx(
            float(level_depth_m(apart_m, radius_m, reversing=True)), abs=1e-5
        )
        assert (back.length_m <= forward.length_m + 1e-9).all()


@SOME
@given(st.floats(0.5, 12.0), st.floats(-60.0, 60.0), st.floats(0, 360))
def test_a_fishtail_between_slanting_ends_turns_beyond_the_farther(apart_m, farther_m, heading_deg):
    radius_m = 6.0
    begin = turned_about(np.array([[0.0, 0.0, 0.0]]), heading_deg, 0.0, 0.0)
    end = turned_about(np.array([[apart_m, farther_m, 180.0]]), heading_deg, 0.0, 0.0)
    turn = fishtail(begin, end, radius_m)
    level_m = float(level_turn_m(apart_m, radius_m, reversing=True))
    assert turn.length_m == pytest.approx(level_m + abs(farther_m))
    reach_m = turn.reach_m(begin[:, :2], begin[:, 2])
    assert reach_m == pytest.approx(max(farther_m, 0.0) + radius_m)


@pytest.mark.parametrize("way", WAYS)
@SOME
@given(pairs=pairs(), error_m=st.floats(0.001, 1.0))
def test_drawn_ways_stay_near_the_driven_and_end_on_their_poses(way, pairs, error_m):
    begin, end, radius_m = pairs
    turns = way(begin, end, radius_m)
    lines = turns.lines(error_m)
    first = shapely.get_coordinates(shapely.get_point(lines, 0))
    last = shapely.get_coordinates(shapely.get_point(lines, -1))
    assert (first == begin[:, :2]).all()
    assert (last == end[:, :2]).all()
    assert (shapely.length(lines) <= turns.length_m + 1e-5).all()
    places, _ = walked(turns, 60)
    off_m = shapely.distance(shapely.points(places), lines[None, :])
    assert off_m.max() <= error_m + 1e-5


@pytest.mark.parametrize("way", WAYS)
def test_a_radius_is_above_zero(way):
    pose = np.zeros((1, 3))
    with pytest.raises(ValueError, match="a turning radius is above zero"):
        way(pose, pose, 0.0)


@pytest.mark.parametrize("way", WAYS)
def test_no_pairs_give_no_ways(way):
    turns = way(np.empty((0, 3)), np.empty((0, 3)), 5.0)
    assert (len(turns), len(turns.length_m), len(turns.lines()), len(turns.words)) == (0, 0, 0, 0)


def test_a_machine_that_turns_on_the_spot_drives_across():
    assert level_turn_m(np.array([0.0, 5.0]), 0.0) == pytest.approx(np.array([0.0, 5.0]))
    assert level_depth_m(np.array([0.0, 5.0]), 0.0) == pytest.approx(np.zeros(2))


def test_a_drawn_way_begins_on_its_pose_where_its_first_piece_is_rounding():
    begin, end = np.array([[0.1, 0.7, 37.0]]), np.array([[6.1, 8.7, 37.0]])
    bend, piece_m = np.array([[1, 0, -1]], dtype=np.int8), np.array([[1e-12, 10.0, 1e-12]])
    line = Turns(begin, end, bend, piece_m, np.array([5.0])).lines()[0]
    assert list(line.coords) == [(0.1, 0.7), (6.1, 8.7)]
