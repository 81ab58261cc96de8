"""Check boundaries: every format, every mending and the exact text of every refusal."""

import json
import zipfile

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Geod
from shapes import SHAPES

from striplay.errors import BoundaryError
from striplay.files.condition import KNOWN, read_condition
from striplay.files.shapes import NO_POLYGON, read_shapes
from striplay.ground import Plane, locate
from striplay.mend import mend
from striplay.notices import Notice

PLANE = Plane(-93.5, 42.0)
BOX = shapely.box(-200, -150, 200, 150)
"""12 ha about 93.5 W 42 N; features stand in longitude and latitude."""

FORMATS = {
    "GPKG": "field.gpkg",
    "FlatGeobuf": "field.fgb",
    "GML": "field.gml",
    "KML": "field.kml",
    "ESRI Shapefile": "field.shp",
    "GeoJSON": "field.geojson",
}
PROJECTED = (
    "longitude comes first, and coordinates in meters need their crs, such as "
    'crs = "EPSG:26915" in the plan'
)
NO_CRS = (
    "states no coordinate reference system; state it in the plan, such as "
    'crs = "EPSG:26915" under [field]'
)


def lonlat(geometry, plane=PLANE):
    return plane.geometries_to_lonlat(geometry)


def polygon(*ring):
    """Give GeoJSON of a polygon that shapely may not build."""
    return {"type": "Polygon", "coordinates": [[list(point) for point in (*ring, ring[0])]]}


def table(geometry=BOX, crs=4326, count=1):
    frame = gpd.GeoDataFrame({"id": range(count)}, geometry=[lonlat(geometry)] * count, crs=4326)
    return frame.to_crs(crs)


def refusal(path, obstacles=None, **choice):
    with pytest.raises(BoundaryError) as caught:
        locate(read_shapes(path, **choice), obstacles and read_shapes(obstacles))
    return str(caught.value)


def ground(path, obstacles=None, **choice):
    return locate(read_shapes(path, **choice), obstacles and read_shapes(obstacles))


# --- what is read -----------------------------------------------------------------------------


@pytest.mark.parametrize("crs", [4326, 26915, 3857, 5070, 4269])
@pytest.mark.parametrize("driver", FORMATS)
def test_any_format_in_any_crs(tmp_path, driver, crs):
    path = tmp_path / FORMATS[driver]
    table(crs=crs).to_file(path, driver=driver)
    found = ground(path)
    # KML and GeoJSON round to about a centimeter or less
    assert found.land.area == pytest.approx(BOX.area, rel=1e-4)
    assert found.plane.longitude_deg == pytest.approx(-93.5, abs=1e-5)
    assert found.plane.latitude_deg == pytest.approx(42.0, abs=1e-5)
    assert [n for n in found.notices if "heights" not in n.text] == []


def test_a_zipped_shapefile(tmp_path):
    table(crs=26915).to_file(tmp_path / "field.shp", driver="ESRI Shapefile")
    with zipfile.ZipFile(tmp_path / "field.zip", "w") as packed:
        for part in tmp_path.glob("field.*"):
            if part.suffix != ".zip":
                packed.write(part, part.name)
    assert ground(tmp_path / "field.zip").land.area == pytest.approx(BOX.area, rel=1e-9)


def test_a_zipped_geojson(tmp_path, write_geojson):
    with zipfile.ZipFile(tmp_path / "field.zip", "w") as packed:
        packed.write(write_geojson(lonlat(BOX)), "field.geojson")
    for crs in (None, "EPSG:4326"):
        found = ground(tmp_path / "field.zip", crs=crs)
        assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


def test_geojson_in_a_projected_crs_as_it_was_before_rfc_7946(write_geojson):
    projected = table(crs=26915).geometry[0]
    path = write_geojson(projected, crs="urn:ogc:def:crs:EPSG::26915")
    assert ground(path).land.area == pytest.approx(BOX.area, rel=1e-9)


def test_geojson_that_names_no_crs_may_have_one_stated(write_geojson):
    path = write_geojson(table(crs=26915).geometry[0])
    assert ground(path, crs="EPSG:26915").land.area == pytest.approx(BOX.area, rel=1e-9)


