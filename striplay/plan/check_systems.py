"""Check what a plan says of systems besides strips."""

from collections.abc import Mapping

from striplay.plan.faults import Faults
from striplay.plan.machines import Machine, Planter
from striplay.plan.systems import RowSet

EMPTY = "empty"


def read_row_set(
    faults: Faults,
    raw: Mapping[str, object],
    machines: Mapping[str, Machine],
    crops: list[str],
) -> RowSet | None:
    """Read [[row_set]], and check its planter, its crops and that each unit carries something."""
    tables = raw.get("row_set", [])
    if not isinstance(tables, list):
        faults.add("row_set", "must be a list of tables, each written [[row_set]]")
        return None
    if not tables:
        return None
    if len(tables) > 1:
        faults.add("row_set", "is given more than once; a set is one planter's passes")
    if raw.get("strips"):
        faults.add("row_set", "can't stand with strips; keep one")
    asked = faults.read(RowSet, tables[0], "row_set[1]")
    if asked is None:
        return None
    listed = _units(faults, asked)
    for crop in dict.fromkeys(listed or ()):
        if crop != EMPTY:
            faults.check_name("row_set[1].units", crop, crops, "crop")
    if not faults.check_name("row_set[1].planter", asked.planter, list(machines), "machine"):
        return asked
    planter = machines[asked.planter]
    if not isinstance(planter, Planter) or planter.row_units is None:
        faults.add("row_set[1].planter", f'"{asked.planter}" is no planter with rows and spacing')
    elif listed is not None and len(listed) != planter.row_units:
        faults.add(
            "row_set[1].units",
            f"are {len(listed)}, and {asked.planter} has {planter.row_units} row units",
        )
    elif listed is not None and all(crop == EMPTY for crop in listed):
        faults.add("row_set[1].units", "plant nothing")
    return asked


def _units(faults: Faults, asked: RowSet) -> tuple[str, ...] | None:
    from striplay.section.units import read_units  # noqa: PLC0415 - arithmetic that stands below

    try:
        return read_units(asked.units)
    except ValueError as error:
        faults.add("row_set[1].units", str(error))
        return None
