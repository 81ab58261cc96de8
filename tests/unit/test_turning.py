"""Check turns between passes: their kind, the room they need, and what is told of it."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from fields import PLANE, sample
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from striplay.ground import Ground
from striplay.operations.turn_room import Room
from striplay.operations.turning import Turner, links_of, turned
from striplay.operations.turns_told import Told, across_notices, turn_notices
from striplay.operations.ways import rings_of, ways_of
from striplay.units import format_about

SOME = settings(max_examples=15, deadline=None, phases=[Phase.explicit, Phase.generate])
EMPTY = shapely.MultiPolygon()
SIDE_M, HEADLAND_M, RADIUS_M = 400.0, 20.0, 6.0
SQUARE = shapely.box(0, 0, SIDE_M, SIDE_M)
TOWED = Turner("planter", 5.0, reversing=False)
DRIVEN = Turner("sprayer", 5.0, reversing=True)


def passes_at(*across_m, low_m=HEADLAND_M, high_m=SIDE_M - HEADLAND_M):
    """Give passes up and down by turns."""
    lines = [shapely.LineString([(x, low_m), (x, high_m)]) for x in across_m]
    return np.array(
        [line if index % 2 == 0 else shapely.reverse(line) for index, line in enumerate(lines)]
    )


def as_drawn(ways):
    """Enter passes one after the other, each where it begins."""
    return np.arange(0, len(ways), 2)


def turns_on(passes, turner=TOWED, *, shape=SQUARE, headland_m=HEADLAND_M, standing=EMPTY):
    ground = Ground(PLANE, shape, shape, EMPTY)
    inner = shapely.buffer(shape, -headland_m, join_style="mitre")
    headland = np.array([shape.difference(inner)] if headland_m else [], dtype=object)
    ways = ways_of(passes, RADIUS_M, rings_of(ground, headland, headland_m))
    return turned(ways, as_drawn(ways), turner, Room.of(ground, standing)), ways


def told(turning, turner=TOWED, headland_m=HEADLAND_M):
    ground = Ground(PLANE, SQUARE, SQUARE, EMPTY)
    return list(turn_notices(turning, Told("plant corn", turner, ground, headland_m, "us")))


def test_a_flat_turn_goes_a_radius_and_the_machines_length_beyond():
    turning, _ = turns_on(passes_at(100, 112, 124))
    assert list(turning.kind) == ["flat", "flat"]
    assert turning.length_m == pytest.approx(12 + (math.pi - 2) * 6)
    assert turning.depth_m == pytest.approx(6 + 5)
    assert turning.room_m == pytest.approx(20, abs=0.02)
    assert turning.over_m.tolist() == [0.0, 0.0]
    assert turning.inside.all()
    assert told(turning) == []


def test_a_bulb_that_fits_is_driven_even_where_the_machine_can_back_up():
    for turner in (TOWED, DRIVEN):
        turning, _ = turns_on(passes_at(100, 106.096), turner)
        assert list(turning.kind) == ["bulb"]
        assert turning.length_m == pytest.approx(36.0495, abs=5e-5)
        assert turning.depth_m == pytest.approx(13.8825 + 5, abs=5e-5)
        assert turning.inside.all()


def test_where_a_bulb_does_not_fit_a_machine_that_can_backs_up():
    narrow = passes_at(100, 106.096, low_m=15, high_m=SIDE_M - 15)
    turning, _ = turns_on(narrow, DRIVEN, headland_m=15)
    assert list(turning.kind) == ["fishtail"]
    assert turning.length_m == pytest.approx(24.7536, abs=5e-5)
    assert turning.reverse_m == pytest.approx(2 * 6 - 6.096)
    assert turning.depth_m == pytest.approx(11)
    assert turning.inside.all()
    assert told(turning, DRIVEN) == []
    turning, _ = turns_on(narrow, TOWED, headland_m=15)
    assert list(turning.kind) == ["bulb"]
    assert turning.reverse_m == pytest.approx(0)
    assert not turning.inside.any()
    assert turning.lacking_m == pytest.approx(13.8825 + 5 - 15, abs=0.02)


def test_what_is_told_where_a_turn_lacks_room():
    narrow = passes_at(100, 106.096, 118.096, low_m=15, high_m=SIDE_M - 15)
    turning, _ = turns_on(narrow, headland_m=15)
    (notice,) = told(turning, headland_m=15)
    assert notice.kind == "operations"
    assert notice.severity == "mind"
    end = turning.place_m[0]
    assert notice.place == PLANE.spot(end)
    assert str(notice) == (
        f"plant corn: 1 of 2 turns (after pass 1) of planter lack room: at {PLANE.place(end)} it "
        "needs 62 ft to turn, 16.4 ft of it for its length, and has 49.2 ft (most need 62 ft); a "
        "headland of 62 ft, a smaller turning_radius, wider strips or a machine that can back up "
        "(reversing = true) would help; its outer end swings farther: mind fences and power lines"
    )


def test_a_fishtail_that_lacks_room_too_is_told_without_backing_up_as_a_cure():
    short = passes_at(100, 106.096, low_m=8, high_m=SIDE_M - 8)
    turning, _ = turns_on(short, DRIVEN, headland_m=8)
    assert list(turning.kind) == ["fishtail"]
    (notice,) = told(turning, DRIVEN)
    assert "it needs 36.1 ft to turn, 16.4 ft of it for its length, and has 26.3 ft (most" in str(
        notice
    )
    assert "wider strips" in str(notice)
    assert "reversing" not in str(notice)


def test_the_worst_place_is_told_and_how_many():
    bumpy = passes_at(100, 112, 124, 136)
    bumpy[1] = shapely.LineString([(112, SIDE_M - 6), (112, HEADLAND_M)])
    turning, _ = turns_on(bumpy)
    (notice,) = told(turning)
    assert str(notice).startswith(
        "plant corn: 1 of 3 turns (after pass 1) of planter lack room: at "
    )
    assert turning.place_m[0].tolist() == [112, SIDE_M - 6]
    assert "has 19.7 ft (most need" in str(notice)


def test_a_turn_over_standing_crop_is_told():
    # the next crop stands in the headland, beside the turn but before neither end
    standing = shapely.box(103, SIDE_M - HEADLAND_M, 109, SIDE_M)
    turning, _ = turns_on(passes_at(100, 112, 124), standing=standing)
    assert turning.over_m[0] > 5
    assert turning.inside.tolist() == [False, True]
    (notice,) = told(turning)
    over = " over crop or ground that is not the field's;"
    assert over in str(notice)
    # and one before an end takes the room there
    standing = shapely.box(110, SIDE_M - 10, 114, SIDE_M)
    turning, _ = turns_on(passes_at(100, 112), standing=standing)
    assert turning.room_m == pytest.approx(10, abs=0.02)
    needs = "it needs 36.1 ft to turn, 16.4 ft of it for its length, and has 32.8 ft (most"
    assert needs in str(told(turning)[0])


def test_far_passes_are_turned_between_along_the_headland():
    turning, ways = turns_on(passes_at(100, 200, 212))
    assert list(turning.kind) == ["along headland", "flat"]
    assert turning.length_m[0] == ways.between_m[1, 2]
    assert turning.depth_m[0] == pytest.approx(6 + 5)
    assert turning.inside.all()


def test_a_turn_with_an_arc_of_over_half_a_circle_is_a_loop():
    passes = passes_at(100, 106)
    passes[1] = shapely.LineString([(106, SIDE_M - HEADLAND_M - 11), (106, HEADLAND_M)])
    turning, _ = turns_on(passes)
    assert list(turning.kind) == ["loop"]
    assert turning.room_m == pytest.approx(20, abs=0.02)  # of the farther end, the first


def test_room_at_a_slanting_end_is_that_of_the_farther_end():
    lean = shapely.Polygon([(0, 0), (400, 0), (400, 700), (0, 300)])
    inner = shapely.buffer(lean, -HEADLAND_M, join_style="mitre")
    lines = [
        shapely.intersection(inner, shapely.LineString([(x, -1), (x, 800)])) for x in (200, 212)
    ]
    passes = np.array([lines[0], shapely.reverse(lines[1])])
    turning, _ = turns_on(passes, shape=lean)
    assert list(turning.kind) == ["flat"]
    assert turning.room_m == pytest.approx(20 * math.sqrt(2), abs=0.05)
    assert turning.place_m[0].tolist() == list(passes[1].coords[0])
    assert turning.depth_m[0] <= 6 + 5 + 1e-6
    assert turning.inside.all()


def test_rounds_that_close_are_not_judged():
    rounds = np.array(
        [shapely.box(r, r, SIDE_M - r, SIDE_M - r).exterior for r in (6.0, 18.0)], dtype=object
    )
    turning, ways = turns_on(rounds)
    assert ways.closed.all()
    assert not turning.judged.any()
    assert told(turning) == []


def steps_ahead_m(pose, free):
    """Walk straight on by decimeters until the ground ends, at most 100 m."""
    heading = math.radians(pose[2])
    for step in range(1, 1000):
        far = step / 10
        place = shapely.Point(pose[0] + far * math.sin(heading), pose[1] + far * math.cos(heading))
        if not free.covers(place):
            return far
    return 100.0


@SOME
@given(st.integers(0, 2**32 - 1))
def test_room_ahead_is_what_walking_finds(seed):
    random = np.random.default_rng(seed)
    pond = shapely.Point(random.uniform(100, 300, 2)).buffer(random.uniform(20, 60))
    standing = shapely.box(0, 150, random.uniform(50, 350), 170)
    shape = SQUARE.difference(pond)
    poses = np.column_stack([random.uniform(0, SIDE_M, (20, 2)), random.uniform(0, 360, 20)])
    room = Room.of(Ground(PLANE, shape, shape, EMPTY), standing)
    free = shape.difference(standing)
    walked_m = np.array([steps_ahead_m(pose, free) for pose in poses])
    # a ray that grazes a corner by a centimeter goes on
    grazing = np.array([steps_ahead_m(pose, shapely.buffer(free, 0.015)) for pose in poses])
    shut = ~shapely.covers(free, shapely.points(poses[:, :2]))
    found_m = np.minimum(room.ahead_m(poses), 100.0)
    assert (found_m >= walked_m - 0.15)[~shut].all()
    assert (found_m <= grazing + 0.15)[~shut].all()


@pytest.mark.parametrize("name", ["pond_ell", "pivot_circle", "two_parts"])
@pytest.mark.parametrize("turner", [TOWED, DRIVEN])
def test_passes_and_turns_of_samples_are_one_path_from_gate_to_gate(name, turner):
    layout = sample(name)
    laid, ground = layout.laid, layout.ground
    rings = rings_of(ground, laid.headland, layout.plan.headland_width_m)
    gate_m = shapely.get_coordinates(ground.outline)[0]
    for passes in layout.driven[::2]:
        ways = ways_of(passes.line, RADIUS_M, rings, gate_m)
        room = Room.of(ground, EMPTY)
        turning = turned(ways, as_drawn(ways), turner, room)
        links = links_of(turning, ways, as_drawn(ways), room)
        assert len(links.line) == len(passes) + 1
        place = gate_m
        for index, line in enumerate(links.line):
            for part in [line, *passes.line[index : index + 1]]:
                points = shapely.get_coordinates(part)
                assert (points[0] == place).all()
                place = points[-1]
        assert (place == gate_m).all()
        assert shapely.length(links.line) == pytest.approx(links.length_m, rel=0.01, abs=0.1)
        assert links.kind[0] == links.kind[-1] == "gate"
        kinds = {
            "flat",
            "bulb",
            "loop",
            "way",
            "along headland",
            "across",
            *(["fishtail"] * turner.reversing),
        }
        assert set(links.kind[1:-1]) <= kinds
        backs_up = links.reverse_m > 0
        assert (links.kind[backs_up] == "fishtail").all()


def test_one_pass_has_no_turn_and_two_ways_to_the_gate():
    turning, ways = turns_on(passes_at(100))
    assert (len(turning), told(turning)) == (0, [])
    room = Room.of(Ground(PLANE, SQUARE, SQUARE, EMPTY), EMPTY)
    links = links_of(turning, ways, as_drawn(ways), room)
    assert list(links.kind) == ["gate", "gate"]
    assert links.length_m[0] == 0.0
    assert links.length_m[1] > SIDE_M - 2 * HEADLAND_M


def test_passes_are_turned_between_in_the_order_and_sense_driven():
    passes = passes_at(100, 112, 124)
    ground = Ground(PLANE, SQUARE, SQUARE, EMPTY)
    headland = np.array([SQUARE.difference(shapely.buffer(SQUARE, -HEADLAND_M))], dtype=object)
    ways = ways_of(passes, RADIUS_M, rings_of(ground, headland, HEADLAND_M))
    # the third pass up, the second down, the first up
    room = Room.of(ground, EMPTY)
    turning = turned(ways, np.array([4, 2, 0]), TOWED, room)
    assert list(turning.kind) == ["flat", "flat"]
    assert [line.coords[0] for line in turning.line] == [(124, 380), (112, 20)]
    assert [line.coords[-1] for line in turning.line] == [(112, 380), (100, 20)]
    links = links_of(turning, ways, np.array([4, 2, 0]), room)
    assert links.line[0].coords[-1] == (124, 20)
    assert links.line[-1].coords[0] == (100, 380)
    # the third up, then the second up too: back along the headland
    turning = turned(ways, np.array([4, 3]), TOWED, room)
    assert list(turning.kind) == ["along headland"]


PARTS = shapely.union(SQUARE, shapely.box(SIDE_M + 40, 0, 2 * SIDE_M + 40, SIDE_M))


def test_where_no_headland_leads_the_way_is_across_and_told_with_the_passes():
    passes = passes_at(100, 112, 524, 536)
    for turner in (TOWED, DRIVEN):
        turning, ways = turns_on(passes, turner, shape=PARTS)
        assert list(turning.kind) == ["flat", "across", "flat"]
        assert (turning.reverse_m == 0.0).all()
        # of turns, only turns are judged
        assert told(turning, turner) == []
        (notice,) = across_told(turning, ways, as_drawn(ways), turner)
        assert (notice.kind, notice.severity) == ("operations", "mind")
        assert notice.place == PLANE.spot(ways.out[3, :2])
        straight = format_about(turning.length_m[1], "us")
        assert str(notice) == (
            f"spray corn: no headland leads {turner.name} from pass 2 to 3; cross by the gate or "
            "road, or round a pond along a strip's edge; way not planned: lengths and hours count "
            f"a straight line of {straight}, and what is driven is longer"
        )
        assert across_told(turning, ways, np.array([0, 3]), turner) == []


def across_told(turning, ways, entered, turner):
    ground = Ground(PLANE, PARTS, PARTS, EMPTY)
    links = links_of(turning, ways, entered, Room.of(ground, EMPTY))
    job = Told("spray corn", turner, ground, HEADLAND_M, "us")
    return list(across_notices(ways, entered, links, job))


def test_no_way_of_the_pond_field_leaves_the_field_or_runs_over_crop():
    layout = sample("pond_ell")
    land = layout.ground.rowed
    crop = land.difference(shapely.union_all(layout.laid.headland))
    for route in layout.routes:
        ways = route.links.line
        assert shapely.length(shapely.difference(ways, land)).max() < 2.0
        assert shapely.length(shapely.intersection(ways, crop)).max() < 0.1
        assert not np.isin(route.links.kind.astype(str), ["across", "way"]).any()
        assert route.notices == ()


def test_a_turn_that_lacks_room_beside_an_obstacle_names_it_and_asks_for_headland_there():
    shed = shapely.box(97, SIDE_M - 12, 103, SIDE_M - 5)
    land = SQUARE.difference(shed)
    ground = Ground(PLANE, SQUARE, land, shed, named=(("shed", shed),))
    inner = shapely.buffer(SQUARE, -HEADLAND_M, join_style="mitre")
    rings = rings_of(ground, np.array([land.difference(inner)]), HEADLAND_M)
    ways = ways_of(passes_at(100, 112), RADIUS_M, rings)
    turning = turned(ways, as_drawn(ways), TOWED, Room.of(ground, EMPTY))
    (notice,) = turn_notices(turning, Told("plant corn", TOWED, ground, HEADLAND_M, "us"))
    at = PLANE.place(turning.place_m[0])
    assert f"lack room: at {at}, beside shed, it needs 36.1 ft to turn" in str(notice)
    assert "; more headland just there or a smaller turning_radius would" in str(notice)


def test_few_turns_over_crop_are_the_drivers_to_see_to_but_none_out_of_the_field():
    passes = passes_at(*range(100, 280, 12))
    crop = shapely.box(90, HEADLAND_M, 290, SIDE_M - HEADLAND_M)
    crop = crop.union(shapely.box(126, SIDE_M - 20, 134, SIDE_M))
    turning, _ = turns_on(passes, standing=crop)
    assert np.flatnonzero(~turning.inside).tolist() == [2]
    assert not turning.off_m.any()
    (notice,) = told(turning)
    assert notice.severity == "know"
    (notice,) = told(replace(turning, off_m=turning.over_m))
    assert notice.severity == "mind"


def test_rather_over_some_crop_than_out_of_the_field():
    """At a slanting edge a headland of a radius and a half is too narrow to turn along it."""
    field = shapely.Polygon([(0, 0), (SIDE_M, 0), (SIDE_M, 340), (0, 600)])
    crop = shapely.buffer(field, -9, join_style="mitre")
    up = shapely.intersection(shapely.LineString([(200, -1), (200, 999)]), crop)
    down = shapely.intersection(shapely.LineString([(224, 999), (224, -1)]), crop)
    turning, ways = turns_on(np.array([up, down]), shape=field, standing=crop, headland_m=9)
    usual = ways.turns(np.array([1]), np.array([2])).lines()
    assert shapely.length(shapely.difference(usual, field)) > 3.0
    assert turning.off_m[0] == 0.0
