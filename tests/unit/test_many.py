"""Many fields by one plan: every field is told, none is lost or there twice, one bad stops none."""

import gzip
import json
import os
import re
import shutil
import sys
import time
from dataclasses import replace
from importlib import import_module
from unittest.mock import Mock

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from fields import PLANE, SHED, STRIPS, lay_on, square, write_shapes
from shapely.affinity import translate

import striplay
from striplay.columns import (
    CROPS_CSV,
    FIELD_CROPS,
    FIELD_HEADLANDS,
    FIELD_JOBS,
    FIELD_NOTICES,
    FIELD_STRIPS,
    FIELDS,
    SUMMARY_CSV,
    columns_of,
)
from striplay.errors import BoundaryError, OutputError, PlanError
from striplay.files.plan import read_plan
from striplay.many import crew, field, index, run
from striplay.many.field import Feature, lay_feature
from striplay.many.report import report_of
from striplay.many.run import Asked, lay_many
from striplay.many.shared import Shared, overlaps
from striplay.many.template import Wishes, read_template
from striplay.page.fields import FieldsPage, fields_page
from striplay.units import format_area

PLAN = f'title = "Many"\n[direction]\nheading = 0\n{SHED}\n{STRIPS}'
HOSTILE = "</script><img src=x onerror=alert(1)>\"'&"
SHAPES = {
    "plain": square(1200),
    "Ünïcode 麦": translate(square(900), 2000),
    HOSTILE: translate(square(1000), 0, 2000),
    "too small": translate(square(20), 0, -2000),
    "crossed": shapely.Polygon([(4000, 0), (4400, 400), (4400, 0), (4000, 400)]),
    "nothing": None,
    "=1+1": translate(square(1100), -2000),
}

BAD = ["too small", "crossed", "nothing"]


def write_fields(path, shapes=SHAPES, **columns):
    named = [None if one is None else PLANE.geometries_to_lonlat(one) for one in shapes.values()]
    table = gpd.GeoDataFrame({"name": list(shapes), **columns}, geometry=named, crs="EPSG:4326")
    if path.suffix == ".parquet":
        table.to_parquet(path)
    else:
        table.to_file(path)
    return path


def asked_in(folder, shapes=SHAPES, *, name="fields.gpkg", plan=PLAN, out="out", **how):
    columns = how.pop("values", {})
    fields = folder / name
    if not fields.exists():
        write_fields(fields, shapes, **columns)
    (folder / "plan.toml").write_text(plan)
    return Asked(fields, folder / "plan.toml", folder / out, **how)


def table_in(folder, name):
    if (folder / "parts").exists():
        parts = sorted((folder / "parts").glob("*.gpkg"))
        return pd.concat([gpd.read_file(part, layer=name) for part in parts], ignore_index=True)
    parts = sorted((folder / name).glob("*.parquet"))
    read = gpd.read_parquet if name in {FIELDS, FIELD_STRIPS, FIELD_HEADLANDS} else pd.read_parquet
    return pd.concat([read(part) for part in parts], ignore_index=True)


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    folder = tmp_path_factory.mktemp("many")
    return folder / "out", lay_many(asked_in(folder))


def test_every_field_is_told_once_and_a_bad_one_stops_no_other(laid):
    folder, results = laid
    table = table_in(folder, FIELDS)
    assert table["number"].tolist() == [1, 2, 3, 4, 5, 6, 7]
    assert table["field"].tolist() == list(SHAPES)
    verdicts = dict(zip(table["field"], table["verdict"], strict=True))
    assert [name for name, one in verdicts.items() if one == "refused"] == BAD
    page = results.page.read_text(encoding="utf-8")
    assert '<h1 dir="auto">7 fields of fields.gpkg</h1>' in page
    area = format_area(results.sums.totals["area_m2"], "us")
    told = f"3 refused; 4 laid, with a warning. {area} in all, by the plan Many (plan.toml)."
    assert f'<p dir="auto">{told}</p>' in page
    reasons = dict(zip(table["field"], table["reason"], strict=True))
    assert reasons["nothing"] == "has no shape; draw its boundary, or leave it out with --where"
    assert reasons["too small"].startswith("has 400 ft2 at ")
    assert results.count == 7
    assert results.sums.verdicts["refused"] == len(BAD)


