"""Tell where a cart finds a lane beside the passes of a combine, to take grain on the go."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.ground import Ground
from striplay.operations.jobs import crops_of
from striplay.operations.on_path import OnPath, pairs_between
from striplay.operations.passes import Swept, field_of
from striplay.operations.route import Route
from striplay.operations.standing import HEADLAND, Spot
from striplay.plan import defaults
from striplay.plan.machines import Cart, Harvester
from striplay.plan.models import Plan
from striplay.tolerances import WIDTH_M
from striplay.units import FOOT_M

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Geometries = npt.NDArray[np.object_]

HEADER_CLEAR_M = 1.0 * FOOT_M
"""Room between a header's end and a cart's wheels: steering of both errs by inches (our choice)."""
PASSED_M = 1.0
"""A row that stands over less than a yard beside a pass is a ragged end, not in a cart's way (our
choice)."""
EDGE, HEADER, TURN = "the field's edge", "the header", "the headland, opened first"
"""What is in a cart's way besides crops."""


@dataclass(frozen=True)
class Lane:
    """Where a cart runs beside a combine, by distances from the combine's middle.

    Attributes:
        left: whether at its left as driven.
        low_m: nearest edge of the cart's tires, or of its width where they are not known.
        high_m: farthest edge.
        tires_m: lower and upper edge of each tire; the whole lane where not known.
        least_m: how near the nearest edge may come: half the header and some room.
    """

    left: bool
    low_m: float
    high_m: float
    tires_m: tuple[tuple[float, float], ...]
    least_m: float

    @property
    def reaches(self) -> bool:
        """Whether the auger reaches past the header to the cart."""
        return self.low_m >= self.least_m - WIDTH_M

    @property
    def needed_m(self) -> float:
        """How far the auger must reach from the combine's middle, at the least."""
        return self.least_m + (self.high_m - self.low_m) / 2


def lane_of(plan: Plan, machine: str) -> Lane | None:
    """Give a combine's lane for its cart; None where its auger's reach is not stated."""
    combine = plan.machines[machine]
    if not isinstance(combine, Harvester) or combine.auger_reach_m is None:
        return None
    cart = None if combine.cart is None else plan.machines[combine.cart]
    reach_m = combine.auger_reach_m
    if cart is not None and cart.tread_m is not None and cart.tire_m is not None:
        half_m = cart.tire_m / 2
        middles_m = (reach_m - cart.tread_m / 2, reach_m + cart.tread_m / 2)
        tires_m = tuple((middle_m - half_m, middle_m + half_m) for middle_m in middles_m)
    else:
        half_m = (cart.width_m if isinstance(cart, Cart) else defaults.CART_WIDTH_M) / 2
        tires_m = ((reach_m - half_m, reach_m + half_m),)
    least_m = combine.width_m / 2 + HEADER_CLEAR_M
    return Lane(combine.auger_side == "left", tires_m[0][0], tires_m[-1][1], tires_m, least_m)


def in_the_way(
    route: Route, lane: Lane, blocks: Sequence[Swept], ground: Ground, stands: frozenset[str]
) -> Geometries:
    """Name what keeps a cart off the lane beside each pass; empty where it has one, (n,).

    A lane lies in the field, both its ends too, and on ground where nothing stands: cut by an
    earlier pass or job, not planted, or headland. Rows sown between a strip's own may stand
    between its tires, others not: a cart does not pass over a standing crop. A headland is opened
    first, with standing crop at its inner side.

    Args:
        route: a harvest.
        lane: of its combine.
        blocks: the field's blocks, by index.
        ground: the field.
        stands: what stands that day besides its own crops.
    """
    found = np.full(len(route), "", dtype=object)
    found[route.place == HEADLAND] = TURN
    for block, swept in enumerate(blocks):
        those = np.flatnonzero((route.place != HEADLAND) & (route.block == block))
        if len(those):
            found[those] = _beside(route, those, lane, swept, ground, stands)
    if not lane.reaches:
        found[:] = HEADER
    return found


def _beside(
    route: Route,
    those: Integers,
    lane: Lane,
    swept: Swept,
    ground: Ground,
    stands: frozenset[str],
) -> Geometries:
    """Name what is in the way beside the passes of one block."""
    path, rows, section = swept.path, swept.pieces.rows, swept.section
    lines = route.line[those]
    spot = Spot.of(lines)
    ways = OnPath.of(lines, spot.point, spot.way, path)
    toward = ways.left if lane.left else -ways.left
    low_m, high_m = _band(ways.across_m, toward, lane.low_m, lane.high_m)
    band, row = pairs_between(rows.across_m, low_m, high_m)
    which, begin, end = ways.common(band, rows.begin[row], rows.end[row])
    band, row = band[which], row[which]
    over = path.lengths_m(begin, end, rows.across_m[row]) > PASSED_M
    kind = rows.kind[row]
    on = np.array(section.own_row)[kind] | _under(rows.across_m[row], ways, toward, band, lane)
    label = np.array([one.label for one in section.rows])[kind]
    own = np.isin(label, crops_of(route.job))
    up = over & on & (own | np.isin(label, list(stands)))
    look = np.flatnonzero(up & own)
    inset = path.moved(begin[look], rows.across_m[row[look]], np.full(len(look), PASSED_M / 2))
    outset = path.moved(end[look], rows.across_m[row[look]], np.full(len(look), -PASSED_M / 2))
    up[look] = ~ways.worked_before(
        band[look], rows.across_m[row[look]], inset, outset, route.width_m / 2
    )
    found = np.full(len(those), "", dtype=object)
    found[band[up]] = label[up]
    field = field_of(ground, path)
    found[~field.holds(path.swaths(ways.begin, ways.end, low_m, high_m))] = EDGE
    return found


def _band(across_m: Floats, toward: Integers, low_m: float, high_m: float) -> tuple[Floats, Floats]:
    """Give lower and upper edge across of what lies so far to one side of passes."""
    one, other = across_m + toward * low_m, across_m + toward * high_m
    return np.minimum(one, other), np.maximum(one, other)


def _under(row_m: Floats, ways: OnPath, toward: Integers, band: Integers, lane: Lane) -> Bools:
    """Tell which rows stand under a tire of the cart."""
    found = np.zeros(len(row_m), dtype=bool)
    for tire in lane.tires_m:
        low_m, high_m = _band(ways.across_m, toward, *tire)
        found |= (low_m[band] < row_m) & (row_m < high_m[band])
    return found
