"""Make the page of many fields: a line and a small map each, in a file that fetches nothing."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from striplay.looks import looks_of
from striplay.page.bind import Pieces, policy_of, read, script_of, style_of
from striplay.plain import plain
from striplay.units import UnitSystem, format_area

PIECES = Pieces("page/fields.html", ("page/fields.css",), ("page/fields.js",))
GRAVE = ("refused", "can't be done")
"""Verdicts whose lines are marked."""


@dataclass(frozen=True)
class FieldsPage:
    """A page of fields.

    Attributes:
        title: what it is of.
        about: sentences on all fields.
        notes: sentences on what was judged, and what to mind.
        units: how areas are written.
        names: crops and mixtures that maps show.
        verdicts: how many fields of all came to each.
        lines: the fields of this page: their lines of `fields`.
        pictures: of each, as `Picture` has it; None where there is none.
        links: words and address of other pages.
        driven: whether operations were driven.
    """

    title: str
    about: Sequence[str]
    notes: Sequence[str]
    units: UnitSystem
    names: Sequence[str]
    verdicts: Mapping[str, int]
    lines: Sequence[Mapping[str, Any]]
    pictures: Sequence[Mapping[str, Any] | None]
    links: Sequence[tuple[str, str]]
    driven: bool


def fields_page(page: FieldsPage) -> bytes:
    """Give a page; whatever a field's file says stands in it as text alone."""
    fills = {name: look.fill.color for name, look in looks_of(page.names, "color").items()}
    heads = _heads(page)
    parts = {
        "policy": policy_of(PIECES),
        "style": style_of(PIECES),
        "script": script_of(PIECES),
        "title": _text(page.title),
        "about": _sentences(page.about),
        "notes": _sentences(page.notes),
        "pages": _links(page.links),
        "verdicts": "\n".join(_box(name, count) for name, count in page.verdicts.items()),
        "key": "".join(_key(name, fill) for name, fill in fills.items()),
        "of": "driven" if page.driven else "laid",
        "heads": "\n".join(heads),
        "rows": "\n".join(
            _row(page, line, picture, fills)
            for line, picture in zip(page.lines, page.pictures, strict=True)
        ),
    }
    return re.sub(r"\{\{(\w+)\}\}", lambda found: parts[found[1]], read(PIECES.template)).encode()


def _text(said: object) -> str:
    return escape(plain(str(said)))


def _sentences(said: Sequence[str]) -> str:
    return "\n".join(f'<p dir="auto">{_text(one)}</p>' for one in said)


def _links(links: Sequence[tuple[str, str]]) -> str:
    if not links:
        return ""
    each = "".join(f'<a href="{escape(to)}">{_text(words)}</a>' for words, to in links)
    return f'<nav aria-label="Pages">{each}</nav>'


def _box(verdict: str, count: int) -> str:
    """Give the box that shows or hides fields of a verdict."""
    value = escape(verdict)
    box = f'<input type="checkbox" value="{value}" checked>'
    return f"<label>{box} {value} ({count:,})</label>"


def _key(name: str, fill: str) -> str:
    """Give the patch of a crop's color with its name."""
    path = f'<path class="strip" fill="{fill}" d="M0,0h34v22h-34z"/>'
    patch = f'<svg viewBox="0 0 34 22" aria-hidden="true">{path}</svg>'
    return f'<span dir="auto">{patch}{_text(name)}</span>'


def _figures(page: FieldsPage) -> list[str]:
    """Name the columns of figures."""
    figures = ["Area", "Rows run", "Strips", "In strips", "Cost a year"]
    return [*figures, "Hours"] if page.driven else figures


def _heads(page: FieldsPage) -> list[str]:
    """Give the heads of the columns; all but the map sort."""
    figures = _figures(page)
    sorts = [("Number", "figure"), ("Field", ""), ("Verdict", "")]
    sorts += [(one, "figure") for one in figures]
    heads = ['<th scope="col"><span>Map</span></th>']
    heads += [
        f'<th scope="col" class="{of}"><button type="button">{word}</button></th>'
        for word, of in sorts
    ]
    return [*heads, '<th scope="col"><span>What was found</span></th>']


def _row(
    page: FieldsPage,
    line: Mapping[str, Any],
    picture: Mapping[str, Any] | None,
    fills: Mapping[str, str],
) -> str:
    """Give the line of a field."""
    area_m2, heading_deg, strips = line["area_m2"], line["heading_deg"], line["strips"]
    share = (line["strips_m2"] or 0.0) / area_m2 if area_m2 else None
    cost = line["cost_per_year"]
    figures = [
        (area_m2, "" if area_m2 is None else format_area(area_m2, page.units)),
        (heading_deg, "" if heading_deg is None else f"{heading_deg:.1f}\N{DEGREE SIGN}"),
        (strips, "" if strips is None else f"{strips:,}"),
        (share, "" if share is None else f"{share:.0%}"),
        (cost, "" if cost is None else f"{cost:,.0f}"),
    ]
    if page.driven:
        hours = line["hours_likely"]
        figures.append((hours, "" if hours is None else f"{hours:.1f}"))
    verdict = line["verdict"]
    cells = [
        f"<td>{_picture(picture, fills)}</td>",
        f'<td class="figure" data-head="Number">{_text(line["number"])}</td>',
        f'<td dir="auto">{_text(line["field"])}</td>',
        f"<td><b>{_text(verdict)}</b></td>",
        *(f'<td class="figure" data-head="{head}" data-value="{"" if value is None else value}">'
          f"{_text(told)}</td>"
          for head, (value, told) in zip(_figures(page), figures, strict=True)),
        f'<td dir="auto">{_text(line["reason"] or "")}</td>',
    ]  # fmt: skip
    looks = ["grave"] * (verdict in GRAVE) + ["drawn"] * (picture is not None)
    return f'<tr data-verdict="{escape(verdict)}" class="{" ".join(looks)}">{"".join(cells)}</tr>'


_PATH = re.compile(r"[Mlz0-9 ,\-]*")
"""What a path may hold, should a ledger come from someone else."""


def _picture(picture: Mapping[str, Any] | None, fills: Mapping[str, str]) -> str:
    """Draw a field small."""
    if picture is None:
        return ""
    paths = [('class="outline"', picture["outline"])]
    paths += [(f'class="strip" fill="{fills[name]}"', path) for name, path in picture["crops"]]
    drawn = "".join(f'<path {of} d="{path}"/>' for of, path in paths if _PATH.fullmatch(path))
    wide, high = int(picture["width"]), int(picture["height"])
    return f'<svg viewBox="-2 -2 {wide + 4} {high + 4}" aria-hidden="true">{drawn}</svg>'
