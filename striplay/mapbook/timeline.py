"""Draw the season: a bar a crop, its operations marked and dated, and conflicts in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.patheffects import withStroke

from striplay.growing import Season
from striplay.mapbook.bars import Bar, bars_of
from striplay.mapbook.page import Page
from striplay.mapbook.spread import spread
from striplay.mapbook.style import MARGIN_MM, SMALLEST_PT, TEXT_PT, fitted, text_width_mm

LEFT_MM, TOP_MM, FOOT_MM = 44.0, 40.0, 13.0
PITCH_MM, BAR_MM, PART_MM = 13.0, 5.0, 3.0
"""From bar to bar; a bar; that of a part of a mixture. The dates stand under it."""
WORDS_MM = 66.0
"""Kept free under the bars for words."""
LINE_MM, GAP_MM = 4.0, 2.0
MONTH_MM = 8.0
"""Room that a month's name needs."""
PAD_DAYS, OPEN_DAYS = 7, 45
"""Days drawn before the first sowing and after the last harvest; after a sowing whose harvest is
not said."""
HANG_MM = 5.0
INK, SHADE = "#222222", "#e6e6e6"
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


@dataclass(frozen=True)
class Frame:
    """The ground of the picture, in millimetres on the page, and the days along it."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    begin: date
    end: date

    @property
    def bottom_mm(self) -> float:
        """Its lower edge."""
        return self.top_mm - self.height_mm

    def x_mm(self, day: date) -> float:
        """Give where a day stands on the page."""
        share = (day - self.begin).days / (self.end - self.begin).days
        return self.left_mm + self.width_mm * share


def draw_timeline(page: Page, season: Season) -> None:
    """Draw a season's windows over a sheet, and write its conflicts under them."""
    bars = bars_of(season)
    room = int((page.height_mm - TOP_MM - WORDS_MM - FOOT_MM) / PITCH_MM)
    shown = bars[:room]
    frame = _frame(page, shown)
    under = _under(page, frame)
    _overlaps(under, frame, shown)
    _axis(page, under, frame)
    _conflict_days(page, frame, season)
    for index, bar in enumerate(shown):
        _bar(page, under, frame, (bar, frame.top_mm - index * PITCH_MM - 3.0))
    _words(page, _lines(season, shown, len(bars) - len(shown)), frame.bottom_mm - 16.0)


def _frame(page: Page, bars: Sequence[Bar]) -> Frame:
    """Give the ground, from a week before the first sowing to a while after the last day."""
    windows = [bar.window for bar in bars]
    days = [day for w in windows for day in (w.sown, w.closes, w.harvested) if day is not None]
    still = [w.sown for w in windows if w.harvested is None]
    ends = [max(days) + timedelta(PAD_DAYS), *(day + timedelta(OPEN_DAYS) for day in still)]
    return Frame(
        LEFT_MM,
        page.height_mm - TOP_MM,
        page.width_mm - LEFT_MM - MARGIN_MM,
        PITCH_MM * len(bars) + 2.0,
        min(days) - timedelta(PAD_DAYS),
        max(ends),
    )


def _under(page: Page, frame: Frame) -> Axes:
    """Add axes under the page's type, in the page's millimetres."""
    axes = page.axes_mm(frame.left_mm, frame.bottom_mm, frame.width_mm, frame.height_mm)
    axes.set_xlim(frame.left_mm, frame.left_mm + frame.width_mm)
    axes.set_ylim(frame.bottom_mm, frame.top_mm)
    axes.set_xticks([])
    axes.set_yticks([])
    return axes


