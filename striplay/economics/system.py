"""Reckon what a laid field yields and costs, crop by crop."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from striplay.accounts.buy import seed_to_buy
from striplay.accounts.count import PieceFigures
from striplay.accounts.overlap import planted_twice_m2
from striplay.economics.edges import NOTHING, EdgeTable, Estimate
from striplay.economics.ground import RowGround, Sown, row_ground
from striplay.economics.variant import CropPart, EdgeLand, Pair, Variant
from striplay.errors import PlanError
from striplay.laid import Laid
from striplay.operations.judged import Judged, Operations
from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.section.mixture import crops_named, sown_of
from striplay.section.section import Section
from striplay.section.yield_shares import yield_share, yield_shares


@dataclass(frozen=True)
class Field:
    """A laid field, as far as money needs it.

    Attributes:
        plan: what was asked.
        laid: strips and rows.
        figures: of each piece of strip.
        operations: the season's, judged.
        strips_m2: ground of strips.
        headland_m2: ground of the headland.
    """

    plan: Plan
    laid: Laid
    figures: PieceFigures
    operations: Operations
    strips_m2: float
    headland_m2: float

    @property
    def headland_sown_m2(self) -> float:
        """Ground of the headland where it is planted."""
        return 0.0 if self.plan.headland_crop is None else self.headland_m2


def system_of(field: Field, edges: EdgeTable, name: str) -> Variant:
    """Reckon what a laid field yields and costs.

    Args:
        field: the field.
        edges: what is known of rows at edges.
        name: what to call it.

    Raises:
        PlanError: a seed price for seed whose amount is not known; what crops yield together is
            taken to be stated.
    """
    grown = _grown(field, edges)
    costs = _Costs(field, {crop: part.area_m2 for crop, part in grown.items()})
    parts = {crop: part.plus(costs.of(crop)) for crop, part in grown.items()}
    return Variant(name, parts, field.strips_m2 + field.headland_sown_m2)


def _grown(field: Field, edges: EdgeTable) -> dict[str, CropPart]:
    """Give each crop's ground, the headland's included, and what its edges gain."""
    plan, section = field.plan, field.laid.section
    grown = grown_on(plan, section, row_ground(field.laid), edges)
    around = plan.headland_crop
    kept = 1.0 - headland_loss(plan)
    layers = () if around is None else sown_of(plan, around)
    for layer in layers:
        inner_m2 = field.headland_m2 * kept * (yield_share(plan, layer) or 0.0)
        land_m2 = field.headland_m2 / len(layers)
        part = CropPart(field.headland_m2, inner_m2, land_m2)
        grown[layer.crop] = grown[layer.crop].plus(part) if layer.crop in grown else part
    return grown


def grown_on(
    plan: Plan, section: Section, ground: RowGround, edges: EdgeTable
) -> dict[str, CropPart]:
    """Give the ground of each crop's rows, and what its edges gain, without costs.

    A crop sown between the rows of another has the ground of these: what it yields there, wheel
    tracks left out and all, is told by that ground.
    """
    shares = {layer: share or 0.0 for layer, share in yield_shares(plan, section).items()}
    own_m2 = {(one.strip, one.layer.label): m2 for one, m2 in ground.sown_m2.items()
              if one.layer.number == 0}  # fmt: skip
    on = {one: _stands_on(one, own_m2) for one in ground.sown_m2}
    reaped = Counter(on[one] for one in on if plan.crops[one.layer.crop].reaped)
    area_m2: dict[str, float] = defaultdict(float)
    inner_m2: dict[str, float] = defaultdict(float)
    land_m2: dict[str, float] = defaultdict(float)
    for sown, m2 in ground.sown_m2.items():
        crop, of_m2 = sown.layer.crop, own_m2.get(on[sown], m2)
        area_m2[crop] += of_m2
        inner_m2[crop] += of_m2 * shares[sown.layer]
        if plan.crops[crop].reaped:
            land_m2[crop] += of_m2 / reaped[on[sown]]
    lands = edge_lands(plan, section, ground, edges)
    return {
        crop: CropPart(area_m2[crop], inner_m2[crop], land_m2[crop], lands.get(crop, {}))
        for crop in area_m2
    }


def _stands_on(sown: Sown, own_m2: Mapping[tuple[int, str], float]) -> tuple[int, str]:
    """Name the ground of a layer: its strip, and whose rows' ground it is, its own or its host's.

    Of a host that is part of a mixture it is the mixture's.
    """
    layer = sown.layer
    if layer.number == 0:
        return sown.strip, layer.label
    labels = [label for strip, label in own_m2 if strip == sown.strip]
    return sown.strip, layer.host if layer.host in labels else next(iter(labels), layer.label)


def headland_loss(plan: Plan) -> float:
    """Give the share of its yield that a headland loses, as far as the plan states it; else 0."""
    stated = "headland_loss" in plan.cost.model_fields_set
    return plan.cost.headland_loss if stated else 0.0


def edge_lands(
    plan: Plan, section: Section, ground: RowGround, edges: EdgeTable
) -> dict[str, dict[Pair, EdgeLand]]:
    """Give what edges gain, by crop and by pair of crops or mixtures side by side.

    A mixture's edges gain alike in each of its crops.
    """
    shares = {layer: share or 0.0 for layer, share in yield_shares(plan, section).items()}
    own = [(layer, share) for layer, share in shares.items() if layer.number == 0 and share]
    found: dict[str, dict[Pair, EdgeLand]] = defaultdict(dict)
    for edge, m2 in ground.edge_m2.items():
        known = edges.gain(edge.crop, edge.beside, edge.side, edge.rows_run, edge.row)
        land = EdgeLand(
            known.gain.times(m2), m2 if edge.row == 1 else 0.0, known.sources, known.measured
        )
        pair = (edge.crop, edge.beside)
        for layer, share in own:
            if layer.label == edge.crop:
                lands, mine = found[layer.crop], land.times(share)
                lands[pair] = lands[pair].plus(mine) if pair in lands else mine
    return dict(found)


class _Costs:
    """The costs of a field's crops."""

    def __init__(self, field: Field, area_m2: Mapping[str, float]) -> None:
        self.field, self.area_m2 = field, area_m2
        twice_m2 = planted_twice_m2(field.plan, field.laid)
        bought = seed_to_buy(field.plan, field.laid, field.figures, field.headland_m2, twice_m2)
        self.seed = {crop: _seed(field.plan, crop, account) for crop, account in bought.items()}
        none = CropPart(0.0, 0.0)
        self.work: dict[str, CropPart] = dict.fromkeys(area_m2, none)
        for judged in field.operations.each:
            whole = _work(field.plan, judged)
            for crop, share in self._split(judged).items():
                self.work[crop] = self.work[crop].plus(whole.times(share))

    def of(self, crop: str) -> CropPart:
        """Give the costs of one crop, without its ground."""
        other = (self.field.plan.crops[crop].other_costs_per_m2 or 0.0) * self.area_m2[crop]
        own = CropPart(0.0, 0.0, seed=self.seed.get(crop, 0.0), other=other)
        return own.plus(self.work[crop])

    def _split(self, judged: Judged) -> dict[str, float]:
        """Share an operation among its crops by the ground it works for each."""
        labels, of = np.unique(judged.route.crop.astype(str), return_inverse=True)
        each_m2 = np.bincount(of.reshape(-1), judged.route.area_m2, minlength=len(labels))
        shared: dict[str, float] = defaultdict(float)
        for label, m2 in zip(labels.tolist(), each_m2.tolist(), strict=True):
            named = [n for one in label.split(" + ") for n in crops_named(self.field.plan, one)]
            own = {crop: self.area_m2[crop] for crop in named if self.area_m2.get(crop)}
            for crop, area_m2 in own.items():
                shared[crop] += m2 * area_m2 / sum(own.values())
        total = sum(shared.values())
        return {crop: m2 / total for crop, m2 in shared.items()} if total else {}


