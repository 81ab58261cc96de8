"""The store: one GeoPackage, only added to; whatever ends a run, what was told as kept is there."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import fiona
import geopandas as gpd
import numpy as np
import pytest
import shapely
from fields import lay_on, square
from fudgeo.geopkg import GeoPackage
from outside import VALIDATOR
from recorded import DAY, MARK, TODAY, edition

from striplay.columns import TABLES, columns_of
from striplay.errors import RecordError, StoreError, WriteError
from striplay.files import store as store_module
from striplay.files import store_schema as schema
from striplay.files.store import open_store
from striplay.recording import edition_of, open_records
from striplay.records.check import check_entry
from striplay.records.entry import Done, Event, Remark, Stand, Undo, Yield

ENTRIES = [
    Done(day=DAY, headland=True, operation="plant corn", pass_number=1, start="07:30", lot="A12"),
    Stand(day=DAY, strip=1, piece=1, crop="corn", row=3, plants=31, length_m=5.3, row_m=0.762),
    Stand(day=DAY, strip=1, crop="corn", plants=0, length_m=5.3, row_m=0.762, remark="'; DROP --"),
    Stand(day=DAY, strip=2, crop="wheat", plants=26, row_m=0.19, frame_m2=0.0929),
    Event(day=DAY, strip=2, what="雹 وابل", lonlat=(-93.4985, 42.0002), photo="../हिम.jpg"),
    Event(day=DAY, what="deer"),
    Yield(day=DAY, strip=1, crop="corn", grain_kg=1.5, moisture=0.2, area_m2=4.0, rows=(1, 8),
          length_m=5.25, test_weight_kg_per_m3=720.8),
    Yield(day=DAY, strip=2, crop="wheat", grain_kg=0.0, area_m2=4000.0),
    Remark(day=DAY, remark='=1+1 "x"', operator="R. E."),
]  # fmt: skip


@pytest.fixture
def path(tmp_path):
    return tmp_path / "records.gpkg"


def filled(path, entries=ENTRIES, of=None):
    """Write entries into a store, and close it."""
    of = of or edition()
    with open_store(path) as store:
        store.add_edition(of)
        return store.append(entries, of.mark)


def refusal(path, kind=StoreError, **how):
    with pytest.raises(kind) as refused:
        open_store(path, **how)
    told = str(refused.value)
    assert told.startswith(f"{path}: ")
    return told.removeprefix(f"{path}: ")


# --- what is written is read ---------------------------------------------------------------------


def test_entries_are_read_as_they_were_written(path):
    before = datetime.now(UTC)
    written = filled(path)
    assert [one.number for one in written] == list(range(1, len(ENTRIES) + 1))
    with open_store(path, make=False) as store:
        read = store.recorded()
        assert read == written
        assert store.recorded([MARK]) == written
        assert store.recorded(["none"]) == []
    assert [one.entry for one in read] == ENTRIES
    assert all(abs((one.at - before).total_seconds()) < 10 for one in read)
    # one file, once no one has it open
    assert [one.name for one in path.parent.iterdir()] == [path.name]


def test_an_edition_is_read_as_it_was_written(path):
    own = edition()
    filled(path, of=own)
    with open_store(path) as store:
        store.add_edition(own)  # once is enough
        read = store.edition(own.mark)
        assert store.edition("none") is None
        assert store.editions() == store.editions("North") == [(MARK, "North", "11112222")]
        assert store.editions("South") == []
    assert replace(read, outline=own.outline, polygons=own.polygons) == own
    assert shapely.equals(read.outline, own.outline)
    assert shapely.equals_exact(read.polygons, own.polygons).all()


def test_all_entries_are_written_or_none(path):
    filled(path, ENTRIES[:1])
    with open_store(path) as store:
        with pytest.raises(LookupError, match="does not keep edition ffffffff; add it first"):
            store.append(ENTRIES[1:], "ffffffff")
        with pytest.raises(RecordError, match="is there already, word for word, as entry 1"):
            store.append([Remark(day=DAY, remark="new"), ENTRIES[0]], MARK)
        assert len(store.recorded()) == 1
        (written,) = store.append([Undo(day=DAY, withdraws=1)], MARK)
        assert written.number == 2  # none was left out
        (again,) = store.append([ENTRIES[0]], MARK)
        assert again.number == 3


def test_nothing_is_changed_or_deleted_not_even_by_other_programs(path):
    filled(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        for told in ("DELETE FROM entries", "UPDATE entries SET remark = 'x'"):
            with pytest.raises(sqlite3.IntegrityError, match="entries are never"):
                base.execute(told)
        base.execute("PRAGMA foreign_keys = ON")
        lines = "(kind, mark, at, day, headland, operator, remark, withdraws)"
        for mark, withdraws in (("none", None), (MARK, 99)):
            told = f"INSERT INTO entries {lines} VALUES ('undo', ?, '', '', 0, '', '', ?)"  # noqa: S608
            with pytest.raises(sqlite3.IntegrityError):
                base.execute(told, (mark, withdraws))


# --- as a GeoPackage -----------------------------------------------------------------------------


def test_events_are_points_of_a_geopackage(path):
    filled(path)
    read = gpd.read_file(path, layer="entries")
    assert read.crs == 4326
    assert list(read["kind"].iloc[4:6]) == ["event", "event"]
    assert read.geometry.iloc[4] == shapely.Point(-93.4985, 42.0002)
    assert read.geometry.iloc[5] is None
    with fiona.open(path, layer="edition_pieces") as pieces:
        assert [(one.properties["strip"], one.properties["piece"]) for one in pieces] == [
            (1, 1), (2, 1), (3, 1), (3, 2),
        ]  # fmt: skip
    package = GeoPackage(path)  # fudgeo, which reads SQLite by itself
    with closing(package.connection):
        (event,) = package["entries"].select(fields=["what"], where_clause="number = 5")
        assert (event[0].x, event[0].y, event[1]) == (-93.4985, 42.0002, "雹 وابل")


@pytest.mark.skipif(
    not VALIDATOR and not os.environ.get("STRIPLAY_ALL_TESTS"),
    reason="pip install --no-deps gdal-utils brings the validator",
)
def test_a_store_by_the_validator(path):
    """The open validator of GDAL's tools, with warnings as errors."""
    filled(path)
    done = subprocess.run(
        [sys.executable, VALIDATOR.origin, "--extra", "--warning-as-error", "-k", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (0, "")


@pytest.mark.parametrize("name", [*schema.STORE_TABLES, schema.IDENTITY])
def test_the_tables_are_those_described(path, name):
    filled(path)
    shape = schema.SHAPES.get(name, ("", ""))[0]
    with closing(sqlite3.connect(path)) as base:
        there = {line[1] for line in base.execute(f"PRAGMA table_info({name})")}
        told = dict(base.execute("SELECT table_name, description FROM gpkg_contents"))
        asked = "SELECT column_name FROM gpkg_data_columns WHERE table_name = ?"
        meanings = {line[0] for line in base.execute(asked, (name,))}
    described = {one.name for one in columns_of(name)}
    assert there - {"id", shape} == described == meanings
    assert told[name] == TABLES[name]


# --- opening -------------------------------------------------------------------------------------

CURE = "put back the last copy of it, or move it away to begin a new one"


def test_no_store_is_made_where_none_is_asked_for(path):
    assert refusal(path, make=False) == (
        "is not there; nothing is recorded yet, or --store names another file"
    )
    assert not path.exists()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", f"is empty, so its records are lost; {CURE}"),
        (b"hello, this is a letter", "is no store of records; give another file with --store"),
        (b"SQLite format 3\0" + bytes(4096), f"is damaged (file is not a database); {CURE}"),
        (schema.empty_store()[:8192],
         f"is damaged (database disk image is malformed); {CURE}"),
    ],
)  # fmt: skip
def test_what_is_no_store_is_refused_and_left_as_it_is(path, content, told):
    path.write_bytes(content)
    assert refusal(path) == told
    assert path.read_bytes() == content


