"""What a layout costs: each part against the layout drawn, or against arithmetic by hand."""

import math

import numpy as np
import pytest
import shapely
from brute import KINDS, everything_reached, random_field
from drawing import SHARE, drawn_cost, off_wish_m2, under
from fields import AROUND, FOOT_M, SHED, STATED, STRIPS, lay_on, square, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.flow import weigh
from striplay.search.cost import PARTS
from striplay.units import ACRE_M2

NONE = '[headland]\nwhere = "none"\n'
SIDE_FT = 1320.0


def parts(layout):
    return dict(layout.laid.parts)


def centered(corners_ft):
    """Give a polygon about the center of the plane, where north is the plane's own."""
    points = np.array(corners_ft) * FOOT_M
    return shapely.Polygon(points - (points.min(axis=0) + points.max(axis=0)) / 2)


def radial_fields(count, seed):
    random = np.random.default_rng(seed)
    for _ in range(count):
        corners = random.integers(4, 20)
        angle = np.linspace(0, 2 * np.pi, corners, endpoint=False) + random.uniform(0, 0.1, corners)
        radius = random.uniform(180, 500, corners)
        yield (
            shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])),
            float(random.uniform(0, 180)),
        )


@pytest.mark.parametrize(("field", "heading_deg"), list(radial_fields(12, 5)))
def test_turns_and_planter_passes_are_those_drawn(tmp_path, field, heading_deg):
    direction = f'heading = {heading_deg}\noffset = "best"'
    layout = lay_on(tmp_path, field, direction=direction, shed=STATED)
    money, planted = 0.0, 0
    for found in under(layout.plan, layout.laid):
        machine = layout.plan.machines[found.machine]
        money += machine.cost_per_s * found.turn_s.sum()
        planted += len(found) * (machine.does == "plant")
    # rows stand half a spacing inside their strip: a tip may hold a pass but no row, or the reverse
    assert layout.laid.blocks[0].choice.passes == pytest.approx(planted, abs=1)
    assert parts(layout)["turns"] == pytest.approx(money, rel=0.02)


@pytest.mark.parametrize(("field", "heading_deg"), list(radial_fields(6, 6)))
def test_land_not_cropped_is_that_drawn(tmp_path, field, heading_deg):
    """But for pieces too narrow to plant that lie amid strips, which the search does not see."""
    direction = f'heading = {heading_deg}\noffset = "best"\nnarrowest = "0.01 ft"'
    layout = lay_on(tmp_path, field, direction=direction)
    areas = layout.areas_m2
    headland = 0.2 * areas["headland"] * 300 / ACRE_M2
    bare = areas["leftover"] * 300 / ACRE_M2
    assert parts(layout)["headland"] == pytest.approx(headland, rel=3e-3)
    assert parts(layout)["bare land"] == pytest.approx(bare, abs=3e-3 * (headland + bare))


ENDS = '[headland]\nwhere = "ends"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n'


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("headland", [ENDS, NONE])
@pytest.mark.parametrize("start", ["left", "right"])
def test_the_whole_cost_is_that_of_the_drawing(tmp_path, kind, headland, start):
    """Areas, passes and rectangles under them, by shapely, against the sums over levels."""
    random = np.random.default_rng(len(kind))
    field, heading = random_field(kind, random), random.uniform(0, 180)
    direction = f'heading = {heading}\noffset = "best"\nstart = "{start}"'
    with everything_reached():
        layout = lay_on(tmp_path, field, headland=headland, direction=direction)
    assert sum(parts(layout).values()) == pytest.approx(
        drawn_cost(layout.plan, layout.laid), rel=0.03
    )


WISHED = SHED.replace("[crops.soybean]", "[crops.soybean]\nshare = 0.6").replace(
    "[crops.corn]", "[crops.corn]\nshare = 0.4"
)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("headland", [AROUND, ENDS, NONE, AROUND.replace("corn", "soybean")])
@pytest.mark.parametrize("offset", ['"best"', '"20 ft"'])
def test_shares_are_those_drawn_headland_included(tmp_path, kind, headland, offset):
    """Polygons of strips and headland, against the sums over levels; narrow sides join it."""
    random = np.random.default_rng(len(kind) + len(headland))
    field, heading = random_field(kind, random), random.uniform(0, 180)
    direction = f"heading = {heading}\noffset = {offset}"
    with everything_reached():
        layout = lay_on(tmp_path, field, headland=headland, direction=direction, shed=WISHED)
    money = off_wish_m2(layout.plan, layout.laid) * SHARE
    # what the drawing leaves out amid strips is up to half a per cent of the land
    half_percent = layout.ground.land.area * SHARE * 0.005
    assert parts(layout)["departure from wished shares"] == pytest.approx(
        money, rel=0.01, abs=half_percent
    )


