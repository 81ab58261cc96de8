"""Show a layout as tables: GeoDataFrames in the field's local plane, with the columns of record."""

from collections.abc import Callable
from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.accounts.count import PieceFigures
from striplay.accounts.sowings import how_sown, label_of, seed_kg, sowings_of
from striplay.ground import Ground
from striplay.operations.drawn import Drawn, DrawnBlock
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


def strip_table(ground: Ground, drawn: Drawn, figures: PieceFigures) -> Table:
    """One polygon a piece of a strip."""
    section = drawn.section
    counted = np.array([strip.counted for strip in section.strips])
    crops = np.array([strip.crop for strip in section.strips], dtype=object)
    kind = _each(drawn, lambda block: block.pieces.strips.kind)
    rows = pd.array(figures.rows, dtype="Int64")
    rows[~counted[kind]] = pd.NA
    columns = {
        "strip": _each(drawn, lambda block: block.strip_number),
        "piece": _each(drawn, lambda block: block.pieces.strips.piece),
        "set": _each(drawn, lambda block: block.set_number),
        "crop": crops[kind],
        "rows": rows,
        "width_m": _each(drawn, lambda block: block.pieces.strips.width_m),
        "area_m2": figures.area_m2,
        "row_length_m": figures.row_length_m,
        "seeds": figures.seeds,
        "seed_units": figures.seed_units,
        "whole": _each(drawn, lambda block: block.pieces.strips.whole),
    }
    if len(drawn.blocks) > 1:
        columns["block"] = _block_numbers(drawn)
    polygons = _each(drawn, lambda block: block.frame.turn_areas_back(block.pieces.strips.polygon))
    return _table(ground, columns, polygons)


def sown_table(plan: Plan, drawn: Drawn, figures: PieceFigures) -> Table:
    """One line a strip and crop sown in it, its pieces added up; a DataFrame.

    A strip's own `rows`, `row_length_m` and seed are of its own rows; here those between stand too.
    """
    pieces = pd.DataFrame(
        {
            "strip": _each(drawn, lambda block: block.strip_number),
            "kind": _each(drawn, lambda block: block.pieces.strips.kind),
            "width_m": _each(drawn, lambda block: block.pieces.strips.width_m),
            "area_m2": figures.area_m2,
            "whole": _each(drawn, lambda block: block.pieces.strips.whole),
        }
    )
    sowings = enumerate(sowings_of(drawn.section))
    tables = [
        _sown_pieces(plan, drawn.section, figures, pieces, order).assign(
            order=order, layer=sowing.layer, crop=sowing.crop
        )
        for order, sowing in sowings
    ]
    return _by_strip(pd.concat(tables, ignore_index=True))


