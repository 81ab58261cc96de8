"""Account for what one operation carries or brings in: pass by pass, in all, and at each fill."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from striplay.accounts.sowings import held_by_unit
from striplay.accounts.words import rate_words, unit_words
from striplay.operations.amounts import Amount, Part, layer_rates, load_of
from striplay.operations.judged import Judged
from striplay.plan.machines import Harvester
from striplay.plan.models import Plan
from striplay.section.mixture import sown_of
from striplay.section.section import Layer, Section
from striplay.tolerances import SEED_COUNT
from striplay.units import Quantity, measured_in, said, trim

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Measure:
    """What a person counts something in.

    Attributes:
        name: units, lb, gal, bu or another.
        one: what one of it is in SI.
        si_unit: of `one`.
        sold: how many of it a unit of seed holds, that is sold whole; 0 where it is not sold so.
        holds: what a unit holds, in words; empty likewise.
    """

    name: str
    one: float
    si_unit: str
    sold: float = 0.0
    holds: str = ""

    @property
    def short(self) -> str:
        """Its name over a column of figures."""
        return "1,000s" if self.name == THOUSAND else self.name


@dataclass(frozen=True)
class Load:
    """One thing that an operation carries or brings in.

    Attributes:
        what: such as "corn seed", a product's name, or "corn grain".
        crop: the crop; empty of a product.
        rate: how much by area, in words.
        measure: what it is counted in.
        brought_in: whether it is harvested, not used.
        used: what each pass uses or brings in, in that measure, (n,).
        twice: what ground that is planted twice takes besides, in all.
        at_fills: what goes in at each fill, or out, in the order of `Worksheet.fills`, (k,);
            none where that is not of the machine's own load.
        trips: cartloads of grain; None where not known.
        blend: whether it is all parts of a mixture together.
    """

    what: str
    crop: str
    rate: str
    measure: Measure
    brought_in: bool
    used: Floats
    twice: float
    at_fills: Floats
    trips: int | None = None
    blend: bool = False

    @cached_property
    def running(self) -> Floats:
        """What all passes up to each use or bring in, (n,)."""
        return np.cumsum(self.used)

    @property
    def total(self) -> float:
        """What all passes use or bring in; ground planted twice takes `twice` besides."""
        return float(self.used.sum())

    @property
    def to_load(self) -> float:
        """What to load in all, what is planted twice included."""
        return self.total + self.twice

    @property
    def units(self) -> int | None:
        """How many whole units of seed that takes; None where it is not sold by them."""
        sold = self.measure.sold
        return math.ceil(self.to_load / sold - SEED_COUNT) if sold else None

    def used_words(self, amount: float) -> str:
        """Write what a pass uses: three figures of the most that one uses, hundredths at most."""
        return f"{amount:,.{decimals(float(self.used.max(initial=0.0)), EACH, 2)}f}"

    def words(self, amount: float) -> str:
        """Say an amount in a sentence, such as "29.4 units of corn seed"."""
        return f"{self.amount_words(amount)} of {self.what}"

    def amount_words(self, amount: float) -> str:
        """Say an amount with what it is counted in, such as "29.4 units"."""
        if self.measure.name == THOUSAND:
            return f"{said(amount * self.measure.one)} seeds"
        figures = decimals(self.total + self.twice, IN_ALL, 1)
        return f"{trim(amount, figures)} {self.measure.name}"

    @cached_property
    def told_at_fills(self) -> Floats:
        """What goes in at each fill, or out, as it is written, so that all add up as written."""
        figures = decimals(self.to_load, IN_ALL, 1)
        so_far = np.round(np.append(0.0, np.cumsum(self.at_fills)), figures)
        return np.asarray(np.round(np.diff(so_far), figures), dtype=np.float64)

    def total_words(self, amount: float) -> str:
        """Write a running total or a fill: three figures of the whole, tenths at most."""
        return f"{amount:,.{decimals(self.total + self.twice, IN_ALL, 1)}f}"

    @property
    def to_load_words(self) -> str:
        """Say what to load in all, such as "312 units of 80,000 seeds"; seed rounded up."""
        if self.units is not None:
            unit = "unit" if self.units == 1 else "units"
            return f"{self.units:,} {unit} of {self.measure.holds}"
        if self.measure.name == THOUSAND:
            return self.amount_words(self.to_load)
        figures = decimals(self.to_load, IN_ALL, 1)
        amount = self.to_load
        if self.crop and not self.brought_in:  # fills of a product add up to it as written
            amount = math.ceil(amount * 10.0**figures - SEED_COUNT) / 10.0**figures
        return f"{trim(amount, figures)} {self.measure.name}"


EACH, IN_ALL = 3, 3
"""Figures of what a pass uses, and of what all use, as a tank's marks tell them (our choice)."""
THOUSAND = "thousand seeds"


def decimals(most: float, figures: int, at_most: int) -> int:
    """Say how many decimals give a number so many figures.

    >>> decimals(12.19, 3, 2), decimals(9.87, 3, 2), decimals(31_412, 4, 1), decimals(0.0, 3, 2)
    (1, 2, 0, 2)
    """
    if most <= 0:
        return at_most
    return min(max(figures - 1 - math.floor(math.log10(most)), 0), at_most)


def operation_loads(
    plan: Plan, section: Section, judged: Judged, twice_m2: Floats
) -> tuple[Load, ...]:
    """List what an operation carries or brings in: each crop's seed or grain, and its product.

    Seed of all passes is that of the rows they plant and of the headland; ground planted twice,
    where a planter does not shut off, takes the overlap of the accounts besides.

    Args:
        plan: rates, units and machines.
        section: the set.
        judged: the operation.
        twice_m2: ground planted twice, by layer of the section, (layers,).
    """
    return tuple(
        load
        for amount in judged.amounts
        for part in amount.parts
        if (load := _load(plan, section, judged, amount, part, twice_m2)) is not None
    )


