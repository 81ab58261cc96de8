"""Pair crops by name, with a plan's own values where there is one."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.growing import season_of
from striplay.plan.faults import nearest
from striplay.plan.models import Plan
from striplay.season.facts import CropFacts, facts_of
from striplay.season.pairing import Judgement, Setting, judge_pairs


@dataclass(frozen=True)
class Paired:
    """How crops suit each other.

    Attributes:
        judged: point by point, every pair of them.
        notices: whose values were taken from where, and which are lacking.
    """

    judged: list[Judgement]
    notices: list[str]


def pair_crops(names: Sequence[str], setting: Setting, plan_file: Path | None = None) -> Paired:
    """Judge how crops suit each other, every pair of them.

    Args:
        names: crops of the table, or of the plan.
        setting: latitude, heading, day and units; a plan's field, heading and units go before.
        plan_file: a plan whose values go before the table's.

    Raises:
        PlanError: fewer than two crops, or one that neither table nor plan knows.
    """
    plan = None if plan_file is None else read_plan(plan_file)
    table = crop_table()
    if len(set(names)) < len(names):
        raise PlanError("pair", ["names a crop twice"])
    if plan is not None:
        # a crop may stand in two mixtures, or in one and alone
        names = list(dict.fromkeys(part for name in names for part in _parts(plan, name)))
    if len(names) < TWO:
        raise PlanError("pair", ["needs two crops or more, such as: striplay pair corn soybean"])
    known = [*table, *([] if plan is None else plan.crops)]
    faults = [f'no crop "{name}"{nearest(name, known)}' for name in names if name not in known]
    if faults:
        raise PlanError("pair", [*faults, f"known are {', '.join(sorted(set(known)))}"])
    crops = [facts_of(n, table, None if plan is None else plan.crops.get(n)) for n in names]
    if plan is None:
        return Paired(judge_pairs(crops, setting, {}), [])
    season = season_of(plan)
    judged = judge_pairs(crops, _of_plan(plan, setting), season.spans)
    return Paired(judged, [*_notices(plan, crops, table), *season.untold])


def _notices(
    plan: Plan, crops: Iterable[CropFacts], table: Mapping[str, CropFacts]
) -> Iterable[str]:
    """Say of which crops the plan says nothing, and of which nothing at all is known."""
    for crop in crops:
        own = plan.crops.get(crop.name)
        if own is None:
            yield f"{crop.name}: is not in the plan; the table's values are used"
        elif own.like is not None and own.like not in table:
            yield f'crops.{crop.name}.like: no crop "{own.like}" in the table' + nearest(
                own.like, table
            )
        elif not crop.known:
            yield (
                f"{crop.name}: nothing is known of it; under [crops.{crop.name}] set like (a crop "
                "of the table it grows like), or height, roots, family and shade"
            )


def _parts(plan: Plan, name: str) -> list[str]:
    """Give the crops of a mixture, or the crop itself."""
    return list(plan.mixtures[name].parts) if name in plan.mixtures else [name]


TWO = 2


def _of_plan(plan: Plan, setting: Setting) -> Setting:
    """Take the plan's units, its field's latitude and a heading it states."""
    setting = replace(setting, units=plan.units)
    if plan.direction.heading != "best" and not plan.curved:
        setting = replace(setting, heading_deg=float(plan.direction.heading))
    if plan.field is not None:
        setting = replace(setting, latitude_deg=read_ground(plan).plane.latitude_deg)
    return setting
