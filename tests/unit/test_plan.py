"""Check plans: what is read, what is filled in, and the exact text of every refusal."""

import datetime as dt
import re
import tomllib
import tracemalloc

import pytest

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.plan.season import read_numbers

FOOT_M = 0.3048
ACRE_M2 = 4046.8564224

PLANTER = 'rows = 16\nspacing = "30 in"'
RATE = 'rate = "34000 seeds/acre"'
UNIT = 'unit = "80000 seeds"'
SHORTEST = 'shortest = "66 ft"'
HEADING = 'heading = "best"'
TITLE = 'title = "Alder Bend, north half"'
BOUNDARY = 'boundary = "alder_bend.geojson"'
DRILL = ('rows = 16\nspacing = "30 in"\n\n[machines.c', 'width = "40 ft"\n\n[machines.c')
LENGTHS = "in, ft, m, cm, mm"
TOP = (
    "field, headland, direction, machines, crops, strips, obstacles, blocks, cost, slope, row_set, "
    "mixtures and 18 more"
)
MACHINES = "planter, corn_head, platform, sprayer"
ANGLE = 'must be "best", or degrees clockwise from true north, 0 up to 180; for example heading = '
COUNT = 'must be a whole number above 0, or "fit"; for example rows = 16'

REFUSALS = [
    # keys above all tables
    ([('"us"', '"imperial"')], ("units: \"imperial\" must be 'us' or 'metric'; for example units = "
     '"us"')),
    ([('"us"', "true")], "units: true must be 'us' or 'metric'; for example units = \"us\""),
    ([(TITLE, "title = 5")], 'title: 5 must be text; for example title = "Home north"'),
    ([(TITLE, "titel = 5")], 'titel: unknown key, did you mean "title"?'),
    ([(TITLE, "zzz = 5")], f"zzz: unknown key; known are {TOP}"),
    ([(TITLE, 'date = "soon"')],
     'date: "soon" must be a date, as year-month-day; for example date = "2026-04-01"'),
    ([(TITLE, "date = 5")],
     'date: 5 must be a date, as year-month-day; for example date = "2026-04-01"'),
    ([(TITLE, "date = 2026-04-01T10:00:00")], ('date: "2026-04-01 10:00:00" must be a date, as '
     'year-month-day; for example date = "2026-04-01"')),
    ([(TITLE, 'paper = "a3"')], "paper: \"a3\" must be 'letter' or 'a4'"),
    ([(f"[field]\n{BOUNDARY}\n", ""), (TITLE, 'field = "a.geojson"')],
     "field: must be a table, written [field]"),
    # field
    ([(BOUNDARY, "boundary = 5")],
     'field.boundary: 5 must be text; for example boundary = "home_north.geojson"'),
    ([(BOUNDARY, "")], 'field.boundary: is missing; for example boundary = "home_north.geojson"'),
    ([(BOUNDARY, f"{BOUNDARY}\ncrs = 26915")],
     'field.crs: 26915 must be text; for example crs = "EPSG:26915"'),
    ([(BOUNDARY, f"{BOUNDARY}\nlayer = 1")],
     'field.layer: 1 must be text; for example layer = "fields"'),
    ([(BOUNDARY, f"{BOUNDARY}\nwhere = 2")],
     'field.where: 2 must be text; for example where = "id = 12"'),
    ([(BOUNDARY, f"{BOUNDARY}\nobstacles = []")],
     'field.obstacles: [] must be text; for example obstacles = "obstacles.geojson"'),
    ([(BOUNDARY, f"{BOUNDARY}\nlayers = 'a'")],
     ('field.layers: unknown key, did you mean "layer"?; '
     "known are boundary, crs, layer, where, obstacles")),
    # headland
    ([('where = "around"', 'where = "round"')], ("headland.where: \"round\" must be 'around', "
     "'ends' or 'none'; for example where = \"around\"")),
    ([('where = "around"\n', "")],
     'headland.where: is missing; for example where = "around"'),
    ([("passes = 2", "passes = 0")],
     "headland.passes: 0 must be 1 or more; for example passes = 2"),
    ([("passes = 2", "passes = 1.5")],
     "headland.passes: 1.5 must be a whole number; for example passes = 2"),
    ([("passes = 2", "passes = true")],
     "headland.passes: true must be a whole number; for example passes = 2"),
    ([("passes = 2", 'passes = 2\nwidth = "60 ft"')],
     "headland: has both passes and width; keep one"),
    ([("passes = 2\n", "")],
     'headland: needs passes and machine, or width; for example width = "60 ft"'),
    ([('passes = 2\nmachine = "planter"\n', "passes = 2\n")],
     "headland.machine: is missing: passes of which machine?"),
    ([('machine = "planter"', 'machine = "plantr"')], ('headland.machine: no machine "plantr", '
     f'did you mean "planter"?; known are {MACHINES}')),
    ([('crop = "corn"', 'crop = "maize"')],
     'headland.crop: no crop "maize"; known are corn, soybean'),
    # direction
    *[([(HEADING, f"heading = {value}")], f"direction.heading: {shown} {ANGLE}90")
      for value, shown in [("180", "180"), ("-1", "-1"), ('"north"', '"north"'), ("true", "true"),
                           ("nan", "NaN"), ("180.0", "180.0")]],
    ([('start = "left"', 'start = "west"')],
     ("direction.start: \"west\" must be 'left' or 'right'; "
     'for example start = "left"')),
    ([(SHORTEST, "shortest = 66")], ("direction.shortest: 66 needs a unit: write a length as text, "
     'such as "30 in"; for example shortest = "66 ft"')),
    ([(SHORTEST, 'shortest = "66"')], ('direction.shortest: "66" is not a length; write a number '
     'and a unit, such as "30 in"; for example shortest = "66 ft"')),
    ([(SHORTEST, 'shortest = "-3 ft"')], (
     'direction.shortest: "-3 ft" must be above zero; for example shortest = "66 ft"')),
    ([(SHORTEST, 'shortest = "1,000 ft"')],
     ('direction.shortest: "1,000 ft" is not a length; write '
     'a number and a unit, such as "30 in"; write numbers without a comma; '
     'for example shortest = "66 ft"')),
    ([(SHORTEST, 'shortest = "6 acres"')],
     ('direction.shortest: "6 acres" is not a length: unknown '
     f'unit "acres"; known are {LENGTHS}; for example shortest = "66 ft"')),
    ([(SHORTEST, 'shortest = "0 ft"')],
     'direction.shortest: "0 ft" must be above zero; for example shortest = "66 ft"'),
    # machines
    ([("[machines.sprayer]\n", '[machines.sprayer]\ntrack = "120 in"\ntyre = "14 in"\n'),
      ("[machines.platform]\n", '[machines.platform]\ncut = "4 in"\n'),
      ("[crops.corn]\n", "[crops.corn]\ncloses = 2026-06-20\n")],
     ("4 faults\n"
     '  machines.platform.cut: is now called "cutting_height"; rename it\n'
     '  machines.sprayer.track: is now called "tread"; rename it\n'
     '  machines.sprayer.tyre: is now called "tire"; rename it\n'
     '  crops.corn.closes: is now called "canopy_closure"; rename it')),
    ([('does = "plant"', 'does = "plow"')],
     ('machines.planter.does: "plow" is not one of plant, harvest, spray, '
     "spread, cultivate, mow, till, haul")),
    ([('does = "plant"\n', "")],
     ("machines.planter.does: is missing; it must be one of plant, harvest, spray, "
     "spread, cultivate, mow, till, haul")),
    ([(PLANTER, "rows = 16")],
     'machines.planter.spacing: is missing; for example spacing = "30 in"'),
    ([(PLANTER, 'spacing = "30 in"')], "machines.planter: needs rows and spacing, or width"),
    ([(PLANTER, f'{PLANTER}\nwidth = "40 ft"')],
     "machines.planter: has both rows and width; keep one"),
    ([(PLANTER, 'width = "40 ft"\nspacing = "36 in"')], ("machines.planter.width: is 13.33 openers "
     "at the spacing given; a whole number is needed, such as 13 or 14")),
    ([(PLANTER, 'width = "1 ft"\nspacing = "36 in"')], ("machines.planter.width: is 0.33 openers "
     "at the spacing given; a whole number is needed, such as 1")),
    ([(PLANTER, f"{PLANTER}\nsections = 2")], ("machines.planter.sections: unknown key; known are "
     "does, cost, speed, turn, turning_speed, reversing, length, holds, refill, hours_a_day, fuel, "
     "tread and 8 more")),
    ([('width = "30 ft"', 'width = "30 ft"\nspacing = "30 in"')],
     "machines.platform.spacing: has no use with width; a platform has no rows"),
    ([('width = "30 ft"\n', "")], "machines.platform: needs rows and spacing, or width"),
    ([('width = "30 ft"', 'width = "30 ft"\nclearance = "0 in"')], ("machines.platform.clearance: "
     '"0 in" must be above zero; for example clearance = "6 in"')),
    ([("sections = 12", "sections = 0")],
     "machines.sprayer.sections: 0 must be 1 or more; for example sections = 12"),
    ([('width = "120 ft"\n', "")],
     'machines.sprayer.width: is missing; for example width = "120 ft"'),
    # operations
    ([("[[strips]]", '[[operations]]\ndoes = "plow"\nmachine = "planter"\n[[strips]]')],
     ('operations[1].does: "plow" is not one of plant, harvest, spray, spread, cultivate, mow, '
      "till")),
    ([("[[strips]]", '[[operations]]\ndoes = "spray"\nmachine = "planter"\n[[strips]]')],
     ('operations[1].machine: "planter" does not spray; a machine with does = "spray" is needed')),
    ([("[[strips]]", ('[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = ["corm"]\n'
      "[[strips]]"))],
     'operations[1].crops: no crop "corm", did you mean "corn"?; known are corn, soybean'),
    ([("[[strips]]", ('[[operations]]\ndoes = "harvest"\nmachine = "platform"\ncrops = ["corn"]\n'
      "[[strips]]"))],
     ('operations[1].machine: is "platform", and crops.corn.harvester is "corn_head"; name one '
      "and the same")),
    ([("[[strips]]", ('[[operations]]\ndoes = "spray"\nmachine = "sprayer"\nproduct = "x"\n'
      "[[strips]]"))],
     "operations[1].rate: is missing: product and rate stand together"),
    ([("[machines.corn_head]\n", '[machines.corn_head]\ncart = "sprayer"\n')],
     'machines.corn_head.cart: "sprayer" does not haul; one with does = "haul" is needed'),
    # crops
    ([('planter = "planter"\n', "")],
     'crops.corn.planter: is missing; for example planter = "planter"'),
    ([('planter = "planter"', 'planter = "plater"')], ('crops.corn.planter: no machine "plater", '
     f'did you mean "planter"?; known are {MACHINES}')),
    ([('planter = "planter"', 'planter = "corn_head"')],
     ('crops.corn.planter: "corn_head" does not '
     'plant; a machine with does = "plant" is needed')),
    ([('harvester = "corn_head"', 'harvester = "sprayer"')],
     ('crops.corn.harvester: "sprayer" does '
     'not harvest; a machine with does = "harvest" is needed')),
    ([("= 0.95", "= 0")],
     "crops.corn.emergence: 0 must be above 0; for example emergence = 0.95"),
    ([("= 0.95", "= 1.2")],
     "crops.corn.emergence: 1.2 must be 1 or less; for example emergence = 0.95"),
    ([("= 0.95", "= nan")],
     "crops.corn.emergence: NaN must be 1 or less; for example emergence = 0.95"),
    ([("= 0.95", '= "95 %"')],
     'crops.corn.emergence: "95 %" must be a number; for example emergence = 0.95'),
    ([(RATE, "rate = 34000")], ("crops.corn.rate: 34000 needs a unit: write a seed rate as text, "
     'such as "34000 seeds/acre"')),
    ([(RATE, 'rate = "9 µ/acre"')], ('crops.corn.rate: "9 µ/acre" is not a seed rate; write a '
     'number and a unit, such as "34000 seeds/acre"')),
    ([(RATE, 'rate = "110 lb/acre"')], ("crops.corn.seed_size: is missing: rate is a weight and "
     'unit a number of seeds; for example seed_size = "14000 seeds/lb"')),
    ([(UNIT, 'unit = "50 lb"')], ("crops.corn.seed_size: is missing: rate is a number of "
     'seeds and unit a weight; for example seed_size = "14000 seeds/lb"')),
    ([(UNIT, 'unit = "1 bag"')], ('crops.corn.unit: "1 bag" is not an amount of seed: unknown unit '
     '"bag"; known are seeds, lb, kg, g; for example unit = "80000 seeds"')),
    ([(UNIT, 'seed_size = "9"')], ('crops.corn.seed_size: "9" is not a number of seeds by weight; '
     'write a number and a unit, such as "14000 seeds/lb"')),
    ([("emergence = 0.95", "share = 0.7"), ('unit = "140000 seeds"', "share = 0.6")],
     "crops: the wished shares add up to 1.30; at most 1 will do"),
    ([("emergence = 0.95", "share = 1")],
     "crops.corn.share: 1 must be below 1; for example share = 0.5"),
    ([("emergence = 0.95", "share = 0")],
     "crops.corn.share: 0 must be above 0; for example share = 0.5"),
    # what follows from a key that can't be is no fault of its own
    ([('width = "120 ft"', 'width = "120 ft"\nholds = "800 galons"')],
     ('machines.sprayer.holds: "800 galons" is not a load: unknown unit "galons"; known are gal, '
      'L, lb, kg, bu; for example holds = "1000 gal"')),
    # strips
    *[([("rows = 48", f"rows = {value}")], f"strips[2].rows: {value} {COUNT}")
      for value in ('"fits"', "0", "3.0", "true")],
    ([("rows = 48", "rows = 48\npasses = 3")],
     "strips[2]: needs one of rows, passes or width; for example rows = 16"),
    ([("rows = 48\n", "")], "strips[2]: needs one of rows, passes or width; for example rows = 16"),
    ([("rows = 48", 'width = "41 ft"')],
     "strips[2].width: is 16.40 rows of soybean; 16 or 17 would be whole"),
    ([("rows = 48", 'width = "1 ft"')],
     "strips[2].width: is 0.40 rows of soybean; 1 would be whole"),
    ([DRILL, ("rows = 16\n\n[[", 'width = "100 ft"\n\n[['), ("rows = 48", "passes = 1")],
     "strips[1].width: is 2.50 passes of corn; 2 or 3 would be whole"),
    ([DRILL, ("rows = 16\n\n[[", "passes = 1\n\n[[")],
     "strips[2].rows: the drill has no spacing, so no rows; give passes or width"),
    ([('crop = "soybean"\nrows', 'crop = "soya"\nrows')],
     'strips[2].crop: no crop "soya", did you mean "soybean"?; known are corn, soybean'),
    ([('crop = "soybean"\nrows', "rows")],
     'strips[2].crop: is missing; for example crop = "corn"'),
]  # fmt: skip


