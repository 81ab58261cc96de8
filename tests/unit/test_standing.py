"""What stands to the left and right of each pass as driven."""

import time

import numpy as np
import pytest
import shapely
from fields import AROUND, lay_on, square, write_line
from routes import NO_EDGE, SET, blocks_of, dated, north, side_by_side

from striplay.operations.standing import standing_beside
from striplay.operations.unloading import driven


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    """Lay strips of 16 and 24 rows toward the north, without a headland, from the west."""
    return lay_on(tmp_path_factory.mktemp("sets"), square(800), headland=NO_EDGE, shed=dated(),
                  strips=SET)  # fmt: skip


def side_by_side_of(layout):
    return [side_by_side(route) for route in layout.routes]


def beside(layout, routes=None, days=None):
    """Give each route by name with what stands at its left and right."""
    routes = side_by_side_of(layout) if routes is None else routes
    days = layout.season.days if days is None else days
    found = standing_beside(routes, blocks_of(layout), layout.laid.headland, days)
    return {route.job.name: (route, one) for route, one in zip(routes, found, strict=True)}


def test_the_jobs_are_in_the_order_of_their_days(layout):
    names = [route.job.name for route in side_by_side_of(layout)]
    assert names == [
        "plant corn", "spray corn", "plant soybean", "spray soybean", "harvest soybean",
        "harvest corn",
    ]  # fmt: skip


def test_nothing_stands_beside_the_first_planting_but_its_own_rows(layout):
    route, found = beside(layout)["plant corn"]
    assert set(found.left) | set(found.right) == {""}
    assert len(route) > 3


def test_the_second_planting_has_corn_at_the_outer_sides_and_its_own_rows_within(layout):
    route, found = beside(layout)["plant soybean"]
    up = north(route)
    west = np.where(up, found.left, found.right)
    east = np.where(up, found.right, found.left)
    # two passes a strip, from the west: the first meets corn at its west, the second at its own
    # west side what the first has sown, and corn at its east
    first = np.arange(len(route)) % 2 == 0
    assert set(west[first]) == {"corn"}
    assert set(west[~first]) == {"soybean"}
    assert set(east[first]) == {""}
    assert set(east[~first][:-1]) == {"corn"}


def test_what_a_pass_cut_before_does_not_stand_beside_the_next(layout):
    route, found = beside(layout)["harvest soybean"]
    up = north(route)
    west = np.where(up, found.left, found.right)
    east = np.where(up, found.right, found.left)
    first = np.arange(len(route)) % 2 == 0
    assert set(west[first]) == {"corn"}
    assert set(west[~first]) == {""}  # cut just before
    assert set(east[first]) == {"soybean"}
    assert set(east[~first][:-1]) == {"corn"}


def test_the_other_order_opens_from_the_other_side(layout):
    routes = side_by_side_of(layout)
    index = [route.job.name for route in routes].index("harvest soybean")
    routes[index] = driven(routes[index], np.arange(len(routes[index]))[::-1])
    route, found = beside(layout, routes)["harvest soybean"]
    up = north(route)
    west = np.where(up, found.left, found.right)
    east = np.where(up, found.right, found.left)
    first = np.arange(len(route)) % 2 == 0
    assert set(west[first]) == {"soybean"}
    assert set(east[~first]) == {""}


def test_the_last_harvest_meets_stubble_only(layout):
    route, found = beside(layout)["harvest corn"]
    up = north(route)
    west = np.where(up, found.left, found.right)
    assert "soybean" not in set(found.left) | set(found.right)
    assert set(west[np.arange(len(route)) % 2 == 1]) == {""}


def test_a_pass_driven_the_other_way_has_its_sides_changed_round(layout):
    routes = side_by_side_of(layout)
    index = [route.job.name for route in routes].index("plant soybean")
    _, before = beside(layout)["plant soybean"]
    turned = np.ones(len(routes[index]), dtype=bool)
    routes[index] = driven(routes[index], np.arange(len(turned)), turned)
    _, after = beside(layout, routes)["plant soybean"]
    assert after.left.tolist() == before.right.tolist()
    assert after.right.tolist() == before.left.tolist()


def test_headland_lies_beside_the_outer_passes_and_strips_inside_its_rounds(tmp_path):
    found = beside(lay_on(tmp_path, square(800), headland=AROUND, shed=dated(), strips=SET))
    route, one = found["plant corn"]
    strips = route.place == "strips"
    sides = np.concatenate([one.left[strips], one.right[strips]])
    assert "headland" in sides
    # planting ends with the headland, its inner round first: the outer one is not sown then
    inner, outer = np.stack([one.left, one.right], axis=1)[~strips]
    assert set(inner) == {"", "corn"}
    assert set(outer) == {"headland", ""}
    # harvest opens it from outside
    route, one = found["harvest corn"]
    outer, inner = np.stack([one.left, one.right], axis=1)[route.place == "headland"][:2]
    assert set(outer) == {"headland", ""}


@pytest.mark.parametrize("path", ["pivot", "along"])
def test_along_curves_the_sides_are_those_of_a_look_at_the_ground(tmp_path, path):
    """Against the strip that lies 1 m beyond the swath's edge, on the side as driven."""
    shape = square(900)
    direction = "pivot = [-93.5, 42.0]"
    if path == "along":
        line = shapely.LineString(
            np.column_stack([at := np.arange(-200.0, 201.0, 10.0), 12 * np.sin(at / 60)])
        )
        write_line(tmp_path, line)
        direction = 'along = "key.geojson"'
    layout = lay_on(tmp_path, shape, headland=NO_EDGE, shed=dated(), strips=SET,
                    direction=direction)  # fmt: skip
    route, found = beside(layout)["plant soybean"]
    rows = layout.rows[layout.rows["crop"] == "corn"].geometry.to_numpy()
    tree = shapely.STRtree(rows)
    checked = 0
    for index, line in enumerate(route.line):
        length = line.length
        middle, ahead = (line.interpolate(at) for at in (length / 2, length / 2 + 0.1))
        way = np.array([ahead.x - middle.x, ahead.y - middle.y]) / 0.1
        left = np.array([-way[1], way[0]])
        for side, names in ((1, found.left), (-1, found.right)):
            at = shapely.Point(
                np.array([middle.x, middle.y]) + side * left * (route.width_m / 2 + 0.5)
            )
            near_m = rows[tree.nearest(at)].distance(at)
            if near_m < 0.8 or near_m > 3.0:
                assert (names[index] == "corn") == (near_m < 0.8), (path, index, side)
                checked += names[index] == "corn"
    assert checked > 5


def test_a_thousand_passes_take_a_tenth_of_a_second(layout):
    route = next(route for route in side_by_side_of(layout) if route.job.name == "harvest soybean")
    many = driven(route, np.arange(1000) % len(route))
    blocks = blocks_of(layout)
    best_s = np.inf
    for _ in range(3):
        begin = time.process_time()
        standing_beside([many], blocks, layout.laid.headland, {})
        best_s = min(best_s, time.process_time() - begin)
    assert best_s < 0.1
