"""Say what seed ground takes, three ways: by number, in units as sold, and by weight."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.section.section import Layer
from striplay.units import Quantity


@dataclass(frozen=True, slots=True)
class Seed:
    """An amount of seed three ways, each NaN where not known: numbers, or arrays of one shape.

    Attributes:
        seeds: by number.
        seed_units: in bags or other units, as sold.
        seed_kg: by weight, as it stands in the bag.
    """

    seeds: Any
    seed_units: Any
    seed_kg: Any

    def __add__(self, other: "Seed") -> "Seed":
        return Seed(
            self.seeds + other.seeds,
            self.seed_units + other.seed_units,
            self.seed_kg + other.seed_kg,
        )

    @property
    def data(self) -> dict[str, float | None]:
        """The amounts by name, None where not known."""
        return {
            name: None if np.isnan(amount) else float(amount)
            for name, amount in asdict(self).items()
        }


NO_SEED = Seed(0.0, 0.0, 0.0)


def seed_of(plan: Plan, layer: Layer, ground_m2: Any) -> Seed:  # noqa: ANN401 - a number or an array
    """Say what seed of a layer some ground takes, sown at the layer's share of its full rate.

    Units as in `held_by_unit`.
    """
    crop = plan.crops[layer.crop]

    def times(per_m2: float | None) -> Any:  # noqa: ANN401 - as above
        return np.where(ground_m2 == 0.0, 0.0, ground_m2 * (np.nan if per_m2 is None else per_m2))

    seeds, kg = layer.seed_rate_per_m2, layer.seed_kg_per_m2
    held = held_by_unit(crop, by_number=seeds is not None, by_weight=kg is not None)
    units = None
    if held is not None:
        rate = seeds if held.si_unit == "seeds" else kg
        units = None if rate is None else rate / held.value
    return Seed(times(seeds), times(units), times(kg))


def held_by_unit(crop: Crop, *, by_number: bool, by_weight: bool) -> Quantity | None:
    """Say what one unit of a crop's seed holds: seeds, or its weight; None where not known.

    By number or by weight, whichever is known both of the seed and of the unit.
    """
    if by_number and crop.unit_seeds is not None:
        return Quantity(crop.unit_seeds, "seeds")
    if by_weight and crop.unit_kg is not None:
        return Quantity(crop.unit_kg, "kg")
    return None


def added(plan: Plan, sown: Iterable[tuple[Layer, float]]) -> Seed:
    """Add up the seed that ground takes, layer by layer; of one crop, so that bags add up."""
    return sum((seed_of(plan, layer, m2) for layer, m2 in sown), NO_SEED)
