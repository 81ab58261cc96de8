"""Relays and quick crops: rows between rows, on any section, and what stands in their way."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from fields import SHED, assert_whole, lay_on, square, texts, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.section.systems import sections_of
from striplay.units import ACRE_M2, INCH_M

NONE = '[headland]\nwhere = "none"\n'
WHEAT = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[machines.seeder]
does = "plant"
width = "30 ft"
tread = "120 in"
tire = "16 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
rate = "1500000 seeds/acre"
"""


def section_of(folder, strips, shed=WHEAT):
    plan = read_plan(write_plan_for(folder, square(1320), shed=SHED + shed, strips=strips))
    (section,) = sections_of(plan)
    return section


def inches(section, crop):
    """Give where a crop's rows stand, in inches from the set's edge."""
    return [
        round(row.offset_m / INCH_M, 4)
        for row in section.rows
        if any(sown.crop == crop for sown in row.sown)
    ]


TWIN = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
)


def test_twin_rows_with_two_rows_in_each_skip(tmp_path):
    """Wheat rows 8 in apart, a 22-in skip, two soybean rows in it.

    From memory, after the modified relay of Ohio State.
    """
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nrows = 2\ngap = "20 in"\n'
    )
    section = section_of(tmp_path, TWIN + relay)
    wheat = inches(section, "wheat")
    assert len(wheat) == 24
    assert wheat[:4] == [4, 12, 34, 42]
    assert {round(b - a, 4) for a, b in pairwise(wheat)} == {8, 22}
    soybean = inches(section, "soybean")
    assert len(soybean) == 2 * 12  # in the skip where strips meet too
    assert soybean[:3] == pytest.approx([12 + 22 / 3, 12 + 44 / 3, 42 + 22 / 3], abs=1e-3)


def test_uneven_rows_are_told_by_the_drill_s_openers(tmp_path):
    # by hand: openers of 7.5 in stand at 3.75, 11.25, 18.75 in ...; 48 of them to a pass of 30 ft
    strips = TWIN.replace('width = "30 ft"', 'width = "60 ft"')
    section = section_of(tmp_path, strips)
    told = [(row.planter_pass, row.unit) for row in section.rows]
    assert told[:4] == [(0, 1), (0, 2), (0, 5), (0, 6)]
    assert told[24:26] == [(1, 1), (1, 2)]
    assert section.notices == ()


@pytest.mark.parametrize(("second", "missed"), [("15 in", "1.75 in"), ("12 in", None)])
def test_a_drill_that_can_t_make_uneven_rows_is_named(tmp_path, second, missed):
    # by hand: 11 in apart is 3.5 in over an opener's 7.5; 8 in apart half an inch
    notices = texts(section_of(tmp_path, TWIN.replace('"12 in"', f'"{second}"')).notices)
    assert len(notices) == (missed is not None)
    if missed:
        assert "drill: its openers, 7.5 in apart, miss rows of wheat by up to 1.75 in" in notices[0]


def test_the_same_by_offsets(tmp_path):
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "30 in"\n'
        'offsets = ["19 in", "27 in"]\n'
    )
    soybean = inches(section_of(tmp_path, TWIN + relay), "soybean")
    assert len(soybean) == 24
    assert soybean[:4] == [19, 27, 49, 57]


def test_paired_rows_on_30_in_centres_with_a_row_mid_gap(tmp_path):
    """Paired 7.5-in wheat rows on 30-in centers, soybean mid gap; from memory, after Ontario."""
    strips = (
        '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\n'
        'pattern = ["11.25 in", "18.75 in"]\n'
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\ngap = "15 in"\n'
    )
    section = section_of(tmp_path, strips)
    pairs = np.reshape(inches(section, "wheat"), (-1, 2))
    assert np.diff(pairs.mean(axis=1)) == pytest.approx(30)
    assert np.diff(pairs, axis=1) == pytest.approx(7.5)
    assert inches(section, "soybean")[:2] == [30, 60]


