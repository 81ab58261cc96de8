"""Hold what systems are judged for: a plan as written, its field, season and shed.

What a system needs and the shed or the crops lack is added as an example, and said to be needed.
"""

from collections.abc import Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from striplay.choosing.tables import Tables
from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.ground import Ground
from striplay.growing import season_of
from striplay.plan.machines import Harvester, Planter
from striplay.plan.models import Plan
from striplay.plan.typed import exact_length, exact_small_length
from striplay.season.calendar import Window
from striplay.season.conflicts import grown_as
from striplay.season.facts import CropFacts, facts_of
from striplay.section.after_harvest import layers_besides
from striplay.section.contour import ROW_CROP_M
from striplay.section.mixture import mixtures_of
from striplay.section.section import Section
from striplay.section.systems import sections_of
from striplay.units import INCH_M

ROW_M = {"us": 30 * INCH_M, "metric": 0.75}
"""Spacing of an example's rows."""
HALF_YEAR = timedelta(days=182)
"""From a season north of the equator to that south of it."""


@dataclass(frozen=True)
class Setting:
    """What systems are judged for.

    Attributes:
        plan: the plan.
        tables: its file, as written.
        ground: its field; None where it names none.
    """

    plan: Plan
    tables: Mapping[str, Any] = field(repr=False)
    ground: Ground | None = field(repr=False)

    @property
    def south(self) -> bool:
        """Whether the field lies south of the equator."""
        return self.ground is not None and self.ground.plane.latitude_deg < 0

    @cached_property
    def section(self) -> Section | None:
        """The plan's own set; None where it has none that fits."""
        try:
            return sections_of(self.plan)[0]
        except PlanError:
            return None

    @cached_property
    def windows(self) -> dict[str, Window]:
        """When the plan's crops stand, as far as it says."""
        return season_of(self.plan, south=self.south).windows

    @cached_property
    def labels(self) -> list[str]:
        """Crops and mixtures to make strips of: the set's own, then those between, then all."""
        own = [] if self.section is None else list(self.section.labels)
        if len(own) > 1:
            return own
        between = [layers[0].label for layers in layers_besides(self.plan)]
        several = list(dict.fromkeys([*own, *between]))
        if len(several) > 1:
            return several
        return list(dict.fromkeys([*several, *sorted(grown_as(self.plan, None))]))

    @cached_property
    def crops(self) -> list[str]:
        """Single crops, those of the set first; parts of mixtures and all others after."""
        mixed = mixtures_of(self.plan)
        parts = [part for label in self.labels for part in mixed.get(label, (label,))]
        names = dict.fromkeys([*parts, *self.plan.crops])
        return [name for name in names if name not in mixed]

    def facts(self, crop: str) -> CropFacts:
        """What is known of a crop's growth."""
        return facts_of(crop, crop_table(), self.plan.crops.get(crop))

    def copied(self, table: str, name: str) -> dict[str, Any]:
        """A copy of a named table of the plan, as written."""
        return deepcopy(dict(self.tables[table][name]))

    @cached_property
    def row_planters(self) -> list[str]:
        """Machines that plant rows far enough apart for a crop between, those of the set first."""
        found = [
            (name, one) for name, one in self.plan.machines.items()
            if isinstance(one, Planter) and one.row_units and (one.spacing_m or 0) >= ROW_CROP_M
        ]  # fmt: skip
        used = {self.plan.crops[crop].planter for crop in self.labels if crop in self.plan.crops}
        return [name for name, _ in sorted(found, key=lambda one: one[0] not in used)]

    @cached_property
    def drills(self) -> list[str]:
        """Machines that plant rows closer than that, their openers known."""
        return [
            name for name, one in self.plan.machines.items()
            if isinstance(one, Planter) and one.row_units and (one.spacing_m or 1) < ROW_CROP_M
        ]  # fmt: skip

    @cached_property
    def platforms(self) -> list[str]:
        """Headers that take any rows."""
        return [
            name for name, one in self.plan.machines.items()
            if isinstance(one, Harvester) and one.rows is None
        ]  # fmt: skip

    def free_name(self, wanted: str) -> str:
        """Give a name that no machine, crop or mixture of the plan has."""
        taken = {*self.plan.machines, *self.plan.crops}
        names = (wanted, *(f"{wanted}_{number}" for number in range(2, 100)))
        return next(name for name in names if name not in taken)

    def day(self, month: int, day: int, *, year_before: bool = False) -> date | None:
        """Give an example's day in the plan's season; None where the plan says no days at all."""
        ends = [one.harvested or one.sown for one in self.windows.values()]
        if not ends:
            return None
        found = date(max(ends).year - year_before, month, day)
        return found - HALF_YEAR if self.south else found


