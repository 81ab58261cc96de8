"""Task data of every sample read back by two readers not written here, and held to the layout.

Outside are: the readers of PyPI isoxml and npm isoxml, the model of the standard and the table of
its data dictionary in the former, and the rates worked out by hand below.
"""

import zipfile
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from fields import SAMPLES, lay_samples_once
from isoxml.models.ddi_entities import DDEntity
from isoxml.util.isoxml_io import isoxml_from_path
from task_data import (
    INSIDE,
    NO_NODE,
    faults,
    node_is_ready,
    off_place,
    read_in_node,
    strictly,
    xml_of,
)

from striplay.files.content import Content
from striplay.files.plan import read_plan
from striplay.files.task_rates import ENTRIES
from striplay.files.write_task_data import FILE, encode
from striplay.handover import content_of
from striplay.units import PRODUCT_RATE, SEED_RATE, parse

PLANS = sorted(SAMPLES.glob("*/*.toml"))
VERSIONS = ("4", "3.3")
IDS = [f"{path.parent.name}/{path.stem}" for path in PLANS]
DEG = 1e-9
"""What the standard's nine decimals can tell."""
HALF_STEP = 0.5 + 1e-9


@cache
def content(path: Any) -> Content:
    return content_of(lay_samples_once(read_plan(path)))


def of_version(given: Content, number: str) -> Content:
    files = given.plan.files.model_copy(update={"task_data": number})
    return replace(given, plan=given.plan.model_copy(update={"files": files}))


@cache
def packed(path: Any, number: str) -> bytes:
    return encode(of_version(content(path), number))[FILE]


def unpacked(folder: Any, data: bytes) -> Any:
    """Read a zip with the PyPI package, which takes the folder in it."""
    (folder / FILE).write_bytes(data)
    with zipfile.ZipFile(folder / FILE) as found:
        found.extractall(folder)
    read, others = isoxml_from_path((folder / INSIDE).parent)
    assert others == {}
    return read


def points(line: Any) -> list[list[float]]:
    return [[int(one.type.value), float(one.east), float(one.north)] for one in line.points]


def polygon(one: Any) -> dict[str, Any]:
    rings = [{"type": int(ring.type.value), "points": points(ring)} for ring in one.line_strings]
    return {"type": int(one.type.value), "rings": rings}


def line(one: Any) -> dict[str, Any]:
    return {
        "type": int(one.type.value),
        "name": one.designator,
        "width": one.width,
        "points": points(one),
    }


def pattern(one: Any) -> dict[str, Any]:
    (only,) = one.line_strings
    return {
        "id": one.id,
        "name": one.designator,
        "type": int(one.type.value),
        "spread": int(one.propagation_direction.value),
        "extension": int(one.extension.value),
        "options": 0 if one.options is None else int(one.options.value),
        "radius": one.radius,
        "left": one.number_of_swaths_left or 0,
        "right": one.number_of_swaths_right or 0,
        "line": line(only),
    }


def told(data: Any) -> dict[str, Any]:
    """Give what was read as the reader in node gives it."""
    number = data.version_major.value
    (field,) = data.partfields
    product = {one.id: one.designator for one in data.products}
    (customer,) = data.customers or [None]
    (farm,) = data.farms or [None]
    return {
        "version": int(data.version_major.value),
        "fields": 1,
        "id": field.id,
        "name": field.designator,
        "area": field.area,
        "customer": customer and getattr(customer, "last_name" if number == "4" else "designator"),
        "farm": farm and farm.designator,
        "products": [[one.id, one.designator] for one in data.products],
        "polygons": [polygon(one) for one in field.polygons],
        "lines": [line(one) for one in field.line_strings],
        "groups": [
            {
                "id": one.id,
                "name": one.designator,
                "patterns": [pattern(each) for each in one.guidance_patterns],
            }
            for one in getattr(field, "guidance_groups", [])
        ],
        "tasks": [
            {
                "id": one.id,
                "name": one.designator,
                "status": int(one.status.value),
                "field": one.partfield_id_ref,
                "group": next(
                    (at.guidance_group_id_ref for at in getattr(one, "guidance_allocations", [])),
                    None,
                ),
                "zones": [
                    {
                        "code": zone.code,
                        "name": zone.designator,
                        "polygons": [polygon(each) for each in zone.polygons],
                        "rates": [
                            {
                                "ddi": rate.process_data_ddi.hex().upper(),
                                "value": rate.process_data_value,
                                "product": product[rate.product_id_ref],
                            }
                            for rate in zone.process_data_variables
                        ],
                    }
                    for zone in one.treatment_zones
                ],
            }
            for one in data.tasks
        ],
    }