def _work(plan: Plan, judged: Judged) -> CropPart:
    """Give the hours, fuel and product of an operation, in money too."""
    job, hours_s, used = judged.job, judged.hours.total_s, judged.fuel
    wish = plan.operations[job.asked - 1] if job.asked else None
    price, rate = (None, None) if wish is None else (wish.product_price, job.rate)
    product = 0.0
    if price is not None and rate is not None:
        product = price.value * rate.value * float(judged.route.area_m2.sum())
    fuel_m3 = NOTHING if used is None else Estimate(used.low_m3, used.m3, used.high_m3)
    return CropPart(
        0.0,
        0.0,
        product=product,
        machine=hours_s * plan.machines[job.machine].cost_per_s,
        hours_s=hours_s,
        fuel_m3=fuel_m3,
        fuel=fuel_m3.times(plan.economics.fuel_price_per_m3 or 0.0),
    )


SEED_KEYS = {"per_unit": "seed_units", "per_seed": "seeds", "per_kg": "seed_kg"}
"""The amount of seed that a price is by."""


def _seed(plan: Plan, crop: str, account: Mapping[str, Mapping[str, float | None]]) -> float:
    """Price the seed of a crop: of strips, headland and ground planted twice, not rounded up."""
    price = plan.crops[crop].seed_price
    if price is None:
        return 0.0
    parts = [account[f"for_{part}"][SEED_KEYS[price.si_unit]]
             for part in ("strips", "headland", "overlap")]  # fmt: skip
    known = [amount for amount in parts if amount is not None]
    if len(known) < len(parts):
        key, example = _lacking(plan.crops[crop], price.si_unit)
        said = f'is missing: seed_price needs it; for example {key} = "{example}"'
        raise PlanError(plan.path.name, [f"crops.{crop}.{key}: {said}"])
    return price.value * sum(known)


def _lacking(crop: Crop, price_unit: str) -> tuple[str, str]:
    """Name the key that is missing for the amount of seed that a price is by, and an example."""
    if crop.rate is None:
        return "rate", "34000 seeds/acre"
    if crop.unit is None and price_unit == "per_unit":
        return "unit", "80000 seeds"
    return "seed_size", "1600 seeds/lb"
