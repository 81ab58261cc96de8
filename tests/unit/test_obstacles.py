"""Obstacles as points, lines and holes: gone around, or lifted through."""

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import AROUND, FOOT_M, PLANE, assert_whole, lay_on, square, write_plan_for, write_shapes
from shapely.errors import GEOSException

from striplay.cli import main
from striplay.errors import BoundaryError, PlanError
from striplay.files.plan import read_plan
from striplay.flow import read_ground

POLE = shapely.Point(100, 50)
WATERWAY = shapely.LineString([(-402, -200), (402, -150)])
FILE = 'obstacles = "o.geojson"\n[obstacles]\n'
NONE = '[headland]\nwhere = "none"\n'


def laid(folder, shapes, kinds, wish, **parts):
    write_shapes(folder, *shapes, name="o.geojson", kinds=kinds)
    return lay_on(folder, square(), field=FILE + wish, **parts)


def planted(layout, operation="plant"):
    passes = layout.passes[layout.passes["operation"] == operation]
    return passes.dropna(subset="strip")


POND = shapely.box(60, 20, 140, 80)


@pytest.mark.parametrize("around", [NONE, AROUND])
def test_a_clearance_is_kept_round_a_pond_of_the_file(tmp_path, around):
    """By hand: a box of 80 m by 60 grows by 15 ft on each side, its corners round."""
    layout = laid(tmp_path, [POND], ["pond"], 'clearance = "15 ft"', headland=around)
    assert_whole(layout)
    off_m = 15 * FOOT_M
    grown_m2 = 80 * 60 + 2 * (80 + 60) * off_m + np.pi * off_m**2
    assert layout.areas_m2["obstacles"] == pytest.approx(grown_m2, rel=1e-5)
    assert layout.ground.clearance.area == pytest.approx(grown_m2 - 80 * 60, rel=1e-4)
    (pond,) = (shape for _, shape in layout.ground.named)
    worked = [layout.rows.geometry, layout.headland.geometry]
    assert min(shapely.distance(each, pond).min() for each in worked if len(each)) >= off_m - 0.01


def test_what_is_lifted_through_is_as_wide_as_it_is_drawn(tmp_path):
    wish = 'clearance = "15 ft"\nthrough = "kind = \'pond\'"'
    layout = laid(tmp_path, [POND], ["pond"], wish, headland=NONE)
    assert layout.areas_m2["obstacles"] == pytest.approx(80 * 60, rel=1e-6)


def test_rows_stop_before_a_point_without_end_rows(tmp_path):
    layout = laid(tmp_path, [POLE], ["pole"], 'clearance = "15 ft"')
    bare = lay_on(tmp_path, square())
    assert_whole(layout)
    assert layout.areas_m2["obstacles"] == pytest.approx(np.pi * (15 * FOOT_M) ** 2, rel=2e-3)
    lonlat = PLANE.to_lonlat(np.array([[100.0, 50.0]]))
    place = shapely.Point(layout.ground.plane.to_plane(lonlat)[0])
    assert layout.areas_m2["headland"] == pytest.approx(bare.areas_m2["headland"], rel=1e-9)
    rows = layout.rows.geometry.to_numpy()
    assert 15 * FOOT_M - 0.01 <= shapely.distance(rows, place).min() < 15 * FOOT_M + 0.05
    passes = layout.passes
    swaths = shapely.buffer(passes.geometry, passes["width_m"] / 2, cap_style="flat")
    assert shapely.distance(swaths, place).min() >= 15 * FOOT_M - 0.01
    # 30 ft lie across two of the planter's passes; each stops and begins again behind
    stopped = planted(layout)[planted(layout)["stops_at"] != ""]
    assert list(stopped["stops_at"]) == ["feature 1"] * 4
    each = list(stopped["number"].diff().iloc[1:])
    assert (each[0], each[2]) == (1, 1)  # and is gone on with at once
    assert len(planted(layout)) == len(planted(bare)) + 2


def test_larger_obstacles_have_end_rows_of_their_own(tmp_path):
    pond = shapely.Point(100, 50).buffer(14.9 * FOOT_M, quad_segs=64)
    for wish, ringed in (("", False), ('beside = "29 ft"', True), ('beside = "31 ft"', False)):
        layout = laid(tmp_path, [pond], ["pond"], wish)
        place = layout.ground.plane.to_plane(PLANE.to_lonlat(np.array([[100.0, 50.0]])))[0]
        near_m = shapely.distance(layout.headland.geometry, shapely.Point(place)).min()
        # the headland's two planter passes stand between it and every row
        assert (near_m < 15 * FOOT_M) == ringed
        rows_m = shapely.distance(layout.rows.geometry, shapely.Point(place)).min()
        assert (rows_m >= 14.9 * FOOT_M + 2 * 12.192 - 0.05) == ringed


