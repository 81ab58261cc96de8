"""Check units, seed, rows and fields against published tables and definitions."""

import math

import numpy as np
import pint
import pytest
import shapely
from shapes import QUARTER_M, SQUARE

from striplay.files.plan import read_plan
from striplay.geometry.edges import edges_of
from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends, inset_all_round
from striplay.geometry.sweep import bands, chords
from striplay.section.cover import passes_to_cover
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    INCH_M,
    LENGTH,
    SEED_AMOUNT,
    SEED_RATE,
    SEED_SIZE,
    format_area,
    parse,
    parse_length_m,
)

UREG = pint.UnitRegistry()


def acre_of_rows_m(spacing: str) -> float:
    """Measure all rows of an acre that is 120 rows wide, swept over its edges."""
    spacing_m = parse_length_m(spacing)
    across_m = 120 * spacing_m
    acre = shapely.box(0, 0, ACRE_M2 / across_m, across_m)
    return float(np.sum(chords(edges_of(acre), (np.arange(120) + 0.5) * spacing_m).length_m))


def crop_of(write_plan, **keys):
    """Read a crop with these keys from a plan."""
    lines = "\n".join(f'{key} = "{value}"' for key, value in keys.items())
    text = f'[machines.p]\ndoes = "plant"\nwidth = "10 ft"\n[crops.c]\nplanter = "p"\n{lines}\n'
    return read_plan(write_plan(text)).crops["c"]


# --- units ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "si"),
    [
        ("1 ft", 0.3048),  # the international foot, exact: NIST and NGS, Deprecation of the United
        # States survey foot, Federal Register 85, 2020
        ("1 in", 0.0254),  # exact, by the same definition
        ("1 yd", 0.9144),  # international yard and pound agreement, 1959
        ("1 mi", 1609.344),  # 5280 ft, exact
        ("2640 ft", 804.672),  # side of a quarter section, arithmetic
    ],
)
def test_lengths(text, si):
    assert parse_length_m(text) == pytest.approx(si, rel=1e-15)


def test_the_foot_is_not_the_survey_foot():
    # US survey foot 1200/3937 m, deprecated as of 2023 (the same notice)
    assert parse_length_m("1 ft") != pytest.approx(1200 / 3937, rel=1e-7)
    assert parse_length_m("1 ft") / (1200 / 3937) - 1 == pytest.approx(-2e-6, rel=1e-4)


def test_the_acre_and_the_sections():
    # acre 43,560 square feet = 4,046.8564224 m2, exact; a quarter section 2,640 ft square is
    # 160 ac = 647,497.027584 m2 and a section 640 ac
    assert pytest.approx(4046.8564224, rel=1e-15) == ACRE_M2
    assert pytest.approx(43_560 * FOOT_M**2, rel=1e-15) == ACRE_M2
    assert SQUARE.area == pytest.approx(647_497.027584, rel=1e-12)
    assert format_area(SQUARE.area, "us") == "160.00 ac"
    assert format_area((2 * QUARTER_M) ** 2, "us") == "640.00 ac"


@pytest.mark.parametrize(("kind", "name"), [(LENGTH, "m"), (SEED_RATE, ""), (SEED_AMOUNT, "kg")])
def test_every_unit_agrees_with_pint(kind, name):
    # pint's own unit definitions; its "acre" rests on the survey foot, so areas are spelled in feet
    spelled = {"ac": "43560*foot**2", "acre": "43560*foot**2", "acres": "43560*foot**2",
             "in": "inch", "m2": "m**2", "ft2": "foot**2", "ha": "hectare",
             "seed": "count", "seeds": "count", "lb": "pound", "lbs": "pound"}  # fmt: skip
    si = {"m": "m", "kg": "kg", "seeds": "count", "seeds_per_m2": "count/m**2",
          "kg_per_m2": "kg/m**2"}  # fmt: skip
    for unit in kind.factors:
        top, *bottom = (spelled.get(part, part) for part in unit.split("/"))
        expression = f"({top})" + "".join(f"/({part})" for part in bottom)
        found = parse(f"1 {unit}", kind)
        expected = UREG.parse_expression(expression).to(si[found.si_unit]).magnitude
        assert found.value == pytest.approx(expected, rel=1e-12), unit


def test_a_number_of_seeds_by_weight_agrees_with_pint():
    expected = UREG.Quantity(14_000, "count/pound").to("count/kg").magnitude
    assert parse("14000 seeds/lb", SEED_SIZE).value == pytest.approx(expected, rel=1e-12)


