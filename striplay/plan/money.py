"""Say what a plan holds of money: prices, ranges, rotation, and what rows yield at edges."""

from typing import Annotated, Literal

from pydantic import Field

from striplay.plan.quantities import Compass, FuelPrice, Gains, Share, Words
from striplay.plan.table import Table


class EdgeWish(Table):
    """What rows at a strip's edge yield more than those inside, as measured: [[edges]]."""

    crop: str = Field(description="The crop whose rows they are.", examples=["corn"])
    beside: str = Field(description="The crop beside it.", examples=["soybean"])
    side: Literal["any"] | Compass = Field(
        "any",
        description="Side of its strip that the rows lie on: north, east, south, west or any.",
        examples=["east"],
    )
    gain: Gains = Field(
        description="By how much they yield more, as a share, the outer row first, up to three "
        "rows; below 0 where they yield less.",
        examples=[[0.25, 0.05]],
    )
    low: Gains | None = Field(
        None, description="The same at the least; left out: `gain`.", examples=[[0.1, 0.0]]
    )
    high: Gains | None = Field(
        None, description="The same at the most; left out: `gain`.", examples=[[0.35, 0.1]]
    )
    source: Words = Field(
        "", description="Where it was measured, and when.", examples=["own strips, 2022 to 2024"]
    )


class Economics(Table):
    """What `pay` reckons with besides the crops' own prices and costs."""

    edges: Literal["none", "published"] = Field(
        "none",
        description="What rows at edges yield where no [[edges]] table says it: none, no more than "
        "those inside; published, the middle of what trials found.",
        examples=["published"],
    )
    fuel_price_per_m3: FuelPrice | None = Field(
        None,
        alias="fuel_price",
        description="Price of fuel, which is then counted by itself: machines' `cost` is to be "
        "without it; left out: fuel is in that cost.",
        examples=["3.80 per gal"],
    )
    price_range: Share | None = Field(
        None,
        description="How far prices may lie below or above those stated, as a share; left out: "
        "they are taken as stated.",
        examples=[0.2],
    )
    yield_range: Share | None = Field(
        None, description="The same of yields alone.", examples=[0.15]
    )
    cost_range: Share | None = Field(
        None, description="The same of machines' costs by the hour.", examples=[0.2]
    )
    rotation: dict[str, Annotated[float, Field(gt=0, le=1)]] | None = Field(
        None,
        description="Share of years of each crop in the farm's rotation on whole fields; left out: "
        "the strips' shares of land.",
        examples=[{"corn": 0.5, "soybean": 0.5}],
    )
    draws: Annotated[int, Field(ge=100, le=100_000)] = Field(
        10_000, description="Seasons drawn at random for the chance of loss; left out: 10000.",
        examples=[10000],
    )  # fmt: skip
    seed: Annotated[int, Field(ge=0, le=1_000_000)] = Field(
        1, description="Where the draws begin: the same number, the same chances; left out: 1.",
        examples=[1],
    )  # fmt: skip
