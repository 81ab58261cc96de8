"""Rows at edges: which they are, what is known of them, and that nothing is invented."""

import csv
from collections import defaultdict

import numpy as np
import pytest
import shapely
from fields import FOOT_M, SAMPLES, SHED, lay_on, sample, square, write_plan_for
from priced import priced

from striplay.economics.edges import NOTHING, Estimate, edge_table
from striplay.economics.ground import compass_of, edge_rows, row_ground, set_ground
from striplay.errors import PlanError
from striplay.files.edge_table import published_edges
from striplay.files.plan import read_plan
from striplay.section.systems import sections_of

NONE_AT = '[headland]\nwhere = "none"\n'


def table_of(tmp_path, tables="", **parts):
    path = write_plan_for(tmp_path, square(), shed=priced(), **parts)
    path.write_text(f"{path.read_text()}\n{tables}")
    return edge_table(read_plan(path), published_edges())


# --- which rows they are -----------------------------------------------------------------------


def test_rows_from_the_edge_by_hand():
    # corn 0, soybean 1, nothing -1: three rows count from either side, and none beside nothing
    column = np.array([0, 0, 0, 0, 1, -1, 1, 1, 0])[:, None]
    up = {row: beside.ravel().tolist() for row, beside in edge_rows(column, 1)}
    assert up == {
        1: [-1, -1, -1, 1, -1, -1, -1, 0, -1],
        2: [-1, -1, 1, -1, -1, -1, 0, -1, -1],
        3: [-1, 1, -1, -1, -1, -1, -1, -1, -1],
    }
    down = {row: beside.ravel().tolist() for row, beside in edge_rows(column, -1)}
    assert down[1] == [-1, -1, -1, -1, 0, -1, -1, -1, 1]
    assert down[2] == [-1] * 9


def test_a_set_repeats_and_neighbors_differ_by_side(tmp_path):
    """Corn, soybean, wheat by turns: corn lies between wheat and soybean."""
    shed = SHED + '[crops.wheat]\nplanter = "planter"\n'
    strips = "".join(
        f'[[strips]]\ncrop = "{crop}"\nrows = 16\n' for crop in ("corn", "soybean", "wheat")
    )
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    edges = set_ground(sections_of(plan)[0], 0.0).edge_m2
    outer = {(e.crop, e.side): e.beside for e in edges if e.row == 1}
    assert outer == {
        ("corn", "west"): "wheat", ("corn", "east"): "soybean",
        ("soybean", "west"): "corn", ("soybean", "east"): "wheat",
        ("wheat", "west"): "soybean", ("wheat", "east"): "corn",
    }  # fmt: skip
    assert list(edges.values()) == pytest.approx([30 * 0.0254] * 18)
    assert {(e.side, e.rows_run) for e in set_ground(sections_of(plan)[0], None).edge_m2} == {
        ("any", "")
    }


def test_a_single_row_has_two_edges(tmp_path):
    shed = SHED.replace("rows = 16", "rows = 1")
    strips = '[[strips]]\ncrop = "corn"\nrows = 1\n[[strips]]\ncrop = "soybean"\nrows = 1\n'
    plan = read_plan(write_plan_for(tmp_path, square(), shed=shed, strips=strips))
    ground = set_ground(sections_of(plan)[0], 90.0)
    assert {(e.crop, e.side, e.row) for e in ground.edge_m2} == {
        (crop, side, 1) for crop in ("corn", "soybean") for side in ("north", "south")
    }


@pytest.mark.parametrize(
    ("heading_deg", "told"),
    [(0.0, ("west", "east", "north")), (44.9, ("west", "east", "north")),
     (45.0, ("north", "south", "east")), (135.0, ("north", "south", "east")),
     (135.1, ("east", "west", "north")), (179.0, ("east", "west", "north"))],
)  # fmt: skip
def test_sides_by_the_compass(heading_deg, told):
    """The side is where the left of travel points, to the nearest of four."""
    assert compass_of(heading_deg) == told
    left = (heading_deg - 90.0) % 360.0
    points = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
    off = abs((left - points[told[0]] + 180.0) % 360.0 - 180.0)
    assert off <= 45.0 + 1e-9


