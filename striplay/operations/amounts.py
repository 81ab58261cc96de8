"""Say what each pass uses or brings in: seed, product and grain."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.fills import Fills, fills_of
from striplay.operations.route import Route
from striplay.plan.defaults import BUSHEL_KG, kind_named
from striplay.plan.models import Plan
from striplay.section.mixture import sown_of
from striplay.section.section import Layer, Section
from striplay.units import BUSHEL_M3, Quantity

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Rates = Mapping[str, float]
"""What ground takes or yields to the square meter, by the SI unit it is known in."""


@dataclass(frozen=True)
class Amount:
    """What the passes of a route use or bring in, in each unit that it is known in.

    Attributes:
        what: seed, grain or the product's name.
        brought_in: whether it is harvested, not used.
        by_unit: of each pass, (n,), by SI unit: seeds, kg, m3 or bu; none where not known of all.
        crop: number of the crop each pass carries or brings in, (n,); one where it is a product.
    """

    what: str
    brought_in: bool
    by_unit: Mapping[str, Floats]
    crop: Integers


def amounts_of(plan: Plan, section: Section, route: Route) -> tuple[Amount, ...]:
    """Say what each pass of a route uses or brings in; nothing where the plan does not state it.

    Args:
        plan: rates, yields and weights of bushels.
        section: the set, whose rows say what a planter carries.
        route: the passes, with the ground each works.
    """
    does, found = route.job.does, []
    if does == "plant":
        found.append(_by_crop(route, "seed", lambda *of: _seed_rates(plan, section, route, *of)))
    if does == "harvest":
        found.append(_by_crop(route, "grain", lambda crop, _: _grain_rates(plan, crop)))
    if route.job.rate is not None:
        rate = route.job.rate
        each = {_amount_unit(rate): rate.value * route.area_m2}
        alike = np.zeros(len(route), dtype=np.int64)
        found.append(Amount(route.job.product, brought_in=False, by_unit=each, crop=alike))
    return tuple(one for one in found if one.by_unit)


def _amount_unit(rate: Quantity) -> str:
    return rate.si_unit.removesuffix("_per_m2")


def _by_crop(route: Route, what: str, rates: Callable[[str, str], Rates]) -> Amount:
    """Give amounts by the rates of each crop on strips and headland."""
    _, crop = np.unique(route.crop.astype(str), return_inverse=True)
    pairs = list(zip(route.crop.tolist(), route.place.tolist(), strict=True))
    known = {pair: rates(*pair) for pair in dict.fromkeys(pairs)}
    in_all = [unit for unit in ("seeds", "kg", "bu", "m3")
              if known and all(unit in one for one in known.values())]  # fmt: skip
    each = {
        unit: route.area_m2 * np.array([known[pair][unit] for pair in pairs]) for unit in in_all
    }
    return Amount(what, what == "grain", each, crop.reshape(-1).astype(np.int64))


def _grain_rates(plan: Plan, crop: str) -> Rates:
    """Give what a crop yields to the square meter, in the units it is known in."""
    rate = plan.crops[crop].yield_rate if crop in plan.crops else None
    if rate is None:
        return {}
    return _measured({_amount_unit(rate): rate.value}, bushel_kg(plan, crop))


def _seed_rates(plan: Plan, section: Section, route: Route, crop: str, place: str) -> Rates:
    """Give the seed that the ground of a planter's rows takes, in the units it is known in."""
    if place == "headland":
        return _added([(_layer_rates(plan, layer), 1.0) for layer in sown_of(plan, crop)])
    rows = [
        section.rows[index]
        for one in section.passes
        if (one.operation, one.machine, one.crop) == ("plant", route.job.machine, crop)
        for index in one.rows
    ]
    ground_m = sum(row.spacing_m for row in rows)
    shares = [(layer, row.spacing_m / ground_m) for row in rows for layer in row.sown]
    return _added([(_layer_rates(plan, layer), share) for layer, share in shares])


def _added(parts: Sequence[tuple[Rates, float]]) -> Rates:
    """Add up rates by their shares of the ground, in the units that all are known in."""
    units = [
        unit for unit in (parts[0][0] if parts else ()) if all(unit in one for one, _ in parts)
    ]
    return {unit: sum(one[unit] * share for one, share in parts) for unit in units}


def _layer_rates(plan: Plan, layer: Layer) -> Rates:
    known = {"seeds": layer.seed_rate_per_m2, "kg": layer.seed_kg_per_m2}
    stated = {unit: rate for unit, rate in known.items() if rate is not None}
    return _measured(stated, bushel_kg(plan, layer.crop))


def _measured(known: Rates, weight_kg: float | None) -> Rates:
    """Give what is known by weight in bushels too, and the other way round, and their volume.

    A bushel by weight is taken to fill one by volume, as it does at its usual test weight.
    """
    rates = dict(known)
    if weight_kg is not None and "kg" in rates:
        rates.setdefault("bu", rates["kg"] / weight_kg)
    if weight_kg is not None and "bu" in rates:
        rates.setdefault("kg", rates["bu"] * weight_kg)
    if "bu" in rates:
        rates["m3"] = rates["bu"] * BUSHEL_M3
    return rates


def bushel_kg(plan: Plan, crop: str) -> float | None:
    """Give the weight of a crop's bushel: the plan's, else that of its kind; None if unknown."""
    stated = plan.crops[crop].bushel_kg if crop in plan.crops else None
    return BUSHEL_KG.get(kind_of(plan, crop)) if stated is None else stated


def kind_of(plan: Plan, crop: str) -> str:
    """Name the kind of crop that one of the plan's is: what it is like, else its own name."""
    return kind_named(crop, plan.crops[crop].like if crop in plan.crops else None)


def load_of(amounts: Sequence[Amount], holds: Quantity) -> Amount | None:
    """Give what a machine's tank is for: the first amount known in its unit; None where none is."""
    return next((one for one in amounts if holds.si_unit in one.by_unit), None)


def fills_on(
    plan: Plan, route: Route, amounts: Sequence[Amount], on_the_go: Bools | None = None
) -> Fills | None:
    """Say where a route's machine fills or unloads; None where what it takes or holds is unknown.

    What is carried is changed with the crop: seed left of one is no seed of the next, and grain of
    two crops is kept apart.

    Args:
        plan: what machines hold.
        route: the passes.
        amounts: what they use or bring in.
        on_the_go: passes on which a combine unloads into a cart as it goes, (n,); None where none.
    """
    holds = plan.machines[route.job.machine].holds
    load = None if holds is None else load_of(amounts, holds)
    if holds is None or load is None:
        return None
    length_m = np.asarray(shapely.length(route.line), dtype=np.float64)
    if load.brought_in and on_the_go is None:
        on_the_go = np.zeros(len(route), dtype=bool)
    return fills_of(load.by_unit[holds.si_unit], holds.value, length_m, load.crop, on_the_go)
