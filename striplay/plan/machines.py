"""Say what a plan holds of machines."""

import math
from typing import ClassVar, Literal

from pydantic import Field

from striplay.plan import defaults
from striplay.plan.defaults import by_work
from striplay.plan.quantities import (
    Distance,
    Duration,
    FuelByArea,
    HoursADay,
    Length,
    MoneyPerTime,
    RowCount,
    Speed,
    TankLoad,
)
from striplay.plan.table import MadeUp, Table
from striplay.tolerances import WHOLE_NUMBER

Covers = Literal["units", "header", "strip", "boom", "nothing"]
"""How passes of a kind of machine cover ground.

units: so many rows each, from a strip's first on; header: within the rows of one crop, so many each
or evenly; strip: evenly within a strip; boom: over as many strips as it is wide, shut over others;
nothing: it makes no passes of its own. What mows or works all ground runs as a boom does where it
works what stands in every strip.
"""


class Worked(Table):
    """What every machine has: its cost, speed and turn.

    Attributes:
        covers: the rule that its passes follow.
    """

    covers: ClassVar[Covers]

    does: str
    cost_per_s: MoneyPerTime = Field(
        default_factory=lambda read: by_work(defaults.COST_PER_S, read["does"]),
        alias="cost",
        description="Money an hour, operator included; left out: 300 per hour to plant or spray, "
        "400 per hour to harvest, 200 per hour for others (from memory).",
        examples=["300 per hour"],
    )
    speed_mps: Speed = Field(
        default_factory=lambda read: by_work(defaults.SPEED_MPS, read["does"]),
        alias="speed",
        description="Speed at work; left out: 10 mph to spray, spread or haul, 4 mph to harvest, "
        "7 mph to mow, 5 mph for others (from memory).",
        examples=["5 mph"],
    )
    turn_s: Duration | None = Field(
        None,
        alias="turn",
        description="Time of one turn on the headland; left out: worked out from its path at "
        "turning_radius and turning_speed.",
        examples=["40 s"],
    )
    turning_speed_mps: Speed = Field(
        default_factory=lambda read: by_work(defaults.TURNING_SPEED_MPS, read["does"]),
        alias="turning_speed",
        description="Speed in a turn; left out: 6 mph to spray or spread, 4 mph for others (from "
        "memory).",
        examples=["4 mph"],
    )
    reversing: bool = Field(
        default_factory=lambda read: read["does"] in defaults.REVERSING,
        description="Whether it can back up in a turn; left out: true to harvest and to spray, "
        "false for what is towed.",
        examples=[True],
    )
    length_m: Length | None = Field(
        None,
        alias="length",
        description="From the axle it turns about back to its last tool, or forward to its header, "
        "so that turns leave room for it; left out: not counted.",
        examples=["20 ft"],
    )
    holds: TankLoad | None = Field(
        None,
        description="What it carries when full, in its product's units: seeds, pounds, gallons or "
        "bushels; left out: fills are not counted.",
        examples=["1000 gal"],
    )
    refill_s: Duration = Field(
        default_factory=lambda read: by_work(defaults.REFILL_S, read["does"]),
        alias="refill",
        description="Time to fill or unload it; left out: 10 min to plant, 8 min to spray or "
        "spread, 3 min to harvest, 5 min for others (from memory).",
        examples=["10 min"],
    )
    hours_a_day: HoursADay = Field(
        defaults.HOURS_A_DAY,
        description="Hours it works on a day; left out: 10 (our choice).",
        examples=[12],
    )
    fuel_m3_per_m2: FuelByArea | None = Field(
        None,
        alias="fuel",
        description="Diesel it burns by area; left out: as published for its kind of work.",
        examples=["0.5 gal/acre"],
    )
    tread_m: Length | None = Field(
        None, alias="tread", description="Distance between the middles of its wheels.",
        examples=["120 in"],
    )  # fmt: skip
    tire_m: Length | None = Field(
        None, alias="tire", description="Width of its tires.", examples=["18 in"]
    )
    wheel_clearance_m: Distance = Field(
        defaults.WHEEL_CLEARANCE_M,
        alias="wheel_clearance",
        description="Room that a tire needs to a row; left out: 1 in (our choice).",
        examples=["1 in"],
    )
    turning_radius_m: Length | None = Field(
        None,
        alias="turning_radius",
        description="Least radius of its turns, and of a curve it can work on; left out: 30 ft to "
        "plant, 26 ft for others (from memory) in turns, and curves are not judged.",
        examples=["30 ft"],
    )
    example: MadeUp = False

    @property
    def turn_radius_m(self) -> float:
        """Least radius of its turns, the usual one where it is not stated."""
        if self.turning_radius_m is not None:
            return self.turning_radius_m
        return by_work(defaults.TURNING_RADIUS_M, self.does)


