"""Margins, budgets and break-evens against published figures and arithmetic by hand.

Yields and prices are invented where no source stands beside them.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from fields import FOOT_M, STRIPS, lay_on, square, write_plan_for
from priced import EIGHT, EIGHT_SHED, PURDUE, pay_on, priced

from striplay.economics.budget import break_even_price_ratio
from striplay.economics.chances import compare, draw, needed_gains, net, price_ratio, tornado
from striplay.economics.edges import EdgeTable, Estimate, edge_table
from striplay.economics.ground import set_ground
from striplay.economics.indices import Grown, land_equivalent_ratio
from striplay.economics.others import alone, whole_field_passes
from striplay.economics.system import grown_on
from striplay.economics.variant import CropPart, EdgeLand, Variant, between, joined, margin
from striplay.economics.worth import Worth, with_land_worth
from striplay.errors import PlanError
from striplay.files.edge_table import published_edges
from striplay.files.plan import read_plan
from striplay.flow import lay_on_ground
from striplay.pay_report import unsure_words
from striplay.paying import pay_if_told
from striplay.plan.check import check_plan
from striplay.plan.cost import Cost
from striplay.plan.money import Economics
from striplay.section.systems import sections_of
from striplay.units import ACRE_M2, POUND_KG

CORN = Worth("corn", "bu", 150 / ACRE_M2, 4.50)
SOYBEAN = Worth("soybean", "bu", 50 / ACRE_M2, 11.00)
WORTHS = {"corn": CORN, "soybean": SOYBEAN}
BARE = '[headland]\nwhere = "none"\n'


def two_acres(corn_bu=20.0, soybean_bu=-5.9, **costs):
    """An acre of either crop in strips, and in blocks."""

    def part(worth, bushels, beside, **own):
        gained = bushels / 150 * ACRE_M2 if worth is CORN else bushels / 50 * ACRE_M2
        land = EdgeLand(Estimate(gained, gained, gained), ACRE_M2 / 4)
        return CropPart(ACRE_M2, ACRE_M2, edges={(worth.crop, beside): land}, **own)

    strips = {
        "corn": part(CORN, corn_bu, "soybean", **costs),
        "soybean": part(SOYBEAN, soybean_bu, "corn"),
    }
    alone = {crop: CropPart(ACRE_M2, ACRE_M2) for crop in strips}
    return Variant("strips", strips, 2 * ACRE_M2), Variant("blocks", alone, 2 * ACRE_M2)


# --- what must come out ------------------------------------------------------------------------


def test_purdue_rows_make_eight_row_strips_neutral(tmp_path):
    """Outside rows +25.8 and -26.6 % of 8: strips +6.45 and -6.65 %, LER at half and half 0.999.

    West & Griffith, Journal of Production Agriculture 5:107-110, 1992; the price ratio decides.
    """
    layout, pay = pay_on(
        tmp_path, square(640), shed=priced(EIGHT_SHED), strips=EIGHT, headland=BARE, tables=PURDUE
    )
    table = edge_table(layout.plan, published_edges())
    ground = set_ground(layout.section, 0.0)
    grown = grown_on(layout.plan, layout.section, ground, table)
    gained = {crop: part.gained_m2.central / part.area_m2 for crop, part in grown.items()}
    assert gained == {"corn": pytest.approx(0.0645), "soybean": pytest.approx(-0.0665)}
    half = [Grown(crop, (1 + gain) / 2, 1.0, 0.5) for crop, gain in gained.items()]
    assert land_equivalent_ratio(half) == pytest.approx(0.999, abs=5e-4)
    # on the field, whose last strips have one border each
    assert pay.land_equivalent.central == pytest.approx(0.999, abs=1e-3)
    assert pay.land_equivalent.low == pay.land_equivalent.high
    # which price pays: 0.0645 x 190 over 0.0665 x 55 bushels
    ratio = pay.price_ratio
    assert (ratio.gains, ratio.loses) == ("corn", "soybean")
    assert ratio.ratio == pytest.approx(0.0645 * 190 / (0.0665 * 55), rel=0.02)
    assert ratio.ratio > ratio.now == pytest.approx(11 / 4.5)
    dear = replace(pay.worths["soybean"], price=16.0)
    lost = replace(pay, worths=pay.worths | {"soybean": dear})  # what is laid knows no price
    gain, loss = (each.against[0].budget for each in (pay, lost))
    assert gain.added_returns > gain.lost_returns
    assert loss.added_returns < loss.lost_returns


def test_an_acre_of_either():
    """Corn +20 bu at 4.50, soybean -5.9 bu at 11.00: +25.10, 12.55 an acre, even at 3.39."""
    strips, blocks = two_acres()
    assert float(net(strips, blocks, WORTHS)) == pytest.approx(25.10)
    assert float(net(strips, blocks, WORTHS)) / 2 == pytest.approx(12.55)
    found = price_ratio(strips, blocks, WORTHS)
    assert (found.gained, found.lost) == (pytest.approx(20.0), pytest.approx(5.9))
    assert found.ratio == pytest.approx(3.39, abs=5e-3)
    assert found.ratio == pytest.approx(break_even_price_ratio(20.0, 5.9))
    # at that ratio, whatever the price, nothing is left
    even = {"corn": CORN, "soybean": Worth("soybean", "bu", 50 / ACRE_M2, 4.50 * found.ratio)}
    assert float(net(strips, blocks, even)) == pytest.approx(0.0, abs=1e-9)
    budget = compare(strips, blocks, WORTHS, None).budget
    assert (budget.added_returns, budget.lost_returns) == (
        pytest.approx(90.0), pytest.approx(64.90),
    )  # fmt: skip
    assert budget.net == pytest.approx(25.10)


def test_castor_and_groundnut_save_land_and_earn_less():
    """Castor and groundnut 1:5, LER 1.13, and groundnut alone 12.5 % above (see the indices)."""
    value = 15_072 * 1.13 / 0.13
    groundnut = Worth("groundnut", "kg", 1.0, 1.125 * value)
    castor = Worth("castor", "kg", 1.0, (value - 0.8 * groundnut.price) / 0.33)
    worths = {"castor": castor, "groundnut": groundnut}
    together = Variant(
        "strips", {"castor": CropPart(1 / 6, 0.33), "groundnut": CropPart(5 / 6, 0.8)}, 1
    )
    alone = Variant("groundnut alone", {"groundnut": CropPart(1.0, 1.0)}, 1.0)
    crops = [Grown("castor", 0.33, 1.0, 1 / 6), Grown("groundnut", 0.8, 1.0, 5 / 6)]
    assert land_equivalent_ratio(crops) == pytest.approx(1.13)
    against = compare(together, alone, worths, None)
    assert against.other_margin / float(margin(together, worths)) == pytest.approx(1.125)
    assert against.net.central < 0


RELAY = """
[[relay]]
crop = "soybean"
into = "wheat"
yield_share = 0.71
host_yield_share = 0.62
"""
WHEAT = """
[crops.wheat]
planter = "planter"
harvester = "platform"
"""


def test_a_relay_of_wheat_and_soybean(tmp_path):
    """Wheat 62 % and soybean 71 % of what they yield alone: LER 1.33 (arithmetic on shares)."""
    shed = priced(EIGHT_SHED + WHEAT)
    strips = '[[strips]]\ncrop = "wheat"\nrows = 8\n'
    _, pay = pay_on(tmp_path, square(640), shed=shed, strips=strips, headland=BARE, tables=RELAY)
    grown = {one.name: one for one in pay.grown()}
    assert grown["wheat"].land_equivalent == pytest.approx(0.62)
    assert grown["soybean"].land_equivalent == pytest.approx(0.71)
    assert pay.land_equivalent == Estimate(*[pytest.approx(1.33)] * 3)
    # what both must yield less for blocks to leave as much, put in: nothing is left
    times = 1 + pay.needed_together
    less = {crop: replace(part, inner_m2=part.inner_m2 * times)
            for crop, part in pay.system.crops.items()}  # fmt: skip
    assert times < 1
    even = net(replace(pay.system, crops=less), pay.blocks, pay.worths)
    assert float(even) == pytest.approx(0.0, abs=1e-6)
    (said,) = [one for one in unsure_words(pay) if "the plan's word" in one]
    assert said.startswith("what wheat and soybean yield on one ground")
    assert said.endswith(f"where each yields {100 * (1 - times):.0f} % less")


# --- rows of other trials ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "corn", "soybean", "ratio"),
    [
        # West & Griffith 1992, 8 rows: arithmetic on outside rows
        (8, [0.258, 0.258], [-0.266, -0.266], 0.999),
        # Iragavarapu & Randall 1996, 6 rows north and south: corn +23 and +27, soybean -19, -21
        (6, [0.23, 0.27], [-0.19, -0.21], 1.0083),
    ],
)
def test_strip_means_from_rows(rows, corn, soybean, ratio):
    """Strip mean = inner yield + sum of edge gains / rows; LER at half and half."""
    means = [1 + sum(gains) / rows for gains in (corn, soybean)]
    crops = [Grown(str(number), mean / 2, 1.0, 0.5) for number, mean in enumerate(means)]
    assert land_equivalent_ratio(crops) == pytest.approx(ratio, abs=5e-4)


def strips_plan(tables, rows=6):
    shed = {
        "machines": {"planter": {"does": "plant", "rows": rows, "spacing": "30 in"}},
        "crops": {name: {"planter": "planter"} for name in ("corn", "soybean")},
        "strips": [{"crop": "corn", "rows": rows}, {"crop": "soybean", "rows": rows}],
    }
    return shed | tables


@pytest.mark.parametrize("heading_deg", [0.0, 90.0, None])
def test_means_of_a_set_by_its_heading(tmp_path, heading_deg):
    """Six rows: each side's own published figures where rows run that way, over six."""
    plan = check_plan(strips_plan({"economics": {"edges": "published"}}), tmp_path / "plan.toml")
    section = sections_of(plan)[0]
    minnesota = tuple(one for one in published_edges() if one.study == "Iragavarapu 1996")
    table = EdgeTable((), minnesota, taken=True, kinds={})
    grown = grown_on(plan, section, set_ground(section, heading_deg), table)
    gains = {crop: part.gained_m2.central / part.area_m2 for crop, part in grown.items()}
    by_hand = {
        0.0: {"corn": (0.23 + 0.27) / 6, "soybean": (-0.19 - 0.21) / 6},
        # no figure of corn's north side beside soybean: nothing is taken there
        90.0: {"corn": 0.18 / 6, "soybean": (-0.34 - 0.11) / 6},
        None: {"corn": 2 * (0.23 + 0.27 + 0.18) / 3 / 6,
               "soybean": 2 * (-0.19 - 0.21 - 0.34 - 0.11) / 4 / 6},
    }[heading_deg]  # fmt: skip
    assert gains == pytest.approx(by_hand)


