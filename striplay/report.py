"""Say a layout, or what headings cost, in a short table that a person reads, or as data."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from textwrap import shorten
from typing import TYPE_CHECKING, Any

from striplay.accounts.told import own_land_m2, told_areas
from striplay.accounts.words import buy_words, cost_words, seed_words, units_words
from striplay.notices import Notice
from striplay.plan.models import Plan
from striplay.section.after_harvest import layers_besides
from striplay.section.mixture import batch_kg, blend, blend_words, mixtures_of
from striplay.section.sets import written
from striplay.tolerances import OFF_DEG
from striplay.units import (
    ACRE_M2,
    FOOT_M,
    HECTARE_M2,
    POUND_KG,
    degrees,
    format_area,
    format_length,
    format_typed,
    said,
)

if TYPE_CHECKING:
    from striplay.search.choice import Choice
    from striplay.search.headings import Searched

LINES = 14
"""Lines of a layout's report, so that with where it is written it stays within 15."""
CROPS_SHOWN = 6
"""Crops shown where there is room; the rest stand in accounts.json."""
BLENDS_SHOWN = 2
"""Blends shown, likewise."""
NOTICES_SHOWN = 6
"""Notices shown under a layout; the rest stand in accounts.json."""


def layout_report(plan: Plan, accounts: dict[str, Any]) -> list[str]:
    """Report a layout in at most 14 lines; where it is written takes another."""
    foot = "ft" if plan.units == "us" else "m"
    head = [
        _headline(plan, accounts["field"]),
        f"{'':<22}{'strips':>7}{'area':>12}{f'seeds/{foot}':>11}  seed to buy",
    ]
    rest = _land_lines(plan, accounts) + _blend_lines(plan, accounts)
    if "shares" in accounts:
        rest.append(_share_line(accounts["shares"]))
    rest.append(f"passes: {_passes(accounts['passes'])}")
    if accounts["operations"]:
        rest.append(operations_line(accounts["operations"]))
    if "cost" in accounts:
        rest.append(cost_words(accounts["cost"], accounts["field"]["heading_deg"]))
    if "pairs" in accounts:
        told = accounts["pairs"][0]["said"]
        first = re.split(r"[:;]| \(", told)[0]
        growth = "by assumed growth, " if "assumed growth" in told else ""
        rest.append(f"pairs: {growth}{first}; more stands in accounts.json")
    crops = _crop_lines(plan, accounts, LINES - len(head) - len(rest))
    return [*head, *crops, *rest]


def operations_line(operations: Sequence[Mapping[str, Any]]) -> str:
    """Say how many operations can be done, which of them at a cost, and which can't."""
    named = {
        answer: [one["name"] for one in operations if one["verdict"] == answer]
        for answer in ("no", "at a cost")
    }
    well = len(operations) - sum(map(len, named.values()))
    can = len(operations) - len(named["no"])
    said = f"operations: {can} of {len(operations)} can be done"
    if well == len(operations):
        said += " as planned"
    for answer, names in named.items():
        if names:
            more = f" and {len(names) - WORST} more" if len(names) > WORST else ""
            said += f"; {answer}: {', '.join(names[:WORST])}{more}"
    if well < len(operations):
        said += "; striplay check says why"
    beside_km = sum(one["side_by_side_km"] for one in operations)
    between_km = sum(one["between_km"] for one in operations)
    saved = 1 - between_km / beside_km if beside_km else 0.0
    if saved >= SAVED:
        said += f"; in this order {saved:.0%} less is driven between passes than side by side"
    return said


SAVED = 0.01
"""A saving of less is not told."""
WORST = 3
"""So many operations that can't be done, or only at a cost, are named."""


