"""Draw the season: a bar a crop, sowing and harvest marked, and conflicts in words."""

from datetime import date, timedelta
from itertools import pairwise
from textwrap import wrap

from matplotlib.axes import Axes

from striplay.growing import Season
from striplay.mapbook.page import Page
from striplay.mapbook.style import CROP_FILLS, MARGIN_MM, SMALLEST_PT

LEFT_MM, TOP_MM, BAR_MM = 38.0, 44.0, 9.0
OPEN_DAYS = 30
"""A crop whose harvest is not said is drawn so much longer than the rest."""
LETTERS = 120


def draw_timeline(page: Page, season: Season) -> None:
    """Draw a season's windows over a sheet, and write its conflicts under them."""
    listed = list(season.windows.values())
    ends = [w.harvested for w in listed if w.harvested is not None]
    begin = min(w.sown for w in listed) - timedelta(days=7)
    end = max([*ends, *(w.sown for w in listed)]) + timedelta(days=OPEN_DAYS)
    height_mm = BAR_MM * len(listed)
    bottom_mm = page.height_mm - TOP_MM - height_mm
    axes = page.axes_mm(LEFT_MM, bottom_mm, page.width_mm - LEFT_MM - MARGIN_MM, height_mm)
    axes.set_xlim(0, (end - begin).days)
    axes.set_ylim(len(listed), 0)
    for index, window in enumerate(listed):
        low, high = (window.sown - begin).days, ((window.harvested or end) - begin).days
        fill = CROP_FILLS[index % len(CROP_FILLS)]
        axes.barh(index + 0.5, high - low, left=low, height=0.6, color=fill.colour,
                  hatch=fill.hatch, edgecolor="#333333", linewidth=0.5)  # fmt: skip
        axes.plot([low], [index + 0.5], marker=">", markersize=5, color="black")
        if window.harvested is not None:
            axes.plot([high], [index + 0.5], marker="s", markersize=4, color="black")
        if window.closes is not None:
            close = (window.closes - begin).days
            axes.plot([close, close], [index + 0.2, index + 0.8], color="black", linewidth=1.4)
        page.text(LEFT_MM - 3, page.height_mm - TOP_MM - (index + 0.6) * BAR_MM, window.crop[:18],
                  ha="right")  # fmt: skip
    _overlaps(axes, season, begin)
    _months(axes, begin, end)
    axes.set_yticks([])
    _words(page, season, bottom_mm - 14.0)


def _overlaps(axes: Axes, season: Season, begin: date) -> None:
    """Shade the days on which two crops or more stand."""
    days = sorted({d for w in season.windows.values() for d in (w.sown, w.harvested) if d})
    for low, high in pairwise(days):
        standing = sum(
            w.sown <= low and (w.harvested is None or w.harvested >= high)
            for w in season.windows.values()
        )
        if standing > 1:
            axes.axvspan((low - begin).days, (high - begin).days, color="#000000", alpha=0.07,
                         linewidth=0)  # fmt: skip


def _months(axes: Axes, begin: date, end: date) -> None:
    ticks, month = [], date(begin.year, begin.month, 1)
    while month <= end:
        if month >= begin:
            ticks.append(month)
        month = date(month.year + month.month // 12, month.month % 12 + 1, 1)
    step = max(1, len(ticks) // 12)
    shown = ticks[::step]
    axes.set_xticks([(tick - begin).days for tick in shown], [f"{t:%b}" for t in shown])
    axes.tick_params(labelsize=SMALLEST_PT)


def _words(page: Page, season: Season, top_mm: float) -> None:
    lines = [
        "Arrow: sown. Square: harvested. Thick line: canopy closes. Grey: several crops stand."
    ]
    lines += [f"{one.day.isoformat()}: {one.said}" for one in season.conflicts]
    lines += list(season.untold)
    if not season.conflicts:
        lines.append("Nothing stands in the way of sowing and harvest, as far as days are stated.")
    written = [line for text in lines for line in wrap(text, LETTERS)]
    for number, line in enumerate(written[: int(top_mm / 4.2) - 4]):
        page.text(MARGIN_MM, top_mm - number * 4.2, line, SMALLEST_PT)