def test_a_crs_stated_twice_alike_is_no_fault(tmp_path):
    table(crs=26915).to_file(tmp_path / "field.gpkg", driver="GPKG")
    assert ground(tmp_path / "field.gpkg", crs="EPSG:26915").notices == ()


def test_a_crs_stated_for_a_file_without(tmp_path):
    table(crs=26915).to_file(tmp_path / "field.shp", driver="ESRI Shapefile")
    (tmp_path / "field.prj").unlink()
    found = ground(tmp_path / "field.shp", crs="EPSG:26915")
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


def test_where_and_layer_choose(tmp_path):
    path = tmp_path / "farm.gpkg"
    table().to_file(path, driver="GPKG", layer="fields")
    two = gpd.GeoDataFrame(
        {"id": [1, 2]}, geometry=[lonlat(BOX), lonlat(shapely.box(300, 0, 400, 100))], crs=4326
    )
    two.to_file(path, driver="GPKG", layer="plots")
    assert ground(path, layer="fields").land.area == pytest.approx(BOX.area, rel=1e-9)
    chosen = ground(path, layer="plots", where="id = 2")
    assert chosen.land.area == pytest.approx(10_000, rel=1e-8)  # drawn on a plane 350 m away


def test_several_polygons_are_one_field(write_geojson):
    other = shapely.box(300, 0, 400, 100)
    both = BOX.area + other.area
    apart = ground(write_geojson(lonlat(BOX), lonlat(other)))
    assert apart.land.area == pytest.approx(both, rel=1e-9)
    assert shapely.get_num_geometries(apart.land) == 2
    multi = ground(write_geojson(shapely.MultiPolygon([lonlat(BOX), lonlat(other)])))
    assert multi.land.area == pytest.approx(both, rel=1e-9)
    collection = ground(write_geojson(shapely.GeometryCollection([lonlat(BOX), lonlat(other)])))
    assert collection.land.area == pytest.approx(both, rel=1e-9)


def test_overlapping_polygons_count_their_ground_once(write_geojson):
    found = ground(write_geojson(lonlat(BOX), lonlat(shapely.box(0, -150, 300, 150))))
    assert found.land.area == pytest.approx(500 * 300, rel=1e-6)


def test_holes_are_obstacles(write_geojson):
    pond = shapely.box(0, 0, 50, 40)
    found = ground(write_geojson(lonlat(shapely.difference(BOX, pond))))
    assert found.outline.area == pytest.approx(BOX.area, rel=1e-9)
    assert found.land.area == pytest.approx(BOX.area - 2000, rel=1e-9)
    assert found.obstacles.area == pytest.approx(2000, rel=1e-6)


def test_obstacles_of_their_own_file(write_geojson):
    field = write_geojson(lonlat(BOX))
    # half of the first lies outside the field, and the two overlap
    parts = [shapely.box(150, 0, 250, 50), shapely.box(150, 40, 180, 60)]
    found = ground(field, write_geojson(*map(lonlat, parts), name="trees.geojson"))
    barred = 50 * 50 + 30 * 10
    assert found.outline.area == pytest.approx(BOX.area, rel=1e-9)
    assert found.land.area == pytest.approx(BOX.area - barred, rel=1e-6)
    assert found.obstacles.area == pytest.approx(barred, rel=1e-5)
    assert found.notices == ()


def test_obstacles_outside_are_told(write_geojson):
    trees = write_geojson(lonlat(shapely.box(900, 0, 950, 50)), name="trees.geojson")
    found = ground(write_geojson(lonlat(BOX)), trees)
    told = "trees.geojson: none of its obstacles to be gone around lies in the field"
    assert found.notices == (Notice("obstacle", "mind", None, told),)
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


def test_heights_are_dropped_with_a_note(write_geojson):
    found = ground(write_geojson(shapely.force_3d(lonlat(BOX), 250.0)))
    told = "field.geojson: heights or measures of its points were dropped"
    assert found.notices == (Notice("boundary", "know", None, told),)
    assert not found.land.has_z
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


