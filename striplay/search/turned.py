"""Turn grounds by a heading, and cut them into trapezoids, for all that weighs them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from striplay.geometry.edges import Edges
from striplay.geometry.frame import turn_each
from striplay.geometry.holes import Holes
from striplay.geometry.slabs import Slabs, slabs_through, with_chords_of
from striplay.plan.models import Plan

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LandToWeigh:
    """Ground to weigh at a heading, on the local plane.

    Attributes:
        edges: of the land inside the headland.
        runs: of the ground that machines run over without turning; the same, or with obstacles
            that they lift through.
        headland: money a year of the headland, planted or not.
        bare: money a year of clearances.
        area_m2: of the land inside the headland.
        side_per_m2: money a year of a square meter at the sides that no strip is planted on.
        edge_heading_deg: direction of the edge that rows are wished along, if any.
        holes: those of `runs` so small that a pass may hold one.
        headland_m2: of the headland.
        sides_join: whether sides that no strip is planted on join it.
    """

    edges: Edges
    runs: Edges
    headland: float
    bare: float
    area_m2: float
    side_per_m2: float
    edge_heading_deg: float | None = None
    holes: Holes | None = None
    headland_m2: float = 0.0
    sides_join: bool = False


@dataclass(frozen=True)
class Turned:
    """A ground turned several ways, or several grounds, trapezoid by trapezoid.

    Upside down where the set begins on the left.

    Attributes:
        planted: chords long enough to be planted.
        short_m2: area of the others, (grounds,).
        runs: as `planted`, of the ground machines run over.
        bottom_m: y at which the land begins, (grounds,).
        aside_m2: area at the sides on which no strip is planted, (grounds,).
    """

    planted: Slabs
    short_m2: Floats
    runs: Slabs
    bottom_m: Floats
    aside_m2: Floats

    def __len__(self) -> int:
        """Count the grounds."""
        return len(self.bottom_m)

    def between(self, low_m: Floats, high_m: Floats) -> "Turned":
        """Give what is planted between two levels, of each ground its own."""
        if np.all(low_m == -np.inf) and np.all(high_m == np.inf):
            return self
        planted, runs = (
            slabs.between(low_m[slabs.ground], high_m[slabs.ground])
            for slabs in (self.planted, self.runs)
        )
        aside_m2 = self.planted.areas_m2(len(self)) - planted.areas_m2(len(self))
        same = self.runs is self.planted
        return replace(self, planted=planted, runs=planted if same else runs, aside_m2=aside_m2)


def turned(plan: Plan, grounds: Sequence[LandToWeigh], headings_deg: Sequence[float]) -> Turned:
    """Turn grounds, each by its heading, and cut them into trapezoids.

    Args:
        plan: shortest row and start side.
        grounds: at each heading.
        headings_deg: degrees clockwise from true north.
    """
    way = -1.0 if plan.direction.start == "left" else 1.0

    def cut(edges: list[Edges]) -> tuple[Slabs, Floats]:
        counts = np.array([len(own) for own in edges])
        ground = np.repeat(np.arange(len(edges)), counts)
        first = np.cumsum(counts) - counts
        points = way * turn_each(np.concatenate([own.start for own in edges]), ground, headings_deg)
        bottom_m = np.full(len(edges), np.inf)
        some = counts > 0
        if some.any():
            bottom_m[some] = np.minimum.reduceat(points[:, 1], first[some])
        after = np.concatenate([own.after for own in edges]) + first[ground]
        slabs = slabs_through(points, after, ground)
        return with_chords_of(slabs, plan.direction.shortest_m), bottom_m

    planted, bottom_m = cut([ground.edges for ground in grounds])
    area_m2 = np.array([ground.area_m2 for ground in grounds])
    short_m2 = np.maximum(area_m2 - planted.areas_m2(len(grounds)), 0.0)
    runs = planted
    if any(ground.runs is not ground.edges for ground in grounds):
        over, _ = cut([ground.runs for ground in grounds])
        low_m, high_m = extents(planted, len(grounds))
        runs = over.between(low_m[over.ground], high_m[over.ground])
    bottom_m[np.isinf(bottom_m)] = 0.0
    return Turned(planted, short_m2, runs, bottom_m, np.zeros(len(grounds)))


def extents(slabs: Slabs, grounds: int) -> tuple[Floats, Floats]:
    """Give the levels between which each ground lies; of none, the first above the second."""
    low_m, high_m = np.full(grounds, np.inf), np.full(grounds, -np.inf)
    np.minimum.at(low_m, slabs.ground, slabs.low_m)
    np.maximum.at(high_m, slabs.ground, slabs.high_m)
    return low_m, high_m
