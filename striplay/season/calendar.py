"""Say from when to when each crop stands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from graphlib import CycleError, TopologicalSorter

from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.plan.when import Stage
from striplay.season.degree_days import F_PER_C, Weather, day_reached


@dataclass(frozen=True, slots=True)
class Window:
    """From when to when a crop stands.

    Attributes:
        crop: its name.
        sown: the day it is sown.
        harvested: the day it is harvested; None where it is not said.
        closes: the day its canopy closes over a crop between its rows, if said.
    """

    crop: str
    sown: date
    harvested: date | None
    closes: date | None

    def stands_on(self, day: date | None) -> bool:
        """Tell whether it stands on a day: sown before it, and not yet harvested."""
        if day is None or day <= self.sown:
            return False
        return self.harvested is None or day < self.harvested


def windows(plan: Plan, weather: Sequence[Weather]) -> tuple[dict[str, Window], list[str]]:
    """Settle when each crop stands.

    Args:
        plan: its crops' days and stages.
        weather: days' weather, for stages.

    Returns:
        A window for each crop that is said to be sown; and why others have none.
    """
    settled: dict[str, Window] = {}
    untold: list[str] = []
    for name in _in_order(plan.crops, untold):
        crop = plan.crops[name]
        sown = _day(crop.sown, settled, weather, None)
        if sown is None:
            if isinstance(crop.sown, Stage):
                untold.append(f"{name}: {_why(crop.sown, weather)}")
            continue
        harvested = _day(crop.harvested, settled, weather, sown)
        if harvested is None and isinstance(crop.harvested, Stage):
            untold.append(f"{name}: {_why(crop.harvested, weather)}")
        closes = _day(crop.closes, settled, weather, sown)
        if closes is None and isinstance(crop.closes, Stage):
            untold.append(f"{name}: {_why(crop.closes, weather)}")
        settled[name] = Window(name, sown, harvested, closes)
    for name, mixture in plan.mixtures.items():
        parts = [settled[crop] for crop in mixture.parts if crop in settled]
        if parts:
            settled[name] = _together(name, parts)
            untold += _ripening(name, parts)
    return settled, untold


def _together(name: str, parts: Sequence[Window]) -> Window:
    """Say when a mixture stands: from its first sowing to its last harvest."""
    ends = [part.harvested for part in parts]
    closes = [part.closes for part in parts if part.closes is not None]
    return Window(
        name,
        min(part.sown for part in parts),
        None if None in ends else max(end for end in ends if end is not None),
        min(closes, default=None),
    )


RIPE_DAYS = 14
"""Parts of a mixture that ripen farther apart than two weeks lose at harvest (our choice)."""


def _ripening(name: str, parts: Sequence[Window]) -> list[str]:
    """Say where parts of a mixture ripen far apart."""
    ends = [part.harvested for part in parts if part.harvested is not None]
    if not ends or (max(ends) - min(ends)).days <= RIPE_DAYS:
        return []
    return [f"{name}: its parts ripen {(max(ends) - min(ends)).days} days apart, for one harvest"]


def _in_order(crops: Mapping[str, Crop], untold: list[str]) -> list[str]:
    """Order crops so that each comes after the one its sowing waits for."""
    waits = {
        name: {
            when.after
            for when in (crop.sown, crop.harvested, crop.closes)
            if isinstance(when, Stage) and when.after
        }
        for name, crop in crops.items()
    }
    try:
        return [name for name in TopologicalSorter(waits).static_order() if name in crops]
    except CycleError:
        untold.append("crops wait for each other's stages; give one of them a day")
        return [name for name, others in waits.items() if not others]


def _day(
    when: date | Stage | None,
    settled: Mapping[str, Window],
    weather: Sequence[Weather],
    own: date | None,
) -> date | None:
    """Give the day something happens; None where it can't be told."""
    if not isinstance(when, Stage):
        return when
    begin = own
    if when.after is not None:
        begin = settled[when.after].sown if when.after in settled else None
    return None if begin is None else day_reached(weather, begin, when.degree_days_f / F_PER_C)


def _why(stage: Stage, weather: Sequence[Weather]) -> str:
    after = "" if stage.after is None else f" after {stage.after}"
    if not weather:
        return f"{stage.degree_days_f:g} degree days{after} need weather; give [weather] a file"
    return (
        f"{stage.degree_days_f:g} degree days{after} are not reached in the weather given, which "
        "must begin by then and leave no day out"
    )


def standing(settled: Mapping[str, Window], day: date) -> list[str]:
    """Name the crops that stand on a day: sown before it, and not yet harvested."""
    return [name for name, window in settled.items() if window.stands_on(day)]
