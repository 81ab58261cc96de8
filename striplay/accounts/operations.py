"""Account for the season's operations: verdict, passes, ways, time, fuel and fills of each."""

from typing import Any

import shapely

from striplay.operations.judged import Judged, Operations
from striplay.units import HOUR_S, LITERS


def operation_accounts(operations: Operations) -> list[dict[str, Any]]:
    """Account for each operation, in the order done; a figure that is not known is None."""
    return [_account(one) for one in operations.each]


def _account(judged: Judged) -> dict[str, Any]:
    route, job, hours, fuel = judged.route, judged.job, judged.hours, judged.fuel
    return {
        "name": job.name,
        "operation": job.does,
        "machine": job.machine,
        "crop": " + ".join(dict.fromkeys(job.crops)),
        "day": None if job.day is None else job.day.isoformat(),
        "verdict": judged.answer,
        "reason": judged.reason,
        "passes": len(route),
        "worked_km": float(route.worked_m.sum()) / KM,
        "driven_km": float(shapely.length(route.line).sum() + route.links.length_m.sum()) / KM,
        "between_km": float(route.links.length_m.sum()) / KM,
        "side_by_side_km": route.beside_m / KM,
        "turns": int(hours.turn.sum()),
        "area_worked_m2": float(route.area_m2.sum()),
        "hours": hours.total_s / HOUR_S,
        "hours_likely": hours.likely_s / HOUR_S,
        "hours_at_work": float(hours.worked_s.sum()) / HOUR_S,
        "hours_turning": hours.turning_s / HOUR_S,
        "hours_driving": hours.driving_s / HOUR_S,
        "hours_filling": hours.fill_s / HOUR_S,
        "hours_on_headland": hours.headland_s / HOUR_S,
        "capacity_m2_per_s": hours.capacity_m2_per_s,
        "efficiency": hours.efficiency,
        "fuel_l": None if fuel is None else fuel.m3 * LITERS,
        "fuel_low_l": None if fuel is None else fuel.low_m3 * LITERS,
        "fuel_high_l": None if fuel is None else fuel.high_m3 * LITERS,
        "fills": None if judged.fills is None else judged.fills.count,
        "notices": [notice.text for notice in judged.notices],
    }


KM = 1000.0
"""Meters to a kilometer."""


def week_accounts(operations: Operations) -> list[dict[str, Any]]:
    """Account for the hours asked of each machine, by week; None the week of jobs without a day."""
    return [
        {
            "machine": one.machine,
            "week": None if one.week is None else "{}-W{:02d}".format(*one.week),
            "hours": one.asked_s / HOUR_S,
            "most_hours": None if one.most_s is None else one.most_s / HOUR_S,
        }
        for one in operations.weeks
    ]
