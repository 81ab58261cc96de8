"""Row sets: what units and travel make, and how they are drawn, counted and weighed."""

import pytest
import shapely
from fields import FOOT_M, SHED, assert_whole, lay_on, square, texts, write_plan_for

from striplay.errors import PlanError
from striplay.files.plan import read_plan
from striplay.plan.systems import read_units
from striplay.section.row_set import fit_row_set
from striplay.section.row_units import (
    field_rows,
    runs,
    stretches,
    units_for_equal_strips,
)
from striplay.section.systems import sections_of

NONE = '[headland]\nwhere = "none"\n'


def units(text):
    """Read units written by letters: A6 B6."""
    return tuple(part[0] for part in text.split() for _ in range(int(part[1:])))


def across(text, *, travel="back and forth", passes=6):
    """Lay some passes side by side, and write the strips that result."""
    planter = units(text)
    rows = []
    for number in range(passes):
        mirrored = travel == "back and forth" and number % 2
        rows += planter[::-1] if mirrored else planter
    return " ".join(f"{run.crop}{run.count}" for run in runs(tuple(rows)))


@pytest.mark.parametrize(
    ("planter", "travel", "field"),
    [
        # arithmetic: back-and-forth travel mirrors every second pass
        ("A6 B6", "back and forth", "A6 B12 A12 B12 A12 B12 A6"),
        ("B3 A6 B3", "back and forth", "B3 A6 B6 A6 B6 A6 B6 A6 B6 A6 B6 A6 B3"),
        ("A4 B8", "back and forth", "A4 B16 A8 B16 A8 B16 A4"),
        ("A2 B8 A2", "back and forth", "A2 B8 A4 B8 A4 B8 A4 B8 A4 B8 A4 B8 A2"),
        # by hand
        ("A6 B6", "one way", "A6 B6 A6 B6 A6 B6 A6 B6 A6 B6 A6 B6"),
        ("A1 B1", "back and forth", "A1 B2 A2 B2 A2 B2 A1"),
        ("A1 B1", "one way", "A1 B1 A1 B1 A1 B1 A1 B1 A1 B1 A1 B1"),
        ("A2 B2", "back and forth", "A2 B4 A4 B4 A4 B4 A2"),
        ("A2 B4 A2", "back and forth", "A2 B4 A4 B4 A4 B4 A4 B4 A4 B4 A4 B4 A2"),
        ("A3 B6 A3", "back and forth", "A3 B6 A6 B6 A6 B6 A6 B6 A6 B6 A6 B6 A3"),
        ("A2 B4", "one way", "A2 B4 A2 B4 A2 B4 A2 B4 A2 B4 A2 B4"),
        ("A8 C4", "back and forth", "A8 C8 A16 C8 A16 C8 A8"),
        ("A4 B4 C4", "back and forth", "A4 B4 C8 B4 A8 B4 C8 B4 A8 B4 C8 B4 A4"),
        ("A12", "back and forth", "A72"),
        ("A4 B8 A4", "one way", "A4 B8 A8 B8 A8 B8 A8 B8 A8 B8 A8 B8 A4"),
    ],
)  # fmt: skip
def test_strips_that_units_and_travel_make(planter, travel, field):
    assert across(planter, travel=travel) == field
    repeat = field_rows(units(planter), back_and_forth=travel == "back and forth")
    strips = stretches(repeat)
    if len({one.crop for one in strips}) < 2:
        return
    # the section's own account says the same: the first strip less what lies before the repeat
    said = []
    while sum(count for _, count in said) < 6 * len(units(planter)):
        said += [[one.crop, len(one.places)] for one in strips]
    said[0][1] += round(strips[0].low)
    first = [f"{crop}{count}" for crop, count in said]
    assert field.split()[: len(first) - 1] == first[: len(field.split())][: len(first) - 1]


