"""The documents' own examples run, on the sample fields."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner
from fields import SAMPLES

from striplay.cli import main

ROOT = SAMPLES.parent


def blocks(page, language):
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.findall(rf"```{language}\n(.*?)```", text, flags=re.DOTALL)


@pytest.fixture
def beside_samples(tmp_path, monkeypatch):
    (tmp_path / "sample_fields").symlink_to(SAMPLES)
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("page", ["README.md", "docs/howto_python.md"])
@pytest.mark.usefixtures("beside_samples")
def test_python_examples_run(page, capsys):
    for block in blocks(page, "python"):
        exec(compile(block, page, "exec"), {})  # noqa: S102 - our own documents
        for said in re.findall(r"^print\(.*#\s*(.+)$", block, flags=re.MULTILINE):
            assert capsys.readouterr().out.strip() == said


@pytest.mark.usefixtures("beside_samples")
def test_tutorial_commands_run():
    commands = [block.strip() for block in blocks("docs/tutorial.md", "sh")]
    assert len(commands) == 3
    for command in commands:
        result = CliRunner().invoke(main, shlex.split(command)[1:])
        assert result.exit_code == 0, result.stderr
    assert (Path.cwd() / "my_field" / "mapbook.pdf").exists()


def test_every_command_is_documented():
    reference = (ROOT / "docs" / "cli_reference.md").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in main.commands:
        assert f"## `striplay {name}`" in reference
        assert f"striplay {name}" in readme
