"""The Python face: what can be called, what it gives, and how it refuses."""

import subprocess
import sys

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import shapely
from fields import PLANE, SAMPLES, lay_on, sample, square, texts, write_field, write_plan_for

import striplay
from striplay.ground import Plane
from striplay.laid_plan import Layout
from striplay.units import degrees

WORDS = {
    "quarter_section": [
        "heading 0.00 degrees from true north, offset 40 ft",
        "corn 31, soybean 31",
    ],
    "pivot_circle": ["corn 20, dry_bean 20"],
    "creek_side": [],
    "two_parts": ["23.43 ha"],
}


# --- what can be called -----------------------------------------------------------------------


def test_every_public_name_is_there_and_loaded_when_asked():
    for name in striplay.__all__:
        assert getattr(striplay, name) is not None
    assert set(striplay.__all__) <= set(dir(striplay))
    with pytest.raises(AttributeError, match="module 'striplay' has no attribute 'plant'"):
        striplay.plant  # noqa: B018 - it is to fail


def test_importing_it_loads_nothing_heavy():
    code = (
        "import sys, striplay; print([m for m in ('numpy', 'shapely', 'geopandas', 'pydantic') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_name_is_not_hidden_by_a_module_of_the_same_name():
    code = (
        "import striplay; from striplay.cli.pair import pair; import striplay.crop_pairs; "
        "striplay.lay; print(striplay.pair.__module__, striplay.draw_section.__module__)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["striplay.crop_pairs", "striplay.handover"]


# --- what it gives ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["field", "strips", "rows", "headland", "passes", "leftover"])
def test_tables_are_typed_and_their_plane_has_a_name(name):
    layout = sample("quarter_section")
    assert getattr(Layout, name).func.__annotations__ == {"return": "GeoDataFrame"}
    table = getattr(layout, name)
    assert isinstance(table, gpd.GeoDataFrame)
    center = layout.ground.plane.place(np.zeros(2))
    assert table.crs.name == f"Local plane at {center}"


def test_a_plane_s_name_changes_no_coordinate():
    plane = Plane(-93.5123456789, 42.0345678901)
    assert plane.crs.name == "Local plane at -93.51235, 42.03457"
    assert plane.crs.geodetic_crs.name == "WGS 84"
    nameless = pyproj.Proj(
        "+proj=tmerc +lat_0=42.0345678901 +lon_0=-93.5123456789 +k=1 +datum=WGS84 +units=m"
    )
    points = np.random.default_rng(0).uniform(-0.01, 0.01, (100, 2))
    points += [plane.longitude_deg, plane.latitude_deg]
    assert np.array_equal(plane.to_plane(points), np.column_stack(nameless(*points.T)))
    assert plane.crs == nameless.crs


@pytest.mark.parametrize("name", WORDS)
def test_a_layout_is_shown_in_six_short_lines(name):
    layout = sample(name)
    lines = repr(layout).splitlines()
    assert [line.split(" ")[0] for line in lines] == [
        "Layout", "rows:", "strips:", "land:", "passes:", "notices:",
    ]  # fmt: skip
    assert max(map(len, lines)) <= 110
    assert lines[0].startswith(f"Layout of {layout.plan.title}: ")
    assert all(words in repr(layout) for words in WORDS[name])
    if not layout.plan.curved:
        heading_deg = layout.land_accounts["field"]["heading_deg"]
        assert lines[1].startswith(f"rows: heading {degrees(heading_deg)} degrees from true north")


def test_its_notices_are_counted_by_severity(tmp_path):
    layout = lay_on(tmp_path, square(1320), strips='[[strips]]\ncrop = "corn"\nrows = 20\n')
    assert repr(layout).endswith("notices: 2 (2 mind)")  # soybean is nowhere


def test_what_a_layout_and_a_search_hold_is_shown_in_short():
    layout = sample("pond_ell")
    for part in (layout.ground, layout.figures, layout.season):
        assert len(repr(part)) < 500
    found = layout.laid.blocks[0].searched
    assert len(repr(found)) < 5000
    assert "Plane(longitude_deg=" in repr(layout.ground)


# --- a boundary without a file ----------------------------------------------------------------


def frame(*shapes, crs="EPSG:4326"):
    return gpd.GeoDataFrame(geometry=list(shapes), crs=crs)


def on_earth(shape):
    return PLANE.geometries_to_lonlat(shape)


@pytest.fixture
def without_field(tmp_path):
    """A plan that names no field."""
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(path.read_text().replace('[field]\nboundary = "field.geojson"\n', ""))
    return striplay.read_plan(path)


def test_a_boundary_may_be_given_as_a_table(tmp_path, without_field):
    filed = lay_on(tmp_path, square(1320))
    given = striplay.lay(without_field, boundary=frame(on_earth(square(1320))))
    assert given.accounts == filed.accounts
    assert list(given.strips.area) == list(filed.strips.area)


@pytest.mark.parametrize("crs", ["EPSG:26915", "EPSG:3857"])
def test_its_own_coordinate_reference_system_is_used(without_field, crs):
    given = striplay.lay(without_field, frame(on_earth(square(1320))).to_crs(crs))
    assert given.ground.outline.area == pytest.approx(square(1320).area, rel=1e-6)


def test_it_goes_before_the_file_but_obstacles_are_the_plan_s(tmp_path):
    trees = shapely.box(-20, -20, 20, 20)
    write_field(tmp_path, trees, name="trees.geojson")
    path = write_plan_for(tmp_path, square(2640), field='obstacles = "trees.geojson"')
    given = striplay.lay(striplay.read_plan(path), boundary=frame(on_earth(square(1320))))
    assert given.ground.outline.area == pytest.approx(square(1320).area, rel=1e-6)
    assert given.areas_m2["obstacles"] == pytest.approx(1600, rel=1e-6)


def test_several_polygons_and_parts_are_one_field(without_field):
    left, right = shapely.box(-200, -200, -10, 200), shapely.box(10, -200, 200, 200)
    for shapes in ((left, right), (shapely.multipolygons([left, right]),)):
        found = striplay.weigh(without_field, frame(*map(on_earth, shapes)))
        assert found.best
        laid = striplay.lay(without_field, frame(*map(on_earth, shapes)))
        assert laid.ground.outline.area == pytest.approx(2 * 190 * 400, rel=1e-6)


def test_what_a_table_lacks_is_told_as_of_a_file(without_field):
    shapes = [None, shapely.Polygon(), shapely.force_3d(on_earth(square(1320)), 250.0)]
    laid = striplay.lay(without_field, frame(*shapes))
    assert texts(laid.notices) == [
        "boundary: left out 2 features without a shape",
        "boundary: heights or measures of its points were dropped",
    ]


BOW_TIE = shapely.Polygon([(0, 0), (400, 300), (400, 0), (0, 300)])


@pytest.mark.parametrize(
    ("boundary", "told"),
    [
        (
            frame(square(1320), crs=None),
            (
                "boundary: states no coordinate reference system; set it, such as "
                'set_crs("EPSG:26915")'
            ),
        ),
        (
            gpd.GeoDataFrame({"name": ["north"]}),
            'boundary: no column of shapes is set; choose one, such as set_geometry("geometry")',
        ),
        ([square()], "boundary: is a list; give a GeoDataFrame"),
        (
            frame(),
            (
                "boundary: holds no feature with a shape; draw one, or name the file or layer that "
                "has it"
            ),
        ),
        (
            frame(shapely.LineString([(0, 0), (1, 1)])),
            (
                "boundary: feature 1 is a LineString, not a polygon; close the boundary into a "
                "polygon, or choose the polygons with where or layer"
            ),
        ),
        (
            frame(square(1320)),
            (
                "boundary: feature 1, vertex 1: longitude 201.168, latitude -201.168 is out of "
                "range for WGS 84; longitude comes first, and coordinates in meters need their "
                'crs, such as crs = "EPSG:26915" in the plan'
            ),
        ),
        (
            frame(on_earth(shapely.box(0, 0, 10, 10))),
            "boundary: has 1,076 ft2 at -93.49994, 42.00005; a field has at least 0.12 ac",
        ),
        (
            frame(on_earth(BOW_TIE)),
            (
                "boundary: feature 1 crosses itself at -93.49759, 42.00135; mending it would "
                "change all of its 14.83 ac, so mend the boundary by hand"
            ),
        ),
    ],
)
def test_a_table_that_is_no_field_is_refused(without_field, boundary, told):
    for run in (striplay.lay, striplay.weigh):
        with pytest.raises(striplay.BoundaryError) as refusal:
            run(without_field, boundary=boundary)
        assert str(refusal.value) == told


def test_neither_file_nor_table_is_refused(without_field):
    with pytest.raises(striplay.PlanError) as refusal:
        striplay.lay(without_field)
    assert str(refusal.value) == (
        'plan.toml: field: is missing; for example boundary = "north.geojson"'
    )


# --- pairs and pictures -----------------------------------------------------------------------


def test_pairs_of_crops_are_data():
    paired = striplay.pair(["corn", "soybean", "oats"], latitude_deg=50.0, units="metric")
    assert isinstance(paired, striplay.Paired)
    assert len({point.crops for point in paired.judged}) == 3
    assert (paired.setting.latitude_deg, paired.setting.heading_deg) == (50.0, 0.0)
    assert paired.notices == []
    with pytest.raises(striplay.PlanError) as refusal:
        striplay.pair(["corn", "soybeen"])
    assert str(refusal.value).startswith('pair: no crop "soybeen", did you mean "soybean"?; known')


def test_pairs_take_a_plan_s_field_and_heading(tmp_path):
    path = write_plan_for(tmp_path, square(1320), direction="heading = 30")
    paired = striplay.pair(["corn", "oats"], striplay.read_plan(path))
    assert paired.setting.heading_deg == 30.0
    assert paired.setting.latitude_deg == pytest.approx(42.0, abs=1e-6)
    told = "oats: is not in the plan; the table's values are used"
    assert paired.notices == [striplay.Notice("crop", "know", None, told)]


@pytest.mark.parametrize("ending", ["svg", "png", "pdf"])
def test_a_section_is_drawn_without_a_boundary(tmp_path, without_field, ending):
    path = tmp_path / f"section.{ending}"
    assert striplay.draw_section(without_field, path) == []
    begins = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[ending]
    assert path.read_bytes().startswith(begins)


def test_a_section_gives_its_notices_and_refuses_other_endings(tmp_path):
    plan = striplay.read_plan(SAMPLES / "quarter_section" / "row_set.toml")
    notices = striplay.draw_section(plan, str(tmp_path / "section.svg"))
    assert all(isinstance(notice, striplay.Notice) for notice in notices)
    assert texts(notices)[0].startswith("row set, back and forth: strips of ")
    with pytest.raises(striplay.OutputError) as refusal:
        striplay.draw_section(plan, tmp_path / "section.gif")
    assert str(refusal.value) == "section.gif: must end in .svg, .png, .pdf"
