"""Say what is asked of each of many fields: one plan, some keys of which columns may change."""

import hashlib
import json
import re
import tomllib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from striplay.doubts import examples
from striplay.errors import PlanError
from striplay.files.plan import checked, contents_beside, read_tables
from striplay.files.weather import ReadWeather
from striplay.growing import season_of, weather_of
from striplay.kept import Kept
from striplay.notices import Notice
from striplay.operations.jobs import jobs_of
from striplay.operations.uncounted import harvests_uncounted, not_counted, uncounted
from striplay.plain import plain, shortened
from striplay.plan.faults import offered
from striplay.plan.keys import Key, has_head, key_of
from striplay.plan.models import Plan
from striplay.section.sequence import set_notices
from striplay.section.systems import sections_of

GATE, PIVOT = "gate", "direction.pivot"
"""Keys that name a place on the ground."""
FROM_FILES = ("direction.along",)
"""Keys that name a file, which a column of someone's file may not."""
NAMES = ("name", "label")
"""Columns that name a field where --id names none, whatever their capitals."""


@dataclass(frozen=True)
class Template:
    """A plan for many fields.

    Attributes:
        path: the plan file; files it names are taken from its folder.
        tables: its tables, without what is of one field.
        columns: which column of the fields' file sets which key.
        named_by: the column that names a field; None where each goes by its number.
        source: what messages call the file of the fields.
        crs: their coordinate reference system.
        driven: whether operations are driven and judged too.
        weather: what the plan's file of it holds: it is read once, however many fields there are.
        common: what there is to know of the plan whatever the field.
        not_counted: what of every field's season its figures leave out, as it is told; else empty.
        of_file: what there is to know of the columns of the fields' file.
        mark: of all of it, and of the files that the plan names.
    """

    path: Path
    tables: Mapping[str, Any]
    columns: tuple[tuple[str, Key], ...]
    named_by: str | None
    source: str
    crs: str
    driven: bool
    weather: ReadWeather
    common: tuple[Notice, ...]
    not_counted: str
    of_file: tuple[Notice, ...]
    mark: str

    @property
    def plan(self) -> Plan:
        """The plan as it is where no column says otherwise."""
        return _plan(self, ()).plan

    def name_of(self, number: int, values: Mapping[str, Any]) -> str:
        """Give what a field is called."""
        said = None if self.named_by is None else _said(values.get(self.named_by))
        return f"feature {number}" if said is None else plain(str(said))

    def kept(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Give those of a feature's values that count."""
        asked = [column for column, _ in self.columns]
        return {name: values.get(name) for name in (*asked, self.named_by) if name is not None}

    def plan_of(self, values: Mapping[str, Any]) -> "FieldPlan":
        """Give the plan of a field, with what was found of it on other fields.

        Args:
            values: of its columns; an empty one leaves the plan as it is.

        Raises:
            PlanError: a value that can't be; the message says which column it stands in.
        """
        read = ((column, _said(values.get(column))) for column, _ in self.columns)
        said = tuple((column, value) for column, value in read if value is not None)
        try:
            return _plan(self, said)
        except PlanError as error:
            faults = [f"{fault} ({self._columns_of(fault, said)})" for fault in error.faults]
            raise PlanError(error.file, faults) from None

    def _columns_of(self, fault: str, said: "Said") -> str:
        """Say which columns set what; nothing that the fault says itself is said again."""
        keys = dict(self.columns)
        told = []
        for column, value in said:
            key, named = keys[column].text, f'column "{shortened(column)}"'
            if fault.startswith(f"{key}: "):
                told.append(named)
            elif column == key:
                told.append(f'{named} = "{shortened(str(value))}"')
            else:
                told.append(f'{key} = "{shortened(str(value))}" of {named}')
        return ", ".join(told)


@dataclass(frozen=True)
class FieldPlan:
    """A plan as some fields have it.

    Attributes:
        plan: the plan.
        kept: what was found of it whatever its field.
    """

    plan: Plan
    kept: Kept = field(default_factory=Kept)


Said = tuple[tuple[str, Any], ...]
_KEPT: dict[tuple[str, str], FieldPlan] = {}
PLANS_KEPT = 64
"""Plans kept by a process: a county's fields have hardly more kinds."""


def _plan(template: Template, said: Said) -> FieldPlan:
    """Give a template's plan with some keys set; the last few are kept, for fields often agree."""
    kept = template.mark, repr(said)
    if kept not in _KEPT:
        tables, keys = template.tables, dict(template.columns)
        for column, value in said:
            tables = keys[column].set_in(tables, value)
        plan = checked(tables, template.path)
        if len(_KEPT) >= PLANS_KEPT:
            _KEPT.clear()
        _KEPT[kept] = FieldPlan(plan)
    return _KEPT[kept]


def _said(value: object) -> object:
    """Give a cell as a plan would hold it; None where it is empty.

    Text that is a number, a day, true, false or a list in TOML is taken as that.

    >>> _said(" 37.5 "), _said("best"), _said("2026-05-02"), _said(""), _said(float("nan"))
    (37.5, 'best', datetime.date(2026, 5, 2), None, None)
    """
    if value is None or value != value:  # noqa: PLR0124 - only what is no number differs
        return None
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return _read(value.strip()) if isinstance(value, str) else value


def _read(text: str) -> object:
    """Give a cell's text as a plan would hold it; likewise."""
    if not text:
        return None
    if "\n" in text or text[0] in "\"'":
        return text
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text


@dataclass(frozen=True)
class Wishes:
    """What else is asked of many fields.

    Attributes:
        columns: further columns, each with the key that it sets.
        named_by: the column that names a field.
        driven: whether operations are driven and judged too.
    """

    columns: tuple[tuple[str, str], ...] = ()
    named_by: str | None = None
    driven: bool = False


def read_template(
    path: Path,
    source: str,
    columns: Sequence[str],
    wishes: Wishes,
    crs_of: Callable[[str | None], str],
) -> Template:
    """Read a plan for many fields.

    Args:
        path: the plan; its boundary is not read.
        source: name of the fields' file.
        columns: of that file.
        wishes: what else is asked.
        crs_of: gives the file's coordinate reference system, by the one that the plan states.

    Raises:
        BoundaryError: the file states no coordinate reference system, nor does the plan.
        PlanError: a plan that can't be used, or is of one field; no such key, or no such column.
    """
    tables = read_tables(path)
    whole = checked(tables, path)
    keys, faults = _keys(tables, columns, wishes)
    named_by = wishes.named_by
    if named_by is not None and named_by not in columns:
        faults.insert(
            0, f'has no column "{shortened(named_by)}" for --id{offered(named_by, columns)}'
        )
    if named_by is None:
        named_by = next((one for one in columns if one.lower() in NAMES), None)
    if faults:
        raise PlanError(source, faults)
    set_by = {key.text for _, key in keys}
    if of_one := list(_of_one_field(tables, whole, set_by)):
        raise PlanError(path.name, of_one)
    kept = _without_places(tables, set_by)
    plan = checked(kept, path)
    crs = crs_of(None if whole.field is None else whole.field.crs)
    said = [kept, [(column, key.text) for column, key in keys], named_by, wishes.driven, crs]
    hashed = hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode())
    for content in contents_beside(plan):
        hashed.update(hashlib.sha256(content).digest())
    weather = weather_of(plan)
    return Template(
        path.absolute(), kept, tuple(keys), named_by, source, crs, wishes.driven, weather,
        tuple(notices_of_all(plan, weather)),
        _not_counted(plan, keys, driven=wishes.driven),
        tuple(_like_keys(tables, source, columns, {*dict(wishes.columns), named_by})),
        hashed.hexdigest(),
    )  # fmt: skip


