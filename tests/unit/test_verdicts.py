"""Verdicts: each is told where it holds, with its place and a cure, and not where it does not."""

import numpy as np
import pytest
import shapely
from fields import PLANE
from routed import job_of, plan_with, route_of, section_with

from striplay.operations.amounts import amounts_of, fills_on
from striplay.operations.capacity import spans_of
from striplay.operations.hours import hours_of
from striplay.operations.verdicts import efficiency_notices, tank_notices, window_notices
from striplay.units import ACRE_M2, GALLON_M3, Quantity

HOUR_S = 3600.0
UREA = {"product": "urea", "rate": Quantity(20 * GALLON_M3 / ACRE_M2, "m3_per_m2")}


def of_tank(plan, job, *lengths):
    route = route_of(plan, job, lengths)
    amounts = amounts_of(plan, section_with(plan), route)
    found = list(tank_notices(plan, route, amounts, fills_on(plan, route, amounts), PLANE))
    assert {one.kind for one in found} <= {"operations"}
    return route, found


def of_time(plan, job, **route):
    route = route_of(plan, job, 400.0, 10, **route)
    return list(efficiency_notices(route, hours_of(plan, route)))


def of_windows(plan, *timed):
    spans = spans_of(plan, section_with(plan), [(job, hours * HOUR_S) for job, hours in timed])
    return list(window_notices(plan, spans))


# --- tanks ----------------------------------------------------------------------------------------


def test_a_tank_that_does_not_last_a_pass(tmp_path):
    plan = plan_with(tmp_path, sprayer='holds = "100 gal"')
    long_m = 10 * ACRE_M2 / (90 * 0.3048)  # 200 gal
    route, (notice,) = of_tank(plan, job_of("spray", "corn", **UREA), long_m / 4, long_m, long_m)
    assert notice.severity == "mind"
    assert notice.text == (
        "spray corn: sprayer holds 100 gal and a pass takes up to 200 gal, so it runs out on the "
        "way of 2 passes, first 2,420 ft along pass 2; carry 200 gal or more, lower the rate, or "
        "fill on a lane across the field"
    )
    # filled before the second pass, it takes 100 of its 200 gal
    at = shapely.line_interpolate_point(route.line[1], long_m / 2)
    spot = PLANE.to_plane(np.array([notice.place]))[0]
    assert np.hypot(*(spot - shapely.get_coordinates(at)[0])) < 1.5


def test_a_tank_that_lasts_every_pass(tmp_path):
    plan = plan_with(tmp_path, sprayer='holds = "200 gal"')
    long_m = 10 * ACRE_M2 / (90 * 0.3048)
    _, found = of_tank(plan, job_of("spray", "corn", **UREA), long_m, long_m, long_m)
    assert found == []


def test_a_grain_tank_that_is_full_before_the_end(tmp_path):
    keys = {"corn": 'yield = "200 bu/acre"', "units": "metric"}
    long_m = 2 * ACRE_M2 / (20 * 0.3048)
    plan = plan_with(tmp_path, head='holds = "300 bu"', **keys)
    _, (notice,) = of_tank(plan, job_of("harvest", "corn"), long_m)
    assert notice.severity == "mind"
    assert notice.text == (
        "harvest corn: head holds 300 bu and a pass brings in up to 400 bu, so it is full on the "
        "way of 1 pass, first 996 m along pass 1; unload on the go into a cart, or on a lane "
        "across the field"
    )
    # judged with the lane of its cart
    for key in ('cart = "cart"', 'auger_reach = "24 ft"'):
        plan = plan_with(tmp_path, head=f'holds = "300 bu"\n{key}', **keys)
        assert of_tank(plan, job_of("harvest", "corn"), long_m)[1] == []
    plan = plan_with(tmp_path, head='holds = "400 bu"', **keys)
    assert of_tank(plan, job_of("harvest", "corn"), long_m)[1] == []


@pytest.mark.parametrize(
    ("job", "keys", "cure"),
    [
        ("spray", {"sprayer": 'holds = "100 gal"'},
         "state the operation's product and its rate in that measure"),
        ("plant", {"planter": 'holds = "2400000 seeds"'}, "state crops.corn.rate"),
        ("plant", {"planter": 'holds = "900 lb"', "corn": 'rate = "34000 seeds/acre"'},
         "state crops.corn.seed_size"),
        ("plant", {"planter": 'holds = "300 gal"', "corn": 'rate = "34000 seeds/acre"'},
         "state the operation's product and its rate in that measure"),
        ("plant", {"planter": 'holds = "20 bu"',
                   "corn": 'rate = "20 lb/acre"\nlike = "sunflower"'}, "state crops.corn.bushel"),
        ("harvest", {"head": 'holds = "300 bu"'}, "state crops.corn.yield"),
        ("harvest", {"head": 'holds = "9 t"', "corn": 'yield = "30 bu/acre"\nlike = "sunflower"'},
         "state crops.corn.bushel"),
        ("harvest", {"head": 'holds = "9 seeds"', "corn": 'yield = "30 bu/acre"'},
         "state `holds` in another measure"),
    ],
)  # fmt: skip
def test_what_is_missing_for_fills_to_be_counted(tmp_path, job, keys, cure):
    _, (notice,) = of_tank(plan_with(tmp_path, **keys), job_of(job, "corn"), 100.0, 100.0)
    assert notice.severity == "know"
    assert "so fills are not counted; " in notice.text
    assert notice.text.endswith(cure)


def test_fills_of_a_mixture_that_is_harvested(tmp_path):
    crops = '[crops.pea]\nplanter = "drill"\n[mixtures.mash]\nplanter = "drill"\n'
    crops += 'harvester = "head"\nparts = {corn = 0.5, pea = 0.5}\n'
    plan = plan_with(tmp_path, head='holds = "300 bu"', crops=crops)
    _, (notice,) = of_tank(plan, job_of("harvest", "mash"), 100.0)
    assert notice.text.endswith("no key states the yield of a mixture")