@pytest.mark.parametrize(
    ("planter", "narrower"),
    [
        ("A6 B6", "A3 B6 A3"),
        ("A8 B8", "A4 B8 A4"),
        ("A2 B2", "A1 B2 A1"),
        ("A3 B3", None),
        ("A4 B8", None),
        ("A3 B6 A3", None),
    ],
)
def test_units_that_make_narrower_strips(planter, narrower):
    found = units_for_equal_strips(units(planter))
    assert found == (None if narrower is None else units(narrower))


def laid(folder, text, *, travel="back and forth", rows=12, field=None, **parts):
    shed = SHED.replace("rows = 16", f"rows = {rows}")
    strips = f'[[row_set]]\nplanter = "planter"\nunits = {text}\ntravel = "{travel}"\n'
    field = square(1320) if field is None else field
    return lay_on(folder, field, shed=shed, strips=strips, **parts)


def widths(layout):
    return layout.strips.groupby("strip")["rows"].max().tolist()


def test_the_first_side_has_half_a_strip(tmp_path):
    field = shapely.box(0, 0, 24 * 5 * 0.762, 300)
    layout = laid(tmp_path, '"6 corn, 6 soybean"', field=field, headland=NONE)
    assert widths(layout) == [6, 12, 12, 12, 12, 12, 12, 12, 12, 12, 6]
    assert layout.strips["crop"].tolist()[:3] == ["corn", "soybean", "corn"]
    assert_whole(layout)
    planted = layout.passes[layout.passes["operation"] == "plant"]
    # ten whole passes of the planter, each over two strips
    assert len(planted) == 10
    assert set(planted["crop"]) == {"corn + soybean"}
    assert layout.laid.blocks[0].choice.passes == 10


def test_a_list_of_units_is_the_same(tmp_path):
    text = laid(tmp_path, '"3 corn, 6 soybean, 3 corn"')
    listed = laid(tmp_path, [*["corn"] * 3, *["soybean"] * 6, *["corn"] * 3])
    assert widths(text) == widths(listed)


def test_one_way_does_not_mirror(tmp_path):
    field = shapely.box(0, 0, 24 * 3 * 0.762, 300)
    layout = laid(tmp_path, '"6 corn, 6 soybean"', travel="one way", field=field, headland=NONE)
    assert widths(layout) == [6] * 12


def test_seed_is_that_of_each_crop_s_rows(tmp_path):
    field = shapely.box(0, 0, 24 * 5 * 0.762, 300)
    layout = laid(tmp_path, '"4 corn, 8 soybean"', field=field, headland=NONE)
    acres = 120 * 0.762 * 300 / 4046.8564224
    crops = layout.land_accounts["crops"]
    assert crops["corn"]["seeds"] == pytest.approx(34_000 * acres / 3, rel=1e-4)
    assert crops["soybean"]["seeds"] == pytest.approx(140_000 * acres * 2 / 3, rel=1e-4)
    assert crops["corn"]["row_length_m"] == pytest.approx(40 * 300, rel=1e-6)


def test_empty_units_leave_a_gap(tmp_path):
    layout = laid(tmp_path, '"2 corn, 1 empty, 6 soybean, 1 empty, 2 corn"')
    assert set(widths(layout)[1:-1]) == {6, 4}
    assert_whole(layout)
    first = layout.rows[layout.rows["strip"].isin([2, 3])]
    by_row = first.groupby(["strip", "row"]).geometry.first()
    gaps = shapely.distance(by_row.to_numpy()[:-1], by_row.to_numpy()[1:])
    assert sorted({round(float(gap), 3) for gap in gaps}) == [0.762, 1.524]


