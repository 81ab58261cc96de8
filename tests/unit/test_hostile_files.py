"""Check that a boundary or plan from someone else reads nothing but itself, and asks for little."""

import gzip
import http.server
import json
import os
import re
import sqlite3
import struct
import threading
import zipfile
from contextlib import closing

import geopandas as gpd
import pyproj
import pytest
import shapely
from fields import SHED, STRIPS, square, write_plan_for
from hypothesis import given
from hypothesis import strategies as st

from striplay.crs import read_crs
from striplay.errors import BoundaryError, PlanError
from striplay.files import condition, formats, zips
from striplay.files.condition import read_condition
from striplay.files.plan import DEEP_KEY, read_plan
from striplay.files.shapes import read_shapes
from striplay.flow import lay, read_ground
from striplay.ground import locate
from striplay.growing import season_of
from striplay.notices import Notice

BOX = shapely.box(-93.5, 42.0, -93.49, 42.01)
GEOMETRY = json.loads(shapely.to_geojson(BOX))
RING = " ".join(f"{x},{y}" for x, y in BOX.exterior.coords)
KEPT = "keep me to yourself"


@pytest.fixture
def server():
    """A server on this computer, and the requests that it saw."""
    seen = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            seen.append(self.path)
            self.send_error(404)

        do_HEAD = do_POST = do_GET  # noqa: N815 - the library's names

        def log_message(self, *_):
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as serving:
        thread = threading.Thread(target=serving.serve_forever, args=[0.01], daemon=True)
        thread.start()
        yield f"127.0.0.1:{serving.server_port}", seen
        serving.shutdown()
        thread.join()


def table(count=1):
    return gpd.GeoDataFrame({"id": range(count)}, geometry=[BOX] * count, crs=4326)


def told_of(path, **choice):
    """Read a boundary; give the refusal, or "" where it was read."""
    try:
        locate(read_shapes(path, **choice))
    except BoundaryError as error:
        told = str(error)
    else:
        told = ""
    assert KEPT not in told
    return told


# --- what a file may name -----------------------------------------------------------------------

VRT = (
    "<OGRVRTDataSource><OGRVRTLayer name='field'><SrcDataSource>{}</SrcDataSource>"
    "<SrcLayer>other</SrcLayer></OGRVRTLayer></OGRVRTDataSource>"
)


@pytest.mark.parametrize("ending", sorted({*formats.FORMATS, ".vrt", ".xml"} - {".gdb"}))
def test_the_content_of_another_format_is_not_followed(tmp_path, server, ending):
    address, seen = server
    table().to_file(tmp_path / "other.geojson", driver="GeoJSON")
    for target in (tmp_path / "other.geojson", f"/vsicurl/http://{address}/other.geojson"):
        path = tmp_path / f"field{ending}"
        path.write_text(VRT.format(target))
        assert told_of(path).startswith(f"field{ending}: ")
    assert seen == []


@pytest.mark.parametrize(
    "content",
    [
        "WFS:http://{}/wfs", "GTFS:http://{}", "PG:host={}", "MVT:http://{}",
        "<OGRWFSDataSource><URL>http://{}/wfs</URL></OGRWFSDataSource>",
        "<OGRGPSBabelDataSource><Command>gpsbabel</Command></OGRGPSBabelDataSource>",
        '{{"type": "Topology", "objects": {{}}}}',
    ],
)  # fmt: skip
def test_other_programs_are_not_started_nor_asked(tmp_path, server, content):
    address, seen = server
    for ending in (".geojson", ".gml", ".kml", ".tab", ".shp"):
        path = tmp_path / f"field{ending}"
        path.write_text(content.format(address))
        assert told_of(path) != ""
    assert seen == []


LINKS = [
    {"type": "link", "properties": {"href": "http://{}/crs", "type": "proj4"}},
    {"type": "name", "properties": {"name": "http://{}/crs"}},
    {"type": "name", "properties": {"name": "/vsicurl/http://{}/crs"}},
    {"type": "url", "properties": {"url": "http://{}/crs"}},
    "http://{}/crs",
]


@pytest.mark.parametrize("link", LINKS, ids=str)
@pytest.mark.parametrize("inside", [False, True])
def test_a_linked_crs_is_not_fetched(tmp_path, server, link, inside):
    address, seen = server
    crs = json.loads(json.dumps(link).replace("{}", address))
    content = {"type": "FeatureCollection", "crs": crs, "features": []}
    content["features"] = [{"type": "Feature", "properties": {}, "geometry": dict(GEOMETRY)}]
    if inside:
        content["features"][0]["geometry"]["crs"] = content.pop("crs")
    path = tmp_path / "field.geojson"
    path.write_text(json.dumps(content))
    told = told_of(path)
    assert seen == []
    assert (told == "") is inside
    if not inside and not isinstance(link, str) and link["type"] == "link":
        assert told == (
            "field.geojson: its crs is no name, and links are not followed; write it as a name, "
            'such as "urn:ogc:def:crs:EPSG::26915"'
        )


FILES_OF_CRS = [
    "+proj=longlat +nadgrids={}",
    "+proj=longlat +nadgrids=@null,{}",
    "+init={}:1",
    'GEOGCS["a",DATUM["b",SPHEROID["c",6378137,298]],EXTENSION["PROJ4","+nadgrids={}"]]',
    'BOUNDCRS[SOURCECRS[GEOGCRS["a"]],PARAMETERFILE["Latitude difference","{}"]]',
    (
        'GEOGCS["a",DATUM["b",SPHEROID["c",6378137,298.25],EXTENSION["PROJ4_GRIDS","{}"]],'
        'PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
    ),
]


@pytest.mark.parametrize("crs", FILES_OF_CRS)
def test_a_crs_that_names_files_is_refused(tmp_path, server, crs):
    address, seen = server
    (tmp_path / "grid.gsb").write_text(KEPT)
    for grid in (tmp_path / "grid.gsb", f"http://{address}/grid.tif"):
        text = crs.format(grid, grid)
        path = tmp_path / "field.geojson"
        path.write_text(json.dumps(GEOMETRY))
        assert "names further files, which are not read" in told_of(path, crs=text)
        stated = {"type": "name", "properties": {"name": text}}
        path.write_text(json.dumps({**GEOMETRY, "crs": stated}))
        assert "names further files, which are not read" in told_of(path)
        table().to_file(tmp_path / "shape.shp", driver="ESRI Shapefile")
        (tmp_path / "shape.prj").write_text(text)
        told_of(tmp_path / "shape.shp")
    assert seen == []


