"""Show a layout as tables: GeoDataFrames in the field's local plane, with the columns of record."""

from collections.abc import Callable, Mapping, Sequence

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.accounts.count import PieceFigures
from striplay.accounts.sowings import seed_of
from striplay.column import Column
from striplay.columns import columns_of, order
from striplay.each_pass import Values, ends_of, pass_columns
from striplay.ground import Ground
from striplay.laid import Laid, LaidBlock
from striplay.operations.judged import Worked
from striplay.operations.route import Route
from striplay.plan.models import Plan
from striplay.replicates import replicates_of
from striplay.section.section import Section

Geometries = npt.NDArray[np.object_]


def _table(
    name: str, ground: Ground, columns: Mapping[str, Values], geometry: Geometries
) -> gpd.GeoDataFrame:
    """Make a table, its columns ordered and typed as they are described."""
    ordered = {column.name: _typed(column, columns[column.name]) for column in order(name, columns)}
    return gpd.GeoDataFrame(ordered, geometry=geometry, crs=ground.plane.crs)


def _typed(column: Column, values: Values) -> Values:
    """Give a column's values their type; whole numbers that may be empty are pandas' own."""
    if column.type == "text":
        return values
    if column.type == "number":
        return pd.array(values, dtype="Float64").to_numpy(np.float64, na_value=np.nan)
    if column.empty:
        return pd.array(values, dtype="Int64" if column.type == "whole number" else "boolean")
    return np.asarray(values, dtype=np.int64 if column.type == "whole number" else np.bool_)


def field_table(ground: Ground) -> gpd.GeoDataFrame:
    """One polygon a part of the field, holes filled."""
    return _parts("field", ground, shapely.get_parts(ground.outline))


def _parts(name: str, ground: Ground, parts: Geometries) -> gpd.GeoDataFrame:
    """Number parts of the ground, each with its area."""
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(name, ground, columns, parts)


def strip_table(ground: Ground, laid: Laid, figures: PieceFigures) -> gpd.GeoDataFrame:
    """One polygon a piece of a strip."""
    return _table("strips", ground, *strip_columns(laid, figures))


def strip_columns(laid: Laid, figures: PieceFigures) -> tuple[dict[str, Values], Geometries]:
    """Give the columns of that table by name, in any order, and its polygons on the plane."""
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
        "seed_kg": figures.seed_kg,
        "whole": _each(laid, lambda block: block.pieces.strips.whole),
    }
    if section.usual is not None:
        columns["replicate"] = np.concatenate(replicates_of(laid))
        treatments = np.array([strip.treatment for strip in section.strips], dtype=object)
        columns["treatment"] = treatments[kind]
    if len(laid.blocks) > 1:
        columns["block"] = _block_numbers(laid)
    polygons = _each(laid, lambda block: block.path.back(block.pieces.strips.polygon))
    return columns, polygons


def sown_table(plan: Plan, laid: Laid, figures: PieceFigures) -> pd.DataFrame:
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
    plan: Plan, section: Section, figures: PieceFigures, pieces: pd.DataFrame, order: int
) -> pd.DataFrame:
    """Give the pieces of strips that hold a layer, with what it comes to in each."""
    layer = section.layers[order]
    held = {row.strip for row in section.rows if layer in row.sown}
    mine = pieces["kind"].isin(list(held)).to_numpy()
    found = pieces[mine].copy()
    counted = np.array([section.counts(kind, layer) for kind in found["kind"]], dtype=bool)
    seed = seed_of(plan, layer, figures.sown_m2[mine, order])
    rows = pd.array(figures.sown_rows[mine, order], dtype="Int64")
    rows[~counted] = pd.NA
    return found.assign(
        rows=rows,
        row_length_m=figures.sown_row_m[mine, order],
        seeds=seed.seeds,
        seed_units=seed.seed_units,
        seed_kg=seed.seed_kg,
    )


def _by_strip(pieces: pd.DataFrame) -> pd.DataFrame:
    """Add up the pieces of each strip, sowing by sowing."""

    def known(values: "pd.Series[float]") -> float:
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


