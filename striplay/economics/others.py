"""Change a plan into what it is held against: each crop alone, crops swapped, other widths."""

import math
from collections.abc import Sequence

from striplay.errors import PlanError
from striplay.laid import Laid
from striplay.plan.crops import Crop, StripWish
from striplay.plan.machines import Harvester, Machine
from striplay.plan.models import Plan
from striplay.plan.operations import OperationWish
from striplay.section.mixture import crops_named
from striplay.section.sequence import rotated
from striplay.section.sets import SetFit, are_equal
from striplay.tolerances import WHOLE_NUMBER


def alone(plan: Plan, laid: Laid, crop: str) -> Plan:
    """Give the plan with one crop on the whole field, its rows as the strips' run.

    Its strip is so wide that every machine works at its full width, or all but, as on a whole
    field, and carts run beside combines. A headland that is planted is planted to it too.
    Operations on other crops are left out.
    """
    around = plan.headland
    if plan.headland_crop is not None:
        around = around.model_copy(update={"crop": crop})
    return plan.model_copy(
        update={
            "strips": (_wish(plan, crop, whole_field_passes(plan, crop)),),
            "trial": None,
            "row_set": None,
            "relays": (),
            "quick_crops": (),
            "after_harvest": (),
            "headland": around,
            "direction": _as_laid(plan, laid, offset_m=None),
            "operations": _own(plan.operations, crop),
            "crops": _crops(plan, laid, crop),
            "machines": {name: _on_the_go(one) for name, one in plan.machines.items()},
        }
    )


def _on_the_go(machine: Machine) -> Machine:
    """Let a combine with a cart unload on the go everywhere.

    On a whole field its passes are taken by lands, so that the cart runs on ground that is cut;
    the order that drives least does not see to that.
    """
    if isinstance(machine, Harvester) and machine.cart is not None:
        return machine.model_copy(update={"auger_reach_m": None})
    return machine


def whole_field_passes(plan: Plan, crop: str) -> int:
    """Give the planter passes that other machines cover best in whole passes, the fewest of these.

    The whole field is then worked as if no strip had an edge: a 40-ft strip takes two passes of a
    30-ft platform, three of them four.
    """
    own = plan.harvester(crop)
    wide_m = [] if own is None else [own.width_m]
    wide_m += [plan.machines[one.machine].width_m for one in plan.treatments([crop])]
    pass_m = plan.planter(crop).width_m
    widest_m = MOST_WIDEST * max([pass_m, *wide_m])
    counts = range(1, max(1, int(widest_m / pass_m)) + 1)

    def use(count: int) -> float:
        width_m = count * pass_m
        shares = [width_m / each / math.ceil(width_m / each - WHOLE_NUMBER) for each in wide_m]
        return round(sum(min(share, 1.0) for share in shares), USE_DIGITS)

    return max(counts, key=lambda count: (use(count), -count))


MOST_WIDEST = 3.0
"""So many widths of its widest machine are looked at: wide enough for most to work in full."""
USE_DIGITS = 3
"""Uses of machines' widths nearer than a thousandth are one."""


def _crops(plan: Plan, laid: Laid, crop: str) -> dict[str, Crop]:
    """Give the crops without wishes for shares of land, which are of strips.

    The crop that is alone is harvested as the mixture it is part of, where it names no harvester.
    """
    crops = {name: one.model_copy(update={"share": None}) for name, one in plan.crops.items()}
    labels = [label for label in laid.section.labels if crop in crops_named(plan, label)]
    named = [crops[label].harvester for label in labels if crops[label].harvester is not None]
    if crops[crop].harvester is None and named:
        crops[crop] = crops[crop].model_copy(update={"harvester": named[0]})
    return crops


def _wish(plan: Plan, crop: str, passes: int) -> StripWish:
    """Wish for a strip of so many planter passes, its rows in the crop's pattern if it has one."""
    uneven = [one for one in plan.strips if one.crop == crop and one.pattern_m is not None]
    made = StripWish(crop=crop, passes=max(1, passes))
    if not uneven:
        return made
    kept = {"pattern_m": uneven[0].pattern_m, "period_m": uneven[0].period_m}
    return made.model_copy(update=kept)


def _own(operations: Sequence[OperationWish], crop: str) -> tuple[OperationWish, ...]:
    """Give the operations that are done to a crop, to it alone."""
    mine = [one for one in operations if one.crops == "all" or crop in one.crops]
    return tuple(
        one if one.crops == "all" else one.model_copy(update={"crops": (crop,)}) for one in mine
    )


def _as_laid(plan: Plan, laid: Laid, offset_m: float | None) -> object:
    """Give the directions with the heading that was laid; blocks have their own."""
    choice = laid.blocks[0].choice
    if choice is None or plan.blocks:
        return plan.direction
    update = {"heading": choice.heading_deg, "offset_m": offset_m}
    return plan.direction.model_copy(update=update)


def swapped(plan: Plan, laid: Laid) -> Plan | None:
    """Give the plan of the season after, its two crops in each other's strips on the same lines.

    None where it has other than two strips, of equal width, or their machines do not fit.
    """
    strips = laid.section.strips
    two = len(strips) == len(set(laid.section.labels)) == 2  # noqa: PLR2004 - crops by turns
    equal = are_equal([strip.width_m for strip in strips])
    if plan.row_set is not None or plan.blocks or not two or not equal or not plan.season.swap:
        return None
    try:
        changed = rotated(plan, laid.section)
    except PlanError:
        return None
    choice = laid.blocks[0].choice
    offset_m = None if choice is None else choice.offset_m
    return changed.model_copy(update={"direction": _as_laid(plan, laid, offset_m)})


def as_wide(plan: Plan, found: SetFit) -> Plan:
    """Give the plan with the widths of a set."""
    wishes = tuple(
        _wish(plan, crop, round(fit.width_m / plan.planter(crop).width_m))
        for crop, fit in zip(found.crops, found.strips, strict=True)
    )
    return plan.model_copy(update={"strips": wishes, "trial": None})
