"""The height stated of a crop between rows, held to its assumed growth; days worked by hand."""

import pytest
from fields import SHED, lay_on, square, texts, write_plan_for

from striplay.files.plan import read_plan
from striplay.growing import season_of
from striplay.section.systems import sections_of

# by hand: of 100 days, 24 are half-way from 3 to 45 %, where 3t2 - 2t3 is half
SOYBEAN = 'sown = 2026-06-01\nharvested = 2026-09-09\nheight = "40 in"'
CORN = "sown = 2026-05-01\nharvested = 2026-06-25"
TOLD = (
    "soybean into corn: height says {} when corn is harvested, 2026-06-25; assumed growth makes it "
    "{}: check it, since headers are judged by what is stated"
)


def plan_for(folder, height, *, corn=CORN, soybean=SOYBEAN, shed=SHED, between=""):
    for name, said in (("corn", corn), ("soybean", soybean)):
        shed = shed.replace(f"[crops.{name}]\n", f"[crops.{name}]\n{said}\n")
    strips = between or '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\n'
    strips += "" if between else f'into = "corn"\n{height}\n'
    return read_plan(write_plan_for(folder, square(1320), shed=shed, strips=strips, headland=""))


def told(plan, **where):
    season = season_of(plan, sections_of(plan)[0], **where)
    return [one for one in texts(season.notices) if "assumed growth" in one]


@pytest.mark.parametrize(
    ("height", "far"),
    [
        ("9.9 in", True), ("10 in", False), ("20 in", False), ("30 in", False), ("30.1 in", True),
    ],
)  # fmt: skip
def test_below_half_and_above_one_and_a_half_times_are_told(tmp_path, height, far):
    # half of 40 in are 20 in: from 10 to 30 in pass
    plan = plan_for(tmp_path, f'height = "{height}"')
    assert told(plan) == ([TOLD.format(height, "20 in")] if far else [])


def test_what_is_not_stated_or_not_known_is_not_judged(tmp_path):
    assert told(plan_for(tmp_path, "")) == []
    high = 'height = "9 ft"'
    # no day of the host's harvest; no sowing; off before it; sown after it
    assert told(plan_for(tmp_path, high, corn="sown = 2026-05-01")) == []
    assert told(plan_for(tmp_path, high, soybean='height = "40 in"')) == []
    early = SOYBEAN.replace("09-09", "06-20")
    assert told(plan_for(tmp_path, high, soybean=early)) == []
    late = SOYBEAN.replace("06-01", "06-25")
    assert told(plan_for(tmp_path, high, soybean=late)) == []
    # no crop of the table, and no height of its own
    unlike = SOYBEAN.replace('height = "40 in"', 'like = "nothing"')
    assert told(plan_for(tmp_path, high, soybean=unlike)) == []


def test_the_table_s_height_and_season_serve_where_the_plan_states_none(tmp_path):
    # FAO-56: soybean 0.75 m (the mean of 0.5 to 1.0), 140 days, of which 24 % are 33.6. From 1 June
    # 34 days are 5 July: t = (34 / 140 - 0.03) / 0.42 = 0.50680, 3t2 - 2t3 = 0.51020, x 0.75 m
    corn = CORN.replace("06-25", "07-05")
    plan = plan_for(tmp_path, 'height = "2 ft"', soybean="sown = 2026-06-01", corn=corn)
    said = TOLD.replace("06-25", "07-05").format("24 in", "15.1 in")
    assert told(plan) == [said]


def test_a_crop_just_sown_has_no_height(tmp_path):
    # 2 of 100 days: below 3 % nothing stands
    plan = plan_for(tmp_path, 'height = "4 in"', soybean=SOYBEAN.replace("06-01", "06-23"))
    assert told(plan) == [TOLD.format("4 in", "0 in")]


def test_a_mixture_is_as_tall_as_its_tallest_part(tmp_path):
    shed = SHED + (
        f'[crops.rye]\nplanter = "planter"\n{SOYBEAN.replace("40 in", "20 in")}\n'
        '[mixtures.duo]\nplanter = "planter"\nparts = {soybean = 0.5, rye = 0.5}\n'
    )
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[{}]]\ncrop = "duo"\ninto = "corn"\n'
    for key in ("relay", "quick_crop"):
        between = strips.format(key) + 'height = "{}"\n'
        low = plan_for(tmp_path, "", shed=shed, between=between.format("9 in"))
        assert told(low) == [TOLD.replace("soybean", "duo").format("9 in", "20 in")]
        assert told(plan_for(tmp_path, "", shed=shed, between=between.format("11 in"))) == []


def test_a_crop_that_finds_no_place_is_not_judged(tmp_path):
    # the relay goes into wheat, which has no strip
    shed = SHED + '[crops.wheat]\nplanter = "planter"\n' + CORN + "\n"
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "wheat"\n'
    plan = plan_for(tmp_path, "", shed=shed, between=f'{strips}height = "9 ft"\n')
    assert told(plan) == []


def test_spring_comes_in_september_south_of_the_equator(tmp_path):
    # sown 1 May, off 27 December: over 200 days, and over midwinter south of the equator only.
    # North: 153 of 240 days are past 45 %, full height. South: a tenth until 20 September, then 11
    # of 98 days to 1 October: t = (11 / 98 - 0.03) / 0.42 = 0.19582, 3t2 - 2t3 = 0.10002, and
    # 0.1 + 0.9 x that = 0.19
    days = 'sown = 2026-05-01\nharvested = 2026-12-27\nheight = "40 in"'
    plan = plan_for(
        tmp_path, 'height = "12 in"', soybean=days, corn="sown = 2026-04-01\nharvested = 2026-10-01"
    )
    said = TOLD.replace("06-25", "10-01")
    assert told(plan) == [said.format("12 in", "40 in")]
    assert told(plan, south=True) == [said.format("12 in", "7.6 in")]


def test_it_stands_among_a_layout_s_notices(tmp_path):
    shed = SHED.replace("[crops.soybean]\n", f"[crops.soybean]\n{SOYBEAN}\n")
    shed = shed.replace("[crops.corn]\n", f"[crops.corn]\n{CORN}\n")
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=f'{strips}height = "40 cm"\n')
    assert not [one for one in texts(layout.notices) if "assumed growth" in one]
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=f'{strips}height = "1 m"\n')
    assert TOLD.format("39.4 in", "20 in") in texts(layout.notices)
