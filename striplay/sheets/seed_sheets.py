"""Tell the seed of the field on one page: to buy, to set the planter, blends, and every load."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from striplay.accounts.loads import Load, is_for_tank
from striplay.accounts.settings import LEFT_OUT
from striplay.accounts.strip_lines import StripLine, strip_lines
from striplay.accounts.told import told_areas
from striplay.accounts.words import rate_words, seed_words, units_words
from striplay.section.mixture import batch_kg, blend, blend_words, mixtures_of, sown_of
from striplay.sheets.book import Book
from striplay.sheets.flow import (
    CELL_PT,
    Column,
    Story,
    begin,
    heading,
    high_mm,
    paragraph,
    table,
    together,
)
from striplay.sheets.fonts import width_pt
from striplay.sheets.style import LEADING, MM, SMALLEST_PT
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    UnitSystem,
    format_area,
    format_load,
    format_small,
    format_weight,
    measured_in,
    said,
    said_apart,
    trim,
)
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from striplay.laid_plan import Layout

UNKNOWN = "not known by number"
TO_BUY = (
    "Strips, headland and overlap are rounded up once, together, to whole units. Overlap: what "
    "planters plant twice where rows end on a slant or a strip is cut along its length, as they "
    "shut off. Seeds are dropped, not plants standing. A reserve is yours to add."
)
"""What the seed to buy is."""
OVER = (
    f"Over its ground: set the rate in the row; strips have less to the area where {LEFT_OUT}, as "
    "in tramlines or beside the next crop."
)
"""Why a planter's rate and that of strips differ."""
LOADS = (
    "In all: what the passes take or bring in. To load: with overlap, seed rounded up as it is "
    "sold. Grain is what the plan's yield makes one expect."
)


SIZES_PT = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, SMALLEST_PT)
"""Type of the tables: the largest in which they take one page."""
MORE_MM = (2.5, 2.0, 1.5, 1.0, 0.5)
"""Rows are so much higher than their type where the page has room."""
APART_PT = 5.0
"""Columns are at least so far apart."""


def seed_story(book: Book, layout: "Layout") -> Story:
    """Tell each crop's seed, each mixture's blend, and what every machine loads."""
    tables = [_to_buy(layout), _planters(layout), _sown(layout), *_blends(layout), _loads(layout)]
    shown = [_spoken(book, one) for one in tables if one.rows]
    sizes = (size_pt for size_pt in SIZES_PT if _fits(book, shown, size_pt, 0.0))
    size_pt = next(sizes, SMALLEST_PT)
    roomy = (more_mm for more_mm in MORE_MM if _fits(book, shown, size_pt, more_mm))
    story = _tables(book, shown, size_pt, next(roomy, 0.0))
    return [*begin("Seed and loads"), *story]


def _spoken(book: Book, told: "Told") -> "Told":
    """Say a table's words as an operator does."""
    rows = [[book.say(cell) for cell in row] for row in told.rows]
    return replace(told, title=book.say(told.title), rows=rows)


def _tables(book: Book, shown: Sequence["Told"], size_pt: float, more_mm: float) -> Story:
    """Set tables one under another."""
    return [together(*_set(book, one, size_pt, more_mm)) for one in shown]


def _fits(book: Book, shown: Sequence["Told"], size_pt: float, more_mm: float) -> bool:
    """Tell whether tables take one page, no cell cut."""
    wide = all(sum(_widths_pt(one, size_pt)) <= book.inner_mm * MM for one in shown)
    high = _tables(book, shown, size_pt, more_mm)
    return wide and high_mm(high, book.inner_mm) <= book.room_mm


@dataclass(frozen=True, slots=True)
class Told:
    """A table's words.

    Attributes:
        title: what stands over it.
        heads: of its columns.
        words: how many columns, the first ones, are words, not numbers.
        rows: their cells.
        note: what stands under it.
        foot: rows at its end in bold.
    """

    title: str
    heads: Sequence[str]
    words: int
    rows: Sequence[Sequence[str]]
    note: str = ""
    foot: int = 0


def _widths_pt(told: Told, size_pt: float) -> list[float]:
    """Give the width that each column needs."""
    heads = [width_pt(one, size_pt, bold=True) for one in told.heads]
    bold = [at >= len(told.rows) - told.foot for at in range(len(told.rows))]
    cells = [
        [width_pt(cell, size_pt, bold=heavy) for cell in row]
        for row, heavy in zip(told.rows, bold, strict=True)
    ]
    columns = zip(heads, *cells, strict=True)
    return [max(column) + 2 * CELL_PT + APART_PT for column in columns]


