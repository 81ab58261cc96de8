"""Tell where a machine's wheels and openers run on rows that stand."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.plan.machines import Machine, Planter
from striplay.plan.models import Plan
from striplay.section.cover import passes_to_cover
from striplay.section.section import Section, Strip, Work
from striplay.tolerances import WIDTH_M
from striplay.units import format_length, format_small

Floats = npt.NDArray[np.float64]

ON_ROW_M = 0.05
"""A row nearer than 2 in to another stands on it."""
OPENER_OFF_M = 0.025
"""An opener may stand an inch from where a row is asked: its clamps allow it (our choice)."""


def wheel_tracks(plan: Plan, work: Work, strip: Strip) -> list[tuple[float, float]]:
    """Give where a machine's tyres run over a strip, from its first edge: middle and half width.

    Empty where track or tyre is not stated.
    """
    return _tracks(plan.machines[work.machine], work.middles(strip))


def tracks_over(
    plan: Plan, section: Section, work: Work, strip: Strip
) -> list[tuple[float, float]]:
    """Give the same where a machine may run side by side over several strips."""
    for side in section.side_passes:
        if (side.operation, side.machine) == (work.operation, work.machine):
            first_m = side.first_m - strip.left_m
            begin = math.floor(-first_m / side.width_m) - 1
            end = math.ceil((strip.width_m - first_m) / side.width_m) + 1
            middles_m = [first_m + (i + 0.5) * side.width_m for i in range(begin, end)]
            return _tracks(plan.machines[work.machine], middles_m)
    return wheel_tracks(plan, work, strip)


def _tracks(machine: Machine, middles_m: Sequence[float]) -> list[tuple[float, float]]:
    if machine.track_m is None or machine.tyre_m is None:
        return []
    return [
        (middle_m + side * machine.track_m / 2, machine.tyre_m / 2)
        for middle_m in middles_m
        for side in (-1, 1)
    ]


def off_tracks(tracks: Sequence[tuple[float, float]], rows_m: Sequence[float]) -> list[float]:
    """Keep the rows that no tyre runs on."""
    return [
        row_m
        for row_m in rows_m
        if all(abs(row_m - wheel_m) >= half_m for wheel_m, half_m in tracks)
    ]


def wheel_notices(
    plan: Plan, work: Work, strip: Strip, rows_m: Sequence[float], crop: str
) -> list[str]:
    """Say where a machine's wheels run on rows that stand when it works a strip.

    Args:
        plan: the machines.
        work: what the machine does.
        strip: that it works.
        rows_m: the rows, from the strip's first edge.
        crop: that stands in them.
    """
    crushed = len(rows_m) - len(off_tracks(wheel_tracks(plan, work, strip), rows_m))
    if not crushed:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{work.machine}: its wheels run on {crushed} rows of {crop} of a strip of {width}"
    return [f"{told}; leave tramlines, or set its track between the rows"]


def passes_to_sow(seeder: Planter, width_m: float, asked_m: Sequence[float]) -> int:
    """Count a seeder's passes over a strip: as many as its rows need, at most as its width does.

    A seeder narrower than the strip may have openers enough for all the rows between.

    Args:
        seeder: the machine.
        width_m: of the strip.
        asked_m: rows to sow, from the strip's first edge.
    """
    most = passes_to_cover(width_m, seeder.width_m)
    if seeder.row_units is None:
        return most
    reach_m = (seeder.row_units - 1) * seeder.row_m + 2 * OPENER_OFF_M
    at_m = np.asarray(asked_m)
    for count in range(1, most):
        number = np.minimum((at_m / width_m * count + WIDTH_M).astype(np.int64), count - 1)
        parts = [at_m[number == part] for part in range(count)]
        if all(np.ptp(part) <= reach_m for part in parts if len(part)):
            return count
    return most


def shift_m(plan: Plan, work: Work, strip: Strip, asked_m: Sequence[float]) -> float:
    """Give how far a seeder runs off the middle of its passes, for its openers to reach rows.

    The shift that misses the worst row least, the same for every pass over a strip; none where the
    openers are not known.
    """
    seeder = plan.planter_of(work.machine)
    if seeder.row_units is None:
        return 0.0
    beyond_m = [
        (at_m - openers_m[0]) % seeder.row_m
        for openers_m, own_m in _by_pass(seeder, work, strip, asked_m)
        for at_m in own_m
    ]
    best_m = _nearest_grid(beyond_m, seeder.row_m) % seeder.row_m
    either = (best_m, best_m - seeder.row_m)
    by_miss = {m: _miss_m(seeder, replace(work, shift_m=m), strip, asked_m) for m in either}
    return min(either, key=lambda m: (round(by_miss[m], 6), abs(m) - WIDTH_M * (m > 0)))


def _miss_m(seeder: Planter, work: Work, strip: Strip, asked_m: Sequence[float]) -> float:
    """Give by how much the nearest opener misses the worst row."""
    return max(
        float(np.abs(np.subtract.outer(own_m, openers_m)).min(axis=1).max())
        for openers_m, own_m in _by_pass(seeder, work, strip, asked_m)
        if own_m
    )


def _by_pass(
    seeder: Planter, work: Work, strip: Strip, rows_m: Sequence[float]
) -> list[tuple[Floats, list[float]]]:
    """Give, pass by pass, where a seeder's openers run and the rows about them."""
    middles_m = work.middles(strip)
    take_m = strip.width_m / len(middles_m)
    by_pass: list[list[float]] = [[] for _ in middles_m]
    for at_m in rows_m:
        number = int(max(0.0, at_m - work.shift_m) / take_m + WIDTH_M)
        by_pass[min(number, len(middles_m) - 1)].append(at_m)
    units = seeder.row_units or 1
    from_middle_m = np.asarray((np.arange(units) - (units - 1) / 2) * seeder.row_m)
    return [
        (middle_m + from_middle_m, own) for middle_m, own in zip(middles_m, by_pass, strict=True)
    ]