def test_nothing_is_told_of_a_machine_that_is_not_said_to_hold_anything(tmp_path):
    _, found = of_tank(plan_with(tmp_path), job_of("spray", "corn"), 1e6)
    assert found == []


# --- time -----------------------------------------------------------------------------------------

TIMES = 'speed = "2 m/s"\nturning_speed = "1 m/s"\n'


def test_time_within_what_is_published(tmp_path):
    plan = plan_with(tmp_path, planter=TIMES)
    # 2,000 s of work and 1,100 of ways: 65 %
    assert of_time(plan, job_of("plant", "corn"), link_m=100) == []


@pytest.mark.parametrize(
    ("route", "share", "most"),
    [
        ({"link_m": 300}, "38 %", "turns: longer passes, or a heading along the longest side"),
        ({"width_m": 4.0, "link_m": 10}, "41 %", "part width: strips as wide as whole passes"),
        ({"link_m": 300, "kind": ["gate", *["along headland"] * 9, "gate"]}, "38 %",
         "driving between passes: a gate nearer by"),
    ],
)  # fmt: skip
def test_time_below_what_is_published_and_where_most_of_it_goes(tmp_path, route, share, most):
    plan = plan_with(tmp_path, planter=TIMES)
    (notice,) = of_time(plan, job_of("plant", "corn"), **route)
    assert (notice.kind, notice.severity, notice.place) == ("operations", "know", None)
    assert f"works at full width for {share} of its" in notice.text
    assert "published are 50 % to 75 % (ASABE EP496.3, ASABE D497.7, from memory)" in notice.text
    assert most in notice.text


def test_time_above_what_is_published(tmp_path):
    (notice,) = of_time(plan_with(tmp_path, planter=TIMES), job_of("plant", "corn"), link_m=10)
    # 2,000 s of work and 110 of ways; at 75 % it is 2,667 s
    assert "works at full width for 95 % of its 0.6 h" in notice.text
    assert "what it holds, so reckon with 0.7 h or more" in notice.text


def test_fills_that_take_most_of_the_time(tmp_path):
    keys = 'holds = "25 gal"\nrefill = "30 min"\n'
    plan = plan_with(tmp_path, sprayer=TIMES + keys)
    route = route_of(plan, job_of("spray", "corn", **UREA), 400.0, 10)
    fills = fills_on(plan, route, amounts_of(plan, section_with(plan), route))
    (notice,) = efficiency_notices(route, hours_of(plan, route, fills))
    assert "goes to filling: a larger tank" in notice.text


def test_a_kind_of_work_without_a_published_range_is_not_judged(tmp_path):
    assert of_time(plan_with(tmp_path), job_of("haul", "corn", machine="cart"), link_m=900) == []


# --- days -----------------------------------------------------------------------------------------


def test_a_machine_that_is_asked_for_twice(tmp_path):
    plan = plan_with(tmp_path)
    first = job_of("plant", "corn", day="2026-05-04")
    second = job_of("plant", "soybean", day="2026-05-05")
    (notice,) = of_windows(plan, (first, 25), (second, 8))
    assert (notice.kind, notice.severity, notice.job) == ("operations", "mind", second.name)
    assert notice.text == (
        "2026-05-05: plant soybean ends on 2026-05-07, 2 days later than planned, for planter does "
        "plant corn first, which takes 2.5 days of 10 h from 2026-05-04; another day, more "
        "hours_a_day, or another machine"
    )
    assert of_windows(plan, (first, 10), (second, 8)) == []
    # half a day's wait that costs no day is not worth a word
    assert of_windows(plan, (first, 14), (second, 5)) == []
    later = job_of("plant", "soybean", day="2026-05-07")
    assert of_windows(plan, (first, 25), (later, 8)) == []


def test_a_window_that_is_too_short(tmp_path):
    plan = plan_with(tmp_path)
    plant = job_of("plant", "corn", day="2026-05-04")
    spray = job_of("spray", "corn", day="2026-05-05")
    (notice,) = of_windows(plan, (plant, 20), (spray, 2))
    assert notice.severity == "mind"
    assert notice.text == (
        "2026-05-05: spray corn ends on 2026-05-06, 1 day later than planned, for plant corn comes "
        "first and takes 2 days of 10 h from 2026-05-04; another day, more hours_a_day, or follow "
        "it strip by strip"
    )
    assert of_windows(plan, (plant, 10), (spray, 2)) == []


def test_a_harvest_that_runs_past_the_sowing_of_what_follows(tmp_path):
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 12\n'
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\n'
    )
    plan = plan_with(tmp_path, strips=strips)
    harvest = job_of("harvest", "corn", day="2026-07-01")
    sown = job_of("plant", "soybean", day="2026-07-03")
    (notice,) = of_windows(plan, (harvest, 40), (sown, 5))
    assert notice.severity == "stop"
    assert "the ground is not free: harvest corn takes 4 days of 10 h" in notice.text
    assert notice.text.endswith("plant later, or harvest earlier or with more than head")
    assert of_windows(plan, (harvest, 20), (sown, 5)) == []


def test_a_job_that_waits_for_one_that_waits(tmp_path):
    plan = plan_with(tmp_path)
    jobs = [job_of("plant", "corn", day="2026-05-04"), job_of("plant", "soybean", day="2026-05-05"),
            job_of("spray", "soybean", day="2026-05-06")]  # fmt: skip
    found = of_windows(plan, (jobs[0], 30), (jobs[1], 10), (jobs[2], 5))
    assert ["after another job" in one.text for one in found] == [False, True]
