"""Say what stands in the way of each operation of the season."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.season.calendar import Window, standing
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M


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
