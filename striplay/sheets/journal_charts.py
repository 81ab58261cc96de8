"""Draw what strips yielded, and rows by their place from the edge, in the fills of the crops."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.looks import Look
from striplay.records.analysis import Interval
from striplay.sheets.flow import Drawn
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.paint import draw_dots, draw_lines, fill_shape
from striplay.sheets.pay_charts import nice_ticks
from striplay.sheets.style import HAIR_PT, INK, LINE_PT, MM, RULE, SMALLEST_PT, THIN_PT

HIGH_MM = 36.0
LEFT_PT, FOOT_PT, TOP_PT = 30.0, 20.0, 12.0
"""Room for the numbers of the axis, for what stands under bars, and for words over them."""
BAR_SHARE, WIDEST_PT = 0.72, 26.0
"""Width of a bar in steps from bar to bar, and at most."""
DOT_PT = 1.4
END_PT = 2.5
"""Half the length of the line that ends an interval."""
OVER = 1.06
"""The axis reaches so far over the highest bar."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar.

    Attributes:
        name: what stands under it.
        value: its height; None where nothing was measured.
        dot: whether a dot stands under its name.
        ends: interval of the value; None for none.
    """

    name: str
    value: float | None
    dot: bool = False
    ends: Interval | None = None


def bar_chart(
    bars: Sequence[Bar],
    look: Look,
    unit: str,
    width_mm: float,
    *,
    level: float | None = None,
    words: str = "",
) -> Drawn:
    """Draw a bar for each value, from nought.

    Args:
        bars: from the left.
        look: fill of the bars.
        unit: of the values, over the axis.
        width_mm: of the picture.
        level: value that a dashed line stands at; None for none.
        words: over the picture, on its right: what its lines are.
    """
    tops = [bar.value for bar in bars if bar.value is not None]
    tops += [bar.ends.high for bar in bars if bar.ends is not None and bar.ends.high < np.inf]
    highest = OVER * max([*tops, level or 0.0], default=1.0)

    def draw(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
        top_pt = high_pt - TOP_PT

        def up(value: float) -> float:
            return FOOT_PT + min(max(value, 0.0), highest) / (highest or 1.0) * (top_pt - FOOT_PT)

        _axis(canvas, [(one, up(one)) for one in nice_ticks(0.0, highest)], wide_pt)
        step_pt = min((wide_pt - LEFT_PT) / max(len(bars), 1), WIDEST_PT / BAR_SHARE)
        middles = LEFT_PT + step_pt * (np.arange(len(bars)) + 0.5)
        half_pt = BAR_SHARE * step_pt / 2
        shapes = [
            shapely.box(x - half_pt, up(0.0), x + half_pt, up(bar.value))
            for x, bar in zip(middles.tolist(), bars, strict=True)
            if bar.value is not None
        ]
        fill_shape(canvas, np.array(shapes, dtype=object), look.fill, THIN_PT, INK)
        for x, bar in zip(middles.tolist(), bars, strict=True):
            if bar.ends is not None:
                _interval(canvas, x, up(bar.ends.low), up(bar.ends.high))
        if level is not None:
            line = np.array([[(LEFT_PT, up(level)), (wide_pt, up(level))]])
            draw_lines(canvas, line, LINE_PT, "#ffffff")
            draw_lines(canvas, line, LINE_PT, INK, (4.0, 2.0))
        _names(canvas, middles.tolist(), bars, step_pt)
        write(canvas, 0.0, high_pt - SMALLEST_PT, unit, SMALLEST_PT)
        room_pt = wide_pt - width_pt(unit, SMALLEST_PT) - 8.0
        said = fitted(words, room_pt, SMALLEST_PT)
        write(canvas, wide_pt, high_pt - SMALLEST_PT, said, SMALLEST_PT, align=1)

    return Drawn(width_mm * MM, HIGH_MM * MM, draw)


def _axis(canvas: Canvas, ticks: Sequence[tuple[float, float]], wide_pt: float) -> None:
    """Draw the numbers of the axis, and a thin line across at each."""
    for value, y_pt in ticks:
        line = np.array([[(LEFT_PT - 2.0, y_pt), (wide_pt, y_pt)]])
        draw_lines(canvas, line, THIN_PT if value == 0.0 else HAIR_PT, INK if not value else RULE)
        write(canvas, LEFT_PT - 4.0, y_pt - 2.5, f"{value:,g}", SMALLEST_PT, align=1)


def _interval(canvas: Canvas, x_pt: float, low_pt: float, high_pt: float) -> None:
    """Draw an interval, white under black so that it shows on any fill."""
    lines = np.array(
        [
            [(x_pt, low_pt), (x_pt, high_pt)],
            *([(x_pt - END_PT, y), (x_pt + END_PT, y)] for y in (low_pt, high_pt)),
        ]
    )
    draw_lines(canvas, lines, 3 * LINE_PT, "#ffffff")
    draw_lines(canvas, lines, LINE_PT, INK)


def _names(canvas: Canvas, middles: Sequence[float], bars: Sequence[Bar], step_pt: float) -> None:
    """Write names and dots under bars, names where they have room; a dash stands for no value."""
    end_pt = -np.inf
    for x_pt, bar in zip(middles, bars, strict=True):
        half_pt = width_pt(bar.name, SMALLEST_PT) / 2
        if x_pt - half_pt > end_pt:
            write(canvas, x_pt, FOOT_PT - 9.0, bar.name, SMALLEST_PT, align=0.5)
            end_pt = x_pt + half_pt + 2.0
        if bar.value is None and step_pt > SMALLEST_PT:
            write(canvas, x_pt, FOOT_PT + 2.0, "-", SMALLEST_PT, align=0.5)
    dots = [(x_pt, FOOT_PT - 13.0) for x_pt, bar in zip(middles, bars, strict=True) if bar.dot]
    if dots:
        draw_dots(canvas, np.array(dots), DOT_PT)
