"""Hold what is known of a crop's growth, each value with where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from striplay.plan.crops import Crop

MEMORY = "from memory"
FAO_56 = "FAO-56, Allen et al. 1998, tables 11, 12 and 22, as transcribed"
THE_PLAN = "the plan"
SOURCES = {
    "FAO-56": FAO_56,
    "FAO-56 berseem": "FAO-56's clover, which is berseem cut for hay (from memory)",
    "Ontario 2025": "nitrogen: Ontario's Field Crop News, 2025, from memory",
    "USDA 697": "bushels: USDA, Agricultural Handbook 697, 1992, from memory",
    "memory": MEMORY,
}
"""Where the table's values come from, by the word that stands beside them in crops.csv.

The transcription of FAO-56 averages ranges of height, and gives some climates' seasons only; what
other lines of its table 11 say is from memory.
"""
NO_VALUE = "no source"
FAMILIES: Mapping[str, tuple[str, ...]] = {
    "legumes": ("legume", "beans", "pulses", "fabaceae", "leguminosae"),
    "grasses": ("grass", "cereals", "poaceae", "gramineae"),
    "brassicas": ("brassica", "mustards", "mustard family", "crucifers", "brassicaceae"),
    "sunflower family": ("daisies", "daisy family", "composites", "asteraceae", "compositae"),
    "beet family": ("goosefoots", "goosefoot family", "chenopods", "amaranthaceae"),
    "potato family": ("nightshades", "nightshade family", "solanaceae"),
    "squash family": ("gourds", "gourd family", "cucurbits", "cucurbitaceae"),
    "cotton family": ("mallows", "mallow family", "malvaceae"),
    "flax family": ("flaxes", "linaceae"),
}
"""The one name that each plant family goes by, and other names a plan may call it."""
AUTUMN, AUTUMN_SOUTH = range(8, 13), range(2, 7)
"""Months in which autumn-sown crops are sown."""


@dataclass(frozen=True, slots=True)
class CropFacts:
    """What is known of a crop; None where the table has no value.

    Attributes:
        name: the crop.
        kind: the crop of the table whose facts these are; None where the table has none.
        family: plant family, in English.
        height_m: greatest height.
        root_m: least and greatest depth of the roots that draw water.
        season_days: least and greatest length of its season.
        elsewhere_days: the same in other climates, or sown in another season.
        autumn_sown: whether `season_days` are those of a crop sown in autumn.
        today_m: least and greatest height of the crop as it is grown today, where its table's
            height is much lower.
        shade: how it bears shade: low, medium, high.
        nitrogen_kg_per_t: least and greatest nitrogen that a tonne of harvest removes.
        bushel_kg: what a bushel of it weighs.
        sources: where each comes from, by attribute.
    """

    name: str
    kind: str | None = None
    family: str | None = None
    height_m: float | None = None
    root_m: tuple[float, float] | None = None
    season_days: tuple[int, int] | None = None
    elsewhere_days: tuple[int, int] | None = None
    autumn_sown: bool = False
    today_m: tuple[float, float] | None = None
    shade: str | None = None
    nitrogen_kg_per_t: tuple[float, float] | None = None
    bushel_kg: float | None = None
    sources: Mapping[str, str] = field(default_factory=dict)

    def source(self, attribute: str) -> str:
        """Say where a value comes from."""
        return self.sources.get(attribute, NO_VALUE)

    @property
    def spoken(self) -> str:
        """Its name as words in a sentence."""
        return self.name.replace("_", " ")

    def least_days(self, sown: date, *, south: bool = False) -> int | None:
        """Give the least length of its season where it is sown on a day; None if not known."""
        days = self.season_days
        autumn = sown.month in (AUTUMN_SOUTH if south else AUTUMN)
        if self.autumn_sown and not autumn and self.elsewhere_days is not None:
            days = self.elsewhere_days
        return None if days is None else days[0]

    @property
    def known(self) -> bool:
        """Whether anything is known of it that pairing judges by."""
        return any((self.family, self.height_m, self.root_m, self.season_days, self.shade))


def facts_of(name: str, table: Mapping[str, CropFacts], crop: "Crop | None") -> CropFacts:
    """Take a crop's facts from the table, overridden by what the plan states.

    Args:
        name: the crop, or what the plan calls it.
        table: facts by name.
        crop: the plan's table of it, if there is one.
    """
    like = name if crop is None or crop.like is None else crop.like
    facts = replace(table.get(like, CropFacts(like)), name=name)
    if crop is None:
        return facts
    told = {
        "family": None if crop.family is None else family_named(crop.family),
        "height_m": crop.height_m,
        "root_m": None if crop.roots_m is None else (crop.roots_m, crop.roots_m),
        "shade": crop.shade,
    }
    told = {key: value for key, value in told.items() if value is not None}
    sources = {**facts.sources, **dict.fromkeys(told, THE_PLAN)}
    if crop.height_m is not None:
        facts = replace(facts, today_m=None)
    return replace(facts, **told, sources=sources)  # type: ignore[arg-type]


def family_named(said: str) -> str:
    """Give the one name of a plant family, whatever it is called; an unknown one as it is.

    >>> family_named("Mustards"), family_named("grasses"), family_named("roses")
    ('brassicas', 'grasses', 'roses')
    """
    low = said.strip().lower()
    return next((name for name, also in FAMILIES.items() if low in (name, *also)), said)


def lacks(one: CropFacts, other: CropFacts, attribute: str, key: str) -> str:
    """Say which of two crops' values is not known, and which key of the plan would tell it."""
    lacking = [crop for crop in (one, other) if getattr(crop, attribute) is None]
    keys = " and ".join(f"crops.{crop.name}.{key}" for crop in lacking)
    return f"not known of {' and '.join(crop.spoken for crop in lacking)}: set {keys}, or like"


def sources_of(one: CropFacts, other: CropFacts, attribute: str) -> str:
    """Say where two crops' values come from."""
    return " and ".join(dict.fromkeys((one.source(attribute), other.source(attribute))))
