"""Check sets of strips and the section made of them."""

import pytest
from fields import texts

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.plan.defaults import NOMINAL_OPENER_M
from striplay.section.passes import Work, works_on
from striplay.section.sets import beside, fit_crops, fit_sets, settle_widths
from striplay.section.strips import strip_sections

FOOT_M = 0.3048
ROW_M = 0.762
FIT = (("rows = 16\n\n[[", 'rows = "fit"\n\n[['), ("rows = 48", 'rows = "fit"'))
NO_SWAP = ("[direction]", "[season]\nswap = false\n\n[direction]")
CUT_STRIPS = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n\n[[strips]]\ncrop = "soybean"\nrows = 48\n',
    "",
)


@pytest.fixture
def plan_of(write_plan, base_plan_text):
    return lambda *changes: read_plan(write_plan(base_plan_text, *changes))


def strip_section(plan):
    """Give the section of a plan that asks for one set."""
    (section,) = strip_sections(plan)
    return section


# --- sets -----------------------------------------------------------------------------------------


def test_the_set_of_the_contract(plan_of):
    chosen = settle_widths(plan_of())[0]
    assert [strip.rows for strip in chosen.strips] == [16, 48]
    assert chosen.width_m == pytest.approx(160 * FOOT_M)
    assert chosen.shares == pytest.approx({"corn": 0.25, "soybean": 0.75})
    assert all(strip.fits for strip in chosen.strips)


def test_a_wish_that_no_width_meets_is_told(plan_of):
    best, *_ = fit_sets(plan_of(*FIT, NO_SWAP, ("emergence = 0.95", "share = 0.9")))
    # 48 rows of corn to 16 of soybean is the most corn there is
    assert best.shares["corn"] == pytest.approx(0.75)
    assert best.off_wish == pytest.approx(0.15)


def test_sets_are_cut_off(plan_of):
    assert len(fit_sets(plan_of(*FIT), most=4)) == 4
    every = fit_sets(plan_of(*FIT), most=100)
    assert len(every) == 9  # three widths of each
    for found in every:
        assert sum(found.shares.values()) == pytest.approx(1.0)
        assert found.width_m == pytest.approx(sum(strip.width_m for strip in found.strips))


def test_without_strips_every_crop_makes_one(plan_of):
    plan = plan_of(CUT_STRIPS)
    assert fit_sets(plan)[0].crops == ("corn", "soybean")
    assert set(fit_crops(plan)) == {"corn", "soybean"}
    with pytest.raises(PlanError) as caught:
        settle_widths(plan)
    assert str(caught.value) == (
        "plan.toml: strips: none are given; add a [[strips]] table for each"
    )


def test_no_width_that_fits(plan_of):
    plan = plan_of(*FIT, ("rows = 8\nspacing", "rows = 9\nspacing"))
    with pytest.raises(PlanError) as caught:
        settle_widths(plan)
    assert str(caught.value) == (
        "plan.toml: strips[1].rows: no width of corn up to 120 ft fits (1 planter pass; 16 rows "
        "are 1.78 header passes of 9 rows; boom sections end at the strip's edges); give rows, or "
        "other machines"
    )


def test_a_wider_limit_may_fit(plan_of):
    plan = plan_of(*FIT, ("rows = 8\nspacing", "rows = 12\nspacing"))
    chosen = settle_widths(plan, limit_m=160 * FOOT_M)[0]
    assert chosen.strips[0].rows == 48  # by counting: 16/12 first meets at 48


def test_a_width_asked_for_is_taken_as_it_is(plan_of):
    chosen = settle_widths(plan_of(("rows = 48", 'width = "60 ft"')))[0]
    assert chosen.strips[1].rows == 24
    assert not chosen.strips[1].fits
    assert settle_widths(plan_of(("rows = 48", "passes = 2")))[0].strips[1].rows == 32


def test_neighbors_run_round_the_set():
    crops = ["corn", "soybean", "wheat"]
    assert [beside(crops, i) for i in range(3)] == [
        ("wheat", "soybean"),
        ("corn", "wheat"),
        ("soybean", "corn"),
    ]
    assert beside(["corn"], 0) == ("corn", "corn")


# --- the section ----------------------------------------------------------------------------------


def test_rows_stand_half_a_spacing_from_the_edge_guess_rows_included(plan_of):
    section = strip_section(plan_of())
    assert section.width_m == pytest.approx(160 * FOOT_M)
    assert len(section.rows) == 64
    wanted = [(number + 0.5) * ROW_M for number in range(64)]
    assert [row.offset_m for row in section.rows] == pytest.approx(wanted)
    assert [row.strip for row in section.rows] == [0] * 16 + [1] * 48
    assert [row.number for row in section.rows] == [*range(1, 17), *range(1, 49)]
    assert sum(row.spacing_m for row in section.rows) == pytest.approx(section.width_m)


def test_each_row_knows_its_pass_and_unit(plan_of):
    rows = [row for row in strip_section(plan_of()).rows if row.strip == 1]
    assert [row.planter_pass for row in rows] == [0] * 16 + [1] * 16 + [2] * 16
    assert [row.unit for row in rows] == [*range(1, 17)] * 3
    assert {row.planter for row in rows} == {"planter"}