def test_gains_taper_over_three_rows(tmp_path):
    """0.3, 0.2, 0.1 from either edge: (0.3 + 0.2 + 0.1) x 2 / 8; of 4 rows all overlap."""
    edges = {"edges": [{"crop": "corn", "beside": "soybean", "gain": [0.3, 0.2, 0.1]}]}
    for rows, mean in ((8, 2 * 0.6 / 8), (4, 2 * 0.6 / 4)):
        plan = check_plan(strips_plan(edges, rows), tmp_path / "plan.toml")
        section = sections_of(plan)[0]
        table = edge_table(plan, ())
        grown = grown_on(plan, section, set_ground(section, 0.0), table)
        assert grown["corn"].gained_m2.central / grown["corn"].area_m2 == pytest.approx(mean)
        assert grown["soybean"].gained_m2.central == 0.0


# --- money by hand -----------------------------------------------------------------------------

COSTED = """
seed_price = "280 per unit"
moisture = 0.2
drying = "0.05 per bu per point"
other_costs = "100 per acre"
"""


def test_a_field_of_corn_to_the_dollar(tmp_path):
    """Forty acres: sales, drying of wet bushels, seed by the bag, machines by the hour."""
    shed = priced(EIGHT_SHED, corn=COSTED)
    strips = '[[strips]]\ncrop = "corn"\nrows = 8\n'
    layout, pay = pay_on(tmp_path, square(1320), shed=shed, strips=strips, headland=BARE)
    acres = 40.0
    wet = 0.845 / 0.80  # Ohio State AGF-503: what dries to a bushel at 15.5 % from 20 %
    sales = acres * 190 * (4.50 - 0.05 * 4.5 * wet)
    seed = acres * 34_000 / 80_000 * 280
    hours = {one.job.does: one.hours.total_s / 3600 for one in layout.operations.each}
    machines = 300 * (hours["plant"] + hours["spray"]) + 400 * hours["harvest"]
    part = pay.system.crops["corn"]
    assert part.area_m2 / ACRE_M2 == pytest.approx(acres, rel=1e-6)
    assert part.seed == pytest.approx(seed, rel=1e-6)
    assert part.machine == pytest.approx(machines)
    by_hand = sales - seed - machines - 100 * acres
    assert pay.margin == Estimate(*[pytest.approx(by_hand, rel=1e-6)] * 3)
    assert pay.widths is None
    assert pay.needed == []
    # alone it is the same field
    assert pay.crops[0].alone_margin == pytest.approx(by_hand, rel=1e-3)