def bound(name, value):
    """A coordinate reference system in PROJJSON, shifted by what a file holds."""
    return {
        "type": "BoundCRS",
        "source_crs": pyproj.CRS(4269).to_json_dict(),
        "target_crs": pyproj.CRS(4326).to_json_dict(),
        "transformation": {
            "name": "shift",
            "method": {"name": "NTv2", "id": {"authority": "EPSG", "code": 9615}},
            "parameters": [
                {"name": name, "value": value, "id": {"authority": "EPSG", "code": 8656}}
            ],
        },
    }


@pytest.mark.parametrize("name", ["shift", "Latitude and longitude difference file"])
@pytest.mark.parametrize("stated", ["in the plan", "in the file"])
def test_a_crs_opens_no_file_however_it_is_written(tmp_path, name, stated):
    os.mkfifo(tmp_path / "pipe")  # opened, it would hold for ever
    text = json.dumps(bound(name, str(tmp_path / "pipe"))).replace('file"', '\\u0066ile"')
    content, choice = dict(GEOMETRY), {"crs": text}
    if stated == "in the file":
        content["crs"], choice = {"type": "name", "properties": {"name": text}}, {}
    path = tmp_path / "field.geojson"
    path.write_text(json.dumps(content))
    assert "names further files, which are not read" in told_of(path, **choice)


def test_a_crs_shifted_by_numbers_and_that_of_web_maps_are_read(tmp_path):
    path = tmp_path / "field.geojson"
    path.write_text(json.dumps(GEOMETRY))
    shifted = pyproj.CRS("+proj=longlat +ellps=bessel +towgs84=598,73,418,0,0,2,6 +type=crs")
    web = "+proj=merc +a=6378137 +b=6378137 +units=m +nadgrids=@null +wktext +type=crs"
    for text in (shifted.to_json(), shifted.to_wkt("WKT1_GDAL"), pyproj.CRS(3857).to_wkt()):
        assert "names further files" not in told_of(path, crs=text)
    assert read_crs("a", web).is_projected
    assert read_crs("a", pyproj.CRS(web).to_wkt("WKT1_GDAL")).is_projected


@pytest.mark.parametrize(
    "text",
    ["x" * 200_000, '{"a":' * 15_000, '{"a":' * 980 + "1" + "}" * 980, "[" * 90_000],
    ids=len,
)
def test_a_crs_without_sense_is_refused(tmp_path, text):
    path = tmp_path / "field.geojson"
    path.write_text(json.dumps(GEOMETRY))
    told = "field.geojson: "
    assert told_of(path, crs=text).startswith(told)
    assert len(told_of(path, crs=text)) < 200


GML = (
    '<?xml version="1.0"?>{doctype}<ogr:FeatureCollection xmlns:ogr="http://ogr" '
    'xmlns:gml="http://www.opengis.net/gml" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" {schema}>'
    "<gml:featureMember><ogr:field><ogr:name>{name}</ogr:name>"
    '<ogr:geometry><gml:Polygon srsName="{crs}"><gml:outerBoundaryIs><gml:LinearRing>'
    "<gml:coordinates>{ring}</gml:coordinates></gml:LinearRing></gml:outerBoundaryIs>"
    "</gml:Polygon></ogr:geometry>{more}</ogr:field></gml:featureMember></ogr:FeatureCollection>"
)


def gml(**parts):
    plain = {"doctype": "", "schema": "", "name": "a", "crs": "EPSG:4326", "more": "", "ring": RING}
    return GML.format(**plain | parts)


def test_gml_follows_neither_schema_nor_links_nor_crs(tmp_path, server):
    address, seen = server
    path = tmp_path / "field.gml"
    path.write_text(gml())
    assert told_of(path) == ""
    for target in (f"http://{address}/a.xsd", f"/vsicurl/http://{address}/a.xsd"):
        path.write_text(gml(schema=f'xsi:schemaLocation="http://ogr {target}"'))
        assert told_of(path) == ""
        path.write_text(gml(more=f'<ogr:other xlink:href="{target}#x"/>'))
        assert told_of(path) == ""
        path.write_text(gml(crs=target))
        assert told_of(path) != ""
    assert seen == []
    # reading wrote nothing beside the file, and a schema there is not read either
    assert [one.name for one in tmp_path.iterdir()] == ["field.gml"]


@pytest.mark.parametrize("ending", ["gml", "gpkg", "shp", "fgb"])
def test_a_grid_in_a_format_of_fionas_is_not_opened(tmp_path, ending):
    os.mkfifo(tmp_path / "pipe")  # opened, it would hold for ever
    grid = f"+proj=longlat +nadgrids={tmp_path / 'pipe'}"
    extended = FILES_OF_CRS[-1].format(tmp_path / "pipe")
    path = tmp_path / f"field.{ending}"
    if ending == "gml":
        path.write_text(gml(crs=grid.replace("nad", "&#110;ad")))
    elif ending == "gpkg":
        asked = "UPDATE gpkg_spatial_ref_sys SET definition = ? WHERE srs_id = 4326"
        with closing(sqlite3.connect(geopackage(path), isolation_level=None)) as base:
            base.execute(asked, (extended,))
    elif ending == "shp":
        table().to_file(path, driver="ESRI Shapefile")
        path.with_suffix(".prj").write_text(extended)
    else:
        table().to_file(path, driver="FlatGeobuf")
        path.write_bytes(path.read_bytes() + b'PROJ4_GRIDS","/pipe"')
    assert "names further files, which are not read" in told_of(path)


def test_a_grid_in_geoparquet_is_not_opened(tmp_path):
    pq = pytest.importorskip("pyarrow.parquet")
    os.mkfifo(tmp_path / "pipe")
    table().to_parquet(tmp_path / "plain.parquet")
    found = pq.read_table(tmp_path / "plain.parquet")
    geo = json.loads(found.schema.metadata[b"geo"])
    geo["columns"]["geometry"]["crs"] = bound("shift", str(tmp_path / "pipe"))
    changed = found.replace_schema_metadata({**found.schema.metadata, b"geo": json.dumps(geo)})
    pq.write_table(changed, tmp_path / "field.parquet")
    assert "names further files" in told_of(tmp_path / "field.parquet")


