"""Repeat the section across the land, from the start side to the far side."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.section.section import Section
from striplay.tolerances import WIDTH_M

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Across:
    """Strips and rows across the land; y runs to the left of travel.

    Attributes:
        kind: index in the section of each strip, in order from the start side, (n,).
        set_number: which set it belongs to, from 1, (n,).
        low_m: lower y of each strip, (n,).
        high_m: upper y of each strip, (n,).
        level_m: y of each row, ascending, (k,).
        row_kind: index in the section of each row, (k,).
        row_strip: index of the strip of each row, (k,).
    """

    kind: Integers
    set_number: Integers
    low_m: Floats
    high_m: Floats
    level_m: Floats
    row_kind: Integers
    row_strip: Integers


def repeat_section(section: Section, bottom_m: float, top_m: float, start: str) -> Across:
    """Repeat a section between two levels; the last set may be part of one.

    Args:
        section: the set.
        bottom_m: lowest y of the land.
        top_m: highest y of the land.
        start: "left" begins at the top, "right" at the bottom.
    """
    extent_m = top_m - bottom_m
    strips = len(section.strips)
    sets = max(1, int(np.ceil((extent_m - WIDTH_M) / section.width_m)))
    set_left_m = np.repeat(np.arange(sets) * section.width_m, strips)
    left_m = set_left_m + np.tile([strip.left_m for strip in section.strips], sets)
    right_m = left_m + np.tile([strip.width_m for strip in section.strips], sets)
    used = int(np.count_nonzero(left_m < extent_m - WIDTH_M))
    kind = np.tile(np.arange(strips), sets)[:used]

    offset_m = np.array([row.offset_m for row in section.rows])
    row_set = np.repeat(np.arange(sets), len(offset_m))
    row_kind = np.tile(np.arange(len(offset_m)), sets)
    row_m = row_set * section.width_m + offset_m[row_kind]
    kept = row_m < extent_m
    row_m, row_kind, row_set = row_m[kept], row_kind[kept], row_set[kept]
    row_strip = row_set * strips + np.array([row.strip for row in section.rows])[row_kind]

    left_m, right_m = left_m[:used], right_m[:used]
    set_number = np.arange(used) // strips + 1
    if start == "left":
        low_m, high_m, level_m = top_m - right_m, top_m - left_m, top_m - row_m
        level_m, row_kind, row_strip = level_m[::-1], row_kind[::-1], row_strip[::-1]
    else:
        low_m, high_m, level_m = bottom_m + left_m, bottom_m + right_m, bottom_m + row_m
    return Across(kind, set_number, low_m, high_m, level_m, row_kind, row_strip)
