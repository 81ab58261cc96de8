"""Whether a cart finds a lane beside a combine, and whether its tank lasts where not."""

import numpy as np
import pytest
import shapely
from fields import AROUND, FOOT_M, lay_on, square, texts
from routes import NO_EDGE, SET, blocks_of, dated, side_by_side

from striplay.operations.lanes import EDGE, HEADER, TURN, in_the_way, lane_of
from striplay.operations.stands import standing_at
from striplay.operations.unloading import driven, not_judged, unloading_verdict

CART = '[machines.cart]\ndoes = "haul"\ntread = "120 in"\ntire = "20 in"\n'


def shed(reach="26 ft", side="left", cart=CART, more=""):
    """Give machines with an auger on the platform, and a cart for it."""
    auger = f'auger_reach = "{reach}"\nauger_side = "{side}"\n' if reach else ""
    auger += 'cart = "cart"\n' if cart else ""
    text = dated().replace("[machines.platform]\n", f"[machines.platform]\n{auger}{more}")
    return text.replace("[crops.corn]", f"{cart}[crops.corn]")


class Laid:
    """A field, one harvest of it, and what stands that day."""

    def __init__(self, folder, crop="soybean", shape=None, **given):
        parts = {"headland": NO_EDGE, "strips": SET, "direction": "heading = 0"}
        parts |= {name: given.pop(name) for name in (*parts,) if name in given}
        shape = square(800) if shape is None else shape
        self.layout = lay_on(folder, shape, shed=shed(**given), **parts)
        routes = self.layout.routes
        index = [route.job.name for route in routes].index(f"harvest {crop}")
        self.route = side_by_side(routes[index])
        jobs = [route.job for route in routes]
        self.stands = standing_at(jobs, self.layout.season.days)[index]

    def way(self, route=None):
        route = self.route if route is None else route
        lane = lane_of(self.layout.plan, route.job.machine)
        return in_the_way(route, lane, blocks_of(self.layout), self.layout.ground, self.stands)

    def told(self, route=None, **grain):
        route = self.route if route is None else route
        return list(unloading_verdict(self.layout.plan, route, blocks_of(self.layout),
                                      self.layout.ground, self.stands, **grain))  # fmt: skip


def test_a_lane_lies_a_reach_beside_the_combine_between_the_tires_of_its_cart(tmp_path):
    laid = Laid(tmp_path)
    lane = lane_of(laid.layout.plan, "platform")
    inch = FOOT_M / 12
    assert lane.left
    assert lane.low_m == pytest.approx((26 * 12 - 70) * inch)
    assert lane.high_m == pytest.approx((26 * 12 + 70) * inch)
    assert len(lane.tires_m) == 2
    assert lane.least_m == pytest.approx(16 * FOOT_M)
    assert lane.reaches
    assert lane_of(laid.layout.plan, "corn_head") is None


def test_without_a_cart_the_lane_is_12_ft_wide(tmp_path):
    laid = Laid(tmp_path, cart="")
    lane = lane_of(laid.layout.plan, "platform")
    assert (lane.low_m / FOOT_M, lane.high_m / FOOT_M) == pytest.approx((20, 32))
    assert lane.tires_m == ((lane.low_m, lane.high_m),)


def test_back_and_forth_from_the_west_a_left_auger_meets_standing_crop_on_every_pass(tmp_path):
    laid = Laid(tmp_path)
    assert len(laid.route) > 4
    # north with corn to the west at first, then south with corn to the east
    assert set(laid.way().tolist()) == {"corn", EDGE}


def test_a_right_auger_on_the_way_back_has_what_was_cut_before(tmp_path):
    laid = Laid(tmp_path, side="right")
    way = laid.way()
    first = np.arange(len(way)) % 2 == 0
    assert set(way[first]) == {"soybean"}
    assert set(way[~first]) == {""}


def test_corn_cut_earlier_leaves_a_lane(tmp_path):
    laid = Laid(tmp_path, crop="corn", strips=SET)
    # the corn head has no auger; its platform's job meets stubble once corn is cut
    laid = Laid(tmp_path)
    laid.stands = frozenset()
    way = laid.way()
    assert set(way[:-1]) == {""}


def test_what_lies_outside_the_field_is_no_lane(tmp_path):
    laid = Laid(tmp_path, strips='[[strips]]\ncrop = "soybean"\nrows = 24\n')
    way = laid.way()
    assert way[0] == EDGE  # north along the west side, the auger to its west


def test_a_header_as_wide_as_the_auger_reaches_leaves_no_room(tmp_path):
    laid = Laid(tmp_path, reach="18 ft")
    assert set(laid.way()) == {HEADER}
    short, verdict = laid.told()
    assert (short.kind, short.severity) == ("operations", "mind")
    assert short.text == (
        "platform: its auger reaches 18 ft from its middle, and 21.8 ft would clear half its "
        "header and the cart; a longer auger or a narrower header would do"
    )
    assert "on 0 of" in verdict.text


