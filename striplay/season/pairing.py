"""Judge how crops suit each other: each point in a line with its reason, and no score."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType
from typing import Literal

from striplay.season.facts import MEMORY, THE_PLAN, CropFacts, lacks, sources_of
from striplay.season.pests import shared_pests
from striplay.season.setting import Setting
from striplay.season.shade import judge_height
from striplay.season.shared_days import Shared, Windows, shared_days
from striplay.season.together import Together
from striplay.units import POUND_KG, UnitSystem, format_length, trim

LEGUMES, GRASSES = "legumes", "grasses"


@dataclass(frozen=True, slots=True)
class Judgement:
    """One point about two crops.

    Attributes:
        crops: the two.
        about: height, roots, nitrogen, season, family or herbicides.
        said: the judgment and its reason.
        source: where its figures come from.
    """

    crops: tuple[str, str]
    about: str
    said: str
    source: str


def judge_pairs(
    crops: Sequence[CropFacts],
    setting: Setting,
    windows: Windows,
    together: Together = MappingProxyType({}),
) -> list[Judgement]:
    """Judge every pair of crops.

    Args:
        crops: what is known of each.
        setting: where they would stand.
        windows: from sowing to harvest, of crops the plan says are sown.
        together: pairs that stand in one row or strip; others stand in strips beside each other.
    """
    judged = []
    for one, other in combinations(crops, 2):
        pair = (one.name, other.name)
        where = together.get(frozenset(pair))
        told = judge_height(one, other, setting, windows, in_one_row=where == "row")
        judged += [
            Judgement(pair, "height", *told),
            _roots(one, other, setting),
            _nitrogen(one, other, setting.units),
            _season(one, other, windows),
            judge_family(one, other),
            _herbicides(one, other, where, shared_days(one.name, other.name, windows)),
        ]
    return judged


def _roots(one: CropFacts, other: CropFacts, setting: Setting) -> Judgement:
    pair, source = (one.name, other.name), sources_of(one, other, "root_m")
    if one.root_m is None or other.root_m is None:
        return Judgement(pair, "roots", lacks(one, other, "root_m", "roots"), source)
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
            said = lacks(one, other, "family", "family")
    elif len(legumes) > 1:
        said = "both fix nitrogen; neither gets credit for the other's"
    else:
        said = (
            f"nitrogen is fixed by {legumes[0].spoken}, but the crop beside it gets no credit: "
            "what is left depends on how much is fixed and what is harvested"
        )
    if SOYBEAN in [crop.kind for crop in legumes]:
        said += "; soybean only breaks even where 58 % of its nitrogen is fixed"
        sources = [BALANCE]
    takers = [crop for crop in (one, other) if crop.nitrogen_kg_per_t is not None]
    if takers:
        said += f"; harvest removes {', '.join(_taken(crop, units) for crop in takers)}"
    for crop in takers:
        sources.append(crop.source("nitrogen_kg_per_t"))
        if units == "metric":
            sources.append(crop.source("bushel_kg"))
    source = "; ".join(dict.fromkeys(sources)) or sources_of(one, other, "family")
    return Judgement(pair, "nitrogen", said, source)


SOIL = "no credit: common practice, no source"
BALANCE = "balance: International Plant Nutrition Institute, Better Crops 102(3), 2018, from memory"
SOYBEAN = "soybean"


def _taken(crop: CropFacts, units: UnitSystem) -> str:
    """Write the nitrogen harvest removes, by the bushel as its source does, or by the tonne."""
    assert crop.nitrogen_kg_per_t is not None and crop.bushel_kg is not None  # noqa: PT018, S101
    each, unit, places = 1.0, "kg N a tonne", 1
    if units == "us":
        # kilograms to the tonne times the bushel's pounds, over a thousand
        each, unit, places = crop.bushel_kg / POUND_KG / 1000, "lb N a bushel", 2
    amounts = [trim(amount * each, places) for amount in crop.nitrogen_kg_per_t]
    return f"{' to '.join(dict.fromkeys(amounts))} {unit} of {crop.spoken}"


def _season(one: CropFacts, other: CropFacts, windows: Windows) -> Judgement:
    pair, source = (one.name, other.name), sources_of(one, other, "season_days")
    shared = shared_days(one.name, other.name, windows)
    if shared is not None:
        return Judgement(pair, "season", _together(one, other, shared, windows), THE_PLAN)
    unsaid = [crop for crop in (one, other) if crop.name not in windows]
    keys = " and ".join(f"crops.{crop.name}.sown" for crop in unsaid)
    said = f"state {keys}, and harvested, in a plan for the days both are in the field"
    lengths = [f"{crop.spoken} {_length(crop)}" for crop in (one, other) if crop.season_days]
    return Judgement(pair, "season", "; ".join([*filter(None, [", ".join(lengths)]), said]), source)


def _together(one: CropFacts, other: CropFacts, shared: Shared, windows: Windows) -> str:
    """Say for how long two crops are in the field together."""
    if shared.never:
        assert shared.end is not None  # noqa: S101 - or they would meet
        return f"no days together; {(shared.begin - shared.end).days} days lie between"
    open_ended = [crop.name for crop in (one, other) if windows[crop.name][1] is None]
    if open_ended:
        keys = " and ".join(f"crops.{name}.harvested" for name in open_ended)
        return f"together from {shared.begin.isoformat()}; state {keys} for how long"
    assert shared.end is not None  # noqa: S101 - both harvests are said
    return (
        f"{(shared.end - shared.begin).days} days together, "
        f"{shared.begin.isoformat()} to {shared.end.isoformat()}"
    )


def _length(crop: CropFacts) -> str:
    """Write how long a crop's season is, how it is sown for that, and what it is elsewhere."""
    assert crop.season_days is not None  # noqa: S101 - the caller's choice
    said = _days(crop.season_days) + (", autumn-sown" if crop.autumn_sown else "")
    if crop.elsewhere_days is None:
        return said
    told = f"{_days(crop.elsewhere_days)} in other climates or sowing seasons"
    return f"{said} ({told}: {crop.source('elsewhere_days')})"


