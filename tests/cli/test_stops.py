"""How a command ends where something stops it: a line, an exit status, and nothing half-written."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from fields import square, write_plan_for

from striplay import __version__
from striplay.cli import main
from striplay.errors import (
    AccountsError,
    BoundaryError,
    OutputError,
    PassError,
    PlanError,
    WriteError,
)


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def plan(tmp_path):
    return write_plan_for(tmp_path, square(1320))


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (PlanError("plan.toml", ["crops: are amiss"]), 2), (BoundaryError("amiss"), 2),
        (OutputError("amiss"), 2), (WriteError("amiss"), 1), (AccountsError("amiss"), 1),
        (PassError("amiss"), 1),
    ],
)  # fmt: skip
def test_each_refusal_has_its_exit_status(plan, tmp_path, monkeypatch, error, status):
    monkeypatch.setattr("striplay.flow.lay", raising(error))
    result = run("lay", plan, "-o", tmp_path / "out")
    assert (result.exit_code, result.stdout, result.stderr) == (status, "", f"striplay: {error}\n")
    assert not (tmp_path / "out").exists()


def raising(error):
    def stop(*_, **__):
        raise error

    return stop


def test_a_fault_is_told_in_short_and_logged_where_asked(plan, tmp_path, monkeypatch):
    hidden = "34 barley lane"
    monkeypatch.setattr("striplay.flow.lay", raising(ValueError(hidden)))
    monkeypatch.setattr(sys, "argv", ["striplay", "lay", "north.toml", "-o", "out"])
    monkeypatch.delenv("STRIPLAY_LOG", raising=False)
    result = run("lay", plan, "-o", tmp_path / "out")
    assert (result.exit_code, result.stdout) == (1, "")
    python = ".".join(map(str, sys.version_info[:3]))
    assert result.stderr == (
        "striplay: stopped by a fault of its own (ValueError), and wrote nothing more. Please "
        f"report it with: striplay {__version__}, Python {python} on {sys.platform}; the command "
        '"striplay lay north.toml -o out"; the plan and the files it names. To send how it came '
        "about too, set STRIPLAY_LOG to a file's name and run it again\n"
    )
    log = tmp_path / "log.txt"
    monkeypatch.setenv("STRIPLAY_LOG", str(log))
    again = run("lay", plan, "-o", tmp_path / "out")
    assert again.stderr == result.stderr
    assert f"ValueError: {hidden}" in log.read_text()
    assert "Traceback" in log.read_text()
    monkeypatch.setenv("STRIPLAY_LOG", str(tmp_path))
    assert "can't be written: Is a directory" in run("lay", plan, "-o", tmp_path / "out").stderr


def test_no_memory_is_told(plan, tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.flow.lay", raising(MemoryError()))
    result = run("lay", plan, "-o", tmp_path / "out")
    assert result.exit_code == 1
    assert result.stderr == (
        "striplay: memory ran out; a smaller field, or fewer and wider strips, would do\n"
    )


def test_stopping_it_is_quiet(plan, tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.flow.lay", raising(KeyboardInterrupt()))
    result = run("lay", plan, "-o", tmp_path / "out")
    assert (result.exit_code, result.output) == (1, "")


@pytest.mark.skipif(not hasattr(signal, "SIGPIPE"), reason="pipes break otherwise elsewhere")
@pytest.mark.parametrize("words", [["fit", "{plan}"], ["fit", "{plan}", "--json"]])
def test_a_pipe_that_breaks_is_quiet(plan, words):
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "striplay", *(word.format(plan=plan) for word in words)]
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, check=False)
    os.close(writer)
    assert (done.returncode, done.stderr) == (1, b"")


FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
@pytest.mark.parametrize(
    ("words", "unbuffered"),
    [
        (["fit", "{plan}"], ""), (["fit", "{plan}", "--json"], ""),
        (["fit", "{plan}", "--json"], "1"), (["fit", "--help"], ""), (["--help"], ""),
    ],
)  # fmt: skip
def test_a_full_disk_under_stdout_is_told(plan, words, unbuffered):
    command = [sys.executable, "-m", "striplay", *(word.format(plan=plan) for word in words)]
    settings = {**os.environ, "PYTHONUNBUFFERED": unbuffered}
    with FULL.open("w") as full:
        done = subprocess.run(
            command, stdout=full, stderr=subprocess.PIPE, check=False, env=settings
        )
    assert done.returncode == 1
    assert done.stderr.decode() == (
        "striplay: stdout: can't be written: No space left on device; where it goes to a file, "
        "make room on that disk, or name a file elsewhere\n"
    )


@pytest.mark.skipif(sys.platform == "win32", reason="closed otherwise elsewhere")
def test_a_closed_stdout_is_no_fault(plan):
    command = [sys.executable, "-m", "striplay", "fit", str(plan)]
    done = subprocess.run(
        ["/bin/sh", "-c", 'exec "$@" >&-', "sh", *command], stderr=subprocess.PIPE, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="a folder in use can't be removed")
@pytest.mark.parametrize("words", [["lay", "{plan}", "-o", "out"], ["start", "{field}"]])
def test_a_folder_worked_in_that_is_gone_is_told(plan, tmp_path, monkeypatch, words):
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    given = {"plan": plan, "field": plan.parent / "field.geojson"}
    result = run(*(word.format(**given) for word in words))
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        "striplay: the folder you work in is no longer there; change to another (cd), and run it "
        "again\n"
    )


def test_another_refusal_of_the_system_is_a_fault(plan, tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.flow.lay", raising(FileNotFoundError("of ours")))
    result = run("lay", plan, "-o", tmp_path / "out")
    assert result.exit_code == 1
    assert result.stderr.startswith("striplay: stopped by a fault of its own (FileNotFoundError)")


@pytest.mark.parametrize(
    ("command", "example"),
    [("lay", "striplay lay north.toml -o north"),
     ("section", "striplay section north.toml -o north.svg")],
)  # fmt: skip
def test_where_to_write_is_asked_for_with_an_example(plan, command, example):
    result = run(command, plan)
    assert result.exit_code == 2
    last = result.stderr.splitlines()[-1]
    assert last == f"Error: -o is missing: where to write; for example {example}"


@pytest.mark.parametrize(
    "command",
    [["lay"], ["section"], ["next"], ["print"], ["print", "--for", "1"], ["many"],
     ["many", "--plan", "north.toml"], ["many", "--plan", "north.toml", "-o", "out"]],
)  # fmt: skip
def test_a_file_that_is_not_there_is_told_before_what_else_is_missing(tmp_path, command):
    result = run(command[0], tmp_path / "nope.toml", *command[1:])
    assert result.exit_code == 2
    assert result.stderr == "striplay: nope.toml: is not there; are name and folder right?\n"


def test_no_picture_in_place_of_what_is_no_file(plan, tmp_path):
    (tmp_path / "a.svg").mkdir()
    result = run("section", plan, "-o", tmp_path / "a.svg")
    assert result.exit_code == 2
    assert "is not a file; give a new file's name with -o" in result.stderr
    assert run("section", plan, "-o", tmp_path / "no" / "a.svg").exit_code == 1
    assert run("section", plan, "-o", tmp_path / "a.gif").exit_code == 2


def test_a_picture_cut_short_leaves_the_old_one(plan, tmp_path, monkeypatch):
    path = tmp_path / "s.svg"
    assert run("section", plan, "-o", path).exit_code == 0
    before = path.read_bytes()

    def half(_, fresh):
        fresh.write_text("half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("striplay.sheets.section_axes.write_section", half)
    result = run("section", plan, "-o", path)
    assert result.exit_code == 1
    assert result.stderr == f"striplay: {path}: can't be written: No space left on device\n"
    assert path.read_bytes() == before
    assert not list(tmp_path.glob(".s.svg*"))


def test_nothing_moves_the_cursor(tmp_path, monkeypatch):
    """Titles, file names and messages have no escape codes, nor signs that turn their reading."""
    plan = write_plan_for(tmp_path, square(1320))
    title = r'title = "North\u001b[31m\u009b2J\nforty\u202etxt"'
    plan.write_text(plan.read_text().replace('title = "Test"', title))
    result = run("lay", plan, "-o", tmp_path / "out\x1b[2J", "--no-map-book")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("North [31m 2J forty txt: heading 0")
    assert all(one.isprintable() or one == "\n" for one in result.output)
    accounts = (tmp_path / "out\x1b[2J" / "accounts.json").read_text()
    assert all(one.isprintable() or one == "\n" for one in accounts)
    assert json.loads(accounts)["field"]["title"] == "North [31m 2J forty txt"
    missing = run("lay", tmp_path / "no\x1b[2J\u202e.toml", "-o", tmp_path / "x")
    assert missing.exit_code == 2
    assert all(one.isprintable() or one == "\n" for one in missing.output)
    monkeypatch.setattr("striplay.flow.lay", raising(BoundaryError("a\x1b]0;b\x07\u2066c")))
    stopped = run("lay", plan, "-o", tmp_path / "y")
    assert stopped.stderr == "striplay: a ]0;b  c\n"
    assert "\x1b" not in run("no\x1b[2J").stderr


def test_a_letter_the_terminal_lacks_is_no_reason_to_stop(tmp_path):
    plan = write_plan_for(tmp_path, square(1320))
    plan.write_text(plan.read_text().replace('"Test"', '"Поле"'), encoding="utf-8")
    command = [sys.executable, "-m", "striplay", "lay", plan, "-o", tmp_path / "out"]
    done = subprocess.run(
        [*command, "--no-map-book"], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(b"????: heading")


def test_a_name_that_a_plan_cannot_hold(tmp_path):
    write_plan_for(tmp_path, square(1320))
    odd = tmp_path / "fi\x07eld.geojson"
    (tmp_path / "field.geojson").rename(odd)
    result = run("start", odd, "-o", tmp_path / "new.toml")
    assert result.exit_code == 2
    assert "a plan can't hold such a name; give the file another" in result.stderr
    assert not (tmp_path / "new.toml").exists()


def test_what_the_sheets_cannot_print_is_told_below_all_else(tmp_path):
    plan = write_plan_for(tmp_path, square(1320))
    plan.write_text(plan.read_text().replace('"Test"', '"\U00013000"'), encoding="utf-8")
    result = run("lay", plan, "-o", tmp_path / "out")
    assert result.exit_code == 0, result.stderr
    told = 'note: the sheets print □ for "\U00013000" (egyptian hieroglyph a001), which no font'
    assert result.stderr.splitlines()[-1].startswith(told)


SLOW = """
import sys, time
from striplay.cli import main
from striplay.files import formats

