"""Draw what every heading costs: the parts stacked, the chosen heading a dot on them."""

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.accounts.words import cost_words, off_words
from striplay.geometry.directions import HALF_TURN_DEG, angle_deg
from striplay.looks import Fill
from striplay.search.cost import PARTS
from striplay.sheets.along import spread
from striplay.sheets.book import Book
from striplay.sheets.flow import Drawn, Story, paragraph, part, together
from striplay.sheets.fonts import width_pt, write
from striplay.sheets.paint import draw_lines, fill_shape, swatch
from striplay.sheets.style import (
    HAIR_PT,
    INK,
    LEADING,
    LINE_PT,
    MM,
    PALE,
    SMALLEST_PT,
    TEXT_PT,
    THIN_PT,
)
from striplay.tolerances import ALIKE_DEG
from striplay.units import degrees

if TYPE_CHECKING:
    from striplay.laid_plan import Layout
    from striplay.search.choice import Choice
    from striplay.search.headings import Searched

Floats = npt.NDArray[np.float64]

PART_FILLS = (
    Fill("#e3e3e3"), Fill("#8c8c8c"), Fill("#ffffff", "rising"), Fill("#bdbdbd"), Fill("#ffffff"),
    Fill("#6e6e6e"), Fill("#d0d0d0", "dots"),
)  # fmt: skip
"""Grays of the parts of the cost, in the order of `PARTS`: each apart from those it lies on."""
BEYOND_DEG = 4.0
"""Shown beyond 0 and 180 degrees, so that a dot there does not lie on the frame."""
TITLE, CHOSEN, USUAL = "Cost against heading", "chosen", "longest edge"
HIGH_MM, AXIS_MM, OVER_MM, UNDER_MM = 64.0, 16.0, 9.5, 9.0
"""Of the picture: its height, and room left of, over and under the stack."""
LIST_MM = 74.0
"""Room for the list of parts beside it."""
SMOOTH_PT = 0.05
"""Edges of the stack are drawn this near."""
DOT_PT, RING_PT = 2.6, 5.0
"""The ring is wide enough to show round a dot that lies on it."""
STANDS = (
    "Every heading stands at its best offset. Headland: what it loses, planted or not. Bare land: "
    "what nothing is planted on. Partial-width passes: machine width that runs over nothing, as on "
    "strips cut along their length. Overlap at point rows: ground worked twice where an end slants."
)
PRICES = "Prices are the plan's, or orders of magnitude to begin with: see the methods page."


def cost_part(book: Book, layout: "Layout") -> Story:
    """Tell what headings cost, block by block; empty along a curve and where nothing costs."""
    blocks = layout.laid.blocks
    drawn: Story = []
    for number, block in enumerate(blocks, start=1):
        searched, choice = block.searched, block.choice
        if searched is None or choice is None or not np.nansum(searched.parts) > 0:
            continue
        picture = _Picture(book, searched, choice)
        of = f"Block {number}. " if len(blocks) > 1 else ""
        words = [paragraph(said) for said in _words(searched, choice, of)]
        head = [] if drawn else part(TITLE)
        drawn.append(
            together(*head, Drawn(book.inner_mm * MM, HIGH_MM * MM, picture.draw_on), *words)
        )
    told = [STANDS, PRICES] if drawn else []
    cost = layout.accounts.get("cost")  # none along a curve
    stated = all(block.searched is None for block in blocks)
    if cost and stated and len(blocks) == 1:
        heading_deg = blocks[0].heading_deg
        said = f"The plan states its heading, {degrees(heading_deg)} degrees; no other was weighed."
        told = [said, f"Its {cost_words(cost, heading_deg)}.", PRICES]
    head = part(TITLE) if told and not drawn else []
    return [*head, *drawn, *(paragraph(one, above_mm=0.8) for one in told)]


