"""Name each crop that a section's strips are sown to, apart by layer: own, or between its rows."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from striplay.plan.models import Plan
from striplay.section.section import Section

How = Literal["own", "mixed", "relay", "quick crop"]


@dataclass(frozen=True, slots=True)
class Sowing:
    """A crop sown in a layer of rows.

    Attributes:
        crop: its name.
        layer: 0 for a strip's own rows, 1 and up for rows between them.
    """

    crop: str
    layer: int


def sowings_of(section: Section) -> tuple[Sowing, ...]:
    """List a section's sowings: strips' own first, in the order of the set."""
    found = (Sowing(sown.crop, row.layer) for row in section.rows for sown in row.sown)
    order = section.crops
    return tuple(sorted(set(found), key=lambda one: (one.layer, order.index(one.crop))))


def rows_sown(
    section: Section,
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.float64]]:
    """Tell which rows carry each sowing, and at what rate to the square metre.

    Returns:
        Both (sowings, rows); a rate is NaN where none is stated, and 0 in other rows.
    """
    sowings, rows = sowings_of(section), section.rows
    sown = np.zeros((len(sowings), len(rows)), dtype=bool)
    rate_per_m2 = np.zeros(sown.shape)
    for index, row in enumerate(rows):
        for one in row.sown:
            sowing = sowings.index(Sowing(one.crop, row.layer))
            sown[sowing, index] = True
            known = one.seed_rate_per_m2 is not None
            rate_per_m2[sowing, index] = one.seed_rate_per_m2 if known else np.nan
    return sown, rate_per_m2


def label_of(plan: Plan, section: Section, strip: int, layer: int) -> str:
    """Name what a layer of a strip is sown to, a crop or a mixture, as the plan does."""
    if layer == 0:
        return section.strips[strip].crop
    between = (*plan.relays, *plan.quick_crops)
    if layer <= len(between):
        return between[layer - 1].crop
    rows = (row for row in section.rows if (row.strip, row.layer) == (strip, layer))
    return " + ".join(dict.fromkeys(one.crop for row in rows for one in row.sown))


def how_sown(plan: Plan, section: Section, strip: int, sowing: Sowing) -> tuple[How, float]:
    """Say how a sowing came into a strip, and at what share of its full rate.

    A mixture's closer sowing is in the share, so that seeds = area x full rate x share.
    """
    how: How = "own"
    if sowing.layer:
        quick = len(plan.relays) < sowing.layer <= len(plan.relays) + len(plan.quick_crops)
        how = "quick crop" if quick else "relay"
    mixture = plan.mixtures.get(label_of(plan, section, strip, sowing.layer))
    if mixture is None or sowing.crop not in mixture.parts:
        return how, 1.0
    share = mixture.parts[sowing.crop] * (1.0 + mixture.closer)
    return ("mixed" if sowing.layer == 0 else how), share


def seed_kg(plan: Plan, crop: str, seeds: Any) -> Any:  # noqa: ANN401 - a number or an array
    """Weigh seed as it stands in the bag; NaN where its size is not stated."""
    asked = plan.crops[crop]
    if asked.seed_size_per_kg is None:
        return seeds * np.nan
    return seeds / (asked.seed_size_per_kg * asked.purity)
