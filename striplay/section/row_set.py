"""Build the section of a row set: one planter pass with several crops, by row unit."""

from itertools import pairwise

from striplay.plan.models import Plan
from striplay.plan.systems import EMPTY, RowSet
from striplay.section.cover import cover_with_header
from striplay.section.mixture import sown_of
from striplay.section.row_units import (
    Run,
    field_rows,
    strips_across,
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
    planter = plan.planter_of(asked.planter)
    spacing_m = planter.row_m
    units = asked.units
    rows = field_rows(units, back_and_forth=asked.travel == "back and forth")
    runs, before = strips_across(rows)
    strips: list[Strip] = []
    listed: list[Row] = []
    first = 0
    for run in runs:
        if run.crop != EMPTY:
            strips.append(_strip(plan, run, first * spacing_m, spacing_m))
            listed += _rows(plan, run, first, before, len(units), len(strips) - 1, spacing_m, asked)
        first += run.count
    width_m = len(rows) * spacing_m
    return Section(
        width_m,
        _widened(strips, width_m),
        tuple(listed),
        tuple(_notices(plan, asked, units, runs, spacing_m)),
        (
            SidePasses(
                "plant",
                asked.planter,
                len(units) * spacing_m,
                before * spacing_m,
                one_way=asked.travel == "one way",
            ),
        ),
        before * spacing_m,
    )


def _strip(plan: Plan, run: Run, left_m: float, spacing_m: float) -> Strip:
    works = tuple(work for work in works_on(plan, run.crop) if work.operation != "plant")
    return Strip(run.crop, left_m, run.count * spacing_m, spacing_m, run.count, counted=True,
                 works=works)  # fmt: skip


def _rows(  # noqa: PLR0913, PLR0917 - one strip of one set
    plan: Plan, run: Run, first: int, before: int, units: int, strip: int, spacing_m: float,
    asked: RowSet,
) -> list[Row]:  # fmt: skip
    sown = sown_of(plan, run.crop)
    listed = []
    turns = 2 if asked.travel == "back and forth" and asked.units != asked.units[::-1] else 1
    for number in range(run.count):
        at = first + number - before
        turn, unit = divmod(at, units)
        mirrored = asked.travel == "back and forth" and turn % 2 == 1
        listed.append(
            Row(
                offset_m=(first + number + 0.5) * spacing_m,
                spacing_m=spacing_m,
                strip=strip,
                number=number + 1,
                planter=asked.planter,
                planter_pass=turn % turns,
                unit=units - unit if mirrored else unit + 1,
                sown=sown,
            )
        )
    return listed


def _widened(strips: list[Strip], width_m: float) -> tuple[Strip, ...]:
    """Let each strip reach to the next: empty rows between belong to both sides by halves."""
    edges = [0.0]
    for one, other in pairwise(strips):
        edges.append((one.left_m + one.width_m + other.left_m) / 2)
    edges.append(width_m)
    return tuple(
        Strip(s.crop, low, high - low, s.spacing_m, s.rows, s.counted, s.works, s.left_m - low)
        for s, (low, high) in zip(strips, pairwise(edges), strict=True)
    )


def _notices(
    plan: Plan, asked: RowSet, units: tuple[str, ...], runs: tuple[Run, ...], spacing_m: float
) -> list[str]:
    """Say what strips result, what would make them narrower, and where a header does not fit."""
    made = ", ".join(
        f"{run.count} rows of {run.crop} ({format_length(run.count * spacing_m, plan.units)})"
        for run in runs
        if run.crop != EMPTY
    )
    notices = [f"row set, {asked.travel}: strips of {made}"]
    narrower = units_for_equal_strips(units)
    if narrower is not None and asked.travel == "back and forth":
        count = runs[0].count // 2
        notices.append(f'row set: units = "{written(narrower)}" makes strips of {count} rows')
    for run in dict.fromkeys(run for run in runs if run.crop != EMPTY):
        harvester = plan.harvester(run.crop)
        if harvester is None:
            continue
        if harvester.rows is None and harvester.width_m > run.count * spacing_m + 1e-6:
            width = format_length(harvester.width_m, plan.units)
            notices.append(
                f"row set: the header of {width} is wider than the {run.crop} strips and runs into "
                "their neighbours"
            )
        if harvester.rows is not None:
            cover = cover_with_header(run.count, len(units), harvester.rows)
            if run.count % harvester.rows:
                notices.append(
                    f"row set: {run.count} rows of {run.crop} are no whole number of passes of a "
                    f"header of {harvester.rows} rows ({cover.passes} passes)"
                )
    return notices