def refusal(path):
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    return str(caught.value)


@pytest.mark.parametrize(("changes", "told"), REFUSALS, ids=[told for _, told in REFUSALS])
def test_refusals(write_plan, base_plan_text, changes, told):
    assert refusal(write_plan(base_plan_text, *changes)) == f"plan.toml: {told}"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("crops = 5", "crops: must be tables, written [crops.NAME]"),
        ("crops = {corn = 5}", "crops.corn: must be a table, written [crops.corn]"),
        ("machines = 5", "machines: must be tables, written [machines.NAME]"),
        ("machines = {a = 5}", "machines.a: must be a table, written [machines.a]"),
        ("strips = 5", "strips: must be a list of tables, each written [[strips]]"),
        ("[strips]\nrows = 5", "strips: must be a list of tables, each written [[strips]]"),
        ("strips = [5]", "strips[1]: must be a table, written [[strips]]"),
        ("headland = 5", "headland: must be a table, written [headland]"),
        ("direction = []", "direction: must be a table, written [direction]"),
        ('[crops.corn]\nplanter = "p"', 'crops.corn.planter: no machine "p"; none is given'),
        ('[[strips]]\ncrop = "corn"\nrows = 1', 'strips[1].crop: no crop "corn"; none is given'),
        (
            '[headland]\nwhere = "none"\nmachine = "p"',
            'headland.machine: no machine "p"; none is given',
        ),
    ],
)
def test_refusals_of_whole_tables(write_plan, text, told):
    assert refusal(write_plan(text)) == f"plan.toml: {told}"


