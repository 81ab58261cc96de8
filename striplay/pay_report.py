"""Say whether strips pay, in a short report that a person reads, or as data."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from textwrap import wrap
from typing import Any

from striplay.economics.chances import Against, Needed
from striplay.economics.edges import Estimate
from striplay.economics.pay import CropPay, Pay
from striplay.economics.system import headland_loss
from striplay.economics.widths import Widths
from striplay.economics.worth import Worth, shown_price, shown_yield
from striplay.plan.machines import Harvester
from striplay.plan.models import Plan
from striplay.section.mixture import mixtures_of
from striplay.units import ACRE_M2, HECTARE_M2, UnitSystem, format_length, percent, said

PAY_LINES = 25
"""Lines of the report at most: what is read at a glance."""
TIMES_SHOWN = 3
"""Widths told of, each with the gains at which it is best."""
PAIRS_SHOWN = 4
BARS_SHOWN = 2
LEAST_LINES = 8
"""So many lines are kept of the answer itself, whatever there is to tell of it."""
WIDE = 110
"""Letters to a line."""


def area_of(units: UnitSystem) -> tuple[float, str]:
    """Give the unit of area that money is told by, and its name."""
    return (ACRE_M2, "ac") if units == "us" else (HECTARE_M2, "ha")


def money(value: float) -> str:
    """Write money in whole units of its currency, with its sign where it is below 0.

    >>> money(1234.5), money(-0.4)
    ('1,234', '0')
    """
    text = f"{value:,.0f}"
    return "0" if text == "-0" else text


def money_range(values: Estimate, factor: float = 1.0) -> str:
    """Write money as its middle, with its least and most where they differ.

    >>> money_range(Estimate(1.0, 2.0, 4.0)), money_range(Estimate(2.0, 2.0, 2.0))
    ('2 (1 to 4)', '2')
    """
    low, central, high = (money(one * factor) for one in (values.low, values.central, values.high))
    return central if low == high else f"{central} ({low} to {high})"


def percent_range(values: Estimate) -> str:
    """Write a share likewise, with its least and most where they differ."""
    low, central, high = map(percent, (values.low, values.central, values.high))
    return central if low == high else f"{central} ({low} to {high})"


def ratio_range(values: Estimate) -> str:
    """Write a ratio to two digits, with its least and most where they differ."""
    low, central, high = (f"{one:.2f}" for one in (values.low, values.central, values.high))
    return central if low == high else f"{central} ({low} to {high})"


def pay_report(pay: Pay) -> list[str]:
    """Say what strips leave, beside what else the field could, in at most `PAY_LINES` lines."""
    plan = pay.plan
    area_m2, area = area_of(plan.units)
    per = area_m2 / pay.system.area_m2
    leave = f"{money_range(pay.margin, per)} per {area} cropped, {money_range(pay.margin)} in all"
    equal = f"land equivalent ratio {ratio_range(pay.land_equivalent)}"
    beside = (
        f"monetary equivalent ratio {ratio_range(pay.monetary_equivalent)}: sales against "
        f"{pay.best_alone} alone, costs left out"
    )
    lines = [
        f"{plan.title}: strips leave {leave}, before land and overheads",
        *_crop_lines(plan, pay.crops),
        f"{equal}; {beside}",
        f"what strips leave more, per {area} cropped (least to most by their edges{_varied(pay)}):",
        *(_against_line(one, per) for one in pay.against),
        *(f"  {words}" for words in free_words(pay)),
    ]
    if pay.two_seasons is not None:
        lines.append(f"two seasons, crops swapped: {money_range(pay.two_seasons, per)} per {area}")
    lines += [line for line in (_ratio_line(pay), *needed_lines(pay)) if line]
    lines += width_lines(pay.widths, plan.units)
    rest = [f"would change it most: {_bar_words(pay, per)}"] if pay.bars else []
    shown, basis = _wrapped(lines), _wrapped([*rest, *basis_lines(pay)])
    if len(shown) + len(basis) > PAY_LINES:
        kept = max(PAY_LINES - len(basis) - 1, LEAST_LINES)
        shown = [*shown[:kept], "more of this stands in --json"]
    return [*shown, *basis][:PAY_LINES]


def _wrapped(lines: Iterable[str]) -> list[str]:
    """Break lines to what a terminal shows."""
    return [part for line in lines for part in wrap(line, WIDE, subsequent_indent="  ")]


def _crop_lines(plan: Plan, crops: Sequence[CropPay]) -> list[str]:
    """Give a line to each crop: yield in strips beside alone."""
    return [f"  {one.crop}: {yield_words(plan, one)}" for one in crops]


def yield_words(plan: Plan, one: CropPay) -> str:
    """Say what a crop yields in strips, and alone, each with its range as far as one is known."""
    values = [shown_yield(each, one.unit, plan.units) for each in
              (one.yield_per_m2.low, one.yield_per_m2.central, one.yield_per_m2.high)]  # fmt: skip
    unit = values[0][1]
    low, central, high = (said(value) for value, _ in values)
    spread = "" if low == high else f" ({low} to {high} by its edges)"
    return f"{central}{spread} {unit} in strips, {alone_words(plan, one)} alone"


def alone_words(plan: Plan, one: CropPay) -> str:
    """Say what a crop yields alone, with the range that the plan states."""
    stated, *ends = (
        said(shown_yield(each, one.unit, plan.units)[0])
        for each in (one.alone_per_m2, *(one.alone_ends_per_m2 or ()))
    )
    return f"{stated} ({' to '.join(ends)})" if ends else stated


def _against_line(one: Against, per: float) -> str:
    """Say what strips leave more than another way, and how likely that is below nothing."""
    words = chance_words(one.chance_of_loss)
    chance = f"; chance of less {words}" if words else ""
    whole = f", {money(one.net.central)} on the whole field"
    return f"  than {one.other:<16} {money_range(one.net, per)}{whole}{chance}"


def chance_words(chance: float | None) -> str:
    """Say a chance in whole percent, and never that a season can't turn out otherwise.

    >>> chance_words(0.744), chance_words(1.0), chance_words(0.001), chance_words(None)
    ('74 %', 'over 99 %', 'under 1 %', '')
    """
    if chance is None:
        return ""
    if chance > 1.0 - HUNDREDTH:
        return "over 99 %"
    return "under 1 %" if chance < HUNDREDTH else f"{100 * chance:.0f} %"


HUNDREDTH = 0.01


def _varied(pay: Pay) -> str:
    """Say that chances are of edges alone, where prices, yields and costs have no range."""
    drawn = any(one.chance_of_loss is not None for one in pay.against)
    return "; chances by these alone" if drawn and len(_unranged(pay)) == RANGES else ""


RANGES = 3
"""Ranges that a plan may state: of prices, of yields, of costs."""


def _unranged(pay: Pay) -> list[str]:
    """Name the ranges that the plan does not state."""
    economics = pay.plan.economics
    ranges = {
        "price_range": economics.price_range,
        "yield_range": economics.yield_range,
        "cost_range": economics.cost_range,
    }
    return [name for name, value in ranges.items() if value is None]


def free_words(pay: Pay) -> list[str]:
    """Say which costs of crops are not in the sum; crops alone are then held against too little."""
    left_out = []
    for key, what in (("seed_price", "seed"), ("other_costs_per_m2", "other costs")):
        free = [crop for crop in pay.worths if getattr(pay.plan.crops[crop], key) is None]
        if free:
            left_out.append(f"{what} of {', '.join(free)}")
    if not left_out:
        return []
    told = f"not counted, for the plan does not say: {'; '.join(left_out)}"
    return [f"{told}. Against a crop alone that may turn the answer round"]


def _ratio_line(pay: Pay) -> str:
    """Say the price ratio at which gain and loss weigh even."""
    ratio = pay.price_ratio
    if ratio is None:
        return ""
    return (
        f"break-even price: {ratio.loses} at {ratio.ratio:.2f} times the price of {ratio.gains}, "
        f"before costs; now {ratio.now:.2f}"
    )


def needed_lines(pay: Pay) -> list[str]:
    """Say which gain of outer rows makes strips leave as much as blocks."""
    return [
        f"break-even edge: outer rows of {one.crop} beside {one.beside} {needed_words(one)}; taken "
        f"{percent_range(one.taken)}"
        for one in pay.needed[:PAIRS_SHOWN]
    ]


def needed_words(one: Needed) -> str:
    """Say the gain that is needed, if any that can be is."""
    return "any, even without yield" if one.gain <= -1.0 else percent(one.gain)


def width_lines(widths: Widths | None, units: UnitSystem) -> list[str]:
    """Say which width pays best, and between which gains of edges that holds."""
    if widths is None:
        return []
    if not widths.gains:
        best = format_length(widths.best.width_m, units)
        return [f"width: nothing is known of these edges; {best} costs least to work"]
    of = "what edges are taken to" if widths.now else "the middle of what trials found"
    best, stays = format_length(widths.best.width_m, units), widths.stays()
    if len(stays) == 1:
        return [f"width that pays best: {best}, whatever edges gain"]
    each = []
    for one in stays[:TIMES_SHOWN]:
        end = "up" if math.isinf(one.high) else f"to {one.high:.2f}"
        each.append(f"{format_length(one.best.width_m, units)} from {one.low:.2f} {end}")
    line = f"width that pays best: {best} as reckoned; by the gain of edges, in times {of}: "
    return [line + ", ".join(each)]


def _bar_words(pay: Pay, per: float) -> str:
    """Name the figures that move strips against blocks most."""
    words = []
    for bar in pay.bars[:BARS_SHOWN]:
        ends = f"{money(bar.at_low * per)} to {money(bar.at_high * per)}"
        words.append(f"{bar.name} {bar.low} to {bar.high}: {ends}")
    return "; ".join(words)


def measured_words(pay: Pay) -> list[str]:
    """Say what is the user's own."""
    own = [f"{one.crop} beside {one.beside}{f' ({one.source})' if one.source else ''}"
           for one in pay.plan.edges]  # fmt: skip
    edges = f"; edges of {', '.join(own)}" if own else ""
    return [f"areas, rows and passes as laid; yields, prices and costs of the plan{edges}"]


