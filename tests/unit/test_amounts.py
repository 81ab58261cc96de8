"""Amounts: what passes use and bring in, by hand, on acres."""

import math

import numpy as np
import pytest
from routed import job_of, plan_with, route_of, section_with

from striplay.files.crop_table import crop_table
from striplay.operations.amounts import amounts_of, bushel_kg, fills_on, load_of
from striplay.plan.defaults import ALSO_CALLED, BUSHEL_KG
from striplay.units import ACRE_M2, BUSHEL_M3, GALLON_M3, POUND_KG, TANK_LOAD, Quantity, parse

WIDE_M = 30 * 0.3048
ACRE_LONG_M = ACRE_M2 / WIDE_M
"""A pass of a 12-row planter so long works an acre."""


def amounts(plan, route):
    return amounts_of(plan, section_with(plan), route)


def test_seed_by_number_and_by_weight(tmp_path):
    plan = plan_with(tmp_path, corn='rate = "34000 seeds/acre"\nseed_size = "1700 seeds/lb"')
    (seed,) = amounts(plan, route_of(plan, job_of("plant", "corn"), [ACRE_LONG_M, 0, ACRE_LONG_M]))
    assert (seed.what, seed.brought_in) == ("seed", False)
    assert seed.by_unit["seeds"] == pytest.approx([34_000, 0, 34_000])
    assert seed.by_unit["kg"] == pytest.approx([20 * POUND_KG, 0, 20 * POUND_KG])
    # corn fills 56-lb bushels
    assert seed.by_unit["bu"][0] == pytest.approx(20 / 56)
    assert seed.by_unit["m3"][0] == pytest.approx(20 / 56 * BUSHEL_M3)


def test_seed_by_number_alone_has_no_weight(tmp_path):
    plan = plan_with(tmp_path, corn='rate = "34000 seeds/acre"')
    (seed,) = amounts(plan, route_of(plan, job_of("plant", "corn"), ACRE_LONG_M))
    assert set(seed.by_unit) == {"seeds"}


def test_seed_that_does_not_germinate_is_carried_too(tmp_path):
    plan = plan_with(tmp_path, corn='rate = "34000 seeds/acre"\ngermination = 0.85')
    (seed,) = amounts(plan, route_of(plan, job_of("plant", "corn"), ACRE_LONG_M))
    assert seed.by_unit["seeds"] == pytest.approx([40_000])


def test_nothing_stated_is_nothing_known(tmp_path):
    plan = plan_with(tmp_path)
    for does in ("plant", "spray", "harvest"):
        assert amounts(plan, route_of(plan, job_of(does, "corn"), 100.0)) == ()


def test_two_crops_in_one_go_each_at_its_rate(tmp_path):
    rates = {"corn": 'rate = "34000 seeds/acre"', "soybean": 'rate = "140000 seeds/acre"'}
    plan, names = plan_with(tmp_path, **rates), ["corn", "soybean", "corn"]
    route = route_of(plan, job_of("plant", "corn", "soybean"), ACRE_LONG_M, 3, crop=names)
    (seed,) = amounts(plan, route)
    assert seed.by_unit["seeds"] == pytest.approx([34_000, 140_000, 34_000])
    assert seed.crop.tolist() == [0, 1, 0]
    corn, soybean = seed.parts
    assert (corn.name, soybean.name) == ("corn", "soybean")
    assert corn.by_unit["seeds"] == pytest.approx([34_000, 0, 34_000])
    assert soybean.by_unit["seeds"] == pytest.approx([0, 140_000, 0])
    # known of one crop alone, it is known of that one and not of both
    plan = plan_with(tmp_path, corn=rates["corn"])
    (seed,) = amounts(plan, route)
    assert dict(seed.by_unit) == {}
    assert [set(part.by_unit) for part in seed.parts] == [{"seeds"}, set()]


def test_a_mixture_on_strips_and_headland(tmp_path):
    crops = (
        '[crops.oats]\nplanter = "drill"\nrate = "100 lb/acre"\n'
        '[crops.pea]\nplanter = "drill"\nrate = "200 lb/acre"\n'
        '[mixtures.mash]\nplanter = "drill"\nparts = {oats = 0.5, pea = 0.75}\n'
    )
    strips = '[[strips]]\ncrop = "mash"\nwidth = "30 ft"\n'
    plan = plan_with(tmp_path, crops=crops, strips=strips)
    where = ["strips", "headland"]
    job = job_of("plant", "mash", machine="drill")
    (seed,) = amounts(plan, route_of(plan, job, ACRE_LONG_M, 2, place=where))
    assert seed.by_unit["kg"] == pytest.approx([200 * POUND_KG] * 2)


def test_a_row_set_takes_the_seed_of_each_of_its_units(tmp_path):
    rates = {"corn": 'rate = "30000 seeds/acre"', "soybean": 'rate = "120000 seeds/acre"'}
    sown = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean"\n'
    plan = plan_with(tmp_path, strips=sown, **rates)
    crop = next(one.crop for one in section_with(plan).passes if one.operation == "plant")
    assert "+" in crop
    route = route_of(plan, job_of("plant", crop), ACRE_LONG_M)
    (seed,) = amounts(plan, route)
    assert seed.by_unit["seeds"] == pytest.approx([30_000 / 3 + 120_000 * 2 / 3])
    each = {part.name: part.by_unit["seeds"][0] for part in seed.parts}
    assert each == pytest.approx({"corn": 30_000 / 3, "soybean": 120_000 * 2 / 3})


