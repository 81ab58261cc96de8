"""Judge how much taller one crop stands than another, and where its shade falls."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from striplay.season.facts import MEMORY, THE_PLAN, CropFacts, lacks, sources_of
from striplay.season.growth import grown_share
from striplay.season.setting import Setting
from striplay.season.shared_days import Windows, shared_days
from striplay.season.sun import Sides, midsummer, shade_sides
from striplay.tolerances import EQUAL_HEIGHT_M
from striplay.units import format_length

ANY_YEAR = date(2025, 12, 31)
"""Any year does for the sun: its place on a day hardly changes."""
SUN, GROWTH = "sun: FAO-56 equation 24", "growth: our choice"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
COMPASS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


@dataclass(frozen=True, slots=True)
class Taller:
    """A crop that stands above the other on some days, and by how much on each."""

    crop: CropFacts
    days: tuple[date, ...]
    by_m: tuple[float, ...]


def judge_height(
    one: CropFacts, other: CropFacts, setting: Setting, windows: Windows, *, in_one_row: bool
) -> tuple[str, str]:
    """Say how heights differ over the days judged (full ones where no days are known), and why."""
    shared = shared_days(one.name, other.name, windows)
    if shared is not None and shared.never:
        said = f"{one.spoken} and {other.spoken} never in the field together: no shade"
        return said, THE_PLAN
    source = sources_of(one, other, "height_m")
    if one.height_m is None or other.height_m is None:
        return lacks(one, other, "height_m", "height"), source
    days, on = _days(one, other, setting, windows)
    dated = [crop for crop in (one, other) if crop.name in windows]
    grown = [crop for crop in dated if all(_stands(crop, windows, day) for day in days)]
    if setting.day is not None and grown != dated:
        return f"on {on} they are not both in the field: no shade", THE_PLAN
    south = setting.latitude_deg < 0
    one_m, other_m = (
        [_height_m(crop, grown, day, windows, south=south) for day in days] for crop in (one, other)
    )
    if len(days) == 1:
        crops = ((one, one_m[0]), (other, other_m[0]))
        said, shading = _on_a_day(crops, grown, days[0], on, setting)
    else:
        said, shading = _by_month(one, other, days, one_m, other_m, setting)
    if grown:
        source = f"{source}; {GROWTH}"
    if shading:
        if in_one_row:
            said += "; they stand in one row, so shade falls within it, whichever way rows run"
        else:
            said += "".join(f"; {_sides(each, setting)}" for each in shading)
            source = f"{source}; {SUN}"
        shorter = [other if each.crop is one else one for each in shading]
        said += "".join(_bears(crop) for crop in shorter)
    return said + "".join(_today(crop, setting) for crop in (one, other)), source


def _on_a_day(
    crops: tuple[tuple[CropFacts, float], tuple[CropFacts, float]],
    grown: list[CropFacts],
    day: date,
    on: str,
    setting: Setting,
) -> tuple[str, list[Taller]]:
    """Say who stands above whom on one day, by their heights that day."""
    (tall, high_m), (short, low_m) = sorted(crops, key=lambda each: -each[1])
    when = f" at full height, judged on {on}"
    if grown:
        each = [
            f"{crop.spoken} {format_length(height_m, setting.units)}"
            f"{'' if crop in grown else ' at full height'}"
            for crop, height_m in ((tall, high_m), (short, low_m))
        ]
        when = f" on {on} (assumed growth: {', '.join(each)})"
    if high_m - low_m < EQUAL_HEIGHT_M:
        when = when if grown else ""
        said = f"{tall.spoken} and {short.spoken} about equally tall{when}"
        return f"{said}: neither shades the other", []
    more = format_length(high_m - low_m, setting.units)
    said = f"{tall.spoken} {more} taller than {short.spoken}{when}"
    return said, [Taller(tall, (day,), (high_m - low_m,))]


def _by_month(
    one: CropFacts,
    other: CropFacts,
    days: Sequence[date],
    one_m: Sequence[float],
    other_m: Sequence[float],
    setting: Setting,
) -> tuple[str, list[Taller]]:
    """Say who stands above whom by month, over all days both crops stand, by assumed growth."""
    both = (one.spoken, other.spoken)
    above_m = [a - b for a, b in zip(one_m, other_m, strict=True)]
    shading = []
    for crop, sign in ((one, 1), (other, -1)):
        higher = [
            (day, sign * m)
            for day, m in zip(days, above_m, strict=True)
            if sign * m >= EQUAL_HEIGHT_M
        ]
        if higher:
            on, by_m = zip(*higher, strict=True)
            shading.append(Taller(crop, on, by_m))
    over = " (assumed growth, all days both are in the field)"
    if not shading:
        said = f"{one.spoken} and {other.spoken} about equally tall{over}"
        return f"{said}: neither shades the other", []
    by_month = [
        (month, sum(m for _, m in each) / len(each))
        for month, group in groupby(zip(days, above_m, strict=True), lambda at: _month(at[0]))
        for each in [list(group)]
    ]
    runs = [(who, [*run]) for who, run in groupby(by_month, lambda at: _who(at[1], one, other))]
    return ", then ".join(_run(who, both, run, setting) for who, run in runs) + over, shading


def _month(day: date) -> tuple[int, int]:
    return day.year, day.month


def _who(above_m: float, one: CropFacts, other: CropFacts) -> tuple[str, str] | None:
    """Name the taller crop and the shorter; None where they are about equally tall."""
    if abs(above_m) < EQUAL_HEIGHT_M:
        return None
    return (one.spoken, other.spoken) if above_m > 0 else (other.spoken, one.spoken)


def _run(
    who: tuple[str, str] | None,
    both: tuple[str, str],
    months: Sequence[tuple[tuple[int, int], float]],
    setting: Setting,
) -> str:
    """Say of months on end who stands above whom, and by how much each month on average."""
    names = [MONTHS[month - 1] for (_, month), _ in months]
    if who is None:
        first, last = names[0], names[-1]
        span = first if first == last else f"{first} to {last}"
        return f"{' and '.join(both)} about equally tall in {span}"
    each = [
        (name, format_length(abs(m), setting.units))
        for name, (_, m) in zip(names, months, strict=True)
    ]
    parts = []
    for more, same in groupby(each, lambda at: at[1]):
        listed = [name for name, _ in same]
        span = listed[0] if len(listed) == 1 else f"{listed[0]} to {listed[-1]}"
        parts.append(f"{more} in {span}")
    tall, short = who
    return f"{tall} above {short} by {', '.join(parts)}"


def _bears(crop: CropFacts) -> str:
    """Say how a crop bears shade, where it is known."""
    if crop.shade is None:
        return ""
    return f"; shade tolerance of {crop.spoken}: {crop.shade} ({crop.source('shade')})"


def _today(crop: CropFacts, setting: Setting) -> str:
    """Say how tall a crop grows today where its table's height is much lower."""
    if crop.today_m is None or crop.height_m is None:
        return ""
    full, low, high = (format_length(m, setting.units) for m in (crop.height_m, *crop.today_m))
    said = f"; height of {crop.spoken}: FAO's, {full}; today's crop stands {low} to {high}"
    return f"{said} ({MEMORY}), so set crops.{crop.name}.height"


