"""Write the tables: strips of each crop, crops between rows, seed for the field, blends."""

from typing import TYPE_CHECKING, Any

from striplay.mapbook.page import Page
from striplay.mapbook.style import MARGIN_MM, fitted
from striplay.section.mixture import blend, shares_words
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    POUND_KG,
    UnitSystem,
    format_area,
    format_length,
)

if TYPE_CHECKING:
    from striplay.flow import Layout

Columns = list[tuple[str, float]]
"""Heading and right edge in millimetres; the first is left-aligned at the margin."""
Lines = list[list[str]]

ROW_MM = 4.1
GAP_MM = 2.5
RULED = 5
"""A thin line stands under the headings and under every fifth line."""
STAR = "*"
"""Marks strips with a piece cut along its length."""
PARTS_SHOWN = 3
"""Parts of a mixture with a column each; of more, the blend alone stands in the table."""


def table(page: Page, columns: Columns, lines: Lines, top_mm: float) -> None:
    """Write a table; a cell too long for its column is cut with dots."""
    ends = [columns[1][1] - 14.0 if len(columns) > 1 else 80.0, *(end for _, end in columns[1:])]
    for row, cells in enumerate([[name for name, _ in columns], *lines]):
        y_mm = top_mm - row * ROW_MM
        weight = "bold" if row == 0 else "normal"
        for index, cell in enumerate(cells):
            if index == 0:
                page.text(MARGIN_MM, y_mm, fitted(cell, ends[0] - MARGIN_MM), weight=weight)
            else:
                page.text(ends[index], y_mm, cell, weight=weight, ha="right")
        if row % RULED == 0:
            page.rule(y_mm - 1.2)


STRIP_COLUMNS: Columns = [
    ("strip", 0.0), ("rows", 42.0), ("width", 66.0), ("mean row", 92.0), ("area", 118.0),
    ("seeds", 150.0), ("units", 172.0),
]  # fmt: skip


def sowing_lines(layout: "Layout", sown: Any) -> Lines:  # noqa: ANN401 - a DataFrame
    """Write one crop's strips, a line each: rows, width, mean row, area, seed to load.

    Args:
        layout: for its units.
        sown: lines of `sown_table`, of one crop in one layer.
    """
    return [
        [
            *_strip_cells(line, layout.plan.units),
            _number(line.seeds),
            _number(line.seed_units, 2),
        ]
        for line in sown.itertuples()
    ]


def _strip_cells(line: Any, units: UnitSystem) -> list[str]:  # noqa: ANN401 - a line of a DataFrame
    length_m = line.row_length_m / line.rows if line.row_length_m else line.area_m2 / line.width_m
    return [
        f"{line.strip}{'' if line.whole else f' {STAR}'}",
        _number(line.rows),
        format_length(line.width_m, units),
        _whole_length(length_m, units),
        format_area(line.area_m2, units),
    ]


def mixture_table(layout: "Layout", sown: Any) -> tuple[Columns, Lines]:  # noqa: ANN401 - a DataFrame
    """Write a mixture's strips: each part's weight, or seeds where a weight is not known.

    Args:
        layout: for its units.
        sown: lines of `sown_table`, of one mixture.
    """
    units = layout.plan.units
    parts = list(dict.fromkeys(sown["crop"]))
    weighed = bool(sown["seed_kg"].notna().all())
    columns: Columns = [("strip", 0.0), ("rows", 36.0), ("width", 56.0), ("mean row", 78.0),
                        ("area", 100.0)]  # fmt: skip
    shown = parts if len(parts) <= PARTS_SHOWN else []
    measure = _weight_name(units) if weighed else "seeds"
    columns += [(fitted(f"{part}, {measure}", 23.0), 124.0 + 24.0 * i)
                for i, part in enumerate(shown)]  # fmt: skip
    if weighed:
        columns.append((f"blend, {measure}", columns[-1][1] + 24.0))
    lines = []
    for _, of_strip in sown.groupby("strip"):
        amounts = dict(zip(of_strip["crop"], of_strip["seed_kg" if weighed else "seeds"],
                           strict=True))  # fmt: skip
        listed = [amounts[part] for part in shown]
        listed += [sum(amounts.values())] if weighed else []
        factor = _weight_unit_kg(units) if weighed else 1.0
        first = next(of_strip.itertuples())
        lines.append([*_strip_cells(first, units), *(_number(each / factor) for each in listed)])
    return columns, lines


def _number(value: Any, decimals: int = 0) -> str:  # noqa: ANN401 - a number, NaN or NA
    try:
        return f"{float(value):,.{decimals}f}" if value == value else "-"  # noqa: PLR0124 - NaN
    except (TypeError, ValueError):
        return "-"


