"""Settle a plan's growing season: when crops stand, what conflicts, and how they pair."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from striplay.files.crop_table import crop_table
from striplay.files.weather import ReadWeather, read_weather
from striplay.notices import Notice
from striplay.plan.faults import nearest
from striplay.plan.models import Plan
from striplay.season.after import second_notices
from striplay.season.calendar import Window, ripening, windows
from striplay.season.conflicts import Conflict, conflicts, grown_as
from striplay.season.facts import CropFacts, facts_of
from striplay.season.heights import height_notices
from striplay.season.pairing import Judgement, judge_pairs
from striplay.season.setting import Setting
from striplay.season.shared_days import Windows
from striplay.season.together import together_in
from striplay.section.section import Section


@dataclass(frozen=True)
class Season:
    """The plan's calendar.

    Attributes:
        plan: whose it is.
        section: the set its crops stand in; None where not asked for.
        windows: from when to when each crop stands, by name.
        conflicts: what stands in the way of operations, by day.
        untold: why some crops have no window, what the weather or the table of crops lacks, and
            which stated heights lie far off their assumed growth.
        facts: what is known of each crop of the plan.
    """

    plan: Plan = field(repr=False)
    section: Section | None = field(repr=False)
    windows: dict[str, Window]
    conflicts: list[Conflict]
    untold: tuple[Notice, ...]
    facts: Mapping[str, CropFacts] = field(default_factory=dict, repr=False)

    @property
    def notices(self) -> list[Notice]:
        """What the user should know."""
        said = (Notice("season", one.severity, None, one.told) for one in self.conflicts)
        return [*self.untold, *said]

    @property
    def spans(self) -> Windows:
        """From when to when crops stand; without an end where the harvest is not said."""
        return {name: (window.sown, window.harvested) for name, window in self.windows.items()}

    @property
    def days(self) -> dict[tuple[str, str], date]:
        """When each planting and harvest happens, by operation and crop, as far as it is known."""
        found = {("plant", name): window.sown for name, window in self.windows.items()}
        for name, window in self.windows.items():
            if window.harvested is not None:
                found["harvest", name] = window.harvested
        return found


def season_of(
    plan: Plan,
    section: Section | None = None,
    *,
    south: bool = False,
    weather: ReadWeather | None = None,
) -> Season:
    """Settle a plan's season; with a section, judge also what stands beside each strip.

    Args:
        plan: its crops' days and stages.
        section: the set; only its crops are then judged.
        south: whether the field lies south of the equator.
        weather: what the plan's file of it holds, where it is read already.

    Raises:
        PlanError: weather that can't be read.
    """
    days, of_days = weather or weather_of(plan)
    told = [*of_days]
    settled, untold = windows(plan, days)
    grown, table = grown_as(plan, section), crop_table()
    facts = {name: facts_of(name, table, crop) for name, crop in plan.crops.items()}
    told += [*untold, *ripening(plan, settled, grown), *_unlike(plan)]
    told += height_notices(plan, settled, facts, grown, south=south)
    if section is not None:
        told += second_notices(plan, section, facts, settled, days)
    return Season(plan, section, settled, conflicts(plan, settled, section), tuple(told), facts)


def weather_of(plan: Plan) -> ReadWeather:
    """Read a plan's weather; no days where it names none. Errors as `season_of`."""
    return ([], []) if plan.weather is None else read_weather(plan.path.parent, plan.weather)


def _unlike(plan: Plan) -> list[Notice]:
    """Say which crops are said to grow like one that the table does not hold."""
    table = crop_table()
    said = (
        f'crops.{name}.like: no crop "{crop.like}" in the table{nearest(crop.like, table)}'
        for name, crop in plan.crops.items()
        if crop.like is not None and crop.like not in table
    )
    return [Notice("crop", "mind", None, text) for text in said]


def pairs_of(
    plan: Plan, section: Section, season: Season, latitude_deg: float, heading_deg: float | None
) -> list[Judgement]:
    """Judge how the crops of a section suit each other, where and when they stand."""
    table = crop_table()
    crops = [facts_of(crop, table, plan.crops.get(crop)) for crop in section.crops]
    setting = Setting(latitude_deg, heading_deg, None, plan.units)
    return judge_pairs(crops, setting, season.spans, together_in(section))
