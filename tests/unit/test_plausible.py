"""Figures far from the trade's are told and never refused; usual ones are not told."""

from datetime import date, timedelta

import pytest
from fields import AROUND, SHED, STRIPS, lay_on, square, texts

from striplay.files.crop_table import crop_table
from striplay.files.plan import read_plan
from striplay.notices import KINDS
from striplay.plausible import values
from striplay.plausible.check import sown_in_season, unusual
from striplay.season.calendar import windows
from striplay.season.facts import facts_of
from striplay.section.systems import sections_of

PLAN = f'[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\n{SHED}{STRIPS}'


def told(folder, *changes, latitude_deg=42.0, units="us"):
    """Give the words of what is told of a plan changed in places."""
    text = f'units = "{units}"\n{PLAN}'
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (folder / "plan.toml").write_text(text)
    plan = read_plan(folder / "plan.toml")
    facts = {name: facts_of(name, crop_table(), crop) for name, crop in plan.crops.items()}
    settled, _ = windows(plan, [])
    found = [*unusual(plan, sections_of(plan)[0], facts, settled, latitude_deg)]
    assert all(one.severity == "mind" and one.kind in KINDS for one in found)
    return texts(found)


def test_a_usual_plan_is_not_told_of(tmp_path):
    assert told(tmp_path) == []
    assert told(tmp_path, units="metric") == []


PLANTER = 'does = "plant"\nrows = 16\nspacing = "30 in"'
CORN = "[crops.corn]\n"
SOYBEAN = "[crops.soybean]\n"
WIDE = 'width = "30 ft"'


CORN_34 = (
    "crops.corn.rate: 34 seeds/ac is unusual: usual is 35,000 to 37,000 seeds/ac (Iowa State "
    "Univ., A1543, 2016, from memory); is the unit right?"
)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (PLANTER, PLANTER.replace("30 in", "20 ft"), "machines.planter.spacing: 240 in is unusual"),
        (PLANTER, PLANTER.replace("30 in", "30 mm"), "machines.planter.spacing: 1.2 in is unusual"),
        ("34000 seeds/acre", "34 seeds/acre", CORN_34),
        ("34000 seeds/acre", "340000 seeds/acre", "crops.corn.rate: 340,000 seeds/ac is unusual"),
        ("140000 seeds/acre", "1400000 seeds/acre", "crops.soybean.rate: 1,400,000 seeds/ac is"),
        ("emergence = 0.95", "emergence = 0.05", "crops.corn.emergence: 5% is unusual: below 50%"),
        (WIDE, 'width = "60 m"', "machines.platform: width: 196.9 ft is unusual: above 62 ft"),
        ("120 ft", "12 in", "machines.sprayer: width: 1 ft is unusual: below 5 ft"),
        (PLANTER, PLANTER + '\nspeed = "50 mph"', "machines.planter.speed: 50 mph is unusual"),
        (PLANTER, PLANTER + '\nturn = "40 min"', "machines.planter.turn: 2,400 s is unusual"),
        (PLANTER, PLANTER + '\nturning_radius = "300 ft"', "machines.planter.turning_radius"),
        (PLANTER, PLANTER + '\ntread = "120 ft"', "machines.planter.tread: 120 ft is unusual"),
        (PLANTER, PLANTER + '\ntire = "18 ft"', "machines.planter.tire: 216 in is unusual"),
        (WIDE, WIDE + '\ncutting_height = "10 ft"', "machines.platform.cutting_height"),
        ("passes = 2", "passes = 20", "headland.passes: 20 passes, 800 ft, are unusual"),
        ('passes = 2\nmachine = "planter"', 'width = "2 ft"', "headland: width: 2 ft is unusual"),
        ("rows = 48", "rows = 480", "soybean: strip: 1,200 ft is unusual: above 400 ft"),
    ],
)  # fmt: skip
def test_an_absurd_figure_is_told(tmp_path, old, new, said):
    found = told(tmp_path, (old, new))
    assert any(text.startswith(said) for text in found), found


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("34000 seeds/acre", "13000 seeds/acre"),  # dryland
        ("34000 seeds/acre", "42000 seeds/acre"),
        ("140000 seeds/acre", "220000 seeds/acre"),
        (PLANTER, PLANTER.replace("30 in", "15 in").replace("16", "32")),
        (PLANTER, PLANTER + '\nspeed = "10 mph"\nturning_radius = "40 ft"\ntread = "120 in"'),
        ("passes = 2", "passes = 4"),
        ("emergence = 0.95", "emergence = 0.6"),
    ],
)
def test_what_is_done_in_the_trade_is_not_told(tmp_path, old, new):
    assert told(tmp_path, (old, new)) == []


