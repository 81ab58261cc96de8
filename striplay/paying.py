"""Answer "does it pay?": lay what a plan's strips are held against, and reckon all of it."""

import logging
from collections.abc import Sequence

from striplay.doubts import examples
from striplay.economics.by_strip import by_strip
from striplay.economics.doubtful import doubtful
from striplay.economics.edges import Estimate, edge_table
from striplay.economics.others import alone, swapped
from striplay.economics.pay import STRIPS, SWAPPED, Pay
from striplay.economics.system import Field, system_of
from striplay.economics.variant import Variant, margin_range
from striplay.economics.widths import Widths, widths_of
from striplay.economics.worth import Worth, worths_of
from striplay.errors import PlanError
from striplay.files.edge_table import published_edges
from striplay.flow import lay_on_ground
from striplay.laid_plan import Layout
from striplay.layout.blocks import one_block
from striplay.plan.models import Plan
from striplay.plan.money import EdgeWish
from striplay.section.section import Section
from striplay.section.systems import sections_of
from striplay.section.yield_shares import yield_shares

_log = logging.getLogger(__name__)


def pay(layout: Layout) -> Pay:
    """Say what a layout leaves, beside each crop alone, the farm's rotation and blocks.

    What it is held against is laid on the same field with the same machines and driven too.

    Args:
        layout: of a plan whose crops have yields and prices.

    Raises:
        PlanError: a yield, a price or another figure that is missing; all of them at once.
    """
    plan, laid = layout.plan, layout.laid
    worths = worths_of(plan, layout.section)
    edges = edge_table(plan, published_edges())
    field = field_of(layout)
    system = system_of(field, edges, STRIPS)
    crops = [crop for crop in system.crops if crop in worths]
    crops += [crop for crop in plan.economics.rotation or {} if crop not in crops]
    lone = {crop: _variant(alone(plan, laid, crop), layout, f"{crop} alone") for crop in crops}
    turned = swapped(plan, laid)
    second = None if turned is None else _variant(turned, layout, SWAPPED)
    return Pay(
        plan=plan,
        worths=worths,
        edges=edges,
        system=system,
        alone=lone,
        strips=tuple(by_strip(field, edges, system, worths)),
        widths=_widths(layout, worths),
        swapped=second,
        together=_together(layout, worths),
        notices=(*examples(plan), *doubtful(plan, worths)),
    )


def check_told(plan: Plan) -> None:
    """Check, before anything is laid, that a plan says what `pay` needs.

    Raises:
        PlanError: as `pay`.
    """
    worths_of(plan, sections_of(plan)[0])


def pay_if_told(layout: Layout) -> Pay | None:
    """Say likewise what a layout leaves; None where the plan does not state all that needs."""
    try:
        worths_of(layout.plan, layout.section)
    except PlanError:
        return None
    return pay(layout)


def margin_of(layout: Layout) -> Estimate:
    """Say what a layout leaves, with edges at their least, middle and most; nothing else is laid.

    Raises:
        PlanError: as `pay`.
    """
    worths = worths_of(layout.plan, layout.section)
    edges = edge_table(layout.plan, published_edges())
    return margin_range(system_of(field_of(layout), edges, STRIPS), worths)


def field_of(layout: Layout) -> Field:
    """Give of a layout what money needs."""
    areas_m2 = layout.areas_m2
    return Field(
        plan=layout.plan,
        laid=layout.laid,
        figures=layout.figures,
        operations=layout.operations,
        strips_m2=areas_m2["strips"],
        headland_m2=areas_m2["headland"],
    )


def _variant(plan: Plan, layout: Layout, name: str) -> Variant:
    """Lay a plan on a layout's ground, and reckon it."""
    _log.info("laying %s, to hold the strips against", name)
    other = lay_on_ground(plan, layout.ground)
    return system_of(field_of(other), edge_table(plan, published_edges()), name)


def _together(layout: Layout, worths: dict[str, Worth]) -> tuple[str, ...]:
    """Name the crops that share ground with another and are harvested."""
    shares = yield_shares(layout.plan, layout.section)
    return tuple(dict.fromkeys(layer.crop for layer, share in shares.items()
                               if share != 1.0 and layer.crop in worths))  # fmt: skip


def _widths(layout: Layout, worths: dict[str, Worth]) -> Widths | None:
    """Hold widths beside each other, on straight rows of one block whose strips are one crop's."""
    _log.info("weighing strip widths")
    return _held(layout, layout.plan, layout.section, worths)


def widths_by(layout: Layout, edges: Sequence[EdgeWish]) -> Widths | None:
    """Hold widths beside each other by gains of edges that are given; a trial's checks left out.

    Args:
        layout: of a plan whose crops have yields and prices.
        edges: what rows at edges gain.

    Returns:
        None where there is but one width, or rows that can't be held so, as in `pay`.

    Raises:
        PlanError: a yield, a price or another figure that is missing.
    """
    plan = layout.plan.without_trial.model_copy(update={"edges": tuple(edges)})
    section = layout.section.plain
    return _held(layout, plan, section, worths_of(plan, section))


def _held(layout: Layout, plan: Plan, section: Section, worths: dict[str, Worth]) -> Widths | None:
    """Hold widths beside each other at the heading that is laid."""
    choice = layout.laid.blocks[0].choice
    if choice is None or plan.row_set is not None or len(layout.laid.blocks) > 1:
        return None
    edges = edge_table(plan, published_edges())
    block = one_block(plan, layout.ground)
    return widths_of(plan, section, block, choice, edges, worths, layout.areas_m2["strips"])
