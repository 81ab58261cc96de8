"""Commands as a user runs them: what they print, what they write, how they refuse."""

import json
import re
import subprocess
import sys
import time
import tomllib

import pytest
from click.testing import CliRunner
from fields import NAMES, SAMPLES, square, write_field, write_plan_for

from striplay.cli import main
from striplay.cli.demo import FIELDS

EXPECTED = {
    "strips.geojson", "rows.geojson", "headland.geojson", "passes.geojson", "layout.gpkg",
    "accounts.json", "strips.csv", "strip_crops.csv", "operations.csv", "passes.csv",
    "field.html", "mapbook.pdf", ".striplay-layout",
}  # fmt: skip


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def plan(tmp_path):
    return write_plan_for(tmp_path, square())


def test_sample_names_agree():
    assert FIELDS == NAMES


@pytest.mark.usefixtures("samples_laid_once")
@pytest.mark.parametrize("name", FIELDS)
def test_demo_lays_every_sample_field(tmp_path, name):
    result = run("demo", "--field", name, "-o", tmp_path / "out", "--no-map-book")
    assert result.exit_code == 0, result.stderr
    assert {p.name for p in (tmp_path / "out").iterdir()} == EXPECTED - {"mapbook.pdf"}
    accounts = json.loads((tmp_path / "out" / "accounts.json").read_text())
    total = sum(accounts["areas_m2"].values())
    assert total == pytest.approx(accounts["field"]["area_m2"], rel=1e-9)


def test_lay_writes_everything_and_reports_in_15_lines(plan, tmp_path):
    result = run("lay", plan, "-o", tmp_path / "out", "--date", "2026-05-02")
    assert result.exit_code == 0, result.stderr
    assert {p.name for p in (tmp_path / "out").iterdir()} == EXPECTED
    lines = result.stdout.splitlines()
    assert len(lines) <= 15
    assert lines[0] == (
        "Test: heading 0.00 degrees from true north, offset 0 ft, first strip on the left"
    )
    # 1,238,861 seeds on strips and 639,412 on the headland: 23.5 units
    bought = "24 units of 80,000 seeds (1.88 million seeds)"
    assert lines[2].split() == ["corn", "16", "36.44", "ac", "1.95", *bought.split()]


def test_lay_json_is_the_accounts_and_nothing_else(plan, tmp_path):
    result = run("lay", plan, "-o", tmp_path / "out", "--no-map-book", "--json")
    assert json.loads(result.stdout) == json.loads((tmp_path / "out" / "accounts.json").read_text())
    accounts = json.loads(result.stdout)
    assert set(accounts["areas_m2"]) == {"strips", "headland", "obstacles", "leftover"}
    assert {"title", "area_m2", "heading_deg"} <= set(accounts["field"])
    assert {"strips", "area_m2", "row_length_m", "seeds", "seed_units"} <= set(
        accounts["crops"]["corn"]
    )


def test_fit_json_best_first(plan):
    result = run("fit", plan, "--json")
    fitted = json.loads(result.stdout)
    corn = fitted["crops"]["corn"][0]
    assert (corn["rows"], corn["plant_passes"], corn["harvest_passes"]) == (16, 1, 2)
    assert (corn["straddles"], corn["boom_mismatch_m"], corn["fits"]) == (0, 0.0, True)
    assert [fit["rows"] for fit in fitted["crops"]["soybean"]] == [48, 32, 16]
    best = fitted["sets"][0]
    # the narrowest of equal widths; the plan's own 16 and 48 rows are set aside
    assert [(s["crop"], s["rows"]) for s in best["strips"]] == [("corn", 16), ("soybean", 16)]
    assert best["shares"] == pytest.approx({"corn": 0.5, "soybean": 0.5})
    assert (best["width_m"], best["equal_widths"]) == (pytest.approx(24.384), True)