def check_report(
    title: str,
    operations: Sequence[Mapping[str, Any]],
    together: Sequence[Mapping[str, Any]],
    notices: Sequence[Mapping[str, Any]] = (),
) -> list[str]:
    """Say of each operation whether it can be done, and why not, in at most `CHECK_LINES` lines.

    Where machines reach out of the field or over obstacles is always told, and whole.

    Args:
        title: name of the field.
        operations: their accounts.
        together: what was found of all together; told where there is room.
        notices: of the layout.
    """
    hurt = [one["text"] for one in notices
            if one["severity"] != "know" and one["kind"] in REACHES]  # fmt: skip
    width = max((len(one["name"]) for one in operations), default=0)
    lines = [f"{title}: {operations_line(operations).replace('; striplay check says why', '')}"]
    grave = [one["text"] for one in together if one["severity"] != "know"]
    lines += grave
    first = [text for text in dict.fromkeys(hurt) if text not in grave]
    for one in operations:
        takes = f"{one['passes']} passes, {one['hours']:.1f} h"
        day = one["day"] or "day not known"
        lines.append(f"{one['verdict']:<10} {one['name']:<{width}}  {day:<13}  {takes}")
    room = CHECK_LINES - len(lines)
    told = [one for answer in ("no", "at a cost") for one in operations
            if one["verdict"] == answer]  # fmt: skip
    if room < 0:
        shown = CHECK_LINES - 1 - len(first)
        return [*lines[:shown], *first, f"and {len(lines) - shown} more in operations.csv"]
    reasons = list(dict.fromkeys([*first, *(one["reason"] for one in told)]))
    if len(reasons) > room:
        more = f"{len(reasons) - room + 1} more reasons stand in operations.csv"
        reasons = [*reasons[: room - 1], more] if room else []
    known = [one["text"] for one in together if one["severity"] == "know"]
    return [*lines, *reasons, *known[: room - len(reasons)]]


CHECK_LINES = 25
"""Most lines of a check."""
REACHES = ("passes", "obstacle")
"""Kinds of notices of where machines reach over what they should not."""


def _crop_lines(plan: Plan, accounts: dict[str, Any], room: int) -> list[str]:
    """Say each crop in a line; where there is no room, the seed to buy of all others in one."""
    bought = accounts["seed_to_buy"]
    # those with land of their own first: it adds up to the field
    names = sorted(accounts["crops"], key=lambda name: not _has_land(plan, accounts, name))
    unseen = [name for name in bought if name not in {*names, *accounts["headland_crop"]}]
    shown = len(names)
    if shown + bool(unseen) > min(room, CROPS_SHOWN):
        shown = min(room - 1, CROPS_SHOWN)
    others = [*(name for name in names[shown:] if name in bought), *unseen]
    lines = [_crop_line(plan, accounts, name) for name in names[:shown]]
    if others:
        listed = ", ".join(f"{name} {buy_words(plan, name, bought[name])}" for name in others)
        lines.append(f"  and to buy {listed}")
    return lines


def _has_land(plan: Plan, accounts: dict[str, Any], name: str) -> bool:
    """Tell whether a crop has strips of its own, and is no part of a mixture or between rows."""
    if "after" in accounts["crops"][name]:
        return False
    return not accounts.get("shares") or name in own_land_m2(plan, accounts)


SUMMARY_LETTERS = 110
"""Longest line of a summary."""


def layout_summary(plan: Plan, accounts: dict[str, Any]) -> list[str]:
    """Sum a layout up in six short lines: field, direction, strips, land, passes, notices."""
    field, units = accounts["field"], plan.units
    grave = Counter(notice["severity"] for notice in accounts["notices"])
    each = ", ".join(f"{count} {severity}" for severity, count in grave.items())
    land_m2 = told_areas(plan, accounts).land_m2
    areas = (f"{name} {format_area(area_m2, units)}" for name, area_m2 in land_m2.items())
    crops = (f"{name} {crop['strips']}" for name, crop in accounts["crops"].items())
    lines = [
        f"Layout of {field['title']}: {format_area(field['area_m2'], units)}",
        f"rows: {rows_run(plan, field)}",
        f"strips: {', '.join(crops)}",
        f"land: {', '.join(areas)}",
        f"passes: {_passes(accounts['passes'])}",
        f"notices: {len(accounts['notices'])}{f' ({each})' if each else ''}",
    ]
    return [shorten(line, SUMMARY_LETTERS, placeholder=" ...") for line in lines]


