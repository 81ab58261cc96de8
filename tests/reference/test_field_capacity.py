"""Check field capacity, efficiency, fuel and loads against published tables and definitions."""

import numpy as np
import pytest
from routed import job_of, plan_with, route_of, section_with

from striplay.operations.amounts import amounts_of, fills_on
from striplay.operations.capacity import week_hours
from striplay.operations.hours import capacity_at, fuel_of, hours_of
from striplay.operations.published import efficiency_of
from striplay.units import ACRE_M2, FOOT_M, GALLON_M3, HECTARE_M2, HOUR_S, MPH_MPS, POUND_KG

# --- capacity -------------------------------------------------------------------------------------


def acres_an_hour(m2_per_s):
    return m2_per_s * HOUR_S / ACRE_M2


@pytest.mark.parametrize(
    ("efficiency", "acres"),
    # 12 rows of 30 in at 5 mph: 18.18 ac/h; 14.5 at 80 %, 10.9 at 60 % (farm press, "efficiency
    # versus capacity")
    [(1.0, 18.18), (0.8, 14.5), (0.6, 10.9)],
)
def test_a_planter_of_12_rows(efficiency, acres):
    found = acres_an_hour(capacity_at(30 * FOOT_M, 5 * MPH_MPS, efficiency))
    assert found == pytest.approx(acres, abs=0.05 if efficiency < 1 else 0.005)


@pytest.mark.parametrize(("feet", "mph"), [(10, 4.125), (30, 5), (90, 12), (20, 3.3)])
def test_acres_an_hour_by_the_constant_of_the_trade(feet, mph):
    # ac/h = width in ft x mph / 8.25 (Univ. of Kentucky AEN-73, 1991); 8.25 is exact: 43,560/5,280
    found = acres_an_hour(capacity_at(feet * FOOT_M, mph * MPH_MPS))
    assert found == pytest.approx(feet * mph / 8.25, rel=1e-12)


def test_hectares_an_hour():
    # ha/h = m x km/h x efficiency / 10 (arithmetic: 1,000 m to the km, 10,000 m2 to the ha)
    found = capacity_at(24.0, 12 / 3.6, 0.65) * HOUR_S / HECTARE_M2
    assert found == pytest.approx(24 * 12 * 0.65 / 10, rel=1e-12)


def test_a_route_without_a_stop_has_theoretical_capacity(tmp_path):
    # 18.18 ac/h again, of passes driven
    plan = plan_with(tmp_path, planter='speed = "5 mph"')
    found = hours_of(plan, route_of(plan, job_of("plant", "corn"), 800.0, 20))
    assert acres_an_hour(found.capacity_m2_per_s) == pytest.approx(18.18, abs=0.005)
    assert found.efficiency == pytest.approx(1)


def test_turns_of_a_quarter_mile_by_hand(tmp_path):
    # arithmetic: 1,320 ft at 5 mph take 180 s; with turns of 20 s between 10 passes 1,980 s, so
    # 90.9 % and 16.53 ac/h
    plan = plan_with(tmp_path, planter='speed = "5 mph"\nturn = "20 s"')
    found = hours_of(plan, route_of(plan, job_of("plant", "corn"), 1320 * FOOT_M, 10))
    assert found.total_s == pytest.approx(1980)
    assert found.efficiency == pytest.approx(0.9091, abs=5e-5)
    assert acres_an_hour(found.capacity_m2_per_s) == pytest.approx(16.53, abs=0.005)


# --- efficiency -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("machine", "low", "high"),
    # ASABE EP496.3 as M. Spekken and S. de Bruin cite it (Precision Agriculture 14, 2013, doi
    # 10.1007/s11119-012-9290-5), and ASABE D497.7 from memory: what either has lies within
    [
        ("planter", 0.65, 0.70), ("planter", 0.50, 0.75),
        ("drill", 0.65, 0.70), ("drill", 0.55, 0.80),
        ("sprayer", 0.60, 0.65), ("sprayer", 0.50, 0.80),
        ("head", 0.60, 0.70), ("head", 0.65, 0.80),
        ("chisel", 0.80, 0.85), ("spinner", 0.70, 0.70), ("row_cultivator", 0.70, 0.90),
    ],
)  # fmt: skip
def test_published_efficiency(tmp_path, machine, low, high):
    more = (
        '[machines.chisel]\ndoes = "till"\nwidth = "20 ft"\n'
        '[machines.spinner]\ndoes = "spread"\nwidth = "60 ft"\n'
        '[machines.row_cultivator]\ndoes = "cultivate"\nrows = 8\nspacing = "30 in"\n'
    )
    found = efficiency_of(plan_with(tmp_path, machines=more).machines[machine])
    assert found.low <= low <= high <= found.high
    assert "ASABE" in found.source


