"""Planter passes of row sets over several strips: at offsets, along curves, in rings, in blocks."""

import numpy as np
import pytest
import shapely
from fields import (
    FOOT_M,
    SHED,
    assert_whole,
    square,
    texts,
    write_line,
    write_plan_for,
    write_shapes,
)

from striplay.files.plan import read_plan
from striplay.flow import lay

ROW_M = 0.762
SHED_12 = SHED.replace("rows = 16", "rows = 12")
NONE = '[headland]\nwhere = "none"\n'
RINGS = 10
EMPTY = "2 corn, 1 empty, 6 soybean, 1 empty, 2 corn"
UNEVEN = "4 corn, 1 empty, 7 soybean"
WAVE = shapely.LineString([(x, 12 * np.sin(x / 150) + 20) for x in np.linspace(-380.0, 380.0, 90)])


def row_set(units, travel="back and forth"):
    return f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\ntravel = "{travel}"\n'


def laid(folder, field, units, travel="back and forth", tables="", **parts):
    path = write_plan_for(
        folder, field, shed=SHED_12, strips=row_set(units, travel) + tables, **parts
    )
    return lay(read_plan(path))


def planted(layout, block=0):
    """Give the lines of a block's planter passes, as driven."""
    (passes,) = (
        one for one in layout.side_by_side
        if (one.operation, one.place, one.block) == ("plant", "strips", block)
    )  # fmt: skip
    return passes.line


def to_left_m(line, points):
    """Give how far to the left of a line points lie; far off where none of it is beside them."""
    places = shapely.points(points)
    along = shapely.line_locate_point(line, places)
    foot, behind, ahead = (
        shapely.get_coordinates(shapely.line_interpolate_point(line, np.maximum(along + d, 0.0)))
        for d in (0.0, -0.3, 0.3)
    )
    way, off = ahead - behind, points - foot
    side = np.sign(way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0])
    beside = line.is_closed | ((along > 0) & (along < line.length))
    return np.where(beside, side * shapely.distance(line, places), np.inf)


def assert_planted_by_its_units(layout, *, off_m=1e-3):
    """Hold a row set's drawing: each row in its strip, under one pass, below the unit it says."""
    plan, section = layout.plan, layout.section
    units = plan.row_set.units
    half_m = len(units) * ROW_M / 2
    both_ways = plan.row_set.travel == "back and forth" and units == units[::-1]
    for index, block in enumerate(layout.laid.blocks):
        rows, strips = block.pieces.rows, block.pieces.strips
        lines = rows.lines(block.path, np.ones(len(rows.kind), dtype=bool))
        ground = block.path.back(strips.polygon)[rows.owner]
        assert shapely.covers(shapely.buffer(ground, 1e-5), lines).all()
        middle = shapely.get_coordinates(
            shapely.line_interpolate_point(lines, 0.5, normalized=True)
        )
        left_m = np.stack([to_left_m(line, middle) for line in planted(layout, index)])
        under = np.abs(left_m) < half_m
        assert (under.sum(axis=0) == 1).all()
        number = len(units) / 2 + 0.5 - left_m[under.argmax(axis=0), np.arange(len(lines))] / ROW_M
        unit = np.rint(number).astype(int)
        assert number == pytest.approx(unit, abs=off_m / ROW_M)
        for kind, own in zip(rows.kind, unit, strict=True):
            row = section.rows[kind]
            assert row.sown[0].crop == units[own - 1]
            assert own == row.unit or (both_ways and own == len(units) + 1 - row.unit)
    areas = layout.areas_m2
    assert sum(areas.values()) == pytest.approx(layout.ground.outline.area, rel=1e-9)


every_set = pytest.mark.parametrize(
    ("units", "travel"),
    [
        ("6 corn, 6 soybean", "back and forth"),
        ("6 corn, 6 soybean", "one way"),
        ("3 corn, 6 soybean, 3 corn", "back and forth"),
        (EMPTY, "back and forth"),
        (UNEVEN, "back and forth"),
        (UNEVEN, "one way"),
    ],
)
PASS_M = 12 * ROW_M
FIELD = shapely.box(-10 * PASS_M, -150, 10 * PASS_M, 150)


