"""Output folders: replaced whole or not at all."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from striplay.errors import OutputError
from striplay.files import folder as folder_module
from striplay.files.folder import MARK, replace_folder, write_new

WRITER = """
import sys
from pathlib import Path
from striplay.files.folder import replace_folder
target = Path(sys.argv[1])
for version in range(10_000):
    def write(fresh):
        for number in range(20):
            (fresh / f"file{number}").write_text(str(version) * 500)
    replace_folder(target, write)
    print(version, flush=True)
"""


def one_file(text):
    return lambda fresh: (fresh / "a.txt").write_text(text)


def test_new_empty_and_own_folders_are_written(tmp_path):
    target = tmp_path / "deep" / "out"
    replace_folder(target, one_file("1"))
    replace_folder(target, one_file("2"))
    assert (target / "a.txt").read_text() == "2"
    assert sorted(p.name for p in target.parent.iterdir()) == ["out"]
    empty = tmp_path / "empty"
    empty.mkdir()
    replace_folder(empty, one_file("3"))
    assert (empty / "a.txt").read_text() == "3"


def test_a_folder_of_others_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("x")
    with pytest.raises(OutputError) as refusal:
        replace_folder(tmp_path, one_file("1"))
    assert str(refusal.value) == (
        f"{tmp_path}: is not empty and was not made by striplay lay; give a new folder's name "
        "with -o"
    )
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_a_file_of_the_users_stops_it(tmp_path):
    target = tmp_path / "out"
    replace_folder(target, one_file("1"))
    (target / "notes.txt").write_text("x")
    with pytest.raises(OutputError) as refusal:
        replace_folder(target, one_file("2"))
    assert str(refusal.value) == (
        f"{target}: holds notes.txt, which striplay lay did not write; move it elsewhere, or give "
        "a new folder's name with -o"
    )
    assert (target / "a.txt").read_text() == "1"


def test_a_file_in_its_place_is_refused(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(OutputError) as refusal:
        replace_folder(tmp_path / "out", one_file("1"))
    assert str(refusal.value) == (
        f"{tmp_path / 'out'}: is not a folder; give a new folder's name with -o"
    )


def test_a_failure_leaves_the_old_one(tmp_path):
    target = tmp_path / "out"
    replace_folder(target, one_file("1"))

    def fail(fresh):
        (fresh / "a.txt").write_text("2")
        raise OSError(28, "No space left on device")

    with pytest.raises(OutputError) as refusal:
        replace_folder(target, fail)
    assert str(refusal.value) == f"{target}: can't be written: No space left on device"
    assert (target / "a.txt").read_text() == "1"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_without_exchange_it_is_replaced_too(tmp_path, monkeypatch):
    monkeypatch.setattr(folder_module, "_exchange", lambda *_: False)
    replace_folder(tmp_path / "out", one_file("1"))
    replace_folder(tmp_path / "out", one_file("2"))
    assert (tmp_path / "out" / "a.txt").read_text() == "2"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the exchange is Linux's")
def test_kill_in_the_middle_leaves_old_or_new(tmp_path):
    target = tmp_path / "out"
    chance = np.random.default_rng(7)
    for _ in range(12):
        child = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(target)], stdout=subprocess.PIPE
        )
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(chance.uniform(0, 0.05))
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        child.stdout.close()
        files = sorted(p for p in target.iterdir() if p.name != MARK)
        assert len(files) == 20
        assert len({p.read_text() for p in files}) == 1
    replace_folder(target, one_file("last"))
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert sorted(p.name for p in target.iterdir()) == [MARK, "a.txt"]


def test_write_new_never_overwrites(tmp_path):
    path = tmp_path / "plan.toml"
    write_new(path, "a")
    with pytest.raises(OutputError) as refusal:
        write_new(path, "b")
    assert str(refusal.value) == f"{path}: exists already; give another name with -o"
    with pytest.raises(OutputError, match="can't be written: No such file"):
        write_new(Path(tmp_path / "no" / "plan.toml"), "b")
    assert path.read_text() == "a"
