"""Say where the rows of a strip stand, evenly or in a pattern of their own."""

import math
from collections.abc import Iterable, Sequence

from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.tolerances import WHOLE_NUMBER, WIDTH_M


def pattern_places_m(
    pattern_m: Sequence[float], period_m: float, width_m: float
) -> tuple[float, ...]:
    """Give where rows that repeat unevenly stand in a strip; none where it is too narrow.

    Args:
        pattern_m: where they stand in each period, from its first edge.
        period_m: the distance after which they repeat.
        width_m: width of the strip.

    >>> pattern_places_m([2.0, 0.5], 4.0, 6.0)
    (0.5, 2.0, 4.5)
    """
    count = max(1, math.ceil(width_m / period_m - WHOLE_NUMBER))
    every = (i * period_m + at for i in range(count) for at in sorted(pattern_m))
    return tuple(at for at in every if at < width_m - WIDTH_M)


def outer_rows_m(plan: Plan, wish: StripWish, widths_m: Iterable[float]) -> tuple[float, float]:
    """Give how far a strip's first row stands from its first edge, and its last from its last.

    Nothing where the openers of a drill are not known: a row may stand on the edge itself.

    Args:
        plan: the machines.
        wish: the strip.
        widths_m: widths that it may have; the nearest of all is given.
    """
    if wish.pattern_m is None or wish.period_m is None:
        half_m = (plan.planter(wish.crop).spacing_m or 0.0) / 2
        return half_m, half_m
    firsts_m, lasts_m = [], []
    for width_m in widths_m:
        places_m = pattern_places_m(wish.pattern_m, wish.period_m, width_m) or (width_m / 2,)
        firsts_m.append(places_m[0])
        lasts_m.append(width_m - places_m[-1])
    return min(firsts_m), min(lasts_m)