@pytest.mark.parametrize(
    ("count", "told"), [(1, "left out 1 feature without a shape"), (2, "left out 2 features with")]
)
def test_null_geometries_are_left_out_with_a_note(write_geojson, count, told):
    found = ground(write_geojson(*[None] * count, lonlat(BOX)))
    assert len(found.notices) == 1
    assert found.notices[0].text.startswith(f"field.geojson: {told}")
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


@pytest.mark.parametrize("name", ["duplicate vertices", "collinear vertices"])
def test_duplicate_and_collinear_vertices_change_nothing(write_geojson, name):
    shape = shapely.transform(SHAPES[name], lambda p: p + np.array([458_000.0, 4_650_000.0]))
    corners = shapely.transform(
        shapely.box(0, 0, 300, 200), lambda p: p + np.array([458_000.0, 4_650_000.0])
    )
    found = ground(write_geojson(shape, name="odd.geojson", crs="EPSG:26915"))
    plain = ground(write_geojson(corners, name="plain.geojson", crs="EPSG:26915"))
    assert found.plane == plain.plane
    assert found.notices == ()
    # a straight line of the grid zone bends by a few micrometers on the local plane
    assert found.land.area == pytest.approx(plain.land.area, rel=1e-7)
    assert shapely.hausdorff_distance(found.land, plain.land) < 1e-4


@pytest.mark.parametrize("east", [180.01, -179.99])
def test_a_field_across_the_180th_meridian(write_geojson, east):
    ring = [(179.99, 10.0), (east, 10.0), (east, 10.01), (179.99, 10.01)]
    found = ground(write_geojson(shapely.Polygon(ring)))
    area_m2, _ = Geod(ellps="WGS84").polygon_area_perimeter([179.99, 180.01, 180.01, 179.99],
                                                            [10.0, 10.0, 10.01, 10.01])  # fmt: skip
    assert abs(found.plane.longitude_deg) == pytest.approx(180.0)
    assert found.land.area == pytest.approx(area_m2, rel=1e-6)


def test_a_field_cut_at_the_180th_meridian_is_one(write_geojson):
    # RFC 7946, section 3.1.9: cut there in two, neither of which crosses
    halves = [shapely.box(179.99, 10.0, 180.0, 10.01), shapely.box(-180.0, 10.0, -179.98, 10.01)]
    area_m2, _ = Geod(ellps="WGS84").polygon_area_perimeter([179.99, 180.02, 180.02, 179.99],
                                                            [10.0, 10.0, 10.01, 10.01])  # fmt: skip
    for shapes in (halves, halves[::-1], [shapely.MultiPolygon(halves)]):
        found = ground(write_geojson(*shapes))
        assert shapely.get_num_geometries(found.outline) == 1
        assert found.outline.area == pytest.approx(area_m2, rel=1e-5)
        assert shapely.get_num_interior_rings(shapely.get_geometry(found.outline, 0)) == 0
        assert found.plane.longitude_deg == pytest.approx(-179.995)
        back = found.plane.geometries_to_lonlat(found.outline)
        assert back.is_valid
        assert back.bounds == pytest.approx((-180.01, 10.0, -179.98, 10.01))


@pytest.mark.parametrize("name", [name for name in SHAPES if name != "sliver"])
def test_every_shape_comes_back_from_its_file(write_geojson, name):
    found = ground(write_geojson(lonlat(SHAPES[name])))
    assert found.land.area == pytest.approx(SHAPES[name].area, rel=1e-6)
    assert found.land.is_valid
    back = found.plane.geometries_to_lonlat(found.land)
    assert shapely.hausdorff_distance(back, lonlat(SHAPES[name])) < 1e-9


# --- mended -----------------------------------------------------------------------------------

TINY = [(0, 0), (400, 0), (400, 300), (202, 300), (198, 302), (198, 300), (202, 302), (0, 300)]
"""A rectangle whose far side crosses itself in a loop of 4 m2 (the spur is 2 x 2 m across)."""