def _days(
    one: CropFacts, other: CropFacts, setting: Setting, windows: Windows
) -> tuple[list[date], str]:
    """Give the days that are judged: all that both crops stand, else one, and in words why that."""
    shared = shared_days(one.name, other.name, windows)
    if setting.day is not None:
        return [setting.day], setting.day.isoformat()
    if shared is not None and shared.end is not None:
        # a crop stands from the day after its sowing
        count = (shared.end - shared.begin).days - 1
        each = [shared.begin + timedelta(days=number) for number in range(1, count + 1)]
        return each or [shared.begin], shared.begin.isoformat()
    sown = [windows[crop.name][0] for crop in (one, other) if crop.name in windows]
    day = midsummer(setting.latitude_deg, max(sown, default=ANY_YEAR) + timedelta(days=1))
    return [day], f"{day.isoformat()}, in high summer"


def _stands(crop: CropFacts, windows: Windows, day: date) -> bool:
    sown, harvested = windows[crop.name]
    return sown < day and (harvested is None or day < harvested)


def _height_m(
    crop: CropFacts, grown: list[CropFacts], day: date, windows: Windows, *, south: bool
) -> float:
    full_m = crop.height_m or 0.0
    if crop not in grown:
        return full_m
    return full_m * grown_share(crop, *windows[crop.name], day, south=south)


def _sides(taller: Taller, setting: Setting) -> str:
    """Say on which sides of a crop's rows its shade falls, and how far it reaches across them."""
    heading_deg = setting.heading_deg or 0.0
    as_laid, across = (
        shade_sides(taller.by_m, each_deg, setting.latitude_deg, taller.days)
        for each_deg in (heading_deg, heading_deg + 90)
    )
    if as_laid is None or across is None:
        return "the sun stays too low to judge shade"
    if setting.heading_deg is None:
        means_m = sorted((as_laid.mean_m, across.mean_m))
        least, most = (format_length(m, setting.units) for m in means_m)
        return f"its shade reaches {least} to {most} across rows on average, as they turn"
    said = _each_side(as_laid, heading_deg, setting)
    turned = _each_side(across, heading_deg + 90, setting)
    return (
        f"shade from {taller.crop.spoken} across rows: on average {said}; if rows ran at right "
        f"angles: {turned}"
    )


def _each_side(sides: Sides, heading_deg: float, setting: Setting) -> str:
    """Say how far shade falls to either side, and for what share of the sunlight."""
    each = [
        (round(100 * share), _compass(side_deg), format_length(reach_m, setting.units))
        for share, side_deg, reach_m in (
            (sides.right_share, heading_deg + 90, sides.right_m),
            (1 - sides.right_share, heading_deg - 90, sides.left_m),
        )
    ]
    longer_first = sorted(each, key=lambda side: -side[0])
    said = (f"{reach} {side} for {share} %" for share, side, reach in longer_first if share)
    return f"{' and '.join(said)} of the sunlight"


def _compass(heading_deg: float) -> str:
    """Name the nearest of eight points of the compass."""
    return COMPASS[round(heading_deg % 360 / 45) % len(COMPASS)]