def test_a_rate_in_a_wrong_unit_names_five_units(write_plan, base_plan_text):
    told = refusal(write_plan(base_plan_text, (RATE, 'rate = "34000 plants/acre"')))
    assert told == (
        'plan.toml: crops.corn.rate: "34000 plants/acre" is not a seed rate: unknown unit '
        '"plants/acre"; known are seeds/acre, seeds/ha, seeds/m2, lb/acre, kg/ha; for example '
        'rate = "34000 seeds/acre"'
    )


def test_all_faults_come_at_once_and_in_the_order_of_the_file(write_plan, base_plan_text):
    changes = [
        (TITLE, "titel = 5\nzzz = 1\ncolor = 2\nyard = 3"),
        (BOUNDARY, "boundary = 5"),
        ("passes = 2", "passes = 0"),
        (HEADING, "heading = 200"),
        ("rows = 16\nspacing", "rows = 0\nspacing"),
        (RATE, "rate = 34000"),
        ('harvester = "platform"', 'harvester = "planter"'),
        ("rows = 48", "rows = 0"),
    ]
    path = write_plan(base_plan_text, *changes)
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    faults = caught.value.faults
    assert [fault.split(":")[0] for fault in faults] == [
        "titel", "zzz", "color", "yard",
        "field.boundary", "headland.passes", "direction.heading", "machines.planter.rows",
        "crops.corn.rate", "strips[2].rows", "crops.soybean.harvester",
    ]  # fmt: skip
    head, *lines = str(caught.value).splitlines()
    assert head == "plan.toml: 11 faults"
    assert lines == [f"  {fault}" for fault in faults]
    assert caught.value.file == "plan.toml"