def test_a_tiny_bow_tie_is_mended_with_a_notice_of_place_and_area(write_geojson):
    found = ground(write_geojson(lonlat(shapely.Polygon(TINY))))
    (notice,) = found.notices
    text = notice.text
    head, place, tail = text.partition(" at ")[0], *text.split(" at ")[1].split("; ")
    assert head == "field.geojson: feature 1 crosses itself"
    longitude, latitude = map(float, place.split(", "))
    assert (notice.kind, notice.severity) == ("boundary", "know")
    assert notice.place == (longitude, latitude)
    away_m = PLANE.to_plane(np.array([[longitude, latitude]]))[0]
    assert 195 < away_m[0] < 205
    assert 298 < away_m[1] < 304
    assert tail == "mended, changing its area by 43 ft2"
    assert found.land.is_valid


def test_a_big_bow_tie_is_refused(write_geojson):
    crossed = lonlat(shapely.Polygon([(0, 0), (400, 300), (400, 0), (0, 300)]))
    assert refusal(write_geojson(crossed)) == (
        "field.geojson: feature 1 crosses itself at -93.49759, 42.00135; mending it would change "
        "all of its 14.83 ac, so mend the boundary by hand"
    )


@pytest.mark.parametrize(("loop_m", "mended"), [(7.0, True), (9.0, False)])
def test_a_thousandth_of_the_area_is_the_limit(loop_m, mended):
    # a loop of area A beyond the crossing counts -A before mending and +A after: 2 A changes
    loop = [(200, 300), (200 - loop_m, 300 + loop_m), (200 + loop_m, 300 + loop_m), (200, 300)]
    crossed = shapely.Polygon([(0, 0), (400, 0), (400, 300), *loop, (0, 300)])
    assert (2 * loop_m**2 < 120) == mended
    if mended:
        _, notices = mend(crossed, "f", "feature 1", tuple)
        assert notices[0].text.endswith(
            f"changing its area by {2 * loop_m**2 / 0.3048**2:,.0f} ft2"
        )
    else:
        with pytest.raises(BoundaryError, match="mending it would change its area by 1,744 ft2 of"):
            mend(crossed, "f", "feature 1", tuple)


@pytest.mark.parametrize(
    ("loop_m", "side_m", "mended"),
    [(3.0, 120, True), (3.3, 120, False), (3.0, 60, True), (3.0, 40, False)],
)
def test_little_ground_is_mended_though_it_is_over_a_thousandth(loop_m, side_m, mended):
    # 18 m2 of 14,400 is 0.13 %, of 3,600 0.5 %, of 1,600 over 1 %; 21.8 m2 is over 20
    middle = side_m / 2
    loop = [
        (middle, side_m),
        (middle - loop_m, side_m + loop_m),
        (middle + loop_m, side_m + loop_m),
    ]
    crossed = shapely.Polygon(
        [(0, 0), (side_m, 0), (side_m, side_m), *loop, (middle, side_m), (0, side_m)]
    )
    if mended:
        _, (notice,) = mend(crossed, "f", "feature 1", tuple)
        assert notice.text.endswith("changing its area by 194 ft2")
    else:
        with pytest.raises(BoundaryError, match="mend the boundary by hand"):
            mend(crossed, "f", "feature 1", tuple)


@pytest.mark.parametrize(
    ("holes", "told"),
    [
        ([shapely.box(300, 0, 310, 10)], "has a hole outside it"),
        ([shapely.box(0, 0, 100, 100), shapely.box(10, 10, 50, 50)], "has a hole within a hole"),
    ],
)
def test_holes_that_are_none_are_told_as_such(write_geojson, holes, told):
    rings = [hole.exterior for hole in holes]
    message = refusal(write_geojson(lonlat(shapely.Polygon(BOX.exterior, rings))))
    assert message.startswith(f"field.geojson: feature 1 {told} at -93.49")
    assert message.endswith("so mend the boundary by hand")


def test_a_ring_without_area():
    flat = shapely.Polygon([(0, 0), (400, 0), (200, 0)])
    with pytest.raises(BoundaryError) as caught:
        mend(flat, "f.geojson", "feature 3", tuple)
    assert str(caught.value) == "f.geojson: feature 3 has no area, near 0.00000, 0.00000"


NONE = "holds no feature with a shape; draw one, or name the file or layer that has it"
EMPTY = [
    {"type": "Polygon", "coordinates": []},
    {"type": "MultiPolygon", "coordinates": [[]]},
    {"type": "GeometryCollection", "geometries": []},
]


