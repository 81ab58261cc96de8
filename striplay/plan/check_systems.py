"""Check what a plan says of systems besides strips."""

from collections.abc import Mapping
from datetime import date

from striplay.plan.crops import Crop
from striplay.plan.faults import Faults
from striplay.plan.machines import Harvester, Machine, Planter
from striplay.plan.systems import EMPTY, Between, Mixture, RowSet
from striplay.plan.when import Stage


def read_mixtures(
    faults: Faults,
    raw: Mapping[str, object],
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
) -> dict[str, Mixture]:
    """Read [mixtures.NAME], and check that their crops, machines and names are right."""
    tables = raw.get("mixtures", {})
    if not isinstance(tables, Mapping):
        faults.add("mixtures", "must be tables, written [mixtures.NAME]")
        return {}
    read = {}
    for name, table in tables.items():
        key = f"mixtures.{name}"
        mixture = faults.read(Mixture, table, key)
        if mixture is None:
            continue
        if name in crops:
            faults.add(key, "has the name of a crop; give it another")
        if len(mixture.parts) < TWO:
            faults.add(f"{key}.parts", "holds one crop; a mixture has two or more")
        for crop in mixture.parts:
            if faults.check_name(f"{key}.parts", crop, list(crops), "crop"):
                _check_weight(faults, key, crop, crops[crop], weighed=mixture.fill_kg is not None)
        _check_mixers(faults, key, mixture, machines)
        read[name] = mixture
    return read


TWO = 2


def _check_mixers(
    faults: Faults, key: str, mixture: Mixture, machines: Mapping[str, Machine]
) -> None:
    """Check that a mixture's machines are there and do what is asked."""
    for what, machine, does in (
        ("planter", mixture.planter, Planter),
        ("harvester", mixture.harvester, Harvester),
    ):
        where = f"{key}.{what}"
        known = list(machines)
        if machine is None or not faults.check_name(where, machine, known, "machine"):
            continue
        if not isinstance(machines[machine], does):
            faults.add(where, f'"{machine}" does not do that work')


def _check_weight(faults: Faults, key: str, name: str, crop: Crop, *, weighed: bool) -> None:
    """Check that a crop of a blend has what its weight takes."""
    if weighed and (crop.rate is None or crop.seed_size_per_kg is None):
        faults.add(
            f"{key}.fill", f"needs rate and seed_size of {name}, to weigh its part of the blend"
        )


def as_crops(mixtures: Mapping[str, Mixture]) -> dict[str, Crop]:
    """Let a mixture stand where a crop does: its machines, and no rate of its own."""
    return {
        name: Crop.model_validate(
            {
                "planter": mixture.planter,
                **({"harvester": mixture.harvester} if mixture.harvester else {}),
                **({"share": mixture.share} if mixture.share else {}),
            }
        )
        for name, mixture in mixtures.items()
    }


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


def read_between(
    faults: Faults,
    raw: Mapping[str, object],
    key: str,
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
) -> tuple[Between, ...]:
    """Read [[relay]] or [[quick_crop]], and check that crops and seeders are there."""
    tables = raw.get(key, [])
    if not isinstance(tables, list):
        faults.add(key, f"must be a list of tables, each written [[{key}]]")
        return ()
    read = []
    for number, table in enumerate(tables, start=1):
        where = f"{key}[{number}]"
        asked = faults.read(Between, table, where)
        if asked is None:
            continue
        faults.check_name(f"{where}.crop", asked.crop, list(crops), "crop")
        faults.check_name(f"{where}.into", asked.into, list(crops), "crop")
        if asked.crop == asked.into:
            faults.add(f"{where}.into", "is the crop itself")
        if asked.seeder is not None and faults.check_name(
            f"{where}.seeder", asked.seeder, list(machines), "machine"
        ):
            _check_seeder(faults, where, asked.seeder, machines)
        if asked.offsets_m is not None and {"rows", "gap_m"} & asked.model_fields_set:
            faults.add(where, "has both offsets and rows or gap; keep one way to place rows")
        if asked.period_m is not None and asked.offsets_m is None:
            faults.add(f"{where}.offsets", 'is missing, and period needs it; such as ["15 in"]')
        read.append(asked)
    return tuple(read)


def _check_seeder(faults: Faults, where: str, seeder: str, machines: Mapping[str, Machine]) -> None:
    if not isinstance(machines[seeder], Planter):
        faults.add(f"{where}.seeder", f'"{seeder}" does not plant')


def check_days(faults: Faults, crops: Mapping[str, Crop]) -> None:
    """Check that stages name crops that are there, and that harvest comes after sowing."""
    for name, crop in crops.items():
        for key in ("sown", "harvested", "closes"):
            when = getattr(crop, key)
            if not isinstance(when, Stage):
                continue
            if when.after is not None:
                faults.check_name(f"crops.{name}.{key}", when.after, list(crops), "crop")
            elif key == "sown":
                faults.add(
                    f"crops.{name}.sown",
                    'says after which crop, such as "150 degree days after corn"',
                )
        days = (crop.sown, crop.harvested)
        if isinstance(days[0], date) and isinstance(days[1], date) and days[0] >= days[1]:
            faults.add(f"crops.{name}.harvested", "is not after sown; give the year of each")
