"""`striplay systems`: five judged, tables that are TOML as printed, data, refusals."""

import json
import tomllib
from textwrap import dedent

import pytest
from click.testing import CliRunner
from fields import SAMPLES

from striplay.choosing.systems import SYSTEMS
from striplay.cli import main
from striplay.cli.systems import systems
from striplay.pay_report import WIDE

PLAN = SAMPLES / "quarter_section" / "plan.toml"


def run(*arguments):
    return CliRunner().invoke(main, ["systems", *map(str, arguments)])


@pytest.fixture(scope="module")
def told():
    return run(PLAN)


def test_all_five_are_judged_with_reasons(told):
    assert told.exit_code == 0, told.output
    lines = told.stdout.splitlines()
    heads = [line.split(":")[0] for line in lines if "as the plan stands (" in line]
    assert heads == list(SYSTEMS)
    assert "strips: can be done as the plan stands (corn 40 ft + soybean 40 ft)" in lines
    for word in ("  needs  - ", "  gives  - ", "  watch  - "):
        assert any(line.startswith(word) for line in lines), word
    assert max(len(line) for line in lines if not line.startswith("    ")) <= WIDE


def test_tables_as_printed_are_those_of_the_data(told):
    data = json.loads(run(PLAN, "--json").stdout)["systems"]
    parts = told.stdout.split("\n\n    ")
    printed = "\n\n".join(dedent(f"    {part}").split("\n\n")[0] for part in parts[1:])
    for one in data:
        for line in one["snippet"].splitlines():
            assert line in printed or not line
        tomllib.loads(one["snippet"])
        assert set(one) == {"system", "what", "feasible", "needs", "gives", "watch", "snippet"}
        assert all(each["said"] and each["source"] for each in one["gives"])


def test_one_alone(told):
    found = run(PLAN, "--only", "relay")
    assert found.exit_code == 0
    assert found.stdout.startswith("relay: not as the plan stands (soybean into wheat)\n")
    assert "strips: " not in found.stdout
    assert len(found.stdout) < len(told.stdout)


def test_the_option_names_all_systems():
    (only,) = (one for one in systems.params if one.name == "only")
    assert list(only.type.choices) == list(SYSTEMS)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (None, "{path}: is not there; are name and folder right?\n"),
        ("title = \n", ('plan.toml: line 1: title =: nothing stands after "="; write its value, '
         "or take the key out\n")),
        ('title = "Bare"\n', ("plan.toml: crops: none are given; add a [crops.NAME] table for "
         "each\n")),
    ],
)  # fmt: skip
def test_a_plan_that_can_not_be_used_is_one_clear_message(text, said, tmp_path):
    path = tmp_path / "plan.toml"
    if text is not None:
        path.write_text(text)
    found = run(path)
    assert found.exit_code == 2
    assert found.stdout == ""
    assert found.stderr == f"striplay: {said.format(path=path)}"