def test_product_by_its_rate(tmp_path):
    plan = plan_with(tmp_path)
    job = job_of(
        "spray", "corn", product="urea", rate=Quantity(15 * GALLON_M3 / ACRE_M2, "m3_per_m2")
    )
    (urea,) = amounts(plan, route_of(plan, job, ACRE_M2 / (90 * 0.3048)))
    assert (urea.what, urea.brought_in) == ("urea", False)
    assert urea.by_unit["m3"] == pytest.approx([15 * GALLON_M3])
    assert set(urea.by_unit) == {"m3"}  # its weight is not known


def test_a_planter_with_seed_and_starter_fills_what_it_is_said_to_hold(tmp_path):
    plan = plan_with(tmp_path, corn='rate = "34000 seeds/acre"')
    job = job_of("plant", "corn", product="starter", rate=Quantity(5e-6, "m3_per_m2"))
    found = amounts(plan, route_of(plan, job, ACRE_LONG_M))
    assert [one.what for one in found] == ["seed", "starter"]
    assert load_of(found, parse("300 gal", TANK_LOAD)).what == "starter"
    assert load_of(found, parse("2400000 seeds", TANK_LOAD)).what == "seed"
    assert load_of(found, parse("2 t", TANK_LOAD)) is None


@pytest.mark.parametrize(
    ("keys", "bushels", "pounds"),
    [
        ('yield = "180 bu/acre"', 180, 180 * 56),
        ('yield = "10080 lb/acre"', 180, 10_080),
        ('yield = "180 bu/acre"\nbushel = "54 lb"', 180, 180 * 54),
        ('yield = "80 bu/acre"\nlike = "winter_wheat"', 80, 80 * 60),
    ],
)
def test_grain(tmp_path, keys, bushels, pounds):
    plan = plan_with(tmp_path, corn=keys)
    (grain,) = amounts(plan, route_of(plan, job_of("harvest", "corn"), ACRE_M2 / (20 * 0.3048)))
    assert (grain.what, grain.brought_in) == ("grain", True)
    assert grain.by_unit["bu"] == pytest.approx([bushels])
    assert grain.by_unit["kg"] == pytest.approx([pounds * POUND_KG])
    assert grain.by_unit["m3"] == pytest.approx([bushels * BUSHEL_M3])


def test_a_crop_whose_bushel_is_not_known(tmp_path):
    plan = plan_with(tmp_path, corn='yield = "180 bu/acre"\nlike = "sunflower"')
    (grain,) = amounts(plan, route_of(plan, job_of("harvest", "corn"), 100.0))
    assert set(grain.by_unit) == {"bu", "m3"}


def test_fills_on_a_route(tmp_path):
    plan = plan_with(tmp_path, head='holds = "300 bu"', corn='yield = "180 bu/acre"')
    long_m = ACRE_M2 / (20 * 0.3048)
    route = route_of(plan, job_of("harvest", "corn"), [long_m, long_m, 2 * long_m])
    found = fills_on(plan, route, amounts(plan, route))
    # 120 bu of room are left for 360: one stop on the way either way, so none before
    assert found.before.tolist() == [False, True, False]
    assert found.first_m[2] == pytest.approx(2 * long_m * 120 / 360)
    assert np.isnan(found.first_m[:2]).all()
    assert found.left[2] == pytest.approx(60)


def test_no_fills_where_no_tank_or_no_amount_is_stated(tmp_path):
    plan = plan_with(tmp_path, head='holds = "300 bu"')
    route = route_of(plan, job_of("harvest", "corn"), 100.0)
    assert fills_on(plan, route, amounts(plan, route)) is None
    plan = plan_with(tmp_path, corn='yield = "180 bu/acre"')
    assert fills_on(plan, route, amounts(plan, route)) is None


def test_grain_of_two_crops_is_kept_apart(tmp_path):
    keys = {"corn": 'yield = "18 bu/acre"', "soybean": 'yield = "6 bu/acre"'}
    plan = plan_with(tmp_path, head='holds = "300 bu"', **keys)
    job = job_of("harvest", "corn", "soybean")
    route = route_of(plan, job, 100.0, 3, crop=["soybean", "soybean", "corn"])
    found = fills_on(plan, route, amounts(plan, route))
    assert found.before.tolist() == [False, False, True]
    assert math.isclose(found.left[0] + 6 * 100 * 20 * 0.3048 / ACRE_M2, 300)


def test_other_names_of_a_crop_are_those_of_the_pairing_table(tmp_path):
    table = crop_table()
    for name, crop in ALSO_CALLED.items():
        also = {other for other in ALSO_CALLED if ALSO_CALLED[other] == crop} | {crop}
        assert table[name].kind in also, name
    plan = plan_with(tmp_path, corn='like = "maize"', soybean='like = "spring_wheat"')
    assert bushel_kg(plan, "corn") == BUSHEL_KG["corn"]
    assert bushel_kg(plan, "soybean") == BUSHEL_KG["wheat"]
    assert bushel_kg(plan, "sunflower") is None
