"""Shorten an order of passes: a routing solver, and moves of runs of passes, by turns.

An order is a list of ends entered, as in `order`. Here driving stands in one matrix: from leaving
the pass entered at one end to entering one at another; its last row begins at the gate, or where
one comes from, and its last column ends there, (2n + 1, 2n + 1).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from pyvrp import ProblemData

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

SHUT_M = 1e8
"""What stands in the matrix for an end that may not be entered: no season's driving is as long."""

PARTS = 1000
"""The solver counts whole numbers: here millimeters, far below what steering errs by."""

ITERATIONS = 500
"""Of the solver: 40 passes it leaves 0.7 % longer than the shortest known on average, 2.7 % at
worst; four rounds of 1,000 leave 0.3 % and 1.6 %, in nine times the time."""

SEED = 0
"""Of the solver's random numbers: the same passes are ordered the same."""

NEAR = 20
"""The solver moves a pass beside one of so many near ones: turns reach fewer passes than that."""

SHAKEN = 8
"""So many passes at most are shaken loose in an iteration."""

LATE = 50
"""The solver takes an order that is shorter than the one so many iterations before."""

LONGEST_MOVED = 12
"""Runs of up to so many passes are moved to another place in the order."""

GAIN_M = 1e-3
"""A move that gains less than a millimeter is rounding."""

KEPT = 64
"""So many orders found are kept, with what they were found from: 13 MB of it for windows of 80."""


def improved(matrix_m: Floats, entered: Integers) -> Integers:
    """Shorten an order; it never grows longer.

    Fields that strips are held against drive some of the same passes: what was ordered last is
    kept.

    Args:
        matrix_m: driving between passes, (2n + 1, 2n + 1).
        entered: the order to begin with, (n,).
    """
    return np.array(_improved(matrix_m.tobytes(), tuple(entered.tolist())), dtype=np.int64)


@lru_cache(maxsize=KEPT)
def _improved(matrix: bytes, entered: tuple[int, ...]) -> tuple[int, ...]:
    """Shorten an order, its matrix as bytes."""
    wide = 2 * len(entered) + 1
    matrix_m = np.frombuffer(matrix, dtype=np.float64).reshape(wide, wide)
    best = moved(matrix_m, np.array(entered, dtype=np.int64))
    open_ = np.flatnonzero(matrix_m[-1, :-1] < SHUT_M)
    found = moved(matrix_m, _solved(_stated(matrix_m, open_), open_, best))
    shortest = min(best, found, key=lambda one: length_m(matrix_m, one))
    return tuple(shortest.tolist())


def length_m(matrix_m: Floats, entered: Integers) -> float:
    """Add up from the gate, between passes and back."""
    stops = np.concatenate([[-1], entered, [-1]])
    return float(matrix_m[stops[:-1], stops[1:]].sum())


def _stated(matrix_m: Floats, open_: Integers) -> "ProblemData":
    """State the order as the solver has it: one trip past one of the ends of every pass.

    Args:
        matrix_m: driving between passes.
        open_: ends at which passes may be entered; each is a client.
    """
    import pyvrp  # noqa: PLC0415  (more than 12 passes alone need it)

    stops = np.append(open_, len(matrix_m) - 1)
    lengths = np.rint(PARTS * matrix_m[np.ix_(stops, stops)]).astype(np.int64)
    np.fill_diagonal(lengths, 0)
    passes = open_ // 2
    return pyvrp.ProblemData(
        [pyvrp.Location(0, 0)] * len(stops),
        [pyvrp.Client(at, required=False, group=int(one)) for at, one in enumerate(passes)],
        [pyvrp.Depot(len(open_))],
        [pyvrp.VehicleType()],
        [lengths],
        [np.zeros_like(lengths)],
        [pyvrp.ClientGroup(np.flatnonzero(passes == one).tolist()) for one in np.unique(passes)],
    )


def _solved(data: "ProblemData", open_: Integers, entered: Integers) -> Integers:
    """Run the solver from an order."""
    import pyvrp  # noqa: PLC0415
    from pyvrp.search import NeighbourhoodParams, PerturbationParams  # noqa: PLC0415

    begun = pyvrp.Solution(data, [np.searchsorted(open_, entered).tolist()])
    found = pyvrp.solve(
        data,
        pyvrp.stop.MaxIterations(ITERATIONS),
        seed=SEED,
        collect_stats=False,
        params=pyvrp.SolveParams(
            ils=pyvrp.IteratedLocalSearchParams(history_length=LATE),
            neighbourhood=NeighbourhoodParams(num_neighbours=NEAR),
            perturbation=PerturbationParams(1, SHAKEN),
        ),
        initial_solution=begun,
    )
    visited = [stop.idx for route in found.best.routes() for stop in route if stop.is_client()]
    return open_[visited] if len(visited) == len(entered) else entered