def test_passes_of_the_headland_are_opened_first(tmp_path):
    laid = Laid(tmp_path, crop="soybean", headland=AROUND.replace("corn", "soybean"))
    edge = laid.route.place == "headland"
    assert edge.any()
    assert set(laid.way()[edge]) == {TURN}
    assert EDGE not in set(laid.way()[~edge])


def test_yes_where_every_pass_has_a_lane(tmp_path):
    laid = Laid(tmp_path, headland=AROUND)
    laid.stands = frozenset()
    (notice,) = laid.told()
    assert (notice.kind, notice.severity) == ("operations", "know")
    count = len(laid.route)
    assert notice.text == (
        f"harvest soybean: platform unloads on the go to its left on all {count} passes"
    )


def test_at_a_cost_where_it_unloads_at_the_ends_and_the_other_order_is_true(tmp_path):
    laid = Laid(tmp_path, headland=AROUND)
    count = len(laid.route)
    (notice,) = laid.told(grain=np.full(count, 900.0), holds=1000.0)
    assert (notice.kind, notice.severity) == ("operations", "mind")
    assert f"on 0 of {count} passes; in the cart's way: standing corn ({count})" in notice.text
    assert "it unloads at the ends, where its tank lasts to" in notice.text
    assert f"it would be on the go on {count // 2}" in notice.text
    turned = driven(laid.route, np.arange(count), np.ones(count, dtype=bool))
    back = driven(laid.route, np.arange(count)[::-1])
    most = max(int((laid.way(one) == "").sum()) for one in (turned, back))
    assert most == count // 2


def test_no_where_the_tank_does_not_last_one_pass_and_there_is_no_lane(tmp_path):
    laid = Laid(tmp_path, headland=AROUND)
    grain = np.full(len(laid.route), 900.0)
    grain[3] = 2500.0
    (notice,) = laid.told(grain=grain, holds=1000.0)
    assert notice.severity == "stop"
    assert "its tank does not last 1 of these, the fullest with 2.5 tanks (at -93." in notice.text
    middle = shapely.get_coordinates(laid.route.line[3].interpolate(0.5, normalized=True))[0]
    assert notice.place == laid.layout.ground.plane.spot(middle)


def test_without_yields_it_is_not_said_that_the_tank_lasts(tmp_path):
    (notice,) = Laid(tmp_path, headland=AROUND).told()
    assert "if its tank lasts: state yield and holds to know" in notice.text


def test_without_a_reach_it_is_not_judged_and_told_once(tmp_path):
    laid = Laid(tmp_path, reach="", cart="")
    assert laid.told() == []
    jobs = [route.job for route in laid.layout.routes]
    assert texts(not_judged(laid.layout.plan, jobs)) == [
        "whether platform, corn_head can unload on the go is not judged: state auger_reach of each"
    ]


@pytest.mark.parametrize(
    ("case", "side"), [("cornered", "left"), ("cornered", "right"), ("pivot", "left")]
)
def test_lanes_are_those_of_swaths_and_rows_cut_by_shapely(tmp_path, case, side):
    """Against rows as lines, less the swaths driven before, over the cart's width."""
    if case == "pivot":
        laid = Laid(tmp_path, shape=square(700), side=side, direction="pivot = [-93.5, 42.0]")
    else:
        laid = Laid(tmp_path, shape=CORNERED, side=side, headland=AROUND)
    route, way = laid.route, laid.way()
    lane = lane_of(laid.layout.plan, "platform")
    rows = laid.layout.rows
    corn = shapely.union_all(rows[rows["crop"] == "corn"].geometry.to_numpy())
    left = shapely.union_all(rows[rows["crop"] == "soybean"].geometry.to_numpy())
    field = shapely.buffer(laid.layout.ground.outline, 0.05)
    toward, kinds = 1 if side == "left" else -1, set()
    for index, line in enumerate(route.line):
        half_m = (lane.high_m - lane.low_m) / 2
        middle = shapely.offset_curve(line, toward * (lane.low_m + half_m), quad_segs=64)
        ground = shapely.buffer(middle, half_m, cap_style="flat")
        met_m = [shapely.length(shapely.intersection(one, ground)) for one in (corn, left)]
        left = shapely.difference(left, shapely.buffer(line, route.width_m / 2, cap_style="flat"))
        out_m2 = shapely.area(shapely.difference(ground, field))
        if any(0.2 < met < 8.0 for met in met_m) or 0.01 < out_m2 < 10.0:
            continue  # a ragged end
        free = out_m2 <= 0.01 and max(met_m) <= 0.2
        assert (way[index] == "") == free, (index, way[index], met_m, out_m2)
        kinds.add(free)
    assert kinds == {True, False}


CORNERED = shapely.Polygon(
    [(-150, -120), (140, -150), (160, 60), (40, 90), (20, 170), (-130, 140)],
    [[(-40, -40), (-10, -50), (0, -10), (-30, 0)]],
)