def _set(book: Book, told: Told, size_pt: float, more_mm: float) -> Story:
    """Set a table with its title and note, as wide as the page; a crop's name may be cut."""
    needed, room_pt = _widths_pt(told, size_pt), book.inner_mm * MM
    spare_pt = room_pt - sum(needed)
    widths = [one + spare_pt / len(needed) for one in needed]
    if spare_pt < 0:  # what words take gives way
        share = 1 + spare_pt / sum(needed[: told.words])
        widths = [
            one * max(share, 0.2) if at < told.words else one for at, one in enumerate(needed)
        ]
        widths = [one * min(1.0, room_pt / sum(widths)) for one in widths]
    columns = [
        Column(head, wide_pt / MM, right=at >= told.words)
        for at, (head, wide_pt) in enumerate(zip(told.heads, widths, strict=True))
    ]
    rows_mm = (size_pt * LEADING + 2.2) / MM + more_mm
    made = table(columns, told.rows, size_pt=size_pt, ruled=0, foot=told.foot, row_mm=rows_mm)
    parts: Story = [heading(told.title, above_mm=4.0 + 2 * more_mm), made]
    if told.note:
        parts.append(paragraph(told.note, max(SMALLEST_PT, size_pt - 1), above_mm=1.0))
    return parts


def _number(value: float | None, decimals: int = 0, unit: float = 1.0) -> str:
    return "-" if value is None or np.isnan(value) else f"{value / unit:,.{decimals}f}"


def _said(value: float | None) -> str:
    return "-" if value is None or np.isnan(value) else said(value)


def _area(units: UnitSystem) -> tuple[str, float]:
    """Give the name of the unit rates are by, and how many square meters it is."""
    return ("ac", ACRE_M2) if units == "us" else ("ha", HECTARE_M2)


def _to_buy(layout: "Layout") -> Told:
    """Tell the seed to buy of each crop, and what of it is for strips, headland and overlap."""
    plan, rows = layout.plan, []
    for name, seed in layout.accounts["seed_to_buy"].items():
        parts = [seed[f"for_{part}"] for part in ("strips", "headland", "overlap")]
        amounts = [_amount(seed_words(plan, name, part)) for part in parts]
        whole = _amount(seed_words(plan, name, seed, up=True))
        buy = units_words(plan, name, seed) or seed_words(plan, name, seed, up=True)
        rate = plan.crops[name].rate
        si_unit = "" if rate is None else rate.si_unit.removesuffix("_per_m2")
        asked = "-" if rate is None else rate_words(rate.value, si_unit, plan.units)
        rows.append([name, asked, *amounts, whole, buy])
    heads = ["crop", "full rate", "strips", "headland", "overlap", "in all", "to buy"]
    return Told("Seed to buy", heads, 1, rows, TO_BUY)


def _amount(words: str) -> str:
    return words.removesuffix(" seeds")


def _planters(layout: "Layout") -> Told:
    """Tell what each crop's rate comes to in its rows, for a planter to be set."""
    units = layout.plan.units
    foot, foot_m = ("ft", FOOT_M) if units == "us" else ("m", 1.0)
    area, area_m2 = _area(units)
    weight, kg = measured_in("kg", units)
    rows = []
    for one in layout.row_rates:
        where = ", headland" if one.place == "headland" else f" {one.placed}".rstrip()
        part = f" in {one.label}" if one.label != one.crop else ""
        on_strips = "-"
        if one.seeds_per_m2 is not None and not layout.plan.crops[one.crop].by_weight:
            on_strips = f"{said(one.seeds_per_m2 * area_m2)}/{area}"
        elif one.kg_per_m2 is not None:
            on_strips = f"{said(one.kg_per_m2 * area_m2 / kg)} {weight}/{area}"
        rows.append([
            f"{one.crop}{part}{where}",
            one.planter,
            format_small(one.row_m, units) if one.seeds_per_m is not None else "-",
            "-" if one.seeds_per_m is None else said(one.seeds_per_m * foot_m),
            "-" if one.apart_m is None else said_apart(one.apart_m, units),
            on_strips,
        ])  # fmt: skip
    heads = ["crop", "planter", "row takes seed of", f"seeds/{foot}", "apart in row",
             "over its ground"]  # fmt: skip
    short = any(one.left_out for one in layout.row_rates)
    return Told("To set the planter", heads, 2, rows, OVER if short else "")


def _sown(layout: "Layout") -> Told:
    """Tell what is sown of each crop on strips, and on the headland."""
    units, accounts, rows = layout.plan.units, layout.accounts, []
    told = told_areas(layout.plan, accounts)
    around_m2, crops_m2 = told.land_m2["headland"], told.crops_m2
    grown = [
        (name, crop, crops_m2.get(name, crop["area_m2"]))
        for name, crop in accounts["crops"].items()
    ]
    grown += [
        (f"headland, {name}", crop, around_m2) for name, crop in accounts["headland_crop"].items()
    ]
    for name, crop, own_m2 in grown:
        seed = ["blend below", "", ""]
        if "parts" not in crop:
            weight = format_weight(crop["seed_kg"], units) if "seed_kg" in crop else "-"
            seeds = UNKNOWN if crop["seeds"] is None and weight != "-" else _said(crop["seeds"])
            seed = [seeds, weight, _said(crop.get("expected_stand"))]
        land = [format_area(own_m2, units), _long(crop["row_length_m"], units)]
        rows.append([name, *land, *seed])
    heads = ["crop", "area", "row length", "seeds", "weight", "expected stand"]
    return Told("What is sown", heads, 1, rows)


