"""Search by brute force, to hold the search against: random fields and many headings laid."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from fields import AROUND, write_plan_for

from striplay.files.plan import read_plan
from striplay.flow import lay, weigh

KINDS = ("convex", "concave", "holed", "several parts")
HEADLANDS = (AROUND, AROUND.replace("around", "ends"), '[headland]\nwhere = "none"\n')
FINER_DEG = 0.025
RANDOM_HEADINGS = 200


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
    """A search held against brute force: the least ranks of each, and headings laid."""

    found: float
    brute: float
    laid: int


def hold(kind, seed, *, random_headings=RANDOM_HEADINGS, folder=None):
    """Search a random field, and lay it along every heading of a brute search."""
    random = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory(dir=folder) as name:
        headland = HEADLANDS[seed % len(HEADLANDS)]
        aim = ("money", "money", "land", "passes")[seed // 4 % 4]
        path = write_plan_for(
            Path(name),
            random_field(kind, random),
            headland=headland,
            direction=f'heading = "best"\n[cost]\naim = "{aim}"',
        )
        plan = read_plan(path)
        best = weigh(plan).best
        finer = FINER_DEG * np.arange(-10, 11)
        near = np.concatenate([choice.heading_deg + finer for choice in best])
        headings = np.concatenate([near, random.uniform(0, 180, random_headings)]) % 180
        ranks = [_laid_rank(plan, float(heading)) for heading in headings]
    return Held(best[0].rank, min(ranks), len(headings))


def _laid_rank(plan, heading_deg):
    direction = plan.direction.model_copy(update={"heading": heading_deg, "offset_m": "best"})
    layout = lay(plan.model_copy(update={"direction": direction}))
    return layout.drawn.blocks[0].choice.rank
