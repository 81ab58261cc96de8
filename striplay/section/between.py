"""Sow crops between the rows of others: relays and quick crops, on any section."""

import math
from dataclasses import replace
from itertools import pairwise

from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.section.mixture import sown_of
from striplay.section.section import Row, Section, Strip, Work
from striplay.tolerances import WIDTH_M
from striplay.units import format_length, format_small


def with_between(plan: Plan, section: Section) -> Section:
    """Add to a section the rows, works and notices of the plan's relays and quick crops."""
    for layer, asked in enumerate((*plan.relays, *plan.quick_crops), start=1):
        section = _sown_between(plan, section, asked, layer)
    return section


def _sown_between(plan: Plan, section: Section, asked: Between, layer: int) -> Section:
    seeder = asked.seeder or plan.crops[asked.crop].planter
    strips, more, notices = [], [], []
    for index, strip in enumerate(section.strips):
        own = [row for row in section.rows if row.strip == index and row.layer == 0]
        host = strip.crop == asked.into or any(
            sown.crop == asked.into for row in own for sown in row.sown
        )
        places = _places(asked, [row.offset_m for row in own], strip.left_m, strip.width_m)
        if not host or not places:
            strips.append(strip)
            continue
        sown = sown_of(plan, asked.crop)
        each_m = strip.width_m / len(places)
        more += [
            Row(at_m, each_m, index, number, seeder, 0, 0, sown, layer)
            for number, at_m in enumerate(places, start=1)
        ]
        works = (*strip.works, *_works(plan, asked.crop, seeder, layer))
        strips.append(replace(strip, works=works))
        notices += _place_notices(plan, asked, places, section, index, each_m)
        notices += _wheel_notices(plan, seeder, strip, [row.offset_m for row in own])
        header = plan.crops[asked.into].harvester
        if header is not None:
            notices += _wheel_notices(plan, header, strip, places)
    if not more:
        why = f"no row of {asked.into} leaves it a gap"
        if not any(strip.crop == asked.into for strip in section.strips):
            why = f"no strip of {asked.into} stands in the set"
        elif asked.offsets_m is not None:
            why = "its offsets lie outside the strip"
        notices = [f"{asked.crop} into {asked.into}: {why}; it is not sown"]
    notices += _cut_notices(plan, asked)
    rows = sorted((*section.rows, *more), key=lambda row: row.offset_m)
    told = tuple(dict.fromkeys((*section.notices, *notices)))
    return replace(section, strips=tuple(strips), rows=tuple(rows), notices=told)


def _places(asked: Between, rows_m: list[float], left_m: float, width_m: float) -> list[float]:
    """Give where rows stand: at offsets in each period, or evenly in each gap wide enough."""
    if asked.offsets_m is not None:
        period_m = asked.period_m or width_m
        count = max(1, round(width_m / period_m))
        every = [left_m + i * period_m + at for i in range(count) for at in asked.offsets_m]
        return sorted(at for at in every if left_m < at < left_m + width_m)
    least_m = (asked.gap_m or 0.0) - WIDTH_M
    return [
        low + (high - low) * (i + 1) / (asked.rows + 1)
        for low, high in pairwise(sorted(rows_m))
        for i in range(asked.rows)
        if high - low >= least_m
    ]


ON_ROW_M = 0.05
"""A row nearer than 2 in to another stands on it."""
WIDE_M = 1.6
"""Rows farther apart than about 5 ft make its rate a great many seeds to the row."""


def _place_notices(
    plan: Plan,
    asked: Between,
    places: list[float],
    section: Section,
    index: int,
    each_m: float,
) -> list[str]:
    """Say where rows stand on other rows, and where a rate is crowded into few rows."""
    others = [row.offset_m for row in section.rows if row.strip == index]
    on_rows = sum(min(abs(at - other) for other in others) < ON_ROW_M for at in places)
    notices = []
    if on_rows:
        notices.append(
            f"{asked.crop} into {asked.into}: {on_rows} of its rows stand on other rows; change "
            "offsets, or leave units empty"
        )
    if each_m > WIDE_M:
        apart = format_length(each_m, plan.units)
        notices.append(
            f"{asked.crop} into {asked.into}: one row to {apart} of strip takes the seed of all "
            "that ground; lower its rate if that is not meant"
        )
    return notices


def _works(plan: Plan, crop: str, seeder: str, layer: int) -> list[Work]:
    works = [Work("plant", seeder, plan.planter_of(seeder).width_m, None, crop, layer)]
    harvester = plan.harvester(crop)
    name = plan.crops[crop].harvester
    if harvester is not None and name is not None:
        works.append(Work("harvest", name, harvester.width_m, None, crop, layer))
    return works


def _wheel_notices(plan: Plan, name: str, strip: Strip, rows_m: list[float]) -> list[str]:
    """Say where a machine's wheels run on rows that stand when it works a strip."""
    machine = plan.machines[name]
    if machine.track_m is None or machine.tyre_m is None:
        return []
    passes = max(1, math.ceil(strip.width_m / machine.width_m - WIDTH_M))
    crushed = 0
    for number in range(passes):
        centre_m = strip.left_m + (number + 0.5) * strip.width_m / passes
        for wheel_m in (centre_m - machine.track_m / 2, centre_m + machine.track_m / 2):
            crushed += sum(abs(row_m - wheel_m) < machine.tyre_m / 2 for row_m in rows_m)
    if not crushed:
        return []
    width = format_length(strip.width_m, plan.units)
    told = f"{name}: its wheels run on {crushed} rows of a strip of {width}"
    return [f"{told}; leave tramlines, or set its track between the rows"]


def _cut_notices(plan: Plan, asked: Between) -> list[str]:
    """Say where the standing crop's header cuts into the one between."""
    harvester = plan.harvester(asked.into)
    if harvester is None or harvester.cut_m is None or asked.height_m is None:
        return []
    if asked.height_m <= harvester.cut_m:
        return []
    heights = (harvester.cut_m, asked.height_m)
    cut, height = (format_small(value, plan.units) for value in heights)
    told = f"{asked.crop} into {asked.into}: stands {height} high when {asked.into} is cut at {cut}"
    return [f"{told}; cut higher, sow later, or push it aside with dividers"]