def _long(length_m: float, units: UnitSystem) -> str:
    if length_m == 0.0:
        return "-"
    return f"{length_m / 1609.344:,.1f} mi" if units == "us" else f"{length_m / 1000:,.1f} km"


def _blends(layout: "Layout") -> Iterator[Told]:
    """Tell each mixture's blend, a part each and all together, on strips and on the headland."""
    names = mixtures_of(layout.plan)
    lines = strip_lines(layout.plan, layout.laid, layout.figures) if names else ()
    for name in names:
        field_kg = _field_kg(lines, name)
        if field_kg:
            yield _blend(layout, name, "", field_kg)
        headland = layout.accounts["headland_crop"].get(name)
        if headland is not None:
            field_kg = {
                part["crop"]: (part["kg_per_m2"] or float("nan")) * headland["area_m2"]
                for part in headland["parts"]
            }
            yield _blend(layout, name, " on the headland", field_kg)


def _field_kg(lines: Sequence[StripLine], name: str) -> dict[str, float]:
    """Add up the weight of each part of a mixture in all strips that it is sown in."""
    found: dict[str, float] = {}
    for sown in (sown for one in lines for sown in one.sown if sown.layer.label == name):
        found[sown.layer.crop] = found.get(sown.layer.crop, 0.0) + float(sown.seed.seed_kg)
    return found


def _blend(layout: "Layout", name: str, where: str, field_kg: dict[str, float]) -> Told:
    mixed_kg = batch_kg(layout.plan, name)
    shares = {layer.crop: layer.share for layer in sown_of(layout.plan, name)}
    weight, kg = measured_in("kg", layout.plan.units)
    area, area_m2 = _area(layout.plan.units)
    fill = f" of {_number(mixed_kg, 0, kg)} {weight}" if mixed_kg else ""
    parts = blend(layout.plan, name)
    rows = [
        [
            part.crop,
            _per_cent(shares[part.crop]),
            _number(part.kg_per_m2, 1, kg / area_m2),
            _per_cent(part.by_weight),
            _number(part.batch_kg, 0, kg),
            _number(field_kg.get(part.crop), 0, kg),
        ]
        for part in parts
    ]
    known = all(part.kg_per_m2 is not None for part in parts)
    if known:
        rate = sum(part.kg_per_m2 or 0.0 for part in parts)
        rows.append([
            "blend", "", _number(rate, 1, kg / area_m2), "100 %",
            _number(mixed_kg, 0, kg), _number(sum(field_kg.values()), 0, kg),
        ])  # fmt: skip
    heads = ["part", "of its full rate", f"{weight}/{area}", "by weight", f"to a batch{fill}",
             f"for its ground, {weight}"]  # fmt: skip
    title = f"Blend of {name}{where}: {blend_words(layout.plan, name)}"
    return Told(title, heads, 1, rows, foot=int(known))


def _per_cent(share: float | None) -> str:
    return "-" if share is None else f"{trim(100 * share, 1)} %"


def _loads(layout: "Layout") -> Told:
    """Tell what each operation carries or brings in, and its fills."""
    rows = [
        [sheet.name, load.what, load.rate, _in_all(load),
         "-" if load.brought_in else load.to_load_words.partition(" of ")[0],
         _holds(layout, sheet, load), _fills(load)]
        for sheet in layout.worksheets
        for load in (*sheet.blends, *sheet.loads)
    ]  # fmt: skip
    heads = ["operation", "carries or brings in", "rate or yield", "in all", "to load", "holds",
             "fills, or carts"]  # fmt: skip
    return Told("Loads of planters, sprayers and carts", heads, 2, rows, LOADS)


def _in_all(load: Load) -> str:
    """Say what all passes take or bring in."""
    return load.amount_words(load.total)


def _holds(layout: "Layout", sheet: Worksheet, load: Load) -> str:
    """Say what the machine holds, where this load is what its tank is for."""
    machine = layout.plan.machines[sheet.judged.job.machine]
    what = "seed" if load.crop or load.blend else load.what
    what = "grain" if load.brought_in else what
    if machine.holds is None or not is_for_tank(layout.plan, sheet.judged, what):
        return "-"
    return format_load(machine.holds.value, machine.holds.si_unit, layout.plan.units)


def _fills(load: Load) -> str:
    """Say how many fills there are and how much the largest takes; of grain, cartloads."""
    if load.brought_in:
        return "-" if load.trips is None else f"{load.trips} cartload{'s' * (load.trips != 1)}"
    full = load.at_fills[load.at_fills > 0]
    if not len(full):
        return "-"
    most = f"{load.total_words(float(load.told_at_fills.max()))} {load.measure.name}"
    return f"1, {most}" if len(full) == 1 else f"{len(full)}, up to {most}"
