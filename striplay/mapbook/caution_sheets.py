"""Make the sheet of cautions: those that what the plan holds calls for."""

from collections.abc import Iterable, Iterator

from striplay.cautions import Caution
from striplay.mapbook.sheet import Paper, Sheet
from striplay.mapbook.style import TEXT_PT
from striplay.mapbook.text import flowed, paragraphs

ABOVE_MM = 1.5


def caution_sheets(paper: Paper, told: Iterable[Caution]) -> Iterator[Sheet]:
    """Write each caution under its heading."""
    room_mm = paper.inner_mm
    blocks = [
        [
            *paragraphs(room_mm, one.about, size_pt=TEXT_PT, above_mm=ABOVE_MM, bold=True),
            *paragraphs(room_mm, one.text, size_pt=TEXT_PT),
        ]
        for one in told
    ]
    yield from paper.sheets("Cautions", flowed(blocks, paper.room_mm))
