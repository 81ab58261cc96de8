"""How surely a trial shows a difference: published sample sizes, and another library."""

import pytest
from statsmodels.stats.power import TTestPower

from striplay.replicates import chance_to_see


@pytest.mark.parametrize(("effect", "size"), [(0.2, 393), (0.5, 64), (0.8, 26)])
def test_sample_sizes_for_a_power_of_eight_tenths(effect, size):
    """Cohen, A Power Primer, Psychological Bulletin 112, 1992, table 2 (from memory).

    Of two independent means at 5 %, 64 in each group show a medium effect with a power of 0.80.
    Three treatments in as many replicates have the degrees of freedom of two such groups.
    """
    assert chance_to_see(effect, 1.0, size, 3) == pytest.approx(0.80, abs=0.01)
    assert chance_to_see(effect, 1.0, round(0.9 * size), 3) < 0.80


@pytest.mark.parametrize("replicates", [2, 3, 4, 6, 12])
@pytest.mark.parametrize("treatments", [2, 3, 5])
@pytest.mark.parametrize(("difference", "spread"), [(0.1, 0.08), (0.05, 0.1), (0.15, 0.1)])
def test_power_as_statsmodels_gives_it_by_the_t_distribution(
    replicates, treatments, difference, spread
):
    """Its test of pairs, with the blocks' error: two means differ by the root of two spreads."""
    df = (replicates - 1) * (treatments - 1)
    power = TTestPower().power(difference / (spread * 2**0.5), replicates, 0.05, df=df)
    assert chance_to_see(difference, spread, replicates, treatments) == pytest.approx(
        power, abs=1e-3
    )


def test_effects_of_any_size_have_a_power():
    assert chance_to_see(0.5, 0.01, 12, 3) == pytest.approx(1.0)
    assert chance_to_see(1e-9, 0.1, 4, 3) == pytest.approx(0.05, abs=1e-6)
