"""Say how sure a difference between two ways to farm is: budgets, ranges, break-even, chances."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from striplay.economics.budget import PartialBudget, break_even_price_ratio
from striplay.economics.edges import NOTHING, Estimate
from striplay.economics.variant import (
    AS_STATED,
    CropPart,
    EdgeLand,
    Pair,
    State,
    Variant,
    edges_at,
    margin,
    units_of,
)
from striplay.economics.worth import Worth
from striplay.plan.money import Economics
from striplay.units import percent

Worths = Mapping[str, Worth]
PERCENTILES = (10, 50, 90)
COSTS = ("seed", "product", "other", "machine")
SAME_YIELD = 1e-4
"""Yields that differ by less, as a share, are the same: fields laid twice are, to rounding."""
SAME = 1e-9
"""Money that differs by less, as a share of what is earned, is the same."""


@dataclass(frozen=True, slots=True)
class Against:
    """A way to farm beside another: what it leaves more, and how sure that is.

    Attributes:
        other: the other's name.
        other_margin: what that leaves.
        net: what this leaves more, with edges at their least, middle and most.
        budget: the same as a partial budget, at the middle.
        chance_of_loss: share of seasons drawn in which this leaves less; None where nothing varies.
        tenths: what it leaves more in the season that a tenth, a half and nine tenths of those
            drawn fall short of.
    """

    other: str
    other_margin: float
    net: Estimate
    budget: PartialBudget
    chance_of_loss: float | None
    tenths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """What one figure's range does to a difference: a bar of the tornado.

    Attributes:
        name: the figure.
        low: its least, in words.
        high: its most.
        at_low: the difference there.
        at_high: likewise.
    """

    name: str
    low: str
    high: str
    at_low: float
    at_high: float

    @property
    def swing(self) -> float:
        """From the one end to the other."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, slots=True)
class Needed:
    """The gain of a crop's outer rows at which two ways to farm leave the same.

    Attributes:
        crop: the crop.
        beside: the crop beside it.
        gain: of its outer rows, as a share; the rows behind gain nothing, all else as it is.
        taken: what is reckoned with, of all rows at the edge, as if the outer gained it all.
    """

    crop: str
    beside: str
    gain: float
    taken: Estimate


def net(one: Variant, other: Variant, worths: Worths, state: State = AS_STATED) -> Any:  # noqa: ANN401
    """Give what a way to farm leaves more than another: a number, or an array of seasons."""
    return margin(one, worths, state) - margin(other, worths, state)


def compare(one: Variant, other: Variant, worths: Worths, drawn: State | None) -> Against:
    """Set a way to farm beside another.

    Args:
        one: the way that is asked about.
        other: what it is held against.
        worths: what each crop is worth.
        drawn: seasons drawn at random; None where nothing varies.
    """
    low, high = (float(net(one, other, worths, edges_at(one, at))) for at in (-1.0, 1.0))
    chance, tenths = None, ()
    if drawn is not None:
        seasons = np.asarray(net(one, other, worths, drawn), dtype=np.float64)
        if np.ptp(seasons) > SAME * max(abs(float(margin(one, worths))), 1.0):
            chance = float(np.mean(seasons < 0.0))
            tenths = tuple(np.percentile(seasons, PERCENTILES).tolist())
    return Against(
        other=other.name,
        other_margin=float(margin(other, worths)),
        net=Estimate(low, float(net(one, other, worths)), high),
        budget=partial_budget(one, other, worths),
        chance_of_loss=chance,
        tenths=tenths,
    )


def partial_budget(one: Variant, other: Variant, worths: Worths) -> PartialBudget:
    """Give what changes from another way to farm to this: returns by crop, costs by kind."""
    returns = [_value(one, worths, crop) - _value(other, worths, crop) for crop in worths]
    costs = [mine - theirs for mine, theirs in zip(_costs(one, worths), _costs(other, worths),
                                                   strict=True)]  # fmt: skip
    return PartialBudget(
        added_returns=sum(value for value in returns if value > 0),
        saved_costs=-sum(cost for cost in costs if cost < 0),
        lost_returns=-sum(value for value in returns if value < 0),
        added_costs=sum(cost for cost in costs if cost > 0),
    )


