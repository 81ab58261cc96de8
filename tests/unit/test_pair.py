"""Pairing: each point in a line with its reason and source, the plan before the table."""

import json
import re
from dataclasses import replace
from datetime import date

import pytest
import shapely
from click.testing import CliRunner
from fields import SHED, STRIPS, lay_on, square, write_plan_for

from striplay.cli import main
from striplay.files.crop_table import crop_table
from striplay.notices import Notice
from striplay.season.facts import FAMILIES, CropFacts
from striplay.season.pairing import judge_pairs
from striplay.season.pests import SHARED
from striplay.season.setting import Setting

SETTING = Setting(42.0, 0.0, None, "us")
DAYS = {
    "corn": (date(2026, 5, 1), date(2026, 10, 1)),
    "soybean": (date(2026, 5, 11), date(2026, 9, 20)),
    "oats": (date(2026, 3, 20), date(2026, 4, 20)),
}
ABOUT = ["height", "roots", "nitrogen", "season", "family", "herbicides"]


def run(*arguments):
    return CliRunner().invoke(main, ["pair", *map(str, arguments)])


def judge(one, other, about, windows=None, setting=SETTING, together=None):
    table = crop_table()
    crops = [table[name] if isinstance(name, str) else name for name in (one, other)]
    (found,) = [
        j for j in judge_pairs(crops, setting, windows or {}, together or {}) if j.about == about
    ]
    return found


def said(*asked, **how):
    return judge(*asked, **how).said


def test_every_pair_is_judged_on_every_point():
    result = run("corn", "soybean", "winter_wheat", "--json")
    judged = json.loads(result.stdout)
    assert [j["about"] for j in judged] == ABOUT * 3
    assert all(j["said"] and j["source"] for j in judged)


def test_text_shows_pair_point_reason_and_source():
    result = run("corn", "soybean")
    lines = result.stdout.splitlines()
    assert lines[0] == "rows at 0 degrees from north, latitude 42 degrees"
    assert lines[1] == "corn and soybean"
    assert [line.split(":")[0].strip() for line in lines[2:]] == ABOUT
    assert all(line.endswith(")") for line in lines[2:])
    assert "score" not in result.stdout


def test_the_taller_shades_the_shorter():
    told = (
        "sunflower 4.1 ft taller than soybean at full height, judged on 2026-07-01, in high "
        "summer; shade from sunflower across rows: on average 4.2 ft east for 50 % and 4.2 ft west "
        "for 50 % of the sunlight; if rows ran at right angles: 1.1 ft north for 76 % and 2.5 ft "
        "south for 24 % of the sunlight; shade tolerance of soybean: medium (from memory)"
    )
    assert said("sunflower", "soybean", "height") == told
    assert said("soybean", "sunflower", "height") == told
    assert said("oats", "barley", "height") == (
        "oats and barley about equally tall: neither shades the other"
    )


def test_crops_that_never_stand_together_do_not_shade():
    """Whatever day is asked for."""
    told = "corn and oats never in the field together: no shade"
    asked = replace(SETTING, day=date(2026, 7, 1))
    for setting in (SETTING, asked):
        found = judge("corn", "oats", "height", windows=DAYS, setting=setting)
        assert (found.said, found.source) == (told, "the plan")


@pytest.mark.parametrize(
    ("windows", "day", "on"),
    [
        (DAYS, None,
         " (assumed growth, all days both are in the field); shade from corn across rows: "),
        (DAYS, date(2026, 6, 3), "on 2026-06-03 (assumed growth: "),
        (DAYS, date(2026, 5, 3), "on 2026-05-03 they are not both in the field: no shade"),
        ({}, None, "at full height, judged on 2026-07-01, in high summer; shade from corn"),
        # without harvests: the first high summer after both are sown
        ({"corn": (date(2027, 5, 1), None), "soybean": (date(2027, 7, 9), None)}, None,
         "on 2028-07-01, in high summer (assumed growth: "),
        # a crop stands from the day after its sowing
        ({"corn": (date(2027, 5, 1), None), "soybean": (date(2027, 7, 1), None)}, None,
         "on 2028-07-01, in high summer (assumed growth: "),
        # one crop's days are known: it does not stand in high summer, or on the day asked
        ({"corn": (date(2026, 8, 1), date(2026, 12, 1))}, None,
         "at full height, judged on 2027-07-01"),
        ({"corn": (date(2026, 8, 1), date(2026, 12, 1))}, date(2026, 7, 1),
         "on 2026-07-01 they are not both in the field: no shade"),
    ],
)  # fmt: skip
def test_the_day_that_shade_is_judged_for(windows, day, on):
    told = said("corn", "soybean", "height", windows=windows, setting=replace(SETTING, day=day))
    assert on in told


