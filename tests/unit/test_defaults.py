"""Defaults: filled in when a plan is read, and what the keys' descriptions say of them."""

import re

import pytest

from striplay.files.plan import read_plan
from striplay.plan import defaults
from striplay.plan.defaults import TURNING_RADIUS_M
from striplay.plan.machines import MACHINES, Harvester, Worked
from striplay.plan.models import Direction, Obstacles
from striplay.plan.table import Table
from striplay.units import DURATION, LENGTH, MONEY_PER_AREA, MONEY_PER_TIME, SPEED, parse

FOOT_M, INCH_M, ACRE_M2, MPH_MPS = 0.3048, 0.0254, 4046.8564224, 0.44704
WORKS = tuple(MACHINES)
KINDS = {"per acre": MONEY_PER_AREA, "s": DURATION, "mph": SPEED}
NUMBER = r"(\d[\d.]*)"


def every_table(table=Table):
    for one in table.__subclasses__():
        yield one
        yield from every_table(one)


def numbers():
    """Give every key that has a number where it is left out, but those that differ by work."""
    for table in every_table():
        for name, field in table.model_fields.items():
            number = isinstance(field.default, int | float) and not isinstance(field.default, bool)
            if number and table.__module__.startswith("striplay.plan."):
                yield pytest.param(field, id=f"{table.__name__}.{name}")


@pytest.mark.parametrize("field", list(numbers()))
def test_descriptions_say_what_is_taken_where_a_key_is_left_out(field):
    said = re.search(rf"left out: {NUMBER}( [a-z]+(?: acre)?)?", field.description)
    assert said is not None
    if said[2] is None:
        assert float(said[1].rstrip(".")) == field.default
        return
    kind = KINDS.get(said[2].strip(), LENGTH)
    assert parse(said[1] + said[2], kind).value == pytest.approx(field.default, rel=1e-12)


@pytest.mark.parametrize(
    ("table", "attribute", "by_units"),
    [
        (Direction, "shortest_m", defaults.SHORTEST_M),
        (Obstacles, "beside_m", defaults.BESIDE_M),
        (Harvester, "clearance_m", defaults.CLEARANCE_M),
    ],
)
def test_descriptions_say_both_systems_of_units(table, attribute, by_units):
    field = table.model_fields[attribute]
    us, metric = re.search(
        r"left out: ([^,]*), or (\S* \S*) \(metric\)", field.description
    ).groups()
    assert parse(us, LENGTH).value == pytest.approx(by_units["us"], rel=1e-12)
    assert parse(metric, LENGTH).value == pytest.approx(by_units["metric"], rel=1e-12)
    assert field.default == by_units["us"]


@pytest.mark.parametrize(
    ("attribute", "kind"),
    [
        ("cost_per_s", MONEY_PER_TIME),
        ("speed_mps", SPEED),
        ("turning_speed_mps", SPEED),
        ("refill_s", DURATION),
    ],
)
def test_descriptions_say_what_each_machine_takes(attribute, kind):
    field = Worked.model_fields[attribute]
    said = re.search(r"left out: (.*) \(from", field.description)[1]
    told = {}
    for one in re.split(r", (?=\d)", said):
        value, kinds = re.split(r" to | for ", one)
        told |= dict.fromkeys(re.split(r", | or ", kinds), parse(value, kind).value)
    for does in WORKS:
        filled = field.get_default(call_default_factory=True, validated_data={"does": does})
        assert told.get(does, told["others"]) == pytest.approx(filled, rel=1e-12)


def test_the_radius_taken_for_turns_is_the_one_described():
    said = Worked.model_fields["turning_radius_m"].description
    told = re.search(r"left out: (.*) to plant, (.*) for others", said).groups()
    taken = [TURNING_RADIUS_M["plant"], TURNING_RADIUS_M["others"]]
    assert [parse(text, LENGTH).value for text in told] == pytest.approx(taken, rel=1e-12)


BARE = """
[machines.a]
does = "plant"
rows = 4
spacing = "1 m"
[machines.b]
does = "spray"
width = "4 m"
[machines.c]
does = "harvest"
rows = 4
spacing = "1 m"
[crops.d]
planter = "a"
"""


@pytest.mark.parametrize(
    ("units", "shortest_m", "beside_m", "clearance_m", "widest_m"),
    [
        ("us", 66 * FOOT_M, 30 * FOOT_M, 6 * INCH_M, 120 * FOOT_M),
        ("metric", 20.0, 9.0, 0.15, 36.0),
    ],
)
def test_a_plan_is_filled_in_by_its_units(
    write_plan, units, shortest_m, beside_m, clearance_m, widest_m
):
    plan = read_plan(write_plan(f'units = "{units}"\n{BARE}'))
    found = (plan.direction.shortest_m, plan.obstacles.beside_m, plan.machines["c"].clearance_m)
    assert (*found, plan.widest_m) == pytest.approx(
        (shortest_m, beside_m, clearance_m, widest_m), rel=1e-12
    )
    # half a planter pass, worked out later
    assert plan.direction.narrowest_m is None


def test_a_plan_is_filled_in_by_what_a_machine_does(write_plan):
    # orders of magnitude, from memory
    machines = read_plan(write_plan(BARE)).machines.values()
    assert [m.cost_per_s * 3600 for m in machines] == pytest.approx([300, 300, 400])
    assert [m.speed_mps / MPH_MPS for m in machines] == pytest.approx([5, 10, 4])
    assert [m.turn_s for m in machines] == [None] * 3
    assert [m.refill_s for m in machines] == [600, 480, 180]
    assert [m.reversing for m in machines] == [False, True, True]
    assert [m.wheel_clearance_m for m in machines] == [INCH_M] * 3


def test_what_is_stated_is_kept(write_plan):
    own = 'cost = "36 per hour"\nspeed = "3 m/s"\nturn = "1 min"\n'
    own += 'clearance = "4 in"\nwheel_clearance = "0 in"\n'
    ground = '[field]\nboundary = "a"\nobstacles = "b"\n[obstacles]\nbeside = "5 m"\n'
    ground += '[direction]\nshortest = "7 m"\n'
    text = BARE.replace('does = "harvest"\n', f'does = "harvest"\n{own}')
    plan = read_plan(write_plan(f'units = "metric"\n{ground}{text}'))
    machine = plan.machines["c"]
    assert (machine.cost_per_s, machine.speed_mps, machine.turn_s) == (0.01, 3.0, 60.0)
    assert (machine.clearance_m, machine.wheel_clearance_m) == (4 * INCH_M, 0.0)
    assert (plan.obstacles.beside_m, plan.direction.shortest_m) == (5.0, 7.0)


def test_a_cost_of_nothing_is_a_cost(write_plan):
    free = BARE.replace('does = "plant"\n', 'does = "plant"\ncost = "0 per hour"\n')
    assert read_plan(write_plan(free)).machines["a"].cost_per_s == 0.0
