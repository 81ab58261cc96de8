"""Order passes: which one is driven next, and from which end, for the least driving between them.

A pass is entered at one of its two ends and left at the other. So an order is a list of ends
entered, 2i for pass i as drawn and 2i + 1 for it reversed; its pass is left at end ^ 1.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from striplay.operations.reorder import SHUT_M, improved, moved

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

EXACT = 12
"""Up to so many passes every order is weighed; one pass more takes over twice as long."""

WINDOW = 80
"""So many passes in a row are ordered at a time: the solver's time grows faster than they do."""

LONG = 2_000
"""Of more passes in all windows are ordered once, by moves alone: of 5,000 the solver took 25 s a
job, for an order that nobody drives in one go."""

SKIPS = 12
"""Patterns skip up to so many passes: turns are hardly wider than twelve passes."""

GATE = -1
"""Stands for the gate where an end of a pass could stand."""


@dataclass(frozen=True)
class Order:
    """An order to drive passes in.

    Attributes:
        order: passes, the first one driven first, (n,).
        back: whether each of these is driven against its drawing, (n,).
        length_m: driven from the gate, between passes and back to the gate.
        beside: ends entered, one after the other, when passes are driven side by side as given,
            each in the direction that is best then, (n,).
        beside_m: how long that is.
    """

    order: Integers
    back: npt.NDArray[np.bool_]
    length_m: float
    beside: Integers
    beside_m: float


@dataclass(frozen=True)
class _Driving:
    """Driving between ends of passes, as `best_order` is given it; read in place, it may be large.

    Attributes:
        between_m: from the end left to the end entered, (2n, 2n).
        from_m: from the gate, (2n,).
        to_m: to the gate, (2n,).
        shut_m: `SHUT_M` for an end at which a pass may not be entered, else 0, (2n,).
    """

    between_m: Floats
    from_m: Floats
    to_m: Floats
    shut_m: Floats

    def next_m(self, entered: Integers, following: Integers) -> Floats:
        """Measure from passes entered at some ends to those entered at others."""
        return np.asarray(self.between_m[entered ^ 1, following] + self.shut_m[following])

    def start_m(self, entered: Integers) -> Floats:
        """Measure from the gate."""
        return np.asarray(self.from_m[entered] + self.shut_m[entered])

    def home_m(self, entered: Integers) -> Floats:
        """Measure back to the gate."""
        return np.asarray(self.to_m[entered ^ 1])

    def length_m(self, entered: Integers) -> float:
        """Add up from the gate, between passes and back."""
        between_m = self.next_m(entered[:-1], entered[1:]).sum()
        return float(self.start_m(entered[0]) + between_m + self.home_m(entered[-1]))

    def matrix_m(self, ends: Integers, before: int = GATE, after: int = GATE) -> Floats:
        """Give driving between passes in a row, as `reorder` has it.

        Args:
            ends: of these passes, two by two, (2k,).
            before: the end entered before them.
            after: the end entered after them.
        """
        matrix_m = np.zeros((len(ends) + 1, len(ends) + 1))
        matrix_m[:-1, :-1] = self.next_m(ends[:, None], ends)
        first, last = np.array(before), np.array(after)
        matrix_m[-1, :-1] = self.start_m(ends) if before == GATE else self.next_m(first, ends)
        matrix_m[:-1, -1] = self.home_m(ends) if after == GATE else self.next_m(ends, last)
        return matrix_m


