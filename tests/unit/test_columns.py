"""Columns: each table holds those that are described, in that order and of that type."""

import csv

import numpy as np
import pandas as pd
import pytest
import shapely
from fields import AROUND, SHED, STRIPS, lay_on, square, write_shapes

import striplay
from striplay import each_pass, tables
from striplay.column import Column
from striplay.columns import COLUMNS, LAYERS, TABLES, columns_of, order

OF_TYPE = {
    "whole number": pd.api.types.is_integer_dtype,
    "number": pd.api.types.is_float_dtype,
    "text": pd.api.types.is_string_dtype,
    "yes or no": pd.api.types.is_bool_dtype,
}


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tables")
    # a drill of unknown openers, so that rows may be empty
    shed = (
        f'{SHED}[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\n'
        '[crops.oats]\nplanter = "drill"\nharvester = "platform"\n'
    )
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "oats"\npasses = 1\n'
    return lay_on(folder, square(1320), shed=shed, strips=strips, headland=AROUND)


def test_a_column_is_described_once_a_table():
    for name in TABLES:
        names = [column.name for column in columns_of(name)]
        assert len(names) == len(set(names)) > 0
    assert {table for column in COLUMNS for table in column.tables} == set(TABLES)
    for column in COLUMNS:
        assert column.meaning.endswith(".")
        assert not (column.empty + column.only).endswith(".")


@pytest.mark.parametrize("name", LAYERS)
def test_a_table_has_the_columns_described(layout, name):
    table = getattr(layout, name)
    described = [column for column in columns_of(name) if not column.only]
    assert list(table.columns) == [*(column.name for column in described), "geometry"]
    for column in described:
        values = table[column.name]
        assert OF_TYPE[column.type](values), column.name
        assert not values.isna().any() or column.empty, column.name


def test_what_may_be_empty_is_empty_there(layout):
    oats = layout.strips["crop"] == "oats"
    assert layout.strips.loc[oats, "rows"].isna().all()
    assert not layout.strips.loc[~oats, "rows"].isna().any()
    headland = layout.passes["place"] == "headland"
    assert headland.any()
    for column in ("strip", "piece"):
        assert (layout.passes[column].isna() == headland).all()


def test_passes_are_numbered_by_operation_and_machine(layout):
    for _, passes in layout.passes.groupby(["operation", "machine"]):
        assert list(passes["number"]) == list(range(1, len(passes) + 1))


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", ["strips.csv", "strip_crops.csv", "operations.csv", "passes.csv"])
def test_a_csv_has_the_columns_described(layout, tmp_path, units, name):
    plan = layout.plan.model_copy(update={"units": units})
    striplay.save(striplay.lay(plan), tmp_path / "out", map_book=False)
    with (tmp_path / "out" / name).open() as file:
        heads = next(csv.reader(file))
    said = {"us": "with US units", "metric": "with metric units"}[units]
    described = [c.name for c in columns_of(name) if c.only in {"", said}]
    assert heads == described


def test_a_field_in_blocks_has_one_column_more(layout, tmp_path):
    assert "block" not in layout.strips
    x_m = square(1320).bounds[2]
    write_shapes(tmp_path, shapely.box(-x_m, -x_m, 0, x_m), name="half.geojson")
    blocks = '[[blocks]]\nfile = "half.geojson"\nheading = 45\n'
    split = lay_on(tmp_path, square(1320), headland=f"{AROUND}{blocks}")
    names = [one.name for one in columns_of("strips") if one.only != "with [trial]"]
    assert list(split.strips.columns) == [*names, "geometry"]
    assert set(split.strips["block"]) == {1, 2}


def test_a_trial_has_two_columns_more(layout, tmp_path):
    assert {"replicate", "treatment"}.isdisjoint(layout.strips)
    trial = f'{STRIPS}[trial]\nreplicates = 2\nchecks = ["soybean"]\nwidth = "40 ft"\n'
    with_checks = lay_on(tmp_path, square(660), strips=trial)
    names = [one.name for one in columns_of("strips") if one.name != "block"]
    assert list(with_checks.strips.columns) == [*names, "geometry"]


def test_a_new_column_of_passes_is_empty_where_it_is_not_given(layout, monkeypatch):
    before = each_pass.columns_of_passes
    given = {"depth_m": 0.05, "checked": True, "ends_at": "edge"}

    def with_more(ground, laid, judged, count):
        columns = before(ground, laid, judged, count)
        strips = judged.route.place == "strips"
        return columns | {name: np.where(strips, value, pd.NA) for name, value in given.items()}

    more = [
        Column("depth_m", "number", ("passes",), "How deep it works.", "on the headland"),
        Column("checked", "yes or no", ("passes",), "Whether it is.", "on the headland"),
        Column("ends_at", "text", ("passes",), "What ends it.", "on the headland"),
    ]
    monkeypatch.setattr("striplay.each_pass.columns_of_passes", with_more)
    monkeypatch.setattr("striplay.columns.COLUMNS", (*COLUMNS, *more))
    table = tables.pass_table(layout.ground, layout.laid, layout.operations.each)
    assert list(table.columns[-4:]) == [*given, "geometry"]
    strips = table["place"] == "strips"
    assert strips.any()
    assert not strips.all()
    for column in more:
        assert (table.loc[strips, column.name] == given[column.name]).all()
        assert (table[column.name].isna() == ~strips).all()
        assert OF_TYPE[column.type](table[column.name])


def test_a_column_that_is_not_described_is_refused():
    with pytest.raises(LookupError) as refusal:
        order("leftover", ["part", "depth_m"])
    assert str(refusal.value) == (
        "leftover: columns not given: ['area_m2']; not described: ['depth_m']"
    )
    assert [column.name for column in order("leftover", ["area_m2", "part"])] == ["part", "area_m2"]
