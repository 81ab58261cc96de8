"""Build the section of strip cropping: neighbouring rows of one crop, a few strips a set."""

from dataclasses import replace

from striplay.plan.models import Plan
from striplay.section.fit import StripFit
from striplay.section.mixture import sown_of
from striplay.section.section import Row, Section, Strip, Work
from striplay.section.sets import SetFit, settle_widths
from striplay.section.uneven import pattern_places_m
from striplay.section.wheels import opener_notices, shift_m
from striplay.tolerances import WHOLE_NUMBER, WIDTH_M
from striplay.units import format_length


def strip_section(plan: Plan, limit_m: float | None = None) -> Section:
    """Build the section of a plan's [[strips]].

    Args:
        plan: the plan.
        limit_m: widest strip to consider where a width is "fit".

    Raises:
        PlanError: no strips, or no width that fits.
    """
    return strip_sections(plan, limit_m)[0]


def strip_sections(plan: Plan, limit_m: float | None = None) -> list[Section]:
    """Build the sections to choose from: every good set where a width is "fit", else one.

    The best-fitting comes first; arguments and errors as in `strip_section`.
    """
    return [_section(plan, chosen) for chosen in settle_widths(plan, limit_m)]


def _section(plan: Plan, chosen: SetFit) -> Section:
    strips: list[Strip] = []
    rows: list[Row] = []
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
            spacing_m = fit.width_m / len(places)
            works = [replace(work, rows=None) for work in strip.works]  # by width, not rows
            strip = replace(strip, rows=len(places), spacing_m=spacing_m, works=tuple(works))
            works[0] = replace(works[0], shift_m=shift_m(plan, works[0], strip, places))
            strip = replace(strip, works=tuple(works))
            rows.extend(_uneven(plan, strip, index, places))
            notices += opener_notices(plan, replace(works[0], crop=crop), strip, places, [])
        else:
            rows.extend(_rows(plan, strip, index))
        strips.append(strip)
        left_m += fit.width_m
        if not fit.fits or fit.straddles:
            width = format_length(fit.width_m, plan.units)
            verdict = "fits" if fit.fits else "does not fit"
            notices.append(f"{crop} strip of {width} {verdict}: {fit.reason}")
    return Section(left_m, tuple(strips), tuple(rows), tuple(dict.fromkeys(notices)))


def _strip(plan: Plan, crop: str, left_m: float, fit: StripFit) -> Strip:
    spacing_m = row_spacing_m(plan, crop)
    return Strip(
        crop=crop,
        left_m=left_m,
        width_m=fit.width_m,
        spacing_m=spacing_m,
        rows=round(fit.width_m / spacing_m),
        counted=plan.planter(crop).row_units is not None,
        works=works_on(plan, crop),
    )


def row_spacing_m(plan: Plan, crop: str) -> float:
    """Give the row spacing of a crop, nominal where the openers of its drill are not given."""
    return plan.planter(crop).row_m


def _rows(plan: Plan, strip: Strip, index: int) -> list[Row]:
    """Set rows at half a spacing from the strip's edge, guess rows included."""
    planter = plan.crops[strip.crop].planter
    sown = sown_of(plan, strip.crop)
    units = round(plan.planter(strip.crop).width_m / strip.spacing_m)
    return [
        Row(
            offset_m=strip.left_m + (number + 0.5) * strip.spacing_m,
            spacing_m=strip.spacing_m,
            strip=index,
            number=number + 1,
            planter=planter,
            planter_pass=number // units,
            unit=number % units + 1,
            sown=sown,
        )
        for number in range(strip.rows)
    ]


def _uneven(plan: Plan, strip: Strip, index: int, places: list[float]) -> list[Row]:
    """Set rows at stated places; each stands for an even share of the strip."""
    name = plan.crops[strip.crop].planter
    planter = plan.planter_of(name)
    sown = sown_of(plan, strip.crop)
    spans, middles_m = strip.works[0].spans(strip), strip.works[0].middles(strip)
    first_m = (planter.row_units or 1) * planter.row_m / 2
    rows = []
    for number, at_m in enumerate(places, start=1):
        turn = next(i for i, (_, high_m) in enumerate(spans) if at_m < high_m + WIDTH_M)
        from_edge_m = at_m - middles_m[turn] + first_m
        unit = int(from_edge_m / planter.row_m + WHOLE_NUMBER) + 1
        at = strip.left_m + at_m
        rows.append(Row(at, strip.spacing_m, index, number, name, turn, unit, sown))
    return rows


def works_on(plan: Plan, crop: str) -> tuple[Work, ...]:
    """List the operations over a strip of a crop, in the order of the season."""
    asked = plan.crops[crop]
    planter, harvester = plan.planter(crop), plan.harvester(crop)
    units = round(planter.width_m / row_spacing_m(plan, crop))
    works = [Work("plant", asked.planter, planter.width_m, units)]
    works += [Work("spray", name, sprayer.width_m, None) for name, sprayer in plan.sprayers.items()]
    if harvester is not None and asked.harvester is not None:
        works.append(Work("harvest", asked.harvester, harvester.width_m, harvester.rows))
    return tuple(works)