def test_strips_lie_side_by_side(plan_of):
    found = strip_section(plan_of())
    corn, soybean = found.strips
    assert (corn.left_m, corn.rows, corn.crop, corn.counted) == (0.0, 16, "corn", True)
    assert soybean.left_m == pytest.approx(corn.width_m)
    assert soybean.rows == 48
    assert found.rows[0].sown[0].seed_rate_per_m2 == pytest.approx(34_000 / 4046.8564224)


def test_works_on_a_crop(plan_of):
    plan = plan_of()
    assert works_on(plan, "corn") == (
        Work("plant", "planter", pytest.approx(40 * FOOT_M), 16, pytest.approx(ROW_M)),
        Work("spray", "sprayer", pytest.approx(120 * FOOT_M), None),
        Work("harvest", "corn_head", pytest.approx(20 * FOOT_M), 8, pytest.approx(ROW_M)),
    )
    assert works_on(plan, "soybean")[-1] == Work(
        "harvest", "platform", pytest.approx(30 * FOOT_M), None
    )


def test_passes_of_a_set(plan_of):
    section = strip_section(plan_of())
    found = [
        (one.strip, one.operation, one.machine, one.crop,
         *(round(at_m / FOOT_M, 6) for at_m in (one.low_m, one.high_m, one.middle_m)),
         (one.rows[0], one.rows[-1], len(one.rows)))
        for one in section.passes
    ]  # fmt: skip
    # by hand, in feet: corn is 0 to 40, soybean 40 to 160; 16 rows of 30 in are 40 ft
    assert found == [
        (0, "plant", "planter", "corn", 0, 40, 20, (0, 15, 16)),
        (0, "spray", "sprayer", "corn", 0, 40, 20, (0, 15, 16)),
        (0, "harvest", "corn_head", "corn", 0, 20, 10, (0, 7, 8)),
        (0, "harvest", "corn_head", "corn", 20, 40, 30, (8, 15, 8)),
        (1, "plant", "planter", "soybean", 40, 80, 60, (16, 31, 16)),
        (1, "plant", "planter", "soybean", 80, 120, 100, (32, 47, 16)),
        (1, "plant", "planter", "soybean", 120, 160, 140, (48, 63, 16)),
        (1, "spray", "sprayer", "soybean", 40, 160, 100, (16, 63, 48)),
        (1, "harvest", "platform", "soybean", 40, 70, 55, (16, 27, 12)),
        (1, "harvest", "platform", "soybean", 70, 100, 85, (28, 39, 12)),
        (1, "harvest", "platform", "soybean", 100, 130, 115, (40, 51, 12)),
        (1, "harvest", "platform", "soybean", 130, 160, 145, (52, 63, 12)),
    ]


def test_a_machine_wider_than_its_share_keeps_within_the_strip(plan_of):
    # by hand, in feet: two platform cuts of 20 on 40, each 30 wide, so 5 off their middles
    section = strip_section(plan_of(("rows = 48", "rows = 16")))
    soybean = [one for one in section.passes if one.strip == 1]
    middles_ft = [round(one.middle_m / FOOT_M - 40, 6) for one in soybean]
    assert middles_ft == [20, 15, 25]  # planter, platform twice


def test_a_crop_without_harvester_has_no_harvest(plan_of):
    section = strip_section(plan_of(('harvester = "corn_head"\n', "")))
    corn = [one.operation for one in section.passes if one.strip == 0]
    assert corn == ["plant", "spray"]


def test_what_fits_needs_no_notice(plan_of):
    assert strip_section(plan_of()).notices == ()


def test_straddling_and_misfits_are_noticed(plan_of):
    section = strip_section(
        plan_of(
            ("rows = 8\nspacing", "rows = 12\nspacing"),
            ("rows = 16\n\n[[", "rows = 48\n\n[["),
        )
    )
    boom = "boom sections end at the strip's edges"
    assert texts(section.notices) == [
        (
            "corn strip of 120 ft fits: 3 planter passes; 4 header passes, 2 straddling a guess "
            f"row; {boom}"
        ),
    ]
    section = strip_section(plan_of(("rows = 16\n\n[[", "rows = 24\n\n[[")))
    assert texts(section.notices) == [
        f"corn strip of 60 ft does not fit: 1.5 planter passes; 3 header passes; {boom}",
    ]


def test_a_notice_is_given_once_for_like_strips(plan_of):
    again = '\n\n[[strips]]\ncrop = "corn"\nrows = 24\n\n[[strips]]\ncrop = "soybean"\nrows = 48\n'
    section = strip_section(
        plan_of(("rows = 16\n\n[[", "rows = 24\n\n[["), ("rows = 48\n", f"rows = 48{again}"))
    )
    assert len(section.strips) == 4
    assert len(section.notices) == 1


def test_openers_not_given_are_nominal_lines(plan_of):
    drill = ('rows = 16\nspacing = "30 in"\n\n[machines.c', 'width = "15 ft"\n\n[machines.c')
    section = strip_section(
        plan_of(
            drill,
            ('harvester = "corn_head"\n', ""),
            ("rows = 16\n\n[[", "passes = 2\n\n[["),
            ("rows = 48", "passes = 4"),
        )
    )
    corn = section.strips[0]
    assert not corn.counted
    assert corn.spacing_m <= NOMINAL_OPENER_M
    # 15 ft in whole lines of at most 25 cm: 19 a pass
    assert corn.rows == 38
    assert corn.rows * corn.spacing_m == pytest.approx(30 * FOOT_M)
    assert [row.planter_pass for row in section.rows[:38]] == [0] * 19 + [1] * 19
