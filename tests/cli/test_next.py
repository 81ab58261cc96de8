"""`striplay next`: the plan written, its comments kept, and clear refusals."""

import tomllib

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import SAMPLES, SHED, lay_on, square, write_field, write_plan_for, write_shapes
from systems import MORE

from striplay.cli import main
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.following import next_plan

PLAN = f"""\
# Why 40 ft: one pass.
title = "North"
date = 2026-04-01                   # printed
[field]
boundary = "field.geojson"          # by the road
[headland]
where = "around"
passes = 2
machine = "planter"
crop = "soybean"
[direction]
heading = "best"                    # what costs least
start = "left"
{
    SHED.replace(
        'rate = "34000',
        "sown = 2024-02-29  # early"
        + chr(10)
        + 'harvested = "2026-10-05"'
        + chr(10)
        + 'rate = "34000',
    )
}
[[strips]]
crop = "corn"                       # first
rows = "fit"                        # as machines ask
[[strips]]
crop = "soybean"
rows = "fit"
[[operations]]
does = "spray"
machine = "sprayer"
crops = ["corn"]
day = 2026-06-02
product = "product A"
rate = "10 gal/acre"
"""


def run(*arguments):
    return CliRunner().invoke(main, ["next", *map(str, arguments)])


def test_the_plan_is_written_and_laid_on_the_same_strips(tmp_path):
    write_field(tmp_path, square(700))
    path, target = tmp_path / "plan.toml", tmp_path / "later" / "next.toml"
    path.write_text(PLAN, encoding="utf-8")
    target.parent.mkdir()
    found = run(path, "-o", target)
    assert found.exit_code == 0, found.output
    assert found.stdout.splitlines() == [
        (
            "North: next season on the same strips, heading 0.00 degrees from true "
            "north, offset 69.93 ft"
        ),
        "  strip 1 of the set, 40 ft: soybean after corn",
        "  strip 2 of the set, 40 ft: corn after soybean",
        f"written {target}; look it through, its days first, then:",
        f"  striplay lay {target} -o next",
    ]
    assert found.stderr.splitlines()[-1] == (
        "note: headland: soybean again; crop under [headland] says another"
    )
    text = target.read_text(encoding="utf-8")
    for line in (
        "# Next season's plan, after plan.toml: the same strips, crops moved on.",
        "# Why 40 ft: one pass.",
        'boundary = "../field.geojson"          # by the road',
        "heading = 0.0 # as laid the season before",
        'offset = "69.93 ft" # as laid the season before',
        "sown = 2025-02-28  # early",
        'harvested = "2027-10-05"',
        "day = 2027-06-02",
    ):
        assert line in text.splitlines(), line
    tables = tomllib.loads(text)
    assert "date" not in tables
    assert tables["strips"] == [{"crop": "soybean", "passes": 1}, {"crop": "corn", "passes": 1}]
    before, after = lay(read_plan(path)), lay(read_plan(target))
    each = [layout.laid.blocks[0].across for layout in (before, after)]
    assert np.abs(each[0].low_m - each[1].low_m).max() < 0.001
    assert list(after.strips["crop"]) == [
        {"corn": "soybean", "soybean": "corn"}[crop] for crop in before.strips["crop"]
    ]
    # two seasons on it is the first again
    assert run(target, "-o", tmp_path / "third.toml").exit_code == 0
    third = tomllib.loads((tmp_path / "third.toml").read_text(encoding="utf-8"))
    assert [one["crop"] for one in third["strips"]] == ["corn", "soybean"]
    assert third["direction"] == tables["direction"]
    assert third["field"]["boundary"] == "field.geojson"


def test_rows_along_a_line_need_nothing_fixed(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(-80, -20), (0, 10), (80, -20)]), name="key.geojson")
    write_plan_for(tmp_path, square(500), direction='along = "key.geojson"', headland="")
    found = run(tmp_path / "plan.toml", "-o", tmp_path / "next.toml")
    assert found.exit_code == 0, found.output
    assert found.stdout.startswith("Test: next season on the same strips, along key.geojson\n")
    held = tomllib.loads((tmp_path / "next.toml").read_text(encoding="utf-8"))
    assert held["direction"] == {"along": "key.geojson"}


