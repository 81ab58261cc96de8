"""Check an entry against the edition of the plan it is recorded for: what can't be is refused."""

import re
from collections.abc import Iterable, Iterator
from datetime import date

import numpy as np
import shapely

from striplay.errors import RecordError
from striplay.limits import (
    MAX_NAME_LENGTH,
    MAX_TEXT_LENGTH,
    MOST_OFF_FIELD_M,
    MOST_PLANTS_PER_M2,
    MOST_TEST_WEIGHT_KG_PER_M3,
    MOST_YIELD_KG_PER_M2,
)
from striplay.operations.under import MOST_APART, named, ranges
from striplay.plain import shortened, unseen_in
from striplay.plan.when import check_year
from striplay.records.edition import Edition, Piece
from striplay.records.entry import Done, Entry, Event, Remark, Stand, Undo, Yield
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    UnitSystem,
    format_about,
    format_area,
    format_length,
    format_weight,
    said,
    trim,
)

CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
"""A time of day, hours and minutes."""
DEGREE_M = 111_195.0
"""Length of a degree along a meridian of a sphere of the Earth's mean radius, 6,371 km."""


NO_MOISTURE = "is no moisture of grain; it is a share of its weight, from 0 to below 100 %"


def check_entry(entry: Entry, edition: Edition, today: date) -> None:
    """Check that an entry can be.

    Args:
        entry: what is to be recorded.
        edition: the edition of the plan it is of.
        today: the last day that it may be of.

    Raises:
        RecordError: it can't; all that is wrong is told.
    """
    faults = [*day_faults(entry.day, today), *place_faults(entry, edition), *_word_faults(entry)]
    if isinstance(entry, Done):
        faults += _done_faults(entry, edition)
    elif isinstance(entry, Event):
        faults += _event_faults(entry, edition)
    elif isinstance(entry, Stand | Yield) and not faults:
        faults += crop_faults(entry, edition)
        faults += _stand_faults(entry, edition) if isinstance(entry, Stand) else []
        faults += _yield_faults(entry, edition) if isinstance(entry, Yield) else []
    elif isinstance(entry, Remark) and not entry.remark:
        faults.append("remark: is missing: what is there to say?")
    elif isinstance(entry, Undo) and entry.withdraws is None:
        faults.append("entry: is missing: the number of the entry to withdraw")
    if faults:
        raise RecordError(faults)


def day_faults(day: date, today: date) -> list[str]:
    """Say what is wrong with the day of an entry."""
    try:
        check_year(day)
    except ValueError as error:
        return [f"date: {day} {error}"]
    if day > today:
        return [f"date: {day} is in the future, today is {today}; give the day it was done"]
    return []


def place_faults(entry: Entry, edition: Edition) -> list[str]:
    """Say what is wrong with the strip and piece of an entry."""
    if entry.headland:
        if entry.strip is not None or entry.piece is not None:
            return ["strip: is a strip and the headland at once; give one of them"]
        return [] if edition.headland else ["strip: the field has no headland"]
    if entry.strip is None:
        needed = isinstance(entry, Stand | Yield) or entry.piece is not None
        return ["strip: is missing: the number of the strip"] if needed else []
    pieces = edition.of_strip(entry.strip)
    if not pieces:
        there = ranges(edition.strips)
        return [f"strip: {entry.strip} is no strip of the field; its strips are {there}"]
    numbers = [one.piece for one in pieces]
    if entry.piece is not None and entry.piece not in numbers:
        has = f"its pieces are {ranges(numbers)}" if len(numbers) > 1 else "it has one piece, 1"
        return [f"piece: {entry.piece} is no piece of strip {entry.strip}; {has}"]
    return []


def _word_faults(entry: Entry) -> Iterator[str]:
    """Say which texts of an entry are too long, or hold what can't be seen."""
    names = ("operator", "lot", "what", "photo", "remark")
    for name in names:
        text = getattr(entry, name, "")
        most = MAX_TEXT_LENGTH if name in {"remark", "photo"} else MAX_NAME_LENGTH
        if len(text) > most:
            yield f"{name}: has {len(text):,} characters; at most {most:,} are kept"
        if unseen_in(text) is not None:
            yield f"{name}: holds a character that can't be seen; leave it out"


