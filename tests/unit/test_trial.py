"""Check strips in replicates: their order, widths, names on the ground, and refusals."""

import tomllib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import shapely
from fields import SHED, assert_whole, lay_on, square, texts, write_shapes
from systems import MORE

from striplay.errors import PlanError
from striplay.files.plan import checked
from striplay.lists import strip_list
from striplay.records.findings import findings_of
from striplay.records.plots_recorded import plots_of_trial, shares_of_trial
from striplay.records.yields import YieldOf
from striplay.replicates import whole_replicates
from striplay.section.systems import sections_of

STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
TREATMENTS = {"strips", "corn alone", "soybean alone"}
BARE = '[headland]\nwhere = "none"\n'
FOOT_M = 0.3048


def planned(trial, strips=STRIPS, shed=SHED + MORE):
    return checked(tomllib.loads(f"{shed}{strips}[trial]\n{trial}\n"), Path("plan.toml"))


def refused(trial, strips=STRIPS):
    with pytest.raises(PlanError) as error:
        sections_of(planned(trial, strips))
    return str(error.value)


def order(section):
    """Give the treatments of each replicate in their order across."""
    found = {}
    for strip in section.strips:
        named = strip.treatment if strip.treatment == "strips" else f"{strip.crop} alone"
        found.setdefault(strip.replicate, {})[named] = None
    return [tuple(mine) for mine in found.values()]


def test_every_replicate_has_every_treatment_once_in_an_order_of_its_own():
    (section,) = sections_of(planned("sets = 2"))
    orders = order(section)
    assert len(orders) == 4
    assert all(set(one) == TREATMENTS and len(one) == 3 for one in orders)
    assert len(set(orders)) > 1
    for number in (1, 2, 3, 4):
        mine = [one for one in section.strips if one.replicate == number]
        assert [one.crop for one in mine if one.treatment == "strips"] == ["corn", "soybean"] * 2
        assert sorted(one.crop for one in mine if one.treatment == "alone") == ["corn", "soybean"]
    lefts = [strip.left_m for strip in section.strips]
    assert lefts == pytest.approx([0.0, *[strip.right_m for strip in section.strips[:-1]]])


def test_the_same_seed_gives_the_same_order_and_others_others():
    drawn = [order(sections_of(planned(f"seed = {seed}"))[0]) for seed in (1, 1, 2, 3, 4)]
    assert drawn[0] == drawn[1]
    assert len({tuple(one) for one in drawn}) > 2


def test_every_order_is_drawn_about_as_often():
    """Six orders of three, 10 replicates of 60 seeds: each comes some hundred times in 600."""
    counts = {}
    shed = SHED.replace("rows = 8", "rows = 16").replace('"30 ft"', '"40 ft"')
    for seed in range(60):
        plan = planned(f'width = "40 ft"\nreplicates = 10\nseed = {seed}', shed=shed)
        for one in order(sections_of(plan)[0]):
            counts[one] = counts.get(one, 0) + 1
    assert len(counts) == 6
    # five standard deviations of a sixth of 600
    assert all(abs(count - 100) < 5 * (600 * 5 / 36) ** 0.5 for count in counts.values())


def test_a_check_is_as_wide_as_its_machines_ask_and_one_pass_has_no_neighbor():
    """Planter 40 ft, header 20 ft, platform 30 ft: 80 ft is two, four and three passes."""
    (section,) = sections_of(planned(""))
    wide = {one.width_m / FOOT_M for one in section.strips if one.treatment != "strips"}
    assert sorted(wide) == pytest.approx([80.0])
    (section,) = sections_of(planned('width = "80 ft"\nchecks = ["corn"]'))
    checks = [one for one in section.strips if one.treatment != "strips"]
    assert [(one.crop, one.rows) for one in checks] == [("corn", 32)] * 4


def test_the_set_without_checks_is_kept_beside():
    (section,) = sections_of(planned(""))
    assert [(one.crop, one.rows) for one in section.plain.strips] == [("corn", 16), ("soybean", 16)]
    (plain,) = sections_of(planned("").without_trial)
    assert plain.plain is plain
    assert plain.strips == section.plain.strips


