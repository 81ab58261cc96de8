"""Hold what is usual in the trade, each with where it is from: the one table that figures meet.

It is kept coarse: a figure outside is told, never refused. Where a value has no source it is from
memory.
"""

from dataclasses import dataclass
from typing import Literal

from striplay.operations.published import Range
from striplay.units import ACRE_M2, FOOT_M, INCH_M, MPH_MPS, POUND_KG

MEMORY = "from memory"
A1543 = "Iowa State Univ., A1543, 2016, from memory"
OAT_STATE = "Iowa State Univ., Wiedenhoeft and Weisberger, from memory"
KENTUCKY = "Univ. of Kentucky, Bitzer and Herbek, from memory"

FACTOR = 3.0
"""A rate or seed size so many times outside what is usual is told (our choice): dryland corn at
12,000 seeds an acre, or a thin cover crop, are no slips."""


Sowing = Literal["warm", "winter", "spring", "cool", "any"]
"""When a crop is sown: once the soil is warm; in autumn; in spring; while the ground is not frozen;
whenever."""


@dataclass(frozen=True, slots=True)
class UsualCrop:
    """What is usual of a crop.

    Attributes:
        rate_per_m2: seeds dropped to the square meter.
        sowing: when it is sown.
        seeds_per_kg: seeds by weight, where known.
    """

    rate_per_m2: Range
    sowing: Sowing
    seeds_per_kg: Range | None = None

    @property
    def kg_per_m2(self) -> Range | None:
        """Weight to the square meter: rate over seeds by weight; None where these are unknown."""
        rates, sizes = self.rate_per_m2, self.seeds_per_kg
        if sizes is None:
            return None
        sources = ", ".join(dict.fromkeys((rates.source, f"seed size {sizes.source}")))
        return Range(rates.low / sizes.high, rates.high / sizes.low, sources)


def _by_acre(low: float, high: float, source: str = MEMORY) -> Range:
    return Range(low / ACRE_M2, high / ACRE_M2, source)


def _by_pound(low: float, high: float, source: str = MEMORY) -> Range:
    return Range(low / POUND_KG, high / POUND_KG, source)


WHEAT = Range(35 / FOOT_M**2, 35 / FOOT_M**2, KENTUCKY)

CROPS: dict[str, UsualCrop] = {
    "corn": UsualCrop(_by_acre(35e3, 37e3, A1543), "warm", _by_pound(1200, 2400)),
    "sweet_corn": UsualCrop(_by_acre(18e3, 28e3), "warm"),
    "winter_wheat": UsualCrop(WHEAT, "winter", _by_pound(9e3, 18e3)),
    "spring_wheat": UsualCrop(WHEAT, "spring", _by_pound(9e3, 18e3)),
    "oats": UsualCrop(_by_acre(1.2e6, 1.2e6, OAT_STATE), "cool", _by_pound(12e3, 17e3, OAT_STATE)),
    "barley": UsualCrop(_by_acre(0.75e6, 1.4e6), "cool"),
    "sorghum": UsualCrop(_by_acre(30e3, 110e3), "warm"),
    "millet": UsualCrop(_by_acre(0.6e6, 2.4e6), "warm"),
    "sunflower": UsualCrop(_by_acre(14e3, 28e3), "warm"),
    "canola": UsualCrop(_by_acre(250e3, 900e3), "cool"),
    "flax": UsualCrop(_by_acre(1.5e6, 3.5e6), "spring"),
    "safflower": UsualCrop(_by_acre(150e3, 350e3), "cool"),
    "cotton": UsualCrop(_by_acre(30e3, 60e3), "warm"),
    "alfalfa": UsualCrop(_by_acre(2e6, 5e6), "cool"),
    # the stand that loses no yield; more is dropped than stands
    "soybean": UsualCrop(
        _by_acre(100e3, 180e3, f"stand of 100,000 or more: {A1543}; most {MEMORY}"),
        "warm",
        _by_pound(2e3, 4e3),
    ),
    "dry_bean": UsualCrop(_by_acre(60e3, 130e3), "warm"),
    "field_pea": UsualCrop(_by_acre(300e3, 450e3), "cool"),
    "faba_bean": UsualCrop(_by_acre(100e3, 260e3), "cool"),
    "lentil": UsualCrop(_by_acre(400e3, 700e3), "cool"),
    "chickpea": UsualCrop(_by_acre(130e3, 220e3), "cool"),
    "groundnut": UsualCrop(_by_acre(50e3, 110e3), "warm"),
    "cowpea": UsualCrop(_by_acre(40e3, 150e3), "warm"),
    "potato": UsualCrop(_by_acre(8e3, 22e3), "cool"),
    "sugar_beet": UsualCrop(_by_acre(40e3, 75e3), "cool"),
    "winter_squash": UsualCrop(_by_acre(1.5e3, 6e3), "warm"),
    # clover is broadcast on frozen ground too
    "red_clover": UsualCrop(_by_acre(1.5e6, 4.5e6), "any"),
    "rye": UsualCrop(_by_acre(0.6e6, 2e6), "winter"),
    "ryegrass": UsualCrop(_by_acre(2.5e6, 7e6), "any"),
    "lettuce": UsualCrop(_by_acre(25e3, 300e3), "cool"),
    "radish": UsualCrop(_by_acre(0.15e6, 1.5e6), "cool"),
}
"""By the crop of the table of crops."""


