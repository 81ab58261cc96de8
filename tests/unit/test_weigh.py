"""`striplay weigh`: five really different layouts, the user's own heading, the farm's usual."""

import json

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import FOOT_M, SHED, lay_on, square, write_plan_for

from striplay.accounts.words import cost_words
from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.flow import weigh
from striplay.search.cost import PARTS
from striplay.search.headings import APART_DEG, GRID_DEG
from striplay.search.land import has_long_edge

FIELD = shapely.Polygon([(0, 0), (700, 60), (640, 420), (180, 500), (-60, 220)])


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def weighed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("weighed")
    return weigh(read_plan(write_plan_for(folder, FIELD, direction="heading = 40")))


def test_five_really_different_layouts_best_first(weighed):
    assert len(weighed.best) == 5
    assert [c.money for c in weighed.best] == sorted(c.money for c in weighed.best)
    headings = [c.heading_deg for c in weighed.best]
    for index, one in enumerate(headings):
        for other in headings[:index]:
            apart = abs(one - other)
            assert min(apart, 180 - apart) > APART_DEG


def test_every_heading_of_the_grid_and_every_edge_is_weighed(weighed):
    tried = weighed.headings_deg
    assert np.diff(np.append(tried, tried[0] + 180)).max() <= GRID_DEG + 1e-9
    assert weighed.parts.shape == (len(tried), len(PARTS))
    points = np.array(FIELD.exterior.coords)
    east, north = np.diff(points, axis=0).T
    for edge in np.degrees(np.arctan2(east, north)) % 180:
        # the plane of the field is turned against the test's by a little
        assert np.abs(tried - edge).min() < 0.01


def test_own_heading_and_the_usual_stand_beside(weighed):
    assert weighed.asked is not None
    assert weighed.asked.heading_deg == 40
    assert weighed.best[0].total <= min(weighed.asked.total, weighed.usual.total)
    # the longest edge runs 700 east, 60 north
    assert weighed.usual.heading_deg == pytest.approx(np.degrees(np.arctan2(700, 60)), abs=0.02)
    # at the best offset there: at none does it cost less
    assert weighed.usual.offset_m > 0.0
    along = np.array([weighed.usual.heading_deg])
    (place,) = np.flatnonzero(np.isclose(weighed.headings_deg, along))
    assert weighed.usual.total == pytest.approx(weighed.parts[place].sum(), rel=2e-4)


def test_text_names_every_part_and_fits_the_screen(tmp_path):
    result = run("weigh", write_plan_for(tmp_path, FIELD, direction="heading = 40"))
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0] == "Test: cost a year by heading, least money"
    for part in ("headland", "bare land", "partial", "overlap", "shares", "preferred", "total"):
        assert part in lines[1]
    assert [line.split()[0] for line in lines[2:9]] == ["best"] * 5 + ["asked", "usual"]
    assert any(
        line.startswith("point rows of best 1, planter:") and "with row shut-off" in line
        for line in lines
    )
    assert max(map(len, lines)) <= 120


def test_json_holds_parts_that_add_up(tmp_path):
    result = run("weigh", write_plan_for(tmp_path, FIELD, direction='heading = "best"'), "--json")
    data = json.loads(result.stdout)
    assert set(data) == {"best", "usual", "asked", "sets"}
    assert data["asked"] is None
    for choice in (*data["best"], data["usual"]):
        assert set(choice["cost"]["parts"]) == set(PARTS)
        assert choice["cost"]["total"] == pytest.approx(sum(choice["cost"]["parts"].values()))
        assert {"heading_deg", "offset_m", "strips", "planter_passes", "point_rows"} <= set(choice)


