"""Hold what every table of a plan has in common, and what several have."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field


class Table(BaseModel):
    """A table of the plan file: frozen, and an unknown key is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


MadeUp = Annotated[
    bool,
    Field(
        exclude=True,  # it says what stands in a plan, and is no part of it
        description="Whether it is an example, not the farm's own: that is told until this key is "
        "taken away; left out: false.",
        examples=[True],
    ),
]
"""Whether a machine or a crop is an example in the place of the farm's own."""