# --- fuel -----------------------------------------------------------------------------------------


def gallons_an_acre(tmp_path, does, crop, machine="", more=""):
    plan = plan_with(tmp_path, machines=more)
    route = route_of(plan, job_of(does, crop, machine=machine), 500.0, 4)
    fuel, acres = fuel_of(plan, route), route.area_m2.sum() / ACRE_M2
    return np.array([fuel.low_m3, fuel.m3, fuel.high_m3]) / GALLON_M3 / acres


@pytest.mark.parametrize(
    ("does", "crop", "gallons"),
    [
        ("plant", "corn", 0.50),  # planter, Univ. of Missouri G1208, 1993
        ("harvest", "soybean", 2.02),  # combining soybean, Purdue Univ., 2006
        ("harvest", "corn", 2.4),  # combining corn of 165 bu, Purdue Univ., 2006
    ],
)
def test_fuel_by_kind_of_work(tmp_path, does, crop, gallons):
    low, found, high = gallons_an_acre(tmp_path, does, crop)
    assert found == pytest.approx(gallons)
    # true use lies 35 % about such figures (Iowa State Univ. A3-27)
    assert (low, high) == pytest.approx((0.65 * gallons, 1.35 * gallons))


def test_planting_without_tillage_lies_within_what_a_planter_may_burn(tmp_path):
    low, _, high = gallons_an_acre(tmp_path, "plant", "corn")
    # no-till planter 0.35 (Univ. of Missouri G1208, 1993), no-till corn 0.53 (Purdue Univ., 2006)
    assert low <= 0.35
    assert high >= 0.53


def test_tillage_and_row_cultivation(tmp_path):
    # Univ. of Missouri G1208, 1993: chisel 1.10, field cultivator 0.60, row cultivator 0.45
    more = (
        '[machines.tool]\ndoes = "till"\nwidth = "20 ft"\n'
        '[machines.hoe]\ndoes = "cultivate"\nrows = 8\nspacing = "30 in"\n'
    )
    low, found, high = gallons_an_acre(tmp_path, "till", "corn", "tool", more)
    assert (low, found, high) == pytest.approx((0.65 * 0.60, 0.85, 1.35 * 1.10))
    assert gallons_an_acre(tmp_path, "cultivate", "corn", "hoe", more)[1] == pytest.approx(0.45)


# --- loads ----------------------------------------------------------------------------------------


def test_acres_a_tank_sprays(tmp_path):
    # arithmetic: 1,000 gal at 15 gal/acre do 66.7 ac, so 80 ac of passes of 4 ac take one refill,
    # before the 17th
    product = (
        '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nproduct = "urea"\n'
        'rate = "15 gal/acre"\n'
    )
    plan = plan_with(tmp_path, sprayer='holds = "1000 gal"', crops=product)
    (wish,) = plan.operations
    job = job_of("spray", "corn", product=wish.product, rate=wish.rate)
    route = route_of(plan, job, 4 * ACRE_M2 / (90 * FOOT_M), 20)
    found = fills_on(plan, route, amounts_of(plan, section_with(plan), route))
    assert np.flatnonzero(found.before).tolist() == [16]


def test_bags_of_corn_in_a_planter(tmp_path):
    # arithmetic: 30 units of 80,000 seeds plant 75 ac at 32,000 to the acre
    keys = {"planter": 'holds = "2400000 seeds"', "corn": 'rate = "32000 seeds/acre"'}
    plan = plan_with(tmp_path, **keys)
    for acres, count in ((74.9, 0), (75.1, 1)):
        passes = route_of(plan, job_of("plant", "corn"), acres * ACRE_M2 / (30 * FOOT_M) / 20, 20)
        found = fills_on(plan, passes, amounts_of(plan, section_with(plan), passes))
        assert found.count == count


def test_pounds_of_an_acre_of_corn(tmp_path):
    # 56 lb to the bushel (Ohio State Univ. Extension AGF-503): 180 bu are 10,080 lb
    plan = plan_with(tmp_path, corn='yield = "180 bu/acre"')
    route = route_of(plan, job_of("harvest", "corn"), ACRE_M2 / (20 * FOOT_M))
    (grain,) = amounts_of(plan, section_with(plan), route)
    assert grain.by_unit["kg"][0] / POUND_KG == pytest.approx(10_080)


# --- weeks ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "week"),
    # ISO 8601 as its own examples have it (from memory): 29 December 2008 is in week 1 of 2009, 3
    # January 2010 in week 53 of 2009
    [("2008-12-29", (2009, 1)), ("2010-01-03", (2009, 53))],
)
def test_weeks_about_the_new_year(tmp_path, day, week):
    plan = plan_with(tmp_path)
    (found,) = week_hours(plan, [(job_of("plant", "corn", day=day), HOUR_S)])
    assert found.week == week
