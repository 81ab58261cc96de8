"""Wheel paths of all jobs over one section: rows run over, ground run on, and cures."""

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from fields import SHED, square, texts, write_plan_for

from striplay.files.plan import read_plan
from striplay.operations.jobs import Job, jobs_of
from striplay.operations.stands import standing_at
from striplay.operations.wheels import (
    covered,
    next_season,
    on_each_other,
    passes_of,
    paths_of,
    rows_over,
    traffic,
)
from striplay.operations.wheels_told import wheel_verdicts
from striplay.section.section import Tramlines
from striplay.section.systems import sections_of

EQUAL = '[[strips]]\ncrop = "corn"\nrows = 12\n[[strips]]\ncrop = "soybean"\nrows = 12\n'
DAYS = {
    ("plant", "corn"): date(2026, 5, 1),
    ("plant", "soybean"): date(2026, 5, 20),
    ("harvest", "soybean"): date(2026, 9, 20),
    ("harvest", "corn"): date(2026, 10, 10),
}


def shed(planter=120, spray=120, corn=120, beans=120, tire=18, rows=12, boom="30 ft"):
    """Give machines with treads in inches; None leaves one out."""
    text = SHED.replace("rows = 16", f"rows = {rows}").replace('"120 ft"', f'"{boom}"')
    text = text.replace("rows = 8\n", "rows = 12\n").replace("sections = 12", "sections = 1")
    for name, tread in (
        ("planter", planter), ("corn_head", corn), ("platform", beans), ("sprayer", spray),
    ):  # fmt: skip
        if tread is not None:
            said = f'[machines.{name}]\ntread = "{tread} in"\ntire = "{tire} in"\n'
            text = text.replace(f"[machines.{name}]\n", said)
    return text


def planned(folder, machines, strips=EQUAL, more=""):
    plan = read_plan(write_plan_for(folder, square(1320), shed=machines + more, strips=strips))
    section = sections_of(plan)[0]
    return plan, section, jobs_of(plan, section, DAYS)


def job_named(jobs, name):
    return next(job for job in jobs if job.name == name)


def test_a_crop_stands_from_the_job_that_plants_it_to_the_one_that_harvests_it():
    def job(does, crop, day=None):
        return Job(f"{does} {crop}", does, "m", (crop,), day)

    first, last = date(2026, 5, 1), date(2026, 9, 1)
    jobs = (
        job("plant", "corn", first), job("plant", "beans", date(2026, 5, 20)),
        job("spray", "corn", date(2026, 6, 1)), job("harvest", "beans", last),
        job("harvest", "corn", date(2026, 10, 1)), job("spray", "corn", date(2026, 11, 1)),
    )  # fmt: skip
    found = [sorted(names) for names in standing_at(jobs, {})]
    assert found == [[], ["corn"], ["beans", "corn"], ["corn"], [], []]
    undated = (jobs[0], job("spray", "corn"), *jobs[1:2], *jobs[3:5])
    assert sorted(standing_at(undated, {})[1]) == ["beans", "corn"]
    by_hand = (jobs[0], jobs[1], job("spray", "beans", date(2026, 8, 1)), jobs[3])
    assert sorted(standing_at(by_hand, {("harvest", "corn"): date(2026, 7, 1)})[2]) == ["beans"]


def test_treads_that_keep_between_the_rows_do_and_others_do_not(tmp_path):
    plan, section, jobs = planned(tmp_path, shed(spray=120))
    spray = job_named(jobs, "spray corn")
    (over,) = rows_over(plan, section, paths_of(plan, section, spray), frozenset({"corn"}))
    assert (over.rows, over.near, over.of, over.share) == (0, 0, 12, 0.0)
    plan, section, jobs = planned(tmp_path, shed(spray=90))
    (over,) = rows_over(plan, section, paths_of(plan, section, spray), frozenset({"corn"}))
    assert (over.rows, over.of, over.share) == (2, 12, 2 / 12)


def test_a_tire_too_near_to_a_row_is_not_on_it(tmp_path):
    # 80 in: 5 in from a row; a tire of 9 in ends half an inch short of it, where an inch is asked
    plan, section, jobs = planned(tmp_path, shed(spray=80, tire=9))
    paths = paths_of(plan, section, job_named(jobs, "spray corn"))
    (over,) = rows_over(plan, section, paths, frozenset({"corn"}))
    assert (over.rows, over.near) == (0, 2)


def test_what_is_not_harvested_may_be_driven_over(tmp_path):
    plan, section, jobs = planned(tmp_path, shed(spray=90))
    paths = paths_of(plan, section, job_named(jobs, "spray corn"))
    bare = plan.crops["corn"].model_copy(update={"harvester": "none"})
    cover = plan.model_copy(update={"crops": {**plan.crops, "corn": bare}})
    assert rows_over(cover, section, paths, frozenset({"corn"})) == []
    assert rows_over(plan, section, paths, frozenset({"corn"}))[0].rows == 2


