"""Say where the sun stands, and how far a taller crop's shadow reaches across rows."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

QUARTERS = tuple((number + 0.5) / 4 for number in range(96))
"""The middle of each quarter hour of a day of solar time; none is noon, when no side has shade."""
LOW_SUN_DEG = 5.0
"""Below this the sun's shadows are long and its light little; they are not judged."""


@dataclass(frozen=True, slots=True)
class Sides:
    """Where a taller crop's shade falls beside its rows, over some days.

    Attributes:
        right_share: share of the sunlight during which it falls to the right of the heading.
        right_m: its mean reach across rows while it does.
        left_m: its mean reach across rows while it falls to the left.
    """

    right_share: float
    right_m: float
    left_m: float

    @property
    def mean_m(self) -> float:
        """Mean reach across rows, on whichever side it falls."""
        return self.right_share * self.right_m + (1 - self.right_share) * self.left_m


def declination_rad(day: date) -> float:
    """Give the sun's declination: 0.409 sin(2 pi J / 365 - 1.39), FAO-56 equation 24.

    >>> round(declination_rad(date(2026, 9, 3)), 3)
    0.12
    """
    number = day.timetuple().tm_yday
    return 0.409 * math.sin(2 * math.pi * number / 365 - 1.39)


def midsummer(latitude_deg: float, begin: date) -> date:
    """Give the first day of high summer from a day on: 1 July, south of the equator 1 January.

    >>> midsummer(42.0, date(2025, 10, 1)), midsummer(-33.0, date(2026, 1, 1))
    (datetime.date(2026, 7, 1), datetime.date(2026, 1, 1))
    """
    this_year = date(begin.year, 7 if latitude_deg >= 0 else 1, 1)
    return this_year if this_year >= begin else this_year.replace(year=begin.year + 1)


def sun_at(latitude_deg: float, day: date, solar_hour: float) -> tuple[float, float]:
    """Give the sun's elevation and its azimuth, both in degrees; azimuth clockwise from true north.

    sin(elevation) = sin(lat) sin(dec) + cos(lat) cos(dec) cos(hour angle); the hour angle is 15
    degrees an hour from solar noon (spherical astronomy, any textbook).

    Args:
        latitude_deg: north above 0.
        day: the day.
        solar_hour: hours of solar time, 12 at noon.
    """
    latitude, declination = math.radians(latitude_deg), declination_rad(day)
    hour = math.radians(15.0 * (solar_hour - 12.0))
    sine = math.sin(latitude) * math.sin(declination)
    sine += math.cos(latitude) * math.cos(declination) * math.cos(hour)
    east = -math.cos(declination) * math.sin(hour)
    north = math.cos(latitude) * math.sin(declination)
    north -= math.sin(latitude) * math.cos(declination) * math.cos(hour)
    return math.degrees(math.asin(sine)), math.degrees(math.atan2(east, north)) % 360.0


@cache
def _suns(latitude_deg: float, day: date) -> tuple[tuple[float, float, float], ...]:
    """List a day's suns above `LOW_SUN_DEG`, quarter hour by quarter hour.

    Returns:
        Of each the light on level ground (sine of the elevation), and how far the shadow of a meter
        reaches east and north; it points away from the sun. Without arrays, so that crops are
        paired without loading what computes with them.
    """
    found = []
    for hour in QUARTERS:
        elevation_deg, azimuth_deg = sun_at(latitude_deg, day, hour)
        if elevation_deg >= LOW_SUN_DEG:
            elevation, azimuth = math.radians(elevation_deg), math.radians(azimuth_deg)
            long = 1 / math.tan(elevation)
            east, north = -long * math.sin(azimuth), -long * math.cos(azimuth)
            found.append((math.sin(elevation), east, north))
    return tuple(found)


def shade_sides(
    taller_m: Sequence[float], heading_deg: float, latitude_deg: float, days: Sequence[date]
) -> Sides | None:
    """Give where shade falls over all quarter hours of some days, weighted by sunlight.

    A shadow reaches height x cot(elevation) x |sin(azimuth - heading)| across rows. None where the
    sun stays below `LOW_SUN_DEG` on all days.

    Args:
        taller_m: how much the one crop stands above the other, each day.
        heading_deg: direction of the rows.
        latitude_deg: north above 0.
        days: the days.
    """
    heading = math.radians(heading_deg)
    to_east, to_north = math.cos(heading), -math.sin(heading)
    light, reach = [0.0, 0.0], [0.0, 0.0]  # to the left, to the right
    for day, by_m in zip(days, taller_m, strict=True):
        for each, east, north in _suns(latitude_deg, day):
            right = east * to_east + north * to_north
            light[right > 0] += each
            reach[right > 0] += each * abs(right) * by_m
    if not any(light):
        return None
    left_m, right_m = (r / w if w else 0.0 for r, w in zip(reach, light, strict=True))
    return Sides(light[1] / sum(light), right_m, left_m)