def test_a_square_along_its_side_by_hand(tmp_path):
    """20 acres in whole sets: 1,280 ft across is 8 sets of 40 + 120 ft, 1,000 ft of row."""
    field = centered([(0, 0), (1280, 0), (1280, 1000), (0, 1000)])
    layout = lay_on(tmp_path, field, headland=NONE, shed=STATED)
    cost = parts(layout)
    # a set: corn 1 planter pass, 1 boom pass, 2 of the header; soybean 3, 1 (120 ft), 4 (30 ft)
    turns = 8 * (4 * 300 * 40 + 2 * 300 * 30 + (2 + 4) * 400 * 35) / 3600
    assert cost["turns"] == pytest.approx(turns, rel=1e-9)
    # each pass is as wide as its share of the strip, so nothing runs over nothing
    assert cost["partial-width passes"] == pytest.approx(0.0, abs=0.05)
    assert cost["headland"] == 0.0
    assert cost["bare land"] == pytest.approx(0.0, abs=0.01)
    assert cost["overlap at point rows"] == pytest.approx(0.0, abs=0.05)
    assert layout.accounts["cost"]["total"] == pytest.approx(sum(cost.values()))


@pytest.mark.parametrize("off_m", [0.0, 0.01, -0.01])
@pytest.mark.parametrize("tilt_m", [0.0, 0.0005, -0.0005])
def test_a_pass_that_ends_at_the_side_works_nothing_twice(tmp_path, off_m, tilt_m):
    """The boom ends at the side with its eighth section, or a hair before or beyond.

    Sides drawn in degrees lie a hair off the rows too.
    """
    half_ft = (7 * 160 + 40 + 80) / 2
    x, tilt = half_ft + off_m / 2 / FOOT_M, tilt_m / FOOT_M
    field = centered([(0, 0), (2 * x, 0), (2 * x + tilt, 1000), (tilt, 1000)])
    layout = lay_on(tmp_path, field, headland=NONE)
    # a centimeter left over is run over; a section more would cost 30 times as much
    assert parts(layout)["overlap at point rows"] == pytest.approx(0.0, abs=0.3)


def test_point_rows_on_a_slanting_end_by_hand(tmp_path):
    """Ends rise 300 ft over 1,280: a pass of width w works w x (300 w / 1280) / 2 twice.

    But a pass ends with its rows, half a spacing inside: of w feet it runs a row's lean less.
    """
    field = centered([(0, 0), (1280, 300), (1280, 1300), (0, 1000)])
    layout = lay_on(tmp_path, field, headland=NONE)
    planter, sprayer = layout.laid.blocks[0].choice.point_rows
    rows, boom = 1 - 2.5 / 40, 1 - 2 * 2.5 / 160  # of the boom 40 and 120 ft are in use
    width_ft = 40.0
    passes = 1280 / width_ft
    triangle_ft2 = width_ft * (width_ft * 300 / 1280) / 2
    both_ends_m2 = 2 * passes * triangle_ft2 * FOOT_M**2
    assert planter.machine == "planter"
    assert planter.area_m2 == planter.without_m2 == pytest.approx(rows * both_ends_m2, rel=0.01)
    assert planter.with_m2 == pytest.approx(rows * both_ends_m2 / 16, rel=0.01)
    # a boom of 120 ft in 12 sections of 10 ft; over the corn strip 40 ft of it are in use
    assert sprayer.area_m2 == sprayer.with_m2 == pytest.approx(boom * both_ends_m2 / 4, rel=0.01)
    whole_m2 = 2.5 * both_ends_m2 * (1 - 2.5 / 100)  # 40 x 2.5 + 120 x 2.5 of 40 x 40 + 120 x 120
    assert sprayer.without_m2 == pytest.approx(whole_m2, rel=0.01)
    money = both_ends_m2 * (rows * 100 + boom / 4 * 30) / ACRE_M2
    assert parts(layout)["overlap at point rows"] == pytest.approx(money, rel=0.01)


