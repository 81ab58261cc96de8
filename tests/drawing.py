"""Weigh a layout by its drawing alone, with shapely and none of the search's own sums.

Land, seed and product are priced as in the tests' plans, which state no prices of their own.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from striplay.units import ACRE_M2

END_M = 20.0
"""A pass ends with its rows: so far beyond, ground of its parts is still looked for."""
LAND, SEED, SPRAY = 300 / ACRE_M2, 100 / ACRE_M2, 30 / ACRE_M2


@dataclass
class Under:
    """Rectangles under a machine's passes, and the ground each is meant for; all turned.

    Attributes:
        x: least and greatest x, (2, n).
        y: least and greatest y, (2, n).
        forward: whether driven towards greater x, (n,).
        ground: of a pass over one strip, that piece of strip; of a pass over several, all, (n,).
        side: whether it runs over several strips, (n,).
    """

    x: np.ndarray
    y: np.ndarray
    forward: np.ndarray
    ground: np.ndarray
    side: np.ndarray

    @property
    def width_m(self):
        """Width of each."""
        return self.y[1] - self.y[0]

    def beyond_m2(self):
        """Area of each that is not its ground."""
        return _beyond_m2(self.x, self.y, self.ground)


def _beyond_m2(x, y, ground):
    boxes = shapely.box(x[0], y[0], x[1], y[1])
    return shapely.area(boxes) - shapely.area(shapely.intersection(boxes, ground))


def under(plan, drawn, passes):
    """Give the rectangles under passes: as long as each runs, as wide as what it works.

    A pass that counts rows works those of its share of the strip; the others lie evenly about the
    machine's middle.
    """
    (block,) = drawn.blocks
    strips, across = block.pieces.strips, block.across
    works = {
        (index, work.operation, work.machine, work.crop or strip.crop): (work, work.spans(strip))
        for index, strip in enumerate(drawn.section.strips)
        for work in strip.works
    }
    every = shapely.coverage_union_all(strips.polygon)
    ground, side = strips.polygon[passes.owner], np.zeros(len(passes.owner), dtype=bool)
    y = np.empty((2, len(passes.owner)))
    for i, (owner, crop, y_m) in enumerate(zip(passes.owner, passes.crop, passes.y_m, strict=True)):
        found = works.get((int(strips.kind[owner]), passes.operation, passes.machine, crop))
        if found is None:
            ground[i], side[i] = every, True
            half_m = plan.machines[passes.machine].width_m / 2
            y[:, i] = y_m - half_m, y_m + half_m
            continue
        work, spans = found
        strip = strips.strip[owner]
        levels = [
            (across.high_m[strip] - high, across.high_m[strip] - low)
            if plan.direction.start == "left"
            else (across.low_m[strip] + low, across.low_m[strip] + high)
            for low, high in spans
        ]
        low, high = min(levels, key=lambda span: abs(sum(span) / 2 - y_m))
        half_m = (high - low) / 2
        # planting keeps to its share of the strip, openers beyond it idle whatever the shift
        own = work.rows is not None or passes.operation == "plant"
        y[:, i] = (low, high) if own else (y_m - half_m, y_m + half_m)
    x = np.sort([passes.start_x_m, passes.end_x_m], axis=0)
    return Under(x, y, passes.start_x_m < passes.end_x_m, ground, side)


def worked_twice_m2(plan, machine, found, parts=None, *, seeded=True):
    """Measure the ground worked besides its own, part by part of a machine's width.

    A part works each piece of its ground from its first to its last along the pass.

    Args:
        plan: machines, and what the units of a row set carry.
        machine: its name.
        found: the rectangles under its passes.
        parts: parts of a planter's width that shut off; the plan's where None.
        seeded: leave out ground under units that carry nothing.
    """
    one = plan.machines[machine]
    if one.does == "spray":
        counts = np.maximum(1, np.ceil(found.width_m / (one.width_m / one.sections) - 1e-6))
    else:
        counts = np.full(
            len(found.side), parts or {"none": 1, "row": one.row_units}.get(one.shut_off)
        )
    total_m2 = 0.0
    for i, count in enumerate(counts.astype(int)):
        ground = found.ground[i]
        edges = np.linspace(*found.y[:, i], count + 1)
        low, high = edges[:-1], edges[1:]
        x = np.repeat(found.x[:, [i]], count, axis=1)
        if count > 1:
            # a row stands half a spacing inside its unit's ground, which reaches on at a slant
            own = shapely.intersection(shapely.box(x[0] - END_M, low, x[1] + END_M, high), ground)
            pieces, part = shapely.get_parts(own, return_index=True)
            left, _, right, _ = shapely.bounds(pieces).reshape(-1, 4).T
            real = (shapely.area(pieces) > 0) & (left < x[1][part]) & (right > x[0][part])
            pieces, part = pieces[real], part[real]
            x, low, high = shapely.bounds(pieces)[:, [0, 2]].T, low[part], high[part]
        if found.side[i] and seeded:
            x, low, high = _under_units(plan, found, i, (x, low, high))
        total_m2 += _beyond_m2(x, (low, high), ground).sum()
    return float(total_m2)


def _under_units(plan, found, i, boxes):
    """Cut rectangles of one pass to what is under the row units that carry a crop.

    Units are told from the planter's left: driving towards greater x, the left is greater y.
    """
    x, low, high = boxes
    units = plan.row_set.units if found.forward[i] else plan.row_set.units[::-1]
    top_m, each_m = found.y[1, i], found.width_m[i] / len(units)
    cut = []
    for number, crop in enumerate(units):
        middle_m = top_m - (number + 0.5) * each_m
        if crop == "empty":
            continue
        at = np.flatnonzero((low < middle_m) & (middle_m < high))
        cut += [(x[0, j], x[1, j], middle_m - each_m / 2, middle_m + each_m / 2) for j in at]
    table = np.array(cut).reshape(-1, 4).T
    return table[:2], table[2], table[3]


def drawn_cost(plan, drawn):
    """Weigh a layout of the tests' shed: land, turns, runs, ground worked twice.

    What of the rectangle under a pass is not its ground is run over for nothing, and planted or
    sprayed twice.
    """
    kept = 0.2 if plan.headland.crop else 1.0
    lost_m2 = kept * shapely.area(drawn.headland).sum() + shapely.area(drawn.leftover).sum()
    money = lost_m2 * LAND
    for passes in drawn.blocks[0].passes:
        machine = plan.machines[passes.machine]
        money += len(passes.owner) * machine.cost_per_s * machine.turn_s
        found = under(plan, drawn, passes)
        run_m = (found.beyond_m2() / found.width_m).sum()
        money += run_m * machine.cost_per_s / machine.speed_mps
        if machine.does != "harvest":
            price = {"plant": SEED, "spray": SPRAY}[machine.does]
            money += price * worked_twice_m2(plan, passes.machine, found)
    return float(money)
