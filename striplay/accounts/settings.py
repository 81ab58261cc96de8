"""Say what an operation's machine and seed are set to, and what the operation takes, in words."""

from collections.abc import Sequence

from striplay.accounts.loads import Load
from striplay.accounts.words import rate_words, thousandth_of_row, unit_words
from striplay.operations.hours import Hours
from striplay.operations.jobs import crops_of
from striplay.operations.judged import Judged
from striplay.operations.standing import HEADLAND
from striplay.operations.under import parts_of
from striplay.plan.machines import Boom, Harvester, Machine, Planter
from striplay.plan.models import Plan
from striplay.section.seeding import RowRate
from striplay.tolerances import WIDTH_M
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    Quantity,
    UnitSystem,
    format_area,
    format_capacity,
    format_hours,
    format_length,
    format_load,
    format_small,
    format_speed,
    measured_in,
    said,
    said_apart,
    to_digits,
    trim,
)


def settings(
    plan: Plan, judged: Judged, loads: Sequence[Load], row_rates: Sequence[RowRate]
) -> list[tuple[str, str]]:
    """List what an operation's machine is set to, a label and words each.

    Args:
        plan: machines and crops.
        judged: the operation.
        loads: what it carries or brings in, blends before their parts.
        row_rates: what each crop's rate comes to in its rows.
    """
    job, machine = judged.job, plan.machines[judged.job.machine]
    found = [("crop" if len(crops_of(job)) == 1 else "crops", " and ".join(crops_of(job)))]
    if job.day is not None:
        found.append(("day", job.day.isoformat()))
    if job.stage:
        found.append(("stage", job.stage))
    if job.does == "spray" and job.rate is None:
        found.append(("product", f"{job.product or BLANK}, rate {BLANK}, not in the plan"))
    for load in loads:
        of = "" if len(loads) == 1 else load.crop
        if load.blend:
            found.append((f"rate of {load.what}", f"{load.rate}: calibrate by it"))
            continue
        if not load.crop:
            found.append(("product", load.what))
        rate = "yield reckoned with" if load.brought_in else "rate"
        if load.rate:
            found.append((f"{of} {rate}".strip(), load.rate))
        if load.crop and not load.brought_in:
            found += _of_seed(plan, load, of)
    if job.does == "plant":
        found += _in_rows(plan, judged, row_rates)
    else:
        sides = [*judged.beside.left, *judged.beside.right]
        beside = dict.fromkeys(name for name in sides if name)
        found += [("stands beside", ", ".join(beside))] if beside else []
    return [*found, *_of_machine(plan, judged, machine, loads)]


BLANK = "________"
"""Room to write what the plan does not state."""


def _of_seed(plan: Plan, load: Load, of: str) -> list[tuple[str, str]]:
    """Say of a crop's seed what a unit holds, how large it is, and how deep it goes."""
    crop = plan.crops[load.crop]
    found = []
    if crop.unit is not None:
        found.append(("seed unit", unit_words(crop.unit, plan.units)))
    if crop.seed_size_per_kg is not None:
        weight, kg = measured_in("kg", plan.units)
        found.append(("seed size", f"{said(crop.seed_size_per_kg * kg)} seeds/{weight}"))
    if crop.depth_m is not None:
        found.append(("planting depth", format_small(crop.depth_m, plan.units)))
    return [(f"{of} {label}".strip(), words) for label, words in found]


def _planted(judged: Judged, row_rates: Sequence[RowRate]) -> list[RowRate]:
    """List what the rates of the crops that an operation plants come to, on strips and headland."""
    if judged.job.does != "plant":
        return []
    labels = {name for label in judged.job.crops for name in label.split(" + ")}
    around = bool((judged.route.place == HEADLAND).any())
    return [
        one
        for one in row_rates
        if one.planter == judged.job.machine
        and one.label in labels
        and (around if one.place == HEADLAND else bool((judged.route.place != HEADLAND).any()))
    ]


