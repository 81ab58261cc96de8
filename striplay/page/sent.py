"""Gather what the field page is sent: the ground in centimeters, and what is told, in words."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from striplay.accounts.told import told_areas
from striplay.accounts.words import seed_words
from striplay.cautions import cautions_for
from striplay.columns import SOWN_CSV
from striplay.ground import GEOD
from striplay.page.shapes import (
    Rows,
    Sent,
    areas_of,
    guides_of,
    lines_of,
    on_plane,
    places_of,
    rings_of,
    rows_by_piece,
)
from striplay.plain import plain
from striplay.plan.models import Plan
from striplay.section.fit import counted
from striplay.section.occasions import occasions_of
from striplay.units import facing, format_about, format_area, format_length
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from striplay.files.content import Content

STRIP_LABELS = ("Crop", "Also sown", "Rows", "Width", "Area", "Seed of its own rows")
PASS_LABELS = (
    "Works", "Crop", "Heading", "Length", "On", "Fill", "Stops at", "On its left", "On its right",
    "Load", "A, where it starts", "B, where it ends",
)  # fmt: skip
DEGREES = 7
"""Decimals of A and B, as in the table of passes: 11 mm."""


def sent(content: "Content") -> dict[str, Any]:
    """Give all that the page is sent, as JSON holds it.

    Args:
        content: what is handed over.
    """
    occasions = occasions_of(
        content.plan, content.laid.section, holed=not content.ground.holes.is_empty
    )
    plan, plane, strips = content.plan, content.ground.plane, content.layers["strips"]
    laid = Rows.of(content)
    rows, missing = rows_by_piece(content, laid)
    return {
        "title": plain(plan.title),
        "farm": plain(", ".join(filter(None, (plan.farm.name, plan.farm.operator)))),
        "mark": content.mark,
        "date": "" if content.printed is None else content.printed.isoformat(),
        "units": plan.units,
        "plane": {
            "longitude": plane.longitude_deg,
            "latitude": plane.latitude_deg,
            "a": GEOD.a,
            "e2": GEOD.es,
        },
        "facts": _field_facts(content),
        "cautions": [
            [one.about, (one.short or one.text).removeprefix(f"{one.about}: ")]
            for one in cautions_for(occasions, plan.units)
        ],
        "missing": missing,
        "headland": headland_words(plan),
        "crops": [
            {
                "name": plain(name),
                "letter": look.letter,
                "color": look.color,
                "hatch": look.hatch,
                "after": name in content.laid.section.following,
            }
            for name, look in content.looks.items()
        ],
        "labels": {"strip": STRIP_LABELS, "pass": PASS_LABELS},
        "ground": {
            "field": areas_of(shapely.get_parts(content.ground.outline)),
            "headland": areas_of(content.laid.headland),
            "obstacles": areas_of(shapely.get_parts(content.ground.obstacles)),
        },
        "strips": _strips(content, laid, rows),
        "operations": [_operation(sheet, strips) for sheet in content.worksheets],
    }


def headland_words(plan: Plan) -> str:
    """Say what the headland is planted to."""
    crop = plan.headland_crop
    return plain(f"Headland: {crop}" if crop else "Headland: not planted")


def _field_facts(content: "Content") -> list[tuple[str, str]]:
    units, strips = content.plan.units, content.layers["strips"]
    told = told_areas(content.plan, content.accounts)
    bare = {name: told.land_m2[name] for name in ("obstacles", "leftover")}
    sown = content.lists[SOWN_CSV]
    besides = sown[sown["how"] != "own"].groupby(["crop", "how"], sort=False)
    also = besides["area_m2"].sum().reset_index()
    return [
        ("Field", format_area(content.ground.outline.area, units)),
        *((plain(crop), format_area(area_m2, units)) for crop, area_m2 in told.crops_m2.items()),
        *(
            (plain(f"{crop} ({how})"), format_area(area_m2, units))
            for crop, how, area_m2 in zip(also["crop"], also["how"], also["area_m2"], strict=True)
        ),
        ("Headland", format_area(told.land_m2["headland"], units)),
        *(
            (name.capitalize(), format_area(area_m2, units))
            for name, area_m2 in bare.items()
            if area_m2
        ),
        ("Strips", f"{strips['strip'].nunique():,}"),
    ]


def _names(strips: pd.DataFrame) -> list[str]:
    """Name each piece of a strip by its strip, and by its piece where the strip has several."""
    several = strips.groupby("strip")["piece"].transform("size").to_numpy() > 1
    each = zip(strips["strip"], strips["piece"], several, strict=True)
    return [f"{strip}/{piece}" if more else f"{strip}" for strip, piece, more in each]


def _strips(
    content: "Content", laid: Rows, rows: Sequence[list[tuple[Sent, bool]]]
) -> list[dict[str, Any]]:
    """Give every piece of a strip as it is sent."""
    strips, crops = content.layers["strips"], list(content.looks)
    shapes = on_plane(content, strips.geometry.to_numpy())
    names, also, guides = _names(strips), _also_sown(content), guides_of(content, shapes, laid)
    each = zip(strips.to_dict("records"), rings_of(shapes), strict=True)
    return [
        {
            "name": names[index],
            "crop": crops.index(one["crop"]),
            "across": round(one["width_m"], 2),
            "between": _letters_between(content, also.get(one["strip"], [])),
            "words": _strip_words(content, one, also.get(one["strip"], []), names[index]),
            "rings": rings,
            "guide": guides[index],
            "rows": [line for line, own in rows[index] if own],
            "rows_between": [line for line, own in rows[index] if not own],
        }
        for index, (one, rings) in enumerate(each)
    ]


def _also_sown(content: "Content") -> dict[int, list[Mapping[Any, Any]]]:
    """Give by strip what is sown in it besides its own rows, as the list of sowings has it."""
    found: dict[int, list[Mapping[Any, Any]]] = {}
    for one in content.lists[SOWN_CSV].to_dict("records"):
        if one["how"] != "own":
            found.setdefault(one["strip"], []).append(one)
    return found


def _sown_words(content: "Content", sown: Mapping[Any, Any], *, in_pieces: bool) -> str:
    """Say of a crop sown besides a strip's own rows how, in how many rows and with what seed."""
    told = [
        "" if pd.isna(sown["rows"]) else counted(int(sown["rows"]), "row"),
        _seed(content, sown) + (" in all pieces of the strip" if in_pieces else ""),
    ]
    words = ", ".join(one for one in told if one)
    return f"{plain(sown['crop'])} ({sown['how']})" + (f": {words}" if words else "")


