"""Draw what every heading costs, the parts stacked and the chosen heading marked."""

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from striplay.geometry.frame import HALF_TURN_DEG
from striplay.mapbook.page import Page
from striplay.mapbook.style import CROP_FILLS, MARGIN_MM, SMALLEST_PT, TEXT_PT
from striplay.search.cost import PARTS
from striplay.units import degrees

if TYPE_CHECKING:
    from striplay.operations.drawn import DrawnBlock
    from striplay.search.headings import Choice

Floats = npt.NDArray[np.float64]

BEYOND_DEG = 4.0
"""Shown beyond 0 and 180 degrees, so that a line there does not lie on the frame."""
LEFT_MM, BOTTOM_MM, TOP_MM = 26.0, 95.0, 38.0


def draw_costs(page: Page, block: "DrawnBlock") -> None:
    """Draw a block's cost against heading over most of a sheet; the block was searched."""
    searched, choice = block.searched, block.choice
    assert searched is not None and choice is not None  # noqa: PT018, S101 - the caller's part
    width_mm = page.width_mm - LEFT_MM - MARGIN_MM
    axes = page.axes_mm(LEFT_MM, BOTTOM_MM, width_mm, page.height_mm - BOTTOM_MM - TOP_MM)
    shown = np.flatnonzero(searched.parts.max(axis=0) > 0)
    headings_deg, parts = _whole_turn(searched.headings_deg, searched.parts[:, shown])
    layers = axes.stackplot(
        headings_deg,
        *parts.T,
        colors=[CROP_FILLS[i % len(CROP_FILLS)].colour for i in range(len(shown))],
        labels=[PARTS[part] for part in shown],
        edgecolor="#333333",
        linewidth=0.3,
    )
    for index, layer in enumerate(layers):
        layer.set_hatch(CROP_FILLS[index % len(CROP_FILLS)].hatch)
    _mark(axes, choice.heading_deg, {"linewidth": 1.8})
    if searched.usual.laid and not _same(block):
        _mark(axes, searched.usual.heading_deg, {"linewidth": 1.2, "linestyle": (0, (4, 3))})
    axes.set_xlim(-BEYOND_DEG, HALF_TURN_DEG + BEYOND_DEG)
    most = float(searched.parts.sum(axis=1).max()) * 1.05
    ticks = [tick for tick in MaxNLocator(7).tick_values(0, most) if tick <= most]
    axes.set_ylim(0, most)
    axes.set_yticks(ticks, [f"{tick:,.0f}" for tick in ticks])
    axes.set_xticks(range(0, 181, 15))
    axes.tick_params(labelsize=TEXT_PT)
    axes.set_xlabel("heading, degrees clockwise from true north", fontsize=TEXT_PT)
    axes.set_ylabel("cost, money a year", fontsize=TEXT_PT)
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, -0.11), ncol=3, fontsize=TEXT_PT, frameon=False
    )
    _words(page, block)


def _whole_turn(headings_deg: Floats, parts: Floats) -> tuple[Floats, Floats]:
    """Go on past 0 and 180 degrees, which are the same heading, farther than is shown."""
    turns = (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG)
    around_deg = np.concatenate([headings_deg + turn for turn in turns])
    low, high = np.searchsorted(around_deg, (-BEYOND_DEG, HALF_TURN_DEG + BEYOND_DEG))
    shown = slice(max(0, low - 1), high + 1)
    return around_deg[shown], np.concatenate([parts] * len(turns))[shown]


def _mark(axes: Axes, heading_deg: float, how: dict[str, Any]) -> None:
    """Draw a line at a heading; near 0 at 180 degrees too, and the other way round."""
    for turn in (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG):
        if -BEYOND_DEG < heading_deg + turn < HALF_TURN_DEG + BEYOND_DEG:
            axes.axvline(heading_deg + turn, color="black", **how)


def _same(block: "DrawnBlock") -> bool:
    """Tell whether the best heading is the usual one, as far as headings are written."""
    searched, choice = block.searched, block.choice
    assert searched is not None and choice is not None  # noqa: PT018, S101 - the caller's part
    return degrees(choice.heading_deg) == degrees(searched.usual.heading_deg)


def _offset_words(best: "Choice", usual: "Choice") -> str:
    """Say how the best layout differs from the usual one at the same heading."""
    if best.offset_m == usual.offset_m and best.section == usual.section:
        return "the first set begins at the field's side"
    only = "only the offset differs: " if best.section == usual.section else ""
    return f"{only}the first set from the field's side costs {usual.total:,.0f}"


def _words(page: Page, block: "DrawnBlock") -> None:
    searched, choice = block.searched, block.choice
    assert searched is not None and choice is not None  # noqa: PT018, S101 - as above
    chosen, usual = degrees(choice.heading_deg), degrees(searched.usual.heading_deg)
    along = f"Dashed: along the longest edge, {usual} degrees: {searched.usual.total:,.0f}."
    if not searched.usual.laid:
        along = f"Along the longest edge, {usual} degrees, no strips can be laid."
    elif _same(block):
        along = f"That is along the longest edge too; {_offset_words(choice, searched.usual)}."
    lines = [
        f"Solid line: the heading chosen, {chosen} degrees: {choice.total:,.0f}.",
        along,
        "Every heading stands at its best offset. Part-width runs: machine width that runs over",
        "nothing, as on strips cut along their length. Point rows: ground worked twice where an",
        "end slants.",
        "Prices are the plan's, or orders of magnitude to begin with: see the methods page.",
    ]
    for number, line in enumerate(lines):
        page.text(LEFT_MM, 52 - number * 4.2, line, SMALLEST_PT + 0.5)
