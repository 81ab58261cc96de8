"""Lay one of many fields, through the flow that lays any, and give what is kept of it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import numpy as np
import shapely

from striplay.accounts.buy import seed_to_buy
from striplay.accounts.count import count_crops
from striplay.accounts.operations import operation_accounts
from striplay.columns import (
    FIELD_CROPS,
    FIELD_HEADLANDS,
    FIELD_JOBS,
    FIELD_NOTICES,
    FIELD_STRIPS,
    FIELDS,
    columns_of,
)
from striplay.errors import NoStripError, StriplayError
from striplay.files.layers import shapes_to_lonlat
from striplay.files.shapes import checked_shapes
from striplay.flow import lay_on_ground
from striplay.ground import Shapes, locate
from striplay.laid_plan import Layout
from striplay.many.picture import Picture, bare, picture_of
from striplay.many.template import Template
from striplay.notices import Notice, gravest_first
from striplay.report import REACHES
from striplay.tables import strip_columns

Verdict = Literal["laid", "laid, with a warning", "can't be done", "refused"]
VERDICTS: tuple[Verdict, ...] = ("refused", "can't be done", "laid, with a warning", "laid")
"""What a field comes to, the gravest first."""
Columns: TypeAlias = Mapping[str, Any]
"""Values of a table by column, each a list or an array; shapes as WKB under `SHAPE`."""
SHAPE = "geometry"
OUT_OF_MEMORY = "memory ran out"
"""Why a field is refused that takes more than there is."""


@dataclass(frozen=True, slots=True)
class Feature:
    """A field as its file holds it.

    Attributes:
        number: its place in the file, from 1.
        values: of the columns that count.
        geometry: as GeoJSON; None where it has none.
        notices: what there is to mind of it beside the other fields of the file.
    """

    number: int
    values: Mapping[str, Any]
    geometry: Mapping[str, Any] | None
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a field.

    Attributes:
        number: its place in the file.
        field: what it is called.
        verdict: what it comes to.
        reason: the gravest of what was found, and what is to mind beside other fields; or why it
            is refused; empty where nothing was.
        tables: lines of each of `columns.MANY_TABLES` that has some, without number and field.
        picture: a small map; None where its shape can't be read, or takes too much.
    """

    number: int
    field: str
    verdict: Verdict
    reason: str
    tables: Mapping[str, Columns]
    picture: Picture | None = None


def lay_feature(template: Template, feature: Feature) -> Outcome:
    """Lay a field by a template; whatever is wrong with it is told and stops nothing."""
    name, picture = template.name_of(feature.number, feature.values), None
    try:
        asked = template.plan_of(feature.values)
        ground = locate(_shapes(template, feature), units=asked.plan.units)
        layout = lay_on_ground(asked.plan, ground, weather=template.weather, kept=asked.kept)
        return _laid(template, feature, name, layout)
    except StriplayError as error:
        # without the name of the plan, which is that of no field
        said = error.reason if isinstance(error, NoStripError) else str(error)
        reason = _without(said, template, feature.number)
        picture = _drawn(template, feature)
    except Exception as error:  # noqa: BLE001 - one field must not stop the others
        reason = OUT_OF_MEMORY
        if not (isinstance(error, MemoryError) or "bad_alloc" in str(error)):  # as GEOS tells it
            told = f"stopped by a fault of striplay's own ({type(error).__name__})"
            reason = f"{told}; please report it with this field and the plan"
    return refused(feature.number, name, reason, picture)


def refused(number: int, name: str, reason: str, picture: Picture | None = None) -> Outcome:
    """Give the outcome of a field that can't be laid, with its picture where it has a shape."""
    line = {"verdict": ["refused"], "reason": [reason], "notices": [0]}
    return Outcome(number, name, "refused", reason, {FIELDS: line}, picture)


def _drawn(template: Template, feature: Feature) -> Picture | None:
    """Draw a field that is refused; None where its shape is why, or can't be drawn either."""
    try:
        return bare(locate(_shapes(template, feature)).outline)
    except Exception:  # noqa: BLE001 - its reason counts, and no other field must stop for it
        return None


NO_SHAPE = "has no shape; draw its boundary, or leave it out with --where"


def _shapes(template: Template, feature: Feature) -> Shapes:
    features = [(_label(feature.number), feature.geometry)]
    return checked_shapes(template.source, features, template.crs, none=NO_SHAPE)


def _label(number: int) -> str:
    return f"feature {number}"


def _without(said: str, template: Template, number: int) -> str:
    """Say a refusal in one line, without the files that all fields share and the field itself."""
    lines = [line.strip() for line in said.splitlines()]
    for source in (template.source, template.path.name):
        lines[0] = lines[0].removeprefix(f"{source}: ")
    return "; ".join(line.removeprefix(f"{_label(number)} ") for line in lines)