def _land_lines(plan: Plan, accounts: dict[str, Any]) -> list[str]:
    """Say what the headland takes and plants, and what is not planted."""
    planted = accounts["headland_crop"]
    lines = [_headland_line(plan, accounts, name) for name in planted]
    bare = ["obstacles", "leftover"] if planted else ["headland", "obstacles", "leftover"]
    land_m2 = told_areas(plan, accounts).land_m2
    areas = {name: format_area(land_m2[name], plan.units) for name in bare}
    lines += [_area_line(name, area) for name, area in areas.items() if not area.startswith("0.00")]
    return [*lines, _area_line("field", format_area(accounts["field"]["area_m2"], plan.units))]


def _share_line(shares: dict[str, dict[str, Any]]) -> str:
    """Say each crop's share of the cropped land, headland included, and what was wished."""
    most = sorted(shares, key=lambda crop: -shares[crop]["share"])
    each = [f"{crop} {shares[crop]['share']:.0%}" for crop in most]
    each[0] += " of the cropped land"
    wished = [f"{c} {shares[c]['wished']:.0%}" for c in most if shares[c]["wished"] is not None]
    listed = (
        ", ".join(said[:CROPS_SHOWN]) + (", ..." if len(said) > CROPS_SHOWN else "")
        for said in (each, wished)
    )
    return "shares: " + "; wished ".join(said for said in listed if said)


def _blend_lines(plan: Plan, accounts: dict[str, Any]) -> list[str]:
    """Say each mixture's blend in a line, wherever it is sown."""
    sown = {*accounts["crops"], *accounts["headland_crop"]}
    sown |= {layer.label for layers in layers_besides(plan) for layer in layers}
    lines = [_blend_line(plan, name) for name in mixtures_of(plan) if name in sown]
    if len(lines) > BLENDS_SHOWN:
        more = len(lines) - BLENDS_SHOWN
        lines = lines[:BLENDS_SHOWN]
        lines[-1] += f"; {more} more on the seed sheet"
    return lines


def _blend_line(plan: Plan, name: str) -> str:
    parts = blend(plan, name)
    if any(part.by_weight is None for part in parts):
        said = ", ".join(f"{part.crop} {part.share:.0%}" for part in parts)
        needs = "weights need rates, and seed_size of those by number"
        return f"blend {name}: {said} of their full rates; {needs}"
    kg, weight = (POUND_KG, "lb") if plan.units == "us" else (1.0, "kg")
    area_m2, area = (ACRE_M2, "ac") if plan.units == "us" else (HECTARE_M2, "ha")
    said = ", ".join(f"{part.crop} {part.by_weight:.1%}" for part in parts)
    rate = sum(part.kg_per_m2 or 0.0 for part in parts) * area_m2 / kg
    kind = blend_words(plan, name)
    line = f"blend {name}: {said} by weight, {rate:,.1f} {weight}/{area}; {kind}"
    mixed_kg = batch_kg(plan, name)
    if mixed_kg is None:
        return line
    fills = " + ".join(f"{(part.batch_kg or 0.0) / kg:,.0f}" for part in parts)
    return f"{line}; to a batch of {mixed_kg / kg:,.0f} {weight}: {fills}"


def rows_run(plan: Plan, field: dict[str, Any], *, typed: bool = True) -> str:
    """Say which way the rows run and from where, block by block.

    Args:
        plan: units and direction.
        field: the accounts'.
        typed: as exactly as it is typed in a plan; else as a person says it.
    """
    told_deg = degrees if typed else _about_deg
    told_m = format_typed if typed else format_length
    if plan.direction.along is not None:
        return f"along {plan.direction.along}"
    if plan.direction.pivot is not None:
        return "in rings about the pivot"
    if "block_headings_deg" not in field:
        offset = told_m(field["offset_m"], plan.units)
        return f"heading {told_deg(field['heading_deg'])} degrees from true north, offset {offset}"
    blocks = zip(
        field["block_headings_deg"], field["block_offsets_m"], field["block_strips"], strict=True
    )
    listed = "; ".join(
        f"strips {ends[0]}-{ends[1]} {told_deg(heading)}, offset {told_m(off_m, plan.units)}"
        if ends
        else "a block without a strip"
        for heading, off_m, ends in blocks
    )
    return f"headings by block, degrees from true north: {listed}"


def _about_deg(heading_deg: float) -> str:
    """Write a heading to a tenth of a degree."""
    return f"{round(heading_deg, 1) % 180:.1f}"


