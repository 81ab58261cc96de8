"""When crops stand, by days or by degree days, and what stands in the way of operations."""

import json
from datetime import date, timedelta

import pytest
from click.testing import CliRunner
from fields import AROUND, SHED, lay_on, square, write_plan_for

from striplay.cli import main
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.season.calendar import standing
from striplay.season.degree_days import Weather, day_reached

DRILL = """
[machines.drill]
does = "plant"
width = "30 ft"
spacing = "7.5 in"
[crops.wheat]
planter = "drill"
harvester = "platform"
sown = 2025-10-01
harvested = 2026-07-05
"""
TWIN = (
    '[[strips]]\ncrop = "wheat"\nwidth = "30 ft"\nperiod = "30 in"\npattern = ["4 in", "12 in"]\n'
)
RELAY = '[[relay]]\ncrop = "soybean"\ninto = "wheat"\nseeder = "drill"\ngap = "20 in"\n'
QUICK = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n'
    '[[quick_crop]]\ncrop = "soybean"\ninto = "corn"\nseeder = "drill"\n'
)


def days(shed, **crops):
    for crop, lines in crops.items():
        shed = shed.replace(f"[crops.{crop}]", f"[crops.{crop}]\n{lines}")
    return shed


def plan_of(folder, shed, strips=TWIN, head="", headland=""):
    path = write_plan_for(folder, square(1320), shed=shed, strips=strips, headland=headland)
    path.write_text(f"{path.read_text()}\n{head}")
    return read_plan(path)


def write_weather(folder, *, least=50, greatest=68, begin=date(2026, 4, 1), count=200):
    """Write days of 9 degree days each (68 and 50 degrees Fahrenheit)."""
    lines = ["day,least,greatest"]
    lines += [f"{begin + timedelta(days=n)},{least},{greatest}" for n in range(count)]
    (folder / "weather.csv").write_text("\n".join(lines))


def test_what_stands_on_a_day(tmp_path):
    shed = days(SHED + DRILL, corn="sown = 2026-05-01\nharvested = 2026-10-01",
                soybean="sown = 2026-05-20")  # fmt: skip
    settled = season_of(plan_of(tmp_path, shed)).windows
    assert sorted(standing(settled, date(2026, 6, 1))) == ["corn", "soybean", "wheat"]
    assert sorted(standing(settled, date(2026, 7, 5))) == ["corn", "soybean"]
    assert standing(settled, date(2026, 5, 1)) == ["wheat"]
    # without a harvest it stands on
    assert standing(settled, date(2026, 11, 1)) == ["soybean"]


def test_stages_by_degree_days(tmp_path):
    """Nine degree days a day: 90 after 10 days of weather, counted from the day itself."""
    write_weather(tmp_path)
    shed = days(SHED, corn='sown = 2026-05-01\nharvested = "900 degree days"',
                soybean='sown = "90 degree days after corn"')  # fmt: skip
    plan = plan_of(tmp_path, shed, strips="", head='[weather]\nfile = "weather.csv"\n')
    settled = season_of(plan).windows
    assert settled["soybean"].sown == date(2026, 5, 10)
    assert settled["corn"].harvested == date(2026, 5, 1) + timedelta(days=99)


def test_weather_in_celsius_and_named_columns(tmp_path):
    write_weather(tmp_path, least=10, greatest=20)
    text = (tmp_path / "weather.csv").read_text().replace("day,least,greatest", "date,tmin,tmax")
    (tmp_path / "weather.csv").write_text(text)
    shed = days(SHED, corn="sown = 2026-05-01", soybean='sown = "90 degree days after corn"')
    head = (
        '[weather]\nfile = "weather.csv"\nday = "date"\nleast = "tmin"\ngreatest = "tmax"\n'
        'units = "C"\n'
    )
    settled = season_of(plan_of(tmp_path, shed, strips="", head=head)).windows
    assert settled["soybean"].sown == date(2026, 5, 10)