def _value(variant: Variant, worths: Worths, crop: str) -> float:
    """Give the value of a crop's grain."""
    part = variant.crops.get(crop)
    return 0.0 if part is None else float(units_of(part, worths[crop])) * worths[crop].price


def _costs(variant: Variant, worths: Worths) -> list[float]:
    """Give the costs of a variant by kind: seed, products, others, machines, fuel and drying."""
    parts = variant.crops
    kinds = [sum(getattr(part, kind) for part in parts.values()) for kind in COSTS]
    dried = sum(
        float(units_of(parts[crop], worth)) * worth.drying
        for crop, worth in worths.items()
        if crop in parts
    )
    return [*kinds, sum(part.fuel.central for part in parts.values()), dried]


def draw(economics: Economics, variants: Sequence[Variant], worths: Worths) -> State | None:
    """Draw seasons at random, each figure by itself, likelier near its middle than at its ends.

    Edges of a pair gain together; prices, yields and costs vary as far as the plan states, fuel
    burnt as published. A triangle about the middle stands for each (our choice).

    Args:
        economics: the ranges, how many seasons, and where the draws begin.
        variants: whose edges and fuel vary.
        worths: the crops.

    Returns:
        The seasons; None where nothing varies.
    """
    generator = np.random.default_rng(economics.seed)

    def one() -> Any:  # noqa: ANN401 - an array
        return generator.triangular(-1.0, 0.0, 1.0, economics.draws)

    pairs = pairs_of(variants)
    fuel = any(part.fuel.high > part.fuel.low for v in variants for part in v.crops.values())
    if not (pairs or fuel or economics.price_range or economics.yield_range
            or economics.cost_range):  # fmt: skip
        return None
    prices = economics.price_range or 0.0
    return State(
        price={crop: 1.0 + prices * one() for crop in worths},
        yields={crop: 1.0 + (economics.yield_range or 0.0) * one() for crop in worths},
        edges={pair: one() for pair in pairs},
        machine=1.0 + (economics.cost_range or 0.0) * one(),
        fuel=one(),
        fuel_price=1.0 + prices * one(),
    )


def pairs_of(variants: Sequence[Variant]) -> list[Pair]:
    """List the pairs whose edges have a range."""
    lands = [
        (pair, land)
        for variant in variants
        for part in variant.crops.values()
        for pair, land in part.edges.items()
    ]
    return list(
        dict.fromkeys(pair for pair, land in lands if land.gained_m2.high > land.gained_m2.low)
    )


def tornado(one: Variant, other: Variant, worths: Worths, economics: Economics) -> list[Bar]:
    """Move each figure alone through its range; the bars, the widest first.

    Args:
        one: the way that is asked about.
        other: what it is held against.
        worths: what each crop is worth.
        economics: the ranges.
    """
    bars = []
    for name, low, high, ends in _moves(one, worths, economics):
        at_low, at_high = (float(net(one, other, worths, state)) for state in ends)
        bars.append(Bar(name, low, high, at_low, at_high))
    least = SAME * max(abs(float(margin(one, worths))), 1.0)
    return sorted((bar for bar in bars if bar.swing > least), key=lambda bar: -bar.swing)


Move = tuple[str, str, str, tuple[State, State]]


def _moves(one: Variant, worths: Worths, economics: Economics) -> Iterator[Move]:
    """Give each figure that has a range, its ends in words, and the seasons at either end."""
    prices, yields = economics.price_range, economics.yield_range
    for crop in worths if prices else ():
        low, high = (State(price={crop: 1.0 + sign * (prices or 0.0)}) for sign in (-1, 1))
        yield f"price of {crop}", *_by(prices), (low, high)
    for crop in worths if yields else ():
        low, high = (State(yields={crop: 1.0 + sign * (yields or 0.0)}) for sign in (-1, 1))
        yield f"yield alone of {crop}", *_by(yields), (low, high)
    for crop, beside in pairs_of([one]):
        pair = (crop, beside)
        words = _gain_words([part.edges[pair] for part in one.crops.values() if pair in part.edges])
        ends = [State(edges={pair: at}) for at in (-1.0, 1.0)]
        yield f"edge of {crop} beside {beside}", *words, (ends[0], ends[1])
    if economics.cost_range:
        share = economics.cost_range
        machine = (State(machine=1.0 - share), State(machine=1.0 + share))
        yield "machines' cost", *_by(share), machine
    if economics.fuel_price_per_m3 is not None:
        burnt = (State(fuel=-1.0), State(fuel=1.0))
        yield "fuel burnt", "least published", "most published", burnt
        if economics.price_range:
            share = economics.price_range
            dear = (State(fuel_price=1.0 - share), State(fuel_price=1.0 + share))
            yield "price of fuel", *_by(share), dear