def _done_faults(entry: Done, edition: Edition) -> Iterator[str]:
    if entry.operation not in edition.operations:
        yield f'operation: "{shortened(entry.operation)}" {no_operation(edition)}'
    elif not place_faults(entry, edition):
        yield from _worked_faults(entry, edition)
    for name, clock in (("start", entry.start), ("stop", entry.stop)):
        if clock and not CLOCK.fullmatch(clock):
            yield f'{name}: "{shortened(clock)}" is no time of day; write it as 07:30 or 16:45'


def no_operation(edition: Edition) -> str:
    """Say, behind a name, that there is no such operation, and which there are."""
    listed = [f'{number} "{one}"' for number, one in enumerate(edition.operations, start=1)]
    what = f"the plan's are {', '.join(listed)}" if listed else "the plan has none"
    return f"is no operation; {what}"


def _worked_faults(entry: Done, edition: Edition) -> Iterator[str]:
    """Say whether a pass is none of its operation's, or does not work the strip."""
    name, number = entry.operation, entry.pass_number
    mine = [one for one in edition.passes if one.operation == name]
    worked = [one for one in mine if number in {None, one.number}]
    if not worked:
        numbers = ranges(sorted({one.number for one in mine}))
        yield f"pass: {number} is no pass of {name}; its passes are {numbers}"
        return
    strips = sorted({one.strip for one in worked if one.strip is not None})
    what = name if number is None else f"{number} of {name}"
    key = "strip" if number is None else "pass"
    where = f"works {_strips_named(strips)}" if strips else "runs on the headland"
    if entry.strip is not None and entry.strip not in strips:
        yield f"{key}: {what} {where}, not strip {entry.strip}"
    if entry.headland and all(one.strip is not None for one in worked):
        yield f"{key}: {what} {where}, not the headland"


def _strips_named(strips: list[int]) -> str:
    """Name strips; of many apart how many, and between which."""
    said = named(strips, "strips")
    if said.count(", ") >= MOST_APART:
        return f"{len(strips)} of the strips {strips[0]} to {strips[-1]}"
    return said


def _event_faults(entry: Event, edition: Edition) -> Iterator[str]:
    if not entry.what:
        yield "what: is missing: what happened, in a few words, such as hail"
    if entry.lonlat is None:
        return
    longitude, latitude = entry.lonlat
    off_m = _off_m(edition, longitude, latitude)
    if off_m <= MOST_OFF_FIELD_M:
        return
    if _off_m(edition, latitude, longitude) <= MOST_OFF_FIELD_M:
        yield f"longitude: latitude comes first here; write {latitude:g} and {longitude:g}"
    else:
        far = format_about(off_m, edition.units) if off_m < 10 * MOST_OFF_FIELD_M else "far"
        yield (
            f"longitude, latitude: {longitude:g}, {latitude:g} lies {far} off the field, which is "
            f"at {_middle(edition)}; give degrees as a phone shows them"
        )


def _off_m(edition: Edition, longitude: float, latitude: float) -> float:
    """Give about how far a place lies off the field."""
    if not (-180 <= longitude <= 180 and -90 <= latitude <= 90):  # noqa: PLR2004 - degrees
        return np.inf
    east = np.cos(np.radians(latitude))
    scaled = shapely.transform(edition.outline, lambda at: at * (east, 1.0))
    place = shapely.Point(longitude * east, latitude)
    return float(shapely.distance(scaled, place)) * DEGREE_M


def _middle(edition: Edition) -> str:
    west, south, east, north = edition.outline.bounds
    return f"{(west + east) / 2:.4f}, {(south + north) / 2:.4f}"


