"""Say what stops a text from being TOML: in which line, and what would do."""

import ast
import calendar
import json
import re
import tomllib
from collections.abc import Iterator

from striplay.limits import MAX_SHOWN
from striplay.plain import plain, shortened

_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_TWICE = re.compile(r"Cannot (?:declare|mutate immutable namespace) (\(.+\))(?: twice)?")
_QUOTED = r"""\"(?:[^"\\]|\\.)*+\"|'[^']*+'"""
_BEFORE_COMMENT = re.compile(rf"(?:{_QUOTED}|[^#\"'])*+")
_SETS = re.compile(r"([^=]*+)=(.*)")
_PLAIN_KEY = re.compile(rf"(?:(?:[A-Za-z0-9_-]++|{_QUOTED})[ \t]*+(?:\.[ \t]*+|$))*+")
_DAY = re.compile(r"(?<![\d/.-])(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
_DAY_FIRST = re.compile(r"(?<![\d/.-])\d{1,2}([-/.])\d{1,2}\1\d{4}(?!\d)")
_DEGREES = re.compile(r"([+-]?\d+(?:\.\d+)?)[ \t]*(?:°|deg|degs|degree|degrees)", re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_COMMA = re.compile(r"[+-]?\d+,\d+")
_ZEROS = re.compile(r"0+(\d+(?:\.\d+)?)")
_BARE_POINT = re.compile(r"(\d*)\.(\d*)")
_MONTHS = 12
_CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u201b\u00ab\u00bb"
_BOOLEANS = {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false",
             "false": "false"}  # fmt: skip


def in_words(text: str, error: tomllib.TOMLDecodeError) -> str:
    """Say what stops a text from being TOML: its line, what is wrong with it, and what would do.

    Args:
        text: what was to be read.
        error: what the reader said of it.
    """
    said = str(error)
    place = _PLACE.search(said)
    what = said[: place.start()] if place else said
    lines = text.split("\n")
    number = int(place[1]) if place and place[1] else len(lines)
    line = lines[min(number, len(lines)) - 1].strip()
    found = _BEFORE_COMMENT.match(line)
    written = line[: found.end()] if found and line[found.end() :][:1] == "#" else line
    written = written.strip()
    if twice := _TWICE.match(what):
        named = plain(".".join(ast.literal_eval(twice[1])))
        return f"line {number}: [{named}] is there twice; give each table its own name"
    if what.startswith("Cannot overwrite a value"):
        where = f"line {number}: {shortened(written)}: " if written else ""
        return f"{where}a key is there twice in one table; keep one of them"
    plainly = f"{what[:1].lower()}{what[1:]}"
    if place and not place[1] and not written:
        return f"is not TOML: at its end: {plainly}"
    return f"line {number}: {shortened(written)}: {next(_wrongs(written, what), plainly)}"


def _wrongs(line: str, what: str) -> Iterator[str]:
    """Say what may be wrong with a line without its comment, the likeliest first."""
    if line.startswith("["):
        yield "the name of a table stands between brackets; for example [crops.corn]"
    sets = _SETS.fullmatch(line)
    # without a key: a line of a list, or a fault
    key, value = (sets[1].strip(), sets[2].strip()) if sets else ("", line)
    if sets is None and not what.startswith(("Unclosed", "Invalid")):
        yield 'a line holds a key, "=" and its value; for example title = "North"'
    if sets is not None and not key:
        yield 'a key is missing before "="; for example title = "North"'
    if not _PLAIN_KEY.fullmatch(key):
        quoted = json.dumps(key, ensure_ascii=False)
        yield (
            "a key of other signs than a to z, digits, _ and - stands in quotes"
            f"{_example(quoted, value)}"
        )
    if not value:
        yield 'nothing stands after "="; write its value, or take the key out'
    yield from _no_days(key, value)
    if what.startswith("Unclosed"):
        kind, bracket = ("list", "]") if "array" in what else ("table", "}")
        yield f'a {kind} is not closed with "{bracket}", or a comma is missing in it'
    yield from _no_numbers(key, value)
    yield from _no_text(key, value, what)


def _no_days(key: str, value: str) -> Iterator[str]:
    """Say of each day that is none, or written in another way."""
    bare = _unquoted(value)
    for found in _DAY.finditer(bare):
        year, month, day = (int(part) for part in found.groups())
        alone = value == found[0]
        right = f"{year:04}-{month:02}-{day:02}"
        if year == 0:
            why = "there is no year 0"
        elif not 1 <= month <= _MONTHS:
            why = f"there is no month {month}"
        elif not 1 <= day <= (last := calendar.monthrange(year, month)[1]):
            why = f"there is no day {day} in {year:04}-{month:02}, which has {last}"
        elif found[0] != right:
            yield f"a day is written year-month-day{_example(key, right, alone=alone)}"
            continue
        else:
            continue
        yield why + _example(key, f"{year or 2026:04}-05-01", alone=alone)
    if _DAY_FIRST.search(bare):
        yield f"a day is written year-month-day{_example(key, '2026-05-01')}"


def _no_numbers(key: str, value: str) -> Iterator[str]:
    """Say how a number or a choice is written that is written in another way."""
    if degrees := _DEGREES.fullmatch(value):
        yield f"degrees are a number without a unit{_example(key, degrees[1])}"
    if _THOUSANDS.fullmatch(value):
        yield f"a number has no commas{_example(key, value.replace(',', ''))}"
    if _COMMA.fullmatch(value):
        yield f"a number has a point, no comma{_example(key, value.replace(',', '.'))}"
    if zeros := _ZEROS.fullmatch(value):
        yield f"a number has no 0 before it{_example(key, zeros[1])}"
    if value != "." and (point := _BARE_POINT.fullmatch(value)):
        right = f"{point[1] or 0}.{point[2] or 0}"
        yield f"a digit stands on either side of a point{_example(key, right)}"
    if value.lower() in _BOOLEANS:
        yield f"yes is written true, no false{_example(key, _BOOLEANS[value.lower()])}"


def _no_text(key: str, value: str, what: str) -> Iterator[str]:
    """Say how text is written that is written in another way."""
    if set(_CURLY) & set(value):
        inner = json.dumps(value.strip(f"{_CURLY}\"'"), ensure_ascii=False)
        yield f"text stands in straight quotes{_example(key, inner)}"
    if what.startswith(("Unescaped", "Invalid hex")):
        right = f"'{value[1:-1]}'"
        yield f"text with a backslash stands in single quotes{_example(key, right)}"
    if what.startswith(("Illegal character '\\n'", "Unterminated", 'Expected "', "Expected '''")):
        yield f"a quote is not closed; close it with {value[:1]}"
    if value[:1] in {'"', "'"} and what.startswith("Expected newline"):
        yield 'nothing stands after a value on its line but a comment, which begins with "#"'
    if value[:1] not in {'"', "'", "[", "{"} and what.startswith(("Invalid value", "Expected new")):
        yield f"text stands in quotes{_example(key, json.dumps(value, ensure_ascii=False))}"


def _unquoted(value: str) -> str:
    """Give what stands outside quotes."""
    return re.sub(_QUOTED, "", value)


def _example(key: str, value: str, *, alone: bool = True) -> str:
    """Show a line that would do, or a value where others stand beside it; nothing too long."""
    line = f"{key} = {value}" if alone else value
    return f"; for example {plain(line)}" if key and len(line) <= MAX_SHOWN else ""
