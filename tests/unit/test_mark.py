"""The mark of a plan on its field: the same for the same work, another for any other."""

import re
from dataclasses import replace

import pytest
import shapely
from fields import lay_on, square

import striplay
from striplay.mark import mark_of


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    return lay_on(tmp_path_factory.mktemp("mark"), square(1320))


def test_a_mark_is_eight_letters_and_stands_in_the_accounts(layout):
    assert re.fullmatch("[0-9a-f]{8}", layout.mark)
    assert layout.land_accounts["field"]["mark"] == layout.mark


def test_the_same_plan_and_field_have_the_same_mark(layout, tmp_path):
    elsewhere = lay_on(tmp_path, square(1320))
    assert elsewhere.mark == layout.mark
    assert striplay.lay(layout.plan).mark == layout.mark


@pytest.mark.parametrize(
    "change",
    [{"title": "Another"}, {"units": "metric"}, {"gate": (-93.5, 42.0)}],
    ids=lambda change: next(iter(change)),
)
def test_another_plan_has_another_mark(layout, change):
    assert mark_of(layout.plan.model_copy(update=change), layout.ground) != layout.mark


def test_a_crop_or_a_machine_changed_changes_the_mark(layout):
    for table in ("crops", "machines"):
        named = dict(getattr(layout.plan, table))
        name, old = next(iter(named.items()))
        field = "emergence" if table == "crops" else "speed_mps"
        named[name] = old.model_copy(update={field: 0.123})
        changed = layout.plan.model_copy(update={table: named})
        assert mark_of(changed, layout.ground) != layout.mark, table


def test_how_a_plan_is_shown_leaves_its_mark(layout):
    for change in ({"paper": "a4"}, {"ink": "gray"}, {"path": layout.plan.path / "elsewhere"}):
        assert mark_of(layout.plan.model_copy(update=change), layout.ground) == layout.mark


def test_a_corner_moved_by_a_foot_changes_the_mark(layout):
    outline = layout.ground.outline
    moved = shapely.transform(outline, lambda points: points + (points == points.max()) * 0.3)
    assert mark_of(layout.plan, replace(layout.ground, outline=moved)) != layout.mark
    pond = shapely.Point(0, 0).buffer(5)
    assert mark_of(layout.plan, replace(layout.ground, obstacles=pond)) != layout.mark


def test_a_line_that_rows_follow_counts_by_what_is_in_its_file(layout, tmp_path):
    assert mark_of(layout.plan, layout.ground, [b"one"]) != layout.mark
    assert mark_of(layout.plan, layout.ground, [b"one"]) != mark_of(
        layout.plan, layout.ground, [b"two"]
    )
    table = striplay.lay(layout.plan, layout.field)
    assert table.mark == layout.mark
