"""Sow crops between the rows of others: relays and quick crops, on any section."""

import math
from dataclasses import replace

from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.plan.systems import Between
from striplay.section.mixture import sown_of
from striplay.section.passes import Work, divided
from striplay.section.section import Grown, Layer, Pass, Row, Section, Strip
from striplay.section.tramlines import passes_over_strip
from striplay.section.trial import STRIPS
from striplay.section.wheels import (
    off_tracks,
    opener_notices,
    pass_of,
    passes_to_sow,
    shift_m,
    wheel_notices,
    wheel_tracks,
)
from striplay.tolerances import BEFORE_BORDER_M, ON_ROW_M, WHOLE_NUMBER, WIDTH_M
from striplay.units import format_length, format_small

Places = dict[int, list[float]]
"""Rows to sow, by strip: from its first edge, in order."""


def with_between(plan: Plan, section: Section) -> Section:
    """Add to a section the rows, passes and notices of the plan's relays and quick crops."""
    asked = (*plan.relays, *plan.quick_crops)
    for one, layers in zip(asked, layers_between(plan), strict=True):
        section = _sown_between(plan, section, one, layers)
    return section


def layers_between(plan: Plan) -> list[tuple[Layer, ...]]:
    """Give the layers that each relay and quick crop of a plan asks for, sown in the set or not."""
    asked: list[tuple[Grown, Between]] = [("relay", one) for one in plan.relays]
    asked += [("quick crop", one) for one in plan.quick_crops]
    return [
        tuple(
            replace(
                layer,
                number=number,
                grown=grown,
                host=one.into,
                height_m=one.height_m,
                tramlines=one.tramlines,
            )
            for layer in sown_of(plan, one.crop)
        )
        for number, (grown, one) in enumerate(asked, start=1)
    ]


def _sown_between(
    plan: Plan, section: Section, asked: Between, layers: tuple[Layer, ...]
) -> Section:
    hosts = [index for index in range(len(section.strips)) if is_host(section, index, asked.into)]
    places = _at_offsets(asked, section, hosts)
    if asked.offsets_m is None:
        places = _in_gaps(asked, section, hosts)
    if not places:
        why = _not_sown(plan, section, asked, hosts)
        return replace(section, notices=(*section.notices, Notice("fit", "mind", None, why)))
    rows, told, left_out_m = [*section.rows], list[str](), [*section.tramlines_m]
    for index, at_m in places.items():
        strip = section.strips[index]
        sowing = _sowing(plan, asked, layers[0].number, strip, index, at_m)
        more, of_strip = _strip_rows(plan, section, asked, layers, index, at_m, sowing)
        rows += more
        told += of_strip
        sown_m = {row.offset_m for row in more}
        left_out_m += [at for at in (strip.left_m + m for m in at_m) if at not in sown_m]
    ordered = tuple(sorted(rows, key=lambda row: row.offset_m))
    place = {row: index for index, row in enumerate(ordered)}
    passes = [
        replace(one, rows=tuple(sorted(place[section.rows[index]] for index in one.rows)))
        for one in section.passes
    ]
    for index, at_m in places.items():
        passes += _passes(
            plan, asked, layers[0].number, section.strips[index], index, at_m, ordered
        )
    told += _outside(plan, asked, section, hosts)
    told += _cut_notices(plan, asked, [section.strips[index].crop for index in places])
    notices = (Notice("fit", "mind", None, said) for said in told)
    return replace(
        section,
        rows=ordered,
        passes=tuple(passes),
        notices=tuple(dict.fromkeys([*section.notices, *notices])),
        tramlines_m=tuple(sorted(left_out_m)),
    )


