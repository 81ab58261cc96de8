"""`striplay check`: a verdict an operation, its exit status, and data for scripts."""

import json

import pytest
from click.testing import CliRunner
from fields import SAMPLES, SHED, STRIPS, square, write_plan_for

from striplay.cli import main

DAYS = {
    "corn": "sown = 2026-05-01\nharvested = 2026-10-10\n",
    "soybean": "sown = 2026-05-10\nharvested = 2026-09-20\n",
}  # fmt: skip
LINES = 25


def run(*arguments):
    return CliRunner().invoke(main, ["check", *map(str, arguments)])


def dated(shed):
    for crop, days in DAYS.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\n{days}")
    return shed


@pytest.mark.parametrize("name", ["quarter_section/plan", "pivot_circle/all_systems"])
def test_a_sample_is_checked_in_few_lines(name):
    path = SAMPLES / f"{name}.toml"
    found = run(path)
    told = json.loads(run(path, "--json").stdout)
    lines = found.stdout.splitlines()
    assert (found.exit_code, len(lines) <= LINES) == (0, True)
    listed = lines[1 : len(told) + 1]
    for line, one in zip(listed, told, strict=True):
        assert line.startswith(one["verdict"])
        assert one["name"] in line
        assert f"{one['passes']} passes" in line
    cost = [one["name"] for one in told if one["verdict"] == "at a cost"]
    assert f"operations: {len(told)} of {len(told)} can be done; at a cost: {cost[0]}" in lines[0]
    # what is told of passes follows, then the other reasons in their order, none left out
    reasons = dict.fromkeys(one["reason"] for one in told if one["verdict"] == "at a cost")
    after = lines[len(told) + 1 :]
    over = ("booms with sections shut", "machines at work reach")
    reaching = [line for line in after if line.startswith(over)]
    assert after[: len(reaching)] == reaching
    rest = [one for one in reasons if one not in reaching]
    assert [line for line in after if line in rest] == rest


def test_what_cannot_be_done_ends_with_status_1(tmp_path):
    wide = dated(SHED).replace('width = "30 ft"', 'width = "60 ft"')
    strips = STRIPS.replace("rows = 48", "rows = 16")
    found = run(write_plan_for(tmp_path, square(660), shed=wide, strips=strips))
    assert found.exit_code == 1
    assert "no: harvest soybean" in found.stdout.splitlines()[0]
    assert "platform would run over corn, standing until 2026-10-10" in found.stdout
    assert {path.name for path in tmp_path.iterdir()} == {"field.geojson", "plan.toml"}


def test_the_same_with_a_platform_that_fits_can_be_done(tmp_path):
    narrow = dated(SHED).replace('width = "30 ft"', 'width = "40 ft"')
    strips = STRIPS.replace("rows = 48", "rows = 16")
    found = run(write_plan_for(tmp_path, square(660), shed=narrow, strips=strips))
    assert found.exit_code == 0
    assert "no: " not in found.stdout


def test_many_operations_stay_within_the_lines(tmp_path):
    sprayings = "".join(
        f'[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nday = 2026-06-{day:02d}\n'
        for day in range(1, 29)
    )
    found = run(write_plan_for(tmp_path, square(660), strips=STRIPS + sprayings))
    lines = found.stdout.splitlines()
    assert len(lines) <= LINES
    assert lines[-1].startswith("and ")
    assert lines[-1].endswith(" more in operations.csv")


def test_a_plan_that_is_not_there_is_told(tmp_path):
    found = run(tmp_path / "none.toml")
    assert found.exit_code == 2
    assert "none.toml" in found.stderr
    assert not found.stdout