def test_heights_are_those_of_the_day_where_days_are_known():
    """Corn of 163 days, 16 days old: s = 0.098, t = 0.162, 3t^2 - 2t^3 = 0.070 of 2 m is 0.14 m.

    Radish of 36 days, 14 days old: s = 0.389, t = 0.854, 0.943 of 0.3 m is 0.28 m.
    """
    days = {
        "corn": (date(2026, 5, 1), date(2026, 10, 11)),
        "radish": (date(2026, 5, 3), date(2026, 6, 8)),
    }
    metric = replace(SETTING, day=date(2026, 5, 17), units="metric")
    assert said("corn", "radish", "height", windows=days, setting=metric).startswith(
        "radish 0.14 m taller than corn on 2026-05-17 (assumed growth: radish 0.28 m, corn 0.14 m)"
    )
    # on 21 May, 20 days: s = 0.123, t = 0.221, 0.125 of 2 m is 0.25 m
    later = replace(metric, day=date(2026, 5, 21))
    assert said("corn", "radish", "height", windows=days, setting=later) == (
        "radish and corn about equally tall on 2026-05-21 (assumed growth: radish 0.3 m, corn "
        "0.25 m): neither shades the other; height of corn: FAO's, 2 m; today's crop stands 2.4 m "
        "to 3 m (from memory), so set crops.corn.height"
    )
    # of the one the days are known, the other is taken full
    found = judge("corn", "radish", "height", windows={"corn": days["corn"]}, setting=metric)
    assert found.said.startswith(
        "radish 0.16 m taller than corn on 2026-05-17 (assumed growth: radish 0.3 m at full "
        "height, corn 0.14 m); shade from radish across rows: on average "
    )
    assert "growth: our choice" in found.source
    assert "our choice" not in judge("corn", "radish", "height").source


def test_a_crop_that_grows_over_southern_summer_is_no_winter_crop():
    """Corn of 212 days: north of the equator it would keep to a tenth until 20 March."""
    days = {name: (date(2025, 10, 1), date(2026, 5, 1)) for name in ("corn", "soybean")}
    setting = replace(SETTING, day=date(2026, 2, 1))
    south = replace(setting, latitude_deg=-33.0)
    assert "(assumed growth: corn 6.6 ft, " in said(
        "corn", "soybean", "height", windows=days, setting=south
    )
    assert "(assumed growth: corn 0.7 ft, " in said(
        "corn", "soybean", "height", windows=days, setting=setting
    )


def test_shade_is_judged_south_of_the_equator_and_where_the_sun_stays_low():
    south = replace(SETTING, latitude_deg=-33.0)
    assert "on 2026-01-01, in high summer" in said("corn", "oats", "height", setting=south)
    dark = Setting(66.0, 0.0, date(2026, 12, 21), "us")
    assert said("sunflower", "oats", "height", setting=dark) == (
        "sunflower 3.3 ft taller than oats at full height, judged on 2026-12-21; the sun stays too "
        "low to judge shade; shade tolerance of oats: medium (from memory)"
    )


def test_roots_shared_or_not():
    assert said("soybean", "oats", "roots").startswith("both draw from the same layer")
    assert said("corn", "potato", "roots") == (
        "they share the soil to 2 ft; below that, 3.6 ft for corn alone"
    )


