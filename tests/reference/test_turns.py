"""Check turns against values from outside."""

import math

import numpy as np
import pytest

from striplay.geometry.turns import (
    fishtail,
    level_depth_m,
    level_turn_m,
    shortest_forward,
)

# east, north, heading, the same of the other pose, radius; word and length by the C source of the
# general Dubins library `dubins` 1.0.1 (PyPI), which tries all six words by the formulas of Shkel
# and Lumelsky 2001. Its package does not build on today's Python, so its values are kept here.
LIBRARY = [
    (-23, 17, 46, 6, 13, 188, 14, "LRL", 64.000087678),
    (-24, -27, 320, -27, -23, 240, 13, "LRL", 86.172987715),
    (-27, -6, 160, -27, -17, 326, 7, "LRL", 43.509749412),
    (-4, 15, 206, -4, 15, 181, 10, "LRL", 62.857889619),
    (26, 7, 325, 0, 19, 234, 12, "LSL", 31.993079832),
    (18, -12, 114, -7, 11, 207, 6, "LSL", 54.550535658),
    (-4, -28, 56, -7, -6, 293, 5, "LSL", 24.160567696),
    (28, -3, 6, 24, -29, 59, 7, "LSL", 58.24864189),
    (-27, -12, 28, -21, -7, 56, 10, "LSR", 70.578878786),
    (-1, 19, 239, 29, 20, 141, 3, "LSR", 37.726423627),
    (4, 3, 19, -26, -17, 6, 1, "LSR", 39.60373089),
    (-3, -18, 6, -15, 19, 124, 2, "LSR", 42.835760664),
    (29, -4, 182, -18, -11, 120, 14, "RLR", 109.253826028),
    (0, 29, 198, 4, 0, 36, 14, "RLR", 73.478675577),
    (11, -9, 26, -12, 6, 22, 7, "RLR", 48.57237222),
    (-7, -10, 358, -17, 6, 250, 12, "RLR", 85.219735788),
    (20, -17, 335, -3, 29, 182, 4, "RSL", 60.659402084),
    (-2, 0, 163, -21, -13, 90, 4, "RSL", 35.212109123),
    (21, 6, 91, -29, -11, 268, 13, "RSL", 91.230002328),
    (18, 25, 170, 25, -7, 120, 4, "RSL", 33.156008574),
    (11, 23, 212, -1, 27, 136, 13, "RSR", 80.208330758),
    (4, 16, 160, -12, -25, 6, 1, "RSR", 46.716468294),
    (24, -30, 96, 0, -18, 20, 10, "RSR", 72.523611799),
    (12, 7, 341, 27, 18, 78, 4, "RSR", 20.13825346),
]


def test_the_shortest_way_forward_is_that_of_a_general_library():
    numbers = np.array([row[:7] for row in LIBRARY], dtype=float)
    turns = shortest_forward(numbers[:, :3], numbers[:, 3:6], numbers[:, 6])
    assert list(turns.words) == [row[7] for row in LIBRARY]
    assert turns.length_m == pytest.approx(np.array([row[8] for row in LIBRARY]), abs=1e-8)


# worked by hand from the geometry: a straight, half a circle, three arcs (LaValle, Planning
# Algorithms, 15.3.1), and two quarter circles with a straight between
@pytest.mark.parametrize(
    ("begin", "end", "radius_m", "length_m"),
    [
        ((0, 0, 90), (10, 0, 90), 1, 10.0),
        ((0, 0, 90), (0, 2, 270), 1, math.pi),
        ((0, 0, 90), (0, 0, 270), 1, 7 * math.pi / 3),
        ((0, 0, 0), (12, 0, 180), 5, 17.707963),
        ((0, 0, 0), (0, 0, 0), 3, 0.0),
    ],
)
def test_ways_worked_by_hand(begin, end, radius_m, length_m):
    turn = shortest_forward(np.array([begin], float), np.array([end], float), radius_m)
    assert turn.length_m == pytest.approx(length_m, abs=5e-7)


# the forms of Bochtis and Vougioukas, Biosyst. Eng. 101, 1-12, 2008 (from memory), worked by hand:
# apart, radius, reversing, length, depth
@pytest.mark.parametrize(
    ("apart_m", "radius_m", "reversing", "length_m", "depth_m"),
    [
        (10.0, 5.0, False, 15.7080, 5.0),
        (12.192, 6.0, False, 19.0416, 6.0),
        (12.192, 6.0, True, 19.0416, 6.0),
        (6.096, 6.0, False, 36.0495, 13.8825),
        (6.096, 6.0, True, 24.7536, 6.0),
    ],
)
def test_level_turns(apart_m, radius_m, reversing, length_m, depth_m):
    assert float(level_turn_m(apart_m, radius_m, reversing=reversing)) == pytest.approx(
        length_m, abs=5e-5
    )
    assert float(level_depth_m(apart_m, radius_m, reversing=reversing)) == pytest.approx(
        depth_m, abs=5e-5
    )


def test_a_fishtail_backs_up_by_what_two_radii_are_more():
    turn = fishtail(np.array([[0.0, 0, 0]]), np.array([[6.096, 0, 180]]), 6.0)
    assert turn.length_m == pytest.approx(24.7536, abs=5e-5)
    assert turn.reverse_m == pytest.approx(2 * 6.0 - 6.096)
    assert turn.reach_m(np.zeros((1, 2)), np.zeros(1)) == pytest.approx(6.0)