def stand_counts(plan: Plan, judged: Judged, row_rates: Sequence[RowRate]) -> list[tuple[str, str]]:
    """Say of each crop planted how its stand is counted, its name and words each.

    Of rows, plants in 1/1000 of an acre or hectare of one; of what is drilled, where such a row is
    long, plants in a frame or in a short length of one (common practice, no source).
    """
    found = []
    for one in _planted(judged, row_rates):
        planter = plan.planter_of(one.planter)
        drilled = planter.rows is None
        how = _drilled(one.row_m, plan.units, lined=planter.row_units is not None)
        found.append((one.crop, how if drilled else _in_row(one.row_m, plan.units)))
    return list(dict.fromkeys(found))


def _in_row(row_m: float, units: UnitSystem) -> str:
    area = "acre" if units == "us" else "hectare"
    return (
        f"plants in {thousandth_of_row(row_m, units)} of one row, 1/1000 {area} in rows "
        f"{format_small(row_m, units)} apart; times 1,000 they are plants to the {area}"
    )


def _drilled(row_m: float, units: UnitSystem, *, lined: bool) -> str:
    """Say how a drilled stand is counted; in a row too where rows are known (`lined`)."""
    if units == "us":
        area, area_m2, frame, frame_m2 = "acre", ACRE_M2, "1 square foot", FOOT_M**2
        row, long_m = "3 ft", 3 * FOOT_M
    else:
        area, area_m2, frame, frame_m2 = "hectare", HECTARE_M2, "0.25 square meter", 0.25
        row, long_m = "1 m", 1.0
    said_of = f"plants in a frame of {frame}, at several places; times {area_m2 / frame_m2:,.0f} "
    said_of += f"they are plants to the {area}"
    if not lined:
        return said_of
    times = to_digits(area_m2 / (row_m * long_m))
    return f"{said_of}; or in {row} of one row, times {times:,.0f}"


def _in_rows(plan: Plan, judged: Judged, row_rates: Sequence[RowRate]) -> list[tuple[str, str]]:
    """Say how each crop that an operation plants lies in the row, and how far rows lie apart."""
    mine = _planted(judged, row_rates)
    per, foot = (FOOT_M, "ft") if plan.units == "us" else (1.0, "m")
    found: dict[tuple[str, str, str], list[str]] = {}
    for one in mine:
        of = one.named
        if one.seeds_per_m is not None and one.apart_m is not None:
            words = f"{said(one.seeds_per_m * per)} seeds/{foot}"
            if plan.planter_of(one.planter).rows is not None:  # a drill does not space seeds
                words += f", one every {said_apart(one.apart_m, plan.units)}"
            found.setdefault((of, "in the row", words), []).append(one.place)
        if one.left_out and one.seeds_per_m2 is not None:
            words = f"{rate_words(one.seeds_per_m2, 'seeds', plan.units)}, since {LEFT_OUT}"
            found.setdefault((of, "over the strips", words), []).append(one.place)
        spacing = format_small(one.row_m, plan.units)
        apart_m = plan.planter_of(one.planter).spacing_m
        even = apart_m is not None and abs(apart_m - one.row_m) < WIDTH_M
        # rows in pairs, or with some left out, are not evenly apart
        label = "row spacing" if even else "a row takes seed of"
        found.setdefault((of, label, spacing), []).append(one.place)
    kinds: dict[str, list[str]] = {}
    for _, kind, words in found:
        kinds.setdefault(kind, []).append(words)
    told: dict[tuple[str, str], None] = {}
    for (of, kind, words), places in found.items():
        # one line for all that are the same; else whose, and where one crop has several
        label = kind if len(set(kinds[kind])) == 1 else f"{of} {kind}"
        several = sum(other[:2] == (of, kind) for other in found) > 1
        told[f"{label}, {places[0]}" if several else label, words] = None
    return list(told)


LEFT_OUT = "rows left out take no seed"
"""Why strips have less seed than the rate: tramlines, and places beside the next crop."""


