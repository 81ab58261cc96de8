"""Place numbers at the ends of strips and passes on a page, so that none covers another.

Pure geometry, in points. A number stands outside the end that it tells of, on a leader; where there
is no room it stands inside. Ends closer together than type is high share a lane as wide as one
number: in it they stand one behind the other, and the leaders of those farther out run past the
nearer ones, in what the lane is wider than they are high. So no lane meets another.
"""

from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Literal

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
OUT_PT, FAN_PT, BETWEEN_PT = 2.0, 4.0, 4.5
"""How far outside an end its number stands, the same where leaders fan out, and between numbers
one behind the other."""
BEND_PT = 1.1
"""A leader past other numbers turns in so far before its own, square: a stroke from one number to
the next would read as a dash between them."""
LEADERS_PT = 0.8
"""A lane is wider by so much for each of its leaders, so that they run side by side."""
ALONE_PT = 0.55
"""The same of a lane with one number, past which no leader runs."""
JUMP_PT = 40.0
"""Ends farther apart along than this share no lane."""
SIDE_PT = 1.5
"""Ends whose ground lies farther apart across are no neighbors."""


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


def place(ends: Ends, page: Page, axis: int, far_pt: float = 110.0) -> Placed:
    """Place numbers.

    Args:
        ends: what they tell of.
        page: what they keep to.
        axis: 0 where what is numbered runs across the page and 1 where up it: numbers then run
            along it; -1 where neither, and all numbers are level.
        far_pt: how far off its end a number may stand where no lane has room for it.
    """
    if axis == 1:
        placed = place(_turned(ends), _turned_page(page), 0, far_pt)
        return replace(_turned_back(placed), angle_deg=90.0)
    count = len(ends)
    placed = Placed(np.full((count, 4), np.nan), np.full((count, CORNERS, 2), np.nan))
    if not count:
        return placed
    along = np.abs(ends.out[:, 1]) < LEVEL
    if axis == 0 and along.any():
        tier = _tiers(ends)
        for where in WHERE:
            for side in (1.0, -1.0):
                left = along & ~placed.found & (np.sign(ends.out[:, 0]) == side)
                for one in np.unique(tier[left]):
                    which = np.flatnonzero(left & (tier == one))
                    tried, lane = _in_lanes(ends.chosen(which), page.high, side, where)
                    placed = _kept(placed, tried, lane, which, page, where)
    for index in np.flatnonzero(~placed.found) if far_pt > 0 else ():
        placed = _anywhere(placed, ends.chosen(np.array([index])), int(index), page, far_pt)
    return placed


Where = Literal["clear of the edge", "outside", "inside"]
WHERE: tuple[Where, ...] = ("clear of the edge", "outside", "inside")
"""Where numbers stand, the best first: wholly before the boundary or behind it, over it, inside."""
LEVEL = 2e-3
"""Directions off the axis by less than a tenth of a degree run along it."""


def _turned(ends: Ends) -> Ends:
    """Turn the page clockwise, so that what runs up it runs across."""
    at, out = (np.column_stack([one[:, 1], -one[:, 0]]) for one in (ends.at, ends.out))
    return replace(ends, at=at, out=out)


def _turned_page(page: Page) -> Page:
    def clockwise(points: Floats) -> Floats:
        return np.column_stack([points[:, 1], -points[:, 0]])

    left, bottom, right, top = page.frame
    taken = page.taken
    return replace(
        page,
        frame=(bottom, -right, top, -left),
        taken=np.column_stack([taken[:, 1], -taken[:, 2], taken[:, 3], -taken[:, 0]]),
        lines=np.asarray(shapely.transform(page.lines, clockwise), dtype=object),
        land=np.asarray(shapely.transform(page.land, clockwise), dtype=object),
    )


def _turned_back(placed: Placed) -> Placed:
    box, leader = placed.box, placed.leader
    return Placed(
        np.column_stack([-box[:, 3], box[:, 0], -box[:, 1], box[:, 2]]),
        np.stack([-leader[..., 1], leader[..., 0]], axis=-1),
    )


def _tiers(ends: Ends) -> Integers:
    """Count how many ends that look the same way lie beyond each in its own lane.

    Ends at the field's edge are of tier 0; those before an obstacle, with more of the same strip
    behind it, of a higher one.
    """
    tier = np.zeros(len(ends), dtype=np.int64)
    beyond = (ends.at[None, :, 0] - ends.at[:, None, 0]) * ends.out[:, None, 0] > ends.wide[:, None]
    level = np.abs(ends.at[None, :, 1] - ends.at[:, None, 1]) < 0.5 * ends.aside[:, None]
    same = np.sign(ends.out[None, :, 0]) == np.sign(ends.out[:, None, 0])
    tier[:] = (beyond & level & same).sum(axis=1)
    return tier