def test_a_line_lifted_through_breaks_rows_but_not_passes(tmp_path):
    wish = 'clearance = "10 ft"\nthrough = "kind = \'waterway\'"'
    bare = lay_on(tmp_path, square())
    layout = laid(tmp_path, [WATERWAY], ["waterway"], wish)
    assert_whole(layout)
    width_m = 2 * 10 * FOOT_M
    length_m = np.hypot(50, 804)
    assert layout.areas_m2["obstacles"] == pytest.approx(width_m * length_m, rel=0.02)
    # strips are cut in two, but no pass turns there and no end rows are made
    assert len(layout.strips) > len(bare.strips)
    # a pass carries the stretch over which it is lifted
    assert planted(layout)["number"].nunique() == len(planted(bare))
    assert len(planted(layout)) > 2 * len(planted(bare))
    lifted = planted(layout)[~planted(layout)["working"]]
    # from the last row's end to the first one's begin: the planter's rows are 37.5 ft apart
    slant = 50 / 804
    crossed_m = width_m * length_m / 804 - 37.5 * FOOT_M * slant
    assert lifted["length_m"].to_numpy() == pytest.approx(crossed_m, rel=1e-3)
    assert planted(layout).length.sum() == pytest.approx(planted(bare).length.sum(), rel=1e-3)
    assert layout.laid.parts["turns"] == pytest.approx(bare.laid.parts["turns"], rel=1e-9)
    crossed = layout.rows.geometry.intersection(layout.ground.through.buffer(-0.01))
    assert crossed.length.max() == 0


def test_the_same_line_gone_around_makes_end_rows_and_turns(tmp_path):
    layout = laid(tmp_path, [WATERWAY], ["ditch"], 'clearance = "10 ft"')
    bare = lay_on(tmp_path, square())
    assert_whole(layout)
    # both sides, but for where they meet the headlands along the field's edges
    assert layout.areas_m2["headland"] > bare.areas_m2["headland"] + 750 * 2 * 24
    assert layout.laid.parts["turns"] > bare.laid.parts["turns"]
    assert len(planted(layout)) > len(planted(bare))


def test_some_are_gone_around_and_others_lifted_through(tmp_path):
    wish = 'clearance = "10 ft"\nthrough = "kind = \'waterway\'"'
    layout = laid(tmp_path, [POLE, WATERWAY], ["pole", "waterway"], wish)
    assert_whole(layout)
    assert layout.ground.through.area > 0
    pole_m2 = np.pi * (10 * FOOT_M) ** 2
    around = layout.ground.obstacles.area - layout.ground.through.area
    assert around == pytest.approx(pole_m2, rel=0.01)


def test_pieces_are_numbered_in_travel_order(tmp_path):
    pond = shapely.Point(100, 50).buffer(15 * FOOT_M)
    layout = laid(tmp_path, [pond], ["pond"], 'beside = "1 ft"')
    strips = layout.strips
    broken = strips[strips["strip"].isin(strips[strips["piece"] == 2]["strip"])]
    assert len(broken) >= 2
    for _, own in broken.groupby("strip"):
        ordered = own.sort_values("piece")
        # heading 0: travel is northward
        assert ordered.geometry.centroid.y.is_monotonic_increasing


