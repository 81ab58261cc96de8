"""Blocks with headings of their own: cut by lines and polygons, or suggested."""

import numpy as np
import pytest
import shapely
from fields import SHED, STATED, assert_whole, square, texts, write_plan_for, write_shapes

from striplay.errors import BoundaryError, PlanError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.layout.blocks import cut_outline, reflex_points

ELL = shapely.Polygon([(0, 0), (600, 100), (560, 300), (200, 240), (100, 700), (-100, 660)])
CUT = shapely.LineString([(230, 300), (-30, -40)])
NONE = '[headland]\nwhere = "none"\n'


def laid(folder, shape, tables, **parts):
    path = write_plan_for(folder, shape, **parts)
    text = path.read_text()
    path.write_text(
        f"{tables}\n{text}" if tables.startswith("blocks") else f"{text}\n{tables}",
    )
    return lay(read_plan(path))


@pytest.mark.parametrize("where", ["around", "ends", "none"])
def test_a_line_cuts_a_field_in_blocks_that_close(tmp_path, where):
    write_shapes(tmp_path, CUT)
    width = "" if where == "none" else 'passes = 2\nmachine = "planter"\ncrop = "corn"\n'
    headland = f'[headland]\nwhere = "{where}"\n{width}'
    layout = laid(tmp_path, ELL, '[[blocks]]\nfile = "cut.geojson"\n',
                  direction='heading = "best"', headland=headland)  # fmt: skip
    assert_whole(layout)
    assert sorted(set(layout.strips["block"])) == [1, 2]
    assert len(layout.land_accounts["field"]["block_headings_deg"]) == 2
    # strips are numbered on over the blocks
    strips = layout.strips
    assert strips["strip"].is_monotonic_increasing
    first = strips[strips["block"] == 1]["strip"].max()
    assert strips[strips["block"] == 2]["strip"].min() > first


def test_each_polygon_keeps_its_own_heading(tmp_path):
    write_shapes(tmp_path, shapely.box(-500, -500, 0, 500))
    layout = laid(tmp_path, square(), '[[blocks]]\nfile = "cut.geojson"\nheading = 30\n',
                  direction="heading = 90")  # fmt: skip
    assert layout.land_accounts["field"]["block_headings_deg"] == [30.0, 90.0]
    assert_whole(layout)
    for block, heading in ((1, 30.0), (2, 90.0)):
        rows = layout.rows.merge(layout.strips[["strip", "piece", "block"]].drop_duplicates())
        points = shapely.get_coordinates(rows[rows["block"] == block].geometry.to_numpy())
        step = (points[1::2] - points[::2]) / np.hypot(*(points[1::2] - points[::2]).T)[:, None]
        east, north = np.abs(step).max(axis=0)
        assert np.degrees(np.arctan2(east, north)) == pytest.approx(heading, abs=0.01)


def test_headland_beside_another_block_only_where_rows_end(tmp_path):
    write_shapes(tmp_path, shapely.box(-500, -500, 0, 500))
    table = '[[blocks]]\nfile = "cut.geojson"\nheading = {}\n'
    along = laid(tmp_path, square(), table.format(0), direction="heading = 0")
    across = laid(tmp_path, square(), table.format(90), direction="heading = 0")
    both = laid(tmp_path, square(), table.format(90), direction="heading = 90")
    side_m, width_m = 804.672, 2 * 12.192
    border_m2 = width_m * (side_m - 2 * width_m)
    base = along.areas_m2["headland"]
    assert across.areas_m2["headland"] - base == pytest.approx(border_m2, rel=1e-4)
    assert both.areas_m2["headland"] - base == pytest.approx(2 * border_m2, rel=1e-4)


@pytest.mark.parametrize(("heading", "met"), [(0.8, False), (0.95, True)])
def test_a_border_that_less_than_a_planter_pass_ends_on_needs_no_headland(tmp_path, heading, met):
    # 805 m climb 11.2 m at 0.8 degrees, 13.3 m at 0.95
    write_shapes(tmp_path, shapely.box(-500, -500, 0, 500))
    table = '[[blocks]]\nfile = "cut.geojson"\nheading = {}\n'
    layout = laid(tmp_path, square(), table.format(heading), direction="heading = 0")
    along = laid(tmp_path, square(), table.format(0), direction="heading = 0")
    more_m2 = layout.areas_m2["headland"] - along.areas_m2["headland"]
    border_m2 = 2 * 12.192 * (804.672 - 4 * 12.192)
    assert more_m2 == pytest.approx(border_m2 if met else 0.0, rel=1e-3, abs=1.0)