def test_no_automatic_credit_for_nitrogen():
    assert "gets no credit" in said("corn", "soybean", "nitrogen")
    assert said("corn", "oats", "nitrogen").startswith("neither fixes nitrogen")
    assert said("soybean", "cowpea", "nitrogen").startswith("both fix nitrogen")


def test_only_soybean_is_told_of_its_balance():
    """58 %: International Plant Nutrition Institute, Better Crops 102(3), 2018, from memory."""
    beans = replace(crop_table()["soybean"], name="beans")
    for legume in ("soybean", "soy", beans):
        found = judge("corn", legume, "nitrogen")
        assert "58 %" in found.said
        assert "Better Crops 102(3), 2018, from memory" in found.source
    for legume in ("field_pea", "alfalfa", "red_clover", "dry_bean"):
        found = judge("corn", legume, "nitrogen")
        assert "58 %" not in found.said
        assert "Better Crops" not in found.source
        assert "depends on how much is fixed and what is harvested" in found.said
    assert "58 %" not in said("lentil", "cowpea", "nitrogen")
    assert "58 %" in said("soybean", "cowpea", "nitrogen")


@pytest.mark.parametrize(
    ("units", "corn", "wheat"),
    # lb a bushel from memory, after Ontario's Field Crop News, 2025; by the tonne with bushels
    # of 56 and 60 lb
    [
        ("us", "0.65 to 1 lb N a bushel of corn", "1.15 to 1.25 lb N a bushel of winter wheat"),
        (
            "metric",
            "11.6 to 17.9 kg N a tonne of corn",
            "19.2 to 20.8 kg N a tonne of winter wheat",
        ),
    ],
)
def test_nitrogen_speaks_the_units_asked_for(units, corn, wheat):
    found = judge("corn", "winter_wheat", "nitrogen", setting=replace(SETTING, units=units))
    assert found.said == (
        f"neither fixes nitrogen; each needs its own; harvest removes {corn}, {wheat}"
    )
    assert ("Handbook 697" in found.source) is (units == "metric")
    lines = run("corn", "winter_wheat", "--units", units).stdout
    assert f"{corn}, {wheat}" in lines
    assert (" ft " in lines) is (units == "us")


def test_days_together():
    assert said("corn", "soybean", "season", windows=DAYS) == (
        "132 days together, 2026-05-11 to 2026-09-20"
    )
    assert said("corn", "oats", "season", windows=DAYS) == ("no days together; 11 days lie between")
    assert said("corn", "soybean", "season") == (
        "corn 150 to 170 days (125 to 140 days in other climates or sowing seasons: from memory), "
        "soybean 140 days (85 to 150 days in other climates or sowing seasons: from memory); state "
        "crops.corn.sown and crops.soybean.sown, and harvested, in a plan for the days both are in "
        "the field"
    )


def test_days_together_of_crops_whose_harvest_is_not_said():
    standing = {**DAYS, "soybean": (date(2026, 5, 11), None)}
    assert said("corn", "soybean", "season", windows=standing) == (
        "together from 2026-05-11; state crops.soybean.harvested for how long"
    )
    # oats are gone before soybean is sown, whenever that is harvested
    assert said("oats", "soybean", "season", windows=standing) == (
        "no days together; 21 days lie between"
    )


VERBS = "is|are|has|have|stands?|shades?|bears?|fix|fixes|takes?|reach|reaches"


@pytest.mark.parametrize("other", sorted({facts.name for facts in crop_table().values()}))
def test_names_are_words_and_no_verb_follows_them(other):
    """So that oats, and a crop named for its plural, read as well as corn."""
    name = other.replace("_", " ")
    for beside in ("corn", "soybean", "potato"):
        if beside == other:
            continue
        for found in judge_pairs([crop_table()[beside], crop_table()[other]], SETTING, DAYS):
            keys = re.sub(r"crops\.\w+\.\w+", "", found.said)
            assert "_" not in keys
            assert not re.search(rf"\b{name} ({VERBS})\b", keys), found.said


def test_one_family_shares_pests():
    assert said("corn", "oats", "family").startswith("both of one family, grasses")
    assert "white mold" in said("soybean", "sunflower", "family")
    assert "both may host armyworm" in said("corn", "oats", "family")


