"""Turn a yield monitor's points into yields by strip and by run, and say what is not counted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.stats import median_abs_deviation

from striplay.economics.grain import dry_shares
from striplay.errors import MonitorError
from striplay.ground import Ground
from striplay.laid import Laid
from striplay.limits import MOST_YIELD_KG_PER_M2
from striplay.operations.amounts import base_moisture, bushel_kg
from striplay.operations.route import Route
from striplay.plan.models import Plan
from striplay.plan.monitor import MonitorSource
from striplay.records.measures import format_yield
from striplay.records.monitor_cut import cut_anew
from striplay.records.monitor_log import MonitorLog
from striplay.records.monitor_place import (
    NONE,
    Lanes,
    Placed,
    Strips,
    lanes_of,
    medians_about,
    place,
    strips_of,
)
from striplay.records.monitor_told import check_field, delay_notices, run_notices
from striplay.records.monitored import REASONS, Monitored, RunYield, StripYield
from striplay.tolerances import AROUND_S, OVER_M, OVER_SHARE

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

WIDER = 1.2
"""A width that is written may be so many times the header's, as files round it (our choice)."""
MOST_MOISTURE = 0.6
"""Grain is not harvested wetter (from memory: high-moisture corn has up to 0.4)."""


def by_strip(
    plan: Plan,
    rules: MonitorSource,
    ground: Ground,
    laid: Laid,
    routes: Sequence[Route],
    log: MonitorLog,
    crop: str | None = None,
) -> Monitored:
    """Turn points into yields by strip and run.

    Args:
        plan: its crops and machines.
        rules: what does not count.
        ground: the field.
        laid: the field, swept.
        routes: the season's jobs, so that passes have their numbers.
        log: the points.
        crop: what was harvested; where None, what most of the points along rows lie in.

    Raises:
        MonitorError: another field's points, a crop that no strip carries, no width, no bushel
            weight, or no point that counts.
    """
    complete = log.chosen(log.complete)
    check_field(complete, ground)
    strips = strips_of(laid)
    placed = place(complete, ground, laid, strips, (rules.slowest_mps, rules.fastest_mps))
    if crop is None:
        crop = _most_harvested(placed, strips, plan)
    elif not strips.carrying(crop).any():
        grown = ", ".join(dict.fromkeys(name for one in strips.grown for name in one))
        raise MonitorError(f'no strip carries "{crop}"; strips carry {grown}')
    lanes = lanes_of(laid, routes, strips, crop)
    return _reckon(plan, crop, rules, complete, len(log), placed, strips, lanes, laid)


def _most_harvested(placed: Placed, strips: Strips, plan: Plan) -> str:
    """Name the harvested crop that most points on runs lie in."""
    points = np.bincount(placed.strip[placed.run != NONE], minlength=len(strips.number))
    named = [name for name, crop in plan.crops.items() if crop.reaped]
    if not named:
        raise MonitorError(f"{plan.path.name}: crops: none is harvested; give one its harvester")
    return max(named, key=lambda name: int(points[strips.carrying(name)].sum()))