class Planter(Worked):
    """A planter (rows and spacing), or a drill or seeder (width, and spacing of its openers)."""

    covers = "units"

    does: Literal["plant"] = Field(description="plant", examples=["plant"])
    rows: RowCount | None = Field(None, description="Row units.", examples=[16])
    spacing_m: Length | None = Field(
        None, alias="spacing", description="Distance between rows or openers.", examples=["30 in"]
    )
    width_given_m: Length | None = Field(
        None, alias="width", description="Width of a drill, instead of `rows`.", examples=["15 ft"]
    )
    shut_off: Literal["row", "none"] | RowCount = Field(
        "none",
        description="What it shuts off to plant nothing twice: row (each row alone), none, or "
        "how many sections.",
        examples=["row"],
    )

    @property
    def width_m(self) -> float:
        """Ground covered by one pass."""
        if self.width_given_m is not None:
            return self.width_given_m
        assert self.rows is not None and self.spacing_m is not None  # noqa: PT018, S101 - checked
        return self.rows * self.spacing_m

    @property
    def shut_off_m(self) -> float:
        """Width that is shut off at once."""
        if self.shut_off == "row":
            return self.row_m
        return self.width_m / (1 if self.shut_off == "none" else self.shut_off)

    @property
    def row_m(self) -> float:
        """Distance between rows or openers; nominal where a drill does not give it."""
        if self.spacing_m is not None:
            return self.spacing_m
        return self.width_m / math.ceil(self.width_m / defaults.NOMINAL_OPENER_M - WHOLE_NUMBER)

    @property
    def row_units(self) -> int | None:
        """Rows planted by one pass; None for a drill whose openers are not given."""
        if self.rows is not None or self.spacing_m is None:
            return self.rows
        return round(self.width_m / self.spacing_m)


class Harvester(Worked):
    """A row-crop header (rows and spacing) or a platform (width)."""

    covers = "header"

    does: Literal["harvest"] = Field(description="harvest", examples=["harvest"])
    rows: RowCount | None = Field(None, description="Rows of a row-crop header.", examples=[8])
    spacing_m: Length | None = Field(
        None, alias="spacing", description="Its row spacing.", examples=["30 in"]
    )
    width_given_m: Length | None = Field(
        None, alias="width", description="Width of a platform, instead of `rows`.",
        examples=["30 ft"],
    )  # fmt: skip
    cutting_height_m: Length | None = Field(
        None, alias="cutting_height", examples=["10 in"],
        description="Height it cuts at, above crops sown between the rows.",
    )  # fmt: skip
    clearance_m: Length = Field(
        defaults.CLEARANCE_M["us"],
        alias="clearance",
        description="How far a platform keeps off the neighbor's first row; left out: 6 in, or "
        "15 cm (metric).",
        examples=["6 in"],
    )
    auger_reach_m: Length | None = Field(
        None,
        alias="auger_reach",
        description="From its middle to where its auger drops grain; left out: unloading on the go "
        "is not judged.",
        examples=["24 ft"],
    )
    auger_side: Literal["left", "right"] = Field(
        "left", description="The side its auger swings to; left out: left (common practice).",
        examples=["left"],
    )  # fmt: skip
    cart: str | None = Field(
        None, description='The machine with does = "haul" that it unloads into on the go.',
        examples=["grain_cart"],
    )  # fmt: skip

    @property
    def width_m(self) -> float:
        """Ground covered by one pass."""
        if self.width_given_m is not None:
            return self.width_given_m
        assert self.rows is not None and self.spacing_m is not None  # noqa: PT018, S101 - checked
        return self.rows * self.spacing_m


class Boom(Worked):
    """What works over as many strips as it is wide, in sections that shut off one by one."""

    covers = "boom"

    width_m: Length = Field(
        alias="width", description="Width of the boom, or of what it spreads.", examples=["120 ft"]
    )
    sections: RowCount = Field(
        1, description="Sections of equal width that shut off alone; left out: 1.", examples=[12]
    )


class Sprayer(Boom):
    """A boom, in sections that shut off one by one."""

    does: Literal["spray"] = Field(description="spray", examples=["spray"])


class Spreader(Boom):
    """A spreader of fertilizer, lime or seed, over as many strips as it throws."""

    does: Literal["spread"] = Field(description="spread", examples=["spread"])


class Cultivator(Worked):
    """A tool that works between rows, as many at once as a planter sets or a part of them."""

    covers = "units"

    does: Literal["cultivate"] = Field(description="cultivate", examples=["cultivate"])
    rows: RowCount = Field(description="Rows it works at once.", examples=[8])
    spacing_m: Length = Field(alias="spacing", description="Their spacing.", examples=["30 in"])

    @property
    def width_m(self) -> float:
        """Ground covered by one pass."""
        return self.rows * self.spacing_m


class Mower(Worked):
    """A mower or roller, within the strip of one crop or across strips that are all mown."""

    covers = "header"

    does: Literal["mow"] = Field(description="mow", examples=["mow"])
    width_m: Length = Field(alias="width", description="Width of its cut.", examples=["15 ft"])


class Tiller(Worked):
    """A tool that works all ground: disk, chisel, field cultivator, rotary hoe."""

    covers = "strip"

    does: Literal["till"] = Field(description="till", examples=["till"])
    width_m: Length = Field(alias="width", description="Width of the tool.", examples=["30 ft"])


class Cart(Worked):
    """A grain cart that a combine unloads into; it makes no passes of its own."""

    covers = "nothing"

    does: Literal["haul"] = Field(description="haul", examples=["haul"])
    width_m: Length = Field(
        defaults.CART_WIDTH_M, alias="width",
        description="Its greatest width; left out: 12 ft (from memory).", examples=["12 ft"],
    )  # fmt: skip


Machine = Planter | Harvester | Sprayer | Spreader | Cultivator | Mower | Tiller | Cart
MACHINES: dict[str, type[Machine]] = {
    "plant": Planter,
    "harvest": Harvester,
    "spray": Sprayer,
    "spread": Spreader,
    "cultivate": Cultivator,
    "mow": Mower,
    "till": Tiller,
    "haul": Cart,
}
"""The model of each kind of machine, by what it does; a new kind is a line here."""
