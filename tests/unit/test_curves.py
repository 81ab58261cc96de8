"""Rows along a line and about a pivot: spacing, length, area, and lines that can't be followed."""

import math

import numpy as np
import pytest
import shapely
from fields import (
    FOOT_M,
    PLANE,
    SHED,
    lay_on,
    square,
    texts,
    write_line,
    write_plan_for,
    write_shapes,
)

from striplay.errors import BoundaryError
from striplay.geometry.curves import (
    CurveError,
    extended,
    key_line,
    rings_about,
    smooth,
    track_along,
)
from striplay.geometry.frame import Frame
from striplay.geometry.path import Curved
from striplay.operations.travel import joined

NONE = '[headland]\nwhere = "none"\n'
SHIFTED = (
    "passes shifted inward along the boundary (1 of sprayer): up to 80 ft of a machine over ground "
    "worked before or after; shut those sections, or it is sprayed twice"
)
TIGHT = SHED.replace('does = "plant"', 'does = "plant"\nturning_radius = "40 ft"')
ALONG = 'along = "key.geojson"'
UNTOLD = "no turning_radius is given, so rows may bend too tightly to be driven"


def wave(height_m, length_m, from_m=-380.0, to_m=380.0):
    x = np.linspace(from_m, to_m, 90)
    return shapely.LineString(np.column_stack([x, height_m * np.sin(x / length_m) + 20]))


def arc(radius_m, from_deg, to_deg):
    angle = np.radians(np.linspace(from_deg, to_deg, 400))
    return shapely.LineString(radius_m * np.column_stack([np.cos(angle), np.sin(angle)]))


def gaps_m(layout):
    """Measure from points along every row to the next row of its own strip."""
    rows = layout.rows
    found = []
    for _, own in rows.groupby(["strip", "piece"]):
        by_row = {n: shapely.union_all(r.geometry.to_numpy()) for n, r in own.groupby("row")}
        for number, line in by_row.items():
            if number + 1 in by_row:
                points = shapely.points(shapely.get_coordinates(shapely.segmentize(line, 7.0)))
                other = by_row[number + 1]
                # leave out points beyond whose foot the next row has already ended
                near = shapely.line_locate_point(shapely.get_parts(other)[0], points)
                inner = (near > 0.5) & (near < shapely.get_parts(other)[0].length - 0.5)
                if shapely.get_num_geometries(other) == 1 and inner.any():
                    found.append(shapely.distance(points[inner], other))
    return np.concatenate(found)


@pytest.mark.parametrize("line", [wave(20, 90), wave(45, 170), arc(700, 60, 120)])
def test_neighboring_rows_are_the_spacing_apart_to_a_centimeter(tmp_path, line):
    write_line(tmp_path, shapely.affinity.translate(line, 0, -line.centroid.y))
    layout = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    assert np.abs(gaps_m(layout) - 0.762).max() < 0.01


@pytest.mark.parametrize("line", [wave(20, 90), wave(45, 170)])
def test_nothing_crosses_and_accounts_close(tmp_path, line):
    write_line(tmp_path, line)
    layout = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    rows = layout.rows.geometry.to_numpy()
    assert shapely.is_simple(rows).all()
    one, other = shapely.STRtree(rows).query(rows, predicate="intersects")
    assert not (one < other).any()
    ground = np.concatenate([layout.strips.geometry.to_numpy(),
                             layout.leftover.geometry.to_numpy()])  # fmt: skip
    assert shapely.is_valid(ground).all()
    one, other = shapely.STRtree(ground).query(ground, predicate="intersects")
    pairs = one < other
    shared = shapely.area(shapely.intersection(ground[one[pairs]], ground[other[pairs]]))
    assert shared.max(initial=0.0) < 1e-6
    assert sum(layout.areas_m2.values()) == pytest.approx(
        layout.land_accounts["field"]["area_m2"], rel=1e-9
    )


