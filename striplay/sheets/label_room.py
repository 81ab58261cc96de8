"""Tell where numbers have room on a page: in its frame, off words, lines and land, off each other.

Pure geometry, in points.
"""

from dataclasses import dataclass, field, fields, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

AREA = 2
"""The dimension of polygons."""
CORNERS = 6
"""Points of a leader; of a straight one some are the same."""
APART_PT = 1.0
"""How far words keep from each other, and from leaders that pass them."""
INSIDE_PT = 1.2
"""A leader begins so far inside what it tells of."""
BETWEEN_PT = 4.5
"""How far numbers stand apart, one behind the other."""


@dataclass(frozen=True)
class Ends:
    """Ends to be numbered.

    Attributes:
        at: where each is, (n, 2).
        out: unit vectors away from what they end, (n, 2).
        aside: half as wide across as what each ends, (n,).
        inward: how far what each ends goes on inward, (n,).
        wide: width of each number, (n,).
        beyond: how far a slanting end reaches out beyond the middle, which `at` is, (n,).
        edge: how far out of each the field's boundary runs, infinite where far off, (n,).
    """

    at: Floats
    out: Floats
    aside: Floats
    inward: Floats
    wide: Floats
    beyond: Floats
    edge: Floats

    def __len__(self) -> int:
        return len(self.at)

    def chosen(self, those: Bools | Integers) -> "Ends":
        """Give some of them."""
        return Ends(
            self.at[those], self.out[those], self.aside[those], self.inward[those],
            self.wide[those], self.beyond[those], self.edge[those],
        )  # fmt: skip


def joined(one: Ends, other: Ends) -> Ends:
    """Give the ends of two lists in one."""
    names = (one.name for one in fields(Ends))
    return Ends(*(np.concatenate([getattr(one, name), getattr(other, name)]) for name in names))


@dataclass(frozen=True)
class Page:
    """What numbers must keep to and off.

    Attributes:
        frame: left, bottom, right and top that they stay in.
        high: height of a number.
        taken: boxes of other words and signs, (m, 4).
        lines: lines that no number may cover, such as arrows.
        land: polygons that numbers outside their end keep off, such as other strips.
    """

    frame: tuple[float, float, float, float]
    high: float
    taken: Floats = field(default_factory=lambda: np.empty((0, 4)))
    lines: Geometries = field(default_factory=lambda: np.empty(0, dtype=object))
    land: Geometries = field(default_factory=lambda: np.empty(0, dtype=object))

    @cached_property
    def ground(self) -> shapely.MultiPolygon:
        """The land as one shape, made quick to ask, with no more vertices than that needs.

        Rings about a pivot each reach over all others, so that a tree of them would not help.
        """
        fewer = shapely.get_parts(shapely.simplify(self.land, 0.3, preserve_topology=False))
        areas = fewer[(shapely.get_dimensions(fewer) == AREA) & ~shapely.is_empty(fewer)]
        whole = shapely.multipolygons(areas)
        shapely.prepare(whole)
        return whole

    @cached_property
    def line_tree(self) -> shapely.STRtree:
        """The lines, likewise."""
        return shapely.STRtree(self.lines)


@dataclass(frozen=True)
class Placed:
    """Where numbers stand.

    Attributes:
        box: left, bottom, right and top of each; NaN where there is no room, (n, 4).
        leader: from inside what it tells of to its number; all one point for none, (n, 6, 2).
        angle_deg: all are turned so far counter-clockwise.
    """

    box: Floats
    leader: Floats
    angle_deg: float = 0.0

    @property
    def found(self) -> Bools:
        """Which have a place."""
        return ~np.isnan(self.box[:, 0])

    @property
    def middle(self) -> Floats:
        """Middle of each, (n, 2)."""
        return (self.box[:, :2] + self.box[:, 2:]) / 2


def placed_with(placed: Placed, which: Integers, box: Floats, leader: Floats) -> Placed:
    """Put some numbers at places."""
    boxes, leaders = placed.box.copy(), placed.leader.copy()
    boxes[which], leaders[which] = box, leader
    return replace(placed, box=boxes, leader=leaders)


def around(boxes: Floats) -> Floats:
    """Widen boxes by half of what words keep from each other."""
    return boxes + np.array([-0.5, -0.5, 0.5, 0.5]) * APART_PT


