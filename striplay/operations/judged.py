"""Judge each operation of the season: whether it can be done, and what it takes."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from striplay.ground import Ground
from striplay.notices import Notice, gravest_first
from striplay.operations.amounts import Amount, amounts_of, fills_on, load_of, loads_on
from striplay.operations.capacity import WeekHours, spans_of, week_hours
from striplay.operations.fills import Fills, Loads, fill_words
from striplay.operations.hours import Fuel, Hours, fuel_of, hours_of
from striplay.operations.jobs import Job, crops_of
from striplay.operations.lanes import in_the_way, lane_of
from striplay.operations.passes import Swept
from striplay.operations.route import Route
from striplay.operations.standing import Beside, standing_beside
from striplay.operations.stands import standing_at
from striplay.operations.unloading import not_judged, unloading_verdict
from striplay.operations.verdicts import efficiency_notices, tank_notices, window_notices
from striplay.operations.wheels_told import wheel_verdicts
from striplay.plan.models import Plan
from striplay.plan.operations import OperationWish
from striplay.season.conflicts import Conflict
from striplay.section.section import Section
from striplay.units import MILE_M

Geometries = npt.NDArray[np.object_]

Answer = Literal["yes", "at a cost", "no"]
ANSWERS: Mapping[str, Answer] = {"stop": "no", "mind": "at a cost", "know": "yes"}
"""What the gravest notice of an operation comes to."""


@dataclass(frozen=True)
class Worked:
    """An operation's passes in the order driven, and what is told of each.

    Attributes:
        route: its passes in order.
        beside: what stands on either side of each.
        amounts: what each uses or brings in.
        fills: where its machine fills or unloads; None where that is not known.
        fill_words: the same in words, (n,).
    """

    route: Route
    beside: Beside = field(repr=False)
    amounts: tuple[Amount, ...] = field(repr=False)
    fills: Fills | None = field(repr=False)
    fill_words: Geometries = field(repr=False)

    @property
    def job(self) -> Job:
        """What is done."""
        return self.route.job


@dataclass(frozen=True)
class Judged(Worked):
    """An operation as it is driven, and whether it can be done.

    Attributes:
        loads: what goes in or out at each; None likewise.
        hours: the time it takes.
        fuel: the diesel it burns; None where nothing is published of its kind of work.
        notices: what was found of it, the gravest first.
    """

    loads: Loads | None = field(repr=False)
    hours: Hours = field(repr=False)
    fuel: Fuel | None
    notices: tuple[Notice, ...]

    @property
    def answer(self) -> Answer:
        """Yes, at a cost, or no."""
        return ANSWERS[self.notices[0].severity] if self.notices else "yes"

    @property
    def reason(self) -> str:
        """The gravest of what was found; empty where it can be done without more."""
        return "" if self.answer == "yes" else self.notices[0].text


@dataclass(frozen=True)
class Operations:
    """The season's operations, judged.

    Attributes:
        each: in the order done.
        weeks: hours asked of each machine by week of the calendar.
        together: what was found of all together.
    """

    each: tuple[Judged, ...]
    weeks: tuple[WeekHours, ...]
    together: tuple[Notice, ...]

    @property
    def notices(self) -> list[Notice]:
        """What was found of all together, and of each, the gravest first.

        Where machines reach over what they should not is told of the passes, not here again.
        """
        each = (notice for one in self.each for notice in one.notices if not notice.machines)
        return gravest_first([*self.together, *each])


@dataclass(frozen=True)
class Setting:
    """Where and when operations are done.

    Attributes:
        section: the set.
        blocks: the field's blocks, by index.
        headland: its polygons, on the local plane.
        ground: the field.
        days: when each planting and harvest happens, by operation and crop, as far as known.
        conflicts: what stands in the way of operations on their days.
        standing: from when to when each crop stands; without an end where that is not known.
    """

    section: Section
    blocks: Sequence[Swept]
    headland: Geometries
    ground: Ground
    days: Mapping[tuple[str, str], date]
    conflicts: Sequence[Conflict]
    standing: Mapping[str, tuple[date, date | None]]


def work(plan: Plan, routes: Sequence[Route], setting: Setting) -> tuple[Worked, ...]:
    """Tell what stands beside each pass, what it uses and where its machine fills.

    Args:
        plan: machines, crops and operations.
        routes: the season's jobs as they are driven.
        setting: where and when.
    """
    beside = standing_beside(routes, setting.blocks, setting.headland, setting.days)
    stands = standing_at([route.job for route in routes], setting.days)
    found = []
    for route, sides, up in zip(routes, beside, stands, strict=True):
        used = amounts_of(plan, setting.section, route)
        fills, words = _filled(plan, route, used, setting, up)
        found.append(Worked(route, sides, used, fills, words))
    return tuple(found)


def judge(
    plan: Plan, worked: Sequence[Worked], setting: Setting, reaches: Sequence[Notice]
) -> Operations:
    """Judge every operation: room to turn, wheels, what stands beside, loads, hours and days.

    Args:
        plan: machines, crops and operations.
        worked: the season's jobs as they are driven.
        setting: where and when.
        reaches: where machines reach out of the field or over obstacles.
    """
    section, plane = setting.section, setting.ground.plane
    routes = [one.route for one in worked]
    jobs = [route.job for route in routes]
    stands = standing_at(jobs, setting.days)
    timed = [hours_of(plan, one.route, one.fills) for one in worked]
    spent = [(job, hours.total_s) for job, hours in zip(jobs, timed, strict=True)]
    told = [
        *_gate(plan, routes, setting.ground),
        *_unstated(plan, jobs),
        *_left_out(plan, jobs),
        *_out_of_season(plan, jobs, setting.standing),
        *of_conflicts(jobs, setting.conflicts),
        *wheel_verdicts(plan.without_trial, section.plain, jobs, setting.days),
        *not_judged(plan, jobs),
        *window_notices(plan, spans_of(plan, section, spent)),
    ]
    found = []
    uncounted: list[Notice] = []
    for one, up, hours in zip(worked, stands, timed, strict=True):
        route, used, fills = one.route, one.amounts, one.fills
        tank = list(tank_notices(plan, route, used, fills, plane))
        uncounted += [notice for notice in tank if notice.severity == "know"]
        own = [
            *_unloading(plan, route, used, setting, up),
            *route.notices,
            *(notice for notice in tank if notice.severity != "know"),
            *efficiency_notices(route, hours),
        ]
        mine = [*(said for said in told if said.job == route.job.name), *_of(route.job, own)]
        mine += (reach for reach in reaches if route.job.machine in reach.machines)
        notices = tuple(gravest_first(mine))
        fuel = fuel_of(plan, route)
        loads = None if fills is None else loads_on(plan, route, used, fills)
        words = one.fill_words
        found.append(Judged(route, one.beside, used, fills, words, loads, hours, fuel, notices))
    common = [*uncounted, *(one for one in told if not one.job)]
    return Operations(tuple(found), week_hours(plan, spent), tuple(gravest_first(common)))


FAR_M = 3000.0
"""A gate farther from its field than this is hardly one: its degrees may be in the wrong order."""


def _gate(plan: Plan, routes: Sequence[Route], ground: Ground) -> Iterator[Notice]:
    """Say where routes begin where no gate is stated, and of one that lies far off."""
    if not routes:
        return
    if plan.gate is None:
        said = (
            "no gate is stated, so each operation comes from the corner of its first pass and goes "
            "back there, wherever that leads; state gate = [longitude, latitude] above all tables"
        )
        yield Notice("operations", "know", None, said)
        return
    away_m = float(shapely.distance(ground.outline, shapely.Point(routes[0].gate_m)))
    if away_m > FAR_M:
        far, name = (away_m / MILE_M, "miles") if plan.units == "us" else (away_m / 1000, "km")
        away = f"{far:,.0f} {name}"
        said = f"gate: lies {away} from the field; is it longitude first, then latitude?"
        yield Notice("operations", "mind", plan.gate, said)


def left_out(plan: Plan, jobs: Iterable[Job]) -> Iterator[tuple[int, OperationWish]]:
    """Give the tables of operations that no pass comes of, each with its number."""
    driven = {job.asked for job in jobs}
    for number, wish in enumerate(plan.operations, start=1):
        if number not in driven:
            yield number, wish


def _left_out(plan: Plan, jobs: Sequence[Job]) -> Iterator[Notice]:
    """Say which they are."""
    for number, wish in left_out(plan, jobs):
        crops = "its crops" if wish.crops == "all" else " and ".join(wish.crops)
        said = (
            f"operations[{number}]: {wish.does} by {wish.machine} is left out: neither a strip "
            f"nor the headland is of {crops}; what is sown between rows goes by its strip's crop"
        )
        yield Notice("operations", "mind", None, said)


def _unstated(plan: Plan, jobs: Sequence[Job]) -> Iterator[Notice]:
    """Say once of what machines turns are reckoned without their length, or with a usual radius."""
    used = dict.fromkeys(job.machine for job in jobs)
    machines = {name: plan.machines[name] for name in used}
    short = [name for name, one in machines.items() if one.length_m is None]
    usual = [name for name, one in machines.items() if one.turning_radius_m is None]
    if short:
        said = f"turns leave no room for the length of {', '.join(short)}: state length of each"
        yield Notice("operations", "know", None, said)
    if usual:
        said = (
            f"turns of {', '.join(usual)} are reckoned with a usual radius: state its "
            "turning_radius"
        )
        yield Notice("operations", "know", None, said)


BEFORE = ("till", "spread", "spray")
"""Work that may be done before its crop is sown."""


def _out_of_season(
    plan: Plan, jobs: Sequence[Job], standing: Mapping[str, tuple[date, date | None]]
) -> Iterator[Notice]:
    """Say which treatments lie on a day when a crop of theirs does not stand."""
    for job in jobs:
        day = job.day
        if day is None or job.does in {"plant", "harvest"}:
            continue
        for name in crops_of(job):
            if name not in standing:
                continue
            begin, end = standing[name]
            soon = job.does in BEFORE and (begin - day).days <= A_SEASON
            reaped = name not in plan.crops or plan.crops[name].reaped
            if end is not None and (day > end or (reaped and day == end)):  # else this ends it
                when = f"is {'harvested' if reaped else 'ended'} by {end.isoformat()}"
            elif day < begin and not soon:
                when = f"is sown on {begin.isoformat()}"
            else:
                continue
            stands = f"{job.name}: no {name} stands on {day.isoformat()}"
            said = f"{stands}: it {when}; is the day right?"
            yield Notice("operations", "mind", None, said, job.name)


A_SEASON = 180
"""Work before sowing is done within so many days of it (our choice)."""


def _unloading(
    plan: Plan,
    route: Route,
    amounts: Sequence[Amount],
    setting: Setting,
    stands: frozenset[str],
) -> Iterable[Notice]:
    """Say of a harvest whether its combine unloads on the go, and whether its tank lasts if not."""
    if route.job.does != "harvest":
        return ()
    holds = plan.machines[route.job.machine].holds
    load = None if holds is None else load_of(amounts, holds)
    if holds is None or load is None:
        return unloading_verdict(plan, route, setting.blocks, setting.ground, stands)
    grain = load.by_unit[holds.si_unit]
    return unloading_verdict(
        plan, route, setting.blocks, setting.ground, stands, grain, holds.value
    )


def _filled(
    plan: Plan,
    route: Route,
    amounts: Sequence[Amount],
    setting: Setting,
    stands: frozenset[str],
) -> tuple[Fills | None, Geometries]:
    """Say where a route fills, and the same in words."""
    lane = lane_of(plan, route.job.machine)
    free = None
    if lane is not None:
        way = in_the_way(route, lane, setting.blocks, setting.ground, stands)
        free = np.asarray(way == "", dtype=bool) & lane.reaches
    fills = fills_on(plan, route, amounts, free)
    words = np.full(len(route), "", dtype=object)
    holds = plan.machines[route.job.machine].holds
    load = None if holds is None else load_of(amounts, holds)
    if fills is not None and load is not None:
        words = fill_words(fills, plan.units, brought_in=load.brought_in)
    return fills, words


def _of(job: Job, told: Iterable[Notice]) -> list[Notice]:
    """Say of notices which operation they judge."""
    return [replace(one, job=job.name) for one in told]


def of_conflicts(jobs: Sequence[Job], conflicts: Iterable[Conflict]) -> list[Notice]:
    """Say which operation each thing in the way stands in the way of."""
    found = []
    for one in conflicts:
        same = [job for job in jobs if job.does == one.operation and one.on in crops_of(job)]
        asked = [job for job in jobs if one.asked and job.asked == one.asked]
        mine = asked or [job for job in same if job.day == one.day] or same
        job = mine[0].name if mine else ""
        found.append(Notice("season", one.severity, None, one.told, job))
    return found
