"""Say what a plan holds of seasons: a file of weather, and what the next one asks of this."""

from typing import Literal

from pydantic import Field

from striplay.plan.quantities import FileName, Sequenced
from striplay.plan.table import Table


class WeatherSource(Table):
    """Daily weather, for stages by degree days."""

    file: FileName = Field(
        description="A CSV with a line a day, relative to the plan.", examples=["weather.csv"]
    )
    day: str = Field("day", description="Its column of days, year-month-day.", examples=["day"])
    least: str = Field("least", description="Its column of least temperatures.", examples=["least"])
    greatest: str = Field(
        "greatest", description="Its column of greatest temperatures.", examples=["greatest"]
    )
    units: Literal["F", "C"] = Field("F", description="F or C.", examples=["F"])


class NextSeason(Table):
    """What the next season asks of this one's strips."""

    swap: bool = Field(
        default=True,
        description='Crops are to swap places next season: where rows = "fit", strips of equal '
        "width go before all but what fits the machines; false: each stays in its strips; left "
        "out: true.",
        examples=[False],
    )
    sequence: Sequenced | None = Field(
        None,
        description="What follows what in a strip: each crop or mixture is followed by the next of "
        "the list, the last by the first; left out: in the order the strips name them.",
        examples=[["corn", "soybean", "wheat"]],
    )
