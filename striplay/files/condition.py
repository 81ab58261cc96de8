"""Choose features by a condition such as `kind = 'pond' AND id IN (1, 2)`.

A small language of its own, not a database's: it knows columns, numbers and text, and can neither
read anything else nor run for long. A feature for which the answer is unknown, for want of a value,
is not chosen.
"""

import operator
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, TypeAlias

from striplay.limits import (
    MAX_COMPARISONS,
    MAX_CONDITION_DEPTH,
    MAX_PATTERN_LENGTH,
    MAX_TEXT_LENGTH,
    MAX_VALUE_LENGTH,
)

Row: TypeAlias = Mapping[str, Any]
"""A feature's values by column, names in lower case."""
Value: TypeAlias = Callable[[Row], Any]
Test: TypeAlias = Callable[[Row], bool | None]

_TOKEN = re.compile(
    r"""\s*(?:
      (?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?)(?![\w.])
    | (?P<text>'(?:[^']|'')*')
    | (?P<quoted>"(?:[^"]|"")*")
    | (?P<word>[^\W\d]\w*)
    | (?P<sign><>|!=|<=|>=|==|[=<>(),])
    )""",
    re.VERBOSE,
)
_WHOLE = re.compile(r"\s*[+-]?\d+\s*")
_SIGNS: dict[str, Callable[[Any, Any], bool]] = {
    "=": operator.eq, "==": operator.eq, "<>": operator.ne, "!=": operator.ne,
    "<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge,
}  # fmt: skip
_WORDS = {"AND", "OR", "NOT", "IN", "LIKE", "ILIKE", "IS", "NULL", "BETWEEN", "TRUE", "FALSE"}
KNOWN = "a condition compares columns, such as id = 12, kind IN ('pond', 'pole') or name LIKE 'N%'"


@dataclass(frozen=True)
class Condition:
    """A condition on a feature's values.

    Attributes:
        text: as the plan holds it.
        columns: the columns it names, as written.
        test: whether a feature meets it; None where a value is wanting.
    """

    text: str
    columns: tuple[str, ...]
    test: Test = field(repr=False)


def read_condition(text: str) -> Condition:
    """Read a condition.

    Raises:
        ValueError: it is none; the message says from where on.

    >>> pond = read_condition("kind = 'pond' AND NOT id IN (1, 2)")
    >>> pond.test({"kind": "pond", "id": 3}), pond.test({"kind": "pond", "id": None})
    (True, None)
    """
    if len(text) > MAX_TEXT_LENGTH:
        raise ValueError(f"is longer than {MAX_TEXT_LENGTH} characters")
    reader = _Reader(_tokens(text))
    test = reader.either(0)
    if reader.at < len(reader.tokens):
        raise reader.astray()
    return Condition(text, tuple(dict.fromkeys(reader.columns)), test)


def _tokens(text: str) -> list[tuple[str, str]]:
    """Cut text into pairs of what it is and how it is written."""
    found, at = [], 0
    end = len(text.rstrip())
    while at < end:
        match = _TOKEN.match(text, at)
        if match is None:
            raise ValueError(f'can\'t be read from "{text[at:].strip()[:20]}" on; {KNOWN}')
        kind, written = str(match.lastgroup), match[str(match.lastgroup)]
        if kind == "word" and written.upper() in _WORDS:
            kind, written = "sign", written.upper()
        found.append((kind, written))
        at = match.end()
    return found


