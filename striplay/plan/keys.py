"""Name one key of a plan with dots, as crops.corn.rate, and set it in a plan's tables."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from striplay.plain import shortened
from striplay.plan.cost import Cost, Slope
from striplay.plan.crops import Crop, StripWish
from striplay.plan.faults import offered
from striplay.plan.machines import MACHINES
from striplay.plan.models import AboveTables, Direction, Farm, Headland, Obstacles
from striplay.plan.money import Economics, EdgeWish
from striplay.plan.operations import OperationWish
from striplay.plan.season import NextSeason
from striplay.plan.systems import Between, Mixture, RowSet
from striplay.plan.trial import Trial

ONE: Mapping[str, type[BaseModel]] = {
    "farm": Farm, "headland": Headland, "direction": Direction, "obstacles": Obstacles,
    "cost": Cost, "economics": Economics, "slope": Slope, "season": NextSeason, "trial": Trial,
}  # fmt: skip
"""Tables that a plan has once, by their models."""
NAMED: Mapping[str, type[BaseModel] | None] = {"machines": None, "crops": Crop, "mixtures": Mixture}
"""Tables with a name of the plan's own; a machine's model goes by what it does."""
LISTED: Mapping[str, type[BaseModel]] = {
    "strips": StripWish, "row_set": RowSet, "relay": Between, "quick_crop": Between,
    "operations": OperationWish, "edges": EdgeWish,
}  # fmt: skip
"""Tables in a list, counted from 1 as messages do: strips[1].rows."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a plan.

    Attributes:
        text: as it is written, with dots.
        path: the steps to it through a plan's tables: names, and places in lists from 0.
    """

    text: str
    path: tuple[str | int, ...]

    def set_in(self, tables: Mapping[str, Any], value: object) -> dict[str, Any]:
        """Give tables with a value set; those given are left as they are."""
        changed: dict[str, Any] = _set(tables, self.path, value)
        return changed


def _set(
    within: Any,  # noqa: ANN401 - tables and lists of TOML
    path: Sequence[str | int],
    value: object,
) -> Any:  # noqa: ANN401 - likewise
    if not path:
        return value
    step, *rest = path
    if isinstance(step, int):
        return [_set(one, rest, value) if at == step else one for at, one in enumerate(within)]
    return {**within, step: _set(within.get(step, {}), rest, value)}


def has_head(text: str) -> bool:
    """Tell whether a text begins as a key in one of a plan's tables does.

    >>> has_head("crops.corn.rate"), has_head("strips[1].rows"), has_head("soil.ph")
    (True, True, False)
    """
    head, dot, _ = text.partition(".")
    return bool(dot) and head.partition("[")[0] in {*ONE, *NAMED, *LISTED}


def key_of(text: str, tables: Mapping[str, Any]) -> Key:
    """Read the name of a key.

    Args:
        text: with dots; a list's tables are counted from 1.
        tables: the plan's, which say which machines, crops and strips there are.

    Raises:
        ValueError: there is no such key; the message goes behind its name.
    """
    head, dot, rest = text.partition(".")
    name, bracket, count = head.partition("[")
    if not dot:
        _check(text, AboveTables)
        return Key(text, (text,))
    if name in LISTED and bracket:
        return Key(text, (name, _place(tables.get(name, []), name, count), _leaf(rest, name)))
    if head in NAMED:
        named, _, last = rest.rpartition(".")
        if not named:
            raise ValueError(f"needs a name and a key, such as {head}.NAME.{_any_of(head)}")
        known = tables.get(head, {})
        if named not in known:
            raise ValueError(f'names none of the plan\'s {head}: "{named}"{offered(named, known)}')
        model = NAMED[head] or MACHINES[str(known[named].get("does"))]
        _check(last, model)
        return Key(text, (head, named, last))
    if head in ONE:
        _check(rest, ONE[head])
        return Key(text, (head, rest))
    if name in LISTED:
        raise ValueError(f"needs the number of its table, such as {name}[1].{rest or 'crop'}")
    raise ValueError(f"is in no table that a field may change{offered(head, _heads())}")


def _heads() -> Iterator[str]:
    yield from (*ONE, *NAMED, *LISTED)


def _any_of(head: str) -> str:
    """Give a key that tables of a kind have."""
    return {"machines": "rows", "crops": "rate"}.get(head, "crops")


def _place(listed: Sequence[object], name: str, count: str) -> int:
    """Read the number of a table in its list."""
    digits = count.removesuffix("]")
    if not (count.endswith("]") and digits.isdecimal() and 1 <= int(digits) <= len(listed)):
        raise ValueError(f"names no table of the plan: it has {len(listed)} [[{name}]]")
    return int(digits) - 1


def _leaf(rest: str, name: str) -> str:
    _check(rest, LISTED[name])
    return rest


def _check(name: str, model: type[BaseModel]) -> None:
    """Check that a table has a key."""
    known = [field.alias or attribute for attribute, field in model.model_fields.items()]
    if name not in known:
        raise ValueError(f'is no key of a plan: "{shortened(name)}"{offered(name, known)}')
