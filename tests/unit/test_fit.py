"""Check the verdicts on strip widths: the cases worked by hand, with their words."""

import dataclasses

import pytest

from striplay.files.plan import read_plan
from striplay.section.fit import judge_strip, judge_widths
from striplay.section.sets import fit_crops

FOOT_M = 0.3048
INCH_M = 0.0254
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
    fit = judge_widths(base_plan, "corn", 120 * FOOT_M, ["soybean"])[0]
    assert dataclasses.astuple(fit) == (
        16, 40 * FOOT_M, 1, 2, 0, 1.0, 1, 0.0, True,
        f"1 planter pass; 2 header passes; {BOOM}",
    )  # fmt: skip


def test_case_a_soybean(base_plan):
    fits = by_rows(judge_widths(base_plan, "soybean", 120 * FOOT_M, ["corn"]))
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
    fits = by_rows(judge_widths(plan, "corn", 120 * FOOT_M, ["soybean"]))
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
    narrow, wide = judge_widths(plan, "wheat", 30 * FOOT_M, ["wheat"])
    assert (narrow.rows, narrow.width_m, narrow.fits) == (None, pytest.approx(15 * FOOT_M), False)
    assert narrow.reason == (
        "1 planter pass; 1 platform cut, 75 % of the width used, reaching 2.5 ft past each side: "
        "2.5 ft too far, into the neighbour's rows (harmless only where the neighbour is already "
        "off)"
    )
    assert (wide.harvest_passes, wide.fits) == (2, True)
    assert wide.harvest_use == pytest.approx(0.75)
    assert wide.reason == "2 planter passes; 2 platform cuts, 75 % of the width used"


def test_case_d_metric(write_plan):
    plan = read_plan(write_plan(METRIC))
    fits = judge_widths(plan, "maize", 36.0, ["maize"])
    first = next(fit for fit in fits if fit.fits)
    assert (first.rows, first.harvest_passes, first.straddles) == (24, 4, 2)
    assert first.width_m == pytest.approx(18.0)
    assert first.reason == "3 planter passes; 4 header passes, 2 straddling a guess row"
    assert [fit.rows for fit in fits] == [8, 16, 24, 32, 40, 48]


@pytest.mark.parametrize(
    ("platform_ft", "fits", "words"),
    [
        # The neighbour's first row stands 15 in off, and 6 in of clearance leave 9 in.
        (40 + 2 * 9 / 12, True, "reaching 9 in past each side"),
        (40 + 2 * 8 / 12, True, "reaching 8 in past each side"),
        (42, False, "reaching 1 ft past each side: 3 in too far, into the neighbour's rows"),
        (41.52, False, "reaching 9.1 in past each side: 0.1 in too far, into the neighbour's rows"),
    ],
)
def test_a_platform_may_reach_to_the_neighbours_row_less_clearance(
    write_plan, base_plan_text, platform_ft, fits, words
):
    plan = read_plan(write_plan(base_plan_text, ('"30 ft"', f'"{platform_ft:.6f} ft"')))
    fit = judge_strip(plan, "soybean", 40 * FOOT_M, ["corn"])
    assert (fit.harvest_passes, fit.fits) == (1, fits)
    assert words in fit.reason


def test_clearance_is_the_plans(write_plan, base_plan_text):
    change = ('width = "30 ft"', 'width = "42 ft"\nclearance = "3 in"')
    plan = read_plan(write_plan(base_plan_text, change))
    assert judge_strip(plan, "soybean", 40 * FOOT_M, ["corn"]).fits


def test_the_nearer_neighbour_counts(write_plan, base_plan_text):
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
    assert judge_strip(plan, "soybean", 40 * FOOT_M, ["corn", "corn"]).fits
    assert not judge_strip(plan, "soybean", 40 * FOOT_M, ["corn", "wheat"]).fits


def test_a_header_with_other_row_spacing_is_refused(write_plan, base_plan_text):
    change = ('rows = 8\nspacing = "30 in"', 'rows = 8\nspacing = "20 in"')
    fit = judge_strip(read_plan(write_plan(base_plan_text, change)), "corn", 12.192, ["soybean"])
    assert not fit.fits
    assert fit.reason == f"1 planter pass; rows stand 30 in apart, the header's 20 in; {BOOM}"


def test_a_header_on_a_drill_without_rows_is_refused(write_plan):
    text = DRILL.format(spacing="", platform="20 ft").replace(
        'does = "harvest"\nwidth = "20 ft"', 'does = "harvest"\nrows = 8\nspacing = "30 in"'
    )
    fit = judge_strip(read_plan(write_plan(text)), "wheat", 15 * FOOT_M, ["wheat"])
    assert not fit.fits
    assert fit.reason == "1 planter pass; a row-crop header needs rows, and the drill has none"


def test_part_of_a_planter_pass_is_refused(base_plan):
    fit = judge_strip(base_plan, "corn", 60 * FOOT_M, ["soybean"])
    assert (fit.plant_passes, fit.rows, fit.fits) == (2, 24, False)
    assert fit.reason.startswith("1.5 planter passes; 3 header passes;")


def test_a_drill_with_openers_has_rows(write_plan):
    text = DRILL.format(spacing='spacing = "7.5 in"', platform="15 ft")
    fit = judge_strip(read_plan(write_plan(text)), "wheat", 30 * FOOT_M, ["wheat"])
    assert (fit.rows, fit.plant_passes, fit.harvest_passes) == (48, 2, 2)


def test_without_harvester_or_boom(write_plan):
    text = METRIC.replace('harvester = "header"\n', "")
    fit = judge_strip(read_plan(write_plan(text)), "maize", 6.0, ["maize"])
    assert fit.reason == "1 planter pass; no harvester named"
    assert (fit.harvest_passes, fit.harvest_use, fit.boom_passes) == (0, 1.0, 0)


def test_the_widest_mismatch_of_all_booms_is_told(write_plan, base_plan_text):
    second = '[machines.other]\ndoes = "spray"\nwidth = "90 ft"\nsections = 6\n\n[crops.corn]'
    plan = read_plan(write_plan(base_plan_text, ("[crops.corn]", second)))
    # 90 ft in 6: 25 ft off on each side of 40 ft, 5 ft from the edge between sections 1 and 2
    fit = judge_strip(plan, "corn", 40 * FOOT_M, ["soybean"])
    assert fit.boom_mismatch_m == pytest.approx(5 * FOOT_M)
    assert fit.reason.endswith("; boom sections miss the strip's edge by 5 ft")
    # 120 ft of boom takes one pass over 120 ft, 90 ft two
    assert judge_strip(plan, "corn", 120 * FOOT_M, ["soybean"]).boom_passes == 2


def test_a_small_mismatch_is_told_in_inches(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ('"120 ft"', '"120.02 ft"'), ("= 12\n", "= 2\n")))
    fit = judge_strip(plan, "soybean", 120 * FOOT_M, ["corn"])
    assert fit.reason.endswith("boom sections miss the strip's edge by 0.1 in")


def test_one_planter_pass_is_judged_however_wide(base_plan):
    assert [f.rows for f in judge_widths(base_plan, "corn", 5.0, ["soybean"])] == [16]


def test_the_limit_itself_is_judged_and_nothing_beyond(base_plan):
    assert [f.rows for f in judge_widths(base_plan, "corn", 80 * FOOT_M, ["soybean"])] == [16, 32]
    nearly_m = 80 * FOOT_M - 0.01
    assert [f.rows for f in judge_widths(base_plan, "corn", nearly_m, ["soybean"])] == [16]


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
