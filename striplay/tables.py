"""Show a layout as tables: GeoDataFrames in the field's local plane, with the columns of record."""

from collections.abc import Callable, Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.accounts.count import PieceFigures
from striplay.accounts.sowings import seed_kg
from striplay.ground import Ground
from striplay.laid import Laid, LaidBlock
from striplay.operations.passes import Passes
from striplay.plan.models import Plan
from striplay.section.section import Section

Table = Any
"""A GeoDataFrame; geopandas ships no types."""


def _table(ground: Ground, columns: dict[str, Any], geometry: npt.NDArray[np.object_]) -> Table:
    return gpd.GeoDataFrame(columns, geometry=geometry, crs=ground.plane.crs)


def field_table(ground: Ground) -> Table:
    """One polygon a part of the field, holes filled."""
    parts = shapely.get_parts(ground.outline)
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(ground, columns, parts)


def strip_table(ground: Ground, laid: Laid, figures: PieceFigures) -> Table:
    """One polygon a piece of a strip."""
    section = laid.section
    counted = np.array([strip.counted for strip in section.strips])
    crops = np.array([strip.crop for strip in section.strips], dtype=object)
    kind = _each(laid, lambda block: block.pieces.strips.kind)
    rows = pd.array(figures.rows, dtype="Int64")
    rows[~counted[kind]] = pd.NA
    columns = {
        "strip": _each(laid, lambda block: block.strip_number),
        "piece": _each(laid, lambda block: block.pieces.strips.piece),
        "set": _each(laid, lambda block: block.set_number),
        "crop": crops[kind],
        "rows": rows,
        "width_m": _each(laid, lambda block: block.pieces.strips.width_m),
        "area_m2": figures.area_m2,
        "row_length_m": figures.row_length_m,
        "seeds": figures.seeds,
        "seed_units": figures.seed_units,
        "whole": _each(laid, lambda block: block.pieces.strips.whole),
    }
    if len(laid.blocks) > 1:
        columns["block"] = _block_numbers(laid)
    polygons = _each(laid, lambda block: block.path.back(block.pieces.strips.polygon))
    return _table(ground, columns, polygons)


def sown_table(plan: Plan, laid: Laid, figures: PieceFigures) -> Table:
    """One line a strip and crop sown in it, its pieces added up; a DataFrame.

    A strip's own `rows`, `row_length_m` and seed are of its own rows; here those between stand too.
    """
    pieces = pd.DataFrame(
        {
            "strip": _each(laid, lambda block: block.strip_number),
            "kind": _each(laid, lambda block: block.pieces.strips.kind),
            "width_m": _each(laid, lambda block: block.pieces.strips.width_m),
            "area_m2": figures.area_m2,
            "whole": _each(laid, lambda block: block.pieces.strips.whole),
        }
    )
    tables = [
        _sown_pieces(plan, laid.section, figures, pieces, order).assign(
            order=order,
            layer=layer.number,
            crop=layer.crop,
            label=layer.label,
            how=layer.grown,
            share=layer.share,
        )
        for order, layer in enumerate(laid.section.layers)
    ]
    return _by_strip(pd.concat(tables, ignore_index=True))


def _sown_pieces(
    plan: Plan, section: Section, figures: PieceFigures, pieces: Table, order: int
) -> Table:
    """Give the pieces of strips that hold a layer, with what it comes to in each."""
    layer = section.layers[order]
    held = {row.strip for row in section.rows if layer in row.sown}
    mine = pieces["kind"].isin(list(held)).to_numpy()
    found = pieces[mine].copy()
    counted = np.array([strip.counted for strip in section.strips])[found["kind"]]
    seeds = figures.sown_seeds[mine, order]
    rows = pd.array(figures.sown_rows[mine, order], dtype="Int64")
    rows[~counted] = pd.NA
    return found.assign(
        rows=rows,
        row_length_m=figures.sown_row_m[mine, order],
        seeds=seeds,
        seed_units=seeds / (plan.crops[layer.crop].unit_seeds or np.nan),
        seed_kg=seed_kg(plan, layer.crop, seeds),
    )


