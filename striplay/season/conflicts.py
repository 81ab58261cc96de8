"""Say what stands in the way of each operation of the season."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from striplay.plan.machines import Harvester
from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.season.calendar import Window
from striplay.season.moments import Moment, moments
from striplay.section.section import Section
from striplay.section.wheels import off_tracks, tracks_over
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
        found += [*_in_the_way(plan, own, section), *_one_pass(own, section)]
    return sorted(found, key=lambda conflict: (conflict.day, conflict.crop))


def _one_pass(settled: Mapping[str, Window], section: Section) -> list[Conflict]:
    """Judge crops that one pass plants, in one row or side by side: they are sown on one day."""
    beside: dict[str, set[str]] = {}
    for row in section.rows:
        if row.layer == 0 and section.side_passes:
            beside.setdefault(row.planter, set()).update(sown.crop for sown in row.sown)
    together = {tuple(sorted(sown.crop for sown in row.sown)) for row in section.rows}
    together |= {tuple(sorted(crops)) for crops in beside.values()}
    found = []
    for crops in sorted(together):
        days = {name: settled[name].sown for name in crops if name in settled}
        if len(set(days.values())) > 1:
            each = ", ".join(f"{name} {day.isoformat()}" for name, day in days.items())
            first = min(days, key=lambda name: days[name])
            said = f"one pass sows {' and '.join(days)}, and their days differ: {each}"
            found.append(Conflict(days[first], first, said))
    return found


def _in_the_way(plan: Plan, settled: Mapping[str, Window], section: Section) -> list[Conflict]:
    """Judge every planting and harvest by what stands in its strip and beside it."""
    found: dict[tuple[date, str], Conflict] = {}
    for moment in moments(plan, section, settled):
        machine = moment.work.machine
        told = [
            (beside.crop, f"{machine} would run over {beside.crop} beside {moment.crop}")
            for beside in moment.beside
            if moment.reach_m > max(0.0, beside.near_m - _clearance_m(plan, machine)) + WIDTH_M
        ]
        told += [
            (crop, f"{machine} would run over {crop} between {moment.crop}")
            for crop in moment.within
            if _cuts(plan, moment, crop) or _crushes(plan, section, moment, crop)
        ]
        for crop, what in told:
            said = f"{what} {_until(settled[crop])}"
            found[moment.day, said] = Conflict(moment.day, crop, said)
    return list(found.values())


def _clearance_m(plan: Plan, machine: str) -> float:
    header = plan.machines[machine]
    return header.clearance_m or 0.0 if isinstance(header, Harvester) else 0.0


def _cuts(plan: Plan, moment: Moment, crop: str) -> bool:
    """Tell whether a harvest cuts another crop that stands in the strip.

    A host's header may pass above the crop between; every other one cuts what stands.
    """
    if moment.work.operation != "harvest":
        return False
    asked = [a for a in (*plan.relays, *plan.quick_crops) if a.crop == crop]
    return moment.work.layer > 0 or not asked or not all(_clears(plan, one) for one in asked)


def _crushes(plan: Plan, section: Section, moment: Moment, crop: str) -> bool:
    """Tell whether a host sown among a quick crop is not known to leave its rows alone.

    A sowing between standing rows is what a relay is; wheels and openers are judged across the set.
    """
    work, strip = moment.work, section.strips[moment.strip]
    if work.operation != "plant" or work.layer > 0:
        return False
    tracks = tracks_over(plan, section, work, strip)
    rows_m = [
        row.offset_m - strip.left_m
        for row in section.rows
        if row.strip == moment.strip and any(sown.crop == crop for sown in row.sown)
    ]
    return not tracks or len(off_tracks(tracks, rows_m)) < len(rows_m)


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