def test_a_folder_is_no_store(path):
    path.mkdir()
    assert refusal(path) == "is a folder; name a file in it"


@pytest.mark.parametrize("kind", ["sqlite", "geopackage", "view"])
def test_a_file_of_another_program_is_refused_and_left_as_it_is(path, kind):
    if kind == "geopackage":
        box = gpd.GeoDataFrame({"id": [1]}, geometry=[shapely.box(0, 0, 1, 1)], crs=4326)
        box.to_file(path, driver="GPKG", layer="fields")
    else:
        with closing(sqlite3.connect(path)) as base:
            base.execute("CREATE TABLE photos (id)")
            if kind == "view":
                base.execute(f"PRAGMA application_id = {schema.GPKG}")
                base.execute("CREATE VIEW records_version AS SELECT 1 AS id, 1 AS version")
            base.commit()
    before = path.read_bytes()
    assert refusal(path) == "is a file of another program; give another file with --store"
    assert path.read_bytes() == before


def test_a_newer_store_is_refused(path):
    filled(path)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("UPDATE records_version SET version = 99")
    assert refusal(path) == (
        f"was written by a newer striplay (version 99 of its tables, this one knows "
        f"{schema.VERSION}); bring striplay up to date"
    )


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            "DROP TABLE edition_passes",
            "table edition_passes lacks id, mark, number, operation",
        ),
        ("ALTER TABLE editions DROP COLUMN units", "table editions lacks units"),
        ("UPDATE records_version SET version = 0", "no version"),
    ],
)
def test_a_store_that_lacks_a_table_is_damaged(path, change, told):
    filled(path)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute(change)
    assert refusal(path).startswith(f"is damaged ({told}")


