"""Place numbers that no lane has room for: wherever near their ends there is some, by leaders."""

from dataclasses import dataclass

import numpy as np

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
    crossed,
    free_places,
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


def anywhere(placed: Placed, ends: Ends, page: Page, far_pt: float, most: float) -> Placed:
    """Place numbers left wherever near their ends there is room, off the land where that can be.

    Where more than `most` have none, it ends there.
    """
    left = np.flatnonzero(~placed.found)
    tries = _tries(ends.chosen(left), page.high, far_pt)
    free = free_places(tries.places, placed, page)
    tries = tries.chosen(free)
    begin = np.searchsorted(tries.of, np.arange(len(left) + 1))
    first = np.arange(len(tries.of)) - begin[tries.of] < FIRST_TRIES
    land = np.zeros(len(tries.of), dtype=bool)
    asked = np.flatnonzero(first & ~tries.within)
    land[asked] = ~off_land(tries.places.chosen(asked), page)
    new: list[int] = []
    for number in range(len(left)):
        best = _best(tries, np.arange(begin[number], begin[number + 1]), new, land, page)
        if best is not None:
            new.append(best)
        elif number + 1 - len(new) > most:
            break
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
        return Tries(
            self.of[those], self.cost[those], self.within[those], self.places.chosen(those)
        )


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


def _best(tries: Tries, own: Integers, new: list[int], land: Bools, page: Page) -> int | None:
    """Give the place that costs least and meets none of those taken since; None of none.

    Args:
        tries: all places.
        own: those to choose from, the nearest first.
        new: those taken since.
        land: which of the first places of each end lie on land, (t,).
        page: what numbers keep to.
    """
    best, best_cost = None, np.inf
    for begin, end in BLOCKS:
        some = own[begin:end]
        if not len(some) or tries.cost[some[0]] >= best_cost:
            break
        some = some[tries.cost[some] < best_cost]
        some = some[~overlaps(around(tries.places.box[some]), tries.places.box[new]).any(axis=1)]
        some = some[_leaders_apart(tries.places, some, new)] if len(some) else some
        if not len(some):
            continue
        on = land[some] if end == FIRST_TRIES else _on_land(tries, some, page)
        dear = tries.cost[some] + LAND_COST * on
        if dear.min() < best_cost:
            best, best_cost = int(some[np.argmin(dear)]), float(dear.min())
    return best


def _on_land(tries: Tries, some: Integers, page: Page) -> Bools:
    """Tell which places lie on land that is not their own."""
    on = ~tries.within[some]
    on[on] = ~off_land(tries.places.chosen(some[on]), page)
    return on


def _leaders_apart(places: Placed, some: Integers, new: list[int]) -> Bools:
    """Tell which places' leaders meet no others' numbers, nor their numbers others' leaders."""
    met = crossed(places.leader[new], around(places.box[some])).any(axis=0)
    return np.asarray(~(met | crossed(places.leader[some], places.box[new]).any(axis=1)))


FIRST_TRIES = 6
"""Of so many places first it is asked whether they lie on land; of the others where all do."""
BLOCKS = ((0, FIRST_TRIES), (FIRST_TRIES, 42), (42, 1000))
"""From which place to which they are looked at together: all that follow cost more."""
LAND_COST = 60.0
"""A place over land that is not its own is taken only where all others are so much farther."""
