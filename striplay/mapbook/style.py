"""Hold the look of the sheets: sizes in millimetres and points, fills that read in grey."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

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
    Fill("#f3ebd9", "|||"),
    Fill("#c98f9b", "////"),
    Fill("#c3dde6", "xx"),
    Fill("#b7b088", "\\\\"),
)
HEADLAND = Fill("#e6e6e6", "")
LEFTOVER = Fill("#ffffff", "ooo")
OBSTACLE = Fill("#6b6b6b", "")


def crop_fill(index: int) -> Fill:
    """Give the fill of the crop with this index; they come round again after the last."""
    return CROP_FILLS[index % len(CROP_FILLS)]


@cache
def text_width_mm(text: str, size_pt: float = SMALLEST_PT) -> float:
    """Measure a line of the sheets' type."""
    font = FontProperties(family=RC["font.sans-serif"], size=size_pt)
    width_pt, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width_pt) * POINT_MM


def wrapped(text: str, room_mm: float, size_pt: float = SMALLEST_PT) -> list[str]:
    """Break a text into lines that fit."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_pt) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def fitted(text: str, room_mm: float, size_pt: float = TEXT_PT) -> str:
    """Give a text as it is where there is room for it, else its beginning with dots."""
    if text_width_mm(text, size_pt) <= room_mm:
        return text
    while text and text_width_mm(f"{text}…", size_pt) > room_mm:
        text = text[:-1]
    return f"{text}…"