def test_blocks_are_refused_until_their_headings_are_stated(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(0, -200), (0, 200)]))
    blocks = '[[blocks]]\nfile = "cut.geojson"\nheading = 0\n'
    parts = {"headland": "", "shed": blocks + SHED, "direction": "{}heading = 0"}
    plan = write_plan_for(tmp_path, square(700), **parts)
    text = plan.read_text(encoding="utf-8")
    plan.write_text(text.replace("{}", 'offset = "best"\n'), encoding="utf-8")
    found = run(plan, "-o", tmp_path / "next.toml")
    assert (found.exit_code, found.stderr) == (
        2,
        (
            "striplay: plan.toml: blocks: their headings or offsets would be chosen "
            "anew, and no strip "
            "would lie where it does; state a heading in each [[blocks]] table (laid: block 1 0 "
            'degrees, block 2 0 degrees) and no offset = "best", and lay that first\n'
        ),
    )
    plan.write_text(text.replace("{}", ""), encoding="utf-8")
    assert run(plan, "-o", tmp_path / "next.toml").exit_code == 0


@pytest.fixture(scope="module")
def misfit(tmp_path_factory):
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "wheat"\nwidth = "120 ft"\n'
    folder = tmp_path_factory.mktemp("misfit")
    return write_plan_for(folder, square(500), headland="", shed=SHED + MORE, strips=strips)


def test_what_can_not_be_is_said_in_a_line_and_nothing_written(misfit, tmp_path):
    target = tmp_path / "next.toml"
    found = run(misfit, "-o", target)
    assert (found.exit_code, found.stdout) == (2, "")
    assert found.stderr == (
        "striplay: plan.toml: strips[1]: wheat can't follow corn in a strip of 40 ft: that is 1.33 "
        "passes of drill, 30 ft wide; whole multiples of 120 ft would be whole for both planters, "
        "or leave crops in their places with swap = false under [season]\n"
    )
    missing = run(tmp_path / "no.toml", "-o", target)
    assert (missing.exit_code, missing.stderr) == (
        2, f"striplay: {tmp_path / 'no.toml'}: is not there; are name and folder right?\n",
    )  # fmt: skip
    assert list(tmp_path.iterdir()) == []
    said = "-o is missing: where to write; for example striplay next north.toml -o north_next.toml"
    assert said in run(misfit).stderr


def test_a_file_that_is_there_stays(misfit, tmp_path):
    target = tmp_path / "next.toml"
    target.write_text("mine")
    found = run(misfit, "-o", target)
    assert (found.exit_code, found.stderr) == (
        2, f"striplay: {target}: exists already; give another name with -o\n",
    )  # fmt: skip
    assert target.read_text() == "mine"
    away = tmp_path / "no" / "next.toml"
    found = run(misfit, "-o", away)
    assert (found.exit_code, found.stderr) == (
        2, f"striplay: {away}: there is no folder {away.parent}; make it first\n",
    )  # fmt: skip


def test_a_file_of_weather_is_told_to_be_this_seasons(tmp_path):
    text = (SAMPLES / "pond_ell" / "quick_crop.toml").read_text(encoding="utf-8")
    for name in ("field.gpkg", "weather.csv"):
        (tmp_path / name).write_bytes((SAMPLES / "pond_ell" / name).read_bytes())
    plan = tmp_path / "plan.toml"
    plan.write_text(text.replace('heading = "best"', "heading = 0"), encoding="utf-8")
    found = run(plan, "-o", tmp_path / "next.toml")
    assert "note: [weather] file is still weather.csv, of this season's days\n" in found.stderr


