"""Make the sheets with tables: strips of each crop, crops between rows, seed for the field."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pandas as pd

from striplay.accounts.words import seed_words, units_words
from striplay.mapbook.sheet import FOOT_MM, Paper, Sheet
from striplay.mapbook.style import LINE_MM, MARGIN_MM, SMALLEST_PT, TEXT_PT
from striplay.mapbook.text import (
    ROW_MM,
    RULED,
    Table,
    fitted,
    flowed,
    paragraphs,
    table_lines,
)
from striplay.section.mixture import (
    batch_kg,
    blend,
    blend_words,
    is_mixture,
    mixtures_of,
    sown_of,
)
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    POUND_KG,
    UnitSystem,
    format_area,
    format_length,
    format_small,
    format_weight,
    said,
    said_apart,
    trim,
)

if TYPE_CHECKING:
    from pandas import DataFrame

    from striplay.flow import Layout

ABOVE_MM = 3.9
"""More room above a sheet's first line than above others."""
HANG_MM = 5.0
STAR = "*"
"""Marks strips with a piece cut along its length."""
CUT = f"{STAR} a piece is cut by the boundary along its length and planted with rows shut off. "
MEAN_ROW = "Mean row length: all its rows, divided by their number."
PARTS_SHOWN = 3
"""Parts of a mixture with a column each; of more, the blend alone stands in the table."""
STRIP_COLUMNS = [
    ("strip", 0.0), ("rows", 24.0), ("width", 46.0), ("mean row length", 82.0), ("area", 108.0),
]  # fmt: skip
MIXTURE_COLUMNS = [
    ("strip", 0.0), ("rows", 24.0), ("width", 40.0), ("mean row length", 69.0), ("area", 88.0),
]  # fmt: skip
BUY_COLUMNS = [
    ("crop", 0.0), ("strips", 66.0), ("headland", 90.0), ("overlap", 112.0), ("in all", 138.0),
    ("to buy", 184.0),
]  # fmt: skip
SOWN_COLUMNS = [
    ("crop", 0.0), ("area", 64.0), ("row length", 90.0), ("seeds", 130.0), ("weight", 152.0),
    ("expected stand", 184.0),
]  # fmt: skip
UNKNOWN = "not known by number"
TO_BUY = (
    "Strips, headland and overlap are rounded up once, together, to whole units. Overlap: what "
    "planters plant twice where rows end on a slant or a strip is cut along its length, as they "
    "shut off. Seeds are dropped, not plants standing. A reserve is yours to add."
)
"""What the seed to buy is."""


def crop_sheets(paper: Paper, layout: "Layout", sown: "DataFrame") -> Iterator[Sheet]:
    """Write a table of each crop's strips, on as many sheets as it takes.

    Args:
        paper: what the sheets share.
        layout: what to tell of.
        sown: lines of `sown_table`.
    """
    for table in _crop_tables(layout, sown):
        head, *rows = table_lines(table, ABOVE_MM)
        fives = [rows[first : first + RULED] for first in range(0, len(rows), RULED)]
        parts = flowed(fives, paper.room_mm, [head])
        for sheet, lines in zip(paper.sheets(table.title, parts), parts, strict=True):
            starred = any(line.text.endswith(STAR) for line in lines)
            sheet.text(MARGIN_MM, FOOT_MM, f"{CUT if starred else ''}{MEAN_ROW}", SMALLEST_PT)
            yield sheet


def _crop_tables(layout: "Layout", sown: "DataFrame") -> Iterator[Table]:
    """Give a table a crop or mixture that is sown, then one a crop between the rows of others."""
    own = sown[sown["layer"] == 0]
    for label in dict.fromkeys(strip.crop for strip in layout.section.strips):
        write = _mixture_table if is_mixture(layout.plan, label) else _strip_table
        mine = own[own["label"] == label]
        if len(mine):
            yield write(f"Strips of {label}", layout, mine)
    hosts = dict(zip(layout.strips["strip"], layout.strips["crop"], strict=True))
    for layer in layout.section.layers:
        if layer.number:
            mine = sown[(sown["layer"] == layer.number) & (sown["crop"] == layer.crop)]
            if mine.empty:
                continue
            into = " and ".join(dict.fromkeys(hosts[strip] for strip in mine["strip"]))
            yield _strip_table(f"Between the rows of {into}: {layer.crop}", layout, mine)


def _strip_table(title: str, layout: "Layout", sown: "DataFrame") -> Table:
    """Write one crop's strips, a line each: rows, width, mean row length, area, seed to load."""
    units = layout.plan.units
    crop = layout.plan.crops[str(sown["crop"].iloc[0])]
    weight, kg = _weight(units)
    by_weight = crop.by_weight or bool(sown["seeds"].isna().all() and sown["seed_kg"].notna().all())
    rows = [
        [
            *_strip_cells(line, units),
            _number(line.seed_kg, 0, kg) if by_weight else _said(line.seeds),
            _number(line.seed_units, 2),
        ]
        for line in sown.itertuples()
    ]
    amount = weight if by_weight else "seeds"
    return Table(title, [*STRIP_COLUMNS, (amount, 138.0), ("units", 160.0)], rows)