def test_drawn_rows_by_hand(tmp_path):
    """A square of 1,320 ft without headland: 33 strips of 40 ft, 32 borders of 1,320 ft."""
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    layout = lay_on(tmp_path, square(1320), headland=NONE_AT, strips=strips)
    ground = row_ground(layout.laid)
    by = defaultdict(float)
    for edge, m2 in ground.edge_m2.items():
        by[edge.crop, edge.side, edge.row] += m2
    one_m2 = 16 * 1320 * 2.5 * FOOT_M**2
    assert set(by) == {(c, s, r) for c in ("corn", "soybean") for s in ("west", "east")
                       for r in (1, 2, 3)}  # fmt: skip
    assert list(by.values()) == pytest.approx([one_m2] * 12, rel=1e-9)
    assert sum(ground.sown_m2.values()) == pytest.approx(layout.areas_m2["strips"], rel=1e-9)
    parts = ground.by_strip()
    assert list(parts) == list(range(1, 34))
    assert {len(own.edge_m2) for number, own in parts.items() if number in {1, 33}} == {3}
    assert {len(own.edge_m2) for number, own in parts.items() if number not in {1, 33}} == {6}


@pytest.mark.parametrize("name", ["pond_ell", "two_parts"])
def test_outer_rows_against_the_drawing(name):
    """Points along drawn rows, each beside what crop's row lies a spacing off, by shapely alone."""
    layout = sample(name)
    ground = row_ground(layout.laid)
    rows = layout.rows
    lines, crop = rows.geometry.to_numpy(), rows["crop"].to_numpy()
    tree = shapely.STRtree(lines)
    spacing_m = 0.762 if name != "two_parts" else 0.75
    found = defaultdict(float)
    for number, line in enumerate(lines):
        if crop[number] not in {"corn", "maize"}:
            continue
        ends = shapely.get_coordinates(line)
        along = (ends[-1] - ends[0]) / line.length
        left = np.array([-along[1], along[0]]) * spacing_m
        at = np.arange(4.0, line.length, 8.0)
        points = shapely.get_coordinates(shapely.line_interpolate_point(line, at))
        for side in (left, -left):
            beside = shapely.points(points + side)
            point, other = tree.query(beside, predicate="dwithin", distance=0.2 * spacing_m)
            if name == "two_parts":  # a drill's rows stand nearer: the first beyond the edge
                first = shapely.points(points + side * 0.65)
                point, other = tree.query(first, predicate="dwithin", distance=0.2)
            unlike = np.unique(point[crop[other] != crop[number]])
            found[crop[number]] += len(unlike) / max(len(at), 1) * line.length * spacing_m
    (who,) = found
    own = sum(m2 for edge, m2 in ground.edge_m2.items() if (edge.crop, edge.row) == (who, 1))
    assert own == pytest.approx(found[who], rel=0.01)


def test_strips_cut_along_their_length_follow_their_own_rows(tmp_path):
    """The field's slanting side cuts strips: what is no neighbor there gains nothing."""
    slanted = shapely.Polygon([(-200, -200), (0, -200), (200, 200), (-200, 200)])
    strips = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'
    layout = lay_on(tmp_path, slanted, headland=NONE_AT, strips=strips)
    ground = row_ground(layout.laid)
    outer = {"west": 0.0, "east": 0.0}
    for edge, m2 in ground.edge_m2.items():
        outer[edge.side] += m2 if edge.row == 1 else 0.0
    # at each border, the shorter of its two rows: from 400 m west of the slant down to nothing
    borders_m = -200 + 12.192 * np.arange(1, 33)
    rows_m = np.minimum(400 - 2 * (borders_m + 0.381), 400)
    by_hand_m2 = rows_m[rows_m >= 66 * FOOT_M].sum() * 0.762
    assert outer["west"] == pytest.approx(by_hand_m2, rel=0.01)
    assert outer["east"] == pytest.approx(by_hand_m2, rel=0.01)


# --- what is known of them ---------------------------------------------------------------------


def test_every_published_line_has_its_source_place_and_rows():
    lines = published_edges()
    assert len(lines) >= 12
    for one in lines:
        assert one.source
        assert one.place
        assert one.low <= one.high
        assert one.gain is None or one.low <= one.gain <= one.high
        assert one.row is None or one.row == 1
    text = (SAMPLES.parent / "striplay" / "economics" / "edges.csv").read_text(encoding="utf-8")
    assert len(list(csv.DictReader(text.splitlines()))) == len(lines)


def test_by_default_no_bonus_but_a_range(tmp_path):
    table = table_of(tmp_path)
    corn = table.gain("corn", "soybean", "east", "north", 1)
    assert corn.gain == Estimate(0.0, 0.0, 0.40)
    assert corn.sources == ("West 1992", "Iragavarapu 1996", "Francis 1986")
    assert table.gain("soybean", "corn", "east", "north", 1).gain == Estimate(-0.30, 0.0, 0.0)


