"""Say at which rates an operation works each strip and the headland, for a machine's computer."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from striplay.accounts.count import pieces_worked
from striplay.laid import Laid
from striplay.operations.amounts import layer_rates
from striplay.operations.jobs import Job, crops_of
from striplay.operations.judged import Judged
from striplay.plan.models import Plan
from striplay.section.mixture import is_mixture, sown_of
from striplay.section.section import Layer, Row, Section
from striplay.tolerances import INSIDE_M, MIDDLE_OFF_M
from striplay.units import Quantity

HEADLAND = "headland"


@dataclass(frozen=True, slots=True)
class Rate:
    """How much of one thing ground takes.

    Attributes:
        product: its name, such as "corn seed".
        per_m2: seeds, kilograms or cubic meters to the square meter.
    """

    product: str
    per_m2: Quantity


@dataclass(frozen=True, slots=True)
class Zone:
    """A strip, or the headland, that an operation works at its rates.

    Attributes:
        strip: its number; None of the headland.
        crop: what stands or is sown there that the operation is of: a crop or mixture, or several
            joined by " + ".
        rates: of each thing, one at least.
    """

    strip: int | None
    crop: str
    rates: tuple[Rate, ...]


def zones_of(plan: Plan, laid: Laid, judged: Judged) -> tuple[Zone, ...]:
    """Give the strips that an operation works, by number, then the headland; none without a rate.

    Args:
        plan: rates of seed.
        laid: strips, block by block.
        judged: the operation.
    """
    job, section = judged.job, laid.section
    kinds = _kinds(laid)
    found = []
    for number in np.unique(pieces_worked(judged.route, laid)[1]).tolist():
        kind = kinds[number]
        rates = _rates(plan, job, _planted(job, section, kind) if job.does == "plant" else ())
        found.append(Zone(number, _named(job, section, kind), rates))
    around = judged.route.crop[judged.route.place == HEADLAND]
    if len(around):
        labels = list(dict.fromkeys(name for crop in around.tolist() for name in crop.split(" + ")))
        sown = [sown_of(plan, label) for label in labels] if job.does == "plant" else []
        found.append(Zone(None, " + ".join(labels), _rates(plan, job, sown)))
    return tuple(zone for zone in found if zone.rates)


def beside_zones(laid: Laid, judged: Judged, zones: Sequence[Zone]) -> int:
    """Count the passes whose machine's middle is not well inside any of an operation's zones.

    A boom over several strips may run with its middle over one that it does not work, and a
    planter that works few rows of a narrow piece beside it. What takes the rate at the machine's
    middle finds none there.

    Args:
        laid: strips, block by block.
        judged: the operation.
        zones: its zones.
    """
    numbers = {zone.strip for zone in zones}
    shapes = [
        block.path.back(block.pieces.strips.polygon)[
            np.isin(block.strip_number, [number for number in numbers if number is not None])
        ]
        for block in laid.blocks
    ]
    if None in numbers:
        shapes.append(laid.headland)
    joined = shapely.union_all(shapely.buffer(np.concatenate(shapes), INSIDE_M))
    inner = shapely.buffer(joined, -INSIDE_M - MIDDLE_OFF_M)
    shapely.prepare(inner)
    middles = shapely.line_interpolate_point(judged.route.line, 0.5, normalized=True)
    return int((~shapely.contains(inner, middles)).sum())


def _kinds(laid: Laid) -> Mapping[int, int]:
    """Give by the number of each strip which strip of the set it is."""
    return {
        number: kind
        for block in laid.blocks
        for number, kind in zip(
            block.strip_number.tolist(), block.pieces.strips.kind.tolist(), strict=True
        )
    }


def _named(job: Job, section: Section, kind: int) -> str:
    """Name what of an operation's crops a strip of the set carries."""
    named = crops_of(job)
    here = dict.fromkeys(row.label for row in section.rows if row.strip == kind)
    return " + ".join(label for label in here if label in named)


def _planted(job: Job, section: Section, kind: int) -> list[tuple[Layer, ...]]:
    """List what planter passes over a strip of the set carry, once each.

    A pass that plants several crops carries the seed of all, whichever its middle is over.
    """
    found: dict[tuple[Layer, ...], None] = {}
    for crop in job.crops:
        rows = [section.rows[index] for index in section.planted(job.machine, crop)]
        here = [row for row in rows if row.strip == kind]
        carried: Sequence[Row] = rows if here and " + " in crop else here
        found |= dict.fromkeys(row.sown for row in carried)
    return list(found)


def _rates(plan: Plan, job: Job, sown: Iterable[tuple[Layer, ...]]) -> tuple[Rate, ...]:
    """Give the rates of seed that is sown, and of the product that goes with the operation."""
    each: dict[str, Rate] = {}
    for layers in sown:
        for rate in _of_seed(plan, layers):
            each.setdefault(rate.product, rate)
    if job.rate is not None:
        name = job.product or "product"
        each.setdefault(name, Rate(name, job.rate))
    return tuple(each.values())


def _of_seed(plan: Plan, layers: Sequence[Layer]) -> Iterator[Rate]:
    """Give the rates of what is sown in a row; of a mixture known by weight, that of the blend."""
    label = layers[0].label
    weights_kg = [layer.seed_kg_per_m2 for layer in layers]
    known_kg = [kg for kg in weights_kg if kg is not None]
    if is_mixture(plan, label) and len(known_kg) == len(layers):
        yield Rate(f"{label} seed", Quantity(sum(known_kg), "kg_per_m2"))
        return
    for layer in layers:
        rates = layer_rates(plan, layer)
        by = "kg" if plan.crops[layer.crop].by_weight or "seeds" not in rates else "seeds"
        if by in rates:
            yield Rate(f"{layer.crop} seed", Quantity(rates[by], f"{by}_per_m2"))