@dataclass(frozen=True)
class _Stops:
    """An order with what was driven up to each stop, to weigh moves by differences alone.

    Attributes:
        matrix_m: driving between passes.
        at: ends entered, between the gate and the gate, (n + 2,).
        other: the other ends of their passes, (n + 2,).
        way_m: driven on the way to each stop, (n + 2,).
        back_m: the same when stops are made in reverse, each pass at its other end.
        flipped_m: the same when each pass is entered at its other end, in the same order.
    """

    matrix_m: Floats
    at: Integers
    other: Integers
    way_m: Floats
    back_m: Floats
    flipped_m: Floats

    @staticmethod
    def of(matrix_m: Floats, entered: Integers) -> "_Stops":
        """Take an order."""
        gate = [len(matrix_m) - 1]
        at = np.concatenate([gate, entered, gate])
        other = np.concatenate([gate, entered ^ 1, gate])
        legs_m = (
            matrix_m[at[:-1], at[1:]],
            matrix_m[other[1:], other[:-1]],
            matrix_m[other[:-1], other[1:]],
        )
        return _Stops(matrix_m, at, other, *(np.append(0.0, np.cumsum(one)) for one in legs_m))


def moved(matrix_m: Floats, entered: Integers) -> Integers:
    """Make the move that shortens an order most, again and again, until none does.

    Moves that a field asks for and the solver has not: a run of passes is driven in reverse, or
    each of them in the other direction, or the run is driven at another place in the order, as it
    is or in reverse.
    """
    while True:
        stops = _Stops.of(matrix_m, entered)
        change_m, shorter = min(_moves(stops), key=lambda move: move[0])
        if change_m > -GAIN_M:
            return entered
        entered = shorter


def _moves(stops: _Stops) -> Iterator[tuple[float, Integers]]:
    """Give the best move of each kind: the change it makes, and the order it makes."""
    yield from _in_place(stops)
    for count in range(1, min(LONGEST_MOVED, len(stops.at) - 3) + 1):
        yield from _elsewhere(stops, count)


def _in_place(stops: _Stops) -> Iterator[tuple[float, Integers]]:
    """Give the best run to reverse, and the best one to drive in the other directions."""
    m, at, other = stops.matrix_m, stops.at, stops.other
    last = np.arange(1, len(at) - 1)
    first = last[:, None]
    now_m = stops.way_m[last + 1] - stops.way_m[first - 1]
    now_m[last < first] = -np.inf
    back_m = stops.back_m[last] - stops.back_m[first]
    back_m = m[at[first - 1], other[last]] + back_m + m[other[first], at[last + 1]] - now_m
    yield _best(stops, back_m, lambda begin, end: stops.other[begin : end + 1][::-1])
    flipped_m = stops.flipped_m[last] - stops.flipped_m[first]
    flipped_m = m[at[first - 1], other[first]] + flipped_m + m[other[last], at[last + 1]] - now_m
    yield _best(stops, flipped_m, lambda begin, end: stops.other[begin : end + 1])


def _best(
    stops: _Stops, change_m: Floats, run: Callable[[int, int], Integers]
) -> tuple[float, Integers]:
    """Give the best of changes by first and last stop of a run, and the order it makes."""
    first, last = (int(one) + 1 for one in np.unravel_index(change_m.argmin(), change_m.shape))
    parts = [stops.at[1:first], run(first, last), stops.at[last + 1 : -1]]
    return float(change_m.min()), np.concatenate(parts)


def _elsewhere(stops: _Stops, count: int) -> Iterator[tuple[float, Integers]]:
    """Give the best place for the best run of so many passes, as it is and in reverse."""
    m, at, other = stops.matrix_m, stops.at, stops.other
    first = np.arange(1, len(at) - count)[:, None]
    last = first + count - 1
    after = np.arange(len(at) - 1)
    left_m = m[at[first - 1], at[last + 1]] - stops.way_m[last + 1] + stops.way_m[first - 1]
    left_m = left_m - (stops.way_m[after + 1] - stops.way_m[after])
    left_m[(after >= first - 1) & (after <= last)] = np.inf
    kept_m, back_m = (
        stops.way_m[last] - stops.way_m[first],
        stops.back_m[last] - stops.back_m[first],
    )
    for ends, begin, end, run_m in ((at, first, last, kept_m), (other, last, first, back_m)):
        change_m = m[at[after], ends[begin]] + run_m + m[ends[end], at[after + 1]] + left_m
        row, place = (int(one) for one in np.unravel_index(change_m.argmin(), change_m.shape))
        run = ends[row + 1 : row + 1 + count]
        rest = np.delete(at, np.s_[row + 1 : row + 1 + count])
        place -= count if place > row else 0
        parts = [rest[1 : place + 1], run if ends is at else run[::-1], rest[place + 1 : -1]]
        yield float(change_m.min()), np.concatenate(parts)