@pytest.mark.parametrize("empty", EMPTY, ids=lambda shape: shape["type"])
def test_empty_shapes_are_none(write_geojson, empty):
    found = ground(write_geojson(empty, lonlat(BOX)))
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)
    assert refusal(write_geojson(empty)) == f"field.geojson: {NONE}"


@pytest.mark.parametrize(
    "part",
    [
        {"type": "GeometryCollection", "geometries": [{"type": "Polygon", "coordinates": []}]},
        {"type": "Polygon", "coordinates": [[]]},
        {"type": "MultiPolygon", "coordinates": [[], [[]]]},
        {"type": "Point", "coordinates": []},
        {"type": "Polygon"},
        None,
    ],
    ids=str,
)
def test_empty_shapes_are_left_out_with_a_note(write_geojson, part):
    found = ground(write_geojson(part, lonlat(BOX)))
    assert [n.text for n in found.notices] == ["field.geojson: left out 1 feature without a shape"]
    if part is not None:
        mixed = {"type": "GeometryCollection", "geometries": [part, table().geometry[0]]}
        mixed["geometries"][1] = json.loads(shapely.to_geojson(mixed["geometries"][1]))
        assert ground(write_geojson(mixed)).notices == ()


@pytest.mark.parametrize("driver", ["GPKG", "ESRI Shapefile", "FlatGeobuf", "GML", "KML"])
def test_null_and_empty_shapes_of_any_format(tmp_path, driver):
    shapes = [None, shapely.Polygon(), lonlat(BOX)]
    path = tmp_path / FORMATS[driver]
    gpd.GeoDataFrame({"id": [1, 2, 3]}, geometry=shapes, crs=4326).to_file(
        path, driver=driver, **({} if driver != "FlatGeobuf" else {"SPATIAL_INDEX": "NO"})
    )
    found = read_shapes(path)
    assert len(found.polygons) == 1
    told = [n.text for n in found.notices if "left out" in n.text]
    # a feature counts as it stands in the file; some writers leave out what has no shape
    assert told == [] or found.labels == (f"feature {int(told[0].split()[3]) + 1}",)
    if driver in {"GPKG", "ESRI Shapefile"}:
        assert found.labels == ("feature 3",)


def test_an_empty_part_is_left_out(write_geojson):
    parts = {"type": "MultiPolygon", "coordinates": [[], [lonlat(BOX).exterior.coords[:]]]}
    found = ground(write_geojson(parts))
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)


# --- refused ----------------------------------------------------------------------------------


def test_a_missing_file(tmp_path):
    path = tmp_path / "no.geojson"
    assert refusal(path) == f"{path}: no such file; a plan names files as seen from itself"


FORMATS_READ = (
    "GeoJSON, GeoPackage, Shapefile, KML, KMZ, GML, FlatGeobuf, FileGDB, MapInfo, GeoParquet"
)
NO_FORMAT = f"has the ending of no format that is read: {FORMATS_READ}, or a zip of them"
DAMAGED = "can't be read: it is empty, damaged or not what its name says"


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("field.geojson", b"", "can't be read: it is no GeoJSON from line 1 on"),
        ("field.geojson", b"[]", "can't be read: it is no GeoJSON, such as a FeatureCollection"),
        ("field.geojson", b"[" * 200_000, "can't be read: it is nested too deeply"),
        ("field.geojson", b'{"a": ' + b"9" * 5000 + b"}", "can't be read: it is no GeoJSON"),
        ("field.geojson", b"\xff\xfe{", "can't be read: it is no GeoJSON"),
        ("field.txt", b"hello", NO_FORMAT),
        ("field.prj", b"hello", "is a side file; name field.shp"),
        ("field.zip", b"PK nonsense", "can't be read: the zip is damaged or locked"),
        ("field.gpkg", b"hello", "can't be read: it is damaged, or no GeoPackage"),
        ("field.shp", b"hello", DAMAGED),
        ("field.fgb", b"", DAMAGED),
        ("field.kml", b"hello", "can't be read: it is no XML from line 1 on"),
        ("field.gml", b"<a/>", DAMAGED),
        ("field.gdb", b"", "is no folder, as a FileGDB is; zip the folder, or name it"),
        ("field.tab", b"hello", "is no MapInfo table with features of its own; save it as one"),
        ("field.mif", b"hello", DAMAGED),
        ("field.parquet", b"hello", "can't be read: it is damaged, or no GeoParquet"),
    ],
)
def test_a_file_in_no_known_format(tmp_path, name, content, told):
    path = tmp_path / name
    path.write_bytes(content)
    told = f"{name}: {told}"
    assert refusal(path) == told


