"""Combine strip widths into sets, and rank them as an adviser would: for `fit` and `lay` alike."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, TypeVar

from striplay.errors import PlanError
from striplay.limits import MOST_SETS
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.section.fit import Sides, StripFit, judge_strip, judge_widths, widths_to_judge
from striplay.section.uneven import outer_rows_m
from striplay.tolerances import SHARE_MISSED, SHARE_STEP, SWAP_M, WHOLE_NUMBER
from striplay.units import format_length

SETS_SHOWN = 6
"""Sets given at most, the best first: as many as are read at a glance."""


Some = TypeVar("Some")


@dataclass(frozen=True, slots=True)
class SetFit:
    """A set: its strips in order, each with its verdict.

    Attributes:
        crops: crop of each strip, left to right.
        strips: verdict on each strip.
        shares: share of the set's width by crop.
        off_wish: share of its width under other crops than wished; 0 without wishes.
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
    def equal(self) -> bool:
        """Whether its strips are of one width, so that its crops can swap places next season."""
        return are_equal([strip.width_m for strip in self.strips])

    @property
    def use(self) -> tuple[float, ...]:
        """How badly it uses the machines' widths: straddling, boom sections, width at work."""
        use = sum(s.harvest_use * s.width_m for s in self.strips) / self.width_m
        return (
            sum(strip.straddles for strip in self.strips),
            sum(strip.boom_mismatch_m > 0 for strip in self.strips),
            -round(use, 6),
        )


def are_equal(widths_m: Sequence[float]) -> bool:
    """Tell whether strips are of one width."""
    return max(widths_m) - min(widths_m) <= SWAP_M


def _rank(found: SetFit, *, swap: bool) -> tuple[float, ...]:
    """Give the sort key of a set, best first; the reasons stand in docs/methods.md.

    All machines fit; equal widths, where crops are to swap places; nearest the wished shares, to
    the whole per cent; narrowest; use of the machines' widths; at last the first strips' widths.
    """
    return (
        sum(not strip.fits for strip in found.strips),
        swap and not found.equal,
        round(found.off_wish / SHARE_STEP),
        round(found.width_m, 6),
        *found.use,
        *(round(strip.width_m, 6) for strip in found.strips),
    )


def fit_crops(plan: Plan, limit_m: float | None = None) -> dict[str, list[StripFit]]:
    """Judge strip widths for every crop, best first.

    Neighbors are those of the plan's strips; where a crop has none there, all other crops.
    """
    limit_m = limit_m or plan.widest_m
    return {
        crop: sorted(
            judge_widths(plan, crop, limit_m, near_any_m(plan, crop, limit_m)),
            key=lambda fit: fit.rank,
        )
        for crop in plan.crops
    }


def fit_sets(plan: Plan, limit_m: float | None = None, most: int = SETS_SHOWN) -> list[SetFit]:
    """Give the best sets of the plan's strips, or of each crop once where it has none.

    Widths stated in the plan are set aside: the question is what would fit.

    Raises:
        PlanError: neither strips nor crops.
    """
    wishes = wished_strips(plan)
    crops = [wish.crop for wish in wishes]
    limit_m = limit_m or plan.widest_m
    outer_m = _outer_m(plan, wishes, limit_m)
    choices = [
        [fit for fit in judge_widths(plan, crop, limit_m, _near_m(outer_m, i)) if fit.fits]
        for i, crop in enumerate(crops)
    ]
    return _rank_sets(plan, crops, choices)[:most]


def settle_widths(plan: Plan, limit_m: float | None = None) -> list[SetFit]:
    """Settle the width of every strip of the plan; where it says "fit", give the best sets.

    All of them fit as well as the first, which is to be laid; at most `SETS_SHOWN`.

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
    return _rank_sets(plan, crops, choices)[:SETS_SHOWN]


def written(crops: Sequence[str], widths_m: Sequence[float], plan: Plan) -> str:
    """Write a set in words: each crop with the width of its strip."""
    each = zip(crops, widths_m, strict=True)
    return " + ".join(f"{crop} {format_length(width_m, plan.units)}" for crop, width_m in each)


def missed(share: float, wish: float | None) -> bool:
    """Tell whether a crop's share of the land is so far off its wish that it should be told."""
    return wish is not None and abs(share - wish) > SHARE_MISSED + WHOLE_NUMBER


def off_wish(over: Iterable[Any]) -> Any:  # noqa: ANN401 - numbers, or arrays of one shape
    """Give the land that is under other crops than wished, or its share of all cropped land.

    Crops that have no wish count together as one, whose wish is the rest: they have too much by
    what the others together lack. Each hectare is then missed by one crop and held by another.

    Args:
        over: how much more of it each crop has than its wish; of those that have one.
    """
    each = list(over)
    return (sum(abs(one) for one in each) + abs(sum(each))) / 2


def share_cure(plan: Plan, widths_m: Sequence[float]) -> str:
    """Say what brings a set nearer to the wished shares.

    Args:
        plan: what is asked.
        widths_m: of the set's strips.
    """
    if plan.row_set is not None:
        return "share the row units otherwise"
    cure = "list a crop in more strips, or state rows"
    open_widths = any(wish.rows == "fit" for wish in wished_strips(plan))
    if plan.season.swap and open_widths and len(widths_m) > 1 and are_equal(widths_m):
        cure += "; equal widths go before shares, but for swap = false under [season]"
    return cure


def beside(strips: Sequence[Some], index: int) -> tuple[Some, Some]:
    """Give what lies on either side of a strip, the set repeating; itself where it is alone."""
    return strips[index - 1], strips[(index + 1) % len(strips)]


def wished_strips(plan: Plan) -> tuple[StripWish, ...]:
    """Give the plan's strips; where it names none, a strip of each crop to fit.

    Raises:
        PlanError: neither strips nor crops.
    """
    if not plan.crops:
        raise PlanError(
            plan.path.name, ["crops: none are given; add a [crops.NAME] table for each"]
        )
    return plan.strips or _each_once(plan)


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


def near_any_m(plan: Plan, crop: str, limit_m: float) -> Sides:
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
    """Combine widths of all strips into sets, best first.

    Where there are too many, each strip keeps those that all strips have, then the narrowest.
    """

    def in_all(width_m: float) -> bool:
        return all(any(are_equal([width_m, fit.width_m]) for fit in fits) for fits in choices)

    kept = [sorted(fits, key=lambda f: (not in_all(f.width_m), f.width_m)) for fits in choices]
    each = max(1, int(MOST_SETS ** (1 / max(1, len(kept)))))
    wishes = plan.wished_shares
    sets = [_combine(crops, strips, wishes) for strips in product(*(fits[:each] for fits in kept))]
    return sorted(sets, key=lambda found: _rank(found, swap=plan.season.swap))


def _combine(crops: list[str], strips: tuple[StripFit, ...], wishes: Mapping[str, float]) -> SetFit:
    total_m = sum(strip.width_m for strip in strips)
    shares = dict.fromkeys(crops, 0.0)
    for crop, strip in zip(crops, strips, strict=True):
        shares[crop] += strip.width_m / total_m
    off = off_wish(shares[crop] - wishes[crop] for crop in shares if crop in wishes)
    return SetFit(tuple(crops), strips, shares, off)
