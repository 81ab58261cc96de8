"""Every format is read back by a reader not written here and held to the layout, column by column.

Names in it are as hostile as a plan may have them: signs of XML, formulas, other scripts.
"""

import csv
import json
import os
import re
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import fastkml
import fiona
import geopandas as gpd
import numpy as np
import pandas as pd
import pygeoif
import pyogrio
import pytest
import shapefile
import shapely
from fastkml.validator import validate
from fields import AROUND, SHED, lay_on, square
from fudgeo.geopkg import GeoPackage
from outside import VALIDATOR
from task_data import faults, strictly, xml_of

import striplay
from striplay.column import SHORT, short_name
from striplay.columns import LAYERS, LOOKS, TABLES, VERSION, columns_of
from striplay.errors import OutputError
from striplay.files import writers
from striplay.files.layers import to_lonlat
from striplay.files.write_shapefile import cut
from striplay.files.writers import WRITERS, chosen
from striplay.handover import content_of

CORN, OATS, PLANTER = '=HYPERLINK("x"),&<b>\'', "-2; овёс 燕麦 ]]> &amp;", '@a "b" <c>'
STEP_DEG = 1e-7


def hostile(text):
    """Give a plan's tables with names that harm where they are not quoted."""
    for old, new in (("corn", CORN), ("oats", OATS), ("planter", PLANTER)):
        quoted = json.dumps(new, ensure_ascii=False)
        for table in ("crops", "machines"):
            text = text.replace(f"[{table}.{old}]", f"[{table}.{quoted}]")
        for key in ("crop", "planter", "machine"):
            text = text.replace(f'{key} = "{old}"', f"{key} = {quoted}")
    return text


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    """A layout of hostile names, a drill of unknown openers, a pond and a planted headland."""
    folder = tmp_path_factory.mktemp("formats")
    shed = (
        f'{SHED}[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\n'
        '[crops.oats]\nplanter = "drill"\nharvester = "platform"\n'
        '[farm]\nname = "A<&\\"\'> farm"\n'
    )
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "oats"\npasses = 1\n'
    pond = shapely.Point(30, 40).buffer(60, quad_segs=4)
    return lay_on(
        folder, square(1320).difference(pond), shed=hostile(shed), strips=hostile(strips),
        headland=hostile(AROUND), direction="heading = 20",
    )  # fmt: skip


@pytest.fixture(scope="module")
def content(layout):
    return content_of(layout)


@pytest.fixture(scope="module")
def files(content, tmp_path_factory):
    """A folder with every kind of file."""
    folder = tmp_path_factory.mktemp("all")
    for writer in WRITERS.values():
        for name, data in writer.encode(content).items() if writer.encode else ():
            (folder / name).write_bytes(data)
    return folder


def given(layout, name):
    """Give a layer in degrees straight from the layout's own table."""
    return to_lonlat(getattr(layout, name), layout.ground.plane)


def assert_columns(read, table, name, called=lambda column: column):
    """Hold what was read to a table: every column, its values, and where it is empty."""
    described = [one for one in columns_of(name) if one.name in table]
    assert [called(one.name) for one in described] == [c for c in read.columns if c != "geometry"]
    assert len(read) == len(table) > 0
    for one in described:
        there, here = read[called(one.name)], table[one.name]
        if one.type == "text":
            assert list(there.fillna("")) == list(here.fillna("")), one.name
            continue
        empty = here.isna().to_numpy()
        assert (there.isna().to_numpy() == empty).all(), one.name
        numbers = [column[~empty].astype(float).to_numpy() for column in (there, here)]
        assert numbers[0] == pytest.approx(numbers[1], abs=1e-9, rel=1e-14), one.name


