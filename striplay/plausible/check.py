"""Tell of figures that are far from the trade's: a slip of a unit or a digit is likely.

A figure that is unusual is told and never refused.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from itertools import chain

from striplay.notices import Kind, Notice
from striplay.operations.published import Range
from striplay.plan.crops import Crop
from striplay.plan.machines import Harvester, Machine, Planter
from striplay.plan.models import Plan
from striplay.plausible import values
from striplay.plausible.values import CROPS, Sowing, UsualCrop
from striplay.season.calendar import Window
from striplay.season.facts import CropFacts
from striplay.section.mixture import crops_named
from striplay.section.section import Section
from striplay.units import (
    ACRE_M2,
    HECTARE_M2,
    MPH_MPS,
    POUND_KG,
    UnitSystem,
    format_length,
    format_small,
    said_rate,
    trim,
)

YEAR_DAYS = 365
HALF_YEAR_DAYS = 182
UNIT, POINT = "is the unit right?", "is the decimal point right?"


def unusual(
    plan: Plan,
    section: Section,
    facts: Mapping[str, CropFacts],
    settled: Mapping[str, Window],
    latitude_deg: float,
) -> Iterator[Notice]:
    """Tell of every figure of a plan that is far from what is usual.

    Args:
        plan: its machines, crops and headland.
        section: the set, for headers and their strips.
        facts: of each crop of the plan, by its name there.
        settled: when crops stand, by name.
        latitude_deg: of the field, below 0 south of the equator.
    """
    machines = (_machine(plan, name, machine) for name, machine in plan.machines.items())
    edge = () if plan.headland_crop is None else crops_named(plan, plan.headland_crop)
    stand = {*section.crops, *edge}
    grown = {name: crop for name, crop in plan.crops.items() if name in stand}
    crops = (_crop(plan, name, crop, facts[name].kind) for name, crop in grown.items())
    days = (
        _days(plan, settled[name], facts[name], latitude_deg)
        for name in grown
        if name in settled
    )  # fmt: skip
    told = chain(
        _strips(plan, section), *machines, _headland(plan), *crops, *days
    )  # fmt: skip
    yield from dict.fromkeys(told)


def _outside(
    kind: Kind,
    key: str,
    value: float,
    usual: Range,
    write: Callable[[float], str],
    ask: str = UNIT,
) -> Iterator[Notice]:
    """Tell of a value that is not within what is usual, and ask what a slip would be in."""
    if usual.holds(value):
        return
    side = f"above {write(usual.high)}" if value > usual.high else f"below {write(usual.low)}"
    said = f"{key}: {write(value)} is unusual: {side} ({usual.source}); {ask}"
    yield Notice(kind, "mind", None, said)


def _lengths(units: UnitSystem) -> Callable[[float], str]:
    return lambda meters: format_length(meters, units)


def _small(units: UnitSystem) -> Callable[[float], str]:
    return lambda meters: format_small(meters, units)


def _speed(units: UnitSystem) -> Callable[[float], str]:
    each, name = (MPH_MPS, "mph") if units == "us" else (1 / 3.6, "km/h")
    return lambda mps: f"{trim(mps / each, 1)} {name}"


def _machine(plan: Plan, name: str, machine: Machine) -> Iterator[Notice]:
    """Tell of a machine's width, spacing, speed, turn and wheels."""
    key, units, does = f"machines.{name}", plan.units, machine.does
    length, small = _lengths(units), _small(units)
    spacing_m = machine.spacing_m if isinstance(machine, Planter | Harvester) else None
    if spacing_m is not None:
        yield from _outside("fit", f"{key}.spacing", spacing_m, values.SPACING_M, small)
    counted = isinstance(machine, Planter | Harvester) and machine.rows is not None
    ask = "are its rows and their spacing right?" if counted else UNIT
    yield from _outside(
        "fit", f"{key}: width", machine.width_m, _by(values.WIDTH_M, does), length, ask
    )
    speeds = _by(values.SPEED_MPS, does)
    yield from _outside("passes", f"{key}.speed", machine.speed_mps, speeds, _speed(units))
    seconds = lambda turn_s: f"{trim(turn_s, 1)} s"  # noqa: E731 - as the others
    if machine.turn_s is not None:
        yield from _outside("passes", f"{key}.turn", machine.turn_s, values.TURN_S, seconds)
    for what, value_m, usual, write in (
        ("turning_radius", machine.turning_radius_m, values.RADIUS_M, length),
        ("length", machine.length_m, values.MACHINE_LENGTH_M, length),
        ("auger_reach", _auger_m(machine), values.AUGER_M, length),
        ("tread", machine.tread_m, values.TREAD_M, length),
        ("tire", machine.tire_m, values.TIRE_M, small),
    ):
        if value_m is not None:
            yield from _outside("wheels", f"{key}.{what}", value_m, usual, write)
    if isinstance(machine, Harvester) and machine.cutting_height_m is not None:
        cut = machine.cutting_height_m
        yield from _outside("fit", f"{key}.cutting_height", cut, values.CUTTING_M, small)


