"""Count the passes in which a machine covers a strip; plain numbers, no plan and no field."""

import math
from collections.abc import Iterable, Sequence
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


def cover_with_header(
    places: Sequence[int], header_rows: int, guess_rows: Iterable[int]
) -> HeaderCover:
    """Cover a strip with a row-crop header, each pass beginning where the last one ended.

    A pass straddles a guess row when rows on both of its sides fall in the pass.

    Args:
        places: where rows stand, ascending, counted in rows from the first, which is 0; those left
            empty between them are skipped.
        header_rows: rows that a pass takes, empty ones counted.
        guess_rows: where guess rows lie: 8 for one between the places 7 and 8.

    >>> cover_with_header(range(16), 8, [])
    HeaderCover(passes=2, exact=2.0, straddles=0)
    >>> cover_with_header(range(24), 8, [12])
    HeaderCover(passes=3, exact=3.0, straddles=1)
    """
    count, guesses = places[-1] + 1, list(guess_rows)
    passes = -(-count // header_rows)
    straddles = 0
    for first in range(0, count, header_rows):
        own = [place for place in places if first <= place < first + header_rows]
        straddles += any(own[0] < guess <= own[-1] for guess in guesses if own)
    return HeaderCover(passes, count / header_rows, straddles)


def reach_past(
    header_m: float, strip_m: float, begin_m: float, planted_m: float
) -> tuple[float, float]:
    """Give how far a header in the middle of a strip's rows reaches past the strip.

    Several passes overlap rather than leave the strip, so only a single one reaches past it.

    Args:
        header_m: width of the header.
        strip_m: width of the strip.
        begin_m: from the strip's first edge to the ground of its first row.
        planted_m: width of its rows' ground.

    Returns:
        How far past its first edge and past its last; 0 where it stays within.

    >>> reach_past(6.0, 4.5, 0.0, 4.5)
    (0.75, 0.75)
    >>> reach_past(6.0, 7.5, 0.5, 4.5)
    (0.25, 0.0)
    """
    if passes_to_cover(planted_m, header_m) > 1:
        return 0.0, 0.0
    middle_m = begin_m + planted_m / 2
    return max(0.0, header_m / 2 - middle_m), max(0.0, middle_m + header_m / 2 - strip_m)


@dataclass(frozen=True, slots=True)
class PlatformCover:
    """How a platform covers a strip.

    Attributes:
        passes: cuts needed.
        use: share of the platform's width that cuts, all cuts together, at most 1.
    """

    passes: int
    use: float


def cover_with_platform(width_m: float, platform_m: float) -> PlatformCover:
    """Cover a strip with a platform; several cuts overlap rather than leave the strip.

    >>> cover_with_platform(24.0, 9.0)
    PlatformCover(passes=3, use=0.8888888888888888)
    >>> cover_with_platform(4.5, 6.0)
    PlatformCover(passes=1, use=0.75)
    """
    passes = passes_to_cover(width_m, platform_m)
    return PlatformCover(passes, min(1.0, width_m / (passes * platform_m)))


@dataclass(frozen=True, slots=True)
class BoomCover:
    """How a boom covers a strip.

    Attributes:
        passes: passes needed, each centered on an equal share of the strip.
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
