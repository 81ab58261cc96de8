"""A plan with [trial]: laid, written, moved on to next season, and refused."""

import csv
import json
import tomllib

import pytest
from click.testing import CliRunner
from fields import square, write_plan_for
from pdfs import pages

from striplay.cli import main

STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
TRIAL = STRIPS + '[trial]\nreplicates = 2\nwidth = "80 ft"\ndifference = 0.1\nspread = 0.08\n'
BARE = '[headland]\nwhere = "none"\n'


def run(*arguments):
    return CliRunner().invoke(main, [*map(str, arguments)])


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trial")
    return write_plan_for(folder, square(480), strips=TRIAL, headland=BARE)


def test_files_and_sheets_mark_checks_and_replicates(plan, tmp_path):
    out = tmp_path / "out"
    found = run("lay", plan, "-o", out, "--files", "csv,geojson,map-book,accounts")
    assert found.exit_code == 0, found.output
    with (out / "strips.csv").open(encoding="utf-8") as file:
        listed = list(csv.DictReader(file))
    named = [(one["replicate"], one["treatment"], one["crop"]) for one in listed]
    assert sorted(named) == sorted(
        (number, treatment, crop)
        for number in "12"
        for treatment, crop in (
            ("strips", "corn"), ("strips", "soybean"),
            ("alone", "corn"), ("alone", "soybean"),
        )
    )  # fmt: skip
    held = json.loads((out / "strips.geojson").read_text(encoding="utf-8"))["features"]
    assert [(str(one["properties"]["replicate"]), one["properties"]["treatment"], one["properties"]
             ["crop"]) for one in held] == named  # fmt: skip
    told = json.loads((out / "accounts.json").read_text(encoding="utf-8"))["notices"]
    (said,) = [one["text"] for one in told if one["text"].startswith("trial: 2 whole")]
    assert said == (
        "trial: 2 whole replicates would show a true difference of 10 % between a crop in strips "
        "and alone in 8.4 % of such trials, where plots treated alike differ by 8 % (5 % level); "
        "13 replicates would in 80 %"
    )
    book = [page.text for page in pages(out / "mapbook.pdf")]
    checks = [at for at, (_, treatment, _) in enumerate(named, start=1) if treatment != "strips"]
    letters = {"corn": "C", "soybean": "S"}
    for at in checks:
        assert f"{at} {letters[named[at - 1][2]]} check" in book[0]
    (index,) = [text for text in book if "Trial. Checks: " in text]
    assert "Replicate 1: strips 1-4; 2: strips 5-8." in " ".join(index.split())


def test_next_season_the_checks_stay_and_their_crops_move(plan, tmp_path):
    target = tmp_path / "next.toml"
    found = run("next", plan, "-o", target)
    assert found.exit_code == 0, found.output
    held = tomllib.loads(target.read_text(encoding="utf-8"))
    assert held["trial"] == {
        "replicates": 2, "width": "80 ft", "difference": 0.1, "spread": 0.08,
    }  # fmt: skip
    assert [one["crop"] for one in held["strips"]] == ["soybean", "corn"]
    wide = [line for line in found.stdout.splitlines() if ", 80 ft: " in line]
    assert len(wide) == 4
    assert all("corn after soybean" in line or "soybean after corn" in line for line in wide)


def test_a_width_that_is_no_whole_pass(plan, tmp_path):
    other = tmp_path / "plan.toml"
    text = plan.read_text(encoding="utf-8")
    other.write_text(text.replace('width = "80 ft"', 'width = "50 ft"\nchecks = ["corn"]'))
    (tmp_path / "field.geojson").write_bytes(plan.with_name("field.geojson").read_bytes())
    found = run("lay", other, "-o", tmp_path / "out")
    assert (found.exit_code, found.stderr) == (
        2,
        (
            "striplay: plan.toml: trial.width: 50 ft is 1.25 passes of planter, 40 "
            "ft wide, for the "
            "check of corn; whole passes would do\n"
        ),
    )
    assert not (tmp_path / "out").exists()
