"""What stands in and beside a strip when each operation happens, and what it runs over."""

from datetime import date

import pytest
from fields import SHED, square, texts, write_plan_for

from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.operations.jobs import jobs_of
from striplay.operations.judged import of_conflicts
from striplay.season.moments import Beside, moments
from striplay.section.systems import sections_of

CORN = "sown = 2026-05-01\nharvested = 2026-11-01"
SOYBEAN = "sown = 2026-05-20\nharvested = 2026-09-25"
BESIDE = '[[strips]]\ncrop = "corn"\nrows = {}\n[[strips]]\ncrop = "soybean"\nrows = {}\n'
QUICK = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\n'
    'seeder = "planter"\n'
)


def plan_for(folder, strips, shed=SHED, corn=CORN, soybean=SOYBEAN):
    for name, said in (("corn", corn), ("soybean", soybean)):
        shed = shed.replace(f"[crops.{name}]\n", f"[crops.{name}]\n{said}\n")
    return read_plan(write_plan_for(folder, square(1320), shed=shed, strips=strips, headland=""))


def said(plan):
    return [one.said for one in season_of(plan, sections_of(plan)[0]).conflicts]


def test_each_operation_knows_what_stands_that_day(tmp_path):
    plan = plan_for(tmp_path, BESIDE.format(16, 48))
    section = sections_of(plan)[0]
    found = moments(plan, section, season_of(plan).windows)
    told = {(m.crop, m.work.operation): m for m in found}
    assert set(told) == {(c, o) for c in ("corn", "soybean") for o in ("plant", "harvest")}
    assert told["corn", "plant"].day == date(2026, 5, 1)
    assert told["corn", "plant"].beside == ()  # soybean is sown later
    # half of 30 in; the set repeats, so corn stands on both sides
    for side, beside in enumerate(told["soybean", "plant"].beside):
        assert beside == Beside("corn", pytest.approx(0.381), side)
    assert {b.crop for b in told["soybean", "harvest"].beside} == {"corn"}
    assert told["corn", "harvest"].beside == ()  # soybean is off
    assert {m.reach_m for m in found} == {(0.0, 0.0)}
    assert {m.within for m in found} == {()}


@pytest.mark.parametrize(
    ("rows", "platform", "clearance", "reach_in", "over"),
    [
        # by hand: 11 rows of 30 in are 27.5 ft, and the neighbor's first row stands 15 in past
        # them; a platform keeps 6 in off it unless said otherwise
        (11, "29 ft", "", 9, False),
        (11, "30 ft", "", 15, True),
        (11, "29 ft", 'clearance = "7 in"', 9, True),
        (10, "30 ft", "", 30, True),
        (12, "30 ft", "", 0, False),
    ],
)
def test_a_platform_may_reach_near_the_neighbor_s_first_row(
    tmp_path, rows, platform, clearance, reach_in, over
):
    shed = SHED.replace("rows = 16", "rows = 1")
    shed = shed.replace('width = "30 ft"', f'width = "{platform}"\n{clearance}')
    plan = plan_for(tmp_path, BESIDE.format(16, rows), shed)
    found = moments(plan, sections_of(plan)[0], season_of(plan).windows)
    (cut,) = (m for m in found if (m.crop, m.work.operation) == ("soybean", "harvest"))
    assert cut.reach_m == pytest.approx([reach_in * 0.0254] * 2, abs=1e-9)
    expected = (
        ["platform would run over corn, standing until 2026-11-01, beside soybean"] if over else []
    )
    assert said(plan) == expected


@pytest.mark.parametrize(
    ("more", "cure"),
    [
        # 10 rows are 25 ft; a platform may reach 9 in past them on either side
        ('width = "26 ft"', "; small, 26 ft wide, would not: open with it"),
        ('width = "29 ft"', ""),
        ('rows = 8\nspacing = "30 in"', ""),  # for rows of corn, not for soybeans
    ],
)
def test_a_narrower_header_of_the_plan_is_named_where_it_keeps_off_the_neighbor(
    tmp_path, more, cure
):
    shed = SHED.replace("rows = 16", "rows = 1") + f'[machines.small]\ndoes = "harvest"\n{more}\n'
    plan = plan_for(tmp_path, BESIDE.format(16, 10), shed)
    told = "platform would run over corn, standing until 2026-11-01, beside soybean"
    assert said(plan) == [told + cure]