def test_a_zip_without_a_vector_file(tmp_path):
    with zipfile.ZipFile(tmp_path / "field.zip", "w") as packed:
        packed.writestr("read me.txt", "hello")
    assert refusal(tmp_path / "field.zip") == (
        f"field.zip: holds no file that is read: {FORMATS_READ}"
    )


def test_no_crs(tmp_path):
    table(crs=26915).to_file(tmp_path / "field.shp", driver="ESRI Shapefile")
    (tmp_path / "field.prj").unlink()
    assert refusal(tmp_path / "field.shp") == f"field.shp: {NO_CRS}"


def test_a_contradicting_crs(tmp_path):
    table(crs=26915).to_file(tmp_path / "field.gpkg", driver="GPKG")
    assert refusal(tmp_path / "field.gpkg", crs="EPSG:26914") == (
        'field.gpkg: states its own coordinate reference system, not crs = "EPSG:26914"; take '
        "crs out of the plan"
    )


@pytest.mark.parametrize("crs", ["EPSG:999999", "zone 15"])
def test_an_unknown_crs(write_geojson, crs):
    assert refusal(write_geojson(lonlat(BOX)), crs=crs) == (
        f'field.geojson: "{crs}" is no known coordinate reference system; write one such as '
        'crs = "EPSG:26915"'
    )


@pytest.mark.parametrize(("crs", "name"), [("EPSG:5703", "NAVD88 height"), ("EPSG:4978", "WGS 84")])
def test_a_crs_of_heights_or_of_space(write_geojson, crs, name):
    assert refusal(write_geojson(lonlat(BOX)), crs=crs) == (
        f"field.geojson: {name} is no coordinate reference system of places on the ground; state "
        'one such as crs = "EPSG:26915"'
    )


def test_an_unknown_crs_beside_a_known_one(tmp_path):
    table().to_file(tmp_path / "field.gpkg", driver="GPKG")
    assert refusal(tmp_path / "field.gpkg", crs="zone 15").startswith(
        'field.gpkg: states its own coordinate reference system, not crs = "zone 15"'
    )


def test_all_faults_of_shapes_come_at_once(write_geojson):
    crossed = lonlat(shapely.Polygon([(0, 0), (400, 300), (400, 0), (0, 300)]))
    line = polygon((-93.5, 42), (-93.4, 42), (-93.5, 42))
    told = refusal(write_geojson(line, lonlat(BOX), shapely.Point(-93.5, 42)))
    assert told.splitlines() == [
        "field.geojson: 2 faults",
        "  feature 1, ring 1 has 2 different points; a ring has at least 3",
        f"  feature 3 is a Point, not a polygon; {NO_POLYGON}",
    ]
    told = refusal(write_geojson(*[crossed] * 25))
    assert told.splitlines()[0] == "field.geojson: 25 faults"
    assert told.splitlines()[20].startswith("  feature 20 crosses itself at ")
    assert told.splitlines()[21] == "  and 5 more"


def test_geoparquet(tmp_path, monkeypatch):
    path = tmp_path / "field.parquet"
    table(crs=26915, count=2).to_parquet(path)
    found = ground(path, where="id = 1")
    assert found.land.area == pytest.approx(BOX.area, rel=1e-9)
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    assert refusal(path) == (
        'field.parquet: is GeoParquet, which needs pyarrow (pip install "striplay[parquet]"); or '
        "save it as GeoPackage"
    )


def test_a_geodatabase_and_one_in_a_zip(tmp_path):
    table()[["geometry"]].to_file(tmp_path / "farm.gdb", driver="OpenFileGDB", layer="fields")
    with zipfile.ZipFile(tmp_path / "farm.zip", "w") as packed:
        for part in (tmp_path / "farm.gdb").iterdir():
            packed.write(part, f"mail/farm.gdb/{part.name}")
    for name in ("farm.gdb", "farm.zip"):
        assert ground(tmp_path / name, layer="fields").land.area == pytest.approx(BOX.area, 1e-6)


