"""Say what of a layout is hardly meant: few strips, much headland, lost crops, examples."""

from collections.abc import Iterator, Mapping

from striplay.laid import Laid
from striplay.notices import Notice, few
from striplay.plan.crops import Crop
from striplay.plan.machines import Machine
from striplay.plan.models import Plan
from striplay.replicates import replicate_notices
from striplay.section.mixture import crops_named, mixtures_of
from striplay.tolerances import HEADLAND_SHARE, STRIPS_SHARE
from striplay.units import format_area, format_length


def doubts(
    plan: Plan, laid: Laid, areas_m2: Mapping[str, float], field_m2: float
) -> Iterator[Notice]:
    """Say what of a layout is hardly meant.

    Args:
        plan: what was asked.
        laid: the field, swept.
        areas_m2: where its ground goes.
        field_m2: its area.
    """
    strips_m2, headland_m2 = areas_m2["strips"], areas_m2["headland"]
    whole = format_area(field_m2, plan.units)
    if strips_m2 < STRIPS_SHARE * field_m2:
        said = (
            f"only {strips_m2 / field_m2:.0%} of the field is in strips, "
            f"{format_area(strips_m2, plan.units)} of {whole}: less headland, a smaller "
            "direction.shortest or another heading may leave more"
        )
        yield Notice("fit", "mind", None, said)
    if headland_m2 > HEADLAND_SHARE * field_m2:
        width = format_length(plan.headland_width_m, plan.units)
        said = (
            f"the headland of {width} takes {headland_m2 / field_m2:.0%} of the field, "
            f"{format_area(headland_m2, plan.units)} of {whole}; fewer passes, or where = "
            '"ends", take less'
        )
        yield Notice("fit", "mind", None, said)
    yield from _bare_headland(plan, laid, headland_m2)
    yield from _lost(plan, laid)
    yield from replicate_notices(plan, laid)
    yield from examples(plan)


def _bare_headland(plan: Plan, laid: Laid, headland_m2: float) -> Iterator[Notice]:
    """Say that what is sown in strips after a harvest is not sown on the headland."""
    for name in laid.section.following if headland_m2 else ():
        said = (
            f"{name} is sown in strips only: the headland, {format_area(headland_m2, plan.units)}, "
            "has none after its harvest; if it is to, add seed and passes for it"
        )
        yield Notice("crop", "mind", None, said)


def examples(plan: Plan) -> Iterator[Notice]:
    """Say which machines and crops of a plan are made up."""
    yield from _made_up("machines", "its widths, rows, speeds and costs", plan.machines)
    yield from _made_up("crops", "its rates and days", plan.crops)


def _made_up(key: str, what: str, held: Mapping[str, Machine | Crop]) -> Iterator[Notice]:
    """Say which machines or crops are examples, and none of the farm's."""
    names = [f'"{name}"' for name, one in held.items() if one.example]
    if names:
        said = (
            f"{few(names)} {'is' if len(names) == 1 else 'are'} made up, none of the farm's {key}: "
            f"put {what} there, and take example = true away from [{key}]"
        )
        yield Notice("example", "mind", None, said)


def _lost(plan: Plan, laid: Laid) -> Iterator[Notice]:
    """Say which crops the field has nothing of."""
    section = laid.section
    present = {int(kind) for block in laid.blocks for kind in block.pieces.strips.kind}
    standing = {crop for index in present for crop in section.crops_of(index)}
    standing |= {section.strips[index].crop for index in present}
    standing |= {row.label for row in section.rows if row.strip in present}
    asked = set(section.names)
    edge = plan.headland_crop
    around = set() if edge is None else {edge, *crops_named(plan, edge)}
    mixed = {part for parts in mixtures_of(plan).values() for part in parts}
    for name in plan.crops:
        if name in standing or name in around:
            continue
        if name in asked:
            said = f"{name}: no strip of it fits on the field, though the set holds one"
            yield Notice("fit", "mind", None, said)
        elif name not in mixed:
            said = (
                f"{name}: is in the plan and nowhere on the field: no strip, row, headland or "
                "mixture has it"
            )
            yield Notice("crop", "mind", None, said)
