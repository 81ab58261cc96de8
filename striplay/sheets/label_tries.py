"""Place numbers that no lane has room for: wherever near their ends there is some, by leaders."""

from dataclasses import dataclass

import numpy as np
import shapely

from striplay.sheets.label_room import (
    CORNERS,
    INSIDE_PT,
    Bools,
    Ends,
    Floats,
    Integers,
    Page,
    Placed,
    around,
    free_places,
    lines_of,
    met,
    off_land,
    overlaps,
    placed_with,
)

AWAY_PT = np.array([1.0, 5.0, 10.0, 16.0, 24.0, 34.0, 46.0, 60.0, 80.0])
ASIDE_PT = np.array([0.0, 4.0, -4.0, 9.0, -9.0, 15.0, -15.0, 22.0, -22.0, 32.0, -32.0])
"""How far out and aside of an end places for its number are tried, the nearest first."""
INWARD_COST, ASIDE_COST = 30.0, 1.5
"""A place inside is taken rather than one so much farther out; one aside costs more than one out.
"""


def anywhere(placed: Placed, ends: Ends, page: Page, far_pt: float) -> Placed:
    """Place numbers left wherever near their ends there is room, off the land where that can be."""
    left = np.flatnonzero(~placed.found)
    tries = _tries(ends.chosen(left), page.high, far_pt)
    free = free_places(tries.places, placed, page)
    tries = tries.chosen(free)
    begin = np.searchsorted(tries.of, np.arange(len(left) + 1))
    new = np.empty(0, dtype=np.int64)
    for number in range(len(left)):
        best = _best(tries, np.arange(begin[number], begin[number + 1]), new, page)
        if best is not None:
            new = np.append(new, best)
    box, leader = tries.places.box[new], tries.places.leader[new]
    same = np.repeat(leader[:, -1:], CORNERS - leader.shape[1], axis=1)
    return placed_with(placed, left[tries.of[new]], box, np.concatenate([leader, same], axis=1))


@dataclass(frozen=True)
class Tries:
    """Places near some ends, of each end the nearest first.

    Attributes:
        of: the end of each, rising, (t,).
        cost: how far off it is, (t,).
        within: whether it lies inside what its end ends, (t,).
        places: the places, with straight leaders of three points, (t, 3, 2).
    """

    of: Integers
    cost: Floats
    within: Bools
    places: Placed

    def chosen(self, those: Bools) -> "Tries":
        """Give some of them."""
        places = Placed(self.places.box[those], self.places.leader[those])
        return Tries(self.of[those], self.cost[those], self.within[those], places)


def _tries(ends: Ends, high: float, far_pt: float) -> Tries:
    """List the places to be tried near ends."""
    out, at = ends.out, ends.at
    across = np.column_stack([-out[:, 1], out[:, 0]])
    half = np.column_stack([ends.wide / 2, np.full(len(ends), high / 2)])
    clear = (np.abs(out) * half).sum(axis=1)  # a level box at this direction reaches so far back
    beyond = AWAY_PT + (clear + ends.beyond)[:, None]
    inner = np.where(AWAY_PT + 2 * clear[:, None] <= ends.inward[:, None] + 1.0,
                     -AWAY_PT - clear[:, None], np.nan)  # fmt: skip
    far = np.repeat(np.concatenate([beyond, inner], axis=1), len(ASIDE_PT), axis=1)
    aside = np.tile(ASIDE_PT, (len(ends), 2 * len(AWAY_PT)))
    cost = np.abs(far) + ASIDE_COST * np.abs(aside) + INWARD_COST * (far < 0)
    near = np.hypot(np.abs(far) - clear[:, None], aside) <= far_pt
    of, one = np.nonzero(near)
    order = np.lexsort((cost[of, one], of))
    of, one = of[order], one[order]
    far, aside, cost = far[of, one], aside[of, one], cost[of, one]
    middle = at[of] + far[:, None] * out[of] + aside[:, None] * across[of]
    box = np.column_stack([middle - half[of], middle + half[of]])
    anchor = at[of] - np.minimum(INSIDE_PT, 0.4 * ends.inward[of])[:, None] * out[of]
    leaves = np.where((far > 0)[:, None], at[of], anchor)
    leader = np.stack([anchor, leaves, np.clip(anchor, box[:, :2], box[:, 2:])], axis=1)
    return Tries(of, cost, far < 0, Placed(box, leader))


def _best(tries: Tries, own: Integers, new: Integers, page: Page) -> int | None:
    """Give the place that costs least and meets none of those taken since; None of none.

    Args:
        tries: all places.
        own: those to choose from, the nearest first.
        new: those taken since.
        page: what numbers keep to.
    """
    box, leader = tries.places.box, tries.places.leader
    best, best_cost = None, np.inf
    for chosen in (own[:FIRST_TRIES], own[FIRST_TRIES:]):
        if not len(chosen) or tries.cost[chosen[0]] >= best_cost:
            continue
        some = chosen[~overlaps(around(box[chosen]), box[new]).any(axis=1)]
        some = some[_leaders_apart(tries.places, some, new)] if len(some) else some
        clear = tries.within[some] | off_land(Placed(box[some], leader[some]), page)
        dear = tries.cost[some] + LAND_COST * ~clear
        if len(some) and dear.min() < best_cost:
            best, best_cost = int(some[np.argmin(dear)]), float(dear.min())
    return best


def _leaders_apart(places: Placed, some: Integers, new: Integers) -> Bools:
    """Tell which places' leaders meet no others' numbers, nor their numbers others' leaders."""
    apart = np.ones(len(some), dtype=bool)
    reach = np.concatenate([places.box[some].reshape(-1, 2, 2), places.leader[some]], axis=1)
    low, high = reach.min(axis=(0, 1)) - 1.0, reach.max(axis=(0, 1)) + 1.0
    others = np.concatenate([places.box[new].reshape(-1, 2, 2), places.leader[new]], axis=1)
    near = new[((others.max(axis=1) >= low) & (others.min(axis=1) <= high)).all(axis=1)]
    if len(near):
        wider = shapely.box(*around(places.box[some]).T)
        apart &= ~met(wider, shapely.STRtree(lines_of(places.leader[near])))
        boxes = shapely.STRtree(shapely.box(*places.box[near].T))
        apart &= ~met(lines_of(places.leader[some]), boxes)
    return apart


FIRST_TRIES = 6
"""Of so many places first it is asked whether they lie on land; of the others where all do."""
LAND_COST = 60.0
"""A place over land that is not its own is taken only where all others are so much farther."""
