"""Offer what fits: sets, headlands, sides to start from, each as changes of the plan."""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from striplay.choosing.systems import Judged
from striplay.choosing.tables import NAMED, SET_TABLES
from striplay.errors import PlanError
from striplay.laid_plan import Layout
from striplay.looks import looks_of
from striplay.notices import few
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.plan.typed import exact_length
from striplay.section.mixture import mixtures_of
from striplay.section.sets import SetFit, fit_sets, written
from striplay.units import format_length

Changes = dict[str, Any]
MOST_PASSES = 3
"""Headlands of so many passes are offered at most."""
HEADLANDS = {"around": "all round", "ends": "at the ends", "none": "none"}
"""What is said of where a headland lies."""
SIDES = ("left", "right")
"""Sides that the first strip may lie on."""
WIDTH_KEYS = ("rows", "passes", "width")
"""Keys of a strip that say how wide it is."""


def crops_offered(plan: Plan, before: Sequence[str] = ()) -> tuple[str, ...]:
    """Name the crops and mixtures of a plan: strips' own first, so that they look as on sheets.

    Args:
        plan: the plan.
        before: those that were offered before, which keep their places.
    """
    own = [wish.crop for wish in plan.strips]
    around = [] if plan.headland_crop is None else [plan.headland_crop]
    return tuple(dict.fromkeys([*before, *own, *around, *plan.crops, *mixtures_of(plan)]))


def offers_of(plan: Plan, tables: Mapping[str, Any], crops: Sequence[str]) -> dict[str, Any]:
    """Give what is offered as it is sent, systems left out.

    Args:
        plan: the plan.
        tables: the same as written.
        crops: as `crops_offered` gives them.
    """
    looks = looks_of(crops, plan.ink)
    planter_m, row_m = _steps_m(plan)
    return {
        "crops": [
            {
                "name": plain(name),
                "letter": look.letter,
                "color": look.fill.color,
                "hatch": look.fill.hatch,
            }
            for name, look in looks.items()
        ],
        "planter_m": planter_m,
        "row_m": row_m,
        "sets": list(_sets(plan, tables)),
        "headlands": list(_headlands(plan)),
        "starts": [
            {"label": f"first strip on the {side}", "changes": {"direction.start": side}}
            for side in SIDES
        ],
        "systems": [],
    }


def system_offer(judged: Judged) -> dict[str, Any]:
    """Give a system as it is offered, with what it needs that the plan lacks."""
    needs = [f"needs {need}" for need in judged.needs]
    examples = [
        name
        for kind in NAMED
        for name, one in judged.tables.get(kind, {}).items()
        if one.get("example")
    ]
    if examples:
        stand = "stands in as an example" if len(examples) == 1 else "stand in as examples"
        needs.append(f"{few(examples)} {stand} until the plan has the farm's own")
    return {
        "label": judged.system,
        "verdict": "can be done" if judged.feasible else "can't be done yet",
        "can": judged.feasible,
        "words": plain("; ".join([judged.what, *needs])),
        "changes": system_changes(judged.tables),
    }


def system_changes(tables: Mapping[str, Any]) -> Changes:
    """Give the changes that put a system's tables into a plan, whatever made its set before."""
    changes: Changes = dict.fromkeys(SET_TABLES)
    for key, value in tables.items():
        if key in NAMED:
            changes |= {f"{key}.{_quoted(name)}": as_json(one) for name, one in value.items()}
        else:
            changes[key] = as_json(value)
    return changes


