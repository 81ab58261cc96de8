"""Show a layout as tables: GeoDataFrames in the field's local plane, with the columns of record."""

from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.accounts.count import PieceFigures
from striplay.ground import Ground
from striplay.layout.drawn import Drawn
from striplay.section.section import Section

Table = Any
"""A GeoDataFrame; geopandas ships no types."""


def _table(ground: Ground, columns: dict[str, Any], geometry: npt.NDArray[np.object_]) -> Table:
    return gpd.GeoDataFrame(columns, geometry=geometry, crs=ground.plane.crs)


def _lines(drawn: Drawn, start_x_m: Any, end_x_m: Any, y_m: Any) -> npt.NDArray[np.object_]:  # noqa: ANN401 - arrays
    """Give lines along travel, turned back onto the plane."""
    points = np.column_stack([start_x_m, y_m, end_x_m, y_m]).reshape(-1, 2)
    lines = shapely.linestrings(drawn.frame.turn_points_back(points).reshape(-1, 2, 2))
    return np.asarray(lines, dtype=object)


def field_table(ground: Ground) -> Table:
    """One polygon a part of the field, holes filled."""
    parts = shapely.get_parts(ground.outline)
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(ground, columns, parts)


def strip_table(section: Section, ground: Ground, drawn: Drawn, figures: PieceFigures) -> Table:
    """One polygon a piece of a strip."""
    strips = drawn.pieces.strips
    kind = strips.kind
    counted = np.array([strip.counted for strip in section.strips])[kind]
    rows = pd.array(figures.rows, dtype="Int64")
    rows[~counted] = pd.NA
    columns = {
        "strip": strips.strip + 1,
        "piece": strips.piece,
        "set": drawn.across.set_number[strips.strip],
        "crop": np.array([strip.crop for strip in section.strips], dtype=object)[kind],
        "rows": rows,
        "width_m": strips.width_m,
        "area_m2": figures.area_m2,
        "row_length_m": figures.row_length_m,
        "seeds": figures.seeds,
        "seed_units": figures.seed_units,
        "whole": strips.whole,
    }
    return _table(ground, columns, drawn.frame.turn_areas_back(strips.polygon))


def row_table(section: Section, ground: Ground, drawn: Drawn) -> Table:
    """One line a piece of a row, along the heading; none for openers that are not given."""
    rows, strips = drawn.pieces.rows, drawn.pieces.strips
    strip = np.array([row.strip for row in section.rows])[rows.kind]
    shown = np.array([strip.counted for strip in section.strips])[strip]
    owner, kind = rows.owner[shown], rows.kind[shown]
    columns = {
        "strip": strips.strip[owner] + 1,
        "piece": strips.piece[owner],
        "row": np.array([row.number for row in section.rows])[kind],
        "crop": np.array([s.crop for s in section.strips], dtype=object)[strip[shown]],
        "length_m": rows.length_m[shown],
    }
    lines = _lines(drawn, rows.start_x_m[shown], rows.end_x_m[shown], rows.y_m[shown])
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
    parts = drawn.pieces.leftover
    columns = {"part": np.arange(len(parts)) + 1, "area_m2": shapely.area(parts)}
    return _table(ground, columns, drawn.frame.turn_areas_back(parts))


def pass_table(section: Section, ground: Ground, drawn: Drawn) -> Table:
    """One line a machine pass, drawn as driven and numbered in order by operation and machine.

    Passes round a planted headland come last and have no strip.
    """
    crops = np.array([strip.crop for strip in section.strips], dtype=object)
    tables, lines, numbers = [], [], dict.fromkeys(_jobs(drawn), 0)
    strips = drawn.pieces.strips
    for passes in drawn.passes:
        job, count = (passes.operation, passes.machine), len(passes.owner)
        strip = strips.strip[passes.owner]
        tables.append(_pass_columns(job, np.arange(count) + 1, "strips"))
        tables[-1]["strip"] = pd.array(strip + 1, dtype="Int64")
        tables[-1]["piece"] = pd.array(strips.piece[passes.owner], dtype="Int64")
        tables[-1]["crop"] = crops[strips.kind[passes.owner]]
        lines.append(_lines(drawn, passes.start_x_m, passes.end_x_m, passes.y_m))
        numbers[job] = count
    for edge in drawn.headland_passes:
        job, count = (edge.operation, edge.machine), len(edge.lines)
        tables.append(_pass_columns(job, np.arange(count) + 1 + numbers[job], "headland"))
        tables[-1]["strip"] = tables[-1]["piece"] = pd.array([pd.NA] * count, dtype="Int64")
        tables[-1]["crop"] = np.full(count, edge.crop, dtype=object)
        lines.append(edge.lines)
    joined = {name: _join([table[name] for table in tables]) for name in tables[0]}
    geometry = np.concatenate(lines)
    return _table(ground, {**joined, "length_m": shapely.length(geometry)}, geometry)


def _jobs(drawn: Drawn) -> list[tuple[str, str]]:
    over_strips = [(passes.operation, passes.machine) for passes in drawn.passes]
    return over_strips + [(edge.operation, edge.machine) for edge in drawn.headland_passes]


def _join(columns: list[Any]) -> Any:  # noqa: ANN401 - pandas or numpy arrays
    return pd.concat([pd.Series(column) for column in columns], ignore_index=True)


def _pass_columns(job: tuple[str, str], number: Any, place: str) -> dict[str, Any]:  # noqa: ANN401 - an array
    operation, machine = job
    return {
        "operation": np.full(len(number), operation, dtype=object),
        "machine": np.full(len(number), machine, dtype=object),
        "number": number,
        "place": np.full(len(number), place, dtype=object),
    }
