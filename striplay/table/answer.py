"""Answer a change: the layout as the page draws it, and all that it tells at once."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from striplay.choosing.compare import Side
from striplay.errors import PlanError
from striplay.ground import Ground
from striplay.laid import LaidBlock
from striplay.laid_plan import Layout
from striplay.notices import Notice, Severity
from striplay.operations.judged import ANSWERS
from striplay.operations.uncounted import not_counted
from striplay.page.sent import headland_words
from striplay.page.shapes import areas_of, lines_of, rings_of
from striplay.paying import margin_of
from striplay.plain import plain
from striplay.section.fit import counted
from striplay.section.section import Pass, Section
from striplay.table.figures import (
    Driven,
    cost_measures,
    crops_told,
    driven_measures,
    land_measures,
    money_words,
    told,
)
from striplay.units import degrees, format_area, format_length, format_typed

WORDS: Mapping[Severity, str] = {"stop": "stop", "mind": "mind", "know": "note"}
"""What a notice is headed by, by how grave it is."""
STRIP_LABELS = ("Crop", "Rows", "Width", "Area")


def laid_answer(now: Side, saved: Side | None, crops: Sequence[str]) -> dict[str, Any]:
    """Give all of an answer that is told of a layout before it is driven.

    Args:
        now: the plan laid.
        saved: the saved plan laid; None where there is none.
        crops: the crops and mixtures offered, in their order.
    """
    layout = now.layout
    assert layout is not None  # noqa: S101 - a plan that can't be laid is refused
    laid, units = layout.laid, layout.plan.units
    choice = laid.blocks[0].choice
    straight = not layout.plan.curved and len(laid.blocks) == 1 and choice is not None
    heading_deg = laid.blocks[0].heading_deg
    offset_m = 0.0 if choice is None else choice.offset_m
    return {
        "heading_deg": round(heading_deg, 3),
        "heading_text": f"{degrees(heading_deg)}\N{DEGREE SIGN}" if straight else "",
        "offset_m": offset_m,
        "offset_text": format_typed(offset_m, units) if straight else "",
        "set_m": laid.section.width_m,
        "start": layout.plan.direction.start,
        "straight": straight,
        "strips": _strips(layout, crops),
        "labels": {"strip": STRIP_LABELS},
        "headland": areas_of(laid.headland),
        "headland_words": headland_words(layout.plan),
        "section": _section(layout, crops),
        "figures": told(land_measures(units), now, saved),
        "crops": crops_told(crops, now, saved),
        "grown": [place for place, crop in enumerate(crops) if crop in now.land["crops"]],
        "money": told(cost_measures(now, saved), now, saved),
        "money_words": plain(money_words(layout.plan)),
        "verdicts": _of_days(layout),
        "notices": _notices_sent(layout, layout.notices_as_laid),
    }


def passed_answer(layout: Layout) -> dict[str, Any]:
    """Give what of an answer needs machines' passes side by side, but not their order.

    Raises:
        PassError: as `Layout.side_by_side`.
    """
    notices = layout.notices_as_passed
    reaching = [
        {
            "operation": plain(", ".join(one.machines)),
            "verdict": ANSWERS[one.severity],
            "words": plain(one.text),
            "spot": _spot(one, layout.ground),
        }
        for one in notices
        if one.machines and one.severity != "know"
    ]
    return {
        "facts": [],
        "verdicts": [*_of_days(layout), *reaching],
        "notices": _notices_sent(layout, notices),
    }


def driven_of(layout: Layout) -> Driven:
    """Drive a layout, and give what of an answer needs that."""
    try:
        side = Side("", "", layout, margin=margin_of(layout))
    except PlanError as error:
        side = Side("", "", layout, asked=error.faults)
    operations = tuple(
        {
            "operation": plain(one.job.name),
            "verdict": one.answer,
            "words": plain(one.reason.removeprefix(f"{one.job.name}: ")),
            "spot": _spot(one.notices[0], layout.ground) if one.reason else None,
        }
        for one in layout.operations.each
    )
    notices = tuple(_notices_sent(layout, layout.notices))
    return Driven(
        side.passes, side.hours, side.verdicts, side.margin, side.asked,
        plain(not_counted(side.uncounted)), operations, notices,
    )  # fmt: skip


def driven_answer(now: Driven, saved: Driven | None) -> dict[str, Any]:
    """Give that as it is sent, beside the saved plan's."""
    return {
        "facts": told(driven_measures(), now, saved),
        "verdicts": list(now.operations),
        "notices": list(now.notices),
    }


def _notices_sent(layout: Layout, notices: Sequence[Notice]) -> list[dict[str, Any]]:
    return [notice_sent(one, layout.ground) for one in notices]


def notice_sent(notice: Notice, ground: Ground) -> dict[str, Any]:
    """Give a notice as it is sent."""
    return {
        "severity": notice.severity,
        "first": notice.severity == "stop" or notice.kind == "example",
        "word": WORDS[notice.severity],
        "text": plain(notice.text),
        "spot": _spot(notice, ground),
    }


