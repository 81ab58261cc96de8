"""Booms on tramlines cost what they do, drawn at many places across, on the mean."""

import numpy as np
import pytest
import shapely
from brute import KINDS, laid_at_random
from drawing import on_lines
from fields import SHED

from striplay.geometry.edges import edges_of
from striplay.geometry.fold import profile_of, summed
from striplay.search.prices import prices_of
from striplay.search.turned import LandToWeigh, turned

NARROW = SHED.replace("rows = 16", "rows = 8").replace('"30 ft"', '"20 ft"')
TWO = '[[strips]]\ncrop = "corn"\nrows = 8\n[[strips]]\ncrop = "soybean"\nrows = 8\n'
THREE = TWO + '[[strips]]\ncrop = "corn"\nrows = 12\n'
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "5 corn, 3 soybean"\n'


@pytest.mark.parametrize("strips", [TWO, THREE, ROW_SET], ids=["two", "three", "row set"])
@pytest.mark.parametrize("kind", KINDS)
def test_the_mean_is_that_of_many_places_drawn(kind, strips):
    """On the ground as drawn, holes that a boom reaches over included."""
    plan, laid = laid_at_random(kind, 4, strips=strips, shed=NARROW)
    prices = prices_of(plan, laid.section)
    every = shapely.coverage_union_all(laid.blocks[0].pieces.strips.polygon)
    ground = LandToWeigh(edges_of(every), edges_of(every), 0.0, 0.0, every.area, 0.0)
    right = plan.direction.model_copy(update={"start": "right", "shortest_m": 0.0})
    way = turned(plan.model_copy(update={"direction": right}), [ground], [90.0])
    whole = summed(profile_of(way.planted, way.bottom_m))
    holes = [polygon.bounds for polygon in shapely.polygons(shapely.get_parts(shapely.get_rings(
        every)))][1:] if kind == "holed" else []  # fmt: skip
    low_m, high_m = (np.array([bounds[i] for bounds in holes]) for i in (1, 3))
    turns = prices.lines.turns(whole)[0]
    if holes:
        turns += prices.lines.of_holes(low_m, high_m, every.bounds[1], every.bounds[3])
    drawn = on_lines(plan, laid, places=48)
    said = (turns, prices.lines.partial(whole)[0], prices.lines.overlap(whole)[0])
    assert said == pytest.approx(drawn, rel=0.03)