BETWEEN = ("relay", "quick crop")
"""How crops come between a strip's own rows."""


def _letters_between(content: "Content", also: Sequence[Mapping[Any, Any]]) -> str:
    """Give the letters of the crops between a strip's own rows."""
    between = [one["crop"] for one in also if one["how"] in BETWEEN]
    return "".join(content.looks[crop].letter for crop in between if crop in content.looks)


def _strip_words(
    content: "Content", strip: Mapping[Any, Any], also: Sequence[Mapping[Any, Any]], name: str
) -> list[str]:
    """Give what is told of a piece of a strip, in the order of the labels."""
    units, in_pieces = content.plan.units, "/" in name
    return [
        plain(strip["crop"]),
        "; ".join(_sown_words(content, one, in_pieces=in_pieces) for one in also),
        "" if pd.isna(strip["rows"]) else f"{strip['rows']}",
        format_length(strip["width_m"], units),
        format_area(strip["area_m2"], units),
        _seed(content, strip),
    ]


def _seed(content: "Content", strip: Mapping[Any, Any]) -> str:
    """Say how much seed the own rows of a piece of a strip take, as far as known."""
    known = {name: strip[name] for name in ("seeds", "seed_kg") if not pd.isna(strip[name])}
    if strip["crop"] not in content.plan.crops or not known:
        return ""
    words = seed_words(content.plan, strip["crop"], known)
    units = strip["seed_units"]
    return words if pd.isna(units) else f"{units:,.1f} units, {words}"


def _operation(sheet: Worksheet, strips: pd.DataFrame) -> dict[str, Any]:
    """Give an operation as it is sent."""
    judged = sheet.judged
    day = "" if judged.job.day is None else f", {judged.job.day.isoformat()}"
    return {
        "name": plain(sheet.name),
        "about": plain(f"{judged.job.machine}{day}"),
        "answer": judged.answer,
        "reason": plain(judged.reason.removeprefix(f"{sheet.name}: ")),
        "width": round(judged.route.width_m, 3),
        "facts": _operation_facts(sheet),
        "cautions": [[one.about, one.text] for one in sheet.cautions],
        "passes": _passes(sheet, strips),
    }


