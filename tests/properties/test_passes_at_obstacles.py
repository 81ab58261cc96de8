"""What machines do at poles and other small obstacles, and over ground to lift through.

Held from outside, as in `test_passes`.
"""

import math

import numpy as np
import shapely
from driven import (
    BIT_M,
    DRAWN_M,
    SIDE_M,
    at,
    gaps,
    hold,
    lifted,
    missed,
    named,
    on_lines,
    over_strips,
    torn,
)
from matrix import ACROSS_M, CLEARANCE_M, DEEP_M, Case, laid, swath

POLES = [
    Case(system, path, headland, kind, seed, 11.0, obstacles)
    for seed, (system, path, headland, kind, obstacles) in enumerate(
        [
            ("strips", "stated", "around", "convex", "poles"),
            ("strips", "stated", "ends", "concave", "poles"),
            ("relay", "stated", "none", "ragged", "poles"),
            ("row set", "stated", "none", "convex", "poles"),
            ("strips", "blocks", "around", "convex", "poles"),
            ("strips", "along bent", "around", "convex", "poles"),
            ("mixed", "along bent", "none", "ragged", "poles"),
            ("strips", "pivot", "none", "convex", "poles"),
            ("strips", "stated", "around", "ragged", "small polygons"),
            ("relay", "stated", "none", "convex", "small polygons"),
            ("strips", "along bent", "around", "convex", "small polygons"),
        ]
    )
]
WHOLE = [case for case in POLES if case.path != "blocks"]
"""Between blocks there are end rows, by whatever stands there."""
points_only = [case for case in POLES if case.obstacles == "poles"]


def deep(laid):
    """Give the obstacles that lie deep in the field."""
    border = shapely.boundary(laid.shape)
    return [one for one in laid.obstacles if one.distance(border) > DEEP_M - 6.0]


def too_near(laid):
    """Say which working swaths and rows come nearer to an obstacle than the clearance.

    A boom may not pass over a pole either. Keep machines at least 10 ft from power lines in all
    directions (common practice; local rules and the line's owner decide).
    """
    working, rows = laid.working, laid.layout.rows
    for one in laid.obstacles:
        near_m = shapely.distance(working["swath"].to_numpy(), one)
        for found in working.assign(near_m=near_m)[near_m < CLEARANCE_M - DRAWN_M].itertuples():
            yield f"{named(found)}: {found.near_m:.2f} m from an obstacle {at(one)}"
        row_m = rows.distance(one).min()
        if row_m < CLEARANCE_M - DRAWN_M:
            yield f"a row {row_m:.2f} m from an obstacle {at(one)}"


def test_no_swath_and_no_row_comes_within_the_clearance_of_a_pole():
    hold(too_near, points_only)


def test_no_swath_and_no_row_comes_within_the_clearance_of_a_small_polygon():
    hold(too_near, [case for case in POLES if case not in points_only])


def ringed(laid):
    """Say which small obstacles deep in the field have headland about them."""
    for one in deep(laid):
        near_m = laid.layout.headland.distance(one).min()
        if near_m < 15.0:
            yield f"headland {near_m:.1f} m from an obstacle {at(one)}"


def test_there_are_no_end_rows_round_small_obstacles():
    hold(ringed, [case for case in WHOLE if case.headland == "around"])


def not_begun_again(laid):
    """Say where no planter stops at an obstacle and begins again behind, and what says why."""
    if "stops_at" not in laid.passes:
        yield "passes have no column stops_at"
        return
    rows, working = laid.layout.rows, laid.working
    planted = shapely.union_all(over_strips(laid, "plant")["swath"].to_numpy()).buffer(1.0)
    further = [_one_further(one) for one in working.geometry]
    further = [
        swath(np.array(ends), laid.widths_m(working) / 2) for ends in zip(*further, strict=True)
    ]
    for one in deep(laid):
        beyond_m = math.sqrt(one.area) + CLEARANCE_M + 6.0
        middle = shapely.get_coordinates(one.centroid)[0]
        points = shapely.get_coordinates(rows.geometry.iloc[int(rows.distance(one).argmin())])
        foot = int(np.hypot(*(points - middle).T).argmin())
        way = points[min(foot + 1, len(points) - 1)] - points[max(foot - 1, 0)]
        for step in (beyond_m * way / np.hypot(*way), -beyond_m * way / np.hypot(*way)):
            if not planted.contains(shapely.Point(middle + step)):
                yield f"nothing planted {beyond_m:.0f} m from an obstacle {at(one)}"
        near_m = np.min([shapely.distance(ends, one) for ends in further], axis=0)
        stopped = working[near_m < CLEARANCE_M]
        if not len(stopped):
            yield f"no pass stops at an obstacle {at(one)}"
        for silent in stopped[stopped["stops_at"].fillna("").str.strip() == ""].itertuples():
            yield f"{named(silent)}: stops at an obstacle {at(one)}, and stops_at is empty"


def _one_further(line):
    """Give a meter of line beyond either end."""
    points = shapely.get_coordinates(line)
    ends = (points[0], points[0] - points[1]), (points[-1], points[-1] - points[-2])
    return [shapely.LineString([tip, tip + way / np.hypot(*way)]) for tip, way in ends]


