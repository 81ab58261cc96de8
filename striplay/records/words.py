"""Turn words into an entry, and an entry into words: the same on the command line and in tables.

A value has its unit beside it, as in a plan: "4210 lb", "18.5 %". Inside all is SI.
"""

import os.path
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np

from striplay.errors import RecordError
from striplay.plain import plain, shortened
from striplay.records.check import (
    NO_MOISTURE,
    check_entry,
    crop_faults,
    day_faults,
    no_operation,
    place_faults,
)
from striplay.records.edition import Edition, Sown
from striplay.records.entry import (
    Done,
    Entry,
    Event,
    Remark,
    Stand,
    Yield,
    kind_of,
)
from striplay.records.measures import FRAME, GRAIN_MASS, TEST_WEIGHT
from striplay.records.names import HEADLAND, OF_ALL, OF_KIND
from striplay.units import (
    FOOT_M,
    LENGTH,
    Kind,
    UnitSystem,
    measured_in,
    parse,
)


def read_entry(
    kind: str, words: Mapping[str, str], edition: Edition, today: date, folder: Path,
    *, photos_from: Path | None = None, withdraws: int | None = None,
) -> Entry:  # fmt: skip
    """Read an entry from its words, and check it.

    Args:
        kind: which kind of entry it is.
        words: by the names of `WORDS`; what is empty counts as left out.
        edition: the edition of the plan it is of.
        today: the last day that it may be of.
        folder: of the store, from which photos are named.
        photos_from: the folder that paths of photos are given from; `folder` when left out.
        withdraws: number of the entry that it stands in the place of.

    Raises:
        RecordError: it can't be; all that is wrong is told.
    """
    if kind not in OF_KIND:
        raise RecordError([f'kind: "{shortened(kind)}" is none of {", ".join(OF_KIND)}'])
    given = {name: plain(text).strip() for name, text in words.items()}
    reader = _Reader({name: text for name, text in given.items() if text})
    alien = [name for name in reader.words if name not in {"kind", *OF_ALL, *OF_KIND[kind]}]
    if alien:
        raise RecordError([f"{alien[0]}: is nothing that a {kind} has; leave it out"])
    shared: dict[str, Any] = {
        "day": reader.read("date", _day, needed="the day, such as 2027-05-04"),
        "operator": reader.text("operator"),
        "remark": reader.text("remark"),
        "withdraws": withdraws,
        "piece": reader.read("piece", _count),
        **_strip_of(reader),
    }
    entry: Entry | None = None
    if kind == "done":
        entry = _done(reader, shared, edition)
    elif kind == "event":
        entry = _event(reader, shared, edition, folder, photos_from or folder)
    elif kind == "remark":
        entry = None if reader.faults else Remark(**shared)
    else:
        entry = (_stand if kind == "stand" else _yield)(reader, shared, edition)
    if entry is None or reader.faults:
        faults = reader.faults
        if shared["day"] is not None:
            bare = Remark(**shared)
            faults += [*day_faults(bare.day, today), *place_faults(bare, edition)]
        raise RecordError(list(dict.fromkeys(faults)))
    check_entry(entry, edition, today)
    return entry


@dataclass
class _Reader:
    """Words as they are read, and what is wrong with them so far."""

    words: Mapping[str, str]
    faults: list[str] = field(default_factory=list)

    def text(self, name: str) -> str:
        return self.words.get(name, "")

    def read(self, name: str, how: Callable[[str], Any], needed: str = "") -> Any:  # noqa: ANN401 - as `how` gives it
        """Read a word; None, and a fault noted where it can't be, or is needed and missing."""
        text = self.words.get(name)
        if text is None:
            if needed:
                self.faults.append(f"{name}: is missing: {needed}")
            return None
        try:
            return how(text)
        except ValueError as error:
            self.faults.append(f'{name}: "{shortened(text)}" {error}')
            return None


def _day(text: str) -> date:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()  # noqa: DTZ007 - no hour
    except ValueError:
        told = "is no day; write year-month-day, such as 2027-05-04"
        if re.fullmatch(r"\d+([./])\d+\1\d+", text, re.ASCII):
            told += "; where a spreadsheet wrote it so, set its column to text"
        raise ValueError(told) from None


def _count(text: str) -> int:
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII):
        raise ValueError("is no whole number")
    return int(text)


