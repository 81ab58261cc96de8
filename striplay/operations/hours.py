"""Say how long a route takes, what ground it works by the hour, and what it burns."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.operations.amounts import kind_of
from striplay.operations.fills import Fills
from striplay.operations.published import FUEL_OFF, Range, efficiency_of, fuel_per_m2
from striplay.operations.route import Route
from striplay.operations.turning import ACROSS, ALONG, GATE, WAY
from striplay.plan.machines import Harvester
from striplay.plan.models import Plan
from striplay.tolerances import LENGTH_M
from striplay.units import format_hours

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

SHIFT_S = 3.0
"""Time to shift gear, twice in a turn with reverse; our choice."""
NO_TURNS = (ALONG, ACROSS, WAY, GATE)
"""Kinds of link that are driven, not turned."""


@dataclass(frozen=True)
class Hours:
    """The time a route takes, from gate to gate, in seconds.

    Attributes:
        worked_s: of each pass at work, (n,).
        lifted_s: of each over stretches it lifts over, (n,).
        link_s: of each way between passes, (n + 1,).
        turn: whether each way is a turn, (n + 1,).
        headland: whether each pass is one of the headland, (n,).
        fill_s: of all fills, or unloadings that it stops for.
        full_width_s: what the same ground takes at full width and speed, without a stop.
        area_m2: ground worked, overlap counted.
        usual: published field efficiency of its kind of work; None where there is none.
    """

    worked_s: Floats
    lifted_s: Floats
    link_s: Floats
    turn: Bools
    headland: Bools
    fill_s: float
    full_width_s: float
    area_m2: float
    usual: Range | None = None

    @property
    def turning_s(self) -> float:
        """Time of turns."""
        return float(self.link_s[self.turn].sum())

    @property
    def driving_s(self) -> float:
        """Time of the other ways between passes, and of stretches lifted over."""
        return float(self.link_s[~self.turn].sum() + self.lifted_s.sum())

    @property
    def part_width_s(self) -> float:
        """Time at work that full width would spare."""
        return max(float(self.worked_s.sum()) - self.full_width_s, 0.0)

    @property
    def headland_s(self) -> float:
        """Time of passes on the headland, with the ways that lead into them."""
        each = self.worked_s + self.lifted_s + self.link_s[:-1]
        return float(each[self.headland].sum())

    @property
    def total_s(self) -> float:
        """All of it."""
        passes_s = self.worked_s.sum() + self.lifted_s.sum()
        return float(passes_s + self.link_s.sum() + self.fill_s)

    @property
    def likely_s(self) -> float:
        """Time to reckon with: all of it, or what the best field efficiency published leaves.

        Waiting, adjusting and what is plugged are not in what is counted.
        """
        least_s = 0.0 if self.usual is None else self.full_width_s / self.usual.high
        return max(self.total_s, least_s)

    @property
    def words(self) -> str:
        """The time to reckon with, as a person says it; the same wherever it is told.

        >>> at = {"worked_s": np.array([3600.0]), "lifted_s": np.zeros(1), "link_s": np.zeros(2),
        ...       "turn": np.zeros(2, dtype=bool), "headland": np.zeros(1, dtype=bool),
        ...       "fill_s": 0.0, "full_width_s": 3600.0, "area_m2": 1e4}
        >>> Hours(**at).words, Hours(**at, usual=Range(0.5, 0.75)).words
        ('about 1 h', '1.3 h or more')
        """
        if round(self.efficiency, 2) > (1.0 if self.usual is None else self.usual.high):
            return f"{format_hours(self.likely_s)} or more"
        return f"about {format_hours(self.total_s)}"

    @property
    def capacity_m2_per_s(self) -> float:
        """Effective field capacity: ground worked by time, all time counted; 0 for no passes."""
        return self.area_m2 / self.total_s if self.total_s else 0.0

    @property
    def efficiency(self) -> float:
        """Field efficiency: effective over theoretical capacity; 0 for no passes."""
        return self.full_width_s / self.total_s if self.total_s else 0.0


def hours_of(plan: Plan, route: Route, fills: Fills | None = None) -> Hours:
    """Say how long a route takes.

    A way between passes is driven at the machine's turning speed, and takes two shifts of gear
    where part of it is in reverse; a turn takes the machine's own `turn` where it is stated. A
    combine with a cart unloads on the go where it has a lane, and everywhere where the reach of its
    auger is not stated.

    Args:
        plan: the machines.
        route: the passes and the ways between them.
        fills: where it fills or unloads; None where that is not known.
    """
    machine, links = plan.machines[route.job.machine], route.links
    length_m = np.asarray(shapely.length(route.line), dtype=np.float64)
    link_s = links.length_m / machine.turning_speed_mps
    link_s = link_s + np.where(links.reverse_m > LENGTH_M, 2 * SHIFT_S, 0.0)
    turn = ~np.isin(links.kind.astype(str), NO_TURNS)
    if machine.turn_s is not None:
        link_s = np.where(turn, machine.turn_s, link_s)
    on_the_go = (
        isinstance(machine, Harvester)
        and machine.cart is not None
        and machine.auger_reach_m is None
    )
    stops = 0 if fills is None or on_the_go else fills.count
    area_m2 = float(route.area_m2.sum())
    return Hours(
        worked_s=route.worked_m / machine.speed_mps,
        lifted_s=np.maximum(length_m - route.worked_m, 0.0) / machine.speed_mps,
        link_s=link_s,
        turn=turn,
        headland=np.asarray(route.place == "headland", dtype=bool),
        fill_s=stops * machine.refill_s,
        full_width_s=area_m2 / capacity_at(route.width_m, machine.speed_mps),
        area_m2=area_m2,
        usual=efficiency_of(machine),
    )


def capacity_at(width_m: float, speed_mps: float, efficiency: float = 1.0) -> float:
    """Give field capacity in m2/s: theoretical at full width and speed, or at an efficiency of it.

    In the trade's units acres an hour = feet x miles an hour / 8.25 (Univ. of Kentucky AEN-73,
    1991), and hectares an hour = meters x km an hour / 10.
    """
    return width_m * speed_mps * efficiency


@dataclass(frozen=True, slots=True)
class Fuel:
    """The diesel that a route burns, by the ground it works.

    Attributes:
        m3: what is to be reckoned with.
        low_m3: what it may well be at least.
        high_m3: at most.
        source: where it is from.
    """

    m3: float
    low_m3: float
    high_m3: float
    source: str


def fuel_of(plan: Plan, route: Route) -> Fuel | None:
    """Say what a route burns: the machine's own figure, else what is published; None without one.

    Published figures are by kind of work, and by crop where harvested; true use lies 35 % about
    them (Iowa State Univ. A3-27).
    """
    own = plan.machines[route.job.machine].fuel_m3_per_m2
    if own is not None:
        used = own * float(route.area_m2.sum())
        return Fuel(used, used, used, "the plan")
    crops, of = np.unique(route.crop.astype(str), return_inverse=True)
    each_m2 = np.bincount(of.reshape(-1), route.area_m2, minlength=len(crops)).tolist()
    found: list[tuple[Range, float]] = []
    for crop, area_m2 in zip(crops.tolist(), each_m2, strict=True):
        rate = fuel_per_m2(route.job.does, kind_of(plan, crop))
        if rate is None:
            return None
        found.append((rate, area_m2))
    return Fuel(
        sum((rate.low + rate.high) / 2 * area_m2 for rate, area_m2 in found),
        sum(rate.low * (1 - FUEL_OFF) * area_m2 for rate, area_m2 in found),
        sum(rate.high * (1 + FUEL_OFF) * area_m2 for rate, area_m2 in found),
        "; ".join(dict.fromkeys(rate.source for rate, _ in found)),
    )
