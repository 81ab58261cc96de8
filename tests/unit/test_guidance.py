"""Passes as lines to steer by: one each, or one repeated where that is every one of them."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from fields import PLANE, lay_on, square, write_line

from striplay.operations.guidance import guide_lines_of, swaths_of

WIDTH_M = 12.192


class Lines(SimpleNamespace):
    """Stands for a route: what guide lines are made of."""

    def __len__(self):
        return len(self.line)


def route_of(*lines, block=0, width_m=WIDTH_M, only_so=False, place="strips"):
    """Give what guide lines are made of, of passes in one block."""
    count = len(lines)
    return Lines(
        line=np.array(lines, dtype=object),
        block=np.full(count, block),
        place=np.full(count, place, dtype=object),
        width_m=width_m,
        groups=(SimpleNamespace(only_so=np.full(count, only_so)),),
    )


def guides(*lines, **parts):
    return guide_lines_of(route_of(*lines, **parts))


def up(x, begin=0.0, end=400.0):
    return shapely.LineString([[x, begin], [x, end]])


def test_passes_side_by_side_are_one_line_repeated_at_the_width():
    lines = [up(0), up(WIDTH_M).reverse(), up(2 * WIDTH_M, 50, 300), up(-WIDTH_M)]
    (one,) = guides(*lines)
    assert (one.kind, one.passes, one.left, one.right) == ("straight", (0, 1, 2, 3), 1, 2)
    assert one.line == up(0)
    swaths = list(swaths_of(one))
    assert [each.coords[0][0] for each in swaths] == pytest.approx(np.arange(-1, 3) * WIDTH_M)


def test_left_and_right_are_told_as_the_line_is_driven():
    (one,) = guides(up(0).reverse(), up(WIDTH_M), up(2 * WIDTH_M))
    assert (one.left, one.right) == (2, 0)


def test_pieces_of_one_line_are_one_swath():
    (one,) = guides(up(0, 0, 100), up(0, 200, 400), up(WIDTH_M))
    assert (one.left, one.right, one.passes) == (0, 1, (0, 1, 2))


@pytest.mark.parametrize(
    "lines",
    [
        (up(0), up(4 * WIDTH_M), up(8 * WIDTH_M)),
        (up(0), up(WIDTH_M), up(3 * WIDTH_M)),
        (up(0), up(WIDTH_M + 0.011)),
        (up(0), shapely.LineString([[WIDTH_M, 0], [WIDTH_M + 0.02, 400]])),
        (up(0), up(0, 500, 600)),
        (up(0),),
        (up(0), shapely.LineString([[WIDTH_M, 0], [WIDTH_M + 5, 200], [WIDTH_M, 400]])),
    ],
    ids=["other crops between", "a gap", "11 mm off", "not parallel", "in one line", "one", "bent"],
)
def test_a_line_that_repeated_would_not_be_every_pass_is_a_line_a_pass(lines):
    found = guides(*lines)
    assert [one.passes for one in found] == [(index,) for index in range(len(lines))]
    assert not any(one.repeated for one in found)
    assert [one.line.coords[0] for one in found] == [line.coords[0] for line in lines]


def test_a_whole_millimeter_of_the_width_adds_up_to_no_more_than_a_centimeter():
    width_m = 12 * 38 * 0.0254  # 11.5824 m, 0.4 mm more than in whole millimeters
    few = guides(*(up(number * width_m) for number in range(25)), width_m=width_m)
    many = guides(*(up(number * width_m) for number in range(27)), width_m=width_m)
    assert (len(few), len(many)) == (1, 27)


def test_where_what_is_planted_tells_the_way_each_pass_has_its_line():
    assert len(guides(up(0), up(WIDTH_M), only_so=True)) == 2


def test_the_headland_is_steered_round_by_itself():
    ring = shapely.LineString([[0, 0], [0, 90], [90, 90], [90, 0], [0, 0]])
    (one,) = guides(ring, place="headland")
    assert (one.kind, one.closed, len(one.line.coords)) == ("curve", True, 5)


def test_rows_along_a_line_are_curves_true_to_a_centimeter(tmp_path):
    x = np.linspace(-450, 450, 40)
    write_line(tmp_path, shapely.LineString(np.column_stack([x, 40 * np.sin(x / 150)])))
    layout = lay_on(
        tmp_path,
        square(1320),
        direction='along = "key.geojson"',
        headland='[headland]\nwhere="none"',
    )
    for route in layout.routes:
        found = guide_lines_of(route)
        assert [one.passes for one in found] == [(index,) for index in range(len(route))]
        assert any(one.kind == "curve" for one in found)
        for one, line in zip(found, route.line, strict=True):
            assert one.line.coords[0] == line.coords[0]
            assert one.line.coords[-1] == line.coords[-1]
            assert set(one.line.coords) <= set(line.coords)
            assert shapely.hausdorff_distance(one.line, line, densify=0.01) <= 0.0101
        kept, drawn = (
            sum(len(one.coords) for one in lines)
            for lines in ([one.line for one in found], route.line)
        )
        assert kept < drawn / 2


def test_rows_round_a_pivot_are_circles_about_it(tmp_path):
    layout = lay_on(
        tmp_path, square(1320), direction=f"pivot = [{PLANE.longitude_deg}, {PLANE.latitude_deg}]"
    )
    center_m = tuple(layout.ground.plane.to_plane(np.array([layout.plan.direction.pivot]))[0])
    kinds = set()
    for route in layout.routes:
        for one in guide_lines_of(route, center_m):
            line = route.line[one.passes[0]]
            kinds.add((one.kind, one.closed))
            if one.kind != "circle":
                assert route.place[one.passes[0]] == "headland"
                continue
            away_m = np.hypot(*(shapely.get_coordinates(line) - center_m).T)
            assert np.abs(away_m - one.radius_m).max() <= 0.005
            angle = np.unwrap(np.arctan2(*(shapely.get_coordinates(line) - center_m).T[::-1]))
            assert one.clockwise == (angle[-1] < angle[0])
            assert one.closed == (abs(abs(angle[-1] - angle[0]) - 2 * np.pi) < 1e-3)
    assert {("circle", True), ("circle", False)} <= kinds


def test_a_curve_is_no_circle_about_a_pivot_it_does_not_run_round():
    angle = np.linspace(0, 3, 60)
    arc = shapely.LineString(100 * np.column_stack([np.sin(angle), np.cos(angle)]))
    route = route_of(arc)
    (one,), (other,) = guide_lines_of(route, (0.0, 0.0)), guide_lines_of(route, (1.0, 0.0))
    assert (one.kind, one.clockwise, other.kind) == ("circle", True, "curve")
    assert one.radius_m == pytest.approx(100, abs=1e-9)
