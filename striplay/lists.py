"""Show a layout as tables without shapes: those of the CSV files, in SI and the plan's units."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from striplay.columns import JOBS_CSV, columns_of
from striplay.records.yields import StandOf, YieldOf
from striplay.units import ACRE_M2, FOOT_M, GALLON_M3, HECTARE_M2, LITERS, POUND_KG, UnitSystem

MILE_KM = 1.609344
"""Kilometers to a mile, exact."""


def strip_list(
    strips: pd.DataFrame, passes: Mapping[str, Mapping[int, int]], units: UnitSystem
) -> pd.DataFrame:
    """One line a strip, its pieces added up.

    Args:
        strips: pieces of strips.
        passes: that work each strip by its number, by kind of work.
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
    for name in ("replicate", "treatment"):
        if name in strips:
            table[name] = by_strip[name].first()
    for operation in ("plant", "spray", "harvest"):
        counts = passes.get(operation, {})
        table[f"{operation}_passes"] = [counts.get(strip, 0) for strip in table.index]
    if units == "us":
        table["width_ft"] = table["width_m"] / FOOT_M
    return _with_area_and_seed(table.reset_index(), units)


def sown_list(sown: pd.DataFrame, units: UnitSystem) -> pd.DataFrame:
    """One line a strip and crop sown in it.

    Args:
        sown: strips' sowings, their pieces added up.
        units: adds area in acres and seed in pounds, or area in hectares.
    """
    return _with_area_and_seed(sown.drop(columns=["layer", "label", "width_m", "whole"]), units)


def yield_list(
    yields: Sequence[YieldOf], bushels_kg: Mapping[str, float | None], units: UnitSystem
) -> pd.DataFrame:
    """One line what a strip, or some of its rows, yielded.

    Args:
        yields: what strips yielded.
        bushels_kg: weight of a bushel by crop, where known.
        units: adds yields to the acre, or to the hectare.
    """
    names = ("strip", "crop", "loads", "area_m2", "weighed_kg", "grain_kg", "kg_per_m2")
    table = pd.DataFrame({name: [getattr(one, name) for one in yields] for name in names})
    table["day"] = [one.day.isoformat() for one in yields]
    for at, name in enumerate(("first_row", "last_row")):
        rows = [None if one.rows is None else one.rows[at] for one in yields]
        table[name] = pd.array(rows, dtype="Int64")
    if units == "us":
        bushel_kg = table["crop"].map(bushels_kg).astype(float)
        table["yield_bu_per_acre"] = table["kg_per_m2"] * ACRE_M2 / bushel_kg
        table["yield_lb_per_acre"] = table["kg_per_m2"] * ACRE_M2 / POUND_KG
    else:
        table["yield_t_per_ha"] = table["kg_per_m2"] * HECTARE_M2 / 1000
    return table


def stand_list(stands: Sequence[StandOf], units: UnitSystem) -> pd.DataFrame:
    """One line how a crop stood in a strip; adds plants to the acre, or to the hectare."""
    names = ("strip", "crop", "counts", "plants", "area_m2", "plants_per_m2")
    table = pd.DataFrame({name: [getattr(one, name) for one in stands] for name in names})
    table["day"] = [one.day.isoformat() for one in stands]
    name, area_m2 = ("acre", ACRE_M2) if units == "us" else ("ha", HECTARE_M2)
    table[f"plants_per_{name}"] = table["plants_per_m2"] * area_m2
    return table


def job_list(accounts: Sequence[Mapping[str, Any]], units: UnitSystem) -> pd.DataFrame:
    """One line an operation of the season, in the order done.

    Args:
        accounts: of each operation.
        units: adds miles and gallons with US units.
    """
    names = [column.name for column in columns_of(JOBS_CSV) if not column.only]
    table = pd.DataFrame([{name: one[name] for name in names} for one in accounts], columns=names)
    if units == "us":
        table["driven_mi"] = table["driven_km"].astype(float) / MILE_KM
        table["fuel_gal"] = table["fuel_l"].astype(float) / GALLON_M3 / LITERS
    return table


def pass_list(passes: pd.DataFrame, units: UnitSystem) -> pd.DataFrame:
    """One line a stretch of a machine pass, in the order driven.

    Args:
        passes: the layer.
        units: adds width and length in feet with US units.
    """
    table = pd.DataFrame(passes.drop(columns="geometry"))
    if units == "us":
        table["width_ft"] = table["width_m"] / FOOT_M
        table["length_ft"] = table["length_m"] / FOOT_M
    return table


def _with_area_and_seed(table: pd.DataFrame, units: UnitSystem) -> pd.DataFrame:
    """Add area in acres and seed in pounds, or area in hectares."""
    if units == "us":
        return table.assign(
            area_acres=table["area_m2"] / ACRE_M2, seed_lb=table["seed_kg"] / POUND_KG
        )
    return table.assign(area_ha=table["area_m2"] / HECTARE_M2)
