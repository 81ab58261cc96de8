"""Say what stands in the way of each operation of the season."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from striplay.notices import Severity
from striplay.plan.machines import Boom, Cultivator, Harvester, Machine, Planter
from striplay.plan.models import Plan
from striplay.season.calendar import Window
from striplay.season.moments import Moment, ground_of, moments, name_of
from striplay.section.after_harvest import layers_after
from striplay.section.between import layers_between
from striplay.section.mixture import crops_named, mixtures_of
from striplay.section.section import Layer, Section
from striplay.section.wheels import off_tracks, tracks_over
from striplay.tolerances import WIDTH_M
from striplay.units import format_length, format_small


@dataclass(frozen=True, slots=True)
class Conflict:
    """Something that stands in an operation's way.

    Attributes:
        day: when the operation happens; None where that is not known.
        crop: the crop in the way.
        said: what is wrong, in words.
        severity: "stop" where the operation can't go as planned, "mind" where it costs something,
            or may go well and is not known to.
        operation: what is done then, as far as one operation is in question.
        on: the crop or mixture it is done to.
        asked: number of the [[operations]] table that asks for it, from 1; 0 for none.
    """

    day: date | None
    crop: str
    said: str
    severity: Severity = "stop"
    operation: str = ""
    on: str = ""
    asked: int = 0

    @property
    def told(self) -> str:
        """What is wrong, in words that begin with its day."""
        return self.said if self.day is None else f"{self.day.isoformat()}: {self.said}"


def conflicts(
    plan: Plan, settled: Mapping[str, Window], section: Section | None = None
) -> list[Conflict]:
    """List what stands in the way of operations, by day; those whose day is not known last.

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
    edge = plan.headland_crop
    around = alone if edge is None or edge not in settled else {**alone, edge: settled[edge]}
    found = [*_between(plan, own), *_after(plan, own), *_headland(plan, around)]
    if section is not None:
        found += [*_in_the_way(plan, own, section), *_one_pass(own, section)]
    return sorted(found, key=lambda one: (one.day is None, one.day or date.max, one.crop))


def grown_as(plan: Plan, section: Section | None) -> set[str]:
    """Name what is sown and harvested by itself: crops and mixtures, not the parts of these.

    Without a section, all that the plan holds.
    """
    if section is None:
        mixtures = mixtures_of(plan)
        parts = {part for crops in mixtures.values() for part in crops}
        return {*mixtures, *(name for name in plan.crops if name not in parts)}
    return {layer.label for layer in section.layers}


def _one_pass(settled: Mapping[str, Window], section: Section) -> list[Conflict]:
    """Judge crops that one pass plants, in one row or side by side: they are sown on one day."""
    together = {tuple(sorted(layer.crop for layer in row.sown)) for row in section.rows}
    for one in section.passes:
        if one.operation == "plant" and one.strip is None:
            rows = (section.rows[index] for index in one.rows)
            together.add(tuple(sorted({layer.crop for row in rows for layer in row.sown})))
    found = []
    for crops in sorted(together):
        days = {name: settled[name].sown for name in crops if name in settled}
        if len(set(days.values())) > 1:
            each = ", ".join(f"{name} {day.isoformat()}" for name, day in days.items())
            first = min(days, key=lambda name: days[name])
            said = f"one pass sows {' and '.join(days)}, and their days differ: {each}"
            said += "; give them one day"
            found.append(Conflict(days[first], first, said, operation="plant", on=first))
    return found


