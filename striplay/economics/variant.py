"""Hold what a way to farm a field yields, costs and leaves, crop by crop."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from striplay.economics.edges import NOTHING, Estimate
from striplay.economics.worth import Worth

Pair = tuple[str, str]
"""A crop, and the crop beside it."""


@dataclass(frozen=True, slots=True)
class EdgeLand:
    """What the edges of a crop beside another are worth, as ground that yields as rows inside do.

    Attributes:
        gained_m2: ground that their gain stands for; below 0 where they lose.
        outer_m2: ground of the outer rows alone.
        sources: where the gains are from; empty where nothing is known of the pair.
        measured: whether they are the user's own.
    """

    gained_m2: Estimate
    outer_m2: float
    sources: tuple[str, ...] = ()
    measured: bool = False

    def times(self, factor: float) -> "EdgeLand":
        """Give so many times of it."""
        gained_m2 = self.gained_m2.times(factor)
        return replace(self, gained_m2=gained_m2, outer_m2=self.outer_m2 * factor)

    def plus(self, other: "EdgeLand") -> "EdgeLand":
        """Add another of the same pair."""
        return EdgeLand(
            self.gained_m2.plus(other.gained_m2),
            self.outer_m2 + other.outer_m2,
            tuple(dict.fromkeys([*self.sources, *other.sources])),
            self.measured or other.measured,
        )


@dataclass(frozen=True, slots=True)
class CropPart:
    """One crop's part of a way to farm a field.

    Attributes:
        area_m2: ground sown to it, headland included.
        land_m2: the same, ground that crops share split evenly among those harvested on it.
        inner_m2: ground that yields as much alone as its rows would with no edge.
        edges: of its strips, by what stands beside.
        seed: money for seed.
        product: money for products of operations.
        other: other costs.
        machine: money for machines' hours.
        hours_s: those hours.
        fuel_m3: fuel burnt; where it is not known of some work, of the rest.
        fuel: money for it, at its price; 0 where it is in the machines' cost.
    """

    area_m2: float
    inner_m2: float
    land_m2: float = 0.0
    edges: Mapping[Pair, EdgeLand] = field(default_factory=dict)
    seed: float = 0.0
    product: float = 0.0
    other: float = 0.0
    machine: float = 0.0
    hours_s: float = 0.0
    fuel_m3: Estimate = NOTHING
    fuel: Estimate = NOTHING

    @property
    def gained_m2(self) -> Estimate:
        """Ground that the gains of all its edges stand for."""
        total = NOTHING
        for land in self.edges.values():
            total = total.plus(land.gained_m2)
        return total

    def times(self, factor: float) -> "CropPart":
        """Give so many times of it."""
        return CropPart(
            **{name: _times(getattr(self, name), factor) for name in _NAMES},
            edges={pair: land.times(factor) for pair, land in self.edges.items()},
        )

    def plus(self, other: "CropPart") -> "CropPart":
        """Add another of the same crop."""
        edges = dict(self.edges)
        for pair, land in other.edges.items():
            edges[pair] = edges[pair].plus(land) if pair in edges else land
        sums = {name: _plus(getattr(self, name), getattr(other, name)) for name in _NAMES}
        return CropPart(**sums, edges=edges)


_NAMES = [one.name for one in fields(CropPart) if one.name != "edges"]


def _times(value: Any, factor: float) -> Any:  # noqa: ANN401 - a number or a range
    return value.times(factor) if isinstance(value, Estimate) else value * factor


def _plus(one: Any, other: Any) -> Any:  # noqa: ANN401 - as above
    return one.plus(other) if isinstance(one, Estimate) else one + other


@dataclass(frozen=True)
class Variant:
    """A way to farm a field for a year, or the mean of several years.

    Attributes:
        name: what it is called.
        crops: each crop's part, by name.
        area_m2: land cropped, no ground counted twice.
    """

    name: str
    crops: Mapping[str, CropPart]
    area_m2: float

    def times(self, factor: float) -> "Variant":
        """Give so many times of it."""
        crops = {name: part.times(factor) for name, part in self.crops.items()}
        return Variant(self.name, crops, self.area_m2 * factor)


def joined(name: str, variants: Iterable[Variant]) -> Variant:
    """Add up ways to farm, as of several fields or of parts of one."""
    crops: dict[str, CropPart] = {}
    area_m2 = 0.0
    for variant in variants:
        area_m2 += variant.area_m2
        for crop, part in variant.crops.items():
            crops[crop] = crops[crop].plus(part) if crop in crops else part
    return Variant(name, crops, area_m2)


@dataclass(frozen=True)
class State:
    """How a season turns out, against what is most likely: numbers, or arrays of many seasons.

    Attributes:
        price: of each crop, times what is stated; 1 where left out.
        yields: of each crop alone, likewise.
        edges: of each pair, from -1, the least its edges gain, over 0 to 1, the most.
        machine: machines' cost, times what is stated.
        fuel: fuel burnt, from -1 to 1 as edges.
        fuel_price: times what is stated.
    """

    price: Mapping[str, Any] = field(default_factory=dict)
    yields: Mapping[str, Any] = field(default_factory=dict)
    edges: Mapping[Pair, Any] = field(default_factory=dict)
    machine: Any = 1.0
    fuel: Any = 0.0
    fuel_price: Any = 1.0


AS_STATED = State()


def between(values: Estimate, at: Any) -> Any:  # noqa: ANN401 - a number or an array
    """Give a figure of a range: at -1 the least, at 0 the central one, at 1 the most.

    >>> between(Estimate(1.0, 2.0, 4.0), -0.5), between(Estimate(1.0, 2.0, 4.0), 0.5)
    (1.5, 3.0)
    """
    below, above = values.central - values.low, values.high - values.central
    down, up = (abs(at) - at) / 2, (abs(at) + at) / 2
    return values.central - below * down + above * up


def units_of(part: CropPart, worth: Worth, state: State = AS_STATED) -> Any:  # noqa: ANN401
    """Give what a crop brings in, in units sold; a number, or an array of many seasons."""
    ground_m2: Any = part.inner_m2
    for pair, land in part.edges.items():
        ground_m2 = ground_m2 + between(land.gained_m2, state.edges.get(pair, 0.0))
    return worth.alone_per_m2 * state.yields.get(worth.crop, 1.0) * ground_m2


def margin_of(part: CropPart, worth: Worth | None, state: State = AS_STATED) -> Any:  # noqa: ANN401
    """Give what a crop leaves: its value less drying, seed, products, machines, fuel and others.

    Args:
        part: the crop's part.
        worth: what its grain is worth; None where it is not harvested.
        state: how the season turns out.
    """
    costs = part.seed + part.product + part.other + part.machine * state.machine
    costs = costs + between(part.fuel, state.fuel) * state.fuel_price
    if worth is None:
        return -costs
    price = worth.price * state.price.get(worth.crop, 1.0) - worth.drying
    return units_of(part, worth, state) * price - costs


def margin(variant: Variant, worths: Mapping[str, Worth], state: State = AS_STATED) -> Any:  # noqa: ANN401
    """Give what a way to farm leaves over all its crops, before land, buildings and overheads."""
    return sum(margin_of(part, worths.get(crop), state) for crop, part in variant.crops.items())


def edges_at(variant: Variant, at: float) -> State:
    """Give the season in which all edges of a variant gain their least (-1) or most (1)."""
    pairs = [pair for part in variant.crops.values() for pair in part.edges]
    return State(edges=dict.fromkeys(pairs, at))


def margin_range(variant: Variant, worths: Mapping[str, Worth]) -> Estimate:
    """Give the margin with all edges at their least, at their middle and at their most."""
    low, high = (float(margin(variant, worths, edges_at(variant, at))) for at in (-1.0, 1.0))
    return Estimate(low, float(margin(variant, worths)), high)
