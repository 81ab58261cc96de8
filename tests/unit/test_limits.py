"""Check that limits stand in one place, each with its reason, and refuse what is past them."""

import ast
import json
import re
from pathlib import Path

import pytest
import shapely
from fields import square, write_plan_for
from recorded import DAY, edition

from striplay import limits
from striplay.errors import BoundaryError, StriplayError
from striplay.files.monitor import read_monitor
from striplay.files.plan import read_plan
from striplay.files.plots import read_plots
from striplay.files.record_table import read_record_table
from striplay.files.shapes import read_shapes
from striplay.files.store import open_store
from striplay.files.trials import read_trials
from striplay.ground import locate
from striplay.growing import season_of

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
    assert [name for name in names if not re.search(rf"\b{name}\b", rest)] == []


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
    path = tmp_path / "much.geojson"
    with path.open("wb") as file:
        file.truncate(most + 1)
    with pytest.raises(StriplayError) as caught:
        read(path)
    assert str(caught.value).endswith(told.format(name=path.name))
    assert "\n" not in str(caught.value)


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
