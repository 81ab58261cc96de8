"""Sow crops between the rows of others: relays and quick crops, on any section."""

import math
from dataclasses import replace

from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.section.mixture import sown_of
from striplay.section.section import Row, Section, Strip, Work
from striplay.section.wheels import (
    ON_ROW_M,
    off_tracks,
    opener_notices,
    passes_to_sow,
    shift_m,
    wheel_notices,
    wheel_tracks,
)
from striplay.tolerances import BEFORE_BORDER_M, WHOLE_NUMBER, WIDTH_M
from striplay.units import format_length, format_small

Places = dict[int, list[float]]
"""Rows to sow, by strip: from its first edge, in order."""


def with_between(plan: Plan, section: Section) -> Section:
    """Add to a section the rows, works and notices of the plan's relays and quick crops."""
    for layer, asked in enumerate((*plan.relays, *plan.quick_crops), start=1):
        section = _sown_between(plan, section, asked, layer)
    return section


def _sown_between(plan: Plan, section: Section, asked: Between, layer: int) -> Section:
    hosts = [index for index in range(len(section.strips)) if _is_host(section, index, asked.into)]
    places = _at_offsets(asked, section, hosts)
    if asked.offsets_m is None:
        places = _in_gaps(asked, section, hosts)
    if not places:
        why = _not_sown(plan, section, asked, hosts)
        return replace(section, notices=(*section.notices, why))
    strips, rows, told = list(section.strips), list(section.rows), list(section.notices)
    left_out_m = list(section.tramlines_m)
    for index, at_m in places.items():
        strip = strips[index]
        works = _works(plan, asked, layer, strip, at_m)
        more, notices = _strip_rows(plan, section, asked, index, (at_m, works))
        rows += more
        told += notices
        sown_m = {row.offset_m for row in more}
        left_out_m += [at for at in (strip.left_m + m for m in at_m) if at not in sown_m]
        strips[index] = replace(strip, works=(*strip.works, *works))
    told += _outside(plan, asked, section, hosts)
    told += _cut_notices(plan, asked, [strips[index].crop for index in places])
    return replace(
        section,
        strips=tuple(strips),
        rows=tuple(sorted(rows, key=lambda row: row.offset_m)),
        notices=tuple(dict.fromkeys(told)),
        tramlines_m=tuple(sorted(left_out_m)),
    )


def _is_host(section: Section, index: int, into: str) -> bool:
    """Tell whether a strip is of the crop sown into, alone or in a mixture."""
    own = (row for row in section.rows if row.strip == index and row.layer == 0)
    return section.strips[index].crop == into or any(
        sown.crop == into for row in own for sown in row.sown
    )


def _at_offsets(asked: Between, section: Section, hosts: list[int]) -> Places:
    """Give rows at stated offsets in each period of a strip."""
    found: Places = {}
    for index in hosts:
        width_m = section.strips[index].width_m
        period_m = asked.period_m or width_m
        count = max(1, math.ceil(width_m / period_m - WHOLE_NUMBER))
        every = (i * period_m + at for i in range(count) for at in asked.offsets_m or ())
        found[index] = sorted(at for at in every if 0.0 < at < width_m)
    return {index: at_m for index, at_m in found.items() if at_m}


def _outside(plan: Plan, asked: Between, section: Section, hosts: list[int]) -> list[str]:
    """Say where stated offsets lie outside a strip."""
    if asked.offsets_m is None or asked.period_m is not None:
        return []
    narrow = [section.strips[i] for i in hosts if section.strips[i].width_m <= max(asked.offsets_m)]
    return [
        f"{asked.crop} into {asked.into}: some of its offsets lie outside a strip of "
        f"{format_length(strip.width_m, plan.units)}"
        for strip in narrow
    ]


def _in_gaps(asked: Between, section: Section, hosts: list[int]) -> Places:
    """Give rows evenly in each gap wide enough, those between two host strips included."""
    least_m = (asked.gap_m or 0.0) - WIDTH_M
    found: Places = {}
    for low_m, high_m, left, right in _gaps(section, hosts):
        if high_m - low_m < least_m:
            continue
        border_m = section.strips[left].left_m + section.strips[left].width_m
        for number in range(1, asked.rows + 1):
            at_m = low_m + (high_m - low_m) * number / (asked.rows + 1)
            if left == right and high_m <= section.width_m:
                found.setdefault(left, []).append(at_m - section.strips[left].left_m)
            elif at_m <= border_m + WIDTH_M:  # half-way: on the border
                at_m = min(at_m, border_m - BEFORE_BORDER_M)
                found.setdefault(left, []).append(at_m - section.strips[left].left_m)
            else:
                found.setdefault(right, []).append(at_m - border_m)
    return {index: sorted(found[index]) for index in hosts if index in found}


def _gaps(section: Section, hosts: list[int]) -> list[tuple[float, float, int, int]]:
    """List the gaps between rows of host strips: both sides, and the strip on either side.

    The set repeats, so its last strip lies beside its first: then the gap's second side is beyond
    the set.
    """
    own = [row for row in section.rows if row.layer == 0]
    after = [*own[1:], replace(own[0], offset_m=own[0].offset_m + section.width_m)]
    return [
        (one.offset_m, other.offset_m, one.strip, other.strip)
        for one, other in zip(own, after, strict=True)
        if one.strip in hosts and other.strip in hosts
    ]


