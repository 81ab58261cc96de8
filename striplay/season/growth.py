"""Say what share of its full height a crop stands at on a day."""

from datetime import date, timedelta

from striplay.season.facts import CropFacts

EMERGES, FULL = 0.03, 0.45
"""Shares of a season at which a crop begins to grow tall, and is as tall as it gets."""
NO_SEASON_DAYS = 120
"""Season taken for a crop whose harvest and season are not known."""
WINTER_DAYS = 200
"""A crop that stands in midwinter and for more days than this is a winter crop."""
WINTER_SHARE = 0.1
"""What share of its height a winter crop keeps to until spring."""
MIDWINTER, SPRING = (12, 21), (3, 20)
MIDWINTER_SOUTH, SPRING_SOUTH = (6, 21), (9, 20)


def height_share(
    day: date,
    sown: date,
    harvested: date | None,
    season_days: int | None = None,
    *,
    south: bool = False,
) -> float:
    """Give the share of its full height at which a crop stands on a day.

    Our choice: it rises smoothly from 3 to 45 % of the days from sowing to harvest. A winter crop,
    one that stands over 21 December and for more than 200 days, keeps to a tenth of its height
    until 20 March, and rises by the same curve over the days from then to harvest.

    Args:
        day: the day; up to its sowing a crop has no height.
        sown: the day it is sown.
        harvested: the day it is harvested; None where it is not said.
        season_days: how long its season is, where no harvest is said; 120 days if not known.
        south: whether the field lies south of the equator, where midwinter is 21 June and spring
            begins on 20 September.

    >>> round(height_share(date(2026, 5, 17), date(2026, 5, 1), date(2026, 10, 1)), 2)
    0.08
    >>> height_share(date(2026, 1, 10), date(2025, 10, 5), date(2026, 7, 8))
    0.1
    """
    if day <= sown:
        return 0.0
    end = harvested or sown + timedelta(days=season_days or NO_SEASON_DAYS)
    share = _curve((day - sown) / (end - sown))
    spring = _spring_after_winter(sown, end, MIDWINTER_SOUTH if south else MIDWINTER,
                                  SPRING_SOUTH if south else SPRING)  # fmt: skip
    if spring is None:
        return share
    if day <= spring:
        return min(WINTER_SHARE, share)
    return WINTER_SHARE + (1 - WINTER_SHARE) * _curve((day - spring) / (end - spring))


def grown_share(
    crop: CropFacts, sown: date, harvested: date | None, day: date, *, south: bool
) -> float:
    """Give the share of its full height that a crop stands at, its season as its facts have it.

    Args:
        crop: how long its season is at least, where no harvest is said.
        sown: the day it is sown.
        harvested: the day it is harvested; None where it is not said.
        day: the day; up to its sowing a crop has no height.
        south: whether the field lies south of the equator.
    """
    days = crop.least_days(sown, south=south)
    return height_share(day, sown, harvested, days, south=south)


def _curve(share: float) -> float:
    """Rise from 0 to 1 between two shares of a season, level at both ends.

    >>> _curve(0.03), round(_curve(0.24), 6), _curve(0.45), _curve(2.0)
    (0.0, 0.5, 1.0, 1.0)
    """
    at = min(1.0, max(0.0, (share - EMERGES) / (FULL - EMERGES)))
    return at * at * (3 - 2 * at)


def _spring_after_winter(
    sown: date, end: date, midwinter: tuple[int, int], spring: tuple[int, int]
) -> date | None:
    """Give the first day of spring of a winter crop; None of any other."""
    winter = date(sown.year, *midwinter)
    if winter <= sown:
        winter = winter.replace(year=sown.year + 1)
    if winter >= end or (end - sown).days <= WINTER_DAYS:
        return None
    begin = date(winter.year, *spring)
    if begin <= winter:
        begin = begin.replace(year=winter.year + 1)
    return None if begin >= end else begin