def test_published_where_the_plan_takes_them(tmp_path):
    """Mean of the studies that fit the side; reviews only widen the range."""
    table = table_of(tmp_path, '[economics]\nedges = "published"\n')
    corn = table.gain("corn", "soybean", "east", "north", 1).gain
    assert corn == Estimate(0.10, pytest.approx((0.258 + 0.23) / 2), 0.40)
    south = table.gain("soybean", "corn", "south", "east", 1).gain
    assert south == Estimate(-0.34, pytest.approx((-0.266 - 0.34) / 2), -0.10)
    unsaid = table.gain("corn", "soybean", "any", "", 1).gain
    assert unsaid.central == pytest.approx((0.258 + 0.23 + 0.27 + 0.18) / 4)
    second = table.gain("corn", "soybean", "east", "north", 2)
    assert (second.gain, bool(second.sources)) == (NOTHING, True)


def test_no_source_fits(tmp_path):
    shed = priced(SHED + '[crops.sunflower]\nplanter = "planter"\n')
    path = write_plan_for(tmp_path, square(), shed=shed)
    table = edge_table(read_plan(path), published_edges())
    found = table.gain("sunflower", "corn", "east", "north", 1)
    assert (found.gain, found.sources) == (NOTHING, ())


OWN = """
[economics]
edges = "published"
[[edges]]
crop = "corn"
beside = "soybean"
side = "east"
gain = [0.3, 0.1]
low = [0.2, 0.0]
high = [0.4, 0.1]
source = "own strips"
[[edges]]
crop = "corn"
beside = "soybean"
gain = 0.1
"""


def test_the_users_own_go_before_published(tmp_path):
    table = table_of(tmp_path, OWN)
    east = [table.gain("corn", "soybean", "east", "north", row) for row in (1, 2, 3)]
    assert [one.gain for one in east] == [
        Estimate(0.2, 0.3, 0.4), Estimate(0.0, 0.1, 0.1), NOTHING,
    ]  # fmt: skip
    assert {one.sources for one in east} == {("own strips",)}
    assert table.gain("corn", "soybean", "west", "north", 1).gain == Estimate(0.1, 0.1, 0.1)
    assert not table.gain("soybean", "corn", "west", "north", 1).measured


def test_maize_is_corn(tmp_path):
    shed = priced().replace("corn", "maize")
    path = write_plan_for(
        tmp_path, square(), shed=shed, headland=NONE_AT,
        strips='[[strips]]\ncrop = "maize"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n',
    )  # fmt: skip
    table = edge_table(read_plan(path), published_edges())
    assert table.gain("maize", "soybean", "east", "north", 1).sources[0] == "West 1992"


@pytest.mark.parametrize(
    ("tables", "told"),
    [
        ('[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = 25\n',
         ("edges[1].gain: 25 holds what is not between -1 and 2; a gain is a share: write 0.25 "
         "for 25 %; for example gain = [0.25, 0.05]")),
        ('[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = [0.1, 0.1, 0.1, 0.1]\n',
         ("edges[1].gain: [0.1, 0.1, 0.1, 0.1] must be a number, or a list of 1 to 3, the outer "
         "row first; for example gain = [0.25, 0.05]")),
        ('[[edges]]\ncrop = "corn"\nbeside = "corn"\ngain = 0.1\n',
         "edges[1].beside: is the crop itself; name the crop beside it"),
        ('[[edges]]\ncrop = "corn"\nbeside = "beans"\ngain = 0.1\n',
         'edges[1].beside: no crop "beans", did you mean "soybean"?; known are corn, soybean'),
        ('[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = 0.1\nlow = 0.2\n',
         "edges[1].low: lies above gain; low, gain and high go up"),
        ('[[edges]]\ncrop = "corn"\nbeside = "soybean"\ngain = 0.1\nhigh = [0.2, 0.1]\n',
         "edges[1].high: has 2 rows and gain 1; give as many"),
        ("[edges]\ncrop = 1\n", "edges: must be a list of tables, each written [[edges]]"),
    ],
)  # fmt: skip
def test_edges_that_cannot_be(tmp_path, tables, told):
    with pytest.raises(PlanError) as refusal:
        table_of(tmp_path, tables)
    assert refusal.value.faults == (told,)