def test_a_field_is_laid_as_lay_lays_it(laid):
    """The figures of a field are those of `striplay.lay` on it alone."""
    folder, _ = laid
    table, strips = table_in(folder, FIELDS), table_in(folder, FIELD_STRIPS)
    boundary = gpd.read_file(folder.parent / "fields.gpkg").iloc[[1]]
    layout = striplay.lay(read_plan(folder.parent / "plan.toml"), boundary)
    line = table.iloc[1]
    for part, area_m2 in layout.accounts["areas_m2"].items():
        assert line[f"{part}_m2"] == pytest.approx(area_m2, abs=1e-5)
    mine = strips[strips["number"] == 2].reset_index(drop=True)
    for column in ("strip", "piece", "set", "crop", "rows", "whole"):
        assert mine[column].tolist() == layout.strips[column].tolist(), column
    assert mine["area_m2"].to_numpy() == pytest.approx(layout.strips["area_m2"].to_numpy())
    there = layout.strips.to_crs(4326).geometry.to_numpy()
    assert shapely.hausdorff_distance(mine.geometry.to_numpy(), there).max() < 1e-9
    crops = table_in(folder, FIELD_CROPS)
    corn = crops[(crops["number"] == 2) & (crops["crop"] == "corn")].iloc[0]
    assert corn["seeds"] == layout.accounts["seed_to_buy"]["corn"]["seeds"]


def test_areas_of_each_field_add_up(laid):
    table = table_in(laid[0], FIELDS).dropna(subset=["area_m2"])
    parts = table[["strips_m2", "headland_m2", "obstacles_m2", "leftover_m2"]].sum(axis=1)
    assert len(table) == 4
    assert parts.to_numpy() == pytest.approx(table["area_m2"].to_numpy(), rel=1e-9)


def test_tables_hold_the_columns_described(laid):
    for name in (FIELDS, FIELD_HEADLANDS, FIELD_STRIPS, FIELD_CROPS, FIELD_NOTICES):
        described = [one.name for one in columns_of(name) if not one.only]
        assert [one for one in table_in(laid[0], name).columns if one != "geometry"] == described
    for name in (SUMMARY_CSV, CROPS_CSV):
        listed = pd.read_csv(laid[0] / name)
        assert set(listed.columns) <= {one.name for one in columns_of(name)}
    summary = pd.read_csv(laid[0] / SUMMARY_CSV)
    assert summary["field"].tolist() == [*list(SHAPES)[:-1], "'=1+1"]  # no formula


def test_geopackage_holds_the_same(laid, tmp_path):
    lay_many(asked_in(tmp_path, files="geopackage"))
    for name in (FIELDS, FIELD_STRIPS, FIELD_CROPS):
        mine, theirs = table_in(tmp_path / "out", name), table_in(laid[0], name)
        assert mine["number"].tolist() == theirs["number"].tolist()
        assert mine.iloc[:, -2].astype(str).tolist() == theirs.iloc[:, -2].astype(str).tolist()


def test_parquet_fields_give_the_same(laid, tmp_path):
    lay_many(asked_in(tmp_path, name="fields.parquet"))
    mine, theirs = table_in(tmp_path / "out", FIELDS), table_in(laid[0], FIELDS)
    assert mine["area_m2"].tolist() == pytest.approx(theirs["area_m2"].tolist(), nan_ok=True)
    assert mine["verdict"].tolist() == theirs["verdict"].tolist()


def test_columns_change_the_plan_field_by_field(tmp_path):
    shapes = {name: SHAPES[name] for name in ("plain", "Ünïcode 麦", "=1+1", HOSTILE)}
    values = {
        "direction.heading": ["90", None, "north", ""],
        "seed": ["", "30000 seeds/acre", None, "many"],
        "soil.ph": [6.5, 6.6, 6.7, 6.8],
    }
    wishes = Wishes(columns=(("seed", "crops.corn.rate"),))
    lay_many(asked_in(tmp_path, shapes, values=values, wishes=wishes, name="f.parquet"))
    table, crops = table_in(tmp_path / "out", FIELDS), table_in(tmp_path / "out", FIELD_CROPS)
    assert table["heading_deg"].tolist()[:2] == [90.0, 0.0]
    assert table["verdict"].tolist()[2] == "refused"
    assert table["reason"].tolist()[2] == (
        'direction.heading: "north" must be "best", or degrees clockwise from true north, 0 up to '
        '180; for example heading = 90 (column "direction.heading")'
    )
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    drawn = re.findall('<tr data-verdict="refused" class="(.*?)">', page)
    assert drawn == ["grave drawn"] * 2  # their shapes are good
    assert table["reason"].tolist()[3] == (  # each word of it once, none of it twice
        'crops.corn.rate: "many" is not a seed rate; write a number and a unit, such as '
        '"34000 seeds/acre" (column "seed")'
    )
    corn = crops[crops["crop"] == "corn"].set_index("number")
    per_m = corn["seeds"] / corn["row_length_m"]
    assert per_m[2] / per_m[1] == pytest.approx(30 / 34, rel=1e-3)


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ((("name", "crops.corn.rat"),), 'crops.corn.rat is no key of a plan: "rat"'),
        ((("nam", "title"),), 'has no column "nam" for --column, did you mean "name"?'),
        ((("name", "crops.maize.rate"),), 'names none of the plan\'s crops: "maize"'),
        ((("name", "strips[3].rows"),), "names no table of the plan: it has 2 [[strips]]"),
        ((("name", "field.boundary"),), "is in no table that a field may change"),
        ((("name", "direction.along"),), "direction.along names a file, which no column may"),
        ((("name", "title"), ("name", "title")), "has two columns for title, "),
    ],
)
def test_keys_and_columns_that_are_none_are_refused_at_once(tmp_path, columns, said):
    with pytest.raises(PlanError) as refused:
        lay_many(asked_in(tmp_path, wishes=Wishes(columns=columns)))
    assert said in str(refused.value)
    assert str(refused.value).startswith("fields.gpkg: ")
    assert not (tmp_path / "out").exists()


