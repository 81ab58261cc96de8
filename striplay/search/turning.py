"""Say how long machines take to turn at the end of each pass, by how far off the next one lies."""

import numpy as np
import numpy.typing as npt

from striplay.geometry.turns import level_turn_m
from striplay.plan.machines import Machine
from striplay.plan.models import Plan
from striplay.section.section import Section
from striplay.tolerances import WIDTH_M

Floats = npt.NDArray[np.float64]

NEXT = 6
"""A driver may leave out passes for a wider turn, and come back for them: up to the sixth next."""


def turns_s(machine: Machine, middles_m: Floats, repeat_m: float) -> Floats:
    """Give the time of a turn at the end of each pass of a work, (n,).

    What the plan states; else the turn into one of the six next passes that is the shortest, at the
    machine's turning radius and speed.

    Args:
        machine: that turns.
        middles_m: of the work's passes over a set or pattern of lines, (n,).
        repeat_m: how wide that is.
    """
    if machine.turn_s is not None:
        return np.full(len(middles_m), machine.turn_s)
    every_m = np.sort(np.add.outer(np.arange(NEXT + 2) * repeat_m, middles_m % repeat_m).ravel())
    every_m = every_m[np.append(True, np.diff(every_m) > WIDTH_M)]
    after = np.searchsorted(every_m, middles_m % repeat_m + WIDTH_M)
    apart_m = every_m[after[:, None] + np.arange(NEXT)] - (middles_m % repeat_m)[:, None]
    length_m = level_turn_m(apart_m, machine.turn_radius_m, reversing=machine.reversing)
    return np.asarray(length_m.min(axis=1) / machine.turning_speed_mps)


def set_turns_s(plan: Plan, section: Section) -> list[float]:
    """Give the time of a turn at the end of each pass over a section."""
    works: dict[tuple[object, ...], list[int]] = {}
    for index, one in enumerate(section.passes):
        works.setdefault((one.operation, one.machine, one.crop, one.layer), []).append(index)
    found = np.zeros(len(section.passes))
    for (_, name, *_), places in works.items():
        middles_m = np.array([section.passes[index].middle_m for index in places])
        found[places] = turns_s(plan.machines[str(name)], middles_m, section.width_m)
    return found.tolist()
