"""Reckon how much land crops grown alone would need for what strips yielded, with its interval."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from striplay.errors import YieldError
from striplay.records.analysis import LEVEL, Interval
from striplay.records.plots import TWO, Plot, blocks_of, whole_strips
from striplay.section.trial import ALONE


@dataclass(frozen=True, slots=True)
class LandRatio:
    """A land equivalent ratio of measured plots.

    Attributes:
        treatment: how the crops were grown together.
        ratio: land that they would need alone, to the land that they had; with its interval.
        parts: what each crop adds, by name.
        blocks: that it is of.
    """

    treatment: str
    ratio: Interval
    parts: Mapping[str, float]
    blocks: int


def land_ratio(plots: Sequence[Plot], treatment: str, shares: Mapping[str, float]) -> LandRatio:
    """Reckon the land equivalent ratio of a treatment.

    The sum over crops of share of land times yield in it over yield alone, of means over blocks.
    Its interval is by the delta method: errors of the means, with how they go together from block
    to block, carried to the ratio by its slopes; Student's t with a degree of freedom less than
    blocks.

    Args:
        plots: of all crops; yields by the ground of each crop itself.
        treatment: how they were grown together.
        shares: each crop's share of the land there.

    Raises:
        YieldError: a crop without plots of both, or fewer than two blocks that have all of them.
    """
    from scipy.stats import t  # noqa: PLC0415 - slow to load
    from uncertainties import correlated_values  # noqa: PLC0415 - likewise

    crops = list(shares)
    columns = [(crop, grown) for crop in crops for grown in (treatment, ALONE)]
    each = {
        (one.block, one.crop, one.treatment): one.kg_per_m2
        for crop in crops
        for one in whole_strips(plots, crop)
    }
    for crop, grown in columns:
        if not any(key[1:] == (crop, grown) for key in each):
            raise YieldError(f"{crop}: has no plot of {grown}, which the ratio of land needs")
    blocks = [
        block
        for block in blocks_of(plots)
        if all((block, crop, grown) in each for crop, grown in columns)
    ]
    if len(blocks) < TWO:
        raise YieldError(
            f"{treatment}: {len(blocks)} block has every crop both so and alone; two or more are "
            "needed for the ratio of land"
        )
    table = np.array([[each[block, *column] for column in columns] for block in blocks])
    means = table.mean(axis=0)
    if not (means[1::2] > 0.0).all():
        crop = crops[int(np.argmin(means[1::2]))]
        raise YieldError(f"{crop}: yields nothing {ALONE}; there is no ratio to it")
    known = correlated_values(means, np.cov(table, rowvar=False) / len(blocks))
    parts = [shares[crop] * known[2 * at] / known[2 * at + 1] for at, crop in enumerate(crops)]
    whole = sum(parts)
    reach = float(t.ppf((1 + LEVEL) / 2, len(blocks) - 1)) * whole.std_dev
    value = float(whole.nominal_value)
    return LandRatio(
        treatment,
        Interval(value, value - reach, value + reach),
        {crop: float(part.nominal_value) for crop, part in zip(crops, parts, strict=True)},
        len(blocks),
    )
