"""Say plans side by side: a column a plan, in few lines that a person reads, or as data."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from functools import partial
from itertools import zip_longest
from textwrap import shorten, wrap
from typing import Any

from striplay.accounts.told import ToldAreas, told_areas
from striplay.accounts.words import buy_words
from striplay.choosing.compare import ANSWERS, Comparison, Side
from striplay.pay_report import WIDE, area_of, money, money_range
from striplay.units import UnitSystem, format_area, format_length

COMPARE_LINES = 25
"""Lines on the terminal at most, for so many plans as stand beside each other."""
BESIDE = 4
"""Plans beside each other; more stand below."""
HEAD, GAP = 18, 2
"""Letters of a line's name, and between columns."""
NOTE_LINES = 2
"""Lines kept for what is told below, however many crops there are."""
LABEL_LINES = 2

Line = tuple[str, list[str]]
"""What a line shows, and its figure for each plan; empty where that is not laid."""


def figure_lines(comparison: Comparison, crops: int | None = None) -> list[Line]:
    """Give the figures of plans, a line each and a text for each plan.

    Args:
        comparison: the plans.
        crops: how many crops are shown at most; all when left out.
    """
    units = _units(comparison)
    lines = [("set, across", _each(comparison, set_words))]
    if not comparison.one_field:
        whole = _each(comparison, lambda side: format_area(side.land["field"]["area_m2"], units))
        lines.append(("field", whole))
    lines += [
        (crop, _each(comparison, partial(crop_words, crop=crop, units=units)))
        for crop in comparison.crops[:crops]
    ]
    lines.append(("headland", _each(comparison, lambda side: headland_words(side, units))))
    lines.append(("not cropped", _each(comparison, lambda side: bare_words(side, units))))
    lines += [
        (f"seed: {crop}", _each(comparison, partial(seed_words_of, crop=crop)))
        for crop in comparison.seeds[:crops]
    ]
    lines += [
        ("passes", _each(comparison, lambda side: f"{side.passes:,}")),
        ("hours", _each(comparison, lambda side: f"{side.hours:,.1f}")),
        ("yes, at cost, no", _each(comparison, verdict_words)),
        ("cost a year", _each(comparison, lambda side: or_dash(side.cost))),
        ("margin", _each(comparison, margin_words)),
        ("  least to most", _each(comparison, spread_words)),
        (f"  per {area_of(units)[1]} of field", _each(comparison, margin_by_area)),
    ]
    return lines


def _units(comparison: Comparison) -> UnitSystem:
    """Say how the report speaks: as the first plan that is laid."""
    return comparison.laid[0].plan.units


def _each(comparison: Comparison, words: Callable[[Side], str]) -> list[str]:
    """Say something of each plan that is laid."""
    return ["" if side.layout is None else words(side) for side in comparison.sides]


def set_words(side: Side) -> str:
    """Say how wide the set is, strip by strip."""
    assert side.layout is not None  # noqa: S101 - asked only of what is laid
    units, section = side.layout.plan.units, side.layout.section
    widths = [format_length(strip.width_m, units) for strip in section.strips]
    if len(widths) > 1 and len(set(widths)) == 1:
        return f"{len(widths)} strips of {widths[0]}"
    return " + ".join(widths) if len(widths) < BESIDE else f"{len(widths)} strips"


def _told(side: Side, units: UnitSystem) -> ToldAreas:
    """Say where the ground goes as it is written, so that it adds up to the field."""
    assert side.layout is not None  # noqa: S101 - asked only of what is laid
    return told_areas(side.layout.plan, side.land, units)


def crop_words(side: Side, crop: str, units: UnitSystem) -> str:
    """Say how much land a crop's strips take."""
    told_m2 = crop_told_m2(side, crop, units)
    return "-" if told_m2 is None else format_area(told_m2, units)


def crop_told_m2(side: Side, crop: str, units: UnitSystem) -> float | None:
    """Give the land of a crop's strips as it is written; None where it has none.

    A crop without strips of its own has those that it shares, in a mixture or between rows.
    """
    counted = side.land["crops"].get(crop)
    if counted is None:
        return None
    return _told(side, units).crops_m2.get(crop, float(counted["area_m2"]))


def shares_strips(side: Side, crop: str, units: UnitSystem) -> bool:
    """Tell whether a crop has no strips of its own, and grows in those of another or a mixture."""
    return crop in side.land["crops"] and crop not in _told(side, units).crops_m2


def headland_words(side: Side, units: UnitSystem) -> str:
    """Say how much land the headland takes, and what it is planted to."""
    area_m2 = _told(side, units).land_m2["headland"]
    if not area_m2:
        return "-"
    planted = " ".join(side.land["headland_crop"])
    return f"{format_area(area_m2, units)} {planted or 'bare'}"


