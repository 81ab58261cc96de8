"""Next season's plan of any system on any field: strips lie where they lay, to the millimeter."""

import tempfile
from pathlib import Path

import pytest
import shapely
from fields import AROUND, SHED, assert_whole, lay_on
from hypothesis import HealthCheck, Phase, assume, given, note, settings
from hypothesis import strategies as st
from strategies import star_fields, typed_headings
from systems import MORE, SYSTEMS

from striplay.errors import NoStripError
from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.following import next_plan
from striplay.section.sequence import followers
from striplay.tolerances import TRACKS_M

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


def places(layout):
    """Give from where to where each strip's whole pieces lie across the rows, with its crop."""
    (block,) = layout.laid.blocks
    found = {}
    for one in layout.strips[layout.strips["whole"]].itertuples():
        across = block.path.across_of(shapely.get_coordinates(one.geometry))
        found.setdefault((one.strip, one.crop), []).append((across.min(), across.max()))
    return [(min(low for low, _ in each), max(high for _, high in each), crop)
            for (_, crop), each in found.items()]  # fmt: skip


@pytest.mark.parametrize("system", [*SYSTEMS, "three strips"])
@FEW
@given(
    star_fields(ragged=0.3).filter(lambda field: 20_000 < field.area < 150_000),
    typed_headings(),
    st.sampled_from(["left", "right"]),
    st.sampled_from([BARE, '[headland]\nwhere = "none"\n']),
)
def test_strips_coincide_and_each_has_the_crop_that_follows(system, field, heading, start, around):
    note(shapely.to_wkb(field, hex=True))  # pytest cuts what it shows of it
    with tempfile.TemporaryDirectory() as folder:
        strips = {**SYSTEMS, "three strips": THREE}[system]
        direction = CHOSEN.format(heading, start)
        parts = {"headland": around, "direction": direction, "shed": SHED + MORE, "strips": strips}
        path = Path(folder) / "next" / "plan.toml"
        path.parent.mkdir()
        try:
            before = lay_on(Path(folder), field, **parts)
            path.write_text(next_plan(before, path).text, encoding="utf-8")
        except NoStripError:
            assume(False)  # noqa: FBT003 - hypothesis' own
        after = lay(read_plan(path))
    assert_whole(after)
    own, other = places(before), places(after)
    moved = followers(before.plan, before.section.plain.labels)
    alike = [
        (one, it)
        for one in own
        for it in other
        if min(one[1], it[1]) - max(one[0], it[0]) > TRACKS_M
    ]
    assume(own)
    assert alike
    for (low_m, high_m, crop), (other_low_m, other_high_m, other_crop) in alike:
        assert max(abs(low_m - other_low_m), abs(high_m - other_high_m)) < TRACKS_M
        assert other_crop == moved[crop]
