"""Check what a plan says of systems besides strips."""

from collections.abc import Mapping
from datetime import date

from striplay.plan.crops import NOT_HARVESTED, Crop
from striplay.plan.faults import Faults
from striplay.plan.machines import Harvester, Machine, Planter
from striplay.plan.systems import EMPTY, AfterHarvest, Between, Mixture, RowSet, read_units
from striplay.plan.when import Stage


def names_in(table: object) -> list[str]:
    """Name what a plan tells of, read without fault or not, so that one fault brings no second."""
    return list(table) if isinstance(table, Mapping) else []


def read_mixtures(
    faults: Faults,
    raw: Mapping[str, object],
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
) -> dict[str, Mixture]:
    """Read [mixtures.NAME], and check that their crops, machines and names are right."""
    named = names_in(raw.get("crops"))
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
        if name in named:
            faults.add(key, "has the name of a crop; give it another")
        if len(mixture.parts) < TWO:
            faults.add(f"{key}.parts", "holds one crop; a mixture has two or more")
        for crop in mixture.parts:
            if faults.check_name(f"{key}.parts", crop, named, "crop") and crop in crops:
                _check_weight(faults, key, crop, crops[crop], weighed=mixture.batch_kg is not None)
        for what, machine, does in (
            ("planter", mixture.planter, Planter),
            ("harvester", mixture.harvester, Harvester),
        ):
            if machine is not None and (what, machine) != ("harvester", NOT_HARVESTED):
                where, asked = f"{key}.{what}", (machine, does, "do that work")
                _check_does(faults, where, asked, machines, raw)
        read[name] = mixture
    return read


TWO = 2


def _check_does(
    faults: Faults,
    key: str,
    asked: tuple[str, type[Planter | Harvester], str],
    machines: Mapping[str, Machine],
    raw: Mapping[str, object],
) -> None:
    """Check that a machine is there and does what is asked: (name, kind of machine, in words)."""
    name, does, words = asked
    if not faults.check_name(key, name, names_in(raw.get("machines")), "machine"):
        return
    if name in machines and not isinstance(machines[name], does):
        faults.add(key, f'"{name}" does not {words}')


def _check_weight(faults: Faults, key: str, name: str, crop: Crop, *, weighed: bool) -> None:
    """Check that a crop of a blend has what its weight takes."""
    if weighed and crop.rate_kg_per_m2 is None:
        needs = "a rate" if crop.rate is None else "seed_size"
        faults.add(f"{key}.batch", f"needs {needs} of {name}, to weigh its part of the blend")


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
    direction = raw.get("direction")
    if isinstance(direction, dict) and "narrowest" in direction:
        faults.add(
            "direction.narrowest",
            "has no use with a row set: a planter pass is made where half its rows fit",
        )
    asked = faults.read(RowSet, tables[0], "row_set[1]")
    if asked is not None:
        for crop in dict.fromkeys(asked.units):
            if crop != EMPTY:
                faults.check_name("row_set[1].units", crop, crops, "crop")
        if faults.check_name(
            "row_set[1].planter", asked.planter, names_in(raw.get("machines")), "machine"
        ):
            _check_units(faults, asked, machines.get(asked.planter))
    return asked


def _check_units(faults: Faults, asked: RowSet, planter: Machine | None) -> None:
    """Check that a planter has the units asked for; one that is faulty itself has its fault."""
    if planter is None:
        return
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
    crops: list[str],
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
        faults.check_name(f"{where}.crop", asked.crop, crops, "crop")
        faults.check_name(f"{where}.into", asked.into, crops, "crop")
        if asked.crop == asked.into:
            faults.add(f"{where}.into", "is the crop itself")
        if asked.seeder is not None:
            _check_does(faults, f"{where}.seeder", (asked.seeder, Planter, "plant"), machines, raw)
        if asked.tramlines is not None and faults.check_name(
            f"{where}.tramlines", asked.tramlines, names_in(raw.get("machines")), "machine"
        ):
            _check_tramlines(faults, where, machines.get(asked.tramlines), asked.tramlines)
        if asked.offsets_m is not None and {"rows", "gap_m"} & asked.model_fields_set:
            faults.add(where, "has both offsets and rows or gap; keep one way to place rows")
        if asked.period_m is not None and asked.offsets_m is None:
            faults.add(f"{where}.offsets", 'is missing, and period needs it; such as ["15 in"]')
        _check_offsets(faults, where, asked)
        read.append(asked)
    return tuple(read)


