"""Task data: names that do no harm, ids that last, rates, zones, lines and what the checks find."""

import copy
import html
import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import isoxml.models.base.v4 as iso
import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from fields import AROUND, PLANE, SHED, STRIPS, lay_on, square, write_line, write_plan_for
from task_data import (
    faults,
    kinds_of,
    lonlat_of,
    node_is_ready,
    objects,
    off_place,
    read_in_node,
    shape_of,
    strictly,
    xml_of,
)

import striplay
from striplay.cli import main
from striplay.files import task_work
from striplay.files.plan import read_plan
from striplay.files.task_names import Ids, apart, designator
from striplay.files.task_rates import ENTRIES
from striplay.files.write_task_data import FILE, encode, tell
from striplay.handover import content_of
from striplay.units import Quantity

VERSIONS = ("4", "3.3")
EQUAL = STRIPS.replace("rows = 48", "rows = 16")


def data_of(layout: Any, number: str = "4") -> Any:
    """Write a layout as task data, read it strictly and hold it to every check."""
    data = strictly(xml_of(packed(layout, number)))
    assert faults(data) == []
    return data


def packed(layout: Any, number: str = "4") -> bytes:
    files = layout.plan.files.model_copy(update={"task_data": number})
    plan = layout.plan.model_copy(update={"files": files})
    return encode(content_of(replace(layout, plan=plan)))[FILE]


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return lay_on(tmp_path_factory.mktemp("field"), square(660))


@pytest.fixture(scope="module")
def written(layout: Any) -> Any:
    return data_of(layout)


@pytest.fixture
def data(written: Any) -> Any:
    return copy.deepcopy(written)


# What the checks find: each change breaks one rule, and is told.


def pattern(data: Any) -> Any:
    return data.partfields[0].guidance_groups[0].guidance_patterns[0]


def boundary(data: Any) -> Any:
    return data.partfields[0].polygons[0].line_strings[0]


def swapped(data: Any) -> None:
    point = boundary(data).points[1]
    point.north, point.east = point.east, point.north


def bow_tie(data: Any) -> None:
    at = boundary(data).points
    at[1].north, at[2].north, at[1].east, at[2].east = (
        at[2].north, at[1].north, at[2].east, at[1].east
    )  # fmt: skip


BREAKS: dict[str, tuple[Callable[[Any], Any], str]] = {
    "an id twice": (
        lambda data: setattr(data.tasks[1], "id", data.tasks[0].id), ": twice"),
    "an id with a dash": (
        lambda data: setattr(data.tasks[0], "id", "TSK-5"), "TSK-5: no plain id"),
    "an id too long": (
        lambda data: setattr(data.tasks[0], "id", "TSK123456789012"), "Task.id: length"),
    "an id of another kind": (
        lambda data: setattr(data.tasks[0], "id", "TZK12"), "Task.id: pattern"),
    "a field that is nowhere": (
        lambda data: setattr(data.tasks[0], "partfield_id_ref", "PFD1"), "PFD1 is nowhere"),
    "no name": (
        lambda data: setattr(data.partfields[0], "designator", None),
        "Partfield.designator: is missing"),
    "a long name": (
        lambda data: setattr(data.partfields[0], "designator", "x" * 33),
        "Partfield.designator: length"),
    "a name with a tab": (
        lambda data: setattr(data.tasks[0], "designator", "a\tb"), "controls"),
    "a latitude past the pole": (
        lambda data: setattr(boundary(data).points[1], "north", Decimal("90.1")), "out of range"),
    "ten decimals": (
        lambda data: setattr(boundary(data).points[1], "north", Decimal("42.0000000001")),
        "decimals"),
    "degrees swapped": (swapped, "Point.north: out of range"),
    "an open ring": (lambda data: boundary(data).points.pop(), "not closed"),
    "a ring that crosses itself": (bow_tie, "crosses itself"),
    "an empty group": (
        lambda data: data.partfields[0].guidance_groups[0].guidance_patterns.clear(), "is empty"),
    "no end of a line": (
        lambda data: setattr(
            pattern(data).line_strings[0].points[1], "type", iso.PointType.GuidancePoint),
        "points ['6', '9']"),
    "no beginning": (
        lambda data: setattr(pattern(data).line_strings[0].points[0], "type", iso.PointType.Other),
        "points ['2', '7']"),
    "a zone twice": (
        lambda data: setattr(data.tasks[0].treatment_zones[1], "code", 0), "zone 0: twice"),
    "a zone beyond": (
        lambda data: setattr(data.tasks[0].treatment_zones[1], "code", 255), "out of range"),
    "a zone that is nowhere": (
        lambda data: setattr(data.tasks[0], "default_treatment_zone_code", 200),
        "default zone 200 is nowhere"),
    "a rate past 32 bits": (
        lambda data: setattr(
            data.tasks[0].treatment_zones[1].process_data_variables[0],
            "process_data_value", 2**31),
        "out of range"),
    "an entry of three bytes": (
        lambda data: setattr(
            data.tasks[0].treatment_zones[1].process_data_variables[0],
            "process_data_ddi", b"\0\0\1"),
        "ProcessDataVariable.process_data_ddi: length"),
    "a line twice in a pattern": (
        lambda data: pattern(data).line_strings.append(pattern(data).line_strings[0]),
        "GuidancePattern.line_strings: too many"),
}  # fmt: skip


