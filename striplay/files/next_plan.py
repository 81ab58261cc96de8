"""Write next season's plan: this season's text, its comments kept, with what changes put in."""

import os
from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import InlineTable, Item

from striplay.errors import PlanError
from striplay.files.plan import read_text
from striplay.limits import YEARS
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.plan.season import write_numbers
from striplay.plan.systems import AfterHarvest
from striplay.plan.typed import exact_length
from striplay.section.row_units import written
from striplay.units import HEADING_DIGITS, UnitSystem

Tables = MutableMapping[str, Any]
Tracks = tuple[float, float]
"""The heading that strips were laid at, in degrees, and their offset in meters."""

DAYS = ("sown", "harvested", "canopy_closure")
"""Keys of a crop that may hold a day."""
PATTERN = ("period", "pattern")
"""Keys of a strip that say where uneven rows stand; they go with its crop."""
FILES = (
    ("field", "boundary"), ("field", "obstacles"), ("direction", "along"), ("weather", "file"),
    ("blocks", "file"),
)  # fmt: skip
"""Tables of a plan that name files, and their keys."""


def next_text(
    plan: Plan,
    changed: Plan,
    tracks: Tracks | None,
    path: Path,
    more: Sequence[AfterHarvest] = (),
    numbers: Sequence[Sequence[int]] | None = None,
) -> str:
    """Give the text of next season's plan.

    Crops are in their strips' new places, days a year on, the heading and the offset those that
    were laid, and files named as seen from where it is to stand.

    Args:
        plan: this season's.
        changed: the same with next season's crops in its strips.
        tracks: what fixes the strips' places; None where nothing is left to choose.
        path: the file it is to be.
        more: crops to sow after harvests, besides those of this season.
        numbers: of places across the field, block by block, to carry on; None to leave them.

    Raises:
        PlanError: this season's plan can't be read, or taken apart with its comments.
    """
    try:
        held = tomlkit.parse(read_text(plan.path))
    except TOMLKitError as error:
        told = f"can't be taken apart with its comments: {error}; write it in plainer TOML"
        raise PlanError(plan.path.name, [told]) from error
    _move_crops(held, plan, changed)
    _keep_tracks(held, plan, tracks)
    _a_year_on(held)
    _sow_after(held, more)
    if numbers is not None:
        if "season" not in held:
            held["season"] = tomlkit.table()
        _put(held["season"], "numbers", write_numbers(numbers), "strips keep their numbers")
    held.pop("date", None)
    _name_files(held, plan.path.parent, path.absolute().parent)
    head = f"# Next season's plan, after {plan.path.name}: the same strips, crops moved on.\n"
    days = "# Days are those of this season, a year on: put in the ones you mean.\n"
    return f"{head}{days}{held.as_string()}"


def _move_crops(held: Tables, plan: Plan, changed: Plan) -> None:
    """Put next season's crops into the strips, or the row units, that they come into."""
    if changed.row_set is not None:
        if changed.row_set != plan.row_set:
            table, moved = held["row_set"][0], changed.row_set.units
            listed = isinstance(table["units"], list)
            _put(table, "units", list(moved) if listed else written(moved))
        return
    if changed.trial is not None and changed.trial != plan.trial:
        trial, wide_m = changed.trial, changed.trial.width_m or 0.0
        stated: dict[str, Any] = {"width": exact_length(wide_m, plan.units)}
        if trial.checks is not None:
            stated["checks"] = list(trial.checks)
        if trial.usual:
            stated["usual"] = tomlkit.inline_table()
            stated["usual"].update(trial.usual)
        _put_all(held["trial"], stated, stated)
    tables = list(held.get("strips", []))
    patterns: dict[str, Mapping[str, Any]] = {}
    for table, wish in zip(tables, plan.strips, strict=True):
        own = {key: tomlkit.item(table[key].unwrap()) for key in PATTERN if key in table}
        patterns.setdefault(wish.crop, own)
    for table, before, wish in zip(tables, plan.strips, changed.strips, strict=True):
        if wish != before:
            _put(table, "crop", wish.crop)
            _put_width(table, before, wish, plan.units)
            _put_all(table, PATTERN, patterns.get(wish.crop, {}))


def _put_width(table: Tables, before: StripWish, wish: StripWish, units: UnitSystem) -> None:
    """Put a strip's width in its table, where it is not written as it was."""
    ways = [(one.rows, one.passes, one.width_m) for one in (before, wish)]
    if ways[0] != ways[1]:
        width = None if wish.width_m is None else exact_length(wish.width_m, units)
        way = {"rows": wish.rows, "passes": wish.passes, "width": width}
        _put_all(table, way, {key: value for key, value in way.items() if value is not None})


def _put_all(table: Tables, keys: Iterable[str], values: Mapping[str, Any]) -> None:
    """Put values in a table in the place of all that stood under some keys."""
    for key in keys:
        table.pop(key, None)
    for key, value in values.items():
        table[key] = value


def _keep_tracks(held: Tables, plan: Plan, tracks: Tracks | None) -> None:
    """State the heading and the offset that were laid, where the plan left them to be chosen."""
    if tracks is None:
        return
    if "direction" not in held:
        held["direction"] = tomlkit.table()
    direction, (heading_deg, offset_m) = held["direction"], tracks
    said = "as laid the season before"
    if plan.direction.heading == "best":
        _put(direction, "heading", round(heading_deg, HEADING_DIGITS), said)
    if not isinstance(plan.direction.offset_m, float):
        _put(direction, "offset", exact_length(offset_m, plan.units), said)


def _put(table: Tables, key: str, value: object, said: str | None = None) -> None:
    """Put a value in a table, with a comment of its own, or without what stood of the old one."""
    made = tomlkit.item(value)
    table[key] = made
    kept = table[key]
    if isinstance(kept, Item) and said is not None and not isinstance(table, InlineTable):
        kept.comment(said)


def _a_year_on(held: Tables) -> None:
    """Move every day that a crop or an operation states a year on."""
    tables: list[tuple[Tables, Iterable[str]]] = []
    tables += [(crop, DAYS) for crop in held.get("crops", {}).values()]
    tables += [(one, ("day",)) for one in held.get("operations", [])]
    for table, keys in tables:
        for key in keys:
            if key in table:
                moved = _year_after(table[key])
                if moved is not None:
                    table[key] = moved


def _sow_after(held: Tables, more: Sequence[AfterHarvest]) -> None:
    """Add tables of crops that are sown after harvests."""
    for one in more:
        table = tomlkit.table()
        table["crop"], table["after"] = one.crop, one.after
        held.setdefault("after_harvest", tomlkit.aot()).append(table)


def _name_files(held: Tables, before: Path, folder: Path) -> None:
    """Name files as seen from another folder."""
    if os.path.realpath(before) == os.path.realpath(folder):
        return
    for name, key in FILES:
        found = held.get(name)
        for table in found if isinstance(found, list) else [found]:
            if isinstance(table, MutableMapping) and key in table:
                table[key] = Path(os.path.relpath(before / table[key], folder)).as_posix()


def _year_after(value: object) -> date | str | None:
    """Give a day a year on, written as it was; None where it is no day, or the last year's."""
    text = isinstance(value, str)
    try:
        day = date.fromisoformat(str(value)) if text or isinstance(value, date) else None
    except ValueError:
        return None
    if day is None or isinstance(value, datetime) or day.year + 1 not in YEARS:
        return None
    leap = (day.month, day.day) == (2, 29)
    moved = day.replace(year=day.year + 1, day=28 if leap else day.day)
    return moved.isoformat() if text else moved
