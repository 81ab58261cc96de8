"""Jobs of the season: asked for or taken for granted, their order and their names."""

from datetime import date

import pytest
from fields import SHED, STRIPS, lay_on, square, texts, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.operations.jobs import jobs_of
from striplay.section.systems import sections_of


def table(does, machine, **keys):
    rest = "".join(f"{key} = {value}\n" for key, value in keys.items())
    return f'[[operations]]\ndoes = "{does}"\nmachine = "{machine}"\n{rest}'


def jobs(folder, operations="", days=(), **parts):
    parts = {"strips": STRIPS + operations, "headland": "", **parts}
    plan = read_plan(write_plan_for(folder, square(660), **parts))
    return jobs_of(plan, sections_of(plan)[0], dict(days))


def names(found):
    return [job.name for job in found]


def test_without_a_word_each_crop_is_planted_sprayed_once_and_harvested(tmp_path):
    found = jobs(tmp_path)
    assert sorted(names(found)) == [
        "harvest corn", "harvest soybean", "plant corn", "plant soybean", "spray corn",
        "spray soybean",
    ]  # fmt: skip
    ranks = [("plant", "spray", "harvest").index(job.does) for job in found]
    assert ranks == sorted(ranks)


def test_jobs_go_by_day_and_those_without_one_by_their_kind_of_work(tmp_path):
    days = {("plant", "corn"): date(2026, 5, 1)}
    found = names(jobs(tmp_path, days=days))
    assert found.index("plant corn") < found.index("spray soybean")
    assert found.index("plant corn") < found.index("harvest soybean")
    late = {
        **days,
        ("harvest", "corn"): date(2026, 10, 10),
        ("plant", "soybean"): date(2026, 5, 10),
    }
    found = names(jobs(tmp_path, days=late))
    assert found.index("spray corn") < found.index("harvest corn")
    assert found.index("plant soybean") < found.index("spray soybean")


def test_an_operation_of_a_crop_that_no_strip_grows_is_told_and_takes_nothing_away(tmp_path):
    shed = f'{SHED}\n[crops.oats]\nplanter = "planter"\nharvester = "platform"\n'
    asked = table("spray", "sprayer", crops='["oats"]')
    assert {"spray corn", "spray soybean"} <= set(names(jobs(tmp_path, asked, shed=shed)))
    layout = lay_on(tmp_path, square(660), headland="", shed=shed, strips=STRIPS + asked)
    told = [text for text in texts(layout.notices) if text.startswith("operations[1]")]
    begin = "operations[1]: spray by sprayer is left out: neither a strip nor the headland is of"
    assert told == [f"{begin} oats; what is sown between rows goes by its strip's crop"]


def test_a_crop_may_be_planted_twice(tmp_path):
    first = table("plant", "planter", crops='["corn"]', day="2026-05-01")
    again = table("plant", "planter", crops='["corn"]', day="2026-05-20", name='"replant"')
    found = jobs(tmp_path, first + again)
    assert [(job.name, job.day.day) for job in found if job.does == "plant" and job.day] == [
        ("plant corn", 1),
        ("replant", 20),
    ]
    assert sum(job.does == "plant" for job in found) == 3


def test_every_job_has_a_name_of_its_own(tmp_path):
    wanted = ["a", "a 2", "a", "a"]
    asked = "".join(
        table("spray", "sprayer", day=f"2026-06-{day:02d}", name=f'"{name}"')
        for day, name in enumerate(wanted, start=1)
    )
    found = [job.name for job in jobs(tmp_path, asked) if job.does == "spray"]
    assert len(set(found)) == len(wanted)
    assert found[:2] == ["a", "a 2"]


def test_the_headland_is_planted_last_and_opened_first_on_a_day(tmp_path):
    headland = '[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n'
    found = names(jobs(tmp_path, headland=headland))
    assert found.index("plant soybean") < found.index("plant corn")
    assert found.index("harvest corn") < found.index("harvest soybean")


def test_a_crop_named_twice_is_refused(tmp_path):
    asked = table("spray", "sprayer", crops='["corn", "corn"]')
    with pytest.raises(PlanError, match=r"operations\[1\].crops: names a crop twice"):
        jobs(tmp_path, asked)