def test_parts_that_touch_no_other_are_blocks_too(tmp_path):
    field = shapely.MultiPolygon([shapely.box(-400, 0, 0, 300), shapely.box(60, 0, 400, 300)])
    write_shapes(tmp_path, shapely.box(-500, -9, 30, 400), shapely.box(30, -9, 500, 400))
    layout = laid(tmp_path, field, '[[blocks]]\nfile = "cut.geojson"\n')
    assert_whole(layout)
    assert sorted(set(layout.strips["block"])) == [1, 2]
    write_shapes(tmp_path, shapely.LineString([(-500, 150), (30, 151)]))
    layout = laid(tmp_path, field, '[[blocks]]\nfile = "cut.geojson"\n')
    assert_whole(layout)
    assert len(layout.land_accounts["field"]["block_headings_deg"]) == 3


def test_a_clearance_is_lost_once_however_many_blocks(tmp_path):
    from fields import lay_on  # noqa: PLC0415 - beside its only use

    write_shapes(tmp_path, shapely.Point(-200, 0), name="o.geojson")
    field = 'obstacles = "o.geojson"\n[obstacles]\nclearance = "100 ft"'
    whole = lay_on(tmp_path, square(), field=field, headland=NONE)
    write_shapes(tmp_path, shapely.LineString([(0, -500), (0, 500)]))
    layout = laid(tmp_path, square(), '[[blocks]]\nfile = "cut.geojson"\nheading = 0\n',
                  field=field, headland=NONE)  # fmt: skip
    bare = whole.laid.parts["bare land"]
    assert layout.laid.parts["bare land"] == pytest.approx(bare, rel=0.01)
    assert layout.laid.parts["headland"] == whole.laid.parts["headland"] == 0


@pytest.mark.parametrize(
    ("shapes", "said"),
    [
        ([shapely.box(900, 0, 990, 90)], "blocks[1].file: polygon 1 of cut.geojson holds none of"),
        (
            [shapely.box(-500, -500, 0, 500), shapely.box(-90, 0, -10, 90)],
            "blocks[1].file: polygon 2 of cut.geojson holds none of the field",
        ),
        (
            [shapely.LineString([(-500, 0), (0, 0)])],
            "blocks[1].file: line 1 of cut.geojson cuts nothing off the field; run it from",
        ),
        ([shapely.Point(0, 0)], "blocks[1].file: cut.geojson holds a point; give lines"),
    ],
)
def test_shapes_that_make_no_block_are_refused(tmp_path, shapes, said):
    write_shapes(tmp_path, *shapes)
    with pytest.raises(PlanError) as refusal:
        laid(tmp_path, square(), '[[blocks]]\nfile = "cut.geojson"\n')
    assert said in str(refusal.value)


def test_lines_with_several_headings_are_refused(tmp_path):
    write_shapes(tmp_path, shapely.LineString([(0, -500), (0, 500)]))
    write_shapes(tmp_path, shapely.LineString([(-500, 0), (500, 0)]), name="other.geojson")
    tables = "".join(
        f'[[blocks]]\nfile = "{name}.geojson"\nheading = {heading}\n'
        for name, heading in (("cut", 30), ("other", 60))
    )
    with pytest.raises(PlanError, match="blocks: lines with several headings"):
        laid(tmp_path, square(), tables)


def test_a_block_too_narrow_for_its_headland_is_named(tmp_path):
    write_shapes(tmp_path, shapely.box(-500, -500, -380, 500))
    with pytest.raises(BoundaryError, match="leaves no land in block 1"):
        laid(tmp_path, square(), '[[blocks]]\nfile = "cut.geojson"\n')