def is_host(section: Section, index: int, into: str) -> bool:
    """Tell whether a strip is of the crop sown into, alone or in a mixture.

    Check strips of a trial are not: their crop stands alone.
    """
    if section.strips[index].treatment not in {"", STRIPS}:
        return False
    own = (row for row in section.rows if row.strip == index and row.layer == 0)
    return section.strips[index].crop == into or any(
        layer.crop == into for row in own for layer in row.sown
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
    elif not _gaps(section, hosts):
        why = f"no two rows of {asked.into} stand side by side"
    else:
        widest_m = max(high_m - low_m for low_m, high_m, _, _ in _gaps(section, hosts))
        widest, least = (format_small(v, plan.units) for v in (widest_m, asked.gap_m or 0.0))
        why = f"the widest gap between rows of {asked.into} is {widest}, and gap asks for {least}"
    return f"{asked.crop} into {asked.into}: {why}; it is not sown"


def _sowing(
    plan: Plan, asked: Between, number: int, strip: Strip, index: int, at_m: list[float]
) -> list[Pass]:
    """List the passes that sow a crop between, shifted for the openers to reach its rows."""
    name = asked.seeder or plan.crops[asked.crop].planter
    seeder = plan.planter_of(name)
    share_m = strip.width_m / passes_to_sow(seeder, strip.width_m, at_m)
    sow = Work("plant", name, share_m, None, seeder.row_m)
    made = divided(sow, asked.crop, strip, index, [], (strip.left_m, strip.right_m))
    middles_m = [one.middle_m - strip.left_m for one in made]
    shifted_m = shift_m(seeder, middles_m, strip.width_m, at_m)
    return [
        replace(
            one,
            width_m=seeder.width_m,
            middle_m=one.middle_m + shifted_m,
            layer=number,
            shared=False,
        )
        for one in made
    ]


def _passes(
    plan: Plan,
    asked: Between,
    number: int,
    strip: Strip,
    index: int,
    at_m: list[float],
    rows: tuple[Row, ...],
) -> list[Pass]:
    """List a crop's sowing and harvest between, each pass with the rows it works."""
    own = [
        (place, row) for place, row in enumerate(rows) if row.strip == index and row.layer == number
    ]
    sowing = _sowing(plan, asked, number, strip, index, at_m)
    shifted_m = sowing[0].middle_m - (sowing[0].low_m + sowing[0].high_m) / 2
    found = []
    for turn, one in enumerate(sowing):
        mine = tuple(
            place
            for place, row in own
            if pass_of(row.offset_m - strip.left_m, len(sowing), strip.width_m, shifted_m) == turn
        )
        found.append(replace(one, rows=mine))
    reaping = _reaping(plan, asked, strip, index, own)
    return [*found, *(replace(one, layer=number) for one in reaping)]


def _strip_rows(
    plan: Plan,
    section: Section,
    asked: Between,
    layers: tuple[Layer, ...],
    index: int,
    at_m: list[float],
    sowing: list[Pass],
) -> tuple[list[Row], list[str]]:
    """Set the rows between those of one strip, tramlines left unsown, and say what is amiss."""
    strip = section.strips[index]
    each_m = strip.width_m / len(at_m)
    standing = [row for row in section.rows if row.strip == index]
    standing_m = [row.offset_m for row in standing]
    own_m = [row.offset_m for row in standing if row.layer == 0]
    over = [one for one in section.passes if one.strip == index]
    reap = _reaping(plan, asked, strip, index, [])
    booms = [one for lines in section.tramlines for one in passes_over_strip(lines, strip)]
    driven = [one for one in (*over, *booms, *sowing, *reap) if one.machine == asked.tramlines]
    wanted_m = [strip.left_m + at for at in at_m]
    kept_m = off_tracks(wheel_tracks(plan, driven), wanted_m)
    rows = [
        Row(at, each_m, index, number, sowing[0].machine, 0, 0, layers)
        for number, at in enumerate(kept_m, start=1)
    ]
    notices = _tramline_notices(plan, asked, strip, driven, len(at_m) - len(kept_m))
    notices += _place_notices(asked, kept_m, standing_m)
    in_strip_m = [at - strip.left_m for at in kept_m]
    notices += opener_notices(
        plan, strip, sowing, in_strip_m, [at - strip.left_m for at in standing_m]
    )
    named = " and ".join(_standing(section, index))
    notices += wheel_notices(plan, sowing, strip, standing_m, named)
    # a combine's wheels run on stubble behind its own header
    own_tracks = [one for one in driven if one.operation == "spray"]
    if own_tracks:
        notices += wheel_notices(plan, own_tracks, strip, own_m, strip.crop)
    host_cut = [one for one in over if one.operation == "harvest" and one.layer == 0]
    if host_cut:
        notices += wheel_notices(plan, host_cut, strip, kept_m, asked.crop)
    return rows, notices


def _reaping(
    plan: Plan, asked: Between, strip: Strip, index: int, own: list[tuple[int, Row]]
) -> list[Pass]:
    """List the passes that harvest a crop between, and which of its rows each takes."""
    harvester, name = plan.harvester(asked.crop), plan.crops[asked.crop].harvester
    if harvester is None or name is None:
        return []
    reap = Work("harvest", name, harvester.width_m, None)
    return divided(reap, asked.crop, strip, index, own, (strip.left_m, strip.right_m))


def _standing(section: Section, index: int) -> list[str]:
    """Name what a strip is sown to, its own rows' first."""
    between = [row.label for row in section.rows if row.strip == index and row.layer]
    return [section.strips[index].crop, *dict.fromkeys(between)]


def _tramline_notices(
    plan: Plan, asked: Between, strip: Strip, driven: list[Pass], left_out: int
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


def _place_notices(asked: Between, places_m: list[float], standing_m: list[float]) -> list[str]:
    """Say where rows stand on other rows."""
    on_rows = sum(min(abs(at - other) for other in standing_m) < ON_ROW_M for at in places_m)
    if not on_rows:
        return []
    told = f"{asked.crop} into {asked.into}: {on_rows} of its rows stand on other rows"
    return [f"{told}; change offsets, or leave units empty"]


def _cut_notices(plan: Plan, asked: Between, hosts: list[str]) -> list[str]:
    """Say where a standing crop's header cuts into the one between."""
    notices = []
    for host in dict.fromkeys(hosts):
        harvester = plan.harvester(host)
        if harvester is None or harvester.cutting_height_m is None or asked.height_m is None:
            continue
        if asked.height_m > harvester.cutting_height_m:
            heights = (harvester.cutting_height_m, asked.height_m)
            cut, height = (format_small(value, plan.units) for value in heights)
            told = f"{asked.crop} into {host}: stands {height} high when {host} is cut at {cut}"
            notices.append(f"{told}; cut higher, sow later, or push it aside with dividers")
    return notices
