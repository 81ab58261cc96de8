"""Weigh a layout by its drawing alone, with shapely and none of the search's own sums.

Land, seed and product are priced as in the tests' plans, which state no prices of their own.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from striplay.geometry.turns import level_turn_m
from striplay.operations.travel import joined, travels
from striplay.search.lines import bands_of
from striplay.units import ACRE_M2

LAND, SEED, SPRAY, SHARE = 300 / ACRE_M2, 100 / ACRE_M2, 30 / ACRE_M2, 50 / ACRE_M2


@dataclass
class Under:
    """Rectangles under a machine's passes, and the ground each is meant for; all turned.

    Attributes:
        operation: plant, spray or harvest.
        machine: its name.
        x: least and greatest x, (2, n).
        y: least and greatest y, (2, n).
        forward: whether driven toward greater x, (n,).
        ground: of a pass over one strip, that piece of strip; of a pass over several, all, (n,).
        side: whether it runs over several strips, (n,).
    """

    operation: str
    machine: str
    x: np.ndarray
    y: np.ndarray
    forward: np.ndarray
    ground: np.ndarray
    side: np.ndarray
    turn_s: np.ndarray

    def __len__(self):
        return len(self.side)

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


def under(plan, laid):
    """Give the rectangles under passes: as long as the rows of each, as wide as what it works.

    Passes lie where the section has them, before machines shift inside the field.
    """
    (block,) = laid.blocks
    section, start = laid.section, plan.direction.start
    works = {}
    for one in section.passes:
        works.setdefault(one.work, []).append(one)
    strips = block.pieces.strips
    every = shapely.coverage_union_all(strips.polygon) if len(strips.polygon) else shapely.Polygon()
    for travel in travels(section, block.across, block.pieces, start):
        like, rows = travel.like, travel.rows
        if not len(rows.kind) or like.machine in {one.machine for one in section.tramlines}:
            continue
        run, begin, end = joined(travel.key, rows.begin, rows.end, None)
        _, first = np.unique(run, return_index=True)
        nominal = [next(one for one in works[like.work] if rows.kind[i] in one.rows) for i in first]
        offset_m = np.array([section.rows[kind].offset_m for kind in rows.kind[first]])
        toward = -1.0 if start == "left" else 1.0
        edges = np.array([(one.low_m, one.high_m) for one in nominal]).T
        if like.strip is None:
            offset_m %= section.width_m
        y = np.sort(rows.across_m[first] + toward * (edges - offset_m), axis=0)
        if like.shared and like.operation != "plant":
            # of a piece that is cut, passes share what is planted
            half_m = (edges[1] - edges[0]) / 2
            y = np.stack([travel.middle_m[first] - half_m, travel.middle_m[first] + half_m])
        side = np.full(len(first), like.strip is None)
        ground = np.where(side, every, strips.polygon[rows.owner[first]])
        forward = (travel.turned[first] == 1) == (start == "right")
        turn_s = np.array([turns_s(plan, section, one) for one in nominal])
        x = np.stack([begin, end])
        yield Under(like.operation, like.machine, x, y, forward, ground, side, turn_s)


def turns_s(plan, section, one):
    """Give the time of the turn after a pass, into one of the six next of its job."""
    machine = plan.machines[one.machine]
    if machine.turn_s is not None:
        return machine.turn_s
    job = (one.operation, one.machine, one.crop, one.layer)
    middles = [o.middle_m + turn * section.width_m for o in section.passes for turn in range(-3, 12)
               if (o.operation, o.machine, o.crop, o.layer) == job]  # fmt: skip
    return next_turn_s(machine, middles, one.middle_m)


def next_turn_s(machine, middles, middle_m):
    """Give the time of the shortest turn from a pass into one of the six beyond it."""
    apart = sorted({round(at - middle_m, 6) for at in middles if at > middle_m + 1e-6})[:6]
    radius_m = machine.turn_radius_m
    lengths = [level_turn_m(w, radius_m, reversing=machine.reversing) for w in apart]
    return float(min(lengths)) / machine.turning_speed_mps


def on_lines(plan, laid, places=12):
    """Draw booms on tramlines at many places across; give means, money for each of three.

    For turns, for runs beyond the ground at full width, and for what is sprayed besides its own.
    """
    (block,) = laid.blocks
    strips = block.pieces.strips.polygon
    every = shapely.coverage_union_all(strips) if len(strips) else shapely.Polygon()
    area_m2 = every.area
    turns = partial = overlap = 0.0
    for lines in laid.section.tramlines:
        machine, wide_m = plan.machines[lines.machine], lines.pattern_m
        per_run_m = machine.cost_per_s / machine.speed_mps
        middles = [at + turn * wide_m for at in lines.middles_m for turn in range(-2, 12)]
        for band in bands_of(laid.section, lines):
            turn_s = machine.turn_s or next_turn_s(machine, middles, band.middle_m)
            levels = drawn_levels(every, wide_m, places)
            piece, x, level = runs_in(every, levels + band.low_m, levels + band.high_m)
            turns += len(piece) / places * turn_s * machine.cost_per_s
            partial += ((x[1] - x[0]).sum() / places - area_m2 / wide_m) * per_run_m
            for low_m, high_m, own_m in sections_on(machine, band):
                low, high = (np.clip(edge, band.low_m, band.high_m) for edge in (low_m, high_m))
                boxes = shapely.box(x[0], levels[level] + low, x[1], levels[level] + high)
                own = shapely.get_parts(shapely.intersection(boxes, every))
                own = shapely.bounds(own[shapely.area(own) > 0])
                run_m = (own[:, 2] - own[:, 0]).sum() / places
                overlap += (run_m - area_m2 / wide_m) * own_m * SPRAY
    return turns, partial, overlap


def drawn_levels(every, wide_m, places):
    """Give where the pattern begins, at every place across and in all its repeats over ground."""
    _, low, _, high = every.bounds
    repeats = np.arange(np.floor(low / wide_m) - 1, np.ceil(high / wide_m) + 1)
    return (repeats[:, None] * wide_m + np.arange(places) * wide_m / places).ravel()


def runs_in(every, low, high):
    """Give the pieces of ground in bands, from where to where they lie, and the band of each."""
    left, _, right, _ = every.bounds
    cut = shapely.intersection(shapely.box(left - 1, low, right + 1, high), every)
    pieces, level = shapely.get_parts(cut, return_index=True)
    real = shapely.area(pieces) > 1e-9
    pieces, level = pieces[real], level[real]
    return pieces, shapely.bounds(pieces)[:, [0, 2]].T, level


def sections_on(machine, band):
    """Give the sections of a boom over a crop: edges of its ground under each, and how much."""
    part_m = machine.width_m / machine.sections
    edges = band.middle_m + np.arange(1, machine.sections) * part_m - machine.width_m / 2
    edges = [-np.inf, *edges, np.inf]
    for begin, end in pairwise(edges):
        cells = [(max(low, begin), min(high, end)) for low, high in band.cells.T]
        cells = [(low, high) for low, high in cells if high > low + 1e-6]
        if cells:
            own_m = sum(high - low for low, high in cells)
            yield cells[0][0], cells[-1][1], own_m


def worked_twice_m2(plan, found, parts=None, *, seeded=True):
    """Measure the ground worked besides its own, part by part of a machine's width.

    A part works each piece of its ground from its first to its last along the pass.

    Args:
        plan: machines, and what the units of a row set carry.
        found: the rectangles under its passes.
        parts: parts of a planter's width that shut off; the plan's where None.
        seeded: leave out ground under units that carry nothing.
    """
    one = plan.machines[found.machine]
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
            # a pass ends with its rows, half a spacing inside ground that reaches on at a slant
            own = shapely.intersection(shapely.box(x[0], low, x[1], high), ground)
            pieces, part = shapely.get_parts(own, return_index=True)
            real = shapely.area(pieces) > 0
            pieces, part = pieces[real], part[real]
            x, low, high = shapely.bounds(pieces)[:, [0, 2]].T, low[part], high[part]
        if found.side[i] and seeded:
            x, low, high = _under_units(plan, found, i, (x, low, high))
        total_m2 += _beyond_m2(x, (low, high), ground).sum()
    return float(total_m2)


def _under_units(plan, found, i, boxes):
    """Cut rectangles of one pass to what is under the row units that carry a crop.

    Units are told from the planter's left: driving toward greater x, the left is greater y.
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