@pytest.mark.parametrize("name", BREAKS)
def test_the_checks_find_what_breaks_a_rule(data, name):
    change, told = BREAKS[name]
    change(data)
    try:
        found = faults(data)
    except ValueError as error:  # two lines where one is taken
        found = [str(error)]
        if name == "a line twice in a pattern":
            return
    assert any(told in fault for fault in found), found


@pytest.mark.parametrize(
    "change",
    [(b"<TSK A", b'<TSK Z="1" A'), (b"<TSK A", b'<QQQ A="1"/><TSK A'), (b'G="1"', b'G="9"')],
    ids=["an attribute", "an element", "a value"],
)
def test_what_the_standard_does_not_know_is_refused(layout, change):
    xml = xml_of(packed(layout))
    assert xml.count(change[0]) > 0
    with pytest.raises(Exception, match=r"(?i)unknown|convert"):
        strictly(xml.replace(*change, 1))


def test_degrees_swapped_are_off_the_place(data):
    point = pattern(data).line_strings[0].points[0]
    point.north, point.east = Decimal("-93.5"), Decimal("42.0")
    assert len(off_place(data, (-94, 41, -93, 43))) == 1


# Names.

HOSTILE = {
    "corn": '=HYPERLINK("x"),&<b>\'',
    "soybean": "-2; овёс 燕麦 ]]> &amp; and more than thirty-two of them",
    "planter": '@a "b" <c> عربى हिन्दी',
    "sprayer": "\U0001f33d" * 40,
}


def hostile(text: str) -> str:
    for old, new in HOSTILE.items():
        quoted = json.dumps(new, ensure_ascii=False)
        for table in ("crops", "machines"):
            text = text.replace(f"[{table}.{old}]", f"[{table}.{quoted}]")
        for key in ("crop", "planter", "machine"):
            text = text.replace(f'{key} = "{old}"', f"{key} = {quoted}")
    return text


@pytest.fixture(scope="module")
def hostile_layout(tmp_path_factory: pytest.TempPathFactory) -> Any:
    quoted = json.dumps("][ <&\"' \r\n\t\u0007\u202e \u0938\u094d\u0924\u0930 " + "y" * 40)
    sprayer = json.dumps(HOSTILE["sprayer"], ensure_ascii=False)
    tail = (
        f"[farm]\nname = {quoted}\noperator = {quoted}\nstate = {quoted}\n"
        f'[[operations]]\ndoes = "spray"\nmachine = {sprayer}\n'
        f'name = {quoted}\nproduct = {quoted}\nrate = "15 gal/acre"\n'
    )
    path = write_plan_for(
        tmp_path_factory.mktemp("hostile"), square(660), shed=hostile(SHED),
        strips=hostile(STRIPS) + tail, headland=hostile(AROUND),
    )  # fmt: skip
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('title = "Test"', f"title = {quoted}"), encoding="utf-8")
    return striplay.lay(read_plan(path))