def test_a_document_type_is_refused_so_entities_are(tmp_path):
    (tmp_path / "secret.txt").write_text(KEPT)
    laughs = "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(9))
    doctypes = {
        f'<!DOCTYPE x [<!ENTITY a0 "ha">{laughs}]>': "&a9;",
        f'<!DOCTYPE x [<!ENTITY a SYSTEM "file://{tmp_path}/secret.txt">]>': "&a;",
        '<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">': "a",
    }
    for doctype, name in doctypes.items():
        for ending in ("gml", "kml"):
            path = tmp_path / f"field.{ending}"
            path.write_text(gml(doctype=doctype, name=name))
            told = f"field.{ending}: has a document type, which is not read; export it anew without"
            assert told_of(path) == told
            path.write_text(gml(doctype=doctype, name=name), encoding="utf-16")
            assert told_of(path) == f"field.{ending}: is not in UTF-8; save it as UTF-8"


@pytest.mark.parametrize("encoding", ["utf-7", "utf-32", "shift_jis", "klingon", "hex"])
def test_xml_in_an_encoding_that_is_not_read_is_told(tmp_path, encoding):
    path = tmp_path / "field.kml"
    path.write_text(f'<?xml version="1.0" encoding="{encoding}"?>{KML.format("")}')
    assert told_of(path) == "field.kml: is not in UTF-8; save it as UTF-8"
    for read in ("UTF-8", "us-ascii", "ISO-8859-1", "windows-1252"):
        path.write_text(f'<?xml version="1.0" encoding="{read}"?>{KML.format("")}')
        assert told_of(path) == ""


@pytest.mark.parametrize(
    ("key", "tables"),
    [("field.boundary", {"boundary": "{}"}), ("field.obstacles", {"more": 'obstacles = "{}"'}),
     ("direction.along", {"direction": 'along = "{}"'}),
     ("weather.file", {"more_tables": '[weather]\nfile = "{}"'}),
     ("blocks[1].file", {"more_tables": '[[blocks]]\nfile = "{}"'})],
)  # fmt: skip
def test_a_file_that_no_name_can_be_is_told_by_its_key(tmp_path, key, tables):
    path = write_plan_for(tmp_path, square())
    text, name = path.read_text(), r"a\u0000b.shp"
    if "boundary" in tables:
        text = text.replace('"field.geojson"', f'"{name}"')
    if "more" in tables:
        text = text.replace("[field]\n", f"[field]\n{tables['more'].format(name)}\n")
    if "direction" in tables:
        begin = text.index("[direction]\n") + len("[direction]\n")
        end = text.index("[", begin)
        text = f"{text[:begin]}{tables['direction'].format(name)}\n{text[end:]}"
    text += "\n" + tables.get("more_tables", "").format(name) + "\n"
    path.write_text(text)
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    (fault,) = [fault for fault in refusal.value.faults if fault.startswith(f"{key}: ")]
    assert fault.startswith(
        rf'{key}: "a\u0000b.shp" holds U+0000, which no name of a file can; write the name as the '
        "file has it"
    )


@pytest.mark.parametrize("name", ['{"a":' * 30_000, "\ud800"])
@pytest.mark.parametrize("stated", [None, "EPSG:4326"])
def test_a_crs_that_nothing_can_read_is_told(tmp_path, name, stated):
    path = tmp_path / "field.geojson"
    crs = {"type": "name", "properties": {"name": name}}
    feature = {"type": "Feature", "properties": {}, "geometry": GEOMETRY}
    path.write_text(json.dumps({"type": "FeatureCollection", "crs": crs, "features": [feature]}))
    told = told_of(path, crs=stated)
    assert told.endswith(
        'is no known coordinate reference system; write one such as crs = "EPSG:26915"'
        if stated is None
        else 'not crs = "EPSG:4326"; take crs out of the plan'
    )


def test_deep_xml_is_refused(tmp_path):
    path = tmp_path / "field.kml"
    path.write_text("<a>" * 500_000)
    assert told_of(path) == "field.kml: has over 100 elements within each other"


KML = (
    '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{}<Placemark><Polygon><outerBoundaryIs>'
    f"<LinearRing><coordinates>{RING}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    "</Placemark></Document></kml>"
)


def test_kml_follows_no_links(tmp_path, server):
    address, seen = server
    links = (
        f"<NetworkLink><Link><href>http://{address}/a.kml</href></Link></NetworkLink>"
        f"<Style><IconStyle><Icon><href>http://{address}/a.png</href></Icon></IconStyle></Style>"
    )
    path = tmp_path / "field.kml"
    path.write_text(KML.format(links))
    assert told_of(path) == ""
    assert seen == []


@pytest.mark.parametrize(
    "text",
    [
        "!table\nDefinition Table\nType NATIVE\n\\IsSeamless = TRUE\n",
        '!table\nOpen Table "{}" Hide\nCreate View a As Select * from b\n',
        "!table\nDefinition Table\nType SHAPEFILE\n",
    ],
)
def test_mapinfo_names_no_other_table(tmp_path, text):
    path = tmp_path / "field.tab"
    path.write_text(text.format(tmp_path / "other.tab"))
    assert told_of(path) == (
        "field.tab: is no MapInfo table with features of its own; save it as one"
    )


def test_links_to_side_files_elsewhere_are_none(tmp_path):
    away, here = tmp_path / "away", tmp_path / "here"
    away.mkdir()
    here.mkdir()
    table().to_file(away / "field.shp", driver="ESRI Shapefile")
    for side in ("shp", "shx", "dbf"):
        (away / f"field.{side}").rename(here / f"field.{side}")
    (here / "field.prj").symlink_to(away / "field.prj")
    assert told_of(here / "field.shp").startswith("field.shp: states no coordinate reference")
    (here / "field.prj").unlink()
    (away / "field.prj").rename(here / "field.prj")
    assert told_of(here / "field.shp") == ""