def test_stages_without_weather_or_out_of_reach_are_said(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01", soybean='sown = "90 degree days after corn"')
    season = season_of(plan_of(tmp_path, shed, strips=""))
    assert season.untold == (
        "soybean: 90 degree days after corn need weather; give [weather] a file",
    )
    write_weather(tmp_path, count=35)
    plan = plan_of(tmp_path, shed, strips="", head='[weather]\nfile = "weather.csv"\n')
    assert "are not reached in the weather given" in season_of(plan).untold[0]


def test_crops_that_wait_for_each_other_are_said(tmp_path):
    shed = days(SHED, corn='sown = "90 degree days after soybean"',
                soybean='sown = "90 degree days after corn"')  # fmt: skip
    assert "wait for each other" in season_of(plan_of(tmp_path, shed, strips="")).untold[0]


def conflicts(folder, shed, strips, headland=""):
    return [c.said for c in season_of(plan_of(folder, shed, strips, headland=headland)).conflicts]


def test_the_platform_runs_over_a_relay_crop(tmp_path):
    shed = days(SHED + DRILL, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    assert conflicts(tmp_path, shed, TWIN + RELAY) == [
        "platform runs over soybean, which stands until 2026-09-25"
    ]


@pytest.mark.parametrize(
    ("sown", "said"),
    [
        ("2026-07-10", ["wheat is gone when soybean is sown"]),
        ("2025-09-01", ["wheat is not sown yet when soybean is sown"]),
    ],
)
def test_a_relay_needs_windows_that_overlap(tmp_path, sown, said):
    shed = days(SHED + DRILL, soybean=f"sown = {sown}\nharvested = 2026-07-20")
    found = conflicts(tmp_path, shed, TWIN + RELAY)
    assert said[0] in found


def test_a_quick_crop_sown_after_closing_is_told(tmp_path):
    shed = days(SHED + DRILL.replace("sown", "# "), corn="sown = 2026-05-01\ncloses = 2026-06-20",
                soybean="sown = 2026-06-22\nharvested = 2026-08-10")  # fmt: skip
    assert conflicts(tmp_path, shed, QUICK)[0] == "corn is closed when soybean is sown"


@pytest.mark.parametrize(
    ("harvested", "said"),
    [("2026-06-10", []), ("2026-06-25", ["soybean leaves 5 days after corn closes over it"])],
)
def test_a_quick_crop_leaves_before_the_canopy_closes(tmp_path, harvested, said):
    shed = days(SHED + DRILL.replace("sown", "# "), corn="sown = 2026-05-01\ncloses = 2026-06-20",
                soybean=f"sown = 2026-04-20\nharvested = {harvested}")  # fmt: skip
    assert conflicts(tmp_path, shed, QUICK) == said


def test_a_header_known_to_clear_the_second_crop_is_no_conflict(tmp_path):
    shed = days(SHED + DRILL, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    shed = shed.replace('width = "30 ft"\n[machines.sprayer]',
                        'width = "30 ft"\ncut = "10 in"\n[machines.sprayer]')  # fmt: skip
    assert conflicts(tmp_path, shed, f'{TWIN}{RELAY}height = "8 in"\n') == []
    assert conflicts(tmp_path, shed, f'{TWIN}{RELAY}height = "12 in"\n') != []


def test_a_platform_wider_than_its_strip_runs_over_its_neighbour(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01\nharvested = 2026-11-01",
                soybean="sown = 2026-05-20\nharvested = 2026-09-25")  # fmt: skip
    shed = shed.replace("rows = 16", "rows = 12")
    strips = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 4 soybean, 4 corn"\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland="")
    said = [one["said"] for one in layout.accounts["calendar"]["conflicts"]]
    assert said == ["platform would run over corn beside soybean until 2026-11-01"]


def test_crops_that_are_not_in_the_field_are_not_judged(tmp_path):
    shed = days(SHED + DRILL, corn="sown = 2026-05-01\nharvested = 2026-10-01")
    layout = lay_on(tmp_path, square(1320), shed=shed)
    assert layout.accounts["calendar"]["conflicts"] == []


def test_weather_that_begins_late_or_leaves_a_day_out_gives_no_day():
    weather = [Weather(date(2026, 5, n), 10.0, 20.0) for n in range(5, 25)]
    assert day_reached(weather, date(2026, 5, 1), 25.0) is None
    assert day_reached([*weather[:3], *weather[4:]], date(2026, 5, 5), 25.0) is None
    twice = [*weather, *weather]
    assert day_reached(twice, date(2026, 5, 5), 25.0) == date(2026, 5, 9)


def test_a_mixture_stands_from_first_sowing_to_last_harvest(tmp_path):
    mixture = '[mixtures.duo]\nplanter = "drill"\nparts = {wheat = 0.5, soybean = 0.5}\n'
    shed = days(SHED + DRILL + mixture, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    season = season_of(plan_of(tmp_path, shed, strips=""))
    assert season.windows["duo"].sown == date(2025, 10, 1)
    assert season.windows["duo"].harvested == date(2026, 9, 25)
    assert season.untold == ("duo: its parts ripen 82 days apart, for one harvest",)


def test_turning_on_a_standing_headland_is_a_conflict(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01\nharvested = 2026-10-01",
                soybean="sown = 2026-05-20\nharvested = 2026-09-20")  # fmt: skip
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n'
    assert conflicts(tmp_path, shed, strips, AROUND) == [
        "sowing of soybean turns on the headland's corn, which stands until 2026-10-01",
        "harvest of soybean turns on the headland's corn, which stands until 2026-10-01",
    ]


def test_the_calendar_stands_in_the_accounts_and_notices(tmp_path):
    shed = days(SHED + DRILL, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=TWIN + RELAY)
    calendar = layout.accounts["calendar"]
    assert calendar["crops"]["wheat"] == {"sown": "2025-10-01", "harvested": "2026-07-05"}
    assert calendar["conflicts"][0]["day"] == "2026-07-05"
    json.dumps(layout.accounts)
    assert layout.notices[-1] == (
        "2026-07-05: platform runs over soybean, which stands until 2026-09-25"
    )
    assert "calendar" not in lay_on(tmp_path, square(1320)).accounts


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("day,least\n2026-05-01,50", "weather.csv: has no column greatest; it has day, least"),
        ("day,least,greatest\n2026-05-01,x,60", "weather.csv: line 2: could not convert"),
        ("day,least,greatest\nMay 1,50,60", "weather.csv: line 2: Invalid isoformat"),
        ("day,least,greatest\n2026-05-01,70,60", "weather.csv: line 2: least is above greatest"),
    ],
)
def test_faulty_weather_is_refused(tmp_path, text, said):
    (tmp_path / "weather.csv").write_text(text)
    plan = plan_of(tmp_path, SHED, strips="", head='[weather]\nfile = "weather.csv"\n')
    with pytest.raises(PlanError) as refusal:
        season_of(plan)
    assert said in str(refusal.value)


def test_weather_with_days_missing_is_said(tmp_path):
    write_weather(tmp_path)
    lines = (tmp_path / "weather.csv").read_text().splitlines()
    (tmp_path / "weather.csv").write_text("\n".join(lines[:10] + lines[12:]))
    plan = plan_of(tmp_path, SHED, strips="", head='[weather]\nfile = "weather.csv"\n')
    assert season_of(plan).untold == ("weather.csv: days are missing after 2026-04-09",)


@pytest.mark.parametrize(
    ("sown", "said"),
    [
        ('"May"', "crops.corn.sown"),
        ('"90 degrees"', 'such as "150 degree days after corn"'),
        ('"90 degree days"', "crops.corn.sown: says after which crop"),
        ('"90 degree days after rye"', 'crops.corn.sown: no crop "rye"'),
        ("2026-10-01\nharvested = 2026-07-01", "crops.corn.harvested: is not after sown"),
    ],
)
def test_faulty_days_are_refused(tmp_path, sown, said):
    with pytest.raises(PlanError) as refusal:
        plan_of(tmp_path, days(SHED, corn=f"sown = {sown}"))
    assert said in str(refusal.value)


def test_missing_weather_has_one_clear_message(tmp_path):
    plan = write_plan_for(tmp_path, square(1320))
    plan.write_text(f'{plan.read_text()}\n[weather]\nfile = "none.csv"\n')
    result = CliRunner().invoke(main, ["lay", str(plan), "-o", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert "none.csv" in result.stderr
    assert "Traceback" not in result.stderr