def test_points_and_lines_without_a_clearance_are_refused(tmp_path):
    write_shapes(tmp_path, POLE, name="o.geojson", kinds=["pole"])
    plan = write_plan_for(tmp_path, square(), field='obstacles = "o.geojson"')
    result = CliRunner().invoke(main, ["lay", str(plan), "-o", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert "Traceback" not in result.stderr
    assert result.stderr.startswith("striplay: ")
    assert "clearance" in result.stderr
    assert not (tmp_path / "out").exists()
    with pytest.raises(BoundaryError, match="clearance"):
        lay_on(tmp_path, square(), field='obstacles = "o.geojson"')


def test_obstacles_without_a_file_are_refused(tmp_path):
    with pytest.raises(PlanError) as refusal:
        lay_on(tmp_path, square(), field='[obstacles]\nclearance = "9 ft"')
    assert str(refusal.value) == (
        "plan.toml: obstacles: has no use without a file: obstacles = under [field]"
    )


def test_a_wrong_condition_is_refused(tmp_path):
    with pytest.raises(BoundaryError, match=r"o\.geojson"):
        laid(tmp_path, [POLE], ["pole"], 'clearance = "9 ft"\nthrough = "sort = 1"')


def test_a_point_is_not_lifted_through(tmp_path):
    """Wheels can't cross a pole; its number is its place in the file, not among those chosen."""
    wish = 'clearance = "10 ft"\nthrough = "kind <> \'pond\'"'
    kinds = ["pond", "waterway", "pole"]
    with pytest.raises(BoundaryError) as refusal:
        laid(tmp_path, [shapely.box(0, 0, 9, 9), WATERWAY, POLE], kinds, wish)
    assert str(refusal.value) == (
        "o.geojson: feature 3 is a point, and `through` is for lines and polygons that wheels may "
        "cross; leave it out of through and it is passed beside"
    )
    # the command says the same, with no traceback
    plan = write_plan_for(tmp_path, square(), field=FILE + wish)
    result = CliRunner().invoke(main, ["lay", str(plan), "-o", str(tmp_path / "out")])
    assert (result.exit_code, result.stderr) == (2, f"striplay: {refusal.value}\n")


def test_several_points_of_one_feature_are_not_lifted_through(tmp_path):
    wish = 'clearance = "10 ft"\nthrough = "kind = \'pole\'"'
    poles = shapely.MultiPoint([(10, 10), (20, 20)])
    with pytest.raises(BoundaryError, match=r"^o\.geojson: feature 1 is a point, and"):
        laid(tmp_path, [poles], ["pole"], wish)


def test_lines_and_polygons_are_lifted_through(tmp_path):
    wish = 'clearance = "10 ft"\nthrough = "kind <> \'pole\'"'
    shapes = [shapely.box(0, 0, 9, 9), WATERWAY, POLE]
    layout = laid(tmp_path, shapes, ["pond", "waterway", "pole"], wish)
    pole_m2 = np.pi * (10 * FOOT_M) ** 2
    ground = layout.ground
    assert ground.obstacles.area - ground.through.area == pytest.approx(pole_m2, rel=0.01)
    inside = ground.plane.to_plane(PLANE.to_lonlat(np.array([[4.5, 4.5]])))[0]
    assert ground.through.contains(shapely.Point(inside))


def test_clearance_counts_as_bare_land(tmp_path):
    bare = lay_on(tmp_path, square(), headland=NONE)
    layout = laid(tmp_path, [POLE], ["pole"], 'clearance = "50 ft"', headland=NONE)
    area_ac = np.pi * 50**2 / 43_560
    # what the planter's pass can't reach beside it is not in the cost
    more = layout.laid.parts["bare land"] - bare.laid.parts["bare land"]
    assert more == pytest.approx(300 * area_ac, rel=0.02)


@pytest.mark.parametrize(
    ("through", "told"),
    [
        ("sort = 1", 'through = "sort = 1" names no column "sort"; known are kind'),
        ("kind = = 1", 'through = "kind = = 1" can\'t be read from "=" on'),
        (
            "kind = 'x'",
            "holds no feature with a shape chosen by through = \"kind = 'x'\"; choose others",
        ),
    ],
)
def test_a_faulty_through_is_told_as_such(tmp_path, through, told):
    wish = f'clearance = "10 ft"\nthrough = "{through}"'
    with pytest.raises(BoundaryError) as caught:
        laid(tmp_path, [POLE], ["pole"], wish)
    assert told in str(caught.value)


def test_overlays_of_a_boundary_that_fail_go_on_the_grid(tmp_path, monkeypatch):
    """Two parts that overlap, one with a crossed ring, a pole, a pond and a waterway."""
    loop = [(151, 200), (149, 202), (151, 202), (149, 200)]
    parts = [
        shapely.box(-300, -200, 10, 200),
        [(0, -200), (300, -200), (300, 200), *loop, (0, 200)],
    ]
    shapes = [POLE, shapely.box(-50, -50, -20, -20), shapely.LineString([(-402, 0), (402, 50)])]
    write_shapes(tmp_path, *shapes, name="o.geojson", kinds=["pole", "pond", "waterway"])
    wish = 'clearance = "15 ft"\nthrough = "kind = \'waterway\'"'
    path = write_plan_for(tmp_path, parts[0], field=FILE + wish)
    write_shapes(tmp_path, parts[0], shapely.Polygon(parts[1]), name="field.geojson")
    exact = read_ground(read_plan(path))
    for word in ("overlap", "mended"):
        assert any(word in notice.text for notice in exact.notices)

    def failing(overlay):
        def tried(*arguments, grid_size=None):
            if grid_size is None:
                raise GEOSException("TopologyException: no")
            return overlay(*arguments, grid_size=grid_size)

        return tried

    for name in ("intersection", "difference", "union", "union_all"):
        monkeypatch.setattr(shapely, name, failing(getattr(shapely, name)))
    found = read_ground(read_plan(path))
    for name in ("outline", "land", "obstacles", "through", "clearance", "driven_on", "rowed"):
        area_m2 = getattr(exact, name).area
        assert area_m2 > 100, name
        assert getattr(found, name).area == pytest.approx(area_m2, rel=1e-8), name
    assert [notice.text for notice in found.notices] == [notice.text for notice in exact.notices]
