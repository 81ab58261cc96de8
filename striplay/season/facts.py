"""Hold what is known of a crop's growth, each value with where it comes from."""

from dataclasses import dataclass, replace

from striplay.plan.crops import Crop

FAO_56 = "FAO-56, Allen et al. 1998, tables 11, 12 and 22"
MEMORY = "from memory"
BOTANY = "plant families, from memory"
ONTARIO = "Ontario field crop news 2025, middle of its range"
"""By the bushel there; by the tonne with bushels of 56 lb of corn, 60 of soybean, wheat and dry
bean, 48 of barley, 32 of oats (Ohio State AGF-503) and 50 of canola (from memory)."""
THE_PLAN = "the plan"


@dataclass(frozen=True, slots=True)
class CropFacts:
    """What is known of a crop; None where the table has no value.

    Attributes:
        name: the crop.
        family: plant family, in English.
        height_m: greatest height.
        root_m: least and greatest depth of the roots that draw water.
        season_days: least and greatest length of its season.
        shade: how it bears shade: low, medium, high.
        nitrogen_kg_per_t: nitrogen that a tonne of harvest takes away.
        stated: what the plan states, by attribute.
    """

    name: str
    family: str | None = None
    height_m: float | None = None
    root_m: tuple[float, float] | None = None
    season_days: tuple[int, int] | None = None
    shade: str | None = None
    nitrogen_kg_per_t: float | None = None
    stated: frozenset[str] = frozenset()

    def source(self, attribute: str) -> str:
        """Say where a value comes from."""
        if attribute in self.stated:
            return THE_PLAN
        return {
            "family": BOTANY, "shade": MEMORY, "nitrogen_kg_per_t": ONTARIO,
        }.get(attribute, FAO_56)  # fmt: skip


def facts_of(name: str, table: dict[str, CropFacts], crop: Crop | None) -> CropFacts:
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
    return replace(facts, **told, stated=frozenset(told))  # type: ignore[arg-type]
