"""Work out where machines run that work several strips at once: on the same lines for all crops.

A pattern of lines repeats after one set or a few. A boom passes along a line once for each crop
that stands under it, its sections shut over the others, so its wheels make one pair of tracks.
What can't shut off, such as a mower or a disk, runs on lines only where it works all ground.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from striplay.plan.machines import Boom, Cultivator, Machine
from striplay.plan.models import Plan
from striplay.plan.operations import Treatment
from striplay.section.cover import passes_to_cover
from striplay.section.section import Pass, Section, Strip, Tramlines
from striplay.tolerances import WHOLE_NUMBER, WIDTH_M
from striplay.units import format_small

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

MOST_LINES = 6
"""A pattern has no more lines, unless one set asks for more: few repeat soon (our choice)."""


def parts_of_boom(machine: Machine) -> int:
    """Count the parts of a boom that shut off alone."""
    return machine.sections if isinstance(machine, Boom) else 1


def tramlines_of(plan: Plan, section: Section) -> tuple[Tramlines, ...]:
    """Give the tramlines of every machine that makes fewer passes on them than strip by strip.

    Where neither makes fewer it goes strip by strip: then none of it lies over another crop.

    Args:
        plan: the machines.
        section: the set, with its strips' own rows, and those after their harvest if it has any.
    """
    named = dict.fromkeys(one.machine for stand in _stands(plan, section) for one in stand)
    able = (name for name in named if not isinstance(plan.machines[name], Cultivator))
    found = (_of_machine(plan, section, name) for name in able)
    return tuple(one for one in found if one is not None)


def _stands(plan: Plan, section: Section) -> tuple[tuple[Treatment, ...], ...]:
    """List what is done to strips' own crops, and what is done to those after their harvest.

    There that is drilling too: rows of a drill lie as its passes do, and meet no other rows.
    """
    drilled = dict.fromkeys(layer.label for layer in section.layers if layer.drilled)
    sown = (Treatment("plant", plan.crops[label].planter, (label,)) for label in drilled)
    return plan.treatments(section.labels), (*sown, *plan.treatments(section.following))


def _of_machine(plan: Plan, section: Section, name: str) -> Tramlines | None:
    """Choose a machine's pattern and place its lines; None where it goes strip by strip.

    What is sown after a harvest is worked on the lines that there are, where that saves passes.
    """
    machine, treated = plan.machines[name], list[Treatment]()
    patterns = _patterns(section.width_m, machine.width_m)
    for stand in _stands(plan, section):
        own = [one for one in stand if one.machine == name]
        if not own or (
            parts_of_boom(machine) == 1 and not all(_over_all(section, one) for one in own)
        ):
            continue  # what does not shut off treats all that lies under it
        driven, sets, lines = min(
            (Fraction(_driven(section, own, lines, sets), sets), sets, lines)
            for lines, sets in patterns
        )
        if driven < _by_strip(section, own, machine.width_m):
            treated += own
            patterns = [(lines, sets)]
    if not treated:
        return None
    ((lines, sets),) = patterns
    return Tramlines(
        operation=machine.does,
        machine=name,
        width_m=machine.width_m,
        sets=sets,
        set_m=section.width_m,
        middles_m=_placed(machine, section, lines, sets),
        crops=tuple(one.crop for one in treated),
        step_m=_step_m(machine, section),
        left_m=section.left_m,
    )


def _over_all(section: Section, treated: Treatment) -> bool:
    """Tell whether what is treated stands in every strip."""
    return all(labels & {*treated.crops} for labels in section.grown)


def _by_strip(section: Section, treated: Sequence[Treatment], width_m: float) -> int:
    """Count the passes over a set that treat crops strip by strip."""
    count = 0
    for one in treated:
        for strip, labels in zip(section.strips, section.grown, strict=True):
            own_m = strip.rows_span_m[1] if strip.crop in one.crops else strip.width_m
            count += passes_to_cover(own_m, width_m) if labels & {*one.crops} else 0
    return count


def _patterns(set_m: float, boom_m: float) -> list[tuple[int, int]]:
    """List how many lines lie over how many sets: over as many as so many booms are wide."""
    counts = [*range(1, MOST_LINES + 1), passes_to_cover(set_m, boom_m)]
    each = [(lines, int(lines * boom_m / set_m + WHOLE_NUMBER)) for lines in counts]
    return [(lines, sets) for lines, sets in each if sets]


def _driven(section: Section, treated: Sequence[Treatment], lines: int, sets: int) -> int:
    """Count the passes over all sets of a pattern: a line is driven for each crop under it."""
    pattern_m, count = sets * section.width_m, 0
    for one in treated:
        at_m = np.array([row.offset_m for row in section.main_rows if row.label in one.crops])
        every_m = np.add.outer(np.arange(sets) * section.width_m, at_m - section.left_m)
        share = np.floor(every_m % pattern_m * lines / pattern_m + WHOLE_NUMBER)
        count += len(np.unique(share % lines))
    return count


def _step_m(machine: Machine, section: Section) -> float:
    """Give by what steps a boom may shift for its wheels to stay between rows; 0 by any."""
    spacings_m = sorted(strip.spacing_m for strip in section.strips if strip.counted)
    if machine.tread_m is None or machine.tire_m is None or not spacings_m:
        return 0.0
    times = np.array(spacings_m[-1:]) / spacings_m
    return spacings_m[-1] if np.all(np.abs(times - np.rint(times)) < WHOLE_NUMBER) else 0.0


@dataclass(frozen=True)
class _Clear:
    """Where a boom's wheels run between rows, by how far it is shifted from its even place.

    Attributes:
        edges_m: the nearest to each row on either side that is clear, (n,).
        rows_m: shifts that put a wheel on a row, (k,).
        near_m: how near to these its shift may not be.
    """

    edges_m: Floats
    rows_m: Floats
    near_m: float

    def nearest_m(self, wish_m: float) -> float:
        """Give the clear shift nearest to a wish; none where nothing is clear."""
        if not np.any(np.abs(wish_m - self.rows_m) < self.near_m - WIDTH_M):
            return wish_m
        if not len(self.edges_m):
            return 0.0
        return float(self.edges_m[np.argmin(np.abs(self.edges_m - wish_m))])


def _placed(machine: Machine, section: Section, lines: int, sets: int) -> tuple[float, ...]:
    """Space lines evenly, then shift each as little as lets its wheels run between the rows.

    Shares begin at the first strip's edge, so that booms' edges and sections meet strips' edges.
    Neighbors stay as near as the boom is wide: where they can't shift each alone they shift alike,
    and where that does not do they stay even.
    """
    pattern_m = sets * section.width_m
    even_m = section.left_m + (np.arange(lines) + 0.5) * pattern_m / lines
    clear = [_clear(machine, section, at_m, pattern_m / lines / 2) for at_m in even_m.tolist()]
    wishes_m = np.unique(np.round(np.concatenate([[0.0], *(one.edges_m for one in clear)]), 9))
    for wish_m in wishes_m[np.lexsort((wishes_m < 0.0, np.abs(wishes_m)))].tolist():
        middles_m = even_m + [one.nearest_m(wish_m) for one in clear]
        gaps_m = np.diff(middles_m, append=middles_m[0] + pattern_m)
        if gaps_m.max() <= machine.width_m + WIDTH_M:
            return tuple(middles_m.tolist())
    return tuple(even_m.tolist())


def _clear(machine: Machine, section: Section, middle_m: float, most_m: float) -> _Clear:
    """Say where a boom's wheels run clear of rows about a place, shifted so far at most.

    Everywhere where its wheels are not known, nor the openers that make the rows.
    """
    rows = [row for row in section.own_rows if section.strips[row.strip].counted]
    if machine.tread_m is None or machine.tire_m is None or not rows:
        return _Clear(np.empty(0), np.empty(0), 0.0)
    near_m = machine.tire_m / 2 + machine.wheel_clearance_m
    at_m = np.array([row.offset_m for row in rows])
    reach_m = most_m + near_m + machine.tread_m / 2
    first = math.floor((middle_m - reach_m - at_m.max()) / section.width_m)
    last = math.ceil((middle_m + reach_m - at_m.min()) / section.width_m)
    every_m = np.add.outer(np.arange(first, last + 1) * section.width_m, at_m).ravel() - middle_m
    on_m = np.concatenate([every_m - machine.tread_m / 2, every_m + machine.tread_m / 2])
    on_m = on_m[np.abs(on_m) <= most_m + near_m]
    edges_m = np.concatenate([on_m - near_m, on_m + near_m])
    edges_m = edges_m[np.abs(edges_m) <= most_m]
    barred = np.abs(edges_m[:, None] - on_m) < near_m - WIDTH_M
    return _Clear(edges_m[~barred.any(axis=1)], on_m, near_m)


def line_under(tramlines: Tramlines, at_m: Floats) -> Integers:
    """Give the number of the line whose boom passes over each row, (k,).

    Its own even share's, or its neighbor's where that boom was shifted out of reach.

    Args:
        tramlines: a boom's; line 0 is the first of the pattern.
        at_m: of each row, from the first edge of the pattern's first set, (k,).
    """
    share_m = tramlines.pattern_m / len(tramlines.middles_m)
    line = np.floor((at_m - tramlines.left_m) / share_m + WHOLE_NUMBER).astype(np.int64)
    off_m = at_m - middle_of(tramlines, line)
    reach_m = tramlines.width_m / 2 + WIDTH_M
    return np.asarray(line + (off_m > reach_m) - (off_m < -reach_m))


def middle_of(tramlines: Tramlines, line: Integers) -> Floats:
    """Give the middle of each line by its number, from its first set's edge, (k,)."""
    turn, place = np.divmod(line, len(tramlines.middles_m))
    return np.asarray(np.array(tramlines.middles_m)[place] + turn * tramlines.pattern_m)