def test_a_relay_into_one_strip_of_the_set(tmp_path):
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 16\n'
        + TWIN
        + '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\ngap = "20 in"\n'
    )
    layout = lay_on(tmp_path, square(1320), shed=SHED + WHEAT, strips=strips, headland=NONE)
    assert_whole(layout)
    crops = layout.land_accounts["crops"]
    assert list(crops) == ["corn", "wheat", "soybean"]
    assert crops["soybean"]["with"] == ["wheat"]
    assert crops["soybean"]["area_m2"] == pytest.approx(crops["wheat"]["area_m2"])
    # a second crop's rate is for all the ground it shares
    acres = crops["soybean"]["area_m2"] / ACRE_M2
    assert crops["soybean"]["seeds"] == pytest.approx(140_000 * acres, rel=0.02)
    assert set(layout.rows["crop"]) == {"corn", "wheat", "soybean"}
    assert set(layout.strips["crop"]) == {"corn", "wheat"}
    sown = layout.passes[layout.passes["machine"] == "seeder"]
    assert set(sown["crop"]) == {"soybean"}
    assert len(sown) == crops["wheat"]["strips"]
    # the host's rows are what they were
    bare = lay_on(tmp_path, square(1320), shed=SHED + WHEAT, strips=strips.split("[[relay]]")[0],
                  headland=NONE)  # fmt: skip
    assert crops["wheat"]["row_length_m"] == pytest.approx(
        bare.land_accounts["crops"]["wheat"]["row_length_m"]
    )
    assert layout.areas_m2 == pytest.approx(bare.areas_m2)


def test_second_rows_lie_between_first_rows_on_the_ground(tmp_path):
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 16\n'
        '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
    )
    field = shapely.Polygon([(0, 0), (300, 40), (280, 260), (-20, 220)])
    layout = lay_on(tmp_path, field, shed=SHED + WHEAT, strips=strips,
                    direction="heading = 20")  # fmt: skip
    rows = layout.rows
    corn = rows[rows["crop"] == "corn"].geometry.to_numpy()
    soybean = rows[rows["crop"] == "soybean"].geometry.to_numpy()
    near = shapely.STRtree(corn).nearest(soybean)
    # half of 30 in from the nearest corn row
    assert shapely.distance(soybean, corn[near]).min() == pytest.approx(0.381, abs=1e-3)
    strip = layout.strips.geometry.to_numpy()
    assert shapely.covered_by(soybean, shapely.buffer(shapely.union_all(strip), 1e-6)).all()


def test_into_a_row_set_and_into_a_mixture(tmp_path):
    mixture = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    strips = (
        '[[row_set]]\nplanter = "planter"\nunits = "8 duo, 8 corn"\n'
        '[[quick_crop]]\ncrop = "wheat"\ninto = "duo"\nseeder = "drill"\n'
    )
    layout = lay_on(tmp_path, square(1320), shed=SHED + WHEAT + mixture, strips=strips)
    assert_whole(layout)
    assert layout.land_accounts["crops"]["wheat"]["with"] == ["corn", "soybean"]


def test_wheels_on_the_standing_crop_are_named(tmp_path):
    relay = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\ngap = "20 in"\n'
    # track 120 in about the middle of a 360-in strip: wheels at 120 and 240 in, rows at 124 and 244
    (told,) = texts(section_of(tmp_path, TWIN + relay).notices)[-1:]
    said = "seeder: its wheels run on 2 rows of wheat of a strip of 30 ft; leave tramlines, or set"
    assert told == f"{said} its wheel spacing (tread) so that they run between the rows"
    # 4 in off: half a tire of 7 in leaves 0.5 in, and a row needs 1 in unless said otherwise
    for tire, clear in (
        ("7 in", False),
        ("6 in", True),
        ('7 in"\nwheel_clearance = "0.5 in', True),
    ):
        shed = WHEAT.replace('tire = "16 in"', f'tire = "{tire}"')
        found = " ".join(texts(section_of(tmp_path, TWIN + relay, shed).notices))
        near = "its tires come nearer than 1 in (wheel_clearance) to 2 rows of wheat"
        assert (near not in found) == clear
        assert "wheels run on" not in found


def test_wheels_of_the_combine_on_the_second_crop_are_named(tmp_path):
    relay = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
    base = SHED.replace('width = "30 ft"', 'width = "30 ft"\ntread = "126 in"\ntire = "24 in"')
    path = write_plan_for(tmp_path, square(1320), shed=base + WHEAT, strips=TWIN + relay)
    told = texts(sections_of(read_plan(path))[0].notices)
    # wheels at 117 and 243 in, soybean at 113 and 233 in and every 30 in between
    assert told[-1].startswith("platform: its wheels run on 2 rows of soybean of a strip of 30 ft")


