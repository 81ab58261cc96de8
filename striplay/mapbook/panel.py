"""Draw what stands under the overview: land, seed, scale, heading, cautions."""

from typing import TYPE_CHECKING, Any

from matplotlib.patches import Rectangle

from striplay.mapbook.lists import format_weight
from striplay.mapbook.map import Ground, draw_bar, draw_north
from striplay.mapbook.page import Page
from striplay.mapbook.style import (
    HEADING_PT,
    HEADLAND,
    LEFTOVER,
    LINE_MM,
    MARGIN_MM,
    OBSTACLE,
    SMALLEST_PT,
    TEXT_PT,
    Fill,
    crop_fill,
    fitted,
    wrapped,
)
from striplay.report import rows_run
from striplay.units import UnitSystem, format_area

if TYPE_CHECKING:
    from striplay.flow import Layout

LEAST_MM = 67.0
FOOT_MM = 13.0
LAND_MM, SEED_MM = 66.0, 46.0
SMALL_LINE_MM = 3.4

CAUTIONS = (
    "Not a legal survey: check boundary, gates and obstacles on the ground before driving.",
    "Power lines: keep every machine and auger 10 ft (3 m) away in all directions.",
    "Spray: neighbouring strips are susceptible crops side by side, and the label is the law.",
    "A product suits both crops or is kept off; mind wind limits and buffers to wells and water.",
    "Slopes, ditches, banks: keep off by at least their depth; use roll-over protection and belt.",
    "Roads: local rules decide on sight lines and on turning there. Call before digging.",
)

Land = list[tuple[Fill | None, str, str]]


def panel_height_mm(layout: "Layout", sown: Any) -> float:  # noqa: ANN401 - a DataFrame
    """Give the room the panel takes: more where there are many crops."""
    also = len(also_sown(layout, sown))
    land_mm = LINE_MM * len(_land(layout)) + SMALL_LINE_MM * also
    seed_mm = LINE_MM * (len(layout.accounts["crops"]) + len(layout.accounts["headland_crop"]))
    under_mm = SMALL_LINE_MM * (1 + len(CAUTIONS)) + 3.0
    return max(LEAST_MM, max(land_mm, seed_mm) + under_mm + 11.0)


def draw_panel(page: Page, layout: "Layout", sown: Any, place: tuple[float, int]) -> None:  # noqa: ANN401 - a DataFrame
    """Draw the panel.

    Args:
        page: where.
        layout: what it tells of.
        sown: lines of `sown_table`.
        place: its height in millimetres, and the map's scale.
    """
    panel_mm, scale = place
    top_mm = FOOT_MM + panel_mm - 7
    page.text(MARGIN_MM, top_mm, "Land", HEADING_PT, weight="bold")
    land = _land(layout)
    for number, (fill, name, area) in enumerate(land, start=1):
        y_mm = top_mm - number * LINE_MM - 1
        swatch(page, MARGIN_MM, y_mm, fill)
        page.text(MARGIN_MM + 10, y_mm, fitted(name, 36.0))
        page.text(MARGIN_MM + LAND_MM, y_mm, area, ha="right")
    also_mm = top_mm - len(land) * LINE_MM - 1
    for number, line in enumerate(also_sown(layout, sown), start=1):
        page.text(MARGIN_MM, also_mm - 0.6 - number * SMALL_LINE_MM, line, SMALLEST_PT)
    _seed(page, layout, MARGIN_MM + LAND_MM + 8, top_mm)
    draw_bar(page, page.width_mm - MARGIN_MM - 62, top_mm - 4, scale, layout.plan.units)
    draw_north(page, page.width_mm - MARGIN_MM - 4, top_mm - 12)
    said = rows_run(layout.plan, layout.accounts["field"])
    side = layout.plan.direction.start
    from_where = "" if layout.plan.direction.pivot else f"; strip 1 on the {side}, looking that way"
    heading = f"Rows: {said}{from_where}."
    for number, line in enumerate(reversed([heading, *CAUTIONS])):
        page.text(MARGIN_MM, FOOT_MM + 3.0 + number * SMALL_LINE_MM, line, SMALLEST_PT)


