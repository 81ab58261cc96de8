"""The layout against cases worked by hand."""

import numpy as np
import pytest
import shapely
from fields import FOOT_M, SHED, lay_on, square, write_field

import striplay.operations.round
from striplay.errors import BoundaryError, PlanError
from striplay.notices import Notice
from striplay.units import ACRE_M2

NONE = '[headland]\nwhere = "none"\n'
ENDS = '[headland]\nwhere = "ends"\npasses = 2\nmachine = "planter"\n'
CENTER = [[0.0, 0.0]]


@pytest.fixture(scope="module")
def worked(tmp_path_factory):
    """A square of 2640 ft, headland of 80 ft, 40 ft of corn and 120 ft of soybean a set."""
    return lay_on(tmp_path_factory.mktemp("worked"), square())


def test_worked_square_strips(worked):
    strips = worked.strips
    corn, soybean = strips[strips["crop"] == "corn"], strips[strips["crop"] == "soybean"]
    assert len(corn) == 16
    assert corn["whole"].all()
    assert (len(soybean), soybean["whole"].sum()) == (16, 15)
    last = soybean[~soybean["whole"]].iloc[0]
    assert (last["strip"], last["rows"]) == (32, 16)
    assert last["width_m"] == pytest.approx(40 * FOOT_M, abs=1e-3)
    assert list(strips["strip"]) == list(range(1, 33))


def test_worked_square_areas_and_seed(worked):
    # 2480 ft inside: 16 x 40 ft and 15 x 120 + 40 ft, arithmetic on 43,560 square feet an acre
    accounts = worked.land_accounts
    corn = accounts["crops"]["corn"]
    assert corn["area_m2"] / ACRE_M2 == pytest.approx(36.437, abs=5e-4)
    assert accounts["crops"]["soybean"]["area_m2"] / ACRE_M2 == pytest.approx(104.757, abs=5e-4)
    assert accounts["areas_m2"]["headland"] / ACRE_M2 == pytest.approx(18.806, abs=5e-4)
    assert accounts["field"]["area_m2"] / ACRE_M2 == pytest.approx(160.0, abs=5e-4)
    assert corn["seeds"] == 1_238_862
    assert corn["seed_units"] == 16
    exact = worked.strips.loc[worked.strips["crop"] == "corn", "seed_units"].sum()
    assert exact == pytest.approx(15.49, abs=5e-3)
    assert corn["expected_stand"] == pytest.approx(0.95 * 1_238_861.3, abs=1)
    assert accounts["headland_crop"]["corn"]["area_m2"] == accounts["areas_m2"]["headland"]


def test_worked_square_passes(worked):
    passes = worked.passes
    field = passes[passes["place"] == "strips"]
    counts = field.groupby(["operation", "machine"]).size().to_dict()
    # planter: 16 corn + 15 x 3 + 1 soybean; header 2 a corn strip; platform 4 a strip, 2 on 40 ft
    assert counts == {
        ("plant", "planter"): 62,
        ("spray", "sprayer"): 32,
        ("harvest", "corn_head"): 32,
        ("harvest", "platform"): 62,
    }
    for _, job in passes.groupby(["operation", "machine"]):
        assert list(job["number"]) == list(range(1, len(job) + 1))
    planted = field[(field["operation"] == "plant") & (field["crop"] == "corn")]
    north = [line.coords[1][1] > line.coords[0][1] for line in planted.geometry]
    assert north == [True, False] * 8


def test_platform_cuts_stay_inside_the_strip(worked):
    passes = worked.passes
    cuts = passes[(passes["machine"] == "platform") & (passes["place"] == "strips")]
    strips = worked.strips.set_index("strip")
    for _, cut in cuts.iterrows():
        left, _, right, _ = strips.loc[cut["strip"]].geometry.bounds
        x = cut.geometry.coords[0][0]
        assert left + 4.572 - 1e-6 <= x <= right - 4.572 + 1e-6


@pytest.mark.parametrize(("start", "sign"), [("left", -1), ("right", 1)])
def test_first_strip_lies_on_the_start_side(tmp_path, start, sign):
    layout = lay_on(tmp_path, square(), direction=f'heading = 0\nstart = "{start}"')
    first = layout.strips.iloc[0]
    assert first["crop"] == "corn"
    assert np.sign(first.geometry.centroid.x) == sign