lay_out = formats._lay_out
def slowly(*arguments, **named):
    found = lay_out(*arguments, **named)
    print("laid out", flush=True)
    time.sleep(60)
    return found
formats._lay_out = slowly
main(sys.argv[1:])
"""


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="runs are asked to end otherwise")
@pytest.mark.parametrize("number", ["SIGTERM", "SIGHUP"])
def test_a_run_that_is_asked_to_end_clears_up(plan, tmp_path, number):
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    command = [sys.executable, "-c", SLOW, "lay", str(plan), "-o", str(tmp_path / "out")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "TMPDIR": str(temporary)},
    ) as running:  # fmt: skip
        assert running.stdout.readline() == "laid out\n"
        assert len([*temporary.glob(".striplay-reading-*")]) == 1
        running.send_signal(getattr(signal, number))
        assert running.communicate(timeout=30) == ("", "")
    assert running.returncode == 1
    assert list(temporary.iterdir()) == []


def test_signals_of_a_caller_stay_its_own(plan):
    before = signal.signal(signal.SIGTERM, lambda *_: None)
    try:
        own = signal.getsignal(signal.SIGTERM)
        assert run("fit", plan).exit_code == 0
        assert signal.getsignal(signal.SIGTERM) is own
    finally:
        signal.signal(signal.SIGTERM, before)
    assert run("fit", plan).exit_code == 0
    assert signal.getsignal(signal.SIGTERM) is before


def test_a_picture_does_not_write_through_a_link(plan, tmp_path):
    other = tmp_path / "mine.txt"
    other.write_text("mine")
    (tmp_path / "section.svg").symlink_to(other)
    assert run("section", plan, "-o", tmp_path / "section.svg").exit_code == 0
    assert other.read_text() == "mine"
    assert "<svg" in (tmp_path / "section.svg").read_text()


def test_a_planted_mark_costs_no_file(plan, tmp_path):
    (tmp_path / ".striplay-layout").write_text("plan.toml\nfield.geojson\nthesis.docx\n")
    (tmp_path / "thesis.docx").write_text("mine")
    result = run("lay", plan, "-o", tmp_path, "--no-map-book")
    assert result.exit_code == 2
    assert (
        "holds field.geojson, plan.toml, thesis.docx, which striplay lay did not" in result.stderr
    )
    assert (tmp_path / "thesis.docx").read_text() == "mine"
    assert plan.exists()


@pytest.mark.parametrize("name", ["a" * 300, "a\udcff"])
@pytest.mark.parametrize("command", ["lay", "section", "start"])
def test_a_name_that_can_not_be_is_no_fault_of_its_own(plan, tmp_path, command, name):
    read = tmp_path / "field.geojson" if command == "start" else plan
    result = run(command, read, "-o", tmp_path / f"{name}.svg")
    assert result.exit_code in {1, 2}
    assert "fault of its own" not in result.stderr
    assert "File name too long" in result.stderr or "give another name with -o" in result.stderr
