"""Say how a yield monitor's file is read: its columns, their units, and what is not counted."""

from typing import Annotated, Literal

from pydantic import Field

from striplay.plan import defaults
from striplay.plan.quantities import FlowUnit, LengthUnit, Speed, SpeedUnit, Wait, YieldUnit
from striplay.plan.table import Table

Name = Annotated[str, Field(min_length=1, max_length=200)]
"""Name of a column, as the file has it."""


class MonitorSource(Table):
    """The columns of a yield monitor's file, a CSV with a line a point, and how it is cleaned."""

    time: Name = Field(
        description="Its column of times: seconds, or date and time such as 2027-10-02T14:03:05.",
        examples=["Time"],
    )
    longitude: Name = Field(
        description="Its column of longitudes, degrees of WGS 84.", examples=["Longitude"]
    )
    latitude: Name = Field(
        description="Its column of latitudes, degrees of WGS 84.", examples=["Latitude"]
    )
    flow: Name | None = Field(
        None,
        description="Its column of the flow of grain, as harvested; or give `yield`.",
        examples=["Flow"],
    )
    flow_unit: FlowUnit | None = Field(
        None, description="Unit of that flow; needed with it.", examples=["lb/s"]
    )
    yield_column: Name | None = Field(
        None,
        alias="yield",
        description="Its column of yields, as harvested; or give `flow`.",
        examples=["Yield"],
    )
    yield_unit: YieldUnit | None = Field(
        None, description="Unit of these yields; needed with them.", examples=["bu/acre"]
    )
    moisture: Name | None = Field(
        None,
        description="Its column of the grain's moisture; left out: flow or yield is taken to be at "
        "base moisture already.",
        examples=["Moisture"],
    )
    moisture_unit: Literal["%", "share"] | None = Field(
        None, description="%, or share of weight; needed with it.", examples=["%"]
    )
    width: Name | None = Field(
        None,
        description="Its column of the width cut; left out: the width that the plan's pass works.",
        examples=["Swath"],
    )
    width_unit: LengthUnit | None = Field(
        None, description="Unit of that width; needed with it.", examples=["ft"]
    )
    speed: Name | None = Field(
        None, description="Its column of speeds; left out: reckoned from places and times.",
        examples=["Speed"],
    )  # fmt: skip
    speed_unit: SpeedUnit | None = Field(
        None, description="Unit of these speeds; needed with them.", examples=["mph"]
    )
    delay_s: Wait | None = Field(
        None,
        alias="delay",
        description="How long after it is cut grain reaches the sensor; left out: 12 s with "
        "`flow`, none with `yield`.",
        examples=["12 s"],
    )
    start_s: Wait = Field(
        defaults.MONITOR_START_S,
        alias="start",
        description="Time left out at the start of each run, while flow builds up; left out: 12 s.",
        examples=["12 s"],
    )
    end_s: Wait = Field(
        defaults.MONITOR_END_S,
        alias="end",
        description="The same at its end; left out: 6 s.",
        examples=["6 s"],
    )
    slowest_mps: Speed = Field(
        defaults.MONITOR_SLOWEST_MPS,
        alias="slowest",
        description="What is slower is left out, and parts runs; left out: 1 mph.",
        examples=["1 mph"],
    )
    fastest_mps: Speed = Field(
        defaults.MONITOR_FASTEST_MPS,
        alias="fastest",
        description="What is faster likewise; left out: 10 mph.",
        examples=["10 mph"],
    )
    full: Annotated[float, Field(gt=0, le=1)] = Field(
        defaults.MONITOR_FULL,
        description="Least share of the header in grain that was not cut before; left out: 0.8.",
        examples=[0.8],
    )
    outliers: Annotated[float, Field(ge=2, le=20)] = Field(
        defaults.MONITOR_OUTLIERS,
        description="Yields so many times the usual spread away from those around them in their "
        "run are left out, see [methods](methods.md); left out: 3.",
        examples=[3.0],
    )

    @property
    def wait_s(self) -> float:
        """The delay, that taken where it is left out included."""
        if self.delay_s is not None:
            return self.delay_s
        return defaults.MONITOR_DELAY_S if self.flow is not None else 0.0