def test_a_column_that_is_a_key_in_other_letters_is_not_passed_over(tmp_path):
    values = {"Crops.Corn.Rate": ["30000 seeds/acre"] * len(SHAPES), "Soil.pH": 6.5}
    with pytest.raises(PlanError) as refused:
        lay_many(asked_in(tmp_path, values=values))
    (fault,) = refused.value.faults
    assert fault == (
        'column "Crops.Corn.Rate": keys are in small letters; write "crops.corn.rate", or name '
        "the column with --column"
    )


def test_what_is_made_up_is_told_once_and_is_no_warning_of_each_field(laid, tmp_path):
    """Of a plan that was begun and not yet filled in, each field would have no other reason."""
    plan = PLAN.replace("[machines.planter]", "[machines.planter]\nexample = true")
    results = lay_many(asked_in(tmp_path, {"plain": SHAPES["plain"]}, plan=plan))
    (told,) = [one.text for one in results.template.common if one.kind == "example"]
    assert told.startswith('"planter" is made up')
    alone = table_in(laid[0], FIELDS).set_index("field").loc["plain"]
    assert table_in(tmp_path / "out", FIELDS)["reason"].tolist() == [alone["reason"]]
    assert results.page.read_text(encoding="utf-8").count("is made up") == 1


def test_a_column_that_looks_like_a_key_and_sets_nothing_is_told(tmp_path):
    values = {"crop.corn.rate": ["", None], "soil.ph": 6.5, "Area calc.": 1.0, "asked.of": 0}
    wishes = Wishes(columns=(("asked.of", "direction.heading"),))
    shapes = {name: SHAPES[name] for name in ("plain", "nothing")}
    told = lay_many(asked_in(tmp_path, shapes, values=values, wishes=wishes, name="f.parquet"))
    slip, own = (notice.text for notice in told.notices)
    assert slip == (
        'f.parquet: column "crop.corn.rate" sets nothing: it is in no table that a field may '
        'change, did you mean "crops"?'
    )
    assert own.startswith('f.parquet: column "soil.ph" sets nothing: it is in no table')


FT_M = 0.3048
SIDES = {  # squares of 1,000 ft
    "west": square(1000),
    "east": translate(square(1000), 900 * FT_M),  # shares 100 ft x 1,000 ft with it
    "beside": translate(square(1000), 0, 997 * FT_M),  # 3 ft: less than boundaries are drawn to
    "far": translate(square(1000), 9000),
}


def test_fields_that_overlap_and_names_given_twice_are_told_once(tmp_path):
    """100 ft x 1,000 ft are 100,000 / 43,560 = 2.30 acres."""
    results = lay_many(asked_in(tmp_path, SIDES))
    (told,) = results.notices
    assert told.text == (
        'fields.gpkg: fields overlap: 1 "west" and 2 "east" by 2.30 ac; ground of both is laid, '
        "counted and seeded twice: see whose it is"
    )
    place = PLANE.to_plane(np.array([told.place]))[0]
    assert place == pytest.approx([450 * FT_M, 0], abs=60 * FT_M)
    page = results.page.read_text(encoding="utf-8")
    assert page.count("Fields overlap: 1 &quot;west&quot;") == 1
    assert page.count("; also overlaps 1 &quot;west&quot; by 2.30 ac; ground of both") == 1
    table, each = (table_in(tmp_path / "out", name) for name in (FIELDS, FIELD_NOTICES))
    shared = each[each["text"].str.startswith("overlaps ")]
    assert shared[["number", "kind", "severity"]].to_numpy().tolist() == [
        [1, "boundary", "mind"], [2, "boundary", "mind"],
    ]  # fmt: skip
    assert shared["text"].tolist()[0] == (
        'overlaps 2 "east" by 2.30 ac; ground of both is laid, counted and seeded twice: see '
        "whose it is"
    )
    assert shared["longitude"].tolist() == pytest.approx([told.place[0]] * 2)
    assert (table["verdict"][:2] == "laid, with a warning").all()
    summary = pd.read_csv(tmp_path / "out" / SUMMARY_CSV)
    assert (summary["notices"][:2] == summary["notices"][2] + 1).all()  # the squares are alike
    assert lay_many(asked_in(tmp_path, SIDES)).notices == (told,)  # of an ended run, going on

    apart = {str(place): translate(square(1000), 9000 * place) for place in range(4)}
    calls = {"called": ["north", "south", "north", "north"]}
    asked = asked_in(tmp_path, apart, values=calls, name="same.gpkg", out="same",
                     wishes=Wishes(named_by="called"))  # fmt: skip
    (told,) = lay_many(asked).notices
    each = table_in(tmp_path / "same", FIELD_NOTICES)
    called = each[each["text"].str.startswith("has the name of ")]
    assert called["number"].tolist() == [1, 3, 4]
    assert called["text"].tolist()[1] == (
        "has the name of 1 and 4 too; tell them apart by number, or with --id"
    )
    assert told.text == (
        'same.gpkg: the same name is given to several fields: "north" to 1, 3 and 4; tell them '
        "apart by number, or name another column with --id"
    )


