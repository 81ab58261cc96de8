"""Say a layout's figures beside those of the saved plan, and what they differ by."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Generic, TypeVar

import numpy as np

from striplay.accounts.told import told_areas
from striplay.choosing.compare import Side
from striplay.choosing.compare_report import (
    asked_words,
    bare_words,
    crop_told_m2,
    crop_words,
    headland_words,
    or_dash,
    seed_words_of,
    set_words,
    shares_strips,
)
from striplay.economics.edges import Estimate
from striplay.notices import few
from striplay.operations.uncounted import not_counted
from striplay.pay_report import money, money_range
from striplay.plan.models import Plan
from striplay.search.cost import PARTS
from striplay.units import UnitSystem, format_area, format_length, said, to_digits

SAME = "the same"
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class Driven:
    """What comes of driving a layout, as far as it is told.

    Attributes:
        passes: of all operations.
        hours: that they take.
        verdicts: how many can be done, at a cost, or not.
        margin: what the plan leaves; None where not known.
        asked: what is missing to know it, by key.
        uncounted: what of the season is in neither, as it is told.
        operations: each with its verdict, as it is sent.
        notices: what the user should know, likewise.
    """

    passes: int
    hours: float
    verdicts: Mapping[str, int]
    margin: Estimate | None
    asked: tuple[str, ...]
    uncounted: str
    operations: tuple[Mapping[str, Any], ...]
    notices: tuple[Mapping[str, Any], ...]


Of = TypeVar("Of")


def _nothing(_: object) -> str:
    return ""


@dataclass(frozen=True)
class Measure(Generic[Of]):
    """What is told of a layout, or of what comes of driving it.

    Attributes:
        label: what it is called.
        words: says it.
        value: gives it as a number, to say by how much two differ; None where it has none.
        more: writes a difference, without its sign.
        uncounted: what it leaves out that belongs to it, as it is told; two that leave out
            different things are not held against each other.
    """

    label: str
    words: Callable[[Of], str]
    value: Callable[[Of], float | None] = lambda _: None
    more: Callable[[float], str] = str
    uncounted: Callable[[Of], str] = _nothing

    def beside(self, now: Of, saved: Of | None, without: str) -> dict[str, str]:
        """Say it of a layout and of the saved plan's, with what they differ by.

        Args:
            now: the layout.
            saved: the saved plan's; None where there is none.
            without: what is said where there is none.
        """
        text = self._whole(now)
        if saved is None:
            return {"label": self.label, "text": text, "saved_text": without, "change_text": ""}
        there = self._whole(saved)
        return {
            "label": self.label,
            "text": text,
            "saved_text": there,
            "change_text": SAME if text == there else self._change(now, saved),
        }

    def _whole(self, one: Of) -> str:
        """Say it, with what it leaves out."""
        left_out = self.uncounted(one)
        return f"{self.words(one)}, {left_out}" if left_out else self.words(one)

    def _change(self, now: Of, saved: Of) -> str:
        if self.uncounted(now) != self.uncounted(saved):
            return "-"
        here, there = self.value(now), self.value(saved)
        if here is None or there is None:
            return "changed"
        off = self.more(abs(here - there))
        return f"{'+' if here > there else MINUS}{off}"


def land_measures(units: UnitSystem) -> Iterator["Measure[Side]"]:
    """Give what is told of a layout's land as a whole."""
    area = partial(format_area, units=units)
    yield Measure("set, across", set_words)
    yield Measure("field", lambda side: area(_field_m2(side)), _field_m2, area)
    for name in ("strips", "headland", "obstacles", "leftover"):
        value = partial(_land_m2, name=name, units=units)
        words = partial(headland_words, units=units) if name == "headland" else (
            partial(_area_words, value=value, units=units))  # fmt: skip
        yield Measure(name, words, value, area)
    yield Measure(
        "not cropped",
        partial(bare_words, units=units),
        lambda side: _land_m2(side, "obstacles", units) + _land_m2(side, "leftover", units),
        area,
    )
    yield Measure("strips, counted", lambda side: f"{_strips(side):,.0f}", _strips, _whole)


def crop_measures(crop: str, units: UnitSystem) -> Iterator["Measure[Side]"]:
    """Give what is told of a crop: its strips, its land, its seed to buy."""
    yield Measure(
        "area",
        partial(_crop_area_words, crop=crop, units=units),
        lambda side: crop_told_m2(side, crop, units) or 0.0,
        partial(format_area, units=units),
    )
    yield Measure(
        "strips",
        lambda side: or_dash(_of_crop(side, crop, "strips")),
        lambda side: _of_crop(side, crop, "strips") or 0.0,
        _whole,
    )
    yield Measure(
        "length of row",
        lambda side: _length(_of_crop(side, crop, "row_length_m"), units),
        lambda side: _told_row_m(_of_crop(side, crop, "row_length_m"), units),
        partial(_more_row, units=units),
    )
    yield Measure(
        "seed to buy",
        partial(seed_words_of, crop=crop),
        lambda side: side.land["seed_to_buy"].get(crop, {"seed_units": 0})["seed_units"],
        lambda count: f"{count:,.0f} {'unit' if count == 1 else 'units'}",
    )


def cost_measures(now: Side, saved: Side | None) -> Iterator["Measure[Side]"]:
    """Give the cost of a layout a year, and its parts that are not nothing, now or as saved."""
    parts = None if now.layout is None else now.layout.laid.parts
    if parts is None:
        return
    yield Measure(
        "cost a year", lambda side: or_dash(side.cost), lambda side: _whole_money(side.cost), money,
        _cost_uncounted,
    )  # fmt: skip
    for name in PARTS:
        value = partial(_cost_part, name=name)
        if round(parts[name]) or (saved is not None and round(value(saved) or 0.0)):
            yield Measure(
                name, partial(_money_words, value=value), partial(_rounded, value=value), money,
                _cost_uncounted if name in DRIVEN_PARTS else _nothing,
            )  # fmt: skip