# --- a GeoPackage is a database -----------------------------------------------------------------

ENDLESS = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT {} FROM n"


def geopackage(path, *statements):
    table(2).to_file(path, driver="GPKG", layer="plain")
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        base.create_function("ST_IsEmpty", 1, lambda _: 0)
        base.create_function("ST_MinX", 1, lambda _: 0)
        for statement in statements:
            base.execute(statement)
    return path


LISTED = (
    "INSERT INTO gpkg_contents (table_name, data_type, srs_id) VALUES ('{}', 'features', 4326)",
    "INSERT INTO gpkg_geometry_columns VALUES ('{}', 'geom', 'POLYGON', 4326, 0, 0)",
)


def test_views_computed_columns_and_virtual_tables_are_left_out(tmp_path):
    hostile = {
        "view": f"CREATE VIEW odd AS {ENDLESS.format('x AS fid, NULL AS geom')}",
        "computed": "CREATE TABLE odd (fid INTEGER PRIMARY KEY, geom BLOB, "
        "big BLOB GENERATED ALWAYS AS (zeroblob(900000000)))",
        "virtual": "CREATE VIRTUAL TABLE odd USING rtree(fid, geom, maximum)",
    }
    for name, statement in hostile.items():
        path = geopackage(
            tmp_path / f"{name}.gpkg", statement, *(one.format("odd") for one in LISTED)
        )
        assert told_of(path) == ""
        assert told_of(path, layer="odd") == f'{name}.gpkg: has no layer "odd"; it has plain'


def test_columns_named_as_computed_ones_are_plain(tmp_path):
    path = tmp_path / "field.gpkg"
    named = table(2).assign(**{"generated": 1, "Plan as (text)": "x"})
    named.to_file(path, driver="GPKG", layer="named")
    assert told_of(path, where="generated = 1 AND id = 0 AND \"Plan as (text)\" = 'x'") == ""


@pytest.mark.parametrize("kind", ["STORED", "VIRTUAL"])
def test_a_column_computed_without_the_word_is_left_out(tmp_path, kind):
    odd = f"CREATE TABLE odd (fid INTEGER PRIMARY KEY, geom BLOB, big AS/**/(fid + 1) {kind})"
    path = geopackage(tmp_path / "field.gpkg", odd, *(one.format("odd") for one in LISTED))
    assert told_of(path) == ""
    assert told_of(path, layer="odd") == 'field.gpkg: has no layer "odd"; it has plain'


def test_lists_of_a_geopackage_that_never_end_are_refused(tmp_path):
    path = geopackage(
        tmp_path / "field.gpkg",
        "DROP TABLE gpkg_contents",
        f"CREATE VIEW gpkg_contents AS {ENDLESS.format('x AS table_name')}",
    )
    assert told_of(path) == "field.gpkg: can't be read: it is damaged, or no GeoPackage"


def test_a_plain_geopackage_keeps_its_rows_and_its_file(tmp_path):
    path = geopackage(tmp_path / "field.gpkg", "CREATE UNIQUE INDEX i ON plain (id)")
    before = path.read_bytes()
    assert len(read_shapes(path).labels) == 2
    assert told_of(path, where="id = 1") == ""
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "where",
    [
        f"id IN ({ENDLESS.format('x')})",
        "(SELECT count(*) FROM sqlite_master) > 0",
        "load_extension('other.so')",
        "1 = 1; DROP TABLE plain",
        "id = 1 UNION SELECT 1",
        "ogr_geocode('a') IS NULL",
        "(" * 500 + "id = 1" + ")" * 500,
        "NOT " * 499 + "id = 1",
        "id = 1 AND " * 500,
    ],
)
def test_a_condition_is_no_program(tmp_path, where):
    path = geopackage(tmp_path / "field.gpkg")
    assert told_of(path, where=where).startswith("field.gpkg: where = ")


def test_a_pattern_is_matched_at_once(tmp_path):
    frame = table().assign(name="a" * 1_000)
    frame.to_file(tmp_path / "field.geojson", driver="GeoJSON")
    path = tmp_path / "field.geojson"
    for pattern in ("%a" * 90 + "b", "%" + "a" * 190 + "b", "%" + "_" * 190 + "b"):
        assert "holds no feature" in told_of(path, where=f"name LIKE '{pattern}'")
    assert told_of(path, where=f"name LIKE '{'%a_' * 60}%'") == ""
    assert told_of(path, where=f"name LIKE '{'%a' * 400}b'").endswith(
        "has a pattern longer than 200 characters"
    )


def test_of_a_value_longer_than_any_name_it_is_not_known_what_it_is_like():
    for where in ("n LIKE '%'", "n NOT LIKE '%'", "'a' LIKE n"):
        assert read_condition(where).test({"n": "a" * 1_001}) is None
    assert read_condition("n LIKE '%'").test({"n": "a" * 1_000}) is True


@given(st.text("ab_%", max_size=9), st.text("abA", max_size=12))
def test_a_pattern_means_what_it_always_did(pattern, text):
    told = "".join({"%": ".*", "_": "."}.get(each, each) for each in pattern)
    wanted = re.fullmatch(told, text, re.IGNORECASE) is not None
    assert read_condition(f"n LIKE '{pattern}'").test({"n": text}) is wanted


LISTED_VALUES = ["1", "'1'", "'1.0'", "'a'", "12.5", "TRUE", "'2'", "2", "1e400", "'True'"]


@given(
    st.lists(st.sampled_from(LISTED_VALUES), min_size=1, max_size=6),
    st.sampled_from([1, 1.0, 2, 12.5, "1", "1.0", "a", "2", True, False, None, 3, "True", "12.5"]),
)
def test_a_list_means_any_of_its_values(listed, value):
    each = read_condition(" OR ".join(f"n = {one}" for one in listed))
    assert read_condition(f"n IN ({', '.join(listed)})").test({"n": value}) is each.test(
        {"n": value}
    )


def test_a_long_list_is_looked_up_not_gone_through(monkeypatch):
    seen = []
    compared = condition._compared
    monkeypatch.setattr(condition, "_compared", lambda *a, **k: seen.append(a) or compared(*a, **k))
    listed = read_condition(f"n IN ({','.join(map(str, range(450)))})")
    assert [listed.test({"n": value}) for value in (7, "x", 7.5)] == [True, False, False]
    assert len(seen) == 1