def _in_the_way(plan: Plan, settled: Mapping[str, Window], section: Section) -> list[Conflict]:
    """Judge every operation by what stands in its strip and beside it."""
    found: dict[tuple[date | None, int, str], Conflict] = {}
    for moment in moments(plan, section, settled):
        machine = moment.work.machine
        told = [
            (beside.crop, f"beside {moment.crop}")
            for beside in moment.beside
            if moment.reach_m[beside.side]
            > max(0.0, beside.near_m - _clearance_m(plan, machine)) + WIDTH_M
        ]
        cures: dict[str, str] = {}
        verbs: dict[str, str] = {}
        narrower = _narrower(plan, section, moment) if told else ""
        for layer in dict.fromkeys(moment.within):
            crop = name_of(plan, settled, layer)
            if _cuts(plan, moment, layer) or _crushes(plan, section, moment, layer):
                between = f"between the rows of {moment.crop}"
                told.append((crop, between if crop != moment.crop else "where it is to till"))
                cures[crop] = _cure(plan, moment, layer)
                if _cuts(plan, moment, layer) and not cures[crop]:
                    verbs[crop] = _cut_words(plan, moment, layer)
        # what is not harvested, such as a cover crop, may be driven over
        for crop, where in (one for one in told if plan.crops[one[0]].reaped):
            cure = cures.get(crop, "")
            runs = verbs.get(crop, f"would {_over(plan, machine)} {crop}")
            open_with = narrower if where.startswith("beside") else ""
            until = _until(settled.get(crop), sure=crop not in moment.unsure)
            said = f"{machine} {runs}{until}, {where}{cure}{open_with}"
            said += _when_instead(plan, settled, moment, crop)
            # with a cure it is not known that the header cuts
            unsure = cure or crop in moment.unsure or isinstance(plan.machines[machine], Boom)
            severity: Severity = "mind" if unsure else "stop"
            done = moment.work.operation, moment.crop, moment.asked
            found[moment.day, moment.asked, said] = Conflict(
                moment.day, crop, said, severity, *done
            )
    return list(found.values())


TREATS = {"spray": "spray", "spread": "spread over"}
"""What a machine does to a crop that it passes above."""


def _over(plan: Plan, machine: str) -> str:
    """Say what a machine would do to a crop that it should not meet."""
    return TREATS.get(plan.machines[machine].does, "run over")


def _when_instead(plan: Plan, settled: Mapping[str, Window], moment: Moment, crop: str) -> str:
    """Say which day would tell, where only that is not known; and who decides of a spray."""
    said = ""
    if isinstance(plan.machines[moment.work.machine], Boom):
        said = "; over it the label decides"
    if crop not in moment.unsure:
        return said
    if moment.day is None:
        return f"{said}; state day of operations[{moment.asked}], one on which it does not stand"
    if crop not in settled:
        return f"{said}; state when {crop} is sown and harvested"
    return said


def _narrower(plan: Plan, section: Section, moment: Moment) -> str:
    """Name a narrower machine of the same kind that takes the same ground and meets no neighbor.

    Where there is none, of work between planting and harvest say what would do.
    """
    own = plan.machines[moment.work.machine]
    if isinstance(own, Planter | Boom):
        return ""
    low_m, high_m = ground_of(moment.passes, section, moment.strip)
    for name, other in plan.machines.items():
        alike = type(other) is type(own) and _row_m(other) == _row_m(own)
        if not alike or other.width_m >= own.width_m:
            continue
        past_m = max(0.0, other.width_m - (high_m - low_m)) / 2
        clear_m = _clearance_m(plan, name)
        if all(past_m <= max(0.0, one.near_m - clear_m) + WIDTH_M for one in moment.beside):
            wide = format_length(other.width_m, plan.units)
            with_it = "open with it" if isinstance(own, Harvester) else "take it"
            return f"; {name}, {wide} wide, would not: {with_it}"
    if isinstance(own, Harvester):
        return ""
    return f"; a machine no wider than {format_length(high_m - low_m, plan.units)} would not"


def _row_m(machine: Machine) -> float | None:
    """Give the spacing of the rows a header or cultivator is for; None where for any."""
    return machine.spacing_m if isinstance(machine, Harvester | Cultivator) else None


