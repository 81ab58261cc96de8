"""Judge the five systems for a plan: whether each can be done, what it needs, gives and risks.

No score: reasons. Each comes with tables that put it into the plan, and `lay` takes them.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from striplay.cautions import cautions_for
from striplay.choosing.between_rows import draft_quick, draft_relay
from striplay.choosing.evidence import NO_SOURCE, OF_SYSTEM, Evidence, of_edges
from striplay.choosing.setting import Draft, Setting
from striplay.choosing.side_by_side import draft_mixed, draft_rows, draft_strips
from striplay.choosing.tables import put_in, written
from striplay.economics.edges import edge_table
from striplay.errors import PlanError
from striplay.files.edge_table import published_edges
from striplay.files.plan import checked, read_tables
from striplay.flow import lays, read_ground
from striplay.growing import Season, pairs_of, season_of
from striplay.plan.models import Plan
from striplay.season.together import together_in
from striplay.section.contour import contour_warnings, rollover_caution
from striplay.section.occasions import occasions_of
from striplay.section.section import Section
from striplay.section.sequence import said_of_swap, set_notices
from striplay.section.sets import wished_strips
from striplay.section.systems import sections_of

SYSTEMS: dict[str, Callable[[Setting], Draft]] = {
    "rows": draft_rows,
    "strips": draft_strips,
    "mixed stand": draft_mixed,
    "relay": draft_relay,
    "quick crop": draft_quick,
}
"""The five, in the order told: rows are row sets, several crops in one planter pass."""
TOLD_OF_PAIRS = ("height", "herbicides")
"""What of how crops suit each other is to be watched where they stand together."""
LATITUDE_DEG = 42.0
"""Where shade is judged for without a field: the middle of the corn belt."""
TOGETHER = {"several crops", "crop between rows", "crops in one row", "no harvester"}
"""What of a set calls for cautions that are told here; the others stand on the sheets."""


@dataclass(frozen=True)
class Judged:
    """One system, judged for a plan.

    Attributes:
        system: rows, strips, mixed stand, relay or quick crop.
        what: which crops and machines it would be here.
        feasible: whether it can be done as the plan stands: nothing is needed.
        needs: which machine, key, day or crop is missing, or stands in the way.
        gives: what trials and advisers found, each with its source.
        watch: what to mind.
        snippet: tables that put it into the plan, in place of those of the same name and of all
            that make its set.
        tables: the same as TOML holds them.
    """

    system: str
    what: str
    feasible: bool
    needs: tuple[str, ...]
    gives: tuple[Evidence, ...]
    watch: tuple[str, ...]
    snippet: str
    tables: Mapping[str, Any] = field(default_factory=dict, repr=False)


def judge_systems(file: str | Path) -> list[Judged]:
    """Judge the five systems for a plan's field, shed, season and slope.

    Args:
        file: the plan's file.

    Raises:
        PlanError: a plan that can't be used, or one without crops.
        BoundaryError: a boundary that can't be used.
    """
    tables = read_tables(file)
    plan = checked(tables, Path(file))
    wished_strips(plan)  # refuses a plan without crops
    return judge_in(Setting(plan, tables, None if plan.field is None else read_ground(plan)))


def judge_in(setting: Setting) -> list[Judged]:
    """Judge the five systems for a plan whose field is read already."""
    return [_drafted(setting, system) for system in SYSTEMS]


def _drafted(setting: Setting, system: str) -> Judged:
    """Draft a system and judge it; one that can't even be drafted says why, without tables."""
    try:
        return _judged(setting, system, SYSTEMS[system](setting))
    except PlanError as error:
        gives = tuple(OF_SYSTEM[system])
        return Judged(system, "not drafted", False, error.faults, gives, (), "")  # noqa: FBT003


def _judged(setting: Setting, system: str, draft: Draft) -> Judged:
    """Judge a drafted system as if it stood in the plan."""
    plan = checked(put_in(setting.tables, draft.tables), setting.plan.path)
    section = sections_of(plan)[0]
    season = season_of(plan, section, south=setting.south)
    stops = [one.told for one in season.conflicts
             if one.severity == "stop"]  # fmt: skip
    needs = [
        *draft.needs,
        *_past(plan, draft),
        *(f"another day or machine: {said}" for said in dict.fromkeys(stops)),
    ]
    if setting.ground is not None and not lays(plan, setting.ground):
        needs.append("a larger field, or narrower headlands: no strip of this set can be laid")
    return Judged(
        system=system,
        what=draft.what,
        feasible=not needs,
        needs=tuple(needs),
        gives=tuple(_gives(system, plan, section)),
        watch=tuple(_watch(setting, plan, section, season)),
        snippet=written(draft.tables, draft.remarks),
        tables=draft.tables,
    )


def _past(plan: Plan, draft: Draft) -> Iterator[str]:
    """Ask for another season where an example's day of sowing is past on the day of the plan."""
    for name, crop in draft.tables.get("crops", {}).items():
        sown = crop.get("sown")
        past = isinstance(sown, date) and plan.printed is not None and sown < plan.printed
        if crop.get("example") and past:
            yield (
                f"a season to come: {name} would be sown {sown}, which is past on {plan.printed}, "
                "the day of the plan"
            )


def _gives(system: str, plan: Plan, section: Section) -> list[Evidence]:
    """Say what is known of a system; of crops side by side what rows at their edges yield."""
    found = list(OF_SYSTEM[system])
    if system not in {"rows", "strips"}:
        return found
    table = edge_table(plan, published_edges())
    labels = section.labels
    studies = [one for crop in labels for beside in labels for one in table.pairs(crop, beside)]
    edges = of_edges(studies)
    if not edges:
        pair = " and ".join(labels)
        edges = [Evidence(f"of rows of {pair} beside each other no trial is at hand", NO_SOURCE)]
    return [*edges, *found]


def _watch(setting: Setting, plan: Plan, section: Section, season: Season) -> list[str]:
    """Say what to mind: slope, wheels and headers, days, how crops suit each other, cautions."""
    crops, widths_m = zip(*((one.crop, one.width_m) for one in section.strips), strict=True)
    asked = occasions_of(plan, section) & TOGETHER
    cautions = [one.short or f"{one.about}: {one.text}" for one in cautions_for(asked)
                if one.when != "always"]  # fmt: skip
    notices = [
        *contour_warnings(plan, section),
        *section.notices,
        *set_notices(plan, section.strips),
    ]
    found = [*(one.text for one in rollover_caution(plan.slope)), *cautions]
    found += [one.text for one in notices]
    swap = said_of_swap(plan, crops, widths_m)
    if "can't" in swap:
        found.append(swap)
    found += [one.told for one in season.conflicts
              if one.severity == "mind"]  # fmt: skip
    found += [one.text for one in season.untold]
    together = together_in(section)
    heading = plan.direction.heading
    heading_deg = None if heading == "best" or plan.curved else float(heading)
    latitude_deg = LATITUDE_DEG if setting.ground is None else (
        setting.ground.plane.latitude_deg
    )  # fmt: skip
    found += [
        f"{' and '.join(one.crops)}, {one.about}: {one.said} ({one.source})"
        for one in pairs_of(plan, section, season, latitude_deg, heading_deg)
        if one.about in TOLD_OF_PAIRS
        and (one.about == "height" or frozenset(one.crops) in together)
    ]
    return list(dict.fromkeys(found))
