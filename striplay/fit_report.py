"""Say what fits the machines in short tables that a person reads, or as data for scripts."""

from dataclasses import asdict
from typing import Any

from striplay.plan.models import Plan
from striplay.section.fit import StripFit, counted
from striplay.section.row_set_offers import RowSetOffer
from striplay.section.row_units import written as written_units
from striplay.section.sequence import said_of_swap
from striplay.section.sets import SetFit, missed, share_cure
from striplay.units import UnitSystem, format_length

WIDTHS_SHOWN = 6
"""Widths shown for a crop; the rest stand in the JSON."""

RowSetFit = list[tuple[str, StripFit]]
"""The strips of a plan's row set in order, each with its crop; none without one."""


def fit_data(
    crops: dict[str, list[StripFit]],
    sets: list[SetFit],
    row_set: RowSetFit,
    offers: list[RowSetOffer],
) -> dict[str, Any]:
    """Give a fit as data: widths by crop, sets and row sets, best first, and the plan's row set."""
    strips = [{"crop": crop, **asdict(fit)} for crop, fit in row_set]
    return {
        "crops": {name: [asdict(fit) for fit in fits] for name, fits in crops.items()},
        "sets": [
            {
                "strips": [
                    {"crop": crop, "rows": fit.rows, "width_m": fit.width_m}
                    for crop, fit in zip(found.crops, found.strips, strict=True)
                ],
                "shares": found.shares,
                "width_m": found.width_m,
                "equal_widths": found.equal,
            }
            for found in sets
        ],
        "row_sets": [
            {
                "planter": offer.planter,
                "units": written_units(offer.units),
                "strips": [{"crop": crop, **asdict(fit)} for crop, fit in offer.strips],
                "planter_passes": offer.planter_passes,
                "separate_passes": offer.separate_passes,
            }
            for offer in offers
        ],
        **({"row_set": strips} if strips else {}),
    }


def fit_report(
    plan: Plan,
    crops: dict[str, list[StripFit]],
    sets: list[SetFit],
    row_set: RowSetFit,
    offers: list[RowSetOffer],
) -> list[str]:
    """Report the plan's row set strip by strip, best sets, row sets, and widths of each crop."""
    lines = []
    if row_set:
        lines.append("the plan's row set, strip by strip")
        lines += [_fit_line(f"{name} {_width(fit, plan.units)}", fit) for name, fit in row_set]
    lines += [*_best_set_lines(plan, sets), *_offer_lines(plan, offers)]
    for name, fits in crops.items():
        lines.append(f"{name}, by how well its own machines are used, best first")
        lines += [_fit_line(_width(fit, plan.units), fit) for fit in fits[:WIDTHS_SHOWN]]
        if len(fits) > WIDTHS_SHOWN:
            lines.append(f"  and {len(fits) - WIDTHS_SHOWN} more widths; --json lists them all")
    return lines


def _best_set_lines(plan: Plan, sets: list[SetFit]) -> list[str]:
    """List the best sets, and say of the first whether crops can swap and what shares it misses."""
    if not sets:
        return ["sets: no combination fits in whole passes"]
    lines = ["sets, best first"]
    for found in sets:
        parts = " + ".join(
            f"{crop} {_width(fit, plan.units)}"
            for crop, fit in zip(found.crops, found.strips, strict=True)
        )
        shares = ", ".join(f"{crop} {share:.0%}" for crop, share in found.shares.items())
        lines.append(f"  {parts} = {format_length(found.width_m, plan.units)} ({shares})")
    best, wished = sets[0], plan.wished_shares
    said = said_of_swap(plan, best.crops, [strip.width_m for strip in best.strips])
    off = [
        f"{crop} is {share:.0%} of the strips' land, wished {wished[crop]:.0%}"
        for crop, share in best.shares.items()
        if missed(share, wished.get(crop))
    ]
    lines.append(f'  rows = "fit" takes the first{f"; {said}" if said else ""}')
    if off:
        cure = share_cure(plan, [strip.width_m for strip in best.strips])
        lines.append(f"  of the first, {', '.join(off)}; {cure}")
    if plan.headland_crop is not None:
        lines.append(f"  the headland adds to {plan.headland_crop}: `lay` says by how much")
    return lines


def _offer_lines(plan: Plan, offers: list[RowSetOffer]) -> list[str]:
    """List row sets that make equal strips, and what planter passes they take or save."""
    if not offers:
        return []
    planter = f'planter = "{offers[0].planter}"'
    lines = [f"row sets that make equal strips back and forth, best first; [[row_set]], {planter}"]
    for offer in offers[:WIDTHS_SHOWN]:
        set_m = offer.width_m * len(offer.strips)
        passes = counted(offer.planter_passes, "planter pass")
        said = (
            "as many as separate strips take"
            if offer.planter_passes == offer.separate_passes
            else f"where separate strips take {offer.separate_passes}"
        )
        straddling = "".join(
            f"; {crop}'s header straddles a guess row" for crop in offer.straddling
        )
        strip = _width(offer.strips[0][1], plan.units)
        lines += [
            f'  units = "{written_units(offer.units)}": strips of {strip}',
            f"    {passes} over {format_length(set_m, plan.units)}, {said}{straddling}",
        ]
    return lines


def _fit_line(strip: str, fit: StripFit) -> str:
    return f"  {strip:<21} {'fits' if fit.fits else 'no':<6}{fit.reason}"


def _width(fit: StripFit, units: UnitSystem) -> str:
    width = format_length(fit.width_m, units)
    return width if fit.rows is None else f"{fit.rows} rows, {width}"