@pytest.mark.parametrize(
    "change",
    [
        "kind = 'sermon'", "day = 'yesterday'", "at = 'noon'", "place = x'00'", "place = 'here'",
        "strip = 'x', kind = 'remark', day = NULL",
    ],
)  # fmt: skip
def test_a_line_that_says_what_no_entry_does_is_damage(path, change):
    filled(path)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("DROP TRIGGER entries_are_not_changed")
        base.execute("PRAGMA ignore_check_constraints = ON")
        if "NULL" in change:
            change = "day = 7"
        base.execute(f"UPDATE entries SET {change} WHERE number = 5")  # noqa: S608
    with open_store(path) as store, pytest.raises(StoreError, match="is damaged"):
        store.recorded()


def test_bytes_turned_round_anywhere_are_told_or_harmless(path):
    """Damage at each of some sixty places: a message of our own, or all entries read."""
    written = filled(path)
    whole = path.read_bytes()
    random = np.random.default_rng(7)
    told = []
    for place in random.integers(0, len(whole), 60).tolist():
        damaged = bytearray(whole)
        damaged[place : place + 512] = random.bytes(len(damaged[place : place + 512]))
        path.write_bytes(damaged)
        try:
            with open_store(path) as store:
                assert len(store.recorded()) <= len(written)
                store.edition(MARK)
        except (StoreError, WriteError) as error:
            told.append(str(error))
    assert len(told) > 5
    assert all(one.startswith(f"{path}: is damaged (") and "\n" not in one for one in told)


def test_what_may_not_be_written_is_read_and_stays_as_it_is(path, monkeypatch):
    filled(path)
    before = path.read_bytes()
    monkeypatch.setattr(store_module.os, "access", lambda *_: False)
    with open_store(path) as store:
        assert [one.entry for one in store.recorded()] == ENTRIES
        with pytest.raises(WriteError, match="can't be written: attempt to write a readonly"):
            store.append([Remark(day=DAY, remark="new")], MARK)
    assert [one.name for one in path.parent.iterdir()] == [path.name]
    assert path.read_bytes() == before
    path.with_name("records.gpkg-wal").write_bytes(b"x")
    assert refusal(path) == (
        "can't be read: records.gpkg-wal, left beside it by a run that was ended, is to be taken "
        "in, and nothing may be written there; copy both into another folder"
    )


