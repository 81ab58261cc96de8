"""Check a plan read from TOML, table by table, and gather every fault before refusing."""

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from striplay.errors import PlanError
from striplay.plain import plain, shortened
from striplay.plan.check_ground import read_blocks, read_ground_tables
from striplay.plan.check_money import check_grain, read_economics, read_edges
from striplay.plan.check_monitor import read_monitor
from striplay.plan.check_operations import check_carts, read_operations
from striplay.plan.check_sizes import check_set, check_sizes
from striplay.plan.check_systems import (
    as_crops,
    check_days,
    names_in,
    read_after_harvest,
    read_between,
    read_mixtures,
    read_row_set,
)
from striplay.plan.crops import NOT_HARVESTED, Crop, StripWish
from striplay.plan.defaults import BESIDE_M, CLEARANCE_M, SHORTEST_M, WIDEST_M, fill_in
from striplay.plan.faults import Faults, offered
from striplay.plan.files import FilesWish
from striplay.plan.machines import MACHINES, Harvester, Machine, Planter
from striplay.plan.models import (
    AboveTables,
    Direction,
    Farm,
    FieldSource,
    Headland,
    Plan,
)
from striplay.plan.season import NextSeason, WeatherSource
from striplay.plan.trial import read_trial
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import UnitSystem

_TABLES = (
    "field", "headland", "direction", "machines", "crops", "strips", "obstacles", "blocks", "cost",
    "slope", "row_set", "mixtures", "relay", "quick_crop", "after_harvest",
    "weather", "season", "trial", "operations", "farm", "files", "economics", "edges",
    "monitor",
)  # fmt: skip


def check_plan(raw: Mapping[str, Any], path: Path, kinds: Collection[str] | None = None) -> Plan:
    """Turn the content of a plan file into a plan.

    Args:
        raw: what the TOML file holds.
        path: the file, for messages and for the paths it names.
        kinds: names of the kinds of files that can be written; names are not checked without.

    Raises:
        PlanError: with every fault found.
    """
    faults = Faults()
    check_sizes(faults, raw)
    if faults.lines:
        raise PlanError(path.name, faults.lines)
    for named_table in ("machines", "crops", "mixtures"):
        faults.check_spelling(named_table, names_in(raw.get(named_table)))
    above = _above_tables(faults, {key: raw[key] for key in raw if key not in _TABLES})
    farm = faults.read(Farm, raw.get("farm", {}), "farm")
    field = faults.read(FieldSource, raw["field"], "field") if "field" in raw else None
    headland = faults.read(Headland, raw.get("headland", {"where": "none"}), "headland")
    direction = faults.read(Direction, raw.get("direction", {}), "direction")
    machines = _machines(faults, raw.get("machines", {}))
    crops = _crops(faults, raw.get("crops", {}))
    mixtures = read_mixtures(faults, raw, crops, machines)
    named = names_in(raw.get("crops"))
    grown = [*named, *names_in(raw.get("mixtures"))]
    strips = _strips(faults, raw.get("strips", []))
    blocks = read_blocks(faults, raw.get("blocks", []))
    row_set = read_row_set(faults, raw, machines, grown)
    weather = faults.read(WeatherSource, raw["weather"], "weather") if "weather" in raw else None
    season = faults.read(NextSeason, raw.get("season", {}), "season")
    for name in (season.sequence or ()) if season else ():
        faults.check_name("season.sequence", name, grown, "crop")
    files = faults.read(FilesWish, raw.get("files", {}), "files")
    if files and kinds is not None:
        for name in files.write or ():
            faults.check_name("files.write", name, kinds, "kind of file")
    relays, quick_crops = (
        read_between(faults, raw, key, grown, machines) for key in ("relay", "quick_crop")
    )
    after_harvest = read_after_harvest(faults, raw, grown)
    trial = read_trial(faults, raw, grown)
    obstacles, cost, slope = read_ground_tables(faults, raw, direction, blocks)

    operations = read_operations(faults, raw.get("operations", []), crops, machines, raw)
    check_carts(faults, machines, raw)
    economics = read_economics(faults, raw.get("economics", {}), named)
    monitor = read_monitor(faults, raw["monitor"]) if "monitor" in raw else None
    edges = read_edges(faults, raw.get("edges", []), grown)
    check_grain(faults, crops)

    _check_crops(faults, raw.get("crops"), raw.get("machines"))
    check_days(faults, crops, named)
    crops |= as_crops(mixtures)
    _check_headland(faults, headland, raw.get("machines"), grown)
    _check_strips(faults, strips, crops, machines, grown)
    check_set(faults, [wish for _, wish in strips], crops, machines)
    if faults.lines or not (
        above
        and farm
        and headland
        and direction
        and obstacles
        and cost
        and season
        and files
        and economics
    ):
        raise PlanError(path.name, faults.lines)
    return Plan(
        path=path,
        title=above.title or plain(Path(field.boundary).stem if field else path.stem),
        units=above.units,
        printed=above.printed,
        paper=above.paper or ("letter" if above.units == "us" else "a4"),
        field=field,
        headland=headland,
        widest_m=WIDEST_M[above.units],
        direction=fill_in(direction, above.units, shortest_m=SHORTEST_M),
        machines={name: _filled_in(m, above.units) for name, m in machines.items()},
        crops=crops,
        strips=tuple(wish for _, wish in strips),
        obstacles=fill_in(obstacles, above.units, beside_m=BESIDE_M),
        blocks=blocks,
        cost=cost,
        slope=slope,
        row_set=row_set,
        mixtures=mixtures,
        relays=relays,
        weather=weather,
        season=season,
        trial=trial,
        quick_crops=quick_crops,
        after_harvest=after_harvest,
        operations=operations,
        gate=above.gate,
        farm=farm,
        economics=economics,
        edges=edges,
        files=files,
        monitor=monitor,
        ink=above.ink,
    )


