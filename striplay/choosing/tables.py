"""Write tables of a plan, and put them in place of its own."""

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

Tables = dict[str, Any]
"""Tables of a plan as TOML holds them: those named, such as crops, by name; lists of others."""
SET_TABLES = ("strips", "row_set", "relay", "quick_crop", "after_harvest", "trial")
"""Tables that make the set: new ones take the place of all of them."""
NAMED = ("machines", "crops", "mixtures")
"""Tables that are known by name: a new one takes the place of the old one of its name."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def put_in(plan: Mapping[str, Any], tables: Mapping[str, Any]) -> Tables:
    """Put tables in place of a plan's own.

    Args:
        plan: all that the plan's file holds.
        tables: whole tables. Its set's take the place of all of the plan's set; named ones that of
            the same name; others that of their own.
    """
    found = {key: value for key, value in plan.items() if key not in SET_TABLES}
    for key, value in tables.items():
        own = found.get(key)
        found[key] = {**own, **value} if key in NAMED and isinstance(own, dict) else value
    return found


def written(tables: Mapping[str, Any], remarks: Mapping[str, str]) -> str:
    """Write tables as TOML: machines first, the set last.

    Args:
        tables: as for `put_in`.
        remarks: a comment over a table, by its name such as "crops.wheat".

    >>> print(written({"strips": [{"crop": "corn", "rows": 16}]}, {}))
    [[strips]]
    crop = "corn"
    rows = 16
    """
    order = [*(key for key in tables if key not in (*NAMED, *SET_TABLES)), *NAMED, *SET_TABLES]
    blocks = []
    for key in (key for key in order if key in tables):
        if key in SET_TABLES:
            each = [(f"[[{key}]]", key, one) for one in tables[key]]
        elif key in NAMED:
            each = [(f"[{key}.{_key(name)}]", f"{key}.{name}", one)
                    for name, one in tables[key].items()]  # fmt: skip
        else:
            each = [(f"[{key}]", key, tables[key])]
        for head, name, table in each:
            remark = [f"# {remarks[name]}"] if name in remarks else []
            lines = [f"{_key(own)} = {_value(value)}" for own, value in table.items()]
            blocks.append("\n".join([*remark, head, *lines]))
    return "\n\n".join(blocks)


def _key(name: str) -> str:
    """Write a key, in quotes where it holds more than letters, digits and dashes."""
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _value(value: Any) -> str:  # noqa: ANN401 - whatever TOML holds
    """Write a value."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return f"{{{', '.join(f'{_key(key)} = {_value(one)}' for key, one in value.items())}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    return json.dumps(value, ensure_ascii=False)