def _in_lanes(ends: Ends, high: float, side: float, where: Where) -> tuple[Placed, Integers]:
    """Place numbers of ends that all look one way, lane by lane.

    Args:
        ends: the ends.
        high: height of a number.
        side: 1 where they look right, -1 left.
        where: where numbers stand.

    Returns:
        Where they would stand, and the lane of each.
    """
    order = np.lexsort((ends.at[:, 0], ends.at[:, 1]))
    low, top = ends.at[:, 1] - ends.aside, ends.at[:, 1] + ends.aside
    lanes: list[list[int]] = []
    for index in order.tolist():
        lane = lanes[-1] if lanes else []
        if lane:
            wide = top[lane[-1]] - low[lane[0]]
            full = wide >= high + (LEADERS_PT * len(lane) if len(lane) > 1 else ALONE_PT)
            jump = abs(ends.at[index, 0] - ends.at[lane[-1], 0]) > JUMP_PT
            if full or jump or low[index] - top[lane[-1]] > SIDE_PT:
                lanes.append([index])
                continue
            lane.append(index)
        else:
            lanes.append([index])
    count = len(ends)
    box, leader = np.full((count, 4), np.nan), np.full((count, CORNERS, 2), np.nan)
    lane_of = np.zeros(count, dtype=np.int64)
    for number, lane in enumerate(lanes):
        lane_of[lane] = number
        _stand_in(lane, ends, (low, top), high, side, where, box, leader)
    return Placed(box, leader), lane_of


def _stand_in(
    lane: list[int],
    ends: Ends,
    edges: tuple[Floats, Floats],
    high: float,
    side: float,
    where: Where,
    box: Floats,
    leader: Floats,
) -> None:
    """Place the numbers of a lane one behind the other, into `box` and `leader`."""
    count = len(lane)
    low, top = edges[0][lane[0]], edges[1][lane[-1]]
    outward = where != "inside"
    way = side if outward else -side
    x = ends.at[lane, 0] * way
    start = float((x + ends.beyond[lane]).max()) if outward else float(x.max()) + INSIDE_PT
    fan = OUT_PT if count == 1 else FAN_PT
    edge = x + ends.edge[lane]
    if where == "clear of the edge" and np.isfinite(edge).all():
        deep = fan + float(ends.wide[lane].sum()) + BETWEEN_PT * (count - 1)
        if start + deep > edge.min():
            start = max(start, float(edge.max()))
    spare = max(top - low - high, 0.0)
    foot = ends.at[lane[0], 1] - high / 2 if count == 1 else low
    if count > 1 and top - low < high:
        foot = (low + top - high) / 2
    at = start + fan
    for rank, index in enumerate(lane):
        wide = float(ends.wide[index])
        y = float(ends.at[index, 1])
        inside = min(INSIDE_PT, 0.4 * float(ends.inward[index]))
        anchor = ends.at[index, 0] * way - inside * (1.0 if outward else -1.0)
        middle = foot + high / 2
        passing = middle if rank == 0 else foot + high + spare * rank / count
        points = [(anchor, y), (max(start, anchor), y), (start + fan - 0.6, passing)]
        if rank == 0:
            points[2] = (at, middle)
        before = at - BEND_PT
        bend = [(before, passing), (before, middle), (at, middle)]
        points += bend if rank else [(at, middle)] * 3
        leader[index] = np.array(points) * (way, 1.0)
        if outward or at + wide <= ends.at[index, 0] * way + ends.inward[index]:
            ends_x = np.sort(np.array([at, at + wide]) * way)
            box[index] = ends_x[0], foot, ends_x[1], foot + high
        at += wide + BETWEEN_PT


def _kept(
    placed: Placed, tried: Placed, lane: Integers, which: Integers, page: Page, where: Where
) -> Placed:
    """Keep the lanes whose places are all free; of two on each other the first."""
    some = np.flatnonzero(tried.found)
    whole = ~np.isin(lane, lane[~tried.found])[some]
    tried, which, lane = Placed(tried.box[some], tried.leader[some]), which[some], lane[some]
    free = whole & _free(tried, placed, page)
    if where != "inside":
        free &= _off_land(tried, page)
    free &= ~np.isin(lane, lane[~free])
    around = _around(tried.box)
    clash = overlaps(around, tried.box)
    of, on = shapely.STRtree(shapely.box(*around.T)).query(
        _lines(tried.leader), predicate="intersects"
    )
    clash[of, on] = True
    clash |= clash.T
    np.fill_diagonal(clash, val=False)
    for index in np.flatnonzero(free & clash.any(axis=1)).tolist():
        if (free[:index] & clash[index, :index]).any():
            free &= lane != lane[index]
    return _with(placed, which[free], tried.box[free], tried.leader[free])


def _with(placed: Placed, which: Integers, box: Floats, leader: Floats) -> Placed:
    """Put some numbers at places."""
    boxes, leaders = placed.box.copy(), placed.leader.copy()
    boxes[which], leaders[which] = box, leader
    return replace(placed, box=boxes, leader=leaders)


def _around(boxes: Floats) -> Floats:
    """Widen boxes by half of what words keep from each other."""
    return boxes + np.array([-0.5, -0.5, 0.5, 0.5]) * APART_PT


