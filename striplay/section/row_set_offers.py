"""Offer row sets: a planter that carries two crops at once and makes strips of equal width."""

from dataclasses import dataclass

from striplay.plan.models import Plan
from striplay.plan.systems import EMPTY, RowSet
from striplay.section.cover import passes_to_cover
from striplay.section.fit import StripFit
from striplay.section.row_set import row_set_section
from striplay.section.row_set_fit import judge_row_set
from striplay.section.sets import wished_strips
from striplay.tolerances import WHOLE_NUMBER


@dataclass(frozen=True, slots=True)
class RowSetOffer:
    """A row set that makes strips of one width, back and forth, which all harvesters fit.

    Attributes:
        planter: the machine that carries both crops.
        units: what each row unit carries, from the planter's left.
        strips: verdict on each strip of a set, in order, with its crop.
        width_m: of each strip.
        planter_passes: over a set.
        separate_passes: over the same ground, were every strip planted by itself.
    """

    planter: str
    units: tuple[str, ...]
    strips: tuple[tuple[str, StripFit], ...]
    width_m: float
    planter_passes: int
    separate_passes: int

    @property
    def straddling(self) -> tuple[str, ...]:
        """Crops whose header takes rows from both sides of a guess row."""
        return tuple(dict.fromkeys(crop for crop, fit in self.strips if fit.straddles))


def offer_row_sets(plan: Plan, limit_m: float | None = None) -> list[RowSetOffer]:
    """Offer every row set of a plan's two crops that makes equal strips, the narrowest first.

    None where there are not two crops, both planted in even rows by one planter, each with a
    harvester to judge.

    Args:
        plan: crops and machines.
        limit_m: widest strip to offer.
    """
    limit_m = limit_m or plan.widest_m
    crops = _crops(plan)
    planters = {plan.crops[crop].planter for crop in crops}
    uneven = any(wish.pattern_m is not None for wish in plan.strips)
    if len(crops) != 2 or len(planters) != 1 or uneven:  # noqa: PLR2004 - a pair
        return []
    (planter,) = planters
    units = plan.planter_of(planter).row_units
    if units is None or any(plan.harvester(crop) is None for crop in crops):
        return []
    each = (_judged(plan, planter, asked) for asked in _of_equal_strips(crops, units))
    fitting = [one for one in each if one and one.width_m <= limit_m + WHOLE_NUMBER]
    return sorted(fitting, key=lambda one: (round(one.width_m, 6), len(one.straddling), one.units))


def _crops(plan: Plan) -> tuple[str, ...]:
    """Name the crops of a plan's row set, or of its strips, each once."""
    if plan.row_set is not None:
        return tuple(dict.fromkeys(crop for crop in plan.row_set.units if crop != EMPTY))
    return tuple(dict.fromkeys(wish.crop for wish in wished_strips(plan)))


def _of_equal_strips(crops: tuple[str, ...], count: int) -> list[tuple[str, ...]]:
    """Give all ways to share row units between two crops so that strips are equal.

    Passes meet their mirror, so the outer units are half a strip, and between them stand whole
    ones, the crops in turn.

    >>> for units in _of_equal_strips(("a", "b"), 4):
    ...     print("".join(units))
    aabb
    abba
    baab
    """
    found = []
    for parts in range(1, count // 2 + 1):
        rows = count // parts
        if count % parts or rows % 2:
            continue
        # an odd number of parts begins with one crop and ends with the other: its own mirror
        for first in crops if parts % 2 == 0 else crops[:1]:
            turn = [first if part % 2 == 0 else _other(crops, first) for part in range(parts + 1)]
            inner = [crop for crop in turn[1:-1] for _ in range(rows)]
            half = rows // 2
            found.append((*[turn[0]] * half, *inner, *[turn[-1]] * half))
    return found


def _other(crops: tuple[str, ...], crop: str) -> str:
    return crops[1 - crops.index(crop)]


def _judged(plan: Plan, planter: str, units: tuple[str, ...]) -> RowSetOffer | None:
    """Judge a row set; none where a harvester does not fit its strips."""
    asked = RowSet.model_validate({"planter": planter, "units": list(units)})
    section = row_set_section(plan, asked)
    fits = judge_row_set(plan, asked, section.strips, section.rows)
    if not all(fit.fits for fit in fits):
        return None
    pass_m = plan.planter_of(planter).width_m
    return RowSetOffer(
        planter,
        units,
        tuple((strip.crop, fit) for strip, fit in zip(section.strips, fits, strict=True)),
        section.strips[0].width_m,
        sum(one.operation == "plant" for one in section.passes),
        sum(passes_to_cover(strip.width_m, pass_m) for strip in section.strips),
    )