def pass_on(tramlines: Tramlines, middle_m: float) -> Pass:
    """Give the pass of a boom along one line, over all crops."""
    return Pass(
        operation=tramlines.operation,
        machine=tramlines.machine,
        crop=" + ".join(tramlines.crops),
        width_m=tramlines.width_m,
        low_m=middle_m - tramlines.width_m / 2,
        high_m=middle_m + tramlines.width_m / 2,
        middle_m=middle_m,
        rows=(),
        strip=None,
        step_m=tramlines.step_m,
    )


def passes_over_strip(tramlines: Tramlines, strip: Strip) -> list[Pass]:
    """List a boom's passes that reach a strip, in every set of the pattern: as over one set."""
    set_m, half_m = tramlines.set_m, tramlines.width_m / 2
    found = set[float]()
    for middle_m in tramlines.middles_m:
        first = math.ceil((strip.left_m - half_m - middle_m) / set_m)
        last = math.floor((strip.right_m + half_m - middle_m) / set_m)
        found |= {round(middle_m + turn * set_m, 9) for turn in range(first, last + 1)}
    return [pass_on(tramlines, middle_m) for middle_m in sorted(found)]


def border_notices(plan: Plan, section: Section) -> list[str]:
    """Say where sections of booms on tramlines do not end where crops meet."""
    found = []
    for one in section.tramlines:
        off_m = _off_borders_m(one, section, parts_of_boom(plan.machines[one.machine]))
        if off_m > WIDTH_M:
            told = f"{one.machine}: on tramlines its sections end up to"
            said = f"{told} {format_small(off_m, plan.units)} off the edges of strips"
            found.append(f"{said}; over the neighbor the label decides")
    return found


def _off_borders_m(tramlines: Tramlines, section: Section, sections: int) -> float:
    """Give how far from where treatments meet the nearest edge of sections lies at most."""
    worked = [{crop for crop in tramlines.crops if labels & {*crop.split(" + ")}}
              for labels in section.grown]  # fmt: skip
    pairs = zip(section.strips, worked, [*worked[1:], worked[0]], strict=True)
    borders_m = [strip.right_m for strip, one, other in pairs if one != other]
    if not borders_m:
        return 0.0
    every_m = np.add.outer(np.arange(tramlines.sets) * tramlines.set_m, borders_m).ravel()
    edges_m = np.linspace(-tramlines.width_m / 2, tramlines.width_m / 2, sections + 1)
    off_m = np.zeros(len(every_m))
    for beside_m in (-WIDTH_M, WIDTH_M):  # both lines work there, where shares meet
        at_m = every_m - middle_of(tramlines, line_under(tramlines, every_m + beside_m))
        near_m = np.abs(np.subtract.outer(at_m, edges_m)).min(axis=1)
        off_m = np.maximum(off_m, near_m)
    return float(off_m.max())