def test_a_field_in_the_hole_of_another_overlaps_none():
    hole = shapely.Polygon(square(2000).exterior, [square(1000).exterior])
    shapes = PLANE.geometries_to_lonlat(np.array([hole, square(1000), square(1100)], dtype=object))
    one, other, area_m2, _ = overlaps(shapes)
    assert list(zip(one, other, strict=True)) == [(0, 2), (1, 2)]
    assert area_m2 / FT_M**2 == pytest.approx([1100**2 - 1000**2, 1000**2], rel=1e-3)


def test_too_many_fields_are_not_held_beside_each_other(laid):
    shared = Shared(laid[1].template, most=2)
    shape = shapely.geometry.mapping(PLANE.geometries_to_lonlat(square(900)))
    for number in (1, 2):
        assert shared.notices() == []
        shared.add(Feature(number, {"name": f"field {number}"}, shape))
    shared.add(Feature(3, {"name": "field 3"}, shape))
    (told,) = shared.notices()
    assert told.text.endswith("has more than 2 fields; whether some overlap, or share a name, was "
                              "not looked for")  # fmt: skip


@pytest.mark.parametrize(("pairs", "more"), [(5, False), (6, True)])
def test_of_many_pairs_the_first_are_told(laid, pairs, more):
    shared = Shared(laid[1].template)
    for number in range(2 * pairs):
        shape = PLANE.geometries_to_lonlat(translate(square(900), 500 * (number % pairs)))
        values = {"name": f"field {number % pairs}"}
        shared.add(Feature(number + 1, values, shapely.geometry.mapping(shape)))
    names, ground = shared.notices()
    assert names.text.count("field ") == 5
    assert ground.text.count(" by ") == 5
    for told in (names, ground):
        assert (" and 1 more; " in told.text) == more


@pytest.mark.parametrize(("copies", "more"), [(4, False), (5, True)])
def test_a_field_that_is_there_very_often_is_not_held_against_all_the_others(
    laid, monkeypatch, copies, more
):
    """Held at six pairs in place of a thousand, measured two at a time."""
    monkeypatch.setattr("striplay.many.shared.MOST_OVERLAPS", 6)
    monkeypatch.setattr("striplay.many.shared.PAIRS_AT_A_TIME", 2)
    shared = Shared(laid[1].template)
    shape = shapely.geometry.mapping(PLANE.geometries_to_lonlat(square(900)))
    for number in range(1, copies + 1):
        shared.add(Feature(number, {"name": f"field {number}"}, shape))
    (told,) = shared.notices()
    count = " and 2 more, and others that were not looked for" if more else " and 1 more"
    assert f"{count}; ground of both" in told.text


def test_what_is_no_place_on_earth_is_no_neighbor(laid):
    shared = Shared(laid[1].template)
    for number, shape in enumerate((shapely.box(0, 1e3, 1, 1e4), shapely.box(0, 89.5, 1, 90)) * 2):
        shared.add(Feature(number, {}, shapely.geometry.mapping(shape)))
    (told,) = shared.notices()
    assert told.text.startswith("fields.gpkg: fields overlap: 1 and 3 by ")


def test_a_field_without_room_for_a_strip_is_not_called_by_the_plans_title(tmp_path):
    narrow = shapely.box(-4, -200, 4, 200)
    plan = PLAN.replace("heading = 0", "heading = 90")
    lay_many(asked_in(tmp_path, {"narrow": narrow}, plan=plan))
    (reason,) = table_in(tmp_path / "out", FIELDS)["reason"]
    assert reason.startswith("no strip can be laid at a heading of 90.00 degrees: ")


def forged(change):
    """Change the entry of a ledger's part."""

    def forge(path):
        entry = json.loads(gzip.decompress(path.read_bytes()))
        change(entry)
        path.write_bytes(gzip.compress(json.dumps(entry).encode()))

    return forge


