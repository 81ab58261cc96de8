"""Tell what a plan and its set hold that calls for a caution."""

from striplay.cautions import Occasion
from striplay.plan.models import Plan
from striplay.section.section import Section


def occasions_of(plan: Plan, section: Section, *, holed: bool = False) -> frozenset[Occasion]:
    """Tell what calls for a caution.

    Args:
        plan: its harvesters, obstacles and headland.
        section: what stands in each row of the set.
        holed: whether the boundary has holes, which are obstacles too.
    """
    edge = set() if plan.headland_crop is None else {plan.headland_crop}
    names = {layer.label for layer in section.layers} | edge
    found: dict[Occasion, bool] = {
        "several crops": len({strip.crop for strip in section.strips} | edge) > 1,
        "crop between rows": any(layer.number and not layer.follows for layer in section.layers),
        "second crop": any(layer.number for layer in section.layers),
        "crops in one row": any(len({each.crop for each in row.sown}) > 1 for row in section.rows),
        "harvest": any(plan.harvester(name) is not None for name in names),
        "no harvester": any(
            plan.harvester(name) is None and plan.crops[name].reaped for name in names
        ),
        "obstacles": holed or (plan.field is not None and plan.field.obstacles is not None),
    }
    return frozenset(name for name, holds in found.items() if holds)