def test_rows_run_at_half_a_spacing_along_the_heading(worked):
    rows = worked.rows
    first = rows[rows["strip"] == 1]
    x = [line.coords[0][0] for line in first.geometry]
    left = worked.strips.iloc[0].geometry.bounds[0]
    assert x == pytest.approx([left + (n + 0.5) * 0.762 for n in range(16)], abs=1e-6)
    assert all(line.coords[1][1] > line.coords[0][1] for line in rows.geometry)


def test_no_headland_covers_all(tmp_path):
    layout = lay_on(tmp_path, square(), headland=NONE)
    assert layout.land_accounts["areas_m2"]["headland"] == 0.0
    assert layout.land_accounts["areas_m2"]["strips"] == pytest.approx(square().area, rel=1e-6)
    assert len(layout.headland) == 0


def test_ends_leave_the_sides(tmp_path):
    layout = lay_on(tmp_path, square(), headland=ENDS)
    side_m, width_m = 2640 * FOOT_M, 80 * FOOT_M
    assert layout.land_accounts["areas_m2"]["headland"] == pytest.approx(
        2 * side_m * width_m, rel=1e-4
    )


def test_headland_too_wide_is_refused(tmp_path):
    with pytest.raises(BoundaryError) as refusal:
        lay_on(tmp_path, square(100))
    assert str(refusal.value) == (
        "field.geojson: a headland of 80 ft leaves no land inside it; this would do: "
        '[headland] where = "none" (where machines can turn beyond the field)'
    )


def test_no_strips_are_refused(tmp_path):
    with pytest.raises(PlanError) as refusal:
        lay_on(tmp_path, square(), strips="")
    assert str(refusal.value) == (
        "plan.toml: strips: none are given; add a [[strips]] table for each"
    )


def test_short_rows_become_leftover(tmp_path):
    # twelve sets wide, so that no narrow strip is left at the far side
    wide_m = 12 * 48.768 - 0.1
    triangle = shapely.Polygon([(0, 0), (wide_m, 0), (wide_m, wide_m / 1.2)])
    layout = lay_on(tmp_path, triangle, headland=NONE, direction='heading = 0\nshortest = "100 ft"')
    assert layout.rows["length_m"].min() >= 100 * FOOT_M
    # rows shorter than 30.48 m stand in the corner: a triangle 36.6 m by 30.5 m, cut row by row
    assert layout.land_accounts["areas_m2"]["leftover"] == pytest.approx(
        (30.48 * 1.2) * 30.48 / 2, rel=0.05
    )
    every = 'heading = 0\nshortest = "0.01 ft"\nnarrowest = "1 in"'
    none = lay_on(tmp_path, triangle, headland=NONE, direction=every)
    assert none.land_accounts["areas_m2"]["leftover"] < 1.0


def test_obstacle_file_comes_off(tmp_path):
    write_field(tmp_path, shapely.box(-20, -20, 20, 20), "pond.geojson")
    layout = lay_on(tmp_path, square(), field='obstacles = "pond.geojson"')
    assert layout.land_accounts["areas_m2"]["obstacles"] == pytest.approx(1600, rel=1e-6)
    # end rows of 80 ft go round it, its corners mitered
    assert layout.land_accounts["areas_m2"]["headland"] == pytest.approx(
        76106.17 + (40 + 2 * 24.384) ** 2 - 1600, rel=1e-5
    )
    pieces = layout.strips.groupby("strip")["piece"].max()
    assert pieces.max() == 2


def test_drill_without_openers_has_no_rows(tmp_path):
    shed = (
        SHED
        + '[machines.drill]\ndoes = "plant"\nwidth = "15 ft"\n[crops.oats]\n'
        + ('planter = "drill"\nrate = "300 seeds/m2"\n')
    )
    layout = lay_on(tmp_path, square(), shed=shed, strips='[[strips]]\ncrop = "oats"\npasses = 2\n')
    assert layout.strips["rows"].isna().all()
    assert len(layout.rows) == 0
    oats = layout.land_accounts["crops"]["oats"]
    assert oats["row_length_m"] == 0.0
    assert oats["seeds"] == pytest.approx(300 * oats["area_m2"], rel=0.01)
    assert oats["seed_units"] is None