def _each(laid: Laid, take: Callable[[LaidBlock], Values]) -> Values:
    return np.concatenate([take(block) for block in laid.blocks])


def _block_numbers(laid: Laid) -> npt.NDArray[np.int64]:
    counts = [len(block.pieces.strips.strip) for block in laid.blocks]
    return np.repeat(np.arange(len(counts)) + 1, counts)


def row_table(ground: Ground, laid: Laid) -> gpd.GeoDataFrame:
    """One line a piece of a row, along the heading; none for nominal lines of a drill.

    Rows are numbered within their strip and layer: 0 the strip's own, above those between them.
    """
    section = laid.section
    number = np.array([row.number for row in section.rows])
    crops = np.array([row.label for row in section.rows], dtype=object)
    counted = np.array(section.counted_row)
    kind = _each(laid, lambda block: block.pieces.rows.kind)
    shown = counted[kind]

    def of_strip(block: LaidBlock, values: Values) -> Values:
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
    return _table("rows", ground, columns, lines)


def headland_table(ground: Ground, laid: Laid) -> gpd.GeoDataFrame:
    """One polygon a part of the headland."""
    return _parts("headland", ground, laid.headland)


def leftover_table(ground: Ground, laid: Laid) -> gpd.GeoDataFrame:
    """One polygon a part of the land that no strip covers."""
    return _parts("leftover", ground, laid.leftover)


def pass_table(
    ground: Ground, laid: Laid, operations: Sequence[Worked], *, turns: bool = False
) -> gpd.GeoDataFrame:
    """One line a stretch of a machine pass, drawn as driven and numbered in the order driven.

    A pass has several stretches where its machine lifts over an obstacle and drives on. Passes
    round a planted headland have no strip.

    Args:
        ground: the field.
        laid: the field, swept.
        operations: the season's, as they are driven.
        turns: whether to add the ways between passes, each with the number of the pass it leads to.
    """
    if not operations:
        none = np.empty(0, dtype=object)
        names = (one.name for one in columns_of("passes") if not one.only)
        return _table("passes", ground, dict.fromkeys(names, none), none)
    parts, shapes = [], []
    each = pass_columns(ground, laid, operations)
    for route, columns in zip((one.route for one in operations), each, strict=True):
        first = np.cumsum([0, *(len(group) for group in route.groups)])
        groups = zip(route.groups, first, strict=False)
        of = np.concatenate([group.stretch_of + start for group, start in groups])
        lines = np.concatenate([group.stretch for group in route.groups])
        working = np.concatenate([group.working for group in route.groups])
        parts.append({name: values[of] for name, values in columns.items()} | {"working": working})
        shapes.append(lines)
        if turns:
            parts[-1]["turn"] = np.full(len(lines), "", dtype=object)
            parts[-1]["beyond_m"] = np.zeros(len(lines))
            parts.append(_of_links(ground, route, columns))
            shapes.append(route.links.line)
    joined = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    drawn = np.concatenate(shapes)
    return _table("passes", ground, {**joined, "length_m": shapely.length(drawn)}, drawn)


def _of_links(ground: Ground, route: Route, passes: Mapping[str, Values]) -> dict[str, Values]:
    """Give the columns of the ways between a job's passes, each those of the pass it leads to."""
    leads_to = np.minimum(np.arange(len(route) + 1), len(route) - 1)
    kept = ("operation", "job", "machine", "width_m", "place", "crop", "number")
    empty = dict.fromkeys(("strip", "piece"), np.full(len(leads_to), pd.NA, dtype=object))
    words = ("rows_on", "stops_at", "standing_left", "standing_right", "fills")
    return {
        **{name: passes[name][leads_to] for name in kept},
        **empty,
        **dict.fromkeys(words, np.full(len(leads_to), "", dtype=object)),
        **ends_of(ground, route.links.line),
        "working": np.zeros(len(leads_to), dtype=bool),
        "turn": route.links.kind,
        "beyond_m": route.links.beyond_m.sum(axis=1),
    }