def test_a_planter_that_reaches_over_standing_rows_is_told(tmp_path):
    # 16 rows of 30 in are 40 ft, on a strip of 12 rows: 5 ft past either side
    plan = plan_for(tmp_path, BESIDE.format(32, 12))
    assert said(plan) == ["planter would run over corn, standing until 2026-11-01, beside soybean"]


@pytest.mark.parametrize(
    ("corn", "soybean", "expected"),
    [
        # the quick crop leaves while corn stands: its platform is no way to take it
        ("sown = 2026-05-01\nharvested = 2026-11-01\ncanopy_closure = 2026-07-01",
         "sown = 2026-05-05\nharvested = 2026-06-20",
         ["platform would run over corn, standing until 2026-11-01, between the rows of soybean"]),
        # it stands when corn is cut
        ("sown = 2026-05-01\nharvested = 2026-06-01\ncanopy_closure = 2026-07-01",
         "sown = 2026-05-05\nharvested = 2026-06-20",
         [("corn_head would run over soybean, standing until 2026-06-20, between the rows of "
         "corn; whether it cuts above "
           "is not known without height of soybean under [[quick_crop]] and "
           "machines.corn_head.cutting_height")]),
        # it never meets corn; then it stands when corn is sown
        ("sown = 2026-05-01\nharvested = 2026-11-01\ncanopy_closure = 2026-07-01",
         "sown = 2026-04-01\nharvested = 2026-04-30",
         ["corn is not sown yet when soybean is harvested"]),
        ("sown = 2026-05-01\nharvested = 2026-11-01\ncanopy_closure = 2026-07-01",
         "sown = 2026-04-01\nharvested = 2026-05-02",
         ["planter would run over soybean, standing until 2026-05-02, between the rows of corn",
          "platform would run over corn, standing until 2026-11-01, between the rows of soybean"]),
    ],
)  # fmt: skip
def test_quick_crops_and_their_hosts(tmp_path, corn, soybean, expected):
    assert said(plan_for(tmp_path, QUICK, corn=corn, soybean=soybean)) == expected


@pytest.mark.parametrize(
    ("track", "clear"),
    # by hand: the middle of 16 rows is a gap's middle, where the quick crop stands; wheels 60 in to
    # either side run on its rows, 75 in on corn's own places, 15 in from any of its rows
    [("120 in", False), ("150 in", True)],
)
def test_wheels_known_to_run_between_rows_leave_a_quick_crop_alone(tmp_path, track, clear):
    shed = SHED.replace("rows = 16\n", f'rows = 16\ntread = "{track}"\ntire = "16 in"\n')
    soybean = "sown = 2026-04-01\nharvested = 2026-05-02"
    corn = CORN + "\ncanopy_closure = 2026-07-01"
    shed = shed.replace('harvester = "platform"\n', "")
    found = said(plan_for(tmp_path, QUICK, shed, corn, soybean))
    assert (found == []) == clear
    strips = QUICK.replace('[[strips]]\ncrop = "corn"\nrows = 16\n',
                           '[[row_set]]\nplanter = "planter"\nunits = "16 corn"\n')  # fmt: skip
    found = said(plan_for(tmp_path, strips, shed, corn, soybean))
    assert (found == []) == clear


def test_a_crop_harvested_by_hand_is_in_nobody_s_way(tmp_path):
    shed = SHED.replace('harvester = "platform"\n', "")
    corn = CORN + "\ncanopy_closure = 2026-07-01"
    soybean = "sown = 2026-05-05\nharvested = 2026-06-20"
    assert said(plan_for(tmp_path, QUICK, shed, corn, soybean)) == []


def test_crops_of_one_pass_are_sown_on_one_day(tmp_path):
    row_set = '[[row_set]]\nplanter = "planter"\nunits = "8 corn, 8 soybean"\n'
    differ = "one pass sows corn and soybean, and their days differ: corn 2026-05-01, soybean "
    assert said(plan_for(tmp_path, row_set)) == [f"{differ}2026-05-20; give them one day"]
    same = SOYBEAN.replace("05-20", "05-01")
    assert said(plan_for(tmp_path, row_set, soybean=same)) == []
    duo = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    strips = '[[strips]]\ncrop = "duo"\nrows = 16\n'
    assert said(plan_for(tmp_path, strips, SHED + duo)) == [
        f"{differ}2026-05-20; give them one day"
    ]