def _spot(notice: Notice, ground: Ground) -> list[float] | None:
    """Give where a notice is, in meters on the local plane; None where it is nowhere."""
    if not isinstance(notice.place, tuple):
        return None
    x_m, y_m = ground.plane.to_plane(np.array([notice.place]))[0]
    return [round(float(x_m), 1), round(float(y_m), 1)]


def _strips(layout: Layout, crops: Sequence[str]) -> list[dict[str, Any]]:
    """Give every piece of a strip as it is sent."""
    found: list[dict[str, Any]] = []
    places = {crop: place for place, crop in enumerate(crops)}
    first, units, section = 0, layout.plan.units, layout.section
    for block in layout.laid.blocks:
        pieces = block.pieces.strips
        count = len(pieces.strip)
        if not count:
            continue
        own = slice(first, first + count)
        first += count
        shapes = rings_of(block.path.back(pieces.polygon))
        guides = lines_of(_guides(block))
        rows, area_m2 = layout.figures.rows[own].tolist(), layout.figures.area_m2[own].tolist()
        names = _names(block.strip_number, pieces.piece)
        for index, kind in enumerate(pieces.kind.tolist()):
            crop, width_m = section.strips[kind].crop, float(pieces.width_m[index])
            found.append(
                {
                    "name": names[index],
                    "crop": places[crop],
                    "across": round(width_m, 2),
                    "between": "",
                    "words": [
                        plain(crop),
                        f"{rows[index]}",
                        format_length(width_m, units),
                        format_area(area_m2[index], units),
                    ],
                    "rings": shapes[index],
                    "guide": guides[index],
                    "rows": [],
                    "rows_between": [],
                }
            )
    return found


def _names(strip: npt.NDArray[np.int64], piece: npt.NDArray[np.int64]) -> list[str]:
    """Name each piece of a strip by its strip, and by its piece where the strip has several."""
    counts = dict(zip(*(part.tolist() for part in np.unique(strip, return_counts=True)),
                      strict=True))  # fmt: skip
    each = zip(strip.tolist(), piece.tolist(), strict=True)
    return [f"{one}/{part}" if counts[one] > 1 else f"{one}" for one, part in each]


def _guides(block: LaidBlock) -> npt.NDArray[np.object_]:
    """Give of each piece of a strip its row in the middle, (n,)."""
    rows = block.pieces.rows
    owner, start = np.unique(rows.owner, return_index=True)
    end = np.append(start[1:], len(rows.owner))
    middle = (start + end - 1) // 2
    chosen = np.zeros(len(rows.owner), dtype=np.bool_)
    chosen[middle] = True
    lines = np.full(len(block.pieces.strips.strip), shapely.LineString(), dtype=object)
    lines[owner] = rows.lines(block.path, chosen)
    bare = np.flatnonzero(shapely.is_empty(lines))
    if len(bare):
        lines[bare] = shapely.boundary(block.path.back(block.pieces.strips.polygon[bare]))
    return lines


def _section(layout: Layout, crops: Sequence[str]) -> dict[str, Any]:
    """Give one set across, from its left edge looking along the heading."""
    section = layout.section.from_first_strip()
    if layout.plan.direction.start == "right":
        section = section.mirrored()
    places = {crop: place for place, crop in enumerate(crops)}
    units = layout.plan.units
    return {
        "set_text": format_length(section.width_m, units),
        "rows": [
            {"crop": places[row.label], "offset_m": round(row.offset_m, 3), "layer": row.layer}
            for row in section.rows
        ],
        "strips": [
            {
                "crop": places[strip.crop],
                "offset_m": round(strip.left_m, 3),
                "width_m": round(strip.width_m, 3),
                "words": f"{counted(strip.rows, 'row')}, {format_length(strip.width_m, units)}",
            }
            for strip in section.strips
        ],
        "lanes": _lanes(section),
    }


def _lanes(section: Section) -> list[dict[str, Any]]:
    """Give the passes over one set as they are sent, machine by machine and work by work."""
    lanes: dict[tuple[str, str], list[Pass]] = {}
    for one in section.passes_across():
        lanes.setdefault((one.machine, one.operation), []).append(one)
    return [
        {
            "label": plain(f"{machine}: {operation} {_crops_of(passes)}"),
            "passes": [
                {
                    "offset_m": round(one.middle_m - one.width_m / 2, 3),
                    "width_m": round(one.width_m, 3),
                    "turned": bool(one.turned),
                }
                for one in passes
            ],
        }
        for (machine, operation), passes in lanes.items()
    ]


def _crops_of(passes: Sequence[Pass]) -> str:
    """Name what passes work, each once."""
    return ", ".join(dict.fromkeys(one.crop for one in passes))


def _of_days(layout: Layout) -> list[dict[str, Any]]:
    """Say what stands in the way of operations as far as days alone tell."""
    return [
        {
            "operation": plain(f"{one.operation} {one.on}".strip() or one.crop),
            "verdict": ANSWERS[one.severity],
            "words": plain(one.told),
            "spot": None,
        }
        for one in layout.season.conflicts
    ]
