"""Draw a section on matplotlib's axes, for a picture that is a file of its own: SVG, PNG or PDF."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path as File
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import fontManager
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from striplay.errors import OutputError
from striplay.notices import Notice
from striplay.sheets.flow import lines_of
from striplay.sheets.fonts import fitted, font_files, printed, unprinted, watched
from striplay.sheets.section_pen import (
    BLACK,
    LINE_MM,
    SOFT_INK,
    Hatch,
    Mark,
    Place,
    Points,
)
from striplay.sheets.section_picture import Picture, draw_section
from striplay.sheets.section_scene import Scene
from striplay.sheets.style import MM, SMALLEST_PT, TEXT_PT

OWN = "DejaVu Sans"
"""Comes with the library that draws."""
MM_PER_INCH = 25.4
WIDTH_MM, SIDE_MM, TOP_MM, BOTTOM_MM = 280.0, 10.0, 14.0, 8.0
"""The picture's width, and room beside, over and under what is drawn."""
KERNED_MM = 1.3
"""Type is kerned here, and a line of the picture's width so much narrower than it is measured."""
DOTS_PER_INCH = 200
HATCHES = {"": None, "wide": "//////", "close": "////////"}
MARKS = {
    "up": "^", "diamond": "D", "square": "s", "down": "v", "dot": "o", "ring": "o", "cross": "x",
    "left": "<", "right": ">",
}  # fmt: skip


@cache
def _families() -> tuple[str, ...]:
    """Give the families to print in; a character is taken from the first that has it."""
    names = [OWN]
    for path in font_files():
        before = len(fontManager.ttflist)
        fontManager.addfont(path)
        entry = fontManager.ttflist[before]
        names.append(entry.name)
        # listed in both weights, though its file has but one: no search for another then
        fontManager.ttflist[before:] = [replace(entry, weight=weight) for weight in (400, 700)]
    return tuple(names)


@contextmanager
def our_look() -> Iterator[None]:
    """Draw in this look alone, whatever settings a file or a caller has made."""
    with mpl.rc_context():
        mpl.rcdefaults()
        look: Any = {
            "font.family": list(_families()),
            "font.size": TEXT_PT,
            "pdf.fonttype": 42,
            "pdf.compression": 6,
            "hatch.linewidth": 0.35,
            "hatch.color": SOFT_INK,
            "svg.hashsalt": "striplay",
        }
        mpl.rcParams.update(look)
        yield


class AxesPen:
    """Draws on axes whose data are meters."""

    def __init__(self, axes: Axes) -> None:
        self.axes = axes

    def line(
        self,
        points: Sequence[Place],
        wide_pt: float,
        color: str = SOFT_INK,
        dash_pt: tuple[float, ...] = (),
    ) -> None:
        """Draw a line."""
        style: Any = (0, dash_pt) if dash_pt else "solid"
        x, y = zip(*points, strict=True)
        self.axes.plot(x, y, color=color, linewidth=wide_pt, linestyle=style)

    def area(
        self,
        rings: Sequence[Points],
        color: str,
        edge_pt: float = 0.0,
        edge: str = SOFT_INK,
        *,
        hatch: Hatch = "",
        name: str = "",
    ) -> None:
        """Fill rings as one shape."""
        codes = [
            np.array([Path.MOVETO, *[Path.LINETO] * (len(ring) - 2), Path.CLOSEPOLY])
            for ring in rings
        ]
        path = Path(np.concatenate(rings), np.concatenate(codes).astype(np.uint8))
        patch = PathPatch(path, linewidth=edge_pt, edgecolor=edge, facecolor=color)
        patch.set(hatch=HATCHES[hatch], gid=name or None)
        self.axes.add_artist(patch)  # limits are set: a patch would have its own looked up

    def text(
        self, x_m: float, y_m: float, said: str, align: float = 0.0, *, amid: bool = False
    ) -> None:
        """Write the smallest type; dollar signs are plain text."""
        where = {0.0: "left", 0.5: "center", 1.0: "right"}[align]
        stands = "center_baseline" if amid else "baseline"
        self.axes.text(x_m, y_m, printed(said), fontsize=SMALLEST_PT, parse_math=False, ha=where,
                       va=stands)  # fmt: skip

    def mark(self, x_m: Sequence[float], y_m: float, mark: Mark, size_pt: float) -> None:
        """Draw a mark at each x."""
        how: dict[str, Any] = {"color": BLACK}
        if mark == "ring":
            how = {"markerfacecolor": "white", "markeredgecolor": SOFT_INK, "markeredgewidth": 0.5}
        elif mark == "cross":
            how["markeredgewidth"] = 0.9
        self.axes.plot(x_m, [y_m] * len(x_m), linestyle="none", marker=MARKS[mark],
                       markersize=size_pt, **how)  # fmt: skip

    def span(self, low_m: float, high_m: float, y_m: float, head_pt: float) -> None:
        """Draw a line with a head at either end."""
        self.axes.annotate("", (low_m, y_m), (high_m, y_m), arrowprops={
            "arrowstyle": "<->", "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0,
            "mutation_scale": head_pt,
        })  # fmt: skip


