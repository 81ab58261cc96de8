"""Count the passes in which a machine covers a strip; plain numbers, no plan and no field."""

import math
from dataclasses import dataclass

from striplay.tolerances import WHOLE_NUMBER


def passes_to_cover(width_m: float, pass_m: float) -> int:
    """Count the passes of width `pass_m` that cover `width_m`.

    >>> passes_to_cover(24.384, 9.144), passes_to_cover(9.144, 9.144)
    (3, 1)
    """
    return max(1, math.ceil(width_m / pass_m - WHOLE_NUMBER))


@dataclass(frozen=True, slots=True)
class HeaderCover:
    """How a row-crop header covers a strip.

    Attributes:
        passes: passes needed, the last perhaps not full.
        exact: passes as a ratio; 1.5 means a half-empty second pass.
        straddles: passes that take rows from both sides of a guess row.
    """

    passes: int
    exact: float
    straddles: int

    @property
    def whole(self) -> bool:
        """Whether every pass is full."""
        return self.exact == self.passes


def cover_with_header(strip_rows: int, planter_rows: int, header_rows: int) -> HeaderCover:
    """Cover a strip with a row-crop header, each pass beginning where the last one ended.

    A guess row lies after every `planter_rows` rows. A pass straddles one when rows on both of its
    sides fall in the pass.

    >>> cover_with_header(16, 16, 8)
    HeaderCover(passes=2, exact=2.0, straddles=0)
    >>> cover_with_header(24, 12, 8)
    HeaderCover(passes=3, exact=3.0, straddles=1)
    """
    passes = -(-strip_rows // header_rows)
    straddles = 0
    for number in range(passes):
        first = number * header_rows
        last = min(first + header_rows, strip_rows) - 1
        straddles += first // planter_rows != last // planter_rows
    return HeaderCover(passes, strip_rows / header_rows, straddles)


@dataclass(frozen=True, slots=True)
class PlatformCover:
    """How a platform covers a strip.

    Attributes:
        passes: cuts needed.
        use: share of the platform's width that cuts, all cuts together, at most 1.
        reach_m: how far a single cut, centred, reaches past the strip on each side.
    """

    passes: int
    use: float
    reach_m: float


def cover_with_platform(width_m: float, platform_m: float) -> PlatformCover:
    """Cover a strip with a platform; several cuts overlap rather than leave the strip.

    >>> cover_with_platform(24.0, 9.0)
    PlatformCover(passes=3, use=0.8888888888888888, reach_m=0.0)
    >>> cover_with_platform(4.5, 6.0)
    PlatformCover(passes=1, use=0.75, reach_m=0.75)
    """
    passes = passes_to_cover(width_m, platform_m)
    reach_m = max(0.0, (platform_m - width_m) / 2) if passes == 1 else 0.0
    return PlatformCover(passes, min(1.0, width_m / (passes * platform_m)), reach_m)


@dataclass(frozen=True, slots=True)
class BoomCover:
    """How a boom covers a strip.

    Attributes:
        passes: passes needed, each centred on an equal share of the strip.
        mismatch_m: distance from the strip's edge to the nearest edge of a boom section.
    """

    passes: int
    mismatch_m: float


def cover_with_boom(width_m: float, boom_m: float, sections: int) -> BoomCover:
    """Cover a strip with a boom whose sections shut off one by one.

    >>> cover_with_boom(12.0, 36.0, 12)
    BoomCover(passes=1, mismatch_m=0.0)
    >>> cover_with_boom(10.0, 36.0, 12)
    BoomCover(passes=1, mismatch_m=1.0)
    """
    passes = passes_to_cover(width_m, boom_m)
    section_m = boom_m / sections
    shut_off_m = max(0.0, (boom_m - width_m / passes) / 2)
    beyond_edge_m = math.fmod(shut_off_m, section_m)
    mismatch_m = min(beyond_edge_m, section_m - beyond_edge_m)
    return BoomCover(passes, 0.0 if mismatch_m < WHOLE_NUMBER else mismatch_m)
