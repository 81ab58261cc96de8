"""Say when jobs are done, and how many hours machines are asked for week by week."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from striplay.limits import MAX_JOB_DAYS
from striplay.operations.jobs import Job, crops_of
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import DAY_SHARE
from striplay.units import HOUR_S

DAYS_A_WEEK = 7
"""Every day of a week is one that can be worked: the most there is (our choice)."""

Timed = Sequence[tuple[Job, float]]
"""Jobs, each with how long it takes, in seconds."""


@dataclass(frozen=True, slots=True)
class Span:
    """The days a job takes, waiting included; days are numbers as `date.toordinal` has them.

    Attributes:
        job: what is done.
        days: working days it takes, at the hours a day of its machine.
        start: when it can begin: on its day, or later the same day or another.
        waits_for: the job that it waits for longest; None where it begins on its day's start.
        shares: what it shares with that: its machine, or the ground.
    """

    job: Job
    days: float
    start: float
    waits_for: Job | None = None
    shares: Literal["machine", "ground", ""] = ""

    @property
    def end(self) -> float:
        """When it ends."""
        return self.start + self.days

    @property
    def last(self) -> date:
        """The last day it takes."""
        return _last(self.start, self.days)

    @property
    def last_alone(self) -> date:
        """The last day it would take did it wait for no other."""
        return _last(_asked(self.job), self.days)

    @property
    def late_days(self) -> int:
        """How many days later it ends for waiting."""
        return (self.last - self.last_alone).days


def _asked(job: Job) -> int:
    assert job.day is not None  # noqa: S101 - only jobs with a day have a span
    return job.day.toordinal()


def _last(start: float, days: float) -> date:
    number = max(math.floor(start), math.ceil(start + days - DAY_SHARE) - 1)
    return date.fromordinal(min(number, date.max.toordinal()))


def spans_of(plan: Plan, section: Section, timed: Timed) -> tuple[Span, ...]:
    """Say when each job that has a day is done, in the order of their days.

    A job begins on its day, once its machine is done with earlier jobs and its ground is free: jobs
    before it on its crop are done, and a crop that stood in its strip is harvested.

    Args:
        plan: hours a day of each machine.
        section: the set, which says what is sown into the strip of what.
        timed: the jobs; those of one day in the order they are done.
    """
    hosts = {(layer.label, layer.host) for layer in section.layers if layer.host}
    found: list[Span] = []
    dated = [(job, total_s) for job, total_s in timed if job.day is not None]
    for job, total_s in sorted(dated, key=lambda one: _asked(one[0])):
        span = Span(job, days_of(plan, job, total_s), float(_asked(job)))
        for before in found:
            same = before.job.machine == job.machine
            if before.end > span.start and (same or on_one_ground(before.job, job, hosts)):
                shares: Literal["machine", "ground"] = "machine" if same else "ground"
                span = Span(job, span.days, before.end, before.job, shares)
        found.append(span)
    return tuple(found)


def days_of(plan: Plan, job: Job, total_s: float) -> float:
    """Give the working days a job takes, at the hours a day of its machine; a year's at most."""
    return min(total_s / (plan.machines[job.machine].hours_a_day * HOUR_S), MAX_JOB_DAYS)


def on_one_ground(before: Job, after: Job, hosts: Iterable[tuple[str, str]]) -> bool:
    """Tell whether a job needs the ground that one before it works.

    Either they work one crop, or the later plants what follows the crop that the other harvests.

    Args:
        before: the job before.
        after: the job.
        hosts: what is sown into the strip of which crop.
    """
    former, latter = set(crops_of(before)), set(crops_of(after))
    if former & latter:
        return True
    follows = before.does == "harvest" and after.does == "plant"
    return follows and any(
        (one in latter and other in former) or (one in former and other in latter)
        for one, other in hosts
    )


@dataclass(frozen=True, slots=True)
class WeekHours:
    """The hours that a machine is asked for in a week of the calendar.

    Attributes:
        machine: its name in the plan.
        week: year and week, as ISO 8601 numbers them; None for jobs without a day.
        asked_s: time of its jobs, each from its day on, in seconds.
        most_s: the most it can give: all days of the week at its hours a day; None without a week.
    """

    machine: str
    week: tuple[int, int] | None
    asked_s: float
    most_s: float | None


def week_hours(plan: Plan, timed: Timed) -> tuple[WeekHours, ...]:
    """Say how many hours each machine is asked for, week by week; jobs without a day come last.

    A job that takes longer than a day runs on into the days, and weeks, after it.
    """
    asked: Counter[tuple[str, tuple[int, int] | None]] = Counter()
    for job, total_s in timed:
        a_day_s = plan.machines[job.machine].hours_a_day * HOUR_S
        if job.day is None:
            asked[job.machine, None] += total_s  # type: ignore[assignment]
            continue
        left_s, number = days_of(plan, job, total_s) * a_day_s, _asked(job)
        while left_s > 0:
            year, week, weekday = date.fromordinal(number).isocalendar()
            took_s = min(left_s, (DAYS_A_WEEK + 1 - weekday) * a_day_s)
            asked[job.machine, (year, week)] += took_s  # type: ignore[assignment]
            left_s, number = left_s - took_s, number + DAYS_A_WEEK + 1 - weekday
    order = sorted(asked, key=lambda key: (list(plan.machines).index(key[0]), key[1] or (9999, 99)))
    return tuple(
        WeekHours(
            name, week, float(asked[name, week]),
            None if week is None else DAYS_A_WEEK * plan.machines[name].hours_a_day * HOUR_S,
        )
        for name, week in order
    )  # fmt: skip
