"""Numbers at ends: none on another, each on a leader that begins on what it tells of."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from striplay.sheets.label_room import Ends, Page, joined, overlaps
from striplay.sheets.labels import place
from striplay.sheets.strip_numbers import NUMBER_PT

FRAME = (0.0, 0.0, 540.0, 480.0)
FAR = np.inf


def strips(count, pitch, slant, width, long=260.0):
    """Give slanting strips across the page as polygons, and their ends."""
    low = 20.0 + pitch * np.arange(count)
    left, right = 140.0 + slant * low, 140.0 + long - slant * low
    step = slant * pitch
    polygons = shapely.polygons(
        np.stack(
            [np.column_stack([left, low]), np.column_stack([right, low]),
             np.column_stack([right - step, low + pitch]),
             np.column_stack([left + step, low + pitch])], axis=1)
    )  # fmt: skip
    middle = low + pitch / 2
    ends = []
    for sign, edge in ((-1.0, left + step / 2), (1.0, right - step / 2)):
        out = np.tile([sign, 0.0], (count, 1))
        ends.append(
            Ends(np.column_stack([edge, middle]), out, np.full(count, pitch / 2), right - left,
                 np.full(count, width), np.full(count, step / 2), np.full(count, FAR))
        )  # fmt: skip
    return polygons, joined(*ends)


def check(ends, polygons, page, placed):
    found = placed.found
    box = placed.box[found]
    clash = overlaps(box, box)
    np.fill_diagonal(clash, val=False)
    assert not clash.any()
    assert not overlaps(box, page.taken).any()
    left, bottom, right, top = page.frame
    assert (box[:, :2] >= (left, bottom)).all()
    assert (box[:, 2:] <= (right, top)).all()
    own = polygons[np.arange(len(ends)) % len(polygons)][found]
    begin = shapely.points(placed.leader[found][:, 0])
    assert shapely.dwithin(own, begin, 1e-6).all()
    # a leader ends at its own number, and meets no other's
    ends_at = shapely.points(placed.leader[found][:, -1])
    assert shapely.dwithin(shapely.box(*box.T), ends_at, 1e-6).all()
    leaders = shapely.linestrings(placed.leader[found])
    of, on = shapely.STRtree(shapely.box(*box.T)).query(leaders, predicate="intersects")
    assert (of == on).all()


@settings(max_examples=30, deadline=None)
@given(
    count=st.integers(1, 60),
    pitch=st.floats(1.9, 14.0),
    slant=st.floats(0.0, 0.4),
    width=st.floats(8.0, 26.0),
    turned=st.booleans(),
)
def test_every_end_has_its_number_and_none_lies_on_another(count, pitch, slant, width, turned):
    count = min(count, int(400 / pitch))
    slant = min(slant, 80.0 / (20.0 + count * pitch))  # so that strips stay 100 long at least
    polygons, ends = strips(count, pitch, slant, width)
    page = Page(FRAME, NUMBER_PT, land=polygons)
    axis = 0
    if turned:  # a quarter turn counter-clockwise, as of rows that run up the page

        def turn(at):
            return np.column_stack([500.0 - at[:, 1], at[:, 0]])

        polygons = shapely.transform(polygons, turn)
        out = np.column_stack([-ends.out[:, 1], ends.out[:, 0]])
        ends = Ends(turn(ends.at), out, ends.aside, ends.inward, ends.wide, ends.beyond, ends.edge)
        page = Page((0.0, 0.0, 520.0, 540.0), NUMBER_PT, land=polygons)
        axis = 1
    placed = place(ends, page, axis)
    assert placed.angle_deg == (90.0 if turned else 0.0)
    check(ends, polygons, page, placed)
    # type 5 points high needs lanes; five deep there is room for every number
    if pitch * 5 >= NUMBER_PT + 5:
        assert placed.found.all()


@settings(max_examples=20, deadline=None)
@given(
    angles=st.lists(st.floats(0.0, 360.0), min_size=1, max_size=40),
    boxes=st.lists(
        st.tuples(st.floats(0, 480), st.floats(0, 440), st.floats(5, 60), st.floats(5, 40)),
        max_size=5,
    ),
)
def test_ends_that_look_any_way_have_numbers_clear_of_signs(angles, boxes):
    turn = np.radians(angles)
    out = np.column_stack([np.cos(turn), np.sin(turn)])
    at = np.array([270.0, 240.0]) + 150.0 * out
    polygons = shapely.buffer(shapely.linestrings(np.stack([at - 60 * out, at], axis=1)), 1.5)
    count = len(at)
    ends = Ends(at, out, np.full(count, 1.5), np.full(count, 60.0), np.full(count, 18.0),
                np.zeros(count), np.full(count, FAR))  # fmt: skip
    taken = np.array([(x, y, x + w, y + h) for x, y, w, h in boxes]).reshape(-1, 4)
    page = Page(FRAME, NUMBER_PT, taken, land=polygons)
    check(ends, polygons, page, place(ends, page, -1))


def test_wide_strips_have_their_numbers_straight_outside():
    polygons, ends = strips(20, 7.0, 0.0, 16.0)
    placed = place(ends, Page(FRAME, NUMBER_PT, land=polygons), 0)
    assert placed.middle[:, 1] == pytest.approx(ends.at[:, 1])
    outward = (placed.middle[:, 0] - ends.at[:, 0]) * ends.out[:, 0]
    assert outward == pytest.approx(np.full(40, 2.0 + 8.0))


def test_numbers_stand_behind_the_boundary_where_they_would_lie_on_it():
    polygons, ends = strips(20, 7.0, 0.0, 16.0)
    near = Ends(ends.at, ends.out, ends.aside, ends.inward, ends.wide, ends.beyond,
                np.full(40, 9.0))  # fmt: skip
    placed = place(near, Page(FRAME, NUMBER_PT, land=polygons), 0)
    inner = np.where(near.out[:, 0] > 0, placed.box[:, 0], -placed.box[:, 2])
    assert (inner >= near.at[:, 0] * near.out[:, 0] + 9.0).all()


def test_without_room_outside_numbers_stand_inside():
    polygons, ends = strips(12, 8.0, 0.0, 16.0)
    narrow = (139.0, 0.0, 401.0, 480.0)
    placed = place(ends, Page(narrow, NUMBER_PT, land=polygons), 0)
    assert placed.found.all()
    middles = shapely.points(placed.middle)
    assert shapely.contains(polygons[np.arange(24) % 12], middles).all()