def test_a_row_length_is_that_of_its_arc(tmp_path):
    """On an arc of radius R all rows are arcs; the field is a sector, so each is angle x radius."""
    angle = math.radians(60)
    outer, inner = arc(800, 60, 120), arc(400, 120, 60)
    sector = shapely.Polygon([*outer.coords, *inner.coords])
    sector = shapely.affinity.translate(sector, 0, -600)
    write_line(tmp_path, shapely.affinity.translate(arc(600, 62, 118), 0, -600))
    # the outermost strips are cut to 4.9 m, and are to count too
    direction = f'{ALONG}\nnarrowest = "1 in"'
    layout = lay_on(tmp_path, sector, direction=direction, headland=NONE)
    length_m = layout.rows["length_m"].sum()
    area = layout.areas_m2["strips"]
    assert area == pytest.approx(angle / 2 * (800**2 - 400**2), rel=1e-3)
    # row length x spacing is the area, but for the outermost rows' edges
    assert length_m * 0.762 == pytest.approx(area, rel=3e-3)


def test_strip_area_is_width_times_center_line_for_any_line():
    """Steiner: a band between distances a and b has the area (b - a) L + (b2 - a2) / 2 x turn.

    L is the length of the line itself and `turn` how far it turns in all, to the right positive for
    distances to the left; with the center line's length instead of L nothing is left over but what
    corners of a chain add.
    """
    line = np.array(wave(20, 90).coords)
    points = extended(line, 400.0)
    driven = smooth(points, np.full(len(points), 60.0), np.full(len(points), 60.0), 12.0)
    track = track_along(driven)
    for low_m, high_m in ((0.0, 12.192), (12.192, 48.768), (-48.768, -12.192)):
        area = shapely.area(track.bands(np.array([low_m]), np.array([high_m])))[0]
        center = shapely.length(track.lines(np.array([(low_m + high_m) / 2])))[0]
        assert area == pytest.approx((high_m - low_m) * center, rel=1e-9)
        step = np.diff(driven, axis=0)
        way = np.arctan2(step[:, 1], step[:, 0])
        turn_rad = way[-1] - way[0]
        length_m = np.hypot(*step.T).sum()
        steiner = (high_m - low_m) * length_m - (high_m**2 - low_m**2) / 2 * turn_rad
        assert area == pytest.approx(steiner, rel=2e-3)


def test_rings_have_the_length_and_area_of_circles():
    track = rings_about(np.array([10.0, -20.0]))
    radius_m = np.array([0.381, 12.192, 100.0, 402.336])
    lengths = shapely.length(track.lines(radius_m))
    assert lengths == pytest.approx(2 * math.pi * radius_m, rel=1e-6)
    low, high = radius_m[:-1], radius_m[1:]
    areas = shapely.area(track.bands(low, high))
    assert areas == pytest.approx(math.pi * (high**2 - low**2), rel=1e-6)


@pytest.mark.parametrize(
    ("rows_deg", "runs_deg"),
    [
        ([(10, 50), (40, 90)], [(10, 90)]),
        ([(10, 50), (60, 90)], [(10, 50), (60, 90)]),
        # a row across north reaches over those that begin beyond it
        ([(300, 430), (5, 20), (30, 50), (100, 120)], [(100, 120), (300, 430)]),
        ([(300, 380), (15, 60), (59, 200)], [(300, 560)]),
        # rows that reach all round are a whole ring, from where its first begins
        ([(200, 380), (15, 210)], [(15, 375)]),
        ([(0, 360), (20, 60)], [(0, 360)]),
    ],
)
def test_runs_of_a_ring_are_as_long_as_its_rows_go_on(rows_deg, runs_deg):
    def drawn(radius_m, low_deg, high_deg):
        angle = np.radians(np.linspace(low_deg, high_deg, 2000))
        line = radius_m * np.column_stack([np.sin(angle), np.cos(angle)])
        line[-1] = line[0] if high_deg - low_deg == 360 else line[-1]
        return shapely.LineString(line)

    rows = np.array([drawn(95.0 + i, *ends) for i, ends in enumerate(rows_deg)])
    rows[::2] = shapely.reverse(rows[::2])
    path = Curved(rings_about(np.zeros(2)), Frame(0.0))
    spans = path.spans(rows, 95.0 + np.arange(len(rows)))
    run, *found = joined(np.full(len(rows), 7), *spans, path.around)
    assert pytest.approx(np.array(runs_deg), abs=1e-3) == np.degrees(found).T
    assert set(run) == set(range(len(runs_deg)))
    lines = path.lines(*found, np.full(len(runs_deg), 100.0))
    for line, ends in zip(lines, runs_deg, strict=True):
        assert shapely.hausdorff_distance(line, drawn(100.0, *ends)) < 0.1
        assert line.length == pytest.approx(100 * math.radians(ends[1] - ends[0]), rel=1e-4)