def _land(layout: "Layout") -> Land:
    """List where the field's ground goes, adding up to the field."""
    units, accounts, areas = layout.plan.units, layout.accounts, layout.accounts["areas_m2"]
    crops = dict.fromkeys(strip.crop for strip in layout.section.strips)
    strips = layout.strips.groupby("crop")["area_m2"].sum()
    lines: Land = [
        (crop_fill(index), crop, format_area(float(strips.get(crop, 0.0)), units))
        for index, crop in enumerate(crops)
    ]
    planted = " ".join(accounts["headland_crop"])
    headland = f"headland{', ' + planted if planted else ''}"
    lines += [
        (HEADLAND, headland, format_area(areas["headland"], units)),
        (OBSTACLE, "obstacles", format_area(areas["obstacles"], units)),
        (LEFTOVER, "leftover", format_area(areas["leftover"], units)),
        (None, "field", format_area(accounts["field"]["area_m2"], units)),
    ]
    return lines


def also_sown(layout: "Layout", sown: Any) -> list[str]:  # noqa: ANN401 - a DataFrame
    """Say what is sown between rows, on ground that the list of land counts once."""
    lines = []
    own = dict(zip(layout.strips["strip"], layout.strips["crop"], strict=True))
    between = sown[sown["layer"] > 0]
    for (_, label), lines_of in between.groupby(["layer", "label"], sort=True):
        once = lines_of.drop_duplicates("strip")
        hosts = " and ".join(dict.fromkeys(own[strip] for strip in once["strip"]))
        area = format_area(float(once["area_m2"].sum()), layout.plan.units)
        lines += wrapped(f"also sown: {label} between {hosts}, {area}", LAND_MM)
    return lines


def swatch(page: Page, x_mm: float, y_mm: float, fill: Fill | None) -> None:
    """Draw a sample of a fill; a thick frame where there is none."""
    page.paper.add_patch(
        Rectangle((x_mm, y_mm - 0.5), 7.5, 3.0, linewidth=0.4 if fill else 1.1,
                  facecolor=fill.colour if fill else "none", edgecolor="#333333",
                  hatch=(fill.hatch or None) if fill else None)
    )  # fmt: skip


def _seed(page: Page, layout: "Layout", x_mm: float, top_mm: float) -> None:
    """Write each crop's seed, the headland's included."""
    page.text(x_mm, top_mm, "Seed", HEADING_PT, weight="bold")
    accounts = layout.accounts
    lines = [*accounts["crops"].items()]
    lines += [(f"headland, {name}", crop) for name, crop in accounts["headland_crop"].items()]
    for number, (name, crop) in enumerate(lines, start=1):
        y_mm = top_mm - number * LINE_MM - 1
        amount = _amount(crop, layout.plan.units)
        page.text(x_mm, y_mm, fitted(name, 27.0, TEXT_PT))
        page.text(x_mm + SEED_MM, y_mm, amount, ha="right")


def _amount(crop: dict[str, Any], units: UnitSystem) -> str:
    """Say how much seed, in units, else by weight, as far as either is known."""
    if "parts" in crop:
        return "a blend"
    bags = crop["seed_units"]
    if bags is None:
        return format_weight(crop["seed_kg"], units) if "seed_kg" in crop else "-"
    return f"{bags:,} unit" if bags == 1 else f"{bags:,} units"


def draw_key(page: Page, ground: Ground, top_mm: float) -> None:
    """List the fills of a map that stands alone."""
    key: list[tuple[Fill, str]] = [(crop_fill(i), crop) for i, crop in enumerate(ground.crops)]
    key += [(HEADLAND, "headland"), (OBSTACLE, "obstacles"), (LEFTOVER, "leftover")]
    for index, (fill, name) in enumerate(key):
        y_mm = top_mm - index * LINE_MM
        swatch(page, MARGIN_MM, y_mm, fill)
        page.text(MARGIN_MM + 10, y_mm, fitted(name, 60.0))
