"""Give the edges of polygons as plain arrays."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Edges:
    """The edges of one or more polygons, the ground on the left of each.

    Attributes:
        start: where each begins, (n, 2).
        end: where each ends, (n, 2).
        owner: index of the polygon each belongs to, (n,).
        ring: index of the ring each belongs to, counted over all polygons, (n,).
    """

    start: Floats
    end: Floats
    owner: Integers
    ring: Integers

    def __len__(self) -> int:
        return len(self.start)

    @cached_property
    def after(self) -> Integers:
        """Index of the edge that begins where each ends, (n,)."""
        return following(self.ring[1:] != self.ring[:-1]) if len(self) else self.ring


def following(parts: npt.NDArray[np.bool_]) -> Integers:
    """Give the index of what follows each in its ring, of the last the ring's first, (n,).

    Args:
        parts: whether each but the last of all ends its ring, (n - 1,).
    """
    last = np.append(np.flatnonzero(parts), len(parts)).astype(np.int64)
    after = np.arange(1, len(parts) + 2)
    after[last] = np.append(0, last[:-1] + 1)
    return after


def edges_of(polygons: Any) -> Edges:  # noqa: ANN401 - one geometry or an array, as in shapely
    """List the edges of polygons: exteriors counter-clockwise, holes clockwise.

    Args:
        polygons: one polygon or multipolygon, or an array of them; empty ones have no edges.
    """
    parts, owner = shapely.get_parts(np.atleast_1d(np.asarray(polygons)), return_index=True)
    rings, part = shapely.get_rings(shapely.orient_polygons(parts), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    ring_of_edge = ring[:-1][same].astype(np.int64)
    return Edges(
        start=points[:-1][same],
        end=points[1:][same],
        owner=owner[part[ring_of_edge]].astype(np.int64),
        ring=ring_of_edge,
    )