def test_suggestions_need_a_search(tmp_path):
    with pytest.raises(PlanError, match=r"direction.heading: must be \"best\" with blocks"):
        laid(tmp_path, ELL, 'blocks = "suggest"', direction="heading = 45")


def test_blocks_too_small_are_refused(tmp_path):
    write_shapes(tmp_path, shapely.box(-500, -500, -402, 500))
    with pytest.raises(PlanError) as refusal:
        laid(tmp_path, square(), '[[blocks]]\nfile = "cut.geojson"\n')
    assert str(refusal.value) == (
        "plan.toml: blocks: one of them has below 0.12 ac; move its line or polygon"
    )


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('blocks = "split"', 'blocks: must be "suggest", or a list of tables'),
        ("[[blocks]]\nheading = 3\n", "blocks[1].file"),
        ('[[blocks]]\nfile = "cut.geojson"\nheading = "up"\n', "blocks[1].heading"),
    ],
)
def test_faulty_blocks_are_refused_by_place(tmp_path, tables, said):
    with pytest.raises(PlanError) as refusal:
        laid(tmp_path, square(), tables)
    assert said in str(refusal.value)


def of_blocks(layout):
    return [text for text in texts(layout.notices) if text.startswith("blocks: ")]


def test_a_split_that_saves_enough_is_proposed(tmp_path):
    """Two long arms at a right angle: one heading makes short rows on one of them."""
    ell = shapely.Polygon([(0, 0), (900, 0), (900, 120), (120, 120), (120, 900), (0, 900)])
    dear = SHED.replace('does = "plant"', 'does = "plant"\nturn = "3 min"')
    layout = laid(tmp_path, ell, 'blocks = "suggest"', direction='heading = "best"',
                  headland=NONE, shed=dear)  # fmt: skip
    (notice,) = of_blocks(layout)
    assert notice.startswith("blocks: 2 blocks with headings of their own save ")
    assert_whole(layout)
    headings = layout.land_accounts["field"]["block_headings_deg"]
    apart = abs(headings[0] - headings[1])
    assert apart == pytest.approx(90, abs=2)
    whole = laid(tmp_path, ell, "", direction='heading = "best"', headland=NONE, shed=dear)
    saved = 1 - sum(layout.laid.parts.values()) / sum(whole.laid.parts.values())
    assert f"save {saved:.0%} of the cost" in notice
    assert saved > 0.05


def test_a_split_that_saves_little_is_not(tmp_path):
    dear = 'heading = "best"\n[cost]\ngain = 0.9'
    layout = laid(tmp_path, ELL, 'blocks = "suggest"', direction=dear, shed=STATED)
    (notice,) = of_blocks(layout)
    assert notice.endswith("less than the 90% asked for; the field stays whole")
    assert len(layout.laid.blocks) == 1


def test_a_convex_field_has_nothing_to_split(tmp_path):
    layout = laid(tmp_path, square(), 'blocks = "suggest"', direction='heading = "best"')
    assert texts(layout.notices) == [
        "blocks: the field has no inward corner and one part; nothing to split"
    ]


def test_parts_of_a_field_may_have_a_heading_each(tmp_path):
    one = shapely.box(0, 0, 150, 600)
    other = shapely.affinity.rotate(shapely.box(600, 0, 750, 600), 50)
    field = shapely.union(one, other)
    assert field.geom_type == "MultiPolygon"
    layout = laid(tmp_path, field, 'blocks = "suggest"',
                  direction='heading = "best"', headland=NONE)  # fmt: skip
    assert "2 blocks with headings of their own save" in layout.notices[0].text
    assert_whole(layout)


def test_inward_corners():
    found = reflex_points(ELL)
    assert found.tolist() == [[200.0, 240.0]]
    assert len(reflex_points(shapely.box(0, 0, 9, 9))) == 0


def test_cut_outline_covers_the_field_once():
    parts = cut_outline(ELL, CUT, [shapely.box(400, 0, 700, 400)])
    assert len(parts) == 3
    assert sum(part.area for part in parts) == pytest.approx(ELL.area, rel=1e-12)
    assert len(cut_outline(ELL, shapely.LineString([(900, 0), (900, 9)]), [])) == 1