class _Picture:
    """The picture of a block's cost against heading, in points on its page."""

    def __init__(self, book: Book, searched: "Searched", choice: "Choice") -> None:
        self.searched, self.choice = searched, choice
        self.shown = np.flatnonzero(np.nanmax(searched.parts, axis=0) > 0)
        self.left_pt = AXIS_MM * MM
        self.right_pt = (book.inner_mm - LIST_MM) * MM
        self.bottom_pt, self.top_pt = UNDER_MM * MM, (HIGH_MM - OVER_MM) * MM
        self.list_pt = self.right_pt + 6 * MM
        self.end_pt = book.inner_mm * MM
        totals = searched.parts.sum(axis=1)
        self.ticks = nice_ticks(max(float(np.nanmax(totals)), choice.total))
        self.most = self.ticks[-1]

    def x_pt(self, heading_deg: float | Floats) -> Floats:
        """Give where headings stand."""
        share = (np.asarray(heading_deg) + BEYOND_DEG) / (HALF_TURN_DEG + 2 * BEYOND_DEG)
        return self.left_pt + share * (self.right_pt - self.left_pt)

    def y_pt(self, money: float | Floats) -> Floats:
        """Give where amounts stand."""
        share = np.asarray(money) / self.most
        return self.bottom_pt + share * (self.top_pt - self.bottom_pt)

    def draw_on(self, canvas: Canvas, _width_pt: float, _height_pt: float) -> None:
        """Draw it."""
        self._stack(canvas)
        self._axes(canvas)
        self._marks(canvas)
        self._list(canvas)

    def _stack(self, canvas: Canvas) -> None:
        """Draw the parts on each other; nothing where no strip can be laid."""
        headings_deg, parts = whole_turn(self.searched.headings_deg, self.searched.parts)
        x_pt = np.clip(self.x_pt(headings_deg), self.left_pt, self.right_pt)
        edges = np.concatenate([np.zeros((len(parts), 1)), np.cumsum(parts, axis=1)], axis=1)
        y_pt = self.y_pt(edges)
        laid = np.isfinite(y_pt).all(axis=1)
        bounds = np.flatnonzero(np.diff(np.concatenate([[False], laid, [False]]).astype(int)))
        runs = [slice(low, high) for low, high in bounds.reshape(-1, 2) if high - low > 1]
        for at in self.shown:
            rings = [
                np.concatenate(
                    [np.column_stack([x_pt[run], y_pt[run, at + 1]]),
                     np.column_stack([x_pt[run], y_pt[run, at]])[::-1]]
                )
                for run in runs
            ]  # fmt: skip
            shapes = shapely.simplify(
                np.array([shapely.Polygon(ring) for ring in rings], dtype=object),
                SMOOTH_PT,
                preserve_topology=False,
            )
            fill_shape(canvas, shapes, PART_FILLS[at], HAIR_PT, INK)

    def _axes(self, canvas: Canvas) -> None:
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(THIN_PT)
        tall_pt = self.top_pt - self.bottom_pt
        canvas.rect(self.left_pt, self.bottom_pt, self.right_pt - self.left_pt, tall_pt)
        for tick in self.ticks:
            y_pt = float(self.y_pt(tick))
            ends = np.array([[[self.left_pt - 3, y_pt], [self.left_pt, y_pt]]])
            draw_lines(canvas, ends, THIN_PT, INK)
            write(canvas, self.left_pt - 5, y_pt - 2.5, f"{tick:,.0f}", SMALLEST_PT, align=1)
        for heading_deg in range(0, 181, 30):
            x_pt = float(self.x_pt(heading_deg))
            ends = np.array([[[x_pt, self.bottom_pt - 3], [x_pt, self.bottom_pt]]])
            draw_lines(canvas, ends, THIN_PT, INK)
            write(canvas, x_pt, self.bottom_pt - 10, f"{heading_deg}°", SMALLEST_PT, align=0.5)
        middle_pt = (self.left_pt + self.right_pt) / 2
        said = "heading, degrees clockwise from true north"
        write(canvas, middle_pt, self.bottom_pt - 20, said, SMALLEST_PT, align=0.5)
        high_pt = HIGH_MM * MM
        write(canvas, 0, high_pt - 8, "money a year", SMALLEST_PT)

    def _marks(self, canvas: Canvas) -> None:
        """Mark the chosen heading by a dot, the usual one by a ring; say which is which over it."""
        marks = [(self.choice.heading_deg, self.choice.total, CHOSEN, INK)]
        usual = _beside(self.searched, self.choice)
        if usual is not None:
            marks.append((usual.heading_deg, usual.total, USUAL, "#ffffff"))
        marks.sort()
        labels = [f"{said} {degrees(heading_deg)}°" for heading_deg, _, said, _ in marks]
        wanted = [
            (float(self.x_pt(heading_deg)), width_pt(label, SMALLEST_PT, bold=True) + 8)
            for (heading_deg, *_), label in zip(marks, labels, strict=True)
        ]
        places = spread(wanted, self.left_pt, self.right_pt)
        over_pt = self.top_pt + 4
        for (heading_deg, money, *_), label, place_pt in zip(marks, labels, places, strict=True):
            write(canvas, place_pt, over_pt + 4, label, SMALLEST_PT, bold=True, align=0.5)
            x_pt, y_pt = float(self.x_pt(heading_deg)), float(self.y_pt(money))
            lead = np.array([[[place_pt, over_pt + 2], [x_pt, over_pt - 3]]])
            fall = np.array([[[x_pt, over_pt - 3], [x_pt, y_pt]]])
            draw_lines(canvas, lead, LINE_PT, INK)
            draw_lines(canvas, fall, LINE_PT, INK, (3.0, 2.0))
        for heading_deg, money, _, color in sorted(marks, key=lambda one: one[2] == CHOSEN):
            for turn_deg in (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG):
                if abs(heading_deg + turn_deg - HALF_TURN_DEG / 2) < HALF_TURN_DEG / 2 + BEYOND_DEG:
                    x_pt = float(self.x_pt(heading_deg + turn_deg))
                    size_pt = DOT_PT if color == INK else RING_PT
                    self._dot(canvas, x_pt, float(self.y_pt(money)), color, size_pt)

    @staticmethod
    def _dot(canvas: Canvas, x_pt: float, y_pt: float, color: str, size_pt: float) -> None:
        canvas.setFillColor("#ffffff")
        canvas.circle(x_pt, y_pt, size_pt + 1.4, stroke=0, fill=1)
        canvas.setFillColor(color)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(LINE_PT)
        canvas.circle(x_pt, y_pt, size_pt, stroke=1, fill=1)

    def _list(self, canvas: Canvas) -> None:
        """List the parts as they lie on each other, with their cost at the marked headings."""
        beside = _beside(self.searched, self.choice)
        ends_pt = [self.end_pt - (19 * MM if beside else 0), self.end_pt]
        columns = [(CHOSEN, self.choice), *([(USUAL, beside)] if beside else [])]
        step_pt = TEXT_PT * LEADING + 2.4
        y_pt = self.top_pt - 1
        for (said, _), end_pt in zip(columns, ends_pt, strict=False):
            write(canvas, end_pt, y_pt, said, SMALLEST_PT, align=1)
        rows = [(PARTS[at], at) for at in self.shown[::-1]]
        for name, at in rows:
            y_pt -= step_pt
            swatch(canvas, self.list_pt, y_pt - 1.5, 12, 8, PART_FILLS[at])
            write(canvas, self.list_pt + 16, y_pt, name, SMALLEST_PT)
            for (_, one), end_pt in zip(columns, ends_pt, strict=False):
                write(canvas, end_pt, y_pt, f"{one.parts[at]:,.0f}", SMALLEST_PT, align=1)
        y_pt -= step_pt
        rule = np.array([[[self.list_pt, y_pt + 8.4], [self.end_pt, y_pt + 8.4]]])
        draw_lines(canvas, rule, THIN_PT, PALE)
        write(canvas, self.list_pt + 16, y_pt, "all", SMALLEST_PT, bold=True)
        for (_, one), end_pt in zip(columns, ends_pt, strict=False):
            write(canvas, end_pt, y_pt, f"{one.total:,.0f}", SMALLEST_PT, bold=True, align=1)


