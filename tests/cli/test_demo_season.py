"""`striplay demo --season`: the whole circle in one command, and what lies where at its end."""

import json
import re

import pytest
from click.testing import CliRunner
from pdfs import check_page, pages

from striplay.cli import main
from striplay.cli.demo import sample_folder
from striplay.files.plan import read_plan


def run(*arguments):
    return CliRunner().invoke(main, [*map(str, arguments)])


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """The demo, run once, into an empty folder."""
    folder = tmp_path_factory.mktemp("season")
    return folder, run("demo", "--season", "--no-map-book", "-o", folder)


def test_each_step_is_told_by_its_command_and_the_end_says_what_lies_where(shown):
    folder, done = shown
    assert (done.exit_code, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert [line for line in lines if line.startswith("striplay ")] == [
        "striplay lay plan.toml -o layout",
        "striplay record plan.toml load records.csv",
        "striplay record plan.toml compare",
        "striplay record plan.toml journal -o journal.pdf",
        "striplay next plan.toml -o next.toml",
    ]
    assert "  100 entries recorded" in lines
    assert any(line.startswith("  land equivalent ratio of strips: ") for line in lines)
    begun = lines.index(f"what lies in {folder}:")
    told = [re.split(r" {2,}", line)[1] for line in lines[begun + 1 : -1]]
    assert {*told, "field.geojson"} == {one.name for one in folder.iterdir()}
    assert lines[-1] == f"go on, such as: striplay record {folder / 'plan.toml'} list"
    assert "invented" in done.stdout
    assert "drawn by lot" not in done.stdout  # as a trial's checks are


def test_what_it_wrote_can_be_gone_on_with(shown):
    folder, _ = shown
    plan = folder / "plan.toml"
    kept = json.loads(run("record", plan, "list", "--json").stdout)
    assert len(kept["entries"]) == 100
    assert {one["strip"] for one in kept["yields"]} == set(range(1, 25))
    crops = [[wish.crop for wish in read_plan(one).strips] for one in (plan, folder / "next.toml")]
    assert crops == [["corn", "soybean"], ["soybean", "corn"]]
    found = pages(folder / "journal.pdf")
    for page in found:
        check_page(page)
    said = " ".join(word for page in found for word in page.text.split())
    told = ("20 of 20", "hail, leaves torn", "Land equivalent ratio of strips", "dots: checks")
    for each in told:
        assert each in said
    assert "2026-10-16" in said


def test_the_same_pages_come_of_the_command(shown, tmp_path):
    folder, _ = shown
    path = tmp_path / "again.pdf"
    done = run("record", folder / "plan.toml", "journal", "-o", path)
    assert (done.exit_code, done.stdout, done.stderr) == (0, f"written to {path}\n", "")
    assert path.read_bytes() == (folder / "journal.pdf").read_bytes()


def test_nothing_is_replaced(shown):
    folder, _ = shown
    before = {one.name: one.stat().st_mtime_ns for one in folder.iterdir()}
    again = run("demo", "--season", "-o", folder)
    assert (again.exit_code, again.stdout) == (2, "")
    assert again.stderr == f"striplay: {folder}: exists already; give another name with -o\n"
    assert {one.name: one.stat().st_mtime_ns for one in folder.iterdir()} == before


@pytest.mark.parametrize("given", [("--field", "pond_ell"), ("--json",)])
def test_it_has_a_field_and_a_report_of_its_own(tmp_path, given):
    done = run("demo", "--season", *given, "-o", tmp_path / "out")
    assert (done.exit_code, done.stdout) == (2, "")
    assert f"--season has a field and a report of its own; leave {given[0]} out" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_journal_needs_records_and_says_so(tmp_path):
    for one in (sample_folder() / "seasons" / "alder_bend").iterdir():
        (tmp_path / one.name).write_bytes(one.read_bytes())
    path = tmp_path / "journal.pdf"
    done = run("record", tmp_path / "plan.toml", "journal", "-o", path)
    assert (done.exit_code, done.stdout) == (2, "")
    assert "records.gpkg: is not there; nothing is recorded yet" in done.stderr
    refused = run("record", tmp_path / "plan.toml", "journal")
    assert "-o is missing: where to write; for example striplay record" in refused.stderr
    assert not path.exists()


def test_the_sample_says_it_is_invented():
    folder = sample_folder() / "seasons" / "alder_bend"
    assert (folder / "plan.toml").read_text(encoding="utf-8").startswith("# An invented farm: ")
    lines = (folder / "records.csv").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 101
    assert all("(invented)" in line for line in lines[1:])
