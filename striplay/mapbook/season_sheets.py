"""Make the season's sheet: a bar a crop, its days marked, and conflicts in words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.patheffects import withStroke

from striplay.growing import Season
from striplay.mapbook.sheet import FOOT_MM, Paper, Place, Sheet
from striplay.mapbook.style import (
    HEADLAND,
    LINE_MM,
    MARGIN_MM,
    SMALLEST_PT,
    TEXT_PT,
    Fill,
    crop_fill,
)
from striplay.mapbook.text import cut, fitted, paragraphs, spread, text_width_mm
from striplay.season.calendar import Window
from striplay.section.between import layers_between
from striplay.section.mixture import mixtures_of

LEFT_MM, TOP_MM = 44.0, 40.0
PITCH_MM, BAR_MM, PART_MM = 13.0, 5.0, 3.0
"""From bar to bar; a bar; that of a part of a mixture. The dates stand under it."""
WORDS_MM = 66.0
"""Kept free under the bars for words."""
GAP_MM, HANG_MM = 2.0, 5.0
MONTH_MM = 8.0
"""Room that a month's name needs."""
PAD_DAYS, OPEN_DAYS = 7, 45
"""Days drawn before the first sowing and after the last harvest; after a sowing whose harvest is
not said."""
INK, SHADE = "#222222", "#e6e6e6"
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Attributes:
        window: when the crop, or mixture, stands.
        note: what it is besides a crop of its own strips: between another's rows, or in a mixture.
        fill: as on the maps.
        part: whether it is part of a mixture that has a bar itself.
    """

    window: Window
    note: str
    fill: Fill
    part: bool


def bars_of(season: Season) -> list[Bar]:
    """List bars in the order of the maps' colors: a mixture's parts under it, the headland last.

    Crops of the plan that stand nowhere in the field have none.
    """
    plan, settled, mixtures = season.plan, season.windows, mixtures_of(season.plan)
    order = tuple(settled) if season.section is None else season.section.names
    edge = plan.headland_crop
    between = {
        layer.label: f"into {layer.host}" for layers in layers_between(plan) for layer in layers
    }
    labels = {strip.crop for strip in season.section.strips} if season.section else set(order)
    listed = []
    for name in order:
        listed.append((name, between.get(name, ""), False))
        if name in mixtures:
            parts = (part for part in mixtures[name] if part not in labels)
            listed += [(part, f"in {name}", True) for part in parts]
    if edge is not None:
        listed.append((edge, "headland", False))
    bars: dict[str, Bar] = {}
    for name, note, part in listed:
        if name in settled and name not in bars:
            fill = crop_fill(order.index(name)) if name in order else HEADLAND
            bars[name] = Bar(settled[name], note, fill, part)
    return list(bars.values())


@dataclass(frozen=True)
class Days:
    """The ground of the picture: days along it, bars from its top down.

    Attributes:
        sheet: where it is.
        axes: under the sheet's type, in the sheet's millimeters.
        place: where it stands on the sheet.
        begin: day at its left.
        end: day at its right.
    """

    sheet: Sheet
    axes: Axes
    place: Place
    begin: date
    end: date

    def x_mm(self, day: date) -> float:
        """Give where a day stands on the sheet."""
        share = (day - self.begin).days / (self.end - self.begin).days
        return self.place.left_mm + self.place.width_mm * share

    def write(self, labels: Iterable[tuple[float, str]], y_mm: float, size_pt: float,
              **how: Any) -> None:  # fmt: skip  # noqa: ANN401 - matplotlib's own
        """Write labels at their places along the days, moved apart where they would meet."""
        labels = sorted(labels)
        wanted = [(x_mm, text_width_mm(text) + GAP_MM) for x_mm, text in labels]
        places = spread(wanted, self.place.left_mm, self.place.right_mm)
        for (_, text), x_mm in zip(labels, places, strict=True):
            self.sheet.text(x_mm, y_mm, text, size_pt, ha="center", **how)


def season_sheets(paper: Paper, season: Season) -> Iterator[Sheet]:
    """Draw a season's windows over a sheet, and write its conflicts under them."""
    bars = bars_of(season)
    if not bars:
        return
    sheet = paper.sheet("The season")
    shown = bars[: int((sheet.height_mm - TOP_MM - WORDS_MM - FOOT_MM) / PITCH_MM)]
    days = _days(sheet, shown)
    _overlaps(days, shown)
    _months(days)
    _years(days)
    numbers = {d: n for n, d in enumerate(sorted({one.day for one in season.conflicts}), start=1)}
    _conflict_days(days, numbers)
    for index, bar in enumerate(shown):
        _bar(days, bar, days.place.top_mm - index * PITCH_MM - 3.0)
    words = _words(season, shown, len(bars) - len(shown), numbers)
    top_mm = days.place.bottom_mm - 16.0 + LINE_MM
    more = "More conflicts: accounts.json has all."
    lines = paragraphs(paper.inner_mm, *words, hang_mm=HANG_MM)
    sheet.write(cut(lines, top_mm - FOOT_MM, more), top_mm)
    yield sheet


