"""Settle a plan's growing season: read its weather, and say when crops stand and what conflicts."""

from dataclasses import dataclass
from typing import Any

from striplay.files.weather import read_weather
from striplay.plan.models import Plan
from striplay.season.calendar import Conflict, Window, conflicts, windows


@dataclass(frozen=True)
class Season:
    """The plan's calendar.

    Attributes:
        windows: from when to when each crop stands, by name.
        conflicts: what stands in the way of operations, by day.
        untold: why some crops have no window, and what the weather lacks.
    """

    windows: dict[str, Window]
    conflicts: list[Conflict]
    untold: tuple[str, ...]

    @property
    def notices(self) -> list[str]:
        """What the user should know."""
        said = (f"{one.day.isoformat()}: {one.said}" for one in self.conflicts)
        return [*self.untold, *said]

    @property
    def account(self) -> dict[str, Any]:
        """What accounts.json holds of it; empty where no crop is said to be sown."""
        if not self.windows:
            return {}
        crops = {
            name: {
                "sown": window.sown.isoformat(),
                "harvested": None if window.harvested is None else window.harvested.isoformat(),
            }
            for name, window in self.windows.items()
        }
        told = [
            {"day": one.day.isoformat(), "crop": one.crop, "said": one.said}
            for one in self.conflicts
        ]
        return {"calendar": {"crops": crops, "conflicts": told}}


def season_of(plan: Plan) -> Season:
    """Settle a plan's season.

    Raises:
        PlanError: weather that can't be read.
    """
    source = plan.weather
    weather, told = ([], []) if source is None else read_weather(plan.path.parent, source)
    settled, untold = windows(plan, weather)
    return Season(settled, conflicts(plan, settled), (*told, *untold))