def test_products_and_fuel(tmp_path):
    sprayed = """
[economics]
fuel_price = "4 per gal"
[[operations]]
does = "spray"
machine = "sprayer"
product = "A"
rate = "10 gal/acre"
product_price = "3 per gal"
"""
    shed = priced().replace("sections = 12", 'sections = 12\nfuel = "0.1 gal/acre"')
    layout, pay = pay_on(tmp_path, square(640), headland=BARE, shed=shed, tables=sprayed)
    spray = [one for one in layout.operations.each if one.job.does == "spray"]
    acres = sum(float(one.route.area_m2.sum()) for one in spray) / ACRE_M2
    product = sum(part.product for part in pay.system.crops.values())
    assert product == pytest.approx(acres * 10 * 3)
    fuel = sum(part.fuel.central for part in pay.system.crops.values())
    burnt = sum(one.fuel.m3 for one in layout.operations.each if one.fuel is not None)
    assert fuel == pytest.approx(burnt / (231 * 0.0254**3) * 4)
    assert all(part.fuel.high > part.fuel.low for part in pay.system.crops.values())


def test_units_of_weight_and_of_bushels_give_the_same(tmp_path):
    """190 bu/ac of 56 lb at 4.50 a bushel, in tonnes: the same money."""
    tonnes = 190 * 56 * POUND_KG / 1000 / (ACRE_M2 / 10_000)
    price = 4.50 / (56 * POUND_KG) * 1000
    strips = '[[strips]]\ncrop = "corn"\nrows = 8\n'
    found = []
    for keys in (None, f'yield = "{tonnes:.9f} t/ha"\nprice = "{price:.9f} per tonne"\n'):
        shed = priced(EIGHT_SHED)
        if keys:
            shed = shed.replace('yield = "190 bu/acre"\nprice = "4.50 per bu"\n', keys)
        _, pay = pay_on(tmp_path, square(640), shed=shed, strips=strips, headland=BARE)
        found.append(pay.margin.central)
    assert found[1] == pytest.approx(found[0], rel=1e-9)