@pytest.mark.parametrize(
    ("text", "travel", "made", "low"),
    [
        # by hand: crop, rows, rows empty between, width in rows; where the first begins, in rows
        ("2 corn, 1 empty, 6 soybean, 1 empty, 2 corn", "back and forth",
         [("corn", 4, 0, 5.0), ("soybean", 6, 0, 7.0)], -2.5),
        ("1 empty, 4 corn, 2 empty, 4 soybean, 1 empty", "back and forth",
         [("corn", 8, 2, 12.0), ("soybean", 8, 2, 12.0)], -6.0),
        ("1 empty, 4 corn, 2 empty, 4 soybean, 1 empty", "one way",
         [("corn", 4, 0, 6.0), ("soybean", 4, 0, 6.0)], 0.0),
        ("2 corn, 1 empty, 2 corn, 1 empty, 6 soybean", "one way",
         [("corn", 4, 1, 5.5), ("soybean", 6, 0, 6.5)], 0.0),
        ("2 corn, 2 empty, 2 corn, 2 empty, 2 corn, 2 empty", "one way",
         [("corn", 6, 4, 12.0)], -1.0),
    ],
)  # fmt: skip
def test_land_of_empty_units(tmp_path, text, travel, made, low):
    strips = f'[[row_set]]\nplanter = "planter"\nunits = "{text}"\ntravel = "{travel}"\n'
    shed = SHED.replace("rows = 16", "rows = 12")
    (section,) = sections_of(
        read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    )
    found = [(s.crop, s.rows, s.empty, round(s.width_m / 0.762, 9)) for s in section.strips]
    assert found == made
    # a set begins with a pass: a strip whose rows lie on both sides of its edge begins before it
    edges = [section.left_m, *(strip.right_m for strip in section.strips)]
    assert edges[:-1] == pytest.approx([strip.left_m for strip in section.strips])
    assert edges[-1] == pytest.approx(section.left_m + section.width_m)
    assert section.left_m / 0.762 == pytest.approx(low)
    # a strip's first and last row stand as far from its edges where one crop lies on both sides
    for index, strip in enumerate(section.strips):
        at_m = [row.offset_m - strip.left_m for row in section.rows if row.strip == index]
        assert strip.lead_m == pytest.approx(at_m[0] - 0.381)
        if text != "2 corn, 1 empty, 2 corn, 1 empty, 6 soybean":
            assert at_m[0] == pytest.approx(strip.width_m - at_m[-1])


@pytest.mark.parametrize("travel", ["back and forth", "one way"])
@pytest.mark.parametrize("direction", ["heading = 0", 'heading = "best"'])
def test_empty_units_between_rows_are_driven_with_them(tmp_path, travel, direction):
    text = '"2 corn, 1 empty, 2 corn, 1 empty, 5 soybean, 1 empty"'
    shed = SHED.replace("rows = 8", "rows = 5")
    strips = f'[[row_set]]\nplanter = "planter"\nunits = {text}\ntravel = "{travel}"\n'
    layout = lay_on(tmp_path, square(1320), shed=shed.replace("rows = 16", "rows = 12"),
                    strips=strips, headland=NONE, direction=direction)  # fmt: skip
    assert_whole(layout)
    corn = layout.rows[layout.rows["crop"] == "corn"].geometry.to_numpy()
    cut = layout.passes[layout.passes["machine"] == "corn_head"].geometry.to_numpy()
    # five places: two rows, one empty, two rows, in a single header pass
    near = shapely.distance(corn[:, None], cut[None, :]).min(axis=1)
    assert near.max() <= 2 * 0.762 + 1e-3


def test_a_relay_stands_in_skipped_rows(tmp_path):
    text = '"2 corn, 1 empty, 2 corn, 1 empty, 2 corn, 1 empty, 2 corn, 1 empty"'
    strips = (
        f'[[row_set]]\nplanter = "planter"\nunits = {text}\ntravel = "one way"\n'
        '[[relay]]\ncrop = "soybean"\ninto = "corn"\ngap = "50 in"\n'
    )
    shed = SHED.replace("rows = 16", "rows = 12")
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland=NONE)
    assert_whole(layout)
    section = layout.section
    sown = sorted(row.offset_m / 0.762 for row in section.rows if row.layer)
    # by hand: in every skip, the one where repeats meet included
    assert section.left_m / 0.762 == pytest.approx(-0.5)
    assert [round(at, 4) for at in sown] == [2.5, 5.5, 8.5, 11.5]
    assert layout.land_accounts["crops"]["soybean"]["row_length_m"] > 0


