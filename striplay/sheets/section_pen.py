"""Say what draws a section: a page of the book, or the axes of a picture that is a file of its own.

Places are in meters: across from the set's first edge, and up from the ground. What has a size on
paper alone (type, marks, thickness of lines) is in points.
"""

from collections.abc import Sequence
from typing import Literal, Protocol

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
Place = tuple[float, float]
Mark = Literal["up", "diamond", "square", "down", "dot", "ring", "cross", "left", "right"]
"""Marks: triangles by where they point, others by their shape; a ring is white inside."""
Hatch = Literal["", "wide", "close"]

SOFT_INK = "#333333"
"""Color of plants' edges and of what is measured."""
BLACK = "#000000"
HALF_HIGH = 0.365
"""Half the height of digits and capitals, in sizes of type."""
LINE_MM, SMALL_LINE_MM = 4.0, 3.4
"""From line to line of words under a picture, and of a strip's."""


class Pen(Protocol):
    """What draws a section, to scale both ways."""

    def line(
        self,
        points: Sequence[Place],
        wide_pt: float,
        color: str = SOFT_INK,
        dash_pt: tuple[float, ...] = (),
    ) -> None:
        """Draw a line; dashes and gaps are in widths of the line."""

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
        """Fill rings, closed, as one shape, and draw their edges; `name` marks it in an SVG."""

    def text(
        self, x_m: float, y_m: float, said: str, align: float = 0.0, *, amid: bool = False
    ) -> None:
        """Write the smallest type: from x on where `align` is 0, about it at 0.5, up to it at 1.

        It stands on y; `amid`, y is half-way up its letters.
        """

    def mark(self, x_m: Sequence[float], y_m: float, mark: Mark, size_pt: float) -> None:
        """Draw a mark at each x."""

    def span(self, low_m: float, high_m: float, y_m: float, head_pt: float) -> None:
        """Draw a line with a head at either end, as a width is dimensioned."""


def box(left_m: float, bottom_m: float, wide_m: float, high_m: float) -> list[Points]:
    """Give a rectangle's one ring."""
    right_m, top_m = left_m + wide_m, bottom_m + high_m
    ring = [(left_m, bottom_m), (right_m, bottom_m), (right_m, top_m), (left_m, top_m)]
    return [np.array([*ring, ring[0]])]
