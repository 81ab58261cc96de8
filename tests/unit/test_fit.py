"""Check the verdicts on strip widths: the cases worked by hand, with their words."""

import dataclasses

import pytest

from striplay.files.plan import read_plan
from striplay.plan.machines import Harvester
from striplay.section.fit import StripToCut, judge_harvest, judge_strip, judge_widths
from striplay.section.sets import fit_crops, settle_widths
from striplay.section.uneven import outer_rows_m

FOOT_M = 0.3048
INCH_M = 0.0254
ROW, METRIC_ROW, NO_ROW = (15 * INCH_M,) * 2, (0.375,) * 2, (0.0, 0.0)
"""How far the nearest row beside stands from either edge: half a spacing; or not known."""
HARMLESS = " (harmless only where the neighbor is already off)"
BOOM = "boom sections end at the strip's edges"

DRILL = """
units = "us"
[machines.drill]
does = "plant"
width = "15 ft"
{spacing}
[machines.platform]
does = "harvest"
width = "{platform}"
[crops.wheat]
planter = "drill"
harvester = "platform"
"""

METRIC = """
units = "metric"
[machines.planter]
does = "plant"
rows = 8
spacing = "0.75 m"
[machines.header]
does = "harvest"
rows = 6
spacing = "0.75 m"
[crops.maize]
planter = "planter"
harvester = "header"
"""

ROWS_12 = (("rows = 16\nspacing", "rows = 12\nspacing"), ("rows = 16\n\n", "rows = 24\n\n"))


@pytest.fixture
def base_plan(write_plan, base_plan_text):
    return read_plan(write_plan(base_plan_text))


def by_rows(fits):
    return {fit.rows: fit for fit in fits}


def test_case_a_corn(base_plan):
    fit = judge_widths(base_plan, "corn", 120 * FOOT_M, ROW)[0]
    assert dataclasses.astuple(fit) == (
        16, 40 * FOOT_M, 1, 2, 0, 1.0, 1, 0.0, True,
        f"1 planter pass; 2 header passes; {BOOM}",
    )  # fmt: skip


def test_case_a_soybean(base_plan):
    fits = by_rows(judge_widths(base_plan, "soybean", 120 * FOOT_M, ROW))
    assert list(fits) == [16, 32, 48]
    assert {n: (f.plant_passes, f.harvest_passes, f.fits) for n, f in fits.items()} == {
        16: (1, 2, True), 32: (2, 3, True), 48: (3, 4, True),
    }  # fmt: skip
    assert {n: f"{f.harvest_use:.3f}" for n, f in fits.items()} == {
        16: "0.667", 32: "0.889", 48: "1.000",
    }  # fmt: skip
    assert fits[16].reason == (f"1 planter pass; 2 platform cuts, 66.7 % of the width used; {BOOM}")
    assert fits[48].reason == f"3 planter passes; 4 platform cuts, 100 % of the width used; {BOOM}"


def test_case_b_header_against_a_12_row_planter(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, *ROWS_12))
    fits = by_rows(judge_widths(plan, "corn", 120 * FOOT_M, ROW))
    assert list(fits) == [12, 24, 36, 48]
    assert not fits[12].fits
    assert fits[12].reason.startswith("1 planter pass; 12 rows are 1.5 header passes of 8 rows;")
    assert fits[24].fits
    assert (fits[24].harvest_passes, fits[24].straddles) == (3, 1)
    assert fits[24].reason.startswith(
        "2 planter passes; 3 header passes, 1 straddling a guess row;"
    )
    assert not fits[36].fits


def test_case_c_drill_and_platform(write_plan):
    plan = read_plan(write_plan(DRILL.format(spacing="", platform="20 ft")))
    narrow, wide = judge_widths(plan, "wheat", 30 * FOOT_M, NO_ROW)
    assert (narrow.rows, narrow.width_m, narrow.fits) == (None, pytest.approx(15 * FOOT_M), False)
    assert narrow.reason == (
        "1 planter pass; 1 platform cut, 75 % of the width used, reaching 2.5 ft past each side: "
        f"2.5 ft into the neighbor's rows{HARMLESS}"
    )
    assert (wide.harvest_passes, wide.fits) == (2, True)
    assert wide.harvest_use == pytest.approx(0.75)
    assert wide.reason == "2 planter passes; 2 platform cuts, 75 % of the width used"