def test_a_mower_drives_on_what_it_mows_and_on_nothing_else(tmp_path):
    plan, section, jobs = planned(tmp_path, shed(spray=90))
    paths = paths_of(plan, section, job_named(jobs, "spray corn"))
    mown = replace(paths, job=replace(paths.job, does="mow"))
    assert rows_over(plan, section, mown, frozenset({"corn"})) == []
    other = replace(mown, job=replace(mown.job, crops=("soybean",)))
    assert rows_over(plan, section, other, frozenset({"corn"}))[0].rows == 2


def test_a_combine_runs_over_rows_that_its_narrow_header_has_yet_to_cut(tmp_path):
    narrow = shed(corn=150).replace("rows = 12\nspacing", "rows = 4\nspacing")
    head = narrow.replace("rows = 4\nspacing", "rows = 12\nspacing", 1)  # the planter's
    plan, section, jobs = planned(tmp_path, head)
    reap = job_named(jobs, "harvest corn")
    (over,) = rows_over(plan, section, paths_of(plan, section, reap), frozenset())
    # 75 in from each middle, 60 in of header: a row beyond the first and the second pass
    assert (over.crop, over.rows, over.of) == ("corn", 2, 12)
    wide, section, jobs = planned(tmp_path, shed(corn=150))
    assert rows_over(wide, section, paths_of(wide, section, reap), frozenset()) == []


def test_covered_ground_is_the_union_of_bands_round_the_set():
    """Against a count of a million points, bands laid at random."""
    chance = np.random.default_rng(1)
    for _ in range(20):
        low_m = chance.uniform(-30, 30, 9)
        high_m = low_m + chance.uniform(0, 4, 9)
        at_m = (np.arange(200_000) + 0.5) / 200_000 * 20.0
        off_m = (at_m[:, None] - low_m) % 20.0
        counted = float((off_m < high_m - low_m).any(axis=1).mean()) * 20.0
        assert covered(low_m, high_m, 20.0) == pytest.approx(counted, abs=2e-3)


def test_ground_run_on_adds_up_pass_by_pass_and_tracks_on_tracks_add_nothing(tmp_path):
    plan, section, jobs = planned(tmp_path, shed())
    every = [paths_of(plan, section, job) for job in jobs]
    found = traffic(every)
    assert [one.passes for one in found] == [1, 2, 3, 4, 5, 6]
    tire = 36 / (24 * 30)
    assert found[0].share == pytest.approx(tire)
    assert found[-1].share == pytest.approx(2 * tire)
    assert [one.again for one in found] == [
        None,
        *[pytest.approx(1.0)],
        None,
        *[pytest.approx(1.0)] * 3,
    ]
    plan, section, jobs = planned(tmp_path, shed(corn=60))
    last = traffic([paths_of(plan, section, job) for job in jobs])[-1]
    assert last.share == pytest.approx(3 * tire)
    assert last.again == pytest.approx(0.0)


def test_tracks_stay_when_crops_swap_places_where_strips_and_treads_are_alike(tmp_path):
    plan, section, jobs = planned(tmp_path, shed())
    paths = [paths_of(plan, section, job) for job in jobs]
    changed = next_season(plan, section)
    swapped = sections_of(changed)[0]
    assert [strip.crop for strip in swapped.strips] == ["soybean", "corn"]
    again = [paths_of(changed, swapped, job) for job in jobs_of(changed, swapped, DAYS)]
    assert on_each_other(again, paths) == pytest.approx(1.0)
    moved = [replace(one, at_m=one.at_m + 1.0) for one in again]
    assert on_each_other(moved, paths) == pytest.approx(0.0)
    uneven = EQUAL.replace("rows = 12", "rows = 24", 1)
    plan, section, _ = planned(tmp_path, shed(), uneven)
    changed = next_season(plan, section)
    assert [(strip.crop, strip.rows) for strip in sections_of(changed)[0].strips] == [
        ("soybean", 24),
        ("corn", 12),
    ]
    plan, section, _ = planned(tmp_path, shed(), EQUAL.replace("soybean", "corn"))
    assert next_season(plan, section) is None


def told(folder, machines, strips=EQUAL, more=""):
    plan, section, jobs = planned(folder, machines, strips, more)
    return list(wheel_verdicts(plan, section, jobs, DAYS))


def test_yes_where_all_wheels_run_between_the_rows_on_the_same_tracks(tmp_path):
    found = told(tmp_path, shed())
    assert {one.severity for one in found} == {"know"}
    assert {one.kind for one in found} == {"wheels"}
    between, ground, swapped = texts(found)
    assert between == (
        "wheels run between all rows that stand: spray corn, plant soybean, spray soybean, harvest "
        "soybean"
    )
    assert ground == (
        "wheels run on 10 % of the ground in the season; controlled traffic keeps to "
        "25 % (conservation stewardship, U.S. Department of Agriculture); every operation keeps to "
        "the tracks of the first on its crops"
    )
    assert swapped == "when crops swap places next season, wheels keep to this season's tracks"