@pytest.mark.parametrize(("rows", "is_told"), [(48, False), (16, False), (13, False), (12, True)])
def test_a_header_wider_than_its_strip_by_half_is_told(tmp_path, rows, is_told):
    # 12 rows at 30 in are 30 ft, and the platform is 45 ft wide
    found = told(tmp_path, (WIDE, 'width = "45 ft"'), ("rows = 48", f"rows = {rows}"))
    assert any("platform of 45 ft is unusual on a strip of soybean" in text for text in found) == (
        is_told
    )


def test_a_crop_that_grows_like_another_is_judged_by_it(tmp_path):
    like = (CORN, '[crops.corn]\nlike = "winter_squash"\n')
    assert any("usual is 1,500 to 6,000" in text for text in told(tmp_path, like))
    renamed = told(tmp_path, (CORN, "[crops.teff]\n"), ('crop = "corn"', 'crop = "teff"'))
    assert renamed == []
    few = (CORN, "[crops.teff]\n"), ('"corn"', '"teff"'), ("34000", "34")
    assert any("crops.teff.rate: 34 seeds/ac is unusual" in text for text in told(tmp_path, *few))


def test_seed_sizes_and_metric_words(tmp_path):
    size = (CORN, '[crops.corn]\nseed_size = "100 seeds/lb"\n')
    (said,) = told(tmp_path, size)
    assert said == (
        "crops.corn.seed_size: 100 seeds/lb is unusual: usual is 1,200 to 2,400 seeds/lb (from "
        "memory); is the unit right?"
    )
    few = told(tmp_path, ("34000 seeds/acre", "84 seeds/ha"), units="metric")
    assert few[0].startswith("crops.corn.rate: 84 seeds/ha is unusual: usual is 86,487 to 91,429")


# --- days -----------------------------------------------------------------------------------------


def days(crop, sown, harvested=None):
    more = f"harvested = {harvested}\n" if harvested else ""
    return f"[crops.{crop}]\n", f"[crops.{crop}]\nsown = {sown}\n{more}"


def test_soybean_sown_on_1_february_at_42_north_is_told(tmp_path):
    (said,) = told(tmp_path, days("soybean", "2026-02-01"))
    assert said == (
        "crops.soybean.sown: 2026-02-01 is unusual for soybean at 42 degrees N: the soil is cold "
        "then, or too little of the season is left (from memory)"
    )
    assert told(tmp_path, days("soybean", "2026-05-20")) == []


@pytest.mark.parametrize("sown", ["2026-10-20", "2026-11-20", "2026-12-10"])
def test_south_of_the_equator_the_year_is_turned_round(tmp_path, sown):
    assert told(tmp_path, days("soybean", sown), latitude_deg=-35.0) == []
    (said,) = told(tmp_path, days("soybean", "2026-06-20"), latitude_deg=-35.0)
    assert "at 35 degrees S" in said
    assert told(tmp_path, days("soybean", sown), latitude_deg=42.0) != []


YES, NO = True, False


