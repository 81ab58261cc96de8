"""Hold passes as driven on the path that they follow, and pair them with the rows beside them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.geometry.path import Path

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

WHOLE_RING = 1 - 1e-6
"""A pass over more of a ring than this goes all the way round."""
STEP_M = 1e-3
"""So far aside is looked, to tell which side lies farther across."""


@dataclass(frozen=True)
class OnPath:
    """Passes of a route on their path, in the order driven.

    Attributes:
        across_m: distance across of each, (p,).
        place: of its middle along the path, (p,).
        begin: where it begins along the path, whichever way it is driven, (p,).
        end: where it ends, (p,).
        left: 1 where what is farther across lies to its left as driven, else -1, (p,).
        around: how far along once round is; None where the path does not close.
    """

    across_m: Floats
    place: Floats
    begin: Floats
    end: Floats
    left: Integers
    around: float | None

    @staticmethod
    def of(lines: Geometries, middle: Floats, way: Floats, path: Path) -> "OnPath":
        """Find passes on their path.

        Args:
            lines: as driven, on the local plane, (p,).
            middle: a point of each, (p, 2).
            way: the direction driven there, of length 1, (p, 2).
            path: what they follow.
        """
        across_m = path.across_of(middle)
        place = path.located(middle, across_m)
        begin, end = path.spans(lines, across_m)
        if path.around is not None:  # as far round as the pass lies
            place = begin + (place - begin) % path.around
        aside = middle + STEP_M * np.column_stack([-way[:, 1], way[:, 0]])
        left = np.where(path.across_of(aside) > across_m, 1, -1)
        return OnPath(across_m, place, begin, end, left, path.around)

    @property
    def turns(self) -> tuple[float, ...]:
        """How far along the same place may be met again."""
        return (0.0,) if self.around is None else (-self.around, 0.0, self.around)

    def common(self, of: Integers, begin: Floats, end: Floats) -> tuple[Integers, Floats, Floats]:
        """Give the stretches of rows that lie beside passes.

        Args:
            of: the pass beside each row, (k,).
            begin: where each row begins along the path, (k,).
            end: where it ends, (k,).

        Returns:
            The row of each stretch, and where it begins and ends, (m,).
        """
        row = np.tile(np.arange(len(of)), len(self.turns))
        turn = np.repeat(self.turns, len(of))
        low = np.maximum(begin[row] + turn, self.begin[of[row]])
        high = np.minimum(end[row] + turn, self.end[of[row]])
        met = low < high
        return row[met], low[met], high[met]

    def worked_before(
        self, of: Integers, row_m: Floats, begin: Floats, end: Floats, half_m: float
    ) -> Bools:
        """Tell which stretches of rows lie under a pass driven before another one.

        Args:
            of: the other pass of each stretch, (k,).
            row_m: its distance across, (k,).
            begin: where it begins along the path, (k,).
            end: where it ends, (k,).
            half_m: half the width of the machine.
        """
        under = np.abs(self.across_m - row_m[:, None]) < half_m
        over = np.zeros_like(under)
        for turn in self.turns:
            over |= (self.begin <= begin[:, None] + turn) & (end[:, None] + turn <= self.end)
        if self.around is not None:  # a whole ring has no ends
            over |= self.end - self.begin > self.around * WHOLE_RING
        earlier = np.arange(len(self.place)) < of[:, None]
        return np.asarray((under & over & earlier).any(axis=1))


def pairs_between(row_m: Floats, low_m: Floats, high_m: Floats) -> tuple[Integers, Integers]:
    """Pair bands with the rows that stand in them.

    Args:
        row_m: distance across of each row.
        low_m: lower edge of each band.
        high_m: upper edge.

    Returns:
        The band and the row of each pair.

    >>> band, row = pairs_between(np.array([3.0, 1.0, 2.0]), np.array([0.5, 2.5]),
    ...                           np.array([2.5, 9.0]))
    >>> band.tolist(), row.tolist()
    ([0, 0, 1], [1, 2, 0])
    """
    order = np.argsort(row_m, kind="stable")
    first = np.searchsorted(row_m[order], low_m)
    count = np.searchsorted(row_m[order], high_m) - first
    band = np.repeat(np.arange(len(low_m)), count)
    step = np.arange(len(band)) - np.repeat(np.cumsum(count) - count, count)
    return band, order[first[band] + step]
