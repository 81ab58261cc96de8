"""Write what came of many fields: two tables for a spreadsheet, and pages with small maps."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from striplay.columns import CROPS_CSV, FIELD_CROPS, FIELDS, SUMMARY_CSV
from striplay.files.folder import replace_file
from striplay.files.ledger import Ledger
from striplay.files.many_parts import append_list
from striplay.limits import MOST_FIELDS_ON_PAGE, MOST_TOLD_FIELDS
from striplay.many.field import VERDICTS
from striplay.many.template import Template
from striplay.notices import Notice
from striplay.page.fields import FieldsPage, fields_page
from striplay.units import format_area

ADDED = ("area_m2", "strips_m2", "headland_m2", "obstacles_m2", "leftover_m2", "row_length_m",
         "driven_km", "hours_likely", "fuel_l")  # fmt: skip
"""Columns of `fields` that are added up."""
CROP_ADDED = ("strips", "area_m2", "row_length_m", "seeds", "seed_units", "seed_kg")
"""Columns of `field_crops` that are added up, by crop."""
CAUTION = (
    "Maps and figures are as good as the boundaries; the output is not a legal survey. Power "
    "lines, slopes, water, roads and neighbors are for who knows the field to look at: labels, "
    "local rules and licensed practice go before anything here."
)
NOT_DRIVEN = (
    "Judged were layout, land, seed and the season's days, not the order to drive, room to turn, "
    "unloading, tanks or hours: --operations judges those too, and striplay check one field alone."
)
DRIVEN = "Judged were layout, land, seed, the season's days, and every operation as it is driven."


PRICED = (
    "Cost a year is what a layout takes off the land's return, by the plan's prices in their "
    "currency; each that the plan does not state is a default in US dollars, from memory: state "
    "the farm's own under [cost] and of machines."
)


@dataclass(frozen=True)
class Sums:
    """What all fields come to together.

    Attributes:
        verdicts: how many fields came to each verdict, the gravest first.
        refused: the first of those refused: number, name and reason.
        totals: sums by column of `fields`.
        crops: sums by crop and column of `field_crops`.
    """

    verdicts: Mapping[str, int]
    refused: Sequence[tuple[int, str, str]]
    totals: Mapping[str, float]
    crops: Mapping[str, Mapping[str, float]]

    @property
    def told(self) -> str:
        """How many fields came to each verdict, in words."""
        each = [f"{number:,} {verdict}" for verdict, number in self.verdicts.items() if number]
        return "; ".join(each)


def write_results(template: Template, kept: Ledger, told: Sequence[Notice]) -> tuple[Sums, Path]:
    """Write tables and pages of all that a ledger holds, and give the sums and the first page.

    No more than a part is held at a time, however many there are.

    Args:
        template: what was asked of each field.
        kept: what came of them.
        told: what there is to know of the fields together.

    Raises:
        OutputError: the ledger is damaged.
        WriteError: they can't be written.
    """
    sums = _sums(kept)
    plan = template.plan
    for name, table, key in ((SUMMARY_CSV, FIELDS, "fields"), (CROPS_CSV, FIELD_CROPS, "crops")):

        def write(path: Path, name: str = name, table: str = table, key: str = key) -> None:
            lists = (entry[key] for entry in kept.entries())
            append_list(path, name, table, lists, plan.units, driven=template.driven)

        replace_file(kept.folder / name, write)
    return sums, _write_pages(template, kept, sums, told)


def _sums(kept: Ledger) -> Sums:
    """Add up all parts."""
    verdicts, totals = Counter[str](), dict.fromkeys(ADDED, 0.0)
    crops: dict[str, dict[str, float]] = defaultdict(lambda: dict.fromkeys(CROP_ADDED, 0.0))
    refused: list[tuple[int, str, str]] = []
    for entry in kept.entries():
        verdicts.update(entry["verdicts"])
        for line in entry["fields"]:
            for name in ADDED:
                totals[name] += line.get(name) or 0.0
            if line["verdict"] == "refused" and len(refused) < MOST_TOLD_FIELDS:
                refused.append((line["number"], line["field"], line["reason"]))
        for line in entry["crops"]:
            for name in CROP_ADDED:
                crops[line["crop"]][name] += line[name] or 0.0
    return Sums({one: verdicts[one] for one in VERDICTS}, refused, totals, dict(crops))


def _write_pages(template: Template, kept: Ledger, sums: Sums, told: Sequence[Notice]) -> Path:
    """Write the pages, the gravest fields first, and give the first."""
    plan, count = template.plan, sum(sums.verdicts.values())
    pages = max(1, -(-count // MOST_FIELDS_ON_PAGE))
    laid = format_area(sums.totals["area_m2"], plan.units)
    together = [one.text.removeprefix(f"{template.source}: ") for one in told]
    about = [
        f"{sums.told}. {laid} in all, by the plan {plan.title} ({template.path.name}).",
        *(_sentence(one) for one in together),
    ]
    notes = [DRIVEN if template.driven else NOT_DRIVEN, PRICED]
    notes += [template.not_counted] if template.not_counted else []
    notes.append(CAUTION)
    notes += [f"Of every field: {one.text}." for one in template.common if one.severity != "know"]
    names = list(dict.fromkeys([*(wish.crop for wish in plan.strips), *plan.crops]))
    fields = _by_verdict(kept, sums)
    first = kept.folder / _name(1)
    for number in range(1, pages + 1):
        here = [field for _, field in zip(range(MOST_FIELDS_ON_PAGE), fields, strict=False)]
        page = FieldsPage(
            title=f"{count:,} fields of {template.source}",
            about=about,
            notes=notes,
            units=plan.units,
            names=_shown(names, here),
            verdicts=sums.verdicts,
            lines=[line for line, _ in here],
            pictures=[picture for _, picture in here],
            links=_links(number, pages),
            driven=template.driven,
        )
        path = kept.folder / _name(number)
        path.parent.mkdir(exist_ok=True)
        packed = fields_page(page)
        replace_file(path, lambda fresh, packed=packed: fresh.write_bytes(packed))  # type: ignore[misc]
    return first


def _sentence(said: str) -> str:
    return f"{said[:1].upper()}{said[1:]}."


Line = tuple[dict[str, Any], dict[str, Any] | None]


def _by_verdict(kept: Ledger, sums: Sums) -> Iterator[Line]:
    """Give each field's line and picture, the gravest first, else in the file's order."""
    for verdict, count in sums.verdicts.items():
        if not count:
            continue
        for entry in kept.entries():
            if entry["verdicts"].get(verdict):
                each = zip(entry["fields"], entry["pictures"], strict=True)
                yield from (one for one in each if one[0]["verdict"] == verdict)


def _shown(names: Sequence[str], fields: Sequence[Line]) -> list[str]:
    """Give the crops that maps show, in the plan's order."""
    drawn = {name for _, picture in fields if picture for name, _ in picture["crops"]}
    return [*(name for name in names if name in drawn), *sorted(drawn - set(names))]


def _name(number: int) -> str:
    """Give where a page stands in the folder."""
    return "index.html" if number == 1 else f"pages/{number}.html"


def _links(number: int, pages: int) -> list[tuple[str, str]]:
    """Give the way to the pages before and after, the first and the last."""
    if pages == 1:
        return []
    steps = {"First": 1, "Before": number - 1, "Next": number + 1, "Last": pages}
    up = "" if number == 1 else "../"
    return [(f"Page {number} of {pages}", up + _name(number))] + [
        (words, up + _name(to)) for words, to in steps.items() if 1 <= to <= pages and to != number
    ]
