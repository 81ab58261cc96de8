"""Gather what a picture of a section shows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from striplay.files.crop_table import crop_table
from striplay.growing import season_of
from striplay.mapbook.style import crop_fill
from striplay.plan.models import Plan
from striplay.season.calendar import Window
from striplay.season.facts import CropFacts, facts_of
from striplay.season.growth import height_share
from striplay.section.section import Section

NO_HEIGHT_M = 0.5
"""Height drawn for a crop whose height is not known."""


@dataclass(frozen=True)
class Scene:
    """What a picture of a section shows.

    Attributes:
        plan: the machines.
        section: the set.
        facts: what is known of each crop.
        windows: when each crop stands.
        day: the day plants are drawn as on; None for full height.
    """

    plan: Plan
    section: Section
    facts: Mapping[str, CropFacts]
    windows: Mapping[str, Window]
    day: date | None

    def state(self, crop: str) -> str:
        """Say whether a crop stands on the day, is not yet sown or up, or is harvested."""
        window = self.windows.get(crop)
        if self.day is None or window is None:
            return "stands"
        if window.stands_on(self.day):
            return "stands" if self.height_m(crop) > 0 else "not up"
        return "not sown" if self.day <= window.sown else "harvested"

    def height_m(self, crop: str) -> float:
        """Give a crop's height on the day, by assumed growth; 0 before sowing and after harvest."""
        known = self.facts.get(crop)
        full_m = NO_HEIGHT_M if known is None or known.height_m is None else known.height_m
        window = self.windows.get(crop)
        if self.day is None or window is None:
            return full_m
        if not window.stands_on(self.day):
            return 0.0
        season_days = None if known is None or known.season_days is None else known.season_days[0]
        return full_m * height_share(self.day, window.sown, window.harvested, season_days)

    @property
    def top_m(self) -> float:
        """Give the height of the tallest row drawn, at least half a metre."""
        return max(0.5, *(self.height_m(crop) for crop in self.section.crops))

    def colour(self, crop: str) -> str:
        """Give a crop's colour, as on the maps."""
        return crop_fill(crop_order(self.section).index(crop)).colour


def crop_order(section: Section) -> tuple[str, ...]:
    """Order crops and mixtures for their colours: strips' labels first, then what else is sown."""
    labels = [strip.crop for strip in section.strips]
    return tuple(dict.fromkeys([*labels, *section.crops]))


def scene_of(plan: Plan, section: Section, day: date | None) -> Scene:
    """Gather what a picture of a plan's section shows; errors as in `season_of`."""
    table = crop_table()
    facts = {crop: facts_of(crop, table, plan.crops.get(crop)) for crop in section.crops}
    return Scene(plan, section, facts, season_of(plan).windows, day)