def parts_named(machine: Machine) -> str:
    """Name what of a machine is on or off; units are row units, not those that seed is sold in."""
    name = parts_of(machine)[0]
    return "row units" if name == "units" else name


def taken(plan: Plan, judged: Judged) -> list[tuple[str, str]]:
    """Say what an operation takes: ground, passes, time and diesel."""
    hours, fuel, units = judged.hours, judged.fuel, plan.units
    turns = int(hours.turn.sum())
    found = [
        ("ground worked", format_area(hours.area_m2, units, 1)),
        ("passes", f"{len(judged.route)}, {turns} turn{'s' * (turns != 1)}"),
        ("time", f"{hours.words}, gate to gate{_counted(hours)}"),
        ("ground an hour", format_capacity(hours.capacity_m2_per_s, units)),
    ]
    if fuel is not None:
        name, one = measured_in("m3", units)
        low, about, high = (said(m3 / one, 2) for m3 in (fuel.low_m3, fuel.m3, fuel.high_m3))
        likely = "" if low == high else f", likely {low} to {high} {name}"
        found.append(("diesel", f"about {about} {name}{likely}"))
    return found


def _counted(hours: Hours) -> str:
    """Say what of the time was counted, where published field efficiency leaves more."""
    usual = hours.usual
    if usual is None or round(hours.efficiency, 2) <= usual.high:
        return ""
    best, driven = f"{100 * usual.high:.0f} %", format_hours(hours.total_s)
    return f": {driven} of passes, turns and fills, and field efficiency is {best} at best"


def _of_machine(
    plan: Plan, judged: Judged, machine: Machine, loads: Sequence[Load]
) -> list[tuple[str, str]]:
    """Say of a machine its width, rows or sections, wheels, speed and what it holds."""
    units, name = plan.units, judged.job.machine
    found = [("machine", name), ("working width", format_length(machine.width_m, units))]
    count = parts_of(machine)[1]
    if count > 1 or isinstance(machine, Boom):
        found.append((parts_named(machine), f"{count}"))
    spacing_m = None if isinstance(machine, Planter) else getattr(machine, "spacing_m", None)
    if spacing_m is not None:
        found.append(("row spacing", format_small(spacing_m, units)))
    if machine.tread_m is not None:
        found.append(("tread", format_small(machine.tread_m, units)))
    stated = "speed_mps" in machine.model_fields_set
    speed = format_speed(machine.speed_mps, units, usual=not stated)
    found.append(("speed", speed if stated else f"{speed} (usual)"))
    if machine.holds is not None:
        holds = format_load(machine.holds.value, machine.holds.si_unit, units)
        found.append(("holds", f"{holds}{_in_units(judged, machine.holds, loads)}"))
    if isinstance(machine, Harvester) and machine.cutting_height_m is not None:
        found.append(("cutting height", format_small(machine.cutting_height_m, units)))
    if isinstance(machine, Harvester) and machine.cart is not None:
        cart = plan.machines[machine.cart].holds
        holds = "" if cart is None else f", holds {format_load(cart.value, cart.si_unit, units)}"
        found.append(("cart", f"{machine.cart}{holds}"))
    return found


def _in_units(judged: Judged, holds: Quantity, loads: Sequence[Load]) -> str:
    """Say what a machine holds in units of seed too, where it carries seed sold by them alone."""
    seed = [load for load in loads if load.measure.sold and load.crop]
    if len(seed) != 1 or len(loads) != 1 or not seed[0].total:
        return ""
    parts = [part for one in judged.amounts for part in one.parts if part.name == seed[0].crop]
    carried = sum(float(part.by_unit[holds.si_unit].sum()) for part in parts
                  if holds.si_unit in part.by_unit)  # fmt: skip
    if not carried:
        return ""
    count = holds.value / carried * seed[0].total / seed[0].measure.sold
    return f", {trim(to_digits(count), 1)} units of {seed[0].measure.holds}"