def _headline(plan: Plan, field: dict[str, Any]) -> str:
    said = rows_run(plan, field)
    side = "" if plan.direction.pivot else f", first strip on the {plan.direction.start}"
    return f"{plan.title}: {said}{side}"


def weigh_data(found: "Searched") -> dict[str, Any]:
    """Give weighed layouts as data, best first."""
    return {
        "best": [_choice_data(choice) for choice in found.best],
        "usual": _choice_data(found.usual) if found.usual and found.usual.laid else None,
        "asked": _choice_data(found.asked) if found.asked and found.asked.laid else None,
        "sets": [_choice_data(choice) for choice in found.sets],
    }


def _choice_data(choice: "Choice") -> dict[str, Any]:
    from striplay.search.cost import PARTS  # noqa: PLC0415 - of no use to fit, and slow to load

    return {
        "heading_deg": choice.heading_deg,
        "offset_m": choice.offset_m,
        "strips": [
            {"crop": strip.crop, "width_m": strip.width_m} for strip in choice.section.strips
        ],
        "planter_passes": choice.passes,
        "cost": {
            "total": choice.total,
            "parts": dict(zip(PARTS, choice.parts, strict=True)),
            "tenth_degree_off": choice.off_more,
        },
        "point_rows": [asdict(each) for each in choice.point_rows],
    }


SHORT_PARTS = ("headland", "bare land", "partial", "overlap", "turns", "shares", "preferred")
"""The parts of the cost as headings of columns."""


def weigh_report(plan: Plan, found: "Searched") -> list[str]:
    """Report the best layouts, part by part, beside the plan's own heading and the usual one."""
    heads = "".join(f"{name:>10}" for name in (*SHORT_PARTS, "total"))
    aim = "money" if plan.cost.aim == "margin" else plan.cost.aim
    lines = [f"{plan.title}: cost a year by heading, least {aim}"]
    lines.append(f"{'':<7}{'heading':>8}{'offset':>10}{heads}{'passes':>7}{f'{OFF_DEG:g} off':>8}")
    rows = [(f"best {number}", choice) for number, choice in enumerate(found.best, start=1)]
    beside = (("asked", found.asked), ("usual", found.usual))
    rows += [(name, choice) for name, choice in beside if choice is not None and choice.laid]
    for name, choice in rows:
        money = "".join(f"{part:>10,.0f}" for part in (*choice.parts, choice.total))
        offset = format_typed(choice.offset_m, plan.units)
        lines.append(
            f"{name:<7}{degrees(choice.heading_deg):>8}{offset:>10}{money}{choice.passes:>7}"
            f"{_more(choice.off_more):>8}"
        )
    lines += [
        "passes: planters' on the strips, without the headland's",
        *(["usual: along the longest edge, at its best offset"] if found.usual else []),
        f"{OFF_DEG:g} off: what so many degrees off the heading cost more, on either side",
    ]
    lines += _point_row_lines(plan, found.best[0])
    lines += _set_lines(plan, found.sets)
    lines.append("Prices are the plan's [cost], or defaults from memory: see docs/methods.md.")
    return lines


def _more(money: float | None) -> str:
    """Write what is added to a cost; a dash where nothing can be laid."""
    return "-" if money is None else f"{round(money):+,d}"


def _point_row_lines(plan: Plan, best: "Choice") -> list[str]:
    """Say what point rows the best has, machine by machine, shutting off or not."""
    if all(each.without_m2 < ACRE_M2 / 100 for each in best.point_rows):
        return ["point rows of best 1: none, rows end square"]
    return [
        f"point rows of best 1, {each.machine}: {format_area(each.area_m2, plan.units)} worked "
        f"twice; {format_area(each.without_m2, plan.units)} without shut-off, "
        f"{format_area(each.with_m2, plan.units)} with {shut_off}"
        for each in best.point_rows
        for shut_off in ["its sections" if each.machine in plan.sprayers else "row shut-off"]
    ]