def test_case_d_metric(write_plan):
    plan = read_plan(write_plan(METRIC))
    fits = judge_widths(plan, "maize", 36.0, METRIC_ROW)
    first = next(fit for fit in fits if fit.fits)
    assert (first.rows, first.harvest_passes, first.straddles) == (24, 4, 2)
    assert first.width_m == pytest.approx(18.0)
    assert first.reason == "3 planter passes; 4 header passes, 2 straddling a guess row"
    assert [fit.rows for fit in fits] == [8, 16, 24, 32, 40, 48]


@pytest.mark.parametrize(
    ("platform_ft", "fits", "words"),
    [
        # The neighbor's first row stands 15 in off, and 6 in of clearance leave 9 in.
        (40 + 2 * 9 / 12, True, "reaching 9 in past each side"),
        (40 + 2 * 8 / 12, True, "reaching 8 in past each side"),
        (42, False, "reaching 1 ft past each side: 3 in too near the neighbor's rows"),
        (41.52, False, "reaching 9.1 in past each side: 0.1 in too near the neighbor's rows"),
        (43, False, "reaching 1.5 ft past each side: 3 in into the neighbor's rows"),
    ],
)
def test_a_platform_may_reach_to_the_neighbors_row_less_clearance(
    write_plan, base_plan_text, platform_ft, fits, words
):
    plan = read_plan(write_plan(base_plan_text, ('"30 ft"', f'"{platform_ft:.6f} ft"')))
    fit = judge_strip(plan, "soybean", 40 * FOOT_M, ROW)
    assert (fit.harvest_passes, fit.fits) == (1, fits)
    assert words in fit.reason


UNEVEN = """
[machines.planter]
does = "plant"
rows = 12
spacing = "30 in"
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[machines.platform]
does = "harvest"
width = "{platform}"
[crops.soybean]
planter = "planter"
harvester = "platform"
[crops.corn]
planter = "planter"
[crops.wheat]
planter = "drill"
"""
SOYBEAN = '[[strips]]\ncrop = "soybean"\nrows = {}\n'
CORN = '[[strips]]\ncrop = "corn"\nrows = 12\n'
WHEAT = '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = [{}]\n'


@pytest.mark.parametrize(
    ("platform", "pattern", "said"),
    [
        # by hand: 12 rows of 30 in are 30 ft. 30.8 ft reach 4.8 in past each side; the nearest row
        # stands 11.25 in off, and 6 in of clearance leave 5.25 in
        ("30.8 ft", '"11.25 in", "18.75 in"',
         "97.4 % of the width used, reaching 4.8 in past each side"),
        # 31 ft reach 6 in: 4 in beyond the row that stands 2 in off
        ("31 ft", '"2 in", "28 in"',
         "96.8 % of the width used, reaching 6 in past each side: 4 in into the neighbor's rows"
         + HARMLESS),
        # 5.4 in: 0.15 in more than that
        ("30.9 ft", '"11.25 in", "18.75 in"',
         "97.1 % of the width used, reaching 5.4 in past each side: 0.2 in too near the neighbor's"
          " rows" + HARMLESS),
    ],
)  # fmt: skip
@pytest.mark.parametrize("rows", [12, '"fit"'])
def test_a_neighbor_s_uneven_rows_stand_where_its_pattern_says(
    write_plan, platform, pattern, said, rows
):
    strips = SOYBEAN.format(rows) + WHEAT.format(pattern)
    plan = read_plan(write_plan(UNEVEN.format(platform=platform) + strips))
    (fit,) = [one for one in fit_crops(plan)["soybean"] if one.rows == 12]
    assert fit.reason == f"1 planter pass; 1 platform cut, {said}"
    assert fit.fits == (HARMLESS not in said)
    settled = settle_widths(plan)[0].strips[0]
    if rows == 12:
        assert settled == fit
    else:
        assert (settled.rows == 12) == fit.fits