def _tonnes(low: float, high: float) -> Range:
    return Range(low * 0.1, high * 0.1)


YIELD_KG_PER_M2: dict[str, Range] = {
    "corn": _tonnes(0.5, 40), "soybean": _tonnes(0.2, 15), "wheat": _tonnes(0.3, 18),
    "barley": _tonnes(0.3, 15), "oats": _tonnes(0.3, 12), "rye": _tonnes(0.3, 12),
    "sorghum": _tonnes(0.3, 16), "sunflower": _tonnes(0.2, 7), "canola": _tonnes(0.2, 8),
}  # fmt: skip
"""Yields of grain, from a crop hardly worth its harvest to records of contests; t/ha."""
ANY_YIELD = _tonnes(0.02, 250)
"""Yields of other crops: from spices to silage and sugar cane."""
YIELD_TIMES = 2.0
"""A strip recorded to yield more than so many times what the plan states of its crop is told (our
choice): rows at edges gain up to four tenths, the best years about as much."""
PLANTS_TIMES = 1.5
"""A stand of so many times the seeds dropped is told (our choice): on 17 ft of row chance and
doubles make a fifth more at most (from memory)."""
VALUE_TIMES = 30.0
"""A crop that brings in so many times as much by area as another on the field is told: vegetables
beside grain bring in ten to twenty times as much (from memory)."""

ANY_RATE = _by_acre(1e3, 10e6)
"""Seed rates of crops that are not in the table."""
ANY_WEIGHT = Range(0.1 * POUND_KG / ACRE_M2, 4e3 * POUND_KG / ACRE_M2)
"""Rates by weight where a crop's seed size is not known: from the finest seed to cut potatoes."""
EMERGENCE = Range(0.5, 1.0)
"""Share of seeds that stand."""
SEASON_SHARE = Range(0.5, 2.0, "our choice")
"""Days from sowing to harvest, as a share of the table's least, and of its most."""

SPACING_M = Range(4 * INCH_M, 72 * INCH_M)
"""Rows and openers: drills from 4 in, squash up to 6 ft."""
WIDTH_M = {
    "plant": Range(2 * FOOT_M, 120 * FOOT_M),
    "harvest": Range(2 * FOOT_M, 62 * FOOT_M),
    "spray": Range(5 * FOOT_M, 180 * FOOT_M),
    "others": Range(3 * FOOT_M, 180 * FOOT_M),
}
"""Machines on the market, the widest included."""
SPEED_MPS = {
    "plant": Range(1 * MPH_MPS, 12 * MPH_MPS),
    "harvest": Range(0.5 * MPH_MPS, 9 * MPH_MPS),
    "spray": Range(2 * MPH_MPS, 25 * MPH_MPS),
    "others": Range(1 * MPH_MPS, 25 * MPH_MPS),
}
TURN_S = Range(5.0, 180.0)
RADIUS_M = Range(5 * FOOT_M, 120 * FOOT_M)
"""From a garden tractor to the longest towed rig."""
MACHINE_LENGTH_M = Range(2 * FOOT_M, 80 * FOOT_M)
"""From the axle turned about to the last tool: a mounted planter, an air cart towed behind."""
AUGER_M = Range(6 * FOOT_M, 60 * FOOT_M)
TREAD_M = Range(2 * FOOT_M, 14 * FOOT_M)
TIRE_M = Range(4 * INCH_M, 60 * INCH_M)
CUTTING_M = Range(1 * INCH_M, 4 * FOOT_M)
HEADER_OVER = 1.5
"""A header so many times as wide as its strip is told: it reaches over a quarter of its width into
the neighbors on either side (our choice)."""
STRIP_M = Range(2 * FOOT_M, 400 * FOOT_M)
"""Wider ones are blocks (our choice)."""
HEADLAND_PASSES = 6
"""More passes of headland than this are told: two to four are common practice, no source."""
HEADLAND_M = Range(10 * FOOT_M, 240 * FOOT_M)
SHORTEST_M = Range(0.0, 1320 * FOOT_M)
"""A quarter mile: half a quarter section."""

TROPIC_DEG = 23.5
"""Nearer to the equator than this no day of sowing is judged: frost is not what decides."""
FROST_FREE_DEG = 30.0
"""Nearer to the equator than this no sowing of a warm crop is judged by its day: in southern
Florida and Texas sweet corn and others are sown through winter (from memory)."""
FREEZING_DEG = 40.0
"""From this latitude on, ground is frozen about midwinter (from memory; milder by the sea)."""
FROZEN_DAYS = (344, 46)
"""Then: 10 December to 15 February."""
SPRING_DAYS = (51, 182)
"""Sown in spring, from `FREEZING_DEG` on: 20 February to 1 July."""
AUTUMN_DAYS = (213, 74)
"""Sown for the winter: 1 August to 15 March; later it stays without ears (from memory)."""
WARM_DAYS = (91, 222)
"""Sown in warm soil at `WARM_DEG`: 1 April to 10 August."""
WARM_DEG = 42.0
WARM_EARLIER = (3.5, 1.0)
"""Days earlier a degree nearer to the equator than `WARM_DEG`, and later a degree farther."""
WARM_LATER = 2.0
"""Days that the last sowing is later a degree nearer to the equator (from memory)."""