def _set_lines(plan: Plan, sets: Sequence["Choice"]) -> list[str]:
    """Say what other good sets would cost or save, each at its best of the same headings."""
    if len(sets) == 1:
        return []
    named = [_set(plan, choice) for choice in sets]
    wide = max(len(name) for name in named) + 2
    lines = [f"{'sets, best first':<{wide}}{'cost':>10}{'difference':>12}{'passes':>8}"]
    for name, choice in zip(named, sets, strict=True):
        more = choice.money - sets[0].money
        difference = f"{more:>+12,.0f}" if choice is not sets[0] else f"{'laid':>12}"
        lines.append(f"{name:<{wide}}{choice.money:>10,.0f}{difference}{choice.passes:>8}")
    return [
        *lines,
        "sets: weighed at the headings above; gains at strips' edges and swaps are in no cost",
        "To lay another set, state its widths under [[strips]].",
    ]


def _set(plan: Plan, choice: "Choice") -> str:
    strips = choice.section.strips
    return written([strip.crop for strip in strips], [strip.width_m for strip in strips], plan)


def _crop_line(plan: Plan, accounts: dict[str, Any], name: str) -> str:
    """Say how much land a crop has, seeds to the foot of row, and what seed to buy in all."""
    crop = accounts["crops"][name]
    rates = [
        one["seeds_per_m"]
        for one in accounts["rates_in_rows"]
        if one["crop"] == name and one["place"] != "headland"
    ]
    buy = "a blend" if "parts" in crop else _buy_words(plan, accounts, name)
    if _has_land(plan, accounts, name):
        told = {**crop, "area_m2": told_areas(plan, accounts).crops_m2.get(name, crop["area_m2"])}
        return _line(plan, name, told, rates, buy)
    # it shares ground that is told above: an area only where it has that to itself, later on
    after_m2 = told_areas(plan, accounts).after_m2.get(name)
    begun = "  " if after_m2 is None else "  then "
    return _line(plan, f"{begun}{name}", {**crop, "area_m2": after_m2}, rates, buy)


def _headland_line(plan: Plan, accounts: dict[str, Any], name: str) -> str:
    """Say the same of the headland's crop, whose seed stands with its strips'."""
    crop = accounts["headland_crop"][name]
    rates = [
        one["seeds_per_m"]
        for one in accounts["rates_in_rows"]
        if one["crop"] == name and one["place"] == "headland"
    ]
    buy = _buy_words(plan, accounts, name) if name in accounts["seed_to_buy"] else "a blend"
    if name in accounts["crops"] and name in accounts["seed_to_buy"]:
        buy = f"with {name}'s"
    told = {**crop, "area_m2": told_areas(plan, accounts).land_m2["headland"]}
    return _line(plan, f"headland, {name}", told, rates, buy)


def _line(plan: Plan, name: str, crop: dict[str, Any], per_m: list[float | None], buy: str) -> str:
    unit_m = FOOT_M if plan.units == "us" else 1.0
    rates = "/".join(dict.fromkeys("-" if m is None else said(m * unit_m) for m in per_m))
    strips, area_m2 = str(crop["strips"] or ""), crop["area_m2"]
    area = "" if area_m2 is None else format_area(area_m2, plan.units)
    return f"{name[:21]:<22}{strips:>7}{area:>12}{rates:>11}  {buy}".rstrip()


def _buy_words(plan: Plan, accounts: dict[str, Any], name: str) -> str:
    seed = accounts["seed_to_buy"][name]
    amount, units = seed_words(plan, name, seed, up=True), units_words(plan, name, seed)
    return f"{units} ({amount})" if units else amount


def _area_line(name: str, area: str) -> str:
    return f"{name:<29}{area:>12}"


def _passes(passes: Iterable[dict[str, Any]]) -> str:
    return ", ".join(f"{p['operation']} {p['count']} ({p['machine']})" for p in passes)


def notice_lines(notices: Sequence[Notice], rest: str = "more stand in accounts.json") -> list[str]:
    """Show the first notices, and how many more there are and, in the words of `rest`, where."""
    marks = ["stop" if notice.severity == "stop" else "note" for notice in notices]
    lines = [f"{m}: {notice}" for m, notice in zip(marks, notices[:NOTICES_SHOWN], strict=False)]
    if len(notices) > NOTICES_SHOWN:
        lines.append(f"note: {rest}: {len(notices) - NOTICES_SHOWN}")
    return lines
