"""Take the flow step by step: what a step gives can be kept while what follows it changes.

A caller that draws the same field at one heading after another reads the ground once, and sets the
headland inside it once; what lies inside is kept with the ground, and `striplay.flow.lay` on the
same ground profits too::

    ground -> land -> choice -> layout -> figures, passes -> routes

Each value is frozen. `striplay.flow.lay` goes the whole way at once.
"""

from collections.abc import Mapping, Sequence
from datetime import date

from striplay.accounts.count import PieceFigures, count_laid
from striplay.drive import drive as drive_laid
from striplay.drive import route as route_laid
from striplay.errors import PlanError
from striplay.ground import Ground
from striplay.laid import Laid, best_of, sweep_by
from striplay.layout.blocks import FieldBlock, one_block
from striplay.operations.passes import Passes
from striplay.operations.route import Route
from striplay.plan.models import Plan
from striplay.search.choice import Choice
from striplay.search.headings import stated
from striplay.search.headings import usual as usual_of
from striplay.section.systems import sections_of


def land_of(plan: Plan, ground: Ground) -> FieldBlock:
    """Give the whole field as one block of land, which keeps what lies inside its headland.

    Args:
        plan: its headland; changed costs, heading or strips take another land on the same ground.
        ground: the field, as `read_ground` gives it.

    Raises:
        PlanError: rows along a curve, or blocks: `striplay.flow.lay` lays them.
    """
    faults = []
    if plan.curved:
        faults.append("direction: rows along a curve have no heading to choose; lay them by lay")
    if plan.blocks:
        faults.append("blocks: steps take the field as a whole; lay them by lay, or leave them out")
    if faults:
        raise PlanError(plan.path.name, faults)
    return one_block(plan, ground)


def choose(land: FieldBlock, heading_deg: float | None = None) -> Choice | None:
    """Weigh a heading, or where None search for the best of all, which `striplay.flow.lay` takes.

    The offset is the one the plan states; else the best, at a heading given here too.

    Args:
        land: the land.
        heading_deg: degrees clockwise from true north, 0 up to 180.

    Returns:
        The heading, offset and set, and what they cost a year; None where no strip has room. One
        that is searched is known to give a strip when it is swept.

    Raises:
        PlanError: no strips, or no width that fits.
    """
    plan, section = land.plan, sections_of(land.plan)[0]
    if heading_deg is None:
        return best_of(land, section)
    if plan.direction.offset_m is None:
        free = plan.direction.model_copy(update={"offset_m": "best"})
        plan = plan.model_copy(update={"direction": free})
    choice = stated(plan, section, land, heading_deg)
    return choice if choice.laid else None


def sweep(land: FieldBlock, choice: Choice) -> Laid:
    """Lay strips and rows on land by a choice.

    Raises:
        NoStripError: no strip can be laid by it.
    """
    return sweep_by(land, choice)


def count(land: FieldBlock, laid: Laid) -> PieceFigures:
    """Count area, row length and seed of each piece of strip."""
    return count_laid(laid, land.plan)


def drive(land: FieldBlock, laid: Laid) -> list[Passes]:
    """Drive every machine over a layout, its passes side by side."""
    return drive_laid(land.plan, laid, land.ground)


def route(
    land: FieldBlock,
    laid: Laid,
    driven: Sequence[Passes],
    days: Mapping[tuple[str, str], date] | None = None,
) -> list[Route]:
    """Drive every job of the season from gate to gate, its passes in the order that drives least.

    Args:
        land: its ground and machines.
        laid: the layout.
        driven: every machine's passes, as `drive` gives them.
        days: when each planting and harvest happens, by operation and crop, as far as known.
    """
    return route_laid(land.plan, laid, land.ground, driven, days or {})


def usual(land: FieldBlock) -> Choice:
    """Weigh what farms usually do, to compare with: along the longest edge."""
    return usual_of(land.plan, sections_of(land.plan)[0], land)