def _days(sheet: Sheet, bars: Sequence[Bar]) -> Days:
    """Give the ground, from a week before the first sowing to a while after the last day."""
    windows = [bar.window for bar in bars]
    days = [
        day for w in windows for day in (w.sown, w.canopy_closure, w.harvested) if day is not None
    ]
    still = [w.sown for w in windows if w.harvested is None]
    ends = [max(days) + timedelta(PAD_DAYS), *(day + timedelta(OPEN_DAYS) for day in still)]
    height_mm = PITCH_MM * len(bars) + 2.0
    bottom_mm = sheet.height_mm - TOP_MM - height_mm
    place = Place(LEFT_MM, bottom_mm, sheet.width_mm - LEFT_MM - MARGIN_MM, height_mm)
    axes = sheet.axes(place)
    axes.set_xlim(place.left_mm, place.right_mm)
    axes.set_ylim(place.bottom_mm, place.top_mm)
    axes.set_xticks([])
    axes.set_yticks([])
    return Days(sheet, axes, place, min(days) - timedelta(PAD_DAYS), max(ends))


def _bar(days: Days, bar: Bar, top_mm: float) -> None:
    """Draw one bar, from its upper edge down: its name, its marks, and their days under it."""
    sheet, axes, window = days.sheet, days.axes, bar.window
    high_mm = PART_MM if bar.part else BAR_MM
    low_x, high_x = days.x_mm(window.sown), days.x_mm(window.harvested or days.end)
    bottom_mm, middle_mm = top_mm - high_mm, top_mm - high_mm / 2
    axes.add_patch(
        Rectangle((low_x, bottom_mm), high_x - low_x, high_mm, facecolor=bar.fill.color,
                  hatch=bar.fill.hatch or None, edgecolor="#333333", linewidth=0.5, zorder=3)
    )  # fmt: skip
    labels = [] if window.harvested else [(high_x, "harvest not said")]
    for day, said, marker, size_pt in (
        (window.sown, "sown", ">", 7), (window.canopy_closure, "closes", "", 0),
        (window.harvested, "harvested", "s", 6),
    ):  # fmt: skip
        if day is None:
            continue
        x_mm = days.x_mm(day)
        labels.append((x_mm, f"{said} {day.isoformat()}"))
        if marker:
            axes.plot([x_mm], [middle_mm], marker=marker, markersize=size_pt, color="black",
                      markeredgecolor="white", markeredgewidth=0.6, clip_on=False, zorder=5,
                      )  # fmt: skip
        else:
            ends_mm = (top_mm + 0.8, bottom_mm - 0.8)
            axes.plot([x_mm, x_mm], ends_mm, color="white", linewidth=3.4, zorder=4)
            axes.plot([x_mm, x_mm], ends_mm, color="black", linewidth=2.0, zorder=5)
    halo = [withStroke(linewidth=2.0, foreground="white")]
    days.write(labels, bottom_mm - 3.4, SMALLEST_PT, path_effects=halo)
    left_mm, name_pt = (MARGIN_MM + 3.0, SMALLEST_PT) if bar.part else (MARGIN_MM, TEXT_PT)
    room_mm = LEFT_MM - 2.0 - left_mm
    sheet.text(left_mm, middle_mm - 0.9, fitted(window.crop, room_mm, name_pt), name_pt)
    note = fitted(bar.note, room_mm, SMALLEST_PT)
    sheet.text(left_mm, middle_mm - 4.5, note, SMALLEST_PT, color="#444444")