@pytest.mark.parametrize(
    ("strips", "said"),
    [
        # by hand: 30.6 ft reach 3.6 in. After the soybean, wheat's first row stands 4 in off, less
        # than the clearance: 3.6 - 4 + 6. Before it, its last row stands 10 in off: 4 in are left
        (CORN + SOYBEAN.format(12) + WHEAT.format('"4 in", "20 in"'),
         f"past each side: 5.6 in too near the neighbor's rows{HARMLESS}"),
        (WHEAT.format('"4 in", "20 in"') + SOYBEAN.format(12) + CORN, "past each side"),
    ],
)  # fmt: skip
def test_each_side_has_its_own_nearest_row(write_plan, strips, said):
    plan = read_plan(write_plan(UNEVEN.format(platform="30.6 ft") + strips))
    fit = settle_widths(plan)[0].strips[1]
    assert fit.reason.endswith(f", reaching 3.6 in {said}")
    assert fit.fits == (HARMLESS not in said)


def test_outer_rows_of_a_pattern_cut_short(write_plan):
    strips = WHEAT.replace('"30 in"', '"2 ft"').format('"3 in"')
    plan = read_plan(write_plan(UNEVEN.format(platform="30 ft") + strips))
    (wish,) = plan.strips
    # by hand, in inches: rows at 3, 27, 51 of 60; at 3, 27, 51, 75 of 96; the nearest of both
    at_60, at_96 = 60 * INCH_M, 96 * INCH_M
    for widths_m, last_in in (([at_60], 9), ([at_96], 21), ([at_60, at_96], 9)):
        found = outer_rows_m(plan, wish, widths_m)
        assert found == pytest.approx((3 * INCH_M, last_in * INCH_M))
    # where even the first row lies outside, one stands amid the strip
    assert outer_rows_m(plan, wish, [2 * INCH_M]) == pytest.approx((INCH_M, INCH_M))


def test_a_header_may_reach_past_one_side_only():
    # by hand: 3 m of rows begin 1 m into 6 m of strip; a header of 6 m reaches 0.5 m before it
    strip = StripToCut(6.0, 1.0, 3.0, 0.5, range(6), [], near_m=(0.3, 0.1))
    header = Harvester.model_validate({"does": "harvest", "width": "6 m", "clearance": "10 cm"})
    found = judge_harvest(strip, header, "metric")
    assert (found.passes, found.use, found.fits) == (1, 0.5, False)
    assert found.words == (
        "1 platform cut, 50 % of the width used, reaching 50 cm past one side: 20 cm into the "
        f"neighbor's rows{HARMLESS}"
    )
    wider = Harvester.model_validate({"does": "harvest", "width": "9 m", "clearance": "10 cm"})
    assert judge_harvest(strip, wider, "metric").words.startswith(
        "1 platform cut, 33.3 % of the width used, reaching 2 m and 1 m past its sides: 1.7 m into"
    )


def test_clearance_is_the_plans(write_plan, base_plan_text):
    change = ('width = "30 ft"', 'width = "42 ft"\nclearance = "3 in"')
    plan = read_plan(write_plan(base_plan_text, change))
    assert judge_strip(plan, "soybean", 40 * FOOT_M, ROW).fits


def test_the_nearer_neighbor_counts(write_plan, base_plan_text):
    near = '[machines.drill]\ndoes = "plant"\nwidth = "20 ft"\nspacing = "7.5 in"\n\n[machines.plat'
    wheat = '[crops.wheat]\nplanter = "drill"\n\n[crops.soy'
    plan = read_plan(
        write_plan(
            base_plan_text,
            ("[machines.plat", near),
            ("[crops.soy", wheat),
            ('"30 ft"', '"41 ft"'),
        )
    )
    # corn's first row is 15 in off, wheat's 3.75 in: nearer than the 6 in of clearance
    wheat_m = 3.75 * INCH_M
    assert judge_strip(plan, "soybean", 40 * FOOT_M, ROW).fits
    assert not judge_strip(plan, "soybean", 40 * FOOT_M, (ROW[0], wheat_m)).fits
    assert not judge_strip(plan, "soybean", 40 * FOOT_M, (wheat_m, ROW[0])).fits
    # the plan's strips say corn, before and after; without strips, wheat may stand beside too
    assert by_rows(fit_crops(plan)["soybean"])[16].fits
    bare = plan.model_copy(update={"strips": ()})
    assert not by_rows(fit_crops(bare)["soybean"])[16].fits


def test_a_header_with_other_row_spacing_is_refused(write_plan, base_plan_text):
    change = ('rows = 8\nspacing = "30 in"', 'rows = 8\nspacing = "20 in"')
    fit = judge_strip(read_plan(write_plan(base_plan_text, change)), "corn", 12.192, ROW)
    assert not fit.fits
    assert fit.reason == f"1 planter pass; rows stand 30 in apart, the header's 20 in; {BOOM}"