def _reckon(
    plan: Plan,
    crop: str,
    rules: MonitorSource,
    log: MonitorLog,
    points: int,
    placed: Placed,
    strips: Strips,
    lanes: Lanes,
    laid: Laid,
) -> Monitored:
    """Reckon each point's yield, drop what doesn't count, and add up the rest."""
    header_m = _header_m(plan, crop, log)
    run_strip, run_across_m, halfway_m = _of_runs(placed)
    lane = lanes.of_runs(run_strip, run_across_m, halfway_m, header_m)
    if len(lanes.number):
        run_strip = np.where(lane == NONE, run_strip, lanes.strip[lane])
        of_run = np.append(run_strip, NONE)[placed.run]
        placed = replace(placed, strip=np.where(placed.run == NONE, placed.strip, of_run))
    width_m = _width_m(log, placed, lanes, lane, header_m)
    raw_kg_per_s = _flow_kg_per_s(plan, crop, log, placed.speed_mps * width_m)
    at_s = log.time_s + rules.wait_s
    sensed = at_s <= log.time_s[log.last]
    flow_kg_per_s = np.interp(at_s, log.time_s, raw_kg_per_s)
    moisture = None if log.moisture is None else np.interp(at_s, log.time_s, log.moisture)

    begins_s, ends_s = _ends_s(log, placed)
    over = _over_two(placed, strips, run_strip, run_across_m, lane, header_m)
    line_m = _lines_m(plan, crop, placed, lanes, lane)
    anew = cut_anew(log, placed, laid, line_m, width_m)
    ground_mps = np.maximum(placed.speed_mps * width_m, 1e-9)
    wet = flow_kg_per_s / ground_mps
    base = base_moisture(plan, crop)
    if moisture is not None and base is None:
        raise MonitorError(
            f"crops.{crop}.base_moisture: is missing: it is not known at which moisture {crop} is "
            "sold; for example base_moisture = 0.14"
        )
    dry = wet if moisture is None or base is None else wet * dry_shares(moisture, base)

    on = placed.run != NONE
    ours = np.append(strips.carrying(crop), False)[placed.strip]
    reason = np.full(len(log), "", dtype=object)
    drops = {
        "outside": ~placed.inside,
        "no strip": (placed.block == NONE) | (placed.strip == NONE) & placed.along,
        "width": (width_m <= 0.0) | (width_m > WIDER * header_m),
        "two strips": over,
        "other crop": (placed.strip != NONE) & ~ours,
        "across": ~placed.along,
        "speed": ~on,
        "no flow": ~sensed,
        "start": log.time_s - begins_s < rules.start_s,
        "end": ends_s - log.time_s < rules.end_s,
        "partly full": anew < rules.full,
        "moisture": np.zeros(len(log), dtype=bool)
        if moisture is None
        else (moisture < 0.0) | (moisture > MOST_MOISTURE),
        "no grain": dry <= 0.0,
    }
    for name, dropped in drops.items():
        reason[(reason == "") & dropped] = name
    left = reason == ""
    if left.any() and np.median(dry[left]) > MOST_YIELD_KG_PER_M2:
        raise MonitorError(
            f"{log.source}: half the points have more than {_said(plan, crop, dry[left])}, more "
            "than any crop yields; see flow_unit, or yield_unit, under [monitor]"
        )
    reason[np.flatnonzero(left)[_outliers(dry[left], placed.run[left], log, rules)]] = "outlier"
    counts = reason == ""
    tally = {"missing": points - len(log)}
    tally |= {name: int(np.count_nonzero(reason == name)) for name in REASONS if name != "missing"}
    tally = {name: count for name, count in tally.items() if count}
    if not counts.any():
        told = "; ".join(f"{count:,} {REASONS[name]}" for name, count in tally.items())
        raise MonitorError(f"{log.source}: none of its {points:,} points counts: {told}")

    area_m2 = np.where(counts, log.held_s * placed.speed_mps * width_m, 0.0)
    grain = Grain(counts, area_m2, wet * area_m2, dry * area_m2, moisture)
    found = _strip_yields(grain, placed, strips)
    runs = _run_yields(grain, log, placed, strips, lanes, lane, run_strip, run_across_m)
    mine = strips.carrying(crop)
    notices = [
        *delay_notices(log, placed, raw_kg_per_s, ours & on, rules),
        *run_notices(strips, runs, found, mine, _runs_over(over, placed, strips, log)),
    ]
    return Monitored(
        source=log.source,
        crop=crop,
        base_moisture=base,
        points=points,
        dropped=tally,
        strips=found,
        runs=tuple(one for one, own in zip(runs, mine[run_strip], strict=True) if own),
        notices=tuple(notices),
        point_m=placed.point_m,
        way=placed.way,
        width_m=width_m,
        kg_per_m2=np.where(counts, dry, np.nan),
        reason=reason,
    )


def _said(plan: Plan, crop: str, dry: Floats) -> str:
    return format_yield(float(np.median(dry)), bushel_kg(plan, crop), plan.units)


def _header_m(plan: Plan, crop: str, log: MonitorLog) -> float:
    """Give the usual width of the header."""
    harvester = plan.harvester(crop) if crop in plan.crops else None
    if harvester is not None:
        return float(harvester.width_m)
    if log.width_m is None:
        raise MonitorError(
            f"crops.{crop}.harvester: is missing, and monitor.width too: name the machine that "
            "harvests it, or the column of the width cut"
        )
    return float(np.median(log.width_m))