@pytest.mark.parametrize("number", VERSIONS)
def test_hostile_names_do_no_harm_in_either_version(hostile_layout, tmp_path, number):
    data = data_of(hostile_layout, number)
    (field,), (farm,) = data.partfields, data.farms
    begins = "][ <&\"'"
    assert field.designator.startswith(begins)
    assert farm.designator.startswith(begins)
    assert [one.designator for one in data.crop_types] == [
        HOSTILE["corn"], "-2; овёс 燕麦 ]]> &amp; and more t",
    ]  # fmt: skip
    machines = [one.designator for one in data.operation_techniques]
    assert {HOSTILE["planter"], "\U0001f33d" * 32} <= set(machines)
    products = [one.designator for one in data.products]
    assert f"{HOSTILE['corn']} seed"[:32] in products
    assert any(name.startswith(begins) for name in products)
    assert len(set(products)) == len(products) == 3
    if node_is_ready():
        (found,) = read_in_node(tmp_path, [packed(hostile_layout, number)])
        assert found["warnings"] == []
        # it turns "&amp;" into "&" once more than the standard of XML has it
        assert found["name"] == html.unescape(field.designator)
        assert [name for _, name in found["products"]] == [html.unescape(one) for one in products]


@pytest.mark.parametrize(
    ("text", "short"),
    [
        ("x" * 32, "x" * 32),
        ("x" * 33, "x" * 32),
        ("a\u0301" * 17, "a\u0301" * 16),
        ("x" + "a\u0301" * 17, "x" + "a\u0301" * 15),
        ("x" * 31 + "\u0915\u094d\u0937", "x" * 31),
        ("x" * 31 + "\U0001f468\u200d\U0001f33e", "x" * 31),
        ("x" * 31 + "\U0001f44d\U0001f3fd", "x" * 31),
        ("x" * 31 + "\U0001f1eb\U0001f1f7", "x" * 31),
        ("\U0001f1eb\U0001f1f7" * 17, "\U0001f1eb\U0001f1f7" * 16),
        ("x" * 31 + " y", "x" * 31),
        ("a" + "\u0301" * 40, "a" + "\u0301" * 31),
        (" a\u2028b\x00 ", "a b"),
    ],
)
def test_names_are_cut_without_parting_a_letter_from_its_marks(text, short):
    assert designator(text) == short


def test_names_that_are_cut_alike_are_told_apart():
    long = "a product of which the name is long"
    assert apart([long + "1", long + "2", "b", "b"]) == [
        long[:32], long[:30].rstrip() + " 2", "b", "b 2",
    ]  # fmt: skip
    assert apart(["b 2", "b", "b"]) == ["b 2", "b", "b 3"]


# Ids.


def ids_of(data: Any) -> dict[str, str]:
    """Give ids by what they are of."""
    return {f"{type(one).__name__} {one.designator}": one.id for one in objects(data)
            if getattr(one, "id", None) and hasattr(one, "designator")}  # fmt: skip


def test_the_same_plan_has_the_same_ids_and_bytes(tmp_path, layout):
    again = lay_on(tmp_path, square(660))
    assert packed(again) == packed(layout)


def test_ids_of_field_seed_and_passes_outlast_other_changes(tmp_path, layout):
    before = ids_of(data_of(layout))
    shed = SHED.replace("34000 seeds", "30000 seeds") + (
        '[crops.oats]\nplanter = "planter"\nharvester = "platform"\nrate = "90 lb/acre"\n'
    )
    changed = lay_on(
        tmp_path, square(660), shed=shed, strips='[[strips]]\ncrop = "oats"\nrows = 16\n' + STRIPS
    )
    after = ids_of(data_of(changed))
    lasting = {
        "Partfield Test", "CropType corn", "Product corn seed", "Task plant corn",
        "GuidanceGroup plant corn", "OperationTechnique planter",
    }  # fmt: skip
    assert all(before[name] == after[name] for name in lasting)
    assert "Product oats seed" in after


def test_a_pass_keeps_its_id_by_operation_and_number(tmp_path, layout):
    def passes(of: Any) -> dict[tuple[str, str], str]:
        groups = data_of(of).partfields[0].guidance_groups
        return {
            (group.designator, one.designator.split()[0]): one.id
            for group in groups for one in group.guidance_patterns
        }  # fmt: skip

    before, after = passes(layout), passes(lay_on(tmp_path, square(660), strips=EQUAL))
    both = before.keys() & after.keys()
    assert len(both) > 5
    assert all(before[one] == after[one] for one in both)