# --- what is sure ------------------------------------------------------------------------------


def test_needed_gain_makes_strips_even(tmp_path):
    """Given as the plan's own, the break-even gain leaves nothing over blocks."""
    _, pay = pay_on(tmp_path, square(640), headland=BARE)
    need = {one.crop: one for one in pay.needed}
    assert set(need) == {"corn", "soybean"}
    own = f'[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = {need["corn"].gain!r}\n'
    _, again = pay_on(tmp_path, square(640), headland=BARE, tables=own)
    assert again.against[0].net.central == pytest.approx(0.0, abs=1e-4 * pay.margin.central)
    assert abs(pay.against[0].net.central) > 1e-3 * pay.margin.central or need["corn"].gain < 0.01


def test_needed_gain_by_hand():
    """Corn's outer rows are a quarter of an acre: 64.90 lost / (0.25 x 150 x 4.50) = 38.5 %."""
    strips, blocks = two_acres()
    found = {one.crop: one.gain for one in needed_gains(strips, blocks, WORTHS)}
    assert found["corn"] == pytest.approx(64.90 / (0.25 * 150 * 4.50))
    assert found["soybean"] == pytest.approx(-90.0 / (0.25 * 50 * 11.00))


def test_bars_move_one_figure_each():
    strips, blocks = two_acres()
    bars = tornado(strips, blocks, WORTHS, Economics(price_range=0.2))
    ends = {bar.name: (bar.at_low, bar.at_high) for bar in bars}
    assert ends["price of corn"] == (pytest.approx(25.10 - 18), pytest.approx(25.10 + 18))
    assert ends["price of soybean"] == (pytest.approx(25.10 + 12.98), pytest.approx(25.10 - 12.98))
    assert [bar.swing for bar in bars] == sorted((bar.swing for bar in bars), reverse=True)


