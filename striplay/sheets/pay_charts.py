"""Draw what moves an answer in money, and what strip widths leave, black on white."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from striplay.economics.chances import Bar
from striplay.economics.widths import Widths
from striplay.pay_report import money
from striplay.sheets.flow import Drawn
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.style import (
    BOLD_PT,
    GRAY,
    HAIR_PT,
    INK,
    LEADING,
    LINE_PT,
    MM,
    RULE,
    SMALLEST_PT,
    THIN_PT,
)
from striplay.units import UnitSystem, format_length

LIGHT, DARK = "#d9d9d9", "#8a8a8a"
"""Fills that any printer tells apart: of the least and of the most."""
ROW_PT = 13.0
NAME_MM = 62.0
"""Room for what a bar is, and its ends."""
PAD_PT = 3.0
TICKS = 6
"""About so many numbers along an axis."""
NICE = (1.0, 2.0, 2.5, 5.0, 10.0)
"""Steps between numbers of an axis, times a power of ten."""


def nice_ticks(low: float, high: float) -> list[float]:
    """Give round numbers for an axis from the one value to the other.

    >>> nice_ticks(-8.0, 19.0)
    [-5.0, 0.0, 5.0, 10.0, 15.0]
    """
    rough = max(high - low, 1e-9) / TICKS
    power = 10.0 ** (len(f"{rough:.0f}") - 1) if rough >= 1 else 0.1
    while rough < power:
        power /= 10.0
    step = next(power * nice for nice in NICE if power * nice >= rough * (1 - 1e-9))
    first = -int(-low // step) if low > 0 else int(low / step)
    ticks = [round((first + count) * step, 9) + 0.0 for count in range(2 * TICKS + 2)]
    return [tick for tick in ticks if low <= tick <= high]


def tornado_chart(bars: Sequence[Bar], middle: float, per: float, width_mm: float) -> Drawn:
    """Draw a bar for each figure: what strips leave more where it is least, and where it is most.

    Args:
        bars: the widest first.
        middle: what they leave more as reckoned.
        per: from money of the field to money by area.
        width_mm: of the picture.
    """
    ends = [0.0, middle * per, *(end * per for bar in bars for end in (bar.at_low, bar.at_high))]
    low, high = min(ends), max(ends)
    height_pt = (len(bars) + 1) * ROW_PT + 12.0

    def draw(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
        left_pt = NAME_MM * MM
        margin_pt = max(width_pt(money(end), SMALLEST_PT) for end in ends) + 2 * PAD_PT
        place = _scale((low, high), (left_pt + margin_pt, wide_pt - margin_pt))
        for number, bar in enumerate(bars):
            y_pt = high_pt - (number + 1) * ROW_PT
            _bar(canvas, bar, (place(bar.at_low * per), place(bar.at_high * per)), y_pt, per)
            name = f"{bar.name}, {bar.low} to {bar.high}"
            write(canvas, 0, y_pt + 2.5, fitted(name, left_pt - 2, SMALLEST_PT), SMALLEST_PT)
        foot_pt, top_pt = high_pt - len(bars) * ROW_PT - 2.0, high_pt
        for value, pen_pt, dash in ((0.0, BOLD_PT, ()), (middle * per, THIN_PT, (2, 2))):
            canvas.setStrokeColor(INK)
            canvas.setLineWidth(pen_pt)
            canvas.setDash(*dash)
            canvas.line(place(value), foot_pt, place(value), top_pt)
        canvas.setDash()
        words = "light to its least, dark to its most; thick line: even; dashed: as reckoned, "
        words += money(middle * per)
        write(canvas, wide_pt, foot_pt - 10.0, words, SMALLEST_PT, align=1, color=GRAY)

    return Drawn(width_mm * MM, height_pt, draw)


def _bar(canvas: Canvas, bar: Bar, ends_pt: tuple[float, float], y_pt: float, per: float) -> None:
    """Draw one bar: light to where the figure is least, dark to where it is most."""
    at_low, at_high = ends_pt
    half = (at_low + at_high) / 2
    canvas.setLineWidth(HAIR_PT)
    canvas.setStrokeColor(INK)
    for start, end, fill in ((at_low, half, LIGHT), (half, at_high, DARK)):
        canvas.setFillColor(fill)
        canvas.rect(min(start, end), y_pt, abs(end - start), ROW_PT - 3.0, fill=1, stroke=1)
    for end_pt, value in ((at_low, bar.at_low), (at_high, bar.at_high)):
        beyond = -1 if end_pt == min(ends_pt) else 1
        align = 1.0 if beyond < 0 else 0.0
        words = money(value * per)
        write(canvas, end_pt + beyond * PAD_PT, y_pt + 2.5, words, SMALLEST_PT, align=align)


def _scale(values: tuple[float, float], places: tuple[float, float]) -> Callable[[float], float]:
    """Give the function from values to places on the page."""
    low, high = values
    span = high - low or 1.0
    return lambda value: places[0] + (value - low) / span * (places[1] - places[0])


@dataclass(frozen=True)
class _Axes:
    """Where values lie on a chart of widths."""

    across: Callable[[float], float]
    up: Callable[[float], float]
    left_pt: float
    foot_pt: float
    right_pt: float
    top_pt: float


def widths_chart(widths: Widths, units: UnitSystem, per: float, width_mm: float) -> Drawn:
    """Draw what each strip width leaves more than the one laid, a band by its edges' gains.

    Args:
        widths: the widths.
        units: the plan's.
        per: from money of the field to money by area.
        width_mm: of the picture.
    """
    marks = _marks(widths, units, width_mm * MM)
    lines = 1 + max((line for *_, line in marks), default=-1)
    height_pt = 52 * MM + lines * SMALLEST_PT * LEADING

    def draw(canvas: Canvas, wide_pt: float, high_pt: float) -> None:
        axes = _axes(widths, per, wide_pt, high_pt, lines)
        _band(canvas, widths, per, axes)
        _frame(canvas, widths, units, per, axes)
        for at_m, name, line in marks:
            x_pt = axes.across(at_m)
            y_pt = axes.foot_pt - 14.0 - (line + 1) * SMALLEST_PT * LEADING
            _pointer(canvas, x_pt, axes.foot_pt)
            _named(canvas, x_pt, y_pt, name, axes)

    return Drawn(width_mm * MM, height_pt, draw)


def _pointer(canvas: Canvas, x_pt: float, y_pt: float) -> None:
    """Point up to a place on the axis."""
    shape = canvas.beginPath()
    shape.moveTo(x_pt, y_pt)
    shape.lineTo(x_pt - 2.5, y_pt - 5.0)
    shape.lineTo(x_pt + 2.5, y_pt - 5.0)
    shape.close()
    canvas.setFillColor(INK)
    canvas.drawPath(shape, fill=1, stroke=0)


def _named(canvas: Canvas, x_pt: float, y_pt: float, name: str, axes: _Axes) -> None:
    """Write a machine's name under its mark, inside the chart."""
    half = width_pt(name, SMALLEST_PT) / 2
    at = min(max(x_pt, axes.left_pt + half), axes.right_pt - half)
    write(canvas, at, y_pt, name, SMALLEST_PT, align=0.5)


