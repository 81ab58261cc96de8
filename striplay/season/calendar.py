"""Say from when to when each crop stands, and what stands in the way of each operation."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from graphlib import CycleError, TopologicalSorter

from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.plan.when import Stage
from striplay.season.degree_days import F_PER_C, Weather, day_reached
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M


@dataclass(frozen=True, slots=True)
class Window:
    """From when to when a crop stands.

    Attributes:
        crop: its name.
        sown: the day it is sown.
        harvested: the day it is harvested; None where it is not said.
        closes: the day its canopy closes over a crop between its rows, if said.
    """

    crop: str
    sown: date
    harvested: date | None
    closes: date | None

    def stands_on(self, day: date | None) -> bool:
        """Tell whether it stands on a day: sown before it, and not yet harvested."""
        if day is None or day <= self.sown:
            return False
        return self.harvested is None or day < self.harvested


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something that stands in an operation's way.

    Attributes:
        day: when the operation happens.
        crop: the crop in the way.
        said: what is wrong, in words.
    """

    day: date
    crop: str
    said: str


def windows(plan: Plan, weather: Sequence[Weather]) -> tuple[dict[str, Window], list[str]]:
    """Settle when each crop stands.

    Args:
        plan: its crops' days and stages.
        weather: days' weather, for stages.

    Returns:
        A window for each crop that is said to be sown; and why others have none.
    """
    settled: dict[str, Window] = {}
    untold: list[str] = []
    for name in _in_order(plan.crops, untold):
        crop = plan.crops[name]
        sown = _day(crop.sown, settled, weather, None)
        if sown is None:
            if isinstance(crop.sown, Stage):
                untold.append(f"{name}: {_why(crop.sown, weather)}")
            continue
        harvested = _day(crop.harvested, settled, weather, sown)
        if harvested is None and isinstance(crop.harvested, Stage):
            untold.append(f"{name}: {_why(crop.harvested, weather)}")
        closes = _day(crop.closes, settled, weather, sown)
        if closes is None and isinstance(crop.closes, Stage):
            untold.append(f"{name}: {_why(crop.closes, weather)}")
        settled[name] = Window(name, sown, harvested, closes)
    for name, mixture in plan.mixtures.items():
        parts = [settled[crop] for crop in mixture.parts if crop in settled]
        if parts:
            settled[name] = _together(name, parts)
            untold += _ripening(name, parts)
    return settled, untold


def _together(name: str, parts: Sequence[Window]) -> Window:
    """Say when a mixture stands: from its first sowing to its last harvest."""
    ends = [part.harvested for part in parts]
    closes = [part.closes for part in parts if part.closes is not None]
    return Window(
        name,
        min(part.sown for part in parts),
        None if None in ends else max(end for end in ends if end is not None),
        min(closes, default=None),
    )


RIPE_DAYS = 14
"""Parts of a mixture that ripen farther apart than two weeks lose at harvest (our choice)."""


def _ripening(name: str, parts: Sequence[Window]) -> list[str]:
    """Say where parts of a mixture ripen far apart."""
    ends = [part.harvested for part in parts if part.harvested is not None]
    if not ends or (max(ends) - min(ends)).days <= RIPE_DAYS:
        return []
    return [f"{name}: its parts ripen {(max(ends) - min(ends)).days} days apart, for one harvest"]


def _in_order(crops: Mapping[str, Crop], untold: list[str]) -> list[str]:
    """Order crops so that each comes after the one its sowing waits for."""
    waits = {
        name: {
            when.after
            for when in (crop.sown, crop.harvested, crop.closes)
            if isinstance(when, Stage) and when.after
        }
        for name, crop in crops.items()
    }
    try:
        return [name for name in TopologicalSorter(waits).static_order() if name in crops]
    except CycleError:
        untold.append("crops wait for each other's stages; give one of them a day")
        return [name for name, others in waits.items() if not others]


def _day(
    when: date | Stage | None,
    settled: Mapping[str, Window],
    weather: Sequence[Weather],
    own: date | None,
) -> date | None:
    """Give the day something happens; None where it can't be told."""
    if not isinstance(when, Stage):
        return when
    begin = own
    if when.after is not None:
        begin = settled[when.after].sown if when.after in settled else None
    return None if begin is None else day_reached(weather, begin, when.degree_days_f / F_PER_C)


def _why(stage: Stage, weather: Sequence[Weather]) -> str:
    after = "" if stage.after is None else f" after {stage.after}"
    if not weather:
        return f"{stage.degree_days_f:g} degree days{after} need weather; give [weather] a file"
    return (
        f"{stage.degree_days_f:g} degree days{after} are not reached in the weather given, which "
        "must begin by then and leave no day out"
    )


def standing(settled: Mapping[str, Window], day: date) -> list[str]:
    """Name the crops that stand on a day: sown before it, and not yet harvested."""
    return [name for name, window in settled.items() if window.stands_on(day)]


