"""Make the sheets of what every heading costs, the parts stacked and the chosen heading marked."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from striplay.geometry.directions import HALF_TURN_DEG, angle_deg
from striplay.mapbook.sheet import Paper, Place, Sheet
from striplay.mapbook.style import MARGIN_MM, SMALLEST_PT, TEXT_PT, crop_fill
from striplay.mapbook.text import paragraphs
from striplay.search.cost import PARTS
from striplay.tolerances import ALIKE_DEG
from striplay.units import degrees

if TYPE_CHECKING:
    from striplay.flow import Layout
    from striplay.search.headings import Choice, Searched

Floats = npt.NDArray[np.float64]

BEYOND_DEG = 4.0
"""Shown beyond 0 and 180 degrees, so that a line there does not lie on the frame."""
LEFT_MM, BOTTOM_MM, TOP_MM = 26.0, 95.0, 38.0
WORDS_MM = 56.2
"""Where the words under the picture begin."""
STANDS = (
    "Every heading stands at its best offset. Headland: what it loses, planted or not. Bare land: "
    "what nothing is planted on. Partial-width passes: machine width that runs over nothing, as on "
    "strips cut along their length. Overlap at point rows: ground worked twice where an end slants."
)


def cost_sheets(paper: Paper, layout: "Layout") -> Iterator[Sheet]:
    """Draw each block's cost against heading, of those that were searched."""
    blocks = layout.laid.blocks
    for number, block in enumerate(blocks, start=1):
        searched, choice = block.searched, block.choice
        if searched is not None and choice is not None and np.nansum(searched.parts) > 0:
            of = f", block {number}" if len(blocks) > 1 else ""
            sheet = paper.sheet(f"Cost of every heading{of}")
            _draw(sheet, searched, choice)
            words, size_pt = _words(searched, choice), SMALLEST_PT + 0.5
            room_mm = sheet.width_mm - LEFT_MM - MARGIN_MM
            lines = paragraphs(room_mm, *words, size_pt=size_pt, line_mm=4.2)
            sheet.write(lines, WORDS_MM, LEFT_MM)
            yield sheet


def _draw(sheet: Sheet, searched: "Searched", choice: "Choice") -> None:
    """Draw cost against heading over most of a sheet."""
    width_mm = sheet.width_mm - LEFT_MM - MARGIN_MM
    axes = sheet.axes(Place(LEFT_MM, BOTTOM_MM, width_mm, sheet.height_mm - BOTTOM_MM - TOP_MM))
    shown = np.flatnonzero(np.nanmax(searched.parts, axis=0) > 0)
    headings_deg, parts = _whole_turn(searched.headings_deg, searched.parts[:, shown])
    fills = [crop_fill(index) for index in range(len(shown))]
    layers = axes.stackplot(
        headings_deg,
        *parts.T,
        colors=[fill.color for fill in fills],
        labels=[PARTS[part] for part in shown],
        edgecolor="#333333",
        linewidth=0.3,
    )
    for fill, layer in zip(fills, layers, strict=True):
        layer.set_hatch(fill.hatch)
    _mark(axes, choice.heading_deg, linewidth=1.8)
    if searched.usual.laid and not _same(searched, choice):
        _mark(axes, searched.usual.heading_deg, linewidth=1.2, linestyle=(0, (4, 3)))
    axes.set_xlim(-BEYOND_DEG, HALF_TURN_DEG + BEYOND_DEG)
    most = float(np.nanmax(searched.parts.sum(axis=1))) * 1.05
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


def _whole_turn(headings_deg: Floats, parts: Floats) -> tuple[Floats, Floats]:
    """Go on past 0 and 180 degrees, which are the same heading, farther than is shown."""
    turns = (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG)
    around_deg = np.concatenate([headings_deg + turn for turn in turns])
    low, high = np.searchsorted(around_deg, (-BEYOND_DEG, HALF_TURN_DEG + BEYOND_DEG))
    shown = slice(max(0, low - 1), high + 1)
    return around_deg[shown], np.concatenate([parts] * len(turns))[shown]


def _mark(axes: Axes, heading_deg: float, **how: Any) -> None:  # noqa: ANN401 - matplotlib's own
    """Draw a line at a heading; near 0 at 180 degrees too, and the other way round."""
    for turn in (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG):
        if -BEYOND_DEG < heading_deg + turn < HALF_TURN_DEG + BEYOND_DEG:
            axes.axvline(heading_deg + turn, color="black", **how)


def _same(searched: "Searched", choice: "Choice") -> bool:
    """Tell whether the best heading is the usual one, as far as headings are written."""
    return degrees(choice.heading_deg) == degrees(searched.usual.heading_deg)


def _offset_words(best: "Choice", usual: "Choice") -> str:
    """Say how the best layout differs from the usual one at the same heading."""
    if best.offset_m == usual.offset_m and best.section == usual.section:
        return ", at its best offset"
    only = "only the offset differs: " if best.section == usual.section else ""
    return f"; {only}at its best offset it costs {usual.total:,.0f}"


def _words(searched: "Searched", choice: "Choice") -> list[str]:
    chosen, usual = degrees(choice.heading_deg), degrees(searched.usual.heading_deg)
    along = f"Dashed: along the longest edge, {usual} degrees: {searched.usual.total:,.0f}."
    if not searched.usual.laid:
        along = f"Along the longest edge, {usual} degrees, no strips can be laid."
    elif _same(searched, choice):
        along = f"That is along the longest edge too{_offset_words(choice, searched.usual)}."
    elif angle_deg(choice.heading_deg, searched.usual.heading_deg) <= ALIKE_DEG:
        along = (
            f"Dashed: along the longest edge, {usual} degrees: the same, as near as can be driven."
        )
    gaps = ["Gaps: headings at which no strip can be laid."]
    return [
        f"Solid line: the heading chosen, {chosen} degrees: {choice.total:,.0f}.",
        along,
        STANDS,
        *(gaps if np.isnan(searched.parts).any() else []),
        "Prices are the plan's, or orders of magnitude to begin with: see the methods page.",
    ]
