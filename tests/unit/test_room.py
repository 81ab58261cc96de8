"""A field without room for a strip is refused with the reason and what would do; room is found."""

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import AROUND, FOOT_M, STRIPS, lay_on, square, write_line, write_plan_for, write_shapes

import striplay.flow
import striplay.laid
from striplay.cli import main
from striplay.errors import NoStripError
from striplay.files.plan import read_plan
from striplay.flow import lay, read_ground, weigh
from striplay.laid import lay_straight
from striplay.layout.blocks import one_block
from striplay.search import headings
from striplay.search.headings import search, to_draw
from striplay.search.land import prepare
from striplay.search.weigher import Weigher, _middle_of_best
from striplay.section.systems import sections_of

NONE = '[headland]\nwhere = "none"\n'
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "10 corn, 6 soybean"\n'


def box(long_ft, wide_ft):
    return shapely.box(*(np.array([-long_ft, -wide_ft, long_ft, wide_ft]) * FOOT_M / 2))


def refused(folder, shape, **parts):
    with pytest.raises(NoStripError) as refusal:
        lay_on(folder, shape, **parts)
    return str(refusal.value)


def test_rows_too_short_are_refused_with_what_would_do(tmp_path):
    # 40 ft by 40 ft are left inside the headland, and a row is at least 66 ft
    assert refused(tmp_path, box(200, 200), direction="heading = 0") == (
        "field.geojson: no strip can be laid at a heading of 0.00 degrees inside a headland of "
        "80 ft: a row is at least 66 ft long (direction.shortest), a strip 20 ft wide "
        "(direction.narrowest), and none fits; any of these would do: [headland] passes = 1; "
        '[headland] where = "none" (where machines can turn beyond the field); [direction] '
        'shortest = "33 ft"'
    )


@pytest.mark.parametrize("passes", [9, 2000])
def test_of_many_headland_passes_the_most_that_would_do_is_found_in_few_tries(
    tmp_path, monkeypatch, passes
):
    tried, lays = [], striplay.flow.lays
    monkeypatch.setattr(striplay.flow, "lays", lambda *plan: tried.append(plan) or lays(*plan))
    headland = AROUND.replace("passes = 2", f"passes = {passes}")
    said = refused(tmp_path, square(460), direction="heading = 0", headland=headland)
    # 66 ft of row between headlands of 160 ft fit in 460 ft, not between those of 200 ft
    assert "any of these would do: [headland] passes = 4; " in said
    assert len(tried) <= np.log2(passes) + 7
    five = AROUND.replace("passes = 2", "passes = 5")
    assert "[headland] passes = 4; " in refused(
        tmp_path, square(460), direction="heading = 0", headland=five
    )


@pytest.mark.parametrize(
    ("change", "would_do"),
    [
        (("passes = 2", "passes = 1"), "[headland] passes = 1"),
        (("heading = 0", 'heading = 0\nshortest = "33 ft"'), '[direction] shortest = "33 ft"'),
    ],
)
def test_each_change_that_is_told_does(tmp_path, change, would_do):
    path = write_plan_for(tmp_path, box(200, 200), direction="heading = 0")
    with pytest.raises(NoStripError) as refusal:
        lay(read_plan(path))
    assert would_do in str(refusal.value)
    path.write_text(path.read_text().replace(*change))
    assert len(lay(read_plan(path)).strips)


def test_headland_at_the_ends_is_told_where_it_would_do(tmp_path):
    # 10 ft are left between two headlands along the rows
    along, narrow = "heading = 90", box(400, 170)
    assert '[headland] where = "ends"' in refused(tmp_path, narrow, direction=along)
    ends = AROUND.replace("around", "ends")
    assert len(lay_on(tmp_path, narrow, direction=along, headland=ends).strips)


def test_another_heading_is_told_where_it_would_do(tmp_path):
    # 40 ft long across, 640 ft along
    said = refused(tmp_path, box(200, 800), direction="heading = 90")
    assert '[direction] heading = "best"' in said
    assert len(lay_on(tmp_path, box(200, 800), direction="heading = 0").strips)


def test_a_field_too_small_whatever_is_changed_is_said_to_be(tmp_path):
    short = 'heading = 90\nshortest = "2000 ft"'
    said = refused(tmp_path, box(300, 300), headland=NONE, direction=short)
    assert said.endswith(
        "no shorter row, narrower strip or other heading would do alone; narrower machines may"
    )


@pytest.mark.parametrize("direction", ['heading = "best"', "heading = 40"])
def test_a_headland_that_leaves_nothing_says_what_would(tmp_path, direction):
    said = refused(tmp_path, square(100), direction=direction)
    assert said.startswith("field.geojson: a headland of 80 ft leaves no land inside it; ")
    assert '[headland] where = "none"' in said


def test_rings_and_key_lines_are_refused_likewise(tmp_path):
    # within 24 m of the middle no row is 66 ft long on land 40 ft wide
    assert "no strip can be laid" in refused(
        tmp_path, box(200, 200), direction="pivot = [-93.5, 42.0]"
    )
    write_line(tmp_path, shapely.LineString([(-90, 0), (90, 5)]))
    said = refused(tmp_path, box(200, 200), direction='along = "key.geojson"')
    assert "no strip can be laid" in said
    assert "[headland] passes = 1" in said


