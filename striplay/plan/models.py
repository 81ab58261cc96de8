"""Say what a plan holds: one frozen model a table, each key with its meaning and an example.

The keys are the TOML file's; the attributes carry the SI unit in their name. The plan reference in
docs/ and the cures in error messages are made from these descriptions and examples.
"""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, SkipValidation

from striplay.plan import defaults
from striplay.plan.cost import Cost, Slope
from striplay.plan.crops import Crop, StripWish
from striplay.plan.files import FilesWish
from striplay.plan.machines import Harvester, Machine, Planter, Sprayer
from striplay.plan.money import Economics, EdgeWish
from striplay.plan.monitor import MonitorSource
from striplay.plan.operations import OperationWish, Treatment
from striplay.plan.quantities import (
    Day,
    FileName,
    Heading,
    Length,
    Offset,
    Place,
    RowCount,
    Words,
)
from striplay.plan.season import NextSeason, WeatherSource
from striplay.plan.systems import AfterHarvest, Between, Mixture, RowSet
from striplay.plan.table import Table
from striplay.plan.trial import Trial
from striplay.tolerances import SHARE_STEP, WHOLE_NUMBER
from striplay.units import UnitSystem


class Farm(Table):
    """Whose farm it is; what is given here stands on every sheet."""

    name: Words = Field("", description="Name of the farm.", examples=["Alder Bend Farm"])
    operator: Words = Field("", description="Who farms it.", examples=["R. Example"])
    prepared_by: Words = Field("", description="Who made the plan.", examples=["A. Adviser"])
    county: Words = Field("", description="County or district.", examples=["Story County"])
    state: Words = Field("", description="State or province.", examples=["Iowa"])
    legal: Words = Field(
        "",
        description="Legal location, as deeds name it.",
        examples=["NE 1/4, section 12, T 83 N, R 24 W"],
    )


class AboveTables(Table):
    """The keys above all tables."""

    title: Words = Field(
        "", description="Name of the field, on every sheet.", examples=["Home north"]
    )
    units: UnitSystem = Field("us", description="How reports speak: us or metric.", examples=["us"])
    printed: Day | None = Field(
        None,
        alias="date",
        description="Date on the sheets; left out: none, so the same plan gives the same bytes.",
        examples=["2026-04-01"],
    )
    paper: Literal["letter", "a4"] | None = Field(
        None, description="Paper of the map book; left out: letter with us units, a4 with metric."
    )
    ink: Literal["color", "gray"] = Field(
        "color",
        description="Ink of the sheets: color, or gray for a printer that has black alone.",
        examples=["gray"],
    )
    gate: Place | None = Field(
        None,
        description="Longitude and latitude of the gate that machines come by and leave by; left "
        "out: the first corner of the first pass.",
        examples=[[-93.512, 42.034]],
    )


class FieldSource(Table):
    """Where the boundary comes from."""

    boundary: FileName = Field(
        description="GeoJSON, GeoPackage, Shapefile or another vector file, zipped too, relative "
        "to the plan.",
        examples=["home_north.geojson"],
    )
    crs: str | None = Field(
        None,
        description="Coordinate reference system, only where the file has none.",
        examples=["EPSG:26915"],
    )
    layer: str | None = Field(
        None, description="Layer to read, where the file has several.", examples=["fields"]
    )
    where: str | None = Field(
        None,
        description="Which features are the field: a condition on their columns.",
        examples=["id = 12"],
    )
    obstacles: FileName | None = Field(
        None,
        description="A file of polygons, lines or points not to be cropped, relative to the plan; "
        "holes in the boundary need none.",
        examples=["obstacles.geojson"],
    )


class Headland(Table):
    """Ground to turn on."""

    where: Literal["around", "ends", "none"] = Field(
        description="around: all round the field and its obstacles; ends: only where rows end, but "
        "for sides on which less than one planter pass of them does; none.",
        examples=["around"],
    )
    passes: RowCount | None = Field(None, description="Width in passes of `machine`.", examples=[2])
    width_m: Length | None = Field(
        None, alias="width", description="Width, instead of `passes`.", examples=["60 ft"]
    )
    machine: str | None = Field(
        None, description="The machine whose passes are counted.", examples=["planter"]
    )
    crop: str | None = Field(
        None, description="What the headland is planted to; left out: nothing.", examples=["corn"]
    )


