"""Poles at corners and due north, machines over ponds and crossings, rows half left empty."""

import numpy as np
import pytest
import shapely
from fields import AROUND, FOOT_M, PLANE, lay_on, square, texts, write_shapes

from striplay.errors import NoStripError
from striplay.geometry.path import Curved, along_line
from striplay.operations.clear import extents
from striplay.operations.told import pass_notices

ENDS = AROUND.replace("around", "ends")
NONE = '[headland]\nwhere = "none"\n'
POLES = 'obstacles = "obstacles.geojson"\n[obstacles]\nclearance = "10 ft"\n'
HALF_M = 400 * FOOT_M
LON, LAT = PLANE.longitude_deg, PLANE.latitude_deg


def laid_with(folder, shape, *obstacles, field=POLES, **asked):
    folder.mkdir(exist_ok=True)
    write_shapes(folder, *obstacles, name="obstacles.geojson")
    return lay_on(folder, shape, field=field, **asked)


def swaths(layout, machine):
    mine = layout.passes[(layout.passes.machine == machine) & layout.passes.working.astype(bool)]
    widths_m = mine.width_m.astype(float).to_numpy() / 2
    return shapely.buffer(mine.geometry.to_numpy(), widths_m, cap_style="flat")


# --- poles ------------------------------------------------------------------------------------


def test_rounds_stop_clear_of_a_pole_wherever_it_stands_at_a_corner(tmp_path):
    for number, (east, north) in enumerate(
        [(6, 12), (12, 6), (3, 9), (15, 21), (24, 18), (11, 11)]
    ):
        pole = shapely.Point(HALF_M - east * FOOT_M, HALF_M - north * FOOT_M)
        layout = laid_with(tmp_path / str(number), square(800), pole, headland=ENDS)
        for machine in layout.plan.machines:
            near_m = shapely.distance(swaths(layout, machine), pole).min()
            assert near_m > 10 * FOOT_M - 0.01, (machine, east, north)


def test_a_pole_at_the_corner_of_a_round_takes_a_few_meters_of_it(tmp_path):
    shape = square(2640)
    bare = lay_on(tmp_path, shape, headland=AROUND)
    rounds = bare.passes[bare.passes.place == "headland"]
    planted = rounds[rounds.operation == "plant"]
    outer = planted.geometry[planted.length_m.idxmax()]
    corner = shapely.get_coordinates(outer)[0]
    for number, inward in enumerate([(3.5, 3.5), (2.5, 2.5), (0.0, 3.0)]):
        pole = shapely.Point(corner + np.array(inward))
        layout = laid_with(tmp_path / str(number), shape, pole, headland=AROUND)
        left = layout.passes[layout.passes.place == "headland"]
        assert left.length_m.sum() > rounds.length_m.sum() - 60.0


@pytest.mark.parametrize("radius_m", [150.0, 210.0])
def test_a_pole_due_north_of_a_pivot_takes_no_more_than_elsewhere(tmp_path, radius_m):
    circle = shapely.Point(0, 0).buffer(radius_m + 30, quad_segs=90)
    left_m2 = []
    for number, bearing in enumerate([0.0, 0.003, -0.003, 0.8]):
        pole = shapely.Point(radius_m * np.sin(bearing), radius_m * np.cos(bearing))
        layout = laid_with(
            tmp_path / str(number), circle, pole,
            direction=f"pivot = [{LON}, {LAT}]", headland=NONE,
        )  # fmt: skip
        left_m2.append(layout.areas_m2["leftover"])
    assert max(left_m2) < min(left_m2) + 60.0


def test_areas_across_north_have_the_shorter_extent(tmp_path):
    ring = along_line(shapely.LineString([(0, 0), (10, 0)]))
    assert isinstance(ring, Curved)
    begin, end = extents(np.array([shapely.box(2, -1, 4, 1)]), ring, np.zeros(1))
    assert (begin[0], end[0]) == (pytest.approx(2.0), pytest.approx(4.0))


# --- what is told -----------------------------------------------------------------------------


def test_machines_over_the_bank_of_a_pond_are_told_first(tmp_path):
    pond = shapely.affinity.rotate(shapely.box(-60, -60, 60, 60), 20)
    layout = laid_with(tmp_path, square(1500), pond, headland=NONE)
    first = layout.notices[0]
    assert (first.severity, first.kind) == ("stop", "obstacle")
    over_m2 = shapely.area(shapely.intersection(swaths(layout, "planter"), pond)).sum()
    assert over_m2 > 10.0
    assert "over the edge of obstacles" in first.text
    assert "planter" in first.text
    place = PLANE.to_plane(np.array([first.place]))[0]
    assert shapely.distance(shapely.Point(place), pond) < 2.0


