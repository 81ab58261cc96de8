"""Check what a plan says of a yield monitor's file."""

from striplay.plan.faults import Faults
from striplay.plan.monitor import MonitorSource

UNITS = {
    "flow": ("flow", "flow_unit", "lb/s"),
    "yield": ("yield_column", "yield_unit", "bu/acre"),
    "moisture": ("moisture", "moisture_unit", "%"),
    "width": ("width", "width_unit", "ft"),
    "speed": ("speed", "speed_unit", "mph"),
}
"""Keys of columns that need a unit: their attribute, the unit's, and an example of it."""


def read_monitor(faults: Faults, table: object) -> MonitorSource | None:
    """Read [monitor], and check that it has flow or yield, and a unit where one is needed."""
    found = faults.read(MonitorSource, table, "monitor")
    if found is None:
        return None
    if (found.flow is None) == (found.yield_column is None):
        what = "flow and yield are both" if found.flow is not None else "neither flow nor yield is"
        faults.add("monitor", f"{what} given; name one of these columns, as the sensor's flow")
    for key, (column, unit, example) in UNITS.items():
        there, measured = getattr(found, column) is not None, getattr(found, unit) is not None
        if there and not measured:
            said = f'is missing: the unit of column "{getattr(found, column)}"'
            faults.add(f"monitor.{unit}", f'{said}; for example {unit} = "{example}"')
        elif measured and not there:
            faults.add(
                f"monitor.{unit}", f"there is no {key} to be measured in it; name its column"
            )
    if found.slowest_mps >= found.fastest_mps:
        faults.add("monitor.slowest", "is not below fastest; give the slower speed there")
    return found
