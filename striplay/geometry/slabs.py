"""Cut ground into trapezoids between its vertices' levels: all chords of all levels at once.

Between two neighboring levels of vertices no edge begins or ends, so each chord's length is linear
in y. The trapezoids thus give the length, the number and the area of chords at every y exactly, and
tell which chords are long enough to be planted.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


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
    """

    low_m: Floats
    high_m: Floats
    low_x_m: Floats
    high_x_m: Floats
    low_length_m: Floats
    high_length_m: Floats

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
        mean_m = (self.low_length_m + self.high_length_m) / 2
        return float(np.sum(mean_m * (self.high_m - self.low_m)))

    def between(self, low_m: float, high_m: float) -> "Slabs":
        """Give what of them lies between two levels."""
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
        )
        return _some(cut, finish > begin)

    def mirrored(self) -> "Slabs":
        """Turn y upside down."""
        low_m, high_m, low_x_m, high_x_m, low_length_m, high_length_m = self
        return Slabs(-high_m, -low_m, high_x_m, low_x_m, high_length_m, low_length_m)


def slabs_of(start: Floats, end: Floats) -> Slabs:
    """Cut ground into trapezoids.

    Args:
        start: where each edge of the ground begins, (n, 2), turned so that travel runs along x.
        end: where each ends, (n, 2).
    """
    (x0, y0), (x1, y1) = start.T, end.T
    levels = np.unique(y0)
    low, high = np.minimum(y0, y1), np.maximum(y0, y1)
    first = np.searchsorted(levels, low)
    count = np.searchsorted(levels, high) - first
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
    )


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
    )
    return _joined(kept, _some(part, part.high_m > part.low_m))


def _some(slabs: Slabs, chosen: npt.NDArray[np.bool_]) -> Slabs:
    return Slabs(*(values[chosen] for values in slabs))


def _joined(one: Slabs, other: Slabs) -> Slabs:
    return Slabs(*(np.concatenate(pair) for pair in zip(one, other, strict=True)))