@pytest.mark.parametrize(
    ("sowing", "latitude_deg", "month", "day", "usual"),
    [
        # corn and soybean: corn belt, Texas, Minnesota, France, Argentina, the tropics
        ("warm", 42, 4, 10, YES), ("warm", 42, 5, 15, YES), ("warm", 42, 7, 5, YES),
        ("warm", 42, 3, 1, NO), ("warm", 42, 9, 15, NO), ("warm", 42, 12, 31, NO),
        ("warm", 30, 2, 25, YES), ("warm", 30, 12, 25, NO), ("warm", 46, 5, 10, YES),
        ("warm", 48, 4, 15, YES), ("warm", 48, 3, 1, NO),
        ("warm", -34, 10, 1, YES), ("warm", -34, 12, 20, YES), ("warm", -34, 5, 15, NO),
        ("warm", 10, 1, 1, YES), ("warm", -10, 7, 1, YES),
        # sweet corn of southern Florida (from memory)
        ("warm", 26, 11, 10, YES), ("warm", 26, 1, 15, YES), ("warm", -26, 7, 1, YES),
        ("warm", 31, 12, 25, NO),
        # wheat
        ("winter", 42, 9, 25, YES), ("winter", 37, 11, 20, YES), ("winter", 42, 5, 10, NO),
        ("winter", 42, 1, 10, NO), ("winter", -35, 5, 15, YES), ("winter", -35, 11, 15, NO),
        ("spring", 46, 4, 20, YES), ("spring", 46, 10, 1, NO), ("spring", 33, 11, 20, YES),
        # oats, peas, canola
        ("cool", 42, 4, 5, YES), ("cool", 42, 8, 20, YES), ("cool", 42, 1, 10, NO),
        ("cool", 33, 1, 10, YES), ("any", 42, 1, 10, YES),
    ],
)  # fmt: skip
def test_days_of_sowing_by_latitude(sowing, latitude_deg, month, day, usual):
    assert sown_in_season(date(2026, month, day), sowing, latitude_deg) is usual


def test_the_south_mirrors_the_north_half_a_year_on():
    for sowing in ("warm", "winter", "spring", "cool"):
        for latitude_deg in (26, 36, 44, 52):
            year = [date(2026, 1, 1) + timedelta(number) for number in range(365)]
            north = [sown_in_season(day, sowing, latitude_deg) for day in year]
            south = [sown_in_season(day, sowing, -latitude_deg) for day in year]
            assert south == north[182:] + north[:182]
            assert any(north)
            if latitude_deg >= 44:
                assert not all(north)


def test_a_season_far_from_the_crops_is_told(tmp_path):
    (said,) = told(tmp_path, days("corn", "2026-05-01", "2026-06-20"))
    assert said.startswith("crops.corn.harvested: 50 days after sowing is unusual: corn takes 150")
    assert "FAO" in said
    (late,) = told(tmp_path, days("corn", "2026-05-01", "2027-10-01"))
    assert "518 days after sowing" in late
    assert told(tmp_path, days("corn", "2026-05-01", "2026-10-01")) == []
    cover = days("corn", "2026-05-01", "2026-06-20")
    assert told(tmp_path, cover, ('harvester = "corn_head"', 'harvester = "none"')) == []


def test_each_is_told_under_a_layout_among_the_first(tmp_path):
    shed = SHED.replace("34000", "34").replace(WIDE, 'width = "90 ft"')
    layout = lay_on(tmp_path, square(1320), shed=shed, headland=AROUND)
    said = texts(layout.notices[:6])
    assert any("crops.corn.rate: 34 seeds/ac" in text for text in said)
    assert any("machines.platform: width: 90 ft is unusual" in text for text in said)


def test_what_is_usual_is_of_crops_of_the_table():
    assert set(values.CROPS) <= {facts.kind for facts in crop_table().values()}
    for usual in values.CROPS.values():
        assert 0 < usual.rate_per_m2.low <= usual.rate_per_m2.high
        assert usual.rate_per_m2.source


