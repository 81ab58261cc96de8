"""The five systems judged for a plan: tables that `lay` takes, what is needed, what is known."""

import tomllib
from datetime import date

import pytest
from fields import FOOT_M, SAMPLES, SHED, square, write_plan_for

from striplay.choosing.between_rows import twin_rows_m
from striplay.choosing.evidence import OF_SYSTEM, of_edges
from striplay.choosing.systems import SYSTEMS, judge_systems
from striplay.choosing.tables import put_in, written
from striplay.economics.edges import edge_table
from striplay.errors import PlanError
from striplay.files.edge_table import published_edges
from striplay.files.plan import checked, read_plan
from striplay.flow import lay

PLANS = sorted(SAMPLES.glob("*/*.toml"))
IDS = [f"{path.parent.name}/{path.stem}" for path in PLANS]
KEYS = {"rows": "row_set", "strips": "strips", "mixed stand": "mixtures", "relay": "relay",
        "quick crop": "quick_crop"}  # fmt: skip
DAYS = {"corn": (date(2026, 5, 2), date(2026, 10, 20)),
        "soybean": (date(2026, 5, 11), date(2026, 9, 30))}  # fmt: skip
BARE = '[headland]\nwhere = "none"\n'


def dated(shed=SHED, days=DAYS):
    for crop, (sown, harvested) in days.items():
        shed = shed.replace(
            f"[crops.{crop}]\n", f"[crops.{crop}]\nsown = {sown}\nharvested = {harvested}\n"
        )
    return shed


def judged(folder, **parts):
    parts = {"shed": dated(), "headland": BARE, "shape": square(800)} | parts
    path = write_plan_for(folder, parts.pop("shape"), **parts)
    return {one.system: one for one in judge_systems(path)}


@pytest.mark.parametrize("path", PLANS, ids=IDS)
def test_each_snippet_put_into_a_sample_plan_is_laid(path):
    tables = tomllib.loads(path.read_text(encoding="utf-8"))
    found = judge_systems(path)
    assert [one.system for one in found] == list(SYSTEMS)
    for one in found:
        own = tomllib.loads(one.snippet)
        put = put_in(tables, own)
        assert KEYS[one.system] in put, one.system
        plan = checked(put, path)
        at = plan.direction.model_copy(update={"heading": 0.0})  # the best would be looked for
        layout = lay(plan.model_copy(update={"direction": at}))
        assert len(layout.laid.blocks[0].pieces.strips.strip), one.system
        assert sum(layout.areas_m2.values()) == pytest.approx(layout.ground.outline.area, rel=1e-9)
        grown = {layer.grown for layer in layout.section.layers}
        wanted = {"mixed stand": "mixed", "relay": "relay", "quick crop": "quick crop"}
        assert wanted.get(one.system, "own") in grown or one.system in {"rows", "strips"}
        assert one.feasible == (not one.needs)
        assert one.gives
        assert all(each.source for each in one.gives)


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("quarter_section/row_set.toml", "rows"),
        ("quarter_section/plan.toml", "strips"),
        ("two_parts/mixed.toml", "mixed stand"),
        ("creek_side/relay.toml", "relay"),
        ("pond_ell/quick_crop.toml", "quick crop"),
    ],
)
def test_a_sample_of_a_system_can_do_it_as_it_stands(name, system):
    found = {one.system: one for one in judge_systems(SAMPLES / name)}
    assert found[system].needs == ()
    assert found[system].feasible


def test_a_row_set_asks_for_one_day(tmp_path):
    rows = judged(tmp_path)["rows"]
    assert rows.needs == (
        "one day of sowing for what one pass sows; now corn 2026-05-02, soybean 2026-05-11",
    )
    assert tomllib.loads(rows.snippet)["crops"]["corn"]["sown"] == date(2026, 5, 11)


def test_a_row_set_on_one_day_can_be_done(tmp_path):
    same = {"corn": DAYS["corn"], "soybean": (DAYS["corn"][0], DAYS["soybean"][1])}
    rows = judged(tmp_path, shed=dated(days=same))["rows"]
    assert rows.needs == ()
    # 8-row header, 30-ft platform, 16-row planter: 8-row strips fit the one, not the other
    units = tomllib.loads(rows.snippet)["row_set"][0]["units"]
    assert units == "8 corn, 8 soybean"


def test_a_row_set_names_the_harvester_that_does_not_fit(tmp_path):
    shed = dated().replace('rows = 8\nspacing = "30 in"', 'rows = 12\nspacing = "30 in"')
    needs = judged(tmp_path, shed=shed)["rows"].needs
    assert "a harvester that fits corn: rows of 2 planter passes; 16 rows are 1.33 header" in (
        " ".join(needs)
    )


def test_strips_fit_no_wider_than_contour_strips_are_on_the_slope(tmp_path):
    # practice 585 as published: 50 ft at most on 21 to 25 %
    steep = judged(tmp_path, strips=f"{STRIPS}[slope]\npercent = 22\n")["strips"]
    widths_ft = [one["passes"] * 40 for one in tomllib.loads(steep.snippet)["strips"]]
    assert max(widths_ft) <= 50
    assert any("rollover danger" in one for one in steep.watch)
    assert not any("is wider than the" in one for one in steep.watch)
    flat = judged(tmp_path, strips=STRIPS)["strips"]
    assert not any("practice 585" in one or "rollover" in one for one in flat.watch)


STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'


RIPE = "sorts that ripen together: corn and soybean are harvested 20 days apart, and 14 is the most"