def test_chances_against_a_sum_over_all_prices():
    """Two prices, each from a triangle: the share of loss by a fine grid, to a hundredth."""
    strips, blocks = two_acres()
    economics = Economics(price_range=0.4, draws=100_000, seed=7)
    drawn = draw(economics, [strips], WORTHS)
    found = compare(strips, blocks, WORTHS, drawn)
    steps = (np.arange(2000) + 0.5) / 1000 - 1
    weight = 1 - np.abs(steps)
    left = 90 * (1 + 0.4 * steps)[:, None] - 64.90 * (1 + 0.4 * steps)[None, :]
    chance = float((np.outer(weight, weight) * (left < 0)).sum() / weight.sum() ** 2)
    assert 0.05 < chance < 0.4
    assert found.chance_of_loss == pytest.approx(chance, abs=0.005)
    assert found.tenths[1] == pytest.approx(25.10, abs=0.5)
    again = compare(strips, blocks, WORTHS, draw(economics, [strips], WORTHS))
    assert again == found
    other = draw(economics.model_copy(update={"seed": 8}), [strips], WORTHS)
    assert compare(strips, blocks, WORTHS, other).chance_of_loss != found.chance_of_loss


def test_nothing_varies():
    strips, blocks = two_acres()
    assert draw(Economics(), [strips], WORTHS) is None
    assert compare(strips, blocks, WORTHS, None).chance_of_loss is None


def test_between_the_ends_of_a_range():
    values = Estimate(-1.0, 0.5, 4.0)
    assert [between(values, at) for at in (-1.0, 0.0, 1.0)] == [-1.0, 0.5, 4.0]
    assert between(values, np.array([-0.5, 0.5])).tolist() == [-0.25, 2.25]
    assert values.times(-2.0) == Estimate(-8.0, -1.0, 2.0)


def test_parts_add_up_and_scale():
    strips, _ = two_acres(seed=10.0, machine=5.0)
    twice = joined("both", [strips, strips])
    assert float(margin(twice, WORTHS)) == pytest.approx(2 * float(margin(strips, WORTHS)))
    assert float(margin(strips.times(0.5), WORTHS)) == pytest.approx(
        float(margin(strips, WORTHS)) / 2
    )
    assert twice.area_m2 == 4 * ACRE_M2


