"""A layout in a notebook: the map is true, the table adds up, and no name is markup."""

import json
import re
from xml.etree import ElementTree as ET

import geopandas as gpd
import numpy as np
import pytest
import shapely
from fields import SHED, STRIPS, lay_on, sample, square

from striplay.notebook import HEADS, account_lines

NAMES = ("quarter_section", "pond_ell", "two_parts")


def shown(layout):
    """Give what a notebook gets; as it is well-formed, by a reader of XML."""
    return ET.fromstring(layout._repr_html_())  # noqa: S314 - our own


def drawn(page):
    """Give the shapes of the map by what each is called, in pixels."""
    shapes = {}
    for path in page.iter("{http://www.w3.org/2000/svg}path"):
        rings = [
            np.array([point.split() for point in ring.split("L")], dtype=float)
            for ring in re.findall(r"M([^Z]*)Z", path.get("d"))
        ]
        (title,) = path
        shapes[title.text] = shapely.union_all([shapely.make_valid(shapely.Polygon(r))
                                                for r in rings if len(r) > 2])  # fmt: skip
    return shapes


@pytest.mark.parametrize("name", NAMES)
def test_the_map_is_true_and_small(name):
    layout = sample(name)
    text = layout._repr_html_()
    assert len(text) < 60_000
    shapes = drawn(shown(layout))
    west, south, east, north = layout.ground.outline.bounds
    scale = 320 / max(east - west, north - south)
    assert shapes["field"].bounds == pytest.approx(
        (0, 0, (east - west) * scale, (north - south) * scale), abs=0.3
    )
    for crop, area_m2 in layout.strips.groupby("crop")["area_m2"].sum().items():
        assert shapes[crop].area == pytest.approx(area_m2 * scale**2, rel=0.04)
        middle = layout.strips[layout.strips["crop"] == crop].geometry.iloc[0].point_on_surface()
        pixel = shapely.Point((middle.x - west) * scale, (north - middle.y) * scale)
        assert shapes[crop].buffer(0.3).contains(pixel)


@pytest.mark.parametrize("name", NAMES)
def test_the_table_adds_up_to_the_field(name):
    layout = sample(name)
    lines = account_lines(layout.plan, layout.accounts)
    area = {label: float(said.split()[0].replace(",", "")) for label, _, said, _ in lines if said}
    assert sum(area.values()) == pytest.approx(2 * area["field"], abs=0.03)
    page = shown(layout)
    cells = [["".join(cell.itertext()).strip() for cell in line] for line in page.iter("tr")]
    patches = [patch.get("style") for patch in page.iter("span")]
    assert len(set(patches)) == len(patches) == layout.strips["crop"].nunique()
    assert cells == [list(HEADS), *map(list, lines)]


def test_no_name_is_markup(tmp_path):
    bad = "</svg><script>alert(1)</script>\"'&amp;"
    quoted = json.dumps(bad)
    shed, strips = (
        text.replace("[crops.corn]", f"[crops.{quoted}]").replace('"corn"', quoted)
        for text in (SHED, STRIPS)
    )
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland="")
    plan = layout.plan.model_copy(update={"title": f"{bad}\x00\x1b"})
    object.__setattr__(layout, "plan", plan)
    text = layout._repr_html_()
    assert "<script" not in text
    page = shown(layout)
    assert {element.tag.split("}")[-1] for element in page.iter()} == {
        "div", "svg", "title", "path", "table", "thead", "tbody", "tr", "th", "td", "span",
    }  # fmt: skip
    assert bad in drawn(page)
    assert bad in {"".join(cell.itertext()).strip() for cell in page.iter("td")}


@pytest.mark.parametrize("name", ["strips", "passes", "field"])
def test_tables_are_explored_on_a_map(name):
    """By geopandas and folium: on the local plane as they are, brought to degrees there."""
    pytest.importorskip("folium")
    pytest.importorskip("mapclassify")
    table = getattr(sample("pond_ell"), name)
    text = table.explore().get_root().render()
    assert isinstance(table, gpd.GeoDataFrame)
    longitudes = [float(x) for x in re.findall(r"\[(-88\.\d+), 40\.\d+\]", text)]
    assert len(longitudes) > 4
    bounds = table.to_crs(4326).total_bounds
    assert (min(longitudes), max(longitudes)) == pytest.approx((bounds[0], bounds[2]), abs=1e-9)
