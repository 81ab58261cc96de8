"""Say in words what of a plan was changed: the parts in short, and each change as it was and is."""

from collections.abc import Mapping
from typing import Any

from striplay.choosing.tables import NAMED
from striplay.notices import few
from striplay.plain import plain
from striplay.table.offers import HEADLANDS, as_json
from striplay.units import HEADING_DIGITS, trim

CALLED = {
    "direction.heading": "heading", "direction.offset": "offset",
    "direction.start": "side of the first strip", "direction.along": "line that rows follow",
    "direction.pivot": "pivot", "direction.shortest": "shortest row planted",
    "direction.narrowest": "narrowest strip", "headland.where": "headland",
    "headland.width": "width of the headland", "headland.passes": "passes of the headland",
    "headland.machine": "machine of the headland", "headland.crop": "crop of the headland",
    "machines": "machine", "crops": "crop", "mixtures": "mixture",
    "after_harvest": "crops after a harvest",
}  # fmt: skip
"""What is said of parts of a plan whose keys alone don't say it."""


def called(*path: str) -> str:
    """Say a key of a plan in words.

    >>> called("direction", "heading"), called("row_set"), called("crops", "dry_bean", "seed_price")
    ('heading', 'row set', 'crop dry_bean seed price')
    """
    key, (head, *rest) = ".".join(path), path
    if key in CALLED or not rest:
        return CALLED.get(key, _spaced(key))
    if head in NAMED:
        name, *within = rest  # a name is the plan's own, and stays as it is
        return " ".join([CALLED[head], name, *map(_spaced, within)])
    return " ".join(map(_spaced, rest if head == "direction" else path))


def _spaced(key: str) -> str:
    return key.replace("_", " ")


def changed_words(before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Name the parts in which two plans differ.

    >>> changed_words({"direction": {"heading": 0}}, {"direction": {"heading": 7}, "row_set": {}})
    'heading and row set'
    """
    found: list[str] = []
    for key in dict.fromkeys([*before, *now]):
        one, other = as_json(before.get(key)), as_json(now.get(key))
        if one == other:
            continue
        if key not in (*NAMED, "direction"):
            found.append(called(key))
            continue
        own, others = one or {}, other or {}
        names = dict.fromkeys([*own, *others])
        found += [called(key, name) for name in names if own.get(name) != others.get(name)]
    return plain(few(found)) if found else ""


def differing(before: Mapping[str, Any], now: Mapping[str, Any], *at: str) -> list[str]:
    """Say each change between two plans, as it was and is, by the same words.

    Args:
        before: tables of the one.
        now: of the other.
        at: keys that lead to them.

    >>> differing({"title": "A", "headland": {"where": "ends"}}, {"headland": {"where": "around"}})
    ['title: A taken away', 'headland: all round instead of at the ends']
    """
    found: list[str] = []
    for key in dict.fromkeys([*before, *now]):
        path = (*at, key)
        one, other = as_json(before.get(key)), as_json(now.get(key))
        if one == other:
            continue
        if isinstance(one, Mapping) and isinstance(other, Mapping):
            found += differing(one, other, *path)
            continue
        words, (was, is_now) = called(*path), (_value(value, *path) for value in (one, other))
        if key not in now:
            found.append(plain(f"{words}: {was} taken away"))
        elif key not in before:
            found.append(plain(f"{words}: {is_now}"))
        else:
            found.append(plain(f"{words}: {is_now} instead of {was}"))
    return found


def _value(value: object, *path: str) -> str:
    """Write a value of a plan in short, as the table's lists say it.

    >>> _value(83.0), _value([{"crop": "corn", "rows": 16}, {"crop": "oats", "rows": 8}])
    ('83', 'crop corn, rows 16 + crop oats, rows 8')
    """
    if isinstance(value, float):
        return trim(value, HEADING_DIGITS)
    if isinstance(value, Mapping):
        each = ((key, _value(one, *path, key)) for key, one in value.items())
        return ", ".join(f"{_spaced(key)} {said}" for key, said in each)
    if isinstance(value, list):
        return " + ".join(map(_value, value))
    if path == ("headland", "where"):
        return HEADLANDS.get(str(value), str(value))
    return "yes" if value is True else "no" if value is False else str(value)
