"""A whole budget reckoned anew as an economist would: the plan's own text and plain arithmetic.

Of striplay only what is laid and driven is taken: length of rows, ground of the headland, seed,
ground sprayed and hours, as `lay` tells them. Prices, yields, rates and costs are read from the
plan's file here. Units by definition; drying by Ohio State Univ. AGF-503: the dry matter stays.
"""

import re
import tomllib

import pytest
from fields import SAMPLES

import striplay

ACRE_M2 = 43_560 * 0.3048**2
HOUR = {"plant": 300.0, "spray": 300.0, "harvest": 400.0}
"""Machines' cost by the hour where the plan says nothing (from memory, as docs/methods.md says)."""
BASE = {"corn": 0.155, "soybean": 0.13}
"""Moisture at which they are sold: Ohio State Univ. AGF-503."""
PLAN = SAMPLES / "quarter_section" / "pay.toml"
CENT = 0.01


def number(text):
    """Give the number of a value such as "4.50 per bu"."""
    return float(re.match(r"[\d.]+", text)[0])


def acres_of(layout, crop, *, around):
    """Give a crop's acres: feet of row, 30 in apart, and the headland where it is planted there."""
    row_m2 = layout.land_accounts["crops"][crop]["row_length_m"] * 30 * 0.0254
    return (row_m2 + (layout.land_accounts["areas_m2"]["headland"] if around else 0.0)) / ACRE_M2


def returns(crop, keys, acres):
    """Give what a crop brings in, and what it is dried for."""
    bushels = number(keys["yield"]) * acres
    sold = bushels * number(keys["price"])
    if "drying" not in keys:
        return sold, 0.0
    wet = bushels * (1 - BASE[crop]) / (1 - keys["moisture"])
    points = 100 * (keys["moisture"] - BASE[crop])
    return sold, wet * points * number(keys["drying"])


def budget(layout, plan, acres):
    """Give returns by crop, and costs by kind."""
    sold, costs = {}, dict.fromkeys(("seed", "other", "product", "machines", "drying"), 0.0)
    for crop, each in acres.items():
        keys = plan["crops"][crop]
        sold[crop], drying = returns(crop, keys, each)
        costs["drying"] += drying
        seeds = number(keys["rate"]) * each
        costs["seed"] += seeds / number(keys["unit"]) * number(keys["seed_price"])
        costs["other"] += number(keys["other_costs"]) * each
    for one in layout.accounts["operations"]:
        costs["machines"] += one["hours"] * HOUR[one["operation"]]
    for wish in plan["operations"]:
        if "product_price" in wish and set(wish["crops"]) <= set(acres):
            gallons = number(wish["rate"]) * sum(acres[crop] for crop in wish["crops"])
            costs["product"] += gallons * number(wish["product_price"])
    return sold, costs


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """Lay the sample, and corn alone on all of it, the plan for which is written here."""
    text = PLAN.read_text(encoding="utf-8")
    strips = striplay.lay(striplay.read_plan(PLAN))
    folder = tmp_path_factory.mktemp("corn")
    boundary = PLAN.parent / "field.geojson"
    (folder / "field.geojson").write_bytes(boundary.read_bytes())
    heading = strips.land_accounts["field"]["heading_deg"]
    head, _, rest = text.partition("[[strips]]")
    rest = rest[rest.index("[[operations]]") :]
    corn = f'{head}[[strips]]\ncrop = "corn"\nrows = 48\n\n{rest}'
    corn = corn.replace('heading = "best"', f"heading = {heading!r}")
    corn = re.sub(r'(?m)^crop = "soybean".*(?=\n\n\[direction\])', 'crop = "corn"', corn)
    # a cart runs beside the combine all over a field of corn
    corn = re.sub(r"(?m)^auger_reach = .*\n", "", corn)
    (folder / "plan.toml").write_text(corn, encoding="utf-8")
    alone = striplay.lay(striplay.read_plan(folder / "plan.toml"))
    return strips, alone, striplay.pay(strips), tomllib.loads(text)


def test_what_strips_leave_to_the_cent(whole):
    strips, _, pay, plan = whole
    acres = {crop: acres_of(strips, crop, around=crop == "soybean") for crop in BASE}
    sold, costs = budget(strips, plan, acres)
    assert sum(acres.values()) == pytest.approx(157.1, abs=0.1)
    assert pay.margin.central == pytest.approx(sum(sold.values()) - sum(costs.values()), abs=CENT)


def test_against_corn_alone_to_the_cent(whole):
    """Added returns, saved costs, lost returns, added costs: each side summed by hand."""
    strips, alone, pay, plan = whole
    acres = {crop: acres_of(strips, crop, around=crop == "soybean") for crop in BASE}
    sold, costs = budget(strips, plan, acres)
    corn = {"corn": acres_of(alone, "corn", around=True)}
    corn_sold, corn_costs = budget(alone, plan, corn)
    (against,) = [one for one in pay.against if one.other == "corn alone"]
    left = sum(corn_sold.values()) - sum(corn_costs.values())
    assert against.other_margin == pytest.approx(left, abs=CENT)
    more = [sold[crop] - corn_sold.get(crop, 0.0) for crop in BASE]
    dearer = [costs[kind] - corn_costs[kind] for kind in costs]
    by_hand = {
        "added_returns": sum(value for value in more if value > 0),
        "lost_returns": -sum(value for value in more if value < 0),
        "added_costs": sum(value for value in dearer if value > 0),
        "saved_costs": -sum(value for value in dearer if value < 0),
    }
    for side, value in by_hand.items():
        assert getattr(against.budget, side) == pytest.approx(value, abs=CENT), side
    assert against.net.central == pytest.approx(against.budget.net, abs=CENT)