def _rows(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,9})(?:\s*-\s*(\d{1,9}))?", text, re.ASCII)
    if found is None:
        raise ValueError("is no row; write its number, or first and last, such as 1-8")
    return int(found[1]), int(found[2] or found[1])


def _degrees(text: str) -> float:
    if not re.fullmatch(r"[+-]?\d{1,3}(\.\d*)?", text, re.ASCII):
        raise ValueError("is no number of degrees; write it such as -93.512, below 0 in the west "
                         "and south")  # fmt: skip
    return float(text)


def _moisture(text: str) -> float:
    found = re.fullmatch(r"(\d{1,9}(?:\.\d*)?)\s*%", text, re.ASCII)
    if found is None:
        raise ValueError('is no moisture; write it in per cent, such as "18.5 %"')
    share = float(found[1]) / 100
    if share >= 1.0:
        raise ValueError(NO_MOISTURE)
    return share


def _grain(text: str) -> float:
    """Read a weight of grain; bushels are none, for a ticket's are mostly of dried grain."""
    if re.search(r"\d\s*(bu|bushels?)\.?$", text, re.ASCII | re.IGNORECASE):
        raise ValueError(
            "is no weight: bushels may be by volume, or of grain as if dried; give what the scale "
            f'showed, such as "{GRAIN_MASS.example}"'
        )
    return float(parse(text, GRAIN_MASS).value)


def _quantity(kind: Kind) -> Callable[[str], float]:
    return lambda text: parse(text, kind).value


def _strip_of(reader: _Reader) -> dict[str, Any]:
    """Read the strip, or that it is the headland."""
    if reader.text("strip").lower() == HEADLAND:
        return {"strip": None, "headland": True}
    return {"strip": reader.read("strip", _count)}


def _done(reader: _Reader, shared: Mapping[str, Any], edition: Edition) -> Done | None:
    """Read an operation done; the strip of a pass that works one alone is taken from the plan."""
    needed = 'which operation, such as "plant corn"'
    name = reader.read("operation", lambda text: operation_named(text, edition), needed)
    number = reader.read("pass", _count)
    if reader.faults:
        return None
    strips = {} if number is None else _strip_worked(edition, name, number)
    where = strips if shared["strip"] is None and not shared.get("headland") else {}
    return Done(
        **{**shared, **where},
        operation=name,
        pass_number=number,
        start=_clock(reader.text("start")),
        stop=_clock(reader.text("stop")),
        lot=reader.text("lot"),
    )


def operation_named(text: str, edition: Edition) -> str:
    """Give the name of the operation that a name, or a number in the order done, stands for.

    Raises:
        ValueError: there is none; the message goes behind what was written.
    """
    if text in edition.operations:
        return text
    if re.fullmatch(r"\d{1,9}", text, re.ASCII) and 1 <= int(text) <= len(edition.operations):
        return edition.operations[int(text) - 1]
    raise ValueError(no_operation(edition))


def _strip_worked(edition: Edition, operation: str, number: int) -> dict[str, Any]:
    """Give the one strip, or the headland, that a pass works; nothing where there are several."""
    strips = {one.strip for one in edition.worked_by(operation, number)}
    if len(strips) != 1:
        return {}
    strip = strips.pop()
    return {"headland": True} if strip is None else {"strip": strip}


def _clock(text: str) -> str:
    """Give a time of day with two digits of hours."""
    return f"0{text}" if re.fullmatch(r"\d:[0-5]\d", text, re.ASCII) else text


def _event(
    reader: _Reader, shared: Mapping[str, Any], edition: Edition, folder: Path, photos_from: Path
) -> Event | None:
    """Read an event; its strip is the one at its place, where none is stated."""
    degrees = [reader.read(name, _degrees) for name in ("longitude", "latitude")]
    if (degrees[0] is None) != (degrees[1] is None) and not reader.faults:
        lacking = "longitude" if degrees[0] is None else "latitude"
        reader.faults.append(f"{lacking}: is missing: a place has both")
    photo = reader.read("photo", lambda text: _photo(text, folder, photos_from))
    if reader.faults:
        return None
    lonlat = None if degrees[0] is None else (degrees[0], degrees[1])
    where: dict[str, Any] = {}
    if lonlat is not None and shared["strip"] is None and not shared.get("headland"):
        at = edition.strip_at(lonlat)
        where = {} if at is None else {"strip": at[0], "piece": at[1]}
    what = reader.text("what")
    return Event(**{**shared, **where}, what=what, lonlat=lonlat, photo=photo or "")