def test_a_fault_in_one_key_does_not_hide_another_in_the_same_table(write_plan, base_plan_text):
    told = refusal(
        write_plan(
            base_plan_text, (RATE, "rate = 1"), ('planter = "planter"', 'planter = "plantr"')
        )
    )
    assert "crops.corn.rate: 1 needs a unit" in told
    assert 'crops.corn.planter: no machine "plantr"' in told


def test_missing_file(tmp_path):
    path = tmp_path / "none.toml"
    assert refusal(path) == f"{path}: is not there; are name and folder right?"


def test_a_folder_is_no_plan(tmp_path):
    assert refusal(tmp_path) == f"{tmp_path}: is a folder; name a file in it"


def test_not_utf8(tmp_path):
    path = tmp_path / "latin.toml"
    path.write_bytes('title = "Größe"'.encode("latin-1"))
    assert refusal(path) == "latin.toml: is not UTF-8 text (byte 12)"


def test_a_byte_order_mark_is_no_fault(write_plan):
    path = write_plan('title = "Größe"')
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert read_plan(path).title == "Größe"


DAY = "for example sown = 2026-05-01"
NOT_TOML = {
    "sown = 2026-13-02": f"there is no month 13; {DAY}",
    "sown = 2026-02-30": f"there is no day 30 in 2026-02, which has 28; {DAY}",
    "sown = 0000-02-20": f"there is no year 0; {DAY}",
    "sown = 2026-5-1": f"a day is written year-month-day; {DAY}",
    "sown = 2026/05/01": f"a day is written year-month-day; {DAY}",
    "sown = 05/01/2026": f"a day is written year-month-day; {DAY}",
    "field = {days = [2026-06-31]}": "there is no day 31 in 2026-06, which has 30; for example "
    "2026-05-01",
    "heading = 0 deg": "degrees are a number without a unit; for example heading = 0",
    "heading = 31.5°": "degrees are a number without a unit; for example heading = 31.5",
    "spacing = 30 in": 'text stands in quotes; for example spacing = "30 in"',
    "units = us": 'text stands in quotes; for example units = "us"',
    "title = “North”": 'text stands in straight quotes; for example title = "North"',
    "example = Yes": "yes is written true, no false; for example example = true",
    "emergence = 0,95": "a number has a point, no comma; for example emergence = 0.95",
    "rows = 1,600": "a number has no commas; for example rows = 1600",
    "rows = 08": "a number has no 0 before it; for example rows = 8",
    "emergence = .95": "a digit stands on either side of a point; for example emergence = 0.95",
    "title =": 'nothing stands after "="; write its value, or take the key out',
    'title = "North" 5': "nothing stands after a value on its line but a comment, which begins "
    'with "#"',
    r'boundary = "C:\Users\land.shp"': "text with a backslash stands in single quotes; for example "
    r"boundary = 'C:\Users\land.shp'",
    "crops = [1 2]": 'a list is not closed with "]", or a comma is missing in it',
    "title : 5": 'a line holds a key, "=" and its value; for example title = "North"',
    "north side = 1": "a key of other signs than a to z, digits, _ and - stands in quotes; for "
    'example "north side" = 1',
    "[crops.corn": "the name of a table stands between brackets; for example [crops.corn]",
}  # fmt: skip


