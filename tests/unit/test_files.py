"""Which files are written: the registry, what plan and command line name, and what is refused."""

import pytest
from click.testing import CliRunner
from fields import lay_on, square, write_plan_for

import striplay
from striplay.cli import main
from striplay.errors import OutputError, PlanError
from striplay.files.plan import read_plan
from striplay.files.writers import MAP_BOOK, WRITERS, chosen, names_written
from striplay.handover import content_of

USUAL = {
    "strips.geojson", "rows.geojson", "headland.geojson", "passes.geojson", "layout.gpkg",
    "accounts.json", "strips.csv", "strip_crops.csv", "operations.csv", "passes.csv", "field.html",
    "mapbook.pdf",
}  # fmt: skip
"""What lay writes where nothing is named."""


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    return lay_on(tmp_path_factory.mktemp("files"), square(1320))


@pytest.fixture(scope="module")
def content(layout):
    return content_of(layout)


def test_the_usual_files_are_written_where_none_are_named():
    assert {name for writer in chosen(None) for name in writer.files} == USUAL


def test_every_file_is_made_by_one_kind():
    names = [name for writer in WRITERS.values() for name in writer.files]
    assert len(names) == len(set(names)) == len(names_written())
    for name, writer in WRITERS.items():
        assert name == writer.name
        assert writer.holds.endswith(".")
        assert (writer.encode is None) == (name == MAP_BOOK)


@pytest.mark.parametrize("name", [name for name in WRITERS if name != MAP_BOOK])
def test_a_kind_makes_the_files_it_says_the_same_every_time(content, name):
    first, second = WRITERS[name].encode(content), WRITERS[name].encode(content)
    assert set(first) == set(WRITERS[name].files)
    assert first == second
    assert all(isinstance(data, bytes) and data for data in first.values())


def files_in(folder):
    return {path.name for path in folder.iterdir()} - {".striplay-layout"}


def test_a_plan_names_what_is_written_and_the_command_goes_before_it(tmp_path):
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(path.read_text() + '[files]\nwrite = ["csv", "accounts"]\n')
    layout = striplay.lay(read_plan(path))
    striplay.save(layout, tmp_path / "out")
    assert files_in(tmp_path / "out") == {*WRITERS["csv"].files, "accounts.json"}
    striplay.save(layout, tmp_path / "out", files=["geopackage"])
    assert files_in(tmp_path / "out") == {"layout.gpkg"}
    done = CliRunner().invoke(
        main, ["lay", str(path), "-o", str(tmp_path / "out"), "--files", " geojson, accounts,"]
    )
    assert done.exit_code == 0, done.stderr
    assert files_in(tmp_path / "out") == {*WRITERS["geojson"].files, "accounts.json"}


def test_what_files_are_written_changes_no_mark(layout):
    plan = layout.plan.model_copy(
        update={"files": layout.plan.files.model_copy(update={"write": ("csv",)})}
    )
    assert striplay.lay(plan).mark == layout.mark


KNOWN = f"known are {', '.join(WRITERS)}"


def test_a_kind_that_is_not_there_is_refused_in_the_plan(tmp_path):
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(path.read_text() + '[files]\nwrite = ["geojsn", "csv"]\n')
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    assert str(refusal.value) == (
        f'plan.toml: files.write: no kind of file "geojsn", did you mean "geojson"?; {KNOWN}'
    )


LEFT_OUT = "name one, or leave the key out for the usual ones"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('write = "csv"', 'write: "csv" must be a list of names'),
        ("write = [1]", "write: [1] must be a list of names"),
        ("write = []", f"write: [] names no kind of file; {LEFT_OUT}"),
        ('write = ["KML"]', f'write: no kind of file "KML", did you mean "kml"?; {KNOWN}'),
        ("task_data = 4.3", "task_data: 4.3 must be '4' or '3.3', in quotes"),
        ("task_data = 3.3", "task_data: 3.3 must be '4' or '3.3', in quotes"),
        ('task_data = "4.3"', "task_data: \"4.3\" must be '4' or '3.3'"),
    ],
)  # fmt: skip
def test_files_that_can_not_be_wished_are_told_with_what_would_do(tmp_path, line, told):
    path = write_plan_for(tmp_path, square(1320))
    path.write_text(path.read_text() + f"[files]\n{line}\n")
    with pytest.raises(PlanError) as refusal:
        read_plan(path)
    examples = {
        "write": 'write = ["geojson", "geopackage", "kml"]',
        "task_data": 'task_data = "3.3"',
    }
    example = "" if "known are" in told else f"; for example {examples[line.split()[0]]}"
    assert str(refusal.value) == f"plan.toml: files.{told}{example}"


def test_a_kind_that_is_not_there_is_refused_by_the_command_and_nothing_written(tmp_path):
    path = write_plan_for(tmp_path, square(1320))
    for asked, told in (
        ("csv,\x1b[2Jx", f'no kind of file " [2Jx"; {KNOWN}'),
        (",", f"names no kind of file; {KNOWN}"),
    ):
        done = CliRunner().invoke(
            main, ["lay", str(path), "-o", str(tmp_path / "out"), "--files", asked]
        )
        assert done.exit_code == 2
        assert done.stderr.endswith(f"Error: Invalid value for '--files': {told}\n")
        assert not (tmp_path / "out").exists()


def test_a_kind_that_is_not_there_is_refused_from_python(layout, tmp_path):
    with pytest.raises(OutputError) as refusal:
        striplay.save(layout, tmp_path / "out", files=["shape"])
    assert str(refusal.value).startswith('no kind of file "shape"')
    assert not (tmp_path / "out").exists()