def test_two_objects_of_one_name_have_two_ids():
    ids = Ids()
    first, second = ids.new("TSK", "a"), ids.new("TSK", "a")
    assert first != second
    assert int(second[3:]) == int(first[3:]) + 1
    assert Ids().new("TSK", "a") == first


# Rates and zones.


def rates(zone: Any) -> list[tuple[str, int]]:
    return [
        (one.process_data_ddi.hex(), one.process_data_value) for one in zone.process_data_variables
    ]


def test_nothing_is_sown_outside_the_strips_or_where_the_position_is_lost(data):
    for task in data.tasks:
        codes = [
            task.default_treatment_zone_code,
            task.position_lost_treatment_zone_code,
            task.out_of_field_treatment_zone_code,
        ]
        if not task.treatment_zones:
            assert codes == [None] * 3
            continue
        assert codes == [0] * 3
        assert {value for _, value in rates(task.treatment_zones[0])} == {0}
        assert task.treatment_zones[0].polygons == []
        assert all(value > 0 for zone in task.treatment_zones[1:] for _, value in rates(zone))


def test_an_operation_of_which_no_rate_is_stated_has_lines_alone(data):
    by_name = {task.designator: task for task in data.tasks}
    assert by_name["plant corn"].treatment_zones
    for name in ("spray corn", "harvest corn"):
        assert by_name[name].treatment_zones == []
        assert by_name[name].guidance_allocations


def test_strips_of_a_crop_share_a_zone_where_there_are_more_than_codes(layout, monkeypatch):
    whole = data_of(layout)
    monkeypatch.setattr(task_work, "ZONE_CODES", 2)
    grouped = data_of(layout)
    for one, other in zip(whole.tasks, grouped.tasks, strict=True):
        if not one.treatment_zones:
            continue
        assert len(one.treatment_zones) > 3
        _, zone = other.treatment_zones
        assert rates(zone) == rates(one.treatment_zones[1])
        polygons = [each for zone in one.treatment_zones for each in zone.polygons]
        assert zone.polygons == polygons


def with_operation(folder: Any, rate: str, strips: str = STRIPS, crop: str = "corn") -> Any:
    strips = (
        f'{strips}[[operations]]\ndoes = "spray"\nmachine = "sprayer"\ncrops = ["{crop}"]\n'
        f'product = "A"\nrate = "{rate}"\nname = "first"\nday = 2026-06-02\n'
    )
    return lay_on(folder, square(660), strips=strips)


def test_a_product_goes_at_its_rate_over_the_strips_of_its_crop(tmp_path):
    layout = with_operation(tmp_path, "15 gal/acre")
    data = data_of(layout)
    (task,) = [one for one in data.tasks if one.designator == "first"]
    corn = layout.strips[layout.strips["crop"] == "corn"]
    named = {f"strip {number} corn" for number in corn["strip"]}
    found = {zone.designator for zone in task.treatment_zones[1:]}
    assert found - {"headland corn"} == named
    assert "headland corn" in found  # the headland is planted to corn
    assert {tuple(rates(zone)) for zone in task.treatment_zones[1:]} == {(("0001", 1403093),)}
    (stamp,) = task.guidance_allocations[0].allocation_stamps
    assert str(stamp.start) == "2026-06-02T00:00:00"
    assert stamp.type is iso.AllocationStampType.Planned


@pytest.mark.parametrize(
    ("rate", "known"),
    # a step is 1 mg to the square meter, that is 10 g/ha: 0.025 kg/ha is told as 2 or 3 of them
    [("0.025 kg/ha", False), ("0.5 kg/ha", True), ("1000000 t/ha", False)],
)
def test_a_rate_that_steps_would_change_is_left_out_and_told(tmp_path, rate, known):
    layout = with_operation(tmp_path, rate)
    (task,) = [one for one in data_of(layout).tasks if one.designator == "first"]
    told = [str(notice) for notice in tell(content_of(layout)) if "steps" in str(notice)]
    assert bool(task.treatment_zones) == known
    if known:
        assert told == []
    else:
        said = (
            "taskdata.zip: first: the rate of A is not in it, for its steps would change it by "
            "over 2 %, or it is too large for them; set it at the terminal"
        )
        assert told == [said]
        done = striplay.save(layout, tmp_path / "out", files=["task-data"])
        assert said in [str(notice) for notice in done]