def notices_of_all(plan: Plan, weather: ReadWeather | None = None) -> list[Notice]:
    """Give what there is to know of a plan whatever the field; errors as `sections_of`."""
    section = sections_of(plan)[0]
    season = season_of(plan, section, weather=weather)
    return [
        *section.notices,
        *set_notices(plan, section.strips),
        *season.notices,
        *examples(plan),
    ]


def _not_counted(plan: Plan, keys: Sequence[tuple[str, Key]], *, driven: bool) -> str:
    """Say what of the season is done on no field, so that no figure counts it; empty for nothing.

    Args:
        plan: as it is where no column says otherwise.
        keys: which column sets which key.
        driven: whether operations are driven, so that hours are told.
    """
    section = sections_of(plan)[0]
    named = (
        uncounted(plan, section, jobs_of(plan, section, {}))
        if driven
        else harvests_uncounted(plan, section)
    )
    if not named:
        return ""
    figures = "Hours and cost a year" if driven else "Cost a year"
    other = any(key.path[0] not in OF_THE_GROUND for _, key in keys)
    unless = " whose columns do not say otherwise" if other else ""
    return f"{figures} of every field{unless}, {not_counted(named)}."


OF_THE_GROUND = ("gate", "direction", "cost")
"""What of a plan has no say in what is grown, and by which machine it is worked."""