def opener_notices(
    plan: Plan, work: Work, strip: Strip, asked_m: Sequence[float], standing_m: Sequence[float]
) -> list[str]:
    """Say where a seeder's openers miss the rows asked, and where idle ones run on standing rows.

    Args:
        plan: the machines.
        work: the sowing.
        strip: that it sows.
        asked_m: rows to sow, from the strip's first edge.
        standing_m: rows that stand, likewise.
    """
    seeder = plan.planter_of(work.machine)
    if seeder.row_units is None:
        return []
    apart = f"{format_small(seeder.row_m, plan.units)} apart"
    if not asked_m:
        return []
    miss_m, idle, crowded = _miss_m(seeder, work, strip, asked_m), 0, 0
    for openers_m, own_m in _by_pass(seeder, work, strip, asked_m):
        crowded = max(crowded, len(own_m) if len(own_m) > seeder.row_units else 0)
        near_m = np.abs(np.subtract.outer(own_m, openers_m))
        used = np.unique(near_m.argmin(axis=1)) if own_m else np.arange(len(openers_m))
        free_m = np.delete(openers_m, used)
        idle += sum(any(abs(at - row) < ON_ROW_M for row in standing_m) for at in free_m)
    if crowded:
        told = f"{work.machine}: its {seeder.row_units} openers, {apart}, can't sow {crowded}"
        return [
            f"{told} rows of {work.crop} in a pass; fewer rows, or a seeder with closer openers"
        ]
    if miss_m > OPENER_OFF_M:
        missed = f"miss rows of {work.crop} by up to {format_small(miss_m, plan.units)}"
        cure = "give offsets that they reach, or another seeder"
        return [f"{work.machine}: its openers, {apart}, {missed}; {cure}"]
    if not idle:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{work.machine}: {idle} idle openers, {apart}, run on rows of a strip of {width}"
    return [f"{told}; lift or take them off"]


def _nearest_grid(places_m: Sequence[float], step_m: float) -> float:
    """Give a place on the even grid that misses the worst of some places least."""
    beyond_m = sorted(at % step_m for at in places_m)
    gaps_m = [b - a for a, b in pairwise(beyond_m)]
    gaps_m.append(beyond_m[0] + step_m - beyond_m[-1])
    widest_m = max(gaps_m)
    begin_m = beyond_m[(gaps_m.index(widest_m) + 1) % len(beyond_m)]
    return begin_m + (step_m - widest_m) / 2