def _auger_m(machine: Machine) -> float | None:
    return machine.auger_reach_m if isinstance(machine, Harvester) else None


def _by(usual: Mapping[str, Range], does: str) -> Range:
    """Give what is usual of a kind of machine, or of the others."""
    return usual.get(does, usual["others"])


def _strips(plan: Plan, section: Section) -> Iterator[Notice]:
    """Tell of strips that are no strips, and of headers far wider than theirs."""
    length = _lengths(plan.units)
    for strip in section.strips:
        key, ask = f"{strip.crop}: strip", "is its width right?"
        yield from _outside("fit", key, strip.width_m, values.STRIP_M, length, ask)
        harvester = plan.harvester(strip.crop)
        if harvester is not None and harvester.width_m >= values.HEADER_OVER * strip.width_m:
            said = (
                f"{plan.crops[strip.crop].harvester} of {length(harvester.width_m)} is unusual on "
                f"a strip of {strip.crop} {length(strip.width_m)} wide: it reaches over what "
                "stands beside; make the strip as wide as the header"
            )
            yield Notice("fit", "mind", None, said)


def _headland(plan: Plan) -> Iterator[Notice]:
    """Tell of a headland far wider than one turns on, and of a row that may not be short."""
    headland, length = plan.headland, _lengths(plan.units)
    if headland.where != "none":
        passes = headland.passes
        if passes is not None and passes > values.HEADLAND_PASSES:
            said = (
                f"headland.passes: {passes} passes, {length(plan.headland_width_m)}, are unusual: "
                f"two to four are common practice (no source)"
            )
            yield Notice("passes", "mind", None, said)
        else:
            key, width_m = "headland: width", plan.headland_width_m
            ask = UNIT if passes is None else "are its passes and its machine right?"
            yield from _outside("passes", key, width_m, values.HEADLAND_M, length, ask)
    shortest_m = plan.direction.shortest_m
    yield from _outside("passes", "direction.shortest", shortest_m, values.SHORTEST_M, length)


def _crop(plan: Plan, name: str, crop: Crop, kind: str | None) -> Iterator[Notice]:
    """Tell of a crop's seed: its rate, its size, and how much of it stands."""
    usual = CROPS.get(kind or "")
    if crop.rate_per_m2 is not None:
        area_m2, area = (ACRE_M2, "ac") if plan.units == "us" else (HECTARE_M2, "ha")
        rates = values.ANY_RATE if usual is None else usual.rate_per_m2
        factor = 1.0 if usual is None else values.FACTOR
        write = lambda rate: f"{rate * area_m2:,.0f} seeds/{area}"  # noqa: E731 - as the others
        yield from _far_off(f"crops.{name}.rate", crop.rate_per_m2, rates, factor, write)
    elif crop.rate is not None:
        yield from _weight(plan, name, crop.rate.value, usual)
    if crop.seed_size_per_kg is not None and usual is not None and usual.seeds_per_kg is not None:
        kg, unit = (POUND_KG, "lb") if plan.units == "us" else (1.0, "kg")
        sized = lambda size: f"{size * kg:,.0f} seeds/{unit}"  # noqa: E731 - as the others
        key = f"crops.{name}.seed_size"
        yield from _far_off(key, crop.seed_size_per_kg, usual.seeds_per_kg, values.FACTOR, sized)
    if crop.emergence is not None:
        shares = lambda share: f"{share:.0%}"  # noqa: E731 - as the others
        key = f"crops.{name}.emergence"
        yield from _outside("seed", key, crop.emergence, values.EMERGENCE, shares, POINT)


