"""Indices to each other, grain and budgets against published figures and worked examples."""

import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from recorded import DAY, MARK, TODAY, edition

from striplay.economics.budget import PartialBudget, break_even_price_ratio
from striplay.economics.grain import dry_share, wet_kg
from striplay.economics.indices import (
    Grown,
    aggressivity,
    area_time_equivalent_ratio,
    competitive_ratio,
    land_equivalent_ratio,
    monetary_advantage,
    net_effect,
    net_effect_ratio,
    value_together,
)
from striplay.errors import YieldError
from striplay.records.entry import Recorded
from striplay.records.words import read_entry
from striplay.records.yields import yields_of
from striplay.units import ACRE_M2, POUND_KG

shares = st.floats(0.05, 0.95)
yields = st.floats(0.1, 50.0)


@given(shares, yields, yields, yields, yields)
def test_what_indices_are_to_each_other(share, a, a_alone, b, b_alone):
    one, two = Grown("a", a, a_alone, share), Grown("b", b, b_alone, 1 - share)
    assert competitive_ratio(one, two) * competitive_ratio(two, one) == pytest.approx(1.0)
    assert aggressivity(one, two) == pytest.approx(-aggressivity(two, one))
    assert (competitive_ratio(one, two) > 1) == (aggressivity(one, two) > 0)
    expected = share * a_alone + (1 - share) * b_alone
    assert net_effect([one, two]) == pytest.approx(a + b - expected)
    assert net_effect_ratio([one, two]) == pytest.approx((a + b) / expected)
    # crops that hold the land all the time: time changes nothing
    timed = [Grown("a", a, a_alone, share, days=120), Grown("b", b, b_alone, 1 - share, days=120)]
    assert area_time_equivalent_ratio(timed, 120) == pytest.approx(land_equivalent_ratio(timed))
    assert area_time_equivalent_ratio(timed, 240) == pytest.approx(land_equivalent_ratio(timed) / 2)


def test_nothing_harvested():
    none, some = Grown("a", 0.0, 1.0, price=1.0), Grown("b", 0.5, 1.0, price=1.0)
    assert competitive_ratio(some, none) == math.inf
    with pytest.raises(YieldError, match="nothing is harvested"):
        monetary_advantage([none])


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (lambda: Grown("corn", 1.0, 0.0), "corn: yield alone is 0; it must be more than 0"),
        (lambda: Grown("corn", -1.0, 1.0), "corn: yield together is -1; it must be 0 or more"),
        (lambda: Grown("corn", 1.0, 1.0, 1.5), "corn: share of the land is 1.5; it must be 0 to 1"),
        (lambda: Grown("corn", 1.0, 1.0, price=0.0), "corn: price is 0; it must be more than 0"),
        (lambda: net_effect([Grown("corn", 1.0, 1.0, 0.5)]),
         "shares of the land add up to 0.5; they must add up to 1"),
        (lambda: value_together([Grown("corn", 1.0, 1.0)]),
         "corn: price is missing; state what a unit of its yield is worth"),
        (lambda: area_time_equivalent_ratio([Grown("corn", 1.0, 1.0)], 100),
         "corn: days is missing; state how long it holds its land"),
        (lambda: area_time_equivalent_ratio([Grown("corn", 1.0, 1.0, days=120)], 100),
         "corn: holds its land 120 days of 100 in all"),
        (lambda: dry_share(15.5, 0.155),
         "moisture: 15.5 is no share of weight; it must be 0 to 1"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong, told):
    with pytest.raises(YieldError) as refusal:
        wrong()
    assert str(refusal.value) == told


def test_shrink_and_wet_bushels():
    # Ohio State AGF-503: shrink of corn from 25 to 15.5 %; 1,000 lb at 25.5 % leave 881.7 lb
    assert 1 - dry_share(0.25, 0.155) == pytest.approx(0.1124, abs=5e-5)
    assert 1000 * dry_share(0.255, 0.155) == pytest.approx(881.7, abs=0.05)
    # the same: pounds of wet grain in a dry bushel
    for pounds, moisture, base, wet in (
        (56, 0.20, 0.155, 59.15), (56, 0.25, 0.155, 63.09), (60, 0.18, 0.13, 63.66),
    ):  # fmt: skip
        assert wet_kg(pounds, moisture, base) == pytest.approx(wet, abs=5e-3)


@pytest.mark.parametrize(
    ("constant", "crop", "strip", "bushel_lb"),
    [(110.465, "corn", 1, 56), (100.138, "soybean", 2, 60)],
)
def test_grain_weighed_of_a_plot(tmp_path, constant, crop, strip, bushel_lb):
    """Published: bu/ac = (100 - M) lb k / (L ft x w in x rows), k 110.465 corn, 100.138 soybean."""
    pounds, moisture, length_ft, width_in, rows = 412.0, 0.19, 350.0, 30.0, 8
    published = (100 - 19) * pounds * constant / (length_ft * width_in * rows)
    words = {
        "date": DAY.isoformat(), "strip": str(strip), "crop": crop, "row": "3-10",
        "grain": f"{pounds} lb", "moisture": f"{moisture:.0%}", "length": f"{length_ft} ft",
    }  # fmt: skip
    entry = read_entry("yield", words, edition(), TODAY, tmp_path, photos_from=tmp_path)
    recorded = Recorded(1, MARK, datetime(2027, 10, 1, tzinfo=UTC), entry)
    (found,) = yields_of([recorded], edition())
    assert found.kg_per_m2 * ACRE_M2 / POUND_KG / bushel_lb == pytest.approx(published, rel=1e-5)


def test_a_partial_budget_to_the_dollar():
    # farm press: 100 acres of corn for dry beans
    budget = PartialBudget(
        added_returns=150 * 6.50 * 100, saved_costs=55_000, lost_returns=88_000, added_costs=69_000
    )
    assert (budget.gains, budget.losses, budget.net) == (152_500, 157_000, -4_500)


def test_strips_by_prices():
    # one acre each: corn +20 bu at 4.50, soybean -5.9 bu at 11.00
    budget = PartialBudget(added_returns=20 * 4.50, lost_returns=5.9 * 11.00)
    assert budget.net == pytest.approx(25.10)
    assert break_even_price_ratio(20, 5.9) == pytest.approx(3.39, abs=5e-3)