def test_a_boom_whose_middle_runs_over_other_strips_is_told_of(tmp_path):
    """A boom of 120 ft over strips of 40 ft: its middle is over either crop in turn."""
    layout = with_operation(tmp_path, "15 gal/acre", strips=EQUAL, crop="soybean")
    (told,) = [notice for notice in tell(content_of(layout)) if notice.job == "first"]
    (judged,) = [one for one in layout.operations.each if one.job.name == "first"]
    strips = layout.strips[layout.strips["crop"] == "soybean"]
    middles = shapely.line_interpolate_point(judged.route.line, 0.5, normalized=True)
    beside = ~shapely.intersects(shapely.union_all(strips.geometry), middles)
    assert 0 < beside.sum() < len(middles)
    assert str(told) == (
        f"taskdata.zip: first: on {beside.sum()} of {len(middles)} passes the middle of sprayer "
        "runs beside the strips that it works; a terminal that takes the rate there, not section "
        "by section, finds none: set it at the terminal"
    )


def test_nothing_is_told_of_machines_in_the_middle_of_their_strips(layout):
    assert tell(content_of(layout)) == []


@pytest.mark.parametrize("si_unit", ENTRIES)
def test_rates_are_told_to_half_a_step_or_not_at_all(si_unit):
    entry = ENTRIES[si_unit]
    for exact in np.geomspace(0.3, 3e9, 200):
        value = entry.value(Quantity(exact / entry.steps, si_unit))
        if value is None:
            assert exact > 2**31 - 1 or abs(round(exact) - exact) > 0.02 * exact * (1 - 1e-9)
        else:
            assert abs(value - exact) <= min(0.5, 0.02 * exact) * (1 + 1e-9)
            assert value < 2**31


MIXED = (
    '[machines.drill]\ndoes = "plant"\nwidth = "40 ft"\nspacing = "7.5 in"\n'
    '[crops.oats]\nplanter = "drill"\nharvester = "platform"\nrate = "90 lb/acre"\n'
    '[crops.pea]\nplanter = "drill"\nharvester = "platform"\nrate = "120 lb/acre"\n'
    '[mixtures.oat_pea]\nplanter = "drill"\nharvester = "platform"\n'
    "parts = { oats = 0.5, pea = 0.5 }\n"
)
MIXED_STRIPS = '[[strips]]\ncrop = "corn"\nrows = 16\n[[strips]]\ncrop = "oat_pea"\npasses = 1\n'


def test_a_blend_known_by_weight_is_one_product_at_one_rate(tmp_path):
    data = data_of(lay_on(tmp_path, square(660), shed=SHED + MIXED, strips=MIXED_STRIPS))
    (task,) = [one for one in data.tasks if one.designator == "plant oat_pea"]
    # by hand: half of 90 and half of 120 lb/acre are 105 lb/acre: 105 x 453,592.37 / 4046.8564
    assert {tuple(rates(zone)) for zone in task.treatment_zones[1:]} == {(("0006", 11769),)}
    assert "oat_pea seed" in [one.designator for one in data.products]


def test_parts_of_a_mixture_sown_by_number_are_products_of_their_own(tmp_path):
    shed = SHED + MIXED.replace('"90 lb/acre"', '"1 million seeds/acre"').replace(
        '"1 million seeds/acre"', '"1000000 seeds/acre"'
    )
    data = data_of(lay_on(tmp_path, square(660), shed=shed, strips=MIXED_STRIPS))
    (task,) = [one for one in data.tasks if one.designator == "plant oat_pea"]
    # by hand: half a million seeds on 4046.8564 m2 are 123.553; 60 lb are 6,725 mg
    assert {tuple(rates(zone)) for zone in task.treatment_zones[1:]} == {
        (("000b", 123553), ("0006", 6725))
    }


def test_a_pass_that_plants_two_crops_carries_both_rates_over_each(tmp_path):
    rows = (
        '[[row_set]]\nplanter = "planter"\nunits = "4 corn, 8 soybean, 4 corn"\n'
        'travel = "back and forth"\n'
    )
    layout = lay_on(tmp_path, square(660), strips=rows, headland='[headland]\nwhere = "none"\n')
    (task,) = [one for one in data_of(layout).tasks if one.designator.startswith("plant")]
    assert {tuple(sorted(rates(zone))) for zone in task.treatment_zones[1:]} == {
        (("000b", 8402), ("000b", 34595))
    }
    assert len(task.treatment_zones) - 1 == layout.strips["strip"].nunique()


