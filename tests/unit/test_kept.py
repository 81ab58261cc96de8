"""What pages share: worked out once of each layout, and thinned by no more than none sees."""

import numpy as np
import pytest
import shapely
from fields import PLANE, lay_on

from striplay.sheets.book import book_of
from striplay.sheets.cover_sheets import cover_of
from striplay.sheets.ground import MANY, UNSEEN_PT
from striplay.sheets.kept import Kept
from striplay.sheets.label_room import crossed
from striplay.sheets.land import planted_on, strips_on


@pytest.fixture(scope="module")
def rings(tmp_path_factory):
    """Give a circle of rings about its pivot."""
    pivot = f"pivot = [{PLANE.longitude_deg}, {PLANE.latitude_deg}]"
    disc = shapely.Point(0, 0).buffer(250, 64)
    return lay_on(tmp_path_factory.mktemp("rings"), disc, direction=pivot)


def test_what_is_kept_is_made_once_of_each_layout():
    kept, made = Kept(), []

    def make():
        made.append(1)
        return len(made)

    one, other = object(), object()
    got = [kept.of(of, ("rows",), make) for of in (one, one, other, one)]
    assert got == [1, 1, 2, 1]


def test_rings_on_a_page_lie_where_they_are(rings):
    """No edge lies farther off than what is not seen, and far fewer vertices tell it."""
    book = book_of(rings)
    view = cover_of(book, rings).view
    true = shapely.transform(rings.strips.geometry.to_numpy(), view.points)
    seen = strips_on(rings, book, view)
    assert shapely.get_num_coordinates(true).sum() > MANY
    assert shapely.get_num_coordinates(seen).sum() < shapely.get_num_coordinates(true).sum() / 4
    assert shapely.hausdorff_distance(shapely.boundary(true), shapely.boundary(seen)).max() < (
        UNSEEN_PT * 1.001
    )
    assert strips_on(rings, book, view)[0].equals_exact(seen[0], 0.0)


def test_the_ground_of_rings_is_that_of_all_of_them(rings):
    book = book_of(rings)
    view = cover_of(book, rings).view
    whole = shapely.area(planted_on(rings, book, view)).sum()
    assert whole == pytest.approx(shapely.area(strips_on(rings, book, view)).sum(), rel=2e-3)


def test_leaders_meet_boxes_as_the_reference_library_says():
    some = np.random.default_rng(7)
    leaders = some.integers(0, 12, (300, 3, 2)).astype(float)  # many level, upright or touching
    low = some.integers(0, 12, (200, 2)).astype(float)
    boxes = np.column_stack([low, low + some.integers(1, 4, (200, 2))])
    wanted = shapely.intersects(shapely.linestrings(leaders)[:, None], shapely.box(*boxes.T)[None])
    found = crossed(leaders, boxes)
    assert 0.02 < wanted.mean() < 0.9
    assert (found == wanted).all()