def test_pests_cross_families_by_name_or_nothing_is_said():
    """Earworms, stink bugs, mites, slugs and cutworms live on corn and on soybean."""
    found = judge("corn", "soybean", "family")
    for pest in ("corn earworm", "stink bugs", "spider mites", "slugs", "cutworms"):
        assert pest in found.said
    assert found.source == "from memory"
    assert said("red_clover", "winter_squash", "family") == "legumes and squash family"
    # a sort of the plan has the pests of the crop it grows like; a stranger has none known
    assert "slugs" in said(replace(crop_table()["corn"], name="silage"), "soybean", "family")
    stranger = CropFacts("quinoa", family="beet family")
    assert said(stranger, "soybean", "family") == "beet family and legumes"


def test_pests_are_of_crops_of_the_table():
    kinds = {facts.kind for facts in crop_table().values()}
    for pest, crops in SHARED.items():
        assert len(crops) > 1, pest
        assert crops <= kinds, pest


def test_one_name_a_family():
    """Every family of the table is one of the names, and a plan's other words come to them."""
    assert {facts.family for facts in crop_table().values()} == {*FAMILIES}
    words = [word for name, also in FAMILIES.items() for word in (name, *also)]
    assert len(words) == len({*words})


def test_a_plan_may_call_a_family_by_another_name(tmp_path):
    shed = SHED.replace("[crops.corn]", '[crops.corn]\nfamily = "Gramineae"')
    plan = write_plan_for(tmp_path, square(), shed=shed)
    judged = json.loads(run("corn", "oats", "--plan", plan, "--json").stdout)
    (family,) = [j["said"] for j in judged if j["about"] == "family"]
    assert family.startswith("both of one family, grasses")


def test_what_is_autumn_sown_is_said():
    told = said("faba_bean", "winter_wheat", "season")
    assert told.startswith(
        "faba bean 235 days, autumn-sown (90 to 100 days in other climates or sowing seasons: from "
        "memory), winter wheat 240 to 335 days, autumn-sown (180 days in "
    )
    # sown in spring it takes its spring-sown days
    faba = crop_table()["faba_bean"]
    assert faba.least_days(date(2026, 4, 1)) == 90
    assert faba.least_days(date(2026, 11, 1)) == 235
    assert faba.least_days(date(2026, 4, 1), south=True) == 235
    assert crop_table()["corn"].least_days(date(2026, 4, 1)) == 150


def test_corn_and_canola_of_today_stand_taller_than_fao_s(tmp_path):
    told = (
        "height of corn: FAO's, 6.6 ft; today's crop stands 7.9 ft to 9.8 ft (from memory), so set "
        "crops.corn.height"
    )
    assert said("corn", "oats", "height").endswith(told)
    assert "today's crop stands" in said("canola", "oats", "height")
    assert "today's" not in said("soybean", "oats", "height")
    shed = SHED.replace("[crops.corn]", '[crops.corn]\nheight = "9 ft"')
    plan = write_plan_for(tmp_path, square(), shed=shed)
    assert "today's" not in run("corn", "oats", "--plan", plan).stdout


def test_clover_is_said_to_be_berseem():
    assert "berseem cut for hay" in judge("red_clover", "oats", "roots").source


def test_who_shades_whom_is_said_by_month():
    """Radish sown before sunflower stands above it first, then below; heights by hand.

    Radish of 40 days from 1 April, 0.3 m: past 45 % on 19 April, so full from then on. Sunflower
    of 100 days from 20 April, 2 m: on 1 May s = 0.11, t = 0.190, 0.095 of 2 m is 0.19 m; on 10 May
    s = 0.20, t = 0.405, 0.359 of 2 m is 0.72 m.
    """
    days = {
        "radish": (date(2026, 4, 1), date(2026, 5, 11)),
        "sunflower": (date(2026, 4, 20), date(2026, 7, 29)),
    }
    told = said("radish", "sunflower", "height", windows=days,
                setting=replace(SETTING, units="metric"))  # fmt: skip
    first, second = re.match(
        r"radish above sunflower by (\S+) m in April, then sunflower above radish by (\S+) m in "
        r"May \(assumed growth, all days both are in the field\); shade from radish across rows: "
        r"on "
        r"average .*; shade from sunflower across rows: on average ",
        told,
    ).groups()
    assert 0.2 < float(first) <= 0.3  # ten days of at most a tenth of its height
    assert 0.0 < float(second) < 0.72 - 0.3
    even = said("oats", "barley", "height", windows={"oats": days["radish"],
                                                      "barley": days["radish"]})  # fmt: skip
    assert even == (
        "oats and barley about equally tall (assumed growth, all days both are in the field): "
        "neither shades the other"
    )