@pytest.mark.parametrize(("height", "clipped"), [("8 in", False), ("14 in", True)])
def test_a_second_crop_taller_than_the_cut_is_named(tmp_path, height, clipped):
    shed = WHEAT + ""
    base = SHED.replace('width = "30 ft"', 'width = "30 ft"\ncutting_height = "10 in"')
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
        f'height = "{height}"\n'
    )
    plan = read_plan(write_plan_for(tmp_path, square(1320), shed=base + shed, strips=TWIN + relay))
    told = " ".join(texts(sections_of(plan)[0].notices))
    assert ("stands 14 in high when wheat is cut at 10 in" in told) == clipped


def test_no_gap_wide_enough_is_said(tmp_path):
    relay = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "40 in"\n'
    assert texts(section_of(tmp_path, TWIN + relay).notices)[-1] == (
        "soybean into wheat: the widest gap between rows of wheat is 22 in, and gap asks for "
        "40 in; it is not sown"
    )


def test_rows_on_top_of_rows_are_said(tmp_path):
    strips = '[[strips]]\ncrop = "corn"\nrows = 12\n'
    quick = '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
    told = texts(
        section_of(tmp_path, f'{strips}{quick}offsets = ["15 in"]\nperiod = "30 in"\n').notices
    )
    assert told[-1].startswith("soybean into corn: 12 of its rows stand on other rows")


def test_uneven_rows_take_whole_passes_of_their_drill(tmp_path):
    wide = TWIN.replace('width = "30 ft"', 'width = "60 ft"')
    layout = lay_on(tmp_path, square(1320), shed=SHED + WHEAT, strips=wide, headland=NONE)
    sown = layout.passes[layout.passes["machine"] == "drill"]
    # 1,320 ft are 22 strips of 60 ft, each two passes of 30 ft
    assert len(sown) == 44


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ('crop = "soybean"', "relay[1].into: is missing"),
        ('crop = "soybean"\ninto = "rye"', 'relay[1].into: no crop "rye"'),
        ('crop = "wheat"\ninto = "wheat"', "relay[1].into: is the crop itself"),
        ('crop = "soybean"\ninto = "wheat"\nseeder = "platform"', '"platform" does not plant'),
        ('crop = "soybean"\ninto = "wheat"\nperiod = "30 in"', "relay[1].offsets: is missing"),
        ('crop = "soybean"\ninto = "wheat"\noffsets = "9 in"', "must be a list of lengths"),
        (
            'crop = "soybean"\ninto = "wheat"\nperiod = "9 in"\noffsets = ["9 in"]',
            "relay[1].offsets: have a row at or beyond the period",
        ),
        (
            'crop = "soybean"\ninto = "wheat"\noffsets = ["9 in", "9 in"]',
            "relay[1].offsets: have two rows at one place",
        ),
        (
            'crop = "soybean"\ninto = "wheat"\noffsets = ["9 in"]\nrows = 2',
            "relay[1]: has both offsets and rows or gap",
        ),
    ],
)
def test_faulty_relays_are_refused(tmp_path, table, said):
    with pytest.raises(PlanError) as refusal:
        section_of(tmp_path, f"{TWIN}[[relay]]\n{table}\n")
    assert said in str(refusal.value)


def test_a_pattern_stays_inside_its_period(tmp_path):
    with pytest.raises(PlanError, match=r"strips\[1\].pattern: has a row at or beyond its period"):
        section_of(tmp_path, TWIN.replace("12 in", "31 in"))


def test_a_pattern_has_a_place_for_each_row(tmp_path):
    with pytest.raises(PlanError, match=r"strips\[1\].pattern: has two rows at one place"):
        section_of(tmp_path, TWIN.replace("12 in", "4 in"))


def test_a_pattern_needs_its_period(tmp_path):
    with pytest.raises(PlanError, match="needs both pattern and period"):
        section_of(tmp_path, '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\npattern = ["4 in"]\n')


def test_a_host_of_one_row_has_no_gap(tmp_path):
    single = '[machines.single]\ndoes = "plant"\nrows = 1\nspacing = "30 in"\n'
    own = '[crops.wheat]\nplanter = "single"\n'
    strips = (
        '[[strips]]\ncrop = "wheat"\nrows = 1\n[[strips]]\ncrop = "corn"\nrows = 16\n'
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "single"\n'
    )
    section = section_of(tmp_path, strips, single + own)
    said = "soybean into wheat: no two rows of wheat stand side by side; it is not sown"
    assert said in [str(notice) for notice in section.notices]