def _sown_pieces(
    plan: Plan, section: Section, figures: PieceFigures, pieces: Table, order: int
) -> Table:
    """Give the pieces of strips that hold a sowing, with what it comes to in each."""
    sowing = sowings_of(section)[order]
    held = {
        row.strip: how_sown(plan, section, row.strip, sowing)
        for row in section.rows
        if row.layer == sowing.layer and sowing.crop in {one.crop for one in row.sown}
    }
    mine = pieces["kind"].isin(list(held)).to_numpy()
    found = pieces[mine].copy()
    counted = np.array([strip.counted for strip in section.strips])[found["kind"]]
    seeds = figures.sown_seeds[mine, order]
    rows = pd.array(figures.sown_rows[mine, order], dtype="Int64")
    rows[~counted] = pd.NA
    return found.assign(
        label=[label_of(plan, section, kind, sowing.layer) for kind in found["kind"]],
        how=[held[kind][0] for kind in found["kind"]],
        share=[held[kind][1] for kind in found["kind"]],
        rows=rows,
        row_length_m=figures.sown_row_m[mine, order],
        seeds=seeds,
        seed_units=seeds / (plan.crops[sowing.crop].unit_seeds or np.nan),
        seed_kg=seed_kg(plan, sowing.crop, seeds),
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


def _each(drawn: Drawn, take: Callable[[DrawnBlock], Any]) -> Any:  # noqa: ANN401 - an array
    return np.concatenate([take(block) for block in drawn.blocks])


def _block_numbers(drawn: Drawn) -> Any:  # noqa: ANN401 - an array
    counts = [len(block.pieces.strips.strip) for block in drawn.blocks]
    return np.repeat(np.arange(len(counts)) + 1, counts)


def row_table(ground: Ground, drawn: Drawn) -> Table:
    """One line a piece of a row, along the heading; none for openers that are not given.

    Rows are numbered within their strip and layer: 0 the strip's own, above those between them.
    """
    section = drawn.section
    strip = np.array([row.strip for row in section.rows])
    number = np.array([row.number for row in section.rows])
    names = [" + ".join(sown.crop for sown in row.sown) for row in section.rows]
    crops = np.array(names, dtype=object)
    counted = np.array([s.counted for s in section.strips])[strip]
    kind = _each(drawn, lambda block: block.pieces.rows.kind)
    shown = counted[kind]

    def of_strip(block: DrawnBlock, values: Any) -> Any:  # noqa: ANN401 - arrays
        return values[block.pieces.rows.owner]

    columns = {
        "strip": _each(drawn, lambda b: of_strip(b, b.strip_number))[shown],
        "piece": _each(drawn, lambda b: of_strip(b, b.pieces.strips.piece))[shown],
        "row": number[kind][shown],
        "layer": np.array([row.layer for row in section.rows])[kind][shown],
        "crop": crops[kind[shown]],
        "length_m": _each(drawn, lambda b: b.pieces.rows.length_m)[shown],
    }
    lines = _each(drawn, lambda b: b.pieces.rows.lines(b.frame, counted[b.pieces.rows.kind]))
    return _table(ground, columns, lines)


def headland_table(ground: Ground, drawn: Drawn) -> Table:
    """One polygon a part of the headland."""
    columns = {
        "part": np.arange(len(drawn.headland)) + 1,
        "area_m2": shapely.area(drawn.headland),
    }
    return _table(ground, columns, drawn.headland)


def leftover_table(ground: Ground, drawn: Drawn) -> Table:
    """One polygon a part of the land that no strip covers."""
    parts = drawn.leftover
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(ground, columns, parts)


def pass_table(ground: Ground, drawn: Drawn) -> Table:
    """One line a machine pass, drawn as driven and numbered in order by operation and machine.

    Passes round a planted headland come last and have no strip.
    """
    tables, lines = [], []
    numbers: dict[tuple[str, str], int] = {}
    for block in drawn.blocks:
        strips = block.pieces.strips
        for passes in block.passes:
            owner = passes.owner
            job = (passes.operation, passes.machine)
            tables.append(_pass_columns(job, len(owner), numbers, "strips"))
            strip = block.strip_number[owner]
            tables[-1]["strip"] = pd.array(strip, dtype="Int64")
            tables[-1]["piece"] = pd.array(strips.piece[owner], dtype="Int64")
            tables[-1]["crop"] = passes.crop
            lines.append(passes.lines(block.frame))
    for edge in drawn.headland_passes:
        count = len(edge.lines)
        tables.append(_pass_columns((edge.operation, edge.machine), count, numbers, "headland"))
        tables[-1]["strip"] = tables[-1]["piece"] = pd.array([pd.NA] * count, dtype="Int64")
        tables[-1]["crop"] = np.full(count, edge.crop, dtype=object)
        lines.append(edge.lines)
    joined = {name: _join([table[name] for table in tables]) for name in tables[0]}
    geometry = np.concatenate(lines)
    return _table(ground, {**joined, "length_m": shapely.length(geometry)}, geometry)


def _join(columns: list[Any]) -> Any:  # noqa: ANN401 - pandas or numpy arrays
    return pd.concat([pd.Series(column) for column in columns], ignore_index=True)


def _pass_columns(
    job: tuple[str, str], count: int, numbers: dict[tuple[str, str], int], place: str
) -> dict[str, Any]:
    """Begin the columns of some passes, numbered on from those of the same job."""
    operation, machine = job
    before = numbers.get(job, 0)
    numbers[job] = before + count
    return {
        "operation": np.full(count, operation, dtype=object),
        "machine": np.full(count, machine, dtype=object),
        "number": np.arange(count) + 1 + before,
        "place": np.full(count, place, dtype=object),
    }