def pivot(folder, field=None, shortest="66 ft", **parts):
    circle = shapely.Point(0, 0).buffer(1320 * FOOT_M, quad_segs=180) if field is None else field
    direction = f'pivot = [-93.5, 42.0]\nshortest = "{shortest}"'
    return lay_on(folder, circle, direction=direction, **parts)


def test_ring_sectors_of_known_radius(tmp_path):
    """A quarter of a pivot: every row is a quarter of its circle, every strip of its ring."""
    quarter = shapely.box(0, 0, 400, 400).intersection(
        shapely.Point(0, 0).buffer(402.0, quad_segs=4000)
    )
    # three sets of 48.768 m and a strip: rings up to 158.5 m are whole in the box
    layout = pivot(tmp_path, quarter, headland=NONE, shortest="1 in")
    # the plane stands on the middle of the field, so the corner lies where it was put to 1e-9
    rows = layout.rows
    strips = layout.strips
    pieces = 0
    for number in range(2, 8):
        width_m = [48 * 0.762, 16 * 0.762][number % 2]
        low_m = (number - 1) // 2 * 48.768 + (0 if number % 2 else 12.192)
        own = strips[strips["strip"] == number]
        ring_m2 = math.pi / 4 * ((low_m + width_m) ** 2 - low_m**2)
        assert own["area_m2"].sum() == pytest.approx(ring_m2, rel=1e-6)
        for _, row in rows[rows["strip"] == number].iterrows():
            radius_m = low_m + (row["row"] - 0.5) * 0.762
            assert row["length_m"] == pytest.approx(math.pi / 2 * radius_m, rel=1e-6)
            pieces += 1
    assert pieces == 3 * 64


def test_pivot_rows_keep_off_the_center_by_the_turning_radius(tmp_path):
    layout = pivot(tmp_path, headland=NONE, shed=TIGHT)
    center = shapely.Point(layout.ground.plane.to_plane(np.array([[-93.5, 42.0]]))[0])
    assert shapely.distance(layout.rows.geometry.to_numpy(), center).min() >= 40 * FOOT_M - 0.01
    said = texts(layout.notices)
    # without a headland machines get from ring to ring over what stands; each job is told so
    across = [text for text in said if "no clear way" in text]
    assert len(across) == len(layout.routes)
    assert [text for text in said if text not in across] == [
        f"corn_head, platform, sprayer: {UNTOLD}",
        "rings nearer than 40 ft to the pivot are not planted: machines turn no tighter",
        # 33 strips of 40 ft fill the circle, and the boom of 120 ft keeps inside on the outermost
        SHIFTED,
    ]
    assert layout.areas_m2["leftover"] == pytest.approx(math.pi * (40 * FOOT_M) ** 2, rel=1e-3)


def test_a_pivot_far_off_is_refused(tmp_path):
    with pytest.raises(BoundaryError) as refusal:
        lay_on(tmp_path, square(), direction="pivot = [42.0, -93.5]".replace("-93.5", "-80.5"))
    assert str(refusal.value) == (
        "plan.toml: direction.pivot: 42, -80.5 is not near the field; give longitude first, then "
        "latitude"
    )


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ([shapely.Point(0, 0)], "holds no line to follow"),
        (
            [shapely.LineString([(-99, 0), (0, 0)]), shapely.LineString([(50, 9), (99, 0)])],
            "its lines do not join into one",
        ),
        ([shapely.LinearRing([(0, 0), (90, 0), (90, 90)])], "is closed; open it, or give a pivot"),
        ([shapely.LineString([(-99, 0), (99, 0), (99, 99), (0, -99)])], "crosses itself"),
        (
            [shapely.LineString([(0, 0), (0, 200), (40, 200), (40, 100), (-90, 100)])],
            "crosses itself",
        ),
    ],
)
def test_lines_that_cannot_be_followed(tmp_path, lines, said):
    write_line(tmp_path, *lines)
    with pytest.raises(BoundaryError, match=said) as refusal:
        lay_on(tmp_path, square(1320), direction=ALONG)
    assert str(refusal.value).startswith("key.geojson: ")