class Direction(Table):
    """Which way the rows run and where they begin."""

    heading: Heading = Field(
        "best",
        description="Degrees clockwise from true north, 0 up to 180; best: the heading and offset "
        "that cost least, see [cost].",
        examples=[90],
    )
    offset_m: Offset | None = Field(
        None,
        alias="offset",
        description="How far outside the land the first set begins, or best; left out: best where "
        'heading = "best", else nothing.',
        examples=["20 ft"],
    )
    start: Literal["left", "right"] = Field(
        "left",
        description="Side of the first strip, looking along the heading; the set runs on from it.",
        examples=["left"],
    )
    shortest_m: Length = Field(
        defaults.SHORTEST_M["us"],
        alias="shortest",
        description="Shorter pieces of row are not planted; left out: 66 ft, or 20 m (metric).",
        examples=["66 ft"],
    )
    narrowest_m: Length | None = Field(
        None,
        alias="narrowest",
        description="A piece of strip with so few rows that it is narrower than this along its "
        "whole length is not planted as one: it joins the headland beside it, else it is left "
        "over; left out: half a pass of its planter, or half the strip if that is narrower.",
        examples=["20 ft"],
    )
    along: FileName | None = Field(
        None,
        description="A file with a line that rows follow on both sides instead of a heading, "
        "relative to the plan.",
        examples=["contour.geojson"],
    )
    pivot: Place | None = Field(
        None,
        description="Longitude and latitude of a center pivot that rows run round.",
        examples=[[-93.512, 42.034]],
    )


class Obstacles(Table):
    """How obstacles are passed, and how far off they are kept."""

    clearance_m: Length | None = Field(
        None,
        alias="clearance",
        description="Ground kept clear round obstacles of the file, but for polygons that machines "
        "lift through and for holes in the boundary; needed where it has points or lines.",
        examples=["10 ft"],
    )
    beside_m: Length = Field(
        defaults.BESIDE_M["us"],
        alias="beside",
        description="Obstacles up to so far across, clearance left out, are driven up to and "
        "begun again behind, without end rows round them; left out: 30 ft, or 9 m (metric).",
        examples=["30 ft"],
    )
    through: str | None = Field(
        None,
        description="Which features of the file, lines or polygons, machines lift through without "
        "turning: a condition on their columns; the others, and holes in the boundary, are gone "
        "around.",
        examples=["kind = 'waterway'"],
    )


class Block(Table):
    """A part of the field with its own heading."""

    file: FileName = Field(
        description="Lines that cut the field, or polygons of blocks, relative to the plan.",
        examples=["cut.geojson"],
    )
    where: str | None = Field(
        None, description="Which features of the file: a condition on their columns.",
        examples=["id = 1"],
    )  # fmt: skip
    heading: Heading = Field(
        "best", description="As under [direction]; for every block this table makes.",
        examples=[45],
    )  # fmt: skip