def _above_tables(faults: Faults, keys: Mapping[str, Any]) -> AboveTables | None:
    """Read the keys above all tables; a misspelled table is offered its name."""
    known = [*_TABLES, *(f.alias or name for name, f in AboveTables.model_fields.items())]
    own = {key: value for key, value in keys.items() if key in known}
    for key in (key for key in keys if key not in known):
        faults.add(shortened(key), f"unknown key{offered(key, known)}")
    return faults.read(AboveTables, own, "")


def _tables(faults: Faults, tables: object, key: str) -> Mapping[str, Any]:
    """Give tables such as [crops.corn] by name."""
    if isinstance(tables, Mapping):
        return tables
    faults.add(key, f"must be tables, written [{key}.NAME]")
    return {}


def _crops(faults: Faults, tables: object) -> dict[str, Crop]:
    crops = {}
    for name, table in _tables(faults, tables, "crops").items():
        key = f"crops.{name}"
        crop = faults.read(Crop, table, key)
        if crop is None:
            continue
        _check_seed(faults, key, crop)
        crops[name] = crop
    return crops


def _check_seed(faults: Faults, key: str, crop: Crop) -> None:
    """Check that a crop has its seed's size where its rate and unit are not told the same way."""
    if crop.rate is None or crop.unit is None or crop.seed_size_per_kg is not None:
        return
    heavy = [told.si_unit.startswith("kg") for told in (crop.rate, crop.unit)]
    if heavy[0] != heavy[1]:
        ways = ["a weight" if one else "a number of seeds" for one in heavy]
        faults.add(
            f"{key}.seed_size",
            f"is missing: rate is {ways[0]} and unit {ways[1]}; "
            'for example seed_size = "14000 seeds/lb"',
        )


def _machines(faults: Faults, tables: object) -> dict[str, Machine]:
    machines: dict[str, Machine] = {}
    for name, table in _tables(faults, tables, "machines").items():
        key = f"machines.{name}"
        does = table.get("does") if isinstance(table, Mapping) else None
        if isinstance(table, Mapping) and (not isinstance(does, str) or does not in MACHINES):
            said = f'"{does}" is not' if does is not None else "is missing; it must be"
            faults.add(f"{key}.does", f"{said} one of {', '.join(MACHINES)}")
            continue
        if name == NOT_HARVESTED:
            faults.add(key, 'is the word for no harvester, harvester = "none"; name it otherwise')
        machine = faults.read(MACHINES[str(does or "plant")], table, key)
        if machine is not None and _check_widths(faults, key, machine):
            machines[name] = machine
    return machines


def _check_widths(faults: Faults, key: str, machine: Machine) -> bool:
    """Check that a machine's width is given one way, and holds whole openers."""
    if not isinstance(machine, Planter | Harvester):
        return True
    spacing_m, width_m = machine.spacing_m, machine.width_given_m
    if machine.rows is None and width_m is None:
        faults.add(key, "needs rows and spacing, or width")
    elif machine.rows is not None and width_m is not None:
        faults.add(key, "has both rows and width; keep one")
    elif machine.rows is not None and spacing_m is None:
        faults.add(f"{key}.spacing", 'is missing; for example spacing = "30 in"')
    elif isinstance(machine, Harvester) and width_m is not None and spacing_m is not None:
        faults.add(f"{key}.spacing", "has no use with width; a platform has no rows")
    elif width_m is not None and spacing_m is not None:
        openers = width_m / spacing_m
        if round(openers) >= 1 and abs(openers - round(openers)) <= WHOLE_NUMBER:
            return True
        faults.add(
            f"{key}.width",
            f"is {openers:.2f} openers at the spacing given; a whole number is needed, such as "
            f"{_whole_near(openers)}",
        )
    else:
        return True
    return False


def _whole_near(count: float) -> str:
    """Name the whole numbers on either side of a count, 0 left out."""
    return f"{int(count)} or {int(count) + 1}" if count >= 1 else "1"