def _strip_cells(line: Any, units: UnitSystem) -> list[str]:  # noqa: ANN401 - a line of a DataFrame
    length_m = line.row_length_m / line.rows if line.row_length_m else line.area_m2 / line.width_m
    return [
        f"{line.strip}{'' if line.whole else f' {STAR}'}",
        _number(line.rows),
        format_length(line.width_m, units),
        f"{length_m / FOOT_M:,.0f} ft" if units == "us" else f"{length_m:,.0f} m",
        format_area(line.area_m2, units),
    ]


def _mixture_table(title: str, layout: "Layout", sown: "DataFrame") -> Table:
    """Write a mixture's strips: each part's weight, or seeds where its weight is not known."""
    units = layout.plan.units
    measure, kg = _weight(units)
    known = sown.groupby("crop", sort=False)["seed_kg"].apply(lambda weight: weight.notna().all())
    weighed = {str(part): bool(each) for part, each in known.items()}
    shown = list(weighed) if len(weighed) <= PARTS_SHOWN else []
    names = [fitted(f"{part}, {measure if weighed[part] else 'seeds'}", 23.0) for part in shown]
    blended = all(weighed.values())
    names += [f"blend, {measure}"] if blended else []
    first_mm = MIXTURE_COLUMNS[-1][1] + 24.0
    more = [(name, first_mm + 24.0 * number) for number, name in enumerate(names)]
    rows = []
    for _, of_strip in sown.groupby("strip"):
        first = next(of_strip.itertuples())
        by_crop = of_strip.set_index("crop")
        cells = [
            _number(by_crop.loc[part, "seed_kg"], 0, kg)
            if weighed[part]
            else _said(by_crop.loc[part, "seeds"])
            for part in shown
        ]
        cells += [_number(by_crop["seed_kg"].sum(), 0, kg)] if blended else []
        rows.append([*_strip_cells(first, units), *cells])
    return Table(title, [*MIXTURE_COLUMNS, *more], rows)


def seed_sheets(paper: Paper, layout: "Layout", sown: "DataFrame") -> Iterator[Sheet]:
    """Write each crop's seed, each mixture's blend, and what the user should know."""
    room_mm = paper.inner_mm
    blocks = [[line] for line in table_lines(_buy_table(layout), ABOVE_MM)]
    blocks.append(paragraphs(room_mm, TO_BUY, line_mm=ROW_MM, above_mm=2 * ROW_MM))
    for table in (_rate_table(layout), _sown_table(layout), *_blend_tables(layout, sown)):
        above_mm = 2.2 * ROW_MM - LINE_MM
        title = paragraphs(room_mm, table.title, size_pt=TEXT_PT, above_mm=above_mm, bold=True)
        blocks.append([*title, *table_lines(table, 0.4 * ROW_MM)])
    heading = paragraphs(room_mm, "Notes for this plan", size_pt=TEXT_PT, above_mm=4.0, bold=True)
    for notice in layout.notices:
        above_mm = 1.0 if heading else 0.0
        mark = "STOP: " if notice.severity == "stop" else ""
        told = paragraphs(room_mm, mark + notice.text, above_mm=above_mm, hang_mm=HANG_MM)
        blocks.append([*heading, *told])
        heading = []
    yield from paper.sheets("Seed for the field", flowed(blocks, paper.room_mm))


def _number(value: Any, decimals: int = 0, unit: float = 1.0) -> str:  # noqa: ANN401 - a number, NaN, NA or None
    return "-" if pd.isna(value) else f"{value / unit:,.{decimals}f}"


def _said(value: Any) -> str:  # noqa: ANN401 - a number, NaN or None
    return "-" if pd.isna(value) else said(value)


def _weight(units: UnitSystem) -> tuple[str, float]:
    """Give the name of the unit seed is weighed in, and how many kilograms it is."""
    return ("lb", POUND_KG) if units == "us" else ("kg", 1.0)


def _area(units: UnitSystem) -> tuple[str, float]:
    """Give the name of the unit rates are by, and how many square meters it is."""
    return ("ac", ACRE_M2) if units == "us" else ("ha", HECTARE_M2)


def _buy_table(layout: "Layout") -> Table:
    """Write the seed to buy of each crop, and what of it is for strips, headland and overlap."""
    rows = []
    for name, seed in layout.accounts["seed_to_buy"].items():
        parts = [seed[f"for_{part}"] for part in ("strips", "headland", "overlap")]
        amounts = [seed_words(layout.plan, name, part).removesuffix(" seeds") for part in parts]
        whole = seed_words(layout.plan, name, seed, up=True).removesuffix(" seeds")
        buy = units_words(layout.plan, name, seed) or seed_words(layout.plan, name, seed, up=True)
        rows.append([fitted(name, 42.0), *amounts, whole, buy])
    return Table("Seed to buy", BUY_COLUMNS, rows)