def _not_sown(plan: Plan, section: Section, asked: Between, hosts: list[int]) -> str:
    """Say why a crop finds no place."""
    if not hosts:
        why = f"no strip of {asked.into} stands in the set"
    elif asked.offsets_m is not None:
        why = "its offsets lie outside the strip"
    else:
        widest_m = max(high_m - low_m for low_m, high_m, _, _ in _gaps(section, hosts))
        widest, least = (format_small(v, plan.units) for v in (widest_m, asked.gap_m or 0.0))
        why = f"the widest gap between rows of {asked.into} is {widest}, and gap asks for {least}"
    return f"{asked.crop} into {asked.into}: {why}; it is not sown"


def _works(
    plan: Plan, asked: Between, layer: int, strip: Strip, at_m: list[float]
) -> tuple[Work, ...]:
    """List the operations on a crop between: its sowing and its harvest."""
    crop = asked.crop
    seeder = asked.seeder or plan.crops[crop].planter
    width_m = strip.width_m / passes_to_sow(plan.planter_of(seeder), strip.width_m, at_m)
    sow = Work("plant", seeder, width_m, None, crop, layer)
    works = [replace(sow, shift_m=shift_m(plan, sow, strip, at_m))]
    harvester = plan.harvester(crop)
    name = plan.crops[crop].harvester
    if harvester is not None and name is not None:
        works.append(Work("harvest", name, harvester.width_m, None, crop, layer))
    return tuple(works)


def _strip_rows(
    plan: Plan,
    section: Section,
    asked: Between,
    index: int,
    sowing: tuple[list[float], tuple[Work, ...]],
) -> tuple[list[Row], list[str]]:
    """Set the rows between those of one strip, tramlines left unsown, and say what is amiss."""
    at_m, works = sowing
    strip, sow = section.strips[index], works[0]
    each_m = strip.width_m / len(at_m)
    standing_m = [row.offset_m - strip.left_m for row in section.rows if row.strip == index]
    own_m = [
        row.offset_m - strip.left_m for row in section.rows if row.strip == index and row.layer == 0
    ]
    driven = [w for w in (*strip.works, *works) if w.machine == asked.tramlines]
    kept_m = off_tracks([one for work in driven for one in wheel_tracks(plan, work, strip)], at_m)
    rows = [
        Row(strip.left_m + at, each_m, index, number, sow.machine, 0, 0,
            sown_of(plan, asked.crop), sow.layer)
        for number, at in enumerate(kept_m, start=1)
    ]  # fmt: skip
    notices = _tramline_notices(plan, asked, strip, driven, len(at_m) - len(kept_m))
    notices += _place_notices(plan, asked, kept_m, standing_m, each_m)
    notices += opener_notices(plan, sow, strip, kept_m, standing_m)
    standing = " and ".join(_standing(section, index))
    notices += wheel_notices(plan, sow, strip, standing_m, standing)
    for work in driven:
        if work.operation != "plant":
            notices += wheel_notices(plan, work, strip, own_m, strip.crop)
    for work in strip.works:
        if work.operation == "harvest" and work.layer == 0:
            notices += wheel_notices(plan, work, strip, kept_m, asked.crop)
    return rows, notices


def _standing(section: Section, index: int) -> list[str]:
    """Name what a strip is sown to, its own rows' first."""
    strip = section.strips[index]
    between = [work.crop for work in strip.works if work.operation == "plant" and work.layer]
    return [strip.crop, *dict.fromkeys(between)]


def _tramline_notices(
    plan: Plan, asked: Between, strip: Strip, driven: list[Work], left_out: int
) -> list[str]:
    """Say how many rows tramlines leave out, or that their machine works no such strip."""
    if asked.tramlines is None:
        return []
    told = f"{asked.crop} into {asked.into}"
    if not driven:
        return [f"{told}: {asked.tramlines} works no strip of {asked.into}; no tramlines are left"]
    if not left_out:
        return []
    width = format_length(strip.width_m, plan.units)
    left = f"tramlines of {asked.tramlines} leave out {left_out} rows of a strip of {width}"
    return [f"{told}: {left}"]


WIDE_M = 1.6
"""Rows farther apart than about 5 ft make its rate a great many seeds to the row."""


def _place_notices(
    plan: Plan, asked: Between, places_m: list[float], standing_m: list[float], each_m: float
) -> list[str]:
    """Say where rows stand on other rows, and where a rate is crowded into few rows."""
    on_rows = sum(min(abs(at - other) for other in standing_m) < ON_ROW_M for at in places_m)
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


def _cut_notices(plan: Plan, asked: Between, hosts: list[str]) -> list[str]:
    """Say where a standing crop's header cuts into the one between."""
    notices = []
    for host in dict.fromkeys(hosts):
        harvester = plan.harvester(host)
        if harvester is None or harvester.cut_m is None or asked.height_m is None:
            continue
        if asked.height_m > harvester.cut_m:
            heights = (harvester.cut_m, asked.height_m)
            cut, height = (format_small(value, plan.units) for value in heights)
            told = f"{asked.crop} into {host}: stands {height} high when {host} is cut at {cut}"
            notices.append(f"{told}; cut higher, sow later, or push it aside with dividers")
    return notices