def test_units_are_mirrored_in_every_second_pass(tmp_path):
    plan = read_plan(
        write_plan_for(tmp_path, square(), shed=SHED.replace("rows = 16", "rows = 4"),
                       strips='[[row_set]]\nplanter = "planter"\nunits = "2 corn, 2 soybean"\n')
    )  # fmt: skip
    (section,) = sections_of(plan)
    # units 1 and 2 hold corn in either direction
    assert {row.sown[0].crop for row in section.rows if row.unit <= 2} == {"corn"}
    assert {row.sown[0].crop for row in section.rows if row.unit > 2} == {"soybean"}
    assert {row.planter_pass for row in section.rows} == {0, 1}


def test_the_report_says_what_results_and_what_would_be_narrower(tmp_path):
    notices = texts(laid(tmp_path, '"6 corn, 6 soybean"').notices)
    assert notices[0] == (
        "row set, back and forth: strips of 12 rows of corn (30 ft), 12 rows of soybean (30 ft)"
    )
    assert notices[1] == (
        'row set: units = "3 corn, 6 soybean, 3 corn" makes strips of 6 rows, and half of that at '
        "the field's sides"
    )
    assert notices[2] == (
        "row set: 12 rows of corn are no whole number of passes of a header of 8 rows (2 passes): "
        "it takes rows beside; harvest when they are off"
    )


@pytest.mark.parametrize(
    ("units", "platform", "reaches"),
    [
        # by hand: 8 rows are 20 ft: 30 ft reach 5 ft past them, corn stands 15 in past them
        ("2 corn, 8 soybean, 2 corn", "30 ft", True),
        # 4 rows are 10 ft: 15 ft reach 2.5 ft past, corn stands 3.75 ft past, 6 in are kept
        ("3 corn, 1 empty, 4 soybean, 1 empty, 3 corn", "15 ft", False),
        ("3 corn, 1 empty, 4 soybean, 1 empty, 3 corn", "17 ft", True),
        ("3 corn, 6 soybean, 3 corn", "15 ft", False),
    ],
)
def test_a_platform_that_reaches_other_rows_is_named(tmp_path, units, platform, reaches):
    shed = SHED.replace("rows = 16", "rows = 12").replace(
        'width = "30 ft"', f'width = "{platform}"'
    )
    strips = f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    told = " ".join(texts(sections_of(plan)[0].notices))
    assert (f"the header of {platform} on soybean reaches the rows beside" in told) == reaches


@pytest.mark.parametrize(
    ("units", "travel", "header", "passes", "straddles"),
    [
        # by hand: back and forth corn's rows meet their mirror, so the guess row lies amid them
        ("6 corn, 6 soybean", "back and forth", 6, 2, 0),
        ("6 corn, 6 soybean", "back and forth", 12, 1, 1),
        ("6 corn, 6 soybean", "back and forth", 4, 3, 1),
        # 3 rows of corn on either side: its strip of 6 rows spans two planter passes
        ("3 corn, 6 soybean, 3 corn", "back and forth", 6, 1, 1),
        ("3 corn, 6 soybean, 3 corn", "one way", 6, 1, 1),
        ("3 corn, 6 soybean, 3 corn", "back and forth", 3, 2, 0),
        # one way the rows of a run lie within a pass
        ("6 corn, 6 soybean", "one way", 6, 1, 0),
        # a row of one pass, an empty unit, two rows of the next
        ("1 empty, 2 corn, 8 soybean, 1 corn", "one way", 4, 1, 1),
        # two empty units amid 6 rows' ground: a header of 3 takes two rows on either side
        ("1 empty, 2 corn, 6 soybean, 2 corn, 1 empty", "back and forth", 3, 2, 0),
        ("1 empty, 2 corn, 6 soybean, 2 corn, 1 empty", "back and forth", 6, 1, 1),
    ],
)
def test_guess_rows_within_a_strip(tmp_path, units, travel, header, passes, straddles):
    shed = SHED.replace("rows = 16", "rows = 12").replace("rows = 8", f"rows = {header}")
    strips = f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\ntravel = "{travel}"\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    (fit,) = [fit for crop, fit in fit_row_set(plan) if crop == "corn"]
    assert (fit.fits, fit.harvest_passes, fit.straddles) == (True, passes, straddles)
    told = [one for one in texts(sections_of(plan)[0].notices) if "corn strip" in one]
    said = f"row set: corn strip of {fit.width_m / FOOT_M:g} ft fits: {fit.reason}"
    assert told == ([said] if straddles else [])