def crop_faults(entry: Stand | Yield, edition: Edition) -> list[str]:
    """Say whether the crop is not sown in the strip, or a row none of its rows."""
    strip = entry.strip
    assert strip is not None  # noqa: S101 - looked at before
    sown = edition.sown_in(strip)
    mine = [one for one in sown if one.crop == entry.crop]
    if not mine:
        has = ", ".join(one.crop for one in sown)
        return [f'crop: "{shortened(entry.crop)}" is not sown in strip {strip}; it has {has}']
    rows = mine[0].rows
    given: Iterable[int] = ()
    if isinstance(entry, Stand):
        given = () if entry.row is None else (entry.row,)
    elif entry.rows is not None:
        given = entry.rows
        if entry.rows[0] > entry.rows[1]:
            return [f"row: {entry.rows[0]}-{entry.rows[1]} has the last row first"]
    for row in given:
        if rows is None:
            return [f"row: {row} is not known: strip {strip} is drilled; leave row out"]
        if not 1 <= row <= rows:
            return [f"row: {row} is no row of strip {strip}; its {entry.crop} has rows 1 to {rows}"]
    return []


def _stand_faults(entry: Stand, edition: Edition) -> Iterator[str]:
    if entry.plants < 0:
        yield f"stand_count: {entry.plants} is no number of plants"
    elif entry.area_m2 <= 0.0:
        yield "length: must be above zero, or a frame be given"
    elif entry.plants_per_m2 > MOST_PLANTS_PER_M2:
        where = counted_on(entry, edition.units)
        area_m2, area = (ACRE_M2, "acre") if edition.units == "us" else (HECTARE_M2, "hectare")
        many = said(entry.plants_per_m2 * area_m2)
        yield (
            f"stand_count: {entry.plants:,} plants {where} are {many} to the {area}, more than "
            f"ever stand; give the count, not plants to the {area}"
        )


def counted_on(entry: Stand, units: UnitSystem) -> str:
    """Say what plants were counted on."""
    if entry.length_m is not None:
        return f"on {format_length(entry.length_m, units)} of a row"
    unit, one_m2 = ("ft2", FOOT_M**2) if units == "us" else ("m2", 1.0)
    return f"in {trim((entry.frame_m2 or 0.0) / one_m2, 2)} {unit}"


def _yield_faults(entry: Yield, edition: Edition) -> Iterator[str]:
    moisture = entry.moisture
    if moisture is not None and not 0.0 <= moisture < 1.0:
        yield f'moisture: "{said(100 * moisture)} %" {NO_MOISTURE}'
    weight = entry.test_weight_kg_per_m3
    if weight is not None and not 0.0 < weight <= MOST_TEST_WEIGHT_KG_PER_M3:
        yield "test_weight: is more than any grain weighs by volume; see its unit"
    facts = edition.crops.get(entry.crop)
    if moisture is None and facts is not None and facts.base_moisture is not None:
        yield f'moisture: is missing: {entry.crop} is sold by it; for example "18.5 %"'
    pieces = ground_of(entry, edition)
    longest_m = max((one.area_m2 / one.width_m for one in pieces), default=0.0) * len(pieces)
    if entry.length_m is not None and entry.length_m > longest_m * LONGER:
        yield (
            f"length: {format_length(entry.length_m, edition.units)} is more than strip "
            f"{entry.strip} is long, {format_length(longest_m, edition.units)}"
        )
    if entry.grain_kg < 0.0:
        yield "grain: must be zero or more"
    elif not entry.area_m2 > 0.0:
        yield "length: must be above zero"
    elif entry.grain_kg / entry.area_m2 > MOST_YIELD_KG_PER_M2:
        grain = format_weight(entry.grain_kg, edition.units)
        ground = format_area(entry.area_m2, edition.units)
        yield (
            f"grain: {grain} on {ground} is more than any crop yields; see its unit, and that "
            "row and length say what was harvested"
        )


LONGER = 2.5
"""A strip that ends in a point is twice as long as its area over its width; more is a slip (our
choice)."""


def ground_of(entry: Entry, edition: Edition) -> tuple[Piece, ...]:
    """Give the pieces that an entry is of; none where it is of no strip."""
    return () if entry.strip is None else edition.of_strip(entry.strip, entry.piece)