@dataclass
class Draft:
    """A system being put together: tables, what is missing for it, and remarks on tables.

    Attributes:
        tables: to put in place of the plan's own.
        needs: what is missing: a machine, a key, a day, a crop.
        remarks: comments over tables, by name.
        what: the system for this plan, in short.
    """

    tables: Tables = field(default_factory=dict)
    needs: list[str] = field(default_factory=list)
    remarks: dict[str, str] = field(default_factory=dict)
    what: str = ""

    def add(self, kind: str, name: str, table: Mapping[str, Any], remark: str = "") -> None:
        """Add a named table."""
        self.tables.setdefault(kind, {})[name] = dict(table)
        if remark:
            self.remarks[f"{kind}.{name}"] = remark

    def change(self, setting: Setting, kind: str, name: str, remark: str, **keys: object) -> None:
        """Change keys of a named table of the plan, or of one added before."""
        own = self.tables.get(kind, {}).get(name) or setting.copied(kind, name)
        self.add(kind, name, {**own, **keys}, remark)


def machine_to_get(setting: Setting, draft: Draft, kind: str, like_m: float) -> str:
    """Add a machine that the shed lacks, as wide as another; give its name.

    Args:
        setting: the plan.
        draft: what it is added to.
        kind: planter, drill or platform.
        like_m: about how wide.
    """
    units, row_m = setting.plan.units, ROW_M[setting.plan.units]
    rows = max(2, round(like_m / row_m))
    table: dict[str, Any]
    if kind == "planter":
        table = {"does": "plant", "rows": rows, "spacing": exact_small_length(row_m, units)}
    elif kind == "drill":
        table = {"does": "plant", "width": exact_length(rows * row_m, units),
                 "spacing": exact_small_length(row_m / 4, units)}  # fmt: skip
    else:
        table = {"does": "harvest", "width": exact_length(rows * row_m, units)}
    name = setting.free_name({"planter": "row_planter"}.get(kind, kind))
    words = {"planter": "a planter in rows", "drill": "a drill whose openers are known",
             "platform": "a platform"}[kind]  # fmt: skip
    draft.needs.append(f"machines.{name}: {words}; the shed has none")
    draft.add(
        "machines",
        name,
        {"example": True, **table},
        "needed, an example: put the farm's own in its place",
    )
    return name


def crop_to_get(
    setting: Setting,
    draft: Draft,
    name: str,
    why: str,
    table: Mapping[str, Any],
    days: Iterable[tuple[str, date | None]],
) -> str:
    """Add a crop that the plan lacks; give its name.

    Args:
        setting: the plan.
        draft: what it is added to.
        name: the crop.
        why: what it is needed for.
        table: its machines and the like.
        days: when it is sown and harvested, where the plan says days.
    """
    named = setting.free_name(name)
    told = {key: day for key, day in days if day is not None}
    like = {} if named == name or name not in crop_table() else {"like": name}
    draft.needs.append(f"crops.{named}: {why}")
    draft.add("crops", named, {"example": True, **table, **like, **told},
              "needed, an example: choose the crop, its machines, rate and days")  # fmt: skip
    return named