def _by(share: float | None) -> tuple[str, str]:
    """Say how far a figure is moved either way."""
    return percent(-(share or 0.0)), percent(share or 0.0)


def _gain_words(lands: Sequence[EdgeLand]) -> tuple[str, str]:
    """Say what the ends of an edge's range are, as if the outer row gained all of it."""
    outer_m2 = sum(land.outer_m2 for land in lands)
    ends = [sum(getattr(land.gained_m2, end) for land in lands) for end in ("low", "high")]
    low, high = (percent(end / outer_m2) if outer_m2 else "" for end in ends)
    return low, high


def needed_gains(one: Variant, other: Variant, worths: Worths) -> list[Needed]:
    """Give the gain of each crop's outer rows at which two ways to farm leave the same.

    Each by itself, the others' edges at their middle: net without it + gain x outer ground x
    yield x (price - drying) = 0.

    Args:
        one: the way that has edges.
        other: what it is held against.
        worths: what each crop is worth.
    """
    pairs = dict.fromkeys(pair for part in one.crops.values() for pair in part.edges)
    found = []
    for pair in pairs:
        without, worth, outer_m2, taken = one, 0.0, 0.0, NOTHING
        for crop, part in one.crops.items():
            land = part.edges.get(pair)
            if land is None or crop not in worths:
                continue
            without = _without(without, crop, pair)
            worth += land.outer_m2 * worths[crop].alone_per_m2 * worths[crop].net_price
            outer_m2, taken = outer_m2 + land.outer_m2, taken.plus(land.gained_m2)
        if worth > 0.0:
            gain = -float(net(without, other, worths)) / worth
            found.append(Needed(*pair, gain, taken.times(1.0 / outer_m2)))
    return found


def _without(variant: Variant, crop: str, pair: Pair) -> Variant:
    """Give a variant whose rows gain nothing at one kind of edge."""
    part = variant.crops[crop]
    bare = replace(part.edges[pair], gained_m2=NOTHING)
    changed: CropPart = replace(part, edges={**part.edges, pair: bare})
    return replace(variant, crops={**variant.crops, crop: changed})


@dataclass(frozen=True, slots=True)
class PriceRatio:
    """The ratio of two crops' prices at which what strips gain pays for what they lose.

    Attributes:
        gains: the crop that yields more.
        loses: the crop that yields less.
        gained: units more of the one.
        lost: units less of the other.
        ratio: price of the losing crop over that of the gaining one at which both weigh even;
            above it strips lose, before costs.
        now: the ratio of the prices stated.
    """

    gains: str
    loses: str
    gained: float
    lost: float
    ratio: float
    now: float


def price_ratio(one: Variant, other: Variant, worths: Worths) -> PriceRatio | None:
    """Give the break-even price ratio; None unless one crop gains and one loses, in one unit."""
    moved = {
        crop: float(units_of(one.crops[crop], worth)) - float(units_of(other.crops[crop], worth))
        for crop, worth in worths.items()
        if crop in one.crops and crop in other.crops
    }
    least = {crop: SAME_YIELD * float(units_of(other.crops[crop], worths[crop])) for crop in moved}
    gains = [crop for crop, units in moved.items() if units > least[crop]]
    loses = [crop for crop, units in moved.items() if units < -least[crop]]
    if len(gains) != 1 or len(loses) != 1:
        return None
    (gain,), (lose,) = gains, loses
    if worths[gain].unit != worths[lose].unit:
        return None
    ratio = break_even_price_ratio(moved[gain], -moved[lose])
    now = worths[lose].price / worths[gain].price
    return PriceRatio(gain, lose, moved[gain], -moved[lose], ratio, now)
