"""Say what a plan holds of machines."""

import math
from typing import ClassVar, Literal, TypeAlias

from pydantic import Field

from striplay.plan import defaults
from striplay.plan.quantities import Distance, Duration, Length, MoneyPerTime, RowCount, Speed
from striplay.plan.table import Table
from striplay.tolerances import WHOLE_NUMBER


class Worked(Table):
    """What every machine has: its cost, speed and turn."""

    boom: ClassVar[bool] = False
    """Whether it works what lies under it in parts that shut off, over several strips at once."""

    does: Literal["plant", "harvest", "spray"]
    cost_per_s: MoneyPerTime = Field(
        default_factory=lambda read: defaults.COST_PER_S[read["does"]],
        alias="cost",
        description="Money an hour, operator included; left out: 300 per hour to plant, 300 per "
        "hour to spray, 400 per hour to harvest (from memory).",
        examples=["300 per hour"],
    )
    speed_mps: Speed = Field(
        default_factory=lambda read: defaults.SPEED_MPS[read["does"]],
        alias="speed",
        description="Speed at work; left out: 5 mph to plant, 10 mph to spray, 4 mph to harvest "
        "(from memory).",
        examples=["5 mph"],
    )
    turn_s: Duration = Field(
        default_factory=lambda read: defaults.TURN_S[read["does"]],
        alias="turn",
        description="Time of one turn on the headland; left out: 40 s to plant, 30 s to spray, "
        "35 s to harvest (from memory).",
        examples=["40 s"],
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
        description="Least radius of a curve it can work on; left out: not judged.",
        examples=["30 ft"],
    )


class Planter(Worked):
    """A planter (rows and spacing), or a drill or seeder (width, and spacing of its openers)."""

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

    @property
    def width_m(self) -> float:
        """Ground covered by one pass."""
        if self.width_given_m is not None:
            return self.width_given_m
        assert self.rows is not None and self.spacing_m is not None  # noqa: PT018, S101 - checked
        return self.rows * self.spacing_m


class Sprayer(Worked):
    """A boom, in sections that shut off one by one."""

    boom: ClassVar[bool] = True
    does: Literal["spray"] = Field(description="spray", examples=["spray"])
    width_m: Length = Field(alias="width", description="Width of the boom.", examples=["120 ft"])
    sections: RowCount = Field(
        1, description="Sections of equal width that shut off alone; left out: 1.", examples=[12]
    )


Machine: TypeAlias = Planter | Harvester | Sprayer
MACHINES: dict[str, type[Planter] | type[Harvester] | type[Sprayer]] = {
    "plant": Planter,
    "harvest": Harvester,
    "spray": Sprayer,
}
