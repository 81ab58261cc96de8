"""Build the section of a row set: one planter pass with several crops, by row unit."""

from striplay.plan.models import Plan
from striplay.plan.systems import RowSet
from striplay.section.fit import StripFit
from striplay.section.mixture import sown_of
from striplay.section.row_set_fit import header_notices, judge_row_set
from striplay.section.row_units import (
    Stretch,
    field_rows,
    stretches,
    units_for_equal_strips,
    written,
)
from striplay.section.section import Row, Section, SidePasses, Strip
from striplay.section.strips import works_on
from striplay.units import format_length


def row_set_section(plan: Plan, asked: RowSet) -> Section:
    """Build the section of a row set.

    Its strips are what neighbouring rows of one crop make where passes meet; the planter's passes
    run over several of them. The set begins as far in as the field's first strip is cut short.
    """
    spacing_m = plan.planter_of(asked.planter).row_m
    rows = field_rows(asked.units, back_and_forth=asked.travel == "back and forth")
    made = stretches(rows)
    begin_m = -made[0].low * spacing_m
    strips = tuple(_strip(plan, one, begin_m, spacing_m) for one in made)
    listed = tuple(row for strip in range(len(made)) for row in _rows(plan, asked, made, strip))
    pass_m = len(asked.units) * spacing_m
    planter = SidePasses(
        "plant", asked.planter, pass_m, begin_m % pass_m, one_way=asked.travel == "one way"
    )
    return Section(
        len(rows) * spacing_m,
        strips,
        listed,
        tuple(_notices(plan, asked, strips, listed)),
        (planter,),
        max(begin_m, 0.0),
    )


def _strip(plan: Plan, made: Stretch, begin_m: float, spacing_m: float) -> Strip:
    works = tuple(work for work in works_on(plan, made.crop) if work.operation != "plant")
    return Strip(
        crop=made.crop,
        left_m=begin_m + made.low * spacing_m,
        width_m=(made.high - made.low) * spacing_m,
        spacing_m=spacing_m,
        rows=len(made.places),
        counted=True,
        works=works,
        lead_m=(made.places[0] - made.low) * spacing_m,
        empty=made.empty,
    )


def _rows(plan: Plan, asked: RowSet, made: tuple[Stretch, ...], strip: int) -> list[Row]:
    """List a strip's rows, each with the pass and the unit that plants it."""
    spacing_m, units = plan.planter_of(asked.planter).row_m, asked.units
    sown = sown_of(plan, made[strip].crop)
    mirrors = asked.travel == "back and forth"
    turns = 2 if mirrors and units != units[::-1] else 1
    listed = []
    for number, place in enumerate(made[strip].places, start=1):
        turn, unit = divmod(place, len(units))
        listed.append(
            Row(
                offset_m=(place - made[0].low + 0.5) * spacing_m,
                spacing_m=spacing_m,
                strip=strip,
                number=number,
                planter=asked.planter,
                planter_pass=turn % turns,
                unit=len(units) - unit if mirrors and turn % 2 else unit + 1,
                sown=sown,
            )
        )
    return listed


def _notices(
    plan: Plan, asked: RowSet, strips: tuple[Strip, ...], rows: tuple[Row, ...]
) -> list[str]:
    """Say what strips result, what would make them narrower, and where a header does not fit."""
    made = ", ".join(_written(plan, strip) for strip in strips)
    notices = [f"row set, {asked.travel}: strips of {made}"]
    narrower = units_for_equal_strips(asked.units)
    if narrower is not None and asked.travel == "back and forth":
        count = strips[0].rows // 2
        makes = f"makes strips of {count} rows, and half of that at the field's sides"
        notices.append(f'row set: units = "{written(narrower)}" {makes}')
    if asked.travel == "one way":
        notices.append(
            "row set, one way: the planter runs back empty after each pass; that way is in neither "
            "passes nor cost"
        )
    return [*notices, *header_notices(plan, asked, strips, rows)]


def _written(plan: Plan, strip: Strip) -> str:
    empty = f" with {strip.empty} empty between" if strip.empty else ""
    return f"{strip.rows} rows of {strip.crop}{empty} ({format_length(strip.width_m, plan.units)})"


def fit_row_set(plan: Plan) -> list[tuple[str, StripFit]]:
    """Judge the strips of a plan's row set, in order, each with its crop; none without one."""
    if plan.row_set is None:
        return []
    section = row_set_section(plan, plan.row_set)
    fits = judge_row_set(plan, plan.row_set, section.strips, section.rows)
    return [(strip.crop, fit) for strip, fit in zip(section.strips, fits, strict=True)]
