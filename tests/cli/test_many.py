"""`striplay many` as a user runs it."""

import json

import pytest
import shapely
from click.testing import CliRunner
from fields import SHED, STRIPS, square, write_shapes

from striplay.cli.main import main
from striplay.cli.many import lines_of
from striplay.many.run import Progress

PLAN = f'title = "Many"\n[direction]\nheading = 0\n{SHED}\n{STRIPS}'


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shapes = [square(900), square(10), shapely.affinity.translate(square(900), 1000)]
    write_shapes(tmp_path, *shapes, name="fields.geojson", kinds=["north", "yard", "south"])
    (tmp_path / "plan.toml").write_text(PLAN)
    return tmp_path


def many(*options):
    return CliRunner().invoke(main, ["many", "fields.geojson", "--plan", "plan.toml", *options])


def test_fields_are_laid_and_told(folder):
    run = many("-o", "out", "--jobs", "1", "--id", "kind")
    assert run.exit_code == 0, run.output
    lines = run.stdout.splitlines()
    assert lines[0].startswith("3 fields of fields.geojson: 1 refused; ")
    assert any(line.startswith('refused: feature 2 "yard": has 100 ft2 at ') for line in lines)
    assert lines[-1] == "written to out; open index.html in it"
    assert (folder / "out" / "index.html").exists()
    again = many("-o", "out", "--jobs", "1", "--id", "kind", "--json")
    data = json.loads(again.stdout)
    assert (data["fields"], data["laid_now"], data["verdicts"]["refused"]) == (3, 0, 1)
    assert data["kept"] == 3
    again = many("-o", "out", "--jobs", "1", "--id", "kind")
    assert again.stdout.splitlines()[-2] == "no field laid now; 3 kept from an earlier run"


def test_what_no_figure_counts_is_told_with_them(folder):
    plan = folder / "plan.toml"
    shed = SHED.replace('harvester = "corn_head"\n', "", 1)
    assert shed != SHED
    plan.write_text(PLAN.replace(SHED, shed))
    said = "Cost a year of every field, not counted: harvest of corn."
    run = many("-o", "out", "--jobs", "1")
    assert said in run.stdout.splitlines()
    assert said in (folder / "out" / "index.html").read_text()
    assert json.loads(many("-o", "out", "--jobs", "1", "--json").stdout)["not_counted"] == said
    driven = many("-o", "driven", "--jobs", "1", "--operations", "--where", "kind = 'yard'")
    assert f"Hours and c{said[1:]}" in driven.stdout.splitlines()
    other = many("-o", "other", "--jobs", "1", "--column", "kind=crops.soybean.unit",
                 "--where", "kind = 'yard'")  # fmt: skip
    assert said.replace(",", " whose columns do not say otherwise,") in other.stdout.splitlines()
    plan.write_text(PLAN)
    assert "not counted" not in many("-o", "whole", "--jobs", "1").stdout


def test_none_laid_is_told_by_the_exit_status(folder):
    run = many("-o", "out", "--jobs", "1", "--where", "kind = 'yard'")
    assert run.exit_code == 1
    assert run.stdout.splitlines()[0] == "1 fields of fields.geojson: 1 refused"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["-o", "out", "--column", "kind"],
         ("Error: Invalid value for '--column': kind: write COLUMN=KEY, such as "
         "heading=direction.heading")),
        (["-o", "out", "--column", "kind=crops.corn.rat"],
         'striplay: fields.geojson: column "kind": crops.corn.rat is no key of a plan: "rat"'),
        (["-o", "out", "--id", "kin"],
         'striplay: fields.geojson: has no column "kin" for --id, did you mean "kind"?'),
        (["-o", "out", "--where", "kind = 'none'"],
         "striplay: fields.geojson: where = \"kind = 'none'\" chooses none of its features"),
        (["-o", "out", "--files", "shp"],
         'striplay: no kind of file "shp"; known are geoparquet, geopackage'),
        (["-o", "out", "--jobs", "2", "--cluster", "tcp://127.0.0.1:1"],
         "Error: --jobs and --cluster: keep one of them"),
        (["-o", "out", "--jobs", "257"],
         "Error: Invalid value for '--jobs': 257 is not in the range 1<=x<=256."),
        (["-o", "fields.geojson"],
         "striplay: fields.geojson: is not a folder; give a new folder's name with -o"),
        ([], ("Error: -o is missing: where to write; for example "
         "striplay many fields.gpkg --plan north.toml -o out")),
    ],
)  # fmt: skip
def test_wrong_use_is_one_message_and_nothing_is_written(folder, options, said):
    run = many(*options)
    assert run.exit_code == 2
    assert said in run.stderr
    assert "Traceback" not in run.output
    assert sorted(one.name for one in folder.iterdir()) == ["fields.geojson", "plan.toml"]


def test_a_line_tells_every_half_minute_how_far_a_run_is(capsys):
    """Beside a clock of 12 s a field, the 3rd, 6th and 9th are the first after 30 s each."""
    clock = iter(range(0, 1000, 12))
    tell = lines_of(lambda: next(clock))
    for fresh in range(1, 10):
        tell(Progress(500 + fresh, fresh, 1300))
    assert capsys.readouterr().err.splitlines() == [
        f"{done} of 1,300 fields done, 0.1 a second" for done in (503, 506, 509)
    ]


def test_no_such_file_is_told(folder):
    run = CliRunner().invoke(main, ["many", "none.gpkg", "--plan", "plan.toml", "-o", "out"])
    assert run.exit_code == 2
    assert run.stderr == "striplay: none.gpkg: is not there; are name and folder right?\n"


def test_without_a_plan_a_command_that_would_do_is_shown(folder):
    run = CliRunner().invoke(main, ["many", "fields.geojson", "-o", "out"])
    assert run.exit_code == 2
    assert run.stderr.splitlines()[-1] == (
        "Error: --plan is missing: what each field is laid by; for example striplay many "
        "fields.gpkg --plan north.toml -o out"
    )