def _by_strip(pieces: Table) -> Table:
    """Add up the pieces of each strip, sowing by sowing."""

    def known(values: Table) -> float:
        return float(values.sum(min_count=1))

    grouped = pieces.groupby(["strip", "order"], sort=True)
    return (
        grouped.agg(
            layer=("layer", "first"),
            crop=("crop", "first"),
            label=("label", "first"),
            how=("how", "first"),
            share=("share", "first"),
            rows=("rows", "max"),
            width_m=("width_m", "max"),
            area_m2=("area_m2", "sum"),
            row_length_m=("row_length_m", "sum"),
            seeds=("seeds", known),
            seed_units=("seed_units", known),
            seed_kg=("seed_kg", known),
            whole=("whole", "all"),
        )
        .reset_index()
        .drop(columns="order")
    )


def _each(laid: Laid, take: Callable[[LaidBlock], Any]) -> Any:  # noqa: ANN401 - an array
    return np.concatenate([take(block) for block in laid.blocks])


def _block_numbers(laid: Laid) -> Any:  # noqa: ANN401 - an array
    counts = [len(block.pieces.strips.strip) for block in laid.blocks]
    return np.repeat(np.arange(len(counts)) + 1, counts)


def row_table(ground: Ground, laid: Laid) -> Table:
    """One line a piece of a row, along the heading; none for openers that are not given.

    Rows are numbered within their strip and layer: 0 the strip's own, above those between them.
    """
    section = laid.section
    strip = np.array([row.strip for row in section.rows])
    number = np.array([row.number for row in section.rows])
    crops = np.array([row.label for row in section.rows], dtype=object)
    counted = np.array([s.counted for s in section.strips])[strip]
    kind = _each(laid, lambda block: block.pieces.rows.kind)
    shown = counted[kind]

    def of_strip(block: LaidBlock, values: Any) -> Any:  # noqa: ANN401 - arrays
        return values[block.pieces.rows.owner]

    columns = {
        "strip": _each(laid, lambda b: of_strip(b, b.strip_number))[shown],
        "piece": _each(laid, lambda b: of_strip(b, b.pieces.strips.piece))[shown],
        "row": number[kind][shown],
        "layer": np.array([row.layer for row in section.rows])[kind][shown],
        "crop": crops[kind[shown]],
        "length_m": _each(laid, lambda b: b.pieces.rows.length_m)[shown],
    }
    lines = _each(laid, lambda b: b.pieces.rows.lines(b.path, counted[b.pieces.rows.kind]))
    return _table(ground, columns, lines)


def headland_table(ground: Ground, laid: Laid) -> Table:
    """One polygon a part of the headland."""
    columns = {
        "part": np.arange(len(laid.headland)) + 1,
        "area_m2": shapely.area(laid.headland),
    }
    return _table(ground, columns, laid.headland)


def leftover_table(ground: Ground, laid: Laid) -> Table:
    """One polygon a part of the land that no strip covers."""
    parts = laid.leftover
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(ground, columns, parts)


def pass_table(ground: Ground, laid: Laid, driven: Sequence[Passes]) -> Table:
    """One line a stretch of a machine pass, drawn as driven, numbered in the order driven.

    A pass has several stretches where its machine lifts over an obstacle and drives on.
    """
    tables, lines = [], []
    numbers: dict[tuple[str, str], int] = {}
    for passes in driven:
        job = (passes.operation, passes.machine)
        before = numbers.get(job, 0)
        numbers[job] = before + len(passes)
        of = passes.stretch_of
        tables.append(
            pd.DataFrame(
                {
                    "operation": passes.operation,
                    "machine": passes.machine,
                    "number": of + 1 + before,
                    "place": passes.place,
                    **_strip_under(laid, passes),
                    "crop": passes.crop,
                    "width_m": passes.width_m,
                    "working": passes.working,
                    "stops_at": passes.stops_at[of],
                }
            )
        )
        lines.append(passes.stretch)
    joined = pd.concat(tables, ignore_index=True)
    geometry = np.concatenate(lines)
    columns = {name: joined[name] for name in joined}
    return _table(ground, {**columns, "length_m": shapely.length(geometry)}, geometry)


def _strip_under(laid: Laid, passes: Passes) -> dict[str, Any]:
    """Give the strip and the piece under each stretch; none on a headland."""
    owner = passes.owner[passes.stretch_of]
    strip, piece = (pd.array([pd.NA] * len(owner), dtype="Int64") for _ in range(2))
    on = np.flatnonzero(owner >= 0)
    if len(on):
        block = laid.blocks[passes.block]
        strip[on] = block.strip_number[owner[on]]
        piece[on] = block.pieces.strips.piece[owner[on]]
    return {"strip": strip, "piece": piece}