def test_a_relay_fills_the_gap_where_two_strips_of_its_host_meet(tmp_path):
    """By hand: two strips of 12 rows of 30 in side by side have 24 gaps to the set."""
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 12\n[[strips]]\ncrop = "corn"\nrows = 12\n'
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "seeder"\n'
    )
    section = section_of(tmp_path, strips)
    soybean = inches(section, "soybean")
    assert soybean == pytest.approx([30 * number for number in range(1, 25)], abs=1e-3)
    layout = lay_on(tmp_path, square(1320), shed=SHED + WHEAT, strips=strips, headland=NONE)
    assert_whole(layout)
    sown = layout.rows[layout.rows["crop"] == "soybean"]
    # 1,320 ft are 528 rows of 30 in; the field's first side has no gap
    assert len(sown) == 528 - 1
    assert sown["length_m"].sum() == pytest.approx(527 * 1320 * 0.3048, rel=1e-6)


SEEDER = '[machines.seeder]\ndoes = "plant"\nwidth = "30 ft"'
WITH_OPENERS = WHEAT.replace(SEEDER, SEEDER + '\nspacing = "{}"')


@pytest.mark.parametrize(
    ("spacing", "offsets", "said"),
    [
        ("7.5 in", '["19.5 in", "27 in"]', None),
        # by hand: 8 in apart, openers 7.5 in: each misses by 0.25 in, which clamps allow
        ("7.5 in", '["19 in", "27 in"]', None),
        # 11 in apart, openers 7.5 in: 3.5 in over, so each misses by 1.75 in
        ("7.5 in", '["16 in", "27 in"]', "7.5 in apart, miss rows of soybean by up to 1.75 in"),
        # openers 15 in apart, rows 8 in: 7 in under or over, so each misses by 3.5 in, but the last
        # of 24 openers stands at 352.5 in and a row at 357
        ("15 in", '["19 in", "27 in"]', "15 in apart, miss rows of soybean by up to"),
    ],
)  # fmt: skip
def test_a_seeder_that_can_t_make_the_rows_is_named(tmp_path, spacing, offsets, said):
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "30 in"\n'
        f"offsets = {offsets}\n"
    )
    told = " ".join(
        texts(section_of(tmp_path, TWIN + relay, shed=WITH_OPENERS.format(spacing)).notices)
    )
    assert ("openers" in told and "miss rows" in told) == (said is not None)
    assert (said or "") in told


def test_idle_openers_on_standing_rows_are_named(tmp_path):
    # by hand: soybean at 19.5 and 27 in, openers every 7.5 in: 4.5, 12, 34.5 and 42 in hit wheat
    # at 4, 12, 34 and 42 in; 24 rows in 30 ft
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "30 in"\n'
        'offsets = ["19.5 in", "27 in"]\n'
    )
    told = texts(section_of(tmp_path, TWIN + relay, shed=WITH_OPENERS.format("7.5 in")).notices)
    assert any(
        "seeder: 24 openers not in use, 7.5 in apart, run on rows" in notice for notice in told
    )


def test_tramlines_are_left_unsown(tmp_path):
    # by hand: seeder's middle 15 ft, wheels 5 ft to either side: at 120 and 240 in, 16 in wide
    offsets = ['"19 in"', '"27 in"']
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "30 in"\n'
        f"offsets = [{', '.join(offsets)}]\n"
    )
    whole = inches(section_of(tmp_path, TWIN + relay), "soybean")
    section = section_of(tmp_path, TWIN + relay + 'tramlines = "seeder"\n')
    left = inches(section, "soybean")
    assert sorted(set(whole) - set(left)) == [117, 237]
    assert len(left) == 22
    assert "tramlines of seeder leave out 2 rows of a strip of 30 ft" in " ".join(
        texts(section.notices)
    )
    rate = {row.spacing_m for row in section.rows if row.layer}
    assert rate == {30 * 12 * INCH_M / 24}  # what is left out is not sown elsewhere


@pytest.mark.parametrize(
    ("name", "said"),
    [("drill", 'relay[1].tramlines: need tread and tire of "drill"'), ("car", 'no machine "car"')],
)
def test_faulty_tramlines_are_refused(tmp_path, name, said):
    relay = f'[[relay]]\ncrop = "soybean"\ninto = "wheat"\ntramlines = "{name}"\n'
    with pytest.raises(PlanError) as refusal:
        section_of(tmp_path, TWIN + relay)
    assert said in str(refusal.value)