def test_no_folder_to_write_into(tmp_path):
    with pytest.raises(WriteError, match=r"none/a.gpkg: can't be written: No such file"):
        open_store(tmp_path / "none" / "a.gpkg")


def test_a_full_disk_is_told_and_nothing_is_written(path):
    filled(path, ENTRIES[:1])
    with open_store(path) as store:
        pages = store._first("PRAGMA page_count")
        store._base.execute(f"PRAGMA max_page_count = {pages}")
        many = [Remark(day=DAY, remark=f"{n} {'x' * 1900}") for n in range(50)]
        with pytest.raises(WriteError, match="can't be written: database or disk is full"):
            store.append(many, MARK)
        assert len(store.recorded()) == 1


# --- older versions ------------------------------------------------------------------------------


def first_version(path):
    """Write a store as the first version did, by a script of its own."""
    path.write_bytes(schema.empty_store(1))
    with closing(sqlite3.connect(path)) as base, base:
        base.execute(
            "INSERT INTO editions (outline, mark, field, units, strips_mark, headland) "
            "VALUES (?, ?, 'North', 'us', '11112222', 1)",
            (store_module._blob(shapely.MultiPolygon([edition().outline])), MARK),
        )
        base.execute(
            "INSERT INTO entries (kind, mark, at, day, strip, headland, crop, grain_kg, moisture, "
            "area_m2, operator, remark) VALUES ('yield', ?, '2026-10-01T12:00:00.000Z', "
            "'2026-10-01', 1, 0, 'corn', 1000.0, 0.2, 4000.0, '', 'kept')",
            (MARK,),
        )


def test_a_store_of_the_first_version_is_brought_up_to_date(path):
    first_version(path)
    with closing(sqlite3.connect(path)) as base:
        columns = {line[1] for line in base.execute("PRAGMA table_info(entries)")}
        assert "test_weight_kg_per_m3" not in columns
        assert base.execute("SELECT version FROM records_version").fetchone() == (1,)
    with open_store(path) as store:
        (old,) = store.recorded()
        assert (old.entry.grain_kg, old.entry.remark) == (1000.0, "kept")
        assert old.entry.test_weight_kg_per_m3 is None
        (new,) = store.append([replace(old.entry, test_weight_kg_per_m3=700.0, remark="new")], MARK)
    with open_store(path) as store:
        assert store.recorded() == [old, new]
    with closing(sqlite3.connect(path)) as base:
        assert base.execute("SELECT version FROM records_version").fetchone() == (schema.VERSION,)
        here = base.execute("SELECT name, sql FROM sqlite_master WHERE name = 'entries'").fetchone()
    with closing(sqlite3.connect(":memory:")) as base:
        base.deserialize(schema.empty_store())
        # as one made today
        asked = "SELECT name, sql FROM sqlite_master WHERE name = 'entries'"
        assert base.execute(asked).fetchone() == here


def test_a_step_that_fails_leaves_the_old_store(path, monkeypatch):
    first_version(path)
    steps = (*schema.STEPS[:2], "ALTER TABLE entries ADD COLUMN more DOUBLE;\nSELECT nonsense;\n")
    monkeypatch.setattr(schema, "STEPS", steps)
    assert refusal(path).startswith("is damaged (no such column: nonsense)")
    monkeypatch.undo()
    with closing(sqlite3.connect(path)) as base:
        assert base.execute("SELECT version FROM records_version").fetchone() == (1,)
        assert "more" not in {line[1] for line in base.execute("PRAGMA table_info(entries)")}
    with open_store(path) as store:
        assert len(store.recorded()) == 1


# --- killed, and two at once ---------------------------------------------------------------------

