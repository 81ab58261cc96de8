"""Say where the sun stands, and how far a taller crop's shadow reaches across rows."""

import math
from datetime import date

HOURS = 24.0
LOW_SUN_DEG = 5.0
"""Below this the sun's shadows are long and its light little; they are not judged."""


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


def shadow_m(
    taller_m: float, heading_deg: float, elevation_deg: float, azimuth_deg: float
) -> float:
    """Give a shadow's reach at right angles to rows: height x cot(elevation) x |sin(angle)|.

    Args:
        taller_m: how much the one crop stands above the other.
        heading_deg: direction of the rows.
        elevation_deg: of the sun, above 0.
        azimuth_deg: of the sun.
    """
    across = abs(math.sin(math.radians(azimuth_deg - heading_deg)))
    return taller_m / math.tan(math.radians(elevation_deg)) * across


def mean_shadow_m(taller_m: float, heading_deg: float, latitude_deg: float, day: date) -> float:
    """Give the mean reach across rows over the day, quarter hour by quarter hour, by sunlight.

    Hours are weighted by the sine of the elevation, as sunlight on level ground is. Infinite where
    the sun stays below `LOW_SUN_DEG` all day.
    """
    total = weight = 0.0
    for quarter in range(int(HOURS * 4)):
        elevation_deg, azimuth_deg = sun_at(latitude_deg, day, quarter / 4)
        if elevation_deg < LOW_SUN_DEG:
            continue
        light = math.sin(math.radians(elevation_deg))
        total += light * shadow_m(taller_m, heading_deg, elevation_deg, azimuth_deg)
        weight += light
    return total / weight if weight else math.inf
