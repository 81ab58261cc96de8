"""Check that limits stand in one place, each with its reason, and refuse what is past them."""

import ast
import json
import re
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from fields import STRIPS, square, write_plan_for, write_shapes
from recorded import DAY, edition

from striplay import limits
from striplay.economics import ground as economics_ground
from striplay.errors import BoundaryError, PlanError, StriplayError
from striplay.files.condition import read_condition
from striplay.files.fields import opened_fields
from striplay.files.monitor import read_monitor
from striplay.files.plan import check_keys, read_plan
from striplay.files.plan_changes import with_changes
from striplay.files.plots import read_plots
from striplay.files.record_table import read_record_table
from striplay.files.shapes import read_shapes
from striplay.files.store import open_store
from striplay.files.trials import read_trials
from striplay.ground import locate
from striplay.growing import season_of
from striplay.operations import routes
from striplay.plan.when import read_when
from striplay.section import sets
from striplay.table.opening import _ring_of
from striplay.units import LENGTH, SEED_MASS, parse

ROOT = Path(limits.__file__).parent
SOURCES = {path: path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py")}


def stated(path):
    """Give the constants of a module by name, with whether a reason follows each."""
    body = ast.parse(SOURCES[path]).body
    found = {}
    for index, node in enumerate(body):
        if isinstance(node, ast.Assign):
            after = body[index + 1] if index + 1 < len(body) else None
            reason = isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
            names = [one.id for one in ast.walk(node.targets[0]) if isinstance(one, ast.Name)]
            found |= dict.fromkeys(names, reason)
    return found


def test_each_limit_has_a_reason_and_a_use():
    names = stated(ROOT / "limits.py")
    assert [name for name, reason in names.items() if not reason] == []
    rest = "\n".join(text for path, text in SOURCES.items() if path.name != "limits.py")
    assert names.keys() - set(re.findall(r"\w+", rest)) == set()


def test_no_module_has_limits_of_its_own():
    kept = {"limits.py", "tolerances.py"}
    own = {path.name: [n for n in stated(path) if re.match("_?(MAX|MIN)_", n)] for path in SOURCES}
    assert {name: found for name, found in own.items() if found and name not in kept} == {}


def weather(path):
    plan = path.with_name("plan.toml")
    write_plan_for(path.parent, square(400))
    plan.write_text(plan.read_text() + f'\n[weather]\nfile = "{path.name}"\n')
    asked = read_plan(plan)
    season_of(asked)


def records(path):
    read_record_table(path, edition(), DAY, path.parent)


def many_fields(path):
    with opened_fields(path, None, None):
        pass


@pytest.mark.parametrize(
    ("read", "most", "told"),
    [
        (weather, limits.MAX_WEATHER_BYTES, '"{name}" has 20.0 MB; at most 20 MB are read'),
        (read_trials, limits.MAX_TRIAL_BYTES, "has 2.0 MB; at most 2 MB are read"),
        (lambda path: read_plots(path, None), limits.MAX_TRIAL_BYTES, "at most 2 MB are read"),
        (
            lambda path: read_monitor(path, None),
            limits.MAX_MONITOR_BYTES,
            "at most 200 MB are read",
        ),
        (records, limits.MAX_RECORDS_BYTES, "has 20.0 MB; at most 20 MB are read"),
        (open_store, limits.MAX_STORE_BYTES, "has 2,000.0 MB; at most 2,000 MB are read"),
        (read_shapes, limits.MAX_FILE_BYTES, "has 32.0 MB; at most 32 MB are read"),
        (read_plan, limits.MAX_PLAN_BYTES, "has 1.0 MB; at most 1 MB are read"),
    ],
)
def test_a_file_a_byte_too_large_is_refused_unread(tmp_path, read, most, told):
    refuse_unread(tmp_path / "much.geojson", read, most, told)


@pytest.mark.parametrize(
    ("name", "read", "most", "told"),
    [
        ("much.gpkg", read_shapes, limits.MAX_BINARY_BYTES, "100.0 MB; at most 100 MB are read"),
        ("much.zip", read_shapes, limits.MAX_DATA_BYTES, "500.0 MB; at most 500 MB are read"),
        ("much.kml", read_shapes, limits.MAX_FILE_BYTES, "32.0 MB; at most 32 MB are read"),
        ("much.gpkg", many_fields, limits.MAX_MANY_BYTES, "at most 20,000 MB are read"),
        ("much.geojson", many_fields, limits.MAX_FILE_BYTES, "at most 32 MB are read"),
    ],
)
def test_a_boundary_a_byte_too_large_is_refused_unread(tmp_path, name, read, most, told):
    refuse_unread(tmp_path / name, read, most, told)


def test_a_side_file_a_byte_too_large_is_refused_unread(tmp_path):
    write_shapes(tmp_path, square(400))
    gpd.read_file(tmp_path / "cut.geojson").to_file(tmp_path / "field.shp")
    assert read_shapes(tmp_path / "field.shp").polygons
    told = "has 500.0 MB; at most 500 MB are read"

    def read(_):
        read_shapes(tmp_path / "field.shp")

    refuse_unread(tmp_path / "field.dbf", read, limits.MAX_DATA_BYTES, told)


def refuse_unread(path, read, most, told):
    """Hold that a file of a byte more than is read, which takes no room on the disk, is refused."""
    with path.open("wb") as file:
        file.truncate(most + 1)
    with pytest.raises(StriplayError) as caught:
        read(path)
    assert str(caught.value).endswith(told.format(name=path.name))
    assert "\n" not in str(caught.value)


def test_a_plan_of_the_largest_size_is_read(tmp_path):
    path = write_plan_for(tmp_path, square(400))
    text = path.read_text()
    path.write_text(f"{text}#{'x' * (limits.MAX_PLAN_BYTES - len(text) - 1)}")
    assert path.stat().st_size == limits.MAX_PLAN_BYTES
    assert read_plan(path).title == "Test"


@pytest.mark.parametrize(
    ("read", "at", "past", "told"),
    [
        (
            lambda key: with_changes("", {key: 1}, "plan.toml"),
            "k" * limits.MAX_KEY_LENGTH,
            "k" * (limits.MAX_KEY_LENGTH + 1),
            "plan.toml: " + "k" * limits.MAX_KEY_LENGTH + ": is no key",
        ),
        (
            lambda count: check_keys("a" + ".a" * (count - 1) + " = 1", "plan.toml"),
            limits.MAX_KEY_PARTS,
            limits.MAX_KEY_PARTS + 1,
            "plan.toml: line 1: a key has more than 32 parts; a plan's has four",
        ),
        (
            lambda depth: read_condition("(" * depth + "n = 1" + ")" * depth),
            limits.MAX_CONDITION_DEPTH,
            limits.MAX_CONDITION_DEPTH + 1,
            "has more than 20 brackets within each other",
        ),
        (
            lambda count: read_condition(" OR ".join(["n=1"] * count)),
            limits.MAX_COMPARISONS,
            limits.MAX_COMPARISONS + 1,
            "has more than 100 comparisons; list values with IN",
        ),
        (
            lambda length: read_condition("n = 1".ljust(length)),
            limits.MAX_TEXT_LENGTH,
            limits.MAX_TEXT_LENGTH + 1,
            "is longer than 2000 characters",
        ),
        (
            lambda length: read_condition(f"n LIKE '{'%' * length}'"),
            limits.MAX_PATTERN_LENGTH,
            limits.MAX_PATTERN_LENGTH + 1,
            "has a pattern longer than 200 characters",
        ),
        (
            lambda text: parse(text, LENGTH),
            "100000 m",
            "100000.1 m",
            "is too large; at most 100000 m",
        ),
        (
            lambda text: parse(text, SEED_MASS),
            "1000000000000 kg",
            "1000000000001 kg",
            "is too large; at most 1e+12 kg",
        ),
        (
            read_when,
            "100000 degree days",
            "100000.1 degree days",
            "must be 100000 degree days or less",
        ),
        (read_when, "1900-01-01", "1899-12-31", "must be in the years 1900 to 2199"),
        (read_when, "2199-12-31", "2200-01-01", "must be in the years 1900 to 2199"),
        (
            lambda count: _ring_of([[0.0, float(at)] for at in range(count)]),
            limits.MAX_DRAWN_CORNERS,
            limits.MAX_DRAWN_CORNERS + 1,
            "a drawn field has 3 to 1000 corners, each [east, north]",
        ),
        (
            lambda far_m: _ring_of([[0.0, 0.0], [far_m, 0.0], [0.0, 9.0]]),
            limits.MAX_FIELD_EXTENT_M,
            limits.MAX_FIELD_EXTENT_M + 1,
            "a drawn field is wider than any",
        ),
    ],
)
def test_what_is_at_a_limit_is_taken_and_one_past_it_refused(read, at, past, told):
    read(at)
    with pytest.raises((StriplayError, ValueError)) as caught:
        read(past)
    assert str(caught.value) == told


WHEAT = '[crops.wheat]\nplanter = "planter"\nharvester = "platform"\nrate = "90 lb/acre"\n'


def crops(count):
    """Write crops more than corn and soybean, so many in all."""
    return "".join(WHEAT.replace("wheat", f"wheat{at}") for at in range(count - 2))


def in_pattern(places):
    """Write a strip whose rows stand in a pattern of so many places."""
    listed = ", ".join(f'"{at} cm"' for at in range(1, 2 * places, 2))
    return f'[[strips]]\ncrop = "corn"\nwidth = "40 ft"\nperiod = "40 ft"\npattern = [{listed}]\n'


def of_rows(*rows):
    return "".join(f'[[strips]]\ncrop = "corn"\nrows = {count}\n' for count in rows)


TRIAL = '[trial]\nwidth = "40 ft"\nchecks = ["corn"]\nreplicates = '
RELAY = '[[relay]]\ncrop = "soybean"\ninto = "corn"\nseeder = "planter"\nrows = '


@pytest.mark.parametrize(
    ("at", "past", "told"),
    [
        (STRIPS.replace("corn", "c" * 100) + WHEAT.replace("wheat", "c" * 100),
         STRIPS + WHEAT.replace("wheat", "c" * 101),
         f"crops.{'c' * 51}...: a name has 101 characters; at most 100 will do"),
        (STRIPS + crops(100), STRIPS + crops(101), "crops: are 101; at most 100 will do"),
        (of_rows(*[16] * 60), of_rows(*[16] * 61), "strips: are 61; at most 60 will do"),
        (of_rows(2000), of_rows(2001), "strips[1].rows: 2001 must be 2000 or less"),
        (of_rows(2000, 1000), of_rows(2000, 1001),
         "strips: have 3,001 rows together; a set of at most 3,000 is laid out"),
        (in_pattern(200), in_pattern(201),
         "strips[1].pattern: ~ must be 200 places or fewer"),
        (of_rows(16) + f"{TRIAL}20\n", of_rows(16) + f"{TRIAL}21\n",
         "trial.replicates: 21 must be 20 or less"),
        (of_rows(16) + f"{RELAY}20\n", of_rows(16) + f"{RELAY}21\n",
         "relay[1].rows: 21 must be 20 or less"),
    ],
)  # fmt: skip
def test_a_plan_at_a_limit_is_read_and_one_past_it_refused(tmp_path, at, past, told):
    read_plan(write_plan_for(tmp_path, square(400), strips=at))
    with pytest.raises(PlanError) as caught:
        read_plan(write_plan_for(tmp_path, square(400), strips=past))
    key, _, rule = told.partition(" ~")  # the value between them is long
    assert str(caught.value).startswith(f"plan.toml: {key}")
    assert rule in str(caught.value)


@pytest.mark.parametrize(
    ("was", "at", "past", "told"),
    [
        ('title = "Test"', f'title = "{"t" * 2000}"', f'title = "{"t" * 2001}"',
         "title: has 2,001 characters; at most 2,000 will do"),
        ('"120 ft"', '"100 m"', '"100.1 m"',
         "machines.sprayer: is 100 m (328 ft) wide, and a machine is at most 100 m (330 ft)"),
        ('rows = 16\nspacing = "30 in"', 'rows = 16\nspacing = "1 cm"',
         'rows = 16\nspacing = "0.9 cm"',
         "machines.planter.spacing: is less than 1 cm, nearer than rows stand"),
    ],
)  # fmt: skip
def test_a_value_at_a_limit_is_read_and_one_past_it_refused(tmp_path, was, at, past, told):
    path = write_plan_for(tmp_path, square(400))
    text = path.read_text()
    assert text.count(was) == 1
    path.write_text(text.replace(was, at))
    read_plan(path)
    path.write_text(text.replace(was, past))
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert str(caught.value).startswith(f"plan.toml: {told}")


def test_of_very_many_sets_each_strip_keeps_its_best_widths(tmp_path, monkeypatch):
    """Held at five sets in place of 20,000, with what is combined counted."""
    monkeypatch.setattr(sets, "MOST_SETS", 5)
    made, combine = [], sets._combine
    monkeypatch.setattr(sets, "_combine", lambda *given: made.append(given) or combine(*given))
    strips = "".join(f'[[strips]]\ncrop = "{crop}"\nrows = "fit"\n' for crop in ("corn", "soybean"))
    found = sets.fit_sets(read_plan(write_plan_for(tmp_path, square(400), strips=strips)))
    assert len(made) == 2 * 2  # the whole root of 5, each with each
    assert found[0].equal
    monkeypatch.setattr(sets, "MOST_SETS", 20_000)
    assert sets.fit_sets(read_plan(tmp_path / "plan.toml"))[0] == found[0]
    assert len(made) == 2 * 2 + 3 * 3


def test_very_many_passes_are_ordered_so_many_at_a_time(monkeypatch):
    """Held at three in place of a thousand."""
    monkeypatch.setattr(routes, "MOST_AT_ONCE", 3)

    class Group(list):
        place = "strips"

    parts = routes._in_turn(Group(range(7)), np.empty(0, dtype=object))
    assert [part.tolist() for part in parts] == [[0, 1, 2], [3, 4, 5], [6]]
    assert len(routes._in_turn(Group(range(3)), np.empty(0, dtype=object))) == 1


def test_where_stations_would_be_too_many_they_lie_farther_apart(monkeypatch):
    """Held at ten places in place of two million."""
    monkeypatch.setattr(economics_ground, "MOST_STATIONS", 10)
    level = np.array([0, 1])
    for length_m, count in ((8.0, 5), (1e9, 5)):
        begin, end = np.zeros(2), np.full(2, length_m)
        found = economics_ground._stations(begin, end, level, 2)
        assert found.shape == (2, count)
        assert found.tolist() == [[0] * count, [1] * count]


HELD = {
    "test_limits": {
        "test_a_file_a_byte_too_large_is_refused_unread": (
            "MAX_WEATHER_BYTES MAX_TRIAL_BYTES MAX_MONITOR_BYTES MAX_RECORDS_BYTES MAX_STORE_BYTES "
            "MAX_FILE_BYTES MAX_PLAN_BYTES"
        ),
        "test_a_boundary_a_byte_too_large_is_refused_unread": "MAX_BINARY_BYTES MAX_MANY_BYTES",
        "test_a_side_file_a_byte_too_large_is_refused_unread": "MAX_DATA_BYTES",
        "test_what_is_at_a_limit_is_taken_and_one_past_it_refused": (
            "MAX_KEY_LENGTH MAX_KEY_PARTS MAX_CONDITION_DEPTH MAX_COMPARISONS MAX_TEXT_LENGTH "
            "MAX_PATTERN_LENGTH MAX_LENGTH_M MAX_QUANTITY MAX_DEGREE_DAYS YEARS MAX_DRAWN_CORNERS"
        ),
        "test_a_plan_at_a_limit_is_read_and_one_past_it_refused": (
            "MAX_NAME_LENGTH MAX_TABLES MAX_STRIPS MAX_ROWS MAX_SET_ROWS MAX_LISTED "
            "MAX_REPLICATES MAX_ROWS_BETWEEN"
        ),
        "test_a_value_at_a_limit_is_read_and_one_past_it_refused": (
            "MAX_MACHINE_WIDTH_M MIN_SPACING_M"
        ),
        "test_a_shape_past_a_limit_is_refused": (
            "MAX_NESTED MAX_FIELD_EXTENT_M MIN_FIELD_AREA_M2 MAX_CRS_LENGTH"
        ),
        "test_of_very_many_sets_each_strip_keeps_its_best_widths": "MOST_SETS",
        "test_very_many_passes_are_ordered_so_many_at_a_time": "MOST_AT_ONCE",
        "test_where_stations_would_be_too_many_they_lie_farther_apart": "MOST_STATIONS",
    },
    "test_hostile_files": {
        "test_points_are_counted_before_they_are_read": "MAX_TEXT_VERTICES",
        "test_a_zip_of_many_files_is_refused": "MAX_ZIP_FILES MAX_ZIP_DIRECTORY_BYTES",
        "test_deep_xml_is_refused": "MAX_NESTING",
        "test_many_layers_are_told_in_short": "MAX_LAYERS MAX_OFFERED",
        "test_limits_of_a_plan": "MAX_DIGITS",
        "test_limits_of_a_boundary": "MAX_VERTICES MAX_FEATURES MAX_CROWD",
        "test_columns_and_features_are_counted_not_read": "MAX_COLUMNS MAX_VALUES",
        "test_of_a_value_longer_than_any_name_it_is_not_known_what_it_is_like": "MAX_VALUE_LENGTH",
        "test_names_are_shown_short_and_printable": "MAX_SHOWN",
        "test_too_many_holes_and_pieces_of_row_are_refused": "MAX_HOLES MAX_ROW_PIECES",
        "test_too_many_pieces_of_strips_are_refused_before_the_sweep": "MAX_STRIP_PIECES",
        "test_too_many_points_along_curves_are_refused_before_the_sweep": "MAX_CURVE_VERTICES",
        "test_a_set_far_wider_than_the_field_is_refused": "MAX_SET_OF_FIELD",
    },
    "test_boundary": {"test_all_faults_of_shapes_come_at_once": "MAX_TOLD"},
    "test_plan": {"test_numbers_of_places_are_counted_before_they_are_spelled_out": "MAX_NUMBERS"},
    "test_fills": {"test_a_slip_in_a_rate_asks_for_no_memory": "MAX_FILLS"},
    "test_capacity": {"test_a_slip_in_a_speed_ends_within_the_calendar": "MAX_JOB_DAYS"},
    "test_edges": {"test_edges_that_cannot_be": "EDGE_ROWS MOST_GAIN"},
    "test_field_page": {
        "test_rows_beyond_a_limit_leave_the_outer_ones": (
            "MAX_ROWS_SENT_BYTES MAX_ROW_VERTICES_SIMPLIFIED"
        )
    },
    "test_records": {
        "test_what_cannot_be_is_refused_with_what_would_do": (
            "MOST_PLANTS_PER_M2 MOST_YIELD_KG_PER_M2 MOST_OFF_FIELD_M MOST_TEST_WEIGHT_KG_PER_M3"
        )
    },
    "test_table_talk": {
        "test_names_too_long_for_a_disk_are_refused": "MAX_NAME_BYTES",
        "test_a_boundary_opened_a_byte_too_large_is_refused_and_nothing_kept": "MAX_BINARY_BYTES",
    },
    "test_table": {
        "test_a_message_a_byte_too_long_ends_the_talk_and_no_other": "MAX_TALK_BYTES",
        "test_a_page_more_than_there_may_be_is_told_so": "MAX_DESKS",
    },
    "test_many": {
        "test_a_field_that_takes_too_long_is_refused_by_one_process_too": "MOST_FIELD_S",
        "test_a_field_that_takes_too_much_memory_is_refused_and_the_rest_go_on": "MOST_FIELD_BYTES",
        "test_pages_are_split_and_the_gravest_come_first": "MOST_FIELDS_ON_PAGE",
        "test_of_many_refused_fields_the_first_are_told": "MOST_TOLD_FIELDS",
        "test_of_many_pairs_the_first_are_told": "MOST_TOLD_PAIRS",
        "test_a_field_that_is_there_very_often_is_not_held_against_all_the_others": "MOST_OVERLAPS",
        "test_too_many_fields_are_not_held_beside_each_other": "MOST_FIELDS_COMPARED",
        "test_an_entry_of_a_ledger_is_unpacked_up_to_its_limit": "MAX_LEDGER_BYTES",
        "test_a_worker_that_has_laid_many_is_replaced": "MOST_FIELDS_A_WORKER",
        "test_no_more_parts_are_open_than_may_be": "MOST_OPEN_PARTS",
        "test_wrong_use_is_one_message_and_nothing_is_written": "MAX_JOBS",
    },
}
"""The tests that hold each limit, by their file."""


def test_every_limit_is_held_by_a_test_that_is_there():
    tests = Path(__file__).parents[1]
    held = [limit for of_file in HELD.values() for one in of_file.values() for limit in one.split()]
    assert set(held) == stated(ROOT / "limits.py").keys()
    for name, of_file in HELD.items():
        text = "".join(path.read_text() for path in tests.glob(f"*/{name}.py"))
        assert [test for test in of_file if f"def {test}(" not in text] == []


def collections(depth):
    """Give a collection in collections, so deep, with a field inside."""
    shape = json.loads(shapely.to_geojson(shapely.box(-93.5, 42.0, -93.49, 42.01)))
    for _ in range(depth):
        shape = {"type": "GeometryCollection", "geometries": [shape]}
    return shape


def wide(degrees):
    return json.loads(shapely.to_geojson(shapely.box(-93.5, 42.0, -93.5 + degrees, 42.01)))


AT_MOST = "a field is at most 50 km across (is the crs right, and does `where` choose one field?)"
NOT_KNOWN = 'is no known coordinate reference system; write one such as crs = "EPSG:26915"'
HALF = json.loads(shapely.to_geojson(shapely.box(-90.0, 0.0, 90.0, 10.0)))


@pytest.mark.parametrize(
    ("shape", "crs", "told"),
    [
        (collections(limits.MAX_NESTED), None, ""),
        (collections(limits.MAX_NESTED + 1), None, "feature 1 has a shape that can't be read"),
        (
            wide(0.7),
            None,
            f"is 58 km across, centered on -93.15000, 42.00500; {AT_MOST}",
        ),
        (
            HALF,
            None,
            f"is half the earth across, centered on 0.00000, 5.00000; {AT_MOST}",
        ),
        (
            wide(0.000005),
            None,
            "has 0.11 ac at -93.50000, 42.00500; a field has at least 0.12 ac",
        ),
        (
            wide(0.01),
            "x" * (limits.MAX_CRS_LENGTH + 1),
            f'"{"x" * 57}..." {NOT_KNOWN}',
        ),
    ],
)
def test_a_shape_past_a_limit_is_refused(tmp_path, shape, crs, told):
    content = {"type": "Feature", "properties": {}, "geometry": shape}
    if crs is not None:
        content["crs"] = {"type": "name", "properties": {"name": crs}}
    path = tmp_path / "field.geojson"
    path.write_text(json.dumps(content))
    try:
        locate(read_shapes(path))
    except BoundaryError as error:
        found = str(error)
    else:
        found = ""
    assert found == (f"field.geojson: {told}" if told else "")