def test_a_line_crossing_its_own_straight_end_is_refused():
    hook = np.array([(0, 0), (0, 60), (-60, 60), (-60, 30), (-30, 30)], dtype=float)
    with pytest.raises(CurveError, match="crosses its own straight end"):
        extended(hook, 500.0)


def test_ends_of_a_line_run_on_straight():
    line = extended(np.array([(0.0, 0.0), (30.0, 40.0)]), 100.0)
    assert line[0] == pytest.approx([-60, -80])
    assert line[-1] == pytest.approx([90, 120])
    assert np.hypot(*np.diff(line, axis=0).T).max() <= 2.0 + 1e-9


def test_lines_in_parts_join():
    parts = [shapely.LineString([(0, 0), (10, 5)]), shapely.LineString([(10, 5), (30, 5)])]
    assert key_line(parts) == pytest.approx(np.array([(0, 0), (10, 5), (30, 5)]))


def test_a_tight_bend_is_smoothed_and_said_with_its_place(tmp_path):
    bent = shapely.LineString([(-180, -20), (0, 20), (180, -30)])
    write_line(tmp_path, bent)
    layout = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    (notice,) = (one for one in texts(layout.notices) if "smoothed" in one)
    assert notice.startswith("key.geojson: smoothed by up to ")
    longitude, latitude = notice.split(" at ")[1].split(",")[:2]
    place = PLANE.to_plane(np.array([[float(longitude), float(latitude)]]))[0]
    assert np.hypot(*(place - [0, 20])) < 25
    assert np.abs(gaps_m(layout) - 0.762).max() < 0.01


def test_a_bend_too_tight_is_refused_with_its_place(tmp_path):
    write_line(tmp_path, shapely.LineString([(-150, 0), (0, 150), (10, -150), (150, 0)]))
    with pytest.raises(BoundaryError, match="bends so tightly that a row beside it") as refusal:
        lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    assert "would turn in a radius of less than 12.2 m" in str(refusal.value)
    assert "(at -93." in str(refusal.value)


def test_smoothing_leaves_gentle_stretches_alone():
    points = extended(np.array([(-300.0, 0.0), (0.0, 0.0), (212.0, 212.0)]), 10.0)
    moved = smooth(points, np.full(len(points), 30.0), np.full(len(points), 30.0), 10.0)
    off = np.hypot(*(moved - points).T)
    far = np.hypot(*points.T) > 60
    assert off[far].max() < 1e-9
    assert off.max() > 1.0


def test_passes_along_a_curve_go_over_every_planted_piece(tmp_path):
    write_line(tmp_path, wave(20, 90))
    layout = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    planted = set(layout.rows.groupby(["strip", "piece"]).groups)
    for operation in ("plant", "harvest"):
        own = layout.passes[layout.passes["operation"] == operation].dropna(subset="strip")
        driven = set(zip(own["strip"], own["piece"], strict=True))
        assert planted <= driven


def test_a_set_begins_on_the_left_side_looking_along_the_line(tmp_path):
    write_line(tmp_path, shapely.LineString([(-180, 0), (180, 0)]))
    for side, sign in (("left", 1), ("right", -1)):
        direction = f'{ALONG}\nstart = "{side}"'
        layout = lay_on(tmp_path, square(1320), direction=direction, headland=NONE)
        first = layout.strips.iloc[0].geometry
        assert sign * first.centroid.y > 150