@pytest.mark.parametrize(("line", "told"), NOT_TOML.items())
def test_a_line_that_is_not_toml_is_told_with_what_would_do(write_plan, line, told):
    """What the example shows is TOML itself: who follows it is not refused for the same again."""
    path = write_plan(f'paper = "a4"\n{line}  # a note\nrows = 5\n')
    assert refusal(path) == f"plan.toml: line 2: {line}: {told}"
    _, _, example = told.partition("for example ")
    if " = " in example:
        tomllib.loads(example)


def test_tables_and_keys_that_are_there_twice(write_plan):
    for text, told in {
        "[crops.corn]\n[crops.corn]\n": "line 2: [crops.corn] is there twice; give each table its "
        "own name",
        '[crops."o\'b\\n, c"]\n[crops."o\'b\\n, c"]\n': "line 2: [crops.o'b , c] is there twice; "
        "give each table its own name",
        "a = 1\na = 2\n": "line 2: a = 2: a key is there twice in one table; keep one of them",
        'a = "b\n': 'line 1: a = "b: a quote is not closed; close it with "',
        'a = """b\n': "is not TOML: at its end: unterminated string",
    }.items():
        assert refusal(write_plan(text)) == f"plan.toml: {told}"


@pytest.mark.parametrize("key", ["sown", "harvested", "canopy_closure"])
def test_a_bad_day_is_shown_a_day(write_plan, base_plan_text, key):
    text = base_plan_text.replace("[crops.corn]\n", f'[crops.corn]\n{key} = "May 1"\n')
    (line,) = [one for one in refusal(write_plan(text)).splitlines() if f".{key}: " in one]
    assert re.search(rf'; for example {key} = "2026-\d\d-\d\d"$', line)