def test_comparisons_of_a_condition_have_a_limit():
    many = " OR ".join(["n = 1"] * 101)
    with pytest.raises(ValueError, match="has more than 100 comparisons; list values with IN"):
        read_condition(many)


# --- zips ---------------------------------------------------------------------------------------


def zipped(path, **files):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return path


GEOJSON = json.dumps(GEOMETRY)


@pytest.mark.parametrize("name", ["../../out.geojson", "/out.geojson", "a\\..\\out.geojson"])
def test_a_zip_stays_in_its_place(tmp_path, name):
    path = zipped(tmp_path / "field.zip", **{"field.geojson": GEOJSON, name: GEOJSON})
    told = "field.zip: names a place outside itself; pack it anew from files of one folder"
    assert told_of(path) == told


def test_a_zip_that_grows_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(zips, "MAX_DATA_BYTES", 1_000_000)
    path = zipped(tmp_path / "field.zip", **{"field.geojson": b" " * 2_000_000})
    assert told_of(path) == "field.zip: unpacked, has 2.0 MB; at most 1 MB are read"
    # one that says it is smaller
    content = bytearray(path.read_bytes())
    at = content.rfind(b"PK\1\2")
    content[at + 24 : at + 28] = struct.pack("<L", 10)
    path.write_bytes(content)
    assert told_of(path).startswith("field.zip: can't be read")