def test_fit_judges_the_strips_of_a_row_set():
    plan = SAMPLES / "quarter_section" / "row_set.toml"
    fitted = json.loads(run("fit", plan, "--json").stdout)["row_set"]
    # 3 rows of corn on either side of a planter pass: their strip of 6 spans two passes
    assert [(s["crop"], s["rows"], s["straddles"], s["fits"]) for s in fitted] == [
        ("corn", 6, 1, True), ("soybean", 6, 0, True),
    ]  # fmt: skip
    lines = run("fit", plan).stdout.splitlines()
    first = lines.index("the plan's row set, strip by strip")
    assert lines[first + 1] == (
        "  corn 6 rows, 15 ft    fits  rows of 2 planter passes; 1 header pass, 1 straddling a "
        "guess row; boom sections end at the strip's edges"
    )
    assert lines[first + 3] == "sets, best first"


def test_without_a_row_set_fit_tells_of_none(plan):
    assert set(json.loads(run("fit", plan, "--json").stdout)) == {"crops", "sets", "row_sets"}
    assert "the plan's row set" not in run("fit", plan).stdout


def test_fit_limit(plan):
    result = run("fit", plan, "--limit", "90 ft")
    assert "16 rows, 40 ft" in result.stdout
    assert "48 rows" not in result.stdout
    assert "2 platform cuts, 66.7 % of the width used" in result.stdout
    wrong = run("fit", plan, "--limit", "90")
    assert wrong.exit_code == 2
    assert wrong.stderr == (
        'striplay: --limit: "90" is not a length; write a number and a unit, such as "30 in"\n'
    )


@pytest.mark.parametrize("units", ["us", "metric"])
def test_started_plan_can_be_laid_at_once(tmp_path, units):
    write_field(tmp_path, square(1320))
    plan = tmp_path / "plans" / "mine.toml"
    plan.parent.mkdir()
    started = run("start", tmp_path / "field.geojson", "-o", plan, "--units", units)
    assert started.exit_code == 0, started.stderr
    assert tomllib.loads(plan.read_text())["field"]["boundary"] == "../field.geojson"
    laid = run("lay", plan, "-o", tmp_path / "out", "--no-map-book")
    assert laid.exit_code == 0, laid.stderr
    again = run("start", tmp_path / "field.geojson", "-o", plan)
    assert again.exit_code == 2
    assert again.stderr == f"striplay: {plan}: exists already; give another name with -o\n"


def test_start_without_a_boundary_speaks_of_no_plan(tmp_path):
    for name in ("missing.geojson", "a" * 300):
        result = run("start", tmp_path / name)
        assert result.exit_code == 2
        assert result.stderr == (f"striplay: {name}: is not there; are name and folder right?\n")


