"""Give next season's set: each strip stays where it is, and the next crop stands in it."""

from collections.abc import Mapping, Sequence

from striplay.errors import PlanError
from striplay.notices import Notice
from striplay.plan.crops import StripWish
from striplay.plan.models import Plan
from striplay.plan.systems import EMPTY
from striplay.section.section import Section, Strip
from striplay.section.sets import are_equal, settle_widths, wished_strips, written
from striplay.section.trial import STRIPS
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import format_length, trim

MOST_PASSES = 12
"""So many planter passes are tried to find a width that two planters share; wider strips are few
sets to a field."""


def rotated(plan: Plan, section: Section) -> Plan:
    """Give the plan with the next season's crop in each strip, every strip as wide as it is laid.

    Args:
        plan: this season's; where crops do not swap places, each stays.
        section: the set that is laid.

    Raises:
        PlanError: a crop without a place in the sequence, or a strip that the machines of the crop
            that comes into it do not cover in whole passes.
    """
    if plan.row_set is not None:
        units = plan.row_set.units
        after = followers(plan, [crop for crop in units if crop != EMPTY])
        moved = tuple(after.get(crop, crop) for crop in units)
        return plan.model_copy(update={"row_set": plan.row_set.model_copy(update={"units": moved})})
    laid = [(strip.crop, strip.width_m) for strip in section.plain.strips]
    return _moved_checks(_rotated(plan, laid), section, followers(plan, section.plain.labels))


def _moved_checks(plan: Plan, section: Section, after: Mapping[str, str]) -> Plan:
    """Give the plan with next season's crops in a trial's check strips, each as wide as it is."""
    if plan.trial is None:
        return plan
    checks = plan.trial.checks
    moved = checks and tuple(after.get(crop, crop) for crop in checks)
    wide_m = next(strip.width_m for strip in section.strips if strip.treatment != STRIPS)
    usual = plan.trial.usual
    if all(after.get(crop, crop) in usual for crop in usual):  # else each stands where it stood
        usual = {after.get(crop, crop): usual[after.get(crop, crop)] for crop in usual}
    trial = plan.trial.model_copy(update={"checks": moved, "width_m": wide_m, "usual": usual})
    return plan.model_copy(update={"trial": trial})


def followers(plan: Plan, crops: Sequence[str]) -> dict[str, str]:
    """Say what stands next season where each of some crops stood.

    Args:
        plan: its sequence; without one, the crops follow each other in the order they come in.
        crops: of the set, in order.

    Raises:
        PlanError: one of them has no place in the sequence.
    """
    own = tuple(dict.fromkeys(crops))
    if not plan.season.swap:
        return {crop: crop for crop in own}
    order = plan.season.sequence or own
    lost = [crop for crop in own if crop not in order]
    if lost:
        said = f"does not hold {' and '.join(lost)}, which strips grow; add it in its place"
        raise PlanError(plan.path.name, [f"season.sequence: {said}"])
    return {crop: order[(order.index(crop) + 1) % len(order)] for crop in own}


def said_of_swap(plan: Plan, crops: Sequence[str], widths_m: Sequence[float]) -> str:
    """Say whether crops can swap places next season; nothing where they need not or are one.

    In a row set they always can, unit by unit, and that is not said.
    """
    if not plan.season.swap or len(set(crops)) == 1 or plan.row_set is not None:
        return ""
    equal = are_equal(widths_m)
    try:
        _rotated(plan, list(zip(crops, widths_m, strict=True)))
    except PlanError:
        if equal or any(wish.rows != "fit" for wish in wished_strips(plan)):
            return f"{'equal' if equal else 'unequal'} widths: crops can't swap places next season"
        return "no equal widths fit all machines: crops can't swap places next season"
    if equal:
        return "equal widths: crops can swap places next season"
    return "unequal widths: crops that swap places next season take each other's shares of land"


