"""Say in words whether each operation can be done, and what it costs, each with a cure."""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely

from striplay.ground import Plane
from striplay.notices import Notice, Severity
from striplay.operations.amounts import Amount, bushel_kg, load_of
from striplay.operations.capacity import Span
from striplay.operations.fills import Fills
from striplay.operations.hours import Hours
from striplay.operations.jobs import Job, crops_of
from striplay.operations.route import Route
from striplay.plan.machines import Harvester
from striplay.plan.models import Plan
from striplay.section.mixture import crops_named, is_mixture
from striplay.units import format_about, format_hours, format_load, trim


def tank_notices(
    plan: Plan, route: Route, amounts: Sequence[Amount], fills: Fills | None, plane: Plane
) -> Iterator[Notice]:
    """Say where one load does not last a pass, and where loads can't be counted.

    Args:
        plan: what machines hold.
        route: the passes.
        amounts: what they use or bring in.
        fills: where the machine fills or unloads; None where that is not known.
        plane: the local plane.
    """
    name, job = route.job.machine, route.job
    machine = plan.machines[name]
    if machine.holds is None:
        return
    load = load_of(amounts, machine.holds)
    holds = format_load(machine.holds.value, machine.holds.si_unit, plan.units)
    if load is None or fills is None:
        said = (
            f"{job.name}: {name} holds {holds}, and what a pass takes is not known in that "
            f"measure, so fills are not counted; {_cure(plan, job, machine.holds.si_unit)}"
        )
        yield Notice("operations", "know", None, said)
        return
    short = np.flatnonzero(fills.dry > 0)
    # how a combine unloads on its way is judged with the lane of its cart
    judged = isinstance(machine, Harvester) and (machine.cart or machine.auger_reach_m) is not None
    if not len(short) or judged:
        return
    each = load.by_unit[machine.holds.si_unit]
    most = int(np.argmax(each))
    first = int(short[0])
    point = shapely.line_interpolate_point(route.line[first], fills.first_m[first])
    takes = format_load(float(each[most]), machine.holds.si_unit, plan.units)
    along = format_about(float(fills.first_m[first]), plan.units)
    happens = "is full" if load.brought_in else "runs out"
    brings = "brings in" if load.brought_in else "takes"
    cure = (
        "unload on the go into a cart, or on a lane across the field"
        if load.brought_in
        else f"carry {takes} or more, lower the rate, or fill on a lane across the field"
    )
    passes = "1 pass" if len(short) == 1 else f"{len(short)} passes"
    said = (
        f"{job.name}: {name} holds {holds} and a pass {brings} up to {takes}, so it {happens} "
        f"on the way of {passes}, first {along} along pass {first + 1}; {cure}"
    )
    yield Notice("operations", "mind", plane.spot(shapely.get_coordinates(point)[0]), said)


def _cure(plan: Plan, job: Job, si_unit: str) -> str:
    """Say which keys would tell what a job's passes take, in the unit its machine holds."""
    by_crop = {"plant": _seed_key, "harvest": _grain_key}.get(job.does)
    liquid = job.does == "plant" and si_unit == "m3"
    if by_crop is None or liquid:
        return "state the operation's product and its rate in that measure"
    if job.does == "harvest" and any(is_mixture(plan, name) for name in crops_of(job)):
        return "no key states the yield of a mixture"
    crops = [crop for name in crops_of(job) for crop in crops_named(plan, name)]
    keys = {crop: by_crop(plan, crop, si_unit) for crop in crops}
    named = " and ".join(f"crops.{crop}.{key}" for crop, key in keys.items() if key)
    return f"state {named or '`holds` in another measure'}"


def _seed_key(plan: Plan, name: str, si_unit: str) -> str:
    """Name the key of a crop that is missing for its seed to be known; empty where none is."""
    crop = plan.crops[name]
    if crop.rate is None:
        return "rate"
    if (crop.rate_per_m2 if si_unit == "seeds" else crop.rate_kg_per_m2) is None:
        return "seed_size"
    return "bushel" if si_unit == "bu" and bushel_kg(plan, name) is None else ""


