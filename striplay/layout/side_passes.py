"""Tell of passes that run side by side over several strips: which rows, which way, what crops."""

import numpy as np
import numpy.typing as npt

from striplay.section.section import Section, SidePasses
from striplay.tolerances import WHOLE_NUMBER

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def side_pass_of(
    side: SidePasses, section: Section, set_number: Integers, kind: Integers
) -> tuple[Integers, Floats]:
    """Give, for rows, which of the passes side by side works each, and how far on its middle lies.

    Args:
        side: the passes.
        section: the set.
        set_number: the set of each row, (k,).
        kind: index in the section of each row, (k,).
    """
    at_m = np.array([row.offset_m for row in section.rows])[kind]
    at_m = at_m + set_number * section.width_m - side.first_m
    number = np.floor(at_m / side.width_m + WHOLE_NUMBER).astype(np.int64)
    return number, (number + 0.5) * side.width_m - at_m


def side_rows(side: SidePasses, section: Section) -> Bools:
    """Tell of each row of the section whether the passes plant it."""
    return np.array([row.planter == side.machine and row.layer == 0 for row in section.rows])


def side_crops(side: SidePasses, section: Section) -> str:
    """Name the crops that the passes carry, without those sown between their rows."""
    worked = side_rows(side, section)
    rows = (row for row, own in zip(section.rows, worked, strict=True) if own)
    return " + ".join(dict.fromkeys(sown.crop for row in rows for sown in row.sown))


def driven_back(side: SidePasses, section: Section, number: Integers, start: str) -> Bools:
    """Tell of passes whether each runs against the heading.

    Units are told from the planter's left, so the first pass of a set runs along the heading where
    the set begins on the left. A set of two passes holds one and its mirror, which runs the other
    way whether or not there is land for the one before it. Passes that read the same both ways
    alternate as they are driven.

    Args:
        side: the passes.
        section: the set.
        number: of each pass, (n,).
        start: the side the first strip lies on.
    """
    back = np.zeros(len(number), dtype=bool)
    if not side.one_way:
        if round(section.width_m / side.width_m) == 1:
            _, number = np.unique(number, return_inverse=True)
        back = number % 2 == 1
    return back ^ (start == "right")
