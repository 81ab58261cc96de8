"""Say what a plan holds of systems besides strips: row sets."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from striplay.plan.table import Table


def _units(value: object) -> object:
    """Take a list of crops, unit by unit, or text such as "6 corn, 6 soybean"."""
    if isinstance(value, list) and value and all(isinstance(crop, str) for crop in value):
        return ", ".join(f"1 {crop}" for crop in value)
    if isinstance(value, str):
        return value
    raise ValueError('must be text such as "6 corn, 6 soybean", or a list of crops')


class RowSet(Table):
    """One planter pass that carries several crops, by row unit."""

    planter: str = Field(description="The planter.", examples=["planter"])
    units: Annotated[str, BeforeValidator(_units)] = Field(
        description="What each row unit carries, from the planter's left: numbers and crops, or a "
        'list of crops; "empty" plants nothing.',
        examples=["6 corn, 6 soybean"],
    )
    travel: Literal["back and forth", "one way"] = Field(
        "back and forth",
        description="back and forth: every second pass is mirrored; one way: none is.",
        examples=["back and forth"],
    )