def test_a_straddle_is_told_like_that_of_strips(tmp_path):
    shed = SHED.replace("rows = 16", "rows = 12").replace("rows = 8", "rows = 6")
    strips = '[[row_set]]\nplanter = "planter"\nunits = "3 corn, 6 soybean, 3 corn"\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    assert texts(sections_of(plan)[0].notices)[1] == (
        "row set: corn strip of 15 ft fits: rows of 2 planter passes; 1 header pass, 1 straddling "
        "a guess row; boom sections miss the strip's edge by 2.5 ft; over the neighbor the label "
        "decides"
    )


def test_a_header_of_other_spacing_is_told(tmp_path):
    shed = SHED.replace("rows = 16", "rows = 12").replace(
        'rows = 8\nspacing = "30 in"', 'rows = 8\nspacing = "20 in"'
    )
    strips = '[[row_set]]\nplanter = "planter"\nunits = "6 corn, 6 soybean"\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    assert texts(sections_of(plan)[0].notices)[2] == (
        "row set: corn strip of 30 ft does not fit: rows of 2 planter passes; rows stand 30 in "
        "apart, the header's 20 in; boom sections miss the strip's edge by 5 ft; over the "
        "neighbor the label decides"
    )


@pytest.mark.parametrize(
    ("units", "said"),
    [
        # by hand: 4 rows of soybean are 10 ft; 12 ft of platform reach 12 in past them. The row
        # beside stands 15 in off, and 6 in are kept
        ("4 corn, 4 soybean, 4 rye",
         ", reaching 1 ft past each side: 3 in too near the neighbor's rows"),
        # half of an empty unit is the strip's own, so on that side it keeps within
        ("4 corn, 4 soybean, 1 empty, 3 rye",
         ", reaching 1 ft past one side: 3 in too near the neighbor's rows"),
        ("3 corn, 1 empty, 4 soybean, 1 empty, 3 rye", None),
    ],
)  # fmt: skip
def test_reach_by_side_of_a_row_set(tmp_path, units, said):
    shed = SHED.replace("rows = 16", "rows = 12").replace('"30 ft"', '"12 ft"')
    shed += '[crops.rye]\nplanter = "planter"\n'
    strips = f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\ntravel = "one way"\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    (fit,) = [fit for crop, fit in fit_row_set(plan) if crop == "soybean"]
    begin = "rows of 1 planter pass; 1 platform cut, 83.3 % of the width used"
    assert fit.fits == (said is None)
    assert fit.reason.startswith(f"{begin}{said or '; boom'}")


def test_one_way_says_that_the_way_back_is_not_reckoned(tmp_path):
    notices = texts(laid(tmp_path, '"6 corn, 6 soybean"', travel="one way").notices)
    assert any("the planter runs back empty" in notice for notice in notices)


@pytest.mark.parametrize("start", ["left", "right"])
def test_passes_lie_on_their_rows(tmp_path, start):
    direction = f'heading = 0\nstart = "{start}"'
    layout = laid(tmp_path, '"6 corn, 6 soybean"', direction=direction)
    planted = layout.passes[
        (layout.passes["operation"] == "plant") & (layout.passes["place"] == "strips")
    ]
    x = sorted(shapely.bounds(planted.geometry.to_numpy())[:, 0])
    assert x[1] - x[0] == pytest.approx(12 * 0.762, abs=1e-3)
    rows = shapely.bounds(layout.rows.geometry.to_numpy())[:, 0]
    # the planter's middle runs between its sixth and seventh row
    assert min(abs(x[3] - row) for row in rows) == pytest.approx(0.381, abs=1e-3)