def _weight(plan: Plan, name: str, kg_per_m2: float, usual: UsualCrop | None) -> Iterator[Notice]:
    """Tell of a rate by weight, of a crop whose seed size the plan does not state."""
    known = None if usual is None else usual.kg_per_m2
    write = lambda kg: said_rate(kg, "kg_per_m2", plan.units)  # noqa: E731 - as the others
    rates, factor = (values.ANY_WEIGHT, 1.0) if known is None else (known, values.FACTOR)
    yield from _far_off(f"crops.{name}.rate", kg_per_m2, rates, factor, write)


def _far_off(
    key: str, value: float, usual: Range, factor: float, write: Callable[[float], str]
) -> Iterator[Notice]:
    """Tell of seed that is many times outside what is usual, and say what is."""
    if usual.holds(value, factor):
        return
    low, high = write(usual.low), write(usual.high)
    said = f"{key}: {write(value)} is unusual: usual is "
    said += low if low == high else f"{low.split()[0]} to {high}"
    said += f" ({usual.source}); is the unit right?"
    yield Notice("seed", "mind", None, said)


def _days(plan: Plan, window: Window, facts: CropFacts, latitude_deg: float) -> Iterator[Notice]:
    """Tell of a day on which a crop is hardly ever sown, and of a season too short or too long."""
    usual, name = CROPS.get(facts.kind or ""), window.crop
    if usual is not None and not sown_in_season(window.sown, usual.sowing, latitude_deg):
        side = "S" if latitude_deg < 0 else "N"
        said = (
            f"crops.{name}.sown: {window.sown.isoformat()} is unusual for {facts.spoken} at "
            f"{abs(latitude_deg):.0f} degrees {side}: {_REASONS[usual.sowing]} (from memory)"
        )
        yield Notice("season", "mind", None, said)
    if window.harvested is None or facts.season_days is None or not plan.crops[name].reaped:
        return
    days, (least, most) = (window.harvested - window.sown).days, facts.season_days
    share = values.SEASON_SHARE
    if not share.low * least <= days <= share.high * most:
        said = (
            f"crops.{name}.harvested: {days} days after sowing is unusual: {facts.spoken} takes "
            f"{least} to {most} ({facts.source('season_days')}); are the years right?"
        )
        yield Notice("season", "mind", None, said)


_REASONS: Mapping[Sowing, str] = {
    "warm": "the soil is cold then, or too little of the season is left",
    "winter": "it is sown before winter, to come to ear the next summer",
    "spring": "it is sown in spring",
    "cool": "the ground is mostly frozen then",
}


def sown_in_season(day: date, sowing: Sowing, latitude_deg: float) -> bool:
    """Tell whether a day is not unusual to sow on; near the equator every day will do.

    >>> sown_in_season(date(2026, 2, 1), "warm", 42.0), sown_in_season(date(2026, 5, 1), "warm", 42)
    (False, True)
    >>> sown_in_season(date(2026, 11, 1), "warm", -35.0)
    True
    """
    off_deg = abs(latitude_deg)
    frost_free_deg = values.FROST_FREE_DEG if sowing == "warm" else values.TROPIC_DEG
    if off_deg < frost_free_deg or sowing == "any":
        return True
    number = day.timetuple().tm_yday
    if latitude_deg < 0:
        number = (number + HALF_YEAR_DAYS - 1) % YEAR_DAYS + 1
    if sowing == "warm":
        first, last = values.WARM_DAYS
        nearer = values.WARM_DEG - off_deg
        toward, away = values.WARM_EARLIER
        first_day = first - nearer * (toward if nearer > 0 else away)
        return first_day <= number <= last + nearer * values.WARM_LATER
    if off_deg >= values.FREEZING_DEG and _within(number, values.FROZEN_DAYS):
        return False
    if sowing == "winter":
        return _within(number, values.AUTUMN_DAYS)
    if sowing == "spring" and off_deg >= values.FREEZING_DEG:
        return _within(number, values.SPRING_DAYS)
    return True


def _within(number: int, days: tuple[int, int]) -> bool:
    """Tell whether a day of the year lies between two, the end of the year perhaps among them."""
    first, last = days
    return first <= number <= last if first <= last else number >= first or number <= last
