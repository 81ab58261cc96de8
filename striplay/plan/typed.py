"""Write lengths as a plan takes them, so exactly that what is read is the same."""

from striplay.units import FOOT_M, INCH_M, UnitSystem


def exact_length(meters: float, units: UnitSystem) -> str:
    """Write a distance for a plan in feet or meters, to a ten-millionth: what is read is the same.

    >>> exact_length(9.144, "us"), exact_length(12.0, "metric"), exact_length(7.409688, "us")
    ('30 ft', '12 m', '24.31 ft')
    """
    unit_m, unit = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    return f"{round(meters / unit_m, 7):.10g} {unit}"


def exact_small_length(meters: float, units: UnitSystem) -> str:
    """Write a length for a plan in inches or centimeters, exact enough to add up.

    >>> exact_small_length(0.19050, "us"), exact_small_length(0.125, "metric")
    ('7.5 in', '12.5 cm')
    """
    unit_m, unit = (INCH_M, "in") if units == "us" else (0.01, "cm")
    return f"{round(meters / unit_m, 7):g} {unit}"