@pytest.mark.parametrize(
    "damage",
    [
        forged(lambda entry: entry["fields"][0].update(area_m2="forged")),
        forged(lambda entry: entry["fields"][0].update(number=501)),
        forged(lambda entry: entry["fields"][0].update(verdict="forged")),
        forged(lambda entry: entry["fields"][0].pop("reason")),
        forged(lambda entry: entry["fields"][0].update(area_m2=float("nan"))),
        forged(lambda entry: entry["fields"][0].update(strips=10**400)),
        forged(lambda entry: entry["fields"][0].update(area_m2=10**400)),
        forged(lambda entry: entry["fields"][0].update(number=entry["fields"][1]["number"])),
        forged(lambda entry: entry["crops"][0].update(strips=True)),
        forged(lambda entry: entry["pictures"][0].update(width="forged")),
        forged(lambda entry: entry["pictures"].pop()),
        forged(lambda entry: entry["verdicts"].update(laid=500)),
        forged(lambda entry: entry.clear()),
        lambda path: path.write_bytes(b"forged"),
        lambda path: path.write_bytes(path.read_bytes()[:-20]),
        lambda path: path.write_bytes(gzip.compress(b"[" * 100_000)),
        lambda path: path.write_bytes(gzip.compress(bytes(60_000_000))),
    ],
)
def test_a_damaged_or_foreign_ledger_is_refused_in_words(laid, tmp_path, damage):
    shutil.copytree(laid[0].parent, tmp_path / "copy")
    folder = tmp_path / "copy"
    entry = folder / "out" / ".striplay-run" / "part-000001.json.gz"
    damage(entry)
    before = (folder / "out" / "index.html").read_bytes()
    with pytest.raises(OutputError) as refused:
        lay_many(Asked(folder / "fields.gpkg", folder / "plan.toml", folder / "out"))
    assert str(refused.value) == (
        f"{entry}: is damaged, or not of this run; remove it, and run the same command again"
    )
    assert (folder / "out" / "index.html").read_bytes() == before


def test_an_entry_of_a_ledger_is_unpacked_up_to_its_limit(laid, tmp_path, monkeypatch):
    shutil.copytree(laid[0].parent, tmp_path / "copy")
    folder = tmp_path / "copy"
    entry = folder / "out" / ".striplay-run" / "part-000001.json.gz"
    size = len(gzip.decompress(entry.read_bytes()))
    asked = Asked(folder / "fields.gpkg", folder / "plan.toml", folder / "out")
    monkeypatch.setattr("striplay.files.ledger.MAX_LEDGER_BYTES", size)
    assert lay_many(asked).count == 7
    monkeypatch.setattr("striplay.files.ledger.MAX_LEDGER_BYTES", size - 1)
    with pytest.raises(OutputError, match="is damaged, or not of this run"):
        lay_many(asked)


def test_what_is_of_one_field_is_refused(tmp_path):
    with pytest.raises(PlanError) as refused:
        lay_many(asked_in(tmp_path, plan="gate = [-93.5, 42.0]\n" + PLAN))
    told = (
        "gate: is a place in one field; take it out, or set it by a column that holds such "
        "places, with --column COLUMN=gate"
    )
    assert str(refused.value) == f"plan.toml: {told}"


def test_a_gate_that_a_column_sets_is_that_of_each_field(tmp_path):
    """The plan's own gate lies in another field: a field without a cell has none."""
    gate = [float(one) for one in PLANE.to_lonlat(np.array([[0.0, -500.0]]))[0]]
    plan = tmp_path / "plan.toml"
    plan.write_text("gate = [-93.5, 42.0]\n" + PLAN)
    wishes = Wishes(columns=(("entry", "gate"),))
    template = read_template(plan, "f.gpkg", ("name", "entry"), wishes, lambda _: "EPSG:4326")
    assert template.plan_of({"entry": str(gate)}).plan.gate == pytest.approx(gate)
    assert template.plan_of({"entry": ""}).plan.gate is None


def test_a_condition_that_chooses_no_field_is_refused_and_nothing_is_written(tmp_path):
    with pytest.raises(BoundaryError) as refused:
        lay_many(asked_in(tmp_path, where="name = 'none'"))
    assert str(refused.value) == (
        "fields.gpkg: where = \"name = 'none'\" chooses none of its features; choose others"
    )
    assert not (tmp_path / "out").exists()


def test_a_condition_chooses_fields_and_numbers_stay(tmp_path):
    lay_many(asked_in(tmp_path, where="name LIKE 'p%' OR name = '=1+1'"))
    assert table_in(tmp_path / "out", FIELDS)["number"].tolist() == [1, 7]
    with pytest.raises(BoundaryError, match='names no column "nam"'):
        lay_many(asked_in(tmp_path, where="nam = 'a'"))


