"""Output folders: replaced whole or not at all."""

import errno
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from striplay.errors import OutputError, WriteError
from striplay.files import folder as folder_module
from striplay.files import lock
from striplay.files.folder import MARK, make_folder, replace_file, replace_folder, write_new

KILLED = """
import errno, os, shutil, signal, sys
from pathlib import Path
from striplay.errors import OutputError, WriteError
from striplay.files import folder as module
from striplay.files.folder import MARK, replace_file, replace_folder, write_new

sys.dont_write_bytecode = True
os.fsync = lambda _: None  # a killed run loses nothing that the system has, and the disk is slow
module.names_written = lambda: set("abcdefghijklmnop")
here, what, how = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
target = here / "out"
if "no exchange" in how:
    module._exchange = lambda *_: False


NAMES = tuple("abcdefghijklmnop")


def fill(text):
    def write(fresh):
        for name in NAMES:
            (fresh / name).write_text(text * 3000)
    return write


def act(text):
    if what == "folder":
        replace_folder(target, fill(text))
    elif what == "file":
        replace_file(target, lambda fresh: fresh.write_text(text * 9000))
    else:
        write_new(target, text * 9000)


def content():
    # what is there: None, or the one text that all of it is made of
    if not target.exists():
        return None
    if target.is_file():
        text = target.read_text()
        assert len(text) == 9000, len(text)
        return "".join(set(text))
    assert {p.name for p in target.iterdir()} == {MARK, *NAMES}, list(target.iterdir())
    texts = [(target / name).read_text() for name in NAMES]
    assert {len(text) for text in texts} == {3000}
    return "".join(set("".join(texts)))


left = []


def stop_at(number, hit):
    # audit events come before every opening, renaming, removal and call into the system's library
    left.append(number)
    def watch(event, arguments):
        if event.split(".")[0] in {"open", "os", "shutil", "ctypes", "fcntl", "pathlib"}:
            left[0] -= 1
            if left[0] == 0:
                hit()
    sys.addaudithook(watch)


def kill():
    os.kill(os.getpid(), signal.SIGKILL)


def refuse():
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


if what != "new":
    act("1")
before = content()
stopped, number, ended = 0, 0, False
while not ended:
    number += 1
    child = os.fork()
    if child == 0:
        hit = refuse if "full" in how else kill
        stop_at(number, hit)
        try:
            act("2")
        except WriteError as error:
            assert str(error) == f"{target}: can't be written: No space left on device", error
            os._exit(3)
        except BaseException as error:
            print(repr(error), flush=True)
            os._exit(4)
        os._exit(5 if left[0] <= 0 else 0)  # 5: done in spite of it, as where a lock can't be had
    _, status = os.waitpid(child, 0)
    ended = status == 0
    stopped += not ended
    assert ended or "full" not in how or os.waitstatus_to_exitcode(status) in {3, 5}, number
    assert ended or "full" in how or os.waitstatus_to_exitcode(status) == -signal.SIGKILL, number
    if target.exists() or "no exchange" not in how:
        found = content()
        assert found in (before, "2"), (number, found)
    # the next run finds it whole, and leaves nothing beside it
    if what == "new":
        assert content() in (None, "2")
        target.unlink(missing_ok=True)
        act("3")
        assert content() == "3"
        target.unlink()
    else:
        if what == "folder":
            module.check_folder(target)
        assert content() in (before, "2"), (number, content())
        act("1")
        assert content() == "1"
    assert [p.name for p in here.iterdir()] == ([] if what == "new" else ["out"]), number
print(stopped)
"""
RACER = """
import os, sys
from pathlib import Path
from striplay.files import folder as module
from striplay.files.folder import MARK, replace_folder

os.fsync = lambda _: None
target, name, rounds = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
names = ("a", "b", MARK)
module.names_written = lambda: {"a", "b"}
seen = 0
for number in range(rounds):
    def write(fresh):
        for one in names[:2]:
            (fresh / one).write_text(f"{name} {number}")
    replace_folder(target, write)
    # read what is there now, as long as it is there
    folder = os.open(target, os.O_RDONLY | os.O_DIRECTORY)
    texts = []
    for one in names:
        try:
            with open(os.open(one, os.O_RDONLY, dir_fd=folder)) as file:
                texts.append(file.read())
        except FileNotFoundError:
            texts.append(None)
    if os.path.samestat(os.fstat(folder), os.stat(target)):
        assert texts[0] == texts[1] and texts[2] == "a\\nb\\n", texts
        seen += 1
    os.close(folder)
print(seen)
"""