def _of_runs(placed: Placed) -> tuple[Integers, Floats, Floats]:
    """Give each run's strip, the middle of its places across, and a place half-way along it."""
    on = np.flatnonzero(placed.run != NONE)
    run = placed.run[on]
    strip = np.full(placed.runs, NONE, dtype=np.int64)
    strip[run] = placed.strip[on]
    order = np.lexsort((placed.across_m[on], run))
    count = np.bincount(run, minlength=placed.runs)
    middle = np.cumsum(count) - count + count // 2
    across_m = np.asarray(placed.across_m[on][order][middle], dtype=np.float64)
    halfway = on[np.argsort(run, kind="stable")][middle]
    return strip, across_m, placed.point_m[halfway]


def _width_m(
    log: MonitorLog, placed: Placed, lanes: Lanes, lane: Integers, header_m: float
) -> Floats:
    """Give the width cut at each point: as written, else what the planned pass works."""
    if log.width_m is not None:
        return log.width_m
    if not len(lanes.number):
        return np.full(len(log), header_m)
    works_m = np.minimum(lanes.high_m - lanes.low_m, header_m)
    of_run = np.append(np.where(lane == NONE, header_m, works_m[lane]), header_m)
    return np.asarray(of_run[placed.run], dtype=np.float64)


def _lines_m(plan: Plan, crop: str, placed: Placed, lanes: Lanes, lane: Integers) -> Floats:
    """Give where the middle of the header is across: a row header on a planned pass is on its rows.

    The receiver's drift would else have it overlap the rows beside, which it can't.
    """
    harvester = plan.harvester(crop) if crop in plan.crops else None
    if harvester is None or harvester.rows is None or not len(lanes.number):
        return placed.across_m
    planned_m = np.append(np.where(lane == NONE, np.nan, lanes.across_m[lane]), np.nan)[placed.run]
    return np.where(np.isnan(planned_m), placed.across_m, planned_m)


def _flow_kg_per_s(plan: Plan, crop: str, log: MonitorLog, ground_m2_per_s: Floats) -> Floats:
    """Give the flow of grain as harvested when it passed the sensor."""
    grain = log.grain
    if log.grain_unit.startswith("bu"):
        weight_kg = bushel_kg(plan, crop)
        if weight_kg is None:
            raise MonitorError(
                f"crops.{crop}.bushel: is missing: the file has bushels; for example "
                'bushel = "56 lb"'
            )
        grain = grain * weight_kg
    return grain * ground_m2_per_s if log.by_area else grain


def _ends_s(log: MonitorLog, placed: Placed) -> tuple[Floats, Floats]:
    """Give when the run of each point begins and ends; the point's own time where it is on none."""
    on = placed.run != NONE
    begin_s, end_s = np.full(placed.runs, np.inf), np.full(placed.runs, -np.inf)
    np.minimum.at(begin_s, placed.run[on], log.time_s[on])
    np.maximum.at(end_s, placed.run[on], log.time_s[on])
    begins, ends = log.time_s.copy(), log.time_s.copy()
    begins[on], ends[on] = begin_s[placed.run[on]], end_s[placed.run[on]]
    return begins, ends


def _over_two(
    placed: Placed,
    strips: Strips,
    run_strip: Integers,
    run_across_m: Floats,
    lane: Integers,
    header_m: float,
) -> Bools:
    """Tell which points are of runs whose header reaches over the next strip, unplanned."""
    beyond_m = header_m / 2 + np.maximum(
        run_across_m - strips.high_m[run_strip], strips.low_m[run_strip] - run_across_m
    )
    over = (lane == NONE) & (beyond_m > max(OVER_SHARE * header_m, OVER_M))
    return np.append(over, False)[placed.run]


def _runs_over(
    over: Bools, placed: Placed, strips: Strips, log: MonitorLog
) -> list[tuple[int, int, int]]:
    """List runs over two strips: number of the strip, first and last line."""
    found = []
    for run in np.unique(placed.run[over & (placed.run != NONE)]):
        mine = np.flatnonzero(placed.run == run)
        lines = log.line[mine]
        number = int(strips.number[placed.strip[mine[0]]])
        found.append((number, int(lines.min()), int(lines.max())))
    return found


