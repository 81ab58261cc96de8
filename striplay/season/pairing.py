"""Judge how crops suit each other: each point in a line with its reason, and no score."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from math import isinf

from striplay.season.facts import THE_PLAN, CropFacts
from striplay.season.shared_days import Shared, Windows, shared_days
from striplay.season.sun import mean_shadow_m, midsummer
from striplay.units import POUND_KG, UnitSystem, format_length, trim

LEGUMES, GRASSES = "legumes", "grasses"
EQUAL_M = 0.1
"""Crops within 10 cm of each other's height hardly shade."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Where and how two crops would stand beside each other.

    Attributes:
        latitude_deg: north above 0.
        heading_deg: direction of the rows.
        day: the day shade is judged for; None for the middle of the days both stand, or for high
            summer where those are not known.
        units: how lengths and weights are written.
    """

    latitude_deg: float
    heading_deg: float
    day: date | None
    units: UnitSystem


@dataclass(frozen=True, slots=True)
class Judgement:
    """One point about two crops.

    Attributes:
        crops: the two.
        about: height, roots, nitrogen, season, family or herbicides.
        said: the judgement and its reason.
        source: where its figures come from.
    """

    crops: tuple[str, str]
    about: str
    said: str
    source: str


def judge_pairs(crops: Sequence[CropFacts], setting: Setting, windows: Windows) -> list[Judgement]:
    """Judge every pair of crops.

    Args:
        crops: what is known of each.
        setting: where they would stand.
        windows: from sowing to harvest, of crops the plan says are sown.
    """
    judged = []
    for one, other in combinations(crops, 2):
        judged += [
            _height(one, other, setting, windows),
            _roots(one, other, setting),
            _nitrogen(one, other, setting.units),
            _season(one, other, windows),
            _family(one, other),
            _herbicides(one, other),
        ]
    return judged


def _height(one: CropFacts, other: CropFacts, setting: Setting, windows: Windows) -> Judgement:
    pair = (one.name, other.name)
    shared = shared_days(one.name, other.name, windows)
    if shared is not None and shared.never:
        said = f"{one.spoken} and {other.spoken} never stand together, so neither shades the other"
        return Judgement(pair, "height", said, THE_PLAN)
    source = _sources(one, other, "height_m")
    if one.height_m is None or other.height_m is None:
        return Judgement(pair, "height", _lacks(one, other, "height_m", "height"), source)
    tall, short = (one, other) if one.height_m >= other.height_m else (other, one)
    assert tall.height_m is not None and short.height_m is not None  # noqa: PT018, S101 - just seen
    more_m = tall.height_m - short.height_m
    if more_m < EQUAL_M:
        said = f"{tall.spoken} and {short.spoken} about equally tall: neither shades the other"
        return Judgement(pair, "height", said, source)
    bears = f"; shade tolerance of {short.spoken}: {short.shade} ({short.source('shade')})"
    said = (
        f"{tall.spoken} {format_length(more_m, setting.units)} taller than {short.spoken} at full "
        f"height: {_shade(more_m, setting, shared)}{bears if short.shade else ''}"
    )
    return Judgement(pair, "height", said, f"{source}; sun: FAO-56 equation 24")


def _shade(taller_m: float, setting: Setting, shared: Shared | None) -> str:
    """Say how far shade reaches on the day that is judged, and why that day."""
    middle = None if shared is None else shared.middle
    if setting.day is not None:
        day = setting.day
        on = day.isoformat()
        if shared is not None and not shared.holds(day):
            on += ", when they do not both stand,"
    elif middle is not None:
        day = middle
        on = f"{day.isoformat()}, midway through their days together,"
    else:
        day = midsummer(setting.latitude_deg, ANY_YEAR if shared is None else shared.begin)
        on = f"{day.isoformat()}, in high summer,"
    reach, across = (
        mean_shadow_m(taller_m, heading_deg, setting.latitude_deg, day)
        for heading_deg in (setting.heading_deg, setting.heading_deg + 90)
    )
    if isinf(reach):
        return f"on {on} the sun stays too low to judge shade"
    return (
        f"on {on} the shadow reaches {format_length(reach, setting.units)} across rows on average, "
        f"{format_length(across, setting.units)} if rows ran at right angles"
    )


ANY_YEAR = date(2026, 1, 1)
"""Any year does for the sun: its place on a day hardly changes."""


def _lacks(one: CropFacts, other: CropFacts, attribute: str, key: str) -> str:
    """Say whose value is not known, and which key of the plan would tell it."""
    lacking = [crop for crop in (one, other) if getattr(crop, attribute) is None]
    keys = " and ".join(f"crops.{crop.name}.{key}" for crop in lacking)
    return f"not known of {' and '.join(crop.spoken for crop in lacking)}: set {keys}, or like"


def _roots(one: CropFacts, other: CropFacts, setting: Setting) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "root_m")
    if one.root_m is None or other.root_m is None:
        return Judgement(pair, "roots", _lacks(one, other, "root_m", "roots"), source)
    deep, shallow = (one, other) if max(one.root_m) >= max(other.root_m) else (other, one)
    assert deep.root_m is not None and shallow.root_m is not None  # noqa: PT018, S101 - just seen
    apart_m = max(deep.root_m) - max(shallow.root_m)
    share = max(shallow.root_m) / max(deep.root_m)
    depth = format_length(max(shallow.root_m), setting.units)
    if share > SHARED:
        said = f"both draw from the same layer, to about {depth}; they compete for water"
        return Judgement(pair, "roots", said, source)
    below = format_length(apart_m, setting.units)
    said = f"they share the soil to {depth}; below that, {below} for {deep.spoken} alone"
    return Judgement(pair, "roots", said, source)


SHARED = 0.85
"""Roots that reach this share of the other's depth draw from the same layer (our choice)."""


