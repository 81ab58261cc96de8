"""Every system on every sample field: accounts close, nothing overlaps, files are written.

The fields are drawn half as long and as wide, for time: their shapes are what makes them hard.
"""

import json
import tomllib
from itertools import zip_longest

import geopandas as gpd
import numpy as np
import pytest
import shapely
from fields import NAMES, SAMPLES, SHED, assert_whole, texts
from systems import MORE, SYSTEMS

from striplay.files.plan import read_plan
from striplay.flow import lay
from striplay.handover import save
from striplay.plan.check import check_plan
from striplay.sheets.section_axes import write_section
from striplay.sheets.section_scene import scene_of
from striplay.tables import sown_table


def assert_rows_are_worked(layout):
    """Every row lies under a pass of the machine that plants it, and of one that harvests it."""
    (block,) = layout.laid.blocks
    kinds = block.pieces.rows.kind
    every = block.pieces.rows.lines(block.path, np.ones(len(kinds), dtype=bool))
    middles = shapely.line_interpolate_point(every, 0.5, normalized=True)
    section, plan = layout.section, layout.plan
    for operation in ("plant", "harvest"):
        for name, machine in plan.machines.items():
            own = [
                row.planter == name
                if operation == "plant"
                else name in {plan.crops[sown.crop].harvester for sown in row.sown}
                for row in section.rows
            ]
            rows = middles[np.array(own)[kinds]]
            passes = layout.passes[
                (layout.passes["operation"] == operation) & (layout.passes["machine"] == name)
            ]
            if len(rows):
                lines = shapely.union_all(passes.geometry.to_numpy())
                assert shapely.distance(rows, lines).max() <= machine.width_m / 2 + 0.4


@pytest.fixture(scope="module")
def halved(tmp_path_factory):
    """A folder a sample field with its shapes at half their length, as field.geojson and so on."""
    folders = {}
    for name in NAMES:
        folders[name] = tmp_path_factory.mktemp(name)
        paths = [one for one in (SAMPLES / name).iterdir() if one.suffix not in {".toml", ".csv"}]
        read = {path: gpd.read_file(path) for path in paths}
        (boundary,) = (table for path, table in read.items() if path.stem == "field")
        middle = boundary.union_all().centroid.coords[0]
        for path, table in read.items():
            small = table.scale(0.5, 0.5, origin=middle)
            table.set_geometry(small).to_file(folders[name] / f"{path.stem}.geojson")
    return folders


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", NAMES)
def test_every_system_lies_on_every_field(tmp_path, halved, name, system):
    asked = tomllib.loads((SAMPLES / name / "plan.toml").read_text(encoding="utf-8"))
    asked["field"]["boundary"] = "field.geojson"
    asked = {key: asked[key] for key in ("title", "field", "obstacles", "headland") if key in asked}
    for key in ("machine", "crop"):
        asked["headland"].pop(key, None)
    if "passes" in asked["headland"]:
        asked["headland"] |= {"machine": "planter"}
    own = tomllib.loads(SHED + MORE + SYSTEMS[system])
    layout = lay(
        check_plan({**asked, **own, "direction": {"heading": 33.0}}, halved[name] / "plan.toml")
    )
    assert_whole(layout)
    seeds = {crop: account["seeds"] for crop, account in layout.land_accounts["crops"].items()}
    counted = sum(value for value in seeds.values() if value is not None)
    sown = sown_table(layout.plan, layout.laid, layout.figures)
    assert sown["seeds"].sum() == pytest.approx(counted, abs=len(seeds))
    lengths = layout.rows.groupby("crop")["length_m"].sum()
    between_m = sown.loc[sown["layer"] > 0, "row_length_m"].sum()
    assert layout.strips["row_length_m"].sum() + between_m == pytest.approx(lengths.sum(), rel=1e-9)
    assert_rows_are_worked(layout)
    # each system has its sheets drawn on one of the fields, and each field of two systems
    drawn = list(SYSTEMS).index(system) % len(NAMES) == NAMES.index(name)
    save(layout, tmp_path / "out", files=None if drawn else ["geopackage", "accounts", "csv"])
    assert (tmp_path / "out" / "mapbook.pdf").exists() == drawn
    written = json.loads((tmp_path / "out" / "accounts.json").read_text(encoding="utf-8"))
    assert written["crops"].keys() == layout.land_accounts["crops"].keys()


PLANS = sorted(path for path in SAMPLES.glob("*/*.toml") if path.name != "plan.toml")


FOLLOWING = (
    "the plant-back interval must be over", "corn and rye after each other",
    "soybean and rye after each other", "when it is to be ended",
)  # fmt: skip
"""What is told of the season of the sample with a crop after harvest."""


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_the_sample_of_each_system_can_be_done(tmp_path, path):
    """Each is laid whole, its season has no conflict, its picture is drawn."""
    plan = read_plan(path)
    along = plan.direction.model_copy(update={"heading": 17.0})  # a search takes long
    layout = lay(plan.model_copy(update={"direction": along}))
    assert_whole(layout)
    assert_rows_are_worked(layout)
    assert layout.season.windows.keys() == set(plan.crops)
    assert layout.season.conflicts == []
    # what follows a harvest is always told of, and nothing else is
    each = zip_longest(layout.season.notices, FOLLOWING if plan.after_harvest else ())
    assert all(one is not None and words and words in one.text for one, words in each)
    assert all(window.harvested for window in layout.season.windows.values())
    # at a heading of no meaning corners of the field are cut to narrow strips
    assert not [n for n in texts(layout.ground.notices) + texts(layout.laid.notices)
                if "left over" not in n and "taken as one field" not in n]  # fmt: skip
    amiss = ("miss rows", "can't sow", "wheels run on", "stand on", "does not fit", "not sown")
    assert not [n for n in texts(layout.section.notices) if any(words in n for words in amiss)]
    write_section(scene_of(plan, layout.section, None), tmp_path / "section.svg")


def test_there_is_a_sample_of_each_system():
    plans = [read_plan(path) for path in PLANS]
    assert sum(plan.row_set is not None for plan in plans) == 1
    assert sum(bool(plan.relays) for plan in plans) == 2
    assert sum(bool(plan.quick_crops) for plan in plans) == 2
    assert sum(bool(plan.mixtures) for plan in plans) == 2
