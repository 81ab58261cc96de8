"""Write how the crops suit each other: a heading a pair, a point a line, sources at the end."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from striplay.mapbook.page import Page
from striplay.mapbook.panel import FOOT_MM
from striplay.mapbook.sheets import HEAD_MM
from striplay.mapbook.style import MARGIN_MM, SMALLEST_PT, TEXT_PT, wrapped
from striplay.season.pairing import Judgement

MOST_SHEETS = 2
"""What takes more stands in accounts.json alone."""
LINE_MM, SMALL_MM, HANG_MM, ABOVE_MM = 4.0, 3.4, 5.0, 2.5


@dataclass(frozen=True, slots=True)
class Said:
    """A line as it is written.

    Attributes:
        text: its words.
        size_pt: of its type.
        indent_mm: from the margin.
        high_mm: from the line before it.
        bold: whether it is a heading.
    """

    text: str
    size_pt: float = TEXT_PT
    indent_mm: float = 0.0
    high_mm: float = LINE_MM
    bold: bool = False


Group = list[Said]
"""Lines that stay on one sheet."""


def pair_sheets(pairs: Sequence[Judgement], paper_mm: tuple[float, float]) -> list[Group]:
    """Write what is judged, sheet by sheet; none where nothing is."""
    if not pairs:
        return []
    room_mm = paper_mm[1] - HEAD_MM - FOOT_MM - 2 * LINE_MM
    wide_mm = paper_mm[0] - 2 * MARGIN_MM
    groups = [
        _pair(crops, list(points), wide_mm)
        for crops, points in groupby(pairs, key=lambda one: one.crops)
    ]
    whole = _sheets([*groups, *_sources(pairs, wide_mm)], room_mm)
    if len(whole) <= MOST_SHEETS:
        return whole
    return _cut(pairs, groups, (wide_mm, room_mm))


def _cut(
    pairs: Sequence[Judgement], groups: list[Group], sizes_mm: tuple[float, float]
) -> list[Group]:
    """Leave out the last pairs, as many as it takes for the sheets to do, and say so."""
    wide_mm, room_mm = sizes_mm
    judged = list(dict.fromkeys(one.crops for one in pairs))
    fitting: list[Group] = []
    for count in range(len(groups) + 1):
        left = len(groups) - count
        rest = f"{left} more pair{'' if left == 1 else 's'} of crops: accounts.json has them."
        shown = [one for one in pairs if one.crops in judged[:count]]
        told = [*groups[:count], [Said(rest, high_mm=LINE_MM + ABOVE_MM)]]
        tried = _sheets([*told, *_sources(shown, wide_mm)], room_mm)
        if len(tried) > MOST_SHEETS:
            break
        fitting = tried
    return fitting


def _pair(crops: tuple[str, str], points: Sequence[Judgement], wide_mm: float) -> Group:
    """Write a pair's heading and its points."""
    lines = [Said(" and ".join(crops), high_mm=LINE_MM + ABOVE_MM, bold=True)]
    for point in points:
        broken = wrapped(f"{point.about}: {point.said}", wide_mm - HANG_MM, TEXT_PT)
        lines += [Said(text, indent_mm=HANG_MM if i else 0.0) for i, text in enumerate(broken)]
    return lines


def _sources(pairs: Sequence[Judgement], wide_mm: float) -> list[Group]:
    """Write where the points' figures come from, each source once."""
    named = dict.fromkeys(part for one in pairs for part in one.source.split("; "))
    if not named:
        return []
    once = dict.fromkeys(_alone(part, named) for part in named)
    broken = wrapped(f"Sources: {'; '.join(once)}.", wide_mm)
    return [
        [
            Said(text, SMALLEST_PT, high_mm=SMALL_MM + (0.0 if i else ABOVE_MM))
            for i, text in enumerate(broken)
        ]
    ]


def _alone(source: str, named: Iterable[str]) -> str:
    """Give what a source that names two says besides one that stands alone."""
    for one in named:
        if source.startswith(f"{one} and "):
            return source.removeprefix(f"{one} and ")
        if source.endswith(f" and {one}"):
            return source.removesuffix(f" and {one}")
    return source


def _sheets(groups: Sequence[Group], room_mm: float) -> list[Group]:
    """Set groups on sheets, one after another."""
    sheets: list[Group] = [[]]
    for group in groups:
        if sheets[-1] and sum(line.high_mm for line in [*sheets[-1], *group]) > room_mm:
            sheets.append([])
        sheets[-1] += group
    return sheets


def draw_pairs(page: Page, lines: Group) -> None:
    """Write one sheet's lines."""
    y_mm = page.height_mm - HEAD_MM
    for line in lines:
        y_mm -= line.high_mm
        weight = "bold" if line.bold else "normal"
        page.text(MARGIN_MM + line.indent_mm, y_mm, line.text, line.size_pt, weight=weight)
