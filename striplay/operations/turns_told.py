"""Say where a job's turns lack room, and what ways from pass to pass run over."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from striplay.ground import Ground
from striplay.notices import Notice, Severity, few, of_passes
from striplay.operations.route import Links
from striplay.operations.turn_room import OVER_M, SHORT_M, Room
from striplay.operations.turning import (
    BULB,
    FISHTAIL,
    LOOP,
    TURN_KINDS,
    Turner,
    Turning,
)
from striplay.operations.ways import Ways
from striplay.units import UnitSystem, format_about, format_length

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

FEW = 0.1
"""So small a share of turns without room is for the driver to see to (our choice)."""
MOST = 6
"""So many ways across are named, and the others counted (our choice)."""


@dataclass(frozen=True)
class Told:
    """What is told of a job's ways goes by this.

    Attributes:
        job: what it is called.
        turner: its machine.
        ground: the field.
        headland_m: how wide its headland is.
        units: how lengths are written.
    """

    job: str
    turner: Turner
    ground: Ground
    headland_m: float
    units: UnitSystem

    def notice(self, severity: Severity, place_m: Floats, said: str) -> Notice:
        """Make a notice of a place."""
        text, place = f"{self.job}: {said}", self.ground.plane.spot(place_m)
        return Notice("operations", severity, place, text)


def across_notices(ways: Ways, entered: Integers, links: Links, told: Told) -> Iterator[Notice]:
    """Say between which passes no headland leads, or to the gate; one notice at most.

    Args:
        ways: between the ends of passes.
        entered: the node at which each pass is entered, in the order driven, (n,).
        links: the ways as drawn.
        told: of what job.
    """
    across = _across(ways, entered)
    if not across.any():
        return
    at = np.flatnonzero(across)
    named = [_from_to(index, len(entered)) for index in at.tolist()]
    straight = format_about(float(links.length_m[at].sum()), told.units)
    each = "a straight line" if len(at) == 1 else "straight lines"
    said = (
        f"no headland leads {told.turner.name} {few(named, MOST)}; cross by the gate or road, or "
        f"round a pond along a strip's edge; way not planned: lengths and hours count {each} of "
        f"{straight}, and what is driven is longer"
    )
    yield told.notice("mind", shapely.get_coordinates(links.line[at[0]])[0], said)


def _across(ways: Ways, entered: Integers) -> Bools:
    """Tell of each way of a job whether no headland leads there, gates first and last."""
    home = np.array([entered[0], entered[-1] ^ 1])
    first, last = ways.gate_across(home) & ways.gate_given
    between = ways.is_across(entered[:-1] ^ 1, entered[1:])
    return np.array([first, *between, last], dtype=bool)


def _from_to(index: int, count: int) -> str:
    """Say between which passes a way lies: the one of this index of a job of so many."""
    begin = f"pass {index}" if index else "the gate"
    return f"from {begin} to {index + 1 if index < count else 'the gate'}".replace(
        "gate to 1", "gate to pass 1"
    )


BEYOND = ("out of the field", "over obstacles", "over standing crop")
"""Where a way may lie that it should keep off, as `Links.beyond_m` has it."""
PART_M = 0.5
"""Less of a way is not worth a word beside the rest (our choice)."""


def way_notices(
    ways: Ways, entered: Integers, links: Links, turning: Turning, room: Room, told: Told
) -> Iterator[Notice]:
    """Say which ways leave the field, meet obstacles or run over standing crop, and for how far.

    Turns without room are told as such, and ways where no headland leads, and where no gate is
    stated; one notice at most.

    Args:
        ways: between the ends of passes.
        entered: the node at which each pass is entered, in the order driven, (n,).
        links: the ways as drawn.
        turning: those between passes.
        room: what may be driven on.
        told: of what job.
    """
    over_m = links.beyond_m.sum(axis=1)
    elsewhere = _across(ways, entered)
    elsewhere[[0, -1]] |= not ways.gate_given
    elsewhere[1:-1] |= _lacks(turning) & np.isin(turning.kind.astype(str), TURN_KINDS)
    at = np.flatnonzero((over_m > OVER_M) & ~elsewhere)
    if not len(at):
        return
    named = []
    whole_mm = np.rint(1000 * over_m)  # ways alike stand in the order driven
    for index in at[np.argsort(-whole_mm[at], kind="stable")].tolist():
        parts = [
            f"{format_about(float(m), told.units)} {where}"
            for m, where in zip(links.beyond_m[index], BEYOND, strict=True)
            if m > PART_M
        ]
        named.append(f"{_from_to(index, len(entered))} ({' and '.join(parts)})")
    worst = int(at[np.argmax(whole_mm[at])])
    out = shapely.get_parts(shapely.difference(links.line[worst], room.wider.area))
    longest = out[np.argmax(shapely.length(out))]
    place = shapely.get_coordinates(shapely.line_interpolate_point(longest, longest.length / 2))[0]
    said = (
        f"{told.turner.name} has no clear way {few(named)}, the first of them at "
        f"{told.ground.plane.place(place)}; leave headland there, or drive round another way"
    )
    yield told.notice("mind", place, said)


def _lacks(turning: Turning) -> Bools:
    """Tell which turns, and ways along the headland, are told to lack room, (k,)."""
    is_turn = np.isin(turning.kind.astype(str), TURN_KINDS)
    return np.asarray(~turning.inside & (is_turn | (turning.lacking_m > SHORT_M)))


def turn_notices(turning: Turning, told: Told) -> Iterator[Notice]:
    """Say where turns lack room, at the worst place, and what would do; one notice at most.

    Args:
        turning: the turns of a job.
        told: of what job.
    """
    is_turn = np.isin(turning.kind.astype(str), TURN_KINDS)
    bad, turner = _lacks(turning), told.turner
    if not bad.any():
        return
    lacking_m = np.where(bad, turning.lacking_m, -1.0)
    cures = ["a smaller turning_radius"]
    if lacking_m.max() > SHORT_M:
        worst = int(np.argmax(np.rint(1000 * lacking_m)))  # the first of turns alike
        needs_m = float(turning.depth_m[worst])
        needs, has, most, behind = (
            format_length(length_m, told.units)
            for length_m in (
                needs_m,
                float(turning.room_m[worst]),
                float(np.median(turning.depth_m[lacking_m > SHORT_M])),
                turner.length_m,
            )
        )
        of_it = f", {behind} of it for its length" if turner.length_m else ""
        said = f"needs {needs} to turn{of_it}, and has {has} (most need {most})"
        wide = told.headland_m >= needs_m - SHORT_M
        cures = ["more headland just there" if wide else f"a headland of {needs}", *cures]
    else:
        worst = int(np.argmax(np.rint(1000 * np.where(bad, turning.over_m, -1.0))))
        over = format_about(float(turning.over_m[worst]), told.units)
        said = f"turns for {over} over crop or ground that is not the field's"
        cures = ["a deeper headland", *cures]
    beside = _beside(turning.place_m[worst], float(turning.room_m[worst]), told.ground)
    place = told.ground.plane.place(turning.place_m[worst]) + beside
    tight = np.isin(turning.kind[bad].astype(str), [BULB, LOOP, FISHTAIL])
    if tight.mean() > 1 / 2:
        cures.append("wider strips")
    if not turner.reversing and turning.kind[worst] in {BULB, LOOP}:
        cures.append("a machine that can back up (reversing = true)")
    cure = ", ".join(cures[:-1]) + " or " + cures[-1]
    text = (
        f"{_counted(bad, is_turn)} of {turner.name} lack room: at {place} it {said}; {cure} would "
        "help; its outer end swings farther: mind fences and power lines"
    )
    # a fence, a ditch or a pond is worse than a turn that is tight
    off = bool((turning.off_m[bad] > OVER_M).any())
    severity: Severity = "mind" if off or bad.sum() > FEW * (is_turn | bad).sum() else "know"
    yield told.notice(severity, turning.place_m[worst], text)


def _counted(bad: Bools, is_turn: Bools) -> str:
    """Say how many turns, and ways along the headland, are bad, and after which passes."""
    said = []
    for those, name in ((is_turn, "turns"), (~is_turn, "other ways between passes")):
        if (bad & those).any():
            passes = of_passes((np.flatnonzero(bad & those) + 1).tolist())
            said.append(f"{(bad & those).sum()} of {those.sum()} {name} (after {passes})")
    return " and ".join(said)


def _beside(place_m: Floats, room_m: float, ground: Ground) -> str:
    """Name the obstacle, or the hole of the boundary, that a turn has no room beside, if any."""
    reach, point = room_m + BESIDE_M, shapely.Point(place_m)
    near = [name for name, shape in ground.named if shape.distance(point) <= reach]
    if near:
        return f", beside {near[0]},"
    return ", beside a hole of the boundary," if ground.holes.distance(point) <= reach else ""


BESIDE_M = 1.0
"""What lies within so much of where the room ends is what ends it (our choice)."""