@dataclass
class _Reader:
    """Read tokens from left to right."""

    tokens: list[tuple[str, str]]
    at: int = 0
    columns: list[str] = field(default_factory=list)
    comparisons: int = 0

    def astray(self) -> ValueError:
        """Say where the condition goes astray."""
        if self.at < len(self.tokens):
            where = f'can\'t be read from "{self.tokens[self.at][1][:20]}" on'
        else:
            where = "ends too soon"
        return ValueError(f"{where}; {KNOWN}")

    def take(self, *signs: str) -> str | None:
        """Go past one of the signs, if it comes next."""
        if self.at < len(self.tokens):
            kind, written = self.tokens[self.at]
            if kind == "sign" and written in signs:
                self.at += 1
                return written
        return None

    def need(self, sign: str) -> None:
        if self.take(sign) is None:
            raise self.astray()

    def either(self, depth: int) -> Test:
        """Read tests joined by OR."""
        tests = [self.both(depth)]
        while self.take("OR"):
            tests.append(self.both(depth))
        return tests[0] if len(tests) == 1 else lambda row: _any([test(row) for test in tests])

    def both(self, depth: int) -> Test:
        """Read tests joined by AND."""
        tests = [self.denied(depth)]
        while self.take("AND"):
            tests.append(self.denied(depth))
        # all hold where none of their contraries does
        return (
            tests[0]
            if len(tests) == 1
            else lambda row: _not(_any([_not(test(row)) for test in tests]))
        )

    def denied(self, depth: int) -> Test:
        """Read a test, perhaps denied or in brackets."""
        if depth > MAX_CONDITION_DEPTH:
            raise ValueError(f"has more than {MAX_CONDITION_DEPTH} brackets within each other")
        if self.take("NOT"):
            test = self.denied(depth + 1)
            return lambda row: _not(test(row))
        if self.take("("):
            test = self.either(depth + 1)
            self.need(")")
            return test
        return self.comparison()

    def comparison(self) -> Test:
        """Read a comparison of two values, or of one with several."""
        one = self.value()
        sign = self.take(*_SIGNS)
        if sign:
            return self.compared(_SIGNS[sign], one, self.value())
        if self.take("IS"):
            wanted = self.take("NOT") is None
            self.need("NULL")
            return lambda row: (one(row) is None) is wanted
        denied = self.take("NOT") is not None
        test = self.among(one)
        return (lambda row: _not(test(row))) if denied else test

    def among(self, one: Value) -> Test:
        """Read IN, BETWEEN or LIKE."""
        if self.take("IN"):
            self.need("(")
            constants: list[Value] = []
            columns: list[Value] = []
            while True:
                before = len(self.columns)
                value = self.value()
                (columns if len(self.columns) > before else constants).append(value)
                if not self.take(","):
                    break
            self.need(")")
            tests = [_among(one, [value({}) for value in constants])]
            tests += [self.compared(operator.eq, one, value) for value in columns]
            return lambda row: _any([test(row) for test in tests])
        if self.take("BETWEEN"):
            low = self.compared(operator.ge, one, self.value())
            self.need("AND")
            high = self.compared(operator.le, one, self.value())
            return lambda row: _not(_any([_not(low(row)), _not(high(row))]))
        if self.take("LIKE", "ILIKE"):
            kind, written = self.tokens[self.at] if self.at < len(self.tokens) else ("", "")
            if kind == "text" and len(_unquoted(written)) > MAX_PATTERN_LENGTH:
                raise ValueError(f"has a pattern longer than {MAX_PATTERN_LENGTH} characters")
            return self.compared(_like, one, self.value(), as_text=True)
        raise self.astray()

    def compared(
        self, by: Callable[[Any, Any], bool | None], one: Value, other: Value, **how: bool
    ) -> Test:
        """Compare two values, as often as a condition may."""
        self.comparisons += 1
        if self.comparisons > MAX_COMPARISONS:
            raise ValueError(f"has more than {MAX_COMPARISONS} comparisons; list values with IN")
        return _compared(by, one, other, **how)

    def value(self) -> Value:
        """Read a column, a number or text."""
        if self.at >= len(self.tokens):
            raise self.astray()
        kind, written = self.tokens[self.at]
        if kind == "sign" and written not in {"TRUE", "FALSE"}:
            raise self.astray()
        self.at += 1
        if kind in {"word", "quoted"}:
            name = written if kind == "word" else written[1:-1].replace('""', '"')
            self.columns.append(name)
            return operator.itemgetter(name.lower())
        if kind == "text":
            constant: Any = _unquoted(written)
        else:
            constant = _number(written) if kind == "number" else written == "TRUE"
        return lambda _: constant


