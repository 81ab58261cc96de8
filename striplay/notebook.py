"""Show a layout in a notebook: a small map, and the table of where the land goes."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import shapely

from striplay.accounts.words import buy_words
from striplay.plain import plain
from striplay.report import layout_summary
from striplay.sheets.style import HEADLAND, OBSTACLE, looks_of
from striplay.units import format_area

if TYPE_CHECKING:
    from striplay.flow import Layout

MAP_PX = 320.0
"""Longer side of the map."""
STEP_PX = 0.25
"""Shapes are simplified to this: it can't be seen."""
LINE = "#777777"
"""Of outlines; seen on light and dark."""
HEADS = ("", "strips", "area", "seed to buy")


def layout_html(layout: "Layout") -> str:
    """Give a layout as HTML: its map as SVG beside its table; all text in it is escaped."""
    page = ET.Element("div", {"style": "display:flex;flex-wrap:wrap;gap:1em;align-items:start"})
    _add_map(page, layout)
    told = ET.SubElement(page, "div")
    for line in layout_summary(layout.plan, layout.accounts)[:2]:
        ET.SubElement(told, "div").text = plain(line)
    _add_table(told, layout)
    text: str = ET.tostring(page, encoding="unicode", method="html")
    return text


def _add_map(page: ET.Element, layout: "Layout") -> None:
    """Draw outline, headland, obstacles, and each crop's strips in its color; north is up."""
    outline = layout.ground.outline
    west, south, east, north = outline.bounds
    scale = MAP_PX / max(east - west, north - south)
    width, height = (east - west) * scale, (north - south) * scale
    picture = ET.SubElement(
        page,
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"-1 -1 {width + 2:.1f} {height + 2:.1f}",
            "width": f"{width + 2:.0f}",
            "role": "img",
        },
    )
    ET.SubElement(picture, "title").text = plain(f"{layout.plan.title}: strips, north up")

    def draw(shapes: Iterable[shapely.Geometry], fill: str, name: str, line: str = "none") -> None:
        path = ET.SubElement(picture, "path", {"fill": fill, "stroke": line})
        path.set("fill-rule", "evenodd")
        path.set("d", _path(shapes, west, north, scale))
        ET.SubElement(path, "title").text = plain(name)

    draw(layout.laid.headland, HEADLAND.color, "headland")
    strips = layout.strips
    for crop, look in looks_of(layout.grown, "color").items():
        mine = (strips["crop"] == crop).to_numpy()
        if mine.any():
            draw(strips.geometry.to_numpy()[mine], look.fill.color, crop)
    draw([layout.ground.obstacles], OBSTACLE.color, "obstacles")
    draw([outline], "none", "field", LINE)


def _path(shapes: Iterable[shapely.Geometry], west: float, north: float, scale: float) -> str:
    """Write rings as an SVG path, in pixels from the map's upper left corner."""
    parts = shapely.get_parts(np.array(list(shapes), dtype=object))
    simple = shapely.simplify(parts, STEP_PX / scale)
    drawn = []
    for ring in shapely.get_rings(simple):
        points = (shapely.get_coordinates(ring)[:-1] - [west, north]) * [scale, -scale]
        drawn.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points + 0.0) + "Z")
    return "".join(drawn)


def _add_table(page: ET.Element, layout: "Layout") -> None:
    table = ET.SubElement(page, "table")
    _add_line(ET.SubElement(table, "thead"), "th", HEADS)
    body = ET.SubElement(table, "tbody")
    looks = looks_of(layout.grown, "color")
    for line in account_lines(layout):
        name, *_ = line
        _add_line(body, "td", line, looks[name].fill.color if name in looks else "")


def _add_line(to: ET.Element, tag: str, cells: Sequence[str], color: str = "") -> None:
    """Add a line of a table; its first cell begins with a patch of the color that the map has."""
    line = ET.SubElement(to, "tr")
    for number, cell in enumerate(cells):
        one = ET.SubElement(line, tag, {"style": f"text-align:{'right' if number else 'left'}"})
        if number or not color:
            one.text = plain(cell)
            continue
        patch = ET.SubElement(one, "span", {"style": f"background:{color};padding:0 .6em"})
        patch.tail = f" {plain(cell)}"


def account_lines(layout: "Layout") -> list[tuple[str, str, str, str]]:
    """Say where the land goes and which seed to buy: name, strips, area, seed; the field last.

    Crops between the rows of others have no area of their own; the areas add up to the field.
    """
    plan, accounts = layout.plan, layout.accounts
    bought, crops = accounts["seed_to_buy"], accounts["crops"]
    named = dict.fromkeys([*crops, *bought])
    own = accounts.get("shares", crops)
    lines = []
    for name in named:
        crop = crops.get(name, {})
        area = format_area(crop["area_m2"], plan.units) if name in own and crop else ""
        seed = buy_words(plan, name, bought[name]) if name in bought else ""
        lines.append((name, str(crop.get("strips", "")), area, seed))
    areas = {name: accounts["areas_m2"][name] for name in ("headland", "obstacles", "leftover")}
    areas["field"] = accounts["field"]["area_m2"]
    return [*lines, *((name, "", format_area(m2, plan.units), "") for name, m2 in areas.items())]