def _bar(page: Page, axes: Axes, frame: Frame, placed: tuple[Bar, float]) -> None:
    """Draw one bar, from its upper edge down: its name, its marks, and their days under it."""
    bar, top_mm = placed
    window = bar.window
    high_mm = PART_MM if bar.part else BAR_MM
    low_x = frame.x_mm(window.sown)
    high_x = frame.x_mm(window.harvested or frame.end)
    middle_mm = top_mm - high_mm / 2
    axes.add_patch(
        Rectangle((low_x, top_mm - high_mm), high_x - low_x, high_mm, facecolor=bar.fill.colour,
                  hatch=bar.fill.hatch or None, edgecolor="#333333", linewidth=0.5, zorder=3)
    )  # fmt: skip
    marks = [(low_x, f"sown {window.sown.isoformat()}")]
    _mark(axes, (low_x, middle_mm), ">", 7)
    if window.closes is not None:
        x_mm = frame.x_mm(window.closes)
        ends = (top_mm + 0.8, top_mm - high_mm - 0.8)
        axes.plot([x_mm, x_mm], ends, color="white", linewidth=3.4, zorder=4)
        axes.plot([x_mm, x_mm], ends, color="black", linewidth=2.0, zorder=5)
        marks.append((x_mm, f"closes {window.closes.isoformat()}"))
    if window.harvested is not None:
        _mark(axes, (high_x, middle_mm), "s", 6)
        marks.append((high_x, f"harvested {window.harvested.isoformat()}"))
    else:
        marks.append((high_x, "harvest not said"))
    _days(page, frame, marks, top_mm - high_mm - 3.4)
    indent_mm = 3.0 if bar.part else 0.0
    room_mm = LEFT_MM - MARGIN_MM - 2.0 - indent_mm
    size_pt = SMALLEST_PT if bar.part else TEXT_PT
    name_mm = middle_mm - 0.9
    page.text(MARGIN_MM + indent_mm, name_mm, fitted(window.crop, room_mm, size_pt), size_pt)
    if bar.note:
        note = fitted(bar.note, room_mm, SMALLEST_PT)
        page.text(MARGIN_MM + indent_mm, name_mm - 3.6, note, SMALLEST_PT, color="#444444")


def _mark(axes: Axes, at_mm: tuple[float, float], marker: str, size_pt: float) -> None:
    axes.plot([at_mm[0]], [at_mm[1]], marker=marker, markersize=size_pt, color="black",
              markeredgecolor="white", markeredgewidth=0.6, clip_on=False, zorder=5)  # fmt: skip


def _days(page: Page, frame: Frame, marks: Sequence[tuple[float, str]], y_mm: float) -> None:
    """Write days under their marks, moved apart where they would meet."""
    marks = sorted(marks)
    wanted = [(x_mm, text_width_mm(text) + GAP_MM) for x_mm, text in marks]
    places = spread(wanted, frame.left_mm, frame.left_mm + frame.width_mm)
    for (_, text), x_mm in zip(marks, places, strict=True):
        halo = [withStroke(linewidth=2.0, foreground="white")]
        page.text(x_mm, y_mm, text, SMALLEST_PT, ha="center", path_effects=halo)


def _overlaps(axes: Axes, frame: Frame, bars: Sequence[Bar]) -> None:
    """Shade the days on which two crops or more stand; a mixture counts once, its parts not."""
    windows = [bar.window for bar in bars if not bar.part]
    days = sorted({d for w in windows for d in (w.sown, w.harvested or frame.end)})
    for low, high in pairwise(days):
        standing = sum(
            w.sown <= low and (w.harvested is None or w.harvested >= high) for w in windows
        )
        if standing > 1:
            axes.axvspan(frame.x_mm(low), frame.x_mm(high), color=SHADE, linewidth=0, zorder=0)


def _axis(page: Page, axes: Axes, frame: Frame) -> None:
    """Draw months and years under the ground."""
    months = _months(frame.begin, frame.end)
    each_mm = frame.width_mm / len(months)
    step = next(step for step in (1, 2, 3, 6, 12, 120) if each_mm * step >= MONTH_MM)
    for month in (month for month in months if (month.month - 1) % step == 0):
        x_mm = frame.x_mm(max(month, frame.begin))
        begins_year = month.month == 1 and month > frame.begin
        colour, width = ("#555555", 0.9) if begins_year else ("#aaaaaa", 0.4)
        if month >= frame.begin:
            axes.plot([x_mm, x_mm], [frame.bottom_mm, frame.top_mm], color=colour,
                      linewidth=width, zorder=1)  # fmt: skip
        ends_mm = frame.x_mm(min(_after(month, step), frame.end))
        name = MONTHS[month.month - 1]
        if ends_mm - x_mm >= text_width_mm(name) + 1.0:
            middle_mm = (x_mm + ends_mm) / 2 if step == 1 else x_mm + text_width_mm(name) / 2 + 0.5
            page.text(middle_mm, frame.bottom_mm - 3.6, name, SMALLEST_PT, ha="center")
    years = range(frame.begin.year, frame.end.year + 1)
    spans = [
        (frame.x_mm(max(date(year, 1, 1), frame.begin)),
         frame.x_mm(min(date(year + 1, 1, 1), frame.end)))
        for year in years
    ]  # fmt: skip
    wide_mm = text_width_mm("2026") + GAP_MM
    wanted = [((low + high) / 2, wide_mm) for low, high in spans]
    places = spread(wanted, frame.left_mm, frame.left_mm + frame.width_mm)
    for year, x_mm in zip(years, places, strict=True):
        page.text(x_mm, frame.bottom_mm - 8.0, str(year), TEXT_PT, ha="center", weight="bold")


