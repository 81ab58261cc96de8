"""Tell where a machine's wheels and openers run on rows that stand."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.plan.machines import Planter
from striplay.plan.models import Plan
from striplay.section.cover import passes_to_cover
from striplay.section.section import Pass, Section, Strip
from striplay.tolerances import ON_ROW_M, OPENER_OFF_M, WIDTH_M
from striplay.units import format_length, format_small

Floats = npt.NDArray[np.float64]
Tracks = Sequence[tuple[float, float]]
"""Wheels' paths: the middle of each, and how near to it a row may not stand."""


def wheel_tracks(plan: Plan, passes: Iterable[Pass]) -> list[tuple[float, float]]:
    """Give where a machine's tires run on some passes, from the set's first edge.

    Each with the room that a row needs to its middle: half the tire, and the machine's wheel
    clearance. Empty where its tread or tire is not stated.
    """
    found = []
    for one in passes:
        machine = plan.machines[one.machine]
        if machine.tread_m is None or machine.tire_m is None:
            continue
        half_m = machine.tire_m / 2 + machine.wheel_clearance_m
        found += [(one.middle_m + side * machine.tread_m / 2, half_m) for side in (-1, 1)]
    return found


def tracks_over(plan: Plan, section: Section, one: Pass, strip: Strip) -> list[tuple[float, float]]:
    """Give the tracks of a machine's passes that may run over a strip, those of sets beside too.

    A machine that sows rows between too runs elsewhere then.
    """
    same = [other for other in section.passes
            if (other.operation, other.machine, other.layer)
            == (one.operation, one.machine, one.layer)
            and other.strip in {None, one.strip}]  # fmt: skip
    turns = (-1, 0, 1) if one.strip is None else (0,)
    repeated = [(at_m + turn * section.width_m, half_m) for turn in turns
                for at_m, half_m in wheel_tracks(plan, same)]  # fmt: skip
    return [
        (at_m, half_m)
        for at_m, half_m in repeated
        if strip.left_m - half_m < at_m < strip.right_m + half_m
    ]


def off_tracks(tracks: Tracks, rows_m: Sequence[float]) -> list[float]:
    """Keep the rows that no tire runs on or too near to."""
    return [
        row_m
        for row_m in rows_m
        if all(abs(row_m - wheel_m) >= near_m - WIDTH_M for wheel_m, near_m in tracks)
    ]


def wheel_notices(
    plan: Plan, passes: Sequence[Pass], strip: Strip, rows_m: Sequence[float], crop: str
) -> list[str]:
    """Say where a machine's wheels run on rows that stand when it works a strip.

    Args:
        plan: the machines.
        passes: of one machine over the strip.
        strip: that it works.
        rows_m: the rows, from the set's first edge.
        crop: that stands in them.
    """
    crushed = len(rows_m) - len(off_tracks(wheel_tracks(plan, passes), rows_m))
    if not crushed:
        return []
    width, name = format_length(strip.width_m, plan.units), passes[0].machine
    rows = f"{crushed} rows of {crop} of a strip of {width}"
    room_m = plan.machines[name].wheel_clearance_m
    tires = [(at_m, near_m - room_m) for at_m, near_m in wheel_tracks(plan, passes)]
    if len(off_tracks(tires, rows_m)) == len(rows_m):
        near = f"{name}: its tires come nearer than {format_small(room_m, plan.units)}"
        cure = "narrower tires, a wider gap or tramlines would do"
        return [f"{near} (wheel_clearance) to {rows}; {cure}"]
    cure = "leave tramlines, or set its wheel spacing (tread) so that they run between the rows"
    return [f"{name}: its wheels run on {rows}; {cure}"]


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


def shift_m(
    seeder: Planter, middles_m: Sequence[float], width_m: float, asked_m: Sequence[float]
) -> float:
    """Give how far a seeder runs off the middle of its passes, for its openers to reach rows.

    The shift that misses the worst row least, the same for every pass over a strip; none where the
    openers are not known.

    Args:
        seeder: the machine.
        middles_m: middle of each of its passes, from the strip's first edge.
        width_m: of the strip.
        asked_m: rows to sow, likewise.
    """
    if seeder.row_units is None:
        return 0.0
    beyond_m = [
        (at_m - openers_m[0]) % seeder.row_m
        for openers_m, own_m in _by_pass(seeder, middles_m, width_m, 0.0, asked_m)
        for at_m in own_m
    ]
    best_m = _nearest_grid(beyond_m, seeder.row_m) % seeder.row_m
    either = (best_m, best_m - seeder.row_m)
    by_miss = {m: _miss_m(seeder, middles_m, width_m, m, asked_m) for m in either}
    return min(either, key=lambda m: (round(by_miss[m], 6), abs(m) - WIDTH_M * (m > 0)))