def _without_places(tables: Mapping[str, Any], set_by: Collection[str]) -> dict[str, Any]:
    """Give a plan's tables without what is of its own field, places that columns set included.

    A field whose cell is empty has none, for the plan's lies in another field.
    """
    kept = {name: table for name, table in tables.items() if name not in {"field", "monitor"}}
    if GATE in set_by:
        kept.pop(GATE, None)
    if PIVOT in set_by and "direction" in kept:
        kept["direction"] = {k: v for k, v in kept["direction"].items() if k != "pivot"}
    return kept


def _of_one_field(tables: Mapping[str, Any], plan: Plan, set_by: Collection[str]) -> Iterator[str]:
    """Say what in a plan is of one field, so that it can't be asked of many.

    Args:
        tables: the plan's.
        plan: the plan itself.
        set_by: keys that columns set field by field.
    """
    place = "is a place in one field; take it out, or set it by a column that holds such places, "
    if plan.gate is not None and GATE not in set_by:
        yield f"{GATE}: {place}with --column COLUMN={GATE}"
    if "blocks" in tables and plan.blocks != "suggest":
        yield 'blocks: are of one field; take them out, or write blocks = "suggest"'
    if plan.direction.along is not None:
        yield "direction.along: is a line in one field; take it out"
    if plan.direction.pivot is not None and PIVOT not in set_by:
        yield f"{PIVOT}: {place}with --column COLUMN={PIVOT}"
    if plan.field is not None and plan.field.obstacles is not None:
        told = "take it out, and leave obstacles out of the boundaries as holes"
        yield f"field.obstacles: are of one field; {told}"


_DOTTED = re.compile(r"[^\W\d][\w-]*(\[\w+\])?(\.[\w-]+)+")
"""What a key with dots looks like."""


def _like_keys(
    tables: Mapping[str, Any], source: str, columns: Sequence[str], asked: Collection[str | None]
) -> Iterator[Notice]:
    """Say which columns look like keys, and are none, so that they set nothing.

    Args:
        tables: the plan's.
        source: name of the fields' file.
        columns: of that file.
        asked: those that an option names.
    """
    for column in columns:
        if column in asked or has_head(column) or not _DOTTED.fullmatch(column):
            continue
        try:
            key_of(column, tables)
        except ValueError as error:
            said = f'{source}: column "{shortened(column)}" sets nothing: it {error}'
            yield Notice("boundary", "mind", None, said)


def _is_key(text: str, tables: Mapping[str, Any]) -> bool:
    try:
        key_of(text, tables)
    except ValueError:
        return False
    return has_head(text)


def _keys(
    tables: Mapping[str, Any], columns: Sequence[str], wishes: Wishes
) -> tuple[list[tuple[str, Key]], list[str]]:
    """Give which column sets which key, and what is wrong with them."""
    asked = [(one, one) for one in columns if has_head(one)]
    mapped = {column for column, _ in wishes.columns}
    faults = [
        f'column "{shortened(one)}": keys are in small letters; write "{one.lower()}", or name '
        "the column with --column"
        for one in columns
        if one not in mapped and not has_head(one) and _is_key(one.lower(), tables)
    ]
    keys = []
    for column, text in wishes.columns:
        if column not in columns:
            near = offered(column, columns)
            faults.append(f'has no column "{shortened(column)}" for --column{near}')
        else:
            asked.append((column, text))
    seen: dict[str, str] = {}
    for column, text in asked:
        where = f'column "{shortened(column)}"'
        try:
            key = key_of(text, tables)
        except ValueError as error:
            faults.append(f"{where}: {shortened(text)} {error}")
            continue
        if text in FROM_FILES:
            faults.append(f"{where}: {text} names a file, which no column may")
        elif text in seen:
            faults.append(
                f'has two columns for {text}, "{seen[text]}" and "{shortened(column)}"; keep one'
            )
        seen[text] = shortened(column)
        keys.append((column, key))
    return keys, faults
