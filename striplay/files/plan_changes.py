"""Change keys of a plan's text, its comments kept, as a person would who edits the file."""

import tomllib
from collections.abc import Mapping, MutableMapping
from copy import deepcopy
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Item

from striplay.errors import PlanError
from striplay.files.plan import check_keys, tables_in
from striplay.limits import MAX_KEY_LENGTH

Tables = MutableMapping[str, Any]
Held = dict[str, TOMLDocument]
"""The text changed last, taken apart: what is changed next need not be read with its comments."""


def with_changes(text: str, changes: Mapping[str, Any], name: str, held: Held | None = None) -> str:
    """Give a plan's text with some keys changed.

    Args:
        text: the plan's.
        changes: values by dotted key, such as direction.heading; a list of tables stands for all
            of its kind, and None takes a key away.
        name: of the plan, for messages.
        held: holds the text changed last from call to call; None where nothing is.

    Raises:
        PlanError: a key that is none, or that lies in what is no table; all of them at once.
    """
    before = tables_in(text, name)
    asked: dict[str, Any] = deepcopy(before)
    faults: list[str] = []
    paths: list[tuple[list[str], Any]] = []
    for key, value in changes.items():
        path = _path(key)
        if path is None:
            faults.append(f"{key[:MAX_KEY_LENGTH]}: is no key")
        elif not _put(asked, path, value):
            faults.append(f"{key}: lies in what is no table")
        else:
            paths.append((path, value))
    if faults:
        raise PlanError(name, faults)
    if asked == before:
        return text
    made = _kept(text, paths, before, asked, {} if held is None else held)
    if made is None:
        raise PlanError(name, ["can't be changed so; change the file itself"])
    return made


def _kept(
    text: str,
    paths: list[tuple[list[str], Any]],
    before: Mapping[str, Any],
    asked: Mapping[str, Any],
    held: Held,
) -> str | None:
    """Put values in a text with its comments; None where that can't be done as asked."""
    document = held.pop(text, None)  # taken out at once: no other thread may change the same
    held.clear()
    alike = all(_is_value(before, path) and _is_value(asked, path) for path, _ in paths)
    made = None if document is None else _put_in(document, paths, asked)
    if made is None:
        try:
            document = tomlkit.parse(text)
        except (TOMLKitError, ValueError, RecursionError):
            return None
        made = _put_in(document, paths, asked)
    if made is not None and document is not None and alike:
        held[made] = document  # with other keys it may be spaced unlike the text it gives
    return made


def _is_value(tables: Mapping[str, Any], path: list[str]) -> bool:
    """Tell whether a value that is no table and no list stands under a key."""
    found: Any = tables
    for part in path:
        if not isinstance(found, Mapping) or part not in found:
            return False
        found = found[part]
    return not isinstance(found, Mapping | list)


def _put_in(
    document: TOMLDocument, paths: list[tuple[list[str], Any]], asked: Mapping[str, Any]
) -> str | None:
    """Put values in a document; its text, or None where it does not hold what was asked."""
    try:
        for path, value in paths:
            _put(document, path, value)
        made = document.as_string()
        return made if tomllib.loads(made) == asked else None
    except (TOMLKitError, ValueError, TypeError, LookupError, AttributeError, RecursionError):
        return None


def _path(key: str) -> list[str] | None:
    """Take a dotted key apart as TOML does; None for what is no key."""
    if len(key) > MAX_KEY_LENGTH or not key.isprintable():
        return None
    try:
        check_keys(key, "")
        found: Any = tomllib.loads(f"{key} = 0")
    except (PlanError, ValueError, RecursionError):
        return None
    path = []
    while isinstance(found, dict) and len(found) == 1:
        (part, found), *_ = found.items()
        path.append(part)
    return path if found == 0 and isinstance(found, int) else None


def _put(table: Tables, path: list[str], value: object) -> bool:
    """Put a value under a key, or take it away; tell whether that lies in tables alone."""
    *outer, last = path
    for part in outer:
        if part not in table:
            if value is None:
                return True
            table[part] = {} if type(table) is dict else tomlkit.table()
        inner = table[part]
        if not isinstance(inner, MutableMapping):
            return False
        table = inner
    if value is None:
        table.pop(last, None)
    elif type(table) is dict:
        table[last] = deepcopy(value)
    else:
        before, table[last] = table.get(last), tomlkit.item(value)
        kept = table[last]
        if isinstance(kept, Item) and type(kept) is not type(before):
            # what was said of a word is not true of a number
            kept.trivia.comment = kept.trivia.comment_ws = ""
    return True