def _operation_facts(sheet: Worksheet) -> list[tuple[str, str]]:
    """Tell settings, what to load in all, and what goes in or out at each fill."""
    found = [*sheet.settings]
    for load in sheet.loads:
        label = "to bring in" if load.brought_in else "to load in all"
        found.append((f"{load.what}, {label}", load.to_load_words))
    found += [(f"fill {fill.where}", ", ".join(fill.amounts)) for fill in sheet.fills]
    return [(plain(label)[:1].upper() + plain(label)[1:], plain(words)) for label, words in found]


def _passes(sheet: Worksheet, strips: pd.DataFrame) -> list[dict[str, Any]]:
    """Give the passes of an operation as they are sent, in the order driven."""
    at = places_of(strips)
    over: list[list[int]] = [[] for _ in range(len(sheet))]
    for of, strip, piece in sheet.worked.T.tolist():
        over[of].append(at[strip, piece])
    stretches = _stretches(sheet)
    names = _names(strips)
    found = []
    for index in range(len(sheet)):
        lines, working = stretches[index]
        found.append(
            {
                "name": f"{sheet.number[index]}",
                "over": over[index],
                "words": _pass_words(sheet, index, [names[at] for at in over[index]]),
                "stretches": lines_of(lines),
                "lifted": [place for place, at_work in enumerate(working) if not at_work],
            }
        )
    return found


def _stretches(sheet: Worksheet) -> Mapping[int, tuple[list[shapely.Geometry], list[bool]]]:
    """Give the stretches of each pass, in the order driven, and whether each is at work."""
    found: dict[int, tuple[list[shapely.Geometry], list[bool]]] = {}
    before = 0
    for group in sheet.judged.route.groups:
        each = zip(group.stretch_of.tolist(), group.stretch, group.working.tolist(), strict=True)
        for of, line, working in each:
            lines, at_work = found.setdefault(before + of, ([], []))
            lines.append(line)
            at_work.append(working)
        before += len(group)
    return found


def _pass_words(sheet: Worksheet, index: int, over: Sequence[str]) -> list[str]:
    """Give what is told of a pass, in the order of the labels; `over` names its pieces."""
    units = sheet.units
    loads = [
        f"{load.used_words(float(load.used[index]))} {load.measure.name} of {load.what}, "
        f"{load.total_words(float(load.running[index]))} so far"
        for load in sheet.loads
        if load.used[index] > 0
    ]
    words = [
        _works_words(str(sheet.strips[index]), over),
        sheet.crop[index],
        facing(float(sheet.heading_deg[index])),
        format_about(float(sheet.length_m[index]), units),
        sheet.rows_on[index],
        sheet.fill_words[index],
        sheet.stops_at[index],
        sheet.standing_left[index],
        sheet.standing_right[index],
        "; ".join(loads),
        _spot(sheet.a_lonlat[index]),
        _spot(sheet.b_lonlat[index]),
    ]
    return [plain(str(one)) for one in words]


def _works_words(strips: str, over: Sequence[str]) -> str:
    """Say which strips a pass works, as the operator's sheet does; `over` names its pieces.

    >>> _works_words("12", ["12/1"]), _works_words("12-14", ["12", "13", "14"])
    ('strip 12/1', 'strips 12-14')
    >>> _works_words("4 of 1-9", list("1379")), _works_words("headland", [])
    ('4 of strips 1-9', 'headland')
    """
    if len({name.split("/")[0] for name in over}) > 1:
        return strips.replace(" of ", " of strips ") if " of " in strips else f"strips {strips}"
    return f"strip {over[0] if len(over) == 1 else strips}" if over else strips


def _spot(lonlat: npt.NDArray[np.float64]) -> str:
    """Write a place as latitude and longitude, as phones show it."""
    longitude, latitude = lonlat.tolist()
    return f"{latitude:.{DEGREES}f}, {longitude:.{DEGREES}f}"
