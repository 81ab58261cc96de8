"""Draw the season: a bar a crop, its days marked, and conflicts in words."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas

from striplay.growing import Season
from striplay.looks import HEADLAND, Fill
from striplay.season.calendar import Window
from striplay.section.after_harvest import layers_besides
from striplay.section.mixture import mixtures_of
from striplay.section.section import placed_words
from striplay.sheets.along import spread
from striplay.sheets.book import Book
from striplay.sheets.flow import Drawn, Story, paragraph, part
from striplay.sheets.fonts import fitted, width_pt, write
from striplay.sheets.paint import draw_lines, fill_shape, on_white
from striplay.sheets.style import (
    BOLD_PT,
    GRAY,
    HAIR_PT,
    INK,
    LINE_PT,
    MM,
    PALE,
    SMALLEST_PT,
    TEXT_PT,
    THIN_PT,
)

NAMES_MM = 40.0
"""Room for the crops' names, left of their bars."""
PITCH_MM, BAR_MM, PART_MM = 12.0, 5.0, 3.0
"""From bar to bar; a bar; that of a part of a mixture. The dates stand under it."""
MOST_BARS = 15
"""Bars of one picture; more go on in another."""
MARKS_PT = 4.0
"""Room for marks that reach beyond the last day."""
FEET_MM = 9.0
"""Room for months and years under the bars."""
NUMBER_MM = 5.2
"""From number to number of conflicts, along the picture and up."""
GAP_MM, HANG_MM = 2.0, 5.0
MONTH_MM = 8.0
NOTE_MM = 3.0
"""Between lines of what a crop is besides."""
"""Room that a month's name needs."""
PAD_DAYS, OPEN_DAYS = 7, 45
"""Days drawn before the first sowing and after the last harvest; after a sowing whose harvest is
not said."""
SHADE = "#e6e6e6"
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Attributes:
        window: when the crop, or mixture, stands.
        note: what it is besides a crop of its own strips: between another's rows, or in a mixture.
        part: whether it is part of a mixture that has a bar itself.
        edge: whether it stands on the headland alone.
        reaped: whether it is harvested; else it is ended.
    """

    window: Window
    note: str
    part: bool
    edge: bool = False
    reaped: bool = True


def bars_of(season: Season) -> list[Bar]:
    """List bars in the order of the set: a mixture's parts under it, the headland last.

    Crops of the plan that stand nowhere in the field have none.
    """
    plan, settled, mixtures = season.plan, season.windows, mixtures_of(season.plan)
    order = tuple(settled) if season.section is None else season.section.names
    placed = placed_words(layers[0] for layers in layers_besides(plan))
    labels = {strip.crop for strip in season.section.strips} if season.section else set(order)
    listed: list[tuple[str, str, bool, bool]] = []
    for name in order:
        listed.append((name, placed.get(name, ""), False, False))
        if name in mixtures:
            parts = (one for one in mixtures[name] if one not in labels)
            listed += [(one, f"in {name}", True, False) for one in parts]
    if plan.headland_crop is not None:
        listed.append((plan.headland_crop, "headland", False, True))
    bars: dict[str, Bar] = {}
    for name, note, is_part, edge in listed:
        if name in settled:
            reaped = name not in plan.crops or plan.crops[name].reaped
            bars.setdefault(name, Bar(settled[name], note, is_part, edge, reaped))
    return list(bars.values())


def season_part(book: Book, season: Season) -> Story:
    """Tell of the season: its picture, and its conflicts in words; empty where no day is said."""
    bars = bars_of(season)
    if not bars:
        return []
    days = sorted({one.day for one in season.conflicts if one.day is not None})
    numbers = {day: number for number, day in enumerate(days, start=1)}
    begin, end = _span(bars)
    pictures = []
    for first in range(0, len(bars), MOST_BARS):
        picture = _Picture(book, bars[first : first + MOST_BARS], numbers, begin, end)
        pictures.append(Drawn(book.inner_mm * MM, picture.height_mm * MM, picture.draw_on))
    words = [paragraph(said, hang_mm=HANG_MM) for said in _words(season, bars, numbers)]
    return [*part("The season"), *pictures, *words]


def _span(bars: Sequence[Bar]) -> tuple[date, date]:
    """Give what is shown: from a week before the first sowing to a while after the last day."""
    windows = [bar.window for bar in bars]
    days = [
        day for w in windows for day in (w.sown, w.canopy_closure, w.harvested) if day is not None
    ]
    still = [w.sown + timedelta(OPEN_DAYS) for w in windows if w.harvested is None]
    return min(days) - timedelta(PAD_DAYS), max([max(days) + timedelta(PAD_DAYS), *still])


class _Picture:
    """The picture of some bars: days along it, bars from its top down; in points on its page."""

    def __init__(
        self,
        book: Book,
        bars: Sequence[Bar],
        numbers: Mapping[date, int],
        begin: date,
        end: date,
    ) -> None:
        self.book, self.bars, self.begin, self.end = book, bars, begin, end
        self.numbers = {day: number for day, number in numbers.items() if begin <= day <= end}
        self.left_pt, self.right_pt = NAMES_MM * MM, book.inner_mm * MM - MARKS_PT
        room_mm = book.inner_mm - NAMES_MM - NUMBER_MM
        self.rows = math.ceil(len(self.numbers) * NUMBER_MM / room_mm)
        self.bottom_pt = FEET_MM * MM
        self.top_pt = self.bottom_pt + (PITCH_MM * len(bars) + 2.0) * MM
        self.height_mm = self.top_pt / MM + (self.rows * NUMBER_MM + 2.0 if self.rows else 0.0)

    def x_pt(self, day: date) -> float:
        """Give where a day stands."""
        share = (day - self.begin).days / (self.end - self.begin).days
        return self.left_pt + (self.right_pt - self.left_pt) * share

    def draw_on(self, canvas: Canvas, _width_pt: float, _height_pt: float) -> None:
        """Draw it."""
        self._overlaps(canvas)
        self._months(canvas)
        self._years(canvas)
        self._conflict_days(canvas)
        for index, bar in enumerate(self.bars):
            self._bar(canvas, bar, self.top_pt - (index * PITCH_MM + 3.0) * MM)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(THIN_PT)
        canvas.rect(
            self.left_pt, self.bottom_pt, self.right_pt - self.left_pt, self.top_pt - self.bottom_pt
        )

    def _places(self, labels: Iterable[tuple[float, str]], size_pt: float) -> list[float]:
        """Give where labels stand along the days, moved apart where they would meet."""
        wanted = [(x_pt, width_pt(text, size_pt) + GAP_MM * MM) for x_pt, text in labels]
        return spread(wanted, self.left_pt, self.right_pt)

    def _overlaps(self, canvas: Canvas) -> None:
        """Shade the days on which two or more crops stand; a mixture counts once, its parts not."""
        windows = [bar.window for bar in self.bars if not bar.part]
        edges = sorted({d for w in windows for d in (w.sown, w.harvested or self.end)})
        canvas.setFillColor(SHADE)
        for low, high in pairwise(edges):
            standing = sum(
                w.sown <= low and (w.harvested is None or w.harvested >= high) for w in windows
            )
            if standing > 1:
                low_pt, high_pt = self.x_pt(low), self.x_pt(high)
                tall_pt = self.top_pt - self.bottom_pt
                canvas.rect(low_pt, self.bottom_pt, high_pt - low_pt, tall_pt, stroke=0, fill=1)

    def _upright(self, canvas: Canvas, x_pt: float, wide_pt: float, color: str) -> None:
        ends = np.array([[[x_pt, self.bottom_pt], [x_pt, self.top_pt]]])
        draw_lines(canvas, ends, wide_pt, color)

    def _months(self, canvas: Canvas) -> None:
        """Draw months' lines, and write their names under them where there is room."""
        begin, end = self.begin, self.end
        months = [
            month
            for year in range(begin.year, end.year + 1)
            for month in (date(year, number, 1) for number in range(1, 13))
            if begin < _after(month, 1) and month < end
        ]
        each_mm = (self.right_pt - self.left_pt) / MM / len(months)
        step = next(step for step in (1, 2, 3, 6, 12, 120) if each_mm * step >= MONTH_MM)
        for month in (month for month in months if (month.month - 1) % step == 0):
            low_pt = self.x_pt(max(month, begin))
            if month >= begin:
                new_year = month.month == 1 and month > begin
                look = (LINE_PT, GRAY) if new_year else (HAIR_PT, PALE)
                self._upright(canvas, low_pt, *look)
            high_pt = self.x_pt(min(_after(month, step), end))
            name = MONTHS[month.month - 1]
            wide_pt = width_pt(name, SMALLEST_PT)
            if high_pt - low_pt >= wide_pt + 1.0 * MM:
                middle_pt = (low_pt + high_pt) / 2 if step == 1 else low_pt + wide_pt / 2 + 1.5
                y_pt = self.bottom_pt - 3.4 * MM
                write(canvas, middle_pt, y_pt, name, SMALLEST_PT, align=0.5)

    def _years(self, canvas: Canvas) -> None:
        """Write the years under the months, each in the middle of what is shown of it."""
        labels = []
        for year in range(self.begin.year, self.end.year + 1):
            first, last = max(date(year, 1, 1), self.begin), min(date(year + 1, 1, 1), self.end)
            labels.append(((self.x_pt(first) + self.x_pt(last)) / 2, str(year)))
        for (_, text), x_pt in zip(labels, self._places(labels, TEXT_PT), strict=True):
            y_pt = self.bottom_pt - 7.4 * MM
            write(canvas, x_pt, y_pt, text, SMALLEST_PT, bold=True, align=0.5)

    def _numbered(self) -> list[tuple[int, float, float, float]]:
        """Give each conflict's number, where its day is, and where the number stands.

        Numbers take turns on as many lines as they need.
        """
        found = []
        for row in range(self.rows):
            listed = list(self.numbers.items())[row :: self.rows]
            wanted = [(self.x_pt(day), NUMBER_MM * MM) for day, _ in listed]
            places = spread(wanted, self.left_pt - NUMBER_MM * MM / 2, self.right_pt)
            y_pt = self.top_pt + (2.0 + (row + 0.5) * NUMBER_MM) * MM
            for (at_pt, _), (_, number), x_pt in zip(wanted, listed, places, strict=True):
                found.append((number, at_pt, x_pt, y_pt))
        return found

    def _conflict_days(self, canvas: Canvas) -> None:
        """Draw a broken line at each day of a conflict, with the number its words begin with."""
        numbered = self._numbered()
        for _, at_pt, x_pt, y_pt in numbered:
            line = np.array([[[at_pt, self.bottom_pt], [at_pt, self.top_pt]]])
            draw_lines(canvas, line, LINE_PT, INK, (4.0, 2.0))
            draw_lines(canvas, np.array([[[at_pt, self.top_pt], [x_pt, y_pt]]]), THIN_PT, INK)
        for number, _, x_pt, y_pt in numbered:
            self._number(canvas, x_pt, y_pt, number)

    @staticmethod
    def _number(canvas: Canvas, x_pt: float, y_pt: float, number: int) -> None:
        canvas.setFillColor("#ffffff")
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(LINE_PT)
        said = str(number)
        canvas.circle(x_pt, y_pt, NUMBER_MM * MM / 2 - 1.0, stroke=1, fill=1)
        write(canvas, x_pt, y_pt - 2.55, said, SMALLEST_PT, bold=True, align=0.5)

    def _fill(self, bar: Bar) -> Fill:
        look = self.book.looks.get(bar.window.crop)
        return HEADLAND if look is None or bar.edge else look.fill

    def _bar(self, canvas: Canvas, bar: Bar, top_pt: float) -> None:
        """Draw one bar, from its upper edge down: its name, its marks, and their days under it."""
        window = bar.window
        high_pt = (PART_MM if bar.part else BAR_MM) * MM
        bottom_pt = top_pt - high_pt
        low_pt, end_pt = self.x_pt(window.sown), self.x_pt(window.harvested or self.end)
        box = shapely.box(low_pt, bottom_pt, end_pt, top_pt)
        fill_shape(canvas, box, self._fill(bar), THIN_PT, INK)
        end = "harvested" if bar.reaped else "ended"
        labels = (
            []
            if window.harvested
            else [(end_pt, "harvest not said" if bar.reaped else "end not said")]
        )
        for day, said in (
            (window.sown, "sown"), (window.canopy_closure, "closes"),
            (window.harvested, end),
        ):  # fmt: skip
            if day is not None:
                labels.append((self.x_pt(day), f"{said} {day.isoformat()}"))
                self._mark(canvas, said, self.x_pt(day), bottom_pt, high_pt)
        labels.sort()
        for (_, text), x_pt in zip(labels, self._places(labels, SMALLEST_PT), strict=True):
            on_white(canvas, x_pt, bottom_pt - 2.2 * MM, text, SMALLEST_PT)
        self._name(canvas, bar, top_pt - high_pt / 2)

    @staticmethod
    def _mark(canvas: Canvas, said: str, x_pt: float, bottom_pt: float, high_pt: float) -> None:
        """Mark a day on its bar: an arrow, a thick line or a square, on white."""
        middle_pt = bottom_pt + high_pt / 2
        if said == "closes":
            ends = np.array([[[x_pt, bottom_pt - 2], [x_pt, bottom_pt + high_pt + 2]]])
            draw_lines(canvas, ends, 3 * BOLD_PT, "#ffffff")
            draw_lines(canvas, ends, BOLD_PT, INK)
            return
        shape = shapely.box(x_pt - 2.6, middle_pt - 2.6, x_pt + 2.6, middle_pt + 2.6)
        if said == "sown":
            tip = [
                (x_pt - 3, middle_pt - 3.4),
                (x_pt + 3.4, middle_pt),
                (x_pt - 3, middle_pt + 3.4),
            ]
            shape = shapely.Polygon(tip)
        fill_shape(canvas, shape, Fill(INK), LINE_PT, "#ffffff")

    def _name(self, canvas: Canvas, bar: Bar, middle_pt: float) -> None:
        """Write a crop's letter and name left of its bar, and under it what it is besides."""
        window, look = bar.window, self.book.looks.get(bar.window.crop)
        left_pt = 0.0 if look else 3.0 * MM
        room_pt = self.left_pt - 2.0 * MM - left_pt
        size_pt = SMALLEST_PT if bar.part else TEXT_PT
        name = f"{look.letter}  {window.crop}" if look else window.crop
        shown = fitted(name, room_pt, size_pt, bold=not bar.part)
        write(canvas, left_pt, middle_pt - 0.7 * MM, shown, size_pt, bold=not bar.part)
        long = "" if window.harvested is None else f"{(window.harvested - window.sown).days} days"
        said = [", ".join(one for one in (long, bar.note) if one)]
        if width_pt(said[0], SMALLEST_PT) > room_pt and long:
            said = [long, bar.note]
        for line, one in enumerate(said):
            y_pt = middle_pt - (4.0 + line * NOTE_MM) * MM
            write(canvas, left_pt, y_pt, fitted(one, room_pt, SMALLEST_PT), SMALLEST_PT, color=GRAY)


def _after(month: date, months: int) -> date:
    """Give the first of a month so many after another."""
    count = month.year * 12 + month.month - 1 + months
    return date(count // 12, count % 12 + 1, 1)


def _words(season: Season, bars: Sequence[Bar], numbers: Mapping[date, int]) -> list[str]:
    """Say what the marks mean, the conflicts by number, and what could not be told."""
    ended = "" if all(bar.reaped for bar in bars) else ", or ended where it is not harvested"
    key = [f"Arrow: sown. Square: harvested{ended}."]
    if any(bar.window.canopy_closure is not None for bar in bars):
        key.append("Thick line: its canopy closes.")
    lines = [" ".join([*key, "Gray ground: two or more crops in the field."])]
    if numbers:
        lines.append("Broken line: a conflict, by its number:")
    elif not season.conflicts:
        lines.append("No conflicts among the dates given.")
    lines += [
        one.told if one.day is None else f"{numbers[one.day]}  {one.told}"
        for one in season.conflicts
    ]
    return lines + [notice.text for notice in season.untold]
