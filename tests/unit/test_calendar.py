"""When crops stand, by days or by degree days, and what stands in the way of operations."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from fields import AROUND, SHED, lay_on, square, texts, write_plan_for

from striplay.cli import main
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.notices import Notice
from striplay.season.calendar import standing
from striplay.season.degree_days import Weather, add_up
from striplay.section.systems import sections_of

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


def test_stages_without_weather_are_said(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01", soybean='sown = "90 degree days after corn"')
    assert season_of(plan_of(tmp_path, shed, strips="")).untold == (
        Notice(
            "season",
            "mind",
            None,
            "crops.soybean.sown: 90 degree days after corn need weather; give [weather] a file",
        ),
    )


WEATHER = '[weather]\nfile = "weather.csv"\n'
NONE = "none reached; they count from 2026-05-01, and the weather"


@pytest.mark.parametrize(
    ("weather", "said"),
    [
        # nine a day from 1 May: 5 days to the last
        ({"count": 35}, "45 reached by 2026-05-05, where the weather ends"),
        ({"count": 30}, f"{NONE} ends on 2026-04-30"),
        ({"begin": date(2026, 5, 2)}, f"{NONE} begins on 2026-05-02"),
        ({"without": date(2026, 5, 1)}, f"{NONE} leaves that day out"),
        (
            {"without": date(2026, 5, 4)},
            "27 reached by 2026-05-03; the weather leaves 2026-05-04 out",
        ),
    ],
)
def test_a_stage_never_reached_says_how_far_it_came(tmp_path, weather, said):
    without = weather.pop("without", None)
    write_weather(tmp_path, **weather)
    path = tmp_path / "weather.csv"
    kept = [line for line in path.read_text().splitlines() if not line.startswith(str(without))]
    path.write_text("\n".join(kept))
    shed = days(SHED, corn="sown = 2026-05-01", soybean='sown = "90 degree days after corn"')
    plan = plan_of(tmp_path, shed, strips="", head='[weather]\nfile = "weather.csv"\n')
    untold = season_of(plan).untold
    assert untold[-1].text == f"crops.soybean.sown: 90 degree days after corn: {said}"


def test_thousands_of_degree_days_are_counted(tmp_path):
    write_weather(tmp_path)
    shed = days(SHED, corn='sown = 2026-05-01\nharvested = "2700 degree days"')
    season = season_of(plan_of(tmp_path, shed, strips="", head=WEATHER))
    # 1 April and 200 days end on 17 October: 170 days of 9
    assert texts(season.untold) == [
        (
            "crops.corn.harvested: 2700 degree days: 1,530 reached by 2026-10-17, "
            "where the weather ends"
        ),
    ]
    assert season.windows["corn"].harvested is None


@pytest.mark.parametrize(
    ("corn", "soybean", "said"),
    [
        ('sown = "90 degree days after corn"', "",
         "crops.corn.sown: waits for its own sowing; give it a day, or name another crop"),
        ('sown = "90 degree days after soybean"', 'sown = "90 degree days after corn"',
         ("crops.corn.sown, crops.soybean.sown: wait for each other in a circle; give one of them "
          "a day")),
    ],
)  # fmt: skip
def test_sowings_that_wait_in_a_circle_are_refused(tmp_path, corn, soybean, said):
    with pytest.raises(PlanError) as refusal:
        plan_of(tmp_path, days(SHED, corn=corn, soybean=soybean), strips="")
    assert refusal.value.faults == (said,)


def test_a_crop_that_waits_for_a_circle_is_not_in_it(tmp_path):
    shed = days(SHED + DRILL.replace("sown = 2025-10-01", 'sown = "9 degree days after corn"'),
                corn='sown = "90 degree days after soybean"',
                soybean='sown = "90 degree days after corn"')  # fmt: skip
    with pytest.raises(PlanError) as refusal:
        plan_of(tmp_path, shed)
    assert [fault.split(":")[0] for fault in refusal.value.faults] == [
        "crops.corn.sown, crops.soybean.sown"
    ]


def test_a_harvest_may_wait_for_a_crop_that_waits_for_its_sowing(tmp_path):
    """Only sowings are waited for, so this is no circle."""
    write_weather(tmp_path)
    shed = days(SHED, corn='sown = 2026-05-01\nharvested = "90 degree days after soybean"',
                soybean='sown = "90 degree days after corn"\n'
                'canopy_closure = "9 degree days after soybean"')  # fmt: skip
    season = season_of(plan_of(tmp_path, shed, strips="", head=WEATHER))
    assert season.windows["corn"].harvested == date(2026, 5, 19)
    # closing is to come after sowing: one day of nine is the day of sowing itself
    told = "crops.soybean.canopy_closure: 2026-05-10 is not after sowing, 2026-05-10"
    assert texts(season.untold) == [told]


@pytest.mark.parametrize(
    ("corn", "said"),
    [
        ("", "crops.soybean.sown: 9 degree days after corn: its sowing is not known"),
        ("harvested = 2026-10-01",
         "crops.corn.sown: is missing, so corn is not in the calendar"),
    ],
)  # fmt: skip
def test_crops_without_a_sowing_are_said(tmp_path, corn, said):
    shed = days(SHED, corn=corn, soybean='sown = "9 degree days after corn"')
    assert said in texts(season_of(plan_of(tmp_path, shed, strips="")).untold)


def conflicts(folder, shed, strips, headland=""):
    plan = plan_of(folder, shed, strips, headland=headland)
    return [one.said for one in season_of(plan, sections_of(plan)[0]).conflicts]


def test_the_platform_runs_over_a_relay_crop(tmp_path):
    shed = days(SHED + DRILL, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    assert conflicts(tmp_path, shed, TWIN + RELAY) == [
        (
            "platform would run over soybean, standing until 2026-09-25, between the rows of "
            "wheat; whether it cuts above "
            "is not known without height of soybean under [[relay]] and "
            "machines.platform.cutting_height"
        )
    ]


@pytest.mark.parametrize(
    ("sown", "said"),
    [
        ("2026-07-10", ["wheat is already harvested when soybean is sown"]),
        ("2025-09-01", ["wheat is not sown yet when soybean is sown"]),
    ],
)
def test_a_relay_needs_windows_that_overlap(tmp_path, sown, said):
    shed = days(SHED + DRILL, soybean=f"sown = {sown}\nharvested = 2026-07-20")
    found = conflicts(tmp_path, shed, TWIN + RELAY)
    assert said[0] in found


def test_a_quick_crop_sown_after_closing_is_told(tmp_path):
    shed = days(SHED + DRILL.replace("sown", "# "),
                corn="sown = 2026-05-01\ncanopy_closure = 2026-06-20",
                soybean="sown = 2026-06-22\nharvested = 2026-08-10")  # fmt: skip
    assert conflicts(tmp_path, shed, QUICK)[0] == "corn has closed its canopy when soybean is sown"


@pytest.mark.parametrize(
    ("harvested", "said"),
    [
        ("2026-06-10", []),
        ("2026-06-25", ["soybean is harvested 5 days after the canopy of corn closes"]),
    ],
)
def test_a_quick_crop_leaves_before_the_canopy_closes(tmp_path, harvested, said):
    shed = days(SHED + DRILL.replace("sown", "# "),
                corn="sown = 2026-05-01\ncanopy_closure = 2026-06-20",
                soybean=f"sown = 2026-05-05\nharvested = {harvested}")  # fmt: skip
    platform = (
        "platform would run over corn, standing until its harvest, between the rows of soybean"
    )
    assert set(conflicts(tmp_path, shed, QUICK)) == {platform, *said}


@pytest.mark.parametrize(
    ("corn", "soybean", "without"),
    [
        ("", "\nharvested = 2026-06-10", "crops.corn.canopy_closure"),
        ("\ncanopy_closure = 2026-06-20", "", "crops.soybean.harvested"),
        ("", "", "crops.corn.canopy_closure and crops.soybean.harvested"),
    ],
)
def test_what_a_quick_crop_s_leaving_waits_for_is_named(tmp_path, corn, soybean, without):
    shed = days(SHED, corn=f"sown = 2026-05-01{corn}", soybean=f"sown = 2026-05-05{soybean}")
    quick = QUICK.replace('"drill"', '"planter"')
    found = conflicts(tmp_path, shed, quick)
    assert f"whether soybean is harvested in time is not known without {without}" in found


def test_a_mixture_closes_by_its_parts(tmp_path):
    sown = "sown = 2026-05-01\nharvested = 2026-09-01"
    shed = days(SHED + DRILL.split("sown", maxsplit=1)[0], corn=sown, soybean=sown,
                wheat="sown = 2026-05-05\nharvested = 2026-06-10")  # fmt: skip
    shed += '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\n'
    strips = '[[strips]]\ncrop = "duo"\nrows = 16\n[[quick_crop]]\ncrop = "wheat"\n'
    strips += 'into = "duo"\nseeder = "drill"\n'
    told = "whether wheat is harvested in time is not known without crops.corn.canopy_closure and "
    assert f"{told}crops.soybean.canopy_closure" in conflicts(tmp_path, shed, strips)


def test_a_canopy_that_closes_after_harvest_is_said(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01\nharvested = 2026-10-25\ncanopy_closure = 2026-11-02")
    assert texts(season_of(plan_of(tmp_path, shed, strips="")).untold) == [
        "crops.corn.canopy_closure: 2026-11-02 is after its harvest, 2026-10-25",
    ]
    same = shed.replace("2026-11-02", "2026-10-25")
    assert season_of(plan_of(tmp_path, same, strips="")).untold == ()


@pytest.mark.parametrize(
    ("head", "greatest", "count", "said"),
    [
        ("", 27, 200, "greatest of 200 days is 27: is it Celsius? say units"),
        ("", 49.96, 30, "greatest of 30 days is 50: is it Celsius? say units"),
        ("", 50, 30, "greatest of 30 days is 50: is it Celsius? say units"),
        ("", 51, 30, None),
        ("", 27, 29, None),
        ('units = "C"\n', 27, 200, None),
    ],
)
def test_celsius_taken_for_fahrenheit_is_asked(tmp_path, head, greatest, count, said):
    write_weather(tmp_path, least=10, greatest=greatest, count=count)
    plan = plan_of(tmp_path, SHED, strips="", head=WEATHER + head)
    told = [] if said is None else [f'weather.csv: {said} = "C" under [weather]']
    assert texts(season_of(plan).untold) == told


def test_a_header_known_to_clear_the_second_crop_is_no_conflict(tmp_path):
    shed = days(SHED + DRILL, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    sprayer = "\n[machines.sprayer]"
    shed = shed.replace(sprayer, f'\ncutting_height = "10 in"{sprayer}')
    assert conflicts(tmp_path, shed, f'{TWIN}{RELAY}height = "8 in"\n') == []
    over = (
        "platform would cut soybean, 12 in high, at 10 in, standing until 2026-09-25, between the "
        "rows of wheat"
    )
    assert conflicts(tmp_path, shed, f'{TWIN}{RELAY}height = "12 in"\n') == [over]
    # what would tell is named, and nothing else
    over = "platform would run over soybean, standing until 2026-09-25, between the rows of wheat"
    without = f"{over}; whether it cuts above is not known without"
    assert conflicts(tmp_path, shed, TWIN + RELAY) == [
        f"{without} height of soybean under [[relay]]"
    ]
    uncut = shed.replace('cutting_height = "10 in"\n', "")
    assert conflicts(tmp_path, uncut, f'{TWIN}{RELAY}height = "8 in"\n') == [
        f"{without} machines.platform.cutting_height"
    ]


def test_a_platform_wider_than_its_strip_runs_over_its_neighbor(tmp_path):
    shed = days(SHED, corn="sown = 2026-05-01\nharvested = 2026-11-01",
                soybean="sown = 2026-05-01\nharvested = 2026-09-25")  # fmt: skip
    shed = shed.replace("rows = 16", "rows = 12")
    strips = '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 4 soybean, 4 corn"\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland="")
    said = [one["said"] for one in layout.accounts["calendar"]["conflicts"]]
    assert said == ["platform would run over corn, standing until 2026-11-01, beside soybean"]


def test_crops_that_are_not_in_the_field_are_not_judged(tmp_path):
    shed = days(SHED + DRILL, corn="sown = 2026-05-01\nharvested = 2026-10-01")
    layout = lay_on(tmp_path, square(1320), shed=shed)
    assert layout.accounts["calendar"]["conflicts"] == []


def test_weather_that_begins_late_or_leaves_a_day_out_gives_no_day():
    weather = [Weather(date(2026, 5, n), 10.0, 20.0) for n in range(5, 25)]
    assert add_up(weather, date(2026, 5, 1), 25.0).until is None
    gap = add_up([*weather[:3], *weather[4:]], date(2026, 5, 5), 25.0)
    assert (gap.until, gap.reached) == (date(2026, 5, 7), None)
    twice = [*weather, *weather]
    assert add_up(twice, date(2026, 5, 5), 25.0).reached == date(2026, 5, 9)


def test_a_mixture_stands_from_first_sowing_to_last_harvest(tmp_path):
    mixture = '[mixtures.duo]\nplanter = "drill"\nparts = {wheat = 0.5, soybean = 0.5}\n'
    shed = days(SHED + DRILL + mixture, soybean="sown = 2026-05-20\nharvested = 2026-09-25")
    season = season_of(plan_of(tmp_path, shed, strips=""))
    assert season.windows["duo"].sown == date(2025, 10, 1)
    assert season.windows["duo"].harvested == date(2026, 9, 25)
    assert texts(season.untold) == ["duo: its parts ripen 82 days apart, for one harvest"]


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
    told = f"2026-07-05: {calendar['conflicts'][0]['said']}"
    assert layout.notices[-1] == Notice("season", "mind", None, told, "harvest wheat")
    assert layout.accounts["notices"][-1] == layout.notices[-1].data
    assert "platform would run over soybean, standing until 2026-09-25, between the" in told
    assert "calendar" not in lay_on(tmp_path, square(1320)).accounts


HEAD = "day,least,greatest\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("day,least\n2026-05-01,50", ("has no column greatest; it has 2 columns; name its "
                                     "columns under [weather]")),
        ("", "has no column day, least, greatest; it is empty; name its columns under [weather]"),
        ("day;least;greatest\n",
         "parts its columns by semicolons; save it with commas, and points in numbers"),
        (HEAD, "holds no days"),
        (HEAD + "2026-05-01,x,60", "line 2: least is no temperature"),
        (HEAD + "2026-05-01,50", "line 2: greatest is no temperature"),
        (HEAD + "2026-05-01,nan,60", "line 2: least is no temperature"),
        (HEAD + "2026-05-01,50,inf", "line 2: greatest is no temperature"),
        # lines left empty count: the line is that of the file
        (HEAD + "\n2026-05-01,50,-999", ("line 3: greatest: -999 F is not between -130 and 140; "
                                        '[weather] units says "F"')),
        (HEAD + "May 1,50,60", "line 2: day is no day such as 2026-05-01"),
        (HEAD + "9999-12-31,50,60", "line 2: day: lies outside the years 1900 to 2199"),
        (HEAD + "2026-05-01,50," + "9" * 200_000, "line 1: what follows is no line of a CSV"),
        (HEAD + "2026-05-01,50," + "9" * 400, "line 2: greatest is no temperature"),
        (HEAD + "2026-05-01,70,60", "line 2: least: 70 is above greatest, 60"),
        (HEAD + "2026-05-01,50,60\n2026-05-01,51,60",
         "line 3: day: 2026-05-01 came before, with other temperatures"),
    ],
)  # fmt: skip
def test_faulty_weather_is_refused(tmp_path, text, said):
    (tmp_path / "weather.csv").write_text(text)
    plan = plan_of(tmp_path, SHED, strips="", head='[weather]\nfile = "weather.csv"\n')
    with pytest.raises(PlanError) as refusal:
        season_of(plan)
    assert str(refusal.value) == f"weather.csv: {said}"


def test_fahrenheit_taken_for_celsius_is_refused(tmp_path):
    (tmp_path / "weather.csv").write_text(HEAD + "2026-07-01,62,86")
    head = '[weather]\nfile = "weather.csv"\nunits = "C"\n'
    with pytest.raises(PlanError) as refusal:
        season_of(plan_of(tmp_path, SHED, strips="", head=head))
    assert str(refusal.value) == (
        'weather.csv: line 2: least: 62 C is not between -90 and 60; [weather] units says "C"'
    )


def test_spaces_and_a_day_given_twice_alike_do_no_harm(tmp_path):
    (tmp_path / "weather.csv").write_text(
        "day, least, greatest\n2026-05-01, 50, 68\n\n2026-05-01, 50, 68\n2026-05-02, 50, 68\n"
    )
    shed = days(SHED, corn='sown = 2026-05-01\nharvested = "18 degree days"')
    plan = plan_of(tmp_path, shed, strips="", head='[weather]\nfile = "weather.csv"\n')
    assert season_of(plan).windows["corn"].harvested == date(2026, 5, 2)


def test_weather_with_days_missing_is_said(tmp_path):
    write_weather(tmp_path)
    lines = (tmp_path / "weather.csv").read_text().splitlines()
    (tmp_path / "weather.csv").write_text("\n".join(lines[:10] + lines[12:]))
    plan = plan_of(tmp_path, SHED, strips="", head='[weather]\nfile = "weather.csv"\n')
    told = Notice("weather", "mind", None, "weather.csv: days are missing after 2026-04-09")
    assert season_of(plan).untold == (told,)


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
    assert result.stderr.splitlines()[-1] == (
        'striplay: [weather] file: "none.csv" is not there; the path is relative to the plan'
    )
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("content", [None, b"day,least\xff"])
def test_weather_that_cannot_be_read_names_the_key(tmp_path, content):
    path = tmp_path / "weather.csv"
    path.mkdir() if content is None else path.write_bytes(content)
    plan = plan_of(tmp_path, SHED, strips="", head='[weather]\nfile = "weather.csv"\n')
    with pytest.raises(PlanError) as refusal:
        season_of(plan)
    assert str(refusal.value).startswith('[weather] file: "weather.csv" ')


MIXED = '[mixtures.duo]\nplanter = "planter"\nparts = {corn = 0.5, soybean = 0.5}\nclosr = 1\n'


@pytest.mark.parametrize(
    ("shed", "strips", "fault"),
    [
        (SHED + MIXED, '[[strips]]\ncrop = "duo"\nrows = 16\n', "mixtures.duo.closr"),
        (SHED + DRILL + MIXED, ('[[strips]]\ncrop = "duo"\nrows = 16\n[[relay]]\ncrop = "wheat"\n'
         'into = "duo"\nseeder = "drill"\n'), "mixtures.duo.closr"),
        (SHED + MIXED, '[[row_set]]\nplanter = "planter"\nunits = "16 duo"\n',
         "mixtures.duo.closr"),
        # a faulty crop, or machine, has its fault where it is told of and nowhere else
        (days(SHED, corn="hight = 1", soybean='sown = "9 degree days after corn"')
         + MIXED.replace("closr = 1\n", ""), '[[strips]]\ncrop = "duo"\nrows = 16\n',
         "crops.corn.hight"),
        (SHED.replace('does = "plant"', 'does = "plant"\nrws = 1'),
         '[[row_set]]\nplanter = "planter"\nunits = "16 corn"\n', "machines.planter.rws"),
    ],
)  # fmt: skip
def test_a_fault_brings_no_second(tmp_path, shed, strips, fault):
    with pytest.raises(PlanError) as refusal:
        plan_of(tmp_path, shed, strips)
    assert [told.split(":")[0] for told in refusal.value.faults] == [fault]


def test_the_how_to_s_weather_is_worked_by_hand(tmp_path):
    """The CSV and [weather] of docs/howto_systems.md, and the days and words it gives."""
    text = (Path(__file__).parents[2] / "docs" / "howto_systems.md").read_text(encoding="utf-8")
    text = text[text.index("## When") : text.index("## What suits")]
    table = text.split("```\n")[1]
    toml = text.split("```toml\n")[1].split("```")[0]
    (tmp_path / "weather.csv").write_text(table)
    weather, rest = toml.split("[crops.corn]\n")
    corn, soybean = rest.split("[crops.soybean]\n")
    shed = days(SHED, corn=corn, soybean=soybean)
    season = season_of(plan_of(tmp_path, shed, strips="", head=weather))
    assert season.windows["soybean"].sown == date(2026, 5, 3)
    assert len(season.untold) == 1
    assert f"`{season.untold[0].text}`" in text