def test_a_header_reaches_by_side_over_empty_units(tmp_path):
    # by hand: 4 rows of corn under a header of 8 reach 2 rows past their ground: the first soybean
    # stands 2.5 rows off behind two empty units, rye beside corn's other side half a row
    shed = SHED.replace("rows = 16", "rows = 14").replace("rows = 8", "rows = 8")
    strips = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 2 empty, 4 soybean, 4 rye"\n'
    rye = '[crops.rye]\nplanter = "planter"\nsown = 2026-05-01\nharvested = 2026-12-01\n'
    soybean = SOYBEAN.replace("05-20", "05-01").replace("09-25", "12-01")
    plan = plan_for(tmp_path, f'{strips}travel = "one way"\n', shed + rye, soybean=soybean)
    assert said(plan)[0] == "corn_head would run over rye, standing until 2026-12-01, beside corn"
    assert not any("over soybean beside corn" in one for one in said(plan))


DUO = '[mixtures.duo]\nplanter = "planter"\nparts = {soybean = 0.5, rye = 0.5}\n'
RYE = '[crops.rye]\nplanter = "planter"\n' + SOYBEAN + "\n"


@pytest.mark.parametrize(("height", "cleared"), [("8 in", True), ("30 in", False)])
def test_a_header_may_clear_a_mixture_between(tmp_path, height, cleared):
    shed = SHED.replace(
        'rows = 8\nspacing = "30 in"', 'rows = 8\nspacing = "30 in"\ncutting_height = "20 in"'
    )
    corn = CORN.replace("11-01", "09-01")
    relay = f'[[relay]]\ncrop = "duo"\ninto = "corn"\nheight = "{height}"\n'
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n' + relay
    found = said(plan_for(tmp_path, strips, shed + RYE + DUO, corn=corn))
    cut = "corn_head would cut duo, 30 in high, at 20 in"
    over = [f"{cut}, standing until 2026-09-25, between the rows of corn"]
    assert found == ([] if cleared else over)


def test_turning_on_the_headland_is_told_once_and_of_what_turns(tmp_path):
    shed = SHED + RYE + DUO
    headland = '[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "duo"\n'
    strips = '[[strips]]\ncrop = "duo"\nrows = 16\n[[strips]]\ncrop = "corn"\nrows = 16\n'
    for name, days in (("corn", CORN.replace("05-01", "06-01")), ("soybean", SOYBEAN)):
        shed = shed.replace(f"[crops.{name}]\n", f"[crops.{name}]\n{days}\n")
    plan = read_plan(write_plan_for(tmp_path, square(1320), shed=shed, strips=strips,
                                    headland=headland))  # fmt: skip
    told = [one for one in said(plan) if "headland" in one]
    # duo's own parts turn on nothing of theirs, and corn is cut when duo is off
    assert told == ["sowing of corn turns on the headland's duo, which stands until 2026-09-25"]


def test_a_mixture_that_is_not_grown_is_not_judged(tmp_path):
    late = RYE.replace("09-25", "12-25")
    plan = plan_for(tmp_path, BESIDE.format(16, 48), SHED + late + DUO)
    assert "ripen" not in " ".join(texts(season_of(plan, sections_of(plan)[0]).notices))
    grown = '[[strips]]\ncrop = "duo"\nrows = 16\n'
    plan = plan_for(tmp_path, grown, SHED + late + DUO)
    assert "duo: its parts ripen 91 days apart" in " ".join(
        texts(season_of(plan, sections_of(plan)[0]).notices)
    )


TREATS = """
[machines.mower]
does = "mow"
width = "{mower}"
[machines.tiller]
does = "till"
width = "30 ft"
[machines.cultivator]
does = "cultivate"
rows = 12
spacing = "30 in"
[machines.spreader]
does = "spread"
width = "60 ft"
sections = {sections}
"""
NARROW = BESIDE.format(16, 8)


def treated(folder, does, machine, *, day="2026-06-10", strips=NARROW, mower="30 ft", sections=1,
            crops='["soybean"]', corn=CORN, soybean=SOYBEAN, more=""):  # fmt: skip
    """Say what is in the way of one table of work, on 16 rows of corn and 8 of soybean, 20 ft."""
    shed = SHED.replace("rows = 16", "rows = 4").replace('width = "30 ft"', 'width = "20 ft"')
    shed += TREATS.format(mower=mower, sections=sections) + more
    when = f'day = "{day}"\n' if day else ""
    wish = f'[[operations]]\ndoes = "{does}"\nmachine = "{machine}"\ncrops = {crops}\n{when}'
    return season_of(*_planned(folder, strips + wish, shed, corn, soybean)).conflicts