def assert_near(read, here, step_deg):
    """Hold shapes to others within a format's step: lines point for point, polygons by outline."""
    read, here = (np.asarray(shapes, dtype=object) for shapes in (read, here))
    if shapely.get_dimensions(here).max() == 1:
        pairs = [shapely.get_coordinates(shapes) for shapes in (read, here)]
        assert np.abs(pairs[0] - pairs[1]).max() <= step_deg / 2 + 1e-12
        return
    assert shapely.is_valid(read).all()
    apart = shapely.hausdorff_distance(shapely.boundary(read), shapely.boundary(here))
    assert apart.max() <= step_deg


# --- GeoPackage ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LAYERS)
def test_geopackage_by_gdal(layout, files, name):
    table = given(layout, name)
    read = gpd.read_file(files / "layout.gpkg", layer=name, engine="pyogrio")
    assert_columns(read, table, name)
    assert read.crs == 4326
    assert all(shapely.equals_exact(read.geometry, table.geometry))
    with fiona.open(files / "layout.gpkg", layer=name) as again:
        assert [one.properties for one in again] == [
            {name: None if pd.isna(value) else value for name, value in row.items()}
            for row in read.drop(columns="geometry").astype(object).to_dict("records")
        ]


@pytest.mark.parametrize("name", LAYERS)
def test_geopackage_by_a_driver_that_is_not_gdal(layout, files, name):
    """By fudgeo, which reads SQLite and the header of shapes by itself (it is no part of GDAL)."""
    table = given(layout, name)
    columns = [one.name for one in columns_of(name) if one.name in table]
    package = GeoPackage(files / "layout.gpkg")
    with closing(package.connection):
        layer = package[name]
        assert [one.name for one in layer.fields] == ["fid", "geom", *columns]
        assert layer.description == TABLES[name]
        rows = layer.select(fields=columns, include_geometry=True).fetchall()
    read = pd.DataFrame([row[1:] for row in rows], columns=columns)
    assert_columns(read, table, name)
    shapes = [row[0] for row in rows]
    if LAYERS[name] == "LineString":
        back = [shapely.LineString(one.coordinates) for one in shapes]
    else:
        back = [shapely.Polygon(r[0].coordinates, [h.coordinates for h in r[1:]])
                for r in (one.rings for one in shapes)]  # fmt: skip
    assert all(shapely.equals_exact(back, table.geometry.to_numpy()))


def test_geopackage_is_of_version_1_3_and_says_what_its_layers_are(content, files):
    # clauses 1.1.1.1.1 and 1.1.3 of OGC 12-128r17 (from memory): GPKG in letters, 10300
    with closing(sqlite3.connect(files / "layout.gpkg")) as base:
        assert base.execute("PRAGMA application_id").fetchone() == (0x47504B47,)
        assert base.execute("PRAGMA user_version").fetchone() == (10300,)
        assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert base.execute("PRAGMA foreign_key_check").fetchall() == []
        kinds = dict.fromkeys(LAYERS, "features") | {LOOKS: "attributes", VERSION: "attributes"}
        told = "SELECT table_name, data_type, identifier, description FROM gpkg_contents"
        assert base.execute(told).fetchall() == [
            (name, kind, name, TABLES[name]) for name, kind in kinds.items()
        ]
        looks = base.execute("SELECT crop, letter, color, hatch, hatch_color FROM looks").fetchall()
        plan = base.execute("SELECT title, farm, mark, day FROM version").fetchall()
        told = "SELECT table_name, column_name, description FROM gpkg_data_columns"
        meanings = base.execute(told).fetchall()
    said = {(name, column): text for name, column, text in meanings}
    for name in kinds:
        read = pyogrio.read_info(files / "layout.gpkg", layer=name)["fields"]
        assert [column for table, column, _ in meanings if table == name] == list(read)
    assert said["strips", "width_m"] == "Width across. Unit: m."
    assert said["passes", "machine"] == "The machine's name in the plan."
    assert looks == [
        (name, one.letter, one.color, one.hatch, one.line) for name, one in content.looks.items()
    ]
    assert {CORN, OATS} == {look[0] for look in looks}
    assert plan == [("Test", "A<&\"'> farm", content.mark, "")]
    for name in (LOOKS, VERSION):
        read = pyogrio.read_dataframe(files / "layout.gpkg", layer=name)
        assert list(read) == [one.name for one in columns_of(name)]


