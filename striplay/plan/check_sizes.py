"""Check that a plan asks for no more than can be laid out, before anything is worked out."""

from collections.abc import Mapping, Sequence
from typing import Any

from striplay.limits import (
    MAX_DIGITS,
    MAX_MACHINE_WIDTH_M,
    MAX_NAME_LENGTH,
    MAX_NESTED,
    MAX_ROWS,
    MAX_SET_ROWS,
    MAX_STRIPS,
    MAX_TABLES,
    MAX_TEXT_LENGTH,
    MIN_SPACING_M,
)
from striplay.plain import shortened
from striplay.plan.crops import Crop, StripWish
from striplay.plan.faults import Faults
from striplay.plan.machines import Harvester, Machine, Planter
from striplay.units import FOOT_M

_MOST_OF = {"strips": MAX_STRIPS, "blocks": MAX_TABLES, "relay": MAX_TABLES,
            "quick_crop": MAX_TABLES, "after_harvest": MAX_TABLES,
            "operations": MAX_TABLES, "edges": MAX_TABLES}  # fmt: skip


def check_sizes(faults: Faults, raw: Mapping[str, Any]) -> None:
    """Check how many tables a plan has, how long their names and texts are, and its numbers."""
    _check_values(faults, raw, "", 0)


def _check_values(faults: Faults, value: object, key: str, depth: int) -> None:
    """Check a value, and what is in it."""
    told = _too_much(value, key, depth)
    if told is not None:
        faults.add(shortened(key), told)
    elif isinstance(value, Mapping):
        for name, inside in value.items():
            where = f"{key}.{name}" if key else str(name)
            if len(name) > MAX_NAME_LENGTH:
                long = f"a name has {len(name):,} characters; at most {MAX_NAME_LENGTH} will do"
                faults.add(shortened(where), long)
            else:
                _check_values(faults, inside, where, depth + 1)
    elif isinstance(value, list):
        for number, inside in enumerate(value, start=1):
            _check_values(faults, inside, f"{key}[{number}]", depth + 1)


def _too_much(value: object, key: str, depth: int) -> str | None:
    """Say what a value has too much of."""
    if depth > MAX_NESTED:
        return "is nested too deeply"
    if isinstance(value, Mapping | list):
        of_lists = MAX_TABLES if isinstance(value, Mapping) else MAX_ROWS
        most = _MOST_OF.get(key, of_lists)
        return f"are {len(value):,}; at most {most:,} will do" if len(value) > most else None
    if isinstance(value, str) and len(value) > MAX_TEXT_LENGTH:
        return f"has {len(value):,} characters; at most {MAX_TEXT_LENGTH:,} will do"
    if isinstance(value, int) and abs(value) >= 10**MAX_DIGITS:
        return f"has more than {MAX_DIGITS} digits"
    return None


def check_set(
    faults: Faults,
    strips: Sequence[StripWish],
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
) -> None:
    """Check how near rows are, how wide machines, and how many rows a set has."""
    for name, machine in machines.items():
        if not isinstance(machine, Planter | Harvester):
            continue
        for key, width_m in (("spacing", machine.spacing_m), ("width", machine.width_given_m)):
            if width_m is not None and width_m < MIN_SPACING_M:
                told = f"is less than {MIN_SPACING_M * 100:g} cm, nearer than rows stand"
                faults.add(f"machines.{name}.{key}", told)
    if faults.lines:
        return
    for name, machine in machines.items():
        if machine.width_m > MAX_MACHINE_WIDTH_M:
            feet = machine.width_m / FOOT_M
            told = f"is {machine.width_m:,.0f} m ({feet:,.0f} ft) wide, and a machine is at most"
            cure = "see its rows and spacing, or its width"
            faults.add(f"machines.{name}", f"{told} {MAX_MACHINE_WIDTH_M:g} m (330 ft); {cure}")
    if faults.lines:
        return
    rows = sum(_rows(wish, crops, machines) for wish in strips)
    if rows > MAX_SET_ROWS:
        told = f"have {rows:,.0f} rows together; a set of at most {MAX_SET_ROWS:,} is laid out"
        faults.add("strips", told)


def _rows(wish: StripWish, crops: Mapping[str, Crop], machines: Mapping[str, Machine]) -> float:
    """Count a strip's rows, or about; none where its width is still to be found."""
    planter = machines.get(crops[wish.crop].planter) if wish.crop in crops else None
    if not isinstance(planter, Planter) or wish.rows == "fit":
        return 0.0
    if wish.rows is not None:
        width_m = wish.rows * planter.row_m
    else:
        width_m = wish.width_m or (wish.passes or 0) * planter.width_m
    if wish.period_m is not None and wish.pattern_m is not None:
        return width_m / wish.period_m * len(wish.pattern_m)
    return width_m / planter.row_m
