"""Ground planted twice: by arithmetic, by the drawing alone, along curves, and whose seed it is."""

import math
from dataclasses import asdict

import numpy as np
import pytest
import shapely
from brute import KINDS, laid_at_random
from drawing import under, worked_twice_m2
from fields import SAMPLES, SHED, lay_on, square, write_line

from striplay.accounts.overlap import planted_twice_m2, planter_point_rows
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.section.mixture import sown_of
from striplay.tolerances import OFFSET_STEP_M

NONE = '[headland]\nwhere = "none"\n'
ROW_M, UNITS = 0.762, 16
CORN = '[[strips]]\ncrop = "corn"\nrows = 16\n'
BOTH = CORN + CORN.replace("corn", "soybean")


def shed(shut_off):
    return SHED.replace('spacing = "30 in"', f'spacing = "30 in"\nshut_off = {shut_off}', 1)


def twice_m2(layout):
    found = planted_twice_m2(layout.plan, layout.laid)
    crops = [layer.crop for layer in layout.section.layers]
    return dict(zip(crops, found.tolist(), strict=True))


def leaning(passes, slope, length_m=400.0):
    """A parallelogram of whole passes, rows north, both ends climbing `slope` by the meter."""
    wide_m = passes * UNITS * ROW_M
    corners = [(0, 0), (wide_m, slope * wide_m), (wide_m, slope * wide_m + length_m), (0, length_m)]
    return shapely.affinity.translate(shapely.Polygon(corners), -wide_m / 2, -length_m / 2)


@pytest.mark.parametrize("slope", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("shut_off", ['"none"', "4", "2", '"row"'])
def test_leaning_ends_by_arithmetic(tmp_path, slope, shut_off):
    """A part of w m runs w x slope longer than each of its rows; a pass ends with its rows.

    So the first and the last part of each pass lose half a row's lean each. Ground within 2 cm of a
    part's edges is not looked for.
    """
    layout = lay_on(
        tmp_path, leaning(6, slope), headland=NONE, shed=shed(shut_off), strips=BOTH,
        direction='heading = 0\nshortest = "1 ft"',
    )  # fmt: skip
    parts = {'"none"': 1, '"row"': UNITS}.get(shut_off) or int(shut_off)
    wide_m = UNITS / parts * ROW_M
    reach_m, row_m = wide_m - 2 * OFFSET_STEP_M, ROW_M - 2 * OFFSET_STEP_M
    per_pass_m2 = wide_m * slope * (parts * reach_m - row_m)
    found = twice_m2(layout)
    assert found["corn"] == pytest.approx(3 * per_pass_m2, rel=1e-3, abs=0.05)
    assert found["soybean"] == pytest.approx(3 * per_pass_m2, rel=1e-3, abs=0.05)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", [0, 1])
def test_it_is_what_the_drawing_makes_it(kind, seed):
    """Rectangles as long as a pass's rows, less its own ground, by shapely alone."""
    plan, laid = laid_at_random(kind, seed)
    found = planted_twice_m2(plan, laid).sum()
    drawn = sum(worked_twice_m2(plan, one) for one in under(plan, laid) if one.operation == "plant")
    assert found == pytest.approx(drawn, rel=0.01)
    (priced,) = [one for one in laid.blocks[0].choice.point_rows if one.machine == "planter"]
    assert found == pytest.approx(priced.area_m2, rel=0.03)
    assert planter_point_rows(plan, laid)["planter"].area_m2 == pytest.approx(found, rel=1e-12)


@pytest.mark.parametrize("shut_off", ['"none"', "4", '"row"'])
def test_a_planter_s_point_rows_are_what_seed_is_bought_for(tmp_path, shut_off):
    layout = lay_on(
        tmp_path, leaning(6, 0.5), headland=NONE, shed=shed(shut_off), strips=BOTH,
        direction='heading = 10\nshortest = "1 ft"',
    )  # fmt: skip
    (planter,) = [asdict(each) for each in layout.point_rows if each.machine == "planter"]
    bought_m2 = sum(seed["overlap_m2"] for seed in layout.land_accounts["seed_to_buy"].values())
    assert bought_m2 > 50
    assert planter["area_m2"] == pytest.approx(bought_m2, rel=1e-12)
    name = {'"none"': "without_m2", '"row"': "with_m2"}.get(shut_off)
    assert name is None or planter[name] == planter["area_m2"]
    assert planter["with_m2"] <= planter["area_m2"] <= planter["without_m2"]


def test_on_a_sample_with_a_sliver_and_a_narrow_side_the_cost_is_of_what_is_laid():
    """At this offset 2 cm of a strip's ground run on along the L's edge, and hold no row.

    At the far side lie six rows, of whose ground a foot is off the land: they are planted.
    """
    plan = read_plan(SAMPLES / "pond_ell" / "plan.toml")
    direction = plan.direction.model_copy(update={"heading": 83.0, "offset_m": 17.489})
    layout = lay(plan.model_copy(update={"direction": direction}))
    (choice,) = [block.choice for block in layout.laid.blocks]
    (priced,) = [one for one in choice.point_rows if one.machine == "planter"]
    drawn_m2 = sum(
        worked_twice_m2(layout.plan, one)
        for one in under(layout.plan, layout.laid)
        if one.operation == "plant"
    )
    assert priced.area_m2 == pytest.approx(drawn_m2, rel=0.01)
    # seed counts the sixth row's ground whole
    beyond_m2 = (6 * ROW_M - 4.258) * 353.4
    found_m2 = planted_twice_m2(layout.plan, layout.laid).sum()
    assert found_m2 + beyond_m2 == pytest.approx(drawn_m2, rel=0.01)
    lost = layout.areas_m2["headland"] * layout.plan.cost.land_per_m2  # it is not planted
    assert layout.laid.parts["headland"] == pytest.approx(lost, rel=1e-3)


@pytest.mark.parametrize("shut_off", ['"none"', '"row"'])
def test_a_strip_cut_along_its_length_plants_beyond_its_rows(tmp_path, shut_off):
    """Ten of the last pass's 16 rows lie in the field; all shut off together, six are planted."""
    wide_m = (3 * UNITS + 10) * ROW_M
    field = shapely.box(-wide_m / 2, -150, wide_m / 2, 150)
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed(shut_off), strips=CORN)
    beyond_m2 = 6 * ROW_M * 300 if shut_off == '"none"' else 0.0
    assert twice_m2(layout)["corn"] == pytest.approx(beyond_m2, rel=1e-4, abs=0.05)


