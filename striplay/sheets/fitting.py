"""Choose how a field stands on a page: its turn, and the finest scale with room for numbers."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from striplay.sheets.fonts import width_pt
from striplay.sheets.ground import (
    View,
    extent,
    fitting_scale,
    heading_of,
    turns_of,
    view_at,
)
from striplay.sheets.label_room import BETWEEN_PT
from striplay.sheets.labels import FAN_PT, LEADERS_PT
from striplay.sheets.land import shown_land
from striplay.sheets.strip_numbers import NUMBER_PT, numbered_at
from striplay.sheets.style import MM, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

Frame = tuple[float, float, float, float]
"""Left, bottom, right and top on the page."""
LEAST_PAD_PT, SLANT_PAD_PT = 5.0, 24.0
"""Room beside the field for what stands there; where rows slant, for numbers too."""
COARSER = 1.25
"""A scale coarser by no more is taken where numbers then stand outside the strips."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A way that a field may stand on a page.

    Attributes:
        scale: the finest it then has, one to so many.
        order: which of several frames it is in.
        turn_deg: how far the ground is turned.
        axis: of its rows, as `turns_of` gives it.
    """

    scale: int
    order: int
    turn_deg: float
    axis: int

    @property
    def rank(self) -> tuple[int, int, float, float]:
        """The lowest is liked best: scale, then frame, then north rather up."""
        return self.scale, self.order, abs(self.turn_deg), self.turn_deg


def stands(layout: "Layout", frames: list[Frame]) -> list[Stand]:
    """List how a field may stand: in each frame by each turn."""
    land, found = shown_land(layout), []
    for turn_deg, axis in turns_of(layout.ground.outline, heading_of(layout)):
        bounds = extent(land, turn_deg)
        size_m = float(bounds[2] - bounds[0]), float(bounds[3] - bounds[1])
        for order, (left, bottom, right, top) in enumerate(frames):
            scale = scale_with_numbers(layout, size_m, (right - left, top - bottom), axis)
            found.append(Stand(scale, order, turn_deg, axis))
    return found


def fitted_view(
    layout: "Layout", frames: list[Frame], turn_deg: float | None = None
) -> tuple[View, int, int]:
    """Choose turn and scale for a field in one of several frames.

    Args:
        layout: what is shown.
        frames: the frames it may stand in, the one liked best first.
        turn_deg: the turn, where that is settled.

    Returns:
        The view, the axis its rows run along, as `turns_of` gives it, and which frame it is in.
    """
    tried = stands(layout, frames)
    settled = [one for one in tried if one.turn_deg == turn_deg]
    best = min(settled or tried, key=lambda one: one.rank)
    land = shown_land(layout)
    view = view_at(land, best.turn_deg, frames[best.order], scale=best.scale)
    return view, best.axis, best.order


def scale_with_numbers(
    layout: "Layout",
    size_m: tuple[float, float],
    room_pt: tuple[float, float],
    axis: int,
) -> int:
    """Choose the finest scale; a little coarser, where numbers then stand outside the strips."""
    least = (LEAST_PAD_PT, LEAST_PAD_PT)
    finest = _fitting(size_m, room_pt, least)
    scale = finest
    for _ in range(4):  # the room for numbers goes by the scale, and the scale by the room
        again = _fitting(size_m, room_pt, pads_for(layout, scale, axis))
        if again <= scale:
            break
        scale = again
    return scale if scale <= COARSER * finest else finest


def _fitting(
    size_m: tuple[float, float], room_pt: tuple[float, float], pads: tuple[float, float]
) -> int:
    return fitting_scale(*size_m, room_pt[0] - 2 * pads[0], room_pt[1] - 2 * pads[1])


def pads_for(layout: "Layout", scale: int, axis: int) -> tuple[float, float]:
    """Give the room that numbers need beside the field: left and right, and above and below."""
    if axis < 0:
        return SLANT_PAD_PT, SLANT_PAD_PT
    pt_per_m = 1000 * MM / scale
    pitch = float(np.median(layout.strips["width_m"])) * pt_per_m
    pitch *= numbered_at(pitch)
    deep = max(1, math.ceil(NUMBER_PT / max(pitch - LEADERS_PT, 0.1)))
    last = int(layout.strips["strip"].max())
    wide = width_pt(f"{last} W", SMALLEST_PT) + BETWEEN_PT
    need = FAN_PT + deep * wide - layout.plan.headland_width_m * pt_per_m
    along = min(max(need, LEAST_PAD_PT), 150.0)
    return (along, LEAST_PAD_PT) if axis == 0 else (LEAST_PAD_PT, along)