def set_notices(plan: Plan, strips: Sequence[Strip]) -> list[Notice]:
    """Say which set `rows = "fit"` took, and whether crops can swap places next season.

    Args:
        plan: what is asked.
        strips: of the set that is laid.
    """
    if plan.row_set is not None or all(wish.rows != "fit" for wish in plan.strips):
        return []
    crops, widths_m = zip(*((strip.crop, strip.width_m) for strip in strips), strict=True)
    said = said_of_swap(plan, crops, widths_m)
    grave = said and not are_equal(widths_m)
    taken = f'rows = "fit" took {written(crops, widths_m, plan)}'
    return [
        Notice("fit", "mind" if grave else "know", None, f"{taken}{f'; {said}' if said else ''}")
    ]


def _rotated(plan: Plan, laid: Sequence[tuple[str, float]]) -> Plan:
    """Give the plan with next season's crops in strips of so many crops and widths."""
    wishes = wished_strips(plan)
    after = followers(plan, [crop for crop, _ in laid])
    now = [_as_wide(plan, wish, width_m) for wish, (_, width_m) in zip(wishes, laid, strict=True)]
    moved = []
    for wish, (crop, width_m) in zip(now, laid, strict=True):
        own = next((one for one in wishes if one.crop == after[crop]), None)
        pattern = {
            key: None if own is None else getattr(own, key) for key in ("pattern_m", "period_m")
        }
        changed = wish.model_copy(update={"crop": after[crop], **pattern})
        moved.append(_as_wide(plan, changed, width_m))
    found = plan.model_copy(update={"strips": tuple(moved)})
    faults = _misfits(plan.model_copy(update={"strips": tuple(now)}), found, laid)
    if faults:
        raise PlanError(plan.path.name, faults)
    return found


def _as_wide(plan: Plan, wish: StripWish, width_m: float) -> StripWish:
    """Wish for a strip of a width: as it was written where that comes to it, else in passes."""
    planter = plan.planter(wish.crop)
    stated_m = wish.width_m
    if isinstance(wish.rows, int) and planter.spacing_m is not None:
        stated_m = wish.rows * planter.spacing_m
    elif wish.passes is not None:
        stated_m = wish.passes * planter.width_m
    passes = width_m / planter.width_m
    if stated_m is not None and abs(stated_m - width_m) <= WHOLE_NUMBER * planter.row_m:
        return wish
    way = {"passes": round(passes)} if _whole(passes) else {"width_m": width_m}
    return wish.model_copy(update={"rows": None, "passes": None, "width_m": None, **way})


def _whole(passes: float) -> bool:
    return round(passes) >= 1 and abs(passes - round(passes)) <= WHOLE_NUMBER


def _misfits(now: Plan, moved: Plan, laid: Sequence[tuple[str, float]]) -> list[str]:
    """Say of each strip what its next crop's machines do not fit, where its own crop's do."""
    faults = []
    fits, next_fits = (settle_widths(one)[0].strips for one in (now, moved))
    # a crop whose machines do not fit its own strips is planned so
    planned = {crop for (crop, _), fit in zip(laid, fits, strict=True) if not fit.fits}
    each = zip(laid, moved.strips, fits, next_fits, strict=True)
    for number, ((crop, width_m), wish, before, after) in enumerate(each, start=1):
        own, other = (moved.crops[one].planter for one in (crop, wish.crop))
        passes = width_m / moved.planter(wish.crop).width_m
        wide = format_length(width_m, moved.units)
        said = f"strips[{number}]: {wish.crop} can't follow {crop} in a strip of {wide}: "
        if own != other and not _whole(passes):
            wide = format_length(moved.planter(wish.crop).width_m, moved.units)
            why = f"that is {trim(passes, 2)} passes of {other}, {wide} wide"
        elif before.fits and not after.fits and wish.crop not in planned:
            why = after.reason
        else:
            continue
        faults.append(f"{said}{why}; {_cure(moved, crop, wish.crop)}")
    return faults


def _cure(plan: Plan, crop: str, after: str) -> str:
    """Say which width of strip both planters make, or what else would do."""
    leave = "or leave crops in their places with swap = false under [season]"
    own_m, other_m = (plan.planter(one).width_m for one in (crop, after))
    shared = [n * own_m for n in range(1, MOST_PASSES + 1) if _whole(n * own_m / other_m)]
    if not shared:
        return f"name a planter of {after} under [crops.{after}] that is as wide, {leave}"
    wide = format_length(shared[0], plan.units)
    return f"whole multiples of {wide} would be whole for both planters, {leave}"
