"""Say what each pass uses or brings in: seed, product and grain."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.fills import Fills, Loads, fills_of, loads_of
from striplay.operations.route import Route
from striplay.plan.defaults import BASE_MOISTURE, BUSHEL_KG, kind_named
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
class Part:
    """What the passes of a route use or bring in of one crop, or of one product.

    Attributes:
        name: of the crop, or of the product.
        by_unit: of each pass, (n,), by SI unit, in each that it is known in.
    """

    name: str
    by_unit: Mapping[str, Floats]


@dataclass(frozen=True)
class Amount:
    """What the passes of a route use or bring in, of all crops together and of each.

    Attributes:
        what: seed, grain or the product's name.
        brought_in: whether it is harvested, not used.
        parts: of each crop; one where it is a product.
        crop: number of the crop each pass carries or brings in, (n,); one where it is a product.
    """

    what: str
    brought_in: bool
    parts: tuple[Part, ...]
    crop: Integers

    @cached_property
    def by_unit(self) -> Mapping[str, Floats]:
        """All together of each pass, (n,), by SI unit, in those that are known of all."""
        known = [unit for unit in UNITS if all(unit in part.by_unit for part in self.parts)]
        return {unit: np.sum([part.by_unit[unit] for part in self.parts], 0) for unit in known}


UNITS = ("seeds", "kg", "bu", "m3")
"""The SI units of what is used or brought in."""


def amounts_of(plan: Plan, section: Section, route: Route) -> tuple[Amount, ...]:
    """Say what each pass of a route uses or brings in; nothing where the plan does not state it.

    Args:
        plan: rates, yields and weights of bushels.
        section: the set, whose rows say what a planter carries.
        route: the passes, with the ground each works.
    """
    does, found = route.job.does, []
    crop = np.unique(route.crop.astype(str), return_inverse=True)[1].reshape(-1).astype(np.int64)
    if does == "plant":
        found.append(
            Amount("seed", brought_in=False, parts=_parts(_sown(plan, section, route)), crop=crop)
        )
    if does == "harvest":
        found.append(
            Amount("grain", brought_in=True, parts=_parts(_reaped(plan, route)), crop=crop)
        )
    if route.job.rate is not None:
        rate = route.job.rate
        each = {_amount_unit(rate): rate.value * route.area_m2}
        name, alike = route.job.product, np.zeros(len(route), dtype=np.int64)
        found.append(Amount(name, brought_in=False, parts=(Part(name, each),), crop=alike))
    return tuple(one for one in found if any(part.by_unit for part in one.parts))


def _amount_unit(rate: Quantity) -> str:
    return rate.si_unit.removesuffix("_per_m2")


def _parts(taken: Iterable[tuple[str, Rates, Floats]]) -> tuple[Part, ...]:
    """Add up what ground takes or yields, crop by crop.

    Args:
        taken: a crop, its rates and the ground of each pass, (n,); a crop may come again.
    """
    each: dict[str, dict[str, Floats]] = {}
    for crop, rates, ground_m2 in taken:
        if not ground_m2.any():
            continue
        here = {unit: ground_m2 * rates[unit] for unit in UNITS if unit in rates}
        before = each.get(crop)
        if before is not None:
            here = {unit: before[unit] + here[unit] for unit in here if unit in before}
        each[crop] = here
    return tuple(Part(crop, by_unit) for crop, by_unit in each.items())


def _sown(plan: Plan, section: Section, route: Route) -> Iterator[tuple[str, Rates, Floats]]:
    """Give the ground that seed goes into, on strips by layer and on the headland by crop."""
    for number, layer in enumerate(section.layers):
        yield layer.crop, layer_rates(plan, layer), route.sown_m2[:, number]
    around = route.place == "headland"
    for label in dict.fromkeys(route.crop[around].tolist()):
        ground_m2 = np.where(around & (route.crop == label), route.area_m2, 0.0)
        for layer in sown_of(plan, label):
            yield layer.crop, layer_rates(plan, layer), ground_m2


def _reaped(plan: Plan, route: Route) -> Iterator[tuple[str, Rates, Floats]]:
    """Give the ground that grain comes from, by crop."""
    for crop in dict.fromkeys(route.crop.tolist()):
        yield crop, _grain_rates(plan, crop), np.where(route.crop == crop, route.area_m2, 0.0)


def _grain_rates(plan: Plan, crop: str) -> Rates:
    """Give what a crop yields to the square meter, in the units it is known in."""
    rate = plan.crops[crop].yield_rate if crop in plan.crops else None
    if rate is None:
        return {}
    return _measured({_amount_unit(rate): rate.value}, bushel_kg(plan, crop))


def layer_rates(plan: Plan, layer: Layer) -> Rates:
    """Give the seed of a layer that ground takes, in the units it is known in."""
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


def base_moisture(plan: Plan, crop: str) -> float | None:
    """Give the moisture a crop is sold at: the plan's, else that of its kind; None if unknown."""
    stated = plan.crops[crop].base_moisture if crop in plan.crops else None
    return BASE_MOISTURE.get(kind_of(plan, crop)) if stated is None else stated


def kind_of(plan: Plan, crop: str) -> str:
    """Name the kind of crop that one of the plan's is: what it is like, else its own name."""
    return kind_named(crop, plan.crops[crop].like if crop in plan.crops else None)


def load_of(amounts: Sequence[Amount], holds: Quantity) -> Amount | None:
    """Give what a machine's tank is for: the first amount known in its unit; None where none is."""
    return next((one for one in amounts if holds.si_unit in one.by_unit), None)


def loads_on(plan: Plan, route: Route, amounts: Sequence[Amount], fills: Fills) -> Loads:
    """Say what goes in, or out, at each fill of a route, as `fills_on` gives them."""
    holds = plan.machines[route.job.machine].holds
    load = None if holds is None else load_of(amounts, holds)
    assert holds is not None and load is not None  # noqa: PT018, S101 - it has fills
    amount = load.by_unit[holds.si_unit]
    return loads_of(fills, amount, holds.value, load.crop, brought_in=load.brought_in)


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