def test_mapinfo(tmp_path):
    for name in ("field.tab", "field.mif"):
        table().to_file(tmp_path / name, driver="MapInfo File")
        # MapInfo keeps whole steps of some centimeters
        assert ground(tmp_path / name).land.area == pytest.approx(BOX.area, 1e-3)


def test_a_layer_without_polygons_is_not_offered(tmp_path):
    path = tmp_path / "farm.gpkg"
    road = shapely.LineString(lonlat(BOX).exterior)
    for layer, shape in (("roads", road), ("wells", shapely.Point(-93.5, 42))):
        one = gpd.GeoDataFrame({"id": [1]}, geometry=[shape], crs=4326)
        one.to_file(path, driver="GPKG", layer=layer)
    assert refusal(path) == (
        "farm.gpkg: has 2 layers: roads (1 LineString), wells (1 Point); choose one in the plan "
        "with layer"
    )
    table(count=2).to_file(path, driver="GPKG", layer="fields")
    assert refusal(path).endswith(
        'fields (2 Polygon); choose one in the plan, such as layer = "fields"'
    )


def test_layers(tmp_path):
    path = tmp_path / "farm.gpkg"
    for layer in ("fields", "roads"):
        table().to_file(path, driver="GPKG", layer=layer)
    assert refusal(path) == (
        "farm.gpkg: has 2 layers: fields (1 Polygon), roads (1 Polygon); choose one in the plan, "
        'such as layer = "fields"'
    )
    assert refusal(path, layer="field") == 'farm.gpkg: has no layer "field"; it has fields, roads'


@pytest.mark.parametrize(
    ("where", "told"),
    [
        (
            "plot = 9",
            'where = "plot = 9" names no column "plot"; known are id',
        ),
        ("id = 9", 'holds no feature with a shape chosen by where = "id = 9"; choose others'),
    ],
)
def test_a_where_that_chooses_nothing(write_geojson, where, told):
    assert refusal(write_geojson(lonlat(BOX)), where=where) == f"field.geojson: {told}"


@pytest.mark.parametrize(
    ("where", "value", "met"),
    [
        ("id = 9007199254740993", 9007199254740992, False),
        ("id = '9007199254740993'", 9007199254740992, False),
        ("id = 9007199254740993", "9007199254740993", True),
        ("id <= 9007199254740992", "9007199254740993", False),
        ("id IN (9007199254740993)", 9007199254740993, True),
        ("id = '12'", 12.0, True),
        ("id = '12.0'", 12, True),
        ("id LIKE '12'", 12.0, True),
        ("id LIKE '12'", 12.5, False),
        ("id = 12", "12.0", True),
        ("id = 12.5", "12.5", True),
        ("id < 1e400", float("inf"), False),
        ("id LIKE 'inf'", float("inf"), True),
    ],
)
def test_whole_numbers_are_compared_whole(where, value, met):
    assert read_condition(where).test({"id": value}) is met


def test_a_where_that_is_no_condition(write_geojson):
    assert refusal(write_geojson(lonlat(BOX)), where="id = = 9") == (
        f'field.geojson: where = "id = = 9" can\'t be read from "=" on; {KNOWN}'
    )


@pytest.mark.parametrize(
    ("shapes", "told"),
    [
        ([shapely.Point(-93.5, 42)], "feature 1 is a Point"),
        ([lonlat(BOX), shapely.MultiPoint([(-93.5, 42)])], "feature 2 is a MultiPoint"),
        ([lonlat(BOX).exterior], "feature 1 is a LineString"),
        ([shapely.force_3d(lonlat(BOX).exterior, 1.0)], "feature 1 is a LineString"),
        ([shapely.MultiLineString([lonlat(BOX).exterior])], "feature 1 is a MultiLineString"),
        ([shapely.GeometryCollection([lonlat(BOX), shapely.Point(1, 1)])], "feature 1 is a Point"),
    ],
)
def test_what_is_no_polygon(write_geojson, shapes, told):
    assert refusal(write_geojson(*shapes)) == (
        f"field.geojson: {told}, not a polygon; close the boundary into a polygon, or choose the "
        "polygons with where or layer"
    )