class Plan(BaseModel):
    """A whole plan, every reference checked, every default filled in."""

    model_config = ConfigDict(frozen=True)

    path: Path
    title: str
    units: UnitSystem
    printed: date | None
    paper: Literal["letter", "a4"]
    widest_m: float
    """Widest strip considered where a width is "fit"."""
    field: FieldSource | None
    headland: Headland
    direction: Direction
    machines: dict[str, SkipValidation[Machine]]
    """Checked when they were read; a kind added to `MACHINES` is none of the types named here."""
    crops: dict[str, Crop]
    strips: tuple[StripWish, ...]
    obstacles: Obstacles = Obstacles.model_validate({})
    blocks: tuple[Block, ...] | Literal["suggest"] = ()
    cost: Cost = Cost.model_validate({})
    slope: Slope | None = None
    row_set: RowSet | None = None
    mixtures: dict[str, Mixture] = {}
    weather: WeatherSource | None = None
    season: NextSeason = NextSeason()
    trial: Trial | None = None
    relays: tuple[Between, ...] = ()
    quick_crops: tuple[Between, ...] = ()
    after_harvest: tuple[AfterHarvest, ...] = ()
    operations: tuple[OperationWish, ...] = ()
    gate: tuple[float, float] | None = None
    farm: Farm = Farm()
    economics: Economics = Economics()
    edges: tuple[EdgeWish, ...] = ()
    files: FilesWish = FilesWish()
    monitor: MonitorSource | None = None
    ink: Literal["color", "gray"] = "color"

    def planter_of(self, machine: str) -> Planter:
        """A machine that plants, by its name."""
        found = self.machines[machine]
        assert isinstance(found, Planter)  # noqa: S101 - checked when the plan was read
        return found

    def planter(self, crop: str) -> Planter:
        """The machine that plants a crop."""
        return self.planter_of(self.crops[crop].planter)

    def harvester(self, crop: str) -> Harvester | None:
        """The machine that harvests a crop, if one is named."""
        name = self.crops[crop].harvester if self.crops[crop].reaped else None
        machine = None if name is None else self.machines[name]
        assert machine is None or isinstance(machine, Harvester)  # noqa: S101 - checked
        return machine

    @property
    def layered(self) -> tuple[Between | AfterHarvest, ...]:
        """What is sown on the ground of strips' own crops, in the order of its layers, from 1."""
        return (*self.relays, *self.quick_crops, *self.after_harvest)

    @property
    def without_trial(self) -> "Plan":
        """The same plan with its set alone, no check strips."""
        return self if self.trial is None else self.model_copy(update={"trial": None})

    @property
    def whichever_way(self) -> "Plan":
        """The plan with no title, and nothing said of which way its rows run and where they begin.

        What is found from it is the same at every heading and offset.
        """
        free = {"heading": 0.0, "offset_m": None, "start": "left", "shortest_m": None}
        direction = self.direction.model_copy(update=free)
        return self.model_copy(update={"title": "", "direction": direction})

    @property
    def wished_shares(self) -> dict[str, float]:
        """Wished share of the cropped land by crop, to the whole per cent, where one is stated.

        Wishes that add up to 1 but for that rounding, such as three of 0.33, are parts of 1.
        """
        asked = {name: crop.share for name, crop in self.crops.items() if crop.share is not None}
        wishes = {name: max(round(share, 2), SHARE_STEP) for name, share in asked.items()}
        total = sum(wishes.values())
        if abs(total - 1) > SHARE_STEP / 2 * len(wishes) + WHOLE_NUMBER:
            return wishes
        return {name: share / total for name, share in wishes.items()}

    @property
    def headland_crop(self) -> str | None:
        """The crop that the headland is planted to, where there is a headland and it is planted."""
        return None if self.headland.where == "none" else self.headland.crop

    @property
    def curved(self) -> bool:
        """Whether rows follow a line or a circle."""
        return self.direction.along is not None or self.direction.pivot is not None

    @property
    def sprayers(self) -> dict[str, Sprayer]:
        """The sprayers, by name."""
        return {n: m for n, m in self.machines.items() if isinstance(m, Sprayer)}

    @property
    def sprays(self) -> bool:
        """Whether an operation sprays a crop that is grown."""
        grown = {wish.crop for wish in self.strips}
        grown |= set(self.row_set.units if self.row_set is not None else ())
        grown |= {self.headland_crop} if self.headland_crop is not None else set()
        asked = (one.crops for one in self.operations if one.does == "spray")
        return any(crops == "all" or grown & set(crops) for crops in asked)

    @property
    def following(self) -> frozenset[str]:
        """What is sown after a harvest: crops and mixtures."""
        return frozenset(one.crop for one in self.after_harvest)

    def is_done_to(self, wish: OperationWish, label: str) -> bool:
        """Tell whether an operation is done to a crop or mixture.

        One on all crops is done to those that strips grow of their own: what follows a harvest is
        not there that day.
        """
        if wish.crops == "all":
            return label not in self.following
        return label in wish.crops

    def treatments(self, labels: Sequence[str]) -> tuple[Treatment, ...]:
        """What is done to crops between planting and harvest, each once.

        Where no operation sprays, the first sprayer sprays each crop by itself.

        Args:
            labels: crops and mixtures that strips, or the headland, grow; what follows a harvest is
                treated where an operation names it.
        """
        between = [one for one in self.operations if one.does not in {"plant", "harvest"}]
        found = []
        for one in between:
            crops = tuple(label for label in labels if self.is_done_to(one, label))
            if crops:
                found.append(Treatment(one.does, one.machine, crops))
        if self.sprayers and not self.sprays:
            sprayer = next(iter(self.sprayers))
            own = (label for label in labels if label not in self.following)
            found += [Treatment("spray", sprayer, (label,)) for label in own]
        return tuple(dict.fromkeys(found))

    @property
    def headland_width_m(self) -> float:
        """Width of the headland; 0 where there is none."""
        headland = self.headland
        if headland.where == "none":
            return 0.0
        if headland.width_m is not None:
            return headland.width_m
        assert headland.passes is not None and headland.machine is not None  # noqa: PT018, S101 - checked
        return headland.passes * self.machines[headland.machine].width_m