KILLED = """
import json, os, random, select, signal, sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from outside import VALIDATOR
from recorded import DAY, MARK, edition
from striplay.files.store import open_store
from striplay.files.store_schema import empty_store
from striplay.records.entry import Remark

own, folder, rounds = edition(), Path(sys.argv[2]), int(sys.argv[3])
empty_store()  # what takes long is done once

def write(path, turn, out):
    with open_store(path) as store:
        store.add_edition(own)
        for count in range(1000):
            (one,) = store.append([Remark(day=DAY, remark=f"{turn} {count}")], MARK)
            os.write(out, f"{one.number} {one.entry.remark}\\n".encode())

random.seed(11)
told = []
for turn in range(rounds):
    # every third time the store is made anew, so that making it is cut short too
    path = folder / f"{turn // 3}.gpkg"
    read, out = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        write(path, turn, out)
        os._exit(0)
    os.close(out)
    if turn % 3:  # in the midst of writing, else wherever it is
        select.select([read], [], [], 10)
    time.sleep(random.uniform(0.0, 0.02))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with open(read, encoding="utf-8") as pipe:
        kept = pipe.read().split("\\n")[:-1]
    told.append((path.name, kept))
print(json.dumps(told))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="it has no fork")
def test_killed_at_any_moment_all_that_was_told_as_kept_is_there(tmp_path):
    rounds = 60
    tests = Path(__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tests), str(tmp_path), str(rounds)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    told = json.loads(done.stdout)
    assert len(told) == rounds
    kept = sum(len(lines) for _, lines in told)
    cut_short = sum(1 for _, lines in told if lines)
    assert kept > rounds
    assert cut_short >= rounds * 2 / 3  # while they wrote
    for name in {name for name, _ in told}:
        expected = {line for other, lines in told if other == name for line in lines}
        with open_store(tmp_path / name) as store:
            found = [f"{one.number} {one.entry.remark}" for one in store.recorded()]
            assert store._first("PRAGMA integrity_check") == "ok"
        assert expected <= set(found)
        # at most one for each killed run was written and not told
        assert len(found) - len(expected) <= 3
    assert [one.name for one in tmp_path.iterdir() if "partial" in one.name] == []


AT_ONCE = """
import os, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from recorded import DAY, MARK, edition
from striplay.files.store import open_store
from striplay.records.entry import Remark

children = []
for run in range(4):
    child = os.fork()
    if not child:
        with open_store(Path(sys.argv[2])) as store:
            store.add_edition(edition())
            for count in range(15):
                store.append([Remark(day=DAY, remark=f"{run} {count}")], MARK)
        os._exit(0)
    children.append(child)
