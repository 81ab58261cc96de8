"""Propose another heading, where yields of blocks that run different ways tell them apart."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from striplay.geometry.directions import angle_deg
from striplay.records.analysis import LEVEL
from striplay.records.proposals import Proposal
from striplay.records.yields import YieldOf
from striplay.tolerances import HEADINGS_APART_DEG

TWO = 2
"""Blocks of a heading at least: of one, its heading can't be told from its ground."""


@dataclass(frozen=True, slots=True)
class Turned:
    """A block of the field, by its place among all, and which way its strips run."""

    block: int
    heading_deg: float


def turned(
    yields: Iterable[YieldOf], blocks: Mapping[int, Turned]
) -> tuple[tuple[Proposal, ...], tuple[str, ...]]:
    """Give what yields speak for of the heading, and why they can't where they do not.

    Whole strips are held block by block, since strips of one block share its ground: a block's
    yield is all its grain of a crop over all its ground. Two groups of blocks are compared by
    Welch's t-test on these.

    Args:
        yields: what strips yielded.
        blocks: where each strip lies, by its number; none along curves.
    """
    whole = [one for one in yields if one.rows is None and one.strip in blocks]
    if not whole:
        return (), ()
    groups = _groups([blocks[one.strip] for one in whole])
    if len(groups) == 1:
        why = (
            f"heading: all strips weighed run within {HEADINGS_APART_DEG:g} degrees of each other, "
            "so nothing is measured of another way"
        )
        return (), (why,)
    if len(groups) > TWO or any(len(own) < TWO for own in groups.values()):
        why = (
            "heading: blocks that run another way stand on other ground, and of one block its "
            "heading can't be told from its ground; two blocks or more of each of two headings "
            "would tell"
        )
        return (), (why,)
    found = [_compared(whole, blocks, groups, crop) for crop in dict.fromkeys(
        one.crop for one in whole)]  # fmt: skip
    known = [one for one in found if one is not None]
    sure = [one for one in known if (one.low > 0.0 or one.high < 0.0)]
    if not sure or len({one.low > 0.0 for one in sure}) > 1:
        return (), ("heading: blocks of either heading yielded alike, as far as they tell",)
    one, other = groups if sure[0].low > 0.0 else [*groups][::-1]
    each = "; ".join(
        f"{each.crop} {abs(each.share):.0%} more, {LEVEL:.0%} interval "
        f"{min(abs(each.low), abs(each.high)):.0%} to {max(abs(each.low), abs(each.high)):.0%}"
        for each in sure
    )
    return (
        Proposal(
            f"heading = {one:g} in blocks that run at {other:g} degrees",
            f"blocks at {one:g} degrees yielded more than those at {other:g} by more than chance",
            f"{len(groups[one])} blocks against {len(groups[other])}: {each}; "
            f"{_sureness(len(known))}; of one year, and headings not drawn by lot",
        ),
    ), ()


def _sureness(crops: int) -> str:
    """Say what the intervals, each of a crop alone, rest on."""
    spread = "the interval takes blocks to spread normally, which few can't show"
    if crops == 1:
        return spread
    return f"{spread}; of {crops} crops compared, uncorrected, chance finds one more often"


@dataclass(frozen=True, slots=True)
class _Difference:
    """By how much blocks of the first heading yielded more of a crop, as a share, with its ends."""

    crop: str
    share: float
    low: float
    high: float


def _groups(strips: Sequence[Turned]) -> dict[float, set[int]]:
    """Give the blocks of each heading; those that differ by little are of the first one's."""
    found: dict[float, set[int]] = {}
    for one in strips:
        near = (each for each in found if angle_deg(each, one.heading_deg) < HEADINGS_APART_DEG)
        found.setdefault(next(near, one.heading_deg), set()).add(one.block)
    return found


def _compared(
    whole: Sequence[YieldOf],
    blocks: Mapping[int, Turned],
    groups: Mapping[float, set[int]],
    crop: str,
) -> _Difference | None:
    """Compare the yields of a crop in two groups of blocks; None where too few grow it."""
    from scipy import stats  # noqa: PLC0415 - slow to load, and only for records

    sums: dict[int, tuple[float, float]] = {}
    for one in whole:
        if one.crop == crop:
            grain_kg, area_m2 = sums.get(blocks[one.strip].block, (0.0, 0.0))
            sums[blocks[one.strip].block] = grain_kg + one.grain_kg, area_m2 + one.area_m2
    first, second = (
        [sums[block][0] / sums[block][1] for block in sorted(own) if block in sums]
        for own in groups.values()
    )
    if min(len(first), len(second)) < TWO or np.ptp(first) == np.ptp(second) == 0.0:
        return None
    found = stats.ttest_ind(first, second, equal_var=False).confidence_interval(LEVEL)
    mean = float(np.mean(second))
    share = (float(np.mean(first)) - mean) / mean
    return _Difference(crop, share, float(found.low) / mean, float(found.high) / mean)