def test_rate_left_out_counts_no_seed(tmp_path):
    shed = SHED.replace('rate = "34000 seeds/acre"\n', "")
    crop = lay_on(tmp_path, square(), shed=shed).land_accounts["crops"]["corn"]
    assert crop["seeds"] is None


def test_strip_that_does_not_fit_is_laid_with_a_notice(tmp_path):
    layout = lay_on(tmp_path, square(), strips='[[strips]]\ncrop = "corn"\nrows = 20\n')
    notice = (
        "corn strip of 50 ft does not fit: 1.25 planter passes; 20 rows are 2.5 header passes of 8 "
        "rows; boom sections miss the strip's edge by 5 ft; over the neighbor the label decides"
    )
    assert Notice("fit", "mind", None, notice) in layout.notices


def test_a_part_of_the_field_is_not_lost_where_a_turn_makes_a_neck_cross_itself(tmp_path):
    """Mending such a polygon once kept the crossing's loop and dropped the other 7 ha."""
    field = shapely.from_wkt(
        "MULTIPOLYGON (((310.16590912344697 28.322086878632195, 164.39477330512545 "
        "93.05407319977942, 244.49832557512042 279.2755994487882, 115.07611765815692 "
        "359.75799442890224, -40.23451050081352 315.8286785036353, -112.4550103844729 "
        "173.03116183138795, -282.5347047449778 163.36261584631663, -386.24891958674954 "
        "63.34851744102854, -398.0538896890163 -105.086326987928, -173.26083011611027 "
        "-136.3713995025645, -156.58458803421746 -283.66724055536133, 8.563304116179227 "
        "-233.5007654516534, 149.43486116721908 -332.80592753554333, 238.0151704340733 "
        "-214.2245256225117, 369.80974606287975 -120.88902346725857, 310.16590912344697 "
        "28.322086878632195)), ((751.9678748778039 137.1624940414464, 412.0146895469013 "
        "142.80446030977873, 408.0321251221961 -97.16249404144651, 747.9853104530987 "
        "-102.8044603097789, 751.9678748778039 137.1624940414464)))"
    )
    layout = lay_on(
        tmp_path,
        field,
        headland='[headland]\nwhere = "ends"\npasses = 2\nmachine = "planter"\n',
        direction='heading = 86.54782924805205\noffset = "best"',
    )
    total = sum(layout.areas_m2.values())
    assert total == pytest.approx(layout.ground.outline.area, rel=1e-9)


@pytest.mark.parametrize("offset", ["39.9 ft", "7.13 ft", "101.7 ft"])
def test_neighbors_share_borders_to_the_last_digit_at_any_offset(tmp_path, offset):
    for start in ("left", "right"):
        direction = f'heading = 37\noffset = "{offset}"\nstart = "{start}"'
        across = lay_on(tmp_path, square(), direction=direction).laid.blocks[0].across
        if start == "left":
            assert (across.low_m[:-1] == across.high_m[1:]).all()
        else:
            assert (across.high_m[:-1] == across.low_m[1:]).all()


def test_rounds_of_the_headland_at_one_distance_are_found_once(tmp_path, monkeypatch):
    """A header of as many rows as the planter runs on the planter's own lines."""
    inset, asked = striplay.operations.round.inset_all_round, []

    def watched(ground, width_m):
        asked.append(width_m)
        return inset(ground, width_m)

    monkeypatch.setattr(striplay.operations.round, "inset_all_round", watched)
    shed = SHED.replace('does = "harvest"\nrows = 8', 'does = "harvest"\nrows = 16')
    passes = lay_on(tmp_path, square(1320), shed=shed).passes
    around = passes[passes["place"] == "headland"]
    assert set(around["operation"]) == {"plant", "spray", "harvest"}
    lengths = around.groupby("operation")["length_m"].sum()
    assert lengths["plant"] == pytest.approx(lengths["harvest"], rel=1e-12)
    # two of planter and header; the boom of 120 ft runs on the second, at 60 ft
    assert sorted(asked) == pytest.approx([20 * FOOT_M, 60 * FOOT_M])