@pytest.mark.parametrize(
    ("trial", "said"),
    [
        (
            'width = "50 ft"',
            ("plan.toml: 2 faults\n"
            "  trial.width: 50 ft is 1.25 passes of planter, 40 ft wide, for the check of corn; "
            "whole passes would do\n"
            "  trial.width: 50 ft is 1.25 passes of planter, 40 ft wide, for the check of soybean; "
            "whole passes would do"),
        ),
        (
            'checks = ["oats"]',
            'plan.toml: trial.checks: no crop "oats"; known are corn, soybean, wheat, duo',
        ),
        (
            'checks = ["corn", "corn"]',
            ('plan.toml: trial.checks: ["corn", "corn"] names a crop twice; one check strip of it '
            'stands in each replicate; for example checks = ["corn", "soybean"]'),
        ),
        ("replicates = 1", ("plan.toml: trial.replicates: 1 must be 2 or more; for example "
         "replicates = 4")),
        ("sets = 9", ("plan.toml: trial: makes 80 strips; at most 60 are laid out, so fewer "
         "replicates, sets or checks would do")),
        ("spread = 0.1", ("plan.toml: trial: needs both difference and spread to say how surely it "
         "shows one")),
    ],
)  # fmt: skip
def test_what_can_not_be_is_refused(trial, said):
    assert refused(trial) == said


def test_a_row_set_has_no_trial():
    row_set = '[[row_set]]\nplanter = "planter"\nunits = "8 corn, 8 soybean"\n'
    assert refused("", row_set) == (
        "plan.toml: trial: needs [[strips]]; beside a row set no strip can stand alone"
    )


def test_a_check_stands_alone_where_the_set_has_a_crop_between():
    between = STRIPS + '[[quick_crop]]\ncrop = "wheat"\ninto = "corn"\nseeder = "drill"\n'
    (section,) = sections_of(planned("replicates = 2", between))
    sown = {index: section.crops_of(index) for index in range(len(section.strips))}
    each = [
        (strip.crop, strip.treatment, sown[index]) for index, strip in enumerate(section.strips)
    ]
    assert ("corn", "strips", ("corn", "wheat")) in each
    assert {crops for crop, treatment, crops in each if (crop, treatment) == ("corn", "alone")} == {
        ("corn",)
    }
    assert shares_of_trial(section) == {"strips": {"corn": 0.5, "wheat": 0.5, "soybean": 0.5}}


USUAL = (
    SHED
    + """
[machines.wide]
does = "plant"
rows = 24
spacing = "20 in"
[crops.corn_usual]
like = "corn"
planter = "wide"
harvester = "corn_head"
rate = "30000 seeds/acre"
"""
)


def test_the_usual_way_stands_in_a_check_of_its_own_and_is_held_against_its_crop(tmp_path):
    trial = '[trial]\nreplicates = 2\nwidth = "80 ft"\nusual = { corn = "corn_usual" }\n'
    layout = lay_on(tmp_path, square(960), shed=USUAL, strips=STRIPS + trial, headland=BARE)
    table = layout.strips
    usual = table[table["treatment"] == "usual"]
    assert set(usual["crop"]) == {"corn_usual"}
    assert usual["rows"].iloc[0] == 48  # 80 ft of rows 20 in apart
    told = next(one for one in texts(layout.notices) if "drawn at random" in one)
    assert "corn_usual as usual" in told
    day = date(2026, 10, 1)
    rng = np.random.default_rng(1)
    yields = [
        YieldOf(one.strip, one.crop, None, None, 1.0, one.area_m2 * (1.0 + rng.normal(0.0, 0.01)),
                one.area_m2, 1, day)
        for one in table.itertuples()
    ]  # fmt: skip
    plots = plots_of_trial(yields, layout.laid)
    assert {(one.crop, one.treatment) for one in plots} == {
        ("corn", "strips"), ("corn", "alone"), ("corn", "usual"),
        ("soybean", "strips"), ("soybean", "alone"),
    }  # fmt: skip
    found = findings_of("records", plots, shares_of_trial(layout.section), drawn=True)
    assert [tuple(one.means) for one in found.crops if one.crop == "corn"] == [
        ("alone", "strips", "usual")
    ]
    assert [one.treatment for one in found.ratios] == ["strips"]
    assert found.untold == ()
    parts = layout.accounts["cost"]["parts"]
    assert layout.accounts["cost"]["total"] == pytest.approx(sum(parts.values()))


@pytest.mark.parametrize(
    ("usual", "said"),
    [
        (
            '{ oats = "wheat" }',
            'trial.usual.oats: no crop of the set "oats"; known are corn, soybean',
        ),
        (
            '{ corn = "soybean" }',
            ("trial.usual.corn: soybean stands in the trial already; give corn as it is usually "
             'grown a crop of its own, such as [crops.corn_usual], with like = "corn"'),
        ),
        (
            '{ corn = "wheat", soybean = "wheat" }',
            "trial.usual: names wheat twice; it stands for one crop",
        ),
    ],
)  # fmt: skip
def test_a_usual_way_that_can_not_be_is_refused(usual, said):
    assert refused(f"usual = {usual}") == f"plan.toml: {said}"