def test_the_contracts_example(write_plan, base_plan_text):
    path = write_plan(base_plan_text)
    plan = read_plan(path)
    assert plan.path == path
    assert (plan.title, plan.units, plan.printed) == ("Alder Bend, north half", "us", None)
    assert plan.field is not None
    assert plan.field.boundary == "alder_bend.geojson"
    assert plan.headland_width_m == pytest.approx(80 * FOOT_M)
    assert (plan.direction.heading, plan.direction.start) == ("best", "left")
    assert plan.direction.shortest_m == pytest.approx(66 * FOOT_M)
    assert plan.planter("corn").width_m == pytest.approx(40 * FOOT_M)
    harvester = plan.harvester("corn")
    assert harvester is not None
    assert (harvester.rows, harvester.width_m) == (8, pytest.approx(20 * FOOT_M))
    assert list(plan.sprayers) == ["sprayer"]
    corn = plan.crops["corn"]
    assert corn.rate_per_m2 == pytest.approx(34_000 / ACRE_M2)
    assert (corn.unit_seeds, corn.emergence) == (80_000, 0.95)
    assert [(strip.crop, strip.rows) for strip in plan.strips] == [("corn", 16), ("soybean", 48)]


def test_defaults_us(write_plan, base_plan_text):
    plan = read_plan(
        write_plan(base_plan_text, (SHORTEST, ""), ('units = "us"\n', ""), (TITLE, ""))
    )
    assert (plan.units, plan.paper, plan.title) == ("us", "letter", "alder_bend")
    assert plan.direction.shortest_m == pytest.approx(66 * FOOT_M)
    assert plan.harvester("soybean").clearance_m == pytest.approx(6 * 0.0254)


def test_defaults_metric(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, (SHORTEST, ""), ('"us"', '"metric"')))
    assert (plan.units, plan.paper) == ("metric", "a4")
    assert plan.direction.shortest_m == 20.0
    assert plan.harvester("soybean").clearance_m == 0.15


def test_an_empty_plan_is_filled_in(write_plan):
    plan = read_plan(write_plan("", name="home.toml"))
    assert (plan.title, plan.field, plan.headland.where) == ("home", None, "none")
    assert (plan.headland_width_m, plan.strips, plan.crops, plan.machines) == (0.0, (), {}, {})
    assert (plan.direction.heading, plan.direction.start) == ("best", "left")


@pytest.mark.parametrize("value", ['"2026-04-01"', "2026-04-01"])
def test_a_date_as_text_or_as_toml(write_plan, value):
    assert read_plan(write_plan(f"date = {value}")).printed == dt.date(2026, 4, 1)


