"""Tell where numbers have room on a page: in its frame, off words, lines and land, off each other.

Pure geometry, in points.
"""

from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from itertools import pairwise

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

    def chosen(self, those: Bools | Integers) -> "Placed":
        """Give some of them."""
        return Placed(self.box[those], self.leader[those], self.angle_deg)

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
    lines = np.concatenate([lines_of(leader[near]), page.lines])
    left_over = _near_any(wider, shapely.bounds(lines), free)
    free[left_over] &= ~met(shapely.box(*wider[left_over].T), shapely.STRtree(lines))
    reach = np.concatenate([tried.leader.min(axis=1), tried.leader.max(axis=1)], axis=1)
    left_over = _near_any(reach, others, free)
    bounds = shapely.STRtree(shapely.box(*others.T))
    free[left_over] &= ~met(lines_of(tried.leader[left_over]), bounds)
    return np.asarray(free)


def _near_any(boxes: Floats, others: Floats, which: Bools) -> Integers:
    """List those of some boxes that touch one of some others: only they can meet what is in it."""
    own = np.flatnonzero(which)
    touch = np.array([-1, -1, 1, 1]) * TOUCH_PT
    return own[_over_any(boxes[own] + touch, others.reshape(-1, 4))]


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
    left, bottom, right, top = boxes[:, :, None].swapaxes(0, 1)
    over = (left < others[:, 2]) & (others[:, 0] < right)
    over &= (bottom < others[:, 3]) & (others[:, 1] < top)
    return np.asarray(over)


def crossed(leaders: Floats, boxes: Floats) -> Bools:
    """Tell of each leader, (n, k, 2), which boxes, (m, 4), it meets, (n, m).

    A stretch meets a box where the parts of it between the box's sides, level and upright, share
    something: no tree is needed for so few.
    """
    reach = np.concatenate([leaders.min(axis=1), leaders.max(axis=1)], axis=1)
    found = overlaps(reach + np.array([-1, -1, 1, 1]) * TOUCH_PT, boxes)
    of, on = np.nonzero(found)
    if not len(of):
        return found
    met = np.zeros(len(of), dtype=bool)
    low, high = boxes[on, :2], boxes[on, 2:]
    for begin, end in pairwise(leaders[of].swapaxes(0, 1)):
        way = end - begin
        still = way == 0.0
        outside = still & ((begin < low) | (high < begin))
        over = np.where(still, 1.0, way)
        one, other = (low - begin) / over, (high - begin) / over
        enter = np.where(still, np.where(outside, np.inf, 0.0), np.minimum(one, other))
        leave = np.where(still, 1.0, np.maximum(one, other))
        first = np.maximum(np.maximum(enter[:, 0], enter[:, 1]), 0.0)
        met |= first <= np.minimum(np.minimum(leave[:, 0], leave[:, 1]), 1.0)
    found[of, on] = met
    return found


TOUCH_PT = 1e-6
"""What touches a box lies so far over one that is widened."""
BLOCK = 256
"""So many boxes are compared at once with those near: of one end the places lie close together."""


def _over_any(boxes: Floats, others: Floats) -> Bools:
    """Tell which boxes lie over one of some others."""
    over = np.zeros(len(boxes), dtype=bool)
    for begin in range(0, len(boxes), BLOCK):
        own = boxes[begin : begin + BLOCK]
        reach = np.concatenate([own[:, :2].min(axis=0), own[:, 2:].max(axis=0)])
        near = others[overlaps(reach[None], others)[0]]
        over[begin : begin + BLOCK] = overlaps(own, near).any(axis=1)
    return over
