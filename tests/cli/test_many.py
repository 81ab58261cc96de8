"""`striplay many` as a user runs it."""

import json

import pytest
import shapely
from click.testing import CliRunner
from fields import SHED, STRIPS, square, write_shapes

from striplay.cli.main import main

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
    assert lines[0].startswith("3 fields of fields.geojson: 1 refused, ")
    assert any(line.startswith('refused: feature 2 "yard": has 100 ft2 at ') for line in lines)
    assert lines[-1] == "written to out; open index.html in it"
    assert (folder / "out" / "index.html").exists()
    again = many("-o", "out", "--jobs", "1", "--id", "kind", "--json")
    data = json.loads(again.stdout)
    assert (data["fields"], data["laid_now"], data["verdicts"]["refused"]) == (3, 0, 1)


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
         'striplay: plan.toml: crops.corn.rat: is no key of a plan: "rat"'),
        (["-o", "out", "--id", "kin"],
         'striplay: plan.toml: --id: fields.geojson has no column "kin", did you mean "kind"?'),
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


def test_no_such_file_is_told(folder):
    run = CliRunner().invoke(main, ["many", "none.gpkg", "--plan", "plan.toml", "-o", "out"])
    assert run.exit_code == 2
    assert run.stderr == "striplay: none.gpkg: is not there; are name and folder right?\n"