def test_blocks_are_each_crop_alone_by_its_land(tmp_path):
    """Strip mean of two crops on half the land each; the farm's rotation as stated."""
    rotation = "[economics]\nrotation = {corn = 0.75, soybean = 0.25}\n"
    _, pay = pay_on(tmp_path, square(640), headland=BARE, tables=rotation)
    alone = {crop: float(margin(v, pay.worths)) for crop, v in pay.alone.items()}
    by_land = sum(
        alone[crop] * m2 / pay.alone[crop].area_m2 for crop, m2 in pay.own_land_m2.items()
    )
    found = {one.other: one.other_margin for one in pay.against}
    assert found["blocks"] == pytest.approx(by_land)
    assert found["rotation"] == pytest.approx(0.75 * alone["corn"] + 0.25 * alone["soybean"])
    assert sum(pay.own_land_m2.values()) == pytest.approx(pay.system.area_m2)
    for one in pay.against:
        assert one.budget.net == pytest.approx(one.net.central, abs=1e-6 * pay.margin.central)
        assert one.net.low <= one.net.central <= one.net.high
    strips = sum(one.margin.central for one in pay.strips)
    assert strips == pytest.approx(pay.margin.central)
    assert pay.margin.low < pay.margin.central == pytest.approx(pay.margin.central)


@pytest.mark.parametrize(
    ("planter", "platform", "boom", "passes"),
    # by hand: 40 and 30 ft meet at 120; 40 and 40 at once, but for the 120-ft boom; 30-ft boom
    [(16, 30, 120, 3), (16, 40, 120, 3), (16, 40, 40, 1), (12, 30, 60, 2)],
)
def test_a_whole_field_is_worked_at_full_width(tmp_path, planter, platform, boom, passes):
    shed = priced().replace("rows = 16", f"rows = {planter}").replace("30 ft", f"{platform} ft")
    shed = shed.replace("120 ft", f"{boom} ft")
    rows = f"rows = {planter}"
    strips = STRIPS.replace("rows = 16", rows).replace("rows = 48", rows)
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    assert whole_field_passes(plan, "soybean") == passes


def test_blocks_are_worked_like_whole_fields(tmp_path):
    """Passes of a platform of 30 ft over 40-ft strips: two to each; over the field, by 30 ft."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    layout, _ = pay_on(tmp_path, square(960), strips=strips, headland=BARE)
    lone = lay_on_ground(alone(layout.plan, layout.laid, "soybean"), layout.ground)
    count = {one.job.does: len(one.route) for one in lone.operations.each}
    assert count == {"plant": 24, "spray": 8, "harvest": 32}
    in_strips = [one for one in layout.operations.each if one.job.machine == "platform"]
    assert [len(one.route) for one in in_strips] == [24]


def test_two_seasons_swap_crops_on_the_same_lines(tmp_path):
    """Three strips: corn has two, then one."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    _, pay = pay_on(tmp_path, square(120), strips=strips, headland=BARE)
    acres = 120 * 40 * FOOT_M**2
    assert pay.system.crops["corn"].area_m2 == pytest.approx(2 * acres, rel=1e-6)
    assert pay.swapped.crops["corn"].area_m2 == pytest.approx(acres, rel=1e-6)
    two = (float(margin(pay.swapped, pay.worths)) + pay.margin.central) / 2
    assert pay.two_seasons.central == pytest.approx(two)


def test_the_headland_loses_what_the_plan_states(tmp_path):
    """A fifth of the headland's corn, where [cost] headland_loss says so; else nothing."""
    around = '[headland]\nwhere = "around"\npasses = 1\nmachine = "planter"\ncrop = "corn"\n'
    layout, whole = pay_on(tmp_path, square(660), headland=around)
    _, less = pay_on(tmp_path, square(660), headland=around, tables="[cost]\nheadland_loss = 0.2\n")
    lost = 0.2 * layout.areas_m2["headland"] / ACRE_M2 * 190 * 4.50
    assert whole.margin.central - less.margin.central == pytest.approx(lost, rel=1e-6)


# --- which width -------------------------------------------------------------------------------


