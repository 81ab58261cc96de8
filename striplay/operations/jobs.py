"""List the season's jobs: which machine does what to which crops, by day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from striplay.plan.models import Plan
from striplay.plan.operations import OperationWish, Treatment
from striplay.section.passes import works_on
from striplay.section.section import Section
from striplay.units import Quantity

ORDER = ("till", "plant", "spread", "cultivate", "spray", "mow", "harvest")
"""Kinds of work in the order of the season, where days do not tell."""


@dataclass(frozen=True)
class Job:
    """One operation of the season, on one crop or on several in one go.

    Attributes:
        name: what sheets call it, each job by another name.
        does: plant, spray, spread, cultivate, harvest, mow or till.
        machine: its name in the plan.
        crops: what its passes are called in `Passes.crop`, in the order done.
        day: when it is done; None where not known.
        stage: stage of the crop it is done at, in words; mostly empty.
        product: what is applied; mostly empty.
        rate: how much of it by area; None where nothing is.
        asked: number of the [[operations]] table that asks for it, from 1; 0 for none.
    """

    name: str
    does: str
    machine: str
    crops: tuple[str, ...]
    day: date | None = None
    stage: str = ""
    product: str = ""
    rate: Quantity | None = None
    asked: int = 0


def crops_of(job: Job) -> list[str]:
    """Name the crops and mixtures of a job one by one, those of one pass too."""
    return [name for crop in job.crops for name in crop.split(" + ")]


def jobs_of(plan: Plan, section: Section, days: Mapping[tuple[str, str], date]) -> tuple[Job, ...]:
    """List the season's jobs by day; those without one where their kind of work has its place.

    Args:
        plan: its operations, machines and headland.
        section: the set, whose passes say what is planted and harvested.
        days: when each planting and harvest happens, by operation and crop, as far as known.
    """
    done = _planted_and_harvested(plan, section)
    labels = _labels(plan, section)
    treated = plan.treatments(labels)
    jobs: list[Job] = []
    asked: set[tuple[str, str, str]] = set()
    for number, wish in enumerate(plan.operations, start=1):
        if wish.does in {"plant", "harvest"}:
            mine = [one for one in done if one[:2] == (wish.does, wish.machine)]
            mine = [one for one in mine if _named(wish, one[2].split(" + "))]
            asked |= set(mine)
            crops = tuple(crop for _, _, crop in mine)
        else:
            own = tuple(label for label in labels if plan.is_done_to(wish, label))
            same = [one for one in treated if one.machine == wish.machine and one.crops == own]
            crops = tuple(crop for one in same for crop in _driven_as(section, one))
        if crops:
            day = wish.day or _first_day(days, wish.does, crops)
            said = wish.stage, wish.product, wish.rate, number
            jobs.append(Job(wish.name, wish.does, wish.machine, crops, day, *said))
    done = [one for one in done if one not in asked]
    for does, machine, crop in done:
        jobs.append(Job("", does, machine, (crop,), _first_day(days, does, (crop,))))
    if not plan.sprays:
        jobs += [Job("", "spray", one.machine, _driven_as(section, one)) for one in treated
                 if one.does == "spray" and not {*section.following} & {*one.crops}]  # fmt: skip
    return _named_apart(_in_order(jobs, plan.headland_crop))


def _labels(plan: Plan, section: Section) -> tuple[str, ...]:
    """Name what strips and the headland grow of their own, and what follows in strips."""
    around = [] if plan.headland_crop is None else [plan.headland_crop]
    return tuple(dict.fromkeys([*section.labels, *around, *section.following]))


def _planted_and_harvested(plan: Plan, section: Section) -> list[tuple[str, str, str]]:
    """List plantings and harvests by machine and crop, as passes call them."""
    found = [(one.operation, one.machine, one.crop) for one in section.passes
             if one.operation in {"plant", "harvest"}]  # fmt: skip
    found += [(one.operation, one.machine, crop) for one in section.tramlines
              if one.operation == "plant" for crop in one.crops]  # fmt: skip
    around = plan.headland_crop
    if around is not None:
        found += [(work.operation, work.machine, around) for work in works_on(plan, around)
                  if work.operation in {"plant", "harvest"}]  # fmt: skip
    return list(dict.fromkeys(found))


def _named(wish: OperationWish, crops: Sequence[str]) -> bool:
    return wish.crops == "all" or any(crop in wish.crops for crop in crops)


def _driven_as(section: Section, treatment: Treatment) -> tuple[str, ...]:
    """Name what a treatment's passes are of: on tramlines all its crops in one go, else each.

    What follows a harvest stands by itself.
    """
    after = [crop for crop in treatment.crops if crop in section.following]
    own = [crop for crop in treatment.crops if crop not in section.following]
    found: list[str] = []
    for crops in (own, after):
        lines = section.lines_for(treatment.machine, crops)
        found += crops if lines is None else [" + ".join(crops)]
    return tuple(found)


def _first_day(
    days: Mapping[tuple[str, str], date], does: str, crops: Iterable[str]
) -> date | None:
    """Give the first of the days on which some crops are planted or harvested."""
    each = [name for crop in crops for name in (crop, *crop.split(" + "))]
    known = [days[does, name] for name in each if (does, name) in days]
    return min(known, default=None)


def _in_order(jobs: Sequence[Job], around: str | None) -> list[Job]:
    """Order jobs by day; one without a day comes after the earlier kinds of work on its crops.

    Where none of these has a day, after the earlier kinds of work on any.

    Of plantings on one day, the one that plants the headland comes last: no machine turns on it any
    more; of harvests, the one that opens it comes first.
    """
    place = {does: number for number, does in enumerate(ORDER)}
    keys = []
    for number, job in enumerate(jobs):
        rank = place.get(job.does, len(ORDER) - 1)
        earlier = [
            other
            for other in jobs
            if other.day is not None and place.get(other.does, len(ORDER) - 1) <= rank
        ]
        own = [other for other in earlier if set(crops_of(other)) & set(crops_of(job))]
        before = [other.day for other in own or earlier if other.day is not None]
        edge = (around in crops_of(job)) * {"plant": 1, "harvest": -1}.get(job.does, 0)
        keys.append((job.day or max(before, default=date.min), rank, edge, number))
    return [jobs[key[-1]] for key in sorted(keys)]


def _named_apart(jobs: Sequence[Job]) -> tuple[Job, ...]:
    """Name jobs that have no name by their work, and number those of one name."""
    names = [job.name or f"{job.does} {' and '.join(job.crops)}" for job in jobs]
    found = []
    taken: set[str] = set()
    for job, name in zip(jobs, names, strict=True):
        apart, number = name, 1
        while apart in taken or (number > 1 and apart in names):
            number += 1
            apart = f"{name} {number}"
        taken.add(apart)
        found.append(replace(job, name=apart))
    return tuple(found)
