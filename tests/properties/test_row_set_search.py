"""Row sets and relays are searched right: their cost is that of the drawing, and least of all."""

import pytest
import shapely
from brute import KINDS, hold, laid_at_random
from drawing import drawn_cost, under, worked_twice_m2
from fields import SHED, STATED, STRIPS, lay_on

from striplay.units import ACRE_M2

SHED_12 = SHED.replace("rows = 16", "rows = 12")
BY_ROW = SHED_12.replace("rows = 12\n", 'rows = 12\nshut_off = "row"\n')
NONE = '[headland]\nwhere = "none"\n'


def row_set(units, travel="back and forth"):
    return f'[[row_set]]\nplanter = "planter"\nunits = "{units}"\ntravel = "{travel}"\n'


SEVENS = (
    SHED.replace("rows = 16", 'rows = 16\nshut_off = "row"')
    + """
[machines.drill]
does = "plant"
width = "21 ft"
spacing = "7 in"
shut_off = "row"
[crops.wheat]
planter = "drill"
harvester = "platform"
"""
)
SEVENS_STRIPS = (
    '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "wheat"\nwidth = "42 ft"\n'
)
RELAY = '[[relay]]\ncrop = "soybean"\ninto = "corn"\n'
SYSTEMS = {
    "halves": (SHED_12, row_set("6 corn, 6 soybean")),
    "halves one way": (SHED_12, row_set("6 corn, 6 soybean", "one way")),
    "soybean between": (SHED_12, row_set("3 corn, 6 soybean, 3 corn")),
    "narrow corn": (SHED_12, row_set("2 corn, 8 soybean, 2 corn")),
    "one way": (SHED_12, row_set("2 corn, 8 soybean, 2 corn", "one way")),
    "empty beside": (SHED_12, row_set("2 corn, 1 empty, 6 soybean, 1 empty, 2 corn")),
    "empty within": (SHED_12, row_set("2 corn, 2 empty, 2 corn, 6 soybean")),
    "by row": (BY_ROW, row_set("6 corn, 6 soybean")),
    "relay": (SHED, STRIPS + RELAY),
    "spacings of no common part": (SEVENS, SEVENS_STRIPS),
    "relay in a row set": (SHED_12, row_set("6 corn, 6 soybean") + RELAY),
}
SEARCHED = [
    ("halves", 0),
    ("empty beside", 18),
    ("relay in a row set", 21),
]

every_system = pytest.mark.parametrize("system", SYSTEMS)


@every_system
@pytest.mark.parametrize("kind", KINDS)
def test_the_whole_cost_is_that_of_the_drawing(system, kind):
    """Passes reach over all their piece where the drawing's end with their rows: never below."""
    shed, strips = SYSTEMS[system]
    seed = len(system)  # any
    plan, laid = laid_at_random(kind, seed, strips=strips, shed=shed)
    said = laid.blocks[0].choice.total / drawn_cost(plan, laid)
    assert said == pytest.approx(1.01, abs=0.025)


@pytest.mark.parametrize(("system", "seed"), SEARCHED)
def test_nothing_laid_by_brute_force_is_better(system, seed):
    shed, strips = SYSTEMS[system]
    held = hold(
        KINDS[seed % 4], seed, random_headings=8, random_places=12, drawn_every=6,
        strips=strips, shed=shed,
    )  # fmt: skip
    assert not held.worse
    if seed // 4 % 4 < 2:  # where money is the aim, the drawing agrees
        assert held.found_drawn <= held.brute_drawn * 1.02


@pytest.mark.parametrize("units", ["6 corn, 6 soybean", "2 corn, 2 empty, 2 corn, 6 soybean"])
@pytest.mark.parametrize(("shut_off", "parts"), [('"none"', 1), ('"row"', 12), ("4", 4)])
def test_point_rows_are_those_of_the_drawing(tmp_path, units, shut_off, parts):
    shed = SHED_12.replace("rows = 12\n", f"rows = 12\nshut_off = {shut_off}\n")
    plan, laid = laid_at_random("convex", 3, strips=row_set(units), shed=shed)
    (found,) = (each for each in under(plan, laid) if each.operation == "plant")
    said = next(p for p in laid.blocks[0].choice.point_rows if p.machine == "planter")
    for area_m2, count in ((said.area_m2, parts), (said.without_m2, 1), (said.with_m2, 12)):
        drawn_m2 = worked_twice_m2(plan, found, count)
        assert area_m2 == pytest.approx(drawn_m2, rel=0.05)


def test_planter_passes_of_a_row_set_by_hand(tmp_path):
    """Ten whole passes on a rectangle: the planter works nothing twice."""
    side_m = 10 * 12 * 0.762
    field = shapely.box(-side_m / 2, -150, side_m / 2, 150)
    shed = STATED.replace("rows = 16", "rows = 12")
    layout = lay_on(tmp_path, field, headland=NONE, shed=shed, strips=SYSTEMS["halves"][1])
    cost = layout.laid.parts
    # 6 rows of corn, 12 of soybean, 12 of corn ... 6 of corn: the platform of 30 ft once (12 rows
    # are as wide), the header of 8 rows twice over 12; rows 7 to 12 of the first strip lie on both
    # of its passes, rows 1 to 6 of the last on one
    headers = 2 + 4 * 2 + 1 + 5
    # the boom of 120 ft over two sets, from the first strip's edge: 87.5 ft from the first to the
    # last row of each crop under it, so wherever it runs a mean of (300 + 87.5) / 120 passes a crop
    booms = 2 * (300 + 87.5) / 120
    turns = 10 * 300 * 40 + booms * 300 * 30 + headers * 400 * 35
    assert cost["turns"] == pytest.approx(turns / 3600, rel=1e-9)
    # 300 / 120 boom passes a crop would do; beside the field's sides 6 of 8 and 2 of 8 rows of a
    # header pass are outside
    more = 2 * 87.5 / 120
    runs = more * 300 / (10 * 0.44704) + (6 + 2) / 8 * 400 / (4 * 0.44704)
    assert cost["partial-width passes"] == pytest.approx(300 * runs / 3600, abs=0.05)
    # sections of 10 ft at the sides, in square feet: six on each crop's two strips, the outer two
    # 8.75 ft wide from their outer row; less a step of 2 cm at each edge between sections
    twice_ft2 = 2 * (2 * 10 * 8.75 + 4 * 10 * 10)
    said = twice_ft2 / 120 * 0.3048 * 300 * 30 / ACRE_M2
    assert cost["overlap at point rows"] == pytest.approx(said, rel=0.02)
