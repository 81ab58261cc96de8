"""Build the section of a row set: one planter pass with several crops, by row unit."""

from dataclasses import replace

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.plan.systems import RowSet
from striplay.section.fit import StripFit
from striplay.section.mixture import sown_of
from striplay.section.passes import with_passes
from striplay.section.row_set_fit import header_notices, judge_row_set
from striplay.section.row_units import (
    Stretch,
    field_rows,
    stretches,
    units_for_equal_strips,
    written,
)
from striplay.section.section import Pass, Row, Section, Strip
from striplay.units import format_length


def row_set_section(plan: Plan, asked: RowSet) -> Section:
    """Build the section of a row set.

    Its first edge is that of a planter pass. Its strips are what neighboring rows of one crop make
    where passes meet, so the first may begin before the set; the planter's passes run over several.
    """
    spacing_m = plan.planter_of(asked.planter).row_m
    rows = field_rows(asked.units, back_and_forth=asked.travel == "back and forth")
    made = stretches(rows)
    strips = tuple(_strip(one, spacing_m) for one in made)
    listed = tuple(row for strip in range(len(made)) for row in _rows(plan, asked, made, strip))
    section = with_passes(plan, Section(len(rows) * spacing_m, strips, listed))
    others = [one for one in section.passes if one.operation != "plant"]
    return replace(
        section,
        passes=(*_planting(plan, asked, section), *others),
        notices=tuple(
            Notice("fit", "mind", None, said) for said in _notices(plan, asked, strips, listed)
        ),
    )


def _planting(plan: Plan, asked: RowSet, section: Section) -> list[Pass]:
    """List the planter's passes over a set, side by side, whatever strips lie under them."""
    width_m = len(asked.units) * plan.planter_of(asked.planter).row_m
    count = round(section.width_m / width_m)
    crop = " + ".join(dict.fromkeys(layer.crop for row in section.rows for layer in row.sown))
    found = []
    for number in range(count):
        low_m = number * width_m
        turned = None if count == 1 and asked.travel == "back and forth" else number == 1
        mine = tuple(
            index
            for index, row in enumerate(section.rows)
            if low_m < row.offset_m % section.width_m < low_m + width_m
        )
        found.append(
            Pass(
                operation="plant",
                machine=asked.planter,
                crop=crop,
                width_m=width_m,
                low_m=low_m,
                high_m=low_m + width_m,
                middle_m=low_m + width_m / 2,
                rows=mine,
                strip=None,
                step_m=plan.planter_of(asked.planter).row_m,
                turned=turned,
            )
        )
    return found


def _strip(made: Stretch, spacing_m: float) -> Strip:
    return Strip(
        crop=made.crop,
        left_m=made.low * spacing_m,
        width_m=(made.high - made.low) * spacing_m,
        spacing_m=spacing_m,
        rows=len(made.places),
        counted=True,
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
                offset_m=(place + 0.5) * spacing_m,
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
