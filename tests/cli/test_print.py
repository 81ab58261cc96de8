"""`striplay print`: one operation's pages by name or number, and clear refusals."""

import pytest
from click.testing import CliRunner
from fields import lay_on, square, write_plan_for
from pdfs import pages

from striplay.cli import main
from striplay.errors import PlanError
from striplay.handover import print_operation


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return write_plan_for(tmp_path_factory.mktemp("plan"), square(660))


def run(*arguments):
    return CliRunner().invoke(main, ["print", *map(str, arguments)])


def test_by_name_and_by_number_the_same_pages(plan, tmp_path):
    named, numbered = tmp_path / "named.pdf", tmp_path / "numbered.pdf"
    listed = CliRunner().invoke(main, ["check", str(plan)]).stdout.splitlines()
    place = next(at for at, line in enumerate(listed) if " plant soybean " in line)
    found = run(plan, "--for", "plant soybean", "-o", named)
    assert (found.exit_code, found.stdout) == (0, f"written to {named}\n")
    assert run(plan, "--for", place, "-o", numbered).exit_code == 0
    assert named.read_bytes() == numbered.read_bytes()
    assert sum("plant soybean" in page.text for page in pages(named)) == 3


def test_an_operation_that_there_is_not(plan, tmp_path):
    path = tmp_path / "one.pdf"
    for name in ("plant", "0", "99", "Plant corn", "²"):
        found = run(plan, "--for", name, "-o", path)
        assert found.exit_code == 2
        assert found.stderr == (
            f'striplay: plan.toml: no operation "{name}"; its operations are 1 "plant soybean", '
            '2 "plant corn", 3 "spray corn", 4 "spray soybean", 5 "harvest corn", '
            '6 "harvest soybean"\n'
        )
    assert not path.exists()


def test_what_is_missing_or_can_not_be_written(plan, tmp_path):
    found = run(plan, "--for", "1", "-o", tmp_path / "one.png")
    assert (found.exit_code, found.stderr) == (2, "striplay: one.png: must end in .pdf\n")
    (tmp_path / "folder.pdf").mkdir()
    found = run(plan, "--for", "1", "-o", tmp_path / "folder.pdf")
    assert found.exit_code == 2
    assert "is not a file; give a new file's name with -o" in found.stderr
    assert "-o is missing: where to write" in run(plan, "--for", "1").stderr
    assert (
        "--for is missing: which operation; for example striplay print north"
        in run(plan, "-o", tmp_path / "one.pdf").stderr
    )
    assert list(tmp_path.iterdir()) == [tmp_path / "folder.pdf"]


def test_the_day_printed(plan, tmp_path):
    path = tmp_path / "one.pdf"
    assert run(plan, "--for", "1", "-o", path, "--date", "2026-05-01").exit_code == 0
    assert all("2026-05-01" in page.text for page in pages(path))
    assert run(plan, "--for", "1", "-o", path).exit_code == 0
    assert not any("2026-05-01" in page.text for page in pages(path))


def test_an_operation_named_by_a_number(tmp_path):
    name = '[[operations]]\ndoes = "plant"\nmachine = "planter"\ncrops = ["soybean"]\nname = "1"\n'
    layout = lay_on(tmp_path, square(660), field="", headland="", strips=(
        '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n' + name
    ))  # fmt: skip
    path = tmp_path / "one.pdf"
    print_operation(layout, "1", path)
    assert "soybean seed" in " ".join(page.text for page in pages(path))
    with pytest.raises(PlanError, match='no operation "plant soybean"'):
        print_operation(layout, "plant soybean", path)