def free_places(tried: Placed, placed: Placed, page: Page) -> Bools:
    """Tell which places lie in the frame, and neither they nor their leaders on what is there."""
    if not len(tried.box):
        return np.empty(0, dtype=bool)
    left, bottom, right, top = page.frame
    boxes, found = tried.box, placed.found
    wider = around(boxes)
    free = (boxes[:, 0] >= left) & (boxes[:, 1] >= bottom)
    free &= (boxes[:, 2] <= right) & (boxes[:, 3] <= top)
    reach = np.concatenate([boxes.reshape(-1, 2, 2), tried.leader], axis=1)
    low, high = reach.min(axis=(0, 1)) - 1.0, reach.max(axis=(0, 1)) + 1.0
    box, leader = placed.box[found], placed.leader[found]
    others = np.concatenate([page.taken, box])
    others = others[(others[:, 2:] >= low).all(axis=1) & (others[:, :2] <= high).all(axis=1)]
    near = (leader.max(axis=1) >= low).all(axis=1) & (leader.min(axis=1) <= high).all(axis=1)
    left_over = np.flatnonzero(free)
    free[left_over] &= ~_over_any(wider[left_over], others)
    left_over = np.flatnonzero(free)
    areas = shapely.box(*wider[left_over].T)
    meets = met(areas, shapely.STRtree(lines_of(leader[near]))) | met(areas, page.line_tree)
    free[left_over] &= ~meets
    left_over = np.flatnonzero(free)
    bounds = shapely.STRtree(shapely.box(*others.T))
    free[left_over] &= ~met(lines_of(tried.leader[left_over]), bounds)
    return np.asarray(free)


def off_land(tried: Placed, page: Page) -> Bools:
    """Tell which places, and their leaders beyond the ends they begin at, are clear of land."""
    thin = tried.box + np.array([0.3, 0.3, -0.3, -0.3])
    beyond = tried.leader[:, 1:].copy()
    away = beyond[:, -1] - beyond[:, 0]
    long = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
    beyond[:, 0] += away / long * np.minimum(0.8, 0.5 * long)
    boxes, leaders = shapely.box(*thin.T), lines_of(beyond)
    on = shapely.intersects(page.ground, boxes) | shapely.intersects(page.ground, leaders)
    return np.asarray(~on)


def lines_of(leaders: Floats) -> Geometries:
    """Give leaders as lines."""
    return np.asarray(shapely.linestrings(leaders), dtype=object).reshape(-1)


def met(shapes: Geometries, others: shapely.STRtree) -> Bools:
    """Tell which shapes meet one of some others."""
    found = np.zeros(len(shapes), dtype=bool)
    if len(others) and len(shapes):
        found[others.query(shapes, predicate="intersects")[0]] = True
    return found


def gaps(boxes: Floats) -> Floats:
    """Give the boxes between numbers that stand one behind the other, level or upright, (k, 4)."""
    found = []
    for along in (0, 1):
        row = np.round(boxes[:, [1 - along, 3 - along]], 2)
        order = np.lexsort((boxes[:, along], row[:, 1], row[:, 0]))
        before, after = boxes[order[:-1]], boxes[order[1:]]
        apart = after[:, along] - before[:, along + 2]
        same = (row[order[:-1]] == row[order[1:]]).all(axis=1)
        close = same & (apart > 0) & (apart < BETWEEN_PT + 0.1)
        between = before[close].copy()
        between[:, along] = before[close][:, along + 2]
        between[:, along + 2] = after[close][:, along]
        found.append(between)
    return np.concatenate(found)


def overlaps(boxes: Floats, others: Floats) -> Bools:
    """Tell of each box, (n, 4), which of some others, (m, 4), it lies over, (n, m)."""
    return np.asarray(
        ((boxes[:, None, :2] < others[:, 2:]) & (others[:, :2] < boxes[:, None, 2:])).all(axis=2)
    )


MANY = 200_000
"""So many pairs of boxes are compared at once; of more a tree chooses those close by."""


def _over_any(boxes: Floats, others: Floats) -> Bools:
    """Tell which boxes lie over one of some others."""
    if len(boxes) * len(others) <= MANY:
        return np.asarray(overlaps(boxes, others).any(axis=1))
    inner = boxes + np.array([1, 1, -1, -1]) * TOUCH_PT
    return met(shapely.box(*inner.T), shapely.STRtree(shapely.box(*others.T)))


TOUCH_PT = 1e-6
"""Boxes that touch lie over each other by no more."""
