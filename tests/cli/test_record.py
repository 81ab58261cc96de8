"""`striplay record`: entries kept, loaded, listed, exported and undone, and refusals."""

import csv
import json
import re
import shlex
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from fields import SHED, square, write_plan_for

from striplay.cli import main
from striplay.files.store import open_store
from striplay.records.entry import Remark
from striplay.records.names import WORDS

STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
DAY = ("--date", "2026-05-04")


def run(*arguments):
    return CliRunner().invoke(main, ["record", *map(str, arguments)])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A plan whose edition a store knows already, so that no test lays it again."""
    folder = tmp_path_factory.mktemp("plan")
    shed = SHED.replace("[crops.corn]", '[crops.corn]\nsown = "2026-05-01"')
    shed = shed.replace("[crops.soybean]", '[crops.soybean]\nsown = "2026-05-10"')
    plan = write_plan_for(folder, square(660), shed=shed, strips=STRIPS)
    done = run(plan, "remark", "--remark", "first", *DAY)
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture
def plan(folder, tmp_path):
    """The same, with nothing but that first remark, withdrawn."""
    for name in ("plan.toml", "field.geojson", "records.gpkg"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    path = tmp_path / "plan.toml"
    assert run(path, "undo").exit_code == 0
    return path


def lines_of(plan, *more):
    found = run(plan, "list", *more)
    assert found.exit_code == 0, found.output
    return found.stdout.splitlines()


def test_each_kind_is_recorded_and_told(plan):
    with open_store(plan.with_name("records.gpkg")) as store:
        passes = store.edition(store.editions()[0].mark).passes
    around = next(one.number for one in passes if one.strip is None)
    # 4,210 lb at 18.5 % dry to 4,060.5 at 15.5; in 56 lb on 40 ft by 500 ft: 157.9 bushels an acre
    given = [
        (("done", "--for", "plant corn", "--pass", around, "--lot", "A12", "--start", "7:30"),
         f"headland: plant corn, pass {around}, 07:30, lot A12"),
        (("done", "--operation", "4", "--strip", "2", "--operator", "R. Example"),
         "strip 2: plant soybean, by R. Example"),
        (("stand", "--strip", "3", "--stand-count", "31"),
         "strip 3: corn stand, 31 plants on 17.4 ft of a row, 31,000 to the acre"),
        (("yield", "--strip", "3", "--grain", "4210 lb", "--moisture", "18.5%"),
         "strip 3: corn yield, 4,210 lb at 18.5 % on 0.46 ac, 157.9 bu/acre at 15.5 %"),
        (("event", "--what", "hail", "--longitude", "-93.5", "--latitude", "42", "--strip", "3"),
         "strip 3: hail at 42.000000, -93.500000"),
        (("remark", "--remark", "=rain\nfor a week"), "=rain for a week"),
    ]  # fmt: skip
    for number, (arguments, told) in enumerate(given, start=3):
        found = run(plan, *arguments, *DAY)
        assert (found.exit_code, found.stderr) == (0, "")
        assert found.stdout == f"entry {number}: 2026-05-04  {told}\n"
    listed = lines_of(plan)
    assert listed[0].startswith("Test, edition ")
    assert listed[0].endswith(": 6 entries")
    assert listed[1:] == [
        f"entry {number}: 2026-05-04  {told}" for number, (_, told) in enumerate(given, start=3)
    ]
    data = json.loads("\n".join(lines_of(plan, "--json")))
    assert [one["kind"] for one in data["entries"]] == [one[0][0] for one in given]
    assert data["entries"][3]["grain_kg"] == pytest.approx(4210 * 0.45359237)
    assert data["yields"][0]["kg_per_m2"] == pytest.approx(157.9 * 56 * 0.45359237 / 4046.856, 1e-3)
    assert data["stands"][0]["plants"] == 31
    every = json.loads("\n".join(lines_of(plan, "--json", "--all")))
    assert [one["withdrawn_by"] for one in every["entries"][:3]] == [2, None, None]


def test_a_correction_and_undo(plan):
    said = ("stand", "--strip", "3", *DAY, "--stand-count")
    run(plan, *said, "13")
    better = run(plan, *said, "31", "--instead-of", "3")
    assert better.stdout.endswith("31,000 to the acre (instead of entry 3)\n")
    assert len(lines_of(plan)) == 2
    undone = run(plan, "undo")
    assert undone.stdout.splitlines()[0].endswith("withdraws entry 4")
    assert undone.stdout.splitlines()[1].startswith("entry 4: 2026-05-04  strip 3: corn stand")
    assert [line.split(":")[0] for line in lines_of(plan)[1:]] == ["entry 3"]
    # undo the undo
    assert run(plan, "undo", "--entry", "5").exit_code == 0
    assert [line.split(":")[0] for line in lines_of(plan)[1:]] == ["entry 4"]
    assert lines_of(plan, "--all")[3].endswith("(withdrawn by entry 4)")
    twice = run(plan, "undo", "--entry", "3")
    assert (twice.exit_code, twice.stdout) == (2, "")
    assert twice.stderr == "striplay: entry: 3 is withdrawn already, by entry 4\n"
    none = run(plan, "undo", "--entry", "99")
    assert none.stderr == "striplay: entry: 99 is no entry of this plan\n"
    for _ in range(1):
        run(plan, "undo")
    assert run(plan, "undo").exit_code == 0
    assert run(plan, "undo").stderr == (
        "striplay: nothing is recorded of this plan, so nothing can be undone\n"
    )


SHEET = """\
strip,piece,date,start,stop,lot,stand_count,remark
1,1,2026-05-04,7:30,8:10,A12,31,"=SUM(A1)"
400,1,2026-05-04,,,A12,,
3,1,,,,,,
5,1,4.5.2026,,,A12,,
5,1,2026-05-04,,,A12,,"two
lines"
"""
FAULTS = (
    "sheet.csv: 2 faults\n"
    "  line 3: strip: 400 is no strip of the field; its strips are 1-13\n"
    '  line 5: date: "4.5.2026" is no day; write year-month-day, such as 2027-05-04; where a '
    "spreadsheet wrote it so, set its column to text\n"
)


def test_a_sheet_is_loaded_whole_or_its_good_lines(plan):
    sheet = plan.with_name("sheet.csv")
    sheet.write_text(SHEET)
    load = (plan, "load", sheet, "--operation", "plant corn")
    found = run(*load)
    assert (found.exit_code, found.stdout, found.stderr) == (2, "", f"striplay: {FAULTS}")
    assert len(lines_of(plan)) == 1
    found = run(*load, "--keep-good")
    assert (found.exit_code, found.stdout) == (1, "3 entries recorded: 3 to 5\n")
    left = "note: 1 line says nothing but a strip, and is left out\n"
    assert found.stderr == FAULTS + left
    again = run(*load, "--keep-good")
    assert (again.exit_code, again.stdout) == (1, "0 entries recorded\n")
    assert "  line 2: is there already, word for word, as entry 3; if it was" in again.stderr
    exported = plan.with_name("out.csv")
    assert run(plan, "export", "-o", exported).stdout == f"written to {exported}\n"
    with exported.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["remark"] for row in rows] == ["'=SUM(A1)", "", "two lines"]
    # into another store: the same entries
    other = plan.with_name("other.gpkg")
    assert run(plan, "load", exported, "--store", other).stdout == "3 entries recorded: 1 to 3\n"
    with open_store(other) as one, open_store(plan.with_name("records.gpkg")) as two:
        said = [line.entry for line in two.recorded()][2:]
        read = [line.entry for line in one.recorded()]
    assert [replace(one, length_m=0) if hasattr(one, "length_m") else one for one in read] == [
        replace(one, length_m=0) if hasattr(one, "length_m") else one for one in said
    ]
    # into the same: each is there already, whatever its length came to in feet and back
    again = run(plan, "load", exported)
    assert again.exit_code == 2
    assert again.stderr.count("is there already, word for word") == 3


def test_an_export_overwrites_no_store_and_no_plan(plan):
    for name in ("plan.toml", "records.gpkg"):
        before = plan.with_name(name).read_bytes()
        found = run(plan, "export", "-o", plan.with_name(name))
        assert (found.exit_code, found.stdout) == (2, "")
        assert found.stderr == f"striplay: {name}: must end in .csv\n"
        assert plan.with_name(name).read_bytes() == before


def test_a_part_of_the_list(plan):
    run(plan, "remark", "--remark", "dry", "--date", "2026-06-01", "--strip", "1")
    run(plan, "event", "--what", "hail", "--date", "2026-06-02", "--strip", "1")
    run(plan, "event", "--what", "hail", "--date", "2026-06-03", "--strip", "3")

    def listed(*more):
        first, *lines = run(plan, "list", *more).stdout.splitlines()
        return first.split(": ")[1], [int(line.split(":")[0].split()[1]) for line in lines]

    assert listed() == ("3 entries", [3, 4, 5])
    assert listed("--strip", "1") == ("2 of 3 entries", [3, 4])
    assert listed("--strip", "1", "--kind", "event") == ("1 of 3 entries", [4])
    assert listed("--since", "2026-06-02", "--until", "2026-06-02") == ("1 of 3 entries", [4])
    assert listed("--strip", "9") == ("0 of 3 entries", [])
    data = json.loads(run(plan, "list", "--kind", "event", "--json").stdout)
    assert [one["number"] for one in data["entries"]] == [4, 5]


def test_words_of_a_store_from_someone_else_move_no_cursor(plan):
    with open_store(plan.with_name("records.gpkg")) as store:
        mark = store.editions()[0].mark
        said = "\x1b[2Jgone\nentry 99: forged\u202e"
        store.append([Remark(day=date(2026, 5, 4), remark=said, operator=said)], mark)
    told = run(plan, "list").stdout
    assert not {"\x1b", "\u202e"} & set(told)
    assert [line.split(":")[0] for line in told.splitlines()[1:]] == ["entry 3"]
    data = run(plan, "list", "--json").stdout
    assert not {"\x1b", "\u202e"} & set(data)
    assert json.loads(data)["entries"][0]["remark"] == said


def test_what_stands_once_on_a_sheet(plan):
    sheet = plan.with_name("sheet.csv")
    sheet.write_text("done,strip,piece\nx,1,1\n,3,1\nx,headland,\n")
    once = ("--for", "plant corn", "--date", "2026-05-04", "--operator", "R. E.", "--lot", "A12")
    found = run(plan, "load", sheet, *once)
    assert (found.exit_code, found.stdout) == (0, "2 entries recorded: 3 to 4\n")
    assert lines_of(plan)[1:] == [
        "entry 3: 2026-05-04  strip 1/1: plant corn, lot A12, by R. E.",
        "entry 4: 2026-05-04  headland: plant corn, lot A12, by R. E.",
    ]


def test_a_store_that_cannot_be_written(plan, tmp_path):
    store = tmp_path / "none" / "a.gpkg"
    found = run(plan, "remark", "--remark", "rain", *DAY, "--store", store)
    assert (found.exit_code, found.stdout) == (1, "")
    assert found.stderr == f"striplay: {store}: can't be written: No such file or directory\n"


def test_commands_of_the_page_work(plan, monkeypatch):
    page = (Path(__file__).parents[2] / "docs" / "howto_record.md").read_text(encoding="utf-8")
    commands = re.findall(r"^striplay record north.toml (.+)$", page, flags=re.MULTILINE)
    assert len(commands) == 8
    plan.rename(plan.with_name("north.toml"))
    sheet = "strip,piece,date,start,stop,lot,stand count,remark\n1,1,2026-05-04,,,A12,31,\n"
    plan.with_name("sheet.csv").write_text(sheet)
    monkeypatch.chdir(plan.parent)
    for command in commands:
        found = run("north.toml", *shlex.split(command))
        assert (found.exit_code, found.stderr) == (0, ""), command
    assert plan.with_name("yields.csv").exists()
    assert plan.with_name("journal.pdf").read_bytes().startswith(b"%PDF")


def test_yields_and_stands_by_strip_as_csv(plan):
    for strip, grain in (("3", "4210 lb"), ("2", "1500 lb")):
        run(plan, "yield", "--strip", strip, "--grain", grain, "--moisture", "13%", *DAY)
    run(plan, "stand", "--strip", "3", "--stand-count", "31", *DAY)
    out = plan.with_name("out.csv")
    assert run(plan, "export", "--table", "yields", "-o", out).exit_code == 0
    with out.open() as file:
        rows = list(csv.DictReader(file))
    assert [(row["strip"], row["crop"]) for row in rows] == [("2", "soybean"), ("3", "corn")]
    per_acre = float(rows[0]["weighed_kg"]) / 0.45359237 / 60 / float(rows[0]["area_m2"]) * 4046.856
    assert float(rows[0]["yield_bu_per_acre"]) == pytest.approx(per_acre, rel=1e-5)
    run(plan, "export", "--table", "stands", "-o", out)
    with out.open() as file:
        (row,) = csv.DictReader(file)
    assert float(row["plants_per_acre"]) == pytest.approx(31_000)


REFUSED = [
    (("yield", "--strip", "400", "--grain", "4210", "--moisture", "120%", "--date", "2999-05-04"),
     ('the entry: 4 faults\n  grain: "4210" is not a weight of grain; write a number and a unit, '
     'such as "4210 lb"\n  moisture: "120%" is no moisture of grain; it is a share of its weight, '
     "from 0 to below 100 %\n  date: 2999-05-04 must be in the years 1900 to 2199\n"
     "  strip: 400 is no strip of the field; its strips are 1-13\n")),
    (("stand", "--strip", "3", "--crop", "oats", "--stand-count", "3"),
     'crop: "oats" is not sown in strip 3; it has corn\n'),
    (("done", "--operation", "plant oats"),
     ('operation: "plant oats" is no operation; the plan\'s are 1 "plant corn", 2 "spray corn", 3 '
     '"harvest corn", 4 "plant soybean", 5 "spray soybean", 6 "harvest soybean"\n')),
    (("done", "--operation", "plant corn", "--strip", "2"),
     "strip: plant corn works 7 of the strips 1 to 13, not strip 2\n"),
    (("done", "--operation", "plant corn", "--pass", "99"),
     "pass: 99 is no pass of plant corn; its passes are 1-9\n"),
    (("event", "--what", "hail", "--photo", "none.jpg"),
     'photo: "none.jpg" is no file; give the path of a picture that is there\n'),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "told"), REFUSED)
def test_what_cannot_be_is_refused_in_one_message(plan, arguments, told):
    before = plan.with_name("records.gpkg").read_bytes()
    found = run(plan, *arguments)
    assert (found.exit_code, found.stdout) == (2, "")
    assert found.stderr == f"striplay: {told}"
    assert plan.with_name("records.gpkg").read_bytes() == before


def test_a_refused_first_entry_leaves_no_store(plan):
    store = plan.with_name("new.gpkg")
    found = run(plan, "remark", "--store", store)
    assert found.stderr == "striplay: remark: is missing: what is there to say?\n"
    assert not store.exists()
    found = run(plan, "list", "--store", store)
    assert found.stderr == (
        f"striplay: {store}: is not there; nothing is recorded yet, or --store names another file\n"
    )
    assert found.exit_code == 2


def test_the_plan_comes_first():
    found = run("stand", "--strip", "3")
    assert found.exit_code == 2
    assert "Error: the plan comes first: main record PLAN.toml stand\n" in found.stderr
    shown = run("stand", "--help")
    assert shown.exit_code == 0
    assert "PLAN.toml stand [OPTIONS]" in shown.stdout
    assert "--stand-count" in shown.stdout
    assert run("none.toml", "stand", "--help").exit_code == 0  # no plan is read for it


def test_the_help_of_load_names_every_column():
    shown = " ".join(run("north.toml", "load", "--help").stdout.split())
    assert f"left out: {', '.join(WORDS)}; and done, the box ticked. Lines" in shown


def test_help_loads_nothing_heavy():
    heavy = ("numpy", "shapely", "pydantic", "pandas", "pyogrio")
    code = f"import sys, striplay.cli; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_records_of_another_edition_are_told(plan):
    run(plan, "remark", "--remark", "old", *DAY)
    plan.write_text(plan.read_text().replace('title = "Test"', 'title = "Test"\nunits = "metric"'))
    found = run(plan, "stand", "--strip", "3", "--stand-count", "77", *DAY)
    assert found.exit_code == 0
    assert "77 plants on 13.12 m of a row, 77,000 to the hectare" in found.stdout
    assert found.stderr.startswith("note: 3 entries are of edition ")
    assert "which has the same strips, and counts with this one" in found.stderr
    plan.write_text(plan.read_text().replace("rows = 16", "rows = 32", 1))
    found = run(plan, "list")
    assert found.stdout.endswith(": 0 entries\n")
    assert found.stderr.count("other strips, and is kept apart: list --all tells it") == 2
    assert len(lines_of(plan, "--all")) == 5


def test_what_comes_to_more_than_a_field_has_is_noted_and_recorded(plan):
    told = run(plan, "stand", "--strip", "1", "--stand-count", "310", *DAY)
    assert (told.exit_code, told.stdout.count("entry 3: ")) == (0, 1)
    assert told.stderr == (
        "note: entry 3: 310 plants come to 310,000 to the acre, and 34,000 seeds are dropped: are "
        "count, row and length right? undo withdraws it\n"
    )
    assert run(plan, "stand", "--strip", "1", "--stand-count", "38", *DAY).stderr == ""
    text = plan.read_text().replace("[crops.soybean]", '[crops.soybean]\nyield = "55 bu/acre"')
    plan.write_text(text)
    weighed = ("yield", "--strip", "2", "--moisture", "13 %", *DAY, "--grain")
    most = 110 * 60 * strip_acres(plan, 2)  # twice what the plan states; a bushel weighs 60 lb
    fine = run(plan, *weighed, f"{most - 10:.0f} lb")
    assert "comes to" not in fine.stderr
    # a second load of the same strip is what makes it too much
    found = run(plan, *weighed, "20 lb")
    assert re.search(
        r"note: entry \d+: soybean of strip 2 comes to 110\.\d bu/acre with 2 loads, and the plan "
        r"states 55\.0 bu/acre: are weight and strip right\? undo withdraws it\n",
        found.stderr,
    ), found.stderr
    # where the plan states none, what is the most that is had: 40 t/ha of corn, 637 bu/acre
    corn = ("yield", "--strip", "1", "--moisture", "15.5 %", *DAY, "--grain")
    assert "comes to" not in run(plan, *corn, f"{630 * 56 * strip_acres(plan, 1):.0f} lb").stderr
    assert "and 637.3 bu/acre is the most had" in run(plan, *corn, "2000 lb").stderr


def strip_acres(plan, strip):
    with open_store(plan.with_name("records.gpkg")) as store:
        pieces = store.edition(store.editions()[0].mark).of_strip(strip)
    return sum(one.area_m2 for one in pieces) / 4046.8564224