def _nitrogen(one: CropFacts, other: CropFacts, units: UnitSystem) -> Judgement:
    pair = (one.name, other.name)
    legumes = [crop for crop in (one, other) if crop.family == LEGUMES]
    sources = [SOIL] if legumes else []
    if not legumes:
        said = "neither fixes nitrogen; each needs its own"
        if None in (one.family, other.family):
            said = _lacks(one, other, "family", "family")
    elif len(legumes) > 1:
        said = "both fix nitrogen; neither gets credit for the other's"
    else:
        said = (
            f"nitrogen is fixed by {legumes[0].spoken}, but the crop beside it gets no credit: "
            "what is left depends on how much is fixed and what is harvested"
        )
    if SOYBEAN in [crop.kind for crop in legumes]:
        said += "; soybean only breaks even where 58 % of its nitrogen is fixed"
        sources = ["balance: IPNI BC10235, 2018"]
    takers = [crop for crop in (one, other) if crop.nitrogen_kg_per_t is not None]
    if takers:
        said += f"; harvest takes away {', '.join(_taken(crop, units) for crop in takers)}"
    for crop in takers:
        sources.append(crop.source("nitrogen_kg_per_t"))
        if units == "metric":
            sources.append(crop.source("bushel_kg"))
    source = "; ".join(dict.fromkeys(sources)) or _sources(one, other, "family")
    return Judgement(pair, "nitrogen", said, source)


SOIL = "no credit: common practice, no source"
SOYBEAN = "soybean"


def _taken(crop: CropFacts, units: UnitSystem) -> str:
    """Write the nitrogen that harvest takes, by the bushel as its source does, or by the tonne."""
    assert crop.nitrogen_kg_per_t is not None and crop.bushel_kg is not None  # noqa: PT018, S101
    each, unit, places = 1.0, "kg N a tonne", 1
    if units == "us":
        # kilograms to the tonne times the bushel's pounds, over a thousand
        each, unit, places = crop.bushel_kg / POUND_KG / 1000, "lb N a bushel", 2
    amounts = [trim(amount * each, places) for amount in crop.nitrogen_kg_per_t]
    return f"{' to '.join(dict.fromkeys(amounts))} {unit} of {crop.spoken}"


def _season(one: CropFacts, other: CropFacts, windows: Windows) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "season_days")
    shared = shared_days(one.name, other.name, windows)
    if shared is not None:
        return Judgement(pair, "season", _together(one, other, shared, windows), THE_PLAN)
    unsaid = [crop for crop in (one, other) if crop.name not in windows]
    keys = " and ".join(f"crops.{crop.name}.sown" for crop in unsaid)
    said = f"state {keys}, and harvested, in a plan for the days both stand"
    lengths = [f"{c.spoken} {_days(c.season_days)}" for c in (one, other) if c.season_days]
    return Judgement(pair, "season", "; ".join([*filter(None, [", ".join(lengths)]), said]), source)


def _together(one: CropFacts, other: CropFacts, shared: Shared, windows: Windows) -> str:
    """Say for how long two crops both stand."""
    if shared.never:
        assert shared.end is not None  # noqa: S101 - or they would meet
        return f"never stand together; {(shared.begin - shared.end).days} days lie between"
    open_ended = [crop.name for crop in (one, other) if windows[crop.name][1] is None]
    if open_ended:
        keys = " and ".join(f"crops.{name}.harvested" for name in open_ended)
        return f"stand together from {shared.begin.isoformat()}; state {keys} for how long"
    assert shared.end is not None  # noqa: S101 - both harvests are said
    return (
        f"stand together for {(shared.end - shared.begin).days} days, "
        f"{shared.begin.isoformat()} to {shared.end.isoformat()}"
    )


def _days(season_days: tuple[int, int]) -> str:
    least, most = season_days
    return f"{least} days" if least == most else f"{least} to {most} days"


def _family(one: CropFacts, other: CropFacts) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "family")
    if one.family is None or other.family is None:
        return Judgement(pair, "family", _lacks(one, other, "family", "family"), source)
    if one.family == other.family:
        said = f"both are {one.family}: pests and diseases of the one may live on the other"
    else:
        said = (
            f"{one.family} and {other.family}: pests of one kind of plant stay on theirs, but some "
            "diseases live on many (white mould on beans, soybean, sunflower, canola); ask locally"
        )
    return Judgement(pair, "family", said, source)


def _herbicides(one: CropFacts, other: CropFacts) -> Judgement:
    grass = {crop.family == GRASSES for crop in (one, other)}
    if None in (one.family, other.family):
        kind = ""
    elif len(grass) > 1:
        kind = "; a product for grasses in the one may kill the other"
    else:
        kind = "; even of one kind of plant they differ in what they bear"
    said = (
        f"a product must suit both {one.spoken} and {other.spoken}, or be kept off one{kind}. The "
        "label decides"
    )
    return Judgement((one.name, other.name), "herbicides", said, "the label is the law")


def _sources(one: CropFacts, other: CropFacts, attribute: str) -> str:
    return " and ".join(dict.fromkeys((one.source(attribute), other.source(attribute))))
