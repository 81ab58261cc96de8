"""Say what a plan holds of systems besides strips: row sets, mixtures, crops between rows."""

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from striplay.limits import MAX_DIGITS, MAX_ROWS, MAX_ROWS_BETWEEN
from striplay.plan.quantities import Distances, Length, SeedMass, Share
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
        if match is None or not match[1].strip("0"):
            raise ValueError('must be numbers and crops, such as "6 corn, 6 soybean", or a list')
        if len(match[1]) > MAX_DIGITS or len(units) + int(match[1]) > MAX_ROWS:
            raise ValueError(f"must be {MAX_ROWS} units or fewer")
        units += [match[2]] * int(match[1])
    return tuple(units)


YieldShare = Annotated[float, Field(ge=0, le=2)]
"""A yield as a share of the same crop's alone."""


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


class Mixture(Table):
    """Crops sown together in the same rows or drill pass; its name stands where a crop's does."""

    planter: str = Field(description="The machine that sows it.", examples=["drill"])
    harvester: str | None = Field(
        None,
        description="The machine that harvests it; none: it is not harvested; left out: not "
        "judged.",
        examples=["platform"],
    )
    parts: dict[str, Annotated[float, Field(gt=0, le=2)]] = Field(
        description="Each crop's share of its own full rate. Shares that add up to 1 replace one "
        "crop by another; above 1 they add.",
        examples=[{"oats": 0.5, "field_pea": 0.5}],
    )
    rate_increase: Share = Field(
        0.0,
        description="Sown so much closer than the shares say, as a share; left out: 0. "
        "About 0.25 is usual (common practice, no source).",
        examples=[0.25],
    )
    batch_kg: SeedMass | None = Field(
        None, alias="batch", description="Blend to mix at a time, for the weights.",
        examples=["1000 lb"],
    )  # fmt: skip
    share: Annotated[float, Field(gt=0, lt=1)] | None = Field(
        None, description="Wished share of the cropped land, as of a crop.", examples=[0.5]
    )
    yield_shares: dict[str, YieldShare] | None = Field(
        None,
        description="What each crop yields in it, as a share of its `yield` alone; needed by "
        "`pay`.",
        examples=[{"oats": 0.55, "field_pea": 0.5}],
    )

    @property
    def kind(self) -> str:
        """Replacement where the shares add up to 1, additive above, thin below."""
        total = sum(self.parts.values())
        if abs(total - 1) <= SHARES_OFF:
            return "replacement"
        return "additive" if total > 1 else "thin"


SHARES_OFF = 1e-6
"""Shares this near to 1 add up to it."""


class Between(Table):
    """A crop sown between the rows of another: [[relay]] or [[quick_crop]]."""

    crop: str = Field(description="The crop sown between.", examples=["soybean"])
    into: str = Field(
        description="The crop, or mixture, between whose rows it is sown; every strip of it.",
        examples=["wheat"],
    )
    seeder: str | None = Field(
        None, description="The machine that sows it; left out: the crop's planter.",
        examples=["drill"],
    )  # fmt: skip
    rows: Annotated[int, Field(ge=1, le=MAX_ROWS_BETWEEN)] = Field(
        1,
        description="Rows in each gap between the other's rows, evenly spaced; left out: 1.",
        examples=[2],
    )
    gap_m: Length | None = Field(
        None, alias="gap", description="Only gaps at least this wide are sown; left out: all.",
        examples=["20 in"],
    )  # fmt: skip
    offsets_m: Distances | None = Field(
        None,
        alias="offsets",
        description="Where rows stand instead, from the strip's edge, in each `period`.",
        examples=[["15 in"]],
    )
    period_m: Length | None = Field(
        None, alias="period", description="With `offsets`: the distance after which they repeat; "
        "left out: the strip's width.", examples=["30 in"],
    )  # fmt: skip
    tramlines: str | None = Field(
        None,
        description="A machine whose wheel tracks over the strip are left unsown; it states tread "
        "and tire.",
        examples=["sprayer"],
    )
    height_m: Length | None = Field(
        None, alias="height", description="Its height when the other is harvested.",
        examples=["8 in"],
    )  # fmt: skip
    yield_share: YieldShare | None = Field(
        None,
        description="What it yields there, as a share of its `yield` alone on the same ground; "
        "needed by `pay`.",
        examples=[0.71],
    )
    host_yield_share: YieldShare | None = Field(
        None,
        description="What the other yields with it, likewise; needed by `pay`.",
        examples=[0.62],
    )

    @property
    def host(self) -> str:
        """The crop or mixture that it is sown into."""
        return self.into


class AfterHarvest(Table):
    """A crop sown where another was harvested, in the same season: [[after_harvest]]."""

    crop: str = Field(
        description="The crop sown, a second one to harvest or a cover crop; it states `sown`.",
        examples=["rye"],
    )
    after: str = Field(
        description="The crop, or mixture, of strips after whose harvest it is sown; in every "
        "strip of it.",
        examples=["corn"],
    )
    yield_share: YieldShare | None = Field(
        None,
        description="What it yields there, as a share of its `yield` grown all season; needed by "
        "`pay` where it is harvested.",
        examples=[0.7],
    )

    @property
    def host(self) -> str:
        """The crop or mixture that it is sown after."""
        return self.after