LEFT_PT = 40.0


def _most_m(widths: Widths) -> float:
    return max(one.width_m for one in widths.each) * 1.12


def _marks(widths: Widths, units: UnitSystem, wide_pt: float) -> list[tuple[float, str, int]]:
    """Place the machines' widths under the axis, names on as many lines as keep them apart."""
    across = _scale((0.0, _most_m(widths)), (LEFT_PT, wide_pt - 4.0))
    by_width: dict[float, list[str]] = {}
    for name, width_m in widths.machines_m.items():
        if width_m <= _most_m(widths):
            by_width.setdefault(round(width_m, 3), []).append(name)
    ends_pt: list[float] = []
    found = []
    for width_m, names in sorted(by_width.items()):
        words = f"{', '.join(names)} {format_length(width_m, units)}"
        half = width_pt(words, SMALLEST_PT) / 2
        middle = min(max(across(width_m), LEFT_PT + half), wide_pt - 4.0 - half)
        line = next((n for n, end in enumerate(ends_pt) if end < middle - half), len(ends_pt))
        if line == len(ends_pt):
            ends_pt.append(0.0)
        ends_pt[line] = middle + half + 6.0
        found.append((width_m, words, line))
    return found


def _axes(widths: Widths, per: float, wide_pt: float, high_pt: float, lines: int) -> _Axes:
    """Lay out the chart."""
    values = [0.0]
    for one in widths.each:
        ends = (one.edges.low, one.edges.high, 0.0)
        values += [(end - one.extra_cost) * per for end in ends]
    spread = (max(values) - min(values)) or 1.0
    foot_pt = 27.0 + lines * SMALLEST_PT * LEADING
    top_pt = high_pt - 14.0
    return _Axes(
        _scale((0.0, _most_m(widths)), (LEFT_PT, wide_pt - 4.0)),
        _scale((min(values) - 0.06 * spread, max(values) + 0.06 * spread), (foot_pt, top_pt)),
        LEFT_PT,
        foot_pt,
        wide_pt - 4.0,
        top_pt,
    )


