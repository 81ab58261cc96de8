"""What machines drive, held from outside: by the tables and the plan's text, with shapely alone.

Each test goes through the cases of a path and names every place that falls short, by case.
"""

import math
import re
from itertools import groupby

import geopandas as gpd
import numpy as np
import pytest
import shapely
from driven import (
    BIT_M,
    DRAWN_M,
    SHORTEST_M,
    SIDE_M,
    TOLD_M,
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
from fields import FOOT_M, assert_whole, lay_on, write_line
from matrix import (
    ACROSS_M,
    FARM,
    HEADLANDS,
    PATHS,
    STRAIGHT,
    SYSTEMS,
    Case,
    every_case,
    field_of,
    laid,
    swath,
)

from striplay import save

each_path = pytest.mark.parametrize("path", PATHS)
each_straight = pytest.mark.parametrize("path", STRAIGHT)


@each_path
def test_planted_rows_lie_under_a_planting_pass(path):
    hold(lambda laid: missed(laid, "plant"), every_case(path))


@each_path
def test_rows_lie_under_a_harvest_pass_where_the_crop_has_a_harvester(path):
    hold(lambda laid: missed(laid, "harvest"), every_case(path))


def _shifted(lines):
    """Tell whether lines of one strip and piece lie beside each other."""
    middles = shapely.line_interpolate_point(lines[1:], 0.5, normalized=True)
    return len(middles) > 0 and bool((shapely.distance(middles, lines[0]) > SIDE_M).any())


def planted_twice(laid):
    """Say which rows of strips of one planter pass are planted on another number of lines."""
    passes, rows = over_strips(laid, "plant"), laid.layout.rows
    passes = passes.assign(
        narrow=swath(passes.geometry.to_numpy(), laid.widths_m(passes) / 2 - ACROSS_M)
    )
    wide_m = laid.layout.strips.set_index(["strip", "piece"])["width_m"]
    if "row_set" in laid.raw:  # its passes run over several strips
        return
    for (strip, piece, crop), own in rows[rows["layer"] == 0].groupby(["strip", "piece", "crop"]):
        machine = laid.planter_of(crop, 0)
        if wide_m.loc[(strip, piece)] > laid.width_m(machine) + ACROSS_M:
            continue
        mine = passes[(passes["strip"] == strip) & (passes["machine"] == machine)]
        mine = mine[[laid.sown(crop) == laid.sown(name) for name in mine["crop"]]]
        lines, narrow = mine.geometry.to_numpy(), mine["narrow"].to_numpy()
        middles = shapely.line_interpolate_point(own.geometry.to_numpy(), 0.5, normalized=True)
        if _shifted(mine.loc[mine["piece"] == piece].geometry.to_numpy()):
            continue  # what slanting ends leave of its rows has passes beside
        for middle in middles:
            over = lines[shapely.covers(narrow, middle)]
            feet = shapely.line_interpolate_point(over, shapely.line_locate_point(over, middle))
            if not len(feet) or shapely.distance(feet, feet[0]).max() > SIDE_M:
                yield f"{len(feet)} passes of {machine} over a row of strip {strip} {at(middle)}"
                break


@each_path
def test_a_strip_of_one_planter_pass_is_planted_by_one(path):
    hold(planted_twice, every_case(path))


def in_bits(laid):
    """Say which passes are short, crooked, or go on where another of the same strip stops."""
    working = laid.working
    for one in working[working.geometry.length < SHORTEST_M].itertuples():
        yield f"{named(one)}: only {one.geometry.length:.1f} m {at(one.geometry)}"
    for one in working[~(working.geom_type == "LineString") | ~working.is_simple].itertuples():
        yield f"{named(one)}: is no plain line but {one.geometry.geom_type} {at(one.geometry)}"
    for own, polygons in on_lines(laid):
        for number, other, gap in gaps(own, polygons, BIT_M):
            yield f"{named(own.iloc[0])} and others: {number} goes on as {other} {at(gap)}"


@each_path
def test_no_pass_is_in_bits(path):
    hold(in_bits, every_case(path))


def test_passes_of_plain_fields_are_whole():
    """No machine is lifted where there is nothing to lift through."""
    hold(lifted, every_case("stated"))
    hold(torn, every_case("stated"))


def run_out(laid):
    """Give each pass with how far its middle runs out of the field's land, and where."""
    land = shapely.buffer(laid.shape, DRAWN_M)
    shapely.prepare(land)
    passes = laid.passes
    for one in passes[~shapely.covers(land, passes.geometry)].itertuples():
        out = shapely.difference(one.geometry, land)
        yield one, out


def left_by_too_much(laid):
    """Say which passes run out of the field by more than slanting ends need.

    Common practice, no source: at a slanting end a machine runs on until its last row is done.
    """
    whole = {}
    for one, out in run_out(laid):
        key = (one.operation, one.machine, one.number)
        whole[key] = whole.get(key, 0.0) + out.length
        if whole[key] > laid.width_m(one.machine):
            yield f"{named(one)}: {whole[key]:.1f} m outside the field {at(out)}"


@each_path
def test_the_middle_of_a_pass_leaves_the_field_only_at_slanting_ends(path):
    hold(left_by_too_much, every_case(path))


LEAVES = re.compile(r"outside|beyond|out of|leave|past the|over the (boundary|fence|edge)")


def left_unnoticed(laid):
    """Say which machines run out of the field with no notice that names them."""
    # of the passes, not of the ways between them, which are told of too
    texts = (notice.text for notice in laid.layout.notices_as_passed)
    notices = [text for text in texts if LEAVES.search(text)]
    worst = {}
    for one, out in run_out(laid):
        longest_m = shapely.length(shapely.get_parts(out)).max()
        if longest_m > max(TOLD_M + DRAWN_M, worst.get(one.machine, (0.0,))[0]):
            worst[one.machine] = (longest_m, named(one), at(out))
    for machine, (out_m, name, place) in worst.items():
        if not any(re.search(rf"\b{machine}\b", notice) for notice in notices):
            yield f"{name}: {out_m:.1f} m outside the field {place}, and no notice says so"


@each_path
def test_a_machine_that_leaves_the_field_is_named_in_a_notice(path):
    hold(left_unnoticed, every_case(path))


def order_amiss(laid):
    """Say where passes are not in the order a driver takes them."""
    for (operation, machine), own in laid.passes.groupby(["operation", "machine"]):
        job, numbers = f"{operation} {machine}", own["number"].tolist()
        if numbers != sorted(numbers) or set(numbers) != set(range(1, len(set(numbers)) + 1)):
            yield f"{job}: not numbered 1, 2, 3 ... but {numbers[:12]}"
        wanted = ["headland", "strips"] if operation == "harvest" else ["strips", "headland"]
        by_job = operation not in {"plant", "harvest"}
        for name, some in own.groupby("job") if by_job else [(job, own)]:
            places = [place for place, _ in groupby(some["place"])]
            if places != [place for place in wanted if place in places]:
                yield f"{name}: worked in the order {places}"
        crops = [crop for crop, _ in groupby(own.loc[own["place"] == "strips", "crop"])]
        if len(crops) > len(set(crops)):
            yield f"{job}: goes from crop to crop and back: {crops[:6]}"


@each_path
def test_passes_are_in_the_order_they_are_driven(path):
    hold(order_amiss, every_case(path))


def too_narrow(laid):
    """Say which strips have fewer rows than half a pass of their planter along their whole length.

    An outer row may stand at the ground's edge: of its own ground, half a spacing may be missing.
    """
    if "strips" not in laid.raw:
        return
    strips, field = laid.layout.strips, laid.layout.land_accounts["field"]
    spacing_m = {strip.crop: strip.spacing_m for strip in laid.layout.section.strips}
    headings_deg = np.array(field.get("block_headings_deg", [field["heading_deg"]]))
    for one in strips.itertuples():
        turn = math.radians(headings_deg[getattr(one, "block", 1) - 1] - 90)
        turned = shapely.affinity.rotate(one.geometry, turn, origin=(0, 0), use_radians=True)
        least_m = laid.width_m(laid.planter_of(one.crop, 0)) / 2
        widest_m = _widest_m(turned)
        if widest_m < least_m - spacing_m[one.crop] / 2 - ACROSS_M:
            what = f"strip {one.strip}.{one.piece} of {one.crop} {at(one.geometry)}"
            yield f"{what}: at most {widest_m:.2f} m wide, and half a pass is {least_m:.2f} m"


def _widest_m(polygon):
    """Give the longest chord across x: chords change evenly between vertices, so those tell."""
    low_x, low_y, high_x, high_y = polygon.bounds
    x = np.unique(np.round(shapely.get_coordinates(polygon)[:, 0], 3))
    x = np.concatenate([x - 0.001, x + 0.001])
    x = x[(x > low_x) & (x < high_x)]
    ends = np.stack([np.stack([x, np.full(len(x), y)], axis=1) for y in (low_y - 1, high_y + 1)])
    cuts = shapely.intersection(shapely.linestrings(ends.transpose(1, 0, 2)), polygon)
    return shapely.length(shapely.get_parts(cuts)).max(initial=0.0)


@each_straight
def test_no_strip_is_narrower_than_half_a_planter_pass(path):
    hold(too_narrow, every_case(path))


WRITTEN = [
    Case("strips", "along straight", "none", "several parts", 0, 9.0),
    Case("empty units at the sides", "along bent", "none", "several parts", 80, 4.5),
    Case("strips", "along bent", "around", "concave", 3, 3.0),
    Case("quick crop", "pivot", "none", "ragged", 40, 4.5),
    Case("strips", "pivot", "around", "holed", 2, 3.0),
    Case("strips", "blocks", "none", "ragged", 5, 5.0),
]
"""First laid, strips of the first case overlapped; those of 1, 2 and 4 crossed themselves."""


@pytest.mark.parametrize("case", WRITTEN, ids=str)
def test_strips_are_valid_when_read_back(tmp_path, case):
    layout = laid(case).layout
    save(layout, tmp_path / "out", files=["geojson", "geopackage"])
    for file in ("strips.geojson", "layout.gpkg"):
        layer = {"layer": "strips"} if file.endswith("gpkg") else {}
        read = gpd.read_file(tmp_path / "out" / file, **layer)
        assert len(read) == len(layout.strips), file
        amiss = read[~read.is_valid | read.is_empty]
        said = [
            f"{file}: strip {one.strip}.{one.piece}: {shapely.is_valid_reason(one.geometry)}"
            for one in amiss.itertuples()
        ]
        assert not said
        there = read.to_crs(layout.strips.crs).area.to_numpy()
        assert there == pytest.approx(layout.strips.area.to_numpy(), rel=1e-4, abs=1.0), file


@each_path
def test_areas_add_up_and_nothing_overlaps(path):
    for case in [*every_case(path), *(case for case in WRITTEN if case.path == path)]:
        one = laid(case)
        layout, areas = one.layout, one.layout.land_accounts["areas_m2"]
        try:
            assert_whole(layout)
        except AssertionError as error:
            error.add_note(str(case))
            raise
        assert set(areas) == {"strips", "headland", "obstacles", "leftover"}, case
        whole_m2 = shapely.union_all(layout.field.geometry.to_numpy()).area
        assert sum(areas.values()) == pytest.approx(whole_m2, rel=1e-9), case
        for name in ("strips", "headland", "leftover"):
            drawn_m2 = getattr(layout, name).area.sum()
            assert drawn_m2 == pytest.approx(areas[name], rel=1e-9, abs=1e-6), (case, name)


LONG_M = 300.0
SHED_FT = {"planter": 40.0, "corn_head": 20.0, "platform": 30.0, "sprayer": 120.0}
"""Widths of the machines in the tests' shed: 16 and 8 rows of 30 in, 30 ft and 120 ft."""


def on_rectangle(folder, wide_ft, path, start, **parts):
    """Lay a rectangle, rows along its long side from its left or right; give its passes.

    Columns: `low_ft` and `high_ft`, the edges of the swath from the first side; `middle_ft`.
    """
    half_m = wide_ft * FOOT_M / 2
    side_m = -half_m if start == "left" else half_m
    write_line(folder, shapely.LineString([(side_m, -LONG_M), (side_m, LONG_M)]))
    way = {"stated": "heading = 0", "along": 'along = "key.geojson"'}[path]
    layout = lay_on(
        folder,
        shapely.box(-half_m, -LONG_M / 2, half_m, LONG_M / 2),
        headland=HEADLANDS["none"],
        direction=f'{way}\nstart = "{start}"',
        **parts,
    )
    passes = layout.passes
    east_m = shapely.get_coordinates(shapely.centroid(passes.geometry.to_numpy()))[:, 0]
    middle_ft = (half_m + (east_m if start == "left" else -east_m)) / FOOT_M
    half_ft = np.array([SHED_FT[name] / 2 for name in passes["machine"]])
    return passes.assign(
        middle_ft=middle_ft, low_ft=middle_ft - half_ft, high_ft=middle_ft + half_ft
    )


each_start = pytest.mark.parametrize("start", ["left", "right"])


@each_start
@pytest.mark.parametrize("path", ["stated", "along"])
def test_a_strip_cut_by_a_fence_is_worked_up_to_the_fence(tmp_path, path, start):
    """By hand: 110 ft hold corn from 0 to 40 ft, and soybean from 40 to 110 ft, cut from 120.

    70 ft take three platforms of 30 ft, evenly 20 ft apart and flush with either side; the boom
    covers them at once from their middle. Two heads of 20 ft take 40 ft of corn.
    """
    passes = on_rectangle(tmp_path, 110, path, start)

    def middles_ft(machine, crop):
        own = passes[(passes["machine"] == machine) & (passes["crop"] == crop)]
        return sorted(own["middle_ft"])

    assert middles_ft("platform", "soybean") == pytest.approx([55, 75, 95], abs=0.05)
    assert middles_ft("sprayer", "soybean") == pytest.approx([75], abs=0.05)
    assert middles_ft("corn_head", "corn") == pytest.approx([10, 30], abs=0.05)
    assert middles_ft("planter", "corn") == pytest.approx([20], abs=0.05)


@each_start
@pytest.mark.parametrize("path", ["stated", "along"])
@pytest.mark.parametrize("wide_ft", [80, 110, 123.7, 190])
def test_planters_and_headers_stay_inside_a_fence_along_the_rows(tmp_path, wide_ft, path, start):
    passes = on_rectangle(tmp_path, wide_ft, path, start)
    own = passes[passes["operation"] != "spray"]  # a boom shuts off beyond
    half_row_ft = 15 / 12
    out = own[
        (own["low_ft"] < -half_row_ft - 0.05) | (own["high_ft"] > wide_ft + half_row_ft + 0.05)
    ]
    said = [f"{named(one)}: {one.low_ft:.1f} to {one.high_ft:.1f} ft" for one in out.itertuples()]
    assert not said


def lines_driven(layout, heading_deg):
    """Give each pass by job: how far left its line lies, and from where to where it runs.

    As they are side by side: the order's routes drive these very lines (test_routes.py).
    """
    turn = math.radians(90 - heading_deg)
    ahead = np.array([math.cos(turn), math.sin(turn)])
    jobs = {}
    for one in layout.side_by_side:
        job = (one.operation, one.machine, one.crop)
        for line in one.stretch:
            points = shapely.get_coordinates(line)
            along = points @ ahead
            left = (points @ [-ahead[1], ahead[0]]).mean()
            jobs.setdefault(job, []).append((left, along.min(), along.max()))
    return {job: np.array(found) for job, found in jobs.items()}


@pytest.mark.parametrize("system", ["strips", "relay", "row set"])
def test_rows_along_a_straight_line_are_driven_as_with_its_heading(tmp_path, system):
    """The line runs along the field's left-most place, where the first set begins anyway."""
    said = []
    for seed, kind in enumerate(("convex", "ragged", "concave", "holed", "several parts")):
        shape, heading_deg = field_of(kind, seed, 4.0), 20.0 + 31.0 * seed
        turn = math.radians(90 - heading_deg)
        ahead = np.array([math.cos(turn), math.sin(turn)])
        left = np.array([-ahead[1], ahead[0]])
        side = left * (shapely.get_coordinates(shape) @ left).max()
        write_line(tmp_path, shapely.LineString([side - 500 * ahead, side + 500 * ahead]))
        parts = {"headland": HEADLANDS["none"], "shed": FARM, "strips": SYSTEMS[system]}
        straight = lay_on(tmp_path, shape, direction=f"heading = {heading_deg}", **parts)
        along = lay_on(tmp_path, shape, direction='along = "key.geojson"', **parts)
        one, other = (lines_driven(layout, heading_deg) for layout in (straight, along))
        assert one.keys() == other.keys()
        for job, lines in one.items():
            off_m = np.abs(lines[:, None] - other[job][None]).max(axis=2)
            lost = (off_m.min(axis=1) > 0.25).sum(), (off_m.min(axis=0) > 0.25).sum()
            if any(lost) or len(lines) != len(other[job]):
                counts = f"{len(lines)} passes and {len(other[job])} along the line"
                said.append(f"{kind}, seed {seed}: {' '.join(job)}: {counts}, {lost} unmatched")
    if said:
        pytest.fail("\n".join(said), pytrace=False)
