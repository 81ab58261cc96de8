"""Search by brute force, to hold the search against: random fields and many headings laid.

What is laid is also weighed by its drawing alone: see `drawing`.
"""

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from unittest.mock import patch

import numpy as np
import shapely
from drawing import drawn_cost
from fields import AROUND, SHED, STRIPS, write_plan_for

import striplay.laid
from striplay.files.plan import read_plan
from striplay.flow import read_ground, weigh
from striplay.laid import lay_straight
from striplay.layout.blocks import one_block
from striplay.search.headings import stated
from striplay.section.systems import sections_of
from striplay.tolerances import EQUAL_COST_SHARE

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
        return money > other_money * (1 + EQUAL_COST_SHARE)


def hold(
    kind,
    seed,
    *,
    random_headings=RANDOM_HEADINGS,
    drawn_every=1,
    random_places=0,
    strips=STRIPS,
    shed=SHED,
):
    """Search a random field, and lay it along every heading of a brute search.

    Args:
        kind: one of `KINDS`.
        seed: of the field; it also picks headland and aim.
        random_headings: how many besides those about the five best.
        drawn_every: one heading in so many is drawn, and weighed by its drawing too; the others
            are weighed as `lay` weighs the heading it is given.
        random_places: headings and offsets drawn at random, and weighed by the drawing alone.
        strips: tables of what is planted.
        shed: machines and crops.
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
            strips=strips,
            shed=shed,
        )
        plan = read_plan(path)
        ground, sections = read_ground(plan), sections_of(plan)
        best = weigh(plan).best
        finer = FINER_DEG * np.arange(-10, 11)
        near = np.concatenate([choice.heading_deg + finer for choice in best])
        headings = np.concatenate([near, random.uniform(0, 180, random_headings)]) % 180
        laid = [_laid(plan, sections, ground, float(h)) for h in headings[::drawn_every]]
        drawn = [drawn_cost(plan, each) for each in laid]
        own = drawn_cost(plan, _laid(plan, sections, ground, best[0].heading_deg))
        places = random.uniform(0, [180, sections[0].width_m], (random_places, 2))
        drawn += [drawn_cost(plan, _laid(plan, sections, ground, *place)) for place in places]
        ranks = [rank(each.blocks[0].choice) for each in laid]
        if drawn_every > 1:
            block, wish = one_block(plan, ground), plan.direction.model_copy
            free = plan.model_copy(update={"direction": wish(update={"offset_m": "best"})})
            ranks += [rank(stated(free, sections[0], block, float(h))) for h in headings]
    return Held(rank(best[0]), min(ranks), own, min(drawn), len(headings))


def rank(choice):
    """Give what is to be least: the aim, and money where it leaves a tie."""
    return choice.aim, choice.money


def laid_at_random(kind, seed, *, strips=STRIPS, shed=SHED):
    """Lay a random field along a random heading from a random side; give also its plan."""
    random = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as name:
        path = write_plan_for(
            Path(name),
            random_field(kind, random),
            headland=HEADLANDS[(seed + len(kind)) % len(HEADLANDS)],
            direction=f'heading = "best"\nstart = "{random.choice(["left", "right"])}"',
            strips=strips,
            shed=shed,
        )
        plan = read_plan(path)
        ground, sections = read_ground(plan), sections_of(plan)
    return plan, _laid(plan, sections, ground, random.uniform(0, 180))


def _laid(plan, sections, ground, heading_deg, offset_m="best"):
    """Lay as `lay` does, but for reading the boundary anew and counting seed."""
    wish = {"heading": float(heading_deg), "offset_m": offset_m}
    direction = plan.direction.model_copy(update=wish)
    with everything_reached():
        return lay_straight(plan.model_copy(update={"direction": direction}), sections[0], ground)


def everything_reached():
    """Lay as if machines reached all ground: what they do not is drawn, and has no price."""
    barred, none = striplay.laid.barred, np.empty(0, dtype=object)
    narrow = lambda *arguments: replace(barred(*arguments), unreached=none)  # noqa: E731
    return patch.object(striplay.laid, "barred", narrow)
