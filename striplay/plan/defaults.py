"""Hold the numbers a plan takes where a key is left out, each with where it is from.

They are filled in when a plan is read: a `Plan` has no None where a number stands here, and nothing
after it looks one up. Worths of nothing, and shares and counts of 1, stand with their keys.
"""

from collections.abc import Mapping
from typing import TypeVar

from striplay.plan.table import Table
from striplay.units import ACRE_M2, FOOT_M, INCH_M, MPH_MPS, POUND_KG, UnitSystem

ByUnits = Mapping[UnitSystem, float]
"""A round number in either system of units; they are near each other, not the same."""
ByWork = Mapping[str, float]
"""A number for machines of each kind, by what they do."""

SHORTEST_M: ByUnits = {"us": 66 * FOOT_M, "metric": 20.0}
"""Shortest piece of row that is planted; our choice."""
BESIDE_M: ByUnits = {"us": 30 * FOOT_M, "metric": 9.0}
"""Widest obstacle without end rows round it; our choice."""
CLEARANCE_M: ByUnits = {"us": 6 * INCH_M, "metric": 0.15}
"""What a platform keeps off the neighbor's first row; our choice."""
WIDEST_M: ByUnits = {"us": 120 * FOOT_M, "metric": 36.0}
"""Widest strip considered where a width is "fit"; our choice."""

WHEEL_CLEARANCE_M = INCH_M
"""Room that a tire needs to a row; our choice."""
NOMINAL_OPENER_M = 0.25
"""Widest spacing of the lines that stand for a drill's openers not given; our choice."""

COST_PER_S: ByWork = {
    "plant": 300 / 3600, "spray": 300 / 3600, "harvest": 400 / 3600, "others": 200 / 3600,
}  # fmt: skip
"""Machine and operator; from memory, by custom rates to the acre times acres an hour (methods)."""
SPEED_MPS: ByWork = {
    "spray": 10 * MPH_MPS, "spread": 10 * MPH_MPS, "harvest": 4 * MPH_MPS, "mow": 7 * MPH_MPS,
    "haul": 10 * MPH_MPS, "others": 5 * MPH_MPS,
}  # fmt: skip
"""Speed at work; from memory."""
TURNING_SPEED_MPS: ByWork = {"spray": 6 * MPH_MPS, "spread": 6 * MPH_MPS, "others": 4 * MPH_MPS}
"""Speed in a turn; from memory."""
TURNING_RADIUS_M: ByWork = {"plant": 30 * FOOT_M, "others": 26 * FOOT_M}
"""Least radius of a turn where it is not stated; from memory."""
REVERSING = ("harvest", "spray")
"""Machines taken to back up at a turn where it is not said: what is not towed."""
REFILL_S: ByWork = {
    "plant": 600.0, "spray": 480.0, "spread": 480.0, "harvest": 180.0, "others": 300.0,
}  # fmt: skip
"""Time to fill or unload; from memory."""
HOURS_A_DAY = 10.0
"""Hours of work on a day; our choice."""
CART_WIDTH_M = 12 * FOOT_M
"""Width of a grain cart; from memory."""
BUSHEL_KG: Mapping[str, float] = {
    crop: pounds * POUND_KG
    for crop, pounds in {
        "corn": 56, "sorghum": 56, "rye": 56, "soybean": 60, "wheat": 60, "barley": 48, "oats": 32,
    }.items()
}  # fmt: skip
"""Weight of a bushel by crop (Ohio State University Extension AGF-503; U.S. Department of
Agriculture)."""
ALSO_CALLED: Mapping[str, str] = {
    "maize": "corn", "soy": "soybean", "oat": "oats", "grain_sorghum": "sorghum",
    "winter_wheat": "wheat", "spring_wheat": "wheat",
}  # fmt: skip
"""Other names of these crops, as the pairing table has them too."""

BASE_MOISTURE: Mapping[str, float] = {
    "corn": 0.155, "soybean": 0.13, "wheat": 0.135, "oats": 0.14,
}  # fmt: skip
"""Moisture that grain is sold at, as a share of weight (Ohio State University Extension
AGF-503)."""


def kind_named(name: str, like: str | None) -> str:
    """Name the kind of crop that one is: what it is like, else its own name.

    >>> kind_named("maize", None), kind_named("our corn", "corn")
    ('corn', 'corn')
    """
    known = name if like is None else like
    return ALSO_CALLED.get(known, known)


MONITOR_DELAY_S = 12.0
"""From the header to a flow sensor at the top of the elevator, 10 to 15 s; from memory."""
MONITOR_START_S, MONITOR_END_S = 12.0, 6.0
"""Flow builds up for so long at the start of a run, and fades at its end; our choice."""
MONITOR_SLOWEST_MPS, MONITOR_FASTEST_MPS = MPH_MPS, 10 * MPH_MPS
"""Below a walk flow and ground do not go together, and no combine harvests faster; our choice."""
MONITOR_FULL = 0.8
"""A header less than four fifths in standing grain is not counted; our choice."""
MONITOR_OUTLIERS = 3.0
"""Three scaled median absolute deviations, as is usual of the Hampel identifier; from memory."""

LAND_PER_M2 = 300 / ACRE_M2
"""What cropped land leaves a year; from memory."""
HEADLAND_LOSS = 0.2
"""Share of that lost on a planted headland; from memory."""
SEED_PER_M2 = 100 / ACRE_M2
"""Seed wasted where ground is planted twice; from memory."""
SPRAY_PER_M2 = 30 / ACRE_M2
"""Product wasted where ground is sprayed twice; from memory."""
SHARE_PER_M2 = 50 / ACRE_M2
"""Cost of land under another crop than wished; our choice."""
EDGE_PER_M2 = 10 / ACRE_M2
"""What rows along a wished edge are worth over rows across it; our choice."""
GAIN = 0.05
"""Share of the cost that blocks must save; our choice."""
EXCESS_PER_M2 = 50 / ACRE_M2
"""Cost of each per cent of grade above the wish; our choice."""


def by_work(numbers: ByWork, does: str) -> float:
    """Give the number of a kind of machine by what it does, or that of the others."""
    return numbers.get(does, numbers["others"])


Some = TypeVar("Some", bound=Table)


def fill_in(table: Some, units: UnitSystem, **left_out: ByUnits) -> Some:
    """Fill in by the plan's units what a table leaves out.

    Args:
        table: as read; its own defaults are those of us units.
        units: the plan's.
        **left_out: what each attribute is where its key is left out.
    """
    unsaid = {
        name: by[units] for name, by in left_out.items() if name not in table.model_fields_set
    }
    return table.model_copy(update=unsaid)
