"""Next season's plan of any system on any field: strips lie where they lay, to the millimeter."""

import tempfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from fields import AROUND, SHED, assert_whole, lay_on
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from strategies import headings, star_fields
from systems import MORE, SYSTEMS

from striplay.errors import NoStripError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.following import next_plan
from striplay.section.sequence import followers

FEW = settings(
    max_examples=1,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.generate],  # smaller fields are hardly clearer, and every one is laid thrice
)
THREE = """
[[strips]]
crop = "corn"
rows = 48
[[strips]]
crop = "soybean"
rows = "fit"
[[strips]]
crop = "wheat"
width = "120 ft"
"""
CHOSEN = 'heading = {}\noffset = "best"\nstart = "{}"\nshortest = "30 ft"'
BARE = AROUND.replace('crop = "corn"\n', "")


def edges(layout):
    """Give from where to where each strip's whole pieces lie across the rows, by strip."""
    (block,) = layout.laid.blocks
    found = {}
    for one in layout.strips[layout.strips["whole"]].itertuples():
        across = block.path.across_of(shapely.get_coordinates(one.geometry))
        found.setdefault(one.strip, []).append((across.min(), across.max()))
    return {strip: (min(low for low, _ in each), max(high for _, high in each))
            for strip, each in found.items()}  # fmt: skip


def crops(layout):
    """Give each strip's crop, by number."""
    return dict(zip(layout.strips["strip"], layout.strips["crop"], strict=True))


@pytest.mark.parametrize("system", [*SYSTEMS, "three strips"])
@FEW
@given(
    star_fields(ragged=0.3).filter(lambda field: 20_000 < field.area < 150_000),
    headings(),
    st.sampled_from(["left", "right"]),
    st.sampled_from([BARE, '[headland]\nwhere = "none"\n']),
)
def test_strips_coincide_and_each_has_the_crop_that_follows(system, field, heading, start, around):
    with tempfile.TemporaryDirectory() as folder:
        strips = {**SYSTEMS, "three strips": THREE}[system]
        direction = CHOSEN.format(round(heading, 4), start)
        parts = {"headland": around, "direction": direction, "shed": SHED + MORE, "strips": strips}
        try:
            before = lay_on(Path(folder), field, **parts)
        except NoStripError:
            assume(False)  # noqa: FBT003 - hypothesis' own
        path = Path(folder) / "next" / "plan.toml"
        path.parent.mkdir()
        path.write_text(next_plan(before, path).text, encoding="utf-8")
        after = lay(read_plan(path))
    assert_whole(after)
    own, other = edges(before), edges(after)
    both = own.keys() & other.keys()
    assume(own)
    assert both
    for strip in both:
        assert np.abs(np.subtract(own[strip], other[strip])).max() < 0.001
    moved = followers(before.plan, before.section.plain.labels)
    if before.laid.blocks[0].pieces.strips.strip.tolist() == (
        after.laid.blocks[0].pieces.strips.strip.tolist()
    ):
        assert crops(after) == {strip: moved[crop] for strip, crop in crops(before).items()}
