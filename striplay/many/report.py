"""Tell what came of many fields in a few lines, or as data."""

from typing import Any

from striplay.many.index import DRIVEN, NOT_DRIVEN, PRICED
from striplay.many.run import Results
from striplay.units import LITERS, format_area, format_load

REFUSED_SHOWN = 6
"""Refused fields that are told one by one."""


def report_of(results: Results) -> list[str]:
    """Tell results in a few lines."""
    template, sums = results.template, results.sums
    units, totals = template.plan.units, sums.totals
    lines = [f"{results.count:,} fields of {template.source}: {sums.told}"]
    if totals["area_m2"]:
        parts = ("strips", "headland", "obstacles", "leftover")
        land = ", ".join(f"{one} {format_area(totals[f'{one}_m2'], units)}" for one in parts)
        lines.append(f"land: {format_area(totals['area_m2'], units)}, of it {land}")
    for crop, known in sums.crops.items():
        seed = ""
        if known["seed_units"]:
            seed = f", {known['seed_units']:,.0f} units of seed, rounded up field by field"
        lines.append(f"{crop}: {format_area(known['area_m2'], units)} in strips{seed}")
    if template.driven:
        diesel = format_load(totals["fuel_l"] / LITERS, "m3", units)
        lines.append(f"hours: {totals['hours_likely']:,.0f}, diesel {diesel}")
    for number, name, reason in sums.refused[:REFUSED_SHOWN]:
        named = "" if name == f"feature {number}" else f' "{name}"'
        lines.append(f"refused: feature {number}{named}: {reason}")
    more = sums.verdicts["refused"] - len(sums.refused[:REFUSED_SHOWN])
    if more > 0:
        lines.append(f"and {more:,} more, in summary.csv")
    lines += [DRIVEN if template.driven else NOT_DRIVEN, PRICED]
    lines += [template.not_counted] if template.not_counted else []
    kept = f"{results.earlier:,} kept from an earlier run" if results.earlier else ""
    if results.fresh:
        rate = results.fresh / max(results.seconds, 1e-9)
        fresh = f"{results.fresh:,} fields laid now, {rate:.1f} a second"
        lines.append(f"{fresh}; {kept}" if kept else fresh)
    elif kept:
        lines.append(f"no field laid now; {kept}")
    return lines


def data_of(results: Results) -> dict[str, Any]:
    """Give results as --json prints them."""
    sums = results.sums
    return {
        "fields": results.count,
        "verdicts": dict(sums.verdicts),
        "refused": [
            {"number": number, "field": name, "reason": reason}
            for number, name, reason in sums.refused
        ],
        "totals": dict(sums.totals),
        "crops": {crop: dict(known) for crop, known in sums.crops.items()},
        "notices": [one.data for one in (*results.template.common, *results.notices)],
        "not_counted": results.template.not_counted,
        "operations_judged": results.template.driven,
        "laid_now": results.fresh,
        "kept": results.earlier,
        "seconds": results.seconds,
    }
