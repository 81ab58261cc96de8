"""Make what task data says of work: seed and products, the rates of each strip, and tasks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely
from xsdata.models.datatype import XmlDateTime

from striplay.files.content import Content
from striplay.files.task_editions import Edition
from striplay.files.task_names import Ids, apart, designator
from striplay.files.task_rates import ENTRIES
from striplay.files.task_shapes import polygons
from striplay.operations.judged import Judged
from striplay.tolerances import AS_STEERED_M
from striplay.units import UnitSystem
from striplay.zones import Rate, Zone

OUTSIDE = 0
"""Code of the zone outside all others, where nothing is sown or applied."""
ZONE_CODES = 254
"""Codes that are left for zones: the standard's go up to 254."""


@dataclass(frozen=True)
class Stock:
    """What a plan sows and applies, and how a terminal shows how much.

    Attributes:
        products: by name.
        shown: units of rates, by their SI unit.
    """

    products: dict[str, Any]
    shown: dict[str, Any] = field(default_factory=dict)


def held(zones: Iterable[Zone]) -> list[Zone]:
    """Give zones with the rates that the standard can hold; those that have none are left out."""
    found = []
    for zone in zones:
        rates = tuple(rate for rate in zone.rates if _value(rate) is not None)
        if rates:
            found.append(Zone(zone.strip, zone.crop, rates))
    return found


def not_held(zone: Zone) -> list[Rate]:
    """Give the rates of a zone that the standard can't hold."""
    return [rate for rate in zone.rates if _value(rate) is None]


def _value(rate: Rate) -> int | None:
    return ENTRIES[rate.per_m2.si_unit].value(rate.per_m2)


def stock_of(edition: Edition, ids: Ids, zones: Iterable[Zone], units: UnitSystem) -> Stock:
    """Give every product that some zones take, and the units that their rates are shown in."""
    rates = [rate for zone in zones for rate in zone.rates]
    names = list(dict.fromkeys(rate.product for rate in rates))
    products = {
        name: edition.iso.Product(id=ids.new("PDT", name), designator=short)
        for name, short in zip(names, apart(names), strict=True)
    }
    shown = {}
    for si_unit in dict.fromkeys(rate.per_m2.si_unit for rate in rates):
        unit = ENTRIES[si_unit].shown[units]
        shown[si_unit] = edition.iso.ValuePresentation(
            id=ids.new("VPN", unit.name),
            offset=0,
            scale=ENTRIES[si_unit].scale(units),
            number_of_decimals=unit.decimals,
            unit_designator=unit.name,
        )
    return Stock(products, shown)


def task(
    edition: Edition,
    ids: Ids,
    judged: Judged,
    name: str,
    zones: Sequence[Zone],
    stock: Stock,
    content: Content,
) -> Any:  # noqa: ANN401 - of a version
    """Give the task of an operation, with the rates of each strip that it works.

    Outside them, and where the position is lost, nothing is sown or applied.

    Args:
        edition: the version of the standard.
        ids: gives ids.
        judged: the operation.
        name: what the terminal lists it by.
        zones: strips with their rates, as `held` gives them.
        stock: what these take.
        content: the layout, for the shapes of strips.
    """
    iso = edition.iso
    made = iso.Task(id=ids.new("TSK", judged.job.name), designator=name, status=iso.TaskStatus("1"))
    if not zones:
        return made
    outside = iso.TreatmentZone(code=OUTSIDE, designator="outside")
    carried = {rate.product: rate for zone in zones for rate in zone.rates}
    outside.process_data_variables = [
        _variable(edition, rate, stock, 0) for rate in carried.values()
    ]
    made.treatment_zones = [outside]
    made.default_treatment_zone_code = OUTSIDE
    made.position_lost_treatment_zone_code = OUTSIDE
    made.out_of_field_treatment_zone_code = OUTSIDE
    for code, (said, group) in enumerate(_grouped(zones), start=OUTSIDE + 1):
        shapes = [shape for zone in group for shape in _shapes(content, zone)]
        made.treatment_zones.append(
            iso.TreatmentZone(
                code=code,
                designator=designator(said),
                polygons=[
                    polygon
                    for shape in shapes
                    for polygon in polygons(edition, shape, iso.PolygonType.TreatmentZone)
                ],
                process_data_variables=[
                    _variable(edition, rate, stock, _value(rate)) for rate in group[0].rates
                ],
            )
        )
    return made


def _variable(edition: Edition, rate: Rate, stock: Stock, value: int | None) -> Any:  # noqa: ANN401 - of a version
    """Give a rate as a process data variable."""
    si_unit = rate.per_m2.si_unit
    return edition.iso.ProcessDataVariable(
        process_data_ddi=ENTRIES[si_unit].ddi.to_bytes(2, "big"),
        process_data_value=value,
        product_id_ref=stock.products[rate.product].id,
        value_presentation_id_ref=stock.shown[si_unit].id,
    )


def _grouped(zones: Sequence[Zone]) -> list[tuple[str, list[Zone]]]:
    """Give each zone a code of its own; of more than there are codes, those of a crop share one."""
    if len(zones) <= ZONE_CODES:
        return [(_said(zone), [zone]) for zone in zones]
    groups: dict[tuple[str, tuple[Rate, ...]], list[Zone]] = {}
    for zone in zones:
        groups.setdefault((zone.crop, zone.rates), []).append(zone)
    return [(crop, group) for (crop, _), group in groups.items()]


def _said(zone: Zone) -> str:
    place = "headland" if zone.strip is None else f"strip {zone.strip}"
    return f"{place} {zone.crop}".rstrip()


def _shapes(content: Content, zone: Zone) -> list[shapely.Geometry]:
    """Give the pieces of a strip, or of the headland, in longitude and latitude.

    Along curves they keep no more corners than lines to steer by do: a ring has thousands.
    """
    table = content.layers["headland" if zone.strip is None else "strips"]
    found = table.geometry.to_numpy()
    if zone.strip is not None:
        found = found[table["strip"].to_numpy() == zone.strip]
    if not content.plan.curved:
        return list(found)
    plane = content.ground.plane
    on_plane = shapely.transform(found, plane.to_plane)
    return list(plane.geometries_to_lonlat(shapely.simplify(on_plane, AS_STEERED_M)))


def practices(edition: Edition, ids: Ids, operations: Iterable[Judged]) -> dict[str, Any]:
    """Give the kinds of work of some operations, by name."""
    does = dict.fromkeys(judged.job.does for judged in operations)
    return {
        name: edition.iso.CulturalPractice(id=ids.new("CPC", name), designator=designator(name))
        for name in does
    }


def techniques(edition: Edition, ids: Ids, operations: Iterable[Judged]) -> dict[str, Any]:
    """Give the machines of some operations, by name, as the techniques that work is done by."""
    names = list(dict.fromkeys(judged.job.machine for judged in operations))
    return {
        name: edition.iso.OperationTechnique(id=ids.new("OTQ", name), designator=short)
        for name, short in zip(names, apart(names), strict=True)
    }


def allocated(edition: Edition, judged: Judged, group: str) -> Any:  # noqa: ANN401 - of a version
    """Give a task its group of lines to steer by, for the day where that is known."""
    iso = edition.iso
    made = iso.GuidanceAllocation(guidance_group_id_ref=group)
    day = judged.job.day
    if day is not None:
        start = XmlDateTime(day.year, day.month, day.day, 0, 0, 0)
        planned = iso.AllocationStampType.Planned
        made.allocation_stamps = [iso.AllocationStamp(start=start, type=planned)]
    return made
