"""Time of a turn: stated, or of its path into the next passes, by the distance to them."""

import math

import numpy as np
import pytest
from fields import FOOT_M, SHED, STRIPS, lay_on, square, write_plan_for

from striplay.files.plan import read_plan
from striplay.geometry.turns import shortest_forward
from striplay.search.prices import prices_of
from striplay.search.turning import set_turns_s, turns_s
from striplay.section.systems import sections_of

MPH_MPS = 0.44704
NONE = '[headland]\nwhere = "none"\n'
SLOW = SHED.replace(
    'does = "plant"', 'does = "plant"\nturning_radius = "30 ft"\nturning_speed = "4 mph"'
)


def plan_of(folder, shed=SLOW, strips=STRIPS):
    return read_plan(write_plan_for(folder, square(1320), headland=NONE, shed=shed, strips=strips))


def test_a_turn_is_the_shortest_into_a_pass_ahead(tmp_path):
    """Passes 40 ft apart, a radius of 30: the second next, 80 ft off, needs no swing out."""
    machine = plan_of(tmp_path).machines["planter"]
    (found,) = turns_s(machine, np.array([20 * FOOT_M]), 40 * FOOT_M)
    flat_ft = 80 + (math.pi - 2) * 30
    assert found == pytest.approx(flat_ft * FOOT_M / (4 * MPH_MPS), rel=1e-12)
    # where the next pass is two radii off, that one
    (found,) = turns_s(machine, np.array([0.0]), 60 * FOOT_M)
    assert found == pytest.approx(math.pi * 30 * FOOT_M / (4 * MPH_MPS), rel=1e-12)


@pytest.mark.parametrize("apart_ft", [4, 9, 15, 31, 70])
def test_it_is_the_least_of_six_paths_between_poses(tmp_path, apart_ft):
    """Shortest paths of Dubins from one pass's end to each of the six next passes' beginnings."""
    machine = plan_of(tmp_path).machines["planter"]
    (found,) = turns_s(machine, np.array([0.0]), apart_ft * FOOT_M)
    across_m = apart_ft * FOOT_M * np.arange(1, 7)
    begin = np.tile([0.0, 0.0, 0.0], (6, 1))
    end = np.stack([across_m, np.zeros(6), np.full(6, 180.0)], axis=1)
    paths = shortest_forward(begin, end, 30 * FOOT_M)
    assert found == pytest.approx(paths.length_m.min() / (4 * MPH_MPS), rel=1e-9)


def test_each_pass_of_a_set_has_its_own(tmp_path):
    """Corn 40 ft, soybean 120: passes on soybean lie 40, 40 and 80 ft apart, on corn 160."""
    plan = plan_of(tmp_path)
    section = sections_of(plan)[0]
    found = zip(section.passes, set_turns_s(plan, section), strict=True)
    planted = {(one.crop, round(one.middle_m / FOOT_M)): s for one, s in found
               if one.operation == "plant"}  # fmt: skip
    flat_s = {ft: (ft + (math.pi - 2) * 30) * FOOT_M / (4 * MPH_MPS) for ft in (80, 120, 160)}
    assert planted == {
        ("corn", 20): pytest.approx(flat_s[160]),
        ("soybean", 60): pytest.approx(flat_s[80]),  # leaving out the one 40 ft off
        ("soybean", 100): pytest.approx(flat_s[120]),
        ("soybean", 140): pytest.approx(flat_s[80]),
    }


def test_a_stated_turn_is_taken_as_stated(tmp_path):
    shed = SLOW.replace('does = "plant"', 'does = "plant"\nturn = "40 s"')
    plan = plan_of(tmp_path, shed)
    section = sections_of(plan)[0]
    stated = [s for one, s in zip(section.passes, set_turns_s(plan, section), strict=True)
              if one.operation == "plant"]  # fmt: skip
    assert stated == [40.0] * 4


def test_the_search_prices_turns_by_their_path(tmp_path):
    """A wider turning circle costs more, by hand on a square in whole sets."""
    money = []
    for radius_ft in (30, 60):
        shed = SLOW.replace('"30 ft"\nturning_speed', f'"{radius_ft} ft"\nturning_speed')
        layout = lay_on(tmp_path, square(1280), headland=NONE, shed=shed)
        money.append(layout.laid.parts["turns"])
    # 8 sets: corn 160 ft apart; soybean 80, 120, 80 with 30 ft; with 60 each takes the first that
    # lies 120 ft off or more: 160 on from the first and the last, 120 from the second
    arcs_ft = 4 * (math.pi - 2)
    before_ft, after_ft = 160 + 80 + 120 + 80 + arcs_ft * 30, 160 + 160 + 120 + 120 + arcs_ft * 60
    more_ft = 8 * (after_ft - before_ft)
    assert money[1] - money[0] == pytest.approx(more_ft * FOOT_M / (4 * MPH_MPS) * 300 / 3600)
    assert prices_of(layout.plan, layout.laid.section).per_turn.min() >= 0.0