def _days(season_days: tuple[int, int]) -> str:
    least, most = season_days
    return f"{least} days" if least == most else f"{least} to {most} days"


def judge_family(one: CropFacts, other: CropFacts) -> Judgement:
    """Say of which families two crops are, and what pests and diseases live on both."""
    pair, source = (one.name, other.name), sources_of(one, other, "family")
    if one.family is None or other.family is None:
        return Judgement(pair, "family", lacks(one, other, "family", "family"), source)
    if one.family == other.family:
        said = f"both of one family, {one.family}: pests and diseases of the one may live on the "
        said += "other"
    else:
        said = f"{one.family} and {other.family}"
    pests = shared_pests(one, other)
    if pests:
        said += f"; both may host {', '.join(pests)} (not a whole list; ask locally)"
        source = "; ".join(dict.fromkeys((source, MEMORY)))
    return Judgement(pair, "family", said, source)


def _herbicides(
    one: CropFacts, other: CropFacts, where: Literal["row", "strip"] | None, days: Shared | None
) -> Judgement:
    grass = {crop.family == GRASSES for crop in (one, other)}
    if None in (one.family, other.family):
        kind = ""
    elif len(grass) > 1:
        kind = "; what kills grass weeds in the one may kill the other"
    else:
        both = "both are grasses" if True in grass else "neither is a grass"
        kind = f"; {both}, yet each tolerates other products"
    kept = ", or be kept off one"
    if where is not None:
        kept = f": they stand in one {where}, where nothing can be kept off one of them"
        if days is not None and days.never:
            kept = (
                f": one follows the other in the same {where}, and what is left in the soil acts on"
            )
        if where == "strip":
            kind += "; before the second is sown, plant-back intervals of the first's must be over"
    said = (
        f"a product must suit both {one.spoken} and {other.spoken}{kept}{kind}. The label decides"
    )
    return Judgement((one.name, other.name), "herbicides", said, "the label is the law")