def as_json(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Give a value as JSON holds it: days as text, as a plan takes them too."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {key: as_json(one) for key, one in value.items()}
    return [as_json(one) for one in value] if isinstance(value, list | tuple) else value


def chosen(offers: Mapping[str, Any], layout: Layout, tables: Mapping[str, Any]) -> dict[str, int]:
    """Give the place of the offer of each kind that a plan has; -1 for none."""
    plan, strips = layout.plan, layout.section.strips
    across = _across([one.crop for one in strips], [one.width_m for one in strips], plan)
    sets = [one["label"] for one in offers["sets"]]
    system = _written_so(offers["systems"], tables)
    return {
        "sets": sets.index(across) if across in sets else -1,
        "starts": SIDES.index(plan.direction.start),
        "headlands": _written_so(offers["headlands"], tables),
        "systems": _strips_so(offers["systems"], tables, across) if system < 0 else system,
    }


def _written_so(offers: Sequence[Mapping[str, Any]], tables: Mapping[str, Any]) -> int:
    """Give the place of the first offer whose changes a plan has; -1 for none."""
    for place, offer in enumerate(offers):
        asked = offer["changes"].items()
        if all(as_json(_found(tables, key)) == value for key, value in asked):
            return place
    return -1


def _strips_so(offers: Sequence[Mapping[str, Any]], tables: Mapping[str, Any], across: str) -> int:
    """Give the place of the strips that a plan has, however their widths are written; -1 for none.

    Args:
        offers: the systems.
        tables: the plan as written.
        across: its set, as `_across` writes it and a system of strips is described.
    """
    if [key for key in SET_TABLES if tables.get(key)] != ["strips"]:
        return -1
    found = (k for k, one in enumerate(offers) if (one["label"], one["words"]) == (STRIPS, across))
    return next(found, -1)


STRIPS = "strips"
"""The system that a plan has whose set is made by strips alone."""


def _found(tables: Mapping[str, Any], key: str) -> object:
    """Give what stands under a dotted key; None for nothing."""
    found: Any = tables
    for part in re.findall(r'"([^"]*)"|([^."]+)', key):
        found = found.get("".join(part)) if isinstance(found, Mapping) else None
    return found


def _across(crops: Sequence[str], widths_m: Sequence[float], plan: Plan) -> str:
    return plain(written(crops, widths_m, plan))


def _quoted(name: str) -> str:
    """Write a name as a part of a dotted key."""
    return name if name.replace("-", "_").isidentifier() and name.isascii() else f'"{name}"'


def _steps_m(plan: Plan) -> tuple[float, float]:
    """Give how wide a planter's pass and a row are, to move the offset by."""
    for crop in [*(wish.crop for wish in plan.strips), *plan.crops]:
        if crop in plan.crops:
            planter = plan.planter(crop)
            return planter.width_m, planter.spacing_m or planter.width_m
    return 1.0, 0.1


def _sets(plan: Plan, tables: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Offer the sets that fit, as `fit` ranks them."""
    if not plan.strips or plan.row_set is not None or plan.trial is not None:
        return
    try:
        found = fit_sets(plan)
    except PlanError:
        return
    own = list(tables.get("strips", []))
    for one in found:
        label = _across(one.crops, [strip.width_m for strip in one.strips], plan)
        strips = [
            {**_without_width(table), "crop": crop, **_width(strip.rows, strip.width_m, plan)}
            for table, crop, strip in zip(own, one.crops, one.strips, strict=True)
        ]
        yield {"label": label, "words": plain(_words(one)), "changes": {"strips": strips}}


def _words(one: SetFit) -> str:
    """Say of a set what it asks of the machines."""
    reasons = dict.fromkeys(strip.reason for strip in one.strips if strip.reason)
    swap = "equal strips" if one.equal else ""
    return "; ".join(filter(None, [swap, *reasons]))


def _without_width(table: Mapping[str, Any]) -> Changes:
    return {key: value for key, value in table.items() if key not in WIDTH_KEYS}


def _width(rows: int | None, width_m: float, plan: Plan) -> Changes:
    return {"width": exact_length(width_m, plan.units)} if rows is None else {"rows": rows}


def _headlands(plan: Plan) -> Iterator[dict[str, Any]]:
    """Offer headlands: all round or at the ends, in whole passes of the machine; or none."""
    own = plan.headland.machine
    machine = own or next((plan.crops[c].planter for c in plan.crops), None)
    if machine is not None:
        width_m = plan.machines[machine].width_m
        for where in ("around", "ends"):
            for passes in range(1, MOST_PASSES + 1):
                count = "1 pass" if passes == 1 else f"{passes} passes"
                label = (
                    f"{HEADLANDS[where]}, {count}, {format_length(passes * width_m, plan.units)}"
                )
                yield {
                    "label": label,
                    "changes": {
                        "headland.where": where,
                        "headland.passes": passes,
                        "headland.machine": machine,
                        "headland.width": None,
                    },
                }
    yield {"label": HEADLANDS["none"], "changes": {"headland.where": "none"}}