def test_at_a_cost_where_a_sprayer_runs_over_rows_and_its_cures_are_true(tmp_path):
    found = told(tmp_path, shed(spray=90))
    over = [one for one in found if "rows" in one.text and one.severity == "mind"]
    assert [(one.kind, one.severity) for one in over] == [("wheels", "mind")] * 2
    assert over[0].text == (
        "spray corn: wheels of sprayer run on 2 of 12 rows of corn that may stand (no day is "
        "given), 17 % of its row length; a tread of 60 in or 120 in, or passes shifted by half a "
        "row, 15 in, or strips of 11 rows of corn would keep off all"
    )
    for inches in (60, 120):
        assert not [one for one in told(tmp_path, shed(spray=inches)) if one.severity != "know"]
    odd = EQUAL.replace("rows = 12", "rows = 11", 1)
    after = told(tmp_path, shed(spray=90), odd)
    assert not any(
        "rows of corn that may stand" in one.text for one in after if "spray" in one.text
    )


def test_no_where_every_row_of_a_crop_is_run_over(tmp_path):
    two = '[[strips]]\ncrop = "corn"\nrows = 2\n[[strips]]\ncrop = "soybean"\nrows = 22\n'
    found = told(tmp_path, shed(spray=90, tire=70), two)
    stopped = [one for one in found if one.severity == "stop"]
    assert "run on 2 of 2 rows of corn that may stand" in stopped[0].text
    assert "100 % of its row length" in stopped[0].text


def test_machines_without_tread_or_tire_are_told_once_and_not_judged(tmp_path):
    found = texts(told(tmp_path, shed(planter=None, spray=None)))
    assert found[0] == "wheels of planter, sprayer are not judged: state tread and tire of each"
    assert sum("not judged" in text for text in found) == 1


def test_the_ground_run_on_is_told_beside_a_quarter(tmp_path):
    found = told(tmp_path, shed(planter=60, tire=20))
    ground = [one for one in found if "of the ground in the season" in one.text]
    assert [one.severity for one in ground] == ["know"]
    found = told(tmp_path, shed(planter=60, spray=120, corn=180, beans=240, tire=28))
    ground = [one for one in found if "of the ground in the season" in one.text]
    assert [one.severity for one in ground] == ["know"]
    assert int(re.search(r"run on (\d+) %", ground[0].text)[1]) > 25


def test_a_planter_whose_tires_run_where_it_plants_is_told_with_the_treads_that_do_not(tmp_path):
    found = [one for one in told(tmp_path, shed(planter=88)) if "it plants" in one.text]
    assert [one.severity for one in found] == ["know", "know"]
    assert "run on the ground of 2 of 12 rows of corn it plants" in found[0].text
    assert "a tread of 60 in or 120 in" in found[0].text


BOOM = '[[operations]]\ndoes = "spray"\nmachine = "sprayer"\n'


def test_a_boom_over_several_sets_runs_once_over_all_of_them_on_its_tramlines(tmp_path):
    """Sets of 60 ft, a boom of 120 ft: one pass over every second set, for both crops."""
    plan, section, jobs = planned(tmp_path, shed(boom="120 ft"), EQUAL, BOOM)
    assert section.tramlines[0].sets == 2
    spray = next(job for job in jobs if job.does == "spray")
    passes, sets = passes_of(section, spray)
    assert (len(passes), sets) == (1, 2)
    found = list(wheel_verdicts(plan, section, jobs, DAYS))
    # planting and harvest of both strips in both sets, and the one pass of the boom
    driven = [paths_of(plan, section, job, sets) for job in jobs]
    assert traffic([one for one in driven if one is not None])[-1].passes == 9
    assert not [one for one in found if "rows" in one.text and one.severity != "know"]


def test_lines_of_a_boom_that_lie_over_other_crops_only_are_not_driven(tmp_path):
    wide = '[[strips]]\ncrop = "corn"\nrows = 48\n[[strips]]\ncrop = "soybean"\nrows = 96\n'
    _, section, jobs = planned(tmp_path, shed(), wide)
    middles_m = tuple(feet * 0.3048 for feet in (60, 180, 300))
    lines = Tramlines(
        "spray", "sprayer", 120 * 0.3048, 1, section.width_m, middles_m, ("corn", "soybean")
    )
    section = replace(section, tramlines=(lines,))
    spray = job_named(jobs, "spray corn")
    for crop, expected in (("corn", middles_m[:1]), ("soybean", middles_m[1:])):
        passes, sets = passes_of(section, replace(spray, crops=(crop,)))
        assert sets == 1
        assert tuple(one.middle_m for one in passes) == pytest.approx(expected)