def _photo(text: str, folder: Path, photos_from: Path) -> str:
    """Give the path of a picture from the folder of the store."""
    path = photos_from / text
    try:
        there = path.is_file()
    except (OSError, ValueError):  # no name of a file
        there = False
    if not there:
        raise ValueError("is no file; give the path of a picture that is there")
    return _path_from(path, folder)


def _path_from(path: Path, folder: Path) -> str:
    """Give a path from a folder, slashes forward; as it is where no path leads there."""
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # another drive
        return path.absolute().as_posix()


def _stand(reader: _Reader, shared: Mapping[str, Any], edition: Edition) -> Stand | None:
    """Read plants counted: along 1/1000 acre or hectare of a row, where nothing else is stated."""
    plants = reader.read("stand_count", _count, "plants counted on a length of one row, such as 31")
    rows = reader.read("row", _rows)
    length_m = reader.read("length", _quantity(LENGTH))
    frame_m2 = reader.read("frame", _quantity(FRAME))
    if rows is not None and rows[0] != rows[1]:
        reader.faults.append(f'row: "{rows[0]}-{rows[1]}" is several; a stand is of one row')
    if length_m is not None and frame_m2 is not None:
        reader.faults.append("frame: is given beside length; a stand is counted in one of them")
    sown = _sown_asked(reader, shared, edition)
    if sown is None:
        return None
    if length_m is None and frame_m2 is None:
        if sown.drilled:
            reader.faults.append(f"length: is missing: strip {sown.strip} is {DRILLED}")
            return None
        length_m = edition.thousandth_m(sown.row_m)
    return Stand(
        **shared,
        crop=sown.crop,
        row=None if rows is None else rows[0],
        plants=plants,
        length_m=length_m,
        row_m=sown.row_m,
        frame_m2=frame_m2,
    )


def _yield(reader: _Reader, shared: Mapping[str, Any], edition: Edition) -> Yield | None:
    """Read grain weighed, and take from the plan the ground that it came from."""
    given = {
        "rows": reader.read("row", _rows),
        "grain_kg": reader.read("grain", _grain, "weight as harvested, as 4210 lb"),
        "moisture": reader.read("moisture", _moisture),
        "test_weight_kg_per_m3": reader.read("test_weight", _quantity(TEST_WEIGHT)),
        "length_m": reader.read("length", _quantity(LENGTH)),
    }
    sown = _sown_asked(reader, shared, edition, reaped=True)
    if sown is None:
        return None
    entry = Yield(**shared, **given, crop=sown.crop, area_m2=np.nan)
    reader.faults += crop_faults(entry, edition)
    return None if reader.faults else replace(entry, area_m2=harvested_m2(entry, sown, edition))


def _sown_asked(
    reader: _Reader, shared: Mapping[str, Any], edition: Edition, *, reaped: bool = False
) -> Sown | None:
    """Give what is sown in the strip, of the crop asked for; None, and a fault, where nothing is.

    Where none is named it is one of those that are harvested, if these are asked for. Nothing more
    is said where there are faults already.
    """
    if reader.faults:
        return None
    faults = place_faults(Remark(**shared), edition)
    if shared["strip"] is None and not faults:
        faults = ["strip: is missing: the number of the strip"]
    reader.faults += faults
    if faults:
        return None
    sown = _sown(reader.text("crop"), shared["strip"], edition, reaped=reaped)
    if isinstance(sown, str):
        reader.faults.append(sown)
        return None
    return sown


DRILLED = "drilled; say the length of row that was counted, such as 3 ft, or the frame"
"""What to say of a count that a record sheet asks for otherwise than of rows."""


def _sown(crop: str, strip: int, edition: Edition, *, reaped: bool) -> Sown | str:
    """Give what a crop is in a strip, its one crop where none is named; else what is wrong."""
    sown = edition.sown_in(strip)
    if reaped and not crop:
        sown = tuple(one for one in sown if one.reaped) or sown
    if not crop and len(sown) == 1:
        return sown[0]
    found = next((one for one in sown if one.crop == crop), None)
    if found is not None:
        return found
    has = ", ".join(one.crop for one in sown)
    if not crop:
        return f"crop: is missing: strip {strip} has {has}; say which"
    return f'crop: "{shortened(crop)}" is not sown in strip {strip}; it has {has}'