def drawn_cost(plan, laid):
    """Weigh a layout of the tests' shed: land, turns, runs, ground worked twice, shares.

    What of the rectangle under a pass is not its ground is run over for nothing, and planted or
    sprayed twice.
    """
    kept = 0.2 if plan.headland.crop else 1.0
    lost_m2 = kept * shapely.area(laid.headland).sum() + shapely.area(laid.leftover).sum()
    money = lost_m2 * LAND
    for found in under(plan, laid):
        machine = plan.machines[found.machine]
        money += machine.cost_per_s * found.turn_s.sum()
        run_m = (found.beyond_m2() / found.width_m).sum()
        money += run_m * machine.cost_per_s / machine.speed_mps
        if machine.does != "harvest":
            price = {"plant": SEED, "spray": SPRAY}[machine.does]
            money += price * worked_twice_m2(plan, found)
    return float(money + sum(on_lines(plan, laid)) + off_wish_m2(plan, laid) * SHARE)


def off_wish_m2(plan, laid):
    """Measure the land, headland's crop included, under another crop than the plan wishes."""
    (block,) = laid.blocks
    kinds = np.array([strip.crop for strip in laid.section.strips])
    crop, area_m2 = kinds[block.pieces.strips.kind], shapely.area(block.pieces.strips.polygon)
    own_m2 = {name: area_m2[crop == name].sum() for name in plan.crops}
    if plan.headland.crop:
        own_m2[plan.headland.crop] += shapely.area(laid.headland).sum()
    wished = {name: one.share for name, one in plan.crops.items() if one.share}
    total_m2 = sum(own_m2.values())
    if not wished:
        return 0.0
    # what a crop has too much of stands where another is wished: all without a wish are one more
    rest = {name for name in own_m2 if name not in wished}
    pairs = [(own_m2[name], share) for name, share in wished.items()]
    pairs.append((sum(own_m2[name] for name in rest), 1 - sum(wished.values())))
    return sum(max(own - share * total_m2, 0.0) for own, share in pairs)