def _whole_length(length_m: float, units: UnitSystem) -> str:
    return f"{length_m / FOOT_M:,.0f} ft" if units == "us" else f"{length_m:,.0f} m"


def _weight_unit_kg(units: UnitSystem) -> float:
    return POUND_KG if units == "us" else 1.0


def format_weight(kg: float, units: UnitSystem) -> str:
    """Write a weight of seed in whole pounds or kilograms."""
    return f"{kg / _weight_unit_kg(units):,.0f} {_weight_name(units)}"


def _weight_name(units: UnitSystem) -> str:
    return "lb" if units == "us" else "kg"


SEED_COLUMNS: Columns = [
    ("crop", 0.0), ("area", 68.0), ("row length", 94.0), ("seeds", 124.0), ("units", 140.0),
    ("weight", 164.0), ("plants to stand", 194.0),
]  # fmt: skip


def seed_lines(layout: "Layout") -> Lines:
    """Write each crop's seed in all, the headland's included."""
    units, accounts = layout.plan.units, layout.accounts
    named = [*accounts["crops"].items()]
    named += [(f"headland, {name}", crop) for name, crop in accounts["headland_crop"].items()]
    lines = []
    for name, crop in named:
        cells = [name, format_area(crop["area_m2"], units), _long(crop["row_length_m"], units)]
        if "parts" in crop:
            cells += ["blend below", "", "", ""]
        else:
            cells += [
                "-" if crop["seeds"] is None else f"{crop['seeds']:,}",
                "-" if crop["seed_units"] is None else f"{crop['seed_units']:,}",
                format_weight(crop["seed_kg"], units) if "seed_kg" in crop else "-",
                f"{crop['stand']:,}" if "stand" in crop else "-",
            ]
        lines.append(cells)
    return lines


def _long(length_m: float, units: UnitSystem) -> str:
    if length_m == 0.0:
        return "-"
    return f"{length_m / 1609.344:,.1f} mi" if units == "us" else f"{length_m / 1000:,.1f} km"


def blend_tables(
    layout: "Layout",
    sown: Any,  # noqa: ANN401 - a DataFrame
) -> list[tuple[str, Columns, Lines]]:
    """Write each mixture's blend: its title, columns and lines, a part each and all together.

    Args:
        layout: for mixtures, units, and the headland's mixture.
        sown: all lines of `sown_table`.
    """
    tables = []
    for name in layout.plan.mixtures:
        of_mixture = sown[sown["label"] == name]
        if len(of_mixture):
            field_kg = of_mixture.groupby("crop")["seed_kg"].sum(min_count=1).to_dict()
            tables.append(_blend_table(layout, name, "", field_kg))
        headland = layout.accounts["headland_crop"].get(name)
        if headland is not None:
            field_kg = {
                part["crop"]: (part["kg_per_m2"] or float("nan")) * headland["area_m2"]
                for part in headland["parts"]
            }
            tables.append(_blend_table(layout, name, " on the headland", field_kg))
    return tables


def _blend_table(
    layout: "Layout", name: str, where: str, field_kg: dict[str, float]
) -> tuple[str, Columns, Lines]:
    units, mixture = layout.plan.units, layout.plan.mixtures[name]
    kg, name_of_kg = _weight_unit_kg(units), _weight_name(units)
    area_m2, area = (ACRE_M2, "ac") if units == "us" else (HECTARE_M2, "ha")
    fill = "to a fill"
    if mixture.fill_kg is not None:
        fill = f"to a fill of {_number(mixture.fill_kg / kg)} {name_of_kg}"
    columns: Columns = [
        ("part", 0.0), ("of its full rate", 70.0), (f"{name_of_kg}/{area}", 90.0),
        ("by weight", 112.0), (fill, 156.0), (f"for all, {name_of_kg}", 188.0),
    ]  # fmt: skip
    parts = blend(layout.plan, name)
    lines = [
        [
            part.crop,
            _per_cent(part.share * (1 + mixture.closer)),
            _number(_in(part.kg_per_m2, kg / area_m2), 1),
            _per_cent(part.by_weight),
            _number(_in(part.fill_kg, kg)),
            _number(field_kg.get(part.crop, float("nan")) / kg),
        ]
        for part in parts
    ]
    if all(part.kg_per_m2 is not None for part in parts):
        rate = sum(part.kg_per_m2 or 0.0 for part in parts)
        lines.append([
            "blend", "", _number(rate * area_m2 / kg, 1), "100 %",
            _number(_in(mixture.fill_kg, kg)), _number(sum(field_kg.values()) / kg),
        ])  # fmt: skip
    return f"Blend of {name}{where}: {shares_words(mixture)}", columns, lines


def _in(value: float | None, unit: float) -> float | None:
    return None if value is None else value / unit


def _per_cent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.1f}".removesuffix(".0") + " %"