def _load(
    plan: Plan, section: Section, judged: Judged, amount: Amount, part: Part, twice_m2: Floats
) -> Load | None:
    """Make the load of one crop, or of one product; None where its amount is not known."""
    if part.name == amount.what:
        rate = judged.job.rate
        assert rate is not None  # noqa: S101 - a product is only carried at a rate
        what, crop, rates = amount.what or "product", "", [rate]
        measure: Measure | None = _by_unit(plan, rate)
    elif amount.brought_in:
        what, crop = f"{part.name} {amount.what}", part.name
        harvested = plan.crops[crop].yield_rate
        rates = [] if harvested is None else [harvested]
        measure = None if harvested is None else _by_unit(plan, harvested)
    else:
        what, crop = f"{part.name} {amount.what}", part.name
        measure = _of_seed(plan, part)
        by = "kg" if plan.crops[crop].by_weight or "seeds" not in part.by_unit else "seeds"
        each = [layer_rates(plan, one) for one in _sown(plan, section, judged, crop)]
        rates = [Quantity(one[by], f"{by}_per_m2") for one in each if by in one]
    if measure is None:
        return None
    used = part.by_unit[measure.si_unit] / measure.one
    told = [rate_words(one.value, one.si_unit.removesuffix("_per_m2"), plan.units) for one in rates]
    return Load(
        what=what,
        crop=crop,
        rate=", ".join(dict.fromkeys(told)),
        measure=measure,
        brought_in=amount.brought_in,
        used=used,
        twice=_twice(plan, section, judged, crop, twice_m2, measure),
        at_fills=at_fills(plan, judged, amount.what, used),
        trips=_trips(plan, judged, part) if amount.brought_in else None,
    )


def _by_unit(plan: Plan, rate: Quantity) -> Measure:
    """Count a product or grain in what its rate is stated in."""
    si_unit = rate.si_unit.removesuffix("_per_m2")
    return Measure(*measured_in(si_unit, plan.units), si_unit)


def _of_seed(plan: Plan, part: Part) -> Measure | None:
    """Count seed by weight where it is sold so, else in units where stated, else by number.

    None where neither its number nor its weight is known.
    """
    crop, known = plan.crops[part.name], part.by_unit
    held = held_by_unit(crop, by_number="seeds" in known, by_weight="kg" in known)
    sold = crop.unit if held is not None else None
    holds = "" if sold is None else unit_words(sold, plan.units)
    if "kg" in known and (crop.by_weight or "seeds" not in known):
        name, one = measured_in("kg", plan.units)
        size = 0.0 if sold is None or crop.unit_kg is None else crop.unit_kg / one
        return Measure(name, one, "kg", size, holds if size else "")
    if sold is not None and held is not None:
        return Measure("units", held.value, held.si_unit, 1.0, holds)
    return Measure(THOUSAND, 1e3, "seeds") if "seeds" in known else None


def _sown(plan: Plan, section: Section, judged: Judged, crop: str) -> list[Layer]:
    """List the layers of a crop that an operation plants, on strips and on the headland."""
    route = judged.route
    on_strips = zip(section.layers, _planted(judged), strict=True)
    around = dict.fromkeys(route.crop[route.place == "headland"].tolist())
    layers = [
        *(layer for layer, some in on_strips if some),
        *(layer for label in around for layer in sown_of(plan, label)),
    ]
    return [layer for layer in layers if layer.crop == crop]


def _planted(judged: Judged) -> list[bool]:
    """Tell of each layer of the section whether an operation's passes go over rows of it."""
    return [total_m2 > 0 for total_m2 in judged.route.sown_m2.sum(axis=0).tolist()]


def _twice(
    plan: Plan,
    section: Section,
    judged: Judged,
    crop: str,
    twice_m2: Floats,
    measure: Measure,
) -> float:
    """Give what ground that an operation plants twice takes of a crop's seed, in its measure."""
    if judged.job.does != "plant":
        return 0.0
    each = zip(section.layers, _planted(judged), twice_m2.tolist(), strict=True)
    taken = [
        m2 * layer_rates(plan, layer).get(measure.si_unit, 0.0)
        for layer, planted, m2 in each
        if planted and layer.crop == crop
    ]
    return float(sum(taken)) / measure.one


def at_fills(plan: Plan, judged: Judged, what: str, used: Floats) -> Floats:
    """Give what goes in or out at each fill, where it is of what the machine's tank is for.

    Args:
        plan: what machines hold.
        judged: the operation.
        what: seed, grain or the product's name.
        used: what each pass uses or brings in of it, or of a part of it, (n,).
    """
    if judged.loads is None or not is_for_tank(plan, judged, what):
        return np.empty(0)
    return judged.loads.of_part(used)


def is_for_tank(plan: Plan, judged: Judged, what: str) -> bool:
    """Tell whether something that an operation carries or brings in is what its tank is for.

    Args:
        plan: what machines hold.
        judged: the operation.
        what: seed, grain or the product's name.
    """
    holds = plan.machines[judged.job.machine].holds
    load = None if holds is None else load_of(judged.amounts, holds)
    return load is not None and load.what == what


def _trips(plan: Plan, judged: Judged, part: Part) -> int | None:
    """Count the cartloads of a crop's grain; None without a cart that is said to hold so much."""
    machine = plan.machines[judged.job.machine]
    cart = machine.cart if isinstance(machine, Harvester) else None
    holds = None if cart is None else plan.machines[cart].holds
    if holds is None or holds.si_unit not in part.by_unit:
        return None
    return math.ceil(float(part.by_unit[holds.si_unit].sum()) / holds.value - SEED_COUNT)
