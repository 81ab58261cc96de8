"""Check what a plan says of systems besides strips."""

from collections.abc import Mapping

from striplay.plan.faults import Faults
from striplay.plan.machines import Machine, Planter
from striplay.plan.systems import EMPTY, RowSet


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
    if asked is not None:
        _check_row_set(faults, asked, machines, crops)
    return asked


def _check_row_set(
    faults: Faults, asked: RowSet, machines: Mapping[str, Machine], crops: list[str]
) -> None:
    for crop in dict.fromkeys(asked.units):
        if crop != EMPTY:
            faults.check_name("row_set[1].units", crop, crops, "crop")
    if not faults.check_name("row_set[1].planter", asked.planter, list(machines), "machine"):
        return
    planter = machines[asked.planter]
    if not isinstance(planter, Planter) or planter.row_units is None:
        faults.add("row_set[1].planter", f'"{asked.planter}" is no planter with rows and spacing')
    elif len(asked.units) != planter.row_units:
        faults.add(
            "row_set[1].units",
            f"are {len(asked.units)}, and {asked.planter} has {planter.row_units} row units",
        )
    elif all(crop == EMPTY for crop in asked.units):
        faults.add("row_set[1].units", "plant nothing")
