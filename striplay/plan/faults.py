"""Turn what is wrong with a table into lines a farmer's adviser can act on."""

import difflib
import json
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from striplay.limits import MAX_OFFERED
from striplay.plain import plain, shortened, unseen_in

Table = TypeVar("Table", bound=BaseModel)

RENAMED = {
    "track": "tread", "tyre": "tire", "cut": "cutting_height",
    "closes": "canopy_closure", "fill": "batch", "closer": "rate_increase",
}  # fmt: skip
"""Keys that plans were once written with, and what each is called now."""


class Faults:
    """Gather the faults of a plan, so that all come at once."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, key: str, message: str) -> None:
        """Note one fault: the key, and what is wrong and would do."""
        self.lines.append(f"{plain(key)}: {plain(message)}")

    def check_spelling(self, table: str, names: Iterable[str]) -> None:
        """Note a fault of each name that can't be shown: empty, or with an unseen character."""
        for name in names:
            if not name.strip():
                self.add(table, 'holds a name without letters; write one, such as "corn"')
            elif unseen := unseen_in(name):
                self.add(
                    f"{table}.{name}",
                    f"has a character in its name that can't be shown (U+{ord(unseen):04X}); "
                    "write the name in letters, digits and spaces",
                )

    def read(self, model: type[Table], value: object, key: str) -> Table | None:
        """Read a table into its model; None, and the faults noted, if it can't be."""
        if not isinstance(value, Mapping):
            name, listed, _ = key.partition("[")
            written = f"[[{name}]]" if listed else f"[{key}]"
            self.add(key, f"must be a table, written {written}")
            return None
        try:
            return model.model_validate(value)
        except ValidationError as error:
            for fault in error.errors(include_url=False):
                if fault["type"] == "default_factory_not_called":
                    continue  # left out of the table; the key that stops it has its own fault
                self._note(model, fault, value, key)
            return None

    def check_name(self, key: str, name: str, known: Iterable[str], what: str) -> bool:
        """Note a fault if `name` is not among the known; the nearest one is offered."""
        names = list(known)
        if name in names:
            return True
        self.add(key, f'no {what} "{shortened(name)}"{offered(name, names)}')
        return False

    def _note(
        self,
        model: type[BaseModel],
        fault: Any,  # noqa: ANN401 - pydantic's own dict
        value: Mapping[str, Any],
        table: str,
    ) -> None:
        name = str(fault["loc"][0])
        key = f"{table}.{name}" if table else name
        if fault["type"] == "extra_forbidden":
            known = [field.alias or n for n, field in model.model_fields.items()]
            if RENAMED.get(name) in known:
                self.add(key, f'is now called "{RENAMED[name]}"; rename it')
            else:
                self.add(key, f"unknown key{offered(name, known)}")
            return
        message = _what(fault, value, name)
        message += _example(model, name, message)
        if f"{plain(key)}: {plain(message)}" not in self.lines:
            self.add(key, message)


def nearest(name: str, known: Iterable[str]) -> str:
    """Offer the nearest known word.

    >>> nearest("plantr", ["planter", "platform"])
    ', did you mean "planter"?'
    >>> nearest("KML", ["csv", "kml"])
    ', did you mean "kml"?'
    """
    plainly = {one.casefold(): one for one in known}
    close = difflib.get_close_matches(name.casefold(), list(plainly), n=1, cutoff=0.6)
    return f', did you mean "{plainly[close[0]]}"?' if close else ""


def offered(name: str, known: Iterable[str]) -> str:
    """Offer the nearest known word, and all known words where they are few.

    >>> offered("plantr", ["planter"]), offered("plantr", ["planter", *"abcdefghijkl"])
    (', did you mean "planter"?; known are planter', ', did you mean "planter"?')
    >>> offered("zzz", "abcdefghijklmno")
    '; known are a, b, c, d, e, f, g, h, i, j, k, l and 3 more'
    """
    names = [shortened(one) for one in known]
    if not names:
        return "; none is given"
    near, more = nearest(name, names), len(names) - MAX_OFFERED
    if near and more > 0:
        return near
    tail = f" and {more} more" if more > 0 else ""
    return f"{near}; known are {', '.join(names[:MAX_OFFERED])}{tail}"


def _what(fault: Any, value: Mapping[str, Any], name: str) -> str:  # noqa: ANN401 - as above
    """Say the rule that was broken, in words."""
    if fault["type"] == "missing":
        return "is missing"
    shown = shortened(json.dumps(value[name], default=str, ensure_ascii=False))
    context = fault.get("ctx", {})
    if fault["type"] == "value_error":
        return f"{shown} {context['error']}"
    rules = {
        "greater_than": "must be above {gt:g}",
        "greater_than_equal": "must be {ge:g} or more",
        "less_than": "must be below {lt:g}",
        "less_than_equal": "must be {le:g} or less",
        "bool_type": "must be true or false",
        "int_type": "must be a whole number",
        "float_type": "must be a number",
        "float_parsing": "must be a number",
        "string_type": "must be text",
        "literal_error": "must be {expected}",
    }
    rule = rules.get(fault["type"])
    if fault["type"] == "literal_error" and type(value[name]) in {int, float}:
        rule = f"{rule}, in quotes"
    return f"{shown} {rule.format(**context) if rule else 'is not accepted'}"


def _example(model: type[BaseModel], name: str, said: str) -> str:
    """Show a value that would do, where what is said does not end in that very one."""
    for attribute, field in model.model_fields.items():
        if name == (field.alias or attribute) and field.examples:
            example = _toml(field.examples[0])
            return "" if said.endswith(example) else f"; for example {name} = {example}"
    return ""


def _toml(value: object) -> str:
    """Write a value as a plan does."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {_toml(one)}" for key, one in value.items()) + "}"
    return json.dumps(value)
