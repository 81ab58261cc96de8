"""Hold a season as it was planned beside what is recorded of it: operations, and strip by strip."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from striplay.plan.models import Plan
from striplay.records.analysis_report import Findings
from striplay.records.edition import Edition, Pass
from striplay.records.entry import Done, Event, Recorded, Remark
from striplay.records.proposals import Proposal, stand_planned_per_m2, stated_kg_per_m2
from striplay.records.standing import standing
from striplay.records.yields import YieldOf, stands_of, yields_of


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """An operation as the plan has it.

    Attributes:
        name: what sheets call it.
        day: when it was to be done; None where the plan does not say.
        planted: crops that it plants; none of other work.
    """

    name: str
    day: date | None
    planted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkDone:
    """An operation as it was planned, and what is recorded of it.

    Attributes:
        name: what sheets call it.
        planned: when it was to be done; None where the plan does not say.
        passes: how many it has.
        done: of how many it is recorded that they were driven.
        first: first day of these; None where nothing is recorded.
        last: the last day.
        lots: of seed or product, in the order recorded.
    """

    name: str
    planned: date | None
    passes: int
    done: int
    first: date | None
    last: date | None
    lots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CropInStrip:
    """A crop of a strip as it was planned, and what is recorded of it.

    Attributes:
        strip: number of the strip.
        crop: the crop.
        planted: the last day that it was planted on; None where that is not recorded.
        lots: of its seed.
        plants_per_m2: counted; None where none were.
        planned_per_m2: plants that are to stand by the plan, of a mixture by the crop's share;
            None where it does not say.
        kg_per_m2: what all of the strip yielded; None where it was not weighed.
        stated_kg_per_m2: what the plan states that the crop yields alone; None where it does not.
        events: seen in the strip, each with its day.
    """

    strip: int
    crop: str
    planted: date | None
    lots: tuple[str, ...]
    plants_per_m2: float | None
    planned_per_m2: float | None
    kg_per_m2: float | None
    stated_kg_per_m2: float | None
    events: tuple[tuple[date, str], ...]


@dataclass(frozen=True)
class Journal:
    """A season.

    Attributes:
        entries: how many stand.
        days: the first and the last that they are of; None where there are none.
        work: operations, in the order done.
        strips: crops strip by strip, in order across the field.
        told: entries of events and remarks that stand, in the order of their days.
        yields: of strips and of rows, as recorded.
    """

    entries: int
    days: tuple[date, date] | None
    work: tuple[WorkDone, ...]
    strips: tuple[CropInStrip, ...]
    told: tuple[Recorded, ...]
    yields: tuple[YieldOf, ...]

    @property
    def weighed(self) -> tuple[str, ...]:
        """Crops of which whole strips were weighed, in the order of the strips."""
        return tuple(dict.fromkeys(one.crop for one in self.strips if one.kg_per_m2 is not None))


@dataclass(frozen=True)
class Season:
    """All that a journal tells.

    Attributes:
        edition: the edition of the plan that records are of.
        journal: what was planned beside what is recorded.
        findings: what yields tell; None where they can't be compared.
        untold: why not; empty where they can.
        proposals: what they speak for next season.
        not_proposed: of width and heading, why they can't tell.
    """

    edition: Edition
    journal: Journal
    findings: Findings | None
    untold: str
    proposals: tuple[Proposal, ...]
    not_proposed: tuple[str, ...] = ()


def journal_of(
    plan: Plan, edition: Edition, planned: Sequence[PlannedWork], recorded: Sequence[Recorded]
) -> Journal:
    """Set what was planned beside what is recorded.

    Args:
        plan: the season's.
        edition: its strips and passes.
        planned: its operations, in the order done.
        recorded: of the edition, or of one with the same strips; withdrawn too.
    """
    told = standing(recorded)
    days = [one.entry.day for one in told]
    done = [one.entry for one in told if isinstance(one.entry, Done)]
    words = (one for one in told if isinstance(one.entry, Event | Remark))
    yields = tuple(yields_of(recorded, edition))
    return Journal(
        entries=len(told),
        days=(min(days), max(days)) if days else None,
        work=tuple(_work_done(one, edition, done) for one in planned),
        strips=_strips(plan, edition, planned, recorded),
        told=tuple(sorted(words, key=lambda one: one.entry.day)),
        yields=yields,
    )


def _driven(entry: Done, edition: Edition) -> list[Pass]:
    """Give the ground that an entry says a pass was driven over."""
    mine = [one for one in edition.passes if one.operation == entry.operation]
    if entry.pass_number is not None:
        mine = [one for one in mine if one.number == entry.pass_number]
    if entry.headland:
        return [one for one in mine if one.strip is None]
    if entry.strip is not None:
        mine = [one for one in mine if one.strip == entry.strip]
    return [one for one in mine if entry.piece in {None, one.piece}]


def _work_done(planned: PlannedWork, edition: Edition, done: Sequence[Done]) -> WorkDone:
    """Set an operation beside what is recorded of it."""
    mine = [one for one in done if one.operation == planned.name]
    days = [one.day for one in mine]
    driven = {one.number for entry in mine for one in _driven(entry, edition)}
    return WorkDone(
        name=planned.name,
        planned=planned.day,
        passes=len({one.number for one in edition.passes if one.operation == planned.name}),
        done=len(driven),
        first=min(days, default=None),
        last=max(days, default=None),
        lots=tuple(dict.fromkeys(one.lot for one in mine if one.lot)),
    )


def _strips(
    plan: Plan, edition: Edition, planned: Sequence[PlannedWork], recorded: Sequence[Recorded]
) -> tuple[CropInStrip, ...]:
    """Set each crop of each strip beside what is recorded of it."""
    told = standing(recorded)
    stands = {(one.strip, one.crop): one.plants_per_m2 for one in stands_of(recorded)}
    yields = {
        (one.strip, one.crop): one.kg_per_m2
        for one in yields_of(recorded, edition)
        if one.rows is None
    }
    events: dict[int | None, list[tuple[date, str]]] = {}
    for one in told:
        if isinstance(one.entry, Event):
            events.setdefault(one.entry.strip, []).append((one.entry.day, one.entry.what))
    plantings = _plantings(edition, planned, told)
    crops = dict.fromkeys(sown.crop for sown in edition.sown)
    stated = {name: stated_kg_per_m2(plan, name) for name in crops}
    found = []
    for sown in edition.sown:
        key = sown.strip, sown.crop
        each = plantings.get(key, [])
        found.append(
            CropInStrip(
                strip=sown.strip,
                crop=sown.crop,
                planted=max((one.day for one in each), default=None),
                lots=tuple(dict.fromkeys(one.lot for one in each if one.lot)),
                plants_per_m2=stands.get(key),
                planned_per_m2=stand_planned_per_m2(plan, edition, *key),
                kg_per_m2=yields.get(key),
                stated_kg_per_m2=stated[sown.crop],
                events=tuple(sorted(events.get(sown.strip, []))),
            )
        )
    return tuple(found)


def _plantings(
    edition: Edition, planned: Sequence[PlannedWork], told: Sequence[Recorded]
) -> Mapping[tuple[int, str], list[Done]]:
    """Give the entries of plantings by strip and crop."""
    crops = {one.name: one.planted for one in planned}
    found: dict[tuple[int, str], list[Done]] = {}
    for one in told:
        if not isinstance(one.entry, Done):
            continue
        driven = _driven(one.entry, edition)
        for strip in {part.strip for part in driven if part.strip is not None}:
            for crop in crops.get(one.entry.operation, ()):
                found.setdefault((strip, crop), []).append(one.entry)
    return found