def _free(tried: Placed, placed: Placed, page: Page) -> Bools:
    """Tell which places lie in the frame, and neither they nor their leaders on what is there."""
    if not len(tried.box):
        return np.empty(0, dtype=bool)
    left, bottom, right, top = page.frame
    boxes, found = tried.box, placed.found
    around = _around(boxes)
    free = (boxes[:, 0] >= left) & (boxes[:, 1] >= bottom)
    free &= (boxes[:, 2] <= right) & (boxes[:, 3] <= top)
    reach = np.concatenate([boxes.reshape(-1, 2, 2), tried.leader], axis=1)
    low, high = reach.min(axis=(0, 1)) - 1.0, reach.max(axis=(0, 1)) + 1.0
    box, leader = placed.box[found], placed.leader[found]
    others = np.concatenate([page.taken, box])
    others = others[(others[:, 2:] >= low).all(axis=1) & (others[:, :2] <= high).all(axis=1)]
    near = (leader.max(axis=1) >= low).all(axis=1) & (leader.min(axis=1) <= high).all(axis=1)
    free &= ~overlaps(around, others).any(axis=1)
    left_over = np.flatnonzero(free)
    areas = shapely.box(*around[left_over].T)
    meets = _met(areas, shapely.STRtree(_lines(leader[near]))) | _met(areas, page.line_tree)
    free[left_over] &= ~meets
    left_over = np.flatnonzero(free)
    bounds = shapely.STRtree(shapely.box(*others.T))
    free[left_over] &= ~_met(_lines(tried.leader[left_over]), bounds)
    return np.asarray(free)


def _off_land(tried: Placed, page: Page) -> Bools:
    """Tell which places, and their leaders beyond the ends they begin at, are clear of land."""
    thin = tried.box + np.array([0.3, 0.3, -0.3, -0.3])
    beyond = tried.leader[:, 1:].copy()
    away = beyond[:, -1] - beyond[:, 0]
    long = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
    beyond[:, 0] += away / long * np.minimum(0.8, 0.5 * long)
    boxes, leaders = shapely.box(*thin.T), _lines(beyond)
    on = shapely.intersects(page.ground, boxes) | shapely.intersects(page.ground, leaders)
    return np.asarray(~on)


def _lines(leaders: Floats) -> Geometries:
    """Give leaders as lines."""
    return np.asarray(shapely.linestrings(leaders), dtype=object).reshape(-1)


def _met(shapes: Geometries, others: shapely.STRtree) -> Bools:
    """Tell which shapes meet one of some others."""
    met = np.zeros(len(shapes), dtype=bool)
    if len(others) and len(shapes):
        met[others.query(shapes, predicate="intersects")[0]] = True
    return met


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


AWAY_PT = np.array([1.0, 5.0, 10.0, 16.0, 24.0, 34.0, 46.0, 60.0, 80.0])
ASIDE_PT = np.array([0.0, 4.0, -4.0, 9.0, -9.0, 15.0, -15.0, 22.0, -22.0, 32.0, -32.0])
"""How far out and aside of an end places for its number are tried, the nearest first."""
INWARD_COST, ASIDE_COST = 30.0, 1.5
"""A place inside is taken rather than one so much farther out; one aside costs more than one out.
"""


def _anywhere(placed: Placed, one: Ends, index: int, page: Page, far_pt: float) -> Placed:
    """Place one number wherever near its end there is room, off the land where that can be."""
    out, at = one.out[0], one.at[0]
    across = np.array([-out[1], out[0]])
    half = np.array([float(one.wide[0]) / 2, page.high / 2])
    clear = float(np.abs(out) @ half)  # a level box at this direction reaches so far back
    most = float(one.inward[0])
    inner = AWAY_PT[AWAY_PT + 2 * clear <= most + 1.0]
    tries = np.concatenate([AWAY_PT + clear + one.beyond[0], -inner - clear])
    far, aside = (values.ravel() for values in np.meshgrid(tries, ASIDE_PT, indexing="ij"))
    cost = np.abs(far) + ASIDE_COST * np.abs(aside) + INWARD_COST * (far < 0)
    order = np.argsort(cost, kind="stable")
    order = order[np.hypot(np.abs(far[order]) - clear, aside[order]) <= far_pt]
    far, aside, cost = far[order], aside[order], cost[order]
    middle = at + far[:, None] * out + aside[:, None] * across
    box = np.column_stack([middle - half, middle + half])
    anchor = at - min(INSIDE_PT, 0.4 * most) * out
    leader = np.repeat(np.clip(anchor, box[:, :2], box[:, 2:])[:, None, :], CORNERS, axis=1)
    leader[:, 0] = anchor
    leader[:, 1] = np.where((far > 0)[:, None], at, anchor)
    tried = Placed(box, leader)
    free = np.flatnonzero(_free(tried, placed, page))
    if not len(free):
        return placed
    cost = cost[free] + LAND_COST * ~(
        _off_land(Placed(box[free], leader[free]), page) | (far[free] < 0)
    )
    chosen = free[int(np.argmin(cost))]
    return _with(placed, np.array([index]), box[[chosen]], leader[[chosen]])


LAND_COST = 60.0
"""A place over land that is not its own is taken only where all others are so much farther."""