def read_after_harvest(
    faults: Faults, raw: Mapping[str, object], crops: list[str]
) -> tuple[AfterHarvest, ...]:
    """Read [[after_harvest]]; check that crops are there, and grown neither twice nor undated."""
    tables = raw.get("after_harvest", [])
    if not isinstance(tables, list):
        faults.add("after_harvest", "must be a list of tables, each written [[after_harvest]]")
        return ()
    read: list[AfterHarvest] = []
    for number, table in enumerate(tables, start=1):
        where = f"after_harvest[{number}]"
        asked = faults.read(AfterHarvest, table, where)
        if asked is None:
            continue
        faults.check_name(f"{where}.after", asked.after, crops, "crop")
        if faults.check_name(f"{where}.crop", asked.crop, crops, "crop"):
            _check_second(faults, raw, where, asked.crop)
        if any((one.crop, one.after) == (asked.crop, asked.after) for one in read):
            faults.add(where, f"sows {asked.crop} after {asked.after} twice; once will do")
        read.append(asked)
    return tuple(read)


def _check_second(faults: Faults, raw: Mapping[str, object], where: str, name: str) -> None:
    """Check that a crop sown after a harvest states its day, and stands nowhere else by another."""
    row_set, strips, headland = raw.get("row_set"), raw.get("strips"), raw.get("headland")
    own = [one.get("crop") for one in _mappings(strips)]
    own += [one.get("crop") for one in _mappings([headland])]
    for one in _mappings(row_set):
        try:
            own += read_units(one.get("units"))
        except ValueError:
            continue  # has its own fault
    if name in own:
        faults.add(
            f"{where}.crop",
            f"{name} is planted by itself too, on another day; give what follows a crop of its "
            f'own, such as [crops.{name}_after], with like = "{name}"',
        )
    tables, mixtures = raw.get("crops"), raw.get("mixtures")
    mixed = mixtures.get(name) if isinstance(mixtures, Mapping) else None
    parts = mixed.get("parts") if isinstance(mixed, Mapping) else None
    for crop in parts if isinstance(parts, Mapping) else [name]:
        table = tables.get(crop) if isinstance(tables, Mapping) else None
        if isinstance(table, Mapping) and "sown" not in table:
            faults.add(
                f"crops.{crop}.sown",
                f"is missing: [[after_harvest]] sows {name} after a harvest; for example sown = "
                "2026-10-10",
            )


def _mappings(tables: object) -> list[Mapping[str, object]]:
    """Give those of some tables that are tables."""
    return [one for one in tables if isinstance(one, Mapping)] if isinstance(tables, list) else []


def _check_offsets(faults: Faults, where: str, asked: Between) -> None:
    if asked.offsets_m is None:
        return
    if len(set(asked.offsets_m)) < len(asked.offsets_m):
        faults.add(f"{where}.offsets", "have two rows at one place")
    if asked.period_m is not None and max(asked.offsets_m) >= asked.period_m:
        faults.add(f"{where}.offsets", "have a row at or beyond the period; keep it inside")


def _check_tramlines(faults: Faults, where: str, machine: Machine | None, name: str) -> None:
    """Check that the machine that drives tramlines says where its wheels run."""
    if machine is not None and (machine.tread_m is None or machine.tire_m is None):
        faults.add(f"{where}.tramlines", f'need tread and tire of "{name}"')


def check_days(faults: Faults, crops: Mapping[str, Crop], named: list[str]) -> None:
    """Check that stages name crops that are there, and that days come in their order.

    Args:
        faults: where to note what is wrong.
        crops: the crops read.
        named: all crops' names, those with a fault elsewhere included.
    """
    for name, crop in crops.items():
        for key in ("sown", "harvested", "canopy_closure"):
            when = getattr(crop, key)
            if not isinstance(when, Stage):
                continue
            if when.after is not None:
                faults.check_name(f"crops.{name}.{key}", when.after, named, "crop")
            elif key == "sown":
                faults.add(
                    f"crops.{name}.sown",
                    'says after which crop, such as "150 degree days after corn"',
                )
        for key, when in (("harvested", crop.harvested), ("canopy_closure", crop.canopy_closure)):
            if isinstance(crop.sown, date) and isinstance(when, date) and crop.sown >= when:
                faults.add(f"crops.{name}.{key}", "is not after sown; give the year of each")
    _check_circles(faults, crops)


def _check_circles(faults: Faults, crops: Mapping[str, Crop]) -> None:
    """Check that no sowing waits for itself, nor in a circle of crops."""
    waits = {
        name: crop.sown.after
        for name, crop in crops.items()
        if isinstance(crop.sown, Stage) and crop.sown.after is not None
    }
    told: set[str] = set()
    for name, first in waits.items():
        circle, after = [name], first
        while after in waits and after not in circle:
            circle.append(after)
            after = waits[after]
        if after != name or name in told:
            continue
        told.update(circle)
        keys = ", ".join(f"crops.{one}.sown" for one in circle)
        if len(circle) == 1:
            faults.add(keys, "waits for its own sowing; give it a day, or name another crop")
        else:
            faults.add(keys, "wait for each other in a circle; give one of them a day")
