"""Build the section of strip cropping: neighboring rows of one crop, a few strips a set."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.fit import StripFit
from striplay.section.mixture import sown_of
from striplay.section.passes import divided, with_passes, works_on
from striplay.section.section import Pass, Row, Section, Strip
from striplay.section.sets import SetFit, settle_widths
from striplay.section.trial import as_trial, plots_of, spread_out
from striplay.section.uneven import pattern_places_m
from striplay.section.wheels import opener_notices, shift_m
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import format_length


def strip_sections(plan: Plan) -> list[Section]:
    """Build the sections of a plan's [[strips]], that of the best set first.

    Several where a width is "fit", else one; of a trial one, with its check strips.

    Raises:
        PlanError: no strips, or no width that fits.
    """
    sets = settle_widths(plan)
    if plan.trial is None:
        return [_section(plan, chosen) for chosen in sets]
    plots = plots_of(plan, plan.trial, sets[0])
    wishes, every = spread_out(plots)
    section = _section(plan.model_copy(update={"strips": wishes}), every)
    return [as_trial(section, plots, _section(plan, sets[0]), plan.trial)]


def _section(plan: Plan, chosen: SetFit) -> Section:
    strips: list[Strip] = []
    rows: list[Row] = []
    uneven: dict[int, list[float]] = {}
    notices: list[str] = []
    left_m = 0.0
    for index, (crop, fit) in enumerate(zip(chosen.crops, chosen.strips, strict=True)):
        strip = _strip(plan, crop, left_m, fit)
        wish = plan.strips[index]
        if wish.pattern_m is not None and wish.period_m is not None:
            places = list(pattern_places_m(wish.pattern_m, wish.period_m, fit.width_m))
            if not places:
                places = [fit.width_m / 2]
                notices.append(
                    f"{crop}: its pattern begins outside its strip; one row is set amid it"
                )
            strip = replace(strip, rows=len(places), spacing_m=fit.width_m / len(places))
            uneven[index] = places
        else:
            places = [(number + 0.5) * strip.spacing_m for number in range(strip.rows)]
        rows += _rows(plan, strip, index, places)
        strips.append(strip)
        left_m += fit.width_m
    section = with_passes(plan, Section(left_m, tuple(strips), tuple(rows)))
    by_strip = len(set(chosen.crops)) > 1 and any(
        plan.machines[one.machine].covers == "boom" for one in section.passes
    )
    for crop, fit in zip(chosen.crops, chosen.strips, strict=True):
        if not fit.fits or fit.straddles or (by_strip and fit.boom_mismatch_m > 0):
            width = format_length(fit.width_m, plan.units)
            verdict = "fits" if fit.fits else "does not fit"
            notices.append(f"{crop} strip of {width} {verdict}: {fit.reason}")
    passes = list(section.passes)
    for index, places in uneven.items():
        passes, told = _sown_uneven(plan, section, passes, index, places)
        notices += told
    rows = _with_units(plan, rows, passes)
    return replace(
        section,
        rows=tuple(rows),
        passes=tuple(passes),
        notices=tuple(Notice("fit", "mind", None, said) for said in dict.fromkeys(notices)),
    )


def _strip(plan: Plan, crop: str, left_m: float, fit: StripFit) -> Strip:
    spacing_m = row_spacing_m(plan, crop)
    return Strip(
        crop=crop,
        left_m=left_m,
        width_m=fit.width_m,
        spacing_m=spacing_m,
        rows=round(fit.width_m / spacing_m),
        counted=plan.planter(crop).row_units is not None,
    )


def row_spacing_m(plan: Plan, crop: str) -> float:
    """Give the row spacing of a crop, nominal where the openers of its drill are not given."""
    return plan.planter(crop).row_m


def _rows(plan: Plan, strip: Strip, index: int, places_m: list[float]) -> list[Row]:
    """Set rows at places from the strip's edge; each stands for an even share of the strip."""
    planter = plan.crops[strip.crop].planter
    sown = sown_of(plan, strip.crop)
    return [
        Row(strip.left_m + at_m, strip.spacing_m, index, number, planter, 0, 0, sown)
        for number, at_m in enumerate(places_m, start=1)
    ]


def _sown_uneven(
    plan: Plan, section: Section, passes: list[Pass], index: int, places_m: list[float]
) -> tuple[list[Pass], list[str]]:
    """Shift a planter for its openers to reach uneven rows, and say what they miss.

    Its passes share the strip by width, since they count openers and not rows.
    """
    strip = section.strips[index]
    own = [(i, row) for i, row in enumerate(section.rows) if row.strip == index]
    sowing: list[Pass] = []
    harvest: list[Pass] = []
    for work in works_on(plan, strip.crop):
        if section.lines_for(work.machine, [strip.crop]) is not None:
            continue
        by_width = replace(work, rows=None, step_m=work.step_m if work.rows is None else 0.0)
        made = divided(by_width, strip.crop, strip, index, own)
        (sowing if work.operation == "plant" else harvest).extend(made)
    middles_m = [one.middle_m - strip.left_m for one in sowing]
    shift = shift_m(plan.planter_of(sowing[0].machine), middles_m, strip.width_m, places_m)
    step_m = plan.planter(strip.crop).row_m
    sowing = [
        replace(one, middle_m=one.middle_m + shift, step_m=step_m, shared=False) for one in sowing
    ]
    others = [one for one in passes if one.strip != index]
    told = opener_notices(plan, strip, sowing, places_m, [])
    return [*others, *sowing, *harvest], told


def _with_units(plan: Plan, rows: list[Row], passes: list[Pass]) -> list[Row]:
    """Say of each row which pass over its strip plants it, and in which row unit."""
    known = list(rows)
    number: dict[int | None, int] = {}
    for one in passes:
        if one.operation != "plant":
            continue
        turn = number.get(one.strip, 0)
        number[one.strip] = turn + 1
        row_m = plan.planter_of(one.machine).row_m
        first_m = one.middle_m - one.width_m / 2
        for index in one.rows:
            unit = int((known[index].offset_m - first_m) / row_m + WHOLE_NUMBER) + 1
            known[index] = replace(known[index], planter_pass=turn, unit=unit)
    return known


def narrowest_m(plan: Plan, section: Section) -> npt.NDArray[np.float64]:
    """Give how wide a piece of each strip of a section must be to be planted as one, (strips,).

    Half a pass of its planter, or of the strip where that is narrower, if the plan states nothing.
    """
    stated = plan.direction.narrowest_m
    widths = [(plan.planter(strip.crop).width_m, strip.width_m) for strip in section.strips]
    if any(one.strip is None for one in section.passes):
        # a row set's strips have no planter pass of their own
        return np.zeros(len(widths))
    return np.array([min(pass_m, own_m) / 2 if stated is None else min(stated, own_m)
                     for pass_m, own_m in widths])  # fmt: skip