def test_a_headland_round_a_pond_keeps_machines_off_it(tmp_path):
    pond = shapely.affinity.rotate(shapely.box(-60, -60, 60, 60), 20)
    layout = laid_with(tmp_path, square(1500), pond, headland=AROUND)
    told = [n.text for n in layout.notices if "over the edge" in n.text]
    planter = swaths(layout, "planter")
    # places in degrees are written to a centimeter: a few millimeters along 480 m of bank
    assert shapely.area(shapely.intersection(planter, pond)).sum() < 2.0
    assert not any("planter" in text for text in told)


def test_width_over_a_slanting_waterway_is_to_be_shut(tmp_path):
    way = shapely.LineString([(-400, -150), (400, 150)]).buffer(6, cap_style="flat")
    field = 'obstacles = "obstacles.geojson"\n[obstacles]\nthrough = "1 = 1"\n'
    layout = laid_with(tmp_path, square(1500), way, field=field, headland=AROUND)
    told = [n.text for n in layout.notices if "driven through" in n.text]
    assert len(told) == 1
    assert "planter, without shut_off, would plant it" in told[0]
    assert "spray no nearer than the label says" in told[0]


def test_planted_headland_between_blocks_lies_under_no_pass_and_is_told(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(-500, 20), (500, 20)]), name="cut.geojson")
    blocks = '[[blocks]]\nfile = "cut.geojson"\nheading = 0\n[[strips]]\ncrop = "corn"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1800), strips=blocks, headland=AROUND)
    assert any("planted headland lie under no pass" in text for text in texts(layout.notices))
    plain = lay_on(tmp_path, square(1800), headland=AROUND)
    assert not any("under no pass" in text for text in texts(plain.notices))


def test_an_obstacle_far_off_is_told(tmp_path):
    here, far = shapely.Point(0, 0), shapely.Point(6000, 0)
    layout = laid_with(tmp_path, square(1500), here, far, headland=AROUND)
    told = [text for text in texts(layout.notices) if "1 of 2 obstacles lie more than" in text]
    assert len(told) == 1
    assert "feature 2" in told[0]


# --- row sets ---------------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["6 corn, 10 empty", "5 empty, 6 corn, 5 empty"])
def test_a_row_set_of_few_rows_is_planted(tmp_path, units):
    row_set = f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\n'
    layout = lay_on(tmp_path, square(2640), strips=row_set, headland=AROUND)
    assert layout.areas_m2["strips"] > 0.8 * 2640**2 * FOOT_M**2
    assert layout.areas_m2["leftover"] < 1.0


def test_a_headland_that_leaves_no_strip_is_refused(tmp_path):
    direction = 'heading = 0\nnarrowest = "39 ft"\nshortest = "20 ft"'
    with pytest.raises(NoStripError, match=r'would do: .*narrowest = "19.5 ft"'):
        lay_on(tmp_path, square(190), headland=AROUND, direction=direction)


# --- rings ------------------------------------------------------------------------------------


def test_turning_a_pivot_field_about_its_center_changes_no_pass(tmp_path):
    rng = np.random.default_rng(1)
    bearing, radius_m = np.sort(rng.uniform(0, 2 * np.pi, 6)), rng.uniform(180, 330, 6)
    field = shapely.Polygon(
        np.column_stack([radius_m * np.sin(bearing), radius_m * np.cos(bearing)])
    )
    pole = shapely.Point(60, 120)
    found = []
    for turn_rad in (0.0, 0.4636, 2.3, 5.5):  # at 0.4636 the pole lies due north
        turned, there = (
            shapely.affinity.rotate(one, turn_rad, origin=(0, 0), use_radians=True)
            for one in (field, pole)
        )
        folder = tmp_path / str(turn_rad)
        layout = laid_with(
            folder, turned, there, direction=f"pivot = [{LON}, {LAT}]", headland=NONE
        )
        # the lines that are driven, before their order is sought: of the whole season's machines
        lengths_m = {name: [] for name in layout.plan.machines}
        for one in layout.side_by_side:
            lengths_m[one.machine].extend(shapely.length(one.stretch))
        sums = [figure for each in lengths_m.values() for figure in (sum(each), len(each))]
        assert all(sums)
        found.append([layout.areas_m2["strips"], layout.areas_m2["leftover"], *sums])
    assert np.ptp(found, axis=0) == pytest.approx(0.0, abs=0.5)


def test_a_planted_headland_without_any_round_is_told_whole(tmp_path):
    layout = lay_on(tmp_path, square(1320), headland=AROUND)
    headland = layout.laid.headland
    told = pass_notices(layout.plan, layout.section, (), layout.ground, headland)
    said = next(one.text for one in told if "planted headland lie under no pass" in one.text)
    # acres as printed; a hand's breadth along its edges is not counted
    assert float(said.split()[0]) * 4046.856 == pytest.approx(layout.areas_m2["headland"], rel=0.1)
