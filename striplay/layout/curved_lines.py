"""Order lines of travel along a curve as they are driven, and join what is driven on over."""

import math

import numpy as np
import numpy.typing as npt
import shapely

from striplay.geometry.curves import Track
from striplay.layout.curved import Curve
from striplay.tolerances import LENGTH_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]


def runs_of_rows(
    track: Track, number: Integers, centre_m: Floats, rows: Geometries
) -> tuple[Integers, Geometries]:
    """Give the runs of passes over rows, each as long as one of its rows goes on.

    Args:
        track: the curve.
        number: the pass over each row, (k,).
        centre_m: distance of that pass's middle from the track, (k,).
        rows: pieces of rows, (k,).

    Returns:
        The number and the line of each run, along the track.
    """
    begin, length = track.spans(rows)
    numbers, lines = [], []
    for one in np.unique(number):
        own = np.flatnonzero(number == one)
        own = own[np.argsort(begin[own], kind="stable")]
        for low, high in _joined(begin[own], begin[own] + length[own], closed=track.closed):
            numbers.append(one)
            lines.append(track.stretch(float(centre_m[own[0]]), low, high))
    return np.array(numbers, dtype=np.int64), np.array(lines, dtype=object)


def _joined(begin: Floats, end: Floats, *, closed: bool) -> list[tuple[float, float]]:
    """Join stretches that reach over each other, given by where they begin; of a ring, angles."""
    reach = np.maximum.accumulate(end)
    first = np.flatnonzero(np.append(True, begin[1:] > reach[:-1] + LENGTH_M))
    runs = list(zip(begin[first].tolist(), reach[np.append(first[1:], len(end)) - 1].tolist(),
                    strict=True))  # fmt: skip
    around = 2 * math.pi
    if closed:
        low, high = runs.pop()
        while runs and high >= runs[0][0] + around - LENGTH_M:
            high = max(high, runs.pop(0)[1] + around)
        runs.append((low, min(high, low + around)))
    return runs


def in_order(
    lines: Geometries, key: Integers, back: Bools | None, curve: Curve
) -> tuple[Integers, Geometries]:
    """Order passes by their line of travel, and along it as they are driven.

    Args:
        lines: the passes, along the track or against it.
        key: the line of travel of each, in order.
        back: whether each is driven against the track, the same along a line of travel; None where
            every second line is.
        curve: what was swept.

    Returns:
        The order, and the passes in that order, as driven.
    """
    if not len(lines):
        return np.empty(0, dtype=np.int64), lines
    _, turn = np.unique(key, return_inverse=True)
    if back is None:
        back = turn % 2 == 1
    middle = shapely.get_coordinates(shapely.line_interpolate_point(lines, 0.5, normalized=True))
    at_m = curve.track.along(middle)
    order = np.lexsort((np.where(back, -at_m, at_m), turn))
    lines, back = lines[order], back[order]
    lines[back] = shapely.reverse(lines[back])
    return order, lines


def driven_on(
    lines: Geometries, line: Integers, through: shapely.Geometry
) -> tuple[Integers, Geometries]:
    """Join passes on the same line of travel where only ground to lift over lies between them.

    Args:
        lines: the passes, each along the track.
        line: which line of travel each runs on.
        through: ground to lift over.

    Returns:
        Which pass was the first of each, and the passes.
    """
    if through.is_empty or len(lines) < 2:  # noqa: PLR2004 - nothing to join
        return np.arange(len(lines)), lines
    beside = shapely.buffer(through, BESIDE_M)
    shapely.prepare(beside)
    first, joined = [], []
    for number in np.unique(line):
        left = np.flatnonzero(line == number).tolist()
        while left:
            first.append(left.pop(0))
            whole, longer = lines[first[-1]], True
            while longer:
                whole, longer = _longer(whole, left, lines, beside)
            joined.append(whole)
    return np.array(first, dtype=np.int64), np.array(joined, dtype=object)


def _longer(
    one: shapely.Geometry, left: list[int], lines: Geometries, beside: shapely.Geometry
) -> tuple[shapely.Geometry, bool]:
    """Join a pass to one of those left, taken off the list; say whether there was one."""
    for other in left:
        joined = _over(one, lines[other], beside)
        if joined is not None:
            left.remove(other)
            return joined, True
    return one, False


def _over(
    one: shapely.Geometry, other: shapely.Geometry, beside: shapely.Geometry
) -> shapely.Geometry | None:
    """Join two lines end to end over ground to lift over; None where other ground lies between."""
    points, more = shapely.get_coordinates(one), shapely.get_coordinates(other)
    for before, after in ((points, more), (more, points)):
        gap = shapely.LineString([before[-1], after[0]])
        if gap.length > LENGTH_M and shapely.covers(beside, gap):
            return shapely.LineString(np.concatenate([before, after]))
    return None


BESIDE_M = 0.5
"""A gap is straight and its pass perhaps curved: so far it may lie beside the ground."""
