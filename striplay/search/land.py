"""Prepare ground for weighing: the land inside the headland, and what its headland costs."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from striplay.geometry import overlay
from striplay.geometry.directions import direction_deg
from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.holes import Holes, narrow_holes
from striplay.layout.blocks import FieldBlock
from striplay.plan.models import Plan
from striplay.search.turned import LandToWeigh

GroundAt = Callable[[float], LandToWeigh]
"""Give the ground to weigh at a heading."""

SIDES = {"north": (0.0, 1.0), "east": (1.0, 0.0), "south": (0.0, -1.0), "west": (-1.0, 0.0)}
SMOOTH_M = 10.0
"""Wiggles of an edge below this do not end it, when the longest edge is looked for."""


def prepare(plan: Plan, block: FieldBlock) -> tuple[GroundAt, GroundAt]:
    """Give two ways to the ground at a heading: a quick one to search by, and the exact one.

    They are the same but for headlands at the ends only, which lie elsewhere at every heading: the
    quick way then leaves the headland on the land and reckons only its price. Once for all plans
    alike in what they read of one: its headland and cost, and how wide machines are.
    """
    widths_m = tuple(machine.width_m for machine in plan.machines.values())
    key = (plan.headland, plan.cost, widths_m)
    return block.kept.once("prepared", key, lambda: _prepared(plan, block))


def _prepared(plan: Plan, block: FieldBlock) -> tuple[GroundAt, GroundAt]:
    edge_deg = None
    if plan.cost.edge is not None:
        edge_deg = longest_edge_deg(block.ground.outline, SIDES[plan.cost.edge])
    if block.steady:
        steady = _Steady(_ground_at(block, Frame(0.0), edge_deg))
        return steady, steady
    own = block.steady_land
    edges = edges_of(own)
    headland_m2 = max(block.land_m2 - float(own.area), 0.0)
    whole = LandToWeigh(
        edges,
        edges,
        headland_m2 * _headland_price(plan),
        block.clearance_m2 * plan.cost.land_per_m2,
        float(own.area),
        _side_price(plan),
        edge_deg,
        _holes(plan, own),
        headland_m2,
        _sides_join(plan),
    )
    return _Quick(plan, block, whole), _Exact(block, edge_deg)


@dataclass(frozen=True)
class _Steady:
    """Gives the same ground at all headings."""

    land: LandToWeigh

    def __call__(self, _: float) -> LandToWeigh:
        return self.land


@dataclass(frozen=True)
class _Quick:
    """Gives the land with its headland at the ends, and the price of that."""

    plan: Plan
    block: FieldBlock
    whole: LandToWeigh

    def __call__(self, heading_deg: float) -> LandToWeigh:
        ends_m2 = self.plan.headland_width_m * self.block.ends_m(Frame(heading_deg))
        return replace(
            self.whole,
            headland=self.whole.headland + _headland_price(self.plan) * ends_m2,
            headland_m2=self.whole.headland_m2 + ends_m2,
        )


@dataclass(frozen=True)
class _Exact:
    """Gives the land inside the headland of each heading; once for those that are alike."""

    block: FieldBlock
    edge_deg: float | None
    kept: dict[Hashable, LandToWeigh] = field(default_factory=dict)

    def __call__(self, heading_deg: float) -> LandToWeigh:
        frame = Frame(heading_deg)
        key = self.block.alike(frame)
        if key is None:
            return _ground_at(self.block, frame, self.edge_deg)
        if key not in self.kept:
            self.kept[key] = _ground_at(self.block, frame, self.edge_deg)
        return self.kept[key]


def _ground_at(block: FieldBlock, frame: Frame, edge_heading_deg: float | None) -> LandToWeigh:
    plan, ground = block.plan, block.ground
    inner = block.land_at(frame)
    edges = edges_of(inner)
    over = inner
    if not ground.through.is_empty:
        over = overlay.difference(block.inside_at(frame), overlay.union_all(ground.beside))
    runs = edges if ground.through.is_empty else edges_of(over)
    headland_m2 = max(block.land_m2 - float(inner.area), 0.0)
    return LandToWeigh(
        edges,
        runs,
        headland_m2 * _headland_price(plan),
        block.clearance_m2 * plan.cost.land_per_m2,
        float(inner.area),
        _side_price(plan),
        edge_heading_deg,
        _holes(plan, over),
        headland_m2,
        _sides_join(plan),
    )


def _holes(plan: Plan, ground: shapely.Geometry) -> Holes:
    widest_m = max((machine.width_m for machine in plan.machines.values()), default=0.0)
    return narrow_holes(ground, widest_m)


def _headland_price(plan: Plan) -> float:
    share = 1.0 if plan.headland_crop is None else plan.cost.headland_loss
    return share * plan.cost.land_per_m2


def _side_price(plan: Plan) -> float:
    """Price a square meter at the sides that no strip is planted on: headland beside headland."""
    return _headland_price(plan) if _sides_join(plan) else plan.cost.land_per_m2


def _sides_join(plan: Plan) -> bool:
    return plan.headland.where == "around"


def has_long_edge(outline: shapely.Geometry) -> bool:
    """Tell whether a field has an edge long enough to plant along; a circle has none."""
    edges = edges_of(shapely.simplify(outline, STRAIGHT_M))
    length_m = np.hypot(*(edges.end - edges.start).T)
    around_m = np.bincount(edges.ring, length_m)
    return bool((length_m >= LONG_EDGE * around_m[edges.ring]).any())


STRAIGHT_M = 1.0
"""An edge that leaves a line by less is straight, when it is asked whether it is long."""
LONG_EDGE = 0.1
"""An edge of this share of the way round, or more, is long (our choice): a square's are a quarter,
chords within a meter of a circle of half a kilometer a fiftieth."""


def longest_edge_deg(outline: shapely.Geometry, facing: tuple[float, float] | None = None) -> float:
    """Give the direction of a field's longest edge: what farms usually plant along.

    Args:
        outline: the field, holes filled.
        facing: unit vector (east, north); only edges that face that way, within 45 degrees.
    """
    edges = edges_of(shapely.simplify(outline, SMOOTH_M))
    step = edges.end - edges.start
    length_m = np.hypot(*step.T)
    if facing is not None:
        outward = (step[:, 1] * facing[0] - step[:, 0] * facing[1]) / length_m
        beside = outward >= np.cos(np.radians(45.0)) - 1e-9
        length_m = np.where(beside, length_m, 0.0) if beside.any() else length_m
    return float(direction_deg(step[[int(np.argmax(np.round(length_m, 3)))]])[0])