def pen_on(axes: Axes, picture: Picture) -> AxesPen:
    """Set axes to a picture's place on the ground; they are as wide and high as it on paper."""
    (left_m, right_m), (bottom_m, top_m) = picture.across_m, picture.up_m
    axes.set_xlim(left_m, right_m)
    axes.set_ylim(bottom_m, top_m)
    axes.set_aspect("equal")
    axes.axis("off")
    return AxesPen(axes)


SUFFIXES = (".svg", ".png", ".pdf")


def check_ending(path: File) -> None:
    """Check that a file's ending is one of a picture.

    Raises:
        OutputError: it is not.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise OutputError(f"{path.name}: must end in {', '.join(SUFFIXES)}")


def write_section(scene: Scene, path: File) -> list[Notice]:
    """Write a picture of a section as a file of its own: SVG, PNG or PDF by the file's ending.

    Returns:
        What the user should know: characters that can't be printed.

    Raises:
        OSError: a file that can't be written.
    """
    # dates are left out, so that the same plan gives the same bytes
    undated = {".svg": ["Date"], ".pdf": ["CreationDate", "ModDate"]}
    metadata = dict.fromkeys(undated.get(path.suffix.lower(), []))
    inner_mm = WIDTH_MM - 2 * SIDE_MM
    picture = Picture(scene, inner_mm)
    room_pt = (inner_mm + KERNED_MM) * MM
    caption = [line for text in picture.caption for line in lines_of(text, room_pt)]
    high_mm = TOP_MM + picture.height_mm + LINE_MM * len(caption) + BOTTOM_MM
    bottom_mm = high_mm - TOP_MM - picture.height_mm
    with our_look(), watched() as missing:
        figure = Figure(figsize=(WIDTH_MM / MM_PER_INCH, high_mm / MM_PER_INCH))
        paper = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        paper.set(xlim=(0, WIDTH_MM), ylim=(0, high_mm), zorder=2)
        paper.axis("off")
        paper.patch.set_alpha(0)
        title = fitted(scene.plan.title, inner_mm * MM, TEXT_PT + 2, bold=True)
        lines = [(high_mm - 8.0, title, TEXT_PT + 2, "bold")]
        lines += [(bottom_mm - 6.0 - number * LINE_MM, said, SMALLEST_PT, "normal")
                  for number, said in enumerate(caption)]  # fmt: skip
        for y_mm, said, size_pt, weight in lines:
            paper.text(SIDE_MM, y_mm, printed(said), fontsize=size_pt, weight=weight,
                       parse_math=False)  # fmt: skip
        place = (SIDE_MM / WIDTH_MM, bottom_mm / high_mm)
        size = (inner_mm / WIDTH_MM, picture.height_mm / high_mm)
        draw_section(pen_on(figure.add_axes((*place, *size)), picture), picture)
        figure.savefig(path, dpi=DOTS_PER_INCH, metadata=metadata)
    return unprinted(missing)
