"""Find where rows between others are left out for wheels."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from striplay.mapbook.scene import Scene
from striplay.plan.systems import Between
from striplay.section.between import with_between
from striplay.tolerances import WIDTH_M


def left_out_m(scene: Scene) -> list[float]:
    """Give where rows would stand if no tramlines were asked for, from the set's first edge."""
    plan, section = scene.plan, scene.section
    if not any(one.tramlines for one in (*plan.relays, *plan.quick_crops)):
        return []
    strips = tuple(
        replace(strip, works=tuple(work for work in strip.works if work.layer == 0))
        for strip in section.strips
    )
    own = tuple(row for row in section.rows if row.layer == 0)
    update: dict[str, Any] = {
        "relays": _sown_everywhere(plan.relays),
        "quick_crops": _sown_everywhere(plan.quick_crops),
    }
    whole = with_between(plan.model_copy(update=update), replace(section, strips=strips, rows=own))
    return [
        row.offset_m
        for row in whole.rows
        if row.layer
        and not any(
            one.layer == row.layer and abs(one.offset_m - row.offset_m) <= WIDTH_M
            for one in section.rows
        )
    ]


def _sown_everywhere(asked: Sequence[Between]) -> list[Between]:
    return [one.model_copy(update={"tramlines": None}) for one in asked]


def tramline_machines(scene: Scene) -> str:
    """Name the machines whose wheels rows are left out for."""
    asked = (*scene.plan.relays, *scene.plan.quick_crops)
    return " and ".join(dict.fromkeys(one.tramlines for one in asked if one.tramlines))