# --- rows -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("spacing", "feet", "inches"),
    # length of row that is 1/1000 acre: arithmetic, to the inch as the Univ. of Tennessee Extension
    # has it (Checking corn populations, 2011, from memory)
    [("15 in", 34, 10), ("20 in", 26, 2), ("30 in", 17, 5), ("36 in", 14, 6), ("38 in", 13, 9)],
)
def test_row_length_of_a_thousandth_of_an_acre(spacing, feet, inches):
    found_in = acre_of_rows_m(spacing) / 1000 / INCH_M
    assert found_in == pytest.approx(12 * feet + inches, abs=0.6)  # the table is to the inch


def test_row_feet_of_an_acre_of_30_inch_rows():
    # arithmetic: 43,560 / 2.5
    assert acre_of_rows_m("30 in") / FOOT_M == pytest.approx(17_424, abs=1e-6)


@pytest.mark.parametrize("width_in", [7.5, 15, 20, 22, 30, 36, 38])
def test_row_feet_of_an_acre_by_its_identity(width_in):
    # exact: 43,560 * 12 / w
    found_ft = acre_of_rows_m(f"{width_in} in") / FOOT_M
    assert found_ft == pytest.approx(43_560 * 12 / width_in, rel=1e-9)


@pytest.mark.parametrize(
    ("spacing", "inches", "seeds"),
    # arithmetic: inches of row for one square foot, 144 / width, and seeds to the foot of row at 35
    # to the square foot, 35 width / 12; to the whole seed as M. Bitzer and J. Herbek have them (A
    # comprehensive guide to wheat management in Kentucky, ID-125, Univ. of Kentucky, from memory)
    [
        ("4 in", 36.0, 12),
        ("6 in", 24.0, 18),
        ("7 in", 20.6, 20),
        ("8 in", 18.0, 23),
        ("10 in", 14.4, 29),
    ],
)
def test_wheat_rows(spacing, inches, seeds):
    spacing_m = parse_length_m(spacing)
    row_m_per_m2 = acre_of_rows_m(spacing) / ACRE_M2
    assert row_m_per_m2 * FOOT_M**2 / INCH_M == pytest.approx(inches, abs=0.05)
    rate = parse("35 seeds/ft2", SEED_RATE).value
    assert rate * spacing_m * FOOT_M == pytest.approx(seeds, abs=0.51)  # the table is whole seeds


# --- seed -----------------------------------------------------------------------------------------


def test_seeds_to_the_foot_of_row(write_plan):
    # arithmetic: 200,000 seeds/ac in 15-in rows = 5.74 seeds/ft; 5 seeds/ft at 15 in = 174,240/ac
    spacing_m = parse_length_m("15 in")
    crop = crop_of(write_plan, rate="200000 seeds/acre")
    assert crop.rate_per_m2 * spacing_m * FOOT_M == pytest.approx(5.74, abs=0.005)
    crop = crop_of(write_plan, rate="174240 seeds/acre")
    assert crop.rate_per_m2 * spacing_m * FOOT_M == pytest.approx(5.0, rel=1e-12)


@pytest.mark.parametrize(("rate", "acres"), [("32000 seeds/acre", 2.5), ("40000 seeds/acre", 2.0)])
def test_a_unit_of_corn(write_plan, rate, acres):
    # 80,000 seeds plant 2.5 ac at 32,000/ac and 2.0 at 40,000 (arithmetic)
    crop = crop_of(write_plan, rate=rate, unit="80000 seeds")
    assert crop.unit_seeds / crop.rate_per_m2 / ACRE_M2 == pytest.approx(acres, rel=1e-12)


@pytest.mark.parametrize(
    ("size", "pounds"),
    # lb/ac of wheat at 35 seeds to the square foot: arithmetic, and the guide named above
    [(12_000, 127), (14_000, 109), (16_000, 95), (18_000, 85), (20_000, 76)],
)
def test_wheat_by_weight(write_plan, size, pounds):
    by_weight = crop_of(write_plan, rate=f"{pounds} lb/acre", seed_size=f"{size} seeds/lb")
    by_number = crop_of(write_plan, rate="35 seeds/ft2")
    assert by_weight.rate_per_m2 == pytest.approx(by_number.rate_per_m2, rel=0.6 / pounds)


def test_oats_by_weight(write_plan):
    # common practice, no source: lb = [stand / (1 - loss)] / (seeds per lb * germination); 1.2
    # million, 15 %, 14,000, 95 % make 106.1 lb (arithmetic)
    crop = crop_of(write_plan, rate="106.1 lb/acre", seed_size="14000 seeds/lb")
    stand = crop.rate_per_m2 * ACRE_M2 * 0.95 * (1 - 0.15)
    assert stand == pytest.approx(1_200_000, rel=5e-4)


# --- widths and fields ----------------------------------------------------------------------------


