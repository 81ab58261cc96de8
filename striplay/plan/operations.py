"""Say what a plan holds of the season's operations."""

from dataclasses import dataclass

from pydantic import Field

from striplay.plan.quantities import CropNames, Day, ProductPrice, ProductRate, Words
from striplay.plan.table import Table


class OperationWish(Table):
    """One operation of the season: [[operations]].

    Planting and harvest that no table names are those of the crops; where no table sprays, each
    crop is sprayed once by the first sprayer.
    """

    does: str = Field(
        description="plant, spray, spread, cultivate, harvest, mow or till.", examples=["spray"]
    )
    machine: str = Field(description="The machine that does it.", examples=["sprayer"])
    crops: CropNames = Field(
        "all",
        description="The crops or mixtures it is done to; left out: all that strips grow.",
        examples=[["corn"]],
    )
    day: Day | None = Field(
        None,
        description="Day it is done; left out: the crop's to plant and harvest, else not known.",
        examples=["2026-06-02"],
    )
    stage: Words = Field(
        "", description="Stage of the crop it is done at, in words.", examples=["corn V5"]
    )
    product: Words = Field("", description="What is applied.", examples=["urea, 46 % N"])
    rate: ProductRate | None = Field(
        None, description="How much of it by area.", examples=["15 gal/acre"]
    )
    product_price: ProductPrice | None = Field(
        None, description="What it costs; left out: not counted.", examples=["12 per gal"]
    )
    name: Words = Field(
        "",
        description='What sheets call it; left out: what is done and to what, as "spray corn".',
        examples=["first spraying"],
    )


@dataclass(frozen=True, slots=True)
class Treatment:
    """What a machine does to some crops between planting and harvest, once or several times.

    Attributes:
        does: spray, spread, cultivate, mow or till.
        machine: its name in the plan.
        crops: crops and mixtures it is done to, in one go.
    """

    does: str
    machine: str
    crops: tuple[str, ...]

    @property
    def crop(self) -> str:
        """Its crops in words, joined by +."""
        return " + ".join(self.crops)