@pytest.mark.skipif(
    not VALIDATOR and not os.environ.get("STRIPLAY_ALL_TESTS"),
    reason="pip install --no-deps gdal-utils brings the validator",
)
def test_geopackage_by_its_validator(files):
    """The open validator of GDAL's tools, with warnings as errors."""
    done = subprocess.run(
        [sys.executable, VALIDATOR.origin, "--extra", "--warning-as-error", "-k",
         str(files / "layout.gpkg")], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (0, "")


# --- Shapefile ----------------------------------------------------------------------------------


def test_short_names_are_short_and_of_one_column_each():
    for name in LAYERS:
        names = [short_name(one.name) for one in columns_of(name)]
        assert len(names) == len(set(names))
        assert max(map(len, names)) <= 10
    assert set(SHORT) <= {one.name for name in LAYERS for one in columns_of(name)}


@pytest.mark.parametrize("name", LAYERS)
def test_shapefile_by_gdal(layout, files, name):
    table = given(layout, name)
    read = pyogrio.read_dataframe(f"/vsizip/{files / 'layout_shp.zip'}/{name}.shp")
    assert_columns(read, table, name, short_name)
    assert read.crs == 4326
    assert_same_ground(read.geometry, table.geometry)


@pytest.mark.parametrize("name", LAYERS)
def test_shapefile_by_pyshp(layout, files, name):
    table = given(layout, name)
    with shapefile.Reader(f"{files / 'layout_shp.zip'}/{name}.shp") as reader:
        fields = [field.name for field in reader.fields[1:]]
        records = [list(record) for record in reader.records()]
        shapes = reader.shapes()
    read = pd.DataFrame(records, columns=fields)
    assert_columns(read, table, name, short_name)
    assert_same_ground([shapely.geometry.shape(s.__geo_interface__) for s in shapes],
                       table.geometry)  # fmt: skip
    if LAYERS[name] == "Polygon":
        # ESRI Shapefile Technical Description (1998), page 8: outer rings run clockwise
        for one, ring in ((s, s.points[: [*s.parts, len(s.points)][1]]) for s in shapes):
            assert len(one.parts) >= 1
            assert not shapely.LinearRing(ring).is_ccw
    with zipfile.ZipFile(files / "layout_shp.zip") as packed:
        assert packed.read(f"{name}.cpg").strip() == b"UTF-8"
        assert b"WGS_1984" in packed.read(f"{name}.prj")
        assert {one.date_time for one in packed.infolist()} == {(2000, 1, 1, 0, 0, 0)}


def assert_same_ground(read, here):
    """Hold shapes to others exactly, but for where a ring begins and which way it runs."""
    one, other = (shapely.normalize(np.asarray(shapes, dtype=object)) for shapes in (read, here))
    assert all(shapely.equals_exact(one, other))


def test_a_text_too_long_for_a_shapefile_is_cut_between_letters():
    assert cut("й" * 200) == "й" * 127
    assert cut("玉" * 200) == "玉" * 84
    assert cut("a" * 254) == "a" * 254
    assert cut(None) is None


# --- KML ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def kml(files):
    return fastkml.KML.parse(files / "layout.kml", strict=True)


def simple_data(mark):
    """Give the values of a placemark."""
    (data,) = mark.extended_data.elements
    return data.data


def test_kml_is_valid(files):
    """By the schema of KML 2.2 that fastkml brings."""
    assert validate(file_to_validate=files / "layout.kml")


@pytest.mark.parametrize("name", LAYERS)
def test_kml_by_fastkml(layout, content, kml, name):
    (document,) = kml.features
    assert document.name == "Test"
    assert content.mark in document.description
    folder = next(one for one in document.features if one.name == name)
    assert folder.description == TABLES[name]
    table = given(layout, name)
    data = [{d.name: d.value for d in simple_data(one)} for one in folder.features]
    schema = next(one for one in document.schemata if one.name == name)
    types = {"whole number": "int", "number": "double", "text": "string", "yes or no": "bool"}
    assert [(one.name, one.type_.value) for one in schema.fields] == [
        (one.name, types[one.type]) for one in columns_of(name) if one.name in table
    ]
    assert set().union(*data) <= {column.name for column in columns_of(name)}
    read = pd.DataFrame(data, columns=[c.name for c in columns_of(name) if c.name in table])
    for column in (one for one in columns_of(name) if one.name in table):
        if column.type == "yes or no":
            read[column.name] = read[column.name].map({"true": True, "false": False})
        elif column.type != "text":
            read[column.name] = pd.to_numeric(read[column.name])
        else:
            read[column.name] = read[column.name].astype(object).fillna("")
    assert_columns(read, table, name)
    back = [shapely.geometry.shape(one.geometry) for one in folder.features]
    assert_near(back, table.geometry, STEP_DEG)
    if LAYERS[name] == "LineString":
        return
    # OGC 07-147r2, 10.8.3.4 (from memory): the outer ring runs counterclockwise
    assert all(shapely.is_ccw(shapely.get_exterior_ring(shapely.get_parts(back))))


def test_kml_has_crops_in_the_colors_of_the_sheets(content, kml):
    (document,) = kml.features
    styles = {f"#{one.id}": list(one.styles) for one in document.styles}
    strips = next(one for one in document.features if one.name == "strips")
    for one in strips.features:
        crop = next(d.value for d in simple_data(one) if d.name == "crop")
        fill = next(s for s in styles[one.style_url.url] if isinstance(s, fastkml.PolyStyle))
        color = content.looks[crop].color  # OGC 07-147r2, 16.2: aabbggrr
        assert fill.color[2:] == color[5:7] + color[3:5] + color[1:3]
        assert one.name.startswith(crop)


def test_turns_are_drawn_where_they_are_asked_for(layout, kml, tmp_path):
    with_turns = content_of(layout, turns=True)
    table = layout.passes_and_turns
    assert len(table) > len(layout.passes)
    path = tmp_path / "passes.geojson"
    path.write_bytes(WRITERS["geojson"].encode(with_turns)["passes.geojson"])
    assert list(gpd.read_file(path)["turn"].fillna("")) == list(table["turn"])
    (document,) = fastkml.KML.from_string(WRITERS["kml"].encode(with_turns)["layout.kml"]).features
    counts = [
        {one.name: len(one.features) for one in page.features}["passes"]
        for page in (document, kml.features[0])
    ]
    assert counts == [len(table), len(layout.passes)]
    # in all others passes stay what machines work
    assert WRITERS["geopackage"].encode(with_turns) == WRITERS["geopackage"].encode(
        content_of(layout)
    )


# --- GeoParquet, GeoJSON, CSV -------------------------------------------------------------------


@pytest.mark.parametrize("name", LAYERS)
def test_geoparquet_by_arrow(layout, files, name):
    pytest.importorskip("pyarrow")
    table = given(layout, name)
    read = gpd.read_parquet(files / f"{name}.parquet")
    assert_columns(read, table, name)
    assert read.crs == 4326
    assert all(shapely.equals_exact(read.geometry, table.geometry))


@pytest.mark.parametrize("name", ["strips", "rows", "headland", "passes"])
def test_geojson_by_gdal(layout, files, name):
    table = given(layout, name)
    read = gpd.read_file(files / f"{name}.geojson")
    for column in (one for one in columns_of(name) if one.type == "text" and one.name in table):
        read[column.name] = read[column.name].fillna("")
    assert_columns(read, table, name)
    assert_near(read.geometry, table.geometry, STEP_DEG)


@pytest.mark.parametrize("name", WRITERS["csv"].files)
def test_csv_by_the_standard_library(content, files, name):
    table = content.lists[name]
    with (files / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(table) > 0
    for one in (one for one in columns_of(name) if one.name in table):
        cells, here = [row[one.name] for row in rows], list(table[one.name])
        if one.type == "text":
            assert [cell.removeprefix("'") for cell in cells] == [
                "" if text is None else text for text in here
            ]
            assert not any(cell[:1] in "=+-@" for cell in cells if cell)
        elif one.type == "yes or no":
            assert cells == [str(value) for value in here]
        else:
            places = 7 if one.name.endswith("tude") else 6
            for cell, value in zip(cells, here, strict=True):
                assert (cell == "") == bool(pd.isna(value))
                assert cell == "" or abs(float(cell) - value) <= 10**-places / 2 * 1.01


def test_passes_as_csv_have_every_column_of_the_layer_and_feet(layout, content):
    table = content.lists["passes.csv"]
    assert list(table)[: len(layout.passes.columns) - 1] == list(layout.passes.columns)[:-1]
    assert table["length_ft"].sum() == pytest.approx(layout.passes["length_m"].sum() / 0.3048)


# --- what harms, and what is missing ------------------------------------------------------------

BREAKS = "a\n\r\t\x0b\x1f\x7f\u2028b"


@pytest.mark.parametrize("kind", [name for name, writer in WRITERS.items() if writer.encode])
def test_control_characters_break_no_format(content, kind, tmp_path):
    """A plan's file can't hold such names; a plan made in Python can."""
    layers = {
        name: table.assign(crop=BREAKS) if "crop" in table else table
        for name, table in content.layers.items()
    }
    lists = {name: table.assign(crop=BREAKS) for name, table in content.lists.items()}
    broken = replace(
        content,
        plan=content.plan.model_copy(update={"title": BREAKS}),
        layers=layers, ways=layers["passes"], lists=lists,
        looks={BREAKS: next(iter(content.looks.values()))},
        accounts={**content.accounts, BREAKS: BREAKS},
    )  # fmt: skip
    for name, data in WRITERS[kind].encode(broken).items():
        (tmp_path / name).write_bytes(data)
    for path in tmp_path.iterdir():
        READ_WITH[path.suffix](path)


def read_kml(path):
    assert validate(file_to_validate=path)


def read_zip(path):
    if path.name == "taskdata.zip":
        assert faults(strictly(xml_of(path.read_bytes()))) == []
        return
    with shapefile.Reader(f"{path}/strips.shp") as reader:
        assert len(reader) > 0


def read_csv(path):
    with path.open(encoding="utf-8", newline="") as file:
        heads, *rows = csv.reader(file, strict=True)
    assert rows
    assert {len(row) for row in rows} == {len(heads)}


def read_page(path):
    data = path.read_text(encoding="utf-8").split('type="application/json">')[1]
    assert json.loads(data.split("</script>")[0])["strips"]


READ_WITH = {
    ".html": read_page,
    ".geojson": lambda path: json.loads(path.read_text(encoding="utf-8")),
    ".json": lambda path: json.loads(path.read_text(encoding="utf-8")),
    ".gpkg": lambda path: pyogrio.read_dataframe(path, layer="strips"),
    ".parquet": gpd.read_parquet,
    ".kml": read_kml,
    ".zip": read_zip,
    ".csv": read_csv,
}


def test_a_missing_library_is_told_before_anything_is_laid(layout, tmp_path, monkeypatch):
    monkeypatch.setattr(writers, "find_spec", lambda _: None)
    told = 'geoparquet: needs pyarrow; pip install "striplay[parquet]"'
    with pytest.raises(OutputError) as refusal:
        chosen(["geoparquet"])
    assert str(refusal.value) == told
    with pytest.raises(OutputError) as refusal:
        striplay.save(layout, tmp_path / "out", files=["geoparquet"])
    assert str(refusal.value) == told
    assert not Path(tmp_path / "out").exists()


def eastward(points):
    return points + np.array([273.5, 0])


def test_a_field_across_the_180th_meridian_keeps_its_shapes_in_range_in_kml(content):
    layers = {
        name: table.set_geometry(shapely.transform(table.geometry.to_numpy(), eastward))
        for name, table in content.layers.items()
    }
    moved = replace(content, layers=layers, ways=layers["passes"])
    document = fastkml.KML.from_string(WRITERS["kml"].encode(moved)["layout.kml"])
    across = 0
    for folder in document.features[0].features:
        for one in folder.features:
            west, _, east, _ = pygeoif.shape(one.geometry).bounds
            across += isinstance(one.geometry, (pygeoif.MultiLineString, pygeoif.MultiPolygon))
            assert -180 <= west <= east <= 180
    assert across


@pytest.mark.parametrize("name", ["passes.geojson", "layout.gpkg", "passes.csv"])
def test_ends_of_passes_have_seven_decimals(layout, files, name):
    """A millionth of a degree is 11 cm: too little for a machine to begin at."""
    if name == "passes.csv":
        read = pd.read_csv(files / name)
    else:
        read = gpd.read_file(files / name, layer="passes")
    for column in ("a_longitude", "a_latitude", "b_longitude", "b_latitude"):
        assert np.abs(read[column] - layout.passes[column]).max() <= 0.51e-7


# --- the page of files and columns --------------------------------------------------------------

PAGE = Path(__file__).parents[2] / "docs" / "tables_reference.md"
SOMETIMES = (
    "with --turns",
    "where the field has several blocks",
    "with metric units",
    "with [trial]",
)
"""What the page says of columns that this layout does not have."""


def columns_said(table):
    """Give the columns that the page lists of a table, and what a Shapefile calls them."""
    _, part = PAGE.read_text(encoding="utf-8").split(f"\n## `{table}`\n")
    lines = [line for line in part.split("\n## ")[0].splitlines() if line.startswith("| `")]
    kept = [line for line in lines if not any(f"Only {s}" in line for s in SOMETIMES)]
    named = [re.findall(r"`(\w+)`", line.split("|")[1]) for line in kept]
    return [names[0] for names in named], [names[-1] for names in named]


def columns_in(folder, kind, table):
    """Give the columns of a table in the file of a kind, as its reader has them."""
    if kind == "csv":
        return list(pd.read_csv(folder / table))
    if kind == "kml":
        space = {"k": "http://www.opengis.net/kml/2.2"}
        page = ET.parse(folder / "layout.kml")  # noqa: S314 - our own
        schemata = page.findall("k:Document/k:Schema", space)
        schema = next(one for one in schemata if one.get("name") == table)
        return [field.get("name") for field in schema.findall("k:SimpleField", space)]
    path = {
        "geojson": folder / f"{table}.geojson",
        "geopackage": folder / "layout.gpkg",
        "shapefile": f"/vsizip/{folder / 'layout_shp.zip'}/{table}.shp",
    }
    if kind == "geoparquet":
        return [one for one in gpd.read_parquet(folder / f"{table}.parquet") if one != "geometry"]
    return list(pyogrio.read_info(path[kind], layer=table)["fields"])


@pytest.mark.parametrize(
    ("kind", "table"),
    [(writer.name, table) for writer in WRITERS.values() for table in writer.tables],
)
def test_the_page_of_columns_says_what_is_written(files, kind, table):
    names, short = columns_said(table)
    assert columns_in(files, kind, table) == (short if kind == "shapefile" else names)


def test_the_page_of_files_lists_every_kind_and_what_it_makes(files):
    page = PAGE.read_text(encoding="utf-8")
    for writer in WRITERS.values():
        line = next(line for line in page.splitlines() if line.startswith(f"| `{writer.name}` |"))
        assert re.findall(r"`([^`]+)`", line) == [writer.name, *writer.files]
        if writer.encode:
            assert all((files / name).exists() for name in writer.files)
