"""Combine strip widths into sets, and choose the best."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

from striplay.errors import PlanError
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.section.fit import Sides, StripFit, judge_strip, judge_widths, widths_to_judge
from striplay.section.uneven import outer_rows_m
from striplay.units import format_length

GOOD_SETS = 24
"""Sets laid on the field at most, to see which suits it best."""

MOST_SETS = 20_000
"""Combinations weighed at most; where there are more, each strip keeps only its best widths."""


Some = TypeVar("Some")


@dataclass(frozen=True, slots=True)
class SetFit:
    """A set: its strips in order, each with its verdict.

    Attributes:
        crops: crop of each strip, left to right.
        strips: verdict on each strip.
        shares: share of the set's width by crop.
        off_wish: half the sum of the differences from the wished shares; 0 without wishes.
    """

    crops: tuple[str, ...]
    strips: tuple[StripFit, ...]
    shares: dict[str, float]
    off_wish: float

    @property
    def width_m(self) -> float:
        """Width of the set."""
        return sum(strip.width_m for strip in self.strips)

    @property
    def rank(self) -> tuple[float, ...]:
        """Sort key, best first: fits, no straddling, wished shares, boom match, use, narrow."""
        use = sum(s.harvest_use * s.width_m for s in self.strips) / self.width_m
        return (
            sum(not strip.fits for strip in self.strips),
            sum(strip.straddles for strip in self.strips),
            round(self.off_wish, 3),
            sum(strip.boom_mismatch_m > 0 for strip in self.strips),
            -round(use, 6),
            round(self.width_m, 6),
        )


def fit_crops(plan: Plan, limit_m: float | None = None) -> dict[str, list[StripFit]]:
    """Judge strip widths for every crop, best first.

    Neighbors are those of the plan's strips; where a crop has none there, all other crops.
    """
    limit_m = limit_m or plan.widest_m
    return {
        crop: sorted(
            judge_widths(plan, crop, limit_m, _near_any_m(plan, crop, limit_m)),
            key=lambda fit: fit.rank,
        )
        for crop in plan.crops
    }


def fit_sets(plan: Plan, limit_m: float | None = None, most: int = 5) -> list[SetFit]:
    """Give the best sets of the plan's strips, or of each crop once where it has none.

    Widths stated in the plan are set aside: the question is what would fit.
    """
    wishes = plan.strips or _each_once(plan)
    crops = [wish.crop for wish in wishes]
    limit_m = limit_m or plan.widest_m
    outer_m = _outer_m(plan, wishes, limit_m)
    choices = [
        [fit for fit in judge_widths(plan, crop, limit_m, _near_m(outer_m, i)) if fit.fits]
        for i, crop in enumerate(crops)
    ]
    return _rank_sets(plan, crops, choices)[:most]


def settle_widths(plan: Plan, limit_m: float | None = None) -> list[SetFit]:
    """Settle the width of every strip of the plan; where it says "fit", give the good sets.

    Good are those that fit, straddle no more and miss wished shares no more than the best, which
    comes first; at most `GOOD_SETS`.

    Raises:
        PlanError: no strips, or no width that fits.
    """
    if not plan.strips:
        raise PlanError(plan.path.name, ["strips: none are given; add a [[strips]] table for each"])
    limit_m = limit_m or plan.widest_m
    crops = [wish.crop for wish in plan.strips]
    widths_m = [_widths_m(plan, wish, limit_m) for wish in plan.strips]
    outer_m = [outer_rows_m(plan, *one) for one in zip(plan.strips, widths_m, strict=True)]
    faults: list[str] = []
    choices: list[list[StripFit]] = []
    for i, wish in enumerate(plan.strips):
        near_m = _near_m(outer_m, i)
        judged = [judge_strip(plan, wish.crop, width_m, near_m) for width_m in widths_m[i]]
        choices.append([fit for fit in judged if fit.fits or wish.rows != "fit"])
        if not choices[-1]:
            faults.append(
                f"strips[{i + 1}].rows: no width of {wish.crop} up to "
                f"{format_length(limit_m, plan.units)} fits ({judged[0].reason}); "
                "give rows, or other machines"
            )
    if faults:
        raise PlanError(plan.path.name, faults)
    ranked = _rank_sets(plan, crops, choices)
    return [one for one in ranked if one.rank[:3] == ranked[0].rank[:3]][:GOOD_SETS]


def beside(strips: Sequence[Some], index: int) -> tuple[Some, Some]:
    """Give what lies on either side of a strip, the set repeating; itself where it is alone."""
    return strips[index - 1], strips[(index + 1) % len(strips)]


def _near_m(outer_m: Sequence[Sides], index: int) -> Sides:
    """Give how far the nearest row beside a strip stands from each of its edges.

    Args:
        outer_m: of each strip, how far its outer rows stand from its edges.
        index: of the strip.
    """
    before, after = beside(outer_m, index)
    return before[1], after[0]


def _outer_m(plan: Plan, wishes: Sequence[StripWish], limit_m: float) -> list[Sides]:
    """Give how far each strip's outer rows stand from its edges, whatever its width."""
    return [outer_rows_m(plan, wish, widths_to_judge(plan, wish.crop, limit_m)) for wish in wishes]


def _near_any_m(plan: Plan, crop: str, limit_m: float) -> Sides:
    """Give the nearest rows beside any strip of a crop, on either side."""
    outer_m = _outer_m(plan, plan.strips, limit_m)
    found = [_near_m(outer_m, i) for i, wish in enumerate(plan.strips) if wish.crop == crop]
    if not found:
        every = _each_once(plan)
        others = [wish for wish in every if wish.crop != crop] or list(every)
        found = [(last, first) for first, last in _outer_m(plan, others, limit_m)]
    before, after = zip(*found, strict=True)
    return min(before), min(after)


def _each_once(plan: Plan) -> tuple[StripWish, ...]:
    """Wish for a strip of each crop, where the plan names none."""
    return tuple(StripWish(crop=crop, rows="fit") for crop in plan.crops)


def _widths_m(plan: Plan, wish: StripWish, limit_m: float) -> list[float]:
    """Give the width a plan states, whole planter passes or not; all to judge where it says fit."""
    planter = plan.planter(wish.crop)
    if wish.rows == "fit":
        return widths_to_judge(plan, wish.crop, limit_m)
    if wish.passes is not None:
        return [planter.width_m * wish.passes]
    if wish.width_m is not None:
        return [wish.width_m]
    assert wish.rows is not None and planter.spacing_m is not None  # noqa: PT018, S101 - checked
    return [wish.rows * planter.spacing_m]


def _rank_sets(plan: Plan, crops: list[str], choices: list[list[StripFit]]) -> list[SetFit]:
    kept = [sorted(fits, key=lambda fit: fit.rank) for fits in choices]
    each = max(1, int(MOST_SETS ** (1 / max(1, len(kept)))))
    sets = [_combine(plan, crops, strips) for strips in product(*(fits[:each] for fits in kept))]
    return sorted(sets, key=lambda fit: fit.rank)


def _combine(plan: Plan, crops: list[str], strips: tuple[StripFit, ...]) -> SetFit:
    total_m = sum(strip.width_m for strip in strips)
    shares = dict.fromkeys(crops, 0.0)
    for crop, strip in zip(crops, strips, strict=True):
        shares[crop] += strip.width_m / total_m
    wishes = {crop: plan.crops[crop].share for crop in shares}
    off = sum(abs(shares[crop] - wish) for crop, wish in wishes.items() if wish is not None) / 2
    return SetFit(tuple(crops), strips, shares, off)
