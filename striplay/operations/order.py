"""Stub while order is built elsewhere."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Order:
    order: np.ndarray
    back: np.ndarray
    length_m: float
    beside_m: float


def best_order(between_m, from_m, to_m, fixed):
    n = len(fixed)
    o = np.arange(n)
    b = np.zeros(n, bool)
    d = from_m[0] + between_m[2 * o[:-1] + 1, 2 * o[1:]].sum() + to_m[2 * n - 1]
    return Order(o, b, d, d)
