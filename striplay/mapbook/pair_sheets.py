"""Make the sheets that say how the crops suit each other: a heading a pair, a point a line."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from striplay.mapbook.sheet import Paper, Sheet
from striplay.mapbook.style import SMALL_LINE_MM, TEXT_PT
from striplay.mapbook.text import Lines, flowed, paragraphs
from striplay.season.pairing import Judgement

MOST_SHEETS = 2
"""What takes more stands in accounts.json alone."""
HANG_MM, ABOVE_MM = 5.0, 2.5


def pair_sheets(paper: Paper, pairs: Sequence[Judgement]) -> Iterator[Sheet]:
    """Write what is judged on two sheets at most; none where nothing is."""
    if pairs:
        yield from paper.sheets("How the crops suit each other", pair_parts(paper, pairs))


def pair_parts(paper: Paper, pairs: Sequence[Judgement]) -> list[Lines]:
    """Write what is judged, sheet by sheet; as many pairs as there is room for."""
    room_mm = paper.inner_mm
    judged = [(crops, list(points)) for crops, points in groupby(pairs, key=lambda one: one.crops)]
    blocks = [_pair(crops, points, room_mm) for crops, points in judged]
    parts: list[Lines] = []
    for left in range(len(judged) + 1):
        count = len(judged) - left
        shown = [point for _, points in judged[:count] for point in points]
        rest = f"{left} more pair{'' if left == 1 else 's'} of crops: accounts.json has them."
        told = [paragraphs(room_mm, rest, size_pt=TEXT_PT, above_mm=ABOVE_MM)] if left else []
        parts = flowed([*blocks[:count], *told, _sources(shown, room_mm)], paper.room_mm)
        if len(parts) <= MOST_SHEETS:
            break
    return parts


def _pair(crops: tuple[str, str], points: Sequence[Judgement], room_mm: float) -> Lines:
    """Write a pair's heading and its points."""
    lines = paragraphs(room_mm, " and ".join(crops), size_pt=TEXT_PT, above_mm=ABOVE_MM, bold=True)
    said = (f"{point.about}: {point.said}" for point in points)
    return [*lines, *paragraphs(room_mm, *said, size_pt=TEXT_PT, hang_mm=HANG_MM)]


def _sources(pairs: Sequence[Judgement], room_mm: float) -> Lines:
    """Write where the points' figures come from, each source once."""
    named = dict.fromkeys(part for one in pairs for part in one.source.split("; "))
    once = dict.fromkeys(_alone(part, named) for part in named)
    said = f"Sources: {'; '.join(once)}." if once else ""
    return paragraphs(room_mm, said, line_mm=SMALL_LINE_MM, above_mm=ABOVE_MM)


def _alone(source: str, named: Iterable[str]) -> str:
    """Give what a source that names two says besides one that stands alone."""
    for one in named:
        if source.startswith(f"{one} and "):
            return source.removeprefix(f"{one} and ")
        if source.endswith(f" and {one}"):
            return source.removesuffix(f" and {one}")
    return source
