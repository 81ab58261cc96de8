"""Say in an operator's words what is written for who keeps the plan: names of its keys, no more."""

import re
from collections.abc import Callable, Iterator
from functools import lru_cache

from striplay.plan.models import Plan
from striplay.plan.table import Table
from striplay.section.mixture import mixtures_of

SPOKEN = {
    "field.where": "the plan",
    "shut_off": "row shut-off",
    "hours_a_day": "hours a day",
    "`holds`": "what it holds",
}
"""Keys of a plan that are said otherwise than by their words."""
ASIDE = re.compile(r" \(\w+(?:\.\w+)? = [^)]*\)| \([a-z]+\.[a-z_]+\)")
"""How a key is set, or which it is, as an aside: of no use on a machine."""
OF_CROP = re.compile(r"\bcrops\.([^\s.,;]+)\.(\w+)")
"""What a crop's table states."""
PLACE = re.compile(r"(?<![\d.])(-?\d{1,3}\.\d{5}), (-?\d{1,2}\.\d{5})(?!\d)")
"""A place as files hold it, longitude first; tables of passes have latitude first."""


def spoken(plan: Plan) -> Callable[[str], str]:
    """Give what says a text of a plan without the names of keys, for a page in the cab.

    Machines and crops keep their names, each underscore a space; so do keys, which are trade words.

    Args:
        plan: whose machines and crops are named.
    """
    names = frozenset({*plan.machines, *plan.crops, *mixtures_of(plan)})
    told = _pattern(names)

    def say(text: str) -> str:
        if "_" not in text and "." not in text and "`" not in text and "=" not in text:
            return text
        said = PLACE.sub(r"latitude \2, longitude \1", ASIDE.sub("", text))
        said = OF_CROP.sub(r"the \2 of \1", said)
        said = told.sub(lambda found: _said(found[0]), said)
        return said.replace("`", "")

    return say


def _said(name: str) -> str:
    return SPOKEN.get(name, name.replace("_", " "))


@lru_cache(maxsize=32)
def _pattern(names: frozenset[str]) -> re.Pattern[str]:
    """Find the names of a plan's things, and those of keys, that are not plain words."""
    written = {name for name in {*names, *_keys(Table)} if "_" in name} | {*SPOKEN}
    longest_first = sorted(map(re.escape, written), key=lambda one: (-len(one), one))
    return re.compile(rf"(?<![\w.])(?:{'|'.join(longest_first)})(?!\w)")


def _keys(table: type[Table]) -> Iterator[str]:
    """Name the keys of all tables that a plan may have."""
    for name, one in table.model_fields.items():
        yield one.alias or name
    for more in table.__subclasses__():
        yield from _keys(more)
