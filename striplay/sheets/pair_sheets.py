"""Say how the crops suit each other: a heading a pair, its points beside each other."""

from collections.abc import Iterable, Sequence
from itertools import groupby

from reportlab.platypus import Flowable

from striplay.season.pairing import Judgement
from striplay.sheets.book import Book
from striplay.sheets.flow import Columns, Story, paragraph, part
from striplay.sheets.style import MM, TEXT_PT

MOST_PAGES, REST_MM = 2, 35.0
"""What takes more room stands in accounts.json alone; room kept for where from, and at a page's
end."""
ABOVE_MM = 2.0


def pairs_part(book: Book, pairs: Sequence[Judgement]) -> Story:
    """Tell what is judged, on two pages at most; empty where nothing is."""
    if not pairs:
        return []
    wide_pt = book.inner_mm * MM
    judged = [(crops, list(points)) for crops, points in groupby(pairs, key=lambda one: one.crops)]
    told: Story = []
    shown: list[Judgement] = []
    room_pt = (MOST_PAGES * book.room_mm - REST_MM) * MM
    head = part("How the crops suit each other")
    for number, (crops, points) in enumerate(judged):
        written = _pair(crops, points, wide_pt, () if number else head)
        room_pt -= written.height
        if room_pt < 0 and number:
            left = len(judged) - number
            rest = f"{left} more pair{'' if left == 1 else 's'} of crops: accounts.json has them."
            told.append(paragraph(rest, above_mm=ABOVE_MM))
            break
        told.append(written)
        shown += points
    return [*told, *_sources(shown)]


def _pair(
    crops: tuple[str, str], points: Sequence[Judgement], wide_pt: float, over: Sequence[Flowable]
) -> Columns:
    """Write a pair's heading and its points, in two columns; they are measured once."""
    head = paragraph(" and ".join(crops), TEXT_PT, bold=True, above_mm=ABOVE_MM, below_mm=0.6)
    cells = [[paragraph(one.said, lead=f"{one.about}:", below_mm=0.5)] for one in points]
    return Columns(cells, wide_pt, [*over, head])


def _sources(pairs: Sequence[Judgement]) -> Story:
    """Write where the points' figures come from, each source once."""
    named = dict.fromkeys(one for each in pairs for one in each.source.split("; "))
    once = dict.fromkeys(_alone(one, named) for one in named)
    return [paragraph(f"{'; '.join(once)}.", lead="Sources:", above_mm=ABOVE_MM)] if once else []


def _alone(source: str, named: Iterable[str]) -> str:
    """Give what a source that names two says besides one that stands alone."""
    for one in named:
        if source.startswith(f"{one} and "):
            return source.removeprefix(f"{one} and ")
        if source.endswith(f" and {one}"):
            return source.removesuffix(f" and {one}")
    return source
