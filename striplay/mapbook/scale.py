"""Choose a round scale, and the sheets a field takes at it."""

import math
from dataclasses import dataclass

from striplay.units import FOOT_M, UnitSystem

SCALES = (500, 1000, 2000, 2500, 4000, 5000, 7500, 10_000, 15_000, 20_000, 25_000, 50_000,
          100_000, 200_000, 500_000)  # fmt: skip
COARSEST_USEFUL = 10_000
NARROWEST_MM = 1.0
"""A strip narrower than this on paper can't be told from its neighbors."""

OVERLAP_MM = 4.0
"""How much neighboring sheets show of each other."""


@dataclass(frozen=True, slots=True)
class Tile:
    """The ground one sheet shows: left, bottom, right and top, in meters on the local plane."""

    left_m: float
    bottom_m: float
    right_m: float
    top_m: float

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        return self.left_m, self.bottom_m, self.right_m, self.top_m


def fitting_scale(
    width_m: float, height_m: float, frame_wide_mm: float, frame_high_mm: float
) -> int:
    """Choose the largest round scale at which ground fits a frame.

    >>> fitting_scale(804.672, 804.672, 191.9, 170.0)
    5000
    """
    needed = 1000 * max(width_m / frame_wide_mm, height_m / frame_high_mm)
    return next((scale for scale in SCALES if scale >= needed), math.ceil(needed / 1e5) * 100_000)


def useful_scale(strip_m: float) -> int:
    """Choose the coarsest scale at which the narrowest strip still shows.

    >>> useful_scale(12.192), useful_scale(3.0)
    (10000, 2500)
    """
    limit = min(COARSEST_USEFUL, strip_m / NARROWEST_MM * 1000)
    return max((scale for scale in SCALES if scale <= limit), default=SCALES[0])


def tiles(
    bounds_m: tuple[float, float, float, float],
    scale: int,
    frame_wide_mm: float,
    frame_high_mm: float,
) -> list[Tile]:
    """Cover ground with sheets at a scale, row by row from the north-west, overlapping a little."""
    left_m, bottom_m, right_m, top_m = bounds_m
    width_m, height_m = frame_wide_mm * scale / 1000, frame_high_mm * scale / 1000
    overlap_m = OVERLAP_MM * scale / 1000
    columns = max(1, math.ceil((right_m - left_m - overlap_m) / (width_m - overlap_m)))
    rows = max(1, math.ceil((top_m - bottom_m - overlap_m) / (height_m - overlap_m)))
    first_m = (left_m + right_m) / 2 - (columns * (width_m - overlap_m) + overlap_m) / 2
    upper_m = (bottom_m + top_m) / 2 + (rows * (height_m - overlap_m) + overlap_m) / 2
    return [
        Tile(x, y - height_m, x + width_m, y)
        for y in (upper_m - row * (height_m - overlap_m) for row in range(rows))
        for x in (first_m + column * (width_m - overlap_m) for column in range(columns))
    ]


def bar_length(scale: int, units: UnitSystem, longest_mm: float) -> tuple[float, str]:
    """Choose the length of a scale bar: meters, and its label, at most `longest_mm` on paper.

    >>> bar_length(5000, "us", 60.0)[1], bar_length(5000, "metric", 60.0)[1]
    ('500 ft', '200 m')
    """
    unit_m, name = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    most = longest_mm * scale / 1000 / unit_m
    power = 10 ** math.floor(math.log10(most))
    length = next(step * power for step in (5, 2, 1) if step * power <= most)
    return length * unit_m, f"{length:,.0f} {name}"