@pytest.mark.parametrize(("rows", "feet"), [(8, 20), (12, 30), (16, 40), (24, 60)])
def test_swath_of_rows_at_30_inches(write_plan, rows, feet):
    # exact: N rows at spacing s take N * s
    text = f'[machines.p]\ndoes = "plant"\nrows = {rows}\nspacing = "30 in"\n'
    machine = read_plan(write_plan(text)).machines["p"]
    assert machine.width_m / FOOT_M == pytest.approx(feet, rel=1e-12)


def test_fifteen_narrow_rows(write_plan):
    # arithmetic: 15 rows of 15 in are 18 ft 9 in, not 20 ft
    text = '[machines.p]\ndoes = "plant"\nrows = 15\nspacing = "15 in"\n'
    machine = read_plan(write_plan(text)).machines["p"]
    assert machine.width_m == pytest.approx(18 * FOOT_M + 9 * INCH_M, rel=1e-12)


def test_passes_over_a_quarter_section():
    # arithmetic: 88 passes of 12 rows at 30 in
    assert passes_to_cover(QUARTER_M, 12 * 30 * INCH_M) == 88
    assert passes_to_cover(QUARTER_M + 0.01, 12 * 30 * INCH_M) == 89


PLANTER_M = 16 * 30 * INCH_M


def test_headlands_of_60_ft_on_two_ends_of_a_quarter():
    # arithmetic: 7.273 ac
    taken_m2 = SQUARE.area - Ends(SQUARE, 60 * FOOT_M, PLANTER_M).inside(Frame(90)).area
    assert taken_m2 / ACRE_M2 == pytest.approx(7.273, abs=5e-4)


def test_two_passes_of_a_16_row_planter_at_both_ends():
    # arithmetic: 160 ft of a field 1,320 ft wide are 4.848 ac, 8.08 % of 60 ac
    field = shapely.box(0, 0, 60 * ACRE_M2 / (1320 * FOOT_M), 1320 * FOOT_M)
    taken_m2 = field.area - Ends(field, 2 * 16 * 30 * INCH_M, PLANTER_M).inside(Frame(90)).area
    assert taken_m2 / ACRE_M2 == pytest.approx(4.848, abs=5e-4)
    assert taken_m2 / field.area == pytest.approx(0.0808, abs=5e-5)


def test_headland_of_80_ft_round_a_quarter():
    # by hand: 2,480 ft square inside, 18.806 ac of headland,
    # 15.5 sets of 160 ft
    inner = inset_all_round(SQUARE, 80 * FOOT_M)
    assert (SQUARE.area - inner.area) / ACRE_M2 == pytest.approx(18.806, abs=5e-4)
    assert math.sqrt(inner.area) / FOOT_M == pytest.approx(2480, abs=1e-6)


def test_strips_of_the_case_worked_by_hand():
    # the same: corn 36.437 ac, soybean 104.757 ac, strips of 40 and 120 ft in turn over 2,480 ft
    inner = inset_all_round(SQUARE, 80 * FOOT_M)
    bottom_m = inner.bounds[1]
    left_m = bottom_m + 160 * FOOT_M * np.arange(16)
    top_m = bottom_m + 2480 * FOOT_M
    corn = bands(inner, left_m, left_m + 40 * FOOT_M)
    soy = bands(inner, left_m + 40 * FOOT_M, np.minimum(left_m + 160 * FOOT_M, top_m))
    assert shapely.area(corn.polygon).sum() / ACRE_M2 == pytest.approx(36.437, abs=5e-4)
    assert shapely.area(soy.polygon).sum() / ACRE_M2 == pytest.approx(104.757, abs=5e-4)
    widths_m = np.ptp(shapely.bounds(soy.polygon)[:, [1, 3]], axis=1)
    assert np.round(widths_m / FOOT_M, 6).tolist() == [120.0] * 15 + [40.0]


def test_a_pivot_inscribed_in_a_quarter():
    # arithmetic, pi r2 / 43,560: radius 1,320 ft, 125.664 ac, corners 34.336; 1,300 ft, 121.885
    for radius_ft, acres, rounding in ((1320, 125.664, 1e-3), (1300, 121.885, 1e-3)):
        angle = np.arange(20_000) / 20_000 * 2 * math.pi
        circle = shapely.Polygon(
            QUARTER_M / 2 + radius_ft * FOOT_M * np.column_stack([np.cos(angle), np.sin(angle)])
        )
        levels = np.linspace(-2.0, QUARTER_M + 2.0, 160)
        pieces = bands(circle, levels[:-1], levels[1:]).polygon
        assert shapely.area(pieces).sum() / ACRE_M2 == pytest.approx(acres, abs=rounding)
        if radius_ft == 1320:
            corners = bands(shapely.difference(SQUARE, circle), levels[:-1], levels[1:]).polygon
            assert shapely.area(corners).sum() / ACRE_M2 == pytest.approx(34.336, abs=1e-3)