def test_rings_cut_in_one_place_stay_in_one_piece(tmp_path):
    """A ring begins due north; a wedge missing elsewhere cuts it once, not twice."""
    disc = shapely.Point(0, 0).buffer(400, quad_segs=180)
    wedge = shapely.Polygon([(0, 0), (900, -200), (900, -900), (200, -900)])
    layout = pivot(tmp_path, disc.difference(wedge), headland=NONE, shortest="1 in")
    rows = layout.rows.groupby(["strip", "row"]).size()
    assert rows.max() == 1
    planted = layout.passes[layout.passes["operation"] == "plant"]
    # corn strips take one planter pass, soybean three
    assert planted.groupby(["strip", "piece"]).size().max() <= 3


def test_short_rows_of_a_curve_are_leftover(tmp_path):
    triangle = shapely.Polygon([(-300, -200), (300, -200), (300, 300)])
    write_line(tmp_path, shapely.LineString([(-300, -200), (300, -200)]))
    wish = 'shortest = "330 ft"'
    curved = lay_on(tmp_path, triangle, direction=f"{ALONG}\n{wish}", headland=NONE)
    straight = lay_on(tmp_path, triangle, direction=f'heading = 90\nstart = "right"\n{wish}',
                      headland=NONE)  # fmt: skip
    rows_m2 = curved.rows["length_m"].sum() * 0.762
    assert curved.areas_m2["strips"] == pytest.approx(rows_m2, rel=0.01)
    assert curved.areas_m2["leftover"] == pytest.approx(straight.areas_m2["leftover"], rel=0.1)


def test_a_waterway_on_a_curve_is_driven_over(tmp_path):
    write_line(tmp_path, wave(10, 150))
    waterway = shapely.LineString([(20, -402), (-30, 402)])
    write_shapes(tmp_path, waterway, name="o.geojson", kinds=["waterway"])
    bare = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT)
    layout = lay_on(tmp_path, square(1320), direction=ALONG, shed=TIGHT, field=WATERWAY)
    assert len(layout.strips) > 1.5 * len(bare.strips)
    # strips cut along their length share their passes anew in every piece; the others keep them
    whole = (
        bare.strips.groupby("strip")["whole"].all() & layout.strips.groupby("strip")["whole"].all()
    )
    assert whole.sum() >= 14
    driven, before = (
        one.passes[one.passes["strip"].isin(whole.index[whole])]
        .drop_duplicates(["operation", "machine", "number"])
        .groupby(["operation", "strip"])
        .size()
        for one in (layout, bare)
    )
    assert driven.equals(before)
    assert bare.passes["working"].all()
    lifted = layout.passes[~layout.passes["working"]]
    # from one side to the other of 20 ft; at a slant the last row ends where the first begins again
    assert lifted.length.between(20 * FOOT_M - 0.2, 20 * FOOT_M).all()
    assert len(lifted) > 50


ROW_SETS = ["6 corn, 6 soybean", "3 corn, 6 soybean, 3 corn", "2 corn, 1 empty, 9 soybean"]
WATERWAY = (
    'obstacles = "o.geojson"\n[obstacles]\nclearance = "10 ft"\nthrough = "kind = \'waterway\'"'
)


@pytest.mark.parametrize("units", ROW_SETS)
@pytest.mark.parametrize("direction", [ALONG, "pivot = [-93.5, 42.0]"])
def test_a_row_set_s_planter_drives_on_over_a_waterway(tmp_path, units, direction):
    write_line(tmp_path, wave(10, 150))
    waterway = shapely.LineString([(20, -402), (-30, 402)])
    write_shapes(tmp_path, waterway, name="o.geojson", kinds=["waterway"])
    parts = {
        "direction": direction,
        "headland": NONE,
        "shed": SHED.replace("rows = 16", "rows = 12"),
        "strips": f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\n',
    }
    disc = shapely.Point(0, 0).buffer(150, quad_segs=180)
    bare = lay_on(tmp_path, disc, **parts)
    layout = lay_on(tmp_path, disc, **parts, field=WATERWAY)
    assert len(layout.strips) > 1.5 * len(bare.strips)
    driven, before = (one.passes[one.passes["operation"] == "plant"] for one in (layout, bare))
    # nearest the pivot a ring's chords over the waterway leave it by more than half a meter
    assert abs(driven["number"].nunique() - before["number"].nunique()) <= 1
    assert not driven["working"].all()
    assert driven.length.sum() == pytest.approx(before.length.sum(), rel=0.02)