def _planned(folder, strips, shed, corn, soybean):
    plan = plan_for(folder, strips, shed, corn, soybean)
    return plan, sections_of(plan)[0]


@pytest.mark.parametrize("machine", ["mower", "tiller", "cultivator"])
def test_what_works_wider_than_its_strip_beside_a_standing_crop_can_t(tmp_path, machine):
    # 30 ft of machine on 20 ft of soybean: 5 ft over either side, where corn stands 15 in off
    does = {"mower": "mow", "tiller": "till", "cultivator": "cultivate"}[machine]
    day = "2026-05-10"  # corn stands, soybean is not sown yet
    (found,) = treated(tmp_path, does, machine, day=day)
    assert found.said == (
        f"{machine} would run over corn, standing until 2026-11-01, beside soybean; a machine no "
        "wider than 20 ft would not"
    )
    assert (found.day, found.severity, found.asked) == (date(2026, 5, 10), "stop", 1)
    for day in ("2026-04-20", "2026-11-01"):  # before corn is sown, and when it is off
        assert treated(tmp_path, does, machine, day=day) == []
    corn = "[[strips]]\ncrop = 'corn'\nrows = 16\n"
    assert treated(tmp_path, does, machine, strips=corn, crops='"all"', day="2026-04-20") == []


def test_a_machine_as_wide_as_its_strip_or_that_works_both_crops_may_go(tmp_path):
    assert treated(tmp_path, "mow", "mower", mower="20 ft") == []
    assert treated(tmp_path, "mow", "mower", mower="22 ft") == []  # 12 in over, and corn 15 in off
    assert len(treated(tmp_path, "mow", "mower", mower="23 ft")) == 1  # 18 in
    assert treated(tmp_path, "mow", "mower", crops='"all"') == []
    assert treated(tmp_path, "cultivate", "cultivator", crops='"all"') == []
    # its shanks stand 30 in apart, and meet no rows 20 in apart
    other = (
        SHED.split("[machines.corn_head]")[0].replace("planter", "other").replace("30 in", "20 in")
    )
    assert other.count("other") == 1
    strips = NARROW.replace("rows = 16", 'width = "40 ft"')
    corn = 'planter = "other"\n'
    shed = SHED.replace(
        '[crops.corn]\nplanter = "planter"\nharvester = "corn_head"', f"[crops.corn]\n{corn}"
    )
    shed += other + TREATS.format(mower="30 ft", sections=1)
    wish = '[[operations]]\ndoes = "cultivate"\nmachine = "cultivator"\nday = "2026-06-10"\n'
    found = season_of(*_planned(tmp_path, strips + wish, shed, CORN, SOYBEAN)).conflicts
    assert any("cultivator would run over corn" in one.said for one in found)


def test_a_narrower_machine_of_the_kind_is_named(tmp_path):
    small = '[machines.small]\ndoes = "mow"\nwidth = "15 ft"\n'
    (found,) = treated(tmp_path, "mow", "mower", more=small)
    assert found.said.endswith("beside soybean; small, 15 ft wide, would not: take it")


@pytest.mark.parametrize(
    ("corn", "soybean", "severity", "said"),
    [
        # corn stands as long as soybean does: whichever day it is
        (CORN, SOYBEAN, "stop", "mower would run over corn, standing until 2026-11-01, beside"),
        # corn stands for a part of it
        ("sown = 2026-06-01\nharvested = 2026-11-01", SOYBEAN, "mind",
         ("mower would run over corn, standing from 2026-06-01 until 2026-11-01, beside soybean; a "
          "machine no wider than 20 ft would not; state day of operations[1], one on which it does "
          "not stand")),
        ("", "", "mind", "mower would run over corn, which may stand then, beside soybean"),
        ("", SOYBEAN, "mind", "mower would run over corn, which may stand then, beside soybean"),
        # they never meet
        ("sown = 2026-10-01\nharvested = 2026-11-01", SOYBEAN, None, ""),
    ],
)  # fmt: skip
def test_work_without_a_day_is_judged_by_all_that_stands_while_its_crop_does(
    tmp_path, corn, soybean, severity, said
):
    found = treated(tmp_path, "mow", "mower", day="", corn=corn, soybean=soybean)
    assert [one.severity for one in found] == ([severity] if severity else [])
    assert all(one.said.startswith(said) and one.day is None for one in found)
    assert all(one.told == one.said for one in found)


