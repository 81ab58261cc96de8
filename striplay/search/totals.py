"""Say what a sum over all passes and strips of a set asks of ground."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.search.prices import Prices
from striplay.search.sides import BEGINS, BELOW, ENDS, SHIFT, Sides

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Total:
    """A sum over all passes or strips of a set, by what it asks of the levels of ground.

    Attributes:
        levels: in steps from the set's first edge, (n,).
        weight: of each of what `striplay.search.sides` asks a profile for, at each, (n, 8).
        parts: the price of edges between parts of passes by level of the set, (steps,).
        sides: for each band of the sides, how far outside it is asked, and the weights there.
    """

    levels: Integers
    weight: Floats
    parts: Floats
    sides: tuple[tuple[Integers, Floats], ...]

    @cached_property
    def between(self) -> Complexes | None:
        """Those prices' Fourier transform, for there are very many; None where none is priced."""
        return np.fft.rfft(self.parts) if self.parts.any() else None

    @cached_property
    def as_one(self) -> "Total":
        """The same where machines run over just what is planted, of which six kinds are asked."""
        sides = tuple((outside, six_of(weight)) for outside, weight in self.sides)
        return Total(self.levels, six_of(self.weight), self.parts, sides)

    def with_parts(self, step_m: float) -> tuple[Integers, Floats]:
        """Give its levels and weights, those of edges between parts of passes included.

        Args:
            step_m: distance between levels.
        """
        (at,) = np.nonzero(self.parts)
        level, beside = between_parts(step_m)
        levels = (at + level[:, None]).ravel()
        weight = (self.parts[at, None] * beside[:, None]).reshape(-1, SHIFT + 1)
        return np.append(self.levels, levels), np.vstack([self.weight, weight])


def six_of(weight: Floats) -> Floats:
    """Put the weights of what is run over and of what is covered together, (k, 6)."""
    return np.hstack([weight[:, :2], weight[:, 2:4] + weight[:, 4:6], weight[:, 6:]])


def between_parts(step_m: float) -> tuple[Integers, Floats]:
    """Say what is asked at an edge between parts: levels from it, (3,), and weights, (3, 8).

    Args:
        step_m: distance between levels.
    """
    beside = np.zeros((3, SHIFT + 1))
    beside[[0, 1, 2], [ENDS[2], SHIFT, BEGINS[2]]] = 1.0, step_m, 1.0
    return np.array([-1, 0, 1]), beside


def money_of(prices: Prices, sides: Sides, side_per_m2: float) -> Total:
    """Say what the money asks for that hangs on the offset, but for shares of crops.

    Args:
        prices: of the set.
        sides: of the set.
        side_per_m2: money a year of a square meter at the sides that no strip is planted on.
    """
    per_m2 = prices.per_m2.sum(axis=0)
    return total_of(prices, sides, -per_m2, -per_m2 - side_per_m2, runs=1.0)


def total_of(prices: Prices, sides: Sides, area: Floats, aside: Floats, *, runs: float) -> Total:
    """Say what a sum asks for.

    Args:
        prices: of the set.
        sides: of the set.
        area: what a square meter of each strip counts, (strips,).
        aside: what it counts less where it is at a side and not planted, likewise.
        runs: 1 with turns and runs, 0 without.
    """
    asked: dict[int, Floats] = {}

    def add(level: int, what: int, weight: float) -> None:
        asked.setdefault(level, np.zeros(SHIFT + 1))[what] += weight

    for kinds, edges in ((BEGINS, prices.begins), (ENDS, prices.ends)):
        turns, machine, covers = edges.per_turn[0], *edges.per_run_m
        for what, weights in zip(kinds, (turns, machine, covers), strict=True):
            for level, weight in zip(edges.level.tolist(), weights.tolist(), strict=True):
                add(level, what, runs * weight)
    parts = np.zeros(prices.steps)
    for shut, price in zip(prices.shut, prices.per_part_m, strict=True):
        level = shut.first + shut.stride * np.arange(1, shut.count)
        np.add.at(parts, level % prices.steps, runs * price)
    for (first, last), weight in zip(prices.strip_steps.tolist(), area.tolist(), strict=True):
        add(first, BELOW, -weight)
        add(last, BELOW, weight)
    rows = np.concatenate([np.array([1.0, 0.0, 1.0, 1.0]) * runs, aside])
    beside = []
    for band in sides.bands:
        own: dict[int, Floats] = {}
        terms = zip(band.what.tolist(), band.outside.tolist(), rows @ band.weight, strict=True)
        for what, outside, weight in terms:
            own.setdefault(outside, np.zeros(SHIFT + 1))[what] += weight
        beside.append((np.array(list(own), dtype=np.int64), np.array(list(own.values()))))
    kept = {level: weight for level, weight in asked.items() if weight.any()}
    weight = np.array(list(kept.values())).reshape(-1, SHIFT + 1)
    return Total(np.array(list(kept), dtype=np.int64), weight, parts, tuple(beside))