def bare_words(side: Side, units: UnitSystem) -> str:
    """Say how much of the field is neither strips nor headland."""
    land_m2 = _told(side, units).land_m2
    return format_area(land_m2["obstacles"] + land_m2["leftover"], units)


def seed_words_of(side: Side, crop: str) -> str:
    """Say what seed of a crop to buy."""
    seed = side.land["seed_to_buy"].get(crop)
    if seed is None or side.layout is None:
        return "-"
    return buy_words(side.layout.plan, crop, seed)


def verdict_words(side: Side) -> str:
    """Say how many operations can be done, at a cost, or not."""
    return ", ".join(str(side.verdicts[answer]) for answer in ANSWERS)


def or_dash(value: float | None) -> str:
    """Write money, or a dash where it is not known."""
    return "-" if value is None else money(value)


def margin_words(side: Side) -> str:
    """Say what a plan leaves, or what is asked for to know it."""
    if side.margin is None:
        return f"asks for {asked_words(side.asked)}"
    return money(side.margin.central)


def spread_words(side: Side) -> str:
    """Say between what that lies, by what rows at edges are known to yield."""
    if side.margin is None:
        return ""
    least, most = money(side.margin.low), money(side.margin.high)
    return "-" if least == most else f"{least} to {most}"


def margin_by_area(side: Side) -> str:
    """Say the same by area of the field."""
    if side.margin is None or side.layout is None:
        return ""
    area_m2, _ = area_of(side.layout.plan.units)
    return money_range(side.margin, area_m2 / side.accounts["field"]["area_m2"])


def asked_words(asked: Sequence[str]) -> str:
    """Say in short which keys are missing, each with its crops.

    >>> asked_words(["crops.corn.yield: is missing", "crops.corn.price: is missing"])
    'yield, price of corn'
    """
    keys: dict[str, list[str]] = {}
    others = []
    for fault in asked:
        crop_key = re.match(r"crops\.(\w+)\.(\w+):", fault)
        if crop_key is None:
            others.append(fault.split(":")[0])
        else:
            keys.setdefault(crop_key[1], []).append(crop_key[2])
    alike: dict[str, list[str]] = {}
    for crop, wanted in keys.items():
        alike.setdefault(", ".join(wanted), []).append(crop)
    return "; ".join([*(f"{what} of {', '.join(crops)}" for what, crops in alike.items()),
                      *dict.fromkeys(others)])  # fmt: skip


def compare_report(comparison: Comparison) -> list[str]:
    """Say plans side by side; up to `BESIDE` of them in at most `COMPARE_LINES` lines."""
    count = len(comparison.sides)
    head = f"{count} plans side by side"
    if comparison.one_field:
        area_m2 = comparison.laid[0].accounts["field"]["area_m2"]
        head += f", one field of {format_area(area_m2, _units(comparison))}"
    first = [] if comparison.one_field else wrap(f"mind: {comparison.told[0]}", WIDE)
    told = comparison.told[len(first) > 0 :]
    notes = [line for one in told for line in wrap(f"mind: {one}", WIDE, subsequent_indent="  ")]
    room = COMPARE_LINES - len(first) - 1
    blocks = _blocks(comparison, None)
    most = max(len(comparison.crops), len(comparison.seeds))
    if _over(blocks, notes, room):
        notes = ["more crops stand in --json", *notes]
        while most > 1 and _over(blocks, notes, room):
            most -= 1
            blocks = _blocks(comparison, most)
    left = max(room - max(map(len, blocks)), 1)
    if len(notes) > left:
        notes = [*notes[: left - 1], "more is told in --json"]
    lines = [line for block in blocks for line in block]
    return [*first, head, *lines, *notes]


def _over(blocks: Sequence[Sequence[str]], notes: Sequence[str], room: int) -> bool:
    """Tell whether a table and the lines kept for what is told below it have no room."""
    return max(map(len, blocks)) + min(len(notes), NOTE_LINES) > room


def _blocks(comparison: Comparison, crops: int | None) -> list[list[str]]:
    """Write the table, `BESIDE` plans beside each other, block below block."""
    lines, sides = figure_lines(comparison, crops), comparison.sides
    blocks = []
    for begin in range(0, len(sides), BESIDE):
        own = sides[begin : begin + BESIDE]
        wide = (WIDE - HEAD) // len(own) - GAP
        broken = partial(wrap, width=wide)
        figures = [[texts[begin + place] for _, texts in lines] for place in range(len(own))]
        labels = [_label_lines(side.label, wide) for side in own]
        columns = [column_words(*one, broken) for one in zip(own, figures, strict=True)]
        rows = [("", each) for each in zip_longest(*labels, fillvalue="")]
        names = [name for name, _ in lines]
        body = list(zip_longest(*columns, fillvalue=""))
        rows += zip([*names, *[""] * (len(body) - len(names))], body, strict=True)
        blocks.append([_row(name, each, wide) for name, each in rows])
    return blocks


