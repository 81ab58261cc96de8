"""Hold the height stated of a crop between rows to what its growth would make it."""

from collections.abc import Collection, Mapping

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.season.calendar import Window
from striplay.season.facts import CropFacts
from striplay.season.growth import grown_share
from striplay.section.between import layers_between
from striplay.section.mixture import crops_named
from striplay.section.section import Layer
from striplay.units import format_small

FAR_BELOW, FAR_ABOVE = 0.5, 1.5
"""Shares of the assumed height beyond which a stated one is told: our choice, as is the curve."""


def height_notices(
    plan: Plan,
    settled: Mapping[str, Window],
    facts: Mapping[str, CropFacts],
    grown: Collection[str],
    *,
    south: bool = False,
) -> list[Notice]:
    """Say which stated heights of relays and quick crops lie far off their assumed growth.

    They are judged for the day their host is harvested, where they stand then; crops whose days or
    full height are not known are not.

    Args:
        plan: its relays and quick crops.
        settled: when each crop stands.
        facts: full heights and seasons, by crop, the plan's own before the table's.
        grown: what the set holds, by name.
        south: whether the field lies south of the equator.
    """
    found = []
    for asked in dict.fromkeys(layers[0] for layers in layers_between(plan)):
        host = settled.get(asked.host)
        if asked.height_m is None or host is None or host.harvested is None:
            continue
        if not {asked.label, asked.host} <= {*grown}:
            continue
        assumed_m = _assumed_m(plan, asked, settled, facts, south=south)
        if assumed_m is None:
            continue
        if FAR_BELOW * assumed_m - SAME_M <= asked.height_m <= FAR_ABOVE * assumed_m + SAME_M:
            continue
        stated, assumed = (format_small(m, plan.units) for m in (asked.height_m, assumed_m))
        told = f"{asked.label} into {asked.host}: height says {stated} when {asked.host} is "
        told += f"harvested, {host.harvested.isoformat()}; assumed growth makes it {assumed}"
        told += ": check it, since headers are judged by what is stated"
        found.append(Notice("season", "mind", None, told))
    return found


SAME_M = 1e-9
"""Heights nearer than a nanometer are the same."""


def _assumed_m(
    plan: Plan,
    asked: Layer,
    settled: Mapping[str, Window],
    facts: Mapping[str, CropFacts],
    *,
    south: bool,
) -> float | None:
    """Give the height growth makes it on its host's harvest day; of a mixture, its tallest part's.

    None where it does not stand that day, or not enough is known.
    """
    day = settled[asked.host].harvested
    heights_m = []
    for crop in crops_named(plan, asked.label):
        window, known = settled.get(crop), facts.get(crop)
        if day is None or window is None or known is None or known.height_m is None:
            return None
        if not window.stands_on(day):
            return None
        share = grown_share(known, window.sown, window.harvested, day, south=south)
        heights_m.append(known.height_m * share)
    return max(heights_m)
