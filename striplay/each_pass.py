"""Tell of each pass of the season what tables and operators' sheets hold of it."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.directions import HALF_TURN_DEG, compass
from striplay.ground import Ground
from striplay.laid import Laid
from striplay.operations.judged import Worked
from striplay.tolerances import LENGTH_M

Values: TypeAlias = Any
"""The values of a column: an array of numpy or pandas."""
Geometries = npt.NDArray[np.object_]


def pass_columns(
    ground: Ground, laid: Laid, operations: Sequence[Worked]
) -> list[dict[str, Values]]:
    """Give the columns of each operation's passes, one value a pass in the order driven, (n,).

    Passes of one machine and kind of work are numbered through, from one operation to the next.
    """
    before: dict[tuple[str, str], int] = {}
    found = []
    for worked in operations:
        work = (worked.job.does, worked.job.machine)
        found.append(columns_of_passes(ground, laid, worked, before.get(work, 0)))
        before[work] = before.get(work, 0) + len(worked.route)
    return found


def columns_of_passes(ground: Ground, laid: Laid, worked: Worked, before: int) -> dict[str, Values]:
    """Give the columns of a job's passes, one value for each.

    Args:
        ground: the field.
        laid: the field, swept.
        worked: the job.
        before: passes of this machine and kind of work in jobs before.
    """
    route = worked.route
    strip, piece = np.full((2, len(route)), None, dtype=object)
    for number, block in enumerate(laid.blocks):
        mine = (route.block == number) & (route.owner >= 0)
        strip[mine] = block.strip_number[route.owner[mine]]
        piece[mine] = block.pieces.strips.piece[route.owner[mine]]
    one = {
        "operation": route.job.does,
        "job": route.job.name,
        "machine": route.job.machine,
        "width_m": route.width_m,
    }
    return {
        **{name: np.full(len(route), value, dtype=object) for name, value in one.items()},
        **ends_of(ground, route.line),
        "place": route.place,
        "crop": route.crop,
        "strip": strip,
        "piece": piece,
        "number": before + np.arange(len(route)) + 1,
        "rows_on": route.rows_on,
        "stops_at": route.stops_at,
        "standing_left": worked.beside.left,
        "standing_right": worked.beside.right,
        "fills": worked.fill_words,
    }


def ends_of(ground: Ground, lines: Geometries) -> Mapping[str, Values]:
    """Say where lines start (A) and end (B), and which way they begin, one value a line."""
    lines = shapely.remove_repeated_points(lines, LENGTH_M)
    a_m, b_m, second_m = (
        shapely.get_coordinates(shapely.get_point(lines, index)) for index in (0, -1, 1)
    )
    heading_deg = ground.plane.bearings_deg(a_m, second_m)
    a_deg, b_deg = ground.plane.to_lonlat(a_m), ground.plane.to_lonlat(b_m)
    return {
        "starts": compass((heading_deg + HALF_TURN_DEG) % (2 * HALF_TURN_DEG)),
        "heading_deg": heading_deg,
        "a_longitude": a_deg[:, 0],
        "a_latitude": a_deg[:, 1],
        "b_longitude": b_deg[:, 0],
        "b_latitude": b_deg[:, 1],
    }