DRIVEN_PARTS = ("partial-width passes", "overlap at point rows", "turns")
"""Parts of the cost that add machines' passes up, harvests among them."""


def money_words(plan: Plan) -> str:
    """Say what money is told in, and which prices are not the plan's."""
    stated = plan.cost.model_fields_set
    own = [
        words
        for words, key in (
            ("land", "land_per_m2"), ("seed", "seed_per_m2"), ("product sprayed", "spray_per_m2"),
        )
        if key not in stated
    ]  # fmt: skip
    own += [name for name, one in plan.machines.items() if "cost_per_s" not in one.model_fields_set]
    told = "In the currency of the plan's prices."
    return f"{told} Not priced in the plan, so usual figures stand: {few(own)}." if own else told


def driven_measures() -> Iterator["Measure[Driven]"]:
    """Give what needs the order of driving: passes, hours, verdicts, and what a plan leaves."""
    yield Measure(
        "passes", lambda one: f"{one.passes:,}", lambda one: one.passes, _whole,
        lambda one: one.uncounted,
    )  # fmt: skip
    yield Measure(
        "hours", lambda one: f"{one.hours:,.1f}", lambda one: round(one.hours, 1),
        lambda h: f"{h:,.1f}", lambda one: one.uncounted,
    )  # fmt: skip
    yield Measure("operations", _verdict_words, uncounted=lambda one: one.uncounted)
    yield Measure(
        "margin",
        _margin_words,
        lambda one: _whole_money(None if one.margin is None else one.margin.central),
        money,
    )


def told(
    measures: "Iterator[Measure[Of]]", now: Of, saved: Of | None, without: str = ""
) -> list[dict[str, str]]:
    """Say measures of a layout beside the saved plan's; arguments as in `Measure.beside`."""
    return [one.beside(now, saved, without) for one in measures]


def crops_told(crops: Sequence[str], now: Side, saved: Side | None) -> list[dict[str, Any]]:
    """Say each crop's figures likewise."""
    assert now.layout is not None  # noqa: S101 - asked only of what is laid
    units = now.layout.plan.units
    grown = {*now.land["crops"], *({} if saved is None else saved.land["crops"])}
    return [
        {"crop": place, "facts": told(crop_measures(crop, units), now, saved)}
        for place, crop in enumerate(crops)
        if crop in grown
    ]


def _verdict_words(driven: Driven) -> str:
    """Say how many operations can be done."""
    return ", ".join(f"{count} {answer}" for answer, count in driven.verdicts.items() if count)


def _margin_words(driven: Driven) -> str:
    """Say what a plan leaves, or what is asked for to know it."""
    if driven.margin is None:
        return f"asks for {asked_words(driven.asked)}"
    return money_range(driven.margin)


def _whole(count: float) -> str:
    return f"{count:,.0f}"


LONG: Mapping[UnitSystem, tuple[float, str]] = {"us": (1609.344, "mi"), "metric": (1000.0, "km")}
"""What rows added up are told in."""


def _cost_uncounted(side: Side) -> str:
    return not_counted(side.cost_uncounted)


def _crop_area_words(side: Side, crop: str, units: UnitSystem) -> str:
    """Say how much land a crop's strips take, and whether it shares them."""
    words = crop_words(side, crop, units)
    return f"{words}, shared" if shares_strips(side, crop, units) else words


def _told_row_m(meters: float | None, units: UnitSystem) -> float:
    """Give a length of rows as `_length` writes it: a difference is that of what is seen."""
    unit_m, _ = LONG[units]
    return to_digits((meters or 0.0) / unit_m, 3) * unit_m


def _more_row(meters: float, units: UnitSystem) -> str:
    """Write how much more or less row there is, to a tenth of what rows are told in."""
    unit_m, unit = LONG[units]
    return f"{max(meters / unit_m, 0.1):,.1f} {unit}"


def _length(meters: float | None, units: UnitSystem) -> str:
    """Write a length of rows, in miles or kilometers, as it is said; a dash where none is counted.

    What is drilled after a harvest has a width and a rate, and no rows.
    """
    if not meters:
        return "-"
    unit_m, unit = LONG[units]
    return f"{said(meters / unit_m)} {unit}" if meters >= unit_m else format_length(meters, units)


def _field_m2(side: Side) -> float:
    return float(side.land["field"]["area_m2"])


def _land_m2(side: Side, name: str, units: UnitSystem) -> float:
    assert side.layout is not None  # noqa: S101 - asked only of what is laid
    return told_areas(side.layout.plan, side.land, units).land_m2[name]


def _area_words(side: Side, value: Callable[[Side], float], units: UnitSystem) -> str:
    return format_area(value(side), units)


def _strips(side: Side) -> float:
    assert side.layout is not None  # noqa: S101 - asked only of what is laid
    return float(sum(len(np.unique(block.strip_number)) for block in side.layout.laid.blocks))


def _of_crop(side: Side, crop: str, key: str) -> float | None:
    found = side.land["crops"].get(crop)
    return None if found is None else found[key]


def _cost_part(side: Side, name: str) -> float | None:
    parts = None if side.layout is None else side.layout.laid.parts
    return None if parts is None else parts[name]


def _whole_money(value: float | None) -> float | None:
    """Give money as it is written, so that a difference is that of what is seen."""
    return None if value is None else round(value)


def _rounded(side: Side, value: Callable[[Side], float | None]) -> float | None:
    return _whole_money(value(side))


def _money_words(side: Side, value: Callable[[Side], float | None]) -> str:
    return or_dash(value(side))
