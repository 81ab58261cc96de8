"""Reckon the indices of measured trials: crops together against the same crops alone."""

import math
from dataclasses import dataclass
from itertools import permutations
from typing import Any

from striplay.economics.indices import (
    Grown,
    aggressivity,
    area_time_equivalent_ratio,
    best_alone,
    competitive_ratio,
    land_equivalent_ratio,
    monetary_advantage,
    monetary_equivalent_ratio,
    net_effect,
    net_effect_ratio,
    value_together,
)
from striplay.errors import YieldError

PAIR = 2


@dataclass(frozen=True)
class Trial:
    """Crops measured together and alone in one trial.

    Attributes:
        name: of the trial.
        crops: yields in kilograms, or in bushels where a bushel's weight is not known, to the
            square meter.
        shares: whether their shares of the land are given.
        by_weight: whether all yields are by weight, so that they can be added.
        held_days: how long the land is held in all; None where days are not given.
    """

    name: str
    crops: tuple[Grown, ...]
    shares: bool
    by_weight: bool
    held_days: float | None = None

    @property
    def two(self) -> bool:
        """Whether two crops with shares of the land stand against each other."""
        return self.shares and len(self.crops) == PAIR

    @property
    def priced(self) -> bool:
        """Whether all crops have a price."""
        return all(crop.price is not None for crop in self.crops)


def indices_of(trial: Trial) -> dict[str, Any]:
    """Give every index that a trial's figures allow; None where they don't.

    The monetary equivalent ratio stands beside the land equivalent ratio: land saved may still
    earn less than the best crop alone.
    """
    crops = trial.crops
    pairs = list(permutations(crops, 2)) if trial.two else []
    ends = trial.shares and trial.by_weight
    earns = trial.priced and any(crop.together for crop in crops)
    return {
        "trial": trial.name,
        "land_equivalents": {crop.name: crop.land_equivalent for crop in crops},
        "land_equivalent_ratio": land_equivalent_ratio(crops),
        "monetary_equivalent_ratio": monetary_equivalent_ratio(crops) if trial.priced else None,
        "best_alone": best_alone(crops).name if trial.priced else None,
        "value_together_per_m2": value_together(crops) if trial.priced else None,
        "monetary_advantage_per_m2": monetary_advantage(crops) if earns else None,
        "area_time_equivalent_ratio": _area_time(trial),
        "competitive_ratios": {
            one.name: _finite(competitive_ratio(one, other)) for one, other in pairs
        },
        "aggressivity": {one.name: aggressivity(one, other) for one, other in pairs},
        "net_effect_kg_per_m2": net_effect(crops) if ends else None,
        "net_effect_ratio": net_effect_ratio(crops) if ends else None,
    }


def _area_time(trial: Trial) -> float | None:
    """Give the area time equivalent ratio; None where days are not given."""
    if trial.held_days is None:
        return None
    return area_time_equivalent_ratio(trial.crops, trial.held_days)


def _finite(value: float) -> float | None:
    """Give a number; None where it has no end, as against a crop that yields nothing together."""
    return value if math.isfinite(value) else None


def check_trial(trial: Trial) -> None:
    """Check that a trial has two crops or more, each once, and shares that add up.

    Raises:
        YieldError: it does not; the message says what would do.
    """
    names = [crop.name for crop in trial.crops]
    if len(names) < PAIR:
        raise YieldError(f"has one crop, {names[0]}; a line for each crop grown together is needed")
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise YieldError(f"has {twice[0]} twice; one line for each crop will do")
    indices_of(trial)  # what can't be is refused here, with its own words