def _band(canvas: Canvas, widths: Widths, per: float, axes: _Axes) -> None:
    """Draw the band from least to most, its middle, and what is left without gains."""
    x_pt = [axes.across(one.width_m) for one in widths.each]

    def y_pt(gains: Sequence[float]) -> list[float]:
        pairs = zip(gains, widths.each, strict=True)
        return [axes.up((gain - one.extra_cost) * per) for gain, one in pairs]

    low = y_pt([one.edges.low for one in widths.each])
    high = y_pt([one.edges.high for one in widths.each])
    shape = canvas.beginPath()
    shape.moveTo(x_pt[0], low[0])
    points = [*zip(x_pt, low, strict=True), *reversed(list(zip(x_pt, high, strict=True)))]
    for x, y in points[1:]:
        shape.lineTo(x, y)
    shape.close()
    canvas.setFillColor(LIGHT)
    canvas.setStrokeColor(DARK)
    canvas.setLineWidth(HAIR_PT)
    canvas.drawPath(shape, fill=1, stroke=1)
    middle = y_pt([one.edges.central for one in widths.each])
    none = y_pt([0.0] * len(widths.each))
    canvas.setStrokeColor(INK)
    for line, pen_pt, dash in ((middle, BOLD_PT, ()), (none, LINE_PT, (3, 2))):
        canvas.setLineWidth(pen_pt)
        canvas.setDash(*dash)
        for start, end in zip(range(len(line) - 1), range(1, len(line)), strict=True):
            canvas.line(x_pt[start], line[start], x_pt[end], line[end])
    canvas.setDash()
    canvas.setFillColor(INK)
    for one, x, y in zip(widths.each, x_pt, middle, strict=True):
        canvas.circle(x, y, 3.2 if one.laid else 1.8, fill=1, stroke=0)


def _frame(canvas: Canvas, widths: Widths, units: UnitSystem, per: float, axes: _Axes) -> None:
    """Draw axes, their numbers, and what the lines are."""
    values = [0.0]
    for one in widths.each:
        values += [(end - one.extra_cost) * per for end in (one.edges.low, one.edges.high, 0.0)]
    canvas.setLineWidth(HAIR_PT)
    canvas.setStrokeColor(RULE)
    for tick in nice_ticks(min(values), max(values)):
        y_pt = axes.up(tick)
        canvas.line(axes.left_pt, y_pt, axes.right_pt, y_pt)
        words = f"{tick:+,g}" if tick else "0"
        write(canvas, axes.left_pt - PAD_PT, y_pt - 2.5, words, SMALLEST_PT, align=1)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(THIN_PT)
    canvas.line(axes.left_pt, axes.foot_pt, axes.right_pt, axes.foot_pt)
    end_pt = 0.0
    for one in widths.each:
        words, x_pt = format_length(one.width_m, units), axes.across(one.width_m)
        half = width_pt(words, SMALLEST_PT) / 2
        canvas.line(x_pt, axes.foot_pt, x_pt, axes.foot_pt - 2.0)
        if x_pt - half > end_pt:
            write(canvas, x_pt, axes.foot_pt - 13.0, words, SMALLEST_PT, align=0.5)
            end_pt = x_pt + half + 4.0
    area = "ac" if units == "us" else "ha"
    words = (
        f"money per {area} against the set laid (large dot); band: edges' least to most; line: "
        "their middle; dashed: no gain"
    )
    room_pt = axes.right_pt
    write(canvas, 0, axes.top_pt + 5.0, fitted(words, room_pt, SMALLEST_PT), SMALLEST_PT)
