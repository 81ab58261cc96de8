"""Warn of a slope: of rollover, and where strips depart from the practice standards.

The figures are those of the practices as published; state versions and the local conservation
office decide. Nothing is changed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from striplay.cautions import BANKS, SLOPES
from striplay.notices import Notice
from striplay.plan.cost import Slope
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import GRADE_DIGITS, LENGTH_M
from striplay.units import FOOT_M, format_length

GREATEST_WIDTH_FT = ((2.0, 130.0), (8.0, 100.0), (16.0, 80.0), (20.0, 60.0), (25.0, 50.0))
"""Greatest strip width up to a slope in per cent (from memory, after USDA Natural Resources
Conservation Service, Conservation Practice Standard, Stripcropping, Code 585)."""
EQUAL_SHARE = 0.1
"""Strips are to be equal within this share (the same)."""
MOST_ROW_CROPS = 0.5
"""Share of the field in row crops at most (the same)."""
ROW_CROP_M = 0.38
"""Rows at least this far apart make a row crop: 15 in (our reading; drilled crops are closer)."""
GREATEST_GRADE, GRADE_NEAR_OUTLET, NEAR_OUTLET_FT = 2.0, 3.0, 150.0
"""Row grade in per cent: the lesser of 2 and half the slope, or 3 within 150 ft of a stable outlet
(from memory, after an older national text of the same service's standard Contour Farming, Code
330)."""
WHO_DECIDES = "state versions of the practice and the local conservation office decide"
PRACTICE = "contour strip cropping (practice 585)"
ROLLOVER_PERCENT = 15.0
"""Slopes above this get a caution (our choice); what a machine may work on, its manual says."""


def greatest_width_m(slope_percent: float) -> float | None:
    """Give the greatest strip width on a slope; None above 25 per cent.

    >>> round(greatest_width_m(5) / FOOT_M), greatest_width_m(30)
    (100, None)
    """
    for most_percent, width_ft in GREATEST_WIDTH_FT:
        if slope_percent <= most_percent:
            return width_ft * FOOT_M
    return None


def contour_warnings(plan: Plan, section: Section) -> list[Notice]:
    """Say where the set departs from the practice, if the plan states a slope of 1 % or more."""
    slope = plan.slope
    if slope is None or slope.percent < 1:
        return []
    warnings = []
    most_m = greatest_width_m(slope.percent)
    widest_m = max(strip.width_m for strip in section.strips)
    narrowest_m = min(strip.width_m for strip in section.strips)
    if most_m is None:
        warnings.append(f"{PRACTICE}: its table ends at 25 % slope")
    elif widest_m > most_m + 1e-6:
        warnings.append(
            f"{PRACTICE}: a strip of {format_length(widest_m, plan.units)} is wider than the "
            f"{format_length(most_m, plan.units)} of its table at {slope.percent:g} % slope"
        )
    if widest_m > narrowest_m * (1 + EQUAL_SHARE):
        warnings.append(
            f"{PRACTICE}: strip widths differ by more than 10 %, from "
            f"{format_length(narrowest_m, plan.units)} to {format_length(widest_m, plan.units)}"
        )
    share = row_crop_share(section)
    if share > MOST_ROW_CROPS + 1e-9:
        warnings.append(f"{PRACTICE}: {share:.0%} of the set is in row crops, and half is the most")
    return [Notice("slope", "mind", None, f"{one}; {WHO_DECIDES}") for one in warnings]


def rollover_caution(slope: Slope | None) -> list[Notice]:
    """Caution against rolling over, where the plan states a slope above 15 %."""
    if slope is None or slope.percent <= ROLLOVER_PERCENT:
        return []
    said = f"slope of {slope.percent:g} %: rollover danger. {SLOPES.text} {BANKS.text}"
    return [Notice("slope", "stop", None, said)]


def grade_along_row(slope: Slope, heading_deg: float) -> float:
    """Give the grade along rows, in per cent: slope x cosine of the angle to the fall line."""
    assert slope.downhill_deg is not None  # noqa: S101 - checked when the plan was read
    return slope.percent * abs(math.cos(math.radians(heading_deg - slope.downhill_deg)))


@dataclass(frozen=True, slots=True)
class RowGrade:
    """Where rows fall most steeply.

    Attributes:
        percent: the grade along the row there.
        stretch: index of the stretch where it is so; the first of several.
    """

    percent: float
    stretch: int


def greatest_grade(
    slope: Slope, headings_deg: Sequence[float], lengths_m: Sequence[float]
) -> RowGrade:
    """Give the greatest grade along a row that turns, or along several rows.

    Args:
        slope: of the land, with the direction of its fall.
        headings_deg: of each straight stretch, degrees clockwise from true north, either way along
            it.
        lengths_m: of each stretch; one without length has no heading, and is left out.

    >>> slope = Slope(percent=6, downhill=90)
    >>> greatest_grade(slope, [0.0, 30.0, 150.0, 90.0], [50.0, 2.0, 2.0, 0.0])
    RowGrade(percent=3.0, stretch=1)
    """
    grades = [
        round(grade_along_row(slope, heading_deg), GRADE_DIGITS) if length_m > LENGTH_M else 0.0
        for heading_deg, length_m in zip(headings_deg, lengths_m, strict=True)
    ]
    most = max(grades)
    return RowGrade(most, grades.index(most))


def row_grade_warning(slope: Slope, grade_percent: float, where: str = "") -> Notice | None:
    """Say where rows fall more steeply than contour farming allows.

    Args:
        slope: of the land.
        grade_percent: along the row, where it is greatest.
        where: that place, in words such as "at -93.50000, 42.00000"; empty where all rows fall so.
    """
    near = slope.outlet_m is not None and slope.outlet_m <= NEAR_OUTLET_FT * FOOT_M
    most = GRADE_NEAR_OUTLET if near else min(GREATEST_GRADE, slope.percent / 2)
    if slope.percent < 1 or grade_percent <= most + 1e-9:
        return None
    fall = f"rows fall by {grade_percent:.1f} %{' ' if where else ''}{where}"
    said = f"contour farming (practice 330): {fall}, and {most:g} % is the most here"
    return Notice("slope", "mind", None, f"{said}; {WHO_DECIDES}")


def row_crop_share(section: Section) -> float:
    """Give the share of a set's width in row crops."""
    in_rows = [s.width_m for s in section.strips if s.counted and s.spacing_m >= ROW_CROP_M]
    return sum(in_rows) / section.width_m
