"""Divide a strip among the passes that work it."""

import numpy as np
import numpy.typing as npt

from striplay.layout.pieces import StripPieces
from striplay.section.section import Strip, Work
from striplay.tolerances import WHOLE_NUMBER

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


def divide(
    strip: Strip,
    work: Work,
    owner: Integers,
    at_m: Floats,
    half_m: Floats,
    strips: StripPieces,
) -> tuple[Integers, Floats]:
    """Give, for each row piece, its pass and the pass centre's distance from the strip's edge.

    Passes that count rows keep to the strip's own grid, rows shut off or empty or not, and so does
    all planting. The others share what is planted: over a strip the boundary cuts, only that.

    Args:
        strip: of the set.
        work: what is done.
        owner: the piece of each row.
        at_m: where each row stands, from the ground of the strip's first row.
        half_m: half the ground each stands for.
        strips: pieces of strips.
    """
    begin_m, wide_m = strip.rows_span_m if work.layer == 0 else (0.0, strip.width_m)
    if work.rows is not None:
        take_m = work.rows * strip.spacing_m
        which = np.floor(at_m / take_m).astype(np.int64)
        far_m = max(wide_m - take_m / 2, min(wide_m, work.width_m) / 2)
        centre_m = np.minimum((which + 0.5) * take_m, far_m)
        return which, (begin_m + centre_m).astype(np.float64)
    count = len(strips.strip)
    first_m, last_m = np.full(count, wide_m), np.zeros(count)
    np.minimum.at(first_m, owner, at_m - half_m)
    np.maximum.at(last_m, owner, at_m + half_m)
    whole = strips.whole | (work.operation == "plant")  # rows cut off or not, openers keep theirs
    low_m = np.where(whole, 0.0, np.maximum(first_m, 0.0))
    width_m = np.where(whole, wide_m, np.minimum(last_m, wide_m) - low_m)
    cuts = np.maximum(1, np.ceil(width_m / work.width_m - WHOLE_NUMBER)).astype(np.int64)
    share_m = (width_m / cuts)[owner]
    from_low_m = np.maximum(at_m - low_m[owner] - work.shift_m, 0.0)
    which = np.minimum((from_low_m / share_m + WHOLE_NUMBER).astype(np.int64), cuts[owner] - 1)
    centre_m = (which + 0.5) * share_m
    if work.operation == "harvest":  # a boom shuts off at the strip's edge, a platform can't
        reach_m = np.minimum(work.width_m, width_m[owner]) / 2
        centre_m = np.clip(centre_m, reach_m, width_m[owner] - reach_m)
    return which, (begin_m + low_m[owner] + centre_m + work.shift_m).astype(np.float64)
