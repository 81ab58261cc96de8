"""Say where a job's turns lack room, and where no headland leads from pass to pass."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from striplay.ground import Plane
from striplay.notices import Notice, Severity
from striplay.operations.turning import (
    BULB,
    FISHTAIL,
    LOOP,
    SHORT_M,
    TURN_KINDS,
    Turner,
    Turning,
)
from striplay.operations.ways import Ways
from striplay.units import UnitSystem, format_about, format_length

Integers = npt.NDArray[np.int64]

FEW = 0.1
"""So small a share of turns without room is for the driver to see to (our choice)."""
MOST = 6
"""So many ways across are named, and the others counted (our choice)."""


def across_notices(
    ways: Ways, entered: Integers, turner: Turner, job: str, plane: Plane
) -> Iterator[Notice]:
    """Say between which passes no headland leads, or to the gate; one notice at most.

    Args:
        ways: between the ends of passes.
        entered: the node at which each pass is entered, in the order driven, (n,).
        turner: the machine.
        job: what it is called.
        plane: of the field.
    """
    left, into = entered[:-1] ^ 1, entered[1:]
    between = np.flatnonzero(ways.is_across(left, into))
    home = np.array([entered[0], entered[-1] ^ 1])
    first, last = ways.gate_across(home) & ways.gate_given
    named = [
        *(["from the gate to pass 1"] if first else []),
        *(f"from pass {at + 1} to {at + 2}" for at in between.tolist()),
        *([f"from pass {len(entered)} to the gate"] if last else []),
    ]
    if not named:
        return
    nodes = [*([home[0]] if first else []), *left[between], *([home[1]] if last else [])]
    said = named if len(named) <= MOST else [*named[:MOST], f"{len(named) - MOST} times more"]
    listed = ", ".join(said[:-1]) + " and " + said[-1] if len(said) > 1 else said[0]
    text = (
        f"{job}: no headland leads {turner.name} {listed}; cross by the gate or road, or round a "
        "pond along a strip's edge; way not planned"
    )
    yield Notice("operations", "mind", plane.spot(ways.out[nodes[0], :2]), text)


def turn_notices(
    turning: Turning, turner: Turner, job: str, plane: Plane, units: UnitSystem
) -> Iterator[Notice]:
    """Say where turns lack room, at the worst place, and what would do; one notice at most.

    Args:
        turning: the turns of a job.
        turner: its machine.
        job: what it is called.
        plane: of the field.
        units: how lengths are written.
    """
    is_turn = np.isin(turning.kind.astype(str), TURN_KINDS)
    bad = ~turning.inside & (is_turn | (turning.lacking_m > SHORT_M))
    if not bad.any():
        return
    lacking_m = np.where(bad, turning.lacking_m, -1.0)
    of = int((is_turn | bad).sum())
    many = f"{bad.sum()} of {of} turns"
    cures = ["a smaller turning_radius"]
    if lacking_m.max() > SHORT_M:
        worst = int(np.argmax(lacking_m))
        needs, has, most, behind = (
            format_length(length_m, units)
            for length_m in (
                float(turning.depth_m[worst]),
                float(turning.room_m[worst]),
                float(np.median(turning.depth_m[lacking_m > SHORT_M])),
                turner.length_m,
            )
        )
        of_it = f", {behind} of it for its length" if turner.length_m else ""
        said = f"needs {needs} to turn{of_it}, and has {has} (most need {most})"
        cures = [f"a headland of {needs}", *cures]
    else:
        worst = int(np.argmax(np.where(bad, turning.over_m, -1.0)))
        over = format_about(float(turning.over_m[worst]), units)
        said = f"turns for {over} over crop or ground that is not the field's"
        cures = ["a deeper headland", *cures]
    place = plane.place(turning.place_m[worst])
    tight = np.isin(turning.kind[bad].astype(str), [BULB, LOOP, FISHTAIL])
    if tight.mean() > 1 / 2:
        cures.append("wider strips")
    if not turner.reversing and turning.kind[worst] in {BULB, LOOP}:
        cures.append("a machine that can back up (reversing = true)")
    cure = ", ".join(cures[:-1]) + " or " + cures[-1]
    text = (
        f"{job}: {many} of {turner.name} lack room: at {place} it {said}; {cure} would help; its "
        "outer end swings farther: mind fences and power lines"
    )
    severity: Severity = "mind" if bad.sum() > FEW * of else "know"
    yield Notice("operations", severity, plane.spot(turning.place_m[worst]), text)
