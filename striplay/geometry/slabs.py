"""Cut ground into trapezoids between its vertices' levels: all chords of all levels at once.

Between two neighboring levels of vertices no edge begins or ends, so each chord's length is linear
in y. The trapezoids thus give the length, the number and the area of chords at every y exactly, and
tell which chords are long enough to be planted.

Several grounds, such as one turned several ways, may be cut at once: a call costs as much for a few
trapezoids as for many. Each trapezoid then knows its ground by number.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import following

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def _no_numbers() -> Integers:
    return np.empty(0, dtype=np.int64)


@dataclass(frozen=True)
class Slabs:
    """Trapezoids whose sides lie along x.

    Attributes:
        low_m: y of the lower side, (n,).
        high_m: y of the upper side, (n,).
        low_x_m: x where the lower side begins, (n,).
        high_x_m: x where the upper side begins, (n,).
        low_length_m: length of the lower side, (n,).
        high_length_m: length of the upper side, (n,).
        ground: number of the ground each is of, (n,).
    """

    low_m: Floats
    high_m: Floats
    low_x_m: Floats
    high_x_m: Floats
    low_length_m: Floats
    high_length_m: Floats
    ground: Integers = field(default_factory=_no_numbers)

    def __iter__(self) -> Iterator[Floats]:
        yield self.low_m
        yield self.high_m
        yield self.low_x_m
        yield self.high_x_m
        yield self.low_length_m
        yield self.high_length_m

    @property
    def area_m2(self) -> float:
        """Their area together."""
        return float(self.areas_m2(1 + int(self.ground.max(initial=0))).sum())

    def areas_m2(self, grounds: int) -> Floats:
        """Their area by ground, (grounds,)."""
        mean_m = (self.low_length_m + self.high_length_m) / 2
        areas_m2 = mean_m * (self.high_m - self.low_m)
        return np.bincount(self.ground, areas_m2, grounds).astype(np.float64)

    def between(self, low_m: Floats | float, high_m: Floats | float) -> "Slabs":
        """Give what of them lies between two levels, the same or for each its own."""
        low, high, low_x_m, high_x_m, low_length_m, high_length_m = self
        begin, finish = np.maximum(low, low_m), np.minimum(high, high_m)
        height = high - low
        at_begin, at_finish = (begin - low) / height, (finish - low) / height
        shift, growth = high_x_m - low_x_m, high_length_m - low_length_m
        cut = Slabs(
            begin,
            finish,
            low_x_m + at_begin * shift,
            low_x_m + at_finish * shift,
            low_length_m + at_begin * growth,
            low_length_m + at_finish * growth,
            self.ground,
        )
        return _some(cut, finish > begin)


def slabs_of(start: Floats, end: Floats) -> Slabs:
    """Cut ground into trapezoids.

    Args:
        start: where each edge of the ground begins, (n, 2), ring by ring, turned so that travel
            runs along x.
        end: where each ends, (n, 2).
    """
    none = np.zeros(len(start), dtype=np.int64)
    after = following(np.any(end[:-1] != start[1:], axis=1)) if len(start) else none
    return slabs_through(start, after, none)


def slabs_through(points: Floats, after: Integers, ground: Integers) -> Slabs:
    """Cut grounds into trapezoids.

    Args:
        points: vertices, (n, 2), turned so that travel runs along x.
        after: index of the vertex to which an edge runs from each, ground on its left, (n,).
        ground: number of the ground each is of, (n,).
    """
    x0, y0 = np.ascontiguousarray(points.T)
    x1, y1 = x0[after], y0[after]
    stacked = one_above_the_other(y0, ground)
    order = np.argsort(stacked)
    stacked = stacked[order]
    new = np.append(True, stacked[1:] > stacked[:-1])[: len(order)]
    levels, of_level = y0[order[new]], ground[order[new]]
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.cumsum(new) - 1
    to = place[after]
    first = np.minimum(place, to)
    count = np.maximum(place, to) - first
    edge = np.repeat(np.arange(len(x0)), count)
    slab = np.arange(len(edge)) - (np.cumsum(count) - count)[edge] + first[edge]
    # by shares of the edge, which stay between 0 and 1 however flat it lies
    per_rise = (1.0 / np.where(y1 == y0, 1.0, y1 - y0))[edge]
    from_x, from_y, across = x0[edge], y0[edge], (x1 - x0)[edge]
    low_x = from_x + across * np.clip((levels[slab] - from_y) * per_rise, 0.0, 1.0)
    high_x = from_x + across * np.clip((levels[slab + 1] - from_y) * per_rise, 0.0, 1.0)
    middle_x = low_x + high_x
    span = 2.0 * (np.ptp(x0) + 1.0) if len(x0) else 1.0
    order = np.argsort(slab * span + middle_x - 2.0 * np.min(x0, initial=np.inf))
    left, right = order[::2], order[1::2]
    return Slabs(
        levels[slab[left]],
        levels[slab[left] + 1],
        low_x[left],
        high_x[left],
        np.maximum(low_x[right] - low_x[left], 0.0),
        np.maximum(high_x[right] - high_x[left], 0.0),
        of_level[slab[left]],
    )


def one_above_the_other(y_m: Floats, ground: Integers) -> Floats:
    """Shift levels so that each ground's lie above those of all grounds before it.

    Only to sort them: far from 0 a level loses digits.

    Args:
        y_m: the levels, (n,).
        ground: number of the ground each is of, (n,).
    """
    span_m = np.ptp(y_m) + 1.0 if len(y_m) else 1.0
    return np.asarray(y_m + ground * span_m)


def with_chords_of(slabs: Slabs, shortest_m: float) -> Slabs:
    """Give what of trapezoids has chords of at least a length."""
    long = np.minimum(slabs.low_length_m, slabs.high_length_m) >= shortest_m
    if long.all():
        return slabs
    cut = ~long & (np.maximum(slabs.low_length_m, slabs.high_length_m) >= shortest_m)
    kept = _some(slabs, long)
    if not cut.any():
        return kept
    low, high, low_x, high_x, at_low, at_high = (values[cut] for values in slabs)
    change = at_high - at_low
    share = np.clip((shortest_m - at_low) / change, 0.0, 1.0)
    # they are long above the cut where lengths grow with y, below it where they shrink
    grows = change > 0
    cut_m, cut_x, at_cut = (
        one + share * (other - one)
        for one, other in ((low, high), (low_x, high_x), (at_low, at_high))
    )
    part = Slabs(
        np.where(grows, cut_m, low),
        np.where(grows, high, cut_m),
        np.where(grows, cut_x, low_x),
        np.where(grows, high_x, cut_x),
        np.where(grows, at_cut, at_low),
        np.where(grows, at_high, at_cut),
        slabs.ground[cut],
    )
    return _joined(kept, _some(part, part.high_m > part.low_m))


def _some(slabs: Slabs, chosen: npt.NDArray[np.bool_]) -> Slabs:
    return _made_of((values[chosen] for values in slabs), slabs.ground[chosen])


def _joined(one: Slabs, other: Slabs) -> Slabs:
    both = (np.concatenate(pair) for pair in zip(one, other, strict=True))
    return _made_of(both, np.concatenate([one.ground, other.ground]))


def _made_of(values: Iterable[Floats], ground: Integers) -> Slabs:
    low_m, high_m, low_x_m, high_x_m, low_length_m, high_length_m = values
    return Slabs(low_m, high_m, low_x_m, high_x_m, low_length_m, high_length_m, ground)