def test_a_folder_of_something_else_is_left_alone(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("work")
    with pytest.raises(OutputError, match="is not empty and was not begun by striplay many"):
        lay_many(asked_in(tmp_path))
    assert [one.name for one in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_a_run_begun_with_another_plan_is_refused(laid):
    folder = laid[0].parent
    before = (laid[0] / "summary.csv").read_bytes()
    (folder / "other.toml").write_text(PLAN.replace("heading = 0", "heading = 10"))
    with pytest.raises(OutputError, match="was begun with another plan or columns; run it as"):
        lay_many(Asked(folder / "fields.gpkg", folder / "other.toml", laid[0]))
    assert (laid[0] / "summary.csv").read_bytes() == before


def contents(folder):
    return {
        str(one.relative_to(folder)): one.read_bytes()
        for one in sorted(folder.rglob("*"))
        if one.is_file()
    }


class Stopped(BaseException):
    pass


def test_an_ended_run_goes_on_and_nothing_is_lost_or_twice(laid, tmp_path, monkeypatch):
    """Ended after each field in turn, in parts of two, a run comes to the same as undisturbed."""
    monkeypatch.setattr(run, "FIELDS_A_PART", 2)
    lay_many(asked_in(tmp_path, out="whole"))
    fresh = []

    def stop_at(stop):
        def tell(progress):
            if progress.fresh == stop:
                raise Stopped

        return tell

    for stop in (1, 2, 3, 1):
        with pytest.raises(Stopped):
            lay_many(asked_in(tmp_path), tell=stop_at(stop))
    result = lay_many(asked_in(tmp_path), tell=fresh.append)
    assert fresh[0].done > 1  # what was there was not laid again
    assert result.count == 7
    again = lay_many(asked_in(tmp_path))
    assert again.fresh == 0
    ours, theirs = contents(tmp_path / "out"), contents(tmp_path / "whole")
    assert ours.keys() == theirs.keys()
    assert [name for name in ours if ours[name] != theirs[name]] == []


def test_what_is_left_half_written_is_cleared(laid, tmp_path, monkeypatch):
    monkeypatch.setattr(run, "FIELDS_A_PART", 4)
    asked = asked_in(tmp_path)
    lay_many(asked)
    whole = contents(tmp_path / "out")
    own = tmp_path / "out" / ".striplay-run"
    (own / "part-000002.json.gz").unlink()
    (own / "part-000003.json.gz.partial").write_bytes(b"half")
    (tmp_path / "out" / "fields" / "part-000002.parquet").write_bytes(b"half")
    assert lay_many(asked).fresh == 3
    assert contents(tmp_path / "out") == whole


def test_a_file_of_the_users_own_is_left_as_it_is(laid, tmp_path):
    """What ends as a half-written file does is cleared in the ledger's own folder alone."""
    asked = asked_in(tmp_path, {"plain": square(600)})
    lay_many(asked)
    mine = [tmp_path / "out" / name for name in ("notes.partial", "fields/notes.partial")]
    for path in mine:
        path.parent.mkdir(exist_ok=True)
        path.write_text("mine")
    assert lay_many(asked).fresh == 0
    assert [path.read_text() for path in mine if path.exists()] == ["mine", "mine"]


def test_of_blocks_that_run_several_ways_no_one_heading_or_offset_is_told(tmp_path):
    """Blocks that run one way tell it, as a field of one block does."""
    write_shapes(tmp_path, shapely.box(-500, -500, 0, 500))
    table = '[[blocks]]\nfile = "cut.geojson"\nheading = {}\n'
    for heading, told in ((30, None), (90, 90.0)):
        strips = f"{STRIPS}{table.format(heading)}"
        layout = lay_on(tmp_path, square(1200), strips=strips, direction="heading = 90")
        assert len(layout.laid.blocks) == 2
        figures = field._figures(layout)
        assert figures["heading_deg"] == told
        if told is None:
            assert figures["offset_m"] is None


def test_diesel_is_told_in_the_plans_units_and_seed_as_rounded(laid):
    """A U.S. gallon is 3.785411784 L (NIST Handbook 44, appendix C)."""
    totals = {**laid[1].sums.totals, "hours_likely": 12.0, "fuel_l": 3785.411784}
    sums = replace(laid[1].sums, totals=totals)
    for units, said in (("us", "1,000 gal"), ("metric", "3,785 L")):
        template = laid[1].template
        tables = {**template.tables, "units": units}
        template = replace(template, tables=tables, mark=units, driven=True)
        lines = report_of(replace(laid[1], template=template, sums=sums))
        assert f"hours: 12, diesel {said}" in lines
        (corn,) = [line for line in lines if line.startswith("corn: ")]
        assert corn.endswith(" units of seed, rounded up field by field")


def test_names_are_text_on_the_page(laid):
    page = (laid[0] / "index.html").read_text(encoding="utf-8")
    assert "<img" not in page
    assert "&lt;/script&gt;&lt;img src=x onerror=alert(1)&gt;&quot;&#x27;&amp;" in page
    assert page.count("<tr data-verdict") == 7
    assert page.count("<svg viewBox") == 4 + 2  # of fields laid, and of the key


def test_a_number_of_a_ledger_is_text_on_the_page(laid):
    """A ledger may come from someone else."""
    line = dict.fromkeys(("area_m2", "heading_deg", "strips", "cost_per_year"))
    line |= {"number": HOSTILE, "field": "x", "verdict": "refused", "reason": ""}
    page = FieldsPage("Many", [], [], "us", [], {"refused": 1}, [line], [None], [], driven=False)
    made = fields_page(page).decode()
    assert "<img" not in made
    assert 'data-head="Number">&lt;/script&gt;&lt;img' in made


def test_pages_are_split_and_the_gravest_come_first(tmp_path, monkeypatch):
    monkeypatch.setattr("striplay.many.index.MOST_FIELDS_ON_PAGE", 3)
    lay_many(asked_in(tmp_path))
    pages = [tmp_path / "out" / name for name in ("index.html", "pages/2.html", "pages/3.html")]
    texts = [page.read_text(encoding="utf-8") for page in pages]
    assert [text.count("<tr data-verdict") for text in texts] == [3, 3, 1]
    assert texts[0].count('<tr data-verdict="refused"') == 3
    assert 'href="pages/2.html"' in texts[0]
    assert 'href="../index.html"' in texts[2]


def test_operations_are_driven_where_asked(tmp_path):
    shapes = {"plain": square(600), "nothing": None}
    lay_many(asked_in(tmp_path, shapes, wishes=Wishes(driven=True)))
    boundary = gpd.read_file(tmp_path / "fields.gpkg").iloc[[0]]
    layout = striplay.lay(read_plan(tmp_path / "plan.toml"), boundary)
    jobs = table_in(tmp_path / "out", FIELD_JOBS)
    told = layout.accounts["operations"]
    assert jobs["name"].tolist() == [one["name"] for one in told]
    assert jobs["verdict"].tolist() == [one["verdict"] for one in told]
    hours = table_in(tmp_path / "out", FIELDS)["hours_likely"].tolist()
    assert hours[0] == pytest.approx(sum(one["hours_likely"] for one in told), abs=1e-5)


def test_what_is_of_the_plan_alone_is_found_once(tmp_path, monkeypatch):
    """Sets and season by plan, and the weather's file once, whatever columns make of the plan."""
    read, found = [], []

    def counted(name, into):
        original = getattr(import_module(name.rpartition(".")[0]), name.rpartition(".")[2])
        monkeypatch.setattr(name, lambda *of, **how: into.append(1) or original(*of, **how))

    counted("striplay.growing.read_weather", read)
    counted("striplay.flow.sections_of", found)
    days = "".join(f"2026-0{month}-0{day},50,70\n" for month in (5, 6) for day in range(1, 8))
    (tmp_path / "weather.csv").write_text(f"day,least,greatest\n{days}")
    plan = f'{PLAN}\n[weather]\nfile = "weather.csv"\n'
    shapes = {str(place): translate(square(600), 700 * place) for place in range(3)}
    values = {"direction.heading": [0, 0, 10]}
    asked = asked_in(tmp_path, shapes, plan=plan, values=values, name="f.parquet")
    assert lay_many(asked).laid == {"can't be done": 0, "laid, with a warning": 3, "laid": 0}
    assert (len(read), len(found)) == (1, 2)


def test_a_fault_of_our_own_stops_one_field(laid, monkeypatch):
    template = laid[1].template
    monkeypatch.setattr("striplay.many.field.lay_on_ground", lambda *_, **__: 1 / 0)
    shape = shapely.geometry.mapping(PLANE.geometries_to_lonlat(square(900)))
    outcome = lay_feature(template, Feature(8, {"name": "x"}, shape))
    assert outcome.verdict == "refused"
    assert "a fault of striplay's own (ZeroDivisionError)" in outcome.reason


def test_workers_give_the_same_and_a_killed_one_costs_no_field(laid, tmp_path):
    """One of two processes is killed as the first outcome comes."""
    killed = []

    def lay(template, take):
        kept = crew._Crew(template, take)
        for _ in range(2):
            kept.hire()
        try:
            for outcome in kept.work():
                if not killed:
                    killed.append(kept.workers[0].process.pid)
                    kept.workers[0].process.kill()
                yield outcome
        finally:
            kept.dismiss()

    lay_many(asked_in(tmp_path), lay=lay)
    assert killed
    ours, theirs = contents(tmp_path / "out"), contents(laid[0])
    del ours[".striplay-run/run.json"], theirs[".striplay-run/run.json"]
    assert [name for name in theirs if ours[name] != theirs[name]] == []


def test_a_field_that_ends_its_workers_is_refused(laid, tmp_path, monkeypatch):
    monkeypatch.setattr(crew, "_work", deadly)
    shapes = {name: SHAPES[name] for name in ("plain", "=1+1")}
    lay_many(asked_in(tmp_path, shapes), jobs=2)
    table = table_in(tmp_path / "out", FIELDS)
    told = dict(zip(table["field"], table["reason"], strict=True))
    assert told["=1+1"] == "its worker process was ended, twice; did memory run out?"
    alone = table_in(laid[0], FIELDS).set_index("field").loc["plain"]
    verdicts = dict(zip(table["field"], table["verdict"], strict=True))
    assert verdicts == {"plain": alone["verdict"], "=1+1": "refused"}
    assert alone["verdict"] != "refused"
    assert told["plain"] == alone["reason"]


@pytest.mark.skipif(sys.platform != "linux", reason="other systems do not bound a process's data")
def test_a_field_that_takes_too_much_memory_is_refused_and_the_rest_go_on(
    laid, tmp_path, monkeypatch
):
    monkeypatch.setattr(crew, "_work", hungry)
    shapes = {name: SHAPES[name] for name in ("=1+1", "plain")}
    lay_many(asked_in(tmp_path, shapes), jobs=1)
    table = table_in(tmp_path / "out", FIELDS)
    told = dict(zip(table["field"], table["reason"], strict=True))
    alone = table_in(laid[0], FIELDS).set_index("field").loc["plain"]
    assert told == {
        "=1+1": "takes more than 2 GB of memory; lay it alone with striplay lay",
        "plain": alone["reason"],
    }
    assert dict(zip(table["field"], table["verdict"], strict=True))["plain"] == alone["verdict"]


@pytest.mark.parametrize("error", [MemoryError(), shapely.GEOSException("std::bad_alloc")])
def test_memory_that_ran_out_is_told_whichever_library_asked_for_it(laid, monkeypatch, error):
    monkeypatch.setattr("striplay.many.field.lay_on_ground", Mock(side_effect=error))
    shape = shapely.geometry.mapping(PLANE.geometries_to_lonlat(square(900)))
    outcome = lay_feature(laid[1].template, Feature(8, {"name": "x"}, shape))
    assert (outcome.verdict, outcome.reason) == ("refused", "memory ran out")


def test_a_worker_that_has_laid_many_is_replaced(tmp_path, monkeypatch):
    """Held at two fields in place of 5,000."""
    monkeypatch.setattr(crew, "MOST_FIELDS_A_WORKER", 2)
    hired, hire = [], crew._Crew.hire
    monkeypatch.setattr(crew._Crew, "hire", lambda self: hired.append(self) or hire(self))
    shapes = {str(at): SHAPES["too small"] for at in range(3)}
    results = lay_many(asked_in(tmp_path, shapes), jobs=1)
    assert (results.count, len(hired)) == (3, 2)


def test_no_more_parts_are_open_than_may_be(tmp_path, monkeypatch):
    """Held at one part of one field in place of four of 500: a slow field holds the next back."""
    monkeypatch.setattr(run, "FIELDS_A_PART", 1)
    monkeypatch.setattr(run, "MOST_OPEN_PARTS", 1)
    ahead = []

    def lay(template, take):
        first = take()
        ahead.append(take())
        yield lay_feature(template, first)
        second = take()
        ahead.append(second.number)
        yield lay_feature(template, second)

    results = lay_many(asked_in(tmp_path, {"a": square(20), "b": square(20)}), lay=lay)
    assert (ahead, results.count) == ([None, 2], 2)


def test_of_many_refused_fields_the_first_are_told(laid, monkeypatch):
    """Held at two in place of twenty; there are three."""
    assert len(laid[1].sums.refused) == 3
    monkeypatch.setattr(index, "MOST_TOLD_FIELDS", 2)
    again = lay_many(asked_in(laid[0].parent))
    assert (again.fresh, again.sums.refused) == (0, laid[1].sums.refused[:2])
    assert "and 1 more, in summary.csv" in report_of(again)


def test_a_field_that_takes_too_long_is_refused_by_one_process_too(tmp_path, monkeypatch):
    monkeypatch.setattr(crew, "_work", endless)
    monkeypatch.setattr(crew, "MOST_FIELD_S", 0.2)
    lay_many(asked_in(tmp_path, {"plain": square(600)}), jobs=1)
    (reason,) = table_in(tmp_path / "out", FIELDS)["reason"]
    assert reason == "took longer than 0 minutes; lay it alone with striplay lay"


def endless(pipe, template):
    """Work at a field for ever."""
    time.sleep(600)


def deadly(pipe, template):
    """Work as a worker does, but end as one that is killed where a name is a formula."""
    work_but(lambda: os._exit(9), pipe, template)


def hungry(pipe, template):
    """Work as a worker does, but ask for 2.4 GB where a name is a formula."""

    def ask(*_, **__):
        np.empty(300_000_000)

    def lay_much():
        field.locate = ask

    work_but(lay_much, pipe, template)


WORK, LOCATE = crew._work, field.locate


def work_but(first, pipe, template):
    """Work as a worker does, but do something first where a name is a formula."""

    def lay(template, feature):
        field.locate = LOCATE
        if template.name_of(feature.number, feature.values) == "=1+1":
            first()
        return lay_feature(template, feature)

    crew.lay_feature = lay
    WORK(pipe, template)
