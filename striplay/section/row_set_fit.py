"""Judge the strips that a row set makes: can their harvesters cover them in whole passes?"""

from collections.abc import Sequence
from math import inf

from striplay.plan.models import Plan
from striplay.plan.systems import RowSet
from striplay.section.cover import passes_to_cover
from striplay.section.fit import (
    Sides,
    StripFit,
    StripToCut,
    counted,
    with_machines,
)
from striplay.section.row_units import Stretch, field_rows, stretches
from striplay.section.section import Row, Strip
from striplay.tolerances import WHOLE_NUMBER
from striplay.units import format_length


def judge_row_set(
    plan: Plan, asked: RowSet, strips: Sequence[Strip], rows: Sequence[Row]
) -> list[StripFit]:
    """Judge the strips of a row set, in order.

    Planter passes run over several strips and are whole: what is judged is the harvest, and where
    sections of a boom end.

    Args:
        plan: the machines.
        asked: the row set.
        strips: what it makes.
        rows: of all strips.
    """
    made = stretches(field_rows(asked.units, back_and_forth=asked.travel == "back and forth"))
    found = []
    for index, (one, strip) in enumerate(zip(made, strips, strict=True)):
        begin_m, planted_m = strip.rows_span_m
        guess_rows = _guess_rows(one, len(asked.units))
        to_cut = StripToCut(
            width_m=strip.width_m,
            begin_m=begin_m,
            planted_m=planted_m,
            spacing_m=strip.spacing_m,
            places=[place - one.places[0] for place in one.places],
            guess_rows=guess_rows,
            near_m=_near_m(strips, rows, index),
        )
        plant_passes = len(guess_rows) + 1
        plant_words = f"rows of {counted(plant_passes, 'planter pass')}"
        found.append(with_machines(plan, strip.crop, to_cut, strip.rows, plant_passes, plant_words))
    return found


def header_notices(
    plan: Plan, asked: RowSet, strips: Sequence[Strip], rows: Sequence[Row]
) -> list[str]:
    """Say where a header does not fit a strip, or straddles a guess row; as `judge_row_set`."""
    fits = judge_row_set(plan, asked, strips, rows)
    told = (_header_notice(plan, strip, fit) for strip, fit in zip(strips, fits, strict=True))
    return [*dict.fromkeys(notice for notice in told if notice)]


def _guess_rows(made: Stretch, units: int) -> list[int]:
    """Give where planter passes meet between a strip's rows, counted in rows from its first."""
    first, last = made.places[0], made.places[-1]
    return [place - first for place in range(first + 1, last + 1) if place % units == 0]


def _near_m(strips: Sequence[Strip], rows: Sequence[Row], index: int) -> Sides:
    """Give how far the nearest rows of other strips stand from a strip's edges; the set repeats."""
    low_m = strips[index].left_m
    high_m = low_m + strips[index].width_m
    set_m = strips[-1].left_m + strips[-1].width_m - strips[0].left_m
    beside_m = [
        row.offset_m + turn * set_m for row in rows for turn in (-1, 0, 1) if row.strip != index
    ]
    before_m = (low_m - at_m for at_m in beside_m if at_m < low_m)
    after_m = (at_m - high_m for at_m in beside_m if at_m > high_m)
    return min(before_m, default=inf), min(after_m, default=inf)


def _header_notice(plan: Plan, strip: Strip, fit: StripFit) -> str | None:
    harvester = plan.harvester(strip.crop)
    if harvester is None or (fit.fits and not fit.straddles):
        return None
    if harvester.rows is None:
        width = format_length(harvester.width_m, plan.units)
        return (
            f"row set: the header of {width} on {strip.crop} reaches the rows beside; cut it when "
            "they are off, or take a narrower header or wider strips"
        )
    count = strip.rows + strip.empty
    spacing_off_m = abs(strip.spacing_m - (harvester.spacing_m or 0.0))
    if count % harvester.rows and spacing_off_m <= WHOLE_NUMBER:
        passes = counted(passes_to_cover(count, harvester.rows), "pass")
        empty = ", empty ones counted," if strip.empty else ""
        return (
            f"row set: {count} rows of {strip.crop}{empty} are no whole number of passes of a "
            f"header of {harvester.rows} rows ({passes}): it takes rows beside; harvest when they "
            "are off"
        )
    width = format_length(strip.width_m, plan.units)
    verdict = "fits" if fit.fits else "does not fit"
    return f"row set: {strip.crop} strip of {width} {verdict}: {fit.reason}"