@cache
def strict(path: Any, number: str) -> Any:
    return strictly(xml_of(packed(path, number)))


@cache
def read(path: Any, number: str) -> dict[str, Any]:
    return told(strict(path, number))


def check_a_sample_breaks_no_rule_of_the_standard(path, number):
    data = strict(path, number)
    assert faults(data) == []
    west, south, east, north = content(path).layers["field"].total_bounds
    gate = content(path).plan.gate
    if gate is not None:
        west, east = min(west, gate[0]), max(east, gate[0])
        south, north = min(south, gate[1]), max(north, gate[1])
    # lines may reach past the fence by less than a meter
    assert off_place(data, (west - 1e-5, south - 1e-5, east + 1e-5, north + 1e-5)) == []


def check_python_package_reads_what_was_written(folder, path, number):
    assert told(unpacked(folder, packed(path, number))) == read(path, number)


def check_node_package_reads_the_same_without_a_warning(folder, path):
    found = read_in_node(folder, [packed(path, number) for number in VERSIONS])
    for number, one in zip(VERSIONS, found, strict=True):
        assert one.pop("warnings") == []
        outline = one.pop("outline")["coordinates"]
        assert one == read(path, number)
        # its own view of the field: boundary, obstacles and headland
        rings = [
            [at[1:] for at in ring["points"]] for each in one["polygons"] for ring in each["rings"]
        ]
        assert [ring for each in outline for ring in each] == rings


def shapes(polygons: Iterable[Any], of: int) -> shapely.MultiPolygon:
    """Give the polygons of a type as one shape in longitude and latitude."""
    found = []
    for one in polygons:
        if one["type"] == of:
            outer, *inner = ([at[1:] for at in ring["points"]] for ring in one["rings"])
            found.append(shapely.Polygon(outer, inner))
    return shapely.MultiPolygon(found)


