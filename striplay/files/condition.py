"""Choose features by a condition such as `kind = 'pond' AND id IN (1, 2)`.

A small language of its own, not a database's: it knows columns, numbers and text, and can neither
read anything else nor run for long. A feature for which the answer is unknown, for want of a value,
is not chosen.
"""

import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from striplay.limits import MAX_CONDITION_DEPTH, MAX_TEXT_LENGTH

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
            return _compared(_SIGNS[sign], one, self.value())
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
            tests = [_compared(operator.eq, one, self.value())]
            while self.take(","):
                tests.append(_compared(operator.eq, one, self.value()))
            self.need(")")
            return lambda row: _any([test(row) for test in tests])
        if self.take("BETWEEN"):
            low = _compared(operator.ge, one, self.value())
            self.need("AND")
            high = _compared(operator.le, one, self.value())
            return lambda row: _not(_any([_not(low(row)), _not(high(row))]))
        if self.take("LIKE", "ILIKE"):
            return _compared(_like, one, self.value(), as_text=True)
        raise self.astray()

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
            constant: Any = written[1:-1].replace("''", "'")
        else:
            constant = _number(written) if kind == "number" else written == "TRUE"
        return lambda _: constant


def _not(held: bool | None) -> bool | None:  # noqa: FBT001 - a truth value itself
    return None if held is None else not held


def _any(held: list[bool | None]) -> bool | None:
    """Tell whether one holds; unknown where one may."""
    return True if True in held else None if None in held else False


def _compared(
    by: Callable[[Any, Any], bool], one: Value, other: Value, *, as_text: bool = False
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


def _like(text: str, pattern: str) -> bool:
    """Tell whether text is like a pattern: % stands for any text, _ for one character.

    Capitals do not matter. One pass that goes back to the last % only, so no pattern takes long.

    >>> _like("North forty", "n%f_rty"), _like("North", "n%x%")
    (True, False)
    """
    text, pattern = text.lower(), pattern.lower()
    at = of = 0
    star, kept = -1, 0
    while at < len(text):
        if of < len(pattern) and pattern[of] == "%":
            star, kept = of, at
            of += 1
        elif of < len(pattern) and pattern[of] in {"_", text[at]}:
            at, of = at + 1, of + 1
        elif star >= 0:
            kept += 1
            at, of = kept, star + 1
        else:
            return False
    return not pattern[of:].strip("%")