def _unquoted(written: str) -> str:
    """Give text without the quotes that it is written in."""
    return written[1:-1].replace("''", "'")


def _not(held: bool | None) -> bool | None:  # noqa: FBT001 - a truth value itself
    return None if held is None else not held


def _any(held: list[bool | None]) -> bool | None:
    """Tell whether one holds; unknown where one may."""
    return True if True in held else None if None in held else False


def _among(one: Value, constants: Sequence[Any]) -> Test:
    """Tell whether a value equals one of many, compared with those only that it may equal."""
    alike: dict[Any, list[Any]] = {}
    for constant in dict.fromkeys((type(each), each) for each in constants):
        for key in _keys(constant[1]):
            alike.setdefault(key, []).append(constant[1])

    def test(row: Row) -> bool | None:
        value = one(row)
        if value is None:
            return None
        near = (other for key in _keys(value) for other in alike.get(key, ()))
        return any(_equal(value, other) for other in near)

    return test


def _keys(value: Any) -> set[Any]:  # noqa: ANN401 - whatever a column holds
    """Give what values have in common that may be equal: their number, or their text."""
    return {_number(value), _text(value)} - {None}


def _equal(one: Any, other: Any) -> bool:  # noqa: ANN401 - whatever a column holds
    return _compared(operator.eq, lambda _: one, lambda _: other)({}) is True


def _compared(
    by: Callable[[Any, Any], bool | None], one: Value, other: Value, *, as_text: bool = False
) -> Test:
    """Compare two values, as numbers where one is and both read as such, else as text."""

    def test(row: Row) -> bool | None:
        pair = one(row), other(row)
        if None in pair:
            return None
        numbers = [_number(value) for value in pair]
        worded = all(isinstance(value, str) for value in pair)
        if as_text or worded or None in numbers:
            return by(*map(_text, pair))
        return by(*numbers)

    return test


def _number(value: Any) -> float | None:  # noqa: ANN401 - whatever a column holds
    """Read a value as a number: whole ones as such, for a float holds 15 digits of them."""
    if isinstance(value, int):
        return value
    try:
        return int(value) if isinstance(value, str) and _WHOLE.fullmatch(value) else float(value)
    except (TypeError, ValueError, OverflowError):
        return None


def _text(value: Any) -> str:  # noqa: ANN401 - whatever a column holds
    """Write a value as text; whole numbers without a point, for some files hold all with one."""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def _like(text: str, pattern: str) -> bool | None:
    """Tell whether text is like a pattern: % stands for any text, _ for one character.

    Capitals do not matter. Text is gone through once, character by character, whatever the pattern;
    of text or a pattern longer than any name it is not known.

    >>> _like("North forty", "n%f_rty"), _like("North", "n%x%")
    (True, False)
    """
    if len(text) > MAX_VALUE_LENGTH or len(pattern) > MAX_PATTERN_LENGTH:
        return None
    steps, any_step, stays, last = _steps(pattern)
    reached = 1  # a bit for each place of the pattern that the text so far may lead to
    for character in text.lower():
        moved = reached & steps.get(character, any_step)
        reached = moved << 1 | reached & stays
        if not reached:
            return False
    return bool(reached & last)


@lru_cache(maxsize=MAX_COMPARISONS)
def _steps(pattern: str) -> tuple[dict[str, int], int, int, int]:
    """Give the places of a pattern, as bits, that each character leads on from.

    Returns:
        Of characters in it; of any other; places with a % that keep what is there; and the end.
    """
    # each % stands at the place before the next character
    parts = pattern.lower()
    places: list[str] = [character for character in parts if character != "%"]
    stays = at = 0
    for character in parts:
        if character == "%":
            stays |= 1 << at
        else:
            at += 1
    any_step = sum(1 << place for place, character in enumerate(places) if character == "_")
    steps = {
        each: any_step | sum(1 << place for place, other in enumerate(places) if other == each)
        for each in set(places)
    }
    return steps, any_step, stays, 1 << len(places)
