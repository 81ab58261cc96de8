"""Name what of a season its figures leave out: harvests without a harvester, work on no land."""

from collections.abc import Iterable

from striplay.notices import few
from striplay.operations.jobs import Job
from striplay.operations.judged import left_out
from striplay.operations.told import not_harvested
from striplay.plan.models import Plan
from striplay.section.section import Section


def harvests_uncounted(plan: Plan, section: Section) -> tuple[str, ...]:
    """Name the harvests that no figure of passes, hours and cost counts: no harvester is given.

    Args:
        plan: its crops.
        section: the set.
    """
    crops = not_harvested(plan, section)
    return (f"harvest of {few(crops)}",) if crops else ()


def uncounted(plan: Plan, section: Section, jobs: Iterable[Job]) -> tuple[str, ...]:
    """Name all that is driven nowhere: these harvests, and operations on no land.

    Args:
        plan: its crops and operations.
        section: the set.
        jobs: those of the season that are driven.
    """
    none = (f"{wish.does} by {wish.machine}" for _, wish in left_out(plan, jobs))
    return (*harvests_uncounted(plan, section), *none)


def not_counted(what: Iterable[str]) -> str:
    """Say that so much is not counted; empty where all is.

    >>> not_counted(["harvest of corn", "spray by sprayer"])
    'not counted: harvest of corn and spray by sprayer'
    """
    named = tuple(what)
    return f"not counted: {few(named)}" if named else ""