@pytest.mark.parametrize("text", ['"1 empty, 6 corn, 1 empty"', '"7 empty, 1 corn"'])
def test_header_passes_lie_on_rows_beside_empty_units(tmp_path, text):
    shed = SHED.replace("rows = 8", "rows = 6").replace("rows = 16", "rows = 8")
    strips = f'[[row_set]]\nplanter = "planter"\nunits = {text}\n'
    layout = lay_on(tmp_path, square(1320), shed=shed, strips=strips, headland=NONE)
    cut = layout.passes[layout.passes["machine"] == "corn_head"]
    middles = shapely.bounds(cut.geometry.to_numpy())[:, 0]
    rows = layout.rows.dissolve("strip").geometry
    for number, line in zip(cut["strip"], middles, strict=True):
        low, _, high, _ = rows.loc[number].bounds
        assert line == pytest.approx((low + high) / 2, abs=0.382)


@pytest.mark.parametrize("start", ["left", "right"])
def test_units_lie_as_told_from_the_planter_s_left(tmp_path, start):
    direction = f'heading = 0\nstart = "{start}"'
    layout = laid(tmp_path, '"6 corn, 6 soybean"', direction=direction, headland=NONE)
    planted = layout.passes[layout.passes["operation"] == "plant"].iloc[0].geometry
    (x0, y0), (_, y1) = planted.coords
    corn = layout.rows[layout.rows["crop"] == "corn"].geometry.to_numpy()
    own = [row for row in corn if abs(row.bounds[0] - x0) < 6 * 0.762]
    offset = own[0].bounds[0] - x0
    # corn stands on the planter's left as it drives
    assert (offset < 0) == (y1 > y0)


def test_one_way_passes_all_run_the_same_way(tmp_path):
    layout = laid(tmp_path, '"6 corn, 6 soybean"', travel="one way", headland=NONE)
    planted = layout.passes[layout.passes["operation"] == "plant"].geometry
    up = {line.coords[1][1] > line.coords[0][1] for line in planted}
    assert len(up) == 1


def test_a_search_keeps_passes_whole(tmp_path):
    field = shapely.box(-60 * 0.762, -200, 60 * 0.762, 200)
    layout = laid(tmp_path, '"6 corn, 6 soybean"', field=field, headland=NONE,
                  direction='heading = "best"')  # fmt: skip
    assert layout.laid.blocks[0].choice.passes == 10


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('units = "6 corn, 6 soybeans"', 'no crop "soybeans", did you mean "soybean"?'),
        ('units = "6 corn, 5 soybean"', "are 11, and planter has 16 row units"),
        ('units = "corn and soybean"', 'must be numbers and crops, such as "6 corn, 6 soybean"'),
        ('units = "16 empty"', "plant nothing"),
        ('units = "16 corn"\ntravel = "around"', "row_set[1].travel"),
    ],
)
def test_faulty_row_sets_are_refused(tmp_path, tables, said):
    strips = f'[[row_set]]\nplanter = "planter"\n{tables}\n'
    with pytest.raises(PlanError) as refusal:
        read_plan(write_plan_for(tmp_path, square(), strips=strips))
    assert said in str(refusal.value)


def test_strips_and_a_row_set_exclude_each_other(tmp_path):
    row_set = '[[row_set]]\nplanter = "planter"\nunits = "16 corn"\n'
    strips = f'{row_set}[[strips]]\ncrop = "corn"\nrows = 16\n'
    with pytest.raises(PlanError, match="row_set: can't stand with strips"):
        read_plan(write_plan_for(tmp_path, square(), strips=strips))


def test_units_are_read_as_written():
    assert read_units("1 a,2 b") == ("a", "b", "b")
    with pytest.raises(ValueError, match="numbers and crops"):
        read_units("0 a")
    assert FOOT_M == 0.3048
