"""Say what a plan holds of crops, and of the strips of a set."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from striplay.plan.quantities import (
    Distances,
    DryingPrice,
    Length,
    Moisture,
    MoneyPerArea,
    Price,
    RowCount,
    RowWish,
    SeedAmount,
    SeedMass,
    SeedPrice,
    SeedRate,
    SeedSize,
    Words,
    YieldRate,
)
from striplay.plan.table import MadeUp, Table
from striplay.plan.when import Stage, When

NOT_HARVESTED = "none"
"""The word for the harvester of a crop that is not harvested, such as a cover crop."""


class Crop(Table):
    """A crop: who plants and harvests it, and its seed."""

    planter: str = Field(description="The machine that plants it.", examples=["planter"])
    harvester: str | None = Field(
        None,
        description="The machine that harvests it; none: it is not harvested, such as a cover "
        "crop, and may be driven over; left out: not judged.",
        examples=["corn_head"],
    )
    rate: SeedRate | None = Field(
        None,
        description="Seed dropped (not plants standing), by number or by weight; left out: seed is "
        "not counted.",
        examples=["34000 seeds/acre"],
    )
    emergence: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None,
        description="Share of seeds that stand; of live seed where germination is stated.",
        examples=[0.95],
    )
    unit: SeedAmount | None = Field(
        None, description="What one unit (bag) of seed holds, by number or by weight.",
        examples=["80000 seeds"],
    )  # fmt: skip
    seed_size_per_kg: SeedSize | None = Field(
        None,
        alias="seed_size",
        description="Seeds by weight; needed where one of rate and unit is a number and the other "
        "a weight, and in a blend by weight where the rate is a number.",
        examples=["14000 seeds/lb"],
    )
    purity: Annotated[float, Field(gt=0, le=1)] = Field(
        1.0,
        description="Share of what is in the bag that is its seed; left out: 1.",
        examples=[0.98],
    )
    germination: Annotated[float, Field(gt=0, le=1)] = Field(
        1.0,
        description="Share of its seed that germinates; where it is said, `rate` counts live seed, "
        "and more is dropped; left out: 1.",
        examples=[0.9],
    )
    depth_m: Length | None = Field(
        None,
        alias="depth",
        description="How deep its seed is placed, for the operator's sheet.",
        examples=["2 in"],
    )
    share: Annotated[float, Field(gt=0, lt=1)] | None = Field(
        None,
        description="Wished share of the cropped land, the headland's crop included, read to the "
        "whole per cent; for `fit` and [cost].",
        examples=[0.5],
    )

    sown: Annotated[date | Stage | None, When] = Field(
        None,
        description="Day it is sown, for the calendar; or a stage of another crop, such as "
        '"150 degree days after corn".',
        examples=["2026-05-01"],
    )
    harvested: Annotated[date | Stage | None, When] = Field(
        None,
        description="Day it is harvested; or degree days (86/50, Fahrenheit) from its sowing, "
        'such as "2700 degree days".',
        examples=["2026-10-05"],
    )
    canopy_closure: Annotated[date | Stage | None, When] = Field(
        None,
        description="Day its canopy closes over a crop between its rows; or degree days.",
        examples=["2026-06-20"],
    )

    yield_rate: YieldRate | None = Field(
        None,
        alias="yield",
        description="What it yields grown alone, by area, at base moisture; left out: loads of "
        "grain are not counted, and `pay` asks for it.",
        examples=["180 bu/acre"],
    )
    bushel_kg: SeedMass | None = Field(
        None,
        alias="bushel",
        description="Weight of a bushel; left out: 56 lb of corn, sorghum and rye, 60 lb of "
        "soybean and wheat, 48 lb of barley, 32 lb of oats.",
        examples=["56 lb"],
    )

    price: Price | None = Field(
        None, description="What it is sold for, at base moisture; needed by `pay`.",
        examples=["4.50 per bu"],
    )  # fmt: skip
    moisture: Moisture | None = Field(
        None,
        description="Its moisture at harvest, as a share of weight; left out: drying is not "
        "counted.",
        examples=[0.2],
    )
    base_moisture: Moisture | None = Field(
        None,
        description="Moisture it is sold at; left out: 0.155 of corn, 0.13 of soybean, 0.135 of "
        "wheat, 0.14 of oats.",
        examples=[0.155],
    )
    drying: DryingPrice | None = Field(
        None,
        description="What it costs to dry by a point, a hundredth of weight, of what is delivered "
        "wet; left out: drying is not counted.",
        examples=["0.05 per bu per point"],
    )
    seed_price: SeedPrice | None = Field(
        None, description="What its seed costs; left out: not counted.", examples=["280 per unit"]
    )
    other_costs_per_m2: MoneyPerArea | None = Field(
        None,
        alias="other_costs",
        description="What else it costs by area, such as fertilizer and insurance, but for seed, "
        "products of operations and machines; left out: not counted.",
        examples=["150 per acre"],
    )

    like: str | None = Field(
        None, description="Crop of the pairing table it grows like; left out: its own name.",
        examples=["corn"],
    )  # fmt: skip
    height_m: Length | None = Field(
        None, alias="height", description="Its height, before the table's.", examples=["8 ft"]
    )
    roots_m: Length | None = Field(
        None, alias="roots", description="Depth of its roots, before the table's.",
        examples=["5 ft"],
    )  # fmt: skip
    family: Words | None = Field(
        None,
        description="Its plant family, before the table's: legumes, grasses, brassicas, sunflower "
        "family, beet family, or another by its name.",
        examples=["grasses"],
    )
    shade: Literal["low", "medium", "high"] | None = Field(
        None, description="How it bears shade: low, medium, high.", examples=["medium"]
    )
    example: MadeUp = False

    @property
    def reaped(self) -> bool:
        """Whether it is harvested, by a machine that is named or not."""
        return self.harvester != NOT_HARVESTED

    @property
    def rate_per_m2(self) -> float | None:
        """Seeds dropped to the square meter, those that do not germinate included.

        None where no rate is stated, or one by weight without `seed_size`.
        """
        if self.rate is None:
            return None
        if self.rate.si_unit == "seeds_per_m2":
            return self.rate.value / self.germination
        if self.seed_size_per_kg is None:
            return None
        return self.rate.value * self.seed_size_per_kg / self.germination

    @property
    def standing(self) -> float | None:
        """Share of all seeds dropped that is to stand; None where emergence is not stated."""
        return None if self.emergence is None else self.emergence * self.germination

    @property
    def rate_kg_per_m2(self) -> float | None:
        """Weight sown to the square meter as it stands in the bag; None where not known.

        A rate by weight is of pure seed, and of live seed where germination is stated.
        """
        if self.rate is not None and self.rate.si_unit == "kg_per_m2":
            return self.rate.value / (self.germination * self.purity)
        if self.rate_per_m2 is None or self.seed_size_per_kg is None:
            return None
        return self.rate_per_m2 / (self.seed_size_per_kg * self.purity)

    @property
    def unit_seeds(self) -> float | None:
        """Seeds in one unit; None where not known."""
        if self.unit is None or self.unit.si_unit == "seeds":
            return None if self.unit is None else self.unit.value
        if self.seed_size_per_kg is None:
            return None
        return self.unit.value * self.seed_size_per_kg * self.purity

    @property
    def unit_kg(self) -> float | None:
        """Weight of one unit; None where not known."""
        if self.unit is not None and self.unit.si_unit == "kg":
            return self.unit.value
        if self.unit_seeds is None or self.seed_size_per_kg is None:
            return None
        return self.unit_seeds / (self.seed_size_per_kg * self.purity)

    @property
    def by_weight(self) -> bool:
        """Whether its seed is told by weight: as it is sold, else as its rate is stated."""
        told = self.unit or self.rate
        return told is not None and told.si_unit.startswith("kg")


class StripWish(Table):
    """One strip of the set, its width in rows, passes or a length."""

    crop: str = Field(description="The crop.", examples=["corn"])
    rows: RowWish | None = Field(
        None,
        description="Width in rows; fit: that of the set which `fit` lists first.",
        examples=[16],
    )
    passes: RowCount | None = Field(
        None, description="Width in planter passes, instead of `rows`.", examples=[1]
    )
    width_m: Length | None = Field(
        None, alias="width", description="Width, instead of `rows`.", examples=["40 ft"]
    )
    period_m: Length | None = Field(
        None,
        alias="period",
        description="With `pattern`: the distance after which uneven rows repeat.",
        examples=["30 in"],
    )
    pattern_m: Distances | None = Field(
        None,
        alias="pattern",
        description="Where rows stand in each period, from its edge; left out: evenly spaced.",
        examples=[["11 in", "19 in"]],
    )