def test_what_is_not_known_is_said_with_the_key_that_tells_it():
    stranger = CropFacts("quinoa")
    assert said(stranger, "corn", "height") == (
        "not known of quinoa: set crops.quinoa.height, or like"
    )
    assert said(stranger, "rye", "roots") == (
        "not known of quinoa and rye: set crops.quinoa.roots and crops.rye.roots, or like"
    )
    told = said(stranger, "sunflower", "season")
    assert told.startswith("sunflower 130 days; state crops.quinoa.sown and crops.sunflower.sown")
    assert said(stranger, "corn", "family") == (
        "not known of quinoa: set crops.quinoa.family, or like"
    )
    assert said(stranger, "corn", "nitrogen").startswith("not known of quinoa")
    assert said(stranger, "corn", "herbicides").startswith("a product must suit both quinoa and")


def test_crops_that_stand_together_must_both_bear_a_product():
    pair = frozenset({"corn", "soybean"})
    for where in ("row", "strip"):
        told = said("corn", "soybean", "herbicides", together={pair: where})
        assert told.startswith(
            f"a product must suit both corn and soybean: they stand in one {where}, where nothing "
            "can be kept off one of them; what kills grass weeds"
        )
    assert "or be kept off one;" in said("corn", "soybean", "herbicides")


def test_crops_that_follow_each_other_are_not_said_to_stand_together():
    pair = frozenset({"corn", "soybean"})
    windows = {
        "corn": (date(2026, 5, 1), date(2026, 9, 20)),
        "soybean": (date(2026, 9, 25), date(2027, 5, 1)),
    }
    told = said("corn", "soybean", "herbicides", windows=windows, together={pair: "strip"})
    assert "never in the field together" in said("corn", "soybean", "height", windows=windows)
    assert "stand in one" not in told
    assert ": one follows the other in the same strip, and what is left in the soil acts on" in told


def test_shade_of_crops_in_one_row_has_no_reach_across_rows():
    pair = frozenset({"corn", "soybean"})
    in_row = "they stand in one row, so shade falls within it, whichever way rows run; shade tol"
    full = judge("corn", "soybean", "height", together={pair: "row"})
    assert full.said.startswith(
        "corn 4.1 ft taller than soybean at full height, judged on 2026-07-01, in high summer; "
        + in_row
    )
    assert "sun" not in full.source
    grown = said("corn", "soybean", "height", windows=DAYS, together={pair: "row"})
    assert f"; {in_row}" in grown
    assert "across" not in full.said + grown
    assert "across rows" in said("corn", "soybean", "height", together={pair: "strip"})


def test_the_label_decides():
    assert said("corn", "soybean", "herbicides").endswith("The label decides")


def test_the_plan_s_values_go_before_the_table_s(tmp_path):
    corn = '[crops.corn]\nheight = "10 ft"\nsown = 2026-05-01\nharvested = 2026-10-01'
    soybean = "[crops.soybean]\nsown = 2026-05-15\nharvested = 2026-09-25"
    shed = SHED.replace("[crops.corn]", corn).replace("[crops.soybean]", soybean)
    plan = write_plan_for(tmp_path, square(), shed=shed)
    result = run("corn", "soybean", "--plan", plan, "--json")
    judged = {j["about"]: j for j in json.loads(result.stdout)}
    assert "corn above soybean by " in judged["height"]["said"]
    assert judged["height"]["source"].startswith("the plan and FAO-56")
    assert judged["season"]["said"] == ("133 days together, 2026-05-15 to 2026-09-25")
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
    assert "silage 4.1 ft taller than soybean" in result.stdout


