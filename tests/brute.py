"""Search by brute force, to hold the search against: random fields and many headings laid.

What is laid is also weighed by its drawing alone: areas, passes and rectangles under them, with
shapely, and none of the search's own sums.
"""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from fields import AROUND, write_plan_for

from striplay.files.plan import read_plan
from striplay.flow import read_ground, weigh
from striplay.layout.blocks import one_block
from striplay.layout.draw import draw
from striplay.layout.prices import DEFAULT_COST_PER_S, DEFAULT_SPEED_MPS, DEFAULT_TURN_S
from striplay.layout.search import EQUAL_SHARE, stated
from striplay.section.strips import strip_sections
from striplay.units import ACRE_M2

KINDS = ("convex", "concave", "holed", "several parts")
ENDS = AROUND.replace("around", "ends")
HEADLANDS = (AROUND, ENDS, '[headland]\nwhere = "none"\n')
FINER_DEG = 0.025
RANDOM_HEADINGS = 200
ROW_M = 0.762


def random_field(kind, random):
    """Give a field of a kind about the middle of the plane."""
    corners = random.integers(4, 24)
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False) + random.uniform(0, 0.15, corners)
    radius = random.uniform(150, 420, corners)
    field = shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    if kind == "convex":
        return field.convex_hull
    if kind == "holed":
        for _ in range(random.integers(1, 4)):
            place = shapely.Point(random.uniform(-250, 250, 2))
            field = field.difference(place.buffer(random.uniform(5, 50), quad_segs=3))
    if kind == "several parts":
        other = shapely.affinity.rotate(shapely.box(460, -150, 700, 190), random.uniform(0, 90))
        field = shapely.union(field, other)
    return field


@dataclass
class Held:
    """A search held against brute force.

    Attributes:
        found: its best rank: the aim, and money for ties.
        brute: the best rank of all that was laid.
        found_drawn: money of its layout, weighed by the drawing alone.
        brute_drawn: the least money of all that was laid, weighed likewise.
        laid: headings laid.
    """

    found: tuple[float, float]
    brute: tuple[float, float]
    found_drawn: float
    brute_drawn: float
    laid: int

    @property
    def worse(self):
        """Whether brute force found better, by more than the share that counts as equal."""
        (aim, money), (other_aim, other_money) = self.found, self.brute
        if abs(aim - other_aim) > 1e-6:
            return aim > other_aim
        return money > other_money * (1 + EQUAL_SHARE)


def hold(kind, seed, *, random_headings=RANDOM_HEADINGS, drawn_every=1):
    """Search a random field, and lay it along every heading of a brute search.

    Args:
        kind: one of `KINDS`.
        seed: of the field; it also picks headland and aim.
        random_headings: how many besides those about the five best.
        drawn_every: one heading in so many is drawn, and weighed by its drawing too; the others
            are weighed as `lay` weighs the heading it is given.
    """
    random = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as name:
        headland = HEADLANDS[seed % len(HEADLANDS)]
        aim = ("money", "money", "land", "passes")[seed // 4 % 4]
        path = write_plan_for(
            Path(name),
            random_field(kind, random),
            headland=headland,
            direction=f'heading = "best"\n[cost]\naim = "{aim}"',
        )
        plan = read_plan(path)
        ground, sections = read_ground(plan), strip_sections(plan)
        best = weigh(plan).best
        finer = FINER_DEG * np.arange(-10, 11)
        near = np.concatenate([choice.heading_deg + finer for choice in best])
        headings = np.concatenate([near, random.uniform(0, 180, random_headings)]) % 180
        laid = [_laid(plan, sections, ground, float(h)) for h in headings[::drawn_every]]
        drawn = [drawn_cost(plan, each) for each in laid]
        own = drawn_cost(plan, _laid(plan, sections, ground, best[0].heading_deg))
        ranks = [each.blocks[0].choice.rank for each in laid]
        if drawn_every > 1:
            block, wish = one_block(plan, ground), plan.direction.model_copy
            free = plan.model_copy(update={"direction": wish(update={"offset_m": "best"})})
            ranks += [stated(free, sections[0], block, float(h)).rank for h in headings]
    return Held(best[0].rank, min(ranks), own, min(drawn), len(headings))


def _laid(plan, sections, ground, heading_deg):
    """Lay as `lay` does, but for reading the boundary anew and counting seed."""
    direction = plan.direction.model_copy(update={"heading": heading_deg, "offset_m": "best"})
    return draw(plan.model_copy(update={"direction": direction}), sections, ground)


def drawn_cost(plan, drawn):
    """Weigh a layout of the tests' shed by its drawing: land, turns, runs, ground worked twice.

    A pass covers a rectangle as long as its rows and as wide as its part of the strip. What of that
    is not the strip's piece is run over for nothing, and planted or sprayed twice.
    """
    kept = 0.2 if plan.headland.crop else 1.0
    lost_m2 = kept * shapely.area(drawn.headland).sum() + shapely.area(drawn.leftover).sum()
    money = lost_m2 * 300 / ACRE_M2
    (block,) = drawn.blocks
    strips = block.pieces.strips
    for passes in block.passes:
        does = plan.machines[passes.machine].does
        cost_per_s = DEFAULT_COST_PER_S[does]
        money += len(passes.owner) * cost_per_s * DEFAULT_TURN_S[does]
        works = {
            (index, work.machine): work.spans(strip)
            for index, strip in enumerate(drawn.section.strips)
            for work in strip.works
        }
        spans = [works[kind, passes.machine] for kind in strips.kind[passes.owner]]
        width_m = np.array([high - low for ((low, high), *_) in spans])
        low_x, high_x = np.sort([passes.start_x_m, passes.end_x_m], axis=0)
        under = shapely.box(low_x, passes.y_m - width_m / 2, high_x, passes.y_m + width_m / 2)
        own = shapely.area(shapely.intersection(under, strips.polygon[passes.owner]))
        beyond_m2 = shapely.area(under) - own
        money += (beyond_m2 / width_m).sum() * cost_per_s / DEFAULT_SPEED_MPS[does]
        part = {"plant": 1.0, "spray": 0.25}.get(does, 0.0)  # sections of 10 ft against 40 and more
        price = {"plant": 100, "spray": 30}.get(does, 0) / ACRE_M2
        money += part * price * beyond_m2.sum()
    return float(money)
