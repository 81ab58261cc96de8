"""Say where a tank, hopper or grain tank must be filled or emptied on the way over a field.

What is carried and what is brought in are alike: either leaves room for so much more, and a fill,
or an unloading, makes all of the room anew.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from striplay.limits import MAX_FILLS
from striplay.tolerances import LOAD_SHARE
from striplay.units import UnitSystem, format_about

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Fills:
    """The fills of a route, pass by pass in the order driven; of grain, its unloadings.

    The first load is on board when the route begins; of grain, the last stays on board at its end.

    Attributes:
        before: whether one comes before a pass starts, at the end of the pass before it, (n,).
        dry: how often a pass runs out on its way, or the grain tank is full; `MAX_FILLS` at most,
            (n,).
        first_m: how far along it does so first; NaN where it does not, (n,).
        every_m: how far one load lasts along a pass; infinite where it takes nothing, (n,).
        left: what is on board after each pass; of grain, the room left, (n,).
        on_the_go: passes on which grain goes into a cart as it comes in, (n,).
    """

    before: Bools
    dry: Integers
    first_m: Floats
    every_m: Floats
    left: Floats
    on_the_go: Bools

    @property
    def count(self) -> int:
        """How many there are, mid-field ones included."""
        return int(self.before.sum()) + int(self.dry.sum())

    def mid_field(self) -> tuple[Integers, Floats]:
        """Give the pass of each fill that is needed mid-field, and how far along it, (k,)."""
        of = np.repeat(np.arange(len(self.dry)), self.dry)
        number = np.arange(len(of)) - np.repeat(np.cumsum(self.dry) - self.dry, self.dry)
        return of, self.first_m[of] + number * np.where(number > 0, self.every_m[of], 0.0)


def fills_of(
    amount: Floats,
    holds: float,
    length_m: Floats,
    what: Integers | None = None,
    on_the_go: Bools | None = None,
) -> Fills:
    """Fill as late as will do: before a pass only where that spares a fill on its way.

    So there are as few fills mid-field as can be, and with these as few in all as can be.

    Args:
        amount: what each pass uses or brings in, in the order driven, (n,).
        holds: what the machine holds, in the same unit; above 0.
        length_m: length of each pass, over which its amount is spread evenly, (n,).
        what: number of what each uses or brings in: where it changes the machine is emptied, or
            filled anew, (n,); None where it never does.
        on_the_go: passes on which grain goes into a cart as it comes in, and what was on board
            before, (n,); None of what is carried.
    """
    count = len(amount)
    going = np.zeros(count, dtype=bool) if on_the_go is None else on_the_go
    amount = np.where(going, 0.0, amount)
    changes = np.zeros(count, dtype=bool)
    if what is not None and count:
        changes[1:] = np.diff(what) != 0
    before, dry, room, left = [False] * count, [0] * count, [0.0] * count, [0.0] * count
    now = holds
    for index, (need, change) in enumerate(zip(amount.tolist(), changes.tolist(), strict=True)):
        times, fewest = _times(need, now, holds), _times(need, holds, holds)
        empty = on_the_go is not None and now >= holds
        if (change and not empty) or times > fewest:
            before[index], now, times = True, holds, fewest
        dry[index], room[index] = times, now
        now = min(max(now + times * holds - need, 0.0), holds)
        now = holds if going[index] else now
        left[index] = now
    rooms, times_dry = np.array(room, dtype=np.float64), np.array(dry, dtype=np.int64)
    with np.errstate(all="ignore"):
        per_m = np.where(amount > 0, length_m / amount, np.inf)
        first_m = np.where(times_dry > 0, rooms * per_m, np.nan)
        each_m = holds * per_m
    return Fills(
        np.array(before, dtype=bool), times_dry, first_m, each_m,
        np.array(left, dtype=np.float64), going,
    )  # fmt: skip


@dataclass(frozen=True)
class Loads:
    """What goes in or out at each fill of a route, in the order it happens, (k,).

    What a route uses or brings in is counted on from 0 along all its passes; each load is a stretch
    of it, and of what is carried the stretches follow one another without a gap.

    Attributes:
        amount: what each pass uses or brings in, (n,).
        of: the pass before which, or on which, it is; the number of passes for one at the end.
        along_m: how far along that pass; NaN before it starts.
        begin: how much is used, or brought in, where the load begins.
        end: where it ends.
    """

    amount: Floats
    of: Integers
    along_m: Floats
    begin: Floats
    end: Floats

    def of_part(self, part: Floats) -> Floats:
        """Give how much of a part of what is carried is in each load, (k,).

        Args:
            part: what each pass uses or brings in of the part, in any unit, (n,).
        """
        at, of_part = np.append(0.0, np.cumsum(self.amount)), np.append(0.0, np.cumsum(part))
        return np.asarray(np.interp(self.end, at, of_part) - np.interp(self.begin, at, of_part))


def loads_of(
    fills: Fills, amount: Floats, holds: float, what: Integers, *, brought_in: bool
) -> Loads:
    """Say what goes in at each fill, the one at the start first; of grain, what goes out.

    Each fill but the last before its product changes, or before the route ends, makes the tank
    full; the last puts in what is still needed. Grain that goes into a cart as it comes in is in
    no load; what is on board at the end is the last.

    Args:
        fills: of the route.
        amount: what each pass uses or brings in, (n,).
        holds: what the machine holds, in the same unit.
        what: number of what each uses or brings in, (n,).
        brought_in: whether it is grain.
    """
    total = np.append(0.0, np.cumsum(amount))
    mid, mid_m = fills.mid_field()
    early = np.flatnonzero(fills.before)
    first = [] if brought_in else [0]
    of = np.concatenate([np.array(first, dtype=np.int64), early, mid])
    along_m = np.concatenate([np.full(len(first) + len(early), np.nan), mid_m])
    order = np.lexsort((np.nan_to_num(along_m, nan=-1.0), of))
    of, along_m = of[order], along_m[order]
    on_way = np.nan_to_num(along_m) * holds / fills.every_m[of]
    at = total[of] + on_way
    if not brought_in:
        run = np.append(np.flatnonzero(np.diff(what)) + 1, len(amount))
        end = np.minimum(at + holds, total[run[np.searchsorted(run, of, side="right")]])
        return Loads(amount, of, along_m, np.append(0.0, end[:-1]), end)
    cleared = np.where(fills.on_the_go, total[1:], 0.0)
    cleared = np.maximum.accumulate(np.append(0.0, cleared))
    of, along_m, at = (
        np.append(of, len(amount)),
        np.append(along_m, np.nan),
        np.append(at, total[-1]),
    )
    begin = np.maximum(np.append(0.0, at[:-1]), cleared[of])
    some = at > begin
    return Loads(amount, of[some], along_m[some], begin[some], at[some])


def _times(need: float, room: float, holds: float) -> int:
    """Say how often a pass runs out on its way, begun with so much room."""
    return math.ceil(min(max((need - room) / holds - LOAD_SHARE, 0.0), MAX_FILLS))


def fill_words(fills: Fills, units: UnitSystem, *, brought_in: bool) -> npt.NDArray[np.object_]:
    """Say in words of each pass where its fills are; empty where it has none, (n,).

    Args:
        fills: of a route.
        units: the plan's.
        brought_in: whether it is grain, which is unloaded.
    """
    refill, out = ("unload before", "full") if brought_in else ("refill before", "runs out")
    found = np.full(len(fills.before), "", dtype=object)
    found[fills.on_the_go] = "unloads on the go"
    for index in np.flatnonzero(fills.before | (fills.dry > 0)).tolist():
        said = [refill] if fills.before[index] else []
        if fills.dry[index]:
            said.append(f"{out} at about {format_about(fills.first_m[index], units)}")
        if fills.dry[index] > 1:
            said.append(f"then about every {format_about(fills.every_m[index], units)}")
        found[index] = ", ".join(said)
    return found
