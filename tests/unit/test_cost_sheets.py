"""The picture of cost against heading: the stack, the dot and the figures stand where they must."""

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from books import book, written
from fields import lay_on, sample, square
from hypothesis import given
from hypothesis import strategies as st
from pdfs import shapes
from swatches import LEAST_LEVELS, levels_apart, pictures

from striplay.accounts.words import off_words
from striplay.search.cost import PARTS
from striplay.sheets.book import book_of
from striplay.sheets.cost_sheets import (
    AXIS_MM,
    BEYOND_DEG,
    DOT_PT,
    HIGH_MM,
    LIST_MM,
    OVER_MM,
    PART_FILLS,
    RING_PT,
    UNDER_MM,
    cost_part,
    nice_ticks,
    whole_turn,
)  # fmt: skip
from striplay.sheets.style import INK, MM
from striplay.units import degrees


def costs_of(folder, layout, ink="color"):
    """Draw a layout's costs; give their page, and its paths."""
    path = folder / "cost.pdf"
    shared = book_of(layout, ink=ink)
    (page,) = written(path, shared, cost_part(shared, layout))
    return page, shapes(path), shared


def frame_of(drawing, shared):
    """Give the frame's box, found by its size."""
    wide_pt = (shared.inner_mm - LIST_MM - AXIS_MM) * MM
    high_pt = (HIGH_MM - OVER_MM - UNDER_MM) * MM
    (frame,) = {
        tuple(round(v, 2) for v in one.box) for one in drawing
        if one.line == INK and abs(one.box[2] - one.box[0] - wide_pt) < 0.05
        and abs(one.box[3] - one.box[1] - high_pt) < 0.05
    }  # fmt: skip
    return frame


def test_every_part_stands_on_the_last_and_the_dot_on_all(tmp_path):
    layout = sample("creek_side")
    (block,) = layout.laid.blocks
    page, drawing, shared = costs_of(tmp_path, layout)
    left, bottom, right, top = frame_of(drawing, shared)
    ticks = [int(text.replace(",", "")) for text in page.texts if text.replace(",", "").isdigit()]
    most = max(nice_ticks(float(np.nanmax(block.searched.parts.sum(axis=1)))))
    assert int(most) in ticks

    def x_pt(heading_deg):
        return left + (right - left) * (heading_deg + BEYOND_DEG) / (180 + 2 * BEYOND_DEG)

    def y_pt(money):
        return bottom + (top - bottom) * money / most

    # every part's greatest height over the foot is that of all up to it
    stacked = np.cumsum(block.searched.parts, axis=1)
    layers = [one for one in drawing if one.fill and left - 0.1 < one.box[0]
              and right + 0.1 > one.box[2] > left + 0.9 * (right - left)]  # fmt: skip
    shown = np.flatnonzero(block.searched.parts.max(axis=0) > 0)
    assert [one.fill for one in layers] == [PART_FILLS[at].color for at in shown]
    for one, at in zip(layers, shown, strict=True):
        assert one.box[3] == pytest.approx(y_pt(stacked[:, at].max()), abs=0.15)
    # the dot: black, at the chosen heading and its cost
    dots = [
        one.box for one in drawing if one.fill == INK and one.box[2] - one.box[0] < 2 * DOT_PT + 1
    ]
    ((low_x, low_y, high_x, high_y),) = dots
    assert (low_x + high_x) / 2 == pytest.approx(x_pt(block.choice.heading_deg), abs=0.05)
    assert (low_y + high_y) / 2 == pytest.approx(y_pt(block.choice.total), abs=0.05)
    # nothing is told by color: the stack is of neutral grays
    levels = {one.fill for one in drawing if one.fill}
    assert all(len({one[1:3], one[3:5], one[5:7]}) == 1 for one in levels)


@pytest.mark.parametrize("ink", ["color", "gray"])
@pytest.mark.parametrize("name", ["quarter_section", "creek_side", "pond_ell", "two_parts"])
def test_the_list_adds_up_and_the_tenth_of_a_degree_is_told(tmp_path, name, ink):
    layout = sample(name)
    (block,) = layout.laid.blocks
    page, _, _ = costs_of(tmp_path, layout, ink)
    for at in np.flatnonzero(np.nanmax(block.searched.parts, axis=0) > 0):
        assert PARTS[at] in page.texts
        assert f"{block.choice.parts[at]:,.0f}" in page.texts
    assert f"{block.choice.total:,.0f}" in page.texts
    chosen = degrees(block.choice.heading_deg)
    assert f"chosen {chosen}°" in page.texts
    assert (
        f"Dot: the heading chosen, {chosen} degrees: {block.choice.total:,.0f} a year." in page.text
    )
    assert f"{off_words(block.choice.off_more)} a year." in page.text
    assert page.text.count("Headland: what it loses") == 1


def test_the_longest_edge_stands_beside_it(tmp_path):
    page, _, _ = costs_of(tmp_path, sample("creek_side"))
    assert (
        "Ring: along the longest edge, 111.18 degrees: the same, as near as can be driven."
        in page.text
    )


