"""Combine strip widths into sets, and choose the best."""

from dataclasses import dataclass
from itertools import product

from striplay.errors import PlanError
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.section.fit import StripFit, judge_strip, judge_widths
from striplay.units import format_length

GOOD_SETS = 24
"""Sets laid on the field at most, to see which suits it best."""

MOST_SETS = 20_000
"""Combinations weighed at most; where there are more, each strip keeps only its best widths."""


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

    Neighbours are those of the plan's strips; where a crop has none there, all other crops.
    """
    limit_m = limit_m or plan.widest_m
    return {
        crop: sorted(
            judge_widths(plan, crop, limit_m, _neighbours(plan, crop)), key=lambda fit: fit.rank
        )
        for crop in plan.crops
    }


def fit_sets(plan: Plan, limit_m: float | None = None, most: int = 5) -> list[SetFit]:
    """Give the best sets of the plan's strips, or of each crop once where it has none.

    Widths stated in the plan are set aside: the question is what would fit.
    """
    crops = [wish.crop for wish in plan.strips] or list(plan.crops)
    limit_m = limit_m or plan.widest_m
    choices = [
        [fit for fit in judge_widths(plan, crop, limit_m, beside(crops, i)) if fit.fits]
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
    faults: list[str] = []
    choices: list[list[StripFit]] = []
    for i, wish in enumerate(plan.strips):
        if wish.rows != "fit":
            choices.append([_as_asked(plan, wish, beside(crops, i))])
            continue
        judged = judge_widths(plan, wish.crop, limit_m, beside(crops, i))
        choices.append([fit for fit in judged if fit.fits])
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


def beside(crops: list[str], index: int) -> list[str]:
    """Give the crops on either side of a strip, the set repeating; its own where it is alone."""
    return [crops[index - 1], crops[(index + 1) % len(crops)]]


def _as_asked(plan: Plan, wish: StripWish, neighbours: list[str]) -> StripFit:
    """Judge the width a plan states; one that is not whole planter passes does not fit."""
    planter = plan.planter(wish.crop)
    if wish.passes is not None:
        width_m = planter.width_m * wish.passes
    elif wish.width_m is not None:
        width_m = wish.width_m
    else:
        assert isinstance(wish.rows, int) and planter.spacing_m is not None  # noqa: PT018, S101 - checked
        width_m = wish.rows * planter.spacing_m
    return judge_strip(plan, wish.crop, width_m, neighbours)


def _neighbours(plan: Plan, crop: str) -> list[str]:
    crops = [wish.crop for wish in plan.strips]
    if crop in crops:
        return [name for i, own in enumerate(crops) if own == crop for name in beside(crops, i)]
    return [name for name in plan.crops if name != crop] or [crop]


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