@pytest.fixture(autouse=True)
def _one_name_more(monkeypatch):
    known = folder_module.names_written()
    monkeypatch.setattr(folder_module, "names_written", lambda: known | {"a.txt"})


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


forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="a run is killed as a fork")


@forks
@pytest.mark.parametrize(
    ("what", "how", "least"),
    [
        ("folder", "exchange", 45), ("folder", "no exchange", 45), ("file", "exchange", 8),
        ("new", "exchange", 8), ("folder", "full", 45), ("folder", "no exchange full", 45),
        ("file", "full", 8),
    ],
)  # fmt: skip
def test_stopped_at_every_step_the_old_or_the_new_is_there_whole(tmp_path, what, how, least):
    """A run is killed, or finds the disk full, before each call it makes to the system."""
    here = tmp_path / "here"
    here.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(here), what, how],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert int(done.stdout.split()[-1]) >= least


@forks
def test_runs_into_one_folder_do_not_meet(tmp_path):
    """Five runs replace one folder 1,000 times in all; whoever looks finds it whole."""
    target = tmp_path / "out"
    racers = [
        subprocess.Popen(
            [sys.executable, "-c", RACER, str(target), str(number), "200"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        for number in range(5)
    ]  # fmt: skip
    said = [racer.communicate() for racer in racers]
    assert [error for _, error in said] == [""] * 5
    assert sum(int(seen) for seen, _ in said) > 100
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert sorted(p.name for p in target.iterdir()) == [MARK, "a", "b"]


def test_a_second_run_is_told_of_the_first(tmp_path, monkeypatch):
    monkeypatch.setattr(lock, "WAIT_S", 0.05)
    target = tmp_path / "out"
    refused = []

    def write(fresh):
        (fresh / "a.txt").write_text("1")
        with pytest.raises(OutputError) as refusal:
            replace_folder(target, one_file("2"))
        refused.append(str(refusal.value))

    replace_folder(target, write)
    said = "another run of striplay is writing it; wait for its end, or give another name with -o"
    assert refused == [f"{target}: {said}"]
    assert (target / "a.txt").read_text() == "1"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_what_comes_in_while_it_is_written_is_kept(tmp_path, monkeypatch):
    for number, exchange in enumerate((folder_module._exchange, lambda *_: False)):
        monkeypatch.setattr(folder_module, "_exchange", exchange)
        target = tmp_path / str(number) / "out"
        replace_folder(target, one_file("1"))

        def write(fresh, target=target):
            (fresh / "a.txt").write_text("2")
            (target / "notes.txt").write_text("mine")

        with pytest.raises(
            OutputError, match=r"holds notes\.txt, which striplay lay did not write"
        ):
            replace_folder(target, write)
        assert (target / "notes.txt").read_text() == "mine"
        assert (target / "a.txt").read_text() == "1"
        assert [p.name for p in target.parent.iterdir()] == ["out"]


@pytest.mark.parametrize("name", [".DS_Store", "Thumbs.db", "desktop.ini", "Desktop.ini"])
def test_files_of_the_desktop_are_no_ones_work(tmp_path, name):
    target = tmp_path / "out"
    target.mkdir()
    (target / name).write_text("x")
    replace_folder(target, one_file("1"))
    (target / name).write_text("x")
    replace_folder(target, one_file("2"))
    assert sorted(p.name for p in target.iterdir()) == [MARK, "a.txt"]
    (target / f"{name}.txt").write_text("x")
    with pytest.raises(OutputError, match=f"holds {name}.txt, which"):
        replace_folder(target, one_file("3"))


@pytest.mark.parametrize("name", ["Thumbs.db", ".DS_Store"])
def test_a_folder_named_as_a_file_of_the_desktop_is_the_users(tmp_path, name):
    target = tmp_path / "out"
    replace_folder(target, one_file("1"))
    (target / name).mkdir()
    (target / name / "mine.txt").write_text("x")
    with pytest.raises(OutputError, match=f"holds {name}, which striplay lay did not write"):
        replace_folder(target, one_file("2"))
    assert (target / name / "mine.txt").read_text() == "x"


@pytest.mark.parametrize("exchange", [True, False])
def test_all_is_on_the_disk_before_it_takes_its_place(tmp_path, monkeypatch, exchange):
    on_disk, placed = {}, []

    def sync(file):
        found = os.fstat(file)
        on_disk[found.st_ino] = found.st_mtime_ns

    def check(path):
        for one in [path, *(path.iterdir() if path.is_dir() else ())]:
            assert on_disk.get(one.stat().st_ino) == one.stat().st_mtime_ns, one
        placed.append(path)

    def looked_at(act):
        return lambda fresh, to: (check(fresh) if "partial" in fresh.name else None, act(fresh, to))

    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(Path, "rename", looked_at(Path.rename))
    monkeypatch.setattr(Path, "replace", looked_at(Path.replace))
    monkeypatch.setattr(Path, "hardlink_to", lambda to, fresh: (check(fresh), os.link(fresh, to)))
    swap = folder_module._exchange if exchange else (lambda *_: False)
    monkeypatch.setattr(folder_module, "_exchange", lambda one, to: (check(one), swap(one, to))[1])
    for text in ("1", "2"):
        replace_folder(tmp_path / "out", one_file(text))
        replace_file(tmp_path / "s.svg", lambda fresh, text=text: fresh.write_text(text))
    write_new(tmp_path / "plan.toml", "a")
    assert len(placed) >= 5
    assert (tmp_path / "out" / "a.txt").read_text() == "2"


@pytest.mark.parametrize(("number", "told"), [(errno.EINVAL, False), (errno.ENOSPC, True)])
def test_a_drive_that_knows_no_waiting_and_one_that_is_full(tmp_path, monkeypatch, number, told):
    def refuse(_):
        raise OSError(number, os.strerror(number))

    replace_folder(tmp_path / "out", one_file("1"))
    monkeypatch.setattr(os, "fsync", refuse)
    if told:
        with pytest.raises(WriteError, match="can't be written: No space left on device"):
            replace_folder(tmp_path / "out", one_file("2"))
    else:
        replace_folder(tmp_path / "out", one_file("2"))
    assert (tmp_path / "out" / "a.txt").read_text() == ("1" if told else "2")


@pytest.mark.parametrize("mark", [b"\xff\xfe", b"", None])
def test_a_mark_that_lists_nothing_owns_nothing(tmp_path, mark):
    target = tmp_path / "out"
    target.mkdir()
    (target / "mine.txt").write_text("x")
    if mark is None:
        (target / MARK).mkdir()
    else:
        (target / MARK).write_bytes(mark)
    with pytest.raises(OutputError, match=r"mine\.txt, which striplay lay did not write"):
        replace_folder(target, one_file("1"))
    assert (target / "mine.txt").read_text() == "x"


def test_a_folder_with_a_name_of_ours_is_the_users(tmp_path):
    target = tmp_path / "out"
    replace_folder(target, one_file("1"))
    (target / "a.txt").unlink()
    (target / "a.txt").mkdir()
    (target / "a.txt" / "mine.txt").write_text("x")
    with pytest.raises(OutputError, match=r"holds a\.txt, which striplay lay did not write"):
        replace_folder(target, one_file("2"))
    assert (target / "a.txt" / "mine.txt").read_text() == "x"


def test_names_alike_are_told_apart(tmp_path):
    """What another folder's run left is not cleared, nor are signs of a pattern read as one."""
    for name in ("[ab]", "a", "out.partial-b"):
        replace_folder(tmp_path / name, one_file(name))
    others = [tmp_path / ".out.partial-b.partial-01234567", tmp_path / ".a.partial-mine"]
    for other in others:
        other.mkdir()
    replace_folder(tmp_path / "out", one_file("1"))
    replace_folder(tmp_path / "a", one_file("1"))
    assert all(other.exists() for other in others)


def test_a_file_is_replaced_whole(tmp_path):
    path = tmp_path / "s.svg"
    replace_file(path, lambda fresh: fresh.write_text("1"))
    link = tmp_path / "link.svg"
    link.symlink_to(path)
    replace_file(link, lambda fresh: fresh.write_text(fresh.suffix))
    assert (path.read_text(), link.read_text()) == ("1", ".svg")
    assert not link.is_symlink()
    replace_file(path, lambda fresh: fresh.write_text(".svg"))

    def fail(fresh):
        fresh.write_text("half")
        raise OSError(28, "No space left on device")

    with pytest.raises(WriteError) as refusal:
        replace_file(path, fail)
    assert str(refusal.value) == f"{path}: can't be written: No space left on device"
    assert path.read_text() == ".svg"
    with pytest.raises(OutputError, match="is not a file; give a new file's name with -o"):
        replace_file(tmp_path, fail)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["link.svg", "s.svg"]


def test_a_drive_without_links_or_locks(tmp_path, monkeypatch):
    def none(*_):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(Path, "hardlink_to", none)
    monkeypatch.setattr(lock, "_take", lambda _: None)
    write_new(tmp_path / "plan.toml", "a")
    with pytest.raises(OutputError, match="exists already"):
        write_new(tmp_path / "plan.toml", "b")
    assert (tmp_path / "plan.toml").read_text() == "a"
    replace_folder(tmp_path / "out", one_file("1"))
    replace_folder(tmp_path / "out", one_file("2"))
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "plan.toml"]


def test_write_new_never_overwrites(tmp_path):
    path = tmp_path / "plan.toml"
    write_new(path, "a")
    with pytest.raises(OutputError) as refusal:
        write_new(path, "b")
    assert str(refusal.value) == f"{path}: exists already; give another name with -o"
    with pytest.raises(OutputError, match=r"there is no folder .*/no; make it first"):
        write_new(Path(tmp_path / "no" / "plan.toml"), "b")
    assert path.read_text() == "a"


def test_a_mark_from_others_owns_nothing_of_the_users(tmp_path):
    """A sent folder may bring a mark that lists whatever its user may put there."""
    (tmp_path / MARK).write_text("thesis.docx\nplan.toml\na.txt\n")
    for name in ("thesis.docx", "plan.toml", "a.txt"):
        (tmp_path / name).write_text("mine")
    with pytest.raises(OutputError) as refusal:
        replace_folder(tmp_path, one_file("1"))
    assert str(refusal.value) == (
        f"{tmp_path}: holds plan.toml, thesis.docx, which striplay lay did not write; move it "
        "elsewhere, or give a new folder's name with -o"
    )
    assert {one.name for one in tmp_path.iterdir()} == {MARK, "thesis.docx", "plan.toml", "a.txt"}
    assert (tmp_path / "a.txt").read_text() == "mine"


@pytest.mark.parametrize("ending", [".svg", ".txt", ""])
def test_what_a_link_leads_to_stays(tmp_path, ending):
    other, link = tmp_path / f"other{ending}", tmp_path / "s.svg"
    other.write_text("mine")
    link.symlink_to(other)
    replace_file(link, lambda fresh: fresh.write_text("1"))
    assert (other.read_text(), link.read_text()) == ("mine", "1")
    (tmp_path / "plan.toml").symlink_to(tmp_path / "nowhere")
    with pytest.raises(OutputError, match="exists already"):
        write_new(tmp_path / "plan.toml", "1")
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("check_first", [True, False])
def test_a_link_in_place_of_a_lock_is_not_followed(tmp_path, monkeypatch, check_first):
    if not check_first:  # it comes between looking and opening
        if not hasattr(os, "O_NOFOLLOW"):
            pytest.skip("the system opens links only")
        monkeypatch.setattr(Path, "is_symlink", lambda _: False)
    (tmp_path / ".out.lock").symlink_to(tmp_path / "other")
    with pytest.raises(WriteError) as refusal:
        replace_folder(tmp_path / "out", one_file("1"))
    assert str(refusal.value) == (
        f"{tmp_path / 'out'}: can't be written: .out.lock beside it is a link; remove it, and run "
        "it again"
    )
    assert [one.name for one in tmp_path.iterdir()] == [".out.lock"]


@pytest.mark.parametrize("act", [replace_folder, replace_file, write_new])
@pytest.mark.parametrize(
    ("name", "said"),
    [("a" * 300, "can't be written: File name too long"),
     ("a" * 250, "can't be written: File name too long"),
     ("a\udcff", "holds a character that no text can; give another name with -o"),
     ("a\0b", "holds a character that no text can; give another name with -o")],
)  # fmt: skip
def test_a_name_that_can_not_be_written_is_told(tmp_path, act, name, said):
    with pytest.raises(OutputError, match=said):
        act(tmp_path / name, "1" if act is write_new else one_file("1"))
    assert list(tmp_path.iterdir()) == []


def test_a_new_folder_is_made_whole_or_not_at_all_and_never_replaced(tmp_path):
    def fill(fresh):
        (fresh / "inner").mkdir()
        (fresh / "inner" / "a").write_text("a")

    def fail(fresh):
        fill(fresh)
        raise OutputError("no")

    target = tmp_path / "deep" / "out"
    with pytest.raises(OutputError, match=r"^no$"):
        make_folder(target, fail)
    assert list(target.parent.iterdir()) == []
    make_folder(target, fill)
    assert (target / "inner" / "a").read_text() == "a"
    (tmp_path / "empty").mkdir()
    make_folder(tmp_path / "empty", fill)
    assert (tmp_path / "empty" / "inner" / "a").exists()
    (tmp_path / "file").write_text("mine")
    for taken in (target, tmp_path / "file"):
        with pytest.raises(OutputError, match=re.escape(f"{taken}: exists already")):
            make_folder(taken, fill)
    assert (tmp_path / "file").read_text() == "mine"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["deep", "empty", "file"]