def test_lay_takes_the_best_and_says_what_it_saves(tmp_path, weighed):
    layout = lay_on(tmp_path, FIELD, direction='heading = "best"')
    cost = layout.accounts["cost"]
    assert cost["total"] == pytest.approx(weighed.best[0].total, rel=1e-9)
    assert cost["total"] == pytest.approx(sum(cost["parts"].values()), rel=1e-12)
    result = run("lay", tmp_path / "plan.toml", "-o", tmp_path / "out", "--no-map-book")
    # the best is along the longest edge, at the best offset there: nothing is less
    assert cost["usual"]["total"] == cost["total"]
    assert "than along" not in result.stdout
    more = cost["tenth_degree_off"]
    assert f"; 0.1 degrees off costs up to {more:,.0f} more\n" in result.stdout


def test_lay_says_what_a_stated_heading_costs_more_than_the_usual(tmp_path, weighed):
    path = write_plan_for(tmp_path, FIELD, direction="heading = 40")
    result = run("lay", path, "-o", tmp_path / "out", "--no-map-book")
    more = weighed.asked.total - weighed.usual.total
    assert more > 100
    assert f"; {more:,.0f} more than along the longest edge (85.103 degrees)" in result.stdout


def test_a_square_has_two_best_headings(tmp_path):
    found = weigh(read_plan(write_plan_for(tmp_path, square(), direction='heading = "best"'))).best
    assert sorted(round(c.heading_deg, 2) % 180 for c in found[:2]) == [0.0, 90.0]
    assert found[0].total == pytest.approx(found[1].total, rel=1e-6)


def test_the_side_strips_begin_on_makes_no_difference_to_a_mirrored_field(tmp_path):
    slanted = shapely.Polygon(np.array([(0, 0), (1200, 200), (1300, 1500), (0, 1200)]) * FOOT_M)
    mirrored = shapely.affinity.scale(slanted, -1, 1, origin=(0, 0))
    totals = []
    for side, shape in (("left", slanted), ("right", mirrored)):
        # both about the middle of the plane, where north is its own
        middle = shapely.affinity.translate(shape, -shape.centroid.x, -shape.centroid.y)
        direction = f'heading = 0\noffset = "best"\nstart = "{side}"'
        totals.append(lay_on(tmp_path, middle, direction=direction).laid.parts)
    for part in PARTS:
        assert totals[0][part] == pytest.approx(totals[1][part], rel=1e-3, abs=0.05)


def test_curves_have_no_heading_to_weigh(tmp_path):
    result = run("weigh", write_plan_for(tmp_path, square(), direction="pivot = [-93.5, 42.0]"))
    assert result.exit_code == 2
    assert result.stderr == (
        "striplay: plan.toml: direction: rows along a curve have no heading to weigh\n"
    )


def test_a_headland_that_leaves_nothing_is_refused(tmp_path):
    result = run("weigh", write_plan_for(tmp_path, square(100), direction='heading = "best"'))
    assert result.exit_code == 2
    assert "leaves no land inside it" in result.stderr
    assert "Traceback" not in result.stderr


def test_turning_costs_show_in_the_answer(tmp_path):
    """Dear turns bring long rows, on a field twice as long as wide."""
    oblong = shapely.box(-150, -300, 150, 300)
    dear = SHED.replace('does = "plant"', 'does = "plant"\nturn = "10 min"')
    plan = read_plan(write_plan_for(tmp_path, oblong, direction='heading = "best"', shed=dear))
    assert weigh(plan).best[0].heading_deg % 180 == pytest.approx(0.0, abs=0.05)


# --- a tenth of a degree off ----------------------------------------------------------------------


def test_what_a_tenth_of_a_degree_off_costs_is_that_of_the_dearer_side(weighed):
    for choice in (*weighed.best, weighed.asked, weighed.usual):
        assert choice.off_more is not None
    best = weighed.best[0]
    near = [
        weighed.parts[np.argmin(np.abs(weighed.headings_deg - best.heading_deg - off))].sum()
        for off in (-0.1, 0.1)
    ]
    assert best.off_more == pytest.approx(max(near) - best.total, abs=0.2)