def _laid(template: Template, feature: Feature, name: str, layout: Layout) -> Outcome:
    """Keep what counts of a layout."""
    notices = _notices(template, layout, feature.notices)
    grave = [one for one in notices if one.severity == "stop"]
    verdict: Verdict = "laid, with a warning" if notices else "laid"
    if grave:
        verdict = "can't be done"
    # what there is to mind beside other fields is of this one too, however grave the rest is
    reason = "; also ".join(dict.fromkeys(one.text for one in (*notices[:1], *feature.notices)))
    jobs = operation_accounts(layout.operations) if template.driven else []
    line = {**_figures(layout), "verdict": verdict, "reason": reason, "notices": len(notices)}
    if template.driven:
        line |= {
            "driven_km": sum(job["driven_km"] for job in jobs),
            "hours_likely": sum(job["hours_likely"] for job in jobs),
            "fuel_l": sum(job["fuel_l"] or 0.0 for job in jobs),
        }
    plane = layout.ground.plane
    headland = _whole(layout.laid.headland)
    strips, polygons = strip_columns(layout.laid, layout.figures)
    own = {column.name for column in columns_of(FIELD_STRIPS)}
    shapes = shapes_to_lonlat(
        np.array([_whole(shapely.get_parts(layout.ground.outline)), headland, *polygons]), plane
    )
    packed = shapely.to_wkb(shapes)
    tables: dict[str, Columns] = {
        FIELDS: {**{key: [value] for key, value in line.items()}, SHAPE: packed[:1]},
        FIELD_STRIPS: {**{key: v for key, v in strips.items() if key in own}, SHAPE: packed[2:]},
        FIELD_CROPS: _by_column(_crops(layout)),
        FIELD_NOTICES: _by_column([_notice(one) for one in notices]),
        FIELD_JOBS: _by_column([_job(job) for job in jobs]),
    }
    if not headland.is_empty:
        tables[FIELD_HEADLANDS] = {"area_m2": [headland.area], SHAPE: packed[1:2]}
    picture = picture_of(layout.ground.outline, polygons, strips["crop"])
    return Outcome(feature.number, name, verdict, reason, tables, picture)


def _whole(parts: Iterable[shapely.Geometry]) -> shapely.Geometry:
    """Give polygons as one shape of several parts, always of one kind."""
    return shapely.MultiPolygon(list(parts))


def _notices(template: Template, layout: Layout, beside: Iterable[Notice]) -> list[Notice]:
    """Give what to mind of a field, the gravest first.

    What costs something wherever the plan is laid is told once, of all fields.

    Args:
        template: what is asked of all fields.
        layout: the field's.
        beside: what there is to mind of it beside the other fields.
    """
    if template.driven:
        told = layout.notices
    else:
        told = [*layout.notices_as_passed, *layout.season.notices]
    common = {one.text for one in template.common}
    minded = (
        one
        for one in (*beside, *told)
        if one.severity == "stop" or (one.severity == "mind" and one.text not in common)
    )
    grave = gravest_first(dict.fromkeys(minded))
    # of those alike grave, the first is where machines reach over what they should not
    return sorted(grave, key=lambda one: (one.severity != "stop", one.kind not in REACHES))


def _figures(layout: Layout) -> dict[str, Any]:
    """Give the figures of a field, in SI."""
    plane, laid, areas_m2 = layout.ground.plane, layout.laid, layout.areas_m2
    heading_deg, offset_m = _one_way(layout)
    usual = laid.usual
    return {
        "longitude": plane.longitude_deg,
        "latitude": plane.latitude_deg,
        "area_m2": float(layout.ground.outline.area),
        "heading_deg": heading_deg,
        "offset_m": offset_m,
        "strips": sum(len(np.unique(block.strip_number)) for block in laid.blocks),
        **{f"{part}_m2": area_m2 for part, area_m2 in areas_m2.items()},
        "row_length_m": float(layout.figures.row_length_m.sum()),
        "cost_per_year": None if laid.parts is None else sum(laid.parts.values()),
        "usual_per_year": usual.total if usual is not None and usual.laid else None,
    }


def _one_way(layout: Layout) -> tuple[float | None, float | None]:
    """Give heading and offset where all rows are straight and blocks share them; else None."""
    blocks = [block for block in layout.laid.blocks if len(block.strip_number)]
    choices = [block.choice for block in blocks if block.choice is not None]
    headings_deg = {block.heading_deg for block in blocks}
    if len(choices) < len(blocks) or len(headings_deg) != 1:
        return None, None
    offsets_m = {choice.offset_m for choice in choices}
    return headings_deg.pop(), offsets_m.pop() if len(offsets_m) == 1 else None


def _crops(layout: Layout) -> list[dict[str, Any]]:
    """Give each crop's land and the seed to buy for it."""
    plan, laid, figures = layout.plan, layout.laid, layout.figures
    headland_m2, twice_m2 = layout.areas_m2["headland"], layout.planted_twice_m2
    bought = seed_to_buy(plan, laid, figures, headland_m2, twice_m2)
    grown = count_crops(plan, laid, figures)
    none = {"strips": 0, "area_m2": 0.0, "row_length_m": 0.0}
    return [
        {
            "crop": crop,
            **{key: grown.get(crop, none)[key] for key in none},
            **{key: seed.get(key) for key in ("seeds", "seed_units", "seed_kg")},
        }
        for crop, seed in bought.items()
    ]


def _notice(notice: Notice) -> dict[str, Any]:
    place = notice.place if isinstance(notice.place, tuple) else (None, None)
    return {
        "kind": notice.kind,
        "severity": notice.severity,
        "text": notice.text,
        "longitude": place[0],
        "latitude": place[1],
    }


def _job(account: Mapping[str, Any]) -> dict[str, Any]:
    names = {column.name for column in columns_of(FIELD_JOBS)} - {"number", "field"}
    return {name: account[name] for name in names}


def _by_column(lines: Sequence[Mapping[str, Any]]) -> Columns:
    """Turn lines into columns."""
    return {key: [line[key] for line in lines] for key in lines[0]} if lines else {}
