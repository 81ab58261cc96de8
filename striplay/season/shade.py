"""Judge how much taller one crop stands than another, and how far its shadow reaches."""

from datetime import date, timedelta
from math import isinf

from striplay.season.facts import THE_PLAN, CropFacts, lacks, sources_of
from striplay.season.growth import height_share
from striplay.season.setting import Setting
from striplay.season.shared_days import Windows, shared_days
from striplay.season.sun import mean_shadow_m, midsummer
from striplay.tolerances import EQUAL_HEIGHT_M
from striplay.units import format_length

ANY_YEAR = date(2025, 12, 31)
"""Any year does for the sun: its place on a day hardly changes."""
SUN, GROWTH = "sun: FAO-56 equation 24", "growth: our choice"


def judge_height(
    one: CropFacts, other: CropFacts, setting: Setting, windows: Windows, *, in_one_row: bool
) -> tuple[str, str]:
    """Say how heights differ on the day judged (full ones where no days are known), and why."""
    shared = shared_days(one.name, other.name, windows)
    if shared is not None and shared.never:
        said = f"{one.spoken} and {other.spoken} never stand together, so neither shades the other"
        return said, THE_PLAN
    source = sources_of(one, other, "height_m")
    if one.height_m is None or other.height_m is None:
        return lacks(one, other, "height_m", "height"), source
    day, on = _day(one, other, setting, windows)
    dated = [crop for crop in (one, other) if crop.name in windows]
    grown = [crop for crop in dated if _stands(crop, windows, day)]
    if setting.day is not None and grown != dated:
        return f"on {on} they do not both stand, so neither shades the other", THE_PLAN
    south = setting.latitude_deg < 0
    stand = [(crop, _height_m(crop, grown, day, windows, south=south)) for crop in (one, other)]
    (tall, high_m), (short, low_m) = sorted(stand, key=lambda each: -each[1])
    when = ""
    if grown:
        each = [
            f"{crop.spoken} {format_length(height_m, setting.units)}"
            f"{'' if crop in grown else ' at full height'}"
            for crop, height_m in ((tall, high_m), (short, low_m))
        ]
        when = f" on {on.rstrip(',')} (assumed growth: {', '.join(each)})"
        source = f"{source}; {GROWTH}"
    if high_m - low_m < EQUAL_HEIGHT_M:
        said = f"{tall.spoken} and {short.spoken} about equally tall{when}"
        return f"{said}: neither shades the other", source
    more = format_length(high_m - low_m, setting.units)
    said = f"{tall.spoken} {more} taller than {short.spoken}{when or ' at full height'}: "
    if in_one_row:
        said += "they stand in one row, so shade falls within it, whichever way rows run"
    else:
        said += ("" if grown else f"on {on} ") + _shade(high_m - low_m, setting, day)
        source = f"{source}; {SUN}"
    return said + _bears(short), source


def _bears(crop: CropFacts) -> str:
    """Say how a crop bears shade, where it is known."""
    if crop.shade is None:
        return ""
    return f"; shade tolerance of {crop.spoken}: {crop.shade} ({crop.source('shade')})"


def _day(one: CropFacts, other: CropFacts, setting: Setting, windows: Windows) -> tuple[date, str]:
    """Give the day that is judged, and in words why that day."""
    shared = shared_days(one.name, other.name, windows)
    if setting.day is not None:
        return setting.day, setting.day.isoformat()
    if shared is not None and shared.middle is not None:
        day = shared.middle
        return day, f"{day.isoformat()}, midway through their days together,"
    sown = [windows[crop.name][0] for crop in (one, other) if crop.name in windows]
    # a crop stands from the day after its sowing
    day = midsummer(setting.latitude_deg, max(sown, default=ANY_YEAR) + timedelta(days=1))
    return day, f"{day.isoformat()}, in high summer,"


def _stands(crop: CropFacts, windows: Windows, day: date) -> bool:
    sown, harvested = windows[crop.name]
    return sown < day and (harvested is None or day < harvested)


def _height_m(
    crop: CropFacts, grown: list[CropFacts], day: date, windows: Windows, *, south: bool
) -> float:
    full_m = crop.height_m or 0.0
    if crop not in grown:
        return full_m
    season_days = None if crop.season_days is None else crop.season_days[0]
    return full_m * height_share(day, *windows[crop.name], season_days, south=south)


def _shade(taller_m: float, setting: Setting, day: date) -> str:
    """Say how far shade reaches across rows."""
    heading_deg = setting.heading_deg or 0.0
    reach, across = (
        mean_shadow_m(taller_m, each_deg, setting.latitude_deg, day)
        for each_deg in (heading_deg, heading_deg + 90)
    )
    if isinf(reach):
        return "the sun stays too low to judge shade"
    if setting.heading_deg is None:
        least, most = (format_length(m, setting.units) for m in sorted((reach, across)))
        return f"the shadow reaches {least} to {most} across rows on average, as they turn"
    return (
        f"the shadow reaches {format_length(reach, setting.units)} across rows on average, "
        f"{format_length(across, setting.units)} if rows ran at right angles"
    )