def test_what_records_speak_for_is_told_and_not_put_in(tmp_path):
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    plan = write_plan_for(tmp_path, square(500), strips=strips)
    for strip, count in ((1, 26), (3, 27), (5, 26)):
        given = ["record", plan, "stand", "--strip", strip, "--stand-count", count]
        done = CliRunner().invoke(main, [*map(str, given), "--date", "2026-06-01"])
        assert done.exit_code == 0, done.output
    found = run(plan, "-o", tmp_path / "next.toml")
    assert found.exit_code == 0, found.output
    (line,) = [one for one in found.stdout.splitlines() if one.startswith("proposed")]
    assert line.startswith(
        'proposed from the records, not put in: [crops.corn] emergence = 0.77, rate = "41700 '
        'seeds/acre": 77.5 % of the seeds stood, where the plan has 95 %'
    )
    held = tomllib.loads((tmp_path / "next.toml").read_text(encoding="utf-8"))
    assert held["crops"]["corn"]["rate"] == "34000 seeds/acre"
    assert held["crops"]["corn"]["emergence"] == 0.95


@pytest.mark.parametrize(
    ("crops", "offset", "numbers", "told"),
    [
        # 18 ft at the side hold half a drill pass of 30 ft, and no half of a planter's 40 ft
        (("wheat", "corn"), "102 ft", ["1-7"], "1 not planted next season"),
        (("corn", "wheat"), "102 ft", ["0-6"], "7 planted next season and not this one"),
        (("corn", "wheat"), "0 ft", None, "7 planted next season and not this one"),
        (("corn", "wheat"), "60 ft", None, None),
    ],
)  # fmt: skip
def test_a_strip_keeps_its_number_through_seasons(crops, offset, numbers, told, tmp_path):
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nwidth = "120 ft"\n' for crop in crops)
    before = lay_on(
        tmp_path, square(738), headland='[headland]\nwhere = "none"\n', shed=SHED + MORE,
        direction=f'heading = 0\noffset = "{offset}"\nstart = "right"', strips=strips,
    )  # fmt: skip
    found = next_plan(before, tmp_path / "next.toml")
    assert tomllib.loads(found.text).get("season", {}).get("numbers") == numbers
    said = [one.text for one in found.notices if one.kind == "passes" and "its number" in one.text]
    assert [one.startswith(f"every strip keeps its number; strip {told}: ") for one in said] == (
        [] if told is None else [True]
    )
    middles = [
        {
            strip: round(shape.centroid.x, 3)
            for strip, shape in zip(table["strip"], table.geometry, strict=True)
        }
        for table in (before.strips, found.layout.strips)
    ]
    shared = middles[0].keys() & middles[1].keys()
    assert len(shared) >= 6
    # strips at the sides may be planted in part by one crop's planter
    inner = sorted(shared, key=lambda number: middles[0][number])[1:-1]
    assert [middles[0][one] for one in inner] == [middles[1][one] for one in inner]
    # and back again the season after
    (tmp_path / "next.toml").write_text(found.text, encoding="utf-8")
    third = next_plan(lay(read_plan(tmp_path / "next.toml")), tmp_path / "third.toml")
    own = dict(zip(before.strips["strip"], before.strips.geometry.centroid.x, strict=True))
    again = dict(zip(third.layout.strips["strip"], third.layout.strips.geometry.centroid.x,
                     strict=True))  # fmt: skip
    assert all(abs(own[one] - again[one]) < 1e-3 for one in own.keys() & again.keys())
    assert own.keys() == again.keys()


def test_numbers_of_another_field_are_refused(tmp_path):
    before = lay_on(tmp_path, square(738), headland='[headland]\nwhere = "none"\n')
    plan = tmp_path / "plan.toml"
    text = plan.read_text(encoding="utf-8") + '[season]\nnumbers = ["1-3"]\n'
    plan.write_text(text, encoding="utf-8")
    with pytest.raises(PlanError, match=r"season\.numbers: is of 3 places across, and \d+ lie"):
        lay(read_plan(plan), None)
    assert len(before.strips)