@pytest.mark.parametrize("operation", ["plant", "spray", "harvest"])
@pytest.mark.parametrize("direction", [ALONG, f'{ALONG}\nstart = "right"', "pivot"])
def test_pieces_of_a_pass_run_one_way_and_the_next_pass_the_other(tmp_path, direction, operation):
    """A pond cuts passes in two: both parts are driven on the way there, none on the way back."""
    write_line(tmp_path, wave(10, 150))
    pond = shapely.Point(70, 30).buffer(40)
    field = shapely.difference(square(1320), pond)
    if direction == "pivot":
        direction = "pivot = [-93.5, 42.0]"
    layout = lay_on(tmp_path, field, direction=direction, headland=NONE)
    (block,) = layout.laid.blocks
    pieces, turns = 0, 0
    for passes in (p for p in layout.side_by_side if p.operation == operation):
        points = [shapely.get_coordinates(line) for line in passes.line]
        strip = block.pieces.strips.strip[passes.owner]
        if direction == ALONG or "start" in direction:
            ways = [np.sign(at[-1, 0] - at[0, 0]) for at in points]
            place = beyond = [at[:, 0].mean() for at in points]
            # beside the line its height is what tells one pass of a strip from another
            side = [at[0, 1] - 10 * np.sin(at[0, 0] / 150) for at in points]
        else:
            ways = [np.sign(at[1, 0] * at[0, 1] - at[1, 1] * at[0, 0]) for at in points]
            middle = [at[len(at) // 2] for at in points]
            # told from north, and from behind the pond: a pass over north begins there
            pond_deg = np.degrees(np.arctan2(70, 30))
            place = [np.degrees(np.arctan2(*at)) % 360 for at in middle]
            beyond = [(at - pond_deg) % 360 for at in place]
            side = [np.hypot(*at[0]) for at in points]
        for i in range(1, len(points)):
            same = strip[i] == strip[i - 1] and abs(side[i] - side[i - 1]) < 0.5
            if same:
                assert ways[i] == ways[i - 1]
                onward = [at[i] - at[i - 1] for at in (place, beyond)]
                assert max(ways[i] * apart for apart in onward) > 0
                pieces += 1
            else:
                assert ways[i] == -ways[i - 1]
                turns += 1
    assert turns > 10
    assert pieces >= 3


def test_a_set_wider_than_the_field_is_drawn(tmp_path):
    wide = '[[strips]]\ncrop = "corn"\nrows = 48\n[[strips]]\ncrop = "soybean"\nrows = 48\n'
    disc = shapely.Point(0, 0).buffer(100, quad_segs=90)
    layout = pivot(tmp_path, disc, headland=NONE, strips=wide * 2)
    assert sum(layout.areas_m2.values()) == pytest.approx(disc.area, rel=1e-6)


def test_a_line_far_from_the_field_is_refused(tmp_path):
    write_line(tmp_path, shapely.LineString([(-200, 11_000), (200, 11_050)]))
    with pytest.raises(BoundaryError, match=r"key.geojson: lies 10\.\d km from the field"):
        lay_on(tmp_path, square(1320), direction=ALONG)


def test_headland_at_the_ends_only_is_refused_on_curves(tmp_path):
    from striplay.errors import PlanError  # noqa: PLC0415 - as below

    ends = '[headland]\nwhere = "ends"\nwidth = "60 ft"\n'
    with pytest.raises(PlanError, match='"ends" has no use with'):
        pivot(tmp_path, headland=ends)


def test_along_and_pivot_exclude_each_other(tmp_path):
    from striplay.errors import PlanError  # noqa: PLC0415 - this test only
    from striplay.files.plan import read_plan  # noqa: PLC0415 - as above

    direction = f"{ALONG}\npivot = [-93.5, 42.0]"
    with pytest.raises(PlanError, match="direction"):
        read_plan(write_plan_for(tmp_path, square(), direction=direction))
