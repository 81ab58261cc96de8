"""Write task data for a terminal in a cab (ISO 11783-10): field, seed, lines to steer by, tasks."""

import io
import zipfile
from collections.abc import Iterator
from importlib.metadata import version
from typing import Any

import numpy as np
from isoxml.util.isoxml_io import isoxml_to_text

from striplay.each_pass import pass_columns
from striplay.files.content import Content
from striplay.files.task_editions import EDITIONS, Edition
from striplay.files.task_names import Ids, apart, designator
from striplay.files.task_shapes import (
    gate,
    guidance_group,
    guidance_line,
    names_of,
    polygons,
)
from striplay.files.task_work import (
    allocated,
    held,
    not_held,
    practices,
    stock_of,
    task,
    techniques,
)
from striplay.notices import Notice
from striplay.operations.guidance import guide_lines_of
from striplay.operations.judged import Judged
from striplay.plan.models import Farm
from striplay.section.mixture import crops_named
from striplay.zones import beside_zones, zones_of

FILE = "taskdata.zip"
INSIDE = "TASKDATA/TASKDATA.XML"
STAMP = (1980, 1, 1, 0, 0, 0)
"""The date of what is in the zip, the first it can hold; the same plan gives the same bytes."""
WRITER, FIELD = "striplay", "field"
READABLE = 0o644 << 16
"""Who may read the file, where it is unpacked."""


def encode(content: Content) -> dict[str, bytes]:
    """Give the zip with task data, in the version of the standard that the plan names."""
    data = task_data(content, EDITIONS[content.plan.files.task_data])
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as packed:
        entry = zipfile.ZipInfo(INSIDE, STAMP)
        entry.compress_type = zipfile.ZIP_DEFLATED
        entry.external_attr = READABLE
        packed.writestr(entry, isoxml_to_text(data).encode())
    return {FILE: buffer.getvalue()}


def tell(content: Content) -> list[Notice]:
    """Say which rates the standard can't hold, or a terminal may not find where a machine is."""
    return [
        Notice("operations", "mind", None, f"{FILE}: {judged.job.name}: {said}", judged.job.name)
        for judged in content.operations.each
        for said in _to_set(content, judged)
    ]


def _to_set(content: Content, judged: Judged) -> Iterator[str]:
    """Say what of an operation's rates is to be set at the terminal by hand, and why."""
    zones = zones_of(content.plan, content.laid, judged)
    for name in dict.fromkeys(rate.product for zone in zones for rate in not_held(zone)):
        yield (
            f"the rate of {name} is not in it, for its steps would change it by over 2 %, or it is "
            "too large for them; set it at the terminal"
        )
    told = held(zones)
    count = beside_zones(content.laid, judged, told) if told else 0
    if count:
        yield (
            f"on {count} of {len(judged.route)} passes the middle of {judged.job.machine} runs "
            "beside the strips that it works; a terminal that takes the rate there, not section by "
            "section, finds none: set it at the terminal"
        )


def task_data(content: Content, edition: Edition) -> Any:  # noqa: ANN401 - of a version
    """Give a layout as task data.

    Args:
        content: the layout.
        edition: the version of the standard.

    Returns:
        An `Iso11783TaskData` of that version.
    """
    iso, ids, plan = edition.iso, Ids(), content.plan
    operations = content.operations.each
    customers, farms = _farm(edition, ids, plan.farm)
    field = _field(edition, ids, content)
    zones = [held(zones_of(plan, content.laid, judged)) for judged in operations]
    stock = stock_of(edition, ids, (zone for each in zones for zone in each), plan.units)
    work, machines = practices(edition, ids, operations), techniques(edition, ids, operations)
    names = apart(judged.job.name for judged in operations)
    tasks = [
        task(edition, ids, judged, name, each, stock, content)
        for judged, name, each in zip(operations, names, zones, strict=True)
    ]
    for one, judged in zip(tasks, operations, strict=True):
        technique = machines[judged.job.machine].id
        practice = work[judged.job.does].id
        one.oper_tech_practices = [iso.OperTechPractice(practice, technique)]
        one.partfield_id_ref = field.id
    for one in (field, *tasks):
        one.customer_id_ref = customers[0].id if customers else None
        one.farm_id_ref = farms[0].id if farms else None
    _add_guidance(edition, ids, content, field, tasks)
    return iso.Iso11783TaskData(
        management_software_manufacturer=WRITER,
        management_software_version=designator(version(WRITER)),
        data_transfer_origin=iso.Iso11783TaskDataDataTransferOrigin.FMIS,
        crop_types=_crops(edition, ids, content),
        cultural_practices=list(work.values()),
        customers=customers,
        farms=farms,
        operation_techniques=list(machines.values()),
        partfields=[field],
        products=list(stock.products.values()),
        tasks=tasks,
        value_presentations=list(stock.shown.values()),
    )