def _clearance_m(plan: Plan, machine: str) -> float:
    header = plan.machines[machine]
    return header.clearance_m if isinstance(header, Harvester) else 0.0


def _cuts(plan: Plan, moment: Moment, layer: Layer) -> bool:
    """Tell whether a machine cuts or treats another crop that stands in the strip.

    A host's header may pass above the crop between; every other one cuts what stands, and so do
    mowers and tools between rows.
    """
    if moment.work.operation == "plant":
        return False
    if moment.work.operation != "harvest":
        return True
    header = plan.machines[moment.work.machine]
    return moment.work.layer > 0 or not layer.host or not _clears(header, layer)


def _cure(plan: Plan, moment: Moment, layer: Layer) -> str:
    """Say what to state so that a host's header could be known to pass above the crop between."""
    header = plan.machines[moment.work.machine]
    if moment.work.layer > 0 or not layer.host or not isinstance(header, Harvester):
        return ""
    lacking = []
    if layer.height_m is None:
        table = layer.grown.replace(" ", "_")
        lacking.append(f"height of {layer.label} under [[{table}]]")
    if header.cutting_height_m is None:
        lacking.append(f"machines.{moment.work.machine}.cutting_height")
    if not lacking:
        return ""
    return f"; whether it cuts above is not known without {' and '.join(lacking)}"


def _cut_words(plan: Plan, moment: Moment, layer: Layer) -> str:
    """Say what a header does to the crop between: how high that stands, and where it is cut."""
    header = plan.machines[moment.work.machine]
    cuts_m = header.cutting_height_m if isinstance(header, Harvester) else None
    if cuts_m is None or layer.height_m is None or moment.work.layer > 0:
        return f"would {_over(plan, moment.work.machine)} {layer.label}"
    high, low = (format_small(m, plan.units) for m in (layer.height_m, cuts_m))
    return f"would cut {layer.label}, {high} high, at {low}"


def _crushes(plan: Plan, section: Section, moment: Moment, layer: Layer) -> bool:
    """Tell whether a host sown among a quick crop is not known to leave its rows alone.

    A sowing between standing rows is what a relay is; wheels and openers are judged across the set.
    """
    work, strip = moment.work, section.strips[moment.strip]
    if work.operation != "plant" or work.layer > 0:
        return False
    tracks = tracks_over(plan, section, work, strip)
    rows_m = [
        row.offset_m for row in section.rows if row.strip == moment.strip and layer in row.sown
    ]
    return not tracks or len(off_tracks(tracks, rows_m)) < len(rows_m)


def _until(window: Window | None, *, sure: bool) -> str:
    """Say until when a crop stands; from when too where it only may stand."""
    if window is None:
        return ", which may stand then"
    since = "" if sure else f" from {window.sown.isoformat()}"
    return f", standing{since} until {window.harvested or 'its harvest'}"


def _between(plan: Plan, settled: Mapping[str, Window]) -> list[Conflict]:
    """Judge crops sown between the rows of others."""
    found = []
    for asked in dict.fromkeys(layers[0] for layers in layers_between(plan)):
        if asked.label not in settled or asked.host not in settled:
            continue
        second, host = settled[asked.label], settled[asked.host]
        quick = asked.grown == "quick crop" and plan.crops[asked.label].reaped
        if host.harvested is not None and second.sown >= host.harvested:
            found.append(
                _told(second.sown, asked.host, "is already harvested", "plant", asked.label)
            )
        if second.sown < host.sown and not quick:
            found.append(_told(second.sown, asked.host, "is not sown yet", "plant", asked.label))
        if second.harvested is not None and second.harvested <= host.sown:
            early = "is not sown yet", "harvest", asked.label
            found.append(_told(second.harvested, asked.host, *early))
        if quick and host.canopy_closure is not None and second.sown >= host.canopy_closure:
            closed = _told(second.sown, asked.host, "has closed its canopy", "plant", asked.label)
            found.append(replace(closed, severity="mind"))
        if quick and (host.canopy_closure is None or second.harvested is None):
            lacking = (
                [*_lacking(plan, settled, asked.host, "canopy_closure")]
                if host.canopy_closure is None
                else []
            )
            if second.harvested is None:
                lacking += _lacking(plan, settled, asked.label, "harvested")
            without = " and ".join(lacking)
            said = f"whether {asked.label} is harvested in time is not known without {without}"
            found.append(Conflict(second.sown, asked.label, said, "mind", "plant", asked.label))
        elif (
            quick
            and host.canopy_closure is not None
            and (second.harvested or host.canopy_closure) > host.canopy_closure
        ):
            assert second.harvested is not None  # noqa: S101 - it is after the other
            late = (second.harvested - host.canopy_closure).days
            said = f"{asked.label} is harvested {late} days after the canopy of {asked.host} closes"
            found.append(
                Conflict(second.harvested, asked.label, said, "mind", "harvest", asked.label)
            )
    return found