def _months(begin: date, end: date) -> list[date]:
    """List the first of each month from that of one day to that of another."""
    months = [date(begin.year, begin.month, 1)]
    while _after(months[-1], 1) < end:
        months.append(_after(months[-1], 1))
    return months


def _after(month: date, months: int) -> date:
    """Give the first of a month so many after another."""
    count = month.year * 12 + month.month - 1 + months
    return date(count // 12, count % 12 + 1, 1)


def _numbers(season: Season) -> dict[date, int]:
    """Number the days on which something stands in an operation's way."""
    days = sorted({conflict.day for conflict in season.conflicts})
    return {day: number for number, day in enumerate(days, start=1)}


def _conflict_days(page: Page, frame: Frame, season: Season) -> None:
    """Draw a broken line at each day of a conflict, with the number its words begin with."""
    numbers = {d: n for d, n in _numbers(season).items() if frame.begin <= d <= frame.end}
    wanted = [(frame.x_mm(day), 5.2) for day in numbers]
    places = spread(wanted, frame.left_mm - 3.0, frame.left_mm + frame.width_mm + 3.0)
    for (day, number), x_mm in zip(numbers.items(), places, strict=True):
        at_mm = frame.x_mm(day)
        page.paper.plot([at_mm, at_mm], [frame.bottom_mm, frame.top_mm], color=INK,
                        linewidth=0.8, linestyle=(0, (4, 2)), zorder=1)  # fmt: skip
        page.paper.plot([at_mm, x_mm], [frame.top_mm, frame.top_mm + 2.0], color=INK, linewidth=0.8)
        page.text(x_mm, frame.top_mm + 4.0, str(number), SMALLEST_PT, ha="center", va="center",
                  weight="bold", bbox={"boxstyle": "circle,pad=0.25", "facecolor": "white",
                                       "edgecolor": INK, "linewidth": 0.8})  # fmt: skip


def _key(shown: Sequence[Bar]) -> str:
    """Say what the marks mean, of those that are drawn."""
    said = ["Arrow: sown. Square: harvested."]
    if any(bar.window.closes is not None for bar in shown):
        said.append("Thick line: its canopy closes.")
    return " ".join([*said, "Grey ground: two crops or more stand."])


def _lines(season: Season, shown: Sequence[Bar], left_out: int) -> list[str]:
    """Write what the marks mean, the conflicts by number, and what could not be told."""
    numbers = _numbers(season)
    lines = [_key(shown)]
    if left_out:
        lines.append(f"{left_out} more crops have no room here; accounts.json has all.")
    if season.conflicts:
        lines.append("Broken line: something stands in the way, by its number:")
    else:
        lines.append("Nothing stands in the way of sowing and harvest, as far as days are stated.")
    lines += [f"{numbers[one.day]}  {one.day.isoformat()}: {one.said}" for one in season.conflicts]
    return lines + [notice.text for notice in season.untold]


def _words(page: Page, lines: Sequence[str], top_mm: float) -> None:
    """Write lines, as many as there is room for; what follows a line's first hangs."""
    room_mm = page.width_mm - 2 * MARGIN_MM - HANG_MM
    written = [
        (text, HANG_MM if number else 0.0)
        for line in lines
        for number, text in enumerate(_wrapped(line, room_mm))
    ]
    room = int((top_mm - FOOT_MM) / LINE_MM) + 1
    if len(written) > room:
        written[room - 1 :] = [("More stands in the way; accounts.json has all.", 0.0)]
    for number, (text, indent_mm) in enumerate(written):
        page.text(MARGIN_MM + indent_mm, top_mm - number * LINE_MM, text, SMALLEST_PT)


def _wrapped(line: str, room_mm: float) -> list[str]:
    """Break a line between words where it is longer than the room."""
    broken = [""]
    for word in line.split(" "):
        longer = f"{broken[-1]} {word}" if broken[-1] else word
        if broken[-1] and text_width_mm(longer) > room_mm:
            broken.append(word)
        else:
            broken[-1] = longer
    return broken