def _overlaps(days: Days, bars: Sequence[Bar]) -> None:
    """Shade the days on which two or more crops stand; a mixture counts once, its parts not."""
    windows = [bar.window for bar in bars if not bar.part]
    edges = sorted({d for w in windows for d in (w.sown, w.harvested or days.end)})
    for low, high in pairwise(edges):
        standing = sum(
            w.sown <= low and (w.harvested is None or w.harvested >= high) for w in windows
        )
        if standing > 1:
            days.axes.axvspan(days.x_mm(low), days.x_mm(high), color=SHADE, linewidth=0, zorder=0)


def _months(days: Days) -> None:
    """Draw months' lines, and write their names under the ground where there is room."""
    begin, end, place = days.begin, days.end, days.place
    months = [
        month
        for year in range(begin.year, end.year + 1)
        for month in (date(year, number, 1) for number in range(1, 13))
        if begin < _after(month, 1) and month < end
    ]
    each_mm = place.width_mm / len(months)
    step = next(step for step in (1, 2, 3, 6, 12, 120) if each_mm * step >= MONTH_MM)
    for month in (month for month in months if (month.month - 1) % step == 0):
        x_mm = days.x_mm(max(month, begin))
        if month >= begin:
            begins_year = month.month == 1 and month > begin
            color, width = ("#555555", 0.9) if begins_year else ("#aaaaaa", 0.4)
            days.axes.plot([x_mm, x_mm], [place.bottom_mm, place.top_mm], color=color,
                           linewidth=width, zorder=1)  # fmt: skip
        ends_mm = days.x_mm(min(_after(month, step), end))
        name = MONTHS[month.month - 1]
        if ends_mm - x_mm >= text_width_mm(name) + 1.0:
            middle_mm = (x_mm + ends_mm) / 2 if step == 1 else x_mm + text_width_mm(name) / 2 + 0.5
            days.sheet.text(middle_mm, place.bottom_mm - 3.6, name, SMALLEST_PT, ha="center")


def _years(days: Days) -> None:
    """Write the years under the months, each in the middle of what is shown of it."""
    labels = []
    for year in range(days.begin.year, days.end.year + 1):
        first, last = max(date(year, 1, 1), days.begin), min(date(year + 1, 1, 1), days.end)
        labels.append(((days.x_mm(first) + days.x_mm(last)) / 2, str(year)))
    days.write(labels, days.place.bottom_mm - 8.0, TEXT_PT, weight="bold")


def _after(month: date, months: int) -> date:
    """Give the first of a month so many after another."""
    count = month.year * 12 + month.month - 1 + months
    return date(count // 12, count % 12 + 1, 1)


def _conflict_days(days: Days, numbers: Mapping[date, int]) -> None:
    """Draw a broken line at each day of a conflict, with the number its words begin with."""
    sheet, place = days.sheet, days.place
    shown = {day: number for day, number in numbers.items() if days.begin <= day <= days.end}
    wanted = [(days.x_mm(day), 5.2) for day in shown]
    places = spread(wanted, place.left_mm - 3.0, place.right_mm + 3.0)
    for (at_mm, _), number, x_mm in zip(wanted, shown.values(), places, strict=True):
        sheet.paper.plot([at_mm, at_mm], [place.bottom_mm, place.top_mm], color=INK,
                         linewidth=0.8, linestyle=(0, (4, 2)), zorder=1)  # fmt: skip
        sheet.paper.plot([at_mm, x_mm], [place.top_mm, place.top_mm + 2.0], color=INK,
                         linewidth=0.8)  # fmt: skip
        sheet.text(x_mm, place.top_mm + 4.0, str(number), SMALLEST_PT, ha="center", va="center",
                   weight="bold", bbox={"boxstyle": "circle,pad=0.25", "facecolor": "white",
                                        "edgecolor": INK, "linewidth": 0.8})  # fmt: skip


def _words(
    season: Season, shown: Sequence[Bar], left_out: int, numbers: Mapping[date, int]
) -> list[str]:
    """Say what the marks mean, the conflicts by number, and what could not be told."""
    key = ["Arrow: sown. Square: harvested."]
    if any(bar.window.canopy_closure is not None for bar in shown):
        key.append("Thick line: its canopy closes.")
    lines = [" ".join([*key, "Gray ground: two or more crops in the field."])]
    if left_out:
        lines.append(f"{left_out} more crops have no room here; accounts.json has all.")
    if season.conflicts:
        lines.append("Broken line: a conflict, by its number:")
    else:
        lines.append("No conflicts among the dates given.")
    lines += [f"{numbers[one.day]}  {one.day.isoformat()}: {one.said}" for one in season.conflicts]
    return lines + [notice.text for notice in season.untold]
