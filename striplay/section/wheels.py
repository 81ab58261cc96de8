"""Tell where a machine's wheels and openers run on rows that stand."""

import math
from collections.abc import Sequence
from itertools import pairwise

from striplay.plan.machines import Machine
from striplay.plan.models import Plan
from striplay.section.section import Section, Strip, Work
from striplay.tolerances import WIDTH_M
from striplay.units import format_length, format_small

ON_ROW_M = 0.05
"""A row nearer than 2 in to another stands on it."""
OPENER_OFF_M = 0.025
"""An opener may stand an inch from where a row is asked: its clamps allow it (our choice)."""


def wheel_tracks(plan: Plan, work: Work, strip: Strip) -> list[tuple[float, float]]:
    """Give where a machine's tyres run over a strip, from its first edge: middle and half width.

    Empty where track or tyre is not stated.
    """
    middles_m = [(low_m + high_m) / 2 for low_m, high_m in work.spans(strip)]
    return _tracks(plan.machines[work.machine], middles_m)


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


def wheel_notices(plan: Plan, work: Work, strip: Strip, rows_m: Sequence[float]) -> list[str]:
    """Say where a machine's wheels run on rows that stand when it works a strip.

    Args:
        plan: the machines.
        work: what the machine does.
        strip: that it works.
        rows_m: the rows, from the strip's first edge.
    """
    crushed = len(rows_m) - len(off_tracks(wheel_tracks(plan, work, strip), rows_m))
    if not crushed:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{work.machine}: its wheels run on {crushed} rows of a strip of {width}"
    return [f"{told}; leave tramlines, or set its track between the rows"]


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
    miss_m, idle = 0.0, 0
    for low_m, high_m in work.spans(strip):
        own_m = [at_m for at_m in asked_m if low_m - WIDTH_M <= at_m <= high_m + WIDTH_M]
        if not own_m:
            continue
        first_m, off_m = _nearest_grid(own_m, seeder.row_m)
        miss_m = max(miss_m, off_m)
        openers_m = _grid(first_m, seeder.row_m, low_m, high_m)
        free_m = [at for at in openers_m if min(abs(at - own) for own in own_m) > ON_ROW_M]
        idle += sum(any(abs(at - row) < ON_ROW_M for row in standing_m) for at in free_m)
    apart = format_small(seeder.row_m, plan.units)
    if miss_m > OPENER_OFF_M:
        missed = f"miss rows of {work.crop} by up to {format_small(miss_m, plan.units)}"
        cure = "give offsets that they reach, or another seeder"
        return [f"{work.machine}: its openers, {apart} apart, {missed}; {cure}"]
    if not idle:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{work.machine}: {idle} idle openers, {apart} apart, run on rows of a strip of {width}"
    return [f"{told}; lift or take them off"]


def _nearest_grid(places_m: Sequence[float], step_m: float) -> tuple[float, float]:
    """Give a place on the even grid nearest to some places, and by how much it misses them."""
    beyond_m = sorted(at % step_m for at in places_m)
    gaps_m = [b - a for a, b in pairwise(beyond_m)]
    gaps_m.append(beyond_m[0] + step_m - beyond_m[-1])
    widest_m = max(gaps_m)
    begin_m = beyond_m[(gaps_m.index(widest_m) + 1) % len(beyond_m)]
    off_m = (step_m - widest_m) / 2
    return begin_m + off_m, off_m


def _grid(first_m: float, step_m: float, low_m: float, high_m: float) -> list[float]:
    """List the places of a grid between two levels."""
    begin = math.ceil((low_m - first_m) / step_m)
    end = math.floor((high_m - first_m) / step_m)
    return [first_m + number * step_m for number in range(begin, end + 1)]
