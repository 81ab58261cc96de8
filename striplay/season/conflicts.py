"""Say what stands in the way of each operation of the season."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from striplay.plan.machines import Harvester, Machine
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
        grown = {*section.crops, *grown_as(plan, section)}
    own = {name: window for name, window in settled.items() if name in grown}
    alone = {name: own[name] for name in grown_as(plan, section) if name in own}
    edge = plan.headland.crop
    around = alone if edge is None or edge not in settled else {**alone, edge: settled[edge]}
    found = [*_between(plan, own), *_headland(plan, around)]
    if section is not None:
        found += [*_in_the_way(plan, own, section), *_one_pass(own, section)]
    return sorted(found, key=lambda conflict: (conflict.day, conflict.crop))


def grown_as(plan: Plan, section: Section | None) -> set[str]:
    """Name what is sown and harvested by itself: crops and mixtures, not the parts of these.

    Without a section, all that the plan holds.
    """
    if section is None:
        parts = {part for mixture in plan.mixtures.values() for part in mixture.parts}
        return {*plan.mixtures, *(name for name in plan.crops if name not in parts)}
    strips = {strip.crop for strip in section.strips}
    layers = {row.layer for row in section.rows}
    between = enumerate((*plan.relays, *plan.quick_crops), start=1)
    return strips | {asked.crop for layer, asked in between if layer in layers}


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
            said += "; give them one day"
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
            if moment.reach_m[beside.side]
            > max(0.0, beside.near_m - _clearance_m(plan, machine)) + WIDTH_M
        ]
        cures = {}
        for crop in moment.within:
            if _cuts(plan, moment, crop) or _crushes(plan, section, moment, crop):
                told.append((crop, f"{machine} would run over {crop} between {moment.crop}"))
                cures[crop] = _cure(plan, moment, crop)
        for crop, what in told:
            said = f"{what} {_until(settled[crop])}{cures.get(crop, '')}"
            found[moment.day, said] = Conflict(moment.day, crop, said)
    return list(found.values())


def _clearance_m(plan: Plan, machine: str) -> float:
    header = plan.machines[machine]
    return header.clearance_m if isinstance(header, Harvester) else 0.0


def _cuts(plan: Plan, moment: Moment, crop: str) -> bool:
    """Tell whether a harvest cuts another crop that stands in the strip.

    A host's header may pass above the crop between; every other one cuts what stands.
    """
    if moment.work.operation != "harvest":
        return False
    asked = [a for a in (*plan.relays, *plan.quick_crops) if a.crop == crop]
    header = plan.machines[moment.work.machine]
    return moment.work.layer > 0 or not asked or not all(_clears(header, one) for one in asked)


def _cure(plan: Plan, moment: Moment, crop: str) -> str:
    """Say what to state so that a host's header could be known to pass above the crop between."""
    header = plan.machines[moment.work.machine]
    asked = [a for a in (*plan.relays, *plan.quick_crops) if a.crop == crop]
    if moment.work.layer > 0 or not asked or not isinstance(header, Harvester):
        return ""
    lacking = [
        f"height of {crop} under [[{'quick_crop' if one in plan.quick_crops else 'relay'}]]"
        for one in asked
        if one.height_m is None
    ]
    if header.cut_m is None:
        lacking.append(f"machines.{moment.work.machine}.cut")
    if not lacking:
        return ""
    return f"; whether it cuts above is not known without {' and '.join(dict.fromkeys(lacking))}"


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
        if second.harvested is not None and second.harvested <= host.sown:
            state, what = "is not sown yet", f"{asked.crop} is harvested"
            found.append(_told(second.harvested, asked.into, state, what))
        if quick and host.closes is not None and second.sown >= host.closes:
            found.append(_told(second.sown, asked.into, "is closed", f"{asked.crop} is sown"))
        if quick and (host.closes is None or second.harvested is None):
            lacking = (
                [*_lacking(plan, settled, asked.into, "closes")] if host.closes is None else []
            )
            if second.harvested is None:
                lacking += _lacking(plan, settled, asked.crop, "harvested")
            without = " and ".join(lacking)
            said = f"whether {asked.crop} leaves in time is not known without {without}"
            found.append(Conflict(second.sown, asked.crop, said))
        elif quick and host.closes is not None and (second.harvested or host.closes) > host.closes:
            assert second.harvested is not None  # noqa: S101 - it is after the other
            late = (second.harvested - host.closes).days
            said = f"{asked.crop} leaves {late} days after {asked.into} closes over it"
            found.append(Conflict(second.harvested, asked.crop, said))
    return found


def _lacking(plan: Plan, settled: Mapping[str, Window], name: str, key: str) -> list[str]:
    """Name the keys that would tell a crop's day, of a mixture those of its parts."""
    parts = plan.mixtures[name].parts if name in plan.mixtures else [name]
    return [
        f"crops.{crop}.{key}"
        for crop in parts
        if crop not in settled or getattr(settled[crop], key) is None
    ]


def _clears(header: Machine, asked: Between) -> bool:
    """Tell whether the standing crop's header is known to pass above the one between."""
    if not isinstance(header, Harvester) or header.cut_m is None or asked.height_m is None:
        return False
    return asked.height_m <= header.cut_m


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
        reaped = None if plan.harvester(name) is None else window.harvested
        for day, what in ((window.sown, "sowing"), (reaped, "harvest")):
            if name != crop and day is not None and edge.stands_on(day):
                said = (
                    f"{what} of {name} turns on the headland's {crop}, which stands until {until}"
                )
                found.append(Conflict(day, crop, said))
    return found
