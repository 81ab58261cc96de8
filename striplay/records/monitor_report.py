"""Say what a yield monitor's file comes to: yields by strip, and what was not counted and why."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from striplay.operations.amounts import bushel_kg
from striplay.plan.models import Plan
from striplay.records.measures import format_yield
from striplay.records.monitored import REASONS, Monitored
from striplay.units import format_area

MOST_STRIPS = 40
"""So many strips are listed one by one; all of them are in the JSON and the picture."""


def monitor_report(found: Monitored, plan: Plan) -> Iterator[str]:
    """Say it line by line, for people."""
    kept = found.counted / found.points
    told = f"{found.counted:,} of {found.crop} count ({100 * kept:.0f} %)"
    yield f"{found.source}: {found.points:,} points, {told}"
    if found.dropped:
        yield "not counted:"
        for name, count in sorted(found.dropped.items(), key=lambda one: -one[1]):
            yield f"  {count:>9,} {100 * count / found.points:>5.1f} %  {REASONS[name]}"
    yield f"yield by strip, {_moisture_words(found)}:"
    bushel = bushel_kg(plan, found.crop)
    for one in found.strips[:MOST_STRIPS]:
        wet = "" if one.moisture is None else f", {100 * one.moisture:.1f} % wet"
        yield (
            f"  strip {one.strip}: {format_yield(one.kg_per_m2, bushel, plan.units)} of "
            f"{format_area(one.area_m2, plan.units)} ({100 * one.share:.0f} % of it){wet}"
        )
    if len(found.strips) > MOST_STRIPS:
        yield f"  and {len(found.strips) - MOST_STRIPS} more"
    for notice in found.notices:
        yield f"note: {notice}"


def _moisture_words(found: Monitored) -> str:
    """Say at which moisture yields are told."""
    if found.base_moisture is None:
        return "as the file has it"
    at = f"at {100 * found.base_moisture:g} % moisture"
    measured = any(one.moisture is not None for one in found.strips)
    return at if measured else f"as the file has it, taken to be {at}"


def monitor_data(found: Monitored) -> dict[str, Any]:
    """Give the same for scripts: all values SI."""
    return {
        "source": found.source,
        "crop": found.crop,
        "base_moisture": found.base_moisture,
        "points": found.points,
        "counted": found.counted,
        "dropped": dict(found.dropped),
        "strips": [asdict(one) for one in found.strips],
        "runs": [asdict(one) for one in found.runs],
        "notices": [notice.data for notice in found.notices],
    }