def test_a_header_on_a_drill_without_rows_is_refused(write_plan):
    text = DRILL.format(spacing="", platform="20 ft").replace(
        'does = "harvest"\nwidth = "20 ft"', 'does = "harvest"\nrows = 8\nspacing = "30 in"'
    )
    fit = judge_strip(read_plan(write_plan(text)), "wheat", 15 * FOOT_M, NO_ROW)
    assert not fit.fits
    assert fit.reason == "1 planter pass; a row-crop header needs rows, and the drill has none"


def test_part_of_a_planter_pass_is_refused(base_plan):
    fit = judge_strip(base_plan, "corn", 60 * FOOT_M, ROW)
    assert (fit.plant_passes, fit.rows, fit.fits) == (2, 24, False)
    assert fit.reason.startswith("1.5 planter passes; 3 header passes;")


def test_a_drill_with_openers_has_rows(write_plan):
    text = DRILL.format(spacing='spacing = "7.5 in"', platform="15 ft")
    fit = judge_strip(read_plan(write_plan(text)), "wheat", 30 * FOOT_M, NO_ROW)
    assert (fit.rows, fit.plant_passes, fit.harvest_passes) == (48, 2, 2)


def test_without_harvester_or_boom(write_plan):
    text = METRIC.replace('harvester = "header"\n', "")
    fit = judge_strip(read_plan(write_plan(text)), "maize", 6.0, METRIC_ROW)
    assert fit.reason == "1 planter pass; no harvester named"
    assert (fit.harvest_passes, fit.harvest_use, fit.boom_passes) == (0, 1.0, 0)


def test_the_widest_mismatch_of_all_booms_is_told(write_plan, base_plan_text):
    second = '[machines.other]\ndoes = "spray"\nwidth = "90 ft"\nsections = 6\n\n[crops.corn]'
    plan = read_plan(write_plan(base_plan_text, ("[crops.corn]", second)))
    # 90 ft in 6: 25 ft off on each side of 40 ft, 5 ft from the edge between sections 1 and 2
    fit = judge_strip(plan, "corn", 40 * FOOT_M, ROW)
    assert fit.boom_mismatch_m == pytest.approx(5 * FOOT_M)
    assert fit.reason.endswith(
        "; boom sections miss the strip's edge by 5 ft; over the neighbor the label decides"
    )
    # 120 ft of boom takes one pass over 120 ft, 90 ft two
    assert judge_strip(plan, "corn", 120 * FOOT_M, ROW).boom_passes == 2


def test_a_small_mismatch_is_told_in_inches(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ('"120 ft"', '"120.02 ft"'), ("= 12\n", "= 2\n")))
    fit = judge_strip(plan, "soybean", 120 * FOOT_M, ROW)
    assert fit.reason.endswith(
        "boom sections miss the strip's edge by 0.1 in; over the neighbor the label decides"
    )


def test_one_planter_pass_is_judged_however_wide(base_plan):
    assert [f.rows for f in judge_widths(base_plan, "corn", 5.0, ROW)] == [16]


def test_the_limit_itself_is_judged_and_nothing_beyond(base_plan):
    assert [f.rows for f in judge_widths(base_plan, "corn", 80 * FOOT_M, ROW)] == [16, 32]
    nearly_m = 80 * FOOT_M - 0.01
    assert [f.rows for f in judge_widths(base_plan, "corn", nearly_m, ROW)] == [16]


def test_straddling_ranks_below_and_what_does_not_fit_last(write_plan):
    ranked = fit_crops(read_plan(write_plan(METRIC)))["maize"]
    assert [(f.fits, f.straddles) for f in ranked] == sorted(
        ((f.fits, f.straddles) for f in ranked), key=lambda pair: (not pair[0], pair[1])
    )
    assert [f.rows for f in ranked if f.fits] == [24, 48]


def test_default_limits(write_plan, base_plan_text):
    fits = fit_crops(read_plan(write_plan(base_plan_text)))
    assert max(fit.width_m for fit in fits["corn"]) == pytest.approx(120 * FOOT_M)
    maize = fit_crops(read_plan(write_plan(METRIC)))["maize"]
    assert max(fit.width_m for fit in maize) == pytest.approx(36.0)
