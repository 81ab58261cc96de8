"""Toothed, comb-shaped and needle-thin boundaries: laid whole or refused in words, never a fault.

Run by hand over thousands of fields with `lay_or_refuse(write_toothed(folder, random)[0])`.
"""

import numpy as np
import pytest
import shapely
from fields import assert_whole, square, texts, write_plan_for, write_shapes
from shapely.errors import GEOSException
from toothed import lay_or_refuse, toothed_field, write_toothed

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.geometry import overlay
from striplay.geometry.frame import Frame
from striplay.geometry.inset import Ends
from striplay.report import rows_run
from striplay.tolerances import AREA_SHARE

FAILED = [(61, 83.7038470873347, 48.0, 3.0), (116, 109.66534116783978, 48.0, 6.096),
          (363, 106.7038822095956, 12.192, 12.192)]  # fmt: skip
"""Fields whose ends could not be put together in floating point: seed, heading, width, pass."""


@pytest.mark.parametrize(("seed", "heading_deg", "width_m", "pass_m"), FAILED)
def test_ends_that_failed_to_overlay_close(seed, heading_deg, width_m, pass_m):
    field = toothed_field(np.random.default_rng(seed), 120)
    ends, frame = Ends(field, width_m, pass_m), Frame(heading_deg)
    taken, inside = ends.at(frame), ends.inside(frame)
    assert shapely.intersection(taken, inside).area < AREA_SHARE * field.area
    assert taken.area + inside.area == pytest.approx(field.area, rel=AREA_SHARE)


@pytest.mark.parametrize("seed", range(12))
def test_ends_of_teeth_close_at_any_heading(seed):
    random = np.random.default_rng(1000 + seed)
    field = toothed_field(random, 20)
    ends = Ends(field, random.choice([3.0, 12.192, 24.384]), random.choice([3.0, 12.192]))
    for heading_deg in (0.0, 90.0, *random.uniform(0, 180, 2)):
        frame = Frame(float(heading_deg))
        both_m2 = ends.at(frame).area + ends.inside(frame).area
        assert both_m2 == pytest.approx(field.area, rel=AREA_SHARE)


CASES = [
    ("straight", "around", 62, True), ("straight", "ends", 60, False),
    ("straight", "ends", 160, True), ("straight", "none", 60, True), ("cut", "around", 127, True),
    ("cut", "ends", 25, False), ("cut", "none", 225, True), ("parts", "around", 41, True),
    ("parts", "ends", 39, True), ("parts", "none", 39, True), ("along", "none", 39, True),
    ("along", "none", 139, True), ("pivot", "none", 39, True),
]  # fmt: skip
"""With a seed for each, and whether its field has room. Ends have no use with a curve, and rounds
along one take long. A band beside the jagged line of 139 crosses itself."""


@pytest.mark.parametrize(("course", "headland", "seed", "has_room"), CASES)
def test_teeth_are_laid_or_refused(tmp_path, course, headland, seed, has_room):
    path, said = write_toothed(tmp_path, np.random.default_rng(seed), course, headland, most=20)
    layout = lay_or_refuse(path)
    assert (layout is not None) is has_room, said
    if layout is not None:
        assert_whole(layout)
        planted = layout.passes[layout.passes["operation"] == "plant"]
        assert {*layout.strips["strip"]} <= {*planted["strip"]}
        rows = layout.rows.geometry.to_numpy()
        outside = shapely.difference(rows, shapely.buffer(layout.ground.outline, 1e-6))
        assert shapely.length(outside).sum() == 0
        counted_m = sum(crop["row_length_m"] for crop in layout.land_accounts["crops"].values())
        assert shapely.length(rows).sum() == pytest.approx(counted_m, rel=1e-9)


def test_a_block_without_room_for_a_strip_is_told(tmp_path):
    """The corner's rows are all shorter than 66 ft: the other block is laid, and this one told."""
    write_shapes(tmp_path, shapely.box(-500, 183, -170, 500))
    path = write_plan_for(tmp_path, square(1320), headland='[headland]\nwhere = "none"\n')
    path.write_text(f'{path.read_text()}\n[[blocks]]\nfile = "cut.geojson"\nheading = 0\n')
    layout = lay(read_plan(path))
    assert_whole(layout)
    assert set(layout.strips["block"]) == {2}
    count = layout.strips["strip"].nunique()
    assert layout.land_accounts["field"]["block_strips"] == [None, [1, count]]
    told = [notice for notice in texts(layout.notices) if "block 1" in notice]
    assert len(told) == 1
    assert told[0] == (
        "block 1 has no strip: inside its headland there is too little width, or no row long "
        "enough; join it to another, or make [direction] shortest shorter"
    )
    assert "a block without a strip" in rows_run(layout.plan, layout.land_accounts["field"])


def test_what_fails_in_an_array_alone_goes_on_the_grid(monkeypatch):
    exact, bad = shapely.intersection, shapely.box(0, 0, 3, 3)
    grids = []

    def fails(one, other, grid_size=None):
        if grid_size is None and any(np.ravel(np.equal(one, bad))):
            raise GEOSException("TopologyException: no")
        grids.append(grid_size)
        return exact(one, other, grid_size=grid_size)

    monkeypatch.setattr(shapely, "intersection", fails)
    other = shapely.box(1, 1, 9, 9)
    found = overlay.intersection(np.array([shapely.box(0, 0, 2, 2), bad]), other)
    assert [one.area for one in found] == [1.0, 4.0]
    assert grids == [None, 1e-9]
    assert overlay.intersection(bad, other).area == 4.0
