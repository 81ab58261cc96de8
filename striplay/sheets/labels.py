"""Place numbers at the ends of strips and passes on a page, so that none covers another.

Pure geometry, in points. A number stands outside the end that it tells of, on a leader; where there
is no room it stands inside. Ends closer together than type is high share a lane as wide as one
number: in it they stand one behind the other, and the leaders of those farther out run past the
nearer ones, in what the lane is wider than they are high. So no lane meets another.
"""

from dataclasses import replace
from typing import Literal

import numpy as np
import shapely

from striplay.sheets.label_room import (
    BETWEEN_PT,
    CORNERS,
    INSIDE_PT,
    Ends,
    Floats,
    Integers,
    Page,
    Placed,
    around,
    free_places,
    lines_of,
    off_land,
    overlaps,
    placed_with,
)
from striplay.sheets.label_tries import anywhere

OUT_PT, FAN_PT = 2.0, 4.0
"""How far outside an end its number stands, and the same where leaders fan out."""
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


def place(ends: Ends, page: Page, axis: int, far_pt: float = 110.0, most: float = np.inf) -> Placed:
    """Place numbers.

    Args:
        ends: what they tell of.
        page: what they keep to.
        axis: 0 where what is numbered runs across the page and 1 where up it: numbers then run
            along it; -1 where neither, and all numbers are level.
        far_pt: how far off its end a number may stand where no lane has room for it.
        most: where more have no room, places off the lanes are not looked for to the end.
    """
    if axis == 1:
        placed = place(_turned(ends), _turned_page(page), 0, far_pt, most)
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
    return anywhere(placed, ends, page, far_pt, most) if far_pt > 0 else placed


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
        leader[index] = [(along * way, across) for along, across in points]
        if outward or at + wide <= ends.at[index, 0] * way + ends.inward[index]:
            left, right = sorted((at * way, (at + wide) * way))
            box[index] = left, foot, right, foot + high
        at += wide + BETWEEN_PT


def _kept(
    placed: Placed, tried: Placed, lane: Integers, which: Integers, page: Page, where: Where
) -> Placed:
    """Keep the lanes whose places are all free; of two on each other the first."""
    some = np.flatnonzero(tried.found)
    whole = ~np.isin(lane, lane[~tried.found])[some]
    tried, which, lane = Placed(tried.box[some], tried.leader[some]), which[some], lane[some]
    free = whole & free_places(tried, placed, page)
    if where != "inside":
        free &= off_land(tried, page)
    free &= ~np.isin(lane, lane[~free])
    wider = around(tried.box)
    clash = overlaps(wider, tried.box)
    of, on = shapely.STRtree(shapely.box(*wider.T)).query(
        lines_of(tried.leader), predicate="intersects"
    )
    clash[of, on] = True
    clash |= clash.T
    np.fill_diagonal(clash, val=False)
    for index in np.flatnonzero(free & clash.any(axis=1)).tolist():
        if (free[:index] & clash[index, :index]).any():
            free &= lane != lane[index]
    return placed_with(placed, which[free], tried.box[free], tried.leader[free])