def test_passes_stop_at_small_obstacles_and_begin_again_behind():
    hold(not_begun_again, WHOLE)


def bare_by_obstacles(laid):
    """Say which rows beside obstacles are not worked."""
    yield from missed(laid, "plant")
    yield from missed(laid, "harvest")


def test_rows_beside_small_obstacles_are_worked():
    hold(bare_by_obstacles, POLES)


WATERWAYS = [
    Case(system, path, headland, kind, 20 + seed, 6.0, f"waterway {way}")
    for seed, (system, path, headland, kind, way) in enumerate(
        [
            ("strips", "stated", "none", "convex", "square"),
            ("strips", "stated", "around", "concave", "square"),
            ("row set", "stated", "ends", "ragged", "square"),
            ("relay", "stated", "none", "convex", "slanting"),
            ("strips", "stated", "around", "ragged", "slanting"),
            ("row set", "stated", "none", "concave", "slanting"),
            ("strips", "along straight", "around", "convex", "square"),
            ("strips", "along bent", "none", "convex", "square"),
            ("mixed", "along bent", "around", "ragged", "slanting"),
        ]
    )
]


def through_of(laid):
    """Give the ground to lift through, and all of it that is not its very edge."""
    through = shapely.intersection(shapely.union_all(laid.obstacles), laid.shape)
    inside = shapely.buffer(through, -DRAWN_M)
    shapely.prepare(inside)
    return through, inside


def worked_over(laid):
    """Say what works over ground to lift through: a row, or a machine at its full width.

    At a slant, rows on one side of a machine are still worked while those on the other have met it.
    """
    _, inside = through_of(laid)
    bare_m = laid.layout.rows.intersection(inside).length.sum()
    if bare_m > DRAWN_M:
        yield f"{bare_m:.1f} m of row"
    square = laid.case.obstacles.endswith("square") and laid.case.path == "stated"
    for one in laid.working[laid.working.intersects(inside)].itertuples():
        width_m = laid.width_m(one.machine)
        cross = _across(shapely.intersection(one.geometry, inside), width_m)
        wholly = cross[shapely.covers(inside, cross)]
        if len(wholly):
            yield f"{named(one)}: {len(wholly)} m worked over it {at(wholly[0])}"
        worked_m2 = shapely.intersection(one.swath, inside).area
        if square and one.place == "strips" and worked_m2 > ACROSS_M * width_m:
            yield f"{named(one)}: {worked_m2:.1f} m2 of it under the swath {at(one.geometry)}"


def _across(geometry, width_m):
    """Give the machine's full width at every meter of lines."""
    found = []
    for line in shapely.get_parts(shapely.line_merge(geometry)):
        if shapely.get_dimensions(line) != 1:
            continue
        points = shapely.get_coordinates(shapely.segmentize(line, 1.0))
        way = np.diff(points, axis=0)
        left = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
        middle = (points[1:] + points[:-1]) / 2
        ends = np.stack([middle - left * width_m / 2, middle + left * width_m / 2], axis=1)
        found.extend(shapely.linestrings(ends))
    return np.array(found, dtype=object)


def test_nothing_is_worked_over_ground_to_lift_through():
    hold(worked_over, WATERWAYS)


def not_driven_on(laid):
    """Say which passes end at ground to lift through and go on behind as others."""
    through, _ = through_of(laid)
    for own, polygons in on_lines(laid):
        ground = np.append(polygons, shapely.buffer(through, DRAWN_M))
        for number, other, gap in gaps(own, ground, 3 * BIT_M):
            yield f"{named(own.iloc[0])} and others: {number} goes on as {other} {at(gap)}"
    if laid.case.obstacles.endswith("square") and laid.passes["working"].all():
        yield "no machine is lifted anywhere"


def test_a_pass_goes_on_behind_ground_to_lift_through():
    hold(not_driven_on, WATERWAYS)


def lifted_beside(laid):
    """Say which machines are lifted beside the ground to lift through."""
    through, _ = through_of(laid)
    for one in laid.passes[~laid.passes["working"]].itertuples():
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(one.geometry, 1.0)))
        off_m = shapely.distance(points, through).max() - laid.width_m(one.machine) / 2
        if off_m > SIDE_M:
            yield f"{named(one)}: lifted {off_m:.1f} m beside it {at(one.geometry)}"


def test_machines_are_lifted_nowhere_beside_it():
    hold(lifted_beside, WATERWAYS)


def test_machines_work_all_along_where_there_is_nothing_to_lift_through():
    hold(lifted, POLES)


def test_stretches_of_a_pass_follow_each_other():
    hold(torn, [*WATERWAYS, *POLES])


def test_rows_beside_ground_to_lift_through_are_worked():
    hold(lambda laid: [*missed(laid, "plant"), *missed(laid, "harvest")], WATERWAYS)


def test_passes_say_where_they_work_and_what_they_stop_at():
    for case in (POLES[0], WATERWAYS[0]):
        passes = laid(case).layout.passes
        assert passes["working"].dtype.kind == "b"
        assert all(isinstance(text, str) for text in passes["stops_at"].dropna())
