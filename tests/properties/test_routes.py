"""Routes on random fields: every pass driven once, as one connected way from gate to gate."""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
import shapely
from fields import AROUND, SAMPLES, SHED, STRIPS, lay_on, square
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import star_fields

from striplay.errors import NoStripError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.operations.jobs import crops_of

NONE = '[headland]\nwhere = "none"\n'
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "6 corn, 10 soybean"\n'
NEAR_M = 1e-6
"""Ways are drawn exactly from the end of one pass to the beginning of the next."""


def hold(layout):
    """Hold the routes of a layout to what all must be."""
    driven = set()
    for route in layout.routes:
        links, lines = route.links.line, route.line
        assert len(links) == len(lines) + 1
        ways = [links[0]]
        for line, link in zip(lines, links[1:], strict=True):
            ways += [line, link]
        ends = [shapely.get_coordinates(way) for way in ways]
        gaps_m = [np.hypot(*(b[0] - a[-1])) for a, b in pairwise(ends)]
        assert max(gaps_m) < NEAR_M
        assert np.hypot(*(ends[0][0] - route.gate_m)) < NEAR_M
        assert np.hypot(*(ends[-1][-1] - route.gate_m)) < NEAR_M
        assert np.all(route.links.length_m >= route.links.reverse_m)
        # harvest opens the headland first, all others end with it
        edge = (route.place == "headland").tolist()
        assert edge == sorted(edge, reverse=route.job.does == "harvest")
        # one crop's passes over strips are not split by another's
        crops = route.crop[route.place == "strips"].tolist()
        assert sum(a != b for a, b in pairwise(crops)) < max(len(set(crops)), 1)
        # each of its passes once, either way round
        job = route.job
        own = set(job.crops) | (set() if job.does in {"plant", "harvest"} else set(crops_of(job)))
        asked = Counter(
            shapely.normalize(line).wkb
            for one in layout.side_by_side
            if (one.operation, one.machine) == (job.does, job.machine)
            and one.crop in (own if one.place == "headland" else job.crops)
            for line in one.line
        )
        assert Counter(shapely.normalize(line).wkb for line in lines) == asked
        driven |= set(asked)
    assert driven == {
        shapely.normalize(line).wkb for one in layout.side_by_side for line in one.line
    }


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    shape=star_fields(),
    headland=st.sampled_from([AROUND, NONE]),
    strips=st.sampled_from([STRIPS, ROW_SET]),
)
def test_every_pass_is_driven_once_on_one_way_from_gate_to_gate(
    tmp_path_factory, shape, headland, strips
):
    folder = tmp_path_factory.mktemp("field")
    try:
        layout = lay_on(folder, shape, headland=headland, shed=SHED, strips=strips)
    except NoStripError:
        return
    hold(layout)


@pytest.mark.parametrize(
    "name",
    ["pond_ell/plan", "creek_side/plan", "two_parts/mixed", "quarter_section/row_set",
     "pivot_circle/all_systems"],
)  # fmt: skip
def test_samples_are_driven_from_gate_to_gate(name):
    hold(lay(read_plan(SAMPLES / f"{name}.toml")))


def test_passes_that_must_run_one_way_keep_it(tmp_path):
    layout = lay_on(tmp_path, square(660), strips=ROW_SET)
    (drawn,) = (one for one in layout.side_by_side
                if one.operation == "plant" and one.place == "strips")  # fmt: skip
    assert drawn.only_so.all()
    driven = {line.wkb for one in layout.driven if one.operation == "plant" for line in one.line}
    assert {line.wkb for line in drawn.line} <= driven
