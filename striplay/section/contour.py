"""Warn where a section departs from the practice standards for strips on a slope.

The figures are those of the practices as published; state versions and the local conservation
office decide. Nothing is changed.
"""

from striplay.plan.cost import Slope
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.units import FOOT_M, format_length

GREATEST_WIDTH_FT = ((2.0, 130.0), (8.0, 100.0), (16.0, 80.0), (20.0, 60.0), (25.0, 50.0))
"""Greatest strip width up to a slope in per cent (contour strip cropping, practice 585, as given by
the Conservation Technology Information Center)."""
EQUAL_SHARE = 0.1
"""Strips are to be equal within this share (the same)."""
MOST_ROW_CROPS = 0.5
"""Share of the field in row crops at most (the same)."""
ROW_CROP_M = 0.38
"""Rows at least this far apart make a row crop: 15 in (our reading; drilled crops are closer)."""
GREATEST_GRADE, GRADE_NEAR_OUTLET, NEAR_OUTLET_FT = 2.0, 3.0, 150.0
"""Row grade in per cent: the lesser of 2 and half the slope, or 3 within 150 ft of a stable outlet
(contour farming, practice 330, older national text)."""
WHO_DECIDES = "state versions of the practice and the local conservation office decide"
PRACTICE = "contour strip cropping (practice 585)"


def greatest_width_m(slope_percent: float) -> float | None:
    """Give the greatest strip width on a slope; None above 25 per cent.

    >>> round(greatest_width_m(5) / FOOT_M), greatest_width_m(30)
    (100, None)
    """
    for most_percent, width_ft in GREATEST_WIDTH_FT:
        if slope_percent <= most_percent:
            return width_ft * FOOT_M
    return None


def contour_warnings(plan: Plan, section: Section) -> list[str]:
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
    return [f"{warning}; {WHO_DECIDES}" for warning in warnings]


def row_grade_warning(slope: Slope, grade_percent: float) -> str | None:
    """Say where rows fall more steeply than contour farming allows."""
    near = slope.outlet_m is not None and slope.outlet_m <= NEAR_OUTLET_FT * FOOT_M
    most = GRADE_NEAR_OUTLET if near else min(GREATEST_GRADE, slope.percent / 2)
    if slope.percent < 1 or grade_percent <= most + 1e-9:
        return None
    return (
        f"contour farming (practice 330): rows fall by {grade_percent:.1f} %, and {most:g} % is "
        f"the most here; {WHO_DECIDES}"
    )


def row_crop_share(section: Section) -> float:
    """Give the share of a set's width in row crops."""
    in_rows = [s.width_m for s in section.strips if s.counted and s.spacing_m >= ROW_CROP_M]
    return sum(in_rows) / section.width_m