# Field and lines.


def of_type(data: Any, kind: str) -> list[Any]:
    return [one for one in data.partfields[0].polygons if one.type.value == kind]


@pytest.mark.parametrize("number", VERSIONS)
def test_holes_and_parts_of_a_field_stand_as_obstacles_and_boundaries(tmp_path, number):
    pond = shapely.Point(10, 10).buffer(20, quad_segs=4)
    both = square(660).difference(pond).union(shapely.box(200, -100, 400, 100))
    layout = lay_on(tmp_path, both)
    data = data_of(layout, number)
    assert len(of_type(data, "1")) == 2
    (obstacle,) = of_type(data, "6")
    assert all(len(one.line_strings) == 1 for one in of_type(data, "1"))
    area = PLANE.to_plane(lonlat_of(obstacle.line_strings[0]))
    assert shapely.Polygon(area).area == pytest.approx(pond.area, rel=1e-6)
    assert {one.designator for one in of_type(data, "6")} == {"obstacle"}


def test_the_gate_is_a_point_of_access(tmp_path):
    path = write_plan_for(tmp_path, square(660))
    path.write_text("gate = [-93.5025, 42.0]\n" + path.read_text())
    (point,) = data_of(striplay.lay(read_plan(path))).partfields[0].points
    assert (point.type.value, point.designator) == ("3", "gate")
    assert (float(point.east), float(point.north)) == (-93.5025, 42.0)


def test_without_a_farm_there_is_no_customer_and_with_one_both_have_a_name(tmp_path, layout):
    data = data_of(layout)
    assert (data.customers, data.farms, data.partfields[0].farm_id_ref) == ([], [], None)
    path = write_plan_for(tmp_path, square(660))
    path.write_text(path.read_text() + '[farm]\nname = "Alder"\n')
    data = data_of(striplay.lay(read_plan(path)))
    assert (data.customers[0].last_name, data.farms[0].designator) == ("Alder", "Alder")
    assert data.farms[0].customer_id_ref == data.customers[0].id
    for one in (data.partfields[0], *data.tasks):
        assert (one.customer_id_ref, one.farm_id_ref) == (data.customers[0].id, data.farms[0].id)


def test_a_field_without_a_title_is_called_after_its_boundary(tmp_path):
    path = write_plan_for(tmp_path, square(660))
    path.write_text(path.read_text().replace('title = "Test"\n', ""))
    assert data_of(striplay.lay(read_plan(path))).partfields[0].designator == "field"


def test_circles_have_their_center_radius_and_way_round(tmp_path):
    pivot = f"pivot = [{PLANE.longitude_deg}, {PLANE.latitude_deg}]"
    layout = lay_on(tmp_path, square(660), direction=pivot)
    data = data_of(layout)
    circles = [one for one in objects(data) if type(one).__name__ == "GuidancePattern"
               and one.type.value == "4"]  # fmt: skip
    assert {one.options.value for one in circles} >= {"3", "1"}
    for one in circles:
        center, *ends = lonlat_of(one.line_strings[0])
        assert np.abs(center - layout.plan.direction.pivot).max() <= 1e-9
        away_m = np.hypot(
            *(PLANE.to_plane(np.array([center, *ends])) - PLANE.to_plane(np.array([center]))).T
        )
        assert np.abs(away_m[1:] - one.radius / 1000).max(initial=0.0) <= 0.006
    older = data_of(layout, "3.3")
    lines = older.partfields[0].line_strings
    assert len(lines) == sum(
        len(one.guidance_patterns) for one in data.partfields[0].guidance_groups
    )
    assert max(len(one.points) for one in lines) > 100