def test_a_mixed_stand_names_what_keeps_crops_from_one_row(tmp_path):
    assert judged(tmp_path)["mixed stand"].needs == (
        "one machine that harvests both at once, grain or forage: now corn_head and platform",
        "one day of sowing for what one pass sows; now corn 2026-05-02, soybean 2026-05-11",
        RIPE,
    )


def test_a_relay_asks_for_drill_host_and_heights(tmp_path):
    relay = judged(tmp_path)["relay"]
    assert relay.what == "soybean into wheat"
    assert relay.needs[:4] == (
        "machines.drill: a drill whose openers are known; the shed has none",
        "crops.wheat: a crop that is off by summer, such as winter wheat; the plan has none",
        "machines.platform.cutting_height: how high it cuts wheat",
        "relay.height: how high the second crop stands when wheat is cut",
    )
    tables = tomllib.loads(relay.snippet)
    assert tables["machines"]["platform"]["width"] == "30 ft"  # the rest of the table is kept
    assert tables["strips"][0]["pattern"] == ["11.25 in", "18.75 in"]


@pytest.mark.parametrize(("printed", "past"), [("2025-10-05", False), ("2026-04-01", True)])
def test_an_example_that_would_be_sown_before_the_plan_is_made_is_told(tmp_path, printed, past):
    """The example of wheat is sown on October 5 of the year before the others are harvested."""
    path = write_plan_for(tmp_path, square(800), shed=dated(), headland=BARE)
    text = path.read_text()
    path.write_text(f"date = {printed}\n{text}")
    relay = next(one for one in judge_systems(path) if one.system == "relay")
    told = (
        f"a season to come: wheat would be sown 2025-10-05, which is past on {printed}, the day of "
        "the plan"
    )
    assert (told in relay.needs) is past


def test_south_of_the_equator_an_example_s_days_are_half_a_year_off(tmp_path, monkeypatch):
    from striplay.choosing.setting import Setting  # noqa: PLC0415

    monkeypatch.setattr(Setting, "south", True)
    tables = tomllib.loads(judged(tmp_path)["relay"].snippet)
    assert tables["crops"]["wheat"]["sown"].month == 4


def test_a_quick_crop_asks_for_the_day_rows_close_and_a_crop(tmp_path):
    quick = judged(tmp_path)["quick crop"]
    assert quick.what == "radish into corn"
    assert quick.needs[0] == "crops.corn.canopy_closure: the day its rows close"
    assert quick.needs[1].startswith("crops.radish: a crop that is off before corn closes over it")


def test_one_crop_without_days_or_field_is_judged_too(tmp_path):
    path = tmp_path / "plan.toml"
    shed = SHED.split("[crops.soybean]")[0]
    path.write_text(f'{shed}[[strips]]\ncrop = "corn"\nrows = 16\n')
    for one in judge_systems(path):
        assert read_plan(path).crops.keys() == {"corn"}
        checked(put_in(tomllib.loads(path.read_text()), tomllib.loads(one.snippet)), path)


def test_a_plan_without_crops_is_refused(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text('title = "Bare"\n')
    with pytest.raises(PlanError) as refused:
        judge_systems(path)
    assert str(refused.value) == (
        "plan.toml: crops: none are given; add a [crops.NAME] table for each"
    )


def test_a_field_without_room_is_a_need(tmp_path):
    found = judged(tmp_path, shape=square(100), direction='heading = 0\nshortest = "200 ft"')
    for one in found.values():
        assert one.needs[-1] == (
            "a larger field, or narrower headlands: no strip of this set can be laid"
        )


def test_tables_take_the_place_of_the_whole_set_and_of_their_names():
    plan = {"title": "T", "crops": {"corn": {"a": 1}, "soybean": {}}, "strips": [1], "relay": [2]}
    put = put_in(plan, {"crops": {"corn": {"b": 2}}, "row_set": [3]})
    assert put == {"title": "T", "crops": {"corn": {"b": 2}, "soybean": {}}, "row_set": [3]}


def test_written_tables_read_back():
    tables = {
        "machines": {"big drill": {"width": "30 ft", "on": True}},
        "crops": {"corn": {"sown": date(2026, 5, 1), "share": 0.5, "say": 'a "b" \\ ü'}},
        "mixtures": {"m": {"parts": {"corn": 0.5, "big one": 1}}},
        "strips": [{"crop": "corn", "pattern": ["1 in", "2 in"]}, {"crop": "m", "passes": 2}],
    }
    text = written(tables, {"crops.corn": "needed"})
    assert tomllib.loads(text) == tables
    assert "# needed\n[crops.corn]" in text


def test_twin_rows_are_openers_and_leave_the_second_crop_its_skip():
    # Ohio State University, modified relay: twin rows 8 in apart, a skip of 22, period 30
    assert twin_rows_m(30 * FOOT_M, 7.5 * FOOT_M) == pytest.approx((11.25 * FOOT_M, 18.75 * FOOT_M))
    assert twin_rows_m(0.75, 0.125) == pytest.approx((0.3125, 0.4375))


def test_evidence_of_edges_is_that_of_the_published_table():
    plan = read_plan(SAMPLES / "quarter_section" / "plan.toml")
    table = edge_table(plan, published_edges())
    found = of_edges([*table.pairs("corn", "soybean"), *table.pairs("soybean", "corn")])
    # West & Griffith, Journal of Production Agriculture 5:107, 1992
    assert found[0].said == (
        "outer rows of 8-row strips against inner rows or the crop alone: corn beside soybean "
        "+26 %, soybean beside corn -27 % (Indiana, USA, 1986-1990)"
    )
    assert found[0].source.startswith("West & Griffith, Journal of Production Agriculture 5:107")


def test_every_system_has_evidence():
    assert set(OF_SYSTEM) == set(SYSTEMS)