@pytest.mark.parametrize(("shortest", "is_refused"), [("1700 ft", False), ("4000 ft", True)])
def test_a_block_without_room_is_told_and_a_field_of_such_refused(tmp_path, shortest, is_refused):
    write_shapes(tmp_path, shapely.box(-500, -500, -350, 500))
    blocks = f'shortest = "{shortest}"\n[[blocks]]\nfile = "cut.geojson"\nheading = 90\n'
    parts = {"headland": NONE, "direction": f'heading = "best"\n{blocks}'}
    if is_refused:
        assert "no strip can be laid" in refused(tmp_path, square(), **parts)
        return
    layout = lay_on(tmp_path, square(), **parts)
    assert any("block 1 has no strip" in notice.text for notice in layout.notices)
    assert len(layout.strips)


def test_a_row_set_is_refused_likewise(tmp_path):
    said = refused(tmp_path, box(2000, 10), headland=NONE, direction="heading = 90", strips=ROW_SET)
    assert "a planter pass has half its rows on land" in said


def test_nothing_is_written_and_the_command_ends_with_2(tmp_path):
    plan, out = write_plan_for(tmp_path, box(200, 200)), tmp_path / "out"
    result = CliRunner().invoke(main, ["lay", str(plan), "-o", str(out)])
    assert result.exit_code == 2
    assert result.stderr.startswith("striplay: field.geojson: no strip can be laid")
    assert not out.exists()


# --- what holds no strip ranks last ---------------------------------------------------------------


def weigher_of(folder, shape, **parts):
    plan = read_plan(write_plan_for(folder, shape, **parts))
    block, section = one_block(plan, read_ground(plan)), sections_of(plan)[0]
    return plan, block, Weigher(plan, section, prepare(plan, block)[1])


def test_leaving_land_bare_is_cheapest_and_comes_last(tmp_path):
    """Rows across are too short, and bare land has neither turns nor point rows."""
    field = box(1200, 60)
    direction = 'heading = "best"\n[cost]\nland = "1 per acre"'
    _, _, weigher = weigher_of(tmp_path, field, headland=NONE, direction=direction)
    across, along = weigher.weigh([0.0, 90.0])
    assert across.total < along.total
    assert not across.laid
    assert along.laid
    layout = lay_on(tmp_path, field, headland=NONE, direction=direction)
    assert layout.land_accounts["field"]["heading_deg"] == pytest.approx(90, abs=0.5)
    assert len(layout.strips)


@pytest.mark.parametrize("strips", [STRIPS, ROW_SET])
def test_weighed_as_bare_is_what_is_drawn_bare(tmp_path, strips):
    """Land narrower than a strip: at each offset the search says as the drawing does."""
    for wide_ft in (18, 22, 30):
        plan, _, weigher = weigher_of(
            tmp_path, box(900, wide_ft), headland=NONE, direction="heading = 90", strips=strips
        )
        ground, sections = read_ground(plan), sections_of(plan)
        drawn, weighed = [], []
        for offset_m in np.arange(0.05, sections[0].width_m, sections[0].width_m / 23):
            wish = plan.direction.model_copy(update={"offset_m": float(offset_m)})
            at = plan.model_copy(update={"direction": wish})
            weighed.append(weigher.at_offset(90.0, float(offset_m)).laid)
            try:
                drawn.append(len(lay_straight(at, sections[0], ground).blocks) > 0)
            except NoStripError:
                drawn.append(False)
        assert np.mean(np.array(drawn) == np.array(weighed)) >= 0.9
        assert any(weighed) == any(drawn)


def test_an_offset_without_a_strip_is_never_chosen():
    money = np.array([np.inf, 5.0, 5.0, np.inf])
    assert _middle_of_best(np.array([0.0, 9.0, 9.0, 0.0]), money) in {1, 2}
    assert _middle_of_best(np.zeros(4), money) in {1, 2}


def test_where_the_best_is_drawn_bare_the_next_is_taken(tmp_path, monkeypatch):
    plan, block, _ = weigher_of(tmp_path, square(1320), direction='heading = "best"')
    found = search(plan, sections_of(plan)[0], block)
    monkeypatch.setattr(headings, "MOST_DRAWN", 1)
    order = list(to_draw(plan, sections_of(plan)[0], block, found))
    assert tuple(order[: len(found.best)]) == found.best
    assert len(order) > len(found.best) + 8
    draw = striplay.laid._draw
    tried = []

    def bare_at_first(plan, ground, block, choice):
        tried.append(choice)
        return None if len(tried) < 4 else draw(plan, ground, block, choice)

    monkeypatch.setattr("striplay.laid._draw", bare_at_first)
    ground, sections = read_ground(plan), sections_of(plan)
    laid = lay_straight(plan, sections[0], ground)
    assert laid.blocks[0].choice == found.best[3]
    tried.clear()
    assert weigh(plan).best == found.best[3:]


def test_ends_of_a_narrow_field_are_still_laid(tmp_path):
    # 40 ft wide: nothing is left inside passes all round, and along it ends alone take little
    ends = AROUND.replace("around", "ends")
    assert len(lay_on(tmp_path, box(1200, 40), headland=ends, direction="heading = 90").strips)
