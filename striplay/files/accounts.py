"""Write the accounts as JSON, the strips and what is sown in them as CSV."""

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from striplay.columns import JOBS_CSV, SOWN_CSV, STRIP_CSV, columns_of, order
from striplay.files.vector import DECIMALS
from striplay.plain import escaped
from striplay.units import ACRE_M2, FOOT_M, GALLON_M3, HECTARE_M2, POUND_KG, UnitSystem

FORMULA = re.compile(r"(?:^|(?<=;))(?=\s*[=+\-@\t\r＝＋－＠])")  # noqa: RUF001 - full width
"""Where text begins that is a formula to a spreadsheet, which may take a semicolon for a comma."""

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from pandas import DataFrame, Series


def accounts_text(accounts: dict[str, Any]) -> str:
    """Write accounts as JSON text, as accounts.json and --json hold it."""
    text = json.dumps(accounts, indent=2, ensure_ascii=False, allow_nan=False)
    return escaped(text) + "\n"


def write_strip_csv(
    strips: "GeoDataFrame", passes: Mapping[str, Mapping[int, int]], path: Path, units: UnitSystem
) -> None:
    """Write one row a strip, its pieces added up, in SI and in the plan's units.

    Args:
        strips: pieces of strips.
        passes: that work each strip by its number, by kind of work.
        path: where to.
        units: adds area and width in acres and feet, or in hectares.
    """
    by_strip = strips.groupby("strip", sort=True)
    table = by_strip.agg(
        set=("set", "first"),
        crop=("crop", "first"),
        pieces=("piece", "size"),
        rows=("rows", "max"),
        width_m=("width_m", "max"),
        area_m2=("area_m2", "sum"),
        row_length_m=("row_length_m", "sum"),
        seeds=("seeds", lambda seeds: seeds.sum(min_count=1)),
        seed_units=("seed_units", lambda amount: amount.sum(min_count=1)),
        seed_kg=("seed_kg", lambda weight: weight.sum(min_count=1)),
        whole=("whole", "all"),
    )
    for operation in ("plant", "spray", "harvest"):
        counts = passes.get(operation, {})
        table[f"{operation}_passes"] = [counts.get(strip, 0) for strip in table.index]
    if units == "us":
        table["width_ft"] = table["width_m"] / FOOT_M
        table["area_acres"] = table["area_m2"] / ACRE_M2
        table["seed_lb"] = table["seed_kg"] / POUND_KG
    else:
        table["area_ha"] = table["area_m2"] / HECTARE_M2
    _write(table.reset_index(), STRIP_CSV, path)


def write_sown_csv(sown: "DataFrame", path: Path, units: UnitSystem) -> None:
    """Write one row a strip and crop sown in it, in SI and in the plan's units.

    Args:
        sown: strips' sowings, their pieces added up.
        path: where to.
        units: adds area in acres and seed in pounds, or area in hectares.
    """
    table = sown.drop(columns=["layer", "label", "width_m", "whole"])
    if units == "us":
        table["area_acres"] = table["area_m2"] / ACRE_M2
        table["seed_lb"] = table["seed_kg"] / POUND_KG
    else:
        table["area_ha"] = table["area_m2"] / HECTARE_M2
    _write(table, SOWN_CSV, path)


def write_jobs_csv(accounts: Sequence[Mapping[str, Any]], path: Path, units: UnitSystem) -> None:
    """Write one row an operation of the season, in the order done.

    Args:
        accounts: of each operation.
        path: where to.
        units: adds miles and gallons with US units.
    """
    from pandas import DataFrame  # noqa: PLC0415 - heavy to load

    names = [column.name for column in columns_of(JOBS_CSV) if not column.only]
    table = DataFrame([{name: one[name] for name in names} for one in accounts], columns=names)
    if units == "us":
        table["driven_mi"] = table["driven_km"].astype(float) / MILE_KM
        table["fuel_gal"] = table["fuel_l"].astype(float) / GALLON_M3 / LITERS
    _write(table, JOBS_CSV, path)


MILE_KM, LITERS = 1.609344, 1000.0
"""Kilometers to a mile, exact; liters to a cubic meter."""


def _write(table: "DataFrame", name: str, path: Path) -> None:
    """Write a table with its columns in the order described."""
    ordered = table[[column.name for column in order(name, table.columns)]]
    shown = ordered.round(DECIMALS).apply(_as_text)
    shown = shown.astype(object).where(shown.notna(), None)
    rows = [",".join(map(_cell, row)) for row in shown.itertuples(index=False, name=None)]
    path.write_bytes("\n".join([",".join(shown.columns), *rows, ""]).encode())


def _cell(value: object) -> str:
    """Write a cell as RFC 4180 says: all text in quotes, whatever parts cells where it is read."""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return "" if value is None else str(value)


def _as_text(column: "Series[Any]") -> "Series[Any]":
    """Keep a column's words from being worked out by a spreadsheet: an apostrophe stands first."""
    if column.dtype.kind != "O":
        return column
    return column.map(lambda cell: FORMULA.sub("'", cell) if isinstance(cell, str) else cell)
