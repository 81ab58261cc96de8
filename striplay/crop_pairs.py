"""Pair crops by name, with a plan's own values where there is one."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING, Literal

from striplay.errors import PlanError
from striplay.files.crop_table import crop_table
from striplay.notices import Notice
from striplay.season.facts import CropFacts, facts_of
from striplay.season.pairing import Judgement, judge_pairs
from striplay.season.setting import Setting
from striplay.season.together import Together, in_one_row, together_in
from striplay.units import UnitSystem

if TYPE_CHECKING:
    from striplay.plan.crops import Crop
    from striplay.plan.models import Plan

LATITUDE_DEG, HEADING_DEG = 42.0, 0.0
"""Where and how crops stand when neither the user nor a plan says."""


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
    notices: list[Notice]


def pair(
    crops: Sequence[str],
    plan: "Plan | None" = None,
    *,
    latitude_deg: float | None = None,
    heading_deg: float | None = None,
    day: date | None = None,
    units: UnitSystem | None = None,
) -> Paired:
    """Judge how crops suit each other, every pair of them.

    Args:
        crops: two or more, of the table or of the plan.
        plan: its values go before the table's; its field and heading are taken.
        latitude_deg: north above 0; left out: the field's of the plan, else 42.
        heading_deg: direction of the rows, clockwise from true north; left out: the plan's where
            it states one, else 0.
        day: the day shade is judged for; left out: all days on which the plan has both in the
            field, else one in high summer.
        units: how lengths and weights are written; left out: the plan's, else "us".

    Raises:
        PlanError: fewer than two crops, one named twice, or one that neither table nor plan knows.
        BoundaryError: the plan's boundary can't be used, and no latitude is given.
    """
    table, names = crop_table(), list(crops)
    if len(set(names)) < len(names):
        raise PlanError("pair", ["names a crop twice"])
    mixed: dict[frozenset[str], Literal["row", "strip"]] = {}
    if plan is not None:
        for name in names:
            mixed.update(in_one_row(_parts(plan, name)))
        # a crop may stand in two mixtures, or in one and alone
        names = list(dict.fromkeys(part for name in names for part in _parts(plan, name)))
    _check_names(names, table, {} if plan is None else plan.crops)
    facts = [facts_of(n, table, None if plan is None else plan.crops.get(n)) for n in names]
    if plan is None:
        setting = Setting(
            LATITUDE_DEG if latitude_deg is None else latitude_deg,
            HEADING_DEG if heading_deg is None else heading_deg,
            day,
            units or "us",
        )
        return Paired(judge_pairs(facts, setting, {}), setting, [])
    from striplay.growing import season_of  # noqa: PLC0415 - slow to load, and only with a plan

    season = season_of(plan)
    setting = Setting(
        _latitude_deg(plan) if latitude_deg is None else latitude_deg,
        _heading_deg(plan) if heading_deg is None else heading_deg,
        day,
        units or plan.units,
    )
    judged = judge_pairs(facts, setting, season.spans, {**_together(plan), **mixed})
    told = [*_lacking(plan, facts, table)]
    if heading_deg is None:
        told = [*_heading_notices(plan, setting), *told]
    return Paired(judged, setting, [*told, *season.untold])


def _check_names(
    names: Sequence[str], table: Mapping[str, CropFacts], own: Mapping[str, "Crop"]
) -> None:
    """Refuse fewer than two crops, unknown ones, and one crop under two names."""
    if len(names) < TWO:
        raise PlanError("pair", ["needs two crops or more, such as: striplay pair corn soybean"])
    known = {**table, **own}
    unknown = [name for name in names if name not in known]
    if unknown:
        raise PlanError("pair", _unknown(unknown, known))
    for one, other in combinations(names, 2):
        alike = one in table and other in table and table[one].kind == table[other].kind
        # a plan may hold two sorts of one crop
        if alike and not (one in own and other in own):
            raise PlanError("pair", [f"{one} and {other} are one crop; name it once"])


def _unknown(names: Sequence[str], known: Iterable[str]) -> list[str]:
    """Say that crops are not known, and what comes nearest."""
    from striplay.plan.faults import nearest  # noqa: PLC0415 - the plan's models are slow to load

    faults = [f'no crop "{name}"{nearest(name, known)}' for name in names]
    return [*faults[:-1], f"{faults[-1]}; known are {', '.join(sorted(known))}"]


def _together(plan: "Plan") -> Together:
    """Tell which crops share a strip of the plan; none where it has no strips that fit."""
    from striplay.section.systems import sections_of  # noqa: PLC0415 - only with a plan

    try:
        return together_in(sections_of(plan)[0])
    except PlanError:
        return {}


def _heading_notices(plan: "Plan", setting: Setting) -> Iterable[Notice]:
    """Say where rows were taken to run some way for want of a heading."""
    taken = f"shade is judged for rows at {setting.heading_deg:g} degrees; --heading says another"
    if plan.curved:
        told = f"direction: rows along a curve have no one heading; {taken}"
        yield Notice("heading", "know", None, told)
    elif plan.direction.heading == "best":
        told = f'direction.heading: "best" is found by lay, not by pair; {taken}'
        yield Notice("heading", "know", None, told)


def _lacking(
    plan: "Plan", crops: Iterable[CropFacts], table: Mapping[str, CropFacts]
) -> Iterable[Notice]:
    """Say of which crops the plan says nothing, and of which nothing at all is known."""
    for crop in crops:
        own = plan.crops.get(crop.name)
        if own is None:
            told = f"{crop.name}: is not in the plan; the table's values are used"
            yield Notice("crop", "know", None, told)
        elif not crop.known and (own.like is None or own.like in table):
            told = (
                f"{crop.name}: nothing is known of it; under [crops.{crop.name}] set like (a crop "
                "of the table it grows like), or height, roots, family and shade"
            )
            yield Notice("crop", "mind", None, told)


def _parts(plan: "Plan", name: str) -> list[str]:
    """Give the crops of a mixture, or the crop itself."""
    from striplay.section.mixture import crops_named  # noqa: PLC0415 - of no use without a plan

    return list(crops_named(plan, name))


TWO = 2


def _heading_deg(plan: "Plan") -> float:
    """Give the heading a plan states, or a default."""
    stated = plan.direction.heading
    return HEADING_DEG if stated == "best" or plan.curved else float(stated)


def _latitude_deg(plan: "Plan") -> float:
    """Give the latitude of a plan's field, or a default."""
    from striplay.flow import latitude_deg_of  # noqa: PLC0415 - the geospatial libraries are heavy

    found = latitude_deg_of(plan)
    return LATITUDE_DEG if found is None else found
