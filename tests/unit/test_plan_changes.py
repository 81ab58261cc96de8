"""Keys of a plan's text changed as a person would: comments and all else stay."""

import random
import tomllib

import pytest

from striplay.errors import PlanError
from striplay.files.plan_changes import with_changes

TEXT = """\
# why it is so
title = "Home"  # its name
[headland]
where = "around"
passes = 2      # of the planter
[direction]
heading = "best"  # the cheapest
[crops."sweet.corn"]
rate = "30000 seeds/acre"

[[strips]]
crop = "corn"
rows = 16

[[strips]]
crop = "soybean"
rows = 16

[cost]
aim = "money"
"""


def test_a_value_changes_and_every_other_line_stays():
    made = with_changes(TEXT, {"headland.passes": 3}, "p.toml")
    assert made == TEXT.replace("passes = 2", "passes = 3")


def test_a_comment_of_a_word_goes_with_it():
    made = with_changes(TEXT, {"direction.heading": 12.5}, "p.toml")
    assert made == TEXT.replace('heading = "best"  # the cheapest', "heading = 12.5")


def test_lists_of_tables_new_tables_and_keys_taken_away():
    strips = [{"crop": "soybean", "rows": 8}]
    asked = {
        "strips": strips, "season.swap": True, "headland.crop": "corn", "headland.where": None,
        "direction.offset": None, 'crops."sweet.corn".rate': "28000 seeds/acre",
    }  # fmt: skip
    before = tomllib.loads(TEXT)
    made = tomllib.loads(with_changes(TEXT, asked, "p.toml"))
    assert made == before | {
        "strips": strips,
        "season": {"swap": True},
        "headland": {"passes": 2, "crop": "corn"},
        "crops": {"sweet.corn": {"rate": "28000 seeds/acre"}},
    }
    assert "# why it is so" in with_changes(TEXT, asked, "p.toml")


def test_nothing_changed_is_the_same_text():
    assert with_changes(TEXT, {"headland.passes": 2, "gate": None}, "p.toml") == TEXT


@pytest.mark.parametrize(
    "key",
    ["", "a\nb", "a = 1 #", "[x] #", "a..b", ".", "a" * 500, "x\u202e.y", '"a', "a.b = 0\n[c"],
)
def test_what_is_no_key_is_refused(key):
    with pytest.raises(PlanError, match="is no key"):
        with_changes(TEXT, {key: 1}, "p.toml")


def test_all_that_lies_in_no_table_is_told_at_once():
    with pytest.raises(PlanError) as told:
        with_changes(TEXT, {"title.x": 1, "strips.crop": 2, "headland.passes": 1}, "p.toml")
    assert told.value.faults == (
        "title.x: lies in what is no table", "strips.crop: lies in what is no table",
    )  # fmt: skip


@pytest.mark.parametrize(
    "value",
    ["\x00", 'a"b\\', "\u2028", 10**30, float("inf"), [], {}, [[1], {"a": None}], "x" * 9999],
)
def test_a_value_of_any_kind_is_written_as_it_is_or_refused(value):
    try:
        made = with_changes(TEXT, {"title": value}, "p.toml")
    except PlanError:
        return
    assert tomllib.loads(made)["title"] == value


STEPS = (
    {"direction.heading": 12.5}, {"direction.heading": 13.0}, {"direction.offset": "2 m"},
    {"direction.offset": "3 m"}, {"headland.passes": 3, "title": "North"}, {"cost": None},
    {"strips": [{"crop": "corn", "rows": 8}]}, {"row_set.units": [{"crop": "corn", "units": 3}]},
    {"row_set": None}, {"direction.heading": "best"}, {"headland.where": None},
)  # fmt: skip


def test_a_text_held_from_change_to_change_changes_as_one_read_anew():
    draw = random.Random(3)  # noqa: S311 - the same for every run
    for _ in range(20):
        text, held = TEXT, {}
        for changes in draw.choices(STEPS, k=8):
            made = with_changes(text, changes, "p.toml", held)
            assert made == with_changes(text, changes, "p.toml")
            text = made


def test_a_drag_reads_the_comments_of_a_plan_once(monkeypatch):
    held = {}
    text = with_changes(TEXT, {"direction.heading": 1.0}, "p.toml", held)
    monkeypatch.setattr("striplay.files.plan_changes.tomlkit.parse", None)
    for heading_deg in (2.0, 3.0):
        text = with_changes(text, {"direction.heading": heading_deg}, "p.toml", held)
    assert "heading = 3.0" in text
