"""Repeat the section across the land, from the start side to the far side."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.section.section import Section
from striplay.tolerances import BEFORE_BORDER_M, WIDTH_M

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


def repeat_section(
    section: Section, bottom_m: float, top_m: float, start: str, offset_m: float = 0.0
) -> Across:
    """Repeat a section between two levels; the first and the last set may be part of one.

    Args:
        section: the set.
        bottom_m: lowest y of the land.
        top_m: highest y of the land.
        start: "left" begins at the top, "right" at the bottom.
        offset_m: how far outside the land the first set begins, from 0 up to the set's width.
    """
    extent_m = top_m - bottom_m
    strips = len(section.strips)
    # a strip may begin before its set, or its end be the next one's
    first = -1
    last = int(np.ceil((extent_m + offset_m - WIDTH_M) / section.width_m)) + 1
    sets = np.arange(first, max(last, 1))
    origin_m = sets * section.width_m - offset_m
    left_m = np.add.outer(origin_m, [strip.left_m for strip in section.strips]).ravel()
    right_m = left_m + np.tile([strip.width_m for strip in section.strips], len(sets))
    used = np.flatnonzero((left_m < extent_m - WIDTH_M) & (right_m > WIDTH_M))
    if not used.size:
        used = np.array([strips])
    left_m, right_m = left_m[used], right_m[used]
    right_m[:-1] = left_m[1:]  # the same to the last digit, so that neighbors share a border

    own_m = np.array([row.offset_m for row in section.rows])
    row_m = np.add.outer(origin_m, own_m).ravel()
    row_kind = np.tile(np.arange(len(own_m)), len(sets))
    row_set = np.repeat(np.arange(len(sets)), len(own_m))
    row_strip = row_set * strips + np.array([row.strip for row in section.rows])[row_kind]
    within = row_m < extent_m - 2 * BEFORE_BORDER_M  # else it stands on the far edge
    kept = within & (row_m > 0) & (row_strip >= used[0]) & (row_strip <= used[-1])
    row_m, row_kind, row_strip = row_m[kept], row_kind[kept], row_strip[kept] - used[0]
    order = np.argsort(row_m, kind="stable")
    row_m, row_kind, row_strip = row_m[order], row_kind[order], row_strip[order]

    set_number = used // strips - used[0] // strips + 1
    if start == "left":
        low_m, high_m, level_m = top_m - right_m, top_m - left_m, top_m - row_m
        level_m, row_kind, row_strip = level_m[::-1], row_kind[::-1], row_strip[::-1]
    else:
        low_m, high_m, level_m = bottom_m + left_m, bottom_m + right_m, bottom_m + row_m
    return Across(used % strips, set_number, low_m, high_m, level_m, row_kind, row_strip)


def row_ground(across: Across, section: Section) -> tuple[Floats, Floats]:
    """Give the lower and upper y of the ground each row stands for; neighbors share a border.

    A row sown between those of its strip's own crop stands for no ground of its own.
    """
    own = np.array(section.own_row)[across.row_kind]
    low_m, high_m = across.level_m.copy(), across.level_m.copy()
    level_m, strip = across.level_m[own], across.row_strip[own]
    if not len(level_m):
        return low_m, high_m
    neighbors = strip[1:] == strip[:-1]
    border_m = (level_m[:-1] + level_m[1:]) / 2
    low_m[own] = np.append(
        across.low_m[strip[0]], np.where(neighbors, border_m, across.low_m[strip[1:]])
    )
    high_m[own] = np.append(
        np.where(neighbors, border_m, across.high_m[strip[:-1]]), across.high_m[strip[-1]]
    )
    return low_m, high_m
