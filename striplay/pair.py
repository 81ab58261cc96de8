"""Pair crops by name, with a plan's own values where there is one."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from pathlib import Path
from typing import Literal

from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.growing import season_of
from striplay.plan.crops import Crop
from striplay.plan.faults import nearest
from striplay.plan.models import Plan
from striplay.season.facts import CropFacts, facts_of
from striplay.season.pairing import Judgement, judge_pairs
from striplay.season.setting import Setting
from striplay.season.together import Together, in_one_row, together_in
from striplay.section.mixture import crops_named
from striplay.section.systems import sections_of
from striplay.units import UnitSystem

LATITUDE_DEG, HEADING_DEG = 42.0, 0.0
"""Where and how crops stand when neither the user nor a plan says."""


@dataclass(frozen=True)
class Asked:
    """Where and how crops would stand; what is None is the plan's, or a default.

    Attributes:
        latitude_deg: north above 0.
        heading_deg: direction of the rows.
        day: the day shade is judged for.
        units: how lengths and weights are written.
    """

    latitude_deg: float | None = None
    heading_deg: float | None = None
    day: date | None = None
    units: UnitSystem | None = None


@dataclass(frozen=True)
class Paired:
    """How crops suit each other.

    Attributes:
        judged: point by point, every pair of them.
        setting: where and how they would stand.
        notices: whose values were taken from where, and which are lacking.
    """

    judged: list[Judgement]
    setting: Setting
    notices: list[str]


def pair_crops(names: Sequence[str], asked: Asked, plan_file: Path | None = None) -> Paired:
    """Judge how crops suit each other, every pair of them.

    Args:
        names: crops of the table, or of the plan.
        asked: latitude, heading, day and units; what is not None goes before the plan's.
        plan_file: a plan whose values go before the table's.

    Raises:
        PlanError: fewer than two crops, one named twice, or one that neither table nor plan knows.
    """
    plan = None if plan_file is None else read_plan(plan_file)
    table = crop_table()
    if len(set(names)) < len(names):
        raise PlanError("pair", ["names a crop twice"])
    mixed: dict[frozenset[str], Literal["row", "strip"]] = {}
    if plan is not None:
        for name in names:
            mixed.update(in_one_row(_parts(plan, name)))
        # a crop may stand in two mixtures, or in one and alone
        names = list(dict.fromkeys(part for name in names for part in _parts(plan, name)))
    _check_names(names, table, {} if plan is None else plan.crops)
    crops = [facts_of(n, table, None if plan is None else plan.crops.get(n)) for n in names]
    if plan is None:
        setting = Setting(
            LATITUDE_DEG if asked.latitude_deg is None else asked.latitude_deg,
            HEADING_DEG if asked.heading_deg is None else asked.heading_deg,
            asked.day,
            asked.units or "us",
        )
        return Paired(judge_pairs(crops, setting, {}), setting, [])
    season, setting = season_of(plan), _of_plan(plan, asked)
    judged = judge_pairs(crops, setting, season.spans, {**_together(plan), **mixed})
    told = [*_heading_notices(plan, asked, setting), *_notices(plan, crops, table)]
    return Paired(judged, setting, [*told, *season.untold])


def _check_names(
    names: Sequence[str], table: Mapping[str, CropFacts], own: Mapping[str, Crop]
) -> None:
    """Refuse fewer than two crops, unknown ones, and one crop under two names."""
    if len(names) < TWO:
        raise PlanError("pair", ["needs two crops or more, such as: striplay pair corn soybean"])
    known = {**table, **own}
    faults = [f'no crop "{name}"{nearest(name, known)}' for name in names if name not in known]
    if faults:
        raise PlanError(
            "pair", [*faults[:-1], f"{faults[-1]}; known are {', '.join(sorted(known))}"]
        )
    for one, other in combinations(names, 2):
        alike = one in table and other in table and table[one].kind == table[other].kind
        # a plan may hold two sorts of one crop
        if alike and not (one in own and other in own):
            raise PlanError("pair", [f"{one} and {other} are one crop; name it once"])


def _together(plan: Plan) -> Together:
    """Tell which crops share a strip of the plan; none where it has no strips that fit."""
    try:
        return together_in(sections_of(plan)[0])
    except PlanError:
        return {}


def _heading_notices(plan: Plan, asked: Asked, setting: Setting) -> Iterable[str]:
    """Say where rows were taken to run some way for want of a heading."""
    if asked.heading_deg is not None:
        return
    taken = f"shade is judged for rows at {setting.heading_deg:g} degrees; --heading says another"
    if plan.curved:
        yield f"direction: rows along a curve have no one heading; {taken}"
    elif plan.direction.heading == "best":
        yield f'direction.heading: "best" is found by lay, not by pair; {taken}'


def _notices(
    plan: Plan, crops: Iterable[CropFacts], table: Mapping[str, CropFacts]
) -> Iterable[str]:
    """Say of which crops the plan says nothing, and of which nothing at all is known."""
    for crop in crops:
        own = plan.crops.get(crop.name)
        if own is None:
            yield f"{crop.name}: is not in the plan; the table's values are used"
        elif not crop.known and (own.like is None or own.like in table):
            yield (
                f"{crop.name}: nothing is known of it; under [crops.{crop.name}] set like (a crop "
                "of the table it grows like), or height, roots, family and shade"
            )


def _parts(plan: Plan, name: str) -> list[str]:
    """Give the crops of a mixture, or the crop itself."""
    return list(crops_named(plan, name))


TWO = 2


def _of_plan(plan: Plan, asked: Asked) -> Setting:
    """Take what is not asked from the plan: units, its field's latitude, a heading it states."""
    heading_deg, latitude_deg = asked.heading_deg, asked.latitude_deg
    if heading_deg is None:
        stated = plan.direction.heading
        heading_deg = HEADING_DEG if stated == "best" or plan.curved else float(stated)
    if latitude_deg is None:
        latitude_deg = LATITUDE_DEG if plan.field is None else read_ground(plan).plane.latitude_deg
    return Setting(latitude_deg, heading_deg, asked.day, asked.units or plan.units)