def unsure_words(pay: Pay) -> list[str]:
    """Say which pairs' edges nothing is known of, and what published trials say of the rest."""
    found: list[str] = []
    pairs = dict.fromkeys(pair for part in pay.system.crops.values() for pair in part.edges)
    lands = {pair: part.edges[pair] for part in pay.system.crops.values() for pair in part.edges}
    unknown = [f"{crop} beside {beside}" for crop, beside in pairs
               if not lands[crop, beside].sources]  # fmt: skip
    if unknown:
        found.append(
            f"no trial at hand fits the edges of {', '.join(unknown)}: no gain is taken; measure "
            "yours and give it under [[edges]]"
        )
    change = pay.needed_together
    if change is not None:
        word = "less" if change < 0 else "more"
        found.append(
            f"what {' and '.join(pay.together)} yield on one ground is the plan's word, without a "
            f"range: strips leave as much as blocks where each yields {100 * abs(change):.0f} % "
            f"{word}"
        )
    told = dict.fromkeys(
        source for land in lands.values() if not land.measured for source in land.sources
    )
    if told:
        taken = "taken" if pay.edges.taken else "only the range, no gain is taken"
        found.append(f"published of edges ({taken}): {', '.join(told)}")
    return found


def assumed_words(pay: Pay) -> list[str]:
    """Say what is taken for granted, and what is asked for."""
    plan, economics = pay.plan, pay.plan.economics
    found = [
        "rows beside a headland, a boundary or no crop yield as those inside",
        "crops yield alone as stated, whatever grew there before",
    ]
    if plan.headland_crop is not None and not headland_loss(plan):
        found.append(
            "the headland, packed by turning, loses no yield: [cost] headland_loss states a loss"
        )
    mixed = list(mixtures_of(plan).values())
    left_out = _unranged(pay)
    if left_out:
        found.append(f"as stated, without a range: give [economics] {', '.join(left_out)}")
    undried = [crop for crop in pay.worths if plan.crops[crop].drying is None]
    if undried:
        found.append(f"no drying of {', '.join(undried)}")
    reaped = [crop for crop in pay.worths if plan.crops[crop].harvester is None]
    unnamed = [crop for crop in reaped if all(crop not in parts for parts in mixed)]
    if unnamed:
        found.append(f"no harvester of {', '.join(unnamed)}, so no cost of its harvest")
    if economics.fuel_price_per_m3 is None:
        found.append("fuel is in machines' cost by the hour (300 to plant or spray, 400 to harvest "
                     "where the plan says nothing: from memory)")  # fmt: skip
    if any(isinstance(m, Harvester) and m.cart is not None for m in plan.machines.values()):
        found.append(
            "carts run beside combines on whole fields everywhere, in strips where they can, "
            "at no cost"
        )
    if economics.rotation is None:
        found.append("rotation by the strips' shares of land")
    return found


