"""Say where all wheels of the season run over one section: which rows, and how much ground.

The set repeats, so distances are told round it: what leaves it on one side comes in on the other.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.errors import PlanError
from striplay.operations.jobs import Job, crops_of
from striplay.plan.models import Plan
from striplay.section.section import Pass, Section
from striplay.section.sequence import rotated
from striplay.section.tramlines import line_under, pass_on
from striplay.section.wheels import wheel_tracks
from striplay.tolerances import WIDTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Paths:
    """The wheel paths of a job over one set, or over the sets after which they repeat.

    Attributes:
        job: what is done.
        width_m: of the set, or of those sets.
        passes: of its machine over them, p.
        at_m: the middle of each tire from the first edge, (p, 2).
        half_m: half the width of a tire.
        room_m: what a tire needs besides to a row, (wheel_clearance).
    """

    job: Job
    width_m: float
    passes: tuple[Pass, ...]
    at_m: Floats
    half_m: float
    room_m: float


@dataclass(frozen=True)
class Over:
    """Rows of one crop that a job's wheels meet.

    Attributes:
        job: what is done.
        crop: what stands in the rows, or is planted in them by this very job.
        rows: how many rows a tire runs on.
        near: how many more it comes nearer to than it should.
        of: how many rows of the crop there are, over as many sets as `Paths` has.
        own: whether the job itself plants them.
    """

    job: Job
    crop: str
    rows: int
    near: int
    of: int
    own: bool = False

    @property
    def share(self) -> float:
        """Share of the crop's row length run over: every row of a set is as long as the others."""
        return self.rows / self.of


@dataclass(frozen=True)
class Traffic:
    """How much ground wheels have run on by the end of a job.

    Attributes:
        job: the last job counted.
        passes: made by then over the sets looked at.
        share: of the ground, run on at least once.
        again: share of this job's own tracks that lies on tracks of jobs before it; None for the
            first job on its crops.
    """

    job: Job
    passes: int
    share: float
    again: float | None


def passes_of(section: Section, job: Job) -> tuple[tuple[Pass, ...], int]:
    """List a job's passes over a set, and after how many sets they repeat.

    On tramlines those over all of these sets, each line once: it is driven on the same tracks for
    every crop under it.
    """
    work, own = (job.does, job.machine), set(crops_of(job))
    lines = section.lines_for(job.machine, own)
    if lines is not None:
        at_m = [row.offset_m for row in section.main_rows if row.label in own & lines.labels]
        every_m = np.add.outer(np.arange(lines.sets) * lines.set_m, at_m).ravel()
        driven = np.unique(line_under(lines, every_m) % len(lines.middles_m)).tolist()
        return tuple(pass_on(lines, lines.middles_m[line]) for line in driven), lines.sets
    found = tuple(
        one
        for one in section.passes
        if (one.operation, one.machine) == work and set(one.crop.split(" + ")) <= own
    )
    return found, 1


def sets_of(section: Section, jobs: Sequence[Job]) -> int:
    """Count the sets after which all wheel paths repeat."""
    return math.lcm(*(passes_of(section, job)[1] for job in jobs))


