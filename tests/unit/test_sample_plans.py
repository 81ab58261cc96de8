"""The samples are plans an adviser would show: a reason, equal strips, dates, wheels, no stop."""

import tomllib

import pytest
from fields import NAMES, SAMPLES, sample

from striplay.files.plan import read_plan
from striplay.flow import lay

PLANS = sorted(SAMPLES.glob("*/*.toml"))
IDS = [f"{path.parent.name}/{path.stem}" for path in PLANS]


@pytest.mark.parametrize("path", PLANS, ids=IDS)
def test_a_sample_says_it_is_invented_and_why_it_is_so(path):
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# An invented farm: ")
    assert "\n# Why " in text.split("\ntitle = ")[0]
    assert "(invented farm)" in tomllib.loads(text)["title"]


@pytest.mark.parametrize("path", PLANS, ids=IDS)
def test_every_crop_of_a_sample_has_its_days(path):
    crops = tomllib.loads(path.read_text(encoding="utf-8"))["crops"].values()
    assert all({"sown", "harvested"} <= set(crop) for crop in crops)


def test_every_system_has_a_sample():
    keys = {key for path in PLANS for key in tomllib.loads(path.read_text(encoding="utf-8"))}
    assert {"strips", "row_set", "relay", "quick_crop", "mixtures", "after_harvest"} <= keys


@pytest.mark.parametrize("name", NAMES)
def test_strips_of_a_sample_are_equal_and_fit_their_machines(name):
    layout = sample(name)
    assert len({round(strip.width_m, 6) for strip in layout.section.strips}) == 1
    assert all(machine.turning_radius_m for machine in layout.plan.machines.values())
    treads = {key: machine.tread_m for key, machine in layout.plan.machines.items()}
    assert all(treads[crop.harvester] for crop in layout.plan.crops.values() if crop.harvester)
    assert not [notice for notice in layout.notices if notice.severity == "stop"]
    assert not [notice for notice in layout.notices if "not fit" in notice.text]


def test_the_sample_of_a_cover_crop_is_ended_across_strips_and_has_no_stop():
    layout = lay(read_plan(SAMPLES / "quarter_section" / "cover.toml"))
    passes = {one.job.name: len(one.route) for one in layout.operations.each}
    # 62 strips of 40 ft are 2,480 ft: 21 booms of 120 ft
    assert (passes["plant rye"], passes["end rye"]) == (62, 21)
    assert not [notice for notice in layout.notices if notice.severity == "stop"]
