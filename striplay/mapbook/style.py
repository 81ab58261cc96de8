"""Hold the look of the sheets: sizes in millimetres and points, fills that read in grey."""

from dataclasses import dataclass
from typing import Any

POINT_MM = 25.4 / 72
SMALLEST_PT = 7.0
TEXT_PT = 8.0
HEADING_PT = 10.0
TITLE_PT = 15.0
MARGIN_MM = 12.0
LINE_MM = 4.0

PAPERS_MM = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}

RC: Any = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": TEXT_PT,
    "pdf.fonttype": 42,
    "pdf.compression": 6,
    "hatch.linewidth": 0.35,
    "hatch.color": "#333333",
    "svg.hashsalt": "striplay",
}


@dataclass(frozen=True, slots=True)
class Fill:
    """A fill: colour and hatch, so that it reads in colour, in grey and to the colour-blind."""

    colour: str
    hatch: str


CROP_FILLS = (
    Fill("#f6dc8c", "///"),
    Fill("#7fb2d6", "..."),
    Fill("#e9b7a0", "\\\\\\"),
    Fill("#a99bc9", "xxx"),
    Fill("#d7ecd0", "---"),
    Fill("#8fb9a5", "+++"),
)
HEADLAND = Fill("#e6e6e6", "")
LEFTOVER = Fill("#ffffff", "ooo")
OBSTACLE = Fill("#6b6b6b", "")


def crop_fill(index: int) -> Fill:
    """Give the fill of the crop with this index; they come round again after the last."""
    return CROP_FILLS[index % len(CROP_FILLS)]
