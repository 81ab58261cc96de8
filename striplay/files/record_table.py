"""Read entries from a CSV file as printed record sheets have their columns, and write them."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import MappingProxyType

from striplay.errors import RecordError
from striplay.files.regular import text_of
from striplay.files.write_csv import guarded, unguarded
from striplay.limits import MAX_RECORDS_BYTES
from striplay.plain import plain, shortened
from striplay.records.edition import Edition
from striplay.records.entry import Entry, Recorded
from striplay.records.names import NOT_READ, OF_ALL, OF_KIND, WORDS
from striplay.records.words import operation_named, read_entry, words_of
from striplay.units import UnitSystem

SAYS_NOTHING = {"kind", "operation", "strip", "piece"}
"""Columns that a sheet has filled in before anything is done."""


@dataclass(frozen=True)
class Line:
    """A line of a table that can be read.

    Attributes:
        number: of it in the file, from 1.
        entries: what it says; two where a planting sheet has a stand counted besides.
    """

    number: int
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class RecordTable:
    """A table of entries as read.

    Attributes:
        lines: those that can be.
        faults: what is wrong with the others: the line's number, and the fault.
        blank: how many say nothing but which strip they are of.
    """

    lines: tuple[Line, ...]
    faults: tuple[tuple[int, str], ...]
    blank: int

    @property
    def told(self) -> list[str]:
        """The faults in words."""
        return [f"line {number}: {fault}" for number, fault in self.faults]


def read_record_table(
    path: Path,
    edition: Edition,
    today: date,
    folder: Path,
    *,
    for_all: Mapping[str, str] = MappingProxyType({}),
) -> RecordTable:
    """Read entries from a CSV file, its columns in any order.

    Cells are parted by commas, semicolons or tabs, as the first line has it.

    Args:
        path: the file.
        edition: the edition of the plan that they are of.
        today: the last day that they may be of.
        folder: of the store.
        for_all: words that stand once on a sheet, such as its operation and date, for the lines
            that do not state their own.

    Raises:
        RecordError: the file can't be read, or has no such columns.
    """
    try:
        text = text_of(path, MAX_RECORDS_BYTES)
    except ValueError as error:
        raise RecordError([str(error)], str(path)) from error
    lines, faults, blank = [], [], 0
    number = 1
    try:
        for number, words in _words_of_lines(text):
            if not set(words) - SAYS_NOTHING:
                blank += 1
                continue
            try:
                entries = [
                    read_entry(kind, own, edition, today, folder, photos_from=path.parent)
                    for kind, own in _kinds(_with_crop(words, for_all, edition), for_all)
                ]
            except RecordError as error:
                faults += [(number, fault) for fault in error.faults]
            else:
                lines.append(Line(number, tuple(entries)))
    except (csv.Error, _HeadError) as error:
        said = str(error) if isinstance(error, _HeadError) else "what follows is no line of a CSV"
        raise RecordError([f"line {number}: {said}"], path.name) from error
    return RecordTable(tuple(lines), tuple(faults), blank)


class _HeadError(Exception):
    """A first line that names no columns of entries."""


def _words_of_lines(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Give each line's number and its words that are not empty."""
    first = text.split("\n", 1)[0]
    apart = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=apart, strict=True)
    names = ["_".join(name.lower().split()) for name in next(reader, [])]
    _check_head(names)
    begun = reader.line_num + 1
    for cells in reader:
        number, begun = begun, reader.line_num + 1
        words = {
            name: text
            for name, cell in zip(names, cells, strict=False)
            if name not in NOT_READ and (text := plain(unguarded(cell)).strip())
        }
        if words.get(TICKED, "").lower() in UNTICKED:
            words.pop(TICKED, None)
        if any(cell.strip() for cell in cells[len(names) :]):
            words[_TOO_MANY] = str(len(names))
        if cells:
            yield number, words


TICKED, UNTICKED = "done", {"", "no", "n", "0", "false"}
"""The column of the box on each line of a sheet, and what stands there where it is not ticked."""
_TOO_MANY = ""
"""What stands for cells behind the last column."""