@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize(
    ("rows", "strips"),
    [
        # even: half a spacing off the strip's middle; odd: on it; several passes to a strip
        (12, '[[strips]]\ncrop = "corn"\nrows = 12\n'),
        (13, '[[strips]]\ncrop = "corn"\nrows = 12\n'),
        (6, '[[strips]]\ncrop = "corn"\nrows = 24\n[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\n'),
    ],
)
def test_a_seeder_s_openers_run_on_the_rows_it_sows(tmp_path, rows, strips, start):
    seeder = f'[machines.own]\ndoes = "plant"\nrows = {rows}\nspacing = "30 in"\n'
    shed = SHED.replace("rows = 16", "rows = 12") + WHEAT + seeder
    relay = '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "own"\n'
    direction = f'heading = 0\nstart = "{start}"'
    slanting = shapely.Polygon([(-200, -200), (180, -150), (200, 200), (-150, 180)])
    layout = lay_on(tmp_path, slanting, shed=shed, strips=strips + relay, direction=direction,
                    headland=NONE)  # fmt: skip
    assert not [notice for notice in texts(layout.section.notices) if "own" in notice]
    sown = layout.passes[layout.passes["machine"] == "own"]
    middles = shapely.bounds(sown.geometry.to_numpy())[:, 0]
    places = shapely.bounds(layout.rows[layout.rows["crop"] == "soybean"].geometry.to_numpy())[:, 0]
    units = (np.arange(rows) - (rows - 1) / 2) * 0.762
    openers = np.add.outer(middles, units).ravel()
    assert np.abs(np.subtract.outer(places, openers)).min(axis=1).max() < 1e-3


def test_a_seeder_with_openers_enough_takes_one_pass(tmp_path):
    # by hand: 11 gaps between 12 rows of 30 in; 11 openers on a bar of 27.5 ft, a strip of 30 ft
    own = '[machines.own]\ndoes = "plant"\nrows = {}\nspacing = "30 in"\n'
    strips = (
        '[[strips]]\ncrop = "corn"\nrows = 12\n[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\n'
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "own"\n'
    )
    for rows, passes in ((11, 1), (10, 2), (6, 2), (5, 3), (3, 4)):
        section = section_of(tmp_path, strips, shed=WHEAT + own.format(rows))
        sowing = [one for one in section.passes if one.machine == "own"]
        assert [(one.strip, one.operation) for one in sowing] == [(0, "plant")] * passes
        # every gap is sown once
        assert sorted(index for one in sowing for index in one.rows) == [
            index for index, row in enumerate(section.rows) if row.layer == 1
        ]


def test_passes_of_one_machine_over_two_crops_of_a_strip_are_driven_crop_by_crop(tmp_path):
    relay = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
    layout = lay_on(tmp_path, square(1320), shed=SHED + WHEAT, strips=TWIN + relay, headland=NONE)
    for machine in ("drill", "platform"):
        crops = layout.passes[layout.passes["machine"] == machine].sort_values("number")["crop"]
        assert crops.tolist() == ["wheat"] * 44 + ["soybean"] * 44
    lines = layout.passes[layout.passes["machine"] == "platform"].geometry
    up = [line.coords[1][1] > line.coords[0][1] for line in lines]
    assert all(one != other for one, other in pairwise(up))


def test_a_second_relay_s_wheels_are_judged_on_the_first_s_rows_too(tmp_path):
    # by hand: seeder's middle at 180 in, wheels 60 in to either side: at 120 and 240 in
    first = '[[relay]]\ncrop = "corn"\ninto = "wheat"\nperiod = "30 in"\noffsets = ["27 in"]\n'
    second = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "30 in"\n'
        'offsets = ["20 in"]\n'
    )
    told = texts(section_of(tmp_path, TWIN + first + second).notices)
    assert any("seeder: its wheels run on 4 rows of wheat and corn" in notice for notice in told)


def test_a_period_that_does_not_divide_the_strip_loses_no_row(tmp_path):
    # by hand: 30 ft hold two periods of 12.3 ft and 5.4 ft: a third row 10 in into the third
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\nperiod = "12.3 ft"\n'
        'offsets = ["10 in"]\n'
    )
    soybean = inches(section_of(tmp_path, TWIN + relay), "soybean")
    assert soybean == pytest.approx([10, 157.6, 305.2], abs=1e-3)


def test_offsets_outside_a_strip_are_said(tmp_path):
    relay = (
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "seeder"\n'
        'offsets = ["10 in", "31 ft"]\n'
    )
    told = texts(section_of(tmp_path, TWIN + relay).notices)
    assert "soybean into wheat: some of its offsets lie outside a strip of 30 ft" in told