@pytest.mark.parametrize("shut_off", ['"none"', "4", '"row"'])
def test_a_straight_key_line_is_as_the_heading(tmp_path, shut_off):
    field = shapely.Polygon([(-200, -180), (220, -120), (180, 190), (-240, 150)])
    straight = lay_on(tmp_path, field, headland=NONE, shed=shed(shut_off), strips=BOTH)
    write_line(tmp_path, shapely.LineString([(-240, -400), (-240, 400)]))
    bent = lay_on(
        tmp_path, field, headland=NONE, shed=shed(shut_off), strips=BOTH,
        direction='along = "key.geojson"',
    )  # fmt: skip
    assert sum(twice_m2(bent).values()) == pytest.approx(sum(twice_m2(straight).values()), rel=1e-4)


PIVOT = 'pivot = [-93.5, 42.0]\nshortest = "1 in"'


def test_rings_that_end_along_a_ray_end_square(tmp_path):
    disc = shapely.Point(0, 0).buffer(16 * UNITS * ROW_M, quad_segs=720)
    wedge = shapely.Polygon([(0, 0), (0, 900), (900, 900), (900, 0)])
    hub = shapely.Point(0, 0).buffer(UNITS * ROW_M, quad_segs=720)  # its first rows are too tight
    field = disc.difference(shapely.union(wedge, hub))
    layout = lay_on(tmp_path, field, headland=NONE, direction=PIVOT, strips=CORN)
    planted_m2 = layout.strips["area_m2"].sum()
    assert twice_m2(layout)["corn"] < 2e-4 * planted_m2