def test_values_of_the_table_are_told_of_where_the_plan_has_none(tmp_path):
    plan = write_plan_for(tmp_path, square())
    result = run("corn", "oats", "--plan", plan, "--json")
    assert result.stderr == "note: oats: is not in the plan; the table's values are used\n"
    assert len(json.loads(result.stdout)) == len(ABOUT)


def test_a_crop_that_nothing_is_known_of_names_the_keys_to_set(tmp_path):
    shed = SHED + '[crops.quinoa]\nplanter = "planter"\n[crops.silage]\nplanter = "planter"\n'
    plan = write_plan_for(tmp_path, square(), shed=f'{shed}like = "cron"\n')
    assert run("corn", "quinoa", "silage", "--plan", plan).stderr.splitlines() == [
        (
            "note: quinoa: nothing is known of it; under [crops.quinoa] set like (a crop of the "
            "table it grows like), or height, roots, family and shade"
        ),
        'note: crops.silage.like: no crop "cron" in the table, did you mean "corn"?',
    ]


def test_what_is_asked_goes_before_the_plan_s(tmp_path):
    plan = write_plan_for(tmp_path, square(), direction="heading = 30")
    plan.write_text(f'units = "metric"\n{plan.read_text()}')
    told = run("corn", "soybean", "--plan", plan).stdout
    assert "1.25 m taller" in told
    assert "kg N a tonne" in told
    assert told.startswith("rows at 30 degrees from north, latitude 42 degrees\n")
    asked = ("--units", "us", "--heading", "0", "--latitude", "50")
    told = run("corn", "soybean", "--plan", plan, *asked).stdout
    assert "4.1 ft taller" in told
    assert "lb N a bushel" in told
    assert told.startswith("rows at 0 degrees from north, latitude 50 degrees\n")


def test_json_says_which_heading_and_latitude_were_used(tmp_path):
    plan = write_plan_for(tmp_path, square(), direction="heading = 30")
    for judged in json.loads(run("corn", "soybean", "--plan", plan, "--json").stdout):
        assert judged["heading_deg"] == 30
        assert judged["latitude_deg"] == pytest.approx(42, abs=0.01)


def test_a_heading_that_is_not_known_yet_is_said(tmp_path):
    plan = write_plan_for(tmp_path, square(), direction='heading = "best"')
    note = (
        'note: direction.heading: "best" is found by lay, not by pair; shade is judged for rows at '
        "0 degrees; --heading says another\n"
    )
    assert run("corn", "soybean", "--plan", plan).stderr == note
    assert run("corn", "soybean", "--plan", plan, "--heading", "20").stderr == ""
    plan = write_plan_for(tmp_path, square(), direction="pivot = [-93.5, 42.0]", headland="")
    assert run("corn", "soybean", "--plan", plan).stderr.startswith(
        "note: direction: rows along a curve have no one heading; shade is judged for rows at 0 "
    )


def test_who_stands_together_is_taken_from_the_plan(tmp_path):
    """A relay's crops share a strip; a mixture's a row; strips beside each other nothing."""
    relay = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
    duo = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    mixed = '[[strips]]\ncrop = "duo"\nrows = 16\n'

    def told(shed, strips, *names):
        plan = write_plan_for(tmp_path, square(), shed=shed, strips=strips, headland="")
        return run(*names, "--plan", plan).stdout

    beside = told(SHED + duo, STRIPS, "corn", "soybean")
    assert "or be kept off one" in beside
    # a mixture is judged as one, though the plan has no strip of it
    assert "they stand in one row, where" in told(SHED + duo, STRIPS, "duo", "oats")
    assert "they stand in one row, where" in told(SHED + duo, mixed, "corn", "soybean")
    assert "they stand in one row, so shade" in told(SHED + duo, mixed, "corn", "soybean")
    shared = told(SHED, relay, "corn", "soybean")
    assert "they stand in one strip, where" in shared
    assert "across rows" in shared
    # a plan without strips says nothing of it
    assert "or be kept off one" in told(SHED, "", "corn", "soybean")