def _miss_m(
    seeder: Planter,
    middles_m: Sequence[float],
    width_m: float,
    shifted_m: float,
    asked_m: Sequence[float],
) -> float:
    """Give by how much the nearest opener misses the worst row."""
    return max(
        float(np.abs(np.subtract.outer(own_m, openers_m)).min(axis=1).max())
        for openers_m, own_m in _by_pass(seeder, middles_m, width_m, shifted_m, asked_m)
        if own_m
    )


def _by_pass(
    seeder: Planter,
    middles_m: Sequence[float],
    width_m: float,
    shifted_m: float,
    rows_m: Sequence[float],
) -> list[tuple[Floats, list[float]]]:
    """Give, pass by pass, where a seeder's openers run and the rows about them."""
    by_pass: list[list[float]] = [[] for _ in middles_m]
    for at_m in rows_m:
        by_pass[pass_of(at_m, len(middles_m), width_m, shifted_m)].append(at_m)
    units = seeder.row_units or 1
    from_middle_m = np.asarray((np.arange(units) - (units - 1) / 2) * seeder.row_m)
    return [
        (middle_m + shifted_m + from_middle_m, own)
        for middle_m, own in zip(middles_m, by_pass, strict=True)
    ]


def pass_of(at_m: float, count: int, width_m: float, shifted_m: float = 0.0) -> int:
    """Give which of some passes that share a strip works a row; 0 is the first.

    Args:
        at_m: the row, from the strip's first edge.
        count: of the passes.
        width_m: of the strip.
        shifted_m: how far the passes lie beyond their shares' middles.
    """
    number = int(max(0.0, at_m - shifted_m) / width_m * count + WIDTH_M)
    return min(number, count - 1)


def opener_notices(
    plan: Plan,
    strip: Strip,
    sowing: Sequence[Pass],
    asked_m: Sequence[float],
    standing_m: Sequence[float],
) -> list[str]:
    """Say where openers miss the rows asked, and where those not in use run on standing rows.

    Args:
        plan: the machines.
        strip: that is sown.
        sowing: the seeder's passes over it.
        asked_m: rows to sow, from the strip's first edge.
        standing_m: rows that stand, likewise.
    """
    name, crop = sowing[0].machine, sowing[0].crop
    seeder = plan.planter_of(name)
    if seeder.row_units is None or not asked_m:
        return []
    apart = f"{format_small(seeder.row_m, plan.units)} apart"
    shares_m = [(one.low_m + one.high_m) / 2 - strip.left_m for one in sowing]
    shifted_m = sowing[0].middle_m - strip.left_m - shares_m[0]
    miss_m = _miss_m(seeder, shares_m, strip.width_m, shifted_m, asked_m)
    unused, crowded = 0, 0
    for openers_m, own_m in _by_pass(seeder, shares_m, strip.width_m, shifted_m, asked_m):
        crowded = max(crowded, len(own_m) if len(own_m) > seeder.row_units else 0)
        near_m = np.abs(np.subtract.outer(own_m, openers_m))
        used = np.unique(near_m.argmin(axis=1)) if own_m else np.arange(len(openers_m))
        free_m = np.delete(openers_m, used)
        unused += sum(any(abs(at - row) < ON_ROW_M for row in standing_m) for at in free_m)
    if crowded:
        told = f"{name}: its {seeder.row_units} openers, {apart}, can't sow {crowded}"
        return [f"{told} rows of {crop} in a pass; fewer rows, or a seeder with closer openers"]
    if miss_m > OPENER_OFF_M:
        missed = f"miss rows of {crop} by up to {format_small(miss_m, plan.units)}"
        cure = "give offsets that they reach, or another seeder"
        return [f"{name}: its openers, {apart}, {missed}; {cure}"]
    if not unused:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{name}: {unused} openers not in use, {apart}, run on rows of a strip of {width}"
    return [f"{told}; lift or take them off"]


def _nearest_grid(places_m: Sequence[float], step_m: float) -> float:
    """Give a place on the even grid that misses the worst of some places least."""
    beyond_m = sorted(at % step_m for at in places_m)
    gaps_m = [b - a for a, b in pairwise(beyond_m)]
    gaps_m.append(beyond_m[0] + step_m - beyond_m[-1])
    widest_m = max(gaps_m)
    begin_m = beyond_m[(gaps_m.index(widest_m) + 1) % len(beyond_m)]
    return begin_m + (step_m - widest_m) / 2