@pytest.mark.parametrize("turn_deg", [0, 200])
def test_rings_cut_off_by_a_chord(tmp_path, turn_deg):
    """By hand: over a chord at 100 m a ring at r runs from the angle acos(100 / r) on.

    A pass of 16 rows is as long as its innermost row, the first to end at the chord. Turned by 200
    degrees, no ring is cut at north.
    """
    disc = shapely.Point(0, 0).buffer(16 * UNITS * ROW_M, quad_segs=720)
    half = shapely.affinity.rotate(shapely.box(-900, -900, 900, 100), turn_deg, origin=(0, 0))
    field = disc.intersection(half)
    layout = lay_on(tmp_path, field, headland=NONE, direction=PIVOT, strips=CORN)
    expected = 0.0
    for number in range(16):
        radius_m = (number * UNITS + 0.5 + np.arange(UNITS)) * ROW_M
        gone = np.arccos(np.minimum(100 / radius_m, 1.0))  # half the angle beyond the chord
        expected += float((radius_m * 2 * (gone - gone.min())).sum() * ROW_M)
    assert expected > 500
    assert twice_m2(layout)["corn"] == pytest.approx(expected, rel=3e-3)


def test_a_row_set_wastes_each_crop_s_seed_by_its_units(tmp_path):
    strips = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 2 empty, 8 soybean, 2 corn"\n'
    layout = lay_on(
        tmp_path, leaning(6, 0.5), headland=NONE, strips=strips + 'travel = "one way"\n',
        direction='heading = 0\nshortest = "1 ft"',
    )  # fmt: skip
    found = twice_m2(layout)
    # every row of a pass falls short of its run by the lean of 15 rows; empty units plant nothing
    lean_m2 = 6 * 15 * ROW_M * 0.5 * ROW_M
    assert found["corn"] == pytest.approx(6 * lean_m2, rel=0.02)
    assert found["soybean"] == pytest.approx(8 * lean_m2, rel=0.02)


def test_relays_and_each_crop_of_a_mixture_have_their_own(tmp_path):
    more = (
        '[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\nspacing = "7.5 in"\nshut_off = "row"\n'
        '[crops.oats]\nplanter = "drill"\nrate = "80 lb/acre"\nunit = "50 lb"\n'
        '[crops.pea]\nplanter = "drill"\nrate = "60 lb/acre"\n'
        '[mixtures.duo]\nplanter = "drill"\nparts = {oats = 0.5, pea = 0.6}\n'
    )
    strips = CORN + '[[strips]]\ncrop = "duo"\nwidth = "40 ft"\n'
    relay = '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
    layout = lay_on(
        tmp_path, leaning(6, 0.5), headland=NONE, shed=SHED + more, strips=strips + relay,
        direction='heading = 0\nshortest = "1 ft"',
    )  # fmt: skip
    found = twice_m2(layout)
    assert found["oats"] == found["pea"] > 0
    # shut off row by row, sixteen times as narrow: less than a sixteenth of the planter's
    assert 0 < found["soybean"] < found["corn"] / 16
    buy = layout.land_accounts["seed_to_buy"]
    assert buy["oats"]["overlap_m2"] == found["oats"]
    duo = {layer.crop: layer for layer in sown_of(layout.plan, "duo")}
    for crop in ("oats", "pea"):
        kg = found[crop] * duo[crop].seed_kg_per_m2
        assert buy[crop]["for_overlap"]["seed_kg"] == pytest.approx(kg)
        assert buy[crop]["for_overlap"]["seeds"] is None
    seeds = found["soybean"] * layout.plan.crops["soybean"].rate_per_m2
    assert buy["soybean"]["for_overlap"]["seeds"] == pytest.approx(seeds)


def test_square_ends_plant_nothing_twice(tmp_path):
    layout = lay_on(tmp_path, square(1280), headland=NONE)
    assert all(math.isclose(m2, 0.0, abs_tol=0.2) for m2 in twice_m2(layout).values())


@pytest.mark.parametrize("off_m", [-0.005, 0.0, 0.005])
def test_a_step_in_the_side_between_two_rows_plants_nothing_twice(tmp_path, off_m):
    """Rows on either side of the step end square, be it half a centimeter off their border."""
    half_m = 3 * UNITS * ROW_M / 2
    notch = shapely.box(half_m - 5 * ROW_M + off_m, -200, half_m, -100)
    field = shapely.box(-half_m, -200, half_m, 200).difference(notch)
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed('"row"'), strips=CORN)
    assert twice_m2(layout)["corn"] == pytest.approx(0.0, abs=0.2)