def test_which_width_pays_best(tmp_path):
    """Where edges gain nothing the least cost is best; gains favor narrow strips, by 1 / width."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    shed = priced().replace('width = "30 ft"', 'width = "40 ft"')
    _, pay = pay_on(tmp_path, square(960), strips=strips, headland=BARE, shed=shed, tables=PURDUE)
    widths = pay.widths
    laid = next(one for one in widths.each if one.laid)
    assert widths.now == 1.0
    assert [round(one.width_m / FOOT_M) for one in widths.each] == [40, 80, 120]
    assert {len(set(one.widths_m)) for one in widths.each} == {1}
    for one in widths.each:
        assert one.edges.central * one.width_m == pytest.approx(laid.edges.central * laid.width_m)
    stays = widths.stays()
    assert (stays[0].low, stays[-1].high) == (0.0, math.inf)
    for one, after in pairwise(stays):
        assert one.high == after.low
        assert one.best.leaves(one.high) == pytest.approx(after.best.leaves(one.high))
        assert one.best.width_m > after.best.width_m
    for one in stays:
        at = one.low + 0.5 if math.isinf(one.high) else (one.low + one.high) / 2
        assert widths.at(at) is one.best
        assert all(one.best.leaves(at) >= each.leaves(at) - 1e-9 for each in widths.each)
    assert {"planter", "corn_head", "platform", "sprayer"} == set(widths.machines_m)


# --- ground that crops share -------------------------------------------------------------------


def test_a_mixture_beside_corn_by_hand(tmp_path):
    """Half corn, half a mixture at 0.6 and 0.7: LER 0.5 + 0.3 + 0.35; land 1/2, 1/4, 1/4."""
    mixed = """
[crops.oats]
planter = "planter"
yield = "90 bu/acre"
price = "4 per bu"
[crops.pea]
planter = "planter"
yield = "2 t/acre"
price = "300 per t"
[mixtures.oat_pea]
planter = "planter"
harvester = "platform"
parts = {oats = 0.5, pea = 0.5}
yield_shares = {oats = 0.6, pea = 0.7}
"""
    strips = '[[strips]]\ncrop = "corn"\nrows = 8\n[[strips]]\ncrop = "oat_pea"\nrows = 8\n'
    # 320 ft are 16 strips of 20 ft: as many of either
    _, pay = pay_on(
        tmp_path, square(320), shed=priced(EIGHT_SHED) + mixed, strips=strips, headland=BARE
    )
    assert pay.land_equivalent == Estimate(*[pytest.approx(1.15)] * 3)
    shares = {one.name: one.land_share for one in pay.grown()}
    assert shares == {
        "corn": pytest.approx(0.5), "oats": pytest.approx(0.25), "pea": pytest.approx(0.25),
    }  # fmt: skip
    # a gain at the mixture's edges is of both its crops
    own = '[[edges]]\ncrop = "oat_pea"\nbeside = "corn"\ngain = 0.4\n'
    _, gains = pay_on(
        tmp_path, square(320), shed=priced(EIGHT_SHED) + mixed, strips=strips, headland=BARE,
        tables=own,
    )  # fmt: skip
    borders = 15 / 8 / 8  # outer rows of all the mixture's
    assert gains.land_equivalent.central == pytest.approx(0.5 + 0.65 * (1 + 0.4 * borders))


def test_a_mixtures_crops_alone_are_harvested_as_it_is(tmp_path):
    """They name no harvester of their own; else they would be cut for nothing."""
    mixed = """