@pytest.mark.parametrize("way", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_zip_that_unpacks_all_at_once_is_refused(tmp_path, way):
    path = tmp_path / "field.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("field.geojson", GEOJSON, way)
        packed.writestr("read me.txt", "of no use, so not looked at", way)
    told = "field.zip: is packed in a rare way, which is not read; pack it anew as usual"
    assert told_of(path) == told
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("field.geojson", GEOJSON, zipfile.ZIP_STORED)
        packed.writestr("read me.txt", "of no use, so not looked at", way)
    assert told_of(path) == ""


def test_a_large_geoparquet_is_refused_before_it_is_read(tmp_path, monkeypatch):
    path = tmp_path / "field.parquet"
    table(30).assign(note=[f"{number}" * 100_000 for number in range(30)]).to_parquet(path)
    assert told_of(path, where="id = 1") == ""
    monkeypatch.setattr(gpd, "read_parquet", lambda *_, **__: pytest.fail("it was read"))
    monkeypatch.setattr("striplay.files.parquet.MAX_DATA_BYTES", 1_000_000)
    assert told_of(path) == "field.parquet: unpacked, has 5.0 MB; at most 1 MB are read"
    monkeypatch.setattr("striplay.files.parquet.MAX_FEATURES", 29)
    assert told_of(path) == "field.parquet: has 30 features; at most 29 are read"


def test_a_geoparquet_that_says_one_thing_many_times_is_refused(tmp_path, monkeypatch):
    pa, pq = pytest.importorskip("pyarrow"), pytest.importorskip("pyarrow.parquet")
    plain, path = tmp_path / "plain.parquet", tmp_path / "field.parquet"
    table(2000).to_parquet(plain)
    monkeypatch.setattr(gpd, "read_parquet", lambda *_, **__: pytest.fail("it was read"))
    found = pq.read_table(plain)
    told = "field.parquet: unpacked, has 120.2 MB; at most 100 MB are read"
    for value in ("x" * 60_000, b"x" * 60_000):
        column = pa.array([value]).dictionary_encode().take(pa.array([0] * 2000))
        made = found.append_column("name", column)
        pq.write_table(made.replace_schema_metadata(found.schema.metadata), path)
        assert path.stat().st_size < 100_000
        assert told_of(path) == told
    circle = shapely.Point(-93.5, 42.0).buffer(0.01, quad_segs=2000)
    gpd.GeoDataFrame(geometry=[circle] * 1000, crs=4326).to_parquet(path)
    assert path.stat().st_size < 200_000
    assert told_of(path) == "field.parquet: unpacked, has 128.0 MB; at most 100 MB are read"


def test_lists_in_a_geoparquet_are_not_read(tmp_path, monkeypatch):
    pa, pq = pytest.importorskip("pyarrow"), pytest.importorskip("pyarrow.parquet")
    table().to_parquet(tmp_path / "plain.parquet")
    found = pq.read_table(tmp_path / "plain.parquet")
    lists = pa.FixedSizeListArray.from_arrays(pa.repeat(1, 2_000_000), 2_000_000)
    made = found.append_column("many", lists).replace_schema_metadata(found.schema.metadata)
    path = tmp_path / "field.parquet"
    pq.write_table(made, path)
    assert path.stat().st_size < 20_000
    assert told_of(path, where="id = 0") == ""
    assert 'names no column "many"' in told_of(path, where="many = 0")
    monkeypatch.setattr("striplay.files.parquet.MAX_DATA_BYTES", 1_000_000)
    assert told_of(path) == "field.parquet: unpacked, has 16.0 MB; at most 1 MB are read"


def test_a_zip_of_many_files_is_refused(tmp_path, monkeypatch):
    many = {f"{number}.geojson": "" for number in range(1001)}
    path = zipped(tmp_path / "field.zip", **many)
    assert told_of(path) == "field.zip: holds 1,001 files; at most 1,000 are read"
    monkeypatch.setattr(zips, "MAX_ZIP_DIRECTORY_BYTES", 1000)
    assert told_of(path) == "field.zip: holds too many files; pack the boundary alone"


def test_what_a_mac_packs_beside_a_boundary(tmp_path):
    packed = {
        "farm/field.geojson": GEOJSON,
        "__MACOSX/farm/._field.geojson": "x",
        "farm/._field.geojson": "x",
        "farm/read me.txt": "x",
        "farm/style.json": "{}",
    }
    assert told_of(zipped(tmp_path / "field.zip", **packed)) == ""


def test_kmz_and_layers_of_a_zip(tmp_path):
    assert told_of(zipped(tmp_path / "a.kmz", **{"doc.kml": KML.format("")})) == ""
    both = {"doc.kml": KML.format(""), "files/more.kml": KML.format("")}
    assert told_of(zipped(tmp_path / "b.kmz", **both)) == ""
    path = zipped(tmp_path / "c.zip", **{"north.geojson": GEOJSON, "south.geojson": GEOJSON})
    assert told_of(path, layer="south") == ""
    assert told_of(path) == (
        "c.zip: has 2 layers: north (1 Polygon), south (1 Polygon); choose one in the plan, such "
        'as layer = "north"'
    )


# --- what is no file ----------------------------------------------------------------------------


def test_pipes_devices_and_folders_are_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe.geojson")
    (tmp_path / "folder.gpkg").mkdir()
    (tmp_path / "device.shp").symlink_to("/dev/zero")
    for name, told in {
        "pipe.geojson": "is a pipe or a device, not a file",
        "folder.gpkg": "is a folder; name a file in it",
        "device.shp": "is a pipe or a device, not a file",
    }.items():
        assert told_of(tmp_path / name) == f"{name}: {told}"


def test_plans_and_weather_are_files(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(PlanError, match=r"pipe\.toml: is a pipe or a device, not a file"):
        read_plan(tmp_path / "pipe.toml")
    with pytest.raises(PlanError, match="is a pipe or a device, not a file"):
        read_plan("/dev/zero")
    for file, told in {
        "/dev/zero": "is a pipe or a device, not a file",
        ".": "is a folder; name a file in it",
        "no\\u0000name": 'for example file = "weather.csv"',
    }.items():
        path = plan_with(tmp_path, f'[weather]\nfile = "{file}"\n')
        with pytest.raises(PlanError) as caught:
            season_of(read_plan(path))
        assert str(caught.value).endswith(told)


def plan_with(folder, more, **parts):
    path = write_plan_for(folder, square(660), strips=STRIPS + more, **parts)
    return path.rename(folder / "home.toml")


@pytest.mark.parametrize(
    "direction", ['along = "/dev/zero"', 'heading = 0\n[[blocks]]\nfile = "/dev/zero"']
)
def test_key_lines_and_blocks_are_files(tmp_path, direction):
    path = plan_with(tmp_path, "", direction=direction, headland="")
    with pytest.raises(BoundaryError, match="zero: "):
        lay(read_plan(path))


# --- what a plan reads from elsewhere, and shows of it ------------------------------------------


def test_files_outside_the_plans_folder_are_told(tmp_path):
    folder = tmp_path / "plan"
    folder.mkdir()
    inside = plan_with(folder, "")
    assert read_ground(read_plan(inside)).notices == ()
    (folder / "field.geojson").rename(tmp_path / "field.geojson")
    (folder / "link.geojson").symlink_to(tmp_path / "field.geojson")
    text = inside.read_text()
    for file in ("../field.geojson", "link.geojson", str(tmp_path / "field.geojson")):
        inside.write_text(text.replace('"field.geojson"', f'"{file}"'))
        told = f'field.boundary: "{file}" lies outside the folder of the plan'
        assert read_ground(read_plan(inside)).notices == (Notice("boundary", "know", None, told),)


@pytest.mark.parametrize("content", [KEPT, f"{KEPT},1\n{KEPT},2", f"day,{KEPT}\n1,2"])
def test_no_error_shows_what_a_file_holds(tmp_path, content):
    (tmp_path / "weather.csv").write_text(content)
    (tmp_path / "days.csv").write_text(f"day,least,greatest\n{KEPT},{KEPT},{KEPT}")
    for file in ("weather.csv", "days.csv"):
        plan = read_plan(plan_with(tmp_path, f'[weather]\nfile = "{file}"\n'))
        with pytest.raises(PlanError) as caught:
            season_of(plan)
        assert KEPT not in str(caught.value)
    for ending in set(formats.FORMATS) - {".gdb"}:
        path = tmp_path / f"field{ending}"
        path.write_text(content)
        assert told_of(path) != ""


# --- limits -------------------------------------------------------------------------------------


def test_a_file_too_large_is_not_read(tmp_path):
    path = tmp_path / "field.geojson"
    with path.open("wb") as file:
        file.truncate(65_000_000)
    assert told_of(path) == "field.geojson: has 65.0 MB; at most 32 MB are read"
    path = tmp_path / "plan.toml"
    with path.open("wb") as file:
        file.truncate(2_000_000)
    with pytest.raises(PlanError, match=r"plan\.toml: has 2\.0 MB; at most 1 MB are read"):
        read_plan(path)


def test_too_many_obstacles_are_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.files.shapes.MAX_HOLES", 2)
    table(3).to_file(tmp_path / "o.geojson", driver="GeoJSON")
    path = write_plan_for(tmp_path, square(), field='obstacles = "o.geojson"')
    with pytest.raises(BoundaryError) as caught:
        read_ground(read_plan(path))
    assert str(caught.value) == (
        "o.geojson: has 3 obstacles; at most 2 are read, so leave out those far from the field"
    )


POINTS = "holds about 0.0 million points; at most 1e-05 million are read"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("field.geojson", '{"type": "Polygon", "coordinates": [[' + "[0,0]," * 11 + "[0,0]]]}"),
        ("field.geojson", '{"type": "Point", "a": [' + '{"":0},' * 11 + "0]}"),
        ("field.kml", "<kml>" + "0,0 " * 11 + "</kml>"),
        ("field.gml", "<a>" + "0 0 " * 11 + "</a>"),
        ("field.mif", "0 0\n" * 11),
    ],
)
def test_points_are_counted_before_they_are_read(tmp_path, monkeypatch, name, content):
    monkeypatch.setattr("striplay.files.regular.MAX_TEXT_VERTICES", 10)
    (tmp_path / name).write_text(content)
    assert told_of(tmp_path / name).startswith(f"{name}: {POINTS}")


def test_a_binary_file_is_measured_before_it_is_read(tmp_path):
    with (tmp_path / "field.fgb").open("wb") as file:
        file.truncate(101_000_000)
    assert told_of(tmp_path / "field.fgb") == "field.fgb: has 101.0 MB; at most 100 MB are read"


