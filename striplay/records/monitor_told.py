"""Say what the user should know of a yield monitor's file, and refuse another field's."""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from striplay.errors import MonitorError
from striplay.geometry.directions import compass
from striplay.ground import Ground
from striplay.notices import Notice
from striplay.operations.under import named
from striplay.plan.monitor import MonitorSource
from striplay.records.monitor_log import MonitorLog
from striplay.records.monitor_place import Placed, Strips
from striplay.records.monitored import RunYield, StripYield
from striplay.tolerances import DELAY_OFF_S, WRONG_FIELD

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
FEW_RUNS, LONG_RUN_S, EMPTY, HALF = 5, 60.0, 0.25, 0.5
"""So many runs of this length tell a delay, of those that begin with less than a quarter of their
usual flow: by when half of it comes."""
NEAR_M = 1000.0
SPARSE = 0.5
"""A strip of which less than half is counted is told (our choice)."""
MOST_LISTED = 5


def check_field(log: MonitorLog, ground: Ground) -> None:
    """Check that points are of a field.

    Raises:
        MonitorError: most lie outside; the message says where, and whether swapping would do.
    """
    if not len(log):
        raise MonitorError(f"{log.source}: no line has all its values; see the columns' names")
    point_m = ground.plane.to_plane(log.lonlat_deg)
    outside = ~_inside(point_m, ground)
    if outside.mean() <= WRONG_FIELD:
        return
    count = f"{np.count_nonzero(outside):,} of its {len(log):,} points lie outside the field"
    swapped = log.lonlat_deg[:, ::-1]
    if (np.abs(swapped[:, 1]) <= 90.0).all():  # noqa: PLR2004 - degrees
        there = _inside(ground.plane.to_plane(swapped), ground)
        if there.mean() > WRONG_FIELD:
            raise MonitorError(
                f"{log.source}: {count}, but inside it with longitude and latitude swapped; swap "
                "the two names under [monitor]"
            )
    middle_m = np.median(point_m[outside], axis=0)
    center_m = shapely.get_coordinates(ground.outline.centroid)[0]
    place = np.median(log.lonlat_deg[outside], axis=0)
    at = f"{place[0]:.5f}, {place[1]:.5f}"
    if not np.isfinite(middle_m).all():  # half a world away, where the plane ends
        raise MonitorError(f"{log.source}: {count}, at {at}; is it of this field?")
    far_m = float(shapely.distance(ground.outline, shapely.Point(middle_m)))
    way = compass(ground.plane.bearings_deg(center_m[None], middle_m[None]))[0]
    distance = f"{far_m / NEAR_M:,.1f} km" if far_m >= NEAR_M else f"{far_m:.0f} m"
    raise MonitorError(
        f"{log.source}: {count}, most about {distance} to the {way}, at {at}; is it of this field?"
    )


def _inside(point_m: Floats, ground: Ground) -> Bools:
    inside = np.zeros(len(point_m), dtype=bool)
    known = np.isfinite(point_m).all(axis=1)
    shapely.prepare(ground.outline)
    inside[known] = shapely.contains_xy(ground.outline, *point_m[known].T)
    return inside


def delay_notices(
    log: MonitorLog, placed: Placed, flow: Floats, mine: Bools, rules: MonitorSource
) -> Iterator[Notice]:
    """Tell where grain comes much sooner or later than the delay says."""
    found = rising_s(log, placed, flow, mine)
    if len(found) < FEW_RUNS:
        return
    seen_s = float(np.median(found))
    if abs(seen_s - rules.wait_s) > DELAY_OFF_S:
        yield Notice(
            "records",
            "mind",
            None,
            f"{log.source}: grain comes about {seen_s:.0f} s after the header enters a strip, on "
            f"{len(found)} runs, and the delay is {rules.wait_s:g} s; see [monitor] delay",
        )


def rising_s(log: MonitorLog, placed: Placed, flow: Floats, mine: Bools) -> Floats:
    """Give how long after its start each run has half its usual flow, of runs that begin empty."""
    found = []
    order = np.flatnonzero(mine)
    order = order[np.argsort(placed.run[order], kind="stable")]
    for points in np.split(order, np.flatnonzero(np.diff(placed.run[order])) + 1):
        if not len(points):
            continue
        since_s = log.time_s[points] - log.time_s[points[0]]
        late = since_s > LONG_RUN_S / 2
        if since_s[-1] < LONG_RUN_S or not late.any():
            continue
        usual = float(np.median(flow[points][late]))
        begins = float(flow[points[0]])
        half = flow[points] >= HALF * usual
        if usual > 0.0 and begins < EMPTY * usual and half.any():
            found.append(float(since_s[np.argmax(half)]))
    return np.array(found)


def run_notices(
    strips: Strips,
    runs: Sequence[RunYield],
    found: Sequence[StripYield],
    mine: Bools,
    over: Sequence[tuple[int, int, int]],
) -> Iterator[Notice]:
    """Tell of runs over two strips or beside planned passes, and of strips hardly counted."""
    if over:
        told = [f"{strip} (lines {first} to {last})" for strip, first, last in over[:MOST_LISTED]]
        more = f" and {len(over) - MOST_LISTED} more" if len(over) > MOST_LISTED else ""
        yield Notice(
            "records", "mind", None,
            f"the header ran over the next strip in strip {', '.join(told)}{more}; "
            "these points are not counted",
        )  # fmt: skip
    numbers = set(strips.number[mine].tolist())
    own = [one for one in runs if one.strip in numbers and one.points]
    astray = sorted({one.strip for one in own if one.pass_number is None})
    if astray:
        yield Notice(
            "records", "know", None,
            f"in {named(astray, 'strips')} the combine did not follow the planned passes; "
            "points there are counted with the header's own width",
        )  # fmt: skip
    few = sorted(one.strip for one in found if one.share < SPARSE)
    if few:
        yield Notice(
            "records", "mind", None,
            f"less than half the ground of {named(few, 'strips')} is counted",
        )  # fmt: skip
    none = sorted(numbers - {one.strip for one in found})
    if none:
        yield Notice("records", "mind", None, f"no point counts in {named(none, 'strips')}")