def harvested_m2(entry: Yield, sown: Sown, edition: Edition) -> float:
    """Give the ground that grain came from.

    Of rows it is their length times the ground that each stands for; of a length of the whole
    strip that length times its width; else the ground of the strip or piece.
    """
    assert entry.strip is not None  # noqa: S101 - looked at before
    pieces = edition.of_strip(entry.strip, entry.piece)
    area_m2 = sum(one.area_m2 for one in pieces)
    width_m = max(one.width_m for one in pieces)
    if entry.rows is not None:
        rows = entry.rows[1] - entry.rows[0] + 1
        length_m = area_m2 / width_m if entry.length_m is None else entry.length_m
        return length_m * sown.row_m * rows
    return area_m2 if entry.length_m is None else entry.length_m * width_m


def words_of(entry: Entry, units: UnitSystem, folder: Path, to: Path) -> dict[str, str]:
    """Give the words of an entry, as `read_entry` takes them.

    Args:
        entry: what to write.
        units: which system of units to speak.
        folder: of the store, from which photos are named.
        to: the folder that paths of photos are to be given from.
    """
    found = {
        "kind": kind_of(entry),
        "date": entry.day.isoformat(),
        "strip": HEADLAND if entry.headland else _number(entry.strip),
        "piece": _number(entry.piece),
        "operator": entry.operator,
        "remark": entry.remark,
    }
    if isinstance(entry, Done):
        found |= {"operation": entry.operation, "pass": _number(entry.pass_number),
                  "start": entry.start, "stop": entry.stop, "lot": entry.lot}  # fmt: skip
    elif isinstance(entry, Event):
        photo = "" if not entry.photo else _path_from(folder / entry.photo, to)
        found |= {"what": entry.what, "photo": photo}
        if entry.lonlat is not None:
            longitude, latitude = map(exact, entry.lonlat)
            found |= {"longitude": longitude, "latitude": latitude}
    elif isinstance(entry, Stand):
        found |= _words_of_stand(entry, units)
    elif isinstance(entry, Yield):
        found |= _words_of_yield(entry, units)
    return {name: text for name, text in found.items() if text}


def _words_of_stand(entry: Stand, units: UnitSystem) -> dict[str, str]:
    found = {"crop": entry.crop, "row": _number(entry.row), "stand_count": str(entry.plants)}
    if entry.frame_m2 is not None:
        unit = "ft2" if units == "us" else "m2"
        return {**found, "frame": f"{exact(entry.frame_m2 / FRAME.factors[unit][0])} {unit}"}
    return {**found, "length": _length(entry.length_m, units)}


def _words_of_yield(entry: Yield, units: UnitSystem) -> dict[str, str]:
    unit, one_kg = measured_in("kg", units)
    found = {
        "crop": entry.crop,
        "row": _row_words(entry.rows),
        "grain": f"{exact(entry.grain_kg / one_kg)} {unit}",
        "length": _length(entry.length_m, units),
    }
    if entry.moisture is not None:
        found["moisture"] = f"{exact(100 * entry.moisture)} %"
    if entry.test_weight_kg_per_m3 is not None:
        unit, one = measured_in("kg_per_m3", units)
        found["test_weight"] = f"{exact(entry.test_weight_kg_per_m3 / one)} {unit}"
    return found


def _number(value: int | None) -> str:
    return "" if value is None else str(value)


def _row_words(rows: tuple[int, int] | None) -> str:
    if rows is None:
        return ""
    return str(rows[0]) if rows[0] == rows[1] else f"{rows[0]}-{rows[1]}"


def _length(length_m: float | None, units: UnitSystem) -> str:
    if length_m is None:
        return ""
    unit, one_m = ("ft", FOOT_M) if units == "us" else ("m", 1.0)
    return f"{exact(length_m / one_m)} {unit}"


def exact(number: float) -> str:
    """Write a number to twelve digits, without a power of ten.

    >>> exact(4210.000000000001), exact(0.1), exact(-93.5)
    ('4210', '0.1', '-93.5')
    """
    return np.format_float_positional(number, precision=12, unique=True, fractional=False, trim="-")
