"""Write layers as KML 2.2 (OGC 07-147r2), for map apps: a folder a layer, crops in color."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import shapely

from striplay.column import Column
from striplay.columns import LAYERS, TABLES, columns_of
from striplay.files.content import Content
from striplay.files.layers import LINE, cut_at_180, rounded
from striplay.plain import plain

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

SPACE = "http://www.opengis.net/kml/2.2"
STEP_DECIMALS = 7
"""Places of degrees, as in GeoJSON: about a centimeter."""
SOLID, THIN_PX = 0xB3, "1.5"
"""How much of a fill covers what lies under it, of 255; width of lines on a screen."""
LINES = {
    "field": "#000000",
    "headland": "#8a8a8a",
    "rows": "#4d4d4d",
    "passes": "#b03a2e",
    "leftover": "#9a9a9a",
}
"""Colors of what is no crop."""
TYPES = {"whole number": "int", "number": "double", "text": "string", "yes or no": "bool"}
"""What KML calls the types of columns."""
HIDDEN = {"rows", "passes"}
"""Layers that an app shows when asked: so many lines are slow to draw on a phone."""


def encode(content: Content) -> dict[str, bytes]:
    """Give layout.kml."""
    kml = ET.Element("kml", {"xmlns": SPACE})
    document = ET.SubElement(kml, "Document")
    _add(document, "name", content.plan.title)
    _add(document, "description", _about(content))
    styles = _add_styles(document, content)
    layers = {**content.layers, "passes": content.ways}
    for name, table in layers.items():
        _add_columns(document, name, table)
    for name, table in layers.items():
        _add_folder(document, name, table, styles)
    for parent in (kml, document, *document.findall("Folder")):
        for one in parent:
            one.tail = "\n"
    text: bytes = ET.tostring(kml, encoding="UTF-8", xml_declaration=True)
    return {"layout.kml": text + b"\n"}


def _about(content: Content) -> str:
    """Say which plan it is, and what it is not."""
    farm = f"{content.plan.farm.name}. " if content.plan.farm.name else ""
    return (
        f"{farm}Plan {content.mark}. To look at, in degrees of WGS 84: not a legal survey, and no "
        "warning of power lines, ditches or people."
    )


def _add(parent: ET.Element, tag: str, text: str, **attributes: str) -> ET.Element:
    """Add an element with a text, plain: XML has no room for control characters."""
    one = ET.SubElement(parent, tag, attributes)
    one.text = plain(text)
    return one


def _add_styles(document: ET.Element, content: Content) -> dict[str, str]:
    """Add a style a crop and a layer; give where each is found."""
    for name, color in LINES.items():
        _add_style(document, name, color, "")
    for number, look in enumerate(content.looks.values(), start=1):
        _add_style(document, f"crop{number}", look.line, look.color)
    return {name: f"#crop{number}" for number, name in enumerate(content.looks, start=1)}


def _add_style(document: ET.Element, name: str, line: str, fill: str) -> None:
    style = ET.SubElement(document, "Style", {"id": name})
    stroke = ET.SubElement(style, "LineStyle")
    _add(stroke, "color", kml_color(line))
    _add(stroke, "width", THIN_PX)
    area = ET.SubElement(style, "PolyStyle")
    if fill:
        _add(area, "color", kml_color(fill, SOLID))
    _add(area, "fill", "1" if fill else "0")


def kml_color(color: str, solid: int = 0xFF) -> str:
    """Turn #rrggbb round to what KML has: aabbggrr.

    >>> kml_color("#f6dc8c"), kml_color("#0000ff", 0x80)
    ('ff8cdcf6', '80ff0000')
    """
    red, green, blue = color[1:3], color[3:5], color[5:7]
    return f"{solid:02x}{blue}{green}{red}".lower()


def _add_columns(document: ET.Element, name: str, table: "GeoDataFrame") -> None:
    """Say which columns a layer has; of a shape, those that are empty are left out."""
    schema = ET.SubElement(document, "Schema", {"id": f"{name}_columns", "name": name})
    for column in _columns(name, table):
        named = {"type": TYPES[column.type], "name": column.name}
        _add(ET.SubElement(schema, "SimpleField", named), "displayName", column.name)


def _columns(name: str, table: "GeoDataFrame") -> list[Column]:
    return [column for column in columns_of(name) if column.name in table]


def _add_folder(
    document: ET.Element, name: str, table: "GeoDataFrame", styles: Mapping[str, str]
) -> None:
    """Add a layer: each of its shapes with its columns."""
    folder = ET.SubElement(document, "Folder")
    _add(folder, "name", name)
    shown = "0" if name in HIDDEN else "1"
    _add(folder, "visibility", shown)
    _add(folder, "description", TABLES[name])
    columns = [column.name for column in _columns(name, table)]
    values = table[columns].astype(object).where(table[columns].notna(), None)
    shapes = cut_at_180(table.geometry.to_numpy())
    if LAYERS[name] == "Polygon":  # the outer ring runs against the clock
        shapes = shapely.reverse(shapely.normalize(rounded(shapes)))
    for line, shape in zip(values.itertuples(index=False, name=None), shapes, strict=True):
        row = dict(zip(columns, line, strict=True))
        mark = ET.SubElement(folder, "Placemark")
        _add(mark, "name", _name(name, row))
        _add(mark, "visibility", shown)
        style = styles.get(row["crop"], f"#{name}") if name == "strips" else f"#{name}"
        _add(mark, "styleUrl", style)
        data = ET.SubElement(ET.SubElement(mark, "ExtendedData"), "SchemaData")
        data.set("schemaUrl", f"#{name}_columns")
        for column, value in row.items():
            if value is not None and value != "":
                said = str(value).lower() if isinstance(value, bool) else str(value)
                _add(data, "SimpleData", said, name=column)
        _add_shape(mark, shape)


def _name(layer: str, row: Mapping[str, Any]) -> str:
    """Say in a word or two what a shape is."""
    if layer == "strips":
        return f"{row['crop']} {row['strip']}/{row['piece']}"
    if layer == "rows":
        return f"{row['crop']} {row['strip']}/{row['piece']}, row {row['row']}"
    if layer == "passes":
        way = f", {row['turn']}" if row.get("turn") else ""
        return f"{row['job']} {row['number']}{way}"
    return f"{layer} {row['part']}"


def _add_shape(parent: ET.Element, shape: shapely.Geometry) -> None:
    """Add a shape; one of several parts as a group of them."""
    parts = shapely.get_parts(shape)
    to = ET.SubElement(parent, "MultiGeometry") if len(parts) != 1 else parent
    for part in parts:
        if shapely.get_dimensions(part) == LINE:
            line = ET.SubElement(to, "LineString")
            _add(line, "tessellate", "1")
            _add(line, "coordinates", _coordinates(part))
            continue
        polygon = ET.SubElement(to, "Polygon")
        _add(polygon, "tessellate", "1")
        for ring, of in zip(shapely.get_rings(part), _boundaries(), strict=False):
            _add(ET.SubElement(ET.SubElement(polygon, of), "LinearRing"), "coordinates",
                 _coordinates(ring))  # fmt: skip


def _boundaries() -> Iterator[str]:
    yield "outerBoundaryIs"
    while True:
        yield "innerBoundaryIs"


def _coordinates(line: shapely.Geometry) -> str:
    """Write longitude and latitude of each point."""
    points = np.round(shapely.get_coordinates(line), STEP_DECIMALS) + 0.0
    return " ".join(f"{x:.{STEP_DECIMALS}f},{y:.{STEP_DECIMALS}f}" for x, y in points)