def test_no_width_that_all_checks_fit():
    shed = SHED.replace('width = "30 ft"', 'width = "70 ft"')
    with pytest.raises(PlanError) as error:
        sections_of(planned("", shed=shed))
    assert str(error.value) == (
        "plan.toml: trial.width: no width up to 120 ft is whole passes of all machines of corn and "
        "soybean, 3 of each harvester at least; state the width"
    )


def test_it_is_laid_whole_and_every_strip_names_its_plot(tmp_path):
    strips = STRIPS + '[trial]\nreplicates = 2\nwidth = "80 ft"\ndifference = 0.1\nspread = 0.05\n'
    layout = lay_on(tmp_path, square(720), strips=strips, headland=BARE)
    assert_whole(layout)
    table = layout.strips
    assert table["replicate"].tolist() == sorted(table["replicate"])
    assert set(table["replicate"]) == {1, 2, 3}
    for number in (1, 2, 3):
        mine = table[table["replicate"] == number]
        assert sorted(zip(mine["treatment"], mine["crop"], strict=True)) == [
            ("alone", "corn"), ("alone", "soybean"), ("strips", "corn"), ("strips", "soybean"),
        ]  # fmt: skip
        assert mine["whole"].all()
    assert whole_replicates(layout.laid) == [1, 2, 3]  # of 240 ft each
    listed = strip_list(table, {}, "us")
    assert listed["treatment"].tolist() == table["treatment"].tolist()
    told = [one for one in texts(layout.notices) if one.startswith("trial: ")]
    assert told[0].startswith(
        "trial: 3 whole replicates would show a true difference of 10 % between a crop in strips "
        "and alone in 29 % of such trials"
    )
    assert told[1].startswith("trial: 3 replicates lie whole on the field, of 2 asked for: the ")
    assert told[2].startswith("trial: 2 replicates, each in an order drawn at random (seed 1): 1: ")


def test_a_field_with_too_little_room_for_it_says_so(tmp_path):
    strips = STRIPS + '[trial]\nwidth = "80 ft"\n'
    layout = lay_on(tmp_path, square(500), strips=strips, headland=BARE)
    assert whole_replicates(layout.laid) == [1, 2]
    assert (
        "trial: 2 replicates lie whole on the field, of 4 asked for: fewer sets, narrower checks "
        "or fewer replicates would do; compare whole ones alone"
    ) in texts(layout.notices)


def test_replicates_count_on_from_block_to_block_and_whole_ones_alone_are_compared(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(0, -200), (0, 200)]))
    trial = '[trial]\nreplicates = 2\nwidth = "80 ft"\n'
    layout = lay_on(
        tmp_path, square(720), headland=BARE,
        strips=f'{STRIPS}[[blocks]]\nfile = "cut.geojson"\n{trial}',
    )  # fmt: skip
    table = layout.strips
    assert table.groupby("block")["replicate"].agg(["min", "max"]).to_numpy().tolist() == [
        [1, 2], [3, 4]
    ]  # fmt: skip
    assert whole_replicates(layout.laid) == [1, 3]  # each half has room for one and a half
    day = date(2026, 10, 1)
    yields = [
        YieldOf(one.strip, one.crop, None, None, 9.0, 9.0, one.area_m2, 1, day)
        for one in table.itertuples()
    ]
    plots = plots_of_trial(yields, layout.laid)
    assert sorted((one.block, one.crop, one.treatment) for one in plots) == [
        (f"replicate {number}", crop, treatment)
        for number in (1, 3) for crop in ("corn", "soybean") for treatment in ("alone", "strips")
    ]  # fmt: skip


def test_one_replicate_is_told_as_one(tmp_path):
    strips = STRIPS + '[trial]\nreplicates = 2\nwidth = "80 ft"\n'
    layout = lay_on(tmp_path, square(260), strips=strips, headland=BARE)
    assert any(
        one.startswith("trial: 1 replicate lies whole on the field, of 2 asked for: ")
        for one in texts(layout.notices)
    )


def test_without_a_trial_nothing_of_it_is_told(tmp_path):
    layout = lay_on(tmp_path, square(500), strips=STRIPS, headland=BARE)
    assert "treatment" not in layout.strips
    assert not any("trial" in one for one in texts(layout.notices))
