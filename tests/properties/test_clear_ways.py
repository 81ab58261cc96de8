"""Ways between passes on small fields: clear of crop and of what is not the field, or told.

Each way is held to the ground by plain overlays of shapely, not by what drew it.
"""

import re

import numpy as np
import pytest
import shapely
from fields import AROUND, FOOT_M, PLANE, SHED, lay_on

from striplay.operations.jobs import crops_of
from striplay.operations.stands import standing_at

OVER_M, BESIDE_M = 1.05, 0.31
"""Allowed: a meter over a corner, and a foot beside what is kept off."""
TOLD_M = 0.25
"""A slanting way crosses a centimeter more of that foot in so much."""
TURNING = SHED.replace('does = "', 'turning_radius = "20 ft"\ndoes = "')
NARROW = AROUND.replace("passes = 2", "passes = 1")
ENDS = AROUND.replace('where = "around"', 'where = "ends"')
SIDE_M = 700 * FOOT_M


def box(west, south, east, north):
    return shapely.box(west * SIDE_M, south * SIDE_M, east * SIDE_M, north * SIDE_M)


SQUARE = box(-0.5, -0.5, 0.5, 0.5)
NOTCH = SQUARE.difference(shapely.Polygon(np.array([(0.1, 0.5), (0.25, 0), (0.5, 0.5)]) * SIDE_M))
YARD = SQUARE.difference(box(-0.06, 0.4, 0.06, 0.5))
VEE = SQUARE.difference(shapely.Polygon(np.array([(-0.2, 0.5), (0, 0.1), (0.2, 0.5)]) * SIDE_M))
POND = SQUARE.difference(shapely.Point(0.1 * SIDE_M, 0).buffer(0.16 * SIDE_M, quad_segs=8))
LEAN = shapely.Polygon(np.array([(-0.5, -0.5), (0.5, -0.3), (0.5, 0.5), (-0.5, 0.3)]) * SIDE_M)
PARTS = shapely.union(box(-0.5, -0.5, -0.1, 0.5), box(0, -0.4, 0.4, 0.4))
CORNER = SIDE_M * np.array([-0.5, -0.5]) - 8.0
"""A gate off the field, at a corner."""


def gate_at(point_m):
    longitude, latitude = PLANE.to_lonlat(np.array([point_m]))[0]
    return f"gate = [{longitude:.7f}, {latitude:.7f}]\n"


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    """Lay each field once."""
    kept = {}

    def give(shape, headland, gate):
        key = (shape.wkb, headland, gate)
        if key not in kept:
            folder = tmp_path_factory.mktemp("field")
            kept[key] = lay_on(
                folder, shape, headland=headland, shed=TURNING, strips=STRIPS, gate=gate
            )
        return kept[key]

    return give


STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 16\n'


def beyond_m(layout, route, stands):
    """Measure how far each way lies out of the field, over obstacles, or over standing crop."""
    up = set(stands) | set(crops_of(route.job))
    crop = [
        polygon
        for block in layout.laid.blocks
        for polygon, kind in zip(
            block.path.back(block.pieces.strips.polygon),
            block.pieces.strips.kind.tolist(),
            strict=True,
        )
        if any(row.strip == kind and row.label in up for row in layout.section.rows)
    ]
    free = layout.ground.land.difference(shapely.union_all(crop)).buffer(BESIDE_M)
    gate = shapely.Point(route.gate_m)  # what lies between the field and its gate is its own
    free = free.union(shapely.shortest_line(gate, layout.ground.outline).buffer(15.0))
    return shapely.length(shapely.difference(route.links.line, free))


def named(route):
    """Give the ways that notices name, and how many more they count."""
    ways, more = set(), 0
    for notice in route.notices:
        text = str(notice)
        if "lack room" in text:
            for listed in re.findall(r"\(after pass(?:es)? ([^)]*)\)", text):
                more += sum(int(n) for n in re.findall(r"(\d+) more\b", listed))
                ways |= {int(n) for n in re.findall(r"\d+(?! more)\b", listed)}
        else:
            more += sum(int(n) for n in re.findall(r"(\d+) more\b", text))
            ways |= {int(n) for n in re.findall(r"from pass (\d+) to", text)}
            ways |= {0} if "from the gate" in text else set()
    return ways, more


CASES = {
    "square": (SQUARE, AROUND, gate_at(CORNER)),
    "notch": (NOTCH, AROUND, gate_at(CORNER)),
    "yard at the edge": (YARD, AROUND, gate_at(CORNER)),
    "vee": (VEE, AROUND, gate_at(CORNER)),
    "pond": (POND, AROUND, gate_at(CORNER)),
    "pond with ends only": (POND, ENDS, gate_at(CORNER)),
    "slanting, narrow headland": (LEAN, NARROW, gate_at(CORNER)),
    "two parts": (PARTS, AROUND, ""),
}


@pytest.mark.parametrize("name", CASES)
def test_no_way_leaves_its_ground_untold(laid, name):
    layout = laid(*CASES[name])
    stands = standing_at([route.job for route in layout.routes], layout.season.days)
    for route, up in zip(layout.routes, stands, strict=True):
        over_m = beyond_m(layout, route, up)
        bad = set(np.flatnonzero(over_m > OVER_M).tolist())
        if layout.plan.gate is None:  # told once: each goes back to where it came from
            bad -= {0, len(route)}
        ways, more = named(route)
        assert len(bad - ways) <= more, (route.job.name, sorted(bad - ways))
        told_m = route.links.beyond_m.sum(axis=1)
        kept = np.setdiff1d(np.arange(len(route) + 1), [] if layout.plan.gate else [0, len(route)])
        # each way is measured as it lies, named or counted
        assert told_m[kept] == pytest.approx(over_m[kept], abs=TOLD_M)


@pytest.mark.parametrize("name", ["square", "notch", "yard at the edge", "vee"])
def test_on_plain_fields_with_room_every_way_is_clear(laid, name):
    """Rounds of a headland are shifted between on it, and gates reached without leaving it.

    Between ends at a yard, or either side of a vee, the usual way would run over 5 and 12 m.
    """
    layout = laid(*CASES[name])
    stands = standing_at([route.job for route in layout.routes], layout.season.days)
    for route, up in zip(layout.routes, stands, strict=True):
        assert beyond_m(layout, route, up).max() < OVER_M
        assert not [n for n in route.notices if "no clear way" in str(n)]
