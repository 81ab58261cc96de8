"""Tell entries as a person would, one in a line, with what comes of them."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from typing import Any

from striplay.economics.grain import dry_share
from striplay.plain import plain
from striplay.records.check import counted_on
from striplay.records.edition import Edition
from striplay.records.entry import (
    Done,
    Entry,
    Event,
    Recorded,
    Stand,
    Undo,
    Yield,
    kind_of,
)
from striplay.records.measures import format_yield
from striplay.records.standing import standing, withdrawn_by
from striplay.records.yields import stands_of, yields_of
from striplay.units import (
    ACRE_M2,
    HECTARE_M2,
    UnitSystem,
    format_area,
    format_weight,
    measured_in,
    said,
    trim,
)


def entry_lines(
    recorded: Sequence[Recorded],
    edition: Edition,
    *,
    every: bool = False,
    only: Callable[[Sequence[Recorded]], Sequence[Recorded]] = list,
) -> Iterator[str]:
    """Tell what is recorded, an entry in a line.

    Args:
        recorded: what is recorded.
        edition: the edition of the plan.
        every: whether to tell what is withdrawn too.
        only: which of these to tell; all of them when left out.
    """
    gone = withdrawn_by(recorded)
    there = recorded if every else standing(recorded)
    told = only(there)
    count = "1 entry" if len(there) == 1 else f"{len(there):,} entries"
    some = "" if len(told) == len(there) else f"{len(told):,} of "
    yield plain(f"{edition.field}, edition {edition.mark}: {some}{count}")
    for one in told:
        line = entry_line(one, edition)
        if one.number in gone:
            line += f" (withdrawn by entry {gone[one.number]})"
        yield line if one.mark == edition.mark else plain(f"{line} (edition {one.mark})")


def entries_data(
    recorded: Sequence[Recorded],
    edition: Edition,
    counted: Sequence[Recorded],
    *,
    every: bool = False,
    only: Callable[[Sequence[Recorded]], Sequence[Recorded]] = list,
) -> dict[str, Any]:
    """Give what is recorded, and what comes of it, for scripts: all values SI.

    Args:
        recorded: what is recorded.
        edition: the edition of the plan.
        counted: of these, what is of editions with the same strips: yields come of it.
        every: whether to give what is withdrawn too.
        only: which of the entries to give; what comes of all of them is given in any case.
    """
    gone = withdrawn_by(recorded)
    entries = [
        {
            "number": one.number,
            "kind": kind_of(one.entry),
            "mark": one.mark,
            "at": one.at.isoformat(),
            **asdict(one.entry),
            "day": one.entry.day.isoformat(),
            "withdrawn_by": gone.get(one.number),
        }
        for one in only(recorded if every else standing(recorded))
    ]
    yields = [{**asdict(one), "kg_per_m2": one.kg_per_m2} for one in yields_of(counted, edition)]
    stands = [{**asdict(one), "plants_per_m2": one.plants_per_m2} for one in stands_of(counted)]
    return {
        "field": edition.field,
        "mark": edition.mark,
        "entries": entries,
        "yields": [{**one, "day": one["day"].isoformat()} for one in yields],
        "stands": [{**one, "day": one["day"].isoformat()} for one in stands],
    }


def entry_line(one: Recorded, edition: Edition) -> str:
    """Tell an entry in a line: number, day, what it is of, what it says.

    Args:
        one: the entry.
        edition: the edition that it is of, or one with the same strips.
    """
    entry = one.entry
    parts = [_what(entry, edition)]
    parts += [f"by {entry.operator}"] if entry.operator else []
    parts += [entry.remark] if entry.remark else []
    said = ", ".join(part for part in parts if part)
    told = f"entry {one.number}: {entry.day}  {_where(entry)}{said}"
    if entry.withdraws is not None and not isinstance(entry, Undo):
        told += f" (instead of entry {entry.withdraws})"
    return plain(told)  # a store may come from someone else


def _where(entry: Entry) -> str:
    """Say where it is of."""
    if entry.headland:
        return "headland: "
    if entry.strip is None:
        return ""
    piece = "" if entry.piece is None else f"/{entry.piece}"
    return f"strip {entry.strip}{piece}: "


def _what(entry: Entry, edition: Edition) -> str:
    """Say what an entry says besides what all do."""
    if isinstance(entry, Done):
        parts = [
            entry.operation,
            "" if entry.pass_number is None else f"pass {entry.pass_number}",
            " to ".join(clock for clock in (entry.start, entry.stop) if clock),
            f"lot {entry.lot}" if entry.lot else "",
        ]
        return ", ".join(part for part in parts if part)
    if isinstance(entry, Event):
        place = "" if entry.lonlat is None else f" at {entry.lonlat[1]:.6f}, {entry.lonlat[0]:.6f}"
        return entry.what + place + (f", photo {entry.photo}" if entry.photo else "")
    if isinstance(entry, Stand):
        return f"{entry.crop} stand{_of_rows(entry.row, entry.row)}, {stand_words(entry, edition)}"
    if isinstance(entry, Yield):
        rows = entry.rows or (None, None)
        return f"{entry.crop} yield{_of_rows(*rows)}, {_yield_words(entry, edition)}"
    if isinstance(entry, Undo):
        return f"withdraws entry {entry.withdraws}"
    return ""


def _of_rows(first: int | None, last: int | None) -> str:
    if first is None:
        return ""
    return f" of row {first}" if first == last else f" of rows {first} to {last}"


def stand_words(entry: Stand, edition: Edition) -> str:
    """Say a count, and what it comes to by area."""
    where = counted_on(entry, edition.units)
    return f"{entry.plants:,} plants {where}, {plants_words(entry.plants_per_m2, edition.units)}"


def plants_words(plants_per_m2: float, units: UnitSystem) -> str:
    """Write plants by area.

    >>> plants_words(31_000 / ACRE_M2, "us")
    '31,000 to the acre'
    """
    area_m2, area = (ACRE_M2, "acre") if units == "us" else (HECTARE_M2, "hectare")
    return f"{said(plants_per_m2 * area_m2)} to the {area}"


def _yield_words(entry: Yield, edition: Edition) -> str:
    """Say what was weighed, and what it comes to by area at the moisture it is sold at."""
    units, facts = edition.units, edition.crops.get(entry.crop)
    weighed = format_weight(entry.grain_kg, units)
    ground = format_area(entry.area_m2, units, 2 if entry.area_m2 > SMALL_M2 else 4)
    kg_per_m2, at = entry.grain_kg / entry.area_m2, "as weighed"
    if entry.moisture is not None:
        weighed += f" at {trim(100 * entry.moisture, 2)} %"
        if facts is not None and facts.base_moisture is not None:
            kg_per_m2 *= dry_share(entry.moisture, facts.base_moisture)
            at = f"at {trim(100 * facts.base_moisture, 2)} %"
    if entry.test_weight_kg_per_m3 is not None:
        unit, one = measured_in("kg_per_m3", units)
        weighed += f", {trim(entry.test_weight_kg_per_m3 / one, 1)} {unit},"
    bushel_kg = None if facts is None else facts.bushel_kg
    return f"{weighed} on {ground}, {format_yield(kg_per_m2, bushel_kg, units)} {at}"


SMALL_M2 = 400.0
"""Smaller ground is told to more places (our choice): a tenth of an acre."""
