"""What must hold for any field: accounts close, nothing overlaps, turning changes nothing."""

import tempfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from fields import AROUND, PLANE, lay_on, write_plan_for
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from striplay.accounts.count import count_crops, count_laid
from striplay.files.plan import read_plan
from striplay.ground import Ground
from striplay.laid import lay_straight
from striplay.section.systems import sections_of

ENDS = AROUND.replace("around", "ends")
NONE = '[headland]\nwhere = "none"\n'
QUICK = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def fields(draw):
    """Star-shaped fields, some with a hole."""
    count = draw(st.integers(4, 24))
    seed = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * np.pi, count, endpoint=False) + random.uniform(0, 0.1, count)
    radii = random.uniform(180, 500, count)
    field = shapely.Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))
    if draw(st.booleans()):
        field = field.difference(shapely.Point(40, -30).buffer(draw(st.floats(5, 60)), quad_segs=4))
    return field


plans = st.tuples(
    st.sampled_from([AROUND, ENDS, NONE]), st.floats(0, 179.9), st.sampled_from(["left", "right"])
)


def planned(field, plan):
    headland, heading, start = plan
    with tempfile.TemporaryDirectory() as folder:
        direction = f'heading = {heading:.6f}\nstart = "{start}"'
        path = write_plan_for(Path(folder), field, headland=headland, direction=direction)
        return read_plan(path)


def laid(field, plan):
    headland, heading, start = plan
    with tempfile.TemporaryDirectory() as folder:
        direction = f'heading = {heading:.6f}\nstart = "{start}"'
        return lay_on(Path(folder), field, headland=headland, direction=direction)


@QUICK
@given(fields(), plans)
def test_accounts_close_and_nothing_overlaps(field, plan):
    layout = laid(field, plan)
    accounts = layout.land_accounts
    total = sum(accounts["areas_m2"].values())
    assert total == pytest.approx(accounts["field"]["area_m2"], rel=1e-9)
    polygons = np.concatenate(
        [layout.strips.geometry.to_numpy(), layout.leftover.geometry.to_numpy()]
    )
    assert shapely.is_valid(polygons).all()
    one, other = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    pairs = one < other
    overlap = shapely.area(shapely.intersection(polygons[one[pairs]], polygons[other[pairs]]))
    assert overlap.max(initial=0.0) <= 1e-6


@QUICK
@given(fields(), plans)
def test_rows_lie_in_their_strip_and_parts_make_totals(field, plan):
    layout = laid(field, plan)
    rows, strips = layout.rows, layout.strips
    assert (rows["length_m"] >= 66 * 0.3048 - 1e-6).all()
    own = strips.set_index(["strip", "piece"]).geometry
    if len(rows):
        polygons = own.loc[list(zip(rows["strip"], rows["piece"], strict=True))].to_numpy()
        outside = shapely.difference(rows.geometry.to_numpy(), shapely.buffer(polygons, 1e-6))
        assert shapely.length(outside).max() <= 1e-6
    for crop, account in layout.land_accounts["crops"].items():
        mine = strips[strips["crop"] == crop]
        assert mine["area_m2"].sum() == pytest.approx(account["area_m2"], rel=1e-12, abs=1e-9)
        assert 0 <= account["seeds"] - mine["seeds"].sum() < 1
        length = rows.loc[rows["crop"] == crop, "length_m"].sum()
        assert length == pytest.approx(account["row_length_m"], rel=1e-12, abs=1e-9)
    assert len(own.index) == len(set(own.index))


@QUICK
@given(fields(), st.sampled_from([AROUND, NONE]), st.floats(1, 89))
def test_layout_turns_and_shifts_with_its_field(field, headland, angle):
    # on one plane: a boundary read again has a center, and so a true north, of its own
    here = planned(field, (headland, 0.0, "left"))
    there = planned(field, (headland, angle, "left"))
    moved = shapely.affinity.translate(
        shapely.affinity.rotate(field, -angle, origin=(0, 0)), 130, -70
    )
    here = count_crops_on(field, here)
    there = count_crops_on(moved, there)
    for crop, account in here.items():
        assert there[crop]["area_m2"] == pytest.approx(account["area_m2"], rel=1e-7, abs=1e-3)
        assert there[crop]["row_length_m"] == pytest.approx(
            account["row_length_m"], rel=1e-7, abs=1e-3
        )


def count_crops_on(land, plan):
    """Lay a plan on other land, in the plane as given."""
    hole = shapely.difference(shapely.Polygon(land.exterior), land)
    ground = Ground(PLANE, shapely.Polygon(land.exterior), land, hole)
    found = lay_straight(plan, sections_of(plan)[0], ground)
    return count_crops(plan, found, count_laid(found, plan))