def nice_ticks(most: float, about: int = 5) -> list[float]:
    """Give round amounts from 0 to the first that is not less than the most.

    >>> nice_ticks(4300.0)
    [0.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0]
    >>> nice_ticks(0.7)
    [0.0, 1.0]
    """
    each = max(most / about, 1.0)
    power = 10.0 ** math.floor(math.log10(each))
    step = next(power * one for one in (1, 2, 2.5, 5, 10) if power * one >= each * (1 - 1e-9))
    step = max(1.0, step if step % 1 == 0 else 2 * step)
    return [step * number for number in range(math.ceil(most / step - 1e-9) + 1)]


def whole_turn(headings_deg: Floats, parts: Floats) -> tuple[Floats, Floats]:
    """Go on past 0 and 180 degrees, which are the same heading, farther than is shown."""
    turns = (-HALF_TURN_DEG, 0.0, HALF_TURN_DEG)
    around_deg = np.concatenate([headings_deg + turn for turn in turns])
    low, high = np.searchsorted(around_deg, (-BEYOND_DEG, HALF_TURN_DEG + BEYOND_DEG))
    shown = slice(max(0, low - 1), high + 1)
    return around_deg[shown], np.concatenate([parts] * len(turns))[shown]


def _beside(searched: "Searched", choice: "Choice") -> "Choice | None":
    """Give the usual layout where it can be laid, at another heading than the best."""
    usual = searched.usual
    return usual if usual and usual.laid and not _same(usual, choice) else None