def basis_lines(pay: Pay) -> list[str]:
    """Say what is measured, what is unsure and what is assumed, a line each."""
    return [
        f"yours: {'; '.join(measured_words(pay))}",
        *unsure_words(pay),
        f"assumed: {'; '.join(assumed_words(pay))}",
    ]


def pay_data(pay: Pay) -> dict[str, Any]:
    """Give all of the answer as JSON holds it; money of the whole field, areas in m2."""
    widths = pay.widths
    return {
        "margin": asdict(pay.margin),
        "area_m2": pay.system.area_m2,
        "land_equivalent_ratio": asdict(pay.land_equivalent),
        "monetary_equivalent_ratio": asdict(pay.monetary_equivalent),
        "crops": [_crop_data(pay.worths[one.crop], one) for one in pay.crops],
        "against": [asdict(one) | {"net_budget": one.budget.net} for one in pay.against],
        "two_seasons": None if pay.two_seasons is None else asdict(pay.two_seasons),
        "price_ratio": None if pay.price_ratio is None else asdict(pay.price_ratio),
        "needed_edge_gains": [asdict(one) for one in pay.needed],
        "tornado": [asdict(one) for one in pay.bars],
        "strips": [asdict(one) for one in pay.strips],
        "widths": None if widths is None else _widths_data(widths),
        "edges": [_edge_data(crop, pair, land) for crop, part in pay.system.crops.items()
                  for pair, land in part.edges.items()],
        "studies": [asdict(one) for one in pay.studies],
        "needed_together": pay.needed_together,
        "not_counted": free_words(pay),
        "notices": [one.data for one in pay.notices],
        "measured": measured_words(pay),
        "unsure": unsure_words(pay),
        "assumed": assumed_words(pay),
    }  # fmt: skip