def test_paper_overrides_units(write_plan):
    assert read_plan(write_plan('units = "metric"\npaper = "letter"')).paper == "letter"


@pytest.mark.parametrize("heading", ["0", "0.0", "179.999", "90"])
def test_headings_accepted(write_plan, base_plan_text, heading):
    plan = read_plan(write_plan(base_plan_text, (HEADING, f"heading = {heading}")))
    assert plan.direction.heading == float(heading)


def test_a_headland_given_by_width(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ("passes = 2", 'width = "60 ft"')))
    assert plan.headland_width_m == pytest.approx(60 * FOOT_M)


def test_a_headland_none_keeps_no_width(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ('"around"', '"none"')))
    assert plan.headland_width_m == 0.0


def test_a_drill_with_whole_openers(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, (PLANTER, 'width = "40 ft"\nspacing = "7.5 in"')))
    assert plan.planter("corn").row_units == 64
    assert plan.planter("corn").width_m == pytest.approx(40 * FOOT_M)


def test_seed_by_weight(write_plan, base_plan_text):
    changes = [
        (RATE, 'rate = "100 lb/acre"\nseed_size = "14000 seeds/lb"'),
        (UNIT, 'unit = "50 lb"'),
    ]
    corn = read_plan(write_plan(base_plan_text, *changes)).crops["corn"]
    assert corn.rate_per_m2 == pytest.approx(1_400_000 / ACRE_M2)
    assert corn.unit_seeds == pytest.approx(700_000)


def test_seed_left_out_is_not_counted(write_plan, base_plan_text):
    corn = read_plan(write_plan(base_plan_text, (RATE, ""), (UNIT, ""))).crops["corn"]
    assert (corn.rate_per_m2, corn.unit_seeds) == (None, None)


def test_a_crop_without_harvester(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ('harvester = "corn_head"\n', "")))
    assert plan.harvester("corn") is None


def test_a_strip_as_wide_as_whole_rows(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text, ("rows = 48", 'width = "120 ft"')))
    assert plan.strips[1].width_m == pytest.approx(120 * FOOT_M)


def test_a_plan_is_frozen(write_plan, base_plan_text):
    plan = read_plan(write_plan(base_plan_text))
    with pytest.raises(ValueError, match="frozen"):
        plan.title = "other"
    with pytest.raises(ValueError, match="frozen"):
        plan.crops["corn"].emergence = 0.5


FARM = """
[farm]
name = "Alder Bend Farm"
operator = "R. Example"
prepared_by = "A. Adviser"
county = "Story County"
state = "Iowa"
legal = "NE 1/4, section 12, T 83 N, R 24 W"
"""


def test_whose_farm_it_is(write_plan, base_plan_text):
    plan = read_plan(write_plan(f'ink = "gray"\n{base_plan_text}{FARM}'))
    assert plan.ink == "gray"
    assert plan.farm.model_dump() == {
        "name": "Alder Bend Farm", "operator": "R. Example", "prepared_by": "A. Adviser",
        "county": "Story County", "state": "Iowa", "legal": "NE 1/4, section 12, T 83 N, R 24 W",
    }  # fmt: skip


def test_a_farm_misspelled_is_refused(write_plan, base_plan_text):
    farm = FARM.replace("county", "parish")
    with pytest.raises(PlanError) as told:
        read_plan(write_plan(f'ink = "blue"\n{base_plan_text}{farm}'))
    assert sorted(told.value.faults) == [
        "farm.parish: unknown key; known are name, operator, prepared_by, county, state, legal",
        """ink: "blue" must be 'color' or 'gray'; for example ink = "gray\"""",
    ]


@pytest.mark.parametrize(
    "written",
    [["1-6000", "6001-12000"], ["0-9999, 0-9999"], ["0-9999, 0-9999"] * 2000, ["0-" + "9" * 18]],
)
def test_numbers_of_places_are_counted_before_they_are_spelled_out(written):
    """In all, over runs and blocks: 35 kB of runs would be 40 million numbers."""
    tracemalloc.start()
    try:
        with pytest.raises(ValueError, match="must be 10,000 numbers or fewer in all, each run r"):
            read_numbers(written)
        assert tracemalloc.get_traced_memory()[1] < 4e6
    finally:
        tracemalloc.stop()
