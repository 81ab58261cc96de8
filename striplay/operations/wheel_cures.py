"""Find what would keep a job's wheels off rows: each change is tried before it is named."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from striplay.errors import PlanError
from striplay.operations.wheels import Over, passes_of, paths_of, rows_over
from striplay.plan.machines import Planter
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.section.systems import sections_of
from striplay.tolerances import WIDTH_M
from striplay.units import INCH_M, format_small

LEAST_TREAD_M, MOST_TREAD_M = 56 * INCH_M, 160 * INCH_M
"""Treads that tractors, sprayers and combines are set to (common practice, no source)."""
LEAST_TIRE_M = 10 * INCH_M
"""Narrowest tire that is tried, as for row crops (common practice, no source)."""
STEP_ROWS = (-1, 1)
"""So many rows more of a machine or strip are tried: one turns even into odd."""


def cures_of(plan: Plan, section: Section, over: Over, standing: frozenset[str]) -> list[str]:
    """Name the changes after which a job's wheels run on no row and come near to none, in words.

    Args:
        plan: the machines.
        section: the set.
        over: rows that its wheels meet.
        standing: what stands when the job is done.
    """
    job, own = over.job, over.own

    def clear(changed: Plan, changed_section: Section, shift_m: float = 0.0) -> bool:
        passes, sets = passes_of(changed_section, job)
        paths = paths_of(changed, changed_section, job, sets)
        if paths is None or not passes:
            return False
        paths = replace(paths, at_m=paths.at_m + shift_m)
        found = rows_over(changed, changed_section, paths, standing, own=own)
        return all(one.rows + one.near == 0 for one in found)

    found = [*_treads(plan, section, over, clear), *_shifts(plan, section, over, clear)]
    return [*found, *_tires(plan, section, over, clear), *_rows(plan, section, over, clear)]


Clear = Callable[..., bool]


def _spacing_m(section: Section, crop: str) -> float:
    """Give the least distance between rows of strips in which a crop stands."""
    strips = {row.strip for row in section.rows if row.label == crop}
    return min(section.strips[index].spacing_m for index in strips)


def _treads(plan: Plan, section: Section, over: Over, clear: Clear) -> Iterator[str]:
    """Try whole row spacings as tread: even ones between an even number of rows, odd for odd."""
    name = over.job.machine
    machine, spacing_m = plan.machines[name], _spacing_m(section, over.crop)
    first, last = np.ceil(LEAST_TREAD_M / spacing_m), np.floor(MOST_TREAD_M / spacing_m)
    found = []
    for tread_m in (np.arange(first, last + 1) * spacing_m).tolist():
        changed = with_machine(plan, name, tread_m=tread_m)
        if clear(changed, section):
            found.append(tread_m)
    if found:
        found.sort(key=lambda tread_m: abs(tread_m - (machine.tread_m or 0.0)))
        yield f"a tread of {' or '.join(format_small(m, plan.units) for m in found[:2])}"


def _tires(plan: Plan, section: Section, over: Over, clear: Clear) -> Iterator[str]:
    """Try narrower tires, the widest that keep off first."""
    name = over.job.machine
    tire_m = plan.machines[name].tire_m or 0.0
    for less_m in np.arange(tire_m - INCH_M, LEAST_TIRE_M - WIDTH_M, -INCH_M).tolist():
        if clear(with_machine(plan, name, tire_m=less_m), section):
            yield f"tires of at most {format_small(less_m, plan.units)} that are rated for its load"
            return


def _shifts(plan: Plan, section: Section, over: Over, clear: Clear) -> Iterator[str]:
    """Try passes half a row to one side, of machines whose units need not meet rows."""
    passes, _ = passes_of(section, over.job)
    if over.job.does == "plant" or any(one.step_m for one in passes):
        return
    half_m = _spacing_m(section, over.crop) / 2
    if any(clear(plan, section, side * half_m) for side in (1, -1)):
        yield f"passes shifted by half a row, {format_small(half_m, plan.units)}"


def _rows(plan: Plan, section: Section, over: Over, clear: Clear) -> Iterator[str]:
    """Try a row more or less, of the planter or of the strips of the crop that is run over."""
    name = over.job.machine
    machine = plan.machines[name]
    if isinstance(machine, Planter) and machine.rows is not None:
        for rows in (machine.rows + step for step in STEP_ROWS):
            if rows > 0 and _works(with_machine(plan, name, rows=rows), clear):
                yield f"{rows} rows of {name}"
                return
    if plan.row_set is not None:
        return
    for step in STEP_ROWS:
        strips = tuple(
            wish.model_copy(update={"rows": strip.rows + step, "passes": None, "width_m": None})
            if over.crop == strip.crop and strip.counted and wish.pattern_m is None
            else wish
            for wish, strip in zip(plan.strips, section.strips, strict=True)
        )
        if strips != plan.strips and all(one.rows != 0 for one in strips) and _works(
            plan.model_copy(update={"strips": strips}), clear
        ):  # fmt: skip
            rows = next(strip.rows for strip in section.strips if strip.crop == over.crop) + step
            yield f"strips of {rows} rows of {over.crop}"
            return


def _works(changed: Plan, clear: Clear) -> bool:
    """Tell whether a changed plan has a section, and the wheels are clear over it."""
    try:
        section = sections_of(changed)[0]
    except PlanError:
        return False
    return clear(changed, section)


def with_machine(plan: Plan, name: str, **values: float) -> Plan:
    """Give a plan with some values of a machine changed."""
    changed = plan.machines[name].model_copy(update=values)
    return plan.model_copy(update={"machines": {**plan.machines, name: changed}})