def _farm(edition: Edition, ids: Ids, farm: Farm) -> tuple[list[Any], list[Any]]:
    """Give customer and farm; where one of them is not named it is called as the other."""
    owner, name = farm.operator or farm.name, farm.name or farm.operator
    if not owner:
        return [], []
    customer = edition.iso.Customer(id=ids.new("CTR", owner))
    setattr(customer, edition.named, designator(owner))
    of = edition.iso.Farm(
        id=ids.new("FRM", owner, name),
        designator=designator(name),
        state=designator(farm.state) or None,
        customer_id_ref=customer.id,
    )
    return [customer], [of]


def _field(edition: Edition, ids: Ids, content: Content) -> Any:  # noqa: ANN401 - of a version
    """Give the field with its boundary, obstacles, headland and gate."""
    plan, ground, kinds = content.plan, content.ground, edition.iso.PolygonType
    title = plan.title or FIELD
    outline, obstacles = (
        ground.plane.geometries_to_lonlat(shape) for shape in (ground.outline, ground.obstacles)
    )
    shapes = polygons(edition, outline, kinds.PartfieldBoundary)
    shapes += polygons(edition, obstacles, kinds.Obstacle, "obstacle")
    for shape in content.layers["headland"].geometry:
        shapes += polygons(edition, shape, edition.headland, "headland")
    return edition.iso.Partfield(
        id=ids.new("PFD", plan.farm.name, title),
        designator=designator(title),
        area=round(float(ground.outline.area)),
        polygons=shapes,
        points=[] if plan.gate is None else [gate(edition, plan.gate)],
    )


def _crops(edition: Edition, ids: Ids, content: Content) -> list[Any]:
    """Give the crops that strips and the headland grow."""
    around = content.plan.headland_crop
    named = () if around is None else crops_named(content.plan, around)
    names = list(dict.fromkeys([*content.laid.section.crops, *named]))
    return [
        edition.iso.CropType(id=ids.new("CTP", name), designator=short)
        for name, short in zip(names, apart(names), strict=True)
    ]


def _add_guidance(
    edition: Edition,
    ids: Ids,
    content: Content,
    field: Any,  # noqa: ANN401 - of a version
    tasks: list[Any],
) -> None:
    """Add to a field the lines to steer by, and to tasks which of them are theirs."""
    plane, operations = content.ground.plane, content.operations.each
    pivot, center_m = content.plan.direction.pivot, None
    if pivot is not None:
        east_m, north_m = plane.to_plane(np.array([pivot]))[0].tolist()
        center_m = (east_m, north_m)
    each = pass_columns(content.ground, content.laid, operations)
    for order, (judged, columns, one) in enumerate(
        zip(operations, each, tasks, strict=True), start=1
    ):
        guides = guide_lines_of(judged.route, center_m)
        names = names_of(guides, columns)
        if edition.groups:
            operation = judged.job.name, one.designator
            group = guidance_group(edition, ids, plane, guides, names, operation)
            field.guidance_groups.append(group)
            one.guidance_allocations = [allocated(edition, judged, group.id)]
        else:
            field.line_strings += [
                guidance_line(edition, plane, guide, f"{order}.{number} {one.designator}")
                for guide, (number, _) in zip(guides, names, strict=True)
            ]