def _filled_in(machine: Machine, units: UnitSystem) -> Machine:
    if not isinstance(machine, Harvester):
        return machine
    return fill_in(machine, units, clearance_m=CLEARANCE_M)


def _check_crops(faults: Faults, raw_crops: object, raw_machines: object) -> None:
    """Check that the machines of every crop exist and do what is asked, and the wished shares.

    The raw tables are read, so that a fault elsewhere in a crop does not hide these.
    """
    tables = raw_crops if isinstance(raw_crops, Mapping) else {}
    wished = 0.0
    for name, table in tables.items():
        for key, does in (("planter", "plant"), ("harvester", "harvest")):
            asked = table.get(key) if isinstance(table, Mapping) else None
            if isinstance(asked, str) and (does, asked) != ("harvest", NOT_HARVESTED):
                where = f"crops.{name}.{key}"
                _check_machine(faults, where, (asked, does), raw_machines)
        share = table.get("share") if isinstance(table, Mapping) else None
        wished += share if isinstance(share, float) else 0.0
    if wished > 1 + WHOLE_NUMBER:
        faults.add("crops", f"the wished shares add up to {wished:.2f}; at most 1 will do")


def _check_machine(faults: Faults, key: str, asked: tuple[str, str], raw: object) -> None:
    """Check that the machine asked for exists and does what is asked: (name, does)."""
    name, does = asked
    if not faults.check_name(key, name, names_in(raw), "machine"):
        return
    table = raw[name] if isinstance(raw, Mapping) else None
    said = table.get("does") if isinstance(table, Mapping) else None
    if isinstance(said, str) and said in MACHINES and said != does:
        faults.add(key, f'"{name}" does not {does}; a machine with does = "{does}" is needed')


def _check_headland(
    faults: Faults, headland: Headland | None, raw_machines: object, grown: list[str]
) -> None:
    if headland is None:
        return
    if headland.machine is not None:
        faults.check_name("headland.machine", headland.machine, names_in(raw_machines), "machine")
    if headland.crop is not None:
        faults.check_name("headland.crop", headland.crop, grown, "crop")
    if headland.where == "none":
        return
    if headland.passes is not None and headland.width_m is not None:
        faults.add("headland", "has both passes and width; keep one")
    elif headland.passes is None and headland.width_m is None:
        faults.add("headland", 'needs passes and machine, or width; for example width = "60 ft"')
    elif headland.passes is not None and headland.machine is None:
        faults.add("headland.machine", "is missing: passes of which machine?")


def _strips(faults: Faults, tables: object) -> list[tuple[str, StripWish]]:
    """Read the strips of the set, each with its key for messages, such as strips[2]."""
    if not isinstance(tables, list):
        faults.add("strips", "must be a list of tables, each written [[strips]]")
        return []
    strips = []
    for number, table in enumerate(tables, start=1):
        key = f"strips[{number}]"
        wish = faults.read(StripWish, table, key)
        if wish is None:
            continue
        if (wish.pattern_m is None) != (wish.period_m is None):
            faults.add(key, "needs both pattern and period for uneven rows, or neither")
        elif wish.pattern_m is not None and max(wish.pattern_m) >= (wish.period_m or 0.0):
            faults.add(f"{key}.pattern", "has a row at or beyond its period; keep it inside")
        elif wish.pattern_m is not None and len(set(wish.pattern_m)) < len(wish.pattern_m):
            faults.add(f"{key}.pattern", "has two rows at one place")
        ways = [wish.rows, wish.passes, wish.width_m]
        if sum(way is not None for way in ways) != 1:
            faults.add(key, "needs one of rows, passes or width; for example rows = 16")
        strips.append((key, wish))
    return strips


def _check_strips(
    faults: Faults,
    strips: list[tuple[str, StripWish]],
    crops: Mapping[str, Crop],
    machines: Mapping[str, Machine],
    grown: list[str],
) -> None:
    """Check that the crop of every strip exists and that a width given holds whole rows."""
    for key, wish in strips:
        if not faults.check_name(f"{key}.crop", wish.crop, grown, "crop"):
            continue
        planter = machines.get(crops[wish.crop].planter) if wish.crop in crops else None
        if not isinstance(planter, Planter):
            continue
        if planter.row_units is None and wish.rows not in {None, "fit"}:
            faults.add(f"{key}.rows", "the drill has no spacing, so no rows; give passes or width")
        if wish.width_m is None:
            continue
        step_m = planter.spacing_m or planter.width_m
        count = wish.width_m / step_m
        if round(count) < 1 or abs(count - round(count)) > WHOLE_NUMBER:
            unit = "rows" if planter.spacing_m else "passes"
            faults.add(
                f"{key}.width",
                f"is {count:.2f} {unit} of {wish.crop}; {_whole_near(count)} would be whole",
            )