def _same(usual: "Choice", choice: "Choice") -> bool:
    """Tell whether the best heading is the usual one, as far as headings are written."""
    return degrees(choice.heading_deg) == degrees(usual.heading_deg)


def _offset_words(best: "Choice", usual: "Choice") -> str:
    """Say how the best layout differs from the usual one at the same heading."""
    if best.offset_m == usual.offset_m and best.section == usual.section:
        return ", at its best offset"
    only = "only the offset differs: " if best.section == usual.section else ""
    return f"; {only}at its best offset it costs {usual.total:,.0f}"


def _ring_words(usual: "Choice | None", choice: "Choice") -> str:
    """Say how the layout along the longest edge compares."""
    if usual is None:
        return "No edge is straight for long enough to compare with."
    along = degrees(usual.heading_deg)
    if not usual.laid:
        return f"Along the longest edge, {along} degrees, no strips can be laid."
    if _same(usual, choice):
        return f"That is along the longest edge too{_offset_words(choice, usual)}."
    if angle_deg(choice.heading_deg, usual.heading_deg) <= ALIKE_DEG:
        return f"Ring: along the longest edge, {along} degrees: the same, as near as can be driven."
    return f"Ring: along the longest edge, {along} degrees: {usual.total:,.0f}."


def _words(searched: "Searched", choice: "Choice", of: str) -> list[str]:
    """Say what the marks mean, what is near them, and what a heading a little off costs."""
    chosen = degrees(choice.heading_deg)
    dot = f"{of}Dot: the heading chosen, {chosen} degrees: {choice.total:,.0f} a year."
    ring = _ring_words(searched.usual, choice)
    off = choice.off_more
    missed = "" if off is None else f" {off_words(off)} a year."
    gaps = ["Gaps: headings at which no strip can be laid."]
    return [
        f"{dot}{missed} {ring}",
        *(gaps if np.isnan(searched.parts).any() else []),
    ]