@pytest.mark.parametrize(
    "direction",
    [f"pivot = [{PLANE.longitude_deg}, {PLANE.latitude_deg}]", 'along = "key.geojson"'],
    ids=["rings", "a line"],
)
def test_zones_along_curves_keep_corners_of_the_strips_true_to_a_centimeter(tmp_path, direction):
    x = np.linspace(-450, 450, 40)
    write_line(tmp_path, shapely.LineString(np.column_stack([x, 40 * np.sin(x / 150)])))
    layout = lay_on(tmp_path, square(660), direction=direction)
    data = data_of(layout)
    strips = content_of(layout).layers["strips"]
    kept = drawn = 0
    for task in data.tasks:
        for zone in task.treatment_zones[1:]:
            if zone.designator.startswith("headland"):
                continue
            number = int(zone.designator.split()[1])
            pieces = strips.geometry[strips["strip"] == number]
            assert len(pieces) == len(zone.polygons)
            for piece, polygon in zip(pieces, zone.polygons, strict=True):
                found = shape_of(polygon)
                corners = shapely.get_coordinates(piece)
                near = shapely.STRtree(shapely.points(corners)).query_nearest(
                    shapely.points(shapely.get_coordinates(found)), return_distance=True
                )[1]
                assert near.max() <= 1.5e-9
                on_plane = [shapely.transform(one, PLANE.to_plane) for one in (piece, found)]
                assert shapely.hausdorff_distance(*on_plane) <= 0.0101
                kept += len(shapely.get_coordinates(found))
                drawn += len(corners)
    assert kept < drawn / 2


def test_a_curve_is_told_by_its_points(tmp_path):
    x = np.linspace(-450, 450, 40)
    write_line(tmp_path, shapely.LineString(np.column_stack([x, 40 * np.sin(x / 150)])))
    layout = lay_on(
        tmp_path, square(660), direction='along = "key.geojson"',
        headland='[headland]\nwhere = "none"\n',
    )  # fmt: skip
    data = data_of(layout)
    curves = [one for one in objects(data) if type(one).__name__ == "GuidancePattern"
              and one.type.value == "3"]  # fmt: skip
    assert len(curves) > 10
    assert all(set(kinds_of(one.line_strings[0])) == {"6", "7", "9"} for one in curves)


def test_lines_and_rings_across_the_180th_meridian_stay_within_the_standards_range(tmp_path):
    east = striplay.ground.Plane(180.0, -16.8)
    lonlat = shapely.transform(square(660), east.to_lonlat)
    feature = {
        "type": "Feature",
        "properties": {},
        "geometry": json.loads(shapely.to_geojson(lonlat)),
    }
    path = write_plan_for(tmp_path, square(660))
    (tmp_path / "field.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [feature]})
    )
    layout = striplay.lay(read_plan(path))
    data = strictly(xml_of(packed(layout)))
    points = [one for one in objects(data) if type(one).__name__ == "Point"]
    assert all(179.9 < abs(one.east) <= 180 for one in points)


# The command.


def test_the_command_writes_task_data_and_the_plan_says_which_version(tmp_path):
    path = write_plan_for(tmp_path, square(660))
    path.write_text(path.read_text() + '[files]\nwrite = ["task-data"]\ntask_data = "3.3"\n')
    done = CliRunner().invoke(main, ["lay", str(path), "-o", str(tmp_path / "out")])
    assert done.exit_code == 0, done.stderr
    assert [one.name for one in (tmp_path / "out").iterdir() if one.name[0] != "."] == [FILE]
    xml = xml_of((tmp_path / "out" / FILE).read_bytes())
    assert b'VersionMajor="3" VersionMinor="3"' in xml
    with zipfile.ZipFile(io.BytesIO((tmp_path / "out" / FILE).read_bytes())) as found:
        assert found.testzip() is None
    path.write_text(path.read_text().replace('"3.3"', '"5"'))
    done = CliRunner().invoke(main, ["lay", str(path), "-o", str(tmp_path / "out")])
    assert done.exit_code == 2
    assert "files.task_data" in done.stderr


def test_zones_cover_what_is_planted_and_no_more(layout, data):
    """Zones of all plantings are the strips and the planted headland, none of them twice."""
    polygons = [
        shapely.transform(shape_of(one), PLANE.to_plane)
        for task in data.tasks if task.designator.startswith("plant")
        for zone in task.treatment_zones for one in zone.polygons
    ]  # fmt: skip
    areas = layout.land_accounts["areas_m2"]
    assert sum(one.area for one in polygons) == pytest.approx(
        areas["strips"] + areas["headland"], rel=1e-6
    )
    assert shapely.union_all(polygons).area == pytest.approx(
        sum(one.area for one in polygons), rel=1e-6
    )