@pytest.mark.parametrize(("shut_off", "share"), [('"row"', 1 / 16), ('"none"', 1.0), ("4", 1 / 4)])
def test_shut_off_makes_point_rows_smaller(tmp_path, shut_off, share):
    field = centered([(0, 0), (1280, 300), (1280, 1300), (0, 1000)])
    shed = SHED.replace("rows = 16\n", f"rows = 16\nshut_off = {shut_off}\n")
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed)
    planter = layout.laid.blocks[0].choice.point_rows[0]
    assert planter.area_m2 == pytest.approx(share * planter.without_m2, rel=0.02)


def test_shares_off_the_wish_cost_their_land(tmp_path):
    """A set is a quarter corn; a wish for half leaves a quarter under another crop."""
    shed = SHED.replace("[crops.corn]", "[crops.corn]\nshare = 0.5").replace(
        "[crops.soybean]", "[crops.soybean]\nshare = 0.5"
    )
    field = centered([(0, 0), (1280, 0), (1280, 1000), (0, 1000)])
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed)
    acres = 1280 * 1000 / 43_560
    assert parts(layout)["departure from wished shares"] == pytest.approx(acres / 4 * 50, rel=1e-6)


@pytest.mark.parametrize("wish", [{"corn": 0.7}, {"soybean": 0.3}, {"corn": 0.7, "soybean": 0.3}])
def test_one_wish_said_of_one_crop_or_of_all_costs_alike(tmp_path, wish):
    """A set is a quarter corn: 45 % of the land is soybean where corn is wished, twice or once."""
    shed = SHED
    for crop, share in wish.items():
        shed = shed.replace(f"[crops.{crop}]\n", f"[crops.{crop}]\nshare = {share}\n")
    field = centered([(0, 0), (1280, 0), (1280, 1000), (0, 1000)])
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed)
    money = 0.45 * 1280 * 1000 / 43_560 * 50
    assert parts(layout)["departure from wished shares"] == pytest.approx(money, rel=1e-6)
    assert off_wish_m2(layout.plan, layout.laid) * SHARE == pytest.approx(money, rel=1e-6)


@pytest.mark.parametrize(
    ("cost", "heading_deg", "share_of_worth"),
    [
        ('north_south = "5 per acre"', 90, 1.0),
        ('north_south = "5 per acre"', 0, 0.0),
        ('north_south = "5 per acre"', 30, 0.25),
        ('edge = "east"\nedge_worth = "5 per acre"', 0, 0.0),
        ('edge = "east"\nedge_worth = "5 per acre"', 90, 1.0),
        ('edge = "north"\nedge_worth = "5 per acre"', 60, 0.25),
    ],
)
def test_wishes_for_a_direction(tmp_path, cost, heading_deg, share_of_worth):
    layout = lay_on(
        tmp_path,
        square(SIDE_FT),
        headland=NONE,
        direction=f"heading = {heading_deg}\n[cost]\n{cost}",
    )
    worth = 5 * 40  # 40 acres
    assert parts(layout)["preferences"] == pytest.approx(worth * share_of_worth, rel=1e-4, abs=1e-3)


def test_a_grade_along_the_row_above_the_wish_costs(tmp_path):
    """6 % falling north-east: rows north fall 6 cos 45 = 4.243 %, 2.243 above 2."""
    slope = "[slope]\npercent = 6\ndownhill = 45\nalong_row = 2\n"
    layout = lay_on(tmp_path, square(SIDE_FT), direction=f"heading = 0\n{slope}", headland=NONE)
    above = 6 * math.cos(math.radians(45)) - 2
    assert parts(layout)["preferences"] == pytest.approx(above * 50 * 40, rel=1e-4)
    plan = read_plan(write_plan_for(tmp_path, square(SIDE_FT), headland=NONE,
                                    direction=f'heading = "best"\n{slope}'))  # fmt: skip
    best = weigh(plan).best[0]
    grade = 6 * abs(math.cos(math.radians(best.heading_deg - 45)))
    assert grade <= 2 + 1e-6
    assert dict(zip(PARTS, best.parts, strict=True))["preferences"] == 0