print([os.waitpid(child, 0)[1] for child in children])
"""


@pytest.mark.skipif(sys.platform == "win32", reason="it has no fork")
def test_runs_at_once_wait_for_each_other(path):
    """Four processes make the store, its edition and fifteen entries each, all at once."""
    done = subprocess.run(
        [sys.executable, "-c", AT_ONCE, str(Path(__file__).parents[1]), str(path)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout == "[0, 0, 0, 0]\n", done.stderr
    with open_store(path) as store:
        read = store.recorded()
    assert [one.number for one in read] == list(range(1, 61))
    assert {one.entry.remark for one in read} == {f"{a} {b}" for a in range(4) for b in range(15)}


def test_a_run_that_writes_too_long_is_told_of(path, monkeypatch):
    filled(path)
    monkeypatch.setattr(store_module, "WAIT_S", 0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with open_store(path) as store:
            assert len(store.recorded()) == len(ENTRIES)  # reading waits for no one
            with pytest.raises(StoreError) as refused:
                store.append([Remark(day=DAY, remark="new")], MARK)
        assert str(refused.value) == (
            f"{path}: another run of striplay is writing it; wait for its end, and run this again"
        )
        other.execute("ROLLBACK")


# --- of a plan -----------------------------------------------------------------------------------

MIXED = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    '[[relay]]\ncrop = "wheat"\ninto = "soybean"\n'
)
WHEAT = '[crops.wheat]\nplanter = "planter"\nharvester = "platform"\nbase_moisture = 0.12\n'


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    from fields import SHED  # noqa: PLC0415 - as a plan of a module's own

    return lay_on(tmp_path_factory.mktemp("laid"), square(660), shed=SHED + WHEAT, strips=MIXED)


def test_an_edition_holds_what_the_layout_does(laid):
    own = edition_of(laid)
    strips = laid.strips
    assert [(one.strip, one.piece) for one in own.pieces] == [
        *zip(strips["strip"], strips["piece"], strict=True)
    ]
    assert [one.area_m2 for one in own.pieces] == pytest.approx(strips["area_m2"].tolist())
    assert {one.crop for one in own.sown} == {"corn", "soybean", "wheat"}
    soybean = next(one.strip for one in own.sown if one.crop == "soybean")
    assert [one.crop for one in own.sown_in(soybean)] == ["soybean", "wheat"]
    assert own.crops["corn"].base_moisture == 0.155
    assert own.crops["wheat"].base_moisture == 0.12
    assert own.operations == tuple(one.job.name for one in laid.operations.each)
    for sheet in laid.worksheets:
        mine = [one for one in own.passes if one.operation == sheet.name]
        assert {one.number for one in mine} == set(sheet.number.tolist())
        worked = {(int(strip), int(piece)) for _, strip, piece in sheet.worked.T}
        assert {(one.strip, one.piece) for one in mine if one.strip} == worked
    middle = own.polygons[0].centroid
    assert own.strip_at((middle.x, middle.y)) == (own.pieces[0].strip, own.pieces[0].piece)
    check_entry(Remark(day=DAY, remark="a", strip=soybean), own, TODAY)


def test_editions_with_the_same_strips_count_together_and_others_stay_apart(laid):
    plan = laid.plan
    path = plan.path.parent / "records.gpkg"
    with open_records(plan) as records:
        assert (records.path, records.store, records.recorded()) == (path, None, [])
        records.add([Remark(day=DAY, remark="first")], today=TODAY)
    priced = plan.model_copy(update={"cost": plan.cost.model_copy(update={"land_per_m2": 0.9})})
    with open_records(priced) as records:
        mark = laid.mark
        assert records.edition.mark != mark
        assert records.apart == [
            (
                f"1 entry is of edition {mark} of this plan, which has the same strips, and counts "
                "with this one"
            )
        ]
        assert [one.entry.remark for one in records.recorded()] == ["first"]
        with pytest.raises(RecordError, match="is there already, word for word, as entry 1"):
            records.add([Remark(day=DAY, remark="first")], today=TODAY)
        records.add([Undo(day=DAY, withdraws=1)], today=TODAY)
    named = plan.model_copy(update={"title": "South"})
    with open_records(named) as records:  # the same strips by another name
        assert [one.entry.remark for one in records.recorded()] == ["first", ""]
        assert len(records.apart) == 2
    turned = plan.model_copy(
        update={"title": "South", "direction": plan.direction.model_copy(update={"start": "right"})}
    )
    with open_records(turned) as records:
        assert records.recorded() == []
        assert len(records.all_recorded()) == 2
        assert records.apart == [
            f"1 entry is of edition {one} of this plan, which has other strips, and is kept apart: "
            "list --all tells it" for one in (mark, open_mark(priced))
        ]  # fmt: skip


def open_mark(plan):
    with open_records(plan) as records:
        return records.edition.mark


def test_a_known_edition_is_not_laid_again(laid, monkeypatch):
    with open_records(laid.plan) as records:
        records.add([Remark(day=DAY, remark="known")], today=TODAY)

    def again(*_):
        raise AssertionError("laid again")

    monkeypatch.setattr("striplay.recording.lay_on_ground", again)
    with open_records(laid.plan) as records:
        assert records.edition.mark == laid.mark
