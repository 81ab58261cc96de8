"""Whatever a plan or a boundary holds, reading it gives a plan or a refusal, and nothing else."""

import json
import random
import re
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import shapely
from fields import SAMPLES
from hypothesis import given, settings
from hypothesis import strategies as st

from striplay.errors import StriplayError
from striplay.files.condition import read_condition
from striplay.files.plan import read_plan
from striplay.files.shapes import read_shapes
from striplay.ground import locate
from striplay.growing import season_of

PLANS = [path.read_text(encoding="utf-8") for path in sorted(SAMPLES.glob("*/*.toml"))]
TOKEN = re.compile(r'"[^"\n]*"|[\w.]+|\S|\s+')
ODD = [
    '""', '"x"', '"-1 ft"', '"30 Mm"', '"1e9 ft"', '"\\u0000"', "0", "-1", "nan", "inf", "1e999",
    "9" * 400, "9" * 5000, f'"{"9" * 400} ft"', "true", "[]", "{}", "[[]]", "[" * 3000,
    "9999-12-31", "0001-01-01", "1979-05-27T07:32:00Z", "07:32:00", '"9999-12-31"', "\\", "=", "\n",
    '"best"', '"fit"', '"suggest"', "#", "a.b.c", '"1 degree days after corn"', "\r", "\x00", "'''",
    '"99999999 corn"', "crops", "machines", "[crops]", "[[strips]]", "[machines.x]", "corn",
]  # fmt: skip


@st.composite
def mutated(draw):
    """Give a sample's plan, a few of its words left out, changed or exchanged."""
    tokens = TOKEN.findall(draw(st.sampled_from(PLANS)))
    for _ in range(min(len(tokens) - 1, draw(st.integers(1, 4)))):
        at = draw(st.integers(0, len(tokens) - 1))
        how = draw(st.sampled_from(["drop", "odd", "odd", "swap", "cut"]))
        if how == "drop":
            del tokens[at]
        elif how == "odd":
            tokens[at] = draw(st.sampled_from(ODD))
        elif how == "swap":
            other = draw(st.integers(0, len(tokens) - 1))
            tokens[at], tokens[other] = tokens[other], tokens[at]
        else:
            tokens = tokens[: at + 5]
    return "".join(tokens)


@given(mutated())
@settings(max_examples=75, deadline=None)
def test_any_plan_is_read_or_refused(text):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "plan.toml"
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            season_of(read_plan(path))
        except StriplayError as error:
            assert len(str(error)) < 20_000  # noqa: PT017 - most plans are refused


FEATURE = {
    "type": "Feature",
    "id": 1,
    "properties": {"id": 1, "name": "a"},
    "geometry": json.loads(shapely.to_geojson(shapely.box(-93.5, 42.0, -93.49, 42.01))),
}
COLLECTION = {"type": "FeatureCollection", "features": [FEATURE, FEATURE]}
ODD_JSON = [
    None, True, 0, -1, 1e308, float("nan"), float("inf"), 10**400, "", "x", "Point", "Polygon",
    "MultiPolygon", "GeometryCollection", "LineString", [], {}, [[]], [[[]]], [1], [[1, 2]], [None],
    {"type": "GeometryCollection", "geometries": [None, {}, {"type": "Polygon"}]},
]  # fmt: skip


def changed(content, odd, draw):
    """Put something odd in a random place."""
    if isinstance(content, dict | list) and content and draw.random() > 0.15:
        keys = list(content) if isinstance(content, dict) else list(range(len(content)))
        key = draw.choice(keys)
        copy = content.copy()
        copy[key] = changed(content[key], odd, draw)
        return copy
    return odd


@given(st.sampled_from(ODD_JSON), st.integers(0, 2**32), st.booleans())
@settings(max_examples=75, deadline=None)
def test_any_geojson_is_read_or_refused(odd, seed, any_kind):
    content = changed(COLLECTION, odd, random.Random(seed))  # noqa: S311 - no secret
    with TemporaryDirectory() as folder:
        path = Path(folder) / "field.geojson"
        path.write_text(json.dumps(content))
        with suppress(StriplayError):
            locate(read_shapes(path, where="id = 1 OR name LIKE 'a%'", any_kind=any_kind))


WORDS = st.lists(
    st.sampled_from(
        ["id", "name", '"id"', "1", "'a'", "(", ")", ",", "=", "<", "AND", "OR", "NOT", "IN",
         "LIKE", "IS", "NULL", "BETWEEN", "TRUE", "'", '"', ";", "-1", "1e999", "%"]
    ), max_size=12,
)  # fmt: skip


@given(WORDS)
@settings(max_examples=150, deadline=None)
def test_any_condition_is_read_or_refused(words):
    with suppress(ValueError):
        condition = read_condition(" ".join(words))
        more = dict.fromkeys(condition.columns, "a")  # a name in quotes may be any
        for values in ({"id": 1, "name": "a"}, {"id": None, "name": None}):
            assert condition.test({**more, **values}) in {True, False, None}
