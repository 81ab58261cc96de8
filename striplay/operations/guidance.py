"""Turn an operation's passes into guide lines: straight lines, curves and circles to steer by.

A guide line stands for one pass and is steered along as it is drawn. Where the passes of a block
lie side by side, each its machine's width from the next, one line stands for them all: repeated at
that width it is every one of them. It does not where what is planted tells which way each is
driven.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.route import Route
from striplay.tolerances import AS_STEERED_M, LENGTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Kind = Literal["straight", "curve", "circle"]


@dataclass(frozen=True)
class GuideLine:
    """A line to steer by.

    Attributes:
        kind: straight; a curve; or a circle about a center, or part of one.
        line: as its first pass is driven, on the local plane; of a curve, no more vertices than
            keep it true.
        passes: the passes it stands for, as indices in the order driven.
        width_m: of the machine.
        left: how many times it is repeated to its left, at the machine's width.
        right: likewise to its right.
        center_m: of a circle; None of others.
        radius_m: of a circle; 0 of others.
        clockwise: which way round a circle is driven, seen from above.
        closed: whether it comes back to where it began.
    """

    kind: Kind
    line: shapely.LineString
    passes: tuple[int, ...]
    width_m: float
    left: int = 0
    right: int = 0
    center_m: tuple[float, float] | None = None
    radius_m: float = 0.0
    clockwise: bool = False
    closed: bool = False

    @property
    def repeated(self) -> bool:
        """Whether one line stands for several passes side by side."""
        return self.left + self.right > 0


def guide_lines_of(
    route: Route, center_m: tuple[float, float] | None = None
) -> tuple[GuideLine, ...]:
    """Give the guide lines of an operation, in the order that their first pass is driven.

    Args:
        route: the operation as it is driven.
        center_m: the pivot that passes run round, on the local plane; None where they do not.
    """
    found: list[GuideLine] = []
    alone = np.ones(len(route), dtype=bool)
    either_way = ~np.concatenate([group.only_so for group in route.groups])
    for block in np.unique(route.block).tolist():
        mine = np.flatnonzero((route.block == block) & (route.place == "strips"))
        if not either_way[mine].all():
            continue
        whole = _repeated(route, mine)
        if whole is not None:
            found.append(whole)
            alone[mine] = False
    found += [_single(route, index, center_m) for index in np.flatnonzero(alone).tolist()]
    return tuple(sorted(found, key=lambda one: one.passes[0]))


def swaths_of(guide: GuideLine) -> Iterator[shapely.LineString]:
    """Give the lines that a straight guide line stands for, from its leftmost to its rightmost."""
    a_m, b_m = shapely.get_coordinates(guide.line)
    ahead = (b_m - a_m) / np.hypot(*(b_m - a_m))
    to_right = np.array([ahead[1], -ahead[0]])
    for number in range(-guide.left, guide.right + 1):
        yield shapely.LineString(np.array([a_m, b_m]) + number * guide.width_m * to_right)


def _repeated(route: Route, mine: Integers) -> GuideLine | None:
    """Give one line for passes that it would be, repeated at the machine's width; None if none."""
    if len(mine) < 2:  # noqa: PLR2004 - one is a line of its own
        return None
    points = [_straightened(line) for line in route.line[mine]]
    if any(len(each) != 2 for each in points):  # noqa: PLR2004 - both ends
        return None
    ends = np.array(points)
    ahead = ends[0, 1] - ends[0, 0]
    ahead /= np.hypot(*ahead)
    off = ends - ends[0, 0]
    right_m = off[..., 0] * ahead[1] - off[..., 1] * ahead[0]
    # terminals repeat a line at a width in whole millimeters
    width_m = round(route.width_m, 3)
    number = np.round(right_m[:, 0] / width_m).astype(np.int64)
    if np.abs(right_m - number[:, None] * width_m).max() > AS_STEERED_M:
        return None
    present = np.unique(number)
    if len(present) < 2 or len(present) != present[-1] - present[0] + 1:  # noqa: PLR2004 - as above
        return None
    return GuideLine(
        kind="straight",
        line=shapely.LineString(ends[0]),
        passes=tuple(mine.tolist()),
        width_m=width_m,
        left=int(-present[0]),
        right=int(present[-1]),
    )


def _single(route: Route, index: int, center_m: tuple[float, float] | None) -> GuideLine:
    """Give the line of one pass."""
    line = route.line[index]
    points = shapely.get_coordinates(shapely.remove_repeated_points(line, LENGTH_M))
    closed = bool(np.hypot(*(points[-1] - points[0])) <= AS_STEERED_M)
    straight = _straightened(line)
    if len(straight) == 2:  # noqa: PLR2004 - both ends
        return GuideLine("straight", shapely.LineString(straight), (index,), route.width_m)
    curve = shapely.LineString(straight)
    if center_m is not None:
        from_center = points - np.array(center_m)
        radii_m = np.hypot(*from_center.T)
        radius_m = float((radii_m.min() + radii_m.max()) / 2)
        if np.ptp(radii_m) <= AS_STEERED_M:
            (x, y), (next_x, next_y) = from_center[:2]
            clockwise = bool(x * next_y - y * next_x < 0)
            return GuideLine(
                kind="circle",
                line=curve,
                passes=(index,),
                width_m=route.width_m,
                center_m=center_m,
                radius_m=radius_m,
                clockwise=clockwise,
                closed=closed,
            )
    return GuideLine("curve", curve, (index,), route.width_m, closed=closed)


def _straightened(line: shapely.LineString) -> Floats:
    """Give the vertices of a line that keep it true, its ends first and last."""
    kept = shapely.get_coordinates(shapely.simplify(line, AS_STEERED_M))
    return np.asarray(kept, dtype=np.float64)
