"""What must hold for any field, the narrowest too: a strip is laid, or it is refused in words."""

import tempfile
from contextlib import ExitStack
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
import shapely
from brute import KINDS, random_field
from fields import AROUND, STRIPS, lay_on, write_plan_for
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from striplay.errors import NoStripError
from striplay.files.plan import read_plan
from striplay.flow import read_ground
from striplay.laid import lay_straight
from striplay.search import headings
from striplay.section.systems import sections_of

FEW = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
ROW_SET = '[[row_set]]\nplanter = "planter"\nunits = "10 corn, 6 soybean"\n'
COARSE = {"GRID_DEG": 3.0, "CHECKED": 8, "SHOWN_DEG": 10.0, "CLIMBS": 2}
WAYS = ('heading = "best"', "heading = 33", 'heading = 120\noffset = "best"')


def coarse():
    """Search few headings."""
    patches = ExitStack()
    for name, value in COARSE.items():
        patches.enter_context(patch.object(headings, name, value))
    return patches


def narrow_field(kind, seed):
    """Give a random field pressed flat, from a whole one to one of a few yards, and turned."""
    random = np.random.default_rng(seed)
    field = random_field(kind, random)
    flat = shapely.affinity.scale(field, 0.6, float(np.exp(random.uniform(-4, 0))), origin=(0, 0))
    return shapely.affinity.rotate(flat.buffer(0), random.uniform(0, 180), origin=(0, 0))


@FEW
@given(
    st.sampled_from(KINDS),
    st.integers(0, 10_000),
    st.sampled_from(["around", "ends", "none"]),
    st.integers(1, 12),
    st.sampled_from(WAYS),
    st.sampled_from([STRIPS, ROW_SET]),
)
def test_a_field_has_a_strip_or_is_refused_in_words(kind, seed, where, passes, way, strips):
    headland = AROUND.replace("around", where).replace("passes = 2", f"passes = {passes}")
    if where == "none":
        headland = '[headland]\nwhere = "none"\n'
    field = narrow_field(kind, seed)
    if field.area < 600:
        return
    layout, said = None, ""
    with tempfile.TemporaryDirectory() as folder, coarse():
        try:
            layout = lay_on(Path(folder), field, headland=headland, direction=way, strips=strips)
        except NoStripError as refusal:
            said = str(refusal)
    if layout is None:
        assert "leaves no land" in said or "no strip can be laid" in said
        assert "would do" in said or "narrower machines" in said
        return
    assert len(layout.strips)
    assert len(layout.rows)
    assert layout.areas_m2["strips"] > 0


@pytest.mark.parametrize("seed", [40, 88, 92])
def test_what_is_refused_has_no_strip_at_any_heading(tmp_path, seed):
    """The land inside two passes of headland is a few yards: lay it in every way, and in none."""
    random = np.random.default_rng(seed)
    count = random.integers(4, 10)
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False) + random.uniform(0, 0.3, count)
    radius = random.uniform(30, 200, count)
    field = shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    field = shapely.affinity.scale(field.buffer(0), 1, random.uniform(0.1, 1))
    field = shapely.affinity.rotate(field, random.uniform(0, 180))
    with coarse():
        path = write_plan_for(tmp_path, field, direction='heading = "best"')
        plan = read_plan(path)
        ground, sections = read_ground(plan), sections_of(plan)
        with pytest.raises(NoStripError):
            lay_straight(plan, sections[0], ground)
    for heading in np.arange(0.0, 180.0, 9.0):
        for offset in np.arange(0.0, sections[0].width_m, sections[0].width_m / 5):
            wish = {"heading": float(heading), "offset_m": float(offset)}
            direction = plan.direction.model_copy(update=wish)
            with pytest.raises(NoStripError):
                lay_straight(plan.model_copy(update={"direction": direction}), sections[0], ground)