def test_lay_too_knows_who_stands_together(tmp_path):
    shed = SHED + '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    strips = '[[strips]]\ncrop = "duo"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips)
    judged = {one["about"]: one["said"] for one in layout.accounts["pairs"]}
    assert "they stand in one row, so shade" in judged["height"]
    assert "they stand in one row, where" in judged["herbicides"]


def test_a_word_that_names_no_crop_is_told_by_lay(tmp_path):
    shed = SHED.replace("[crops.corn]", '[crops.corn]\nlike = "wintr_wheat"')
    assert lay_on(tmp_path, square(1320), shed=shed).notices[-1] == Notice(
        "crop",
        "mind",
        None,
        'crops.corn.like: no crop "wintr_wheat" in the table, did you mean "winter_wheat"?',
    )


def test_one_crop_under_two_names_is_refused_but_two_sorts_are_not(tmp_path):
    result = run("corn", "maize")
    assert result.exit_code == 2
    assert result.stderr == "striplay: pair: corn and maize are one crop; name it once\n"
    assert run("maize", "soy").exit_code == 0
    shed = SHED + '[crops.maize]\nplanter = "planter"\n'
    plan = write_plan_for(tmp_path, square(), shed=shed)
    assert run("corn", "maize", "--plan", plan).exit_code == 0


def test_what_is_known_is_listed_and_no_fault():
    one = run("corn", "soyban").stderr
    assert one.startswith(
        'striplay: pair: no crop "soyban", did you mean "soybean"?; known are alfalfa, barley, '
    )
    assert "faults" not in one
    lines = run("cron", "soyban").stderr.splitlines()
    assert lines[0] == "striplay: pair: 2 faults"
    assert lines[1] == '  no crop "cron", did you mean "corn"?'
    assert lines[2].startswith('  no crop "soyban", did you mean "soybean"?; known are alfalfa, ')


@pytest.mark.parametrize("day", ["2026-02-30", "June", "2026-06-15T10:00:00", "20260615"])
def test_what_is_no_day_is_refused_in_words(day):
    result = run("corn", "soybean", "--day", day)
    assert result.exit_code == 2
    assert result.stderr.endswith(
        f"'--day': {day} is no day; write year-month-day, such as 2026-06-15\n"
    )


def test_a_crop_in_two_mixtures_is_judged_once(tmp_path):
    shed = SHED + '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    plan = write_plan_for(tmp_path, square(), shed=shed)
    judged = json.loads(run("duo", "corn", "--plan", plan, "--json").stdout)
    assert {tuple(j["crops"]) for j in judged} == {("corn", "soybean")}


def test_a_relay_s_pairs_are_judged_on_its_days(tmp_path):
    """In what `lay` says: soybean sown 20 May into wheat cut 5 July, 46 days."""
    shed = SHED.replace("[crops.soybean]", "[crops.soybean]\nsown = 2026-05-20\n"
                        "harvested = 2026-09-25")  # fmt: skip
    shed += (
        '[machines.drill]\ndoes = "plant"\nwidth = "30 ft"\nspacing = "15 in"\n[crops.wheat]\n'
        'planter = "drill"\nharvester = "platform"\nsown = 2025-10-01\nharvested = 2026-07-05\n'
    )
    strips = (
        '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\n'
        '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\n'
    )
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland="")
    judged = {one["about"]: one["said"] for one in layout.accounts["pairs"]}
    assert judged["season"] == "46 days together, 2026-05-20 to 2026-07-05"
    assert "above soybean by" in judged["height"]
    assert "in May" in judged["height"]
    assert "they stand in one strip" in judged["herbicides"]


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


def test_rows_that_turn_have_no_one_reach_of_shade(tmp_path):
    disc = shapely.Point(0, 0).buffer(150)
    layout = lay_on(tmp_path, disc, direction="pivot = [-93.5, 42.0]", headland="")
    assert "across rows on average, as they turn" in layout.pairs[0].said