def same(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Tell whether shapes are the same, vertex by vertex, to the standard's decimals."""
    parts = [
        shapely.MultiPolygon([part for part in shapely.get_parts(each) if not part.is_empty])
        for each in (one, other)
    ]
    # rounding may reorder what normalizing sorts, so rings are told by rounded corners first
    grid = [
        shapely.normalize(shapely.transform(each, lambda at: np.round(at, 9))) for each in parts
    ]
    return bool(shapely.equals_exact(*grid, 1.5 * DEG))


def check_boundary_headland_and_obstacles_are_the_layouts(path, number):
    given, found = content(path), read(path, number)
    plane = given.ground.plane
    outline, obstacles = map(
        plane.geometries_to_lonlat, (given.ground.outline, given.ground.obstacles)
    )
    headland = shapely.multipolygons(shapely.get_parts(given.layers["headland"].geometry))
    assert same(shapes(found["polygons"], 1), outline)
    assert same(shapes(found["polygons"], 6), obstacles)
    assert same(shapes(found["polygons"], 10 if number == "4" else 8), headland)
    assert found["area"] == pytest.approx(given.accounts["field"]["area_m2"], abs=0.5)


def check_zones_are_the_strips_that_each_operation_works(path, number):
    given, found = content(path), read(path, number)
    strips, headland = given.layers["strips"], given.layers["headland"]
    for task in found["tasks"]:
        for zone in task["zones"]:
            kind, _, said = zone["name"].partition(" ")
            if zone["code"] == 0:
                assert (zone["name"], zone["polygons"]) == ("outside", [])
                assert {rate["value"] for rate in zone["rates"]} == {0}
                continue
            if kind == "headland":
                pieces = headland.geometry
            else:
                pieces = strips.geometry[strips["strip"] == int(said.split()[0])]
            assert same(shapes(zone["polygons"], 2), shapely.multipolygons(list(pieces)))


def check_every_strip_that_takes_seed_has_its_zone_and_its_rate(path, number):
    """Seed by strip is what strip_crops.csv counts; rates are those of the crops to half a step."""
    given, found = content(path), read(path, number)
    sown = given.lists["strip_crops.csv"]
    zoned: dict[int, set[str]] = {}
    rate_of: dict[str, set[tuple[str, float]]] = {}
    for judged, task in zip(given.operations.each, found["tasks"], strict=True):
        if judged.job.does != "plant":
            continue
        for zone in task["zones"][1:]:
            for rate in zone["rates"]:
                step = DDEntity.from_bytes(bytes.fromhex(rate["ddi"])).bit_resolution
                seed = rate["product"].removesuffix(" seed")
                rate_of.setdefault(seed, set()).add((rate["ddi"], rate["value"] * step))
                if zone["name"].startswith("strip"):
                    zoned.setdefault(int(zone["name"].split()[1]), set()).add(seed)
    for one in sown.itertuples():
        if one.rows is None or one.row_length_m > 0:
            label = next(
                layer.label for layer in given.laid.section.layers if layer.crop == one.crop
            )
            assert {one.crop, label} & zoned[one.strip]
    check_rates(given, rate_of)


def check_rates(given, rate_of):
    """Each seed has one rate: that of its crop, or of the parts of its mixture added up."""
    for seed, rates in rate_of.items():
        parts = [layer for layer in given.laid.section.layers if seed in {layer.crop, layer.label}]
        ((ddi, value),) = rates
        if ddi == "000B":
            (exact,) = {layer.seed_rate_per_m2 for layer in parts}
            assert abs(value - exact) <= 0.001 * HALF_STEP
        else:
            assert ddi == "0006"
            for host in {layer.host for layer in parts}:  # one seed may follow several crops
                own = dict.fromkeys(layer for layer in parts if layer.host == host)
                exact = 1e6 * sum(layer.seed_kg_per_m2 for layer in own)
                assert abs(value - exact) <= HALF_STEP


def on_plane(given: Content, at: Any) -> np.ndarray:
    return given.ground.plane.to_plane(np.array(at, dtype=float))


def check_lines_to_steer_by_are_the_passes(path):
    """A line a pass begins at its A and ends at its B; one that is repeated comes to every pass."""
    given, found = content(path), read(path, "4")
    passes = given.layers["passes"]
    for judged, group in zip(given.operations.each, found["groups"], strict=True):
        mine = passes[passes["job"] == judged.job.name].drop_duplicates("number")
        ends = mine[["a_longitude", "a_latitude", "b_longitude", "b_latitude"]].to_numpy()
        # the table is rounded, the passes are not
        exact = given.ground.plane.to_lonlat(
            shapely.get_coordinates(
                [shapely.get_point(judged.route.line, 0), shapely.get_point(judged.route.line, -1)]
            )
        ).reshape(2, -1, 2)
        assert np.abs(ends - np.hstack(exact)).max() <= 1e-6
        left = dict(zip(mine["number"].tolist(), range(len(mine)), strict=True))
        for one in group["patterns"]:
            width_m = one["line"]["width"] / 1000
            assert width_m == pytest.approx(judged.route.width_m, abs=0.0005 + 1e-9)
            at = [point[1:] for point in one["line"]["points"]]
            if one["left"] + one["right"] == 0:
                index = left.pop(int(one["name"].split()[0]))
                drawn = given.ground.plane.to_lonlat(
                    shapely.get_coordinates(judged.route.line[index])
                )
                assert (one["spread"], one["extension"]) == (4, 4)
                assert np.abs(np.array([at[0], at[-1]]) - exact[:, index]).max() <= DEG
                # every point of a curve is one of the pass, and none is left out by over 1 cm
                assert all(np.abs(drawn - each).max(axis=1).min() <= DEG for each in at)
                away_m = shapely.hausdorff_distance(
                    shapely.LineString(on_plane(given, at)), judged.route.line[index]
                )
                assert away_m <= 0.01 + 1e-3
                continue
            assert one["extension"] == 1
            a_m, b_m = on_plane(given, at)
            ahead = (b_m - a_m) / np.hypot(*(b_m - a_m))
            first, last = map(int, one["name"].split()[0].split("-"))
            numbers = [number for number in left if first <= number <= last]
            swaths = set()
            for number in numbers:
                index = left.pop(number)
                line_m = shapely.get_coordinates(judged.route.line[index])
                off = line_m - a_m
                right_m = off[:, 0] * ahead[1] - off[:, 1] * ahead[0]
                swath = round(right_m[0] / width_m)
                assert np.abs(right_m - swath * width_m).max() <= 0.01 + 1e-3
                swaths.add(swath)
            # no more lines than passes, and no fewer
            assert swaths == set(range(-one["left"], one["right"] + 1))
            assert (
                one["spread"]
                == {(1, 1): 1, (1, 0): 2, (0, 1): 3}[one["left"] > 0, one["right"] > 0]
            )
        assert left == {}


def check_the_older_version_draws_the_same_lines_under_the_field(path):
    newer, older = read(path, "4"), read(path, "3.3")
    lines = [
        (one["line"]["width"], [at[1:] for at in one["line"]["points"]])
        for group in newer["groups"]
        for one in group["patterns"]
    ]
    assert [(one["width"], [at[1:] for at in one["points"]]) for one in older["lines"]] == lines
    assert {one["type"] for one in older["lines"]} == {5}
    assert {at[0] for one in older["lines"] for at in one["points"]} == {2}
    names = [one["name"] for one in older["lines"]]
    assert len(set(names)) == len(names)
    assert older["groups"] == []
    assert [task["zones"] for task in older["tasks"]] == [task["zones"] for task in newer["tasks"]]


def check_every_operation_is_a_planned_task_with_its_own_lines(path):
    given, found = content(path), read(path, "4")
    assert len(found["tasks"]) == len(given.operations.each)
    for task, group in zip(found["tasks"], found["groups"], strict=True):
        assert task["status"] == 1
        assert (task["field"], task["group"]) == (found["id"], group["id"])
        assert task["name"] == group["name"]


OF_A_VERSION = (
    check_a_sample_breaks_no_rule_of_the_standard,
    check_boundary_headland_and_obstacles_are_the_layouts,
    check_zones_are_the_strips_that_each_operation_works,
    check_every_strip_that_takes_seed_has_its_zone_and_its_rate,
)


@pytest.mark.parametrize("path", PLANS, ids=IDS)
def test_task_data_of_a_sample_is_its_layout_as_others_read_it(tmp_path, path):
    """All of one sample in one test, so that it is laid and written once."""
    for number in VERSIONS:
        check_python_package_reads_what_was_written(tmp_path, path, number)
        for check in OF_A_VERSION:
            check(path, number)
    if node_is_ready():
        check_node_package_reads_the_same_without_a_warning(tmp_path, path)
    check_lines_to_steer_by_are_the_passes(path)
    check_the_older_version_draws_the_same_lines_under_the_field(path)
    check_every_operation_is_a_planned_task_with_its_own_lines(path)


def test_samples_are_read_in_node_too():
    if not node_is_ready():
        pytest.skip(NO_NODE)


def test_steps_are_those_of_the_data_dictionary():
    """Numbers, units and steps of PyPI isoxml's table of the ISO 11783-11 data dictionary."""
    units = {"/m²": "seeds_per_m2", "mg/m²": "kg_per_m2", "mm³/m²": "m3_per_m2"}
    one_in_si = {"/m²": 1.0, "mg/m²": 1e-6, "mm³/m²": 1e-9}
    for number in (0x000B, 0x0006, 0x0001):
        known = DDEntity.from_id(number)
        entry = ENTRIES[units[known.unit]]
        assert known.name.startswith("Setpoint")
        assert entry.ddi == number
        assert 1 / entry.steps == pytest.approx(
            known.bit_resolution * one_in_si[known.unit], rel=1e-12
        )


@pytest.mark.parametrize(
    ("text", "value"),
    # by hand: 140,000 / 4046.8564 m2 = 34.595 seeds; 120 lb x 453,592.37 mg / 4046.8564 = 13,450;
    # 15 gal x 3,785,411.784 mm3 x 100 / 4046.8564 = 1,403,093
    [("140000 seeds/acre", 34595), ("120 lb/acre", 13450), ("15 gal/acre", 1403093)],
)
def test_rates_in_steps_are_as_worked_out_by_hand(text, value):
    rate = parse(text, SEED_RATE if "seeds" in text or "lb" in text else PRODUCT_RATE)
    entry = ENTRIES[rate.si_unit]
    assert entry.value(rate) == value
    # what the terminal shows of it: (value + offset) x scale, from memory of the standard
    shown = entry.shown["us"]
    assert float(value * entry.scale("us")) == pytest.approx(float(text.split()[0]), rel=1e-4)
    assert text.split()[1] == shown.name