def test_a_stated_heading_has_its_cost_in_words(tmp_path):
    page, drawing, _ = costs_of(tmp_path, sample("pivot_circle"))
    cost = sample("pivot_circle").accounts["cost"]
    assert "The plan states its heading, " in page.text
    assert f"Its cost a year {cost['total']:,.0f}: headland " in page.text
    assert not [one for one in drawing if len(one.points) > 20]


def test_blocks_are_told_one_by_one(tmp_path):
    layout = sample("creek_side")
    (block,) = layout.laid.blocks
    # the same block three times: what is told is all that counts here
    three = replace(layout, laid=replace(layout.laid, blocks=(block, block, block)))
    three.__dict__["accounts"] = layout.accounts
    shared = book_of(layout)
    made = written(tmp_path / "a.pdf", shared, cost_part(shared, three))
    said = " ".join(page.text for page in made)
    assert all(f"Block {number}. Dot: the heading chosen" in said for number in (1, 2, 3))
    assert said.count("Prices are the plan's") == 1


def test_headings_at_which_no_strip_can_be_laid_are_gaps(tmp_path):
    narrow = shapely.box(-150, -9, 150, 9)
    none = '[headland]\nwhere = "none"\n'
    layout = lay_on(tmp_path, narrow, headland=none, direction='heading = "best"')
    (searched,) = [block.searched for block in layout.laid.blocks]
    bare = searched.headings_deg[np.isnan(searched.parts).any(axis=1)]
    assert ((bare < 20) | (bare > 160)).any()
    page, drawing, shared = costs_of(tmp_path, layout)
    assert "Gaps: headings at which no strip can be laid." in page.text
    left, _, right, _ = frame_of(drawing, shared)
    stacks = [one for one in drawing if one.fill in {fill.color for fill in PART_FILLS}
              and len(one.points) > 20]  # fmt: skip
    assert stacks
    for one in stacks:
        headings = (one.points[:, 0] - left) / (right - left) * (180 + 2 * BEYOND_DEG) - BEYOND_DEG
        assert min(np.abs(headings - 90)) < 2
        assert headings.min() > 20
        assert headings.max() < 160


def test_the_same_heading_is_marked_once_and_said_so(tmp_path):
    layout = lay_on(tmp_path, square(1320), direction='heading = "best"')
    (block,) = layout.laid.blocks
    assert block.choice.heading_deg == pytest.approx(block.searched.usual.heading_deg)
    page, drawing, shared = costs_of(tmp_path, layout)
    left, _, right, _ = frame_of(drawing, shared)
    dots = [one.box for one in drawing if one.fill == INK and one.box[2] - one.box[0] < 6]
    headings = [((low + high) / 2 - left) / (right - left) * (180 + 2 * BEYOND_DEG) - BEYOND_DEG
                for low, _, high, _ in dots]  # fmt: skip
    # north, at 0 and at 180 degrees, neither on the frame
    assert headings == pytest.approx([0, 180], abs=0.1)
    assert "That is along the longest edge too" in page.text
    assert "Ring" not in page.text
    assert "Gaps" not in page.text


def test_a_circle_is_not_compared_with_an_edge(tmp_path):
    circle = shapely.Point(0, 0).buffer(110, quad_segs=16)
    page, *_ = costs_of(tmp_path, lay_on(tmp_path, circle, direction='heading = "best"'))
    text = " ".join(page.text.split())
    assert "No edge is straight for long enough to compare with." in text
    assert "Ring" not in text
    assert "longest edge" not in text


def test_along_a_curve_there_is_nothing():
    layout = SimpleNamespace(
        laid=SimpleNamespace(blocks=[SimpleNamespace(searched=None, choice=None, heading_deg=0.0)]),
        accounts={"cost": {}},
    )
    assert cost_part(book(), layout) == []


def test_the_picture_goes_on_past_north():
    headings = np.array([0.0, 1.0, 90.0, 178.0])
    around, parts = whole_turn(headings, headings[:, None])
    assert around[0] <= -BEYOND_DEG + 2
    assert around[-1] >= 180 + BEYOND_DEG
    assert (parts[:, 0] == around % 180).all()


@given(st.floats(0.01, 1e9))
def test_ticks_are_round_and_hold_the_most(most):
    ticks = nice_ticks(most)
    steps = {round(after - before, 6) for before, after in itertools.pairwise(ticks)}
    assert ticks[0] == 0
    assert ticks[-1] >= most * (1 - 1e-6)
    assert 2 <= len(ticks) <= 8
    (step,) = steps
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - one) for one in (1, 2, 2.5, 5)) < 1e-6
    assert step >= 1


def test_parts_are_apart_in_gray():
    """Parts touch in any order where those between cost nothing, so each from each."""
    drawn = pictures(PART_FILLS)
    assert len(drawn) == len(PARTS)
    for one, other in itertools.combinations(drawn, 2):
        assert levels_apart(one, other) >= LEAST_LEVELS / 2


def test_the_ring_shows_round_a_dot_that_lies_on_it():
    """The dot is drawn last, with white about it."""
    assert RING_PT > DOT_PT + 1.4
