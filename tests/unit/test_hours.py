"""Hours: the time of a route, its parts, what it burns, by hand."""

import time

import numpy as np
import pytest
from fields import sample
from routed import job_of, plan_with, route_of

from striplay.operations.fills import fills_of
from striplay.operations.hours import fuel_of, hours_of
from striplay.operations.published import efficiency_of
from striplay.units import ACRE_M2, GALLON_M3

TIMES = 'speed = "2 m/s"\nturning_speed = "1 m/s"\nrefill = "100 s"\n'


def gallons(fuel, acres=1.0):
    each = np.array([fuel.m3, fuel.low_m3, fuel.high_m3]) / GALLON_M3 / acres
    return each.tolist()


def one_acre(plan, job):
    wide_m = plan.machines[job.machine].width_m
    return route_of(plan, job, ACRE_M2 / wide_m)


def test_every_part_of_the_time(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES)
    route = route_of(
        plan,
        job_of("plant", "corn"),
        [200.0, 200.0, 100.0],
        worked_m=[200.0, 180.0, 100.0],
        place=["headland", "strips", "strips"],
        kind=["gate", "along headland", "bulb", "gate"],
        link_m=[10, 50, 30, 20],
    )
    found = hours_of(plan, route)
    assert found.worked_s.tolist() == [100, 90, 50]
    assert found.lifted_s.tolist() == [0, 10, 0]
    assert found.link_s.tolist() == [10, 50, 30, 20]
    assert found.turn.tolist() == [False, False, True, False]
    assert (found.turning_s, found.driving_s) == (30, 90)
    assert found.headland_s == 110
    assert found.total_s == 240 + 10 + 110
    assert found.efficiency == pytest.approx(240 / 360)
    wide_m = plan.machines["planter"].width_m
    assert found.capacity_m2_per_s == pytest.approx(480 * wide_m / 360)


def test_a_part_in_reverse_takes_two_shifts_of_gear(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES)
    job = job_of("plant", "corn")
    forward = hours_of(plan, route_of(plan, job, 100.0, 3, link_m=20))
    back = hours_of(plan, route_of(plan, job, 100.0, 3, link_m=20, reverse_m=[0, 5, 5, 0]))
    assert back.total_s - forward.total_s == pytest.approx(12)


def test_a_stated_turn_is_that_of_turns_alone(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES + 'turn = "40 s"')
    kind = ["gate", "fishtail", "along headland", "gate"]
    route = route_of(plan, job_of("plant", "corn"), 100.0, 3, kind=kind, link_m=20, reverse_m=5)
    assert hours_of(plan, route).link_s.tolist() == [26, 40, 26, 26]


def test_ground_worked_in_part_width_takes_more_time(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES)
    wide_m = plan.machines["planter"].width_m
    route = route_of(plan, job_of("plant", "corn"), 100.0, 2, width_m=0.75 * wide_m)
    found = hours_of(plan, route)
    assert found.part_width_s == pytest.approx(25)
    assert found.efficiency == pytest.approx(0.75)


def test_fills_take_time_but_not_on_the_go(tmp_path):
    job = job_of("harvest", "corn")
    fills = fills_of(np.array([4.0] * 5), 10.0, np.full(5, 100.0))
    for cart, fill_s in (("", 200), ('cart = "cart"', 0)):
        plan = plan_with(tmp_path, head=TIMES + cart)
        route = route_of(plan, job, 100.0, 5)
        found = hours_of(plan, route, fills)
        assert found.fill_s == fill_s
        assert found.total_s == hours_of(plan, route).total_s + fill_s


def test_no_passes_take_no_time(tmp_path):
    plan = plan_with(tmp_path)
    found = hours_of(plan, route_of(plan, job_of("plant", "corn"), [], kind=["gate"]))
    assert (found.total_s, found.efficiency, found.capacity_m2_per_s) == (0, 0, 0)


def test_fuel_as_stated_has_no_range(tmp_path):
    plan = plan_with(tmp_path, planter='fuel = "0.8 gal/acre"')
    found = fuel_of(plan, one_acre(plan, job_of("plant", "corn")))
    assert gallons(found) == pytest.approx([0.8, 0.8, 0.8])
    assert found.source == "the plan"


def test_fuel_of_two_crops_by_their_ground(tmp_path):
    plan = plan_with(tmp_path)
    wide_m = plan.machines["head"].width_m
    job, long_m = job_of("harvest", "corn", "soybean"), ACRE_M2 / wide_m
    route = route_of(plan, job, [long_m, 3 * long_m], crop=["corn", "soybean"])
    found = fuel_of(plan, route)
    assert gallons(found)[0] == pytest.approx(2.4 + 3 * 2.02)
    assert found.source == "at 165 bu/acre, Purdue Univ., 2006; Purdue Univ., 2006"


def test_a_kind_of_machine_in_no_table_works(tmp_path):
    plan = plan_with(tmp_path)
    job = job_of("haul", "corn", machine="cart")
    route = route_of(plan, job, 100.0, 2)
    assert fuel_of(plan, route) is None
    assert efficiency_of(plan.machines["cart"]) is None
    assert hours_of(plan, route).total_s > 0


def test_a_crop_like_another_burns_what_it_does(tmp_path):
    plan = plan_with(tmp_path, soybean='like = "corn"')
    found = fuel_of(plan, one_acre(plan, job_of("harvest", "soybean")))
    assert gallons(found)[0] == pytest.approx(2.4)


def test_a_thousand_passes_take_milliseconds(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES)
    route = route_of(plan, job_of("plant", "corn"), 400.0, 1000, link_m=30)
    begin = time.process_time()
    hours_of(plan, route)
    fuel_of(plan, route)
    assert time.process_time() - begin < 0.1  # some 5 ms


def test_time_to_reckon_with_is_the_same_on_every_page_and_in_the_table():
    """Where a job is quicker than any published, the best efficiency is reckoned with."""
    layout = sample("quarter_section")
    above = 0
    for sheet, told in zip(layout.worksheets, layout.accounts["operations"], strict=True):
        hours = sheet.judged.hours
        likely_h = max(hours.total_s, hours.full_width_s / hours.usual.high) / 3600
        assert told["hours_likely"] == pytest.approx(likely_h)
        assert told["hours_likely"] >= told["hours"]
        (time_said,) = [words for label, words in sheet.takes if label == "time"]
        assert time_said.startswith(f"{hours.words}, gate to gate")
        for notice in sheet.judged.notices:
            if "reckon with" in notice.text:
                above += 1
                assert notice.text.endswith(f"reckon with {hours.words}")
                assert f"efficiency is {100 * hours.usual.high:.0f} % at best" in time_said
    assert above