def _check_head(names: list[str]) -> None:
    known = {*WORDS, *NOT_READ, TICKED}
    unknown = [name for name in names if name not in known]
    if not names or len(unknown) == len(names):
        raise _HeadError(f"names no columns of entries; known are {', '.join(WORDS)}")
    if unknown:
        raise _HeadError(
            f'unknown column "{shortened(unknown[0])}"; known are {", ".join(WORDS)}; leave it out'
        )
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise _HeadError(f'has the column "{twice[0]}" twice; keep one of them')


def _kinds(
    words: Mapping[str, str], for_all: Mapping[str, str]
) -> list[tuple[str, dict[str, str]]]:
    """Give the kinds of entries that a line says, each with its words.

    Raises:
        RecordError: it has more cells than columns.
    """
    if _TOO_MANY in words:
        told = f"has more cells than the {words[_TOO_MANY]} columns; see its commas"
        raise RecordError([told])
    said = {name: text for name, text in words.items() if name != TICKED}
    if "kind" in words:
        return [_with(words["kind"].lower(), said, for_all)]
    for kind, sign in (("yield", "grain"), ("event", "what")):
        if sign in words:
            return [_with(kind, said, for_all)]
    of_stand = {*OF_KIND["stand"]} if "stand_count" in words else set()
    rest = {name: text for name, text in said.items() if name not in of_stand}
    done = TICKED in words or "operation" in for_all or set(rest) - {*OF_ALL}
    if not of_stand:
        return [_with("done" if done else "remark", rest, for_all)]
    counted = {name: said[name] for name in (*OF_ALL, *OF_KIND["stand"]) if name in said}
    if not done:
        return [_with("stand", counted, for_all)]
    counted.pop("remark", None)  # it is of the line, and stands once
    return [_with("done", rest, for_all), _with("stand", counted, for_all)]


def _with_crop(
    words: Mapping[str, str], for_all: Mapping[str, str], edition: Edition
) -> dict[str, str]:
    """Add to a count on a planting sheet the crop that is planted, where its strip has several."""
    operation = words.get("operation", for_all.get("operation", ""))
    if "stand_count" not in words or "crop" in words or not operation:
        return dict(words)
    with suppress(ValueError):
        operation = operation_named(operation, edition)
    planted = operation.removeprefix("plant ").split(" + ")
    strip = int(words["strip"]) if words.get("strip", "").isdecimal() else 0
    crops = [one.crop for one in edition.sown_in(strip) if one.crop in planted]
    return {**words, **({"crop": crops[0]} if len(crops) == 1 else {})}


def _with(
    kind: str, words: Mapping[str, str], for_all: Mapping[str, str]
) -> tuple[str, dict[str, str]]:
    """Give a kind of entry with its words, those of all lines that it takes among them."""
    takes = {*OF_ALL, *OF_KIND.get(kind, ())}
    return kind, {**{name: text for name, text in for_all.items() if name in takes}, **words}


def record_table(
    recorded: Iterable[Recorded], units: UnitSystem, folder: Path, to: Path
) -> bytes:  # fmt: skip
    """Write entries as CSV, so that `read_record_table` reads the same, safe in a spreadsheet.

    Args:
        recorded: the entries that stand.
        units: which system of units to speak.
        folder: of the store.
        to: the folder that the file goes into, from which photos are named.
    """
    names = ["number", "mark", *WORDS]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    writer.writerow(names)
    for one in recorded:
        words = words_of(one.entry, units, folder, to)
        told = {"number": str(one.number), "mark": one.mark}
        told |= {name: _safe(name, text) for name, text in words.items()}
        writer.writerow([told.get(name, "") for name in names])
    return out.getvalue().encode()


NUMBERS = {"longitude", "latitude"}
"""Columns whose minus sign is that of a number."""


def _safe(name: str, text: str) -> str:
    """Keep a cell from being worked out; a number's sign is none of a formula."""
    return text if name in NUMBERS else guarded(text)
