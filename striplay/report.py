"""Say a layout or a fit in a short table that a person reads, or as data for scripts."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from striplay.plan.models import Plan
from striplay.section.fit import StripFit
from striplay.section.sets import SetFit
from striplay.units import UnitSystem, format_area, format_length

WIDTHS_SHOWN = 6
"""Widths shown for a crop; the rest stand in the JSON."""
CROPS_SHOWN = 5
"""Crops shown, so that the report of a layout stays within 15 lines."""
NOTICES_SHOWN = 2
"""Notices shown under a layout; the rest stand in accounts.json."""


def layout_report(plan: Plan, accounts: dict[str, Any]) -> list[str]:
    """Report a layout in at most 15 lines."""
    units = plan.units
    lines = [
        _headline(plan, accounts["field"]["heading_deg"]),
        f"{'':<22}{'strips':>7}{'area':>12}{'seeds':>14}{'seed units':>12}",
    ]
    crops = list(accounts["crops"].items())
    lines += [_crop_line(name, crop, units) for name, crop in crops[:CROPS_SHOWN]]
    if len(crops) > CROPS_SHOWN:
        lines.append(f"  and {len(crops) - CROPS_SHOWN} more crops, in accounts.json")
    planted = accounts["headland_crop"]
    areas = accounts["areas_m2"]
    for name, crop in planted.items():
        lines.append(_crop_line(f"headland, {name}", crop, units))
    bare = ["obstacles", "leftover"] if planted else ["headland", "obstacles", "leftover"]
    lines += [_area_line(name, areas[name], units) for name in bare]
    lines.append(_area_line("field", accounts["field"]["area_m2"], units))
    lines.append(f"passes: {_passes(accounts['passes'])}")
    return lines


def _headline(plan: Plan, heading_deg: float) -> str:
    return (
        f"{plan.title}: heading {heading_deg:.1f} degrees from true north, "
        f"first strip on the {plan.direction.start}"
    )


def _crop_line(name: str, crop: dict[str, Any], units: UnitSystem) -> str:
    strips = str(crop["strips"] or "")
    seeds = "-" if crop["seeds"] is None else f"{crop['seeds']:,}"
    bags = "-" if crop["seed_units"] is None else f"{crop['seed_units']:,}"
    area = format_area(crop["area_m2"], units)
    return f"{name[:21]:<22}{strips:>7}{area:>12}{seeds:>14}{bags:>12}"


def _area_line(name: str, area_m2: float, units: UnitSystem) -> str:
    return f"{name:<29}{format_area(area_m2, units):>12}"


def _passes(passes: Iterable[dict[str, Any]]) -> str:
    return ", ".join(f"{p['operation']} {p['count']} ({p['machine']})" for p in passes)


def notice_lines(notices: list[str]) -> list[str]:
    """Show the first notices, and how many more there are."""
    lines = [f"note: {notice}" for notice in notices[:NOTICES_SHOWN]]
    if len(notices) > NOTICES_SHOWN:
        lines.append(f"note: {len(notices) - NOTICES_SHOWN} more notices stand in accounts.json")
    return lines


def fit_data(crops: dict[str, list[StripFit]], sets: list[SetFit]) -> dict[str, Any]:
    """Give a fit as data: widths by crop and sets, both best first."""
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
            }
            for found in sets
        ],
    }


def fit_report(plan: Plan, crops: dict[str, list[StripFit]], sets: list[SetFit]) -> list[str]:
    """Report the best widths of each crop and the best sets."""
    lines = []
    for name, fits in crops.items():
        lines.append(f"{name}, best first")
        for fit in fits[:WIDTHS_SHOWN]:
            verdict = "fits" if fit.fits else "no"
            lines.append(f"  {_width(fit, plan.units):<22}{verdict:<6}{fit.reason}")
        if len(fits) > WIDTHS_SHOWN:
            lines.append(f"  and {len(fits) - WIDTHS_SHOWN} more widths; --json lists them all")
    lines.append("sets, best first" if sets else "sets: no combination fits in whole passes")
    for found in sets:
        parts = " + ".join(
            f"{crop} {_width(fit, plan.units)}"
            for crop, fit in zip(found.crops, found.strips, strict=True)
        )
        shares = ", ".join(f"{crop} {share:.0%}" for crop, share in found.shares.items())
        lines.append(f"  {parts} = {format_length(found.width_m, plan.units)} ({shares})")
    return lines


def _width(fit: StripFit, units: UnitSystem) -> str:
    width = format_length(fit.width_m, units)
    return width if fit.rows is None else f"{fit.rows} rows, {width}"
