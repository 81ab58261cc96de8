"""Strips too narrow to plant at the field's sides are priced as if their land were not there."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from brute import KINDS, random_field
from fields import AROUND, SHED, STRIPS, square, write_plan_for

from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.geometry.edges import edges_of
from striplay.geometry.fold import profile_of
from striplay.geometry.frame import Frame
from striplay.geometry.holes import narrow_holes
from striplay.geometry.slabs import slabs_of
from striplay.layout.blocks import one_block
from striplay.search.cost import BARE, HEADLAND, TURNS, weigh_headings
from striplay.search.land import prepare
from striplay.search.prices import prices_of
from striplay.search.sides import Sides
from striplay.search.turned import LandToWeigh
from striplay.search.weigher import Weigher
from striplay.section.strips import narrowest_m
from striplay.section.systems import sections_of
from striplay.units import ACRE_M2

NONE = '[headland]\nwhere = "none"\n'
BY_ROW = SHED.replace("rows = 16\n", 'rows = 16\nshut_off = "row"\n')
WISHES = SHED.replace("[crops.corn]", "[crops.corn]\nshare = 0.4")
UNEVEN = (
    '[[strips]]\ncrop = "corn"\nrows = 4\n[[strips]]\ncrop = "soybean"\nrows = 40\n'
    '[[strips]]\ncrop = "corn"\nrows = 24\n'
)
TWELVE = SHED.replace("rows = 16\n", "rows = 12\nshut_off = 4\n")
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "6 corn, 6 soybean"\n'
NARROW_CORN = ROW_SET.replace("6 corn, 6 soybean", "2 corn, 8 soybean, 2 corn")
SHORT = 'heading = "best"\nshortest = "0.01 ft"'


def prepared(folder, field, *, direction=SHORT, side="left", **parts):
    """Read a plan on a field; give also the same without a least width."""
    path = write_plan_for(folder, field, direction=f'{direction}\nstart = "{side}"', **parts)
    plan = read_plan(path)
    free = plan.direction.model_copy(update={"narrowest_m": 1e-9})
    return plan, plan.model_copy(update={"direction": free})


def grounds(plan, section):
    """Give edges of what may be too narrow, its row spacing, and how many rows it must have."""
    for least, strip in zip(narrowest_m(plan, section), section.strips, strict=True):
        wanted = int(np.ceil((least - 1e-6) / strip.spacing_m))
        yield strip.left_m, strip.right_m, strip.spacing_m, wanted
    for one in section.passes:
        if one.strip is None:
            yield one.low_m, one.high_m, 0.762, round((one.high_m - one.low_m) / 0.762 / 2)


def edges_between(plan, section, land, frame, offset_m):
    """Find by hand between which y strips are planted, of a set so far outside the land.

    A strip is planted from so many rows on as its least width asks for, and so is a planter pass
    over several.
    """
    left = plan.direction.start == "left"
    _, bottom, _, top = frame.turn(land).bounds
    low, high = (-top, -bottom) if left else (bottom, top)
    begin, end = -np.inf, np.inf
    for left_m, right_m, spacing_m, wanted in grounds(plan, section):
        for number in range(-2, int((high - low) / section.width_m) + 3):
            origin = low - offset_m + number * section.width_m
            first, last = origin + left_m, origin + right_m
            rows = np.arange(first + spacing_m / 2, last, spacing_m)
            if first < low < last < high and np.count_nonzero(rows > low) < wanted:
                begin = last
            if low < first < high < last and np.count_nonzero(rows < high) < wanted:
                end = first
    if begin >= end:
        begin, end = -np.inf, np.inf
    return (-end, -begin) if left else (begin, end)


def weighed_cut(plan, free, section, ground, land, over, heading_deg, offset_m):
    """Weigh land cut off by hand with no least width, and price by hand what is cut off."""
    frame = Frame(heading_deg)
    low, high = edges_between(plan, section, land, frame, offset_m)
    _, bottom, _, top = frame.turn(land).bounds
    band = frame.turn_back(shapely.box(-9e3, max(low, bottom), 9e3, min(high, top)))
    kept, ran = shapely.intersection(land, band), shapely.intersection(over, band)
    left = plan.direction.start == "left"
    moved = top - min(high, top) if left else max(low, bottom) - bottom
    edges = edges_of(kept)
    runs = edges if over is land else edges_of(ran)
    holes = narrow_holes(ran, 40.0)
    cut = replace(ground, edges=edges, runs=runs, area_m2=kept.area, holes=holes)
    prices = prices_of(free, section)
    begin = (offset_m + moved) % section.width_m
    sides = Sides(free, section, prices)
    parts = weigh_headings(free, prices, sides, [cut], [heading_deg], begin)[0]
    aside_m2 = land.area - kept.area
    found = parts.parts[0].copy()
    found[HEADLAND if ground.sides_join else BARE] += aside_m2 * ground.side_per_m2
    return found, aside_m2


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("headland", "shed", "strips"),
    [
        (AROUND, SHED, STRIPS),
        (NONE, BY_ROW, UNEVEN),
        (NONE, WISHES, STRIPS),
        (AROUND, TWELVE, ROW_SET),
        (NONE, TWELVE, NARROW_CORN),
    ],
)
@pytest.mark.parametrize("kind", KINDS)
def test_cost_is_that_of_the_land_without_them(tmp_path, kind, headland, shed, strips, side):
    random = np.random.default_rng(len(kind))
    field = random_field(kind, random)
    plan, free = prepared(tmp_path, field, headland=headland, shed=shed, strips=strips, side=side)
    # a boom on tramlines costs the same wherever sets begin, narrow sides or not
    section = replace(sections_of(plan)[0], tramlines=())
    block = one_block(plan, read_ground(plan))
    ground_at = prepare(plan, block)[1]
    weigher = Weigher(plan, section, ground_at)
    cut_off = 0
    for heading in random.uniform(0, 180, 3):
        land = block.inner_at(Frame(heading))[0]
        for offset in random.uniform(0, section.width_m, 8):
            found = weigher.at_offset(heading, offset)
            ground = ground_at(heading)
            wanted, aside_m2 = weighed_cut(plan, free, section, ground, land, land, heading, offset)
            assert found.parts == pytest.approx(wanted, rel=1e-6, abs=1e-3)
            cut_off += aside_m2 > 1.0
    assert cut_off >= 2


def test_over_obstacles_that_machines_lift_through(tmp_path):
    """Runs are cut off with the land they cross."""
    plan, free = prepared(tmp_path, square(1320), headland=NONE)
    section = sections_of(plan)[0]
    over = shapely.box(-200, -150, 200, 150)
    land = over.difference(shapely.box(-20, -150, -5, 150))
    edges = edges_of(land)
    ground = LandToWeigh(edges, edges_of(over), 0.0, 0.0, land.area, 0.08)
    weigher = Weigher(plan, section, lambda _: ground)
    for heading, offset in ((7.0, 8.0), (7.0, 11.0), (90.0, 9.0), (31.0, 45.0)):
        wanted, aside_m2 = weighed_cut(plan, free, section, ground, land, over, heading, offset)
        assert aside_m2 > 1.0
        assert weigher.at_offset(heading, offset).parts == pytest.approx(wanted, rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(("shed", "strips"), [(SHED, STRIPS), (BY_ROW, UNEVEN), (TWELVE, ROW_SET)])
@pytest.mark.parametrize("kind", KINDS)
def test_all_offsets_at_once_are_each_offset_alone(tmp_path, kind, shed, strips, side):
    random = np.random.default_rng(len(kind) + 1)
    field = random_field(kind, random)
    direction = 'heading = "best"'
    plan, _ = prepared(
        tmp_path, field, direction=direction, headland=NONE, shed=shed, strips=strips, side=side
    )
    section, block = sections_of(plan)[0], one_block(plan, read_ground(plan))
    ground_at = prepare(plan, block)[1]
    weigher, prices = Weigher(plan, section, ground_at), prices_of(plan, section)
    sides = Sides(plan, section, prices)
    for heading in random.uniform(0, 180, 3):
        every = weigh_headings(plan, prices, sides, [ground_at(heading)], [heading], None)[0]
        for index in random.integers(0, prices.steps, 15):
            alone = weigher.at_offset(heading, index * prices.step_m)
            assert alone.parts == pytest.approx(every.parts[index], rel=1e-9, abs=1e-6)
            assert alone.passes == every.passes[index]


def test_holes_near_a_side_count_no_turn_where_they_are_cut_off(tmp_path):
    plan, _ = prepared(tmp_path, square(1320), headland=NONE)
    section, prices = sections_of(plan)[0], prices_of(plan, sections_of(plan)[0])
    holes = [shapely.box(x, -149, x + 2, -147) for x in (-100, 0, 100)]
    holes += [shapely.box(x, 145, x + 2, 146) for x in (-50, 60)]
    land = shapely.box(-200, -150, 200, 150).difference(shapely.union_all(holes))
    edges = edges_of(land)
    ground = LandToWeigh(edges, edges, 0.0, 0.0, land.area, 0.08, holes=narrow_holes(land, 40.0))
    sides = Sides(plan, section, prices)
    every = weigh_headings(plan, prices, sides, [ground], [90.0], None)[0]
    weigher = Weigher(plan, section, lambda _: ground)
    for index in range(0, prices.steps, 40):
        alone = weigher.at_offset(90.0, index * prices.step_m)
        assert alone.parts == pytest.approx(every.parts[index], rel=1e-9, abs=1e-6)


def test_half_a_planter_pass_is_planted_and_less_is_not(tmp_path):
    """Eight rows of sixteen are a strip; seven are headland beside headland, else left over."""
    for headland, share, off_m in ((AROUND, 0.2, 24.384), (NONE, 1.0, 0.0)):
        half_m = (4 * 48.768 + 20) / 2 + off_m  # the far side lies amid soybean
        field = shapely.box(-half_m, -200, half_m, 200)
        plan, free = prepared(tmp_path, field, headland=headland)
        section, block = sections_of(plan)[0], one_block(plan, read_ground(plan))
        ground_at = prepare(plan, block)[1]
        ground = ground_at(0.0)
        with_rule, without = (Weigher(each, section, ground_at) for each in (plan, free))
        long_m = 400 - 2 * off_m
        for rows, planted in ((8, True), (7, False), (1, False)):
            outside = 12.192 - rows * 0.762  # so much of the corn strip is outside
            found = with_rule.at_offset(0.0, outside)
            bare = without.at_offset(0.0, outside)
            if planted:
                assert found.parts == pytest.approx(bare.parts, abs=1e-6)
                continue
            land = share * rows * 0.762 * long_m * 300 / ACRE_M2
            lost = (ground.headland, ground.bare)
            joins = ground.sides_join
            expected = (lost[0] + land * joins, lost[1] + land * (not joins))
            assert (found.parts[HEADLAND], found.parts[BARE]) == pytest.approx(expected, abs=0.02)
            # a pass of planter, boom and one or two headers is not driven
            assert bare.passes - found.passes == 1
            assert found.parts[TURNS] < bare.parts[TURNS]


def test_a_stated_least_width_goes_before(tmp_path):
    field = shapely.box(-150, -200, 150, 200)
    plan, _ = prepared(tmp_path, field, headland=NONE, direction=f'{SHORT}\nnarrowest = "7 ft"')
    section, block = sections_of(plan)[0], one_block(plan, read_ground(plan))
    weigher = Weigher(plan, section, prepare(plan, block)[1])
    passes = [weigher.at_offset(0.0, 12.192 - rows * 0.762).passes for rows in (1, 2, 3, 4)]
    assert passes == [passes[0], passes[0], passes[0] + 1, passes[0] + 1]


def test_on_land_narrower_than_any_strip_may_be_nothing_is_planted(tmp_path):
    plan, free = prepared(tmp_path, square(1320), headland=NONE)
    section, prices = sections_of(plan)[0], prices_of(plan, sections_of(plan)[0])
    land = shapely.box(0, 0, 300, 5.0)
    edges = edges_of(land)
    ground = LandToWeigh(edges, edges, 0.0, 0.0, land.area, 0.08)
    found = weigh_headings(plan, prices, Sides(plan, section, prices), [ground], [90.0], None)[0]
    assert np.isinf(found.money).all()
    assert not found.passes.any()
    assert found.parts[:, :2].sum(axis=1) == pytest.approx(land.area * 0.08)
    assert not found.parts[:, 2:].any()
    alone = weigh_headings(plan, prices, Sides(plan, section, prices), [ground], [90.0], 3.0)[0]
    assert alone.parts[0] == pytest.approx(found.parts[0])
    assert np.isinf(alone.money).all()
    # with no least width it is planted at every offset
    bare = weigh_headings(free, prices, Sides(free, section, prices), [ground], [90.0], None)[0]
    assert np.isfinite(bare.money).all()
    sides = Sides(plan, section, prices)
    assert sides.planted(10.0, 200.0) == (-np.inf, np.inf)
    nothing = profile_of(slabs_of(np.empty((0, 2)), np.empty((0, 2))), 0.0)
    assert sides.gone(nothing, nothing) is None
