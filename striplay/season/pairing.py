"""Judge how crops suit each other: each point in a line with its reason, and no score."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from striplay.season.facts import THE_PLAN, CropFacts
from striplay.season.sun import mean_shadow_m
from striplay.units import UnitSystem, format_length

LEGUMES = "legumes"
EQUAL_M = 0.1
"""Crops within 10 cm of each other's height hardly shade."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Where and how two crops would stand beside each other.

    Attributes:
        latitude_deg: north above 0.
        heading_deg: direction of the rows.
        day: the day shade is judged for.
        units: how lengths are written.
    """

    latitude_deg: float
    heading_deg: float
    day: date
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


Windows = dict[str, tuple[date, date]]
"""From when to when crops stand."""


def judge_pairs(crops: Sequence[CropFacts], setting: Setting, windows: Windows) -> list[Judgement]:
    """Judge every pair of crops.

    Args:
        crops: what is known of each.
        setting: where they would stand.
        windows: from sowing to harvest, of crops whose plan says so.
    """
    judged = []
    for one, other in combinations(crops, 2):
        judged += [
            _height(one, other, setting),
            _roots(one, other, setting),
            _nitrogen(one, other),
            _season(one, other, windows),
            _family(one, other),
            _herbicides(one, other),
        ]
    return judged


def _height(one: CropFacts, other: CropFacts, setting: Setting) -> Judgement:
    pair = (one.name, other.name)
    source = _sources(one, other, "height_m")
    if one.height_m is None or other.height_m is None:
        return Judgement(pair, "height", "not known for both; state height under [crops]", source)
    tall, short = (one, other) if one.height_m >= other.height_m else (other, one)
    assert tall.height_m is not None and short.height_m is not None  # noqa: PT018, S101 - just seen
    more_m = tall.height_m - short.height_m
    if more_m < EQUAL_M:
        return Judgement(pair, "height", "as tall as each other; neither shades the other", source)
    reach_m = mean_shadow_m(more_m, setting.heading_deg, setting.latitude_deg, setting.day)
    across_m = mean_shadow_m(more_m, setting.heading_deg + 90, setting.latitude_deg, setting.day)
    bears = f"; {short.name} bears shade: {short.shade} ({short.source('shade')})"
    more, reach, across = (
        format_length(value, setting.units) for value in (more_m, reach_m, across_m)
    )
    said = (
        f"{tall.name} stands {more} above {short.name} and shades it: on "
        f"{setting.day.isoformat()} its shadow reaches {reach} across rows on average, {across} if "
        f"rows ran at right angles{bears if short.shade else ''}"
    )
    return Judgement(pair, "height", said, f"{source}; sun: FAO-56 equation 24")


def _roots(one: CropFacts, other: CropFacts, setting: Setting) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "root_m")
    if one.root_m is None or other.root_m is None:
        said = "depth not known for both; state roots under [crops]"
        return Judgement(pair, "roots", said, source)
    deep, shallow = (one, other) if max(one.root_m) >= max(other.root_m) else (other, one)
    assert deep.root_m is not None and shallow.root_m is not None  # noqa: PT018, S101 - just seen
    apart_m = max(deep.root_m) - max(shallow.root_m)
    share = max(shallow.root_m) / max(deep.root_m)
    depth = format_length(max(shallow.root_m), setting.units)
    if share > SHARED:
        said = f"both draw from the same layer, to about {depth}; they compete for water"
        return Judgement(pair, "roots", said, source)
    below = format_length(apart_m, setting.units)
    said = f"they share the soil to {depth}; below, {deep.name} has {below} to itself"
    return Judgement(pair, "roots", said, source)


SHARED = 0.85
"""Roots that reach this share of the other's depth draw from the same layer (our choice)."""


def _nitrogen(one: CropFacts, other: CropFacts) -> Judgement:
    pair = (one.name, other.name)
    legumes = [crop.name for crop in (one, other) if crop.family == LEGUMES]
    taken = "; ".join(
        f"{crop.name} takes away {crop.nitrogen_kg_per_t:g} kg N a tonne"
        for crop in (one, other)
        if crop.nitrogen_kg_per_t is not None
    )
    if not legumes:
        said = "neither fixes nitrogen; each needs its own"
    elif len(legumes) > 1:
        said = "both fix nitrogen"
    else:
        said = (
            f"{legumes[0]} fixes nitrogen, but its neighbour gets no credit for it: what it leaves "
            "depends on what is harvested (soybean only breaks even where 58 % is fixed)"
        )
    source = f"{one.source('nitrogen_kg_per_t')}; balance: IPNI BC10235, 2018 (soybean)"
    return Judgement(pair, "nitrogen", f"{said}{'; ' + taken if taken else ''}", source)


def _season(one: CropFacts, other: CropFacts, windows: Windows) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "season_days")
    if one.name in windows and other.name in windows:
        (begin, end), (other_begin, other_end) = windows[one.name], windows[other.name]
        days = (min(end, other_end) - max(begin, other_begin)).days
        said = f"stand together for {days} days"
        if days <= 0:
            said = f"never stand together; {-days} days lie between"
        return Judgement(pair, "season", said, THE_PLAN)
    if one.season_days is None or other.season_days is None:
        said = "length not known for both; state sown and harvested"
        return Judgement(pair, "season", said, source)
    each = ", ".join(f"{c.name} {_days(c.season_days)}" for c in (one, other) if c.season_days)
    return Judgement(pair, "season", f"{each}; state sown and harvested for their overlap", source)


def _days(season_days: tuple[int, int]) -> str:
    least, most = season_days
    return f"{least} days" if least == most else f"{least} to {most} days"


def _family(one: CropFacts, other: CropFacts) -> Judgement:
    pair, source = (one.name, other.name), _sources(one, other, "family")
    if one.family is None or other.family is None:
        return Judgement(pair, "family", "not known for both", source)
    if one.family == other.family:
        said = f"both are {one.family}: pests and diseases of the one may live on the other"
    else:
        said = (
            f"{one.family} and {other.family}: pests of one kind of plant stay on theirs, but some "
            "diseases live on many (white mould on beans, soybean, sunflower, canola); ask locally"
        )
    return Judgement(pair, "family", said, source)


def _herbicides(one: CropFacts, other: CropFacts) -> Judgement:
    grass = {crop.family == "grasses" for crop in (one, other)}
    kind = (
        "a product for grasses in the one may kill the other"
        if len(grass) > 1
        else "even of one family they differ in what they bear"
    )
    said = (
        f"a product must suit both {one.name} and {other.name}, or be kept off one; {kind}. The "
        "label decides"
    )
    return Judgement((one.name, other.name), "herbicides", said, "the label is the law")


def _sources(one: CropFacts, other: CropFacts, attribute: str) -> str:
    return " and ".join(dict.fromkeys((one.source(attribute), other.source(attribute))))