def _crop_data(worth: Worth, one: CropPay) -> dict[str, Any]:
    return asdict(one) | {"price": worth.price, "drying": worth.drying}


def _edge_data(crop: str, pair: tuple[str, str], land: Any) -> dict[str, Any]:  # noqa: ANN401
    return {"crop": crop, "row_of": pair[0], "beside": pair[1], **asdict(land)}


def _widths_data(widths: Widths) -> dict[str, Any]:
    each = [asdict(one) for one in widths.each]
    stays = [
        {"widths_m": one.best.widths_m, "from_times": one.low,
         "to_times": None if math.isinf(one.high) else one.high}
        for one in widths.stays()
    ]  # fmt: skip
    return {"each": each, "edges_known": widths.gains, "times_taken": widths.now,
            "best_by_edge_gain": stays, "machines_m": dict(widths.machines_m)}  # fmt: skip


def trial_report(found: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say the indices of trials, two lines each."""
    lines = []
    for one in found:
        parts = ", ".join(f"{crop} {part:.3f}" for crop, part in one["land_equivalents"].items())
        more = one["monetary_equivalent_ratio"]
        value = ""
        if more is not None:
            word = "more" if more > 1 else "less" if more < 1 else "as much"
            value = f"; monetary equivalent ratio {more:.3f}: {word} than {one['best_alone']} alone"
        ratio = one["land_equivalent_ratio"]
        lines.append(f"{one['trial']}: land equivalent ratio {ratio:.3f} ({parts}){value}")
        rest = _rest(one)
        if rest:
            lines.append(f"  {rest}")
    return lines


def _rest(one: Mapping[str, Any]) -> str:
    """Say the indices besides land and value."""
    said_of = []
    if one["area_time_equivalent_ratio"] is not None:
        said_of.append(f"area time equivalent ratio {one['area_time_equivalent_ratio']:.3f}")
    for name, key in (
        ("competitive ratio", "competitive_ratios"),
        ("aggressivity", "aggressivity"),
    ):
        if one[key]:
            each = ", ".join(
                f"{crop} {'without end' if value is None else f'{value:.2f}'}"
                for crop, value in one[key].items()
            )
            said_of.append(f"{name} {each}")
    if one["net_effect_ratio"] is not None:
        said_of.append(f"net effect ratio {one['net_effect_ratio']:.3f}")
    return "; ".join(said_of)


def price_words(worth: Worth, units: UnitSystem) -> str:
    """Say what a crop is sold for, and what drying takes of it."""
    price, unit = shown_price(worth.price, worth.unit, units)
    dried = shown_price(worth.drying, worth.unit, units)[0]
    drying = f", drying {dried:.2f}" if worth.drying else ""
    return f"{price:.2f} per {unit}{drying}"


_OF_TWO = (("competitive ratio", "competitive_ratios"), ("aggressivity", "aggressivity"))
"""Indices that set one of two crops against the other."""
