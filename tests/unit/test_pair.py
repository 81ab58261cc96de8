"""Pairing: each point in a line with its reason and source, the plan before the table."""

import json
from datetime import date

import pytest
from click.testing import CliRunner
from fields import SHED, square, write_plan_for

from striplay.cli import main
from striplay.files.crop_table import crop_table
from striplay.season.facts import CropFacts
from striplay.season.pairing import Setting, judge_pairs

SETTING = Setting(42.0, 0.0, date(2026, 7, 1), "us")
ABOUT = ["height", "roots", "nitrogen", "season", "family", "herbicides"]


def run(*arguments):
    return CliRunner().invoke(main, ["pair", *map(str, arguments)])


def said(one, other, about, windows=None):
    table = crop_table()
    crops = [table[name] if isinstance(name, str) else name for name in (one, other)]
    (found,) = [j for j in judge_pairs(crops, SETTING, windows or {}) if j.about == about]
    return found.said


def test_every_pair_is_judged_on_every_point():
    result = run("corn", "soybean", "winter_wheat", "--json")
    judged = json.loads(result.stdout)
    assert [j["about"] for j in judged] == ABOUT * 3
    assert all(j["said"] and j["source"] for j in judged)


def test_text_shows_pair_point_reason_and_source():
    result = run("corn", "soybean")
    lines = result.stdout.splitlines()
    assert lines[0] == "corn and soybean"
    assert [line.split(":")[0].strip() for line in lines[1:]] == ABOUT
    assert all(line.endswith(")") for line in lines[1:])
    assert "score" not in result.stdout


def test_the_taller_shades_the_shorter():
    assert said("corn", "soybean", "height").startswith("corn stands 4.1 ft above soybean")
    assert said("soybean", "corn", "height").startswith("corn stands 4.1 ft above soybean")
    assert said("oats", "barley", "height").startswith("as tall as each other")


def test_roots_shared_or_not():
    assert said("soybean", "oats", "roots").startswith("both draw from the same layer")
    assert "below, corn has" in said("corn", "potato", "roots")


def test_no_automatic_credit_for_nitrogen():
    assert "gets no credit" in said("corn", "soybean", "nitrogen")
    assert said("corn", "oats", "nitrogen").startswith("neither fixes nitrogen")
    assert said("soybean", "cowpea", "nitrogen").startswith("both fix nitrogen")


def test_overlap_of_seasons_in_days():
    windows = {
        "corn": (date(2026, 5, 1), date(2026, 10, 1)),
        "soybean": (date(2026, 5, 11), date(2026, 9, 20)),
        "oats": (date(2026, 3, 20), date(2026, 4, 20)),
    }
    assert said("corn", "soybean", "season", windows) == "stand together for 132 days"
    assert said("corn", "oats", "season", windows) == "never stand together; 11 days lie between"
    assert "corn 150 to 170 days, soybean 140 days" in said("corn", "soybean", "season")


def test_one_family_shares_pests():
    assert said("corn", "oats", "family").startswith("both are grasses")
    assert said("corn", "potato", "family").startswith("grasses and nightshades")
    assert "white mould" in said("soybean", "sunflower", "family")


def test_what_is_not_known_is_said():
    stranger = CropFacts("quinoa")
    assert said(stranger, "corn", "height").startswith("not known for both")
    assert said(stranger, "corn", "roots").startswith("depth not known")
    assert said(stranger, "corn", "season").startswith("length not known")
    assert said(stranger, "corn", "family") == "not known for both"


def test_the_label_decides():
    assert said("corn", "soybean", "herbicides").endswith("The label decides")


def test_the_plan_s_values_go_before_the_table_s(tmp_path):
    corn = '[crops.corn]\nheight = "10 ft"\nsown = 2026-05-01\nharvested = 2026-10-01'
    soybean = "[crops.soybean]\nsown = 2026-05-15\nharvested = 2026-09-25"
    shed = SHED.replace("[crops.corn]", corn).replace("[crops.soybean]", soybean)
    plan = write_plan_for(tmp_path, square(), shed=shed)
    result = run("corn", "soybean", "--plan", plan, "--json")
    judged = {j["about"]: j for j in json.loads(result.stdout)}
    assert judged["height"]["said"].startswith("corn stands 7.5 ft above soybean")
    assert judged["height"]["source"].startswith("the plan and FAO-56")
    assert judged["season"]["said"] == "stand together for 133 days"
    assert judged["season"]["source"] == "the plan"


def test_a_mixture_of_the_plan_is_judged_by_its_parts(tmp_path):
    shed = SHED + '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    plan = write_plan_for(tmp_path, square(), shed=shed)
    judged = json.loads(run("duo", "oats", "--plan", plan, "--json").stdout)
    assert {tuple(j["crops"]) for j in judged} == {
        ("corn", "soybean"), ("corn", "oats"), ("soybean", "oats"),
    }  # fmt: skip


def test_a_crop_may_grow_like_another(tmp_path):
    shed = SHED + '[crops.silage]\nplanter = "planter"\nlike = "corn"\n'
    plan = write_plan_for(tmp_path, square(), shed=shed)
    result = run("silage", "soybean", "--plan", plan)
    assert "silage stands 4.1 ft above soybean" in result.stdout


@pytest.mark.parametrize(
    ("crops", "told"),
    [
        (("corn",), "striplay: pair: needs two crops or more"),
        (("corn", "corn"), "striplay: pair: names a crop twice"),
        (("corn", "soyban"), 'no crop "soyban", did you mean "soybean"?'),
    ],
)
def test_refusals(crops, told):
    result = run(*crops)
    assert result.exit_code == 2
    assert told in result.stderr
    assert "Traceback" not in result.stderr
