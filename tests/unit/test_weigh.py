"""`striplay weigh`: five really different layouts, the user's own heading, the farm's usual."""

import json

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import FOOT_M, SHED, lay_on, square, write_plan_for

from striplay.cli import main
from striplay.files.plan import read_plan
from striplay.flow import weigh
from striplay.search.cost import PARTS
from striplay.search.headings import APART_DEG, GRID_DEG

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
    assert weighed.usual.offset_m == 0.0


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
    less = cost["usual"]["total"] - cost["total"]
    # the best heading is a hair beside the longest edge's
    assert f"{less:,.0f} less than along the longest edge (85 degrees)" in result.stdout


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
        totals.append(lay_on(tmp_path, middle, direction=direction).accounts["cost"]["parts"])
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
