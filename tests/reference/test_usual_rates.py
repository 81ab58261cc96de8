"""Hold the usual seed rates and seed sizes to the published values beside them."""

import pytest

from striplay.plausible.values import CROPS
from striplay.units import ACRE_M2, FOOT_M, POUND_KG


def test_what_names_no_title_publisher_and_year_is_from_memory():
    ranges = [usual.rate_per_m2 for usual in CROPS.values()]
    ranges += [usual.seeds_per_kg for usual in CROPS.values() if usual.seeds_per_kg is not None]
    assert [one.source for one in ranges if "from memory" not in one.source] == []


def test_corn_and_soybean():
    """Corn: 35 to 37 thousand seeds an acre in use; soybean: a final stand of 100,000 or more.

    Iowa State University Farm Progress Report A1543, 2016, from memory.
    """
    corn, soybean = CROPS["corn"].rate_per_m2, CROPS["soybean"].rate_per_m2
    assert (corn.low * ACRE_M2, corn.high * ACRE_M2) == pytest.approx((35_000, 37_000))
    assert soybean.low * ACRE_M2 == pytest.approx(100_000)
    assert "A1543" in corn.source
    assert "A1543" in soybean.source


def test_oats():
    """1.2 million seeds an acre, of 12,000 to 17,000 seeds a pound.

    Iowa State University, Wiedenhoeft and Weisberger, from memory.
    """
    oats = CROPS["oats"]
    assert oats.rate_per_m2.low * ACRE_M2 == pytest.approx(1.2e6)
    assert oats.seeds_per_kg.low * POUND_KG == pytest.approx(12_000)
    assert oats.seeds_per_kg.high * POUND_KG == pytest.approx(17_000)
    assert "Wiedenhoeft" in oats.rate_per_m2.source


@pytest.mark.parametrize("crop", ["winter_wheat", "spring_wheat"])
def test_wheat(crop):
    """35 seeds a square foot: University of Kentucky, Bitzer and Herbek, from memory."""
    wheat = CROPS[crop].rate_per_m2
    assert wheat.low * FOOT_M**2 == pytest.approx(35)
    assert "Kentucky" in wheat.source
