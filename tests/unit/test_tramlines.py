"""Booms over many strips: how many passes, where, and the same lines for every crop."""

import numpy as np
import pytest
import shapely
from fields import FOOT_M, SHED, lay_on, square, write_plan_for

from striplay.files.plan import read_plan
from striplay.section.systems import sections_of

NONE = '[headland]\nwhere = "none"\n'
INCH_M = 0.0254


def two_crops(rows):
    return "".join(f'[[strips]]\ncrop = "{crop}"\nrows = {rows}\n' for crop in ("corn", "soybean"))


def shed_of(boom_ft, *, tread="", planter_rows=8):
    wheels = f'tread = "{tread}"\ntire = "15 in"\n' if tread else ""
    return (
        SHED.replace('width = "120 ft"', f'{wheels}width = "{boom_ft} ft"')
        .replace("rows = 16", f"rows = {planter_rows}")
        .replace('"30 ft"', '"20 ft"')
    )


def section_of(folder, strips, shed):
    plan = read_plan(write_plan_for(folder, square(2520), headland=NONE, strips=strips, shed=shed))
    return sections_of(plan)[0]


@pytest.fixture(scope="module")
def wide(tmp_path_factory):
    """A boom of 120 ft over strips of 20 ft, 2,520 ft across without headland."""
    folder = tmp_path_factory.mktemp("wide")
    shed = shed_of(120, tread="120 in")
    return lay_on(folder, square(2520), headland=NONE, strips=two_crops(8), shed=shed)


def sprayed(layout, crop):
    passes = layout.passes
    return passes[(passes["machine"] == "sprayer") & (passes["crop"] == crop)]


@pytest.mark.parametrize("crop", ["corn", "soybean"])
def test_a_boom_makes_as_many_passes_as_it_fits_across(wide, crop):
    """2,520 ft are 21 booms of 120 ft; strip by strip there were 63 passes a crop."""
    passes = sprayed(wide, crop)
    assert len(passes) == 21
    assert passes["length_m"].sum() == pytest.approx(21 * 2520 * FOOT_M, rel=1e-4)
    # by hand: the first amid 0 to 120 ft of the left side, which lies at -1,260
    middles_ft = passes.geometry.bounds["minx"].to_numpy() / FOOT_M
    assert middles_ft == pytest.approx(-1200 + 120 * np.arange(21), abs=0.01)
    under = shapely.union_all(shapely.buffer(passes.geometry, 60 * FOOT_M, cap_style="flat"))
    rows = wide.rows[wide.rows["crop"] == crop].geometry
    assert shapely.length(shapely.intersection(rows, under)).sum() == pytest.approx(
        rows.length.sum(), rel=1e-6
    )


def test_tramlines_are_the_same_for_every_crop(wide):
    corn, soybean = (
        np.sort(sprayed(wide, crop).geometry.bounds["minx"]) for crop in ("corn", "soybean")
    )
    assert corn == pytest.approx(soybean, abs=1e-6)


@pytest.mark.parametrize("tread_in", [60, 64, 90, 120, 150])
def test_wheels_run_between_the_rows(tmp_path, tread_in):
    """Rows stand 15 in from a strip's edges and 30 in apart: all on one grid."""
    shed = shed_of(110, tread=f"{tread_in} in")
    section = section_of(tmp_path, two_crops(8), shed)
    (lines,) = section.tramlines
    for middle_m in lines.middles_m:
        for side in (-1, 1):
            at_in = (middle_m + side * tread_in * INCH_M / 2) / INCH_M
            off_in = abs((at_in - 15 + 15) % 30 - 15)  # from the nearest row
            assert off_in >= 7.5 + 1 - 1e-6  # half the tire, and an inch
    gaps_m = np.diff([*lines.middles_m, lines.middles_m[0] + lines.pattern_m])
    assert gaps_m.max() <= 110 * FOOT_M + 1e-6


def test_a_line_without_a_clear_place_stays_even(tmp_path):
    """Rows of 15 in leave no room of 17 in."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    shed = shed_of(120, tread="120 in", planter_rows=16).replace('"30 in"', '"15 in"')
    (lines,) = section_of(tmp_path, strips, shed).tramlines
    assert lines.middles_m == pytest.approx([60 * FOOT_M])


@pytest.mark.parametrize(
    ("rows", "boom_ft", "sets", "middles_ft"),
    [
        (8, 120, 3, [60]),  # three sets of 40 ft
        (8, 60, 3, [30, 90]),  # lines of 60 ft over 120
        (8, 130, 13, [65, 195, 325, 455]),  # 4 booms are 13 sets; 1 in 3 would be a line more
        (16, 120, 3, [60, 180]),  # 80-ft sets: 2 lines of 120 ft over 3
        (24, 90, None, None),  # 60-ft strips: 2 passes a set; lines of 90 ft make 8 in three
        (48, 120, None, None),  # a strip is a boom
        (64, 120, None, None),  # 160-ft strips are two passes each either way
    ],
)
def test_patterns_by_hand(tmp_path, rows, boom_ft, sets, middles_ft):
    section = section_of(tmp_path, two_crops(rows), shed_of(boom_ft))
    over_strips = [one for one in section.passes if one.operation == "spray"]
    if sets is None:
        assert section.tramlines == ()
        assert over_strips
        return
    (lines,) = section.tramlines
    assert over_strips == []
    assert (lines.machine, lines.crops) == ("sprayer", ("corn", "soybean"))
    assert lines.sets == sets
    assert np.array(lines.middles_m) / FOOT_M == pytest.approx(middles_ft)


def test_sections_meet_the_borders_of_a_row_set(tmp_path):
    """Strips of 15 ft begin 7.5 ft before the set: a boom of five sections of 15 ft does too."""
    strips = '[[row_set]]\nplanter = "planter"\nunits = "3 corn, 6 soybean, 3 corn"\n'
    (lines,) = section_of(tmp_path, strips, shed_of(75, planter_rows=12)).tramlines
    assert lines.sets == 5
    assert np.array(lines.middles_m) / FOOT_M == pytest.approx([30, 105])


TOLD = (
    "sprayer: on tramlines its sections end up to 60 in off the edges of strips; over the neighbor "
    "the label decides"
)


@pytest.mark.parametrize(("sections", "told"), [(12, []), (6, []), (8, [TOLD])])
def test_sections_off_the_edges_of_strips_are_told(tmp_path, sections, told):
    """Strips of 20 ft under a boom of 120: of sections of 15 ft some end 5 ft from an edge."""
    shed = shed_of(120).replace("sections = 12", f"sections = {sections}")
    section = section_of(tmp_path, two_crops(8), shed)
    assert [one.text for one in section.notices if "sections" in one.text] == told


def test_tramlines_shift_alike_at_the_side(tmp_path):
    """On 2,500 ft the last boom reaches out by 20: it shifts in, over both crops the same."""
    shed = shed_of(120, tread="120 in")
    field = shapely.box(-1250 * FOOT_M, -300, 1250 * FOOT_M, 300)
    layout = lay_on(tmp_path, field, headland=NONE, strips=two_crops(8), shed=shed)
    ends_ft = []
    for crop in ("corn", "soybean"):
        middles_ft = np.sort(sprayed(layout, crop).geometry.bounds["minx"]) / FOOT_M
        assert len(middles_ft) == 21
        ends_ft.append(middles_ft)
    assert ends_ft[0] == pytest.approx(ends_ft[1], abs=1e-3)
    assert min(ends_ft[0].min() + 1250, 1250 - ends_ft[0].max()) >= 60 - 1.5  # half a row over
