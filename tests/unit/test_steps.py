"""The flow in steps: what a step gives is kept, and the whole is what `lay` gives."""

import dataclasses

import numpy as np
import pytest
import shapely
from fields import (
    AROUND,
    FOOT_M,
    STRIPS,
    lay_on,
    square,
    write_line,
    write_plan_for,
    write_shapes,
)

import striplay
import striplay.files.shapes
import striplay.layout.headland
from striplay import steps
from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.search.headings import search
from striplay.section.systems import sections_of

ENDS = AROUND.replace("around", "ends")


@pytest.fixture
def plan(tmp_path):
    return read_plan(write_plan_for(tmp_path, square(1320), direction='heading = "best"'))


@pytest.mark.parametrize("headland", [AROUND, ENDS])
@pytest.mark.parametrize("heading_deg", [0.0, 37.5, 90.0])
def test_step_by_step_gives_what_lay_gives(tmp_path, headland, heading_deg):
    direction = f'heading = {heading_deg}\noffset = "best"'
    whole = lay_on(tmp_path, square(1320), headland=headland, direction=direction)
    land = steps.land_of(whole.plan, read_ground(whole.plan))
    choice = steps.choose(land, heading_deg)
    laid = steps.sweep(land, choice)
    figures = steps.count(land, laid)
    assert choice == whole.laid.blocks[0].choice
    for field in dataclasses.fields(figures):
        mine, theirs = getattr(figures, field.name), getattr(whole.figures, field.name)
        if isinstance(mine, np.ndarray) and mine.dtype.kind == "f":
            assert mine == pytest.approx(theirs, rel=1e-12, nan_ok=True)
    driven = steps.drive(land, laid)
    assert sum(len(one.line) for one in driven) == sum(len(one.line) for one in whole.driven)
    assert steps.usual(land) == whole.laid.usual


@pytest.mark.parametrize("offset", ["0 ft", "20 ft"])
def test_a_stated_offset_stays(tmp_path, offset):
    direction = f'heading = 15\noffset = "{offset}"'
    whole = lay_on(tmp_path, square(1320), direction=direction)
    choice = steps.choose(steps.land_of(whole.plan, read_ground(whole.plan)), 15)
    assert choice.offset_m == float(offset.split()[0]) * FOOT_M
    assert choice == whole.laid.blocks[0].choice


@pytest.mark.parametrize(
    ("direction", "blocks", "said"),
    [
        ('along = "key.geojson"', "", "direction: rows along a curve have no heading to choose"),
        ("pivot = [-93.5, 42.0]", "", "direction: rows along a curve have no heading to choose"),
        ("heading = 0", '[[blocks]]\nfile = "cut.geojson"\n', "blocks: steps take the field as a"),
    ],
)
def test_curves_and_blocks_are_refused(tmp_path, direction, blocks, said):
    write_line(tmp_path, shapely.LineString([(0, -400), (0, 400)]))
    write_shapes(tmp_path, shapely.LineString([(0, -400), (0, 400)]))
    strips = STRIPS + blocks
    plan = read_plan(write_plan_for(tmp_path, square(1320), direction=direction, strips=strips))
    ground = read_ground(plan)
    with pytest.raises(PlanError, match=said):
        steps.land_of(plan, ground)


def test_where_the_best_is_drawn_bare_the_next_is_chosen_as_lay_does(plan, monkeypatch):
    land = steps.land_of(plan, read_ground(plan))
    found = search(plan, sections_of(plan)[0], land)
    draw = striplay.laid._draw

    def bare_if_best(plan, ground, block, choice):
        return None if choice == found.best[0] else draw(plan, ground, block, choice)

    monkeypatch.setattr("striplay.laid._draw", bare_if_best)
    choice = steps.choose(land)
    assert choice == striplay.lay(plan).laid.blocks[0].choice == found.best[1]
    assert steps.sweep(land, choice).blocks[0].choice == choice


def test_without_a_heading_the_best_is_chosen_as_lay_does(plan):
    land = steps.land_of(plan, read_ground(plan))
    assert steps.choose(land) == striplay.lay(plan).laid.blocks[0].choice


def test_the_headland_is_set_inside_the_ground_once(plan, monkeypatch):
    inset, asked = striplay.layout.headland.inset_all_round, []

    def watched(ground, width_m):
        asked.append(width_m)
        return inset(ground, width_m)

    monkeypatch.setattr(striplay.layout.headland, "inset_all_round", watched)
    land = steps.land_of(plan, read_ground(plan))
    laid = [steps.sweep(land, steps.choose(land, heading_deg)) for heading_deg in (0, 45, 90)]
    steps.usual(land)
    assert len({one.blocks[0].heading_deg for one in laid}) == 3
    assert len(asked) <= 2  # for the cost, and with the headland's polygons to draw


def test_what_steps_give_can_not_be_changed(plan):
    land = steps.land_of(plan, read_ground(plan))
    choice = steps.choose(land, 10.0)
    for value in (land, choice, steps.sweep(land, choice)):
        with pytest.raises(dataclasses.FrozenInstanceError):
            value.section = None


def test_a_heading_that_leaves_no_land_has_no_choice(tmp_path):
    plan = read_plan(write_plan_for(tmp_path, square(140)))
    assert steps.choose(steps.land_of(plan, read_ground(plan)), 0.0) is None
