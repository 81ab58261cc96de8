"""Hold what is known of a crop's growth, each value with where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from striplay.plan.crops import Crop

MEMORY = "from memory"
THE_PLAN = "the plan"
SOURCES = {
    "FAO-56": "FAO-56, Allen et al. 1998, tables 11, 12 and 22, as transcribed",
    "Ontario 2025": "nitrogen: Ontario field crop news 2025",
    "AGF-503": "bushels: Ohio State AGF-503",
    "memory": MEMORY,
}
"""Where the table's values come from, by the word that stands beside them in crops.csv.

The transcription of FAO-56 averages ranges of height, and gives some climates' seasons only.
"""
NO_VALUE = "no source"


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
        shade: how it bears shade: low, medium, high.
        nitrogen_kg_per_t: least and greatest nitrogen that a tonne of harvest takes away.
        bushel_kg: what a bushel of it weighs.
        sources: where each comes from, by attribute.
    """

    name: str
    kind: str | None = None
    family: str | None = None
    height_m: float | None = None
    root_m: tuple[float, float] | None = None
    season_days: tuple[int, int] | None = None
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
        "family": crop.family,
        "height_m": crop.height_m,
        "root_m": None if crop.roots_m is None else (crop.roots_m, crop.roots_m),
        "shade": crop.shade,
    }
    told = {key: value for key, value in told.items() if value is not None}
    sources = {**facts.sources, **dict.fromkeys(told, THE_PLAN)}
    return replace(facts, **told, sources=sources)  # type: ignore[arg-type]


def lacks(one: CropFacts, other: CropFacts, attribute: str, key: str) -> str:
    """Say which of two crops' values is not known, and which key of the plan would tell it."""
    lacking = [crop for crop in (one, other) if getattr(crop, attribute) is None]
    keys = " and ".join(f"crops.{crop.name}.{key}" for crop in lacking)
    return f"not known of {' and '.join(crop.spoken for crop in lacking)}: set {keys}, or like"


def sources_of(one: CropFacts, other: CropFacts, attribute: str) -> str:
    """Say where two crops' values come from."""
    return " and ".join(dict.fromkeys((one.source(attribute), other.source(attribute))))
