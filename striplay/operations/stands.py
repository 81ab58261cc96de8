"""Tell what stands on a field when each job of the season is done."""

from collections.abc import Mapping, Sequence
from datetime import date

from striplay.operations.jobs import Job, crops_of


def standing_at(
    jobs: Sequence[Job], days: Mapping[tuple[str, str], date]
) -> tuple[frozenset[str], ...]:
    """Name the crops that stand, or may stand, while each job is done.

    What a job itself plants or harvests is left out. A crop stands from the first job that plants
    it to the last that harvests it. A job between those without a day may be done whenever one of
    its crops stands, so all that stand with them then are named.

    Args:
        jobs: in their order.
        days: when each planting and harvest happens, by operation and crop, for crops that no job
            of the plan harvests.
    """
    planted: dict[str, int] = {}
    harvested: dict[str, int] = {}
    for place, job in enumerate(jobs):
        for name in crops_of(job):
            if job.does == "plant":
                planted.setdefault(name, place)
            elif job.does == "harvest":
                harvested[name] = place
    found = []
    for place, job in enumerate(jobs):
        first = last = place
        if job.day is None and job.does not in {"plant", "harvest"}:
            own = [name for name in crops_of(job) if name in planted]
            first = min([place, *(planted[name] for name in own)])
            last = max([place, *(harvested.get(name, len(jobs)) for name in own)])
        found.append(
            frozenset(
                name
                for name, sown in planted.items()
                if sown < last
                and harvested.get(name, len(jobs)) > first
                and not _gone(name, job, harvested, days)
            )
        )
    return tuple(found)


def _gone(
    name: str,
    job: Job,
    harvested: Mapping[str, int],
    days: Mapping[tuple[str, str], date],
) -> bool:
    """Tell whether a crop that no job harvests is harvested by a job's day."""
    day = days.get(("harvest", name))
    if name in harvested or day is None or job.day is None:
        return False
    return day <= job.day
