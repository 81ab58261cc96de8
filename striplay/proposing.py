"""Say what a season's records speak for next season: rates, edges, width and heading."""

from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import permutations

from striplay.columns import STORE_FILE
from striplay.economics.widths import WidthMargin, Widths
from striplay.errors import PlanError, YieldError
from striplay.laid_plan import Layout
from striplay.paying import widths_by
from striplay.recording import Records, open_records
from striplay.records.analysis import LEVEL
from striplay.records.land_ratio import land_ratio
from striplay.records.plots_recorded import plots_of_trial, shares_of_trial
from striplay.records.proposals import FEWEST, Measured, Proposal, measured_edges, proposals
from striplay.records.turned import Turned, turned
from striplay.records.yields import YieldOf, stands_of, yields_of
from striplay.section.trial import STRIPS
from striplay.units import format_length, said


@dataclass(frozen=True, slots=True)
class Proposed:
    """What records speak for; nothing of it is put into any plan.

    Attributes:
        changes: that next season's plan might have, each with its reason and evidence.
        untold: of width and heading, why the records can't tell.
    """

    changes: tuple[Proposal, ...] = ()
    untold: tuple[str, ...] = ()


def proposed_beside(layout: Layout) -> Proposed:
    """Give what the records beside a layout's plan speak for; nothing without any.

    Raises:
        StoreError: the store can't be used.
    """
    if not (layout.plan.path.parent / STORE_FILE).exists():
        return Proposed()
    with open_records(layout.plan, make=False, layout=layout) as records:
        return proposed_from(layout, records)


def proposed_from(layout: Layout, records: Records) -> Proposed:
    """Give what records speak for.

    Args:
        layout: the season's plan, laid.
        records: of the same plan.
    """
    plan, recorded = layout.plan, records.recorded()
    yields = yields_of(recorded, records.edition)
    ratio = None
    if plan.trial is not None:
        with suppress(YieldError):  # too little is recorded for a ratio
            plots = plots_of_trial(yields, layout.laid)
            ratio = land_ratio(plots, STRIPS, shares_of_trial(layout.section)[STRIPS])
    changes = [*proposals(plan, records.edition, stands_of(recorded), yields, ratio)]
    if not yields:
        return Proposed(tuple(changes))
    wider, why_width = _width(layout, yields)
    headed, why_heading = turned(yields, _blocks(layout))
    return Proposed((*changes, *wider, *headed), (*why_width, *why_heading, *_sun(layout, headed)))


def _blocks(layout: Layout) -> dict[int, Turned]:
    """Say in which block each strip lies, and which way that runs; none of curves."""
    return {
        number: Turned(index, block.heading_deg)
        for index, block in enumerate(layout.laid.blocks)
        if block.choice is not None
        for number in block.strip_number.tolist()
    }


def _sun(layout: Layout, headed: Sequence[Proposal]) -> Iterator[str]:
    """Say what of shade is known besides, where no heading is proposed."""
    if headed or len(layout.laid.blocks) > 1 or layout.plan.curved:
        return
    for judged in layout.pairs:
        if judged.about == "height":
            told = f"{judged.said} ({judged.source})"
            yield f"heading, by sun and shade alone, which say nothing of yields: {told}"


def _width(
    layout: Layout, yields: Sequence[YieldOf]
) -> tuple[tuple[Proposal, ...], tuple[str, ...]]:
    """Propose the width that pays best by the gains that were measured, or say why none."""
    found = measured_edges(layout.plan, yields)
    if not found:
        why = (
            f"width: rows at the edge and inside were not weighed in {FEWEST} strips of a crop, so "
            "what another width gains is not measured; a width is judged where two crops are grown"
        )
        return (), (why,)
    own = {(one.edges.crop, one.edges.beside) for one in found}
    kept = [one for one in layout.plan.edges if (one.crop, one.beside) not in own]
    try:
        widths = widths_by(layout, [*(one.edges for one in found), *kept])
    except PlanError:
        why = (
            "width: gains at edges are measured, but what they are worth is not known without "
            "yield and price of each crop; striplay pay says what else it asks for"
        )
        return (), (why,)
    if widths is None:
        return (), ("width: no other set of strips in the same ratio fits all machines",)
    lacking = _unmeasured(layout, own)
    if lacking:
        why = (
            f"width: of {' and '.join(lacking)} nothing is measured, nor stated under [[edges]]; "
            "by one crop's gains alone no width is proposed, since the other may lose as much"
        )
        return (), (why,)
    return _wider(layout, widths, found)


def _unmeasured(layout: Layout, measured: Collection[tuple[str, str]]) -> list[str]:
    """Name the pairs of crops side by side whose edges are neither measured nor stated."""
    known = {*measured, *((one.crop, one.beside) for one in layout.plan.edges)}
    labels = layout.section.plain.labels
    return [
        f"{crop} beside {beside}"
        for crop, beside in permutations(labels, 2)
        if (crop, beside) not in known
    ]


def _wider(
    layout: Layout, widths: Widths, found: Sequence[Measured]
) -> tuple[tuple[Proposal, ...], tuple[str, ...]]:
    """Propose the best width where it leaves more with the gains at either end too."""
    laid = next(one for one in widths.each if one.laid)
    best = max(widths.each, key=lambda one: (_left(one)[1], -one.width_m))
    strips = ", ".join(f"{one.edges.crop} {one.strips}" for one in found)
    if best is laid:
        said_of = "leave most of those that fit all machines, by the gains measured"
        return (), (f"width: strips as laid, {_named(layout, laid)}, {said_of} (strips: {strips})",)
    more = [one - other for one, other in zip(_left(best), _left(laid), strict=True)]
    least, most = said(min(more)), said(max(more))
    told = (
        f"{said(more[1])} more a year on the whole field, {least} to {most} as the gains measured "
        f"reach over their {LEVEL:.0%} intervals; rows weighed in so many strips: {strips}"
    )
    if min(more) <= 0.0:
        why = (
            f"width: {_named(layout, best)} would leave {told}; so it may be none, and nothing is "
            "proposed"
        )
        return (), (why,)
    return (
        Proposal(
            f"[[strips]] {_named(layout, best)}",
            f"by the gains measured at edges it leaves more than {_named(layout, laid)}, turns and "
            "partial passes counted",
            told,
        ),
    ), ()


def _left(one: WidthMargin) -> tuple[float, float, float]:
    """Give what a width leaves with edges at their least, middle and most."""
    edges = one.edges
    return tuple(at - one.extra_cost for at in (edges.low, edges.central, edges.high))  # type: ignore[return-value]


def _named(layout: Layout, one: WidthMargin) -> str:
    """Name the strips of a set with their widths, as a plan states them."""
    units = layout.plan.units
    return ", ".join(
        f'crop = "{crop}" width = "{format_length(width_m, units)}"'
        for crop, width_m in zip(one.crops, one.widths_m, strict=True)
    )