[mixtures.both]
planter = "planter"
harvester = "platform"
parts = {oats = 0.5, pea = 0.5}
yield_shares = {oats = 0.6, pea = 0.6}
""" + "".join(
        f'[crops.{crop}]\nplanter = "planter"\nyield = "2 t/acre"\nprice = "300 per t"\n'
        for crop in ("oats", "pea")
    )
    strips = '[[strips]]\ncrop = "both"\nrows = 8\n'
    layout, pay = pay_on(
        tmp_path, square(320), shed=priced(EIGHT_SHED) + mixed, strips=strips, headland=BARE
    )
    for crop in ("oats", "pea"):
        lone = lay_on_ground(alone(layout.plan, layout.laid, crop), layout.ground)
        cut = [one.job.machine for one in lone.operations.each if one.job.does == "harvest"]
        assert cut == ["platform"]
        hours = sum(one.hours.total_s for one in lone.operations.each)
        assert pay.alone[crop].crops[crop].hours_s == pytest.approx(hours)
    assert pay_if_told(layout).margin == pay.margin


def test_no_pages_where_the_plan_does_not_say_enough(tmp_path):
    layout = lay_on(tmp_path, square(320), shed=EIGHT_SHED, strips=EIGHT, headland=BARE)
    assert pay_if_told(layout) is None


def test_a_cover_crop_takes_nothing_and_brings_nothing(tmp_path):
    """Between corn's rows, not harvested: corn yields as alone, and has all the land."""
    cover = """
[crops.rye]
planter = "planter"
harvester = "none"
rate = "500000 seeds/acre"
unit = "500000 seeds"
seed_price = "20 per unit"
[[quick_crop]]
crop = "rye"
into = "corn"
"""
    strips = '[[strips]]\ncrop = "corn"\nrows = 8\n'
    _, pay = pay_on(
        tmp_path, square(660), shed=priced(EIGHT_SHED), strips=strips, headland=BARE, tables=cover
    )
    assert set(pay.worths) == {"corn"}
    assert pay.land_equivalent.central == pytest.approx(1.0)
    assert pay.own_land_m2["corn"] == pytest.approx(pay.system.area_m2)
    # against corn alone it costs its seed and its sowing
    alone = next(one for one in pay.against if one.other == "corn alone")
    seed = pay.system.crops["rye"].seed
    assert seed > 0
    assert alone.net.central < -seed


# --- the set that pays best is laid --------------------------------------------------------------

FIT = '[[strips]]\ncrop = "corn"\nrows = "fit"\n[[strips]]\ncrop = "soybean"\nrows = "fit"\n'


@pytest.mark.parametrize("gain", [0.0, 0.3, -0.3])
def test_margin_as_the_aim_lays_the_width_that_pays_best(tmp_path, gain):
    """Gains want many edges, losses few; without either what costs least."""
    shed = priced().replace('width = "30 ft"', 'width = "40 ft"')
    own = f'[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = {gain}\n'
    layout, pay = pay_on(
        tmp_path, square(960), shed=shed, strips=FIT, headland=BARE,
        tables=own + '[cost]\naim = "margin"\n',
    )  # fmt: skip
    widths = pay.widths
    laid = next(one for one in widths.each if one.laid)
    narrow, wide = widths.each[0], widths.each[-1]
    if gain:
        assert laid is (narrow if gain > 0 else wide)
    assert laid.leaves(1.0) == pytest.approx(widths.best.leaves(1.0), abs=1.0)
    assert layout.plan.cost.aim == "margin"


def test_margin_as_the_aim_asks_for_prices(tmp_path):
    shed = priced().replace('price = "11.00 per bu"\n', "")
    with pytest.raises(PlanError) as refusal:
        pay_on(tmp_path, square(1320), shed=shed, tables='[cost]\naim = "margin"\n')
    assert refusal.value.faults == (
        'crops.soybean.price: is missing: what it is sold for; for example price = "4.50 per bu"',
    )


def test_land_is_worth_what_its_crops_leave(tmp_path):
    """Half of 190 x 4.50 - 100 and half of 55 x 11.00 an acre; stated worth stays."""
    shed = priced(corn='other_costs = "100 per acre"\n')
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    layout, pay = pay_on(tmp_path, square(660), shed=shed, strips=strips)
    priced_plan = with_land_worth(layout.plan, layout.section, pay.worths)
    by_hand = (190 * 4.50 - 100 + 55 * 11.00) / 2 / ACRE_M2
    assert priced_plan.cost.land_per_m2 == pytest.approx(by_hand)
    assert priced_plan.cost.aim == "money"
    stated = layout.plan.model_copy(update={"cost": Cost(land="10 per acre", aim="margin")})
    kept = with_land_worth(stated, layout.section, pay.worths).cost
    assert (kept.land_per_m2, kept.aim) == (pytest.approx(10 / ACRE_M2), "money")