def _grain_key(plan: Plan, name: str, _: str) -> str:
    """Name the key of a crop that is missing for its grain to be known; empty where none is."""
    if plan.crops[name].yield_rate is None:
        return "yield"
    return "" if bushel_kg(plan, name) is not None else "bushel"


LOSSES = {
    "turns": "longer passes, or a heading along the longest side, make fewer",
    "part width": "strips as wide as whole passes of it spare that",
    "filling": "a larger tank, or a tender nearer by, spares that",
    "unloading": "a cart that it unloads into on the go spares that",
    "driving between passes": "a gate nearer by, or fewer short pieces, spare that",
}
"""What takes a machine's time besides work at full width, and what spares it."""


def efficiency_notices(route: Route, hours: Hours) -> Iterator[Notice]:
    """Say where a machine's field efficiency lies outside what is published for its kind of work.

    Args:
        route: the passes.
        hours: what they take.
    """
    usual = hours.usual
    if usual is None or not hours.total_s or usual.holds(round(hours.efficiency, 2)):
        return
    said = (
        f"{route.job.name}: {route.job.machine} works at full width for "
        f"{_percent(hours.efficiency)} of its {format_hours(hours.total_s)}; published are "
        f"{_percent(usual.low)} to {_percent(usual.high)} ({usual.source})"
    )
    if hours.efficiency > usual.high:
        said += (
            "; only ways between passes are counted, and fills where it is stated what it holds, "
            f"so reckon with {hours.words}"
        )
        yield Notice("operations", "know", None, said)
        return
    filling = "unloading" if route.job.does == "harvest" else "filling"
    lost_s = {
        "turns": hours.turning_s,
        "part width": hours.part_width_s,
        filling: hours.fill_s,
        "driving between passes": hours.driving_s,
    }
    most = max(lost_s, key=lambda name: lost_s[name])
    share = _percent(lost_s[most] / hours.total_s)
    said += f"; most of the rest, {share}, goes to {most}: {LOSSES[most]}"
    yield Notice("operations", "know", None, said)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def window_notices(plan: Plan, spans: Iterable[Span]) -> Iterator[Notice]:
    """Say which jobs end later than planned, for they wait for their machine or their ground.

    A crop that still stands when what follows it is to be planted is a stop.

    Args:
        plan: hours a day of each machine.
        spans: the jobs, by day.
    """
    ends = {id(span.job): span for span in spans}
    for span in ends.values():
        job, before = span.job, span.waits_for
        if before is None or span.late_days < 1 or job.day is None or before.day is None:
            continue
        other, late = ends[id(before)], span.late_days
        a_day = trim(plan.machines[before.machine].hours_a_day, 1)
        days = "day" if (long := trim(other.days, 1)) == "1" else "days"
        takes = f"{long} {days} of {a_day} h from {before.day.isoformat()}"
        if other.start > before.day.toordinal():
            takes = f"{long} {days} of {a_day} h, after another job"
        severity: Severity = "mind"
        if span.shares == "machine":
            why = f"{job.machine} does {before.name} first, which takes {takes}"
            cure = "another day, more hours_a_day, or another machine"
        elif (before.does, job.does) == ("harvest", "plant"):
            severity = "stop"
            why = f"the ground is not free: {before.name} takes {takes}"
            cure = f"plant later, or harvest earlier or with more than {before.machine}"
        else:
            why = f"{before.name} comes first and takes {takes}"
            cure = "another day, more hours_a_day, or follow it strip by strip"
        said = (
            f"{job.day.isoformat()}: {job.name} ends on {span.last.isoformat()}, {late} "
            f"{'day' if late == 1 else 'days'} later than planned, for {why}; {cure}"
        )
        yield Notice("operations", severity, None, said, job.name)