def test_vertices_of_geoparquet_are_counted_before_they_are_taken_apart(tmp_path, monkeypatch):
    pytest.importorskip("pyarrow")
    table(3).to_parquet(tmp_path / "field.parquet", geometry_encoding="geoarrow")
    monkeypatch.setattr("striplay.files.parquet.MAX_BINARY_BYTES", 200)
    assert told_of(tmp_path / "field.parquet") == (
        "field.parquet: holds 15 vertices; choose one field before you save it"
    )


def test_columns_and_features_are_counted_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.files.regular.MAX_COLUMNS", 2)
    table(2).assign(a=1, b=2).to_file(tmp_path / "field.gpkg", driver="GPKG")
    assert told_of(tmp_path / "field.gpkg") == (
        "field.gpkg: field has 3 columns of 2 features; at most 2 columns and 5,000,000 values are "
        "read, so leave out those of no use"
    )
    monkeypatch.setattr("striplay.files.regular.MAX_COLUMNS", 300)
    monkeypatch.setattr("striplay.files.regular.MAX_VALUES", 5)
    assert "has 3 columns of 2 features" in told_of(tmp_path / "field.gpkg")


def test_many_layers_are_told_in_short(tmp_path):
    many = {f"field{number:02}.geojson": GEOJSON for number in range(40)}
    path = zipped(tmp_path / "field.zip", **many)
    first = ", ".join(f"field{number:02} (1 Polygon)" for number in range(12))
    assert told_of(path) == (
        f"field.zip: has 40 layers: {first} and 28 more; choose one in the plan, such as "
        'layer = "field00"'
    )
    assert told_of(path, layer="none").endswith("field10, field11 and 28 more")
    path = zipped(tmp_path / "field.zip", **many | {f"{n}.geojson": GEOJSON for n in range(61)})
    assert told_of(path) == "field.zip: has more than 100 layers; keep one farm's in it"


def test_names_are_shown_short_and_printable(tmp_path):
    path = tmp_path / "field.gpkg"
    for layer in ("a\x1b[2J", "b" * 100):
        table().to_file(path, driver="GPKG", layer=layer)
    told = told_of(path)
    assert "\x1b" not in told
    assert "a [2J (1 Polygon)" in told
    assert "b" * 61 not in told


def test_text_in_another_encoding_than_the_file_says(tmp_path):
    table().assign(name="Größe").to_file(
        tmp_path / "field.shp", driver="ESRI Shapefile", encoding="ISO-8859-1"
    )
    (tmp_path / "field.cpg").write_text("UTF-8")
    assert told_of(tmp_path / "field.shp", where="id = 0") == ""


def test_gzip_is_no_format(tmp_path):
    path = tmp_path / "field.geojson.gz"
    path.write_bytes(gzip.compress(GEOJSON.encode()))
    assert told_of(path).startswith("field.geojson.gz: has the ending of no format that is read")


LONG = "9" * 400


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("rows = 16\nspacing", "rows = 16000\nspacing", "16000 must be 2000 or less"),
        ("rows = 48", "rows = 16000", "must be 2000 or less"),
        ("rows = 48", "passes = 400", "have 6,416 rows together; a set of at most 3,000"),
        ("rows = 48", f"rows = {LONG}", "strips[2].rows: has more than 18 digits"),
        ("rows = 48", f"rows = {'9' * 5000}", "holds a number with too many digits"),
        ("rows = 48", "rows = " + "[" * 2000, "is not TOML"),
        ('"30 ft"', f'"{LONG} ft"', "is too large; at most 100000 m"),
        ('"30 in"', '"0.001 mm"', "is less than 1 cm, nearer than rows stand"),
        ("0.95", f"{LONG}.0", "must be 1 or less"),
        ("0.95", "nan", "must be"),
        ("[crops.corn]", f"[crops.{'c' * 101}]", "a name has 101 characters; at most 100 will do"),
        ("[crops.corn]", f"[crops.corn{'.a' * 20}]\n[crops.corn]", "is nested too deeply"),
        ('title = "Test"', f'title = "{"t" * 2001}"', "title: has 2,001 characters"),
        ("[crops.corn]", "[crops.corn]\nsown = 9999-12-31", "must be in the years 1900 to 2199"),
        (
            "[crops.corn]",
            f'[crops.corn]\nharvested = "{LONG} degree days"',
            "must be 100000 degree days or less",
        ),
        (STRIPS, STRIPS * 31, "strips: are 62; at most 60 will do"),
        (STRIPS, '[[row_set]]\nplanter = "planter"\nunits = "99999999999 corn"', "2000 units or"),
    ],
)
def test_limits_of_a_plan(tmp_path, old, new, told):
    path = plan_with(tmp_path, "")
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert told in str(caught.value)
    assert len(str(caught.value)) < 1000


@pytest.mark.parametrize(
    "line",
    [
        "a" + ".a" * 490_000 + " = 1",
        "[" + "a." * 400_000 + "a]",
        "[[" + "1 . " * 200_000 + "a]]",
        "b = {" + '"\\"".' * 100_000 + "a = 1}",
        "'.'." * 200_000 + "a = 1",
    ],
    ids=lambda line: line[:9],
)
def test_a_key_of_endless_parts_is_not_followed(tmp_path, line):
    path = tmp_path / "plan.toml"
    path.write_text(f'title = "a.b.c"\n{line}\n')
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert str(caught.value) == (
        "plan.toml: line 2: a key has more than 32 parts; a plan's has four"
    )


@pytest.mark.parametrize("text", ["a" * 900_000, '"' * 900_000, "a.a " * 200_000, "'\"" * 400_000])
def test_no_text_of_a_plan_takes_long_to_look_through(text):
    assert DEEP_KEY.search(text) is None


def toothed(count, tall_m):
    xs = [-400 + 800 * index / count for index in range(count + 1)]
    top = [(x, 400 + tall_m * (index % 2)) for index, x in enumerate(xs)]
    return shapely.Polygon([*top, (400, -400), (-400, -400)])


