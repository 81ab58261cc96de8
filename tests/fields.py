"""Lay plans on fields given in meters, for the tests of layout and all that follows."""

import json
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from geopandas import GeoDataFrame

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.ground import Plane
from striplay.laid_plan import Layout
from striplay.plan.models import Plan
from striplay.tolerances import OVERLAY_M

PLANE = Plane(-93.5, 42.0)
FOOT_M = 0.3048

SHED = """
[machines.planter]
does = "plant"
rows = 16
spacing = "30 in"
[machines.corn_head]
does = "harvest"
rows = 8
spacing = "30 in"
[machines.platform]
does = "harvest"
width = "30 ft"
[machines.sprayer]
does = "spray"
width = "120 ft"
sections = 12
[crops.corn]
planter = "planter"
harvester = "corn_head"
rate = "34000 seeds/acre"
emergence = 0.95
unit = "80000 seeds"
[crops.soybean]
planter = "planter"
harvester = "platform"
rate = "140000 seeds/acre"
unit = "140000 seeds"
"""
TURNS_S = {"plant": 40, "spray": 30, "harvest": 35}
"""Stated time of a turn, where a test reckons by hand."""
STATED = SHED
for _does, _turn_s in TURNS_S.items():
    STATED = STATED.replace(f'does = "{_does}"', f'does = "{_does}"\nturn = "{_turn_s} s"')
STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "soybean"\nrows = 48\n'
AROUND = '[headland]\nwhere = "around"\npasses = 2\nmachine = "planter"\ncrop = "corn"\n'


def write_field(folder: Path, shape: shapely.Geometry, name: str = "field.geojson") -> Path:
    """Write a shape on the plane as GeoJSON, to a nanometer."""
    lonlat = PLANE.geometries_to_lonlat(shape)
    feature = {
        "type": "Feature",
        "properties": {},
        "geometry": json.loads(shapely.to_geojson(lonlat)),
    }
    path = folder / name
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    return path


def write_plan_for(
    folder: Path,
    shape: shapely.Geometry,
    *,
    headland: str = AROUND,
    direction: str = "heading = 0",
    shed: str = SHED,
    strips: str = STRIPS,
    field: str = "",
    gate: str = "",
) -> Path:
    """Write a field and a plan for it."""
    write_field(folder, shape)
    text = (
        f'title = "Test"\n{gate}[field]\nboundary = "field.geojson"\n{field}\n{headland}\n'
        f"[direction]\n{direction}\n{shed}\n{strips}"
    )
    path = folder / "plan.toml"
    path.write_text(text)
    return path


def lay_on(folder: Path, shape: shapely.Geometry, **parts: str) -> Layout:
    """Lay a plan on a shape."""
    return lay(read_plan(write_plan_for(folder, shape, **parts)))


@cache
def lay_once(shape: shapely.Geometry, **parts: str) -> Layout:
    """Lay a plan that needs no other file once for all tests of a process that ask for it."""
    with tempfile.TemporaryDirectory() as folder:
        return lay_on(Path(folder), shape, **parts)


def write_shapes(
    folder: Path, *shapes: shapely.Geometry, name: str = "cut.geojson", kinds: Sequence[str] = ()
) -> None:
    """Write shapes on the plane as GeoJSON, each with its kind."""
    features = [
        {
            "type": "Feature",
            "properties": {"kind": kinds[index] if kinds else "cut"},
            "geometry": json.loads(shapely.to_geojson(PLANE.geometries_to_lonlat(shape))),
        }
        for index, shape in enumerate(shapes)
    ]
    (folder / name).write_text(json.dumps({"type": "FeatureCollection", "features": features}))


def write_line(folder: Path, *lines: shapely.Geometry) -> None:
    """Write a key line on the plane as key.geojson."""
    write_shapes(folder, *lines, name="key.geojson")


def assert_whole(layout: Layout) -> None:
    """Hold a layout to what all must be: areas add up, and no piece overlaps another."""
    assert sum(layout.areas_m2.values()) == pytest.approx(layout.ground.outline.area, rel=1e-9)
    ground = np.concatenate(
        [layout.strips.geometry.to_numpy(), layout.leftover.geometry.to_numpy(),
         layout.headland.geometry.to_numpy()]
    )  # fmt: skip
    one, other = shapely.STRtree(ground).query(ground, predicate="intersects")
    pairs = one < other
    one, other = ground[one[pairs]], ground[other[pairs]]
    shared_m2 = shapely.area(shapely.intersection(one, other))
    # where edges all but lie on each other, GEOS may give all of a neighbor: the grid never does
    for index in np.flatnonzero(shared_m2 >= 1e-5):
        shared = shapely.intersection(one[index], other[index], grid_size=OVERLAY_M)
        shared_m2[index] = shared.area
    assert shared_m2.max(initial=0.0) < 1e-5


def texts(notices: Iterable[object]) -> list[str]:
    """Give the words of notices."""
    return [str(notice) for notice in notices]


def square(side_ft: float = 2640) -> shapely.Polygon:
    """Give a square about the center of the plane."""
    half = side_ft * FOOT_M / 2
    return shapely.box(-half, -half, half, half)


SAMPLES = Path(__file__).resolve().parents[1] / "sample_fields"
NAMES = ("quarter_section", "pond_ell", "creek_side", "pivot_circle", "two_parts")


@cache
def sample(name: str) -> Layout:
    """Lay a sample field, once for all tests."""
    return lay(read_plan(SAMPLES / name / "plan.toml"))


def lay_samples_once(plan: Plan, boundary: GeoDataFrame | None = None) -> Layout:
    """Lay a plan as `lay` does; a sample's own is laid once for all tests."""
    path = plan.path.resolve()
    if (
        boundary is None
        and path.parent.name in NAMES
        and path == SAMPLES / path.parent.name / "plan.toml"
    ):
        kept = sample(path.parent.name)
        if kept.plan == plan.model_copy(update={"path": kept.plan.path}):
            return replace(kept, plan=plan)
    return lay(plan, boundary)