def _outliers(dry: Floats, run: Integers, log: MonitorLog, rules: MonitorSource) -> Bools:
    """Tell which yields lie far from the median about them in their run.

    The Hampel identifier: farther than so many median absolute deviations, scaled to the standard
    deviation of normal noise. A deviation is a share of the median about the point; its usual size
    is that of all points, so that a quiet run does not drop its smallest changes, nor a good strip
    more than a poor one.
    """
    if not len(dry):
        return np.zeros(0, dtype=bool)
    off = dry / medians_about(dry, run, max(1, round(AROUND_S / log.step_s))) - 1.0
    usual = median_abs_deviation(off, scale="normal")
    return np.asarray((np.abs(off) > rules.outliers * usual) & (usual > 0), dtype=bool)


@dataclass(frozen=True)
class Grain:
    """Grain and ground of points; nought where they are not counted.

    Attributes:
        counts: whether each does, (n,).
        area_m2: ground that each stands for, (n,).
        wet_kg: grain from it as harvested, (n,).
        dry_kg: at base moisture, (n,).
        moisture: (n,); None where it was not measured.
    """

    counts: Bools
    area_m2: Floats
    wet_kg: Floats
    dry_kg: Floats
    moisture: Floats | None

    def summed(self, group: Integers, groups: int) -> dict[str, Floats]:
        """Add up by group."""
        mine = self.counts
        wet_kg = self.wet_kg[mine]
        water_kg = wet_kg * (0.0 if self.moisture is None else self.moisture[mine])
        each = {
            "points": np.ones(len(wet_kg)),
            "area_m2": self.area_m2[mine],
            "wet_kg": wet_kg,
            "dry_kg": self.dry_kg[mine],
            "water_kg": water_kg,
        }
        of = group[mine]
        return {
            name: np.asarray(np.bincount(of, values, groups), dtype=np.float64)
            for name, values in each.items()
        }


def _strip_yields(grain: Grain, placed: Placed, strips: Strips) -> tuple[StripYield, ...]:
    sums = grain.summed(placed.strip, len(strips.number))
    pairs = np.unique(np.stack([placed.strip, placed.run])[:, grain.counts], axis=1)
    runs = np.bincount(pairs[0], minlength=len(strips.number))
    return tuple(
        StripYield(
            strip=int(strips.number[at]),
            kg_per_m2=float(sums["dry_kg"][at] / sums["area_m2"][at]),
            moisture=None
            if grain.moisture is None
            else float(sums["water_kg"][at] / sums["wet_kg"][at]),
            grain_kg=float(sums["wet_kg"][at]),
            area_m2=float(sums["area_m2"][at]),
            share=float(sums["area_m2"][at] / strips.area_m2[at]),
            points=int(sums["points"][at]),
            runs=int(runs[at]),
        )
        for at in np.flatnonzero(sums["area_m2"] > 0)
    )


def _run_yields(
    grain: Grain,
    log: MonitorLog,
    placed: Placed,
    strips: Strips,
    lanes: Lanes,
    lane: Integers,
    run_strip: Integers,
    run_across_m: Floats,
) -> list[RunYield]:
    sums = grain.summed(np.maximum(placed.run, 0), placed.runs)
    on = placed.run != NONE
    first = np.full(placed.runs, np.iinfo(np.int64).max)
    last = np.zeros(placed.runs, dtype=np.int64)
    np.minimum.at(first, placed.run[on], log.line[on])
    np.maximum.at(last, placed.run[on], log.line[on])
    return [
        RunYield(
            strip=int(strips.number[run_strip[at]]),
            pass_number=None if lane[at] == NONE else int(lanes.number[lane[at]]),
            from_m=float(run_across_m[at] - strips.low_m[run_strip[at]]),
            lines=(int(first[at]), int(last[at])),
            kg_per_m2=float(sums["dry_kg"][at] / sums["area_m2"][at])
            if sums["area_m2"][at] > 0
            else None,
            area_m2=float(sums["area_m2"][at]),
            points=int(sums["points"][at]),
        )
        for at in range(placed.runs)
    ]