def best_of(folder, field, cost="", direction='heading = "best"', **other):
    plan = read_plan(
        write_plan_for(folder, field, direction=f"{direction}\n[cost]\n{cost}", **other)
    )
    return weigh(plan).best[0]


def test_aims_in_one_word(tmp_path):
    field = shapely.Polygon([(0, 0), (700, 60), (640, 420), (180, 500), (-60, 220)])
    ends = '[headland]\nwhere = "ends"\npasses = 2\nmachine = "planter"\n'
    money, land, passes = (
        best_of(tmp_path, field, f'aim = "{aim}"', headland=ends)
        for aim in ("money", "land", "passes")
    )
    assert money.total <= min(land.total, passes.total)
    of_land, of_money, of_passes = (sum(one.parts[:2]) for one in (land, money, passes))
    assert land.aim == of_land <= min(of_money, of_passes)
    assert passes.passes <= min(money.passes, land.passes)
    assert of_land < of_money or passes.passes < money.passes


def test_offset_stated_is_kept_and_best_is_no_worse(tmp_path):
    field = centered([(0, 0), (2000, 0), (2000, 1330), (0, 1330)])
    laid = {
        offset: lay_on(
            tmp_path, field, direction=f'heading = 0\noffset = {offset}\nnarrowest = "5 ft"'
        )
        for offset in ('"0 ft"', '"33 ft"', '"best"')
    }
    totals = {offset: sum(parts(layout).values()) for offset, layout in laid.items()}
    assert totals['"best"'] <= min(totals.values()) + 1e-9
    first = laid['"33 ft"'].strips
    # the set begins 33 ft outside the land, so 7 of the first strip's 40 ft are left inside
    west = first[first["strip"] == 1].geometry.to_numpy()
    inside = laid['"33 ft"'].laid.blocks[0].inner.bounds[0]
    assert shapely.bounds(west)[:, 2].max() - inside == pytest.approx(7 * FOOT_M, abs=1e-3)


@pytest.mark.parametrize(("headland", "joins"), [(AROUND, True), (NONE, False)])
def test_a_strip_too_narrow_at_the_side_costs_what_is_drawn_of_it(tmp_path, headland, joins):
    """Seven rows of the first strip join the headland beside them, or are left over."""
    off_ft = 160 if headland == AROUND else 0
    half = (4 * 160 + 65 + off_ft) / 2 * FOOT_M
    field = shapely.box(-half, -200, half, 200)
    direction = f'heading = 0\noffset = "{40 - 7 * 2.5} ft"'
    layout = lay_on(tmp_path, field, direction=direction, headland=headland)
    areas = layout.areas_m2
    narrow_m2 = 7 * 0.762 * (400 - (4 * 12.192 if joins else 0))
    assert areas["leftover"] == pytest.approx(0.0 if joins else narrow_m2, abs=0.5)
    lost = (0.2 * areas["headland"] * 300 / ACRE_M2, areas["leftover"] * 300 / ACRE_M2)
    found = (parts(layout)["headland"], parts(layout)["bare land"])
    assert found == pytest.approx(lost, rel=1e-4, abs=0.02)
    assert sum(parts(layout).values()) == pytest.approx(
        drawn_cost(layout.plan, layout.laid), rel=0.01
    )
    assert set(layout.strips[layout.strips["strip"] == 1]["crop"]) == {"soybean"}


def test_point_rows_name_each_machine_once(tmp_path):
    layout = lay_on(tmp_path, square(), strips=STRIPS * 2)
    names = [each.machine for each in layout.point_rows]
    assert names == ["planter", "sprayer"]


@pytest.mark.parametrize(
    ("cost", "said"),
    [
        ('aim = "yield"', "cost.aim"),
        ('land = "300"', "cost.land"),
        ("gain = 2", "cost.gain"),
        ('edge = "up"', "cost.edge"),
        ("tax = 1", "cost.tax"),
    ],
)
def test_faulty_costs_are_refused_by_name(tmp_path, cost, said):
    with pytest.raises(PlanError, match=said):
        read_plan(write_plan_for(tmp_path, square(), direction=f"heading = 0\n[cost]\n{cost}"))
