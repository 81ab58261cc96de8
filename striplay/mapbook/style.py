"""Hold the look of the sheets: sizes in millimeters and points, fills that read in gray."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl

from striplay.mapbook.fonts import families

POINT_MM = 25.4 / 72
SMALLEST_PT = 7.0
TEXT_PT = 8.0
HEADING_PT = 10.0
TITLE_PT = 15.0
MARGIN_MM = 12.0
LINE_MM, SMALL_LINE_MM = 4.0, 3.4

PAPERS_MM = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}

RC: Any = {
    "font.family": list(families()),
    "font.size": TEXT_PT,
    "pdf.fonttype": 42,
    "pdf.compression": 6,
    "hatch.linewidth": 0.35,
    "hatch.color": "#333333",
    "svg.hashsalt": "striplay",
}


@contextmanager
def our_look() -> Iterator[None]:
    """Draw in this look alone, whatever settings a file or a caller has made."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(RC)
        yield


@dataclass(frozen=True, slots=True)
class Fill:
    """A fill: color and hatch, so that it reads in color, in gray and to the color-blind.

    `edge_pt` is the width of the frame of its sample in a list.
    """

    color: str
    hatch: str
    edge_pt: float = 0.4


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
FIELD = Fill("none", "", 1.1)


def crop_fill(index: int) -> Fill:
    """Give the fill of the crop with this index; they come round again after the last."""
    return CROP_FILLS[index % len(CROP_FILLS)]