def best_order(
    between_m: Floats,
    from_m: Floats,
    to_m: Floats,
    fixed: npt.NDArray[np.int8],
    of: int = 0,
) -> Order:
    """Give a short order of passes, with the direction of each; the shortest one of up to 12.

    More than 12 are ordered by a solver, which begins with the best of side by side, patterns that
    skip passes, and always the nearest next; so the order is never longer than side by side. Of
    more than 80, so many in a row are ordered at a time along the best of these, and once more with
    rows that begin half-way. What would change the order as a whole is not found then, and may be
    a tenth. Where they are some of over 2,000 they are ordered once, by moves alone. The same input
    gives the same order, for the solver's work is counted, not timed.

    Args:
        between_m: driving from the end at which a pass is left to the end at which one is entered,
            (2n, 2n); 2i is the beginning of pass i as drawn, 2i + 1 its end.
        from_m: driving from the gate to each end, (2n,).
        to_m: driving from each end to the gate, (2n,).
        fixed: 1 for a pass that is driven only as drawn, -1 for one only against it, 0 for either,
            (n,).
        of: how many passes there are in all, where these are some of them.

    Raises:
        ValueError: shapes don't fit, or a length is no finite number, or below 0.
    """
    count = len(fixed)
    _check(between_m, from_m, to_m, count)
    if not count:
        none = np.empty(0, dtype=np.int64)
        return Order(none, none.astype(np.bool_), 0.0, none, 0.0)
    shut = np.column_stack([fixed < 0, fixed > 0]).ravel()
    driving = _Driving(between_m, from_m, to_m, np.where(shut, SHUT_M, 0.0))
    beside = _directed(driving, np.arange(count)[None])[0]
    if count <= EXACT:
        best = _exact(driving.matrix_m(np.arange(2 * count)))
    else:
        best = _windowed(driving, _begun(driving, beside), long=max(count, of) > LONG)
    best = min(beside, best, key=driving.length_m)
    length_m, beside_m = driving.length_m(best), driving.length_m(beside)
    return Order(best // 2, best % 2 == 1, length_m, beside, beside_m)


def _check(between_m: Floats, from_m: Floats, to_m: Floats, count: int) -> None:
    """Refuse lengths that are none, and arrays that don't fit."""
    shapes = (between_m.shape, from_m.shape, to_m.shape)
    if shapes != ((2 * count, 2 * count), (2 * count,), (2 * count,)):
        raise ValueError(f"Lengths between ends of {count} passes don't have the shapes {shapes}.")
    for lengths_m in (between_m, from_m, to_m):
        if lengths_m.size and not 0 <= lengths_m.min() <= lengths_m.max() < np.inf:
            raise ValueError("Every length between ends of passes must be finite, and 0 or more.")


def _exact(matrix_m: Floats) -> Integers:
    """Give the shortest order: for every set of passes driven and every end last entered.

    M. Held and R. M. Karp, A dynamic programming approach to sequencing problems, Journal of the
    Society for Industrial and Applied Mathematics 10, 1962; here a pass has two ends to enter.

    Args:
        matrix_m: driving between passes, as `reorder` has it, (2n + 1, 2n + 1).
    """
    next_m, home_m = matrix_m[:-1, :-1], matrix_m[:-1, -1]
    ends = np.arange(len(home_m))
    count = len(ends) // 2
    sets = np.arange(1 << count)
    shortest_m = np.full((len(sets), len(ends)), np.inf)
    shortest_m[1 << ends // 2, ends] = matrix_m[-1, :-1]
    sizes = (sets[:, None] >> np.arange(count) & 1).sum(axis=1)
    for size in range(1, count):
        driven = sets[sizes == size]
        reach_m = np.full((len(driven), len(ends)), np.inf)
        for end in ends:
            np.minimum(reach_m, shortest_m[driven, end, None] + next_m[end], out=reach_m)
        for one in range(count):
            new = driven >> one & 1 == 0
            both = slice(2 * one, 2 * one + 2)
            shortest_m[driven[new] | 1 << one, both] = reach_m[new, both]
    left, entered = len(sets) - 1, np.empty(count, dtype=np.int64)
    entered[-1] = np.argmin(shortest_m[left] + home_m)
    for place in range(count - 1, 0, -1):
        left ^= 1 << int(entered[place]) // 2
        entered[place - 1] = np.argmin(shortest_m[left] + next_m[:, entered[place]])
    return entered


def _directed(driving: _Driving, orders: Integers) -> Integers:
    """Give the ends to enter for the least driving, for orders of passes, (orders, n)."""
    many, count = orders.shape
    ends = 2 * orders[..., None] + np.arange(2)
    came = np.zeros((count, many, 2), dtype=np.int64)
    so_far_m = driving.start_m(ends[:, 0])
    for place in range(1, count):
        next_m = driving.next_m(ends[:, place - 1, :, None], ends[:, place, None, :])
        reach_m = so_far_m[..., None] + next_m
        came[place] = np.argmin(reach_m, axis=1)
        so_far_m = np.min(reach_m, axis=1)
    chosen = np.argmin(so_far_m + driving.home_m(ends[:, -1]), axis=1)
    every, entered = np.arange(many), np.empty_like(orders)
    for place in range(count - 1, -1, -1):
        entered[:, place] = ends[every, place, chosen]
        chosen = came[place, every, chosen]
    return entered


def _skipping(count: int) -> Iterator[Integers]:
    """Give orders with wide turns, of passes that lie side by side as given.

    Every so manieth pass on the way out, and those left on the ways back and out again; or two
    passes by turns, one so many ahead of the other, in blocks of twice as many.
    """
    every = np.arange(count)
    for skip in range(2, min(SKIPS, count - 1) + 1):
        sweep = every % skip
        yield np.lexsort((np.where(sweep % 2, -every, every), sweep))
        block, within = np.divmod(every, 2 * skip)
        yield np.lexsort((within // skip, within % skip, block))


def _nearest(driving: _Driving) -> Integers:
    """Give the order in which the nearest end not yet driven is always next."""
    ends = np.arange(len(driving.from_m))
    entered = np.empty(len(ends) // 2, dtype=np.int64)
    driven_m, away_m = np.zeros(len(ends)), driving.start_m(ends)
    for place in range(len(entered)):
        end = np.array(np.argmin(away_m + driven_m))
        entered[place] = end
        driven_m[[end, end ^ 1]] = np.inf
        away_m = driving.next_m(end, ends)
    return entered


def _begun(driving: _Driving, beside: Integers) -> Integers:
    """Give the best of the orders that take no search."""
    skipping = _directed(driving, np.array(list(_skipping(len(beside)))))
    return min(beside, _nearest(driving), *skipping, key=driving.length_m)


def _windowed(driving: _Driving, entered: Integers, *, long: bool) -> Integers:
    """Shorten an order window by window, each between the passes before it and after it."""
    count, best = len(entered), entered.copy()
    for first in (0,) if long or count <= WINDOW else (0, WINDOW // 2):
        for begin, end in pairwise(sorted({0, *range(first, count, WINDOW), count})):
            before = int(best[begin - 1]) if begin else GATE
            after = int(best[end]) if end < count else GATE
            best[begin:end] = _between(driving, best[begin:end], before, after, by_moves=long)
    return best


def _between(
    driving: _Driving, entered: Integers, before: int, after: int, *, by_moves: bool
) -> Integers:
    """Shorten the order of some passes between two others, or the gate."""
    ends = (entered // 2 * 2)[:, None] + np.arange(2)
    matrix_m = driving.matrix_m(ends.ravel(), before, after)
    as_now = 2 * np.arange(len(entered)) + entered % 2
    if len(entered) <= EXACT:
        return ends.ravel()[_exact(matrix_m)]
    return ends.ravel()[moved(matrix_m, as_now) if by_moves else improved(matrix_m, as_now)]