def test_bad_plan_writes_nothing(tmp_path):
    plan = write_plan_for(tmp_path, square(), direction="heading = 200\nstrat = 1")
    result = run("lay", plan, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("striplay: plan.toml: 2 faults\n")
    assert 'did you mean "start"?' in result.stderr
    assert "Traceback" not in result.stderr
    assert not (tmp_path / "out").exists()


def test_missing_boundary_writes_nothing(plan, tmp_path):
    (tmp_path / "field.geojson").unlink()
    result = run("lay", plan, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert result.stderr.endswith(
        "field.geojson: no such file; a plan names files as seen from itself\n"
    )
    assert not (tmp_path / "out").exists()


def test_folder_of_others_is_left_alone(plan, tmp_path):
    before = sorted(p.name for p in tmp_path.iterdir())
    result = run("lay", plan, "-o", tmp_path)
    assert result.exit_code == 2
    assert result.stderr == (
        f"striplay: {tmp_path}: is not empty and was not made by striplay lay; give a new folder's "
        "name with -o\n"
    )
    assert sorted(p.name for p in tmp_path.iterdir()) == before


def test_notices_go_to_stderr(tmp_path):
    plan = write_plan_for(tmp_path, square(), strips='[[strips]]\ncrop = "corn"\nrows = 20\n')
    result = run("lay", plan, "-o", tmp_path / "out", "--no-map-book", "--json")
    nowhere, fit = result.stderr.splitlines()
    assert nowhere.startswith("note: soybean: is in the plan and nowhere on the field")
    assert fit.startswith("note: corn strip of 50 ft does not fit")
    json.loads(result.stdout)


@pytest.mark.usefixtures("samples_laid_once")
@pytest.mark.parametrize("command", ["demo", "fit", "lay", "start"])
def test_help_shows_a_true_example(command, tmp_path, monkeypatch):
    text = run(command, "--help").stdout
    example = re.split(r"Examples?:\n", text)[1].splitlines()[0].strip()
    assert example.startswith(f"striplay {command} ")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sample_fields").symlink_to(SAMPLES)
    words = example.replace('"90 ft"', "90_ft").split()[1:]
    result = run(*[word.replace("90_ft", "90 ft") for word in words])
    assert result.exit_code == 0, result.stderr


def test_wrong_use_exits_2():
    assert run("lay").exit_code == 2
    assert run("nonsense").exit_code == 2


def test_help_loads_nothing_heavy():
    code = f"import sys, striplay.cli; print([m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


HEAVY = (
    "numpy", "pandas", "shapely", "geopandas", "pyproj", "fiona", "pyogrio", "matplotlib",
    "pydantic",
)  # fmt: skip


@pytest.mark.parametrize("words", [["--help"], ["lay", "--help"], ["pair", "corn", "soybean"]])
def test_help_and_pairs_without_a_plan_load_nothing_heavy(words):
    command = [sys.executable, "-X", "importtime", "-m", "striplay", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    loaded = {line.rpartition("|")[2].strip().split(".")[0] for line in done.stderr.splitlines()}
    assert "click" in loaded
    assert not loaded & set(HEAVY)


@pytest.mark.parametrize("more", [[], ["--json"], ["--limit", "60 ft"]])
def test_fit_loads_neither_projection_nor_search(more):
    plan = SAMPLES / "quarter_section" / "plan.toml"
    command = [sys.executable, "-X", "importtime", "-m", "striplay", "fit", str(plan), *more]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert "striplay.section.fit" in loaded
    assert not {name.split(".")[0] for name in loaded} & set(HEAVY) - {"numpy", "pydantic"}
    assert not [name for name in loaded if name.startswith("striplay.search")]


def test_a_layout_loads_no_tables_until_one_is_asked_for():
    plan = str(SAMPLES / "two_parts" / "plan.toml")
    code = (
        "import sys, striplay\n"
        f"layout = striplay.lay(striplay.read_plan({plan!r}))\n"
        "assert layout.accounts and repr(layout)\n"
        "print([m for m in ('pandas', 'geopandas', 'matplotlib') if m in sys.modules])\n"
        "layout.headland\n"
        "print('pandas' in sys.modules, 'matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["[]", "True False"]


def test_lay_killed_in_the_middle_keeps_the_old_folder(plan, tmp_path):
    out = tmp_path / "out"
    assert run("lay", plan, "-o", out, "--no-map-book").exit_code == 0
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    plan.write_text(plan.read_text().replace("rows = 48", "rows = 32"))
    command = [sys.executable, "-m", "striplay", "lay", str(plan), "-o", str(out), "--no-map-book"]
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    deadline = time.monotonic() + 30
    while not list(tmp_path.glob(".out.partial-*/*")) and time.monotonic() < deadline:
        time.sleep(0.005)
    child.kill()
    child.wait()
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before
    assert run("lay", plan, "-o", out, "--no-map-book").exit_code == 0
    assert not list(tmp_path.glob(".out.partial-*"))
    assert json.loads((out / "accounts.json").read_text())["crops"]["soybean"]["strips"] != 16