def test_along_a_fence_a_tenth_of_a_degree_off_costs_and_across_a_slant_it_does_not(tmp_path):
    plan = read_plan(write_plan_for(tmp_path, square(), direction='heading = "best"'))
    along = weigh(plan).best[0]
    # rows drift over a foot or two of their half mile, so side rows are cut on either side
    assert along.off_more > 10
    slanted = shapely.affinity.rotate(square(), 31)
    plan = read_plan(write_plan_for(tmp_path, slanted, direction="heading = 10"))
    assert abs(weigh(plan).asked.off_more) < 5


def test_weigh_shows_it_and_json_holds_it(tmp_path):
    path = write_plan_for(tmp_path, square(1320), direction='heading = "best"')
    lines = run("weigh", path).stdout.splitlines()
    assert lines[1].endswith("0.1 off")
    more = json.loads(run("weigh", path, "--json").stdout)["best"][0]["cost"]["tenth_degree_off"]
    assert lines[2].endswith(f" {round(more):+,d}")
    assert any(line.startswith("0.1 off: what so many degrees off") for line in lines)


def test_a_stated_offset_is_held_to_the_best_along_the_longest_edge(tmp_path):
    """The first set from the side costs more than the best offset at the same heading."""
    field = shapely.box(-200, -131, 200, 131)
    at_side = lay_on(tmp_path, field, direction='heading = 90\noffset = "61 ft"').accounts["cost"]
    best = lay_on(tmp_path, field, direction='heading = 90\noffset = "best"').accounts["cost"]
    assert at_side["usual"]["total"] == pytest.approx(best["total"])
    assert at_side["total"] > best["total"] + 1
    path = write_plan_for(tmp_path, field, direction='heading = 90\noffset = "61 ft"')
    out = run("lay", path, "-o", tmp_path / "out", "--no-map-book").stdout
    more = at_side["total"] - best["total"]
    assert f"; {more:,.0f} more than at the best offset; 0.1 degrees off costs" in out


@pytest.mark.parametrize("turn_deg", [0.000006, -0.000006, 0.0004])
def test_a_heading_found_holds_no_false_precision(tmp_path, turn_deg):
    turned = shapely.affinity.rotate(shapely.box(-120, -220, 120, 220), turn_deg)
    layout = lay_on(tmp_path, turned, direction='heading = "best"')
    assert layout.land_accounts["field"]["heading_deg"] == 0.0
    assert layout.accounts["cost"]["usual"]["heading_deg"] == 0.0
    searched = layout.laid.blocks[0].searched
    for heading_deg in (*searched.headings_deg, *(one.heading_deg for one in searched.best)):
        assert heading_deg == round(heading_deg, 3)


def test_a_field_without_a_long_edge_is_not_compared_with_its_longest(tmp_path):
    """The chords of a drawn circle are no edges that a farm plants along."""
    layout = lay_on(tmp_path, shapely.Point(0, 0).buffer(150, quad_segs=16))
    cost = layout.accounts["cost"]
    assert cost["usual"] is None
    assert "longest edge" not in cost_words(cost, 0.0)
    half = shapely.intersection(shapely.Point(0, 0).buffer(150), shapely.box(-150, 0, 150, 150))
    assert has_long_edge(half)
    assert has_long_edge(
        shapely.MultiPolygon([shapely.box(x, 0, x + 90, 90) for x in range(0, 900, 99)])
    )


COST = "cost a year 1,000: turns 1,000"


@pytest.mark.parametrize(
    ("heading_deg", "said"),
    [
        (111.177, f"{COST}; along the longest edge"),
        (111.3, f"{COST}; 19 less than along the longest edge (111.18 degrees)"),
    ],
)
def test_a_heading_that_is_the_longest_edge_s_saves_nothing_over_it(heading_deg, said):
    usual = {"total": 1019.0, "heading_deg": 111.18, "offset_m": 0.0}
    cost = {"total": 1000.0, "parts": {"turns": 1000.0}, "usual": usual, "tenth_degree_off": None}
    assert cost_words(cost, heading_deg) == said
