"""Cut ground into trapezoids between its vertices' levels: all chords of all levels at once.

Between two neighbouring levels of vertices no edge begins or ends, so each chord's length is linear
in y. The trapezoids thus give the length, the number and the area of chords at every y exactly, and
tell chords too short to be planted from the others.
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


def split_by_length(slabs: Slabs, shortest_m: float) -> tuple[Slabs, Slabs]:
    """Split trapezoids where their chords pass a length.

    Returns:
        What has chords of at least `shortest_m`, and the rest.
    """
    least = np.minimum(slabs.low_length_m, slabs.high_length_m)
    most = np.maximum(slabs.low_length_m, slabs.high_length_m)
    long, short = least >= shortest_m, most < shortest_m
    if long.all():
        return slabs, _some(slabs, short)
    cut = ~(long | short)
    upper, lower = _cut_by_length(_some(slabs, cut), shortest_m)
    return _joined(_some(slabs, long), upper), _joined(_some(slabs, short), lower)


def _cut_by_length(slabs: Slabs, shortest_m: float) -> tuple[Slabs, Slabs]:
    """Cut trapezoids each of which has chords on both sides of a length."""
    low, high, low_x, high_x, at_low, at_high = slabs
    change = at_high - at_low
    share = np.clip((shortest_m - at_low) / change, 0.0, 1.0)
    rising = change > 0
    cut_m = low + share * (high - low)
    at_cut = at_low + share * change
    cut_x = low_x + share * (high_x - low_x)
    below = Slabs(low, cut_m, low_x, cut_x, at_low, at_cut)
    above = Slabs(cut_m, high, cut_x, high_x, at_cut, at_high)
    # below the cut the chords are short where lengths rise with y, long where they fall
    long_one, long_other = _some(below, ~rising), _some(above, rising)
    short_one, short_other = _some(below, rising), _some(above, ~rising)
    return _joined(long_one, long_other), _joined(short_one, short_other)


def _some(slabs: Slabs, chosen: npt.NDArray[np.bool_]) -> Slabs:
    real = chosen & (slabs.high_m > slabs.low_m)
    return Slabs(*(values[real] for values in slabs))


def _joined(one: Slabs, other: Slabs) -> Slabs:
    return Slabs(*(np.concatenate(pair) for pair in zip(one, other, strict=True)))