@every_set
@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize("offset_ft", [0, 11, 29, 34, 47.5])
def test_rows_at_an_offset_are_planted_by_their_units(tmp_path, units, travel, start, offset_ft):
    direction = f'heading = 0\nstart = "{start}"\noffset = "{offset_ft} ft"'
    layout = laid(tmp_path, FIELD, units, travel, direction=direction, headland=NONE)
    assert_planted_by_its_units(layout)
    assert_whole(layout)
    # the set, and with it a pass, begins outside by the offset
    first_m = offset_ft * FOOT_M % PASS_M
    carrying = [i for i, crop in enumerate(layout.plan.row_set.units) if crop != "empty"]
    numbers = {
        n for n in range(-1, 22) for i in {*carrying, *(11 - i for i in carrying)}
        if 0 < n * PASS_M - first_m + (i + 0.5) * ROW_M < 20 * PASS_M
    }  # fmt: skip
    # a pass over less than half its rows has its middle outside the field, and is not driven
    driven = {n for n in numbers if 0 < (n + 0.5) * PASS_M - first_m < 20 * PASS_M}
    assert len(planted(layout)) == len(driven) >= 20
    left = ("half the rows of a planter pass", "can't be reached by a machine")
    told = [one for one in texts(layout.notices_as_laid) if any(words in one for words in left)]
    assert bool(told) == bool(numbers - driven)


@every_set
def test_passes_turn_back_by_the_set_over_land_in_two_parts(tmp_path, units, travel):
    """No pass has land between the parts: those beyond still run the way their units ask."""
    gap = shapely.box(-60, -200, -60 + 1.9 * PASS_M, 200)
    field = shapely.affinity.rotate(shapely.difference(FIELD, gap), -7, origin=(0, 0))
    layout = laid(tmp_path, field, units, travel, direction="heading = 7", headland=NONE)
    assert_planted_by_its_units(layout)
    assert_whole(layout)


@every_set
@pytest.mark.parametrize("start", ["left", "right"])
def test_rows_along_a_curve_are_planted_by_their_units(tmp_path, units, travel, start):
    write_line(tmp_path, WAVE)
    direction = f'along = "key.geojson"\nstart = "{start}"'
    layout = laid(tmp_path, square(1000), units, travel, direction=direction)
    # a chord of 2 m on a radius of 1,875 m is 0.3 mm off its arc
    assert_planted_by_its_units(layout, off_m=0.01)


@every_set
def test_rows_in_rings_are_planted_by_their_units(tmp_path, units, travel):
    disc = shapely.Point(0, 0).buffer(RINGS * PASS_M, quad_segs=360)
    field = shapely.difference(disc, shapely.Polygon([(0, 0), (200, 30), (200, 95)]))
    direction = "pivot = [-93.5, 42.0]"
    layout = laid(tmp_path, field, units, travel, direction=direction, headland=NONE)
    assert_planted_by_its_units(layout, off_m=0.01)


@pytest.mark.parametrize("units", ["6 corn, 6 soybean", "3 corn, 6 soybean, 3 corn"])
def test_rings_take_a_pass_each(tmp_path, units):
    disc = shapely.Point(0, 0).buffer(RINGS * PASS_M, quad_segs=360)
    layout = laid(tmp_path, disc, units, direction="pivot = [-93.5, 42.0]", headland=NONE)
    assert_planted_by_its_units(layout, off_m=0.01)
    lines = planted(layout)
    assert len(lines) == RINGS
    # whole rings, each a pass farther out, every second one the other way round
    radius_m = (np.arange(RINGS) + 0.5) * PASS_M
    assert shapely.length(lines) == pytest.approx(2 * np.pi * radius_m, rel=1e-4)
    ccw = shapely.is_ccw(lines).tolist()
    assert ccw == [ccw[0], not ccw[0]] * (RINGS // 2)
    # units that read the same both ways may begin either way; else the first stands to the left,
    # and at the center
    if units == "6 corn, 6 soybean":
        assert ccw[0]


@every_set
def test_rows_in_blocks_are_planted_by_their_units(tmp_path, units, travel):
    write_shapes(tmp_path, shapely.box(-500, -500, 0, 500))
    table = '[[blocks]]\nfile = "cut.geojson"\nheading = 30\n'
    layout = laid(tmp_path, square(1320), units, travel, table, direction="heading = 90")
    assert len(layout.laid.blocks) == 2
    assert_planted_by_its_units(layout)
    assert_whole(layout)


def test_a_relay_is_no_part_of_the_planter_s_passes(tmp_path):
    relay = '[[relay]]\ncrop = "rye"\ninto = "corn"\n'
    rye = '[crops.rye]\nplanter = "planter"\nrate = "900000 seeds/acre"\n'
    layout = laid(tmp_path, FIELD, "6 corn, 6 soybean", tables=relay + rye, headland=NONE)
    crops = set(layout.passes[layout.passes["operation"] == "plant"]["crop"])
    assert crops == {"corn + soybean", "rye"}