def conflicts(
    plan: Plan, settled: Mapping[str, Window], section: Section | None = None
) -> list[Conflict]:
    """List what stands in the way of planting and harvest, by day.

    Args:
        plan: its headland, relays and quick crops.
        settled: when each crop stands.
        section: the set, to judge headers wider than their strips by; only its crops are judged.
    """
    grown = set(settled)
    if section is not None:
        grown = {*section.crops, *(strip.crop for strip in section.strips)}
    own = {name: window for name, window in settled.items() if name in grown}
    edge = plan.headland.crop
    around = own if edge is None or edge not in settled else {**own, edge: settled[edge]}
    found = [*_between(plan, own), *_headland(plan, around)]
    if section is not None:
        found += _neighbours(plan, own, section)
    return sorted(found, key=lambda conflict: (conflict.day, conflict.crop))


def _neighbours(plan: Plan, settled: Mapping[str, Window], section: Section) -> list[Conflict]:
    """Judge headers wider than their strips: they run over what stands beside."""
    found = {}
    strips = section.strips
    for index, strip in enumerate(strips):
        harvester, window = plan.harvester(strip.crop), settled.get(strip.crop)
        if harvester is None or window is None or window.harvested is None:
            continue
        if harvester.width_m <= strip.width_m + WIDTH_M:
            continue
        for other in (strips[index - 1].crop, strips[(index + 1) % len(strips)].crop):
            if other == strip.crop or other not in standing(settled, window.harvested):
                continue
            machine = plan.crops[strip.crop].harvester
            said = f"{machine} would run over {other} beside {strip.crop} {_until(settled[other])}"
            found[said] = Conflict(window.harvested, other, said)
    return list(found.values())


def _until(window: Window) -> str:
    return "until its harvest" if window.harvested is None else f"until {window.harvested}"


def _between(plan: Plan, settled: Mapping[str, Window]) -> list[Conflict]:
    """Judge crops sown between the rows of others."""
    found = []
    for asked in (*plan.relays, *plan.quick_crops):
        if asked.crop not in settled or asked.into not in settled:
            continue
        second, host = settled[asked.crop], settled[asked.into]
        quick = asked in plan.quick_crops
        if host.harvested is not None and second.sown >= host.harvested:
            found.append(_told(second.sown, asked.into, "is gone", f"{asked.crop} is sown"))
        if second.sown < host.sown and not quick:
            found.append(_told(second.sown, asked.into, "is not sown yet", f"{asked.crop} is sown"))
        if not quick and second.stands_on(host.harvested) and not _clears(plan, asked):
            machine = plan.crops[asked.into].harvester or "the harvester"
            until = "its harvest" if second.harvested is None else second.harvested.isoformat()
            assert host.harvested is not None  # noqa: S101 - it lies in the other's days
            said = f"{machine} runs over {asked.crop}, which stands until {until}"
            found.append(Conflict(host.harvested, asked.crop, said))
        if quick and host.closes is not None and second.sown >= host.closes:
            found.append(_told(second.sown, asked.into, "is closed", f"{asked.crop} is sown"))
        if quick and (host.closes is None or second.harvested is None):
            said = f"whether {asked.crop} leaves in time is not known; state closes and harvested"
            found.append(Conflict(second.sown, asked.crop, said))
        elif quick and host.closes is not None and (second.harvested or host.closes) > host.closes:
            assert second.harvested is not None  # noqa: S101 - it is after the other
            late = (second.harvested - host.closes).days
            said = f"{asked.crop} leaves {late} days after {asked.into} closes over it"
            found.append(Conflict(second.harvested, asked.crop, said))
    return found


def _clears(plan: Plan, asked: Between) -> bool:
    """Tell whether the standing crop's header is known to pass above the one between."""
    harvester = plan.harvester(asked.into)
    if harvester is None or harvester.cut_m is None or asked.height_m is None:
        return False
    return asked.height_m <= harvester.cut_m


def _told(day: date, crop: str, state: str, what: str) -> Conflict:
    return Conflict(day, crop, f"{crop} {state} when {what}")


def _headland(plan: Plan, settled: Mapping[str, Window]) -> list[Conflict]:
    """Judge turning on a planted headland: machines run over its crop while it stands."""
    crop = plan.headland.crop
    if crop is None or crop not in settled or plan.headland.where == "none":
        return []
    edge = settled[crop]
    until = "its harvest" if edge.harvested is None else edge.harvested.isoformat()
    found = []
    for name, window in settled.items():
        for day, what in ((window.sown, "sowing"), (window.harvested, "harvest")):
            if name != crop and day is not None and edge.stands_on(day):
                said = (
                    f"{what} of {name} turns on the headland's {crop}, which stands until {until}"
                )
                found.append(Conflict(day, crop, said))
    return found
