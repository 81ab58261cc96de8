"""Say what a plan holds of costs, preferences about direction, and slope.

Every default is from memory, an order of magnitude to begin with: put the farm's own in its place.
"""

from typing import Annotated, Literal

from pydantic import Field

from striplay.plan import defaults
from striplay.plan.quantities import Compass, Length, MoneyPerArea, Share
from striplay.plan.table import Table

Percent = Annotated[float, Field(ge=0, le=100)]


class Cost(Table):
    """What a layout costs a year, in any currency, part by part."""

    aim: Literal["money", "land", "passes", "margin"] = Field(
        "money",
        description="What best means: money (all parts), land (least land not cropped), passes "
        "(fewest planter passes), margin (money, with land worth what its crops leave by their "
        "yields and prices, and of widths to fit that which pays best).",
        examples=["money"],
    )
    land_per_m2: MoneyPerArea = Field(
        defaults.LAND_PER_M2,
        alias="land",
        description="What cropped land leaves a year; left out: 300 per acre (from memory).",
        examples=["300 per acre"],
    )
    headland_loss: Share = Field(
        defaults.HEADLAND_LOSS,
        description="Share of that lost on a planted headland; left out: 0.2 (from memory: turning "
        "packs it).",
        examples=[0.2],
    )
    seed_per_m2: MoneyPerArea = Field(
        defaults.SEED_PER_M2,
        alias="seed",
        description="Seed wasted where ground is planted twice; left out: 100 per acre (from "
        "memory).",
        examples=["100 per acre"],
    )
    spray_per_m2: MoneyPerArea = Field(
        defaults.SPRAY_PER_M2,
        alias="spray",
        description="Product wasted where ground is sprayed twice; left out: 30 per acre (from "
        "memory).",
        examples=["30 per acre"],
    )
    share_per_m2: MoneyPerArea = Field(
        defaults.SHARE_PER_M2,
        alias="share",
        description="Cost of land under another crop than the wished shares say; left out: 50 "
        "per acre (our choice).",
        examples=["50 per acre"],
    )
    north_south_per_m2: MoneyPerArea = Field(
        0.0,
        alias="north_south",
        description="What rows north and south are worth over rows east and west; left out: 0 "
        "per acre.",
        examples=["5 per acre"],
    )
    edge: Compass | None = Field(
        None,
        description="Rows wished along the longest edge on this side of the field: north, east, "
        "south or west.",
        examples=["east"],
    )
    edge_per_m2: MoneyPerArea = Field(
        defaults.EDGE_PER_M2,
        alias="edge_worth",
        description="What rows along `edge` are worth over rows across it; left out: 10 per acre "
        "(our choice).",
        examples=["10 per acre"],
    )
    gain: Share = Field(
        defaults.GAIN,
        description="Share of the cost that blocks must save before they are proposed; left out: "
        "0.05 (our choice).",
        examples=[0.05],
    )


class Slope(Table):
    """The slope of the field, as the user states it."""

    percent: Percent = Field(description="Slope of the land.", examples=[6])
    downhill_deg: Annotated[float, Field(ge=0, lt=360)] | None = Field(
        None,
        alias="downhill",
        description="Direction of the fall, degrees clockwise from true north; needed with "
        "`along_row`.",
        examples=[135],
    )
    along_row: Percent | None = Field(
        None,
        description="Greatest grade wished along the row, in per cent.",
        examples=[2],
    )
    excess_per_m2: MoneyPerArea = Field(
        defaults.EXCESS_PER_M2,
        alias="excess",
        description="Cost of each per cent above that; left out: 50 per acre (our choice).",
        examples=["50 per acre"],
    )
    outlet_m: Length | None = Field(
        None,
        alias="outlet",
        description="Distance from the strips to a stable outlet, if one is near.",
        examples=["100 ft"],
    )