def paths_of(plan: Plan, section: Section, job: Job, sets: int = 1) -> Paths | None:
    """Give a job's wheel paths; None where its machine's tread or tire is not stated.

    Args:
        plan: the machines.
        section: the set.
        job: what is done.
        sets: how many sets to look at, a multiple of what the job repeats after.
    """
    passes, repeat = passes_of(section, job)
    repeated = tuple(
        one.moved(turn * repeat * section.width_m)
        for turn in range(sets // repeat)
        for one in passes
    )
    machine = plan.machines[job.machine]
    if machine.tread_m is None or machine.tire_m is None:
        return None
    tracks = np.array(wheel_tracks(plan, repeated)).reshape(-1, 2)
    return Paths(
        job=job,
        width_m=sets * section.width_m,
        passes=repeated,
        at_m=tracks[:, 0].reshape(-1, 2),
        half_m=machine.tire_m / 2,
        room_m=machine.wheel_clearance_m,
    )


@dataclass(frozen=True)
class Rows:
    """The rows of some sets as arrays.

    Attributes:
        at_m: distance of each from the first edge, (k,).
        strip: index of its strip in the set, (k,).
        turn: which of the sets, from 0, (k,).
        label: what is sown in it, (k,).
    """

    at_m: Floats
    strip: Integers
    turn: Integers
    label: npt.NDArray[np.str_]

    @staticmethod
    def of(section: Section, sets: int) -> "Rows":
        """List the rows of a section over so many sets."""
        own_m = np.array([row.offset_m for row in section.rows])
        turn = np.repeat(np.arange(sets), len(own_m))
        return Rows(
            at_m=np.tile(own_m, sets) + turn * section.width_m,
            strip=np.tile(np.array([row.strip for row in section.rows]), sets),
            turn=turn,
            label=np.tile(np.array([row.label for row in section.rows]), sets),
        )


def from_rows_m(paths: Paths, rows: Rows) -> Floats:
    """Measure how far from each row the middle of each tire runs, (p, 2, k)."""
    apart_m = rows.at_m - paths.at_m[:, :, None]
    half_m = paths.width_m / 2
    return np.asarray(np.abs((apart_m + half_m) % paths.width_m - half_m))


def fits_between(section: Section, paths: Paths) -> bool:
    """Tell whether a tire fits between the rows that a job plants at all."""
    job = paths.job
    rows = {index for crop in job.crops for index in section.planted(job.machine, crop)}
    room_m = 2 * (paths.half_m + paths.room_m) - WIDTH_M
    return all(_between_m(section, index) > room_m for index in rows)


def _between_m(section: Section, index: int) -> float:
    """Give how far planted rows are apart: after a harvest their own, else the strip's spacing."""
    row = section.rows[index]
    return row.spacing_m if row.sown[0].follows else section.strips[row.strip].spacing_m


def rows_over(
    plan: Plan, section: Section, paths: Paths, standing: frozenset[str], *, own: bool = False
) -> list[Over]:
    """List the rows that a job's wheels run on, crop by crop, those clear of them included.

    Crops that are not harvested may be driven over, and so may what is mown. At harvest the rows of
    the crop itself stand beyond the header, on the side of the passes to come, taken from the first
    edge of the strip on.

    Args:
        plan: its crops.
        section: the set.
        paths: the wheels.
        standing: what stands when the job is done.
        own: of a planting, look at the rows that it plants itself instead.
    """
    rows = Rows.of(section, round(paths.width_m / section.width_m))
    mine = np.isin(rows.label, crops_of(paths.job))
    up = np.isin(rows.label, list(standing)) & ~(mine & (paths.job.does == "mow"))
    there = np.broadcast_to(up, (len(paths.passes), len(mine)))
    if own:
        there = np.broadcast_to(mine, there.shape)
    elif paths.job.does == "harvest":
        there = there | (mine & _uncut(section, paths, rows))
    apart_m = from_rows_m(paths, rows)
    on = ((apart_m < paths.half_m - WIDTH_M) & there[:, None]).any(axis=(0, 1))
    close = ((apart_m < paths.half_m + paths.room_m - WIDTH_M) & there[:, None]).any(axis=(0, 1))
    found = []
    for label in dict.fromkeys(rows.label[there.any(axis=0)].tolist()):
        if own or plan.crops[label].reaped:
            here = rows.label == label
            near = int((close & ~on & here).sum())
            found.append(Over(paths.job, label, int((on & here).sum()), near, int(here.sum()), own))
    return found


def _uncut(section: Section, paths: Paths, rows: Rows) -> Bools:
    """Tell which rows of its own strip stand beyond each pass's header, (p, k)."""
    found = np.zeros((len(paths.passes), len(rows.at_m)), dtype=bool)
    for index, one in enumerate(paths.passes):
        if one.strip is None:
            continue
        turn = math.floor((one.middle_m - section.strips[one.strip].left_m) / section.width_m)
        beyond_m = one.middle_m + one.width_m / 2 + WIDTH_M
        found[index] = (rows.strip == one.strip) & (rows.turn == turn) & (rows.at_m > beyond_m)
    return found


def traffic(every: Sequence[Paths]) -> list[Traffic]:
    """Add up the ground that wheels run on, job after job.

    Args:
        every: wheel paths in the order of the jobs, all over as many sets.
    """
    found: list[Traffic] = []
    low_m, high_m, count = np.empty(0), np.empty(0), 0
    covered_m = 0.0
    for paths in every:
        own_low, own_high = _bands([paths])
        low_m, high_m = np.append(low_m, own_low), np.append(high_m, own_high)
        own_m = covered(own_low, own_high, paths.width_m)
        both_m = covered(low_m, high_m, paths.width_m)
        own = set(crops_of(paths.job))
        worked = any(own & set(crops_of(one.job)) for one in found)
        again = (own_m + covered_m - both_m) / own_m if worked and own_m else None
        count, covered_m = count + len(paths.passes), both_m
        found.append(Traffic(paths.job, count, both_m / paths.width_m, again))
    return found


def covered(low_m: Floats, high_m: Floats, round_m: float) -> float:
    """Measure what bands cover at least once, on ground that repeats.

    Args:
        low_m: lower edge of each, (n,).
        high_m: upper edge, (n,).
        round_m: width after which the ground repeats.

    >>> covered(np.array([-1.0, 0.5, 9.5]), np.array([1.0, 2.0, 10.5]), 10.0)
    3.0
    """
    wide_m = np.minimum(high_m - low_m, round_m)
    low = low_m % round_m
    lows = np.concatenate([low, low - round_m])
    highs = np.concatenate([low + wide_m, low + wide_m - round_m])
    lows, highs = np.clip(lows, 0.0, round_m), np.clip(highs, 0.0, round_m)
    order = np.argsort(lows, kind="stable")
    lows, highs = lows[order], highs[order]
    reached = np.maximum.accumulate(np.append(0.0, highs[:-1])) if len(highs) else highs
    return float(np.maximum(0.0, highs - np.maximum(lows, reached)).sum())


def on_each_other(one: Sequence[Paths], other: Sequence[Paths]) -> float:
    """Give the share of the ground run on in one season's paths that the other's run on too.

    Args:
        one: wheel paths, all over as many sets.
        other: those to compare with, over as much ground.
    """
    if not one or not other:
        return 0.0
    width_m = one[0].width_m
    bands = [_bands(paths) for paths in (one, other)]
    each_m = [covered(low, high, width_m) for low, high in bands]
    low_m, high_m = (np.concatenate(sides) for sides in zip(*bands, strict=True))
    return (sum(each_m) - covered(low_m, high_m, width_m)) / each_m[0]


def _bands(every: Sequence[Paths]) -> tuple[Floats, Floats]:
    low_m = np.concatenate([(paths.at_m - paths.half_m).ravel() for paths in every])
    high_m = np.concatenate([(paths.at_m + paths.half_m).ravel() for paths in every])
    return low_m, high_m


def next_season(plan: Plan, section: Section) -> Plan | None:
    """Give the plan with next season's crops in its strips; None where none moves, or can."""
    try:
        found = rotated(plan, section)
    except PlanError:
        return None
    crops = [[wish.crop for wish in one.strips] for one in (plan, found)]
    return None if crops[0] == crops[1] and found.row_set == plan.row_set else found