def test_limits_of_a_boundary(tmp_path, monkeypatch):
    with pytest.raises(BoundaryError) as caught:
        lay(read_plan(write_plan_for(tmp_path, toothed(20_000, 1.0))))
    assert str(caught.value).startswith("the boundary has too many teeth, most at -93.5")
    monkeypatch.setattr("striplay.files.shapes.MAX_VERTICES", 1000)
    with pytest.raises(BoundaryError) as caught:
        lay(read_plan(write_plan_for(tmp_path, toothed(1000, 0.01))))
    assert str(caught.value) == (
        "field.geojson: has 1,004 vertices; at most 1,000 are read, so choose one field, or "
        "simplify its lines to a foot"
    )
    monkeypatch.setattr("striplay.files.regular.MAX_FEATURES", 2)
    table(3).to_file(tmp_path / "many.gpkg", driver="GPKG")
    assert told_of(tmp_path / "many.gpkg") == (
        "many.gpkg: many has more than 2 features; keep one farm's in a file"
    )


def test_a_set_far_wider_than_the_field_is_refused(tmp_path):
    strips = STRIPS.replace("rows = 48", "rows = 2000")
    with pytest.raises(PlanError) as caught:
        lay(read_plan(write_plan_for(tmp_path, square(660), strips=strips)))
    assert str(caught.value) == (
        "plan.toml: strips: the set is 5,040 ft wide, and the field 933.4 ft across; a set is at "
        "most 4 times as wide as the field, so take fewer strips, or give them fewer rows or less "
        "width"
    )


def test_too_many_holes_and_pieces_of_row_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.layout.size.MAX_HOLES", 3)
    holes = shapely.union_all([shapely.box(x, 0, x + 2, 2) for x in (0, 40, 80, 120)])
    with pytest.raises(BoundaryError) as caught:
        lay(read_plan(write_plan_for(tmp_path, square().difference(holes), headland="")))
    assert str(caught.value) == (
        "the field has 4 obstacles and holes; at most 3 are laid round, so leave out the smallest, "
        "or choose one field"
    )
    shed = SHED.replace('spacing = "30 in"', 'spacing = "0.4 in"')
    big = shapely.box(-24_000, -24_000, 24_000, 24_000)
    with pytest.raises(PlanError, match=r"about 6,0.* pieces of row; at most 2,000,000 are laid"):
        lay(read_plan(write_plan_for(tmp_path, big, shed=shed, headland="")))


def test_too_many_pieces_of_strips_are_refused_before_the_sweep(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.flow._laid", None)
    big = shapely.box(-16_000, -22_000, 16_000, 22_000)
    for spacing in ("2 cm", "20 in"):
        shed = SHED.replace("rows = 16", "rows = 1").replace("rows = 8", "rows = 1")
        shed = shed.replace('spacing = "30 in"', f'spacing = "{spacing}"')
        strips = STRIPS.replace("rows = 16", "passes = 1").replace("rows = 48", "passes = 1")
        with pytest.raises(
            PlanError, match=r"pieces of (row|strips and passes); at most"
        ) as caught:
            lay(read_plan(write_plan_for(tmp_path, big, shed=shed, strips=strips, headland="")))
        assert str(caught.value).startswith("plan.toml: about ")


@pytest.mark.parametrize("rows", ["rings", "lines"])
def test_too_many_points_along_curves_are_refused_before_the_sweep(tmp_path, monkeypatch, rows):
    monkeypatch.setattr("striplay.flow.round_pivot", None)
    monkeypatch.setattr("striplay.flow.along_key_line", None)
    monkeypatch.setattr("striplay.flow._read_lines", lambda *_: None)
    direction, spacing, field = "pivot = [-93.5, 42.0]", "5 cm", square(1250)
    if rows == "lines":
        direction, spacing, field = 'along = "a.geojson"', "2 cm", square(6000)
    shed = SHED.replace("rows = 16", "rows = 1").replace("rows = 8", "rows = 1")
    shed = shed.replace('spacing = "30 in"', f'spacing = "{spacing}"')
    strips = STRIPS.replace("rows = 16", "passes = 1").replace("rows = 48", "passes = 1")
    with pytest.raises(PlanError, match="million points along curves; at most 30 million are"):
        lay(
            read_plan(
                write_plan_for(
                    tmp_path, field, shed=shed, strips=strips, headland="", direction=direction
                )
            )
        )


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "rows = 16\nspacing",
            "rows = 1600\nspacing",
            "machines.planter: is 1,219 m (4,000 ft) wide",
        ),
        (
            'rows = 16\nspacing = "30 in"',
            'rows = 16\nspacing = "30 ft"',
            "machines.planter: is 146 m (480 ft) wide",
        ),
        ('width = "120 ft"', 'width = "340 ft"', "machines.sprayer: is 104 m (340 ft) wide"),
    ],
)
def test_a_machine_wider_than_any_is_refused(tmp_path, old, new, told):
    path = write_plan_for(tmp_path, square(660), shed=SHED.replace(old, new))
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    cure = "see its rows and spacing, or its width"
    assert f"{told}, and a machine is at most 100 m (330 ft); {cure}" in str(caught.value)


def test_copies_that_a_run_left_are_cleared_after_a_day(tmp_path, monkeypatch):
    temporary, kept = tmp_path / "temporary", tmp_path / "kept"
    for folder in (temporary, kept):
        folder.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(temporary))
    (kept / "mine.txt").write_text(KEPT)
    left = temporary / ".striplay-reading-abcd_123"
    young, demo, longer = (
        temporary / name
        for name in (".striplay-reading-abcd_124", "striplay-demo", ".striplay-reading-abcd_1234")
    )
    for one in (left, young, demo, longer):
        one.mkdir()
        (one / "field.shp").write_text(KEPT)
    link, file = (temporary / f".striplay-reading-abcd_{end}" for end in ("125", "126"))
    link.symlink_to(kept)
    file.write_text(KEPT)
    for one in (left, demo, longer, kept, file, link):
        os.utime(one, (1, 1), follow_symlinks=False)
    path = tmp_path / "field.geojson"
    path.write_text(shapely.to_geojson(BOX))
    with monkeypatch.context() as changed:
        if hasattr(os, "getuid"):
            changed.setattr(os, "getuid", lambda: left.stat().st_uid + 1)
            assert told_of(path) == ""
            assert left.exists()
    assert told_of(path) == ""
    assert {*temporary.iterdir()} == {young, demo, longer, link, file}
    assert (kept / "mine.txt").exists()
