"""Say what a plan holds of systems besides strips: row sets."""

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from striplay.plan.table import Table

EMPTY = "empty"
"""The word for a unit that plants nothing."""

_PART = re.compile(r"\s*(\d+)\s+(\S+)\s*")


def read_units(value: object) -> tuple[str, ...]:
    """Read what each row unit carries, from the planter's left: text, or a list of crops.

    Raises:
        ValueError: not written so; the message says how.

    >>> read_units("2 corn, 1 empty, 3 soybean")
    ('corn', 'corn', 'empty', 'soybean', 'soybean', 'soybean')
    """
    if isinstance(value, list) and value and all(isinstance(crop, str) for crop in value):
        return tuple(value)
    units: list[str] = []
    for part in value.split(",") if isinstance(value, str) else [""]:
        match = _PART.fullmatch(part)
        if match is None or int(match[1]) < 1:
            raise ValueError('must be numbers and crops, such as "6 corn, 6 soybean", or a list')
        units += [match[2]] * int(match[1])
    return tuple(units)


class RowSet(Table):
    """One planter pass that carries several crops, by row unit."""

    planter: str = Field(description="The planter.", examples=["planter"])
    units: Annotated[tuple[str, ...], BeforeValidator(read_units)] = Field(
        description="What each row unit carries, from the planter's left: numbers and crops, or a "
        'list of crops; "empty" plants nothing.',
        examples=["6 corn, 6 soybean"],
    )
    travel: Literal["back and forth", "one way"] = Field(
        "back and forth",
        description="back and forth: every second pass is mirrored; one way: none is.",
        examples=["back and forth"],
    )
