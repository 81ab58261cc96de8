"""Give the days on which two crops both stand."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

Windows = Mapping[str, tuple[date, date | None]]
"""From when to when crops stand; without an end where the harvest is not said."""


@dataclass(frozen=True, slots=True)
class Shared:
    """The days on which two crops both stand: from the later sowing to the earlier harvest."""

    begin: date
    end: date | None

    @property
    def never(self) -> bool:
        """Whether there is no such day."""
        return self.end is not None and self.end <= self.begin


def shared_days(one: str, other: str, windows: Windows) -> Shared | None:
    """Give the days on which two crops both stand; None where a sowing is not said.

    A crop whose harvest is not said stands on, as in the calendar.
    """
    if one not in windows or other not in windows:
        return None
    (sown, end), (other_sown, other_end) = windows[one], windows[other]
    ends = [day for day in (end, other_end) if day is not None]
    return Shared(max(sown, other_sown), min(ends, default=None))
