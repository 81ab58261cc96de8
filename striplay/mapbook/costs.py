"""Draw what every heading costs, the parts stacked and the chosen heading marked."""

from typing import TYPE_CHECKING

import numpy as np

from striplay.layout.cost import PARTS
from striplay.mapbook.page import Page
from striplay.mapbook.style import CROP_FILLS, MARGIN_MM, SMALLEST_PT, TEXT_PT

if TYPE_CHECKING:
    from striplay.layout.drawn import DrawnBlock

LEFT_MM, BOTTOM_MM, TOP_MM = 26.0, 95.0, 55.0


def draw_costs(page: Page, block: "DrawnBlock") -> None:
    """Draw a block's cost against heading over most of a sheet; the block was searched."""
    searched, choice = block.searched, block.choice
    assert searched is not None and choice is not None  # noqa: PT018, S101 - the caller's part
    width_mm = page.width_mm - LEFT_MM - MARGIN_MM
    axes = page.axes_mm(LEFT_MM, BOTTOM_MM, width_mm, page.height_mm - BOTTOM_MM - TOP_MM)
    shown = np.flatnonzero(searched.parts.max(axis=0) > 0)
    layers = axes.stackplot(
        searched.headings_deg,
        *searched.parts[:, shown].T,
        colors=[CROP_FILLS[i % len(CROP_FILLS)].colour for i in range(len(shown))],
        labels=[PARTS[part] for part in shown],
        edgecolor="#333333",
        linewidth=0.3,
    )
    for index, layer in enumerate(layers):
        layer.set_hatch(CROP_FILLS[index % len(CROP_FILLS)].hatch)
    axes.axvline(choice.heading_deg, color="black", linewidth=1.4)
    axes.axvline(searched.usual.heading_deg, color="black", linewidth=1.0, linestyle=(0, (4, 3)))
    axes.set_xlim(0, 180)
    axes.set_ylim(0, float(searched.parts.sum(axis=1).max()) * 1.05)
    axes.set_xticks(range(0, 181, 15))
    axes.tick_params(labelsize=TEXT_PT)
    axes.set_xlabel("heading, degrees clockwise from true north", fontsize=TEXT_PT)
    axes.set_ylabel("cost, money a year", fontsize=TEXT_PT)
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, -0.11), ncol=3, fontsize=TEXT_PT, frameon=False
    )
    _words(page, block)


def _words(page: Page, block: "DrawnBlock") -> None:
    searched, choice = block.searched, block.choice
    assert searched is not None and choice is not None  # noqa: PT018, S101 - as above
    usual = searched.usual
    lines = [
        f"Solid line: the heading chosen, {choice.heading_deg:.2f} degrees: {choice.total:,.0f}.",
        f"Dashed: along the longest edge, {usual.heading_deg:.2f} degrees: {usual.total:,.0f}.",
        "Every heading stands at its best offset. Part-width runs: machine width that runs over",
        "nothing, as on strips cut along their length. Point rows: ground worked twice where an",
        "end slants.",
        "Prices are the plan's, or orders of magnitude to begin with: see the methods page.",
    ]
    for number, line in enumerate(lines):
        page.text(LEFT_MM, 52 - number * 4.2, line, SMALLEST_PT + 0.5)