def _after(plan: Plan, settled: Mapping[str, Window]) -> list[Conflict]:
    """Judge crops sown where another was harvested: whether it is off by then."""
    found = []
    for layer in dict.fromkeys(layers[0] for layers in layers_after(plan)):
        if layer.label not in settled or layer.host not in settled:
            continue
        sown, off = settled[layer.label].sown, settled[layer.host].harvested
        if off is None:
            lacking = " and ".join(_lacking(plan, settled, layer.host, "harvested"))
            said = f"whether {layer.host} is off when {layer.label} is sown is not known without"
            told = f"{said} {lacking}"
            found.append(Conflict(sown, layer.host, told, "mind", "plant", layer.label))
        elif sown < off:
            said = (
                f"{layer.label} is to be sown after {layer.host}, which stands until "
                f"{off.isoformat()}; sow it then or later, harvest sooner, or sow it between the "
                "rows as a [[relay]]"
            )
            found.append(Conflict(sown, layer.host, said, "stop", "plant", layer.label))
    return found


def _lacking(plan: Plan, settled: Mapping[str, Window], name: str, key: str) -> list[str]:
    """Name the keys that would tell a crop's day, of a mixture those of its parts."""
    parts = crops_named(plan, name)
    return [
        f"crops.{crop}.{key}"
        for crop in parts
        if crop not in settled or getattr(settled[crop], key) is None
    ]


def _clears(header: Machine, layer: Layer) -> bool:
    """Tell whether the standing crop's header is known to pass above the one between."""
    if (
        not isinstance(header, Harvester)
        or header.cutting_height_m is None
        or layer.height_m is None
    ):
        return False
    return layer.height_m <= header.cutting_height_m


def _told(day: date, crop: str, state: str, operation: str, on: str) -> Conflict:
    """Say in what state a crop is when another is sown or harvested."""
    done = {"plant": "sown", "harvest": "harvested"}[operation]
    said = f"{crop} {state} when {on} is {done}"
    return Conflict(day, crop, said, operation=operation, on=on)


def _headland(plan: Plan, settled: Mapping[str, Window]) -> list[Conflict]:
    """Judge turning on a planted headland: machines run over its crop while it stands."""
    crop = plan.headland_crop
    if crop is None or crop not in settled:
        return []
    if not plan.crops[crop].reaped:
        return []
    edge = settled[crop]
    until = "its harvest" if edge.harvested is None else edge.harvested.isoformat()
    found = []
    for name, window in settled.items():
        reaped = None if plan.harvester(name) is None else window.harvested
        for day, what, does in (
            (window.sown, "sowing", "plant"),
            (reaped, "harvest", "harvest"),
        ):
            if name != crop and day is not None and edge.stands_on(day):
                said = (
                    f"{what} of {name} turns on the headland's {crop}, which stands until {until}"
                )
                found.append(Conflict(day, crop, said, "mind", does, name))
    return found