def _rate_table(layout: "Layout") -> Table:
    """Write what each crop's rate comes to in its rows, for a planter to be set."""
    units = layout.plan.units
    foot, unit_m = ("ft", FOOT_M) if units == "us" else ("m", 1.0)
    area, area_m2 = _area(units)
    weight, kg = _weight(units)
    columns = [
        ("crop", 0.0), ("planter", 74.0), ("row takes seed of", 108.0), (f"seeds/{foot}", 128.0),
        ("apart in row", 154.0), ("on its strips", 184.0),
    ]  # fmt: skip
    rows = []
    for one in layout.row_rates:
        where = {"between": f" into {one.host}", "headland": ", headland"}.get(one.place, "")
        part = f" in {one.label}" if one.label != one.crop else ""
        on_strips = "-"
        if one.seeds_per_m2 is not None and not layout.plan.crops[one.crop].by_weight:
            on_strips = f"{said(one.seeds_per_m2 * area_m2)}/{area}"
        elif one.kg_per_m2 is not None:
            on_strips = f"{said(one.kg_per_m2 * area_m2 / kg)} {weight}/{area}"
        rows.append([
            fitted(f"{one.crop}{part}{where}", 48.0),
            fitted(one.planter, 24.0),
            format_small(one.row_m, units) if one.seeds_per_m is not None else "-",
            "-" if one.seeds_per_m is None else said(one.seeds_per_m * unit_m),
            "-" if one.apart_m is None else said_apart(one.apart_m, units),
            on_strips,
        ])  # fmt: skip
    return Table("To set the planter", columns, rows)


def _sown_table(layout: "Layout") -> Table:
    """Write what is sown of each crop on strips, and on the headland."""
    units, accounts, rows = layout.plan.units, layout.accounts, []
    around = [(f"headland, {name}", crop) for name, crop in accounts["headland_crop"].items()]
    for name, crop in [*accounts["crops"].items(), *around]:
        seed = ["blend below", "", ""]
        if "parts" not in crop:
            weight = format_weight(crop["seed_kg"], units) if "seed_kg" in crop else "-"
            seeds = UNKNOWN if crop["seeds"] is None and weight != "-" else _said(crop["seeds"])
            seed = [seeds, weight, _said(crop.get("expected_stand"))]
        land = [format_area(crop["area_m2"], units), _long(crop["row_length_m"], units)]
        rows.append([fitted(name, 48.0), *land, *seed])
    return Table("What is sown", SOWN_COLUMNS, rows)


def _long(length_m: float, units: UnitSystem) -> str:
    if length_m == 0.0:
        return "-"
    return f"{length_m / 1609.344:,.1f} mi" if units == "us" else f"{length_m / 1000:,.1f} km"


def _blend_tables(layout: "Layout", sown: "DataFrame") -> Iterator[Table]:
    """Write each mixture's blend, a part each and all together, on strips and on the headland."""
    for name in mixtures_of(layout.plan):
        of_mixture = sown[sown["label"] == name]
        if len(of_mixture):
            summed = of_mixture.groupby("crop")["seed_kg"].sum(min_count=1)
            field_kg = {str(crop): float(kg) for crop, kg in summed.items()}
            yield _blend_table(layout, name, "", field_kg)
        headland = layout.accounts["headland_crop"].get(name)
        if headland is not None:
            field_kg = {
                part["crop"]: (part["kg_per_m2"] or float("nan")) * headland["area_m2"]
                for part in headland["parts"]
            }
            yield _blend_table(layout, name, " on the headland", field_kg)


def _blend_table(layout: "Layout", name: str, where: str, field_kg: dict[str, float]) -> Table:
    mixed_kg = batch_kg(layout.plan, name)
    shares = {layer.crop: layer.share for layer in sown_of(layout.plan, name)}
    weight, kg = _weight(layout.plan.units)
    area, area_m2 = _area(layout.plan.units)
    fill = f" of {_number(mixed_kg, 0, kg)} {weight}" if mixed_kg else ""
    columns = [
        ("part", 0.0), ("of its full rate", 58.0), (f"{weight}/{area}", 78.0),
        ("by weight", 100.0), (f"to a batch{fill}", 144.0), (f"for its ground, {weight}", 176.0),
    ]  # fmt: skip
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
    if all(part.kg_per_m2 is not None for part in parts):
        rate = sum(part.kg_per_m2 or 0.0 for part in parts)
        rows.append([
            "blend", "", _number(rate, 1, kg / area_m2), "100 %",
            _number(mixed_kg, 0, kg), _number(sum(field_kg.values()), 0, kg),
        ])  # fmt: skip
    return Table(f"Blend of {name}{where}: {blend_words(layout.plan, name)}", columns, rows)


def _per_cent(share: float | None) -> str:
    return "-" if share is None else f"{trim(100 * share, 1)} %"
