"""Say from when to when each crop stands."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from striplay.notices import Notice
from striplay.plan.crops import Crop
from striplay.plan.models import Plan
from striplay.plan.when import Stage
from striplay.season.degree_days import F_PER_C, Sum, Weather, add_up
from striplay.section.mixture import mixtures_of
from striplay.tolerances import ROUNDING_C


@dataclass(frozen=True, slots=True)
class Window:
    """From when to when a crop stands.

    Attributes:
        crop: its name.
        sown: the day it is sown.
        harvested: the day it is harvested; None where it is not said.
        canopy_closure: the day its canopy closes over a crop between its rows, if said.
    """

    crop: str
    sown: date
    harvested: date | None
    canopy_closure: date | None

    def stands_on(self, day: date | None) -> bool:
        """Tell whether it stands on a day: sown before it, and not yet harvested."""
        if day is None or day <= self.sown:
            return False
        return self.harvested is None or day < self.harvested


def windows(plan: Plan, weather: Sequence[Weather]) -> tuple[dict[str, Window], list[Notice]]:
    """Settle when each crop stands.

    Args:
        plan: its crops' days and stages.
        weather: days' weather, for stages.

    Returns:
        A window for each crop that is said to be sown; and why others have none.
    """
    untold: list[str] = []
    sowings = _sowings(plan.crops, weather, untold)
    settled: dict[str, Window] = {}
    for name, crop in plan.crops.items():
        if name not in sowings:
            if crop.sown is None and (crop.harvested or crop.canopy_closure):
                untold.append(f"crops.{name}.sown: is missing, so {name} is not in the calendar")
            continue
        later = []
        for key, when in (("harvested", crop.harvested), ("canopy_closure", crop.canopy_closure)):
            day = _day(f"crops.{name}.{key}", when, (sowings, name), weather, untold)
            if day is not None and day <= sowings[name]:
                sown = sowings[name].isoformat()
                untold.append(f"crops.{name}.{key}: {day.isoformat()} is not after sowing, {sown}")
                day = None
            later.append(day)
        harvested, canopy_closure = later
        if harvested is not None and canopy_closure is not None and canopy_closure > harvested:
            after = f"{canopy_closure.isoformat()} is after its harvest, {harvested.isoformat()}"
            untold.append(f"crops.{name}.canopy_closure: {after}")
        settled[name] = Window(name, sowings[name], harvested, canopy_closure)
    for name, crops in mixtures_of(plan).items():
        parts = [settled[crop] for crop in crops if crop in settled]
        if parts:
            settled[name] = _together(name, parts)
    return settled, [Notice("season", "mind", None, text) for text in untold]


def _sowings(
    crops: Mapping[str, Crop], weather: Sequence[Weather], untold: list[str]
) -> dict[str, date]:
    """Give the day each crop is sown, those first that others wait for."""
    sowings = {name: crop.sown for name, crop in crops.items() if isinstance(crop.sown, date)}
    waiting = {name: crop.sown for name, crop in crops.items() if isinstance(crop.sown, Stage)}
    while ready := [name for name, stage in waiting.items() if stage.after in sowings]:
        for name in ready:
            key, stage = f"crops.{name}.sown", waiting.pop(name)
            day = _day(key, stage, (sowings, name), weather, untold)
            if day is not None:
                sowings[name] = day
    untold += [
        f"crops.{name}.sown: {stage.degree_days_f:g} degree days after {stage.after}: its sowing "
        "is not known"
        for name, stage in waiting.items()
    ]
    return sowings


def _together(name: str, parts: Sequence[Window]) -> Window:
    """Say when a mixture stands: from its first sowing to its last harvest."""
    ends = [part.harvested for part in parts]
    canopy_closure = [part.canopy_closure for part in parts if part.canopy_closure is not None]
    return Window(
        name,
        min(part.sown for part in parts),
        None if None in ends else max(end for end in ends if end is not None),
        min(canopy_closure, default=None),
    )


RIPE_DAYS = 14
"""Parts of a mixture that ripen farther apart than two weeks lose at harvest (our choice)."""


def ripening(plan: Plan, settled: Mapping[str, Window], grown: Collection[str]) -> list[Notice]:
    """Say where parts of a mixture that is grown ripen far apart."""
    found = []
    for name, crops in mixtures_of(plan).items():
        windows = (settled[crop] for crop in crops if crop in settled and name in grown)
        ends = [window.harvested for window in windows if window.harvested is not None]
        if ends and (max(ends) - min(ends)).days > RIPE_DAYS:
            days = (max(ends) - min(ends)).days
            told = f"{name}: its parts ripen {days} days apart, for one harvest"
            found.append(Notice("season", "mind", None, told))
    return found


def _day(
    key: str,
    when: date | Stage | None,
    own: tuple[Mapping[str, date], str],
    weather: Sequence[Weather],
    untold: list[str],
) -> date | None:
    """Give the day something happens; None where it can't be told, and why is noted.

    Args:
        key: the plan's key, for what is noted.
        when: a day, a stage, or nothing.
        own: the sowings known, and whose day it is.
        weather: for stages.
        untold: where to note it.
    """
    if not isinstance(when, Stage):
        return when
    sowings, name = own
    after = "" if when.after is None else f" after {when.after}"
    asked = f"{key}: {when.degree_days_f:g} degree days{after}"
    begin = sowings.get(when.after or name)
    if begin is None:
        untold.append(f"{asked}: its sowing is not known")
        return None
    if not weather:
        untold.append(f"{asked} need weather; give [weather] a file")
        return None
    found = add_up(weather, begin, when.degree_days_f / F_PER_C)
    if found.reached is None:
        untold.append(f"{asked}: {_progress(found, begin, weather)}")
    return found.reached


def _progress(found: Sum, begin: date, weather: Sequence[Weather]) -> str:
    """Say how far degree days came, and where the weather stopped them."""
    days = [one.day for one in weather]
    if found.until is None:
        if begin < min(days):
            where = f"the weather begins on {min(days).isoformat()}"
        elif begin > max(days):
            where = f"the weather ends on {max(days).isoformat()}"
        else:
            where = "the weather leaves that day out"
        return f"none reached; they count from {begin.isoformat()}, and {where}"
    reached = f"{int(found.total_c * F_PER_C + ROUNDING_C):,} reached by {found.until.isoformat()}"
    if found.until == max(days):
        return f"{reached}, where the weather ends"
    missing = found.until + timedelta(days=1)
    return f"{reached}; the weather leaves {missing.isoformat()} out"


def standing(settled: Mapping[str, Window], day: date) -> list[str]:
    """Name the crops that stand on a day: sown before it, and not yet harvested."""
    return [name for name, window in settled.items() if window.stands_on(day)]