@pytest.mark.parametrize("shapes", [[], [None], [None, None]])
def test_no_feature_with_a_shape(write_geojson, shapes):
    assert refusal(write_geojson(*shapes)) == f"field.geojson: {NONE}"


@pytest.mark.parametrize(("value", "shown"), [(float("nan"), "nan"), (float("inf"), "inf")])
def test_coordinates_that_are_not_finite(write_geojson, value, shown):
    path = write_geojson(polygon((-93.5, 42), (value, 42.01), (-93.49, 42.01)))
    assert refusal(path) == (
        f"field.geojson: feature 1, ring 1, vertex 2: {shown}, 42.01 is not a finite coordinate"
    )


@pytest.mark.parametrize(
    ("point", "told"),
    [
        ((-93.5, 95.0), "longitude -93.5, latitude 95"),
        ((400.0, 42.0), "longitude 400, latitude 42"),
        ((450_000.0, 4_640_500.0), "longitude 450000, latitude 4.6405e+06"),
    ],
)
def test_degrees_out_of_range(write_geojson, point, told):
    path = write_geojson(lonlat(BOX), polygon((-93.5, 42), point, (-93.49, 42.01)))
    assert refusal(path) == (
        f"field.geojson: feature 2, vertex 2: {told} is out of range for WGS 84; {PROJECTED}"
    )


def test_meters_out_of_range(write_geojson):
    far = polygon((450_000, 4.6e6), (450_000, 9.9e9), (450_400, 4.6e6))
    told = refusal(write_geojson(far, crs="urn:ogc:def:crs:EPSG::26915"))
    assert told == (
        "field.geojson: feature 1, vertex 2: 450000, 9.9e+09 is out of range for NAD83 / UTM zone "
        "15N; state the right crs"
    )


def test_a_ring_of_two_points(write_geojson):
    path = write_geojson(polygon((-93.5, 42), (-93.4, 42), (-93.5, 42)))
    assert refusal(path) == (
        "field.geojson: feature 1, ring 1 has 2 different points; a ring has at least 3"
    )


@pytest.mark.parametrize(("width_m", "fits"), [(49_900, True), (60_000, False)])
def test_a_field_is_at_most_50_km_across(write_geojson, width_m, fits):
    path = write_geojson(lonlat(shapely.box(-width_m / 2, 0, width_m / 2, 100)))
    if fits:
        assert ground(path).land.area == pytest.approx(width_m * 100, rel=1e-4)
        return
    assert refusal(path) == (
        "field.geojson: is 60 km across, centered on -93.50000, 41.99988; a field is at most 50 km "
        "across (is the crs right, and does `where` choose one field?)"
    )


def test_two_fields_a_continent_apart(write_geojson):
    told = refusal(write_geojson(lonlat(BOX), shapely.box(10, 50, 10.01, 50.01)))
    assert told.startswith("field.geojson: is 7,")
    assert "a field is at most 50 km across" in told


def test_a_field_has_at_least_a_twentieth_of_a_hectare(write_geojson):
    assert refusal(write_geojson(lonlat(shapely.box(-10, -10, 10, 10)))) == (
        "field.geojson: has 4,306 ft2 at -93.50000, 42.00000; a field has at least 0.12 ac"
    )
    enough = shapely.box(-11.2, -11.2, 11.2, 11.2)
    assert ground(write_geojson(lonlat(enough))).land.area == pytest.approx(501.76, rel=1e-6)


def test_obstacles_that_leave_nothing(write_geojson):
    everything = write_geojson(lonlat(BOX.buffer(50)), name="trees.geojson")
    assert refusal(write_geojson(lonlat(BOX)), everything) == (
        "trees.geojson: the obstacles leave no land to crop"
    )


def test_the_same_file_twice_gives_the_same_ground(write_geojson):
    path = write_geojson(lonlat(SHAPES["ragged"]))
    assert shapely.to_wkb(ground(path).land) == shapely.to_wkb(ground(path).land)
    assert json.loads(path.read_text())["type"] == "FeatureCollection"