def test_tillage_without_a_day_comes_before_its_crop(tmp_path):
    (found,) = treated(
        tmp_path, "till", "tiller", day=""
    )  # corn may stand, sown three weeks before
    assert (found.severity, found.crop) == ("mind", "corn")
    late = "sown = 2026-05-25\nharvested = 2026-11-01"
    assert treated(tmp_path, "till", "tiller", day="", corn=late) == []


def test_a_crop_without_days_beside_work_that_has_one_may_stand(tmp_path):
    (found,) = treated(tmp_path, "mow", "mower", corn="")
    assert found.severity == "mind"
    assert found.said.endswith("; state when corn is sown and harvested")


@pytest.mark.parametrize(
    ("sections", "told"),
    # by hand: 60 ft in 12 parts of 5 ft end where 20 ft of soybean does; in 4 of 15 ft they throw 5
    # ft past it on either side; in one, 20 ft
    [(12, False), (4, True), (1, True)],
)
def test_a_boom_whose_sections_reach_over_a_standing_neighbor_is_told(tmp_path, sections, told):
    found = treated(tmp_path, "spread", "spreader", sections=sections)
    said = "spreader would spread over corn, standing until 2026-11-01, beside soybean; over it "
    said += "the label decides"
    assert [(one.said, one.severity) for one in found] == [(said, "mind")] * told


@pytest.mark.parametrize(
    ("does", "machine", "verb", "severity"),
    [
        ("mow", "mower", "run over", "stop"),
        ("cultivate", "cultivator", "run over", "stop"),
        ("spray", "sprayer", "spray", "mind"),
    ],
)
def test_what_stands_between_the_rows_of_a_treated_crop_is_told(
    tmp_path, does, machine, verb, severity
):
    relay = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
    relay += 'seeder = "planter"\n'
    soybean = "sown = 2026-06-01\nharvested = 2026-12-01"
    asked = {"strips": relay, "crops": '["corn"]', "soybean": soybean}
    found = [one for one in treated(tmp_path, does, machine, **asked) if one.asked]
    said = f"{machine} would {verb} soybean, standing until 2026-12-01, between the rows of corn"
    assert [one.said.split(";")[0] for one in found] == [said]
    assert found[0].severity == severity
    assert not [one for one in treated(tmp_path, does, machine, day="2026-05-20", **asked)
                if one.asked]  # fmt: skip


def test_tillage_on_a_day_when_its_own_crop_stands_runs_over_it(tmp_path):
    corn = "[[strips]]\ncrop = 'corn'\nrows = 16\n"
    (found,) = treated(tmp_path, "till", "tiller", strips=corn, crops='["corn"]')
    assert (
        found.said == "tiller would run over corn, standing until 2026-11-01, where it is to till"
    )
    assert found.severity == "stop"


def test_a_harvest_is_judged_on_the_day_its_table_states(tmp_path):
    shed = SHED.replace("rows = 16", "rows = 1")
    wish = '[[operations]]\ndoes = "harvest"\nmachine = "platform"\nday = "{}"\n'
    for day, told in (("2026-09-20", 1), ("2026-11-05", 0)):
        strips = BESIDE.format(16, 10) + wish.format(day)
        found = season_of(*_planned(tmp_path, strips, shed, CORN, SOYBEAN)).conflicts
        assert [one.day for one in found] == [date.fromisoformat(day)] * told


def test_each_table_of_the_same_work_is_judged_by_its_own_day(tmp_path):
    shed = SHED.replace("rows = 16", "rows = 4") + TREATS.format(mower="30 ft", sections=1)
    wish = '[[operations]]\ndoes = "mow"\nmachine = "mower"\ncrops = ["soybean"]\n'
    wishes = f'{wish}day = "2026-04-10"\n{wish}day = "2026-06-10"\n{wish}'
    plan, section = _planned(tmp_path, NARROW + wishes, shed, CORN, SOYBEAN)
    season = season_of(plan, section)
    told = of_conflicts(jobs_of(plan, section, season.days), season.conflicts)
    mowed = {one.job: one.severity for one in told if "mower" in one.text}
    assert mowed == {"mow soybean 2": "stop", "mow soybean 3": "stop"}
