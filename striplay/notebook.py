"""Show a layout in a notebook: a small map, and the table of where the land goes."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt
import shapely

from striplay.accounts.words import buy_words
from striplay.ground import Ground
from striplay.looks import HEADLAND, OBSTACLE, looks_of
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.report import layout_summary
from striplay.units import format_area

Geometries = npt.NDArray[np.object_]

MAP_PX = 320.0
"""Longer side of the map."""
STEP_PX = 0.25
"""Shapes are simplified to this: it can't be seen."""
LINE = "#777777"
"""Of outlines; seen on light and dark."""
HEADS = ("", "strips", "area", "seed to buy")


def layout_html(
    plan: Plan,
    accounts: dict[str, Any],
    ground: Ground,
    *,
    headland: Geometries,
    strips: Mapping[str, Geometries],
) -> str:
    """Give a layout as HTML: its map as SVG beside its table; all text in it is escaped.

    Args:
        plan: what was asked.
        accounts: what came of it.
        ground: the field.
        headland: its pieces.
        strips: pieces by crop, in the order of the set, and the headland's crop.
    """
    colors = {crop: look.fill.color for crop, look in looks_of(list(strips), "color").items()}
    page = ET.Element("div", {"style": "display:flex;flex-wrap:wrap;gap:1em;align-items:start"})
    _add_map(page, plan, ground, headland, [(strips[one], colors[one], one) for one in strips])
    told = ET.SubElement(page, "div")
    for line in layout_summary(plan, accounts)[:2]:
        ET.SubElement(told, "div").text = plain(line)
    _add_table(told, account_lines(plan, accounts), colors)
    text: str = ET.tostring(page, encoding="unicode", method="html")
    return text


def _add_map(
    page: ET.Element,
    plan: Plan,
    ground: Ground,
    headland: Geometries,
    strips: Iterable[tuple[Geometries, str, str]],
) -> None:
    """Draw outline, headland, obstacles, and each crop's strips in its color; north is up."""
    outline = ground.outline
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
    ET.SubElement(picture, "title").text = plain(f"{plan.title}: strips, north up")

    def draw(shapes: Iterable[shapely.Geometry], fill: str, name: str, line: str = "none") -> None:
        path = ET.SubElement(picture, "path", {"fill": fill, "stroke": line})
        path.set("fill-rule", "evenodd")
        path.set("d", _path(shapes, west, north, scale))
        ET.SubElement(path, "title").text = plain(name)

    draw(headland, HEADLAND.color, "headland")
    for shapes, color, crop in strips:
        if len(shapes):
            draw(shapes, color, crop)
    draw([ground.obstacles], OBSTACLE.color, "obstacles")
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


def _add_table(page: ET.Element, lines: Iterable[Sequence[str]], colors: Mapping[str, str]) -> None:
    table = ET.SubElement(page, "table")
    _add_line(ET.SubElement(table, "thead"), "th", HEADS)
    body = ET.SubElement(table, "tbody")
    for line in lines:
        _add_line(body, "td", line, colors.get(line[0], ""))


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


def account_lines(plan: Plan, accounts: Mapping[str, Any]) -> list[tuple[str, str, str, str]]:
    """Say where the land goes and which seed to buy: name, strips, area, seed; the field last.

    Crops between the rows of others have no area of their own; the areas add up to the field.
    """
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
