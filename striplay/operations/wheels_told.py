"""Say what wheels do to rows and ground, and what would do better."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from striplay.errors import PlanError
from striplay.notices import Notice, Severity
from striplay.operations.jobs import Job, jobs_of
from striplay.operations.stands import standing_at
from striplay.operations.wheel_cures import cures_of
from striplay.operations.wheels import (
    Over,
    Paths,
    fits_between,
    next_season,
    on_each_other,
    passes_of,
    paths_of,
    rows_over,
    sets_of,
    traffic,
)
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.section.systems import sections_of

Days = Mapping[tuple[str, str], date]

MOST_TRACKED = 0.25
"""Share of the surface that controlled traffic keeps wheels to: U.S. Department of Agriculture,
Natural Resources Conservation Service, conservation stewardship sheet on controlled traffic (from
memory)."""
SAME_SHARE = 0.99
"""Tracks are the same where so much of their ground is: the rest is rounding (our choice)."""


def wheel_verdicts(
    plan: Plan, section: Section, jobs: Sequence[Job], days: Days
) -> Iterator[Notice]:
    """Say which rows wheels run on, job by job, and how much ground all of them run on.

    Args:
        plan: the machines.
        section: the set.
        jobs: of the season, in their order.
        days: when each planting and harvest happens, by operation and crop, as far as known.
    """
    driven = [job for job in jobs if passes_of(section, job)[0]]
    sets = sets_of(section, driven)
    each = {job.name: paths_of(plan, section, job, sets) for job in driven}
    yield from _not_judged(driven, each)
    known = [paths for paths in each.values() if paths is not None]
    standing = dict(zip((job.name for job in jobs), standing_at(jobs, days), strict=True))
    clear: list[str] = []
    for paths in known:
        stands = standing[paths.job.name]
        met = rows_over(plan, section, paths, stands)
        if met and not any(over.rows + over.near for over in met):
            clear.append(paths.job.name)
        if paths.job.does == "plant" and fits_between(section, paths):
            met += rows_over(plan, section, paths, stands, own=True)
        for over in met:
            if over.rows + over.near:
                yield _met(plan, section, over, stands, sets)
    if clear:
        yield Notice(
            "wheels", "know", None, f"wheels run between all rows that stand: {said_of(clear)}"
        )
    if known:
        yield _ground(known, whole=len(known) == len(each))
        yield from _next(plan, section, known, days)


def said_of(names: Sequence[str]) -> str:
    """Name several things, joined by commas."""
    return ", ".join(names)


def _not_judged(jobs: Sequence[Job], each: Mapping[str, Paths | None]) -> Iterator[Notice]:
    """Say once whose wheels are not known."""
    unknown = dict.fromkeys(job.machine for job in jobs if each[job.name] is None)
    if unknown:
        text = f"wheels of {said_of(list(unknown))} are not judged: state tread and tire of each"
        yield Notice("wheels", "know", None, text)


def _met(plan: Plan, section: Section, over: Over, standing: frozenset[str], sets: int) -> Notice:
    """Say which rows a job's wheels meet, and what would keep them off."""
    name, machine = over.job.name, over.job.machine
    count, does = (over.rows, "run on") if over.rows else (over.near, "come too near to")
    among = "" if sets == 1 else f" (of {sets} sets)"
    rows = f"{count} of {over.of} rows{among} of {over.crop}"
    if over.own:
        text = f"{name}: wheels of {machine} {does} the ground of {rows} it plants"
        severity: Severity = "know"
    else:
        dated = over.job.day is not None or over.job.does in {"plant", "harvest"}
        stand = "stand" if dated else "may stand (no day is given)"
        text = f"{name}: wheels of {machine} {does} {rows} that {stand}"
        if over.rows:
            text += f", {100 * over.share:.0f} % of its row length"
        severity = "stop" if over.rows == over.of else "mind"
    cures = cures_of(plan, section, over, standing)
    cure = f"{', or '.join(cures)} would keep off all" if cures else (
        "no usual tread or tire, shift or row more or less keeps off all: leave those rows unsown "
        "as tramlines, or count them lost"
    )  # fmt: skip
    return Notice("wheels", severity, None, f"{text}; {cure}", name)


def _ground(known: Sequence[Paths], *, whole: bool) -> Notice:
    """Say how much ground wheels run on, and whether they keep to the same tracks."""
    after = traffic(known)
    last = after[-1]
    wheels = "wheels" if whole else "known wheels"
    text = (
        f"{wheels} run on {100 * last.share:.0f} % of the ground in the season; controlled traffic "
        f"keeps to {100 * MOST_TRACKED:.0f} % (conservation stewardship, U.S. Department of "
        "Agriculture)"
    )
    shares = [(one.again, one.job.name) for one in after if one.again is not None]
    if shares and min(shares)[0] >= SAME_SHARE:
        text += "; every operation keeps to the tracks of the first on its crops"
    elif shares:
        share, name = min(shares)
        text += (
            f"; of what wheels run on in {name}, {max(0.0, 100 * share):.0f} % is on tracks made "
            "before: one tread, and passes on the same middles, would keep to them"
        )
    return Notice("wheels", "know", None, text)


def _next(plan: Plan, section: Section, known: Sequence[Paths], days: Days) -> Iterator[Notice]:
    """Say whether wheels keep to their tracks when crops swap places next season."""
    changed = next_season(plan, section) if plan.season.swap else None
    if changed is None:
        return
    try:
        swapped = sections_of(changed)[0]
    except PlanError:
        return
    again = [job for job in jobs_of(changed, swapped, days) if passes_of(swapped, job)[0]]
    sets = round(known[0].width_m / section.width_m)
    if any(sets % passes_of(swapped, job)[1] for job in again):
        return
    next_known = [
        one for job in again if (one := paths_of(changed, swapped, job, sets)) is not None
    ]
    share = on_each_other(next_known, known)
    if share >= SAME_SHARE:
        text = "when crops swap places next season, wheels keep to this season's tracks"
        yield Notice("wheels", "know", None, text)
        return
    text = (
        f"when crops swap places next season, {100 * share:.0f} % of the ground that wheels run on "
        "is this season's tracks; one tread, and strips that all machines pass over alike, keep "
        "them"
    )
    yield Notice("wheels", "know", None, text)