def _row(name: str, texts: Iterable[str], wide: int) -> str:
    """Write a row of the table."""
    cells = (f"{' ' * GAP}{text:<{wide}}" for text in texts)
    return f"{shorten_to(name, HEAD):<{HEAD}}{''.join(cells)}".rstrip()


def _label_lines(label: str, wide: int) -> list[str]:
    """Break a label into few lines of its column."""
    lines = wrap(label, wide)
    if len(lines) > LABEL_LINES:
        lines = [*lines[: LABEL_LINES - 1],
                 shorten_to(" ".join(lines[LABEL_LINES - 1 :]), wide)]  # fmt: skip
    return lines


def shorten_to(text: str, wide: int) -> str:
    """Cut a text that is too long, and show that it is cut."""
    return text if len(text) <= wide else f"{text[: wide - 3]}..."


def column_words(side: Side, texts: Sequence[str], broken: Callable[[str], list[str]]) -> list[str]:
    """Give the column of a plan, line by line.

    One that can't be laid has the reason down its column, and what a margin asks for goes on below
    it; what has no room is cut.

    Args:
        side: the plan.
        texts: its figures.
        broken: breaks a text into the lines of a column.
    """
    if side.layout is None:
        lines = broken(f"not laid: {reason_words(side)}")
        if len(lines) > len(texts):
            lines = [*lines[: len(texts) - 1], "... (see --json)"]
        return [*lines, *[""] * (len(texts) - len(lines))]
    lines = [(broken(text) or [""])[0] for text in texts]
    if side.margin is not None:
        return lines
    asked = broken(texts[-MARGIN_LINES])
    if len(asked) > ASKED_LINES:
        asked = [*asked[: ASKED_LINES - 1], "... (see --json)"]
    return [*lines[:-MARGIN_LINES], *asked, *[""] * (MARGIN_LINES - len(asked))]


MARGIN_LINES = 3
"""Lines that tell of margins, at the end of a column."""
ASKED_LINES = 4
"""Lines in their place, at most, where a plan asks for what is missing."""


def reason_words(side: Side) -> str:
    """Say in one line why a plan can't be laid."""
    first, *rest = (line.strip() for line in side.reason.splitlines())
    return " ".join([first, "; ".join(rest)]).strip()


def compare_data(comparison: Comparison) -> dict[str, Any]:
    """Give plans side by side as JSON holds them; areas in m2, money of the whole field."""
    return {
        "one_field": comparison.one_field,
        "told": comparison.told,
        "plans": [_side_data(side) for side in comparison.sides],
    }


def _side_data(side: Side) -> dict[str, Any]:
    """Give one plan; of one that can't be laid, only why."""
    named = {"label": side.label, "file": side.file, "laid": side.layout is not None,
             "reason": side.reason}  # fmt: skip
    if side.layout is None:
        return named
    accounts, section = side.accounts, side.layout.section
    return named | {
        "mark": accounts["field"]["mark"],
        "field_area_m2": accounts["field"]["area_m2"],
        "heading_deg": accounts["field"]["heading_deg"],
        "strips": [{"crop": one.crop, "width_m": one.width_m} for one in section.strips],
        "areas_m2": accounts["areas_m2"],
        "crops": accounts["crops"],
        "headland_crop": accounts["headland_crop"],
        "seed_to_buy": accounts["seed_to_buy"],
        "passes": side.passes,
        "hours": side.hours,
        "verdicts": side.verdicts,
        "operations": [
            {key: one[key] for key in ("name", "day", "verdict", "reason", "passes", "hours")}
            for one in side.operations
        ],
        "cost": side.cost,
        "margin": None if side.margin is None else asdict(side.margin),
        "asked": list(side.asked),
        "not_counted": list(side.uncounted),
    }


def shown_reasons(side: Side, wide: int = 220) -> list[str]:
    """Say which operations can't be done, or only at a cost, and why, the worst first."""
    told = [one for answer in ("no", "at a cost") for one in side.operations
            if one["verdict"] == answer]  # fmt: skip
    return [
        shorten(f"{one['name']}, {one['verdict']}: "
                f"{one['reason'].removeprefix(one['name'] + ': ')}", wide, placeholder=" ...")
        for one in told
    ]  # fmt: skip