def test_crops_of_a_plan_that_stand_nowhere_are_not_judged(tmp_path):
    more = '[crops.oats]\nplanter = "planter"\nrate = "12 seeds/acre"\n' + CORN
    assert told(tmp_path, (CORN, more)) == []


OATS = '[crops.oats]\nplanter = "planter"\nsown = 2026-12-31\nrate = "30000000 seeds/acre"\n'
PLANTED = 'machine = "planter"\ncrop = "oats"\n'


def test_a_crop_of_the_headland_alone_is_judged(tmp_path):
    edge = 'machine = "planter"\n', PLANTED
    said = told(tmp_path, edge, (CORN, OATS + CORN))
    assert [text.split(" is unusual")[0] for text in said] == [
        "crops.oats.rate: 30,000,000 seeds/ac",
        "crops.oats.sown: 2026-12-31",
    ]
    mixed = '[mixtures.feed]\nplanter = "planter"\nparts = { oats = 0.5, soybean = 0.5 }\n'
    edge = 'machine = "planter"\n', PLANTED.replace("oats", "feed")
    assert told(tmp_path, edge, (CORN, OATS + mixed + CORN)) == said
    nowhere = (PLAN.split("\n")[1], 'where = "none"'), ('passes = 2\nmachine = "planter"\n', "")
    assert told(tmp_path, *nowhere, (CORN, OATS + CORN)) == []


@pytest.mark.parametrize(
    ("rate", "begins"),
    [
        # 100,000 to 180,000 seeds of 2,000 to 4,000 to the pound: 25 to 90 lb, by three
        ("6000 lb/acre",
         "crops.soybean.rate: 6000 lb/acre is unusual: usual is 25 to 90 lb/acre (stand"),
        ("280 lb/acre", "crops.soybean.rate: 280 lb/acre is unusual"),
        ("260 lb/acre", None), ("60 lb/acre", None), ("9 lb/acre", None),
        ("8 lb/acre", "crops.soybean.rate: 8 lb/acre is unusual"),
    ],
)  # fmt: skip
def test_a_rate_by_weight_is_judged_by_weight(tmp_path, rate, begins):
    pounds = ("140000 seeds/acre", rate), ('unit = "140000 seeds"', 'unit = "50 lb"')
    said = told(tmp_path, *pounds)
    assert [text for text in said if begins is None or not text.startswith(begins)] == []
    assert len(said) == (begins is not None)


def test_a_rate_by_weight_without_known_seed_is_held_to_a_wide_range(tmp_path):
    teff = (CORN, "[crops.teff]\n"), ('crop = "corn"', 'crop = "teff"')
    bag = ('unit = "80000 seeds"', 'unit = "50 lb"')
    for rate, count in (("5 lb/acre", 0), ("2500 lb/acre", 0), ("50000 lb/acre", 1),
                        ("0.01 lb/acre", 1)):  # fmt: skip
        said = told(tmp_path, *teff, bag, ("34000 seeds/acre", rate))
        assert len(said) == count, rate
        assert all(text.startswith("crops.teff.rate: ") for text in said)


@pytest.mark.parametrize(
    ("old", "new", "asked"),
    [
        ("emergence = 0.95", "emergence = 0.05", ["is the decimal point right?"]),
        ("120 ft", "12 in", ["is the unit right?"]),
        # the headland is two passes of it
        (
            "rows = 16\nspacing",
            "rows = 60\nspacing",
            ["are its rows and their spacing right?", "are its passes and its machine right?"],
        ),
        ("rows = 48", "rows = 480", ["is its width right?"]),
        ('passes = 2\nmachine = "planter"', 'width = "2 ft"', ["is the unit right?"]),
    ],
)
def test_what_is_asked_is_where_a_slip_could_be(tmp_path, old, new, asked):
    said = [text.split("; ")[-1] for text in told(tmp_path, (old, new)) if text.endswith("?")]
    assert said == asked
