"""Lay out the sheets with maps: overview or key, tiles."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from striplay.mapbook.map import Ground, Unnumbered, draw_bar, draw_frames, draw_map, draw_north
from striplay.mapbook.page import Page
from striplay.mapbook.panel import FOOT_MM, draw_key, draw_panel
from striplay.mapbook.scale import Tile
from striplay.mapbook.style import MARGIN_MM, SMALLEST_PT

if TYPE_CHECKING:
    from striplay.flow import Layout

HEAD_MM = 28.0


@dataclass(frozen=True, slots=True)
class View:
    """A map on a sheet.

    Attributes:
        panel_mm: height of the panel under it.
        tile: the ground it shows.
        scale: its scale.
    """

    panel_mm: float
    tile: Tile
    scale: int


def map_frame(paper_mm: tuple[float, float], panel_mm: float) -> tuple[float, float, float, float]:
    """Give the frame of a map on a sheet, above its panel: left, bottom, width, height."""
    bottom_mm = FOOT_MM + panel_mm
    return (
        MARGIN_MM,
        bottom_mm,
        paper_mm[0] - 2 * MARGIN_MM,
        paper_mm[1] - bottom_mm - HEAD_MM,
    )


def new_page(
    layout: "Layout", paper_mm: tuple[float, float], what: str, printed: date | None
) -> Page:
    """Begin a sheet with its title, what it shows, and its foot."""
    said = f"printed {printed.isoformat()}; " if printed else ""
    foot = f"{said}WGS 84, local plane, true north at the field's centre; not a legal survey"
    return Page(paper_mm, layout.plan.title, what, foot)


def overview(page: Page, ground: Ground, view: View, sheets: list[Tile], sown: Any) -> None:  # noqa: ANN401 - a DataFrame
    """Draw the whole field; with `sheets`, it is the key to them."""
    frame = map_frame((page.width_mm, page.height_mm), view.panel_mm)
    missing = draw_map(page, frame, view.tile, ground, numbered=not sheets)
    if sheets:
        draw_frames(page, frame, view.tile, sheets)
    draw_panel(page, ground.layout, sown, (view.panel_mm, view.scale))
    if missing.strips:
        right_mm = page.width_mm - MARGIN_MM
        page.text(right_mm, FOOT_MM + 3.0, _without_number(missing), SMALLEST_PT, ha="right")


def _without_number(missing: Unnumbered) -> str:
    strips = missing.strips
    if missing.fifth:
        have = "has" if strips == 1 else "have"
        return f"Narrow strips: every fifth is numbered; {strips} {have} no number here."
    said = "1 strip is" if strips == 1 else f"{strips} strips are"
    return f"{said} too small to number here; see the crops' tables."


def tile_sheet(page: Page, ground: Ground, view: View) -> None:
    """Draw one sheet of a field that takes several."""
    frame = map_frame((page.width_mm, page.height_mm), view.panel_mm)
    bottom_mm = frame[1]
    missing = draw_map(page, frame, view.tile, ground, numbered=True)
    draw_bar(page, MARGIN_MM, bottom_mm - 14, view.scale, ground.layout.plan.units)
    draw_north(page, page.width_mm - MARGIN_MM - 6, bottom_mm - 18)
    draw_key(page, ground, bottom_mm - 26)
    if missing.strips:
        page.text(MARGIN_MM + 80, bottom_mm - 26, _without_number(missing), SMALLEST_PT)
